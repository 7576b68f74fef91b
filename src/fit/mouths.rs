//! Where relief cuts may start, and how deep they may run: from the laid film's own edge.
//!
//! At a free edge film is pulled or squeezed along the edge and in no other
//! direction, so a cut that makes room starts where the edge is squeezed and runs
//! square to it. Stretches of the edge that are squeezed get cuts in proportion to
//! their length, evenly spaced. What it leaves out: cuts that bend, and cuts
//! that start inside.

use crate::flow::Film3;
use crate::outline::{Point, Polyline, Region, Vector};
use crate::units::Full;
use std::collections::{BTreeMap, BTreeSet};

/// A cut reaches at most this share of the way across the piece: film is left between two that start opposite.
const DEEPEST: f64 = 0.45;

/// A tip keeps this share of the space between mouths clear of other cuts, and of a corner.
const CLEAR: f64 = 0.15;

/// A stretch ends where the edge turns by more than this, radians: a cut from a corner has no side to run square to.
const CORNER: f64 = 0.35;

/// Stretches of a film's edge that are squeezed.
pub struct Squeezed {
    stretches: Vec<Stretch>,
    /// Stretches that are left alone.
    left_out: BTreeSet<usize>,
}

/// Points along the edge, the film to its left.
struct Stretch {
    points: Polyline,
    /// Length up to each point.
    lengths: Vec<f64>,
    /// Whether it runs all the way round, its last point the first.
    closed: bool,
}

impl Squeezed {
    /// Stretches along which the laid film is shorter than flat by more than `least`.
    pub fn new(film: &Film3, least: f64) -> Self {
        let mut stretches: Vec<Stretch> =
            loops(film).iter().flat_map(|ring| squeezed(film, ring, least)).collect();
        let longest = stretches.iter().map(Stretch::length).fold(0.0, f64::max);
        // A bit of edge between two corners that is a tenth of the longest one gets no cut before that has ten.
        stretches.retain(|stretch| stretch.length() > 0.02 * longest);
        // Short ones first: what is asked first whether it needs cuts at all.
        stretches.sort_by(|a, b| a.length().total_cmp(&b.length()));
        Self { stretches, left_out: BTreeSet::new() }
    }

    /// How many stretches there are, short ones first.
    pub fn count(&self) -> usize {
        self.stretches.len()
    }

    /// Whether a stretch gets no cuts.
    pub fn leave_out(&mut self, stretch: usize, yes: bool) {
        if yes {
            self.left_out.insert(stretch);
        } else {
            self.left_out.remove(&stretch);
        }
    }

    /// Cuts in the `grade`th set: so many on the longest stretch, on others by their length.
    pub fn cuts(&self, flat: &Region<Full>, grade: usize, depth: f64) -> Vec<Polyline> {
        let longest = self.stretches.iter().map(Stretch::length).fold(0.0, f64::max);
        let mut cuts = Vec::new();
        let kept = self.stretches.iter().enumerate().filter(|(k, _)| !self.left_out.contains(k));
        for (_, stretch) in kept {
            let count = (grade as f64 * stretch.length() / longest).round() as usize;
            for k in 0..count {
                // A ring's first point is where it is squeezed most; elsewhere the ends are half a space away.
                let share = (k as f64 + if stretch.closed { 0.0 } else { 0.5 }) / count as f64;
                let (mouth, inwards) = stretch.at(share * stretch.length());
                let reach = DEEPEST * across(flat, mouth, inwards);
                cuts.push([mouth, mouth + inwards * reach]);
            }
        }
        let clear: Vec<[Point; 2]> = kept_apart(cuts);
        clear.into_iter().map(|[mouth, tip]| vec![mouth, mouth.lerp(tip, depth)]).collect()
    }
}

impl Stretch {
    fn new(points: Polyline, closed: bool) -> Self {
        let mut lengths = vec![0.0];
        for pair in points.windows(2) {
            lengths.push(lengths[lengths.len() - 1] + (pair[1] - pair[0]).length());
        }
        Self { points, lengths, closed }
    }

    fn length(&self) -> f64 {
        self.lengths[self.lengths.len() - 1]
    }

