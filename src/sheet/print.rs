//! Sheets as they go to the printer: drawn for its error, one ink alone, outlines for a trial.
//!
//! Each takes a finished sheet and gives another. Only what is printed passes
//! through here: a cutter's job is made from the sheet as it was laid out.

use super::{frame, ink};
use crate::flow::{Item, Layer, Printer, Purpose, Sheet};
use crate::outline::{Outline, Point, Vector, point};
use crate::units::{Dpi, Length, MM_PER_INCH, Model};

/// The sheet drawn so that this printer prints it true: longer where it prints short, about the page's middle.
///
/// Line widths stay: a printer that feeds too far does not draw thicker.
#[must_use]
pub fn compensated(sheet: &Sheet, printer: &Printer) -> Sheet {
    if printer.is_true() {
        return sheet.clone();
    }
    let [across, along] = printer.factors();
    let centre = point(sheet.page.width.to_mm() / 2.0, sheet.page.height.to_mm() / 2.0);
    let place = |p: Point| centre + Vector::new((p.x - centre.x) * across, (p.y - centre.y) * along);
    mapped(sheet, |item| match item {
        Item::Fill { outline, rgb } => Some(Item::Fill { outline: outline.distorted(place), rgb: *rgb }),
        Item::Line { outline, rgb, width } => {
            Some(Item::Line { outline: outline.distorted(place), rgb: *rgb, width: *width })
        }
        Item::Path { points, rgb, width } => {
            let points = points.iter().copied().map(place).collect();
            Some(Item::Path { points, rgb: *rgb, width: *width })
        }
    })
}

/// The white underlayer alone, in black: where it is black there is ink. `None` where the sheet has none.
pub fn white_plate(sheet: &Sheet) -> Option<Sheet> {
    let white = sheet.layers.iter().find(|layer| layer.purpose == Purpose::White)?;
    let layer = Layer::new(Purpose::Artwork, white.items.iter().map(blackened).collect());
    Some(Sheet { layers: vec![layer], ..sheet.clone() })
}

/// Everything in black, for a picture that knows no shades: a dot is black where half of it is covered, so a line
/// thinner than a dot and a half could fall between two of them and is drawn that wide.
#[must_use]
pub fn black(sheet: &Sheet, dpi: Dpi) -> Sheet {
    let least = Length::mm(1.5 * MM_PER_INCH / dpi.per_inch());
    let seen = |width: Length<Model>| if width < least { least } else { width };
    mapped(sheet, |item| {
        // Light ground under dashes would fill them up.
        if matches!(item, Item::Path { rgb: ink::WHITE, .. }) {
            return None;
        }
        Some(match blackened(item) {
            Item::Line { outline, rgb, width } => Item::Line { outline, rgb, width: seen(width) },
            Item::Path { points, rgb, width } => Item::Path { points, rgb, width: seen(width) },
            fill @ Item::Fill { .. } => fill,
        })
    })
}

/// Outlines on plain paper, to hold against the part before film is spent: nothing filled but letters.
#[must_use]
pub fn trial(sheet: &Sheet) -> Sheet {
    let outlines = |layer: &Layer| {
        let items = match layer.purpose {
            Purpose::Marks => layer.items.clone(),
            _ => layer.items.iter().filter_map(outlined).collect(),
        };
        Layer::new(layer.purpose, items).named(&layer.name)
    };
    let shown = sheet.layers.iter().filter(|layer| layer.purpose != Purpose::White);
    let mut layers: Vec<Layer> = shown.map(outlines).collect();
    if let Some(marks) = layers.iter_mut().find(|layer| layer.purpose == Purpose::Marks) {
        marks.items.extend(frame::trial_note(&marks.items));
    }
    Sheet { stem: format!("trial-{}", sheet.stem), layers, ..sheet.clone() }
}

fn mapped(sheet: &Sheet, change: impl Fn(&Item) -> Option<Item>) -> Sheet {
    let changed =
        |layer: &Layer| Layer { items: layer.items.iter().filter_map(&change).collect(), ..layer.clone() };
    Sheet { layers: sheet.layers.iter().map(changed).collect(), ..sheet.clone() }
}

/// As a thin dark line; `None` for what is only light ground under something else.
fn outlined(item: &Item) -> Option<Item> {
    let line =
        |outline: &Outline<Model>| Item::Line { outline: outline.clone(), rgb: ink::INK, width: ink::HAIR };
    match item {
        Item::Fill { outline, .. } | Item::Line { outline, .. } => Some(line(outline)),
        Item::Path { rgb: ink::WHITE, .. } => None,
        Item::Path { points, width, .. } => {
            Some(Item::Path { points: points.clone(), rgb: ink::INK, width: *width })
        }
    }
}

fn blackened(item: &Item) -> Item {
    let rgb = [0; 3];
    match item {
        Item::Fill { outline, .. } => Item::Fill { outline: outline.clone(), rgb },
        Item::Line { outline, width, .. } => Item::Line { outline: outline.clone(), rgb, width: *width },
        Item::Path { points, width, .. } => Item::Path { points: points.clone(), rgb, width: *width },
    }
}
