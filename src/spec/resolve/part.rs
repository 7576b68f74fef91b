//! Parts: shape, caliper sizes, seam.

use super::super::lenient::{May, Need};
use super::super::log::{At, Log};
use super::super::mirror::{self, Named};
use super::super::problem::{known, shown};
use super::super::words::Word;
use super::limit::{limit, limit_named};
use super::{MOST_SCALES, all_named, mm, positive};
use crate::flow::{Axis, Direction, Measured, Over, Part, Shape};
use crate::units::{Angle, Full, Length, Model, Scale};

/// A part that markings may name, as far as it could be read.
pub struct Known {
    pub name: String,
    /// Names in the order of [`Part::limits`].
    pub limits: Vec<String>,
    pub shape: Option<Shape>,
    pub part: Option<Part>,
}

pub fn parts<'a>(log: &Log, files: impl Iterator<Item = &'a May<Named<mirror::Part>>>) -> Vec<Known> {
    all_named(log, files).into_iter().map(|(name, got)| part(log, name, got)).collect()
}

fn part(log: &Log, name: &str, got: &Need<mirror::Part>) -> Known {
    let Some(given) = got.get() else {
        return Known { name: name.into(), limits: Vec::new(), shape: None, part: None };
    };
    let shape = given.shape.get().and_then(|given| shape(log, given));
    let limits = given.limits.get().map_or(&[][..], |limits| &limits.0);
    let names: Vec<String> = limits.iter().map(|(name, _)| name.clone()).collect();
    let found = limits.iter().filter_map(|(name, got)| limit(log, name, got, shape.as_ref())).collect();
    let measured = given.measured.get().map_or(&[][..], |measured| &measured.0);
    let measured = measurements(log, measured, shape.as_ref(), &names);
    let seam = seam(log, given, shape.as_ref());
    let part = shape.clone().map(|shape| Part {
        name: name.into(),
        shape,
        measured,
        limits: found,
        seam,
        at: log.key_place(got.at),
    });
    Known { name: name.into(), limits: names, shape, part }
}

/// Below the part where nothing is said: where a seam shows least (common practice, no source).
fn seam(log: &Log, given: &mirror::Part, shape: Option<&Shape>) -> Angle {
    const BELOW: Angle = Angle::degrees(180.0);
    if given.seam.given && matches!(shape, Some(Shape::Flat { .. })) {
        log.key(given.seam.at, "nothing closes round a flat part", "leave the seam out");
    }
    given.seam.get().map_or(BELOW, |seam| seam.0)
}

fn shape(log: &Log, given: &mirror::Shape) -> Option<Shape> {
    let size = |got: &Need<Length<Full>>| positive(log, got);
    match given {
        mirror::Shape::Flat(flat) => {
            let (width, height) = (size(&flat.width), size(&flat.height));
            Some(Shape::Flat { width: width?, height: height?, face: *flat.face.get()? })
        }
        mirror::Shape::Cylinder(cylinder) => {
            let (diameter, length) = (size(&cylinder.diameter), size(&cylinder.length));
            Some(Shape::Cylinder { diameter: diameter?, length: length? })
        }
        mirror::Shape::Cone(cone) => {
            let (front, rear, length) = (size(&cone.front), size(&cone.rear), size(&cone.length));
            let (front, rear, length) = (front?, rear?, length?);
            if front == rear {
                let help = format!("write `cylinder: {{diameter: {}, length: {}}}`", mm(front), mm(length));
                log.value(cone.rear.at, "a cone with two equal ends is a cylinder", help);
            }
            Some(Shape::Cone { front, rear, length })
        }
        mirror::Shape::Sphere(sphere) => Some(Shape::Sphere { diameter: size(&sphere.diameter)? }),
        mirror::Shape::Ellipsoid(ellipsoid) => {
            let (length, width) = (size(&ellipsoid.length), size(&ellipsoid.width));
            let height = size(&ellipsoid.height);
            Some(Shape::Ellipsoid { length: length?, width: width?, height: height? })
        }
    }
}

/// The word the spec uses.
pub const fn shape_word(shape: &Shape) -> &'static str {
    match shape {
        Shape::Flat { .. } => "flat part",
        Shape::Cylinder { .. } => "cylinder",
        Shape::Cone { .. } => "cone",
        Shape::Sphere { .. } => "sphere",
        Shape::Ellipsoid { .. } => "ellipsoid",
    }
}

/// The sizes of a shape by the words of the spec.
fn sizes(shape: &Shape) -> Vec<(Axis, Length<Full>)> {
    match *shape {
        Shape::Flat { width, height, .. } => vec![(Axis::Width, width), (Axis::Height, height)],
        Shape::Cylinder { diameter, length } => vec![(Axis::Diameter, diameter), (Axis::Length, length)],
        Shape::Cone { front, rear, length } => {
            vec![(Axis::Front, front), (Axis::Rear, rear), (Axis::Length, length)]
        }
        Shape::Sphere { diameter } => vec![(Axis::Diameter, diameter)],
        Shape::Ellipsoid { length, width, height } => {
            vec![(Axis::Length, length), (Axis::Width, width), (Axis::Height, height)]
        }
    }
}

