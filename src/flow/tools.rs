//! What stands on the bench: tape in stock, the order of the spray gun, the cutter.

use super::film::Film;
use super::plan::ColourId;
use crate::outline::Point;
use crate::units::{Length, Model, Size};

/// Tape as it is bought: one film in several widths.
#[derive(Clone, Debug, PartialEq)]
pub struct Tape {
    pub film: Film,
    /// In stock, narrowest first; empty where the spec lists none.
    pub widths: Vec<Length<Model>>,
    /// Left over at each end of a strip, to be cut off once it lies.
    pub trim: Length<Model>,
}

/// How masks share out the colours of a marking.
#[derive(Clone, Debug, PartialEq)]
pub struct Spray {
    /// Sprayed first to last; colours that are not listed follow, light to dark.
    pub order: Vec<ColourId>,
    pub film: MaskFilm,
    /// How far a colour is sprayed, or a cover reaches, past its own line where another colour makes the edge.
    pub overlap: Length<Model>,
}

/// Which side of the line a mask is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MaskFilm {
    /// Film round the area, a hole where paint goes.
    Window,
    /// Film on what is already sprayed.
    Cover,
}

impl Default for Spray {
    /// The overlap is common practice, no source: more than a hand is off in laying a mask by eye.
    fn default() -> Self {
        Self { order: Vec::new(), film: MaskFilm::Window, overlap: Length::mm(0.2) }
    }
}

/// A cutting machine. Lengths are its own and the film's.
#[derive(Clone, Debug, PartialEq)]
pub struct Cutter {
    /// From the holder's axis to the blade's tip, where the file must allow for it; nothing where the machine does.
    pub offset: Length<Model>,
    /// A closed cut goes on past its start by this.
    pub overcut: Length<Model>,
    /// Whether the blade goes round closed lines clockwise.
    pub clockwise: bool,
    /// Way in a second, blade down.
    pub speed: Length<Model>,
    /// What the machine can reach; `None` where it is as large as the page.
    pub mat: Option<Size<Model>>,
    /// Kept clear along the lower and upper edge, where rollers hold the sheet.
    pub feed: Length<Model>,
    /// Whether decals are cut through their paper, and not the film alone.
    pub through: bool,
    /// Whether waste film is parted for weeding.
    pub weed: bool,
    /// Sides of a square of 100 mm as this machine cuts it.
    pub measured: Size<Model>,
    /// Where a printed sheet's marks were found, mm from the lower left corner as it lies on the machine: lower
    /// left, lower right, upper left.
    pub marks: Option<[Point; 3]>,
}

/// The side of the square that `cutter: {measured: …}` is about.
pub const MEASURED_SQUARE: Length<Model> = Length::mm(100.0);

impl Default for Cutter {
    /// Common practice, no source.
    fn default() -> Self {
        Self {
            offset: Length::ZERO,
            overcut: Length::mm(0.5),
            clockwise: false,
            speed: Length::mm(30.0),
            mat: None,
            feed: Length::ZERO,
            through: true,
            weed: true,
            measured: Size { width: MEASURED_SQUARE, height: MEASURED_SQUARE },
            marks: None,
        }
    }
}
