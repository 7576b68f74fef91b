//! Lettering from outside: specs in, letters out; and a font's letters against another reader of the font.

use markloft::flow::{Draw, Face, Plan};
use markloft::outline::font::Font;
use markloft::spec::{Problem, read};
use markloft::units::Full;

const FACE: &[u8] = include_bytes!("../src/outline/face/BarlowCondensed_500Medium.ttf");

fn open(name: &str) -> Result<Vec<u8>, String> {
    match name {
        "fonts/face.ttf" => Ok(FACE.to_vec()),
        "note.txt" => Ok(b"Put the stripe on first.".to_vec()),
        "cut.ttf" => Ok(FACE[..400].to_vec()),
        _ => Err("there is no such file or folder".to_owned()),
    }
}

fn spec_of(draw: &str, rest: &str) -> Result<Plan, Vec<Problem>> {
    let text = format!(
        "markloft: 1\nscales: [1/48]\nparts:\n  door:\n    shape: {{flat: {{width: 2 m, height: 1 m, face: left}}}}\n\
         markings:\n  name:\n    part: door\n    draw: {draw}\n    colour: \"#c8321e\"\n{rest}"
    );
    read("letters.yaml", text.as_bytes(), &open)
}

fn plan(draw: &str) -> Plan {
    spec_of(draw, "").unwrap_or_else(|problems| panic!("{draw}: {problems:#?}"))
}

/// The first problem: its words and its column on the line of the drawing.
fn problem(draw: &str) -> (String, String, u32) {
    let problems = spec_of(draw, "").expect_err(draw);
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(problems[0].place.line, 9);
    (problems[0].message.clone(), problems[0].help.clone(), problems[0].place.column)
}

/// fontTools reads the same font: boxes and areas of letters, kerned, to 1e-4 em.
#[test]
fn a_fonts_letters_are_where_another_reader_has_them() {
    let kept: serde_json::Value =
        serde_json::from_str(include_str!("data/font-readings.json")).expect("the fixture is JSON");
    let font = Font::read(FACE.into()).expect("the face is a font");
    let capital = kept["capital"].as_f64().unwrap();
    let mut kerned = false;
    for (word, letters) in kept["words"].as_object().unwrap() {
        let ours: Vec<_> = font
            .line::<Full>(word, capital, 0.0)
            .into_iter()
            .filter(|cluster| !cluster.outline.is_empty())
            .collect();
        let letters = letters.as_array().unwrap();
        assert_eq!(ours.len(), letters.len(), "{word}");
        for (ours, theirs) in ours.iter().zip(letters) {
            let bounds = ours.outline.bounds();
            let found = [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y];
            for (found, wanted) in found.iter().zip(theirs["box"].as_array().unwrap()) {
                assert!((found - wanted.as_f64().unwrap()).abs() < 1e-4, "{word}: {theirs}, found {found}");
            }
            assert!(
                (ours.outline.area() - theirs["area"].as_f64().unwrap()).abs() < 1e-4,
                "{word}: {theirs}"
            );
        }
        // Kerning is there to be missed: a V moves under an A's flank.
        if word == "AVATAR" {
            kerned =
                ours[1].from < ours[0].to && letters[1]["box"][0].as_f64() < letters[0]["box"][2].as_f64();
        }
    }
    assert!(kerned || font.length("AVA", capital, 0.0) < font.length("AVA", capital, 0.1));
}

