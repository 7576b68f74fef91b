//! A band laid along a line: its centreline put down at true length, its sides left to settle.
//!
//! The net is made of rows along the band, one of them the centreline, whose nodes
//! are held where the line runs. A closed band meets itself butt to butt: the two
//! ends share their nodes.

use super::drape::{Draped, Level, refined};
use super::energy::Law;
use super::geodesic::Ray;
use super::mesh::Mesh;
use super::net::Net;
use super::settle::{Film, Hold};
use super::{Settings, Trouble};
use crate::outline::Point;
use crate::surface::{Foot, Surface};
use std::f64::consts::FRAC_PI_2;

/// A band: s runs along its centreline, t to the left of it, mm.
pub struct Ribbon<'a> {
    /// The flat band; must keep lengths along t = 0.
    pub flat: &'a dyn Fn(f64, f64) -> Point,
    /// The centreline on the part: the foot at s, and the unit tangent there along the line.
    pub laid: &'a dyn Fn(f64) -> Ray,
    /// Centreline length.
    pub length: f64,
    /// How far the band reaches to the right and to the left at s; both more than 0.
    pub sides: &'a dyn Fn(f64) -> [f64; 2],
    /// Whether its ends meet.
    pub closed: bool,
}

/// Rows of triangles on either side of the centreline in the first net.
const FIRST_ROWS: f64 = 2.0;

/// Triangles may be this much longer than wide: strain changes less along a band than across it.
const STRETCHED: f64 = 1.5;

/// Lays the band and lets its sides settle.
///
/// # Errors
/// As [`Trouble`] says.
pub fn drape_ribbon(surface: &dyn Surface, ribbon: &Ribbon, settings: &Settings) -> Result<Draped, Trouble> {
    let widest =
        (0..=64).flat_map(|k| (ribbon.sides)(ribbon.length * f64::from(k) / 64.0)).fold(0.0, f64::max);
    if !(widest > 0.0 && ribbon.length > 0.0) {
        return Err(Trouble::Outline("it has no area"));
    }
    refined(widest / FIRST_ROWS, settings, |spacing, _| {
        let grid = Grid::new(ribbon, spacing, widest);
        let mesh = grid.mesh(ribbon);
        let node = grid.nodes();
        let net = Net::new(&mesh, &node)?;
        let held = (0..net.nodes).map(|k| k % grid.width() == grid.right).collect();
        let mut film = Film::new(surface, &net, Law::new(settings.poisson), Hold::Nodes(held))?;
        // Straight across is so near to rest that a coarser net would be no better start.
        let mut feet = grid.straight(surface, ribbon);
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
}

impl Grid {
    fn new(ribbon: &Ribbon, spacing: f64, widest: f64) -> Self {
        let rows = (widest / spacing).round().max(1.0) as usize;
        let columns = (ribbon.length / (spacing * STRETCHED)).ceil().max(4.0) as usize;
        // Diagonals alternate from cell to cell; on a closed band this must come out even.
        Self { columns: columns.next_multiple_of(2), right: rows, left: rows, closed: ribbon.closed }
    }

    fn width(&self) -> usize {
        self.right + self.left + 1
    }

    /// s, and t as a share of the side from −1 to 1.
    fn at(&self, ribbon: &Ribbon, column: usize, row: usize) -> (f64, f64) {
        let s = ribbon.length * column as f64 / self.columns as f64;
        let share = row as f64 - self.right as f64;
        let side = (ribbon.sides)(s);
        (
            s,
            if share < 0.0 {
                share / self.right as f64 * side[0]
            } else {
                share / self.left as f64 * side[1]
            },
        )
    }

    fn mesh(&self, ribbon: &Ribbon) -> Mesh {
        let width = self.width();
        let point = |k: usize| {
            let (s, t) = self.at(ribbon, k / width, k % width);
            (ribbon.flat)(s, t)
        };
        let points = (0..width * (self.columns + 1)).map(point).collect();
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

    fn columns_laid(&self) -> usize {
        if self.closed { self.columns } else { self.columns + 1 }
    }

    /// Each row end laid straight across from the centreline.
    fn straight(&self, surface: &dyn Surface, ribbon: &Ribbon) -> Vec<Foot> {
        let foot = |k: usize| {
            let (s, t) = self.at(ribbon, k / self.width(), k % self.width());
            let line = (ribbon.laid)(s);
            if t == 0.0 { line.foot } else { line.turned(FRAC_PI_2).walked(surface, t).foot }
        };
        (0..self.width() * self.columns_laid()).map(foot).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::point;
    use crate::surface::{Cylinder, Sphere};
    use glam::DVec3;
    use std::f64::consts::TAU;

    /// A closed band along the great circle z = 0 of a sphere of radius 1.
    fn great_circle(half: f64, settings: &Settings) -> Draped {
        let ball = Sphere { radius: 1.0 };
        let laid = |s: f64| {
            let (sin, cos) = libm::sincos(s);
            Ray { foot: ball.project(DVec3::new(cos, sin, 0.0)), along: DVec3::new(-sin, cos, 0.0) }
        };
        let band = Ribbon { flat: &point, laid: &laid, length: TAU, sides: &|_| [half; 2], closed: true };
        drape_ribbon(&ball, &band, settings).unwrap()
    }

    #[test]
    fn band_with_true_centreline_is_squeezed_at_its_edges() {
        // Hoop strain −t²/2R² at t from the centreline (common geometry: a small circle's length; to second order).
        let settings = Settings { poisson: 0.3, tolerance: 1e-5, most_triangles: 40_000 };
        for half in [0.05f64, 0.1] {
            let draped = great_circle(half, &settings);
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
    fn band_round_a_cylinder_is_not_strained() {
        let pipe = Cylinder { radius: 19.0, length: 200.0 };
        let laid = |s: f64| {
            let (sin, cos) = libm::sincos(s / 19.0);
            let foot = pipe.project(DVec3::new(60.0, 19.0 * sin, 19.0 * cos));
            Ray { foot, along: DVec3::new(0.0, cos, -sin) }
        };
        let sides = |s: f64| [3.0 + 0.01 * s, 5.0];
        let band = Ribbon { flat: &point, laid: &laid, length: 100.0, sides: &sides, closed: false };
        let draped = drape_ribbon(&pipe, &band, &Settings::default()).unwrap();
        assert!(
            draped.strain.stretch_max.abs() < 1e-9 && draped.strain.squeeze_max.abs() < 1e-9,
            "{:?}",
            draped.strain
        );
        assert!(draped.strain.settled);
    }
}
