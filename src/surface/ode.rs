//! One step of an ordinary differential equation, with its error.
//!
//! The pair of orders 5 and 4 of J. R. Dormand and P. J. Prince, *A family of
//! embedded Runge-Kutta formulae*, J. Comp. Appl. Math. 6:19, 1980; the
//! solution is that of order 5. The equation does not depend on the parameter.

/// y after a step `h` of y′ = f(y), and how far the formula of order 4 lies from it.
pub fn step<const N: usize>(f: impl Fn(&[f64; N]) -> [f64; N], y: &[f64; N], h: f64) -> ([f64; N], [f64; N]) {
    const A: [&[f64]; 7] = [
        &[],
        &[1.0 / 5.0],
        &[3.0 / 40.0, 9.0 / 40.0],
        &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0],
        &[1.9372e4 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0],
        &[9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0],
        &[35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
    ];
    /// Weights of order 5 less those of order 4.
    const E: [f64; 7] =
        [71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339200.0, 22.0 / 525.0, -1.0 / 40.0];
    let mut slopes = [[0.0; N]; 7];
    let mut end = *y;
    for stage in 0..7 {
        end = std::array::from_fn(|i| {
            let sum: f64 = A[stage].iter().zip(&slopes).map(|(a, k)| a * k[i]).sum();
            y[i] + h * sum
        });
        slopes[stage] = f(&end);
    }
    let error = std::array::from_fn(|i| h * E.iter().zip(&slopes).map(|(e, k)| e * k[i]).sum::<f64>());
    (end, error)
}

/// The step to try after one of `h` with this error, where `allowed` was: the error goes as h⁵,
/// and a little less than the formula says saves a repeat (E. Hairer, S. P. Nørsett, G. Wanner,
/// *Solving Ordinary Differential Equations I*, section II.4).
pub fn next_step(h: f64, error: f64, allowed: f64) -> f64 {
    let factor = if error > 0.0 { 0.9 * libm::pow(allowed / error, 0.2) } else { 5.0 };
    h * factor.clamp(0.2, 5.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swing_keeps_its_order_five() {
        let miss = |steps: i32| {
            let h = 2.0 / f64::from(steps);
            let mut y = [1.0, 0.0];
            for _ in 0..steps {
                y = step(|y| [y[1], -y[0]], &y, h).0;
            }
            (y[0] - libm::cos(2.0)).abs() + (y[1] + libm::sin(2.0)).abs()
        };
        let order = libm::log2(miss(10) / miss(20));
        assert!((4.7..5.5).contains(&order), "{order}");
        assert!(miss(200) < 1e-12);
    }
}
