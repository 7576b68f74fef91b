//! A profile drawn out in a straight line: wings, struts, blades, mouldings.
//!
//! The profile lies in the x–z plane, its first coordinate aft and its second
//! up; it is drawn out along y and centred there: a wing in its own frame, nose
//! forward, span across. It unrolls exactly: arc length of the profile one way,
//! span the other, so a marking may wrap round a leading edge. The surface goes
//! on straight past the tips and past the ends of an open profile, which for a
//! wing section are its trailing edge. At a sharp corner the normal fans out,
//! the curvature is that of one side, and what is laid over it folds.

use super::curve::{At, Curve};
use super::error::{ShapeError, positive};
use super::profile::Profile;
use super::{Development, Foot, Start, Surface, ray};
use crate::outline::Point;
use glam::{DVec2, DVec3};

/// How far an open profile goes on, in sizes of the part: past any film that is laid on it.
const ONWARD: f64 = 100.0;

#[derive(Clone, Debug)]
pub struct Extrude {
    profile: Curve,
    closed: bool,
    /// Half the span.
    half: f64,
    bounds: [DVec3; 2],
}

impl Extrude {
    /// A profile drawn out over `length` mm.
    ///
    /// # Errors
    /// Sizes not above 0, points that cross, names of no wing section.
    pub fn new(profile: &Profile, length: f64) -> Result<Self, ShapeError> {
        let half = positive("a length", length)? / 2.0;
        let curve = profile.curve(ONWARD * (profile.size() + length))?;
        let [low, high] = curve.bounds();
        let corner = |p: DVec2, y: f64| DVec3::new(p.x, y, p.y);
        Ok(Self {
            closed: matches!(profile, Profile::Section(_)),
            profile: curve,
            half,
            bounds: [corner(low, -half), corner(high, half)],
        })
    }

    /// Arc lengths of the profile from end to end, or once round, close enough to draw it by.
    pub fn stops(&self) -> Vec<f64> {
        self.profile.stops()
    }

    /// The point at an arc length of the profile and a way along the span.
    pub fn on(&self, along: f64, y: f64) -> Foot {
        drawn_out(&self.profile.at_length(along), y)
    }

    fn nearest(&self, p: DVec3) -> At {
        self.profile.nearest(DVec2::new(p.x, p.z))
    }
}

fn drawn_out(at: &At, y: f64) -> Foot {
    Foot { point: DVec3::new(at.point.x, y, at.point.y), normal: DVec3::new(at.normal.x, 0.0, at.normal.y) }
}

impl Surface for Extrude {
    fn project(&self, p: DVec3) -> Foot {
        drawn_out(&self.nearest(p), p.y)
    }

    fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
        let at = self.nearest(foot.point);
        let [a, b] = t.map(|t| t.x * at.tangent.x + t.z * at.tangent.y);
        [a * a, a * b, b * b].map(|square| square * at.curvature)
    }

    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        ray::first_hit(self, origin, direction)
    }

    fn past_ends(&self, p: DVec3) -> f64 {
        let tips = p.y.abs() - self.half;
        if self.closed {
            return tips;
        }
        let along = self.nearest(p).along;
        tips.max(-along).max(along - self.profile.length())
    }

    fn bounds(&self) -> [DVec3; 2] {
        self.bounds
    }

    fn development(&self) -> Option<&dyn Development> {
        Some(self)
    }
}

impl Development for Extrude {
    fn lay(&self, start: &Start, q: Point) -> Foot {
        let at = self.nearest(start.foot.point);
        let step = start.heading * q.x + start.left() * q.y;
        let along = step.x * at.tangent.x + step.z * at.tangent.y;
        drawn_out(&self.profile.at_length(at.along + along), start.foot.point.y + step.y)
    }
}

#[cfg(test)]
mod tests {
    use super::super::profile::Section;
    use super::*;
    use std::f64::consts::PI;

    fn wing() -> Extrude {
        let profile = Profile::Naca { digits: "0012".into(), chord: 1000.0 };
        Extrude::new(&profile, 4000.0).unwrap()
    }

    #[test]
    fn a_stripe_wraps_round_the_leading_edge() {
        // Twice the arc of one surface leads from the upper trailing edge to the lower one (arc by quadrature).
        let foot = wing().project(DVec3::new(1000.0, 300.0, 1.26));
        let start = Start { foot, heading: DVec3::Y.cross(foot.normal) * -1.0 };
        let lower = wing().lay(&start, Point::new(2.0 * 1_019.635_816_5, 40.0));
        assert!((lower.point.x - 1000.0).abs() < 1e-5 && lower.point.z < 0.0);
        // Heading forward on the upper side, left is to the part's left.
        assert!((lower.point.y - 260.0).abs() < 1e-9);
        let nose = wing().lay(&start, Point::new(1_019.635_816_5, 0.0));
        assert!((nose.point - DVec3::new(0.0, 300.0, 0.0)).length() < 1e-6);
        assert!((nose.normal + DVec3::X).length() < 1e-6);
    }

    #[test]
    fn the_nose_radius_is_the_books() {
        // Abbott & von Doenhoff, section 6.4: leading-edge radius 1.1019 t² of the chord.
        let foot = wing().project(DVec3::new(-50.0, 0.0, 0.0));
        let [along, _, across] = wing().curvature(foot, [DVec3::Z, DVec3::Y]);
        assert!((1.0 / along - 1.1019 * 0.12 * 0.12 * 1000.0).abs() < 1e-2 && across == 0.0);
    }

    #[test]
    fn past_the_trailing_edge_and_the_tips() {
        let wing = wing();
        let tail = wing.project(DVec3::new(1000.0, 0.0, 3.0));
        let aft = tail.point + DVec3::new(30.0, 0.0, -3.0);
        assert!(wing.past_ends(aft) > 29.0 && wing.past_ends(tail.point) < 1e-6);
        assert!((wing.past_ends(DVec3::new(500.0, -2010.0, 60.0)) - 10.0).abs() < 1e-9);
    }

    #[test]
    fn rays_find_the_near_side() {
        let strut =
            Extrude::new(&Profile::Section(Section::Ellipse { width: 60.0, height: 20.0 }), 500.0).unwrap();
        let top = strut.hit(DVec3::new(15.0, 10.0, 400.0), DVec3::NEG_Z).unwrap();
        assert!((top.point - DVec3::new(15.0, 10.0, 10.0 * 0.75_f64.sqrt())).length() < 1e-9);
        assert!(strut.hit(DVec3::new(15.0, 251.0, 400.0), DVec3::NEG_Z).is_none());
        assert!(strut.hit(DVec3::new(31.0, 0.0, 400.0), DVec3::NEG_Z).is_none());
        let edge = strut.hit(DVec3::new(-90.0, 0.0, 0.0), DVec3::X).unwrap();
        assert!((edge.point + DVec3::X * 30.0).length() < 1e-9);
    }

    #[test]
    fn a_circle_drawn_out_is_a_cylinder_across() {
        let tube = Extrude::new(&Profile::Section(Section::Circle { diameter: 10.0 }), 30.0).unwrap();
        let foot = tube.project(DVec3::new(6.0, 2.0, 8.0));
        assert!((foot.point - DVec3::new(3.0, 2.0, 4.0)).length() < 1e-13);
        let start = Start { foot, heading: DVec3::Y };
        let round = tube.lay(&start, Point::new(0.0, 10.0 * PI));
        assert!((round.point - foot.point).length() < 1e-12);
    }
}
