//! Numbers of a file that no drawing needs, found before anything is worked out of them.
//!
//! usvg takes any number: an arc of a radius of 1e99 it would write as 1e16 curves, and
//! a stroke whose width does not fit single precision it would leave out. So sizes and
//! places are read here first, in attributes and in styles. Left out: colours and
//! whatever else is no length; how far the shapes then reach, which depends on
//! transforms and is looked at when they are painted.

use super::super::path_data::{MOST, greatest};
use super::Refused;
use super::survey::{short, tag};
use std::ops::Range;
use svgtypes::PathParser;
use usvg::roxmltree::Node;

/// The widest stroke, and how far a stroked line may reach. Skia's stroker reckons in single precision: from
/// 2e6 on its steps are wider than what it may be off, and it halves a curve until memory ends.
pub const MOST_STROKED: f64 = 1e6;
/// The widest stroke in units that are many of the file's; an inch is the longest.
const MOST_STROKED_UNITS: f64 = 1e4;

/// Attributes with sizes and places in them.
const SIZES: [&str; 33] = [
    "x",
    "y",
    "dx",
    "dy",
    "x1",
    "y1",
    "x2",
    "y2",
    "cx",
    "cy",
    "r",
    "rx",
    "ry",
    "width",
    "height",
    "points",
    "viewBox",
    "transform",
    "transform-origin",
    "markerWidth",
    "markerHeight",
    "refX",
    "refY",
    "stroke-width",
    "stroke-dasharray",
    "stroke-dashoffset",
    "font",
    "font-size",
    "letter-spacing",
    "word-spacing",
    "baseline-shift",
    "textLength",
    "startOffset",
];

/// Sizes and places of an element that are beyond all measure.
pub fn beyond(node: Node<'_, '_>) -> Vec<Refused> {
    let name = node.tag_name().name();
    let mut refused = Vec::new();
    let mut refuse = |at: Range<usize>, property: &str, number: &str, most: f64| {
        let message = format!("`{property}` of this `{name}` has a number beyond all measure: {number}");
        let help = format!("it may be no greater than {most:e}: mend it, or draw the shape again");
        refused.push(Refused::new(at, message, help));
    };
    for attribute in node.attributes() {
        let (property, value) = (attribute.name(), attribute.value());
        if property == "d" {
            let steps = PathParser::from(value).map_while(Result::ok);
            if let Some(number) = steps.map(|step| greatest(&step)).find(|number| *number > MOST) {
                refuse(attribute.range(), property, &format!("{number:e}"), MOST);
            }
        } else if SIZES.contains(&property) {
            if let Some((number, most)) = numbers(value).find_map(|number| number.beyond(property)) {
                refuse(attribute.range(), property, &number, most);
            }
        } else if property == "style" {
            for (property, number) in declared(&plain(value)) {
                if let Some((number, most)) = number.beyond(property) {
                    refuse(attribute.range(), property, &number, most);
                }
            }
        }
    }
    for (property, number) in declared(&sheet(node)) {
        if let Some((number, most)) = number.beyond(property) {
            refuse(tag(node), property, &number, most);
        }
    }
    refused
}

/// Lengths told in other lengths (`em`, `ex`, `%`), and those that they are told in.
#[derive(Clone, Copy)]
pub struct Told {
    /// The longest plain length that others are told in, in its own unit.
    pub plain: f64,
    /// How many times another length the longest is; 1 where none is longer. Nested ones multiply.
    pub times: f64,
    /// The same of stroke widths alone, which may be less.
    pub stroke: f64,
}

impl Told {
    /// 100 units stand for a page that says nothing.
    const NOTHING: Self = Self { plain: 100.0, times: 1.0, stroke: 0.0 };

    /// By an element's own attributes and style.
    pub fn by(node: Node<'_, '_>) -> Self {
        let attributes = node.attributes().filter(|attribute| SIZES.contains(&attribute.name()));
        let told = attributes.fold(Self::NOTHING, |told, attribute| {
            numbers(attribute.value()).fold(told, |told, number| told.and(attribute.name(), &number))
        });
        told.and_all(node.attribute("style").unwrap_or_default())
    }

    /// By the rules of a style sheet, which may meet any element.
    pub fn by_sheet(node: Node<'_, '_>) -> Self {
        Self::NOTHING.and_all(&sheet(node))
    }

    pub fn or(self, other: Self) -> Self {
        Self {
            plain: self.plain.max(other.plain),
            times: self.times.max(other.times),
            stroke: self.stroke.max(other.stroke),
        }
    }

    fn and_all(self, css: &str) -> Self {
        declared(&plain(css)).fold(self, |told, (property, number)| told.and(property, &number))
    }

    fn and(mut self, property: &str, number: &Number<'_>) -> Self {
        match number.share() {
            Some(times) if property == "stroke-width" => self.stroke = self.stroke.max(times),
            Some(times) => self.times = self.times.max(times),
            None if matches!(property, "font" | "font-size" | "viewBox" | "width" | "height") => {
                self.plain = self.plain.max(number.size());
            }
            None => {}
        }
        self
    }
}

