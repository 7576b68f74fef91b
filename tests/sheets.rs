//! Sheets measured from outside: SVG read by roxmltree and a path reader of this
//! file's own, PNG by the png crate, distances by formulas of this file's own.

mod common;

use common::{add, on_sheets, plain, plan, trim};
use markloft::flow::*;
use markloft::outline::{Contour, Outline, Point, Segment, Vector, point, turned};
use markloft::units::{Dpi, Length, Model, Size};
use markloft::write::{png::png, svg::svg};
use proptest::prelude::*;
use std::f64::consts::PI;

const BLACK: (&str, [u8; 3]) = ("black", [0, 0, 0]);
const RED: (&str, [u8; 3]) = ("rescue-red", [200, 50, 30]);
const BONE: (&str, [u8; 3]) = ("bone", [239, 233, 220]);
const ORIGIN: Point = point(0.0, 0.0);

/// The one sheet of a plan with one piece.
fn sheet_of(make: Make, artwork: Artwork<Model>, change: impl Fn(&mut Plan)) -> Sheet {
    let (mut plan, mut pieces) = (plan("By hand", &[BLACK, RED, BONE]), vec![]);
    add(&mut plan, &mut pieces, "the-piece", &[make], 1, artwork);
    change(&mut plan);
    let (mut sheets, findings) = on_sheets(&plan, &pieces);
    assert_eq!(findings, []);
    assert_eq!(sheets.len(), 1);
    sheets.remove(0)
}

fn page(width: f64, height: f64) -> Size<Model> {
    Size { width: Length::mm(width), height: Length::mm(height) }
}

fn layer(sheet: &Sheet, purpose: Purpose) -> &[Item] {
    &sheet.layers.iter().find(|layer| layer.purpose == purpose).unwrap().items
}

fn star(radius: f64) -> Outline<Model> {
    // Inner corners of the five-pointed star at 0.381966 R.
    let corner = |k: usize| {
        let r = if k.is_multiple_of(2) { radius } else { 0.381966 * radius };
        turned(Vector::new(0.0, r), k as f64 * PI / 5.0).to_point()
    };
    Outline::polygon(&(0..10).map(corner).collect::<Vec<_>>())
}

fn roundel(radius: f64) -> Artwork<Model> {
    let disc = |colour, r| Area { colour: ColourId(colour), outline: Outline::circle(ORIGIN, r) };
    // Ring diameters 1:3:5 (Air Ministry, type A).
    Artwork {
        areas: vec![disc(0, radius), disc(2, radius * 0.6), disc(1, radius * 0.2)],
        silhouette: Outline::circle(ORIGIN, radius),
        repeat: None,
    }
}

// ---- a reader of `d`, by SVG 1.1 section 8.3, for the commands m l c a z in either case ----

/// Every end point of every command, mm on the page, y down.
fn ends(d: &str) -> Vec<[f64; 2]> {
    let mut spaced = String::new();
    for c in d.chars() {
        if c.is_ascii_alphabetic() {
            spaced.extend([' ', c, ' ']);
        } else {
            spaced.push(c);
        }
    }
    let mut tokens = spaced.split_whitespace().peekable();
    let (mut here, mut start, mut all) = ([0.0, 0.0], [0.0, 0.0], Vec::new());
    while let Some(command) = tokens.next() {
        let mut numbers = Vec::new();
        while let Some(number) = tokens.peek().and_then(|token| token.parse::<f64>().ok()) {
            numbers.push(number);
            tokens.next();
        }
        let (lower, relative) = (command.to_ascii_lowercase(), command == command.to_ascii_lowercase());
        let stride = match lower.as_str() {
            "m" | "l" => 2,
            "c" => 6,
            "a" => 7,
            "z" => {
                here = start;
                continue;
            }
            other => panic!("unexpected command {other}"),
        };
        assert_eq!(numbers.len() % stride, 0, "{command} with {} numbers", numbers.len());
        for step in numbers.chunks(stride) {
            let [x, y] = [step[stride - 2], step[stride - 1]];
            here = if relative { [here[0] + x, here[1] + y] } else { [x, y] };
            all.push(here);
        }
        if lower == "m" {
            start = here;
        }
    }
    all
}

