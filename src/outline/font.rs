//! A font file of the user's: its letters as outlines, shaped by the rules that are in it.
//!
//! Kerning, ligatures, marks and joined scripts are the font's own (harfrust), right-to-left
//! runs are put in order (Unicode bidirectional algorithm), outlines are the unhinted ones
//! (skrifa). No other font is ever looked at: a character that this one lacks is told. Left
//! out: colours and pictures in fonts, axes of variable fonts, upright lines.

use super::{Contour, Outline, Point, Segment, Vector, point};
use crate::units::World;
use harfrust::{Direction, ShapeOptions, ShaperData, UnicodeBuffer};
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::raw::TableProvider;
use skrifa::raw::tables::glyf::Glyph;
use skrifa::{FontRef, GlyphId, MetadataProvider};
use std::fmt;
use std::sync::Arc;
use unicode_script::{Script, UnicodeScript};

/// Letters that lie over one another are joined with straight edges this close to the curves, of their height.
const CLOSE: f64 = 1e-4;

/// A font whose capitals have a height.
#[derive(Clone, PartialEq)]
pub struct Font {
    bytes: Arc<[u8]>,
    /// Height of a capital, in units of the font.
    capital: f64,
}

impl fmt::Debug for Font {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Font({} bytes)", self.bytes.len())
    }
}

/// Characters that the font draws together, in millimetres on the baseline y = 0.
#[derive(Clone, Debug)]
pub struct Cluster<W> {
    pub outline: Outline<W>,
    /// Where the way that it takes along the line begins and ends.
    pub from: f64,
    pub to: f64,
}

/// A glyph in its place, in units of the font.
struct Placed {
    glyph: u32,
    /// The first byte of the characters that it stands for.
    source: usize,
    at: Vector,
    advance: f64,
}

impl Font {
    /// Reads the first font of a file.
    ///
    /// # Errors
    /// Why it is no font to draw from.
    pub fn read(bytes: Arc<[u8]>) -> Result<Self, &'static str> {
        let font = FontRef::from_index(&bytes, 0).map_err(|_| "it is no OpenType or TrueType font")?;
        if font.outline_glyphs().format().is_none() {
            return Err("its letters are no outlines");
        }
        if !is_sound(&font) {
            return Err("it is damaged: a letter in it has an outline without points");
        }
        // The H is measured; what the font says of itself is asked where it has no H.
        let metrics = font.metrics(Size::unscaled(), LocationRef::default());
        let measured = font
            .charmap()
            .map('H')
            .and_then(|h| drawn(&font, h))
            .map(|h| h.max_height())
            .filter(|&h| h > 0.0);
        let said = || metrics.cap_height.map(f64::from).filter(|&height| height > 0.0);
        let capital = measured.or_else(said).unwrap_or(f64::from(metrics.ascent));
        if !(capital.is_finite() && capital > 0.0) {
            return Err("it does not say how high its letters are");
        }
        Ok(Self { bytes, capital })
    }

    fn face(&self) -> FontRef<'_> {
        FontRef::from_index(&self.bytes, 0).expect("bytes were read as a font when this was made")
    }

    /// The first character of a line that the font has no glyph for, or a damaged one.
    pub fn lacking(&self, line: &str) -> Option<char> {
        let font = self.face();
        let is_damaged = |glyph: u32| drawn(&font, GlyphId::new(glyph)).is_none();
        let lacking =
            self.placed(line).into_iter().filter(|placed| placed.glyph == 0 || is_damaged(placed.glyph));
        line.get(lacking.map(|placed| placed.source).min()?..)?.chars().next()
    }

    /// One line from x = 0, left to right as it is seen, capitals `height` millimetres high, letters
    /// further apart than the font has them by `gap` millimetres.
    pub fn line<W: World>(&self, line: &str, height: f64, gap: f64) -> Vec<Cluster<W>> {
        let font = self.face();
        let factor = height / self.capital;
        let mut clusters: Vec<(usize, Cluster<W>)> = Vec::new();
        let mut x = 0.0;
        for placed in self.placed(line) {
            let outline = Outline::new(drawn(&font, GlyphId::new(placed.glyph)).unwrap_or_default().contours);
            let outline = outline.moved(placed.at + Vector::new(x, 0.0)).enlarged(factor);
            let (from, to) = (x * factor, (x + placed.advance) * factor);
            x += placed.advance;
            match clusters.last_mut() {
                // Marks belong to the letter they stand on.
                Some((source, cluster)) if *source == placed.source => {
                    cluster.outline.extend(&outline);
                    cluster.to = to;
                }
                _ => clusters.push((placed.source, Cluster { outline, from, to })),
            }
        }
        for (k, (_, cluster)) in clusters.iter_mut().enumerate() {
            let step = gap * k as f64;
            let outline = without_overlap(&cluster.outline, CLOSE * height);
            *cluster = Cluster {
                outline: outline.moved(Vector::new(step, 0.0)),
                from: cluster.from + step,
                to: cluster.to + step,
            };
        }
        clusters.into_iter().map(|(_, cluster)| cluster).collect()
    }

    /// From the first mark that a line makes to the last, millimetres.
    pub fn length(&self, line: &str, height: f64, gap: f64) -> f64 {
        let clusters = self.line::<crate::units::Full>(line, height, gap);
        let inked = clusters.iter().filter(|cluster| !cluster.outline.is_empty());
        let ends = inked.map(|cluster| cluster.outline.bounds()).map(|ink| [ink.min.x, ink.max.x]);
        ends.reduce(|[a, b], [c, d]| [a.min(c), b.max(d)]).map_or(0.0, |[from, to]| to - from)
    }

    /// The glyphs of a line as they are seen, from left to right.
    fn placed(&self, line: &str) -> Vec<Placed> {
        let font = self.face();
        let data = ShaperData::new(&font);
        let shaper = data.shaper(&font).build();
        let bidi = unicode_bidi::BidiInfo::new(line, None);
        let mut all = Vec::new();
        for paragraph in &bidi.paragraphs {
            let (levels, runs) = bidi.visual_runs(paragraph, paragraph.range.clone());
            for run in runs {
                let leftwards = levels[run.start].is_rtl();
                let mut scripts = of_one_script(&line[run.clone()]);
                if leftwards {
                    scripts.reverse();
                }
                for (start, text) in scripts {
                    let mut buffer = UnicodeBuffer::new();
                    buffer.push_str(text);
                    let direction = if leftwards { Direction::RightToLeft } else { Direction::LeftToRight };
                    buffer.set_direction(direction);
                    buffer.guess_segment_properties();
                    let shaped = shaper.shape(buffer, ShapeOptions::new());
                    let glyphs = shaped.glyph_infos().iter().zip(shaped.glyph_positions());
                    all.extend(glyphs.map(|(info, position)| Placed {
                        glyph: info.glyph_id,
                        source: run.start + start + info.cluster as usize,
                        at: Vector::new(f64::from(position.x_offset), f64::from(position.y_offset)),
                        advance: f64::from(position.x_advance),
                    }));
                }
            }
        }
        all
    }
}

