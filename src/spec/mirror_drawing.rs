//! The [mirror](super::mirror) of what drawings are made of: figures, and drawings of drawings.
//!
//! Left out as there: what goes with what.

use super::lenient::{May, Need};
use super::mirror::{Corner, Draw, OneOrMany};
use super::words::{Cornered, Count, Data, Filled, Number, Seed, Share, Switch, Text, UnitOf};
use crate::units::{Angle, Full, Length};
use serde::Deserialize;

#[derive(Clone, Debug, Deserialize)]
pub struct Cross {
    pub width: Need<Length<Full>>,
    pub height: May<Length<Full>>,
    pub stroke: Need<Length<Full>>,
    /// Width at the ends of the arms.
    pub flare: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Rays {
    pub diameter: Need<Length<Full>>,
    pub inner: May<Length<Full>>,
    pub rays: Need<Count>,
    pub angle: May<Angle>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Arrow {
    pub length: Need<Length<Full>>,
    pub width: Need<Length<Full>>,
    pub stroke: Need<Length<Full>>,
    pub head: May<Length<Full>>,
}

/// `diameter` of its middle line.
#[derive(Clone, Debug, Deserialize)]
pub struct Arc {
    pub diameter: Need<Length<Full>>,
    pub stroke: Need<Length<Full>>,
    pub angle: Need<Angle>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Sector {
    pub diameter: Need<Length<Full>>,
    pub inner: May<Length<Full>>,
    pub angle: Need<Angle>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Ellipse {
    pub width: Need<Length<Full>>,
    pub height: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct StarAndBars {
    /// Of the circle about the star.
    pub radius: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct CheatLine {
    pub points: Need<Vec<Need<Corner>>>,
    pub width: Need<Length<Full>>,
    pub taper: May<Length<Full>>,
    pub radius: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Path {
    pub d: Need<Data>,
    pub unit: Need<UnitOf>,
    /// The point of the path that is the drawing's own middle.
    pub origin: May<[Need<Number>; 2]>,
    pub fill: May<Filled>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Stripes {
    pub width: Need<Length<Full>>,
    pub height: Need<Length<Full>>,
    pub seed: Need<Seed>,
    pub shares: Need<Vec<Need<Share>>>,
    pub length: Need<Length<Full>>,
    pub stroke: Need<Length<Full>>,
    pub angle: May<Angle>,
    pub waviness: May<Share>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Blotches {
    pub width: Need<Length<Full>>,
    pub height: Need<Length<Full>>,
    pub seed: Need<Seed>,
    pub shares: Need<Vec<Need<Share>>>,
    pub size: Need<Length<Full>>,
    pub waviness: May<Share>,
}

/// One drawing, or several over one another.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename = "(by form)", rename_all = "lowercase")]
pub enum Items {
    List(Vec<Need<Item>>),
    Map(Box<Item>),
}

/// A drawing, what is done to it, and where it goes; done in the order of the fields.
#[derive(Clone, Debug, Deserialize)]
pub struct Item {
    pub draw: Need<Draw>,
    pub colour: May<Text>,
    pub colours: May<OneOrMany<Text>>,
    pub cut_out: May<Items>,
    pub clip: May<Items>,
    pub outline: May<Edge>,
    pub border: May<Edge>,
    pub repeat: May<Repeat>,
    pub mirror: May<Switch>,
    pub turn: May<Angle>,
    pub along: May<Length<Full>>,
    pub across: May<Length<Full>>,
}

/// `width`, or `share` of the drawing's smaller side.
#[derive(Clone, Debug, Deserialize)]
pub struct Edge {
    pub width: May<Length<Full>>,
    pub share: May<Share>,
    pub corner: May<Cornered>,
    pub colour: May<Text>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Repeat {
    Line(RepeatLine),
    Ring(RepeatRing),
}

#[derive(Clone, Debug, Deserialize)]
pub struct RepeatLine {
    pub count: Need<Count>,
    pub along: May<Length<Full>>,
    pub across: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct RepeatRing {
    pub count: Need<Count>,
    pub diameter: Need<Length<Full>>,
    pub upright: May<Switch>,
}