/// Width and height over the end points of the paths that have this fill.
fn extent(svg: &str, layer: &str, fill: &str) -> [f64; 2] {
    let document = roxmltree::Document::parse(svg).unwrap();
    let group = document.descendants().find(|node| node.attribute("id") == Some(layer)).unwrap();
    let paths = group.descendants().filter(|node| node.attribute("fill") == Some(fill));
    let points: Vec<_> = paths.flat_map(|path| ends(path.attribute("d").unwrap())).collect();
    [0, 1].map(|axis| {
        let values = || points.iter().map(|p| p[axis]);
        values().fold(f64::MIN, f64::max) - values().fold(f64::MAX, f64::min)
    })
}

/// Pixels that are dark, row by row.
fn dark(png: &[u8]) -> Vec<Vec<bool>> {
    let mut reader = png::Decoder::new(std::io::Cursor::new(png)).read_info().unwrap();
    let mut bytes = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut bytes).unwrap();
    let row = |row: &[u8]| row.chunks(3).map(|p| p.iter().all(|&c| c < 128)).collect();
    bytes.chunks(info.width as usize * 3).map(row).collect()
}

fn longest_run(pixels: impl Iterator<Item = bool>) -> usize {
    let (mut best, mut run) = (0, 0);
    for dark in pixels {
        run = if dark { run + 1 } else { 0 };
        best = best.max(run);
    }
    best
}

#[test]
fn a_hundred_millimetres_stay_a_hundred() {
    let square = plain(0, Outline::rectangle(ORIGIN, 100.0, 100.0));
    let disc = plain(0, Outline::circle(ORIGIN, 50.0));
    for artwork in [square, disc] {
        let sheet = sheet_of(Make::Decal, artwork, |plan| plan.sheets.page = page(150.0, 160.0));
        let text = svg(&sheet, "true size");
        let document = roxmltree::Document::parse(&text).unwrap();
        let root = document.root_element();
        assert_eq!(root.attribute("width"), Some("150mm"));
        assert_eq!(root.attribute("height"), Some("160mm"));
        assert_eq!(root.attribute("viewBox"), Some("0 0 150 160"));
        for side in extent(&text, "artwork", "#000000") {
            assert!((side - 100.0).abs() < 0.001, "{side}");
        }
        let mut bytes = Vec::new();
        png(&text, sheet.page, Dpi::DEFAULT, &mut bytes).unwrap();
        let rows = dark(&bytes);
        // 100 mm at 600 dpi is 2362.2 pixels; 150 × 160 mm is 3543.3 × 3779.5.
        assert_eq!((rows[0].len(), rows.len()), (3543, 3780));
        let middle = sheet.outlines[0].bounds().center();
        let [x, y] = [middle.x, 160.0 - middle.y].map(|mm| (mm / 25.4 * 600.0) as usize);
        let across = longest_run(rows[y].iter().copied());
        let down = longest_run(rows.iter().map(|row| row[x]));
        assert!(across.abs_diff(2362) <= 1, "{across}");
        assert!(down.abs_diff(2362) <= 1, "{down}");
    }
}

#[test]
fn check_bars_are_fifty_millimetres() {
    let sheet = sheet_of(Make::Decal, plain(1, star(10.0)), |_| {});
    let text = svg(&sheet, "");
    let document = roxmltree::Document::parse(&text).unwrap();
    let sizes: Vec<_> = document
        .descendants()
        .filter_map(|node| node.attribute("d"))
        .map(|d| {
            let ends = ends(d);
            [0, 1].map(|axis| {
                let values = || ends.iter().map(|p| p[axis]);
                values().fold(f64::MIN, f64::max) - values().fold(f64::MAX, f64::min)
            })
        })
        .collect();
    let has = |w: f64, h: f64| sizes.iter().any(|s| (s[0] - w).abs() < 0.002 && (s[1] - h).abs() < 0.002);
    assert!(has(50.0, 1.0) && has(1.0, 50.0), "{sizes:?}");
    // A page too small for 50 mm gets a shorter pair rather than none.
    let small = sheet_of(Make::Decal, plain(1, star(2.0)), |plan| {
        plan.sheets.page = page(55.0, 55.0);
        plan.sheets.margin = Length::mm(3.0);
    });
    let marks = layer(&small, Purpose::Marks);
    let wide = |item: &Item| matches!(item, Item::Fill { outline, .. } if (outline.bounds().width() - 20.0).abs() < 1e-9);
    assert!(marks.iter().any(wide));
}

