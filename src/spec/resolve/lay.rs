//! `lay`: how a marking meets its part, along which line, and where it is held.
//!
//! The line and the place are found together, for each may stand in for the
//! other: a ring's station, the plane of a section, a strap's first point.

use super::super::lenient::{May, Need};
use super::super::log::{At, Log};
use super::super::mirror::{self, Draw, Named};
use super::super::words::{Free, Hand, HelixEnds, Keep};
use super::form::{Form, rounded};
use super::limit::limit_named;
use super::part::Known;
use super::spot::{Ground, half_way, middle_of_plane, on_part, place, six_ways, spot};
use super::{mm, not_negative, positive};
use crate::flow::{Base, Climb, Direction, Helix, Lay, LimitKind, Line, Pin, Reach, Side, Spot, View};
use crate::outline::point;
use crate::units::{Angle, Full, Length};

/// Most corners of a line and points of a strap.
const MOST_POINTS: usize = 1000;

/// Markings of which each lies along the next: more stripes than lie side by side on anything, and the way back to
/// the first is gone for each of them.
const MOST_ALONG: usize = 20;
/// Most turns of a helix.
const MOST_TURNS: f64 = 200.0;

/// How a marking is laid and where it is held.
pub struct Way {
    pub lay: Option<Lay>,
    pub spot: Option<Spot>,
}

/// What a line may run on and beside.
#[derive(Clone, Copy)]
pub struct Course<'a> {
    pub all: &'a Named<mirror::Marking>,
    pub known: Option<&'a Known>,
}

impl<'a> Course<'a> {
    fn shape(self) -> Option<&'a Form> {
        self.known.and_then(|known| known.shape.as_ref())
    }

    fn ground(self, asks_ring: Option<bool>, ring: Option<Length<Full>>) -> Ground<'a> {
        Ground { part: self.known, shape: self.shape(), asks_ring, ring }
    }
}

/// What a marking asks to be laid along; `None` where the spec is too wrong to tell.
enum Asked<'a> {
    /// As it is, or as it is seen.
    Nothing,
    Ring(Option<&'a May<Length<Full>>>),
    Line(&'a mirror::Followed),
}

fn asked(given: &mirror::Marking) -> Option<Asked<'_>> {
    let is_band = given.draw.get().map(|draw| matches!(draw, Draw::Band(_)));
    match given.lay.get() {
        Some(mirror::Lay::Follow(mirror::Followed::Ring(ring))) => Some(Asked::Ring(Some(&ring.station))),
        Some(mirror::Lay::Follow(line)) => Some(Asked::Line(line)),
        Some(mirror::Lay::Drape | mirror::Lay::Sight(_)) => (is_band != Some(true)).then_some(Asked::Nothing),
        None if given.lay.given => None,
        None if is_band? => Some(Asked::Ring(None)),
        None => Some(Asked::Nothing),
    }
}

/// Whether it goes along a line with ends, or goes round.
pub fn has_line(given: &mirror::Marking) -> Option<bool> {
    asked(given).map(|asked| !matches!(asked, Asked::Nothing | Asked::Line(mirror::Followed::Run)))
}

/// Whether its ends may meet.
pub fn may_close(given: &mirror::Marking) -> bool {
    use mirror::Followed::{Along, Section};
    match asked(given) {
        None | Some(Asked::Ring(_)) => true,
        Some(Asked::Line(line)) => matches!(line, Section(_) | Along(_)),
        Some(Asked::Nothing) => false,
    }
}

