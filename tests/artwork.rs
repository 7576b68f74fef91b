//! SVG files as artwork: what shows is carried true, what film cannot carry is refused by its place.
//!
//! The judge is resvg, which draws the original; our areas, written by our own SVG writer, must give
//! the same picture. `.ci/outside` runs the same test over some hundred icons drawn by others: it
//! names their folder in `MARKLOFT_ICONS`.

use markloft::batch::{self, Choice};
use markloft::flow::{Draw, Item, Layer, Make, Plan, Purpose, Sheet};
use markloft::outline::picture::{self, Face, Picture, Refused};
use markloft::spec;
use markloft::units::{Length, Size};
use resvg::tiny_skia::{Pixmap, Transform};
use std::fs;
use std::path::{Path, PathBuf};

const FACE: &[u8] = include_bytes!("../src/outline/face/BarlowCondensed_500Medium.ttf");

fn data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/artwork")
}

/// How every drawing begins that is given by what is in it.
const SVG: &str = "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' \
     viewBox='0 0 100 100'>\n";

fn drawn(inner: &str) -> Result<Picture, Vec<Refused>> {
    picture::read(&format!("{SVG}{inner}</svg>"), None)
}

/// Areas by colour, in square units of the file.
fn areas(inner: &str) -> Vec<([u8; 3], f64)> {
    drawn(inner).unwrap().areas.iter().map(|(rgb, region)| (*rgb, region.area())).collect()
}

fn one_area(inner: &str) -> f64 {
    match areas(inner)[..] {
        [(_, area)] => area,
        ref other => panic!("{other:?}"),
    }
}

const PI: f64 = std::f64::consts::PI;

#[test]
fn strokes_become_the_outlines_they_cover() {
    let near = |inner: &str, wanted: f64| {
        let area = one_area(inner);
        // Circles and round caps are drawn as parabolas, up to 3e-4 too large.
        assert!((area / wanted - 1.0).abs() < 3e-4, "{inner}: {area}, {wanted} by hand");
    };
    near("<path d='M10 50H90' stroke='#000' stroke-width='10'/>", 800.0);
    near("<path d='M10 50H90' stroke='#000' stroke-width='10' stroke-linecap='square'/>", 900.0);
    near("<path d='M10 50H90' stroke='#000' stroke-width='10' stroke-linecap='round'/>", 800.0 + PI * 25.0);
    near(
        "<circle cx='50' cy='50' r='30' fill='none' stroke='#000' stroke-width='10'/>",
        PI * (libm::pow(35.0f64, 2.0) - libm::pow(25.0f64, 2.0)),
    );
    // A right angle: mitred it is a square corner, bevelled it lacks half of it.
    let corner = |join: &str| {
        format!(
            "<path d='M10 90V10H90' fill='none' stroke='#000' stroke-width='8' stroke-linejoin='{join}'/>"
        )
    };
    near(&corner("miter"), 80.0 * 8.0 * 2.0);
    near(&corner("bevel"), 80.0 * 8.0 * 2.0 - 8.0);
    near(&corner("round"), 80.0 * 8.0 * 2.0 - 16.0 + PI * 4.0);
    // Dashes of 5 in periods of 8, from the start: ten of them in 80.
    near("<path d='M10 50H90' stroke='#000' stroke-width='10' stroke-dasharray='5 3'/>", 500.0);
    // A stroke under a transform is squeezed with it.
    near("<g transform='scale(1 .5)'><path d='M10 50H90' stroke='#000' stroke-width='10'/></g>", 400.0);
}

#[test]
fn fills_go_by_their_rule_and_clips_are_cut() {
    let double = "M10 10H60V60H10ZM30 30H90V90H30Z";
    let near = |inner: &str, wanted: f64| assert!((one_area(inner) - wanted).abs() < 1e-3, "{inner}");
    near(&format!("<path d='{double}'/>"), 2500.0 + 3600.0 - 900.0);
    near(&format!("<path fill-rule='evenodd' d='{double}'/>"), 2500.0 + 3600.0 - 1800.0);
    // A path that crosses itself: the bow tie of two triangles.
    near("<path d='M10 10L90 90V10L10 90Z'/>", 3200.0);
    let clip = "<clipPath id='c'><rect x='20' y='0' width='30' height='100'/></clipPath>";
    near(&format!("{clip}<rect x='10' y='10' width='80' height='10' clip-path='url(#c)'/>"), 300.0);
    // In units of the box that is clipped.
    let clip = "<clipPath id='c' clipPathUnits='objectBoundingBox'><rect width='.5' height='.5'/></clipPath>";
    near(&format!("{clip}<rect x='10' y='10' width='80' height='40' clip-path='url(#c)'/>"), 800.0);
    // What lies beside the page does not show.
    near("<rect x='50' y='50' width='100' height='100'/>", 2500.0);
    // Hidden, see-through to nothing, no width: nothing to carry.
    near(
        "<rect width='10' height='10'/><rect width='90' height='90' fill-opacity='0'/><path d='M0 0H90' stroke='red' stroke-width='0'/><g display='none'><rect width='90' height='90'/></g>",
        100.0,
    );
}

