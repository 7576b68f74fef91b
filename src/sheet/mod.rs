//! Pieces on pages: one series of sheets for each make, and for masks one for each colour, of one
//! scale or of several that share sheets.
//!
//! A piece becomes a `blank` (film, colour, lines), gets its `marks`, is
//! placed by a `layout`, and lies within a `frame` of head and check bars.
//! Every piece is on exactly one sheet of each of its series, or there is a
//! `sheet-full` finding that says which page would do.
//!
//! Left out: bytes (a writer's business), and whether a piece is any good.

mod blank;
pub mod calibration;
mod frame;
mod ink;
pub mod layout;
mod marks;
pub mod nest;
pub mod print;
mod relief;
mod series;
mod split;
pub mod tape;
mod told;

pub use series::Lot;
pub use split::sections;

use crate::flow::{
    ColourId, Finding, Item, Labels, Layer, Lines, Make, MarkingId, Numbered, Plan, Purpose, Sheet,
};
use crate::outline::number::listed;
use crate::outline::{Bounds, Outline, Point, Region};
use crate::units::{Model, Scale};
use layout::{Footprint, Placement};
use nest::Nest;
use series::{Cut, Series};
use std::collections::BTreeMap;

/// All sheets of film that `lots` share, decals first, then the films of masks in spraying order.
pub fn sheets(plan: &Plan, lots: &[Lot]) -> (Vec<Sheet>, Vec<Numbered>) {
    let all = series::all(plan, lots);
    let has_first = lots.iter().any(|lot| plan.scales.first() == Some(&lot.scale));
    let mut told = Told::default();
    let mut leaves = Vec::new();
    let nest = Nest { effort: plan.sheets.effort };
    for (k, series) in all.iter().enumerate() {
        // The partly used sheet of a film is taken once: by what comes first.
        let first = has_first && all[..k].iter().all(|s| s.make != series.make);
        let used = if first { &plan.films.of(series.make).used[..] } else { &[] };
        leaves.extend(laid_out(plan, series, &nest, used, &mut told));
    }
    let of = |make| leaves.iter().filter(|leaf| leaf.series.make == make).count();
    let totals = [(Make::Decal, of(Make::Decal)), (Make::Mask, of(Make::Mask))];
    let mut sheets = Vec::new();
    let mut gone = Vec::new();
    for (make, total) in totals {
        let of_make = leaves.iter().filter(|leaf| leaf.series.make == make);
        for (k, leaf) in of_make.enumerate() {
            let sheet = leaf.sheet(plan, [k + 1, total]);
            gone.extend(leaf.marks_gone(plan, &sheet));
            sheets.push(sheet);
        }
    }
    let of_sheets = told.in_rows.into_values().chain(told.left_alone).chain(gone);
    let refused = told.refused.into_values().map(|(number, finding)| (Some(number), finding));
    (sheets, refused.chain(of_sheets.map(|finding| (None, finding))).collect())
}

/// What is found while pieces are laid out.
#[derive(Default)]
struct Told {
    /// What no sheet can hold, with its number, once for all copies: by marking, what it is made as, and its scale's
    /// place.
    refused: BTreeMap<(MarkingId, Make, Option<usize>), (u32, Finding)>,
    /// What lies in plain rows.
    in_rows: BTreeMap<Make, Finding>,
    /// Partly used sheets that are not used on.
    left_alone: Vec<Finding>,
}

/// One sheet's worth of a series.
struct Leaf<'a> {
    series: &'a Series<'a>,
    lying: Vec<Lying<'a>>,
    /// What was gone of it before: corners on the page.
    used: &'a [Point],
}

/// A piece in its place; `to` leads from its own coordinates to the page.
struct Lying<'a> {
    cut: &'a Cut<'a>,
    marks: Vec<Item>,
    to: Placement,
}

