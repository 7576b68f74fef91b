//! The leaf words of the language: one text or number each, read on its own.
//!
//! Lengths have a file to themselves. Left out: what goes with what.

use super::length::{bare, length, unit_mm};
use super::log::Wrong;
use super::problem::{known, shown};
use crate::flow::{Align, End, Make, MaskFilm, SizeBy, View};
use crate::surface::mesh::Way;
use crate::units::{Angle, Full, Length, Model, Scale};
use serde::de::{Deserialize, Deserializer, Error, Unexpected, Visitor};
use std::fmt;
use std::marker::PhantomData;

/// A value that is written as one word or number.
pub trait Word: Sized {
    /// With an example, to go after "write".
    const WANTED: &'static str;

    fn text(text: &str) -> Result<Self, Wrong>;

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
    ($($word:ty),*) => { $(
        impl<'de> Deserialize<'de> for $word {
            fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
                reader.deserialize_any(WordVisitor(PhantomData))
            }
        }
    )* };
}

words!(Length<Full>, Length<Model>, Angle, Scale, View, Make, SizeBy, Around, MaskFilm, Round, Depth);
words!(Text, Number, Count, Switch, Share, Rgb, Ends, Keep, Page, Version, Hand, HelixEnds, Free);
words!(Unit, Digits, Way);
words!(Cornered, Data, Filled, Seed, UnitOf);
words!(Proportion, Align, BowSide, Upright);

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

/// An angle round a part from the top: an angle, or one of the four sides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Around(pub Angle);

/// One end, both or none.
#[derive(Clone, Debug, PartialEq)]
pub struct Ends(pub Vec<End>);

/// Which way a blade goes round a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Round {
    Clockwise,
    Counter,
}

/// How deep a blade goes: the film alone, or through what carries it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    Kiss,
    Through,
}
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

/// Whether a strap hangs free on its way to a point, and how long it is there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Free {
    No,
    Straight,
    Long(Length<Full>),
}

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

impl Word for Length<Full> {
    const WANTED: &'static str = "a length such as `18 in` or `460 mm`";

    fn text(text: &str) -> Result<Self, Wrong> {
        length(text)
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Err(unitless(number, bare))
    }
}

impl Word for Length<Model> {
    const WANTED: &'static str = "a length such as `5.2 mm`";

    fn text(text: &str) -> Result<Self, Wrong> {
        length(text)
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Err(unitless(number, bare))
    }
}

/// A number that YAML knows where one with a unit is wanted.
fn unitless(number: f64, bare: impl Fn(&str) -> Wrong) -> Wrong {
    match number.is_finite() {
        true => bare(&number.to_string()),
        false => Wrong::new(format!("`{number}` is no size"), "write a number and a unit, such as `18 in`"),
    }
}

impl Word for Angle {
    const WANTED: &'static str = "an angle such as `45 deg` or `45°`";

    fn text(text: &str) -> Result<Self, Wrong> {
        /// Ten turns: more is a slip.
        const MOST: f64 = 3600.0;
        let units = ["degrees", "degree", "deg", "°"];
        let trimmed = text.trim();
        let Some(digits) = units.iter().find_map(|unit| trimmed.strip_suffix(unit)) else {
            let help = format!("write {}", Self::WANTED);
            return Err(match plain(trimmed) {
                Some(_) => bare_angle(trimmed),
                None => Wrong::new(format!("`{}` is not an angle", shown(text)), help),
            });
        };
        let degrees = plain(digits).filter(|degrees| degrees.abs() <= MOST);
        let help = || format!("write {}", Self::WANTED);
        let wrong = || Wrong::new(format!("`{}` is not an angle up to {MOST}°", shown(text)), help());
        degrees.map(Self::degrees).ok_or_else(wrong)
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Err(bare_angle(&number.to_string()))
    }
}

fn bare_angle(number: &str) -> Wrong {
    Wrong::new(format!("`{number}` has no unit"), format!("name the unit: `{number} deg`"))
}

/// A decimal number and nothing else: no `inf`, no `NaN`, no exponent.
fn plain(text: &str) -> Option<f64> {
    let text = text.trim().replacen('−', "-", 1);
    let digits = text.strip_prefix(['-', '+']).unwrap_or(&text);
    let numeric = digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    text.parse().ok().filter(|number: &f64| numeric && number.is_finite())
}

impl Word for Around {
    const WANTED: &'static str = "`top`, `left`, `bottom`, `right` or an angle such as `45 deg`";

