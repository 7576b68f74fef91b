//! Which pieces go on the same sheets: all decals together, masks by the colour sprayed through them.

use super::blank::{self, Blank};
use crate::flow::{ColourId, Make, MarkingId, Piece, Plan, Section};
use std::collections::BTreeMap;
use std::rc::Rc;

/// Pieces that go on the same sheets.
pub struct Series<'a> {
    pub make: Make,
    /// For masks, with the step.
    pub colour: Option<(ColourId, u32)>,
    pub pieces: Vec<Cut<'a>>,
}

/// A piece with its blank, which copies share.
pub struct Cut<'a> {
    pub piece: &'a Piece,
    pub blank: Rc<Blank>,
}

/// Every series that has pieces, decals first, then masks in spraying order.
pub fn all<'a>(plan: &Plan, pieces: &'a [Piece]) -> Vec<Series<'a>> {
    let decals = cuts(pieces, Make::Decal, |piece| Some(blank::decal(plan, piece)));
    let masks = spraying_order(pieces).into_iter().map(|colour| {
        let cuts = cuts(pieces, Make::Mask, |piece| blank::mask(plan, piece, colour));
        (colour, cuts)
    });
    let masks = masks.filter(|(_, cuts)| !cuts.is_empty()).zip(1..).map(|((colour, pieces), step)| Series {
        make: Make::Mask,
        colour: Some((colour, step)),
        pieces,
    });
    let decals = Series { make: Make::Decal, colour: None, pieces: decals };
    std::iter::once(decals).filter(|decals| !decals.pieces.is_empty()).chain(masks).collect()
}

/// The pieces of one make that `blank` has something for; worked out once for all copies of a marking.
fn cuts<'a>(pieces: &'a [Piece], make: Make, blank: impl Fn(&Piece) -> Option<Blank>) -> Vec<Cut<'a>> {
    let mut known: BTreeMap<(MarkingId, Option<Section>), Option<Rc<Blank>>> = BTreeMap::new();
    let of_make = pieces.iter().filter(|piece| piece.make == make);
    let cut = |piece: &'a Piece| {
        let blank = known.entry((piece.marking, piece.section)).or_insert_with(|| blank(piece).map(Rc::new));
        blank.clone().map(|blank| Cut { piece, blank })
    };
    of_make.filter_map(cut).collect()
}

/// Mask colours, the ones that lie lowest in any artwork first.
fn spraying_order(pieces: &[Piece]) -> Vec<ColourId> {
    let mut height: BTreeMap<ColourId, usize> = BTreeMap::new();
    for piece in pieces {
        for (k, colour) in blank::colours(piece, Make::Mask).into_iter().enumerate() {
            let highest = height.entry(colour).or_default();
            *highest = k.max(*highest);
        }
    }
    let mut order: Vec<_> = height.into_iter().map(|(colour, height)| (height, colour)).collect();
    order.sort_unstable();
    order.into_iter().map(|(_, colour)| colour).collect()
}
