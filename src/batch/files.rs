//! From a spec to its files: what is asked for, what came of it, which bytes go where.
//!
//! Leaves out how files get into place (`publish`) and how an
//! outcome is worked out.

use super::load::{open_used, read_spec};
use super::manifest::{Hash, Manifest};
use super::pages::{self, Pages};
use super::publish::{self, Content, Output};
use super::{Access, Choice, Failure, load_with, work_out};
use crate::flow::{
    Home, Job, Limits, Make, Outcome, PdfFiles, Plan, Printer, ScaleOutcome, Severity, Sheet, Together,
};
use crate::units::{Dpi, PIXELS_PER_INCH};
use crate::write::Look;
use crate::{report, sheet, spec, write};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What a run was asked for and made of, for the next one to tell whether anything has changed.
#[derive(Clone, Debug, Default)]
struct Origin {
    asked: String,
    inputs: BTreeMap<String, Hash>,
}

/// One spec to be made into files.
#[derive(Clone, Copy, Debug)]
pub struct Request<'a> {
    /// As named; `-` is standard input.
    pub spec: &'a str,
    pub choice: &'a Choice,
    /// Dots per inch of the PNG sheets, instead of the spec's own.
    pub dpi: Option<Dpi>,
    pub access: &'a Access,
    /// Gets one folder per spec.
    pub out: &'a Path,
    /// Whether to make everything again, changed or not.
    pub force: bool,
    /// Whether every part is also written as a GLB file, with its films and their strain.
    pub glb: bool,
}

/// What became of a request.
#[derive(Clone, Debug)]
pub enum Done {
    Fresh {
        outcome: Box<Outcome>,
        files: Vec<PathBuf>,
    },
    /// Nothing it is made of has changed, and all it made is there.
    Unchanged {
        home: PathBuf,
        told: String,
        errors: bool,
    },
}

impl Request<'_> {
    /// The name of the folder that the spec's files go into.
    pub fn name(&self) -> String {
        let name = if self.spec == "-" { "stdin.yaml" } else { self.spec };
        spec::plan_name(name)
    }

    /// Everything that changes what comes out, besides the files read.
    fn asked(&self) -> String {
        let scales: Vec<String> = self.choice.scales.iter().map(ToString::to_string).collect();
        let dpi = self.dpi.map_or_else(String::new, |dpi| format!(" --dpi {}", dpi.per_inch()));
        let list = |option: &str, of: &[String]| match of {
            [] => String::new(),
            _ => format!(" {option} {}", of.join(",")),
        };
        let effort = self.choice.effort.map_or_else(String::new, |effort| format!(" --effort {effort}"));
        let glb = if self.glb { " --glb" } else { "" };
        let [scales, only] = [list("--scale", &scales), list("--only", &self.choice.only)];
        format!("{}{scales}{only}{dpi}{effort}{glb}", self.spec)
    }

    fn unchanged(&self) -> Option<Done> {
        if self.force || self.spec == "-" {
            return None;
        }
        let home = self.out.join(self.name());
        let manifest = Manifest::read(&home)?;
        let folder = Path::new(self.spec).parent().unwrap_or(Path::new("."));
        let input = |name: &str| match name == self.spec {
            true => read_spec(name, self.access.limits).ok().map(|(bytes, _)| bytes),
            false => open_used(folder, name, self.access).ok(),
        };
        if !manifest.stands(&home, &self.asked(), input) {
            return None;
        }
        publish::tidy(&home);
        Some(Done::Unchanged { home, told: manifest.told, errors: manifest.errors })
    }

    /// Makes the spec's files, unless they are there and would come out the same.
    pub fn make(&self) -> Result<Done, Failure> {
        if let Some(unchanged) = self.unchanged() {
            return Ok(unchanged);
        }
        let loaded = load_with(self.spec, self.access)?;
        let dpi = self.dpi.unwrap_or(loaded.plan.printer.dpi);
        let outcome = work_out(loaded.plan, self.choice)?;
        let origin = Origin { asked: self.asked(), inputs: loaded.inputs };
        let wishes = Wishes { dpi, force: self.force, glb: self.glb, limits: self.access.limits };
        let files = write_from(&outcome, self.out, wishes, origin)?;
        Ok(Done::Fresh { outcome: Box::new(outcome), files })
    }
}

/// Writes everything an outcome has under `out/<spec>`: all of it or nothing. Returns the paths written.
pub fn write_all(outcome: &Outcome, out: &Path, dpi: Dpi) -> Result<Vec<PathBuf>, Failure> {
    write_from(
        outcome,
        out,
        Wishes { dpi, force: false, glb: false, limits: Limits::default() },
        Origin::default(),
    )
}

/// What a run writes beside what every run does, and how.
#[derive(Clone, Copy, Debug)]
struct Wishes {
    dpi: Dpi,
    force: bool,
    glb: bool,
    limits: Limits,
}

