//! A strap: from point to point over the part, in places free in the air.
//!
//! Lying stretches are straightest lines. At a point between two of them the
//! strap turns by a finite angle; it is led round by a curve that leaves one
//! stretch and joins the next without a kink, its geodesic curvature linear in
//! the length (found by Newton's method on curvature, its slope and length,
//! from the arc of the plane), so that the flat strap is smooth as well. It
//! cuts the corner by what such an arc does. Where the strap lifts off or comes
//! down it is taken to turn out of the flat without a crease.

use super::course::Course;
use super::moulded::Moulded;
use super::place::{self, Refusal};
use super::route::as_fine_as_may_be;
use crate::flow::{Pin, Reach};
use crate::surface::geodesic::{between, shoot, steer};
use crate::surface::{Path, PathError, Start, Surface, Waypoint};
use glam::{DMat3, DVec3};

/// Two stretches that meet at less than this, rad, are one.
const STRAIGHT: f64 = 1e-6;

/// The strap through these points, held at its first one.
pub fn course(moulded: &Moulded, pins: &[Pin], width: f64) -> Result<Course, Refusal> {
    let surface = moulded.surface.as_ref();
    let feet = pins.iter().map(|pin| place::start(moulded, &pin.spot)).collect::<Result<Vec<_>, _>>()?;
    let mut legs: Vec<Leg> = Vec::new();
    for k in 1..pins.len() {
        let [from, to] = [feet[k - 1].foot.point, feet[k].foot.point];
        match pins[k].reach {
            Reach::Lying => {
                let path = as_fine_as_may_be(surface, |t| between(surface, from, to, t))
                    .map_err(|refusal| Refusal { text: leg_named(k, &refusal.text), ..refusal })?;
                legs.push(Leg::Lying(path));
            }
            Reach::Free => legs.push(Leg::Free((to - from).length())),
            Reach::Hanging(length) => {
                let (length, straight) = (length.to_mm() * moulded.ratio, (to - from).length());
                if length < straight * (1.0 - 1e-6) {
                    let text = leg_named(
                        k,
                        &format!("{length:.0} mm are less than the {straight:.0} mm between its points"),
                    );
                    return Err(Refusal::new(
                        text,
                        "give the length as it hangs, or `free: true` for straight",
                    ));
                }
                legs.push(Leg::Free(length));
            }
        }
    }
    let mut at = 0;
    while at + 1 < legs.len() {
        if let [Leg::Lying(_), Leg::Lying(_)] = legs[at..at + 2] {
            round_corner(surface, &mut legs, at, width)?;
        }
        at += 1;
    }
    put_together(legs, &feet)
}

enum Leg {
    Lying(Path),
    /// Length in the air.
    Free(f64),
}

fn leg_named(k: usize, text: &str) -> String {
    format!("from point {k} to point {}: {text}", k + 1)
}

/// Replaces the corner between two lying legs by a curve, kept with the first of them.
fn round_corner(surface: &dyn Surface, legs: &mut [Leg], at: usize, width: f64) -> Result<(), Refusal> {
    let [Leg::Lying(first), Leg::Lying(second)] = &legs[at..at + 2] else { return Ok(()) };
    let (into, out) = (first.places[first.places.len() - 1], second.places[0]);
    let left = into.foot.normal.cross(into.heading);
    let turn = libm::atan2(out.heading.dot(left), out.heading.dot(into.heading));
    if turn.abs() < STRAIGHT {
        return Ok(());
    }
    let taken = width * libm::tan(turn.abs() / 2.0);
    if taken > 0.5 * first.length().min(second.length()) {
        return Err(Refusal::new(
            format!(
                "at point {} the strap turns by {:.0}°, too sharply for its width",
                at + 2,
                turn.abs().to_degrees()
            ),
            "move the point, so that the strap runs straighter, or make it narrower",
        ));
    }
    let (path, onward) = as_fine_as_may_be(surface, |tolerance| {
        let near = cut_back(surface, first, taken, tolerance)?;
        let curve = led_round(surface, &near, second, turn, [width, taken], tolerance)?;
        Ok(curve)
    })?;
    legs[at] = Leg::Lying(path);
    legs[at + 1] = Leg::Lying(onward);
    Ok(())
}

