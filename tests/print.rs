//! What goes to the printer: white, bleed and film measured everywhere on their outlines, layers and
//! their order, a printer's error made up for, the PDF parsed by a reader of this file's own.

mod common;

use assert_cmd::Command;
use common::{add, on_sheets, plain, plan};
use markloft::batch::{Failure, load_embedded};
use markloft::flow::*;
use markloft::outline::{Outline, Point, Vector, point, turned};
use markloft::sheet::print;
use markloft::units::{Length, Model, Size};
use markloft::write::{pdf, svg};
use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::fs;
use std::io::Read;

const COLOURS: [(&str, [u8; 3]); 3] =
    [("black", [0, 0, 0]), ("rescue-red", [200, 50, 30]), ("bone", [239, 233, 220])];
const ORIGIN: Point = point(0.0, 0.0);

/// The sheets of a plan with one piece of each make.
fn sheets_of(make: &[Make], artwork: Artwork<Model>, change: impl Fn(&mut Plan)) -> (Plan, Vec<Sheet>) {
    let (mut plan, mut pieces) = (plan("By hand", &COLOURS), vec![]);
    add(&mut plan, &mut pieces, "the-piece", make, 1, artwork);
    change(&mut plan);
    let (sheets, findings) = on_sheets(&plan, &pieces);
    assert_eq!(findings, []);
    (plan, sheets)
}

fn decal(artwork: Artwork<Model>, change: impl Fn(&mut Plan)) -> Sheet {
    sheets_of(&[Make::Decal], artwork, change).1.remove(0)
}

fn page(width: f64, height: f64) -> Size<Model> {
    Size { width: Length::mm(width), height: Length::mm(height) }
}

fn items(sheet: &Sheet, purpose: Purpose) -> &[Item] {
    &sheet.layers.iter().find(|layer| layer.purpose == purpose).unwrap().items
}

fn fills(items: &[Item]) -> Vec<Outline<Model>> {
    let fill = |item: &Item| match item {
        Item::Fill { outline, .. } => Some(outline.clone()),
        _ => None,
    };
    items.iter().filter_map(fill).collect()
}

fn star(radius: f64) -> Outline<Model> {
    // Inner corners of the five-pointed star at 0.381966 R.
    let corner = |k: usize| {
        let r = if k.is_multiple_of(2) { radius } else { 0.381966 * radius };
        turned(Vector::new(0.0, r), k as f64 * PI / 5.0).to_point()
    };
    Outline::polygon(&(0..10).map(corner).collect::<Vec<_>>())
}

/// Sharp tips, a hole, a sliver, and slivers side by side.
fn awkward() -> Vec<(&'static str, Outline<Model>)> {
    let sliver = Outline::polygon(&[point(-20.0, 0.0), point(20.0, -0.35), point(20.0, 0.35)]);
    let teeth = (0..6).flat_map(|k| [point(f64::from(k) * 3.0, 0.0), point(f64::from(k) * 3.0 + 1.5, 14.0)]);
    let comb = teeth.chain([point(18.0, 0.0), point(18.0, -3.0), point(0.0, -3.0)]);
    vec![
        ("star", star(12.0)),
        ("ring", Outline::ring(ORIGIN, 6.0, 11.0)),
        ("sliver", sliver),
        ("comb", Outline::polygon(&comb.collect::<Vec<_>>())),
        ("disc", Outline::circle(ORIGIN, 7.0)),
    ]
}

// ---- distances, by this file's own formulas ----

type Edge = [Point; 2];

fn edges(outlines: &[Outline<Model>]) -> Vec<Edge> {
    let rings = outlines.iter().flat_map(|outline| outline.contours.iter().map(|c| c.flattened(1e-4)));
    rings
        .flat_map(|ring| (0..ring.len()).map(|k| [ring[k], ring[(k + 1) % ring.len()]]).collect::<Vec<_>>())
        .collect()
}

fn distance(p: Point, edges: &[Edge]) -> f64 {
    let to = |[a, b]: &Edge| {
        let (along, off) = (*b - *a, p - *a);
        let length2 = along.x * along.x + along.y * along.y;
        let t =
            if length2 > 0.0 { ((off.x * along.x + off.y * along.y) / length2).clamp(0.0, 1.0) } else { 0.0 };
        libm::hypot(off.x - along.x * t, off.y - along.y * t)
    };
    edges.iter().map(to).fold(f64::MAX, f64::min)
}

/// Points along every edge, no further apart than `step`.
fn walk(edges: &[Edge], step: f64) -> Vec<Point> {
    let along = |[a, b]: &Edge| {
        let count = ((*b - *a).length() / step).ceil().max(1.0) as usize;
        let (a, b) = (*a, *b);
        (0..count).map(move |k| a.lerp(b, k as f64 / count as f64))
    };
    edges.iter().flat_map(along).collect()
}

/// By the number of edges that a ray to the right crosses.
fn inside(p: Point, edges: &[Edge]) -> bool {
    let crosses =
        |[a, b]: &&Edge| (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x);
    edges.iter().filter(crosses).count() % 2 == 1
}

