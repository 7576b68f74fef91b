//! Parts: shape, caliper sizes, limits, seam.

use super::super::lenient::{Got, May, Need};
use super::super::log::{At, Log};
use super::super::mirror::{self, Named};
use super::super::problem::{known, shown};
use super::super::words::{Keep, Word};
use super::{all_named, mm, name_is_usable, positive};
use crate::flow::{Axis, Direction, Limit, LimitKind, Measured, Over, Part, Shape};
use crate::outline::{Point, Polyline, point};
use crate::units::{Angle, Full, Length, Model, Scale};

/// A part that markings may name, whether or not all of it could be read.
pub struct Known {
    pub name: String,
    /// Names in the order of [`Part::limits`].
    pub limits: Vec<String>,
    pub part: Option<Part>,
}

pub fn parts<'a>(log: &Log, files: impl Iterator<Item = &'a May<Named<mirror::Part>>>) -> Vec<Known> {
    all_named(log, files).into_iter().map(|(name, got)| part(log, name, got)).collect()
}

fn part(log: &Log, name: &str, got: &Need<mirror::Part>) -> Known {
    let given = got.get();
    let limits = given.and_then(|given| given.limits.get()).map_or(&[][..], |limits| &limits.0);
    let names: Vec<String> = limits.iter().map(|(name, _)| name.clone()).collect();
    let part = given.and_then(|given| {
        let shape = shape(log, given.shape.get()?)?;
        let found = limits.iter().filter_map(|(name, got)| limit(log, name, got, &shape)).collect();
        let measured = given.measured.get().map_or(&[][..], |measured| &measured.0);
        Some(Part {
            name: name.into(),
            measured: measurements(log, measured, &shape, &names),
            limits: found,
            seam: seam(log, given, &shape),
            at: log.key_place(got.at),
            shape,
        })
    });
    Known { name: name.into(), limits: names, part }
}

/// Below the part where nothing is said: where a seam shows least (common practice, no source).
fn seam(log: &Log, given: &mirror::Part, shape: &Shape) -> Angle {
    const BELOW: Angle = Angle::degrees(180.0);
    if given.seam.given && matches!(shape, Shape::Flat { .. }) {
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
    shape: &Shape,
    limits: &[String],
) -> Vec<Measured> {
    let mut all: Vec<(Measured, At)> = Vec::new();
    for (word, got) in given {
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
            axes: caliper_sizes(log, given, shape, scale),
            over: given.over.get().and_then(|over| taped(log, over, limits)),
            at: log.key_place(got.at),
        };
        if log.is_clean() && measured.axes.is_empty() && measured.over.is_none() {
            let axes =
                sizes(shape).iter().map(|&(axis, _)| format!("`{}`", word_of(axis))).collect::<Vec<_>>();
            log.value(got.at, "nothing is measured", format!("give some of {}", axes.join(", ")));
        }
        all.push((measured, got.at));
    }
    all.into_iter().map(|(measured, _)| measured).collect()
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

/// Index of a limit by its name.
pub fn limit_named<const NEEDED: bool>(
    log: &Log,
    got: &Got<super::super::words::Text, NEEDED>,
    limits: &[String],
) -> Option<usize> {
    let name = &got.get()?.0;
    let found = limits.iter().position(|limit| limit == name);
    if found.is_none() {
        let message = format!("the part has no limit `{}`", shown(name));
        log.value(got.at, message, known(name, limits.iter().map(String::as_str)));
    }
    found
}

fn limit(log: &Log, name: &str, got: &Need<mirror::Limit>, shape: &Shape) -> Option<Limit> {
    name_is_usable(log, name, got.at);
    let given = got.get()?;
    let words = [
        ("aft", &given.aft, Direction::Aft, 1.0),
        ("forward", &given.forward, Direction::Aft, -1.0),
        ("right", &given.right, Direction::Right, 1.0),
        ("left", &given.left, Direction::Right, -1.0),
        ("up", &given.up, Direction::Up, 1.0),
        ("down", &given.down, Direction::Up, -1.0),
        ("station", &given.station, Direction::Aft, 1.0),
    ];
    let planes: Vec<_> = words.into_iter().filter(|(_, got, ..)| got.given).collect();
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
    shape: &Shape,
    (word, got, axis, sign): (&str, &May<Length<Full>>, Direction, f64),
) -> Option<LimitKind> {
    let [lesser, greater] = match axis {
        Direction::Aft => [Keep::Ahead, Keep::Behind],
        Direction::Right => [Keep::Left, Keep::Right],
        Direction::Up => [Keep::Below, Keep::Above],
    };
    let keep = keep(log, given, word, [lesser, greater]);
    if word == "station" && !is_long(shape) {
        let message = format!("the {} has no stations", shape_word(shape));
        log.key(got.at, message, "count from its centre with `aft` or `forward`");
    }
    let offset = *got.get()? * sign;
    let [from, to] = reach(shape, axis);
    if !(from < offset.to_mm() && offset.to_mm() < to) {
        let message = format!("the limit is off the part, which reaches from {from} to {to} mm that way");
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
    let mut outline = given.iter().map(corner).collect::<Option<Polyline>>()?;
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

fn sides(outline: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    outline.iter().copied().zip(outline.iter().copied().cycle().skip(1))
}

fn signed_area(outline: &[Point]) -> f64 {
    sides(outline).map(|(a, b)| a.x * b.y - a.y * b.x).sum::<f64>() / 2.0
}

/// Whether a shape has a front end to count stations from.
pub const fn is_long(shape: &Shape) -> bool {
    matches!(shape, Shape::Cylinder { .. } | Shape::Cone { .. })
}
