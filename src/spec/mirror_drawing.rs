//! The [mirror](super::mirror) of what is drawn: figures, lettering, and drawings of drawings.
//!
//! Left out as there: what goes with what.

use super::lenient::{May, Need};
use super::mirror::{Corner, Named, OneOrMany};
use super::words::{
    BowSide, Cornered, Count, Data, Filled, Number, Phrase, Proportion, Seed, Share, Switch, Text, UnitOf,
};
use crate::flow::Align;
use crate::units::{Angle, Full, Length};
use schemars::JsonSchema;
use serde::Deserialize;

#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Draw {
    /// A straight stripe.
    Stripe(Stripe),
    /// A band, all the way round where it can be.
    Band(Band),
    /// A rectangle.
    Rectangle(Rectangle),
    /// A disc.
    Disc(Disc),
    /// Rings round a disc.
    Roundel(Roundel),
    /// A disc in four quarters of two colours by turns.
    Quarters(Quarters),
    /// A star.
    Star(Star),
    /// A chevron.
    Chevron(Chevron),
    /// Any corners.
    Polygon(Polygon),
    /// Checks of two colours.
    Checks(Checks),
    /// Diagonal bars of two colours.
    Hazard(Hazard),
    /// What is painted in an SVG file.
    Artwork(Artwork),
    /// The part itself, beside limits.
    Area(Area),
    /// A cross.
    Cross(Cross),
    /// Rays from a middle.
    Rays(Rays),
    /// An arrow.
    Arrow(Arrow),
    /// A piece of a ring.
    Arc(Arc),
    /// A piece of a disc.
    Sector(Sector),
    /// An ellipse.
    Ellipse(Ellipse),
    /// The star and bars of AN-I-9b.
    StarAndBars(StarAndBars),
    /// A line through points, tapered, its turns rounded.
    CheatLine(CheatLine),
    /// SVG path data.
    Path(Path),
    /// Striped camouflage.
    Stripes(Stripes),
    /// Blotched camouflage.
    Blotches(Blotches),
    /// Drawings over one another, the first at the bottom.
    Group(Vec<Need<Item>>),
    /// A drawing of the top level, by name.
    Drawing(Text),
    /// Block letters, drawn by rule.
    Letters(Letters),
    /// Letters of a font file.
    Text(Lines),
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Stripe {
    /// Across.
    pub width: Need<Length<Full>>,
    /// Width at the far end.
    pub taper: May<Length<Full>>,
    /// Along its heading.
    pub length: Need<Length<Full>>,
}

