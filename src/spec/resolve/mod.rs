//! Mirror and places → [`Plan`]: names found, sense checked, nothing optional left open.
//!
//! Whatever is wrong goes to the log, on the value or the name that is wrong,
//! and resolving goes on: a part with a bad limit is still a part that markings
//! may name. What is returned is only a plan while the log is clean.

mod artwork;
mod composed;
mod drawing;
mod figure;
mod form;
mod lay;
mod lettering;
mod limit;
mod marking;
mod part;
mod printer;
mod setup;
mod shape;
mod sides;
mod spot;
mod tools;

use super::Found;
use super::lenient::{Got, May};
use super::log::{At, Log};
use super::mirror::{Named, OneOrMany, Shared, Spec};
use super::problem::shown;
use crate::flow::{Limits, Marking, MarkingId, Plan};
use crate::units::{Length, Scale};
use composed::Nest;
use drawing::{Drawings, Paint};
use setup::Palette;
use std::cell::RefCell;
use std::collections::BTreeMap;

const MOST_SCALES: usize = Limits::SCALES;

pub use setup::plan_name;

/// The plan, or `None` where it cannot be put together; the log says why.
pub fn plan(log: &Log, file_name: &str, spec: &Spec, shared: &[Shared], found: &Found<'_>) -> Option<Plan> {
    let name = setup::plan_name(file_name);
    let colours = shared.iter().map(|file| &file.colours).chain([&spec.colours]);
    let mut palette = Palette::new(log, colours);
    let mut films = setup::films(log, shared.iter().map(|file| &file.films).chain([&spec.films]));
    let parts = part::parts(log, shared.iter().map(|file| &file.parts).chain([&spec.parts]), found.attached);
    let scales = scales(log, spec);
    let list = all_named(log, shared.iter().map(|file| &file.drawings).chain([&spec.drawings]));
    let drawings = Drawings { list, read: RefCell::default() };
    let markings = markings(log, spec, &parts, &mut palette, &drawings, found);
    drawings_in_order(log, &mut palette, &drawings, found);
    let printer = printer::printer(log, &spec.printer, setup::is_turned(&spec.sheets), &mut palette);
    printer::film_is_no_finer(&mut films.decal, &printer);
    let sheets = setup::sheets(log, &spec.sheets, printer::bare(log, &spec.printer), &mut films);
    let spray = tools::spray(log, &spec.spray, &mut palette, markings.as_deref());
    let cutter = tools::cutter(log, &spec.cutter);
    let markings = markings?;
    tools::tape_in_stock(log, spec, &films);
    pieces_in_bounds(log, spec.markings.at, &markings, scales.len());
    Some(Plan {
        title: spec.title.get().map_or_else(|| name.clone(), |title| title.0.clone()),
        name,
        scales,
        colours: palette.colours,
        films,
        parts: parts.into_iter().map(|known| known.part).collect::<Option<_>>()?,
        markings,
        sheets: sheets?,
        printer,
        spray,
        cutter,
    })
}

fn scales(log: &Log, spec: &Spec) -> Vec<Scale> {
    let mut scales: Vec<Scale> = Vec::new();
    for (&scale, at) in each(log, &spec.scales) {
        // What is called the same would go into one folder.
        if scales.iter().any(|known| known.folder() == scale.folder()) {
            log.value(
                at,
                format!("{scale} is listed twice"),
                "list each scale once, those that differ by a tenth or more",
            );
        } else {
            scales.push(scale);
        }
        if scales.len() > MOST_SCALES {
            log.value(at, format!("more than {MOST_SCALES} scales"), "share them out over several specs");
            break;
        }
    }
    scales
}

/// Drawings that no marking uses are looked at as well.
fn drawings_in_order(log: &Log, palette: &mut Palette, drawings: &Drawings<'_>, found: &Found<'_>) {
    let (made, palette, fonts) = (Scale::FULL, RefCell::new(palette), found.fonts);
    let (has_line, nest) = (Some(false), Nest::default());
    let paint = Paint { log, made, shape: None, limits: &[], has_line, palette, drawings, nest, fonts };
    composed::all_read(&paint, drawings);
}

fn markings(
    log: &Log,
    spec: &Spec,
    parts: &[part::Known],
    palette: &mut Palette,
    drawings: &Drawings<'_>,
    found: &Found<'_>,
) -> Option<Vec<Marking>> {
    let named = spec.markings.get()?;
    // A table that cannot be read has told its own trouble.
    if named.0.is_empty() && log.is_clean() {
        log.value(spec.markings.at, "no marking is wanted", "name at least one");
    }
    for (name, marking) in &named.0 {
        name_is_usable(log, name, marking.at);
    }
    let resolve = |(name, given): &(String, _)| {
        let marking = marking::marking(log, name, given, named, parts, palette, (drawings, found))?;
        sides::sides(log, given, marking, named, parts)
    };
    let mut each = named.0.iter().map(resolve).collect::<Vec<_>>().into_iter().collect::<Option<Vec<_>>>()?;
    settled(log, named, &mut each)
}