/// Drape where nothing is said; a band goes round.
pub fn way(log: &Log, name: &str, given: &mirror::Marking, course: Course<'_>) -> Way {
    let is_band = matches!(given.draw.get(), Some(Draw::Band(_)));
    if is_band && let Some(mirror::Lay::Drape | mirror::Lay::Sight(_)) = given.lay.get() {
        let help = "write `lay: {follow: {ring: {station: …}}}`, or draw a `stripe`";
        log.value(given.lay.at, "a band goes round its part, it is not draped", help);
    }
    match asked(given) {
        None => Way { lay: None, spot: spot(log, &given.at, course.ground(None, None)) },
        Some(Asked::Nothing) => {
            let spot = spot(log, &given.at, course.ground(Some(false), None));
            let lay = match given.lay.get() {
                Some(mirror::Lay::Sight(sight)) => sight_of(log, given, sight, spot.as_ref()).map(Lay::Sight),
                _ => Some(Lay::Drape),
            };
            Way { lay, spot }
        }
        Some(Asked::Ring(ring)) => ring_way(log, given, ring, course),
        Some(Asked::Line(line)) => {
            let blamed = given.lay.at;
            let (line, spot) = line_way(log, line, blamed, &given.at, course, &[name]);
            if is_band && line == Some(Line::Run) {
                log.value(blamed, "a run has no end of its own", "draw a `stripe`, which has a length");
            }
            Way { lay: line.map(Lay::Follow), spot }
        }
    }
}

fn sight_of(log: &Log, given: &mirror::Marking, sight: &mirror::Sight, spot: Option<&Spot>) -> Option<View> {
    if sight.seen.given {
        return sight.seen.get().copied();
    }
    match spot? {
        Spot::Seen { view, .. } | Spot::From { view, .. } => Some(*view),
        Spot::Station { .. } => {
            log.value(given.lay.at, "seen from where?", "write `lay: {sight: {seen: left}}`");
            None
        }
    }
}

fn ring_way(log: &Log, given: &mirror::Marking, ring: Option<&May<Length<Full>>>, course: Course<'_>) -> Way {
    let blamed = if given.lay.given { given.lay.at } else { given.draw.at };
    if course.shape().is_some_and(Form::is_flat) {
        log.value(
            blamed,
            "no ring is laid round a flat part",
            "rings go round a cylinder, a cone or any body",
        );
        return Way { lay: None, spot: None };
    }
    let station = ring_station(log, &given.at, ring, blamed, course.shape());
    let spot = spot(log, &given.at, course.ground(Some(true), station));
    Way { lay: station.map(|station| Lay::Follow(Line::Ring { station })), spot }
}

/// A ring's station: given with the ring or with `at`.
fn ring_station(
    log: &Log,
    at: &May<mirror::Place>,
    ring: Option<&May<Length<Full>>>,
    blamed: At,
    shape: Option<&Form>,
) -> Option<Length<Full>> {
    let ring = ring.filter(|ring| ring.given);
    let place = at.get().map(|place| &place.station).filter(|station| station.given);
    if let (Some(one), Some(place)) = (ring.and_then(May::get), place)
        && place.get().is_some_and(|other| other != one)
    {
        let message = format!("the ring lies at {}, but `at` gives another station", mm(*one));
        log.value(place.at, message, "give the station once");
    }
    if let Some(station) = ring.or(place) {
        return on_part(log, station, shape);
    }
    if !at.given || at.get().is_some() {
        let help = "say where the ring lies: `lay: {follow: {ring: {station: 1.8 m}}}`";
        log.key(blamed, "the ring has no station", help);
    }
    None
}

