//! Markings that follow a line, from a spec to numbers, held against closed forms.

use markloft::batch::{self, Choice};
use markloft::flow::{Code, Outcome, Piece, Verdict};
use markloft::outline::Segment;
use std::f64::consts::PI;

fn outcome_of(text: &str) -> Outcome {
    let plan =
        batch::load_embedded("test.yaml", text).unwrap_or_else(|problem| panic!("{problem:?}\n{text}"));
    batch::work_out(plan, &Choice::default()).unwrap()
}

/// The first piece of a spec.
fn fitted(text: &str) -> Piece {
    let outcome = outcome_of(text);
    let scale = &outcome.scales[0];
    scale.pieces.first().unwrap_or_else(|| panic!("{:?}", scale.findings)).clone()
}

/// A spec with one part and one marking, full size.
fn spec(part: &str, marking: &str) -> String {
    format!(
        "markloft: 1\ntitle: t\nscales: [full]\ncolours: {{a: \"#000000\", b: \"#ffffff\"}}\nparts:\n  p:\n    {part}\nmarkings:\n  m:\n    part: p\n    {marking}\nsheets: {{page: {{width: 2000 mm, height: 2000 mm}}}}\n"
    )
}

fn run(piece: &Piece) -> [f64; 2] {
    let run = piece.fit.run.unwrap();
    [run.width.to_mm(), run.height.to_mm()]
}

fn found(piece: &Piece, code: Code) -> Option<String> {
    piece.findings.iter().find(|finding| finding.code == code).map(|f| format!("{} / {}", f.text, f.help))
}

/// What a spec is refused for: text, help and place.
fn refused(part: &str, marking: &str) -> String {
    match batch::load_embedded("test.yaml", &spec(part, marking)) {
        Err(batch::Failure::Spec(problems)) => format!("{problems:?}"),
        Err(other) => panic!("{other:?}"),
        Ok(plan) => {
            let outcome = batch::work_out(plan, &Choice::default()).unwrap();
            let finding = outcome.scales[0].findings.first().expect("a finding");
            assert_eq!(finding.code, Code::Unlaid);
            assert_eq!(&*finding.at.file, "test.yaml");
            assert!(finding.at.line > 7, "{:?}", finding.at);
            format!("{} / {}", finding.text, finding.help)
        }
    }
}

const PIPE: &str = "shape: {cylinder: {diameter: 10 mm, length: 60 mm}}";

/// Diameter 10, pitch 20: a turn is √((10π)² + 20²) = 37.241917782372 long and rises by
/// atan(20/10π) = 32.4816366° (closed form). It unrolls straight.
#[test]
fn a_helix_on_a_pipe() {
    let words = ["pitch: 20 mm", "turns: 3", "rise: 32.481636600 deg"];
    for words in words {
        let piece = fitted(&spec(
            PIPE,
            &format!(
                "draw: {{band: {{width: 2 mm}}}}\n    colour: a\n    lay: {{follow: {{helix: {{{words}}}}}}}"
            ),
        ));
        let [length, width] = run(&piece);
        assert!((length - 3.0 * 37.241_917_782_372).abs() < 1e-6 * length, "{words}: {length}");
        assert!((width - 2.0).abs() < 1e-12);
        assert!((piece.fit.size.height.to_mm() - 2.0).abs() < 1e-6, "it is straight");
        assert!(piece.fit.strain.stretch_max.abs() < 1e-9);
        // The film climbs at the angle: of all laid points the ends of the middle line are 60 mm apart.
        let film = &piece.fit.film;
        for (flat, laid) in film.flat.iter().zip(&film.laid) {
            let (rise, half) = (32.481_636_6_f64.to_radians(), length / 2.0);
            let station = (flat.x + half) * libm::sin(rise) + flat.y * libm::cos(rise);
            assert!((laid.x - station).abs() < 1e-4, "{laid} {station}");
            // Right-handed: aft as the angle from the top over the left grows.
            let around = ((flat.x * libm::cos(rise) - flat.y * libm::sin(rise)) / 5.0).rem_euclid(2.0 * PI);
            let got = libm::atan2(-laid.y, laid.z).rem_euclid(2.0 * PI);
            let off = (got - around).abs();
            assert!(off.min(2.0 * PI - off) < 1e-4, "{got} {around}");
        }
    }
}

