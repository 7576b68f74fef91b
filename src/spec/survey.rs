//! The first pass: limits, duplicate keys, and the place of every value.
//!
//! It walks the parser's events and builds nothing but [`Mark`]s, so that a
//! text made to exhaust a reader (aliases of aliases, brackets a hundred
//! thousand deep) is refused before anything is built from it. Left out: what
//! the values mean.

use super::log::{At, Key, Log, Mark, Wrong};
use super::problem::shown;
use crate::flow::Limits;
use granit_parser::{ErrorKind, Event, Options, Parser, ScanError, Span, options};
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// Deepest nesting; a loft needs nine levels, a group in a group some more.
const MAX_DEPTH: usize = 64;
/// Most bytes of text, aliases written out.
const MAX_EXPANDED: usize = 16 << 20;
/// Longest key; names have fewer letters still.
const MAX_KEY: usize = 200;

/// Reading cannot go on; the reason is in the log.
#[derive(Debug)]
pub struct Stop;

/// What a value comes to with its aliases written out.
#[derive(Clone, Copy, Debug, Default)]
struct Weight {
    nodes: usize,
    bytes: usize,
    height: usize,
}

impl Weight {
    fn add(&mut self, child: Self) {
        self.nodes = self.nodes.saturating_add(child.nodes);
        self.bytes = self.bytes.saturating_add(child.bytes);
        self.height = self.height.max(child.height + 1);
    }
}

/// A list or map whose end has not come yet.
struct Open {
    at: At,
    anchor: usize,
    weight: Weight,
    /// In a map: the keys met, and the one that waits for its value.
    keys: Option<BTreeMap<String, Range<usize>>>,
    key: Option<Key>,
}

struct Survey<'a> {
    log: &'a mut Log,
    file: usize,
    root: Option<At>,
    open: Vec<Open>,
    /// Finished values by anchor; `None` while the value is still open.
    anchors: BTreeMap<usize, Option<(At, Weight)>>,
    /// Bytes of text, aliases written out.
    expanded: usize,
}

/// Marks every value of a source. `None` where it holds nothing at all.
pub fn survey(log: &mut Log, file: usize) -> Result<Option<At>, Stop> {
    let text = Arc::clone(&log.sources[file].text);
    let mut survey =
        Survey { log, file, root: None, open: Vec::new(), anchors: BTreeMap::new(), expanded: 0 };
    for event in Parser::new_from_str_with_options(&text, parser_options()) {
        match event {
            Ok((event, span)) => survey.event(&event, span.byte_range().unwrap_or_default(), span)?,
            Err(error) => return Err(survey.syntax(&error)),
        }
    }
    Ok(survey.root)
}

fn parser_options() -> Options {
    options! { emit_comments: false, flow_nesting_limit: MAX_DEPTH + 1, block_nesting_limit: MAX_DEPTH + 1 }
}

