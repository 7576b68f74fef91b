//! A named text: bytes made readable, and offsets turned into lines and columns.
//!
//! Left out: what the text says.

use super::log::Wrong;
use super::problem::Excerpt;
use crate::flow::{Limits, Place};
use std::ops::Range;
use std::sync::Arc;

/// A named text.
#[derive(Debug)]
pub struct Source {
    pub name: Arc<str>,
    pub text: Arc<str>,
    /// Byte offset of the first character of each line.
    lines: Vec<usize>,
}

impl Source {
    pub fn new(name: &str, text: &str) -> Self {
        let mut lines = vec![0];
        let bytes = text.as_bytes();
        for (i, &byte) in bytes.iter().enumerate() {
            let lone_return = byte == b'\r' && bytes.get(i + 1) != Some(&b'\n');
            if byte == b'\n' || lone_return {
                lines.push(i + 1);
            }
        }
        Self { name: name.into(), text: text.into(), lines }
    }

    /// Where a byte offset stands; columns count characters.
    pub fn place(&self, offset: usize) -> Place {
        let (line, start) = self.line_of(offset);
        let before = &self.text[start..self.whole(offset.min(self.text.len()), false)];
        let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Place {
            file: Arc::clone(&self.name),
            line: count(line + 1),
            column: count(before.chars().count() + 1),
        }
    }

    /// The line that `range` begins on, its part of the range marked.
    pub fn excerpt(&self, range: &Range<usize>) -> Excerpt {
        /// Characters shown before the place, and in all, of a line too long for a terminal.
        const BEFORE: usize = 50;
        const WIDEST: usize = 140;
        let line = self.line(range.start);
        let start = self.whole(range.start.clamp(line.start, line.end), false);
        let end = self.whole(range.end.clamp(start, line.end), true);
        let before = &self.text[line.start..start];
        let first = before.char_indices().rev().nth(BEFORE).map_or(line.start, |(i, _)| line.start + i);
        let rest = &self.text[first..line.end];
        let last = rest.char_indices().nth(WIDEST).map_or(line.end, |(i, _)| first + i);
        // One column for one character: a tab or control character would shift the mark under it.
        let plain =
            |text: &str| text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect::<String>();
        let lead =
            format!("{}{}", if first > line.start { "…" } else { "" }, plain(&self.text[first..start]));
        let marked = plain(&self.text[start..end.min(last).max(start)]);
        let tail = plain(&self.text[end.min(last).max(start)..last.max(start)]);
        Excerpt {
            place: self.place(range.start),
            from: lead.len(),
            len: marked.len(),
            text: format!("{lead}{marked}{tail}{}", if last < line.end { "…" } else { "" }),
        }
    }

    /// Bytes of the line that an offset is on, without its break.
    pub fn line(&self, offset: usize) -> Range<usize> {
        let (line, start) = self.line_of(offset);
        let end = self.lines.get(line + 1).copied().unwrap_or(self.text.len());
        let text = &self.text[start..end];
        start..start + text.trim_end_matches(['\r', '\n']).len()
    }

    /// The nearest offset between two characters, at or after (`up`) or at or before this one.
    fn whole(&self, mut offset: usize, up: bool) -> usize {
        while !self.text.is_char_boundary(offset) {
            offset = if up { offset + 1 } else { offset - 1 };
        }
        offset
    }

    fn line_of(&self, offset: usize) -> (usize, usize) {
        let line = self.lines.partition_point(|&start| start <= offset) - 1;
        (line, self.lines[line])
    }
}

/// What a text file is read as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Spec,
    Table,
}

