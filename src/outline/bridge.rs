//! Bridges: strips of film left across a mask's window, so that its islands stay tied to it.
//!
//! A counter (the inside of an A, of a ring) is tied as a signwriter ties it: from its
//! middle straight out across the stroke, up and down unless another direction is asked
//! for, moved to the side only where the stroke is far thinner there (the leg of an R).
//! Every counter gets its own bridges, and they turn with what is drawn there. Whatever lies
//! within another counter is tied to that one, and so on to the film outside.
//!
//! Left out: which windows want bridges, and whether the film bears bridges so narrow.

use super::region::{Polyline, Region, signed_area};
use super::{Bounds, Point, Vector, turned};
use crate::units::{Angle, Length, Model};
use std::f64::consts::TAU;

/// Lines along which a bridge is measured, side by side over its width.
const LINES: usize = 9;
/// Places tried to either side of a counter's middle, and how much thinner the stroke must be there.
const ASIDE: [f64; 7] = [0.0, -0.125, 0.125, -0.25, 0.25, -0.36, 0.36];
const THINNER: f64 = 0.75;
/// A bridge runs past both edges of the stroke by this share of its width: it must not hang on a corner.
const PAST: f64 = 0.02;

/// How islands are tied. Sizes are of the film.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bridges {
    pub width: Length<Model>,
    /// Of each counter.
    pub count: u32,
    /// Where the first one goes, counter-clockwise from the heading of what is drawn there; the others evenly
    /// round from there.
    pub direction: Angle,
}

/// The window with its bridges left standing. `lean` is how far what is drawn at a place is turned there.
#[must_use]
pub fn bridged(window: &Region<Model>, bridges: &Bridges, lean: &dyn Fn(Point) -> Angle) -> Region<Model> {
    let mut rings = Vec::new();
    for part in window.parts() {
        let counters = part.rings.iter().filter(|ring| signed_area(ring) < 0.0);
        let strips: Vec<Polyline> =
            counters.flat_map(|counter| strips(&part, counter, bridges, lean)).collect();
        let open = if strips.is_empty() { part } else { part.minus(&Region::new(strips).cleaned()) };
        rings.extend(open.rings);
    }
    Region::new(rings)
}

/// One counter's bridges.
fn strips(
    part: &Region<Model>,
    counter: &[Point],
    bridges: &Bridges,
    lean: &dyn Fn(Point) -> Angle,
) -> Vec<Polyline> {
    let middle = middle(counter);
    let first = bridges.direction.to_radians() + lean(middle).to_radians();
    let bounds = Bounds::from_points(counter.iter().copied());
    let inside = Region::<Model>::new(vec![counter.iter().rev().copied().collect()]);
    let one = |k: u32| {
        let angle = first + TAU * f64::from(k) / f64::from(bridges.count);
        let out = turned(Vector::new(1.0, 0.0), angle);
        let aside = Vector::new(-out.y, out.x);
        let breadth = bounds.width() * aside.x.abs() + bounds.height() * aside.y.abs();
        let width = bridges.width.to_mm();
        let half = aside * (width / 2.0);
        let tried = ASIDE.iter().map(|share| middle + aside * (share * breadth));
        let thick = |from: Point| {
            let [near, far] = span(part, &inside, [from - half, from + half], 3, out);
            (from, far - near)
        };
        let mut tried = tried.filter(|&from| inside.contains(from)).map(thick);
        let first = tried.next().unwrap_or((middle, 0.0));
        let (from, _) =
            tried.fold(first, |best, other| if other.1 < THINNER * best.1 { other } else { best });
        let [near, far] = span(part, &inside, [from - half, from + half], LINES, out);
        let past = PAST * width;
        let (near, far) = ((near - past).max(0.0), far + past);
        vec![
            from + out * near - half,
            from + out * far - half,
            from + out * far + half,
            from + out * near + half,
        ]
    };
    (0..bridges.count).map(one).collect()
}

/// From where to where lines ahead, starting in a counter between two points, cross the stroke that closes it.
fn span(
    part: &Region<Model>,
    counter: &Region<Model>,
    [a, b]: [Point; 2],
    lines: usize,
    out: Vector,
) -> [f64; 2] {
    let mut found = [f64::INFINITY, 0.0];
    for k in 0..lines {
        // Just within the strip, so that an edge along its side is not met.
        let share = (k as f64 + 1e-6) / (lines as f64 - 1.0 + 2e-6);
        let start = a.lerp(b, share);
        let mut crossings: Vec<f64> = part.edges().filter_map(|(a, b)| crossing(start, out, a, b)).collect();
        crossings.sort_by(f64::total_cmp);
        // An odd number of edges ahead: the line starts in the stroke.
        if crossings.len() % 2 == 1 {
            crossings.insert(0, 0.0);
        }
        // A tail within the counter is passed by: beyond it is the counter still.
        let mut strokes = crossings.chunks_exact(2);
        let closes = |stroke: &&[f64]| !counter.contains(start + out * (stroke[1] * (1.0 + 1e-9) + 1e-9));
        let Some(crossed) = strokes.find(closes) else { continue };
        found = [found[0].min(crossed[0]), found[1].max(crossed[1])];
    }
    if found[0] > found[1] { [0.0; 2] } else { found }
}

