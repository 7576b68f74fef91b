//! Tables of comma-separated values: cells by rows, and from them points, profiles, stations.
//!
//! RFC 4180: a cell in quotation marks may hold anything, those inside it twice.
//! Commas between the cells, or semicolons, or tabs, where the first line has one. Lines
//! that are empty or begin with `#` are passed over. Of tables of numbers the first
//! line may name the columns, each with its unit: `station (mm),radius (mm)`.
//! A cell is a number in its column's unit, or else in the unit that the spec
//! gives, or a length with a unit of its own.

use super::length::{bare, length, sane, unit_mm};
use super::log::{Log, Wrong};
use super::problem::shown;
use crate::units::{Full, Length};
use std::ops::Range;

/// A cell: what it says, and its bytes in the file.
pub type Cell = (String, Range<usize>);

/// What stands between the cells of a table that begins with this line.
fn separator(head: &str) -> char {
    let mut quoted = false;
    let bare = head.chars().filter(|&c| {
        quoted ^= c == '"';
        !quoted
    });
    bare.into_iter().find(|c| [';', '\t'].contains(c)).unwrap_or(',')
}

/// Cells by rows; rows of nothing but space are left out, and remarks.
pub fn records(text: &str) -> Result<Vec<Vec<Cell>>, (Range<usize>, Wrong)> {
    let is_remark = |line: &str| line.trim_start().starts_with('#');
    let head =
        text.split(['\r', '\n']).find(|line| !line.trim().is_empty() && !is_remark(line)).unwrap_or_default();
    let separator = separator(head);
    let mut records = Vec::new();
    let mut row: Vec<Cell> = Vec::new();
    let mut rest = text.char_indices().peekable();
    while let Some(&(start, first)) = rest.peek() {
        if first == '#' && row.is_empty() {
            while rest.next_if(|&(_, c)| !matches!(c, '\r' | '\n')).is_some() {}
            rest.next();
            continue;
        }
        if first.is_whitespace() && first != separator && !matches!(first, '\r' | '\n') {
            rest.next();
            continue;
        }
        let mut cell = String::new();
        let mut end = start;
        if first == '"' {
            rest.next();
            loop {
                match rest.next() {
                    None => {
                        let wrong =
                            Wrong::new("a quotation mark without its end", "close it with another `\"`");
                        return Err((start..start + 1, wrong));
                    }
                    Some((_, '"')) if rest.next_if(|&(_, c)| c == '"').is_some() => cell.push('"'),
                    Some((at, '"')) => {
                        end = at + 1;
                        break;
                    }
                    Some((_, c)) => cell.push(c),
                }
            }
            while rest.next_if(|&(_, c)| c == ' ').is_some() {}
            if let Some(&(at, c)) = rest.peek().filter(|(_, c)| !matches!(c, '\r' | '\n') && *c != separator)
            {
                let help = "put the whole cell into quotation marks, those inside it twice";
                return Err((
                    at..at + c.len_utf8(),
                    Wrong::new("letters after a closing quotation mark", help),
                ));
            }
        } else {
            while let Some((at, c)) = rest.next_if(|&(_, c)| c != separator && !matches!(c, '\r' | '\n')) {
                cell.push(c);
                end = at + c.len_utf8();
            }
            let trimmed = cell.trim_end().len();
            end -= cell.len() - trimmed;
            cell.truncate(trimmed);
        }
        row.push((cell, start..end.max(start)));
        match rest.next() {
            Some((at, c)) if c == separator => {
                // A separator before the end of the line leaves an empty cell after it.
                if rest.peek().is_none_or(|&(_, c)| matches!(c, '\r' | '\n')) {
                    row.push((String::new(), at + 1..at + 1));
                    while rest.next_if(|&(_, c)| c == '\r').is_some() {}
                    rest.next_if(|&(_, c)| c == '\n');
                    records.push(std::mem::take(&mut row));
                }
            }
            Some((_, '\r')) => {
                rest.next_if(|&(_, c)| c == '\n');
                records.push(std::mem::take(&mut row));
            }
            _ => records.push(std::mem::take(&mut row)),
        }
    }
    records.extend((!row.is_empty()).then_some(row));
    records.retain(|row: &Vec<Cell>| row.iter().any(|(cell, _)| !cell.is_empty()));
    Ok(records)
}

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
    cells: Vec<Cell>,
}

