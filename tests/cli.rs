//! Commands, messages and exit codes, as a user or a script meets them.

use assert_cmd::Command;
use markloft::flow::Code;
use std::fs;
use std::path::Path;

fn markloft() -> Command {
    let mut command = Command::cargo_bin("markloft").unwrap();
    command.env("NO_COLOR", "1");
    command
}

/// Exit code, standard output, standard error.
fn run(command: &mut Command) -> (i32, String, String) {
    let output = command.output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
}

/// A folder with one spec in it, under the name `spec.yaml`.
fn with_spec(bytes: &[u8]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("spec.yaml"), bytes).unwrap();
    folder
}

fn make(folder: &Path) -> (i32, String, String) {
    run(markloft().current_dir(folder).args(["make", "spec.yaml", "--dpi", "72"]))
}

const GOOD: &str = "markloft: 1\ntitle: t\nscales: [1/48]\ncolours: {red: \"#c8321e\"}\nparts:\n  door:\n    shape: {flat: {width: 1 m, height: 1 m, face: left}}\nmarkings:\n  disc:\n    part: door\n    draw: {disc: {diameter: 30 in}}\n    colour: red\n";

#[test]
fn make_writes_whole_folders_and_says_where() {
    let folder = with_spec(GOOD.as_bytes());
    let (code, out, err) = make(folder.path());
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    for file in ["report.json", "report.html", "overview.png", "1-48/decal-1.svg", "1-48/decal-1.png"] {
        assert!(folder.path().join("out/spec").join(file).is_file(), "{file}");
    }
    let left: Vec<_> = fs::read_dir(folder.path().join("out/spec"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    assert_eq!(
        left.len(),
        5,
        "reports, an overview, a scale and the manifest; nothing is left aside: {left:?}"
    );
    assert!(out.contains("report.html"));
}

#[test]
fn a_second_run_takes_away_what_it_no_longer_makes_and_nothing_else() {
    let folder = with_spec(GOOD.replace("[1/48]", "[1/48, 1/72]").as_bytes());
    assert_eq!(make(folder.path()).0, 0);
    let out = folder.path().join("out/spec");
    fs::write(out.join("1-72/mine.txt"), "notes").unwrap();
    fs::write(folder.path().join("spec.yaml"), GOOD).unwrap();
    assert_eq!(make(folder.path()).0, 0);
    assert!(!out.join("1-72/decal-1.svg").exists() && out.join("1-72/mine.txt").exists());
    assert!(out.join("1-48/decal-1.svg").exists());
}

#[test]
fn a_bad_spec_leaves_the_last_good_run() {
    let folder = with_spec(GOOD.as_bytes());
    assert_eq!(make(folder.path()).0, 0);
    let report = folder.path().join("out/spec/report.json");
    let before = fs::read(&report).unwrap();
    fs::write(folder.path().join("spec.yaml"), GOOD.replace("30 in", "30")).unwrap();
    let (code, _, err) = make(folder.path());
    assert_eq!(code, 2);
    assert!(
        err.contains("spec.yaml:11:29") && err.contains("30 mm") && err.contains("nothing was written"),
        "{err}"
    );
    assert_eq!(fs::read(&report).unwrap(), before);
}

#[test]
fn each_kind_of_wrong_file_has_its_message_and_code() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("folder")).unwrap();
    let png = [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0, 0x0d, b'I', b'H', b'D', b'R'];
    fs::write(folder.path().join("picture.yaml"), png).unwrap();
    fs::write(folder.path().join("empty.yaml"), "").unwrap();
    fs::write(folder.path().join("tabs.yaml"), GOOD.replace("  door", "\tdoor")).unwrap();
    fs::write(folder.path().join("zero.yaml"), GOOD.replace("1/48", "1/0")).unwrap();
    let cases = [
        ("missing.yaml", 3, "there is no such file"),
        ("folder", 3, "folder"),
        ("picture.yaml", 2, "picture.yaml:1:1"),
        ("empty.yaml", 2, "empty"),
        ("tabs.yaml", 2, "tabs.yaml:6:1"),
        ("zero.yaml", 2, "zero.yaml:3:10"),
    ];
    for (name, code, words) in cases {
        let (found, _, err) = run(markloft().current_dir(folder.path()).args(["make", name]));
        assert_eq!(found, code, "{name}: {err}");
        assert!(err.contains(words), "{name}: {err}");
        assert!(!folder.path().join("out").exists(), "{name} wrote something");
    }
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_are_read() {
    let windows = format!("\u{feff}{}", GOOD.replace('\n', "\r\n"));
    let folder = with_spec(windows.as_bytes());
    assert_eq!(run(markloft().current_dir(folder.path()).args(["check", "spec.yaml"])).0, 0);
}

#[test]
fn an_out_folder_that_cannot_be_written_is_code_3() {
    let folder = with_spec(GOOD.as_bytes());
    fs::write(folder.path().join("taken"), "a file").unwrap();
    let (code, _, err) =
        run(markloft().current_dir(folder.path()).args(["make", "spec.yaml", "--out", "taken"]));
    assert_eq!(code, 3, "{err}");
    assert!(err.contains("taken"), "{err}");
}

#[test]
fn check_ends_with_1_on_an_error_and_make_only_when_strict() {
    let folder = with_spec(GOOD.replace("30 in", "1200 mm").as_bytes());
    let end = |words: &[&str]| run(markloft().current_dir(folder.path()).args(words)).0;
    assert_eq!(end(&["check", "spec.yaml"]), 1);
    assert_eq!(end(&["make", "spec.yaml", "--dpi", "72"]), 0);
    assert_eq!(end(&["make", "spec.yaml", "--dpi", "72", "--strict"]), 1);
    assert_eq!(end(&["make"]), 2);
    // Of several the highest, and one bad spec does not stop the others.
    let (code, out, _) =
        run(markloft().current_dir(folder.path()).args(["check", "missing.yaml", "spec.yaml"]));
    assert_eq!(code, 3);
    assert!(out.contains("oversize"), "{out}");
}

#[test]
fn check_prints_json_and_writes_nothing() {
    let folder = with_spec(GOOD.as_bytes());
    let json = |words: &[&str]| {
        let (_, out, _) = run(markloft().current_dir(folder.path()).args(words));
        serde_json::from_str::<serde_json::Value>(&out).unwrap()
    };
    let one = json(&["check", "--format", "json", "spec.yaml"]);
    assert_eq!(one["scales"][0]["pieces"][0]["size_mm"], serde_json::json!([15.875, 15.875]));
    fs::copy(folder.path().join("spec.yaml"), folder.path().join("other.yaml")).unwrap();
    let two = json(&["check", "--format", "json", "spec.yaml", "other.yaml"]);
    assert_eq!(two.as_array().map(Vec::len), Some(2));
    assert!(!folder.path().join("out").exists());
}

#[test]
fn a_spec_may_come_from_standard_input() {
    let (code, out, err) = run(markloft().args(["check", "-", "--scale", "1/72"]).write_stdin(GOOD));
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("1/72") && !out.contains("1/48"), "{out}");
}

