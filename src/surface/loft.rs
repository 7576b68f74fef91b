//! Sections joined along x: fuselages, floats, cushions, vehicle bodies.
//!
//! At every angle round the section's centre the radius runs from station to
//! station as a monotone cubic of x ([`super::monotone`]), and so does the
//! centre. The surface is then P(x, φ) = (x, centre(x) + ρ(x, φ) · out(φ)), with
//! exact first and second derivatives. Across stations it is smooth, its
//! curvature jumps; a corner of a section makes an edge, where the normal fans
//! out and the curvature is that of one side. Both ends are open and go on
//! straight, each at the slope it has there, for as long as the part or until
//! the sides are about to meet.
//!
//! Left out: ends that close to a point; give a small last section.

use super::bvh::{Bvh, Extent, around_points};
use super::error::ShapeError;
use super::hermite::hermite;
use super::jet::Jet;
use super::monotone;
use super::polar::{Bearing, Polar, outward};
use super::profile::Section;
use super::{Foot, Ring, Surface, ray};
use glam::{DMat2, DVec2, DVec3};
use std::cell::Cell;
use std::f64::consts::TAU;

/// Patches are at most this wide round the section, radians, and a fourth of a span long: small
/// enough that Newton started in the middle of the nearest ones finds the nearest point.
const PATCH: f64 = TAU / 32.0;
const PATCHES_TO_A_SPAN: usize = 4;

/// Past an end the surface goes on for this many times the part's size.
const ONWARD: f64 = 4.0;
/// …or until this share of the end's radius is left.
const LEFT_OVER: f64 = 0.05;

/// Below this share of the size a distance is rounding.
const ROUNDING: f64 = 1e-13;

/// A step of Newton's of this share of the size leaves its square: rounding, even on a bend of a hundredth
/// of the size.
const LAST_STEP: f64 = 1e-8;

/// A section of a loft.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// Distance aft, mm.
    pub at: f64,
    /// Widths run to the right, heights up.
    pub section: Section,
    /// Where its centre lies, right and up, mm.
    pub centre: [f64; 2],
}

#[derive(Clone, Debug)]
pub struct Loft {
    stations: Vec<f64>,
    polars: Vec<Polar>,
    centres: Vec<DVec2>,
    /// By x at each station.
    slopes: Vec<DVec2>,
    patches: Vec<Patch>,
    tree: Bvh,
    /// How far each end goes on.
    reach: [f64; 2],
    bounds: [DVec3; 2],
    size: f64,
}

/// A piece of the parameter plane: least and greatest (x, φ).
#[derive(Clone, Copy, Debug)]
struct Patch {
    low: DVec2,
    high: DVec2,
}

/// The surface at (x, φ): the point and its derivatives.
#[derive(Clone, Copy, Debug)]
struct Local {
    point: DVec3,
    by_x: DVec3,
    by_angle: DVec3,
    by_xx: DVec3,
    by_xa: DVec3,
    by_aa: DVec3,
}

impl Loft {
    /// Through two or more stations, from the front aft.
    ///
    /// # Errors
    /// Stations that do not go aft, sections that are none or that turn back seen from their centre.
    /// [`ShapeError::at`] of a section's own error is a point of that section; the station is
    /// the first of the pair.
    pub fn new(stations: &[Station]) -> Result<Self, (usize, ShapeError)> {
        let found = stations.len();
        if found < 2 {
            return Err((0, ShapeError::TooFew { what: "a loft", wanted: 2, found }));
        }
        let numbers = |s: &Station| s.at.is_finite() && s.centre.iter().all(|c| c.is_finite());
        if let Some(at) = stations.iter().position(|s| !numbers(s)) {
            return Err((at, ShapeError::NotFinite { at }));
        }
        if let Some(at) = (1..found).find(|&k| stations[k].at <= stations[k - 1].at) {
            return Err((at, ShapeError::OutOfOrder { at }));
        }
        let polar = |(k, s): (usize, &Station)| Polar::new(&s.section).map_err(|error| (k, error));
        let mut loft = Self {
            stations: stations.iter().map(|s| s.at).collect(),
            polars: stations.iter().enumerate().map(polar).collect::<Result<_, _>>()?,
            centres: stations.iter().map(|s| s.centre.into()).collect(),
            slopes: Vec::new(),
            patches: Vec::new(),
            tree: Bvh::default(),
            reach: [0.0; 2],
            bounds: [DVec3::ZERO; 2],
            size: 0.0,
        };
        let slope = |k: usize, axis: usize| {
            monotone::slope(&loft.stations, k, |i| Jet::constant(loft.centres[i][axis])).value
        };
        loft.slopes = (0..found).map(|k| DVec2::new(slope(k, 0), slope(k, 1))).collect();
        loft.measure();
        Ok(loft)
    }

