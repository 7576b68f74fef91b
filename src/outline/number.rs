//! The one way numbers are written: rounded, short, the same everywhere.

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
pub fn rounded(value: f64, decimals: i32) -> f64 {
    let unit = 10f64.powi(decimals);
    let rounded = (value * unit).round() / unit;
    if rounded == 0.0 { 0.0 } else { rounded }
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
}
