//! Words about sheets of film: how pieces may be turned on them, what is tried to save film, what it costs.

use super::super::log::Wrong;
use super::super::problem::shown;
use super::{Angle, Price, Turning, Word};
use serde_json::{Value, json};

/// How much is tried to save film.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort(pub u32);

/// Past this a sheet takes minutes and gains nothing.
const MOST_EFFORT: u32 = 1000;

impl Word for Turning {
    const WANTED: &'static str = "`readable`, `free`, `fixed` or a step such as `180 deg`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("readable", Self::Readable), ("free", Self::Free), ("fixed", Self::Fixed)]
    }

    fn forms() -> Vec<Value> {
        Angle::forms()
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        let is_word = |word: &&(&str, Self)| word.0.eq_ignore_ascii_case(text);
        if let Some((_, turning)) = Self::words().iter().find(is_word) {
            return Ok(*turning);
        }
        let help = "write `readable`, `free`, `fixed` (as drawn) or a step that divides a full turn: `90 deg`, `180 deg`";
        let Ok(step) = Angle::text(text) else {
            return Err(Wrong::new(format!("`{}` does not say how pieces may be turned", shown(text)), help));
        };
        let degrees = step.to_degrees();
        let count = (360.0 / degrees).round();
        if !(1.0..=360.0).contains(&degrees) || (count * degrees - 360.0).abs() > 1e-6 {
            return Err(Wrong::new(format!("`{}` does not divide a full turn", shown(text)), help));
        }
        Ok(Self::Steps(step))
    }
}

impl Word for Effort {
    const WANTED: &'static str = "a whole number such as `10`";

    fn forms() -> Vec<Value> {
        vec![json!({"type": "integer", "minimum": 0, "maximum": MOST_EFFORT})]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        Err(Wrong::new(format!("`{}` is not a whole number", shown(text)), format!("write {}", Self::WANTED)))
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        if number.fract() == 0.0 && (0.0..=f64::from(MOST_EFFORT)).contains(&number) {
            return Ok(Self(number as u32));
        }
        let help = format!("from 0 (plain rows) to {MOST_EFFORT}; 1 is usual");
        Err(Wrong::new(format!("`{number}` is no effort"), help))
    }
}

impl Word for Price {
    const WANTED: &'static str = "the price of a sheet with its currency, such as `2.40 EUR`";

    fn forms() -> Vec<Value> {
        vec![json!({"type": "string", "examples": ["2.40 EUR"]})]
    }

    fn text(text: &str) -> Result<Self, Wrong> {
        let wrong =
            || Wrong::new(format!("`{}` is not a price", shown(text)), format!("write {}", Self::WANTED));
        let is_digit = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
        let text = text.trim();
        let from = text.find(|c: char| c.is_ascii_digit()).ok_or_else(wrong)?;
        let to = text[from..].find(|c| !is_digit(c)).map_or(text.len(), |k| from + k);
        let (before, after) = (text[..from].trim(), text[to..].trim());
        // A comma is a decimal mark; before three digits and no more it may be one of thousands: not read.
        let places = text[from..to].rsplit_once(['.', ',']).map_or(0, |(_, places)| places.len());
        if places > 2 {
            return Err(wrong());
        }
        let amount: f64 = text[from..to].replace(',', ".").parse().map_err(|_| wrong())?;
        let (currency, leads) = if before.is_empty() { (after, false) } else { (before, true) };
        let one_side = before.is_empty() != after.is_empty();
        if !one_side
            || currency.chars().count() > 12
            || currency.chars().any(|c| c.is_ascii_digit() || c == '-')
        {
            return Err(wrong());
        }
        /// Dearer than any sheet of film in any currency.
        const MOST: f64 = 1e9;
        if amount > MOST {
            return Err(wrong());
        }
        Ok(Self { amount, currency: currency.into(), leads })
    }

    fn number(number: f64) -> Result<Self, Wrong> {
        Err(Wrong::new(format!("`{number}` has no currency"), format!("write {}", Self::WANTED)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns_are_words_or_steps_that_come_out_whole() {
        assert_eq!(Turning::text("Free"), Ok(Turning::Free));
        assert_eq!(Turning::text("readable"), Ok(Turning::Readable));
        assert_eq!(Turning::text("180 deg"), Ok(Turning::Steps(Angle::degrees(180.0))));
        for bad in ["7 deg", "0 deg", "-90 deg", "sideways", "90", "720 deg"] {
            assert!(Turning::text(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn prices_keep_their_words() {
        let four = |text| Price::text(text).unwrap().times(4);
        assert_eq!(four("2.40 EUR"), "9.60 EUR");
        assert_eq!(four("2,40 €"), "9.60 €");
        assert_eq!(four("£3"), "£12.00");
        assert_eq!(four("Fr. 1.5"), "Fr. 6.00");
        for bad in [
            "1,200 JPY",
            "1.200 EUR",
            "2.40",
            "EUR",
            "",
            "-3 EUR",
            "1.2.3 EUR",
            "EUR 3 net",
            "9e99 EUR",
            "99999999999 EUR",
        ] {
            assert!(Price::text(bad).is_err(), "{bad}");
        }
        assert!(Price::number(2.4).unwrap_err().message.contains("no currency"));
    }

    #[test]
    fn an_effort_is_a_number_of_steps() {
        assert_eq!(Effort::number(0.0), Ok(Effort(0)));
        for bad in [-1.0, 0.5, 1001.0, f64::NAN] {
            assert!(Effort::number(bad).is_err(), "{bad}");
        }
    }
}
