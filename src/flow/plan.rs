//! A spec, read and resolved: every name found, every length in one unit, nothing optional left open.

use super::artwork::Artwork;
use super::drawing::{Camouflage, Change, CheatLine, Figure};
use super::film::Films;
use super::finding::Place;
use super::lay::{End, Hold, Lay, Spot};
use super::lettering::Lettering;
use super::outcome::Piece;
use super::printing::{Margins, Printer};
use super::shape::Shape;
use super::tools::{Cutter, Spray};
use crate::outline::bridge::Bridges;
use crate::outline::{Point, Polyline, point};
use crate::units::{Angle, Full, Length, Model, Scale, Size};
use std::sync::Arc;

/// Everything one spec asks for.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The spec's file stem: names the output folder.
    pub name: String,
    pub title: String,
    pub scales: Vec<Scale>,
    pub colours: Vec<Colour>,
    pub films: Films,
    pub parts: Vec<Part>,
    pub markings: Vec<Marking>,
    pub sheets: Sheets,
    pub printer: Printer,
    pub spray: Spray,
    /// The machine to write cut files for, if there is one.
    pub cutter: Option<Cutter>,
}

/// Index into [`Plan::colours`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct ColourId(pub usize);

/// Index into [`Plan::parts`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct PartId(pub usize);

/// Index into [`Plan::markings`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct MarkingId(pub usize);

/// A paint. Colours given as plain `#rrggbb` are named by that text.
#[derive(Clone, Debug, PartialEq)]
pub struct Colour {
    pub name: String,
    pub rgb: [u8; 3],
    /// What to buy or mix, as the spec says it.
    pub paint: Option<String>,
    pub note: Option<String>,
}

impl Colour {
    /// A colour known by its parts alone.
    pub const fn bare(rgb: [u8; 3]) -> Self {
        Self { name: String::new(), rgb, paint: None, note: None }
    }

    /// `#rrggbb`.
    pub fn hex(&self) -> String {
        hex(self.rgb)
    }
}

/// `#rrggbb`.
pub fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// What a marking goes on.
#[derive(Clone, Debug)]
pub struct Part {
    pub name: String,
    pub shape: Shape,
    /// Caliper sizes of kit parts, by scale.
    pub measured: Vec<Measured>,
    pub limits: Vec<Limit>,
    /// Where closed wraps meet: the angle round the part from the top.
    pub seam: Angle,
    pub at: Place,
}

/// What the calipers found on the kit's part at one scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    pub scale: Scale,
    /// Named as in the shape (`length`, `width`, `height`, `diameter`, `front`, `rear`).
    pub axes: Vec<(Axis, Length<Model>)>,
    /// A tape laid over the part from one limit to another and measured flat.
    pub over: Option<Over>,
    pub at: Place,
}

/// A size of a shape that calipers can take.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Axis {
    Length,
    Width,
    Height,
    Diameter,
    Front,
    Rear,
    /// Nose to tail of a wing section.
    Chord,
}

impl Axis {
    /// The word the spec uses.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Length => "length",
            Self::Width => "width",
            Self::Height => "height",
            Self::Diameter => "diameter",
            Self::Front => "front",
            Self::Rear => "rear",
            Self::Chord => "chord",
        }
    }
}

/// A tape laid over the part from one line to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Over {
    pub from: Datum,
    pub to: Datum,
    pub length: Length<Model>,
}

/// A line on a part to measure from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Datum {
    /// By index into [`Part::limits`].
    Limit(usize),
    /// An open end of a long part.
    End(End),
}

/// A line or region that film must not pass.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    pub name: String,
    pub kind: LimitKind,
    pub at: Place,
}

/// The side of a limit that film may lie on.
#[derive(Clone, Debug, PartialEq)]
pub enum LimitKind {
    /// The plane where the part coordinate `axis` equals `offset`; film keeps to the greater side when `keep_greater`.
    Plane { axis: Direction, offset: Length<Full>, keep_greater: bool },
    /// An outline drawn in a view, corners in millimetres of that view's paper; it acts on the side of the part facing the view.
    Region { view: View, outline: Polyline, keep_inside: bool },
}

