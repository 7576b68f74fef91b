//! What every sheet carries besides pieces: head, check bars, foot.
//!
//! Title and facts over a thin rule at the top; at the lower left two bars of
//! 50 mm, one across and one up, to be measured after printing; beside them how
//! to print and, on mask sheets, what to mind. What is left is the room for
//! pieces.

use super::ink;
use super::layout::Room;
use crate::flow::{Colour, Item, Make, Printer, Sheets};
use crate::outline::number::short;
use crate::outline::{Bounds, Outline, Point, Region, Vector, point};
use crate::units::{Model, Scale};
use std::f64::consts::FRAC_PI_2;

/// Height kept for the head, mm.
const HEAD: f64 = 9.0;
/// Height kept for the foot and width kept for the bar that stands, mm.
const FOOT: f64 = 6.5;
/// Capitals of the title, of the facts and of the foot, mm.
const LETTERS: [f64; 3] = [2.8, 1.9, 1.4];
/// Lengths a check bar may have, mm: the longest that the page has room for.
const BARS: [f64; 3] = [50.0, 20.0, 10.0];
/// Thickness of a check bar, mm.
const BAR: f64 = 1.0;

const PRINT: &str = "Print at 100 %, then measure both bars.";
const TRIAL: &str = "Trial on plain paper: cut out and hold against the part before film is spent.";
const CAUTION: &str = "Fresh blade, cutting mat. Paint and solvents: makers' instructions, fresh air.";

/// What the head says.
pub struct Heading<'a> {
    pub title: &'a str,
    pub scales: &'a [Scale],
    pub make: Make,
    /// Whether it goes under a blade, so that the foot says what to mind.
    pub is_cut: bool,
    /// With the step, for masks.
    pub colour: Option<(&'a Colour, u32)>,
    /// n of m.
    pub count: [usize; 2],
    /// What the page is drawn for.
    pub printer: &'a Printer,
}

/// Between the margins, mm on the page.
pub fn inner(sheets: &Sheets) -> Bounds {
    let [left, right, top, bottom] = sheets.kept();
    Bounds::new(
        point(left, bottom),
        point(sheets.page.width.to_mm() - right, sheets.page.height.to_mm() - top),
    )
}

/// Where pieces may lie, mm on the page; may be turned inside out where the page is too small.
pub fn field(sheets: &Sheets) -> Bounds {
    let inner = inner(sheets);
    Bounds::new(inner.min + Vector::splat(FOOT), inner.max - Vector::new(0.0, HEAD))
}

/// The room that a layout gets.
pub fn room(sheets: &Sheets) -> Room {
    let field = field(sheets);
    Room {
        width: field.width(),
        height: field.height(),
        spacing: sheets.spacing.to_mm(),
        used: Region::empty(),
    }
}

/// Width and height, mm, of the smallest page with the same margins whose room is `width` × `height`.
pub fn page_for(sheets: &Sheets, width: f64, height: f64) -> [f64; 2] {
    let [left, right, top, bottom] = sheets.kept();
    [width + left + right + FOOT, height + top + bottom + HEAD + FOOT]
}

/// What the head and the two check bars take up, mm on the page.
pub fn own_marks(sheets: &Sheets) -> (Bounds, [Bounds; 2]) {
    let inner = inner(sheets);
    let head = Bounds::new(point(inner.min.x, inner.max.y - HEAD), inner.max);
    let length = bar_length(&inner).unwrap_or(0.0);
    let bar = |across: f64, up: f64| Bounds::new(inner.min, inner.min + Vector::new(across, up));
    (head, [bar(length, BAR), bar(BAR, length)])
}

/// The longest check bar there is room for.
fn bar_length(inner: &Bounds) -> Option<f64> {
    BARS.into_iter().find(|bar| *bar <= inner.width().min(inner.height() - HEAD))
}

/// Everything on the sheet that is no piece's.
pub fn dressed(sheets: &Sheets, heading: &Heading) -> Vec<Item> {
    let inner = inner(sheets);
    if inner.width() <= 0.0 || inner.height() <= HEAD {
        return Vec::new();
    }
    let mut items = head(&inner, heading);
    items.extend(bars_and_foot(&inner, heading));
    items
}

/// Crosses that a cutter finds a printed sheet by, within the margins.
pub fn register(sheets: &Sheets) -> Vec<Item> {
    let bare = sheets.bare;
    let [left, right, top, bottom] = sheets.kept();
    let sides = [left - bare.left.to_mm(), right - bare.right.to_mm()];
    let free = [sides[0], sides[1], top - bare.top.to_mm(), bottom - bare.bottom.to_mm()];
    let arm = (0.35 * free.into_iter().fold(f64::INFINITY, f64::min)).min(2.5);
    let cross = |p: Point| {
        let (x, y) = (Vector::new(arm, 0.0), Vector::new(0.0, arm));
        [ink::mark(p - x, p + x), ink::mark(p - y, p + y)]
    };
    sheets.register_marks().into_iter().flat_map(cross).collect()
}

