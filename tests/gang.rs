//! Several scales on the same sheets: what is shared is counted once, and every piece is found again.

use markloft::batch::{self, Choice};
use markloft::flow::*;
use markloft::outline::{Bounds, Region};
use markloft::units::Model;
use markloft::{report, spec};
use proptest::prelude::*;
use serde_json::Value;
use std::collections::BTreeSet;

/// Roundels, letters and masks of two colours; `sheets` is the spec's own.
fn spec_with(sheets: &str, more: &str) -> String {
    format!(
        "markloft: 1\ntitle: gang\nscales: [1/72, 1/48, 1/24]\n\
         colours: {{red: \"#c8321e\", bone: \"#efe9dc\"}}\n\
         parts:\n  door: &plate {{shape: {{flat: {{width: 2 m, height: 2 m, face: left}}}}}}\n\
         \x20 boom: *plate\n\x20 sill: *plate\n\
         markings:\n\
         \x20 badge: {{part: door, draw: {{roundel: {{diameter: 60 cm, rings: [1, 2]}}}}, colours: [red, bone], \
         make: [decal, mask], copies: 3, piece: {{bridge: 0.6 mm}}}}\n\
         \x20 name: {{part: boom, draw: {{letters: {{text: TARN, height: 12 cm}}}}, colour: red, make: decal}}\n\
         \x20 line: {{part: sill, draw: {{stripe: {{width: 72 mm, length: 1 m}}}}, colour: red, make: tape}}\n\
         films: {{tape: {{widths: [1 mm, 1.5 mm, 3 mm]}}}}\nsheets: {sheets}\n{more}"
    )
}

fn worked_out(text: &str) -> Outcome {
    let plan = spec::read("gang.yaml", text.as_bytes(), &|_| Err("no files".into()));
    let plan = plan.unwrap_or_else(|problems| panic!("{text}\n{problems:#?}"));
    batch::work_out(plan, &Choice::default()).unwrap()
}

/// Every piece of film on exactly one sheet of its series; no two films nearer than `spacing`.
fn sound(outcome: &Outcome, spacing: f64) {
    let pieces: Vec<(&ScaleOutcome, &Piece)> =
        outcome.scales.iter().flat_map(|at| at.pieces.iter().map(move |piece| (at, piece))).collect();
    let numbers: Vec<u32> = pieces.iter().map(|(_, piece)| piece.number).collect();
    assert_eq!(numbers, (1..=pieces.len() as u32).collect::<Vec<_>>());
    for (at, piece) in pieces {
        let on: Vec<Kept> =
            outcome.sheets_for(at).filter(|kept| kept.sheet.pieces.contains(&piece.number)).collect();
        let series: BTreeSet<_> = on.iter().map(|kept| kept.sheet.step).collect();
        assert!(!on.is_empty() && series.len() == on.len(), "piece {}", piece.number);
        let steps = if piece.make == Make::Mask { piece.fit.artwork.colours().len() } else { 1 };
        assert_eq!(on.len(), steps, "piece {}", piece.number);
        assert!(on.iter().all(|kept| kept.sheet.make == piece.make && kept.sheet.scales.contains(&at.scale)));
    }
    for kept in outcome.shared_sheets() {
        let films: Vec<Region<Model>> =
            kept.sheet.outlines.iter().map(|outline| outline.flattened(0.002).cleaned()).collect();
        let boxes: Vec<Bounds> = films.iter().map(Region::bounds).collect();
        for (k, film) in films.iter().enumerate() {
            let grown = film.offset(spacing - 0.01);
            for (other, near) in films.iter().enumerate().skip(k + 1) {
                let apart = !boxes[k].inflate(spacing, spacing).intersects(&boxes[other]);
                assert!(apart || grown.intersection(near).is_empty(), "{} {k} {other}", kept.sheet.stem);
            }
        }
    }
}

#[test]
fn all_scales_share_sheets_and_take_fewer() {
    let apart = worked_out(&spec_with("{page: A4}", ""));
    let together = worked_out(&spec_with("{page: A4, gang: true}", ""));
    sound(&together, 2.0);
    let film = |outcome: &Outcome| outcome.sheets().filter(|kept| kept.sheet.make != Make::Tape).count();
    // At each of three scales decals and two colours of masks, or each once.
    assert_eq!((film(&apart), film(&together)), (9, 3));
    let scales = |outcome: &Outcome| outcome.plan.scales.clone();
    for kept in together.shared_sheets() {
        assert_eq!(kept.sheet.scales, scales(&together));
        assert_eq!(kept.home.folder(), "all-scales");
    }
    // Tape comes off a roll, and stays with its scale.
    assert!(together.scales.iter().all(|at| at.sheets.iter().all(|sheet| sheet.make == Make::Tape)));
    // The pieces themselves are the same, but for their numbers.
    for (one, two) in apart.scales.iter().zip(&together.scales) {
        let sizes = |at: &ScaleOutcome| at.pieces.iter().map(|piece| piece.fit.size).collect::<Vec<_>>();
        assert_eq!(sizes(one), sizes(two));
    }
}

