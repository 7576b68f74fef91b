//! The contract's part about the cutting room: what a machine cuts and what comes off the roll.
//!
//! Units and rounding are those of the whole contract; angles are degrees, to 2 places.

use super::{file, mm};
use crate::flow;
use crate::flow::{Home, Job, Outcome, ScaleOutcome};
use crate::outline::number::rounded;
use crate::units::Angle;
use serde::Serialize;

/// One sheet as a machine cuts it.
#[derive(Clone, Debug, Serialize)]
pub struct Cut {
    /// SVG file of the sheet that is cut, as in `sheets`.
    pub sheet: String,
    /// Its files: `.cut.svg` for drawing programs, `.dxf` for cutting programs, `.plt` for the machine itself.
    pub files: Vec<String>,
    /// Their layers in the order they are run: `register`, `kiss`, `weed`, `through`.
    pub tools: Vec<&'static str>,
    /// Way with the blade down, lead-ins, overcut and swivels included.
    pub cut_mm: f64,
    /// Way between cuts.
    pub travel_mm: f64,
    /// An estimate, to 1 place.
    pub seconds: f64,
}

/// Tape to cut off the roll.
#[derive(Clone, Debug, Serialize)]
pub struct Tape {
    /// The same list as CSV.
    pub file: String,
    pub strips: Vec<Strip>,
}

/// Strips of one kind.
#[derive(Clone, Debug, Serialize)]
pub struct Strip {
    /// Numbers of the pieces they belong to.
    pub pieces: Vec<u32>,
    /// The marking's name in the spec.
    pub marking: String,
    /// What of the marking it is: `stripe`, `rectangle`, `border`, or `edge` where tape only masks one.
    pub what: String,
    /// Its name; absent of what only masks.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub colour: Option<String>,
    /// Width of the stripe that it makes, alone or with others.
    pub wanted_mm: f64,
    /// Its own width, as stocked.
    pub width_mm: f64,
    /// Of all strips of the stripe, side by side; where there is one, its own width.
    pub together_mm: f64,
    /// How many of this kind lie side by side in each piece.
    pub side_by_side: u32,
    /// How many are cut for all pieces.
    pub count: usize,
    /// From end to end as it lies, along its middle.
    pub length_mm: f64,
    /// To cut off the roll: with trim at both ends.
    pub cut_length_mm: f64,
    /// Between the strip's edge and its cut end, start and finish; 90 is square.
    pub ends_deg: [f64; 2],
    /// For what is wound round a rod; absent elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub helix: Option<Helix>,
}

/// Tape wound round a rod.
#[derive(Clone, Debug, Serialize)]
pub struct Helix {
    /// Along the rod in one turn.
    pub pitch_mm: f64,
    /// To the rings round the rod.
    pub rise_deg: f64,
    /// To 4 places.
    pub turns: f64,
    /// Bare rod between neighbouring turns, square to the tape; negative where they lap.
    pub gap_mm: f64,
    /// The pitch that leaves as much bare as it covers; absent where no pitch does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub equal_pitch_mm: Option<f64>,
}

pub(super) fn cut(home: Home, job: &Job) -> Cut {
    Cut {
        sheet: file(home, &format!("{}.svg", job.stem)),
        files: job.files().iter().map(|name| file(home, name)).collect(),
        tools: job.runs.iter().map(|run| run.tool.word()).collect(),
        cut_mm: mm(job.cut),
        travel_mm: mm(job.travel),
        seconds: rounded(job.seconds, 1),
    }
}

pub(super) fn tape(outcome: &Outcome, at: &ScaleOutcome) -> Option<Tape> {
    let strips: Vec<Strip> = at.tape.iter().map(|each| strip(outcome, each)).collect();
    (!strips.is_empty()).then(|| Tape { file: file(Home::Scale(at.scale), ScaleOutcome::TAPE_LIST), strips })
}

fn strip(outcome: &Outcome, strip: &flow::Strip) -> Strip {
    let plan = &outcome.plan;
    Strip {
        pieces: strip.pieces.clone(),
        marking: plan.markings[strip.marking.0].name.clone(),
        what: strip.what.clone(),
        colour: strip.colour.map(|colour| plan.colours[colour.0].name.clone()),
        wanted_mm: mm(strip.wanted),
        width_mm: mm(strip.width),
        together_mm: mm(strip.together),
        side_by_side: strip.each,
        count: strip.count(),
        length_mm: mm(strip.length),
        cut_length_mm: mm(strip.cut_length),
        ends_deg: strip.ends.map(degrees),
        helix: strip.helix.map(|turns| Helix {
            pitch_mm: mm(turns.pitch),
            rise_deg: degrees(turns.rise),
            turns: rounded(turns.turns, 4),
            gap_mm: mm(turns.gap),
            equal_pitch_mm: turns.equal_pitch.map(mm),
        }),
    }
}

fn degrees(angle: Angle) -> f64 {
    rounded(angle.to_degrees(), 2)
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::super::json;
    use super::*;
    use crate::units::{Length, Model};
    use serde_json::Value;

    #[test]
    fn what_a_machine_cuts_and_what_comes_off_the_roll_is_listed() {
        let mut outcome = fixture::outcome();
        let at = &mut outcome.scales[0];
        let mm = Length::<Model>::mm;
        at.jobs = vec![flow::Job {
            stem: "decal-1".into(),
            page: at.sheets[0].page,
            runs: vec![flow::Run {
                tool: flow::Tool::Through,
                lead_in: vec![],
                strokes: vec![],
                speed: Length::mm(10.0),
            }],
            cut: mm(512.25),
            travel: mm(80.0),
            offset: Length::ZERO,
            speed: mm(30.0),
            seconds: 20.26,
        }];
        at.tape = vec![flow::Strip {
            pieces: vec![2, 3],
            marking: flow::MarkingId(1),
            colour: Some(flow::ColourId(1)),
            what: "stripe".into(),
            wanted: mm(6.05),
            width: mm(3.0),
            each: 2,
            together: mm(6.0),
            length: mm(50.0),
            cut_length: mm(56.0),
            ends: [90.0, 26.75].map(Angle::degrees),
            helix: None,
        }];
        let read: Value = serde_json::from_str(&json(&outcome)).unwrap();
        let at = &read["scales"][0];
        let cut = &at["cuts"][0];
        assert_eq!(cut["sheet"], at["sheets"][0]["file"]);
        let files = ["1-48/decal-1.cut.svg", "1-48/decal-1.dxf", "1-48/decal-1.plt"];
        assert_eq!(cut["files"], Value::from(files.to_vec()));
        assert_eq!(cut["tools"], Value::from(vec!["through"]));
        assert_eq!([&cut["cut_mm"], &cut["travel_mm"], &cut["seconds"]], [512.25, 80.0, 20.3]);
        assert_eq!(at["tape"]["file"], "1-48/tape.csv");
        let strip = &at["tape"]["strips"][0];
        for (field, wanted) in [
            ("pieces", Value::from(vec![2, 3])),
            ("marking", "crown-stripe".into()),
            ("what", "stripe".into()),
            ("colour", "bone".into()),
            ("wanted_mm", 6.05.into()),
            ("width_mm", 3.0.into()),
            ("together_mm", 6.0.into()),
            ("side_by_side", 2.into()),
            ("count", 4.into()),
            ("length_mm", 50.0.into()),
            ("cut_length_mm", 56.0.into()),
            ("ends_deg", vec![90.0, 26.75].into()),
        ] {
            assert_eq!(strip[field], wanted, "{field}");
        }
        assert_eq!(strip.get("helix"), None);
    }
}
