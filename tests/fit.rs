//! The fit of whole markings, from a spec to numbers, held against closed forms and published tables.

use markloft::batch::{self, Choice};
use markloft::flow::{Code, Outcome, Piece, Verdict};
use markloft::outline::Segment;

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

/// A spec with one part and one marking, full size unless the text says otherwise.
fn spec(part: &str, marking: &str) -> String {
    format!(
        "markloft: 1\ntitle: t\nscales: [full]\ncolours: {{a: \"#000000\", b: \"#ffffff\"}}\nparts:\n  p:\n    {part}\nmarkings:\n  m:\n    part: p\n    {marking}\nsheets: {{page: {{width: 900 mm, height: 900 mm}}}}\n"
    )
}

/// Largest fit on a plate is plane geometry: a disc of 100 held 30 from the edge of a plate 200 wide.
#[test]
fn largest_fit_on_a_plate() {
    let piece = fitted(&spec(
        "shape: {flat: {width: 200 mm, height: 400 mm, face: top}}",
        "draw: {disc: {diameter: 100 mm}}\n    colour: a\n    at: {seen: top, aft: 70 mm, right: 0 mm}",
    ));
    assert_eq!(piece.verdict, Verdict::Oversize);
    assert!((piece.fit.largest_fit - 0.6).abs() < 1e-3 * 0.6, "{}", piece.fit.largest_fit);
    assert!((piece.fit.overhang.to_mm() - 20.0).abs() < 0.02, "{:?}", piece.fit.overhang);
    // A circular segment of height 20 in a circle of radius 50: r² acos(1 − h/r) − (r − h) √(2rh − h²).
    let segment = 2500.0 * libm::acos(0.6) - 30.0 * (2.0f64 * 50.0 * 20.0 - 400.0).sqrt();
    assert!((piece.fit.overhang_share / (segment / (2500.0 * std::f64::consts::PI)) - 1.0).abs() < 0.01);
}

/// The definition itself: at the largest fit it fits, at 0.2 % more it does not. Tried on every kind of part.
#[test]
fn largest_fit_is_the_largest() {
    let cases = [
        (
            "shape: {flat: {width: 300 mm, height: 200 mm, face: left}}",
            "at: {seen: left, aft: 20 mm, up: 10 mm, turn: 30 deg}",
        ),
        (
            "shape: {cylinder: {diameter: 90 mm, length: 200 mm}}",
            "at: {station: 120 mm, around: left, turn: 20 deg}",
        ),
        (
            "shape: {cone: {front: 120 mm, rear: 60 mm, length: 260 mm}}",
            "at: {station: 100 mm, around: 30 deg, turn: 70 deg}",
        ),
        (
            "shape: {sphere: {diameter: 300 mm}}\n    limits: {line: {aft: 60 mm, keep: ahead}}",
            "at: {seen: top, aft: 5 mm, right: 10 mm}",
        ),
        (
            "shape: {ellipsoid: {length: 285 mm, width: 240 mm, height: 255 mm}}\n    limits: {rim: {up: -20 mm, keep: above}}",
            "at: {seen: left, aft: 10 mm, up: 50 mm}",
        ),
        // Pushed back to the round end of the cone as it grows.
        (
            "shape: {cone: {front: 120 mm, rear: 60 mm, length: 260 mm}}",
            "at: {from: front, seen: top}\n    hold: front",
        ),
        // Its own limit is what stops it.
        (
            "shape: {cylinder: {diameter: 120 mm, length: 260 mm}}\n    limits: {line: {station: 60 mm, keep: behind}}",
            "at: {from: line, offset: 20 mm, seen: top}\n    hold: centre",
        ),
    ];
    for (part, at) in cases {
        let of = |factor: f64| {
            let (width, height) = (90.0 * factor, 30.0 * factor);
            let draw = format!(
                "draw: {{rectangle: {{width: {width:.9} mm, height: {height:.9} mm}}}}\n    colour: a\n    {at}"
            );
            fitted(&spec(part, &draw))
        };
        let largest = of(1.0).fit.largest_fit;
        assert!((0.2..4.0).contains(&largest), "{part}: {largest}");
        assert_eq!(of(largest).verdict, Verdict::Fits, "{part} at {largest}");
        assert_ne!(of(largest * 1.002).verdict, Verdict::Fits, "{part} at 1.002 × {largest}");
    }
}

