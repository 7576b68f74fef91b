//! Lines that follow a direction given at every point of the surface: helices, lines drawn in a view.
//!
//! The walk integrates p′ = w(p) / |w(p)| and puts each point back on the surface.
//! The geodesic curvature is how fast the direction turns along the line, by
//! differences of fourth order: right to about 1e-8 of 1/size on a smooth shape.

use super::path::{MOST_STEPS, Path, PathError, Waypoint, least_step, told_closely};
use super::{Foot, Start, Surface, ode};
use glam::DVec3;

/// A direction at a point of the surface, of any length but 0; none where there is none.
pub type Way<'a> = &'a dyn Fn(Foot) -> Option<DVec3>;

/// No step is longer than this share of the size, so that a cubic between two places is good to 1e-7 of it.
const LONGEST_STEP: f64 = 0.02;

/// Half the span of the differences, as a share of the size: rounding and the fourth power of this are alike.
const SPAN: f64 = 1e-3;

/// Where a line ends.
pub struct End<'a> {
    /// Ends the line where it is no longer below 0.
    pub past: &'a dyn Fn(DVec3) -> f64,
    /// Longest length, mm.
    pub length: f64,
}

/// The line from the point of the surface next to `from`, its end right to about `tolerance` mm.
///
/// # Errors
/// No direction at a point of it; a surface too rough to follow.
pub fn follow(
    surface: &dyn Surface,
    way: Way<'_>,
    from: DVec3,
    end: &End<'_>,
    tolerance: f64,
) -> Result<Path, PathError> {
    let walk = Walk { surface, way, size: surface.size(), tolerance };
    let mut here = walk.place(surface.project(from), 0.0)?;
    let mut places = vec![here];
    let (least, most) = (least_step(tolerance, walk.size), LONGEST_STEP * walk.size);
    let mut h = most;
    for _ in 0..MOST_STEPS {
        let left = end.length - here.along;
        if left <= 0.0 {
            return Ok(walk.path(places));
        }
        h = h.clamp(least, most).min(left);
        let Some((next, error)) = walk.step(here.foot.point, h) else {
            if h <= least {
                return Err(PathError::Lost { along: here.along });
            }
            h *= 0.2;
            continue;
        };
        let allowed = tolerance * h / walk.size;
        if error > allowed && h > least {
            h = ode::next_step(h, error, allowed);
            continue;
        }
        if (end.past)(next.point) >= 0.0 {
            let (foot, h) = walk.until(here.foot.point, h, end.past);
            // A line that ends where it begins keeps two places, however near.
            places.push(walk.place(foot, here.along + h)?);
            return Ok(walk.path(places));
        }
        let along = if h >= left { end.length } else { here.along + h };
        here = walk.place(next, along)?;
        places.push(here);
        h = ode::next_step(h, error, allowed);
    }
    Err(PathError::Lost { along: here.along })
}

struct Walk<'a> {
    surface: &'a dyn Surface,
    way: Way<'a>,
    size: f64,
    tolerance: f64,
}

