//! The words of drawings and lettering: paths, chance, corners, texts, proportions.

use super::measure::unitless;
use super::{NUMBER, Word, choose, pattern, plain};
use crate::flow::Align;
use crate::spec::length::{LENGTH, UNIT, bare, length};
use crate::spec::log::Wrong;
use crate::spec::problem::shown;
use crate::units::{Angle, Full, Length};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error, Visitor};
use serde_json::{Value, json};
use std::borrow::Cow;
use std::fmt;

/// Where chance starts from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seed(pub u64);

/// SVG path data.
#[derive(Clone, Debug, PartialEq)]
pub struct Data(pub String);

/// The length that one unit of a path stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnitOf(pub Length<Full>);

/// How the corners of a line outside an edge are made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cornered {
    Square,
    Round,
}

/// Which parts of a path that lies over itself are filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Filled {
    NonZero,
    EvenOdd,
}

/// What is to be lettered: any text, but written as one.
#[derive(Clone, Debug, PartialEq)]
pub struct Phrase(pub String);

/// A size as a share of the letters' height, or a length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Proportion {
    Share(f64),
    Long(Length<Full>),
}

/// Whether letters stand over an arc or hang under it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BowSide {
    Over,
    Under,
}

/// Where a bridge goes: an angle from the heading, or a word for one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Upright(pub Angle);

impl Word for Seed {
    const WANTED: &'static str = "a whole number such as `7`";

    fn forms() -> Vec<Value> {
        vec![json!({"type": "integer", "minimum": 0})]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        let message = format!("`{}` is not a whole number", shown(text));
        Err(Wrong::new(message, format!("write {}", Self::WANTED)))
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        /// All that a number in a spec can hold to the last digit.
        const MOST: f64 = 9_007_199_254_740_991.0;
        if number.fract() != 0.0 || !(0.0..=MOST).contains(&number) {
            let help = format!("write a whole number from 0 to {MOST}");
            return Err(Wrong::new(format!("`{number}` is no seed"), help));
        }
        Ok(Self(number as u64))
    }
}

impl Word for Data {
    const WANTED: &'static str = "path data such as \"M0 0 L10 0 L10 5 Z\"";

    fn forms() -> Vec<Value> {
        vec![json!({"type": "string"})]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        /// Some ten thousand curves.
        const LONGEST: usize = 400_000;
        if text.len() > LONGEST {
            let message = format!("path data of {} letters", text.len());
            return Err(Wrong::new(message, format!("at most {LONGEST}: simplify it, or share it out")));
        }
        Ok(Self(text.into()))
    }
}

impl Word for UnitOf {
    const WANTED: &'static str = "a unit such as `mm`, or a length such as `2.5 mm`";

    fn forms() -> Vec<Value> {
        vec![pattern(UNIT), pattern(LENGTH)]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        let whole =
            if text.starts_with(|c: char| c.is_alphabetic()) { format!("1 {text}") } else { text.into() };
        length(&whole).map(Self)
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Err(unitless(number, bare))
    }
}

impl Word for Cornered {
    const WANTED: &'static str = "`square` or `round`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("square", Self::Square), ("round", Self::Round)]
    }
}

impl Word for Filled {
    const WANTED: &'static str = "`non-zero` or `even-odd`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("non-zero", Self::NonZero), ("even-odd", Self::EvenOdd)]
    }
}

impl<'de> Deserialize<'de> for Phrase {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        reader.deserialize_any(PhraseVisitor)
    }
}

impl JsonSchema for Phrase {
    fn schema_name() -> Cow<'static, str> {
        "Phrase".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "string", "description": "a text, in quotes"})
    }
}

/// Takes nothing but text: YAML has lost the noughts of `007` by the time it is a number.
struct PhraseVisitor;

impl PhraseVisitor {
    fn quoted<E: Error>(read: impl fmt::Display) -> E {
        E::custom(Wrong::new(format!("`{read}` is read as no text"), "quote what is to be lettered: \"…\""))
    }
}

impl Visitor<'_> for PhraseVisitor {
    type Value = Phrase;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a text, in quotes")
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Phrase, E> {
        /// More than any side of anything has room for; a longer one is two markings.
        const LONGEST: usize = 1000;
        let letters = text.chars().count();
        if letters > LONGEST {
            let help = format!("at most {LONGEST}: make several markings of it");
            return Err(E::custom(Wrong::new(format!("a text of {letters} letters"), help)));
        }
        Ok(Phrase(text.into()))
    }

    fn visit_f64<E: Error>(self, number: f64) -> Result<Phrase, E> {
        Err(Self::quoted(number))
    }

    fn visit_bool<E: Error>(self, yes: bool) -> Result<Phrase, E> {
        Err(Self::quoted(yes))
    }
}

impl Word for Proportion {
    const WANTED: &'static str = "a share of the height such as `1/6`, or a length such as `2 in`";

    fn forms() -> Vec<Value> {
        vec![
            json!({"type": "number", "minimum": 0, "maximum": 10}),
            pattern(&format!("{NUMBER}( */ *{NUMBER})?")),
            pattern(LENGTH),
        ]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        let share = match text.split_once('/') {
            Some((above, below)) => plain(above).zip(plain(below)).map(|(above, below)| above / below),
            None => plain(text),
        };
        match share {
            Some(share) => Self::number(share),
            None => length(text).map(Self::Long),
        }
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        /// Ten times the height: a gap, perhaps; more is a slip.
        const MOST: f64 = 10.0;
        let wrong =
            || Wrong::new(format!("`{number}` is no share of a height"), format!("write {}", Self::WANTED));
        if (0.0..=MOST).contains(&number) { Ok(Self::Share(number)) } else { Err(wrong()) }
    }
}

impl Word for Align {
    const WANTED: &'static str = "`left`, `centre` or `right`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("left", Self::Left), ("centre", Self::Centre), ("right", Self::Right)]
    }
}

impl Word for BowSide {
    const WANTED: &'static str = "`over` or `under`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("over", Self::Over), ("under", Self::Under)]
    }
}

impl Word for Upright {
    const WANTED: &'static str = "`upright`, `level` or an angle such as `45 deg`";

    fn words() -> Vec<(&'static str, Self)> {
        [("upright", 90.0), ("level", 0.0)]
            .map(|(word, degrees)| (word, Self(Angle::degrees(degrees))))
            .into()
    }

    fn forms() -> Vec<Value> {
        Angle::forms()
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        if text.starts_with(|c: char| c.is_alphabetic()) {
            return choose(text, &Self::words());
        }
        Angle::text(text).map(Self)
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Angle::number(number).map(Self)
    }
}
