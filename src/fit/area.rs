//! A bit of the part itself as a piece: all that lies between limits, unrolled or flattened.
//!
//! The sheet it is drawn on is the part as seen by one who walks straight out from
//! the middle of the area: exact where the part unrolls. Each limit is found on a net
//! of some thousand triangles, its crossings to rounding and points between them once
//! more; limits cross as straight lines do, which is off by the sag of one triangle.
//! A long part that it goes all the way round is cut open at the seam; one that does not
//! unroll is gone round by a [`Belt`]. That either covers the area once is proved by
//! counting the area a second time, by rays.

use super::belt::{Belt, Laid};
use super::fence::{self, clearance};
use super::largest::{self, Rays};
use super::moulded::Moulded;
use super::overhang::{self, overhang};
use super::place::{self, Refusal};
use super::{Asked, Ends, fitted, refused, sampled, straight_on, unrolled};
use crate::film::{self, Settings, Wanted};
use crate::flow::{Area, Artwork, ColourId, Film3, Fit, LimitKind, Marking, Seam, Strain, View};
use crate::outline::{Outline, Point, Polyline, Region, Vector, longer_side};
use crate::surface::{Foot, Start, Surface, around, radial};
use crate::units::{Full, Length, Size};
use glam::DVec3;
use std::f64::consts::{PI, TAU};

/// Rays across each view by which the area is looked for and counted.
const RAYS: u32 = 48;
const MOST_RAYS: u32 = 400;

/// Net spacing, as a share of the greatest way out from the middle.
const SPACING: f64 = 1.0 / 28.0;

/// How far the two counts of the area may differ. Rays count edges to half a step.
const AGREE: f64 = 0.06;

/// Sectors of a turn in which a part is looked for all the way round.
const SECTORS: usize = 36;

/// What an area is bounded by.
pub struct Ground<'a> {
    pub surface: &'a dyn Surface,
    /// Limits, and whether the area is on the side where film may lie.
    sides: Vec<(&'a LimitKind, bool)>,
}

impl Ground<'_> {
    /// Positive inside, one value for each bound: limits, then the part's ends.
    fn clear(&self, bound: usize, foot: Foot) -> f64 {
        match self.sides.get(bound) {
            Some((kind, kept)) => clearance(kind, foot) * if *kept { 1.0 } else { -1.0 },
            None => -self.surface.past_ends(foot.point),
        }
    }

    /// The least of them.
    pub fn clearest(&self, foot: Foot) -> f64 {
        (0..=self.sides.len()).map(|bound| self.clear(bound, foot)).fold(f64::INFINITY, f64::min)
    }

    fn holds(&self, foot: Foot) -> bool {
        self.clearest(foot) >= 0.0
    }
}

/// Fits the area between these limits, by index, each with the side it lies on.
pub fn area(
    sides: &[(usize, bool)],
    colour: ColourId,
    marking: &Marking,
    moulded: &Moulded,
    asked: &Asked<'_>,
) -> Result<Fit<Full>, Refusal> {
    let surface = moulded.surface.as_ref();
    let limits = &moulded.part.limits;
    let ground =
        Ground { surface, sides: sides.iter().map(|&(index, kept)| (&limits[index].kind, kept)).collect() };
    let [least, most] = surface.bounds();
    // So that the smallest limit is met by a few rays; then closer, where something was met.
    let smallest = fence::smallest(&fence::fences(moulded));
    let across = (2.0 * surface.extent().max_element() / smallest).ceil();
    let seen = looked_for(&ground, [least, most], (across as u32).clamp(RAYS, MOST_RAYS));
    let corner = |fold: fn(DVec3, DVec3) -> DVec3| seen.iter().map(|(foot, _)| foot.point).reduce(fold);
    let found = match corner(DVec3::min).zip(corner(DVec3::max)) {
        Some((low, high)) => {
            let step = (most - least) / f64::from(RAYS);
            looked_for(&ground, [(low - step).max(least), (high + step).min(most)], RAYS)
        }
        None => seen,
    };
    let counted: f64 = found.iter().map(|(_, weight)| weight).sum();
    if found.is_empty() {
        let help = "look at which side each limit keeps: `beyond` is the other one";
        return Err(Refusal::new("nothing of the part lies between these limits", help));
    }
    let seam = moulded.part.seam.to_radians();
    let start = middle(&ground, &found, counted, seam)?;
    let settings = Settings { poisson: asked.film.poisson, ..Settings::default() };
    let unrolls = surface.development().is_some();
    let whole = || -> Result<(Fit<Full>, bool), Refusal> {
        let onto = |q: Point| straight_on(surface, &start, q);
        let sheet = once(on_sheet(&ground, &start, &found)?, &onto, counted)?;
        let (region, film, strain, miss) = if unrolls {
            let (film, strain) = unrolled(surface, &sheet, start)?;
            (sheet.clone(), film, strain, 0.0)
        } else {
            let wanted = Wanted { outline: &sheet, onto: &onto };
            let found = film::flatten(surface, &wanted, &start, &settings).map_err(refused)?;
            (found.flat.clone(), found.draped.film.clone(), found.draped.strain.clone(), found.miss)
        };
        let flat = Flat { outline: region.to_outline(), start, film, strain, sheet: &sheet, onto: &onto };
        let fit = flat.fit(sides, colour, marking, moulded);
        Ok((Fit { miss: Length::mm(miss), ..fit }, sheet.parts().iter().any(|part| part.rings.len() > 1)))
    };
    let opened = || -> Option<Fit<Full>> {
        let belt = Belt::new(&ground, &found, counted, seam)?;
        let onto = |q: Point| belt.foot(q);
        let sheet = once(belt.straight.clone(), &onto, counted).ok()?;
        let Laid { outline, spine, film, strain, doubled, miss } = belt.lay(&settings).ok()?;
        let flat = Flat { outline, start: belt.start(), film, strain, sheet: &sheet, onto: &onto };
        let height = Length::mm(sheet.bounds().height());
        Some(Fit {
            run: Some(Size { width: Length::mm(belt.length()), height }),
            spine,
            seam: Some(Seam { gap: Length::ZERO }),
            doubled_share: doubled,
            miss: Length::mm(miss),
            ..flat.fit(sides, colour, marking, moulded)
        })
    };
    let squeeze = |fit: &Fit<Full>| -fit.strain.squeeze_p99;
    match whole() {
        // A ring is left closed where film lies down as one.
        Ok((fit, holed)) if unrolls || !holed || squeeze(&fit) <= asked.film.plain.squeeze => Ok(fit),
        Ok((fit, _)) => {
            let better = opened().filter(|opened| squeeze(opened) < squeeze(&fit));
            Ok(better.unwrap_or(fit))
        }
        Err(refusal) if unrolls => Err(refusal),
        Err(refusal) => opened().ok_or(refusal),
    }
}

