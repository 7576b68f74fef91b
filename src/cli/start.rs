//! `start`: a commented first spec that itself runs clean.

use super::{Exit, failed, terminal::Terminal};
use crate::batch;
use std::path::Path;

/// What `start` writes.
pub const FIRST: &str = include_str!("first.yaml");

pub fn start(terminal: &Terminal, file: &Path) -> Exit {
    match batch::write_new(file, FIRST.as_bytes()) {
        Ok(()) => {
            let name = file.display();
            terminal.out(&format!("{name} is written; change it, then: markloft make {name}\n"));
            Exit::Done
        }
        Err(failure) => {
            let (text, exit) = failed(terminal, &failure);
            terminal.err(&text);
            exit
        }
    }
}
