//! The page that tells how a printer prints: how true to size, how fine, which colours.
//!
//! A square of 100 mm over its outer edges, to be measured both ways. In it two
//! ladders of lines, one across and one along, dark on light and light on dark;
//! a ladder of letters, both ways too; under it patches of colour, and what to
//! write into the spec. Nothing on it is made up for: it shows the printer as it
//! is, and is always made anew without `measured`.
//!
//! Left out: reading it off, which is the user's, with calipers and a glass.

use super::{frame, ink};
use crate::flow::{Colour, Item, Layer, MEASURED_SQUARE, Make, Purpose, Sheet, Sheets};
use crate::outline::number::short;
use crate::outline::{Bounds, Contour, Outline, Point, Vector, point};
use crate::units::{Dpi, Model};

/// Of its folder and files.
pub const STEM: &str = "calibration";
pub const TITLE: &str = "How this printer prints";

/// Widths of the ladder's lines, mm: from two dots at 1200 dpi to more than any printer loses.
const LINES: [f64; 10] = [0.04, 0.06, 0.08, 0.1, 0.125, 0.15, 0.2, 0.25, 0.3, 0.4];
/// Heights of the ladder's capitals, mm: ISO 3098 begins at 1.8, scale lettering goes below.
const LETTERS: [f64; 8] = [0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.5, 1.8];
/// Strokes of all directions, open and closed.
const SAMPLE: &str = "RESCUE 38 aegs";
/// Line of the square, mm.
const EDGE: f64 = 0.3;
/// Letters beside the ladders, and under the square, mm.
const WORDS: f64 = 1.7;
/// Patches of colour: side and pitch, mm.
const PATCH: [f64; 2] = [7.0, 10.0];
/// Printing inks and their mixtures, for specs that name no colours.
const INKS: [[u8; 3]; 8] = [
    [0, 0, 0],
    [128, 128, 128],
    [0, 160, 220],
    [220, 0, 120],
    [250, 220, 0],
    [210, 40, 30],
    [0, 140, 70],
    [40, 50, 140],
];

/// The page, or what is wrong with asking for it.
pub fn page(sheets: &Sheets, colours: &[Colour], dpi: Dpi) -> Result<Sheet, String> {
    let inner = frame::inner(sheets);
    let side = MEASURED_SQUARE.to_mm();
    // The head, the square, and what is written under it.
    let top = inner.max.y - 9.0;
    if inner.width() < side + 4.0 || top - inner.min.y < side + 34.0 {
        return Err(format!(
            "a page of {} × {} mm has no room for a square of {side} mm and its words; an upright A5 with the usual margins has, or larger",
            short(sheets.page.width.to_mm(), 1),
            short(sheets.page.height.to_mm(), 1)
        ));
    }
    let facts = format!("{} dpi  ·  nothing made up for", short(dpi.per_inch(), 1));
    let mut marks = frame::titled(&inner, TITLE, &facts, None);
    let corner = point((inner.min.x + inner.max.x - side) / 2.0, top - side);
    let mut artwork = square(corner, side);
    lines(&mut artwork, corner);
    letters(&mut artwork, corner);
    patches(&mut artwork, colours, &Bounds::new(inner.min, point(inner.max.x, corner.y)));
    words(&mut marks, &inner, corner.y - 16.0);
    Ok(Sheet {
        stem: STEM.into(),
        page: sheets.page,
        scales: Vec::new(),
        make: Make::Decal,
        colour: None,
        step: None,
        pieces: Vec::new(),
        outlines: Vec::new(),
        used_share: 0.0,
        layers: vec![Layer::new(Purpose::Artwork, artwork), Layer::new(Purpose::Marks, marks)],
    })
}

/// A frame whose outer edges are `side` apart.
fn square(corner: Point, side: f64) -> Vec<Item> {
    let middle = corner + Vector::splat(side / 2.0);
    let ring = |side: f64| Outline::<Model>::rectangle(middle, side, side).contours[0].clone();
    let frame: Vec<Contour> = vec![ring(side), ring(side - 2.0 * EDGE).reversed()];
    let said = |text: &str| ink::text(text, WORDS, side);
    let across = said("across: measure over the outer edges");
    let along = said("along: measure over the outer edges").turned(std::f64::consts::FRAC_PI_2);
    vec![
        ink::solid(Outline::new(frame)),
        ink::solid(across.moved(corner.to_vector() + Vector::new(6.0, 1.5))),
        ink::solid(along.moved(corner.to_vector() + Vector::new(1.5 + WORDS, 6.0))),
    ]
}

fn bar(corner: Point, width: f64, height: f64) -> Outline<Model> {
    Outline::rectangle(corner + Vector::new(width / 2.0, height / 2.0), width, height)
}

