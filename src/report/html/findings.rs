//! Findings as a list: how bad, what, what to do, where in the spec.

use super::said;
use crate::flow::{Code, Finding, Piece, Severity};
use crate::report::tally;
use maud::{Markup, html};

/// The list, in the order of the checks: size first; nothing where nothing was found.
pub fn list(findings: &[Finding]) -> Markup {
    told(&findings.iter().map(|finding| (finding, String::new())).collect::<Vec<_>>())
}

/// The same of pieces that are alike: what only some of them have, says which.
pub fn of_alike(alike: &[Piece]) -> Markup {
    // Why they are made so holds for all, and is told with the first.
    let whose = |finding: &Finding, numbers: &[u32]| match finding.code == Code::Make
        || numbers.len() == alike.len()
    {
        true => String::new(),
        false => tally::whose(numbers),
    };
    let all = tally::gathered(alike).into_iter();
    told(&all.map(|(finding, numbers)| (finding, whose(finding, &numbers))).collect::<Vec<_>>())
}

fn told(findings: &[(&Finding, String)]) -> Markup {
    html! {
        @if !findings.is_empty() {
            ul.findings {
                @for (finding, whose) in findings {
                    li class=(finding.severity.word()) {
                        p {
                            span.mark aria-hidden="true" { (mark(finding.severity)) }
                            b { (finding.severity.word()) }
                            " · " (finding.code.word()) (whose) ": " (said(&finding.text))
                        }
                        p.help { "What to do: " (said(&finding.help)) }
                        p.place { (said(&finding.at.to_string())) }
                    }
                }
            }
        }
    }
}

/// A shape beside the word, so that colour is not needed to tell them apart.
const fn mark(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "■ ",
        Severity::Warning => "▲ ",
        Severity::Note => "● ",
    }
}