/// A straight line without its last `by` mm.
fn cut_back(surface: &dyn Surface, line: &Path, by: f64, tolerance: f64) -> Result<Path, PathError> {
    // A strap rounded at its start is no single straight line any more: cut the last place off instead.
    let keep = line.length() - by;
    let upto: Vec<Waypoint> = line.places.iter().copied().take_while(|place| place.along < keep).collect();
    let last = upto[upto.len() - 1];
    let rest = shoot(surface, &last.start(), keep - last.along, tolerance)?;
    Ok(Path { places: upto, closed: false }.joined(rest))
}

/// The line `near`, led round onto the line `second`, and what is left of that.
fn led_round(
    surface: &dyn Surface,
    near: &Path,
    second: &Path,
    turn: f64,
    [radius, taken]: [f64; 2],
    tolerance: f64,
) -> Result<(Path, Path), PathError> {
    let start = near.places[near.places.len() - 1].start();
    let back = cut_back(surface, &second.clone().reversed(), taken, tolerance)?.reversed();
    let goal = back.places[0];
    let left = goal.foot.normal.cross(goal.heading);
    // Mean curvature, its change from end to end, and the length, each as a share of its guess.
    let guess = DVec3::new(1f64.copysign(turn) / radius, 1.0 / radius, radius * turn.abs());
    let curve = |x: DVec3| {
        let [mean, change, length] = (x * guess).to_array();
        let bend = move |s: f64| mean + change * (s / length - 0.5);
        steer(surface, &start, &bend, length, 0.01 * tolerance)
    };
    let miss = |path: &Path| {
        let end = path.places[path.places.len() - 1];
        let off = end.foot.point - goal.foot.point;
        DVec3::new(off.dot(goal.heading) / radius, off.dot(left) / radius, end.heading.dot(left))
    };
    let mut x = DVec3::new(1.0, 0.0, 1.0);
    for _ in 0..30 {
        let path = curve(x)?;
        let off = miss(&path);
        if off.length() * radius <= tolerance {
            return Ok((near.clone().joined(path), back));
        }
        const NUDGE: f64 = 1e-5;
        let column = |axis: DVec3| Ok((miss(&curve(x + axis * NUDGE)?) - off) / NUDGE);
        let jacobian = DMat3::from_cols(column(DVec3::X)?, column(DVec3::Y)?, column(DVec3::Z)?);
        if jacobian.determinant().abs() < 1e-12 {
            break;
        }
        x -= (jacobian.inverse() * off).clamp_length_max(0.5);
        x.z = x.z.max(0.1);
    }
    Err(PathError::NotReached { miss: miss(&curve(x)?).length() * radius })
}

fn put_together(legs: Vec<Leg>, feet: &[Start]) -> Result<Course, Refusal> {
    let mut whole: Option<Path> = None;
    let mut air = Vec::new();
    for (k, leg) in legs.iter().enumerate() {
        let next = match leg {
            Leg::Lying(path) => path.clone(),
            Leg::Free(length) => {
                let along = whole.as_ref().map_or(0.0, Path::length);
                air.push([along, along + length]);
                hanging(&feet[k], &feet[k + 1], *length)?
            }
        };
        whole = Some(match whole {
            None => next,
            Some(mut path) => {
                // Where a strap lifts off or comes down it turns at once: both places are kept.
                let length = path.length();
                let lying = matches!(leg, Leg::Lying(_)) && k > 0 && matches!(legs[k - 1], Leg::Lying(_));
                if lying {
                    path.joined(next)
                } else {
                    path.places
                        .extend(next.places.into_iter().map(|p| Waypoint { along: length + p.along, ..p }));
                    path
                }
            }
        });
    }
    let path = whole.ok_or_else(|| Refusal::new("the strap has no length", "give two points or more"))?;
    let mut course = Course::new(path, 0.0);
    course.air = air;
    Ok(course)
}

/// A stretch in the air: straight between its points for pictures, as long as it is.
fn hanging(from: &Start, to: &Start, length: f64) -> Result<Path, Refusal> {
    let way = (to.foot.point - from.foot.point).try_normalize();
    let heading =
        way.ok_or_else(|| Refusal::new("a free stretch has no length", "choose points that lie apart"))?;
    let place = |along: f64, at: &Start| Waypoint { along, foot: at.foot, heading, bend: 0.0 };
    Ok(Path { places: vec![place(0.0, from), place(length, to)], closed: false })
}
