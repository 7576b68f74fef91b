//! The star and bars.
//!
//! Source: Army-Navy specification AN-I-9b, amendment 2 (16 January 1947). With R
//! the radius of the blue circle: a white five-pointed star whose tips touch the
//! circle; on each side a white rectangle R long and R/2 wide, its top edge level
//! with the two side tips of the star; along the middle of each a red stripe R/6
//! wide; round it all a blue border R/8 wide.
//!
//! **Reading taken.** The text calls the bars rectangles one radius long, so they
//! are whole rectangles from R to 2R beside the centre, touching the circle on its
//! level diameter. Between their straight inner ends and the circle a sliver stays,
//! at most 0.049 R wide; it lies within R/8 of both and is blue, as border. (Another
//! reading lets the white run on to the circle.) The border keeps its corners square,
//! and it goes round the union: none runs between circle and bars.

use super::rounds;
use crate::flow::{Area, Artwork, ColourId, PENTAGRAM};
use crate::outline::{Contour, Outline, Point, Segment, point};
use crate::units::Full;
use std::f64::consts::PI;

/// Height of the side tips above the centre over R: sin 18°, which is (√5 − 1)/4.
const SHOULDERS: f64 = 0.309_016_994_374_947_45;

/// Blue, white, and red where a third colour is given.
pub fn star_and_bars(radius: f64, colours: &[ColourId]) -> Artwork<Full> {
    let top = SHOULDERS * radius;
    let bottom = top - radius / 2.0;
    // Of both bars, what lies between two heights.
    let bars = |from: f64, to: f64| {
        let bar = |side: f64| {
            Outline::<Full>::rectangle(point(side * 1.5 * radius, (from + to) / 2.0), radius, to - from)
        };
        let mut both = bar(-1.0);
        both.extend(&bar(1.0));
        both
    };
    let whole = border(radius * 9.0 / 8.0, radius * 17.0 / 8.0, bottom - radius / 8.0, top + radius / 8.0);
    let star = rounds::star(5, radius, PENTAGRAM);

    let mut blue = whole.clone();
    blue.extend(&star.reversed());
    blue.extend(&bars(bottom, top).reversed());
    let mut white = star;
    let mut outlines = vec![blue];
    if colours.len() > 2 {
        let (middle, half) = ((bottom + top) / 2.0, radius / 12.0);
        white.extend(&bars(bottom, middle - half));
        white.extend(&bars(middle + half, top));
        outlines.extend([white, bars(middle - half, middle + half)]);
    } else {
        white.extend(&bars(bottom, top));
        outlines.push(white);
    }
    let areas = outlines.into_iter().zip(colours).map(|(outline, &colour)| Area { colour, outline });
    Artwork { areas: areas.collect(), silhouette: whole, repeat: None }
}

/// A disc of `radius` and a bar across it from `-end` to `end`, as one outline.
fn border(radius: f64, end: f64, bottom: f64, top: f64) -> Outline<Full> {
    let centre = point(0.0, 0.0);
    // Half the chord at a height, and how far the circle has turned by there.
    let chord = |height: f64| ((radius * radius - height * height).sqrt(), libm::asin(height / radius));
    let ((upper, risen), (lower, sunk)) = (chord(top), chord(bottom));
    let line = |x: f64, y: f64| Segment::Line { to: point(x, y) };
    let arc = |sweep: f64, to: Point| Segment::Arc { centre, sweep, to };
    Outline::new(vec![Contour {
        start: point(end, bottom),
        segments: vec![
            line(end, top),
            line(upper, top),
            arc(PI - 2.0 * risen, point(-upper, top)),
            line(-end, top),
            line(-end, bottom),
            line(-lower, bottom),
            arc(PI + 2.0 * sunk, point(lower, bottom)),
        ],
    }])
}

#[cfg(test)]
mod tests {
    use super::super::tests::area_of;
    use super::*;

    /// AN-I-9b, amendment 2; the star's area of 1.1225699 R² is plane geometry.
    #[test]
    fn areas_as_published() {
        let r = 500.0;
        let drawn = star_and_bars(r, &[0, 1, 2].map(ColourId));
        let area = |colour| area_of(&drawn, colour) / (r * r);
        // Two bars of R × R/2 less stripes of R/6, and the star.
        assert!((area(1) - (1.122_569_941_448_963 + 2.0 * (0.5 - 1.0 / 6.0))).abs() < 1e-9);
        assert!((area(2) - 2.0 / 6.0).abs() < 1e-12);
        let whole = drawn.silhouette.area() / (r * r);
        assert!((area(0) + area(1) + area(2) - whole).abs() < 1e-9);
        // The union by another way: disc and bar as polygons.
        let bar = Outline::<Full>::rectangle(point(0.0, (SHOULDERS - 0.25) * r), 4.25 * r, 0.75 * r);
        let disc = Outline::<Full>::circle(point(0.0, 0.0), 1.125 * r);
        let union = bar.flattened(1e-4).union(&disc.flattened(1e-4)).area() / (r * r);
        assert!((whole - union).abs() < 1e-6, "{whole} against {union}");
    }

    #[test]
    fn corners_as_published() {
        let drawn = star_and_bars(1.0, &[0, 1, 2].map(ColourId));
        let corners = |k: usize| -> Vec<Point> {
            drawn.areas[k].outline.contours.iter().flat_map(|c| c.flattened(1.0)).collect()
        };
        let has = |all: &[Point], x: f64, y: f64| all.iter().any(|p| (*p - point(x, y)).length() < 1e-12);
        let (white, red) = (corners(1), corners(2));
        for side in [-1.0, 1.0] {
            // Tops level with the side tips, which lie at 18° on the circle.
            assert!(has(&white, side * 0.951_056_516_295_153_5, SHOULDERS));
            for x in [1.0, 2.0] {
                assert!(has(&white, side * x, SHOULDERS) && has(&white, side * x, SHOULDERS - 0.5));
                assert!(
                    has(&red, side * x, SHOULDERS - 1.0 / 6.0) && has(&red, side * x, SHOULDERS - 1.0 / 3.0)
                );
            }
        }
        let bounds = drawn.silhouette.bounds();
        assert!((bounds.width() - 4.25).abs() < 1e-12 && (bounds.height() - 2.25).abs() < 1e-12);
        // Without the red it is the pattern of 1943.
        let plain = star_and_bars(1.0, &[0, 1].map(ColourId));
        assert!((area_of(&plain, 1) - 2.122_569_941_448_963).abs() < 1e-9);
    }
}
