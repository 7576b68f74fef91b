//! A flat plate, centred on the origin, facing one of the six views.

use super::{Development, Foot, Start, Surface};
use crate::flow::View;
use crate::outline::Point;
use glam::DVec3;

#[derive(Clone, Copy, Debug)]
pub struct Plate {
    /// Half sizes across and up the paper of the view it faces, mm.
    half: [f64; 2],
    across: DVec3,
    up: DVec3,
    normal: DVec3,
}

impl Plate {
    /// Sizes in mm as seen from `face`.
    pub fn new(width: f64, height: f64, face: View) -> Self {
        let [across, up, normal] = face.axes();
        Self { half: [width / 2.0, height / 2.0], across, up, normal }
    }

    fn foot(&self, point: DVec3) -> Foot {
        Foot { point, normal: self.normal }
    }
}

impl Surface for Plate {
    fn project(&self, p: DVec3) -> Foot {
        self.foot(p - self.normal * p.dot(self.normal))
    }

    fn curvature(&self, _foot: Foot, _t: [DVec3; 2]) -> [f64; 3] {
        [0.0; 3]
    }

    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        let approach = -direction.dot(self.normal);
        let t = origin.dot(self.normal) / approach;
        let p = origin + direction * t;
        (approach > 0.0 && t >= 0.0 && self.past_ends(p) <= 0.0).then(|| self.project(p))
    }

    fn past_ends(&self, p: DVec3) -> f64 {
        (p.dot(self.across).abs() - self.half[0]).max(p.dot(self.up).abs() - self.half[1])
    }

    fn bounds(&self) -> [DVec3; 2] {
        let corner = (self.across * self.half[0]).abs() + (self.up * self.half[1]).abs();
        [-corner, corner]
    }

    fn development(&self) -> Option<&dyn Development> {
        Some(self)
    }
}

impl Development for Plate {
    fn lay(&self, start: &Start, q: Point) -> Foot {
        self.foot(start.foot.point + start.heading * q.x + start.left() * q.y)
    }
}
