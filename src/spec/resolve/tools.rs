//! Tape in stock, the spraying order, the cutter.

use super::super::lenient::{Got, May, Need};
use super::super::log::{At, Log};
use super::super::mirror::{self, Draw, Spec};
use super::super::words::{Cornered, Depth, Round};
use super::setup::{Palette, defined_once, give, poisson, set, width_of_film};
use super::{each, mm, positive};
use crate::flow::{ColourId, Cutter, Films, MEASURED_SQUARE, Make, Marking, Spray, Tape};
use crate::outline::{Point, point};
use crate::units::{Length, Model, Size};

/// Most widths of tape in stock: more than are sold.
const MOST_WIDTHS: usize = 40;

/// Widths of tape, narrowest first, and how far it gives.
pub fn tape(log: &Log, tape: &mut Tape, got: &May<mirror::Tape>, first: &mut Option<At>) {
    let Some(given) = got.get() else { return };
    defined_once(log, got.at, first);
    for (width, at) in each(log, &given.widths) {
        if !(0.1..=100.0).contains(&width.to_mm()) {
            log.value(
                at,
                format!("tape is not {} wide", mm(*width)),
                "from 0.1 mm to 100 mm, as on the roll",
            );
        } else if tape.widths.contains(width) {
            log.value(at, format!("{} is listed twice", mm(*width)), "list each width once");
        } else if tape.widths.len() == MOST_WIDTHS {
            log.value(at, format!("more than {MOST_WIDTHS} widths of tape"), "list those you would lay");
            break;
        } else {
            tape.widths.push(*width);
        }
    }
    tape.widths.sort_by(|a, b| a.to_mm().total_cmp(&b.to_mm()));
    set(&mut tape.trim, width_of_film(log, &given.trim));
    let film = &mut tape.film;
    set(&mut film.poisson, poisson(log, &given.poisson));
    set(&mut film.plain.stretch, give(log, &given.stretch));
    set(&mut film.plain.squeeze, give(log, &given.squeeze));
    film.softened = film.plain;
}

/// Markings made of tape need tape, and a form that tape can have.
pub fn tape_in_stock(log: &Log, spec: &Spec, films: &Films) {
    let Some(markings) = spec.markings.get() else { return };
    for marking in markings.0.iter().filter_map(|(_, marking)| marking.get()) {
        for (_, at) in each(log, &marking.make).into_iter().filter(|(make, _)| **make == Make::Tape) {
            if films.tape.widths.is_empty() {
                let help = "list the widths you have: `films: {tape: {widths: [1 mm, 2 mm, 3 mm]}}`";
                log.value(at, "no tape is in stock", help);
            }
            let tapers = |stripe: &mirror::Stripe| stripe.taper.given;
            let can = match marking.draw.get() {
                Some(Draw::Stripe(stripe)) => !tapers(stripe),
                Some(Draw::Band(_) | Draw::Rectangle(_) | Draw::Checks(_)) | None => true,
                Some(_) => false,
            };
            if !can {
                let help = "tape does stripes of one width, bands, rectangles and the edges of checks; \
                            make this a decal or a mask";
                log.value(at, "tape cannot do this drawing", help);
            }
            let edge = marking.border.get();
            if edge.is_some_and(|edge| edge.corner.get() == Some(&Cornered::Round)) {
                let help = "leave `corner` out, or make this a decal or a mask";
                log.value(at, "tape goes round no corner", help);
            }
        }
    }
}

/// `markings` are those of the spec, where they could be read.
pub fn spray(
    log: &Log,
    got: &May<mirror::Spray>,
    palette: &mut Palette,
    markings: Option<&[Marking]>,
) -> Spray {
    let mut spray = Spray::default();
    let Some(given) = got.get() else { return spray };
    let may_be_mask = |marking: &&Marking| marking.make.is_empty() || marking.make.contains(&Make::Mask);
    let is_sprayed = |colour: ColourId| {
        let mut masks = markings.unwrap_or(&[]).iter().filter(may_be_mask);
        markings.is_none() || masks.any(|marking| marking.draw.colours().contains(&colour))
    };
    for (word, at) in each(log, &given.order) {
        match palette.find(log, &word.0, at) {
            Some(colour) if spray.order.contains(&colour) => {
                let help = "a colour is sprayed once; what lies twice is two markings";
                log.value(at, format!("`{}` is listed twice", word.0), help);
            }
            Some(colour) => {
                if !is_sprayed(colour) {
                    let help = "take it out of `order`, or give a marking of that colour `make: mask`";
                    log.value(at, format!("`{}` is sprayed through no mask", word.0), help);
                }
                spray.order.push(colour);
            }
            None => {}
        }
    }
    set(&mut spray.film, given.film.get().copied());
    set(&mut spray.overlap, width_of_film(log, &given.overlap));
    spray
}

