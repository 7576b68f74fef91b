//! report.json: the contract with other programs, version 1.
//!
//! The structures below *are* the contract, field by field in the order they are
//! written. Lengths are millimetres of the model unless a name says `full_size`;
//! shares and strains are fractions of 1 (0.01 is one per cent), squeezes
//! negative. Lengths are rounded to 4 places, strains to 6, shares to 4, so that
//! the same spec gives the same bytes. A field that does not apply to a piece is
//! absent, never zero: a piece that is laid flat on its part has no `seam_mm`.
//!
//! Fields may be added within a version; a field that changes its meaning, its
//! unit or its name makes a new one.

mod cutting;
mod pretty;

pub use cutting::{Cut, Helix, Strip, Tape};

use super::film_use;
use crate::flow;
use crate::flow::{Finding, Home, Kept, Outcome, ScaleOutcome};
use crate::outline::Point;
use crate::outline::number::{rounded, short};
use crate::units::{Length, Model, Size, World};
use serde::Serialize;
use serde_json::Value;

/// The version of this contract.
pub const VERSION: u32 = 1;

/// The whole report.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// [`VERSION`].
    pub markloft: u32,
    /// The spec's file stem, which also names its folder of results.
    pub spec: String,
    pub title: String,
    /// Of all scales together.
    pub summary: Summary,
    /// In the order of the spec.
    pub scales: Vec<Scale>,
    /// What scales share; absent where each has sheets of its own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub together: Option<Together>,
}

/// Sheets that scales share: pieces are numbered on from scale to scale, so that a number means one of them.
#[derive(Clone, Debug, Serialize)]
pub struct Together {
    pub sheets: Vec<Sheet>,
    /// How much of each film that takes.
    pub film: Vec<FilmUse>,
    /// The sheets as a machine cuts them; absent where the spec has no `cutter`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cuts: Vec<Cut>,
    /// What belongs to no single scale.
    pub findings: Vec<Found>,
}

/// How many of what, for a script's one line.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Summary {
    pub pieces: usize,
    pub sheets: usize,
    /// Pieces by verdict.
    pub fits: usize,
    pub trim: usize,
    pub oversize: usize,
    /// Findings by severity.
    pub errors: usize,
    pub warnings: usize,
    pub notes: usize,
}

/// What was made at one scale.
#[derive(Clone, Debug, Serialize)]
pub struct Scale {
    /// `1/48`, or `full`.
    pub scale: String,
    /// By number.
    pub pieces: Vec<Piece>,
    /// Empty where no piece goes on a sheet, or where scales share theirs.
    pub sheets: Vec<Sheet>,
    /// How much of each film that takes; absent where no sheet is laid out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub film: Vec<FilmUse>,
    /// The sheets as a machine cuts them; absent where the spec has no `cutter`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cuts: Vec<Cut>,
    /// Tape to cut off the roll; absent where nothing is made of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tape: Option<Tape>,
    /// What belongs to no single piece.
    pub findings: Vec<Found>,
}

/// One film, of one scale or of the sheets that scales share: sheets that are begun count whole.
#[derive(Clone, Debug, Serialize)]
pub struct FilmUse {
    /// `decal` or `mask`.
    pub make: &'static str,
    pub sheets: usize,
    /// Area of whole sheets, mm².
    pub area_mm2: f64,
    /// Area under pieces, mm².
    pub used_mm2: f64,
    /// Film used by pieces over film between the margins.
    pub used_share: f64,
    pub pieces: usize,
    /// Of these, spares.
    pub spare_pieces: usize,
    /// Price of a sheet as the spec states it, times sheets; absent where it states none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<String>,
}

