//! `out/harrow-tarn` shows the truth: the demo is rendered again and every byte compared.
//!
//! After a wanted change: `MARKLOFT_BLESS=1 cargo test --release --test demo`.

use assert_cmd::Command;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Every file below a folder but the sheets' PNGs and what a run remembers, which are not kept.
fn files(home: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    fn walk(home: &Path, folder: &Path, found: &mut BTreeMap<PathBuf, Vec<u8>>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(home, &path, found);
            } else if kept(&path) {
                found.insert(path.strip_prefix(home).unwrap().to_owned(), fs::read(&path).unwrap());
            }
        }
    }
    let mut found = BTreeMap::new();
    walk(home, home, &mut found);
    found
}

fn kept(path: &Path) -> bool {
    let name = path.file_name().unwrap().to_string_lossy();
    name == "overview.png"
        || !([".png", ".pdf"].iter().any(|end| name.ends_with(end)) || name.starts_with('.'))
}

/// The demo made with this many threads, in a folder of its own.
fn rendered(jobs: &str) -> BTreeMap<PathBuf, Vec<u8>> {
    let out = tempfile::tempdir().unwrap();
    let spec = Path::new(env!("CARGO_MANIFEST_DIR")).join("specs/harrow-tarn.yaml");
    let mut command = Command::cargo_bin("markloft").unwrap();
    // Named by its bare file name, as the built-in demo is, so that places in findings agree.
    command.current_dir(spec.parent().unwrap());
    command.args(["make", "harrow-tarn.yaml", "--dpi", "100", "--jobs", jobs, "--out"]).arg(out.path());
    command.assert().success();
    files(&out.path().join("harrow-tarn"))
}

#[test]
fn out_shows_what_the_demo_makes() {
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("out/harrow-tarn");
    let fresh = rendered("2");
    if std::env::var_os("MARKLOFT_BLESS").is_some() {
        let _ = fs::remove_dir_all(&kept);
        for (path, bytes) in &fresh {
            fs::create_dir_all(kept.join(path).parent().unwrap()).unwrap();
            fs::write(kept.join(path), bytes).unwrap();
        }
    }
    let before = files(&kept);
    assert_eq!(before.keys().collect::<Vec<_>>(), fresh.keys().collect::<Vec<_>>());
    for (path, bytes) in &fresh {
        assert!(before[path] == *bytes, "{} differs from what is kept in out/", path.display());
    }
    let size: usize = fresh.values().map(Vec::len).sum();
    assert!(size < 2_000_000, "out/ holds {size} bytes");
}

#[test]
fn threads_change_no_byte() {
    assert!(rendered("1") == rendered("3"));
}
