//! Pieces measured in the files that are written: SVG, PDF, DXF and HPGL, each by a reader of its own.
//!
//! Three specs are made as anybody makes them. Every piece is found on its sheets by the line that it is cut
//! along, turned back by its own heading mark, and held against report.json: the artwork is as large as
//! `size_mm`, its film larger by the border all round. Pages and check bars are measured too. PNGs are
//! measured elsewhere (`sheets.rs`, `outside.rs`).

use assert_cmd::Command;
use flate2::read::ZlibDecoder;
use serde_json::Value;
use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;
use std::fs;
use std::io::Read;
use std::path::Path;
use std::sync::LazyLock;
use tempfile::TempDir;

/// Millimetres.
type P = [f64; 2];

/// What a file may be off, mm: it is written to a ten-thousandth, its curves to two thousandths.
const WITHIN: f64 = 0.01;
/// Film left round a decal and round a mask, mm: the films' own, as no spec says otherwise.
const BORDERS: [(&str, f64); 2] = [("decal", 0.5), ("mask", 3.0)];

/// A spec as the program makes it at one scale.
struct Made {
    folder: TempDir,
    report: Value,
}

impl Made {
    fn new(spec: &str, scale: &str) -> Self {
        let folder = TempDir::new().unwrap();
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("specs").join(spec).with_extension("yaml");
        let mut program = Command::new(env!("CARGO_BIN_EXE_markloft"));
        program.arg("make").arg(path).args(["--scale", scale, "--dpi", "30", "--out"]).arg(folder.path());
        program.assert().success();
        let home = folder.path().join(spec);
        let report = serde_json::from_slice(&fs::read(home.join("report.json")).unwrap()).unwrap();
        Self { folder, report }
    }

    fn scale(&self) -> &Value {
        &self.report["scales"][0]
    }

    fn read(&self, file: &str) -> Vec<u8> {
        fs::read(self.folder.path().join(self.report["spec"].as_str().unwrap()).join(file)).unwrap()
    }

    fn text(&self, file: &str) -> String {
        String::from_utf8(self.read(file)).unwrap()
    }

    fn piece(&self, number: &Value) -> &Value {
        let pieces = self.scale()["pieces"].as_array().unwrap();
        pieces.iter().find(|piece| piece["number"] == *number).unwrap()
    }

    fn sheets(&self) -> &Vec<Value> {
        self.scale()["sheets"].as_array().unwrap()
    }
}

/// One thing that is drawn: rings of points, y up from the page's lower edge.
#[derive(Clone, Debug, Default)]
struct Drawn {
    rings: Vec<Vec<P>>,
    filled: bool,
}

/// A page and what is drawn on each layer, by name.
struct Page {
    size: P,
    layers: BTreeMap<String, Vec<Drawn>>,
}

#[derive(Clone, Copy, Debug)]
struct Bounds {
    low: P,
    high: P,
}

impl Bounds {
    fn of<'a>(points: impl IntoIterator<Item = &'a P>) -> Self {
        let start = Self { low: [f64::INFINITY; 2], high: [f64::NEG_INFINITY; 2] };
        points.into_iter().fold(start, |b, p| Self {
            low: [0, 1].map(|k| b.low[k].min(p[k])),
            high: [0, 1].map(|k| b.high[k].max(p[k])),
        })
    }

    fn sides(self) -> P {
        [0, 1].map(|k| self.high[k] - self.low[k])
    }

    /// How far the two boxes are apart at most on any side.
    fn off(self, other: Self) -> f64 {
        let side = |k: usize| (self.low[k] - other.low[k]).abs().max((self.high[k] - other.high[k]).abs());
        side(0).max(side(1))
    }
}

impl Drawn {
    fn bounds(&self) -> Bounds {
        Bounds::of(self.rings.iter().flatten())
    }
}

// ---- curves, by their definitions ----

const STEPS: usize = 64;

/// Points of a cubic after its start.
fn cubic(a: P, b: P, c: P, d: P, out: &mut Vec<P>) {
    for k in 1..=STEPS {
        let t = k as f64 / STEPS as f64;
        let u = 1.0 - t;
        let share = [u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t];
        out.push([0, 1].map(|k| a[k] * share[0] + b[k] * share[1] + c[k] * share[2] + d[k] * share[3]));
    }
}

