//! The flat form of a line: geodesic curvature is kept when a ribbon is laid flat.
//!
//! The straight drawing runs along s and t (across, to the left). Flat, the
//! line becomes the plane curve of the same geodesic curvature, the tangent
//! cone's development known to sheet-metal shops: lines along stay at their
//! distance from it, lines across stay straight and square to it. The curve is
//! put together from circular arcs, each with the whole turn of its stretch;
//! where the curvature is constant that is exact, elsewhere arcs are halved
//! until the curve is right to a tolerance, and the error reached is told.

use crate::outline::{Contour, Outline, Point, Region, Segment, Vector, point, turned};
use crate::units::Full;

/// Stretches are looked at in no longer pieces than this share of the whole, so that no bend between
/// the places looked at goes unseen that a part would have.
const LONGEST: f64 = 1.0 / 64.0;

/// Halvings of a stretch; more would be under rounding.
const MOST_HALVINGS: u32 = 24;

/// The flat form of a line.
#[derive(Clone, Debug)]
pub struct Bend {
    /// In the order of s; never empty.
    arcs: Vec<Arc>,
    /// How far the flat curve may be off at its ends, mm.
    pub error: f64,
}

/// A stretch of constant curvature.
#[derive(Clone, Copy, Debug)]
struct Arc {
    from: f64,
    to: f64,
    /// 1/mm; positive bends to the left, towards greater t.
    curvature: f64,
    /// Where it starts on the flat piece, and its direction there, rad.
    start: Point,
    heading: f64,
}

impl Arc {
    /// Where (s, t) lies on the flat piece.
    fn flat(&self, p: Point) -> Point {
        let (s, k) = (p.x - self.from, self.curvature);
        let local = if k == 0.0 {
            Vector::new(s, p.y)
        } else {
            // (1 − cos) by the half angle, so that a hardly bent line stays exact.
            let (sin, cos) = libm::sincos(s * k);
            let half = libm::sin(s * k / 2.0);
            Vector::new((1.0 / k - p.y) * sin, 2.0 * half * half / k + p.y * cos)
        };
        self.start + turned(local, self.heading)
    }

    /// (s, t) of a point of the flat piece, as if the arc had no ends.
    fn straight(&self, p: Point) -> Point {
        let (local, k) = (turned(p - self.start, -self.heading), self.curvature);
        if k == 0.0 {
            return point(self.from + local.x, local.y);
        }
        let (x, y) = (local.x * k, 1.0 - local.y * k);
        let radius = libm::hypot(x, y);
        point(self.from + libm::atan2(x, y) / k, (1.0 - radius) / k)
    }

    fn length(&self) -> f64 {
        self.to - self.from
    }
}

impl Bend {
    /// The flat form of a line that bends as `bend` says over `reach`, which holds 0: there the flat
    /// origin lies, heading along x. The bend may jump at `joints`.
    pub fn of(bend: &dyn Fn(f64) -> f64, joints: &[f64], reach: [f64; 2], tolerance: f64) -> Self {
        let whole = reach[1] - reach[0];
        let mut stops = vec![reach[0], 0.0, reach[1]];
        stops.extend(joints.iter().copied().filter(|&s| s > reach[0] && s < reach[1]));
        stops.sort_by(f64::total_cmp);
        stops.dedup();
        let mut stretches =
            Stretches { bend, allowed: tolerance / whole, whole, found: Vec::new(), error: 0.0 };
        for pair in stops.windows(2) {
            let count = ((pair[1] - pair[0]) / (LONGEST * whole)).ceil().max(1.0);
            let stop = |k: f64| pair[0] + (pair[1] - pair[0]) * k / count;
            for k in 0..count as usize {
                stretches.halve(stop(k as f64), stop(k as f64 + 1.0), MOST_HALVINGS);
            }
        }
        // What would move no point by a thousandth of the tolerance is no bend and no change of one.
        let nothing = 1e-3 * tolerance / (whole * whole);
        let mut merged: Vec<(f64, f64, f64)> = Vec::new();
        for (from, to, curvature) in stretches.found {
            let curvature = if curvature.abs() <= nothing { 0.0 } else { curvature };
            match merged.last_mut() {
                Some(last) if from != 0.0 && (last.2 - curvature).abs() <= nothing => last.1 = to,
                _ => merged.push((from, to, curvature)),
            }
        }
        let mut arcs = chained(&merged);
        // The origin is no joint either.
        if let Some(zero) = arcs.iter().position(|arc| arc.from == 0.0).filter(|&zero| zero > 0)
            && (arcs[zero - 1].curvature - arcs[zero].curvature).abs() <= nothing
        {
            arcs[zero - 1].to = arcs[zero].to;
            arcs.remove(zero);
        }
        Self { arcs, error: stretches.error }
    }

