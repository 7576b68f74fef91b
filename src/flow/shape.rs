//! A part's form at full size, as its drawing or its mesh gives it. Plain data:
//! whether a part can be made of it is for the surface to say.
//!
//! Frame: x aft, y to the part's right, z up. Long parts start at station 0;
//! closed shapes, plates and what is drawn out are centred on the origin; a
//! mesh keeps the origin of its file.

use super::plan::View;
use crate::units::{Full, Length};
use glam::DVec3;
use std::sync::Arc;

#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A plate that faces `face`; as seen from there, `width` runs across the paper and `height` up it.
    Flat {
        width: Length<Full>,
        height: Length<Full>,
        face: View,
    },
    Cylinder {
        diameter: Length<Full>,
        length: Length<Full>,
    },
    /// Front and rear diameters, of which one may be nothing, and the axial length.
    Cone {
        front: Length<Full>,
        rear: Length<Full>,
        length: Length<Full>,
    },
    Sphere {
        diameter: Length<Full>,
    },
    /// Diameters along x, y and z.
    Ellipsoid {
        length: Length<Full>,
        width: Length<Full>,
        height: Length<Full>,
    },
    /// Stations and radii, turned about the x axis.
    Revolve {
        profile: Vec<[Length<Full>; 2]>,
        smooth: bool,
    },
    /// Sections across x, joined smoothly.
    Loft {
        stations: Vec<Station>,
    },
    /// A circle swept along a path whose corners are rounded at the centreline.
    Tube {
        diameter: Length<Full>,
        path: Vec<[Length<Full>; 3]>,
        bend: Length<Full>,
        closed: bool,
    },
    /// A profile with its first coordinate aft and its second up, drawn out along y.
    Extrude {
        profile: Profile,
        length: Length<Full>,
    },
    Mesh {
        soup: Arc<Soup>,
        /// How much larger the part is than the soup, along x, y and z.
        stretch: DVec3,
    },
}

/// A section of a loft.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    pub at: Length<Full>,
    /// Widths run to the right, heights up.
    pub section: Section,
    /// Where its centre lies, right and up.
    pub centre: [Length<Full>; 2],
}

/// A closed section about its centre.
#[derive(Clone, Debug, PartialEq)]
pub enum Section {
    Circle {
        diameter: Length<Full>,
    },
    Ellipse {
        width: Length<Full>,
        height: Length<Full>,
    },
    /// |x/a|ⁿ + |y/b|ⁿ = 1, n being the power.
    Superellipse {
        width: Length<Full>,
        height: Length<Full>,
        power: f64,
    },
    /// A rectangle with rounded corners.
    Box {
        width: Length<Full>,
        height: Length<Full>,
        radius: Length<Full>,
    },
    Points {
        points: Vec<[Length<Full>; 2]>,
        smooth: bool,
    },
}

/// What is drawn out.
#[derive(Clone, Debug, PartialEq)]
pub enum Profile {
    Section(Section),
    /// A four-digit wing section, nose at the origin.
    Naca {
        digits: String,
        chord: Length<Full>,
    },
    /// Not closed; its outside lies to the left of the way it runs.
    Line {
        points: Vec<[Length<Full>; 2]>,
        smooth: bool,
    },
}

/// Triangles as a file lists them: corners, and which of them each triangle uses.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Soup {
    pub points: Vec<DVec3>,
    pub triangles: Vec<[u32; 3]>,
}
