//! The line in which a plane cuts a part, walked to a tolerance.
//!
//! The walk integrates p′ = n × m (surface and plane normal) and puts each point
//! back on both. The geodesic curvature is exact where the surface's second form
//! is: the cut's curvature lies in the plane, which fixes its tangential part
//! from its normal one (Meusnier). At an edge of the part the walk crosses with
//! its smallest step and the bend there, which has no bound, is not seen.

use super::path::{MOST_STEPS, Path, PathError, Waypoint, between, least_step, told_closely};
use super::{Surface, ode};
use glam::DVec3;

/// A plane: all points x with (x - origin) · normal = 0. The normal has length 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    pub origin: DVec3,
    pub normal: DVec3,
}

/// A place is on surface and plane when it is nearer to both than this share of the size.
const ON_BOTH: f64 = 1e-13;

/// A plane this near to touching, as a sine, gives the cut no direction.
const TOUCHING: f64 = 1e-7;

/// No step is longer than this share of the size, so that the walk cannot pass its own start unseen.
const LONGEST_STEP: f64 = 0.02;

/// The cut through the point of it near `near`, all the way round or from end to end, its length
/// right to about `tolerance` mm. It runs with the plane's normal on its right, seen from outside.
///
/// # Errors
/// A plane that passes by the part near there or only touches it; a surface too rough to follow.
pub fn cut(surface: &dyn Surface, plane: &Plane, near: DVec3, tolerance: f64) -> Result<Path, PathError> {
    let walk = Walk { surface, plane, size: surface.size(), tolerance };
    let start = walk.on_both(near).ok_or_else(|| PathError::Misses { miss: walk.distance(near) })?;
    let past = surface.past_ends(start);
    if past > least_step(tolerance, walk.size) {
        return Err(PathError::Misses { miss: past });
    }
    let ahead = walk.from(start, 1.0)?;
    let halfway = |a: &Waypoint, b: &Waypoint| {
        let p = walk.on_both(between(a, b, 0.5).0)?;
        walk.place(p, (a.along + b.along) / 2.0, 1.0).ok()
    };
    if ahead.closed {
        return Ok(Path { places: told_closely(ahead.places, halfway), closed: true });
    }
    let whole = walk.from(start, -1.0)?.reversed().joined(ahead);
    Ok(Path { places: told_closely(whole.places, halfway), closed: false })
}

struct Walk<'a> {
    surface: &'a dyn Surface,
    plane: &'a Plane,
    size: f64,
    tolerance: f64,
}

