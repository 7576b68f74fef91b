//! Many specs, run again, cut off, and kept out of where they must not look.

use assert_cmd::Command;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant, SystemTime};

const GOOD: &str = "markloft: 1\ntitle: t\nscales: [1/48, 1/72]\nuse: [colours.yaml]\nparts:\n  door:\n    shape: {flat: {width: 1 m, height: 1 m, face: left}}\nmarkings:\n  disc:\n    part: door\n    draw: {disc: {diameter: 30 in}}\n    colour: red\n  bar:\n    part: door\n    draw: {rectangle: {width: 300 mm, height: 100 mm}}\n    colour: blue\n    make: mask\n";
const COLOURS: &str = "markloft: 1\ncolours: {red: \"#c8321e\", blue: \"#1f4e79\"}\n";

/// A folder with the spec and what it uses.
fn bench() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("spec.yaml"), GOOD).unwrap();
    fs::write(folder.path().join("colours.yaml"), COLOURS).unwrap();
    folder
}

fn markloft(folder: &Path, words: &[&str]) -> Command {
    let mut command = Command::cargo_bin("markloft").unwrap();
    command.env("NO_COLOR", "1").current_dir(folder).args(words);
    command
}

fn run(folder: &Path, words: &[&str]) -> (i32, String, String) {
    let output = markloft(folder, words).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
}

