//! Artwork true as seen: cast along the view onto the part, and the patch it covers laid flat.
//!
//! Where the part unrolls the patch is unrolled point by point; elsewhere the
//! film solver finds the flat piece whose draped outline lands on the cast one.
//! What misses the part, is covered by a nearer bit of it, or lies on what turns
//! away from the view is left out and its share told. The border of what is left
//! out is found on a net of some thousand triangles, its crossings to rounding.

use super::fence::{self, Fence};
use super::largest::{self, Rays};
use super::moulded::Moulded;
use super::overhang::{self, overhang};
use super::place::{self, Refusal, paper};
use super::{Asked, Ends, FLATTEN, fitted, hold_point, refused, sampled, unrolled};
use crate::film::{self, Settings, Wanted};
use crate::flow::{Artwork, Film3, Fit, Marking, Spot, Strain, View};
use crate::outline::{Outline, Point, Polyline, Region, Vector, longer_side, point};
use crate::surface::{Development, Foot, Start, Surface};
use crate::units::{Full, Length};
use glam::DVec3;

/// What turns away from the view by more than 80° is not laid: a line there is already six times as
/// long on the part as it looks. Cosine. Common practice, no source.
pub const GRAZING: f64 = 0.173_648_177_666_930_35;

/// Triangles that what is seen is looked for on.
const LOOKED_AT: f64 = 4000.0;

/// Outlines are carried over in pieces of this share of the artwork's size; the sag of a piece is
/// about the square of that over 8, 8e-7.
const STEP: f64 = 1.0 / 400.0;

/// The view and how the artwork lies in it.
struct Cast<'a> {
    surface: &'a dyn Surface,
    view: View,
    /// Where the artwork's origin is seen, and the direction of its heading there.
    at: Point,
    heading: Vector,
}

impl Cast<'_> {
    /// The paper point under a point of the artwork.
    fn paper(&self, q: Point) -> Point {
        let left = Vector::new(-self.heading.y, self.heading.x);
        self.at + self.heading * q.x + left * q.y
    }

    fn seen(&self, q: Point) -> Option<Foot> {
        let p = self.paper(q);
        place::look(self.surface, self.view, p.x, p.y)
    }

    /// Where a point of the artwork lands; beside the part, its nearest point.
    fn onto(&self, q: Point) -> Foot {
        self.seen(q).unwrap_or_else(|| {
            let ([right, up, _], p) = (self.view.axes(), self.paper(q));
            self.surface.project(right * p.x + up * p.y)
        })
    }

    /// Over 0 where the part faces the view well enough.
    fn facing(&self, q: Point) -> f64 {
        self.seen(q).map_or(-1.0, |foot| foot.normal.dot(self.view.axes()[2]) - GRAZING)
    }
}

/// Fits artwork as it is seen.
pub fn sight(
    view: View,
    marking: &Marking,
    sized: &Artwork<Full>,
    moulded: &Moulded,
    asked: &Asked<'_>,
) -> Result<Fit<Full>, Refusal> {
    let surface = moulded.surface.as_ref();
    let start = place::start(moulded, &marking.spot)?;
    let ends = Ends::seen_from(surface, &start);
    let artwork = sized.mapped(|outline| outline.moved(-hold_point(marking.hold, sized, ends)));
    let cast = cast(surface, view, &marking.spot, &start)?;
    let bounds = artwork.silhouette.bounds();
    let size = longer_side(&bounds);
    let whole: Region<Full> = artwork.silhouette.flattened(FLATTEN * size);
    let seen = seen_of(&cast, &whole)?;
    let hidden_share = seen.as_ref().map_or(0.0, |seen| 1.0 - seen.area() / whole.area());
    let outline = seen.as_ref().map_or_else(|| whole.clone(), |seen| whole.intersection(seen));
    let settings = Settings { poisson: asked.film.poisson, ..Settings::default() };
    let flat = lay(&cast, &outline, &start, size, &settings)?;
    let carried = artwork.mapped(|outline: &Outline<Full>| {
        let region: Region<Full> = outline.flattened(FLATTEN * size);
        let region = seen.as_ref().map_or_else(|| region.clone(), |seen| region.intersection(seen));
        let rings = region.stepped(STEP * size).iter().map(|ring| (flat.carried)(ring)).collect();
        Region::<Full>::new(rings).to_outline()
    });
    let mut all = fence::fences(moulded);
    let over = overhang(surface, &flat.film, &all);
    let piece = carried.silhouette.bounds();
    all.push(Fence::Horizon { view, least: GRAZING, size });
    let smallest = fence::smallest(&all);
    let edge = sampled(&whole, (smallest / 2.0).max(overhang::FINEST * size).min(size / 100.0));
    let rays = Rays::over(surface).not_over(smallest, size);
    let largest_fit = largest::by_rays(rays, &edge, &|q, f| q * f, &|q| cast.landing(q), &all, size);
    let may_trim = ends.allowed(&marking.may_trim);
    let trimmable = overhang::only_at_ends(over.past.iter().map(|(_, area)| area), piece, may_trim);
    let miss = Length::mm(flat.miss);
    Ok(Fit { hidden_share, miss, ..fitted(carried, flat.film, flat.strain, over, trimmable, largest_fit) })
}

