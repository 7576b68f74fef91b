//! Mask sets: the film that each spraying step of a marking needs.
//!
//! **Windows.** Film round the marking, with an opening for one colour. Where a
//! colour meets one that is sprayed *later*, its opening reaches over the line
//! by the overlap (the marking's own trap, where it has one), and the later colour's film makes the edge: no bare line is
//! left where two masks do not meet to a hair. Where it meets one sprayed
//! *earlier*, its opening ends on the line.
//!
//! **Covers.** The first colour goes over all of the marking, inside a frame.
//! Before each next colour, film is laid on what is to stay as it is, and stays
//! on to the end. A cover ends on the line towards colours still to come, and
//! reaches over earlier covers and the frame by the overlap.
//!
//! Sprayed in order, both leave the artwork itself. Every frame of a marking has
//! the same outer edge, grip and crosses at the same places. What is cut out of a
//! window is a cover for the same area, and the other way round.
//!
//! Left out: bridges across islands (a finding names them), feathered edges.

use super::TOLERANCE;
use crate::flow::{ColourId, Make, MarkingId, MaskFilm, MaskSet, MaskStep, Piece, Plan, Portion, luminance};
use crate::outline::tab::tabbed;
use crate::outline::{Point, Polyline, Region, Vector, point};
use crate::units::Model;
use std::collections::BTreeMap;

/// Longest arm of a registration cross, mm.
const ARM: f64 = 1.0;

/// Rings narrower than this come from rounding where areas meet, mm.
const SLIVER: f64 = 0.01;

/// What shows of each colour of a piece.
type Shown = Vec<(ColourId, Region<Model>)>;

/// For the pieces of each scale, one set for each marking that has masks, and for each section of one made in sections.
/// Scales that are sprayed together count their steps together.
pub fn sets(plan: &Plan, scales: &[&[Piece]]) -> Vec<Vec<MaskSet>> {
    let shown: Vec<Vec<(&Piece, Shown)>> = scales.iter().map(|pieces| of_each(pieces)).collect();
    let of_all = shown.iter().flatten().flat_map(|(_, shown)| shown);
    let mut colours: Vec<ColourId> = of_all.map(|(colour, _)| *colour).collect();
    colours.sort_unstable();
    colours.dedup();
    let order = order(plan, colours);
    let set = |(piece, shown): &(&Piece, Shown)| set(plan, piece, shown, &order);
    shown.iter().map(|pieces| pieces.iter().map(set).collect()).collect()
}

/// One piece of each marking that has masks, with what shows of its colours.
fn of_each(pieces: &[Piece]) -> Vec<(&Piece, Shown)> {
    let mut one_each: BTreeMap<(MarkingId, Option<Portion>), &Piece> = BTreeMap::new();
    for piece in pieces.iter().filter(|piece| piece.make == Make::Mask) {
        one_each.entry((piece.marking, piece.section)).or_insert(piece);
    }
    one_each.into_values().map(|piece| (piece, shown(piece))).collect()
}

/// The colours of a piece that show, with what shows of them.
fn shown(piece: &Piece) -> Shown {
    let artwork = &piece.fit.artwork;
    let shown = artwork.colours().into_iter().map(|colour| (colour, artwork.shown(colour, TOLERANCE)));
    shown.filter(|(_, area)| !area.is_empty()).collect()
}

/// Given colours first, as given; the others after them, light to dark.
fn order(plan: &Plan, mut colours: Vec<ColourId>) -> Vec<ColourId> {
    let key = |colour: &ColourId| {
        let given = plan.spray.order.iter().position(|other| other == colour);
        (given.unwrap_or(usize::MAX), -luminance(plan.colours[colour.0].rgb))
    };
    colours.sort_by(|a, b| {
        let (a, b) = (key(a), key(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    colours
}

fn set(plan: &Plan, piece: &Piece, shown: &[(ColourId, Region<Model>)], order: &[ColourId]) -> MaskSet {
    let wishes = &plan.markings[piece.marking.0].piece;
    let overlap = wishes.trap.unwrap_or(plan.spray.overlap).to_mm();
    let border = plan.border(piece).to_mm();
    let silhouette = piece.fit.artwork.silhouette.flattened(TOLERANCE).cleaned();
    // A hole in the artwork stays covered: paint must not get there.
    let frame = tabbed(silhouette.offset(border).filled(), wishes.tab);
    let in_order: Vec<(u32, ColourId, &Region<Model>)> = order
        .iter()
        .zip(1..)
        .filter_map(|(&colour, step)| {
            let (_, area) = shown.iter().find(|(other, _)| *other == colour)?;
            Some((step, colour, area))
        })
        .collect();
    let steps = (0..in_order.len()).map(|k| match plan.spray.film {
        MaskFilm::Window => window(&in_order, k, &frame, overlap),
        MaskFilm::Cover => cover(&in_order, k, &frame, overlap),
    });
    let steps: Vec<_> = steps.collect();
    let register = if steps.len() > 1 { crosses(&silhouette, border) } else { Vec::new() };
    MaskSet { marking: piece.marking, section: piece.section, steps, register }
}

type InOrder<'a> = [(u32, ColourId, &'a Region<Model>)];

fn united(areas: &InOrder<'_>) -> Region<Model> {
    areas.iter().fold(Region::empty(), |all, (_, _, area)| all.union(area))
}

fn window(all: &InOrder<'_>, k: usize, frame: &Region<Model>, overlap: f64) -> MaskStep {
    let (step, colour, area) = all[k];
    let later = united(&all[k + 1..]);
    let window = if overlap > 0.0 && !later.is_empty() {
        area.union(&area.offset(overlap).intersection(&later)).without_slivers(SLIVER)
    } else {
        area.clone()
    };
    MaskStep { colour, step, covers: None, film: frame.clone(), window }
}

fn cover(all: &InOrder<'_>, k: usize, frame: &Region<Model>, overlap: f64) -> MaskStep {
    let (step, colour, _) = all[k];
    let Some((_, covered, area)) = k.checked_sub(1).map(|before| all[before]) else {
        let window = united(all).without_slivers(SLIVER);
        return MaskStep { colour, step, covers: None, film: frame.clone(), window };
    };
    let film = if overlap > 0.0 {
        area.union(&area.offset(overlap).intersection(frame).minus(&united(&all[k..])))
            .without_slivers(SLIVER)
    } else {
        area.clone()
    };
    MaskStep { colour, step, covers: Some(covered), film, window: Region::empty() }
}

/// Two crosses in the border, as far from each other as it has room for.
fn crosses(silhouette: &Region<Model>, border: f64) -> Vec<Polyline> {
    let middle = silhouette.offset(border / 2.0);
    let arm = (0.3 * border).min(ARM);
    if arm < 0.2 {
        return Vec::new();
    }
    let furthest = |way: Vector| -> Option<Point> {
        let far = |p: &Point| p.to_vector().dot(way);
        middle.rings.iter().flatten().copied().max_by(|a, b| far(a).total_cmp(&far(b)))
    };
    let ends = [Vector::new(-1.0, 1.0), Vector::new(1.0, -1.0)].into_iter().filter_map(furthest);
    let cross = |p: Point| {
        [
            vec![point(p.x - arm, p.y), point(p.x + arm, p.y)],
            vec![point(p.x, p.y - arm), point(p.x, p.y + arm)],
        ]
    };
    ends.flat_map(cross).collect()
}
