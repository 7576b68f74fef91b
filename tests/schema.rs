//! The JSON Schema beside the reader it is made from, judged by a validator that is not ours (the crate `jsonschema`).

use jsonschema::Validator;
use markloft::spec;
use proptest::prelude::*;
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

const GOOD: &str = "markloft: 1\ntitle: t\nscales: [1/48, full]\ncolours: {red: \"#c8321e\", bone: {hex: \"#efe\", note: n}}\nparts:\n  door:\n    shape: {flat: {width: 1 m, height: 3' 6\", face: left}}\n  boom:\n    shape: {cone: {front: 1.1 m, rear: 0.5 m, length: 3 m}}\n    seam: 190°\nmarkings:\n  disc:\n    part: door\n    draw: {disc: {diameter: 5 3/4 in}}\n    colour: red\n    make: [decal, mask]\n    piece: {bridge: 0.6 mm}\n  band:\n    part: boom\n    draw: {band: {width: 18 in}}\n    colours: [red, bone]\n    lay: {follow: {ring: {station: 1.8 m}}}\n  stencils: {table: rows.csv, part: door, draw: {rectangle: {height: 2 in}}, colour: red}\n";

fn validator(shared: bool) -> Validator {
    jsonschema::draft7::new(&spec::schema(shared)).unwrap()
}

/// A schema of one word, by its name.
fn word(name: &str) -> Validator {
    let mut schema = spec::schema(false);
    let definitions = schema["definitions"].take();
    jsonschema::draft7::new(&json!({"$ref": format!("#/definitions/{name}"), "definitions": definitions}))
        .unwrap()
}

fn value(yaml: &str) -> Value {
    serde_yaml::from_str(yaml).unwrap()
}

/// What the schema has against a spec, with its place.
fn against(validator: &Validator, yaml: &str) -> Vec<String> {
    let value = value(yaml);
    validator.iter_errors(&value).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

fn specs() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let pattern = |below: &str| root.join(below).to_string_lossy().into_owned();
    ["specs/**/*.yaml", "src/cli/*.yaml", "tests/data/*.yaml"]
        .iter()
        .flat_map(|below| glob::glob(&pattern(below)).unwrap())
        .map(Result::unwrap)
        .collect()
}