/// One bit of film, mask or tape.
#[derive(Clone, Debug, Serialize)]
pub struct Piece {
    /// From 1 within a scale, on through all of them where they share sheets; printed beside the piece on its sheet.
    pub number: u32,
    /// The marking's name in the spec.
    pub marking: String,
    /// From 1.
    pub copy: u32,
    /// One more than is wanted, in case another is spoilt; absent of all others.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub spare: bool,
    /// Of a piece that was split for its sheet: which part it is, `a`, `b`, …
    #[serde(skip_serializing_if = "Option::is_none")]
    pub section: Option<String>,
    /// The part's name in the spec.
    pub part: String,
    /// `decal`, `mask` or `tape`.
    pub make: &'static str,
    /// `drape`, `sight`, or `follow` and the line: `follow ring`, `section`, `helix`, `run`, `line`, `along`, `through`.
    pub lay: &'static str,
    /// `fits`, `trim` (runs past a limit only where it may be trimmed) or `oversize`.
    pub verdict: &'static str,
    /// How the film lies down: `flat` (as it is), `softened`, `cut` (with relief cuts) or `no`.
    pub lies: &'static str,
    /// Full-size box of the marking as drawn, `[along the heading, across]`, millimetres of the real thing; of what
    /// goes round a part, of one repeat.
    pub full_size_mm: [f64; 2],
    /// Box of the flat piece's artwork, `[along the heading, across]`; no bleed, overlap or border.
    pub size_mm: [f64; 2],
    /// For stripes and bands laid along a line: `[centreline length, width]`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub run_mm: Option<[f64; 2]>,
    /// Greatest way from film past a limit back to the trim line, along the flat piece.
    pub overhang_mm: f64,
    /// Area past a limit over the whole area.
    pub overhang_share: f64,
    /// The limits that the piece crosses, as lines `[[x, y], …]` on the flat piece: origin at the hold
    /// point, x along the heading, y to its left.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub trim: Vec<Vec<[f64; 2]>>,
    /// The greatest factor, at most 4, such that it and every smaller one fits, scaling about the hold point. Of a
    /// section that of the whole piece; of one laid by sight, seen whole.
    pub largest_fit: f64,
    /// For stripes: the greatest length that fits at true width.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub largest_length_mm: Option<f64>,
    /// The scale at which the full-size part would have the size the calipers found, `1/50.6173`;
    /// the piece's own scale where nothing was measured.
    pub effective_scale: String,
    /// Where a closed wrap meets itself, at the centreline: gap positive, overlap negative.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seam_mm: Option<f64>,
    /// How far the flat form may be off, of a bent line at its ends or an outline true as seen where it
    /// lands; absent where that is nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub miss_mm: Option<f64>,
    /// Share of the area that is not seen in the view it is drawn in; absent where all is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hidden_share: Option<f64>,
    pub strain: Strain,
    /// Cuts with which the piece lies down that otherwise would not; absent where it needs none, or none help.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub relief_cuts: Vec<ReliefCut>,
    /// The strain with those cuts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub relief_strain: Option<Strain>,
    /// File of the first sheet the piece is on; absent where it is on none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// Files of all its sheets, where it is on several: a mask of several colours.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sheets: Vec<String>,
    pub findings: Vec<Found>,
}

/// Principal stretches of the laid film less 1, weighted by flat area.
#[derive(Clone, Debug, Serialize)]
pub struct Strain {
    /// Greatest stretch, averaged over discs of radius √area/50.
    pub stretch_max: f64,
    /// 99th percentile of the greater principal stretch.
    pub stretch_p99: f64,
    /// Greatest squeeze after the same averaging; negative.
    pub squeeze_max: f64,
    /// 1st percentile of the lesser principal stretch; negative.
    pub squeeze_p99: f64,
    /// Mean of the greater of the two amounts.
    pub mean_abs: f64,
    /// How much any of these may still change with a finer mesh; 0 where the part unrolls exactly.
    pub estimate: f64,
}