/// Points of a circular arc after its start, `sweep` radians about its centre.
fn arc(from: P, to: P, sweep: f64, out: &mut Vec<P>) {
    let chord = [to[0] - from[0], to[1] - from[1]];
    // From the middle of the chord to the centre, left of the chord: half the chord over the tangent.
    let out_of_chord = 0.5 / libm::tan(sweep / 2.0);
    let middle = [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0];
    let centre = [middle[0] - chord[1] * out_of_chord, middle[1] + chord[0] * out_of_chord];
    let spoke = [from[0] - centre[0], from[1] - centre[1]];
    for k in 1..STEPS {
        let (sin, cos) = libm::sincos(sweep * k as f64 / STEPS as f64);
        out.push([centre[0] + spoke[0] * cos - spoke[1] * sin, centre[1] + spoke[0] * sin + spoke[1] * cos]);
    }
    out.push(to);
}

/// Path data as rings, y as in the file. Arcs are of less than half a turn.
fn path(d: &str) -> Vec<Vec<P>> {
    use svgtypes::PathSegment as S;
    let mut rings: Vec<Vec<P>> = Vec::new();
    let mut here = [0.0; 2];
    for segment in svgtypes::PathParser::from(d) {
        let segment = segment.unwrap();
        let place = |abs: bool, x: f64, y: f64| if abs { [x, y] } else { [here[0] + x, here[1] + y] };
        match segment {
            S::MoveTo { abs, x, y } => rings.push(vec![place(abs, x, y)]),
            S::LineTo { abs, x, y } => rings.last_mut().unwrap().push(place(abs, x, y)),
            S::CurveTo { abs, x1, y1, x2, y2, x, y } => {
                let [b, c, d] = [place(abs, x1, y1), place(abs, x2, y2), place(abs, x, y)];
                cubic(here, b, c, d, rings.last_mut().unwrap());
            }
            S::EllipticalArc { abs, rx, ry, large_arc: false, sweep, x, y, .. } if rx == ry => {
                let to = place(abs, x, y);
                let chord = libm::hypot(to[0] - here[0], to[1] - here[1]);
                let turn = 2.0 * libm::asin((chord / 2.0 / rx).min(1.0));
                arc(here, to, if sweep { turn } else { -turn }, rings.last_mut().unwrap());
            }
            S::ClosePath { .. } => {
                here = rings.last().unwrap()[0];
                continue;
            }
            other => panic!("unexpected {other:?}"),
        }
        here = *rings.last().unwrap().last().unwrap();
    }
    rings
}

// ---- SVG ----

/// Groups by their ids, millimetres as `width` and `height` say.
fn svg(text: &str) -> Page {
    let document = roxmltree::Document::parse(text).unwrap();
    let root = document.root_element();
    let size = ["width", "height"].map(|name| {
        let side = root.attribute(name).unwrap();
        side.strip_suffix("mm").expect("millimetres").parse::<f64>().unwrap()
    });
    let view: Vec<f64> =
        root.attribute("viewBox").unwrap().split_whitespace().map(|n| n.parse().unwrap()).collect();
    assert_eq!(view, [0.0, 0.0, size[0], size[1]], "one unit is a millimetre");
    let mut layers = BTreeMap::new();
    for group in root.children().filter(|node| node.has_tag_name("g")) {
        assert!(group.attribute("transform").is_none());
        let drawn = |node: roxmltree::Node| Drawn {
            rings: path(node.attribute("d").unwrap())
                .into_iter()
                .map(|ring| ring.into_iter().map(|[x, y]| [x, size[1] - y]).collect())
                .collect(),
            filled: node.attribute("fill").or(group.attribute("fill")) != Some("none"),
        };
        let paths = group.children().filter(|node| node.has_tag_name("path"));
        layers.insert(group.attribute("id").unwrap().to_owned(), paths.map(drawn).collect());
    }
    Page { size, layers }
}

// ---- PDF, as much of ISO 32000-1 as one page of lines takes ----

fn after<'a>(text: &'a str, mark: &str) -> &'a str {
    text.split_once(mark).unwrap_or_else(|| panic!("no {mark}")).1
}

fn numbers(text: &str) -> Vec<f64> {
    text.split_whitespace().map_while(|word| word.parse().ok()).collect()
}

