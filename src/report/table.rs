//! The table on a terminal: one block a scale, verdicts first, findings under it.
//!
//! Takes the width and whether colour is allowed; whether there is a terminal
//! is for others to know. Colour only repeats what a word says. Columns that
//! do not fit are left out from the least needed on, then names are shortened.

use super::film_use;
use super::tally;
use super::text::plain;
use crate::flow::{Code, Finding, Make, Outcome, Piece, ScaleOutcome, Severity, Verdict};
use crate::outline::number::{said_factor, said_mm, said_share, short};
use crate::units::{Length, Model, Size};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Narrower than this nothing lines up; such terminals get lines that wrap.
const NARROWEST: usize = 40;
/// Longer lines are hard to follow with the eye.
const WIDEST: usize = 140;
/// Between two columns.
const GAP: &str = "  ";

/// The whole table for a terminal of `width` columns, ending in a line of counts.
pub fn table(outcome: &Outcome, width: usize, colour: bool) -> String {
    let page = Page { width: width.clamp(NARROWEST, WIDEST), colour };
    let mut lines = page.wrapped(&plain(&outcome.plan.title), 0);
    for at in &outcome.scales {
        lines.push(String::new());
        lines.extend(page.block(outcome, at));
    }
    if !outcome.together.sheets.is_empty() || !outcome.together.findings.is_empty() {
        lines.push(String::new());
        lines.extend(page.together(outcome));
    }
    lines.push(String::new());
    lines.extend(page.wrapped(&tally::whole(outcome), 0));
    lines.push(String::new());
    lines.join("\n")
}

/// A column of the table.
struct Column {
    head: &'static str,
    right: bool,
    /// The least needed goes first; 0 always stays.
    spare: u8,
    cells: Vec<String>,
}

impl Column {
    fn width(&self) -> usize {
        self.cells.iter().map(|cell| cell.width()).chain([self.head.width()]).max().unwrap_or(0)
    }
}

/// How to write lines.
#[derive(Clone, Copy)]
struct Page {
    width: usize,
    colour: bool,
}

impl Page {
    fn block(self, outcome: &Outcome, at: &ScaleOutcome) -> Vec<String> {
        let rows: Vec<&[Piece]> = tally::alike(&at.pieces).collect();
        let mut lines = vec![self.bold(&at.scale.to_string())];
        if !rows.is_empty() {
            lines.extend(self.rows(columns(outcome, at, &rows), &rows));
        }
        let told = tally::gathered(&at.pieces);
        // What was left open is told apart.
        for (finding, numbers) in told.into_iter().filter(|(found, _)| found.code != Code::Make) {
            lines.extend(self.finding(finding, &tally::whose(&numbers)));
        }
        lines.extend(self.left_open(outcome, &rows));
        for finding in &at.findings {
            lines.extend(self.finding(finding, ""));
        }
        for film in film_use::of_scale(outcome, at) {
            lines.extend(self.wrapped(&film.said(), 2));
        }
        lines
    }

    /// The sheets that scales share.
    fn together(self, outcome: &Outcome) -> Vec<String> {
        let mut lines = vec![self.bold("all scales together")];
        for finding in &outcome.together.findings {
            lines.extend(self.finding(finding, ""));
        }
        for film in film_use::shared(outcome) {
            lines.extend(self.wrapped(&film.said(), 2));
        }
        lines
    }

