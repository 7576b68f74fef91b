//! `make`: every spec that was named, as many at once as there are cores.
//!
//! What each has to say is told in the order they were named, on one line each
//! for scripts; one bad spec does not stop the others.

use super::args::{MakeFormat, Wanted};
use super::progress::Progress;
use super::terminal::Terminal;
use super::{Exit, failed, judged, said_written, table};
use crate::batch::{Access, Choice, Done, Failure, Request, pool};
use crate::flow::Outcome;
use crate::report;
use crate::units::Dpi;
use serde_json::json;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// `make` as it was typed.
pub struct Make {
    pub wanted: Wanted,
    pub out: PathBuf,
    pub dpi: Option<Dpi>,
    pub strict: bool,
    pub force: bool,
    pub glb: bool,
    pub format: MakeFormat,
}

/// What became of one spec, ready to be told.
struct Told {
    out: String,
    err: String,
    exit: Exit,
    became: Became,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Became {
    Made,
    Unchanged,
    Failed,
}

impl Became {
    const fn word(self) -> &'static str {
        match self {
            Self::Made => "made",
            Self::Unchanged => "unchanged",
            Self::Failed => "failed",
        }
    }
}

impl Make {
    /// Makes all; the highest exit code of any.
    pub fn all(&self, terminal: &Terminal) -> Exit {
        let specs = self.apart(self.wanted.found());
        let (choice, access) = (self.wanted.choice(), self.wanted.access());
        let threads = self.wanted.threads();
        let progress = Progress::new(terminal, specs.len());
        let each = |k: usize| {
            let told = match &specs[k] {
                Err(failure) => self.told(terminal, "", &Err(failure)),
                Ok(spec) => {
                    let made = self.one(spec, &choice, &access);
                    self.told(terminal, spec, &made.as_ref())
                }
            };
            progress.finished();
            told
        };
        let mut exit = Exit::Done;
        let mut counts = [0; 3];
        pool::in_order(specs.len(), threads, each, |_, told| {
            exit = exit.max(told.exit);
            counts[told.became as usize] += 1;
            progress.aside(|| {
                terminal.out(&told.out);
                terminal.err(&told.err);
            });
        });
        progress.ended();
        if specs.len() > 1 && self.format == MakeFormat::Table {
            let words = [Became::Made, Became::Unchanged, Became::Failed];
            let each = words.iter().zip(counts).filter(|(_, count)| *count > 0);
            let each: Vec<String> =
                each.map(|(became, count)| format!("{count} {}", became.word())).collect();
            terminal.out(&format!("\n{} specs: {}\n", specs.len(), each.join(", ")));
        }
        exit
    }

    fn request<'a>(&'a self, spec: &'a str, choice: &'a Choice, access: &'a Access) -> Request<'a> {
        Request { spec, choice, dpi: self.dpi, access, out: &self.out, force: self.force, glb: self.glb }
    }

    fn one(&self, spec: &str, choice: &Choice, access: &Access) -> Result<Done, Failure> {
        self.request(spec, choice, access).make()
    }

    /// Two specs must not be written over each other, on systems that tell capitals apart and on others.
    fn apart(&self, found: Vec<Result<String, Failure>>) -> Vec<Result<String, Failure>> {
        let (choice, access) = (Choice::default(), Access::default());
        let mut names: BTreeMap<String, String> = BTreeMap::new();
        let mut apart = |spec: String| {
            let name = self.request(&spec, &choice, &access).name();
            if let Some(other) = names.insert(name.to_lowercase(), spec.clone()) {
                let home = self.out.join(&name);
                let text = format!("{spec} would be written over {other}, into {}", home.display());
                return Err(Failure::Usage(format!("{text}: rename one, or make them apart with `--out`")));
            }
            Ok(spec)
        };
        found.into_iter().map(|spec| spec.and_then(&mut apart)).collect()
    }

    fn told(&self, terminal: &Terminal, spec: &str, made: &Result<&Done, &Failure>) -> Told {
        let (became, exit) = match made {
            Err(failure) => (Became::Failed, failed(terminal, failure).1),
            Ok(Done::Fresh { outcome, .. }) => (Became::Made, judged(outcome)),
            Ok(Done::Unchanged { errors, .. }) => {
                (Became::Unchanged, if *errors { Exit::Found } else { Exit::Done })
            }
        };
        let exit = if exit == Exit::Found && !self.strict { Exit::Done } else { exit };
        let (out, err) = match self.format {
            MakeFormat::Table => self.for_people(terminal, spec, made),
            MakeFormat::JsonLines => (line(spec, &self.out, became, made), String::new()),
        };
        Told { out, err, exit, became }
    }

    fn for_people(
        &self,
        terminal: &Terminal,
        spec: &str,
        made: &Result<&Done, &Failure>,
    ) -> (String, String) {
        match made {
            Err(failure) => (String::new(), failed(terminal, failure).0),
            Ok(Done::Fresh { outcome, files }) => {
                let home = self.out.join(&outcome.plan.name);
                (table(terminal, outcome) + &said_written(&home, files.len()), String::new())
            }
            Ok(Done::Unchanged { home, told, .. }) => (
                format!("{spec}: nothing has changed since {} was made; {told}\n", home.display()),
                String::new(),
            ),
        }
    }
}

/// One line for a script: `spec`, `state` (`made`, `unchanged` or `failed`); then `told`, `has_errors`, `report` and of
/// what was made `files`, or `problems` with `at`, `text` and `help` where known.
fn line(spec: &str, out: &Path, became: Became, made: &Result<&Done, &Failure>) -> String {
    let shown = |path: &Path| path.display().to_string();
    let mut line = json!({"spec": spec, "state": became.word()});
    match made {
        Ok(Done::Fresh { outcome, files }) => {
            line["told"] = json!(report::told(outcome));
            line["has_errors"] = json!(has_errors(outcome));
            line["report"] = json!(shown(&out.join(&outcome.plan.name).join("report.json")));
            line["files"] = json!(files.iter().map(|path| shown(path)).collect::<Vec<_>>());
        }
        Ok(Done::Unchanged { home, told, errors }) => {
            line["told"] = json!(told);
            line["has_errors"] = json!(errors);
            line["report"] = json!(shown(&home.join("report.json")));
        }
        Err(Failure::Spec(problems)) => {
            let each = problems.iter().map(|problem| {
                json!({"at": problem.place.to_string(), "text": problem.message, "help": problem.help})
            });
            line["problems"] = json!(each.collect::<Vec<_>>());
        }
        Err(Failure::File { path, what, help }) => {
            line["problems"] = json!([{"at": path, "text": what, "help": help}]);
        }
        Err(Failure::Usage(text)) => line["problems"] = json!([{"text": text}]),
    }
    format!("{line}\n")
}

fn has_errors(outcome: &Outcome) -> bool {
    judged(outcome) == Exit::Found
}
