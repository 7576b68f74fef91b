//! Specs × scales: reads files, fits in parallel, writes files whole or not at all.
//!
//! The only stage that touches files and threads. What is computed does not
//! depend on the number of threads: work is listed first, done in any order,
//! and put together in the order of the list.

use crate::check::{self, Case};
use crate::draw;
use crate::fit::{self, Asked, Moulded, Refusal};
use crate::flow::{
    Code, Finding, Fit, Make, Marking, MarkingId, Outcome, Piece, Plan, Relief, ScaleOutcome, Severity, Sheet,
};
use crate::units::{Dpi, Full, Length, Model, Scale};
use crate::{report, sheet, spec, write};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The largest spec file that is read, bytes. A page of YAML is 5 kB; tables come from other files.
pub const MOST_BYTES: u64 = 4 << 20;

/// Why a spec came to nothing.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The spec is wrong, in as many places as listed.
    #[error("{} problem{} in the spec", .0.len(), if .0.len() == 1 { "" } else { "s" })]
    Spec(Vec<spec::Problem>),
    /// A file could not be read or written.
    #[error("{path}: {what}")]
    File { path: String, what: String, help: &'static str },
    /// An option does not go with this spec.
    #[error("{0}")]
    Usage(String),
}

impl Failure {
    fn read(path: &Path, error: &io::Error) -> Self {
        let help = "name a spec file that may be read, or `-` for standard input";
        Self::File { path: path.display().to_string(), what: words(error), help }
    }

    fn written(path: &Path, error: &io::Error) -> Self {
        let help = "choose a folder that may be written, with room in it: `--out FOLDER`";
        Self::File {
            path: path.display().to_string(),
            what: format!("cannot be written: {}", words(error)),
            help,
        }
    }
}

/// What went wrong with a file, as a person would say it.
fn words(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::IsADirectory => "this is a folder, not a file".to_owned(),
        io::ErrorKind::NotADirectory => "a part of this path is a file, not a folder".to_owned(),
        io::ErrorKind::StorageFull => "the disk is full; nothing was changed".to_owned(),
        _ => error.to_string(),
    }
}

/// What to take from a spec.
#[derive(Clone, Debug, Default)]
pub struct Choice {
    /// These scales instead of the spec's own.
    pub scales: Vec<Scale>,
    /// Only these markings.
    pub only: Vec<String>,
}

/// Reads and resolves a spec; `-` is standard input.
pub fn load(path: &str) -> Result<Plan, Failure> {
    let (bytes, folder) = if path == "-" {
        (read_limited(&mut io::stdin().lock(), Path::new("standard input"))?, PathBuf::from("."))
    } else {
        let path = Path::new(path);
        (read_file(path)?, path.parent().unwrap_or(Path::new(".")).to_owned())
    };
    let name = if path == "-" { "stdin.yaml" } else { path };
    spec::read(name, &bytes, &|used| open_used(&folder, used)).map_err(Failure::Spec)
}

/// Resolves a spec that is part of the program.
pub fn load_embedded(name: &str, text: &str) -> Result<Plan, Failure> {
    let none = |_: &str| Err("a built-in spec uses no other files".to_owned());
    spec::read(name, text.as_bytes(), &none).map_err(Failure::Spec)
}

fn read_file(path: &Path) -> Result<Vec<u8>, Failure> {
    let mut file = fs::File::open(path).map_err(|error| Failure::read(path, &error))?;
    let kind = file.metadata().map_err(|error| Failure::read(path, &error))?;
    if kind.is_dir() {
        return Err(Failure::File {
            path: path.display().to_string(),
            what: "this is a folder".to_owned(),
            help: "name a spec file in it",
        });
    }
    read_limited(&mut file, path)
}

fn read_limited(source: &mut dyn Read, path: &Path) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    source.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| Failure::read(path, &error))?;
    if bytes.len() as u64 > MOST_BYTES {
        let what = format!("larger than the {} MiB that a spec may have", MOST_BYTES >> 20);
        let help = "put what several specs share into files of its own and name them with `use`";
        return Err(Failure::File { path: path.display().to_string(), what, help });
    }
    Ok(bytes)
}

/// Reads a file that a spec uses: from below the spec's own folder, links followed before that is checked.
fn open_used(folder: &Path, name: &str) -> Result<Vec<u8>, String> {
    let home = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let home = home.canonicalize().map_err(|error| words(&error))?;
    let path = home.join(name).canonicalize().map_err(|error| words(&error))?;
    if !path.starts_with(&home) {
        return Err("it lies outside the spec's folder".to_owned());
    }
    read_file(&path).map_err(|failure| failure.to_string())
}

