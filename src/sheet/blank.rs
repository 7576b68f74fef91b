//! One piece as it will lie on any sheet: film, colour, cut lines, trim lines.
//!
//! In the artwork's own coordinates, the hold point at the origin.
//!
//! **Decals** keep their colour true to size. The film goes on round it by the
//! border, and the cut line is the film's edge. Bleed belongs beyond a cut that
//! runs along the colour: it is printed where the border is nothing, or where the
//! marking itself asks for it, and then the silhouette is the cut line.
//!
//! **Masks** are windows: film round the silhouette, with what shows of one
//! colour cut out. What later areas cover is not part of the window, so the
//! windows of one artwork never overlap and may be sprayed in any order. Bridges stay
//! standing across them where the marking asks for them.
//!
//! A **trap** lets each colour go on beneath the ones painted after it, in decals
//! and masks alike, so that no bare film shows where they meet.
//!
//! Left out: the knife's path.

use super::ink;
use crate::flow::{Artwork, ColourId, Item, Make, Piece, Plan};
use crate::outline::bridge::bridged;
use crate::outline::{Region, separate};
use crate::units::{Length, Model};

/// How far a flattened curve may miss the true one, mm: a tenth of what a 1200 dpi printer can show.
pub const TOLERANCE: f64 = 0.002;

/// Bleed grows in steps of this, mm: where two colours meet at the edge, neither strays past their line by more.
const BLEED_STEP: f64 = 0.05;

/// One piece before it is placed.
pub struct Blank {
    /// The film, border and all.
    pub film: Region<Model>,
    /// The ground that marks keep off: what is printed, or sprayed.
    pub colour: Region<Model>,
    /// Bare film between its edge and that ground, mm.
    pub clear: f64,
    pub artwork: Vec<Item>,
    pub cut: Vec<Item>,
    pub trim: Vec<Item>,
}

/// A decal: every colour, bottom to top.
pub fn decal(plan: &Plan, piece: &Piece) -> Blank {
    let artwork = &piece.fit.artwork;
    let silhouette = artwork.silhouette.flattened(TOLERANCE).cleaned();
    let wishes = &plan.markings[piece.marking.0].piece;
    let film = &plan.films.decal;
    let border = wishes.border.unwrap_or(film.border).to_mm();
    let own_bleed = if border > 0.0 { Length::ZERO } else { film.bleed };
    let bleed = wishes.bleed.unwrap_or(own_bleed).to_mm();

    let fill = |colour: ColourId, outline| Item::Fill { outline, rgb: plan.colours[colour.0].rgb };
    let mut items = Vec::new();
    if bleed > 0.0 {
        let bled = bled(artwork, &silhouette, bleed);
        items.extend(bled.iter().map(|(colour, area)| fill(*colour, area.to_outline())));
    }
    match separated(artwork, wishes.trap) {
        Some(areas) => items.extend(areas.iter().map(|(colour, area)| fill(*colour, area.to_outline()))),
        None => items.extend(artwork.areas.iter().map(|area| fill(area.colour, area.outline.clone()))),
    }

    let film = silhouette.offset(border.max(bleed));
    let edge = if bleed > 0.0 { artwork.silhouette.clone() } else { film.to_outline() };
    Blank {
        cut: vec![ink::cut(edge)],
        colour: if bleed > 0.0 { silhouette.offset(bleed) } else { silhouette },
        clear: border.max(bleed) - bleed,
        film,
        artwork: items,
        trim: trim(piece),
    }
}

