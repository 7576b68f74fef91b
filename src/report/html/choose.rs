//! Long reports stay usable: what is asked for alone is shown, and every number leads to its card.
//!
//! Both work without script: what is chosen is a round button that the style sheet looks
//! at. What a link leads to is shown whatever is chosen. Left out of short reports.

use super::anchor;
use crate::flow::{Outcome, Piece, ScaleOutcome, Verdict};
use crate::report::tally;
use maud::{Markup, html};
use std::collections::BTreeSet;

/// So many cards at a scale are soon looked through.
const LONG: usize = 24;

/// Besides the words of verdicts: something was found.
const FOUND: &str = "found";

/// What a row, an entry or a card about these pieces can be chosen by.
pub fn is<'a>(pieces: impl IntoIterator<Item = &'a Piece>) -> String {
    let mut words: BTreeSet<&str> = BTreeSet::new();
    for piece in pieces {
        words.insert(piece.verdict.word());
        words.extend((!piece.findings.is_empty()).then_some(FOUND));
    }
    words.into_iter().collect::<Vec<_>>().join(" ")
}

/// The choices.
pub fn choices(outcome: &Outcome) -> Markup {
    let long = outcome.scales.iter().any(is_long);
    let verdicts =
        [Verdict::Fits, Verdict::Trim, Verdict::Oversize].map(|verdict| (verdict.word(), verdict.word()));
    let all = std::iter::once(("all", "all")).chain(verdicts).chain([(FOUND, "something found")]);
    html! {
        @if long {
            fieldset.choose {
                legend { "Markings and pieces to show" }
                @for (word, said) in all {
                    label { input type="radio" name="show" id={ "show-" (word) } checked[word == "all"]; " " (said) }
                }
            }
        }
    }
}

/// Every piece of a scale by its number.
pub fn index(at: &ScaleOutcome) -> Markup {
    html! {
        @if is_long(at) {
            ul.index {
                @for alike in tally::alike(&at.pieces) {
                    li data-is=(is(alike)) {
                        a href={ "#" (anchor::piece(at.scale, alike[0].number)) } { (tally::numbers(alike)) }
                    }
                }
            }
        }
    }
}

fn is_long(at: &ScaleOutcome) -> bool {
    tally::alike(&at.pieces).count() > LONG
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;

    #[test]
    fn a_long_report_has_choices_that_the_style_sheet_knows_and_an_index() {
        let mut outcome = fixture::outcome();
        assert!(choices(&outcome).0.is_empty() && index(&outcome.scales[0]).0.is_empty());
        let at = &mut outcome.scales[0];
        let one = at.pieces[0].clone();
        // Of two parts by turns, so that no two are alike.
        at.pieces = (1..=60)
            .map(|number| Piece {
                number,
                marking: crate::flow::MarkingId(number as usize % 2),
                ..one.clone()
            })
            .collect();
        let style = super::super::STYLE;
        let choices = choices(&outcome).0;
        for word in ["fits", "trim", "oversize", FOUND] {
            assert!(choices.contains(&format!("id=\"show-{word}\"")), "{word}");
            assert!(
                style.contains(&format!("body:has(#show-{word}:checked) [data-is]:not([data-is~={word}]")),
                "{word}"
            );
        }
        assert_eq!(index(&outcome.scales[0]).0.matches("<a href=\"#p-1-48-").count(), 60);
        assert_eq!(is(&outcome.scales[0].pieces), "found oversize");
    }
}
