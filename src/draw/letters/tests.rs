//! Letters against the published rules for them, measured on their outlines.

use super::*;
use crate::flow::{Align, Bow, ColourId, Setting};
use crate::outline::bridge::{Bridges, bridged, loose};
use crate::outline::{Point, Region, Segment};
use crate::units::{Angle, Model, Scale};
use std::collections::BTreeMap;

/// Sizes in any unit: height, width, stroke, gap, word gap.
fn block([height, width, stroke, gap, word_gap]: [f64; 5], corner: Corner) -> Lettering {
    let mm = Length::<Full>::mm;
    Lettering {
        lines: Vec::new(),
        height: mm(height),
        face: Face::Block(Block {
            width: mm(width),
            widths: BTreeMap::new(),
            stroke: mm(stroke),
            gap: mm(gap),
            word_gap: mm(word_gap),
            corner,
        }),
        setting: Setting { align: Align::Left, line_gap: mm(height), bow: None },
        colour: ColourId(0),
    }
}

fn drawn(lettering: &Lettering, text: &str) -> Outline<Full> {
    let lines = vec![text.to_owned()];
    letters(&Lettering { lines, ..lettering.clone() }).areas.swap_remove(0).outline
}

/// 12 in high: width two thirds, stroke a sixth, gap a quarter of the width (14 CFR 45.29).
const REGISTRATION: [f64; 5] = [12.0, 8.0, 2.0, 2.0, 6.0];

fn corners(width: f64, stroke: f64) -> [Corner; 3] {
    let mm = Length::<Full>::mm;
    [Corner::Square, Corner::Cut(mm(1.25 * stroke)), Corner::Round(mm(width / 2.0))]
}

/// From `start` straight through the ink to where it ends, if it ends on an edge that runs the other way.
fn through(region: &Region<Full>, start: Point, inward: Vector) -> Option<f64> {
    let hit = |(a, b): (Point, Point)| {
        let (side_a, side_b) = (inward.cross(a - start), inward.cross(b - start));
        let crosses = (side_a < 0.0) != (side_b < 0.0);
        let ahead = (a + (b - a) * (side_a / (side_a - side_b)) - start).dot(inward);
        (crosses && ahead > 1e-6).then_some((ahead, inward.dot((b - a).normalize()).abs()))
    };
    let (ahead, slant) = region.edges().filter_map(hit).min_by(|a, b| a.0.total_cmp(&b.0))?;
    (slant < 1e-3).then_some(ahead)
}

/// Thickness of every stroke: across each edge that is longer than a stroke is wide to the edge that
/// runs along it, at its thinnest; and across each round turn.
fn strokes(outline: &Outline<Full>, stroke: f64) -> Vec<f64> {
    let region: Region<Full> = outline.flattened(1e-8);
    let mut found = Vec::new();
    for (from, segment) in outline.contours.iter().flat_map(|contour| contour.stretches()) {
        match segment {
            Segment::Line { to } if (to - from).length() > 1.05 * stroke => {
                let way = (to - from).normalize();
                let inward = Vector::new(-way.y, way.x);
                let at = |k: u32| through(&region, from.lerp(to, f64::from(k) / 40.0), inward);
                found.extend((1..40).filter_map(at).reduce(f64::min));
            }
            Segment::Arc { centre, sweep, .. } if sweep > 0.3 => {
                let spoke = crate::outline::turned(from - centre, sweep / 2.0);
                found.extend(through(&region, centre + spoke, -spoke.normalize()));
            }
            _ => {}
        }
    }
    found
}

#[test]
fn registration_marks_keep_to_the_rule() {
    let [height, width, stroke, gap, _] = REGISTRATION;
    for corner in corners(width, stroke) {
        let rule = block(REGISTRATION, corner);
        for letter in ('A'..='Z').chain('0'..='9') {
            let outline = drawn(&rule, &letter.to_string());
            let bounds = outline.bounds();
            // "two-thirds as wide as they are high, except the number 1, which must be one-sixth …, and
            // M and W, which may be as wide as they are high": § 45.29 (d).
            let wide = match letter {
                '1' => height / 6.0,
                'M' | 'W' => bounds.width().clamp(height * 2.0 / 3.0, height),
                _ => height * 2.0 / 3.0,
            };
            let near = |a: f64, b: f64| (a - b).abs() < 1e-6 * height;
            assert!(near(bounds.width(), wide), "{letter} is {} wide", bounds.width());
            assert!(near(bounds.height(), height), "{letter} is {} high", bounds.height());
            // "solid lines one-sixth as thick as the character is high": § 45.29 (e).
            let found = strokes(&outline, stroke);
            assert!(!found.is_empty(), "{letter} has a stroke to measure");
            for thick in found {
                assert!(near(thick, height / 6.0), "{letter} has a stroke of {thick}, {corner:?}");
            }
            // "space between each character may not be less than one-fourth of the character width": § 45.29 (f).
            let row = drawn(&rule, &format!("H{letter}H"));
            for found in gaps(&row) {
                assert!(near(found, gap) && found >= 0.25 * width - 1e-6 * height, "{letter}: {found}");
            }
            assert_eq!(gaps(&row).len(), 2, "{letter} is one letter");
        }
    }
}

