//! How artwork meets a part: where it is held, and the line that it follows.

use super::plan::{Datum, Direction, View};
use crate::outline::Polyline;
use crate::units::{Angle, Full, Length};

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
    /// A limit's own line, by index into [`Part::limits`](crate::flow::Part::limits).
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
