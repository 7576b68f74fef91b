//! `check`: fits and reports, writes nothing.

use super::args::{Format, Wanted};
use super::progress::Progress;
use super::terminal::Terminal;
use super::{Exit, failed, judged, table};
use crate::batch::{self, pool};
use crate::report;

/// What one spec has to say.
struct Told {
    out: String,
    err: String,
    exit: Exit,
}

pub fn check(terminal: &Terminal, wanted: &Wanted, format: Format) -> Exit {
    let (choice, access) = (wanted.choice(), wanted.access());
    let specs = wanted.found();
    let progress = Progress::new(terminal, specs.len());
    let each = |k: usize| {
        let checked = match &specs[k] {
            Err(failure) => Err(failed(terminal, failure)),
            Ok(spec) => batch::load_with(spec, &access)
                .and_then(|loaded| batch::work_out(loaded.plan, &choice))
                .map_err(|failure| failed(terminal, &failure)),
        };
        progress.finished();
        match checked {
            Err((err, exit)) => Told { out: String::new(), err, exit },
            Ok(outcome) => {
                let out = match format {
                    Format::Table => table(terminal, &outcome),
                    Format::Json => report::json(&outcome),
                    Format::JsonLines => report::json_line(&outcome),
                };
                Told { out, err: String::new(), exit: judged(&outcome) }
            }
        }
    };
    let mut exit = Exit::Done;
    let mut reports = 0;
    // Several reports are one array: `[` before the first, `,` between, `]` after the last.
    let array = format == Format::Json && specs.len() > 1;
    pool::in_order(specs.len(), wanted.threads(), each, |_, told| {
        exit = exit.max(told.exit);
        progress.aside(|| {
            terminal.err(&told.err);
            // A spec that is wrong has no report.
            if array && !told.out.is_empty() {
                terminal.out(if reports == 0 { "[" } else { ",\n" });
                terminal.out(told.out.trim_end());
                reports += 1;
            } else {
                terminal.out(&told.out);
            }
        });
    });
    progress.ended();
    if array {
        terminal.out(if reports == 0 { "[]\n" } else { "]\n" });
    }
    exit
}
