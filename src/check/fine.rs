//! `fine-line` and `fine-gap`: details too narrow for the film to be printed or cut.
//!
//! A detail is too fine when it vanishes from an area that is shrunk by half
//! the finest width and grown again (a morphological opening; for gaps, the
//! closing). Corners and tips lose a little that way and are let pass.

use super::Case;
use crate::flow::{Code, Finding, Make, Severity};
use crate::outline::number::{said_mm, short};
use crate::outline::width::{TIP, is_finer};
use crate::outline::{Outline, Region, separate};
use crate::units::Model;

pub fn rule(case: &Case<'_>) -> Vec<Finding> {
    if case.make == Make::Tape {
        // Tape is as wide as it is sold; `no-tape` says where that is not what is wanted.
        return Vec::new();
    }
    let (line, gap) = (case.film.finest_line.to_mm(), case.film.finest_gap.to_mm());
    let flatten = line.min(gap) / 50.0;
    // What was carried over a part has many more corners than it takes to see a width by.
    let thinned = |outline: &Outline<Model>| outline.flattened(flatten).simplified(flatten / 4.0).cleaned();
    let painted = case.fit.artwork.areas.iter();
    let mut areas: Vec<_> = painted.map(|area| (area.colour, thinned(&area.outline))).collect();
    // What the sheets give to a neighbour is no line.
    if case.fit.artwork.repeat.is_none() {
        separate::tidy(&mut areas, separate::SLIVER);
    }
    let areas: Vec<Region<Model>> = areas.into_iter().map(|(_, area)| area).collect();
    // Printed colours lie side by side; in a mask each colour has film of its own.
    let grounds = match case.make {
        Make::Decal => vec![areas.iter().fold(Region::empty(), |sum, area| sum.union(area))],
        Make::Mask | Make::Tape => areas.clone(),
    };
    let (done, tool) = match case.make {
        Make::Decal => ("printed", "printer"),
        Make::Mask | Make::Tape => ("cut", "knife"),
    };
    let narrowest_line = narrowest(areas.iter().flat_map(Region::parts).collect(), line, faint);
    let narrowest_gap = narrowest(grounds.iter().map(Ground::all).collect(), gap, clogged);
    let say = |code, what: &str, found: f64, finest: f64| {
        let found = if found < 0.005 { "under 0.01".to_owned() } else { short(found, 2) };
        let text =
            format!("a {what} of {found} mm is finer than the {} mm that can be {done}", short(finest, 2));
        let help = format!(
            "widen it to {} at full size, leave it out at {}, or state what your {tool} can do under `films`",
            said_mm(finest * case.drawn_at().denominator()),
            case.scale
        );
        case.finding_at(&case.marking.draw_at, code, Severity::Warning, text, help)
    };
    let lines = narrowest_line.map(|found| say(Code::FineLine, "line", found, line));
    let gaps = narrowest_gap.map(|found| say(Code::FineGap, "gap", found, gap));
    lines.into_iter().chain(gaps).collect()
}

/// A connected bit, where it is narrower than `width`.
fn faint(bit: Region<Model>, width: f64) -> Option<Region<Model>> {
    is_finer(&bit, width).then_some(bit)
}

/// Film, and what of it is looked at.
#[derive(Clone)]
struct Ground<'a> {
    film: &'a Region<Model>,
    near: Region<Model>,
}

impl<'a> Ground<'a> {
    fn all(film: &'a Region<Model>) -> Self {
        Self { film, near: film.clone() }
    }
}