fn write_from(
    outcome: &Outcome,
    out: &Path,
    wishes: Wishes,
    origin: Origin,
) -> Result<Vec<PathBuf>, Failure> {
    let Wishes { dpi, force, glb, limits } = wishes;
    let home = out.join(&outcome.plan.name);
    let pictures = pages::look(&outcome.plan.printer);
    let before = if force { None } else { Manifest::read(&home) };
    let before = before.filter(|before| {
        let drawn_alike = before.dpi == dpi.per_inch() && before.pictures == pictures;
        before.markloft == env!("CARGO_PKG_VERSION") && drawn_alike
    });
    let plan = &outcome.plan;
    let pages = Pages {
        title: &plan.title,
        printer: &plan.printer,
        dpi,
        home: &home,
        before: before.as_ref(),
        limits,
    };
    let mut outputs = pages.outputs(outcome)?;
    for at in &outcome.scales {
        outputs.extend(
            at.sheets
                .iter()
                .zip(&at.jobs)
                .flat_map(|(sheet, job)| cut_files(outcome, Home::Scale(at.scale), sheet, job)),
        );
    }
    let Together { sheets, jobs, .. } = &outcome.together;
    outputs.extend(
        sheets.iter().zip(jobs).flat_map(|(sheet, job)| cut_files(outcome, Home::Together, sheet, job)),
    );
    for at in outcome.scales.iter().filter(|at| !at.tape.is_empty()) {
        let list = write::tape_csv(&outcome.plan, &at.tape);
        outputs.push(Output::fresh(format!("{}/{}", at.scale.folder(), ScaleOutcome::TAPE_LIST), list));
    }
    if glb {
        outputs.extend(outcome.scales.iter().flat_map(|at| bodies(outcome, at)));
    }
    outputs.push(overview(outcome)?);
    outputs.push(Output::fresh("report.json", report::json(outcome)));
    outputs.push(Output::fresh("report.html", report::html(outcome)));
    let manifest = Manifest {
        markloft: env!("CARGO_PKG_VERSION").to_owned(),
        asked: origin.asked,
        inputs: origin.inputs,
        dpi: dpi.per_inch(),
        pictures,
        errors: outcome.worst() == Some(Severity::Error),
        told: report::told(outcome),
        ..Manifest::default()
    };
    publish::publish(&home, outputs, manifest)
}

/// Writes the page that tells a printer's errors under `out/calibration`. Returns the paths written.
pub fn calibrate(set_up: &Plan, out: &Path, dpi: Dpi) -> Result<Vec<PathBuf>, Failure> {
    let sheets = set_up.sheets_of(Make::Decal).upright();
    let page = sheet::calibration::page(&sheets, &set_up.colours, dpi).map_err(Failure::Usage)?;
    let home = out.join(sheet::calibration::STEM);
    // A spec of the same name has its files there: they are not the test page's to remove.
    if Manifest::read(&home).is_some_and(|manifest| !manifest.asked.is_empty()) {
        return Err(Failure::Usage(format!(
            "{} holds what a spec was made into; choose another folder: `--out FOLDER`",
            home.display()
        )));
    }
    let title = sheet::calibration::TITLE;
    // As the printer is: nothing is made up for, everything is shown.
    let printer = Printer { pdf: PdfFiles::Each, ..Printer::default() };
    let pages = Pages { title, printer: &printer, dpi, home: &home, before: None, limits: Limits::default() };
    let outputs = pages.of_page("", &page, Look::PLAIN)?;
    let manifest = Manifest {
        markloft: env!("CARGO_PKG_VERSION").to_owned(),
        dpi: dpi.per_inch(),
        told: title.to_owned(),
        ..Manifest::default()
    };
    publish::publish(&home, outputs, manifest)
}

/// One picture of all parts, to be shown on a screen.
fn overview(outcome: &Outcome) -> Result<Output<'static>, Failure> {
    const NAME: &str = "overview.png";
    let (svg, page) = report::contact(outcome);
    let mut png = Vec::new();
    // A dot for every pixel it is laid out in.
    let dpi = Dpi::new(PIXELS_PER_INCH).expect("between the least and the most");
    write::png(&svg, page, dpi, &mut png).map_err(|error| Failure::File {
        path: NAME.to_owned(),
        what: error.to_string(),
        help: "make fewer parts in one spec",
    })?;
    Ok(Output { name: NAME.to_owned(), content: Content::Fresh(png) })
}

/// Every part that something lies on, in space.
fn bodies(outcome: &Outcome, at: &ScaleOutcome) -> Vec<Output<'static>> {
    let plan = &outcome.plan;
    let parts = report::picture::whole::Occupied::all(plan, at);
    parts
        .iter()
        .map(|occupied| {
            let part = occupied.part;
            let body = report::body(occupied, report::Fineness::AsSolved);
            let title = format!("{}, {}, {}", plan.title, body.name, at.scale);
            // Numbered, for two names may be one in letters that every system takes.
            let stem = format!("part-{}-{}", part.0 + 1, spec::plan_name(&body.name));
            let bytes = write::glb(&body, &title, &report::SHADES);
            Output { name: format!("{}/{stem}.glb", at.scale.folder()), content: Content::Fresh(bytes) }
        })
        .collect()
}

/// One sheet for a cutter, in every format.
fn cut_files(outcome: &Outcome, home: Home, sheet: &Sheet, job: &Job) -> [Output<'static>; 3] {
    let head = write::cut_head(&outcome.plan.title, &sheet.scales, job);
    let lines: Vec<&str> = head.iter().map(String::as_str).collect();
    let [drawing, cutting, machine] = job.files().map(|name| format!("{}/{name}", home.folder()));
    [
        Output::fresh(drawing, write::cut_svg(job, &lines)),
        Output::fresh(cutting, write::dxf(job, &lines)),
        Output::fresh(machine, write::hpgl(job)),
    ]
}