impl Survey<'_> {
    fn event(&mut self, event: &Event<'_>, bytes: Range<usize>, span: Span) -> Result<(), Stop> {
        if event.tag().is_some() {
            let start = span.tag_start().and_then(|mark| mark.byte_offset()).unwrap_or(bytes.start);
            return Err(self.stop(&(start..bytes.end), "a tag", "leave out the word that begins with `!`"));
        }
        match event {
            Event::DocumentStart(..) if self.root.is_some() => {
                let message = "a second document begins here";
                Err(self.stop(&bytes, message, "one spec to a file: take out the `---` or split the file"))
            }
            Event::Scalar(text, _, anchor, _) if self.wants_key() => {
                if *anchor != 0 {
                    return Err(self.stop(&bytes, "an anchor on a key", "put the `&name` before the value"));
                }
                self.key(text, bytes)
            }
            Event::Scalar(text, _, anchor, _) => {
                let at = self.mark(bytes, None)?;
                let weight = Weight { nodes: 1, bytes: text.len(), height: 0 };
                self.finish(at, *anchor, weight)
            }
            Event::SequenceStart(_, anchor, _) => self.begin(bytes, *anchor, false),
            Event::MappingStart(_, anchor, _) => self.begin(bytes, *anchor, true),
            Event::SequenceEnd | Event::MappingEnd => self.end(bytes),
            Event::Alias(anchor) => self.alias(bytes, *anchor),
            _ => Ok(()),
        }
    }

    fn wants_key(&self) -> bool {
        self.open.last().is_some_and(|open| open.keys.is_some() && open.key.is_none())
    }

    fn key(&mut self, text: &str, span: Range<usize>) -> Result<(), Stop> {
        if text.len() > MAX_KEY {
            let message = format!("a key of {} letters", text.len());
            return Err(self.stop(&span, message, "is a quotation mark or a line break missing?"));
        }
        let Some(open) = self.open.last_mut() else { return Ok(()) };
        open.key = Some(Key { text: text.into(), span: span.clone() });
        let keys = open.keys.get_or_insert_default();
        if let Some(first) = keys.get(text) {
            let first = self.log.sources[self.file].place(first.start);
            let message = format!("`{}` is given twice: first at {first}", shown(text));
            self.log.span(self.file, &span, Wrong::new(message, "keep one of the two"));
        } else {
            keys.insert(text.into(), span);
        }
        Ok(())
    }

    /// A value begins here.
    fn mark(&mut self, value: Range<usize>, repeats: Option<At>) -> Result<At, Stop> {
        let at = At(self.log.marks.len());
        let key = self.open.last_mut().and_then(|open| open.key.take());
        match self.open.last() {
            Some(parent) => self.log.marks[parent.at.0].children.push(at),
            None => self.root = Some(at),
        }
        let span = value.clone();
        self.log.marks.push(Mark { file: self.file, key, value, children: Vec::new(), repeats });
        self.count(&span, Weight { nodes: 1, ..Weight::default() })?;
        Ok(at)
    }

    fn begin(&mut self, bytes: Range<usize>, anchor: usize, is_map: bool) -> Result<(), Stop> {
        if self.wants_key() {
            return Err(self.stop(
                &bytes,
                "a key that is not a plain word",
                "a key is one word before a colon",
            ));
        }
        if self.open.len() >= MAX_DEPTH {
            return Err(self.too_deep(&bytes));
        }
        let at = self.mark(bytes, None)?;
        if anchor != 0 {
            self.anchors.insert(anchor, None);
        }
        let weight = Weight { nodes: 1, ..Weight::default() };
        self.open.push(Open { at, anchor, weight, keys: is_map.then(BTreeMap::new), key: None });
        Ok(())
    }

    fn end(&mut self, bytes: Range<usize>) -> Result<(), Stop> {
        let Some(open) = self.open.pop() else { return Ok(()) };
        let value = &mut self.log.marks[open.at.0].value;
        value.end = bytes.end.max(value.end);
        self.finish(open.at, open.anchor, open.weight)
    }

    fn alias(&mut self, bytes: Range<usize>, anchor: usize) -> Result<(), Stop> {
        if self.wants_key() {
            return Err(self.stop(&bytes, "an alias for a key", "write the key out"));
        }
        let Some(Some((target, weight))) = self.anchors.get(&anchor).copied() else {
            return Err(self.stop(&bytes, "a value that holds itself", "an alias repeats a finished value"));
        };
        if self.open.len() + weight.height > MAX_DEPTH {
            return Err(self.too_deep(&bytes));
        }
        let at = self.mark(bytes.clone(), Some(target))?;
        self.count(&bytes, weight)?;
        self.finish(at, 0, weight)
    }

    /// A value is complete.
    fn finish(&mut self, at: At, anchor: usize, weight: Weight) -> Result<(), Stop> {
        if anchor != 0 {
            self.anchors.insert(anchor, Some((at, weight)));
        }
        if let Some(parent) = self.open.last_mut() {
            parent.weight.add(weight);
        }
        Ok(())
    }

    fn count(&mut self, bytes: &Range<usize>, weight: Weight) -> Result<(), Stop> {
        if let Err(Wrong { message, help, .. }) = self.log.counted(weight.nodes) {
            return Err(self.stop(bytes, message, help));
        }
        self.expanded = self.expanded.saturating_add(weight.bytes);
        let most = MAX_EXPANDED * self.log.limits.factor() as usize;
        if self.expanded > most {
            let message = format!("aliases that come to more than {} MiB", most >> 20);
            return Err(self.stop(bytes, message, format!("repeat less text; {}", Limits::RAISE)));
        }
        Ok(())
    }

    fn too_deep(&self, bytes: &Range<usize>) -> Stop {
        let message = format!("nested more than {MAX_DEPTH} deep");
        self.stop(bytes, message, "a spec hardly needs twenty: is a bracket too many?")
    }

    fn stop(&self, bytes: &Range<usize>, message: impl Into<String>, help: impl Into<String>) -> Stop {
        self.log.span(self.file, bytes, Wrong::new(message, help));
        Stop
    }

    /// The parser gave up: its words, and the cure for the slips we know.
    fn syntax(&self, error: &ScanError) -> Stop {
        let source = &self.log.sources[self.file];
        let offset = error.marker().byte_offset().unwrap_or(source.text.len()).min(source.text.len());
        if matches!(error.kind(), ErrorKind::RecursionLimitExceeded) {
            return self.too_deep(&(offset..offset));
        }
        let lines = source.line(offset);
        if let Some(tab) = tab_in_indentation(&source.text[lines.clone()]) {
            let at = lines.start + tab;
            return self.stop(&(at..at + 1), "a tab in the indentation", "YAML is indented with spaces");
        }
        let open = self.open.last().map_or(0, |open| self.log.marks[open.at.0].value.start);
        if let Some(colour) = colour_read_as_comment(source.text.get(open..offset).unwrap_or_default()) {
            let span = open + colour.start..open + colour.end;
            let colour = &source.text[span.clone()];
            let message = format!("`{colour}` is read as a comment, and the rest of its line with it");
            return self.stop(&span, message, format!("quote the colour: \"{colour}\""));
        }
        // A line that runs on is a word without a value: the parser gives up there or on the next.
        let before = source.text[..lines.start].trim_end().len();
        for line in [lines, source.line(before)] {
            if let Some(colon) = colon_without_space(&source.text[line.clone()]) {
                let at = line.start + colon;
                let written = source.text[line.clone()].trim();
                let help = written.replacen(':', ": ", 1);
                return self.stop(
                    &(at..at + 1),
                    "a colon without a space after it",
                    format!("write `{help}`"),
                );
            }
        }
        self.stop(&(offset..offset + 1), format!("not YAML: {}", error.info()), cure(error.kind()))
    }
}

