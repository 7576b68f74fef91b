//! `specs/standards`: each file read, measured on what is drawn against the source in its head, and all rendered in one batch.

use assert_cmd::Command;
use markloft::draw::draw;
use markloft::flow::{Artwork, ColourId, Plan};
use markloft::outline::{Bounds, Region};
use markloft::spec;
use markloft::units::Full;
use std::fs;
use std::path::{Path, PathBuf};

const INCH: f64 = 25.4;
const FOOT: f64 = 12.0 * INCH;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("specs/standards")
}

fn plan(name: &str) -> Plan {
    let bytes = fs::read(folder().join(name).with_extension("yaml")).unwrap();
    let open = |_: &str| Err("no other file is used".to_owned());
    spec::read(name, &bytes, &open).unwrap_or_else(|problems| panic!("{name}: {problems:#?}"))
}

fn artwork(plan: &Plan, marking: &str) -> Artwork<Full> {
    let found = plan.markings.iter().find(|found| found.name == marking);
    draw(&found.unwrap_or_else(|| panic!("no marking {marking}")).draw)
}

fn area(artwork: &Artwork<Full>, colour: usize) -> f64 {
    let own = artwork.areas.iter().filter(|area| area.colour == ColourId(colour));
    own.map(|area| area.outline.area()).sum()
}

/// The boxes of the separate bits of a colour, from the lowest up, then from the left.
fn bits(artwork: &Artwork<Full>, colour: usize) -> Vec<Bounds> {
    let own = artwork.areas.iter().filter(|area| area.colour == ColourId(colour));
    let parts = own.flat_map(|area| area.outline.flattened(0.01).parts());
    let mut bits: Vec<Bounds> = parts.map(|part: Region<Full>| part.bounds()).collect();
    bits.sort_by(|a, b| (a.min.y, a.min.x).partial_cmp(&(b.min.y, b.min.x)).unwrap());
    bits
}

#[track_caller]
fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() <= 1e-6 * wanted.abs().max(1.0), "{found} instead of {wanted}");
}

#[test]
fn star_and_bars() {
    // AN-I-9b, amendment 2: areas over R², with the star's by plane geometry.
    let plan = plan("star-and-bars");
    let drawn = artwork(&plan, "star-and-bars");
    let r2 = libm::pow(20.0 * INCH, 2.0);
    close(area(&drawn, 1) / r2, 1.122_569_941_4 + 2.0 * (1.0 / 2.0 - 1.0 / 6.0));
    close(area(&drawn, 2) / r2, 2.0 / 6.0);
    let bounds = drawn.silhouette.bounds();
    close(bounds.width(), (4.0 + 0.25) * 20.0 * INCH);
    close(bounds.height(), (2.0 + 0.25) * 20.0 * INCH);
    close(area(&artwork(&plan, "star-and-bars-1943"), 1) / r2, 2.122_569_941_4);
}

#[test]
fn five_stripe_bands() {
    // Smithsonian NASM: 18 in each on single-engined aircraft, 24 in on twin-engined ones; white outermost.
    let plan = plan("five-stripe-bands");
    for (marking, width) in [("fuselage-band", 18.0), ("wing-band", 18.0), ("twin-engined-wing-band", 24.0)] {
        let drawn = artwork(&plan, marking);
        let heights: Vec<f64> =
            [0, 1].iter().flat_map(|&c| bits(&drawn, c)).map(|bit| bit.height()).collect();
        assert_eq!(heights.len(), 5, "{marking}");
        heights.into_iter().for_each(|height| close(height, width * INCH));
        let edge = drawn.silhouette.bounds().min.y;
        close(bits(&drawn, 0)[0].min.y, edge);
    }
}

#[test]
fn ring_roundels() {
    // Air Ministry, type A: 1:3:5, so areas as 1 : 8 : 16.
    let plan = plan("ring-roundels");
    for (marking, diameter) in
        [("wing-roundel", 50.0), ("fuselage-roundel-left", 25.0), ("fuselage-roundel-right", 25.0)]
    {
        let drawn = artwork(&plan, marking);
        close(drawn.silhouette.bounds().width(), diameter * INCH);
        close(area(&drawn, 1) / area(&drawn, 0), 8.0);
        close(area(&drawn, 2) / area(&drawn, 0), 16.0);
    }
}