    /// Bounds, reach and the tree of patches.
    fn measure(&mut self) {
        let (first, last) = (self.stations[0], self.stations[self.stations.len() - 1]);
        let angles = self.angles();
        let spans: Vec<[f64; 2]> = self.stations.windows(2).map(|pair| [pair[0], pair[1]]).collect();
        let part = self.patches_of(&spans, &angles);
        self.bounds = part
            .iter()
            .flat_map(|patch| self.samples(patch))
            .map(|p| [p, p])
            .fold(super::bvh::EMPTY, super::bvh::united);
        self.size = (self.bounds[1] - self.bounds[0]).length();
        self.reach = [(first, -1.0), (last, 1.0)].map(|(x, way)| {
            let until = |angle: &f64| {
                let [radius, slope, _] = self.radius(x, *angle);
                let closing = -way * slope.value;
                if closing > 0.0 { (1.0 - LEFT_OVER) * radius.value / closing } else { f64::INFINITY }
            };
            angles.iter().map(until).fold(ONWARD * self.size, f64::min)
        });
        let onward = [[first - self.reach[0], first], [last, last + self.reach[1]]];
        self.patches = part;
        self.patches.extend(self.patches_of(&onward, &angles));
        let boxes: Vec<Extent> = self.patches.iter().map(|patch| self.patch_box(patch)).collect();
        self.tree = Bvh::new(&boxes);
    }

    /// Angles that cut the section into smooth, narrow pieces.
    pub fn angles(&self) -> Vec<f64> {
        let mut breaks: Vec<f64> = self.polars.iter().flat_map(Polar::breaks).collect();
        // The quarters, so that the extremes of symmetrical sections are hit exactly.
        breaks.extend((0..4).map(|k| f64::from(k) * TAU / 4.0));
        breaks.sort_by(f64::total_cmp);
        breaks.dedup_by(|a, b| (*a - *b).abs() < 1e-12);
        breaks.push(breaks[0] + TAU);
        let mut angles = Vec::new();
        for pair in breaks.windows(2) {
            let count = ((pair[1] - pair[0]) / PATCH - 1e-9).ceil().max(1.0);
            angles.extend((0..count as usize).map(|k| pair[0] + (pair[1] - pair[0]) * k as f64 / count));
        }
        angles.push(breaks[breaks.len() - 1]);
        angles
    }

    fn patches_of(&self, spans: &[[f64; 2]], angles: &[f64]) -> Vec<Patch> {
        let mut patches = Vec::new();
        for [from, to] in spans {
            for k in 0..PATCHES_TO_A_SPAN {
                let x = |k: usize| from + (to - from) * k as f64 / PATCHES_TO_A_SPAN as f64;
                let patch = |pair: &[f64]| Patch {
                    low: DVec2::new(x(k), pair[0]),
                    high: DVec2::new(x(k + 1), pair[1]),
                };
                patches.extend(angles.windows(2).map(patch));
            }
        }
        patches
    }

    /// Nine points of a patch.
    fn samples(&self, patch: &Patch) -> [DVec3; 9] {
        std::array::from_fn(|k| {
            let share = DVec2::new((k % 3) as f64, (k / 3) as f64) / 2.0;
            self.local(patch.low + (patch.high - patch.low) * share).point
        })
    }

