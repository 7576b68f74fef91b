//! One smooth stretch of a plane curve, each kind a formula on [`Jet`]s.
//!
//! The parameter u runs from 0 to 1. Each kind is parametrised so that its
//! point moves at a speed that is never 0 and never infinite, also where the
//! usual formula has an infinite slope: the tip of a tank, the nose of a wing.
//! Left out: where pieces meet, lengths and nearest points ([`super::curve`]).

use super::hermite;
use super::jet::Jet;
use glam::DVec2;

/// A stretch of a plane curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Piece {
    Line {
        from: DVec2,
        to: DVec2,
    },
    /// Of an ellipse with half axes `semi`, angles by its own parameter, counter-clockwise positive.
    Ellipse {
        centre: DVec2,
        semi: DVec2,
        start: f64,
        sweep: f64,
    },
    /// Of |x/a|ⁿ + |y/b|ⁿ = 1 with n ≥ 2, angles polar in (x/a, y/b).
    Superellipse {
        semi: DVec2,
        power: f64,
        start: f64,
        sweep: f64,
    },
    Naca {
        foil: Naca,
        from: f64,
        to: f64,
    },
    /// √q(τ) over x, q a cubic: see [`Dome`].
    Dome(Dome),
    /// Coefficients of 1, u, u², u³.
    Cubic([DVec2; 4]),
}

impl Piece {
    /// Point and derivatives by u.
    pub fn at(&self, u: f64) -> [Jet; 2] {
        let u = Jet::variable(u);
        match *self {
            Self::Line { from, to } => [u * (to.x - from.x) + from.x, u * (to.y - from.y) + from.y],
            Self::Ellipse { centre, semi, start, sweep } => {
                let (sin, cos) = (u * sweep + start).sin_cos();
                [cos * semi.x + centre.x, sin * semi.y + centre.y]
            }
            Self::Superellipse { semi, power, start, sweep } => {
                let (sin, cos) = (u * sweep + start).sin_cos();
                let reach = (sin.abs().powf(power) + cos.abs().powf(power)).powf(-1.0 / power);
                [reach * cos * semi.x, reach * sin * semi.y]
            }
            Self::Naca { foil, from, to } => {
                foil.at(u * (to - from) + from, if from + to > 0.0 { 1.0 } else { -1.0 })
            }
            Self::Dome(dome) => dome.at(u),
            Self::Cubic([a, b, c, d]) => {
                let along = |a, b, c, d| ((u * d + c) * u + b) * u + a;
                [along(a.x, b.x, c.x, d.x), along(a.y, b.y, c.y, d.y)]
            }
        }
    }
}

/// A wing section of the NACA four-digit family, nose at the origin, chord along x
/// (I. H. Abbott and A. E. von Doenhoff, *Theory of Wing Sections*, section 6.4).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Naca {
    pub chord: f64,
    /// Greatest thickness over chord.
    pub thickness: f64,
    /// Greatest camber over chord, and where it lies.
    pub camber: f64,
    pub camber_at: f64,
}

/// Coefficients of √x, x, x², x³ and x⁴ in the thickness law; with the last, as the book has it, the trailing edge
/// is open.
const THICKNESS: [f64; 5] = [0.2969, -0.1260, -0.3516, 0.2843, -0.1015];

impl Naca {
    /// At w = ±√(x/chord), positive on the upper side: in w the nose, where z goes as √x, is smooth.
    /// `side` is 1 or -1 like the sign of w, which w = 0 does not tell.
    fn at(&self, w: Jet, side: f64) -> [Jet; 2] {
        let x = w * w;
        let [root, first, second, third, fourth] = THICKNESS;
        let even = (((x * fourth + third) * x + second) * x + first) * x;
        let half = (w * root + even * side) * (5.0 * self.thickness);
        let (line, slope) = self.mean_line(x);
        let cos = (slope * slope + 1.0).sqrt().recip();
        [(x - half * slope * cos) * self.chord, (line + half * cos) * self.chord]
    }

    /// The mean line and its slope, of unit chord.
    fn mean_line(&self, x: Jet) -> (Jet, Jet) {
        if self.camber == 0.0 {
            return (Jet::default(), Jet::default());
        }
        let p = self.camber_at;
        let (scale, base) = if x.value < p {
            (self.camber / (p * p), 0.0)
        } else {
            (self.camber / ((1.0 - p) * (1.0 - p)), 1.0 - 2.0 * p)
        };
        ((x * (2.0 * p) - x * x + base) * scale, (x * -2.0 + 2.0 * p) * scale)
    }
}

