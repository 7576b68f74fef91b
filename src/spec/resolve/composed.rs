//! Drawings made of drawings: groups, named drawings, and what is done to each item.
//!
//! Named drawings are written out where they are used, so circles and growth
//! without measure are refused here: by names on the way, depth, and a count of
//! everything drawn.

use super::super::lenient::{Got, May, Need};
use super::super::log::At;
use super::super::mirror::{self, OneOrMany};
use super::super::problem::shown;
use super::super::words::{Cornered, Text};
use super::drawing::{Colours, ColoursKind, Drawings, Paint, drawing};
use super::each;
use crate::flow::{Change, ColourId, Draw, Edge, EdgeWidth};
use crate::units::{Angle, Full, Length};
use std::cell::{Cell, RefCell};

/// Most drawings that one marking is made of, repeats counted.
const MOST_ITEMS: usize = 1000;
/// Deepest nesting of drawings in drawings.
const DEEPEST: usize = 12;

/// The way from a marking down to what is being read.
#[derive(Default)]
pub struct Nest {
    /// Named drawings that are being written out.
    names: RefCell<Vec<String>>,
    depth: Cell<usize>,
    /// How often the repeats round it draw what is being read, less one.
    copies: Cell<usize>,
    drawn: Cell<usize>,
}

impl Nest {
    pub fn is_inside(&self) -> bool {
        self.depth.get() > 0
    }
}

