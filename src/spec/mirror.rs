//! The language as it is written: one struct for each map, one field for each word.
//!
//! A literal mirror of the file and nothing more. Every field is a
//! [`Need`] or a [`May`], so that whatever is wrong with one leaves the others
//! readable; the [resolver](super::resolve) finds the names, checks the sense
//! and makes the plan. An enum is a choice: `{cone: {…}}`, or a word alone.
//! What is said of a field here is what an editor shows: the [schema](mod@super::schema) is made of these types.

use super::lenient::{May, Need};
pub use super::mirror_drawing::*;
use super::shapes::Shape;
use super::words::{
    Around, Count, Depth, Effort, Ends, Free, Hand, HelixEnds, Keep, Lined, Number, Page as PageName, Rgb,
    Round, Share, Switch, Text, Upright, Version,
};
use crate::flow::{Ground, Labels, Make, MaskFilm, PdfFiles, Price, Shades, SizeBy, Turning, View};
use crate::units::{Angle, Full, Length, Model, Scale};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;
use serde::de::{Deserializer, MapAccess, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// A whole spec.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Spec {
    /// The version of the language: `1`.
    #[expect(dead_code, reason = "read only so that a wrong version is told")]
    pub markloft: Need<Version>,
    /// What it is about; heads the report.
    pub title: May<Text>,
    /// Scales to make it at, `[1/72, 1/48]`; each gets sheets of its own. `full` is 1/1.
    pub scales: Need<OneOrMany<Scale>>,
    /// Files that share colours, drawings, parts and films with this one.
    pub r#use: May<Uses>,
    /// Colours by name: `{rescue-red: "#c8321e"}`, quoted.
    pub colours: May<Named<WordOrMap<Rgb, Paint>>>,
    /// Drawings by name, for `draw: {drawing: NAME}`.
    pub drawings: May<Named<Items>>,
    /// What your films bear, where you know better than the usual values.
    pub films: May<Films>,
    /// What markings go on, by name: shapes at full size.
    pub parts: May<Named<Part>>,
    /// What is wanted, by name, at full size.
    pub markings: Need<Named<Marking>>,
    /// The pages that pieces are laid out on.
    pub sheets: May<Sheets>,
    /// The printer.
    pub printer: May<Printer>,
    /// How masks are sprayed.
    pub spray: May<Spray>,
    /// The cutting machine; with it each sheet gets cut files.
    pub cutter: May<Cutter>,
}

/// A file that specs share by `use`.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Shared {
    /// The version of the language: `1`.
    #[expect(dead_code, reason = "read only so that a wrong version is told")]
    pub markloft: Need<Version>,
    /// Files that share colours, drawings, parts and films with this one.
    pub r#use: May<Uses>,
    /// Colours by name: `{rescue-red: "#c8321e"}`, quoted.
    pub colours: May<Named<WordOrMap<Rgb, Paint>>>,
    /// Drawings by name, for `draw: {drawing: NAME}`.
    pub drawings: May<Named<Items>>,
    /// What your films bear, where you know better than the usual values.
    pub films: May<Films>,
    /// What markings go on, by name: shapes at full size.
    pub parts: May<Named<Part>>,
}

/// Names of files.
pub type Uses = OneOrMany<Text>;

/// One value, or a list of them.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename = "(by form)", rename_all = "lowercase")]
#[schemars(untagged, inline)]
pub enum OneOrMany<T> {
    Word(T),
    List(Vec<Need<T>>),
}

/// One word, or a map of sizes.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename = "(by form)", rename_all = "lowercase")]
#[schemars(untagged, inline)]
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

impl<T: JsonSchema> JsonSchema for Named<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("Named{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "object", "additionalProperties": generator.subschema_for::<T>()})
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
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Paint {
    /// Six hexadecimal digits after `#`, quoted.
    pub hex: Need<Rgb>,
    /// What to buy or mix, in your own words.
    pub paint: May<Text>,
    /// Anything else to remember.
    pub note: May<Text>,
}

/// What films bear; all of it has usual values.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Films {
    /// Printed decal film.
    pub decal: May<Film>,
    /// Masking film.
    pub mask: May<Film>,
    /// Tape in stock.
    pub tape: May<Tape>,
}

