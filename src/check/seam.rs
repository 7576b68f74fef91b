//! `seam`: a wrap that was meant to go round meets itself, or does not, unasked.

use super::{Case, VISIBLE_MM};
use crate::flow::{Code, Finding, Severity};
use crate::outline::number::said_mm;

/// A run that comes this near to closing was meant to close. Common practice, no source.
const NEARLY_ROUND: f64 = 0.05;

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    let gap = case.fit.seam.as_ref()?.gap.to_mm();
    let run = case.fit.run?.width.to_mm();
    let asked = -case.marking.piece.overlap.to_mm();
    let closed = case.fit.artwork.repeat.is_some();
    let (text, help) = if gap < asked - VISIBLE_MM {
        (
            format!("goes round and laps over itself by {}", said_mm(-gap)),
            format!(
                "shorten it by {}, or let it be a band, which is cut to the part",
                case.in_both_worlds(asked - gap)
            ),
        )
    } else if !closed && gap > VISIBLE_MM && gap < NEARLY_ROUND * (run + gap) {
        (
            format!("leaves a gap of {} where its ends meet", said_mm(gap)),
            format!(
                "lengthen it by {}, or let it be a band, which is cut to the part",
                case.in_both_worlds(gap - asked)
            ),
        )
    } else {
        return None;
    };
    Some(case.finding(Code::Seam, Severity::Warning, text, help))
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::flow::Seam;
    use crate::units::Length;

    #[test]
    fn laps_and_gaps_are_told_apart() {
        let with = |gap: f64| {
            let mut bench = Bench::stripe();
            bench.fit.run = Some(bench.fit.size);
            bench.fit.seam = Some(Seam { gap: Length::mm(gap) });
            rule(&bench.case()).map(|finding| finding.text)
        };
        assert_eq!(with(-0.5).as_deref(), Some("goes round and laps over itself by 0.5 mm"));
        assert_eq!(with(0.2).as_deref(), Some("leaves a gap of 0.2 mm where its ends meet"));
        assert_eq!(with(4.0), None);
        assert_eq!(with(0.0), None);
    }
}