// ---- distances, by this file's own formulas ----

fn corners(outline: &Outline<Model>) -> Vec<Vec<Point>> {
    outline.contours.iter().map(|contour| contour.flattened(1e-4)).collect()
}

fn edges(rings: &[Vec<Point>]) -> Vec<[Point; 2]> {
    rings.iter().flat_map(|ring| (0..ring.len()).map(|k| [ring[k], ring[(k + 1) % ring.len()]])).collect()
}

fn distance(p: Point, edges: &[[Point; 2]]) -> f64 {
    let to = |[a, b]: &[Point; 2]| {
        let (along, off) = (*b - *a, p - *a);
        let t =
            ((off.x * along.x + off.y * along.y) / (along.x * along.x + along.y * along.y)).clamp(0.0, 1.0);
        let [x, y] = [off.x - along.x * t, off.y - along.y * t];
        (x * x + y * y).sqrt()
    };
    edges.iter().map(to).fold(f64::MAX, f64::min)
}

/// Points along every edge, no further apart than `step`.
fn walk(edges: &[[Point; 2]], step: f64) -> Vec<Point> {
    let along = |[a, b]: &[Point; 2]| {
        let count = ((*b - *a).length() / step).ceil().max(1.0) as usize;
        let (a, b) = (*a, *b);
        (0..count).map(move |k| a.lerp(b, k as f64 / count as f64))
    };
    edges.iter().flat_map(along).collect()
}

#[test]
fn film_lies_beyond_the_artwork_by_the_border_everywhere() {
    let sliver = Outline::polygon(&[point(-20.0, 0.0), point(20.0, -0.2), point(20.0, 0.2)]);
    let bent = Outline::new(vec![Contour {
        start: point(-8.0, -2.0),
        segments: vec![
            Segment::Cubic { ctrl1: point(-2.0, 3.0), ctrl2: point(4.0, -5.0), to: point(9.0, 1.0) },
            Segment::Line { to: point(9.0, 3.0) },
            Segment::Cubic { ctrl1: point(4.0, -2.0), ctrl2: point(-2.0, 6.0), to: point(-8.0, 1.0) },
        ],
    }]);
    for outline in [star(12.0), Outline::ring(ORIGIN, 6.0, 11.0), sliver, bent] {
        for border in [0.5, 1.5] {
            let sheet = sheet_of(Make::Decal, plain(1, outline.clone()), |plan| {
                plan.markings[0].piece.border = Some(Length::mm(border));
            });
            let Item::Fill { outline: colour, .. } = &layer(&sheet, Purpose::Artwork)[0] else { panic!() };
            let [colour, film] = [colour, &sheet.outlines[0]].map(|outline| edges(&corners(outline)));
            for p in walk(&film, 0.05) {
                let gap = distance(p, &colour);
                assert!((gap - border).abs() < 0.01, "{gap} where the border is {border}");
            }
            // And no colour lies nearer to the film's edge than that.
            for p in walk(&colour, 0.05) {
                assert!(distance(p, &film) > border - 0.01);
            }
        }
    }
}

