//! What must hold of any spec: parts and markings by chance, and what no report may say about them.

use markloft::batch::{self, Choice};
use markloft::flow::{Finding, Outcome, Verdict};
use markloft::{report, spec};
use proptest::prelude::*;

/// A part of a size that can be held, and the greatest side that a marking on it may sensibly have, mm.
fn part() -> impl Strategy<Value = (String, f64)> {
    let mm = || 150.0..1500.0f64;
    prop_oneof![
        (mm(), mm()).prop_map(|(w, h)| (
            format!("{{flat: {{width: {w:.1} mm, height: {h:.1} mm, face: left}}}}"),
            w.min(h)
        )),
        (mm(), mm()).prop_map(|(d, l)| (
            format!("{{cylinder: {{diameter: {d:.1} mm, length: {l:.1} mm}}}}"),
            d.min(l)
        )),
        (mm(), mm(), mm()).prop_map(|(f, r, l)| {
            (format!("{{cone: {{front: {f:.1} mm, rear: {r:.1} mm, length: {l:.1} mm}}}}"), f.min(r).min(l))
        }),
        mm().prop_map(|d| (format!("{{sphere: {{diameter: {d:.1} mm}}}}"), d / 3.0)),
        (mm(), 0.6..1.6f64, 0.6..1.6f64).prop_map(|(l, w, h)| {
            let (w, h) = (l * w, l * h);
            (
                format!("{{ellipsoid: {{length: {l:.1} mm, width: {w:.1} mm, height: {h:.1} mm}}}}"),
                l.min(w).min(h) / 3.0,
            )
        }),
    ]
}

/// A drawing whose greater side is about so long.
fn draw() -> impl Strategy<Value = (&'static str, f64, f64)> {
    let kinds = ["disc", "star", "rectangle", "stripe", "roundel", "cross", "letters"];
    (prop::sample::select(kinds.to_vec()), 0.1..1.4f64, 0.1..0.9f64)
}

fn drawn(kind: &str, side: f64, share: f64) -> String {
    let other = (side * share).max(1.0);
    match kind {
        "disc" | "star" => format!("{{{kind}: {{diameter: {side:.1} mm}}}}"),
        "rectangle" => format!("{{rectangle: {{width: {side:.1} mm, height: {other:.1} mm}}}}"),
        "stripe" => format!("{{stripe: {{length: {side:.1} mm, width: {other:.1} mm}}}}"),
        "roundel" => format!("{{roundel: {{diameter: {side:.1} mm, rings: [1, 3]}}}}"),
        "cross" => format!("{{cross: {{width: {side:.1} mm, stroke: {:.1} mm}}}}", other * 0.6),
        _ => format!("{{letters: {{text: \"AV 07\", height: {:.1} mm}}}}", side / 4.0),
    }
}

/// A spec of one part and two markings, to the smaller scale first.
fn specs() -> impl Strategy<Value = String> {
    let marking = || (draw(), -180.0..180.0f64, prop::sample::select(vec!["decal", "mask"]));
    (part(), [marking(), marking()]).prop_map(|((shape, room), markings)| {
        let mut text = format!(
            "markloft: 1\nscales: [1/72, 1/36]\ncolours: {{red: \"#c8321e\", bone: \"#efe9dc\"}}\nparts:\n  part:\n    shape: {shape}\nmarkings:\n"
        );
        for (k, ((kind, size, share), turn, make)) in markings.into_iter().enumerate() {
            let colours = if kind == "roundel" { "colours: [red, bone]" } else { "colour: red" };
            let draw = drawn(kind, size * room, share);
            let at = if shape.contains("flat") { String::new() } else { format!(", at: {{seen: left, aft: {:.1} mm, turn: {turn:.0} deg}}", if shape.contains("cylinder") || shape.contains("cone") { room / 2.0 } else { 0.0 }) };
            text += &format!("  m{k}: {{part: part, draw: {draw}, {colours}, make: {make}{at}}}\n");
        }
        text
    })
}

