//! The film solver alone: what a piece, and what a triangle, costs.
//!
//! Times beside libigl's: `beside_libigl.py`. Figures are in the README beside this file.

use divan::Bencher;
use divan::counter::ItemsCount;
use glam::DVec3;
use markloft::film::mesh::{Mesh, spacing_for, triangulate};
use markloft::film::planar::Measure;
use markloft::film::unfold::{Sums, unfold};
use markloft::film::{Settings, drape};
use markloft::outline::{Outline, Region, point};
use markloft::surface::{Ellipsoid, Start, Surface};
use markloft::units::Full;
use std::f64::consts::PI;

fn main() {
    divan::main();
}

const SIZES: [usize; 5] = [1000, 5000, 20_000, 50_000, 200_000];

/// A star of 90 mm on the side of a helmet, held in its middle: one net, from nothing to strains.
#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn drape_star(bencher: Bencher<'_, '_>, triangles: usize) {
    let helmet = Ellipsoid { axes: DVec3::new(142.5, 120.0, 127.5) };
    let corner = |k: usize| {
        let (sin, cos) = libm::sincos(PI / 5.0 * k as f64);
        point(cos, sin) * 90.0 * if k.is_multiple_of(2) { 1.0 } else { 0.381_966 }
    };
    let star: Region<Full> = Region::new(vec![(0..10).map(corner).collect()]);
    let foot = helmet.project(DVec3::new(60.0, -70.0, 90.0));
    let start = Start { foot, heading: DVec3::X.reject_from(foot.normal).normalize() };
    let settings = Settings { tolerance: f64::INFINITY, max_triangles: triangles, ..Settings::default() };
    bencher
        .counter(ItemsCount::new(triangles))
        .bench_local(|| drape(&helmet, &star, start, &settings).expect("the star lies down"));
}

/// The cap of 60° of the unit sphere, flattened to the least symmetric Dirichlet energy.
#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn flatten_cap(bencher: Bencher<'_, '_>, triangles: usize) {
    let (mesh, squares) = cap(triangles);
    bencher.counter(ItemsCount::new(mesh.triangles.len())).bench_local(|| {
        unfold(&mesh.triangles, &squares, &mesh.points, Measure::Dirichlet, Sums::Fastest)
            .expect("the cap unfolds")
    });
}

/// The cap laid out by true distance and direction from its middle, and the squared edges on the sphere.
fn cap(triangles: usize) -> (Mesh, Vec<[f64; 3]>) {
    let radius = PI / 3.0;
    let disc: Region<Full> = Outline::circle(point(0.0, 0.0), radius).flattened(1e-6);
    let mesh = triangulate(&disc, spacing_for(PI * radius * radius, triangles as f64)).expect("a disc");
    let up = |k: u32| {
        let p = mesh.points[k as usize];
        let r = libm::hypot(p.x, p.y).max(1e-300);
        let (sin, cos) = libm::sincos(r);
        DVec3::new(p.x / r * sin, p.y / r * sin, cos)
    };
    let square = |t: &[u32; 3]| [0, 1, 2].map(|e| (up(t[(e + 1) % 3]) - up(t[(e + 2) % 3])).length_squared());
    let squares = mesh.triangles.iter().map(square).collect();
    (mesh, squares)
}
