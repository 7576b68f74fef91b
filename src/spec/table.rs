//! `table`: rows of a CSV file become markings, each like the marking that names the table but for its own columns.
//!
//! ```text
//! stencils: {table: stencils.csv, part: boom, draw: {rectangle: {height: 2 in}}, colour: bone}
//!
//! name,      width, station, around
//! tow-here,  9 in,  1.2 m,   left
//! ```
//!
//! A column is a word of a marking (`part`, `colour`, `copies`, `note`), a word of its
//! `at` (`station`, `around`, `up`), or else a word of what is drawn; `draw.up` and the
//! like say so where a word could be both. Cells are marked as values of their own, so
//! that all that is wrong is told by its row and column. How the file is read is for
//! [`super::csv`] to know.

use super::Files;
use super::csv::{Cell, records};
use super::log::{At, Key, Mark, Wrong};
use super::problem::shown;
use super::source::{self, Source};
use super::tree::{Content, Node};
use super::words::Text;
use std::collections::BTreeMap;
use std::ops::Range;

/// More markings than all the stencils of an airliner.
const MOST_ROWS: usize = 3000;
const MOST_COLUMNS: usize = 60;

/// Words of a marking that a column may be; its drawing's own words are all others.
const MARKING: [&str; 14] = [
    "part",
    "draw",
    "colour",
    "colours",
    "both_sides",
    "hold",
    "lay",
    "make",
    "copies",
    "may_trim",
    "size_by",
    "made",
    "over",
    "note",
];
const PLACE: [&str; 12] =
    ["seen", "aft", "forward", "right", "left", "up", "down", "station", "around", "from", "offset", "turn"];
/// Words whose cells are texts, whatever they look like.
const TEXTS: [&str; 7] = ["text", "note", "part", "colour", "colours", "over", "from"];
/// Words whose cells may hold several, with `;` or `+` between them.
const LISTS: [&str; 4] = ["colours", "make", "may_trim", "over"];

/// Writes every table of the markings out as rows.
pub fn written_out(files: &mut Files<'_>, root: &mut Node) {
    let Content::Map(sections) = &mut root.content else { return };
    let Some((_, Node { content: Content::Map(markings), .. })) =
        sections.iter_mut().find(|(word, _)| word == "markings")
    else {
        return;
    };
    let mut all: Vec<(String, Node)> = Vec::new();
    // Names, and whether they are a row's. A key that is given twice is told already.
    let mut known: BTreeMap<String, bool> = BTreeMap::new();
    for (name, node) in std::mem::take(markings) {
        let is_table = entry(&node, "table").is_some();
        let own = if is_table { rows(files, &name, &node) } else { Some(vec![(name, node)]) };
        for (name, node) in own.into_iter().flatten() {
            let before = known.insert(name.clone(), is_table);
            if before.is_none_or(|of_table| !of_table && !is_table) {
                all.push((name, node));
            } else {
                let message = format!("two markings are called `{}`", shown(&name));
                files.log.key(node.at, message, "give each a name of its own: of rows, in the column `name`");
            }
        }
    }
    *markings = all;
}

fn entry<'a>(node: &'a Node, word: &str) -> Option<&'a Node> {
    let Content::Map(entries) = &node.content else { return None };
    entries.iter().find(|(other, _)| other == word).map(|(_, node)| node)
}

/// The markings of one table.
fn rows(files: &mut Files<'_>, name: &str, like: &Node) -> Option<Vec<(String, Node)>> {
    let table = entry(like, "table")?;
    let Content::Text(file_name) = &table.content else {
        files.log.value(table.at, "a table is a file", "name a CSV file: `table: stencils.csv`");
        return None;
    };
    let bytes = files.opened(&Text(file_name.clone()), table.at)?;
    let file = files.log.sources.len();
    let shown_name = format!("{}{file_name}", files.folder);
    let text = match source::decode(&bytes, files.log.limits, source::Kind::Table) {
        Ok(text) => text.to_owned(),
        Err((readable, wrong)) => {
            files.log.sources.push(Source::new(&shown_name, readable));
            files.log.span(file, &(readable.len()..readable.len()), wrong);
            return None;
        }
    };
    files.log.sources.push(Source::new(&shown_name, &text));
    let records = match records(&text) {
        Ok(records) => records,
        Err((at, wrong)) => {
            files.log.span(file, &at, wrong);
            return None;
        }
    };
    // Every row has all that the marking has, and may name a list as long as a spec.
    if let Err(wrong) = files.log.counted(records.len().saturating_mul(like.weight())) {
        files.log.span(file, &(0..0), wrong);
        return None;
    }
    let mut sheet = Table { files, file, base: name, like };
    sheet.markings(&records)
}