/// A line and where the marking is held on it. `trail` names the markings that asked for it.
fn line_way(
    log: &Log,
    line: &mirror::Followed,
    blamed: At,
    at: &May<mirror::Place>,
    course: Course<'_>,
    trail: &[&str],
) -> (Option<Line>, Option<Spot>) {
    let shape = course.shape();
    let held = |usual: Option<Spot>| match usual.filter(|_| !at.given) {
        Some(spot) => Some(spot),
        None => spot(log, at, course.ground(Some(false), None)),
    };
    match line {
        // A ring is told apart before; as what another line lies beside it stands for itself.
        mirror::Followed::Ring(ring) => {
            let station = ring_station(log, at, Some(&ring.station), blamed, shape);
            let spot = spot(log, at, course.ground(Some(true), station));
            (station.map(|station| Line::Ring { station }), spot)
        }
        mirror::Followed::Section(section) => {
            let plane = plane(log, section, shape);
            let usual = plane.flatten().zip(shape);
            let usual = usual.map(|((axis, offset), shape)| middle_of_plane(shape, axis, offset.to_mm()));
            (plane.map(|plane| Line::Section { plane }), held(usual))
        }
        mirror::Followed::Helix(given) => {
            let helix = helix(log, given, blamed, shape);
            (helix.map(Line::Helix), held(shape.map(half_way)))
        }
        mirror::Followed::Run => (Some(Line::Run), held(None)),
        mirror::Followed::Line(drawn) => {
            let line = line_drawn(log, drawn);
            held_by_itself(log, at, "line");
            let first = line.as_ref().and_then(|line| match line {
                Line::Drawn { view, corners, .. } => Some((*view, corners[0])),
                _ => None,
            });
            let spot = first.map(|(view, p)| Spot::Seen {
                view,
                across: Length::mm(p.x),
                up: Length::mm(p.y),
                turn: Angle::ZERO,
            });
            (line, spot)
        }
        mirror::Followed::Along(given) => along(log, given, blamed, at, course, trail),
        mirror::Followed::Through(points) => {
            held_by_itself(log, at, "through");
            let pins = pins(log, points, blamed, course);
            let spot = pins.as_ref().map(|pins| pins[0].spot.clone());
            (pins.map(|points| Line::Through { points }), spot)
        }
    }
}

fn held_by_itself(log: &Log, at: &May<mirror::Place>, word: &str) {
    if at.given {
        let help = "its points say where it lies; `hold: front`, `centre` or `rear` says what is put on them";
        log.key(at.at, format!("`at` does not go with `follow: {word}`"), help);
    }
}

/// The plane of a section: `Some(None)` is the one through the hold point.
fn plane(
    log: &Log,
    given: &mirror::Section,
    shape: Option<&Form>,
) -> Option<Option<(Direction, Length<Full>)>> {
    let words = six_ways([&given.aft, &given.forward, &given.right, &given.left, &given.up, &given.down]);
    let given: Vec<_> = words.into_iter().filter(|(_, got, ..)| got.given).collect();
    match given[..] {
        [] => Some(None),
        [(_, got, axis, sign)] => {
            let offset = *got.get()? * sign;
            let [from, to] = shape?.reach(axis);
            if !(from < offset.to_mm() && offset.to_mm() < to) {
                let message = format!(
                    "the plane is off the part, which reaches from {} to {} mm that way",
                    rounded(from),
                    rounded(to)
                );
                log.value(got.at, message, "put it between the two");
                return None;
            }
            Some(Some((axis, offset)))
        }
        [.., (word, got, ..)] => {
            log.key(got.at, format!("`{word}` gives a second plane"), "a section has one");
            None
        }
    }
}

fn helix(log: &Log, given: &mirror::Helix, blamed: At, shape: Option<&Form>) -> Option<Helix> {
    if shape.is_some_and(Form::is_flat) {
        log.value(blamed, "no helix goes round a flat part", "follow a `run` or a `line` on it");
        return None;
    }
    if shape.is_some_and(Form::is_endless) {
        log.value(
            blamed,
            "a helix on a closed tube never ends",
            "draw the tube open, or follow a `ring` or a `line`",
        );
        return None;
    }
    let words = [
        ("pitch", given.pitch.given, given.pitch.at),
        ("turns", given.turns.given, given.turns.at),
        ("rise", given.rise.given, given.rise.at),
    ];
    let named: Vec<_> = words.into_iter().filter(|word| word.1).collect();
    let help = "give one of `pitch` (way along the part in one turn), `turns` (from end to end) and `rise` (its angle to the rings)";
    let climb = match named[..] {
        [] => {
            log.value(blamed, "the helix does not say how it climbs", help);
            None
        }
        [(word, ..)] => climb(log, given, word),
        [.., (word, _, at)] => {
            log.key(at, format!("`{word}` says a second time how the helix climbs"), help);
            None
        }
    };
    Some(Helix {
        climb: climb?,
        starts: given.starts.get().map_or(1, |count| count.0),
        left_handed: given.hand.get() == Some(&Hand::Left),
        flush: given.ends.get() == Some(&HelixEnds::Flush),
    })
}