/// One line of JSON for each spec.
fn lines(folder: &Path, words: &[&str]) -> Vec<Value> {
    let (_, out, _) = run(folder, words);
    out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn files(home: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    fn walk(home: &Path, folder: &Path, found: &mut BTreeMap<PathBuf, Vec<u8>>) {
        let Ok(entries) = fs::read_dir(folder) else { return };
        for entry in entries.flatten() {
            let path = entry.path();
            if path.is_dir() {
                walk(home, &path, found);
            } else if let Ok(bytes) = fs::read(&path) {
                found.insert(path.strip_prefix(home).unwrap().to_owned(), bytes);
            }
        }
    }
    let mut found = BTreeMap::new();
    walk(home, home, &mut found);
    found
}

fn modified(path: &Path) -> SystemTime {
    fs::metadata(path).unwrap().modified().unwrap()
}

const MAKE: [&str; 6] = ["make", "spec.yaml", "--dpi", "72", "--format", "json-lines"];

#[test]
fn a_second_run_does_nothing_until_something_changes() {
    let folder = bench();
    let state = || lines(folder.path(), &MAKE)[0]["state"].as_str().unwrap().to_owned();
    assert_eq!([state(), state()], ["made", "unchanged"]);
    let out = folder.path().join("out/spec");
    let first = files(&out);
    // A file taken away, one damaged, one of a shared file touched.
    fs::remove_file(out.join("1-48/decal-1.png")).unwrap();
    assert_eq!([state(), state()], ["made", "unchanged"]);
    fs::write(out.join("1-72/decal-1.svg"), "damaged").unwrap();
    assert_eq!([state(), state()], ["made", "unchanged"]);
    assert!(files(&out) == first);
    fs::write(folder.path().join("colours.yaml"), COLOURS.replace("c8321e", "c8321f")).unwrap();
    assert_eq!([state(), state()], ["made", "unchanged"]);
    // Other options are another run; `--force` makes all again.
    let other = lines(folder.path(), &["make", "spec.yaml", "--dpi", "80", "--format", "json-lines"]);
    assert_eq!(other[0]["state"], "made");
    let forced = [&MAKE[..], &["--force"]].concat();
    assert_eq!(lines(folder.path(), &forced)[0]["state"], "made");
}

#[test]
fn a_touched_colour_draws_only_what_it_colours() {
    let folder = bench();
    run(folder.path(), &MAKE);
    let out = folder.path().join("out/spec");
    let names: Vec<PathBuf> =
        files(&out).into_keys().filter(|path| path.extension() == Some("png".as_ref())).collect();
    let when = |name: &PathBuf| modified(&out.join(name));
    let before: Vec<SystemTime> = names.iter().map(when).collect();
    std::thread::sleep(Duration::from_millis(20));
    fs::write(folder.path().join("colours.yaml"), COLOURS.replace("c8321e", "c8321f")).unwrap();
    run(folder.path(), &MAKE);
    let drawn: Vec<&PathBuf> = names
        .iter()
        .zip(before)
        .filter(|(name, before)| when(name) != *before)
        .map(|(name, _)| name)
        .collect();
    // Red is on the decals, and so on the overview; the masks are cut for blue.
    let red = ["1-48/decal-1.png", "1-72/decal-1.png", "overview.png"].map(Path::new);
    assert_eq!(drawn, red, "{names:?}");
}

#[test]
fn folders_and_patterns_are_made_and_one_bad_spec_stops_nobody() {
    let folder = bench();
    fs::write(folder.path().join("bad.yaml"), GOOD.replace("30 in", "30")).unwrap();
    let told = lines(folder.path(), &["make", ".", "--dpi", "72", "--format", "json-lines"]);
    let states: Vec<&str> = told.iter().map(|line| line["state"].as_str().unwrap()).collect();
    assert_eq!(states, ["failed", "made"], "{told:?}");
    assert_eq!(told[0]["problems"][0]["at"], "./bad.yaml:11:29");
    assert!(told[1]["files"].as_array().unwrap().len() > 4);
    let (code, out, _) = run(folder.path(), &["make", "./*.yaml", "--dpi", "72"]);
    assert_eq!(code, 2);
    // The shared file is no spec.
    assert!(out.ends_with("\n2 specs: 1 made, 1 failed\n"), "{out}");
    // Named by its folder too, it is still one.
    let reports = lines(folder.path(), &["check", "spec.yaml", "./spec.yaml", "--format", "json-lines"]);
    assert_eq!(reports.len(), 1);
    assert_eq!(reports[0]["spec"], "spec");
}

/// The examples in one batch, at one scale; the standards have a batch of their own.
#[test]
fn every_example_is_made_without_an_error() {
    let out = tempfile::tempdir().unwrap();
    let home = out.path().to_str().unwrap();
    let words = ["--scale", "1/48", "--dpi", "30", "--effort", "0", "--format", "json-lines", "--out", home];
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let told = lines(root, &[&["make", "specs/*.yaml"], &words[..]].concat());
    let specs = fs::read_dir(root.join("specs")).unwrap().map(|entry| entry.unwrap().path());
    let specs: Vec<_> = specs.filter(|path| path.extension().is_some_and(|end| end == "yaml")).collect();
    assert_eq!(told.len(), specs.len());
    for line in &told {
        assert_eq!((&line["state"], &line["has_errors"]), (&"made".into(), &false.into()), "{line}");
    }
    // Between them they show whatever files a spec can name and a scale can have.
    let texts: String = specs.iter().map(|path| fs::read_to_string(path).unwrap()).collect();
    for word in ["artwork: ", "table: ", "cutter: ", "tape: ", "spray: ", "tab: "] {
        assert!(texts.contains(word), "no example has `{word}`");
    }
    let made = |ending: &str| {
        let files = told.iter().flat_map(|line| line["files"].as_array().unwrap());
        files.filter(|file| file.as_str().unwrap().ends_with(ending)).count()
    };
    for ending in ["tape.csv", ".cut.svg", ".dxf", ".plt", "report.json"] {
        assert!(made(ending) > 0, "no {ending}");
    }
}

#[test]
fn files_outside_the_folder_are_refused_unless_allowed() {
    let outside = tempfile::tempdir().unwrap();
    fs::write(outside.path().join("colours.yaml"), COLOURS).unwrap();
    let folder = bench();
    let with_use = |name: &str| {
        let text = GOOD.replace("[colours.yaml]", &format!("[{name}]"));
        fs::write(folder.path().join("spec.yaml"), text).unwrap();
        run(folder.path(), &["check", "spec.yaml"])
    };
    let shown = outside.path().join("colours.yaml").display().to_string();
    for name in ["/etc/passwd", &shown, "../x/../../etc/passwd"] {
        let (code, _, err) = with_use(name);
        assert_eq!(code, 2, "{name}");
        assert!(err.contains("spec.yaml:4:7"), "{err}");
    }
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(outside.path().join("colours.yaml"), folder.path().join("linked.yaml"))
            .unwrap();
        let (code, _, err) = with_use("linked.yaml");
        assert_eq!(code, 2);
        assert!(err.contains("outside the spec's folder"), "{err}");
        let allowed = outside.path().display().to_string();
        assert_eq!(run(folder.path(), &["check", "spec.yaml", "--allow-dir", &allowed]).0, 0);
    }
}

