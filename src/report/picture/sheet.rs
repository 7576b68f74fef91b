//! A small picture of a sheet: where each numbered piece lies.
//!
//! From the sheet's own layers, artwork and cuts; printed numbers and marks would
//! be specks at this size, so numbers are set as text. Each piece is a link.

use super::frame::{DIM, Frame, WARN, WORD, stroke};
use super::svg::{self, Svg};
use crate::flow::{Item, Purpose, Sheet, hex};
use crate::outline::{Bounds, Outline, point};
use crate::units::Model;

/// A page's longer side, pixels.
const LONGEST: f64 = 300.0;

/// Where a piece's link leads, what the spot itself is called, and what is read aloud.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    pub to: String,
    pub id: String,
    pub label: String,
}

/// The sheet; `link` tells about the piece of a number.
pub fn sheet(sheet: &Sheet, title: &str, link: impl Fn(u32) -> Link) -> String {
    let (width, height) = (sheet.page.width.to_mm(), sheet.page.height.to_mm());
    let scale = LONGEST / width.max(height).max(1e-3);
    let room = Bounds::new(point(1.0, 1.0), point(width * scale + 1.0, height * scale + 1.0));
    let frame = Frame::fitting(Bounds::new(point(0.0, 0.0), point(width, height)), room);
    let mut svg = Svg::new(width * scale + 2.0, height * scale + 2.0);
    let drawn = |outline: &Outline<Model>| svg::rings(&outline.flattened(0.1 / frame.scale), |p| frame.at(p));
    let page = Outline::rectangle(point(width / 2.0, height / 2.0), width, height);
    svg.path(&drawn(&page), &[("class", "page")]);
    for layer in
        sheet.layers.iter().filter(|layer| ![Purpose::Marks, Purpose::White].contains(&layer.purpose))
    {
        for item in &layer.items {
            match item {
                Item::Fill { outline, rgb } => svg.path(&drawn(outline), &[("fill", &hex(*rgb))]),
                Item::Line { outline, .. } => svg.path(&drawn(outline), &stroke(DIM, "0.5")),
                Item::Path { points, .. } => {
                    let line: Vec<_> = points.iter().map(|&p| frame.at(p)).collect();
                    let class = if layer.purpose == Purpose::Trim { WARN } else { DIM };
                    svg.path(&svg::line(&line), &stroke(class, "0.6"));
                }
            }
        }
    }
    for (&number, outline) in sheet.pieces.iter().zip(&sheet.outlines) {
        let Link { to, id, label } = link(number);
        svg.begin("a", &[("href", &to), ("id", &id), ("class", "spot"), ("aria-label", &label)]);
        svg.path(&drawn(outline), &[("class", "reach")]);
        let centre = frame.at(outline.bounds().center());
        svg.text(point(centre.x, centre.y + 4.0), &number.to_string(), &WORD);
        svg.end("a");
    }
    svg.finish("group", title)
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;

    #[test]
    fn every_piece_is_a_link_with_its_number() {
        let outcome = fixture::outcome();
        let of = |n: u32| Link { to: format!("#to{n}"), id: format!("id{n}"), label: format!("piece {n}") };
        let text = sheet(&outcome.scales[0].sheets[0], "decal-1", of);
        let read = roxmltree::Document::parse(&text).unwrap();
        let links: Vec<_> = read.descendants().filter(|n| n.has_tag_name("a")).collect();
        let numbers: Vec<_> = links.iter().map(|a| a.last_child().and_then(|t| t.text()).unwrap()).collect();
        assert_eq!(numbers, ["1", "2", "3", "4"]);
        assert_eq!(links[3].attribute("href"), Some("#to4"));
        // A4 on its longer side of 300 px.
        assert_eq!(read.root_element().attribute("viewBox"), Some("0 0 214.1 302"));
    }
}
