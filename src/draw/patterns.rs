//! Checks and hazard stripes: patterns with a repeat, cut to length or without ends.

use crate::flow::{Area, Artwork, ColourId, Repeat};
use crate::outline::{Contour, Outline, Region, point};
use crate::units::{Angle, Full, Length};

/// Squares in `rows` rows; without `columns`, one repeat of two columns. The first colour starts at the lower left.
pub fn checks(square: f64, rows: u32, columns: Option<u32>, colours: [ColourId; 2]) -> Artwork<Full> {
    let across = columns.unwrap_or(2);
    let (width, height) = (square * f64::from(across), square * f64::from(rows));
    let cell = |row: u32, column: u32| {
        let middle = point(
            square * (f64::from(column) + 0.5) - width / 2.0,
            square * (f64::from(row) + 0.5) - height / 2.0,
        );
        Outline::<Full>::rectangle(middle, square, square).contours
    };
    let areas = [0, 1].map(|parity| {
        let cells = (0..rows).flat_map(|row| (0..across).map(move |column| (row, column)));
        let own = cells.filter(|(row, column)| (row + column) % 2 == parity);
        Area {
            colour: colours[parity as usize],
            outline: Outline::new(own.flat_map(|(r, c)| cell(r, c)).collect()),
        }
    });
    Artwork {
        areas: areas.into_iter().filter(|area| !area.outline.is_empty()).collect(),
        silhouette: Outline::rectangle(point(0.0, 0.0), width, height),
        repeat: columns.is_none().then(|| Repeat { period: Length::mm(width), shows: true }),
    }
}

/// Diagonal stripes in a bar of `width` across the heading, `stripe` across a stripe, leaning
/// forward by `angle` from the heading; without `length`, one repeat.
pub fn hazard(
    width: f64,
    length: Option<f64>,
    stripe: f64,
    angle: Angle,
    colours: [ColourId; 2],
) -> Artwork<Full> {
    let (sin, cos) = angle.sin_cos();
    // Along the heading, one stripe takes stripe / sin; its far edge leans over by width · cot.
    let (step, lean) = (stripe / sin, width * cos / sin);
    let whole = length.unwrap_or(2.0 * step);
    let bar = Outline::<Full>::rectangle(point(0.0, 0.0), whole, width);
    let reach = ((whole / 2.0 + lean.abs()) / (2.0 * step)).ceil() as i64;
    let parallelogram = |k: i64| {
        let x = 2.0 * step * k as f64;
        let (low, high) = (x - lean / 2.0, x + lean / 2.0);
        let (bottom, top) = (-width / 2.0, width / 2.0);
        Contour::polygon(&[
            point(low, bottom),
            point(low + step, bottom),
            point(high + step, top),
            point(high, top),
        ])
    };
    let stripes = Outline::new((-reach..=reach).map(parallelogram).collect());
    // Straight edges only: any tolerance flattens them exactly.
    let exact = |outline: &Outline<Full>| -> Region<Full> { outline.flattened(1.0) };
    let second = exact(&bar).intersection(&exact(&stripes));
    let first = exact(&bar).minus(&second);
    Artwork {
        areas: vec![
            Area { colour: colours[0], outline: first.to_outline() },
            Area { colour: colours[1], outline: second.to_outline() },
        ],
        silhouette: bar,
        repeat: length.is_none().then(|| Repeat { period: Length::mm(2.0 * step), shows: true }),
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::area_of;
    use super::*;

    #[test]
    fn checks_alternate_and_share_the_area() {
        let drawn = checks(2.0, 3, Some(5), [0, 1].map(ColourId));
        assert_eq!([area_of(&drawn, 0), area_of(&drawn, 1)], [32.0, 28.0]);
        assert_eq!(drawn.repeat, None);
        let round = checks(2.0, 2, None, [0, 1].map(ColourId));
        assert_eq!(round.repeat.map(|repeat| repeat.period.to_mm()), Some(4.0));
    }

    /// Diagonal hazard stripes: 45°, equal widths (ISO 3864, from memory).
    #[test]
    fn hazard_stripes_are_equal_over_a_repeat() {
        let drawn = hazard(100.0, None, 50.0, Angle::degrees(45.0), [0, 1].map(ColourId));
        let period = drawn.repeat.map(|repeat| repeat.period.to_mm()).unwrap_or_default();
        assert!((period - 100.0 * 2f64.sqrt()).abs() < 1e-9);
        assert!((area_of(&drawn, 0) / area_of(&drawn, 1) - 1.0).abs() < 1e-6);
        assert!((area_of(&drawn, 0) + area_of(&drawn, 1) - drawn.silhouette.area()).abs() < 1e-6);
        // One edge of a stripe runs from the lower edge to the upper one, as far along as it is up.
        let edges: Vec<_> = drawn.areas[1].outline.contours.iter().flat_map(Contour::stretches).collect();
        assert!(edges.iter().any(|(from, segment)| {
            let step = segment.to() - *from;
            (step.y.abs() - 100.0).abs() < 1e-6 && (step.x - step.y).abs() < 1e-6
        }));
    }
}
