//! How far a laid film runs past the limits of its part.
//!
//! Each limit is carried to the flat piece: where its clearance changes sign
//! along an edge of the triangulated film, the crossing is found on the part
//! itself; between crossings the trim line is straight. What it gets wrong is
//! the sag of the line inside one triangle, h²/8R for edges of length h.

use super::fence::Fence;
use super::refined::Refined;
use crate::flow::Film3;
use crate::outline::region::distance_to_segment;
use crate::outline::{Point, Polyline, Region, longer_side};
use crate::surface::Surface;
use crate::units::Full;
use std::collections::BTreeMap;

/// The share of a piece's size that is let pass as overhang: 1 mm on a 5 m stripe,
/// a hundredth of what a blade can follow on the model. Keeps rounding from turning a
/// piece that just touches a limit into one that is too large.
pub const SLACK: f64 = 2e-4;

/// Film is looked at this finely where a limit crosses it, as a share of the piece's size:
/// 2 mm on a stripe of 1 m, 0.04 mm of it at 1/48. A smaller hatch could be missed.
pub const FINEST: f64 = 2e-3;

/// What runs past the limits of a part.
#[derive(Debug)]
pub struct Overhang {
    /// Greatest way, along the flat piece, from film past a limit back to the trim line, mm.
    pub distance: f64,
    /// Area past any limit over the whole area.
    pub share: f64,
    /// All film past any limit.
    pub area: Region<Full>,
    pub trim: Vec<Polyline>,
    /// Names of the limits passed, each with its flat area beyond.
    pub past: Vec<(String, Region<Full>)>,
}