/// Stretches of one script each and where they start; spaces and signs go with what is before them.
fn of_one_script(text: &str) -> Vec<(usize, &str)> {
    let mut starts = vec![0];
    let mut script = None;
    for (at, c) in text.char_indices() {
        let own = c.script();
        if matches!(own, Script::Common | Script::Inherited) {
            continue;
        }
        if script.is_some_and(|script| script != own) {
            starts.push(at);
        }
        script = Some(own);
    }
    let ends = starts.iter().copied().skip(1).chain([text.len()]);
    starts.iter().copied().zip(ends).map(|(from, to)| (from, &text[from..to])).collect()
}

/// The same area without contours that lie over one another; as it is where there are none.
///
/// Curves that lie over one another become straight edges within `close`.
pub fn without_overlap<W: World>(outline: &Outline<W>, close: f64) -> Outline<W> {
    if outline.contours.len() < 2 {
        return outline.clone();
    }
    let flat = outline.flattened(close);
    let clean = flat.cleaned();
    let whole = flat.area();
    if (clean.area() - whole).abs() <= 1e-6 * whole.abs() { outline.clone() } else { clean.to_outline() }
}

/// Whether no TrueType glyph has the data of an outline and not one point: skrifa 0.44 panics at such a glyph.
pub(super) fn is_sound(font: &FontRef<'_>) -> bool {
    let (Ok(places), Ok(glyphs)) = (font.loca(None), font.glyf()) else { return true };
    let hollow = |glyph: u32| {
        let read = places.get_glyf(GlyphId::new(glyph), &glyphs);
        matches!(read, Ok(Some(Glyph::Simple(simple))) if simple.num_points() == 0 && !simple.glyph_data().is_empty())
    };
    !(0..u32::try_from(places.len()).unwrap_or(u32::MAX)).any(hollow)
}

/// A glyph's own outline, counter-clockwise, in units of the font; `None` where it is damaged.
fn drawn(font: &FontRef<'_>, glyph: GlyphId) -> Option<Pen> {
    let mut pen = Pen::default();
    if let Some(outline) = font.outline_glyphs().get(glyph) {
        let settings = DrawSettings::unhinted(Size::unscaled(), LocationRef::default());
        outline.draw(settings, &mut pen).ok()?;
    }
    pen.contours.retain(|contour| !contour.segments.is_empty());
    // TrueType runs its outer contours clockwise, PostScript the other way.
    if pen.contours.iter().map(Contour::signed_area).sum::<f64>() < 0.0 {
        pen.contours = pen.contours.iter().map(Contour::reversed).collect();
    }
    Some(pen)
}

/// Takes down what skrifa draws; its single precision carries whole font units exactly.
#[derive(Default)]
struct Pen {
    contours: Vec<Contour>,
    here: Point,
}

impl Pen {
    fn max_height(&self) -> f64 {
        Outline::<crate::units::Full>::new(self.contours.clone()).bounds().max.y
    }

    fn push(&mut self, segment: Segment) {
        self.here = segment.to();
        if let Some(contour) = self.contours.last_mut() {
            contour.segments.push(segment);
        }
    }
}

fn at(x: f32, y: f32) -> Point {
    point(f64::from(x), f64::from(y))
}

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.here = at(x, y);
        self.contours.push(Contour { start: self.here, segments: Vec::new() });
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.push(Segment::Line { to: at(x, y) });
    }

    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        self.push(Segment::quadratic(self.here, at(cx, cy), at(x, y)));
    }

    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        self.push(Segment::Cubic { ctrl1: at(ax, ay), ctrl2: at(bx, by), to: at(x, y) });
    }

    fn close(&mut self) {}
}