/// A stripe of its largest length fits, one 0.2 % longer does not; its width stays true.
#[test]
fn largest_length_is_the_longest() {
    let of = |length: f64| {
        fitted(&spec(
            "shape: {ellipsoid: {length: 285 mm, width: 240 mm, height: 255 mm}}\n    limits: {brow: {aft: -95 mm, keep: behind}, rim: {up: -60 mm, keep: above}}",
            &format!(
                "draw: {{stripe: {{width: 50 mm, length: {length:.9} mm}}}}\n    colour: a\n    at: {{from: brow}}\n    hold: front\n    may_trim: rear"
            ),
        ))
    };
    let long = of(420.0);
    assert_eq!(long.verdict, Verdict::Trim);
    let largest = long.fit.largest_length.unwrap().to_mm();
    assert_eq!(of(largest).verdict, Verdict::Fits, "{largest}");
    assert_eq!(of(largest * 1.002).verdict, Verdict::Trim, "{largest}");
    // What is trimmed is what is too long, along the middle; the rim is lowest there, the film squeezed a little.
    assert!((long.fit.overhang.to_mm() - (420.0 - largest)).abs() < 0.01 * 420.0);
    assert!((long.fit.size.height.to_mm() - 50.0).abs() < 1e-9);
}

/// Five-stripe bands of 18 in at 1/48 are 9.525 mm each: 1944 instructions as the Smithsonian NASM tells them.
#[test]
fn five_stripes_at_one_to_forty_eight() {
    let text = spec(
        "shape: {cylinder: {diameter: 1 m, length: 4 m}}",
        "draw: {band: {width: 90 in}}\n    colours: [b, a, b, a, b]\n    lay: {follow: {ring: {station: 2 m}}}",
    )
    .replace("[full]", "[1/48]");
    let piece = fitted(&text);
    assert_eq!(piece.fit.artwork.areas.len(), 5);
    for area in &piece.fit.artwork.areas {
        assert!((area.outline.bounds().height() - 9.525).abs() < 1e-9);
        assert!((area.outline.bounds().width() - std::f64::consts::PI * 1000.0 / 48.0).abs() < 1e-6);
    }
    assert!((piece.fit.size.height.to_mm() - 47.625).abs() < 1e-9);
}

/// A band rolled back on its cone meets itself edge to edge: both ends of the flat piece land on one line.
#[test]
fn a_rolled_band_meets_itself() {
    let piece = fitted(&spec(
        "shape: {cone: {front: 50 mm, rear: 80 mm, length: 40 mm}}\n    seam: left",
        "draw: {band: {width: 20 mm}}\n    colour: a\n    lay: {follow: {ring: {station: 20 mm}}}",
    ));
    let film = &piece.fit.film;
    let arcs = piece.fit.artwork.silhouette.contours[0].segments.iter();
    let ends: Vec<_> = arcs.filter(|segment| matches!(segment, Segment::Line { .. })).collect();
    assert_eq!(ends.len(), 2, "two butt ends");
    assert!(piece.fit.seam.as_ref().unwrap().gap.to_mm().abs() < 1e-12);
    // Each laid point at the seam is shared by a point of the other end.
    let at_seam: Vec<_> = film.laid.iter().filter(|p| p.z.abs() < 1e-9 && p.y < 0.0).collect();
    assert!(at_seam.len() >= 6);
    for p in &at_seam {
        let twins = at_seam.iter().filter(|q| (***q - **p).length() < 1e-6).count();
        assert_eq!(twins, 2, "a point of each end at {p}");
    }
}

/// A disc held on a ball of 200 mm, as the pipeline fits it.
fn disc_on_a_sphere(share: f64, poisson: f64) -> Piece {
    let text = spec(
        "shape: {sphere: {diameter: 200 mm}}",
        &format!("draw: {{disc: {{diameter: {} mm}}}}\n    colour: a", 200.0 * share),
    ) + &format!("films: {{decal: {{poisson: {poisson}}}}}\n");
    fitted(&text)
}