/// Measures the overhang of `film` past `fences`.
pub fn overhang(surface: &dyn Surface, film: &Film3, fences: &[Fence<'_>]) -> Overhang {
    let size = extent(&film.flat);
    let mut found =
        Overhang { distance: 0.0, share: 0.0, area: Region::empty(), trim: Vec::new(), past: Vec::new() };
    let mut lines = Vec::new();
    for fence in fences {
        let Some(beyond) = past(surface, film, fence, size) else { continue };
        if beyond.distance <= SLACK * size {
            continue;
        }
        found.distance = found.distance.max(beyond.distance);
        lines.push(beyond.trim);
        found.past.push((fence.name().to_owned(), beyond.area));
    }
    // A line on film that another limit takes away is no line to cut along.
    for (k, lines) in lines.into_iter().enumerate() {
        let gone = |line: &Polyline| {
            let others = found.past.iter().enumerate().filter(|(other, _)| *other != k);
            others.into_iter().any(|(_, (_, area))| within(line, area, SLACK * size))
        };
        found.trim.extend(lines.into_iter().filter(|line| !gone(line)));
    }
    found.area = found.past.iter().fold(Region::empty(), |sum, (_, area)| sum.union(area));
    let whole: f64 = film.triangles.iter().map(|triangle| flat_area(film, *triangle)).sum();
    found.share = if whole > 0.0 { (found.area.area() / whole).min(1.0) } else { 0.0 };
    found
}

/// The greater side of the box round some points, mm.
pub fn extent(points: &[Point]) -> f64 {
    let bounds = crate::outline::Bounds::from_points(points.iter().copied());
    longer_side(&bounds)
}

/// Whether a line lies inside an area, nowhere nearer than `margin` mm to its edge.
fn within(line: &Polyline, area: &Region<Full>, margin: f64) -> bool {
    let middles = line.windows(2).map(|pair| pair[0].lerp(pair[1], 0.5));
    // The ends of a line that goes right across lie on the piece's own edge.
    let inner = line.iter().copied().skip(1).take(line.len().saturating_sub(2)).chain(middles);
    inner.into_iter().all(|p| area.contains(p) && area.distance_to_edge(p) > margin)
}

struct Beyond {
    distance: f64,
    trim: Vec<Polyline>,
    area: Region<Full>,
}

fn past(surface: &dyn Surface, film: &Film3, fence: &Fence<'_>, size: f64) -> Option<Beyond> {
    let film = Refined::new(surface, film, fence, size * FINEST);
    let clear = &film.clear;
    if film.least() >= 0.0 {
        return None;
    }
    let mut crossings = BTreeMap::new();
    let mut links: BTreeMap<(u32, u32), Vec<(u32, u32)>> = BTreeMap::new();
    let mut rings = Vec::new();
    for &triangle in &film.triangles {
        let mut polygon = Vec::new();
        let mut ends = Vec::new();
        for k in 0..3 {
            let (a, b) = (triangle[k], triangle[(k + 1) % 3]);
            if clear[a as usize] < 0.0 {
                polygon.push(film.flat[a as usize]);
            }
            if (clear[a as usize] < 0.0) != (clear[b as usize] < 0.0) {
                let edge = (a.min(b), a.max(b));
                let at = *crossings.entry(edge).or_insert_with(|| crossing(surface, &film, fence, edge));
                polygon.push(at);
                ends.push(edge);
            }
        }
        if polygon.len() >= 3 {
            rings.push(polygon);
        }
        if let [one, two] = ends[..] {
            links.entry(one).or_default().push(two);
            links.entry(two).or_default().push(one);
        }
    }
    let chained = chains(&links, &crossings);
    let trim: Vec<Polyline> = chained.iter().map(|line| thinned(line, SLACK / 4.0 * size)).collect();
    let distance = if trim.is_empty() { -film.least() } else { deepest(&rings, &trim, SLACK / 2.0 * size) };
    Some(Beyond { distance, trim, area: Region::new(rings).cleaned() })
}

/// The greatest way from any point of some convex polygons to the trim line, to `tolerance` mm.
///
/// Triangles are quartered as long as they could hold a deeper point than the deepest
/// corner so far: no point lies further from the line than a corner does by more than
/// its way to that corner.
fn deepest(polygons: &[Vec<Point>], trim: &[Polyline], tolerance: f64) -> f64 {
    let to_line = |p: Point| {
        let steps = trim.iter().flat_map(|line| line.windows(2));
        steps.map(|pair| distance_to_segment(p, pair[0], pair[1])).fold(f64::INFINITY, f64::min)
    };
    let fan = |polygon: &Vec<Point>| {
        let ways: Vec<(Point, f64)> = polygon.iter().map(|&p| (p, to_line(p))).collect();
        (2..ways.len()).map(move |k| [ways[0], ways[k - 1], ways[k]]).collect::<Vec<_>>()
    };
    let mut open: Vec<[(Point, f64); 3]> = polygons.iter().flat_map(fan).collect();
    let mut best = open.iter().flatten().map(|corner| corner.1).fold(0.0, f64::max);
    while let Some(triangle) = open.pop() {
        let [a, b, c] = triangle.map(|corner| corner.0);
        let longest = [(b - a).length(), (c - b).length(), (a - c).length()].into_iter().fold(0.0, f64::max);
        let [least, most] = triangle.iter().fold([f64::INFINITY, 0.0], |[least, most], corner| {
            [f64::min(least, corner.1), f64::max(most, corner.1)]
        });
        // Any point is within the longest edge of every corner, and within 1/√3 of it of the nearest one.
        let bound = f64::min(least + longest, most + longest / 3f64.sqrt());
        if bound <= best + tolerance {
            continue;
        }
        let middle = |p: Point, q: Point| {
            let m = p.lerp(q, 0.5);
            (m, to_line(m))
        };
        let [ab, bc, ca] = [middle(a, b), middle(b, c), middle(c, a)];
        best = [ab, bc, ca].iter().map(|corner| corner.1).fold(best, f64::max);
        let [a, b, c] = triangle;
        open.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
    }
    best
}

/// The point of a film edge that lies on the fence: three rounds of false position on the part.
fn crossing(surface: &dyn Surface, film: &Refined, fence: &Fence<'_>, edge: (u32, u32)) -> Point {
    let (a, b) = (edge.0 as usize, edge.1 as usize);
    let (mut low, mut high) = ((0.0, film.clear[a]), (1.0, film.clear[b]));
    let root = |low: (f64, f64), high: (f64, f64)| low.0 + (high.0 - low.0) * low.1 / (low.1 - high.1);
    for _ in 0..3 {
        let t = root(low, high);
        let value = fence.clearance(surface.project(film.laid[a].lerp(film.laid[b], t)));
        if (value < 0.0) == (low.1 < 0.0) { low = (t, value) } else { high = (t, value) }
    }
    film.flat[a].lerp(film.flat[b], root(low, high))
}

/// Joins crossings that share a triangle into lines, open ones first from their ends.
fn chains(links: &BTreeMap<(u32, u32), Vec<(u32, u32)>>, at: &BTreeMap<(u32, u32), Point>) -> Vec<Polyline> {
    let mut seen = std::collections::BTreeSet::new();
    let mut lines = Vec::new();
    let open_ends = links.iter().filter(|(_, next)| next.len() == 1).map(|(edge, _)| *edge);
    for first in open_ends.chain(links.keys().copied()) {
        if seen.contains(&first) {
            continue;
        }
        let mut line = Vec::new();
        let mut here = Some(first);
        while let Some(edge) = here {
            seen.insert(edge);
            line.push(at[&edge]);
            here = links[&edge].iter().copied().find(|next| !seen.contains(next));
        }
        let closed = line.len() > 2 && links[&first].len() == 2;
        if closed {
            line.push(line[0]);
        }
        lines.push(line);
    }
    lines
}

/// The line without the corners that lie nearer than `tolerance` mm to where it would run without
/// them: Douglas and Peucker, *The Canadian Cartographer* 10 (1973) 112.
fn thinned(line: &[Point], tolerance: f64) -> Polyline {
    let (Some(&first), Some(&last)) = (line.first(), line.last()) else { return Vec::new() };
    let mut kept = vec![first];
    // Stretches still to be looked at, the nearest on top.
    let mut open = vec![(0, line.len() - 1)];
    while let Some((from, to)) = open.pop() {
        let way = |k: usize| distance_to_segment(line[k], line[from], line[to]);
        let furthest = (from + 1..to).max_by(|&a, &b| way(a).total_cmp(&way(b)));
        match furthest {
            Some(k) if way(k) > tolerance => open.extend([(k, to), (from, k)]),
            _ if to > from => kept.push(line[to]),
            _ => {}
        }
    }
    debug_assert_eq!(kept.last(), Some(&last));
    kept
}

fn flat_area(film: &Film3, triangle: [u32; 3]) -> f64 {
    let [a, b, c] = triangle.map(|k| film.flat[k as usize]);
    (b - a).cross(c - a) / 2.0
}

/// Whether everything in `areas` lies at an end of a piece that may be trimmed there.
///
/// An area counts as an end when it reaches the end's edge, stays clear of the other end,
/// and either takes in the whole width or is no longer than the piece is wide: a trimmed
/// corner is an end, a trimmed side is not.
pub fn only_at_ends<'a>(
    areas: impl Iterator<Item = &'a Region<Full>>,
    piece: crate::outline::Bounds,
    may_trim: [bool; 2],
) -> bool {
    let near = 1e-3 * piece.width();
    let at_end = |area: &Region<Full>| {
        let bounds = area.bounds();
        let reaches = [bounds.min.x <= piece.min.x + near, bounds.max.x >= piece.max.x - near];
        let whole_width = bounds.height() >= 0.99 * piece.height() || bounds.width() <= piece.height();
        whole_width && reaches[0] != reaches[1] && (0..2).all(|k| !reaches[k] || may_trim[k])
    };
    areas.flat_map(Region::parts).all(|area| area.area() < near * near || at_end(&area))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::LimitKind;
    use crate::outline::point;
    use crate::surface::{Development, Plate, Start, Surface};
    use crate::units::Length;
    use glam::DVec3;

    /// A right-angled triangle on a plate, past a line: overhang and share by plane geometry.
    #[test]
    fn the_deepest_point_of_a_square_hatch_is_its_middle() {
        let square = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)];
        let mut line: Polyline = square.map(|(x, y)| point(x, y)).to_vec();
        let found = deepest(
            &[line.clone()],
            &[{
                line.push(line[0]);
                line
            }],
            0.01,
        );
        assert!((found - 50.0).abs() < 0.02, "{found}");
    }

    #[test]
    fn a_triangle_past_a_line() {
        let plate = Plate::new(100.0, 100.0, crate::flow::View::Top);
        let start = Start { foot: plate.project(DVec3::ZERO), heading: DVec3::X };
        let flat = vec![point(0.0, 0.0), point(10.0, 0.0), point(0.0, 10.0)];
        let feet: Vec<_> = flat.iter().map(|&q| plate.lay(&start, q)).collect();
        let film = Film3 {
            laid: feet.iter().map(|foot| foot.point).collect(),
            normals: feet.iter().map(|foot| foot.normal).collect(),
            triangles: vec![[0, 1, 2]],
            stretches: vec![[1.0, 1.0]],
            flat,
        };
        let kind = LimitKind::Plane {
            axis: crate::flow::Direction::Aft,
            offset: Length::mm(6.0),
            keep_greater: false,
        };
        let found = overhang(&plate, &film, &[Fence::Ends(&plate), Fence::Limit("line", &kind)]);
        assert!((found.distance - 4.0).abs() < 1e-9);
        assert!((found.share - 0.16).abs() < 1e-9, "a triangle of 4 in one of 10");
        assert_eq!(found.past[0].0, "line");
        let line = &found.trim[0];
        assert!(line.iter().all(|p| (p.x - 6.0).abs() < 1e-9) && (line[0] - line[1]).length() > 3.99);
        assert_eq!(found.trim.len(), 1);
        let nearer = LimitKind::Plane {
            axis: crate::flow::Direction::Aft,
            offset: Length::mm(4.0),
            keep_greater: false,
        };
        let both = overhang(&plate, &film, &[Fence::Limit("line", &kind), Fence::Limit("nearer", &nearer)]);
        assert_eq!((both.past.len(), both.trim.len()), (2, 1), "only the nearer line is cut along");
        assert!(both.trim[0].iter().all(|p| (p.x - 4.0).abs() < 1e-9));
        assert_eq!(line.len(), 2, "a straight line has two ends and nothing between");
    }
}
