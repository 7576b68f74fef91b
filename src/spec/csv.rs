//! Tables of comma-separated values: points, profiles, stations.
//!
//! A row to a line; commas between the cells, or semicolons, or tabs, whichever
//! the first line has. Lines that are empty or begin with `#` are passed over.
//! The first line may name the columns, each with its unit: `station (mm),radius (mm)`.
//! A cell is a number in its column's unit, or else in the unit that the spec
//! gives, or a length with a unit of its own. Left out: cells over several lines.

use super::length::{bare, length, sane, unit_mm};
use super::log::{Log, Wrong};
use super::problem::shown;
use crate::units::{Full, Length};
use std::ops::Range;

/// A table, its cells as the bytes they take.
#[derive(Debug)]
pub struct Table {
    source: usize,
    /// Names in lower case and the mm that one of a column's unit is; none where the first line has numbers.
    pub columns: Vec<(String, Option<f64>)>,
    pub rows: Vec<Row>,
}

#[derive(Clone, Debug)]
pub struct Row {
    pub span: Range<usize>,
    cells: Vec<Range<usize>>,
}

/// Reads a source as a table; units that are none are told.
pub fn read(log: &Log, source: usize) -> Table {
    let text = &log.sources[source].text;
    let mut table = Table { source, columns: Vec::new(), rows: Vec::new() };
    let mut separator = None;
    let mut start = 0;
    for line in text.split_inclusive(['\n', '\r']) {
        let span = trimmed(text, start..start + line.len());
        start += line.len();
        let line = &text[span.clone()];
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let is_first = separator.is_none();
        let comma = *separator
            .get_or_insert_with(|| [';', '\t'].into_iter().find(|&c| line.contains(c)).unwrap_or(','));
        let mut from = span.start;
        let cells: Vec<Range<usize>> = line
            .split(comma)
            .map(|cell| {
                let cell_span = trimmed(text, from..from + cell.len());
                from += cell.len() + comma.len_utf8();
                cell_span
            })
            .collect();
        let is_number = |cell: &str| cell.starts_with(|c: char| c.is_ascii_digit() || "+-−.".contains(c));
        if is_first && !is_number(&text[cells[0].clone()]) {
            table.columns = cells.iter().map(|cell| column(log, source, cell)).collect();
        } else {
            table.rows.push(Row { span, cells });
        }
    }
    table
}

/// Without white space and quotation marks round it.
fn trimmed(text: &str, span: Range<usize>) -> Range<usize> {
    let part = &text[span.clone()];
    let outer = |c: char| c.is_whitespace() || c == '"';
    let start = span.start + (part.len() - part.trim_start_matches(outer).len());
    start..start + part.trim_matches(outer).len()
}

fn column(log: &Log, source: usize, cell: &Range<usize>) -> (String, Option<f64>) {
    let text = &log.sources[source].text[cell.clone()];
    let (name, rest) = text.split_once(['(', '[']).unwrap_or((text, ""));
    let unit = rest.trim_end_matches([')', ']']).trim();
    let mm = (!unit.is_empty()).then(|| unit_mm(unit)).transpose();
    let mm = mm.map_err(|wrong| log.span(source, cell, wrong)).ok().flatten();
    (name.trim().to_lowercase(), mm)
}

impl Table {
    /// The column of a name.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|(known, _)| known == name)
    }

    /// What stands in a column of a row; told and none where there is nothing.
    fn cell<'l>(&self, log: &'l Log, row: &Row, column: usize) -> Option<(&'l str, Range<usize>)> {
        let Some(cell) = row.cells.get(column).filter(|cell| !cell.is_empty()) else {
            let message = match row.cells.len() {
                1 => "this row has 1 cell".into(),
                cells => format!("this row has {cells} cells"),
            };
            let help = format!("give column {} too, with commas between the cells", column + 1);
            log.span(self.source, &row.span, Wrong::new(message, help));
            return None;
        };
        Some((&log.sources[self.source].text[cell.clone()], cell.clone()))
    }

    /// A length; `unit` is what numbers are in whose column does not say.
    pub fn length(&self, log: &Log, row: &Row, column: usize, unit: Option<f64>) -> Option<Length<Full>> {
        let (text, cell) = self.cell(log, row, column)?;
        let unit = self.columns.get(column).and_then(|column| column.1).or(unit);
        let found = match (number(text), unit) {
            (Some(number), Some(mm)) => sane(Length::mm(number * mm), text),
            (Some(_), None) => {
                let help =
                    "name it in the first line, `station (mm),radius (mm)`, or in the spec: `unit: mm`";
                Err(Wrong { help: help.into(), ..bare(&shown(text)) })
            }
            (None, _) => length(text),
        };
        found.map_err(|wrong| log.span(self.source, &cell, wrong)).ok()
    }

    /// A plain number.
    pub fn number(&self, log: &Log, row: &Row, column: usize) -> Option<f64> {
        let (text, cell) = self.cell(log, row, column)?;
        let found = number(text);
        if found.is_none() {
            let wrong = Wrong::new(format!("`{}` is not a number", shown(text)), "write digits only");
            log.span(self.source, &cell, wrong);
        }
        found
    }
}

/// A number as programs write it, with an exponent or without.
fn number(text: &str) -> Option<f64> {
    let plain = text.replacen('−', "-", 1);
    let numeric = plain.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
    plain.parse().ok().filter(|number: &f64| numeric && number.is_finite())
}

#[cfg(test)]
mod tests {
    use super::super::source::Source;
    use super::*;

    fn log_of(text: &str) -> Log {
        let mut log = Log::default();
        log.sources.push(Source::new("t.csv", text));
        log
    }

    fn column_of(text: &str, column: usize, unit: Option<f64>) -> (Vec<f64>, Vec<String>) {
        let log = log_of(text);
        let table = read(&log, 0);
        let found = table
            .rows
            .iter()
            .filter_map(|row| table.length(&log, row, column, unit))
            .map(Length::to_mm)
            .collect();
        (found, log.into_problems().iter().map(|p| format!("{} {}", p.place, p.message)).collect())
    }

    #[test]
    fn tables_as_programs_write_them() {
        for text in [
            "station (mm),radius (mm)\n0,0\n 400 , 310 \r\n\n# nose\n1500,6.0e2\n",
            "\"station [mm]\";\"radius [mm]\"\n0;0\n400;310\n1500;600",
            "0\t0\n0.4 m\t31 cm\n1500\t600\n",
        ] {
            assert_eq!(column_of(text, 1, Some(1.0)), (vec![0.0, 310.0, 600.0], vec![]), "{text}");
        }
        assert_eq!(column_of("x (in),r\n1,2\n", 0, Some(1.0)).0, [25.4]);
    }

    #[test]
    fn what_is_wrong_has_its_place() {
        let problems = |text: &str, unit| column_of(text, 1, unit).1;
        assert_eq!(
            problems("0,1\n2,3x\n4\n5,NaN", Some(1.0)),
            [
                "t.csv:2:3 `x` is no unit of length",
                "t.csv:3:1 this row has 1 cell",
                "t.csv:4:3 `NaN` is not a length"
            ]
        );
        assert_eq!(problems("station,radius\n0,1", None), ["t.csv:2:3 `1` has no unit"]);
        assert_eq!(problems("station (mm),radius (mn)\n", None), ["t.csv:1:14 `mn` is no unit of length"]);
        assert_eq!(problems("0;1,5", Some(1.0)), ["t.csv:1:3 `,` is no unit of length"]);
    }
}