    fn at(&self, s: f64) -> &Arc {
        let index = self.arcs.partition_point(|arc| arc.to < s);
        &self.arcs[index.min(self.arcs.len() - 1)]
    }

    /// Where a point of the straight drawing lies on the flat piece.
    pub fn flat(&self, p: Point) -> Point {
        self.at(p.x).flat(p)
    }

    /// Which point of the straight drawing lies here on the flat piece: the one nearest to the line.
    pub fn straight(&self, p: Point) -> Point {
        let last = self.arcs.len() - 1;
        let near = |k: usize, arc: &Arc| {
            let mut found = arc.straight(p);
            if k > 0 {
                found.x = found.x.max(arc.from);
            }
            if k < last {
                found.x = found.x.min(arc.to);
            }
            (found, (arc.flat(point(found.x, 0.0)) - p).length())
        };
        let all = self.arcs.iter().enumerate().map(|(k, arc)| near(k, arc));
        all.min_by(|a, b| a.1.total_cmp(&b.1)).map_or(p, |(found, _)| found)
    }

    /// How many times wider a ribbon with these sides, right and left at s, could be before it folds
    /// over the centre of a bend, and where it would.
    pub fn room(&self, sides: &dyn Fn(f64) -> [f64; 2]) -> (f64, f64) {
        let mut least = (f64::INFINITY, 0.0);
        for arc in &self.arcs {
            for s in [arc.from, (arc.from + arc.to) / 2.0, arc.to] {
                let [right, left] = sides(s);
                let inner = if arc.curvature > 0.0 { left } else { right };
                let times = 1.0 / (arc.curvature.abs() * inner);
                if times < least.0 {
                    least = (times, s);
                }
            }
        }
        least
    }

    /// The outline bent; slanting lines and curves become short lines within `tolerance` mm.
    pub fn outline(&self, straight: &Outline<Full>, tolerance: f64) -> Outline<Full> {
        if let [Arc { curvature: 0.0, .. }] = self.arcs[..] {
            return straight.clone();
        }
        Outline::new(straight.contours.iter().map(|contour| self.contour(contour, tolerance)).collect())
    }

    fn contour(&self, straight: &Contour, tolerance: f64) -> Contour {
        let corners = straight.flattened(tolerance);
        let mut bent = Contour { start: self.flat(corners[0]), segments: Vec::new() };
        for k in 0..corners.len() {
            let (a, b) = (corners[k], corners[(k + 1) % corners.len()]);
            for (arc, a, b) in self.split(a, b) {
                arc.edge(a, b, tolerance, &mut bent.segments);
            }
        }
        bent
    }

    /// A straight edge by the arcs that it runs along, in its own direction.
    fn split(&self, a: Point, b: Point) -> Vec<(&Arc, Point, Point)> {
        let upright = (a.x - b.x).abs() <= 1e-9 * (a.y - b.y).abs();
        if upright {
            return vec![(self.at((a.x + b.x) / 2.0), a, b)];
        }
        let (low, high) = (a.x.min(b.x), a.x.max(b.x));
        let inside = self.arcs.iter().skip(1).map(|arc| arc.from).filter(|&s| s > low && s < high);
        let cut = |s: f64| point(s, a.y + (b.y - a.y) * (s - a.x) / (b.x - a.x));
        let mut stops: Vec<Point> = inside.map(cut).collect();
        if a.x > b.x {
            stops.reverse();
        }
        let stops: Vec<Point> = std::iter::once(a).chain(stops).chain([b]).collect();
        stops.windows(2).map(|pair| (self.at((pair[0].x + pair[1].x) / 2.0), pair[0], pair[1])).collect()
    }
}