/// An axis of the part's frame: x aft, y right, z up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Direction {
    Aft,
    Right,
    Up,
}

impl Direction {
    /// One long.
    pub const fn vector(self) -> glam::DVec3 {
        match self {
            Self::Aft => glam::DVec3::X,
            Self::Right => glam::DVec3::Y,
            Self::Up => glam::DVec3::Z,
        }
    }

    /// The coordinate of `p` on this axis.
    pub const fn of(self, p: glam::DVec3) -> f64 {
        match self {
            Self::Aft => p.x,
            Self::Right => p.y,
            Self::Up => p.z,
        }
    }
}

/// Where one stands to look at a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum View {
    Left,
    Right,
    Top,
    Bottom,
    Front,
    Rear,
}

impl View {
    pub const ALL: [Self; 6] = [Self::Left, Self::Right, Self::Top, Self::Bottom, Self::Front, Self::Rear];

    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Top => "top",
            Self::Bottom => "bottom",
            Self::Front => "front",
            Self::Rear => "rear",
        }
    }

    /// Paper right, paper up and towards the viewer, in the part's frame: right-handed.
    pub const fn axes(self) -> [glam::DVec3; 3] {
        use glam::DVec3;
        match self {
            Self::Left => [DVec3::X, DVec3::Z, DVec3::NEG_Y],
            Self::Right => [DVec3::NEG_X, DVec3::Z, DVec3::Y],
            Self::Top => [DVec3::X, DVec3::Y, DVec3::Z],
            Self::Bottom => [DVec3::X, DVec3::NEG_Y, DVec3::NEG_Z],
            Self::Front => [DVec3::NEG_Y, DVec3::Z, DVec3::NEG_X],
            Self::Rear => [DVec3::Y, DVec3::Z, DVec3::X],
        }
    }
}

/// What is wanted, at full size.
#[derive(Clone, Debug)]
pub struct Marking {
    pub name: String,
    pub part: PartId,
    pub draw: Draw,
    pub spot: Spot,
    pub hold: Hold,
    pub lay: Lay,
    /// What to make it as; each gives pieces of its own. Empty where that is left to choose.
    pub make: Vec<Make>,
    pub copies: u32,
    /// Ends that the modeller is content to trim.
    pub may_trim: Vec<End>,
    pub size_by: SizeBy,
    /// Markings that it is meant to lie over.
    pub over: Vec<MarkingId>,
    /// 0 on the bare part, one more than the highest that it lies over: lower ones are put down first.
    pub layer: usize,
    pub piece: PieceWishes,
    pub note: Option<String>,
    /// The marking's name in the spec.
    pub at: Place,
    /// The `draw` value in the spec.
    pub draw_at: Place,
    /// The `at` value in the spec, or the name where there is none.
    pub spot_at: Place,
}

impl Marking {
    /// How many pieces it makes at one scale, before any is split.
    pub fn pieces(&self) -> usize {
        let each = (self.copies as usize).saturating_add(self.piece.spares as usize);
        each.saturating_mul(self.make.len().max(1))
    }
}