#[test]
fn the_painters_order_becomes_areas_side_by_side() {
    let found = areas(
        "<rect width='60' height='60' fill='red'/><rect x='30' y='30' width='60' height='60' fill='#00f'/>\
         <path d='M0 50H100' stroke='red' stroke-width='2'/>",
    );
    // 3600 less the 900 under the blue, and what of the line lies beside them or over the blue.
    assert_eq!(found[0].0, [255, 0, 0]);
    let (red, blue) = (found[0].1, found[1].1);
    assert!(
        (red - (2700.0 + 2.0 * 30.0 + 2.0 * 40.0)).abs() < 1e-3 && (blue - (3600.0 - 120.0)).abs() < 1e-3,
        "{found:?}"
    );
    let picture =
        drawn("<rect width='60' height='60' fill='red'/><circle cx='60' cy='60' r='20' fill='#0f0'/>")
            .unwrap();
    let sum: f64 = picture.areas.iter().map(|(_, region)| region.area()).sum();
    assert!((sum / picture.silhouette.area() - 1.0).abs() < 1e-6);
    assert_eq!(picture.silhouette.rings.len(), 1, "no hairline is left between the two");
}

#[test]
fn what_film_cannot_carry_is_refused_by_name_and_place() {
    let gradient =
        "<linearGradient id='sky'><stop offset='0'/><stop offset='1' stop-color='#fff'/></linearGradient>";
    let cases: &[(&str, &str, usize)] = &[
        (
            "\n<defs>{g}</defs>\n<rect width='9' height='9' fill='url(#sky)'/>",
            "a gradient (`linearGradient`) called `sky`",
            3,
        ),
        (
            "<pattern id='p' width='4' height='4' patternUnits='userSpaceOnUse'><rect width='2' height='2'/></pattern><rect width='9' height='9' fill='url(#p)'/>",
            "a pattern (`pattern`) called `p`",
            2,
        ),
        (
            "<filter id='f'><feGaussianBlur stdDeviation='2'/></filter>\n<rect width='9' height='9' filter='url(#f)'/>",
            "a filter called `f`",
            2,
        ),
        (
            "<mask id='m'><rect width='5' height='5' fill='#fff'/></mask>\n<rect width='9' height='9' mask='url(#m)'/>",
            "a mask called `m`",
            2,
        ),
        (
            "<rect width='9' height='9'/>\n<g opacity='.5'><rect width='9' height='9'/></g>",
            "something one can see through (`opacity`)",
            3,
        ),
        (
            "<rect width='9' height='9' fill-opacity='.5'/>",
            "something one can see through (`fill-opacity`)",
            2,
        ),
        (
            "<rect width='9' height='9' fill='rgba(1,2,3,.5)'/>",
            "something one can see through (`fill-opacity`)",
            1,
        ),
        (
            "<g style='mix-blend-mode:multiply'><rect width='9' height='9'/></g>",
            "colours that blend (`mix-blend-mode`)",
            2,
        ),
        ("<image href='data:image/png;base64,AAAA' width='9' height='9'/>", "a raster image", 2),
        ("<image href='photo.png' width='9' height='9'/>", "`image` points outside the file: `photo.png`", 2),
        ("<use href='other.svg#a'/>", "`use` points outside the file: `other.svg#a`", 2),
        ("<use xlink:href='#nowhere'/>", "`use` points to `#nowhere`, which is not in the file", 2),
        (
            "<rect width='9' height='9' fill='url(https://harrow-tarn.example/a.svg#b)'/>",
            "`rect` points outside the file: `https://harrow-tarn.example/a.svg#b`",
            2,
        ),
        ("<script>go()</script>", "a script, and scripts are never run", 2),
        ("<rect width='9' height='9' onload='go()'/>", "a script, and scripts are never run", 2),
        ("<foreignObject/>", "`foreignObject` is not carried", 2),
        (
            "<rect width='9' height='9'><animate attributeName='x'/></rect>",
            "something that moves: `animate`",
            2,
        ),
        (
            "<style>@import 'x.css';</style><rect width='9' height='9'/>",
            "a rule with `@` in a style sheet",
            2,
        ),
        ("<path d='M0 0H9V9Hx'/>", "the data of this `path` break off", 2),
        ("<polygon points='0 0 9 9 4'/>", "the data of this `polygon` break off", 2),
        ("<text y='20'>RESCUE</text>", "text, and no font is given", 2),
        ("<g id='a'><use href='#a'/></g>", "an element that is made of itself", 2),
        ("<path d='M0 0H99' stroke='red' stroke-dasharray='.001'/>", "a line of more than 20000 dashes", 2),
        ("<rect width='0' height='9'/>", "nothing shows", 1),
    ];
    for (inner, message, line) in cases {
        let inner = inner.replace("{g}", gradient);
        let refused = drawn(&inner).expect_err(&inner);
        let found = refused.iter().find(|refused| refused.message == *message);
        let found = found.unwrap_or_else(|| panic!("{inner}: {refused:?}"));
        let text = format!("{SVG}{inner}</svg>");
        assert_eq!(text[..found.at.start].matches('\n').count() + 1, *line, "{inner}");
        assert!(!found.help.is_empty());
    }
}