/// A stripe cut flush with the pipe's ends has both ends slanting by the rise angle: on the flat
/// piece the end is the ring's straight line (closed form of the development).
#[test]
fn a_flush_helix_ends_on_the_rings() {
    let piece = fitted(&spec(
        PIPE,
        "draw: {band: {width: 4 mm}}\n    colour: a\n    lay: {follow: {helix: {pitch: 20 mm, ends: flush}}}",
    ));
    assert_eq!(piece.verdict, Verdict::Fits);
    let reach =
        piece.fit.film.laid.iter().fold([60.0f64, 0.0f64], |[low, high], p| [low.min(p.x), high.max(p.x)]);
    assert!(reach[0].abs() < 1e-3 && (reach[1] - 60.0).abs() < 1e-3, "{reach:?}");
    // The area is that of the square-cut stripe: what is cut off on one side is added on the other.
    assert!((piece.fit.artwork.silhouette.area() - 4.0 * 3.0 * 37.241_917_782).abs() < 0.01);
    let square = fitted(&spec(
        PIPE,
        "draw: {band: {width: 4 mm}}\n    colour: a\n    lay: {follow: {helix: {pitch: 20 mm}}}",
    ));
    assert_ne!(square.verdict, Verdict::Fits, "a square end runs past the ring");
}

/// Three starts of one pitch lie pitch · cos(rise) / 3 apart: the width that fills it is named.
#[test]
fn starts_that_do_not_come_out_whole() {
    let of = |width: f64| {
        outcome_of(&spec(
            PIPE,
            &format!(
                "draw: {{band: {{width: {width:.9} mm}}}}\n    colour: a\n    lay: {{follow: {{helix: {{pitch: 20 mm, starts: 3, hand: left}}}}}}"
            ),
        ))
    };
    let outcome = of(3.0);
    assert_eq!(outcome.scales[0].pieces.len(), 3, "a piece for each start");
    // 20 · cos 32.4816366° = 16.871204: 5.6237 for each start, so two of 2.8119 or one of 5.6237.
    let finding = found(&outcome.scales[0].pieces[0], Code::Count).expect("1.87 stripes to a start");
    assert!(finding.contains("2.81 mm"), "{finding}");
    assert_eq!(found(&of(2.811_867).scales[0].pieces[0], Code::Count), None);
    let wide = fitted(&spec(
        PIPE,
        "draw: {band: {width: 18 mm}}\n    colour: a\n    lay: {follow: {helix: {pitch: 20 mm}}}",
    ));
    assert!(found(&wide, Code::Count).is_some_and(|text| text.contains("over each other")));
}

/// A run on a cylinder is straight in its development, whatever its turn.
#[test]
fn a_run_on_a_cylinder_is_straight() {
    let piece = fitted(&spec(
        "shape: {cylinder: {diameter: 90 mm, length: 400 mm}}",
        "draw: {stripe: {width: 20 mm, length: 180 mm, taper: 10 mm}}\n    colours: [a, b]\n    at: {station: 200 mm, around: left, turn: 20 deg}\n    lay: {follow: run}",
    ));
    assert_eq!(run(&piece), [180.0, 20.0]);
    assert!((piece.fit.size.width.to_mm() - 180.0).abs() < 1e-6);
    assert!((piece.fit.artwork.silhouette.area() - 15.0 * 180.0).abs() < 1e-6, "a trapezium");
    let end = piece.fit.film.laid.iter().map(|p| p.x).fold(0.0, f64::max);
    // 90 mm on at 20° to the aft direction, and half of the narrow end aside.
    let known = 200.0 + 90.0 * libm::cos(20f64.to_radians()) + 5.0 * libm::sin(20f64.to_radians());
    assert!((end - known).abs() < 1e-6, "{end} {known}");
}

