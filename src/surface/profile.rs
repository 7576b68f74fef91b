//! Plane sections by name: ellipse, superellipse, box, points, wing section.
//!
//! Read here as a [`Curve`] for what is drawn out along a line; a loft reads
//! them as a radius by angle ([`super::polar`]). A section is centred on its
//! origin, `width` along the first coordinate and `height` along the second.

use super::curve::{Curve, Reach};
use super::error::{ShapeError, counted, positive};
use super::hermite;
use super::jet::Jet;
use super::monotone;
use super::piece::{Naca, Piece};
use glam::DVec2;
use std::f64::consts::FRAC_PI_2;

/// A closed section, lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub enum Section {
    Circle {
        diameter: f64,
    },
    Ellipse {
        width: f64,
        height: f64,
    },
    /// |x/a|ⁿ + |y/b|ⁿ = 1, n being the power, from 2.
    Superellipse {
        width: f64,
        height: f64,
        power: f64,
    },
    /// A rectangle with rounded corners; with a radius of 0 they are sharp.
    Box {
        width: f64,
        height: f64,
        radius: f64,
    },
    /// Corners in either sense round. `smooth` joins them by a curve that overshoots none;
    /// a first point that is given again as the last stays a corner.
    Points {
        points: Vec<[f64; 2]>,
        smooth: bool,
    },
}

/// What is drawn out: a section, a wing section or an open line.
#[derive(Clone, Debug, PartialEq)]
pub enum Profile {
    Section(Section),
    /// NACA four-digit, nose at the origin. Its trailing edge is where it ends: open, as the book has it.
    Naca {
        digits: String,
        chord: f64,
    },
    /// Its outside lies to the left of the way it runs: above, if it runs aft.
    Line {
        points: Vec<[f64; 2]>,
        smooth: bool,
    },
}

/// Above this a superellipse is a box to the eye, and its corners are beyond the arithmetic.
pub const MOST_POWER: f64 = 20.0;

impl Section {
    /// Refuses sizes that make no section.
    pub(super) fn check(&self) -> Result<(), ShapeError> {
        let (width, height) = match *self {
            Self::Circle { diameter } => return positive("a diameter", diameter).map(drop),
            Self::Points { ref points, .. } => return counted("a section", points, 3),
            Self::Ellipse { width, height }
            | Self::Superellipse { width, height, .. }
            | Self::Box { width, height, .. } => (positive("a width", width)?, positive("a height", height)?),
        };
        match *self {
            Self::Superellipse { power, .. } if !(2.0..=MOST_POWER).contains(&power) => {
                Err(ShapeError::Power { power, most: MOST_POWER })
            }
            Self::Box { radius, .. } if !(0.0..=width.min(height) / 2.0).contains(&radius) => {
                Err(ShapeError::CornerRadius { radius, width, height })
            }
            _ => Ok(()),
        }
    }

    /// Clockwise from its rearmost point, for a section with its first coordinate aft and its second up.
    fn curve(&self) -> Result<Curve, ShapeError> {
        self.check()?;
        let ring = |piece: &dyn Fn(f64) -> Piece| {
            Curve::closed((0..4).map(|k| piece(-FRAC_PI_2 * f64::from(k))).collect())
        };
        let ellipse = |width: f64, height: f64| {
            let semi = DVec2::new(width, height) / 2.0;
            ring(&|start| Piece::Ellipse { centre: DVec2::ZERO, semi, start, sweep: -FRAC_PI_2 })
        };
        match *self {
            Self::Circle { diameter } => Ok(ellipse(diameter, diameter)),
            Self::Ellipse { width, height } => Ok(ellipse(width, height)),
            Self::Superellipse { width, height, power } => {
                let semi = DVec2::new(width, height) / 2.0;
                Ok(ring(&|start| Piece::Superellipse { semi, power, start, sweep: -FRAC_PI_2 }))
            }
            Self::Box { width, height, radius } => Ok(Curve::closed(rounded(width, height, radius))),
            Self::Points { ref points, smooth } => {
                let mut points: Vec<DVec2> = points.iter().map(|&p| p.into()).collect();
                let corner = points[0] == points[points.len() - 1];
                if !corner {
                    points.push(points[0]);
                }
                check_line(&points)?;
                if area(&points) > 0.0 {
                    points.reverse();
                }
                Ok(Curve::closed(if smooth { smoothed(&points, !corner) } else { lines(&points) }))
            }
        }
    }
}

impl Profile {
    /// The profile as a curve with its outside to the left; open ends go on for `reach` mm.
    pub(super) fn curve(&self, reach: f64) -> Result<Curve, ShapeError> {
        let open = |pieces| Curve::open(pieces, Reach(reach), Reach(reach));
        match self {
            Self::Section(section) => section.curve(),
            Self::Naca { digits, chord } => Ok(open(wing(digits, positive("a chord", *chord)?)?)),
            Self::Line { points, smooth } => {
                counted("a profile", points, 2)?;
                let points: Vec<DVec2> = points.iter().map(|&p| p.into()).collect();
                check_line(&points)?;
                Ok(open(if *smooth { smoothed(&points, false) } else { lines(&points) }))
            }
        }
    }

