//! `letters` and `text`: what is written, in letters that can be drawn, at a height that is known.
//!
//! Sizes may be shares of the height, and the height may follow from the length of the
//! longest line; the plan gets lengths only.

use super::super::lenient::{May, Need};
use super::super::log::At;
use super::super::mirror::{self, OneOrMany};
use super::super::problem::shown;
use super::super::words::{BowSide, Phrase, Proportion};
use super::drawing::{Colours, Paint};
use crate::flow::{Align, Block, Bow, Corner, Draw, Face, Lettering, Setting};
use crate::units::{Angle, Full, Length};
use std::collections::BTreeMap;

/// Most lines of one marking, and most letters in all of them.
const MOST_LINES: usize = 40;
const MOST_LETTERS: usize = 1000;
/// Shares of the height where none is given. Width, stroke and gap (a quarter of the width):
/// registration marks, 14 CFR 45.29; the word gap, three gaps: vehicle plates, UK SI 2001/561.
const WIDTH: f64 = 2.0 / 3.0;
const STROKE: f64 = 1.0 / 6.0;
const GAP: f64 = 1.0 / 6.0;
const WORD_GAPS: f64 = 3.0;
const LINE_GAP: f64 = 2.0 / 3.0;
/// The thickest stroke, of the height: an E has three of them and two clear spaces.
const THICKEST: f64 = 0.27;
/// The widest turn of an arc of letters: past it the ends meet.
const ROUND: f64 = 350.0;

/// What both kinds of lettering have.
struct Common<'a> {
    height: &'a May<Length<Full>>,
    length: &'a May<Length<Full>>,
    align: &'a May<Align>,
    line_gap: &'a May<Proportion>,
    arc: &'a May<mirror::Bow>,
    at: At,
}

