//! One run at a time in one folder.
//!
//! The lock is the system's own, on a file that is taken away with it, or by the next run:
//! it ends with the process, however that ends.

use super::Failure;
use std::fs::{self, File, TryLockError};
use std::path::{Path, PathBuf};

pub const NAME: &str = ".markloft-lock";

/// A folder that this run alone writes in, until dropped.
#[derive(Debug)]
pub struct Lock {
    path: PathBuf,
    _held: File,
}

impl Lock {
    /// Takes the folder, or says that another run has it.
    pub fn take(home: &Path) -> Result<Self, Failure> {
        let path = home.join(NAME);
        loop {
            let file = File::options()
                .create(true)
                .truncate(false)
                .write(true)
                .open(&path)
                .map_err(|error| Failure::written(&path, &error))?;
            match file.try_lock() {
                Ok(()) if is_at(&file, &path) => return Ok(Self { path, _held: file }),
                // The run that held it took it away between our opening and our locking.
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => {
                    return Err(Failure::File {
                        path: home.display().to_string(),
                        what: "another run is writing into this folder".to_owned(),
                        help: "wait until it is done, or write elsewhere with `--out FOLDER`",
                    });
                }
                Err(TryLockError::Error(error)) => return Err(Failure::written(&path, &error)),
            }
        }
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Taken away while still held, so that no one locks a file that is about to go.
        let _ = fs::remove_file(&self.path);
    }
}

/// Whether the open file is still the one at this path.
#[cfg(unix)]
fn is_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let (Ok(open), Ok(there)) = (file.metadata(), fs::metadata(path)) else { return false };
    (open.dev(), open.ino()) == (there.dev(), there.ino())
}

#[cfg(not(unix))]
fn is_at(_: &File, path: &Path) -> bool {
    path.exists()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_runs_exclude_each_other_and_leave_nothing() {
        let home = tempfile::tempdir().unwrap();
        let first = Lock::take(home.path()).unwrap();
        let second = Lock::take(home.path()).unwrap_err();
        assert!(second.to_string().ends_with("another run is writing into this folder"), "{second}");
        drop(first);
        assert!(Lock::take(home.path()).is_ok());
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 0);
    }
}