fn cast<'a>(surface: &'a dyn Surface, view: View, spot: &Spot, start: &Start) -> Result<Cast<'a>, Refusal> {
    let at = paper(view, start.foot.point);
    let heading = match *spot {
        Spot::Seen { view: own, turn, .. } | Spot::From { view: own, turn, .. } if own == view => {
            let (sin, cos) = turn.sin_cos();
            Vector::new(cos, sin)
        }
        _ => {
            let [x, y] = paper(view, start.heading);
            Vector::new(x, y)
        }
    };
    if start.foot.normal.dot(view.axes()[2]) < GRAZING || heading.length() < GRAZING {
        return Err(Refusal::new(
            format!("the hold point turns away from the view from {}", view.word()),
            "name a view that faces it: `lay: {sight: {seen: …}}`",
        ));
    }
    Ok(Cast { surface, view, at: point(at[0], at[1]), heading: heading.normalize() })
}

impl Cast<'_> {
    /// Where a point lands; what misses the part faces away.
    fn landing(&self, q: Point) -> Foot {
        self.seen(q).unwrap_or_else(|| Foot { normal: -self.view.axes()[2], ..self.onto(q) })
    }
}

/// The area that is seen; `None` where all of it is.
fn seen_of(cast: &Cast<'_>, whole: &Region<Full>) -> Result<Option<Region<Full>>, Refusal> {
    let spacing = (4.0 / 3f64.sqrt() * whole.area() / LOOKED_AT).sqrt();
    let mesh = film::mesh::triangulate(whole, spacing).map_err(refused)?;
    let facing: Vec<f64> = mesh.points.iter().map(|&q| cast.facing(q)).collect();
    let feet: Vec<DVec3> = mesh.points.iter().map(|&q| cast.onto(q).point).collect();
    // Between neighbours that both face the view the part cannot fall away further than this: else
    // a nearer bit of it stands before a farther one.
    let jumps = |a: usize, b: usize| {
        facing[a].min(facing[b]) >= 0.0
            && (feet[a] - feet[b]).length() > 2.0 / GRAZING * (mesh.points[a] - mesh.points[b]).length()
    };
    let mut lost = false;
    let mut rings = Vec::new();
    for triangle in &mesh.triangles {
        let corners = triangle.map(|v| v as usize);
        if (0..3).any(|k| jumps(corners[k], corners[(k + 1) % 3])) {
            lost = true;
            continue;
        }
        let mut polygon: Polyline = Vec::new();
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            if facing[a] >= 0.0 {
                polygon.push(mesh.points[a]);
            }
            if (facing[a] >= 0.0) != (facing[b] >= 0.0) {
                // From the lower number to the higher, so that neighbours agree to the last bit.
                polygon.push(crossing(cast, &mesh.points, a.min(b), a.max(b)));
            }
        }
        lost |= facing[corners[0]] < 0.0 || facing[corners[1]] < 0.0 || facing[corners[2]] < 0.0;
        if polygon.len() >= 3 {
            rings.push(polygon);
        }
    }
    if rings.is_empty() {
        return Err(Refusal::new(
            format!("nothing of it is seen from the {} on this part", cast.view.word()),
            "move `at` onto the part, or draw it in another view",
        ));
    }
    Ok(lost.then(|| Region::new(rings).cleaned()))
}

/// Where an edge of the net passes from what is seen to what is not: by halving, for what misses the part faces away
/// at once.
fn crossing(cast: &Cast<'_>, points: &[Point], a: usize, b: usize) -> Point {
    let (mut low, mut high) = (0.0, 1.0);
    let seen_first = cast.facing(points[a]) >= 0.0;
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if (cast.facing(points[a].lerp(points[b], middle)) >= 0.0) == seen_first {
            low = middle
        } else {
            high = middle
        }
    }
    points[a].lerp(points[b], if seen_first { low } else { high })
}

/// The flat piece and its film.
struct Laid<'a> {
    film: Film3,
    strain: Strain,
    /// Greatest distance of the laid outline from the cast one, mm.
    miss: f64,
    carried: Box<dyn Fn(&Polyline) -> Polyline + 'a>,
}

fn lay<'a>(
    cast: &'a Cast<'a>,
    outline: &Region<Full>,
    start: &'a Start,
    size: f64,
    settings: &Settings,
) -> Result<Laid<'a>, Refusal> {
    if let Some(development) = cast.surface.development() {
        let carried = move |ring: &Polyline| -> Polyline {
            ring.iter().map(|&q| unlaid(development, start, cast.onto(q).point, size)).collect()
        };
        let rings = outline.stepped(STEP * size).iter().map(&carried).collect();
        let (film, strain) = unrolled(cast.surface, &Region::new(rings), *start)?;
        return Ok(Laid { film, strain, miss: 0.0, carried: Box::new(carried) });
    }
    let onto = |q: Point| cast.onto(q);
    let wanted = Wanted { outline, onto: &onto };
    let found = film::flatten(cast.surface, &wanted, start, settings).map_err(refused)?;
    let (film, strain) = (found.draped.film.clone(), found.draped.strain.clone());
    Ok(Laid { film, strain, miss: found.miss, carried: Box::new(move |ring| found.carried(ring)) })
}

/// The flat point that is laid on `target`: Newton's method, for a development keeps lengths.
fn unlaid(development: &dyn Development, start: &Start, target: DVec3, size: f64) -> Point {
    let plane = |off: DVec3, x: DVec3, y: DVec3| Vector::new(off.dot(x), off.dot(y));
    let mut q = plane(target - start.foot.point, start.heading, start.left()).to_point();
    let h = 1e-5 * size;
    for _ in 0..60 {
        let here = development.lay(start, q);
        let step = |by: Vector| (development.lay(start, q + by).point - here.point).normalize_or_zero();
        let (x, y) = (step(Vector::new(h, 0.0)), step(Vector::new(0.0, h)));
        let by = plane(target - here.point, x, y);
        q += by;
        if by.length() <= 1e-12 * size {
            break;
        }
    }
    q
}
