//! A profile turned about the x axis: noses, tanks, spinners, domes.
//!
//! The profile is straight between its points, or smooth: then the *square* of
//! the radius is a monotone cubic of the station, so that it never overshoots a
//! point, spheres, ellipsoids, cones and cylinders come out exactly where their
//! points show them, and an end on the axis is as round as the points say.
//! Two points at one station are a flat face. At a kink of the profile the
//! normal fans out and the curvature is that of one side; at a pointed tip the
//! curvature round it grows past all bounds.
//!
//! An end on the axis is closed; an open one goes on straight, to the axis at most.

use super::curve::{At, Curve, Reach};
use super::error::{ShapeError, counted};
use super::jet::Jet;
use super::piece::{Dome, Piece};
use super::{Cone, Cylinder, Development, Foot, Ring, Start, Surface, around, monotone, radial, ray};
use crate::outline::Point;
use glam::{DVec2, DVec3};

/// How far an open end goes on, in sizes of the part: past any film that is laid on it.
const ONWARD: f64 = 100.0;

/// Nearer to the axis than this share of the size, a point is on it.
const ON_AXIS: f64 = 1e-9;

#[derive(Clone, Debug)]
pub struct Revolve {
    /// Station and radius.
    profile: Curve,
    open: [bool; 2],
    bounds: [DVec3; 2],
    size: f64,
    /// A profile that is one straight line makes a shape that unrolls.
    straight: Option<Straight>,
}

#[derive(Clone, Copy, Debug)]
enum Straight {
    Cylinder { shape: Cylinder, front: f64 },
    Cone { shape: Cone, front: f64 },
}

impl Revolve {
    /// From points of station and radius, mm, from the front aft.
    ///
    /// # Errors
    /// Stations that go back, radii below 0, points on the axis between the ends, repeated points.
    pub fn new(points: &[[f64; 2]], smooth: bool) -> Result<Self, ShapeError> {
        check(points)?;
        let (first, last) = (points[0], points[points.len() - 1]);
        let [low, high] = [first[0], last[0]];
        let widest = points.iter().map(|p| p[1]).fold(0.0, f64::max);
        let bounds = [DVec3::new(low, -widest, -widest), DVec3::new(high, widest, widest)];
        let size = (bounds[1] - bounds[0]).length();
        let pieces = if smooth { smooth_pieces(points) } else { straight_pieces(points) };
        let open = [first[1] > 0.0, last[1] > 0.0];
        let [front, rear] = [(0, 0.0, -1.0), (pieces.len() - 1, 1.0, 1.0)].map(|(piece, u, way)| {
            let [x, r] = pieces[piece].at(u);
            // Radius lost per mm on the way out.
            let closing = -way * r.first / libm::hypot(x.first, r.first);
            let to_axis = if closing > 0.0 { r.value / closing } else { f64::INFINITY };
            Reach(if r.value > 0.0 { to_axis.min(ONWARD * size) } else { 0.0 })
        });
        let straight = (points.len() == 2 && !smooth).then(|| {
            let front = low;
            if first[1] == last[1] {
                Straight::Cylinder { shape: Cylinder { radius: first[1], length: high - low }, front }
            } else {
                Straight::Cone { shape: Cone::new(first[1], last[1], high - low), front }
            }
        });
        Ok(Self { profile: Curve::open(pieces, front, rear), open, bounds, size, straight })
    }

    /// The point at a station and angle round the part; none where the station is off the part
    /// and what goes straight on from it, or on a flat face.
    pub fn at(&self, station: f64, around: f64) -> Option<Foot> {
        let at = self.profile.at_x(station).into_iter().next()?;
        Some(turned(&at, radial(around)))
    }

    /// At a tip the normal fans out round the axis, as it does at a kink.
    fn tip(&self, foot: Foot, p: DVec3) -> Foot {
        let way = DVec3::X * foot.normal.x.signum();
        let off = p - foot.point;
        if off.length() <= ON_AXIS * self.size {
            return Foot { normal: way, ..foot };
        }
        let seen = off.normalize();
        if seen.dot(way) >= foot.normal.dot(way) { Foot { normal: seen, ..foot } } else { foot }
    }

    fn nearest(&self, p: DVec3) -> At {
        self.profile.nearest(DVec2::new(p.x, libm::hypot(p.y, p.z)))
    }
}

/// A place of the profile, turned to the direction `out` from the axis.
fn turned(at: &At, out: DVec3) -> Foot {
    let place = |v: DVec2| DVec3::X * v.x + out * v.y;
    Foot { point: place(at.point), normal: place(at.normal) }
}

impl Surface for Revolve {
    fn project(&self, p: DVec3) -> Foot {
        let at = self.nearest(p);
        let foot = turned(&at, radial(around(p)));
        if at.point.y > ON_AXIS * self.size { foot } else { self.tip(foot, p) }
    }