impl Paint<'_> {
    /// A marking's own drawing, with its border.
    pub fn marked(&self, given: &mirror::Marking, at: At) -> Option<Draw> {
        let colours = self.ink(&given.draw, (&given.colour, &given.colours), at, None);
        let draw = drawing(self, &given.draw, colours.clone());
        let Some(wanted) = given.border.get() else { return draw };
        let edge = self.edge(wanted, given.border.at, &colours);
        let draw = draw?;
        if let Draw::Band { .. } | Draw::Checks { columns: None, .. } | Draw::Hazard { length: None, .. } =
            draw
        {
            let help = "give it a length, or lay bands of their own beside it";
            self.log.key(given.border.at, "a pattern that goes all the way has no border", help);
            return None;
        }
        Some(Draw::Changed { draw: Box::new(draw), changes: vec![Change::Border(edge?)] })
    }

    /// Colours as given, or those of what the drawing is part of.
    fn ink(
        &self,
        draw: &Need<mirror::Draw>,
        (colour, colours): (&May<Text>, &May<OneOrMany<Text>>),
        at: At,
        outer: Option<&Colours>,
    ) -> Colours {
        if colour.given || colours.given {
            return self.found(colour, colours);
        }
        if let Some(outer) = outer.filter(|outer| outer.kind != ColoursKind::None) {
            return outer.clone();
        }
        let has_own = matches!(
            draw.get(),
            Some(mirror::Draw::Group(_) | mirror::Draw::Drawing(_) | mirror::Draw::Artwork(_))
        );
        if !has_own {
            let help = "add `colour: …`, a name from `colours` or a quoted \"#rrggbb\"";
            self.log.key(at, "`colour` is missing", help);
        }
        Colours { ids: None, at, kind: ColoursKind::None }
    }

    /// Colours by name, `None` where one is unknown; with the place to blame for their number.
    fn found(&self, colour: &May<Text>, colours: &May<OneOrMany<Text>>) -> Colours {
        if colour.given && colours.given {
            self.log.key(colours.at, "`colour` and `colours` together", "give one of the two");
        }
        let words = match colour.get() {
            Some(one) => vec![(one, colour.at)],
            None => each(self.log, colours),
        };
        let is_whole = match colours.get() {
            Some(OneOrMany::List(many)) => many.len() == words.len(),
            Some(OneOrMany::Word(_)) => true,
            None => colour.get().is_some(),
        };
        let found: Vec<_> = words.into_iter().map(|(word, at)| self.find(word, at)).collect();
        let ids = found.into_iter().collect::<Option<Vec<_>>>().filter(|ids| is_whole && !ids.is_empty());
        let at = if colour.given { colour.at } else { colours.at };
        Colours { ids, at, kind: ColoursKind::Given }
    }

    fn find(&self, word: &Text, at: At) -> Option<ColourId> {
        self.palette.borrow_mut().find(self.log, &word.0, at)
    }

    /// Drawings over one another, the first at the bottom.
    pub fn group(&self, items: &[Need<mirror::Item>], at: At, colours: &Colours) -> Option<Draw> {
        if items.is_empty() {
            self.log.value(
                at,
                "a group of nothing",
                "list drawings: `[{draw: …}, …]`, the first at the bottom",
            );
            return None;
        }
        let items: Vec<Option<Draw>> =
            items.iter().map(|item| self.item(item.get()?, item.at, colours)).collect();
        items.into_iter().collect::<Option<Vec<_>>>().map(Draw::Group)
    }

    /// A drawing from the top level's `drawings`.
    pub fn named(&self, name: &str, at: At, colours: &Colours) -> Option<Draw> {
        let Some(&(_, items)) = self.drawings.list.iter().find(|(known, _)| *known == name) else {
            let names = self.drawings.list.iter().map(|&(name, _)| name);
            self.log.unknown(at, "no drawing is called", name, names);
            return None;
        };
        if self.nest.names.borrow().iter().any(|other| other == name) {
            let way = self.nest.names.borrow().join(" → ");
            let message = format!("drawings that are made of each other: {way} → {}", shown(name));
            self.log.value(at, message, "take one of them out");
            return None;
        }
        self.drawings.read.borrow_mut().insert(name.into());
        self.nest.names.borrow_mut().push(name.into());
        let draw = self.items(items, colours);
        self.nest.names.borrow_mut().pop();
        draw
    }

    /// One drawing or several over one another.
    fn items<const NEEDED: bool>(&self, got: &Got<mirror::Items, NEEDED>, colours: &Colours) -> Option<Draw> {
        match got.get()? {
            mirror::Items::Map(item) => self.item(item, got.at, colours),
            mirror::Items::List(items) => self.group(items, got.at, colours),
        }
    }

    /// A drawing of which only the form counts.
    fn form(&self, got: &May<mirror::Items>) -> Option<Draw> {
        self.items(got, &Colours { ids: None, at: got.at, kind: ColoursKind::Any })
    }

    fn item(&self, item: &mirror::Item, at: At, outer: &Colours) -> Option<Draw> {
        let nest = &self.nest;
        if nest.depth.get() >= DEEPEST {
            let message = format!("drawings in drawings more than {DEEPEST} deep");
            self.log.value(at, message, "draw some of them in place of naming them");
            return None;
        }
        let outer_copies = nest.copies.get();
        nest.depth.set(nest.depth.get() + 1);
        let repeat = item.repeat.get().map(|repeat| self.repeat(repeat));
        if let Some(Some((count, _))) = &repeat {
            nest.copies.set((outer_copies + 1).saturating_mul(*count as usize) - 1);
        }
        let before = nest.drawn.get();
        nest.drawn.set(before.saturating_add(nest.copies.get() + 1));
        let draw = if nest.drawn.get() <= MOST_ITEMS { self.changed(item, at, outer, repeat) } else { None };
        if before <= MOST_ITEMS && nest.drawn.get() > MOST_ITEMS {
            let message = format!("a marking of more than {MOST_ITEMS} drawings, repeats counted");
            self.log.value(at, message, "share it out over several markings, or use a pattern");
        }
        nest.depth.set(nest.depth.get() - 1);
        nest.copies.set(outer_copies);
        draw
    }

    /// The item's drawing with all that is done to it, in the order of the mirror's fields.
    fn changed(
        &self,
        item: &mirror::Item,
        at: At,
        outer: &Colours,
        repeat: Option<Option<(u32, Change)>>,
    ) -> Option<Draw> {
        let colours = self.ink(&item.draw, (&item.colour, &item.colours), at, Some(outer));
        let draw = drawing(self, &item.draw, colours.clone());
        let mut changes: Vec<Option<Change>> = Vec::new();
        if item.cut_out.given {
            changes.push(self.form(&item.cut_out).map(Change::CutOut));
        }
        if item.clip.given {
            changes.push(self.form(&item.clip).map(Change::Clip));
        }
        let edge = |got: &May<mirror::Edge>| self.edge(got.get()?, got.at, &colours);
        if item.outline.given {
            changes.push(edge(&item.outline).map(Change::Outline));
        }
        if item.border.given {
            changes.push(edge(&item.border).map(Change::Border));
        }
        changes.extend(repeat.map(|repeat| repeat.map(|(_, change)| change)));
        if item.mirror.get().is_some_and(|mirror| mirror.0) {
            changes.push(Some(Change::Mirror));
        }
        if let Some(&turn) = item.turn.get().filter(|turn| **turn != Angle::ZERO) {
            changes.push(Some(Change::Turn(turn)));
        }
        if item.along.given || item.across.given {
            let step = self.steps(&item.along, &item.across);
            changes.push(step.map(|[along, across]| Change::Move { along, across }));
        }
        let changes: Vec<Change> = changes.into_iter().collect::<Option<_>>()?;
        let draw = Box::new(draw?);
        Some(if changes.is_empty() { *draw } else { Draw::Changed { draw, changes } })
    }

    fn steps(&self, along: &May<Length<Full>>, across: &May<Length<Full>>) -> Option<[Length<Full>; 2]> {
        let step = |got: &May<Length<Full>>| match got.get() {
            Some(length) => self.step(got.at, length),
            None => (!got.given).then_some(Length::ZERO),
        };
        let (along, across) = (step(along), step(across));
        Some([along?, across?])
    }

    fn repeat(&self, repeat: &mirror::Repeat) -> Option<(u32, Change)> {
        match repeat {
            mirror::Repeat::Line(line) => {
                let step = self.steps(&line.along, &line.across);
                if !line.along.given && !line.across.given {
                    let help = "add `along: …` or `across: …`, the way from each to the next";
                    self.log.key(line.count.at, "the repeats lie on top of each other", help);
                }
                let (count, [along, across]) = (line.count.get()?.0, step?);
                Some((count, Change::Line { count, along, across }))
            }
            mirror::Repeat::Ring(ring) => {
                let (count, diameter) = (ring.count.get()?.0, self.size(&ring.diameter)?);
                let upright = ring.upright.get().is_some_and(|upright| upright.0);
                Some((count, Change::Ring { count, diameter, upright }))
            }
        }
    }

    /// A line along the drawing's edge, in a colour of its own or the drawing's first.
    fn edge(&self, edge: &mirror::Edge, at: At, colours: &Colours) -> Option<Edge> {
        let width = match (edge.width.given, edge.share.given) {
            (true, false) => self.size(&edge.width).map(EdgeWidth::Wide),
            (false, true) => {
                let share = edge.share.get()?.0;
                if !(share > 0.0 && share <= 1.0) {
                    let help = "of the drawing's width or height, whichever is less: over 0 % up to 100 %";
                    self.log.value(edge.share.at, "a line of no width, or wider than its drawing", help);
                    return None;
                }
                Some(EdgeWidth::Share(share))
            }
            (true, true) => {
                self.log.key(edge.share.at, "`width` and `share` together", "give one of the two");
                None
            }
            (false, false) => {
                let help = "add `width: …`, or `share: …` of the drawing's smaller side, `10 %`";
                self.log.key(at, "the line has no width", help);
                None
            }
        };
        let colour = match edge.colour.get() {
            Some(word) => self.find(word, edge.colour.at),
            None if edge.colour.given => None,
            None if colours.kind == ColoursKind::Any => Some(ColourId(0)),
            None => {
                let first = colours.ids.as_ref().and_then(|ids| ids.first().copied());
                if colours.kind == ColoursKind::None {
                    let help = "add `colour: …` to the line";
                    self.log.key(at, "the line has no colour, and its drawing has none of its own", help);
                }
                first
            }
        };
        let round = edge.corner.get() == Some(&Cornered::Round);
        Some(Edge { width: width?, round, colour: colour? })
    }
}

/// Named drawings that nobody uses are read all the same.
pub fn all_read(paint: &Paint<'_>, drawings: &Drawings<'_>) {
    for (name, items) in &drawings.list {
        if drawings.read.borrow().contains(*name) {
            continue;
        }
        let any = Colours { ids: None, at: items.at, kind: ColoursKind::Any };
        paint.named(name, items.at, &any);
        paint.nest.drawn.set(0);
    }
}
