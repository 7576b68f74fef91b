//! Sizes and sense of the figures: cross, rays, arrow, arcs, cheat line, path, star and bars, camouflage.

use super::super::lenient::{May, Need};
use super::super::log::At;
use super::super::mirror;
use super::super::words::{Filled, Share};
use super::drawing::{Colours, Paint};
use super::limit::MOST_CORNERS;
use crate::flow::{Camouflage, CheatLine, Draw, Figure};
use crate::outline::{Contour, Outline, Point, Region, Vector, longer_side, path_data, point};
use crate::units::{Angle, Full, Length};

/// How sharply a mitred cheat line may turn: beyond, its corner would be a spike.
const SHARPEST: f64 = 150.0;

/// Most stripes or blotches that lie side by side on one marking: more than any aircraft was painted with.
const MOST_MARKS: f64 = 500.0;

impl Paint<'_> {
    /// One outline in one colour.
    pub fn plain(&self, word: &str, figure: Option<Figure>, colours: Colours) -> Option<Draw> {
        let [colour] = self.colours(word, colours)?;
        Some(Draw::Figure { figure: figure?, colour })
    }

    /// A size that must stay under another.
    fn under(&self, got: At, size: Length<Full>, limit: Length<Full>, of: &str) -> Option<()> {
        if size < limit {
            return Some(());
        }
        let message = format!("{} is not less than the {of}, {}", self.said(size), self.said(limit));
        self.log.value(got, message, format!("give less than {}", self.said(limit)));
        None
    }

    pub fn cross(&self, cross: &mirror::Cross) -> Option<Figure> {
        let (width, stroke) = (self.size(&cross.width), self.size(&cross.stroke));
        let height = self.size_or(&cross.height, width);
        let flare = self.size_or(&cross.flare, stroke);
        let (width, height, stroke, flare) = (width?, height?, stroke?, flare?);
        let smaller = if width < height { width } else { height };
        self.under(cross.stroke.at, stroke, smaller, "cross")?;
        // Edges of two neighbouring arms part where they leave the crossing, and must not meet again.
        let [x, y, f] = [width, height, flare].map(|side| side.to_mm() - stroke.to_mm());
        if f > 0.0 && f * f >= x * y {
            let message = format!("arms {} wide at their ends run into each other", self.said(flare));
            self.log.value(cross.flare.at, message, "make `flare` less than the width and the height");
            return None;
        }
        Some(Figure::Cross { width, height, stroke, flare })
    }

    pub fn rays(&self, rays: &mirror::Rays) -> Option<Figure> {
        let diameter = self.size(&rays.diameter);
        let inner = self.inner(&rays.inner, diameter);
        let count = rays.rays.get()?.0;
        if count > 360 {
            self.log.value(
                rays.rays.at,
                format!("{count} rays"),
                "at most 360: finer is no sunburst but a tint",
            );
            return None;
        }
        let pitch = 360.0 / f64::from(count);
        let angle = self.angle(&rays.angle, pitch / 2.0, [0.1, pitch.min(180.0)]);
        Some(Figure::Rays { diameter: diameter?, inner: inner?, count, angle: angle? })
    }

    /// The diameter of what is left out in the middle, or nothing.
    fn inner(&self, got: &May<Length<Full>>, outer: Option<Length<Full>>) -> Option<Length<Full>> {
        if !got.given {
            return Some(Length::ZERO);
        }
        let inner = self.size(got)?;
        self.under(got.at, inner, outer?, "diameter").map(|()| inner)
    }

    pub fn arrow(&self, arrow: &mirror::Arrow) -> Option<Figure> {
        let (length, width, stroke) =
            (self.size(&arrow.length), self.size(&arrow.width), self.size(&arrow.stroke));
        let head = self.size_or(&arrow.head, width);
        let (length, width, stroke, head) = (length?, width?, stroke?, head?);
        self.under(arrow.stroke.at, stroke, width, "head's width")?;
        let blamed = if arrow.head.given { arrow.head.at } else { arrow.width.at };
        self.under(blamed, head, length, "arrow's length")?;
        Some(Figure::Arrow { length, width, stroke, head })
    }

    pub fn arc(&self, arc: &mirror::Arc) -> Option<Figure> {
        let (middle, stroke) = (self.size(&arc.diameter), self.size(&arc.stroke));
        let angle = self.needed_angle(&arc.angle);
        let (middle, stroke) = (middle?, stroke?);
        self.under(arc.stroke.at, stroke, middle, "diameter")?;
        Some(Figure::Sector { diameter: middle + stroke, inner: middle - stroke, angle: angle? })
    }

    pub fn sector(&self, sector: &mirror::Sector) -> Option<Figure> {
        let diameter = self.size(&sector.diameter);
        let (inner, angle) = (self.inner(&sector.inner, diameter), self.needed_angle(&sector.angle));
        Some(Figure::Sector { diameter: diameter?, inner: inner?, angle: angle? })
    }

    fn needed_angle(&self, got: &Need<Angle>) -> Option<Angle> {
        let degrees = got.get()?.to_degrees();
        if !(0.1..=360.0 + 1e-9).contains(&degrees) {
            self.log.value(
                got.at,
                format!("an angle of {degrees:.1}° encloses nothing here"),
                "from 0.1° to 360°",
            );
            return None;
        }
        Some(Angle::degrees(degrees))
    }

    pub fn rounded(&self, rectangle: &mirror::Rectangle) -> Option<Figure> {
        let (width, height) = (self.size(&rectangle.width), self.size(&rectangle.height));
        let radius = self.size(&rectangle.radius);
        let (width, height, radius) = (width?, height?, radius?);
        let most = if width < height { width } else { height } / 2.0;
        if radius > most {
            let message = format!("corners of {} do not fit into the rectangle", self.said(radius));
            self.log.value(rectangle.radius.at, message, format!("at most {}", self.said(most)));
            return None;
        }
        Some(Figure::Rounded { width, height, radius })
    }

    pub fn star_and_bars(&self, star: &mirror::StarAndBars, colours: Colours) -> Option<Draw> {
        let radius = self.size(&star.radius);
        let ids = self.between("star and bars", colours, [2, 3])?;
        Some(Draw::StarAndBars { radius: radius?, colours: ids })
    }

    pub fn cheat_line(&self, line: &mirror::CheatLine, colours: Colours) -> Option<Draw> {
        let width = self.size(&line.width);
        let end_width = self.size_or(&line.taper, width);
        let radius = if line.radius.given { self.size(&line.radius) } else { Some(Length::ZERO) };
        let colours = self.at_most(colours);
        let at = line.points.at;
        let given = line.points.get()?;
        if !(2..=MOST_CORNERS / 10).contains(&given.len()) {
            let message = format!("{} point{}", given.len(), if given.len() == 1 { "" } else { "s" });
            self.log.value(at, message, format!("give from 2 to {}", MOST_CORNERS / 10));
            return None;
        }
        let corner = |got: &Need<mirror::Corner>| {
            let [x, y] = got.get()?;
            Some([self.step(x.at, x.get()?)?, self.step(y.at, y.get()?)?])
        };
        let points: Vec<[Length<Full>; 2]> = given.iter().map(corner).collect::<Option<_>>()?;
        let (width, end_width, radius) = (width?, end_width?, radius?);
        let widest = if width > end_width { width } else { end_width };
        if line.radius.given && radius * 2.0 < widest {
            let message = format!("a radius of {} folds the inside of the line", self.said(radius));
            self.log.value(
                line.radius.at,
                message,
                format!("give half its width, {}, or more", self.said(widest / 2.0)),
            );
            return None;
        }
        self.course_holds(&points, radius.to_mm(), [width, end_width].map(|width| width.to_mm() / 2.0), at)?;
        Some(Draw::CheatLine(CheatLine { points, width, end_width, radius, colours: colours? }))
    }

    /// Stretches long enough for their bends, no turning back, no crossing.
    fn course_holds(
        &self,
        points: &[[Length<Full>; 2]],
        radius: f64,
        halves: [f64; 2],
        at: At,
    ) -> Option<()> {
        let points: Vec<Point> = points.iter().map(|[x, y]| point(x.to_mm(), y.to_mm())).collect();
        let ways: Vec<Vector> = points.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let fail = |message: String, help: &str| {
            self.log.value(at, message, help);
            None
        };
        if let Some(k) = ways.iter().position(|way| way.length() < 1e-3) {
            return fail(format!("points {} and {} are the same", k + 1, k + 2), "take one of them out");
        }
        let turns: Vec<f64> = ways.windows(2).map(|pair| pair[0].angle_to(pair[1]).radians.abs()).collect();
        if let Some(k) = turns.iter().position(|turn| turn.to_degrees() > SHARPEST) {
            let message = format!("the line turns back by {:.0}° at point {}", turns[k].to_degrees(), k + 2);
            return fail(message, "turn by at most 150°, or lead it round over one more point");
        }
        let reach = |turn: Option<&f64>| turn.map_or(0.0, |turn| radius * libm::tan(turn / 2.0));
        // At a mitre the inner edge is shorter by so much, the outer longer: one side of a stretch may have to give
        // at both ends.
        let whole: f64 = ways.iter().map(|way| way.length()).sum();
        let mitre = |k: Option<usize>| {
            let corner = k.and_then(|k| Some((k, ways.get(k)?, ways.get(k + 1)?)));
            corner.map_or(0.0, |(k, one, next)| {
                let run: f64 = ways[..=k].iter().map(|way| way.length()).sum();
                let half = halves[0] + (halves[1] - halves[0]) * run / whole;
                half * libm::tan(one.angle_to(*next).radians / 2.0)
            })
        };
        let too_wide =
            |k: usize| (mitre(k.checked_sub(1)) + mitre(Some(k))).abs() > ways[k].length() * (1.0 + 1e-9);
        if radius == 0.0
            && let Some(k) = (0..ways.len()).find(|&k| too_wide(k))
        {
            let message = format!(
                "from point {} to {} it is {}, and its corners take more than that off one side of the line",
                k + 1,
                k + 2,
                self.said(Length::mm(ways[k].length()))
            );
            return fail(message, "make the line narrower, or the points lie further apart");
        }
        for (k, way) in ways.iter().enumerate() {
            let before = reach(k.checked_sub(1).and_then(|k| turns.get(k)));
            let needed = before + reach(turns.get(k));
            if needed > way.length() * (1.0 + 1e-9) {
                let message = format!(
                    "from point {} to {} it is {}, and the bends take {} of it",
                    k + 1,
                    k + 2,
                    self.said(Length::mm(way.length())),
                    self.said(Length::mm(needed))
                );
                return fail(message, "make `radius` less, or the points lie further apart");
            }
        }
        let parted = |(a, b): (Point, Point), (p, q): (Point, Point)| {
            (b - a).cross(p - a) * (b - a).cross(q - a) < 0.0
        };
        let side = |k: usize| (points[k], points[k + 1]);
        for one in 0..ways.len() {
            for other in one + 2..ways.len() {
                if parted(side(one), side(other)) && parted(side(other), side(one)) {
                    let message =
                        format!("the stretches from point {} and from point {} cross", one + 1, other + 1);
                    return fail(message, "make two lines of it, over one another in a `group`");
                }
            }
        }
        Some(())
    }

    pub fn path(&self, path: &mirror::Path) -> Option<Figure> {
        let (data, unit) = (path.d.get()?, path.unit.get()?.0);
        if unit.to_mm() <= 0.0 {
            self.log.value(
                path.unit.at,
                "a unit cannot be nothing",
                "write `mm`, `in` or a length such as `2.5 mm`",
            );
            return None;
        }
        let contours = match path_data::contours(&data.0) {
            Ok(contours) if !contours.is_empty() => contours,
            Ok(_) => {
                self.log.value(
                    path.d.at,
                    "the path has no lines",
                    "write path data such as \"M0 0 L10 0 L10 5 Z\"",
                );
                return None;
            }
            Err(reason) => {
                let help = "path data as in SVG: \"M0 0 L10 0 L10 5 Z\", quoted";
                self.log.value(path.d.at, format!("the path cannot be read: {reason}"), help);
                return None;
            }
        };
        let factor = unit.to_mm() * self.made.denominator();
        let outline = Outline::<Full>::new(contours);
        let bounds = outline.bounds();
        let size = longer_side(&bounds);
        let furthest = [bounds.min, bounds.max].iter().map(|p| p.to_vector().length()).fold(0.0, f64::max);
        // Before anything is worked out on them: coordinates may be any number at all.
        self.sized(path.d.at, Length::mm(size * factor))?;
        self.sized(path.d.at, Length::mm(furthest.max(size) * factor))?;
        if size == 0.0 {
            self.log.value(path.d.at, "the path encloses nothing", "give it corners that enclose an area");
            return None;
        }
        let origin = match path.origin.get() {
            Some([x, y]) => {
                let origin = point(x.get()?.0, -y.get()?.0);
                let off = (origin - bounds.center()).length();
                self.sized(path.origin.at, Length::mm(off.max(size) * factor))?;
                origin
            }
            None => bounds.center(),
        };
        let outline = outline.moved(-origin.to_vector()).enlarged(factor);
        self.filled(path, outline, size * factor).map(Figure::Path)
    }

    /// The outline that a path fills, or a word on why that is not clear.
    fn filled(&self, path: &mirror::Path, outline: Outline<Full>, size: f64) -> Option<Outline<Full>> {
        // As fine as drawings are flattened where they cross.
        let tolerance = 1e-5 * size;
        let raw: Region<Full> = outline.flattened(tolerance);
        let (non_zero, even_odd) = (raw.cleaned(), raw.cleaned_even_odd());
        let same = |a: f64, b: f64| (a - b).abs() <= 1e-7 * size * size;
        if same(non_zero.area(), 0.0) && same(even_odd.area(), 0.0) {
            self.log.value(path.d.at, "the path encloses nothing", "give it corners that enclose an area");
            return None;
        }
        let crosses = |contour: &Contour| {
            let ring = Region::<Full>::new(vec![contour.flattened(tolerance)]);
            !same(ring.area().abs(), ring.cleaned().area())
        };
        let fill = path.fill.get().copied();
        if fill.is_none() && (!same(non_zero.area(), even_odd.area()) || outline.contours.iter().any(crosses))
        {
            let message = "the path crosses itself or lies over itself";
            let help = "say what is meant: `fill: non-zero` fills all it goes round, `fill: even-odd` leaves out what it goes round twice";
            self.log.value(path.d.at, message, help);
            return None;
        }
        let region = if fill == Some(Filled::EvenOdd) { even_odd } else { non_zero };
        // Curves are kept where the contours bound the area as they are.
        Some(if same(region.area(), raw.area()) {
            outline
        } else if same(region.area(), -raw.area()) {
            outline.reversed()
        } else {
            region.to_outline()
        })
    }

    pub fn stripes(&self, given: &mirror::Stripes, colours: Colours) -> Option<Draw> {
        let mark = [self.size(&given.length), self.size(&given.stroke)];
        let lean = self.angle(&given.angle, 0.0, [-180.0, 180.0]);
        let (width, height) = (self.size(&given.width), self.size(&given.height));
        let shares = self.shares(&given.shares, colours);
        let waviness = self.waviness(&given.waviness);
        let [length, stroke] = [mark[0]?, mark[1]?];
        self.under(given.stroke.at, stroke, length, "stripes' length")?;
        let (shares, colours) = shares?;
        self.camouflage(
            given.length.at,
            Camouflage {
                width: width?,
                height: height?,
                seed: given.seed.get()?.0,
                mark: [length, stroke],
                waviness: waviness?,
                lean: Some(lean?),
                shares,
                colours,
            },
        )
    }

    pub fn blotches(&self, given: &mirror::Blotches, colours: Colours) -> Option<Draw> {
        let (width, height, size) =
            (self.size(&given.width), self.size(&given.height), self.size(&given.size));
        let shares = self.shares(&given.shares, colours);
        let waviness = self.waviness(&given.waviness);
        let (shares, colours) = shares?;
        self.camouflage(
            given.size.at,
            Camouflage {
                width: width?,
                height: height?,
                seed: given.seed.get()?.0,
                mark: [size?; 2],
                waviness: waviness?,
                lean: None,
                shares,
                colours,
            },
        )
    }

    fn camouflage(&self, at: At, wanted: Camouflage) -> Option<Draw> {
        let area = wanted.width.to_mm() * wanted.height.to_mm();
        // However much of a long mark lies beside the area.
        let most = libm::hypot(wanted.width.to_mm(), wanted.height.to_mm());
        let [long, wide] = wanted.mark.map(|side| side.to_mm().min(most));
        let count = area / (long * wide);
        if count > MOST_MARKS {
            let message = format!("some {count:.0} stripes or blotches in one marking");
            self.log.value(
                at,
                message,
                format!("at most {MOST_MARKS}: make them larger, or is the unit right?"),
            );
            return None;
        }
        Some(Draw::Camouflage(wanted))
    }

    /// How much of the area each colour shows.
    fn shares(
        &self,
        got: &Need<Vec<Need<Share>>>,
        colours: Colours,
    ) -> Option<(Vec<f64>, Vec<crate::flow::ColourId>)> {
        let given = got.get()?;
        let ids = self.exactly("pattern", colours, given.len())?;
        let shares: Vec<f64> =
            given.iter().map(|share| share.get().map(|share| share.0)).collect::<Option<_>>()?;
        let sum: f64 = shares.iter().sum();
        if shares.len() < 2 || shares.iter().any(|&share| share <= 0.0) || (sum - 1.0).abs() > 1e-4 {
            let message = format!("the shares add up to {:.1} %", sum * 100.0);
            let help =
                "give each colour a share of more than nothing, two or more, 100 % together: `[60 %, 40 %]`";
            self.log.value(got.at, message, help);
            return None;
        }
        Some((shares, ids))
    }

    fn waviness(&self, got: &May<Share>) -> Option<f64> {
        /// Rather wavy: common practice, no source.
        const USUAL: f64 = 0.3;
        if got.given && got.get().is_none() {
            return None;
        }
        let share = got.get().map_or(USUAL, |share| share.0);
        if !(0.0..=0.6).contains(&share) {
            self.log.value(got.at, format!("a waviness of {:.0} %", share * 100.0), "from 0 % to 60 %");
            return None;
        }
        Some(share)
    }

    /// The side of a square: as it is, or shared out over the columns or the rows.
    pub fn square(&self, checks: &mirror::Checks, at: At) -> Option<(Length<Full>, At)> {
        let ways = [(&checks.square, None), (&checks.width, Some(&checks.columns)), (&checks.height, None)];
        let given: Vec<_> = ways.into_iter().filter(|(size, _)| size.given).collect();
        match given[..] {
            [(size, Some(columns))] => {
                let Some(columns) = columns.get() else {
                    let help = "add `columns: …`, or give the `height` or a `square` instead";
                    self.log.key(
                        size.at,
                        "the width is shared out over the columns, and none are given",
                        help,
                    );
                    return None;
                };
                Some((self.size(size)? / f64::from(columns.0), size.at))
            }
            [(size, None)] if checks.height.given => {
                Some((self.size(size)? / f64::from(checks.rows.get()?.0), size.at))
            }
            [(size, None)] => Some((self.size(size)?, size.at)),
            [] => {
                let help = "add `square: …`, the `width` of all columns or the `height` of all rows";
                self.log.key(at, "`square` is missing", help);
                None
            }
            [_, (second, _), ..] => {
                let message = "the size of the squares is given twice";
                self.log.key(second.at, message, "give one of `square`, `width` and `height`");
                None
            }
        }
    }

    fn size_or(&self, got: &May<Length<Full>>, usual: Option<Length<Full>>) -> Option<Length<Full>> {
        if got.given { self.size(got) } else { usual }
    }

    /// A place, at full size: any sign, but not over all measure.
    pub fn step(&self, at: At, length: &Length<Full>) -> Option<Length<Full>> {
        let step = *length * self.made.denominator();
        if step == Length::ZERO { Some(step) } else { self.sized(at, step) }
    }
}
