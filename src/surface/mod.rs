//! The part: one file per shape behind one trait.
//!
//! Points are millimetres of the full-size part in its own frame: x aft, y to
//! the part's right, z up. Normals point out of the plastic and have length 1.
//! A surface goes on straight past its open ends; what lies past an end is told
//! by [`Surface::past_ends`].

use crate::outline::Point;
use glam::DVec3;

/// A point of a surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Foot {
    pub point: DVec3,
    pub normal: DVec3,
}

/// The shape of a part.
pub trait Surface: Send + Sync + std::fmt::Debug {
    /// The nearest point of the surface.
    fn project(&self, p: DVec3) -> Foot;

    /// Second fundamental form at `foot` in the orthonormal tangents `t`:
    /// `[II(t0,t0), II(t0,t1), II(t1,t1)]`, 1/mm, positive where the surface is convex
    /// (a sphere of radius R gives 1/R, 0, 1/R). A point moved by u in the tangent
    /// plane drops by ½ II(u,u) against the normal.
    fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3];

    /// The first point that a ray meets from outside.
    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot>;

    /// How far `p` lies past an open end, mm measured along the surface or straight on;
    /// negative inside, negative infinity where the shape has no ends.
    fn past_ends(&self, p: DVec3) -> f64;

    /// A box that holds the part: least and greatest corner.
    fn bounds(&self) -> [DVec3; 2];

    /// The exact development, where there is one.
    fn development(&self) -> Option<&dyn Development> {
        None
    }

    /// The circle round the part in the plane at this station, where it is one.
    fn ring(&self, _station: f64) -> Option<Ring> {
        None
    }
}

/// Lengths on the part equal lengths on paper.
pub trait Development {
    /// The paper point that lies on the surface point nearest `p`.
    fn unroll(&self, p: DVec3) -> Point;
    /// The surface point under a paper point.
    fn roll(&self, q: Point) -> Foot;
}

/// A circle round a part about its x axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ring {
    pub station: f64,
    pub radius: f64,
    /// Geodesic curvature, 1/mm: how much the flat band bends; positive bends towards the front.
    pub geodesic_curvature: f64,
}
