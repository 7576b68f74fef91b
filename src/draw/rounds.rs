//! Roundels, discs in quarters and stars.

use crate::flow::{Area, Artwork, ColourId};
use crate::outline::{Contour, Outline, Segment, Vector, point, turned};
use crate::units::Full;
use std::f64::consts::PI;

/// Rings whose diameters are to one another as `rings`, innermost first, the last one `diameter` across.
pub fn roundel(diameter: f64, rings: &[f64], colours: &[ColourId]) -> Artwork<Full> {
    let centre = point(0.0, 0.0);
    let outermost = rings.last().copied().unwrap_or(1.0);
    let radius = |share: f64| diameter / 2.0 * share / outermost;
    let mut inner = 0.0;
    let mut areas = Vec::new();
    for (&share, &colour) in rings.iter().zip(colours) {
        let outer = radius(share);
        let outline =
            if inner == 0.0 { Outline::circle(centre, outer) } else { Outline::ring(centre, inner, outer) };
        areas.push(Area { colour, outline });
        inner = outer;
    }
    Artwork { areas, silhouette: Outline::circle(centre, diameter / 2.0), repeat: None }
}

/// A disc in four quarters of two colours by turns, parted along the heading and across it, the first colour ahead to
/// the left: how balance and sighting marks are drawn (common practice, no source).
pub fn quarters(diameter: f64, [first, second]: [ColourId; 2]) -> Artwork<Full> {
    let (centre, radius) = (point(0.0, 0.0), diameter / 2.0);
    let [ahead, left] = [Vector::new(radius, 0.0), Vector::new(0.0, radius)];
    let quarter = |from: Vector, to: Vector| {
        let arc = Segment::Arc { centre, sweep: PI / 2.0, to: centre + to };
        Contour { start: centre, segments: vec![Segment::Line { to: centre + from }, arc] }
    };
    let pair = |colour, from: Vector, to: Vector| Area {
        colour,
        outline: Outline::new(vec![quarter(from, to), quarter(-from, -to)]),
    };
    let areas = vec![pair(first, ahead, left), pair(second, left, -ahead)];
    Artwork { areas, silhouette: Outline::circle(centre, radius), repeat: None }
}

/// A star with one tip straight up the paper. `inner` is the radius of the inward corners over that of the tips.
pub fn star(points: u32, radius: f64, inner: f64) -> Outline<Full> {
    let corner = |k: u32| {
        let reach = if k.is_multiple_of(2) { radius } else { radius * inner };
        point(0.0, 0.0) + turned(Vector::new(0.0, reach), PI * f64::from(k) / f64::from(points))
    };
    Outline::polygon(&(0..2 * points).map(corner).collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::super::tests::area_of;
    use super::*;

    /// Type A roundel, diameters 1:3:5: Air Ministry.
    #[test]
    fn a_roundel_of_one_three_five() {
        let drawn = roundel(30.0, &[1.0, 3.0, 5.0], &[0, 1, 2].map(ColourId));
        let areas = [0, 1, 2].map(|colour| area_of(&drawn, colour) / (PI * 9.0));
        for (area, expected) in areas.into_iter().zip([1.0, 8.0, 16.0]) {
            assert!((area - expected).abs() < 1e-12);
        }
    }

    /// Plane geometry: each colour shows half the disc, and what is ahead to the left is of the first.
    #[test]
    fn a_disc_in_quarters() {
        let drawn = quarters(2.0, [0, 1].map(ColourId));
        assert!([0, 1].iter().all(|&colour| (area_of(&drawn, colour) - PI / 2.0).abs() < 1e-12));
        let first = drawn.areas[0].outline.flattened(1e-4);
        let inside = |x: f64, y: f64| first.contains(point(x, y));
        assert_eq!(
            [inside(0.5, 0.5), inside(-0.5, 0.5), inside(-0.5, -0.5), inside(0.5, -0.5)],
            [true, false, true, false]
        );
    }

    /// A pentagram cut from a circle of radius R: inner radius 0.381966 R, shoulders 0.309017 R
    /// above the centre, area 1.1225699 R² (plane geometry).
    #[test]
    fn a_five_pointed_star() {
        let drawn = star(5, 1.0, 0.3819660112501051);
        assert!((drawn.area() - 1.1225699414489634).abs() < 1e-9);
        let shoulders = drawn.contours[0].flattened(1.0);
        assert!((shoulders[2].y - 0.30901699437494745).abs() < 1e-12);
        assert!(
            (shoulders[1].y - 0.30901699437494745).abs() < 1e-9,
            "the upper inward corners lie level with the side tips"
        );
    }
}
