//! `hidden`: a marking drawn as seen that falls beside its part, or on what turns away.

use super::Case;
use crate::flow::{Code, Finding, Lay, Severity};
use crate::outline::number::said_share;

/// A share under this is a hair at the edge.
const HAIR: f64 = 1e-3;

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    let share = case.fit.hidden_share;
    if share < HAIR {
        return None;
    }
    let from = match &case.marking.lay {
        Lay::Sight(view) => format!(" seen from the {}", view.word()),
        _ => String::new(),
    };
    let text = format!("{} of its area falls beside the part or on what turns away{from}", said_share(share));
    let help = "move it, make it smaller, draw it in a view that faces its place, or write `lay: drape`";
    Some(case.finding_at(&case.marking.spot_at, Code::Hidden, Severity::Warning, text, help.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::flow::View;

    #[test]
    fn the_share_lost_is_told() {
        let mut bench = Bench::stripe();
        bench.marking.lay = Lay::Sight(View::Left);
        assert_eq!(rule(&bench.case()), None);
        bench.fit.hidden_share = 0.123;
        let found = rule(&bench.case()).unwrap();
        assert_eq!(
            found.text,
            "12 % of its area falls beside the part or on what turns away seen from the left"
        );
        assert_eq!(found.severity, Severity::Warning);
    }
}
