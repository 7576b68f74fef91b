//! Which triangle of a flat mesh a point lies in.

use super::mesh::Mesh;
use crate::outline::{Point, Vector};

/// A mesh sorted into square cells.
pub struct Locator<'a> {
    mesh: &'a Mesh,
    origin: Point,
    cell: f64,
    columns: usize,
    rows: usize,
    /// Where each cell's triangles begin in `members`, with the end at the back.
    starts: Vec<u32>,
    members: Vec<u32>,
}

/// A triangle and a point's barycentric coordinates in it.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    pub triangle: usize,
    pub shares: [f64; 3],
}

impl Place {
    /// Whether the point lies in the triangle, rounding apart.
    pub fn inside(&self) -> bool {
        self.least() > -1e-9
    }

    fn least(&self) -> f64 {
        self.shares.iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// What a quantity given at the corners is here.
    pub fn mix<T>(&self, corners: [T; 3]) -> T
    where
        T: std::ops::Mul<f64, Output = T> + std::ops::Add<Output = T>,
    {
        let [a, b, c] = corners;
        a * self.shares[0] + b * self.shares[1] + c * self.shares[2]
    }
}

impl<'a> Locator<'a> {
    pub fn new(mesh: &'a Mesh) -> Self {
        let bounds = crate::outline::Bounds::from_points(mesh.points.iter().copied());
        let size = bounds.size();
        // About one triangle per cell, and never more cells than twice the triangles.
        let count = mesh.triangles.len().max(1) as f64;
        let cell =
            ((size.width * size.height / count).sqrt()).max(size.width.max(size.height) / count).max(1e-300);
        let columns = (size.width / cell) as usize + 1;
        let rows = (size.height / cell) as usize + 1;
        let clamp = |v: f64, most: usize| (v / cell).clamp(0.0, (most - 1) as f64) as usize;
        let within = |triangle: &[u32; 3]| {
            let corners = triangle.map(|v| mesh.points[v as usize]);
            let own = crate::outline::Bounds::from_points(corners);
            let (low, high) = (own.min - bounds.min, own.max - bounds.min);
            let across = clamp(low.x, columns)..=clamp(high.x, columns);
            (clamp(low.y, rows)..=clamp(high.y, rows))
                .flat_map(move |row| across.clone().map(move |column| row * columns + column))
        };
        // Counted first, then dealt: in each cell they stand in the order of their numbers.
        let mut starts = vec![0; rows * columns + 1];
        for cell in mesh.triangles.iter().flat_map(within) {
            starts[cell + 1] += 1;
        }
        for k in 1..starts.len() {
            starts[k] += starts[k - 1];
        }
        let mut next = starts.clone();
        let mut members = vec![0; starts[rows * columns] as usize];
        for (t, triangle) in mesh.triangles.iter().enumerate() {
            for cell in within(triangle) {
                members[next[cell] as usize] = t as u32;
                next[cell] += 1;
            }
        }
        Self { mesh, origin: bounds.min, cell, columns, rows, starts, members }
    }

    /// The triangle that holds `p`, else one near it, whose coordinates then continue it outwards. `None` for no mesh.
    pub fn find(&self, p: Point) -> Option<Place> {
        let from: Vector = (p - self.origin) / self.cell;
        let clamp = |v: f64, most: usize| v.clamp(0.0, (most - 1) as f64) as usize;
        let (row, column) = (clamp(from.y, self.rows), clamp(from.x, self.columns));
        let mut best: Option<Place> = None;
        for ring in 0..self.rows.max(self.columns) {
            for (r, c) in self.ring(row, column, ring) {
                self.best_of(r * self.columns + c, p, &mut best);
            }
            // Outside the mesh, one ring further may hold a nearer one.
            if best.is_some_and(|place| place.inside() || ring > 0) {
                break;
            }
        }
        best
    }

    /// The triangle that holds `p`, if one does: it is listed in the cell of `p`.
    pub fn holding(&self, p: Point) -> Option<Place> {
        let from: Vector = (p - self.origin) / self.cell;
        if !(from.x >= 0.0 && from.y >= 0.0 && from.x < self.columns as f64 && from.y < self.rows as f64) {
            return None;
        }
        let cell = from.y as usize * self.columns + from.x as usize;
        let own = &self.members[self.starts[cell] as usize..self.starts[cell + 1] as usize];
        let place = |&t: &u32| Place { triangle: t as usize, shares: self.shares(t as usize, p) };
        own.iter().map(place).find(Place::inside)
    }

    fn best_of(&self, cell: usize, p: Point, best: &mut Option<Place>) {
        for &t in &self.members[self.starts[cell] as usize..self.starts[cell + 1] as usize] {
            let place = Place { triangle: t as usize, shares: self.shares(t as usize, p) };
            if best.is_none_or(|best| place.least() > best.least()) {
                *best = Some(place);
            }
        }
    }

    /// Cells at this many steps from the middle one.
    fn ring(&self, row: usize, column: usize, ring: usize) -> impl Iterator<Item = (usize, usize)> + '_ {
        let rows = row.saturating_sub(ring)..=(row + ring).min(self.rows - 1);
        rows.flat_map(move |r| {
            let columns = column.saturating_sub(ring)..=(column + ring).min(self.columns - 1);
            columns.map(move |c| (r, c))
        })
        .filter(move |&(r, c)| r.abs_diff(row).max(c.abs_diff(column)) == ring)
    }

    /// Barycentric coordinates of `p` in a triangle.
    pub fn shares(&self, triangle: usize, p: Point) -> [f64; 3] {
        let [a, b, c] = self.mesh.triangles[triangle].map(|v| self.mesh.points[v as usize]);
        let whole = (b - a).cross(c - a);
        let (first, second) = ((b - p).cross(c - p) / whole, (c - p).cross(a - p) / whole);
        [first, second, 1.0 - first - second]
    }
}

#[cfg(test)]
mod tests {
    use super::super::mesh::triangulate;
    use super::*;
    use crate::outline::{Outline, point};
    use crate::units::Full;

    #[test]
    fn every_point_is_found_and_mixes_back_to_itself() {
        let ring = Outline::<Full>::ring(point(2.0, 1.0), 2.0, 7.0).flattened(1e-3);
        let mesh = triangulate(&ring, 0.7).unwrap();
        let locator = Locator::new(&mesh);
        for k in 0..2000 {
            let p =
                point(2.0 + 7.5 * libm::sin(f64::from(k) * 1.7), 1.0 + 7.5 * libm::sin(f64::from(k) * 2.3));
            let place = locator.find(p).unwrap();
            let corners = mesh.triangles[place.triangle].map(|v| mesh.points[v as usize].to_vector());
            assert!((place.mix(corners) - p.to_vector()).length() < 1e-9);
            let r = (p - point(2.0, 1.0)).length();
            if (2.05..6.95).contains(&r) {
                assert!(place.inside(), "{p:?}");
            }
            if !(1.98..=7.001).contains(&r) {
                assert!(!place.inside(), "{p:?}");
            }
        }
    }
}
