//! `at`: where the hold point of a marking goes.

use super::super::lenient::{Got, May};
use super::super::log::{At, Log};
use super::super::mirror;
use super::part::{Known, direction, is_long, limit_named, reach, shape_word};
use crate::flow::{Direction, Part, Shape, Spot, View};
use crate::units::{Angle, Full, Length};

/// A word of `at`, what it is given as, and the way it points.
type Step<'a> = (&'static str, &'a May<Length<Full>>, Direction, f64);

/// Where the hold point goes; `ring` is the station that the marking is laid round at.
pub fn spot(
    log: &Log,
    given: &May<mirror::Place>,
    known: &Known,
    part: &Part,
    ring: Option<Length<Full>>,
) -> Option<Spot> {
    let Some(place) = given.get() else {
        return Some(match ring {
            Some(station) => Spot::Station { station, around: Angle::ZERO, turn: Angle::ZERO },
            None => middle(&part.shape),
        });
    };
    let turn = place.turn.get().copied().unwrap_or_default();
    if place.from.given {
        let mut others: Vec<_> = steps(place).map(|(word, got, ..)| (word, got)).into();
        others.push(("station", &place.station));
        refuse(log, "from", &others, "around", &place.around);
        if ring.is_some() {
            log.key(place.from.at, "`from` does not go with `follow: ring`", "a ring lies at its `station`");
        }
        let limit = limit_named(log, &place.from, &known.limits);
        let view = place.seen.get().copied().unwrap_or_else(|| front_of(&part.shape));
        let offset = place.offset.get().copied().unwrap_or(Length::ZERO);
        return Some(Spot::From { limit: limit?, view, offset, turn });
    }
    if place.offset.given {
        log.key(
            place.offset.at,
            "`offset` goes with `from`",
            "name the limit to measure from: `from: visor-edge`",
        );
    }
    if ring.is_some() || place.station.given || place.around.given {
        let against = steps(place).map(|(word, got, ..)| (word, got));
        refuse(log, "station", &against, "seen", &place.seen);
        let station = match ring {
            Some(station) => station,
            None => station(log, place, given.at, &part.shape)?,
        };
        let around = place.around.get().map_or(Angle::ZERO, |around| around.0);
        return Some(Spot::Station { station, around, turn });
    }
    seen(log, place, given.at, &part.shape, turn)
}

/// The middle of a part as seen from the top, or from the side that a flat one faces.
fn middle(shape: &Shape) -> Spot {
    let middle = |axis| reach(shape, axis).iter().sum::<f64>() / 2.0;
    let view = front_of(shape);
    let [right, up, _] = view.axes();
    let centre = glam::DVec3::new(middle(Direction::Aft), middle(Direction::Right), middle(Direction::Up));
    let (across, up) = (Length::mm(centre.dot(right)), Length::mm(centre.dot(up)));
    Spot::Seen { view, across, up, turn: Angle::ZERO }
}

/// The side to look from where nothing is said.
const fn front_of(shape: &Shape) -> View {
    match shape {
        Shape::Flat { face, .. } => *face,
        _ => View::Top,
    }
}

const fn steps(place: &mirror::Place) -> [Step<'_>; 6] {
    [
        ("aft", &place.aft, Direction::Aft, 1.0),
        ("forward", &place.forward, Direction::Aft, -1.0),
        ("right", &place.right, Direction::Right, 1.0),
        ("left", &place.left, Direction::Right, -1.0),
        ("up", &place.up, Direction::Up, 1.0),
        ("down", &place.down, Direction::Up, -1.0),
    ]
}

/// Words that do not go with the chosen way of saying where.
fn refuse<T>(log: &Log, way: &str, lengths: &[(&str, &May<Length<Full>>)], other: &str, last: &May<T>) {
    let lengths = lengths.iter().map(|&(word, got)| (word, got.given, got.at));
    for (word, given, at) in lengths.chain([(other, last.given, last.at)]) {
        if given {
            let help = "say where in one way: seen from a side, by `station` and `around`, or `from` a limit";
            log.key(at, format!("`{word}` does not go with `{way}`"), help);
        }
    }
}

/// A station on a long part.
fn station(log: &Log, place: &mirror::Place, at: At, shape: &Shape) -> Option<Length<Full>> {
    if !is_long(shape) {
        let key = if place.station.given { place.station.at } else { place.around.at };
        let message = format!("the {} has no stations", shape_word(shape));
        log.key(key, message, "say where as seen from a side: `{seen: top, aft: 20 mm}`");
        return None;
    }
    if !place.station.given {
        log.key(at, "`station` is missing", "`around` goes with a `station`");
    }
    on_part(log, &place.station, shape)
}