/// Film round the gaps, if a grow and a shrink by half of `width` fill in more than notches.
fn clogged(ground: Ground<'_>, width: f64) -> Option<Ground<'_>> {
    let Ground { film, near } = ground;
    let (closed, tip) = (near.closed(width), TIP * width * width);
    if closed.area() - near.area() <= tip {
        return None;
    }
    let gaps: Vec<Region<Model>> =
        closed.minus(film).parts().into_iter().filter(|gap| gap.area() > tip).collect();
    if gaps.is_empty() {
        return None;
    }
    // What fills a gap lies no further from it than half of the width.
    let round = |gap: &Region<Model>| {
        let bounds = gap.bounds().inflate(width, width);
        Outline::<Model>::rectangle(bounds.center(), bounds.width(), bounds.height()).flattened(width).rings
    };
    let windows = Region::new(gaps.iter().flat_map(round).collect()).cleaned();
    Some(Ground { film, near: near.intersection(&windows) })
}

/// The width at which the first detail vanishes, to a hundredth, if that is under `finest`. `left` keeps
/// what has details that vanish at a width; what loses none at one width loses none at a smaller one.
fn narrowest<T: Clone>(all: Vec<T>, finest: f64, left: impl Fn(T, f64) -> Option<T>) -> Option<f64> {
    let mut least = None;
    for each in all {
        // Two per cent inside, so that a line of just the finest width passes; then only what is narrower
        // than the narrowest yet.
        let Some(mut doubtful) = left(each, least.map_or(0.98 * finest, |least| 0.99 * least)) else {
            continue;
        };
        let (mut there, mut lost) = (0.0, least.unwrap_or(finest));
        for _ in 0..7 {
            let middle = (there + lost) / 2.0;
            match left(doubtful.clone(), middle) {
                Some(nearer) => (lost, doubtful) = (middle, nearer),
                None => there = middle,
            }
        }
        least = Some((there + lost) / 2.0);
    }
    least
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::outline::{Vector, point};

    #[test]
    fn a_hairline_is_found_and_measured() {
        let mut bench = Bench::stripe();
        bench.fit.artwork.areas[0].outline = Outline::rectangle(point(0.0, 0.0), 7.5, 0.06);
        let found = rule(&bench.case());
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].code, Code::FineLine);
        assert_eq!(found[0].text, "a line of 0.06 mm is finer than the 0.1 mm that can be printed");
    }

    #[test]
    fn a_speck_is_too_fine_however_small_it_is() {
        let mut bench = Bench::stripe();
        for across in [0.09, 0.002] {
            bench.fit.artwork.areas[0].outline = Outline::circle(point(0.0, 0.0), across / 2.0);
            let found = rule(&bench.case());
            let codes: Vec<Code> = found.iter().map(|finding| finding.code).collect();
            assert_eq!(codes, [Code::FineLine], "{across} mm");
            let said = if across < 0.005 { "under 0.01" } else { "0.09" };
            assert!(found[0].text.starts_with(&format!("a line of {said} mm is finer")), "{}", found[0].text);
        }
    }

    /// As a speck comes back from a part: far more corners than it has microns, which took minutes to shrink.
    #[test]
    fn a_speck_of_many_corners_is_found_at_once() {
        let mut bench = Bench::stripe();
        let corner = |k: u32| {
            let (sin, cos) = libm::sincos(f64::from(k) * std::f64::consts::TAU / 6000.0);
            point(0.002 * cos, 0.002 * sin)
        };
        bench.fit.artwork.areas[0].outline = Outline::polygon(&(0..6000).map(corner).collect::<Vec<_>>());
        let found = rule(&bench.case());
        assert_eq!(found[0].text, "a line of under 0.01 mm is finer than the 0.1 mm that can be printed");
    }

    #[test]
    fn a_gap_between_two_bars_is_found() {
        let mut bench = Bench::stripe();
        let bar = Outline::rectangle(point(0.0, 0.0), 7.5, 1.0);
        let mut two = bar.clone();
        two.extend(&bar.moved(Vector::new(0.0, 1.05)));
        bench.fit.artwork.areas[0].outline = two;
        let found = rule(&bench.case());
        assert_eq!(found.iter().map(|finding| finding.code).collect::<Vec<_>>(), [Code::FineGap]);
        bench.fit.artwork.areas[0].outline = bar;
        assert_eq!(rule(&bench.case()), []);
    }

    #[test]
    fn star_tips_are_no_hairlines() {
        let mut bench = Bench::stripe();
        let star = crate::draw::draw(&crate::flow::Draw::Star {
            points: 5,
            diameter: crate::units::Length::mm(480.0),
            inner: 0.381966,
            colour: crate::flow::ColourId(0),
        });
        bench.fit.artwork = star.at(crate::units::Scale::one_to(48.0).unwrap());
        assert_eq!(rule(&bench.case()), []);
    }
}
