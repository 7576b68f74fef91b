//! Sheets as PDF 1.7: vectors at true size, layers that can be shown or hidden, inks by name.
//!
//! One user unit is 1/72 in (ISO 32000-1); everything on a page is written in
//! millimetres under one matrix. Lines and cubics stay, arcs become cubics within
//! 4.3e-6 of their radius. Each of a sheet's layers is an optional-content group,
//! shared by all pages and called what the user calls it.
//!
//! White and lines for the knife are Separation colours. Everything overprints:
//! by ISO 32000-1, 11.7.4.3, a process colour then leaves other inks alone, so
//! white under artwork stays, and white over it takes nothing away. On a screen,
//! and on a printer without that ink, white is paper: it is multiplied.
//!
//! The reader is asked not to shrink pages (`PrintScaling` `None`). No dates, no
//! file identifier: the same sheets give the same bytes.
//!
//! Left out: fonts (letters are outlines by now), pictures, colour profiles (plain
//! DeviceRGB, which readers take for sRGB).

use crate::flow::{Item, Layer, Purpose, Sheet};
use crate::outline::{Contour, Outline, Point, Segment, lettering};
use crate::units::{Length, Model};
use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::BlendMode;
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, TextStr};
use std::io::Write;

const CATALOGUE: Ref = Ref::new(1);
const PAGES: Ref = Ref::new(2);
const FACTS: Ref = Ref::new(3);
const OVERPRINT: Ref = Ref::new(4);
const MULTIPLY: Ref = Ref::new(5);
/// Of the first thing that there may be several of.
const FIRST: i32 = 6;

/// Where SVG cuts off a mitre too, so that both draw the same corners.
const MITRE: f32 = 4.0;

/// One file with these sheets as its pages.
pub fn pdf(sheets: &[&Sheet], title: &str) -> Vec<u8> {
    let mut next = Ref::new(FIRST);
    let groups = Groups::of(sheets, &mut next);
    let pages: Vec<[Ref; 2]> = sheets.iter().map(|_| [next.bump(), next.bump()]).collect();
    let mut pdf = Pdf::new();
    catalogue(&mut pdf, &groups);
    pdf.pages(PAGES).kids(pages.iter().map(|page| page[0])).count(pages.len() as i32);
    let title = lettering::clean(title);
    pdf.document_info(FACTS)
        .title(TextStr(&title))
        .creator(TextStr("markloft"))
        .producer(TextStr("markloft"));
    for (id, blend) in [(OVERPRINT, BlendMode::Normal), (MULTIPLY, BlendMode::Multiply)] {
        pdf.ext_graphics(id).overprint(true).overprint_fill(true).blend_mode(blend);
    }
    groups.write(&mut pdf);
    for (sheet, [page, content]) in sheets.iter().zip(pages) {
        write_page(&mut pdf, sheet, &groups, page, content);
    }
    pdf.finish()
}

fn catalogue(pdf: &mut Pdf, groups: &Groups) {
    let mut catalogue = pdf.catalog(CATALOGUE);
    catalogue.pages(PAGES);
    catalogue.viewer_preferences().display_doc_title(true).pair(Name(b"PrintScaling"), Name(b"None"));
    let mut layers = catalogue.insert(Name(b"OCProperties")).dict();
    let all = || groups.layers.iter().map(|layer| layer.group);
    layers.insert(Name(b"OCGs")).array().items(all());
    let mut shown = layers.insert(Name(b"D")).dict();
    shown.insert(Name(b"Order")).array().items(all());
    shown
        .insert(Name(b"OFF"))
        .array()
        .items(groups.layers.iter().filter(|layer| layer.hidden).map(|layer| layer.group));
}

/// The layers of all sheets, and the inks among them.
struct Groups {
    layers: Vec<Group>,
    inks: Vec<Ink>,
}

struct Group {
    purpose: Purpose,
    name: String,
    hidden: bool,
    group: Ref,
}

struct Ink {
    name: String,
    rgb: [u8; 3],
    space: Ref,
}

impl Groups {
    fn of(sheets: &[&Sheet], next: &mut Ref) -> Self {
        let (mut layers, mut inks) = (Vec::<Group>::new(), Vec::<Ink>::new());
        for layer in sheets.iter().flat_map(|sheet| &sheet.layers) {
            let Layer { purpose, name, hidden, .. } = layer;
            let known =
                |known: &Group| (known.purpose, &known.name, known.hidden) == (*purpose, name, *hidden);
            if !layers.iter().any(known) {
                let (name, hidden) = (name.clone(), *hidden);
                layers.push(Group { purpose: *purpose, name, hidden, group: next.bump() });
            }
            if is_ink(*purpose) && !inks.iter().any(|known| known.name == *name) {
                let rgb = layer.items.first().map_or([0; 3], Item::rgb);
                inks.push(Ink { name: name.clone(), rgb, space: next.bump() });
            }
        }
        Self { layers, inks }
    }

    fn layer(&self, layer: &Layer) -> usize {
        let wanted = (layer.purpose, layer.name.as_str(), layer.hidden);
        let same = |known: &Group| (known.purpose, known.name.as_str(), known.hidden) == wanted;
        self.layers.iter().position(same).unwrap_or(0)
    }

    fn ink(&self, layer: &Layer) -> Option<usize> {
        let of = |ink: &Ink| is_ink(layer.purpose) && ink.name == layer.name;
        self.inks.iter().position(of)
    }

