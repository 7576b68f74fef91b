//! The printer: how it prints, what was measured of it, and what is wanted on its pages.

use super::super::lenient::May;
use super::super::log::Log;
use super::super::mirror::{self, WordOrMap};
use super::super::words::{Lined, Text};
use super::each;
use super::setup::{Palette, set, width_of_film};
use super::tools::side;
use crate::flow::{Film, Lines, Margins, Printer, White};
use crate::units::{Dpi, Length, Size};

/// Names that ISO 32000-1 (8.6.6.4) and the inks of a press keep for themselves.
const TAKEN: [&str; 6] = ["All", "None", "Cyan", "Magenta", "Yellow", "Black"];

/// A name is shown in lists of inks: past this many letters nobody reads it.
const LONGEST: usize = 60;

/// `turned`: the paper goes in upright while the page lies on its side, so that what runs across the printer
/// runs along the page.
pub fn printer(log: &Log, got: &May<mirror::Printer>, turned: bool, palette: &mut Palette) -> Printer {
    let mut printer = Printer::default();
    let Some(given) = got.get() else { return printer };
    if let Some(number) = given.dpi.get() {
        match Dpi::new(number.0) {
            Some(dpi) => printer.dpi = dpi,
            None => {
                let help = "printers for decals do 300, 600 or 1200 dpi";
                log.value(given.dpi.at, format!("{} dpi is not from 30 to 2400", number.0), help);
            }
        }
    }
    if let Some(square) = given.measured.get() {
        let make = ["print", "printed"];
        set(&mut printer.measured.width, side(log, &square.across, make));
        set(&mut printer.measured.height, side(log, &square.along, make));
        if turned {
            let Size { width, height } = printer.measured;
            printer.measured = Size { width: height, height: width };
        }
    }
    set(&mut printer.finest.line, width_of_film(log, &given.min_line));
    set(&mut printer.finest.gap, width_of_film(log, &given.min_gap));
    set(&mut printer.finest.letter, width_of_film(log, &given.min_letter));
    set(&mut printer.ground, given.ground.get().copied());
    set(&mut printer.masks, given.masks.get().copied());
    printer.white = white(log, &given.white);
    if let Some(names) = given.names.get() {
        set(&mut printer.spots.cut, ink(log, &names.cut));
        set(&mut printer.spots.relief, ink(log, &names.relief));
    }
    let lines_at = given.names.at;
    let inks = [
        Some((&printer.spots.cut, lines_at)),
        Some((&printer.spots.relief, lines_at)),
        printer.white.as_ref().map(|white| (&white.name, given.white.at)),
    ];
    let inks: Vec<_> = inks.into_iter().flatten().collect();
    for (k, (name, at)) in inks.iter().enumerate() {
        if inks[..k].iter().any(|(other, _)| other.eq_ignore_ascii_case(name)) {
            let help = "call the white ink, the lines to cut and the relief cuts by names of their own";
            log.value(*at, format!("`{name}` is the name of two inks"), help);
        }
    }
    if given.lines.get().is_some() {
        printer.lines = lines(log, &given.lines);
    }
    set(&mut printer.mirrored, given.mirrored.get().map(|mirrored| mirrored.0));
    set(&mut printer.trial, given.trial.get().map(|trial| trial.0));
    set(&mut printer.pdf, given.pdf.get().copied());
    if given.order.get().is_some() {
        let mut order = Vec::new();
        for (word, at) in each(log, &given.order) {
            match palette.find(log, &word.0, at) {
                Some(colour) if order.contains(&colour) => {
                    let help = "a colour is printed once, in a layer of its own";
                    log.value(at, format!("`{}` is listed twice", word.0), help);
                }
                Some(colour) => order.push(colour),
                None => {}
            }
        }
        printer.order = Some(order);
    }
    printer
}

/// Where the printer cannot print.
pub fn bare(log: &Log, got: &May<mirror::Printer>) -> Margins {
    let Some(sides) = got.get().and_then(|given| given.margins.get()) else { return Margins::default() };
    let of = |side| width_of_film(log, side).unwrap_or_default();
    let [left, right, top, bottom] = [&sides.left, &sides.right, &sides.top, &sides.bottom].map(of);
    Margins { left, right, top, bottom }
}

/// What the printer was seen to print holds for film of any kind.
pub fn film_is_no_finer(film: &mut Film, printer: &Printer) {
    let finest = &printer.finest;
    for (own, seen) in [
        (&mut film.finest_line, finest.line),
        (&mut film.finest_gap, finest.gap),
        (&mut film.smallest_letter, finest.letter),
    ] {
        if *own < seen {
            *own = seen;
        }
    }
}

fn white(log: &Log, got: &May<WordOrMap<super::super::words::Switch, mirror::White>>) -> Option<White> {
    /// More leaves nothing of letters.
    const MOST: Length<crate::units::Model> = Length::mm(2.0);
    let mut white = White::default();
    match got.get()? {
        WordOrMap::Word(wanted) => return wanted.0.then_some(white),
        WordOrMap::Map(given) => {
            set(&mut white.name, ink(log, &given.name));
            if let Some(choke) = width_of_film(log, &given.choke) {
                if choke > MOST {
                    let message = format!("a choke of {} mm leaves no white", choke.to_mm());
                    log.value(given.choke.at, message, "0.05 mm to 0.2 mm is common practice; 2 mm at most");
                }
                white.choke = choke;
            }
            set(&mut white.picture, given.picture.get().copied());
        }
    }
    Some(white)
}

fn ink(log: &Log, got: &May<Text>) -> Option<String> {
    let name = got.get()?.0.trim().to_owned();
    if name.is_empty() || name.chars().count() > LONGEST || name.chars().any(char::is_control) {
        log.value(got.at, "this is no name of an ink", format!("1 to {LONGEST} letters, such as `white`"));
        return None;
    }
    if TAKEN.iter().any(|taken| taken.eq_ignore_ascii_case(&name)) {
        let help = "call it as your printer's program does, or leave the name out";
        log.value(got.at, format!("`{name}` means something else to every printer"), help);
        return None;
    }
    Some(name)
}

fn lines(log: &Log, got: &May<mirror::OneOrMany<Lined>>) -> Lines {
    let mut lines = Lines { cut: false, relief: false, trim: false };
    let words = each(log, got);
    for (word, at) in &words {
        match word {
            Lined::Cut => lines.cut = true,
            Lined::Relief => lines.relief = true,
            Lined::Trim => lines.trim = true,
            Lined::None if words.len() > 1 => {
                log.value(*at, "`none` and others", "list the lines that you want, or write `none` alone");
            }
            Lined::None => {}
        }
    }
    lines
}
