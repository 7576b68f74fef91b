//! Specs × scales: reads files, fits in parallel, writes files whole or not at all.
//!
//! The only stage that touches files and threads. What is computed does not
//! depend on the number of threads: work is listed first, done in any order,
//! and put together in the order of the list.

mod files;
pub mod find;
mod fresh;
mod lock;
mod manifest;
mod marked;
mod pages;
pub mod paint;
pub mod pool;
mod publish;

pub use files::{Done, Request, calibrate, write_all};
pub use fresh::write_new;
pub use manifest::hash;
pub use publish::{abandon, is_written_here};

use crate::check::{self, Case};
use crate::cut;
use crate::draw;
use crate::fit::{self, Moulded, Refusal};
use crate::flow::{
    Code, Draw, Finding, Limits, Marking, MarkingId, Outcome, Piece, Plan, ScaleOutcome, Severity, Together,
};
use crate::units::{Scale, Size};
use crate::{sheet, spec};
use manifest::Hash;
use marked::Laid;
use rayon::prelude::*;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

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
    /// How much is tried to save film, instead of the spec's own.
    pub effort: Option<u32>,
    /// What scales asked for here must keep to, as the spec's own do.
    pub limits: Limits,
}

/// What may be read: where files that a spec names may lie besides its own folder, and how much.
#[derive(Clone, Debug, Default)]
pub struct Access {
    pub folders: Vec<PathBuf>,
    pub limits: Limits,
}

/// A plan and what it was made of.
#[derive(Clone, Debug)]
pub struct Loaded {
    pub plan: Plan,
    /// The spec and every file it uses, as named, and their hashes.
    inputs: BTreeMap<String, Hash>,
}

/// Reads and resolves a spec; `-` is standard input.
pub fn load(path: &str) -> Result<Plan, Failure> {
    load_with(path, &Access::default()).map(|loaded| loaded.plan)
}

/// Reads and resolves a spec that may use files from other folders too.
pub fn load_with(path: &str, access: &Access) -> Result<Loaded, Failure> {
    let (bytes, folder) = read_spec(path, access.limits)?;
    let name = if path == "-" { "stdin.yaml" } else { path };
    let inputs = RefCell::new(BTreeMap::from([(path.to_owned(), manifest::hash(&bytes))]));
    let open = |used: &str| {
        let bytes = open_used(&folder, used, access)?;
        inputs.borrow_mut().insert(used.to_owned(), manifest::hash(&bytes));
        Ok(bytes)
    };
    let plan = spec::read_within(access.limits, name, &bytes, &open).map_err(Failure::Spec)?;
    Ok(Loaded { plan, inputs: inputs.into_inner() })
}

/// The bytes of a spec, and the folder that the files it names are looked for in.
fn read_spec(path: &str, limits: Limits) -> Result<(Vec<u8>, PathBuf), Failure> {
    if path == "-" {
        let bytes = read_limited(&mut io::stdin().lock(), Path::new("standard input"), limits.file_bytes())?;
        return Ok((bytes, PathBuf::from(".")));
    }
    let path = Path::new(path);
    Ok((read_file(path, limits.file_bytes())?, path.parent().unwrap_or(Path::new(".")).to_owned()))
}

/// Resolves a spec that is part of the program.
pub fn load_embedded(name: &str, text: &str) -> Result<Plan, Failure> {
    let none = |_: &str| Err("a built-in spec uses no other files".to_owned());
    spec::read(name, text.as_bytes(), &none).map_err(Failure::Spec)
}

fn read_file(path: &Path, most: u64) -> Result<Vec<u8>, Failure> {
    let mut file = fs::File::open(path).map_err(|error| Failure::read(path, &error))?;
    let kind = file.metadata().map_err(|error| Failure::read(path, &error))?;
    if kind.is_dir() {
        return Err(Failure::File {
            path: path.display().to_string(),
            what: "this is a folder".to_owned(),
            help: "name a spec file in it",
        });
    }
    read_limited(&mut file, path, most)
}

fn read_limited(source: &mut dyn Read, path: &Path, most: u64) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    source.take(most + 1).read_to_end(&mut bytes).map_err(|error| Failure::read(path, &error))?;
    if bytes.len() as u64 > most {
        let what = format!("larger than the {} MiB that it may have", most >> 20);
        let help = "put what several specs share into files of its own and name them with `use`, or read more: `--limits 4` allows four times as much";
        return Err(Failure::File { path: path.display().to_string(), what, help });
    }
    Ok(bytes)
}

