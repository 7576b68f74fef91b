//! Figures of one outline: cross, rays, arrow, sector, rounded rectangle, ellipse.

use crate::flow::Figure;
use crate::outline::{Contour, Outline, Point, Segment, Vector, point, turned};
use crate::units::{Angle, Full};
use std::f64::consts::{PI, TAU};

pub fn figure(figure: &Figure) -> Outline<Full> {
    match figure {
        Figure::Cross { width, height, stroke, flare } => {
            cross(width.to_mm(), height.to_mm(), stroke.to_mm(), flare.to_mm())
        }
        Figure::Rays { diameter, inner, count, angle } => {
            rays(diameter.to_mm() / 2.0, inner.to_mm() / 2.0, *count, *angle)
        }
        Figure::Arrow { length, width, stroke, head } => {
            arrow(length.to_mm(), width.to_mm(), stroke.to_mm(), head.to_mm())
        }
        Figure::Sector { diameter, inner, angle } => {
            sector(diameter.to_mm() / 2.0, inner.to_mm() / 2.0, *angle)
        }
        Figure::Rounded { width, height, radius } => rounded(width.to_mm(), height.to_mm(), radius.to_mm()),
        Figure::Ellipse { width, height } => ellipse(width.to_mm(), height.to_mm()),
        Figure::Path(outline) => outline.clone(),
    }
}

/// Arms `stroke` wide where they cross and `flare` wide at their ends.
fn cross(width: f64, height: f64, stroke: f64, flare: f64) -> Outline<Full> {
    let (x, y, s, f) = (width / 2.0, height / 2.0, stroke / 2.0, flare / 2.0);
    // From the lower right corner of the crossing, counter-clockwise.
    let quarter = [[s, -s], [x, -f], [x, f], [s, s], [f, y], [-f, y]];
    let other = quarter.map(|[x, y]| [-x, -y]);
    let corners: Vec<Point> = quarter.into_iter().chain(other).map(|[x, y]| point(x, y)).collect();
    Outline::polygon(&corners)
}

fn rays(outer: f64, inner: f64, count: u32, angle: Angle) -> Outline<Full> {
    let ray = |k: u32| wedge(inner, outer, PI / 2.0 + TAU * f64::from(k) / f64::from(count), angle);
    Outline::new((0..count).map(ray).collect())
}

fn arrow(length: f64, width: f64, stroke: f64, head: f64) -> Outline<Full> {
    let (tip, neck, half, thin) = (length / 2.0, length / 2.0 - head, width / 2.0, stroke / 2.0);
    let corners =
        [[-tip, -thin], [neck, -thin], [neck, -half], [tip, 0.0], [neck, half], [neck, thin], [-tip, thin]];
    Outline::polygon(&corners.map(|[x, y]| point(x, y)))
}

fn sector(outer: f64, inner: f64, angle: Angle) -> Outline<Full> {
    let centre = point(0.0, 0.0);
    if angle.to_degrees() > 360.0 - 1e-9 {
        return if inner > 0.0 {
            Outline::ring(centre, inner, outer)
        } else {
            Outline::circle(centre, outer)
        };
    }
    Outline::new(vec![wedge(inner, outer, 0.0, angle)])
}

/// Between two circles, `angle` wide about the direction `middle` (radians).
fn wedge(inner: f64, outer: f64, middle: f64, angle: Angle) -> Contour {
    let centre = point(0.0, 0.0);
    let sweep = angle.to_radians();
    let at = |radius: f64, way: f64| centre + turned(Vector::new(radius, 0.0), middle + way * sweep / 2.0);
    let mut segments = vec![
        Segment::Line { to: at(outer, -1.0) },
        Segment::Arc { centre, sweep, to: at(outer, 1.0) },
        Segment::Line { to: at(inner, 1.0) },
    ];
    if inner > 0.0 {
        segments.push(Segment::Arc { centre, sweep: -sweep, to: at(inner, -1.0) });
    }
    Contour { start: at(inner, -1.0), segments }
}