#[test]
fn white_lies_within_the_artwork_by_the_choke_everywhere() {
    for (name, outline) in awkward() {
        for choke in [0.05, 0.1, 0.3] {
            for mirrored in [false, true] {
                let sheet = decal(plain(1, outline.clone()), |plan| {
                    let choke = Length::mm(choke);
                    plan.printer.white = Some(White { choke, ..White::default() });
                    plan.printer.mirrored = mirrored;
                });
                let colour = edges(&fills(items(&sheet, Purpose::Artwork)));
                let white = edges(&fills(items(&sheet, Purpose::White)));
                assert!(!white.is_empty(), "{name}");
                for p in walk(&white, 0.05) {
                    let gap = distance(p, &colour);
                    assert!((gap - choke).abs() < 0.01, "{name}: {gap} where the choke is {choke}");
                    assert!(inside(p, &colour), "{name}: white outside the colour");
                }
                // And all of the artwork that lies deeper has white under it.
                let middle = sheet.outlines[0].bounds();
                for k in 0..4000 {
                    let across = f64::from(k % 80) / 80.0;
                    let up = f64::from(k / 80) / 50.0;
                    let p = middle.min + Vector::new(middle.width() * across, middle.height() * up);
                    if inside(p, &colour) && distance(p, &colour) > choke + 0.01 {
                        assert!(inside(p, &white), "{name}: no white at {p:?}");
                    }
                }
            }
        }
    }
}

#[test]
fn bleed_and_film_lie_beyond_by_what_was_asked_everywhere() {
    for (name, outline) in awkward() {
        for (bleed, border) in [(0.3, 0.0), (0.4, 1.0)] {
            let sheet = decal(plain(1, outline.clone()), |plan| {
                let wishes = &mut plan.markings[0].piece;
                (wishes.bleed, wishes.border) = (Some(Length::mm(bleed)), Some(Length::mm(border)));
                plan.printer.white = Some(White::default());
            });
            let Item::Line { outline: cut, .. } = &items(&sheet, Purpose::Cut)[0] else { panic!() };
            let cut = edges(std::slice::from_ref(cut));
            // What is printed first is the colour with its bleed; the colour true to size lies on it.
            let printed = edges(&fills(items(&sheet, Purpose::Artwork))[..1]);
            for p in walk(&printed, 0.05) {
                let gap = distance(p, &cut);
                assert!((gap - bleed).abs() < 0.01, "{name}: {gap} where the bleed is {bleed}");
            }
            let film = edges(&sheet.outlines);
            for p in walk(&film, 0.05) {
                let gap = distance(p, &cut);
                assert!((gap - border.max(bleed)).abs() < 0.01, "{name}: {gap} of film for {border}");
            }
            // White is choked from what is printed.
            for p in walk(&edges(&fills(items(&sheet, Purpose::White))), 0.05) {
                assert!((distance(p, &printed) - 0.1).abs() < 0.01, "{name}");
            }
        }
    }
}

fn two_halves() -> Artwork<Model> {
    let half = |x: f64| Outline::rectangle(point(x, 0.0), 10.0, 8.0);
    Artwork {
        areas: vec![
            Area { colour: ColourId(0), outline: half(-5.0) },
            Area { colour: ColourId(1), outline: half(5.0) },
        ],
        silhouette: Outline::rectangle(ORIGIN, 20.0, 8.0),
        repeat: None,
    }
}

fn names(sheet: &Sheet) -> Vec<&str> {
    sheet.layers.iter().map(|layer| layer.name.as_str()).collect()
}

#[test]
fn layers_come_in_the_order_of_printing_and_turn_round_face_down() {
    let made = |mirrored: bool| {
        decal(two_halves(), |plan| {
            plan.printer.white = Some(White { name: "opaque".into(), ..White::default() });
            plan.printer.order = Some(vec![ColourId(1)]);
            plan.printer.mirrored = mirrored;
            plan.printer.spots.cut = "knife".into();
        })
    };
    let (up, down) = (made(false), made(true));
    assert_eq!(names(&up), ["opaque", "rescue-red", "black", "knife", "trim", "marks"]);
    assert_eq!(names(&down), ["black", "rescue-red", "opaque", "knife", "trim", "marks"]);
    // Every layer that is printed has all of the marks that bring it over the others, at the same places.
    let crosses = |layer: &Layer| {
        let path = |item: &Item| match item {
            Item::Path { points, .. } => Some(points.clone()),
            _ => None,
        };
        layer.items.iter().filter_map(path).collect::<Vec<_>>()
    };
    for sheet in [&up, &down] {
        let all: Vec<_> = sheet.layers[..3].iter().map(crosses).collect();
        assert_eq!(all[0].len(), 6, "three crosses of two lines");
        assert!(all.iter().all(|each| *each == all[0]));
    }
    // The red half lies to the right; face down, heading still to the right, it does too, but what was up is down.
    let centre = |sheet: &Sheet, name: &str| {
        let layer = sheet.layers.iter().find(|layer| layer.name == name).unwrap();
        fills(&layer.items)[0].bounds().center()
    };
    for sheet in [&up, &down] {
        assert!((centre(sheet, "rescue-red").x - centre(sheet, "black").x - 10.0).abs() < 1e-6);
    }
    // A shape that is not its own image: its corner changes sides.
    let corner = Outline::polygon(&[point(0.0, 0.0), point(10.0, 0.0), point(10.0, 6.0)]);
    for (mirrored, side) in [(false, 1.0), (true, -1.0)] {
        let sheet = decal(plain(1, corner.clone()), |plan| {
            plan.printer.mirrored = mirrored;
            plan.sheets.turns = Turning::Fixed;
        });
        let outline = &fills(items(&sheet, Purpose::Artwork))[0];
        let ring = outline.contours[0].flattened(1e-3);
        let middle = ring.iter().map(|p| p.to_vector()).sum::<Vector>() / 3.0;
        let box_middle = outline.bounds().center().to_vector();
        assert!((outline.area() - 30.0).abs() < 1e-9, "still walked counter-clockwise");
        assert!((middle.y - box_middle.y) * side < -0.5, "{mirrored}");
    }
}

