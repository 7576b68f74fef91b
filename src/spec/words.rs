//! The leaf words of the language: one text or number each, read on its own.
//!
//! How lengths are written is in `spec/length.rs`; words of drawings, of measures, of film
//! and of the tools that print, spray and cut have files of their own.
//! Left out: what goes with what.

mod drawn;
mod film;
mod measure;
mod tools;

pub use drawn::*;
pub use film::Effort;
pub use measure::{Around, Free};
pub use tools::{Depth, Lined, Round};

use super::length::{UNIT, unit_mm};
use super::log::Wrong;
use super::problem::{known, shown};
use crate::flow::{
    Align, End, Ground, Labels, Make, MaskFilm, PdfFiles, Price, Shades, SizeBy, Turning, View,
};
use crate::surface::mesh::Way;
use crate::units::{Angle, Full, Length, Model, Scale};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error, Unexpected, Visitor};
use serde_json::{Value, json};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// A value that is written as one word or number.
pub trait Word: Sized + Clone {
    /// With an example, to go after "write".
    const WANTED: &'static str;

    /// The words it may be, each with what it stands for.
    fn words() -> Vec<(&'static str, Self)> {
        Vec::new()
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &Self::words())
    }

    /// What else than [`Word::words`] may be written, as alternatives of a JSON Schema. An editor is told no
    /// more than the form: sizes and sense are the reader's.
    fn forms() -> Vec<Value> {
        Vec::new()
    }

    /// From a number that YAML knows as one.
    fn number(number: f64) -> Result<Self, Wrong> {
        Self::text(&number.to_string())
    }
}

/// Hands a scalar to its [`Word`].
struct WordVisitor<T>(PhantomData<T>);

impl<T: Word> Visitor<'_> for WordVisitor<T> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(T::WANTED)
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<T, E> {
        T::text(text).map_err(E::custom)
    }

    fn visit_f64<E: Error>(self, number: f64) -> Result<T, E> {
        T::number(number).map_err(E::custom)
    }

    fn visit_bool<E: Error>(self, yes: bool) -> Result<T, E> {
        T::text(if yes { "true" } else { "false" }).map_err(|_| E::invalid_type(Unexpected::Bool(yes), &self))
    }
}

macro_rules! words {
    ($($word:ident),*) => { words!($($word as stringify!($word)),*); };
    ($($word:ty as $name:expr),*) => { $(
        impl<'de> Deserialize<'de> for $word {
            fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
                reader.deserialize_any(WordVisitor(PhantomData))
            }
        }

        impl JsonSchema for $word {
            fn schema_name() -> Cow<'static, str> {
                $name.into()
            }

            fn schema_id() -> Cow<'static, str> {
                concat!(module_path!(), stringify!($word)).into()
            }

            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                schema_of::<Self>()
            }
        }
    )* };
}

words!(Length<Full> as "Length", Length<Model> as "PhysicalLength", View as "Side", Around as "Around");
words!(Angle, Scale, Make, SizeBy, MaskFilm, Round, Depth, Text, Number, Count, Switch, Share, Rgb, Ends);
words!(Keep, Page, Version, Hand, HelixEnds, Free, Unit, Digits, Way);
words!(Cornered, Data, Filled, Seed, UnitOf);
words!(Proportion, Align, BowSide, Upright);
words!(Turning, Effort, Price);
words!(Ground, Shades, PdfFiles, Lined, Labels);

/// A decimal number as [`plain`] reads it, for schemas.
const NUMBER: &str = r"[-+−]?([0-9]+\.?[0-9]*|\.[0-9]+)";

/// A text of this form and nothing else, but for white space round it.
fn pattern(form: &str) -> Value {
    json!({"type": "string", "pattern": format!("^\\s*({form})\\s*$")})
}