impl Paint<'_> {
    pub fn letters(&self, given: &mirror::Letters, at: At, colours: Colours) -> Option<Draw> {
        let mirror::Letters { text, height, length, align, line_gap, arc, .. } = given;
        let common = Common { height, length, align, line_gap, arc, at };
        let [colour] = self.colours("lettering", colours)?;
        let lines = self.lines(text)?;
        let stranger = |c: &char| !c.is_whitespace() && !Block::KNOWN.contains(*c);
        if let Some(stranger) = lines.iter().flat_map(|line| line.chars()).find(stranger) {
            let stranger = stranger.to_string();
            let help = "block letters are A to Z in capitals, 0 to 9 and - . / & +; `draw: {text: {text: …, font: file.ttf, height: …}}` takes any that a font has";
            self.log.value(text.at, format!("there is no block letter `{}`", shown(&stranger)), help);
            return None;
        }
        self.not_backwards(&[&given.width, &given.stroke, &given.gap, &given.word_gap, line_gap])?;
        if let Some(mirror::Corners::Cut(corner) | mirror::Corners::Round(corner)) = given.corner.get() {
            self.not_backwards(&[&corner.size])?;
        }
        let widths = self.widths(&given.widths);
        let block = |height: f64| self.block(given, &widths, height);
        let measure = |line: &str, height: f64| block(height).length_of(line).to_mm();
        let height = self.height(&common, &lines, &measure)?;
        let block = block(height.to_mm());
        self.drawable(given, &lines, &block, height)?;
        let setting = self.setting(&common, &lines, height, &measure)?;
        Some(Draw::Letters(Lettering { lines, height, face: Face::Block(block), setting, colour }))
    }

    pub fn text(&self, given: &mirror::Lines, at: At, colours: Colours) -> Option<Draw> {
        let mirror::Lines { text, height, length, align, line_gap, arc, .. } = given;
        let common = Common { height, length, align, line_gap, arc, at };
        let colour = self.colours::<1>("lettering", colours);
        let name = given.font.get()?;
        let font = match self.fonts.find(self.log, given.font.at, &name.0) {
            Ok(font) => font,
            Err(reason) => {
                let message = format!("the font `{}` cannot be used: {reason}", shown(&name.0));
                let help = "name an OpenType or TrueType file in the spec's folder or below it";
                self.log.value(given.font.at, message, help);
                return None;
            }
        };
        let lines = self.lines(text)?;
        if let Some(c) = lines.iter().find_map(|line| font.lacking(line)) {
            let message = format!(
                "the font `{}` has no `{}` (U+{:04X})",
                shown(&name.0),
                shown(&c.to_string()),
                c as u32
            );
            self.log.value(text.at, message, "write it otherwise, or name a font that has it");
            return None;
        }
        self.not_backwards(&[line_gap])?;
        let gap = |height: f64| self.share(&given.gap, 0.0, height);
        let measure = |line: &str, height: f64| font.length(line, height, gap(height).to_mm());
        let height = self.height(&common, &lines, &measure)?;
        if lines.iter().any(|line| measure(line, height.to_mm()) == 0.0) {
            self.log.value(text.at, "a line has nothing to draw", "leave it out");
            return None;
        }
        let setting = self.setting(&common, &lines, height, &measure)?;
        let face = Face::Font(font, gap(height.to_mm()));
        Some(Draw::Letters(Lettering { lines, height, face, setting, colour: colour?[0] }))
    }

    /// Lengths that are none below nothing; shares are held to that where they are read.
    fn not_backwards(&self, all: &[&May<Proportion>]) -> Option<()> {
        let is_wrong = |got: &May<Proportion>| matches!(got.get(), Some(Proportion::Long(length)) if *length < Length::ZERO);
        let wrong: Vec<_> = all.iter().filter(|got| is_wrong(got)).collect();
        for got in &wrong {
            self.log.value(got.at, "a distance cannot be negative", "write a length of nothing or more");
        }
        wrong.is_empty().then_some(())
    }

    /// The lines, none of them blank.
    fn lines(&self, got: &Need<OneOrMany<Phrase>>) -> Option<Vec<String>> {
        let phrases: Vec<&Phrase> = match got.get()? {
            OneOrMany::Word(phrase) => vec![phrase],
            OneOrMany::List(phrases) => phrases.iter().map(Need::get).collect::<Option<_>>()?,
        };
        let lines: Vec<String> =
            phrases.iter().flat_map(|phrase| phrase.0.lines()).map(|line| line.trim().to_owned()).collect();
        let letters: usize = lines.iter().map(|line| line.chars().count()).sum();
        if lines.is_empty() || lines.iter().any(String::is_empty) {
            self.log.value(got.at, "a line without letters", "leave it out; `line_gap` moves lines apart");
            return None;
        }
        if lines.len() > MOST_LINES || letters > MOST_LETTERS {
            let message = format!("{letters} letters on {} lines", lines.len());
            let help = format!("at most {MOST_LETTERS} on {MOST_LINES}: make several markings of it");
            self.log.value(got.at, message, help);
            return None;
        }
        if let Some(control) = lines.iter().flat_map(|line| line.chars()).find(|c| c.is_control()) {
            let message = format!("a control character, U+{:04X}", control as u32);
            self.log.value(got.at, message, "take it out; a new line is an entry of a list");
            return None;
        }
        Some(lines)
    }

    /// The height that is given, or that gives the longest line its length.
    fn height(
        &self,
        common: &Common<'_>,
        lines: &[String],
        measure: &dyn Fn(&str, f64) -> f64,
    ) -> Option<Length<Full>> {
        match (common.height.given, common.length.given) {
            (true, false) => self.size(common.height),
            (false, true) => {
                let length = self.size(common.length)?.to_mm();
                let longest =
                    |height: f64| lines.iter().map(|line| measure(line, height)).fold(0.0, f64::max);
                // Lengths grow in proportion to the height, gaps that are given as lengths stay: a straight line.
                let (one, two) = (longest(1000.0), longest(2000.0));
                let (slope, fixed) = ((two - one) / 1000.0, 2.0 * one - two);
                let height = Length::mm((length - fixed) / slope);
                if slope > 0.0 && height.to_mm() > 0.0 && height.to_mm().is_finite() {
                    return Some(height);
                }
                let help = "give `gap` and the like as shares of the height, or make it longer";
                self.log.value(common.length.at, "this length leaves no room for letters", help);
                None
            }
            (true, true) => {
                let help = "give one of the two; the other follows";
                self.log.key(common.length.at, "`height` and `length` together", help);
                None
            }
            (false, false) => {
                let help = "add `height: …`, or `length: …` for the whole line";
                self.log.key(common.at, "`height` is missing", help);
                None
            }
        }
    }

    fn share(&self, got: &May<Proportion>, usual: f64, height: f64) -> Length<Full> {
        match got.get() {
            None => Length::mm(usual * height),
            Some(Proportion::Share(share)) => Length::mm(share * height),
            Some(Proportion::Long(length)) => *length * self.made.denominator(),
        }
    }

    fn widths(&self, got: &May<mirror::Named<Proportion>>) -> BTreeMap<char, May<Proportion>> {
        let mut widths = BTreeMap::new();
        for (name, width) in got.get().map_or(&[][..], |named| &named.0) {
            let mut letters = name.chars();
            match (letters.next(), letters.next()) {
                (Some(letter), None) if Block::KNOWN.contains(letter) => {
                    widths.insert(letter, width.to_may());
                }
                _ => {
                    let message = format!("`{}` is no block letter", shown(name));
                    self.log.key(width.at, message, "name one letter: `widths: {\"1\": 1/6, M: 1}`");
                }
            }
        }
        widths
    }

    fn block(&self, given: &mirror::Letters, widths: &BTreeMap<char, May<Proportion>>, height: f64) -> Block {
        let share = |got: &May<Proportion>, usual: f64| self.share(got, usual, height);
        let width = share(&given.width, WIDTH);
        let gap = share(&given.gap, GAP);
        let size = |size: &mirror::CornerSize, usual: Length<Full>| match size.size.given {
            true => share(&size.size, 0.0),
            false => usual,
        };
        let stroke = share(&given.stroke, STROKE);
        Block {
            width,
            widths: widths.iter().map(|(&letter, width)| (letter, share(width, WIDTH))).collect(),
            stroke,
            gap,
            word_gap: if given.word_gap.given { share(&given.word_gap, 0.0) } else { gap * WORD_GAPS },
            corner: match given.corner.get() {
                None => Corner::Round(width / 2.0),
                Some(mirror::Corners::Square) => Corner::Square,
                Some(mirror::Corners::Cut(cut)) => Corner::Cut(size(cut, stroke * 1.25)),
                Some(mirror::Corners::Round(round)) => Corner::Round(size(round, width / 2.0)),
            },
        }
    }

    /// Whether strokes leave letters open.
    fn drawable(
        &self,
        given: &mirror::Letters,
        lines: &[String],
        block: &Block,
        height: Length<Full>,
    ) -> Option<()> {
        let stroke = block.stroke;
        let at = if given.stroke.given { given.stroke.at } else { given.text.at };
        if !(stroke > Length::ZERO && stroke <= height * THICKEST) {
            let message =
                format!("strokes of {} do not make letters {} high", self.said(stroke), self.said(height));
            self.log.value(at, message, format!("more than nothing, and at most {} of the height", THICKEST));
            return None;
        }
        // Strokes side by side and what must stay open between them.
        let least = |letter: char| match letter {
            '1' | 'I' | '.' | '-' => 0.5,
            'M' | 'W' | '&' => 3.4,
            '/' | '+' => 1.5,
            _ => 2.7,
        };
        let letters = lines.iter().flat_map(|line| line.chars()).filter(|c| !c.is_whitespace());
        for letter in letters {
            let width = block.width_of(letter);
            if width < stroke * (least(letter) - 1e-9) {
                let message = format!(
                    "strokes of {} close up the {letter}, {} wide",
                    self.said(stroke),
                    self.said(width)
                );
                let help = format!(
                    "a thinner `stroke`, or `widths: {{\"{letter}\": {}}}`",
                    self.said(stroke * least(letter))
                );
                self.log.value(at, message, help);
                return None;
            }
            if width > height * 3.0 {
                let message = format!("a {letter} {} wide and {} high", self.said(width), self.said(height));
                self.log.value(at, message, "at most three times as wide as high");
                return None;
            }
        }
        Some(())
    }

    fn setting(
        &self,
        common: &Common<'_>,
        lines: &[String],
        height: Length<Full>,
        measure: &dyn Fn(&str, f64) -> f64,
    ) -> Option<Setting> {
        let align = common.align.get().copied().unwrap_or(Align::Centre);
        let line_gap = self.share(common.line_gap, LINE_GAP, height.to_mm());
        let plain = Setting { align, line_gap, bow: None };
        let Some(arc) = common.arc.get() else { return Some(plain) };
        let [line] = lines else {
            self.log.key(common.arc.at, "several lines along one arc", "make a marking of each line");
            return None;
        };
        let length = measure(line, height.to_mm());
        let under = arc.side.get() == Some(&BowSide::Under);
        // Hanging letters come closest at their heads.
        let heads = if under { height } else { Length::ZERO };
        let radius = match (arc.radius.given, arc.angle.given) {
            (true, false) => self.size(&arc.radius)?,
            (false, true) => {
                let angle = arc.angle.get()?;
                if !(1.0..=ROUND).contains(&angle.to_degrees()) {
                    let help = format!("from 1° to {ROUND}°");
                    self.log.value(arc.angle.at, "no angle for an arc of letters", help);
                    return None;
                }
                Length::mm(length / angle.to_radians()) + heads
            }
            _ => {
                let help = "give one of the two: `arc: {radius: …}` or `arc: {angle: …}`";
                self.log.key(common.arc.at, "an arc goes by its radius or its angle", help);
                return None;
            }
        };
        let least = Length::mm(length / Angle::degrees(ROUND).to_radians()) + heads;
        if radius < least * (1.0 - 1e-9) {
            let message = format!("an arc of radius {} is too tight for this line", self.said(radius));
            self.log.value(common.arc.at, message, format!("a radius of at least {}", self.said(least)));
            return None;
        }
        Some(Setting { bow: Some(Bow { radius, under }), ..plain })
    }
}
