//! Lengths along the part between two of its points.
//!
//! A straight chord is shorter than the surface under it by a share of
//! (angle)²/24, which for coarse triangles is as much as the strain sought. The
//! two normals tell how far the surface rises over the chord d:
//!
//! q = |d|² + Q(y) s², with s = ½ (n₁ − n₀)·d and y = ½ |n₁ − n₀|² = 1 − cos θ.
//!
//! Q(y) = (θ² − 2y)/y² makes it the exact squared length of the helix on a
//! cylinder and of the great circle on a sphere, so that those shapes cost no
//! error at all; elsewhere the error falls with the fourth power of the spacing.

use crate::surface::Foot;
use glam::DVec3;

/// The squared length from one foot to another, and what is needed for its derivatives.
#[derive(Clone, Copy, Debug)]
pub struct Span {
    pub square: f64,
    /// Derivative by the difference of the points.
    pub by_points: DVec3,
    /// Derivative by the difference of the normals.
    pub by_normals: DVec3,
}

impl Span {
    pub fn new(from: &Foot, to: &Foot) -> Self {
        let (d, n) = (to.point - from.point, to.normal - from.normal);
        let (s, y) = (n.dot(d) / 2.0, n.dot(n) / 2.0);
        let (rise, rise_slope) = rise(y);
        Self {
            square: d.dot(d) + rise * s * s,
            by_points: 2.0 * d + rise * s * n,
            by_normals: rise * s * d + rise_slope * s * s * n,
        }
    }

    /// The squared length alone.
    pub fn square(from: &Foot, to: &Foot) -> f64 {
        let (d, n) = (to.point - from.point, to.normal - from.normal);
        let s = n.dot(d) / 2.0;
        d.dot(d) + rise(n.dot(n) / 2.0).0 * s * s
    }
}

/// Q and its derivative by y. The power series of θ² = arccos²(1 − y), for it cancels to nothing otherwise.
fn rise(y: f64) -> (f64, f64) {
    // θ² = 2 Σ (2y)ⁿ / (n² C(2n, n)) (Abramowitz and Stegun 4.4.40, squared); Q takes the terms from n = 2.
    const SERIES: [f64; 6] = [1.0 / 3.0, 4.0 / 45.0, 1.0 / 35.0, 16.0 / 1575.0, 8.0 / 2079.0, 32.0 / 21021.0];
    if y < 0.02 {
        let (mut value, mut slope) = (0.0, 0.0);
        for term in SERIES.into_iter().rev() {
            slope = slope * y + value;
            value = value * y + term;
        }
        return (value, slope);
    }
    // Opposite normals: the arc has no one direction any more; what is left is finite.
    let y = y.min(1.999_999);
    let angle = libm::acos(1.0 - y);
    let value = (angle * angle - 2.0 * y) / (y * y);
    let angle_slope = 2.0 * angle / (y * (2.0 - y)).sqrt();
    (value, (angle_slope - 2.0) / (y * y) - 2.0 * value / y)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn series_and_closed_form_meet() {
        let (below, above) = (rise(0.02 - 1e-12), rise(0.02 + 1e-12));
        assert!((below.0 - above.0).abs() < 1e-11, "{below:?} {above:?}");
        assert!((below.1 - above.1).abs() < 1e-9, "{below:?} {above:?}");
        for y in [1e-3, 0.015, 0.5, 1.7] {
            let slope = (rise(y + 1e-6).0 - rise(y - 1e-6).0) / 2e-6;
            assert!((slope - rise(y).1).abs() < 1e-7, "{slope} {}", rise(y).1);
        }
    }

    #[test]
    fn helices_and_great_circles_have_their_own_length() {
        let foot = |angle: f64, x: f64| {
            let (sin, cos) = libm::sincos(angle);
            let normal = DVec3::new(0.0, sin, cos);
            Foot { point: normal * 19.0 + DVec3::X * x, normal }
        };
        for (angle, x) in [(0.01f64, 3.0f64), (0.3, -2.0), (1.5, 0.0), (2.9, 7.0)] {
            let expected = libm::pow(19.0f64 * angle, 2.0) + x * x;
            let got = Span::square(&foot(0.4, 1.0), &foot(0.4 + angle, 1.0 + x));
            assert!((got / expected - 1.0).abs() < 1e-13, "{angle} {got} {expected}");
        }
    }

    #[test]
    fn error_elsewhere_falls_with_the_fourth_power() {
        // Along the parabola y = x²/2 of a parabolic cylinder: arc length ½(x√(1+x²) + asinh x).
        let foot = |x: f64| Foot {
            point: DVec3::new(x, 0.0, x * x / 2.0),
            normal: DVec3::new(-x, 0.0, 1.0).normalize(),
        };
        let length = |x: f64| (x * (1.0 + x * x).sqrt() + libm::asinh(x)) / 2.0;
        let miss = |h: f64| {
            (Span::square(&foot(0.3), &foot(0.3 + h)).sqrt() / (length(0.3 + h) - length(0.3)) - 1.0).abs()
        };
        let order = libm::log2(miss(0.08) / miss(0.04));
        assert!(order > 3.7, "{order} {}", miss(0.1));
    }
}
