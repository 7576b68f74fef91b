//! The sheets of a scale as small pictures whose pieces lead to their cards.

use super::{anchor, said};
use crate::flow::{Outcome, ScaleOutcome, Sheet};
use crate::outline::number::short;
use crate::report::film_use::film_use;
use crate::report::picture::sheet::{self, Link};
use crate::report::sentence::percent;
use crate::report::tally;
use crate::report::text::count;
use maud::{Markup, PreEscaped, html};

pub fn sheets(outcome: &Outcome, at: &ScaleOutcome) -> Markup {
    html! {
        @if !at.sheets.is_empty() {
            h3 id=(anchor::sheets(at.scale)) { "Sheets at " (at.scale.to_string()) }
            @for film in film_use(outcome, at) { p.tally { (said(&film.said())) "." } }
            div.sheets {
                @for (index, sheet) in at.sheets.iter().enumerate() {
                    figure id=(anchor::sheet(at.scale, index)) {
                        (PreEscaped(picture(outcome, at, index, sheet)))
                        figcaption { b { (said(&sheet.stem)) } (PreEscaped("<br>")) (about(outcome, sheet)) }
                    }
                }
            }
        }
    }
}

fn picture(outcome: &Outcome, at: &ScaleOutcome, index: usize, of: &Sheet) -> String {
    let link = |number: u32| {
        let piece = at.pieces.iter().find(|piece| piece.number == number);
        let name = piece.map_or("", |piece| &outcome.plan.markings[piece.marking.0].name);
        let verdict = piece.map_or("", |piece| piece.verdict.word());
        Link {
            to: format!("#{}", anchor::piece(at.scale, number)),
            id: anchor::spot(at.scale, index, number),
            label: format!("Piece {number}, {name}: {verdict}"),
        }
    };
    let pieces = at.pieces.iter().filter(|piece| of.pieces.contains(&piece.number));
    let title =
        format!("Sheet {} with {}: {}", of.stem, count(of.pieces.len(), "piece"), tally::verdicts(pieces));
    sheet::sheet(of, &title, link)
}

/// What the sheet is for.
fn about(outcome: &Outcome, sheet: &Sheet) -> Markup {
    let side = |length: crate::units::Length<_>| short(length.to_mm(), 1);
    html! {
        (sheet.make.word()) ", " (side(sheet.page.width)) " × " (side(sheet.page.height)) " mm, "
        (percent(sheet.used_share)) " used"
        @if let Some(colour) = sheet.colour.map(|colour| &outcome.plan.colours[colour.0]) {
            ", for " (said(&colour.name))
            @for words in colour.paint.iter().chain(&colour.note) { ", " (said(words)) }
        }
        @if let Some(step) = sheet.step { ", step " (step) }
    }
}