/// `width`, shared equally between the colours; or `widths`, one for each.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Band {
    /// Shared equally between the colours.
    pub width: May<Length<Full>>,
    /// One for each colour.
    pub widths: May<Vec<Need<Length<Full>>>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Rectangle {
    /// Along its heading.
    pub width: Need<Length<Full>>,
    /// Across.
    pub height: Need<Length<Full>>,
    /// Of its corners.
    pub radius: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Disc {
    /// Across.
    pub diameter: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Roundel {
    /// Of the outermost ring.
    pub diameter: Need<Length<Full>>,
    /// Diameters in proportion, from the middle: `[1, 3, 5]`.
    pub rings: Need<Vec<Need<Number>>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Quarters {
    /// Across.
    pub diameter: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Star {
    /// How many; 5 when left out.
    pub points: May<Count>,
    /// Of the circle through its points.
    pub diameter: Need<Length<Full>>,
    /// Radius of the inner corners as a share of the outer.
    pub inner: May<Number>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Chevron {
    /// Across its open end.
    pub width: Need<Length<Full>>,
    /// Of its arms.
    pub stroke: Need<Length<Full>>,
    /// Between its arms.
    pub angle: May<Angle>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Polygon {
    /// Its corners, `[[x, y], …]`.
    pub points: Need<Vec<Need<Corner>>>,
}

/// `square`, or the `width` that the columns or the `height` that the rows share.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Checks {
    /// The side of one check.
    pub square: May<Length<Full>>,
    /// That all columns share.
    pub width: May<Length<Full>>,
    /// That all rows share.
    pub height: May<Length<Full>>,
    /// How many.
    pub rows: Need<Count>,
    /// How many; left out, they go all the way round.
    pub columns: May<Count>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Hazard {
    /// Across the heading; of the whole bar.
    pub width: Need<Length<Full>>,
    /// Left out, it goes all the way round.
    pub length: May<Length<Full>>,
    /// Of one bar, square to it.
    pub stripe: Need<Length<Full>>,
    /// Of the bars.
    pub angle: May<Angle>,
}

/// The part between limits: on their far side, or where film may lie.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Area {
    /// Limits on whose far side it lies.
    pub beyond: May<OneOrMany<Text>>,
    /// Limits on whose near side it lies.
    pub within: May<OneOrMany<Text>>,
}

/// An SVG file, by the width or the height of what is painted in it.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Artwork {
    /// An SVG file in the spec's folder or below it.
    pub file: Need<Text>,
    /// Of what is painted in it.
    pub width: May<Length<Full>>,
    /// Of what is painted in it.
    pub height: May<Length<Full>>,
    /// Sets the text in it.
    pub font: May<Text>,
    /// Colours of the file, by their digits, as colours of the spec.
    pub colours: May<Named<Text>>,
}

/// Block letters, drawn by rule.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Letters {
    /// What is lettered; a list is several lines.
    pub text: Need<OneOrMany<Phrase>>,
    /// Of a capital.
    pub height: May<Length<Full>>,
    /// Of the longest line, instead of a height.
    pub length: May<Length<Full>>,
    /// Of a letter.
    pub width: May<Proportion>,
    /// Of single letters, by letter.
    pub widths: May<Named<Proportion>>,
    /// How thick.
    pub stroke: May<Proportion>,
    /// Between letters.
    pub gap: May<Proportion>,
    /// Between words.
    pub word_gap: May<Proportion>,
    /// Of the strokes: round, cut or square.
    pub corner: May<Corners>,
    /// Of several lines.
    pub align: May<Align>,
    /// Clear between lines.
    pub line_gap: May<Proportion>,
    /// One line along an arc.
    pub arc: May<Bow>,
}

/// Letters of a font file.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Lines {
    /// What is lettered; a list is several lines.
    pub text: Need<OneOrMany<Phrase>>,
    /// An OpenType or TrueType file in the spec's folder or below it.
    pub font: Need<Text>,
    /// Of a capital.
    pub height: May<Length<Full>>,
    /// Of the longest line, instead of a height.
    pub length: May<Length<Full>>,
    /// Between letters, more than the font has.
    pub gap: May<Proportion>,
    /// Of several lines.
    pub align: May<Align>,
    /// Clear between lines.
    pub line_gap: May<Proportion>,
    /// One line along an arc.
    pub arc: May<Bow>,
}

/// What turns of strokes look like.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Corners {
    /// Square turns.
    Square,
    /// Turns cut off.
    Cut(CornerSize),
    /// Rounded turns.
    Round(CornerSize),
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct CornerSize {
    /// Of the outer side of a turn.
    pub size: May<Proportion>,
}

/// By radius, or by the angle that the line spans.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Bow {
    /// Of the arc.
    pub radius: May<Length<Full>>,
    /// That the line spans.
    pub angle: May<Angle>,
    /// Letters over the arc, or under it.
    pub side: May<BowSide>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Cross {
    /// Of the whole.
    pub width: Need<Length<Full>>,
    /// Of the whole.
    pub height: May<Length<Full>>,
    /// Of its arms.
    pub stroke: Need<Length<Full>>,
    /// Width at the ends of the arms.
    pub flare: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Rays {
    /// Of the whole.
    pub diameter: Need<Length<Full>>,
    /// Diameter left free in the middle.
    pub inner: May<Length<Full>>,
    /// How many.
    pub rays: Need<Count>,
    /// Of each.
    pub angle: May<Angle>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Arrow {
    /// From end to tip.
    pub length: Need<Length<Full>>,
    /// Of the head.
    pub width: Need<Length<Full>>,
    /// Of the shaft.
    pub stroke: Need<Length<Full>>,
    /// Length of the head.
    pub head: May<Length<Full>>,
}

/// `diameter` of its middle line.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Arc {
    /// Of its middle line.
    pub diameter: Need<Length<Full>>,
    /// How thick.
    pub stroke: Need<Length<Full>>,
    /// That it spans.
    pub angle: Need<Angle>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Sector {
    /// Of the whole.
    pub diameter: Need<Length<Full>>,
    /// Diameter left free in the middle.
    pub inner: May<Length<Full>>,
    /// That it spans.
    pub angle: Need<Angle>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Ellipse {
    /// Along.
    pub width: Need<Length<Full>>,
    /// Across.
    pub height: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct StarAndBars {
    /// Of the circle about the star.
    pub radius: Need<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct CheatLine {
    /// Its corners, `[[x, y], …]`.
    pub points: Need<Vec<Need<Corner>>>,
    /// At the near end.
    pub width: Need<Length<Full>>,
    /// Width at the far end.
    pub taper: May<Length<Full>>,
    /// Of its turns.
    pub radius: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Path {
    /// SVG path data.
    pub d: Need<Data>,
    /// What one unit of it is: `mm`, or a length.
    pub unit: Need<UnitOf>,
    /// The point of the path that is the drawing's own middle.
    pub origin: May<[Need<Number>; 2]>,
    /// Which parts are filled where it lies over itself.
    pub fill: May<Filled>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Stripes {
    /// Of the whole.
    pub width: Need<Length<Full>>,
    /// Of the whole.
    pub height: Need<Length<Full>>,
    /// The same seed gives the same pattern.
    pub seed: Need<Seed>,
    /// Of the area, for each colour but the first.
    pub shares: Need<Vec<Need<Share>>>,
    /// Of a stripe.
    pub length: Need<Length<Full>>,
    /// Of a stripe.
    pub stroke: Need<Length<Full>>,
    /// Of the stripes.
    pub angle: May<Angle>,
    /// How far they wave.
    pub waviness: May<Share>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Blotches {
    /// Of the whole.
    pub width: Need<Length<Full>>,
    /// Of the whole.
    pub height: Need<Length<Full>>,
    /// The same seed gives the same pattern.
    pub seed: Need<Seed>,
    /// Of the area, for each colour but the first.
    pub shares: Need<Vec<Need<Share>>>,
    /// Of a blotch.
    pub size: Need<Length<Full>>,
    /// How far their edges wave.
    pub waviness: May<Share>,
}

/// One drawing, or several over one another.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename = "(by form)", rename_all = "lowercase")]
#[schemars(untagged, inline)]
pub enum Items {
    List(Vec<Need<Item>>),
    Map(Box<Item>),
}

/// A drawing, what is done to it, and where it goes; done in the order of the fields.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Item {
    /// What it looks like.
    pub draw: Need<Draw>,
    /// Its colour, by name.
    pub colour: May<Text>,
    /// Its colours, by name.
    pub colours: May<OneOrMany<Text>>,
    /// Drawings whose form is cut out of it.
    pub cut_out: May<Items>,
    /// Drawings to whose form it is cut.
    pub clip: May<Items>,
    /// A line inside the edge, in place of the drawing.
    pub outline: May<Edge>,
    /// A line outside the edge.
    pub border: May<Edge>,
    /// Several of it, in a line or a ring.
    pub repeat: May<Repeat>,
    /// Left and right changed.
    pub mirror: May<Switch>,
    /// Counter-clockwise.
    pub turn: May<Angle>,
    /// Moved along the heading.
    pub along: May<Length<Full>>,
    /// Moved to the left of the heading.
    pub across: May<Length<Full>>,
}

/// `width`, or `share` of the drawing's smaller side.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct Edge {
    /// Of the line.
    pub width: May<Length<Full>>,
    /// Of the drawing's smaller side, instead of a width.
    pub share: May<Share>,
    /// Of a line outside: square or round.
    pub corner: May<Cornered>,
    /// Its colour, by name.
    pub colour: May<Text>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Repeat {
    /// In a row.
    Line(RepeatLine),
    /// In a ring.
    Ring(RepeatRing),
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct RepeatLine {
    /// How many.
    pub count: Need<Count>,
    /// From one to the next, along the heading.
    pub along: May<Length<Full>>,
    /// From one to the next, to the left of the heading.
    pub across: May<Length<Full>>,
}

#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct RepeatRing {
    /// How many.
    pub count: Need<Count>,
    /// Of the ring.
    pub diameter: Need<Length<Full>>,
    /// None of them turned.
    pub upright: May<Switch>,
}
