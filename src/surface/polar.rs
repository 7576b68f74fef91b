//! A section read as the distance from its centre by angle, with derivatives.
//!
//! The angle is `around`: from the top, counter-clockwise seen from behind a
//! part that faces away (left is 90°). Only sections that every ray from the
//! centre leaves once can be read so. [`Polar::breaks`] lists the angles where
//! a section has a corner or its curvature jumps.

use super::error::ShapeError;
use super::hermite::hermite;
use super::jet::Jet;
use super::monotone;
use super::profile::Section;
use glam::DVec2;
use std::cell::Cell;
use std::f64::consts::{PI, TAU};

/// A section's radius by angle.
#[derive(Clone, Debug)]
pub enum Polar {
    Circle(f64),
    /// Half axes, each to the power -`power`; 2 is an ellipse.
    Super {
        semi: [f64; 2],
        power: f64,
    },
    /// Half sizes and the corner's radius.
    Box {
        half: DVec2,
        radius: f64,
    },
    /// Corners and their angles, rising; the first one again at the end, a turn further.
    Polygon {
        corners: Vec<DVec2>,
        angles: Vec<f64>,
    },
    /// Radii at rising angles and their slopes, the first one again at the end.
    Smooth {
        angles: Vec<f64>,
        radii: Vec<f64>,
        slopes: Vec<f64>,
    },
}

/// An angle round a section, and what is the same for all sections there.
#[derive(Debug)]
pub struct Bearing {
    around: f64,
    /// Sine and cosine without their signs.
    across: Jet,
    up: Jet,
    /// The last power asked for, and both to it: neighbouring stations often share it, and powers are dear.
    powers: Cell<Option<(f64, [Jet; 2])>>,
}

impl Bearing {
    pub fn new(around: f64) -> Self {
        let (sin, cos) = Jet::variable(around).sin_cos();
        Self { around, across: sin.abs(), up: cos.abs(), powers: Cell::new(None) }
    }

    fn powers(&self, n: f64) -> [Jet; 2] {
        if let Some((_, known)) = self.powers.get().filter(|(of, _)| *of == n) {
            return known;
        }
        let sides = [self.across, self.up];
        let powers = sides.map(|side| if n == 2.0 { side * side } else { side.powf(n) });
        self.powers.set(Some((n, powers)));
        powers
    }
}

/// The way out from the centre at this angle, and the way onward: right and up.
pub fn outward(around: f64) -> [DVec2; 2] {
    let (sin, cos) = libm::sincos(around);
    [DVec2::new(-sin, cos), DVec2::new(-cos, -sin)]
}

/// The angle of a point, from 0 up to a turn.
fn angle_of(p: DVec2) -> f64 {
    libm::atan2(-p.x, p.y).rem_euclid(TAU)
}

impl Polar {
    /// Widths run to the right, heights up.
    pub fn new(section: &Section) -> Result<Self, ShapeError> {
        section.check()?;
        let half = |width: f64, height: f64| DVec2::new(width, height) / 2.0;
        let oval = |width: f64, height: f64, power: f64| Self::Super {
            semi: [width, height].map(|size| libm::pow(size / 2.0, -power)),
            power,
        };
        Ok(match *section {
            Section::Circle { diameter } => Self::Circle(diameter / 2.0),
            Section::Ellipse { width, height } => oval(width, height, 2.0),
            Section::Superellipse { width, height, power } => oval(width, height, power),
            Section::Box { width, height, radius } => Self::Box { half: half(width, height), radius },
            Section::Points { ref points, smooth } => Self::through(points, smooth)?,
        })
    }

