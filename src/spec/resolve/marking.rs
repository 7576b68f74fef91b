//! Markings: which part, how laid and held, what to make of it.

use super::super::lenient::{May, Need};
use super::super::log::Log;
use super::super::mirror::{self, HoldWord, OneOrMany, WordOrMap};
use super::drawing::{Colours, Paint, drawing};
use super::part::Known;
use super::setup::{Palette, width_of_film};
use super::spot::{Ground, on_part, spot};
use super::{each, mm};
use crate::flow::{End, Hold, Lay, Make, Marking, PartId, PieceWishes, Shape, SizeBy};
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
    let shape = known.and_then(|known| known.shape.as_ref());
    let asks_ring = asks_ring(given);
    let lay = lay(log, given, shape);
    let made = given.made.get().copied().unwrap_or(Scale::FULL);
    let paint = Paint { log, made, shape, asks_ring };
    let colours = colours(log, given, got.at, palette);
    let draw = drawing(&paint, &given.draw, colours);
    let (make, copies) = (make(log, given), copies(log, given));
    let piece = piece(log, &given.piece, asks_ring != Some(false));
    let may_trim = may_trim(log, given);
    let hold = hold(log, given, made, asks_ring);
    let ring = match &lay {
        Some(Lay::Ring { station }) => Some(*station),
        _ => None,
    };
    let spot = spot(log, &given.at, Ground { part: known, shape, asks_ring, ring });
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
        log.unknown(got.at, "no part is called", name, parts.iter().map(|part| part.name.as_str()));
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

/// Whether the marking goes round on a ring; `None` where the spec is too wrong to tell.
fn asks_ring(given: &mirror::Marking) -> Option<bool> {
    let is_band = given.draw.get().map(|draw| matches!(draw, mirror::Draw::Band(_)));
    match given.lay.get() {
        Some(mirror::Lay::Follow(mirror::Line::Ring(_))) => Some(true),
        Some(mirror::Lay::Drape) => Some(false).filter(|_| is_band != Some(true)),
        None if given.lay.given => None,
        None => is_band,
    }
}

/// Drape where nothing is said; a band goes round.
fn lay(log: &Log, given: &mirror::Marking, shape: Option<&Shape>) -> Option<Lay> {
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
    let refused = match shape {
        Some(Shape::Flat { .. }) => Some("no ring is laid round a flat part"),
        Some(Shape::Ellipsoid { .. }) => Some("no ring is laid round an ellipsoid"),
        _ => None,
    };
    if let Some(message) = refused {
        let blamed = if given.lay.given { given.lay.at } else { given.draw.at };
        log.value(blamed, message, "rings go round a cylinder, a cone or a sphere");
        return None;
    }
    ring_station(log, given, ring, shape).map(|station| Lay::Ring { station })
}

/// A ring's station: given with the ring or with `at`.
fn ring_station(
    log: &Log,
    given: &mirror::Marking,
    ring: Option<&May<Length<Full>>>,
    shape: Option<&Shape>,
) -> Option<Length<Full>> {
    let ring = ring.filter(|ring| ring.given);
    let place = given.at.get().map(|place| &place.station).filter(|station| station.given);
    if let (Some(one), Some(place)) = (ring.and_then(May::get), place)
        && place.get().is_some_and(|other| other != one)
    {
        let message = format!("the ring lies at {}, but `at` gives another station", mm(*one));
        log.value(place.at, message, "give the station once");
    }
    if let Some(station) = ring.or(place) {
        return on_part(log, station, shape);
    }
    if !given.at.given || given.at.get().is_some() {
        let help = "say where the ring lies: `lay: {follow: {ring: {station: 1.8 m}}}`";
        let blamed = if given.lay.given { given.lay.at } else { given.draw.at };
        log.key(blamed, "the ring has no station", help);
    }
    None
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

/// The hold point, measured on the piece as its drawing is: at full size, or of the decal in hand.
fn hold(log: &Log, given: &mirror::Marking, made: Scale, asks_ring: Option<bool>) -> Hold {
    let length = |got: &May<Length<Full>>| got.get().copied().unwrap_or(Length::ZERO) * made.denominator();
    let centred = matches!(given.hold.get(), None | Some(WordOrMap::Word(HoldWord::Centre)));
    if !centred && asks_ring == Some(true) {
        let help = "leave `hold` out; `at: {around: …}` turns an open piece round the part";
        log.value(given.hold.at, "a piece that follows a ring is held at its middle", help);
    }
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
