//! The part: one file per shape behind one trait.
//!
//! Points are millimetres of the full-size part in its own frame: x aft, y to
//! the part's right, z up. Normals point out of the plastic and have length 1.
//! A surface goes on straight past its open ends; what lies past an end is told
//! by [`Surface::past_ends`].

mod build;
mod bvh;
pub mod calipers;
mod cone;
mod curve;
mod cylinder;
mod ellipsoid;
mod error;
mod extrude;
pub mod field;
pub mod geodesic;
pub mod grid;
mod hermite;
mod jet;
mod loft;
pub mod mesh;
mod monotone;
mod ode;
pub mod parallel;
pub mod path;
mod piece;
mod plate;
mod polar;
mod profile;
mod ray;
mod revolve;
pub mod section;
mod sphere;
mod tube;

pub use build::{Flaw, build};
pub use cone::Cone;
pub use cylinder::Cylinder;
pub use ellipsoid::Ellipsoid;
pub use error::ShapeError;
pub use extrude::Extrude;
pub use loft::{Loft, Station};
pub use mesh::Mesh;
pub use path::{Path, PathError, Waypoint};
pub use plate::Plate;
pub use profile::{Profile, Section};
pub use revolve::Revolve;
pub use sphere::Sphere;
pub use tube::Tube;

use crate::flow::End;
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

    /// How far that box reaches along x, y and z, mm.
    fn extent(&self) -> DVec3 {
        let [least, most] = self.bounds();
        most - least
    }

    /// From corner to corner of that box, mm: what lengths on the part are small or large beside.
    fn size(&self) -> f64 {
        self.extent().length()
    }

    /// The first point that is met coming in from beyond the box, against `out`, a unit vector, to `p`.
    fn met_from(&self, p: DVec3, out: DVec3) -> Option<Foot> {
        let [least, most] = self.bounds();
        self.hit(p + out * 2.0 * least.abs().max(most.abs()).length(), -out)
    }

    /// The exact development, where there is one.
    fn development(&self) -> Option<&dyn Development> {
        None
    }

    /// The end of the straight line of this length, mm, where there is a formula for it; its heading
    /// points forwards even where the length is negative.
    fn straight(&self, _start: &Start, _length: f64) -> Option<Start> {
        None
    }

    /// Least and greatest station.
    fn stations(&self) -> [f64; 2] {
        self.bounds().map(|corner| corner.x)
    }

    /// The line that stations are counted along, beside `p`: the x axis unless the part is bent.
    fn beside(&self, p: DVec3) -> Spine {
        Spine::on_axis(p.x)
    }

    /// The line that stations are counted along, at one of them.
    fn spine(&self, station: f64) -> Spine {
        Spine::on_axis(station)
    }

    /// The point at this station and angle round the part.
    fn at_station(&self, station: f64, around: f64) -> Option<Foot> {
        self.met_from(DVec3::X * station, radial(around))
    }

    /// The angle round the part at a station that lies in this direction from the line of stations.
    fn around(&self, _station: f64, out: DVec3) -> f64 {
        around(out)
    }

    /// How far `p` lies short of an end, counted in stations; negative past it.
    fn short_of(&self, end: End, p: DVec3) -> f64 {
        let ([front, rear], station) = (self.stations(), self.beside(p).station);
        match end {
            End::Front => station - front,
            End::Rear => rear - station,
        }
    }

    /// What was mended before the part could be used, in words; `None` where nothing was.
    fn mended(&self) -> Option<String> {
        None
    }

    /// The circle round the part in the plane at this station, where it is one.
    fn ring(&self, _station: f64) -> Option<Ring> {
        None
    }
}

/// Lengths on the part equal lengths on paper.
pub trait Development {
    /// Where a point of a flat piece comes to lie when the piece's origin is put on
    /// `start` and its x axis along `start.heading`. Exact; wraps over itself without end.
    fn lay(&self, start: &Start, q: Point) -> Foot;
}

/// Where a flat piece is put down: its origin and the direction its x axis takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    pub foot: Foot,
    /// Unit tangent.
    pub heading: DVec3,
}

impl Start {
    /// The unit tangent to the left of the heading, along the piece's y axis.
    pub fn left(&self) -> DVec3 {
        self.foot.normal.cross(self.heading)
    }

    /// The same place headed counter-clockwise by this angle, seen from outside.
    #[must_use]
    pub fn turned(&self, angle: f64) -> Self {
        let (sin, cos) = libm::sincos(angle);
        Self { foot: self.foot, heading: self.heading * cos + self.left() * sin }
    }
}

/// A place on the line that stations are counted along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spine {
    pub station: f64,
    pub point: DVec3,
    /// Unit vector towards greater stations.
    pub along: DVec3,
    /// Curvature, 1/mm, towards the centre of the bend.
    pub bend: DVec3,
}

impl Spine {
    const fn on_axis(station: f64) -> Self {
        let point = DVec3::new(station, 0.0, 0.0);
        Self { station, point, along: DVec3::X, bend: DVec3::ZERO }
    }

    /// How fast the station grows when `p`, off the line, moves by `step`.
    pub fn gain(&self, p: DVec3, step: DVec3) -> f64 {
        step.dot(self.along) / (1.0 - self.bend.dot(p - self.point))
    }
}

/// A circle round a part about its x axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ring {
    pub station: f64,
    pub radius: f64,
    /// Geodesic curvature, 1/mm: how much the flat band bends; positive bends towards the front.
    pub geodesic_curvature: f64,
}

/// The unit vector across a long part at this angle round it: top 0, left π/2.
pub fn radial(around: f64) -> DVec3 {
    let (sin, cos) = libm::sincos(around);
    DVec3::new(0.0, -sin, cos)
}

/// The angle round a long part at which `p` lies, from the top, in (-π, π].
pub fn around(p: DVec3) -> f64 {
    libm::atan2(-p.y, p.z)
}

/// The nearer root of `a t² + 2 b t + c = 0` first, where there are any.
fn quadratic(a: f64, b: f64, c: f64) -> [Option<f64>; 2] {
    if a.abs() < f64::MIN_POSITIVE {
        return [(b != 0.0).then(|| -c / (2.0 * b)), None];
    }
    let discriminant = b * b - a * c;
    if discriminant < 0.0 {
        return [None, None];
    }
    // The root without cancellation first, the other from the product of both.
    let q = -(b + discriminant.sqrt().copysign(b));
    let (one, two) = (q / a, if q == 0.0 { 0.0 } else { c / q });
    [Some(one.min(two)), Some(one.max(two))]
}