/// A drawing: kind, sizes, colours. Widths lie across the heading, lengths along it.
#[derive(Clone, Debug, PartialEq)]
pub enum Draw {
    /// `end_width` at the far end, where it tapers.
    Stripe {
        width: Length<Full>,
        end_width: Length<Full>,
        length: Length<Full>,
        colours: Vec<ColourId>,
    },
    /// Stripes round a closed ring, the first one towards the front; `widths` one for each colour.
    Band {
        widths: Vec<Length<Full>>,
        colours: Vec<ColourId>,
    },
    Rectangle {
        width: Length<Full>,
        height: Length<Full>,
        colour: ColourId,
    },
    Disc {
        diameter: Length<Full>,
        colour: ColourId,
    },
    /// Ring diameters in proportion to `rings`, innermost first, the last one being `diameter`.
    Roundel {
        diameter: Length<Full>,
        rings: Vec<f64>,
        colours: Vec<ColourId>,
    },
    /// A disc in four quarters of two colours by turns, the first ahead to the left of the heading.
    Quarters {
        diameter: Length<Full>,
        colours: [ColourId; 2],
    },
    /// `inner` is the radius of the inward corners over that of the tips.
    Star {
        points: u32,
        diameter: Length<Full>,
        inner: f64,
        colour: ColourId,
    },
    /// A bent bar that points along the heading; `width` over both arms, `angle` between them.
    Chevron {
        width: Length<Full>,
        stroke: Length<Full>,
        angle: Angle,
        colour: ColourId,
    },
    /// Corners along the heading and to its left.
    Polygon {
        points: Vec<[Length<Full>; 2]>,
        colour: ColourId,
    },
    /// Squares in `rows` rows of side `square`. `columns` is `None` round a ring: as many as go round.
    Checks {
        square: Length<Full>,
        rows: u32,
        columns: Option<u32>,
        colours: [ColourId; 2],
    },
    /// Diagonal stripes in a bar. `length` is `None` round a ring: all the way.
    Hazard {
        width: Length<Full>,
        length: Option<Length<Full>>,
        stripe: Length<Full>,
        angle: Angle,
        colours: [ColourId; 2],
    },
    /// The part itself between limits, by index into [`Part::limits`], each with whether it is the side
    /// where film may lie.
    Area {
        sides: Vec<(usize, bool)>,
        colour: ColourId,
    },
    /// From an SVG file: areas that do not overlap, about the middle of what is painted.
    Artwork(Arc<Artwork<Full>>),
    Figure {
        figure: Figure,
        colour: ColourId,
    },
    /// A star in a circle of `radius`, bars beside it: blue, white, and the red of the bars where they have it.
    StarAndBars {
        radius: Length<Full>,
        colours: Vec<ColourId>,
    },
    CheatLine(CheatLine),
    Camouflage(Camouflage),
    /// Drawings over one another, the first at the bottom.
    Group(Vec<Draw>),
    /// One drawing changed, step after step.
    Changed {
        draw: Box<Draw>,
        changes: Vec<Change>,
    },
    Letters(Lettering),
}

/// What a piece is made as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Make {
    Decal,
    Mask,
    Tape,
}

impl Make {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Decal => "decal",
            Self::Mask => "mask",
            Self::Tape => "tape",
        }
    }

    /// In a sentence, of one piece.
    pub const fn one(self) -> &'static str {
        match self {
            Self::Decal => "a decal",
            Self::Mask => "a mask",
            Self::Tape => "tape",
        }
    }
}

/// Which size rules: the scale's, or the size the part really has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SizeBy {
    Scale,
    Part,
}

impl SizeBy {
    /// The scale that a marking is drawn at, on a part whose effective scale is given.
    pub const fn of(self, scale: Scale, effective: Scale) -> Scale {
        match self {
            Self::Scale => scale,
            Self::Part => effective,
        }
    }
}

/// Physical wishes for one marking's pieces; `None` is the film's own.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PieceWishes {
    pub border: Option<Length<Model>>,
    pub bleed: Option<Length<Model>>,
    /// How far a closed wrap laps over itself.
    pub overlap: Length<Model>,
    /// The longest that is laid at once.
    pub longest: Option<Length<Model>>,
    /// How far the parts of a piece that is split lap over each other.
    pub split_overlap: Option<Length<Model>>,
    /// How far a colour goes on beneath the ones painted after it; left open, not at all in decals, and in masks by
    /// the overlap of [`Spray`].
    pub trap: Option<Length<Model>>,
    /// What ties the islands of a mask to the rest of it.
    pub bridges: Option<Bridges>,
    /// A tongue of film at the rear of a mask, to lift it by: how far it stands out, and how wide.
    pub tab: Option<Length<Model>>,
    /// Pieces beyond the copies, in case one is spoilt.
    pub spares: u32,
    /// Pieces of a higher priority go on earlier sheets.
    pub priority: u32,
    /// How it may lie on its sheet, where that is not as the sheets say.
    pub turns: Option<Turning>,
}