/// A spec that names this file in one of the ways in which a spec can, and what is said of it.
#[cfg(unix)]
fn naming(folder: &Path, part: &str, draw: &str) -> String {
    let text = GOOD.replace("{flat: {width: 1 m, height: 1 m, face: left}}", part);
    let text = text.replace("{disc: {diameter: 30 in}}", draw);
    fs::write(folder.join("spec.yaml"), text).unwrap();
    let (code, out, err) = run(folder, &["check", "spec.yaml"]);
    assert_eq!(code, 2, "{out}");
    assert!(err.contains("spec.yaml:"), "no place: {err}");
    assert!(!err.contains("root:") && !out.contains("root:"), "the file was read: {err}");
    err
}

/// The file in three ways: by its own name, by way of folders, and through a link.
#[cfg(unix)]
fn refused(ending: &str, part: impl Fn(&str) -> String, draw: impl Fn(&str) -> String) {
    let folder = bench();
    let link = format!("link.{ending}");
    std::os::unix::fs::symlink("/etc/passwd", folder.path().join(&link)).unwrap();
    for name in ["/etc/passwd", "../../../../../../../../etc/passwd", &*link] {
        let err = naming(folder.path(), &part(name), &draw(name));
        // Of a mesh the ending is looked at first, and a name without one is no mesh.
        let other = ending == "stl" && name != link && err.contains("no mesh that is read here");
        assert!(other || err.contains("--allow-dir FOLDER"), "{name}: {err}");
    }
}

#[cfg(unix)]
const DOOR: &str = "{flat: {width: 1 m, height: 1 m, face: left}}";
const DISC: &str = "{disc: {diameter: 30 in}}";

#[cfg(unix)]
#[test]
fn artwork_from_elsewhere_is_refused() {
    refused("svg", |_| DOOR.into(), |file| format!("{{artwork: {{file: {file}, width: 1 m}}}}"));
}

#[cfg(unix)]
#[test]
fn a_mesh_from_elsewhere_is_refused() {
    refused("stl", |file| format!("{{mesh: {{file: {file}, unit: mm, size: full}}}}"), |_| DISC.into());
}

#[cfg(unix)]
#[test]
fn a_font_from_elsewhere_is_refused() {
    refused("ttf", |_| DOOR.into(), |file| format!("{{text: {{text: \"A\", font: {file}, height: 30 cm}}}}"));
}

#[cfg(unix)]
#[test]
fn a_table_of_points_from_elsewhere_is_refused() {
    refused("csv", |file| format!("{{revolve: {{profile: {{file: {file}, unit: mm}}}}}}"), |_| DISC.into());
}

/// A gigabyte that is hardly there on the disk: no more of it is read than a file may have.
#[test]
fn artwork_of_a_gigabyte_is_refused() {
    let folder = bench();
    fs::File::create(folder.path().join("large.svg")).unwrap().set_len(1 << 30).unwrap();
    let err = naming(folder.path(), DOOR, "{artwork: {file: large.svg, width: 1 m}}");
    assert!(err.contains("larger than the 4 MiB that are read of a file"), "{err}");
}

/// An SVG file may name others in many ways; not one of them is opened.
#[test]
fn what_artwork_points_to_is_refused() {
    let folder = bench();
    for (inner, words) in [
        ("<image href=\"/etc/passwd\" width=\"9\" height=\"9\"/>", "raster image"),
        ("<image href=\"file:///etc/passwd\" width=\"9\" height=\"9\"/>", "raster image"),
        ("<use href=\"/etc/passwd#a\"/>", "points outside the file"),
        ("<rect width=\"9\" height=\"9\" fill=\"url(file:///etc/passwd#a)\"/>", "points outside the file"),
        (
            "<style>@import url(file:///etc/passwd);</style><rect width=\"9\" height=\"9\"/>",
            "points outside the file",
        ),
    ] {
        let svg = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\">{inner}</svg>");
        fs::write(folder.path().join("a.svg"), svg).unwrap();
        let text = GOOD.replace(DISC, "{artwork: {file: a.svg, width: 30 in}}");
        fs::write(folder.path().join("spec.yaml"), text).unwrap();
        let (code, out, err) = run(folder.path(), &["check", "spec.yaml"]);
        assert_eq!(code, 2, "{inner}: {err}");
        assert!(!(out + &err).contains("root:") && err.contains(words), "{inner}: {err}");
    }
    let entity = "<!DOCTYPE svg [<!ENTITY e SYSTEM \"file:///etc/passwd\">]><svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\"><text>&e;</text></svg>";
    fs::write(folder.path().join("a.svg"), entity).unwrap();
    let (code, out, err) = run(folder.path(), &["check", "spec.yaml"]);
    assert!(code == 2 && !(out + &err).contains("root:"), "{err}");
}

