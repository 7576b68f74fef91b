//! Meshes on paper: the part of a polygon where a value is positive, many polygons as one area, and what a
//! picture shows of areas and lines that run on past it.
//!
//! Values are linear along each edge. Two polygons that share an edge find the
//! very same point on it, so that their clipped parts share an edge again, and
//! joining needs no boolean: an edge walked both ways lies inside. Left out:
//! polygons that overlap, or touch elsewhere than in whole edges; those stay
//! rings of their own, which the non-zero rule fills alike.

use crate::outline::region::signed_area;
use crate::outline::{Bounds, Point, Polyline, Region};
use crate::units::World;
use std::collections::BTreeMap;

/// Counter-clockwise; `None` where nothing with an area is left. For convex polygons.
pub fn positive(corners: &[(Point, f64)]) -> Option<Polyline> {
    let mut ring = Polyline::new();
    for (k, &(a, at_a)) in corners.iter().enumerate() {
        let (b, at_b) = corners[(k + 1) % corners.len()];
        if at_a > 0.0 {
            ring.push(a);
        }
        if (at_a > 0.0) != (at_b > 0.0) {
            // Always from the same end, whichever polygon asks.
            ring.push(if (a.x, a.y) < (b.x, b.y) {
                crossing(a, at_a, b, at_b)
            } else {
                crossing(b, at_b, a, at_a)
            });
        }
    }
    if signed_area(&ring) < 0.0 {
        ring.reverse();
    }
    (ring.len() > 2).then_some(ring)
}

fn crossing(a: Point, at_a: f64, b: Point, at_b: f64) -> Point {
    a.lerp(b, at_a / (at_a - at_b))
}

/// The area of polygons that turn counter-clockwise and share whole edges.
pub fn joined<W: World>(polygons: &[Polyline]) -> Region<W> {
    // Outer edges by where they start; the points' bits tell them apart.
    let mut edges: BTreeMap<Bits, Vec<Point>> = BTreeMap::new();
    for ring in polygons {
        for (k, &from) in ring.iter().enumerate() {
            let to = ring[(k + 1) % ring.len()];
            if let Some(back) = edges.get_mut(&bits(to))
                && let Some(found) = back.iter().position(|&end| bits(end) == bits(from))
            {
                back.swap_remove(found);
            } else {
                edges.entry(bits(from)).or_default().push(to);
            }
        }
    }
    edges.retain(|_, ends| !ends.is_empty());
    let mut rings = Vec::new();
    while let Some((_, ends)) = edges.first_key_value() {
        let mut ring = Polyline::new();
        let mut at = ends[0];
        while let Some(ends) = edges.get_mut(&bits(at)) {
            ring.push(at);
            let from = bits(at);
            // Lists without an end are taken out, so there is one.
            at = ends.swap_remove(0);
            if ends.is_empty() {
                edges.remove(&from);
            }
        }
        rings.push(ring);
    }
    Region::new(rings)
}

/// What of an area lies within a box. A ring that leaves it runs on along the box's edge, which keeps its
/// windings.
pub fn within<W: World>(region: &Region<W>, window: &Bounds) -> Region<W> {
    if window.contains_box(&region.bounds()) {
        return region.clone();
    }
    let (least, most) = (window.min, window.max);
    let ring = |ring: &Polyline| {
        let ring = half(ring, |p| p.x - least.x);
        let ring = half(&ring, |p| most.x - p.x);
        let ring = half(&ring, |p| p.y - least.y);
        half(&ring, |p| most.y - p.y)
    };
    Region::new(region.rings.iter().map(ring).filter(|ring| ring.len() > 2).collect())
}

