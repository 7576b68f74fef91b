//! Measures: lengths and angles with their units, the way round a part, scales.

use super::{NUMBER, Word, choose, pattern, plain};
use crate::spec::length::{LENGTH, bare, length};
use crate::spec::log::Wrong;
use crate::spec::problem::shown;
use crate::units::{Angle, Full, Length, Model, Scale};
use serde_json::{Value, json};

/// An angle round a part from the top: an angle, or one of the four sides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Around(pub Angle);

impl Word for Length<Full> {
    const WANTED: &'static str = "a length such as `18 in` or `460 mm`";

    fn forms() -> Vec<Value> {
        vec![pattern(LENGTH)]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        length(text)
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Err(unitless(number, bare))
    }
}

impl Word for Length<Model> {
    const WANTED: &'static str = "a length such as `5.2 mm`";

    fn forms() -> Vec<Value> {
        vec![pattern(LENGTH)]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        length(text)
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Err(unitless(number, bare))
    }
}

/// A number that YAML knows where one with a unit is wanted.
pub(super) fn unitless(number: f64, bare: impl Fn(&str) -> Wrong) -> Wrong {
    match number.is_finite() {
        true => bare(&number.to_string()),
        false => Wrong::new(format!("`{number}` is no size"), "write a number and a unit, such as `18 in`"),
    }
}

impl Word for Angle {
    const WANTED: &'static str = "an angle such as `45 deg` or `45°`";

    fn forms() -> Vec<Value> {
        vec![pattern(&format!("{NUMBER} *(degrees|degree|deg|°)"))]
    }

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

impl Word for Around {
    const WANTED: &'static str = "`top`, `left`, `bottom`, `right` or an angle such as `45 deg`";

    fn words() -> Vec<(&'static str, Self)> {
        // Polar angle about the section's centre, counted from the top over the left.
        let sides = [("top", 0.0), ("left", 90.0), ("bottom", 180.0), ("right", 270.0)];
        sides.map(|(word, degrees)| (word, Self(Angle::degrees(degrees)))).into()
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

impl Word for Scale {
    const WANTED: &'static str = "a scale such as `1/48`, or `full`";

    fn forms() -> Vec<Value> {
        vec![pattern(r"[fF][uU][lL][lL]|1 */ *([0-9]+\.?[0-9]*|\.[0-9]+)")]
    }

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

/// Whether a strap hangs free on its way to a point, and how long it is there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Free {
    No,
    Straight,
    Long(Length<Full>),
}

impl Word for Free {
    const WANTED: &'static str = "`true`, or the length of the free stretch such as `120 mm`";

    fn forms() -> Vec<Value> {
        vec![json!({"type": "boolean"}), pattern(LENGTH)]
    }

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
}
