//! The one way numbers are written: rounded, short, the same everywhere.
//!
//! For files as fine as a machine reads them, for people as fine as they can measure: what the
//! terminal, the report and the findings say of one length or share are the same figures.

/// `value` with at most `decimals` places, no trailing zeros, no `-0`, always a full stop.
pub fn short(value: f64, decimals: usize) -> String {
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        let kept = text.trim_end_matches('0').trim_end_matches('.').len();
        text.truncate(kept);
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// The same for path data, which does not ask for the nought before the stop.
pub fn packed(value: f64, decimals: usize) -> String {
    let text = short(value, decimals);
    match (text.strip_prefix("0."), text.strip_prefix("-0.")) {
        (Some(rest), _) => format!(".{rest}"),
        (_, Some(rest)) => format!("-.{rest}"),
        _ => text,
    }
}

/// Millimetres in a file that a machine reads: four places, a tenth of a micrometre.
pub fn mm(value: f64) -> String {
    short(value, 4)
}

/// `value` rounded to `decimals` places, so that two builds that differ in the last bit write the same file.
pub fn rounded(value: f64, decimals: u32) -> f64 {
    let unit = f64::from(10_u32.pow(decimals));
    let rounded = (value * unit).round() / unit;
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// A length for people: millimetres as a rule shows them, a tenth; a hundredth under one. `6.1 mm`, `0.04 mm`.
pub fn said_mm(mm: f64) -> String {
    format!("{} mm", short(mm, if mm.abs() < 1.0 { 2 } else { 1 }))
}

/// The same, never more than the true length: for one that is named because it fits.
pub fn said_mm_down(mm: f64) -> String {
    let unit = if mm < 1.0 { 100.0 } else { 10.0 };
    // A hair of slack: 9.6 is 95.99… tenths in binary.
    said_mm((mm * unit + 1e-6).floor() / unit)
}

/// Two sides for people, as fine as they are cut: `198.42 × 4.17 mm`.
pub fn said_size(width: f64, height: f64) -> String {
    format!("{} × {} mm", short(width, 2), short(height, 2))
}

/// A share for people: `83 %`, `0.4 %`, `under 0.1 %`.
pub fn said_share(share: f64) -> String {
    let hundredths = share * 100.0;
    if hundredths > 0.0 && hundredths < 0.05 {
        return "under 0.1 %".to_owned();
    }
    // 9.95 and more would be written with three figures.
    let decimals = if hundredths.abs() < 9.95 { 1 } else { 0 };
    format!("{} %", short(hundredths, decimals))
}

/// A factor of size for people, down to a whole per cent, so that one that fits is never written as one that
/// does not.
pub fn said_factor(factor: f64) -> String {
    // The same hair of slack.
    format!("{} %", short((factor * 100.0 + 1e-6).floor(), 0))
}

/// `a`, `a and b`, `a, b and c`.
pub fn listed(all: impl IntoIterator<Item = String>) -> String {
    let all: Vec<String> = all.into_iter().collect();
    match &all[..] {
        [first @ .., before, last] => {
            let first: String = first.iter().map(|each| format!("{each}, ")).collect();
            format!("{first}{before} and {last}")
        }
        all => all.concat(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_and_without_surprises() {
        assert_eq!(short(1.5000, 4), "1.5");
        assert_eq!(short(-0.00001, 4), "0");
        assert_eq!(short(120.0, 0), "120");
        assert_eq!(short(9.52500001, 4), "9.525");
        assert_eq!([packed(0.25, 1), packed(-0.5, 1), packed(-10.04, 1)], [".2", "-.5", "-10"]);
        assert!(rounded(-1e-9, 4).is_sign_positive());
    }

    #[test]
    fn people_read_as_much_as_they_can_measure() {
        assert_eq!([6.12, 0.999, -0.04, 12.0].map(said_mm), ["6.1 mm", "1 mm", "-0.04 mm", "12 mm"]);
        assert_eq!(
            [0.831, 0.0984, 0.0996, 0.0004, 0.0].map(said_share),
            ["83 %", "9.8 %", "10 %", "under 0.1 %", "0 %"]
        );
    }

    #[test]
    fn lists_end_in_and() {
        let list = |words: &[&str]| listed(words.iter().map(|word| (*word).to_owned()));
        assert_eq!([list(&[]), list(&["a"]), list(&["a", "b"])], ["", "a", "a and b"]);
        assert_eq!(list(&["a", "b", "c"]), "a, b and c");
    }

    #[test]
    fn what_is_named_as_a_way_out_never_grows() {
        assert_eq!([9.6, 9.69, 0.999].map(said_mm_down), ["9.6 mm", "9.6 mm", "0.99 mm"]);
        assert_eq!([0.83, 0.8399, 1.0].map(said_factor), ["83 %", "83 %", "100 %"]);
    }
}
