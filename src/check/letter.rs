//! `small-letter`: lettering too low to be read, or to be cut.

use super::Case;
use crate::flow::{Code, Draw, Finding, Make, Severity};
use crate::outline::number::{said_mm, short};

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    let Draw::Letters(lettering) = &case.marking.draw else { return None };
    let scale = case.drawn_at();
    let (height, least) = (lettering.height.at(scale).to_mm(), case.film.smallest_letter.to_mm());
    // A letter of just that height passes.
    if height >= least * (1.0 - 1e-9) {
        return None;
    }
    let done = match case.make {
        Make::Decal => "read",
        Make::Mask | Make::Tape => "cut",
    };
    let text = format!(
        "letters {} mm high are smaller than the {} mm that can be {done}",
        short(height, 2),
        short(least, 2)
    );
    let help = format!(
        "make them {} high at full size, leave them out at {}, or state your `smallest_letter` under `films`",
        said_mm(least * scale.denominator()),
        case.scale
    );
    Some(case.finding_at(&case.marking.draw_at, Code::SmallLetter, Severity::Warning, text, help))
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::flow::{Align, Block, ColourId, Corner, Face, Lettering, Setting, SizeBy};
    use crate::units::{Full, Length, Scale};

    fn lettered(height: f64) -> Bench {
        let mm = |share: f64| Length::<Full>::mm(share * height);
        let mut bench = Bench::stripe();
        bench.marking.draw = Draw::Letters(Lettering {
            lines: vec!["NO STEP".to_owned()],
            height: mm(1.0),
            face: Face::Block(Block {
                width: mm(0.6),
                widths: std::collections::BTreeMap::new(),
                stroke: mm(0.15),
                gap: mm(0.2),
                word_gap: mm(0.6),
                corner: Corner::Square,
            }),
            setting: Setting { align: Align::Left, line_gap: mm(0.5), bow: None },
            colour: ColourId(0),
        });
        bench
    }

    #[test]
    fn letters_under_what_can_be_read_are_told() {
        // 25 mm at 1/48 is 0.52 mm; 28.8 mm is 0.6 mm, the decal's least.
        let found = rule(&lettered(25.0).case()).unwrap();
        assert_eq!(found.code, Code::SmallLetter);
        assert_eq!(found.text, "letters 0.52 mm high are smaller than the 0.6 mm that can be read");
        assert!(found.help.starts_with("make them 28.8 mm high at full size"), "{}", found.help);
        assert_eq!(rule(&lettered(28.8).case()), None);
        assert_eq!(rule(&Bench::stripe().case()), None);
    }

    #[test]
    fn sized_by_the_part_they_are_as_high_as_the_part_makes_them() {
        let mut bench = lettered(28.0);
        bench.marking.size_by = SizeBy::Part;
        let effective = Scale::one_to(45.0).unwrap();
        assert_eq!(rule(&Case { effective, ..bench.case() }), None);
        assert!(rule(&bench.case()).is_some());
    }
}