    /// What was chosen where the spec leaves open what to make: the column says it, the report why.
    fn left_open(self, outcome: &Outcome, rows: &[&[Piece]]) -> Vec<String> {
        let is_open = |row: &&&[Piece]| outcome.plan.markings[row[0].marking.0].make.is_empty();
        let open: Vec<&&[Piece]> = rows.iter().filter(is_open).collect();
        if open.is_empty() {
            return Vec::new();
        }
        let chosen = [Make::Decal, Make::Mask, Make::Tape].map(|make| {
            let of_make = open.iter().filter(|row| row[0].make == make);
            (make, tally::numbers_of(of_make.flat_map(|row| row.iter().map(|piece| piece.number))))
        });
        let chosen = chosen.iter().filter(|(_, numbers)| !numbers.is_empty());
        let chosen: Vec<String> =
            chosen.map(|(make, numbers)| format!("{numbers} as {}", make.one())).collect();
        let word = self.paint(Severity::Note.word(), Some(Severity::Note));
        let said =
            format!("{}: left open, so made {}; the report says why", Code::Make.word(), chosen.join(", "));
        let mut lines = self.wrapped(&said, 2 + Severity::Note.word().width() + 1);
        lines[0] = format!("  {word} {}", lines[0].trim_start());
        lines
    }

    /// Head and rows, the columns that fit.
    fn rows(self, mut columns: Vec<Column>, rows: &[&[Piece]]) -> Vec<String> {
        let total = |columns: &[Column]| {
            columns.iter().map(Column::width).sum::<usize>() + GAP.len() * (columns.len().saturating_sub(1))
        };
        while total(&columns) > self.width {
            let Some(least) = (0..columns.len()).max_by_key(|&k| columns[k].spare) else { break };
            if columns[least].spare == 0 {
                break;
            }
            columns.remove(least);
        }
        let excess = total(&columns).saturating_sub(self.width);
        if let Some(names) = columns.iter_mut().find(|column| column.head == MARKING) {
            let room = names.width().saturating_sub(excess).max(MARKING.len());
            names.cells.iter_mut().for_each(|cell| *cell = shortened(cell, room));
        }
        let heads: Vec<String> = columns.iter().map(|c| padded(c.head, c.width(), c.right)).collect();
        let mut lines = vec![self.faint(heads.join(GAP).trim_end())];
        for (k, row) in rows.iter().enumerate() {
            let cells = columns.iter().enumerate().map(|(n, column)| {
                let cell = padded(&column.cells[k], column.width(), column.right);
                if n == 0 { self.paint(&cell, severity_of(row[0].verdict)) } else { cell }
            });
            lines.push(cells.collect::<Vec<_>>().join(GAP).trim_end().to_owned());
        }
        lines
    }

    fn finding(self, finding: &Finding, whose: &str) -> Vec<String> {
        let word = self.paint(finding.severity.word(), Some(finding.severity));
        let said = format!("{}{whose}: {}", finding.code.word(), plain(&finding.text));
        let lead = finding.severity.word().width() + 1;
        let mut lines = self.wrapped(&said, 2 + lead);
        if let Some(first) = lines.first_mut() {
            *first = format!("  {word} {}", first.trim_start());
        }
        lines.extend(self.wrapped(&format!("help: {}", plain(&finding.help)), 4));
        lines.extend(self.wrapped(&plain(&finding.at.to_string()), 4));
        lines
    }

    /// Lines no wider than the page, each begun with `indent` spaces; words that are wider alone are broken.
    fn wrapped(self, text: &str, indent: usize) -> Vec<String> {
        let room = self.width.saturating_sub(indent).max(1);
        let mut lines: Vec<String> = vec![String::new()];
        for word in text.split(' ').flat_map(|word| broken(word, room)) {
            // There is always a last line: the list starts with one.
            let last = lines.len() - 1;
            let line = &mut lines[last];
            if line.is_empty() {
                *line = word;
            } else if line.width() + 1 + word.width() <= room {
                line.push(' ');
                *line += &word;
            } else {
                lines.push(word);
            }
        }
        lines.iter().map(|line| format!("{}{line}", " ".repeat(indent)).trim_end().to_owned()).collect()
    }

    fn paint(self, text: &str, severity: Option<Severity>) -> String {
        self.wrap_code(
            text,
            match severity {
                Some(Severity::Error) => "1;31",
                Some(Severity::Warning) => "33",
                Some(Severity::Note) => "36",
                None => "32",
            },
        )
    }

    fn bold(self, text: &str) -> String {
        self.wrap_code(text, "1")
    }