fn laid_out<'a>(
    plan: &Plan,
    series: &'a Series<'a>,
    nest: &Nest,
    used: &'a [Point],
    told: &mut Told,
) -> Vec<Leaf<'a>> {
    let sheets = plan.sheets_of(series.make);
    let (mut room, field) = (frame::room(&sheets), frame::field(&sheets));
    if !used.is_empty() {
        room.used = Region::new(vec![used.to_vec()]).cleaned().moved(-field.min.to_vector());
    }
    let all_marks: Vec<_> = series.pieces.iter().map(|cut| marks(plan, cut, room.width)).collect();
    let items: Vec<_> =
        series.pieces.iter().zip(&all_marks).map(|(cut, marks)| footprint(plan, cut, marks)).collect();
    let (places, in_rows) = nest.lay(&items, &room);
    if in_rows {
        told.in_rows.entry(series.make).or_insert_with(|| told::in_rows(plan, series.make, &series.pieces));
    }
    if !used.is_empty() && (in_rows || nest.effort == 0) {
        told.left_alone.push(told::left_alone(plan, series.make, &series.pieces));
    }
    let mut leaves: Vec<Leaf> = Vec::new();
    for (((cut, marks), item), place) in series.pieces.iter().zip(all_marks).zip(&items).zip(places) {
        let Some(mut to) = place else {
            let place = plan.scales.iter().position(|scale| *scale == cut.scale);
            let key = (cut.piece.marking, series.make, place);
            let number = cut.piece.number;
            told.refused.entry(key).or_insert_with(|| (number, told::sheet_full(plan, cut, item)));
            continue;
        };
        while leaves.len() <= to.sheet {
            let used = if leaves.is_empty() { used } else { &[] };
            leaves.push(Leaf { series, lying: Vec::new(), used });
        }
        to.step += field.min.to_vector();
        leaves[to.sheet].lying.push(Lying { cut, marks, to });
    }
    // A partly used sheet may have had no room.
    leaves.retain(|leaf| !leaf.lying.is_empty());
    leaves
}

fn marks(plan: &Plan, cut: &Cut, widest: f64) -> Vec<Item> {
    let marking = &plan.markings[cut.piece.marking.0];
    let mut items = marks::on_edge(&cut.blank);
    items.extend(cut.blank.numbers.iter().cloned());
    let scale = (plan.sheets.gang && plan.scales.len() > 1).then_some(cut.scale);
    let film = cut.blank.film.bounds();
    if plan.sheets.labels != Labels::None {
        items.extend(marks::number(cut.piece, &film));
    }
    if plan.sheets.labels == Labels::Names {
        items.push(marks::name(cut.piece, marking, scale, &film, widest));
    }
    items
}

/// Film as it is, marks and label as boxes. Spares go last, on what room is left.
fn footprint(plan: &Plan, cut: &Cut, marks: &[Item]) -> Footprint {
    let mut area = cut.blank.film.clone();
    for bounds in marks.iter().map(bounds).filter(|bounds| !bounds.is_empty()) {
        area.rings.extend(
            Outline::<Model>::rectangle(bounds.center(), bounds.width(), bounds.height())
                .flattened(1.0)
                .rings,
        );
    }
    let marking = &plan.markings[cut.piece.marking.0];
    let is_spare = plan.is_spare(cut.piece);
    let rank = if is_spare { -1 } else { i32::try_from(marking.piece.priority).unwrap_or(i32::MAX) };
    Footprint { area, turns: marking.piece.turns.unwrap_or(plan.sheets.turns), rank }
}

fn bounds(item: &Item) -> Bounds {
    match item {
        Item::Fill { outline, .. } => outline.bounds(),
        Item::Line { outline, width, .. } => {
            outline.bounds().inflate(width.to_mm() / 2.0, width.to_mm() / 2.0)
        }
        Item::Path { points, width, .. } => {
            Bounds::from_points(points.iter().copied()).inflate(width.to_mm() / 2.0, width.to_mm() / 2.0)
        }
    }
}