#[test]
fn bleed_goes_beyond_a_cut_along_the_colour_and_nowhere_else() {
    let half = |x: f64| Outline::rectangle(point(x, 0.0), 10.0, 8.0);
    let halves = || Artwork {
        areas: vec![
            Area { colour: ColourId(0), outline: half(-5.0) },
            Area { colour: ColourId(1), outline: half(5.0) },
        ],
        silhouette: Outline::rectangle(ORIGIN, 20.0, 8.0),
        repeat: None,
    };
    let colour_box = |sheet: &Sheet| {
        let fills = layer(sheet, Purpose::Artwork).iter().map(|item| match item {
            Item::Fill { outline, .. } => outline.bounds(),
            other => panic!("{other:?}"),
        });
        let all = fills.reduce(|a, b| a.union(&b)).unwrap();
        [all.width(), all.height()]
    };
    // Film is left round the colour: it is printed true to size, whatever bleed the film knows.
    let bordered = sheet_of(Make::Decal, halves(), |_| {});
    let [width, height] = colour_box(&bordered);
    assert!((width - 20.0).abs() < 1e-9 && (height - 8.0).abs() < 1e-9, "{width} × {height}");
    // No border: the silhouette is cut along, so the colour goes on beyond it.
    let cut_close = sheet_of(Make::Decal, halves(), |plan| plan.films.decal.border = Length::ZERO);
    let [width, height] = colour_box(&cut_close);
    assert!((width - 20.6).abs() < 0.01 && (height - 8.6).abs() < 0.01, "{width} × {height}");
    let Item::Line { outline, .. } = &layer(&cut_close, Purpose::Cut)[0] else { panic!() };
    assert!((outline.area() - 160.0).abs() < 1e-9);
    // A marking that asks for bleed gets it inside its border, and the same cut.
    let asked = sheet_of(Make::Decal, halves(), |plan| plan.markings[0].piece.bleed = Some(Length::mm(0.4)));
    assert!((colour_box(&asked)[1] - 8.8).abs() < 0.01);
    // Beyond the edge each colour keeps to its own side of the line between them.
    let bled: Vec<_> = layer(&asked, Purpose::Artwork)[..2]
        .iter()
        .map(|item| match item {
            Item::Fill { outline, .. } => outline.bounds(),
            other => panic!("{other:?}"),
        })
        .collect();
    let overlap = bled[0].max.x - bled[1].min.x;
    assert!(overlap.abs() < 0.11, "{overlap}");
}

#[test]
fn mask_windows_are_what_shows_of_each_colour() {
    let (mut plan, mut pieces) = (plan("By hand", &[BLACK, RED, BONE]), vec![]);
    // Sprayed from the bottom up, each opening just what shows.
    (plan.spray.order, plan.spray.overlap) = ([0, 2, 1].map(ColourId).to_vec(), Length::ZERO);
    add(&mut plan, &mut pieces, "roundel", &[Make::Mask], 1, roundel(15.0));
    let (sheets, findings) = on_sheets(&plan, &pieces);
    assert_eq!(findings, []);
    let stems: Vec<_> = sheets.iter().map(|sheet| sheet.stem.as_str()).collect();
    assert_eq!(stems, ["mask-1-black", "mask-2-bone", "mask-3-rescue-red"]);
    assert_eq!(sheets.iter().map(|sheet| sheet.step).collect::<Vec<_>>(), [Some(1), Some(2), Some(3)]);
    // Diameters 1:3:5, radius 15: rings of π(15² − 9²), π(9² − 3²), π 3².
    for (sheet, squares) in sheets.iter().zip([225.0 - 81.0, 81.0 - 9.0, 9.0]) {
        let [Item::Line { outline: film, .. }, Item::Line { outline: window, .. }] =
            layer(sheet, Purpose::Cut)
        else {
            panic!("film and window")
        };
        assert!((window.area() - PI * squares).abs() < 0.05, "{} {}", window.area(), PI * squares);
        // 3 mm of film all round.
        assert!((film.area() - PI * libm::pow(18.0f64, 2.0)).abs() < 0.3, "{}", film.area());
    }
    // A ring's hole stays covered: paint must not get there.
    let ring = sheet_of(Make::Mask, plain(0, Outline::ring(ORIGIN, 8.0, 10.0)), |_| {});
    let Item::Line { outline: film, .. } = &layer(&ring, Purpose::Cut)[0] else { panic!() };
    assert_eq!(film.contours.len(), 1);
}

#[test]
fn marks_and_labels_stay_off_the_colour() {
    let thin = plain(1, Outline::rectangle(point(3.0, 0.0), 6.0, 0.6));
    for artwork in [plain(1, star(10.0)), thin, roundel(7.0)] {
        for make in [Make::Decal, Make::Mask] {
            let mut artwork = artwork.clone();
            artwork.areas.truncate(1);
            let sheet = sheet_of(make, artwork, |_| {});
            let Item::Fill { outline: colour, .. } = &layer(&sheet, Purpose::Artwork)[0] else { panic!() };
            let colour = colour.flattened(1e-3).offset(-0.01);
            for item in layer(&sheet, Purpose::Marks) {
                let points: Vec<Point> = match item {
                    Item::Fill { outline, .. } | Item::Line { outline, .. } => corners(outline).concat(),
                    Item::Path { points, .. } => points.clone(),
                };
                let inside = points.iter().find(|&&p| colour.contains(p));
                assert_eq!(inside, None, "a mark on the colour");
            }
        }
    }
}

