//! `short-line`: the piece is longer than the line it was led along.

use super::{Case, VISIBLE_MM};
use crate::flow::{Code, Finding, Severity};
use crate::outline::number::{said_mm, short};

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    let past = case.fit.past_line.to_mm();
    let run = case.fit.run?.width.to_mm();
    if past < VISIBLE_MM {
        return None;
    }
    let text = format!("runs {} straight on past the end of its line", said_mm(past));
    let full = case.drawn_at().denominator() * (run - past);
    let help = format!("make it {} mm long at full size, or lead the line on", short(full.floor(), 0));
    Some(case.finding(Code::ShortLine, Severity::Warning, text, help))
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::units::Length;

    #[test]
    fn the_length_of_the_line_is_named_at_full_size() {
        let mut bench = Bench::stripe();
        bench.fit.run = Some(bench.fit.size);
        assert_eq!(rule(&bench.case()), None);
        bench.fit.past_line = Length::mm(2.5);
        let found = rule(&bench.case()).unwrap();
        assert_eq!(found.text, "runs 2.5 mm straight on past the end of its line");
        // 7.5 − 2.5 mm at 1/48.
        assert_eq!(found.help, "make it 240 mm long at full size, or lead the line on");
    }
}
