//! `explain`: what a finding means, shown by a spec that has it.

use super::{Exit, terminal::Terminal};
use crate::flow::{Code, Explained};

pub fn explain(terminal: &Terminal, code: Option<&str>) -> Exit {
    let Some(code) = code else {
        let words = Code::ALL.map(Code::word).join("\n");
        terminal.out(&format!("{words}\n"));
        return Exit::Done;
    };
    match Code::ALL.into_iter().find(|known| known.word() == code) {
        Some(known) => {
            terminal.out(&explained(known));
            Exit::Done
        }
        None => {
            let words = Code::ALL.map(Code::word).join(", ");
            terminal.err(&format!("error: there is no finding `{code}`\n  help: the findings are {words}\n"));
            Exit::Wrong
        }
    }
}

/// Cause, cure, and an example to try: whole, so that it can be pasted into a file.
fn explained(code: Code) -> String {
    let Explained { severity, cause, cure, old, new, files, .. } = code.explained();
    let indented = |text: &str| text.lines().map(|line| format!("  {line}\n")).collect::<String>();
    let lines = indented(&code.explained().spec());
    let files: String = files
        .iter()
        .map(|(name, text)| format!("\nwith `{name}` beside it:\n\n{}", indented(text)))
        .collect();
    format!(
        "{} ({severity})\n\nCause: {cause}\nCure: {cure}\n\nA spec that has it:\n\n{lines}{files}\nCured by writing `{new}` in place of `{old}`.\n",
        code.word(),
    )
}
