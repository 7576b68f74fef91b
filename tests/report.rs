//! The report from a spec on: pictures that are the solver's, hostile words shown as words, bodies in metres.

use assert_cmd::Command;
use glam::DVec3;
use markloft::batch::{self, Choice};
use markloft::flow::{Fit, Outcome, View};
use markloft::outline::region::distance_to_segment;
use markloft::outline::{Point, point};
use markloft::report::picture::camera::Camera;
use markloft::report::picture::sheet::Link;
use markloft::report::picture::whole::{LARGE, Occupied, Share};
use markloft::units::Model;
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

const NOSE: &str = r##"markloft: 1
title: Nose
scales: [1/48]
colours: {red: "#c8321e", bone: "#efe9dc"}
parts:
  nose: {shape: {sphere: {diameter: 1.3 m}}}
markings:
  disc:
    part: nose
    draw: {disc: {diameter: 500 mm}}
    colour: red
    at: {seen: top, aft: 150 mm, right: 100 mm}
    make: decal
  letters:
    part: nose
    draw: {letters: {text: "HT", height: 200 mm}}
    colour: bone
    at: {seen: left, aft: 0 mm, up: 0 mm}
    make: decal
"##;

fn worked_out(spec: &str) -> Outcome {
    batch::work_out(batch::load_embedded("nose.yaml", spec).unwrap(), &Choice::default()).unwrap()
}

/// The solver's points that lie on the outline of the flat piece, which for letters is that of their film.
fn edge(fit: &Fit<Model>) -> Vec<usize> {
    let outline = fit.artwork.silhouette.flattened(1e-4);
    (0..fit.film.flat.len()).filter(|&k| outline.distance_to_edge(fit.film.flat[k]) < 1e-3).collect()
}

/// Path data of moves, lines and closes, as rings.
fn read_path(d: &str) -> Vec<Vec<Point>> {
    use svgtypes::SimplePathSegment::{ClosePath, LineTo, MoveTo};
    let mut lines: Vec<Vec<Point>> = Vec::new();
    for segment in svgtypes::SimplifyingPathParser::from(d) {
        match segment.unwrap() {
            MoveTo { x, y } => lines.push(vec![point(x, y)]),
            LineTo { x, y } => lines.last_mut().unwrap().push(point(x, y)),
            ClosePath => {}
            other => panic!("{other:?}"),
        }
    }
    lines
}

#[test]
fn what_the_solver_laid_is_found_in_the_drawing_within_half_a_pixel() {
    let outcome = worked_out(NOSE);
    let at = &outcome.scales[0];
    let mut all = Occupied::all(&outcome.plan, at);
    let on = std::mem::take(&mut all[0].spots);
    // The sphere fills the height of the picture between its edges and the scale bar, 14 px.
    let radius = 650.0 / 48.0;
    let px = (LARGE.height - 2.0 * LARGE.edge - 14.0) / (2.0 * radius);
    let middle = point(LARGE.width / 2.0, LARGE.edge + radius * px);
    for (view, spot) in [View::Top, View::Left].into_iter().zip(on) {
        all[0].spots = vec![spot];
        let camera = Camera::straight(view);
        let link = |_| Link { to: "#x".into(), id: String::new(), label: "x".into() };
        let text = all[0].picture(&camera, LARGE, "nose", Share::Alone, link).unwrap();
        let read = roxmltree::Document::parse(&text).unwrap();
        let edges = read.descendants().filter(|n| n.attribute("class") == Some("reach"));
        let rings: Vec<Vec<Point>> = edges.flat_map(|n| read_path(n.attribute("d").unwrap())).collect();
        let fit = &all[0].spots[0].first().fit;
        let drawn = |p: DVec3| {
            let paper = camera.paper(p);
            point(middle.x + paper.x * px, middle.y - paper.y * px)
        };
        let corners = edge(fit);
        assert!(corners.len() > 30, "{}", corners.len());
        for k in corners {
            let p = drawn(fit.film.laid[k]);
            let side = |ring: &Vec<Point>| {
                let ways =
                    (0..ring.len()).map(|n| distance_to_segment(p, ring[n], ring[(n + 1) % ring.len()]));
                ways.fold(f64::INFINITY, f64::min)
            };
            let off = rings.iter().map(side).fold(f64::INFINITY, f64::min);
            assert!(off < 0.5, "{view:?}: corner {k} is {off} px from the drawn edge");
        }
    }
}

/// Runs `make` on a spec in a folder of its own; what it said, and where its files are.
fn made(name: &str, spec: &str, more: &[&str]) -> (String, TempDir) {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join(name), spec).unwrap();
    let mut program = Command::new(env!("CARGO_BIN_EXE_markloft"));
    program.current_dir(folder.path()).args(["make", name, "--dpi", "60"]).args(more);
    let output = program.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    (String::from_utf8(output.stdout).unwrap(), folder)
}

