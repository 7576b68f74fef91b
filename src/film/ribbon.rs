//! A band laid along a line: its centreline put down at true length, its sides left to settle.
//!
//! The net is made of rows along the band, one of them the centreline, whose nodes
//! are held where the line runs. A closed band meets itself butt to butt: the two
//! ends share their nodes.

use super::drape::{Draped, Level, refined};
use super::energy::Law;
use super::mesh::Mesh;
use super::net::Net;
use super::settle::{Film, Hold};
use super::{Settings, Trouble, slit};
use crate::outline::{Point, point};
use crate::surface::geodesic::walk_about;
use crate::surface::{Foot, Start, Surface};

/// A band: s runs along its centreline from −length/2 to length/2, t to the left of it, mm.
pub struct Ribbon<'a> {
    /// The flat band at (s, t); must keep lengths along t = 0.
    pub flat: &'a dyn Fn(Point) -> Point,
    /// The centreline on the part at s, heading along it.
    pub centre: &'a dyn Fn(f64) -> Start,
    /// Centreline length.
    pub length: f64,
    /// How far the band reaches to the right and to the left at s; both more than 0.
    pub sides: &'a dyn Fn(f64) -> [f64; 2],
    /// Whether its ends meet.
    pub closed: bool,
    pub cuts: Cuts,
}

/// Cuts straight across a band from its sides, none by default.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cuts {
    /// Evenly spaced along each side that is cut, half a space from the ends.
    pub count: usize,
    /// How deep, in quarters of the way to the centreline: 1 to 3.
    pub quarters: usize,
    /// Whether the right and the left side are cut.
    pub sides: [bool; 2],
}

impl Cuts {
    /// Where along a band of this length, from its middle.
    pub fn places(self, length: f64) -> impl Iterator<Item = f64> {
        (0..self.count).map(move |k| length * ((k as f64 + 0.5) / self.count as f64 - 0.5))
    }
}

/// Rows of triangles on either side of the centreline in the first net.
const FIRST_ROWS: f64 = 2.0;

/// Triangles may be this much longer than wide: strain changes less along a band than across it.
const STRETCHED: f64 = 1.5;

/// Columns of the first net at most, as a share of the triangles allowed: it has eight to a column, and the second
/// one four times as many. A hairline that is longer than its net can follow gets longer triangles still.
const FIRST_COLUMNS: f64 = 1.0 / 32.0;

/// Lays the band and lets its sides settle.
///
/// # Errors
/// As [`Trouble`] says.
pub fn drape_ribbon(
    surface: &dyn Surface,
    ribbon: &Ribbon<'_>,
    settings: &Settings,
) -> Result<Draped, Trouble> {
    let widest =
        (-32..=32).flat_map(|k| (ribbon.sides)(ribbon.length * f64::from(k) / 64.0)).fold(0.0, f64::max);
    if !(widest > 0.0 && ribbon.length > 0.0) {
        return Err(Trouble::Outline("it has no area"));
    }
    refined(settings, |halvings, _| {
        let finer = f64::from(1_u32 << halvings);
        let most = FIRST_COLUMNS * settings.max_triangles as f64 * finer;
        let grid = Grid::new(ribbon, widest / (FIRST_ROWS * finer), widest, most);
        let (mesh, node, twins) = grid.cut(grid.mesh(ribbon), grid.nodes());
        let net = Net::new(&mesh, &node)?;
        let whole = net.nodes - twins.len();
        // Cuts end short of the centreline.
        let held = (0..net.nodes).map(|k| k < whole && k % grid.width() == grid.right).collect();
        let mut film = Film::new(surface, net, Law::new(settings.poisson), Hold::Nodes(held))?;
        // Straight across is so near to rest that a coarser net would be no better start.
        let mut feet = grid.straight(surface, ribbon);
        feet.extend(twins.iter().map(|&twin| feet[twin as usize]).collect::<Vec<_>>());
        let settled = film.settle(&mut feet)?;
        Ok(Level { mesh, node, feet, energy: settled.energy, steps: settled.steps })
    })
}

/// Rows and columns of a band's net: `columns + 1` stops along it, `right + left + 1` points at each.
struct Grid {
    columns: usize,
    right: usize,
    left: usize,
    closed: bool,
    cuts: Cuts,
}