/// Bytes as text, a byte order mark taken off; or the readable beginning and what is wrong after it.
pub fn decode(bytes: &[u8], limits: Limits, kind: Kind) -> Result<&str, (&str, Wrong)> {
    let (what, share, help) = match kind {
        Kind::Spec => {
            ("spec", "share it out with `use`", "give a spec: a YAML text that begins with `markloft: 1`")
        }
        Kind::Table => (
            "table",
            "share it out over several tables",
            "save the table as comma-separated values, in UTF-8",
        ),
    };
    if bytes.len() as u64 > limits.file_bytes() {
        let (size, most) = (bytes.len().div_ceil(1 << 20), limits.file_bytes() >> 20);
        return Err((
            "",
            Wrong::new(
                format!("the file is {size} MiB long"),
                format!("a {what} may be {most} MiB: {share}; {}", Limits::RAISE),
            ),
        ));
    }
    if let Some(kind) = foreign(bytes) {
        return Err(("", Wrong::new(format!("this is {kind}, not a {what}"), help)));
    }
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    std::str::from_utf8(text).map_err(|error| {
        let (good, bad) = text.split_at(error.valid_up_to());
        let byte = bad.first().copied().unwrap_or_default();
        let message = format!("byte 0x{byte:02x} is not UTF-8 text");
        (std::str::from_utf8(good).unwrap_or_default(), Wrong::new(message, "save the file as UTF-8"))
    })
}

/// What a file is that cannot be a spec, by its first bytes.
fn foreign(bytes: &[u8]) -> Option<&'static str> {
    // Signatures from the formats' own standards: ISO 15948, ISO 10918, GIF89a, ISO 32000, PKWARE APPNOTE,
    // RFC 1952, RIFF/WebP; byte order marks from Unicode 23.8.
    let signatures: [(&[u8], &str); 9] = [
        (b"\x89PNG", "a PNG picture"),
        (b"\xff\xd8\xff", "a JPEG picture"),
        (b"GIF8", "a GIF picture"),
        (b"RIFF", "a picture or a sound"),
        (b"%PDF", "a PDF document"),
        (b"PK\x03\x04", "a ZIP archive"),
        (b"\x1f\x8b", "a gzip archive"),
        (b"\xff\xfe", "UTF-16 text"),
        (b"\xfe\xff", "UTF-16 text"),
    ];
    let known = signatures.iter().find(|(start, _)| bytes.starts_with(start)).map(|&(_, kind)| kind);
    known.or_else(|| bytes.contains(&0).then_some("a binary file"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_and_columns_count_characters_and_every_kind_of_break() {
        let source = Source::new("a.yaml", "één: 1\r\ntwee: 2\rdrie: 3\n");
        let shown = |needle| source.place(source.text.find(needle).unwrap()).to_string();
        assert_eq!(shown("1"), "a.yaml:1:6");
        assert_eq!(shown("2"), "a.yaml:2:7");
        assert_eq!(shown("3"), "a.yaml:3:7");
        assert_eq!(source.place(source.text.len()).line, 4);
    }

    #[test]
    fn an_excerpt_of_an_endless_line_is_short_and_still_marks_the_place() {
        let text = format!("{}HERE{}", "é".repeat(5000), "y".repeat(5000));
        let source = Source::new("a", &text);
        let start = text.find("HERE").unwrap();
        let excerpt = source.excerpt(&(start..start + 4));
        assert!(excerpt.text.chars().count() < 200);
        assert_eq!(&excerpt.text[excerpt.from..excerpt.from + excerpt.len], "HERE");
        assert_eq!(excerpt.place.column, 5001);
    }

    #[test]
    fn half_a_character_is_marked_whole() {
        let source = Source::new("a", "a° b");
        for half in [1..2, 2..3, 2..2] {
            let excerpt = source.excerpt(&half);
            assert_eq!((excerpt.from, excerpt.place.column), (1, 2), "{half:?}");
        }
        assert_eq!(source.excerpt(&(1..2)).len, 2);
        assert_eq!(source.excerpt(&(99..100)).place.column, 5);
    }

    #[test]
    fn files_that_are_no_text_are_told_by_their_kind() {
        let usual = Limits::default();
        let message = |bytes: &[u8]| decode(bytes, usual, Kind::Spec).unwrap_err().1.message;
        assert_eq!(message(b"\x89PNG\r\n\x1a\n\0\0"), "this is a PNG picture, not a spec");
        assert_eq!(message(b"\xff\xfem\0a\0"), "this is UTF-16 text, not a spec");
        assert_eq!(message(b"ab\0"), "this is a binary file, not a spec");
        assert_eq!(message(b"title: \xe9"), "byte 0xe9 is not UTF-8 text");
        assert_eq!(message(&vec![b'x'; (4 << 20) + 1]), "the file is 5 MiB long");
        assert_eq!(decode(b"\xef\xbb\xbfx", usual, Kind::Table), Ok("x"));
    }
}