/// A stretch whose squared height is a monotone cubic of x: ellipses, cones, paraboloids
/// and cylinders come out exactly, and an end on the axis is round unless the points say it is pointed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dome {
    /// Where τ = 0, and its length, negative when τ runs against x.
    x: f64,
    length: f64,
    /// What is left of q after the tip's factor has been taken out.
    rest: [f64; 4],
    tip: Tip,
}

/// How the height goes to 0 at τ = 0.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Tip {
    /// It does not.
    Off,
    /// q = τ · rest: blunt, as a sphere.
    Round,
    /// q = τ² · rest: as a cone.
    Pointed,
}

/// A tip whose slope of r² is below this share of the secant is a cone's, but for rounding.
const POINTED: f64 = 1e-9;

impl Dome {
    /// Between `x[0]` < `x[1]` with squares of the height `q`, of which one may be 0, and slopes `m` of them by x.
    pub fn new(mut x: [f64; 2], mut q: [f64; 2], mut m: [f64; 2]) -> Self {
        if q[1] == 0.0 {
            (x, q, m) = ([x[1], x[0]], [q[1], q[0]], [m[1], m[0]]);
        }
        let length = x[1] - x[0];
        let [c0, c1, c2, c3] = hermite::coefficients(q, m.map(|m| m * length));
        let (tip, rest) = if q[0] > 0.0 {
            (Tip::Off, [c0, c1, c2, c3])
        } else if c1 > POINTED * q[1] {
            (Tip::Round, [c1, c2, c3, 0.0])
        } else {
            (Tip::Pointed, [c2, c3, 0.0, 0.0])
        };
        Self { x: x[0], length, rest, tip }
    }

    fn at(&self, u: Jet) -> [Jet; 2] {
        let w = if self.length < 0.0 { -u + 1.0 } else { u };
        let tau = if self.tip == Tip::Round { w * w } else { w };
        let [a, b, c, d] = self.rest;
        let root = (((tau * d + c) * tau + b) * tau + a).sqrt();
        let height = if self.tip == Tip::Off { root } else { w * root };
        [tau * self.length + self.x, height]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Table for NACA 2412 in Abbott & von Doenhoff, appendix III (from memory; stations and
    /// ordinates in per cent of chord, printed to two decimals).
    #[test]
    fn ordinates_of_a_cambered_section() {
        let foil = Naca { chord: 100.0, thickness: 0.12, camber: 0.02, camber_at: 0.4 };
        let at = |w: f64| foil.at(Jet::variable(w), w.signum()).map(|c| c.value);
        // At 40 % the mean line is level: upper 2 + 5.803, lower 2 − 5.803.
        let w = 0.4_f64.sqrt();
        let half = 60.0 * (0.2969 * w - 0.126 * 0.4 - 0.3516 * 0.16 + 0.2843 * 0.064 - 0.1015 * 0.0256);
        assert!((at(w)[1] - (2.0 + half)).abs() < 1e-12 && (at(w)[0] - 40.0).abs() < 1e-12);
        assert!((at(w)[1] - 7.80).abs() < 5e-3 && (at(-w)[1] + 3.80).abs() < 5e-3);
        // Open trailing edge: 0.126 % to either side, square to the mean line.
        assert!((at(1.0)[1] - 0.13).abs() < 5e-3 && (at(-1.0)[1] + 0.13).abs() < 5e-3);
    }

    #[test]
    fn a_dome_is_a_circle_where_the_points_are() {
        // r² = 1 − x²: slopes −2x; from pole to equator.
        for x in [[-1.0, 0.0], [0.0, 1.0], [-0.6, 0.8]] {
            let dome = Piece::Dome(Dome::new(x, x.map(|x| 1.0 - x * x), x.map(|x| -2.0 * x)));
            for k in 0..=10 {
                let [px, py] = dome.at(f64::from(k) / 10.0);
                assert!((px.value * px.value + py.value * py.value - 1.0).abs() < 1e-14);
                let bend = px.first * py.second - py.first * px.second;
                let speed = libm::hypot(px.first, py.first);
                assert!((bend / libm::pow(speed, 3.0) + 1.0).abs() < 1e-9, "{bend} {speed}");
            }
        }
    }
}
