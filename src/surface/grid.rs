//! Drawn shapes as nets of quadrilaterals, for pictures.

use super::build::{drawn_out, loft, mm};
use super::{Extrude, Foot, Revolve, Tube};
use crate::flow::{Profile, Shape};
use glam::DVec3;
use std::f64::consts::TAU;

/// Faces round a part.
const AROUND: usize = 40;
/// Rows from station to station, and to a quarter of a turn of a bend.
const ROWS: usize = 6;

/// A surface over two parameters.
pub struct Grid {
    /// Values of the first parameter, along the part, and of the second, round it.
    pub along: Vec<f64>,
    pub around: Vec<f64>,
    /// Whether the last values are the first ones again.
    pub closed: [bool; 2],
    /// Whether the part has plastic across its first and its last row.
    pub caps: [bool; 2],
    at: Box<dyn Fn(f64, f64) -> Option<Foot>>,
}

impl Grid {
    /// The point at two values.
    pub fn at(&self, along: f64, around: f64) -> Option<Foot> {
        (self.at)(along, around)
    }
}

/// The grid of a shape that has one: those drawn by points, stations or a path.
pub fn grid(shape: &Shape) -> Option<Grid> {
    match shape {
        Shape::Revolve { profile, smooth } => {
            let points = mm(profile);
            let revolve = Revolve::new(&points, *smooth).ok()?;
            let last = points.len() - 1;
            let caps = [points[0][1] > 0.0, points[last][1] > 0.0];
            Some(Grid {
                along: steps(0.0, last as f64, last * ROWS),
                around: steps(0.0, TAU, AROUND),
                closed: [false, true],
                caps,
                at: Box::new(move |along, around| turned(&revolve, &points, along, around)),
            })
        }
        Shape::Loft { stations } => {
            let loft = loft(stations).ok()?;
            let along = stations.windows(2).flat_map(|pair| {
                let [from, to] = [pair[0].at.to_mm(), pair[1].at.to_mm()];
                steps(from, to, ROWS).into_iter().take(ROWS)
            });
            let last = stations.last()?.at.to_mm();
            Some(Grid {
                along: along.chain([last]).collect(),
                around: loft.angles(),
                closed: [false, true],
                caps: [true; 2],
                at: Box::new(move |along, around| loft.at(along, around)),
            })
        }
        Shape::Tube { diameter, path, bend, closed } => {
            let tube = Tube::new(diameter.to_mm(), &mm(path), bend.to_mm(), *closed).ok()?;
            Some(Grid {
                along: tube.stops(TAU / 4.0 / ROWS as f64),
                around: steps(0.0, TAU, AROUND / 2),
                closed: [*closed, true],
                caps: [!closed; 2],
                at: Box::new(move |along, around| Some(tube.at(along, around))),
            })
        }
        Shape::Extrude { profile, length } => {
            let extrude = Extrude::new(&drawn_out(profile), length.to_mm()).ok()?;
            let half = length.to_mm() / 2.0;
            Some(Grid {
                along: vec![-half, half],
                around: extrude.stops(),
                closed: [false, matches!(profile, Profile::Section(_))],
                caps: [!matches!(profile, Profile::Line { .. }); 2],
                at: Box::new(move |along, around| Some(extrude.on(around, along))),
            })
        }
        _ => None,
    }
}

fn steps(from: f64, to: f64, count: usize) -> Vec<f64> {
    (0..=count).map(|k| from + (to - from) * k as f64 / count as f64).collect()
}

/// `along` counts the points of the profile; towards a tip rows lie closer together.
fn turned(revolve: &Revolve, points: &[[f64; 2]], along: f64, around: f64) -> Option<Foot> {
    let k = (along.max(0.0) as usize).min(points.len() - 2);
    let ([x0, r0], [x1, r1]) = (points[k], points[k + 1]);
    let share = along - k as f64;
    if x0 == x1 {
        let out = super::radial(around);
        let normal = if r1 > r0 { DVec3::NEG_X } else { DVec3::X };
        return Some(Foot { point: DVec3::X * x0 + out * (r0 + (r1 - r0) * share), normal });
    }
    let share = match (r0 == 0.0, r1 == 0.0) {
        (true, false) => share * share,
        (false, true) => 1.0 - (1.0 - share) * (1.0 - share),
        _ => share,
    };
    revolve.at((x0 + (x1 - x0) * share).clamp(x0, x1), around)
}