/// One relief cut, on the flat piece: coordinates as in `trim`.
#[derive(Clone, Debug, Serialize)]
pub struct ReliefCut {
    /// From 1; printed beside the cut.
    pub number: u32,
    /// `slit` (one line, lips lap), `dart` (a wedge is taken out) or `gore` (darts that leave petals).
    pub kind: &'static str,
    /// From its mouth on the outline to its tip.
    pub line: Vec<[f64; 2]>,
    /// How far its lips lap on the part, a dart's width at its mouth; negative for a gap.
    pub lap_mm: f64,
    /// Corners of the film taken out; absent for a slit.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub taken_out: Vec<[f64; 2]>,
}

/// One thing that was found.
#[derive(Clone, Debug, Serialize)]
pub struct Found {
    /// A word that `explain` takes.
    pub code: &'static str,
    /// `error`, `warning` or `note`.
    pub severity: &'static str,
    /// With numbers and units.
    pub text: String,
    /// A way out.
    pub help: String,
    /// `file:line:column` in the spec, both from 1.
    pub at: String,
}

/// One page.
#[derive(Clone, Debug, Serialize)]
pub struct Sheet {
    /// SVG file, as from the folder of the report; the PNG lies beside it under the same name.
    pub file: String,
    /// `[width, height]`.
    pub page_mm: [f64; 2],
    /// `decal`, `mask` or `tape`.
    pub make: &'static str,
    /// Scales of its pieces; absent where a scale has sheets of its own.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub scales: Vec<String>,
    /// For mask sheets: the name of the colour sprayed through it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub colour: Option<String>,
    /// What the spec says to buy or mix for it, and to mind.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub paint: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// For mask sheets: the spraying step, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<u32>,
    /// Numbers of the pieces on it.
    pub pieces: Vec<u32>,
    /// Film used by pieces over film between the margins.
    pub used_share: f64,
}

/// report.json as text, ending in a line feed. Keys in the order of the contract, numbers' arrays on one line.
pub fn json(outcome: &Outcome) -> String {
    let mut text = String::new();
    pretty::pretty(&value(outcome), 0, &mut text);
    text.push('\n');
    text
}

/// report.json on one line, for those who read one line at a time.
pub fn line(outcome: &Outcome) -> String {
    format!("{}\n", value(outcome))
}

/// report.json as a value.
fn value(outcome: &Outcome) -> Value {
    // Every key is a field name and every number finite or null: nothing here can fail.
    serde_json::to_value(report(outcome)).unwrap_or(Value::Null)
}

/// The contract's structures, filled.
fn report(outcome: &Outcome) -> Report {
    Report {
        markloft: VERSION,
        spec: outcome.plan.name.clone(),
        title: outcome.plan.title.clone(),
        summary: summary(outcome),
        scales: outcome.scales.iter().map(|at| scale(outcome, at)).collect(),
        together: outcome.plan.sheets.gang.then(|| together(outcome)),
    }
}

fn together(outcome: &Outcome) -> Together {
    let flow::Together { jobs, findings, .. } = &outcome.together;
    Together {
        sheets: outcome.shared_sheets().map(|kept| sheet(outcome, kept)).collect(),
        film: film_use::shared(outcome).iter().map(film).collect(),
        cuts: jobs.iter().map(|job| cutting::cut(Home::Together, job)).collect(),
        findings: findings.iter().map(found).collect(),
    }
}

fn summary(outcome: &Outcome) -> Summary {
    let pieces = || outcome.scales.iter().flat_map(|at| &at.pieces);
    let verdict = |verdict: flow::Verdict| pieces().filter(|piece| piece.verdict == verdict).count();
    let found = |severity: flow::Severity| {
        outcome.all_findings().filter(|finding| finding.severity == severity).count()
    };
    Summary {
        pieces: pieces().count(),
        sheets: outcome.sheets().count(),
        fits: verdict(flow::Verdict::Fits),
        trim: verdict(flow::Verdict::Trim),
        oversize: verdict(flow::Verdict::Oversize),
        errors: found(flow::Severity::Error),
        warnings: found(flow::Severity::Warning),
        notes: found(flow::Severity::Note),
    }
}

