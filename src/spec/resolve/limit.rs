//! Limits: planes and outlines that film must not pass.

use super::super::lenient::{Got, May, Need};
use super::super::log::{At, Log};
use super::super::mirror;
use super::super::words::{Keep, Text};
use super::form::{Form, rounded};
use super::name_is_usable;
use super::spot::six_ways;
use crate::flow::{Datum, Direction, End, Limit, LimitKind};
use crate::outline::region::signed_area;
use crate::outline::{Point, Polyline, point};
use crate::units::{Full, Length};

/// Index of a limit by its name.
pub fn limit_named<const NEEDED: bool>(
    log: &Log,
    got: &Got<Text, NEEDED>,
    limits: &[String],
) -> Option<usize> {
    let name = &got.get()?.0;
    let found = limits.iter().position(|limit| limit == name);
    if found.is_none() {
        log.unknown(got.at, "the part has no limit", name, limits.iter().map(String::as_str));
    }
    found
}

/// A line to measure from: a limit by its name, or else an open end by its own.
pub fn datum_named<const NEEDED: bool>(
    log: &Log,
    got: &Got<Text, NEEDED>,
    limits: &[String],
    shape: Option<&Form>,
) -> Option<Datum> {
    let name = &got.get()?.0;
    if let Some(index) = limits.iter().position(|limit| limit == name) {
        return Some(Datum::Limit(index));
    }
    let ends = shape.map_or(&[][..], Form::open_ends);
    let end = [End::Front, End::Rear].into_iter().find(|end| end.word() == name);
    match end {
        Some(end) if ends.contains(&end) => Some(Datum::End(end)),
        // Of a part that could not be read nothing is known.
        Some(_) if shape.is_none() => None,
        _ => {
            let known = limits.iter().map(String::as_str).chain(ends.iter().map(|end| end.word()));
            log.unknown(got.at, "the part has no limit", name, known);
            None
        }
    }
}

/// One limit; its place is checked where the shape is known.
pub fn limit(log: &Log, name: &str, got: &Need<mirror::Limit>, shape: Option<&Form>) -> Option<Limit> {
    name_is_usable(log, name, got.at);
    let given = got.get()?;
    let ways = six_ways([&given.aft, &given.forward, &given.right, &given.left, &given.up, &given.down]);
    let words = ways.into_iter().chain([("station", &given.station, Direction::Aft, 1.0)]);
    let planes: Vec<_> = words.filter(|(_, got, ..)| got.given).collect();
    let kind = match (planes.as_slice(), given.outline.given) {
        ([], true) => region(log, given, got.at),
        (&[(word, offset, axis, sign)], false) => {
            if given.seen.given {
                log.key(given.seen.at, "`seen` goes with an `outline`", "leave it out for a plane");
            }
            plane(log, given, shape, (word, offset, axis, sign))
        }
        ([], false) => {
            let help = "say where it is: `aft: -95 mm`, or `seen: left` with an `outline`";
            log.key(got.at, "the limit is nowhere", help);
            None
        }
        ([.., (word, second, ..)], _) => {
            let message = format!("`{word}` puts the limit in a second place");
            log.key(second.at, message, "give one plane or one outline; make two limits of two");
            None
        }
    };
    Some(Limit { name: name.into(), kind: kind?, at: log.key_place(got.at) })
}

fn plane(
    log: &Log,
    given: &mirror::Limit,
    shape: Option<&Form>,
    (word, got, axis, sign): (&str, &May<Length<Full>>, Direction, f64),
) -> Option<LimitKind> {
    let [lesser, greater] = match axis {
        Direction::Aft => [Keep::Ahead, Keep::Behind],
        Direction::Right => [Keep::Left, Keep::Right],
        Direction::Up => [Keep::Below, Keep::Above],
    };
    let keep = keep(log, given, word, [lesser, greater]);
    let (offset, shape) = (*got.get()? * sign, shape?);
    if word == "station" && !shape.is_straight() {
        let message = match shape.is_long() {
            true => "the stations of a bent tube run along its path".into(),
            false => format!("the {} has no stations", shape.word()),
        };
        log.key(got.at, message, "count from its origin with `aft` or `forward`");
    }
    let [from, to] = shape.reach(axis);
    if !(from < offset.to_mm() && offset.to_mm() < to) {
        let message = format!(
            "the limit is off the part, which reaches from {} to {} mm that way",
            rounded(from),
            rounded(to)
        );
        log.value(got.at, message, "put it between the two; the part's own ends need no limit");
    }
    Some(LimitKind::Plane { axis, offset, keep_greater: keep? == greater })
}