#[test]
fn hazard_stripes() {
    // ISO 3864-1 (from memory): 45°, equal widths. MUTCD: 6 in on barricades.
    let plan = plan("hazard-stripes");
    for (marking, stripe, width) in [("kerb", 100.0, 200.0), ("barricade-rail", 6.0 * INCH, 12.0 * INCH)] {
        let drawn = artwork(&plan, marking);
        let second =
            drawn.areas.iter().find(|area| area.outline.contours.iter().any(|c| c.flattened(1.0).len() == 4));
        let whole = second.unwrap().outline.contours.iter().map(|c| c.flattened(1.0));
        // A whole stripe is a parallelogram: as far along as it is up, and √2 stripes along the bar.
        let whole = whole.filter(|ring| ring.len() == 4).find(|ring| {
            let mut ys: Vec<f64> = ring.iter().map(|p| p.y).collect();
            ys.sort_by(f64::total_cmp);
            (ys[3] - ys[0] - width).abs() < 1e-6
        });
        let ring = whole.unwrap_or_else(|| panic!("{marking}: a whole stripe"));
        let bounds = Bounds::from_points(ring.iter().copied());
        close(bounds.width(), width + stripe * 2f64.sqrt());
    }
    close(area(&artwork(&plan, "bollard"), 0), area(&artwork(&plan, "bollard"), 1));
}

#[test]
fn conspicuity_tape() {
    // FMVSS 108: segments of 300 ± 150 mm, 50, 75 or 100 mm wide, red and white by turns.
    let plan = plan("conspicuity-tape");
    for (marking, width) in [("tape-50", 50.0), ("tape-75", 75.0), ("tape-100", 100.0)] {
        let drawn = artwork(&plan, marking);
        let [red, white] = [bits(&drawn, 0), bits(&drawn, 1)];
        assert_eq!((red.len(), white.len()), (4, 4));
        for (red, white) in red.iter().zip(&white) {
            close(red.width(), 300.0);
            close(white.width(), 300.0);
            close(red.height(), width);
            close(red.max.x, white.min.x);
        }
    }
}

#[test]
fn runway_threshold() {
    // FAA AIM 2-3-3: 4 stripes on 60 ft, 8 on 100 ft, 12 on 150 ft; 5.75 ft wide.
    let plan = plan("runway-threshold");
    for (width, count) in [(60, 4), (100, 8), (150, 12)] {
        let drawn = artwork(&plan, &format!("threshold-{width}-ft"));
        let bars = bits(&drawn, 0);
        assert_eq!(bars.len(), count);
        bars.iter().for_each(|bar| close(bar.height(), 5.75 * FOOT));
        for (k, pair) in bars.windows(2).enumerate() {
            let middle = k + 1 == count / 2;
            close(pair[1].min.y - pair[0].max.y, if middle { 11.5 } else { 5.75 } * FOOT);
        }
        assert!(drawn.silhouette.bounds().height() < f64::from(width) * FOOT);
    }
}

#[test]
fn checkerboard() {
    // Dz.U. 2019 poz. 1351: border to field 1:5.
    let plan = plan("checkerboard");
    let drawn = artwork(&plan, "checkerboard");
    let (field, border) = (250.0, 50.0);
    close(field / border, 5.0);
    close(drawn.silhouette.bounds().width(), 2.0 * field + 2.0 * border);
    // Either colour: two fields, and round the other two a border on the outer sides.
    for colour in [0, 1] {
        close(area(&drawn, colour), 2.0 * field * field + 2.0 * (300.0 * 300.0 - field * field));
    }
}