    /// The point so far along, and the direction square to the edge there, into the film.
    fn at(&self, length: f64) -> (Point, Vector) {
        let last = self.points.len() - 1;
        let k = self.lengths.partition_point(|&l| l <= length).clamp(1, last);
        let share =
            ((length - self.lengths[k - 1]) / (self.lengths[k] - self.lengths[k - 1])).clamp(0.0, 1.0);
        let point = self.points[k - 1].lerp(self.points[k], share);
        // The edge's direction changes from the middle of one chord to that of the next.
        let chord = |k: usize| (self.points[k] - self.points[k - 1]).normalize();
        let step = |k: usize, by: isize| match (k as isize + by, self.closed) {
            (next, true) => (next - 1).rem_euclid(last as isize) as usize + 1,
            (next, false) => next.clamp(1, last as isize) as usize,
        };
        let other = if share < 0.5 { step(k, -1) } else { step(k, 1) };
        let along = chord(k) * (1.0 - (share - 0.5).abs()) + chord(other) * (share - 0.5).abs();
        (point, Vector::new(-along.y, along.x).normalize())
    }
}

/// The film's edge: rings of points, the film to their left.
fn loops(film: &Film3) -> Vec<Vec<u32>> {
    let sides = |&[a, b, c]: &[u32; 3]| [[a, b], [b, c], [c, a]];
    let all: BTreeSet<[u32; 2]> = film.triangles.iter().flat_map(sides).collect();
    let mut next: BTreeMap<u32, u32> =
        all.iter().filter(|[a, b]| !all.contains(&[*b, *a])).map(|&[a, b]| (a, b)).collect();
    let mut loops = Vec::new();
    while let Some((&first, _)) = next.iter().next() {
        let mut ring = Vec::new();
        let mut at = first;
        while let Some(to) = next.remove(&at) {
            ring.push(at);
            at = to;
        }
        loops.push(ring);
    }
    loops
}

/// The squeezed stretches of one ring.
fn squeezed(film: &Film3, ring: &[u32], least: f64) -> Vec<Stretch> {
    let n = ring.len();
    let flat = |k: usize| film.flat[ring[k % n] as usize];
    let laid = |k: usize| film.laid[ring[k % n] as usize];
    let own: Vec<f64> = (0..n)
        .map(|k| {
            1.0 - (laid(k + 1) - laid(k)).length() / (flat(k + 1) - flat(k)).length().max(f64::MIN_POSITIVE)
        })
        .collect();
    let corner = |k: usize| {
        let (here, next) = (flat(k + 1) - flat(k), flat(k + 2) - flat(k + 1));
        here.angle_to(next).radians.abs() > CORNER
    };
    // Single edges are strained unevenly where triangles are; two to either side even that out.
    let even = |k: usize| (0..5).map(|i| own[(k + n + i - 2) % n]).sum::<f64>() / 5.0;
    let tight: Vec<bool> = (0..n).map(|k| even(k) > least).collect();
    // Between edge k and the next a stretch may not go on.
    let breaks = |k: usize| !tight[k % n] || !tight[(k + 1) % n] || corner(k);
    let Some(first) = (0..n).find(|&k| breaks(k)) else {
        let worst = (0..n).max_by(|&a, &b| even(a).total_cmp(&even(b)).then(b.cmp(&a))).unwrap_or(0);
        return vec![Stretch::new((0..=n).map(|k| flat(worst + k)).collect(), true)];
    };
    let mut stretches = Vec::new();
    let mut open: Polyline = Vec::new();
    for k in first + 1..=first + n {
        if tight[k % n] {
            if open.is_empty() {
                open.push(flat(k));
            }
            open.push(flat(k + 1));
        }
        if breaks(k) && !open.is_empty() {
            stretches.push(Stretch::new(std::mem::take(&mut open), false));
        }
    }
    stretches
}

/// How far it is from a point of the edge to the edge opposite, mm.
fn across(flat: &Region<Full>, mouth: Point, inwards: Vector) -> f64 {
    let size = flat.bounds().size();
    let near = 1e-3 * (size.width + size.height);
    let meets = |(a, b): (Point, Point)| {
        let edge = b - a;
        let slant = inwards.cross(edge);
        let (way, share) = ((a - mouth).cross(edge) / slant, (a - mouth).cross(inwards) / slant);
        (way > near && (-1e-9..=1.0 + 1e-9).contains(&share)).then_some(way)
    };
    let way = flat.edges().filter_map(meets).fold(f64::INFINITY, f64::min);
    if way.is_finite() { way } else { 0.0 }
}