/// Where a line begins with a word, a colon and its value without a space between.
fn colon_without_space(line: &str) -> Option<usize> {
    let word = line.trim_start();
    let length = word.bytes().take_while(|b| b.is_ascii_alphanumeric() || matches!(b, b'_' | b'-')).count();
    let runs_on =
        word[length..].starts_with(':') && !word[length + 1..].starts_with([' ', '\r', '\n', '/', ':']);
    (length > 0 && runs_on && word.len() > length + 1).then(|| line.len() - word.len() + length)
}

fn tab_in_indentation(line: &str) -> Option<usize> {
    line[..line.len() - line.trim_start().len()].find('\t')
}

/// The first `#c8321e` where a value should be: YAML takes it for a comment unless it is quoted.
pub fn colour_read_as_comment(text: &str) -> Option<Range<usize>> {
    text.match_indices('#').find_map(|(start, _)| {
        let before = text[..start].trim_end_matches([' ', '\t']);
        let digits = text[start + 1..].bytes().take_while(u8::is_ascii_hexdigit).count();
        let stands_for_value = before.len() < start && before.ends_with([':', ',', '[', '-']);
        (stands_for_value && matches!(digits, 3 | 6)).then_some(start..start + 1 + digits)
    })
}

/// What to do about a slip, as far as its kind tells.
fn cure(kind: &ErrorKind) -> &'static str {
    match kind {
        ErrorKind::UnclosedFlowCollection { open: '[' }
        | ErrorKind::UnexpectedEofFlowSequence
        | ErrorKind::ExpectedFlowSequenceSeparator => "is a `]` or a comma missing?",
        ErrorKind::UnclosedFlowCollection { .. }
        | ErrorKind::UnexpectedEofFlowMapping
        | ErrorKind::ExpectedFlowMappingSeparator => "is a `}` or a comma missing?",
        ErrorKind::UnclosedQuotedScalar => "is a quotation mark missing?",
        ErrorKind::UnknownAnchor => "define it first: `name: &anchor value`",
        ErrorKind::TabNotAllowed | ErrorKind::TabInIndentation | ErrorKind::TabInBlockIndentation => {
            "use spaces for tabs"
        }
        ErrorKind::MappingValueNotAllowed | ErrorKind::InvalidColonPlacement => {
            "quote a text that holds a colon, or put the new key on its own line"
        }
        _ => "check brackets, colons and indentation here and on the line before",
    }
}