    fn faint(self, text: &str) -> String {
        self.wrap_code(text, "2")
    }

    /// ECMA-48 select graphic rendition.
    fn wrap_code(self, text: &str, code: &str) -> String {
        if self.colour { format!("\x1b[{code}m{text}\x1b[0m") } else { text.to_owned() }
    }
}

const MARKING: &str = "marking";

fn columns(outcome: &Outcome, at: &ScaleOutcome, rows: &[&[Piece]]) -> Vec<Column> {
    let column = |head, right, spare, cell: &dyn Fn(&[Piece]) -> String| Column {
        head,
        right,
        spare,
        cells: rows.iter().map(|row| cell(row)).collect(),
    };
    let all = vec![
        column("verdict", false, 0, &|row| row[0].verdict.word().to_owned()),
        column("no.", true, 0, &|row| tally::numbers(row)),
        column(MARKING, false, 0, &|row| {
            let section = row[0].section.map_or_else(String::new, |section| format!(" {}", section.letter()));
            plain(&outcome.plan.markings[row[0].marking.0].name) + &section
        }),
        column("part", false, 3, &|row| plain(&outcome.plan.parts[row[0].part.0].name)),
        column("make", false, 1, &|row| row[0].make.word().to_owned()),
        column("size mm", true, 0, &|row| size(row[0].fit.size)),
        column("overhang", true, 2, &|row| overhang(&row[0])),
        column("largest fit", true, 4, &|row| largest_fit(&row[0])),
        column("lies", false, 5, &|row| row[0].lies.word().to_owned()),
        column("squeeze", true, 7, &|row| said_share(-row[0].fit.strain.squeeze_p99)),
        column("sheet", false, 6, &|row| plain(&sheets(outcome, at, row))),
    ];
    all.into_iter().filter(|column| column.cells.iter().any(|cell| !cell.is_empty())).collect()
}

/// The sheets of all copies; of many, the first and the last.
fn sheets(outcome: &Outcome, at: &ScaleOutcome, row: &[Piece]) -> String {
    /// More names make a column that nothing else stands beside.
    const MOST: usize = 3;
    let mut all: Vec<String> = Vec::new();
    for kept in row.iter().flat_map(|piece| outcome.sheets_with(at, piece.number)) {
        if !all.contains(&kept.sheet.stem) {
            all.push(kept.sheet.stem.clone());
        }
    }
    match &all[..] {
        [first, .., last] if all.len() > MOST => format!("{first} … {last}"),
        _ => all.join(", "),
    }
}

fn size(size: Size<Model>) -> String {
    let side = |length: Length<Model>| short(length.to_mm(), 2);
    format!("{} × {}", side(size.width), side(size.height))
}

fn overhang(piece: &Piece) -> String {
    if piece.fit.past.is_empty() { String::new() } else { said_mm(piece.fit.overhang.to_mm()) }
}

/// The fit looks no further than four times.
fn largest_fit(piece: &Piece) -> String {
    if piece.fit.largest_fit >= 4.0 { String::new() } else { said_factor(piece.fit.largest_fit) }
}

/// The colour that a verdict's word gets.
const fn severity_of(verdict: Verdict) -> Option<Severity> {
    match verdict {
        Verdict::Fits => None,
        Verdict::Trim => Some(Severity::Warning),
        Verdict::Oversize => Some(Severity::Error),
    }
}

fn padded(text: &str, width: usize, right: bool) -> String {
    let blank = " ".repeat(width.saturating_sub(text.width()));
    if right { blank + text } else { text.to_owned() + &blank }
}

/// At most `room` columns, an ellipsis where something is left out.
fn shortened(text: &str, room: usize) -> String {
    if text.width() <= room {
        return text.to_owned();
    }
    format!("{}…", head(text, room.saturating_sub(1)))
}

