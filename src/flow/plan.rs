//! A spec, read and resolved: every name found, every length in one unit, nothing optional left open.

use super::artwork::Artwork;
use super::drawing::{Camouflage, Change, CheatLine, Figure};
use super::finding::Place;
use super::lettering::{Face, Lettering};
use super::shape::Shape;
use super::tools::{Cutter, Spray, Tape};
use crate::outline::bridge::Bridges;
use crate::outline::{Point, Polyline, point};
use crate::units::{Angle, Dpi, Full, Length, Model, Scale, Size};
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
        let [r, g, b] = self.rgb;
        format!("#{r:02x}{g:02x}{b:02x}")
    }
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

impl Draw {
    /// The word the spec uses.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Stripe { .. } => "stripe",
            Self::Band { .. } => "band",
            Self::Rectangle { .. } => "rectangle",
            Self::Disc { .. } => "disc",
            Self::Roundel { .. } => "roundel",
            Self::Star { .. } => "star",
            Self::Chevron { .. } => "chevron",
            Self::Polygon { .. } => "polygon",
            Self::Checks { .. } => "checks",
            Self::Hazard { .. } => "hazard",
            Self::Area { .. } => "area",
            Self::Artwork(_) => "artwork",
            Self::Figure { .. } => "figure",
            Self::StarAndBars { .. } => "star_and_bars",
            Self::CheatLine(_) => "cheat_line",
            Self::Camouflage(_) => "camouflage",
            Self::Group(_) => "group",
            Self::Changed { draw, .. } => draw.word(),
            Self::Letters(Lettering { face: Face::Block(_), .. }) => "letters",
            Self::Letters(Lettering { face: Face::Font(..), .. }) => "text",
        }
    }
}

/// Where the hold point goes.
#[derive(Clone, Debug, PartialEq)]
pub enum Spot {
    /// First hit of the view ray through these paper coordinates; `turn` counter-clockwise as seen.
    Seen { view: View, across: Length<Full>, up: Length<Full>, turn: Angle },
    /// On a long part, or round a ring: way from the front end, angle round from the top; turned from the aft direction.
    Station { station: Length<Full>, around: Angle, turn: Angle },
    /// On the line of a limit or an open end where the view's middle line meets it, then `offset` further along the heading.
    From { datum: Datum, view: View, offset: Length<Full>, turn: Angle },
}

/// The point of the piece that is put down first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hold {
    Centre,
    /// Middle of the end nearer the part's front; of the start where neither is.
    Front,
    /// Middle of the other end.
    Rear,
    /// Along the heading and to its left, from the artwork's centre.
    Point(Length<Full>, Length<Full>),
}

/// An end of a piece, told apart by the part's front and rear.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum End {
    Front,
    Rear,
}

impl End {
    /// The word the spec uses.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Rear => "rear",
        }
    }
}

/// How artwork meets the part.
#[derive(Clone, Debug, PartialEq)]
pub enum Lay {
    /// Flat artwork put down at the hold point.
    Drape,
    /// Bent so that its middle line lies along a line on the part.
    Follow(Line),
    /// True as seen in this view.
    Sight(View),
}

impl Lay {
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Drape => "drape",
            Self::Follow(line) => line.word(),
            Self::Sight(_) => "sight",
        }
    }
}

/// A line on a part that a marking follows.
#[derive(Clone, Debug, PartialEq)]
pub enum Line {
    /// The cut of the part by the plane at this station.
    Ring { station: Length<Full> },
    /// The cut by a plane: square to an axis, or the one through the hold point, its heading and the line of sight.
    Section { plane: Option<(Direction, Length<Full>)> },
    /// Round a long part and along it at once.
    Helix(Helix),
    /// Straight on from the hold point, as tape runs.
    Run,
    /// Drawn in a view through these corners, mm of its paper, each rounded to this radius on the paper;
    /// `None` is as wide as the marking.
    Drawn { view: View, corners: Polyline, radius: Option<Length<Full>> },
    /// Beside another line at a distance over the part.
    Along { base: Base, offset: Length<Full>, side: Side },
    /// A strap: from point to point, each as a [`Spot`]; straight where it lies, or free in the air.
    Through { points: Vec<Pin> },
}

impl Line {
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Ring { .. } => "follow ring",
            Self::Section { .. } => "follow section",
            Self::Helix(_) => "follow helix",
            Self::Run => "follow run",
            Self::Drawn { .. } => "follow line",
            Self::Along { .. } => "follow along",
            Self::Through { .. } => "follow through",
        }
    }

    /// Whether the hold point is given by the line itself, not by `at`.
    pub const fn holds_itself(&self) -> bool {
        matches!(self, Self::Drawn { .. } | Self::Through { .. })
    }

    /// Whether the line ends where it was drawn to end, not where the part does.
    pub fn ends_itself(&self) -> bool {
        match self {
            Self::Along { base: Base::Marking { line, .. }, .. } => line.ends_itself(),
            _ => self.holds_itself(),
        }
    }
}

/// A helix: right-handed climbs aft as the angle round the part grows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Helix {
    pub climb: Climb,
    /// How many stripes lie side by side in one pitch.
    pub starts: u32,
    pub left_handed: bool,
    /// Whether its ends are cut along the part's own ends instead of square.
    pub flush: bool,
}

/// How fast a helix climbs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Climb {
    /// Way along the part in one turn.
    Pitch(Length<Full>),
    /// Turns from end to end of the part.
    Turns(f64),
    /// Angle to the rings round the part.
    Rise(Angle),
}