#[test]
fn the_report_counts_shared_sheets_once_and_leads_to_them() {
    let text = spec_with("{page: A4, gang: true}", "cutter: {offset: 0.25 mm}\n");
    let outcome = worked_out(&text);
    let read: Value = serde_json::from_str(&report::json(&outcome)).unwrap();
    let together = &read["together"];
    let files: Vec<&str> =
        together["sheets"].as_array().unwrap().iter().map(|sheet| sheet["file"].as_str().unwrap()).collect();
    assert_eq!(files, ["all-scales/decal-1.svg", "all-scales/mask-1-bone.svg", "all-scales/mask-2-red.svg"]);
    assert_eq!(together["sheets"][0]["scales"], Value::from(vec!["1/72", "1/48", "1/24"]));
    let cuts = together["cuts"].as_array().unwrap();
    assert_eq!(cuts.iter().map(|cut| cut["sheet"].as_str().unwrap()).collect::<Vec<_>>(), files);
    assert_eq!(cuts[0]["files"][2], "all-scales/decal-1.plt");
    // Three sheets of film, three pages of tape.
    assert_eq!(read["summary"]["sheets"], 6);
    assert_eq!(together["film"][0]["sheets"], 1);
    // Three badges and a name at three scales.
    assert_eq!(together["film"][0]["pieces"], 12);
    for at in read["scales"].as_array().unwrap() {
        assert_eq!(at.get("film"), None);
        for piece in at["pieces"].as_array().unwrap().iter().filter(|piece| piece["make"] != "tape") {
            assert!(files.contains(&piece["sheet"].as_str().unwrap()), "{piece}");
        }
    }
    let page = report::html(&outcome);
    let cut = |key: &str| -> Vec<String> {
        page.split(key).skip(1).map(|rest| rest.split('"').next().unwrap().to_owned()).collect()
    };
    let ids = cut(" id=\"");
    assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "an id twice");
    for link in cut("href=\"#") {
        assert!(ids.contains(&link), "#{link} leads nowhere");
    }
    assert!(page.contains("Sheets for all scales together"));
    let table = report::table(&outcome, 100, false);
    assert!(table.contains("all scales together\n  decal film: 1 sheet ("), "{table}");
    assert!(table.ends_with("24 pieces on 6 sheets: 24 fit; nothing found\n"), "{table}");
    // Where each scale has its own, nothing of it is there.
    let apart = report::json(&worked_out(&spec_with("{page: A4}", "")));
    assert_eq!(serde_json::from_str::<Value>(&apart).unwrap().get("together"), None);
}

#[test]
fn a_piece_that_no_shared_sheet_holds_names_its_scale() {
    let text = "markloft: 1\ntitle: gang\nscales: [1/48, 1/4]\ncolours: {red: \"#c8321e\"}\n\
                parts:\n  door: {shape: {flat: {width: 3 m, height: 3 m, face: left}}}\n\
                markings:\n  badge: {part: door, draw: {disc: {diameter: 2 m}}, colour: red, make: mask}\n\
                sheets: {page: A6, gang: true}\n";
    let outcome = worked_out(text);
    let told: Vec<&Finding> =
        outcome.together.findings.iter().filter(|found| found.code == Code::SheetFull).collect();
    let split = outcome.scales[1].pieces.iter().any(|piece| piece.section.is_some());
    assert!(split || told.len() == 1, "{told:?}");
    assert!(told.iter().all(|found| found.text.contains("as mask at 1/4 is 50")), "{told:?}");
    assert!(split || outcome.worst() == Some(Severity::Error));
}

proptest! {
    // Each lays out a dozen sheets twice.
    #![proptest_config(ProptestConfig { cases: 12, max_shrink_iters: 20, ..ProptestConfig::default() })]

    #[test]
    fn every_piece_of_any_plan_is_on_one_sheet(
        sizes in prop::collection::vec((3u32..30, 1u32..9, any::<bool>()), 1..5),
        page in prop::sample::select(vec!["A4", "A5", "A6"]),
        spacing in 0u32..4,
    ) {
        let mut text = String::from(
            "markloft: 1\ntitle: gang\nscales: [1/72, 1/32, 1/48]\ncolours: {red: \"#c8321e\"}\n\
             parts:\n  door: {shape: {flat: {width: 9 m, height: 9 m, face: left}}}\nmarkings:\n",
        );
        for (k, (size, copies, mask)) in sizes.iter().enumerate() {
            let make = if *mask { "mask" } else { "decal" };
            text += &format!("  m{k}: {{part: door, draw: {{star: {{diameter: {size}0 cm}}}}, \
                              colour: red, copies: {copies}, make: {make}}}\n");
        }
        text += &format!("sheets: {{page: {page}, spacing: {spacing} mm, gang: true}}\n");
        let outcome = worked_out(&text);
        prop_assert!(outcome.all_findings().all(|found| found.code != Code::SheetFull));
        if outcome.scales.iter().all(|at| at.pieces.iter().all(|piece| piece.section.is_none())) {
            sound(&outcome, f64::from(spacing));
        }
    }
}