/// An area as a flat piece that is laid.
struct Flat<'a> {
    outline: Outline<Full>,
    start: Start,
    film: Film3,
    strain: Strain,
    /// The area on a sheet, and where each point of that lies on the part.
    sheet: &'a Region<Full>,
    onto: &'a dyn Fn(Point) -> Foot,
}

impl Flat<'_> {
    fn fit(
        self,
        sides: &[(usize, bool)],
        colour: ColourId,
        marking: &Marking,
        moulded: &Moulded,
    ) -> Fit<Full> {
        let (surface, limits) = (moulded.surface.as_ref(), &moulded.part.limits);
        let areas = vec![Area { colour, outline: self.outline.clone() }];
        let artwork = Artwork { areas, silhouette: self.outline, repeat: None };
        // Its own bounds are met everywhere; others it may run past.
        let named = |name: &str| sides.iter().any(|&(index, _)| limits[index].name == name);
        let others: Vec<_> = fence::fences(moulded)
            .into_iter()
            .filter(|fence| matches!(fence, fence::Fence::Limit(name, _) if !named(name)))
            .collect();
        let over = overhang(surface, &self.film, &others);
        let bounds = artwork.silhouette.bounds();
        let size = longer_side(&bounds);
        let edge = sampled(self.sheet, size / 24.0);
        let rays = if surface.development().is_some() { Rays::EXACT } else { Rays::GUESS };
        let largest_fit = match others.is_empty() {
            true => largest::MOST,
            false => largest::by_rays(rays, &edge, &|q, f| q * f, self.onto, &others, size),
        };
        let may_trim = Ends::seen_from(surface, &self.start).allowed(&marking.may_trim);
        let trimmable = overhang::only_at_ends(over.past.iter().map(|(_, area)| area), bounds, may_trim);
        fitted(artwork, self.film, self.strain, over, trimmable, largest_fit)
    }
}

/// The sheet, where it covers the area once: no more and no less of it than was counted.
fn once(sheet: Region<Full>, onto: &dyn Fn(Point) -> Foot, counted: f64) -> Result<Region<Full>, Refusal> {
    let share = covered(&sheet, onto)? / counted;
    if (share - 1.0).abs() > AGREE { Err(all_round()) } else { Ok(sheet) }
}

fn all_round() -> Refusal {
    Refusal::new(
        "it goes all the way round the part, or falls into several bits",
        "bound it by more limits, `within: [one, other]`, and make a marking of each bit",
    )
}

