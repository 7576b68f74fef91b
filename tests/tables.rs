//! Rows of a table as markings, and markings that meet on a part.

use markloft::batch::{self, Choice};
use markloft::flow::{Code, Draw, Outcome, Plan, Spot};
use markloft::spec::{self, Problem};

const HEAD: &str = "markloft: 1\nscales: 1/48\ncolours: {rescue-red: \"#c8321e\", bone: \"#efe9dc\"}\nparts:\n  boom: {shape: {cylinder: {diameter: 1 m, length: 6 m}}}\nmarkings:\n";

fn read(markings: &str, table: &str) -> Result<Plan, Vec<Problem>> {
    let open = |name: &str| match name {
        "stencils.csv" => Ok(table.as_bytes().to_vec()),
        _ => Err("there is no such file or folder".to_owned()),
    };
    spec::read("specs/a.yaml", format!("{HEAD}{markings}").as_bytes(), &open)
}

fn told(markings: &str, table: &str) -> Vec<String> {
    let problems = read(markings, table).unwrap_err();
    problems.iter().map(|problem| format!("{} {}", problem.place, problem.message)).collect()
}

const STENCILS: &str =
    "  stencils: {table: stencils.csv, part: boom, draw: {rectangle: {height: 2 in}}, colour: bone}\n";

#[test]
fn rows_become_markings_like_the_one_that_names_the_table() {
    let table = "name,width,station,around,copies,colour,note\n\
                 tow-here,9 in,1.2 m,left,4,,\"by the skid, \"\"both\"\" sides\"\n\
                 lift-here,7 in,2 m,right,,rescue-red,\n\
                 ,5 in,3 m,30 deg,,,\n";
    let plan = read(STENCILS, table).unwrap();
    let names: Vec<&str> = plan.markings.iter().map(|marking| marking.name.as_str()).collect();
    assert_eq!(names, ["tow-here", "lift-here", "stencils-3"]);
    let [tow, lift, third] = &plan.markings[..] else { panic!("three") };
    assert_eq!((tow.copies, lift.copies), (4, 1));
    assert_eq!(tow.note.as_deref(), Some("by the skid, \"both\" sides"));
    let drawn = |draw: &Draw| match draw {
        Draw::Rectangle { width, height, colour } => {
            (width.to_mm(), height.to_mm(), plan.colours[colour.0].name.clone())
        }
        other => panic!("{other:?}"),
    };
    let (width, height, colour) = drawn(&lift.draw);
    assert!((width - 177.8).abs() < 1e-9 && (height - 50.8).abs() < 1e-9);
    assert_eq!(colour, "rescue-red");
    assert_eq!(drawn(&tow.draw).2, "bone");
    let Spot::Station { station, around, .. } = third.spot else { panic!("a station") };
    assert!((station.to_mm() - 3000.0).abs() < 1e-9 && (around.to_degrees() - 30.0).abs() < 1e-9);
    assert_eq!(lift.at.to_string(), "specs/stencils.csv:3:1");
}

#[test]
fn a_table_may_choose_the_drawing_and_list_what_to_make() {
    let table = "name;draw;diameter;points;station;around;make;colour\n\
                 spot;disc;4 in;;1 m;top;decal+mask;bone\n\
                 star;star;9 in;5;2 m;top;;bone\n";
    let plan = read("  all: {table: stencils.csv, part: boom}\n", table).unwrap();
    assert!(matches!(&plan.markings[0].draw, Draw::Disc { .. }), "{:?}", plan.markings[0].draw);
    assert!(matches!(&plan.markings[1].draw, Draw::Star { points: 5, .. }), "{:?}", plan.markings[1].draw);
    assert_eq!(plan.markings[0].make.len(), 2);
}

/// What a column says is never dropped: where its section is no map, that is told.
#[test]
fn a_column_without_a_place_is_told() {
    let table = "name,width,station,hold.along\ntow-here,9 in,1.2 m,2 in\n";
    let found = told(&STENCILS.replace("colour: bone", "colour: bone, hold: front"), table);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert!(
        found[0].starts_with("specs/stencils.csv:2:21 `along` says nothing of this `hold`"),
        "{found:#?}"
    );
}

/// `no` is a word, and a note is a text whatever it looks like.
#[test]
fn cells_stay_as_they_are_written() {
    let table = "name,width,station,may_trim,note\ntow-here,9 in,1.2 m,no,70.950\n";
    let plan = read(STENCILS, table).unwrap();
    assert!(plan.markings[0].may_trim.is_empty());
    assert_eq!(plan.markings[0].note.as_deref(), Some("70.950"));
}

