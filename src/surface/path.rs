//! Lines on a surface as a list of places: what a stripe follows.
//!
//! A path knows at each place its arc length, heading and geodesic curvature,
//! which is all that a flat ribbon needs. Between places it is the caller's to
//! interpolate; they lie close enough for a cubic.

use super::{Foot, Start};
use glam::DVec3;

/// A place on a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Waypoint {
    /// Arc length from the path's first place, mm.
    pub along: f64,
    pub foot: Foot,
    /// Unit tangent of the path.
    pub heading: DVec3,
    /// Geodesic curvature, 1/mm; positive bends to the left, seen from outside.
    pub bend: f64,
}

/// A line on a surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    /// At least two, arc length rising. A closed path ends on its first place, a turn later.
    pub places: Vec<Waypoint>,
    pub closed: bool,
}

impl Path {
    pub fn length(&self) -> f64 {
        self.places.last().map_or(0.0, |place| place.along)
    }
}

impl Waypoint {
    pub fn start(&self) -> Start {
        Start { foot: self.foot, heading: self.heading }
    }
}

/// Why there is no such line.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PathError {
    #[error("the line has no direction to start in")]
    NoHeading,
    #[error(
        "the line is lost on the surface after {along:.1} mm: the surface is too rough or too sharp there"
    )]
    Lost { along: f64 },
    #[error("the plane touches the part after {along:.1} mm instead of cutting it: move it a little")]
    Touches { along: f64 },
    #[error("the plane passes the part by {miss:.1} mm")]
    Misses { miss: f64 },
    #[error(
        "the line would fold back on itself after {along:.1} mm: it lies further from the other than that bends"
    )]
    Cusp { along: f64 },
    #[error("no straight run leads from one point to the other: it misses by {miss:.2} mm")]
    NotReached { miss: f64 },
}

/// A line that takes more steps than this is taken for lost; a smooth one needs some hundreds.
pub(super) const MOST_STEPS: usize = 20_000;

/// The smallest step: an edge of the part is crossed with one, which may cost that much in
/// length, a tenth of the tolerance; and no less than rounding allows.
pub(super) fn least_step(tolerance: f64, size: f64) -> f64 {
    (0.1 * tolerance).clamp(1e-9 * size, 1e-2 * size)
}
