//! A frustum about the x axis, its front end at x = 0. It goes on to its apex;
//! past the apex there is no surface and `lay` comes back on the other side.

use super::{Development, Foot, Ring, Start, Surface, around, quadratic, radial};
use crate::outline::Point;
use glam::DVec3;
use lyon::geom::euclid::default::Vector2D;

#[derive(Clone, Copy, Debug)]
pub struct Cone {
    front: f64,
    length: f64,
    /// Radius gained per mm of x; never 0.
    taper: f64,
    /// Sine and cosine of the angle between the axis and the wall, sine signed like the taper.
    sin: f64,
    cos: f64,
}

impl Cone {
    /// Front and rear radius and axial length, mm. The radii must differ: equal ones make a cylinder.
    pub fn new(front: f64, rear: f64, length: f64) -> Self {
        let taper = (rear - front) / length;
        let cos = 1.0 / (1.0 + taper * taper).sqrt();
        Self { front, length, taper, sin: taper * cos, cos }
    }

    fn apex(&self) -> f64 {
        -self.front / self.taper
    }

    fn foot(&self, x: f64, around: f64) -> Foot {
        let out = radial(around);
        let radius = self.front + self.taper * x;
        Foot { point: out * radius + DVec3::X * x, normal: out * self.cos - DVec3::X * self.sin }
    }
}

impl Surface for Cone {
    fn project(&self, p: DVec3) -> Foot {
        let out = DVec3::new(0.0, p.y, p.z).length();
        // Along the wall from where it meets x = 0.
        let along = (p.x * self.cos + (out - self.front) * self.sin) * self.cos;
        let beyond = (along - self.apex()) * self.taper.signum() < 0.0;
        self.foot(if beyond { self.apex() } else { along }, around(p))
    }

    fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
        let radius = (self.front + self.taper * foot.point.x).max(f64::MIN_POSITIVE);
        let hoop = radial(around(foot.normal) + std::f64::consts::FRAC_PI_2);
        let [a, b] = t.map(|t| t.dot(hoop));
        // Meusnier: the ring of radius r is curved 1/r, of which the cosine points along the normal.
        let bend = self.cos / radius;
        [a * a * bend, a * b * bend, b * b * bend]
    }

    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        let (r, dr) = (self.front + self.taper * origin.x, self.taper * direction.x);
        let a = direction.y * direction.y + direction.z * direction.z - dr * dr;
        let b = origin.y * direction.y + origin.z * direction.z - r * dr;
        let c = origin.y * origin.y + origin.z * origin.z - r * r;
        let entries = quadratic(a, b, c).into_iter().flatten();
        let on_wall = |t: &f64| {
            let p = origin + direction * *t;
            let outside_in = direction.dot(self.project(p).normal) < 0.0;
            *t >= 0.0 && outside_in && self.front + self.taper * p.x >= 0.0 && self.past_ends(p) <= 0.0
        };
        entries.filter(on_wall).reduce(f64::min).map(|t| self.project(origin + direction * t))
    }

    fn past_ends(&self, p: DVec3) -> f64 {
        (-p.x).max(p.x - self.length) / self.cos
    }

    fn bounds(&self) -> [DVec3; 2] {
        let r = self.front.max(self.front + self.taper * self.length);
        [DVec3::new(0.0, -r, -r), DVec3::new(self.length, r, r)]
    }

    fn development(&self) -> Option<&dyn Development> {
        Some(self)
    }

    fn ring(&self, station: f64) -> Option<Ring> {
        let radius = self.front + self.taper * station;
        // The flat band is bent about the apex at the slant distance r / sin.
        (radius > 0.0).then(|| Ring { station, radius, geodesic_curvature: self.sin / radius })
    }
}

impl Development for Cone {
    fn lay(&self, start: &Start, q: Point) -> Foot {
        // Unrolled plane with the apex at the origin and the start on its positive x axis.
        // "Down" runs from the apex along the wall, "onward" towards greater angles.
        let p = start.foot.point;
        let out = radial(around(p));
        let down = (DVec3::X * self.cos + out * self.sin) * self.taper.signum();
        let onward = radial(around(p) + std::f64::consts::FRAC_PI_2);
        let slant = (p.x - self.apex()).abs() / self.cos;
        let step = start.heading * q.x + start.left() * q.y;
        let flat = Vector2D::new(slant + step.dot(down), step.dot(onward));
        let x = self.apex() + flat.length() * self.cos * self.taper.signum();
        self.foot(x, around(p) + libm::atan2(flat.y, flat.x) / self.sin.abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::turned;
    use std::f64::consts::PI;

    /// Frustum ducts, 5 and 8 across and 4 apart: a sheet-metal worked example
    /// (ceemrr.com) prints R 7.12 and 11.39 and a sector of 126.4°.
    #[test]
    fn a_sheet_metal_frustum() {
        let cone = Cone::new(2.5, 4.0, 4.0);
        let [front, rear] = [0.0, 4.0].map(|x| cone.ring(x).unwrap());
        assert!((1.0 / front.geodesic_curvature - 7.120003).abs() < 1e-6);
        assert!((1.0 / rear.geodesic_curvature - 11.392005).abs() < 1e-6);
        let sector = 2.0 * PI * rear.radius * rear.geodesic_curvature;
        assert!((sector.to_degrees() - 126.404439).abs() < 1e-6);
    }

    /// Longfield, *Sheet Metal Drafting*: frustum from 6 to 3 across, height 3, has a slant of 3.3541.
    #[test]
    fn laying_keeps_lengths_and_comes_home() {
        for cone in [Cone::new(3.0, 1.5, 3.0), Cone::new(1.5, 3.0, 3.0)] {
            let foot = cone.foot(0.0, 2.8);
            let down = (cone.foot(3.0, 2.8).point - foot.point).normalize();
            let start = Start { foot, heading: down };
            let rim = cone.lay(&start, Point::new(3.3541019662496847, 0.0));
            assert!((rim.point - cone.foot(3.0, 2.8).point).length() < 1e-12);
            // A full turn of the sector brings the flat edge back to the start.
            let ring = cone.ring(0.0).unwrap();
            let slant = 1.0 / ring.geodesic_curvature.abs();
            let sector = 2.0 * PI * ring.radius / slant;
            let to_apex = Vector2D::new(-slant * cone.taper.signum(), 0.0);
            let round = to_apex - turned(to_apex, sector);
            assert!((cone.lay(&start, round.to_point()).point - foot.point).length() < 1e-9);
        }
    }
}
