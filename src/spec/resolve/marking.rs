//! Markings: which part, how laid and held, what to make of it.

use super::super::lenient::{May, Need};
use super::super::log::Log;
use super::super::mirror::{self, HoldWord, OneOrMany, WordOrMap};
use super::super::problem::{known, shown};
use super::drawing::{Colours, Paint, drawing};
use super::part::{Known, is_long};
use super::setup::{Palette, width_of_film};
use super::spot::{on_part, spot};
use super::{each, mm};
use crate::flow::{End, Hold, Lay, Make, Marking, Part, PartId, PieceWishes, Shape, SizeBy};
use crate::units::{Full, Length, Scale};

/// Most copies of one marking: a sheet holds fewer of anything.
const MOST_COPIES: u32 = 1000;

pub fn marking(
    log: &Log,
    name: &str,
    got: &Need<mirror::Marking>,
    parts: &[Known],
    palette: &mut Palette,
) -> Option<Marking> {
    let given = got.get()?;
    let part_id = part_named(log, &given.part, parts);
    let known = part_id.map(|PartId(index)| &parts[index]);
    let part = known.and_then(|known| known.part.as_ref());
    let lay = lay(log, given, part);
    let ring = matches!(lay, Some(Lay::Ring { .. }));
    let made = given.made.get().copied().unwrap_or(Scale::FULL);
    let paint = Paint { log, made, part: part.filter(|_| ring), asks_ring: asks_ring(given) };
    let colours = colours(log, given, got.at, palette);
    let draw = drawing(&paint, &given.draw, colours);
    let (make, copies) = (make(log, given), copies(log, given));
    let piece = piece(log, &given.piece, ring || lay.is_none());
    let may_trim = may_trim(log, given);
    let hold = hold(given);
    let station = match &lay {
        Some(Lay::Ring { station }) => Some(*station),
        _ => None,
    };
    // A ring that could not be read must not be blamed a second time for its place.
    let spot = match (known, part) {
        (Some(known), Some(part)) if lay.is_some() => spot(log, &given.at, known, part, station),
        _ => None,
    };
    Some(Marking {
        name: name.into(),
        part: part_id?,
        draw: draw?,
        spot: spot?,
        hold,
        lay: lay?,
        make,
        copies,
        may_trim,
        size_by: given.size_by.get().copied().unwrap_or(SizeBy::Scale),
        piece,
        note: given.note.get().map(|note| note.0.clone()),
        at: log.key_place(got.at),
        draw_at: log.place(given.draw.at),
        spot_at: if given.at.given { log.place(given.at.at) } else { log.key_place(got.at) },
    })
}

fn part_named(log: &Log, got: &Need<super::super::words::Text>, parts: &[Known]) -> Option<PartId> {
    let name = &got.get()?.0;
    let found = parts.iter().position(|part| part.name == *name).map(PartId);
    if found.is_none() {
        let help = known(name, parts.iter().map(|part| part.name.as_str()));
        log.value(got.at, format!("no part is called `{}`", shown(name)), help);
    }
    found
}

/// Colours by name, `None` where one is unknown; with the place to blame for their number.
fn colours(log: &Log, given: &mirror::Marking, at: super::At, palette: &mut Palette) -> Colours {
    if given.colour.given && given.colours.given {
        log.key(given.colours.at, "`colour` and `colours` together", "give one of the two");
    }
    if !given.colour.given && !given.colours.given {
        log.key(at, "`colour` is missing", "add `colour: …`, a name from `colours` or a quoted \"#rrggbb\"");
    }
    let words = match given.colour.get() {
        Some(one) => vec![(one, given.colour.at)],
        None => each(log, &given.colours),
    };
    let is_whole = match given.colours.get() {
        Some(OneOrMany::List(many)) => many.len() == words.len(),
        Some(OneOrMany::Word(_)) => true,
        None => given.colour.get().is_some(),
    };
    let found: Vec<_> = words.into_iter().map(|(word, at)| palette.find(log, &word.0, at)).collect();
    let ids = found.into_iter().collect::<Option<Vec<_>>>().filter(|ids| is_whole && !ids.is_empty());
    Colours { ids, at: if given.colour.given { given.colour.at } else { given.colours.at } }
}

/// Whether the spec asks for a ring, well or badly: a band always lies on one.
fn asks_ring(given: &mirror::Marking) -> bool {
    match given.lay.get() {
        Some(mirror::Lay::Follow(mirror::Line::Ring(_))) => true,
        Some(mirror::Lay::Drape) => false,
        None => given.lay.given || matches!(given.draw.get(), Some(mirror::Draw::Band(_)) | None),
    }
}

