//! Pieces made by hand, for tests of what comes after the fit.

use markloft::flow::*;
use markloft::outline::{Outline, Region};
use markloft::units::{Angle, Full, Length, Model, Scale, Size};
use std::sync::Arc;

fn place() -> Place {
    Place { file: "by hand".into(), line: 1, column: 1 }
}

/// A plan with these colours, no markings yet, on A4.
pub fn plan(title: &str, colours: &[(&str, [u8; 3])]) -> Plan {
    Plan {
        name: "by-hand".into(),
        title: title.into(),
        scales: vec![Scale::FULL],
        colours: colours
            .iter()
            .map(|&(name, rgb)| Colour { name: name.into(), rgb, paint: None, note: None })
            .collect(),
        films: Films::default(),
        parts: vec![Part {
            name: "door".into(),
            shape: Shape::Flat { width: Length::mm(900.0), height: Length::mm(900.0), face: View::Left },
            measured: vec![],
            limits: vec![],
            seam: Angle::ZERO,
            at: place(),
        }],
        markings: vec![],
        sheets: Sheets::default(),
        printer: Printer::default(),
        spray: Spray::default(),
        cutter: None,
    }
}

/// Adds a marking and its pieces, `copies` of each make; gives the marking's index.
pub fn add(
    plan: &mut Plan,
    pieces: &mut Vec<Piece>,
    name: &str,
    make: &[Make],
    copies: u32,
    artwork: Artwork<Model>,
) -> usize {
    let marking = MarkingId(plan.markings.len());
    plan.markings.push(Marking {
        name: name.into(),
        part: PartId(0),
        draw: Draw::Disc { diameter: Length::mm(1.0), colour: ColourId(0) },
        spot: Spot::Seen { view: View::Left, across: Length::ZERO, up: Length::ZERO, turn: Angle::ZERO },
        hold: Hold::Centre,
        lay: Lay::Drape,
        make: make.to_vec(),
        copies,
        may_trim: vec![],
        size_by: SizeBy::Scale,
        over: Vec::new(),
        layer: 0,
        piece: PieceWishes::default(),
        note: None,
        at: place(),
        draw_at: place(),
        spot_at: place(),
    });
    let bounds = artwork.silhouette.bounds();
    let fit = Arc::new(Fit {
        size: Size { width: Length::mm(bounds.width()), height: Length::mm(bounds.height()) },
        artwork,
        run: None,
        spine: vec![],
        film: Film3::default(),
        strain: Strain::default(),
        overhang: Length::ZERO,
        overhang_share: 0.0,
        overhanging: Region::empty(),
        trim: vec![],
        past: vec![],
        trimmable: true,
        largest_fit: 4.0,
        largest_length: None,
        seam: None,
        repeats: None,
        hidden_share: 0.0,
        doubled_share: 0.0,
        relief: None,
        past_line: Length::ZERO,
        miss: Length::ZERO,
    });
    for &make in make {
        for copy in 1..=copies {
            pieces.push(Piece {
                number: pieces.len() as u32 + 1,
                marking,
                part: PartId(0),
                copy,
                section: None,
                make,
                full_size: Size::<Full> { width: Length::mm(1.0), height: Length::mm(1.0) },
                fit: fit.clone(),
                effective_scale: Scale::FULL,
                verdict: Verdict::Fits,
                lies: Lies::Flat,
                findings: vec![],
            });
        }
    }
    marking.0
}

/// The trim lines of a marking's last pieces.
#[allow(dead_code, reason = "not every test has trim lines")]
pub fn trim(pieces: &mut [Piece], marking: usize, lines: Vec<markloft::outline::Polyline>) {
    for piece in pieces.iter_mut().filter(|piece| piece.marking.0 == marking) {
        let mut fit = (*piece.fit).clone();
        fit.trim = lines.clone();
        piece.fit = Arc::new(fit);
    }
}

/// One colour, covering its whole silhouette.
pub fn plain(colour: usize, outline: Outline<Model>) -> Artwork<Model> {
    Artwork {
        areas: vec![Area { colour: ColourId(colour), outline: outline.clone() }],
        silhouette: outline,
        repeat: None,
    }
}

/// Pieces of one scale on their sheets.
pub fn on_sheets(plan: &Plan, pieces: &[Piece]) -> (Vec<Sheet>, Vec<Finding>) {
    let masks = markloft::cut::masks::sets(plan, &[pieces]).remove(0);
    let lot = markloft::sheet::Lot { scale: Scale::FULL, pieces, masks: &masks };
    let (sheets, found) = markloft::sheet::sheets(plan, &[lot]);
    (sheets, found.into_iter().map(|(_, finding)| finding).collect())
}