    fn text(text: &str) -> Result<Self, Wrong> {
        // Polar angle about the section's centre, counted from the top over the left.
        let sides = [("top", 0.0), ("left", 90.0), ("bottom", 180.0), ("right", 270.0)];
        if text.starts_with(|c: char| c.is_alphabetic()) {
            return choose(text, &sides).map(|degrees| Self(Angle::degrees(degrees)));
        }
        Angle::text(text).map(Self)
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Angle::number(number).map(Self)
    }
}

impl Word for Scale {
    const WANTED: &'static str = "a scale such as `1/48`, or `full`";

    fn text(text: &str) -> Result<Self, Wrong> {
        let text = text.trim();
        if text.eq_ignore_ascii_case("full") {
            return Ok(Self::FULL);
        }
        if let Some((one, many)) = text.split_once(':') {
            let help =
                format!("write `{}/{}`: a colon means something else in YAML", shown(one), shown(many));
            return Err(Wrong::new(format!("`{}` is not a scale", shown(text)), help));
        }
        let help = || format!("write {}", Self::WANTED);
        let wrong = || Wrong::new(format!("`{}` is not a scale", shown(text)), help());
        let (one, many) = text.split_once('/').ok_or_else(wrong)?;
        if plain(one) != Some(1.0) {
            return Err(wrong());
        }
        plain(many).and_then(Self::one_to).ok_or_else(|| {
            let help = format!("scales go from 100 times full size, `1/0.01`, to `1/{}`", Self::SMALLEST);
            Wrong::new(format!("`{}` is no scale of a model", shown(text)), help)
        })
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        // `1/0` would be no better advice than `0`.
        let help = match Self::one_to(number) {
            Some(_) => format!("write `1/{number}`"),
            None => format!("write {}", Self::WANTED),
        };
        Err(Wrong::new(format!("`{number}` is not a scale"), help))
    }
}

impl Word for Share {
    const WANTED: &'static str = "a per cent such as `1.5 %`";

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

    fn text(text: &str) -> Result<Self, Wrong> {
        let wrong =
            || Wrong::new(format!("`{}` is not a colour", shown(text)), format!("write {}", Self::WANTED));
        Self::hex(text.trim()).ok_or_else(wrong)
    }
}

impl Word for Text {
    const WANTED: &'static str = "a text";

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

impl Word for Seed {
    const WANTED: &'static str = "a whole number such as `7`";

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

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("square", Self::Square), ("round", Self::Round)])
    }
}

impl Word for Filled {
    const WANTED: &'static str = "`non-zero` or `even-odd`";

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("non-zero", Self::NonZero), ("even-odd", Self::EvenOdd)])
    }
}

impl Word for Switch {
    const WANTED: &'static str = "`true` or `false`";

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("true", true), ("false", false)]).map(Self)
    }
}

impl Word for Version {
    const WANTED: &'static str = "the version of the language, `1`";

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

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &Self::ALL.map(|view| (view.word(), view)))
    }
}

impl Word for Make {
    const WANTED: &'static str = "`decal`, `mask` or `tape`";

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[Self::Decal, Self::Mask, Self::Tape].map(|make| (make.word(), make)))
    }
}

impl Word for MaskFilm {
    const WANTED: &'static str = "`window` or `cover`";

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("window", Self::Window), ("cover", Self::Cover)])
    }
}

impl Word for Round {
    const WANTED: &'static str = "`clockwise` or `counter-clockwise`";

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("clockwise", Self::Clockwise), ("counter-clockwise", Self::Counter)])
    }
}

impl Word for Depth {
    const WANTED: &'static str = "`kiss` or `through`";

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("kiss", Self::Kiss), ("through", Self::Through)])
    }
}

impl Word for SizeBy {
    const WANTED: &'static str = "`scale` or `part`";

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("scale", Self::Scale), ("part", Self::Part)])
    }
}

impl Word for Ends {
    const WANTED: &'static str = "`front`, `rear`, `ends` or `no`";

    fn text(text: &str) -> Result<Self, Wrong> {
        let (front, rear) = (End::Front, End::Rear);
        let words =
            [("front", vec![front]), ("rear", vec![rear]), ("ends", vec![front, rear]), ("no", vec![])];
        choose(text, &words).map(Self)
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

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &Self::ALL)
    }
}

impl Word for Hand {
    const WANTED: &'static str = "`right` or `left`";

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("right", Self::Right), ("left", Self::Left)])
    }
}

impl Word for HelixEnds {
    const WANTED: &'static str = "`square` or `flush`";

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("square", Self::Square), ("flush", Self::Flush)])
    }
}