/// How far a shape reaches along an axis of the part's frame, mm.
pub fn reach(shape: &Shape, axis: Direction) -> [f64; 2] {
    let about = |size: Length<Full>| [-size.to_mm() / 2.0, size.to_mm() / 2.0];
    match (shape.clone(), axis) {
        (Shape::Cylinder { length, .. } | Shape::Cone { length, .. }, Direction::Aft) => {
            [0.0, length.to_mm()]
        }
        (Shape::Cylinder { diameter, .. } | Shape::Sphere { diameter }, _) => about(diameter),
        (Shape::Cone { front, rear, .. }, _) => about(if front > rear { front } else { rear }),
        (Shape::Ellipsoid { length, .. }, Direction::Aft) => about(length),
        (Shape::Ellipsoid { width, .. }, Direction::Right) => about(width),
        (Shape::Ellipsoid { height, .. }, Direction::Up) => about(height),
        (Shape::Flat { width, height, face }, axis) => {
            let [across, up, _] = face.axes();
            let along = direction(axis);
            let half =
                (across.dot(along) * width.to_mm()).abs().max((up.dot(along) * height.to_mm()).abs()) / 2.0;
            [-half, half]
        }
    }
}

/// An axis as a unit vector of the part's frame.
pub const fn direction(axis: Direction) -> glam::DVec3 {
    match axis {
        Direction::Aft => glam::DVec3::X,
        Direction::Right => glam::DVec3::Y,
        Direction::Up => glam::DVec3::Z,
    }
}

fn measurements(
    log: &Log,
    given: &[(String, Need<mirror::Measured>)],
    shape: Option<&Shape>,
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
            over: given.over.get().and_then(|over| taped(log, over, limits)),
            at: log.key_place(got.at),
        };
        if given.over.given && shape.is_some_and(|shape| measured.axes.len() == sizes(shape).len()) {
            let help = "leave one of the sizes out: the tape tells those that calipers do not reach";
            log.key(given.over.at, "nothing is left for the tape to tell", help);
        }
        if is_blank(given) {
            let axes = shape.map_or_else(Vec::new, sizes);
            let axes: Vec<_> = axes.iter().map(|&(axis, _)| format!("`{}`", word_of(axis))).collect();
            log.value(got.at, "nothing is measured", format!("give some of {}", axes.join(", ")));
        }
        all.push((measured, got.at));
    }
    all.into_iter().map(|(measured, _)| measured).collect()
}

/// Whether no size is written, right or wrong.
fn is_blank(given: &mirror::Measured) -> bool {
    let sizes = [&given.length, &given.width, &given.height, &given.diameter, &given.front, &given.rear];
    !given.over.given && sizes.iter().all(|size| !size.given)
}

const fn word_of(axis: Axis) -> &'static str {
    match axis {
        Axis::Length => "length",
        Axis::Width => "width",
        Axis::Height => "height",
        Axis::Diameter => "diameter",
        Axis::Front => "front",
        Axis::Rear => "rear",
    }
}

fn caliper_sizes(
    log: &Log,
    given: &mirror::Measured,
    shape: &Shape,
    scale: Scale,
) -> Vec<(Axis, Length<Model>)> {
    let all = [
        (Axis::Length, &given.length),
        (Axis::Width, &given.width),
        (Axis::Height, &given.height),
        (Axis::Diameter, &given.diameter),
        (Axis::Front, &given.front),
        (Axis::Rear, &given.rear),
    ];
    let sizes = sizes(shape);
    let mut found = Vec::new();
    for (axis, got) in all {
        let Some(size) = positive(log, got) else { continue };
        match sizes.iter().find(|&&(has, _)| has == axis) {
            Some(&(_, full)) => {
                plausible(log, got, size, full.at(scale));
                found.push((axis, size));
            }
            None => {
                let help = known(word_of(axis), sizes.iter().map(|&(axis, _)| word_of(axis)));
                log.key(got.at, format!("the {} has no `{}`", shape_word(shape), word_of(axis)), help);
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

fn taped(log: &Log, over: &mirror::Over, limits: &[String]) -> Option<Over> {
    let (from, to) = (limit_named(log, &over.from, limits), limit_named(log, &over.to, limits));
    let length = positive(log, &over.length);
    let (from, to) = (from?, to?);
    if from == to {
        log.value(over.to.at, "the tape ends where it begins", "name two limits");
    }
    Some(Over { from, to, length: length? })
}

/// Whether a shape has a front end to count stations from.
pub const fn is_long(shape: &Shape) -> bool {
    matches!(shape, Shape::Cylinder { .. } | Shape::Cone { .. })
}
