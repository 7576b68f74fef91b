//! Cuts in a flat piece: how they are written down, how the mesh opens along them, how their lips lie.
//!
//! A slit is a ring of the region that runs from its mouth on the outline to its
//! tip and back the same way: no area, but an edge to the mesh. Film on either side
//! of it no longer knows the other; where the part leaves too little room the lips
//! lap over each other. That the upper lip then lies on film and not on the part,
//! a film's thickness higher, is left out.

use crate::flow::Film3;
use crate::outline::{Point, Polyline, Region};
use crate::units::World;
use glam::DVec3;
use std::collections::{BTreeMap, BTreeSet};

/// `flat` with cuts, each from a point of its outline inwards; they must not meet each other or
/// another edge.
pub fn slit<W: World>(flat: &Region<W>, cuts: &[Polyline]) -> Region<W> {
    let mut rings = flat.rings.clone();
    let mut slits = Vec::new();
    for cut in cuts.iter().filter(|cut| cut.len() > 1) {
        let mut cut = cut.clone();
        cut[0] = with_corner(&mut rings, cut[0]);
        slits.push(there_and_back(&cut));
    }
    rings.extend(slits);
    Region::new(rings)
}

/// Makes the point of the rings that is nearest to `mouth` a corner of theirs.
fn with_corner(rings: &mut [Polyline], mouth: Point) -> Point {
    let mut best: Option<(f64, usize, usize, Point)> = None;
    for (r, ring) in rings.iter().enumerate() {
        for k in 0..ring.len() {
            let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
            let square = (b - a).square_length();
            let share = if square > 0.0 { ((mouth - a).dot(b - a) / square).clamp(0.0, 1.0) } else { 0.0 };
            // A corner hardly beside a corner makes a sliver.
            let at = if share < 1e-3 {
                a
            } else if share > 1.0 - 1e-3 {
                b
            } else {
                a.lerp(b, share)
            };
            let off = (mouth - at).square_length();
            if best.is_none_or(|(least, ..)| off < least) {
                best = Some((off, r, k, at));
            }
        }
    }
    let Some((_, r, k, at)) = best else { return mouth };
    let ring = &mut rings[r];
    if at != ring[k] && at != ring[(k + 1) % ring.len()] {
        ring.insert(k + 1, at);
    }
    at
}

/// The ring of a slit along `line`.
pub fn there_and_back(line: &[Point]) -> Polyline {
    let inner = line.len().saturating_sub(1).max(1);
    line.iter().chain(line[1..inner].iter().rev()).copied().collect()
}

/// Rings that bound the area, and lines along which it is slit, mouth first.
pub fn told_apart<W: World>(region: &Region<W>) -> (Vec<&Polyline>, Vec<Polyline>) {
    let back = |ring: &Polyline| {
        let n = ring.len();
        n >= 2 && n.is_multiple_of(2) && (1..n / 2).all(|k| ring[k] == ring[n - k])
    };
    let (slits, rings): (Vec<_>, Vec<_>) = region.rings.iter().partition(|ring| back(ring));
    (rings, slits.into_iter().map(|ring| ring[..=ring.len() / 2].to_vec()).collect())
}

/// Opens triangles along edges, given as points in rising order: each point on them comes once for each lip. The third
/// answer is the point that each of the new ones was.
pub fn unzipped(
    points: Vec<Point>,
    mut triangles: Vec<[u32; 3]>,
    cut: &BTreeSet<[u32; 2]>,
) -> (Vec<Point>, Vec<[u32; 3]>, Vec<u32>) {
    let on_cut: BTreeSet<u32> = cut.iter().flatten().copied().collect();
    let mut around: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for (t, triangle) in triangles.iter().enumerate() {
        for v in triangle.iter().filter(|v| on_cut.contains(v)) {
            around.entry(*v).or_default().push(t);
        }
    }
    let mut origin: Vec<u32> = (0..points.len() as u32).collect();
    let whole = triangles.clone();
    for (&v, fan) in &around {
        for lip in lips_at(v, fan, &whole, cut).into_iter().skip(1) {
            let twin = origin.len() as u32;
            origin.push(v);
            for t in lip {
                triangles[t] = triangles[t].map(|w| if w == v { twin } else { w });
            }
        }
    }
    let points = origin.iter().map(|&v| points[v as usize]).collect();
    (points, triangles, origin)
}