#[test]
fn files_made_to_exhaust_a_reader_are_refused_at_once() {
    let mut uses = String::from("<g id='g0'><rect width='1' height='1'/></g>");
    for k in 1..40 {
        uses += &format!("<g id='g{k}'><use href='#g{0}'/><use href='#g{0}'/></g>", k - 1);
    }
    let refused = drawn(&uses).unwrap_err();
    assert_eq!(refused[0].message, "written out, it has more than 2000000 elements and corners");
    let deep = format!("{}<rect width='1' height='1'/>{}", "<g>".repeat(100_000), "</g>".repeat(100_000));
    assert_eq!(drawn(&deep).unwrap_err()[0].message, "elements nested more than 200 deep");
    let mut laughs = String::from("<!DOCTYPE svg [<!ENTITY a0 'ha'>");
    for k in 1..12 {
        laughs += &format!("<!ENTITY a{k} '{}'>", format!("&a{};", k - 1).repeat(10));
    }
    laughs += "]><svg xmlns='http://www.w3.org/2000/svg'><title>&a11;</title></svg>";
    assert!(picture::read(&laughs, None).unwrap_err()[0].message.starts_with("not SVG"));
    let rules = ".a{fill:red}".repeat(20_000);
    let many = format!("<style>{rules}</style>{}", "<rect/>".repeat(20_000));
    assert!(drawn(&many).unwrap_err()[0].message.starts_with("written out"));
    let big = " ".repeat(picture::MOST_BYTES);
    assert_eq!(drawn(&big).unwrap_err()[0].message, "the file is 5 MiB long");
    for text in [
        "",
        "<",
        "nothing",
        "<html/>",
        "\0",
        "<svg xmlns='http://www.w3.org/2000/svg' width='0' height='0'/>",
    ] {
        assert!(!picture::read(text, None).unwrap_err().is_empty(), "{text}");
    }
}

/// The first thing said of a drawing, and where in the file.
fn first_refused(inner: &str) -> (String, usize) {
    let refused = drawn(inner).expect_err(inner);
    assert!(!refused[0].help.is_empty());
    (refused[0].message.clone(), refused[0].at.start)
}