impl Word for Free {
    const WANTED: &'static str = "`true`, or the length of the free stretch such as `120 mm`";

    fn text(text: &str) -> Result<Self, Wrong> {
        match text {
            "true" => Ok(Self::Straight),
            "false" => Ok(Self::No),
            _ => length(text).map(Self::Long),
        }
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Err(unitless(number, bare))
    }
}

impl Word for Unit {
    const WANTED: &'static str = "a unit such as `mm` or `in`";

    fn text(text: &str) -> Result<Self, Wrong> {
        unit_mm(text).map(Self)
    }
}

impl Word for Digits {
    const WANTED: &'static str = "four digits such as \"2412\", quoted";

    fn text(text: &str) -> Result<Self, Wrong> {
        Ok(Self(text.into()))
    }
}

impl Word for Way {
    const WANTED: &'static str = "an axis of the file such as `+y`";

    fn text(text: &str) -> Result<Self, Wrong> {
        Self::from_word(&text.to_ascii_lowercase()).ok_or_else(|| {
            let help = "write `+x`, `-x`, `+y`, `-y`, `+z` or `-z`";
            Wrong::new(format!("`{}` is no axis of the file", shown(text)), help)
        })
    }
}

impl<'de> Deserialize<'de> for Phrase {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        reader.deserialize_any(PhraseVisitor)
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

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("left", Self::Left), ("centre", Self::Centre), ("right", Self::Right)])
    }
}

impl Word for BowSide {
    const WANTED: &'static str = "`over` or `under`";

    fn text(text: &str) -> Result<Self, Wrong> {
        choose(text, &[("over", Self::Over), ("under", Self::Under)])
    }
}

impl Word for Upright {
    const WANTED: &'static str = "`upright`, `level` or an angle such as `45 deg`";

    fn text(text: &str) -> Result<Self, Wrong> {
        if text.starts_with(|c: char| c.is_alphabetic()) {
            let words = [("upright", 90.0), ("level", 0.0)];
            return choose(text, &words).map(|degrees| Self(Angle::degrees(degrees)));
        }
        Angle::text(text).map(Self)
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Angle::number(number).map(Self)
    }
}

impl Word for Page {
    const WANTED: &'static str = "a paper size such as `A4`";

    fn text(text: &str) -> Result<Self, Wrong> {
        // ISO 216; letter is ANSI A, 8 1/2 × 11 in (ASME Y14.1).
        let letter = Self { width: Length::inches(8.5), height: Length::inches(11.0) };
        let papers = [
            ("A3", Self::mm(297.0, 420.0)),
            ("A4", Self::mm(210.0, 297.0)),
            ("A5", Self::mm(148.0, 210.0)),
            ("A6", Self::mm(105.0, 148.0)),
            ("letter", letter),
        ];
        choose(text, &papers)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_a_part_the_four_sides_stand_at_right_angles() {
        let degrees = |text| Around::text(text).unwrap().0.to_degrees();
        assert_eq!(["top", "left", "bottom", "right"].map(degrees), [0.0, 90.0, 180.0, 270.0]);
        assert!((degrees("45°") - 45.0).abs() < 1e-12);
        assert!((degrees("-45 deg") + 45.0).abs() < 1e-12);
        assert!(Around::text("lfet").unwrap_err().help.starts_with("did you mean `left`?"));
        assert_eq!(Angle::number(45.0).unwrap_err().help, "name the unit: `45 deg`");
        assert_eq!(Angle::text("45").unwrap_err().help, "name the unit: `45 deg`");
        for bad in ["inf deg", "NaN°", "1e3 deg", "4000 deg", "deg"] {
            assert!(Angle::text(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn scales_as_the_trade_writes_them_and_nothing_else() {
        let denominator = |text| Scale::text(text).map(Scale::denominator);
        assert_eq!(denominator("1/48"), Ok(48.0));
        assert_eq!(denominator("1 / 72.5"), Ok(72.5));
        assert_eq!(denominator("full"), Ok(1.0));
        assert!(denominator("1:48").unwrap_err().help.starts_with("write `1/48`"));
        assert_eq!(Scale::number(48.0).unwrap_err().help, "write `1/48`");
        for bad in [0.0, -48.0, f64::NAN, f64::INFINITY] {
            assert_eq!(Scale::number(bad).unwrap_err().help, "write a scale such as `1/48`, or `full`");
        }
        for bad in ["1/0", "1/-48", "1/inf", "2/48", "1/1e3", "1/20000", "0", "1/", "/48"] {
            assert!(denominator(bad).is_err(), "{bad}");
        }
    }

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
