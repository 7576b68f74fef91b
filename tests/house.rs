//! The house rules of the source tree, kept by reading it: which room may know which,
//! and that the numbers of other unit systems live in one file.

use std::fs;
use std::path::{Path, PathBuf};

/// Every source file with its text up to the tests in it.
fn sources() -> Vec<(PathBuf, String)> {
    fn walk(folder: &Path, found: &mut Vec<(PathBuf, String)>) {
        let mut entries: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        entries.sort();
        for path in entries {
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                let text = fs::read_to_string(&path).unwrap();
                let code = text.split("#[cfg(test)]").next().unwrap_or_default().to_owned();
                found.push((path, code));
            }
        }
    }
    let mut found = Vec::new();
    walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut found);
    assert!(found.len() > 30, "the tree was found");
    found
}

/// The room a file is in: its folder under src, or its own name.
fn room(path: &Path) -> String {
    let below = path.strip_prefix(Path::new(env!("CARGO_MANIFEST_DIR")).join("src")).unwrap();
    below.iter().next().unwrap().to_string_lossy().trim_end_matches(".rs").to_owned()
}

/// Which rooms each may know; what is not listed may know all.
const KNOWS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("outline", &["units"]),
    ("flow", &["units", "outline"]),
    ("surface", &["units", "outline", "flow"]),
    ("film", &["units", "outline", "flow", "surface"]),
    ("fit", &["units", "outline", "flow", "surface", "film"]),
    ("spec", &["units", "outline", "flow", "surface"]),
    ("draw", &["units", "outline", "flow"]),
    ("check", &["units", "outline", "flow"]),
    ("sheet", &["units", "outline", "flow"]),
    ("cut", &["units", "outline", "flow"]),
    ("write", &["units", "outline", "flow"]),
    ("report", &["units", "outline", "flow", "surface"]),
];

#[test]
fn rooms_know_only_what_lies_upstream() {
    let mut wrong = Vec::new();
    for (path, code) in sources() {
        let own = room(&path);
        let Some((_, known)) = KNOWS.iter().find(|(name, _)| *name == own) else { continue };
        for named in code.split("crate::").skip(1) {
            let other: String = named.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            if other != own && !other.is_empty() && !known.contains(&other.as_str()) {
                wrong.push(format!("{} knows {other}", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn other_units_live_in_one_file() {
    let strangers = ["25.4", "72.0", "96.0"];
    let wrong: Vec<_> = sources()
        .into_iter()
        .filter(|(path, _)| room(path) != "units")
        .flat_map(|(path, code)| {
            let code: String = code
                .lines()
                .filter(|line| !line.trim_start().starts_with("//"))
                .collect::<Vec<_>>()
                .join("\n");
            strangers.map(|number| (path.clone(), code.contains(number), number))
        })
        .filter(|(_, found, _)| *found)
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn every_file_opens_with_what_it_is() {
    let silent: Vec<_> =
        sources().into_iter().filter(|(_, code)| !code.starts_with("//!")).map(|(path, _)| path).collect();
    assert!(silent.is_empty(), "{silent:#?}");
}

#[test]
fn only_batch_and_the_command_line_touch_files() {
    let wrong: Vec<_> = sources()
        .into_iter()
        .filter(|(path, _)| !["batch", "cli", "main"].contains(&room(path).as_str()))
        .filter(|(_, code)| code.contains("std::fs") || code.contains("std::env") || code.contains("rayon"))
        .map(|(path, _)| path)
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// DEVELOPERS.md says where each printed number comes from and which test holds it: the tests are there.
#[test]
fn every_test_that_the_table_of_claims_names_is_there() {
    fn texts(folder: &Path, found: &mut String) {
        for path in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            if path.is_dir() {
                texts(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                found.push_str(&fs::read_to_string(&path).unwrap());
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut code = String::new();
    ["src", "tests"].iter().for_each(|folder| texts(&root.join(folder), &mut code));
    let guide = fs::read_to_string(root.join("DEVELOPERS.md")).unwrap();
    let (_, table) = guide.split_once("## Where the numbers come from").unwrap();
    let (table, _) = table.split_once("\n## ").unwrap();
    let rows: Vec<&str> = table.lines().filter(|line| line.starts_with("| ")).skip(1).collect();
    assert!(rows.len() > 30, "{}", rows.len());
    for row in rows {
        let cells: Vec<&str> = row.split('|').collect();
        let [_, _, source, tests, _] = cells[..] else { panic!("three cells: {row}") };
        assert!(!source.trim().is_empty(), "{row}");
        let named: Vec<&str> = tests.split('`').skip(1).step_by(2).collect();
        assert!(!named.is_empty(), "{row}");
        for name in named {
            assert!(code.contains(&format!("fn {name}()")), "no test is called {name}");
        }
    }
}