#[test]
fn trim_lines_are_carried_to_the_page() {
    let (mut plan, mut pieces) = (plan("By hand", &[BLACK]), vec![]);
    let stripe = plain(0, Outline::rectangle(point(10.0, 0.0), 20.0, 2.0));
    let marking = add(&mut plan, &mut pieces, "stripe", &[Make::Decal], 1, stripe);
    trim(&mut pieces, marking, vec![vec![point(16.0, -1.5), point(16.0, 1.5)]]);
    let (sheets, _) = on_sheets(&plan, &pieces);
    let left = sheets[0].outlines[0].bounds().min.x + 0.5;
    let lines = layer(&sheets[0], Purpose::Trim);
    assert!(lines.len() > 1);
    for item in lines {
        let Item::Path { points, .. } = item else { panic!("{item:?}") };
        assert!(points.iter().all(|p| (p.x - left - 16.0).abs() < 0.01), "{points:?}");
    }
}

#[test]
fn a_piece_larger_than_the_page_is_told_which_page_would_do() {
    let (mut plan, mut pieces) = (plan("By hand", &[BLACK]), vec![]);
    add(&mut plan, &mut pieces, "long", &[Make::Decal], 2, plain(0, Outline::rectangle(ORIGIN, 390.0, 40.0)));
    add(&mut plan, &mut pieces, "short", &[Make::Decal], 1, plain(0, Outline::rectangle(ORIGIN, 30.0, 4.0)));
    let (sheets, findings) = on_sheets(&plan, &pieces);
    assert_eq!(findings.len(), 1, "one for the marking, not one for each copy");
    assert_eq!((findings[0].code, findings[0].severity), (Code::SheetFull, Severity::Error));
    assert!(findings[0].help.contains("A3, 420 × 297 mm"), "{}", findings[0].help);
    assert_eq!(sheets.iter().map(|sheet| &sheet.pieces[..]).collect::<Vec<_>>(), [[3]], "the rest go on");
    // It is true: on that page both copies are laid out.
    plan.sheets.page = page(420.0, 297.0);
    let (sheets, findings) = on_sheets(&plan, &pieces);
    assert_eq!(findings, []);
    assert_eq!(sheets.iter().map(|sheet| sheet.pieces.len()).sum::<usize>(), 3);
    // A page that is all margin, and a spacing wider than the page, hold nothing and break nothing.
    plan.sheets.page = page(10.0, 10.0);
    assert_eq!(on_sheets(&plan, &pieces).1.len(), 2);
    plan.sheets.page = page(100.0, 100.0);
    plan.sheets.spacing = Length::mm(500.0);
    assert_eq!(on_sheets(&plan, &pieces).0[0].pieces, [3]);
}

#[test]
fn spares_go_last_and_film_used_before_is_kept_off() {
    let (mut plan, mut pieces) = (plan("By hand", &[BLACK]), vec![]);
    add(
        &mut plan,
        &mut pieces,
        "large",
        &[Make::Decal],
        3,
        plain(0, Outline::rectangle(ORIGIN, 120.0, 90.0)),
    );
    add(
        &mut plan,
        &mut pieces,
        "small",
        &[Make::Decal],
        1,
        plain(0, Outline::rectangle(ORIGIN, 110.0, 90.0)),
    );
    // The second and third of three are spares: one sheet has no room for all.
    plan.markings[0].copies = 1;
    plan.markings[0].piece.spares = 2;
    let sheets_of = |plan: &Plan| {
        let (sheets, findings) = on_sheets(plan, &pieces);
        (sheets, findings.iter().map(|found| (found.code, found.text.clone())).collect::<Vec<_>>())
    };
    let (laid, told) = sheets_of(&plan);
    assert_eq!(told, []);
    let on: Vec<Vec<u32>> = laid.iter().map(|sheet| sheet.pieces.clone()).collect();
    assert!(on.len() == 2 && on[0].contains(&1) && on[0].contains(&4), "{on:?}");
    // A sheet whose lower half is gone: nothing lies there, and the line is drawn.
    let corner = |x: f64, y: f64| point(x, y);
    let used = vec![corner(0.0, 0.0), corner(210.0, 0.0), corner(210.0, 160.0), corner(0.0, 160.0)];
    plan.films.decal.used.clone_from(&used);
    let (laid, told) = sheets_of(&plan);
    // The bars stand at the lower left, where nothing is left to print on.
    assert_eq!(
        told,
        [(Code::UsedFilm, "a check bar of sheet decal-1 falls on film that is gone".to_owned())]
    );
    assert!(!laid[0].pieces.is_empty());
    for outline in &laid[0].outlines {
        assert!(outline.bounds().min.y > 162.0 - 1e-6, "{:?}", outline.bounds());
    }
    let drawn = |sheet: &Sheet| {
        layer(sheet, Purpose::Marks)
            .iter()
            .any(|item| matches!(item, Item::Path { points, .. } if points.starts_with(&used)))
    };
    assert!(drawn(&laid[0]) && !drawn(&laid[1]));
    let mut all: Vec<u32> = laid.iter().flat_map(|sheet| sheet.pieces.clone()).collect();
    all.sort_unstable();
    assert_eq!(all, [1, 2, 3, 4]);
    let top = [corner(100.0, 270.0), corner(210.0, 270.0), corner(210.0, 297.0), corner(100.0, 297.0)];
    plan.films.decal.used = top.to_vec();
    assert_eq!(sheets_of(&plan).1[0].1, "the head of sheet decal-1 falls on film that is gone");
    // A hole in the middle takes neither.
    let middle = [corner(90.0, 90.0), corner(120.0, 90.0), corner(120.0, 120.0), corner(90.0, 120.0)];
    plan.films.decal.used = middle.to_vec();
    assert_eq!(sheets_of(&plan).1, []);
}