#[test]
fn white_hides_nothing_and_lines_that_are_not_asked_for_are_hidden() {
    let sheet = decal(plain(1, star(9.0)), |plan| {
        plan.printer.white = Some(White::default());
        plan.printer.mirrored = true;
        plan.printer.lines = Lines { cut: false, relief: true, trim: true };
    });
    let text = svg(&sheet, "");
    let document = roxmltree::Document::parse(&text).unwrap();
    let hidden = |id: &str| {
        let group = document.descendants().find(|node| node.attribute("id") == Some(id)).unwrap();
        group.attribute("display") == Some("none")
    };
    assert_eq!(["white", "artwork", "cut", "trim"].map(hidden), [true, false, true, false]);
    // A mask is nothing without its lines.
    let (_, masks) = sheets_of(&[Make::Mask], plain(1, star(9.0)), |plan| {
        plan.printer.lines = Lines { cut: false, relief: false, trim: false };
    });
    assert!(masks[0].layers.iter().all(|layer| !layer.hidden));
    assert!(masks[0].layers.iter().all(|layer| layer.purpose != Purpose::White));
}

#[test]
fn a_trial_is_outlines_and_letters_only() {
    let sheet = decal(two_halves(), |plan| plan.printer.white = Some(White::default()));
    let trial = print::trial(&sheet);
    assert_eq!(trial.stem, "trial-decal-1");
    for layer in &trial.layers {
        let filled = layer.items.iter().any(|item| matches!(item, Item::Fill { .. }));
        assert_eq!(filled, layer.purpose == Purpose::Marks, "{}", layer.name);
        assert!(!layer.hidden && layer.purpose != Purpose::White);
    }
    // The same places as on the sheet, and a line more of words.
    let bounds = |item: &Item| match item {
        Item::Fill { outline, .. } | Item::Line { outline, .. } => outline.bounds(),
        Item::Path { .. } => panic!("no line was drawn"),
    };
    let (of_sheet, of_trial) = (items(&sheet, Purpose::Artwork), items(&trial, Purpose::Artwork));
    assert_eq!(bounds(&of_sheet[0]), bounds(&of_trial[0]));
    let marks = items(&trial, Purpose::Marks).len() - items(&sheet, Purpose::Marks).len();
    assert_eq!(marks, 1);
}

// ---- a printer that is off ----

fn off(plan: &mut Plan) {
    plan.printer.measured = page(99.4, 100.3);
    plan.sheets.page = page(150.0, 160.0);
}

#[test]
fn a_square_is_drawn_for_the_printer_and_cut_as_it_is() {
    let square = || plain(0, Outline::rectangle(ORIGIN, 100.0, 100.0));
    let (plan, sheets) = sheets_of(&[Make::Decal], square(), off);
    let printed = print::compensated(&sheets[0], &plan.printer);
    let bounds = fills(items(&printed, Purpose::Artwork))[0].bounds();
    // 100 × 100/99.4 and 100 × 100/100.3.
    assert!((bounds.width() - 100.604).abs() < 5e-4, "{}", bounds.width());
    assert!((bounds.height() - 99.701).abs() < 5e-4, "{}", bounds.height());
    // As the files say it, to what they round to.
    {
        let (text, [width, height]) = (svg(&printed, ""), [100.6036, 99.7009]);
        let document = roxmltree::Document::parse(&text).unwrap();
        let group = document.descendants().find(|node| node.attribute("id") == Some("artwork")).unwrap();
        let d = group.children().find_map(|node| node.attribute("d")).unwrap();
        let numbers: Vec<f64> = d
            .split(|c: char| c.is_ascii_alphabetic() || c == ' ')
            .filter(|word| !word.is_empty())
            .map(|word| word.parse().unwrap())
            .collect();
        // Four corners, relative: the greatest steps are the sides.
        let most =
            |axis: usize| numbers[2..].iter().skip(axis).step_by(2).fold(0.0, |a: f64, b| a.max(b.abs()));
        assert!((most(0) - width).abs() < 2e-4 && (most(1) - height).abs() < 2e-4, "{d}");
    }
    let found = artwork_bounds(&Parsed::new(&pdf(&[&printed], "")), 0);
    assert!((found[0] - 100.604).abs() < 1e-3 && (found[1] - 99.701).abs() < 1e-3, "{found:?}");
    // The machine that cuts has an error of its own; the sheet it is given has none.
    let Item::Line { outline, .. } = &items(&sheets[0], Purpose::Cut)[0] else { panic!() };
    assert!((outline.bounds().width() - 101.0).abs() < 1e-6);
    // A disc becomes an ellipse of the same sides.
    let (plan, sheets) = sheets_of(&[Make::Decal], plain(0, Outline::circle(ORIGIN, 50.0)), off);
    let disc = fills(items(&print::compensated(&sheets[0], &plan.printer), Purpose::Artwork))[0].clone();
    assert!(
        (disc.bounds().width() - 100.6036).abs() < 1e-3 && (disc.bounds().height() - 99.7009).abs() < 1e-3
    );
    assert!((disc.area() - PI * 100.6036 * 99.7009 / 4.0).abs() < 0.05);
}

