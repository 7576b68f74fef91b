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
    // A belt with a hole across its middle line.
    let pierced = format!(
        "{BALL}      hole: {{seen: left, outline: [[-9 mm, -6 mm], [9 mm, -6 mm], [9 mm, 6 mm], [-9 mm, 6 mm]], keep: outside}}\n"
    );
    let round =
        told(&pierced, "  belt: {part: ball, draw: {area: {within: [low, high, hole]}}, colour: bone}");
    assert!(round.contains("`belt` cannot be laid"), "{round}");
}

const BALL: &str = "  ball:\n    shape: {sphere: {diameter: 100 mm}}\n    limits:\n      low: {up: -10 mm, keep: above}\n      high: {up: 10 mm, keep: below}\n";

/// Film of a belt at its ends and along its sides: where it lies on the part.
fn edges(piece: &Piece, on_edge: impl Fn(f64, f64) -> bool) -> Vec<[f64; 3]> {
    let film = &piece.fit.film;
    let at = film.flat.iter().zip(&film.laid).filter(|(q, _)| on_edge(q.x, q.y));
    at.map(|(_, p)| p.to_array()).collect()
}

#[test]
fn round_a_ball_a_belt_is_cut_open_and_laid_as_a_band() {
    let belt = "  belt: {part: ball, draw: {area: {within: [low, high]}}, colour: bone, make: mask}";
    let made = outcome(BALL, belt);
    let piece = only(&made);
    let run = piece.fit.run.expect("it runs round");
    // Along the great circle, and from one circle to the other along a meridian.
    let [round, half] = [100.0 * PI, 50.0 * libm::asin(0.2)];
    let size = [run.width.to_mm(), run.height.to_mm()];
    assert!((size[0] - round).abs() < 0.1 && (size[1] - 2.0 * half).abs() < 1e-2, "{size:?}");
    assert_eq!(piece.fit.seam.as_ref().map(|seam| seam.gap.to_mm()), Some(0.0));
    // Held at its true length along the middle it is squeezed at its edges by w²/2R², w half its width:
    // membrane theory of a closed band on a sphere (computed).
    let wanted = half * half / 5000.0;
    assert!((-piece.fit.strain.squeeze_max / wanted - 1.0).abs() < 0.15, "{:?} {wanted}", piece.fit.strain);
    // Its sides land on the two circles, its ends at the rear.
    let miss = piece.fit.miss.to_mm();
    assert!(miss < 0.1, "{miss}");
    let sides = edges(piece, |_, y| y.abs() > half - 1e-2);
    assert!(sides.len() > 40 && sides.iter().all(|p| (p[2].abs() - 10.0).abs() < miss + 1e-2));
    let ends = edges(piece, |x, _| x.abs() > round / 2.0 - 0.1);
    assert!(ends.len() > 2 && ends.iter().all(|p| p[0] > 48.0 && p[1].abs() < 0.2), "{ends:?}");
}

#[test]
fn a_belt_above_the_middle_is_bent_and_one_round_the_long_axis_opens_at_the_seam() {
    let high = BALL.replace("up: -10 mm", "up: 20 mm").replace("up: 10 mm", "up: 40 mm");
    let made = outcome(&high, "  belt: {part: ball, draw: {area: {within: [low, high]}}, colour: bone}");
    let piece = only(&made);
    // Meridians cross it square: from asin 0.4 to asin 0.8.
    let wide = 50.0 * (libm::asin(0.8) - libm::asin(0.4));
    let run = piece.fit.run.unwrap();
    assert!((run.height.to_mm() - wide).abs() < 1e-2, "{} {wide}", run.height.to_mm());
    // Its middle lies about half way up, at 30 mm, on a circle of 40 mm.
    assert!((run.width.to_mm() / (80.0 * PI) - 1.0).abs() < 0.02, "{}", run.width.to_mm());
    assert!(piece.fit.size.height.to_mm() > 1.5 * wide, "bent: {:?}", piece.fit.size);
    let miss = piece.fit.miss.to_mm();
    let film = &piece.fit.film;
    let [low, high] =
        film.laid.iter().fold([f64::MAX, f64::MIN], |[low, high], p| [low.min(p.z), high.max(p.z)]);
    assert!((low - 20.0).abs() < miss + 1e-2 && (high - 40.0).abs() < miss + 1e-2, "{low} {high} {miss}");
    let egg = "  egg:\n    shape: {ellipsoid: {length: 200 mm, width: 100 mm, height: 120 mm}}\n    limits:\n      \
               front: {aft: -20 mm, keep: behind}\n      rear: {aft: 15 mm, keep: ahead}\n";
    let made = outcome(egg, "  belt: {part: egg, draw: {area: {within: [front, rear]}}, colour: bone}");
    let piece = only(&made);
    let half = piece.fit.run.unwrap().width.to_mm() / 2.0;
    let ends = edges(piece, |x, _| x.abs() > half - 0.1);
    // The seam is below where nothing is said.
    assert!(ends.len() > 2 && ends.iter().all(|p| p[2] < -50.0), "{ends:?}");
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