impl Leaf<'_> {
    /// The head, check bars or register crosses, where they fall on film that is gone.
    fn marks_gone(&self, plan: &Plan, sheet: &Sheet) -> Option<Finding> {
        if self.used.is_empty() {
            return None;
        }
        let used = Region::new(vec![self.used.to_vec()]).cleaned();
        let falls = |bounds: Bounds| {
            let strip = Outline::<Model>::rectangle(bounds.center(), bounds.width(), bounds.height());
            !strip.flattened(1.0).intersection(&used).is_empty()
        };
        let sheets = plan.sheets_of(self.series.make);
        let (head, bars) = frame::own_marks(&sheets);
        let is_printed = |layer: &&Layer| matches!(layer.purpose, Purpose::White | Purpose::Artwork);
        let in_layers = sheet.layers.iter().filter(is_printed).count() > 1;
        let has_crosses = self.series.make == Make::Decal && (plan.cutter.is_some() || in_layers);
        let cross_gone = has_crosses && sheets.register_marks().into_iter().any(|cross| used.contains(cross));
        let gone = [
            (falls(head), "the head"),
            (bars.into_iter().any(falls), "a check bar"),
            (cross_gone, "a register cross"),
        ];
        let what = listed(gone.into_iter().filter(|(is, _)| *is).map(|(_, what)| what.to_owned()));
        if what.is_empty() {
            return None;
        }
        let piece = self.lying.first().map(|lying| lying.cut.piece);
        Some(told::on_used_film(plan, &sheet.stem, piece, &what))
    }

    /// Those of its pieces, in the order of the plan.
    fn scales(&self, plan: &Plan) -> Vec<Scale> {
        let has = |scale: &&Scale| self.lying.iter().any(|lying| lying.cut.scale == **scale);
        plan.scales.iter().filter(has).copied().collect()
    }

    fn sheet(&self, plan: &Plan, count: [usize; 2]) -> Sheet {
        let scales = self.scales(plan);
        let colour = self.series.colour.map(|(id, step)| (&plan.colours[id.0], step));
        let make = self.series.make;
        let is_cut = make != Make::Decal || plan.cutter.is_some();
        let heading = frame::Heading {
            title: &plan.title,
            scales: &scales,
            make,
            is_cut,
            colour,
            count,
            printer: &plan.printer,
        };
        let stem = match colour {
            Some((colour, _)) => {
                format!("{}-{}{}", self.series.make.word(), count[0], file_word(&colour.name))
            }
            None => format!("{}-{}", self.series.make.word(), count[0]),
        };
        let sheets = plan.sheets_of(make);
        let inner = frame::inner(&sheets);
        let used: f64 = self.lying.iter().map(|lying| lying.cut.blank.film.area()).sum();
        let mut marks = frame::dressed(&sheets, &heading);
        marks.extend(self.placed(|lying| &lying.marks));
        if let Some(&first) = self.used.first() {
            marks.push(ink::stroke(self.used.iter().copied().chain([first]).collect()));
        }
        if plan.cutter.is_some() && self.series.make == Make::Decal {
            marks.extend(frame::register(&sheets));
        }
        let lines = if make == Make::Decal { plan.printer.lines } else { Lines::ALL };
        let mut layers = self.printed(plan);
        let spots = &plan.printer.spots;
        let cut = Layer::new(Purpose::Cut, self.placed(|lying| &lying.cut.blank.cut));
        layers.push(cut.named(&spots.cut).hidden_if(!lines.cut));
        let relief = self.placed(|lying| &lying.cut.blank.relief);
        if !relief.is_empty() {
            layers.push(Layer::new(Purpose::Relief, relief).named(&spots.relief).hidden_if(!lines.relief));
        }
        let trim = Layer::new(Purpose::Trim, self.placed(|lying| &lying.cut.blank.trim));
        layers.push(trim.hidden_if(!lines.trim));
        layers.push(Layer::new(Purpose::Marks, marks));
        let register = self.placed(|lying| &lying.cut.blank.register);
        if !register.is_empty() {
            layers.push(Layer::new(Purpose::Register, register));
        }
        Sheet {
            stem,
            page: sheets.page,
            scales,
            make: self.series.make,
            colour: self.series.colour.map(|(id, _)| id),
            step: self.series.colour.map(|(_, step)| step),
            pieces: self.lying.iter().map(|lying| lying.cut.piece.number).collect(),
            outlines: self.lying.iter().map(|lying| lying.outline()).collect(),
            used_share: used / inner.area(),
            layers,
        }
    }

    /// White and colour, in the order in which they are printed: on what is laid face down white comes last,
    /// and the colours turn round with it.
    fn printed(&self, plan: &Plan) -> Vec<Layer> {
        let printer = &plan.printer;
        let decal = self.series.make == Make::Decal;
        let mut layers = Vec::new();
        if let Some(white) = printer.white.as_ref().filter(|_| decal) {
            let items = self.placed(|lying| &lying.cut.blank.white);
            layers.push(Layer::new(Purpose::White, items).named(&white.name));
        }
        let inked: Vec<(Option<ColourId>, Item)> = self
            .lying
            .iter()
            .flat_map(|lying| {
                lying.cut.blank.artwork.iter().map(|(ink, item)| (*ink, moved(item, &lying.to)))
            })
            .collect();
        // Light grounds under lines that are cut lie over every colour.
        let mut bare = Vec::new();
        match printer.order.as_ref().filter(|_| decal) {
            None => {
                let items = inked.into_iter().map(|(_, item)| item).collect();
                layers.push(Layer::new(Purpose::Artwork, items));
            }
            Some(order) => {
                let mut colours: Vec<ColourId> = Vec::new();
                for colour in inked.iter().filter_map(|(colour, _)| *colour) {
                    if !colours.contains(&colour) {
                        colours.push(colour);
                    }
                }
                colours.sort_by_key(|colour| blank::place_in(order, *colour));
                for colour in colours {
                    let own = inked.iter().filter(|(ink, _)| *ink == Some(colour));
                    let layer = Layer::new(Purpose::Artwork, own.map(|(_, item)| item.clone()).collect());
                    layers.push(layer.named(&plan.colours[colour.0].name));
                }
                bare.extend(inked.iter().filter(|(ink, _)| ink.is_none()).map(|(_, item)| item.clone()));
            }
        }
        if layers.len() > 1 {
            for layer in &mut layers {
                layer.items.extend(frame::register(&plan.sheets_of(self.series.make)));
            }
        }
        if printer.mirrored && decal {
            layers.reverse();
        }
        if let Some(last) = layers.iter_mut().rfind(|layer| layer.purpose == Purpose::Artwork) {
            last.items.extend(bare);
        }
        layers
    }

    fn placed<'s>(&'s self, items: impl Fn(&'s Lying<'s>) -> &'s Vec<Item>) -> Vec<Item> {
        self.lying.iter().flat_map(|lying| items(lying).iter().map(|item| moved(item, &lying.to))).collect()
    }
}

