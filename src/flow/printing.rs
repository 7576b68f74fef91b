//! The printer as it prints, and what is wanted on its pages. Lengths are those of paper and film.

use super::plan::ColourId;
use super::tools::MEASURED_SQUARE;
use crate::units::{Dpi, Length, Model, Size};

/// The printer.
#[derive(Clone, Debug, PartialEq)]
pub struct Printer {
    pub dpi: Dpi,
    /// Sides of a square of 100 mm as it prints it: across and along the page.
    pub measured: Size<Model>,
    /// The finest line, the finest gap and the smallest capital that it was seen to print.
    pub finest: Finest,
    /// What pictures are drawn on.
    pub ground: Ground,
    /// How pictures of mask sheets are drawn.
    pub masks: Shades,
    /// White under the artwork, for colours that let the light through.
    pub white: Option<White>,
    /// What its inks for the knife are called.
    pub spots: Spots,
    /// Which lines are printed; those that are not are there all the same, hidden.
    pub lines: Lines,
    /// Decals are printed left for right, to be laid face down.
    pub mirrored: bool,
    /// Each colour of a decal is a layer of its own, these at the bottom, what is not listed over them as painted.
    pub order: Option<Vec<ColourId>>,
    /// Outlines on plain paper are written beside every sheet.
    pub trial: bool,
    pub pdf: PdfFiles,
}

/// Common practice, no source.
impl Default for Printer {
    fn default() -> Self {
        Self {
            dpi: Dpi::DEFAULT,
            measured: Size { width: MEASURED_SQUARE, height: MEASURED_SQUARE },
            finest: Finest::default(),
            ground: Ground::White,
            masks: Shades::Colour,
            white: None,
            spots: Spots { cut: "cut".into(), relief: "relief".into() },
            lines: Lines::ALL,
            mirrored: false,
            order: None,
            trial: false,
            pdf: PdfFiles::Each,
        }
    }
}

impl Printer {
    /// How much longer than wanted everything is drawn, across and along, so that it comes out as wanted.
    pub fn factors(&self) -> [f64; 2] {
        [self.measured.width, self.measured.height].map(|printed| MEASURED_SQUARE / printed)
    }

    /// Whether it has to be drawn for at all.
    pub fn is_true(&self) -> bool {
        self.factors() == [1.0, 1.0]
    }
}

/// Widths along the edges of a page.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Margins {
    pub left: Length<Model>,
    pub right: Length<Model>,
    pub top: Length<Model>,
    pub bottom: Length<Model>,
}

/// What was read off the calibration page; nothing where it was not.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Finest {
    pub line: Length<Model>,
    pub gap: Length<Model>,
    pub letter: Length<Model>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    White,
    /// Nothing: see-through where nothing is printed.
    Clear,
}

/// How finely a picture tells colours apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shades {
    Colour,
    Grey,
    /// Black, or not.
    OneBit,
}

/// The white underlayer.
#[derive(Clone, Debug, PartialEq)]
pub struct White {
    /// What the ink is called.
    pub name: String,
    /// How far it stays within the artwork's edge, so that none peeps out where it is printed a little aside.
    pub choke: Length<Model>,
    /// How its picture is drawn.
    pub picture: Shades,
}

/// Common practice, no source: a printer is off by a tenth of a millimetre from one pass to the next.
impl Default for White {
    fn default() -> Self {
        Self { name: "white".into(), choke: Length::mm(0.1), picture: Shades::OneBit }
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct Spots {
    pub cut: String,
    pub relief: String,
}

/// Which lines are printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lines {
    pub cut: bool,
    pub relief: bool,
    pub trim: bool,
}

impl Lines {
    pub const ALL: Self = Self { cut: true, relief: true, trim: true };
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PdfFiles {
    /// One for each sheet.
    Each,
    /// One of all sheets in a folder.
    Together,
    None,
}
