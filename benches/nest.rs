//! Nesting: open instances of strip packing, 60 pieces on one page, 500 over several.

use divan::Bencher;
use markloft::flow::Turning;
use markloft::outline::{Outline, Point, Region, point};
use markloft::sheet::layout::{Footprint, Layout, Placement, Room, Rows};
use markloft::sheet::nest::{Nest, strip};
use markloft::units::{Angle, Model};

fn main() {
    divan::main();
}

/// An ESICUP instance (tests/data/nesting), turned by a quarter, and the strip's width.
fn instance(name: &str) -> (Vec<Footprint>, f64) {
    let path = format!("{}/tests/data/nesting/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let read: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let mut items = Vec::new();
    for item in read["items"].as_array().unwrap() {
        let corner = |p: &serde_json::Value| point(-p[1].as_f64().unwrap(), p[0].as_f64().unwrap());
        let ring: Vec<Point> = item["shape"]["data"].as_array().unwrap().iter().map(corner).collect();
        let count = item["allowed_orientations"].as_array().unwrap().len();
        let turns =
            if count == 1 { Turning::Fixed } else { Turning::Steps(Angle::degrees(360.0 / count as f64)) };
        let area = Region::<Model>::new(vec![ring]).cleaned();
        let copies = item["demand"].as_u64().unwrap() as usize;
        items.extend(std::iter::repeat_n(Footprint { area, turns, rank: 0 }, copies));
    }
    (items, read["strip_height"].as_f64().unwrap())
}

#[divan::bench(args = ["swim", "shapes0", "albano", "dagli", "fu", "jakobs1", "mao"], sample_count = 1)]
fn strip_of_an_open_instance(bencher: Bencher<'_, '_>, name: &str) {
    let (items, width) = instance(name);
    let area: f64 = items.iter().map(|item| item.area.area()).sum();
    bencher.bench_local(|| {
        let (length, places) = strip(&items, width, 400_000);
        println!("{name}: density {:.4}", area / (length * width));
        places
    });
}

/// Rectangles, triangles, angles and discs by turns.
fn mixed(count: u32) -> Vec<Footprint> {
    let outline = |k: u32| {
        let size = 14.0 + f64::from(k * 7 % 23);
        let (x, y) = (size, size * (0.5 + f64::from(k % 5) * 0.2));
        let corners: &[[f64; 2]] = match k % 4 {
            0 => &[[0.0, 0.0], [x, 0.0], [x, y], [0.0, y]],
            1 => &[[0.0, 0.0], [x, 0.0], [0.0, y]],
            2 => &[[0.0, 0.0], [x, 0.0], [x, y * 0.3], [x * 0.3, y * 0.3], [x * 0.3, y], [0.0, y]],
            _ => return Outline::circle(point(3.0, -2.0), size * 0.45),
        };
        Outline::polygon(&corners.iter().map(|&[x, y]| point(x, y)).collect::<Vec<_>>())
    };
    let item = |k| Footprint {
        area: outline(k).flattened(0.01),
        turns: Turning::Steps(Angle::degrees(90.0)),
        rank: 0,
    };
    (0..count).map(item).collect()
}

fn page() -> Room {
    Room { width: 194.0, height: 265.0, spacing: 2.0, used: Region::empty() }
}

/// Sheets, and how far the last is filled.
fn told(what: &str, items: &[Footprint], places: &[Option<Placement>]) {
    let sheets = places.iter().flatten().map(|place| place.sheet + 1).max().unwrap_or(0);
    let area: f64 = items.iter().map(|item| item.area.area()).sum();
    let page = page();
    println!(
        "{what}: {sheets} sheets, {:.1} % used",
        100.0 * area / (sheets as f64 * page.width * page.height)
    );
}

#[divan::bench(args = [60, 500], sample_count = 3)]
fn nested(bencher: Bencher<'_, '_>, count: u32) {
    let items = mixed(count);
    told("nested", &items, &Nest::default().place(&items, &page()));
    bencher.bench_local(|| Nest::default().place(&items, &page()));
}

#[divan::bench(args = [60, 500], sample_count = 3)]
fn in_rows(bencher: Bencher<'_, '_>, count: u32) {
    let items = mixed(count);
    told("rows", &items, &Rows.place(&items, &page()));
    bencher.bench_local(|| Rows.place(&items, &page()));
}