impl Arc {
    /// A straight edge within the arc, bent with it.
    fn edge(&self, a: Point, b: Point, tolerance: f64, out: &mut Vec<Segment>) {
        let level = (a.y - b.y).abs() <= 1e-9 * (a.x - b.x).abs();
        let upright = (a.x - b.x).abs() <= 1e-9 * (a.y - b.y).abs();
        if upright || self.curvature == 0.0 {
            out.push(Segment::Line { to: self.flat(b) });
        } else if level {
            let centre = self.flat(point(self.from, 1.0 / self.curvature));
            out.push(Segment::Arc { centre, sweep: (b.x - a.x) * self.curvature, to: self.flat(b) });
        } else {
            // A line over the angle φ sags by about r φ²/8 once it is bent.
            let angle = ((b.x - a.x) * self.curvature).abs();
            let reach = (1.0 / self.curvature - a.y).abs().max((1.0 / self.curvature - b.y).abs());
            let count = (angle * (reach / (8.0 * tolerance)).sqrt()).ceil().clamp(1.0, 4000.0);
            let steps = (1..=count as usize).map(|n| self.flat(a.lerp(b, n as f64 / count)));
            out.extend(steps.map(|to| Segment::Line { to }));
        }
    }
}

/// Share of the flat piece that lies over itself: its rings' own area counts twice what its union counts once.
pub fn doubled(flat: &Region<Full>) -> f64 {
    let whole = flat.area();
    // Booleans work on a grid, whose rounding is no overlap.
    const ROUNDING: f64 = 1e-6;
    let share = if whole > 0.0 { 1.0 - flat.cleaned().area() / whole } else { 0.0 };
    if share > ROUNDING { share } else { 0.0 }
}

/// Stretches of constant curvature as they are found.
struct Stretches<'a> {
    bend: &'a dyn Fn(f64) -> f64,
    /// Error allowed for each mm.
    allowed: f64,
    whole: f64,
    /// From, to, curvature.
    found: Vec<(f64, f64, f64)>,
    error: f64,
}

impl Stretches<'_> {
    fn halve(&mut self, a: f64, b: f64, halvings: u32) {
        let length = b - a;
        let middle = a + length / 2.0;
        // Just inside the stretch: at its ends the bend may jump.
        let at = |share: f64| (self.bend)(a + length * share.clamp(1e-9, 1.0 - 1e-9));
        let simpson = |k: [f64; 3]| (k[0] + 4.0 * k[1] + k[2]) / 6.0;
        let k = [0.0, 0.25, 0.5, 0.75, 1.0].map(at);
        let halves = [simpson([k[0], k[1], k[2]]), simpson([k[2], k[3], k[4]])];
        let mean = (halves[0] + halves[1]) / 2.0;
        let end = |pieces: &[(f64, f64, f64)]| {
            let last = chained_from_start(pieces);
            last.flat(point(last.to, 0.0))
        };
        let one = end(&[(a, b, mean)]);
        let two = end(&[(a, middle, halves[0]), (middle, b, halves[1])]);
        // A turn that is wrong is worth that angle over the rest of the way.
        let turn = (mean - simpson([k[0], k[2], k[4]])).abs() * length / 15.0 * self.whole;
        let error = (one - two).length() + turn;
        if error <= self.allowed * length || halvings == 0 {
            self.found.push((a, b, mean));
            self.error += error;
        } else {
            self.halve(a, middle, halvings - 1);
            self.halve(middle, b, halvings - 1);
        }
    }
}

fn chained_from_start(pieces: &[(f64, f64, f64)]) -> Arc {
    let mut start = point(0.0, 0.0);
    let mut heading = 0.0;
    let mut arc = Arc { from: 0.0, to: 0.0, curvature: 0.0, start, heading };
    for &(from, to, curvature) in pieces {
        arc = Arc { from, to, curvature, start, heading };
        start = arc.flat(point(to, 0.0));
        heading += arc.length() * curvature;
    }
    arc
}

