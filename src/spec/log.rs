//! Everything read so far and everything wrong with it: sources, the places of all values, problems.
//!
//! A value is known by its [`At`] from the first pass to the last, so that a
//! negative width found by the resolver is shown as exactly as a missing brace.

use super::problem::{Problem, known, shown};
use super::source::Source;
use crate::flow::{Limits, Place};
use serde::de;
use std::cell::RefCell;
use std::fmt;
use std::ops::Range;

/// Which value, of all values of all files read: an index into [`Log::marks`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct At(pub usize);

/// Where one value stands.
#[derive(Clone, Debug)]
pub struct Mark {
    pub file: usize,
    /// The name before the colon, in a map.
    pub key: Option<Key>,
    pub value: Range<usize>,
    /// Items of a list, entries of a map, in order.
    pub children: Vec<At>,
    /// For `*name`: the value that it repeats.
    pub repeats: Option<At>,
}

/// A map's key and the bytes it takes.
#[derive(Clone, Debug)]
pub struct Key {
    pub text: String,
    pub span: Range<usize>,
}

/// What is wrong and what to do about it, before it is known where.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrong {
    pub message: String,
    pub help: String,
    /// What to mark, where it is not the value in hand.
    pub spot: Option<Spot>,
}

/// What a problem marks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spot {
    Key(At),
    Value(At),
    /// These bytes of the file that the value is in.
    Bytes(At, usize, usize),
}

impl Wrong {
    pub fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { message: message.into(), help: help.into(), spot: None }
    }
}

impl fmt::Display for Wrong {
    /// Message and help on a line each: the form in which they pass through serde, whose errors are plain text.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}\n{}", self.message, self.help)
    }
}

impl std::error::Error for Wrong {}

impl de::Error for Wrong {
    /// The other end of [`Wrong`]'s `Display`.
    fn custom<T: fmt::Display>(text: T) -> Self {
        let text = text.to_string();
        let (message, help) = text.split_once('\n').unwrap_or((&text, ""));
        Self::new(message, help)
    }

    fn invalid_type(found: de::Unexpected<'_>, wanted: &dyn de::Expected) -> Self {
        let found = match found {
            de::Unexpected::Map => "a map `{…}`".into(),
            de::Unexpected::Seq => "a list `[…]`".into(),
            de::Unexpected::Bool(yes) => format!("`{yes}`"),
            de::Unexpected::Float(number) => format!("`{number}`"),
            de::Unexpected::Str(text) => format!("`{}`", shown(text)),
            other => other.to_string(),
        };
        Self::new(format!("{found} where {wanted} is wanted"), format!("write {wanted}"))
    }
}

/// Everything read so far and everything wrong with it.
#[derive(Debug, Default)]
pub struct Log {
    /// How much is too much.
    pub limits: Limits,
    pub sources: Vec<Source>,
    pub marks: Vec<Mark>,
    /// Values so far, aliases and the rows of tables written out.
    values: usize,
    /// Shared so that readers at any depth can add to it without stopping.
    problems: RefCell<Vec<Problem>>,
}

impl Log {
    /// More than anybody mends before trying again.
    const MOST_PROBLEMS: usize = 200;

    pub fn within(limits: Limits) -> Self {
        Self { limits, ..Self::default() }
    }

    /// Most values in a spec with all it uses, aliases and the rows of tables written out: a marking takes about
    /// twenty.
    const MOST_VALUES: usize = 100_000;

    /// So many values more, or what to say of too many.
    pub fn counted(&mut self, more: usize) -> Result<(), Wrong> {
        self.values = self.values.saturating_add(more);
        let most = Self::MOST_VALUES * self.limits.factor() as usize;
        if self.values <= most {
            return Ok(());
        }
        let help = format!(
            "aliases and tables count as often as they repeat a value; write less; {}",
            Limits::RAISE
        );
        Err(Wrong::new(format!("more than {most} values"), help))
    }

    /// Something wrong with a value.
    pub fn value(&self, at: At, message: impl Into<String>, help: impl Into<String>) {
        let mark = &self.marks[at.0];
        self.span(mark.file, &mark.value, Wrong::new(message, help));
    }

    /// Something wrong with a name, or with what is missing under it.
    pub fn key(&self, at: At, message: impl Into<String>, help: impl Into<String>) {
        self.span(self.marks[at.0].file, &self.key_span(at), Wrong::new(message, help));
    }

    /// A name that is not among the known ones.
    pub fn unknown<'a>(
        &self,
        at: At,
        what: &str,
        name: &str,
        known_names: impl IntoIterator<Item = &'a str>,
    ) {
        if !self.is_full() {
            self.value(at, format!("{what} `{}`", shown(name)), known(name, known_names));
        }
    }

    /// Something wrong while reading a value.
    pub fn wrong(&self, at: At, wrong: Wrong) {
        match wrong.spot.unwrap_or(Spot::Value(at)) {
            Spot::Key(at) => self.key(at, wrong.message, wrong.help),
            Spot::Value(at) => self.value(at, wrong.message, wrong.help),
            Spot::Bytes(at, from, to) => self.span(self.marks[at.0].file, &(from..to), wrong),
        }
    }

    /// Something wrong at these bytes of a source.
    pub fn span(&self, file: usize, span: &Range<usize>, wrong: Wrong) {
        if !self.is_full() {
            let source = &self.sources[file];
            let (place, excerpt) = (source.place(span.start), source.excerpt(span));
            let mut problems = self.problems.borrow_mut();
            let is_last = problems.len() + 1 == Self::MOST_PROBLEMS;
            let (message, help) = match is_last {
                true => ("and more from here on".to_owned(), "mend what is told, and try again".to_owned()),
                false => (wrong.message, wrong.help),
            };
            problems.push(Problem { message, help, place, excerpt });
        }
    }

    /// Where a value begins.
    pub fn place(&self, at: At) -> Place {
        let mark = &self.marks[at.0];
        self.sources[mark.file].place(mark.value.start)
    }

    /// Where a name begins.
    pub fn key_place(&self, at: At) -> Place {
        self.sources[self.marks[at.0].file].place(self.key_span(at).start)
    }

    /// What stands between a key and the end of its line, and where that begins.
    pub fn after_key(&self, at: At) -> (usize, &str) {
        let mark = &self.marks[at.0];
        let source = &self.sources[mark.file];
        let from = mark.key.as_ref().map_or(mark.value.start, |key| key.span.end);
        (from, source.text.get(from..source.line(from).end).unwrap_or_default())
    }

    /// Whether more problems would only cost time: a text made of nothing else must not buy it.
    pub fn is_full(&self) -> bool {
        self.problems.borrow().len() >= Self::MOST_PROBLEMS
    }

    pub fn is_clean(&self) -> bool {
        self.problems.borrow().is_empty()
    }

    /// All problems, in the order of the files and down each.
    pub fn into_problems(self) -> Vec<Problem> {
        let order = |problem: &Problem| {
            let file = self.sources.iter().position(|source| source.name == problem.place.file);
            (file, problem.place.line, problem.place.column)
        };
        let mut problems = self.problems.take();
        problems.sort_by_key(order);
        problems.dedup();
        problems
    }

    fn key_span(&self, at: At) -> Range<usize> {
        let mark = &self.marks[at.0];
        mark.key.as_ref().map_or_else(|| mark.value.clone(), |key| key.span.clone())
    }
}
