//! Which pieces go on the same sheets: all decals together, masks by spraying step.

use super::blank::{self, Blank};
use crate::flow::{ColourId, Make, MarkingId, MaskSet, Piece, Plan, Portion};
use crate::units::Scale;
use std::collections::BTreeMap;
use std::rc::Rc;

/// The pieces of one scale, and the mask sets made for them.
#[derive(Clone, Copy)]
pub struct Lot<'a> {
    pub scale: Scale,
    pub pieces: &'a [Piece],
    pub masks: &'a [MaskSet],
}

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
    pub scale: Scale,
    pub blank: Rc<Blank>,
}

/// Every series that has pieces, decals first, then masks in spraying order.
pub fn all<'a>(plan: &Plan, lots: &[Lot<'a>]) -> Vec<Series<'a>> {
    let of_lot = |lot: &Lot<'a>| cuts(lot, Make::Decal, |piece| Some(blank::decal(plan, piece)));
    let decals = Series { make: Make::Decal, colour: None, pieces: lots.iter().flat_map(of_lot).collect() };
    let sets = lots.iter().flat_map(|lot| lot.masks);
    let steps: BTreeMap<u32, ColourId> =
        sets.flat_map(|set| set.steps.iter().map(|step| (step.step, step.colour))).collect();
    let of_step = |(number, colour): (u32, ColourId)| {
        let of_lot = |lot: &Lot<'a>| {
            let film = |piece: &Piece| {
                let own = |set: &&MaskSet| (set.marking, set.section) == (piece.marking, piece.section);
                let set = lot.masks.iter().find(own)?;
                let step = set.steps.iter().find(|step| step.step == number)?;
                Some(blank::mask(plan, piece, set, step))
            };
            cuts(lot, Make::Mask, film)
        };
        let pieces = lots.iter().flat_map(of_lot).collect();
        Series { make: Make::Mask, colour: Some((colour, number)), pieces }
    };
    let masks = steps.into_iter().map(of_step);
    std::iter::once(decals).filter(|decals| !decals.pieces.is_empty()).chain(masks).collect()
}

/// The pieces of one make that `blank` has something for; worked out once for all copies of a marking.
fn cuts<'a>(lot: &Lot<'a>, make: Make, blank: impl Fn(&Piece) -> Option<Blank>) -> Vec<Cut<'a>> {
    let mut known: BTreeMap<(MarkingId, Option<Portion>), Option<Rc<Blank>>> = BTreeMap::new();
    let of_make = lot.pieces.iter().filter(|piece| piece.make == make);
    let cut = |piece: &'a Piece| {
        let blank = known.entry((piece.marking, piece.section)).or_insert_with(|| blank(piece).map(Rc::new));
        blank.clone().map(|blank| Cut { piece, scale: lot.scale, blank })
    };
    of_make.filter_map(cut).collect()
}