/// Lines across and lines along, each dark on light and light on dark, their widths beside them.
fn lines(items: &mut Vec<Item>, corner: Point) {
    /// Length of a line, and from one to the next, mm.
    const LONG: f64 = 12.0;
    const PITCH: f64 = 3.0;
    let room = LINES.len() as f64 * PITCH;
    let base = corner + Vector::new(8.0, 58.0);
    let label = |text: &str, at: Point| ink::solid(ink::text(text, WORDS, 40.0).moved(at.to_vector()));
    items.push(label("lines, mm", base + Vector::new(8.0, room + 3.0)));
    items.push(label("gaps, mm", base + Vector::new(8.0 + LONG + 1.5, room + 3.0)));
    let dark = base + Vector::new(8.0 + LONG + 1.5, -PITCH / 2.0);
    items.push(ink::solid(bar(dark, LONG, room)));
    for (k, width) in LINES.into_iter().enumerate() {
        let y = k as f64 * PITCH - width / 2.0;
        items.push(label(&short(width, 3), base + Vector::new(0.0, y + width / 2.0 - WORDS / 2.0)));
        items.push(ink::solid(bar(base + Vector::new(8.0, y), LONG, width)));
        items.push(ink::white(bar(base + Vector::new(8.0 + LONG + 3.0, y), LONG - 3.0, width)));
    }
    let base = corner + Vector::new(48.0, 58.0);
    let dark = base + Vector::new(-PITCH / 2.0, 6.0 + LONG + 1.5);
    items.push(ink::solid(bar(dark, LINES.len() as f64 * PITCH * 1.5, LONG)));
    for (k, width) in LINES.into_iter().enumerate() {
        let x = k as f64 * PITCH * 1.5;
        let number = ink::text(&short(width, 3), 1.2, PITCH * 1.4);
        let middle = number.bounds().center();
        items.push(ink::solid(number.moved(Vector::new(base.x + x - middle.x, base.y + 3.0))));
        items.push(ink::solid(bar(base + Vector::new(x - width / 2.0, 6.0), width, LONG)));
        items.push(ink::white(bar(base + Vector::new(x - width / 2.0, 6.0 + LONG + 3.0), width, LONG - 3.0)));
    }
}

/// The same words at falling heights, dark and light, the height of a capital beside them.
fn letters(items: &mut Vec<Item>, corner: Point) {
    const WIDE: f64 = 32.0;
    let mut y = 8.0;
    let column = corner + Vector::new(16.0, 0.0);
    let total: f64 = LETTERS.iter().map(|height| height.max(WORDS) + 2.0).sum();
    let ground = bar(column + Vector::new(WIDE + 2.0, y - 1.0), WIDE, total);
    items.push(ink::solid(ground));
    for height in LETTERS {
        let sample = ink::text(SAMPLE, height, WIDE - 2.0);
        let at = column.to_vector() + Vector::new(0.0, y);
        items.push(ink::solid(ink::text(&short(height, 2), WORDS, 8.0).moved(at - Vector::new(8.0, 0.0))));
        items.push(ink::solid(sample.moved(at)));
        items.push(ink::white(sample.moved(at + Vector::new(WIDE + 3.0, 0.0))));
        y += height.max(WORDS) + 2.0;
    }
    let at = column.to_vector() + Vector::new(0.0, y + 0.5);
    items.push(ink::solid(ink::text("letters: height of a capital, mm", WORDS, 60.0).moved(at)));
}

/// The spec's colours, or those of inks, as many as there is room for under the square.
fn patches(items: &mut Vec<Item>, colours: &[Colour], room: &Bounds) {
    let plain = INKS.map(Colour::bare);
    let colours = if colours.is_empty() { &plain[..] } else { colours };
    let [side, pitch] = PATCH;
    let count = ((room.width() / pitch) as usize).min(colours.len());
    for (k, colour) in colours[..count].iter().enumerate() {
        let corner = point(room.min.x + k as f64 * pitch, room.max.y - 2.0 - side);
        items.push(Item::Fill { outline: bar(corner, side, side), rgb: colour.rgb });
        let name = if colour.name.is_empty() { colour.hex() } else { colour.name.clone() };
        let name = ink::text(&name, 1.4, pitch - 1.0);
        items.push(ink::solid(name.moved(corner.to_vector() - Vector::new(0.0, 2.2))));
    }
}

fn words(items: &mut Vec<Item>, inner: &Bounds, top: f64) {
    let side = MEASURED_SQUARE.to_mm();
    let lines = [
        "Print at 100 %, on the film, with the settings that decals are printed with. Let it dry, then measure.".to_owned(),
        format!("Write what you read into the spec; the square should be {side} mm both ways (across: left to right):"),
        "printer: {measured: {across: … mm, along: … mm}, min_line: … mm, min_gap: … mm, min_letter: … mm}".to_owned(),
        "min_line: the thinnest unbroken line. min_gap: the thinnest open gap.".to_owned(),
        "min_letter: the smallest letters that you can read, light ones too.".to_owned(),
    ];
    for (k, line) in lines.iter().enumerate() {
        let at = Vector::new(inner.min.x, top - k as f64 * WORDS * 2.0);
        items.push(ink::solid(ink::text(line, WORDS, inner.width()).moved(at)));
    }
}
