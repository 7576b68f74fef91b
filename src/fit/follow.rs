//! Artwork bent so that its middle line lies along a line on the part.

use super::bend::{Bend, doubled};
use super::course::Course;
use super::fence;
use super::largest::{self, Rays};
use super::moulded::Moulded;
use super::overhang::{self, overhang};
use super::place::Refusal;
use super::route::{self, Wanted};
use super::wrap::{self, Round, Wrap};
use super::{Asked, Ends, FLATTEN, fitted, hold_point, refused, sampled, straight_on, unrolled};
use crate::film::{self, Cuts, Ribbon, Settings};
use crate::flow::{Artwork, Draw, Film3, Fit, Hold, Line, Marking, Seam, Strain};
use crate::outline::{Bounds, Outline, Point, Region, longer_side, point};
use crate::surface::geodesic::walk;
use crate::surface::{Foot, Start, Surface};
use crate::units::{Full, Length, Size};

/// How finely a flush end is cut, in strips across the ribbon.
const STRIPS: u32 = 64;

/// Stretches that a centreline is told in.
const SPINE: u32 = 256;

/// Fits artwork along a line.
pub fn follow(
    line: &Line,
    marking: &Marking,
    sized: &Artwork<Full>,
    moulded: &Moulded,
    asked: &Asked<'_>,
) -> Result<Fit<Full>, Refusal> {
    let surface = moulded.surface.as_ref();
    let whole = sized.repeat.is_some();
    let Bent { course, wrapped, ends, bend, room, artwork, drawing, tolerance } =
        bent(line, marking, sized, moulded, asked)?;
    let size = longer_side(&drawing);
    let sides = sides(&wrapped.artwork.silhouette);
    let settings = Settings { poisson: asked.film.poisson, ..Settings::default() };
    let lie = Lie { surface, course: &course, bend: &bend };
    let (laid, strain, doubled) = lie.lay(&wrapped, &artwork.silhouette, &sides, tolerance, &settings)?;
    // A ribbon reaches as far to its sides everywhere as the drawing does anywhere.
    let is_ribbon = surface.development().is_none() && doubled == 0.0 && course.air.is_empty();
    let laid = if is_ribbon && bar(&wrapped.artwork.silhouette).is_none() {
        // What has no net of its own stays the ribbon that it is part of.
        film::cut_to(surface, &laid, &artwork.silhouette.flattened(tolerance).cleaned()).unwrap_or(laid)
    } else {
        laid
    };
    let all = fence::fences(moulded);
    let over = overhang(surface, &laid, &all);

    let smallest = fence::smallest(&all);
    let step = (smallest / 2.0).max(overhang::FINEST * size).min(wrapped.length / 100.0);
    let edge = sampled(&wrapped.artwork.silhouette.flattened(tolerance), step);
    let free = |q: &Point| !course.hangs(q.x);
    let edge: Vec<Point> = edge.into_iter().filter(free).collect();
    let foot = |q: Point| lie.foot(q);
    let rays = Rays::over(surface).not_over(smallest, size);
    let grown = |grow: largest::Grow<'_>| largest::by_rays(rays, &edge, grow, &foot, &all, size);
    // A pattern that goes all the way grows in width alone: its length is the line's.
    let largest_fit = grown(&|q, f| if whole { point(q.x, q.y * f) } else { q * f }).min(room);
    // Round a closed line a stripe may grow until it meets itself.
    let once_round = if course.closed { course.length() } else { f64::INFINITY };
    let longer = matches!(marking.draw, Draw::Stripe { .. }) && !whole;
    let largest_length =
        longer.then(|| Length::mm((wrapped.length * grown(&|q, f| point(q.x * f, q.y))).min(once_round)));
    let [from, to] = course.ends();
    let past_line = match line.ends_itself() && !course.closed {
        true => (from - drawing.min.x).max(0.0) + (drawing.max.x - to).max(0.0),
        false => 0.0,
    };
    let may_trim = ends.allowed(&marking.may_trim);
    let straight = over.past.iter().map(|(_, area)| straightened(&bend, area)).collect::<Vec<_>>();
    let trimmable = overhang::only_at_ends(straight.iter(), drawing, may_trim);
    Ok(Fit {
        run: Some(Size { width: Length::mm(wrapped.length), height: Length::mm(wrapped.width) }),
        spine: (0..=SPINE)
            .map(|k| drawing.min.x + drawing.width() * f64::from(k) / f64::from(SPINE))
            .map(|s| bend.flat(point(s, 0.0)))
            .collect(),
        largest_length,
        seam: wrapped.gap.map(|gap| Seam { gap: Length::mm(gap) }),
        repeats: side_by_side(line, moulded, &course, &wrapped).or(wrapped.repeats),
        doubled_share: doubled,
        past_line: Length::mm(past_line),
        miss: Length::mm(bend.error),
        ..fitted(artwork, laid, strain, over, trimmable, largest_fit)
    })
}

