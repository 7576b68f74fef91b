//! Curved parts as the spec writes them: what is right makes a plan, what is wrong has its place and a cure.

use glam::DVec3;
use markloft::flow::{Plan, Profile, Section, Shape};
use markloft::spec::{Problem, read};
use std::cell::RefCell;
use std::collections::BTreeMap;

/// Files beside the spec, and how often each was opened.
struct Folder {
    files: BTreeMap<&'static str, Vec<u8>>,
    opened: RefCell<Vec<String>>,
}

impl Folder {
    fn of(files: &[(&'static str, &[u8])]) -> Self {
        let files = files.iter().map(|&(name, bytes)| (name, bytes.to_vec())).collect();
        Self { files, opened: RefCell::default() }
    }

    fn read(&self, text: &str) -> Result<Plan, Vec<Problem>> {
        let open = |name: &str| {
            self.opened.borrow_mut().push(name.to_owned());
            self.files.get(name).cloned().ok_or_else(|| "there is no such file or folder".to_owned())
        };
        read("a.yaml", text.as_bytes(), &open)
    }
}

fn spec(parts: &str) -> String {
    format!(
        "markloft: 1\nscales: [1/72, 1/48, 1/35, 1/32, 1/24]\nparts:\n{parts}\n  s: {{shape: {{sphere: {{diameter: 1 m}}}}}}\nmarkings:\n  m: {{part: s, colour: \"#000000\", draw: {{disc: {{diameter: 1 mm}}}}}}\n"
    )
}

fn shape(folder: &Folder, words: &str) -> Shape {
    let text = spec(&format!("  p: {{shape: {words}}}"));
    folder.read(&text).unwrap_or_else(|problems| panic!("{problems:#?}")).parts.remove(0).shape
}

/// One mistake makes one problem: where the `▸` is or, with a name, in that file; with its text and its cure.
#[track_caller]
fn wrong(folder: &Folder, words: &str, place: &str, message: &str, help: &str) {
    let text = spec(&format!("  p: {{shape: {words}}}"));
    let own = text.find('▸').map(|at| {
        let line = text[..at].matches('\n').count() + 1;
        let column = text[..at].rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        format!("a.yaml:{line}:{column}")
    });
    let problems = folder.read(&text.replace('▸', "")).expect_err("a mistake");
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert!(problems[0].message.contains(message), "message: {}", problems[0].message);
    assert!(problems[0].help.contains(help), "help: {}", problems[0].help);
    assert_eq!(
        problems[0].place.to_string(),
        own.unwrap_or_else(|| place.to_owned()),
        "{}",
        problems[0].message
    );
}

const TETRAHEDRON: &[u8] = b"v 0 0 0\nv 200 0 0\nv 0 240 0\nv 0 0 230\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n";

#[test]
fn tables_stand_for_lists() {
    let folder = Folder::of(&[
        ("nose.csv", b"station (m),radius (cm)\n0,0\n0.4,31\n1.5,60\n"),
        ("path.csv", b"0,0,0\n1,0,0\n1,0,1\n"),
        ("cabin.csv", b"at (m);width (mm);height (mm);power;up (mm)\n0;900;1000;2;0\n2;1200;1400;2.5;40\n"),
        ("rib.csv", b"# a rib\n0 in,0 in\n10 in,0 in\n10 in,5 in\n"),
    ]);
    let same = |one: &str, two: &str| assert_eq!(shape(&folder, one), shape(&folder, two), "{one}");
    same(
        "{revolve: {profile: {file: nose.csv}}}",
        "{revolve: {profile: [[0 m, 0 m], [0.4 m, 31 cm], [1.5 m, 60 cm]]}}",
    );
    same(
        "{tube: {diameter: 5 cm, path: {file: path.csv, unit: m}, bend: 20 cm}}",
        "{tube: {diameter: 5 cm, path: [[0 m, 0 m, 0 m], [1 m, 0 m, 0 m], [1 m, 0 m, 1 m]], bend: 20 cm}}",
    );
    same(
        "{loft: {stations: {file: cabin.csv}}}",
        "{loft: {stations: [{at: 0 m, superellipse: {width: 900 mm, height: 1000 mm, power: 2}}, {at: 2 m, superellipse: {width: 1200 mm, height: 1400 mm, power: 2.5}, up: 40 mm}]}}",
    );
    same(
        "{extrude: {profile: {points: {file: rib.csv}}, length: 1 m}}",
        "{extrude: {profile: {points: [[0 in, 0 in], [10 in, 0 in], [10 in, 5 in]]}, length: 1 m}}",
    );
}

#[test]
fn drawings_come_to_shapes() {
    let none = Folder::of(&[]);
    let Shape::Extrude { profile: Profile::Naca { digits, .. }, .. } =
        shape(&none, "{extrude: {profile: {naca: 2412, chord: 1.8 m}, length: 4 m}}")
    else {
        panic!("a wing")
    };
    assert_eq!(digits, "2412");
    let Shape::Loft { stations } = shape(
        &none,
        "{loft: {stations: [{at: 0 m, circle: {diameter: 1 m}}, {at: 1 m, box: {width: 1 m, height: 2 m}, left: 5 cm, down: 2 cm}]}}",
    ) else {
        panic!("a loft")
    };
    assert!(matches!(stations[1].section, Section::Box { radius, .. } if radius.to_mm() == 0.0));
    assert_eq!(stations[1].centre.map(|c| c.to_mm()), [-50.0, -20.0]);
}

/// However many scales and parts there are, a file is opened once; axes, unit and scale are minded.
#[test]
fn a_mesh_is_read_once() {
    let folder = Folder::of(&[("t.obj", TETRAHEDRON)]);
    let words = "{shape: {mesh: {file: t.obj, unit: mm, size: 1/48, aft: +y, up: +z}}}";
    let plan = folder.read(&spec(&format!("  p: {words}\n  q: {words}"))).unwrap();
    assert_eq!(*folder.opened.borrow(), ["t.obj"]);
    let Shape::Mesh { soup, .. } = &plan.parts[1].shape else { panic!("a mesh") };
    // The file's +y is aft: its +x then is on the left of one who looks aft from the front, the part's left.
    assert_eq!(soup.points[1], DVec3::new(0.0, -9600.0, 0.0));
    assert_eq!(soup.points[2], DVec3::new(240.0 * 48.0, 0.0, 0.0));
}

#[test]
fn bad_profiles() {
    let folder = Folder::of(&[
        ("back.csv", b"station (mm),radius (mm)\n0,10\n20,10\n15,12\n"),
        ("bare.csv", b"0,10\n20,10\n"),
        ("cells.csv", b"0 mm,10 mm\n20 mm\n"),
    ]);
    let wrong =
        |words: &str, place: &str, message: &str, help: &str| wrong(&folder, words, place, message, help);
    wrong(
        "{revolve: {profile: [[0 mm, 10 mm], [20 mm, 10 mm], ▸[15 mm, 12 mm]]}}",
        "",
        "station 3 does not lie behind",
        "from the front aft",
    );
    wrong(
        "{revolve: {profile: [[0 mm, 10 mm], ▸[20 mm, -1 mm]]}}",
        "",
        "radius at point 2 is below 0",
        "from the axis",
    );
    wrong(
        "{revolve: {profile: [[0 mm, 10 mm], ▸[5 mm, 0 mm], [9 mm, 3 mm]]}}",
        "",
        "touches the axis at point 2",
        "first and last",
    );
    wrong("{revolve: {profile: ▸[[0 mm, 10 mm]]}}", "", "needs at least 2 points", "give more");
    wrong(
        "{revolve: {profile: {file: back.csv}}}",
        "back.csv:4:1",
        "station 3 does not lie behind",
        "from the front aft",
    );
    wrong(
        "{revolve: {profile: {file: ▸none.csv}}}",
        "",
        "`none.csv` cannot be read: there is no such file",
        "folder of the file",
    );
    wrong("{revolve: {profile: {file: cells.csv}}}", "cells.csv:2:1", "this row has 1 cell", "column 2");
    wrong(
        "{extrude: {profile: {points: [[0 mm, 0 mm], [9 mm, 9 mm], ▸[9 mm, 0 mm], [0 mm, 9 mm]]}, length: 1 m}}",
        "",
        "the line from point 1 crosses the one from point 3",
        "walks round",
    );
    wrong(
        "{extrude: {profile: {naca: ▸\"24x2\", chord: 1 m}, length: 1 m}}",
        "",
        "names no four-digit section",
        "camber",
    );
    wrong("{extrude: {▸profile: {naca: \"2412\"}, length: 1 m}}", "", "`chord` is missing", "nose to tail");
    wrong(
        "{extrude: {profile: {circle: {diameter: 1 m}, ▸ellipse: {width: 1 m, height: 2 m}}, length: 1 m}}",
        "",
        "`circle` and `ellipse` together",
        "one of the two",
    );
    wrong("{cone: {front: 0 mm, rear: ▸0 mm, length: 1 m}}", "", "two points is a line", "diameter");
    let problems = folder.read(&spec("  p: {shape: {revolve: {profile: {file: bare.csv}}}}")).unwrap_err();
    assert_eq!(problems.len(), 4, "every cell: {problems:#?}");
    assert!(problems[0].place.to_string() == "bare.csv:1:1" && problems[0].help.contains("`unit: mm`"));
}

#[test]
fn bad_lofts_and_tubes() {
    let folder = Folder::of(&[
        ("odd.csv", b"at (m),girth (m)\n0,1\n"),
        ("back.csv", b"at (m),diameter (m)\n0,1\n2,1\n1,1\n"),
    ]);
    let wrong =
        |words: &str, place: &str, message: &str, help: &str| wrong(&folder, words, place, message, help);
    let c = "circle: {diameter: 1 m}";
    wrong(
        &format!("{{loft: {{stations: [{{at: 2 m, {c}}}, ▸{{at: 1 m, {c}}}]}}}}"),
        "",
        "station 2 does not lie behind",
        "from the front aft",
    );
    wrong(&format!("{{loft: {{stations: [▸{{at: 2 m, {c}}}]}}}}"), "", "needs at least 2", "give more");
    wrong(
        &format!("{{loft: {{stations: [{{at: 0 m, {c}}}, ▸{{at: 1 m}}]}}}}"),
        "",
        "the section is missing",
        "`superellipse`",
    );
    wrong(
        &format!(
            "{{loft: {{stations: [{{at: 0 m, {c}}}, ▸{{at: 1 m, superellipse: {{width: 1 m, height: 1 m, power: 1.5}}}}]}}}}"
        ),
        "",
        "power 1.5 is outside",
        "below 2",
    );
    wrong(
        &format!(
            "{{loft: {{stations: [{{at: 0 m, {c}}}, ▸{{at: 1 m, box: {{width: 1 m, height: 1 m, radius: 60 cm}}}}]}}}}"
        ),
        "",
        "does not go into a box",
        "half",
    );
    wrong("{loft: {stations: {file: odd.csv}}}", "odd.csv:1:1", "no column `girth`", "`width` and `height`");
    wrong(
        "{loft: {stations: {file: back.csv}}}",
        "back.csv:4:1",
        "station 3 does not lie behind",
        "from the front aft",
    );
    wrong(
        "{tube: {diameter: 28 mm, path: ▸[[0 mm, 0 mm, 0 mm], [1 m, 0 m, 0 m], [1 m, 1 m, 0 m]]}}",
        "",
        "`bend` is missing",
        "bend: 56 mm",
    );
    wrong(
        "{tube: {diameter: 28 mm, bend: ▸10 mm, path: [[0 mm, 0 mm, 0 mm], [1 m, 0 m, 0 m], [1 m, 1 m, 0 m]]}}",
        "",
        "tighter than the tube's own radius",
        "centreline",
    );
    wrong(
        "{tube: {diameter: 28 mm, bend: 2 m, path: [▸[0 mm, 0 mm, 0 mm], [1 m, 0 m, 0 m], [1 m, 1 m, 0 m]]}}",
        "",
        "the bends at points 1 and 2 need",
        "bend tighter",
    );
}

#[test]
fn bad_meshes() {
    let mut nan = vec![0u8; 84];
    nan[80] = 1;
    nan.extend([0u8; 12]);
    nan.extend([f32::NAN; 9].iter().flat_map(|x| x.to_le_bytes()));
    nan.extend([0u8; 2]);
    let folder = Folder::of(&[
        ("helmet.obj", TETRAHEDRON),
        ("nan.stl", &nan),
        ("line.obj", b"v 0 0 0\nv 1 0 0\nv 2 0 0\nf 1 2 3\n"),
        ("text.obj", b"v 0 0 0\nv 1 x 0\n"),
        ("cut.stl", b"solid but no\n"),
        ("part.3mf", b"PK"),
    ]);
    let wrong = |words: &str, message: &str, help: &str| wrong(&folder, words, "", message, help);
    // A helmet 240 m wide.
    wrong(
        "{mesh: {file: helmet.obj, unit: ▸m, size: full}}",
        "comes out 240.000 m long at full size; in mm it would be 240.000 mm",
        "`unit: mm`",
    );
    wrong("{mesh: {file: helmet.obj, unit: mm, size: full, aft: +x, up: ▸-x}}", "two different axes", "");
    wrong(
        "{mesh: {file: helmet.obj, unit: mm, size: full, aft: ▸+w}}",
        "`+w` is no axis of the file",
        "`+x`",
    );
    wrong(
        "{mesh: {file: ▸nan.stl, unit: mm, size: full}}",
        "triangle 1 has a corner that is not a number",
        "",
    );
    wrong("{mesh: {file: ▸line.obj, unit: mm, size: full}}", "no triangle with an area", "");
    wrong("{mesh: {file: ▸text.obj, unit: mm, size: full}}", "`text.obj`: line 2", "");
    wrong("{mesh: {file: ▸cut.stl, unit: mm, size: full}}", "ends before its `endsolid`", "export it again");
    wrong("{mesh: {file: ▸part.3mf, unit: mm, size: full}}", "no mesh that is read here", "STL or OBJ");
    wrong("{mesh: {file: ▸gone.stl, unit: mm, size: full}}", "`gone.stl` cannot be read", "");
    wrong(
        "▸{mesh: {file: helmet.obj, size: full}}".replace("▸{mesh", "{▸mesh").as_str(),
        "`unit` is missing",
        "unit",
    );
}

#[test]
fn ends_that_are_not_there() {
    let none = Folder::of(&[]);
    let at = |shape: &str, from: &str| {
        let text = format!(
            "markloft: 1\nscales: [1/48]\nparts:\n  p: {{shape: {shape}}}\nmarkings:\n  m: {{part: p, colour: \"#000000\", draw: {{stripe: {{width: 1 cm, length: 5 cm}}}}, at: {{from: {from}}}, hold: front}}\n"
        );
        none.read(&text)
    };
    assert!(at("{cylinder: {diameter: 1 m, length: 2 m}}", "front").is_ok());
    for shape in [
        "{sphere: {diameter: 1 m}}",
        "{cone: {front: 0 m, rear: 1 m, length: 2 m}}",
        "{tube: {diameter: 1 cm, closed: true, bend: 5 cm, path: [[0 m, 0 m, 0 m], [1 m, 0 m, 0 m], [1 m, 1 m, 0 m]]}}",
    ] {
        let problems = at(shape, "front").unwrap_err();
        assert!(problems[0].message.contains("the part has no limit `front`"), "{problems:#?}");
    }
}
