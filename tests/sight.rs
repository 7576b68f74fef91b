//! Markings true as seen, from a spec to numbers, held against closed forms.

use markloft::batch::{self, Choice};
use markloft::flow::{Code, Piece};
use std::f64::consts::PI;

/// The first piece of a spec with one part and one marking, full size; or why there is none.
fn fitted(part: &str, marking: &str) -> Result<Piece, String> {
    let text = format!(
        "markloft: 1\ntitle: t\nscales: [full]\ncolours: {{a: \"#000000\"}}\nparts:\n  p:\n    {part}\nmarkings:\n  m:\n    part: p\n    {marking}\n    colour: a\nsheets: {{page: {{width: 900 mm, height: 900 mm}}}}\n"
    );
    let plan = batch::load_embedded("test.yaml", &text).map_err(|failure| format!("{failure:?}"))?;
    let outcome = batch::work_out(plan, &Choice::default()).unwrap();
    let scale = &outcome.scales[0];
    scale.pieces.first().cloned().ok_or_else(|| format!("{:?}", scale.findings))
}

const PIPE: &str = "shape: {cylinder: {diameter: 100 mm, length: 300 mm}}";

/// A disc seen on the side of a cylinder covers ±asin(a/R) of it: flat it is 2 R asin(a/R) high, 2 a long.
#[test]
fn a_disc_on_a_cylinder_lands_where_it_is_drawn() {
    let piece = fitted(
        PIPE,
        "draw: {disc: {diameter: 80 mm}}\n    at: {seen: left, aft: 150 mm, up: 0 mm}\n    lay: sight",
    )
    .unwrap();
    let bounds = piece.fit.artwork.silhouette.bounds();
    assert!((bounds.width() - 80.0).abs() < 1e-3, "{}", bounds.width());
    let known = 100.0 * libm::asin(0.8f64);
    assert!((bounds.height() - known).abs() < 1e-3 * known, "{} {known}", bounds.height());
    // Every point of the laid outline is seen 40 mm from the middle.
    let film = &piece.fit.film;
    let away = film.laid.iter().map(|p| (libm::pow(p.x - 150.0, 2.0) + p.z * p.z).sqrt());
    let furthest = away.fold(0.0, f64::max);
    assert!((furthest - 40.0).abs() < 0.04, "{furthest}");
    let area: f64 = film
        .triangles
        .iter()
        .map(|t| {
            let [a, b, c] = t.map(|v| film.laid[v as usize]);
            let (u, v) = (b - a, c - a);
            (u.x * v.z - u.z * v.x).abs() / 2.0
        })
        .sum();
    assert!((area / (PI * 1600.0) - 1.0).abs() < 3e-3, "{area}");
    assert_eq!(piece.fit.hidden_share, 0.0);
    assert!(piece.findings.iter().all(|finding| finding.code != Code::Hidden));
}

/// On a sphere the draped piece lands on the outline within 0.1 % of its size: its rim is seen at the radius.
#[test]
fn a_disc_on_a_sphere_lands_where_it_is_drawn() {
    let piece = fitted(
        "shape: {sphere: {diameter: 300 mm}}",
        "draw: {disc: {diameter: 100 mm}}\n    at: {seen: left, aft: 30 mm, up: 20 mm}\n    lay: {sight: {seen: left}}",
    )
    .unwrap();
    let film = &piece.fit.film;
    let away = film.laid.iter().map(|p| (libm::pow(p.x - 30.0, 2.0) + libm::pow(p.z - 20.0, 2.0)).sqrt());
    let furthest = away.fold(0.0, f64::max);
    assert!((furthest - 50.0).abs() < 0.1, "{furthest}");
    assert!(piece.fit.miss.to_mm() < 0.1, "{:?}", piece.fit.miss);
    assert!(piece.fit.strain.settled);
}

/// A disc held so that it hangs over the horizon: seen is what turns away by less than 80°, the segment
/// of the disc beyond is lost (circular segment: r² acos(d/r) − d √(r² − d²)).
#[test]
fn what_hangs_over_the_horizon_is_hidden() {
    let disc =
        "draw: {disc: {diameter: 60 mm}}\n    at: {seen: left, aft: 150 mm, up: 30 mm}\n    lay: sight";
    let piece = fitted(PIPE, disc).unwrap();
    let d = 50.0 * libm::sin(80f64.to_radians()) - 30.0;
    let known = (900.0 * libm::acos(d / 30.0) - d * (900.0 - d * d).sqrt()) / (PI * 900.0);
    assert!((piece.fit.hidden_share / known - 1.0).abs() < 5e-3, "{} {known}", piece.fit.hidden_share);
    let finding = piece.findings.iter().find(|finding| finding.code == Code::Hidden).expect("hidden");
    assert!(finding.text.contains("seen from the left"), "{}", finding.text);
    assert_eq!((finding.at.line, &*finding.at.file), (11 + 1, "test.yaml"));
    // The largest that is seen whole touches the horizon.
    let largest = piece.fit.largest_fit;
    assert!((largest - d / 30.0).abs() < 2e-3, "{largest}");
}

#[test]
fn what_is_not_seen_says_so() {
    let away = fitted(
        PIPE,
        "draw: {disc: {diameter: 60 mm}}\n    at: {seen: left, aft: 150 mm, up: 0 mm}\n    lay: {sight: {seen: top}}",
    );
    assert!(away.unwrap_err().contains("turns away from the view from top"));
    let nowhere = fitted(
        PIPE,
        "draw: {disc: {diameter: 60 mm}}\n    at: {station: 150 mm, around: left}\n    lay: sight",
    );
    assert!(nowhere.unwrap_err().contains("seen from where?"));
}