impl Grid {
    fn new(ribbon: &Ribbon<'_>, spacing: f64, widest: f64, most: f64) -> Self {
        let mut rows = (widest / spacing).round().max(1.0) as usize;
        let mut columns = (ribbon.length / (spacing * STRETCHED)).min(most).ceil().max(4.0) as usize;
        let cuts = ribbon.cuts;
        if cuts.count > 0 {
            // A cut runs along a column, from row to row, with some columns between two.
            rows = rows.next_multiple_of(4);
            columns = columns.max(4 * cuts.count);
        }
        // Diagonals alternate from cell to cell; on a closed band this must come out even.
        let columns = columns.next_multiple_of(2 * cuts.count.max(1));
        Self { columns, right: rows, left: rows, closed: ribbon.closed, cuts }
    }

    fn width(&self) -> usize {
        self.right + self.left + 1
    }

    /// A point of the net as (s, t).
    fn at(&self, ribbon: &Ribbon<'_>, column: usize, row: usize) -> Point {
        let s = ribbon.length * (column as f64 / self.columns as f64 - 0.5);
        let share = row as f64 - self.right as f64;
        let [right, left] = (ribbon.sides)(s);
        point(
            s,
            if share < 0.0 { share / self.right as f64 * right } else { share / self.left as f64 * left },
        )
    }

    fn mesh(&self, ribbon: &Ribbon<'_>) -> Mesh {
        let width = self.width();
        let flat = |k: usize| (ribbon.flat)(self.at(ribbon, k / width, k % width));
        let points = (0..width * (self.columns + 1)).map(flat).collect();
        let mut triangles = Vec::with_capacity(2 * self.columns * (width - 1));
        for column in 0..self.columns {
            for row in 0..width - 1 {
                let a = (column * width + row) as u32;
                let [b, c, d] = [a + width as u32, a + width as u32 + 1, a + 1];
                // Mirror images about the centreline, so that the net favours no side.
                if (column + row.abs_diff(self.right) + usize::from(row < self.right)) % 2 == 0 {
                    triangles.extend([[a, b, c], [a, c, d]]);
                } else {
                    triangles.extend([[a, b, d], [b, c, d]]);
                }
            }
        }
        Mesh::new(points, triangles)
    }

    fn nodes(&self) -> Vec<u32> {
        let around = if self.closed { self.columns } else { self.columns + 1 };
        let width = self.width();
        (0..width * (self.columns + 1)).map(|k| (k % (around * width)) as u32).collect()
    }

    /// The net opened along its cuts, and for each node that this adds the one that it was.
    fn cut(&self, mesh: Mesh, mut node: Vec<u32>) -> (Mesh, Vec<u32>, Vec<u32>) {
        let width = self.width();
        let deep = |side: usize| side * self.cuts.quarters / 4;
        let mut edges = std::collections::BTreeSet::new();
        for k in 0..self.cuts.count {
            let first = (2 * k + 1) * self.columns / (2 * self.cuts.count) * width;
            let [right, left] = self.cuts.sides;
            let rows = (0..deep(self.right)).filter(|_| right);
            let rows = rows.chain((width - 1 - deep(self.left)..width - 1).filter(|_| left));
            edges.extend(rows.map(|row| [(first + row) as u32, (first + row + 1) as u32]));
        }
        if edges.is_empty() {
            return (mesh, node, Vec::new());
        }
        let before = mesh.points.len();
        let (points, triangles, origin) = slit::unzipped(mesh.points, mesh.triangles, &edges);
        let twins: Vec<u32> = origin[before..].iter().map(|&point| node[point as usize]).collect();
        let first = node.iter().max().map_or(0, |&most| most + 1);
        node.extend((0..twins.len() as u32).map(|k| first + k));
        (Mesh::new(points, triangles), node, twins)
    }

    fn columns_laid(&self) -> usize {
        if self.closed { self.columns } else { self.columns + 1 }
    }

