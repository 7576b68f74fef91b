//! The pens: how each kind of line looks.

use crate::flow::Item;
use crate::outline::{Contour, Outline, Point, Polyline, Segment, lettering};
use crate::units::{Length, Model};

/// Letters and marks: a near-black that does not shout.
pub const INK: [u8; 3] = [34, 38, 44];
/// Lines for the knife: told apart from artwork and from letters.
const CUT: [u8; 3] = [36, 110, 138];
/// Relief cuts: lines for the knife too, but into the piece, and told apart from its edge.
const SLIT: [u8; 3] = [86, 38, 128];
pub const WHITE: [u8; 3] = [255, 255, 255];

/// 0.1 mm is two dots at 600 dpi: thin, and still there.
pub const HAIR: Length<Model> = Length::mm(0.1);
/// Marks that the eye must find.
pub const FINE: Length<Model> = Length::mm(0.15);
/// Dash and gap of a trim line, mm.
const DASH: f64 = 0.6;
/// A line that is longer than any page gets longer dashes, not more.
const MOST_DASHES: f64 = 4000.0;

pub fn cut(outline: Outline<Model>) -> Item {
    Item::Line { outline, rgb: CUT, width: HAIR }
}

pub fn slit(points: Polyline) -> Item {
    Item::Path { points, rgb: SLIT, width: HAIR }
}

/// Light on either side of a slit, so that it is seen on any colour.
pub fn under_slit(points: Polyline) -> Item {
    Item::Path { points, rgb: WHITE, width: Length::mm(0.25) }
}

/// Dark dashes on a light line: seen on any colour.
pub fn trim(line: &[Point]) -> Vec<Item> {
    let stroke = |points: Polyline, rgb| Item::Path { points, rgb, width: HAIR };
    let length: f64 = line.windows(2).map(|pair| (pair[1] - pair[0]).length()).sum();
    let dark = dashes(line, DASH.max(length / MOST_DASHES)).into_iter().map(|dash| stroke(dash, INK));
    std::iter::once(stroke(line.to_vec(), WHITE)).chain(dark).collect()
}

pub fn mark(from: Point, to: Point) -> Item {
    Item::Path { points: vec![from, to], rgb: INK, width: FINE }
}

pub fn stroke(points: Polyline) -> Item {
    Item::Path { points, rgb: INK, width: FINE }
}

/// What lies under colour, and is seen as paper.
pub fn white(outline: Outline<Model>) -> Item {
    Item::Fill { outline, rgb: WHITE }
}

pub fn solid(outline: Outline<Model>) -> Item {
    Item::Fill { outline, rgb: INK }
}

/// Text no wider than `widest`: at this capital height where it can be, smaller where it must.
pub fn text(text: &str, height: f64, widest: f64) -> Outline<Model> {
    let line: Outline<Model> = lettering::line_of_text(&shortened(text), height);
    let width = line.bounds().max.x;
    plainer(if width > widest { line.enlarged((widest / width).max(0.0)) } else { line })
}

/// Curves of letters whose control polygon is no longer than this are drawn as lines, mm.
/// The face rounds its corners, which on a label is half the file and nothing to the eye:
/// a round corner of this length leaves its chord by a fifth of it, half a dot at 1200 dpi.
const CURL: f64 = 0.05;

fn plainer(letters: Outline<Model>) -> Outline<Model> {
    let plain = |(from, segment): (Point, Segment)| match segment {
        Segment::Cubic { ctrl1, ctrl2, to }
            if (ctrl1 - from).length() + (ctrl2 - ctrl1).length() + (to - ctrl2).length() < CURL =>
        {
            Segment::Line { to }
        }
        other => other,
    };
    let contours = letters.contours.iter();
    let contours = contours.map(|c| Contour { start: c.start, segments: c.stretches().map(plain).collect() });
    Outline::new(contours.collect())
}

/// Names and titles may come from strangers: past this many letters nobody reads them on a label.
const LONGEST: usize = 120;

fn shortened(text: &str) -> String {
    if text.chars().count() <= LONGEST {
        return text.to_owned();
    }
    text.chars().take(LONGEST - 1).chain(['…']).collect()
}

/// Mixed with white: shows which window is meant without spending the colour.
pub fn tint(rgb: [u8; 3]) -> [u8; 3] {
    rgb.map(|channel| 255 - (255 - channel) / 3)
}

/// Every other stretch of length `dash` along a line, the first one drawn.
fn dashes(line: &[Point], dash: f64) -> Vec<Polyline> {
    let mut all = Vec::new();
    let mut open: Polyline = line.first().copied().into_iter().collect();
    let mut left = dash;
    let mut drawing = true;
    for pair in line.windows(2) {
        let [mut from, to] = [pair[0], pair[1]];
        while (to - from).length() > left {
            from += (to - from).normalize() * left;
            open.push(from);
            if drawing {
                all.push(std::mem::take(&mut open));
            }
            open = vec![from];
            drawing = !drawing;
            left = dash;
        }
        left -= (to - from).length();
        open.push(to);
    }
    if drawing && open.len() > 1 {
        all.push(open);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::point;

    #[test]
    fn dashes_cover_half_the_line() {
        // 12 mm with a corner in it: twelve dashes of 0.5 mm and twelve gaps.
        let line = [point(0.0, 0.0), point(7.0, 0.0), point(7.0, 5.0)];
        let dashes = dashes(&line, 0.5);
        let length = |l: &Polyline| l.windows(2).map(|p| (p[1] - p[0]).length()).sum::<f64>();
        assert_eq!(dashes.len(), 12);
        assert!((dashes.iter().map(length).sum::<f64>() - 6.0).abs() < 1e-9);
    }

    #[test]
    fn text_keeps_to_its_width() {
        let name = "a name that goes on for longer than any label has room for";
        assert!((text(name, 1.7, 20.0).bounds().max.x - 20.0).abs() < CURL);
        assert!(text("short", 1.7, 20.0).bounds().max.x < 20.0);
        assert!(text(&"long ".repeat(100_000), 1.7, 20.0).contours.len() < 200);
    }
}
