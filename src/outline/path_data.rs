//! SVG path data (SVG 1.1, 8.3) as contours: `M 0 0 L 10 0 C …`, every command of it.
//!
//! The parser is usvg's own, in double precision; arcs become cubics there, which
//! miss a quarter circle by 0.03 % of its radius. y is turned up. Left out: which
//! rule fills them, and units.

use super::{Contour, Point, Segment, point};
use svgtypes::{PathParser, PathSegment, SimplePathSegment as Piece, SimplifyingPathParser};

/// The greatest number taken, in any unit. Office programs draw in 1/914 400 inch, 5e7 of them to their
/// widest page; a full circle of this radius is 46 curves.
pub const MOST: f64 = 1e9;

/// Closed contours; an open one is closed by a straight line, as filling does.
///
/// # Errors
/// What is wrong, with the place in the text where it is known.
pub fn contours(data: &str) -> Result<Vec<Contour>, String> {
    // Before curves are made: an arc of a radius of 1e99 would be 1e16 of them.
    let steps = PathParser::from(data).map_while(Result::ok);
    if let Some(number) = steps.map(|step| greatest(&step)).find(|number| *number > MOST) {
        return Err(format!("{number:e} is beyond all measure, at most {MOST:e}"));
    }
    let mut contours: Vec<Contour> = Vec::new();
    let mut here = Point::default();
    for piece in SimplifyingPathParser::from(data) {
        let segment = match piece.map_err(|error| error.to_string())? {
            Piece::MoveTo { x, y } => {
                here = point(x, -y);
                contours.push(Contour { start: here, segments: Vec::new() });
                continue;
            }
            Piece::ClosePath => {
                here = contours.last().map_or(here, |contour| contour.start);
                continue;
            }
            Piece::LineTo { x, y } => Segment::Line { to: point(x, -y) },
            Piece::CurveTo { x1, y1, x2, y2, x, y } => {
                Segment::Cubic { ctrl1: point(x1, -y1), ctrl2: point(x2, -y2), to: point(x, -y) }
            }
            Piece::Quadratic { x1, y1, x, y } => Segment::quadratic(here, point(x1, -y1), point(x, -y)),
        };
        here = segment.to();
        if let Some(contour) = contours.last_mut() {
            contour.segments.push(segment);
        }
    }
    contours.retain(|contour| !contour.segments.is_empty());
    Ok(contours)
}

/// The greatest number of a step of a path, but for the angle of an arc.
pub fn greatest(step: &PathSegment) -> f64 {
    let of = |numbers: &[f64]| numbers.iter().fold(0.0, |most: f64, number| most.max(number.abs()));
    match *step {
        PathSegment::ClosePath { .. } => 0.0,
        PathSegment::HorizontalLineTo { x, .. } => of(&[x]),
        PathSegment::VerticalLineTo { y, .. } => of(&[y]),
        PathSegment::MoveTo { x, y, .. }
        | PathSegment::LineTo { x, y, .. }
        | PathSegment::SmoothQuadratic { x, y, .. } => of(&[x, y]),
        PathSegment::Quadratic { x1, y1, x, y, .. } => of(&[x1, y1, x, y]),
        PathSegment::SmoothCurveTo { x2, y2, x, y, .. } => of(&[x2, y2, x, y]),
        PathSegment::CurveTo { x1, y1, x2, y2, x, y, .. } => of(&[x1, y1, x2, y2, x, y]),
        PathSegment::EllipticalArc { rx, ry, x, y, .. } => of(&[rx, ry, x, y]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(data: &str) -> f64 {
        contours(data).unwrap().iter().map(Contour::signed_area).sum()
    }

    #[test]
    fn every_command_is_read() {
        // y runs down in SVG: what runs clockwise on the screen is counter-clockwise in numbers there.
        assert!((area("M0,0 h4 v3 H0 z") + 12.0).abs() < 1e-12);
        assert!((area("M0 0 l4 0 0 3 -4 0 z m10 0 l0 2 2 0 0 -2z") + 12.0 - 4.0).abs() < 1e-12);
        // A quadratic over a base of 2 and a height of 1 encloses 2/3 · 2 · 1 (Archimedes).
        assert!((area("M0 0 Q 1 -2 2 0") + 4.0 / 3.0).abs() < 1e-12);
        assert!((area("M0 0 Q 1 -2 2 0 T 4 0 z")).abs() < 1e-12);
        let circle = area("M10 0 A10 10 0 1 1 -10 0 A10 10 0 0 1 10 0 z");
        assert!((circle.abs() / (100.0 * std::f64::consts::PI) - 1.0).abs() < 5e-4, "{circle}");
        assert!(contours("M0 0 A1e60 1e60 0 0 1 1e60 1e60 Z").unwrap_err().contains("beyond all measure"));
        assert!(contours("M0 0 L 1 x").is_err() && contours("L 1 1").is_err());
    }
}