/// Strain of a disc on a sphere through the whole pipeline, centre and edge by the table of large-strain
/// numbers (axisymmetric finite elements and an independent boundary-value solution; the problem: Majidi and
/// Fearing, Proc. R. Soc. A 464:1309, 2008).
#[test]
fn a_disc_on_a_sphere() {
    // a/R, stretch at the centre, hoop strain at the edge, for Poisson's ratio 0.3.
    for (share, centre, edge) in
        [(0.1, 4.3739e-4, -1.2514e-3), (0.2, 1.7481e-3, -5.0225e-3), (0.3, 3.9272e-3, -1.1364e-2)]
    {
        let piece = disc_on_a_sphere(share, 0.3);
        let strain = &piece.fit.strain;
        assert!((strain.stretch_max / centre - 1.0).abs() < 0.01, "{share}: {} {centre}", strain.stretch_max);
        assert!((strain.squeeze_max / edge - 1.0).abs() < 0.01, "{share}: {} {edge}", strain.squeeze_max);
        assert!(strain.settled);
        assert!(piece.fit.film.stretches.iter().all(|[most, least]| *least > 0.9 && *most < 1.1));
    }
}

/// Film that hardly gives in area is stretched most at the edge, across it: nothing pulls there, so by Poisson's
/// ratio times what it is squeezed along the edge, to first order.
#[test]
fn stiff_film_is_stretched_most_across_its_edge() {
    let (edge, poisson) = (-5.0213e-3, 0.45);
    let strain = disc_on_a_sphere(0.2, poisson).fit.strain.clone();
    assert!((strain.squeeze_max / edge - 1.0).abs() < 0.01, "{}", strain.squeeze_max);
    assert!((strain.stretch_max / (-poisson * edge) - 1.0).abs() < 0.01, "{}", strain.stretch_max);
}

/// Checks round a ball do not come out whole; with the width that the finding names they do.
#[test]
fn the_width_that_a_count_names_cures_it() {
    let of = |square: f64| {
        fitted(&spec(
            "shape: {sphere: {diameter: 300 mm}}",
            &format!(
                "draw: {{checks: {{square: {square:.9} mm, rows: 2}}}}\n    colours: [a, b]\n    lay: {{follow: {{ring: {{station: 0 mm}}}}}}"
            ),
        ))
    };
    let broken = of(30.0);
    let finding =
        broken.findings.iter().find(|finding| finding.code == Code::Count).expect("31.4 squares go round");
    assert!(finding.help.starts_with("squares of 29.45 mm"), "{}", finding.help);
    let whole = std::f64::consts::PI * 300.0 / 32.0;
    assert!(of(whole).findings.iter().all(|finding| finding.code != Code::Count));
}

/// The calipers of one scale do not touch another, and scales without calipers share one fit exactly.
#[test]
fn scales_share_a_fit() {
    let text = spec(
        "shape: {sphere: {diameter: 300 mm}}\n    measured: {1/48: {diameter: 5 mm}}",
        "draw: {disc: {diameter: 100 mm}}\n    colour: a",
    )
    .replace("[full]", "[1/72, 1/48, 1/32]");
    let outcome = outcome_of(&text);
    let strain = |k: usize| outcome.scales[k].pieces[0].fit.strain.clone();
    assert_eq!(strain(0), strain(2));
    // 5 mm at 1/48 is a ball of 240: a disc of 100 is strained more on it, by the square of the radii.
    let ratio = strain(1).squeeze_p99 / strain(0).squeeze_p99;
    assert!((ratio / libm::pow(300.0f64 / 240.0, 2.0) - 1.0).abs() < 0.03, "{ratio}");
}

