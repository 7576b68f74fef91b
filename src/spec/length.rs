//! Lengths as people write them: `18 in`, `1 ft 6 in`, `5 3/4 in`, `7' 6"`, `460 mm`, `0.46 m`.
//!
//! ```text
//! length   = [sign] quantity unit [quantity unit]      two only as feet and inches
//! quantity = decimal | whole whole/whole | whole/whole
//! unit     = mm | cm | m | in | inch | inches | " | ″ | ft | foot | feet | ' | ′
//! ```
//!
//! Left out: which sign or size suits its place; that is the resolver's.

use super::log::Wrong;
use super::problem::{known, shown};
use crate::units::{INCHES_PER_FOOT, Length};

/// Largest length, 1 km: longer than any ship, shorter than a slip of three zeros.
pub const LARGEST_MM: f64 = 1e6;
/// Smallest length but zero, a micrometre: a tenth of what any printer resolves, even before scaling.
pub const SMALLEST_MM: f64 = 1e-3;

/// Units by the words for them.
const UNITS: [(&str, Unit); 13] = [
    ("mm", Unit::Millimetre),
    ("cm", Unit::Centimetre),
    ("m", Unit::Metre),
    ("in", Unit::Inch),
    ("ft", Unit::Foot),
    ("inch", Unit::Inch),
    ("inches", Unit::Inch),
    ("foot", Unit::Foot),
    ("feet", Unit::Foot),
    ("\"", Unit::Inch),
    ("″", Unit::Inch),
    ("'", Unit::Foot),
    ("′", Unit::Foot),
];

/// A word of [`UNITS`] as a regular expression (ECMA 262), in any case, for the schema.
pub const UNIT: &str = "[mM][mM]|[cC][mM]|[mM]|[iI][nN]|[fF][tT]|inch|inches|foot|feet|\"|″|'|′";

/// A length as a regular expression (ECMA 262), for the schema.
pub const LENGTH: &str = concat!(
    "[-−+]? *",
    r"(([0-9]+\.?[0-9]*|\.[0-9]+) +[0-9]+\.?[0-9]* */ *|([0-9]+\.?[0-9]*|\.[0-9]+) */ *)?([0-9]+\.?[0-9]*|\.[0-9]+)",
    " *([mM][mM]|[cC][mM]|[mM]|[iI][nN]([cC][hH]([eE][sS])?)?|[fF]([tT]|[oO][oO][tT]|[eE][eE][tT])|[\"″'′])",
    r"( *(([0-9]+\.?[0-9]*|\.[0-9]+) +[0-9]+\.?[0-9]* */ *|([0-9]+\.?[0-9]*|\.[0-9]+) */ *)?([0-9]+\.?[0-9]*|\.[0-9]+)",
    " *([iI][nN]([cC][hH]([eE][sS])?)?|[\"″]))?",
);

/// Units named in help: one word for each.
const NAMED: usize = 5;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Unit {
    Millimetre,
    Centimetre,
    Metre,
    Inch,
    Foot,
}

impl Unit {
    fn of<W>(self, quantity: f64) -> Length<W> {
        match self {
            Self::Millimetre => Length::mm(quantity),
            Self::Centimetre => Length::mm(quantity * 10.0),
            Self::Metre => Length::mm(quantity * 1000.0),
            Self::Inch => Length::inches(quantity),
            Self::Foot => Length::inches(quantity * INCHES_PER_FOOT),
        }
    }
}

/// Reads a length, its sign kept.
pub fn length<W: Copy>(text: &str) -> Result<Length<W>, Wrong> {
    let trimmed = text.trim();
    let (negative, rest) = match trimmed.strip_prefix(['-', '−']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, trimmed.strip_prefix('+').unwrap_or(trimmed).trim_start()),
    };
    let (first, unit, rest) = term(rest, text)?;
    let mut total: Length<W> = unit.of(first);
    if !rest.is_empty() {
        let (inches, second, rest) = term(rest, text)?;
        if unit != Unit::Foot || second != Unit::Inch || !rest.is_empty() {
            let help = "only feet and inches go together: `1 ft 6 in`";
            return Err(Wrong::new(format!("`{}` is not one length", shown(text)), help));
        }
        total += second.of(inches);
    }
    sane(if negative { -total } else { total }, text)
}