    /// The box of nine points, and a margin: a smooth patch stands out from the box of its points by a fourth
    /// of what its middles stand out from the chords. Four times that, and a hundredth of the patch for
    /// sections that bend unevenly.
    fn patch_box(&self, patch: &Patch) -> Extent {
        let samples = self.samples(patch);
        let [low, high] = around_points(samples);
        let chords = (0..3).flat_map(|k| [[3 * k, 3 * k + 1, 3 * k + 2], [k, k + 3, k + 6]]);
        let stand_out =
            |[a, middle, b]: [usize; 3]| (samples[middle] - samples[a].lerp(samples[b], 0.5)).length();
        let most = chords.map(stand_out).fold(0.0, f64::max);
        let margin = DVec3::splat(most + 0.01 * (high - low).length());
        [low - margin, high + margin]
    }

    /// Index of the station before x, which lies within the part.
    fn span(&self, x: f64) -> usize {
        self.stations.partition_point(|&s| s <= x).clamp(1, self.stations.len() - 1) - 1
    }

    /// What a quantity given at the stations is there, with two
    /// derivatives by x; straight on past the ends.
    fn along(&self, x: f64, at: impl Fn(usize) -> Jet) -> [Jet; 3] {
        let last = self.stations.len() - 1;
        if x < self.stations[0] || x > self.stations[last] {
            let end = if x < self.stations[0] { 0 } else { last };
            let slope = monotone::slope(&self.stations, end, &at);
            return [at(end) + slope * (x - self.stations[end]), slope, Jet::default()];
        }
        let k = self.span(x);
        let step = self.stations[k + 1] - self.stations[k];
        let slopes = [k, k + 1].map(|k| monotone::slope(&self.stations, k, &at) * step);
        let [value, first, second] = hermite([at(k), at(k + 1)], slopes, (x - self.stations[k]) / step);
        [value, first * (1.0 / step), second * (1.0 / (step * step))]
    }

    /// ρ and its derivatives by x, each with its derivatives by the angle.
    fn radius(&self, x: f64, angle: f64) -> [Jet; 3] {
        // Each slope looks at its neighbours: of all stations at most four bear on a span, each on more than
        // one slope.
        let k = self.stations.partition_point(|&s| s <= x).saturating_sub(1);
        let from = k.saturating_sub(2);
        let (bearing, known) = (Bearing::new(angle), [const { Cell::new(None) }; 6]);
        self.along(x, |i| {
            known[i - from].get().unwrap_or_else(|| {
                let radius = self.polars[i].radius(&bearing);
                known[i - from].set(Some(radius));
                radius
            })
        })
    }

    fn centre(&self, x: f64) -> [DVec2; 3] {
        let last = self.stations.len() - 1;
        if x < self.stations[0] || x > self.stations[last] {
            let end = if x < self.stations[0] { 0 } else { last };
            let slope = self.slopes[end];
            return [self.centres[end] + slope * (x - self.stations[end]), slope, DVec2::ZERO];
        }
        let k = self.span(x);
        let step = self.stations[k + 1] - self.stations[k];
        let heights = [self.centres[k], self.centres[k + 1]];
        let slopes = [self.slopes[k] * step, self.slopes[k + 1] * step];
        let [value, first, second] = hermite(heights, slopes, (x - self.stations[k]) / step);
        [value, first / step, second / (step * step)]
    }

    fn local(&self, at: DVec2) -> Local {
        let [centre, centre_x, centre_xx] = self.centre(at.x);
        let [r, r_x, r_xx] = self.radius(at.x, at.y);
        let [out, onward] = outward(at.y);
        let place = |x: f64, v: DVec2| DVec3::new(x, v.x, v.y);
        Local {
            point: place(at.x, centre + out * r.value),
            by_x: place(1.0, centre_x + out * r_x.value),
            by_angle: place(0.0, out * r.first + onward * r.value),
            by_xx: place(0.0, centre_xx + out * r_xx.value),
            by_xa: place(0.0, out * r_x.first + onward * r_x.value),
            by_aa: place(0.0, out * (r.second - r.value) + onward * (2.0 * r.first)),
        }
    }

