//! `no-white`: colour that gets no white under it, for it is no wider than what the choke takes.
//!
//! White ends inside the colour's edge by the choke, so a line of twice the choke has none left
//! and stays see-through. Corners always lose a little: only a share that shows is told.

use super::{Case, VISIBLE_MM};
use crate::flow::{Code, Finding, Make, Severity};
use crate::outline::number::{said_mm, said_share};

/// Share of the painted area without white that is put up with. A square of a millimetre loses 0.9 % at its corners to
/// a choke of 0.1 mm, the tips of a small star two or three.
const LOST: f64 = 0.05;

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    let white = case.white.filter(|_| case.make == Make::Decal)?;
    let choke = white.choke.to_mm();
    if choke <= 0.0 {
        return None;
    }
    let painted = case.fit.artwork.painted(VISIBLE_MM / 10.0);
    let whole = painted.area();
    // What is within the choke of white would have it if its edge did not show.
    let kept = painted.offset(-choke).offset(choke).intersection(&painted);
    let lost = 1.0 - kept.area() / whole;
    (whole > 0.0 && lost > LOST).then(|| {
        let text = format!(
            "{} of the colour gets no white under it: what is under {} wide has none left once the white is choked by {}",
            said_share(lost),
            said_mm(2.0 * choke),
            said_mm(choke)
        );
        let help = "give `white` a smaller `choke`, or make the fine lines wider".to_owned();
        case.finding_at(&case.marking.draw_at, Code::NoWhite, Severity::Warning, text, help)
    })
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::flow::White;
    use crate::outline::{Outline, point};
    use crate::units::Length;

    #[test]
    fn a_line_of_less_than_twice_the_choke_has_no_white() {
        let mut bench = Bench::stripe();
        let with = |bench: &Bench, choke: f64| {
            let white = White { choke: Length::mm(choke), ..White::default() };
            rule(&Case { white: Some(&white), ..bench.case() })
        };
        bench.fit.artwork.areas[0].outline = Outline::rectangle(point(0.0, 0.0), 7.5, 0.19);
        let found = with(&bench, 0.1).unwrap();
        assert_eq!((found.code, found.severity), (Code::NoWhite, Severity::Warning));
        assert!(
            found.text.starts_with("100 % of the colour") && found.text.contains("under 0.2 mm wide"),
            "{}",
            found.text
        );
        assert_eq!(with(&bench, 0.09), None);
        assert_eq!(with(&bench, 0.0), None);
        assert_eq!(rule(&bench.case()), None);
        bench.make = Make::Mask;
        assert_eq!(with(&bench, 0.1), None);
    }
}