/// Arcs end to end, the flat origin at s = 0 with its heading along x.
fn chained(pieces: &[(f64, f64, f64)]) -> Vec<Arc> {
    let zero = pieces.partition_point(|piece| piece.1 <= 0.0);
    let mut arcs = Vec::with_capacity(pieces.len());
    let (mut start, mut heading) = (point(0.0, 0.0), 0.0);
    for &(from, to, curvature) in pieces[..zero].iter().rev() {
        // Backwards: an arc that ends where the next one starts.
        heading -= (to - from) * curvature;
        let blank = Arc { from, to, curvature, start: point(0.0, 0.0), heading };
        start -= blank.flat(point(to, 0.0)).to_vector();
        arcs.push(Arc { start, ..blank });
    }
    arcs.reverse();
    (start, heading) = (point(0.0, 0.0), 0.0);
    for &(from, to, curvature) in &pieces[zero..] {
        let arc = Arc { from, to, curvature, start, heading };
        start = arc.flat(point(to, 0.0));
        heading += arc.length() * curvature;
        arcs.push(arc);
    }
    arcs
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn constant(curvature: f64, length: f64) -> Bend {
        Bend::of(&|_| curvature, &[], [-length / 2.0, length / 2.0], 1e-6 * length)
    }

    /// Frustum ducts Ø5 and Ø8, 4 apart (ceemrr.com worked example): the wall between
    /// them, as a band at mid height, unrolls to R 7.12 and 11.39 over 126.4°.
    #[test]
    fn a_band_over_a_whole_frustum_is_its_sheet_metal_development() {
        let cone = crate::surface::Cone::new(2.5, 4.0, 4.0);
        let ring = crate::surface::Surface::ring(&cone, 2.0).unwrap();
        let (round, slant) = (2.0 * PI * ring.radius, 18.25f64.sqrt());
        let bend = constant(-ring.geodesic_curvature, round);
        let bent = bend.outline(&Outline::rectangle(point(0.0, 0.0), round, slant), 1e-4);
        let mut arcs: Vec<(f64, f64)> = bent.contours[0]
            .stretches()
            .filter_map(|(from, segment)| match segment {
                Segment::Arc { centre, sweep, .. } => {
                    Some(((from - centre).length(), sweep.abs().to_degrees()))
                }
                _ => None,
            })
            .collect();
        arcs.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert_eq!(arcs.len(), 2, "one contour of two arcs and two edges");
        assert!((arcs[0].0 - 7.120003).abs() < 1e-6 && (arcs[1].0 - 11.392005).abs() < 1e-6, "{arcs:?}");
        assert!(arcs.iter().all(|arc| (arc.1 - 126.404439).abs() < 1e-6), "{arcs:?}");
    }

    /// A clothoid, curvature s: its end is the Fresnel integrals, ∫₀¹ cos s²/2 = 0.9752876882, ∫ sin = 0.1637140474
    /// (power series: Σ (−1)ⁿ / ((2n)! 4ⁿ (4n+1)) and its odd fellow).
    #[test]
    fn a_clothoid_ends_where_fresnel_says_and_the_error_is_told() {
        let fresnel = point(0.975_287_688_2, 0.163_714_047_4);
        for tolerance in [1e-3, 1e-5, 1e-7] {
            let bend = Bend::of(&|s| s, &[], [-1.0, 1.0], tolerance);
            let miss = (bend.flat(point(1.0, 0.0)) - fresnel).length();
            assert!(bend.error <= tolerance && miss <= bend.error.max(1e-9), "{miss} {}", bend.error);
            assert!((bend.flat(point(-1.0, 0.0)) - point(-fresnel.x, -fresnel.y)).length() <= tolerance);
        }
    }

    #[test]
    fn straight_undoes_flat() {
        let bend = Bend::of(&|s| libm::sin(s), &[], [-2.0, 5.0], 1e-6);
        for p in [point(0.3, 0.1), point(-1.7, -0.4), point(4.9, 0.5), point(5.2, 0.1), point(2.0, 0.0)] {
            assert!((bend.straight(bend.flat(p)) - p).length() < 1e-9, "{p:?}");
        }
    }

    #[test]
    fn a_bend_that_jumps_is_met_at_its_joint() {
        // Ahead 10, a quarter turn of radius 2, ahead 5.
        let arc = [10.0, 10.0 + PI];
        let bend = |s: f64| if s > arc[0] && s < arc[1] { 0.5 } else { 0.0 };
        let bend = Bend::of(&bend, &arc, [0.0, arc[1] + 5.0], 1e-6);
        assert_eq!(bend.arcs.len(), 3);
        assert!((bend.flat(point(arc[1] + 5.0, 1.0)) - point(11.0, 7.0)).length() < 1e-8);
    }

    #[test]
    fn room_is_the_radius_over_the_half_width() {
        let (times, _) = constant(-0.1, 30.0).room(&|_| [4.0, 20.0]);
        assert!((times - 2.5).abs() < 1e-12);
    }

    #[test]
    fn a_ribbon_over_itself_is_told() {
        // A ring of radius 10 over 1¼ turns: a fifth of it lies double.
        let bend = constant(0.1, 25.0 * PI);
        let bent = bend.outline(&Outline::rectangle(point(0.0, 0.0), 25.0 * PI, 4.0), 1e-4);
        assert!((doubled(&bent.flattened(1e-4)) - 0.2).abs() < 1e-3);
    }
}