/// Clear ways between what is drawn, from left to right.
fn gaps(outline: &Outline<Full>) -> Vec<f64> {
    let span = |contour: &crate::outline::Contour| {
        let bounds = Outline::<Full>::new(vec![contour.clone()]).bounds();
        [bounds.min.x, bounds.max.x]
    };
    let mut spans: Vec<[f64; 2]> = outline.contours.iter().map(span).collect();
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut found = Vec::new();
    let mut end = spans[0][1];
    for [from, to] in spans {
        if from > end {
            found.push(from - end);
        }
        end = end.max(to);
    }
    found
}

/// 79 × 50 mm, stroke 14, gap 11, groups 33 apart; the 1 is as wide as its stroke: vehicle plates, UK SI 2001/561.
#[test]
fn plate_lettering() {
    let rule = block([79.0, 50.0, 14.0, 11.0, 33.0], Corner::Round(Length::mm(25.0)));
    let row = drawn(&rule, "AB12 CDE");
    assert!((row.bounds().width() - (6.0 * 50.0 + 14.0 + 5.0 * 11.0 + 33.0)).abs() < 79e-6);
    assert!((row.bounds().height() - 79.0).abs() < 79e-6);
    let found = gaps(&row);
    for (found, wanted) in found.iter().zip([11.0, 11.0, 11.0, 33.0, 11.0, 11.0]) {
        assert!((found - wanted).abs() < 79e-6, "{found} for {wanted}");
    }
    for letter in "ABCDEFGHJKLNPRSTUVXYZ0123456789".chars() {
        for thick in strokes(&drawn(&rule, &letter.to_string()), 14.0) {
            assert!((thick - 14.0).abs() < 79e-6, "{letter}: {thick}");
        }
    }
}

/// Drawing letters by the table of ISO 3098. Type B, in tenths of the height: lines 1, between letters 2, between words
/// 6, from one base line to the next at least 14; type A, in fourteenths: 1, 2, 6 and at least 20 (type A and base lines
/// from memory). Widths of letters are not in the table, and lower case, 7 and 10 parts high, is not among block letters.
#[test]
fn drawing_letters() {
    for (height, least_base) in [(10.0, 14.0), (14.0, 20.0)] {
        let rule = block([height, 0.6 * height, 1.0, 2.0, 6.0], Corner::Round(Length::mm(0.3 * height)));
        let near = |found: f64, wanted: f64| (found - wanted).abs() < 1e-6 * height;
        let found = gaps(&drawn(&rule, "HE LL"));
        assert!(found.iter().zip([2.0, 6.0, 2.0]).all(|(found, wanted)| near(*found, wanted)), "{found:?}");
        for letter in ('A'..='Z').chain('0'..='9') {
            let outline = drawn(&rule, &letter.to_string());
            assert!(near(outline.bounds().height(), height), "{letter}");
            for thick in strokes(&outline, 1.0) {
                assert!(near(thick, 1.0), "{letter}: {thick}");
            }
        }
        // Two lines as close as the table lets them.
        let line_gap = Length::mm(least_base - height);
        let lines = ["H", "H"].map(str::to_owned).to_vec();
        let two = Lettering { lines, setting: Setting { line_gap, ..rule.setting }, ..rule };
        let feet: Vec<f64> = letters(&two).areas[0].outline.contours.iter().map(lowest).collect();
        assert!(near((feet[0] - feet[1]).abs(), least_base), "{feet:?}");
    }
}

fn lowest(contour: &crate::outline::Contour) -> f64 {
    Outline::<Full>::new(vec![contour.clone()]).bounds().min.y
}