    /// The parameters of a point on the surface, or of one straight above it in its section.
    fn parameters(&self, p: DVec3) -> DVec2 {
        let (first, last) = (self.stations[0], self.stations[self.stations.len() - 1]);
        let x = p.x.clamp(first - self.reach[0], last + self.reach[1]);
        let out = DVec2::new(p.y, p.z) - self.centre(x)[0];
        DVec2::new(x, libm::atan2(-out.x, out.y).rem_euclid(TAU))
    }

    /// The parameters of the nearest point in a patch, and its square distance: Newton on the
    /// square distance, with Gauss's matrix where Newton's is not positive, kept in the patch.
    fn nearest_in(&self, patch: &Patch, p: DVec3, start: DVec2) -> (DVec2, f64) {
        let mut at = start.clamp(patch.low, patch.high);
        let mut local = self.local(at);
        for _ in 0..40 {
            let off = local.point - p;
            let gradient = DVec2::new(off.dot(local.by_x), off.dot(local.by_angle));
            let metric = [
                local.by_x.length_squared(),
                local.by_x.dot(local.by_angle),
                local.by_angle.length_squared(),
            ];
            let bend = [off.dot(local.by_xx), off.dot(local.by_xa), off.dot(local.by_aa)];
            let (step, newton) = bounded_step(gradient, metric, bend, at, patch);
            let (next, nearer) = self.shorten(at, step, off.length_squared(), patch, p);
            let moved = (next - at) * DVec2::new(metric[0].sqrt(), metric[2].sqrt());
            let last = if newton && next == at + step { LAST_STEP } else { ROUNDING };
            (at, local) = (next, nearer);
            if moved.length() <= last * self.size {
                break;
            }
        }
        (at, (local.point - p).length_squared())
    }

    /// The step, halved until the distance falls; none at all if it never does.
    fn shorten(&self, at: DVec2, step: DVec2, square: f64, patch: &Patch, p: DVec3) -> (DVec2, Local) {
        let mut share = 1.0;
        for _ in 0..30 {
            let next = (at + step * share).clamp(patch.low, patch.high);
            let local = self.local(next);
            // Rounding may lift the last steps a little.
            if (local.point - p).length_squared()
                <= square * (1.0 + 1e-15) + ROUNDING * ROUNDING * self.size * self.size
            {
                return (next, local);
            }
            share *= 0.5;
        }
        (at, self.local(at))
    }

    /// The parameters of the nearest point.
    fn nearest(&self, p: DVec3) -> DVec2 {
        let guess = self.parameters(p);
        let first = (self.local(guess).point - p).length_squared();
        let mut found = (guess, first);
        // A hair more than the guess, so that the patch which holds it is looked at too.
        let limit = first * (1.0 + 1e-9) + 1e-18 * self.size * self.size;
        self.tree.nearest(p, limit, |index, best| {
            let patch = &self.patches[index];
            let (at, square) = self.nearest_in(patch, p, guess.clamp(patch.low, patch.high));
            if square <= found.1 {
                found = (at, square);
            }
            best.min(square)
        });
        found.0
    }

    fn foot(&self, at: DVec2, p: DVec3) -> Foot {
        let local = self.local(at);
        let normal = local.by_angle.cross(local.by_x).normalize();
        let off = p - local.point;
        // On an edge of the section the normal fans out to where it is seen from.
        let askew = off.reject_from_normalized(normal).length() > 1e-6 * off.length();
        let past = at.x <= self.stations[0] - self.reach[0]
            || at.x >= self.stations[self.stations.len() - 1] + self.reach[1];
        let normal = if askew && !past && off.length() > 1e-9 * self.size {
            off.normalize() * off.dot(normal).signum()
        } else {
            normal
        };
        Foot { point: local.point, normal }
    }

