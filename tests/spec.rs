//! The language from outside: a spec in, a plan or every problem of it out.
//!
//! Problems are tested by slips made in one good spec; `▸` marks where each
//! must be shown, so line and column are asserted without being counted.

use markloft::flow::*;
use markloft::spec::{Problem, read};
use markloft::units::{Full, Length};
use proptest::prelude::*;
use std::time::{Duration, Instant};

/// What is read of a spec unless limits are raised.
const MAX_BYTES: usize = 4 << 20;

const GOOD: &str = r##"markloft: 1
title: Harrow Tarn Air Rescue, crew and tail
scales: [1/72, 1/48, full]
colours: {rescue-red: "#c8321e", bone: "#efe9dc"}
films:
  decal: {stretch: 1.5 %, softened: {stretch: 6 %}, border: 0.6 mm}
parts:
  helmet:
    shape: {ellipsoid: {length: 285 mm, width: 240 mm, height: 255 mm}}
    measured:
      1/48: {length: 5.0 mm, width: 4.2 mm, over: {from: visor-edge, to: rim, length: 7.1 mm}}
    limits:
      visor-edge: {aft: -95 mm, keep: behind}
      rim: {up: -60 mm, keep: above}
      ear: {seen: left, outline: [[-30 mm, -50 mm], [-30 mm, 10 mm], [40 mm, 10 mm]], keep: outside}
  tail-boom:
    shape: {cone: {front: 1.10 m, rear: 0.52 m, length: 3.4 m}}
    seam: left
  door:
    shape: {flat: {width: 1.2 m, height: 1.1 m, face: left}}
  skid: {shape: {cylinder: {diameter: 3 in, length: 2.4 m}}}
  nose: {shape: {sphere: {diameter: 1.3 m}}}
markings:
  crown-stripe:
    part: helmet
    draw: {stripe: {width: 50 mm, length: 360 mm}}
    colour: rescue-red
    at: {from: visor-edge}
    hold: front
    lay: drape
    may_trim: rear
    make: [decal, mask]
    copies: 2
    note: Work aft.
  badge:
    part: helmet
    made: 1/48
    draw: {disc: {diameter: 2.4 mm}}
    colour: "#1F4E79"
    at: {seen: right, aft: 10 mm, up: 15 mm, turn: 30 deg}
  tail-band:
    part: tail-boom
    draw: {band: {width: 18 in}}
    colour: bone
    lay: {follow: {ring: {station: 1.8 m}}}
    make: mask
    piece: {overlap: 0.8 mm}
  roundel:
    part: door
    draw: {roundel: {diameter: 30 in, rings: [1, 3, 5]}}
    colours: [rescue-red, bone, rescue-red]
  checks:
    part: nose
    draw: {checks: {square: 110 mm, rows: 2}}
    colours: [bone, rescue-red]
    lay: {follow: {ring: {station: -350 mm}}}
  hazard:
    part: skid
    draw: {hazard: {width: 300 mm, length: 60 cm, stripe: 42 mm}}
    colours: [bone, rescue-red]
    at: {station: 1.2 m, around: bottom}
sheets: {page: A5, landscape: true, margin: 6 mm}
printer: {dpi: 300}
"##;

fn alone(_: &str) -> Result<Vec<u8>, String> {
    Err("there is no such file".into())
}