/// Racing numbers 8 in high with strokes of 1.25 in, class letters 4 in and 0.75 in: SCCA Solo rules 3.7.
/// Fuselage letters 30 in high, 12 in wide, 4 in thick, 6 in apart: AMWO 501/1926.
#[test]
fn racing_numbers_and_fuselage_letters() {
    for (sizes, text) in [
        ([8.0, 5.0, 1.25, 1.5, 4.0], "0123456789"),
        ([4.0, 2.6, 0.75, 0.8, 2.0], "ABCDEFGHSTX"),
        ([30.0, 12.0, 4.0, 6.0, 18.0], "GBHTARXY"),
    ] {
        let rule = block(sizes, Corner::Round(Length::mm(sizes[1] / 2.0)));
        for letter in text.chars() {
            let outline = drawn(&rule, &letter.to_string());
            assert!((outline.bounds().height() - sizes[0]).abs() < 1e-6 * sizes[0]);
            for thick in strokes(&outline, sizes[2]) {
                assert!((thick - sizes[2]).abs() < 1e-6 * sizes[0], "{letter}: {thick}");
            }
        }
        for found in gaps(&drawn(&rule, text)) {
            assert!((found - sizes[3]).abs() < 1e-6 * sizes[0], "{text}: {found}");
        }
    }
}

/// Film round each letter hangs together once its window is cut, every counter by as many bridges as asked.
#[test]
fn bridges_tie_every_counter() {
    let full = block(REGISTRATION, Corner::Square);
    for corner in corners(8.0, 2.0) {
        let Face::Block(face) = full.face.clone() else { continue };
        let rule = Lettering { face: Face::Block(Block { corner, ..face }), ..full.clone() };
        for letter in Block::KNOWN.chars() {
            let window: Region<Model> = drawn(&rule, &letter.to_string()).at(Scale::FULL).flattened(1e-3);
            let bounds = window.bounds();
            let sheet = Outline::rectangle(bounds.center(), bounds.width() + 4.0, bounds.height() + 4.0);
            let sheet: Region<Model> = sheet.flattened(1.0);
            let counters: Vec<_> = window
                .cleaned()
                .rings
                .into_iter()
                .filter(|ring| crate::outline::region::signed_area(ring) < 0.0)
                .collect();
            assert_eq!(loose(&sheet, &window), counters.len(), "{letter}");
            for (width, count) in [(0.2, 2), (0.6, 2), (1.2, 2), (0.6, 1), (0.4, 3)] {
                let direction = Angle::degrees(90.0);
                let bridges = Bridges { width: Length::mm(width), count, direction };
                let open = bridged(&window, &bridges, &|_| Angle::ZERO);
                let film = sheet.minus(&open);
                assert_eq!(film.parts().len(), 1, "{letter} with {count} bridges of {width}, {corner:?}");
                for counter in &counters {
                    // What film there is in a narrow rim of the stroke round the counter.
                    let counter: Region<Model> = Region::new(vec![counter.iter().rev().copied().collect()]);
                    let rim = counter.offset(0.05).minus(&counter.offset(0.02));
                    let ties = rim.intersection(&film).parts().len();
                    assert!(ties >= count as usize, "{letter}: {ties} ties of {count}, {width} wide");
                    if counters.len() == 1 {
                        assert_eq!(ties, count as usize, "{letter}: bridges {width} wide, {corner:?}");
                    }
                }
            }
        }
    }
}

#[test]
fn letters_stand_on_their_arc() {
    let rule = block(REGISTRATION, Corner::Square);
    for under in [false, true] {
        let radius = 40.0;
        let setting = Setting { bow: Some(Bow { radius: Length::mm(radius), under }), ..rule.setting };
        let Face::Block(face) = &rule.face else { continue };
        let line = block_line("LLL", rule.height, face);
        let set = setting::set(&[line], 12.0, &setting);
        let centre = Point::new(0.0, if under { radius } else { -radius });
        let region = set.letters.flattened(1e-6);
        // The foot of an L touches the arc in its middle: from outside over it, from inside under it.
        let foot = (0..3).map(|k| {
            // Hanging letters keep their way at the heads, 12 in nearer to the centre.
            let angle = f64::from(k - 1) * 10.0 / if under { radius - 12.0 } else { radius };
            let sense = if under { 1.0 } else { -1.0 };
            centre + crate::outline::turned(Vector::new(0.0, -sense * radius), sense * angle)
        });
        for foot in foot {
            assert!(region.distance_to_edge(foot) < 1e-9, "{foot:?}");
        }
        assert!(set.letters.area() > 0.0);
        let ground: Region<Full> = set.ground.flattened(1e-3);
        assert!(region.minus(&ground).area() < 1e-6 * region.area(), "letters lie within their ground");
    }
}

#[test]
fn lines_share_one_ground() {
    let mut rule = block(REGISTRATION, Corner::Square);
    rule.lines = vec!["HTAR".to_owned(), "H".to_owned()];
    let art = letters(&rule);
    assert_eq!(art.silhouette.flattened(1.0).parts().len(), 1);
    let bounds = art.silhouette.bounds();
    assert!((bounds.height() - 36.0).abs() < 1e-9 && (bounds.width() - 38.0).abs() < 1e-9);
    assert!(bounds.center().to_vector().length() < 1e-9, "drawn about the origin");
}