/// The triangles round a point, in groups that hang together by edges that are not cut.
fn lips_at(v: u32, fan: &[usize], triangles: &[[u32; 3]], cut: &BTreeSet<[u32; 2]>) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = fan.to_vec();
    let mut groups = Vec::new();
    while let Some(first) = left.pop() {
        let mut group = vec![first];
        let mut next = 0;
        while next < group.len() {
            let own = triangles[group[next]];
            let joined = |t: &usize| {
                triangles[*t]
                    .iter()
                    .any(|&w| w != v && own.contains(&w) && !cut.contains(&[v.min(w), v.max(w)]))
            };
            let (more, rest) = left.iter().partition(|t| joined(t));
            left = rest;
            group.extend::<Vec<usize>>(more);
            next += 1;
        }
        groups.push(group);
    }
    groups
}

/// Points of a mesh lie this near to the cut they were put on, as a share of its length: the outline they
/// went through is snapped to a grid. The next ones off it are some hundredths away.
const ON_LINE: f64 = 1e-4;

/// A mouth lies on the net's edge, which passes the outline by a little.
const AT_EDGE: f64 = 1e-3;

/// How far the lips of a cut lap over each other (a gap is negative), from its mouth to its tip: each
/// with its way from the mouth, mm along the flat piece.
pub fn laps(film: &Film3, cut: &[Point]) -> Vec<[f64; 2]> {
    let (Some(&mouth), Some(&tip)) = (cut.first(), cut.last()) else { return Vec::new() };
    let length = (tip - mouth).length();
    let along = (tip - mouth) / length;
    let near = ON_LINE * length;
    let place = |p: Point| {
        let way = (p - mouth).dot(along);
        ((p - mouth).cross(along).abs() < near && way > -AT_EDGE * length && way < length + near)
            .then_some(way)
    };
    // Left and right lip by their way along the cut, in steps that rounding does not tell apart.
    let mut lips: BTreeMap<i64, (f64, [Option<usize>; 2])> = BTreeMap::new();
    for triangle in &film.triangles {
        let corners = triangle.map(|v| film.flat[v as usize]);
        let middle = corners.iter().map(|p| p.to_vector()).sum::<crate::outline::Vector>() / 3.0;
        let side = usize::from(along.cross(middle - mouth.to_vector()) < 0.0);
        for (v, p) in triangle.iter().zip(corners) {
            if let Some(way) = place(p) {
                let entry = lips.entry((way / near / 4.0).round() as i64).or_insert((way, [None; 2]));
                // Beyond the lips' own triangles there are others that only touch the line with a corner.
                entry.1[side].get_or_insert(*v as usize);
            }
        }
    }
    let stops: Vec<(f64, usize, usize)> =
        lips.into_values().filter_map(|(way, [left, right])| Some((way, left?, right?))).collect();
    let lap = |k: usize| {
        let (way, left, right) = stops[k];
        let middle = |k: usize| (film.laid[stops[k].1] + film.laid[stops[k].2]) / 2.0;
        let inwards: DVec3 = middle((k + 1).min(stops.len() - 1)) - middle(k.saturating_sub(1));
        let to_left = film.normals[left].cross(inwards).normalize_or_zero();
        [way, (film.laid[right] - film.laid[left]).dot(to_left)]
    };
    (0..stops.len()).map(lap).collect()
}

#[cfg(test)]
mod tests {
    use super::super::mesh::triangulate;
    use super::*;
    use crate::outline::{Outline, point};
    use crate::units::Full;

    fn disc() -> Region<Full> {
        Outline::circle(point(0.0, 0.0), 10.0).flattened(1e-3)
    }

