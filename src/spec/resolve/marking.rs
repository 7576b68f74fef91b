//! Markings: which part, how laid and held, what to make of it.

use super::super::Found;
use super::super::lenient::{May, Need};
use super::super::log::Log;
use super::super::mirror::{self, HoldWord, Named, WordOrMap};
use super::super::words::Count;
use super::artwork::artwork;
use super::composed::Nest;
use super::drawing::{Drawings, Paint};
use super::lay::{Course, Way, has_line, may_close, way};
use super::part::Known;
use super::setup::{Palette, width_of_film};
use super::{each, mm, positive};
use crate::flow::{End, Hold, Lay, Limits, Line, Make, Marking, MarkingId, PartId, PieceWishes, SizeBy};
use crate::outline::bridge::Bridges;
use crate::units::{Angle, Full, Length, Model, Scale};
use std::cell::RefCell;

pub fn marking(
    log: &Log,
    name: &str,
    got: &Need<mirror::Marking>,
    all: &Named<mirror::Marking>,
    parts: &[Known],
    palette: &mut Palette,
    (drawings, found): (&Drawings<'_>, &Found<'_>),
) -> Option<Marking> {
    let given = got.get()?;
    let part_id = part_named(log, &given.part, parts);
    let known = part_id.map(|PartId(index)| &parts[index]);
    let shape = known.and_then(|known| known.shape.as_ref());
    let Way { lay, spot } = way(log, name, given, Course { all, known });
    let made = given.made.get().copied().unwrap_or(Scale::FULL);
    let limits = known.map_or(&[][..], |known| &known.limits);
    if let Some(mirror::Draw::Area(_)) = given.draw.get() {
        area_is_where_it_is(log, given);
    }
    let (palette, nest) = (RefCell::new(palette), Nest::default());
    let (fonts, has_line) = (found.fonts, has_line(given));
    let paint = Paint { log, made, shape, limits, has_line, palette, drawings, nest, fonts };
    let draw = match given.draw.get() {
        Some(mirror::Draw::Artwork(drawn)) => {
            if given.border.given {
                let help = "draw it in the file, or lay the artwork `over` a drawing that is larger";
                log.key(given.border.at, "an artwork has no `border`", help);
            }
            artwork(&paint, drawn, given, found.pictures)
        }
        _ => paint.marked(given, got.at),
    };
    let (make, copies) = (make(log, given), copies(log, given));
    let piece = piece(log, &given.piece, may_close(given), make.contains(&Make::Mask));
    let may_trim = may_trim(log, given);
    let hold = hold(log, given, made);
    let copies = copies.saturating_mul(starts(log, given, lay.as_ref(), copies));
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
        over: over(log, name, given, all),
        layer: 0,
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

/// A helix of several starts is as many pieces.
fn starts(log: &Log, given: &mirror::Marking, lay: Option<&Lay>, copies: u32) -> u32 {
    let starts = match lay {
        Some(Lay::Follow(Line::Helix(helix))) => helix.starts,
        _ => 1,
    };
    if starts > 1 && starts.saturating_mul(copies) > log.limits.copies() {
        let message = format!("{starts} starts make {} pieces", starts.saturating_mul(copies));
        log.value(given.lay.at, message, at_most_copies(log));
    }
    starts
}

/// An area is a bit of its part: nothing else says where it lies or how large it is.
fn area_is_where_it_is(log: &Log, given: &mirror::Marking) {
    let words = [
        ("at", given.at.given, given.at.at),
        ("hold", given.hold.given, given.hold.at),
        ("lay", given.lay.given, given.lay.at),
        ("size_by", given.size_by.given, given.size_by.at),
        ("made", given.made.given, given.made.at),
    ];
    for (word, _, at) in words.into_iter().filter(|(_, is_given, _)| *is_given) {
        log.key(
            at,
            format!("`{word}` says nothing of an area"),
            "leave it out: an area lies between its limits",
        );
    }
}

/// The markings of this part that it lies over on purpose.
fn over(log: &Log, name: &str, given: &mirror::Marking, all: &Named<mirror::Marking>) -> Vec<MarkingId> {
    let mut under = Vec::new();
    for (word, at) in each(log, &given.over) {
        let Some(index) = all.0.iter().position(|(other, _)| *other == word.0) else {
            log.unknown(at, "no marking is called", &word.0, all.0.iter().map(|(name, _)| name.as_str()));
            continue;
        };
        let part =
            |got: Option<&mirror::Marking>| got.and_then(|got| got.part.get()).map(|part| part.0.clone());
        if word.0 == name {
            log.value(at, format!("`{name}` cannot lie over itself"), "name another marking of this part");
        } else if part(all.0[index].1.get()) != part(Some(given)) {
            let message = format!("`{}` is on another part", word.0);
            log.value(at, message, "name a marking of this part");
        } else if !under.contains(&MarkingId(index)) {
            under.push(MarkingId(index));
        }
    }
    under
}

/// Empty where the spec leaves it open. What was `made` already is a decal in hand.
fn make(log: &Log, given: &mirror::Marking) -> Vec<Make> {
    let mut all = Vec::new();
    for (&make, at) in each(log, &given.make) {
        if all.contains(&make) {
            log.value(at, format!("`{}` is listed twice", make.word()), "use `copies` for more of the same");
        } else {
            all.push(make);
        }
    }
    if all.is_empty() && given.made.given { vec![Make::Decal] } else { all }
}

fn copies(log: &Log, given: &mirror::Marking) -> u32 {
    let copies = given.copies.get().map_or(1, |count| count.0);
    if copies > log.limits.copies() {
        log.value(given.copies.at, format!("{copies} copies of one marking"), at_most_copies(log));
    }
    copies
}

fn at_most_copies(log: &Log) -> String {
    format!("at most {}; {}", log.limits.copies(), Limits::RAISE)
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
    let whole = match given.draw.get() {
        Some(mirror::Draw::Roundel(_)) => "a roundel is not trimmed",
        Some(mirror::Draw::Quarters(_)) => "a disc in quarters is not trimmed",
        Some(mirror::Draw::Letters(_) | mirror::Draw::Text(_)) => "letters are not trimmed",
        _ => "",
    };
    if !ends.is_empty() && !whole.is_empty() {
        log.value(given.may_trim.at, whole, "leave `may_trim` out, or make it smaller");
    }
    ends
}

/// The hold point, measured on the piece as its drawing is: at full size, or of the decal in hand.
fn hold(log: &Log, given: &mirror::Marking, made: Scale) -> Hold {
    let length = |got: &May<Length<Full>>| got.get().copied().unwrap_or(Length::ZERO) * made.denominator();
    let centred = matches!(given.hold.get(), None | Some(WordOrMap::Word(HoldWord::Centre)));
    if !centred && may_close(given) && matches!(given.draw.get(), Some(mirror::Draw::Band(_))) {
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

fn piece(log: &Log, got: &May<mirror::Piece>, may_close: bool, is_mask: bool) -> PieceWishes {
    let Some(given) = got.get() else { return PieceWishes::default() };
    if given.overlap.given && !may_close {
        let help = "overlap is where a wrap meets itself: `lay: {follow: ring}`";
        log.key(given.overlap.at, "this piece does not meet itself", help);
    }
    if given.bridge.given && !is_mask {
        log.key(given.bridge.at, "only a mask has bridges", "add `make: mask`, or leave `bridge` out");
    }
    if given.tab.given && !is_mask {
        log.key(given.tab.at, "only a mask has a tab", "add `make: mask`, or leave `tab` out");
    }
    PieceWishes {
        bridges: bridges(log, &given.bridge),
        tab: tab(log, &given.tab),
        border: width_of_film(log, &given.border),
        bleed: width_of_film(log, &given.bleed),
        overlap: width_of_film(log, &given.overlap).unwrap_or(Length::ZERO),
        longest: positive(log, &given.longest),
        split_overlap: width_of_film(log, &given.split_overlap),
        trap: width_of_film(log, &given.trap),
        spares: spares(log, &given.spares),
        priority: given.priority.get().map_or(0, |count| count.0),
        turns: given.turn.get().copied(),
    }
}

fn spares(log: &Log, got: &May<Count>) -> u32 {
    let spares = got.get().map_or(0, |count| count.0);
    if spares > log.limits.copies() {
        log.value(got.at, format!("{spares} spares of one marking"), at_most_copies(log));
    }
    spares
}

fn tab(log: &Log, got: &May<Length<Model>>) -> Option<Length<Model>> {
    /// A finger's breadth is more than enough.
    const MOST: f64 = 20.0;
    let side = positive(log, got)?;
    if side.to_mm() > MOST {
        log.value(
            got.at,
            format!("a tab of {}", mm(side)),
            format!("at most {MOST} mm; 3 to 5 mm suits fingers and tweezers"),
        );
    }
    Some(side)
}

/// Two to each counter, up and down, unless the spec says otherwise.
fn bridges(log: &Log, got: &May<WordOrMap<Length<Model>, mirror::Bridge>>) -> Option<Bridges> {
    /// More would leave no window.
    const MOST: u32 = 12;
    let usual = Bridges { width: Length::ZERO, count: 2, direction: Angle::degrees(90.0) };
    let bridges = match got.get()? {
        WordOrMap::Word(width) => Bridges { width: *width, ..usual },
        WordOrMap::Map(map) => Bridges {
            width: *map.width.get()?,
            count: map.count.get().map_or(usual.count, |count| count.0),
            direction: map.direction.get().map_or(usual.direction, |upright| upright.0),
        },
    };
    if !(bridges.width > Length::ZERO && bridges.width <= Length::mm(20.0)) {
        log.value(got.at, "a bridge of this width ties nothing", "0.4 to 1 mm suits most masks");
    }
    if bridges.count > MOST {
        log.value(got.at, format!("{} bridges to each counter", bridges.count), format!("at most {MOST}"));
    }
    Some(bridges)
}
