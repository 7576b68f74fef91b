//! A bit of the part itself as a piece: its area and outline against plane geometry.

use markloft::batch::{self, Choice};
use markloft::flow::{Outcome, Piece};
use markloft::spec;
use std::f64::consts::PI;

fn outcome(parts: &str, markings: &str) -> Outcome {
    let text = format!(
        "markloft: 1\nscales: full\ncolours: {{bone: \"#efe9dc\"}}\nparts:\n{parts}\nmarkings:\n{markings}\nsheets: {{page: {{width: 900 mm, height: 900 mm}}}}\n"
    );
    let none = |_: &str| Err("there is no such file".to_owned());
    let plan = spec::read("a.yaml", text.as_bytes(), &none).unwrap();
    batch::work_out(plan, &Choice::default()).unwrap()
}

fn only(outcome: &Outcome) -> &Piece {
    match &outcome.scales[0].pieces[..] {
        [piece] => piece,
        _ => panic!("{:?}", outcome.scales[0].findings),
    }
}

fn area(piece: &Piece) -> f64 {
    piece.fit.artwork.silhouette.area()
}

const TUBE: &str = "  boom:\n    shape: {cylinder: {diameter: 100 mm, length: 400 mm}}\n    limits:\n      front: {station: 100 mm, keep: behind}\n      rear: {station: 250 mm, keep: ahead}\n      window: {seen: left, outline: [[120 mm, -20 mm], [180 mm, -20 mm], [180 mm, 20 mm], [120 mm, 20 mm]], keep: outside}\n";

#[test]
fn all_round_a_tube_is_a_rectangle_cut_at_the_seam() {
    let made = outcome(
        TUBE,
        "  ring: {part: boom, draw: {area: {within: [front, rear]}}, colour: bone, make: mask}",
    );
    let piece = only(&made);
    let size = piece.fit.size;
    assert!(
        (size.width.to_mm() - 150.0).abs() < 1e-6 && (size.height.to_mm() - 100.0 * PI).abs() < 1e-6,
        "{size:?}"
    );
    // The seam is below where nothing is said: the long edges lie there.
    let edge = piece.fit.film.laid.iter().zip(&piece.fit.film.flat).filter(|(_, q)| q.y.abs() > 157.0);
    let mut count = 0;
    for (p, _) in edge {
        assert!((p.z + 50.0).abs() < 1e-3, "{p:?}");
        count += 1;
    }
    assert!(count > 4);
    assert!((piece.full_size.width.to_mm() - 150.0).abs() < 1e-6);
}

#[test]
fn a_window_in_a_tube_unrolls_by_arcs() {
    let made = outcome(TUBE, "  pane: {part: boom, draw: {area: {beyond: window}}, colour: bone}");
    let piece = only(&made);
    // 40 mm seen flat are an arc of 2 asin(20/50) on a radius of 50 mm.
    let arc = 100.0 * libm::asin(0.4);
    assert!((area(piece) / (60.0 * arc) - 1.0).abs() < 2e-4, "{} {}", area(piece), 60.0 * arc);
    assert!((piece.fit.size.height.to_mm() - arc).abs() < 1e-2 * arc);
}

#[test]
fn the_end_of_a_cone_is_a_ring_sector() {
    // Slant length 500 of a cone 600 across and 400 long, cut off at half.
    let cone = "  tail:\n    shape: {cone: {front: 600 mm, rear: 300 mm, length: 200 mm}}\n    limits:\n      ring: {station: 100 mm, keep: ahead}\n";
    let made = outcome(cone, "  rear: {part: tail, draw: {area: {beyond: ring}}, colour: bone}");
    let piece = only(&made);
    // π (r₁ + r₂) s, and the outer edge of the flat sector lies on a circle about the cone's point.
    let wanted = PI * (225.0 + 150.0) * 125.0;
    assert!((area(piece) / wanted - 1.0).abs() < 1e-4, "{} {wanted}", area(piece));
}

