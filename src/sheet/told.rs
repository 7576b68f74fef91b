//! What is told of sheets: a piece that none can hold, plain rows, heads and bars on film that is gone.

use super::frame;
use super::layout::Footprint;
use super::series::Cut;
use crate::flow::{Code, Finding, Make, Piece, Place, Plan, Severity};
use crate::outline::number::said_size;

/// ISO 216 trimmed sizes, mm, portrait.
const ISO_216: [(&str, [f64; 2]); 6] = [
    ("A5", [148.0, 210.0]),
    ("A4", [210.0, 297.0]),
    ("A3", [297.0, 420.0]),
    ("A2", [420.0, 594.0]),
    ("A1", [594.0, 841.0]),
    ("A0", [841.0, 1189.0]),
];

/// Says how large the piece is, how much room there is, and which page would do.
pub fn sheet_full(plan: &Plan, cut: &Cut, item: &Footprint) -> Finding {
    let piece = cut.piece;
    let marking = &plan.markings[piece.marking.0];
    let bounds = item.area.bounds();
    let [width, height] =
        frame::page_for(&plan.sheets_of(piece.make), bounds.width(), bounds.height()).map(f64::ceil);
    let holds = |[w, h]: [f64; 2]| (width <= w && height <= h).then_some([w, h]);
    let named = ISO_216.iter().find_map(|&(name, [w, h])| {
        holds([w, h]).or(holds([h, w])).map(|[w, h]| format!(" ({name}, {w} × {h} mm, would do)"))
    });
    let room = frame::room(&plan.sheets_of(piece.make));
    Finding {
        code: Code::SheetFull,
        severity: Severity::Error,
        text: format!(
            "`{}` as {}{} is {} with its film and label; a sheet has room for {}",
            marking.name,
            piece.make.word(),
            if plan.sheets.gang { format!(" at {}", cut.scale) } else { String::new() },
            said_size(bounds.width(), bounds.height()),
            said_size(room.width.max(0.0), room.height.max(0.0)),
        ),
        help: format!(
            "give the sheets a page of at least {width} × {height} mm{}, or make the marking in shorter sections",
            named.unwrap_or_default()
        ),
        at: marking.at.clone(),
    }
}

/// Says that so many pieces of one make lie in rows.
pub fn in_rows(plan: &Plan, make: Make, cuts: &[Cut]) -> Finding {
    Finding {
        code: Code::Rows,
        severity: Severity::Note,
        text: format!(
            "{} pieces of {} film are too many to be fitted into each other, so they lie in plain rows",
            cuts.len(),
            make.word()
        ),
        help: format!(
            "that takes somewhat more film: make fewer copies in one spec, let pieces of many corners turn in fewer ways{}",
            if plan.sheets.gang { ", or let each scale have sheets of its own, without `gang`" } else { "" }
        ),
        at: first_of(plan, cuts.first().map(|cut| cut.piece)),
    }
}

/// Says that a partly used sheet is not used on.
pub fn left_alone(plan: &Plan, make: Make, cuts: &[Cut]) -> Finding {
    Finding {
        code: Code::UsedFilm,
        severity: Severity::Note,
        text: format!("the partly used sheet of {} film is left alone: pieces lie in plain rows", make.word()),
        help: "to use it up, let pieces be fitted into each other: `effort: 1` under `sheets`, and fewer than thousands of them".to_owned(),
        at: first_of(plan, cuts.first().map(|cut| cut.piece)),
    }
}

/// Says what of a sheet's own marks falls on film that is gone.
pub fn on_used_film(plan: &Plan, stem: &str, piece: Option<&Piece>, what: &str) -> Finding {
    Finding {
        code: Code::UsedFilm,
        severity: Severity::Warning,
        text: format!("{what} of sheet {stem} falls on film that is gone"),
        help: "read and measure those of another sheet of the run, or of a trial sheet on paper: `printer: {trial: true}`".to_owned(),
        at: first_of(plan, piece),
    }
}

/// Findings of a whole sheet stand at a marking that is on it.
fn first_of(plan: &Plan, piece: Option<&Piece>) -> Place {
    plan.markings[piece.map_or(0, |piece| piece.marking.0)].at.clone()
}