/// A table being written out.
struct Table<'f, 'a> {
    files: &'f mut Files<'a>,
    file: usize,
    base: &'f str,
    /// The marking that names the table.
    like: &'f Node,
}

impl Table<'_, '_> {
    fn markings(&mut self, records: &[Vec<Cell>]) -> Option<Vec<(String, Node)>> {
        let Some((head, rows)) = records.split_first() else {
            let wrong = Wrong::new("there is nothing in this table", "begin with a row of column names");
            self.files.log.span(self.file, &(0..0), wrong);
            return None;
        };
        if rows.is_empty() || rows.len() > MOST_ROWS || head.len() > MOST_COLUMNS {
            let message = format!("a table of {} rows and {} columns", rows.len(), head.len());
            let help = format!("give from one row to {MOST_ROWS}, at most {MOST_COLUMNS} columns");
            self.files.log.span(self.file, &head[0].1, Wrong::new(message, help));
            return None;
        }
        for (k, (word, at)) in head.iter().enumerate() {
            if head[..k].iter().any(|(other, _)| other == word) {
                let wrong = Wrong::new(format!("two columns are called `{}`", shown(word)), "take one out");
                self.files.log.span(self.file, at, wrong);
            }
        }
        let mut all = Vec::new();
        for (number, row) in rows.iter().enumerate() {
            if row.len() > head.len() {
                let message = format!("a row of {} cells under {} columns", row.len(), head.len());
                let wrong = Wrong::new(message, "put a cell with a comma in it into quotation marks");
                self.files.log.span(self.file, &row[head.len()].1, wrong);
                continue;
            }
            all.push(self.marking(head, row, number + 1));
        }
        Some(all)
    }

    fn marking(&mut self, head: &[Cell], row: &[Cell], number: usize) -> (String, Node) {
        let cells = || head.iter().zip(row).filter(|(_, (cell, _))| !cell.is_empty());
        let named = cells().find(|((word, _), _)| word == "name").map(|(_, cell)| cell);
        // Names are told by the row, so that each finding has a place.
        let name = named.map_or_else(|| format!("{}-{number}", self.base), |(cell, _)| cell.clone());
        let span = named
            .or_else(|| row.iter().find(|(cell, _)| !cell.is_empty()))
            .map_or(0..0, |(_, at)| at.clone());
        let at = self.mark(&name, &span, span.clone());
        let Content::Map(like) = &self.like.content else {
            return (name, Node { at, content: Content::Empty });
        };
        let mut entries: BTreeMap<String, Node> =
            like.iter().filter(|(word, _)| word != "table").cloned().collect();
        let kind = cells().find(|((word, _), _)| word == "draw");
        if let Some((column, cell)) = kind {
            let other = entries.get("draw").is_none_or(|node| entry(node, &cell.0).is_none());
            if other {
                let word = self.mark(&column.0, &column.1, cell.1.clone());
                let inner = self.mark(&cell.0, &cell.1, cell.1.clone());
                let empty = Node { at: inner, content: Content::Map(Vec::new()) };
                let drawn = Node { at: word, content: Content::Map(vec![(cell.0.clone(), empty)]) };
                entries.insert("draw".to_owned(), drawn);
            }
        }
        for ((word, word_at), (cell, cell_at)) in cells() {
            if matches!(word.as_str(), "name" | "draw") {
                continue;
            }
            let (path, word) = match word.split_once('.') {
                Some((section, word)) => (Some(section), word),
                None if MARKING.contains(&word.as_str()) => (None, word.as_str()),
                None if PLACE.contains(&word.as_str()) => (Some("at"), word.as_str()),
                None => (Some("draw"), word.as_str()),
            };
            let cell_node = self.cell(word, word_at, cell, cell_at);
            let Some(section) = path else {
                entries.insert(word.to_owned(), cell_node);
                continue;
            };
            let empty = |at| Node { at, content: Content::Map(Vec::new()) };
            let section_at = self.mark(section, &span, cell_at.clone());
            let node = entries.entry(section.to_owned()).or_insert_with(|| empty(section_at));
            // A drawing's words lie one deeper, under its kind.
            let node = match (&mut node.content, section) {
                (Content::Map(kinds), "draw") => match kinds.first_mut() {
                    Some((_, kind)) => kind,
                    None => node,
                },
                (Content::Text(kind), "draw") => {
                    let (kind, at) = (std::mem::take(kind), node.at);
                    node.content = Content::Map(vec![(kind, empty(at))]);
                    let Content::Map(kinds) = &mut node.content else { continue };
                    &mut kinds[0].1
                }
                _ => node,
            };
            if matches!(node.content, Content::Empty) {
                node.content = Content::Map(Vec::new());
            }
            let Content::Map(words) = &mut node.content else {
                let message = format!("`{}` says nothing of this `{section}`", shown(word));
                let help = format!("write `{section}` as a map, or take the column out");
                self.files.log.span(self.file, cell_at, Wrong::new(message, help));
                continue;
            };
            words.retain(|(other, _)| other != word);
            words.push((word.to_owned(), cell_node));
        }
        // What a row leaves out of its drawing is missed at the row.
        if let Some(Content::Map(kinds)) = entries.get_mut("draw").map(|draw| &mut draw.content) {
            kinds.iter_mut().for_each(|(_, kind)| kind.at = at);
        }
        (name, Node { at, content: Content::Map(entries.into_iter().collect()) })
    }

