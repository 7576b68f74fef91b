//! The finding for a piece that no sheet can hold.

use super::frame;
use super::layout::Footprint;
use crate::flow::{Code, Finding, Piece, Plan, Severity};

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
pub fn sheet_full(plan: &Plan, piece: &Piece, item: &Footprint) -> Finding {
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
            "`{}` as {} is {:.1} × {:.1} mm with its film and label; a sheet has room for {:.1} × {:.1} mm",
            marking.name,
            piece.make.word(),
            bounds.width(),
            bounds.height(),
            room.width.max(0.0),
            room.height.max(0.0),
        ),
        help: format!(
            "give the sheets a page of at least {width} × {height} mm{}, or make the marking in shorter parts",
            named.unwrap_or_default()
        ),
        at: marking.at.clone(),
    }
}
