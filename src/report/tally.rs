//! Counts of verdicts and findings, for last lines and headings.

use super::text::count;
use crate::flow::{Code, Finding, Outcome, Piece, Plan, ScaleOutcome, Severity, Verdict};
use std::collections::BTreeMap;

/// `9 pieces on 3 sheets: 6 fit, 2 to trim, 1 oversize; 1 error, 2 warnings`.
pub fn whole(outcome: &Outcome) -> String {
    line(&outcome.scales.iter().collect::<Vec<_>>(), outcome.sheets().count(), || outcome.all_findings())
}

/// The same for one scale, with the sheets that it shares.
pub fn scale(outcome: &Outcome, at: &ScaleOutcome) -> String {
    let sheets = outcome.sheets_for(at).count();
    line(&[at], sheets, || at.all_findings())
}

fn line<'a, I: Iterator<Item = &'a Finding>>(
    scales: &[&ScaleOutcome],
    sheets: usize,
    found: impl Fn() -> I,
) -> String {
    let pieces: usize = scales.iter().map(|s| s.pieces.len()).sum();
    let all = || scales.iter().flat_map(|s| &s.pieces);
    let has_no_room = |piece: &&Piece| piece.findings.iter().any(|found| found.code == Code::SheetFull);
    let mut text = count(pieces, "piece");
    if sheets > 0 {
        let left_over = all().filter(has_no_room).count();
        if left_over > 0 {
            text += &format!(", {} of them", pieces - left_over);
        }
        text += &format!(" on {}", count(sheets, "sheet"));
    }
    let verdicts = verdicts(all());
    if !verdicts.is_empty() {
        text += &format!(": {verdicts}");
    }
    format!("{text}; {}", findings(found))
}

/// `6 fit, 2 to trim, 1 oversize`, `1 fits`; nothing for no pieces.
pub fn verdicts<'a>(pieces: impl Iterator<Item = &'a Piece> + Clone) -> String {
    let all = [(Verdict::Fits, "fit"), (Verdict::Trim, "to trim"), (Verdict::Oversize, "oversize")];
    let counted =
        all.map(|(verdict, words)| (pieces.clone().filter(|p| p.verdict == verdict).count(), words));
    let word = |number: usize, words| if (number, words) == (1, "fit") { "fits" } else { words };
    let said = counted.iter().filter(|(number, _)| *number > 0);
    let said = said.map(|&(number, words)| format!("{number} {}", word(number, words)));
    said.collect::<Vec<_>>().join(", ")
}

fn findings<'a, I: Iterator<Item = &'a Finding>>(all: impl Fn() -> I) -> String {
    let of = |severity| all().filter(|found| found.severity == severity).count();
    let words: Vec<String> = [Severity::Error, Severity::Warning, Severity::Note]
        .into_iter()
        .map(|severity| (of(severity), severity.word()))
        .filter(|&(number, _)| number > 0)
        .map(|(number, word)| count(number, word))
        .collect();
    if words.is_empty() { "nothing found".to_owned() } else { words.join(", ") }
}

/// Pieces that are the same but for their number: copies of one marking made as one thing, in order.
pub fn alike(pieces: &[Piece]) -> impl Iterator<Item = &[Piece]> {
    pieces.chunk_by(|a, b| {
        a.marking == b.marking && a.make == b.make && a.verdict == b.verdict && a.section == b.section
    })
}

/// Findings of pieces, each once, with the numbers of those that have it: a table of stencils may say one thing
/// of twenty.
pub fn gathered(pieces: &[Piece]) -> Vec<(&Finding, Vec<u32>)> {
    let mut all: Vec<(&Finding, Vec<u32>)> = Vec::new();
    let mut known: BTreeMap<(&str, &str, String), usize> = BTreeMap::new();
    for piece in pieces {
        for finding in &piece.findings {
            let key = (finding.text.as_str(), finding.help.as_str(), finding.at.to_string());
            let k = *known.entry(key).or_insert(all.len());
            if k == all.len() {
                all.push((finding, Vec::new()));
            }
            if all[k].1.last() != Some(&piece.number) {
                all[k].1.push(piece.number);
            }
        }
    }
    all
}

/// ` (piece 7)`, ` (pieces 1–4, 7)`.
pub fn whose(numbers: &[u32]) -> String {
    let many = if numbers.len() > 1 { "s" } else { "" };
    format!(" (piece{many} {})", numbers_of(numbers.iter().copied()))
}

/// How many of these pieces are wanted, and how many are spares.
pub fn wanted_and_spare(plan: &Plan, alike: &[Piece]) -> [usize; 2] {
    let spare = alike.iter().filter(|piece| plan.is_spare(piece)).count();
    [alike.len() - spare, spare]
}

/// `3`, or `3–6` where copies share a line.
pub fn numbers(alike: &[Piece]) -> String {
    numbers_of(alike.iter().map(|piece| piece.number))
}

/// The same for numbers that grow, with commas where some are left out: `1–4, 7`.
pub fn numbers_of(numbers: impl Iterator<Item = u32>) -> String {
    let all: Vec<u32> = numbers.collect();
    let run = |run: &[u32]| match run {
        [first, .., last] => format!("{first}–{last}"),
        run => run.iter().map(u32::to_string).collect(),
    };
    all.chunk_by(|a, b| a + 1 == *b).map(run).collect::<Vec<_>>().join(", ")
}