    /// A cell as YAML would have it.
    fn cell(&mut self, word: &str, word_at: &Range<usize>, cell: &str, at: &Range<usize>) -> Node {
        let scalar = |cell: &str| match (cell, cell.parse::<f64>()) {
            // What is written stays written: `007` is a text, and so is every `text`.
            ("true" | "yes", _) if word == "both_sides" => Content::Yes(true),
            ("false" | "no", _) if word == "both_sides" => Content::Yes(false),
            (_, Ok(number)) if !TEXTS.contains(&word) && number.to_string() == cell => {
                Content::Number(number)
            }
            _ => Content::Text(cell.to_owned()),
        };
        let own = self.mark(word, word_at, at.clone());
        let several = LISTS.contains(&word) && cell.contains([';', '+']);
        let content = if several {
            let items = cell.split([';', '+']).map(str::trim).filter(|item| !item.is_empty());
            Content::List(items.map(|item| Node { at: own, content: scalar(item) }).collect())
        } else {
            scalar(cell)
        };
        Node { at: own, content }
    }

    fn mark(&mut self, word: &str, key: &Range<usize>, value: Range<usize>) -> At {
        let key = Some(Key { text: word.to_owned(), span: key.clone() });
        let mark = Mark { file: self.file, key, value, children: Vec::new(), repeats: None };
        self.files.log.marks.push(mark);
        At(self.files.log.marks.len() - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(text: &str) -> Vec<Vec<String>> {
        let records = records(text).unwrap();
        records.into_iter().map(|row| row.into_iter().map(|(cell, _)| cell).collect()).collect()
    }

    /// RFC 4180, section 2: its own examples and rules 1 to 7.
    #[test]
    fn csv_as_the_rfc_has_it() {
        assert_eq!(cells("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"), [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]);
        assert_eq!(cells("aaa,bbb\nzzz,yyy"), [["aaa", "bbb"], ["zzz", "yyy"]]);
        assert_eq!(
            cells("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,,xxx"),
            [["aaa", "b\r\nbb", "ccc"], ["zzz", "", "xxx"]]
        );
        assert_eq!(cells("\"aaa\",\"b\"\"bb\",ccc"), [["aaa", "b\"bb", "ccc"]]);
        assert_eq!(cells("a;b\n1,5;2\n\n;;\n"), [["a", "b"], ["1,5", "2"]]);
        assert_eq!(cells("a\tb\n 1 \t 2 \n"), [["a", "b"], ["1", "2"]]);
        assert_eq!(cells("a,b\n1,\n,2\n"), [["a", "b"], ["1", ""], ["", "2"]]);
        assert!(records("a\n\"b").is_err() && records("a\n\"b\"c").is_err());
        assert_eq!(records("é, b\n1,  x y \n").unwrap()[1][1], ("x y".to_owned(), 10..13));
    }
}