/// On a sphere a run is a great circle: its end lies the run's own angle on.
#[test]
fn a_run_on_a_sphere_is_a_great_circle() {
    let piece = fitted(&spec(
        "shape: {sphere: {diameter: 200 mm}}",
        "draw: {stripe: {width: 10 mm, length: 120 mm}}\n    colour: a\n    at: {seen: top, turn: 30 deg}\n    hold: front\n    lay: {follow: run}",
    ));
    let film = &piece.fit.film;
    let k = (0..film.flat.len()).min_by(|&a, &b| {
        let off = |k: usize| (film.flat[k] - markloft::outline::point(120.0, 0.0)).length();
        off(a).total_cmp(&off(b))
    });
    let (sin, cos) = libm::sincos(1.2f64);
    let (s, c) = libm::sincos(30f64.to_radians());
    let known = glam::DVec3::new(sin * c, sin * s, cos) * 100.0;
    assert!((film.laid[k.unwrap()] - known).length() < 1e-4, "{}", film.laid[k.unwrap()]);
}

/// Round an ellipsoid of revolution the ring is a circle of radius b √(1 − x²/a²), bent as its tangent
/// cone: 1/κ is the slant to the cone's point, (a² − x²)/x · sec of the slope (closed form).
#[test]
fn a_ring_round_an_ellipsoid() {
    let (a, b, x) = (150.0f64, 100.0f64, 60.0f64);
    let piece = fitted(&spec(
        "shape: {ellipsoid: {length: 300 mm, width: 200 mm, height: 200 mm}}",
        "draw: {band: {width: 10 mm}}\n    colour: a\n    lay: {follow: {ring: {station: 60 mm}}}",
    ));
    let radius = b * (1.0 - x * x / a / a).sqrt();
    assert!((run(&piece)[0] - 2.0 * PI * radius).abs() < 1e-4, "{:?}", run(&piece));
    let slope = b * b * x / (a * a * radius);
    let slant = radius / (slope / (1.0 + slope * slope).sqrt());
    let arcs = piece.fit.artwork.silhouette.contours[0].stretches();
    let mut radii: Vec<f64> = arcs
        .filter_map(|(from, segment)| match segment {
            Segment::Arc { centre, .. } => Some((from - centre).length()),
            _ => None,
        })
        .collect();
    radii.sort_by(f64::total_cmp);
    assert!((radii[0] - (slant - 5.0)).abs() < 1e-3, "{} {slant}", radii[0]);
    assert!((radii[radii.len() - 1] - (slant + 5.0)).abs() < 1e-3);
    assert!(piece.fit.seam.as_ref().unwrap().gap.to_mm().abs() < 1e-9);
}

/// A helmet's ring is an ellipse; its perimeter by the elliptic integral: half axes 1 and 0.8, 5.672333577795.
#[test]
fn a_ring_round_a_helmet_and_a_section_through_it() {
    let helmet = "shape: {ellipsoid: {length: 300 mm, width: 160 mm, height: 200 mm}}";
    for lay in ["ring: {station: 0 mm}", "section: {aft: 0 mm}", "section"] {
        let at = if lay == "section" { "\n    at: {seen: top, turn: 90 deg}" } else { "" };
        let piece = fitted(&spec(
            helmet,
            &format!(
                "draw: {{band: {{width: 6 mm}}}}\n    colour: a{at}\n    lay: {{follow: {{{}}}}}",
                lay.replace("section\n", "")
            )
            .replace("{follow: {section}}", "{follow: section}"),
        ));
        assert!((run(&piece)[0] - 567.233_357_779_5).abs() < 1e-4, "{lay}: {:?}", run(&piece));
        // Its plane is one of symmetry: the flat band is straight.
        assert!((piece.fit.size.height.to_mm() - 6.0).abs() < 1e-4, "{:?}", piece.fit.size);
    }
}