/// How far ahead on a ray an edge is.
fn crossing(start: Point, out: Vector, a: Point, b: Point) -> Option<f64> {
    let (side_a, side_b) = (out.cross(a - start), out.cross(b - start));
    if (side_a < 0.0) == (side_b < 0.0) {
        return None;
    }
    let hit = a + (b - a) * (side_a / (side_a - side_b));
    Some((hit - start).dot(out)).filter(|&ahead| ahead > 0.0)
}

/// The middle of a counter's box, or its centre of area where that is too near its edge.
fn middle(counter: &[Point]) -> Point {
    /// Nearer to the edge than this, of the counter's width, a bridge from there would run along the edge.
    const ROOM: f64 = 0.15;
    let bounds = Bounds::from_points(counter.iter().copied());
    let inside = Region::<Model>::new(vec![counter.iter().rev().copied().collect()]);
    let centre = bounds.center();
    let room = ROOM * bounds.width().min(bounds.height());
    if inside.contains(centre) && inside.distance_to_edge(centre) > room {
        return centre;
    }
    let mut sum = Vector::zero();
    let next = counter.iter().cycle().skip(1);
    for (a, b) in counter.iter().zip(next) {
        let (a, b) = (*a - centre, *b - centre);
        sum += (a + b) * (a.cross(b) / 6.0);
    }
    centre + sum / signed_area(counter)
}

/// How many bits of a mask's film come loose when its window is cut.
pub fn loose(film: &Region<Model>, window: &Region<Model>) -> usize {
    film.minus(window).parts().len().saturating_sub(1)
}

#[cfg(test)]
mod tests {
    use super::super::{Outline, point};
    use super::*;

    fn upright(width: f64, count: u32) -> Bridges {
        Bridges { width: Length::mm(width), count, direction: Angle::degrees(90.0) }
    }

    fn straight(_: Point) -> Angle {
        Angle::ZERO
    }

    #[test]
    fn a_ring_is_cut_where_it_is_asked_to_be() {
        let ring = Outline::ring(point(0.0, 0.0), 3.0, 5.0).flattened(1e-4);
        for count in 1..6 {
            let open = bridged(&ring, &upright(0.6, count), &straight);
            assert_eq!(open.parts().len(), count as usize, "{count} bridges leave {count} bits of window");
            // Each takes a strip of its width, 2 mm long and a little more at its rounded ends.
            let taken = ring.area() - open.area();
            let strips = 0.6 * 2.0 * f64::from(count);
            assert!((taken / strips - 1.0).abs() < 0.01, "{taken} of {strips}");
            assert!(!open.contains(point(0.0, 4.0)), "the first one is up");
        }
        let level = Bridges { direction: Angle::ZERO, ..upright(0.6, 2) };
        let open = bridged(&ring, &level, &straight);
        assert!(!open.contains(point(4.0, 0.0)) && !open.contains(point(-4.0, 0.0)));
        assert!(open.contains(point(0.0, 4.0)));
        // Turned with what is drawn there.
        let leaning = bridged(&ring, &level, &|_| Angle::degrees(30.0));
        let at = |degrees: f64| point(0.0, 0.0) + turned(Vector::new(4.0, 0.0), degrees.to_radians());
        assert!(!leaning.contains(at(30.0)) && !leaning.contains(at(210.0)) && leaning.contains(at(0.0)));
    }

    #[test]
    fn a_ring_within_a_ring_is_tied_to_it() {
        let rings = Outline::ring(point(0.0, 0.0), 1.0, 2.0).flattened(1e-3);
        let rings = rings.union(&Outline::ring(point(0.0, 0.0), 3.0, 5.0).flattened(1e-3));
        let film = Outline::circle(point(0.0, 0.0), 6.0).flattened(1e-3);
        assert_eq!(loose(&film, &rings), 2);
        assert_eq!(loose(&film, &bridged(&rings, &upright(0.4, 1), &straight)), 0);
        assert_eq!(loose(&film, &bridged(&rings, &upright(0.4, 3), &straight)), 0);
    }

    #[test]
    fn a_bridge_wider_than_its_counter_still_ties_it() {
        let frame = Outline::<Model>::rectangle(point(0.0, 0.0), 4.0, 4.0).flattened(1.0);
        let slot = Outline::rectangle(point(0.0, 0.0), 0.3, 1.0).flattened(1.0);
        let film = Outline::rectangle(point(0.0, 0.0), 6.0, 6.0).flattened(1.0);
        let open = bridged(&frame.minus(&slot), &upright(0.8, 2), &straight);
        assert_eq!(loose(&film, &open), 0);
        assert_eq!(open.parts().len(), 2);
    }
}