/// Fits, checks and lays out everything a plan asks for.
pub fn work_out(mut plan: Plan, choice: &Choice) -> Result<Outcome, Failure> {
    if !choice.scales.is_empty() {
        plan.scales.clear();
        for &scale in &choice.scales {
            // Asked for twice, made once.
            if !plan.scales.contains(&scale) {
                plan.scales.push(scale);
            }
        }
    }
    for name in &choice.only {
        if !plan.markings.iter().any(|marking| marking.name == *name) {
            let known =
                plan.markings.iter().map(|marking| marking.name.as_str()).collect::<Vec<_>>().join(", ");
            return Err(Failure::Usage(format!("there is no marking `{name}` in this spec; it has {known}")));
        }
    }
    let wanted: Vec<MarkingId> = (0..plan.markings.len())
        .filter(|&k| choice.only.is_empty() || choice.only.contains(&plan.markings[k].name))
        .map(MarkingId)
        .collect();
    let plan = Arc::new(plan);
    let kits: Vec<Vec<Moulded>> = plan
        .scales
        .par_iter()
        .map(|&scale| plan.parts.iter().map(|part| Moulded::new(part, scale)).collect())
        .collect();
    let tasks = Tasks::list(&plan, &wanted);
    let fit = |task: &Task| task.fit(&plan, &kits[task.kit]);
    let fits: Vec<Result<Fit<Full>, Refusal>> = tasks.distinct.par_iter().map(fit).collect();
    let reliefs = reliefs(&plan, &kits, &tasks, &fits);
    let found = Found { fits: &fits, reliefs: &reliefs };
    let scales = (0..plan.scales.len()).into_par_iter();
    let scales = scales.map(|k| one_scale(&plan, k, &kits[k], &tasks.uses[k], &found)).collect();
    Ok(Outcome { plan, scales })
}

/// One fit to be made: all that it depends on, so that scales that ask for the same share it.
#[derive(Clone, Debug)]
struct Task {
    marking: MarkingId,
    make: Make,
    /// Index of a scale whose kit asks for this fit.
    kit: usize,
    /// The scale that calipers were taken at, where that makes the part another one.
    measured: Option<Scale>,
    /// How far a closed wrap laps over itself, carried to full size.
    overlap: Length<Full>,
}

impl Task {
    fn new(plan: &Plan, marking: MarkingId, make: Make, kit: usize) -> Self {
        let (wanted, scale) = (&plan.markings[marking.0], plan.scales[kit]);
        let measured = plan.parts[wanted.part.0].measured.iter().any(|measured| measured.scale == scale);
        Self {
            marking,
            make,
            kit,
            measured: measured.then_some(scale),
            overlap: wanted.piece.overlap.stands_for(scale),
        }
    }

    /// Whether the same fit serves both, up to scale.
    fn same_as(&self, other: &Self, plan: &Plan) -> bool {
        let poisson = |task: &Self| plan.films.of(task.make).poisson;
        self.marking == other.marking
            && self.measured == other.measured
            && self.overlap == other.overlap
            && poisson(self) == poisson(other)
    }

    /// Cuts for film of this make, where it needs any.
    fn relief(&self, make: Make, plan: &Plan, kit: &[Moulded], fit: &Fit<Full>) -> Option<Relief<Full>> {
        let marking = &plan.markings[self.marking.0];
        let asked = Asked { film: plan.films.of(make), overlap: self.overlap };
        fit::relief(marking, &draw::draw(&marking.draw), &kit[marking.part.0], &asked, make, fit)
    }

    fn fit(&self, plan: &Plan, kit: &[Moulded]) -> Result<Fit<Full>, Refusal> {
        let marking = &plan.markings[self.marking.0];
        let asked = Asked { film: plan.films.of(self.make), overlap: self.overlap };
        fit::fit(marking, &draw::draw(&marking.draw), &kit[marking.part.0], &asked)
    }
}

/// A marking made as one thing, and the index of its fit.
type Use = (MarkingId, Make, usize);

/// The fits a plan needs, each once, and for each scale which of them its pieces use.
struct Tasks {
    distinct: Vec<Task>,
    /// In order of markings and makes.
    uses: Vec<Vec<Use>>,
}

