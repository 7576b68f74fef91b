//! `island`: a mask whose film falls apart once its openings are cut.
//!
//! Of windows each colour has a film of its own; of covers the first opening is all of the marking, and
//! what is laid on it afterwards has none.

use super::Case;
use crate::flow::{Code, Finding, Make, MaskFilm, Severity};
use crate::outline::bridge::{bridged, loose};
use crate::outline::{Point, Region};
use crate::units::Model;

/// Flattening of curves, mm on the model: a tenth of what can be seen.
const FLATTEN: f64 = super::VISIBLE_MM / 10.0;

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    if case.make != Make::Mask {
        return None;
    }
    let border = case.marking.piece.border.unwrap_or(case.film.border).to_mm();
    let artwork = &case.fit.artwork;
    let film: Region<Model> = artwork.silhouette.flattened(FLATTEN).offset(border);
    let lean = |at: Point| case.fit.lean(&case.marking.draw, at);
    let openings: Vec<Region<Model>> = match case.spray {
        MaskFilm::Window => artwork.areas.iter().map(|area| area.outline.flattened(FLATTEN)).collect(),
        MaskFilm::Cover => vec![artwork.painted(FLATTEN)],
    };
    let loose = openings
        .into_iter()
        .map(|window| match &case.marking.piece.bridges {
            Some(bridges) => loose(&film, &bridged(&window, bridges, &lean)),
            None => loose(&film, &window),
        })
        .max()?;
    (loose > 0).then(|| {
        let text = format!(
            "{loose} bit{} of the mask come{} loose when it is cut",
            if loose == 1 { "" } else { "s" },
            if loose == 1 { "s" } else { "" }
        );
        let help = "tie them with `piece: {bridge: 0.6 mm}`, make it as a decal, or lift the loose bits over with tape, in register".to_owned();
        case.finding(Code::Island, Severity::Error, text, help)
    })
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::outline::bridge::Bridges;
    use crate::outline::{Outline, point};
    use crate::units::{Angle, Length};

    #[test]
    fn a_ring_drops_its_middle() {
        let mut bench = Bench::stripe();
        bench.make = Make::Mask;
        assert_eq!(rule(&bench.case()), None);
        bench.fit.artwork.areas[0].outline = Outline::ring(point(0.0, 0.0), 0.2, 0.4);
        assert_eq!(rule(&bench.case()).unwrap().text, "1 bit of the mask comes loose when it is cut");
        // A disc in the ring, both covered and uncovered in turn: nothing is left in the one opening.
        let disc = crate::flow::Area {
            outline: Outline::circle(point(0.0, 0.0), 0.2),
            ..bench.fit.artwork.areas[0].clone()
        };
        bench.fit.artwork.areas.push(disc);
        assert_eq!(rule(&Case { spray: MaskFilm::Cover, ..bench.case() }), None);
        assert!(rule(&bench.case()).is_some());
        bench.fit.artwork.areas.pop();
        bench.make = Make::Decal;
        assert_eq!(rule(&bench.case()), None);
        bench.make = Make::Mask;
        let (width, direction) = (Length::mm(0.1), Angle::degrees(90.0));
        bench.marking.piece.bridges = Some(Bridges { width, count: 2, direction });
        assert_eq!(rule(&bench.case()), None, "two bridges hold the middle");
    }
}
