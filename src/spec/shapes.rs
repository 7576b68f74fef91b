//! The words of curved shapes as they are written: the mirror's part for drawings and meshes.

use super::lenient::{May, Need};
use super::mirror::Corner;
use super::words::{Digits, Number, Switch, Text, Unit};
use crate::surface::mesh::Way;
use crate::units::{Full, Length, Scale};
use serde::Deserialize;

/// Points or stations listed here, or in a table of their own.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename = "(by form)", rename_all = "lowercase")]
pub enum Listed<T> {
    List(Vec<Need<T>>),
    Map(Table),
}

/// A file of comma-separated values.
#[derive(Clone, Debug, Deserialize)]
pub struct Table {
    pub file: Need<Text>,
    pub unit: May<Unit>,
}

/// Three coordinates.
pub type Space = [Need<Length<Full>>; 3];

#[derive(Clone, Debug, Deserialize)]
pub struct Revolve {
    pub profile: Need<Listed<Corner>>,
    pub smooth: May<Switch>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Loft {
    pub stations: Need<Listed<Station>>,
}

/// One of the five sections, and where its centre lies.
#[derive(Clone, Debug, Deserialize)]
pub struct Station {
    pub at: Need<Length<Full>>,
    pub circle: May<Circle>,
    pub ellipse: May<Ellipse>,
    pub superellipse: May<Superellipse>,
    pub r#box: May<Rounded>,
    pub points: May<Listed<Corner>>,
    pub smooth: May<Switch>,
    pub right: May<Length<Full>>,
    pub left: May<Length<Full>>,
    pub up: May<Length<Full>>,
    pub down: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Circle {
    pub diameter: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Ellipse {
    pub width: Need<Length<Full>>,
    pub height: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Superellipse {
    pub width: Need<Length<Full>>,
    pub height: Need<Length<Full>>,
    pub power: Need<Number>,
}

/// A rectangle, its corners rounded.
#[derive(Clone, Debug, Deserialize)]
pub struct Rounded {
    pub width: Need<Length<Full>>,
    pub height: Need<Length<Full>>,
    pub radius: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Tube {
    pub diameter: Need<Length<Full>>,
    pub path: Need<Listed<Space>>,
    pub bend: May<Length<Full>>,
    pub closed: May<Switch>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Extrude {
    pub profile: Need<Profile>,
    pub length: Need<Length<Full>>,
}

/// A wing section by its digits, one of the five sections, or an open line of points.
#[derive(Clone, Debug, Deserialize)]
pub struct Profile {
    pub naca: May<Digits>,
    pub chord: May<Length<Full>>,
    pub circle: May<Circle>,
    pub ellipse: May<Ellipse>,
    pub superellipse: May<Superellipse>,
    pub r#box: May<Rounded>,
    pub points: May<Listed<Corner>>,
    pub smooth: May<Switch>,
    pub open: May<Switch>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Mesh {
    pub file: Need<Text>,
    pub unit: Need<Unit>,
    pub size: Need<Scale>,
    pub aft: May<Way>,
    pub up: May<Way>,
}
