//! A part given by its mesh: read, mended, and smooth between its corners.
//!
//! A mesh is a sampling of a curved part, and film laid on it must not feel the
//! facets. So each triangle carries a quadratic patch through its corners, and
//! the normal is interpolated from the corners. `project` finds the point of
//! that sheet under which `p` lies along the interpolated normal (D. Panozzo et
//! al., *Weighted Averages on Surfaces*, ACM TOG 32:60, 2013): begun at the
//! nearest flat triangle and walked across smooth edges, it moves continuously
//! with `p`, as the nearest point of a polyhedron does not. Against the shape that
//! was sampled the sheet errs by the third power of the triangles' size, where
//! the corners' normals are right to the second.
//!
//! Sharp edges stay sharp: from outside a normal fans out over them. Past an
//! open edge the sheet goes on straight in its tangent plane.

mod error;
mod mend;
mod obj;
mod shade;
mod soup;
mod stl;
mod unit;

pub use error::MeshError;
pub use mend::Facts;
pub use soup::{MOST_TRIANGLES, Soup, read};
pub use unit::{Placing, UnitDoubt, Way, unit_doubt};

use super::bvh::{Bvh, around_points};
use super::{Foot, Surface, ray};
use glam::{DMat2, DMat3, DVec2, DVec3};
use mend::{NONE, Sheet};
use shade::{MOST_BULGE, Patch, Shade};

/// Below this share of the size a distance is rounding.
const ROUNDING: f64 = 1e-12;

/// Triangles that the walk from the nearest flat one may cross, and steps inside one; it takes
/// one or two of either, more on rough scans.
const MOST_STEPS: usize = 60;

/// A walk that comes back over sides more often than this goes in circles: the mesh is folded there.
const MOST_RETURNS: usize = 3;

#[derive(Clone, Debug)]
pub struct Mesh {
    sheet: Sheet,
    shade: Shade,
    tree: Bvh,
    /// The open edges as (triangle, side), and a tree over them.
    rims: Vec<(u32, u8)>,
    rim_tree: Bvh,
    bounds: [DVec3; 2],
    size: f64,
}

/// A place on the sheet.
#[derive(Clone, Copy, Debug)]
struct Spot {
    triangle: usize,
    /// Barycentric coordinates.
    b: [f64; 3],
    /// The side it is held by, where that cannot be crossed.
    held: Option<usize>,
}

impl Mesh {
    /// Mends a soup, brings it into the part's frame at full size and makes it smooth.
    ///
    /// # Errors
    /// No triangle with an area, a surface with one side only, wrong axes or unit.
    pub fn new(mut soup: Soup, placing: &Placing) -> Result<Self, MeshError> {
        placing.apply(&mut soup.points)?;
        let sheet = mend::mend(soup)?;
        let shade = Shade::new(&sheet);
        let corners = |t: &[u32; 3]| t.map(|i| sheet.points[i as usize]);
        let boxes: Vec<_> = sheet.triangles.iter().map(|t| around_points(corners(t))).collect();
        let rims: Vec<(u32, u8)> = (0..sheet.triangles.len())
            .flat_map(|f| (0..3).map(move |side| (f, side)))
            .filter(|&(f, side)| sheet.open[f][side])
            .map(|(f, side)| (f as u32, side as u8))
            .collect();
        let rim = |&(f, side): &(u32, u8)| {
            let p = corners(&sheet.triangles[f as usize]);
            around_points([p[side as usize], p[(side as usize + 1) % 3]])
        };
        let rim_tree = Bvh::new(&rims.iter().map(rim).collect::<Vec<_>>());
        let bounds = around_points(sheet.triangles.iter().flat_map(corners));
        let size = (bounds[1] - bounds[0]).length();
        Ok(Self { tree: Bvh::new(&boxes), rims, rim_tree, bounds, size, sheet, shade })
    }

    /// What the mesh is like and what was mended.
    pub const fn facts(&self) -> Facts {
        self.sheet.facts
    }

    fn corners(&self, triangle: usize) -> [DVec3; 3] {
        self.sheet.triangles[triangle].map(|i| self.sheet.points[i as usize])
    }

    fn patch(&self, triangle: usize) -> Patch {
        self.shade.patch(&self.sheet, triangle)
    }

    /// The nearest place on the flat triangles.
    fn nearest_flat(&self, p: DVec3) -> Spot {
        let mut found = Spot { triangle: 0, b: [1.0, 0.0, 0.0], held: None };
        self.tree.nearest(p, f64::INFINITY, |triangle, best| {
            let corners = self.corners(triangle);
            let b = nearest_in_triangle(p, corners);
            let square = (at(corners, b) - p).length_squared();
            if square < best {
                found = Spot { triangle, b, held: None };
            }
            square.min(best)
        });
        found
    }

