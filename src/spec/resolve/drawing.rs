//! `draw`: kind, sizes and colours of what is painted.

use super::super::fonts::Fonts;
use super::super::length::sane;
use super::super::lenient::{May, Need};
use super::super::log::{At, Log};
use super::super::mirror;
use super::super::words::Count;
use super::composed::Nest;
use super::form::Form;
use super::limit::corners;
use super::setup::Palette;
use super::{each, mm, positive};
use crate::flow::{ColourId, Draw, Figure, PENTAGRAM};
use crate::units::{Angle, Full, Length, Scale};
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::f64::consts::PI;

/// Most squares or stripes of one marking: finer than this is no marking but a tint.
const MOST_REPEATS: f64 = 5000.0;
/// Most colours of one marking: stripes, rings.
const MOST_COLOURS: usize = 40;

/// What a drawing needs to know of its marking.
pub struct Paint<'a> {
    pub log: &'a Log,
    /// The scale of the decal in hand that all lengths are of.
    pub made: Scale,
    /// The shape that it goes on, if that could be read.
    pub shape: Option<&'a Form>,
    /// The names of that part's limits.
    pub limits: &'a [String],
    /// Whether it goes along a line that has ends, or goes round; `None` where the spec is too wrong to tell.
    pub has_line: Option<bool>,
    pub palette: RefCell<&'a mut Palette>,
    /// The named drawings of all files.
    pub drawings: &'a Drawings<'a>,
    /// How deep in a drawing of drawings this is.
    pub nest: Nest,
    pub fonts: &'a Fonts<'a>,
}

/// Drawings by their names, and which of them have been read.
pub struct Drawings<'a> {
    pub list: Vec<(&'a str, &'a Need<mirror::Items>)>,
    pub read: RefCell<BTreeSet<String>>,
}

/// The colours of a drawing, if all could be read, and where they are given.
#[derive(Clone)]
pub struct Colours {
    pub ids: Option<Vec<ColourId>>,
    pub at: At,
    pub kind: ColoursKind,
}

#[derive(Clone, Copy, PartialEq)]
pub enum ColoursKind {
    Given,
    /// Every drawing within has colours of its own.
    None,
    /// Only the form counts: whatever number is asked for.
    Any,
}

pub fn drawing(paint: &Paint<'_>, got: &Need<mirror::Draw>, colours: Colours) -> Option<Draw> {
    match got.get()? {
        mirror::Draw::Stripe(stripe) => {
            let (width, length) = (paint.size(&stripe.width), paint.size(&stripe.length));
            let end_width = if stripe.taper.given { paint.size(&stripe.taper) } else { width };
            let colours = paint.at_most(colours)?;
            Some(Draw::Stripe { width: width?, end_width: end_width?, length: length?, colours })
        }
        mirror::Draw::Band(band) => paint.band(band, got.at, colours),
        mirror::Draw::Rectangle(rectangle) if rectangle.radius.given => {
            paint.plain("rectangle", paint.rounded(rectangle), colours)
        }
        mirror::Draw::Rectangle(rectangle) => {
            let (width, height) = (paint.size(&rectangle.width), paint.size(&rectangle.height));
            let [colour] = paint.colours("rectangle", colours)?;
            Some(Draw::Rectangle { width: width?, height: height?, colour })
        }
        mirror::Draw::Disc(disc) => {
            let diameter = paint.size(&disc.diameter);
            let [colour] = paint.colours("disc", colours)?;
            Some(Draw::Disc { diameter: diameter?, colour })
        }
        mirror::Draw::Roundel(roundel) => paint.roundel(roundel, colours),
        mirror::Draw::Quarters(quarters) => {
            let diameter = paint.size(&quarters.diameter);
            let colours = paint.colours("disc in quarters", colours)?;
            Some(Draw::Quarters { diameter: diameter?, colours })
        }
        mirror::Draw::Star(star) => paint.star(star, colours),
        mirror::Draw::Chevron(chevron) => paint.chevron(chevron, colours),
        mirror::Draw::Polygon(polygon) => paint.polygon(polygon, colours),
        mirror::Draw::Checks(checks) => paint.checks(checks, got.at, colours),
        mirror::Draw::Hazard(hazard) => paint.hazard(hazard, colours),
        mirror::Draw::Area(area) => paint.area(area, got.at, colours),
        // Brings colours of its own, which a marking's are; read beside this.
        mirror::Draw::Artwork(_) => {
            let help = "make it a marking of its own, and put the two `over` one another";
            paint.log.value(got.at, "an artwork is no part of another drawing", help);
            None
        }
        mirror::Draw::Cross(cross) => paint.plain("cross", paint.cross(cross), colours),
        mirror::Draw::Rays(rays) => paint.plain("sunburst", paint.rays(rays), colours),
        mirror::Draw::Arrow(arrow) => paint.plain("arrow", paint.arrow(arrow), colours),
        mirror::Draw::Arc(arc) => paint.plain("arc", paint.arc(arc), colours),
        mirror::Draw::Sector(sector) => paint.plain("sector", paint.sector(sector), colours),
        mirror::Draw::Ellipse(ellipse) => {
            let (width, height) = (paint.size(&ellipse.width), paint.size(&ellipse.height));
            let figure = width.zip(height).map(|(width, height)| Figure::Ellipse { width, height });
            paint.plain("ellipse", figure, colours)
        }
        mirror::Draw::Path(path) => paint.plain("path", paint.path(path), colours),
        mirror::Draw::StarAndBars(star) => paint.star_and_bars(star, colours),
        mirror::Draw::CheatLine(line) => paint.cheat_line(line, colours),
        mirror::Draw::Stripes(stripes) => paint.stripes(stripes, colours),
        mirror::Draw::Blotches(blotches) => paint.blotches(blotches, colours),
        mirror::Draw::Group(items) => paint.group(items, got.at, &colours),
        mirror::Draw::Drawing(name) => paint.named(&name.0, got.at, &colours),
        mirror::Draw::Letters(letters) => paint.letters(letters, got.at, colours),
        mirror::Draw::Text(lines) => paint.text(lines, got.at, colours),
    }
}