    /// Each row end laid straight across from the centreline.
    fn straight(&self, surface: &dyn Surface, ribbon: &Ribbon<'_>) -> Vec<Foot> {
        let foot = |k: usize| {
            let at = self.at(ribbon, k / self.width(), k % self.width());
            let centre = (ribbon.centre)(at.x);
            let across = Start { foot: centre.foot, heading: centre.left() };
            if at.y == 0.0 { centre.foot } else { walk_about(surface, &across, at.y).foot }
        };
        (0..self.width() * self.columns_laid()).map(foot).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::{Cylinder, Sphere};
    use glam::DVec3;
    use std::f64::consts::TAU;

    /// A closed band along the great circle z = 0 of a sphere of radius 1.
    fn great_circle(half: f64, cuts: Cuts, settings: &Settings) -> Draped {
        let ball = Sphere { radius: 1.0 };
        let centre = |s: f64| {
            let (sin, cos) = libm::sincos(s);
            Start { foot: ball.project(DVec3::new(cos, sin, 0.0)), heading: DVec3::new(-sin, cos, 0.0) }
        };
        let band =
            Ribbon { flat: &|p| p, centre: &centre, length: TAU, sides: &|_| [half; 2], closed: true, cuts };
        drape_ribbon(&ball, &band, settings).unwrap()
    }

    #[test]
    fn band_with_true_centreline_is_squeezed_at_its_edges() {
        // Hoop strain −t²/2R² at t from the centreline (common geometry: a small circle's length; to second order).
        let settings = Settings { poisson: 0.3, tolerance: 1e-5, relative: 0.0, max_triangles: 40_000 };
        for half in [0.05f64, 0.1] {
            let draped = great_circle(half, Cuts::default(), &settings);
            // Length of the edge row as laid, against flat.
            let rows = draped
                .film
                .flat
                .iter()
                .zip(&draped.film.laid)
                .filter(|(flat, _)| (flat.y - half).abs() < 1e-12);
            let radii: Vec<f64> = rows.map(|(_, laid)| libm::hypot(laid.x, laid.y)).collect();
            let mean = radii.iter().sum::<f64>() / radii.len() as f64;
            let expected = -half * half / 2.0;
            assert!(((mean - 1.0) / expected - 1.0).abs() < 0.02, "{mean} {expected}");
            assert!(radii.iter().all(|r| (r - mean).abs() < 1e-3 * expected.abs()));
            let squeeze = draped.strain.squeeze_p99 / expected;
            assert!((0.95..1.01).contains(&squeeze), "{squeeze}");
        }
    }

    #[test]
    fn deeper_cuts_and_more_of_them_never_raise_the_energy() {
        let settings = Settings { poisson: 0.3, tolerance: 1e-5, relative: 0.01, max_triangles: 30_000 };
        let of = |count, quarters, sides| great_circle(0.4, Cuts { count, quarters, sides }, &settings);
        // Each set holds the cuts of the one before: three times as many fall on the old ones, and two between.
        let nested = [
            of(0, 0, [false; 2]),
            of(4, 2, [true, false]),
            of(4, 2, [true; 2]),
            of(4, 3, [true; 2]),
            of(12, 3, [true; 2]),
        ];
        for pair in nested.windows(2) {
            assert!(pair[1].energy < 0.99 * pair[0].energy, "{} {}", pair[1].energy, pair[0].energy);
        }
        assert!(nested[4].strain.squeeze_p99 > 0.5 * nested[0].strain.squeeze_p99);
    }

    #[test]
    fn band_round_a_cylinder_is_not_strained() {
        let pipe = Cylinder { radius: 19.0, length: 200.0 };
        let centre = |s: f64| {
            let (sin, cos) = libm::sincos(s / 19.0);
            let foot = pipe.project(DVec3::new(60.0, 19.0 * sin, 19.0 * cos));
            Start { foot, heading: DVec3::new(0.0, cos, -sin) }
        };
        let sides = |s: f64| [3.5 + 0.01 * s, 5.0];
        let cuts = Cuts { count: 3, quarters: 2, sides: [true; 2] };
        let band =
            Ribbon { flat: &|p| p, centre: &centre, length: 100.0, sides: &sides, closed: false, cuts };
        let draped = drape_ribbon(&pipe, &band, &Settings::default()).unwrap();
        assert!(
            draped.strain.stretch_max.abs() < 1e-9 && draped.strain.squeeze_max.abs() < 1e-9,
            "{:?}",
            draped.strain
        );
        assert!(draped.strain.settled);
    }
}