    fn write(&self, pdf: &mut Pdf) {
        for Group { name, group, .. } in &self.layers {
            let mut dict = pdf.indirect(*group).dict();
            dict.pair(Name(b"Type"), Name(b"OCG"));
            dict.pair(Name(b"Name"), TextStr(&lettering::clean(name)));
        }
        for Ink { name, rgb, space } in &self.inks {
            let mut array = pdf.indirect(*space).array();
            array.item(Name(b"Separation")).item(Name(name.as_bytes())).item(Name(b"DeviceRGB"));
            let mut tint = array.push().dict();
            tint.pair(Name(b"FunctionType"), 2).pair(Name(b"N"), 1);
            tint.insert(Name(b"Domain")).array().items([0, 1]);
            tint.insert(Name(b"C0")).array().items([1, 1, 1]);
            tint.insert(Name(b"C1")).array().items(shares(*rgb));
        }
    }
}

/// What is printed, or cut, with an ink or a tool of its own.
fn is_ink(purpose: Purpose) -> bool {
    matches!(purpose, Purpose::White | Purpose::Cut | Purpose::Relief)
}

fn write_page(pdf: &mut Pdf, sheet: &Sheet, groups: &Groups, id: Ref, content: Ref) {
    let [width, height] = [sheet.page.width, sheet.page.height].map(|side| side.to_points() as f32);
    let mut page = pdf.page(id);
    page.parent(PAGES).contents(content).media_box(Rect::new(0.0, 0.0, width, height));
    page.group().transparency().color_space().device_rgb();
    let mut resources = page.resources();
    resources.ext_g_states().pairs([(Name(b"Over"), OVERPRINT), (Name(b"White"), MULTIPLY)]);
    let numbered = |kind: char, k: usize| format!("{kind}{k}");
    let mut spaces = resources.color_spaces();
    for (k, ink) in groups.inks.iter().enumerate() {
        spaces.pair(Name(numbered('I', k).as_bytes()), ink.space);
    }
    spaces.finish();
    let mut layers = resources.insert(Name(b"Properties")).dict();
    for (k, layer) in groups.layers.iter().enumerate() {
        layers.pair(Name(numbered('L', k).as_bytes()), layer.group);
    }
    layers.finish();
    resources.finish();
    page.finish();

    let mut pen = Pen { out: Content::new(), ink: None };
    let unit = Length::<Model>::mm(1.0).to_points() as f32;
    pen.out.transform([unit, 0.0, 0.0, unit, 0.0, 0.0]).set_miter_limit(MITRE);
    for layer in &sheet.layers {
        let state = if layer.purpose == Purpose::White { Name(b"White") } else { Name(b"Over") };
        let group = numbered('L', groups.layer(layer));
        pen.ink = groups.ink(layer).map(|k| numbered('I', k));
        pen.out.begin_marked_content_with_properties(Name(b"OC")).properties_named(Name(group.as_bytes()));
        pen.out.set_parameters(state);
        layer.items.iter().for_each(|item| pen.item(item));
        pen.out.end_marked_content();
    }
    pdf.stream(content, &packed(pen.out.finish().as_slice())).filter(Filter::FlateDecode);
}

fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut packer = ZlibEncoder::new(Vec::new(), Compression::default());
    packer.write_all(bytes).and_then(|()| packer.finish()).expect("writing to memory cannot fail")
}

/// Writes one page's content.
struct Pen {
    out: Content,
    /// All of a layer is one ink, or each thing its own colour.
    ink: Option<String>,
}

impl Pen {
    fn item(&mut self, item: &Item) {
        match item {
            Item::Fill { outline, rgb } => {
                match &self.ink {
                    Some(ink) => self.out.set_fill_color_space(Name(ink.as_bytes())).set_fill_color([1.0]),
                    None => self.out.set_fill_rgb(shares(*rgb)[0], shares(*rgb)[1], shares(*rgb)[2]),
                };
                self.outline(outline);
                self.out.fill_nonzero();
            }
            Item::Line { outline, rgb, width } => {
                self.stroked(*rgb, *width);
                self.outline(outline);
                self.out.stroke();
            }
            Item::Path { points, rgb, width } => {
                self.stroked(*rgb, *width);
                for (k, p) in points.iter().enumerate() {
                    let [x, y] = at(*p);
                    if k == 0 {
                        self.out.move_to(x, y)
                    } else {
                        self.out.line_to(x, y)
                    };
                }
                self.out.stroke();
            }
        }
    }

    fn stroked(&mut self, rgb: [u8; 3], width: Length<Model>) {
        match &self.ink {
            Some(ink) => self.out.set_stroke_color_space(Name(ink.as_bytes())).set_stroke_color([1.0]),
            None => self.out.set_stroke_rgb(shares(rgb)[0], shares(rgb)[1], shares(rgb)[2]),
        };
        self.out.set_line_width(width.to_mm() as f32);
    }

    fn outline(&mut self, outline: &Outline<Model>) {
        outline.contours.iter().for_each(|contour| self.contour(&contour.in_cubics()));
    }

    fn contour(&mut self, contour: &Contour) {
        let [x, y] = at(contour.start);
        self.out.move_to(x, y);
        for segment in &contour.segments {
            let [x, y] = at(segment.to());
            match *segment {
                Segment::Cubic { ctrl1, ctrl2, .. } => {
                    let ([x1, y1], [x2, y2]) = (at(ctrl1), at(ctrl2));
                    self.out.cubic_to(x1, y1, x2, y2, x, y);
                }
                Segment::Line { .. } | Segment::Arc { .. } => {
                    self.out.line_to(x, y);
                }
            }
        }
        self.out.close_path();
    }
}

/// A point to a tenth of a micrometre, so that another build's last bit does not show.
fn at(p: Point) -> [f32; 2] {
    [p.x, p.y].map(|v| crate::outline::number::rounded(v, 4) as f32)
}

fn shares(rgb: [u8; 3]) -> [f32; 3] {
    rgb.map(|channel| (f64::from(channel) / 255.0 * 1e4).round() as f32 / 1e4)
}
