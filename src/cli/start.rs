//! `start`: a commented first spec that itself runs clean.

use super::{Exit, terminal::Terminal};
use std::fs::OpenOptions;
use std::io::Write;
use std::path::Path;

/// What `start` writes.
pub const FIRST: &str = include_str!("first.yaml");

pub fn start(terminal: &mut Terminal, file: &Path) -> Exit {
    // Never over a file that is there: someone's evening may be in it.
    let written = OpenOptions::new().write(true).create_new(true).open(file).and_then(|mut opened| {
        opened.write_all(FIRST.as_bytes())?;
        opened.sync_all()
    });
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
