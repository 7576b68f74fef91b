//! `sliver`: bits between colours that are too thin to be seen and are given to a neighbour.
//!
//! The sheets do the giving, by the same rule; here it is only counted.

use super::{Case, VISIBLE_MM};
use crate::flow::{Code, Finding, Severity};
use crate::outline::separate;

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    let areas = &case.fit.artwork.areas;
    // A pattern that goes all the way was drawn side by side, not separated.
    if areas.len() < 2 || case.fit.artwork.repeat.is_some() {
        return None;
    }
    let flat = areas.iter().map(|area| (area.colour, area.outline.flattened(VISIBLE_MM / 10.0).cleaned()));
    let mut shown = separate::shown(&flat.collect::<Vec<_>>());
    let count = separate::tidy(&mut shown, separate::SLIVER);
    (count > 0).then(|| {
        let (s, were) = if count == 1 { ("", "was") } else { ("s", "were") };
        let width = separate::SLIVER;
        let text = format!("{count} sliver{s} under {width} mm between colours {were} given to a neighbour");
        let help =
            "nothing needs to be done; draw the edges further apart where the line is wanted".to_owned();
        case.finding_at(&case.marking.draw_at, Code::Sliver, Severity::Note, text, help)
    })
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::flow::{Area, ColourId};
    use crate::outline::{Outline, Vector, point};

    #[test]
    fn a_hair_of_ground_beside_another_colour_is_counted() {
        let mut bench = Bench::stripe();
        let bar = Outline::rectangle(point(0.0, 0.0), 7.5, 1.0);
        let mut ground = bar.clone();
        ground.extend(&bar.moved(Vector::new(0.0, 3.0)));
        bench.fit.artwork.areas[0].outline = ground;
        let colour = ColourId(bench.fit.artwork.areas[0].colour.0 + 1);
        let over = |shift: f64| Area { colour, outline: bar.moved(Vector::new(0.0, shift)) };
        bench.fit.artwork.areas.push(over(0.01));
        let found = rule(&bench.case()).unwrap();
        assert_eq!((found.code, found.severity), (Code::Sliver, Severity::Note));
        assert_eq!(found.text, "1 sliver under 0.02 mm between colours was given to a neighbour");
        bench.fit.artwork.areas[1] = over(0.3);
        assert_eq!(rule(&bench.case()), None);
    }
}
