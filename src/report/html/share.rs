//! What pictures of a page have in common, written once: marks, scales of strain, and equal shapes.
//!
//! Copies look alike, and so does one piece at several scales; an edge is drawn, and
//! drawn again to be clicked. Half of a long page is shapes it has already. Left out:
//! shapes that are turned, or only nearly alike.

use crate::flow::{Make, Outcome};
use crate::report::picture::{flat, strain};
use maud::{Markup, PreEscaped, html};
use std::collections::BTreeMap;

/// What it takes to name a shape and to use it somewhere, letters.
const NAMED: usize = 30;

/// Where shared data is put, before the marks.
const HERE: &str = "<defs id=\"shared\">";

/// What pictures use by name, in a picture of no size.
pub fn marks(outcome: &Outcome) -> Markup {
    html! {
        svg.shared aria-hidden="true" {
            (PreEscaped(format!("{HERE}{}", flat::hold_mark())))
            @for make in [Make::Decal, Make::Mask, Make::Tape] { (PreEscaped(strain::scale(&outcome.plan, make))) }
            (PreEscaped("</defs>"))
        }
    }
}

/// A path of the page.
struct Found<'a> {
    /// What stands before its data.
    look: &'a str,
    data: &'a str,
    /// Where it starts.
    start: [&'a str; 2],
    /// Its steps from there.
    shape: &'a str,
}

/// The page with every shape that it has several times kept in one place and used from there.
pub fn shared(page: &str) -> String {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    let mut bits: Vec<(&str, Found)> = Vec::new();
    let mut rest = page;
    // Paths are written by `picture::svg` alone, their data last; text of a spec has no `<` here.
    while let Some((before, found, after)) = next(rest) {
        *counts.entry(found.shape).or_insert(0) += 1;
        bits.push((before, found));
        rest = after;
    }
    let (mut out, mut kept) = (String::with_capacity(page.len()), String::new());
    let mut names: BTreeMap<&str, usize> = BTreeMap::new();
    for (before, Found { look, data, start, shape }) in bits {
        out += before;
        let count = counts[shape];
        if (count - 1) * shape.len() <= (count + 1) * NAMED {
            out += &format!("<path{look} d=\"{data}\"/>");
            continue;
        }
        let next = names.len() + 1;
        let name = *names.entry(shape).or_insert(next);
        if name == next {
            kept += &format!("<path id=\"k{name}\" d=\"M0 0{shape}\"/>");
        }
        out += &format!("<use{look} href=\"#k{name}\" x=\"{}\" y=\"{}\"/>", start[0], start[1]);
    }
    out += rest;
    out.replacen(HERE, &format!("{HERE}{kept}"), 1)
}

/// What comes before the next path, the path, and what comes after it.
fn next(page: &str) -> Option<(&str, Found<'_>, &str)> {
    let (before, path) = page.split_once("<path")?;
    let (look, path) = path.split_once(" d=\"")?;
    let (data, after) = path.split_once("\"/>")?;
    let (start, _) = data.strip_prefix('M')?.split_once('l')?;
    // A minus parts two numbers as a blank does.
    let (x, y) = start.split_at(1 + start.get(1..)?.find([' ', '-'])?);
    let shape = &data[1 + start.len()..];
    Some((before, Found { look, data, start: [x, y.trim_start()], shape }, after))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_shapes_are_written_once_and_used_where_they_were() {
        let (a, b) = (format!("l3 {}", "1 2 ".repeat(40)), format!("l4 {}", "1 2 ".repeat(40)));
        let page = format!(
            "<p>&lt;path d=</p><path class=\"x\" d=\"M3 4{a}\"/><path d=\"M1 1{b}\"/>\
             <path fill=\"#fff\" d=\"M-5-6.5{a}\"/>{HERE}<path d=\"M0 0l1 1\"/></defs>"
        );
        let wanted = format!(
            "<p>&lt;path d=</p><use class=\"x\" href=\"#k1\" x=\"3\" y=\"4\"/><path d=\"M1 1{b}\"/>\
             <use fill=\"#fff\" href=\"#k1\" x=\"-5\" y=\"-6.5\"/>{HERE}<path id=\"k1\" d=\"M0 0{a}\"/>\
             <path d=\"M0 0l1 1\"/></defs>"
        );
        assert_eq!(shared(&page), wanted);
    }
}
