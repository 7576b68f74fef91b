//! `off-scale`: a kit part is not the size its scale says. Told once for the part, not for each piece on it.

use crate::flow::{Code, Finding, Part, Severity};
use crate::outline::number::said_share;
use crate::units::Scale;

/// Greatest deviation that goes without saying. Common practice, no source.
const TOLERATED: f64 = 0.03;

/// Judges a part by the scale at which the full-size one would have the size the calipers found.
pub fn off_scale(part: &Part, scale: Scale, effective: Scale) -> Option<Finding> {
    let ratio = scale.denominator() / effective.denominator();
    if (ratio - 1.0).abs() <= TOLERATED {
        return None;
    }
    let word = if ratio < 1.0 { "smaller" } else { "larger" };
    let measured = part.measured.iter().find(|measured| measured.scale == scale);
    Some(Finding {
        code: Code::OffScale,
        severity: Severity::Warning,
        text: format!(
            "the part `{}` is {} {word} than {scale} asks for: its effective scale is {effective}",
            part.name,
            said_share((ratio - 1.0).abs()),
        ),
        help: "markings keep to the scale; `size_by: part` sizes one with the part instead".to_owned(),
        at: measured.map_or(&part.at, |measured| &measured.at).clone(),
    })
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;

    #[test]
    fn three_per_cent_go_without_saying() {
        let at = |denominator: f64| {
            let effective = Scale::one_to(denominator).unwrap();
            let found = off_scale(&Bench::stripe().part, Scale::one_to(48.0).unwrap(), effective);
            found.map(|finding| finding.text)
        };
        assert_eq!(at(49.4), None);
        assert_eq!(
            at(57.0).as_deref(),
            Some("the part `plate` is 16 % smaller than 1/48 asks for: its effective scale is 1/57")
        );
    }
}