fn outcome(text: &str) -> Outcome {
    let plan = spec::read("chance.yaml", text.as_bytes(), &|_| Err("no files".into()));
    let plan = plan.unwrap_or_else(|problems| panic!("{text}\n{problems:#?}"));
    batch::work_out(plan, &Choice::default()).unwrap_or_else(|failure| panic!("{text}\n{failure}"))
}

/// Texts of the findings that do not hang on the size of the model.
fn lasting(findings: &[Finding]) -> Vec<String> {
    let lasting = |finding: &&Finding| ["wrinkle", "stretch", "hidden"].contains(&finding.code.word());
    findings.iter().filter(lasting).map(|finding| finding.text.clone()).collect()
}

proptest! {
    // Some hundred fits; each takes a tenth of a second.
    #![proptest_config(ProptestConfig { cases: 40, max_shrink_iters: 60, ..ProptestConfig::default() })]

    #[test]
    fn a_report_agrees_with_itself_and_with_the_other_scale(text in specs()) {
        let outcome = outcome(&text);
        let lines = text.lines().count() as u32;
        let [small, large] = &outcome.scales[..] else { panic!("two scales were asked for") };
        prop_assert_eq!(small.pieces.len(), large.pieces.len());
        for (one, two) in small.pieces.iter().zip(&large.pieces) {
            // Twice the scale: every length is twice as long, strains and verdicts are the same.
            let (a, b) = (&one.fit, &two.fit);
            for (a, b) in [
                (a.size.width, b.size.width),
                (a.size.height, b.size.height),
                (a.overhang, b.overhang),
            ] {
                prop_assert!((2.0 * a.to_mm() - b.to_mm()).abs() <= 1e-9 * b.to_mm().abs().max(1.0), "{}", text);
            }
            prop_assert_eq!(&a.strain, &b.strain);
            prop_assert_eq!(a.largest_fit.to_bits(), b.largest_fit.to_bits());
            prop_assert_eq!(one.verdict, two.verdict);
            prop_assert_eq!(lasting(&one.findings), lasting(&two.findings));
            // Size and verdict agree.
            prop_assert!((0.0..=4.0).contains(&a.largest_fit), "{}", a.largest_fit);
            prop_assert!((0.0..=1.0).contains(&a.overhang_share) && a.overhang.to_mm() >= 0.0);
            prop_assert!(a.size.width.to_mm() > 0.0 && a.size.height.to_mm() > 0.0);
            let fits = one.verdict == Verdict::Fits;
            prop_assert!(!fits || a.largest_fit >= 0.999, "fits, and yet only at {}\n{text}", a.largest_fit);
            prop_assert!(fits || a.largest_fit < 1.0, "does not fit, and yet would at {}\n{text}", a.largest_fit);
            let strain = &a.strain;
            // Greatest strains are means over small discs, so they may fall a little short of the peaks' share.
            prop_assert!(strain.stretch_max >= 0.9 * strain.stretch_p99 - 1e-5, "{:?}\n{}", strain, text);
            prop_assert!(strain.squeeze_max <= 0.9 * strain.squeeze_p99 + 1e-5, "{:?}\n{}", strain, text);
            prop_assert!(strain.mean_abs.is_finite() && strain.mean_abs >= 0.0);
        }
        for at in &outcome.scales {
            for finding in at.all_findings() {
                prop_assert!(!finding.text.contains("NaN") && !finding.text.contains("inf "), "{}", finding.text);
                prop_assert!((1..=lines).contains(&finding.at.line) && finding.at.column >= 1);
            }
            for sheet in &at.sheets {
                let (width, height) = (sheet.page.width.to_mm(), sheet.page.height.to_mm());
                prop_assert!((0.0..=1.0).contains(&sheet.used_share));
                let boxes: Vec<_> = sheet.outlines.iter().map(|outline| outline.bounds()).collect();
                for film in &boxes {
                    let inside = film.min.x >= 0.0 && film.min.y >= 0.0 && film.max.x <= width && film.max.y <= height;
                    prop_assert!(inside, "{:?} on a page of {} × {}\n{}", film, width, height, text);
                }
            }
        }
        // What is said once is said again, to the last letter.
        prop_assert_eq!(report::json(&outcome), report::json(&self::outcome(&text)));
    }
}
