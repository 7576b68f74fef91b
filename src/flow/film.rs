//! What pieces are made of: how far a film gives, and how fine it can be.

use super::plan::Make;
use super::tools::Tape;
use crate::outline::Polyline;
use crate::units::{Length, Model, Size};

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
    /// What is gone of the first sheet of it: a closed line on the page; empty where the sheet is whole.
    pub used: Polyline,
    /// Of one sheet.
    pub price: Option<Price>,
    /// The sheet it is sold in, where that is not the page of all.
    pub sheet: Option<Size<Model>>,
}

/// An amount of money in the user's own words.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    pub amount: f64,
    pub currency: String,
    /// Whether the currency is written before the amount.
    pub leads: bool,
}

impl Price {
    /// So many times as much, to two places.
    pub fn times(&self, count: usize) -> String {
        let (amount, currency) = (self.amount * count as f64, &self.currency);
        let space = if currency.chars().any(char::is_alphabetic) || !self.leads { " " } else { "" };
        if self.leads {
            format!("{currency}{space}{amount:.2}")
        } else {
            format!("{amount:.2}{space}{currency}")
        }
    }
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
                used: Vec::new(),
                price: None,
                sheet: None,
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
                used: Vec::new(),
                price: None,
                sheet: None,
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
                    used: Vec::new(),
                    price: None,
                    sheet: None,
                },
                widths: Vec::new(),
                trim: Length::mm(3.0),
            },
        }
    }
}