/// A plane through the centre of a sphere cuts a great circle; one 60 mm off, a small circle whose
/// flat band is the tangent cone's development, radius R·cot: 100 · 80/60.
#[test]
fn sections_of_a_sphere() {
    let ball = "shape: {sphere: {diameter: 200 mm}}";
    let band = "draw: {band: {width: 8 mm}}\n    colour: a\n    lay: {follow: {section: ";
    let great = fitted(&spec(ball, &format!("{band}{{right: 0 mm}}}}}}")));
    assert!((run(&great)[0] - 200.0 * PI).abs() < 1e-4);
    assert!((great.fit.size.width.to_mm() - 200.0 * PI).abs() < 1e-3);
    let small = fitted(&spec(ball, &format!("{band}{{up: 60 mm}}}}}}")));
    assert!((run(&small)[0] - 160.0 * PI).abs() < 1e-4);
    // Sector of 2π sin: chord geometry of an annular sector of radius 133.33 ± 4 over 216°.
    let sector = 160.0 * PI / (400.0 / 3.0);
    let outer = 400.0 / 3.0 + 4.0;
    assert!((small.fit.artwork.silhouette.area() - 8.0 * 160.0 * PI).abs() < 1e-2);
    assert!(
        (small.fit.size.width.to_mm() - 2.0 * outer).abs() < 1e-3,
        "over half a turn: {:?}",
        small.fit.size
    );
    let inner = 400.0 / 3.0 - 4.0;
    let height = outer + (-(inner * libm::cos(sector / 2.0)).min(outer * libm::cos(sector / 2.0)));
    assert!((small.fit.size.height.to_mm() - height).abs() < 1e-3, "{:?} {height}", small.fit.size);
}

/// A cylinder of Ø50 cut at 45° as seen: the edge is an ellipse of half axes 25 and 25√2, length 191.009889.
#[test]
fn a_slanting_cut_of_a_cylinder() {
    let piece = fitted(&spec(
        "shape: {cylinder: {diameter: 50 mm, length: 300 mm}}",
        "draw: {band: {width: 4 mm}}\n    colour: a\n    at: {seen: left, aft: 150 mm, up: 0 mm, turn: 45 deg}\n    lay: {follow: section}",
    ));
    assert!((run(&piece)[0] - 191.009_889).abs() < 1e-4, "{:?}", run(&piece));
    // Unrolled the centreline is a sinusoid of amplitude 25 and period 157.0796, so the ends lie
    // that far apart, across the axis.
    let film = &piece.fit.film;
    let spread = film.laid.iter().map(|p| p.x).fold([300.0f64, 0.0], |[a, b], x| [a.min(x), b.max(x)]);
    assert!((spread[1] - spread[0] - (50.0 + 2.0 * 2.0)).abs() < 1.0, "{spread:?}");
    let flat: Vec<_> = piece.fit.artwork.silhouette.flattened(1e-3).rings[0].clone();
    let (first, last) = flat.iter().fold((flat[0], flat[0]), |(a, b), &p| {
        (if p.x < a.x { p } else { a }, if p.x > b.x { p } else { b })
    });
    assert!(((last - first).length() - 157.0796).abs() < 6.0, "{}", (last - first).length());
}

/// Straight in a view onto a plate is straight on it; a corner of radius 40 turned by 90° is a quarter circle.
#[test]
fn a_line_drawn_on_a_plate() {
    let of = |radius: &str| {
        fitted(&spec(
            "shape: {flat: {width: 600 mm, height: 400 mm, face: left}}",
            &format!(
                "draw: {{band: {{width: 20 mm}}}}\n    colour: a\n    lay: {{follow: {{line: {{seen: left, points: [[-200 mm, -100 mm], [100 mm, -100 mm], [100 mm, 100 mm]]{radius}}}}}}}"
            ),
        ))
    };
    for (words, radius) in [(", radius: 40 mm", 40.0), ("", 20.0)] {
        let piece = of(words);
        let known = 500.0 - 2.0 * radius + radius * PI / 2.0;
        assert!((run(&piece)[0] - known).abs() < 1e-4, "{words}: {:?} {known}", run(&piece));
        assert!((piece.fit.artwork.silhouette.area() - 20.0 * known).abs() < 0.05);
        assert_eq!(piece.verdict, Verdict::Fits);
        let far = piece.fit.film.laid.iter().map(|p| p.x).fold(0.0, f64::max);
        assert!((far - 110.0).abs() < 1e-3, "{far}");
    }
    let sharp = refused(
        "shape: {flat: {width: 600 mm, height: 400 mm, face: left}}",
        "draw: {band: {width: 20 mm}}\n    colour: a\n    lay: {follow: {line: {seen: left, points: [[-200 mm, -100 mm], [100 mm, -100 mm], [100 mm, 100 mm]], radius: 9 mm}}}",
    );
    assert!(sharp.contains("the inner edge folds over itself"), "{sharp}");
}