/// Reads a file that a spec uses: from below the spec's own folder or one that is allowed, links
/// followed before that is checked.
fn open_used(folder: &Path, name: &str, access: &Access) -> Result<Vec<u8>, String> {
    let home = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let home = home.canonicalize().map_err(|error| words(&error))?;
    let path = home.join(name).canonicalize().map_err(|error| words(&error))?;
    let allowed = access.folders.iter().filter_map(|folder| folder.canonicalize().ok());
    if !allowed.chain([home]).any(|folder| path.starts_with(folder)) {
        return Err("it lies outside the spec's folder; `--allow-dir FOLDER` allows one more".to_owned());
    }
    // A pipe or a device could be waited for without end.
    if !fs::metadata(&path).map_err(|error| words(&error))?.is_file() {
        return Err("it is no file".to_owned());
    }
    let is_mesh = path
        .extension()
        .is_some_and(|ending| ["stl", "obj"].iter().any(|known| ending.eq_ignore_ascii_case(known)));
    let most = if is_mesh { access.limits.mesh_bytes() } else { access.limits.file_bytes() };
    let mut bytes = Vec::new();
    let file = fs::File::open(&path).map_err(|error| words(&error))?;
    file.take(most + 1).read_to_end(&mut bytes).map_err(|error| words(&error))?;
    if bytes.len() as u64 > most {
        return Err(format!(
            "it is larger than the {} MiB that are read of a file; {}",
            most >> 20,
            Limits::RAISE
        ));
    }
    Ok(bytes)
}

/// Fits, checks and lays out everything a plan asks for.
pub fn work_out(mut plan: Plan, choice: &Choice) -> Result<Outcome, Failure> {
    if !choice.scales.is_empty() {
        plan.scales.clear();
        for &scale in &choice.scales {
            // Asked for twice, made once.
            if !plan.scales.iter().any(|known| known.folder() == scale.folder()) {
                plan.scales.push(scale);
            }
        }
    }
    let pieces = plan.markings.iter().map(Marking::pieces).sum::<usize>().saturating_mul(plan.scales.len());
    let most = choice.limits.pieces();
    if plan.scales.len() > Limits::SCALES || pieces > most {
        return Err(Failure::Usage(format!(
            "{} scales and {pieces} pieces over all of them: at most {} and {most}; {}",
            plan.scales.len(),
            Limits::SCALES,
            Limits::RAISE
        )));
    }
    if let Some(effort) = choice.effort {
        plan.sheets.effort = effort;
    }
    for name in &choice.only {
        if !plan.markings.iter().any(|marking| marking.name == *name) {
            let known =
                plan.markings.iter().map(|marking| marking.name.as_str()).collect::<Vec<_>>().join(", ");
            return Err(Failure::Usage(format!("there is no marking `{name}` in this spec; it has {known}")));
        }
    }
    let mut wanted: Vec<MarkingId> = (0..plan.markings.len())
        .filter(|&k| choice.only.is_empty() || choice.only.contains(&plan.markings[k].name))
        .map(MarkingId)
        .collect();
    // Numbered as they are put down.
    wanted.sort_by_key(|id| plan.markings[id.0].layer);
    let plan = Arc::new(plan);
    // Built once, however many scales there are: a mesh is large.
    let drawn = plan.parts.par_iter().map(Moulded::drawn).collect::<Result<Vec<_>, _>>();
    let drawn = drawn.map_err(|flaw| Failure::Usage(flaw.to_string()))?;
    let kits: Vec<Vec<Moulded>> =
        plan.scales.par_iter().map(|&scale| drawn.iter().map(|part| part.at(scale)).collect()).collect();
    let marked: Vec<Vec<Vec<Laid>>> =
        wanted.par_iter().map(|&marking| marked::at_all_scales(&plan, &kits, marking)).collect();
    let scales = (0..plan.scales.len()).into_par_iter();
    let at = |k: usize| one_scale(&plan, k, &kits[k], marked.iter().flat_map(|of| &of[k]));
    let mut scales: Vec<ScaleOutcome> = scales.map(at).collect();
    let mut together = Together::default();
    if plan.sheets.gang {
        number_on(&mut scales);
        let (laid, told) = laid_out(&plan, &scales.iter().collect::<Vec<_>>());
        together = laid;
        scales.iter_mut().for_each(|at| tell(at, &told));
    } else {
        scales.par_iter_mut().for_each(|at| {
            let (laid, told) = laid_out(&plan, &[at]);
            tell(at, &told);
            let Together { sheets, jobs, findings } = laid;
            (at.sheets, at.jobs) = (sheets, jobs);
            at.findings.extend(findings);
        });
    }
    scales.par_iter_mut().for_each(|at| off_the_roll(&plan, at));
    Ok(Outcome { plan, scales, together })
}

fn one_scale<'a>(
    plan: &Plan,
    index: usize,
    kit: &[Moulded],
    laid: impl Iterator<Item = &'a Laid> + Clone,
) -> ScaleOutcome {
    let scale = plan.scales[index];
    let mut pieces = Vec::new();
    let effective: Vec<Scale> = kit.iter().map(|moulded| scale.enlarged(moulded.ratio)).collect();
    let used = |part: usize| laid.clone().any(|each| plan.markings[each.marking.0].part.0 == part);
    let mut findings: Vec<Finding> = (0..kit.len())
        .filter(|&part| used(part))
        .filter_map(|part| check::off_scale(&plan.parts[part], scale, effective[part]))
        .collect();
    let all: Vec<&Laid> = laid.collect();
    let judged: Vec<_> = all.par_iter().map(|laid| judged(plan, scale, &effective, laid)).collect();
    for (laid, judged) in all.into_iter().zip(judged) {
        match judged {
            Err(refusal) => findings.push(unlaid(&plan.markings[laid.marking.0], refusal)),
            Ok(piece) => pieces.extend(copies(plan, piece, laid.chosen.clone(), pieces.len() as u32)),
        }
    }
    findings.extend(check::clashes(plan, &pieces));
    let pieces = sheet::split_up(plan, scale, pieces);
    let parts = kit.iter().map(|moulded| moulded.part.clone()).collect();
    let (tape, sheets, jobs) = (Vec::new(), Vec::new(), Vec::new());
    ScaleOutcome { scale, parts, pieces, sheets, tape, jobs, findings }
}