/// Reads a source as a table of numbers; units that are none are told, and columns of one name. `None` where there
/// are no cells to be made out, which is told.
pub fn read(log: &Log, source: usize) -> Option<Table> {
    let mut table = Table { source, columns: Vec::new(), rows: Vec::new() };
    let records = records(&log.sources[source].text);
    let records = records.map_err(|(at, wrong)| log.span(source, &at, wrong)).ok()?;
    let is_number = |cell: &str| cell.starts_with(|c: char| c.is_ascii_digit() || "+-−.".contains(c));
    for (k, cells) in records.into_iter().enumerate() {
        if k == 0 && !is_number(&cells[0].0) {
            table.columns = cells.iter().map(|cell| column(log, source, cell)).collect();
            for (k, (name, _)) in table.columns.iter().enumerate() {
                if table.columns[..k].iter().any(|(other, _)| other == name) {
                    let wrong =
                        Wrong::new(format!("two columns are called `{}`", shown(name)), "take one out");
                    log.span(source, &cells[k].1, wrong);
                }
            }
        } else {
            let span = cells[0].1.start..cells[cells.len() - 1].1.end;
            table.rows.push(Row { span, cells });
        }
    }
    Some(table)
}

fn column(log: &Log, source: usize, (text, cell): &Cell) -> (String, Option<f64>) {
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

    /// The columns of these names, whatever their order; as many from the first one on where the table names none.
    pub fn columns_of<const N: usize>(&self, log: &Log, names: [&str; N]) -> Option<[usize; N]> {
        if self.columns.is_empty() {
            return Some(std::array::from_fn(|k| k));
        }
        let help = || {
            format!("name them in the first line: `{}`", names.map(|name| format!("{name} (mm)")).join(","))
        };
        let unknown = self.columns.iter().find(|(name, _)| !names.contains(&name.as_str()));
        let lacking = names.iter().find(|name| self.column(name).is_none());
        let message = match (unknown, lacking) {
            (Some((name, _)), _) => format!("`{}` is no column of this table", shown(name)),
            (None, Some(name)) => format!("the column `{name}` is missing"),
            (None, None) => return Some(names.map(|name| self.column(name).unwrap_or(0))),
        };
        log.span(self.source, &(0..1), Wrong::new(message, help()));
        None
    }

    /// Tells a row that has more cells than so many.
    pub fn no_more_than(&self, log: &Log, row: &Row, most: usize) {
        if let Some((_, at)) = row.cells.get(most).filter(|(cell, _)| !cell.is_empty()) {
            let message = format!("this row has {} cells, and {most} are wanted", row.cells.len());
            log.span(self.source, at, Wrong::new(message, "take the others out; a decimal mark is a point"));
        }
    }

    /// What stands in a column of a row; told and none where there is nothing.
    fn cell<'r>(&self, log: &Log, row: &'r Row, column: usize) -> Option<(&'r str, Range<usize>)> {
        let Some((cell, at)) = row.cells.get(column).filter(|(cell, _)| !cell.is_empty()) else {
            let message = match row.cells.len() {
                1 => "this row has 1 cell".into(),
                cells => format!("this row has {cells} cells"),
            };
            let help = format!("give column {} too, with commas between the cells", column + 1);
            log.span(self.source, &row.span, Wrong::new(message, help));
            return None;
        };
        Some((cell, at.clone()))
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
        let table = read(&log, 0).unwrap();
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