/// Names that other systems take for devices, and names that they do not tell apart.
#[test]
fn folders_have_names_that_every_system_can_hold() {
    let folder = bench();
    for name in ["con", "AUX", "lpt1", "a:b", "x."] {
        fs::write(folder.path().join(format!("{name}.yaml")), GOOD).unwrap();
        let (code, _, err) = run(folder.path(), &["make", &format!("{name}.yaml"), "--dpi", "72"]);
        assert_eq!(code, 0, "{name}: {err}");
    }
    let names = fs::read_dir(folder.path().join("out")).unwrap().map(|entry| entry.unwrap().file_name());
    let names: Vec<String> = names.map(|name| name.into_string().unwrap().to_lowercase()).collect();
    assert_eq!(names.len(), 5, "{names:?}");
    for name in names {
        // Microsoft, "Naming Files, Paths, and Namespaces": reserved names, characters, the last letter.
        let stem = name.split('.').next().unwrap();
        assert!(!["con", "prn", "aux", "nul"].contains(&stem), "{name}");
        assert!(!(stem.len() == 4 && (stem.starts_with("com") || stem.starts_with("lpt"))), "{name}");
        assert!(!name.contains(['<', '>', ':', '"', '/', '\\', '|', '?', '*']), "{name}");
        assert!(!name.ends_with(['.', ' ']), "{name}");
    }
    fs::create_dir(folder.path().join("b")).unwrap();
    fs::write(folder.path().join("b/SPEC.yaml"), GOOD.replace("[colours.yaml]", "[]")).unwrap();
    let (code, _, err) = run(folder.path(), &["make", "spec.yaml", "b/SPEC.yaml", "--dpi", "72"]);
    assert!(code == 2 && err.contains("b/SPEC.yaml would be written over spec.yaml"), "{err}");
}

/// A run that ends with its test.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn started(folder: &Path, words: &[&str]) -> Running {
    let mut command = std::process::Command::new(assert_cmd::cargo::cargo_bin("markloft"));
    command.current_dir(folder).args(words).stdout(Stdio::null()).stderr(Stdio::null());
    Running(command.spawn().unwrap())
}

/// Kills a run at some moment of its life.
fn killed(folder: &Path, after: Duration) {
    let running = started(folder, &[&MAKE[..], &["--force"]].concat());
    std::thread::sleep(after);
    drop(running);
}

/// Every file of ours is whole: as the last finished run left it or as the one that was cut off would have.
fn is_whole(out: &Path) {
    let found = files(out);
    let Some(manifest) = found.get(Path::new(".markloft.json")) else {
        let ours = |path: &&PathBuf| !path.to_string_lossy().starts_with(".markloft");
        assert_eq!(found.keys().filter(ours).count(), 0, "files without a manifest: {:?}", found.keys());
        return;
    };
    let manifest: Value = serde_json::from_slice(manifest).unwrap();
    for (path, bytes) in &found {
        let name = path.to_string_lossy();
        if name.starts_with(".markloft") {
            continue;
        }
        let known = [&manifest["files"][&*name], &manifest["arriving"][&*name]];
        let hash = serde_json::json!(markloft::batch::hash(bytes));
        assert!(known.contains(&&hash), "{name} is not as any run left it");
    }
}

