//! Slopes for a smooth curve through points that never overshoots them.
//!
//! A cubic between two points whose secant is Δ stays monotone when its end
//! slopes lie between 0 and 3Δ (F. N. Fritsch and R. E. Carlson, *Monotone
//! Piecewise Cubic Interpolation*, SIAM J. Numer. Anal. 17:238, 1980). Inside
//! that region the slope here is the three-point one, exact for parabolas; as
//! one secant goes to 0 it fades to 0 with two continuous derivatives, so that
//! a loft, whose slopes vary round the section, has no creases along it.

use super::jet::Jet;

/// The part of the monotone region in which the three-point slope stands
/// unchanged, in multiples of the smaller secant. With 2 a parabola sampled
/// evenly is still met next to its top, and the fade never exceeds
/// 2 × 1.198 = 2.4 secants, inside Fritsch and Carlson's 3.
const UNCHANGED: f64 = 2.0;

/// The slope at point `k` of the curve through (x, y).
///
/// `x` must increase and hold at least two numbers; `y` gives the height at a
/// point, with its derivatives by some other parameter, if it has any.
pub fn slope(x: &[f64], k: usize, y: impl Fn(usize) -> Jet) -> Jet {
    let last = x.len() - 1;
    let secant = |i: usize| (y(i + 1) - y(i)) * (1.0 / (x[i + 1] - x[i]));
    let inner = |k: usize| between(secant(k - 1), secant(k), x[k] - x[k - 1], x[k + 1] - x[k]);
    if last == 1 {
        secant(0)
    } else if k == 0 {
        end(secant(0), inner(1))
    } else if k == last {
        end(secant(last - 1), inner(last - 1))
    } else {
        inner(k)
    }
}

/// The slope at a point between secants `a` over the length `before` and `b` over `after`.
pub fn between(a: Jet, b: Jet, before: f64, after: f64) -> Jet {
    if a.value * b.value <= 0.0 {
        return Jet::default();
    }
    let through = (a * after + b * before) * (1.0 / (before + after));
    let smaller = if a.value.abs() < b.value.abs() { a } else { b };
    if through.value.abs() <= UNCHANGED * smaller.value.abs() {
        return through;
    }
    let v = smaller * UNCHANGED / through;
    // The step from 0 to 1 with two flat derivatives at either end.
    through * (v * v * v * ((v * 6.0 + -15.0) * v + 10.0))
}

/// The slope at an end: that of the parabola with the same secant and inner slope, never backwards.
fn end(secant: Jet, inner: Jet) -> Jet {
    let parabola = secant * 2.0 - inner;
    if parabola.value * secant.value <= 0.0 { Jet::default() } else { parabola }
}

#[cfg(test)]
mod tests {
    use super::super::hermite::hermite;
    use super::*;
    use proptest::prelude::*;

    fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
        (0..x.len()).map(|k| slope(x, k, |i| Jet::constant(y[i])).value).collect()
    }

    #[test]
    fn a_parabola_comes_back_exactly() {
        let x = [0.0, 0.5, 1.0, 1.5, 2.0];
        let y = x.map(|x| x * (4.0 - x));
        for (found, x) in slopes(&x, &y).iter().zip(x) {
            assert!((found - (4.0 - 2.0 * x)).abs() < 1e-12);
        }
    }

    /// The radial sounding data of Fritsch and Carlson's paper, table 1 (RPN 14; from memory):
    /// any overshoot shows at the steep rise after the flat start.
    #[test]
    fn no_overshoot_on_the_papers_own_data() {
        let x = [7.99, 8.09, 8.19, 8.7, 9.2, 10.0, 12.0, 15.0, 20.0];
        let y = [0.0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994];
        let m = slopes(&x, &y);
        let mut before = -1e-300;
        for i in 0..8 {
            let h = x[i + 1] - x[i];
            for step in 0..=100 {
                let ends = [y[i], y[i + 1]].map(Jet::constant);
                let at = hermite(ends, [m[i] * h, m[i + 1] * h].map(Jet::constant), f64::from(step) / 100.0);
                assert!(at[0].value >= before - 1e-15);
                before = at[0].value;
            }
        }
        assert!((before - 0.999994).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn slopes_stay_in_the_monotone_region(steps in prop::collection::vec((0.01..3.0, -2.0..2.0), 2..9)) {
            let (mut x, mut y) = (vec![0.0], vec![0.0]);
            for (dx, dy) in &steps {
                x.push(x[x.len() - 1] + dx);
                y.push(y[y.len() - 1] + dy);
            }
            let m = slopes(&x, &y);
            for i in 0..steps.len() {
                let secant = (y[i + 1] - y[i]) / (x[i + 1] - x[i]);
                for slope in [m[i], m[i + 1]] {
                    prop_assert!(slope * secant >= 0.0 && slope.abs() <= 3.0 * secant.abs() + 1e-12);
                }
            }
        }
    }
}