    /// A length to measure reaches by: about that of the profile.
    pub(super) fn size(&self) -> f64 {
        match self {
            Self::Section(Section::Circle { diameter }) => *diameter,
            Self::Section(
                Section::Ellipse { width, height }
                | Section::Superellipse { width, height, .. }
                | Section::Box { width, height, .. },
            ) => width + height,
            Self::Naca { chord, .. } => *chord,
            Self::Section(Section::Points { points, .. }) | Self::Line { points, .. } => {
                let farthest = points.iter().flatten().map(|c| c.abs()).fold(0.0, f64::max);
                2.0 * farthest
            }
        }
    }
}

/// From the lower trailing edge round the nose to the upper one, cut where the mean line's law changes.
fn wing(digits: &str, chord: f64) -> Result<Vec<Piece>, ShapeError> {
    let wrong = || ShapeError::Naca { digits: digits.to_owned() };
    let number: Vec<f64> = digits.chars().filter_map(|c| c.to_digit(10)).map(f64::from).collect();
    let &[camber, camber_at, tens, ones] = number.as_slice() else { return Err(wrong()) };
    let thickness = (10.0 * tens + ones) / 100.0;
    if digits.len() != 4 || thickness == 0.0 || (camber > 0.0) != (camber_at > 0.0) {
        return Err(wrong());
    }
    let (camber, camber_at) = (camber / 100.0, camber_at / 10.0);
    let foil = Naca { chord, thickness, camber, camber_at };
    let knee = camber_at.sqrt();
    let stops: &[f64] = if camber > 0.0 { &[-1.0, -knee, 0.0, knee, 1.0] } else { &[-1.0, 0.0, 1.0] };
    Ok(stops.windows(2).map(|ends| Piece::Naca { foil, from: ends[0], to: ends[1] }).collect())
}

/// Clockwise from the middle of the rear side; straight stretches of no length left out.
fn rounded(width: f64, height: f64, radius: f64) -> Vec<Piece> {
    let half = DVec2::new(width, height) / 2.0;
    let inner = half - radius;
    let start = DVec2::new(half.x, 0.0);
    let (mut pieces, mut pen) = (Vec::new(), start);
    let mut line = |pieces: &mut Vec<Piece>, to: DVec2, then: DVec2| {
        if to != pen {
            pieces.push(Piece::Line { from: pen, to });
        }
        pen = then;
    };
    for (k, sign) in [(1.0, -1.0), (-1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)].into_iter().enumerate() {
        let centre = inner * DVec2::from(sign);
        let angle = -FRAC_PI_2 * k as f64;
        // Exact unit steps: a rounded box has its sides where its sizes say.
        let axes = [DVec2::X, DVec2::NEG_Y, DVec2::NEG_X, DVec2::Y, DVec2::X];
        line(&mut pieces, centre + axes[k] * radius, centre + axes[k + 1] * radius);
        if radius > 0.0 {
            pieces.push(Piece::Ellipse {
                centre,
                semi: DVec2::splat(radius),
                start: angle,
                sweep: -FRAC_PI_2,
            });
        }
    }
    line(&mut pieces, start, start);
    pieces
}

fn lines(points: &[DVec2]) -> Vec<Piece> {
    points.windows(2).map(|ends| Piece::Line { from: ends[0], to: ends[1] }).collect()
}

/// Cubics by chord length, each coordinate monotone between its points. `periodic` joins the
/// ends smoothly; the last point is then the first again.
fn smoothed(points: &[DVec2], periodic: bool) -> Vec<Piece> {
    let count = points.len() - 1;
    // Two more points at either end of a ring give its ends their neighbours.
    let pad = if periodic { 2 } else { 0 };
    let knot = |k: usize| if periodic { points[(k + 2 * count - pad) % count] } else { points[k] };
    let knots: Vec<DVec2> = (0..points.len() + 2 * pad).map(knot).collect();
    let mut length = vec![0.0];
    for pair in knots.windows(2) {
        length.push(length[length.len() - 1] + (pair[1] - pair[0]).length());
    }
    let slope = |k: usize| {
        let by = |axis: usize| monotone::slope(&length, k, |i| Jet::constant(knots[i][axis])).value;
        DVec2::new(by(0), by(1))
    };
    let cubic = |k: usize| {
        let chord = length[k + 1] - length[k];
        let (from, to, out, into) = (knots[k], knots[k + 1], slope(k) * chord, slope(k + 1) * chord);
        Piece::Cubic(hermite::coefficients([from, to], [out, into]))
    };
    (pad..count + pad).map(cubic).collect()
}

fn area(ring: &[DVec2]) -> f64 {
    ring.windows(2).map(|pair| pair[0].perp_dot(pair[1])).sum::<f64>() / 2.0
}

