//! Pages with strips of tape drawn true to size, to lay the roll on.
//!
//! One strip under another, at the length to cut off the roll, ticks where it
//! ends once trimmed. A strip longer than the page goes on in the line below.

use super::{frame, ink};
use crate::flow::{Item, Layer, Make, Plan, Purpose, Sheet, Strip};
use crate::outline::number::short;
use crate::outline::{Contour, Outline, Vector, point};
use crate::units::{Angle, Model, Scale};

/// Capitals of what is written under a strip, and the room it takes, mm.
const LETTER: f64 = 1.7;
const UNDER: f64 = 3.4;
/// From what is written to the next strip, mm.
const GAP: f64 = 2.5;
/// The most stretches that one strip is drawn in: past that the roll is measured with a ruler.
const MOST: usize = 40;

/// All pages of one scale.
pub fn pages(plan: &Plan, scale: Scale, strips: &[Strip]) -> Vec<Sheet> {
    let field = frame::field(&plan.sheets_of(Make::Tape));
    let mut pages: Vec<Page> = Vec::new();
    let mut top = f64::NEG_INFINITY;
    for strip in strips {
        for stretch in stretches(strip, field.width()) {
            let height = strip.width.to_mm();
            if pages.is_empty() || top - height - UNDER < field.min.y {
                pages.push(Page::default());
                top = field.max.y;
            }
            if let Some(page) = pages.last_mut() {
                let corner = Vector::new(field.min.x, top - height);
                page.add(plan, strip, &stretch, corner, field.width());
            }
            top -= height + UNDER + GAP;
        }
    }
    let of = pages.len();
    pages.into_iter().enumerate().map(|(k, page)| page.sheet(plan, scale, [k + 1, of])).collect()
}

/// What of a strip is drawn in one line: from where to where, and which it is of how many.
struct Stretch {
    from: f64,
    to: f64,
    count: [usize; 2],
}

fn stretches(strip: &Strip, room: f64) -> Vec<Stretch> {
    let length = strip.cut_length.to_mm();
    let all = (length / room.max(1.0)).ceil().max(1.0) as usize;
    let stretch = |k: usize| Stretch {
        from: k as f64 * room,
        to: ((k + 1) as f64 * room).min(length),
        count: [k + 1, all],
    };
    (0..all.min(MOST)).map(stretch).collect()
}

#[derive(Default)]
struct Page {
    strips: Vec<Item>,
    marks: Vec<Item>,
    pieces: Vec<(u32, Outline<Model>)>,
    used: f64,
}

impl Page {
    fn add(&mut self, plan: &Plan, strip: &Strip, stretch: &Stretch, corner: Vector, room: f64) {
        let (width, length) = (strip.width.to_mm(), stretch.to - stretch.from);
        let lean = |end: Angle| {
            let (sin, cos) = end.sin_cos();
            width * cos / sin.max(0.05)
        };
        let [first, last] = [stretch.count[0] == 1, stretch.count[0] == stretch.count[1]];
        // Slanted ends lean about the middle line, which keeps its length.
        let at_start = if first { lean(strip.ends[0]) / 2.0 } else { 0.0 };
        let at_end = if last { lean(strip.ends[1]) / 2.0 } else { 0.0 };
        let corners = [
            point(-at_start, 0.0),
            point(length - at_end, 0.0),
            point(length + at_end, width),
            point(at_start, width),
        ];
        let outline = Outline::polygon(&corners).moved(corner);
        let rgb = strip.colour.map_or([255; 3], |colour| ink::tint(plan.colours[colour.0].rgb));
        self.strips.push(Item::Fill { outline: outline.clone(), rgb });
        self.strips.push(ink::cut(outline.clone()));
        self.used += outline.area();
        let trim = plan.films.tape.trim.to_mm();
        for at in [trim, strip.cut_length.to_mm() - trim] {
            let x = at - stretch.from;
            if trim > 0.0 && (0.0..=length).contains(&x) {
                let tick = |from: f64, to: f64| ink::mark(point(x, from) + corner, point(x, to) + corner);
                self.marks.push(tick(width * 0.7, width + 0.8));
                self.marks.push(tick(-0.8, width * 0.3));
            }
        }
        let text = ink::text(&said(plan, strip, stretch), LETTER, room);
        self.marks.push(ink::solid(text.moved(corner - Vector::new(0.0, UNDER - 0.4))));
        for &number in &strip.pieces {
            match self.pieces.iter_mut().find(|(other, _)| *other == number) {
                Some((_, all)) => all.contours.extend(outline.contours.iter().map(Contour::clone)),
                None => self.pieces.push((number, outline.clone())),
            }
        }
    }

    fn sheet(self, plan: &Plan, scale: Scale, count: [usize; 2]) -> Sheet {
        let sheets = plan.sheets_of(Make::Tape);
        let scales = vec![scale];
        let heading = frame::Heading {
            title: &plan.title,
            scales: &scales,
            make: Make::Tape,
            is_cut: true,
            colour: None,
            count,
            printer: &plan.printer,
        };
        let mut marks = frame::dressed(&sheets, &heading);
        marks.extend(self.marks);
        let (pieces, outlines) = self.pieces.into_iter().unzip();
        Sheet {
            stem: format!("tape-{}", count[0]),
            page: sheets.page,
            scales,
            make: Make::Tape,
            colour: None,
            step: None,
            pieces,
            outlines,
            used_share: self.used / frame::inner(&sheets).area(),
            layers: vec![Layer::new(Purpose::Artwork, self.strips), Layer::new(Purpose::Marks, marks)],
        }
    }
}

/// `3 × 2 mm tape, cut 118.4 mm, lies 112.4 mm  ·  tail-band, bone  ·  line 1 of 2`.
fn said(plan: &Plan, strip: &Strip, stretch: &Stretch) -> String {
    let mm = |length: crate::units::Length<Model>| short(length.to_mm(), 1);
    let marking = &plan.markings[strip.marking.0].name;
    let mut text = format!(
        "{} × {} mm tape, cut {} mm, lies {} mm  ·  {marking}, {}",
        strip.count(),
        short(strip.width.to_mm(), 2),
        mm(strip.cut_length),
        mm(strip.length),
        strip.colour.map_or(strip.what.as_str(), |colour| &plan.colours[colour.0].name),
    );
    if let Some(turns) = strip.helix {
        text += &format!(
            "  ·  {} turns, pitch {} mm, rise {}°",
            short(turns.turns, 2),
            short(turns.pitch.to_mm(), 2),
            short(turns.rise.to_degrees(), 1)
        );
    }
    if strip.together != strip.width {
        text += &format!("  ·  {} side by side in {} mm", strip.each, short(strip.together.to_mm(), 2));
    }
    if stretch.count[1] > 1 {
        text += &format!("  ·  line {} of {}", stretch.count[0], stretch.count[1]);
        if stretch.count[0] == MOST && stretch.count[1] > MOST {
            text += ", the last drawn: measure the rest with a rule";
        }
    }
    text
}