#[test]
fn a_cutter_s_files_carry_nothing_of_the_printer() {
    let text = |printer: &str| {
        format!(
            "{{markloft: 1, scales: full, colours: {{red: '#c8321e'}}, cutter: {{offset: 0.25 mm}}, {printer} \
             sheets: {{page: {{width: 150 mm, height: 160 mm}}}}, \
             parts: {{door: {{shape: {{flat: {{width: 1 m, height: 1 m, face: left}}}}}}}}, \
             markings: {{disc: {{part: door, draw: {{disc: {{diameter: 80 mm}}}}, colour: red, make: decal}}}}}}"
        )
    };
    let out = tempfile::tempdir().unwrap();
    let made = |name: &str, printer: &str| {
        let spec = out.path().join("s.yaml");
        fs::write(&spec, text(printer)).unwrap();
        let mut program = Command::cargo_bin("markloft").unwrap();
        program
            .args(["make", "--dpi", "150", "--out"])
            .arg(out.path().join(name))
            .arg(&spec)
            .assert()
            .success();
        let read = |file: &str| fs::read(out.path().join(name).join("s/full").join(file)).unwrap();
        ["decal-1.svg", "decal-1.pdf", "decal-1.dxf", "decal-1.plt", "decal-1.cut.svg"].map(read)
    };
    let plain = made("plain", "");
    let off = made("off", "printer: {measured: {across: 99.4 mm, along: 100.3 mm}},");
    let same: Vec<bool> = plain.iter().zip(&off).map(|(a, b)| a == b).collect();
    assert_eq!(same, [false, false, true, true, true]);
    let words = |svg: &[u8]| String::from_utf8_lossy(svg).len();
    assert!(words(&off[0]) > words(&plain[0]), "the foot says what was done");
}

// ---- a reader of PDF, by ISO 32000-1 section 7, for what has no compressed objects ----

/// One character a byte, so that offsets hold.
fn ascii(bytes: &[u8]) -> String {
    bytes.iter().map(|&b| if b < 128 { char::from(b) } else { '?' }).collect()
}

struct Parsed {
    objects: BTreeMap<u32, Vec<u8>>,
    trailer: String,
}

impl Parsed {
    fn new(bytes: &[u8]) -> Self {
        assert!(bytes.starts_with(b"%PDF-1.7"));
        let text = ascii(bytes);
        let at: usize =
            text.rsplit("startxref").next().unwrap().split_whitespace().next().unwrap().parse().unwrap();
        let mut lines = text[at..].lines();
        assert_eq!(lines.next().unwrap().trim(), "xref");
        let count: usize = lines.next().unwrap().split_whitespace().nth(1).unwrap().parse().unwrap();
        let mut objects = BTreeMap::new();
        for (number, line) in lines.take(count).enumerate().skip(1) {
            let offset: usize = line[..10].parse().unwrap();
            let head = format!("{number} 0 obj");
            assert!(text[offset..].starts_with(&head), "object {number} is where the table says");
            let end = text[offset..].find("endobj").unwrap();
            objects.insert(number as u32, bytes[offset + head.len()..offset + end].to_vec());
        }
        let trailer = text[text.rfind("trailer").unwrap()..at.max(text.len())].to_owned();
        Self { objects, trailer }
    }

    fn text(&self, number: u32) -> String {
        ascii(&self.objects[&number])
    }

    fn all(&self) -> String {
        let heads = self.objects.keys().map(|&n| {
            let text = self.text(n);
            text.split("stream").next().unwrap().to_owned()
        });
        heads.collect::<Vec<_>>().join("\n") + &self.trailer
    }

    /// Numbers of the objects that say this of themselves.
    fn having(&self, what: &str) -> Vec<u32> {
        let has = |number: &&u32| self.text(**number).split("stream").next().unwrap().contains(what);
        self.objects.keys().filter(has).copied().collect()
    }

    /// A page's drawing, unpacked, as words.
    fn content(&self, page: usize) -> Vec<String> {
        let page = self.having("/Type /Page\n")[page];
        let text = self.text(page);
        let number: u32 =
            text.split("/Contents ").nth(1).unwrap().split_whitespace().next().unwrap().parse().unwrap();
        let object = &self.objects[&number];
        let start = object.windows(7).position(|w| w == b"stream\n").unwrap() + 7;
        let end = object.windows(10).rposition(|w| w == b"\nendstream").unwrap();
        let mut unpacked = String::new();
        flate2::read::ZlibDecoder::new(&object[start..end]).read_to_string(&mut unpacked).unwrap();
        unpacked.split_whitespace().map(str::to_owned).collect()
    }
}

