//! Every marking across the scales: a verdict in each cell that leads to its card.

use super::{anchor, choose, said};
use crate::flow::{Code, Lies, Make, MarkingId, Outcome, Piece, ScaleOutcome, Verdict};
use crate::outline::number::listed;
use maud::{Markup, html};

pub fn overview(outcome: &Outcome) -> Markup {
    let several = outcome.scales.len() > 1;
    html! {
        section #overview {
            h2 { "Across scales" }
            (choose::choices(outcome))
            p.which #overview-says { "Is each piece the right size for its part, and does it lie down?" }
            div.scroll tabindex="0" role="region" aria-labelledby="overview-says" {
                table.across aria-describedby="overview-says" {
                    thead {
                        tr {
                            th scope="col" { "Marking" }
                            @for at in &outcome.scales { th scope="col" { (at.scale.to_string()) } }
                            @if several { th scope="col" { "What changes" } }
                        }
                    }
                    tbody {
                        @for marking in (0..outcome.plan.markings.len()).map(MarkingId) {
                            tr data-is=(choose::is(outcome.scales.iter().flat_map(|at| of_marking(at, marking)))) {
                                th scope="row" { (said(&outcome.plan.markings[marking.0].name)) }
                                @for at in &outcome.scales { td { (cell(at, marking)) } }
                                @if several { td.changes { (changes(outcome, marking)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn of_marking(at: &ScaleOutcome, marking: MarkingId) -> impl Iterator<Item = &Piece> {
    at.pieces.iter().filter(move |piece| piece.marking == marking)
}

/// All that a marking is made into as one thing, at a scale: its copies, and its sections where it is split.
struct Made<'a> {
    /// Stands for all of them.
    worst: &'a Piece,
    pieces: Vec<&'a Piece>,
}

fn made<'a>(at: &'a ScaleOutcome, marking: MarkingId) -> Vec<Made<'a>> {
    let mut makes: Vec<Make> = of_marking(at, marking).map(|piece| piece.make).collect();
    makes.sort_unstable();
    makes.dedup();
    let of_make = |make: Make| {
        let pieces: Vec<&Piece> = of_marking(at, marking).filter(|piece| piece.make == make).collect();
        let worse =
            |a: &'a Piece, b: &'a Piece| if (b.verdict, b.lies) > (a.verdict, a.lies) { b } else { a };
        let worst = pieces.iter().copied().reduce(worse)?;
        Some(Made { worst, pieces })
    };
    makes.into_iter().filter_map(of_make).collect()
}

fn cell(at: &ScaleOutcome, marking: MarkingId) -> Markup {
    let all = made(at, marking);
    html! {
        @if all.is_empty() { span.absent { "not made" } }
        @for Made { worst, pieces } in all {
            div {
                a.verdict-link href={ "#" (anchor::piece(at.scale, worst.number)) } { (badge(worst.verdict)) }
                small {
                    (worst.make.word()) ", " (lies(worst))
                    @for word in troubles(&pieces) { ", " (word) }
                }
            }
        }
    }
}

/// What else is wrong with any of them, in two or three words each.
fn troubles(pieces: &[&Piece]) -> Vec<&'static str> {
    let found =
        |code: Code| pieces.iter().flat_map(|piece| &piece.findings).any(|finding| finding.code == code);
    let all = [
        (found(Code::FineLine) || found(Code::FineGap), "too fine"),
        (found(Code::SmallLetter), "letters too small"),
        (found(Code::Island), "falls apart"),
        (found(Code::NoTape), "no tape of this width"),
        (found(Code::SheetFull), "larger than the sheet"),
        (found(Code::Split), "in sections"),
        (found(Code::Knife) || found(Code::Mat), "cannot be cut"),
    ];
    all.into_iter().filter(|(is, _)| *is).map(|(_, word)| word).collect()
}

/// Words that hold at some scales and not at others: `to trim at 1/48; mask at 1/72`.
fn changes(outcome: &Outcome, marking: MarkingId) -> String {
    let mut words: Vec<&'static str> = Vec::new();
    let at_scale: Vec<Vec<&'static str>> =
        outcome.scales.iter().map(|at| made(at, marking).iter().flat_map(about).collect()).collect();
    for word in at_scale.iter().flatten() {
        if !words.contains(word) {
            words.push(word);
        }
    }
    let mut said: Vec<String> = Vec::new();
    for word in words {
        let at: Vec<String> = outcome
            .scales
            .iter()
            .zip(&at_scale)
            .filter(|(_, words)| words.contains(&word))
            .map(|(at, _)| at.scale.to_string())
            .collect();
        if at.len() < outcome.scales.len() {
            said.push(format!("{word} at {}", listed(at)));
        }
    }
    let missing: Vec<String> = outcome
        .scales
        .iter()
        .zip(&at_scale)
        .filter(|(_, words)| words.is_empty())
        .map(|(at, _)| at.scale.to_string())
        .collect();
    if !missing.is_empty() && missing.len() < outcome.scales.len() {
        said.push(format!("not made at {}", listed(missing)));
    }
    if said.is_empty() { "nothing".to_owned() } else { said.join("; ") }
}

/// All there is to say in words that can be compared.
fn about(made: &Made<'_>) -> Vec<&'static str> {
    let piece = made.worst;
    let mut words = vec![piece.make.word()];
    words.extend(match piece.verdict {
        Verdict::Fits => None,
        Verdict::Trim => Some("to trim"),
        Verdict::Oversize => Some("oversize"),
    });
    words.extend((piece.lies != Lies::Flat).then(|| lies(piece)));
    words.extend(troubles(&made.pieces));
    words
}

/// The verdict as a word with a shape of its own.
pub fn badge(verdict: Verdict) -> Markup {
    let mark = match verdict {
        Verdict::Fits => "○",
        Verdict::Trim => "◐",
        Verdict::Oversize => "●",
    };
    html! {
        span class={ "badge " (verdict.word()) } { span aria-hidden="true" { (mark) " " } (verdict.word()) }
    }
}

fn lies(piece: &Piece) -> &'static str {
    match piece.lies {
        Lies::Flat => "lies flat",
        Lies::Softened => "lies softened",
        Lies::Cut => "lies cut",
        Lies::No => "will not lie",
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;

    #[test]
    fn what_changes_from_scale_to_scale_is_said() {
        let mut outcome = fixture::three_scales();
        let found = outcome.scales[0].pieces[0].findings[0].clone();
        let roundel = &mut outcome.scales[0].pieces[2];
        roundel.findings = vec![crate::flow::Finding { code: Code::FineLine, ..found }];
        roundel.make = Make::Mask;
        outcome.scales[2].pieces[1].verdict = Verdict::Fits;
        // 1/72, 1/48, 1/32: the stripe is to be trimmed at the first two only.
        assert_eq!(changes(&outcome, MarkingId(1)), "to trim at 1/72 and 1/48");
        let said = changes(&outcome, MarkingId(2));
        assert!(said.contains("too fine at 1/72") && said.contains("mask at 1/72"), "{said}");
        assert_eq!(changes(&outcome, MarkingId(0)), "nothing");
    }
}