/// `MARKLOFT_KILLS=300 cargo test --release --test batch killed` does it as often as was asked once.
#[test]
fn runs_killed_at_any_moment_leave_whole_files() {
    let folder = bench();
    let out = folder.path().join("out/spec");
    run(folder.path(), &MAKE);
    let begun = Instant::now();
    run(folder.path(), &[&MAKE[..], &["--force"]].concat());
    let whole = begun.elapsed();
    let good = files(&out);
    let kills = std::env::var("MARKLOFT_KILLS").ok().and_then(|kills| kills.parse().ok()).unwrap_or(24u32);
    for kill in 0..kills {
        // Two colours in turn, so that there is something to be half done.
        let red = if kill % 2 == 0 { "c8321f" } else { "c8321e" };
        fs::write(folder.path().join("colours.yaml"), COLOURS.replace("c8321e", red)).unwrap();
        // Spread over the run and a little past it by the golden section, which leaves no moment out for long.
        killed(folder.path(), whole.mul_f64(1.2 * (f64::from(kill) * 0.618_034).fract()));
        is_whole(&out);
    }
    fs::write(folder.path().join("colours.yaml"), COLOURS).unwrap();
    run(folder.path(), &MAKE);
    assert!(files(&out) == good, "the next run completes to the same bytes, nothing left aside");
}

#[test]
fn a_folder_in_use_is_left_alone() {
    let folder = bench();
    run(folder.path(), &MAKE);
    let held = fs::File::create(folder.path().join("out/spec/.markloft-lock")).unwrap();
    held.lock().unwrap();
    let (code, _, err) = run(folder.path(), &["make", "spec.yaml", "--dpi", "72", "--force"]);
    assert_eq!(code, 3);
    assert!(err.contains("another run is writing into this folder"), "{err}");
}

/// A limit on the size of files stands for a full disk: both end a write in the middle.
#[cfg(unix)]
#[test]
fn what_does_not_fit_on_the_disk_leaves_the_last_run() {
    let folder = bench();
    run(folder.path(), &MAKE);
    let out = folder.path().join("out/spec");
    let before = files(&out);
    let program = assert_cmd::cargo::cargo_bin("markloft");
    let script =
        format!("trap '' XFSZ; ulimit -f 4; exec '{}' make spec.yaml --dpi 300 --force", program.display());
    let output =
        std::process::Command::new("bash").current_dir(folder.path()).args(["-c", &script]).output().unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot be written"));
    assert!(files(&out) == before);
}

#[test]
fn a_spec_that_is_saved_is_made_again() {
    let folder = bench();
    let _running = started(folder.path(), &["make", "spec.yaml", "--dpi", "72", "--watch"]);
    let report = folder.path().join("out/spec/report.json");
    let until = |words: &str| {
        let begun = Instant::now();
        while !fs::read_to_string(&report).is_ok_and(|text| text.contains(words)) {
            assert!(begun.elapsed() < Duration::from_secs(60), "{words} never came");
            std::thread::sleep(Duration::from_millis(20));
        }
    };
    until("\"title\": \"t\"");
    // The folder is watched once the first run has been told; saved until it is noticed.
    let begun = Instant::now();
    while !fs::read_to_string(&report).unwrap_or_default().contains("\"title\": \"saved\"") {
        assert!(begun.elapsed() < Duration::from_secs(60), "a saved spec was never made again");
        fs::write(folder.path().join("spec.yaml"), GOOD.replace("title: t", "title: saved")).unwrap();
        std::thread::sleep(Duration::from_millis(400));
    }
}

/// What is too much can be raised, and the message says how.
#[test]
fn limits_are_told_and_can_be_raised() {
    let folder = bench();
    let many = GOOD.replace("colour: red\n", "colour: red\n    copies: 1001\n");
    fs::write(folder.path().join("spec.yaml"), many).unwrap();
    let (code, _, err) = run(folder.path(), &["check", "spec.yaml"]);
    assert!(code == 2 && err.contains("at most 1000") && err.contains("--limits 4"), "{err}");
    let (code, out, err) = run(folder.path(), &["check", "spec.yaml", "--effort", "0", "--limits", "4"]);
    assert!(code == 0 && out.contains("1001"), "{out}{err}");
    // 5 MiB of comment.
    fs::write(
        folder.path().join("spec.yaml"),
        format!("{GOOD}{}", "# a line of a comment\n".repeat(250_000)),
    )
    .unwrap();
    let (code, _, err) = run(folder.path(), &["check", "spec.yaml"]);
    assert!(code == 3 && err.contains("4 MiB") && err.contains("--limits 4"), "{err}");
    assert_eq!(run(folder.path(), &["check", "spec.yaml", "--limits", "2"]).0, 0);
}
