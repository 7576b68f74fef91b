//! A shape that has been tried: what the rest of the spec may ask about it.

use crate::flow::{Axis, Direction, End, Shape, View};
use crate::surface::{self, Flaw, Surface, calipers};
use crate::units::{Full, Length};
use glam::DVec3;
use std::sync::Arc;

/// A shape and the surface made of it.
#[derive(Debug)]
pub struct Form {
    pub shape: Shape,
    surface: Arc<dyn Surface>,
}

impl Form {
    /// Tries a shape.
    pub fn new(shape: Shape) -> Result<Self, Flaw> {
        Ok(Self { surface: surface::build(&shape)?, shape })
    }

    /// What messages call it.
    pub const fn word(&self) -> &'static str {
        match self.shape {
            Shape::Flat { .. } => "flat part",
            Shape::Cylinder { .. } => "cylinder",
            Shape::Cone { .. } => "cone",
            Shape::Sphere { .. } => "sphere",
            Shape::Ellipsoid { .. } => "ellipsoid",
            Shape::Revolve { .. } => "revolved part",
            Shape::Loft { .. } => "loft",
            Shape::Tube { .. } => "tube",
            Shape::Extrude { .. } => "drawn-out part",
            Shape::Mesh { .. } => "mesh",
        }
    }

    pub const fn is_flat(&self) -> bool {
        matches!(self.shape, Shape::Flat { .. })
    }

    /// Whether it runs back into itself.
    pub const fn is_endless(&self) -> bool {
        matches!(self.shape, Shape::Tube { closed: true, .. })
    }

    /// Whether it has stations to count along.
    pub const fn is_long(&self) -> bool {
        self.is_straight() || matches!(self.shape, Shape::Tube { .. })
    }

    /// Whether its stations are distances aft.
    pub const fn is_straight(&self) -> bool {
        use Shape::{Cone, Cylinder, Loft, Revolve};
        matches!(self.shape, Cylinder { .. } | Cone { .. } | Revolve { .. } | Loft { .. })
    }

    /// The ends that film may run past.
    pub fn open_ends(&self) -> &'static [End] {
        const BOTH: &[End] = &[End::Front, End::Rear];
        let open = |front: Length<Full>, rear: Length<Full>| match [front, rear].map(|end| end > Length::ZERO)
        {
            [true, true] => BOTH,
            [true, false] => &BOTH[..1],
            [false, true] => &BOTH[1..],
            [false, false] => &[],
        };
        match self.shape {
            Shape::Cylinder { .. } | Shape::Loft { .. } | Shape::Tube { closed: false, .. } => BOTH,
            Shape::Cone { front, rear, .. } => open(front, rear),
            Shape::Revolve { ref profile, .. } => open(profile[0][1], profile[profile.len() - 1][1]),
            _ => &[],
        }
    }

    /// The side to look from where nothing is said.
    pub const fn front(&self) -> View {
        match self.shape {
            Shape::Flat { face, .. } => face,
            _ => View::Top,
        }
    }

    /// How far it reaches along an axis of the part's frame, mm.
    pub fn reach(&self, axis: Direction) -> [f64; 2] {
        self.surface.bounds().map(|corner| corner.dot(axis.vector()))
    }

    pub fn bounds(&self) -> [DVec3; 2] {
        self.surface.bounds()
    }

    pub fn centre(&self) -> DVec3 {
        let [low, high] = self.surface.bounds();
        (low + high) / 2.0
    }

    /// Least and greatest station, mm.
    pub fn stations(&self) -> [f64; 2] {
        self.surface.stations()
    }

    /// Whether the ray of sight through a point of a view's paper meets it.
    pub fn is_seen(&self, view: View, [across, up]: [f64; 2]) -> bool {
        let [right, upward, towards] = view.axes();
        self.surface.met_from(right * across + upward * up, towards).is_some()
    }

    /// The sizes that calipers can take.
    pub fn sizes(&self) -> Vec<(Axis, Length<Full>)> {
        calipers::sizes(&self.shape, self.surface.as_ref())
    }
}

/// Millimetres for a message.
pub fn rounded(mm: f64) -> f64 {
    (mm * 100.0).round() / 100.0
}