impl Tasks {
    fn list(plan: &Plan, wanted: &[MarkingId]) -> Self {
        let mut distinct: Vec<Task> = Vec::new();
        let mut index_of = |task: Task| {
            let known = distinct.iter().position(|other| other.same_as(&task, plan));
            known.unwrap_or_else(|| {
                distinct.push(task);
                distinct.len() - 1
            })
        };
        let mut uses = Vec::new();
        for kit in 0..plan.scales.len() {
            let makes = |&id: &MarkingId| plan.markings[id.0].make.iter().map(move |&make| (id, make));
            let pairs = wanted.iter().flat_map(makes);
            uses.push(pairs.map(|(id, make)| (id, make, index_of(Task::new(plan, id, make, kit)))).collect());
        }
        Self { distinct, uses }
    }
}

/// Relief cuts by fit and make, for the pairs that are used and need them.
type Reliefs = BTreeMap<(usize, Make), Relief<Full>>;

fn reliefs(
    plan: &Plan,
    kits: &[Vec<Moulded>],
    tasks: &Tasks,
    fits: &[Result<Fit<Full>, Refusal>],
) -> Reliefs {
    let used: BTreeSet<(usize, Make)> =
        tasks.uses.iter().flatten().map(|&(_, make, fit)| (fit, make)).collect();
    let used: Vec<(usize, Make)> = used.into_iter().collect();
    let found = used.par_iter().filter_map(|&(k, make)| {
        let task = &tasks.distinct[k];
        let relief = task.relief(make, plan, &kits[task.kit], fits[k].as_ref().ok()?)?;
        Some(((k, make), relief))
    });
    found.collect()
}

/// What was worked out at full size, for all scales.
struct Found<'a> {
    fits: &'a [Result<Fit<Full>, Refusal>],
    reliefs: &'a Reliefs,
}

fn one_scale(plan: &Plan, index: usize, kit: &[Moulded], uses: &[Use], found: &Found<'_>) -> ScaleOutcome {
    let scale = plan.scales[index];
    let mut pieces = Vec::new();
    let effective: Vec<Scale> = kit.iter().map(|moulded| scale.enlarged(moulded.ratio)).collect();
    let used = |part: usize| uses.iter().any(|(id, ..)| plan.markings[id.0].part.0 == part);
    let mut findings: Vec<Finding> = (0..kit.len())
        .filter(|&part| used(part))
        .filter_map(|part| check::off_scale(&plan.parts[part], scale, effective[part]))
        .collect();
    for &(id, make, fit) in uses {
        let marking = &plan.markings[id.0];
        match &found.fits[fit] {
            Err(refusal) => findings.push(unlaid(marking, refusal)),
            Ok(full) => {
                let mut own = full.at(scale);
                own.relief = found
                    .reliefs
                    .get(&(fit, make))
                    .map(|relief| relief.at(scale).no_finer_than(plan.films.of(make).finest_gap));
                pieces.extend(copies(plan, id, make, scale, effective[marking.part.0], own, pieces.len()));
            }
        }
    }
    let pieces = sheet::split_up(plan, pieces);
    let (sheets, full_up) = sheet::sheets(plan, scale, &pieces);
    findings.extend(full_up);
    let parts = kit.iter().map(|moulded| moulded.part.clone()).collect();
    ScaleOutcome { scale, parts, pieces, sheets, findings }
}

fn unlaid(marking: &Marking, refusal: &Refusal) -> Finding {
    Finding {
        code: Code::Unlaid,
        severity: Severity::Error,
        text: format!("`{}` cannot be laid: {}", marking.name, refusal.text),
        help: refusal.help.clone(),
        at: marking.spot_at.clone(),
    }
}

/// All copies of a marking at one scale, made as one thing; `before` pieces have numbers already.
fn copies(
    plan: &Plan,
    id: MarkingId,
    make: Make,
    scale: Scale,
    effective: Scale,
    fit: Fit<Model>,
    before: usize,
) -> Vec<Piece> {
    let marking = &plan.markings[id.0];
    let fit = Arc::new(fit);
    let case = Case { marking, scale, make, film: plan.films.of(make), fit: &fit };
    let judgement = check::judge(&case);
    let full_size = fit::full_size(&draw::draw(&marking.draw));
    let piece = |copy: u32| Piece {
        number: before as u32 + copy,
        marking: id,
        part: marking.part,
        copy,
        section: None,
        make,
        full_size,
        fit: Arc::clone(&fit),
        effective_scale: effective,
        verdict: judgement.verdict,
        lies: judgement.lies,
        findings: judgement.findings.clone(),
    };
    (1..=marking.copies).map(piece).collect()
}

/// A file to be written: its path below the spec's folder, and its bytes.
struct Output {
    path: PathBuf,
    bytes: Vec<u8>,
}

