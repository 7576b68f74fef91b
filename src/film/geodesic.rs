//! Film laid along straight lines as a first guess.

use crate::outline::Point;
use crate::surface::geodesic::walk_about as walk;
use crate::surface::{Foot, Start, Surface};

/// Where each flat point lands when straight lines through the start stay straight and keep their length.
pub fn polar(surface: &dyn Surface, start: &Start, points: &[Point]) -> Vec<Foot> {
    let land = |p: &Point| walk(surface, &start.turned(libm::atan2(p.y, p.x)), libm::hypot(p.x, p.y)).foot;
    points.iter().map(land).collect()
}

/// Where each flat point lands when the line through the start along x (along y where `upright`) and
/// all straight lines square to it keep their lengths.
pub fn square(surface: &dyn Surface, start: &Start, points: &[Point], upright: bool) -> Vec<Foot> {
    let quarter = std::f64::consts::FRAC_PI_2;
    let base = if upright { start.turned(quarter) } else { *start };
    let split = |p: &Point| if upright { (p.y, -p.x) } else { (p.x, p.y) };
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| split(&points[a]).0.abs().total_cmp(&split(&points[b]).0.abs()).then(a.cmp(&b)));
    let mut feet = vec![start.foot; points.len()];
    // One walker each way along the base line, so that no stretch of it is walked twice.
    for forwards in [true, false] {
        let (mut walker, mut at) = (base, 0.0);
        for &k in &order {
            let (along, across) = split(&points[k]);
            if (along >= 0.0) == forwards {
                walker = walk(surface, &walker, along - at);
                at = along;
                feet[k] = walk(surface, &walker.turned(quarter), across).foot;
            }
        }
    }
    feet
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::point;
    use crate::surface::Sphere;
    use glam::DVec3;

    #[test]
    fn first_guesses_keep_the_lengths_they_promise() {
        let ball = Sphere { radius: 10.0 };
        let start = Start { foot: ball.project(DVec3::Z), heading: DVec3::X };
        let points = [point(3.0, 4.0), point(-2.0, 1.0), point(0.0, 0.0)];
        let angle = |foot: &Foot, to: DVec3| libm::acos(foot.normal.dot(to)) * 10.0;
        for (foot, p) in polar(&ball, &start, &points).iter().zip(points) {
            assert!((angle(foot, DVec3::Z) - p.to_vector().length()).abs() < 1e-5);
        }
        for (foot, p) in square(&ball, &start, &points, false).iter().zip(points) {
            // Distance from the great circle y = 0.
            assert!((libm::asin(foot.normal.y) * 10.0 - p.y).abs() < 1e-5);
        }
        for (foot, p) in square(&ball, &start, &points, true).iter().zip(points) {
            assert!((libm::asin(foot.normal.x) * 10.0 - p.x).abs() < 1e-5);
        }
    }
}
