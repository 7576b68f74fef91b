//! One piece as it will lie on any sheet: film, colour, cut lines, trim lines.
//!
//! In the artwork's own coordinates, the hold point at the origin.
//!
//! **Decals** keep their colour true to size. The film goes on round it by the
//! border, and the cut line is the film's edge. Bleed belongs beyond a cut that
//! runs along the colour: it is printed where the border is nothing, or where the
//! marking itself asks for it, and then the silhouette is the cut line.
//!
//! **Masks** are the film of one spraying step: a window, or a cover. Bridges stay
//! standing across windows where the marking asks for them.
//!
//! A **trap** lets each colour of a decal go on beneath the ones painted after it, so
//! that no bare film shows where they meet.
//!
//! **White** under a decal's colour stays within what is printed by the choke. Decals
//! that are laid face down are turned over here, so that all that comes after is
//! laid out and labelled as for any other.
//!
//! Left out: which film a step needs, and the knife's path.

use super::{ink, relief};
use crate::flow::{Artwork, ColourId, Item, MaskSet, MaskStep, Piece, Plan, White};
use crate::outline::bridge::bridged;
use crate::outline::tab::tabbed;
use crate::outline::{Point, Polyline, Region, Vector, point, separate};
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
    /// White under the artwork.
    pub white: Vec<Item>,
    /// With the colour of what is one.
    pub artwork: Vec<(Option<ColourId>, Item)>,
    pub cut: Vec<Item>,
    pub relief: Vec<Item>,
    pub trim: Vec<Item>,
    /// Crosses that bring this film over another.
    pub register: Vec<Item>,
    /// Of relief cuts, beside the film.
    pub numbers: Vec<Item>,
}

/// A decal: every colour, bottom to top.
pub fn decal(plan: &Plan, piece: &Piece) -> Blank {
    let artwork = &piece.fit.artwork;
    let silhouette = artwork.silhouette.flattened(TOLERANCE).cleaned();
    let wishes = &plan.markings[piece.marking.0].piece;
    let film = &plan.films.decal;
    let border = plan.border(piece).to_mm();
    let own_bleed = if border > 0.0 { Length::ZERO } else { film.bleed };
    let bleed = wishes.bleed.unwrap_or(own_bleed).to_mm();

    let fill =
        |colour: ColourId, outline| (Some(colour), Item::Fill { outline, rgb: plan.colours[colour.0].rgb });
    let mut items = Vec::new();
    let bled = if bleed > 0.0 { bled(artwork, &silhouette, bleed) } else { Vec::new() };
    if !bled.is_empty() {
        items.extend(bled.iter().map(|(colour, area)| fill(*colour, area.to_outline())));
    }
    match separated(artwork, wishes.trap.unwrap_or(Length::ZERO), plan.printer.order.as_deref()) {
        Some(areas) => items.extend(areas.iter().map(|(colour, area)| fill(*colour, area.to_outline()))),
        None => items.extend(artwork.areas.iter().map(|area| fill(area.colour, area.outline.clone()))),
    }
    let choked = |white: &White| {
        let painted = bled.iter().fold(artwork.painted(TOLERANCE), |all, (_, area)| all.union(area));
        ink::white(painted.offset(-white.choke.to_mm()).to_outline())
    };
    let white = plan.printer.white.iter().map(choked).collect();

    let film = silhouette.offset(border.max(bleed));
    let edge = if bleed > 0.0 { artwork.silhouette.clone() } else { film.to_outline() };
    let slits = relief::slits(piece, &film);
    if plan.printer.lines.relief {
        items.extend(slits.iter().map(|slit| (None, ink::under_slit(slit.clone()))));
    }
    let blank = Blank {
        cut: vec![ink::cut(edge)],
        relief: slits.into_iter().map(ink::slit).collect(),
        numbers: relief::numbers(piece, &film),
        colour: if bleed > 0.0 { silhouette.offset(bleed) } else { silhouette },
        clear: border.max(bleed) - bleed,
        film,
        white,
        artwork: items,
        trim: trim(piece),
        register: Vec::new(),
    };
    if plan.printer.mirrored { blank.face_down() } else { blank }
}

