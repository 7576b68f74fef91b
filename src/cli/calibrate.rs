//! `calibrate`: a page to print and measure, whose readings go into `printer`.

use super::{Exit, failed, terminal::Terminal};
use crate::batch::{self, Access, Failure};
use crate::flow::Plan;
use crate::units::Dpi;
use std::path::Path;

/// A page that nothing but the paper is known of; a spec's own page and colours come from the spec.
const PLAIN: &str = "{markloft: 1, scales: full, sheets: {page: PAPER}, \
    parts: {p: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}}, \
    markings: {m: {part: p, draw: {disc: {diameter: 1 mm}}, colour: '#000000', make: decal}}}";

pub fn calibrate(terminal: &Terminal, set_up: Result<Plan, Failure>, out: &Path, dpi: Option<Dpi>) -> Exit {
    let made = set_up.and_then(|plan| batch::calibrate(&plan, out, dpi.unwrap_or(plan.printer.dpi)));
    match made {
        Ok(files) => {
            for file in &files {
                terminal.out(&format!("{}\n", file.display()));
            }
            terminal.out("print one of them at 100 %, measure it, and write what you read into `printer`\n");
            Exit::Done
        }
        Err(failure) => {
            let (text, exit) = failed(terminal, &failure);
            terminal.err(&text);
            exit
        }
    }
}

/// The page, its dots and its colours, of a spec or of a paper.
pub fn set_up(spec: Option<&str>, page: &str, access: &Access) -> Result<Plan, Failure> {
    match spec {
        Some(spec) => batch::load_with(spec, access).map(|loaded| loaded.plan),
        None => {
            let mut plan = batch::load_embedded("calibrate", &PLAIN.replace("PAPER", page))?;
            plan.colours.clear();
            Ok(plan)
        }
    }
}