/// The side to keep, if it is one of the two that suit.
fn keep(log: &Log, given: &mirror::Limit, word: &str, suits: [Keep; 2]) -> Option<Keep> {
    let keep = *given.keep.get()?;
    if suits.contains(&keep) {
        return Some(keep);
    }
    let name = |keep: Keep| Keep::ALL.iter().find(|&&(_, other)| other == keep).map_or("", |&(word, _)| word);
    let message = format!("`keep: {}` does not suit `{word}`", name(keep));
    log.value(given.keep.at, message, format!("choose `{}` or `{}`", name(suits[0]), name(suits[1])));
    None
}

fn region(log: &Log, given: &mirror::Limit, at: At) -> Option<LimitKind> {
    if !given.seen.given {
        log.key(at, "`seen` is missing", "say from where the outline is drawn: `seen: left`");
    }
    let keep = keep(log, given, "outline", [Keep::Inside, Keep::Outside]);
    let outline = corners(log, given.outline.get()?, given.outline.at);
    Some(LimitKind::Region {
        view: *given.seen.get()?,
        outline: outline?,
        keep_inside: keep? == Keep::Inside,
    })
}

/// Most corners of a polygon.
pub const MOST_CORNERS: usize = 2000;

/// Three corners or more that enclose something, counter-clockwise; mm.
pub fn corners(log: &Log, given: &[Need<mirror::Corner>], at: At) -> Option<Polyline> {
    let corner = |got: &Need<mirror::Corner>| {
        let [x, y] = got.get()?;
        Some(point(x.get()?.to_mm(), y.get()?.to_mm()))
    };
    if given.len() < 3 {
        let help = "give three corners or more: `[[x, y], [x, y], [x, y]]`";
        let what = if given.len() == 1 {
            "1 corner encloses".into()
        } else {
            format!("{} corners enclose", given.len())
        };
        log.value(at, format!("{what} nothing"), help);
        return None;
    }
    if given.len() > MOST_CORNERS {
        log.value(at, format!("{} corners", given.len()), format!("at most {MOST_CORNERS}"));
        return None;
    }
    let mut outline = given.iter().map(corner).collect::<Option<Polyline>>()?;
    if let Some((one, other)) = crossing(&outline) {
        let message = format!("the sides from corner {} and from corner {} cross", one + 1, other + 1);
        log.value(at, message, "list the corners in the order in which one walks round the outline");
        return None;
    }
    let area = signed_area(&outline);
    let around: f64 = sides(&outline).map(|(a, b)| (b - a).length()).sum();
    // A sliver of a millionth of its length squared is a line written as an outline.
    if area.abs() <= 1e-6 * around * around {
        log.value(at, "the corners lie on one line", "give corners that enclose an area");
        return None;
    }
    if area < 0.0 {
        outline.reverse();
    }
    Some(outline)
}

/// Two sides of an outline that cross, by the corners they start from.
fn crossing(outline: &[Point]) -> Option<(usize, usize)> {
    let sides: Vec<(Point, Point)> = sides(outline).collect();
    // Strictly on both sides of each other: outlines may touch themselves.
    let parted = |(a, b): (Point, Point), (p, q): (Point, Point)| {
        let side = |r: Point| (b - a).cross(r - a);
        side(p) * side(q) < 0.0
    };
    (0..sides.len())
        .flat_map(|one| (one + 1..sides.len()).map(move |other| (one, other)))
        .find(|&(one, other)| parted(sides[one], sides[other]) && parted(sides[other], sides[one]))
}

fn sides(outline: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    outline.iter().copied().zip(outline.iter().copied().cycle().skip(1))
}