/// Numbers pieces on from scale to scale, so that a number on a shared sheet means one piece.
fn number_on(scales: &mut [ScaleOutcome]) {
    let pieces = scales.iter_mut().flat_map(|at| &mut at.pieces);
    pieces.zip(1..).for_each(|(piece, number)| piece.number = number);
}

/// Hangs findings on the pieces that they are about.
fn tell(at: &mut ScaleOutcome, told: &BTreeMap<u32, Vec<Finding>>) {
    for piece in &mut at.pieces {
        piece.findings.extend(told.get(&piece.number).into_iter().flatten().cloned());
    }
}

/// The pieces of these scales onto sheets, and sheets to the cutter; and what was found of pieces, by their numbers.
fn laid_out(plan: &Plan, scales: &[&ScaleOutcome]) -> (Together, BTreeMap<u32, Vec<Finding>>) {
    let pieces: Vec<&[Piece]> = scales.iter().map(|at| &at.pieces[..]).collect();
    let masks = cut::masks::sets(plan, &pieces);
    let lots = scales.iter().zip(&masks);
    let lots: Vec<sheet::Lot> =
        lots.map(|(at, masks)| sheet::Lot { scale: at.scale, pieces: &at.pieces, masks }).collect();
    let (sheets, mut found) = sheet::sheets(plan, &lots);
    let mut jobs = Vec::new();
    if let Some(cutter) = &plan.cutter {
        let pieces: Vec<&Piece> = pieces.into_iter().flatten().collect();
        for (job, of_job) in sheets.iter().map(|sheet| cut::knife::job(plan, &pieces, cutter, sheet)) {
            jobs.push(job);
            found.extend(of_job);
        }
    }
    let mut of_pieces: BTreeMap<u32, Vec<Finding>> = BTreeMap::new();
    let mut findings = Vec::new();
    for (number, finding) in found {
        match number {
            // A mask of several colours has the same trouble on each of its sheets.
            Some(number) => {
                let known = of_pieces.entry(number).or_default();
                if !known.contains(&finding) {
                    known.push(finding);
                }
            }
            None => findings.push(finding),
        }
    }
    (Together { sheets, jobs, findings }, of_pieces)
}

/// Strips of tape, and the pages that say how to cut them.
fn off_the_roll(plan: &Plan, at: &mut ScaleOutcome) {
    let (strips, no_tape) = cut::tape::strips(plan, at);
    for (piece, finding) in no_tape {
        at.pieces[piece].findings.push(finding);
    }
    at.tape = strips;
    at.sheets.extend(sheet::tape::pages(plan, at.scale, &at.tape));
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

/// A marking at one scale, made as one thing: the piece that its copies are like.
fn judged<'a>(plan: &Plan, scale: Scale, effective: &[Scale], laid: &'a Laid) -> Result<Piece, &'a Refusal> {
    let (marking, make) = (&plan.markings[laid.marking.0], laid.make);
    let (film, effective) = (plan.films.of(make), effective[marking.part.0]);
    let mut fit = laid.fit.as_ref().as_ref()?.at(scale);
    fit.relief = laid.relief.as_ref().map(|relief| relief.at(scale).no_finer_than(film.finest_gap));
    let moulded = Size { width: fit.size.width.stands_for(scale), height: fit.size.height.stands_for(scale) };
    let fit = Arc::new(fit);
    let white = plan.printer.white.as_ref();
    let case = Case { marking, scale, effective, make, film, fit: &fit, spray: plan.spray.film, white };
    let judgement = check::judge(&case);
    let full_size = match &marking.draw {
        // Taken from the part as it was moulded.
        Draw::Area { .. } => moulded,
        drawn => fit::full_size(&draw::draw(drawn)),
    };
    Ok(Piece {
        number: 0,
        marking: laid.marking,
        part: marking.part,
        copy: 0,
        section: None,
        make,
        full_size,
        fit,
        effective_scale: effective,
        verdict: judgement.verdict,
        lies: judgement.lies,
        findings: judgement.findings,
    })
}

/// All copies of a piece, after so many others. Why it is made as it is, is told once.
fn copies(plan: &Plan, piece: Piece, why: Option<Finding>, before: u32) -> Vec<Piece> {
    let marking = &plan.markings[piece.marking.0];
    let one = |copy: u32| Piece { number: before + copy, copy, ..piece.clone() };
    let mut made: Vec<Piece> = (1..=marking.copies + marking.piece.spares).map(one).collect();
    if let Some(first) = made.first_mut() {
        first.findings.extend(why);
    }
    made
}