    /// The place under which `p` lies along the normal, or the one on a sharp or open edge nearest to it.
    fn locate(&self, p: DVec3) -> Spot {
        let start = self.nearest_flat(p);
        self.walk(start, p).unwrap_or_else(|| self.search(start, p))
    }

    /// From triangle to triangle across smooth edges; none where that leads to a sharp edge or in circles.
    fn walk(&self, mut spot: Spot, p: DVec3) -> Option<Spot> {
        // A first long step may lead over a side that the next one comes back over, once.
        let (mut came_from, mut returns) = (NONE, 0);
        for _ in 0..MOST_STEPS {
            match newton(&self.patch(spot.triangle), spot.b, p)? {
                Reached::Inside(b) => return Some(Spot { b, ..spot }),
                Reached::Side(side, b) => {
                    let across = self.sheet.across[spot.triangle][side];
                    if self.sheet.open[spot.triangle][side] {
                        return Some(self.on_edge(spot.triangle, side, p));
                    }
                    returns += usize::from(across == came_from);
                    if across == NONE || returns > MOST_RETURNS || !self.is_smooth(spot.triangle, side) {
                        return None;
                    }
                    came_from = spot.triangle as u32;
                    spot = self.moved_across(&Spot { b, ..spot }, side, across as usize);
                }
            }
        }
        None
    }

    /// The nearest of the places that triangles round about have to offer: one that `p` lies over,
    /// if there is any not much farther off than the nearest one on an edge.
    fn search(&self, start: Spot, p: DVec3) -> Spot {
        let distance = |spot: &Spot| (self.patch(spot.triangle).at(spot.b).0 - p).length();
        // A patch may stand out this far from its flat triangle, in whose box it is looked for.
        let margin = MOST_BULGE * self.longest_side(start.triangle);
        let first = self.in_triangle(start.triangle, start.b, p);
        let (mut edge, mut over) = ((distance(&first), first), (f64::INFINITY, first));
        let reach = |off: f64| (off + margin) * (off + margin);
        self.tree.nearest(p, reach(edge.0), |triangle, _| {
            let spot = self.in_triangle(triangle, nearest_in_triangle(p, self.corners(triangle)), p);
            let best = if spot.held.is_some() { &mut edge } else { &mut over };
            let off = distance(&spot);
            if off < best.0 {
                *best = (off, spot);
            }
            reach(edge.0)
        });
        if over.0 <= edge.0 + margin {
            return over.1;
        }
        let across = |side: usize| self.sheet.across[edge.1.triangle][side] != NONE;
        let smooth = |side: usize| across(side) && self.is_smooth(edge.1.triangle, side);
        Spot { held: edge.1.held.filter(|&side| !smooth(side)), ..edge.1 }
    }

    /// The place in one triangle under which `p` lies along the normal, or the nearest on its sides.
    fn in_triangle(&self, triangle: usize, mut b: [f64; 3], p: DVec3) -> Spot {
        let patch = self.patch(triangle);
        let mut last = Spot { triangle, b, held: None };
        for _ in 0..3 {
            match newton(&patch, b, p) {
                Some(Reached::Inside(b)) => return Spot { triangle, b, held: None },
                Some(Reached::Side(side, _)) => last = self.on_edge(triangle, side, p),
                None => break,
            }
            // From the side's nearest place the way may lead in again, or out over another side.
            b = last.b;
        }
        last
    }

    fn longest_side(&self, triangle: usize) -> f64 {
        let [a, b, c] = self.corners(triangle);
        (b - a).length().max((c - b).length()).max((a - c).length())
    }

    fn is_smooth(&self, triangle: usize, side: usize) -> bool {
        let other = self.sheet.across[triangle][side] as usize;
        let names = self.shade.corners[triangle];
        [side, (side + 1) % 3].iter().all(|&k| self.shade.corners[other].contains(&names[k]))
    }

    /// The same place of an edge as one of the triangle across it.
    fn moved_across(&self, spot: &Spot, side: usize, other: usize) -> Spot {
        let mut b = [0.0; 3];
        for k in [side, (side + 1) % 3] {
            let corner = self.sheet.triangles[spot.triangle][k];
            if let Some(j) = self.sheet.triangles[other].iter().position(|&i| i == corner) {
                b[j] = spot.b[k];
            }
        }
        Spot { triangle: other, b, held: None }
    }

