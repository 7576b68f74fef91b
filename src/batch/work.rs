//! From a plan to everything that comes of it: fitted, judged, laid out and cut, at all its scales.
//!
//! Left out: files. What does not hang on what else there is runs on all cores.

use super::Failure;
use super::marked::{self, Made};
use crate::check::{self, Case};
use crate::cut;
use crate::draw;
use crate::fit::{self, Moulded, Refusal};
use crate::flow::{
    Code, Draw, Finding, Limits, Marking, MarkingId, Outcome, Piece, Plan, ScaleOutcome, Severity, Together,
};
use crate::sheet;
use crate::units::{Scale, Size};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

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
    if plan.scales.len() > Limits::SCALES {
        let (asked, most) = (plan.scales.len(), Limits::SCALES);
        return Err(Failure::Usage(format!("{asked} scales in one run: at most {most}; make several runs")));
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
    let pieces: usize = wanted.iter().map(|id| plan.markings[id.0].pieces()).sum();
    let (pieces, most) = (pieces.saturating_mul(plan.scales.len()), choice.limits.pieces());
    if pieces > most {
        return Err(Failure::Usage(format!(
            "{pieces} pieces over all scales: at most {most}; take some with `--only` or `--scale`; {}",
            Limits::RAISE
        )));
    }
    // Numbered as they are put down.
    wanted.sort_by_key(|id| plan.markings[id.0].layer);
    let plan = Arc::new(plan);
    // Built once, however many scales there are: a mesh is large.
    let drawn = plan.parts.par_iter().map(Moulded::drawn).collect::<Result<Vec<_>, _>>();
    let drawn = drawn.map_err(|flaw| Failure::Usage(flaw.to_string()))?;
    let kits: Vec<Vec<Moulded>> =
        plan.scales.par_iter().map(|&scale| drawn.iter().map(|part| part.at(scale)).collect()).collect();
    let marked: Vec<Vec<Vec<Made>>> =
        wanted.par_iter().map(|&marking| marked::at_all_scales(&plan, &kits, marking)).collect();
    let scales = (0..plan.scales.len()).into_par_iter();
    let at = |k: usize| one_scale(&plan, k, &kits[k], marked.iter().flat_map(|of| &of[k]));
    let mut scales: Vec<ScaleOutcome> = scales.map(at).collect();
    number(&mut scales, plan.sheets.gang);
    let mut together = Together::default();
    if plan.sheets.gang {
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
    made: impl Iterator<Item = &'a Made> + Clone,
) -> ScaleOutcome {
    let scale = plan.scales[index];
    let effective: Vec<Scale> = kit.iter().map(|moulded| scale.enlarged(moulded.ratio)).collect();
    let used = |part: usize| made.clone().any(|each| plan.markings[each.marking.0].part.0 == part);
    let mut findings: Vec<Finding> = (0..kit.len())
        .filter(|&part| used(part))
        .filter_map(|part| check::off_scale(&plan.parts[part], scale, effective[part]))
        .collect();
    // The mesh is the same at every scale.
    if index == 0 {
        let mended =
            |part: usize| kit[part].surface.mended().map(|what| check::mended(&plan.parts[part], &what));
        findings.extend((0..kit.len()).filter(|&part| used(part)).filter_map(mended));
    }
    let all: Vec<&Made> = made.collect();
    let judged: Vec<_> = all.par_iter().map(|made| judged(plan, scale, &effective, made)).collect();
    let (mut wholes, mut pieces) = (Vec::new(), Vec::new());
    for (made, judged) in all.into_iter().zip(judged) {
        match judged {
            Err(refusal) => findings.push(unlaid(&plan.markings[made.marking.0], refusal)),
            Ok(piece) => {
                let first = pieces.len();
                let sections = sheet::sections(plan, scale, &piece);
                pieces.extend(sections.into_iter().flat_map(|section| copies(plan, section)));
                // Why it is made as it is, is told once.
                if let Some(first) = pieces.get_mut(first) {
                    first.findings.extend(made.chosen.clone());
                }
                wholes.push(piece);
            }
        }
    }
    findings.extend(check::clashes(plan, &wholes));
    let parts = kit.iter().map(|moulded| moulded.part.clone()).collect();
    let (tape, sheets, jobs) = (Vec::new(), Vec::new(), Vec::new());
    ScaleOutcome { scale, parts, pieces, sheets, tape, jobs, findings }
}

/// Numbers pieces from 1 at each scale; on from scale to scale where they share sheets, so that a number on one
/// means one piece.
fn number(scales: &mut [ScaleOutcome], on: bool) {
    let mut before = 0;
    for at in scales {
        at.pieces.iter_mut().zip(before + 1..).for_each(|(piece, number)| piece.number = number);
        before += if on { at.pieces.len() as u32 } else { 0 };
    }
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
fn judged<'a>(plan: &Plan, scale: Scale, effective: &[Scale], made: &'a Made) -> Result<Piece, &'a Refusal> {
    let (marking, make) = (&plan.markings[made.marking.0], made.make);
    let (film, effective) = (plan.films.of(make), effective[marking.part.0]);
    let mut fit = made.fit.as_ref().as_ref()?.at(scale);
    fit.relief = made.relief.as_ref().map(|relief| relief.at(scale).no_finer_than(film.finest_gap));
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
        marking: made.marking,
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

/// All copies of a piece.
fn copies(plan: &Plan, piece: Piece) -> Vec<Piece> {
    let marking = &plan.markings[piece.marking.0];
    (1..=marking.copies + marking.piece.spares).map(|copy| Piece { copy, ..piece.clone() }).collect()
}
