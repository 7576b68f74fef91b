//! Shapes: simple ones by their sizes, drawn ones by points and stations, meshes by their file.
//!
//! Every shape is tried here; what is wrong with it is told at the point, the
//! station or the row of a table that is to blame.

use super::super::attached::Attached;
use super::super::csv;
use super::super::lenient::{May, Need};
use super::super::log::{At, Log, Wrong};
use super::super::mirror;
use super::super::problem::shown;
use super::super::shapes::{self, Listed};
use super::super::words::Switch;
use super::form::Form;
use super::{mm, not_negative, positive};
use crate::flow::{Profile, Section, Shape, Station};
use crate::surface::mesh::{self, MeshError, Placing, Way, unit_doubt};
use crate::surface::{Flaw, ShapeError};
use crate::units::{Full, Length};
use glam::DVec3;
use std::sync::Arc;

/// A shape, where it can be made.
pub fn shape(log: &Log, given: &shapes::Shape, attached: &Attached) -> Option<Form> {
    let size = |got: &Need<Length<Full>>| positive(log, got);
    let simple = match given {
        shapes::Shape::Flat(flat) => {
            let (width, height) = (size(&flat.width), size(&flat.height));
            Shape::Flat { width: width?, height: height?, face: *flat.face.get()? }
        }
        shapes::Shape::Cylinder(cylinder) => {
            let (diameter, length) = (size(&cylinder.diameter), size(&cylinder.length));
            Shape::Cylinder { diameter: diameter?, length: length? }
        }
        shapes::Shape::Cone(given) => cone(log, given)?,
        shapes::Shape::Sphere(sphere) => Shape::Sphere { diameter: size(&sphere.diameter)? },
        shapes::Shape::Ellipsoid(ellipsoid) => {
            let (length, width) = (size(&ellipsoid.length), size(&ellipsoid.width));
            let height = size(&ellipsoid.height);
            Shape::Ellipsoid { length: length?, width: width?, height: height? }
        }
        shapes::Shape::Revolve(given) => return revolve(log, given, attached),
        shapes::Shape::Loft(given) => return loft(log, given, attached),
        shapes::Shape::Tube(given) => return tube(log, given, attached),
        shapes::Shape::Extrude(given) => return extrude(log, given, attached),
        shapes::Shape::Mesh(given) => return scanned(log, given, attached),
    };
    Form::new(simple).ok()
}

fn cone(log: &Log, given: &shapes::Cone) -> Option<Shape> {
    let (front, rear) = (not_negative(log, &given.front), not_negative(log, &given.rear));
    let length = positive(log, &given.length);
    let (front, rear, length) = (front?, rear?, length?);
    if front == rear {
        let (message, help) = match front > Length::ZERO {
            true => (
                "a cone with two equal ends is a cylinder",
                format!("write `cylinder: {{diameter: {}, length: {}}}`", mm(front), mm(length)),
            ),
            false => ("a cone with two points is a line", "give one end a diameter".into()),
        };
        log.value(given.rear.at, message, help);
        return (front > Length::ZERO).then_some(Shape::Cone { front, rear, length });
    }
    Some(Shape::Cone { front, rear, length })
}

fn revolve(log: &Log, given: &shapes::Revolve, attached: &Attached) -> Option<Form> {
    let profile = points(log, &given.profile, ["station", "radius"], attached)?;
    let shape = Shape::Revolve { profile: profile.points, smooth: is_on(&given.smooth) };
    Form::new(shape).map_err(|flaw| blame_points(log, &flaw, &profile.places, given.profile.at)).ok()
}