/// All pieces in one list. A marking lies over others by their places in the spec; one that is made for both
/// sides is two.
fn settled(
    log: &Log,
    named: &Named<super::mirror::Marking>,
    each: &mut [Vec<Marking>],
) -> Option<Vec<Marking>> {
    layers(log, named, each);
    let first: Vec<usize> = each
        .iter()
        .scan(0, |next, made| {
            let first = *next;
            *next += made.len();
            Some(first)
        })
        .collect();
    let counts: Vec<usize> = each.iter().map(Vec::len).collect();
    for marking in each.iter_mut().flatten() {
        let under = |MarkingId(k): &MarkingId| (first[*k]..first[*k] + counts[*k]).map(MarkingId);
        marking.over = marking.over.iter().flat_map(under).collect();
    }
    Some(each.concat())
}

/// Which markings are put down before which.
fn layers(log: &Log, named: &Named<super::mirror::Marking>, each: &mut [Vec<Marking>]) {
    let mut layer = vec![0; each.len()];
    let mut settled = false;
    while !settled {
        settled = true;
        for k in 0..each.len() {
            let over = each[k].first().map_or(&[][..], |marking| &marking.over);
            let above = over.iter().map(|&MarkingId(under)| layer[under] + 1).max().unwrap_or(0);
            if above >= each.len() {
                let at = named.0[k].1.get().map_or(named.0[k].1.at, |marking| marking.over.at);
                let message = format!("`{}` lies over what lies over it", named.0[k].0);
                log.value(at, message, "take one of the `over` out: what is put down later lies over");
                return;
            }
            settled &= above == layer[k];
            layer[k] = above;
        }
    }
    for (made, layer) in each.iter_mut().zip(layer) {
        made.iter_mut().for_each(|marking| marking.layer = layer);
    }
}

fn pieces_in_bounds(log: &Log, at: At, markings: &[Marking], scales: usize) {
    let pieces = markings.iter().map(Marking::pieces).sum::<usize>().saturating_mul(scales);
    let most = log.limits.pieces();
    if pieces > most {
        let message = format!("{pieces} pieces over all scales");
        let help = format!("make at most {most}: fewer copies, or several specs; {}", Limits::RAISE);
        log.key(at, message, help);
    }
}

/// Values given as one or as a list, each with its place; an empty list is a problem.
fn each<'a, T, const NEEDED: bool>(log: &Log, got: &'a Got<OneOrMany<T>, NEEDED>) -> Vec<(&'a T, At)> {
    match got.get() {
        None => Vec::new(),
        Some(OneOrMany::Word(one)) => vec![(one, got.at)],
        Some(OneOrMany::List(many)) => {
            if many.is_empty() {
                log.value(got.at, "the list is empty", "put at least one value in it");
            }
            many.iter().filter_map(|item| Some((item.get()?, item.at))).collect()
        }
    }
}

/// All entries of several files' maps; a name that two of them give is a problem.
fn all_named<'a, T>(
    log: &Log,
    files: impl Iterator<Item = &'a May<Named<T>>>,
) -> Vec<(&'a str, &'a Got<T, true>)> {
    let mut first: BTreeMap<&str, At> = BTreeMap::new();
    let mut all = Vec::new();
    for (name, value) in files.filter_map(May::get).flat_map(|named| &named.0) {
        name_is_usable(log, name, value.at);
        match first.get(name.as_str()) {
            // Twice in one file is found by the first pass.
            Some(&other) if log.marks[other.0].file == log.marks[value.at.0].file => {}
            Some(&other) => {
                let message =
                    format!("`{}` is defined twice: first at {}", shown(name), log.key_place(other));
                log.key(value.at, message, "give one of the two another name");
            }
            None => {
                first.insert(name, value.at);
                all.push((name.as_str(), value));
            }
        }
    }
    all
}

/// Names go into file names, labels and tables: letters, digits, hyphen and underscore.
fn name_is_usable(log: &Log, name: &str, at: At) {
    const LONGEST: usize = 64;
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_');
    let starts_well = name.starts_with(char::is_alphanumeric);
    if !starts_well || !name.chars().all(plain) || name.len() > LONGEST {
        let help = format!("a name has letters, digits, `-` and `_`, at most {LONGEST}: `tail-boom`");
        log.key(at, format!("`{}` is no name", shown(name)), help);
    }
}

/// A size: more than nothing.
fn positive<W: Copy, const NEEDED: bool>(log: &Log, got: &Got<Length<W>, NEEDED>) -> Option<Length<W>> {
    let length = *got.get()?;
    if length.to_mm() > 0.0 {
        return Some(length);
    }
    let what = if length.to_mm() < 0.0 { "negative" } else { "zero" };
    log.value(got.at, format!("a size cannot be {what}"), "write a length of more than nothing");
    None
}

/// A distance: nothing or more.
fn not_negative<W: Copy, const NEEDED: bool>(log: &Log, got: &Got<Length<W>, NEEDED>) -> Option<Length<W>> {
    let length = *got.get()?;
    if length.to_mm() >= 0.0 {
        return Some(length);
    }
    log.value(got.at, "a distance cannot be negative", "write a length of nothing or more");
    None
}

/// One length against another, for messages.
fn mm<W>(length: Length<W>) -> String {
    format!("{} mm", (length.to_mm() * 100.0).round() / 100.0)
}