/// Millimetres to one of a unit.
pub fn unit_mm(word: &str) -> Result<f64, Wrong> {
    let found = UNITS.iter().find(|(name, _)| name.eq_ignore_ascii_case(word));
    found.map(|&(_, unit)| unit.of::<()>(1.0).to_mm()).ok_or_else(|| {
        let help = known(word, UNITS[..NAMED].iter().map(|&(name, _)| name));
        Wrong::new(format!("`{}` is no unit of length", shown(word)), help)
    })
}

/// Refuses what is no size of anything.
pub fn sane<W: Copy>(length: Length<W>, text: &str) -> Result<Length<W>, Wrong> {
    let mm = length.to_mm().abs();
    if mm.is_nan() || mm > LARGEST_MM {
        return Err(Wrong::new(format!("`{}` is over 1 km", shown(text)), "check the number and its unit"));
    }
    if mm > 0.0 && mm < SMALLEST_MM {
        let message = format!("`{}` is under a thousandth of a millimetre", shown(text));
        return Err(Wrong::new(message, "check the number and its unit"));
    }
    Ok(length)
}

/// A length that names no unit.
pub fn bare(number: &str) -> Wrong {
    let help = format!("name the unit: `{number} mm` or `{number} in`?");
    Wrong::new(format!("`{number}` has no unit"), help)
}

/// A quantity and its unit, and what follows them.
fn term<'t>(text: &'t str, whole: &str) -> Result<(f64, Unit, &'t str), Wrong> {
    let (quantity, rest) = quantity(text, whole)?;
    let end = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
    // The marks for feet and inches are no letters and stand alone.
    let end = if end == 0 { rest.chars().next().map_or(0, char::len_utf8) } else { end };
    let (word, after) = rest.split_at(end);
    if word.is_empty() {
        return Err(bare(&shown(whole)));
    }
    let unit = UNITS.iter().find(|(name, _)| name.eq_ignore_ascii_case(word)).map(|&(_, unit)| unit);
    let unit = unit.ok_or_else(|| {
        let help = match word {
            "," => format!("write a decimal point: `{}`", shown(&whole.replacen(',', ".", 1))),
            _ => known(word, UNITS[..NAMED].iter().map(|&(name, _)| name)),
        };
        Wrong::new(format!("`{}` is no unit of length", shown(word)), help)
    })?;
    Ok((quantity, unit, after.trim_start()))
}

/// `18`, `0.46`, `5 3/4` or `3/4`, and what follows.
fn quantity<'t>(text: &'t str, whole: &str) -> Result<(f64, &'t str), Wrong> {
    let (first, rest) = number(text, whole)?;
    if let Some(below) = rest.strip_prefix('/') {
        let (second, rest) = number(below.trim_start(), whole)?;
        return Ok((share(first, second, whole)?, rest));
    }
    // A second number is the fraction after a whole one.
    if rest.starts_with(|c: char| c.is_ascii_digit()) {
        let (above, rest) = number(rest, whole)?;
        let Some(below) = rest.strip_prefix('/') else { return Err(not_a_length(whole)) };
        let (below, rest) = number(below.trim_start(), whole)?;
        return Ok((first + share(above, below, whole)?, rest));
    }
    Ok((first, rest))
}

fn share(above: f64, below: f64, whole: &str) -> Result<f64, Wrong> {
    if below == 0.0 {
        return Err(Wrong::new(format!("`{}` divides by zero", shown(whole)), "check the fraction"));
    }
    Ok(above / below)
}

/// Digits and a point, and what follows past any space.
fn number<'t>(text: &'t str, whole: &str) -> Result<(f64, &'t str), Wrong> {
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    let (digits, rest) = text.split_at(end);
    let number = digits.parse().map_err(|_| not_a_length(whole))?;
    Ok((number, rest.trim_start()))
}

