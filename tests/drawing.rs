//! Drawings from the spec on: what they come to, both sides, and every mistake in its place.

use markloft::draw::draw;
use markloft::flow::*;
use markloft::spec::{Problem, read};

/// A spec with one marking whose lines are these, and drawings.
fn spec(drawings: &str, marking: &str) -> String {
    format!(
        r##"markloft: 1
scales: [1/48]
colours:
  red: {{hex: "#c8321e", paint: any signal red, note: two coats}}
  bone: "#efe9dc"
drawings:
  tick: {{draw: {{rectangle: {{width: 20 mm, height: 5 mm}}}}}}
{drawings}
parts:
  door: {{shape: {{flat: {{width: 2 m, height: 2 m, face: left}}}}}}
  boom: {{shape: {{cylinder: {{diameter: 1 m, length: 4 m}}}}}}
markings:
  it:
{marking}
"##
    )
}

fn result(text: &str) -> Result<Plan, Vec<Problem>> {
    read("a.yaml", text.as_bytes(), &|_| Err("there is no such file".into()))
}

fn plan(drawings: &str, marking: &str) -> Plan {
    result(&spec(drawings, marking)).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

/// Draws a `draw` in red and bone.
fn drawn(draw_words: &str, colours: &str) -> Artwork<markloft::units::Full> {
    let marking = format!("    part: door\n    draw: {draw_words}\n    colours: {colours}");
    draw(&plan("", &marking).markings[0].draw)
}

/// One mistake, shown where `▸` stands.
#[track_caller]
fn wrong(drawings: &str, marking: &str, message: &str, help: &str) {
    let marked = spec(drawings, marking);
    let (before, _) = marked.split_once('▸').expect("a mark");
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    let problems = result(&marked.replace('▸', "")).expect_err("the spec is wrong");
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert!(problems[0].message.contains(message), "message: {}", problems[0].message);
    assert!(problems[0].help.contains(help), "help: {}", problems[0].help);
    assert_eq!(problems[0].place.to_string(), format!("a.yaml:{line}:{column}"), "{}", problems[0].message);
}

/// One mistake in a `draw` with one colour.
#[track_caller]
fn wrong_draw(words: &str, message: &str, help: &str) {
    wrong("", &format!("    part: door\n    colour: red\n    draw: {words}"), message, help);
}

fn sum(artwork: &Artwork<markloft::units::Full>) -> f64 {
    artwork.areas.iter().map(|area| area.outline.area()).sum()
}

#[test]
fn checks_by_size_and_by_count_are_the_same() {
    let by_size = drawn("{checks: {square: 50 mm, rows: 4, columns: 6}}", "[red, bone]");
    assert_eq!(drawn("{checks: {width: 300 mm, rows: 4, columns: 6}}", "[red, bone]"), by_size);
    assert_eq!(drawn("{checks: {height: 200 mm, rows: 4, columns: 6}}", "[red, bone]"), by_size);
}

#[test]
fn a_path_has_its_unit_and_its_middle() {
    let path = drawn(r#"{path: {d: "M0 0 H100 V50 H0 Z", unit: 2 mm}}"#, "red");
    let bounds = path.silhouette.bounds();
    assert_eq!([bounds.min.x, bounds.max.x, bounds.min.y, bounds.max.y], [-100.0, 100.0, -50.0, 50.0]);
    assert!((path.silhouette.area() - 20_000.0).abs() < 1e-9, "turned counter-clockwise");
    let inches = drawn(r#"{path: {d: "M0 0 h1 v1 h-1 z", unit: in, origin: [0, 1]}}"#, "red");
    assert!(
        (inches.silhouette.bounds().max.y - 25.4).abs() < 1e-9
            && inches.silhouette.bounds().min.y.abs() < 1e-9
    );
    // Two squares, one in the other, walked the same way: a frame by one rule, a square by the other.
    let frame = |fill: &str| {
        let words =
            format!(r#"{{path: {{d: "M0 0 h9 v9 h-9 z M3 3 h3 v3 h-3 z", unit: mm, fill: {fill}}}}}"#);
        drawn(&words, "red").silhouette.area()
    };
    assert!((frame("even-odd") - 72.0).abs() < 1e-6 && (frame("non-zero") - 81.0).abs() < 1e-6);
}

#[test]
fn named_drawings_take_the_colours_of_their_users() {
    let plan = plan(
        "  row: {draw: {drawing: tick}, repeat: {line: {count: 3, across: 10 mm}}, border: {width: 1 mm, colour: bone}}",
        "    part: door\n    draw: {group: [{draw: {drawing: row}, colour: red}, {draw: {drawing: tick}, colour: bone, along: 60 mm}]}",
    );
    let drawn = draw(&plan.markings[0].draw);
    let area = |colour| -> f64 {
        drawn.areas.iter().filter(|a| a.colour == ColourId(colour)).map(|a| a.outline.area()).sum()
    };
    assert!((area(0) - 300.0).abs() < 1e-6);
    // The border is drawn before the repeat: three frames of a millimetre, and the plain tick.
    assert!((area(1) - (3.0 * (22.0 * 7.0 - 100.0) + 100.0)).abs() < 1e-6);
    assert!((sum(&drawn) - drawn.silhouette.area()).abs() < 1e-6);
    assert_eq!(plan.colours[0].paint.as_deref(), Some("any signal red"));
    assert_eq!(plan.colours[0].note.as_deref(), Some("two coats"));
}

/// The words for what is done to an item are done in the order that README gives.
#[test]
fn an_item_is_cut_repeated_mirrored_turned_and_moved_in_order() {
    let words = "{group: [{draw: {polygon: {points: [[0 mm, 0 mm], [30 mm, 0 mm], [0 mm, 10 mm]]}}, \
                 mirror: true, turn: 90 deg, along: 100 mm, across: 50 mm}, \
                 {draw: {disc: {diameter: 2 mm}}}]}";
    let drawn = drawn(words, "red");
    let bounds = drawn.areas[0].outline.bounds();
    // Mirrored it points to −x, turned to −y, then moved.
    assert!((bounds.max.x - 100.0).abs() < 1e-9 && (bounds.max.y - 50.0).abs() < 1e-9);
    assert!((drawn.areas[0].outline.area() - 150.0 - std::f64::consts::PI).abs() < 1e-6);
}

/// What is cut out of a disc in the shape of a letter is the letter, not its field: an L of 300 mm is 200 wide, its
/// strokes 50 (two thirds and a sixth of the height, 14 CFR 45.29).
#[test]
fn letters_cut_letters() {
    let letter = "{letters: {text: L, height: 300 mm, corner: square}}";
    let disc = "{group: [{draw: {disc: {diameter: 800 mm}}, colour: red, cut_out: {draw: LETTER}}]}";
    let left = sum(&drawn(&disc.replace("LETTER", letter), "[red, bone]"));
    let l = 300.0 * 50.0 + 150.0 * 50.0;
    let whole = 160_000.0 * std::f64::consts::PI;
    assert!((whole - left - l).abs() < 1e-3 * l, "{}", whole - left);
}

/// What is its own mirror image keeps its kind, so that the checks know it on both sides.
#[test]
fn a_roundel_on_both_sides_is_a_roundel() {
    let marking = "    part: boom\n    draw: {roundel: {diameter: 30 in, rings: [1, 3, 5]}}\n    colours: [red, bone, red]\n    both_sides: true\n    at: {seen: left, aft: 1 m}";
    assert!(plan("", marking).markings.iter().all(|side| matches!(side.draw, Draw::Roundel { .. })));
}

/// A path's numbers are weighed before curves are made of them.
#[test]
fn a_path_beyond_all_measure_is_refused_at_once() {
    wrong_draw(
        "{path: {d: ▸\"M0 0 A1e60 1e60 0 0 1 1e60 1e60 Z\", unit: mm}}",
        "beyond all measure",
        "path data as in SVG",
    );
    wrong_draw("{path: {d: ▸\"M5 5 C5 5 5 5 5 5\", unit: mm}}", "encloses nothing", "corners");
}

#[test]
fn both_sides_are_a_left_and_a_right_piece() {
    let pair = |at: &str| {
        let flag = "{polygon: {points: [[0 mm, 0 mm], [30 mm, 5 mm], [0 mm, 12 mm]]}}";
        let marking =
            format!("    part: boom\n    draw: {flag}\n    colour: red\n    both_sides: true\n    at: {at}");
        plan("", &marking).markings
    };
    let markings = pair("{seen: left, aft: 1 m, up: 20 cm, turn: 10 deg}");
    assert_eq!([&markings[0].name, &markings[1].name], ["it-left", "it-right"]);
    let Spot::Seen { view: View::Right, across, up, turn } = markings[1].spot else {
        panic!("seen from the right")
    };
    // Seen from the right, aft is to the left of the paper.
    assert_eq!((across.to_mm(), up.to_mm()), (-1000.0, 200.0));
    assert!((turn.to_degrees() + 10.0).abs() < 1e-9);
    let [left, right] = [0, 1].map(|k: usize| draw(&markings[k].draw).silhouette.bounds());
    assert_eq!((left.min.x, left.max.x), (-right.max.x, -right.min.x));
    let by_station = pair("{station: 1 m, around: 60 deg, turn: 20 deg}");
    let Spot::Station { around, turn, .. } = by_station[1].spot else { panic!("by station") };
    assert!((around.to_degrees() + 60.0).abs() < 1e-9 && (turn.to_degrees() - 160.0).abs() < 1e-9);
    let above = pair("{seen: top, aft: 1 m, right: 20 cm}");
    let Spot::Seen { up, .. } = above[0].spot else { panic!("the left one first") };
    assert_eq!(up.to_mm(), -200.0);
}

#[test]
fn both_sides_where_there_are_two() {
    let bars = "    draw: {stripe: {width: 50 mm, length: 300 mm}}\n    colour: red\n    ▸both_sides: true";
    wrong("", &format!("    part: door\n{bars}"), "a flat part has one side", "mirror: true");
    wrong("", &format!("    part: boom\n{bars}"), "lies in the middle", "clear of the middle");
    let ring = format!("    part: boom\n    lay: {{follow: {{ring: {{station: 1 m}}}}}}\n{bars}");
    wrong("", &ring, "has no other side", "write the marking for the other side");
}

#[test]
fn sizes_that_make_no_figure() {
    wrong_draw("{cross: {width: 50 mm, stroke: ▸0 mm}}", "cannot be zero", "more than nothing");
    wrong_draw("{cross: {width: 50 mm, stroke: ▸60 mm}}", "not less than", "less than 50 mm");
    wrong_draw(
        "{cross: {width: 50 mm, stroke: 10 mm, flare: ▸80 mm}}",
        "run into each other",
        "`flare` less",
    );
    wrong_draw("{rays: {diameter: 50 mm, rays: ▸400}}", "400 rays", "at most 360");
    wrong_draw("{rays: {diameter: 50 mm, inner: ▸50 mm, rays: 8}}", "not less than", "less than 50 mm");
    wrong_draw("{arrow: {length: 50 mm, width: 20 mm, stroke: ▸30 mm}}", "not less than", "less than 20 mm");
    wrong_draw("{arc: {diameter: 50 mm, stroke: 5 mm, angle: ▸0 deg}}", "encloses nothing", "360°");
    wrong_draw("{rectangle: {width: 50 mm, height: 20 mm, radius: ▸11 mm}}", "do not fit", "at most 10 mm");
    wrong_draw("{cheat_line: {points: ▸[[0 m, 0 m]], width: 5 mm}}", "1 point", "from 2");
    wrong_draw(
        "{cheat_line: {points: [[0 m, 0 m], [1 m, 0 m], [1 m, 1 m]], width: 50 mm, radius: ▸20 mm}}",
        "folds the inside",
        "25 mm",
    );
    wrong_draw(
        "{cheat_line: {points: ▸[[0 m, 0 m], [1 m, 0 m], [1 m, 1 m]], width: 50 mm, radius: 2 m}}",
        "the bends take 2000 mm",
        "`radius` less",
    );
    let crossing = "{cheat_line: {points: ▸[[0 m, 0 m], [1 m, 0 m], [1 m, 1 m], [0.5 m, 1 m], [0.5 m, -1 m]], width: 5 mm}}";
    wrong_draw(crossing, "cross", "group");
    let checks = "    part: door\n    colours: [red, bone]\n    ▸draw: {checks: {rows: 2, columns: 2}}";
    wrong("", checks, "`square` is missing", "the `height` of all rows");
}

#[test]
fn paths_that_cannot_be_drawn() {
    wrong_draw(r#"{path: {d: ▸"M0 0 L10 0 L10 x", unit: mm}}"#, "cannot be read", "path data as in SVG");
    wrong_draw(r#"{path: {d: ▸"", unit: mm}}"#, "no lines", "M0 0 L10 0");
    wrong_draw(r#"{path: {d: ▸"M0 0 L10 10 L20 20 Z", unit: mm}}"#, "encloses nothing", "corners");
    wrong_draw(r#"{path: {d: ▸"M0 0 L10 10 L10 0 L0 10 Z", unit: mm}}"#, "crosses itself", "fill: even-odd");
    wrong_draw(
        r#"{path: {d: ▸"M0 0 h9 v9 h-9 z M3 3 h3 v3 h-3 z", unit: mm}}"#,
        "lies over itself",
        "fill: non-zero",
    );
    wrong_draw(r#"{path: {d: ▸"M0 0 L1e300 0 L0 1e300 Z", unit: mm}}"#, "beyond all measure", "path data");
    wrong_draw(r#"{path: {d: ▸"M0 0 L1e8 0 L0 1e8 Z", unit: mm}}"#, "over 1 km", "check");
    wrong_draw(r#"{path: {d: "M0 0 h9 v9 z", unit: ▸9}}"#, "has no unit", "9 mm");
    wrong_draw(r#"{path: {d: "M0 0 h9 v9 z", unit: ▸ell}}"#, "is no unit", "mm");
}

#[test]
fn camouflage_that_does_not_add_up() {
    let stripes = |shares: &str, colours: &str| {
        format!(
            "    part: door\n    colours: {colours}\n    draw: {{blotches: {{width: 1 m, height: 1 m, seed: 1, shares: {shares}, size: 30 cm}}}}"
        )
    };
    wrong("", &stripes("▸[60 %, 30 %]", "[red, bone]"), "add up to 90.0 %", "100 % together");
    wrong("", &stripes("[60 %, 20 %, 20 %]", "▸[red, bone]"), "3 colours, 2 given", "[…, …, …]");
    let fine = "    part: door\n    colours: [red, bone]\n    draw: {blotches: {width: 1 m, height: 1 m, seed: 1, shares: [50 %, 50 %], size: ▸1 mm}}";
    wrong("", fine, "blotches in one marking", "make them larger");
}

#[test]
fn drawings_of_drawings_keep_within_bounds() {
    let door = |draw: &str| format!("    part: door\n    draw: {draw}");
    wrong("", &door("▸{drawing: tock}"), "no drawing is called `tock`", "did you mean `tick`?");
    wrong("", &door("▸{group: []}"), "a group of nothing", "list drawings");
    wrong(
        "  a: {draw: {drawing: b}}\n  b: {draw: ▸{drawing: a}}",
        &door("{drawing: a}"),
        "made of each other",
        "take one",
    );
    wrong("", &door("{group: [▸{draw: {disc: {diameter: 5 mm}}}]}"), "`colour` is missing", "colour: …");
    let many = "{group: [▸{draw: {disc: {diameter: 5 mm}}, colour: red, repeat: {line: {count: 2000, along: 1 mm}}}]}";
    wrong("", &door(many), "more than 1000 drawings", "share it out");
    wrong(
        "",
        &door("{group: [{draw: ▸{band: {width: 5 mm}}, colour: red}]}"),
        "goes round its part",
        "`stripe`",
    );
    let still = "{group: [{draw: {disc: {diameter: 5 mm}}, colour: red, repeat: {line: {count: ▸5}}}]}";
    assert!(result(&spec("", &door(&still.replace('▸', "")))).is_err());
    let deep = "{group: [{draw: ".repeat(15) + "{disc: {diameter: 5 mm}}" + "}]}".repeat(15).as_str();
    let problems =
        result(&spec("", &format!("    part: door\n    colour: red\n    draw: {deep}"))).unwrap_err();
    assert_eq!(problems.len(), 1);
    assert!(problems[0].message.contains("12 deep"), "{}", problems[0].message);
}

/// Ten drawings of ten drawings of ten: refused at once, not written out.
#[test]
fn drawings_that_multiply_are_refused_before_they_do() {
    let ten = |of: &str| format!("[{}]", vec![format!("{{draw: {{drawing: {of}}}}}"); 10].join(", "));
    let mut drawings = String::new();
    for k in 1..10 {
        let below = if k == 1 { "tick".to_owned() } else { format!("d{}", k - 1) };
        drawings += &format!("  d{k}: {}\n", ten(&below));
    }
    let before = std::time::Instant::now();
    let problems =
        result(&spec(&drawings, "    part: door\n    colour: red\n    draw: {drawing: d9}")).unwrap_err();
    assert!(
        problems.iter().all(|problem| problem.message.contains("more than 1000 drawings")),
        "{problems:#?}"
    );
    assert!(before.elapsed().as_secs() < 20, "bounded work");
}

#[test]
fn edges_say_how_wide_and_in_what_colour() {
    let disc = |border: &str| {
        format!(
            "    part: door\n    colour: red\n    draw: {{disc: {{diameter: 5 cm}}}}\n    border: {border}"
        )
    };
    let text = disc("{share: 10 %, colour: bone}");
    let drawn = draw(&plan("", &text).markings[0].draw);
    assert!((drawn.silhouette.bounds().width() - 60.0).abs() < 1e-9 && drawn.areas.len() == 2);
    wrong("", &disc("{width: 1 mm, ▸share: 10 %}"), "together", "one of the two");
    wrong("", &disc("{share: ▸0 %}"), "no width", "over 0 %");
    wrong("", &disc("{width: 1 mm, colour: ▸bnoe}"), "no colour is called", "did you mean `bone`?");
    wrong("", &disc("{width: ▸0 mm}"), "cannot be zero", "more than nothing");
    wrong(
        "",
        "    part: door\n    colour: red\n    draw: {drawing: tick}\n    ▸border: {colour: bone}",
        "has no width",
        "share",
    );
}

#[test]
fn a_trap_is_a_size_of_the_film() {
    let text = "    part: door\n    colours: [red, bone]\n    draw: {checks: {square: 5 cm, rows: 2, columns: 2}}\n    piece: {trap: ▸0.1}";
    wrong("", text, "has no unit", "`0.1 mm`");
    let plan = plan("", &text.replace("▸0.1", "0.1 mm"));
    assert_eq!(plan.markings[0].piece.trap.map(|trap| trap.to_mm()), Some(0.1));
}