/// Artwork and the line it is bent along, before film is laid.
struct Bent {
    course: Course,
    wrapped: Wrap,
    ends: Ends,
    bend: Bend,
    /// By how much the drawing could be wider before its inner edge folds.
    room: f64,
    artwork: Artwork<Full>,
    /// The box of the straight drawing.
    drawing: Bounds,
    tolerance: f64,
}

fn bent(
    line: &Line,
    marking: &Marking,
    sized: &Artwork<Full>,
    moulded: &Moulded,
    asked: &Asked<'_>,
) -> Result<Bent, Refusal> {
    let surface = moulded.surface.as_ref();
    let whole = sized.repeat.is_some();
    let bounds = sized.silhouette.bounds();
    let reach = [bounds.width() * largest::MOST; 2];
    let wanted = Wanted { reach, whole, width: bounds.height() };
    let course = route::course(line, &marking.spot, moulded, wanted)?;
    let ends = Ends::seen_from(surface, &course.centre(surface, 0.0));
    let flush = matches!(line, Line::Helix(helix) if helix.flush);
    let (course, wrapped) = laid_out(line, marking, sized, course, ends, flush, asked);
    let wrapped = if flush { cut_flush(surface, &course, wrapped) } else { wrapped };
    let drawing = wrapped.artwork.silhouette.bounds();
    let size = longer_side(&drawing);
    let tolerance = FLATTEN * size;
    let span = [drawing.min.x.min(-1e-3 * size), drawing.max.x.max(1e-3 * size)];
    let bend = Bend::of(&|s| course.bend(s), &course.joints(), span, tolerance);
    let sides = sides(&wrapped.artwork.silhouette);
    let (room, folds_at) = bend.room(&sides);
    if room <= 1.0 {
        return Err(folded(&course, line, &sides, folds_at, room));
    }
    let artwork = wrapped.artwork.mapped(|outline| bend.outline(outline, tolerance));
    Ok(Bent { course, wrapped, ends, bend, room, artwork, drawing, tolerance })
}

/// The drawing in lengths along the line and distances to its left, and the line held where the drawing is.
fn laid_out(
    line: &Line,
    marking: &Marking,
    sized: &Artwork<Full>,
    course: Course,
    ends: Ends,
    flush: bool,
    asked: &Asked<'_>,
) -> (Course, Wrap) {
    let [from, to] = course.ends();
    let round = Round { length: course.length(), closed: course.closed };
    let wrapped = wrap::wrap(sized, round, asked.overlap.to_mm());
    if sized.repeat.is_some() {
        // From end to end of an open line; on a closed one the hold stays opposite the seam.
        let course = if course.closed { course } else { course.moved((from + to) / 2.0) };
        if !flush {
            return (course, wrapped);
        }
        // Longer at both ends by what a slanting cut may need; the rest is cut off.
        let margin = MARGIN * wrapped.width;
        let longer = Round { length: round.length + 2.0 * margin, ..round };
        return (course, wrap::wrap(sized, longer, 0.0));
    }
    let held = hold_point(marking.hold, sized, ends);
    let at = match marking.hold {
        _ if !line.holds_itself() => 0.0,
        Hold::Front if ends.front_is_start => from,
        Hold::Rear if !ends.front_is_start => from,
        Hold::Front | Hold::Rear => to,
        Hold::Centre | Hold::Point(..) => (from + to) / 2.0,
    };
    let artwork = wrapped.artwork.mapped(|outline| outline.moved(crate::outline::Vector::new(-held.x, 0.0)));
    (course.moved(at), Wrap { artwork, ..wrapped })
}

