//! The words of shapes as they are written: the mirror's part for what markings go on.

use super::lenient::{May, Need};
use super::mirror::Corner;
use super::words::{Digits, Number, Switch, Text, Unit};
use crate::flow::View;
use crate::surface::mesh::Way;
use crate::units::{Full, Length, Scale};
use schemars::JsonSchema;
use serde::Deserialize;

#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Shape {
    /// A flat face.
    Flat(Flat),
    /// A round bar or body.
    Cylinder(Cylinder),
    /// A cone, cut off or pointed.
    Cone(Cone),
    /// A ball.
    Sphere(Sphere),
    /// A rounded body by three lengths.
    Ellipsoid(Ellipsoid),
    /// A profile turned about the axis.
    Revolve(Revolve),
    /// Sections joined smoothly.
    Loft(Loft),
    /// A round tube along a bent line.
    Tube(Tube),
    /// A section drawn out to the right: wings, fins, blades.
    Extrude(Box<Extrude>),
    /// A scan or a drawing, as STL or OBJ.
    Mesh(Mesh),
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Flat {
    /// Across the face.
    pub width: Need<Length<Full>>,
    /// Up the face.
    pub height: Need<Length<Full>>,
    /// The side it is seen from.
    pub face: Need<View>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Cylinder {
    /// Across.
    pub diameter: Need<Length<Full>>,
    /// Along its axis.
    pub length: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Cone {
    /// Diameter of its front end.
    pub front: Need<Length<Full>>,
    /// Diameter of its rear end; `0 mm` is a point.
    pub rear: Need<Length<Full>>,
    /// Along its axis.
    pub length: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Sphere {
    /// Across.
    pub diameter: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Ellipsoid {
    /// From front to rear.
    pub length: Need<Length<Full>>,
    /// From left to right.
    pub width: Need<Length<Full>>,
    /// From bottom to top.
    pub height: Need<Length<Full>>,
}

/// Points or stations listed here, or in a table of their own.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename = "(by form)", rename_all = "lowercase")]
#[schemars(untagged, inline)]
pub enum Listed<T> {
    List(Vec<Need<T>>),
    Map(Table),
}

/// A file of comma-separated values.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Table {
    /// A file of comma-separated values.
    pub file: Need<Text>,
    /// Of its numbers; its first line may name them instead.
    pub unit: May<Unit>,
}

/// Three coordinates.
pub type Space = [Need<Length<Full>>; 3];

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Revolve {
    /// `[[station, radius], …]`, from the front.
    pub profile: Need<Listed<Corner>>,
    /// Curved from point to point; it overshoots none.
    pub smooth: May<Switch>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Loft {
    /// Sections from the front aft.
    pub stations: Need<Listed<Station>>,
}

/// One of the five sections, and where its centre lies.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Station {
    /// Its station.
    pub at: Need<Length<Full>>,
    /// A round section.
    pub circle: May<Circle>,
    /// An elliptic section.
    pub ellipse: May<Ellipse>,
    /// A section between ellipse and rectangle.
    pub superellipse: May<Superellipse>,
    /// A rectangular section.
    pub r#box: May<Rounded>,
    /// A drawn section, `[[x, y], …]`.
    pub points: May<Listed<Corner>>,
    /// Curved from point to point.
    pub smooth: May<Switch>,
    /// Its middle so far to the part's right.
    pub right: May<Length<Full>>,
    /// Its middle so far to the part's left.
    pub left: May<Length<Full>>,
    /// Its middle so far up.
    pub up: May<Length<Full>>,
    /// Its middle so far down.
    pub down: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Circle {
    /// Across.
    pub diameter: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Ellipse {
    /// From left to right.
    pub width: Need<Length<Full>>,
    /// From bottom to top.
    pub height: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Superellipse {
    /// From left to right.
    pub width: Need<Length<Full>>,
    /// From bottom to top.
    pub height: Need<Length<Full>>,
    /// 2 is an ellipse; more is squarer.
    pub power: Need<Number>,
}

/// A rectangle, its corners rounded.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Rounded {
    /// From left to right.
    pub width: Need<Length<Full>>,
    /// From bottom to top.
    pub height: Need<Length<Full>>,
    /// Of its corners.
    pub radius: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Tube {
    /// Across.
    pub diameter: Need<Length<Full>>,
    /// `[[x, y, z], …]`, its corners.
    pub path: Need<Listed<Space>>,
    /// Radius of the turns, at the middle of the tube.
    pub bend: May<Length<Full>>,
    /// Whether its end meets its start.
    pub closed: May<Switch>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Extrude {
    /// Its section.
    pub profile: Need<Profile>,
    /// Drawn out to the right.
    pub length: Need<Length<Full>>,
}

/// A wing section by its digits, one of the five sections, or an open line of points.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Profile {
    /// Four digits of a NACA section, quoted.
    pub naca: May<Digits>,
    /// Of the section.
    pub chord: May<Length<Full>>,
    /// A round section.
    pub circle: May<Circle>,
    /// An elliptic section.
    pub ellipse: May<Ellipse>,
    /// A section between ellipse and rectangle.
    pub superellipse: May<Superellipse>,
    /// A rectangular section.
    pub r#box: May<Rounded>,
    /// A drawn section, `[[x, y], …]`.
    pub points: May<Listed<Corner>>,
    /// Curved from point to point.
    pub smooth: May<Switch>,
    /// An open line, its outside above.
    pub open: May<Switch>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Mesh {
    /// An STL or OBJ file in the spec's folder or below it.
    pub file: Need<Text>,
    /// Of the file's numbers.
    pub unit: Need<Unit>,
    /// The scale the file is at, or `full`.
    pub size: Need<Scale>,
    /// The file's axis that points aft.
    pub aft: May<Way>,
    /// The file's axis that points up.
    pub up: May<Way>,
}