/// Width and height, mm, of what the artwork's layer paints, points of curves included.
fn artwork_bounds(pdf: &Parsed, page: usize) -> [f64; 2] {
    let words = pdf.content(page);
    let numbers = |upto: usize, count: usize| -> Vec<f64> {
        words[upto - count..upto].iter().map(|word| word.parse().unwrap()).collect()
    };
    let (mut scale, mut layer, mut all) = ([1.0; 2], 0, Vec::new());
    for (k, word) in words.iter().enumerate() {
        match word.as_str() {
            "cm" => scale = [numbers(k, 6)[0], numbers(k, 6)[3]],
            "BDC" => layer += 1,
            "m" | "l" if layer == 1 => all.push(numbers(k, 2)),
            "c" if layer == 1 => all.push(numbers(k, 6)[4..].to_vec()),
            _ => {}
        }
    }
    [0, 1].map(|axis| {
        let values = || all.iter().map(|p| p[axis] * scale[axis]);
        (values().fold(f64::MIN, f64::max) - values().fold(f64::MAX, f64::min)) / 72.0 * 25.4
    })
}

#[test]
fn a_pdf_is_true_to_size_and_says_what_it_must() {
    for artwork in
        [plain(0, Outline::rectangle(ORIGIN, 100.0, 100.0)), plain(0, Outline::circle(ORIGIN, 50.0))]
    {
        let (_, sheets) = sheets_of(&[Make::Decal], artwork, |plan| plan.sheets.page = page(150.0, 160.0));
        let bytes = pdf(&[&sheets[0]], "Harrow Tarn · é");
        assert_eq!(bytes, pdf(&[&sheets[0]], "Harrow Tarn · é"), "the same bytes again");
        let parsed = Parsed::new(&bytes);
        let page = parsed.text(parsed.having("/Type /Page\n")[0]);
        let media = page.split("/MediaBox [").nth(1).unwrap().split(']').next().unwrap();
        let media: Vec<f64> = media.split_whitespace().map(|word| word.parse().unwrap()).collect();
        // 150 × 160 mm in units of 1/72 in.
        for (found, wanted) in media.iter().zip([0.0, 0.0, 150.0 / 25.4 * 72.0, 160.0 / 25.4 * 72.0]) {
            assert!((found - wanted).abs() < 1e-3, "{media:?}");
        }
        for side in artwork_bounds(&parsed, 0) {
            assert!((side - 100.0).abs() < 1e-3, "{side}");
        }
        let all = parsed.all();
        assert!(all.contains("/PrintScaling /None"));
        for absent in ["/Font", "Date", "/XObject", "/Metadata", "/JavaScript", "/URI"] {
            assert!(!all.contains(absent), "{absent}");
        }
    }
}

#[test]
fn a_pdf_has_layers_and_inks_by_name_and_white_knocks_nothing_out() {
    let made = |mirrored: bool, lines: Lines| {
        sheets_of(&[Make::Decal, Make::Mask], two_halves(), |plan| {
            plan.printer.white = Some(White { name: "opaque white".into(), ..White::default() });
            plan.printer.mirrored = mirrored;
            plan.printer.lines = lines;
        })
        .1
    };
    let sheets = made(true, Lines { cut: true, relief: true, trim: false });
    assert!(sheets.len() > 1);
    let parsed = Parsed::new(&pdf(&sheets.iter().collect::<Vec<_>>(), "all"));
    assert_eq!(parsed.having("/Type /Page\n").len(), sheets.len());
    let groups = parsed.having("/Type /OCG");
    let called =
        |name: &str| groups.iter().copied().find(|&n| parsed.text(n).contains(&format!("({name})"))).unwrap();
    for name in ["artwork", "opaque white", "cut", "trim", "marks"] {
        called(name);
    }
    let all = parsed.all();
    assert!(
        all.contains("/Separation /opaque#20white /DeviceRGB") && all.contains("/Separation /cut /DeviceRGB")
    );
    // A mask is nothing without its lines: they have a group of their own, which is not off.
    assert_eq!(groups.iter().filter(|&&n| parsed.text(n).contains("(trim)")).count(), 2);
    // Lines that are not asked for are there and off.
    let off = all.split("/OFF [").nth(1).unwrap().split(']').next().unwrap();
    assert_eq!(off.trim(), format!("{} 0 R", called("trim")));
    // Whatever state a page names overprints.
    let states = parsed.having("/OP true");
    assert_eq!(states.len(), 2);
    assert!(states.iter().all(|&n| parsed.text(n).contains("/op true")));
    let words = parsed.content(0);
    let layers: Vec<&str> =
        words.iter().enumerate().filter(|(_, w)| *w == "BDC").map(|(k, _)| words[k - 1].as_str()).collect();
    assert_eq!(layers.len(), sheets[0].layers.len());
    // Laid face down, white comes after the colour.
    let white = words.iter().position(|word| word == "/White").unwrap();
    let colour = words.iter().position(|word| word == "rg").unwrap();
    assert!(colour < white);
    assert!(words.iter().all(|word| word != "Tf" && word != "Tj"));
}

// ---- from the spec ----

fn spec(more: &str) -> String {
    format!(
        "markloft: 1\nscales: full\ncolours: {{red: '#c8321e', bone: '#efe9dc'}}\n\
         parts: {{door: {{shape: {{flat: {{width: 1 m, height: 1 m, face: left}}}}}}}}\n\
         markings:\n  disc: {{part: door, draw: {{disc: {{diameter: 30 mm}}}}, colour: red, make: [decal, mask]}}\n{more}\n"
    )
}

