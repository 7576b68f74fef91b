//! Stripes, bands and chevrons: straight bars of one or several colours.

use crate::flow::{Area, Artwork, ColourId, Repeat};
use crate::outline::{Outline, point};
use crate::units::{Angle, Full, Length};

/// A bar along the heading, as wide as `widths` at its start and its end, split across into equal
/// stripes, one for each colour, the first on the right.
pub fn stripe(length: f64, widths: [f64; 2], colours: &[ColourId]) -> Artwork<Full> {
    let count = colours.len() as f64;
    // Between two shares of the width, counted from the right edge.
    let between = |from: f64, to: f64| {
        let corner = |x: f64, width: f64, share: f64| point(x * length / 2.0, (share - 0.5) * width);
        let [start, end] = widths;
        Outline::polygon(&[
            corner(-1.0, start, from),
            corner(1.0, end, from),
            corner(1.0, end, to),
            corner(-1.0, start, to),
        ])
    };
    let area = |(k, &colour): (usize, &ColourId)| Area {
        colour,
        outline: between(k as f64 / count, (k + 1) as f64 / count),
    };
    Artwork {
        areas: colours.iter().enumerate().map(area).collect(),
        silhouette: between(0.0, 1.0),
        repeat: None,
    }
}

/// Stripes that go round a part, the first one on the right of the heading: on a ring, the front.
/// One repeat is as long as the band is wide; a plain band has no pattern that could break.
pub fn band(widths: &[f64], colours: &[ColourId]) -> Artwork<Full> {
    let width: f64 = widths.iter().sum();
    Artwork {
        areas: side_by_side(width, widths, colours),
        silhouette: Outline::rectangle(point(0.0, 0.0), width, width),
        repeat: Some(Repeat { period: Length::mm(width), shows: false }),
    }
}

fn side_by_side(length: f64, widths: &[f64], colours: &[ColourId]) -> Vec<Area<Full>> {
    let mut edge = -widths.iter().sum::<f64>() / 2.0;
    let mut stripe = |(&width, &colour): (&f64, &ColourId)| {
        let middle = point(0.0, edge + width / 2.0);
        edge += width;
        Area { colour, outline: Outline::rectangle(middle, length, width) }
    };
    widths.iter().zip(colours).map(&mut stripe).collect()
}

/// A bent bar that points along the heading: `width` from tip to tip of its
/// arms, `stroke` across an arm, `angle` between the arms.
pub fn chevron(width: f64, stroke: f64, angle: Angle) -> Outline<Full> {
    let (sin, cos) = (angle / 2.0).sin_cos();
    // Half the width of the arms, how far they trail, and the stroke measured along the heading.
    let (half, trail, thick) = (width / 2.0, width / 2.0 * cos / sin, stroke / sin);
    let middle = (trail + thick) / 2.0;
    Outline::polygon(&[
        point(middle, 0.0),
        point(middle - trail, half),
        point(middle - trail - thick, half),
        point(middle - thick, 0.0),
        point(middle - trail - thick, -half),
        point(middle - trail, -half),
    ])
}

#[cfg(test)]
mod tests {
    use super::super::tests::area_of;
    use super::*;

    /// Five equal bands, white outermost, 18 in each on single-engined aircraft (1944): Smithsonian NASM.
    #[test]
    fn five_stripe_band() {
        let inch = 25.4;
        let colours = [0, 1, 0, 1, 0].map(ColourId);
        let drawn = band(&[18.0 * inch; 5], &colours);
        assert!((drawn.silhouette.bounds().height() - 90.0 * inch).abs() < 1e-9);
        assert!((area_of(&drawn, 0) / area_of(&drawn, 1) - 1.5).abs() < 1e-12);
        let first = drawn.areas[0].outline.bounds();
        assert!((first.min.y + 45.0 * inch).abs() < 1e-9 && (first.max.y + 27.0 * inch).abs() < 1e-9);
    }

    #[test]
    fn a_tapered_stripe_is_a_trapezium() {
        let drawn = stripe(200.0, [50.0, 20.0], &[ColourId(0), ColourId(1)]);
        assert!((area_of(&drawn, 0) - 3500.0).abs() < 1e-9 && (area_of(&drawn, 1) - 3500.0).abs() < 1e-9);
        let bounds = drawn.silhouette.bounds();
        assert_eq!((bounds.width(), bounds.height()), (200.0, 50.0));
        assert_eq!(drawn.silhouette.contours[0].segments.len(), 3);
    }

    #[test]
    fn a_chevron_has_arms_of_its_stroke() {
        let drawn = chevron(100.0, 20.0, Angle::degrees(90.0));
        assert!((drawn.bounds().height() - 100.0).abs() < 1e-12);
        // Two parallelograms of half the width by the stroke along the heading.
        assert!((drawn.area() - 100.0 * 20.0 * 2f64.sqrt()).abs() < 1e-9);
    }
}
