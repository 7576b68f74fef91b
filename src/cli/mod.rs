//! The command line: commands as typed, what they do, and how they end.
//!
//! Exit codes: 0 done; 1 `check` (or `make --strict`) found something of
//! severity error; 2 the spec or the call is wrong; 3 a file could not be read
//! or written. Of several, the highest.

mod args;
mod calibrate;
mod check;
mod explain;
mod make;
mod progress;
mod shell;
mod size;
mod start;
mod terminal;
mod watch;

use crate::batch::{self, Choice, Failure};
use crate::flow::{Outcome, Severity};
use crate::report;
use args::{Args, Command};
use clap::Parser;
use make::Make;
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

impl Exit {
    /// What a failure's code says, for those who see it.
    const fn words(self) -> Option<&'static str> {
        match self {
            Self::Done => None,
            Self::Found => Some("something of severity error was found"),
            Self::Wrong => Some("the spec or the call is wrong"),
            Self::File => Some("a file could not be read or written"),
        }
    }
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
    // Whole files stay, unfinished ones go; 130 is what shells call an end by Ctrl-C (128 + signal 2). A
    // system without signals ends us in its own way, which leaves only whole files too.
    let _ = ctrlc::set_handler(|| {
        batch::abandon();
        std::process::exit(130);
    });
    if let Command::Make { wanted, .. } | Command::Check { wanted, .. } = &args.command {
        // One piece's work is shared out too. A system that refuses threads still has this one.
        let _ = rayon::ThreadPoolBuilder::new().num_threads(wanted.threads().get()).build_global();
    }
    let terminal = Terminal::new();
    // A script that reads JSON has the code itself.
    let to_people = match &args.command {
        Command::Make { format, .. } => *format == args::MakeFormat::Table,
        Command::Check { format, .. } => *format == args::Format::Table,
        _ => true,
    };
    let exit = match args.command {
        Command::Make { wanted, out, dpi, strict, force, glb, watch, format } => {
            let make = Make { wanted, out, dpi: dpi.map(|dpi| dpi.0), strict, force, glb, format };
            if watch { watch::watch(&terminal, &make) } else { make.all(&terminal) }
        }
        Command::Check { wanted, format } => check::check(&terminal, &wanted, format),
        Command::Size { length, scale } => size::size(&terminal, &length.0, &scale),
        Command::Start { file } => start::start(&terminal, &file),
        Command::Demo { out, dpi } => demo(&terminal, &out, dpi.map(|dpi| dpi.0)),
        Command::Calibrate { spec, page, out, dpi, reading } => {
            let set_up = calibrate::set_up(spec.as_deref(), page.word(), &reading.access());
            calibrate::calibrate(&terminal, set_up, &out, dpi.map(|dpi| dpi.0))
        }
        Command::Completions { shell } => shell::completions(&terminal, shell),
        Command::Man => shell::man(&terminal),
        Command::Schema { shared } => shell::schema(&terminal, shared),
        Command::Explain { code } => explain::explain(&terminal, code.as_deref()),
    };
    if let Some(words) = exit.words().filter(|_| to_people) {
        terminal.err(&format!("exit code {}: {words}\n", exit as u8));
    }
    exit as u8
}

fn demo(terminal: &Terminal, out: &Path, dpi: Option<crate::units::Dpi>) -> Exit {
    let made = batch::load_embedded("harrow-tarn.yaml", DEMO).and_then(|plan| {
        let dpi = dpi.unwrap_or(plan.printer.dpi);
        let outcome = batch::work_out(plan, &Choice::default())?;
        let written = batch::write_all(&outcome, out, dpi)?;
        Ok((outcome, written))
    });
    match made {
        Err(failure) => {
            let (text, exit) = failed(terminal, &failure);
            terminal.err(&text);
            exit
        }
        Ok((outcome, written)) => {
            terminal.out(&table(terminal, &outcome));
            terminal.out(&said_written(&out.join(&outcome.plan.name), written.len()));
            Exit::Done
        }
    }
}

/// What a finished spec has to say on a terminal.
fn table(terminal: &Terminal, outcome: &Outcome) -> String {
    report::table(outcome, terminal.width(), terminal.colour())
}

fn said_written(home: &Path, count: usize) -> String {
    format!("{count} files in {}; open {}\n", home.display(), home.join("report.html").display())
}

fn judged(outcome: &Outcome) -> Exit {
    if outcome.worst() == Some(Severity::Error) { Exit::Found } else { Exit::Done }
}

/// What a failure says, and how it ends the run.
fn failed(terminal: &Terminal, failure: &Failure) -> (String, Exit) {
    match failure {
        Failure::Spec(problems) => {
            let mut text: String = problems.iter().map(|problem| terminal.diagnostic(problem)).collect();
            text += &format!("error: {failure}; nothing was written\n");
            (text, Exit::Wrong)
        }
        Failure::Usage(_) => (format!("error: {failure}\n"), Exit::Wrong),
        Failure::File { help, .. } => (format!("error: {failure}\n  help: {help}\n"), Exit::File),
    }
}
