//! The order of work: what is sprayed, stuck and laid in which order, and what to mind at each step.
//!
//! Masks first, in the order of their sheets; then tape and decals, what others
//! lie over before those, part by part. Cautions stand at the step they belong
//! to. Common practice, no source. Left out: where a piece goes, which
//! [`super::whereabouts`] says.

use super::tally;
use crate::flow::{Lies, Make, Outcome, Piece, ScaleOutcome, Sheet};

/// One thing to do.
#[derive(Debug)]
pub struct Step<'a> {
    pub does: Does,
    /// Copies that lie in one place share an entry.
    pub pieces: Vec<&'a [Piece]>,
    pub cautions: Vec<&'static str>,
}

/// What a step is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Does {
    /// Spraying through the masks of a sheet, by its index among those for the scale.
    Spray {
        sheet: usize,
    },
    /// Masks that are on no sheet.
    Mask,
    Tape,
    /// Decals that lie over so many others.
    Decals {
        layer: usize,
    },
}

const SPRAY: &str = "Spray with the air drawn off and a mask made for paint mist; let the paint beneath harden \
                     as its maker says before film goes on it.";
const BLADE: &str = "Cut with a fresh blade on a mat, away from your fingers.";
const FLUID: &str = "Setting fluid: air the room, keep it from flames, and try it on scrap plastic first.";
const WARMTH: &str = "Warm mask film with your hand or a hair dryer, never with a flame.";

/// The steps at one scale, in order.
pub fn steps<'a>(outcome: &Outcome, at: &'a ScaleOutcome) -> Vec<Step<'a>> {
    let mut entries: Vec<&[Piece]> = tally::alike(&at.pieces).collect();
    let order = |piece: &Piece| (outcome.plan.markings[piece.marking.0].layer, piece.part, piece.number);
    entries.sort_by_key(|alike| order(&alike[0]));
    let of = |make: Make| entries.iter().copied().filter(move |alike| alike[0].make == make);
    let mut steps = Vec::new();
    let there: Vec<&Sheet> = outcome.sheets_for(at).map(|kept| kept.sheet).collect();
    let mut sheets: Vec<usize> = (0..there.len()).filter(|&k| there[k].make == Make::Mask).collect();
    sheets.sort_by_key(|&k| (there[k].step, k));
    let on = |alike: &[Piece], k: usize| alike.iter().any(|piece| there[k].pieces.contains(&piece.number));
    for &k in &sheets {
        push(&mut steps, Does::Spray { sheet: k }, of(Make::Mask).filter(|alike| on(alike, k)).collect());
    }
    let left = of(Make::Mask).filter(|alike| !sheets.iter().any(|&k| on(alike, k)));
    push(&mut steps, Does::Mask, left.collect());
    push(&mut steps, Does::Tape, of(Make::Tape).collect());
    let mut layers: Vec<usize> = of(Make::Decal).map(|alike| order(&alike[0]).0).collect();
    layers.dedup();
    for layer in layers {
        let there = of(Make::Decal).filter(|alike| order(&alike[0]).0 == layer);
        push(&mut steps, Does::Decals { layer }, there.collect());
    }
    steps
}

fn push<'a>(steps: &mut Vec<Step<'a>>, does: Does, pieces: Vec<&'a [Piece]>) {
    if pieces.is_empty() {
        return;
    }
    let any = |is: &dyn Fn(&Piece) -> bool| pieces.iter().any(|alike| is(&alike[0]));
    let masks = matches!(does, Does::Spray { .. } | Does::Mask);
    let soft = any(&|piece| matches!(piece.lies, Lies::Softened | Lies::Cut));
    let cut = any(&|piece| piece.lies == Lies::Cut || !piece.fit.trim.is_empty());
    let cautions = [
        (masks, SPRAY),
        (soft && masks, WARMTH),
        (soft && matches!(does, Does::Decals { .. }), FLUID),
        (cut || masks, BLADE),
    ];
    let cautions = cautions.into_iter().filter(|(minds, _)| *minds).map(|(_, said)| said).collect();
    steps.push(Step { does, pieces, cautions });
}

#[cfg(test)]
mod tests {
    use super::super::fixture;
    use super::*;
    use std::sync::Arc;

    fn numbers(step: &Step) -> Vec<u32> {
        step.pieces.iter().map(|alike| alike[0].number).collect()
    }

    #[test]
    fn paint_comes_first_and_what_lies_over_comes_last() {
        let mut outcome = fixture::outcome();
        Arc::make_mut(&mut outcome.plan).markings[0].layer = 1;
        outcome.scales[0].pieces[2].make = Make::Mask;
        outcome.scales[0].pieces[3].make = Make::Mask;
        let steps = steps(&outcome, &outcome.scales[0]);
        let does: Vec<Does> = steps.iter().map(|step| step.does).collect();
        assert_eq!(does, [Does::Mask, Does::Decals { layer: 0 }, Does::Decals { layer: 1 }]);
        assert_eq!(steps.iter().map(numbers).collect::<Vec<_>>(), [vec![3], vec![2], vec![1]]);
        assert!(steps[0].cautions.contains(&SPRAY) && !steps[1].cautions.contains(&SPRAY));
        // The stripe is trimmed at the rim.
        assert!(steps[1].cautions.contains(&BLADE));
    }

    #[test]
    fn every_piece_has_its_step() {
        let outcome = fixture::outcome();
        let steps = steps(&outcome, &outcome.scales[0]);
        let told: usize = steps.iter().flat_map(|step| &step.pieces).map(|alike| alike.len()).sum();
        assert_eq!(told, outcome.scales[0].pieces.len());
    }
}