/// Optional-content groups by their names, millimetres of 72 points to the inch.
fn pdf(bytes: &[u8]) -> Page {
    const INCH: f64 = 25.4;
    // A byte a character keeps places the same.
    let text: String = bytes.iter().map(|&byte| char::from(byte)).collect();
    let object = |number: &str| {
        let body = after(&text, &format!("\n{number} 0 obj"));
        &body[..body.find("endobj").unwrap()]
    };
    let page = text.split("endobj").find(|object| object.contains("/Type /Page\n")).expect("a page");
    let media = numbers(after(page, "/MediaBox [").split(']').next().unwrap());
    let size = [media[2] - media[0], media[3] - media[1]].map(|points| points / 72.0 * INCH);
    let properties = after(page, "/Properties <<").split(">>").next().unwrap();
    let words: Vec<&str> = properties.split_whitespace().collect();
    let names: BTreeMap<&str, &str> = words
        .chunks(4)
        .map(|entry| (entry[0], after(object(entry[1]), "/Name (").split(')').next().unwrap()))
        .collect();
    let contents = after(page, "/Contents ").split_whitespace().next().unwrap();
    let stream = after(object(contents), "stream\n");
    let packed: Vec<u8> = stream.chars().map(|c| c as u8).collect();
    let mut content = String::new();
    ZlibDecoder::new(&packed[..]).read_to_string(&mut content).unwrap();
    let mut layers: BTreeMap<String, Vec<Drawn>> = BTreeMap::new();
    let (mut stack, mut now, mut unit) = (Vec::<&str>::new(), Drawn::default(), 1.0);
    let mut layer: Option<&str> = None;
    for word in content.split_whitespace() {
        let n: Vec<f64> = stack.iter().filter_map(|word| word.parse().ok()).collect();
        let at = |k: usize| [n[k] * unit, n[k + 1] * unit];
        match word {
            "cm" => {
                assert_eq!(n[1..], [0.0, 0.0, n[0], 0.0, 0.0], "one scaling");
                assert_eq!(unit, 1.0, "once");
                unit = n[0] / 72.0 * INCH;
            }
            "BDC" => layer = Some(names[stack[1]]),
            "EMC" => layer = None,
            "m" => now.rings.push(vec![at(0)]),
            "l" => now.rings.last_mut().unwrap().push(at(0)),
            "c" => {
                let ring = now.rings.last_mut().unwrap();
                let from = ring[ring.len() - 1];
                cubic(from, at(0), at(2), at(4), ring);
            }
            "h" => {}
            "f" | "S" => {
                let drawn = Drawn { filled: word == "f", ..std::mem::take(&mut now) };
                layers.entry(layer.expect("all is on a layer").to_owned()).or_default().push(drawn);
            }
            // Colours, line widths, states.
            "M" | "w" | "rg" | "RG" | "cs" | "CS" | "scn" | "SCN" | "sc" | "SC" | "gs" => {}
            _ => {
                stack.push(word);
                continue;
            }
        }
        stack.clear();
    }
    assert!((unit - 1.0).abs() < 1e-6, "drawn in millimetres");
    Page { size, layers }
}

// ---- what cutters get ----

/// Polylines with bulges, by layer; the far corner of the page.
fn dxf(text: &str) -> Page {
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    let mut size = [0.0; 2];
    let mut layers: BTreeMap<String, Vec<Drawn>> = BTreeMap::new();
    // Corners of the polyline that is being read, each with its bulge.
    let (mut corners, mut closed, mut layer) = (Vec::<[f64; 3]>::new(), false, "");
    let (mut entity, mut variable) = ("", "");
    for pair in lines.chunks(2) {
        let (code, value) = (pair[0], pair[1]);
        let number = || value.parse::<f64>().unwrap();
        match (code, entity) {
            ("9", _) => variable = value,
            ("10" | "20", "SECTION") if variable == "$EXTMAX" => size[usize::from(code == "20")] = number(),
            ("0", _) => {
                entity = value;
                match value {
                    "POLYLINE" => corners.clear(),
                    "VERTEX" => corners.push([0.0; 3]),
                    "SEQEND" => layers
                        .entry(layer.to_owned())
                        .or_default()
                        .push(Drawn { rings: vec![bulged(&corners, closed)], filled: false }),
                    _ => {}
                }
            }
            ("8", "POLYLINE") => layer = value,
            ("70", "POLYLINE") => closed = value == "1",
            ("10", "VERTEX") => corners.last_mut().unwrap()[0] = number(),
            ("20", "VERTEX") => corners.last_mut().unwrap()[1] = number(),
            ("42", "VERTEX") => corners.last_mut().unwrap()[2] = number(),
            _ => {}
        }
    }
    Page { size, layers }
}

