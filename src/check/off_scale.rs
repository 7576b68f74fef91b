//! `off-scale`: the kit part is not the size its scale says.

use super::{Case, percent};
use crate::flow::{Code, Finding, Severity, SizeBy};

/// Greatest deviation that goes without saying. Common practice, no source.
const TOLERATED: f64 = 0.03;

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    let ratio = case.scale.denominator() / case.effective.denominator();
    if (ratio - 1.0).abs() <= TOLERATED {
        return None;
    }
    let word = if ratio < 1.0 { "smaller" } else { "larger" };
    let text = format!(
        "the part `{}` is {} {word} than {} asks for: its effective scale is {}",
        case.part.name,
        percent((ratio - 1.0).abs()),
        case.scale,
        case.effective
    );
    let help = match case.marking.size_by {
        SizeBy::Scale => {
            "the marking keeps to the scale; `size_by: part` would size it with the part".to_owned()
        }
        SizeBy::Part => {
            "the marking is sized with the part; `size_by: scale` would keep it to the scale".to_owned()
        }
    };
    let measured = case.part.measured.iter().find(|measured| measured.scale == case.scale);
    let at = measured.map_or(&case.part.at, |measured| &measured.at);
    Some(case.finding_at(at, Code::OffScale, Severity::Warning, text, help))
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::units::Scale;

    #[test]
    fn three_per_cent_go_without_saying() {
        let at = |denominator: f64| {
            let mut bench = Bench::stripe();
            bench.effective = Scale::one_to(denominator).unwrap();
            rule(&bench.case()).map(|finding| finding.text)
        };
        assert_eq!(at(49.4), None);
        assert_eq!(
            at(57.0).as_deref(),
            Some("the part `plate` is 16 % smaller than 1/48 asks for: its effective scale is 1/57")
        );
    }
}
