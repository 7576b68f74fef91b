//! The demo from cold: read, fit, check, lay out; and with every file drawn.
//!
//! Whole-process figures, which count the start of the program too, are in the README beside this file.

use divan::Bencher;
use markloft::batch::{self, Choice};
use markloft::units::Dpi;

const DEMO: &str = include_str!("../specs/harrow-tarn.yaml");

fn main() {
    divan::main();
}

/// `check`: everything but the files.
#[divan::bench]
fn check() {
    let plan = batch::load_embedded("harrow-tarn.yaml", DEMO).expect("the demo reads clean");
    divan::black_box(batch::work_out(plan, &Choice::default()).expect("the demo works out"));
}

/// `make` at 600 dpi: all files, into a temporary folder.
#[divan::bench(sample_count = 10)]
fn make(bencher: Bencher<'_, '_>) {
    bencher.with_inputs(|| tempfile::tempdir().expect("a temporary folder")).bench_values(|out| {
        let plan = batch::load_embedded("harrow-tarn.yaml", DEMO).expect("the demo reads clean");
        let outcome = batch::work_out(plan, &Choice::default()).expect("the demo works out");
        batch::write_all(&outcome, out.path(), Dpi::DEFAULT).expect("the files are written")
    });
}