/// A bulge is the tangent of a quarter of the arc's turn.
fn bulged(corners: &[[f64; 3]], closed: bool) -> Vec<P> {
    let mut points = vec![[corners[0][0], corners[0][1]]];
    let count = if closed { corners.len() } else { corners.len() - 1 };
    for k in 0..count {
        let ([x, y, bulge], [to_x, to_y, _]) = (corners[k], corners[(k + 1) % corners.len()]);
        if bulge == 0.0 {
            points.push([to_x, to_y]);
        } else {
            arc([x, y], [to_x, to_y], 4.0 * libm::atan(bulge), &mut points);
        }
    }
    points
}

/// Strokes with the pen down, by pen; 40 units to the millimetre.
fn hpgl(text: &str) -> BTreeMap<u32, Vec<Drawn>> {
    let mut pens: BTreeMap<u32, Vec<Drawn>> = BTreeMap::new();
    let (mut pen, mut here) = (0, [0.0; 2]);
    for command in text.split(';').map(str::trim).filter(|command| command.len() >= 2) {
        let (word, rest) = command.split_at(2);
        let values: Vec<f64> = rest.split(',').filter_map(|n| n.parse::<f64>().ok()).collect();
        let mut points = values.chunks_exact(2).map(|xy| [xy[0] / 40.0, xy[1] / 40.0]);
        match word {
            "SP" => pen = values[0] as u32,
            "PU" => {
                here = points.next_back().unwrap_or(here);
                pens.entry(pen).or_default().push(Drawn { rings: vec![vec![here]], filled: false });
            }
            "PD" => {
                let strokes = pens.get_mut(&pen).unwrap();
                strokes.last_mut().unwrap().rings[0].extend(points);
            }
            "IN" | "PA" | "VS" => {}
            other => panic!("unexpected {other}"),
        }
    }
    pens.values_mut().for_each(|strokes| strokes.retain(|stroke| stroke.rings[0].len() > 1));
    pens
}

// ---- measuring ----

/// Whether a point lies in the rings: crossings to one side are odd. No piece's outline crosses itself.
fn holds(rings: &[Vec<P>], [x, y]: P) -> bool {
    let crossed =
        |(a, b): (&P, &P)| (a[1] > y) != (b[1] > y) && x < a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]);
    let of =
        |ring: &Vec<P>| ring.iter().zip(ring.iter().cycle().skip(1)).filter(|&edge| crossed(edge)).count();
    rings.iter().map(of).sum::<usize>() % 2 == 1
}

/// The unit vector that a piece heads along on its page: from the line of its two ticks, which straddle the
/// edge of its film, towards the tip of its triangle.
fn heading(film: &Drawn, marks: &[Drawn]) -> Option<P> {
    let straddles = |mark: &&Drawn| {
        let points = &mark.rings[0];
        points.len() <= 8 && {
            let inside = points.iter().filter(|p| holds(&film.rings, **p)).count();
            inside > 0 && inside < points.len()
        }
    };
    let own: Vec<&Drawn> = marks.iter().filter(straddles).collect();
    let ticks: Vec<&&Drawn> = own.iter().filter(|mark| !mark.filled).collect();
    let tip = own.iter().find(|mark| mark.filled)?;
    let [first, second] = ticks[..] else { return None };
    // The line through both.
    let (a, b) = (first.rings[0][1], second.rings[0][1]);
    let long = libm::hypot(b[0] - a[0], b[1] - a[1]);
    let normal = [(b[1] - a[1]) / long, -(b[0] - a[0]) / long];
    let away = |p: &P| (p[0] - a[0]) * normal[0] + (p[1] - a[1]) * normal[1];
    let furthest =
        tip.rings[0].iter().map(away).fold(0.0, |far, d| if f64::abs(d) > f64::abs(far) { d } else { far });
    Some(normal.map(|n| n * furthest.signum()))
}

/// The box of some rings turned back, so that what lies along `heading` runs across.
fn turned_back(rings: &[Vec<P>], [cos, sin]: P) -> Bounds {
    let points: Vec<P> =
        rings.iter().flatten().map(|[x, y]| [x * cos + y * sin, y * cos - x * sin]).collect();
    Bounds::of(&points)
}