#[test]
fn every_mistake_in_a_table_is_told_at_its_cell() {
    let table = "name,width,station,around,copies\n\
                 tow-here,9,1.2 m,left,4\n\
                 lift-here,9 in,2 m,sideways,0\n\
                 tow-here,,3 m,left,1\n";
    let found = told(STENCILS, table);
    for wanted in [
        "specs/stencils.csv:2:10 `9` has no unit",
        "specs/stencils.csv:3:20 ",
        "specs/stencils.csv:3:29 `0` does not count anything",
        "specs/stencils.csv:4:1 two markings are called `tow-here`",
    ] {
        assert!(found.iter().any(|line| line.starts_with(wanted)), "{wanted}: {found:#?}");
    }
    let missing = told(STENCILS, "name,width,station\na,9 in,1 m\nb,,2 m\n");
    assert!(missing.iter().any(|line| line == "specs/stencils.csv:3:1 `width` is missing"), "{missing:#?}");
    let unknown = told(STENCILS, "name,width,widht,station\na,9 in,9 in,1 m\nb,9 in,9 in,2 m\n");
    assert!(
        unknown.iter().any(|line| line == "specs/stencils.csv:1:12 unknown word `widht`"),
        "{unknown:#?}"
    );
    let problems = [
        ("", "there is nothing in this table"),
        ("name,width\n", "a table of 0 rows and 2 columns"),
        ("name,name\na,b\n", "two columns are called `name`"),
        ("name,width\na,9 in,1 m\n", "a row of 3 cells under 2 columns"),
        ("name,note\na,\"b\n", "a quotation mark without its end"),
        ("\0", "this is a binary file, not a table"),
    ];
    for (table, wanted) in problems {
        let found = told(STENCILS, table);
        assert!(found.iter().any(|line| line.ends_with(wanted)), "{wanted}: {found:#?}");
    }
    let many = format!("name,width,station\n{}", "a,9 in,1 m\n".repeat(3001));
    assert!(told(STENCILS, &many)[0].contains("a table of 3001 rows and 3 columns"));
    assert!(told("  all: {table: lost.csv, part: boom}\n", "")[0].contains("`lost.csv` cannot be read"));
    assert!(told("  all: {table: [a], part: boom}\n", "")[0].contains("a table is a file"));
}

fn worked_out(markings: &str, table: &str) -> Outcome {
    batch::work_out(read(markings, table).unwrap(), &Choice::default()).unwrap()
}

fn clashes(outcome: &Outcome) -> Vec<String> {
    let findings = outcome.scales[0].findings.iter().filter(|finding| finding.code == Code::Clash);
    findings.map(|finding| format!("{} {}", finding.at, finding.text)).collect()
}

#[test]
fn markings_that_meet_are_told_unless_one_lies_over_the_other() {
    let two = |more: &str| {
        format!(
            "  band: {{part: boom, draw: {{band: {{width: 480 mm}}}}, colour: bone, lay: {{follow: {{ring: {{station: 2 m}}}}}}, copies: 2, make: [decal, mask]}}\n  \
             code: {{part: boom, draw: {{rectangle: {{width: 480 mm, height: 240 mm}}}}, colour: rescue-red, at: {{station: 2.24 m, around: left}}{more}}}\n  \
             far: {{part: boom, draw: {{disc: {{diameter: 480 mm}}}}, colour: bone, at: {{station: 4 m, around: left}}}}\n"
        )
    };
    let found = clashes(&worked_out(&two(""), ""));
    // Half of the rectangle lies on the band: 5 × 5 mm on the model.
    assert_eq!(
        found,
        ["specs/a.yaml:8:3 `code` meets `band` on `boom`: 25 mm² of film lies double, 50 % of `code`"]
    );
    let asked = worked_out(&two(", over: band"), "");
    assert_eq!(clashes(&asked), [""; 0]);
    // Beside one another, edge to edge.
    let beside = "  one: {part: boom, draw: {rectangle: {width: 1 m, height: 30 cm}}, colour: bone, at: {station: 1 m, around: left}}\n  \
                  two: {part: boom, draw: {rectangle: {width: 1 m, height: 50 cm}}, colour: bone, at: {station: 2 m, around: left}}\n";
    assert_eq!(clashes(&worked_out(beside, "")), [""; 0]);
}

#[test]
fn what_lies_over_is_put_down_later() {
    let disc = |name: &str, more: &str| {
        format!(
            "  {name}: {{part: boom, draw: {{disc: {{diameter: 20 cm}}}}, colour: bone, at: {{station: 2 m}}{more}}}\n"
        )
    };
    let three = disc("top", ", over: [middle, low]") + &disc("middle", ", over: low") + &disc("low", "");
    let outcome = worked_out(&three, "");
    let order: Vec<&str> = outcome.scales[0]
        .pieces
        .iter()
        .map(|piece| outcome.plan.markings[piece.marking.0].name.as_str())
        .collect();
    assert_eq!(order, ["low", "middle", "top"]);
    let wrong = |over: [&str; 3]| {
        told(&(disc("a", over[0]) + &disc("b", over[1]) + &disc("c", over[2])), "").join("; ")
    };
    assert!(wrong([", over: b", ", over: a", ""]).contains("lies over what lies over it"));
    assert!(wrong([", over: a", "", ""]).contains("`a` cannot lie over itself"));
    assert!(wrong([", over: d", "", ""]).contains("no marking is called `d`"));
}