/// On a plate a line 300 mm long holds a stripe of 300 mm; what is longer runs on past its end.
#[test]
fn a_stripe_longer_than_its_line() {
    let of = |length: u32| {
        let line = "line: {seen: left, points: [[-200 mm, 0 mm], [100 mm, 0 mm]]}";
        fitted(&spec(
            "shape: {flat: {width: 600 mm, height: 400 mm, face: left}}",
            &format!(
                "draw: {{stripe: {{width: 20 mm, length: {length} mm}}}}\n    colour: a\n    hold: front\n    lay: {{follow: {{{line}}}}}"
            ),
        ))
    };
    assert_eq!(found(&of(300), Code::ShortLine), None);
    assert_eq!(
        found(&of(340), Code::ShortLine).as_deref(),
        Some(
            "runs 40 mm straight on past the end of its line / make it 300 mm long at full size, or lead the line on"
        )
    );
}

/// Round a pipe of Ø10 a stripe may be 10π long before it meets itself.
#[test]
fn the_longest_stripe_round_a_pipe() {
    let piece = fitted(&spec(
        PIPE,
        "draw: {stripe: {width: 2 mm, length: 20 mm}}\n    colour: a\n    lay: {follow: {ring: {station: 30 mm}}}",
    ));
    let longest = piece.fit.largest_length.unwrap().to_mm();
    assert!((longest - 10.0 * PI).abs() < 1e-6, "{longest}");
}

/// A line straight in the view along a cylinder, 30° up its side, is a straight of the cylinder.
#[test]
fn a_line_drawn_on_a_cylinder() {
    let piece = fitted(&spec(
        "shape: {cylinder: {diameter: 1 m, length: 4 m}}",
        "draw: {stripe: {width: 100 mm, length: 1 m}}\n    colour: a\n    hold: front\n    lay: {follow: {line: {seen: left, points: [[0.5 m, 250 mm], [3 m, 250 mm]]}}}",
    ));
    assert!((piece.fit.size.height.to_mm() - 100.0).abs() < 1e-4);
    let reach = piece.fit.film.laid.iter().fold([4e3f64, 0.0f64], |[a, b], p| [a.min(p.x), b.max(p.x)]);
    assert!((reach[0] - 500.0).abs() < 1e-2 && (reach[1] - 1500.0).abs() < 1e-2, "{reach:?}");
}

/// A stripe 150 mm above a sill, measured over the part: on a cylinder that is an arc of 150 mm.
#[test]
fn a_stripe_beside_a_limit_and_one_beside_that() {
    let part =
        "shape: {cylinder: {diameter: 1 m, length: 4 m}}\n    limits: {sill: {up: 100 mm, keep: above}}";
    let text = spec(
        part,
        "draw: {stripe: {width: 100 mm, length: 1 m}}\n    colour: a\n    lay: {follow: {along: {limit: sill, offset: 150 mm}}}\n    at: {seen: left, aft: 2 m, up: 100 mm}\n  n:\n    part: p\n    draw: {stripe: {width: 20 mm, length: 1 m}}\n    colour: b\n    lay: {follow: {along: {marking: m, offset: 100 mm, side: above}}}",
    );
    let outcome = outcome_of(&text);
    let pieces = &outcome.scales[0].pieces;
    for (piece, arc) in pieces.iter().zip([150.0, 250.0]) {
        let middle: Vec<f64> = piece
            .fit
            .film
            .flat
            .iter()
            .zip(&piece.fit.film.laid)
            .filter(|(flat, _)| flat.y.abs() < 1e-6)
            .map(|(_, laid)| libm::asin(laid.z / 500.0) * 500.0)
            .collect();
        let sill = libm::asin(0.2f64) * 500.0;
        assert!(middle.iter().all(|on| (on - sill - arc).abs() < 1e-3), "{arc}: {middle:?}");
        assert!(piece.fit.film.laid.iter().all(|p| p.y < 0.0), "on the left");
    }
}

