//! Straight lines on a part, and the film laid along them as a first guess.
//!
//! A geodesic bends only with the surface: x″ = −II(x′, x′) n. It is followed by
//! the classical Runge-Kutta steps of fourth order, put back onto the surface
//! after each.

use crate::outline::Point;
use crate::surface::{Foot, Start, Surface};
use glam::DVec3;

/// A foot and a unit tangent there.
#[derive(Clone, Copy, Debug)]
pub struct Ray {
    pub foot: Foot,
    pub along: DVec3,
}

/// How far the normal may turn in one step, rad: the error of a path is about the fourth power of this over 100,
/// as a share of its length: 4e-7.
const TURN: f64 = 0.08;

impl Ray {
    /// To the left, seen from outside.
    pub fn left(&self) -> DVec3 {
        self.foot.normal.cross(self.along)
    }

    /// A unit tangent turned counter-clockwise from `along`.
    #[must_use]
    pub fn turned(&self, angle: f64) -> Self {
        let (sin, cos) = libm::sincos(angle);
        Self { foot: self.foot, along: self.along * cos + self.left() * sin }
    }

    /// The end of the straight line of this length, mm; backwards where negative. `along` still points forwards.
    #[must_use]
    pub fn walked(&self, surface: &dyn Surface, length: f64) -> Self {
        let sign = 1f64.copysign(length);
        let mut ray = Self { foot: self.foot, along: self.along * sign };
        let mut left = length.abs();
        let mut step = left / 2.0;
        // Steps only ever shrink by halves and grow by doubling; a path that needs more than this many is knotted.
        for _ in 0..10_000 {
            if left <= 0.0 {
                break;
            }
            let next = ray.stepped(surface, step.min(left));
            let turn = (next.foot.normal - ray.foot.normal).length();
            if turn > TURN && step > 1e-9 * length.abs() {
                step = step.min(left) / 2.0;
                continue;
            }
            left -= step.min(left);
            ray = next;
            if turn < TURN / 3.0 {
                step *= 2.0;
            }
        }
        Self { foot: ray.foot, along: ray.along * sign }
    }

    fn stepped(&self, surface: &dyn Surface, step: f64) -> Self {
        let (x, v) = (self.foot.point, self.along);
        let bend = |foot: Foot, v: DVec3| {
            let tangent = v - foot.normal * v.dot(foot.normal);
            let t = [tangent, foot.normal.cross(tangent)];
            foot.normal * -curvature_along(surface, foot, t)
        };
        let half = step / 2.0;
        let a1 = bend(self.foot, v);
        let v2 = v + a1 * half;
        let a2 = bend(surface.project(x + v * half), v2);
        let v3 = v + a2 * half;
        let a3 = bend(surface.project(x + v2 * half), v3);
        let v4 = v + a3 * step;
        let a4 = bend(surface.project(x + v3 * step), v4);
        let foot = surface.project(x + (v + 2.0 * (v2 + v3) + v4) * (step / 6.0));
        let end = v + (a1 + 2.0 * (a2 + a3) + a4) * (step / 6.0);
        let tangent = end - foot.normal * end.dot(foot.normal);
        Self { foot, along: tangent.try_normalize().unwrap_or(v) }
    }
}

/// II(v, v) for a tangent that need not have length 1.
fn curvature_along(surface: &dyn Surface, foot: Foot, t: [DVec3; 2]) -> f64 {
    let length2 = t[0].length_squared();
    let Some(unit) = t[0].try_normalize() else { return 0.0 };
    surface.curvature(foot, [unit, t[1].normalize_or_zero()])[0] * length2
}

/// Where each flat point lands when straight lines through the start stay straight and keep their length.
pub fn polar(surface: &dyn Surface, start: &Start, points: &[Point]) -> Vec<Foot> {
    let origin = Ray { foot: start.foot, along: start.heading };
    let land = |p: &Point| {
        let (x, y) = (p.x, p.y);
        origin.turned(libm::atan2(y, x)).walked(surface, libm::hypot(x, y)).foot
    };
    points.iter().map(land).collect()
}

