//! Findings as a list: how bad, what, what to do, where in the spec.

use super::said;
use crate::flow::{Finding, Severity};
use maud::{Markup, html};

/// The list, in the order of the checks: size first; nothing where nothing was found.
pub fn list(findings: &[Finding]) -> Markup {
    html! {
        @if !findings.is_empty() {
            ul.findings {
                @for finding in findings {
                    li class=(finding.severity.word()) {
                        p {
                            span.mark aria-hidden="true" { (mark(finding.severity)) }
                            b { (finding.severity.word()) }
                            " · " (finding.code.word()) ": " (said(&finding.text))
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