#[test]
fn numbers_beyond_all_measure_are_refused_where_they_stand() {
    let nines = "9".repeat(99);
    // An element, the property, the number as it is told.
    let cases = [
        (format!("<path d='M1 1A{nines} 3 0 0 1 20 20' stroke='red'/>"), "d", "1e99"),
        (format!("<path d='M1 1A3 -{nines} 0 0 1 20 20'/>"), "d", "1e99"),
        ("<path d='M0 0H1e30V1e30Z'/>".into(), "d", "1e30"),
        ("<path d='M0 0C1e38 1e38 3e38 1e38 9 9Z'/>".into(), "d", "3e38"),
        ("<path d='m0 0q9 9 9-1e300'/>".into(), "d", "1e300"),
        ("<path d='M1 1L9 9' stroke='red' stroke-width='1e300'/>".into(), "stroke-width", "1e300"),
        ("<path d='M1 1L9 9' style='stroke:red;stroke-width: 1e300px'/>".into(), "stroke-width", "1e300"),
        ("<style>path{stroke-width:1e300}</style><path d='M1 1L9 9'/>".into(), "stroke-width", "1e300"),
        ("<path d='M1 1L9 9' stroke-dasharray='1e-30, 1e300'/>".into(), "stroke-dasharray", "1e300"),
        ("<path d='M1 1L9 9' stroke-dashoffset='-1e30'/>".into(), "stroke-dashoffset", "-1e30"),
        (
            "<g transform='translate(3) scale(1e200)'><rect width='9' height='9'/></g>".into(),
            "transform",
            "1e200",
        ),
        ("<rect width='9' height='9' style='transform:scale(1e30)'/>".into(), "transform", "1e30"),
        ("<circle r='3e38'/>".into(), "r", "3e38"),
        ("<circle r='1e36%'/>".into(), "r", "1e36"),
        (format!("<circle r='{nines}.5mm'/>"), "r", &nines[..40]),
        ("<ellipse rx='1e30' ry='1e-30'/>".into(), "rx", "1e30"),
        ("<rect x='-1e10' width='9' height='9' rx='1'/>".into(), "x", "-1e10"),
        ("<rect width='3e38' height='9' rx='1e38'/>".into(), "width", "3e38"),
        ("<polygon points='0 0 1e30 0 0,9'/>".into(), "points", "1e30"),
        ("<line x2='1e400' stroke='red'/>".into(), "x2", "1e400"),
        ("<svg viewBox='0 0 1e30 1e-30'><circle r='9'/></svg>".into(), "viewBox", "1e30"),
        ("<text font-size='1e30'>HO</text>".into(), "font-size", "1e30"),
        ("<text style='font: bold 1e30px Face'>HO</text>".into(), "font", "1e30"),
        ("<text letter-spacing='1e300'>HO</text>".into(), "letter-spacing", "1e300"),
        ("<path d='M1 1L9 9' stroke='red' stroke-width='2e6'/>".into(), "stroke-width", "2e6"),
        ("<path d='M1 1L9 9' stroke='red' stroke-width='2e4in'/>".into(), "stroke-width", "2e4"),
        ("<style>path{/* ; */stroke-width:1e9}</style><path d='M1 1L9 9'/>".into(), "stroke-width", "1e9"),
    ];
    for (inner, property, number) in cases {
        let (message, at) = first_refused(&inner);
        assert!(message.starts_with(&format!("`{property}` of this `")), "{inner}: {message}");
        let told = message.split_once("beyond all measure: ").map(|(_, told)| told.trim_end_matches('…'));
        assert_eq!(told, Some(number), "{inner}: {message}");
        // Of a style, where it begins; else the attribute.
        let place = match inner.find(&format!("{property}='")) {
            Some(place) => place,
            None => inner.find("style=").or(inner.find("<style>")).unwrap(),
        };
        assert_eq!(at, SVG.len() + place, "{inner}");
    }
    assert_eq!(
        messages(plan(
            "width: 1 m",
            "",
            &format!(
                "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 9 9'>\n <path d='M0 0V{nines}'/></svg>"
            )
        )),
        ["specs/crest.svg:2:8 `d` of this `path` has a number beyond all measure: 1e99"]
    );
    // What is in no namespace is drawn all the same.
    let other =
        "<s:svg xmlns:s='http://www.w3.org/2000/svg' viewBox='0 0 9 9'><path d='M0 0V1e30H9Z'/></s:svg>";
    let refused = picture::read(other, None).unwrap_err();
    assert_eq!(refused[0].message, "`d` of this `path` has a number beyond all measure: 1e30");
    // Within the bound, and words that only look like numbers.
    let square = "<rect id='x1e99' class='a-1e99' width='9' height='9' fill='#1e9999'/>";
    assert!((one_area(square) - 81.0).abs() < 1e-3);
    assert!(
        (one_area("<svg width='9' height='9' viewBox='0 0 5e7 5e7'><path d='M0 0H5e7V5e7'/></svg>") - 40.5)
            .abs()
            < 1e-3
    );
}

