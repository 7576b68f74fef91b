//! Sheets as small pictures whose pieces lead to their cards: those of a scale, and those that scales share.

use super::{anchor, findings, said};
use crate::flow::{Home, Kept, Outcome, Piece, ScaleOutcome, Together};
use crate::outline::number::{said_share, short};
use crate::report::film_use::{self, FilmUse};
use crate::report::picture::sheet::{self, Link};
use crate::report::tally;
use crate::report::text::count;
use crate::units::Scale;
use maud::{Markup, PreEscaped, html};
use std::collections::BTreeMap;

/// The sheets of one scale alone.
pub fn of_scale(outcome: &Outcome, at: &ScaleOutcome) -> Markup {
    html! {
        @if !at.sheets.is_empty() {
            h3 id=(anchor::sheets(Home::Scale(at.scale))) { "Sheets at " (at.scale.to_string()) }
            (pictures(outcome, &film_use::of_scale(outcome, at), at.own_sheets()))
        }
    }
}

/// The sheets that scales share.
pub fn shared(outcome: &Outcome) -> Markup {
    let Together { sheets, findings, .. } = &outcome.together;
    html! {
        @if !sheets.is_empty() || !findings.is_empty() {
            section.scale id=(anchor::sheets(Home::Together)) {
                h2 { "Sheets for all scales together" }
                (findings::list(findings))
                (pictures(outcome, &film_use::shared(outcome), outcome.shared_sheets()))
            }
        }
    }
}

fn pictures<'a>(outcome: &Outcome, films: &[FilmUse], sheets: impl Iterator<Item = Kept<'a>>) -> Markup {
    html! {
        @for film in films { p.tally { (said(&film.said())) "." } }
        div.sheets {
            @for kept in sheets {
                figure id=(anchor::sheet(kept.home, kept.index)) {
                    (PreEscaped(picture(outcome, kept)))
                    figcaption { b { (said(&kept.sheet.stem)) } (PreEscaped("<br>")) (about(outcome, kept)) }
                }
            }
        }
    }
}

fn picture(outcome: &Outcome, kept: Kept) -> String {
    let of = kept.sheet;
    let scales: Vec<&ScaleOutcome> =
        outcome.scales.iter().filter(|at| of.scales.contains(&at.scale)).collect();
    let all: BTreeMap<u32, (Scale, &Piece)> = scales
        .iter()
        .flat_map(|at| at.pieces.iter().map(|piece| (piece.number, (at.scale, piece))))
        .collect();
    let link = |number: u32| {
        let piece = all.get(&number);
        let name = piece.map_or("", |(_, piece)| &outcome.plan.markings[piece.marking.0].name);
        let verdict = piece.map_or("", |(_, piece)| piece.verdict.word());
        Link {
            to: piece.map_or_else(String::new, |(scale, _)| format!("#{}", anchor::piece(*scale, number))),
            id: anchor::spot(kept.home, kept.index, number),
            label: match (piece, kept.home) {
                (Some((scale, _)), Home::Together) => format!("Piece {number}, {name} at {scale}: {verdict}"),
                _ => format!("Piece {number}, {name}: {verdict}"),
            },
        }
    };
    let pieces = scales.iter().flat_map(|at| &at.pieces).filter(|piece| of.pieces.contains(&piece.number));
    let title =
        format!("Sheet {} with {}: {}", of.stem, count(of.pieces.len(), "piece"), tally::verdicts(pieces));
    sheet::sheet(of, &title, link)
}

/// What the sheet is for.
fn about(outcome: &Outcome, kept: Kept) -> Markup {
    let sheet = kept.sheet;
    let scales: Vec<String> = sheet.scales.iter().map(ToString::to_string).collect();
    let side = |length: crate::units::Length<_>| short(length.to_mm(), 1);
    html! {
        (sheet.make.word()) ", " (side(sheet.page.width)) " × " (side(sheet.page.height)) " mm, "
        (said_share(sheet.used_share)) " used"
        @if kept.home == Home::Together { ", with pieces at " (scales.join(", ")) }
        @if let Some(colour) = sheet.colour.map(|colour| &outcome.plan.colours[colour.0]) {
            ", for " (said(&colour.name))
            @for words in colour.paint.iter().chain(&colour.note) { ", " (said(words)) }
        }
        @if let Some(step) = sheet.step { ", step " (step) }
    }
}