    /// The point at a station and an angle round the section's centre.
    pub fn at(&self, station: f64, around: f64) -> Option<Foot> {
        let (first, last) = (self.stations[0], self.stations[self.stations.len() - 1]);
        let within = (first - self.reach[0]..=last + self.reach[1]).contains(&station);
        within.then(|| {
            let local = self.local(DVec2::new(station, around));
            Foot { point: local.point, normal: local.by_angle.cross(local.by_x).normalize() }
        })
    }

    /// Length along the line of constant angle from x to an end; five-point Gauss on each span
    /// (Abramowitz and Stegun, table 25.4), right to a few parts in a million.
    fn length_to_end(&self, at: DVec2, end: f64) -> f64 {
        const NODES: [(f64, f64); 3] = [
            (0.0, 0.568_888_888_888_889),
            (0.538_469_310_105_683, 0.478_628_670_499_366),
            (0.906_179_845_938_664, 0.236_926_885_056_189),
        ];
        let (from, to) = (at.x.min(end), at.x.max(end));
        let inner = self.stations.iter().copied().filter(|&s| from < s && s < to);
        let stops: Vec<f64> = std::iter::once(from).chain(inner).chain([to]).collect();
        let speed = |x: f64| self.local(DVec2::new(x, at.y)).by_x.length();
        let piece = |pair: &[f64]| {
            let (middle, half) = (0.5 * (pair[0] + pair[1]), 0.5 * (pair[1] - pair[0]));
            let both = |(node, weight): &(f64, f64)| {
                let share = if *node == 0.0 { 0.5 } else { 1.0 };
                share * weight * (speed(middle - half * node) + speed(middle + half * node))
            };
            half * NODES.iter().map(both).sum::<f64>()
        };
        stops.windows(2).map(piece).sum()
    }
}

/// The Newton step of the square distance from its gradient, metric and bend, kept in the box, and whether
/// it is all of Newton's; a parameter that pushes against a bound is held there.
fn bounded_step(
    gradient: DVec2,
    metric: [f64; 3],
    bend: [f64; 3],
    at: DVec2,
    patch: &Patch,
) -> (DVec2, bool) {
    let held = |axis: usize| {
        at[axis] <= patch.low[axis] && gradient[axis] > 0.0
            || at[axis] >= patch.high[axis] && gradient[axis] < 0.0
    };
    let full = [metric[0] + bend[0], metric[1] + bend[1], metric[2] + bend[2]];
    let positive = full[0] > 0.0
        && full[2] > 0.0
        && full[0] * full[2] - full[1] * full[1] > 1e-3 * metric[0] * metric[2];
    let [a, b, c] = if positive { full } else { metric };
    let step = match (held(0), held(1)) {
        (true, true) => DVec2::ZERO,
        (true, false) => DVec2::new(0.0, -gradient.y / if c > 0.0 { c } else { metric[2] }),
        (false, true) => DVec2::new(-gradient.x / if a > 0.0 { a } else { metric[0] }, 0.0),
        (false, false) => DMat2::from_cols_array(&[a, b, b, c]).inverse() * -gradient,
    };
    (step, positive)
}

impl Surface for Loft {
    fn project(&self, p: DVec3) -> Foot {
        self.foot(self.nearest(p), p)
    }