/// Widths that a flush helix goes on past each end: it may climb as slowly as 1 in twice as many, 0.9°, under the
/// least rise that the language takes.
const MARGIN: f64 = 32.0;

/// Cuts the drawing where it runs past the part's ends.
fn cut_flush(surface: &dyn Surface, course: &Course, wrapped: Wrap) -> Wrap {
    let bounds = wrapped.artwork.silhouette.bounds();
    let across = |s: f64, t: f64| {
        let centre = course.centre(surface, s);
        walk(surface, &Start { foot: centre.foot, heading: centre.left() }, t).foot.point
    };
    // Where a line along, at t, passes the part's end: between the middle, inside, and this end of the drawing.
    let end = |t: f64, outer: f64| {
        let (mut inside, mut outside) = ((bounds.min.x + bounds.max.x) / 2.0, outer);
        if surface.past_ends(across(outside, t)) <= 0.0 {
            return outside;
        }
        for _ in 0..50 {
            let middle = (inside + outside) / 2.0;
            if surface.past_ends(across(middle, t)) <= 0.0 { inside = middle } else { outside = middle }
        }
        inside
    };
    let t = |k: u32| bounds.min.y + bounds.height() * f64::from(k) / f64::from(STRIPS);
    let rear = (0..=STRIPS).map(|k| point(end(t(k), bounds.max.x), t(k)));
    let front = (0..=STRIPS).rev().map(|k| point(end(t(k), bounds.min.x), t(k)));
    let window: Region<Full> = Region::new(vec![rear.chain(front).collect()]);
    let cut = |outline: &Outline<Full>| {
        outline.flattened(FLATTEN * bounds.height()).intersection(&window).to_outline()
    };
    let artwork = wrapped.artwork.mapped(cut);
    let bounds = artwork.silhouette.bounds();
    Wrap { length: bounds.width(), artwork, ..wrapped }
}

/// How far the drawing reaches to the right and to the left at s: along a bar, as it tapers; else
/// as far as it reaches anywhere.
fn sides(silhouette: &Outline<Full>) -> impl Fn(f64) -> [f64; 2] + use<> {
    let bounds = silhouette.bounds();
    let bar = bar(silhouette);
    let all = [-bounds.min.y, bounds.max.y].map(|side| side.max(1e-3 * bounds.height()));
    move |s: f64| {
        let Some([front, rear]) = bar else { return all };
        let share = ((s - bounds.min.x) / bounds.width()).clamp(0.0, 1.0);
        [0, 1].map(|k| front[k] + (rear[k] - front[k]) * share)
    }
}

/// How far a bar reaches to the right and to the left at its front and at its rear end; `None` of what is no bar.
fn bar(silhouette: &Outline<Full>) -> Option<[[f64; 2]; 2]> {
    let bounds = silhouette.bounds();
    let corners = match &silhouette.contours[..] {
        [one] if one.segments.len() <= 4 => one.flattened(1.0),
        _ => return None,
    };
    let at = |x: f64| {
        let here = corners.iter().filter(|p| (p.x - x).abs() <= 1e-9 * bounds.width()).map(|p| p.y);
        here.fold([0.0f64, 0.0f64], |[right, left], y| [right.max(-y), left.max(y)])
    };
    let ends = [at(bounds.min.x), at(bounds.max.x)];
    (corners.len() == 4 && ends.iter().flatten().all(|&side| side > 0.0)).then_some(ends)
}

fn folded(course: &Course, line: &Line, sides: &dyn Fn(f64) -> [f64; 2], at: f64, room: f64) -> Refusal {
    let [right, left] = sides(at);
    let side = if course.bend(at) > 0.0 { left } else { right };
    let (text, help) = match line {
        Line::Ring { .. } => (
            format!(
                "half of the width, {side:.0} mm, is more than the {:.0} mm from the ring to the part's point",
                side * room
            ),
            "make it narrower, or move the ring away from the point",
        ),
        _ => (
            format!(
                "half of the width, {side:.0} mm, is more than the {:.0} mm of the bend {:.0} mm along: the inner edge folds over itself",
                side * room,
                at - course.ends()[0]
            ),
            "make it narrower, or lead it round a wider bend",
        ),
    };
    Refusal::new(text, help)
}

