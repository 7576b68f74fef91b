//! `seam`: flat artwork so long that it goes round its part and comes to lie over itself.
//!
//! A corner of the laid film that lies in a triangle from elsewhere on the piece is
//! covered. What it gets wrong: a lap that is shorter than the film's triangles, ends that come
//! within a twentieth of a triangle of each other, which count as a lap, and the share, by the
//! area round each covered corner.

use super::Case;
use crate::flow::{Code, Draw, Film3, Finding, Lay, Severity};
use crate::outline::number::said_share;
use glam::DVec3;
use std::collections::BTreeMap;

/// A share under this is a touch of two ends, no lap.
const TOUCH: f64 = 1e-3;

pub fn rule(case: &Case<'_>) -> Option<Finding> {
    // Pieces that follow a line are told by their seam; an area of the part covers it once.
    if case.marking.lay != Lay::Drape || matches!(case.marking.draw, Draw::Area { .. }) {
        return None;
    }
    let share = covered(&case.fit.film);
    if share < TOUCH {
        return None;
    }
    let text = format!("goes round the part and lies over itself, on {} of its area", said_share(share));
    let help = "make it shorter or narrower, or let it follow a ring: a band is cut to the part";
    Some(case.finding(Code::Seam, Severity::Warning, text, help.to_owned()))
}

/// The share of a film that lies on other film.
fn covered(film: &Film3) -> f64 {
    // What faces one way all over does not go round anything.
    let facing: DVec3 = film.normals.iter().sum();
    if film.normals.iter().all(|normal| normal.dot(facing) > 0.0) {
        return 0.0;
    }
    let long = |corners: &[u32; 3]| {
        (0..3)
            .map(|k| (laid(film, corners[k]) - laid(film, corners[(k + 1) % 3])).length())
            .fold(0.0, f64::max)
    };
    let reach = film.triangles.iter().map(long).fold(0.0, f64::max);
    let cell = |p: DVec3| (p / reach).floor().to_array().map(|step| step as i64);
    let mut cells: BTreeMap<[i64; 3], Vec<u32>> = BTreeMap::new();
    for k in 0..film.laid.len() as u32 {
        cells.entry(cell(laid(film, k))).or_default().push(k);
    }
    let mut under = vec![false; film.laid.len()];
    for triangle in &film.triangles {
        let [x, y, z] = cell(laid(film, triangle[0]));
        let near =
            (-1..=1).flat_map(|i| (-1..=1).flat_map(move |j| (-1..=1).map(move |k| [x + i, y + j, z + k])));
        for &k in near.filter_map(|cell| cells.get(&cell)).flatten() {
            under[k as usize] |= lies_in(film, k, triangle, reach);
        }
    }
    let mut areas = [0.0; 2];
    for triangle in &film.triangles {
        let [a, b, c] = triangle.map(|k| film.flat[k as usize]);
        let area = (b - a).cross(c - a).abs() / 2.0;
        let corners = triangle.iter().filter(|&&k| under[k as usize]).count();
        areas[0] += area * corners as f64 / 3.0;
        areas[1] += area;
    }
    if areas[1] > 0.0 { areas[0] / areas[1] } else { 0.0 }
}

/// Whether a corner lies in a triangle that is not near it on the flat piece.
fn lies_in(film: &Film3, corner: u32, triangle: &[u32; 3], reach: f64) -> bool {
    let flat = |k: u32| film.flat[k as usize];
    if triangle.iter().any(|&k| (flat(k) - flat(corner)).length() < 2.0 * reach) {
        return false;
    }
    let [a, b, c] = triangle.map(|k| laid(film, k));
    let across = (b - a).cross(c - a);
    let p = laid(film, corner) - a;
    let same_side = film.normals[corner as usize].dot(film.normals[triangle[0] as usize]) > 0.0;
    let twice = across.length();
    let height = p.dot(across) / twice;
    // Shares of the corners, with room for corners that lie on an edge.
    let shares =
        [(b - a).cross(p).dot(across), p.cross(c - a).dot(across)].map(|part| part / (twice * twice));
    same_side
        && height.abs() < reach / 2.0
        && shares.iter().all(|&s| s > -0.05)
        && shares[0] + shares[1] < 1.05
}

fn laid(film: &Film3, corner: u32) -> DVec3 {
    film.laid[corner as usize]
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::outline::point;

    /// A strip 2 wide, rolled round a tube of radius 10 as far as it is long.
    fn rolled(length: f64) -> Film3 {
        let count = (length / 2.0).ceil() as u32;
        let step = length / f64::from(count);
        let mut film = Film3::default();
        for k in 0..=count {
            for (row, y) in [-1.0, 0.0, 1.0].into_iter().enumerate() {
                let x = f64::from(k) * step;
                let (sin, cos) = libm::sincos(x / 10.0);
                film.flat.push(point(x, y));
                film.laid.push(DVec3::new(y, 10.0 * sin, 10.0 * cos));
                film.normals.push(DVec3::new(0.0, sin, cos));
                if k > 0 && row > 0 {
                    let here = 3 * k + row as u32;
                    film.triangles.extend([[here - 4, here - 1, here], [here - 4, here, here - 3]]);
                }
            }
        }
        film
    }

    #[test]
    fn a_strip_longer_than_its_tube_is_round_lies_over_itself() {
        let round = std::f64::consts::TAU * 10.0;
        assert_eq!(covered(&rolled(0.98 * round)), 0.0, "a gap is left");
        let share = covered(&rolled(1.5 * round));
        // Half a turn of one and a half lies over another, and is lain over: two thirds.
        assert!((share - 2.0 / 3.0).abs() < 0.08, "{share}");
        let mut bench = Bench::stripe();
        bench.fit.film = rolled(1.5 * round);
        assert!(rule(&bench.case()).is_some());
        bench.fit.film = rolled(0.5 * round);
        assert_eq!(rule(&bench.case()), None);
    }
}