#[test]
fn labels_and_marks_lie_on_no_other_piece() {
    let (mut plan, mut pieces) = (plan("By hand", &[BLACK]), vec![]);
    add(&mut plan, &mut pieces, "ring", &[Make::Decal], 2, plain(0, Outline::ring(ORIGIN, 30.0, 40.0)));
    add(&mut plan, &mut pieces, "star", &[Make::Decal], 9, plain(0, star(15.0)));
    add(&mut plan, &mut pieces, "bar", &[Make::Decal], 6, plain(0, Outline::rectangle(ORIGIN, 60.0, 5.0)));
    let (sheets, _) = on_sheets(&plan, &pieces);
    for sheet in &sheets {
        let films: Vec<_> =
            sheet.outlines.iter().map(|outline| outline.flattened(0.01).offset(-0.1)).collect();
        for item in layer(sheet, Purpose::Marks) {
            let Item::Fill { outline, .. } = item else { continue };
            let letters = outline.flattened(0.05);
            let on = films.iter().filter(|film| !film.intersection(&letters).is_empty()).count();
            // A heading triangle straddles the edge of its own piece, and of that alone.
            assert!(on <= 1 && (on == 0 || letters.bounds().area() < 10.0), "{on} {:?}", letters.bounds());
        }
    }
}

#[test]
fn strange_texts_do_not_break_the_file() {
    let titles = [
        "<script>alert(1)</script> & \"quotes\" ]]>",
        "\u{5e9}\u{5dc}\u{5d5}\u{5dd} right to left",
        "\u{1f681} \u{10348} four bytes",
        "bell \u{7} nul \u{0} escape \u{1b} \u{ffff} line\nbreak",
        "",
    ];
    for title in titles {
        let (mut plan, mut pieces) = (plan(title, &[("<b>", [1, 2, 3])]), vec![]);
        add(&mut plan, &mut pieces, title, &[Make::Decal, Make::Mask], 2, plain(0, star(5.0)));
        let (sheets, _) = on_sheets(&plan, &pieces);
        assert_eq!(sheets.len(), 2);
        assert_eq!(sheets[1].stem, "mask-1-b");
        for sheet in &sheets {
            let text = svg(sheet, title);
            assert_eq!(text, svg(sheet, title), "the same bytes again");
            let document = roxmltree::Document::parse(&text).unwrap();
            let names: std::collections::BTreeSet<_> =
                document.descendants().filter(|n| n.is_element()).map(|n| n.tag_name().name()).collect();
            assert!(names.iter().all(|name| ["svg", "g", "path", "title"].contains(name)), "{names:?}");
            let said = document.descendants().find(|n| n.has_tag_name("title")).unwrap().text().unwrap_or("");
            let kept: String = title.chars().map(|c| if c == '\n' { ' ' } else { c }).collect();
            let kept: String = kept.chars().filter(|c| !c.is_control() && *c != '\u{ffff}').collect();
            assert_eq!(said, kept);
        }
    }
}

