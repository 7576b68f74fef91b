//! Every file that fuzzing kept is read again: the corpus, the finds, and the specs and artwork of this project.
//!
//! `fuzz/readers.rs` says what is done with each. A find is named after what broke, and lies in
//! `fuzz/finds/<kind>`.

#[path = "../fuzz/readers.rs"]
mod readers;

use std::fs;
use std::path::Path;

fn replayed(kind: &str, more: &str, read: fn(&[u8])) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let patterns = [format!("fuzz/corpus/{kind}/*"), format!("fuzz/finds/{kind}/*"), more.to_owned()];
    let found = patterns.iter().flat_map(|below| glob::glob(&root.join(below).to_string_lossy()).unwrap());
    let mut count = 0;
    for path in found.map(Result::unwrap).filter(|path| path.is_file()) {
        println!("{}", path.display());
        read(&fs::read(&path).unwrap());
        count += 1;
    }
    assert!(count > 1, "the corpus of {kind} was found");
}

#[test]
fn specs() {
    replayed("spec", "specs/**/*.yaml", readers::spec);
}

#[test]
fn artwork() {
    replayed("artwork", "tests/data/artwork/*.svg", readers::artwork);
}

#[test]
fn meshes() {
    replayed("mesh", "tests/data/*.obj", readers::mesh);
}

#[test]
fn fonts() {
    replayed("font", "src/outline/face/*.ttf", readers::font);
}