/// How many of a helix's stripes fit side by side into the way from turn to turn.
fn side_by_side(line: &Line, moulded: &Moulded, course: &Course, wrapped: &Wrap) -> Option<f64> {
    let Line::Helix(helix) = line else { return None };
    let at = course.centre(moulded.surface.as_ref(), 0.0);
    Some(route::turn_spacing(moulded, helix, &at) / wrapped.width)
}

/// An area of the flat piece in lengths along the line.
fn straightened(bend: &Bend, area: &Region<Full>) -> Region<Full> {
    Region::new(area.rings.iter().map(|ring| ring.iter().map(|&p| bend.straight(p)).collect()).collect())
}

/// A line on its part and its flat form.
pub struct Lie<'a> {
    pub surface: &'a dyn Surface,
    pub course: &'a Course,
    pub bend: &'a Bend,
}

impl Lie<'_> {
    /// Where a point of the straight drawing lands: straight across from the centreline.
    pub fn foot(&self, p: Point) -> Foot {
        let centre = self.course.centre(self.surface, p.x);
        let across = Start { foot: centre.foot, heading: centre.left() };
        straight_on(self.surface, &across, point(p.y, 0.0))
    }

    /// The film, its strain, and the share of the flat piece that lies over itself.
    pub fn lay(
        &self,
        wrapped: &Wrap,
        silhouette: &Outline<Full>,
        sides: &dyn Fn(f64) -> [f64; 2],
        tolerance: f64,
        settings: &Settings,
    ) -> Result<(Film3, Strain, f64), Refusal> {
        let flat: Region<Full> = silhouette.flattened(tolerance);
        let doubled = doubled(&flat);
        let unrolls = self.surface.development().is_some();
        if unrolls && doubled == 0.0 && self.course.air.is_empty() {
            let (film, strain) = unrolled(self.surface, &flat, self.course.centre(self.surface, 0.0))?;
            return Ok((film, strain, doubled));
        }
        let bounds = wrapped.artwork.silhouette.bounds();
        let mut all: Vec<(Film3, Strain)> = Vec::new();
        for [from, to, free] in stretches(self.course, bounds) {
            let part = if free > 0.0 {
                self.hanging(from, to, sides)
            } else {
                self.ribbon(wrapped, from, to, sides, Cuts::default(), settings)?
            };
            all.push(part);
        }
        let (film, strain) = together(all);
        Ok((film, strain, doubled))
    }

    fn ribbon(
        &self,
        wrapped: &Wrap,
        from: f64,
        to: f64,
        sides: &dyn Fn(f64) -> [f64; 2],
        cuts: Cuts,
        settings: &Settings,
    ) -> Result<(Film3, Strain), Refusal> {
        let middle = (from + to) / 2.0;
        let ribbon = Ribbon {
            flat: &|p| self.bend.flat(point(p.x + middle, p.y)),
            centre: &|s| self.course.centre(self.surface, s + middle),
            length: to - from,
            sides: &|s| sides(s + middle),
            closed: wrapped.gap == Some(0.0),
            cuts,
        };
        let draped = film::drape_ribbon(self.surface, &ribbon, settings).map_err(refused)?;
        Ok((draped.film, draped.strain))
    }

    /// Film in the air: unstrained, straight from where it lifts off to where it comes down.
    fn hanging(&self, from: f64, to: f64, sides: &dyn Fn(f64) -> [f64; 2]) -> (Film3, Strain) {
        let stop = |s: f64| {
            let at = self.course.centre(self.surface, s);
            let [right, left] = sides(s);
            [(-right, at), (left, at)]
                .map(|(t, at)| (self.bend.flat(point(s, t)), at.foot.point + at.left() * t, at.foot.normal))
        };
        // Just inside its ends, where there is no part under it yet.
        let inside = 1e-9 * (to - from);
        let places: Vec<_> = [from, to - inside].into_iter().flat_map(stop).collect();
        let film = Film3 {
            flat: places.iter().map(|place| place.0).collect(),
            laid: places.iter().map(|place| place.1).collect(),
            normals: places.iter().map(|place| place.2).collect(),
            triangles: vec![[0, 2, 3], [0, 3, 1]],
            stretches: vec![[1.0, 1.0]; 2],
        };
        (film, Strain { settled: true, ..Strain::default() })
    }
}

