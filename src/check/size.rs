//! `oversize` and `trim`: the piece runs past a limit of its part.

use super::{Case, VISIBLE_MM};
use crate::flow::{Code, Draw, Finding, Lay, Line, Severity, Verdict};
use crate::outline::number::{listed, said_mm, said_share};

/// The share of a piece's size by which an overhang is not sure: half of the 0.1 % to which the
/// largest fit is known, so that a piece of that size fits and one 0.2 % larger does not.
const UNSURE: f64 = 5e-4;

pub fn rule(case: &Case<'_>) -> (Verdict, Vec<Finding>) {
    let fit = case.fit;
    let over = fit.overhang.to_mm();
    let size = fit.size.width.to_mm().max(fit.size.height.to_mm());
    if fit.past.is_empty() || over < VISIBLE_MM.min(UNSURE * size) {
        return (Verdict::Fits, Vec::new());
    }
    let limits = listed(fit.past.iter().map(|name| quoted(name)));
    let text =
        format!("runs {} past {limits}, {} of its area", said_mm(over), said_share(fit.overhang_share));
    let print = match fit.smaller_print(case.scale) {
        Some(smaller) => format!("print it at {smaller}"),
        // By the way it is laid, a hair more than there is room for.
        None if fit.largest_fit >= 1.0 => "make it a little smaller".to_owned(),
        None => format!("{}: at this place no size fits", elsewhere(&case.marking.lay)),
    };
    let longest = fit.largest_length_said(case.drawn_at());
    let shorter = longest.map_or_else(String::new, |longest| format!(", or make it {longest}"));
    if fit.trimmable {
        let help = format!("trim {} along the marked line, {print}{shorter}", said_mm(over));
        (Verdict::Trim, vec![case.finding(Code::Trim, Severity::Warning, text, help)])
    } else {
        let ends = match may_yet_trim(case) {
            true => ", or allow trimming with `may_trim`",
            false => "",
        };
        let help = format!("{print}{shorter}{ends}");
        (Verdict::Oversize, vec![case.finding(Code::Oversize, Severity::Error, text, help)])
    }
}

/// A name as it is written in the spec; what has none there as it is.
fn quoted(limit: &str) -> String {
    if limit.contains(' ') { limit.to_owned() } else { format!("`{limit}`") }
}

/// What moves a piece along its part.
fn elsewhere(lay: &Lay) -> &'static str {
    match lay {
        Lay::Follow(Line::Ring { .. }) => "move its `station`",
        Lay::Follow(Line::Drawn { .. } | Line::Through { .. }) => "lead its line elsewhere",
        Lay::Follow(Line::Along { .. }) => "change its `offset`",
        _ => "hold it elsewhere",
    }
}

/// Whether there are ends that could be trimmed and are not allowed to be.
fn may_yet_trim(case: &Case<'_>) -> bool {
    let closed = case.fit.artwork.repeat.is_some();
    let round = matches!(case.marking.draw, Draw::Roundel { .. } | Draw::Quarters { .. });
    // All but what flattening leaves of it.
    let wholly_past = case.fit.overhang_share > 0.999;
    case.marking.may_trim.len() < 2 && !closed && !round && !wholly_past
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::units::Length;

    fn too_long() -> Bench {
        let mut bench = Bench::stripe();
        bench.fit.overhang = Length::mm(1.27);
        bench.fit.overhang_share = 0.17;
        bench.fit.past = vec!["rim".to_owned()];
        bench.fit.largest_fit = 0.8312;
        bench.fit.largest_length = Some(Length::mm(6.26));
        bench
    }

    #[test]
    fn a_stripe_may_be_trimmed_at_its_ends() {
        let (verdict, found) = rule(&too_long().case());
        assert_eq!(verdict, Verdict::Trim);
        assert_eq!(found[0].text, "runs 1.3 mm past `rim`, 17 % of its area");
        assert_eq!(
            found[0].help,
            "trim 1.3 mm along the marked line, print it at 83 %, as for 1/58, or make it 300.4 mm long at full size (6.2 mm on the model)"
        );
    }

    #[test]
    fn what_must_not_be_trimmed_is_oversize() {
        let mut bench = too_long();
        bench.fit.trimmable = false;
        let (verdict, found) = rule(&bench.case());
        assert_eq!((verdict, found[0].severity), (Verdict::Oversize, Severity::Error));
        assert!(found[0].help.ends_with("(6.2 mm on the model)"), "both ends may be trimmed as it is");
        bench.marking.may_trim.clear();
        assert!(rule(&bench.case()).1[0].help.ends_with("or allow trimming with `may_trim`"));
    }

    #[test]
    fn a_ring_is_moved_by_its_station() {
        let mut bench = too_long();
        (bench.fit.trimmable, bench.fit.largest_fit, bench.fit.largest_length) = (false, 0.0, None);
        bench.marking.lay = Lay::Follow(Line::Ring { station: Length::mm(100.0) });
        let help = &rule(&bench.case()).1[0].help;
        assert!(help.starts_with("move its `station`: at this place no size fits"), "{help}");
    }

    #[test]
    fn what_no_one_can_see_or_be_sure_of_fits() {
        // The piece is 7.5 mm long: 0.2 % of that are 0.015 mm.
        let verdict = |over: f64| {
            let mut bench = too_long();
            bench.fit.overhang = Length::mm(over);
            rule(&bench.case()).0
        };
        assert_eq!([0.003, 0.015].map(verdict), [Verdict::Fits, Verdict::Trim]);
    }
}
