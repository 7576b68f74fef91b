//! The cubic between two points whose slopes are given (Hermite).
//!
//! Left out: where slopes come from.

use std::ops::{Add, Mul, Sub};

/// What curves run through: it is added and scaled.
pub trait Linear: Copy + Add<Output = Self> + Sub<Output = Self> + Mul<f64, Output = Self> {}
impl<T: Copy + Add<Output = T> + Sub<Output = T> + Mul<f64, Output = T>> Linear for T {}

/// The cubic on τ in [0, 1] between heights `y` with slopes `m` by τ: value and two derivatives by τ.
pub fn hermite<T: Linear>(y: [T; 2], m: [T; 2], tau: f64) -> [T; 3] {
    let [c0, c1, c2, c3] = coefficients(y, m);
    [
        ((c3 * tau + c2) * tau + c1) * tau + c0,
        (c3 * (3.0 * tau) + c2 * 2.0) * tau + c1,
        c3 * (6.0 * tau) + c2 * 2.0,
    ]
}

/// The same cubic as coefficients of 1, τ, τ², τ³.
pub fn coefficients<T: Linear>(y: [T; 2], m: [T; 2]) -> [T; 4] {
    let rise = y[1] - y[0];
    [y[0], m[0], rise * 3.0 - m[0] * 2.0 - m[1], m[0] + m[1] - rise * 2.0]
}