fn tube(log: &Log, given: &shapes::Tube, attached: &Attached) -> Option<Form> {
    let diameter = positive(log, &given.diameter);
    let path = points(log, &given.path, ["x", "y", "z"], attached);
    let bend = if given.bend.given { positive(log, &given.bend) } else { Some(Length::ZERO) };
    let (diameter, path, bend) = (diameter?, path?, bend?);
    let shape = Shape::Tube { diameter, path: path.points, bend, closed: is_on(&given.closed) };
    let blame = |flaw: Flaw| match flaw {
        Flaw::Shape(ShapeError::BendTooTight { .. }) if !given.bend.given => {
            let help =
                format!("say how wide it bends, at the middle of the tube: `bend: {}`", mm(diameter * 2.0));
            log.value(given.path.at, "the path has corners, and `bend` is missing", help);
        }
        Flaw::Shape(ShapeError::BendTooTight { .. }) => tell(log, &Where::Value(given.bend.at), &flaw),
        _ => blame_points(log, &flaw, &path.places, given.path.at),
    };
    Form::new(shape).map_err(blame).ok()
}

fn loft(log: &Log, given: &shapes::Loft, attached: &Attached) -> Option<Form> {
    let stations: Vec<Placed> = match given.stations.get()? {
        Listed::List(list) => {
            let station = |got: &Need<shapes::Station>| station(log, got, attached);
            list.iter().map(station).collect::<Vec<_>>().into_iter().collect::<Option<_>>()?
        }
        Listed::Map(table) => {
            let source = *attached.tables.get(&table.file.at)?;
            tabled_stations(log, source, table.unit.get().map(|unit| unit.0))?
        }
    };
    let blame = |flaw: Flaw| match &flaw {
        Flaw::Station(at, error) => match stations.get(*at) {
            Some(station) => {
                let own = error.at().filter(|_| !matches!(error, ShapeError::OutOfOrder { .. }));
                tell(log, own.and_then(|k| station.points.get(k)).unwrap_or(&station.place), &flaw);
            }
            None => tell(log, &Where::Value(given.stations.at), &flaw),
        },
        _ => tell(log, &Where::Value(given.stations.at), &flaw),
    };
    let shape = Shape::Loft { stations: stations.iter().map(|placed| placed.station.clone()).collect() };
    Form::new(shape).map_err(blame).ok()
}

/// A station, its own place and those of its points.
struct Placed {
    station: Station,
    place: Where,
    points: Vec<Where>,
}

fn station(log: &Log, got: &Need<shapes::Station>, attached: &Attached) -> Option<Placed> {
    let given = got.get()?;
    let centre = [("right", &given.right, "left", &given.left), ("up", &given.up, "down", &given.down)];
    let centre = centre.map(|(_, plus, word, minus)| {
        if plus.given && minus.given {
            log.key(minus.at, format!("`{word}` and its opposite together"), "give one of the two");
        }
        let length = |got: &May<Length<Full>>| got.get().copied().unwrap_or(Length::ZERO);
        length(plus) - length(minus)
    });
    let sections = Sections {
        at: got.at,
        circle: &given.circle,
        ellipse: &given.ellipse,
        superellipse: &given.superellipse,
        rounded: &given.r#box,
        points: &given.points,
        smooth: &given.smooth,
    };
    let (section, points) = sections.only(log, attached, &[])?;
    let place = Where::Value(got.at);
    Some(Placed { station: Station { at: *given.at.get()?, section, centre }, place, points })
}