fn scale(outcome: &Outcome, at: &ScaleOutcome) -> Scale {
    Scale {
        scale: at.scale.to_string(),
        pieces: at.pieces.iter().map(|each| piece(outcome, at, each)).collect(),
        sheets: at.own_sheets().map(|kept| sheet(outcome, kept)).collect(),
        film: film_use::of_scale(outcome, at).iter().map(film).collect(),
        cuts: at.jobs.iter().map(|job| cutting::cut(Home::Scale(at.scale), job)).collect(),
        tape: cutting::tape(outcome, at),
        findings: at.findings.iter().map(found).collect(),
    }
}

fn film(of: &super::film_use::FilmUse) -> FilmUse {
    FilmUse {
        make: of.make.word(),
        sheets: of.sheets,
        area_mm2: rounded(of.area, 2),
        used_mm2: rounded(of.used, 2),
        used_share: rounded(of.used_share, 4),
        pieces: of.pieces,
        spare_pieces: of.spares,
        cost: of.cost.clone(),
    }
}

fn piece(outcome: &Outcome, at: &ScaleOutcome, piece: &flow::Piece) -> Piece {
    let marking = &outcome.plan.markings[piece.marking.0];
    let part = &outcome.plan.parts[piece.part.0];
    let fit = &*piece.fit;
    let on: Vec<String> = outcome.sheets_with(at, piece.number).map(drawing).collect();
    Piece {
        number: piece.number,
        marking: marking.name.clone(),
        copy: piece.copy,
        spare: outcome.plan.is_spare(piece),
        section: piece.section.map(flow::Portion::letter),
        part: part.name.clone(),
        make: piece.make.word(),
        lay: marking.lay.word(),
        verdict: piece.verdict.word(),
        lies: piece.lies.word(),
        full_size_mm: size(piece.full_size),
        size_mm: size(fit.size),
        run_mm: fit.run.map(size),
        overhang_mm: mm(fit.overhang),
        overhang_share: rounded(fit.overhang_share, 4),
        trim: fit.trim.iter().map(|line| line.iter().copied().map(corner).collect()).collect(),
        largest_fit: rounded(fit.largest_fit, 4),
        largest_length_mm: fit.largest_length.map(mm),
        effective_scale: format!("1/{}", short(piece.effective_scale.denominator(), 4)),
        seam_mm: fit.seam.as_ref().map(|seam| mm(seam.gap)),
        miss_mm: Some(mm(fit.miss)).filter(|&miss| miss > 0.0),
        hidden_share: Some(rounded(fit.hidden_share, 4)).filter(|&share| share > 0.0),
        strain: strain(&fit.strain),
        relief_cuts: fit.relief.as_ref().map_or_else(Vec::new, relief_cuts),
        relief_strain: fit.relief.as_ref().map(|relief| strain(&relief.strain)),
        sheet: on.first().cloned(),
        sheets: if on.len() > 1 { on } else { Vec::new() },
        findings: piece.findings.iter().map(found).collect(),
    }
}

/// A file, as from the report's own folder.
fn file(home: Home, name: &str) -> String {
    format!("{}/{name}", home.folder())
}

/// The drawing of a sheet.
fn drawing(kept: Kept) -> String {
    file(kept.home, &format!("{}.svg", kept.sheet.stem))
}

fn strain(strain: &flow::Strain) -> Strain {
    let places = |value| rounded(value, 6);
    Strain {
        stretch_max: places(strain.stretch_max),
        stretch_p99: places(strain.stretch_p99),
        squeeze_max: places(strain.squeeze_max),
        squeeze_p99: places(strain.squeeze_p99),
        mean_abs: places(strain.mean_abs),
        estimate: places(strain.estimate),
    }
}

fn relief_cuts(relief: &flow::Relief<Model>) -> Vec<ReliefCut> {
    let corners = |line: &[Point]| line.iter().copied().map(corner).collect();
    let cut = |cut: &flow::ReliefCut<Model>| ReliefCut {
        number: cut.number,
        kind: if cut.out.is_empty() { flow::CutKind::Slit.word() } else { relief.kind.word() },
        line: corners(&cut.line),
        lap_mm: mm(cut.lap),
        taken_out: corners(&cut.out),
    };
    relief.cuts.iter().map(cut).collect()
}