/// Where each flat point lands when the line through the start along x (along y where `upright`) and
/// all straight lines square to it keep their lengths.
pub fn square(surface: &dyn Surface, start: &Start, points: &[Point], upright: bool) -> Vec<Foot> {
    let quarter = std::f64::consts::FRAC_PI_2;
    let base = Ray { foot: start.foot, along: start.heading };
    let base = if upright { base.turned(quarter) } else { base };
    let split = |p: &Point| if upright { (p.y, -p.x) } else { (p.x, p.y) };
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| split(&points[a]).0.abs().total_cmp(&split(&points[b]).0.abs()).then(a.cmp(&b)));
    let mut feet = vec![start.foot; points.len()];
    // One walker each way along the base line, so that no stretch of it is walked twice.
    for forwards in [true, false] {
        let (mut walker, mut at) = (base, 0.0);
        for &k in &order {
            let (along, across) = split(&points[k]);
            if (along >= 0.0) == forwards {
                walker = walker.walked(surface, along - at);
                at = along;
                feet[k] = walker.turned(quarter).walked(surface, across).foot;
            }
        }
    }
    feet
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::point;
    use crate::surface::{Ellipsoid, Sphere};

    #[test]
    fn great_circles_close() {
        let ball = Sphere { radius: 2.0 };
        let ray = Ray { foot: ball.project(DVec3::Z), along: DVec3::new(0.6, 0.8, 0.0) };
        let round = ray.walked(&ball, 4.0 * std::f64::consts::PI);
        assert!((round.foot.point - ray.foot.point).length() < 1e-5);
        assert!((round.along - ray.along).length() < 1e-5);
        let back = ray.walked(&ball, 1.3).walked(&ball, -1.3);
        assert!((back.foot.point - ray.foot.point).length() < 1e-6);
    }

    #[test]
    fn spheroid_geodesic_ends_where_geographiclib_says() {
        // a = 1, b = 0.8, from (0, 0) to latitude 45, longitude 90: distance 1.5093208090781571
        // (GeographicLib, exact). Latitude is that of the normal.
        let body = Ellipsoid { axes: DVec3::new(1.0, 1.0, 0.8) };
        let root = 0.5f64.sqrt();
        let goal = DVec3::new(0.0, root, 0.64 * root) / (root * (1.0f64 + 0.64).sqrt());
        let goal = body.project(goal);
        assert!((goal.normal - DVec3::new(0.0, root, root)).length() < 1e-12);
        let start = body.project(DVec3::X);
        let miss = |azimuth: f64| {
            let ray = Ray { foot: start, along: DVec3::Y }.turned(azimuth);
            ray.walked(&body, 1.509_320_809_078_157_1).foot.point - goal.point
        };
        // The azimuth is the one that comes nearest; golden section, for the table gives the distance only.
        let (mut low, mut high) = (0.2, 1.4);
        while high - low > 1e-9 {
            let (a, b) = (low + 0.382 * (high - low), low + 0.618 * (high - low));
            if miss(a).length() < miss(b).length() { high = b } else { low = a }
        }
        assert!(miss(low).length() < 1e-5, "{}", miss(low).length());
    }

    #[test]
    fn first_guesses_keep_the_lengths_they_promise() {
        let ball = Sphere { radius: 10.0 };
        let start = Start { foot: ball.project(DVec3::Z), heading: DVec3::X };
        let points = [point(3.0, 4.0), point(-2.0, 1.0), point(0.0, 0.0)];
        let angle = |foot: &Foot, to: DVec3| libm::acos(foot.normal.dot(to)) * 10.0;
        for (foot, p) in polar(&ball, &start, &points).iter().zip(points) {
            assert!((angle(foot, DVec3::Z) - p.to_vector().length()).abs() < 1e-5);
        }
        for (foot, p) in square(&ball, &start, &points, false).iter().zip(points) {
            // Distance from the great circle y = 0.
            assert!((libm::asin(foot.normal.y) * 10.0 - p.y).abs() < 1e-5);
        }
        for (foot, p) in square(&ball, &start, &points, true).iter().zip(points) {
            assert!((libm::asin(foot.normal.x) * 10.0 - p.x).abs() < 1e-5);
        }
    }
}