impl Walk<'_> {
    fn distance(&self, p: DVec3) -> f64 {
        (self.surface.project(p).point - self.plane.origin).dot(self.plane.normal).abs()
    }

    /// The point of the cut near `p`: Newton on the two distances, within the plane of both normals.
    fn on_both(&self, mut p: DVec3) -> Option<DVec3> {
        let m = self.plane.normal;
        for _ in 0..60 {
            let foot = self.surface.project(p);
            let height = (p - foot.point).dot(foot.normal);
            let off = (p - self.plane.origin).dot(m);
            if height.abs().max(off.abs()) <= ON_BOTH * self.size {
                return Some(p);
            }
            let slant = foot.normal.dot(m);
            let squareness = 1.0 - slant * slant;
            if squareness <= TOUCHING * TOUCHING {
                return None;
            }
            // Far off the first steps are long and may overshoot: no more than a fifth of the part at a time.
            let step = (foot.normal * (height - slant * off) + m * (off - slant * height)) / squareness;
            p -= step.clamp_length_max(0.2 * self.size);
        }
        // Rounding may keep it from the last digits.
        let foot = self.surface.project(p);
        let off = (p - self.plane.origin).dot(m).abs();
        ((p - foot.point).length().max(off) <= 1e3 * ON_BOTH * self.size).then_some(p)
    }

    fn heading(&self, p: DVec3, sense: f64) -> Option<DVec3> {
        let way = self.surface.project(p).normal.cross(self.plane.normal);
        (way.length() > TOUCHING).then(|| way.normalize() * sense)
    }

    fn place(&self, p: DVec3, along: f64, sense: f64) -> Result<Waypoint, PathError> {
        let foot = self.surface.project(p);
        let heading = self.heading(p, sense).ok_or(PathError::Touches { along })?;
        let left = foot.normal.cross(heading);
        let [fall, ..] = self.surface.curvature(foot, [heading, left]);
        let bend = fall * foot.normal.dot(self.plane.normal) / left.dot(self.plane.normal);
        Ok(Waypoint { along, foot, heading, bend })
    }

    /// One step of the walk: the point reached and the local error.
    fn step(&self, p: DVec3, h: f64, sense: f64) -> Option<(DVec3, f64)> {
        let way = |y: &[f64; 3]| self.heading(DVec3::from(*y), sense).unwrap_or_default().to_array();
        let (next, error) = ode::step(way, &p.to_array(), h);
        let next = self.on_both(next.into())?;
        // The nearest point may jump, from sheet to sheet or over a hollow edge; a line does not, but
        // by what it may be wrong anyway.
        ((next - p).length() <= 2.0 * h + self.tolerance).then_some((next, DVec3::from(error).length()))
    }

    fn from(&self, start: DVec3, sense: f64) -> Result<Path, PathError> {
        let first = self.place(start, 0.0, sense)?;
        let mut places = vec![first];
        let (mut here, mut h) = (first, LONGEST_STEP * self.size);
        let least = least_step(self.tolerance, self.size);
        for _ in 0..MOST_STEPS {
            h = h.clamp(least, LONGEST_STEP * self.size);
            let lost = PathError::Lost { along: here.along };
            let p = here.foot.point;
            let stepped = self.step(p, h, sense);
            let (next, error) = match stepped {
                Some(step) => step,
                None if h > least => {
                    h *= 0.2;
                    continue;
                }
                None => return Err(lost),
            };
            let allowed = self.tolerance * h / self.size;
            if error > allowed && h > least {
                h = ode::next_step(h, error, allowed);
                continue;
            }
            let home = |p: DVec3| (p - start).dot(first.heading);
            let near_home = here.along > 0.0 && (p - start).length() < 2.0 * LONGEST_STEP * self.size;
            if near_home && home(p) < 0.0 && home(next) >= 0.0 {
                let share = self.share_where(p, h, sense, home).ok_or(lost)?;
                places.push(Waypoint { along: here.along + share, ..first });
                return Ok(Path { places, closed: true });
            }
            if self.surface.past_ends(next) > 0.0 {
                let share = self.share_where(p, h, sense, |p| self.surface.past_ends(p)).ok_or(lost)?;
                let (end, _) = self.step(p, share, sense).ok_or(lost)?;
                places.push(self.place(end, here.along + share, sense)?);
                return Ok(Path { places, closed: false });
            }
            here = self.place(next, here.along + h, sense)?;
            places.push(here);
            h = ode::next_step(h, error, allowed);
        }
        Err(PathError::Lost { along: here.along })
    }

    /// The length of the step from `p` at which `f`, which is below 0 here and not after `h`, is 0.
    fn share_where(&self, p: DVec3, h: f64, sense: f64, f: impl Fn(DVec3) -> f64) -> Option<f64> {
        let (mut low, mut high) = (0.0, h);
        // 50 halvings of a step are below rounding in the length of the whole.
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            let (there, _) = self.step(p, middle, sense)?;
            if f(there) < 0.0 { low = middle } else { high = middle }
        }
        Some(0.5 * (low + high))
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Cylinder, Ellipsoid, Extrude, Profile, Section, Sphere};
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_small_circle_bends_as_its_cone() {
        let ball = Sphere { radius: 10.0 };
        let plane = Plane { origin: DVec3::Z * 6.0, normal: DVec3::Z };
        let ring = cut(&ball, &plane, DVec3::new(9.0, 1.0, 7.0), 1e-9).unwrap();
        assert!(ring.closed && (ring.length() - 16.0 * PI).abs() < 1e-9, "{}", ring.length());
        // With the plane's normal on the right the ring goes clockwise from above, its pole on the right:
        // geodesic curvature 6 / (8 · 10), the cone's 1 / (R tan).
        for place in &ring.places {
            assert!((place.bend + 0.075).abs() < 1e-9, "{}", place.bend);
        }
    }

    /// Ellipse perimeter by the complete elliptic integral (SciPy).
    #[test]
    fn a_plane_through_an_ellipsoid_cuts_an_ellipse() {
        let body = Ellipsoid { axes: DVec3::new(1.0, 0.8, 0.5) };
        for (normal, near, known) in [
            (DVec3::Z, DVec3::X, 5.672_333_577_795),
            (DVec3::Y, DVec3::new(0.3, 0.0, 0.5), 4.844_224_110_274),
        ] {
            let plane = Plane { origin: DVec3::ZERO, normal };
            let ring = cut(&body, &plane, near, 1e-11).unwrap();
            assert!(ring.closed && (ring.length() - known).abs() < 1e-9, "{}", ring.length() - known);
            assert!(ring.places.iter().all(|place| place.bend.abs() < 1e-9));
        }
    }

    /// A cylinder of Ø50 cut at 45°: its edge is as long as a sinusoid of amplitude 25 and period
    /// 157.0796, 191.009889 (the ellipse of half axes 25 and 25√2).
    #[test]
    fn a_slanting_cut_unrolls_to_a_sinusoid() {
        let pipe = Cylinder { radius: 25.0, length: 200.0 };
        let plane = Plane { origin: DVec3::X * 100.0, normal: DVec3::new(1.0, 0.0, 1.0).normalize() };
        let ring = cut(&pipe, &plane, DVec3::new(75.0, 0.0, 25.0), 1e-8).unwrap();
        assert!(ring.closed && (ring.length() - 191.009_889).abs() < 1e-6, "{}", ring.length());
        // The flat edge turns back and forth and ends parallel to where it began.
        let trapezoid =
            |pair: &[Waypoint]| 0.5 * (pair[0].bend + pair[1].bend) * (pair[1].along - pair[0].along);
        let turn: f64 = ring.places.windows(2).map(trapezoid).sum();
        assert!(turn.abs() < 1e-3, "{turn}");
    }

    #[test]
    fn an_open_cut_runs_from_end_to_end() {
        let pipe = Cylinder { radius: 25.0, length: 200.0 };
        let plane = Plane { origin: DVec3::Y * 7.0, normal: DVec3::Y };
        let line = cut(&pipe, &plane, DVec3::new(60.0, 7.0, 24.0), 1e-9).unwrap();
        assert!(!line.closed && (line.length() - 200.0).abs() < 1e-9);
        let ends = [line.places[0], line.places[line.places.len() - 1]].map(|place| place.foot.point.x);
        assert!((ends[0] - ends[1]).abs() > 199.999);
    }

    #[test]
    fn edges_of_a_box_are_crossed() {
        let profile = Profile::Section(Section::Box { width: 60.0, height: 40.0, radius: 0.0 });
        let bar = Extrude::new(&profile, 100.0).unwrap();
        let plane = Plane { origin: DVec3::ZERO, normal: DVec3::Y };
        let ring = cut(&bar, &plane, DVec3::new(5.0, 0.0, 20.0), 1e-6).unwrap();
        assert!(ring.closed && (ring.length() - 200.0).abs() < 1e-5, "{}", ring.length());
    }

    #[test]
    fn a_plane_that_passes_by_says_so() {
        let ball = Sphere { radius: 10.0 };
        let plane = Plane { origin: DVec3::Z * 12.0, normal: DVec3::Z };
        assert!(matches!(
            cut(&ball, &plane, DVec3::new(3.0, 1.0, 11.0), 1e-6),
            Err(PathError::Misses { .. })
        ));
    }
}