#[test]
fn accents_right_to_left_and_what_a_font_lacks() {
    let font = Font::read(FACE.into()).unwrap();
    assert_eq!(font.lacking("Ätna Öl é"), None);
    assert_eq!(font.lacking("HTAR \u{5d0}\u{5d1}"), Some('\u{5d0}'));
    // A + combining diaeresis is one letter, the same as Ä.
    let apart = font.line::<Full>("A\u{308}", 100.0, 0.0);
    let one = font.line::<Full>("\u{c4}", 100.0, 0.0);
    assert_eq!(apart.len(), 1);
    assert!((apart[0].outline.area() - one[0].outline.area()).abs() < 1e-6 * one[0].outline.area());
    // Within a right-to-left override letters run the other way.
    let turned = font.line::<Full>("\u{202e}AV\u{202c}", 100.0, 0.0);
    let first = turned.iter().find(|cluster| !cluster.outline.is_empty()).unwrap();
    let v = font.line::<Full>("V", 100.0, 0.0);
    assert!((first.outline.area() - v[0].outline.area()).abs() < 1e-6 * v[0].outline.area());
}

#[test]
fn capitals_are_as_high_as_asked_and_lines_as_long() {
    let Draw::Letters(text) =
        plan("{text: {text: HTAR, font: fonts/face.ttf, length: 1.2 m}}").markings[0].draw.clone()
    else {
        panic!("lettering")
    };
    let art = markloft::draw::draw(&Draw::Letters(text.clone()));
    assert!((art.silhouette.bounds().width() - 1200.0).abs() < 1e-6);
    assert!(matches!(text.face, Face::Font(..)));
    let Draw::Letters(text) =
        plan("{text: {text: H, font: ./fonts/face.ttf, height: 300 mm}}").markings[0].draw.clone()
    else {
        panic!("lettering")
    };
    let art = markloft::draw::draw(&Draw::Letters(text));
    assert!((art.silhouette.bounds().height() - 300.0).abs() < 1e-9);
    let block = plan("{letters: {text: G-HTAR, length: 2 m, corner: cut}}").markings[0].draw.clone();
    assert!((markloft::draw::draw(&block).silhouette.bounds().width() - 2000.0).abs() < 1e-6);
}

#[test]
fn what_cannot_be_lettered_is_told_at_its_place() {
    let (message, help, column) = problem("{letters: {text: Harrow, height: 12 in}}");
    assert_eq!(message, "there is no block letter `a`");
    assert!(help.contains("text: {text: …, font: file.ttf"), "{help}");
    assert_eq!(column, 28);
    let (message, ..) = problem("{text: {text: \"H\u{5d0}\", font: fonts/face.ttf, height: 1 in}}");
    assert_eq!(message, "the font `fonts/face.ttf` has no `\u{5d0}` (U+05D0)");
    let (message, help, _) = problem("{text: {text: H, font: note.txt, height: 1 in}}");
    assert_eq!(message, "the font `note.txt` cannot be used: it is no OpenType or TrueType font");
    assert!(help.starts_with("name an OpenType"));
    let (message, ..) = problem("{text: {text: H, font: none.ttf, height: 1 in}}");
    assert!(message.contains("there is no such file"), "{message}");
    let (message, help, _) = problem("{letters: {text: 42, height: 1 in}}");
    assert_eq!((message.as_str(), help.starts_with("quote")), ("`42` is read as no text", true));
    let long = "A".repeat(10_000);
    let (message, ..) = problem(&format!("{{letters: {{text: {long}, height: 1 in}}}}"));
    assert_eq!(message, "a text of 10000 letters");
    let (message, ..) = problem("{letters: {text: HTAR}}");
    assert_eq!(message, "`height` is missing");
    let (message, ..) = problem("{letters: {text: HTAR, height: 1 ft, stroke: 1/2}}");
    assert!(message.starts_with("strokes of 152.4 mm do not make letters"), "{message}");
    let (message, ..) = problem("{letters: {text: HTAR, height: 1 ft, arc: {radius: 10 mm}}}");
    assert!(message.contains("too tight"), "{message}");
    // A font cut off in the middle is no font, or has no letters; it is never a crash.
    assert!(spec_of("{text: {text: H, font: cut.ttf, height: 1 in}}", "").is_err());
    let problems = spec_of("{disc: {diameter: 1 m}}", "    piece: {bridge: 0.6 mm}\n").unwrap_err();
    assert_eq!(problems[0].message, "only a mask has bridges");
}