/// The machine, or `None` where the spec has none.
pub fn cutter(log: &Log, got: &May<mirror::Cutter>) -> Option<Cutter> {
    let given = got.get()?;
    let mut cutter = Cutter::default();
    let small = |got: &May<Length<Model>>, most: f64, what: &str| {
        let length = width_of_film(log, got)?;
        if length.to_mm() > most {
            log.value(got.at, format!("{} is no {what}", mm(length)), format!("at most {most} mm"));
        }
        Some(length)
    };
    set(&mut cutter.offset, small(&given.offset, 2.0, "offset of a drag knife"));
    set(&mut cutter.overcut, small(&given.overcut, 10.0, "overcut"));
    set(&mut cutter.feed, width_of_film(log, &given.feed));
    if let Some(speed) = positive(log, &given.speed) {
        if speed.to_mm() > 2000.0 {
            log.value(given.speed.at, format!("{} in a second", mm(speed)), "at most 2 m in a second");
        }
        cutter.speed = speed;
    }
    set(&mut cutter.clockwise, given.direction.get().map(|round| *round == Round::Clockwise));
    set(&mut cutter.through, given.decals.get().map(|depth| *depth == Depth::Through));
    set(&mut cutter.weed, given.weed.get().map(|weed| weed.0));
    if let Some(mat) = given.mat.get() {
        let (width, height) = (positive(log, &mat.width), positive(log, &mat.height));
        cutter.mat = width.zip(height).map(|(width, height)| Size { width, height });
        if let Some(height) = height.filter(|height| cutter.feed * 2.0 >= *height) {
            let help = "`feed` is kept clear along two edges of the mat";
            log.value(given.feed.at, format!("nothing is left of a mat of {}", mm(height)), help);
        }
    }
    if let Some(square) = given.measured.get() {
        set(&mut cutter.measured.width, side(log, &square.across, ["cut"; 2]));
        set(&mut cutter.measured.height, side(log, &square.up, ["cut"; 2]));
    }
    cutter.marks = marks(log, &given.marks);
    Some(cutter)
}

/// A side of the square of 100 mm as cut or printed: a machine that is off by a tenth is broken.
pub fn side(log: &Log, got: &May<Length<Model>>, [make, made]: [&str; 2]) -> Option<Length<Model>> {
    let side = *got.get()?;
    if (side.to_mm() / MEASURED_SQUARE.to_mm() - 1.0).abs() > 0.1 {
        let help = format!("{make} a square of 100 mm without `measured`, and give its sides");
        log.value(got.at, format!("a square of 100 mm is {made} as {}", mm(side)), help);
        return None;
    }
    Some(side)
}

fn marks(log: &Log, got: &May<Vec<Need<mirror::Found>>>) -> Option<[Point; 3]> {
    let given = got.get()?;
    let coordinate = |got: &Got<Length<Model>, true>| got.get().map(|length| length.to_mm());
    let found: Vec<Point> = given
        .iter()
        .filter_map(|mark| mark.get())
        .filter_map(|[x, y]| Some(point(coordinate(x)?, coordinate(y)?)))
        .collect();
    let help = "three marks as `[across, up]` from the sheet's lower left corner: lower left, lower right, upper left";
    let Ok(three) = <[Point; 3]>::try_from(found) else {
        if given.len() != 3 {
            log.value(got.at, format!("{} marks", given.len()), help);
        }
        return None;
    };
    let [origin, right, up] = three;
    if (right - origin).cross(up - origin) < 100.0 {
        log.value(got.at, "these marks do not span a sheet", help);
        return None;
    }
    Some(three)
}
