//! One thing wrong with a spec: what, where, and what to do about it.
//!
//! A problem keeps only the line it stands on, cut to a readable width, so that
//! a spec of one enormous line cannot fill a terminal. Left out: colours and
//! frames, which are miette's.

use crate::flow::Place;
use miette::{
    Diagnostic, LabeledSpan, MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents,
};
use std::fmt;

/// One thing wrong with a spec.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    pub message: String,
    /// The cure.
    pub help: String,
    pub place: Place,
    pub excerpt: Excerpt,
}

/// The line a problem stands on, and the bytes of it to underline.
#[derive(Clone, Debug, PartialEq)]
pub struct Excerpt {
    pub place: Place,
    pub text: String,
    pub from: usize,
    pub len: usize,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Problem {}

impl Diagnostic for Problem {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        (!self.help.is_empty()).then(|| Box::new(&self.help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.excerpt)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let span = LabeledSpan::new(None, self.excerpt.from, self.excerpt.len);
        Some(Box::new(std::iter::once(span)))
    }
}

impl SourceCode for Excerpt {
    /// Always the whole line; miette takes the column from a reading without context, for the heading.
    fn read_span<'a>(
        &'a self,
        _: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let line = self.place.line.saturating_sub(1) as usize;
        let heading = before == 0 && after == 0;
        let column = if heading { self.place.column.saturating_sub(1) as usize } else { 0 };
        let whole = SourceSpan::from((0, self.text.len()));
        let name = self.place.file.to_string();
        Ok(Box::new(MietteSpanContents::new_named(name, self.text.as_bytes(), whole, line, column, 1)))
    }
}

/// A user's own words inside a message: short, and without control characters that a terminal would obey.
pub fn shown(text: &str) -> String {
    /// Longer words are not names but accidents.
    const LONGEST: usize = 60;
    let clean = |c: char| if c.is_control() { '\u{fffd}' } else { c };
    let mut short: String = text.chars().take(LONGEST).map(clean).collect();
    if text.chars().nth(LONGEST).is_some() {
        short.push('…');
    }
    short
}

/// Help for a word that is not among the known ones: the nearest, then the list.
pub fn known<'a>(word: &str, words: impl IntoIterator<Item = &'a str>) -> String {
    /// Words looked at: a spec made to have a hundred thousand names must not buy as many comparisons.
    const MOST: usize = 300;
    let words: Vec<&str> = words.into_iter().take(MOST).collect();
    let near = nearest(word, words.iter().copied());
    match (near, words.len()) {
        (_, 0) => "none is defined".into(),
        (Some(near), 1) => format!("did you mean `{near}`?"),
        (Some(near), _) => format!("did you mean `{near}`? known here: {}", listed(&words)),
        (None, _) => format!("known here: {}", listed(&words)),
    }
}

/// The word most like this one, if any is like it at all.
pub fn nearest<'a>(word: &str, words: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    /// Past this a comparison costs more than the hint is worth.
    const LONGEST: usize = 64;
    if word.len() > LONGEST {
        return None;
    }
    let slips = |other: &str| strsim::damerau_levenshtein(&word.to_lowercase(), &other.to_lowercase());
    // One slip in a short word, two from five letters on, three from eight.
    let near = |other: &str, slips: usize| {
        let letters = word.chars().count().min(other.chars().count());
        slips <= 1.max((letters + 1) / 3)
    };
    words
        .into_iter()
        .filter(|other| other.len() <= LONGEST)
        .map(|other| (slips(other), other))
        .filter(|&(slips, other)| near(other, slips))
        .min()
        .map(|(_, other)| other)
}

/// The first of a list; nobody reads more of it in an error.
fn listed(words: &[&str]) -> String {
    const MOST: usize = 14;
    let first: Vec<String> = words.iter().take(MOST).map(|word| format!("`{}`", shown(word))).collect();
    let rest = if words.len() > MOST { " and more" } else { "" };
    format!("{}{rest}", first.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_word_is_offered_and_a_far_one_is_not() {
        let words = ["width", "length", "height"];
        assert_eq!(nearest("widht", words), Some("width"));
        assert_eq!(nearest("Length", words), Some("length"));
        assert_eq!(nearest("copys", ["colour", "copies"]), Some("copies"));
        assert_eq!(nearest("colour", words), None);
    }

    #[test]
    fn control_characters_do_not_reach_the_terminal() {
        assert_eq!(shown("a\u{1b}[31mb"), "a\u{fffd}[31mb");
        assert_eq!(shown(&"x".repeat(5000)).chars().count(), 61);
    }
}