/// What of a ring lies where a value is not negative, one side after another of what clips it (Sutherland and
/// Hodgman, Communications of the ACM 17, 1974).
pub fn half(ring: &[Point], value: impl Fn(Point) -> f64) -> Polyline {
    let mut kept = Polyline::new();
    for (k, &a) in ring.iter().enumerate() {
        let b = ring[(k + 1) % ring.len()];
        let (at_a, at_b) = (value(a), value(b));
        if at_a >= 0.0 {
            kept.push(a);
        }
        if (at_a >= 0.0) != (at_b >= 0.0) {
            kept.push(crossing(a, at_a, b, at_b));
        }
    }
    kept
}

/// The stretches of a line that may be seen in a box; the rest of the sides that reach into it stays.
pub fn stretches_within(line: &[Point], window: &Bounds) -> Vec<Polyline> {
    let mut stretches: Vec<Polyline> = Vec::new();
    let mut open = false;
    for pair in line.windows(2) {
        // A level side has a box too.
        let seen = Bounds::from_points([pair[0], pair[1]]).inflate(0.5, 0.5).intersects(window);
        if seen && !open {
            stretches.push(vec![pair[0]]);
        }
        if let Some(last) = stretches.last_mut().filter(|_| seen) {
            last.push(pair[1]);
        }
        open = seen;
    }
    stretches
}

type Bits = (u64, u64);

/// A key that is the same for equal points; adding nought makes one of the two noughts.
fn bits(p: Point) -> Bits {
    ((p.x + 0.0).to_bits(), (p.y + 0.0).to_bits())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::point;

    #[test]
    fn a_square_is_cut_where_the_value_is_nought() {
        // x − 0.25 over the unit square: three quarters are left.
        let square = [point(0.0, 0.0), point(1.0, 0.0), point(1.0, 1.0), point(0.0, 1.0)];
        let left = positive(&square.map(|p| (p, p.x - 0.25))).unwrap();
        assert!((signed_area(&left) - 0.75).abs() < 1e-12);
        assert_eq!(positive(&square.map(|p| (p, -1.0))), None);
        let turned: Vec<_> = square.iter().rev().map(|&p| (p, 1.0)).collect();
        assert_eq!(signed_area(&positive(&turned).unwrap()), 1.0);
    }

    #[test]
    fn a_picture_s_box_takes_its_share_of_areas_and_lines() {
        let ring: Region<crate::units::Model> =
            crate::outline::Outline::ring(point(0.0, 0.0), 3.0, 5.0).flattened(1e-4);
        let window = Bounds::new(point(0.0, 0.0), point(9.0, 9.0));
        // A quarter of the ring, π (5² − 3²)/4.
        let quarter = within(&ring, &window);
        assert!((quarter.area() - std::f64::consts::PI * 4.0).abs() < 1e-2, "{}", quarter.area());
        let inner = Bounds::new(point(-1.0, -1.0), point(1.0, 1.0));
        assert!(within(&ring, &inner).area() < 1e-9);
        assert_eq!(within(&ring, &window.inflate(99.0, 99.0)).rings, ring.rings);
        let line =
            [point(-9.0, 4.0), point(-5.0, 4.0), point(20.0, 4.0), point(20.0, 30.0), point(5.0, -5.0)];
        let seen = stretches_within(&line, &window);
        assert_eq!(seen, [vec![line[1], line[2]], vec![line[3], line[4]]]);
    }

    #[test]
    fn polygons_that_share_edges_are_one_area() {
        // Nine unit squares without the middle one: area 8, an outer ring and a hole.
        let square =
            |x: f64, y: f64| vec![point(x, y), point(x + 1.0, y), point(x + 1.0, y + 1.0), point(x, y + 1.0)];
        let all: Vec<Polyline> =
            (0..9).filter(|&k| k != 4).map(|k| square(f64::from(k % 3), f64::from(k / 3))).collect();
        let region: Region<crate::units::Model> = joined(&all);
        assert_eq!(region.rings.len(), 2);
        assert_eq!(region.area(), 8.0);
        assert_eq!(region.perimeter(), 16.0);
        assert!(joined::<crate::units::Model>(&[]).is_empty());
    }
}