/// Rectangles and slanted bars, some of them too long to lie as drawn.
fn any_piece() -> impl Strategy<Value = (Outline<Model>, u32, bool)> {
    let bar = (0.5f64..150.0, 0.5f64..60.0, 0.0f64..PI, 1u32..4, any::<bool>());
    let bar = bar.prop_map(|(w, h, angle, copies, both)| {
        (Outline::rectangle(ORIGIN, w, h).turned(angle), copies, both)
    });
    let long = (200.0f64..250.0, 1.0f64..5.0).prop_map(|(w, h)| (Outline::rectangle(ORIGIN, w, h), 1, false));
    prop_oneof![9 => bar, 1 => long]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn every_piece_is_on_one_sheet_and_keeps_its_distance(kinds in prop::collection::vec(any_piece(), 1..14)) {
        let (mut plan, mut pieces) = (plan("By hand", &[BLACK]), vec![]);
        for (outline, copies, both) in kinds {
            let make: &[Make] = if both { &[Make::Decal, Make::Mask] } else { &[Make::Decal] };
            add(&mut plan, &mut pieces, "random", make, copies, plain(0, outline));
        }
        let (sheets, findings) = on_sheets(&plan, &pieces);
        prop_assert_eq!(findings, []);
        let mut numbers: Vec<_> = sheets.iter().flat_map(|sheet| sheet.pieces.clone()).collect();
        numbers.sort_unstable();
        prop_assert_eq!(numbers, (1..=pieces.len() as u32).collect::<Vec<_>>());
        for sheet in &sheets {
            prop_assert_eq!(sheet.outlines.len(), sheet.pieces.len());
            prop_assert!(sheet.used_share > 0.0 && sheet.used_share < 1.0);
            let films: Vec<_> = sheet.outlines.iter().map(corners).collect();
            for (k, film) in films.iter().enumerate() {
                // Within the default margin of 8 mm on A4.
                for p in film.iter().flatten() {
                    prop_assert!(p.x > 8.0 && p.x < 202.0 + 1e-6 && p.y > 8.0 && p.y < 289.0, "{:?}", p);
                }
                for other in &films[..k] {
                    let (a, b) = (edges(film), edges(other));
                    let gap = film.iter().flatten().map(|&p| distance(p, &b))
                        .chain(other.iter().flatten().map(|&p| distance(p, &a)))
                        .fold(f64::MAX, f64::min);
                    prop_assert!(gap > 2.0 - 1e-6, "{}", gap);
                }
            }
        }
    }
}

#[test]
fn labels_may_be_numbers_alone_or_nothing() {
    let (mut plan, mut pieces) = (plan("By hand", &[BLACK]), vec![]);
    let bar = Outline::rectangle(ORIGIN, 6.0, 2.0);
    add(&mut plan, &mut pieces, "checks-on-the-right-side", &[Make::Decal], 40, plain(0, bar));
    plan.sheets.page = page(105.0, 148.0);
    let with = |labels: Labels| {
        let plan = Plan { sheets: Sheets { labels, ..plan.sheets.clone() }, ..plan.clone() };
        let sheets = on_sheets(&plan, &pieces).0;
        let marks: usize = sheets.iter().map(|sheet| layer(sheet, Purpose::Marks).len()).sum();
        // What every sheet has of its own.
        (sheets.len(), marks as i64, sheets)
    };
    let (named, numbered, bare) = (with(Labels::Names), with(Labels::Numbers), with(Labels::None));
    assert!(named.0 > numbered.0 && numbered.0 >= bare.0, "{} {} {}", named.0, numbered.0, bare.0);
    let own = (named.1 - numbered.1 - 40) / (named.0 - numbered.0) as i64;
    assert!(own > 0 && (named.1 - numbered.1 - 40) % (named.0 - numbered.0) as i64 == 0);
    // A ring and a number for each piece.
    assert_eq!(numbered.1 - bare.1, 80 + own * (numbered.0 - bare.0) as i64);
    let mut all: Vec<u32> = bare.2.iter().flat_map(|sheet| sheet.pieces.clone()).collect();
    all.sort_unstable();
    assert_eq!(all, (1..=40).collect::<Vec<_>>());
}
