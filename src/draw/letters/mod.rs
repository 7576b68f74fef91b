//! Lettering: block letters drawn by rule, or a font's, set in lines or along an arc.
//!
//! Letters come as units on a baseline (a block letter, or what a font makes of some
//! characters together), and are then set (`setting`). Left out: which letters there
//! are and whether sizes go together, which the spec has checked.

pub mod alphabet;
pub mod ring;
mod setting;
mod slanted;

use crate::flow::{Area, Artwork, Block, Corner, Face, Lettering};
use crate::outline::font::{Cluster, Font};
use crate::outline::{Bounds, Outline, Vector};
use crate::units::{Full, Length};
use alphabet::Pen;
use ring::Style;

/// What is set as one: a letter on the baseline y = 0, and the way it takes along it.
#[derive(Clone, Debug)]
struct Unit {
    outline: Outline<Full>,
    from: f64,
    to: f64,
}

impl Unit {
    fn middle(&self) -> f64 {
        (self.from + self.to) / 2.0
    }
}

/// Draws lettering about the middle of its box.
pub fn letters(lettering: &Lettering) -> Artwork<Full> {
    let lines: Vec<Vec<Unit>> = lettering
        .lines
        .iter()
        .map(|line| match &lettering.face {
            Face::Block(block) => block_line(line, lettering.height, block),
            Face::Font(font, gap) => font_line(line, lettering.height, font, *gap),
        })
        .collect();
    let set = setting::set(&lines, lettering.height.to_mm(), &lettering.setting);
    let middle = set.ground.bounds().center().to_vector();
    Artwork {
        areas: vec![Area { colour: lettering.colour, outline: set.letters.moved(-middle) }],
        silhouette: set.ground.moved(-middle),
        repeat: None,
    }
}

fn block_line(line: &str, height: Length<Full>, block: &Block) -> Vec<Unit> {
    let mut units = Vec::new();
    let mut from = 0.0;
    for word in line.split_whitespace() {
        for letter in word.chars() {
            let width = block.width_of(letter).to_mm();
            let outline = alphabet::letter(letter, &pen(width, height, block));
            units.push(Unit { outline: outline.moved(Vector::new(from, 0.0)), from, to: from + width });
            from += width + block.gap.to_mm();
        }
        from += (block.word_gap - block.gap).to_mm();
    }
    units
}

fn pen(width: f64, height: Length<Full>, block: &Block) -> Pen {
    let (style, turn) = match block.corner {
        Corner::Square => (Style::Cut, 0.0),
        Corner::Cut(size) => (Style::Cut, size.to_mm()),
        Corner::Round(radius) => (Style::Round, radius.to_mm()),
    };
    Pen { w: width, h: height.to_mm(), s: block.stroke.to_mm(), style, turn }
}

fn font_line(line: &str, height: Length<Full>, font: &Font, gap: Length<Full>) -> Vec<Unit> {
    let inked = |cluster: &Cluster<Full>| !cluster.outline.is_empty();
    let clusters = font.line(line, height.to_mm(), gap.to_mm()).into_iter().filter(inked);
    clusters.map(|Cluster { outline, from, to }| Unit { outline, from, to }).collect()
}

/// The box of what is drawn; `None` for a blank.
fn ink(units: &[Unit]) -> Option<Bounds> {
    let boxes = units.iter().map(|unit| unit.outline.bounds());
    boxes.reduce(|all, one| Bounds::from_points([all.min, all.max, one.min, one.max]))
}

#[cfg(test)]
mod tests;
