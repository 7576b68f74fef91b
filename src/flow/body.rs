//! A part with the films on it, in space: for programs that show bodies and turn them.
//!
//! Millimetres of the model in the part's frame: x aft, y to the part's right, z
//! up. Left out: light, cameras, and everything flat.

use glam::DVec3;

/// A part and what lies on it, lowest first.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    pub name: String,
    pub plastic: Skin,
    pub films: Vec<LaidFilm>,
}

/// A piece where it lies: a skin for each of its coloured areas.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidFilm {
    pub name: String,
    pub skins: Vec<Skin>,
}

/// Triangles of one colour, counter-clockwise seen from outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Skin {
    pub rgb: [u8; 3],
    pub points: Vec<DVec3>,
    /// Of length 1, one for each point.
    pub normals: Vec<DVec3>,
    pub triangles: Vec<[u32; 3]>,
    /// Of a film, at each point; empty for plastic.
    pub strains: Vec<PointStrain>,
}

/// How far a film gives at a point.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PointStrain {
    /// Principal stretches less 1: 0.01 is one per cent; squeeze negative.
    pub stretch: f64,
    pub squeeze: f64,
    /// Among the steps of the report's strain pictures: 0 none, 2 all it bears as it is, 4 all it bears
    /// softened, past 4 too far.
    pub step: f64,
}