fn rounded(width: f64, height: f64, radius: f64) -> Outline<Full> {
    let (x, y) = (width / 2.0 - radius, height / 2.0 - radius);
    // Corner by corner from the lower right, where each begins to turn and where it has turned.
    let corners = [[x, -y], [x, y], [-x, y], [-x, -y]].map(|[x, y]| point(x, y));
    let spoke = |k: usize| turned(Vector::new(0.0, -radius), PI / 2.0 * k as f64);
    let corner = |(k, &centre): (usize, &Point)| {
        let arc = Segment::Arc { centre, sweep: PI / 2.0, to: centre + spoke(k + 1) };
        [Segment::Line { to: centre + spoke(k) }, arc]
    };
    let segments = corners.iter().enumerate().flat_map(corner).skip(1).collect();
    Outline::new(vec![Contour { start: corners[0] + spoke(0), segments }])
}

/// Sixteen cubics: with the tangent length 4/3 · tan(δ/4) they leave the ellipse by less than 1e-7 of its size.
fn ellipse(width: f64, height: f64) -> Outline<Full> {
    const COUNT: u32 = 16;
    let step = TAU / f64::from(COUNT);
    let reach = 4.0 / 3.0 * libm::tan(step / 4.0);
    let at = |k: u32| {
        // The last point is the first one to the last bit.
        let (sin, cos) = libm::sincos(step * f64::from(k % COUNT));
        let spot = point(width / 2.0 * cos, height / 2.0 * sin);
        (spot, Vector::new(-width / 2.0 * sin, height / 2.0 * cos) * reach)
    };
    let stretch = |k: u32| {
        let ((from, ahead), (to, back)) = (at(k), at(k + 1));
        Segment::Cubic { ctrl1: from + ahead, ctrl2: to - back, to }
    };
    Outline::new(vec![Contour { start: at(0).0, segments: (0..COUNT).map(stretch).collect() }])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, wanted: f64) {
        assert!((found / wanted - 1.0).abs() < 1e-9, "{found} instead of {wanted}");
    }

    #[test]
    fn areas_by_plane_geometry() {
        close(cross(60.0, 40.0, 10.0, 10.0).area(), 10.0 * (60.0 + 40.0) - 100.0);
        // Four trapeziums and the crossing.
        close(cross(60.0, 60.0, 10.0, 30.0).area(), 4.0 * 25.0 * 20.0 + 100.0);
        close(arrow(100.0, 40.0, 10.0, 30.0).area(), 70.0 * 10.0 + 40.0 * 30.0 / 2.0);
        close(sector(10.0, 0.0, Angle::degrees(90.0)).area(), 25.0 * PI);
        close(sector(10.0, 6.0, Angle::degrees(60.0)).area(), 64.0 * PI / 6.0);
        close(sector(10.0, 6.0, Angle::degrees(360.0)).area(), 64.0 * PI);
        close(rays(10.0, 0.0, 16, Angle::degrees(11.25)).area(), 50.0 * PI);
        close(rounded(60.0, 40.0, 8.0).area(), 2400.0 - (4.0 - PI) * 64.0);
        assert!((ellipse(60.0, 40.0).area() / (600.0 * PI) - 1.0).abs() < 1e-7);
    }

    #[test]
    fn figures_keep_to_their_boxes() {
        let sides = |outline: Outline<Full>| {
            let bounds = outline.bounds();
            [bounds.min.x, bounds.max.x, bounds.min.y, bounds.max.y].map(|side| (side * 1e6).round() / 1e6)
        };
        assert_eq!(sides(rounded(60.0, 40.0, 8.0)), [-30.0, 30.0, -20.0, 20.0]);
        assert_eq!(sides(ellipse(60.0, 40.0)), [-30.0, 30.0, -20.0, 20.0]);
        assert_eq!(sides(arrow(100.0, 40.0, 10.0, 30.0)), [-50.0, 50.0, -20.0, 20.0]);
        // A ray straight up, and an even count: one straight down as well.
        assert_eq!(sides(rays(10.0, 2.0, 8, Angle::degrees(20.0)))[2..], [-10.0, 10.0]);
    }

    /// Perimeter of the ellipse with half axes 1 and 0.8: 5.672333577795 (complete elliptic integral, scipy).
    #[test]
    fn an_ellipse_is_as_long_round_as_the_integral_says() {
        let long = ellipse(2.0, 1.6).flattened(1e-8).perimeter();
        assert!((long - 5.672_333_577_795).abs() < 1e-6, "{long}");
    }
}