/// A film to print on or to cut.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Film {
    /// Poisson's ratio, from 0 to 0.5.
    pub poisson: May<Number>,
    /// How far it stretches as it is.
    pub stretch: May<Share>,
    /// How far it can be squeezed as it is.
    pub squeeze: May<Share>,
    /// The same with setting fluid or warmth.
    pub softened: May<Softened>,
    /// The thinnest line that can be printed or cut.
    pub finest_line: May<Length<Model>>,
    /// The narrowest gap that can be printed or cut.
    pub finest_gap: May<Length<Model>>,
    /// The lowest letters that can be read or cut.
    pub smallest_letter: May<Length<Model>>,
    /// Film left round a piece.
    pub border: May<Length<Model>>,
    /// How far colour goes on past the edge.
    pub bleed: May<Length<Model>>,
    /// Corners of what is gone of the first sheet.
    pub used: May<Vec<Need<Found>>>,
    /// What a sheet of it costs, in your own words.
    pub price: May<Price>,
    /// The sheet it is sold in, where that is not the page.
    pub sheet: May<WordOrMap<PageName, PageSize>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Softened {
    /// How far it stretches, softened.
    pub stretch: May<Share>,
    /// How far it can be squeezed, softened.
    pub squeeze: May<Share>,
}

/// Tape in stock.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Tape {
    /// Widths in stock.
    pub widths: May<OneOrMany<Length<Model>>>,
    /// Left over at each end of a strip.
    pub trim: May<Length<Model>>,
    /// Poisson's ratio, from 0 to 0.5.
    pub poisson: May<Number>,
    /// How far it stretches.
    pub stretch: May<Share>,
    /// How far it can be squeezed.
    pub squeeze: May<Share>,
}

/// How masks are sprayed.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Spray {
    /// Colours in the order they are sprayed; those not listed follow, light to dark.
    pub order: May<OneOrMany<Text>>,
    /// Film round the area, or on what is sprayed already.
    pub film: May<MaskFilm>,
    /// How far an opening reaches under what is sprayed later.
    pub overlap: May<Length<Model>>,
}

/// A cutting machine.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Cutter {
    /// Of a drag knife, where the machine leaves that to the file.
    pub offset: May<Length<Model>>,
    /// How far a closed cut goes on past its start.
    pub overcut: May<Length<Model>>,
    /// Which way the blade goes round.
    pub direction: May<Round>,
    /// The way of the blade in a second.
    pub speed: May<Length<Model>>,
    /// What the machine can reach.
    pub mat: May<PageSize>,
    /// Kept clear at two edges.
    pub feed: May<Length<Model>>,
    /// Decals through their paper, or the film alone.
    pub decals: May<Depth>,
    /// Whether waste film is parted so that it peels.
    pub weed: May<Switch>,
    /// A square of 100 mm as cut, by your calipers.
    pub measured: May<SquareCut>,
    /// Where a printed sheet's three marks lie: lower left, lower right, upper left.
    pub marks: May<Vec<Need<Found>>>,
}

/// The sides of a 100 mm square as cut.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct SquareCut {
    /// Its width.
    pub across: May<Length<Model>>,
    /// Its height.
    pub up: May<Length<Model>>,
}

/// Where a printed mark was found.
pub type Found = [Need<Length<Model>>; 2];

/// Pages.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Sheets {
    /// A paper size by name, or `{width, height}`.
    pub page: May<WordOrMap<PageName, PageSize>>,
    /// Turned on its side.
    pub landscape: May<Switch>,
    /// Kept clear round the page.
    pub margin: May<Length<Model>>,
    /// Between pieces.
    pub spacing: May<Length<Model>>,
    /// How pieces may be turned, where not as drawn or a quarter to the left.
    pub turn: May<Turning>,
    /// Steps spent on saving film: 0 for plain rows, 1 unless told otherwise.
    pub effort: May<Effort>,
    /// What stands beside each piece: its number and name, its number, or nothing.
    pub labels: May<Labels>,
    /// All scales share sheets, instead of each having its own.
    pub gang: May<Switch>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct PageSize {
    /// Across the page.
    pub width: Need<Length<Model>>,
    /// Up the page.
    pub height: Need<Length<Model>>,
}

/// A printer.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Printer {
    /// Dots per inch of PNG sheets, from 30 to 2400.
    pub dpi: May<Number>,
    /// What the printer leaves white along each edge.
    pub margins: May<Margins>,
    /// A square of 100 mm as printed, by your ruler: every sheet is drawn to make up for it.
    pub measured: May<SquarePrinted>,
    /// The finest line that came out on the calibration page.
    pub min_line: May<Length<Model>>,
    /// The finest gap that stayed open there.
    pub min_gap: May<Length<Model>>,
    /// The smallest letters that could be read there.
    pub min_letter: May<Length<Model>>,
    /// What PNG sheets are painted on.
    pub ground: May<Ground>,
    /// Mask sheets as PNG: in colour, grey, or black and white.
    pub masks: May<Shades>,
    /// A white layer under all that is printed, or how it is made.
    pub white: May<WordOrMap<Switch, White>>,
    /// What your printer calls its inks for lines.
    pub names: May<Spots>,
    /// Lines that are printed beside the artwork.
    pub lines: May<OneOrMany<Lined>>,
    /// Drawn face down, the order of layers turned round.
    pub mirrored: May<Switch>,
    /// Colours from the first printed to the last, each a layer of its own.
    pub order: May<OneOrMany<Text>>,
    /// One more sheet of outlines alone, for plain paper.
    pub trial: May<Switch>,
    /// One PDF of all sheets, or one of each.
    pub pdf: May<PdfFiles>,
}