/// A word of the language, as a JSON Schema: its words and its other forms.
fn schema_of<T: Word>() -> Schema {
    let words: Vec<&str> = T::words().into_iter().map(|(word, _)| word).collect();
    let mut forms = T::forms();
    if !words.is_empty() {
        forms.insert(0, json!({"type": "string", "enum": words}));
    }
    let mut schema = match <[Value; 1]>::try_from(forms) {
        Ok([one]) => Schema::try_from(one).unwrap_or_default(),
        Err(none) if none.is_empty() => Schema::default(),
        Err(several) => json_schema!({"anyOf": several}),
    };
    schema.insert("description".to_owned(), T::WANTED.into());
    schema
}

/// Free text, or a name.
#[derive(Clone, Debug, PartialEq)]
pub struct Text(pub String);

/// A plain number without a unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Number(pub f64);

/// How many.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Count(pub u32);

/// True or false.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Switch(pub bool);

/// A per cent as a share of 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share(pub f64);

/// A colour by its parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rgb(pub [u8; 3]);

/// One end, both or none.
#[derive(Clone, Debug, PartialEq)]
pub struct Ends(pub Vec<End>);

/// A unit of length, as the millimetres that one of it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit(pub f64);

/// The name of a wing section, which looks like a number.
#[derive(Clone, Debug, PartialEq)]
pub struct Digits(pub String);

/// The version of the language; there is one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Version;

/// The side of a limit that film keeps to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keep {
    Ahead,
    Behind,
    Left,
    Right,
    Above,
    Below,
    Inside,
    Outside,
}

/// Which way a helix turns: a right-handed one as the thread of a common screw.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    Right,
    Left,
}

/// How the ends of a helix are cut: square across the stripe, or flush with the part's own ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HelixEnds {
    Square,
    Flush,
}

/// A paper size by name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Page {
    pub width: Length<Model>,
    pub height: Length<Model>,
}

impl Page {
    const fn mm(width: f64, height: f64) -> Self {
        Self { width: Length::mm(width), height: Length::mm(height) }
    }
}