#[test]
fn every_word_of_the_printer_is_understood() {
    let words = "printer: {dpi: 1200, margins: {left: 5 mm, bottom: 12 mm}, measured: {across: 99.4 mm, along: 100.3 mm}, \
                 min_line: 0.2 mm, min_gap: 0.25 mm, min_letter: 1 mm, ground: clear, masks: one-bit, \
                 white: {name: opaque, choke: 0.15 mm, picture: grey}, names: {cut: knife, relief: slit}, \
                 lines: [cut, trim], mirrored: true, order: [bone, red], trial: true, pdf: together}\n\
                 films: {mask: {sheet: A5}}\nsheets: {page: A4}";
    let plan = load_embedded("s.yaml", &spec(words)).unwrap();
    let printer = &plan.printer;
    assert_eq!(printer.dpi.per_inch(), 1200.0);
    assert_eq!(printer.measured, page(99.4, 100.3));
    assert_eq!([plan.films.decal.finest_line, plan.films.decal.finest_gap], [0.2, 0.25].map(Length::mm));
    assert_eq!(plan.films.decal.smallest_letter, Length::mm(1.0));
    assert_eq!(plan.films.mask.finest_line, Length::mm(0.4), "masks are cut, not printed");
    assert_eq!(
        (printer.ground, printer.masks, printer.pdf),
        (Ground::Clear, Shades::OneBit, PdfFiles::Together)
    );
    let white = White { name: "opaque".into(), choke: Length::mm(0.15), picture: Shades::Grey };
    assert_eq!(printer.white, Some(white));
    assert_eq!(printer.lines, Lines { cut: true, relief: false, trim: true });
    assert_eq!(printer.spots, Spots { cut: "knife".into(), relief: "slit".into() });
    assert!(printer.mirrored && printer.trial);
    assert_eq!(printer.order, Some(vec![ColourId(1), ColourId(0)]));
    // 5 mm that cannot be printed and 4 mm for marks; 8 mm of margin where it can.
    assert_eq!(plan.sheets.kept(), [9.0, 8.0, 8.0, 16.0]);
    assert_eq!(plan.sheets_of(Make::Mask).page, page(148.0, 210.0));
    assert_eq!(plan.sheets_of(Make::Decal).page, page(210.0, 297.0));
    // Paper goes in upright: on a page that lies, across the printer is along the page.
    let lying =
        load_embedded("s.yaml", &spec("printer: {measured: {across: 99 mm}}\nsheets: {landscape: true}"));
    assert_eq!(lying.unwrap().printer.measured, page(100.0, 99.0));
    // What the ladder said only ever makes film coarser.
    let fine = load_embedded("s.yaml", &spec("printer: {min_line: 0.01 mm}")).unwrap();
    assert_eq!(fine.films.decal.finest_line, Films::default().decal.finest_line);
}

#[test]
fn what_is_wrong_with_a_printer_is_told() {
    for (words, wanted) in [
        ("printer: {dpi: 0}", "0 dpi is not from 30 to 2400"),
        ("printer: {dpi: 1000000}", "1000000 dpi is not from 30 to 2400"),
        ("sheets: {page: {width: 10 m, height: 10 m}}", "10000 mm is no page"),
        ("films: {decal: {sheet: {width: 10 m, height: 1 m}}}", "10000 mm is no page"),
        ("films: {decal: {sheet: {width: 10 mm, height: 10 mm}}}", "has no room"),
        ("printer: {measured: {across: 50 mm}}", "a square of 100 mm is printed as 50 mm"),
        ("printer: {white: {choke: 5 mm}}", "a choke of 5 mm leaves no white"),
        ("printer: {white: {name: All}}", "means something else"),
        ("printer: {names: {cut: black}}", "means something else"),
        ("printer: {white: {name: cut}}", "is the name of two inks"),
        ("printer: {order: [red, red]}", "`red` is listed twice"),
        ("printer: {order: [blue]}", "no colour is called"),
        ("printer: {lines: [none, cut]}", "`none` and others"),
        ("printer: {pdf: both}", "unknown word `both`"),
        ("printer: {margins: {left: 200 mm}}", "more than a sheet has room for"),
        ("sheets: {page: A6}\nprinter: {margins: {left: 30 mm, right: 30 mm}}", "between the margins"),
    ] {
        let Err(Failure::Spec(problems)) = load_embedded("s.yaml", &spec(words)) else {
            panic!("{words} was taken");
        };
        let told: Vec<String> = problems.iter().map(|problem| format!("{problem}")).collect();
        assert!(told.iter().any(|text| text.contains(wanted)), "{words}: {told:?}");
    }
    // Each is fine, together they are more than any picture holds: refused before memory is taken.
    let out = tempfile::tempdir().unwrap();
    let file = out.path().join("s.yaml");
    fs::write(&file, spec("printer: {dpi: 2400}\nsheets: {page: {width: 2 m, height: 2 m}}")).unwrap();
    let mut program = Command::cargo_bin("markloft").unwrap();
    let ended = program.arg("make").arg(&file).arg("--out").arg(out.path()).assert().code(3);
    let told = String::from_utf8_lossy(&ended.get_output().stderr).into_owned();
    assert!(told.contains("188976 × 188976 pixels") && told.contains("--dpi"), "{told}");
}