/// What a line keeps beside.
#[derive(Clone, Debug, PartialEq)]
pub enum Base {
    /// A limit's own line, by index into [`Part::limits`].
    Limit(usize),
    /// The line that another marking follows, and where that marking is held.
    Marking { line: Box<Line>, spot: Box<Spot> },
}

/// To which side of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The side of a limit that film may lie on.
    Kept,
    /// The side towards the greater or the lesser values of an axis.
    Towards { axis: Direction, greater: bool },
}

/// A point that a strap runs through.
#[derive(Clone, Debug, PartialEq)]
pub struct Pin {
    pub spot: Spot,
    /// How the strap gets here from the point before.
    pub reach: Reach,
}

/// How a strap gets from one point to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reach {
    /// Lying on the part, the straightest way.
    Lying,
    /// Free in the air, straight through space.
    Free,
    /// Free in the air, this long.
    Hanging(Length<Full>),
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
}

/// Which size rules: the scale's, or the size the part really has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SizeBy {
    Scale,
    Part,
}

/// Physical wishes for one marking's pieces; `None` is the film's own.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PieceWishes {
    pub border: Option<Length<Model>>,
    pub bleed: Option<Length<Model>>,
    /// How far a closed wrap laps over itself.
    pub overlap: Length<Model>,
    /// How far the parts of a piece that is split for its sheet lap over each other.
    pub split_overlap: Option<Length<Model>>,
    /// How far a colour goes on beneath the ones painted after it.
    pub trap: Length<Model>,
    /// What ties the islands of a mask to the rest of it.
    pub bridges: Option<Bridges>,
}

impl Default for Length<Model> {
    fn default() -> Self {
        Self::ZERO
    }
}

/// What pieces are made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Films {
    pub decal: Film,
    pub mask: Film,
    pub tape: Tape,
}

impl Films {
    pub const fn of(&self, make: Make) -> &Film {
        match make {
            Make::Decal => &self.decal,
            Make::Mask => &self.mask,
            Make::Tape => &self.tape.film,
        }
    }
}

/// How far a film gives, and how fine it can be. All values common practice, no source.
#[derive(Clone, Debug, PartialEq)]
pub struct Film {
    pub poisson: f64,
    /// Greatest stretch and squeeze as it is, shares of 1, both positive.
    pub plain: Give,
    /// The same, softened by setting fluid or warmed.
    pub softened: Give,
    pub finest_line: Length<Model>,
    pub finest_gap: Length<Model>,
    /// The height of the smallest letter that can still be read, or cut.
    pub smallest_letter: Length<Model>,
    /// Film left round the artwork.
    pub border: Length<Model>,
    /// Colour printed beyond the cut edge.
    pub bleed: Length<Model>,
}

/// How far a film gives before it tears or wrinkles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Give {
    pub stretch: f64,
    pub squeeze: f64,
}

impl Default for Films {
    fn default() -> Self {
        let give = |stretch: f64, squeeze: f64| Give { stretch, squeeze };
        Self {
            decal: Film {
                poisson: 0.4,
                plain: give(0.01, 0.007),
                softened: give(0.05, 0.04),
                finest_line: Length::mm(0.1),
                finest_gap: Length::mm(0.1),
                smallest_letter: Length::mm(0.6),
                border: Length::mm(0.5),
                bleed: Length::mm(0.3),
            },
            mask: Film {
                poisson: 0.4,
                plain: give(0.02, 0.01),
                softened: give(0.04, 0.02),
                finest_line: Length::mm(0.4),
                finest_gap: Length::mm(0.4),
                smallest_letter: Length::mm(2.5),
                border: Length::mm(3.0),
                bleed: Length::ZERO,
            },
            // Masking and pinstriping tape is put down once, dry: nothing softens it.
            tape: Tape {
                film: Film {
                    poisson: 0.4,
                    plain: give(0.01, 0.005),
                    softened: give(0.01, 0.005),
                    finest_line: Length::ZERO,
                    finest_gap: Length::ZERO,
                    smallest_letter: Length::ZERO,
                    border: Length::ZERO,
                    bleed: Length::ZERO,
                },
                widths: Vec::new(),
                trim: Length::mm(3.0),
            },
        }
    }
}

/// The paper the pieces go on.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheets {
    pub page: Size<Model>,
    pub margin: Length<Model>,
    /// Least way between two pieces' film.
    pub spacing: Length<Model>,
}

impl Sheets {
    /// The middles of the marks that a cutter finds a printed sheet by: lower left, lower right, upper left,
    /// in the middle of the margins, mm on the page.
    pub fn register_marks(&self) -> [Point; 3] {
        let [width, height] = [self.page.width, self.page.height].map(Length::to_mm);
        let inset = self.margin.to_mm() / 2.0;
        [point(inset, inset), point(width - inset, inset), point(inset, height - inset)]
    }
}

impl Default for Sheets {
    fn default() -> Self {
        Self {
            page: Size { width: Length::mm(210.0), height: Length::mm(297.0) },
            margin: Length::mm(8.0),
            spacing: Length::mm(2.0),
        }
    }
}

/// The printer, as it prints.
#[derive(Clone, Debug, PartialEq)]
pub struct Printer {
    pub dpi: Dpi,
}

impl Default for Printer {
    fn default() -> Self {
        Self { dpi: Dpi::DEFAULT }
    }
}