/// Says under the head among `marks` what a sheet of outlines is for.
pub fn trial_note(marks: &[Item]) -> Option<Item> {
    // The rule under the head comes third, and runs from margin to margin.
    let Some(Item::Path { points, .. }) = marks.get(2) else { return None };
    let (from, to) = (points.first()?, points.last()?);
    let words = ink::text(TRIAL, LETTERS[1], to.x - from.x);
    Some(ink::solid(words.moved(from.to_vector() - Vector::new(0.0, LETTERS[1] + 1.0))))
}

fn head(inner: &Bounds, heading: &Heading) -> Vec<Item> {
    let [sheet, of] = heading.count;
    let what = match heading.colour {
        Some((colour, step)) => {
            let paint = colour.paint.as_ref().map_or_else(String::new, |paint| format!(", {paint}"));
            format!("{}, step {step}, {}{paint}", heading.make.word(), colour.name)
        }
        None if heading.make == Make::Decal && heading.printer.mirrored => {
            format!("{}, laid face down", heading.make.word())
        }
        None => heading.make.word().to_owned(),
    };
    let scales: Vec<String> = heading.scales.iter().map(ToString::to_string).collect();
    let facts = format!("{}  ·  {what}  ·  sheet {sheet} of {of}", scales.join(", "));
    titled(inner, heading.title, &facts, heading.colour.map(|(colour, _)| colour.rgb))
}

/// A title, facts at the right, a patch of colour before them, a rule under all.
pub fn titled(inner: &Bounds, title: &str, facts: &str, colour: Option<[u8; 3]>) -> Vec<Item> {
    let baseline = inner.max.y - LETTERS[0];
    let facts = ink::text(facts, LETTERS[1], inner.width() * 0.6);
    let right = inner.max.x - facts.bounds().max.x;
    let swatch = colour.map(|rgb| (LETTERS[1] * 1.2, rgb));
    let taken = facts.bounds().max.x + swatch.map_or(0.0, |(side, _)| side + 1.2);
    let title = ink::text(title, LETTERS[0], inner.width() - taken - 4.0);
    let rule = baseline - 2.2;
    let mut items = vec![
        ink::solid(title.moved(Vector::new(inner.min.x, baseline))),
        ink::solid(facts.moved(Vector::new(right, baseline))),
        ink::mark(point(inner.min.x, rule), point(inner.max.x, rule)),
    ];
    if let Some((side, rgb)) = swatch {
        let centre = point(right - 1.2 - side / 2.0, baseline + LETTERS[1] / 2.0);
        let outline = Outline::rectangle(centre, side, side);
        items.push(Item::Fill { outline: outline.clone(), rgb });
        items.push(Item::Line { outline, rgb: ink::INK, width: ink::FINE });
    }
    items
}

fn bars_and_foot(inner: &Bounds, heading: &Heading) -> Vec<Item> {
    let corner = inner.min.to_vector();
    let mut items = Vec::new();
    let mut after = 0.0;
    let mut print = PRINT.to_owned();
    if let Some(length) = bar_length(inner) {
        let across = bar(length);
        let words = ink::text(&format!("{length} mm"), LETTERS[2], length);
        let words = words.moved(Vector::new((length - words.bounds().max.x) / 2.0, BAR + 0.9));
        // Turned about the corner, so that both bars lie inside it.
        let up = across.moved(Vector::new(-length, 0.0)).turned(-FRAC_PI_2);
        let reads_up = words.moved(Vector::new(0.0, -words.bounds().center().y));
        let reads_up = reads_up.turned(FRAC_PI_2);
        let reads_up = reads_up.moved(Vector::new(BAR + 0.9 + LETTERS[2] / 2.0, 0.0));
        items.extend([across, up, words, reads_up].map(|o| ink::solid(o.moved(corner))));
        after = length + 4.0;
        if !heading.printer.is_true() {
            let [across, along] = heading.printer.factors().map(|factor| short(length * factor, 2));
            print = format!(
                "{PRINT} Each is {length} mm, drawn {across} across and {along} along for this printer."
            );
        }
    }
    let lines: &[&str] = if heading.is_cut { &[CAUTION, &print] } else { &[&print] };
    for (k, line) in lines.iter().enumerate() {
        let at = corner + Vector::new(after, k as f64 * LETTERS[2] * 1.8);
        items.push(ink::solid(ink::text(line, LETTERS[2], inner.width() - after).moved(at)));
    }
    items
}

/// A scale bar from the origin along x, above it: thick and thin by turns, `length` between its outer ends.
fn bar(length: f64) -> Outline<Model> {
    let step = length / 5.0;
    let stretch = |k: usize| {
        let thickness = if k.is_multiple_of(2) { BAR } else { BAR / 4.0 };
        Outline::<Model>::rectangle(point((k as f64 + 0.5) * step, BAR / 2.0), step, thickness).contours
    };
    Outline::new((0..5).flat_map(stretch).collect())
}
