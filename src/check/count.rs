//! `count`: a pattern that does not come out whole round its part, or stripes of a helix that do not
//! fill the way from turn to turn.

use super::{Case, VISIBLE_MM};
use crate::flow::{Code, Draw, Finding, Helix, Lay, Line, Severity};
use crate::outline::number::{said_mm, short};

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    let repeats = case.fit.repeats?;
    if let Lay::Follow(Line::Helix(helix)) = &case.marking.lay {
        return winding(case, helix, repeats);
    }
    let period = case.fit.artwork.repeat?.period.to_mm();
    let whole = repeats.round().max(1.0);
    let broken = (repeats - whole).abs() * period;
    if broken < VISIBLE_MM {
        return None;
    }
    // One repeat is two squares or two stripes.
    let (what, width) = match case.marking.draw {
        Draw::Checks { square, .. } => ("squares", square),
        Draw::Hazard { stripe, .. } => ("stripes", stripe),
        _ => return None,
    };
    let better = width * (repeats / whole);
    let text = format!(
        "{} {what} go round, so the pattern breaks by {} at the seam",
        short(repeats * 2.0, 1),
        said_mm(broken)
    );
    let help = format!(
        "{what} of {} mm at full size ({} on the model) come out as {}",
        short(better.to_mm(), 2),
        said_mm(better.at(case.drawn_at()).to_mm()),
        whole * 2.0
    );
    Some(case.finding_at(&case.marking.draw_at, Code::Count, Severity::Warning, text, help))
}

/// `repeats` stripes fit side by side from turn to turn. Of several starts each is to have a whole
/// number of widths for stripe and gap; a single one may leave any gap, but not lie on itself.
fn winding(case: &Case<'_>, helix: &Helix, repeats: f64) -> Option<Finding> {
    let width = case.fit.run?.height;
    let starts = f64::from(helix.starts);
    let each = repeats / starts;
    let whole = each.round().max(1.0);
    let off = (each - whole).abs() * width.to_mm();
    if off < VISIBLE_MM || (helix.starts == 1 && each > 1.0) {
        return None;
    }
    let better = width.stands_for(case.drawn_at()) * (each / whole);
    let text = if each < 1.0 {
        format!("neighbouring turns lie over each other by {}", said_mm(off))
    } else {
        format!("stripes and gaps do not come out whole: {} widths from start to start", short(each, 2))
    };
    let help = format!(
        "a width of {} mm at full size ({} on the model) comes out as {} from start to start",
        short(better.to_mm(), 2),
        said_mm(better.at(case.drawn_at()).to_mm()),
        whole
    );
    Some(case.finding_at(&case.marking.draw_at, Code::Count, Severity::Warning, text, help))
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::flow::{ColourId, Repeat};
    use crate::units::Length;

    #[test]
    fn the_nearest_width_that_comes_out_is_named() {
        let mut bench = Bench::stripe();
        bench.marking.draw =
            Draw::Checks { square: Length::mm(100.0), rows: 1, columns: None, colours: [ColourId(0); 2] };
        bench.fit.artwork.repeat = Some(Repeat { period: Length::mm(200.0 / 48.0), shows: true });
        bench.fit.repeats = Some(12.2);
        let found = rule(&bench.case()).unwrap();
        assert_eq!(found.text, "24.4 squares go round, so the pattern breaks by 0.83 mm at the seam");
        assert_eq!(found.help, "squares of 101.67 mm at full size (2.1 mm on the model) come out as 24");
        bench.fit.repeats = Some(12.001);
        assert_eq!(rule(&bench.case()), None);
    }
}
