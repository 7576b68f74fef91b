//! Drawn shapes and meshes as faces and edges.
//!
//! A drawn shape is sampled over its [`Grid`]; where the normals of neighbours
//! part by more than a few degrees there is an edge. A mesh that is finer than a
//! picture can show is thinned: corners in one cell of a lattice become one.

use super::laid::Landing;
use super::part::{Face, Solid, outward, tessellated};
use crate::flow::Soup;
use crate::surface::grid::Grid;
use glam::DVec3;
use std::collections::BTreeMap;

/// Sides that meet at more than this, as the cosine of 20°, meet in an edge.
const EDGE: f64 = 0.94;
/// Normals are asked for this share of a cell away from its corners, so that an edge has two.
const ASIDE: f64 = 1e-4;
/// Cells of the lattice along a mesh's longest side, and the triangles that a picture shows as they are.
const CELLS: f64 = 40.0;
const MOST_FACES: usize = 4000;

/// A shape over its grid.
pub fn drawn(grid: &Grid) -> Solid {
    let net = Net::new(grid);
    let mut solid = Solid { bulges: false, ..Solid::default() };
    for i in 0..net.rows {
        for j in 0..net.columns {
            let corner =
                |(a, b): (usize, usize)| Landing { point: net.point(a, b), normal: net.seen(a, b, i, j) };
            let mut corners: Vec<Landing> =
                [(i, j), (i, j + 1), (i + 1, j + 1), (i + 1, j)].into_iter().map(corner).collect();
            corners.dedup_by(|a, b| a.point == b.point);
            if corners.first().map(|c| c.point) == corners.last().map(|c| c.point) {
                corners.pop();
            }
            let normal = corners.iter().map(|corner| corner.normal).sum::<DVec3>().normalize_or_zero();
            if corners.len() > 2 && normal != DVec3::ZERO {
                solid.faces.push(outward(corners, normal));
            }
        }
    }
    solid.edges.extend(net.edges());
    for (end, row) in [(0, 0), (1, net.rows)] {
        if grid.caps[end] {
            net.cap(&mut solid, row);
        }
    }
    solid
}

/// A grid's points, and the normals of each cell's four corners.
struct Net {
    rows: usize,
    columns: usize,
    closed: [bool; 2],
    points: Vec<Vec<DVec3>>,
    /// By cell: at its corners (0, 0), (0, 1), (1, 0), (1, 1).
    normals: Vec<Vec<[DVec3; 4]>>,
}

impl Net {
    fn new(grid: &Grid) -> Self {
        let (u, v) = (&grid.along, &grid.around);
        let (rows, columns) = (u.len() - 1, v.len() - 1);
        let point = |i: usize, j: usize| grid.at(u[i], v[j]).map_or(DVec3::ZERO, |foot| foot.point);
        let normals = |i: usize, j: usize| {
            let near = |of: &[f64], k: usize, far: bool| {
                of[k] + (of[k + 1] - of[k]) * if far { 1.0 - ASIDE } else { ASIDE }
            };
            [(false, false), (false, true), (true, false), (true, true)]
                .map(|(a, b)| grid.at(near(u, i, a), near(v, j, b)).map_or(DVec3::ZERO, |foot| foot.normal))
        };
        Self {
            rows,
            columns,
            closed: grid.closed,
            points: (0..=rows).map(|i| (0..=columns).map(|j| point(i, j)).collect()).collect(),
            normals: (0..rows).map(|i| (0..columns).map(|j| normals(i, j)).collect()).collect(),
        }
    }

    /// The same bits for the first value and the last where they are one.
    fn point(&self, i: usize, j: usize) -> DVec3 {
        let i = if self.closed[0] && i == self.rows { 0 } else { i };
        let j = if self.closed[1] && j == self.columns { 0 } else { j };
        self.points[i][j]
    }

    /// The cell before or after a line of the grid.
    fn beside(at: usize, count: usize, closed: bool, after: bool) -> Option<usize> {
        match (after, at) {
            (true, at) if at == count => closed.then_some(0),
            (true, at) => Some(at),
            (false, 0) => closed.then_some(count - 1),
            (false, at) => Some(at - 1),
        }
    }