/// Stations by the names of a table's columns.
fn tabled_stations(log: &Log, source: usize, unit: Option<f64>) -> Option<Vec<Placed>> {
    const KNOWN: [&str; 8] = ["at", "diameter", "width", "height", "power", "radius", "right", "up"];
    let table = csv::read(log, source)?;
    let has = |name: &str| table.column(name).is_some();
    let unknown = table.columns.iter().find(|(name, _)| !KNOWN.contains(&name.as_str()));
    if !has("at") || !(has("diameter") || has("width") && has("height")) || unknown.is_some() {
        let message = match unknown {
            Some((name, _)) => format!("a table of stations has no column `{}`", shown(name)),
            None => "the columns do not make stations".into(),
        };
        let help = "name them in the first line: `at`, and `diameter`, or `width` and `height`; then `power` or \
                    `radius`, `right` and `up` as needed; with units: `at (mm),width (mm),height (mm),up (mm)`";
        log.span(source, &(0..1), Wrong::new(message, help));
        return None;
    }
    for [one, other] in [
        ["diameter", "width"],
        ["diameter", "height"],
        ["diameter", "power"],
        ["diameter", "radius"],
        ["power", "radius"],
    ] {
        if has(one) && has(other) {
            let message = format!("columns `{one}` and `{other}` together");
            log.span(source, &(0..1), Wrong::new(message, "give one of the two: a section is of one kind"));
            return None;
        }
    }
    let one = |row: &csv::Row| {
        table.no_more_than(log, row, table.columns.len());
        let length = |name: &str| table.length(log, row, table.column(name)?, unit);
        let other = |name: &str| if has(name) { length(name) } else { Some(Length::ZERO) };
        let section = if has("diameter") {
            Section::Circle { diameter: length("diameter")? }
        } else {
            let (width, height) = (length("width")?, length("height")?);
            match (table.column("power"), has("radius")) {
                (Some(power), _) => {
                    Section::Superellipse { width, height, power: table.number(log, row, power)? }
                }
                (None, true) => Section::Box { width, height, radius: length("radius")? },
                (None, false) => Section::Ellipse { width, height },
            }
        };
        let centre = [other("right")?, other("up")?];
        let place = Where::Row(source, row.span.clone());
        Some(Placed { station: Station { at: length("at")?, section, centre }, place, points: Vec::new() })
    };
    table.rows.iter().map(one).collect::<Vec<_>>().into_iter().collect()
}

fn extrude(log: &Log, given: &shapes::Extrude, attached: &Attached) -> Option<Form> {
    let length = positive(log, &given.length);
    let profile = given.profile.get()?;
    let sections = Sections {
        at: given.profile.at,
        circle: &profile.circle,
        ellipse: &profile.ellipse,
        superellipse: &profile.superellipse,
        rounded: &profile.r#box,
        points: &profile.points,
        smooth: &profile.smooth,
    };
    if profile.chord.given && !profile.naca.given {
        log.key(profile.chord.at, "`chord` goes with `naca`", "give the digits too: `naca: \"2412\"`");
    }
    let open = is_on(&profile.open);
    if profile.open.given && !profile.points.given {
        log.key(profile.open.at, "`open` goes with `points`", "leave it out");
    }
    let (drawn, places) = if profile.naca.given {
        let _ = sections.only(log, attached, &[("naca", profile.naca.given, profile.naca.at)]);
        if !profile.chord.given {
            log.key(given.profile.at, "`chord` is missing", "add `chord: …` here, from nose to tail");
        }
        let (digits, chord) = (profile.naca.get(), positive(log, &profile.chord));
        (Profile::Naca { digits: digits?.0.clone(), chord: chord? }, Vec::new())
    } else {
        match sections.only(log, attached, &[("naca", false, given.profile.at)])? {
            (Section::Points { points, smooth }, places) if open => {
                (Profile::Line { points, smooth }, places)
            }
            (section, places) => (Profile::Section(section), places),
        }
    };
    let blame = |flaw: Flaw| match flaw {
        Flaw::Shape(ShapeError::Naca { .. }) => tell(log, &Where::Value(profile.naca.at), &flaw),
        _ => blame_points(log, &flaw, &places, given.profile.at),
    };
    Form::new(Shape::Extrude { profile: drawn, length: length? }).map_err(blame).ok()
}

/// The words for a section, of which one is to be given.
struct Sections<'a> {
    at: At,
    circle: &'a May<shapes::Circle>,
    ellipse: &'a May<shapes::Ellipse>,
    superellipse: &'a May<shapes::Superellipse>,
    rounded: &'a May<shapes::Rounded>,
    points: &'a May<Listed<mirror::Corner>>,
    smooth: &'a May<Switch>,
}