/// The value that a word stands for, out of a list of all.
fn choose<T: Clone>(text: &str, words: &[(&'static str, T)]) -> Result<T, Wrong> {
    let found = words.iter().find(|(word, _)| word.eq_ignore_ascii_case(text));
    found.map(|(_, value)| value.clone()).ok_or_else(|| {
        let help = known(text, words.iter().map(|&(word, _)| word));
        Wrong::new(format!("unknown word `{}`", shown(text)), help)
    })
}

/// A decimal number and nothing else: no `inf`, no `NaN`, no exponent.
fn plain(text: &str) -> Option<f64> {
    let text = text.trim().replacen('−', "-", 1);
    let digits = text.strip_prefix(['-', '+']).unwrap_or(&text);
    let numeric = digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    text.parse().ok().filter(|number: &f64| numeric && number.is_finite())
}

impl Word for Share {
    const WANTED: &'static str = "a per cent such as `1.5 %`";

    fn forms() -> Vec<Value> {
        vec![pattern(&format!(r"{NUMBER} *%"))]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        let wrong = || {
            let help = format!("write {}", Self::WANTED);
            Wrong::new(format!("`{}` is not a per cent", shown(text)), help)
        };
        let digits = text.trim().strip_suffix('%').ok_or_else(wrong)?;
        plain(digits).map(|number| Self(number / 100.0)).ok_or_else(wrong)
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        let help = format!("name the unit: `{number} %`");
        Err(Wrong::new(format!("`{number}` is not a per cent"), help))
    }
}

impl Rgb {
    /// `#rrggbb` or `#rgb`.
    pub fn hex(text: &str) -> Option<Self> {
        let digits = text.strip_prefix('#').filter(|digits| digits.bytes().all(|b| b.is_ascii_hexdigit()))?;
        let byte = |part: &str| u8::from_str_radix(part, 16).ok();
        let parts: Vec<u8> = match digits.len() {
            3 => (0..3).filter_map(|i| byte(&digits[i..=i]).map(|half| half * 17)).collect(),
            6 => (0..3).filter_map(|i| byte(&digits[2 * i..2 * i + 2])).collect(),
            _ => return None,
        };
        parts.try_into().ok().map(Self)
    }
}

impl Word for Rgb {
    const WANTED: &'static str = "a colour such as \"#c8321e\", quoted";

    fn forms() -> Vec<Value> {
        vec![pattern("#([0-9a-fA-F]{3}|[0-9a-fA-F]{6})")]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        let wrong =
            || Wrong::new(format!("`{}` is not a colour", shown(text)), format!("write {}", Self::WANTED));
        Self::hex(text.trim()).ok_or_else(wrong)
    }
}

impl Word for Text {
    const WANTED: &'static str = "a text";

    fn forms() -> Vec<Value> {
        vec![json!({"type": ["string", "boolean"]})]
    }

    /// YAML has lost the noughts of `70.950` by the time it is a number.
    fn number(number: f64) -> Result<Self, Wrong> {
        Err(Wrong::new(format!("`{number}` is read as a number"), "quote it as it is to stand: \"…\""))
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        /// Longer than any note, shorter than a page can hold.
        const LONGEST: usize = 2000;
        if text.len() > LONGEST {
            let message = format!("a text of {} letters", text.len());
            return Err(Wrong::new(message, format!("write less than {LONGEST}")));
        }
        Ok(Self(text.into()))
    }
}

impl Word for Number {
    const WANTED: &'static str = "a plain number";

    fn forms() -> Vec<Value> {
        vec![json!({"type": "number"})]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        Err(Wrong::new(
            format!("`{}` is not a plain number", shown(text)),
            "write digits only, without a unit",
        ))
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        let finite = number.is_finite().then_some(Self(number));
        finite.ok_or_else(|| Wrong::new(format!("`{number}` is no number to work with"), "write digits"))
    }
}

impl Word for Count {
    const WANTED: &'static str = "a whole number such as `5`";

    fn forms() -> Vec<Value> {
        vec![json!({"type": "integer", "minimum": 1})]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        let message = format!("`{}` is not a whole number", shown(text));
        Err(Wrong::new(message, format!("write {}", Self::WANTED)))
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        /// More of anything than a sheet of film shows.
        const MOST: f64 = 10_000.0;
        if number.fract() != 0.0 || !(1.0..=MOST).contains(&number) {
            let help = format!("write a whole number from 1 to {MOST}");
            let message = match number > MOST {
                true => format!("`{number}` is more than a sheet can show"),
                false => format!("`{number}` does not count anything"),
            };
            return Err(Wrong::new(message, help));
        }
        Ok(Self(number as u32))
    }
}

impl Word for Switch {
    const WANTED: &'static str = "`true` or `false`";

    fn forms() -> Vec<Value> {
        vec![json!({"type": "boolean"})]
    }

    fn words() -> Vec<(&'static str, Self)> {
        vec![("true", Self(true)), ("false", Self(false))]
    }
}

impl Word for Version {
    const WANTED: &'static str = "the version of the language, `1`";

    fn forms() -> Vec<Value> {
        vec![json!({"const": 1})]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        let message = format!("version `{}` of the language is not known here", shown(text));
        Err(Wrong::new(message, "this program reads version 1: `markloft: 1`"))
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        if number == 1.0 { Ok(Self) } else { Self::text(&number.to_string()) }
    }
}

impl Word for View {
    const WANTED: &'static str = "a side such as `left`";

    fn words() -> Vec<(&'static str, Self)> {
        Self::ALL.map(|view| (view.word(), view)).into()
    }
}

impl Word for Make {
    const WANTED: &'static str = "`decal`, `mask` or `tape`";

    fn words() -> Vec<(&'static str, Self)> {
        [Self::Decal, Self::Mask, Self::Tape].map(|make| (make.word(), make)).into()
    }
}

impl Word for SizeBy {
    const WANTED: &'static str = "`scale` or `part`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("scale", Self::Scale), ("part", Self::Part)]
    }
}

impl Word for Ends {
    const WANTED: &'static str = "`front`, `rear`, `ends` or `no`";

    fn words() -> Vec<(&'static str, Self)> {
        let (front, rear) = (End::Front, End::Rear);
        let ends =
            [("front", vec![front]), ("rear", vec![rear]), ("ends", vec![front, rear]), ("no", vec![])];
        ends.map(|(word, ends)| (word, Self(ends))).into()
    }
}

impl Keep {
    pub const ALL: [(&str, Self); 8] = [
        ("ahead", Self::Ahead),
        ("behind", Self::Behind),
        ("left", Self::Left),
        ("right", Self::Right),
        ("above", Self::Above),
        ("below", Self::Below),
        ("inside", Self::Inside),
        ("outside", Self::Outside),
    ];
}

impl Word for Keep {
    const WANTED: &'static str = "a side such as `behind`";

    fn words() -> Vec<(&'static str, Self)> {
        Self::ALL.into()
    }
}

impl Word for Hand {
    const WANTED: &'static str = "`right` or `left`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("right", Self::Right), ("left", Self::Left)]
    }
}