/// Points of the area with the bit of it that each stands for, mm²: seen from whichever side faces them best.
fn looked_for(ground: &Ground<'_>, [least, most]: [DVec3; 2], rays: u32) -> Vec<(Foot, f64)> {
    let mut found = Vec::new();
    for view in View::ALL {
        let [a, b] = [least, most].map(|corner| place::paper(view, corner));
        let low = [a[0].min(b[0]), a[1].min(b[1])];
        let step = [(a[0] - b[0]).abs(), (a[1] - b[1]).abs()].map(|side| side / f64::from(rays));
        for (i, j) in (0..rays).flat_map(|i| (0..rays).map(move |j| (i, j))) {
            let [across, up] = [(i, 0), (j, 1)].map(|(k, n)| low[n] + step[n] * (f64::from(k) + 0.5));
            let Some(foot) = place::look(ground.surface, view, across, up) else { continue };
            let facing = foot.normal.dot(view.axes()[2]);
            let best = foot.normal.abs().max_element();
            // A tie goes to the view that is asked first; rounding must not count a point twice.
            let first =
                View::ALL.iter().find(|other| foot.normal.dot(other.axes()[2]) >= best * (1.0 - 1e-9));
            if first == Some(&view) && ground.holds(foot) {
                found.push((foot, step[0] * step[1] / facing));
            }
        }
    }
    found
}

/// Where the sheet is put down: the middle of the area, on the far side from the seam where it goes all the way round.
fn middle(ground: &Ground<'_>, found: &[(Foot, f64)], area: f64, seam: f64) -> Result<Start, Refusal> {
    let mean = found.iter().map(|(foot, weight)| foot.point * (weight / area)).sum::<DVec3>();
    let mut sectors = [false; SECTORS];
    for (foot, _) in found {
        let turn = around(foot.point).rem_euclid(TAU) / TAU;
        sectors[((turn * SECTORS as f64) as usize).min(SECTORS - 1)] = true;
    }
    let is_round = ground.surface.development().is_some() && sectors.iter().all(|met| *met);
    let wanted = if is_round {
        ground.surface.at_station(mean.x, seam + PI).map_or(mean, |foot| foot.point)
    } else {
        mean
    };
    let nearest = ground.surface.project(wanted);
    let foot = if ground.holds(nearest) {
        nearest
    } else {
        let away = |foot: &Foot| (foot.point - wanted).length();
        let near = found.iter().map(|(foot, _)| *foot).min_by(|a, b| away(a).total_cmp(&away(b)));
        near.unwrap_or(nearest)
    };
    let tangent = |axis: DVec3| axis.reject_from(foot.normal).try_normalize();
    let long = |axis: &DVec3| axis.cross(foot.normal).length() > 0.5;
    let heading = [DVec3::X, DVec3::Z].into_iter().find(long).and_then(tangent);
    let heading = heading.ok_or_else(|| Refusal::new("it has no heading", "bound it otherwise"))?;
    Ok(Start { foot, heading })
}

/// The area on the sheet.
fn on_sheet(ground: &Ground<'_>, start: &Start, found: &[(Foot, f64)]) -> Result<Region<Full>, Refusal> {
    let surface = ground.surface;
    let far = found.iter().map(|(foot, _)| (foot.point - start.foot.point).length()).fold(0.0, f64::max);
    // The way over a round part is at most half a circle over the straight one.
    let reach = 1.05 * PI / 2.0 * far;
    let disc: Region<Full> = Outline::circle(Point::zero(), reach).flattened(1e-3 * reach);
    let net = film::mesh::triangulate(&disc, SPACING * reach).map_err(refused)?;
    let foot = |q: Point| straight_on(surface, start, q);
    let feet: Vec<Foot> = net.points.iter().map(|&q| foot(q)).collect();
    let bounds = ground.sides.len() + 2;
    let clear = |bound: usize, q: Point, foot: Foot| match bound <= ground.sides.len() {
        true => ground.clear(bound, foot),
        false => within_turn(surface, start, q, foot),
    };
    let mut whole = disc;
    for bound in 0..bounds {
        let values: Vec<f64> =
            net.points.iter().zip(&feet).map(|(&q, &foot)| clear(bound, q, foot)).collect();
        if values.iter().all(|value| *value >= 0.0) {
            continue;
        }
        let at = |q: Point| clear(bound, q, foot(q));
        let mut rings = Vec::new();
        for triangle in &net.triangles {
            let corners = triangle.map(|v| v as usize);
            let mut polygon: Polyline = Vec::new();
            for k in 0..3 {
                let (a, b) = (corners[k], corners[(k + 1) % 3]);
                if values[a] >= 0.0 {
                    polygon.push(net.points[a]);
                }
                if (values[a] >= 0.0) != (values[b] >= 0.0) {
                    // From the lower number to the higher, so that neighbours agree to the last bit.
                    let (a, b) = (a.min(b), a.max(b));
                    polygon.push(crossing(&at, [net.points[a], net.points[b]], [values[a], values[b]]));
                }
            }
            if polygon.len() >= 3 {
                rings.push(polygon);
            }
        }
        let inside = Region::<Full>::new(rings).cleaned();
        whole = whole.intersection(&bent(&inside, SPACING * reach, &at));
    }
    let distance = |region: &Region<Full>| match region.contains(Point::zero()) {
        true => 0.0,
        false => region.distance_to_edge(Point::zero()),
    };
    let nearest = whole.parts().into_iter().min_by(|a, b| distance(a).total_cmp(&distance(b)));
    let nearest = nearest
        .ok_or_else(|| Refusal::new("nothing of the part lies between these limits", "bound it otherwise"))?;
    // What is cut off by the sheet's own edge goes on to the far side of the part.
    if nearest.rings.iter().flatten().any(|q| q.to_vector().length() > 0.98 * reach) {
        return Err(all_round());
    }
    Ok(nearest)
}