#[test]
fn what_start_writes_runs_clean() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(run(markloft().current_dir(folder.path()).arg("start")).0, 0);
    let (code, out, err) =
        run(markloft().current_dir(folder.path()).args(["make", "first.yaml", "--strict", "--dpi", "72"]));
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(!out.contains("warning ") && !out.contains("error "), "{out}");
    // A file that is there is left alone.
    fs::write(folder.path().join("first.yaml"), "mine").unwrap();
    assert_eq!(run(markloft().current_dir(folder.path()).arg("start")).0, 3);
    assert_eq!(fs::read_to_string(folder.path().join("first.yaml")).unwrap(), "mine");
}

#[test]
fn size_tells_a_length_at_each_scale() {
    // 18 in is 457.2 mm; at 1/48 9.525 mm, at 1/72 6.35 mm.
    let (code, out, _) = run(markloft().args(["size", "18in", "--scale", "1/48,1/72"]));
    assert_eq!(code, 0);
    assert_eq!(out, "full  457.2 mm = 18 in\n1/48     9.525 mm\n1/72     6.350 mm\n");
    assert_eq!(run(markloft().args(["size", "18"])).0, 2);
    for nothing in ["0 mm", "-3in"] {
        let (code, _, err) = run(markloft().args(["size", nothing]));
        assert_eq!(code, 2);
        assert!(err.contains("a length over 0 is wanted"), "{err}");
    }
}