    fn through(points: &[[f64; 2]], smooth: bool) -> Result<Self, ShapeError> {
        let mut corners: Vec<DVec2> = points.iter().map(|&p| p.into()).collect();
        if corners[0] == corners[corners.len() - 1] {
            corners.pop();
        }
        let count = corners.len();
        let turn = |k: usize| {
            let step = angle_of(corners[(k + 1) % count]) - angle_of(corners[k]);
            (step + PI).rem_euclid(TAU) - PI
        };
        let turns: Vec<f64> = (0..count).map(turn).collect();
        let total: f64 = turns.iter().sum();
        if total.abs() < PI || corners.contains(&DVec2::ZERO) {
            return Err(ShapeError::CentreOutside);
        }
        if let Some(k) = turns.iter().position(|turn| turn * total <= 0.0 || turn.abs() >= PI) {
            return Err(ShapeError::NotStarShaped { at: (k + 1) % count });
        }
        if total < 0.0 {
            corners.reverse();
        }
        let least = (0..count).min_by(|&a, &b| angle_of(corners[a]).total_cmp(&angle_of(corners[b])));
        corners.rotate_left(least.unwrap_or(0));
        let mut angles: Vec<f64> = corners.iter().map(|&p| angle_of(p)).collect();
        corners.push(corners[0]);
        angles.push(angles[0] + TAU);
        if !smooth {
            return Ok(Self::Polygon { corners, angles });
        }
        let radii: Vec<f64> = corners.iter().map(|p| p.length()).collect();
        let secant = |k: usize| Jet::constant((radii[k + 1] - radii[k]) / (angles[k + 1] - angles[k]));
        let step = |k: usize| angles[k + 1] - angles[k];
        let slope = |k: usize| {
            let (before, after) = ((k + count - 1) % count, k % count);
            monotone::between(secant(before), secant(after), step(before), step(after)).value
        };
        let slopes = (0..=count).map(slope).collect();
        Ok(Self::Smooth { angles, radii, slopes })
    }

    /// Radius and its derivatives by the angle.
    pub fn radius(&self, at: &Bearing) -> Jet {
        match self {
            Self::Circle(radius) => Jet::constant(*radius),
            Self::Super { semi, power } => {
                let [across, up] = at.powers(*power);
                let sum = across * semi[0] + up * semi[1];
                if *power == 2.0 { sum.sqrt().recip() } else { sum.powf(-1.0 / power) }
            }
            Self::Box { half, radius } => box_radius(*half, *radius, at),
            Self::Polygon { corners, angles } => {
                let (k, around) = interval(angles, at.around);
                let side = corners[k + 1] - corners[k];
                let out = side.perp().normalize();
                let [way, onward] = outward(around);
                let share = Jet::new(out.dot(way), out.dot(onward), -out.dot(way));
                share.recip() * out.dot(corners[k])
            }
            Self::Smooth { angles, radii, slopes } => {
                let (k, around) = interval(angles, at.around);
                let step = angles[k + 1] - angles[k];
                let slopes = [slopes[k] * step, slopes[k + 1] * step];
                let share = (around - angles[k]) / step;
                let [value, first, second] = hermite([radii[k], radii[k + 1]], slopes, share);
                Jet::new(value, first / step, second / (step * step))
            }
        }
    }

    /// The angles, from 0 up to a turn, where the radius is not smooth.
    pub fn breaks(&self) -> Vec<f64> {
        match self {
            Self::Circle(_) | Self::Super { .. } => Vec::new(),
            Self::Box { half, radius } => {
                let inner = *half - *radius;
                let (top, side) = (libm::atan2(inner.x, half.y), libm::atan2(half.x, inner.y));
                vec![top, side, PI - side, PI - top, PI + top, PI + side, TAU - side, TAU - top]
            }
            Self::Polygon { angles, .. } | Self::Smooth { angles, .. } => angles[..angles.len() - 1].to_vec(),
        }
    }
}

/// The interval of rising angles, the last a turn after the first, that holds an angle, and the
/// angle brought into it.
fn interval(angles: &[f64], around: f64) -> (usize, f64) {
    let around = angles[0] + (around - angles[0]).rem_euclid(TAU);
    let k = angles.partition_point(|&angle| angle <= around).clamp(1, angles.len() - 1) - 1;
    (k, around)
}