fn not_a_length(whole: &str) -> Wrong {
    let help = "write a number and a unit: `18 in`, `5 3/4 in`, `1 ft 6 in`, `460 mm`";
    Wrong::new(format!("`{}` is not a length", shown(whole)), help)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Full;
    use proptest::prelude::*;

    fn mm(text: &str) -> f64 {
        length::<Full>(text).unwrap().to_mm()
    }

    fn wrong(text: &str) -> Wrong {
        length::<Full>(text).unwrap_err()
    }

    #[test]
    fn lengths_are_what_the_yard_agreement_makes_them() {
        // 1 in = 25.4 mm exactly, 1 ft = 12 in: international yard and pound agreement, 1959.
        for (text, millimetres) in [
            ("18 in", 457.2),
            ("18in", 457.2),
            ("18 inches", 457.2),
            ("18\"", 457.2),
            ("1 ft 6 in", 457.2),
            ("1' 6\"", 457.2),
            ("1′6″", 457.2),
            ("5 3/4 in", 146.05),
            ("3/4 in", 19.05),
            ("7' 6\"", 2286.0),
            ("7 ft 5 1/2 in", 2273.3),
            ("460 mm", 460.0),
            ("46 cm", 460.0),
            ("0.46 m", 460.0),
            (".5 m", 500.0),
            ("-95 mm", -95.0),
            ("−95 mm", -95.0),
            ("+95 MM", 95.0),
            (" 0 mm ", 0.0),
        ] {
            assert!((mm(text) - millimetres).abs() < 1e-9, "{text}");
        }
    }

    #[test]
    fn what_is_no_length_says_why() {
        for (text, message, help) in [
            ("18", "`18` has no unit", "name the unit: `18 mm` or `18 in`?"),
            ("18 im", "`im` is no unit of length", "`in`"),
            ("1,5 m", "`,` is no unit of length", "write a decimal point: `1.5 m`"),
            ("wide", "`wide` is not a length", "`18 in`"),
            ("", "`` is not a length", "`18 in`"),
            ("1.2.3 mm", "`1.2.3 mm` is not a length", "`18 in`"),
            ("5 3 in", "`5 3 in` is not a length", "`5 3/4 in`"),
            ("3/0 in", "`3/0 in` divides by zero", "fraction"),
            ("2 m 30 cm", "`2 m 30 cm` is not one length", "`1 ft 6 in`"),
            ("6 in 1 ft", "`6 in 1 ft` is not one length", "`1 ft 6 in`"),
            ("1 ft 6", "`1 ft 6` has no unit", "name the unit"),
            ("2 km", "`km` is no unit of length", "`m`"),
            ("1001 m", "`1001 m` is over 1 km", "unit"),
            ("0.0001 mm", "`0.0001 mm` is under a thousandth of a millimetre", "unit"),
            ("NaN mm", "`NaN mm` is not a length", "number"),
            ("inf mm", "`inf mm` is not a length", "number"),
        ] {
            let wrong = wrong(text);
            assert_eq!(wrong.message, message);
            assert!(wrong.help.contains(help), "{text}: {}", wrong.help);
        }
        let endless = format!("{} mm", "9".repeat(400));
        assert!(wrong(&endless).message.ends_with("is over 1 km"));
    }

    proptest! {
        #[test]
        fn millimetres_come_back_as_they_were_written(mm in -1e6..1e6f64) {
            prop_assume!(mm.abs() >= SMALLEST_MM);
            prop_assert_eq!(length::<Full>(&format!("{mm} mm")).unwrap().to_mm(), mm);
        }

        #[test]
        fn inches_come_back_within_a_last_digit(whole in 0..2000u32, above in 0..64u32) {
            let inches = f64::from(whole) + f64::from(above) / 64.0;
            prop_assume!(inches > 0.0);
            let read = length::<Full>(&format!("{whole} {above}/64 in")).unwrap();
            prop_assert!((read.to_inches() - inches).abs() <= inches * 1e-15);
        }

        #[test]
        fn any_text_is_a_length_or_a_reason(text in ".*") {
            let _ = length::<Full>(&text);
        }
    }
}
