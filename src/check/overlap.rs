//! `overlap`: a flat piece that lies over itself and so cannot be cut from one sheet.

use super::Case;
use crate::flow::{Code, Finding, Severity};
use crate::outline::number::said_share;

/// A share under this is a touch, no overlap.
const TOUCH: f64 = 1e-4;

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    let share = case.fit.doubled_share;
    if share < TOUCH {
        return None;
    }
    let text = format!("{} of the flat piece lies over the rest of it", said_share(share));
    let help = "make two markings of it that meet where it crosses, or lead the line otherwise";
    Some(case.finding(Code::Overlap, Severity::Warning, text, help.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;

    #[test]
    fn a_share_is_told_and_a_touch_is_not() {
        let mut bench = Bench::stripe();
        bench.fit.doubled_share = 0.024;
        assert_eq!(rule(&bench.case()).unwrap().text, "2.4 % of the flat piece lies over the rest of it");
        bench.fit.doubled_share = 1e-6;
        assert_eq!(rule(&bench.case()), None);
    }
}
