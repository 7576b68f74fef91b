//! Parts: caliper sizes, seam, and what markings may name.

use super::super::attached::Attached;
use super::super::lenient::{May, Need};
use super::super::log::{At, Log};
use super::super::mirror::{self, Named};
use super::super::problem::{known, shown};
use super::super::words::Word;
use super::form::Form;
use super::limit::{datum_named, limit};
use super::shape::shape;
use super::{MOST_SCALES, all_named, mm, positive};
use crate::flow::{Axis, Measured, Over, Part};
use crate::units::{Angle, Length, Model, Scale};

/// A part that markings may name, as far as it could be read.
pub struct Known {
    pub name: String,
    /// Names in the order of [`Part::limits`].
    pub limits: Vec<String>,
    pub shape: Option<Form>,
    pub part: Option<Part>,
}

pub fn parts<'a>(
    log: &Log,
    files: impl Iterator<Item = &'a May<Named<mirror::Part>>>,
    attached: &Attached,
) -> Vec<Known> {
    all_named(log, files).into_iter().map(|(name, got)| part(log, name, got, attached)).collect()
}

fn part(log: &Log, name: &str, got: &Need<mirror::Part>, attached: &Attached) -> Known {
    let Some(given) = got.get() else {
        return Known { name: name.into(), limits: Vec::new(), shape: None, part: None };
    };
    let shape = given.shape.get().and_then(|given| shape(log, given, attached));
    let limits = given.limits.get().map_or(&[][..], |limits| &limits.0);
    let names: Vec<String> = limits.iter().map(|(name, _)| name.clone()).collect();
    let found = limits.iter().filter_map(|(name, got)| limit(log, name, got, shape.as_ref())).collect();
    let measured = given.measured.get().map_or(&[][..], |measured| &measured.0);
    let measured = measurements(log, measured, shape.as_ref(), &names);
    let seam = seam(log, given, shape.as_ref());
    let part = shape.as_ref().map(|form| Part {
        name: name.into(),
        shape: form.shape.clone(),
        measured,
        limits: found,
        seam,
        at: log.key_place(got.at),
    });
    Known { name: name.into(), limits: names, shape, part }
}

/// Below the part where nothing is said: where a seam shows least (common practice, no source).
fn seam(log: &Log, given: &mirror::Part, shape: Option<&Form>) -> Angle {
    const BELOW: Angle = Angle::degrees(180.0);
    if given.seam.given && shape.is_some_and(Form::is_flat) {
        log.key(given.seam.at, "nothing closes round a flat part", "leave the seam out");
    }
    given.seam.get().map_or(BELOW, |seam| seam.0)
}

fn measurements(
    log: &Log,
    given: &[(String, Need<mirror::Measured>)],
    shape: Option<&Form>,
    limits: &[String],
) -> Vec<Measured> {
    let mut all: Vec<(Measured, At)> = Vec::new();
    for (word, got) in given {
        if all.len() >= MOST_SCALES {
            log.key(got.at, format!("more than {MOST_SCALES} scales measured"), "keep those that are made");
            break;
        }
        let scale = match Scale::text(word) {
            Ok(scale) => scale,
            Err(wrong) => {
                let help = match word.parse::<f64>() {
                    Ok(_) => format!("write `1/{}`", shown(word)),
                    Err(_) => wrong.help,
                };
                log.key(got.at, wrong.message, help);
                continue;
            }
        };
        if let Some((_, first)) = all.iter().find(|(measured, _)| measured.scale == scale) {
            let message = format!("{scale} is measured twice: first at {}", log.key_place(*first));
            log.key(got.at, message, "keep one of the two");
        }
        let Some(given) = got.get() else { continue };
        let measured = Measured {
            scale,
            axes: shape.map_or_else(Vec::new, |shape| caliper_sizes(log, given, shape, scale)),
            over: given.over.get().and_then(|over| taped(log, over, limits, shape)),
            at: log.key_place(got.at),
        };
        if given.over.given && shape.is_some_and(|shape| measured.axes.len() == shape.sizes().len()) {
            let help = "leave one of the sizes out: the tape tells those that calipers do not reach";
            log.key(given.over.at, "nothing is left for the tape to tell", help);
        }
        if is_blank(given) {
            let axes = shape.map_or_else(Vec::new, Form::sizes);
            let axes: Vec<_> = axes.iter().map(|&(axis, _)| format!("`{}`", axis.word())).collect();
            log.value(got.at, "nothing is measured", format!("give some of {}", axes.join(", ")));
        }
        all.push((measured, got.at));
    }
    all.into_iter().map(|(measured, _)| measured).collect()
}

/// Whether no size is written, right or wrong.
fn is_blank(given: &mirror::Measured) -> bool {
    !given.over.given && all_sizes(given).iter().all(|(_, size)| !size.given)
}

const fn all_sizes(given: &mirror::Measured) -> [(Axis, &May<Length<Model>>); 7] {
    [
        (Axis::Length, &given.length),
        (Axis::Width, &given.width),
        (Axis::Height, &given.height),
        (Axis::Diameter, &given.diameter),
        (Axis::Front, &given.front),
        (Axis::Rear, &given.rear),
        (Axis::Chord, &given.chord),
    ]
}

fn caliper_sizes(
    log: &Log,
    given: &mirror::Measured,
    shape: &Form,
    scale: Scale,
) -> Vec<(Axis, Length<Model>)> {
    let sizes = shape.sizes();
    let mut found = Vec::new();
    for (axis, got) in all_sizes(given) {
        let Some(size) = positive(log, got) else { continue };
        match sizes.iter().find(|&&(has, _)| has == axis) {
            Some(&(_, full)) => {
                plausible(log, got, size, full.at(scale));
                found.push((axis, size));
            }
            None => {
                let help = known(axis.word(), sizes.iter().map(|&(axis, _)| axis.word()));
                log.key(got.at, format!("the {} has no `{}`", shape.word(), axis.word()), help);
            }
        }
    }
    found
}

/// A kit's part may be off by some per cent; ten times off is a unit or a scale mistaken.
fn plausible(log: &Log, got: &May<Length<Model>>, size: Length<Model>, wanted: Length<Model>) {
    const MOST: f64 = 10.0;
    let ratio = size / wanted;
    if !(1.0 / MOST..=MOST).contains(&ratio) {
        let message = format!("{} were measured where the scale gives {}", mm(size), mm(wanted));
        log.value(got.at, message, "measured sizes are those of the model: check unit and scale");
    }
}

fn taped(log: &Log, over: &mirror::Over, limits: &[String], shape: Option<&Form>) -> Option<Over> {
    let datum = |got| datum_named(log, got, limits, shape);
    let (from, to) = (datum(&over.from), datum(&over.to));
    let length = positive(log, &over.length);
    let (from, to) = (from?, to?);
    if from == to {
        log.value(over.to.at, "the tape ends where it begins", "name two limits");
    }
    Some(Over { from, to, length: length? })
}