impl Plan {
    /// Whether a piece is one more than is wanted, in case another is spoilt.
    pub fn is_spare(&self, piece: &Piece) -> bool {
        piece.copy > self.markings[piece.marking.0].copies
    }

    /// How far the film of a piece reaches past its artwork.
    pub fn border(&self, piece: &Piece) -> Length<Model> {
        let wished = self.markings[piece.marking.0].piece.border;
        wished.unwrap_or(self.films.of(piece.make).border)
    }

    /// The sheets of one make: of the page that its film is sold in, where that is known.
    pub fn sheets_of(&self, make: Make) -> Sheets {
        let page = self.films.of(make).sheet.unwrap_or(self.sheets.page);
        Sheets { page, ..self.sheets.clone() }
    }
}

/// The paper the pieces go on.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheets {
    pub page: Size<Model>,
    /// Whether a named page lies on its side.
    pub turned: bool,
    pub margin: Length<Model>,
    /// Along each edge, where the printer cannot print.
    pub bare: Margins,
    /// Least way between two pieces' film.
    pub spacing: Length<Model>,
    /// How pieces may be turned, where a marking does not say.
    pub turns: Turning,
    /// How much is tried to save film; 0 is rows.
    pub effort: u32,
    /// Whether all scales share sheets.
    pub gang: bool,
    /// What stands beside each piece.
    pub labels: Labels,
}

/// What stands beside a piece on its sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Labels {
    /// Number and name.
    #[default]
    Names,
    /// The number alone: names of small pieces take more film than the pieces.
    Numbers,
    None,
}

/// How a piece may lie on its sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Turning {
    /// As drawn, or a quarter to the left, so that labels are read from below or from the right, as on
    /// drawings (common practice, no source); askew only where it goes in no other way.
    #[default]
    Readable,
    /// As drawn.
    Fixed,
    /// By any multiple of this.
    Steps(Angle),
    Free,
}

impl Sheets {
    /// A named page stood up again, every edge left free as far as the worst: which edge becomes which
    /// is for the printer to know.
    #[must_use]
    pub fn upright(&self) -> Self {
        if !self.turned {
            return self.clone();
        }
        let Margins { left, right, top, bottom } = self.bare;
        let widest = [right, top, bottom].into_iter().fold(left, |a, b| if b > a { b } else { a });
        Self {
            page: Size { width: self.page.height, height: self.page.width },
            turned: false,
            bare: Margins { left: widest, right: widest, top: widest, bottom: widest },
            ..self.clone()
        }
    }

    /// The middles of the marks that a cutter finds a printed sheet by: lower left, lower right, upper left,
    /// in the middle of the margins, mm on the page.
    pub fn register_marks(&self) -> [Point; 3] {
        let [width, height] = [self.page.width, self.page.height].map(Length::to_mm);
        let bare = [self.bare.left, self.bare.right, self.bare.top, self.bare.bottom].map(Length::to_mm);
        let kept = self.kept();
        let [left, right, top, bottom] = [0, 1, 2, 3].map(|side| (bare[side] + kept[side]) / 2.0);
        [point(left, bottom), point(width - right, bottom), point(left, height - top)]
    }

    /// What stays free of pieces along the left, right, upper and lower edge, mm: the margin, and where the
    /// printer cannot print as far, room for the marks beside that.
    pub fn kept(&self) -> [f64; 4] {
        /// A cross of 3 mm and what it takes to see it by.
        const FOR_MARKS: f64 = 4.0;
        let bare = [self.bare.left, self.bare.right, self.bare.top, self.bare.bottom].map(Length::to_mm);
        let margin = self.margin.to_mm();
        bare.map(|bare| if bare > 0.0 { margin.max(bare + FOR_MARKS) } else { margin })
    }
}

impl Default for Sheets {
    fn default() -> Self {
        Self {
            page: Size { width: Length::mm(210.0), height: Length::mm(297.0) },
            turned: false,
            margin: Length::mm(8.0),
            bare: Margins::default(),
            spacing: Length::mm(2.0),
            turns: Turning::Readable,
            effort: 1,
            gang: false,
            labels: Labels::Names,
        }
    }
}