    /// The normals round a corner, one for each cell there.
    fn round(&self, i: usize, j: usize) -> impl Iterator<Item = DVec3> + '_ {
        let i = if self.closed[0] && i == self.rows { 0 } else { i };
        let j = if self.closed[1] && j == self.columns { 0 } else { j };
        [(false, false), (false, true), (true, false), (true, true)].into_iter().filter_map(move |(a, b)| {
            let row = Self::beside(i, self.rows, self.closed[0], a)?;
            let column = Self::beside(j, self.columns, self.closed[1], b)?;
            Some(self.normals[row][column][usize::from(!a) * 2 + usize::from(!b)])
        })
    }

    /// The normal at a corner as one of its cells has it: the mean of those that make no edge with it.
    fn seen(&self, i: usize, j: usize, row: usize, column: usize) -> DVec3 {
        let own = self.normals[row][column][usize::from(i > row) * 2 + usize::from(j > column)];
        let alike = self.round(i, j).filter(|normal| normal.dot(own) > EDGE);
        alike.sum::<DVec3>().normalize_or(own)
    }

    /// Lines of the grid where both sides part, and open rims.
    fn edges(&self) -> Vec<Vec<[Landing; 2]>> {
        let mut edges = Vec::new();
        for i in 0..=self.rows {
            let sides = |j: usize, end: bool| {
                let side = |after: bool| {
                    let row = Self::beside(i, self.rows, self.closed[0], after)?;
                    Some(self.normals[row][j][usize::from(!after) * 2 + usize::from(end)])
                };
                [side(false), side(true)]
            };
            let places = (0..self.columns).map(|j| {
                let at = |k: usize, end: bool| (self.point(i, k), sides(j, end));
                [at(j, false), at(j + 1, true)]
            });
            edges.extend(creases(places));
        }
        for j in 0..=self.columns {
            let sides = |i: usize, end: bool| {
                let side = |after: bool| {
                    let column = Self::beside(j, self.columns, self.closed[1], after)?;
                    Some(self.normals[i][column][usize::from(end) * 2 + usize::from(!after)])
                };
                [side(false), side(true)]
            };
            let places = (0..self.rows).map(|i| {
                let at = |k: usize, end: bool| (self.point(k, j), sides(i, end));
                [at(i, false), at(i + 1, true)]
            });
            edges.extend(creases(places));
        }
        edges
    }

    /// Plastic across a row, which lies in a plane.
    fn cap(&self, solid: &mut Solid, row: usize) {
        let mut rim: Vec<DVec3> = (0..=self.columns).map(|j| self.point(row, j)).collect();
        if self.closed[1] {
            rim.pop();
        }
        let turn = (1..rim.len().saturating_sub(1))
            .map(|k| (rim[k] - rim[0]).cross(rim[k + 1] - rim[0]))
            .sum::<DVec3>();
        let Some(across) = turn.try_normalize() else { return };
        let inner = if row == 0 { 1 } else { row - 1 };
        let middle =
            |row: usize| (0..self.columns).map(|j| self.point(row, j)).sum::<DVec3>() / self.columns as f64;
        let out = middle(row) - middle(inner);
        let normal = if across.dot(out) < 0.0 { -across } else { across };
        let first = normal.any_orthonormal_vector();
        solid.faces.extend(tessellated(&rim, [first, normal.cross(first)], normal));
    }
}

/// A place of a line of the grid, and the normals before and after it, where there are any.
type Place = (DVec3, [Option<DVec3>; 2]);

/// The stretches of a line where its two sides part, or where there is but one.
fn creases(line: impl Iterator<Item = [Place; 2]>) -> Vec<Vec<[Landing; 2]>> {
    let mut edges: Vec<Vec<[Landing; 2]>> = Vec::new();
    let mut open = false;
    for pair in line {
        let edge = |(point, sides): Place| {
            let known = sides[0].or(sides[1])?;
            Some(sides.map(|normal| Landing { point, normal: normal.unwrap_or(known) }))
        };
        let parts = |(_, sides): &Place| match sides {
            [Some(a), Some(b)] => a.dot(*b) < EDGE,
            _ => true,
        };
        let moves = pair[0].0 != pair[1].0;
        let [Some(from), Some(to)] = pair.map(edge) else { continue };
        if moves && pair.iter().all(parts) {
            if !open {
                edges.push(vec![from]);
            }
            edges[..].last_mut().expect("an edge was begun").push(to);
        }
        open = moves && pair.iter().all(parts);
    }
    edges
}