#[test]
fn what_plain_numbers_multiply_to_is_refused_before_it_is_worked_out() {
    let reach = "a shape that reaches more than 10000000 units out";
    let far = "a line with a stroke that reaches more than 1000000 units out";
    let corners = "more than 1000000 corners once curves are flattened";
    let told = "lengths told in other lengths, until they are beyond all measure";
    let nested = |open: &str, times: usize, close: &str, inner: &str| {
        format!("{}{inner}{}", open.repeat(times), close.repeat(times))
    };
    let (line, area) = ("<path d='M0 0C9 9 0 9 9 0' stroke='red'/>", "<path d='M0 0C9 9 0 9 9 0'/>");
    let scaled = |inner: &str| nested("<g transform='scale(1e9)'>", 3, "</g>", inner);
    let viewed = |inner: &str| {
        nested("<svg width='9' height='9' viewBox='0 0 1e-3 1e-3' overflow='visible'>", 4, "</svg>", inner)
    };
    let wild = |times: usize, size: &str| {
        format!("M0 0{}", format!("C{size} 0 0 {size} {size} {size} 0 0 1 2 3 4").repeat(times))
    };
    let marker = "<marker id='m' overflow='visible'><circle r='9' stroke='red'/></marker>";
    let cases = [
        (scaled(area), reach),
        (scaled(line), far),
        (viewed(area), reach),
        (viewed(line), far),
        (
            "<symbol id='a' viewBox='0 0 1e-30 1e-30'><circle r='9'/></symbol><use href='#a' width='9'/>"
                .into(),
            reach,
        ),
        (format!("<g transform='skewX(89.9999999999)'>{area}</g>"), reach),
        (format!("<path d='M1 1{}Z'/>", "a1 1 0 0 1 1e9 0".repeat(2000)), reach),
        ("<path d='M1 1A1e-30 1 0 0 1 1e9 1e9Z'/>".into(), reach),
        ("<path d='M1 1A1e9 3 0 0 1 20 20' stroke='red'/>".into(), far),
        (format!("<path d='{}'/>", wild(200, "1e9")), reach),
        (format!("<path d='{}' stroke='red' stroke-width='1e6'/>", wild(200, "1e9")), far),
        (format!("<path d='{}' fill='none' stroke='red' stroke-width='3'/>", wild(2000, "1e6")), corners),
        (format!("<path d='{}' fill='none' stroke='red' stroke-width='9e5'/>", wild(500, "1e6")), corners),
        (format!("{marker}<path d='M0 0H9' stroke='red' stroke-width='1e6' marker-end='url(#m)'/>"), far),
        (nested("<g font-size='1e3em'>", 3, "</g>", "<circle r='1e3em'/>"), told),
        (format!("<style>g{{font-size:50em}}</style>{}", nested("<g>", 6, "</g>", "<circle r='1'/>")), told),
        (nested("<svg width='10000%' height='10000%'>", 10, "</svg>", "<circle r='10%'/>"), told),
        ("<g font-size='1e8'><path d='M0 0H9' stroke='red' stroke-width='.1em'/></g>".into(), told),
        (
            "<path d='M0 0H99' stroke='red' stroke-dasharray='1e-30'/>".into(),
            "a line of more than 20000 dashes",
        ),
    ];
    for (inner, message) in cases {
        let begun = std::time::Instant::now();
        assert_eq!(first_refused(&inner).0, message, "{inner:.200}");
        // Within a second where the machine has nothing else to do.
        assert!(begun.elapsed().as_secs() < 20, "{inner:.200}: {:?}", begun.elapsed());
    }
    // On a page of no size every curve is a long one.
    let tiny = |side: &str| {
        let svg = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {side} {side}'><path d='M0 0C1e6 0 1e6 1e6 0 1e6' stroke='red'/></svg>"
        );
        picture::read(&svg, None).unwrap_err()[0].message.clone()
    };
    assert_eq!([tiny("1e-3"), tiny("1e-9"), tiny("1e-30")], [corners; 3]);
    // What ends well: an arc whose radii are stretched to reach its end, and one as good as straight.
    let near = |inner: &str, wanted: f64| assert!((one_area(inner) / wanted - 1.0).abs() < 3e-4, "{inner}");
    near("<path d='M10 50A1e-3 1e-3 0 0 1 90 50Z'/>", PI * 800.0);
    near("<path d='M10 50A1e9 1e9 0 0 1 90 50' fill='none' stroke='red' stroke-width='10'/>", 800.0);
    near("<rect width='40' height='40' rx='1e9'/>", PI * 400.0);
    // Dashes too short for single precision are none at all, as viewers have it.
    near("<path d='M10 50H90' stroke='red' stroke-width='10' stroke-dasharray='1e-300'/>", 800.0);
}

