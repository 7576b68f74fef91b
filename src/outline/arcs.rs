//! Arcs found again in a polygon that was flattened from them.
//!
//! Areas are joined and offset on polygons; a machine wants the arcs. Runs of
//! corners that lie on one circle, stepping the same way round it, become one
//! arc; everything else stays a straight edge. Only the corners are held to the
//! circle: what the flattening cut off between them comes back.
//!
//! Left out: other curves, which stay polygons.

use super::{Contour, Point, Segment};
use std::f64::consts::PI;

/// Fewer edges than this make no arc: three points lie on some circle always.
const LEAST_EDGES: usize = 4;
/// Edges of one arc turn by no more than this, radians: a square is no circle.
const LARGEST_STEP: f64 = PI / 7.0;
/// A longest arc, radians: ends that nearly meet tell their centre badly.
const LONGEST: f64 = 1.01 * PI;

/// The closed line through these corners, with arcs where corners lie within `tolerance` mm of one.
pub fn recovered(corners: &[Point], tolerance: f64) -> Contour {
    let count = corners.len();
    if count == 0 {
        return Contour { start: Point::default(), segments: Vec::new() };
    }
    let at = |k: usize| corners[k % count];
    // Starts at a corner that no arc runs through, where there is one.
    let first =
        (0..count).find(|&k| run(&at, k + count - 1, k + count + 3, tolerance).is_none()).unwrap_or(0);
    let mut segments = Vec::new();
    let mut here = first;
    let end = first + count;
    while here < end {
        match run(&at, here, end, tolerance) {
            Some((stop, centre, sweep)) => {
                segments.push(Segment::Arc { centre, sweep, to: at(stop) });
                here = stop;
            }
            None => {
                here += 1;
                segments.push(Segment::Line { to: at(here) });
            }
        }
    }
    Contour { start: at(first), segments }
}

/// The longest arc from corner `from` that ends by `end`: where it stops, its centre, its sweep.
fn run(at: &impl Fn(usize) -> Point, from: usize, end: usize, tolerance: f64) -> Option<(usize, Point, f64)> {
    if from + LEAST_EDGES > end {
        return None;
    }
    // Ends far apart tell the circle best, so it is found anew as the run grows.
    let fits = |stop: usize| -> Option<(Point, f64)> {
        let (a, b, c) = (at(from), at(from + (stop - from) / 2), at(stop));
        let centre = centre(a, b, c)?;
        let radius = (a - centre).length();
        let mut sweep = 0.0;
        for k in from..stop {
            let (p, q) = (at(k) - centre, at(k + 1) - centre);
            let step = libm::atan2(p.cross(q), p.dot(q));
            let same_way = sweep == 0.0 || (step > 0.0) == (sweep > 0.0);
            if (q.length() - radius).abs() > tolerance || step.abs() > LARGEST_STEP || !same_way {
                return None;
            }
            sweep += step;
        }
        // An arc so flat that a straight line does is one.
        let flat = radius * (1.0 - libm::cos(sweep / 2.0)) < 2.0 * tolerance;
        (sweep.abs() <= LONGEST && !flat).then_some((centre, sweep))
    };
    let mut best = None;
    let mut stop = from + LEAST_EDGES;
    while stop <= end {
        let Some((centre, sweep)) = fits(stop) else { break };
        best = Some((stop, centre, sweep));
        stop += 1;
    }
    best
}

/// The centre of the circle through three points.
fn centre(a: Point, b: Point, c: Point) -> Option<Point> {
    let (u, v) = (b - a, c - a);
    let twice = 2.0 * u.cross(v);
    let scale = u.square_length().max(v.square_length());
    if twice.abs() <= 1e-9 * scale {
        return None;
    }
    let (uu, vv) = (u.square_length(), v.square_length());
    Some(a + super::Vector::new(v.y * uu - u.y * vv, u.x * vv - v.x * uu) / twice)
}

#[cfg(test)]
mod tests {
    use super::super::{Outline, point};
    use super::*;
    use crate::units::Model;

    #[test]
    fn a_flattened_disc_is_a_circle_again_and_a_square_stays_square() {
        let disc: Outline<Model> = Outline::circle(point(3.0, -2.0), 5.0);
        for tolerance in [0.05, 0.002] {
            let flat = disc.flattened(tolerance).rings.remove(0);
            let found = recovered(&flat, 1e-4);
            assert!(found.segments.iter().all(|s| matches!(s, Segment::Arc { .. })), "{found:?}");
            assert!(found.segments.len() <= 4);
            assert!((found.signed_area() - 25.0 * PI).abs() < 1e-9, "{}", found.signed_area());
        }
        let square = Outline::<Model>::rectangle(point(0.0, 0.0), 4.0, 3.0).flattened(0.1).rings.remove(0);
        let found = recovered(&square, 1e-4);
        assert_eq!(found.segments.len(), 4);
        assert!(found.segments.iter().all(|s| matches!(s, Segment::Line { .. })));
    }

    #[test]
    fn an_offset_square_has_four_round_corners() {
        let grown = Outline::<Model>::rectangle(point(0.0, 0.0), 10.0, 10.0).flattened(0.1).offset(3.0);
        let found = recovered(&grown.rings[0], 1e-4);
        let arcs: Vec<f64> = found
            .segments
            .iter()
            .filter_map(|s| match s {
                Segment::Arc { sweep, .. } => Some(*sweep),
                _ => None,
            })
            .collect();
        assert_eq!(arcs.len(), 4, "{found:?}");
        assert!(arcs.iter().all(|sweep| (sweep - PI / 2.0).abs() < 1e-6));
        // Steiner: 100 + 40·3 + 9π, exact now that the corners are round.
        assert!((found.signed_area() - (220.0 + 9.0 * PI)).abs() < 1e-5, "{}", found.signed_area());
    }
}
