//! A number that carries its first and second derivative by one parameter.
//!
//! A curve written once as a formula on jets yields its tangent and its exact
//! curvature with it: no second formula to get wrong, no finite differences
//! (A. Griewank and A. Walther, *Evaluating Derivatives*, 2008, chapter 13:
//! Taylor arithmetic, cut after the second order). Left out: higher orders and
//! more than one parameter.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A value and its derivatives by the parameter.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Jet {
    pub value: f64,
    pub first: f64,
    pub second: f64,
}

impl Jet {
    pub const fn new(value: f64, first: f64, second: f64) -> Self {
        Self { value, first, second }
    }

    /// A number that does not depend on the parameter.
    pub const fn constant(value: f64) -> Self {
        Self::new(value, 0.0, 0.0)
    }

    /// The parameter itself.
    pub const fn variable(value: f64) -> Self {
        Self::new(value, 1.0, 0.0)
    }

    /// f(self), from f, f′ and f″ at the value (Faà di Bruno, second order).
    fn through(self, f: f64, slope: f64, bend: f64) -> Self {
        Self::new(f, slope * self.first, slope * self.second + bend * self.first * self.first)
    }

    pub fn sqrt(self) -> Self {
        let root = self.value.sqrt();
        self.through(root, 0.5 / root, -0.25 / (root * self.value))
    }

    /// To a fixed power; of a value of 0 only for powers of 2 and more.
    pub fn powf(self, n: f64) -> Self {
        let v = self.value;
        let below = libm::pow(v, n - 2.0);
        self.through(below * v * v, n * below * v, n * (n - 1.0) * below)
    }

    pub fn recip(self) -> Self {
        let r = 1.0 / self.value;
        self.through(r, -r * r, 2.0 * r * r * r)
    }

    pub fn abs(self) -> Self {
        if self.value < 0.0 { -self } else { self }
    }

    /// Sine and cosine.
    pub fn sin_cos(self) -> (Self, Self) {
        let (sin, cos) = libm::sincos(self.value);
        (self.through(sin, cos, -sin), self.through(cos, -sin, -cos))
    }
}

impl Add for Jet {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::new(self.value + o.value, self.first + o.first, self.second + o.second)
    }
}

impl Sub for Jet {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::new(self.value - o.value, self.first - o.first, self.second - o.second)
    }
}

impl Neg for Jet {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.value, -self.first, -self.second)
    }
}

impl Mul for Jet {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        Self::new(
            self.value * o.value,
            self.first * o.value + self.value * o.first,
            self.second * o.value + 2.0 * self.first * o.first + self.value * o.second,
        )
    }
}

impl Div for Jet {
    type Output = Self;
    #[allow(clippy::suspicious_arithmetic_impl)] // a quotient is the product with the reciprocal
    fn div(self, o: Self) -> Self {
        self * o.recip()
    }
}

impl Mul<f64> for Jet {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self::new(self.value * k, self.first * k, self.second * k)
    }
}

impl Add<f64> for Jet {
    type Output = Self;
    fn add(self, k: f64) -> Self {
        Self::new(self.value + k, self.first, self.second)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derivatives of √(sin u / (1 + u²))^2.5, against the same function differenced.
    #[test]
    fn derivatives_agree_with_differences() {
        let f = |u: Jet| (u.sin_cos().0 / (u * u + 1.0)).sqrt().powf(2.5) - u.sin_cos().1.abs();
        let (u, h) = (0.7, 1e-4);
        let [low, mid, high] = [u - h, u, u + h].map(|u| f(Jet::variable(u)));
        assert!((mid.first - (high.value - low.value) / (2.0 * h)).abs() < 1e-7);
        assert!((mid.second - (high.first - low.first) / (2.0 * h)).abs() < 1e-7);
    }
}
