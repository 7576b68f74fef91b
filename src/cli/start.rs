//! `start`: a commented first spec that itself runs clean.

use super::{Exit, terminal::Terminal};
use std::io::{self, Write};
use std::path::Path;

/// What `start` writes.
pub const FIRST: &str = include_str!("first.yaml");

pub fn start(terminal: &mut Terminal, file: &Path) -> Exit {
    let written = write_whole(file);
    match written {
        Ok(()) => {
            let name = file.display();
            terminal.out(&format!("{name} is written; change it, then: markloft make {name}\n"));
            Exit::Done
        }
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            terminal.err(&format!(
                "error: {} is there already and was left alone\n  help: name another file\n",
                file.display()
            ));
            Exit::File
        }
        Err(error) => {
            terminal.err(&format!("error: {}: {error}\n", file.display()));
            Exit::File
        }
    }
}

/// Writes aside, then moves into place: never half a file, and never over one that is there, for
/// someone's evening may be in it.
fn write_whole(file: &Path) -> io::Result<()> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut aside = tempfile::Builder::new().prefix(".markloft-").tempfile_in(folder)?;
    aside.write_all(FIRST.as_bytes())?;
    aside.as_file().sync_all()?;
    open_to_read(aside.as_file())?;
    aside.persist_noclobber(file).map_err(|error| error.error)?;
    Ok(())
}

/// Temporary files are their owner's alone; a spec is a file like any other.
#[cfg(unix)]
fn open_to_read(file: &std::fs::File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn open_to_read(_: &std::fs::File) -> io::Result<()> {
    Ok(())
}