fn box_radius(half: DVec2, radius: f64, at: &Bearing) -> Jet {
    let (across, up) = (at.across, at.up);
    let inner = half - radius;
    if across.value * half.y <= inner.x * up.value {
        up.recip() * half.y
    } else if up.value * half.x <= inner.y * across.value {
        across.recip() * half.x
    } else {
        let along = across * inner.x + up * inner.y;
        let inside = along * along + (radius * radius - inner.length_squared());
        along + inside.sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn every() -> Vec<Section> {
        let points = vec![[2.0, 1.0], [-2.0, 1.5], [-1.5, -2.0], [1.0, -1.5]];
        vec![
            Section::Circle { diameter: 3.0 },
            Section::Ellipse { width: 4.0, height: 2.0 },
            Section::Superellipse { width: 4.0, height: 2.0, power: 3.3 },
            Section::Box { width: 4.0, height: 2.0, radius: 0.6 },
            Section::Box { width: 4.0, height: 2.0, radius: 0.0 },
            Section::Points { points: points.clone(), smooth: false },
            Section::Points { points, smooth: true },
        ]
    }

    #[test]
    fn derivatives_agree_with_differences_between_breaks() {
        let h = 1e-5;
        for section in every() {
            let polar = Polar::new(&section).unwrap();
            for k in 0..97 {
                let angle = f64::from(k) * 0.0651 + 0.003;
                let near = |b: &f64| ((angle - b + PI).rem_euclid(TAU) - PI).abs() < 3.0 * h;
                if polar.breaks().iter().any(near) {
                    continue;
                }
                let [low, mid, high] = [angle - h, angle, angle + h].map(|a| polar.radius(&Bearing::new(a)));
                assert!(
                    (mid.first - (high.value - low.value) / (2.0 * h)).abs() < 1e-7,
                    "{section:?} {angle}"
                );
                assert!(
                    (mid.second - (high.first - low.first) / (2.0 * h)).abs() < 1e-6,
                    "{section:?} {angle}"
                );
            }
        }
    }

    #[test]
    fn known_radii() {
        let at = |section: &Section, degrees: f64| {
            Polar::new(section).unwrap().radius(&Bearing::new(degrees.to_radians())).value
        };
        let all = every();
        for (section, top, left) in [(1, 1.0, 2.0), (2, 1.0, 2.0), (3, 1.0, 2.0), (4, 1.0, 2.0)] {
            assert!(
                (at(&all[section], 0.0) - top).abs() < 1e-14
                    && (at(&all[section], 90.0) - left).abs() < 1e-14
            );
        }
        // Through the corner of a box of 4 by 2.
        assert!((at(&all[4], libm::atan2(2.0, 1.0).to_degrees()) - 5.0_f64.sqrt()).abs() < 1e-12);
        // Left of the centre the polygon's side runs from (-2, 1.5) to (-1.5, -2): at height 0, x = -1.7857….
        assert!((at(&all[5], 90.0) - (2.0 - 0.5 * 1.5 / 3.5)).abs() < 1e-12);
        assert!((at(&all[6], angle_of(DVec2::new(1.0, -1.5)).to_degrees()) - 3.25_f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn sections_that_turn_back_are_refused() {
        let star =
            |points: &[[f64; 2]]| Polar::new(&Section::Points { points: points.to_vec(), smooth: false });
        let hooked = star(&[
            [1.0, 1.0],
            [-1.0, 1.0],
            [-1.0, -1.0],
            [0.2, -1.0],
            [0.5, -2.0],
            [0.1, -1.9],
            [1.0, -0.5],
        ]);
        assert!(matches!(hooked, Err(ShapeError::NotStarShaped { at: 5 })), "{hooked:?}");
        let aside = star(&[[1.0, 1.0], [2.0, 1.0], [2.0, 2.0]]);
        assert!(matches!(aside, Err(ShapeError::CentreOutside)));
    }
}