    /// II = -∂²P · n, in the basis of the derivatives, then in `t`.
    fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
        let local = self.local(self.parameters(foot.point));
        let n = local.by_angle.cross(local.by_x).normalize();
        let (e, f, g) =
            (local.by_x.length_squared(), local.by_x.dot(local.by_angle), local.by_angle.length_squared());
        let metric = DMat2::from_cols_array(&[e, f, f, g]).inverse();
        let [u, v] = t.map(|t| metric * DVec2::new(t.dot(local.by_x), t.dot(local.by_angle)));
        let second = [local.by_xx, local.by_xa, local.by_aa].map(|d| -d.dot(n));
        let form = |a: DVec2, b: DVec2| {
            second[0] * a.x * b.x + second[1] * (a.x * b.y + a.y * b.x) + second[2] * a.y * b.y
        };
        [form(u, u), form(u, v), form(v, v)]
    }

    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        ray::first_hit(self, origin, direction)
    }

    fn past_ends(&self, p: DVec3) -> f64 {
        let at = self.nearest(p);
        let (first, last) = (self.stations[0], self.stations[self.stations.len() - 1]);
        if at.x < first || at.x > last {
            return self.length_to_end(at, if at.x < first { first } else { last });
        }
        let (near, far) = if at.x - first <= last - at.x { (first, last) } else { (last, first) };
        let short = self.length_to_end(at, near);
        // No way is shorter than how far it leads along x: the other end need not be asked.
        -if (far - at.x).abs() >= short { short } else { short.min(self.length_to_end(at, far)) }
    }

    fn bounds(&self) -> [DVec3; 2] {
        self.bounds
    }

    fn at_station(&self, station: f64, around: f64) -> Option<Foot> {
        let within = self.stations[0] <= station && station <= self.stations[self.stations.len() - 1];
        within.then(|| self.at(station, around)).flatten()
    }

    /// Only where all stations are circles about the x axis is a ring one for sure.
    fn ring(&self, station: f64) -> Option<Ring> {
        let circles = self.polars.iter().all(|polar| matches!(polar, Polar::Circle(_)));
        let axial = self.centres.iter().all(|&c| c == DVec2::ZERO);
        let local = (circles && axial).then(|| self.at(station, 0.0))??;
        let [_, slope, _] = self.radius(station, 0.0).map(|jet| jet.value);
        let radius = local.point.z;
        Some(Ring { station, radius, geodesic_curvature: slope / (1.0 + slope * slope).sqrt() / radius })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn station(at: f64, section: Section, centre: [f64; 2]) -> Station {
        Station { at, section, centre }
    }

    fn fuselage() -> Loft {
        Loft::new(&[
            station(0.0, Section::Circle { diameter: 600.0 }, [0.0, -40.0]),
            station(1500.0, Section::Ellipse { width: 1200.0, height: 1600.0 }, [0.0, 0.0]),
            station(3800.0, Section::Superellipse { width: 1000.0, height: 1400.0, power: 2.5 }, [0.0, 60.0]),
            station(5000.0, Section::Box { width: 700.0, height: 900.0, radius: 120.0 }, [0.0, 150.0]),
        ])
        .unwrap()
    }

    #[test]
    fn feet_lie_along_the_normal_and_stay_put() {
        let loft = fuselage();
        for k in 0..400 {
            let angle = f64::from(k) * 0.377;
            let x = f64::from(k) * 15.0 - 500.0;
            let p = DVec3::new(x, 1100.0 * libm::sin(angle), 1000.0 * libm::cos(angle));
            let foot = loft.project(p);
            let off = p - foot.point;
            assert!(off.reject_from(foot.normal).length() < 1e-8, "{p} {foot:?}");
            let again = loft.project(foot.point);
            assert!(
                (again.point - foot.point).length() < 1e-8 && (again.normal - foot.normal).length() < 1e-6,
                "{k}"
            );
        }
    }

    #[test]
    fn nearest_is_nearest_of_a_fine_sampling() {
        let loft = fuselage();
        for k in 0..25 {
            let p = DVec3::new(
                -300.0 + 230.0 * f64::from(k),
                900.0 * libm::sin(f64::from(k)),
                800.0 * libm::cos(1.3 * f64::from(k)),
            );
            let mut best = f64::INFINITY;
            for i in -20..=520 {
                for j in 0..360 {
                    let at = DVec2::new(f64::from(i) * 10.0, f64::from(j).to_radians());
                    best = best.min((loft.local(at).point - p).length());
                }
            }
            let found = (loft.project(p).point - p).length();
            assert!(found <= best + 1e-9 && found > best - 12.0, "{k} {found} {best}");
        }
    }

    #[test]
    fn curvature_is_the_drop_under_the_tangent_plane() {
        let loft = fuselage();
        for p in [
            DVec3::new(900.0, 500.0, 400.0),
            DVec3::new(2500.0, -800.0, 100.0),
            DVec3::new(4500.0, -300.0, 600.0),
        ] {
            let foot = loft.project(p);
            let t0 = foot.normal.any_orthonormal_vector();
            let t = [t0, foot.normal.cross(t0)];
            let [a, b, c] = loft.curvature(foot, t);
            for (u, v) in [(1.0, 0.0), (0.0, 1.0), (0.6, 0.8)] {
                let step = (t[0] * u + t[1] * v) * 4.0;
                let drop = |s: DVec3| {
                    let there = loft.hit(foot.point + s + foot.normal * 50.0, -foot.normal).unwrap();
                    (foot.point - there.point).dot(foot.normal)
                };
                let expected = 0.5 * 16.0 * (a * u * u + 2.0 * b * u * v + c * v * v);
                let found = 0.5 * (drop(step) + drop(-step));
                assert!((found - expected).abs() < 1e-3 * 16.0 * 0.5 / 300.0, "{found} {expected}");
            }
        }
    }

    #[test]
    fn equal_circles_are_a_cylinder() {
        let circle = |at| station(at, Section::Circle { diameter: 200.0 }, [0.0, 0.0]);
        let loft = Loft::new(&[circle(0.0), circle(300.0), circle(1000.0)]).unwrap();
        let foot = loft.project(DVec3::new(420.0, 90.0, 120.0));
        assert!((foot.point - DVec3::new(420.0, 60.0, 80.0)).length() < 1e-10);
        assert!((loft.past_ends(DVec3::new(1007.0, 0.0, 100.0)) - 7.0).abs() < 1e-9);
        assert!((loft.past_ends(DVec3::new(300.0, 0.0, 100.0)) + 300.0).abs() < 1e-6);
        let ring = loft.ring(500.0).unwrap();
        assert!((ring.radius - 100.0).abs() < 1e-12 && ring.geodesic_curvature.abs() < 1e-15);
        assert!((loft.bounds()[1] - DVec3::new(1000.0, 100.0, 100.0)).length() < 1e-9);
    }

    #[test]
    fn a_box_has_edges_and_flat_sides() {
        let square = |at| station(at, Section::Box { width: 40.0, height: 20.0, radius: 0.0 }, [0.0, 0.0]);
        let loft = Loft::new(&[square(0.0), square(100.0)]).unwrap();
        let edge = loft.project(DVec3::new(50.0, 23.0, 14.0));
        assert!((edge.point - DVec3::new(50.0, 20.0, 10.0)).length() < 1e-9, "{edge:?}");
        assert!((edge.normal - DVec3::new(0.0, 0.6, 0.8)).length() < 1e-9);
        let side = loft.project(DVec3::new(50.0, -31.0, 3.0));
        assert!((side.normal + DVec3::Y).length() < 1e-12 && (side.point.y + 20.0).abs() < 1e-12);
        assert!(loft.curvature(side, [DVec3::X, DVec3::Z]).iter().all(|k| k.abs() < 1e-12));
    }

    #[test]
    fn stations_out_of_order_are_refused() {
        let circle = |at| station(at, Section::Circle { diameter: PI }, [0.0, 0.0]);
        let error = Loft::new(&[circle(0.0), circle(5.0), circle(5.0)]).unwrap_err();
        assert_eq!(error, (2, ShapeError::OutOfOrder { at: 2 }));
        let thin = Loft::new(&[circle(0.0), station(1.0, Section::Circle { diameter: 0.0 }, [0.0, 0.0])]);
        assert!(matches!(thin, Err((1, ShapeError::NotPositive { .. }))));
    }
}
