//! Specs × scales: reads files, fits in parallel, writes files whole or not at all.
//!
//! The only stage that touches files and threads. What is computed does not
//! depend on the number of threads: work is listed first, done in any order,
//! and put together in the order of the list.

mod files;
pub mod find;
mod fresh;
mod load;
mod lock;
mod manifest;
mod marked;
mod pages;
pub mod paint;
pub mod pool;
mod publish;
mod work;

pub use files::{Done, Request, calibrate, write_all};
pub use fresh::write_new;
pub use load::{Access, Loaded, load, load_embedded, load_with};
pub use manifest::hash;
pub use publish::{abandon, is_written_here};
pub use work::{Choice, work_out};

use crate::spec;
use std::io;
use std::path::Path;

/// Why a spec came to nothing.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The spec is wrong, in as many places as listed.
    #[error("{} problem{} in the spec", .0.len(), if .0.len() == 1 { "" } else { "s" })]
    Spec(Vec<spec::Problem>),
    /// A file could not be read or written.
    #[error("{path}: {what}")]
    File { path: String, what: String, help: &'static str },
    /// An option does not go with this spec.
    #[error("{0}")]
    Usage(String),
}

impl Failure {
    fn read(path: &Path, error: &io::Error) -> Self {
        let help = "name a spec file that may be read, or `-` for standard input";
        Self::File { path: path.display().to_string(), what: words(error), help }
    }

    fn written(path: &Path, error: &io::Error) -> Self {
        let help = "choose a folder that may be written, with room in it: `--out FOLDER`";
        Self::File {
            path: path.display().to_string(),
            what: format!("cannot be written: {}", words(error)),
            help,
        }
    }
}

/// What went wrong with a file, as a person would say it.
fn words(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::IsADirectory => "this is a folder, not a file".to_owned(),
        io::ErrorKind::NotADirectory => "a part of this path is a file, not a folder".to_owned(),
        io::ErrorKind::StorageFull => "the disk is full; nothing was changed".to_owned(),
        _ => error.to_string(),
    }
}