#[test]
fn text_is_set_in_the_font_given_and_a_lacking_letter_is_named() {
    let text = |line: &str| {
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 400 100'><text y='80' font-size='100' font-family='Unknown'>{line}</text></svg>"
        )
    };
    let face = Face::new("face.ttf", FACE.to_vec()).unwrap();
    let picture = picture::read(&text("HH"), Some(&face)).unwrap();
    // Capitals of this face are 700 units of 1000 high (its own OS/2 table).
    assert!((picture.bounds().height() - 70.0).abs() < 0.5, "{}", picture.bounds().height());
    assert_eq!(picture.silhouette.rings.len(), 2);
    let refused = picture::read(&text("H\u{5d0}"), Some(&face)).unwrap_err();
    assert_eq!(refused[0].message, "`face.ttf` has no letter `\u{5d0}` (U+05D0)");
    assert!(Face::new("x", b"no font".to_vec()).is_none());
}

/// A spec with one artwork, its files in memory.
fn plan(drawn: &str, more: &str, svg: &str) -> Result<Plan, Vec<spec::Problem>> {
    let text = format!(
        "markloft: 1\nscales: 1/48\ncolours: {{rescue-red: \"#c8321e\", bone: \"#efe9dc\"}}\nparts:\n  door: {{shape: {{flat: {{width: 2 m, height: 2 m, face: left}}}}}}\nmarkings:\n  crest: {{part: door, {more}draw: {{artwork: {{file: crest.svg, {drawn}}}}}}}\n"
    );
    let open = |name: &str| match name {
        "crest.svg" => Ok(svg.as_bytes().to_vec()),
        "face.ttf" => Ok(FACE.to_vec()),
        _ => Err("there is no such file or folder".to_owned()),
    };
    spec::read("specs/a.yaml", text.as_bytes(), &open)
}

fn messages(found: Result<Plan, Vec<spec::Problem>>) -> Vec<String> {
    found.unwrap_err().iter().map(|problem| format!("{} {}", problem.place, problem.message)).collect()
}

#[test]
fn an_artwork_is_set_at_its_size_in_the_colours_of_the_spec() {
    let crest = fs::read_to_string(data().join("crest.svg")).unwrap();
    let plan = plan("width: 30 in, colours: {\"#2f6f8f\": bone}", "", &crest).unwrap();
    let Draw::Artwork(artwork) = &plan.markings[0].draw else { panic!("an artwork") };
    let bounds = artwork.silhouette.bounds();
    assert!((bounds.width() - 762.0).abs() < 1e-9 && bounds.center().to_vector().length() < 1e-9);
    let names: Vec<&str> =
        artwork.areas.iter().map(|area| plan.colours[area.colour.0].name.as_str()).collect();
    assert_eq!(names, ["bone", "#1d2733", "rescue-red"], "equal to the spec's, mapped, or by digits");
    let outcome = batch::work_out(plan, &Choice::default()).unwrap();
    let size = outcome.scales[0].pieces[0].fit.size;
    assert!((size.width.to_mm() - 762.0 / 48.0).abs() < 1e-9);
}

#[test]
fn mistakes_about_an_artwork_are_placed() {
    let square =
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 9 9'>\n<rect width='9' height='9'/></svg>";
    let told = |drawn: &str, more: &str, svg: &str| messages(plan(drawn, more, svg)).join("; ");
    assert!(told("", "", square).contains("the artwork has no size"));
    assert!(told("width: 1 m, height: 1 m", "", square).contains("`width` and `height` together"));
    assert!(
        told("width: 1 m, font: lost.ttf", "", square)
            .contains("`lost.ttf` cannot be read: there is no such file")
    );
    assert!(told("width: 1 m, font: crest.svg", "", square).contains("this is no font"));
    assert!(
        told("width: 1 m, colours: {\"#123456\": bone}", "", square)
            .contains("the artwork has no colour `#123456`")
    );
    assert!(
        told("width: 1 m", "colours: [bone, bone], ", square)
            .contains("an artwork brings colours of its own")
    );
    assert_eq!(
        told("width: 1 m", "", &square.replace("/><", "><animate/></rect><")),
        "specs/crest.svg:2:28 something that moves: `animate`"
    );
    // One colour suits an artwork of one colour.
    let plan = plan("width: 1 m", "colour: bone, ", square).unwrap();
    let Draw::Artwork(artwork) = &plan.markings[0].draw else { panic!("an artwork") };
    assert_eq!(plan.colours[artwork.areas[0].colour.0].name, "bone");
}

