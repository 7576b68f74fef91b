//! Two thousand pieces, each with a window in its film, put in cutting order: meant to take under a second.

use divan::Bencher;
use markloft::cut::knife::order;
use markloft::outline::{Outline, Point, point};
use markloft::units::Model;

fn main() {
    divan::main();
}

/// The same places on any machine, on a page of A3.
fn pieces() -> Vec<Vec<Point>> {
    let noise = |k: u64| {
        (k.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407) >> 33) as f64
            / f64::from(1u32 << 31)
    };
    let centre = |k: u64| point(noise(2 * k) * 297.0, noise(2 * k + 1) * 420.0);
    let disc =
        |k: u64, radius: f64| Outline::<Model>::circle(centre(k), radius).flattened(0.002).rings.remove(0);
    (0..2000).flat_map(|k| [disc(k, 2.0), disc(k, 1.5)]).collect()
}

#[divan::bench(sample_count = 5)]
fn order_2000_pieces(bencher: Bencher<'_, '_>) {
    let lines = pieces();
    bencher.bench(|| order::closed(&lines, point(0.0, 0.0)));
}
