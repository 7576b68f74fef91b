//! The language as it is written: one struct for each map, one field for each word.
//!
//! A literal mirror of the file and nothing more. Every field is a
//! [`Need`] or a [`May`], so that whatever is wrong with one leaves the others
//! readable; the [resolver](super::resolve) finds the names, checks the sense
//! and makes the plan. An enum is a choice: `{cone: {…}}`, or a word alone.

use super::lenient::{May, Need};
pub use super::mirror_drawing::*;
use super::shapes;
use super::words::{
    Around, BowSide, Count, Depth, Effort, Ends, Free, Hand, HelixEnds, Keep, Lined, Number,
    Page as PageName, Phrase, Proportion, Rgb, Round, Share, Switch, Text, Upright, Version,
};
use crate::flow::{Align, Ground, Make, MaskFilm, PdfFiles, Price, Shades, SizeBy, Turning, View};
use crate::units::{Angle, Full, Length, Model, Scale};
use serde::Deserialize;
use serde::de::{Deserializer, MapAccess, Visitor};
use std::fmt;
use std::marker::PhantomData;

/// A whole spec.
#[derive(Clone, Debug, Deserialize)]
pub struct Spec {
    #[expect(dead_code, reason = "read only so that a wrong version is told")]
    pub markloft: Need<Version>,
    pub title: May<Text>,
    pub scales: Need<OneOrMany<Scale>>,
    pub r#use: May<Uses>,
    pub colours: May<Named<WordOrMap<Rgb, Paint>>>,
    pub drawings: May<Named<Items>>,
    pub films: May<Films>,
    pub parts: May<Named<Part>>,
    pub markings: Need<Named<Marking>>,
    pub sheets: May<Sheets>,
    pub printer: May<Printer>,
    pub spray: May<Spray>,
    pub cutter: May<Cutter>,
}

/// A file that specs share by `use`.
#[derive(Clone, Debug, Deserialize)]
pub struct Shared {
    #[expect(dead_code, reason = "read only so that a wrong version is told")]
    pub markloft: Need<Version>,
    pub r#use: May<Uses>,
    pub colours: May<Named<WordOrMap<Rgb, Paint>>>,
    pub drawings: May<Named<Items>>,
    pub films: May<Films>,
    pub parts: May<Named<Part>>,
}

/// Names of files.
pub type Uses = OneOrMany<Text>;

/// One value, or a list of them.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename = "(by form)", rename_all = "lowercase")]
pub enum OneOrMany<T> {
    Word(T),
    List(Vec<Need<T>>),
}

/// One word, or a map of sizes.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename = "(by form)", rename_all = "lowercase")]
pub enum WordOrMap<W, M> {
    Word(W),
    Map(M),
}

/// A map from names the user chose, in the order of the file.
#[derive(Clone, Debug)]
pub struct Named<T>(pub Vec<(String, Need<T>)>);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Named<T> {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        reader.deserialize_map(NamedVisitor(PhantomData))
    }
}

struct NamedVisitor<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for NamedVisitor<T> {
    type Value = Named<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a map of names, `{name: …}`")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Named<T>, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = map.next_entry()? {
            entries.push(entry);
        }
        Ok(Named(entries))
    }
}

