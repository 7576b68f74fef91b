//! A file that is the user's own from then on: written whole or not at all, and never over one that is
//! there, for someone's evening may be in it.

use super::Failure;
use std::io::{self, ErrorKind, Write};
use std::path::Path;

/// Writes a file that must not be there yet.
///
/// # Errors
/// Where one is, and where the folder may not be written.
pub fn write_new(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    whole(file, bytes).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => Failure::File {
            path: file.display().to_string(),
            what: "is there already and was left alone".to_owned(),
            help: "name another file",
        },
        _ => Failure::File {
            path: file.display().to_string(),
            what: format!("cannot be written: {}", super::words(&error)),
            help: "name a file in a folder that is there and may be written",
        },
    })
}

/// Written aside, then moved into place.
fn whole(file: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut aside = tempfile::Builder::new().prefix(".markloft-").tempfile_in(folder)?;
    aside.write_all(bytes)?;
    aside.as_file().sync_all()?;
    open_to_read(aside.as_file())?;
    aside.persist_noclobber(file).map_err(|error| error.error)?;
    Ok(())
}

/// Temporary files are their owner's alone; this one is a file like any other.
#[cfg(unix)]
fn open_to_read(file: &std::fs::File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn open_to_read(_: &std::fs::File) -> io::Result<()> {
    Ok(())
}