/// A mesh, thinned to what a picture can show.
pub fn scanned(soup: &Soup, stretch: DVec3) -> Solid {
    let points: Vec<DVec3> = soup.points.iter().map(|&p| p * stretch).collect();
    let (mut low, mut high) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
    for &p in &points {
        (low, high) = (low.min(p), high.max(p));
    }
    let few = soup.triangles.len() <= MOST_FACES;
    // Corners that scans give twice are one here too.
    let cells = if few { 1e6 } else { CELLS };
    let cell = |p: DVec3| ((p - low) / (high - low).max_element() * cells).floor();
    let mut merged: BTreeMap<[i32; 3], (DVec3, f64)> = BTreeMap::new();
    let key = |p: DVec3| cell(p).to_array().map(|c| c as i32);
    for &p in &points {
        let sum = merged.entry(key(p)).or_insert((DVec3::ZERO, 0.0));
        *sum = (sum.0 + p, sum.1 + 1.0);
    }
    let index: BTreeMap<[i32; 3], usize> = merged.keys().enumerate().map(|(k, key)| (*key, k)).collect();
    let corners: Vec<DVec3> = merged.values().map(|(sum, count)| *sum / *count).collect();
    let mut triangles: Vec<[usize; 3]> = soup
        .triangles
        .iter()
        .map(|t| t.map(|k| index[&key(points[k as usize])]))
        .filter(|[a, b, c]| a != b && b != c && c != a)
        .map(|t| {
            let first = (0..3).min_by_key(|&k| t[k]).unwrap_or(0);
            [t[first], t[(first + 1) % 3], t[(first + 2) % 3]]
        })
        .collect();
    triangles.sort_unstable();
    triangles.dedup();
    let across = |[a, b, c]: [usize; 3]| (corners[b] - corners[a]).cross(corners[c] - corners[a]);
    // Inside out, a closed mesh holds less than nothing.
    let volume: f64 = triangles.iter().map(|&t| across(t).dot(corners[t[0]] - (low + high) / 2.0)).sum();
    let sense = 1f64.copysign(volume);
    let mut normals = vec![DVec3::ZERO; corners.len()];
    for &t in &triangles {
        t.iter().for_each(|&k| normals[k] += across(t) * sense);
    }
    let face = |t: [usize; 3]| {
        let normal = (across(t) * sense).try_normalize()?;
        let landing = |k: usize| {
            let smooth = normals[k].normalize_or(normal);
            // Across an edge the face's own normal is the truer one.
            Landing { point: corners[k], normal: if smooth.dot(normal) > 0.7 { smooth } else { normal } }
        };
        Some(outward(t.map(landing).to_vec(), normal))
    };
    Solid { faces: triangles.into_iter().filter_map(face).collect(), edges: Vec::new(), bulges: false }
}

/// Faces that look at the viewer, by where they lie on the paper.
#[derive(Debug, Default)]
pub struct Cover {
    step: f64,
    squares: BTreeMap<(i64, i64), Vec<usize>>,
    faces: Vec<Face>,
    towards: DVec3,
    axes: [DVec3; 2],
    /// Nearer than this, mm, is the same place.
    slack: f64,
}

/// Squares of the cover along the part's longest side.
const SQUARES: f64 = 60.0;
/// A face misses the surface by less than this share of the part.
const MISS: f64 = 0.02;

impl Cover {
    /// What of `solid` may hide something, seen along `axes`; nothing of a part that bulges everywhere.
    pub fn new(solid: &Solid, axes: [DVec3; 3]) -> Self {
        if solid.bulges {
            return Self::default();
        }
        let facing = solid.faces.iter().filter(|face| face.normal.dot(axes[2]) > 1e-3);
        let faces: Vec<Face> = facing.cloned().collect();
        let points = || solid.faces.iter().flat_map(|face| &face.corners).map(|corner| corner.point);
        let (low, high) =
            points().fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), p| (low.min(p), high.max(p)));
        let size = (high - low).max_element();
        let mut cover = Self {
            step: size / SQUARES,
            slack: MISS * size,
            towards: axes[2],
            axes: [axes[0], axes[1]],
            squares: BTreeMap::new(),
            faces: Vec::new(),
        };
        for (k, face) in faces.iter().enumerate() {
            let squares = face.corners.iter().map(|corner| cover.square(corner.point));
            let (least, most) = squares.fold(((i64::MAX, i64::MAX), (i64::MIN, i64::MIN)), |(l, m), s| {
                ((l.0.min(s.0), l.1.min(s.1)), (m.0.max(s.0), m.1.max(s.1)))
            });
            for x in least.0..=most.0 {
                for y in least.1..=most.1 {
                    cover.squares.entry((x, y)).or_default().push(k);
                }
            }
        }
        cover.faces = faces;
        cover
    }

    fn square(&self, p: DVec3) -> (i64, i64) {
        let [x, y] = self.axes.map(|axis| (p.dot(axis) / self.step).floor() as i64);
        (x, y)
    }

    /// Whether the part lies between `p`, on it, and the viewer.
    pub fn hides(&self, p: DVec3) -> bool {
        let Some(near) = (self.step > 0.0).then(|| self.squares.get(&self.square(p))).flatten() else {
            return false;
        };
        near.iter().any(|&k| {
            let face = &self.faces[k];
            let way = (face.corners[0].point - p).dot(face.normal) / face.normal.dot(self.towards);
            let over = p + self.towards * way;
            let corners = &face.corners;
            let inside = || {
                (0..corners.len()).all(|k| {
                    let (a, b) = (corners[k].point, corners[(k + 1) % corners.len()].point);
                    (b - a).cross(over - a).dot(face.normal) >= 0.0
                })
            };
            way > self.slack && inside()
        })
    }
}