/// A station that the part has.
pub fn on_part<const NEEDED: bool>(
    log: &Log,
    got: &Got<Length<Full>, NEEDED>,
    shape: &Shape,
) -> Option<Length<Full>> {
    let station = *got.get()?;
    let [from, to] = reach(shape, Direction::Aft);
    if !(from..=to).contains(&station.to_mm()) {
        let message = format!("the station is off the part, which reaches from {from} to {to} mm");
        log.value(got.at, message, "choose one between the two");
    }
    Some(station)
}

fn seen(log: &Log, place: &mirror::Place, at: At, shape: &Shape, turn: Angle) -> Option<Spot> {
    let view = place.seen.get().copied().unwrap_or_else(|| front_of(shape));
    if let Shape::Flat { face, .. } = shape
        && *face != view
    {
        let message = format!("the part faces {}, so it is not seen from {}", face.word(), view.word());
        log.value(place.seen.at, message, format!("write `seen: {}`", face.word()));
        return None;
    }
    let [right, upward, towards] = view.axes();
    let mut paper = [middle_on(shape, right), middle_on(shape, upward)];
    let mut moved = [None; 2];
    for (word, got, axis, sign) in steps(place) {
        if !got.given {
            continue;
        }
        let along = direction(axis);
        if along.dot(towards) != 0.0 {
            let suit =
                steps(place).into_iter().filter(|&(_, _, axis, _)| direction(axis).dot(towards) == 0.0);
            let suit: Vec<String> = suit.map(|(word, ..)| format!("`{word}`")).collect();
            let message = format!("`{word}` runs along the line of sight from {}", view.word());
            log.key(got.at, message, format!("use {}, or another `seen`", suit.join(", ")));
            continue;
        }
        let side = usize::from(along.dot(upward) != 0.0);
        if let Some(first) = moved[side].replace(word) {
            log.key(got.at, format!("`{word}` and `{first}` together"), "give one of the two");
        }
        let paper_axis = if side == 0 { right } else { upward };
        paper[side] = got.get()?.to_mm() * sign * along.dot(paper_axis);
    }
    if !is_hit(shape, view, paper) {
        let message = format!("seen from {}, this point is beside the part", view.word());
        log.value(
            at,
            message,
            "offsets count from the part's origin: its centre, or the front end of a long part",
        );
    }
    Some(Spot::Seen { view, across: Length::mm(paper[0]), up: Length::mm(paper[1]), turn })
}

/// The part's middle along a paper axis: where nothing is said about that axis.
fn middle_on(shape: &Shape, paper: glam::DVec3) -> f64 {
    let middle = |axis| reach(shape, axis).iter().sum::<f64>() / 2.0;
    let axes = [Direction::Aft, Direction::Right, Direction::Up];
    axes.into_iter().map(|axis| direction(axis).dot(paper) * middle(axis)).sum()
}

/// Whether the ray of sight through a point of the paper meets the part.
fn is_hit(shape: &Shape, view: View, [across, up]: [f64; 2]) -> bool {
    let [right, upward, _] = view.axes();
    let at = right * across + upward * up;
    let share = |axis| at.dot(direction(axis)) / reach(shape, axis)[1];
    match *shape {
        Shape::Flat { width, height, .. } => {
            across.abs() <= width.to_mm() / 2.0 && up.abs() <= height.to_mm() / 2.0
        }
        Shape::Sphere { .. } | Shape::Ellipsoid { .. } => {
            let axes = [Direction::Aft, Direction::Right, Direction::Up];
            axes.into_iter().map(|axis| share(axis) * share(axis)).sum::<f64>() < 1.0
        }
        Shape::Cylinder { diameter, length } => is_on_cone([diameter, diameter, length], view, at),
        Shape::Cone { front, rear, length } => is_on_cone([front, rear, length], view, at),
    }
}

/// The skin of an open cone. From its ends only the slope between the two circles is seen.
fn is_on_cone([front, rear, length]: [Length<Full>; 3], view: View, at: glam::DVec3) -> bool {
    let (front, rear) = (front.to_mm() / 2.0, rear.to_mm() / 2.0);
    let off_axis = libm::hypot(at.y, at.z);
    match view {
        View::Front => rear > front && (front..rear).contains(&off_axis),
        View::Rear => front > rear && (rear..front).contains(&off_axis),
        _ => {
            let share = at.x / length.to_mm();
            (0.0..=1.0).contains(&share) && off_axis < front + (rear - front) * share
        }
    }
}