    #[test]
    fn a_mesh_opens_along_its_slits_and_keeps_its_area() {
        let cuts = [
            vec![point(10.0, 0.0), point(3.0, 0.0)],
            vec![point(-6.0, 8.0), point(-3.0, 4.0)],
            vec![point(0.0, -10.0), point(0.5, -6.0), point(0.0, -2.0)],
        ];
        let slit = slit(&disc(), &cuts);
        assert_eq!(told_apart(&slit).1.len(), 3);
        assert!((slit.area() - disc().area()).abs() < 1e-9);
        for spacing in [2.0, 1.0, 0.5] {
            let (whole, open) =
                (triangulate(&disc(), spacing).unwrap(), triangulate(&slit, spacing).unwrap());
            assert!((open.area() / whole.area() - 1.0).abs() < 2e-3);
            assert!(open.triangles.iter().all(|&t| open.area_of(t) > 1e-9));
            // Euler: an open disc has one edge more than points and triangles; slits change nothing in that.
            let (edges, _) = super::super::net::joined(&open.triangles, open.points.len());
            assert_eq!(open.points.len() + open.triangles.len(), edges.len() + 1);
            // Between mouth and tip a point lies on each lip, at the tip there is one.
            for cut in &cuts {
                let at = |p: Point| open.points.iter().filter(|q| (**q - p).length() < 5e-3).count();
                assert_eq!([at(cut[0]), at(cut[cut.len() - 1])], [2, 1], "{cut:?} at {spacing}");
            }
        }
    }

    #[test]
    fn laps_are_how_far_the_right_lip_lies_to_the_left_of_the_left_one() {
        // A strip slit from the right, its lips pushed 0.2 into each other at the mouth, closed at the tip.
        let strip: Region<Full> = Outline::rectangle(point(0.0, 0.0), 10.0, 4.0).flattened(1.0);
        let cut = vec![point(5.0, 0.0), point(1.0, 0.0)];
        let mesh = triangulate(&slit(&strip, std::slice::from_ref(&cut)), 0.5).unwrap();
        let mut film = Film3 {
            laid: mesh.points.iter().map(|p| DVec3::new(p.x, p.y, 0.0)).collect(),
            normals: vec![DVec3::Z; mesh.points.len()],
            stretches: vec![[1.0; 2]; mesh.triangles.len()],
            flat: mesh.points.clone(),
            triangles: mesh.triangles.clone(),
        };
        for t in &mesh.triangles {
            let above = t.iter().map(|&v| mesh.points[v as usize].y).sum::<f64>() > 0.0;
            for &v in t {
                let p = mesh.points[v as usize];
                if p.y == 0.0 && p.x > 1.0 + 1e-9 {
                    film.laid[v as usize].y = if above { -1.0 } else { 1.0 } * 0.1 * (p.x - 1.0) / 4.0;
                }
            }
        }
        let laps = laps(&film, &cut);
        assert!(laps.len() > 6, "{}", laps.len());
        for [way, lap] in laps {
            assert!((lap - 0.2 * (4.0 - way) / 4.0).abs() < 1e-9, "{way} {lap}");
        }
    }

    /// A cut at any angle has as many places on its lips: those along an axis are no better off.
    #[test]
    fn slanted_cuts_have_both_lips_from_mouth_to_tip() {
        let disc: Region<Full> = Outline::circle(point(0.0, 0.0), 190.0).flattened(4e-3);
        for degrees in [0.0f64, 17.0, 36.0, 72.0, 144.0] {
            let (sin, cos) = libm::sincos(degrees.to_radians());
            let cut = vec![point(190.0 * cos, 190.0 * sin), point(20.0 * cos, 20.0 * sin)];
            let mesh = triangulate(&slit(&disc, std::slice::from_ref(&cut)), 8.0).unwrap();
            let film = Film3 {
                laid: mesh.points.iter().map(|p| DVec3::new(p.x, p.y, 0.0)).collect(),
                normals: vec![DVec3::Z; mesh.points.len()],
                stretches: vec![[1.0; 2]; mesh.triangles.len()],
                flat: mesh.points,
                triangles: mesh.triangles,
            };
            let laps = laps(&film, &cut);
            assert!(laps.len() >= 20, "{degrees}: {}", laps.len());
            assert!(laps[0][0].abs() < 0.02 && (laps[laps.len() - 1][0] - 170.0).abs() < 1e-3, "{laps:?}");
        }
    }
}