/// A hatch smaller than the film's triangles, 10 mm on a stripe of 1 m, lies whole under the film.
#[test]
fn a_small_hatch_is_not_covered_unseen() {
    let hatch =
        "{seen: left, outline: [[-5 mm, -5 mm], [5 mm, -5 mm], [5 mm, 5 mm], [-5 mm, 5 mm]], keep: outside}";
    let stripe = "draw: {stripe: {width: 20 cm, length: 1 m}}\n    colour: a\n    at: {seen: left, aft: 37 cm, up: 3 cm}";
    let plate =
        format!("shape: {{flat: {{width: 3 m, height: 3 m, face: left}}}}\n    limits: {{hatch: {hatch}}}");
    let piece = fitted(&spec(&plate, stripe));
    assert_eq!(piece.verdict, Verdict::Oversize);
    // The hatch is square: its middle is furthest from the line round it.
    assert!((piece.fit.overhang.to_mm() - 5.0).abs() < 0.2, "{:?}", piece.fit.overhang);
    assert!((piece.fit.overhang_share - 100.0 / 200_000.0).abs() < 2e-5, "{}", piece.fit.overhang_share);
    // Its near side is 365 from the hold: a stripe of 730 ends there; scaled, one of 0.73.
    assert!(
        (piece.fit.largest_length.unwrap().to_mm() - 730.0).abs() < 1.0,
        "{:?}",
        piece.fit.largest_length
    );
    assert!((piece.fit.largest_fit - 0.73).abs() < 1e-3, "{}", piece.fit.largest_fit);
}

/// A band whose middle lies on the end of its tube hangs over by half at any width.
#[test]
fn a_band_on_the_very_end_of_its_tube_comes_to_an_end() {
    let piece = fitted(&spec(
        "shape: {cylinder: {diameter: 100 mm, length: 2 m}}",
        "draw: {band: {width: 50 mm}}\n    colour: a\n    lay: {follow: {ring: {station: 0 mm}}}",
    ));
    assert_eq!(piece.verdict, Verdict::Oversize);
    assert!((piece.fit.overhang.to_mm() - 25.0).abs() < 0.01 && piece.fit.largest_fit < 1e-3);
}

/// Round a cone's point there is less than a full turn of surface to lie on.
#[test]
fn film_is_not_laid_over_a_point() {
    let disc = |station: &str| {
        let marking = format!(
            "draw: {{disc: {{diameter: 20 cm}}}}\n    colour: a\n    at: {{station: {station}, around: top}}"
        );
        outcome_of(&spec("shape: {cone: {front: 0.01 mm, rear: 1 m, length: 2 m}}", &marking))
    };
    let over = disc("5 cm");
    assert!(over.scales[0].pieces.is_empty());
    assert_eq!(over.scales[0].findings[0].code, Code::Unlaid);
    assert!(over.scales[0].findings[0].text.contains("the part's point"));
    assert_eq!(disc("50 cm").scales[0].pieces[0].verdict, Verdict::Fits);
}

/// A stripe 500 wide across a tube that is 100π round meets itself and more.
#[test]
fn a_stripe_wider_than_its_tube_is_round_is_said_to_lie_over_itself() {
    let codes = |width: &str| {
        let stripe = format!(
            "draw: {{stripe: {{width: {width}, length: 80 cm}}}}\n    colour: a\n    make: decal\n    at: {{station: 1 m, around: top}}"
        );
        let piece = fitted(&spec("shape: {cylinder: {diameter: 100 mm, length: 2 m}}", &stripe));
        // One so large is made in parts besides.
        let others = piece.findings.iter().map(|finding| finding.code).filter(|code| *code != Code::Split);
        others.collect::<Vec<_>>()
    };
    assert_eq!(codes("500 mm"), [Code::Seam]);
    assert_eq!(codes("300 mm"), []);
}

/// A slip of the unit is told at once instead of after a search of half a minute.
#[test]
fn a_stripe_of_two_hundred_metres_on_a_nose_is_a_slip() {
    let outcome = outcome_of(&spec(
        "shape: {revolve: {profile: [[0 m, 0 m], [30 cm, 10 cm], [60 cm, 11 cm]]}}",
        "draw: {rectangle: {width: 20696 cm, height: 10 cm}}\n    at: {station: 25 cm, around: 45 deg}\n    colour: a\n    make: decal",
    ));
    let finding = &outcome.scales[0].findings[0];
    assert_eq!(finding.code, Code::Unlaid);
    // √(600² + 220² + 220²) mm is the part from corner to corner.
    assert!(finding.text.contains("it is 306 times as long as the part"), "{}", finding.text);
}
