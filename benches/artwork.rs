//! Large artwork: 100 000 corners read, separated, fitted, checked, laid out and written; and the reading alone.

use divan::Bencher;
use markloft::batch::{self, Choice};
use markloft::outline::picture;
use markloft::units::Dpi;
use std::fmt::Write as _;

fn main() {
    divan::main();
}

/// Wavy discs in three colours, each over a corner of the one before it: as many corners as asked.
fn drawing(corners: usize) -> String {
    const EACH: usize = 250;
    let colours = ["#c8321e", "#1d2733", "#efe9dc"];
    let mut svg = String::from("<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 2000 2000'>");
    for k in 0..corners / EACH {
        let middle = [60.0 + 95.0 * (k % 20) as f64, 60.0 + 95.0 * (k / 20) as f64];
        let _ = write!(svg, "<path fill='{}' d='M", colours[k % 3]);
        for i in 0..EACH {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * i as f64 / EACH as f64);
            let (_, wave) = libm::sincos(std::f64::consts::TAU * 10.0 * i as f64 / EACH as f64);
            let radius = 50.0 + 2.0 * wave;
            let _ = write!(svg, "{:.3} {:.3} ", middle[0] + radius * cos, middle[1] + radius * sin);
        }
        svg += "Z'/>";
    }
    svg + "</svg>"
}

const SPEC: &str = "markloft: 1
scales: 1/48
parts: {door: {shape: {flat: {width: 12 m, height: 12 m, face: left}}}}
markings: {mural: {part: door, draw: {artwork: {file: mural.svg, width: 7 m}}}}
";

/// SVG to areas.
#[divan::bench(args = [10_000, 100_000], sample_count = 5)]
fn read(bencher: Bencher<'_, '_>, corners: usize) {
    let text = drawing(corners);
    bencher.bench_local(|| picture::read(&text, None).expect("plain paths"));
}

/// Spec and SVG to every file.
#[divan::bench(sample_count = 3)]
fn whole(bencher: Bencher<'_, '_>) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let spec = folder.path().join("mural.yaml");
    std::fs::write(&spec, SPEC)
        .and_then(|()| std::fs::write(folder.path().join("mural.svg"), drawing(100_000)))
        .expect("room for two files");
    bencher.bench_local(|| {
        let plan = batch::load(&spec.display().to_string()).expect("the spec reads clean");
        let outcome = batch::work_out(plan, &Choice::default()).expect("it works out");
        batch::write_all(&outcome, &folder.path().join("out"), Dpi::DEFAULT).expect("the files are written")
    });
}
