//! Lettering: what is written, how high, with which letters, and how it is set.
//!
//! Every length is at full size. Left out: outlines, which are drawn from this.

use super::plan::ColourId;
use crate::outline::font::Font;
use crate::units::{Full, Length};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Words in one colour.
#[derive(Clone, Debug, PartialEq)]
pub struct Lettering {
    /// Each without line breaks; none is blank.
    pub lines: Vec<String>,
    /// Of block letters, and of a font's capitals.
    pub height: Length<Full>,
    pub face: Face,
    pub setting: Setting,
    pub colour: ColourId,
}

/// Where letters come from.
#[derive(Clone, Debug, PartialEq)]
pub enum Face {
    Block(Block),
    /// A font, and how much wider than its own the way from letter to letter is.
    Font(Arc<Font>, Length<Full>),
}

/// Letters drawn by rule, each stroke as wide as the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    pub width: Length<Full>,
    /// Of letters that are not as wide as the others.
    pub widths: BTreeMap<char, Length<Full>>,
    pub stroke: Length<Full>,
    /// Clear between two letters.
    pub gap: Length<Full>,
    /// Clear between two words.
    pub word_gap: Length<Full>,
    pub corner: Corner,
}

impl Block {
    /// Letters, figures and signs that can be drawn.
    pub const KNOWN: &'static str = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-./&+";

    /// How wide a letter is: as the spec says, else by the custom of its kind.
    pub fn width_of(&self, letter: char) -> Length<Full> {
        self.widths.get(&letter).copied().unwrap_or(match letter {
            '1' | '.' => self.stroke,
            'M' => self.width * 1.25,
            'W' => self.width * 1.4,
            '&' => self.width * 1.15,
            '-' => self.width * 0.6,
            '/' => self.width * 0.8,
            _ => self.width,
        })
    }

    /// The way from the start of a line to its end.
    pub fn length_of(&self, line: &str) -> Length<Full> {
        let words: Vec<&str> = line.split_whitespace().collect();
        let word = |word: &&str| {
            let letters = word.chars().map(|letter| self.width_of(letter) + self.gap);
            letters.fold(-self.gap, |sum, step| sum + step)
        };
        words.iter().map(|text| word(text) + self.word_gap).fold(-self.word_gap, |sum, step| sum + step)
    }
}

/// What becomes of a stroke's right-angled turns: the outer side of the turn, to its own size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Corner {
    Square,
    /// Cut off at 45°, this much of each side.
    Cut(Length<Full>),
    /// An arc of this radius.
    Round(Length<Full>),
}

/// How lines are set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    pub align: Align,
    /// From the foot of one line to the head of the next one's capitals.
    pub line_gap: Length<Full>,
    pub bow: Option<Bow>,
}

/// To which side shorter lines go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    Left,
    Centre,
    Right,
}

/// A line of letters along an arc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bow {
    /// Of the arc that the letters stand on.
    pub radius: Length<Full>,
    /// Whether the letters hang under the arc's middle, heads to its centre, instead of standing over it.
    pub under: bool,
}

impl Bow {
    /// The radius at which letters keep the way between them: at their feet, hanging ones at their heads.
    pub fn spaced_at(&self, height: Length<Full>) -> Length<Full> {
        if self.under { self.radius - height } else { self.radius }
    }
}