/// Drape where nothing is said; a band goes round.
fn lay(log: &Log, given: &mirror::Marking, part: Option<&Part>) -> Option<Lay> {
    let is_band = matches!(given.draw.get(), Some(mirror::Draw::Band(_)));
    let ring = match given.lay.get() {
        Some(mirror::Lay::Follow(mirror::Line::Ring(ring))) => Some(&ring.station),
        Some(mirror::Lay::Drape) if is_band => {
            let help = "write `lay: {follow: {ring: {station: …}}}`, or draw a `stripe`";
            log.value(given.lay.at, "a band goes round its part, it is not draped", help);
            return None;
        }
        None if given.lay.given => return None,
        None if is_band => None,
        _ => return Some(Lay::Drape),
    };
    let part = part?;
    if !is_long(&part.shape) && !matches!(part.shape, Shape::Sphere { .. }) {
        let message = match part.shape {
            Shape::Flat { .. } => "no ring is laid round a flat part",
            _ => "no ring is laid round an ellipsoid",
        };
        let help = "rings go round a cylinder, a cone or a sphere";
        if given.lay.given {
            log.value(given.lay.at, message, help);
        } else {
            log.value(given.draw.at, message, help);
        }
        return None;
    }
    ring_station(log, given, ring, part).map(|station| Lay::Ring { station })
}

/// A ring's station: given with the ring or with `at`.
fn ring_station(
    log: &Log,
    given: &mirror::Marking,
    ring: Option<&May<Length<Full>>>,
    part: &Part,
) -> Option<Length<Full>> {
    let ring = ring.filter(|ring| ring.given);
    let place = given.at.get().map(|place| &place.station).filter(|station| station.given);
    match (ring, place) {
        (Some(ring), Some(place)) => {
            if let (Some(one), Some(other)) = (ring.get(), place.get())
                && one != other
            {
                let message = format!("the ring lies at {}, but `at` says {}", mm(*one), mm(*other));
                log.value(place.at, message, "give the station once");
            }
            on_part(log, ring, &part.shape)
        }
        (Some(station), None) | (None, Some(station)) => on_part(log, station, &part.shape),
        (None, None) => {
            let help = "say where the ring lies: `lay: {follow: {ring: {station: 1.8 m}}}`";
            let blamed = if given.lay.given { given.lay.at } else { given.draw.at };
            log.key(blamed, "the ring has no station", help);
            None
        }
    }
}

fn make(log: &Log, given: &mirror::Marking) -> Vec<Make> {
    let mut all = Vec::new();
    for (&make, at) in each(log, &given.make) {
        if all.contains(&make) {
            log.value(at, format!("`{}` is listed twice", make.word()), "use `copies` for more of the same");
        } else {
            all.push(make);
        }
    }
    if given.make.given { all } else { vec![Make::Decal] }
}

fn copies(log: &Log, given: &mirror::Marking) -> u32 {
    let copies = given.copies.get().map_or(1, |count| count.0);
    if copies > MOST_COPIES {
        log.value(
            given.copies.at,
            format!("{copies} copies of one marking"),
            format!("at most {MOST_COPIES}"),
        );
    }
    copies
}

fn may_trim(log: &Log, given: &mirror::Marking) -> Vec<End> {
    if !given.may_trim.given {
        let is_stripe = matches!(given.draw.get(), Some(mirror::Draw::Stripe(_)));
        return if is_stripe { vec![End::Front, End::Rear] } else { Vec::new() };
    }
    let mut ends: Vec<End> =
        each(log, &given.may_trim).into_iter().flat_map(|(ends, _)| ends.0.clone()).collect();
    ends.sort_unstable();
    ends.dedup();
    if !ends.is_empty() && matches!(given.draw.get(), Some(mirror::Draw::Roundel(_))) {
        log.value(given.may_trim.at, "a roundel is not trimmed", "leave `may_trim` out, or make it smaller");
    }
    ends
}

fn hold(given: &mirror::Marking) -> Hold {
    let length = |got: &May<Length<Full>>| got.get().copied().unwrap_or(Length::ZERO);
    match given.hold.get() {
        None | Some(WordOrMap::Word(HoldWord::Centre)) => Hold::Centre,
        Some(WordOrMap::Word(HoldWord::Front)) => Hold::Front,
        Some(WordOrMap::Word(HoldWord::Rear)) => Hold::Rear,
        Some(WordOrMap::Map(point)) => Hold::Point(length(&point.along), length(&point.across)),
    }
}

fn piece(log: &Log, got: &May<mirror::Piece>, may_close: bool) -> PieceWishes {
    let Some(given) = got.get() else { return PieceWishes::default() };
    if given.overlap.given && !may_close {
        let help = "overlap is where a wrap meets itself: `lay: {follow: ring}`";
        log.key(given.overlap.at, "this piece does not meet itself", help);
    }
    PieceWishes {
        border: width_of_film(log, &given.border),
        bleed: width_of_film(log, &given.bleed),
        overlap: width_of_film(log, &given.overlap).unwrap_or(Length::ZERO),
    }
}