/// A mask for one colour; `None` where nothing of it shows.
pub fn mask(plan: &Plan, piece: &Piece, colour: ColourId) -> Option<Blank> {
    let artwork = &piece.fit.artwork;
    let window = match separated(artwork, plan.markings[piece.marking.0].piece.trap) {
        Some(areas) => {
            areas.into_iter().find(|(other, _)| *other == colour).map_or(Region::empty(), |(_, area)| area)
        }
        None => shows(artwork, colour),
    };
    if window.is_empty() {
        return None;
    }
    let wishes = &plan.markings[piece.marking.0].piece;
    let border = wishes.border.unwrap_or(plan.films.mask.border).to_mm();
    let silhouette = artwork.silhouette.flattened(TOLERANCE).cleaned();
    // A hole in the artwork stays covered: paint must not get there.
    let film = without_holes(&silhouette.offset(border));
    let window = wishes.bridges.map_or_else(|| window.clone(), |bridges| bridged(&window, &bridges));
    let window = window.to_outline();
    Some(Blank {
        cut: vec![ink::cut(film.to_outline()), ink::cut(window.clone())],
        artwork: vec![Item::Fill { outline: window, rgb: ink::tint(plan.colours[colour.0].rgb) }],
        colour: silhouette,
        clear: border,
        film,
        trim: trim(piece),
    })
}

/// The colours of a piece that has `make`, bottom first, each once.
pub fn colours(piece: &Piece, make: Make) -> Vec<ColourId> {
    let mut seen = Vec::new();
    for area in piece.fit.artwork.areas.iter().filter(|_| piece.make == make) {
        if !seen.contains(&area.colour) {
            seen.push(area.colour);
        }
    }
    seen
}

/// What is seen of one colour once everything is painted.
fn shows(artwork: &Artwork<Model>, colour: ColourId) -> Region<Model> {
    artwork.areas.iter().fold(Region::empty(), |seen, area| {
        let painted = area.outline.flattened(TOLERANCE);
        if area.colour == colour { seen.union(&painted) } else { seen.minus(&painted) }
    })
}

/// What shows of each colour, bottom first, without slivers and with the trap; `None` where that changes nothing.
fn separated(artwork: &Artwork<Model>, trap: Length<Model>) -> Option<Vec<(ColourId, Region<Model>)>> {
    // A pattern that goes all the way was drawn side by side, not separated.
    if artwork.areas.len() < 2 || artwork.repeat.is_some() && trap == Length::ZERO {
        return None;
    }
    let areas = artwork.areas.iter().map(|area| (area.colour, area.outline.flattened(TOLERANCE).cleaned()));
    let mut areas = separate::shown(&areas.collect::<Vec<_>>());
    let slivers = separate::tidy(&mut areas, separate::SLIVER);
    if trap > Length::ZERO {
        separate::trap(&mut areas, trap.to_mm());
    }
    (slivers > 0 || trap > Length::ZERO).then_some(areas)
}

/// Each colour grown past the silhouette by `bleed`, what shows of it included.
///
/// All colours grow together in small steps, none into another's ground, so that
/// each place beyond the edge takes the colour of the nearest place inside.
fn bled(artwork: &Artwork<Model>, silhouette: &Region<Model>, bleed: f64) -> Vec<(ColourId, Region<Model>)> {
    let mut colours: Vec<_> = artwork.areas.iter().map(|area| area.colour).collect();
    colours.sort_unstable();
    colours.dedup();
    let mut grown: Vec<_> = colours.into_iter().map(|colour| (colour, shows(artwork, colour))).collect();
    let steps = (bleed / BLEED_STEP).ceil().clamp(1.0, 20.0);
    for _ in 0..steps as usize {
        // Whoever goes first gets the contested strip, so they take turns.
        grown.reverse();
        let mut taken = grown.iter().fold(silhouette.clone(), |all, (_, area)| all.union(area));
        for (_, area) in &mut grown {
            let fresh = area.offset(bleed / steps).minus(&taken);
            taken = taken.union(&fresh);
            *area = area.union(&fresh);
        }
    }
    grown
}

fn without_holes(region: &Region<Model>) -> Region<Model> {
    let outer = |ring: &&Vec<_>| crate::outline::region::signed_area(ring) > 0.0;
    Region::new(region.rings.iter().filter(outer).cloned().collect()).cleaned()
}

/// The limits where they cross the piece.
fn trim(piece: &Piece) -> Vec<Item> {
    piece.fit.trim.iter().flat_map(|line| ink::trim(line)).collect()
}