#[test]
fn plates_trials_and_one_pdf_are_written_and_kept() {
    let out = tempfile::tempdir().unwrap();
    let file = out.path().join("s.yaml");
    let words = "printer: {dpi: 150, masks: one-bit, white: true, trial: true, pdf: together, ground: clear}\n\
                 films: {mask: {sheet: A5}}";
    fs::write(&file, spec(words)).unwrap();
    let make = || {
        let mut program = Command::cargo_bin("markloft").unwrap();
        program.arg("make").arg(&file).arg("--force").arg("--out").arg(out.path()).assert().success();
    };
    make();
    let folder = out.path().join("s/full");
    let mut files: Vec<String> = fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    files.sort();
    assert_eq!(
        files,
        [
            "decal-1.png",
            "decal-1.svg",
            "decal-1.white.png",
            "mask-1-red.png",
            "mask-1-red.svg",
            "sheets.pdf",
            "trial-decal-1.png",
            "trial-decal-1.svg",
            "trial-mask-1-red.png",
            "trial-mask-1-red.svg",
            "trials.pdf",
        ]
    );
    let picture = |name: &str| {
        let mut reader =
            png::Decoder::new(fs::File::open(folder.join(name)).map(std::io::BufReader::new).unwrap());
        reader.set_transformations(png::Transformations::EXPAND);
        let mut reader = reader.read_info().unwrap();
        let (kind, depth) = (reader.info().color_type, reader.info().bit_depth);
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut pixels).unwrap();
        ((kind, depth), [info.width, info.height], info.color_type, pixels)
    };
    let (kind, size, _, pixels) = picture("decal-1.png");
    assert_eq!((kind, size), ((png::ColorType::Rgba, png::BitDepth::Eight), [1240, 1754]));
    assert!(pixels.chunks(4).any(|p| p == [0xc8, 0x32, 0x1e, 255]) && pixels[3] == 0);
    // The plate is black where white goes: π 14.9² mm², and the crosses.
    let (kind, size, _, pixels) = picture("decal-1.white.png");
    assert_eq!((kind, size), ((png::ColorType::Grayscale, png::BitDepth::One), [1240, 1754]));
    let black = pixels.iter().filter(|&&p| p == 0).count() as f64 * libm::pow(25.4f64 / 150.0, 2.0);
    assert!((black - PI * 14.9 * 14.9).abs() < 8.0, "{black}");
    // The mask's own page, its window black.
    let (kind, size, shown, pixels) = picture("mask-1-red.png");
    assert_eq!((kind, size), ((png::ColorType::Grayscale, png::BitDepth::One), [874, 1240]));
    let black = match shown {
        png::ColorType::GrayscaleAlpha => pixels.chunks(2).filter(|p| p[1] == 255).count(),
        _ => pixels.iter().filter(|&&p| p == 0).count(),
    };
    let black = black as f64 * libm::pow(25.4f64 / 150.0, 2.0);
    // Head, bars and words take 150 to 200 mm² of their own; some 400 mm of lines are a dot and a half, 0.254 mm, wide.
    assert!((900.0..980.0).contains(&black), "{black}");
    // Made again, the same bytes.
    let read = || files.iter().map(|name| fs::read(folder.join(name)).unwrap()).collect::<Vec<_>>();
    let before = read();
    make();
    assert!(before == read());
    // One PDF, each page its own size.
    let parsed = Parsed::new(&fs::read(folder.join("sheets.pdf")).unwrap());
    let pages = parsed.having("/Type /Page\n");
    let media: Vec<String> =
        pages.iter().map(|&n| parsed.text(n).split("/MediaBox [").nth(1).unwrap()[..20].to_owned()).collect();
    assert!(media.len() == 2 && media[0] != media[1], "{media:?}");
}

#[test]
fn the_calibration_page_has_its_square_and_ladders() {
    let out = tempfile::tempdir().unwrap();
    let calibrate = |args: &[&str]| {
        let mut program = Command::cargo_bin("markloft").unwrap();
        program.arg("calibrate").args(args).args(["--dpi", "300", "--out"]).arg(out.path());
        program
    };
    // Its sides are told as they are on upright paper, however the spec's pages lie.
    let lying = out.path().join("lying.yaml");
    fs::write(&lying, "markloft: 1\ntitle: T\nscales: 1/48\nsheets: {page: A4, landscape: true}\n\
        parts: {door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}}\n\
        markings: {bar: {part: door, draw: {rectangle: {width: 10 cm, height: 10 cm}}, colour: \"#c8321e\"}}\n")
    .unwrap();
    calibrate(&[lying.to_str().unwrap()]).assert().success();
    let text = fs::read_to_string(out.path().join("calibration/calibration.svg")).unwrap();
    // A4, ISO 216.
    assert!(text.contains("width=\"210mm\"") && text.contains("height=\"297mm\""));
    for paper in ["a3", "a4", "a5", "letter"] {
        calibrate(&["--page", paper]).assert().success();
        let folder = out.path().join("calibration");
        let text = fs::read_to_string(folder.join("calibration.svg")).unwrap();
        assert!(roxmltree::Document::parse(&text).is_ok());
        // The square over its outer edges, in the picture: 100 mm at 300 dpi is 1181.1 pixels.
        let mut reader = png::Decoder::new(std::io::BufReader::new(
            fs::File::open(folder.join("calibration.png")).unwrap(),
        ))
        .read_info()
        .unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut pixels).unwrap();
        let dark = |x: usize, y: usize| pixels[(y * info.width as usize + x) * 3] < 128;
        let [width, height] = [info.width, info.height].map(|n| n as usize);
        let longest = |cells: &mut dyn Iterator<Item = bool>| {
            let (mut best, mut run) = (0usize, 0usize);
            for dark in cells {
                run = if dark { run + 1 } else { 0 };
                best = best.max(run);
            }
            best
        };
        let tall = (0..width).map(|x| longest(&mut (0..height).map(|y| dark(x, y)))).max().unwrap();
        assert!(tall.abs_diff(1181) <= 1, "{paper}: {tall}");
        let wide: Vec<usize> = (0..height).map(|y| longest(&mut (0..width).map(|x| dark(x, y)))).collect();
        assert!(wide.iter().any(|run| run.abs_diff(1181) <= 1), "{paper}");
        let parsed = Parsed::new(&fs::read(folder.join("calibration.pdf")).unwrap());
        assert_eq!(parsed.having("/Type /Page\n").len(), 1);
    }
    // A spec lends its page and its colours, and what it knows of the printer is left aside.
    let file = out.path().join("s.yaml");
    fs::write(&file, spec("printer: {measured: {across: 95 mm}}\nsheets: {page: A5}")).unwrap();
    calibrate(&[file.to_str().unwrap()]).assert().success();
    let svg = fs::read_to_string(out.path().join("calibration/calibration.svg")).unwrap();
    assert!(svg.contains("width=\"148mm\"") && svg.contains("#efe9dc"));
    fs::write(&file, spec("sheets: {page: A6}")).unwrap();
    let ended = calibrate(&[file.to_str().unwrap()]).assert().code(2);
    assert!(String::from_utf8_lossy(&ended.get_output().stderr).contains("upright A5"));
}

