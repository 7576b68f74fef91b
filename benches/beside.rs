//! Our half of `beside_libigl.py`: flattens the meshes of a folder and writes what came of it beside them.
//!
//! `NAME.mesh` is text: the numbers of points and triangles, then for each point its place on the part and its
//! flat place to start from, then the triangles. `NAME.MEASURE.flat` gets the processor seconds, the Newton
//! steps and the flat points. Without a folder, as under a plain `cargo bench`, nothing is done.

use glam::DVec3;
use markloft::film::planar::Measure;
use markloft::film::unfold::{Sums, unfold};
use markloft::outline::{Point, point};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::str::FromStr;
use std::time::Instant;

fn main() {
    let Some(folder) = std::env::args().skip(1).find(|word| !word.starts_with('-')) else { return };
    for entry in fs::read_dir(&folder).expect("the folder is there") {
        let path = entry.expect("it can be listed").path();
        if path.extension().is_some_and(|ending| ending == "mesh") {
            flatten(&path);
        }
    }
}

fn flatten(path: &Path) {
    let text = fs::read_to_string(path).expect("the mesh can be read");
    let mut words = text.split_ascii_whitespace();
    let (points, triangles): (usize, usize) = (next(&mut words), next(&mut words));
    let (mut laid, mut start): (Vec<DVec3>, Vec<Point>) = (Vec::new(), Vec::new());
    for _ in 0..points {
        laid.push(DVec3::new(next(&mut words), next(&mut words), next(&mut words)));
        start.push(point(next(&mut words), next(&mut words)));
    }
    let triangles: Vec<[u32; 3]> =
        (0..triangles).map(|_| [next(&mut words), next(&mut words), next(&mut words)]).collect();
    let square = |t: &[u32; 3], e: usize| {
        let [a, b] = [t[(e + 1) % 3], t[(e + 2) % 3]].map(|v| laid[v as usize]);
        (b - a).length_squared()
    };
    for (name, measure) in [("dirichlet", Measure::Dirichlet), ("rigid", Measure::Rigid)] {
        let before = processor_seconds();
        let squares: Vec<[f64; 3]> = triangles.iter().map(|t| [0, 1, 2].map(|e| square(t, e))).collect();
        let found = unfold(&triangles, &squares, &start, measure, Sums::Fastest).expect("the mesh unfolds");
        let mut out = format!("{} {}\n", processor_seconds() - before, found.steps);
        for p in &found.flat {
            writeln!(out, "{:?} {:?}", p.x, p.y).expect("a string grows");
        }
        fs::write(path.with_extension(format!("{name}.flat")), out).expect("the folder can be written");
    }
}

fn next<T: FromStr>(words: &mut std::str::SplitAsciiWhitespace<'_>) -> T {
    words.next().and_then(|word| word.parse().ok()).expect("the mesh is whole")
}

/// What this thread has had of the processor; where the system does not tell, a clock.
fn processor_seconds() -> f64 {
    let told = fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|text| text.split_ascii_whitespace().next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(
        || {
            static START: std::sync::OnceLock<Instant> = std::sync::OnceLock::new();
            START.get_or_init(Instant::now).elapsed().as_secs_f64()
        },
        |ns| ns * 1e-9,
    )
}
