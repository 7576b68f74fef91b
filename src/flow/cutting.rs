//! What leaves the cutting room: mask sets, runs for a machine, strips of tape.

use super::outcome::Portion;
use super::plan::{ColourId, MarkingId};
use crate::outline::{Contour, Polyline, Region};
use crate::units::{Angle, Length, Model, Size};

/// The masks of one marking, in the order they are laid and sprayed through.
#[derive(Clone, Debug)]
pub struct MaskSet {
    pub marking: MarkingId,
    /// Of a piece that is made in sections.
    pub section: Option<Portion>,
    pub steps: Vec<MaskStep>,
    /// Crosses at the same places of every frame, mm, so that one step lies where the last one lay.
    pub register: Vec<Polyline>,
}

/// The film that is laid before one colour is sprayed.
#[derive(Clone, Debug)]
pub struct MaskStep {
    /// What is sprayed next.
    pub colour: ColourId,
    /// Counts from 1 over all markings: a colour is sprayed once.
    pub step: u32,
    /// For a cover: the colour it lies on.
    pub covers: Option<ColourId>,
    /// The film's outer edge, its openings still in it.
    pub film: Region<Model>,
    /// Where paint goes: the opening of a window, nothing in a cover.
    pub window: Region<Model>,
}

/// One kind of tool path, in the order they are run: what frees a piece comes last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tool {
    /// Drawn or scratched, not cut: cross hairs.
    Register,
    /// Through the film, not through what carries it.
    Kiss,
    /// Film between the pieces, parted so that it peels off in strips.
    Weed,
    /// Through everything.
    Through,
}

impl Tool {
    pub const ALL: [Self; 4] = [Self::Register, Self::Kiss, Self::Weed, Self::Through];

    /// Also the name of its layer.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Register => "register",
            Self::Kiss => "kiss",
            Self::Weed => "weed",
            Self::Through => "through",
        }
    }

    /// Number of its pen, from 1.
    pub const fn pen(self) -> u32 {
        self as u32 + 1
    }
}

/// A sheet as a machine runs it; millimetres, origin at the page's lower left corner, y up.
#[derive(Clone, Debug)]
pub struct Job {
    /// Of the sheet it belongs to.
    pub stem: String,
    pub page: Size<Model>,
    pub runs: Vec<Run>,
    /// Blade down, and blade up between cuts.
    pub cut: Length<Model>,
    pub travel: Length<Model>,
    /// From the holder's axis to the blade's tip, where the paths are the holder's; else nothing.
    pub offset: Length<Model>,
    /// Way in a second, blade down.
    pub speed: Length<Model>,
    /// An estimate, seconds.
    pub seconds: f64,
}

impl Job {
    /// Its files beside the sheet's: for drawing programs, for cutting programs, for the machine itself.
    pub fn files(&self) -> [String; 3] {
        ["cut.svg", "dxf", "plt"].map(|ending| format!("{}.{ending}", self.stem))
    }
}

/// All that one tool does.
#[derive(Clone, Debug)]
pub struct Run {
    pub tool: Tool,
    /// A cut in waste film that turns the blade before it matters; empty where none is needed.
    pub lead_in: Polyline,
    pub strokes: Vec<Stroke>,
    /// Way in a second, blade down.
    pub speed: Length<Model>,
}

/// One cut from blade down to blade up.
#[derive(Clone, Debug)]
pub struct Stroke {
    /// What is to be cut, arcs where it has arcs.
    pub line: Contour,
    pub closed: bool,
    /// What the machine runs, mm: from its own start, with overcut and swivels.
    pub path: Polyline,
}

/// A strip of stock tape.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// Numbers of the pieces it belongs to, one for each copy.
    pub pieces: Vec<u32>,
    pub marking: MarkingId,
    pub colour: Option<ColourId>,
    /// `stripe`, or what part of the marking it is.
    pub what: String,
    /// Of the stripe that it makes, alone or with others side by side.
    pub wanted: Length<Model>,
    /// Its own, as stocked.
    pub width: Length<Model>,
    /// How many such strips each piece takes.
    pub each: u32,
    /// How wide all strips of the stripe are, side by side.
    pub together: Length<Model>,
    /// From end to end as it lies, along its middle.
    pub length: Length<Model>,
    /// To cut off the roll: with trim at both ends.
    pub cut_length: Length<Model>,
    /// Between the strip's edge and its cut end, start and finish; 90° is square.
    pub ends: [Angle; 2],
    pub helix: Option<Turns>,
}

impl Strip {
    /// How many are cut for all pieces.
    pub fn count(&self) -> usize {
        self.pieces.len() * self.each as usize
    }
}

/// Tape wound round a rod.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turns {
    /// Along the rod in one turn.
    pub pitch: Length<Model>,
    /// To the rings round the rod.
    pub rise: Angle,
    pub turns: f64,
    /// Bare rod between neighbouring turns, square to the tape; negative where they lap.
    pub gap: Length<Model>,
    /// The pitch that leaves as much bare as it covers; `None` where no pitch does.
    pub equal_pitch: Option<Length<Model>>,
}
