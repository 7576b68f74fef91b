//! The command line: commands as typed, what they do, and how they end.
//!
//! Exit codes: 0 done; 1 `check` (or `make --strict`) found something of
//! severity error; 2 the spec or the call is wrong; 3 a file could not be read
//! or written. Of several, the highest.

mod args;
mod size;
mod start;
mod terminal;

use crate::batch::{self, Choice, Failure};
use crate::flow::{Outcome, Severity};
use crate::report;
use args::{Args, Command, Format, Wanted};
use clap::Parser;
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::path::Path;
use terminal::Terminal;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Exit {
    Done = 0,
    Found = 1,
    Wrong = 2,
    File = 3,
}

/// The built-in demo: a crew helmet, a door, a tail boom, a skid and a nose.
const DEMO: &str = include_str!("../../specs/harrow-tarn.yaml");

/// Runs one command line; the number is the exit code.
pub fn run(argv: impl IntoIterator<Item = OsString>) -> u8 {
    let args = match Args::try_parse_from(argv) {
        Ok(args) => args,
        Err(error) => {
            // Help and version are what was asked for: they end well.
            let ends_well = !error.use_stderr();
            let _ = error.print();
            return if ends_well { Exit::Done as u8 } else { Exit::Wrong as u8 };
        }
    };
    let mut terminal = Terminal::new();
    let exit = match args.command {
        Command::Make { wanted, out, dpi, strict } => {
            make_all(&mut terminal, &wanted, &out, dpi.map(|dpi| dpi.0), strict)
        }
        Command::Check { wanted, format } => check_all(&mut terminal, &wanted, format),
        Command::Size { length, scale } => size::size(&mut terminal, &length.0, &scale),
        Command::Start { file } => start::start(&mut terminal, &file),
        Command::Demo { out, dpi } => demo(&mut terminal, &out, dpi.map(|dpi| dpi.0)),
        Command::Explain { code } => explain(&mut terminal, code.as_deref()),
    };
    exit as u8
}

fn make_all(
    terminal: &mut Terminal,
    wanted: &Wanted,
    out: &Path,
    dpi: Option<crate::units::Dpi>,
    strict: bool,
) -> Exit {
    let choice = wanted.choice();
    let mut names = BTreeMap::new();
    let mut each = |terminal: &mut Terminal, spec: &str| {
        let made = batch::load(spec).and_then(|plan| {
            if let Some(other) = names.insert(plan.name.clone(), spec.to_owned()) {
                let home = out.join(&plan.name);
                let text = format!("{spec} would be written over {other}, into {}", home.display());
                return Err(Failure::Usage(format!("{text}: rename one, or make them apart with `--out`")));
            }
            let dpi = dpi.unwrap_or(plan.printer.dpi);
            let outcome = batch::work_out(plan, &choice)?;
            let written = batch::write_all(&outcome, out, dpi)?;
            Ok((outcome, written))
        });
        match made {
            Err(failure) => fail(terminal, &failure),
            Ok((outcome, written)) => {
                show(terminal, &outcome);
                said_written(terminal, out, &outcome, written.len());
                if strict { judged(&outcome) } else { Exit::Done }
            }
        }
    };
    wanted.in_pool(|| wanted.specs.iter().map(|spec| each(terminal, spec)).max().unwrap_or(Exit::Done))
}

fn check_all(terminal: &mut Terminal, wanted: &Wanted, format: Format) -> Exit {
    let choice = wanted.choice();
    let checked = wanted.in_pool(|| {
        wanted
            .specs
            .iter()
            .map(|spec| batch::load(spec).and_then(|plan| batch::work_out(plan, &choice)))
            .collect::<Vec<_>>()
    });
    let mut exit = Exit::Done;
    let mut reports = Vec::new();
    for outcome in &checked {
        exit = exit.max(match outcome {
            Err(failure) => fail(terminal, failure),
            Ok(outcome) => {
                match format {
                    Format::Table => show(terminal, outcome),
                    Format::Json => reports.push(report::json(outcome)),
                }
                judged(outcome)
            }
        });
    }
    if format == Format::Json {
        let all = match &reports[..] {
            // A spec that is wrong has no report.
            [] if checked.len() == 1 => String::new(),
            [one] if checked.len() == 1 => one.clone(),
            many => {
                format!("[{}]\n", many.iter().map(|report| report.trim_end()).collect::<Vec<_>>().join(",\n"))
            }
        };
        terminal.out(&all);
    }
    exit
}

fn demo(terminal: &mut Terminal, out: &Path, dpi: Option<crate::units::Dpi>) -> Exit {
    let made = batch::load_embedded("harrow-tarn.yaml", DEMO).and_then(|plan| {
        let dpi = dpi.unwrap_or(plan.printer.dpi);
        let outcome = batch::work_out(plan, &Choice::default())?;
        let written = batch::write_all(&outcome, out, dpi)?;
        Ok((outcome, written))
    });
    match made {
        Err(failure) => fail(terminal, &failure),
        Ok((outcome, written)) => {
            show(terminal, &outcome);
            said_written(terminal, out, &outcome, written.len());
            Exit::Done
        }
    }
}

fn explain(terminal: &mut Terminal, code: Option<&str>) -> Exit {
    let Some(code) = code else {
        let words = crate::flow::Code::ALL.map(crate::flow::Code::word).join("\n");
        terminal.out(&format!("{words}\n"));
        return Exit::Done;
    };
    match crate::flow::Code::ALL.into_iter().find(|known| known.word() == code) {
        Some(known) => {
            terminal.out(&format!("{}\n", known.explained()));
            Exit::Done
        }
        None => {
            let words = crate::flow::Code::ALL.map(crate::flow::Code::word).join(", ");
            terminal.err(&format!("error: there is no finding `{code}`\n  help: the findings are {words}\n"));
            Exit::Wrong
        }
    }
}

fn show(terminal: &mut Terminal, outcome: &Outcome) {
    let table = report::table(outcome, terminal.width(), terminal.colour());
    terminal.out(&table);
}

fn said_written(terminal: &mut Terminal, out: &Path, outcome: &Outcome, count: usize) {
    let home = out.join(&outcome.plan.name);
    terminal.out(&format!(
        "{count} files in {}; open {}\n",
        home.display(),
        home.join("report.html").display()
    ));
}

fn judged(outcome: &Outcome) -> Exit {
    if outcome.worst() == Some(Severity::Error) { Exit::Found } else { Exit::Done }
}

fn fail(terminal: &mut Terminal, failure: &Failure) -> Exit {
    match failure {
        Failure::Spec(problems) => {
            for problem in problems {
                let shown = terminal.diagnostic(problem);
                terminal.err(&shown);
            }
            terminal.err(&format!("error: {failure}; nothing was written\n"));
            Exit::Wrong
        }
        Failure::Usage(_) => {
            terminal.err(&format!("error: {failure}\n"));
            Exit::Wrong
        }
        Failure::File { help, .. } => {
            terminal.err(&format!("error: {failure}\n  help: {help}\n"));
            Exit::File
        }
    }
}
