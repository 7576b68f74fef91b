//! `at`: where the hold point of a marking goes.

use super::super::lenient::{Got, May};
use super::super::log::{At, Log};
use super::super::mirror;
use super::form::{Form, rounded};
use super::limit::datum_named;
use super::part::Known;
use crate::flow::{Direction, Spot, View};
use crate::units::{Angle, Full, Length};

/// A word of `at`, what it is given as, and the way it points.
type Step<'a> = (&'static str, &'a May<Length<Full>>, Direction, f64);

/// What there is to place a marking on, as far as it could be read.
#[derive(Clone, Copy)]
pub struct Ground<'a> {
    pub part: Option<&'a Known>,
    pub shape: Option<&'a Form>,
    /// Whether the marking goes round on a ring; `None` where the spec is too wrong to tell.
    pub asks_ring: Option<bool>,
    /// Where that lies.
    pub ring: Option<Length<Full>>,
}

/// Where the hold point goes. What can be checked without the part is checked without it.
pub fn spot(log: &Log, given: &May<mirror::Place>, ground: Ground<'_>) -> Option<Spot> {
    if given.get().is_none() {
        return match ground.asks_ring? {
            _ if given.given => None,
            true => Some(on_ring(ground.ring?, Angle::ZERO, Angle::ZERO)),
            false => Some(middle(ground.shape?)),
        };
    }
    if let Some(free) = given.get().map(|place| &place.free).filter(|free| free.given) {
        log.key(
            free.at,
            "nothing hangs free here",
            "`free` goes with a point of `lay: {follow: {through: […]}}`",
        );
    }
    place(log, given, ground)
}

/// A place that is given.
pub fn place<const NEEDED: bool>(
    log: &Log,
    given: &Got<mirror::Place, NEEDED>,
    ground: Ground<'_>,
) -> Option<Spot> {
    let place = given.get()?;
    let turn = place.turn.get().copied().unwrap_or_default();
    if place.from.given {
        return from_limit(log, place, ground, turn);
    }
    if place.offset.given {
        log.key(
            place.offset.at,
            "`offset` goes with `from`",
            "name the limit to measure from: `from: visor-edge`",
        );
    }
    if !(ground.asks_ring == Some(true) || place.station.given || place.around.given) {
        return seen(log, place, given.at, ground.shape, turn);
    }
    let against = steps(place).map(|(word, got, ..)| (word, got));
    refuse(log, "station", &against, "seen", &place.seen);
    if ground.asks_ring == Some(true) && place.turn.given {
        log.key(place.turn.at, "a piece that follows a ring is not turned", "leave `turn` out");
    }
    let around = place.around.get().map_or(Angle::ZERO, |around| around.0);
    let station = match ground.asks_ring? {
        true => ground.ring,
        false => station(log, place, given.at, ground.shape),
    };
    Some(on_ring(station?, around, turn))
}

const fn on_ring(station: Length<Full>, around: Angle, turn: Angle) -> Spot {
    Spot::Station { station, around, turn }
}

fn from_limit(log: &Log, place: &mirror::Place, ground: Ground<'_>, turn: Angle) -> Option<Spot> {
    let mut others: Vec<_> = steps(place).map(|(word, got, ..)| (word, got)).into();
    others.push(("station", &place.station));
    refuse(log, "from", &others, "around", &place.around);
    if ground.asks_ring == Some(true) {
        log.key(place.from.at, "`from` does not go with `follow: ring`", "a ring lies at its `station`");
    }
    let datum = datum_named(log, &place.from, &ground.part?.limits, ground.shape)?;
    let view = place.seen.get().copied().unwrap_or(ground.shape?.front());
    let offset = place.offset.get().copied().unwrap_or(Length::ZERO);
    Some(Spot::From { datum, view, offset, turn })
}

/// The middle of a part as seen from the top, or from the side that a flat one faces.
fn middle(shape: &Form) -> Spot {
    seen_at(shape.front(), shape.centre())
}

/// The middle of what is seen of a plane square to an axis, from a side that sees it as a line.
pub fn middle_of_plane(shape: &Form, axis: Direction, offset: f64) -> Spot {
    let view = match axis {
        _ if shape.is_flat() => shape.front(),
        Direction::Up => View::Left,
        Direction::Aft | Direction::Right => View::Top,
    };
    let along = axis.vector();
    seen_at(view, shape.centre().reject_from_normalized(along) + along * offset)
}

/// On top of a long part, half-way along it.
pub fn half_way(shape: &Form) -> Spot {
    on_ring(Length::mm(shape.stations().iter().sum::<f64>() / 2.0), Angle::ZERO, Angle::ZERO)
}

