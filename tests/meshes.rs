//! Meshes as they come: a scan and a hand-made model, read, mended and asked.
//!
//! The counts are those of the packages they come from (`tests/data/PROVENANCE.md`).

use glam::DVec3;
use markloft::surface::mesh::{Facts, Mesh, Placing, Way, read};
use markloft::surface::section::{Plane, cut};
use markloft::surface::{Start, Surface, geodesic};

/// Standing up, a metre or so tall.
fn mesh(bytes: &[u8]) -> Mesh {
    let placing = Placing { mm: 100.0, aft: Way::PlusX, up: Way::PlusY };
    Mesh::new(read(bytes, true).unwrap(), &placing).unwrap()
}

fn bunny() -> Mesh {
    mesh(include_bytes!("data/bunny.obj"))
}

fn teapot() -> Mesh {
    mesh(include_bytes!("data/teapot.obj"))
}

fn size(mesh: &Mesh) -> f64 {
    let [low, high] = mesh.bounds();
    (high - low).length()
}

/// Places all over, the same every time.
fn places(mesh: &Mesh, count: usize) -> Vec<DVec3> {
    let g: f64 = 1.220_744_084_605_759_5;
    let share = |k: usize, power: f64| (0.5 + k as f64 / libm::pow(g, power)).fract();
    let [low, high] = mesh.bounds();
    let p = |k| low + (high - low) * DVec3::new(share(k, 1.0), share(k, 2.0), share(k, 3.0));
    (1..=count).map(|k| mesh.project(p(k)).point).collect()
}

#[test]
fn facts() {
    let plain = Facts { shells: 1, ..Facts::default() };
    assert_eq!(bunny().facts(), Facts { triangles: 3674, corners: 1839, ..plain });
    let facts = teapot().facts();
    assert_eq!((facts.triangles, facts.shells, facts.crowded_edges), (992, 4, 0));
    assert!(facts.open_edges > 0 && facts.welded > 0);
    assert_eq!(bunny().past_ends(DVec3::ZERO), f64::NEG_INFINITY);
}

/// Of places a little off the surface, as film's vertices are, hardly any has a foot that is not
/// under it or does not stay; what remains lies in folds of the coarse ears.
#[test]
fn feet_are_firm() {
    let mesh = bunny();
    let size = size(&mesh);
    let (mut askew, mut moved) = (0, 0);
    let places = places(&mesh, 5000);
    for (k, &on) in places.iter().enumerate() {
        let normal = mesh.project(on).normal;
        let p = on + normal * (0.003 * size * ((k % 10) as f64 / 10.0 - 0.3));
        let foot = mesh.project(p);
        assert!((foot.normal.length() - 1.0).abs() < 1e-12 && (foot.point - p).length() < 4e-3 * size);
        askew += usize::from((p - foot.point).reject_from_normalized(foot.normal).length() > 1e-9 * size);
        moved += usize::from((mesh.project(foot.point).point - foot.point).length() > 1e-9 * size);
        let t0 = foot.normal.any_orthonormal_vector();
        let form = mesh.curvature(foot, [t0, foot.normal.cross(t0)]);
        assert!(form.iter().all(|k| k.is_finite()));
    }
    assert!(askew < 50 && moved < 15, "{askew} {moved}");
}

#[test]
fn rays_meet_what_they_see() {
    for mesh in [bunny(), teapot()] {
        let [low, high] = mesh.bounds();
        let (middle, size) = ((low + high) * 0.5, size(&mesh));
        let (mut hits, mut beside, mut late) = (0, 0, 0);
        for on in places(&mesh, 1000) {
            let origin = middle + (on - middle).normalize() * size;
            let direction = (on - origin).normalize();
            let Some(foot) = mesh.hit(origin, direction) else { continue };
            hits += 1;
            let beyond = (foot.point - origin).length() - (on - origin).length();
            let flush = mesh.project(on).normal.dot(direction) < -0.5;
            late += usize::from(flush && beyond > 0.01 * size);
            let off = (foot.point - origin).cross(direction).length();
            assert!(off < 5e-3 * size);
            beside += usize::from(off > 1e-8 * size);
        }
        assert!(hits > 800 && beside < hits / 20, "{hits} {beside}");
        // Of a closed mesh the place aimed at is met, or one before it; but the curved sheet stands
        // out from the flat triangles, past which a ray may slip at the rim of an ear.
        assert!(late < hits / 100 || mesh.facts().open_edges > 0, "{late}");
    }
}

#[test]
fn a_cut_round_the_body() {
    let mesh = bunny();
    let [low, high] = mesh.bounds();
    let plane = Plane { origin: low + (high - low) * 0.35, normal: DVec3::Z };
    let tolerance = 1e-3 * size(&mesh);
    let ring = cut(&mesh, &plane, DVec3::new(high.x, plane.origin.y, plane.origin.z), tolerance).unwrap();
    assert!(ring.closed);
    for place in &ring.places {
        assert!((place.foot.point - plane.origin).z.abs() < 1e-6 * size(&mesh));
    }
    // Sides of the polygon through the places, an independent measure of the length.
    let sides: f64 = ring.places.windows(2).map(|w| (w[1].foot.point - w[0].foot.point).length()).sum();
    assert!((sides / ring.length() - 1.0).abs() < 5e-3, "{sides} {}", ring.length());
}

#[test]
fn straight_runs_over_the_back() {
    let mesh = bunny();
    let (size, mut runs) = (size(&mesh), 0);
    for on in places(&mesh, 40) {
        let foot = mesh.project(on);
        let start = Start { foot, heading: foot.normal.any_orthonormal_vector() };
        // Over the ears and between the legs a run may be lost, and then says so.
        let Ok(path) = geodesic::shoot(&mesh, &start, 0.15 * size, 1e-4 * size) else { continue };
        runs += 1;
        let sides: f64 = path.places.windows(2).map(|w| (w[1].foot.point - w[0].foot.point).length()).sum();
        // The sides of a few long steps cut corners; the surface is that of a coarse scan.
        assert!((sides / path.length() - 1.0).abs() < 0.05, "{sides} {}", path.length());
    }
    assert!(runs >= 30, "{runs}");
}
