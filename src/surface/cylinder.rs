//! A straight round tube about the x axis, its front end at x = 0.

use super::{Development, Foot, Ring, Start, Surface, around, quadratic, radial};
use crate::outline::Point;
use glam::{DVec2, DVec3};

#[derive(Clone, Copy, Debug)]
pub struct Cylinder {
    pub radius: f64,
    pub length: f64,
}

impl Cylinder {
    fn foot(&self, x: f64, around: f64) -> Foot {
        let normal = radial(around);
        Foot { point: normal * self.radius + DVec3::X * x, normal }
    }
}

impl Surface for Cylinder {
    fn project(&self, p: DVec3) -> Foot {
        self.foot(p.x, around(p))
    }

    fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
        let hoop = DVec3::X.cross(foot.normal);
        let [a, b] = t.map(|t| t.dot(hoop));
        [a * a / self.radius, a * b / self.radius, b * b / self.radius]
    }

    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        let (o, d) = (DVec2::new(origin.y, origin.z), DVec2::new(direction.y, direction.z));
        let entry = quadratic(d.dot(d), o.dot(d), o.dot(o) - self.radius * self.radius)[0]?;
        let p = origin + direction * entry;
        (entry >= 0.0 && self.past_ends(p) <= 0.0).then(|| self.project(p))
    }

    fn past_ends(&self, p: DVec3) -> f64 {
        (-p.x).max(p.x - self.length)
    }

    fn bounds(&self) -> [DVec3; 2] {
        let r = self.radius;
        [DVec3::new(0.0, -r, -r), DVec3::new(self.length, r, r)]
    }

    fn development(&self) -> Option<&dyn Development> {
        Some(self)
    }

    fn ring(&self, station: f64) -> Option<Ring> {
        Some(Ring { station, radius: self.radius, geodesic_curvature: 0.0 })
    }
}

impl Development for Cylinder {
    fn lay(&self, start: &Start, q: Point) -> Foot {
        // Towards greater angles round the part.
        let onward = DVec3::X.cross(start.foot.normal);
        let step = start.heading * q.x + start.left() * q.y;
        let p = start.foot.point;
        self.foot(p.x + step.x, around(p) + step.dot(onward) / self.radius)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paper_is_laid_on_unmirrored() {
        let pipe = Cylinder { radius: 30.0, length: 200.0 };
        for angle in [0.0, 1.0, 2.5, 4.0] {
            let foot = pipe.foot(100.0, angle);
            let start =
                Start { foot, heading: (DVec3::X + radial(angle + std::f64::consts::FRAC_PI_2)).normalize() };
            for q in [Point::new(1e-4, 0.0), Point::new(0.0, 1e-4)] {
                let straight = foot.point + start.heading * q.x + start.left() * q.y;
                assert!((pipe.lay(&start, q).point - straight).length() < 1e-8);
            }
        }
    }
}