/// As many whole characters from the front as fit in `room` columns.
fn head(text: &str, room: usize) -> &str {
    let mut used = 0;
    let end = text.char_indices().find(|(_, c)| {
        used += c.width().unwrap_or(0);
        used > room
    });
    end.map_or(text, |(k, _)| &text[..k])
}

/// A word in bits no wider than `room`.
fn broken(word: &str, room: usize) -> Vec<String> {
    let mut bits = Vec::new();
    let mut rest = word;
    while rest.width() > room {
        let bit = head(rest, room);
        if bit.is_empty() {
            break;
        }
        bits.push(bit.to_owned());
        rest = &rest[bit.len()..];
    }
    bits.push(rest.to_owned());
    bits
}

#[cfg(test)]
mod tests {
    use super::super::fixture;
    use super::*;

    #[test]
    fn every_line_fits_the_terminal() {
        for width in [40, 60, 80, 140] {
            let text = table(&fixture::outcome(), width, false);
            for line in text.lines() {
                assert!(line.width() <= width, "{width}: {} {line:?}", line.width());
            }
        }
    }

    #[test]
    fn columns_stand_under_their_heads() {
        let text = table(&fixture::outcome(), 140, false);
        let lines: Vec<&str> = text.lines().collect();
        let head = lines.iter().position(|line| line.starts_with("verdict")).unwrap();
        for name in ["marking", "part", "make", "lies", "sheet"] {
            let at = lines[head].find(name).unwrap_or_else(|| panic!("no {name} in {}", lines[head]));
            let start = lines[head][..at].width();
            for row in &lines[head + 1..head + 3] {
                // The column starts after a gap: two blanks, then the cell.
                let before: String = head_of(row, start);
                assert!(before.ends_with("  "), "{name}: {row:?}");
                let cell = &row[before.len()..];
                assert!(!cell.starts_with(' '), "{name}: {row:?}");
            }
        }
        assert!(lines[head + 1].starts_with("oversize"), "verdict words first");
    }

    fn head_of(row: &str, columns: usize) -> String {
        head(row, columns).to_owned()
    }

    #[test]
    fn narrow_terminals_keep_the_verdict_the_name_and_the_size() {
        let text = table(&fixture::outcome(), 60, false);
        let head = text.lines().find(|line| line.starts_with("verdict")).unwrap();
        assert!(head.contains("marking") && head.contains("size mm") && !head.contains("sheet"), "{head}");
    }

    #[test]
    fn colour_only_where_allowed_and_control_characters_never() {
        let mut outcome = fixture::outcome();
        std::sync::Arc::make_mut(&mut outcome.plan).title = "red\x1b[31m alert".into();
        let bare = table(&outcome, 80, false);
        assert!(!bare.contains('\x1b') && bare.contains("red\\u{1b}[31m alert"));
        let painted = table(&outcome, 80, true);
        assert!(painted.contains("\x1b[1;31moversize"));
        // Taking the codes away leaves the very same text.
        let mut stripped = painted;
        for code in ["1;31", "33", "36", "32", "1", "2", "0"] {
            stripped = stripped.replace(&format!("\x1b[{code}m"), "");
        }
        assert_eq!(stripped, bare);
    }

    #[test]
    fn findings_stand_under_their_scale_with_help_and_place() {
        let text = table(&fixture::outcome(), 80, false);
        let lines: Vec<&str> = text.lines().collect();
        let at = lines.iter().position(|line| line.starts_with("  error oversize (piece 1): ")).unwrap();
        assert!(lines[at + 1..].iter().any(|line| line.starts_with("    help: print at 41 %")));
        assert!(lines.contains(&"    harrow-tarn.yaml:12:3"));
        assert_eq!(
            lines.last(),
            Some(&"4 pieces on 1 sheet: 2 fit, 1 to trim, 1 oversize; 1 error, 2 warnings")
        );
    }

    #[test]
    fn wide_letters_count_for_two() {
        assert_eq!(shortened("幅広い文字", 6), "幅広…");
        assert_eq!(padded("幅", 4, false), "幅  ");
    }
}