impl Sections<'_> {
    /// The one section that is given, and the places of its points. `others` are words that stand for one too.
    fn only(
        &self,
        log: &Log,
        attached: &Attached,
        others: &[(&str, bool, At)],
    ) -> Option<(Section, Vec<Where>)> {
        let own = [
            ("circle", self.circle.given, self.circle.at),
            ("ellipse", self.ellipse.given, self.ellipse.at),
            ("superellipse", self.superellipse.given, self.superellipse.at),
            ("box", self.rounded.given, self.rounded.at),
            ("points", self.points.given, self.points.at),
        ];
        let all: Vec<_> = others.iter().copied().chain(own).collect();
        let given: Vec<_> = all.iter().filter(|(_, given, _)| *given).collect();
        if self.smooth.given && !self.points.given {
            log.key(self.smooth.at, "`smooth` goes with `points`", "leave it out");
        }
        match given[..] {
            [_] => {}
            [] => {
                let words: Vec<String> = all.iter().map(|(word, ..)| format!("`{word}`")).collect();
                log.value(self.at, "the section is missing", format!("give one of {}", words.join(", ")));
                return None;
            }
            [(first, ..), .., (second, _, at)] => {
                log.key(*at, format!("`{first}` and `{second}` together"), "give one of the two");
                return None;
            }
        }
        let size = |got: &Need<Length<Full>>| positive(log, got);
        let section = if let Some(circle) = self.circle.get() {
            Section::Circle { diameter: size(&circle.diameter)? }
        } else if let Some(ellipse) = self.ellipse.get() {
            let (width, height) = (size(&ellipse.width), size(&ellipse.height));
            Section::Ellipse { width: width?, height: height? }
        } else if let Some(superellipse) = self.superellipse.get() {
            let (width, height) = (size(&superellipse.width), size(&superellipse.height));
            let power = superellipse.power.get();
            Section::Superellipse { width: width?, height: height?, power: power?.0 }
        } else if let Some(rounded) = self.rounded.get() {
            let (width, height) = (size(&rounded.width), size(&rounded.height));
            let radius =
                if rounded.radius.given { not_negative(log, &rounded.radius) } else { Some(Length::ZERO) };
            Section::Box { width: width?, height: height?, radius: radius? }
        } else {
            let found = points(log, self.points, ["x", "y"], attached)?;
            let section = Section::Points { points: found.points, smooth: is_on(self.smooth) };
            return Some((section, found.places));
        };
        Some((section, Vec::new()))
    }
}

/// A mesh, read and put into the part's frame.
fn scanned(log: &Log, given: &shapes::Mesh, attached: &Attached) -> Option<Form> {
    let name = &given.file.get()?.0;
    let bytes = attached.meshes.get(&given.file.at)?;
    let (unit, scale) = (given.unit.get(), given.size.get());
    let way = |got: &May<Way>, usual| if got.given { got.get().copied() } else { Some(usual) };
    let (aft, up) = (way(&given.aft, Way::PlusX), way(&given.up, Way::PlusZ));
    let (unit, scale) = (unit?.0, scale?);
    let placing = Placing { mm: unit * scale.denominator(), aft: aft?, up: up? };
    let mut soup = match mesh::read(bytes, name.to_ascii_lowercase().ends_with(".obj")) {
        Ok(soup) => soup,
        Err(error) => {
            let flaw = Flaw::Mesh(error);
            let (message, help) = told(&flaw);
            log.value(given.file.at, format!("`{}`: {message}", shown(name)), help);
            return None;
        }
    };
    if let Err(error) = placing.apply(&mut soup.points) {
        let at = if given.up.given { given.up.at } else { given.aft.at };
        let at = if error == MeshError::Axes { at } else { given.unit.at };
        tell(log, &Where::Value(at), &Flaw::Mesh(error));
        return None;
    }
    let shape = Shape::Mesh { soup: Arc::new(soup), stretch: DVec3::ONE };
    let form = Form::new(shape).map_err(|flaw| tell(log, &Where::Value(given.file.at), &flaw)).ok()?;
    if let Some(doubt) = unit_doubt(form.bounds(), unit) {
        let help =
            format!("write `unit: {}`, and check `size`: is the mesh of the model or `full`?", doubt.unit);
        log.value(given.unit.at, doubt.to_string(), help);
    }
    Some(form)
}