fn climb(log: &Log, given: &mirror::Helix, word: &str) -> Option<Climb> {
    match word {
        "pitch" => positive(log, &given.pitch).map(Climb::Pitch),
        "turns" => {
            let turns = given.turns.get()?.0;
            if !(0.01..=MOST_TURNS).contains(&turns) {
                let help = format!("give from 0.01 to {MOST_TURNS}; `hand: left` turns it the other way");
                log.value(given.turns.at, format!("a helix of {turns} turns"), help);
                return None;
            }
            Some(Climb::Turns(turns))
        }
        _ => {
            let rise = *given.rise.get()?;
            if !(1.0..=89.0).contains(&rise.to_degrees()) {
                let message = format!("a rise of {}°", rise.to_degrees());
                log.value(given.rise.at, message, "from 1° to 89°: rings and runs do the rest");
                return None;
            }
            Some(Climb::Rise(rise))
        }
    }
}

fn line_drawn(log: &Log, given: &mirror::Drawn) -> Option<Line> {
    let points = given.points.get()?;
    if !(2..=MOST_POINTS).contains(&points.len()) {
        let message = format!("a line through {} points", points.len());
        log.value(given.points.at, message, format!("give from two to {MOST_POINTS}: `[[x, y], [x, y]]`"));
        return None;
    }
    let corner = |got: &Need<mirror::Corner>| {
        let [x, y] = got.get()?;
        Some(point(x.get()?.to_mm(), y.get()?.to_mm()))
    };
    let corners: Vec<_> = points.iter().map(corner).collect::<Option<_>>()?;
    if let Some(k) = (1..corners.len()).find(|&k| corners[k] == corners[k - 1]) {
        log.value(points[k].at, "the line stays where it is", "leave the repeated point out");
        return None;
    }
    let radius = not_negative(log, &given.radius);
    Some(Line::Drawn { view: *given.seen.get()?, corners, radius })
}

fn along(
    log: &Log,
    given: &mirror::Along,
    blamed: At,
    at: &May<mirror::Place>,
    course: Course<'_>,
    trail: &[&str],
) -> (Option<Line>, Option<Spot>) {
    let held = |usual: Option<Spot>| match usual.filter(|_| !at.given) {
        Some(spot) => Some(spot),
        None => spot(log, at, course.ground(Some(false), None)),
    };
    let offset = not_negative(log, &given.offset).unwrap_or(Length::ZERO);
    let side = side(given);
    let (base, usual) = match (given.limit.given, given.marking.given) {
        (true, false) => {
            let index = course.known.and_then(|known| limit_named(log, &given.limit, &known.limits));
            (index.map(Base::Limit), index.and_then(|index| beside_limit(course, index)))
        }
        (false, true) => {
            if side == Side::Kept && offset > Length::ZERO {
                log.key(
                    blamed,
                    "to which side of the other marking?",
                    "add `side: above`, `below`, `left`, `right`, `ahead` or `behind`",
                );
            }
            let base = other_line(log, given, course, trail);
            (
                base.clone().map(|(line, spot)| Base::Marking { line: Box::new(line), spot: Box::new(spot) }),
                base.map(|base| base.1),
            )
        }
        _ => {
            log.value(
                blamed,
                "along what?",
                "name one: `along: {limit: sill, offset: 6 in}` or `along: {marking: cheat-line, …}`",
            );
            (None, None)
        }
    };
    (base.map(|base| Line::Along { base, offset, side }), held(usual))
}

fn side(given: &mirror::Along) -> Side {
    let towards = |axis, greater| Side::Towards { axis, greater };
    match given.side.get() {
        Some(Keep::Ahead) => towards(Direction::Aft, false),
        Some(Keep::Behind) => towards(Direction::Aft, true),
        Some(Keep::Left) => towards(Direction::Right, false),
        Some(Keep::Right) => towards(Direction::Right, true),
        Some(Keep::Above) => towards(Direction::Up, true),
        Some(Keep::Below) => towards(Direction::Up, false),
        Some(Keep::Inside | Keep::Outside) | None => Side::Kept,
    }
}