const HELMET: &str = "  helmet:\n    shape: {ellipsoid: {length: 285 mm, width: 240 mm, height: 255 mm}}\n    limits:\n      visor-edge: {aft: -110 mm, keep: behind}\n      rim: {up: -60 mm, keep: above}\n";

#[test]
fn a_visor_is_flattened_and_lands_where_it_is_wanted() {
    let made = outcome(
        HELMET,
        "  visor: {part: helmet, draw: {area: {beyond: visor-edge, within: rim}}, colour: bone, make: mask}",
    );
    let piece = only(&made);
    // Every corner of the laid film's edge lies on the visor edge, within the miss that is told.
    let fit = &piece.fit;
    let miss = fit.miss.to_mm();
    assert!(miss < 0.3, "{miss}");
    let size = fit.size.width.to_mm().max(fit.size.height.to_mm());
    let edge: Vec<_> = fit.film.laid.iter().filter(|p| p.x > -112.0).collect();
    assert!(
        edge.len() > 20 && edge.iter().all(|p| p.x < -110.0 + 2.0 * miss + 1e-3 * size),
        "{}",
        edge.len()
    );
    assert!(fit.past.is_empty() && fit.overhang.to_mm() == 0.0);
    // A dome squeezes its film.
    assert!(fit.strain.squeeze_p99 < -0.001);
}

#[test]
fn an_area_runs_past_limits_that_are_not_its_own() {
    let shell = HELMET.replace("up: -60 mm", "up: 10 mm");
    let made = outcome(&shell, "  visor: {part: helmet, draw: {area: {beyond: visor-edge}}, colour: bone}");
    assert_eq!(only(&made).fit.past, ["rim"]);
    let made = outcome(
        &shell,
        "  visor: {part: helmet, draw: {area: {beyond: visor-edge, within: rim}}, colour: bone}",
    );
    assert_eq!(only(&made).fit.past, [""; 0]);
}

#[test]
fn what_cannot_be_one_piece_is_refused() {
    let told = |parts: &str, markings: &str| {
        let made = outcome(parts, markings);
        made.scales[0].findings.iter().map(|finding| finding.text.clone()).collect::<Vec<_>>().join("; ")
    };
    let nothing = told(TUBE, "  no: {part: boom, draw: {area: {beyond: [front, rear]}}, colour: bone}");
    assert!(nothing.contains("nothing of the part lies between these limits"), "{nothing}");
    let ball = "  ball:\n    shape: {sphere: {diameter: 100 mm}}\n    limits:\n      low: {up: -10 mm, keep: above}\n      high: {up: 10 mm, keep: below}\n";
    let round = told(ball, "  belt: {part: ball, draw: {area: {within: [low, high]}}, colour: bone}");
    assert!(round.contains("it goes all the way round the part"), "{round}");
}

#[test]
fn mistakes_about_an_area_are_placed() {
    let told = |marking: &str| {
        let text = format!(
            "markloft: 1\nscales: full\ncolours: {{bone: \"#efe9dc\"}}\nparts:\n{TUBE}markings:\n  a: {{part: boom, colour: bone, {marking}}}\n"
        );
        let none = |_: &str| Err("there is no such file".to_owned());
        let problems = spec::read("a.yaml", text.as_bytes(), &none).unwrap_err();
        problems.iter().map(|problem| problem.message.clone()).collect::<Vec<_>>().join("; ")
    };
    assert_eq!(told("draw: {area: {}}"), "an area without bounds");
    assert_eq!(told("draw: {area: {beyond: fornt}}"), "the part has no limit `fornt`");
    assert_eq!(told("draw: {area: {beyond: front, within: front}}"), "`front` is named twice");
    assert_eq!(
        told("draw: {area: {beyond: front}}, lay: drape, hold: front"),
        "`lay` says nothing of an area; `hold` says nothing of an area"
    );
}