#[test]
fn every_spec_of_ours_is_of_the_schema() {
    let specs = specs();
    assert!(specs.len() >= 18, "{specs:?}");
    let validator = validator(false);
    for path in specs {
        let wrong = against(&validator, &fs::read_to_string(&path).unwrap());
        assert!(wrong.is_empty(), "{}: {wrong:#?}", path.display());
    }
    let readme = include_str!("../README.md");
    let example = readme.split("```yaml\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    let (whole, wrong) = (example.starts_with("markloft: 1"), against(&validator, example));
    assert!(whole && wrong.is_empty(), "{wrong:#?}");
    assert_eq!(against(&validator, GOOD), [""; 0]);
}

#[test]
fn files_that_specs_share_have_a_schema_of_their_own() {
    let shared = "markloft: 1\ncolours: {red: \"#c8321e\"}\nfilms: {mask: {stretch: 2 %}}\n";
    assert_eq!(against(&validator(true), shared), [""; 0]);
    assert_ne!(against(&validator(false), shared), [""; 0], "a spec has scales and markings");
    assert_ne!(against(&validator(true), GOOD), [""; 0], "markings are not shared");
}

/// Slips that an editor shows before anything is run.
#[test]
fn slips_are_not_of_the_schema() {
    let validator = validator(false);
    for (old, new, at) in [
        ("markloft: 1", "markloft: 2", "/markloft"),
        ("title: t", "titel: t", ""),
        ("scales: [1/48, full]\n", "", ""),
        ("1/48", "1:48", "/scales"),
        ("1/48", "48", "/scales"),
        ("\"#c8321e\"", "\"#c8321\"", "/colours/red"),
        ("\"#c8321e\"", "#c8321e,\n ", "/colours/red"),
        ("hex: \"#efe\"", "hue: \"#efe\"", "/colours/bone"),
        ("width: 1 m", "width: 1", "/parts/door/shape"),
        ("width: 1 m", "width: 1 mile", "/parts/door/shape"),
        ("width: 1 m, ", "", "/parts/door/shape"),
        ("face: left", "face: port", "/parts/door/shape"),
        ("{flat:", "{plate:", "/parts/door/shape"),
        ("seam: 190°", "seam: 190", "/parts/boom/seam"),
        ("    part: door\n", "", "/markings/disc"),
        ("diameter: 5 3/4 in", "diameter: 5 3 in", "/markings/disc/draw"),
        ("{disc: {", "{disk: {", "/markings/disc/draw"),
        ("[decal, mask]", "[decal, stencil]", "/markings/disc/make"),
        ("{ring: {station: 1.8 m}}", "{ring: {station: 1.8 m}, run: {}}", "/markings/band/lay"),
        ("table: rows.csv, part", "table: rows.csv, parts", "/markings/stencils"),
    ] {
        assert!(GOOD.contains(old), "{old}");
        let wrong = against(&validator, &GOOD.replacen(old, new, 1));
        assert!(wrong.iter().any(|wrong| wrong.starts_with(at)), "{new}: {wrong:#?}");
        assert!(!wrong.is_empty(), "`{new}` passes");
    }
}

/// A line that may stand beside a word alone: what goes with it may all be left out.
#[test]
fn a_choice_whose_words_may_be_left_out_is_a_word_too() {
    let validator = validator(false);
    for (lay, fine) in [("sight", true), ("{follow: ring}", true), ("{follow: line}", false), ("drape", true)]
    {
        let wrong = against(&validator, &GOOD.replace("{follow: {ring: {station: 1.8 m}}}", lay));
        assert_eq!(wrong.is_empty(), fine, "{lay}: {wrong:#?}");
    }
}

/// An editor has something to show for each word: its own description, or that of what goes in it.
#[test]
fn every_word_is_described() {
    fn undescribed(at: &str, schema: &Value, root: &Value, found: &mut Vec<String>) {
        let described = |value: &Value| {
            let named = value.get("$ref").or_else(|| value.pointer("/allOf/0/$ref")).and_then(Value::as_str);
            let target = named.and_then(|name| root.pointer(name.trim_start_matches('#')));
            value.get("description").or_else(|| target?.get("description")).is_some()
        };
        match schema {
            Value::Object(map) => {
                let properties = map.get("properties").and_then(Value::as_object);
                // A choice is described beside its one word.
                let choice = properties.is_some_and(|words| words.len() == 1) && described(schema);
                for (word, value) in properties.into_iter().flatten() {
                    if !described(value) && !choice {
                        found.push(format!("{at}/{word}"));
                    }
                }
                map.iter().for_each(|(word, value)| undescribed(&format!("{at}/{word}"), value, root, found));
            }
            Value::Array(items) => items.iter().for_each(|item| undescribed(at, item, root, found)),
            _ => {}
        }
    }
    for shared in [true, false] {
        let (root, mut found) = (spec::schema(shared), Vec::new());
        undescribed("", &root, &root, &mut found);
        assert!(found.is_empty(), "{found:#?}");
        assert!(!root.to_string().contains("(may)"), "a mark of the maker's is left");
    }
}

#[test]
fn the_command_writes_the_schema() {
    for (words, shared) in [(&["schema"][..], false), (&["schema", "--shared"], true)] {
        let output = assert_cmd::Command::cargo_bin("markloft").unwrap().args(words).output().unwrap();
        assert_eq!(serde_json::from_slice::<Value>(&output.stdout).unwrap(), spec::schema(shared));
    }
}

/// Lengths in every way the reader takes: the forms of its own tests.
#[test]
fn the_forms_of_lengths_are_those_of_the_reader() {
    let length = word("Length");
    for (text, fine) in [
        ("18 in", true),
        ("18in", true),
        ("18 inches", true),
        ("18\"", true),
        ("1 ft 6 in", true),
        ("1′6″", true),
        ("5 3/4 in", true),
        ("7 ft 5 1/2 in", true),
        (".5 m", true),
        ("−95 mm", true),
        ("+95 MM", true),
        (" 0 mm ", true),
        ("18", false),
        ("18 im", false),
        ("1,5 m", false),
        ("wide", false),
        ("", false),
        ("1.2.3 mm", false),
        ("5 3 in", false),
        ("2 km", false),
        ("1 ft 6", false),
        ("inf mm", false),
    ] {
        assert_eq!(length.is_valid(&json!(text)), fine, "{text}");
        assert_eq!(spec::length(text).is_ok(), fine, "{text}");
    }
}

static LENGTH: LazyLock<Validator> = LazyLock::new(|| word("Length"));
static SCALE: LazyLock<Validator> = LazyLock::new(|| word("Scale"));

proptest! {
    /// What the schema refuses, the reader refuses; what it lets pass is a length but for its size.
    #[test]
    fn lengths_by_chance(text in "[-+]?[0-9]{0,2}[./ ]{0,2}[0-9]{0,2} ?(mm|cm|m|in|ft|'|\"|)( ?[0-9]{0,2}(in|\")?)?") {
        let form = LENGTH.is_valid(&json!(text));
        match spec::length(&text) {
            Ok(_) => prop_assert!(form, "{} is read, but the schema refuses it", text),
            Err(why) => prop_assert!(
                !form || why.contains("divides by zero") || why.contains("under a thousandth")
                    || why.contains("not one length") || why.contains("over 1 km"),
                "{text}: {why}"
            ),
        }
    }

    #[test]
    fn scales_by_chance(text in "[01]? ?[/:]? ?[0-9]{0,3}\\.?[0-9]?|full|FULL") {
        let form = SCALE.is_valid(&json!(text));
        match spec::scale(&text) {
            Ok(_) => prop_assert!(form, "{} is read, but the schema refuses it", text),
            Err(why) => prop_assert!(!form || why.contains("no scale of a model"), "{text}: {why}"),
        }
    }
}