/// A band that can be laid again with cuts across it.
pub struct Cuttable<'a> {
    surface: &'a dyn Surface,
    bent: Bent,
}

impl<'a> Cuttable<'a> {
    /// `None` where the line leaves the part, or cannot be laid at all.
    pub fn new(
        line: &Line,
        marking: &Marking,
        sized: &Artwork<Full>,
        moulded: &'a Moulded,
        asked: &Asked<'_>,
    ) -> Option<Self> {
        let bent = bent(line, marking, sized, moulded, asked).ok()?;
        bent.course.air.is_empty().then(|| Self { surface: moulded.surface.as_ref(), bent })
    }

    /// The film with these cuts.
    pub fn lay(&self, cuts: Cuts, settings: &Settings) -> Option<(Film3, Strain)> {
        let Bent { course, wrapped, bend, drawing, .. } = &self.bent;
        let lie = Lie { surface: self.surface, course, bend };
        let sides = sides(&wrapped.artwork.silhouette);
        lie.ribbon(wrapped, drawing.min.x, drawing.max.x, &sides, cuts, settings).ok()
    }

    /// The cuts on the flat piece, from the side inwards.
    pub fn lines(&self, cuts: Cuts) -> Vec<[Point; 2]> {
        let Bent { wrapped, bend, drawing, .. } = &self.bent;
        let sides = sides(&wrapped.artwork.silhouette);
        let inner = 1.0 - cuts.quarters as f64 / 4.0;
        let mut lines = Vec::new();
        for side in [0, 1].into_iter().filter(|&side| cuts.sides[side]) {
            for place in cuts.places(drawing.width()) {
                let s = place + (drawing.min.x + drawing.max.x) / 2.0;
                let t = sides(s)[side] * if side == 0 { -1.0 } else { 1.0 };
                lines.push([t, t * inner].map(|t| bend.flat(point(s, t))));
            }
        }
        lines
    }
}

/// The drawing's stretches on the part and, told by a 1, in the air.
fn stretches(course: &Course, bounds: Bounds) -> Vec<[f64; 3]> {
    let mut all = Vec::new();
    let mut at = bounds.min.x;
    for &[from, to] in &course.air {
        let (from, to) = (from.clamp(at, bounds.max.x), to.clamp(at, bounds.max.x));
        all.push([at, from, 0.0]);
        all.push([from, to, 1.0]);
        at = to;
    }
    all.push([at, bounds.max.x, 0.0]);
    all.retain(|[from, to, _]| to - from > 1e-6 * bounds.width());
    all
}

/// Several stretches of one piece; strains are the greatest, the mean weighted by area.
fn together(mut all: Vec<(Film3, Strain)>) -> (Film3, Strain) {
    if all.len() == 1 {
        return all.remove(0);
    }
    let mut film = Film3::default();
    let mut strain = Strain { settled: true, ..Strain::default() };
    let mut area = 0.0;
    for (part, own) in all {
        let first = film.flat.len() as u32;
        let twice = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|v| part.flat[v as usize]);
            (b - a).cross(c - a)
        };
        let weight: f64 = part.triangles.iter().map(twice).sum();
        strain = Strain {
            stretch_max: strain.stretch_max.max(own.stretch_max),
            stretch_p99: strain.stretch_p99.max(own.stretch_p99),
            squeeze_max: strain.squeeze_max.min(own.squeeze_max),
            squeeze_p99: strain.squeeze_p99.min(own.squeeze_p99),
            mean_abs: strain.mean_abs + weight * own.mean_abs,
            estimate: strain.estimate.max(own.estimate),
            settled: strain.settled && own.settled,
        };
        area += weight;
        film.flat.extend(part.flat);
        film.laid.extend(part.laid);
        film.normals.extend(part.normals);
        film.stretches.extend(part.stretches);
        film.triangles.extend(part.triangles.into_iter().map(|t| t.map(|v| v + first)));
    }
    strain.mean_abs /= area.max(f64::MIN_POSITIVE);
    (film, strain)
}