/// A strap over a sphere from point to point is an arc of a great circle; a free stretch is its chord.
#[test]
fn a_strap_through_points() {
    let ball = "shape: {sphere: {diameter: 200 mm}}";
    let points = "{seen: top, aft: -80 mm, right: 0 mm}, {seen: top, aft: 0 mm, right: 0 mm}";
    let of = |more: &str| {
        fitted(&spec(
            ball,
            &format!(
                "draw: {{band: {{width: 10 mm}}}}\n    colour: a\n    lay: {{follow: {{through: [{points}{more}]}}}}"
            ),
        ))
    };
    let arc = 100.0 * libm::asin(0.8f64);
    assert!((run(&of(""))[0] - arc).abs() < 1e-4);
    // On along the same great circle there is no corner.
    assert!((run(&of(", {seen: top, aft: 60 mm}"))[0] - arc - 100.0 * libm::asin(0.6f64)).abs() < 1e-4);
    // Free to the far point: the chord of that arc.
    let chord = 200.0 * libm::sin(libm::asin(0.6f64) / 2.0);
    let free = of(", {seen: top, aft: 60 mm, free: true}");
    assert!((run(&free)[0] - arc - chord).abs() < 1e-4, "{:?}", run(&free));
    assert!((run(&of(", {seen: top, aft: 60 mm, free: 90 mm}"))[0] - arc - 90.0).abs() < 1e-4);
    // Aside: a corner of 60°, led round within the strap's width; shorter than by the corner.
    let aside = of(", {seen: top, aft: 30 mm, right: 51.961524 mm}");
    let whole = arc + 100.0 * libm::asin(0.6f64);
    let saved = 2.0 * 10.0 * libm::tan(30f64.to_radians()) - 10.0 * 60f64.to_radians();
    assert!((run(&aside)[0] - (whole - saved)).abs() < 0.1, "{:?} {whole} {saved}", run(&aside));
    assert!(aside.fit.strain.stretch_max < 0.01);
}

/// A ribbon that goes round more than once lies over itself on the flat piece, and says so.
#[test]
fn a_ribbon_over_itself() {
    let piece = fitted(&spec(
        "shape: {flat: {width: 400 mm, height: 400 mm, face: top}}",
        "draw: {stripe: {width: 10 mm, length: 420 mm}}\n    colour: a\n    lay: {follow: {line: {seen: top, radius: 20 mm, points: [[-60 mm, 0 mm], [60 mm, 0 mm], [60 mm, 80 mm], [0 mm, 80 mm], [0 mm, -60 mm]]}}}",
    ));
    let finding = found(&piece, Code::Overlap).expect("it crosses itself");
    assert!(finding.contains("of the flat piece"), "{finding}");
    // It crosses itself square: 10 × 10 of 10 × 420.
    assert!((piece.fit.doubled_share - 100.0 / 4200.0).abs() < 1e-3, "{}", piece.fit.doubled_share);
}