/// Cuts shortened until no tip comes too near to another cut; those that nothing is left of are dropped.
fn kept_apart(mut cuts: Vec<[Point; 2]>) -> Vec<[Point; 2]> {
    let whole: Vec<f64> = cuts.iter().map(|[mouth, tip]| (*tip - *mouth).length()).collect();
    let spaces: Vec<f64> = (0..cuts.len())
        .map(|k| {
            let others = cuts.iter().enumerate().filter(|(j, _)| *j != k);
            others.map(|(_, other)| (other[0] - cuts[k][0]).length()).fold(f64::INFINITY, f64::min)
        })
        .collect();
    for _ in 0..60 {
        let near = |k: usize| {
            let others = cuts.iter().enumerate().filter(|(j, _)| *j != k);
            let distance = |(_, other): (usize, &[Point; 2])| {
                crate::outline::region::distance_to_segment(cuts[k][1], other[0], other[1])
            };
            spaces[k].is_finite() && others.map(distance).fold(f64::INFINITY, f64::min) < CLEAR * spaces[k]
        };
        let crowded: Vec<bool> = (0..cuts.len()).map(near).collect();
        if !crowded.contains(&true) {
            break;
        }
        for (cut, _) in cuts.iter_mut().zip(&crowded).filter(|(_, crowded)| **crowded) {
            cut[1] = cut[0].lerp(cut[1], 0.95);
        }
    }
    let left = |(cut, whole): (&[Point; 2], &f64)| *whole > 0.0 && (cut[1] - cut[0]).length() > 0.1 * whole;
    cuts.iter().zip(&whole).filter(|pair| left(*pair)).map(|(cut, _)| *cut).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::{Outline, point};
    use glam::DVec3;

    /// Film whose laid form is `f` of its flat one.
    fn film(flat: &Region<Full>, spacing: f64, f: impl Fn(Point) -> [f64; 2]) -> Film3 {
        let mesh = crate::film::mesh::triangulate(flat, spacing).unwrap();
        let laid = |&p: &Point| {
            let [x, y] = f(p);
            DVec3::new(x, y, 0.0)
        };
        Film3 {
            laid: mesh.points.iter().map(laid).collect(),
            normals: vec![DVec3::Z; mesh.points.len()],
            stretches: vec![[1.0; 2]; mesh.triangles.len()],
            flat: mesh.points,
            triangles: mesh.triangles,
        }
    }

    #[test]
    fn a_disc_is_cut_towards_its_middle() {
        let flat: Region<Full> = Outline::circle(point(0.0, 0.0), 10.0).flattened(1e-3);
        let film = film(&flat, 1.0, |p| [p.x * 0.95, p.y * 0.95]);
        let squeezed = Squeezed::new(&film, 0.02);
        for grade in [1, 2, 5, 12] {
            let cuts = squeezed.cuts(&flat, grade, 1.0);
            assert_eq!(cuts.len(), grade);
            for cut in &cuts {
                assert!((cut[0].to_vector().length() - 10.0).abs() < 0.02);
                assert!(cut[0].to_vector().cross(cut[1].to_vector()).abs() < 0.5, "{cut:?}");
                let tip = cut[1].to_vector().length();
                assert!((0.9..2.6).contains(&tip), "{grade}: {tip}");
            }
        }
    }

    #[test]
    fn a_stripe_squeezed_along_its_sides_is_cut_across_them() {
        let flat: Region<Full> = Outline::rectangle(point(0.0, 0.0), 60.0, 10.0).flattened(1.0);
        let film = film(&flat, 1.0, |p| [p.x * (1.0 - 0.002 * p.y * p.y), p.y]);
        let cuts = Squeezed::new(&film, 0.02).cuts(&flat, 3, 0.8);
        assert_eq!(cuts.len(), 6);
        for cut in &cuts {
            assert!((cut[0].y.abs() - 5.0).abs() < 1e-9 && (cut[1].x - cut[0].x).abs() < 1e-9, "{cut:?}");
            // Four fifths of what leaves 1.5 to the tip opposite, found in steps of a twentieth.
            let depth = 5.0 - cut[1].y.abs();
            assert!((0.8 * 4.0..0.8 * 4.25).contains(&depth), "{cut:?}");
        }
        let mut along: Vec<f64> = cuts.iter().map(|cut| cut[0].x).collect();
        along.sort_by(f64::total_cmp);
        // Evened out, the squeezed stretch ends two edges short of a corner that is not squeezed.
        for (x, expected) in along.iter().zip([-19.0, -19.0, 0.0, 0.0, 19.0, 19.0]) {
            assert!((x - expected).abs() < 1.01, "{along:?}");
        }
    }
}