/// On a limit's own line, where it is seen as a line or drawn.
fn beside_limit(course: Course<'_>, index: usize) -> Option<Spot> {
    let known = course.known?;
    let limit = known.part.as_ref()?.limits.get(index)?;
    match &limit.kind {
        LimitKind::Plane { axis, offset, .. } => {
            Some(middle_of_plane(known.shape.as_ref()?, *axis, offset.to_mm()))
        }
        LimitKind::Region { view, outline, .. } => Some(Spot::Seen {
            view: *view,
            across: Length::mm((outline[0].x + outline[1].x) / 2.0),
            up: Length::mm((outline[0].y + outline[1].y) / 2.0),
            turn: Angle::ZERO,
        }),
    }
}

/// The line of another marking on the same part.
fn other_line(log: &Log, given: &mirror::Along, course: Course<'_>, trail: &[&str]) -> Option<(Line, Spot)> {
    let name = given.marking.get()?.0.as_str();
    if trail.contains(&name) {
        let message = if trail.len() == 1 {
            format!("`{name}` cannot lie along itself")
        } else {
            format!("`{name}` lies along this marking itself")
        };
        log.value(given.marking.at, message, "lay one of them along something else");
        return None;
    }
    if trail.len() > MOST_ALONG {
        let help = "lay it along the first of them, with the whole way to it as its `offset`";
        log.value(given.marking.at, format!("more than {MOST_ALONG} markings, each along the next"), help);
        return None;
    }
    let found = course.all.0.iter().find(|(other, _)| other == name);
    let Some((name, other)) = found else {
        let names = course.all.0.iter().map(|(name, _)| name.as_str());
        log.unknown(given.marking.at, "no marking is called", name, names);
        return None;
    };
    let other = other.get()?;
    let same = other.part.get().zip(course.known).is_none_or(|(part, known)| part.0 == known.name);
    let line = match other.lay.get() {
        Some(mirror::Lay::Follow(line)) if same => line,
        _ if !same => {
            log.value(
                given.marking.at,
                format!("`{name}` is on another part"),
                "name a marking on this part",
            );
            return None;
        }
        _ => {
            let help = "name one with `lay: {follow: …}`, or a limit";
            log.value(given.marking.at, format!("`{name}` does not follow a line"), help);
            return None;
        }
    };
    let trail: Vec<&str> = trail.iter().copied().chain([name.as_str()]).collect();
    let (line, spot) = line_way(log, line, other.lay.at, &other.at, course, &trail);
    line.zip(spot)
}

fn pins(log: &Log, points: &[Need<mirror::Place>], blamed: At, course: Course<'_>) -> Option<Vec<Pin>> {
    if !(2..=MOST_POINTS).contains(&points.len()) {
        let message = format!("a strap through {} points", points.len());
        log.value(blamed, message, format!("give from two to {MOST_POINTS}"));
        return None;
    }
    if let Some(first) = points[0].get().filter(|place| place.free.given) {
        log.key(
            first.free.at,
            "the strap begins here",
            "`free` stands at the point that it hangs free on the way to",
        );
    }
    let pin = |got: &Need<mirror::Place>| {
        let spot = place(log, got, course.ground(Some(false), None));
        let reach = match got.get()?.free.get() {
            None | Some(Free::No) => Reach::Lying,
            Some(Free::Straight) => Reach::Free,
            Some(Free::Long(length)) if length.to_mm() > 0.0 => Reach::Hanging(*length),
            Some(Free::Long(_)) => {
                log.value(got.get()?.free.at, "a free stretch has a length", "write `true` for straight");
                return None;
            }
        };
        Some(Pin { spot: spot?, reach })
    };
    points.iter().map(pin).collect::<Vec<_>>().into_iter().collect()
}