/// Refuses repeated points, lines that double back and lines that cross. The ends may be one point.
fn check_line(points: &[DVec2]) -> Result<(), ShapeError> {
    if let Some(k) = (1..points.len()).find(|&k| points[k] == points[k - 1]) {
        return Err(ShapeError::Repeated { at: k });
    }
    for k in 2..points.len() {
        let (before, after) = (points[k - 1] - points[k - 2], points[k] - points[k - 1]);
        if before.perp_dot(after) == 0.0 && before.dot(after) < 0.0 {
            return Err(ShapeError::DoublesBack { at: k });
        }
    }
    let last = points.len() - 2;
    let ring = points[0] == points[last + 1];
    for first in 0..=last {
        for second in first + 2..=last {
            let neighbours = ring && first == 0 && second == last;
            if !neighbours && cross([points[first], points[first + 1]], [points[second], points[second + 1]])
            {
                return Err(ShapeError::SelfCrossing { first, second });
            }
        }
    }
    Ok(())
}

/// Whether two line segments share a point.
fn cross(a: [DVec2; 2], b: [DVec2; 2]) -> bool {
    let apart = |axis: usize| {
        a[0][axis].max(a[1][axis]) < b[0][axis].min(b[1][axis])
            || b[0][axis].max(b[1][axis]) < a[0][axis].min(a[1][axis])
    };
    let split = |line: [DVec2; 2], other: [DVec2; 2]| {
        let side = |p: DVec2| (line[1] - line[0]).perp_dot(p - line[0]);
        side(other[0]) * side(other[1]) <= 0.0
    };
    !apart(0) && !apart(1) && split(a, b) && split(b, a)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Arc length of one surface of NACA 0012, chord 1, by two independent quadratures of the
    /// ordinate formula in Abbott & von Doenhoff.
    #[test]
    fn arc_of_naca_0012() {
        let curve = Profile::Naca { digits: "0012".into(), chord: 1.0 }.curve(1.0).unwrap();
        assert!((curve.length() / 2.0 - 1.019_635_816_5).abs() < 1e-10, "{}", curve.length() / 2.0);
    }

    #[test]
    fn a_rounded_box_is_as_long_as_its_sides_and_corners() {
        let boxed = |radius| Section::Box { width: 6.0, height: 4.0, radius }.curve().unwrap();
        assert!((boxed(1.0).length() - (2.0 * (4.0 + 2.0) + 2.0 * std::f64::consts::PI)).abs() < 1e-12);
        assert_eq!(boxed(0.0).length(), 20.0);
        assert!((boxed(2.0).length() - (4.0 + 4.0 * std::f64::consts::PI)).abs() < 1e-12);
        let [low, high] = boxed(1.5).bounds();
        assert!((low + DVec2::new(3.0, 2.0)).length() + (high - DVec2::new(3.0, 2.0)).length() < 1e-12);
    }

    #[test]
    fn points_run_the_right_way_whichever_way_they_are_given() {
        let mut points: Vec<[f64; 2]> = (0..40)
            .map(|k| libm::sincos(f64::from(k) * std::f64::consts::TAU / 40.0))
            .map(|(sin, cos)| [5.0 * cos, 5.0 * sin])
            .collect();
        for _ in 0..2 {
            let curve = Section::Points { points: points.clone(), smooth: true }.curve().unwrap();
            let at = curve.nearest(DVec2::new(3.0, 4.0));
            assert!((at.normal - DVec2::new(0.6, 0.8)).length() < 5e-3 && (at.curvature - 0.2).abs() < 0.03);
            assert!((curve.length() - 10.0 * std::f64::consts::PI).abs() < 1e-2, "{}", curve.length());
            points.reverse();
        }
    }

    #[test]
    fn bad_sections_say_what_is_wrong() {
        let points = |points: &[[f64; 2]]| Section::Points { points: points.to_vec(), smooth: false }.curve();
        let bow = points(&[[0.0, 0.0], [2.0, 2.0], [2.0, 0.0], [0.0, 2.0]]);
        assert_eq!(bow.unwrap_err(), ShapeError::SelfCrossing { first: 0, second: 2 });
        let spike = points(&[[0.0, 0.0], [2.0, 0.0], [1.0, 0.0], [1.0, 1.0]]);
        assert_eq!(spike.unwrap_err(), ShapeError::DoublesBack { at: 2 });
        let boxed = Section::Box { width: 2.0, height: 1.0, radius: 0.6 }.curve();
        assert!(matches!(boxed, Err(ShapeError::CornerRadius { .. })));
        for digits in ["241", "24123", "2012", "0412", "2400", "24x2", "٢٤١٢"] {
            assert!(matches!(wing(digits, 1.0), Err(ShapeError::Naca { .. })), "{digits}");
        }
        let thin = Section::Superellipse { width: 1.0, height: 1.0, power: 1.5 }.curve();
        assert!(matches!(thin, Err(ShapeError::Power { .. })));
    }
}