#[test]
fn what_cannot_be_followed_says_so() {
    let plate = "shape: {flat: {width: 600 mm, height: 400 mm, face: left}}";
    let ball = "shape: {sphere: {diameter: 200 mm}}";
    let band = "draw: {band: {width: 10 mm}}\n    colour: a\n    lay: ";
    for (part, lay, text) in [
        (plate, "{follow: {helix: {pitch: 20 mm}}}", "no helix goes round a flat part"),
        (PIPE, "{follow: helix}", "does not say how it climbs"),
        (PIPE, "{follow: {helix: {pitch: 20 mm, turns: 3}}}", "says a second time"),
        (PIPE, "{follow: {helix: {rise: 90 deg}}}", "from 1° to 89°"),
        (PIPE, "{follow: {helix: {turns: 0}}}", "a helix of 0 turns"),
        (PIPE, "{follow: run}", "a run has no end of its own"),
        (PIPE, "sight", "a band goes round its part"),
        (ball, "{follow: {section: {up: 101 mm}}}", "the plane is off the part"),
        (ball, "{follow: {section: {up: 1 mm, aft: 2 mm}}}", "gives a second plane"),
        (ball, "{follow: {line: {seen: left, points: [[0 mm, 0 mm]]}}}", "a line through 1 points"),
        (ball, "{follow: {line: {seen: left, points: [[0 mm, 0 mm], [0 mm, 0 mm]]}}}", "stays where it is"),
        (
            ball,
            "{follow: {line: {seen: left, points: [[0 mm, 0 mm], [120 mm, 0 mm]]}}}",
            "the line leaves the part",
        ),
        (
            ball,
            "{follow: {line: {seen: left, points: [[120 mm, 0 mm], [0 mm, 0 mm]]}}}",
            "the line leaves the part",
        ),
        (
            ball,
            "{follow: {line: {seen: left, points: [[-50 mm, 0 mm], [0 mm, 0 mm], [-40 mm, 0 mm]]}}}",
            "turns straight back",
        ),
        (ball, "{follow: {along: {offset: 20 mm}}}", "along what?"),
        (ball, "{follow: {along: {limit: sill}}}", "the part has no limit"),
        (ball, "{follow: {along: {marking: m}}}", "cannot lie along itself"),
        (ball, "{follow: {along: {marking: nn}}}", "no marking is called"),
        (ball, "{follow: {through: [{seen: top}]}}", "a strap through 1 points"),
        (ball, "{follow: {through: [{seen: top}, {seen: top, aft: 150 mm}]}}", "beside the part"),
        (ball, "{follow: {through: [{seen: top}, {seen: top}]}}", "no direction to start in"),
        (
            ball,
            "{follow: {through: [{seen: top}, {seen: top, aft: 60 mm, free: 50 mm}]}}",
            "less than the 63 mm",
        ),
    ] {
        let found = refused(part, &format!("{band}{lay}"));
        assert!(found.contains(text), "{lay}: {found}");
    }
    let aside = refused(
        "shape: {sphere: {diameter: 200 mm}}\n    limits: {sill: {up: 40 mm, keep: above}}",
        &format!("{band}{{follow: {{along: {{limit: sill, offset: 130 mm}}}}}}"),
    );
    assert!(aside.contains("fold back on itself"), "{aside}");
}

/// A hatch that lies under a corner of the disc's box, and not under the disc. Plane geometry: the disc reaches 200 mm
/// along the sphere of radius 500, so 500 sin 0.4 = 195 mm as seen; its box's corner 500 sin 0.4 cos 0.4 = 179 mm both
/// ways, 165 mm both ways are 233 mm from its middle and 120 mm both ways 170.
#[test]
fn a_disc_along_a_ring_reaches_no_further_than_it_does() {
    let beside = |from: u32, to: u32| {
        let hatch = format!(
            "[[{from} mm, {from} mm], [{to} mm, {from} mm], [{to} mm, {to} mm], [{from} mm, {to} mm]]"
        );
        fitted(&spec(
            &format!(
                "shape: {{sphere: {{diameter: 1 m}}}}\n    limits: {{hatch: {{seen: left, outline: {hatch}, keep: outside}}}}"
            ),
            "draw: {disc: {diameter: 400 mm}}\n    colour: a\n    lay: {follow: {ring: {station: 0 mm}}}\n    at: {around: left}",
        ))
    };
    assert_eq!(beside(165, 185).verdict, Verdict::Fits);
    assert_ne!(beside(120, 140).verdict, Verdict::Fits);
}

/// 200 000 times as long as wide: triangles as wide as half of it would take eleven gigabytes.
#[test]
fn a_hairline_takes_no_more_triangles_than_are_allowed() {
    let hair = fitted(&spec(
        "shape: {flat: {width: 1 m, height: 1 m, face: left}}",
        "draw: {stripe: {width: 0.01 mm, length: 2 m}}\n    lay: {follow: {line: {seen: left, points: [[-40 cm, 0 m], [40 cm, 0 m], [0 m, 40 cm], [0 m, -40 cm]], radius: 5 cm}}}\n    colour: a\n    make: decal",
    ));
    assert!(hair.fit.film.triangles.len() <= 40_000, "{}", hair.fit.film.triangles.len());
    assert!(hair.fit.strain.mean_abs < 1e-3, "a plate strains nothing: {:?}", hair.fit.strain);
}