#[test]
fn hostile_words_are_shown_as_words_in_page_drawing_and_terminal() {
    let title = "<script>alert(1)</script> &amp; \\u05e9\\u05dc\\u05d5\\u05dd \\U0001F681 \\u202egnp\\e[31m";
    let spec = NOSE
        .replace("title: Nose", &format!("title: \"{title}\""))
        .replace("    colour: red\n", "    colour: red\n    note: \"</p><svg onload=alert(1)>\"\n");
    let (said, folder) = made("nose.yaml", &spec, &["--glb"]);
    let shown = "<script>alert(1)</script> &amp; שלום 🚁 \\u{202e}gnp\\u{1b}[31m";
    // A terminal breaks lines at blanks.
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat(&said).contains(&flat(shown)), "{said}");
    assert!(!said.contains('\u{1b}') && !said.contains('\u{202e}'));
    let home = folder.path().join("out/nose");
    let page = fs::read_to_string(home.join("report.html")).unwrap();
    assert!(!page.contains("<script>alert") && !page.contains("<svg onload"), "shown as text");
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt; &amp;amp; שלום 🚁 \\u{202e}gnp\\u{1b}[31m"));
    assert!(page.contains("&lt;/p&gt;&lt;svg onload=alert(1)&gt;"));
    assert!(!page.contains('\u{202e}') && !page.contains('\u{1b}'));
    let sheet = fs::read_to_string(home.join("1-48/decal-1.svg")).unwrap();
    let read = roxmltree::Document::parse(&sheet).unwrap();
    assert!(!read.descendants().any(|n| n.has_tag_name("script")));
    let report: Value = serde_json::from_slice(&fs::read(home.join("report.json")).unwrap()).unwrap();
    assert!(report["title"].as_str().unwrap().starts_with("<script>alert(1)</script> &amp; שלום 🚁"));
    assert_eq!(report["summary"]["pieces"], 2);
}

#[test]
fn a_body_is_in_metres_at_model_size() {
    let (_, folder) = made("nose.yaml", NOSE, &["--glb"]);
    let file = fs::read(folder.path().join("out/nose/1-48/part-1-nose.glb")).unwrap();
    let length = u32::from_le_bytes(file[12..16].try_into().unwrap()) as usize;
    let root: Value = serde_json::from_slice(&file[20..20 + length]).unwrap();
    let place = &root["meshes"][0]["primitives"][0]["attributes"]["POSITION"];
    let bounds = &root["accessors"][place.as_u64().unwrap() as usize];
    for axis in 0..3 {
        let side = bounds["max"][axis].as_f64().unwrap() - bounds["min"][axis].as_f64().unwrap();
        // 1.3 m at 1/48; a float has seven digits.
        assert!((side - 1.3 / 48.0).abs() < 1e-8, "{side}");
    }
    let names: Vec<&str> =
        root["nodes"].as_array().unwrap().iter().map(|n| n["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["nose", "1 disc", "1 disc, strain", "2 letters", "2 letters, strain"]);
    // Asked for again, nothing has changed; without, the bodies go.
    let mut program = Command::new(env!("CARGO_BIN_EXE_markloft"));
    program.current_dir(folder.path()).args(["make", "nose.yaml", "--dpi", "60"]).assert().success();
    assert!(!folder.path().join("out/nose/1-48/part-1-nose.glb").exists());
}

#[test]
fn a_failure_names_its_exit_code() {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("bad.yaml"), NOSE.replace("{disc:", "{dsic:")).unwrap();
    let run = |words: &[&str]| {
        let mut program = Command::new(env!("CARGO_BIN_EXE_markloft"));
        let output = program.current_dir(folder.path()).args(words).output().unwrap();
        String::from_utf8(output.stderr).unwrap()
    };
    assert!(run(&["make", "bad.yaml"]).ends_with("exit code 2: the spec or the call is wrong\n"));
    assert!(run(&["make", "none.yaml"]).ends_with("exit code 3: a file could not be read or written\n"));
    assert!(!run(&["make", "bad.yaml", "--format", "json-lines"]).contains("exit code"));
}

#[test]
fn a_card_shows_its_relief_cuts_by_number_and_what_happens_at_the_seam() {
    let plan = batch::load(concat!(env!("CARGO_MANIFEST_DIR"), "/specs/relief.yaml")).unwrap();
    let choice = Choice { only: vec!["crown".into(), "lamp-belt".into()], ..Choice::default() };
    let outcome = batch::work_out(plan, &choice).unwrap();
    let page = markloft::report::html(&outcome);
    let (mut cut, mut joined) = (0, 0);
    for piece in &outcome.scales[0].pieces {
        let start = page.find(&format!("<article class=\"card\" id=\"p-1-12-{}\"", piece.number)).unwrap();
        let card = page[start..].split("</article>").next().unwrap();
        let flat = card.split("</svg>").next().unwrap();
        if let Some(relief) = &piece.fit.relief {
            cut += 1;
            assert!(card.contains("<dt>Relief cuts</dt>"), "{card}");
            for cut in &relief.cuts {
                assert!(flat.contains(&format!(">{}</text>", cut.number)), "cut {}: {flat}", cut.number);
            }
        }
        if piece.fit.seam.is_some() {
            joined += 1;
            assert!(card.contains("<dt>At the seam</dt>"), "{card}");
        }
    }
    assert!(cut >= 2 && joined >= 1, "{cut} {joined}");
}
