//! A page as the writers get it.
//!
//! Specified by what it leaves out: no units but model millimetres, no
//! nesting, no transforms, no text (letters are outlines by now), no colours
//! by name in the geometry. Origin at the page's lower left corner, y up;
//! a writer whose format runs the other way turns it over.

use super::plan::{ColourId, Make};
use crate::outline::Outline;
use crate::units::{Length, Model, Scale, Size};

/// One page.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// File name without its ending: `decal-1`, `mask-1-rescue-red`.
    pub stem: String,
    pub page: Size<Model>,
    pub make: Make,
    /// Those of its pieces, in the order of the plan.
    pub scales: Vec<Scale>,
    /// For mask sheets, the colour sprayed through them.
    pub colour: Option<ColourId>,
    /// For mask sheets, which spraying step they belong to, from 1.
    pub step: Option<u32>,
    /// Numbers of the pieces on it.
    pub pieces: Vec<u32>,
    /// Where each of `pieces` lies, in the same order: its film outline on the page.
    pub outlines: Vec<Outline<Model>>,
    /// Film used by pieces over film between the margins.
    pub used_share: f64,
    /// Bottom first.
    pub layers: Vec<Layer>,
}

/// What a layer is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Purpose {
    /// White under printed colour.
    White,
    /// Printed colour.
    Artwork,
    /// Lines along which film is cut, relief cuts aside.
    Cut,
    /// Relief cuts.
    Relief,
    /// Crosses that bring one film over another.
    Register,
    /// Where the limits fall on a piece that runs past them.
    Trim,
    /// Numbers, names, hold marks, heading ticks, check bars, head: read by people, outside the artwork.
    Marks,
}

impl Purpose {
    pub const fn word(self) -> &'static str {
        match self {
            Self::White => "white",
            Self::Artwork => "artwork",
            Self::Cut => "cut",
            Self::Relief => "relief",
            Self::Register => "register",
            Self::Trim => "trim",
            Self::Marks => "marks",
        }
    }
}

/// Things on a page with one purpose.
#[derive(Clone, Debug)]
pub struct Layer {
    pub purpose: Purpose,
    /// What the user calls it; an ink's name for white and for lines that are cut.
    pub name: String,
    /// There, and not printed.
    pub hidden: bool,
    pub items: Vec<Item>,
}

impl Layer {
    /// Shown, and called by what it is for.
    pub fn new(purpose: Purpose, items: Vec<Item>) -> Self {
        Self { purpose, name: purpose.word().to_owned(), hidden: false, items }
    }

    #[must_use]
    pub fn named(self, name: impl Into<String>) -> Self {
        Self { name: name.into(), ..self }
    }

    #[must_use]
    pub fn hidden_if(self, hidden: bool) -> Self {
        Self { hidden, ..self }
    }
}

/// One thing on a page.
#[derive(Clone, Debug)]
pub enum Item {
    /// An area of one colour (non-zero rule).
    Fill { outline: Outline<Model>, rgb: [u8; 3] },
    /// A closed line of this width.
    Line { outline: Outline<Model>, rgb: [u8; 3], width: Length<Model> },
    /// An open line of this width through these points, mm.
    Path { points: Vec<crate::outline::Point>, rgb: [u8; 3], width: Length<Model> },
}

impl Item {
    pub const fn rgb(&self) -> [u8; 3] {
        match self {
            Self::Fill { rgb, .. } | Self::Line { rgb, .. } | Self::Path { rgb, .. } => *rgb,
        }
    }
}
