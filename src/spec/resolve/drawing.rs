//! `draw`: kind, sizes and colours of what is painted.

use super::super::fonts::Fonts;
use super::super::length::sane;
use super::super::lenient::{May, Need};
use super::super::log::{At, Log};
use super::super::mirror;
use super::super::words::Count;
use super::limit::corners;
use super::part::reach;
use super::{mm, positive};
use crate::flow::{ColourId, Direction, Draw, Shape};
use crate::units::{Angle, Full, Length, Scale};
use std::f64::consts::PI;

/// Most squares or stripes of one marking: finer than this is no marking but a tint.
const MOST_REPEATS: f64 = 5000.0;
/// Most colours of one marking: stripes, rings.
const MOST_COLOURS: usize = 40;
/// Most corners of a polygon.
const MOST_CORNERS: usize = 2000;

/// What a drawing needs to know of its marking.
pub struct Paint<'a> {
    pub log: &'a Log,
    /// The scale of the decal in hand that all lengths are of.
    pub made: Scale,
    /// The shape that it goes on, if that could be read.
    pub shape: Option<&'a Shape>,
    /// Whether it goes along a line that has ends, or goes round; `None` where the spec is too wrong to tell.
    pub has_line: Option<bool>,
    pub fonts: &'a Fonts<'a>,
}

/// The colours of a marking, if all could be read, and where they are given.
pub struct Colours {
    pub ids: Option<Vec<ColourId>>,
    pub at: At,
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
        mirror::Draw::Star(star) => paint.star(star, colours),
        mirror::Draw::Chevron(chevron) => paint.chevron(chevron, colours),
        mirror::Draw::Polygon(polygon) => paint.polygon(polygon, colours),
        mirror::Draw::Checks(checks) => paint.checks(checks, colours),
        mirror::Draw::Hazard(hazard) => paint.hazard(hazard, colours),
        mirror::Draw::Letters(letters) => paint.letters(letters, got.at, colours),
        mirror::Draw::Text(lines) => paint.text(lines, got.at, colours),
    }
}

impl Paint<'_> {
    /// A size at full size.
    pub fn size<const NEEDED: bool>(&self, got: &super::Got<Length<Full>, NEEDED>) -> Option<Length<Full>> {
        let size = positive(self.log, got)? * self.made.denominator();
        let big = |wrong| self.log.wrong(got.at, wrong);
        sane(size, &format!("{} at full size", mm(size))).map_err(big).ok()
    }

    /// Exactly as many colours as the drawing has.
    pub fn colours<const N: usize>(&self, word: &str, colours: Colours) -> Option<[ColourId; N]> {
        let ids = colours.ids?;
        let count = ids.len();
        let exact = ids.try_into().ok();
        if exact.is_none() {
            self.miscounted(word, colours.at, N, count);
        }
        exact
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

    fn at_most(&self, colours: Colours) -> Option<Vec<ColourId>> {
        let ids = colours.ids?;
        if ids.len() > MOST_COLOURS {
            let message = format!("{} colours in one marking", ids.len());
            self.log.value(colours.at, message, format!("at most {MOST_COLOURS}"));
        }
        Some(ids)
    }

    fn band(&self, band: &mirror::Band, at: At, colours: Colours) -> Option<Draw> {
        if band.width.given && band.widths.given {
            self.log.key(band.widths.at, "`width` and `widths` together", "give one of the two");
            return None;
        }
        if !band.width.given && !band.widths.given {
            self.log.key(at, "the band has no width", "add `width: …`, or `widths: […]` for several stripes");
            return None;
        }
        let ids = self.at_most(Colours { ids: colours.ids, at: colours.at })?;
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
        let ids = self.at_most(Colours { ids: colours.ids, at: colours.at })?;
        if ids.len() != given.len() {
            self.miscounted("roundel", colours.at, given.len(), ids.len());
        }
        Some(Draw::Roundel { diameter: diameter?, rings: rings?, colours: ids })
    }

    fn star(&self, star: &mirror::Star, colours: Colours) -> Option<Draw> {
        /// Inner over outer radius of the pentagram, 1/φ²: the arms' edges lie in line.
        const PENTAGRAM: f64 = 0.381_966_011_250_105;
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
        let given = polygon.points.get()?;
        if given.len() > MOST_CORNERS {
            let message = format!("{} corners", given.len());
            self.log.value(polygon.points.at, message, format!("at most {MOST_CORNERS}"));
            return None;
        }
        let outline = corners(self.log, given, polygon.points.at);
        let [colour] = self.colours("polygon", colours)?;
        let full = |mm: f64| Length::mm(mm * self.made.denominator());
        let points = outline?.into_iter().map(|corner| [full(corner.x), full(corner.y)]).collect();
        Some(Draw::Polygon { points, colour })
    }

    fn checks(&self, checks: &mirror::Checks, colours: Colours) -> Option<Draw> {
        let square = self.size(&checks.square);
        let columns = self.round_or("columns", &checks.columns);
        let colours = self.colours("pattern of checks", colours);
        let (square, rows) = (square?, checks.rows.get()?.0);
        let columns = columns?.map(|Count(columns)| columns);
        let across = columns.map_or_else(|| self.girth() / square.to_mm(), f64::from);
        self.few_enough(across * f64::from(rows), "squares", checks.square.at);
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
            None if self.has_line != Some(false) => Some(None),
            None => {
                let help = format!(
                    "add `{word}: …`; it may be left out only round a ring or along a line with ends"
                );
                self.log.key(got.at, format!("`{word}` is missing"), help);
                None
            }
        }
    }

    /// The greatest way round the part, mm.
    fn girth(&self) -> f64 {
        let [from, to] = self.shape.map_or([0.0; 2], |shape| reach(shape, Direction::Up));
        PI * (to - from)
    }

    fn few_enough(&self, count: f64, what: &str, at: At) {
        if count > MOST_REPEATS {
            let message = format!("{} {what} in one marking", count.ceil());
            self.log.value(at, message, format!("at most {MOST_REPEATS}: is the unit right?"));
        }
    }

    fn angle(&self, got: &May<Angle>, usual: f64, [from, to]: [f64; 2]) -> Option<Angle> {
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
