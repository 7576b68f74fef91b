//! What stands on and beside a piece for people to read.
//!
//! On the film's edge: a pair of ticks in line with the hold point, across the
//! heading, and a small triangle that points along the heading. They straddle
//! the edge and stay off the colour, so that a cut piece keeps just enough of
//! them. Beside the piece: its number in a ring, as on an assembly drawing, and
//! the marking's name.

use super::blank::Blank;
use super::ink;
use crate::flow::{Item, Marking, Piece};
use crate::outline::{Bounds, Outline, Point, Region, Vector, point};
use crate::units::{Model, Scale};

/// Ticks reach this far past the film, mm.
const OUT: f64 = 1.2;
/// And at most this far into it; less where the border is narrow.
const IN: f64 = 1.0;
/// Half the triangle's base, mm.
const HALF: f64 = 0.6;

/// Capital height of numbers and names, mm: read at arm's length.
const LETTER: f64 = 1.7;
/// Radius of the ring round a number, mm.
const RING: f64 = 1.8;
/// From film to label, mm: clear of the ticks.
const GAP: f64 = 1.8;
/// A name may be this long even beside a small piece, mm.
const NAME: f64 = 40.0;

/// The ticks and the triangle, none where the axis misses the film.
pub fn on_edge(blank: &Blank) -> Vec<Item> {
    // Half the bare film at most: oblique edges come closer to the colour than square ones.
    let inward = (blank.clear / 2.0).min(IN);
    let mut items = Vec::new();
    if let Some([low, high]) = crossings(&blank.film, |p| point(p.y, p.x)) {
        items.push(ink::mark(point(0.0, high - inward), point(0.0, high + OUT)));
        items.push(ink::mark(point(0.0, low + inward), point(0.0, low - OUT)));
    }
    if let Some([_, ahead]) = crossings(&blank.film, |p| p) {
        let base = ahead - inward;
        let corners = [point(base, -HALF), point(ahead + OUT, 0.0), point(base, HALF)];
        let triangle = Region::new(vec![corners.to_vec()]).minus(&blank.colour);
        items.push(ink::solid(triangle.to_outline()));
    }
    items
}

/// The middle of a number's ring: under the film, the ring's left edge below the film's.
fn ring(film: &Bounds) -> Point {
    point(film.min.x + RING, film.min.y - GAP - RING)
}

/// The number in its ring.
pub fn number(piece: &Piece, film: &Bounds) -> [Item; 2] {
    let centre = ring(film);
    let number = ink::text(&piece.number.to_string(), LETTER, 1.5 * RING);
    [
        Item::Line { outline: Outline::circle(centre, RING), rgb: ink::INK, width: ink::FINE },
        ink::solid(number.moved(centre - number.bounds().center())),
    ]
}

/// The name beside the number, together no wider than `widest`; its scale too, where there are several on a sheet.
pub fn name(piece: &Piece, marking: &Marking, scale: Option<Scale>, film: &Bounds, widest: f64) -> Item {
    let centre = ring(film);
    let at = Vector::new(centre.x + RING + 0.9, centre.y - LETTER / 2.0);
    let room = (widest - 2.0 * RING - 0.9).clamp(0.0, film.width().max(NAME));
    let mut name = marking.name.clone();
    if let Some(scale) = scale {
        name += &format!(", {scale}");
    }
    if let Some(section) = piece.section {
        name += &format!(", section {} of {}", section.letter(), section.of);
    }
    if piece.copy > marking.copies {
        name += ", spare";
    } else if marking.copies > 1 {
        name += &format!(", {} of {}", piece.copy, marking.copies);
    }
    ink::solid(ink::text(&name, LETTER, room).moved(at))
}

/// Least and greatest x at which the x axis crosses an edge, after `swap`.
fn crossings(film: &Region<Model>, swap: impl Fn(Point) -> Point) -> Option<[f64; 2]> {
    let mut span: Option<[f64; 2]> = None;
    for (a, b) in film.edges().map(|(a, b)| (swap(a), swap(b))) {
        if (a.y <= 0.0) != (b.y <= 0.0) {
            let x = a.x + (b.x - a.x) * (a.y / (a.y - b.y));
            let [least, greatest] = span.unwrap_or([x, x]);
            span = Some([least.min(x), greatest.max(x)]);
        }
    }
    span
}