#[test]
fn calibration_takes_no_specs_place() {
    let folder = tempfile::tempdir().unwrap();
    let spec = folder.path().join("calibration.yaml");
    fs::write(&spec, include_str!("data/square.yaml")).unwrap();
    let run = |args: &[&str]| {
        let mut program = Command::cargo_bin("markloft").unwrap();
        program.current_dir(folder.path()).args(args).args(["--dpi", "72"]);
        program.assert()
    };
    run(&["make", "calibration.yaml"]).success();
    let report = folder.path().join("out/calibration/report.json");
    let before = fs::read(&report).unwrap();
    let ended = run(&["calibrate"]).code(2);
    assert!(String::from_utf8_lossy(&ended.get_output().stderr).contains("choose another folder"));
    assert_eq!(fs::read(&report).unwrap(), before);
}

#[test]
fn white_lies_under_letters_and_not_between_them() {
    let spec = "markloft: 1\ntitle: white\nscales: [1/24]\ncolours: {red: \"#c8321e\"}\n\
                parts:\n  door: {shape: {flat: {width: 2 m, height: 2 m, face: left}}}\n\
                markings:\n  name: {part: door, draw: {letters: {text: TARN, height: 40 cm}}, colour: red, make: decal}\n\
                printer: {white: {choke: 0.1 mm}}\n";
    let plan = load_embedded("white.yaml", spec).unwrap();
    let outcome = markloft::batch::work_out(plan, &markloft::batch::Choice::default()).unwrap();
    assert_eq!(outcome.all_findings().count(), 0);
    let sheet = &outcome.scales[0].sheets[0];
    let area = |purpose| -> f64 {
        let fills = items(sheet, purpose).iter();
        fills.map(|item| if let Item::Fill { outline, .. } = item { outline.area() } else { 0.0 }).sum()
    };
    let (white, ink) = (area(Purpose::White), area(Purpose::Artwork));
    // Strokes of 40 cm / 6 at 1/24, 2.8 mm, lose 0.2 mm of their width, and what their ends lose.
    assert!(white < ink && white > 0.88 * ink, "{white} {ink}");
}

#[test]
fn a_thin_line_is_not_lost_between_the_dots_of_a_picture_without_shades() {
    let sheet = decal(two_halves(), |_| {});
    let widths = |sheet: &Sheet| -> Vec<f64> {
        let lines = items(sheet, Purpose::Cut).iter();
        lines
            .filter_map(|item| if let Item::Line { width, .. } = item { Some(width.to_mm()) } else { None })
            .collect()
    };
    let black = |dpi: f64| widths(&print::black(&sheet, markloft::units::Dpi::new(dpi).unwrap()));
    assert_eq!(widths(&sheet), [0.1]);
    // A dot and a half at 100 dots to the inch of 25.4 mm; at 600 the line is wider than that.
    assert!((black(100.0)[0] - 0.381).abs() < 1e-12);
    assert_eq!(black(600.0), [0.1]);
}

#[test]
fn a_wide_bleed_of_a_large_disc_gains_no_corners() {
    let sheet = decal(plain(0, Outline::circle(ORIGIN, 60.0)), |plan| {
        plan.films.decal.border = Length::ZERO;
        plan.films.decal.bleed = Length::mm(1.0);
    });
    let corners: usize = items(&sheet, Purpose::Artwork)
        .iter()
        .map(|item| {
            if let Item::Fill { outline, .. } = item {
                outline.flattened(0.002).rings.iter().map(Vec::len).sum()
            } else {
                0
            }
        })
        .sum();
    // The circle let off by 0.002 mm takes 385 chords; its edge and the bleed's, once each, and no more.
    assert!((385..4000).contains(&corners), "{corners}");
}