/// A heading read off the marks, which are drawn to a thousandth of a millimetre, as it is. Most pieces lie
/// straight or a quarter turned; of one that lies askew the long sides tell it better: turned back, its box
/// is narrowest.
fn exact(heading: P, film: &Drawn) -> P {
    let angle = libm::atan2(heading[1], heading[0]);
    let quarter = (angle / FRAC_PI_2).round() * FRAC_PI_2;
    let way = |angle: f64| [libm::cos(angle), libm::sin(angle)];
    if (angle - quarter).abs() < 3e-3 {
        return way(quarter);
    }
    let narrow = |angle: f64| turned_back(&film.rings, way(angle)).sides()[1];
    // Thirds, each time without the one beyond the wider.
    let (mut low, mut high) = (angle - 3e-3, angle + 3e-3);
    for _ in 0..60 {
        let third = (high - low) / 3.0;
        if narrow(low + third) < narrow(high - third) { high -= third } else { low += third }
    }
    way((low + high) / 2.0)
}

fn sides(value: &Value) -> P {
    let [a, b] = &value.as_array().unwrap()[..] else { panic!("two numbers: {value}") };
    [a.as_f64().unwrap(), b.as_f64().unwrap()]
}

/// A sheet's name, what it is of, and as its drawing and its document have it.
fn pages(made: &Made) -> Vec<(&str, &Value, [Page; 2])> {
    let both = |sheet: &'_ Value| {
        let file = sheet["file"].as_str().unwrap();
        [svg(&made.text(file)), pdf(&made.read(&file.replace(".svg", ".pdf")))]
    };
    made.sheets().iter().map(|sheet| (sheet["file"].as_str().unwrap(), sheet, both(sheet))).collect()
}

static MADE: LazyLock<[Made; 3]> = LazyLock::new(|| {
    [("rescue-helicopter", "1/48"), ("crash-tender", "1/32"), ("crew", "1/16")]
        .map(|(spec, scale)| Made::new(spec, scale))
});

#[test]
fn pages_and_check_bars_are_true() {
    for made in &*MADE {
        // A5, and A6 on its side (ISO 216).
        let size = if made.report["spec"] == "crew" { [148.0, 105.0] } else { [148.0, 210.0] };
        for (file, sheet, both) in pages(made) {
            assert_eq!(sides(&sheet["page_mm"]), size);
            for page in both {
                let off = [0, 1].map(|k| (page.size[k] - size[k]).abs());
                assert!(off[0].max(off[1]) < 1e-4, "{file}: {:?}", page.size);
                let marks: Vec<P> = page.layers["marks"].iter().map(|mark| mark.bounds().sides()).collect();
                for bar in [[50.0, 1.0], [1.0, 50.0]] {
                    let is = |mark: &&P| (0..2).all(|k| (mark[k] - bar[k]).abs() < 0.002);
                    assert_eq!(marks.iter().filter(is).count(), 1, "{file}: a bar of {bar:?}");
                }
            }
        }
    }
}

#[test]
fn pieces_are_drawn_and_cut_as_large_as_the_report_says() {
    let mut measured = 0;
    for made in &*MADE {
        // Of a mask each sheet opens a part; all its sheets together, what the report tells.
        let mut opened: BTreeMap<String, P> = BTreeMap::new();
        for (file, sheet, both) in pages(made) {
            let Some((make, border)) = BORDERS.iter().find(|(make, _)| sheet["make"] == *make) else {
                continue;
            };
            // A mask's film and its openings are lines of their own.
            let each = if *make == "mask" { 2 } else { 1 };
            let numbers = sheet["pieces"].as_array().unwrap();
            for page in &both {
                let (cut, marks) = (&page.layers["cut"], &page.layers["marks"]);
                assert_eq!(cut.len(), each * numbers.len(), "{file}");
                for (number, lines) in numbers.iter().zip(cut.chunks(each)) {
                    let (piece, film) = (made.piece(number), &lines[0]);
                    let size = sides(&piece["size_mm"]);
                    let name = format!("{file}: {number} {}", piece["marking"]);
                    let heading =
                        heading(film, marks).unwrap_or_else(|| panic!("{name} has no heading mark"));
                    let heading = exact(heading, film);
                    let own =
                        page.layers["artwork"].iter().filter(|area| holds(&film.rings, area.rings[0][0]));
                    let colour: Vec<Vec<P>> = own.flat_map(|area| area.rings.clone()).collect();
                    let colour = turned_back(&colour, heading);
                    let film = turned_back(&film.rings, heading);
                    let off = [0, 1].map(|k| (film.sides()[k] - 2.0 * border - size[k]).abs());
                    assert!(off[0].max(off[1]) < WITHIN, "{name}: film of {:?}", film.sides());
                    let most = opened.entry(number.to_string()).or_default();
                    *most = [0, 1].map(|k| most[k].max(colour.sides()[k]));
                    if *make == "decal" {
                        // In the middle of its film.
                        let around = Bounds {
                            low: film.low.map(|edge| edge + border),
                            high: film.high.map(|edge| edge - border),
                        };
                        assert!(colour.off(around) < WITHIN, "{name}: {colour:?} in {film:?}");
                    }
                    measured += 1;
                }
            }
        }
        for (number, found) in opened {
            let size = sides(&made.piece(&serde_json::from_str(&number).unwrap())["size_mm"]);
            let off = [0, 1].map(|k| (found[k] - size[k]).abs());
            assert!(off[0].max(off[1]) < WITHIN, "{number}: {found:?} where {size:?} is told");
        }
    }
    // Helicopter 20 decals and 3 films of masks, tender 8 and 1, crew 28 and 4; each in both files.
    assert_eq!(measured, 2 * (23 + 9 + 32));
}

