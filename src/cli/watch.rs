//! `make --watch`: makes again whatever is saved, until Ctrl-C.
//!
//! Looks at the folders that the named specs lie in and at those that `--allow-dir` names, for a spec
//! may use any file below them; what has not changed is skipped by the manifest, so one saved
//! file costs what depends on it.

use super::make::Make;
use super::terminal::Terminal;
use super::{Exit, failed};
use crate::batch::{self, Failure};
use notify::{EventKind, RecursiveMode, Watcher};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::Duration;

/// Editors save in several steps: what comes within this time is one saving. From memory.
const SETTLED: Duration = Duration::from_millis(150);

pub fn watch(terminal: &Terminal, make: &Make) -> Exit {
    if make.wanted.specs.iter().any(|spec| spec == "-") {
        let text = "standard input cannot be watched: name a file".to_owned();
        let (text, exit) = failed(terminal, &Failure::Usage(text));
        terminal.err(&text);
        return exit;
    }
    make.all(terminal);
    match see_changes(terminal, make) {
        Ok(()) => Exit::Done,
        Err(error) => {
            let failure = Failure::Usage(format!("changes cannot be watched here: {error}"));
            terminal.err(&failed(terminal, &failure).0);
            Exit::File
        }
    }
}

/// Ends only when the system stops telling.
fn see_changes(terminal: &Terminal, make: &Make) -> notify::Result<()> {
    let (tell, told) = mpsc::channel();
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        if let Ok(event) = event {
            // No one listens any more: the run is ending.
            let _ = tell.send(event);
        }
    })?;
    for folder in folders(&make.wanted.specs).into_iter().chain(make.wanted.reading.allow_dir.iter().cloned())
    {
        watcher.watch(&folder, RecursiveMode::Recursive)?;
    }
    // What we write ourselves, and mere reading, is no change.
    let counts = |event: &notify::Event| {
        !matches!(event.kind, EventKind::Access(_))
            && !event.paths.iter().all(|path| batch::is_written_here(&make.out, path))
    };
    terminal.err("watching; Ctrl-C ends it\n");
    while let Ok(event) = told.recv() {
        if !counts(&event) {
            continue;
        }
        loop {
            match told.recv_timeout(SETTLED) {
                Ok(_) => {}
                Err(RecvTimeoutError::Timeout) => break,
                Err(RecvTimeoutError::Disconnected) => return Ok(()),
            }
        }
        make.all(terminal);
    }
    Ok(())
}

/// The folders to look at, none within another.
fn folders(specs: &[String]) -> BTreeSet<PathBuf> {
    let folder = |spec: &String| {
        let path = Path::new(spec);
        if path.is_dir() {
            return path.to_owned();
        }
        // Of a pattern, the folder before its first sign.
        let plain: PathBuf = path
            .components()
            .take_while(|part| !part.as_os_str().to_string_lossy().contains(['*', '?', '[']))
            .collect();
        let folder = if plain == path { path.parent().unwrap_or(Path::new("")).to_owned() } else { plain };
        if folder.as_os_str().is_empty() { PathBuf::from(".") } else { folder }
    };
    let all: BTreeSet<PathBuf> = specs.iter().filter(|spec| *spec != "-").map(folder).collect();
    let within = |path: &PathBuf| all.iter().any(|other| other != path && path.starts_with(other));
    all.iter().filter(|path| !within(path)).cloned().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_folder_is_looked_at_once() {
        let specs = ["specs/a.yaml", "specs/b.yaml", "specs/more/c.yaml", "*.yaml", "-"].map(String::from);
        let found: Vec<_> = folders(&specs).into_iter().collect();
        assert_eq!(found, [PathBuf::from("."), PathBuf::from("specs")]);
    }
}