/// A colour with what to buy or mix for it.
#[derive(Clone, Debug, Deserialize)]
pub struct Paint {
    pub hex: Need<Rgb>,
    pub paint: May<Text>,
    pub note: May<Text>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Films {
    pub decal: May<Film>,
    pub mask: May<Film>,
    pub tape: May<Tape>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Film {
    pub poisson: May<Number>,
    pub stretch: May<Share>,
    pub squeeze: May<Share>,
    pub softened: May<Softened>,
    pub finest_line: May<Length<Model>>,
    pub finest_gap: May<Length<Model>>,
    pub smallest_letter: May<Length<Model>>,
    pub border: May<Length<Model>>,
    pub bleed: May<Length<Model>>,
    /// Corners of what is gone of the first sheet.
    pub used: May<Vec<Need<Found>>>,
    pub price: May<Price>,
    pub sheet: May<WordOrMap<PageName, PageSize>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Softened {
    pub stretch: May<Share>,
    pub squeeze: May<Share>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Tape {
    pub widths: May<OneOrMany<Length<Model>>>,
    pub trim: May<Length<Model>>,
    pub poisson: May<Number>,
    pub stretch: May<Share>,
    pub squeeze: May<Share>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Spray {
    pub order: May<OneOrMany<Text>>,
    pub film: May<MaskFilm>,
    pub overlap: May<Length<Model>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Cutter {
    pub offset: May<Length<Model>>,
    pub overcut: May<Length<Model>>,
    pub direction: May<Round>,
    pub speed: May<Length<Model>>,
    pub mat: May<PageSize>,
    pub feed: May<Length<Model>>,
    pub decals: May<Depth>,
    pub weed: May<Switch>,
    pub measured: May<SquareCut>,
    pub marks: May<Vec<Need<Found>>>,
}

/// The sides of a 100 mm square as cut.
#[derive(Clone, Debug, Deserialize)]
pub struct SquareCut {
    pub across: May<Length<Model>>,
    pub up: May<Length<Model>>,
}

/// Where a printed mark was found.
pub type Found = [Need<Length<Model>>; 2];

#[derive(Clone, Debug, Deserialize)]
pub struct Sheets {
    pub page: May<WordOrMap<PageName, PageSize>>,
    pub landscape: May<Switch>,
    pub margin: May<Length<Model>>,
    pub spacing: May<Length<Model>>,
    pub turn: May<Turning>,
    pub effort: May<Effort>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct PageSize {
    pub width: Need<Length<Model>>,
    pub height: Need<Length<Model>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Printer {
    pub dpi: May<Number>,
    pub margins: May<Margins>,
    pub measured: May<SquarePrinted>,
    pub min_line: May<Length<Model>>,
    pub min_gap: May<Length<Model>>,
    pub min_letter: May<Length<Model>>,
    pub ground: May<Ground>,
    pub masks: May<Shades>,
    pub white: May<WordOrMap<Switch, White>>,
    pub names: May<Spots>,
    pub lines: May<OneOrMany<Lined>>,
    pub mirrored: May<Switch>,
    pub order: May<OneOrMany<Text>>,
    pub trial: May<Switch>,
    pub pdf: May<PdfFiles>,
}

/// Where a printer cannot print.
#[derive(Clone, Debug, Deserialize)]
pub struct Margins {
    pub left: May<Length<Model>>,
    pub right: May<Length<Model>>,
    pub top: May<Length<Model>>,
    pub bottom: May<Length<Model>>,
}

/// The sides of a 100 mm square as printed.
#[derive(Clone, Debug, Deserialize)]
pub struct SquarePrinted {
    pub across: May<Length<Model>>,
    pub along: May<Length<Model>>,
}

/// The white underlayer.
#[derive(Clone, Debug, Deserialize)]
pub struct White {
    pub name: May<Text>,
    pub choke: May<Length<Model>>,
    pub picture: May<Shades>,
}

/// What the user calls the lines for the knife.
#[derive(Clone, Debug, Deserialize)]
pub struct Spots {
    pub cut: May<Text>,
    pub relief: May<Text>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Part {
    pub shape: Need<Shape>,
    pub measured: May<Named<Measured>>,
    pub limits: May<Named<Limit>>,
    pub seam: May<Around>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Shape {
    Flat(Flat),
    Cylinder(Cylinder),
    Cone(Cone),
    Sphere(Sphere),
    Ellipsoid(Ellipsoid),
    Revolve(shapes::Revolve),
    Loft(shapes::Loft),
    Tube(shapes::Tube),
    Extrude(Box<shapes::Extrude>),
    Mesh(shapes::Mesh),
}

#[derive(Clone, Debug, Deserialize)]
pub struct Flat {
    pub width: Need<Length<Full>>,
    pub height: Need<Length<Full>>,
    pub face: Need<View>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Cylinder {
    pub diameter: Need<Length<Full>>,
    pub length: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Cone {
    pub front: Need<Length<Full>>,
    pub rear: Need<Length<Full>>,
    pub length: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Sphere {
    pub diameter: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Ellipsoid {
    pub length: Need<Length<Full>>,
    pub width: Need<Length<Full>>,
    pub height: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Measured {
    pub length: May<Length<Model>>,
    pub width: May<Length<Model>>,
    pub height: May<Length<Model>>,
    pub diameter: May<Length<Model>>,
    pub front: May<Length<Model>>,
    pub rear: May<Length<Model>>,
    pub chord: May<Length<Model>>,
    pub over: May<Over>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Over {
    pub from: Need<Text>,
    pub to: Need<Text>,
    pub length: Need<Length<Model>>,
}

/// A plane by one of the first seven words, or a region by `seen` and `outline`.
#[derive(Clone, Debug, Deserialize)]
pub struct Limit {
    pub aft: May<Length<Full>>,
    pub forward: May<Length<Full>>,
    pub right: May<Length<Full>>,
    pub left: May<Length<Full>>,
    pub up: May<Length<Full>>,
    pub down: May<Length<Full>>,
    pub station: May<Length<Full>>,
    pub seen: May<View>,
    pub outline: May<Vec<Need<Corner>>>,
    pub keep: Need<Keep>,
}

/// Two coordinates.
pub type Corner = [Need<Length<Full>>; 2];

#[derive(Clone, Debug, Deserialize)]
pub struct Marking {
    pub part: Need<Text>,
    pub draw: Need<Draw>,
    pub colour: May<Text>,
    pub colours: May<OneOrMany<Text>>,
    pub border: May<Edge>,
    pub both_sides: May<Switch>,
    pub at: May<Place>,
    pub hold: May<WordOrMap<HoldWord, HoldPoint>>,
    pub lay: May<Lay>,
    pub make: May<OneOrMany<Make>>,
    pub copies: May<Count>,
    pub may_trim: May<OneOrMany<Ends>>,
    pub size_by: May<SizeBy>,
    /// Markings that it lies over on purpose.
    pub over: May<OneOrMany<Text>>,
    pub made: May<Scale>,
    pub piece: May<Piece>,
    pub note: May<Text>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Draw {
    Stripe(Stripe),
    Band(Band),
    Rectangle(Rectangle),
    Disc(Disc),
    Roundel(Roundel),
    Star(Star),
    Chevron(Chevron),
    Polygon(Polygon),
    Checks(Checks),
    Hazard(Hazard),
    Artwork(Artwork),
    Area(Area),
    Cross(Cross),
    Rays(Rays),
    Arrow(Arrow),
    Arc(Arc),
    Sector(Sector),
    Ellipse(Ellipse),
    StarAndBars(StarAndBars),
    CheatLine(CheatLine),
    Path(Path),
    Stripes(Stripes),
    Blotches(Blotches),
    Group(Vec<Need<Item>>),
    Drawing(Text),
    Letters(Letters),
    Text(Lines),
}

#[derive(Clone, Debug, Deserialize)]
pub struct Stripe {
    pub width: Need<Length<Full>>,
    /// Width at the far end.
    pub taper: May<Length<Full>>,
    pub length: Need<Length<Full>>,
}

/// `width`, shared equally between the colours; or `widths`, one for each.
#[derive(Clone, Debug, Deserialize)]
pub struct Band {
    pub width: May<Length<Full>>,
    pub widths: May<Vec<Need<Length<Full>>>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Rectangle {
    pub width: Need<Length<Full>>,
    pub height: Need<Length<Full>>,
    /// Of its corners.
    pub radius: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Disc {
    pub diameter: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Roundel {
    pub diameter: Need<Length<Full>>,
    pub rings: Need<Vec<Need<Number>>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Star {
    pub points: May<Count>,
    pub diameter: Need<Length<Full>>,
    pub inner: May<Number>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Chevron {
    pub width: Need<Length<Full>>,
    pub stroke: Need<Length<Full>>,
    pub angle: May<Angle>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Polygon {
    pub points: Need<Vec<Need<Corner>>>,
}

/// `square`, or the `width` that the columns or the `height` that the rows share.
#[derive(Clone, Debug, Deserialize)]
pub struct Checks {
    pub square: May<Length<Full>>,
    pub width: May<Length<Full>>,
    pub height: May<Length<Full>>,
    pub rows: Need<Count>,
    pub columns: May<Count>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Hazard {
    pub width: Need<Length<Full>>,
    pub length: May<Length<Full>>,
    pub stripe: Need<Length<Full>>,
    pub angle: May<Angle>,
}

/// The part between limits: on their far side, or where film may lie.
#[derive(Clone, Debug, Deserialize)]
pub struct Area {
    pub beyond: May<OneOrMany<Text>>,
    pub within: May<OneOrMany<Text>>,
}

/// An SVG file, by the width or the height of what is painted in it.
#[derive(Clone, Debug, Deserialize)]
pub struct Artwork {
    pub file: Need<Text>,
    pub width: May<Length<Full>>,
    pub height: May<Length<Full>>,
    /// Sets the text in it.
    pub font: May<Text>,
    /// Colours of the file, by their digits, as colours of the spec.
    pub colours: May<Named<Text>>,
}

/// Block letters, drawn by rule.
#[derive(Clone, Debug, Deserialize)]
pub struct Letters {
    pub text: Need<OneOrMany<Phrase>>,
    pub height: May<Length<Full>>,
    /// Of the longest line, instead of a height.
    pub length: May<Length<Full>>,
    pub width: May<Proportion>,
    pub widths: May<Named<Proportion>>,
    pub stroke: May<Proportion>,
    pub gap: May<Proportion>,
    pub word_gap: May<Proportion>,
    pub corner: May<Corners>,
    pub align: May<Align>,
    pub line_gap: May<Proportion>,
    pub arc: May<Bow>,
}

/// Letters of a font file.
#[derive(Clone, Debug, Deserialize)]
pub struct Lines {
    pub text: Need<OneOrMany<Phrase>>,
    pub font: Need<Text>,
    pub height: May<Length<Full>>,
    pub length: May<Length<Full>>,
    pub gap: May<Proportion>,
    pub align: May<Align>,
    pub line_gap: May<Proportion>,
    pub arc: May<Bow>,
}

/// What turns of strokes look like.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Corners {
    Square,
    Cut(CornerSize),
    Round(CornerSize),
}

#[derive(Clone, Debug, Deserialize)]
pub struct CornerSize {
    pub size: May<Proportion>,
}

/// By radius, or by the angle that the line spans.
#[derive(Clone, Debug, Deserialize)]
pub struct Bow {
    pub radius: May<Length<Full>>,
    pub angle: May<Angle>,
    pub side: May<BowSide>,
}

/// Where the hold point goes: seen from a side, by station and angle, or from a limit.
#[derive(Clone, Debug, Deserialize)]
pub struct Place {
    pub seen: May<View>,
    pub aft: May<Length<Full>>,
    pub forward: May<Length<Full>>,
    pub right: May<Length<Full>>,
    pub left: May<Length<Full>>,
    pub up: May<Length<Full>>,
    pub down: May<Length<Full>>,
    pub station: May<Length<Full>>,
    pub around: May<Around>,
    pub from: May<Text>,
    pub offset: May<Length<Full>>,
    pub turn: May<Angle>,
    /// Only at a point of a strap.
    pub free: May<Free>,
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum HoldWord {
    Centre,
    Front,
    Rear,
}

#[derive(Clone, Debug, Deserialize)]
pub struct HoldPoint {
    pub along: May<Length<Full>>,
    pub across: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Lay {
    Drape,
    Follow(Followed),
    Sight(Sight),
}

/// True as seen: in the view of `at` where none is named.
#[derive(Clone, Debug, Deserialize)]
pub struct Sight {
    pub seen: May<View>,
}

/// The line that a marking follows.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Followed {
    Ring(Ring),
    Section(Section),
    Helix(Helix),
    Run,
    Line(Drawn),
    Along(Along),
    Through(Vec<Need<Place>>),
}

#[derive(Clone, Debug, Deserialize)]
pub struct Ring {
    pub station: May<Length<Full>>,
}

/// A plane by one of the words, or the one through the hold point.
#[derive(Clone, Debug, Deserialize)]
pub struct Section {
    pub aft: May<Length<Full>>,
    pub forward: May<Length<Full>>,
    pub right: May<Length<Full>>,
    pub left: May<Length<Full>>,
    pub up: May<Length<Full>>,
    pub down: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Helix {
    pub pitch: May<Length<Full>>,
    pub turns: May<Number>,
    pub rise: May<Angle>,
    pub starts: May<Count>,
    pub hand: May<Hand>,
    pub ends: May<HelixEnds>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Drawn {
    pub seen: Need<View>,
    pub points: Need<Vec<Need<Corner>>>,
    pub radius: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Along {
    pub limit: May<Text>,
    pub marking: May<Text>,
    pub offset: May<Length<Full>>,
    pub side: May<Keep>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Piece {
    pub border: May<Length<Model>>,
    pub bleed: May<Length<Model>>,
    pub overlap: May<Length<Model>>,
    pub split_overlap: May<Length<Model>>,
    pub trap: May<Length<Model>>,
    pub bridge: May<WordOrMap<Length<Model>, Bridge>>,
    pub spares: May<Count>,
    pub priority: May<Count>,
    pub turn: May<Turning>,
}

#[derive(Clone, Debug, Deserialize)]
pub struct Bridge {
    pub width: Need<Length<Model>>,
    pub count: May<Count>,
    pub direction: May<Upright>,
}