impl Word for HelixEnds {
    const WANTED: &'static str = "`square` or `flush`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("square", Self::Square), ("flush", Self::Flush)]
    }
}

impl Word for Unit {
    const WANTED: &'static str = "a unit such as `mm` or `in`";

    fn forms() -> Vec<Value> {
        vec![pattern(UNIT)]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        unit_mm(text).map(Self)
    }
}

impl Word for Digits {
    const WANTED: &'static str = "four digits such as \"2412\", quoted";

    fn forms() -> Vec<Value> {
        vec![pattern("[0-9]{4}"), json!({"type": "integer"})]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        Ok(Self(text.into()))
    }
}

impl Word for Way {
    const WANTED: &'static str = "an axis of the file such as `+y`";

    fn forms() -> Vec<Value> {
        vec![pattern("[+-]?[xyzXYZ]")]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        Self::from_word(&text.to_ascii_lowercase()).ok_or_else(|| {
            let help = "write `+x`, `-x`, `+y`, `-y`, `+z` or `-z`";
            Wrong::new(format!("`{}` is no axis of the file", shown(text)), help)
        })
    }
}

impl Word for Page {
    const WANTED: &'static str = "a paper size such as `A4`";

    fn words() -> Vec<(&'static str, Self)> {
        // ISO 216; letter is ANSI A, 8 1/2 × 11 in (ASME Y14.1).
        let letter = Self { width: Length::inches(8.5), height: Length::inches(11.0) };
        vec![
            ("A3", Self::mm(297.0, 420.0)),
            ("A4", Self::mm(210.0, 297.0)),
            ("A5", Self::mm(148.0, 210.0)),
            ("A6", Self::mm(105.0, 148.0)),
            ("letter", letter),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_by_six_digits_or_three() {
        // CSS Color Module Level 4, 5.2: three digits are doubled.
        assert_eq!(Rgb::text("#c8321e"), Ok(Rgb([0xc8, 0x32, 0x1e])));
        assert_eq!(Rgb::text("#0F8"), Ok(Rgb([0x00, 0xff, 0x88])));
        for bad in ["red", "#c8321", "#c8321g", "c8321e", "#+12345", "#éé"] {
            assert!(Rgb::text(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn shares_counts_and_numbers_refuse_what_they_are_not() {
        assert_eq!(Share::text("0.7 %"), Ok(Share(0.7 / 100.0)));
        assert_eq!(Share::number(1.0).unwrap_err().help, "name the unit: `1 %`");
        assert_eq!(Count::number(5.0), Ok(Count(5)));
        for bad in [0.0, -1.0, 2.5, 1e9, f64::NAN, f64::INFINITY] {
            assert!(Count::number(bad).is_err(), "{bad}");
        }
        assert!(Number::number(f64::NAN).is_err());
        assert!(Length::<Full>::number(f64::INFINITY).is_err());
        assert_eq!(Length::<Full>::number(18.0).unwrap_err().help, "name the unit: `18 mm` or `18 in`?");
    }
}