    /// The meridian's own curvature, and round the part the normal's radial share over
    /// the radius (Meusnier's theorem).
    fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
        let at = self.nearest(foot.point);
        let out = radial(around(foot.point));
        let meridian = DVec3::X * at.tangent.x + out * at.tangent.y;
        let hoop = DVec3::X.cross(out);
        let radius = at.point.y;
        let smooth_pole = radius <= ON_AXIS * self.size && at.tangent.x.abs() < ON_AXIS.sqrt();
        let round = if smooth_pole { at.curvature } else { at.tangent.x / radius.max(ON_AXIS * self.size) };
        let form = |a: DVec3, b: DVec3| {
            at.curvature * a.dot(meridian) * b.dot(meridian) + round * a.dot(hoop) * b.dot(hoop)
        };
        [form(t[0], t[0]), form(t[0], t[1]), form(t[1], t[1])]
    }

    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        ray::first_hit(self, origin, direction)
    }

    fn past_ends(&self, p: DVec3) -> f64 {
        let along = self.nearest(p).along;
        let past = [-along, along - self.profile.length()];
        let open = past.iter().zip(self.open).filter(|(_, open)| *open);
        open.map(|(past, _)| *past).fold(f64::NEG_INFINITY, f64::max)
    }

    fn bounds(&self) -> [DVec3; 2] {
        self.bounds
    }

    fn development(&self) -> Option<&dyn Development> {
        self.straight.is_some().then_some(self)
    }

    /// At a kink the mean of both sides' bends.
    fn ring(&self, station: f64) -> Option<Ring> {
        let at = self.profile.at_x(station);
        let radius = at.first()?.point.y;
        let bend = at.iter().map(|at| at.tangent.y).sum::<f64>() / at.len() as f64 / radius;
        (radius > 0.0).then_some(Ring { station, radius, geodesic_curvature: bend })
    }
}

impl Development for Revolve {
    fn lay(&self, start: &Start, q: Point) -> Foot {
        let lay = |shape: &dyn Development, front: f64| {
            let moved = |foot: Foot, by: f64| Foot { point: foot.point + DVec3::X * by, ..foot };
            moved(shape.lay(&Start { foot: moved(start.foot, -front), ..*start }, q), front)
        };
        match &self.straight {
            Some(Straight::Cylinder { shape, front }) => lay(shape, *front),
            Some(Straight::Cone { shape, front }) => lay(shape, *front),
            None => self.project(start.foot.point + start.heading * q.x + start.left() * q.y),
        }
    }
}

fn check(points: &[[f64; 2]]) -> Result<(), ShapeError> {
    counted("a profile", points, 2)?;
    let last = points.len() - 1;
    for (at, pair) in points.windows(2).enumerate().map(|(k, pair)| (k + 1, pair)) {
        if pair[1][0] < pair[0][0] {
            return Err(ShapeError::OutOfOrder { at });
        }
        if pair[1] == pair[0] {
            return Err(ShapeError::Repeated { at });
        }
    }
    if let Some(at) = points.iter().position(|p| p[1] < 0.0) {
        return Err(ShapeError::NegativeRadius { at });
    }
    if let Some(at) = (1..last).find(|&k| points[k][1] == 0.0) {
        return Err(ShapeError::OnAxis { at });
    }
    if points[0][0] == points[last][0] {
        return Err(ShapeError::NoLength);
    }
    // A line along the axis, or up and down one face.
    if let Some(at) = (1..=last).find(|&k| points[k][1] == 0.0 && points[k - 1][1] == 0.0) {
        return Err(ShapeError::OnAxis { at });
    }
    let back = |k: &usize| {
        let [a, b, c] = [points[k - 2], points[k - 1], points[*k]];
        a[0] == b[0] && b[0] == c[0] && (b[1] - a[1]) * (c[1] - b[1]) < 0.0
    };
    match (2..=last).find(back) {
        Some(at) => Err(ShapeError::DoublesBack { at }),
        None => Ok(()),
    }
}

fn straight_pieces(points: &[[f64; 2]]) -> Vec<Piece> {
    points.windows(2).map(|pair| Piece::Line { from: pair[0].into(), to: pair[1].into() }).collect()
}

