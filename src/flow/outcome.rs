//! Everything one spec came to: what the reports are made from.

use super::cutting::{Job, Strip};
use super::finding::{Finding, Severity};
use super::fit::{Fit, Lies, Verdict};
use super::plan::{Make, MarkingId, Part, PartId, Plan};
use super::sheet::Sheet;
use crate::units::{Full, Model, Scale, Size};
use std::sync::Arc;

/// One bit of film, mask or tape.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Counts from 1 within a scale, through all of them where they share sheets; printed beside the piece.
    pub number: u32,
    pub marking: MarkingId,
    pub part: PartId,
    /// Counts from 1.
    pub copy: u32,
    /// Which part it is of a piece that was split for its sheet.
    pub section: Option<Portion>,
    pub make: Make,
    pub full_size: Size<Full>,
    /// Shared by all copies.
    pub fit: Arc<Fit<Model>>,
    /// The scale at which the full-size part would have the size the calipers found.
    pub effective_scale: Scale,
    pub verdict: Verdict,
    pub lies: Lies,
    pub findings: Vec<Finding>,
}

/// One part of a piece that was too large for a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Portion {
    /// From 1, along the heading.
    pub number: u32,
    pub of: u32,
}

impl Portion {
    /// `a`, `b`, … `z`, `aa`.
    pub fn letter(self) -> String {
        let (mut rest, mut letters) = (self.number, Vec::new());
        while rest > 0 {
            rest -= 1;
            letters.insert(0, char::from(b'a' + (rest % 26) as u8));
            rest /= 26;
        }
        letters.into_iter().collect()
    }
}

/// All that was made at one scale.
#[derive(Clone, Debug)]
pub struct ScaleOutcome {
    pub scale: Scale,
    /// The plan's parts by [`PartId`], in full-size millimetres but as this kit's mould made them, limits moved along.
    pub parts: Vec<Part>,
    pub pieces: Vec<Piece>,
    pub sheets: Vec<Sheet>,
    /// Strips of tape to cut off the roll.
    pub tape: Vec<Strip>,
    /// The sheets a machine cuts, where the plan has one.
    pub jobs: Vec<Job>,
    /// Findings that belong to no single piece.
    pub findings: Vec<Finding>,
}

impl ScaleOutcome {
    /// The file of `tape`.
    pub const TAPE_LIST: &str = "tape.csv";

    /// The sheets of this scale alone.
    pub fn own_sheets(&self) -> impl Iterator<Item = Kept<'_>> {
        kept(Home::Scale(self.scale), &self.sheets)
    }

    /// Every finding of this scale, pieces first.
    pub fn all_findings(&self) -> impl Iterator<Item = &Finding> {
        self.pieces.iter().flat_map(|piece| &piece.findings).chain(&self.findings)
    }
}

/// What is laid out for all scales together, where the plan asks for it: nothing otherwise. Tape stays with its scale.
#[derive(Clone, Debug, Default)]
pub struct Together {
    pub sheets: Vec<Sheet>,
    /// The sheets a machine cuts, where the plan has one.
    pub jobs: Vec<Job>,
    pub findings: Vec<Finding>,
}

/// Where a sheet is kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Home {
    /// With all that was made at its scale.
    Scale(Scale),
    /// With the sheets that scales share.
    Together,
}

impl Home {
    /// The folder of its files.
    pub fn folder(self) -> String {
        match self {
            Self::Scale(scale) => scale.folder(),
            Self::Together => "all-scales".to_owned(),
        }
    }
}

/// A sheet in its place.
#[derive(Clone, Copy, Debug)]
pub struct Kept<'a> {
    pub home: Home,
    /// Among the sheets of its home.
    pub index: usize,
    pub sheet: &'a Sheet,
}

/// Everything one spec came to.
#[derive(Clone, Debug)]
pub struct Outcome {
    pub plan: Arc<Plan>,
    pub scales: Vec<ScaleOutcome>,
    pub together: Together,
}

impl Outcome {
    /// The worst thing found, if anything was.
    pub fn worst(&self) -> Option<Severity> {
        self.all_findings().map(|finding| finding.severity).max()
    }

    /// Every finding, scale by scale.
    pub fn all_findings(&self) -> impl Iterator<Item = &Finding> {
        self.scales.iter().flat_map(ScaleOutcome::all_findings).chain(&self.together.findings)
    }

    /// Every sheet, scale by scale, then those that scales share.
    pub fn sheets(&self) -> impl Iterator<Item = Kept<'_>> {
        self.scales.iter().flat_map(ScaleOutcome::own_sheets).chain(self.shared_sheets())
    }

    /// The sheets that pieces of a scale may be on.
    pub fn sheets_for<'a>(&'a self, at: &'a ScaleOutcome) -> impl Iterator<Item = Kept<'a>> {
        let shared = self.shared_sheets().filter(|kept| kept.sheet.scales.contains(&at.scale));
        at.own_sheets().chain(shared)
    }

    /// The sheets that a piece of a scale is on.
    pub fn sheets_with<'a>(&'a self, at: &'a ScaleOutcome, number: u32) -> impl Iterator<Item = Kept<'a>> {
        self.sheets_for(at).filter(move |kept| kept.sheet.pieces.contains(&number))
    }

    /// The sheets that scales share.
    pub fn shared_sheets(&self) -> impl Iterator<Item = Kept<'_>> {
        kept(Home::Together, &self.together.sheets)
    }
}

fn kept(home: Home, sheets: &[Sheet]) -> impl Iterator<Item = Kept<'_>> {
    sheets.iter().enumerate().map(move |(index, sheet)| Kept { home, index, sheet })
}