fn found(finding: &Finding) -> Found {
    Found {
        code: finding.code.word(),
        severity: finding.severity.word(),
        text: finding.text.clone(),
        help: finding.help.clone(),
        at: finding.at.to_string(),
    }
}

fn sheet(outcome: &Outcome, kept: Kept) -> Sheet {
    let sheet = kept.sheet;
    Sheet {
        file: drawing(kept),
        scales: match kept.home {
            Home::Scale(_) => Vec::new(),
            Home::Together => sheet.scales.iter().map(ToString::to_string).collect(),
        },
        page_mm: size(sheet.page),
        make: sheet.make.word(),
        colour: sheet.colour.map(|colour| outcome.plan.colours[colour.0].name.clone()),
        paint: sheet.colour.and_then(|colour| outcome.plan.colours[colour.0].paint.clone()),
        note: sheet.colour.and_then(|colour| outcome.plan.colours[colour.0].note.clone()),
        step: sheet.step,
        pieces: sheet.pieces.clone(),
        used_share: rounded(sheet.used_share, 4),
    }
}

fn mm<W: World>(length: Length<W>) -> f64 {
    rounded(length.to_mm(), 4)
}

fn size<W: World>(size: Size<W>) -> [f64; 2] {
    [mm(size.width), mm(size.height)]
}

fn corner(p: Point) -> [f64; 2] {
    [rounded(p.x, 4), rounded(p.y, 4)]
}

#[cfg(test)]
mod tests {
    use super::super::fixture;
    use super::*;
    use std::sync::Arc;

    fn read(outcome: &Outcome) -> Value {
        serde_json::from_str(&json(outcome)).unwrap()
    }

    #[test]
    fn the_contract_field_by_field() {
        let read = read(&fixture::outcome());
        assert_eq!(read["markloft"], 1);
        assert_eq!(read["spec"], "harrow-tarn");
        assert_eq!(read["title"], "Harrow Tarn Air Rescue, crew and door");
        let sum = &read["summary"];
        assert_eq!((&sum["pieces"], &sum["sheets"]), (&Value::from(4), &Value::from(1)));
        assert_eq!([&sum["fits"], &sum["trim"], &sum["oversize"]], [2, 1, 1].map(Value::from).each_ref());
        assert_eq!([&sum["errors"], &sum["warnings"], &sum["notes"]], [1, 2, 0].map(Value::from).each_ref());
        let at = &read["scales"][0];
        assert_eq!(at["scale"], "1/48");
        let stripe = &at["pieces"][1];
        for (field, wanted) in [
            ("number", Value::from(2)),
            ("marking", "crown-stripe".into()),
            ("copy", 1.into()),
            ("part", "helmet".into()),
            ("make", "decal".into()),
            ("lay", "drape".into()),
            ("verdict", "trim".into()),
            ("lies", "flat".into()),
            // 560 × 40 mm; at 1/48 11.6667 × 0.8333.
            ("full_size_mm", vec![560.0, 40.0].into()),
            ("size_mm", vec![11.6667, 0.8333].into()),
            ("run_mm", vec![11.6667, 0.8333].into()),
            ("sheet", "1-48/decal-1.svg".into()),
        ] {
            assert_eq!(stripe[field], wanted, "{field}");
        }
        // The rim, z = −60, is 125 acos(−60/125) = 258.92 mm from the crown; the stripe's half is 280.
        let rim = 125.0 * libm::acos(-60.0 / 125.0);
        let near = |field: &str, wanted: f64| {
            let found = stripe[field].as_f64().unwrap();
            assert!((found - wanted).abs() <= 5.1e-5, "{field}: {found}, not {wanted}");
        };
        near("overhang_mm", (280.0 - rim) / 48.0);
        near("overhang_share", (280.0 - rim) / 560.0);
        near("largest_fit", 2.0 * rim / 560.0);
        near("largest_length_mm", 2.0 * rim / 48.0);
        assert_eq!(stripe["trim"][0].as_array().unwrap().len(), 2);
        assert_eq!(stripe["strain"]["squeeze_p99"], -0.012);
        let finding = &at["pieces"][0]["findings"][0];
        assert_eq!(finding["code"], "oversize");
        assert_eq!(finding["severity"], "error");
        assert_eq!(finding["at"], "harrow-tarn.yaml:12:3");
        assert_eq!(at["pieces"][0]["strain"]["mean_abs"], 0.061235, "strains to six places");
        let sheet = &at["sheets"][0];
        assert_eq!(sheet["file"], "1-48/decal-1.svg");
        assert_eq!(sheet["page_mm"], Value::from(vec![210.0, 297.0]));
        assert_eq!(sheet["pieces"], Value::from(vec![1, 2, 3, 4]));
        assert_eq!(sheet["used_share"], 0.1235);
        assert_eq!(at["findings"], Value::Array(Vec::new()));
    }