impl Blank {
    /// Left and right of the heading changed over, to be laid with the print downwards. Numbers still read.
    fn face_down(self) -> Self {
        let over = |p: Point| point(p.x, -p.y);
        let region = |region: Region<Model>| {
            let ring = |ring: Polyline| ring.into_iter().rev().map(over).collect();
            Region::new(region.rings.into_iter().map(ring).collect())
        };
        let item = |item: Item| match item {
            Item::Fill { outline, rgb } => Item::Fill { outline: outline.upside_down(), rgb },
            Item::Line { outline, rgb, width } => Item::Line { outline: outline.upside_down(), rgb, width },
            Item::Path { points, rgb, width } => {
                Item::Path { points: points.into_iter().map(over).collect(), rgb, width }
            }
        };
        let all = |items: Vec<Item>| items.into_iter().map(item).collect();
        let number = |item: Item| match item {
            Item::Fill { outline, rgb } => {
                let down = Vector::new(0.0, -2.0 * outline.bounds().center().y);
                Item::Fill { outline: outline.moved(down), rgb }
            }
            other => other,
        };
        Self {
            film: region(self.film),
            colour: region(self.colour),
            clear: self.clear,
            white: all(self.white),
            artwork: self.artwork.into_iter().map(|(colour, each)| (colour, item(each))).collect(),
            cut: all(self.cut),
            relief: all(self.relief),
            trim: all(self.trim),
            register: all(self.register),
            numbers: self.numbers.into_iter().map(number).collect(),
        }
    }
}

/// A mask before its openings are cut: what it takes of a sheet.
pub fn frame(plan: &Plan, piece: &Piece) -> Blank {
    let wishes = &plan.markings[piece.marking.0].piece;
    let border = plan.border(piece).to_mm();
    let silhouette = piece.fit.artwork.silhouette.flattened(TOLERANCE).cleaned();
    let film = tabbed(silhouette.offset(border).filled(), wishes.tab);
    Blank {
        cut: vec![ink::cut(film.to_outline())],
        numbers: relief::numbers(piece, &film),
        white: Vec::new(),
        artwork: Vec::new(),
        relief: Vec::new(),
        colour: silhouette,
        clear: border,
        film,
        trim: mask_trim(piece, border),
        register: Vec::new(),
    }
}

/// The film of one spraying step, with its openings cut.
pub fn mask(plan: &Plan, piece: &Piece, set: &MaskSet, step: &MaskStep) -> Blank {
    let border = plan.border(piece).to_mm();
    let numbers = relief::numbers(piece, &step.film);
    let film = relief::without_darts(piece, step.film.clone());
    let mut cut = vec![ink::cut(film.to_outline())];
    let relief = relief::slits(piece, &film).into_iter().map(ink::slit).collect();
    let tinted = |colour: ColourId, outline| {
        (Some(colour), Item::Fill { outline, rgb: ink::tint(plan.colours[colour.0].rgb) })
    };
    if let Some(covered) = step.covers {
        // Marks keep off all of it: it is small, and nothing of it is waste.
        let artwork = vec![tinted(covered, film.to_outline())];
        return Blank {
            cut,
            relief,
            numbers,
            white: Vec::new(),
            artwork,
            colour: film.clone(),
            clear: 0.0,
            film,
            trim: mask_trim(piece, border),
            register: Vec::new(),
        };
    }
    let marking = &plan.markings[piece.marking.0];
    let lean = |at: Point| piece.fit.lean(&marking.draw, at);
    let window = match &marking.piece.bridges {
        Some(bridges) => bridged(&step.window, bridges, &lean),
        None => step.window.clone(),
    };
    let window = window.to_outline();
    cut.push(ink::cut(window.clone()));
    Blank {
        cut,
        relief,
        numbers,
        white: Vec::new(),
        artwork: vec![tinted(step.colour, window)],
        colour: piece.fit.artwork.silhouette.flattened(TOLERANCE).cleaned(),
        clear: border,
        film,
        trim: mask_trim(piece, border),
        register: set.register.iter().map(|line| ink::stroke(line.clone())).collect(),
    }
}