/// Where a printer cannot print.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Margins {
    /// On the left of the page as it lies.
    pub left: May<Length<Model>>,
    /// Right of it.
    pub right: May<Length<Model>>,
    /// Above.
    pub top: May<Length<Model>>,
    /// Below.
    pub bottom: May<Length<Model>>,
}

/// The sides of a 100 mm square as printed.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct SquarePrinted {
    /// Its width on an upright page.
    pub across: May<Length<Model>>,
    /// Its height on an upright page.
    pub along: May<Length<Model>>,
}

/// The white underlayer.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct White {
    /// What your printer calls the ink.
    pub name: May<Text>,
    /// How far it is drawn in from the edge.
    pub choke: May<Length<Model>>,
    /// Its picture: grey, or black and white.
    pub picture: May<Shades>,
}

/// What the user calls the lines for the knife.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Spots {
    /// The ink of cut lines.
    pub cut: May<Text>,
    /// The ink of relief cuts.
    pub relief: May<Text>,
}

/// What a marking goes on.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Part {
    /// Its form at full size, or a mesh.
    pub shape: Need<Shape>,
    /// Calipers on the kit's part, by scale.
    pub measured: May<Named<Measured>>,
    /// Lines that film must not pass, by name.
    pub limits: May<Named<Limit>>,
    /// Where runs round the part meet.
    pub seam: May<Around>,
}

/// Calipers on the kit's part.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Measured {
    /// From front to rear.
    pub length: May<Length<Model>>,
    /// From left to right.
    pub width: May<Length<Model>>,
    /// From bottom to top.
    pub height: May<Length<Model>>,
    /// Across.
    pub diameter: May<Length<Model>>,
    /// Diameter of the front end.
    pub front: May<Length<Model>>,
    /// Diameter of the rear end.
    pub rear: May<Length<Model>>,
    /// A wing's.
    pub chord: May<Length<Model>>,
    /// A tape laid over the part between two limits, measured flat.
    pub over: May<Over>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Over {
    /// The limit the tape starts at.
    pub from: Need<Text>,
    /// The limit it ends at.
    pub to: Need<Text>,
    /// Its length, measured flat.
    pub length: Need<Length<Model>>,
}

/// A plane by one of the first seven words, or a region by `seen` and `outline`.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Limit {
    /// The plane so far aft of the origin.
    pub aft: May<Length<Full>>,
    /// The plane so far forward.
    pub forward: May<Length<Full>>,
    /// The plane so far to the part's right.
    pub right: May<Length<Full>>,
    /// The plane so far to the part's left.
    pub left: May<Length<Full>>,
    /// The plane so far up.
    pub up: May<Length<Full>>,
    /// The plane so far down.
    pub down: May<Length<Full>>,
    /// The plane at this station.
    pub station: May<Length<Full>>,
    /// The side a region is drawn in.
    pub seen: May<View>,
    /// The corners of the region, `[[x, y], …]`.
    pub outline: May<Vec<Need<Corner>>>,
    /// The side film stays on.
    pub keep: Need<Keep>,
}

/// Two coordinates.
pub type Corner = [Need<Length<Full>>; 2];

/// What is wanted, at full size.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Marking {
    /// The part it goes on.
    pub part: Need<Text>,
    /// What it looks like.
    pub draw: Need<Draw>,
    /// Its colour, by name.
    pub colour: May<Text>,
    /// Its colours, by name, in the order of the drawing.
    pub colours: May<OneOrMany<Text>>,
    /// A line round it.
    pub border: May<Edge>,
    /// A piece for the left and one for the right; lettering is never mirrored.
    pub both_sides: May<Switch>,
    /// Where its hold point goes.
    pub at: May<Place>,
    /// The point of the piece put down first.
    pub hold: May<WordOrMap<HoldWord, HoldPoint>>,
    /// How the flat piece meets the part.
    pub lay: May<Lay>,
    /// Decal, mask or tape; left out, one is chosen and the report says why.
    pub make: May<OneOrMany<Make>>,
    /// How many of it.
    pub copies: May<Count>,
    /// Ends at which it may be trimmed.
    pub may_trim: May<OneOrMany<Ends>>,
    /// Sized by the scale, or with the kit's part as measured.
    pub size_by: May<SizeBy>,
    /// Markings that it lies over on purpose.
    pub over: May<OneOrMany<Text>>,
    /// The scale that a decal in hand was made for, whose lengths these are.
    pub made: May<Scale>,
    /// The film round it, at the model.
    pub piece: May<Piece>,
    /// Goes into the report.
    pub note: May<Text>,
}