/// Millimetres to the cut opposite the start, once round a part that unrolls; more than any length elsewhere.
fn within_turn(surface: &dyn Surface, start: &Start, q: Point, foot: Foot) -> f64 {
    /// Steps in which the turn is followed: each under half a turn, as far as a sheet reaches.
    const STEPS: u32 = 24;
    let round = surface.development().filter(|_| surface.ring(start.foot.point.x).is_some());
    let Some(development) = round else { return f64::MAX };
    let mut turned = 0.0;
    let mut last = around(start.foot.point);
    for k in 1..=STEPS {
        let next = around(development.lay(start, q * (f64::from(k) / f64::from(STEPS))).point);
        turned += (next - last + PI).rem_euclid(TAU) - PI;
        last = next;
    }
    let radius = foot.point.dot(radial(around(foot.point)));
    (PI - f64::abs(turned)) * radius
}

/// Where a bound is met between two points on either side of it: false position with halving (Illinois).
pub fn crossing(at: &dyn Fn(Point) -> f64, [a, b]: [Point; 2], [at_a, at_b]: [f64; 2]) -> Point {
    let (mut low, mut high) = ((0.0, at_a), (1.0, at_b));
    for _ in 0..24 {
        let t = if low.1.abs().max(high.1.abs()) < 1e300 {
            low.0 + (high.0 - low.0) * low.1 / (low.1 - high.1)
        } else {
            (low.0 + high.0) / 2.0
        };
        let value = at(a.lerp(b, t));
        if value == 0.0 || (high.0 - low.0).abs() < 1e-12 {
            return a.lerp(b, t);
        }
        if (value < 0.0) == (high.1 < 0.0) {
            low.1 /= 2.0;
        } else {
            low = (high.0, high.1);
        }
        high = (t, value);
    }
    a.lerp(b, high.0)
}

/// Edges along a bound with points between their ends, moved onto it.
fn bent(region: &Region<Full>, spacing: f64, at: &dyn Fn(Point) -> f64) -> Region<Full> {
    const PARTS: usize = 4;
    let near = 1e-6 * spacing;
    let on = |p: Point| at(p).abs() < near;
    let ring = |ring: &Polyline| {
        let next = ring.iter().cycle().skip(1);
        let mut bent = Polyline::new();
        for (&p, &q) in ring.iter().zip(next) {
            bent.push(p);
            let along = q - p;
            if along.length() < spacing / 8.0 || !on(p) || !on(q) {
                continue;
            }
            let side = Vector::new(-along.y, along.x) / along.length();
            let h = 1e-3 * spacing;
            bent.extend((1..PARTS).map(|k| {
                let mut m = p + along * (k as f64 / PARTS as f64);
                for _ in 0..3 {
                    let (here, there) = (at(m), at(m + side * h));
                    let by = here * h / (here - there);
                    m += side * if by.is_finite() { by.clamp(-spacing / 4.0, spacing / 4.0) } else { 0.0 };
                }
                m
            }));
        }
        bent
    };
    Region::new(region.rings.iter().map(ring).collect())
}

/// What the sheet covers on the part, mm².
fn covered(sheet: &Region<Full>, onto: &dyn Fn(Point) -> Foot) -> Result<f64, Refusal> {
    let spacing = (sheet.area() / 400.0).sqrt();
    let net = film::mesh::triangulate(sheet, spacing).map_err(refused)?;
    let feet: Vec<DVec3> = net.points.iter().map(|&q| onto(q).point).collect();
    let area = |t: &[u32; 3]| {
        let [a, b, c] = t.map(|v| feet[v as usize]);
        (b - a).cross(c - a).length() / 2.0
    };
    Ok(net.triangles.iter().map(area).sum())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::point;

    #[test]
    fn a_crossing_is_found_to_rounding() {
        let at = |q: Point| q.x * q.x - 2.0;
        let found = crossing(&at, [point(0.0, 0.0), point(3.0, 0.0)], [-2.0, 7.0]);
        assert!((found.x - 2f64.sqrt()).abs() < 1e-9, "{found:?}");
    }
}