impl Walk<'_> {
    fn path(&self, places: Vec<Waypoint>) -> Path {
        let halfway = |a: &Waypoint, b: &Waypoint| {
            let half = (b.along - a.along) / 2.0;
            let (foot, _) = self.step(a.foot.point, half)?;
            self.place(foot, a.along + half).ok()
        };
        Path { places: told_closely(places, halfway), closed: false }
    }

    fn heading(&self, p: DVec3) -> Option<DVec3> {
        let foot = self.surface.project(p);
        (self.way)(foot)?.reject_from_normalized(foot.normal).try_normalize()
    }

    fn place(&self, foot: Foot, along: f64) -> Result<Waypoint, PathError> {
        let heading = self.heading(foot.point).ok_or(PathError::Lost { along })?;
        let here = Start { foot, heading };
        let turn = |h: f64| {
            let [before, after] = [-h, h].map(|h| self.heading(foot.point + heading * h));
            Some((after? - before?).dot(here.left()) / (2.0 * h))
        };
        let h = SPAN * self.size;
        // Where the direction ends within the span the line is taken to run on straight.
        let bend = turn(h).zip(turn(h / 2.0)).map_or(0.0, |(wide, narrow)| (4.0 * narrow - wide) / 3.0);
        Ok(Waypoint { along, foot, heading, bend })
    }

    fn step(&self, p: DVec3, h: f64) -> Option<(Foot, f64)> {
        let way = |y: &[f64; 3]| self.heading(DVec3::from(*y)).unwrap_or_default().to_array();
        let (next, error) = ode::step(way, &p.to_array(), h);
        let foot = self.surface.project(next.into());
        let error = DVec3::from(error).reject_from_normalized(foot.normal).length();
        // The nearest point may jump, from sheet to sheet or over a hollow edge; a line does not.
        ((foot.point - p).length() <= 2.0 * h + self.tolerance).then_some((foot, error))
    }

    /// The place within a step of `h` where `past` is 0, and the length to it.
    fn until(&self, p: DVec3, h: f64, past: &dyn Fn(DVec3) -> f64) -> (Foot, f64) {
        let (mut low, mut high) = (0.0, h);
        let mut foot = self.surface.project(p);
        // 50 halvings of a step are below rounding in the length of the whole.
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            match self.step(p, middle) {
                Some((there, _)) if past(there.point) < 0.0 => (low, foot) = (middle, there),
                _ => high = middle,
            }
        }
        (foot, low)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Cone, Cylinder, Sphere};
    use super::*;
    use std::f64::consts::PI;

    const NEVER: fn(DVec3) -> f64 = |_| -1.0;

    /// Diameter 10, pitch 20: one turn is 37.241917782372 long, √((10π)² + 20²), and unrolls straight.
    #[test]
    fn a_helix_on_a_cylinder_is_straight() {
        let pipe = Cylinder { radius: 5.0, length: 100.0 };
        let way = |foot: Foot| Some(DVec3::X.cross(foot.normal) * (10.0 * PI) + DVec3::X * 20.0);
        let end = End { past: &NEVER, length: 37.241_917_782_372 };
        for tolerance in [1e-4, 1e-7, 1e-10] {
            let path = follow(&pipe, &way, DVec3::new(10.0, 0.0, 9.0), &end, tolerance).unwrap();
            let last = path.places[path.places.len() - 1];
            assert!((last.foot.point - DVec3::new(30.0, 0.0, 5.0)).length() < 2.0 * tolerance);
            assert!(path.places.iter().all(|place| place.bend.abs() < 1e-9));
        }
    }

    /// A line that crosses all meridians at one angle (loxodrome). On a sphere its geodesic curvature
    /// is cos β tan φ / R, on a cone cos β sin δ / r (Liouville's formula: parallels' share alone).
    #[test]
    fn a_loxodrome_bends_as_liouville_says() {
        let (sin, cos) = libm::sincos(0.4);
        let way = |foot: Foot| {
            let round = DVec3::X.cross(foot.normal).try_normalize()?;
            Some(round * cos + foot.normal.cross(round) * -sin)
        };
        let ball = Sphere { radius: 10.0 };
        let end = End { past: &NEVER, length: 12.0 };
        let path = follow(&ball, &way, DVec3::new(-6.0, 0.0, 8.0), &end, 1e-9).unwrap();
        for place in &path.places {
            let p = place.foot.point;
            let known = -cos * p.x / libm::hypot(p.y, p.z) / 10.0;
            assert!((place.bend.abs() - known.abs()).abs() < 1e-8, "{} {known}", place.bend);
        }
        let cone = Cone::new(2.5, 4.0, 4.0);
        let path = follow(&cone, &way, DVec3::new(1.0, 0.0, 4.0), &end, 1e-9).unwrap();
        for place in &path.places {
            let r = libm::hypot(place.foot.point.y, place.foot.point.z);
            // sin of the half angle: 1.5 / slant of the frustum.
            let known = cos * (1.5 / 18.25f64.sqrt()) / r;
            assert!((place.bend.abs() - known).abs() < 1e-8, "{} {known}", place.bend);
        }
    }

    #[test]
    fn a_line_stops_where_it_is_told() {
        let ball = Sphere { radius: 10.0 };
        let past = |p: DVec3| p.x - 5.0;
        let end = End { past: &past, length: 100.0 };
        let path = follow(&ball, &|_| Some(DVec3::X), DVec3::Z * 10.0, &end, 1e-9).unwrap();
        assert!((path.length() - 10.0 * libm::asin(0.5)).abs() < 1e-9, "{}", path.length());
    }
}