#[test]
fn tape_is_drawn_as_wide_as_it_is_and_as_long_as_it_is_cut() {
    for made in &*MADE {
        let strips = made.scale()["tape"]["strips"].as_array().unwrap();
        assert!(!strips.is_empty());
        let sheets = pages(made);
        let (_, _, both) = sheets.iter().find(|(_, sheet, _)| sheet["make"] == "tape").unwrap();
        for page in both {
            let drawn: Vec<P> = page.layers["artwork"].iter().map(|strip| strip.bounds().sides()).collect();
            for strip in strips {
                let wanted = ["cut_length_mm", "width_mm"].map(|side| strip[side].as_f64().unwrap());
                let is = |found: &&P| (0..2).all(|k| (found[k] - wanted[k]).abs() < WITHIN);
                // Filled, and round it the line that is cut.
                assert_eq!(drawn.iter().filter(is).count(), 2, "{wanted:?} among {drawn:?}");
            }
        }
    }
}

/// The lines of the sheet, each in all three files: where they lie on the page, and on which layer or pen.
#[test]
fn a_cutter_gets_the_lines_of_its_sheet() {
    let made = &MADE[0];
    let mut sheets = 0;
    for (file, sheet, [page, _]) in pages(made) {
        if sheet["make"] == "tape" {
            continue;
        }
        // Film on its paper is cut through, and a mask's film alone.
        let (tool, pen) = if sheet["make"] == "decal" { ("through", 4) } else { ("kiss", 2) };
        let drawing = svg(&made.text(&file.replace(".svg", ".cut.svg")));
        let exchange = dxf(&made.text(&file.replace(".svg", ".dxf")));
        let pens = hpgl(&made.text(&file.replace(".svg", ".plt")));
        assert_eq!((drawing.size, exchange.size), (page.size, page.size));
        let cut = page.layers["cut"].iter().flat_map(|line| &line.rings);
        let cut: Vec<Bounds> = cut.map(|ring| Bounds::of(ring.iter())).collect();
        // Arcs are put through points that lie within two thousandths; HPGL counts in fortieths.
        let files = [
            ("cut.svg", &drawing.layers[tool], 0.004),
            ("dxf", &exchange.layers[tool], 0.004),
            ("plt", &pens[&pen], 0.5 / 40.0 + 0.004),
        ];
        for (ending, lines, within) in files {
            assert_eq!(lines.len(), cut.len(), "{file} as {ending}");
            for line in &cut {
                let nearest =
                    lines.iter().map(|other| other.bounds().off(*line)).fold(f64::INFINITY, f64::min);
                assert!(nearest < within, "{file} as {ending}: {line:?} is {nearest} mm off");
            }
        }
        if let Some(crosses) = page.layers.get("register") {
            for other in [&drawing.layers["register"], &exchange.layers["register"], &pens[&1]] {
                assert_eq!(other.len(), crosses.len(), "{file}: crosses");
            }
        }
        sheets += 1;
    }
    assert_eq!(sheets, made.scale()["cuts"].as_array().unwrap().len());
}
