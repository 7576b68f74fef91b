//! A sheet as SVG 1.1: millimetres, one group per layer, true curves.
//!
//! One user unit is a millimetre (`width` in mm, `viewBox` the same numbers);
//! y is turned over here. Lines stay lines, arcs stay arcs, cubics stay cubics, at a
//! tenth of a micrometre. Groups carry the layer's purpose as their id, so that
//! another program can show or hide them. The same sheet gives the same bytes.
//!
//! Left out: text (letters are outlines by now), style sheets, scripts, links.

use crate::flow::{Item, Job, Layer, Purpose, Sheet, Stroke, Tool, hex};
use crate::outline::number::{mm, packed, short};
use crate::outline::{Contour, Outline, Point, Segment, lettering, turned};
use crate::units::{Length, Model};
use std::f64::consts::FRAC_PI_2;
use svg::node::element::{Description, Group, Path, Title};
use svg::{Document, Node};

/// The whole file.
pub fn svg(sheet: &Sheet, title: &str) -> String {
    let (width, height) = (sheet.page.width.to_mm(), sheet.page.height.to_mm());
    let mut document = Document::new()
        .set("width", format!("{}mm", mm(width)))
        .set("height", format!("{}mm", mm(height)))
        .set("viewBox", format!("0 0 {} {}", mm(width), mm(height)))
        .add(Title::new(lettering::clean(title)));
    let mut ids: Vec<String> = Vec::new();
    for layer in &sheet.layers {
        let mut id = id(layer);
        // Names that differ only in letters an id cannot have.
        if ids.contains(&id) {
            id += &format!("-{}", ids.len() + 1);
        }
        document.append(self::layer(layer, &id, height));
        ids.push(id);
    }
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

/// Width of a line for a cutter, mm: a hairline, which programs that drive cutters take for a cut.
const HAIRLINE: &str = "0.01";

/// A cutter's lines as they should be cut, in cutting order, one group a tool. The first of `head` is the
/// title, the others its description.
pub fn cut(job: &Job, head: &[&str]) -> String {
    let (width, height) = (job.page.width.to_mm(), job.page.height.to_mm());
    let (title, about) = head.split_first().unwrap_or((&"", &[]));
    let mut document = Document::new()
        .set("width", format!("{}mm", mm(width)))
        .set("height", format!("{}mm", mm(height)))
        .set("viewBox", format!("0 0 {} {}", mm(width), mm(height)))
        .add(Title::new(lettering::clean(title)))
        .add(Description::new().add(svg::node::Text::new(lettering::clean(&about.join(" ")))));
    for run in &job.runs {
        let group = Group::new()
            .set("id", run.tool.word())
            .set("fill", "none")
            .set("stroke", hex(tool_colour(run.tool)))
            .set("stroke-width", HAIRLINE);
        let line = |stroke: &Stroke| Path::new().set("d", Pen::new(height, 4).line(stroke));
        document.append(run.strokes.iter().map(line).fold(group, Group::add));
    }
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

/// Far enough from each other for programs that tell layers apart by colour; kiss and through are the sheets' own inks
/// for cuts and slits.
const fn tool_colour(tool: Tool) -> [u8; 3] {
    match tool {
        Tool::Register => [34, 38, 44],
        Tool::Kiss => [36, 110, 138],
        Tool::Weed => [178, 140, 44],
        Tool::Through => [86, 38, 128],
    }
}

/// The items of one layer, drawn with a pen of its fineness.
fn layer(layer: &Layer, id: &str, height: f64) -> Group {
    // Letters are most of a sheet's bytes and need no better than a micrometre.
    let decimals = if layer.purpose == Purpose::Marks { 3 } else { 4 };
    let pen = || Pen::new(height, decimals);
    let mut group = Group::new().set("id", id);
    // White would hide what it lies over: SVG knows no overprinting. It is there to be shown, or printed alone.
    if layer.hidden || layer.purpose == Purpose::White {
        group = group.set("display", "none");
    }
    if layer.name != layer.purpose.word() {
        group = group.add(Title::new(lettering::clean(&layer.name)));
    }
    layer.items.iter().fold(group, |group, item| {
        group.add(match item {
            Item::Fill { outline, rgb } => {
                Path::new().set("fill", hex(*rgb)).set("d", pen().outline(outline))
            }
            Item::Line { outline, rgb, width } => stroked(*rgb, *width).set("d", pen().outline(outline)),
            Item::Path { points, rgb, width } => stroked(*rgb, *width).set("d", pen().polyline(points)),
        })
    })
}

/// What the layer is for; a colour's own layer adds its name, as far as letters of an id go.
fn id(layer: &Layer) -> String {
    let word = layer.purpose.word();
    if layer.purpose != Purpose::Artwork || layer.name == word {
        return word.to_owned();
    }
    let name: String = layer.name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    format!("{word}-{}", name.trim_matches('-'))
}

/// Writes one `d`, turning y over.
///
/// Steps are relative, which halves the file. Every point is first put on a grid
/// of `unit`s of a millimetre and steps are taken between grid points, so that
/// rounding never adds up along a path.
struct Pen {
    height: f64,
    decimals: usize,
    units: f64,
    here: [i64; 2],
    d: String,
}

impl Pen {
    fn new(height: f64, decimals: usize) -> Self {
        Self { height, decimals, units: 10_u32.pow(decimals as u32).into(), here: [0, 0], d: String::new() }
    }

    fn outline(mut self, outline: &Outline<Model>) -> String {
        for contour in &outline.contours {
            self.contour(contour);
        }
        self.d
    }

    fn polyline(mut self, points: &[Point]) -> String {
        for (k, &p) in points.iter().enumerate() {
            self.step(if k == 0 { 'm' } else { 'l' }, &[p]);
        }
        self.d
    }

    fn line(mut self, stroke: &Stroke) -> String {
        self.contour(&stroke.line);
        if !stroke.closed {
            self.d.pop();
        }
        self.d
    }

    fn contour(&mut self, contour: &Contour) {
        self.step('m', &[contour.start]);
        let start = self.here;
        let mut from = contour.start;
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => self.step('l', &[to]),
                Segment::Arc { centre, sweep, to } => self.arc(from, centre, sweep, to),
                Segment::Cubic { ctrl1, ctrl2, to } => self.step('c', &[ctrl1, ctrl2, to]),
            }
            from = segment.to();
        }
        self.d.push('z');
        self.here = start;
    }

    /// An arc in stretches of at most a quarter turn. SVG finds the centre from the
    /// two ends and the radius; near a half turn that loses half the digits (a
    /// radius 0.1 µm too long moves the bulge of a 100 mm disc by 0.1 mm), and a
    /// full turn it cannot say at all.
    fn arc(&mut self, from: Point, centre: Point, sweep: f64, to: Point) {
        let spoke = from - centre;
        let count = (sweep.abs() / FRAC_PI_2 - 1e-9).ceil().max(1.0);
        let radius = short(spoke.length(), self.decimals);
        // Counter-clockwise stays so to the eye, and SVG counts that as a falling angle.
        let flag = if sweep > 0.0 { 0 } else { 1 };
        for k in 1..=count as usize {
            let share = k as f64 / count;
            let stop = if share == 1.0 { to } else { centre + turned(spoke, sweep * share) };
            self.step_with(&format!("a{radius} {radius} 0 0 {flag} "), &[stop]);
        }
    }

    fn step(&mut self, command: char, to: &[Point]) {
        self.step_with(command.encode_utf8(&mut [0; 4]), to);
    }

    /// The command, then each point as seen from where the pen is; the last one is where it will be.
    fn step_with(&mut self, command: &str, to: &[Point]) {
        self.d.push_str(command);
        let here = self.here;
        for (k, p) in to.iter().enumerate() {
            self.here = [p.x, self.height - p.y].map(|v| (v * self.units).round() as i64);
            let [x, y] = [0, 1].map(|axis| self.here[axis] - here[axis]);
            if k > 0 {
                self.d.push(' ');
            }
            self.push(x);
            self.d.push(' ');
            self.push(y);
        }
    }

    fn push(&mut self, units: i64) {
        self.d.push_str(&packed(units as f64 / self.units, self.decimals));
    }
}

fn stroked(rgb: [u8; 3], width: Length<Model>) -> Path {
    Path::new().set("fill", "none").set("stroke", hex(rgb)).set("stroke-width", short(width.to_mm(), 3))
}
