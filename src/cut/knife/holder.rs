//! The holder's path that makes a drag knife's tip run along a line.
//!
//! The blade trails its holder by the offset e like a castor. With the tip at P
//! and facing along u the holder is at P + e·u; so along a straight edge the
//! holder runs parallel, e ahead, and at a corner of β it swings round the tip on
//! an arc of length eβ while the tip stands. A fine polygon round a circle of
//! radius r takes the holder along √(r² + e²), as theory asks.
//!
//! Lifted, a blade keeps facing as it did, so what it faced at the end of one
//! cut is where it starts from at the next. At the very first cut nobody knows:
//! a lead-in drags it round first. A blade that trails by the angle ψ turns as
//! tan(ψ/2) = tan(ψ₀/2)·e^(−s/e) along the way s.
//!
//! Left out: the blade's width, slack in the holder, film that gives.

use crate::outline::{Point, Polyline, Vector, turned};
use std::f64::consts::PI;

/// How far a swing's chords may miss its arc, mm.
const SAGITTA: f64 = 0.001;

/// Legs of a lead-in: turned by these angles from x, in offsets. Together more than twice the five offsets
/// that bring a right angle under 0.8°; the bends see to it that a blade that faces exactly backwards,
/// where dragging it straight would leave it, is turned as well.
const LEGS: [(f64, f64); 3] = [(0.0, 6.0), (PI / 2.0, 6.0), (PI / 4.0, 14.0)];

/// Which way the blade faces once the lead-in is cut.
pub fn faces_after_lead_in() -> Vector {
    turned(Vector::new(1.0, 0.0), LEGS[2].0)
}

/// The holder's way through waste film from `corner`, within [`lead_in_side`] of it both ways.
pub fn lead_in(corner: Point, offset: f64) -> Polyline {
    let mut path = vec![corner];
    let mut at = corner;
    for (angle, length) in LEGS {
        at += turned(Vector::new(length * offset, 0.0), angle);
        path.push(at);
    }
    path
}

/// Side of a square that holds a lead-in and everything its blade touches, mm.
pub fn lead_in_side(offset: f64) -> f64 {
    let [first, second, third] = LEGS.map(|(angle, length)| turned(Vector::new(length, 0.0), angle));
    (first + second + third).x.max((first + second + third).y) * offset + 2.0 * offset
}

/// The holder's path for a tip that runs through `points`; `facing` is what the blade faces before, and after.
pub fn path(points: &[Point], offset: f64, facing: &mut Vector) -> Polyline {
    if offset <= 0.0 {
        return points.to_vec();
    }
    let mut path = Vec::new();
    let mut last = points.first().copied().unwrap_or_default();
    for pair in points.windows(2) {
        let [from, to] = [pair[0], pair[1]];
        let length = (to - from).length();
        if length <= 0.0 {
            continue;
        }
        let along = (to - from) / length;
        swing(&mut path, from, *facing, along, offset);
        path.push(to + along * offset);
        *facing = along;
        last = to;
    }
    if path.is_empty() {
        path.push(last + *facing * offset);
    }
    path
}

/// The arc round the tip from one direction to another, both ends included.
fn swing(path: &mut Polyline, tip: Point, from: Vector, to: Vector, offset: f64) {
    let angle = libm::atan2(from.cross(to), from.dot(to));
    let step = 2.0 * libm::acos((1.0 - SAGITTA / offset).max(0.5));
    let count = (angle.abs() / step).ceil().max(1.0);
    for k in 0..=count as usize {
        path.push(tip + turned(from, angle * k as f64 / count) * offset);
    }
}