    /// The nearest place on a side's curve.
    fn on_edge(&self, triangle: usize, side: usize, p: DVec3) -> Spot {
        let patch = self.patch(triangle);
        let place = |t: f64| {
            let mut b = [0.0; 3];
            (b[side], b[(side + 1) % 3]) = (1.0 - t, t);
            b
        };
        let chord = patch.corners[(side + 1) % 3] - patch.corners[side];
        let mut t = ((p - patch.corners[side]).dot(chord) / chord.length_squared()).clamp(0.0, 1.0);
        for _ in 0..20 {
            let (point, by) = patch.at(place(t));
            // From corner `side` to the next: the derivative along the side.
            let along = match side {
                0 => by[0],
                1 => by[1] - by[0],
                _ => -by[1],
            };
            let next = (t + (p - point).dot(along) / along.length_squared()).clamp(0.0, 1.0);
            let still = (next - t).abs() <= f64::EPSILON;
            t = next;
            if still {
                break;
            }
        }
        Spot { triangle, b: place(t), held: Some(side) }
    }

    fn on(&self, spot: &Spot) -> Foot {
        let patch = self.patch(spot.triangle);
        Foot { point: patch.at(spot.b).0, normal: patch.normal(spot.b).normalize() }
    }

    fn is_open(&self, spot: &Spot) -> bool {
        spot.held.is_some_and(|side| self.sheet.open[spot.triangle][side])
    }

    /// The foot of `p` at its place: fanned out over a sharp edge, straight on past an open one.
    fn foot(&self, spot: &Spot, p: DVec3) -> Foot {
        let on = self.on(spot);
        let off = p - on.point;
        match spot.held {
            None => on,
            Some(_) if self.is_open(spot) => Foot { point: p - on.normal * off.dot(on.normal), ..on },
            Some(side) => Foot { normal: self.fanned(spot, side, on.normal, off), ..on },
        }
    }

    /// The normal on a sharp edge: the way to the point it is seen from where that lies between
    /// the normals of both sides, else halfway between them.
    fn fanned(&self, spot: &Spot, side: usize, here: DVec3, off: DVec3) -> DVec3 {
        let across = self.sheet.across[spot.triangle][side];
        if across == NONE {
            return here;
        }
        let there = self.on(&self.moved_across(spot, side, across as usize)).normal;
        let half = (here + there).normalize_or(here);
        if off.length() <= ROUNDING.sqrt() * self.size {
            return half;
        }
        let seen = off.normalize() * off.dot(half).signum();
        if seen.dot(half) >= here.dot(half) { seen } else { half }
    }

    fn rim_distance(&self, p: DVec3) -> f64 {
        let mut found = f64::INFINITY;
        self.rim_tree.nearest(p, f64::INFINITY, |index, best| {
            let (triangle, side) = self.rims[index];
            let corners = self.corners(triangle as usize);
            let (a, b) = (corners[side as usize], corners[(side as usize + 1) % 3]);
            let share = ((p - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
            found = best.min((a.lerp(b, share) - p).length_squared());
            found
        });
        found.sqrt()
    }
}

impl Surface for Mesh {
    fn mended(&self) -> Option<String> {
        self.facts().words()
    }

    fn project(&self, p: DVec3) -> Foot {
        self.foot(&self.locate(p), p)
    }

    /// Interpolated from the corners; past an open edge nothing bends across the edge.
    fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
        let spot = self.locate(foot.point);
        let names = self.shade.corners[spot.triangle];
        let form = (0..3).fold(DMat3::ZERO, |sum, k| sum + self.shade.forms[names[k] as usize] * spot.b[k]);
        let past = if self.is_open(&spot) { foot.point - self.on(&spot).point } else { DVec3::ZERO };
        let kept = match past.try_normalize() {
            Some(way) if past.length() > ROUNDING * self.size => t.map(|t| t.reject_from_normalized(way)),
            _ => t,
        };
        let value = |a: DVec3, b: DVec3| a.dot(form * b);
        [value(kept[0], kept[0]), value(kept[0], kept[1]), value(kept[1], kept[1])]
    }

    /// The first flat triangle met from outside, then to the curved sheet along the ray.
    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        let direction = direction.try_normalize()?;
        let mut first = f64::INFINITY;
        self.tree.along(origin, direction, f64::INFINITY, |triangle, best| {
            first = best.min(ray_in_triangle(origin, direction, self.corners(triangle)).unwrap_or(best));
            first
        });
        first.is_finite().then(|| {
            let met = ray::newton(self, origin, direction, first, self.size).unwrap_or(first);
            self.project(origin + direction * met)
        })
    }

    /// Inside, the distance to the nearest open edge as the crow flies.
    fn past_ends(&self, p: DVec3) -> f64 {
        if self.rims.is_empty() {
            return f64::NEG_INFINITY;
        }
        let spot = self.locate(p);
        let foot = self.foot(&spot, p);
        if self.is_open(&spot) {
            (foot.point - self.on(&spot).point).length()
        } else {
            -self.rim_distance(foot.point)
        }
    }

    fn bounds(&self) -> [DVec3; 2] {
        self.bounds
    }
}

fn at(corners: [DVec3; 3], b: [f64; 3]) -> DVec3 {
    corners[0] * b[0] + corners[1] * b[1] + corners[2] * b[2]
}