/// A number as it stands, and the unit behind it.
struct Number<'a> {
    text: &'a str,
    unit: &'a str,
}

impl Number<'_> {
    fn size(&self) -> f64 {
        self.text.parse().map_or(0.0, f64::abs)
    }

    /// How many times another length this is, where it is told in one.
    fn share(&self) -> Option<f64> {
        match self.unit {
            "em" | "ex" => Some(self.size()),
            "%" => Some(self.size() / 100.0),
            _ => None,
        }
    }

    /// The number, short enough for a message, and what it may be at most, where it is more.
    fn beyond(&self, property: &str) -> Option<(String, f64)> {
        let most = match (property, self.unit) {
            ("stroke-width", "" | "px") => MOST_STROKED,
            ("stroke-width", _) => MOST_STROKED_UNITS,
            _ => MOST,
        };
        (self.size() > most).then(|| (short(self.text), most))
    }
}

/// The numbers of a value. Digits within a word are none: `#1e9999` is a colour.
fn numbers(value: &str) -> impl Iterator<Item = Number<'_>> {
    let mut rest = value;
    std::iter::from_fn(move || {
        loop {
            let word =
                rest.find(|c: char| !(c.is_alphanumeric() || matches!(c, '#' | '_'))).unwrap_or(rest.len());
            let starts = |c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-');
            let first = rest.chars().next()?;
            if !starts(first) {
                rest = &rest[word.max(first.len_utf8())..];
                continue;
            }
            let (text, behind) = rest.split_at(length(rest.as_bytes()));
            let unit = behind.find(|c: char| !(c.is_ascii_alphabetic() || c == '%')).unwrap_or(behind.len());
            let (unit, behind) = behind.split_at(unit);
            rest = behind;
            return Some(Number { text, unit });
        }
    })
}

/// The bytes of the number that a text begins with; at least one.
fn length(text: &[u8]) -> usize {
    let digits = |from: usize| text[from..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    let mut end = usize::from(matches!(text.first(), Some(b'+' | b'-')));
    end += digits(end);
    if text.get(end) == Some(&b'.') {
        end += 1 + digits(end + 1);
    }
    // `2em` has no exponent.
    if matches!(text.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(text.get(end + 1), Some(b'+' | b'-')));
        match text.get(end + 1 + sign..).map_or(0, |_| digits(end + 1 + sign)) {
            0 => {}
            exponent => end += 1 + sign + exponent,
        }
    }
    end.max(1)
}

/// The text of a style sheet; nothing of any other element.
fn sheet(node: Node<'_, '_>) -> String {
    if node.tag_name().name() == "style" { plain(node.text().unwrap_or_default()) } else { String::new() }
}

/// A style without its comments.
fn plain(css: &str) -> String {
    let mut parts = css.split("/*");
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |text, part| text + " " + part.split_once("*/").map_or("", |(_, rest)| rest))
}

/// Numbers of sizes in a style or style sheet, with the properties that they belong to.
fn declared(css: &str) -> impl Iterator<Item = (&str, Number<'_>)> {
    let declarations = css.split([';', '{', '}']).filter_map(|declaration| declaration.split_once(':'));
    let sizes = declarations.map(|(property, value)| (property.trim(), value));
    let sizes = sizes.filter(|(property, _)| SIZES.contains(property));
    sizes.flat_map(|(property, value)| numbers(value).map(move |number| (property, number)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_told_from_words() {
        let found = |value: &str| -> Vec<(String, String)> {
            numbers(value).map(|number| (number.text.to_owned(), number.unit.to_owned())).collect()
        };
        let plain = |texts: &[&str]| -> Vec<(String, String)> {
            texts.iter().map(|text| ((*text).to_owned(), String::new())).collect()
        };
        assert_eq!(found("1 -2,+.5e3 4.E-2"), plain(&["1", "-2", "+.5e3", "4.E-2"]));
        assert_eq!(found("#1e9999 a1e9 url(#b_1e9) é9"), [], "colours and names");
        assert_eq!(found("scale(1e200)"), plain(&["1e200"]));
        let units = [("2", "em"), ("50", "%"), ("1e3", "px"), ("-", "")].map(|(n, u)| (n.into(), u.into()));
        assert_eq!(found("2em 50% 1e3px -"), units);
        let css = super::plain(".a-1e9{stroke-width: 3ex;fill:#1e9;/* x;*/font-size/**/: 1e99 /* }");
        let css: Vec<_> = declared(&css).map(|(property, number)| (property, number.size())).collect();
        assert_eq!(css, [("stroke-width", 3.0), ("font-size", 1e99)]);
        let told = Told::NOTHING.and_all("a{font-size:250%;stroke-width:3em}b{font-size:2em;width:900px}");
        assert_eq!((told.plain, told.times, told.stroke), (900.0, 2.5, 3.0));
    }
}