/// Where something stands that a shape is made of.
#[derive(Clone, Debug)]
enum Where {
    Value(At),
    /// A row of a table: source and bytes.
    Row(usize, std::ops::Range<usize>),
}

/// Points and their places.
struct Points<const N: usize> {
    points: Vec<[Length<Full>; N]>,
    places: Vec<Where>,
}

/// A value that lists points.
trait Lists<T> {
    fn listed(&self) -> Option<&Listed<T>>;
}

impl<T> Lists<T> for Need<Listed<T>> {
    fn listed(&self) -> Option<&Listed<T>> {
        self.get()
    }
}

impl<T> Lists<T> for May<Listed<T>> {
    fn listed(&self) -> Option<&Listed<T>> {
        self.get()
    }
}

/// Points as they are listed here or in a table, whose columns may have these names; all that are wrong are told.
fn points<const N: usize>(
    log: &Log,
    got: &impl Lists<[Need<Length<Full>>; N]>,
    names: [&str; N],
    attached: &Attached,
) -> Option<Points<N>> {
    let (all, places): (Vec<_>, Vec<_>) = match got.listed()? {
        Listed::List(list) => {
            let point = |got: &Need<[Need<Length<Full>>; N]>| {
                let lengths = got.get()?.each_ref().map(|length| length.get().copied());
                whole(lengths)
            };
            list.iter().map(|got| (point(got), Where::Value(got.at))).unzip()
        }
        Listed::Map(table) => {
            let source = *attached.tables.get(&table.file.at)?;
            let unit = table.unit.get().map(|unit| unit.0);
            let table = csv::read(log, source)?;
            let columns = table.columns_of(log, names)?;
            let point = |row: &csv::Row| {
                table.no_more_than(log, row, N);
                whole(columns.map(|column| table.length(log, row, column, unit)))
            };
            table.rows.iter().map(|row| (point(row), Where::Row(source, row.span.clone()))).unzip()
        }
    };
    let points = all.into_iter().collect::<Option<_>>()?;
    Some(Points { points, places })
}

fn whole<const N: usize>(lengths: [Option<Length<Full>>; N]) -> Option<[Length<Full>; N]> {
    let mut all = [Length::ZERO; N];
    for (one, length) in all.iter_mut().zip(lengths) {
        *one = length?;
    }
    Some(all)
}

fn is_on(got: &May<Switch>) -> bool {
    got.get().is_some_and(|switch| switch.0)
}

/// Tells a flaw at the point to blame, or else at the whole.
fn blame_points(log: &Log, flaw: &Flaw, places: &[Where], otherwise: At) {
    let at = match flaw {
        Flaw::Shape(error) => error.at(),
        _ => None,
    };
    tell(log, at.and_then(|k| places.get(k)).unwrap_or(&Where::Value(otherwise)), flaw);
}

fn tell(log: &Log, place: &Where, flaw: &Flaw) {
    let (message, help) = told(flaw);
    match place {
        Where::Value(at) => log.value(*at, message, help),
        Where::Row(source, span) => log.span(*source, span, Wrong::new(message, help)),
    }
}

/// What is wrong, and after the colon what to do.
fn told(flaw: &Flaw) -> (String, String) {
    let text = flaw.to_string();
    match text.rsplit_once(": ") {
        Some((message, help)) => (message.to_owned(), help.to_owned()),
        None => (text, "correct the drawing of the part, or export its mesh again".to_owned()),
    }
}
