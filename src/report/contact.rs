//! The contact sheet: every part with its markings and their verdicts on one picture, to show to others.
//!
//! At the first scale of the spec; the verdicts are those of all scales. As SVG
//! text that the crate's own raster turns into `overview.png`. Left out: links,
//! findings, and parts past the first `MOST`, which are counted.

use super::picture::frame::{INK, stroke};
use super::picture::scene::Look;
use super::picture::sheet::Link;
use super::picture::svg::{Svg, line};
use super::picture::whole::{Occupied, Share};
use super::tally;
use super::text::{count, plain};
use crate::flow::{MarkingId, Outcome, ScaleOutcome, Verdict};
use crate::outline::number::listed;
use crate::outline::{Point, point};
use crate::units::{Length, Model, PIXELS_PER_INCH, Scale, Size};

/// Parts shown, and markings named under each.
const MOST: usize = 24;
const NAMED: usize = 8;
/// A picture, and the columns it stands in.
const LOOK: Look = Look { width: 300.0, height: 225.0, edge: 12.0, lights: 12, names: true };
const COLUMNS: usize = 3;
const MARGIN: f64 = 18.0;
/// From one line of words to the next.
const LINE: f64 = 16.0;
const HEAD: f64 = 66.0;
/// On white, what a page's style sheet says of the same classes.
const STYLE: &str = "svg{font-size:11px;font-family:sans-serif}.small{font-size:10px}\
    .word{fill:#333;stroke:#fff;stroke-width:3;stroke-linejoin:round;paint-order:stroke;text-anchor:middle}.start{text-anchor:start}.warn-word{fill:#8f2f14}\
    .ink,.pin,.warn,.halo{fill:none}.ink,.pin{stroke:#333}.warn{stroke:#8f2f14}.halo{stroke:#fff}\
    .reach{fill:none;stroke:#333;stroke-width:.6}";

/// The picture as SVG, and its page: a picture pixel is a CSS pixel.
pub fn contact(outcome: &Outcome) -> (String, Size<Model>) {
    let parts = outcome.scales.first().map_or_else(Vec::new, |at| Occupied::all(&outcome.plan, at));
    let shown = &parts[..parts.len().min(MOST)];
    let columns = shown.len().clamp(1, COLUMNS);
    let lines = shown.iter().map(|part| part.spots.len().min(NAMED + 1)).max().unwrap_or(0);
    let (wide, high) = (LOOK.width + MARGIN, LOOK.height + LINE * (lines as f64 + 2.0) + MARGIN);
    let rows = shown.len().div_ceil(columns).max(1);
    let width = (MARGIN + wide * columns as f64).max(480.0);
    let mut svg = Svg::new(width, HEAD + high * rows as f64 + MARGIN);
    let line_of = |svg: &mut Svg, at: Point, said: &str, size: &str, weight: &str| {
        svg.text(at, said, &[("class", "word start"), ("font-size", size), ("font-weight", weight)]);
    };
    line_of(&mut svg, point(MARGIN, 30.0), &shortened(&plain(&outcome.plan.title), width / 9.0), "19", "600");
    let mut about = tally::whole(outcome);
    if parts.len() > shown.len() {
        about += &format!("; {} not shown", count(parts.len() - shown.len(), "part"));
    }
    line_of(&mut svg, point(MARGIN, 50.0), &about, "13", "400");
    svg.path(&line(&[point(MARGIN, HEAD - 7.0), point(width - MARGIN, HEAD - 7.0)]), &stroke(INK, "1"));
    for (k, part) in shown.iter().enumerate() {
        let spots = &part.spots;
        let at = point(MARGIN + wide * (k % columns) as f64, HEAD + high * (k / columns) as f64);
        let link = |_| Link { to: String::new(), id: String::new(), label: String::new() };
        let name = plain(&outcome.plan.parts[part.part.0].name);
        if let Some(picture) = part.picture(&part.corner(), LOOK, &name, Share::Alone, link) {
            svg.inset(at, &picture);
        }
        let mut under = at + crate::outline::Vector::new(0.0, LOOK.height + LINE);
        line_of(&mut svg, under, &shortened(&name, 38.0), "14", "600");
        for (n, spot) in spots.iter().enumerate() {
            under.y += LINE;
            if n == NAMED {
                line_of(&mut svg, under, &format!("and {} more", spots.len() - n), "13", "400");
                break;
            }
            let piece = spot.first();
            let marking = plain(&outcome.plan.markings[piece.marking.0].name);
            let said = format!("{} {marking}: {}", spot.numbers(), verdicts(outcome, piece.marking));
            line_of(&mut svg, under, &shortened(&said, 48.0), "13", "400");
        }
    }
    let side = |pixels: f64| Length::inches(pixels / PIXELS_PER_INCH);
    let page = Size { width: side(svg.width()), height: side(svg.height()) };
    (svg.file(&format!("{}: {}", outcome.plan.title, tally::whole(outcome)), STYLE), page)
}