    #[test]
    fn what_does_not_apply_is_absent() {
        let read = read(&fixture::outcome());
        let roundel = read["scales"][0]["pieces"][2].as_object().unwrap();
        for field in ["run_mm", "trim", "largest_length_mm", "seam_mm", "sheets"] {
            assert!(!roundel.contains_key(field), "{field}");
        }
        let at = read["scales"][0].as_object().unwrap();
        assert!(!at.contains_key("cuts") && !at.contains_key("tape"));
        let sheet = read["scales"][0]["sheets"][0].as_object().unwrap();
        assert!(!sheet.contains_key("colour") && !sheet.contains_key("step"));
    }

    #[test]
    fn what_applies_is_there() {
        let mut outcome = fixture::outcome();
        let scale = outcome.scales[0].scale;
        let plan = Arc::make_mut(&mut outcome.plan);
        plan.parts[1].measured =
            vec![flow::Measured { scale, axes: Vec::new(), over: None, at: fixture::place(7) }];
        let at = &mut outcome.scales[0];
        Arc::make_mut(&mut at.pieces[2].fit).seam = Some(flow::Seam { gap: Length::mm(-0.8) });
        let mut second = at.sheets[0].clone();
        (second.stem, second.colour, second.step) = ("mask-2-bone".into(), Some(flow::ColourId(1)), Some(2));
        second.pieces = vec![3];
        at.sheets.push(second);
        let read = read(&outcome);
        let roundel = &read["scales"][0]["pieces"][2];
        assert_eq!(roundel["effective_scale"], "1/50.6173");
        assert_eq!(roundel["seam_mm"], -0.8, "an overlap is negative");
        assert_eq!(roundel["sheet"], "1-48/decal-1.svg");
        assert_eq!(roundel["sheets"], Value::from(vec!["1-48/decal-1.svg", "1-48/mask-2-bone.svg"]));
        let sheet = &read["scales"][0]["sheets"][1];
        assert_eq!((&sheet["colour"], &sheet["step"]), (&"bone".into(), &2.into()));
    }

    #[test]
    fn keys_keep_their_order_and_numbers_their_line() {
        let text = json(&fixture::outcome());
        let at = |key: &str| text.find(&format!("\"{key}\"")).unwrap_or_else(|| panic!("no {key}"));
        let keys = [
            "markloft", "spec", "title", "summary", "scales", "scale", "number", "marking", "copy", "verdict",
        ];
        assert!(keys.windows(2).all(|pair| at(pair[0]) < at(pair[1])));
        assert!(text.contains("\n          \"size_mm\": [4.5833,4.5833],\n"), "one line, two spaces a level");
        assert!(text.ends_with("}\n"));
        assert_eq!(text, json(&fixture::outcome()), "same bytes again");
    }
}