/// What shows of each colour, bottom first, without slivers and with the trap; `None` where that changes nothing.
///
/// Colours that are printed one by one, in an order of their own, are always told apart: each must leave room
/// for the others.
fn separated(
    artwork: &Artwork<Model>,
    trap: Length<Model>,
    order: Option<&[ColourId]>,
) -> Option<Vec<(ColourId, Region<Model>)>> {
    // A pattern that goes all the way was drawn side by side, not separated.
    if artwork.areas.len() < 2 || artwork.repeat.is_some() && trap == Length::ZERO {
        return None;
    }
    let areas = artwork.areas.iter().map(|area| (area.colour, area.outline.flattened(TOLERANCE).cleaned()));
    let mut areas = separate::shown(&areas.collect::<Vec<_>>());
    let slivers = separate::tidy(&mut areas, separate::SLIVER);
    if let Some(order) = order {
        areas.sort_by_key(|(colour, _)| place_in(order, *colour));
    }
    if trap > Length::ZERO {
        separate::trap(&mut areas, trap.to_mm());
    }
    (slivers > 0 || trap > Length::ZERO || order.is_some()).then_some(areas)
}

/// Where a colour comes in an order; what is not listed comes last.
pub fn place_in(order: &[ColourId], colour: ColourId) -> usize {
    order.iter().position(|known| *known == colour).unwrap_or(order.len())
}

/// Each colour grown past the silhouette by `bleed`, what shows of it included.
///
/// All colours grow together in small steps, none into another's ground, so that
/// each place beyond the edge takes the colour of the nearest place inside.
fn bled(artwork: &Artwork<Model>, silhouette: &Region<Model>, bleed: f64) -> Vec<(ColourId, Region<Model>)> {
    /// What a step may straighten, mm: every offset gains corners, and twenty in a row would gain a million.
    const STRAIGHT: f64 = 1e-4;
    let mut colours = artwork.colours();
    colours.sort_unstable();
    let shown = |colour| (colour, artwork.shown(colour, TOLERANCE));
    let mut grown: Vec<_> = colours.into_iter().map(shown).collect();
    // Alone, a colour goes all the way at once.
    let steps = if grown.len() > 1 { (bleed / BLEED_STEP).ceil().clamp(1.0, 20.0) } else { 1.0 };
    for _ in 0..steps as usize {
        // Whoever goes first gets the contested strip, so they take turns.
        grown.reverse();
        let mut taken = grown.iter().fold(silhouette.clone(), |all, (_, area)| all.union(area));
        for (_, area) in &mut grown {
            let fresh = area.offset(bleed / steps).minus(&taken);
            taken = taken.union(&fresh);
            *area = area.union(&fresh).simplified(STRAIGHT);
        }
    }
    grown
}

/// The same of a mask, and where its ends come off once it lies: round a part it goes on past the seam, over its own
/// opening, so that it holds together while it is laid.
fn mask_trim(piece: &Piece, border: f64) -> Vec<Item> {
    let fit = &piece.fit;
    let mut items = trim(piece);
    let seam = fit.seam.as_ref().filter(|seam| seam.gap.to_mm() < border);
    if let (Some(_), Some(run), [first, second, .., before, last]) = (seam, fit.run, &fit.spine[..]) {
        for (at, along) in [(*first, *second - *first), (*last, *last - *before)] {
            let aside = Vector::new(-along.y, along.x).normalize() * (run.height.to_mm() / 2.0 + border);
            items.extend(ink::trim(&[at - aside, at + aside]));
        }
    }
    items
}

/// The limits where they cross the piece.
fn trim(piece: &Piece) -> Vec<Item> {
    piece.fit.trim.iter().flat_map(|line| ink::trim(line)).collect()
}