fn seen_at(view: View, p: glam::DVec3) -> Spot {
    let [right, up, _] = view.axes();
    let (across, up) = (Length::mm(p.dot(right)), Length::mm(p.dot(up)));
    Spot::Seen { view, across, up, turn: Angle::ZERO }
}

const fn steps(place: &mirror::Place) -> [Step<'_>; 6] {
    six_ways([&place.aft, &place.forward, &place.right, &place.left, &place.up, &place.down])
}

/// The six words for ways in the part's frame, with the axis that each runs along and its sense.
pub const fn six_ways([aft, forward, right, left, up, down]: [&May<Length<Full>>; 6]) -> [Step<'_>; 6] {
    [
        ("aft", aft, Direction::Aft, 1.0),
        ("forward", forward, Direction::Aft, -1.0),
        ("right", right, Direction::Right, 1.0),
        ("left", left, Direction::Right, -1.0),
        ("up", up, Direction::Up, 1.0),
        ("down", down, Direction::Up, -1.0),
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
fn station(log: &Log, place: &mirror::Place, at: At, shape: Option<&Form>) -> Option<Length<Full>> {
    if let Some(shape) = shape.filter(|shape| !shape.is_long()) {
        let key = if place.station.given { place.station.at } else { place.around.at };
        let message = format!("the {} has no stations", shape.word());
        log.key(key, message, "say where as seen from a side: `{seen: top, aft: 20 mm}`");
        return None;
    }
    if !place.station.given {
        log.key(at, "`station` is missing", "`around` goes with a `station`");
    }
    on_part(log, &place.station, shape)
}

/// A station that the part has.
pub fn on_part(log: &Log, got: &May<Length<Full>>, shape: Option<&Form>) -> Option<Length<Full>> {
    let station = *got.get()?;
    let [from, to] = shape?.stations();
    if !(from..=to).contains(&station.to_mm()) {
        let message = format!(
            "the station is off the part, which reaches from {} to {} mm",
            rounded(from),
            rounded(to)
        );
        log.value(got.at, message, "choose one between the two");
    }
    Some(station)
}

fn seen(log: &Log, place: &mirror::Place, at: At, shape: Option<&Form>, turn: Angle) -> Option<Spot> {
    let view = place.seen.get().copied().or_else(|| shape.map(Form::front)).unwrap_or(View::Top);
    if let Some(face) = shape.filter(|shape| shape.is_flat()).map(Form::front)
        && face != view
    {
        let message = format!("the part faces {}, so it is not seen from the {}", face.word(), view.word());
        log.value(place.seen.at, message, format!("write `seen: {}`", face.word()));
        return None;
    }
    // An unknown part may face any way: without `seen` there is nothing to hold the words against.
    if shape.is_none() && place.seen.get().is_none() {
        return None;
    }
    let moved = moved(log, place, view)?;
    let shape = shape?;
    let [right, upward, _] = view.axes();
    let (across, up) =
        (moved[0].unwrap_or(shape.centre().dot(right)), moved[1].unwrap_or(shape.centre().dot(upward)));
    if !shape.is_seen(view, [across, up]) {
        let message = format!("seen from the {}, this point is beside the part", view.word());
        log.value(
            at,
            message,
            "offsets count from the part's origin: its centre, or the front end of a long part",
        );
    }
    Some(Spot::Seen { view, across: Length::mm(across), up: Length::mm(up), turn })
}

/// Paper coordinates as given, mm; `None` in all where a word does not suit the view.
fn moved(log: &Log, place: &mirror::Place, view: View) -> Option<[Option<f64>; 2]> {
    let [right, upward, towards] = view.axes();
    let mut words: [Option<&str>; 2] = [None; 2];
    let mut moved = [None; 2];
    let mut suits = true;
    for (word, got, axis, sign) in steps(place).into_iter().filter(|(_, got, ..)| got.given) {
        let along = axis.vector();
        if along.dot(towards) != 0.0 {
            let others =
                steps(place).into_iter().filter(|&(_, _, axis, _)| axis.vector().dot(towards) == 0.0);
            let others: Vec<String> = others.map(|(word, ..)| format!("`{word}`")).collect();
            let message = format!("`{word}` runs along the line of sight from {}", view.word());
            log.key(got.at, message, format!("use {}, or another `seen`", others.join(", ")));
            suits = false;
            continue;
        }
        let side = usize::from(along.dot(upward) != 0.0);
        if let Some(first) = words[side].replace(word) {
            log.key(got.at, format!("`{word}` and `{first}` together"), "give one of the two");
        }
        suits &= got.get().is_some();
        let paper = if side == 0 { right } else { upward };
        moved[side] = got.get().map(|length| length.to_mm() * sign * along.dot(paper));
    }
    suits.then_some(moved)
}