/// Writes everything an outcome has under `out/<spec>`: all of it or nothing. Returns the paths written.
pub fn write_all(outcome: &Outcome, out: &Path, dpi: Dpi) -> Result<Vec<PathBuf>, Failure> {
    let home = out.join(&outcome.plan.name);
    let sheets: Vec<(Scale, &Sheet)> = outcome
        .scales
        .iter()
        .flat_map(|scale| scale.sheets.iter().map(move |sheet| (scale.scale, sheet)))
        .collect();
    let drawn: Result<Vec<Vec<Output>>, Failure> =
        sheets.par_iter().map(|(scale, sheet)| sheet_files(outcome, *scale, sheet, dpi)).collect();
    let mut outputs: Vec<Output> = drawn?.into_iter().flatten().collect();
    outputs.push(Output { path: "report.json".into(), bytes: report::json(outcome).into_bytes() });
    outputs.push(Output { path: "report.html".into(), bytes: report::html(outcome).into_bytes() });
    replace(&home, &outputs)
}

fn sheet_files(outcome: &Outcome, scale: Scale, sheet: &Sheet, dpi: Dpi) -> Result<Vec<Output>, Failure> {
    let folder = PathBuf::from(scale.folder());
    let svg = write::svg(sheet, &outcome.plan.title);
    let mut png = Vec::new();
    write::png(&svg, sheet.page, dpi, &mut png).map_err(|error| Failure::File {
        path: folder.join(format!("{}.png", sheet.stem)).display().to_string(),
        what: error.to_string(),
        help: "fewer dots per inch may do: `--dpi 300`",
    })?;
    Ok(vec![
        Output { path: folder.join(format!("{}.svg", sheet.stem)), bytes: svg.into_bytes() },
        Output { path: folder.join(format!("{}.png", sheet.stem)), bytes: png },
    ])
}

/// Writes all files aside, then moves each into place, then removes what an earlier run left and this one did not make.
fn replace(home: &Path, outputs: &[Output]) -> Result<Vec<PathBuf>, Failure> {
    fs::create_dir_all(home).map_err(|error| Failure::written(home, &error))?;
    let before = ours(home);
    let aside = tempfile::Builder::new()
        .prefix(".markloft-")
        .tempdir_in(home)
        .map_err(|error| Failure::written(home, &error))?;
    for output in outputs {
        let path = aside.path().join(&output.path);
        let written = path.parent().map_or(Ok(()), fs::create_dir_all).and_then(|()| {
            let mut file = fs::File::create(&path)?;
            file.write_all(&output.bytes)?;
            file.sync_all()
        });
        written.map_err(|error| Failure::written(&home.join(&output.path), &error))?;
    }
    // Looked at before the first file is moved: past that point old and new would be mixed.
    let in_the_way = outputs.iter().map(|output| home.join(&output.path)).find(|path| path.is_dir());
    if let Some(path) = in_the_way {
        let help = "a folder of this name is in the way: move it, or write elsewhere with `--out`";
        let what = "cannot be written: this is a folder, not a file".to_owned();
        return Err(Failure::File { path: path.display().to_string(), what, help });
    }
    let mut written = Vec::new();
    for output in outputs {
        let path = home.join(&output.path);
        let moved = path.parent().map_or(Ok(()), fs::create_dir_all);
        moved
            .and_then(|()| fs::rename(aside.path().join(&output.path), &path))
            .map_err(|error| Failure::written(&path, &error))?;
        written.push(path);
    }
    for stale in before.difference(&outputs.iter().map(|output| output.path.clone()).collect()) {
        // A file that someone has already taken away is as gone as it should be.
        let _ = fs::remove_file(home.join(stale));
    }
    Ok(written)
}

/// The files that the report of an earlier run says it made.
fn ours(home: &Path) -> BTreeSet<PathBuf> {
    let Ok(text) = fs::read_to_string(home.join("report.json")) else { return BTreeSet::new() };
    let Ok(report) = serde_json::from_str::<serde_json::Value>(&text) else { return BTreeSet::new() };
    let list = |value: &serde_json::Value, key: &str| value[key].as_array().cloned().unwrap_or_default();
    let stems = list(&report, "scales").into_iter().flat_map(|scale| list(&scale, "sheets"));
    stems
        .filter_map(|sheet| sheet["file"].as_str().map(PathBuf::from))
        // A report that was tampered with must not lead out of the folder.
        .filter(|file| file.components().all(|part| matches!(part, std::path::Component::Normal(_))))
        .flat_map(|file| ["svg", "png"].map(|ending| file.with_extension(ending)))
        .collect()
}