/// `fits`, or what is wrong at which scales, the worst first.
fn verdicts(outcome: &Outcome, marking: MarkingId) -> String {
    let worst = |at: &ScaleOutcome| {
        let own = at.pieces.iter().filter(|piece| piece.marking == marking);
        own.map(|piece| piece.verdict).max().map(|verdict| (verdict, at.scale))
    };
    let worst: Vec<(Verdict, Scale)> = outcome.scales.iter().filter_map(worst).collect();
    let said = |verdict: Verdict| {
        let at: Vec<String> =
            worst.iter().filter(|each| each.0 == verdict).map(|each| each.1.to_string()).collect();
        match (verdict, at.len()) {
            (_, 0) => None,
            (verdict, all) if all == worst.len() => Some(verdict.word().to_owned()),
            (Verdict::Fits, _) => None,
            (verdict, _) => Some(format!("{} at {}", verdict.word(), listed(at))),
        }
    };
    let all = [Verdict::Oversize, Verdict::Trim, Verdict::Fits].into_iter().filter_map(said);
    if worst.is_empty() { "not made".to_owned() } else { all.collect::<Vec<_>>().join(", ") }
}

/// About `most` letters, an ellipsis where something is left out.
fn shortened(text: &str, most: f64) -> String {
    let most = most as usize;
    if text.chars().count() <= most {
        return text.to_owned();
    }
    text.chars().take(most.saturating_sub(1)).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use super::super::fixture;
    use super::*;

    #[test]
    fn every_part_is_shown_with_its_verdicts() {
        let (text, page) = contact(&fixture::three_scales());
        let read = roxmltree::Document::parse(&text).unwrap();
        let words: Vec<&str> =
            read.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
        for said in
            ["helmet", "door", "1 crown-disc: oversize", "2 crown-stripe: trim", "3–4 door-roundel: fits"]
        {
            assert!(words.contains(&said), "{said}: {words:?}");
        }
        // Two columns of 300 px and three margins of 18; 96 px are an inch.
        assert!((page.width.to_inches() * 96.0 - 654.0).abs() < 1e-9);
    }
    #[test]
    fn the_worst_verdict_is_told_first_with_its_scales() {
        let mut outcome = fixture::three_scales();
        // 1/72, 1/48, 1/32: the stripe is to be trimmed at each.
        let said = |outcome: &Outcome| verdicts(outcome, MarkingId(1));
        assert_eq!(said(&outcome), "trim");
        outcome.scales[0].pieces[1].verdict = Verdict::Oversize;
        assert_eq!(said(&outcome), "oversize at 1/72, trim at 1/48 and 1/32");
        outcome.scales[1].pieces[1].verdict = Verdict::Fits;
        outcome.scales[2].pieces[1].verdict = Verdict::Fits;
        assert_eq!(said(&outcome), "oversize at 1/72");
        // Made at one scale only: what it is there.
        outcome.scales.iter_mut().skip(1).for_each(|at| at.pieces.clear());
        assert_eq!(said(&outcome), "oversize");
        outcome.scales.clear();
        assert_eq!(said(&outcome), "not made");
    }
}