/// The change of barycentric coordinates that brings the patch's point under `p` along the
/// normal: Gauss-Newton on the part of p - P(b) across N(b), whose derivative is -(∂P + h ∂N).
/// None at a centre of curvature, where any way is as good as another.
fn newton_step(patch: &Patch, b: [f64; 3], p: DVec3) -> Option<[f64; 3]> {
    let (point, by) = patch.at(b);
    let normal = patch.normal(b);
    let square = normal.length_squared();
    let off = p - point;
    let height = off.dot(normal) / square;
    let across = |v: DVec3| v - normal * (v.dot(normal) / square);
    let [u, v] = [0, 1].map(|k| across(by[k] + (patch.normals[k + 1] - patch.normals[0]) * height));
    let r = across(off);
    let m = DMat2::from_cols_array(&[u.dot(u), u.dot(v), u.dot(v), v.dot(v)]);
    if m.determinant() <= 1e-12 * by[0].length_squared() * by[1].length_squared() {
        return None;
    }
    let step = m.inverse() * DVec2::new(r.dot(u), r.dot(v));
    Some([-step.x - step.y, step.x, step.y])
}

/// Newton stands still when the coordinates change by less: a small triangle far from the origin has
/// no more digits.
const STILL: f64 = 1e-12;

/// Where Newton's way ends.
enum Reached {
    Inside([f64; 3]),
    /// On a side, on the way out.
    Side(usize, [f64; 3]),
}

/// Newton's way from `b` until it stands still or leaves the triangle; none if it does neither.
fn newton(patch: &Patch, mut b: [f64; 3], p: DVec3) -> Option<Reached> {
    for _ in 0..MOST_STEPS {
        let step = newton_step(patch, b, p)?;
        let next: [f64; 3] = std::array::from_fn(|k| b[k] + step[k]);
        // Rounding is no way out: a place on a side may be a hair outside.
        let out = (0..3).filter(|&k| next[k] < -1e-13 && step[k] < 0.0);
        let exit = out.map(|k| (k, (b[k] / -step[k]).clamp(0.0, 1.0))).min_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((corner, share)) = exit {
            let mut b: [f64; 3] = std::array::from_fn(|k| (b[k] + share * step[k]).max(0.0));
            b[corner] = 0.0;
            let sum: f64 = b.iter().sum();
            return Some(Reached::Side((corner + 1) % 3, b.map(|b| b / sum)));
        }
        b = next;
        if step.iter().all(|s| s.abs() <= STILL) {
            return Some(Reached::Inside(b));
        }
    }
    None
}

/// Barycentric coordinates of the nearest point (C. Ericson, *Real-Time Collision Detection*, section 5.1.5).
fn nearest_in_triangle(p: DVec3, [a, b, c]: [DVec3; 3]) -> [f64; 3] {
    let (ab, ac) = (b - a, c - a);
    let (d1, d2) = (ab.dot(p - a), ac.dot(p - a));
    let (d3, d4) = (ab.dot(p - b), ac.dot(p - b));
    let (d5, d6) = (ab.dot(p - c), ac.dot(p - c));
    if d1 <= 0.0 && d2 <= 0.0 {
        return [1.0, 0.0, 0.0];
    }
    if d3 >= 0.0 && d4 <= d3 {
        return [0.0, 1.0, 0.0];
    }
    if d6 >= 0.0 && d5 <= d6 {
        return [0.0, 0.0, 1.0];
    }
    let (va, vb, vc) = (d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2);
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        let t = d1 / (d1 - d3);
        return [1.0 - t, t, 0.0];
    }
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        let t = d2 / (d2 - d6);
        return [1.0 - t, 0.0, t];
    }
    if va <= 0.0 && d4 >= d3 && d5 >= d6 {
        let t = (d4 - d3) / (d4 - d3 + d5 - d6);
        return [0.0, 1.0 - t, t];
    }
    let sum = va + vb + vc;
    [va / sum, vb / sum, vc / sum]
}

/// Where a ray enters a triangle from outside (T. Möller and B. Trumbore, *Fast, Minimum Storage
/// Ray/Triangle Intersection*, 1997). Edges belong to both neighbours, so that nothing slips through.
fn ray_in_triangle(origin: DVec3, direction: DVec3, [a, b, c]: [DVec3; 3]) -> Option<f64> {
    let (ab, ac) = (b - a, c - a);
    let across = direction.cross(ac);
    let facing = ab.dot(across);
    if facing <= 0.0 {
        return None;
    }
    let from = origin - a;
    let u = from.dot(across);
    let turned = from.cross(ab);
    let v = direction.dot(turned);
    let hair = -1e-12 * facing;
    let t = ac.dot(turned) / facing;
    (u >= hair && v >= hair && u + v <= facing - hair && t >= 0.0).then_some(t)
}