/// Where the hold point goes: seen from a side, by station and angle, or from a limit.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Place {
    /// The side it is seen from.
    pub seen: May<View>,
    /// So far aft of the origin.
    pub aft: May<Length<Full>>,
    /// So far forward.
    pub forward: May<Length<Full>>,
    /// So far to the part's right.
    pub right: May<Length<Full>>,
    /// So far to the part's left.
    pub left: May<Length<Full>>,
    /// So far up.
    pub up: May<Length<Full>>,
    /// So far down.
    pub down: May<Length<Full>>,
    /// Distance from a long part's front end.
    pub station: May<Length<Full>>,
    /// Angle round the part, from the top over the left.
    pub around: May<Around>,
    /// A limit to measure from.
    pub from: May<Text>,
    /// From the limit, along the surface.
    pub offset: May<Length<Full>>,
    /// Counter-clockwise as seen.
    pub turn: May<Angle>,
    /// Only at a point of a strap.
    pub free: May<Free>,
}

#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum HoldWord {
    /// Its middle.
    Centre,
    /// Its front end.
    Front,
    /// Its rear end.
    Rear,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct HoldPoint {
    /// From the middle, along the heading.
    pub along: May<Length<Full>>,
    /// From the middle, to the left of the heading.
    pub across: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Lay {
    /// The flat piece is put down at the hold point.
    Drape,
    /// Bent so that its middle runs along a line.
    Follow(Followed),
    /// True as seen from a side.
    Sight(Sight),
}

/// True as seen: in the view of `at` where none is named.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Sight {
    /// The side it is true from.
    pub seen: May<View>,
}

/// The line that a marking follows.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Followed {
    /// Round the part.
    Ring(Ring),
    /// Along the cut of a plane.
    Section(Section),
    /// Wound round the part.
    Helix(Helix),
    /// Straight on, as tape runs.
    Run,
    /// A line drawn in a view.
    Line(Drawn),
    /// Beside a limit or a marking.
    Along(Along),
    /// A strap through points.
    Through(Vec<Need<Place>>),
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Ring {
    /// Distance from the part's front end; that of `at` when left out.
    pub station: May<Length<Full>>,
}

/// A plane by one of the words, or the one through the hold point.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Section {
    /// The plane so far aft.
    pub aft: May<Length<Full>>,
    /// The plane so far forward.
    pub forward: May<Length<Full>>,
    /// The plane so far to the right.
    pub right: May<Length<Full>>,
    /// The plane so far to the left.
    pub left: May<Length<Full>>,
    /// The plane so far up.
    pub up: May<Length<Full>>,
    /// The plane so far down.
    pub down: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Helix {
    /// From turn to turn.
    pub pitch: May<Length<Full>>,
    /// How many.
    pub turns: May<Number>,
    /// Angle of its climb.
    pub rise: May<Angle>,
    /// How many run side by side.
    pub starts: May<Count>,
    /// Right is the thread of a common screw.
    pub hand: May<Hand>,
    /// Cut square, or flush with the part's ends.
    pub ends: May<HelixEnds>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Drawn {
    /// The side it is drawn in.
    pub seen: Need<View>,
    /// Its corners, `[[x, y], …]`.
    pub points: Need<Vec<Need<Corner>>>,
    /// Of its rounded corners.
    pub radius: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Along {
    /// The limit it runs along.
    pub limit: May<Text>,
    /// The marking it runs along.
    pub marking: May<Text>,
    /// To the side of it.
    pub offset: May<Length<Full>>,
    /// Which side.
    pub side: May<Keep>,
}

/// Film round a marking, at the model.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Piece {
    /// Film left round it.
    pub border: May<Length<Model>>,
    /// How far colour goes on past its edge.
    pub bleed: May<Length<Model>>,
    /// How far a band laps over itself.
    pub overlap: May<Length<Model>>,
    /// The longest that is laid at once; a longer piece is made in sections.
    pub longest: May<Length<Model>>,
    /// How far the sections of a piece lap that is made in several.
    pub split_overlap: May<Length<Model>>,
    /// How far a colour goes on beneath those painted after it.
    pub trap: May<Length<Model>>,
    /// Ties that hold the loose bits of a mask.
    pub bridge: May<WordOrMap<Length<Model>, Bridge>>,
    /// A tongue at the rear of a mask to lift it by, so far out and so wide.
    pub tab: May<Length<Model>>,
    /// More of it, in case one is spoilt.
    pub spares: May<Count>,
    /// What has more is on an earlier sheet.
    pub priority: May<Count>,
    /// How it may be turned on the sheet.
    pub turn: May<Turning>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Bridge {
    /// Of each.
    pub width: Need<Length<Model>>,
    /// To each loose bit.
    pub count: May<Count>,
    /// Which way they go.
    pub direction: May<Upright>,
}