impl Paint<'_> {
    /// A length of the drawing as the spec writes it, for messages: with `made`, of the decal in hand.
    pub fn said(&self, length: Length<Full>) -> String {
        mm(length / self.made.denominator())
    }

    /// A size at full size.
    pub fn size<const NEEDED: bool>(&self, got: &super::Got<Length<Full>, NEEDED>) -> Option<Length<Full>> {
        self.sized(got.at, positive(self.log, got)? * self.made.denominator())
    }

    /// A length at full size, unless it is over all measure.
    pub fn sized(&self, at: At, size: Length<Full>) -> Option<Length<Full>> {
        let big = |wrong| self.log.wrong(at, wrong);
        sane(size, &format!("{} at full size", mm(size))).map_err(big).ok()
    }

    /// Exactly as many colours as the drawing has.
    pub fn colours<const N: usize>(&self, word: &str, colours: Colours) -> Option<[ColourId; N]> {
        self.exactly(word, colours, N)?.try_into().ok()
    }

    /// Exactly so many colours.
    pub fn exactly(&self, word: &str, colours: Colours, count: usize) -> Option<Vec<ColourId>> {
        self.between(word, colours, [count, count])
    }

    /// From so many colours to so many.
    pub fn between(&self, word: &str, colours: Colours, [least, most]: [usize; 2]) -> Option<Vec<ColourId>> {
        if colours.kind == ColoursKind::Any {
            return Some(vec![ColourId(0); least]);
        }
        let ids = colours.ids?;
        if (least..=most).contains(&ids.len()) {
            return Some(ids);
        }
        self.miscounted(word, colours.at, if ids.len() < least { least } else { most }, ids.len());
        None
    }

    fn miscounted(&self, word: &str, at: At, wanted: usize, given: usize) {
        let plural = if wanted == 1 { "" } else { "s" };
        let message = format!("this {word} has {wanted} colour{plural}, {given} given");
        let help = match wanted {
            1 => "write `colour: …`".into(),
            _ => format!("write `colours: [{}]`", vec!["…"; wanted.min(MOST_COLOURS)].join(", ")),
        };
        self.log.value(at, message, help);
    }

    pub fn at_most(&self, colours: Colours) -> Option<Vec<ColourId>> {
        if colours.kind == ColoursKind::Any {
            return Some(vec![ColourId(0)]);
        }
        let ids = colours.ids?;
        if ids.len() > MOST_COLOURS {
            let message = format!("{} colours in one marking", ids.len());
            self.log.value(colours.at, message, format!("at most {MOST_COLOURS}"));
        }
        Some(ids)
    }

    fn band(&self, band: &mirror::Band, at: At, colours: Colours) -> Option<Draw> {
        if self.nest.is_inside() {
            self.log.value(at, "a band goes round its part, and is no part of a drawing", "draw a `stripe`");
            return None;
        }
        if band.width.given && band.widths.given {
            self.log.key(band.widths.at, "`width` and `widths` together", "give one of the two");
            return None;
        }
        if !band.width.given && !band.widths.given {
            self.log.key(at, "the band has no width", "add `width: …`, or `widths: […]` for several stripes");
            return None;
        }
        let ids = self.at_most(colours.clone())?;
        let widths = match band.widths.get() {
            Some(widths) => widths.iter().map(|width| self.size(width)).collect::<Vec<_>>(),
            // Shared equally between the colours, as in a stripe.
            None => {
                let whole = self.size(&band.width);
                ids.iter().map(|_| whole.map(|whole| whole / ids.len() as f64)).collect()
            }
        };
        if widths.len() != ids.len() && band.widths.get().is_some() {
            self.miscounted("band", colours.at, widths.len(), ids.len());
        }
        Some(Draw::Band { widths: widths.into_iter().collect::<Option<_>>()?, colours: ids })
    }

    fn area(&self, area: &mirror::Area, at: At, colours: Colours) -> Option<Draw> {
        if self.nest.is_inside() {
            let help = "make a marking of its own of it; `over` puts one over another";
            self.log.key(at, "an area is a bit of its part, and no part of a drawing", help);
            return None;
        }
        let mut sides = Vec::new();
        let mut is_whole = true;
        for (given, kept) in [(&area.beyond, false), (&area.within, true)] {
            for (name, at) in each(self.log, given) {
                let Some(index) = self.limits.iter().position(|limit| *limit == name.0) else {
                    let known = self.limits.iter().map(String::as_str);
                    self.log.unknown(at, "the part has no limit", &name.0, known);
                    is_whole = false;
                    continue;
                };
                if sides.iter().any(|(other, _)| *other == index) {
                    self.log.value(at, format!("`{}` is named twice", name.0), "name each limit once");
                }
                sides.push((index, kept));
            }
        }
        if !area.beyond.given && !area.within.given {
            let help = "name the limits: `area: {beyond: visor-edge}`, `area: {within: [brow, nape]}`";
            self.log.key(at, "an area without bounds", help);
            return None;
        }
        let [colour] = self.colours("area", colours)?;
        is_whole.then_some(Draw::Area { sides, colour })
    }

    fn roundel(&self, roundel: &mirror::Roundel, colours: Colours) -> Option<Draw> {
        let diameter = self.size(&roundel.diameter);
        let given = roundel.rings.get()?;
        let rings: Option<Vec<f64>> = given.iter().map(|ring| ring.get().map(|ring| ring.0)).collect();
        let mut inside = 0.0;
        for ring in given {
            let Some(value) = ring.get() else { continue };
            if value.0 <= inside {
                let message = format!("ring {} is not larger than the one before, {inside}", value.0);
                let help = "rings are in proportion to their diameters, innermost first: `[1, 3, 5]`";
                self.log.value(ring.at, message, help);
            }
            inside = value.0;
        }
        if given.is_empty() {
            self.log.value(
                roundel.rings.at,
                "a roundel without rings",
                "give their proportions: `[1, 3, 5]`",
            );
            return None;
        }
        let ids = self.at_most(colours.clone())?;
        let ids = if ids.len() == given.len() { ids } else { self.exactly("roundel", colours, given.len())? };
        Some(Draw::Roundel { diameter: diameter?, rings: rings?, colours: ids })
    }

    fn star(&self, star: &mirror::Star, colours: Colours) -> Option<Draw> {
        let diameter = self.size(&star.diameter);
        let points = star.points.get().map_or(5, |count| count.0);
        if !(3..=100).contains(&points) {
            self.log.value(star.points.at, format!("no star has {points} points"), "give from 3 to 100");
        }
        let inner = star.inner.get().map_or(PENTAGRAM, |inner| inner.0);
        if !(0.01..1.0).contains(&inner) {
            let help = "it is the inner corners' radius over the tips': from 0.01, below 1";
            self.log.value(star.inner.at, format!("`inner` of {inner} makes no star"), help);
        }
        let [colour] = self.colours("star", colours)?;
        Some(Draw::Star { points, diameter: diameter?, inner, colour })
    }

    fn chevron(&self, chevron: &mirror::Chevron, colours: Colours) -> Option<Draw> {
        let (width, stroke) = (self.size(&chevron.width), self.size(&chevron.stroke));
        let angle = self.angle(&chevron.angle, 90.0, [10.0, 170.0]);
        let [colour] = self.colours("chevron", colours)?;
        Some(Draw::Chevron { width: width?, stroke: stroke?, angle: angle?, colour })
    }

    fn polygon(&self, polygon: &mirror::Polygon, colours: Colours) -> Option<Draw> {
        let outline = corners(self.log, polygon.points.get()?, polygon.points.at);
        let [colour] = self.colours("polygon", colours)?;
        let full = |mm: f64| self.step(polygon.points.at, &Length::mm(mm));
        let points = outline?.into_iter().map(|corner| Some([full(corner.x)?, full(corner.y)?]));
        Some(Draw::Polygon { points: points.collect::<Option<_>>()?, colour })
    }

    fn checks(&self, checks: &mirror::Checks, at: At, colours: Colours) -> Option<Draw> {
        let square = self.square(checks, at);
        let columns = self.round_or("columns", &checks.columns);
        let colours = self.colours("pattern of checks", colours);
        let ((square, square_at), rows) = (square?, checks.rows.get()?.0);
        let columns = columns?.map(|Count(columns)| columns);
        let across = columns.map_or_else(|| self.girth() / square.to_mm(), f64::from);
        self.few_enough(across * f64::from(rows), "squares", square_at);
        Some(Draw::Checks { square, rows, columns, colours: colours? })
    }

    fn hazard(&self, hazard: &mirror::Hazard, colours: Colours) -> Option<Draw> {
        let (width, stripe) = (self.size(&hazard.width), self.size(&hazard.stripe));
        let length = match self.round_or("length", &hazard.length) {
            Some(Some(_)) => self.size(&hazard.length).map(Some),
            other => other.map(|_| None),
        };
        let angle = self.angle(&hazard.angle, 45.0, [10.0, 90.0]);
        let colours = self.colours("hazard bar", colours);
        let (width, stripe, length) = (width?, stripe?, length?);
        let run = length.map_or_else(|| self.girth(), Length::to_mm) + width.to_mm();
        self.few_enough(run / stripe.to_mm(), "stripes", hazard.stripe.at);
        Some(Draw::Hazard { width, length, stripe, angle: angle?, colours: colours? })
    }

    /// A number that may be left out where the marking goes all the way round; `None` where it is wrong.
    fn round_or<T: Copy>(&self, word: &str, got: &May<T>) -> Option<Option<T>> {
        match got.get() {
            Some(&value) => Some(Some(value)),
            None if got.given => None,
            None if self.has_line != Some(false) && !self.nest.is_inside() => Some(None),
            None => {
                let help = format!(
                    "add `{word}: …`; it may be left out only round a ring or along a line with ends"
                );
                self.log.key(got.at, format!("`{word}` is missing"), help);
                None
            }
        }
    }

    /// About the longest way round the part, mm: round a long one across it, of others from corner to corner.
    fn girth(&self) -> f64 {
        let Some(shape) = self.shape else { return 0.0 };
        let [low, high] = shape.bounds();
        let across = if shape.is_long() { glam::DVec3::new(0.0, 1.0, 1.0) } else { glam::DVec3::ONE };
        PI * ((high - low) * across).length()
    }

    fn few_enough(&self, count: f64, what: &str, at: At) {
        if count > MOST_REPEATS {
            let message = format!("{} {what} in one marking", count.ceil());
            self.log.value(at, message, format!("at most {MOST_REPEATS}: is the unit right?"));
        }
    }

    pub fn angle(&self, got: &May<Angle>, usual: f64, [from, to]: [f64; 2]) -> Option<Angle> {
        if got.given && got.get().is_none() {
            return None;
        }
        let degrees = got.get().map_or(usual, |angle| angle.to_degrees());
        // A degree's last digit is lost on the way through radians.
        let slack = 1e-9;
        if !(from - slack..=to + slack).contains(&degrees) {
            let message = format!("an angle of {}° does not do here", (degrees * 100.0).round() / 100.0);
            self.log.value(got.at, message, format!("from {from}° to {to}°"));
            return None;
        }
        Some(Angle::degrees(degrees))
    }
}