/// Runs between flat faces, each smooth in itself.
fn smooth_pieces(points: &[[f64; 2]]) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut start = 0;
    for k in 1..=points.len() {
        if k < points.len() && points[k][0] > points[k - 1][0] {
            continue;
        }
        let run = &points[start..k];
        let x: Vec<f64> = run.iter().map(|p| p[0]).collect();
        let square = |i: usize| Jet::constant(run[i][1] * run[i][1]);
        let slope = |i: usize| monotone::slope(&x, i, square).value;
        for i in 1..run.len() {
            let ends = [i - 1, i];
            let dome = Dome::new(ends.map(|i| x[i]), ends.map(|i| square(i).value), ends.map(slope));
            pieces.push(Piece::Dome(dome));
        }
        if k < points.len() {
            pieces.push(Piece::Line { from: points[k - 1].into(), to: points[k].into() });
        }
        start = k;
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_sphere_from_five_points() {
        let points = [-10.0, -6.0, 0.0, 6.0, 10.0].map(|x: f64| [x, (100.0 - x * x).sqrt()]);
        let ball = Revolve::new(&points, true).unwrap();
        for p in [DVec3::new(3.0, 4.0, -8.0), DVec3::new(-20.0, 0.1, 0.0), DVec3::new(9.0, 0.0, 0.0)] {
            let foot = ball.project(p);
            assert!((foot.point - p.normalize() * 10.0).length() < 1e-11);
            assert!((foot.normal - p.normalize()).length() < 1e-12);
            let t0 = foot.normal.any_orthonormal_vector();
            let [a, b, c] = ball.curvature(foot, [t0, foot.normal.cross(t0)]);
            assert!((a - 0.1).abs() < 1e-7 && b.abs() < 1e-7 && (c - 0.1).abs() < 1e-7, "{a} {b} {c}");
        }
        assert_eq!(ball.past_ends(DVec3::X * 30.0), f64::NEG_INFINITY);
        // Snyder, *Map Projections*, USGS PP 1395: a parallel's cone has its apex at R tan of the polar angle.
        let ring = ball.ring(-6.0).unwrap();
        assert!((ring.radius - 8.0).abs() < 1e-12);
        assert!((1.0 / ring.geodesic_curvature - 10.0 * 8.0 / 6.0).abs() < 1e-9);
    }

    #[test]
    fn a_dome_with_a_flat_front_keeps_its_edge() {
        let dome = Revolve::new(&[[0.0, 0.0], [0.0, 3.0], [2.0, 5.0], [6.0, 6.0]], true).unwrap();
        let face = dome.project(DVec3::new(-1.0, 1.0, 0.5));
        assert!((face.point - DVec3::new(0.0, 1.0, 0.5)).length() < 1e-12);
        assert!((face.normal + DVec3::X).length() < 1e-12);
        let edge = dome.project(DVec3::new(-1.0, 0.0, 3.2));
        assert!((edge.point - DVec3::new(0.0, 0.0, 3.0)).length() < 1e-12);
        assert!(dome.past_ends(DVec3::new(7.0, 0.0, 6.2)) > 0.9);
        assert_eq!(dome.bounds(), [DVec3::new(0.0, -6.0, -6.0), DVec3::new(6.0, 6.0, 6.0)]);
    }

    #[test]
    fn a_frustum_goes_on_to_its_apex() {
        let cone = Revolve::new(&[[1.0, 4.0], [4.0, 2.0]], false).unwrap();
        assert!((cone.project(DVec3::new(9.0, 0.0, 0.0)).point - DVec3::X * 7.0).length() < 1e-12);
        let slant = 13.0_f64.sqrt();
        assert!((cone.past_ends(DVec3::new(7.0, 0.0, 0.0)) - slant).abs() < 1e-12);
        assert!((cone.past_ends(DVec3::new(2.5, 0.0, 3.0)) + slant / 2.0).abs() < 1e-12);
        let ring = cone.ring(4.0).unwrap();
        assert!((2.0 * PI * ring.radius - 4.0 * PI).abs() < 1e-12);
    }

    #[test]
    fn bad_profiles_say_where() {
        let refuse = |points: &[[f64; 2]]| Revolve::new(points, true).unwrap_err();
        assert_eq!(refuse(&[[0.0, 1.0], [2.0, 1.0], [1.0, 2.0]]), ShapeError::OutOfOrder { at: 2 });
        assert_eq!(refuse(&[[0.0, 1.0], [2.0, -1.0]]), ShapeError::NegativeRadius { at: 1 });
        assert_eq!(refuse(&[[0.0, 1.0], [1.0, 0.0], [2.0, 1.0]]), ShapeError::OnAxis { at: 1 });
        assert_eq!(refuse(&[[0.0, 1.0], [f64::NAN, 1.0]]), ShapeError::NotFinite { at: 1 });
        assert_eq!(refuse(&[[0.0, 1.0], [0.0, 2.0]]), ShapeError::NoLength);
        assert_eq!(refuse(&[[0.0, 0.0], [2.0, 0.0]]), ShapeError::OnAxis { at: 1 });
        assert_eq!(refuse(&[[0.0, 1.0]]), ShapeError::TooFew { what: "a profile", wanted: 2, found: 1 });
        assert_eq!(
            refuse(&[[0.0, 1.0], [0.0, 3.0], [0.0, 2.0], [1.0, 2.0]]),
            ShapeError::DoublesBack { at: 2 }
        );
        assert_eq!(refuse(&[[0.0, 1.0], [0.0, 1.0], [1.0, 2.0]]), ShapeError::Repeated { at: 1 });
    }
}
