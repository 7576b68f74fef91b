//! A ball, centred on the origin.

use super::{Foot, Ring, Start, Surface, quadratic};
use glam::DVec3;

#[derive(Clone, Copy, Debug)]
pub struct Sphere {
    pub radius: f64,
}

impl Surface for Sphere {
    fn project(&self, p: DVec3) -> Foot {
        let normal = p.try_normalize().unwrap_or(DVec3::Z);
        Foot { point: normal * self.radius, normal }
    }

    fn curvature(&self, _foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
        [t[0].dot(t[0]), t[0].dot(t[1]), t[1].dot(t[1])].map(|dot| dot / self.radius)
    }

    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        let c = origin.dot(origin) - self.radius * self.radius;
        let entry = quadratic(direction.dot(direction), origin.dot(direction), c)[0]?;
        (entry >= 0.0).then(|| self.project(origin + direction * entry))
    }

    fn past_ends(&self, _p: DVec3) -> f64 {
        f64::NEG_INFINITY
    }

    fn bounds(&self) -> [DVec3; 2] {
        [DVec3::splat(-self.radius), DVec3::splat(self.radius)]
    }

    /// Along a great circle.
    fn straight(&self, start: &Start, length: f64) -> Option<Start> {
        // Where a strap lifts off, its own normal is not the ball's.
        let normal = self.project(start.foot.point).normal;
        let heading = start.heading.reject_from_normalized(normal).try_normalize()?;
        let (sin, cos) = libm::sincos(length / self.radius);
        let foot = self.project(normal * cos + heading * sin);
        let heading = (heading * cos - normal * sin).reject_from_normalized(foot.normal).try_normalize()?;
        Some(Start { foot, heading })
    }

    fn ring(&self, station: f64) -> Option<Ring> {
        let square = self.radius * self.radius - station * station;
        // A small circle bends like its tangent cone, whose slant is R r / |x|.
        (square > 0.0).then(|| {
            let radius = square.sqrt();
            Ring { station, radius, geodesic_curvature: -station / (self.radius * radius) }
        })
    }
}