#[test]
fn lettering() {
    // 14 CFR 45.29: H, two thirds as wide as high; of M no more than the height; both sides to be read, so the same.
    let marks = plan("registration-marks");
    let (left, right) = (artwork(&marks, "rotorcraft-left"), artwork(&marks, "rotorcraft-right"));
    close(left.silhouette.bounds().height(), 12.0 * INCH);
    assert_eq!(left.areas, right.areas);
    let letters = |artwork: &Artwork<Full>, colour| {
        let mut bits = bits(artwork, colour);
        bits.sort_by(|a, b| a.min.x.total_cmp(&b.min.x));
        bits
    };
    let found = letters(&left, 0);
    close(found[0].width(), 8.0 * INCH);
    close(found[1].min.x - found[0].max.x, 2.0 * INCH);
    assert!(found.last().unwrap().width() <= 12.0 * INCH + 1e-6);
    // SI 2001/561: 79 × 50, gap 11, group 33, and margins of 11 on a plate of 461 × 101: seven letters of 50,
    // five gaps of 11 and one of 33 take 438, so the margins are 11.5 and 11.
    let plates = plan("plate-lettering");
    let plate = artwork(&plates, "plate");
    let black = plates.colours.iter().position(|colour| colour.name == "black").unwrap();
    let found = letters(&plate, black);
    assert_eq!(found.len(), 7);
    for letter in &found {
        close(letter.width(), 50.0);
        close(letter.height(), 79.0);
    }
    close(found[1].min.x - found[0].max.x, 11.0);
    close(found[4].min.x - found[3].max.x, 33.0);
    // SCCA Solo 3.7 by its heights.
    let racing = plan("racing-numbers");
    let black = racing.colours.iter().position(|colour| colour.name == "black").unwrap();
    let heights: Vec<f64> =
        letters(&artwork(&racing, "number"), black).iter().map(|bit| bit.height()).collect();
    assert_eq!(heights.len(), 4);
    for (found, wanted) in heights.into_iter().zip([8.0, 8.0, 4.0, 4.0]) {
        close(found, wanted * INCH);
    }
    // ISO 3098, type B, of h = 60: strokes h/10, letters 2h/10 apart, words 6h/10, base lines at least 14h/10 (the
    // last from memory).
    let drawing = artwork(&plan("drawing-letters"), "servicing-text");
    let found = bits(&drawing, 0);
    let (low, high): (Vec<Bounds>, Vec<Bounds>) = found.into_iter().partition(|bit| bit.center().y < 0.0);
    assert_eq!((high.len(), low.len()), ("FUEL240L".len(), "KEEPCLEAR".len()));
    let apart = |line: &[Bounds]| {
        let mut line = line.to_vec();
        line.sort_by(|a, b| a.min.x.total_cmp(&b.min.x));
        line.iter().for_each(|letter| close(letter.height(), 60.0));
        line.windows(2).map(|pair| pair[1].min.x - pair[0].max.x).collect::<Vec<_>>()
    };
    let gaps = [
        (&high, [12.0, 12.0, 12.0, 36.0, 12.0, 12.0, 36.0].as_slice()),
        (&low, &[12.0, 12.0, 12.0, 36.0, 12.0, 12.0, 12.0, 12.0]),
    ];
    for (line, wanted) in gaps {
        apart(line).into_iter().zip(wanted).for_each(|(found, wanted)| close(found, *wanted));
    }
    assert!(high[0].min.y - low[0].min.y >= 84.0);
}

#[test]
fn every_file_cites_its_source_and_all_render_in_one_batch() {
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder()).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "yaml"));
    assert!(files.len() >= 7);
    for path in &files {
        let text = fs::read_to_string(path).unwrap();
        let head: String = text.lines().take_while(|line| line.starts_with('#')).collect();
        assert!(head.contains("# Source: "), "{} cites no source", path.display());
    }
    let out = tempfile::tempdir().unwrap();
    let mut command = Command::cargo_bin("markloft").unwrap();
    command.arg("make").args(&files).args(["--dpi", "60", "--out"]).arg(out.path()).assert().success();
    for path in &files {
        let report = out.path().join(path.file_stem().unwrap()).join("report.json");
        let report: serde_json::Value = serde_json::from_slice(&fs::read(report).unwrap()).unwrap();
        for scale in report["scales"].as_array().unwrap() {
            assert_eq!(scale["findings"], serde_json::json!([]), "{}", path.display());
            for piece in scale["pieces"].as_array().unwrap() {
                assert_eq!(piece["verdict"], "fits", "{} in {}", piece["marking"], path.display());
            }
        }
    }
}
