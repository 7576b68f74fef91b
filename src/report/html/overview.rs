//! Every marking across the scales: a verdict in each cell that leads to its card.

use super::{anchor, said};
use crate::flow::{Lies, Make, MarkingId, Outcome, Piece, ScaleOutcome, Verdict};
use maud::{Markup, html};

pub fn overview(outcome: &Outcome) -> Markup {
    html! {
        section #overview {
            h2 { "Across scales" }
            div.scroll tabindex="0" role="region" aria-label="Verdicts across scales" {
                table {
                    caption { "Is each piece the right size for its part, and does it lie down?" }
                    thead {
                        tr {
                            th scope="col" { "Marking" }
                            th scope="col" { "As" }
                            @for at in &outcome.scales { th scope="col" { (at.scale.to_string()) } }
                        }
                    }
                    tbody {
                        @for (marking, make) in rows(outcome) {
                            tr {
                                th scope="row" { (said(&outcome.plan.markings[marking.0].name)) }
                                td { (make.word()) }
                                @for at in &outcome.scales { td { (cell(at, marking, make)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What there is to compare: each marking as each thing it is made as, in the order of the spec.
fn rows(outcome: &Outcome) -> Vec<(MarkingId, Make)> {
    let pieces = outcome.scales.iter().flat_map(|at| &at.pieces);
    let mut rows: Vec<_> = pieces.map(|piece| (piece.marking, piece.make)).collect();
    rows.sort_unstable();
    rows.dedup();
    rows
}

/// The worst of the copies stands for all of them.
fn cell(at: &ScaleOutcome, marking: MarkingId, make: Make) -> Markup {
    let copies = at.pieces.iter().filter(|piece| piece.marking == marking && piece.make == make);
    let worst = copies.reduce(|a, b| if (b.verdict, b.lies) > (a.verdict, a.lies) { b } else { a });
    html! {
        @match worst {
            Some(piece) => {
                a.verdict-link href={ "#" (anchor::piece(at.scale, piece.number)) } { (badge(piece.verdict)) }
                small { (lies(piece)) }
            }
            None => { span.absent { "–" } }
        }
    }
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
        Lies::Softened => "softened",
        Lies::Cut => "with cuts",
        Lies::No => "will not lie",
    }
}