/// The picture as our own SVG writer gives it, one unit to the millimetre.
fn ours(picture: &Picture) -> String {
    let [width, height] = picture.page;
    let fill = |(rgb, region): &([u8; 3], markloft::outline::Region<markloft::units::Full>)| Item::Fill {
        outline: markloft::outline::Region::new(region.rings.clone()).to_outline(),
        rgb: *rgb,
    };
    let sheet = Sheet {
        stem: "decal-1".to_owned(),
        page: Size { width: Length::mm(width), height: Length::mm(height) },
        scales: Vec::new(),
        make: Make::Decal,
        colour: None,
        step: None,
        pieces: Vec::new(),
        outlines: Vec::new(),
        used_share: 0.0,
        layers: vec![Layer::new(Purpose::Artwork, picture.areas.iter().map(fill).collect())],
    };
    markloft::write::svg(&sheet, "icon")
}

fn rendered(svg: &str, pixels: u32) -> Pixmap {
    let tree = resvg::usvg::Tree::from_str(svg, &resvg::usvg::Options::default()).unwrap();
    let size = tree.size();
    let factor = pixels as f32 / size.width().max(size.height());
    let mut pixmap = Pixmap::new(pixels, pixels).unwrap();
    pixmap.fill(resvg::tiny_skia::Color::WHITE);
    resvg::render(&tree, Transform::from_scale(factor, factor), &mut pixmap.as_mut());
    pixmap
}

/// Mean difference of the colour values, and the share of pixels that differ by more than a quarter.
fn difference(one: &Pixmap, other: &Pixmap) -> (f64, f64) {
    let apart = |(a, b): (&u8, &u8)| f64::from(a.abs_diff(*b));
    let mean = one.data().iter().zip(other.data()).map(apart).sum::<f64>() / one.data().len() as f64 / 255.0;
    let pixels = one.data().chunks_exact(4).zip(other.data().chunks_exact(4));
    let far = pixels.clone().filter(|(a, b)| a.iter().zip(*b).any(|pair| apart(pair) > 64.0)).count();
    (mean, far as f64 / pixels.count() as f64)
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    found.retain(|path| path.extension().is_some_and(|ending| ending == "svg"));
    found.sort();
    found
}

#[test]
fn our_areas_look_like_the_original() {
    let mut folders = vec![data()];
    folders.extend(std::env::var_os("MARKLOFT_ICONS").map(PathBuf::from));
    let (mut alike, mut unlike, mut refusals, mut worst) = (0, Vec::new(), Vec::new(), 0.0f64);
    for path in folders.iter().flat_map(|folder| files(folder)) {
        let text = fs::read_to_string(&path).unwrap();
        let picture = match picture::read(&text, None) {
            Ok(picture) => picture,
            Err(refused) => {
                assert!(!refused.is_empty() && refused.iter().all(|refused| !refused.message.is_empty()));
                refusals.push(format!("{}: {}", path.display(), refused[0].message));
                continue;
            }
        };
        let (mean, far) = difference(&rendered(&text, 128), &rendered(&ours(&picture), 128));
        // Seams between neighbours are blended with the paper, a pixel wide: a few pixels may be far off.
        if mean > 0.004 || far > 0.004 {
            unlike.push(format!("{}: mean {mean:.5}, far {far:.5}", path.display()));
        }
        worst = worst.max(mean);
        alike += 1;
    }
    println!("{alike} pictures alike, worst mean difference {worst:.5}; {} refused", refusals.len());
    refusals.iter().for_each(|refusal| println!("refused {refusal}"));
    assert!(unlike.is_empty(), "{unlike:#?}");
    assert!(alike >= 3);
}
