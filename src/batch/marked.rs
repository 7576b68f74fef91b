//! What one marking comes to at every scale: what it is made as, how it fits, where it must be cut.
//!
//! Each fit is made once, however many scales and makes share it, and only those that are used: what
//! is left open is fitted as a decal first, and that fit tells what to make of it.
//!
//! Left out: checks and copies, which differ with each scale.

use crate::cut;
use crate::draw;
use crate::fit::{self, Asked, Moulded, Refusal};
use crate::flow::{Artwork, Code, Finding, Fit, Make, Marking, MarkingId, PartId, Plan, Relief, Severity};
use crate::units::{Full, Length, Scale};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A marking made as one thing at one scale, still at full size.
pub struct Made {
    pub marking: MarkingId,
    pub make: Make,
    pub fit: Arc<Result<Fit<Full>, Refusal>>,
    pub relief: Option<Arc<Relief<Full>>>,
    /// Why it is made so, where the spec leaves that open.
    pub chosen: Option<Finding>,
}

/// For each kit, in order of the plan's scales, what is made of a marking.
pub fn at_all_scales(plan: &Plan, kits: &[Vec<Moulded>], id: MarkingId) -> Vec<Vec<Made>> {
    let marking = &plan.markings[id.0];
    let artwork = draw::draw(&marking.draw);
    let mut work =
        Work { plan, kits, marking, artwork, tasks: Vec::new(), fits: Vec::new(), reliefs: BTreeMap::new() };
    let all = 0..kits.len();
    let asked = if marking.make.is_empty() { &[Make::Decal] } else { marking.make.as_slice() };
    let mut uses: Vec<Vec<(Make, usize, Option<Finding>)>> =
        all.map(|kit| asked.iter().map(|&make| (make, work.index(make, kit), None)).collect()).collect();
    if marking.make.is_empty() {
        work.lay(&BTreeSet::new());
        for (kit, uses) in uses.iter_mut().enumerate() {
            for (make, fit, why) in uses {
                (*make, *why) = choose(plan, marking, plan.scales[kit], &work.fits[*fit]);
                *fit = work.index(*make, kit);
            }
        }
    }
    work.lay(&uses.iter().flatten().map(|(make, fit, _)| (*fit, *make)).collect());
    let laid = |(make, fit, chosen): (Make, usize, Option<Finding>)| Made {
        marking: id,
        make,
        fit: Arc::clone(&work.fits[fit]),
        relief: work.reliefs.get(&(fit, make)).cloned(),
        chosen,
    };
    uses.into_iter().map(|uses| uses.into_iter().map(laid).collect()).collect()
}

/// One fit to be made: all that it depends on, so that scales that ask for the same share it.
struct Task {
    make: Make,
    /// Index of a scale whose kit asks for this fit.
    kit: usize,
    /// The scale that calipers were taken at, where that makes the part another one.
    measured: Option<Scale>,
    /// How far a closed wrap laps over itself, carried to full size.
    overlap: Length<Full>,
}

/// The fits of one marking; those of the last tasks may still have to be made. Cuts by task and make,
/// where film needs any.
struct Work<'a> {
    plan: &'a Plan,
    kits: &'a [Vec<Moulded>],
    marking: &'a Marking,
    artwork: Artwork<Full>,
    tasks: Vec<Task>,
    fits: Vec<Arc<Result<Fit<Full>, Refusal>>>,
    reliefs: BTreeMap<(usize, Make), Arc<Relief<Full>>>,
}

impl Work<'_> {
    /// Index of the fit that serves this make and kit, up to scale.
    fn index(&mut self, make: Make, kit: usize) -> usize {
        let (plan, PartId(part)) = (self.plan, self.marking.part);
        let scale = plan.scales[kit];
        let measured = plan.parts[part].measured.iter().any(|measured| measured.scale == scale);
        let task = Task {
            make,
            kit,
            measured: measured.then_some(scale),
            overlap: self.marking.piece.overlap.stands_for(scale),
        };
        let same = |other: &Task| {
            other.measured == task.measured
                && other.overlap == task.overlap
                && plan.films.of(other.make).poisson == plan.films.of(make).poisson
        };
        self.tasks.iter().position(same).unwrap_or_else(|| {
            self.tasks.push(task);
            self.tasks.len() - 1
        })
    }

    /// Makes the fits that are asked for and not made yet, and the cuts of those that are made so.
    fn lay(&mut self, makes: &BTreeSet<(usize, Make)>) {
        // Cuts follow their own fit at once: another may take long.
        let lay = |k: usize| {
            let task = &self.tasks[k];
            let fit = self.fits.get(k).cloned().unwrap_or_else(|| {
                let asked = self.asked(task, task.make);
                Arc::new(fit::fit(self.marking, &self.artwork, self.moulded(task), &asked))
            });
            let own: Vec<Make> = makes.iter().filter(|(of, _)| *of == k).map(|&(_, make)| make).collect();
            let cuts = own.par_iter().filter_map(|&make| Some((make, self.relief(task, make, &fit)?)));
            let cuts: Vec<_> = cuts.collect();
            (fit, cuts)
        };
        let laid: Vec<_> = (0..self.tasks.len()).into_par_iter().map(lay).collect();
        self.fits.clear();
        for (k, (fit, cuts)) in laid.into_iter().enumerate() {
            self.fits.push(fit);
            self.reliefs.extend(cuts.into_iter().map(|(make, relief)| ((k, make), Arc::new(relief))));
        }
    }

    fn relief(&self, task: &Task, make: Make, fit: &Result<Fit<Full>, Refusal>) -> Option<Relief<Full>> {
        let asked = self.asked(task, make);
        fit::relief(self.marking, &self.artwork, self.moulded(task), &asked, make, fit.as_ref().ok()?)
    }

    fn asked(&self, task: &Task, make: Make) -> Asked<'_> {
        Asked { film: self.plan.films.of(make), overlap: task.overlap }
    }

    fn moulded(&self, task: &Task) -> &Moulded {
        &self.kits[task.kit][self.marking.part.0]
    }
}

/// What to make of a marking whose spec leaves it open, and a note that says why.
fn choose(
    plan: &Plan,
    marking: &Marking,
    scale: Scale,
    as_decal: &Result<Fit<Full>, Refusal>,
) -> (Make, Option<Finding>) {
    let Ok(fit) = as_decal else { return (Make::Decal, None) };
    let (make, why) = cut::choice::choose(plan, marking, &fit.at(scale));
    let note = Finding {
        code: Code::Make,
        severity: Severity::Note,
        text: format!("made as {}: {why}", make.one()),
        help: "say `make: decal`, `mask` or `tape` to decide otherwise".to_owned(),
        at: marking.at.clone(),
    };
    (make, Some(note))
}