impl Lying<'_> {
    /// The film on the page.
    fn outline(&self) -> Outline<Model> {
        laid(&self.cut.blank.film.to_outline(), &self.to)
    }
}

fn moved(item: &Item, to: &Placement) -> Item {
    match item {
        Item::Fill { outline, rgb } => Item::Fill { outline: laid(outline, to), rgb: *rgb },
        Item::Line { outline, rgb, width } => {
            Item::Line { outline: laid(outline, to), rgb: *rgb, width: *width }
        }
        Item::Path { points, rgb, width } => {
            let place = |p: &crate::outline::Point| {
                (crate::outline::turned(p.to_vector(), to.turn.to_radians()) + to.step).to_point()
            };
            Item::Path { points: points.iter().map(place).collect(), rgb: *rgb, width: *width }
        }
    }
}

fn laid(outline: &Outline<Model>, to: &Placement) -> Outline<Model> {
    outline.turned(to.turn.to_radians()).moved(to.step)
}

/// A colour's name as a file name can carry it on any system, after a hyphen; nothing of a name without letters.
fn file_word(name: &str) -> String {
    let plain = |c: char| if c.is_alphanumeric() { c } else { '-' };
    let word: String = name.to_lowercase().chars().map(plain).take(40).collect();
    match word.trim_matches('-') {
        "" => String::new(),
        word => format!("-{word}"),
    }
}