/// What `explain` shows is tried: its example has the finding, and the change it names takes it away.
#[test]
fn every_finding_is_explained_and_its_cure_works() {
    let (code, out, _) = run(markloft().arg("explain"));
    assert_eq!(code, 0);
    assert_eq!(out.lines().count(), Code::ALL.len());
    for known in Code::ALL {
        let word = known.word();
        let (code, out, _) = run(markloft().args(["explain", word]));
        assert_eq!(code, 0);
        let explained = known.explained();
        assert!(
            out.starts_with(word) && out.contains(explained.cause) && out.contains(explained.cure),
            "{out}"
        );
        for line in explained.spec().lines() {
            assert!(out.contains(&format!("  {line}\n")), "{line}");
        }
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in explained.files {
            assert!(out.contains(&format!("with `{name}` beside it")), "{out}");
            fs::write(folder.path().join(name), text).unwrap();
        }
        let found = |spec: String| {
            let check = ["check", "-", "--format", "json"];
            let (_, out, err) = run(markloft().current_dir(folder.path()).args(check).write_stdin(spec));
            assert!(err.is_empty(), "{word}: {err}");
            out.contains(&format!("\"code\": \"{word}\""))
        };
        assert!(found(explained.spec()), "the example of `{word}` has no such finding");
        assert!(!found(explained.cured()), "the cure of `{word}` does not work");
    }
    assert_eq!(run(markloft().args(["explain", "nonsense"])).0, 2);
}

#[test]
fn two_specs_of_one_name_are_not_written_over_each_other() {
    let folder = tempfile::tempdir().unwrap();
    for (home, title) in [("a", "one"), ("b", "two")] {
        fs::create_dir(folder.path().join(home)).unwrap();
        fs::write(
            folder.path().join(home).join("x.yaml"),
            GOOD.replace("title: t", &format!("title: {title}")),
        )
        .unwrap();
    }
    let (code, _, err) =
        run(markloft().current_dir(folder.path()).args(["make", "a/x.yaml", "b/x.yaml", "--dpi", "72"]));
    assert_eq!(code, 2);
    assert!(err.contains("b/x.yaml would be written over a/x.yaml"), "{err}");
    let report = fs::read_to_string(folder.path().join("out/x/report.json")).unwrap();
    assert!(report.contains("\"title\": \"one\""));
}

#[test]
fn a_scale_asked_for_twice_is_made_once() {
    let folder = with_spec(GOOD.as_bytes());
    let twice = ["make", "spec.yaml", "--dpi", "72", "--scale", "1/72,1/72"];
    let (code, out, err) = run(markloft().current_dir(folder.path()).args(twice));
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.contains("1 piece on 1 sheet"), "{out}");
}

#[test]
fn a_spec_that_is_wrong_prints_no_json() {
    let folder = with_spec(GOOD.replace("30 in", "30").as_bytes());
    let (code, out, _) =
        run(markloft().current_dir(folder.path()).args(["check", "--format", "json", "spec.yaml"]));
    assert_eq!((code, out.as_str()), (2, ""));
}

#[test]
fn a_folder_in_the_way_of_a_file_leaves_the_last_run_whole() {
    let folder = with_spec(GOOD.as_bytes());
    assert_eq!(make(folder.path()).0, 0);
    let out = folder.path().join("out/spec");
    let before = fs::read(out.join("1-48/decal-1.svg")).unwrap();
    fs::remove_file(out.join("report.html")).unwrap();
    fs::create_dir(out.join("report.html")).unwrap();
    fs::write(folder.path().join("spec.yaml"), GOOD.replace("30 in", "20 in")).unwrap();
    let (code, _, err) = make(folder.path());
    assert_eq!(code, 3, "{err}");
    assert!(err.contains("in the way"), "{err}");
    assert_eq!(fs::read(out.join("1-48/decal-1.svg")).unwrap(), before);
}

#[test]
fn the_examples_run_as_they_are() {
    let specs = Path::new(env!("CARGO_MANIFEST_DIR")).join("specs");
    let names = ["curved", "kinds", "relief", "rescue-helicopter", "crash-tender", "crew"];
    let examples = names.map(|name| specs.join(name).with_extension("yaml"));
    let (code, said, _) = run(markloft().arg("check").args(&examples).args(["--format", "json-lines"]));
    assert_eq!(code, 0, "{said}");
    assert_eq!(said.lines().filter(|line| line.contains("\"spec\"")).count(), examples.len(), "{said}");
}