fn plan_of(text: &str) -> Plan {
    read("specs/harrow-tarn.yaml", text.as_bytes(), &alone).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

fn problems_of(text: &str) -> Vec<Problem> {
    read("a.yaml", text.as_bytes(), &alone).expect_err("the spec has problems")
}

/// The good spec with `old` written as `new`, and the place of the `▸` in it.
fn slip(old: &str, new: &str) -> (String, String) {
    assert_eq!(GOOD.matches(old).count(), 1, "`{old}` must be in the good spec once");
    let text = GOOD.replace(old, new);
    let (before, _) = text.split_once('▸').expect("a mark");
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    (text.replace('▸', ""), format!("a.yaml:{line}:{column}"))
}

/// One slip makes one problem, in its place, with its cure.
#[track_caller]
fn wrong(old: &str, new: &str, message: &str, help: &str) {
    let (text, place) = slip(old, new);
    let problems = problems_of(&text);
    assert_eq!(problems.len(), 1, "{problems:#?}");
    let problem = &problems[0];
    assert!(problem.message.contains(message), "message: {}", problem.message);
    assert!(problem.help.contains(help), "help: {}", problem.help);
    assert_eq!(problem.place.to_string(), place, "{}", problem.message);
    cure_works(&text, problem);
}

/// Where a cure is words to write, they are written in the place that is marked, and the problem is gone. (What
/// any other cure describes is the good spec itself, from which the slip was made.)
#[track_caller]
fn cure_works(text: &str, problem: &Problem) {
    let starts = ["did you mean", "write `1/", "name the unit", "quote the colour: \""];
    if !starts.iter().any(|start| problem.help.starts_with(start)) {
        return;
    }
    let line: usize = text.split_inclusive('\n').take(problem.place.line as usize - 1).map(str::len).sum();
    let column = problem.place.column as usize - 1;
    let start = line + text[line..].char_indices().nth(column).map_or(0, |(byte, _)| byte);
    let end = start + problem.excerpt.len;
    let words = problem.help.split('`').skip(1).step_by(2);
    let quoted = problem.help.strip_prefix("quote the colour: ");
    // What stood after a colour that was read as a comment is back once it is quoted.
    let cured = |word: &str| format!("{}{word}{}", &text[..start], &text[end..]);
    let gone = |word: &str| match read("a.yaml", cured(word).as_bytes(), &alone) {
        Ok(_) => true,
        Err(problems) => problems.iter().all(|other| other.message != problem.message),
    };
    assert!(words.chain(quoted).any(gone), "no cure in `{}` works", problem.help);
}

fn mm<W: Copy>(length: Length<W>) -> f64 {
    (length.to_mm() * 1e9).round() / 1e9
}

// What a good spec comes to.

#[test]
fn a_good_spec_is_read_to_the_last_word() {
    let plan = plan_of(GOOD);
    assert_eq!(plan.name, "harrow-tarn");
    assert_eq!(plan.title, "Harrow Tarn Air Rescue, crew and tail");
    assert_eq!(plan.scales.iter().map(|s| s.denominator()).collect::<Vec<_>>(), [72.0, 48.0, 1.0]);
    let names: Vec<_> = plan.colours.iter().map(|colour| colour.name.as_str()).collect();
    assert_eq!(names, ["rescue-red", "bone", "#1f4e79"]);
    let hexes: Vec<_> = plan.colours.iter().map(Colour::hex).collect();
    assert_eq!(hexes, ["#c8321e", "#efe9dc", "#1f4e79"]);
    assert_eq!(plan.films.decal.plain, Give { stretch: 0.015, squeeze: 0.007 });
    assert_eq!(plan.films.decal.softened, Give { stretch: 0.06, squeeze: 0.04 });
    assert_eq!(mm(plan.films.decal.border), 0.6);
    assert_eq!(plan.films.mask, Films::default().mask);
    // ISO 216: A5 is 148 × 210 mm.
    assert_eq!((mm(plan.sheets.page.width), mm(plan.sheets.page.height)), (210.0, 148.0));
    assert_eq!(mm(plan.sheets.margin), 6.0);
    assert_eq!(plan.printer.dpi.per_inch(), 300.0);
}

#[test]
fn parts_keep_shape_limits_calipers_and_seam() {
    let plan = plan_of(GOOD);
    let helmet = &plan.parts[0];
    let (length, width, height) = (Length::mm(285.0), Length::mm(240.0), Length::mm(255.0));
    assert_eq!(helmet.shape, Shape::Ellipsoid { length, width, height });
    assert_eq!(helmet.at.to_string(), "specs/harrow-tarn.yaml:8:3");
    let measured = &helmet.measured[0];
    assert_eq!(measured.scale.denominator(), 48.0);
    assert_eq!(measured.axes, [(Axis::Length, Length::mm(5.0)), (Axis::Width, Length::mm(4.2))]);
    assert_eq!(
        measured.over,
        Some(Over { from: Datum::Limit(0), to: Datum::Limit(1), length: Length::mm(7.1) })
    );
    let plane = |axis, mm, keep_greater| LimitKind::Plane { axis, offset: Length::mm(mm), keep_greater };
    assert_eq!(helmet.limits[0].kind, plane(Direction::Aft, -95.0, true));
    assert_eq!(helmet.limits[1].kind, plane(Direction::Up, -60.0, true));
    let LimitKind::Region { view, outline, keep_inside } = &helmet.limits[2].kind else { panic!("a region") };
    assert_eq!((*view, *keep_inside, outline.len()), (View::Left, false, 3));
    // Turned counter-clockwise: it was given clockwise.
    assert_eq!((outline[0].x, outline[0].y), (40.0, 10.0));
    // Round from the top: left 90°, and bottom where nothing is said.
    assert!((plan.parts[1].seam.to_degrees() - 90.0).abs() < 1e-12);
    assert!((plan.parts[3].seam.to_degrees() - 180.0).abs() < 1e-12);
    let tube = Shape::Cylinder { diameter: Length::inches(3.0), length: Length::mm(2400.0) };
    assert_eq!(plan.parts[3].shape, tube);
}

#[test]
fn markings_are_resolved_against_parts_and_colours() {
    let plan = plan_of(GOOD);
    let [stripe, badge, band, roundel, checks, hazard] = plan.markings.as_slice() else {
        panic!("six markings")
    };
    assert_eq!(stripe.part, PartId(0));
    assert_eq!((stripe.copies, stripe.hold, &stripe.lay), (2, Hold::Front, &Lay::Drape));
    assert_eq!((&stripe.make[..], &stripe.may_trim[..]), (&[Make::Decal, Make::Mask][..], &[End::Rear][..]));
    assert_eq!(stripe.note.as_deref(), Some("Work aft."));
    let Spot::From { datum: Datum::Limit(0), view: View::Top, offset, .. } = stripe.spot else {
        panic!("from the visor edge")
    };
    assert_eq!(mm(offset), 0.0);
    assert_eq!(stripe.at.to_string(), "specs/harrow-tarn.yaml:24:3");
    assert_eq!(stripe.draw_at.to_string(), "specs/harrow-tarn.yaml:26:11");
    assert_eq!(stripe.spot_at.to_string(), "specs/harrow-tarn.yaml:28:9");
    // 2.4 mm on a decal made for 1/48 stand for 115.2 mm.
    let Draw::Disc { diameter, colour: ColourId(2) } = badge.draw else { panic!("a disc") };
    assert!((diameter.to_mm() - 115.2).abs() < 1e-9);
    // Seen from the right, aft is to the left of the paper.
    let Spot::Seen { view: View::Right, across, up, turn } = badge.spot else { panic!("seen") };
    assert_eq!((mm(across), mm(up)), (-10.0, 15.0));
    assert!((turn.to_degrees() - 30.0).abs() < 1e-9);
    assert_eq!(band.lay, Lay::Follow(Line::Ring { station: Length::mm(1800.0) }));
    assert_eq!(band.draw, Draw::Band { widths: vec![Length::inches(18.0)], colours: vec![ColourId(1)] });
    assert_eq!(mm(band.piece.overlap), 0.8);
    let Draw::Roundel { rings, colours, .. } = &roundel.draw else { panic!("a roundel") };
    assert_eq!(
        (&rings[..], &colours[..]),
        (&[1.0, 3.0, 5.0][..], &[ColourId(0), ColourId(1), ColourId(0)][..])
    );
    // No `at` on a flat part: its middle as seen from its face.
    let Spot::Seen { view: View::Left, across, up, .. } = roundel.spot else { panic!("seen from the face") };
    assert_eq!((mm(across), mm(up), &roundel.may_trim[..]), (0.0, 0.0, &[][..]));
    assert!(matches!(checks.draw, Draw::Checks { rows: 2, columns: None, .. }), "checks all the way round");
    assert_eq!(checks.lay, Lay::Follow(Line::Ring { station: Length::mm(-350.0) }));
    let Spot::Station { station, around, .. } = hazard.spot else { panic!("by station") };
    assert!((around.to_degrees() - 180.0).abs() < 1e-9 && mm(station) == 1200.0);
    assert_eq!(hazard.make, [], "left to choose");
}

#[test]
fn without_at_the_middle_is_meant() {
    let plan = plan_of(&GOOD.replace("    at: {station: 1.2 m, around: bottom}\n", ""));
    let Spot::Seen { view: View::Top, across, up, .. } = plan.markings[5].spot else {
        panic!("seen from the top")
    };
    assert_eq!((mm(across), mm(up)), (1200.0, 0.0));
}

#[test]
fn a_band_of_five_stripes_is_written_in_three_ways() {
    // Five equal bands, 18 in each on single-engined aircraft (1944): Smithsonian NASM.
    let five = |draw: &str| {
        let text = GOOD
            .replace("{band: {width: 18 in}}", draw)
            .replace("colour: bone\n    lay", "colours: [bone, rescue-red, bone, rescue-red, bone]\n    lay");
        let Draw::Band { widths, .. } = plan_of(&text).markings[2].draw.clone() else { panic!("a band") };
        widths.into_iter().map(|width| width.to_inches()).collect::<Vec<_>>()
    };
    let wanted = vec![18.0; 5];
    assert_eq!(five("{band: {width: 90 in}}"), wanted);
    assert_eq!(five("{band: {widths: [18 in, 18 in, 18 in, 18 in, 18 in]}}"), wanted);
    assert_eq!(five("\n      band:\n        width: 7 ft 6 in"), wanted);
}

#[test]
fn a_ring_takes_its_station_from_at_and_a_band_lies_on_a_ring_unasked() {
    let ring = "lay: {follow: {ring: {station: 1.8 m}}}";
    for lay in ["lay: {follow: ring}\n    at: {station: 1.8 m, around: top}", "at: {station: 1.8 m}"] {
        let plan = plan_of(&GOOD.replace(ring, lay));
        assert_eq!(plan.markings[2].lay, Lay::Follow(Line::Ring { station: Length::mm(1800.0) }), "{lay}");
    }
}

#[test]
fn every_kind_and_default_of_drawing() {
    let draw = |draw: &str| {
        let text = GOOD.replace("{roundel: {diameter: 30 in, rings: [1, 3, 5]}}", draw);
        let one = "colour: bone\n  checks:";
        plan_of(&text.replace("colours: [rescue-red, bone, rescue-red]\n  checks:", one)).markings[3]
            .draw
            .clone()
    };
    let size = Length::<Full>::mm;
    // The pentagram's inner corners lie at 1/φ² = 0.381966 of the tips' radius, φ the golden section.
    let Draw::Star { points: 5, inner, .. } = draw("{star: {diameter: 1 m}}") else { panic!("a star") };
    let golden = f64::midpoint(1.0, 5.0_f64.sqrt());
    assert!((inner - 1.0 / (golden * golden)).abs() < 1e-12);
    let Draw::Chevron { angle, .. } = draw("{chevron: {width: 30 cm, stroke: 4 cm}}") else {
        panic!("a chevron")
    };
    assert!((angle.to_degrees() - 90.0).abs() < 1e-9);
    let corners = draw("{polygon: {points: [[0 mm, 0 mm], [3 in, 0 mm], [0 mm, 2 in]]}}");
    let Draw::Polygon { points, .. } = corners else { panic!("a polygon") };
    assert!((points[1][0].to_mm() - 76.2).abs() < 1e-9 && points[1][1] == size(0.0));
    let rectangle = Draw::Rectangle { width: size(2000.0), height: size(1000.0), colour: ColourId(1) };
    assert_eq!(draw("{rectangle: {width: 2 m, height: 1 m}}"), rectangle);
}

#[test]
fn marks_at_the_start_and_foreign_line_ends_change_nothing() {
    let plain = format!("{:?}", plan_of(GOOD).markings);
    assert_eq!(format!("{:?}", plan_of(&format!("\u{feff}{GOOD}")).markings), plain);
    assert_eq!(format!("{:?}", plan_of(&GOOD.replace('\n', "\r\n")).markings), plain);
}

#[test]
fn anchors_and_aliases_save_writing() {
    let text = GOOD
        .replace(
            "draw: {stripe: {width: 50 mm, length: 360 mm}}",
            "draw: &d {stripe: {width: 50 mm, length: 9 cm}}",
        )
        .replace("draw: {disc: {diameter: 2.4 mm}}", "draw: *d");
    let Draw::Stripe { length, .. } = plan_of(&text).markings[1].draw else { panic!("a stripe") };
    assert_eq!(mm(length), 90.0 * 48.0);
}

#[test]
fn the_specs_of_this_project_are_good() {
    let mut found = 0;
    for entry in std::fs::read_dir("specs").into_iter().flatten().flatten() {
        let path = entry.path();
        if path.extension().is_some_and(|ending| ending == "yaml") {
            let text = std::fs::read(&path).unwrap();
            let beside = |name: &str| {
                std::fs::read(std::path::Path::new("specs").join(name)).map_err(|error| error.to_string())
            };
            let plan =
                read("specs/a.yaml", &text, &beside).unwrap_or_else(|problems| panic!("{problems:#?}"));
            assert!(!plan.markings.is_empty());
            found += 1;
        }
    }
    assert!(found > 0, "no spec was looked at");
}

// Slips, one by one.

#[test]
fn lengths_and_other_leaf_words() {
    wrong("width: 50 mm", "width: ▸50", "`50` has no unit", "`50 mm` or `50 in`");
    wrong("width: 50 mm", "width: ▸-50 mm", "cannot be negative", "more than nothing");
    wrong("width: 50 mm", "width: ▸0 mm", "cannot be zero", "more than nothing");
    wrong("width: 50 mm", "width: ▸50 mn", "`mn` is no unit of length", "did you mean `");
    wrong("width: 50 mm", "width: ▸.nan", "`NaN` is no size", "a number and a unit");
    wrong("width: 50 mm", "width: ▸.inf", "`inf` is no size", "a number and a unit");
    wrong("width: 50 mm", "width: ▸5000 m", "over 1 km", "unit");
    wrong("width: 50 mm", "width: ▸[50 mm]", "a list `[…]` where a length", "a length such as `18 in`");
    wrong("width: 50 mm", "width: ▸true", "`true` where a length", "a length such as `18 in`");
    wrong("turn: 30 deg", "turn: ▸30", "`30` has no unit", "`30 deg`");
    wrong("seam: left", "seam: ▸lfet", "unknown word `lfet`", "did you mean `left`?");
    wrong("stretch: 1.5 %", "stretch: ▸1.5", "`1.5` is not a per cent", "`1.5 %`");
    wrong("copies: 2", "copies: ▸2.5", "does not count anything", "a whole number");
    wrong("copies: 2", "copies: ▸two", "`two` is not a whole number", "such as `5`");
    wrong("landscape: true", "landscape: ▸ture", "unknown word `ture`", "did you mean `true`?");
    wrong("dpi: 300", "dpi: ▸300 dpi", "is not a plain number", "without a unit");
    wrong("bone: \"#efe9dc\"", "bone: ▸\"#efe9d\"", "is not a colour", "\"#c8321e\", quoted");
}

#[test]
fn scales() {
    wrong("full]", "▸1:32]", "`1:32` is not a scale", "write `1/32`");
    wrong("full]", "▸32]", "`32` is not a scale", "write `1/32`");
    wrong("full]", "▸1/0]", "no scale of a model", "1/10000");
    wrong("full]", "▸1/48.0]", "1/48 is listed twice", "once");
    wrong("[1/72, 1/48, full]", "▸[]", "the list is empty", "at least one");
    wrong("made: 1/48", "made: ▸48", "`48` is not a scale", "write `1/48`");
    wrong("      1/48: {", "      ▸1:48: {", "`1:48` is not a scale", "write `1/48`");
    wrong("      1/48: {", "      ▸48: {", "`48` is not a scale", "write `1/48`");
}

#[test]
fn colours_that_yaml_takes_for_comments() {
    let quote = "quote the colour: \"#efe9dc\"";
    wrong("bone: \"#efe9dc\"", "bone: ▸#efe9dc", "`#efe9dc` is read as a comment", quote);
    wrong("colour: rescue-red\n", "colour: ▸#efe9dc\n", "`#efe9dc` is read as a comment", quote);
    let flow = "{rescue-red: \"#c8321e\", bone: \"#efe9dc\"}";
    let block = "\n  rescue-red: \"#c8321e\"\n  bone: ▸#efe9dc";
    wrong(flow, block, "so the value is empty", quote);
    wrong("colour: rescue-red\n", "▸colour:\n", "the value is empty", "give a value");
}

#[test]
fn unknown_words() {
    wrong("copies: 2", "▸copys: 2", "unknown word `copys`", "did you mean `copies`?");
    wrong("printer: {dpi: 300}", "▸plotter: {}", "unknown word `plotter`", "`printer`");
    wrong(
        "{stripe: {width: 50 mm,",
        "{stripe: {▸widht: 1 mm, width: 50 mm,",
        "unknown word `widht`",
        "`width`",
    );
    wrong("draw: {stripe: {", "draw: {▸glitter: {", "unknown word `glitter`", "`stripe`");
    wrong("shape: {sphere: {", "shape: {▸lotf: {", "unknown word `lotf`", "did you mean `loft`?");
    wrong("lay: drape", "lay: ▸sigth", "unknown word `sigth`", "`sight`");
    let ring = "lay: {follow: {ring: {station: -350 mm}}}";
    wrong(ring, "lay: {follow: {▸spiral: {pitch: 1 m}}}", "unknown word `spiral`", "`ring`");
    wrong("page: A5", "page: ▸B5", "unknown word `B5`", "`A5`");
    wrong("hold: front", "hold: ▸middle", "unknown word `middle`", "`centre`, `front`, `rear`");
    wrong("  decal: {", "  ▸vinyl: {}\n  decal: {", "unknown word `vinyl`", "`decal`, `mask`");
}

#[test]
fn missing_words_and_wrong_forms() {
    wrong("{stripe: {width: 50 mm, ", "{▸stripe: {", "`width` is missing", "add `width: …`");
    wrong("  roundel:\n    part: door\n", "  ▸roundel:\n", "`part` is missing", "add `part: …`");
    let band = "  tail-band:\n    part: tail-boom\n    draw: {band: {width: 18 in}}\n";
    let bare = "  ▸tail-band:\n    part: tail-boom\n    draw: {band: {width: 18 in}}\n";
    wrong(&format!("{band}    colour: bone\n"), bare, "`colour` is missing", "a quoted");
    wrong("markloft: 1\n", "▸", "`markloft` is missing", "add `markloft: …`");
    wrong("markloft: 1", "markloft: ▸2", "version `2`", "`markloft: 1`");
    let disc = "{disc: {diameter: 2.4 mm}}";
    wrong(disc, "▸8", "a word, or a map of one entry", "`stripe`");
    wrong(disc, "▸{disc: {diameter: 2 mm}, star: {diameter: 2 mm}}", "together", "choose one");
    wrong(disc, "▸{}", "nothing is chosen", "`disc`");
    wrong(disc, "{disc: ▸2.4 mm}", "a map `{…}` is wanted here", "{diameter: …}");
    wrong(
        "draw: {disc: {diameter: 2.4 mm}}",
        "▸draw: disc",
        "`diameter` is missing",
        "`{disc: {diameter: …}}`",
    );
    wrong("lay: drape", "lay: {drape: ▸1}", "`drape` takes nothing with it", "the word alone");
    wrong("hold: front", "hold: ▸[front]", "a list where a word or a map is wanted", "a word or a map");
    wrong("rings: [1, 3, 5]", "rings: ▸5", "a list is wanted here", "`[…, …]`");
}

#[test]
fn names() {
    wrong("part: door", "part: ▸dor", "no part is called `dor`", "did you mean `door`?");
    wrong(
        "colour: rescue-red\n",
        "colour: ▸rescue-rad\n",
        "no colour is called",
        "did you mean `rescue-red`?",
    );
    wrong("[rescue-red, bone, rescue-red]", "[rescue-red, ▸ivory, rescue-red]", "called `ivory`", "`bone`");
    wrong(
        "at: {from: visor-edge}",
        "at: {from: ▸visor-egde}",
        "no limit `visor-egde`",
        "did you mean `visor-edge`?",
    );
    wrong("to: rim, length: 7.1", "to: ▸rum, length: 7.1", "no limit `rum`", "did you mean `rim`?");
    wrong("to: rim, length: 7.1", "to: ▸visor-edge, length: 7.1", "ends where it begins", "two limits");
    wrong("  badge:\n", "  ▸the badge:\n", "`the badge` is no name", "letters, digits");
    wrong("{rescue-red: \"", "{▸../etc: \"#000\", rescue-red: \"", "`../etc` is no name", "letters, digits");
}

#[test]
fn keys_given_twice_name_both_places() {
    let copies = "copies: 2\n    ▸copies: 3";
    wrong("copies: 2", copies, "`copies` is given twice: first at a.yaml:33:5", "one of the two");
    let rim = "      rim: {up: -60 mm, keep: above}\n";
    let twice = format!("{rim}      ▸rim: {{up: -50 mm, keep: above}}\n");
    wrong(rim, &twice, "`rim` is given twice: first at a.yaml:14:7", "one of the two");
    let limits = "    limits:\n      visor-edge";
    let again = format!("      ▸1/48.0: {{width: 4 mm}}\n{limits}");
    wrong(limits, &again, "1/48 is measured twice: first at a.yaml:11:7", "one of the two");
}

#[test]
fn parts() {
    wrong("width: 4.2 mm,", "▸diameter: 4.2 mm,", "the ellipsoid has no `diameter`", "`width`");
    wrong(
        "width: 4.2 mm,",
        "width: ▸42 cm,",
        "420 mm were measured where the scale gives 5 mm",
        "of the model",
    );
    wrong("rear: 0.52 m", "rear: ▸-1 m", "cannot be negative", "nothing or more");
    wrong(
        "{front: 1.10 m, rear: 0.52 m",
        "{front: 0.52 m, rear: ▸0.52 m",
        "is a cylinder",
        "write `cylinder",
    );
    wrong("keep: behind", "keep: ▸above", "`keep: above` does not suit `aft`", "`ahead` or `behind`");
    wrong("keep: outside", "keep: ▸left", "`keep: left` does not suit `outline`", "`inside` or `outside`");
    let rim = "rim: {up: -60 mm,";
    wrong(rim, "rim: {aft: 2 mm, ▸up: -60 mm,", "`up` puts the limit in a second place", "one plane");
    wrong(rim, "▸rim: {", "the limit is nowhere", "`aft: -95 mm`");
    wrong(rim, "rim: {up: ▸-160 mm,", "off the part, which reaches from -127.5 to 127.5 mm", "between");
    wrong(rim, "rim: {up: -60 mm, ▸seen: left,", "`seen` goes with an `outline`", "leave it out");
    wrong(
        "visor-edge: {aft: -95 mm",
        "visor-edge: {▸station: 95 mm",
        "the ellipsoid has no stations",
        "`aft`",
    );
    wrong("ear: {seen: left, ", "▸ear: {", "`seen` is missing", "`seen: left`");
    wrong("[-30 mm, 10 mm], [40 mm", "▸[-30 mm], [40 mm", "1 value where 2 are wanted", "a list of 2");
    let ear = "outline: [[-30 mm, -50 mm], [-30 mm, 10 mm], [40 mm, 10 mm]]";
    wrong(ear, "outline: ▸[[1 mm, 1 mm], [2 mm, 2 mm]]", "2 corners enclose nothing", "three corners");
    wrong(ear, "outline: ▸[[1 mm, 1 mm], [2 mm, 2 mm], [3 mm, 3 mm]]", "on one line", "enclose an area");
    let door = "face: left}}";
    wrong(door, "face: left}}\n    ▸seam: top", "nothing closes round a flat part", "leave the seam out");
    wrong(
        "width: 4.2 mm, over",
        "width: 4.2 mm, height: 5 mm, ▸over",
        "nothing is left for the tape to tell",
        "leave one of the sizes out",
    );
    wrong(door, "face: left}}\n    measured: {1/48: ▸{}}", "nothing is measured", "`width`, `height`");
}

#[test]
fn drawings() {
    wrong("rings: [1, 3, 5]", "rings: [1, 3, ▸3]", "ring 3 is not larger", "innermost first");
    wrong(
        "rings: [1, 3, 5]",
        "rings: [▸-1, 3, 5]",
        "ring -1 is not larger than the one before, 0",
        "innermost first",
    );
    wrong(
        "[rescue-red, bone, rescue-red]",
        "▸[rescue-red, bone]",
        "this roundel has 3 colours, 2 given",
        "[…, …, …]",
    );
    let band = "draw: {band: {width: 18 in}}\n    colour: bone";
    let three = "draw: {band: {widths: [1 in, 2 in, 1 in]}}\n    colours: ▸[bone, rescue-red]";
    wrong(band, three, "this band has 3 colours, 2 given", "[…, …, …]");
    wrong(band, "▸draw: {band: {}}\n    colour: bone", "the band has no width", "`widths: […]`");
    let both = "draw: {band: {width: 1 in, ▸widths: [1 in]}}\n    colour: bone";
    wrong(band, both, "`width` and `widths` together", "one of the two");
    wrong("colour: rescue-red\n", "colours: ▸[]\n", "the list is empty", "at least one");
    wrong(
        "colour: rescue-red\n",
        "colour: bone\n    ▸colours: [bone]\n",
        "`colour` and `colours` together",
        "one of",
    );
    let hazard = "draw: {hazard: {width: 300 mm, length: 60 cm, ";
    wrong(hazard, "draw: {▸hazard: {width: 300 mm, ", "`length` is missing", "only round a ring");
    wrong("stripe: 42 mm", "stripe: ▸0.01 mm", "stripes in one marking", "is the unit right?");
    wrong("square: 110 mm", "square: ▸0.11 mm", "squares in one marking", "is the unit right?");
    wrong("stripe: 42 mm}", "stripe: 42 mm, angle: ▸5 deg}", "an angle of 5°", "from 10° to 90°");
    let disc = "draw: {disc: {diameter: 2.4 mm}}";
    wrong(disc, "draw: {star: {diameter: 2 mm, points: ▸2}}", "no star has 2 points", "from 3 to 100");
    wrong(disc, "draw: {star: {diameter: 2 mm, inner: ▸1.5}}", "`inner` of 1.5", "below 1");
    wrong(disc, "draw: {disc: {diameter: ▸30 m}}", "`1440000 mm at full size` is over 1 km", "unit");
    wrong(disc, "draw: {polygon: {points: ▸[[0 mm, 0 mm]]}}", "1 corner encloses nothing", "three corners");
    let bow_tie = "draw: {polygon: {points: ▸[[0 mm, 0 mm], [3 mm, 3 mm], [3 mm, 0 mm], [0 mm, 4 mm]]}}";
    wrong(disc, bow_tie, "the sides from corner 1 and from corner 3 cross", "walks round the outline");
}

#[test]
fn places_and_lays() {
    let seen = "at: {seen: right, aft: 10 mm, up: 15 mm, turn: 30 deg}";
    wrong(
        seen,
        "at: {seen: right, ▸left: 10 mm}",
        "along the line of sight from right",
        "`aft`, `forward`, `up`",
    );
    wrong(seen, "at: {▸up: 10 mm}", "along the line of sight from top", "`aft`, `forward`, `right`, `left`");
    wrong(seen, "at: {aft: 1 mm, ▸forward: 2 mm}", "`forward` and `aft` together", "one of the two");
    wrong(seen, "at: ▸{aft: 1 mm, right: 13 cm}", "beside the part", "its centre");
    wrong("note: Work aft.", "note: ▸70.950", "`70.95` is read as a number", "quote it");
    wrong(seen, "at: {▸station: 10 mm}", "the ellipsoid has no stations", "seen from a side");
    wrong(seen, "at: {▸offset: 10 mm}", "`offset` goes with `from`", "visor-edge");
    wrong(seen, "at: {from: rim, ▸aft: 10 mm}", "`aft` does not go with `from`", "in one way");
    let station = "at: {station: 1.2 m, around: bottom}";
    wrong(
        station,
        "at: {station: ▸2.5 m}",
        "off the part, which reaches from 0 to 2400 mm",
        "between the two",
    );
    wrong(station, "▸at: {around: top}", "`station` is missing", "goes with a `station`");
    wrong(station, "at: ▸{seen: front, up: 1 mm}", "beside the part", "front end");
    let door = "colours: [rescue-red, bone, rescue-red]";
    wrong(
        door,
        &format!("{door}\n    at: {{seen: ▸top}}"),
        "faces left, so it is not seen from the top",
        "`seen: left`",
    );
    let ring = "lay: {follow: {ring: {station: 1.8 m}}}";
    wrong(ring, "▸lay: {follow: ring}", "the ring has no station", "{ring: {station");
    wrong(
        ring,
        &format!("{ring}\n    at: {{station: ▸2 m}}"),
        "lies at 1800 mm, but `at` gives another",
        "once",
    );
    wrong(ring, "lay: {follow: {ring: {station: ▸4 m}}}", "off the part", "between the two");
    wrong(ring, &format!("{ring}\n    hold: ▸rear"), "is held at its middle", "leave `hold` out");
    wrong(
        ring,
        &format!("{ring}\n    at: {{▸turn: 30 deg}}"),
        "a piece that follows a ring is not turned",
        "leave `turn` out",
    );
    wrong(ring, "lay: ▸drape", "a band goes round its part", "draw a `stripe`");
    let on_door = format!(
        "{door}
    lay: ▸{{follow: {{ring: {{station: 1 mm}}}}}}"
    );
    wrong(door, &on_door, "no ring is laid round a flat part", "a cone");
}

#[test]
fn what_is_made_and_how() {
    wrong("make: [decal, mask]", "make: [decal, ▸decal]", "`decal` is listed twice", "`copies`");
    wrong("make: [decal, mask]", "make: [decal, ▸stencil]", "unknown word `stencil`", "`mask`");
    wrong("make: mask", "make: ▸msak", "unknown word `msak`", "did you mean `mask`?");
    wrong("copies: 2", "copies: ▸2000", "2000 copies", "at most 1000");
    wrong("copies: 2", "copies: ▸100000", "more than a sheet can show", "from 1 to 10000");
    wrong("may_trim: rear", "may_trim: ▸back", "unknown word `back`", "`rear`");
    let roundel = "colours: [rescue-red, bone, rescue-red]";
    wrong(
        roundel,
        &format!("{roundel}\n    may_trim: ▸ends"),
        "a roundel is not trimmed",
        "leave `may_trim` out",
    );
    wrong(
        roundel,
        &format!("{roundel}\n    piece: {{▸overlap: 1 mm}}"),
        "does not meet itself",
        "follow: ring",
    );
    wrong(roundel, &format!("{roundel}\n    size_by: ▸film"), "unknown word `film`", "`scale`");
    wrong("overlap: 0.8 mm", "overlap: ▸-0.8 mm", "cannot be negative", "nothing or more");
    wrong("overlap: 0.8 mm", "overlap: ▸18 in", "more than a sheet has room for", "not full size");
}

/// The hold point of a decal in hand is measured on that decal, like its size.
#[test]
fn a_decal_in_hand_is_held_where_it_was_measured() {
    let text = GOOD.replace(
        "draw: {disc: {diameter: 2.4 mm}}",
        "draw: {disc: {diameter: 2.4 mm}}\n    hold: {along: 0.5 mm, across: -1 mm}",
    );
    let plan = read("a.yaml", text.as_bytes(), &alone).unwrap();
    let Hold::Point(along, across) = plan.markings[1].hold else { panic!("a point") };
    assert!((mm(along) - 24.0).abs() < 1e-9 && (mm(across) + 48.0).abs() < 1e-9, "{along:?} {across:?}");
}

#[test]
fn films_and_sheets() {
    wrong("stretch: 1.5 %", "stretch: ▸80 %", "a film does not give 80 %", "1 %");
    wrong("stretch: 1.5 %", "stretch: ▸-1 %", "a film does not give -1 %", "1 %");
    wrong("softened: {stretch: 6 %}", "softened: {stretch: ▸1 %}", "less than as it is", "at least 1.5 %");
    wrong("stretch: 1.5 %", "poisson: ▸0.7, stretch: 1.5 %", "between 0 and 0.5", "0.4");
    wrong("margin: 6 mm", "margin: ▸60 mm", "28 mm are left", "check bar");
    wrong(
        "page: A5, landscape: true",
        "page: {width: ▸9 m, height: 1 m}",
        "9000 mm is no page",
        "at most 2000 mm",
    );
    let own = "page: {width: 300 mm, height: 200 mm}, ▸landscape: true";
    wrong("page: A5, landscape: true", own, "turns a named page only", "as the page lies");
    wrong("dpi: 300", "dpi: ▸7200", "7200 dpi is not from 30 to 2400", "600");
}

#[test]
fn saving_film() {
    let given = GOOD
        .replace("border: 0.6 mm", "price: 2.40 EUR, used: [[0 mm, 0 mm], [9 cm, 0 mm], [0 mm, 9 cm]]")
        .replace("margin: 6 mm", "turn: 180 deg, effort: 0")
        .replace("copies: 2", "copies: 2\n    piece: {spares: 3, priority: 2, turn: free}");
    let plan = read("a.yaml", given.as_bytes(), &alone).unwrap();
    assert_eq!(plan.sheets.turns, Turning::Steps(markloft::units::Angle::degrees(180.0)));
    assert_eq!(plan.sheets.effort, 0);
    let wishes = &plan.markings[0].piece;
    assert_eq!((wishes.spares, wishes.priority, wishes.turns), (3, 2, Some(Turning::Free)));
    assert_eq!(plan.films.decal.price.as_ref().unwrap().times(3), "7.20 EUR");
    assert_eq!(plan.films.decal.used.len(), 3);
    assert!(plan.films.mask.used.is_empty() && plan.films.mask.price.is_none());

    wrong("margin: 6 mm", "turn: ▸sideways", "does not say how pieces may be turned", "`free`");
    wrong("margin: 6 mm", "turn: ▸7 deg", "does not divide a full turn", "`90 deg`");
    wrong("margin: 6 mm", "effort: ▸100000", "is no effort", "1 is usual");
    wrong("margin: 6 mm", "spacing: ▸3 m", "more than a sheet has room for", "at most 100 mm");
    wrong("copies: 2", "copies: ▸100000", "more than a sheet can show", "from 1 to");
    wrong("copies: 2", "piece: {spares: ▸1001}", "1001 spares", "at most 1000");
    wrong("border: 0.6 mm", "price: ▸2.40", "no currency", "2.40 EUR");
    wrong("border: 0.6 mm", "price: ▸cheap", "`cheap` is not a price", "2.40 EUR");
    let two = "used: ▸[[0 mm, 0 mm], [9 mm, 9 mm]]";
    wrong("border: 0.6 mm", two, "no outline of film used before", "three or more");
    let far = "used: ▸[[0 mm, 0 mm], [9 m, 0 mm], [0 mm, 9 mm]]";
    wrong("border: 0.6 mm", far, "no outline of film used before", "lower left");
}

#[test]
fn what_is_not_yaml() {
    wrong("    make: mask\n", "▸\tmake: mask\n", "a tab in the indentation", "spaces");
    wrong(
        "scales: [1/72, 1/48, full]",
        "scales▸:[1/72, 1/48, full]",
        "a colon without a space",
        "write `scales: [1/72, 1/48, full]`",
    );
    wrong("    make: mask\n", "    make▸:mask\n", "a colon without a space", "write `make: mask`");
    wrong("draw: {disc: {diameter: 2.4 mm}}", "draw: ▸!disc {diameter: 2.4 mm}", "a tag", "`!`");
    wrong(
        "printer: {dpi: 300}\n",
        "printer: {dpi: 300}\n▸---\nmarkloft: 1\n",
        "a second document",
        "one spec to a file",
    );
    wrong("colour: bone\n    lay", "colour: ▸*bone\n    lay", "unknown anchor", "&anchor");
    wrong("printer: {dpi: 300}", "printer: &p {dpi: ▸*p}", "a value that holds itself", "a finished value");
    wrong("printer: {dpi: 300}", "printer: {▸[dpi]: 300}", "a key that is not a plain word", "one word");
    let unclosed = problems_of(&GOOD.replace("{dpi: 300}", "{dpi: 300"));
    assert!(unclosed[0].message.starts_with("not YAML"), "{unclosed:#?}");
    assert!(unclosed[0].help.contains('}'), "{unclosed:#?}");
    let whole = &problems_of("just a line of text")[0];
    assert_eq!(
        (whole.message.as_str(), whole.place.to_string()),
        ("a map `{…}` is wanted here", "a.yaml:1:1".into())
    );
}

#[test]
fn files_that_are_no_spec() {
    let first = |bytes: &[u8]| {
        let problems = read("a.yaml", bytes, &alone).unwrap_err();
        assert_eq!(problems.len(), 1);
        format!("{}: {}", problems[0].place, problems[0].message)
    };
    assert_eq!(first(b""), "a.yaml:1:1: there is nothing in this file");
    assert_eq!(first(b"# only a comment\n\n"), "a.yaml:1:1: there is nothing in this file");
    assert_eq!(first(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"), "a.yaml:1:1: this is a PNG picture, not a spec");
    assert_eq!(first(b"markloft: 1\ntitle: caf\xe9\n"), "a.yaml:2:11: byte 0xe9 is not UTF-8 text");
    assert_eq!(first(&vec![b' '; MAX_BYTES + 1]), "a.yaml:1:1: the file is 5 MiB long");
}

// Many at once.

#[test]
fn a_dozen_slips_are_a_dozen_problems_in_order() {
    let slips = [
        ("full]", "▸1:32]"),
        ("bone: \"#efe9dc\"", "bone: ▸ivory"),
        ("width: 240 mm, height: 255 mm", "width: ▸240, height: 255 mm"),
        ("rear: 0.52 m", "rear: ▸-0.52 m"),
        ("width: 50 mm, length: 360 mm", "width: ▸-50 mm, length: 360 mm"),
        ("make: [decal, mask]", "make: [decal, ▸mush]"),
        ("copies: 2\n", "copies: 2\n    ▸copies: 3\n"),
        ("at: {seen: right,", "at: {seen: ▸rihgt,"),
        ("part: tail-boom", "part: ▸tail-bom"),
        ("rings: [1, 3, 5]", "rings: [1, 3, ▸2]"),
        ("rows: 2", "rows: ▸none"),
        ("colours: [bone, rescue-red]\n    at", "colours: [bone, ▸green]\n    at"),
        ("margin: 6 mm", "▸margn: 6 mm"),
        ("dpi: 300", "dpi: ▸9"),
    ];
    let mut text = GOOD.to_owned();
    for (old, new) in slips {
        assert_eq!(text.matches(old).count(), 1, "{old}");
        text = text.replace(old, new);
    }
    let places: Vec<String> = text
        .match_indices('▸')
        .map(|(at, _)| {
            let before = text[..at].rsplit('\n').next().unwrap_or_default();
            let (marks, line) = (before.matches('▸').count(), text[..at].matches('\n').count() + 1);
            format!("a.yaml:{line}:{}", before.chars().count() + 1 - marks)
        })
        .collect();
    let problems = problems_of(&text.replace('▸', ""));
    let found: Vec<String> = problems.iter().map(|problem| problem.place.to_string()).collect();
    assert_eq!(found, places, "{problems:#?}");
}

#[test]
fn what_hangs_on_a_broken_part_is_still_looked_at() {
    let text = GOOD
        .replace("{ellipsoid: {length: 285 mm", "{ellipsoid: {length: 285")
        .replace("keep: behind", "keep: above")
        .replace("to: rim, length: 7.1", "to: rum, length: 7.1")
        .replace("at: {from: visor-edge}", "at: {from: visor}")
        .replace("at: {seen: right, aft", "at: {seen: right, left");
    let places: Vec<String> = problems_of(&text).iter().map(|problem| problem.place.to_string()).collect();
    assert_eq!(places, ["a.yaml:9:33", "a.yaml:11:74", "a.yaml:13:39", "a.yaml:28:16", "a.yaml:40:23"]);
}

#[test]
fn a_problem_is_shown_with_its_line_and_the_place_underlined() {
    let text = GOOD.replace("width: 50 mm", "width: -50 mm");
    let handler = miette::GraphicalReportHandler::new_themed(miette::GraphicalTheme::unicode_nocolor());
    let mut shown = String::new();
    handler.render_report(&mut shown, &problems_of(&text)[0]).unwrap();
    assert!(shown.contains("a size cannot be negative"), "{shown}");
    assert!(shown.contains("[a.yaml:26:28]"), "{shown}");
    let lines: Vec<&str> = shown.lines().collect();
    let source = lines.iter().position(|line| line.contains("26 │")).expect(&shown);
    let (line, mark) = (lines[source], lines[source + 1]);
    let column = mark.chars().position(|c| c == '─').expect(&shown);
    assert_eq!(line.chars().skip(column).take(6).collect::<String>(), "-50 mm", "{shown}");
    assert_eq!(mark.matches('─').count(), 6, "{shown}");
    assert!(shown.contains("help: write a length of more than nothing"), "{shown}");
}

// Files that are used.

fn with_files(text: &str, files: &[(&str, &str)]) -> Result<Plan, Vec<Problem>> {
    let open = |name: &str| {
        let found = files.iter().find(|(file, _)| *file == name);
        found.map(|(_, text)| text.as_bytes().to_vec()).ok_or_else(|| "there is no such file".to_owned())
    };
    read("specs/a.yaml", text.as_bytes(), &open)
}

const USER: &str = r#"markloft: 1
scales: 1/48
use: [lib/colours.yaml, parts.yaml]
markings:
  badge: {part: door, draw: {disc: {diameter: 2 in}}, colour: bone}
"#;
const COLOURS: (&str, &str) = ("lib/colours.yaml", "markloft: 1\ncolours: {bone: \"#efe9dc\"}\n");
const PARTS: (&str, &str) = (
    "parts.yaml",
    "markloft: 1\nuse: lib/colours.yaml\nparts:\n  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}\n",
);

#[test]
fn colours_and_parts_come_from_other_files() {
    let plan = with_files(USER, &[COLOURS, PARTS]).unwrap();
    assert_eq!((plan.colours[0].hex(), plan.parts[0].name.as_str()), ("#efe9dc".into(), "door"));
    assert_eq!(plan.parts[0].at.to_string(), "specs/parts.yaml:4:3");
    assert_eq!(plan.title, "a");
}

#[test]
fn problems_of_used_files_are_shown_in_them() {
    let bad =
        ("parts.yaml", "markloft: 1\nparts:\n  door: {shape: {flat: {width: 1, height: 1 m, face: left}}}\n");
    let problems = with_files(USER, &[COLOURS, bad]).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(problems[0].place.to_string(), "specs/parts.yaml:3:32");

    let more =
        ("parts.yaml", "markloft: 1\nscales: [1/48]\nparts:\n  door: {shape: {sphere: {diameter: 1 m}}}\n");
    let problems = with_files(USER, &[COLOURS, more]).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(problems[0].message, "unknown word `scales`");
    assert_eq!(problems[0].place.to_string(), "specs/parts.yaml:2:1");
}

#[test]
fn a_misspelt_word_is_told_once_and_what_is_under_it_is_read() {
    let text = "markloft: 1\ntitle: t\nscale: [1/48]\ncolors: {red: \"#c8321\"}\n\
                parts:\n  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}\n\
                markings:\n  badge: {part: door, draw: {disc: {diametre: -5 cm}}, color: red}\n";
    let told: Vec<String> = problems_of(text)
        .into_iter()
        .map(|problem| format!("{} {}", problem.place.to_string().replace("a.yaml:", ""), problem.message))
        .collect();
    // Neither scales, colours nor a diameter is called missing, and what is wrong with them is told beside.
    let words = ["3:1 unknown word `scale`", "4:1 unknown word `colors`", "4:15 `#c8321` is not a colour"];
    assert_eq!(told.len(), 6, "{told:#?}");
    for (told, word) in told.iter().zip(words) {
        assert!(told.starts_with(word), "{told}");
    }
    assert!(told[3..].iter().any(|told| told.ends_with("unknown word `diametre`")), "{told:#?}");
    assert!(told[3..].iter().any(|told| told.ends_with("unknown word `color`")), "{told:#?}");
    assert!(told[3..].iter().any(|told| told.ends_with("a size cannot be negative")), "{told:#?}");
}

#[test]
fn a_name_defined_in_two_files_names_both() {
    let twice = USER.replace("markings:", "colours:\n  bone: \"#000\"\nmarkings:");
    let problems = with_files(&twice, &[COLOURS, PARTS]).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(problems[0].message, "`bone` is defined twice: first at specs/lib/colours.yaml:2:11");
    assert_eq!(problems[0].place.to_string(), "specs/a.yaml:5:3");
    let film = "films: {mask: {stretch: 3 %}}\n";
    let (parts, user) = (format!("{}{film}", PARTS.1), format!("{USER}{film}"));
    let problems = with_files(&user, &[COLOURS, ("parts.yaml", &parts)]).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(problems[0].message, "this film is defined twice: first at specs/parts.yaml:5:9");
}

#[test]
fn circles_and_missing_files_are_told_where_they_are_used() {
    let circle = ("lib/colours.yaml", "markloft: 1\nuse: ../parts.yaml\ncolours: {bone: \"#efe9dc\"}\n");
    let back = ("parts.yaml", PARTS.1);
    let problems = with_files(USER, &[circle, back]).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:#?}");
    let way = "a.yaml → lib/colours.yaml → parts.yaml → lib/colours.yaml";
    assert_eq!(problems[0].message, format!("files that use each other: {way}"));
    assert_eq!(problems[0].place.to_string(), "specs/parts.yaml:2:6");

    let itself = USER.replace("parts.yaml]", "a.yaml]");
    let problems = with_files(&itself, &[COLOURS, ("a.yaml", &itself)]).unwrap_err();
    assert_eq!(problems[0].message, "files that use each other: a.yaml → a.yaml");

    let problems = with_files(USER, &[COLOURS]).unwrap_err();
    assert_eq!(problems[0].message, "`parts.yaml` cannot be read: there is no such file");
    assert_eq!(problems[0].place.to_string(), "specs/a.yaml:3:25");
}

// Bombs.

/// Refused in well under a second, even on a slow machine and unoptimised.
#[track_caller]
fn refused_fast(text: &str, message: &str) {
    let start = Instant::now();
    let problems = problems_of(text);
    let took = start.elapsed();
    assert!(took < Duration::from_secs(1), "took {took:?}");
    assert!(problems[0].message.contains(message), "{}", problems[0].message);
    assert!(problems.iter().all(|problem| problem.excerpt.text.len() < 1000 && problem.message.len() < 1000));
}

#[test]
fn nesting_without_end_is_refused_fast() {
    let deep = 100_000;
    refused_fast(&format!("title: {}", "[".repeat(deep)), "nested more than 64 deep");
    refused_fast(&format!("title: {}{}", "[".repeat(deep), "]".repeat(deep)), "nested more than 64 deep");
    refused_fast(&format!("title: {}", "{a: ".repeat(deep)), "nested more than 64 deep");
    refused_fast(&"- ".repeat(deep), "nested more than 64 deep");
    refused_fast(&"? ".repeat(deep), "");
    let stairs: String = (0..400).map(|depth| format!("{}a:\n", " ".repeat(depth))).collect();
    refused_fast(&stairs, "nested more than 64 deep");
    let tower: String = (1..80).map(|i| format!("a{i}: &a{i} [*a{}]\n", i - 1)).collect();
    refused_fast(&format!("a0: &a0 [x]\n{tower}"), "nested more than 64 deep");
}

#[test]
fn aliases_of_aliases_are_refused_fast() {
    let mut laughs = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
    for i in 1..30 {
        let last = vec![format!("*a{}", i - 1); 10];
        laughs.push_str(&format!("a{i}: &a{i} [{}]\n", last.join(", ")));
    }
    refused_fast(&laughs, "more than 100000 values");
    let anchor = format!("a: &a \"{}\"\nb: [{}]", "x".repeat(1 << 20), vec!["*a"; 3000].join(","));
    refused_fast(&anchor, "aliases that come to more than");
}

#[test]
fn heaps_are_refused_fast() {
    refused_fast(&format!("a: [{}]", "1,".repeat(200_000)), "more than 100000 values");
    refused_fast(&format!("{}: 1", "k".repeat(1 << 20)), "");
    refused_fast(&"a: 1\n".repeat(90_000), "given twice");
    refused_fast(&"x".repeat(MAX_BYTES), "");
    refused_fast(&"#\n".repeat(MAX_BYTES / 2), "nothing in this file");
    refused_fast(&format!("title: '{}'", "x".repeat(MAX_BYTES - 20)), "");
    let words: String = (0..90_000).map(|i| format!("x{i}: {i}\n")).collect();
    refused_fast(&words, "");
    let names: Vec<String> = (0..40_000).map(|i| format!("n{i}: \"#000\"")).collect();
    let unknown: Vec<String> = (0..40_000).map(|i| format!("m{i}")).collect();
    let many = GOOD.replace("{rescue-red: ", &format!("{{{}, rescue-red: ", names.join(", ")));
    refused_fast(
        &many.replace("[rescue-red, bone, rescue-red]", &format!("[{}]", unknown.join(", "))),
        "`m0`",
    );
    let scales: Vec<String> = (1..60_000).map(|i| format!("1/{}", f64::from(i) / 7.0)).collect();
    refused_fast(
        &GOOD.replace("[1/72, 1/48, full]", &format!("[{}]", scales.join(", "))),
        "more than 60 scales",
    );
    let copies: String = (0..10)
        .map(|i| {
            format!(
                "  m{i}: {{part: nose, draw: {{disc: {{diameter: 1 in}}}}, colour: bone, copies: 1000}}\n"
            )
        })
        .collect();
    refused_fast(&GOOD.replace("markings:\n", &format!("markings:\n{copies}")), "pieces over all scales");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_are_a_plan_or_problems(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        if let Err(problems) = read("a.yaml", &bytes, &alone) {
            prop_assert!(!problems.is_empty());
        }
    }

    #[test]
    fn a_good_spec_cut_mixed_and_smudged_is_a_plan_or_problems(
        cuts in proptest::collection::vec(
            (0..GOOD.len(), 0..40usize, "[-a-z0-9:{}\\[\\]#&*!|>'\"%@, \n\t.°é]{0,6}"), 1..6
        )
    ) {
        let mut text = GOOD.to_owned();
        for (from, len, with) in cuts {
            let from = from.min(text.len());
            let to = (from + len).min(text.len());
            if text.is_char_boundary(from) && text.is_char_boundary(to) {
                text.replace_range(from..to, &with);
            }
        }
        if let Err(problems) = read("a.yaml", text.as_bytes(), &alone) {
            prop_assert!(!problems.is_empty());
            let handler = miette::GraphicalReportHandler::new_themed(miette::GraphicalTheme::unicode_nocolor());
            for problem in problems {
                prop_assert!(problem.place.line as usize <= text.matches(['\n', '\r']).count() + 1);
                let end = problem.excerpt.from + problem.excerpt.len;
                prop_assert!(problem.excerpt.text.is_char_boundary(end));
                prop_assert!(handler.render_report(&mut String::new(), &problem).is_ok());
            }
        }
    }
}

// What a reader found that nobody was told.

/// A spec with a revolved nose whose profile is in a table, and what is wrong with it.
fn told_of_table(table: &str) -> Vec<String> {
    let text = "markloft: 1\ntitle: t\nscales: [1/48]\n\
                parts:\n  nose: {shape: {revolve: {profile: {file: nose.csv, unit: mm}}}}\nmarkings:\n  b: {part: nose, draw: {disc: {diameter: 1 mm}}, colour: \"#c8321e\", at: {seen: left, aft: 10 mm}}\n";
    let told = with_files(text, &[("nose.csv", table)]);
    let told = told.err().unwrap_or_default().into_iter();
    told.map(|problem| format!("{} {}", problem.place, problem.message)).collect()
}

#[test]
fn a_table_of_points_is_read_by_its_columns_names_and_its_inches_are_inches() {
    let radius = |table: &str| {
        let text = "markloft: 1\ntitle: t\nscales: [1/48]\n\
                    parts:\n  nose: {shape: {revolve: {profile: {file: nose.csv, unit: mm}}}}\nmarkings:\n  b: {part: nose, draw: {disc: {diameter: 1 mm}}, colour: \"#c8321e\", at: {seen: left, aft: 10 mm}}\n";
        let plan = with_files(text, &[("nose.csv", table)]).unwrap_or_else(|told| panic!("{told:#?}"));
        let Shape::Revolve { profile, .. } = &plan.parts[0].shape else { panic!("revolved") };
        profile[1].map(mm)
    };
    assert_eq!(radius("0,5\n100,20\n"), [100.0, 20.0]);
    assert_eq!(radius("# from the drawing\nradius (mm),station (mm)\n5,0\n20,100\n"), [100.0, 20.0]);
    assert_eq!(radius("0,5\n4\",2\"\n"), [101.6, 50.8]);
    assert_eq!(radius("\"station (in)\";\"radius (in)\"\n0;1\n4;2\n"), [101.6, 50.8]);
    let told = told_of_table("station (mm),height (mm)\n0,5\n100,20\n");
    assert_eq!(told, ["specs/nose.csv:1:1 `height` is no column of this table"]);
    let told = told_of_table("0,5,1\n100,20\n");
    assert_eq!(told, ["specs/nose.csv:1:5 this row has 3 cells, and 2 are wanted"]);
    assert_eq!(told_of_table("0,5\n\"100,20\n"), ["specs/nose.csv:2:1 a quotation mark without its end"]);
}

#[test]
fn stations_of_two_kinds_at_once_are_refused() {
    let text = "markloft: 1\ntitle: t\nscales: [1/48]\n\
                parts:\n  hull: {shape: {loft: {stations: {file: hull.csv, unit: mm}}}}\nmarkings:\n  b: {part: hull, draw: {disc: {diameter: 1 mm}}, colour: \"#c8321e\", at: {seen: left, aft: 10 mm}}\n";
    let table = "at,width,height,power,radius\n0,10,10,3,1\n50,20,20,3,1\n";
    let told = with_files(text, &[("hull.csv", table)]).unwrap_err();
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].message, "columns `power` and `radius` together");
}

#[test]
fn an_artwork_within_a_drawing_is_refused_aloud() {
    let text = "markloft: 1\ntitle: t\nscales: [1/48]\ncolours: {red: \"#c8321e\"}\n\
                parts:\n  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}\n\
                markings:\n  badge: {part: door, draw: {group: [{draw: {artwork: {file: a.svg, width: 10 cm}}}]}}\n";
    let told = with_files(text, &[("a.svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"/>")]).unwrap_err();
    let words: Vec<&str> = told.iter().map(|problem| problem.message.as_str()).collect();
    assert_eq!(words, ["an artwork is no part of another drawing"]);
}

#[test]
fn scales_of_one_folder_are_one_scale() {
    wrong(
        "scales: [1/72, 1/48, full]",
        "scales: [1/72, 1/48, full, ▸1/48.04]",
        "1/48 is listed twice",
        "a tenth",
    );
}

#[test]
fn a_chain_of_lines_along_lines_ends_somewhere() {
    let mut text = String::from(
        "markloft: 1\ntitle: t\nscales: [1/48]\ncolours: {red: \"#c8321e\"}\n\
         parts:\n  boom: {shape: {cylinder: {diameter: 1 m, length: 3 m}}}\nmarkings:\n",
    );
    for k in 0..300 {
        let lay = match k {
            0 => "{follow: run}, at: {station: 10 cm}".to_owned(),
            _ => format!("{{follow: {{along: {{marking: m{}, offset: 1 cm, side: left}}}}}}", k - 1),
        };
        text += &format!(
            "  m{k}: {{part: boom, draw: {{stripe: {{width: 5 mm, length: 1 m}}}}, colour: red, lay: {lay}}}\n"
        );
    }
    let told = problems_of(&text);
    assert!(
        told.iter().any(|problem| problem.message == "more than 20 markings, each along the next"),
        "{told:#?}"
    );
}

#[test]
fn a_font_is_looked_for_beside_the_file_that_names_it() {
    let spec = "markloft: 1\ntitle: t\nscales: [1/48]\nuse: lib/names.yaml\ncolours: {red: \"#c8321e\"}\n\
                parts:\n  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}\n\
                markings:\n  name: {part: door, draw: {drawing: name}, colour: red}\n";
    let shared =
        "markloft: 1\ndrawings:\n  name: {draw: {text: {text: TARN, font: face.ttf, height: 10 cm}}}\n";
    let face = include_bytes!("../src/outline/face/BarlowCondensed_500Medium.ttf");
    let open = |name: &str| match name {
        "lib/names.yaml" => Ok(shared.as_bytes().to_vec()),
        "lib/face.ttf" => Ok(face.to_vec()),
        _ => Err(format!("no {name}")),
    };
    read("specs/a.yaml", spec.as_bytes(), &open).unwrap();
}
