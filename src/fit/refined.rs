//! Film cut finer where a limit crosses it, so that no limit slips through between corners.
//!
//! A film's triangles are made for its strain; a hatch may lie whole inside one of them.
//! Edges that come nearer to the limit than they are long are halved until they are no
//! longer than asked for, all triangles of an edge at once. What it gets wrong: limits
//! that are smaller than that, and the way of the film between the corners it had, which
//! is taken as straight on the part.

use super::fence::Fence;
use crate::flow::Film3;
use crate::outline::Point;
use crate::surface::{Foot, Surface};
use glam::DVec3;
use std::collections::BTreeMap;

/// Halvings of an edge: more than are needed from any net to any limit that can be drawn.
const MOST_ROUNDS: usize = 12;

/// A film and how far inside a limit its corners lie.
pub struct Refined {
    pub flat: Vec<Point>,
    pub laid: Vec<DVec3>,
    /// Millimetres inside, negative outside.
    pub clear: Vec<f64>,
    pub triangles: Vec<[u32; 3]>,
}

impl Refined {
    /// `film` with no edge across `fence` longer than `finest` mm.
    pub fn new(surface: &dyn Surface, film: &Film3, fence: &Fence<'_>, finest: f64) -> Self {
        let feet = film.laid.iter().zip(&film.normals);
        let clear = feet.map(|(&point, &normal)| fence.clearance(Foot { point, normal })).collect();
        let mut refined = Self {
            flat: film.flat.clone(),
            laid: film.laid.clone(),
            clear,
            triangles: film.triangles.clone(),
        };
        for _ in 0..MOST_ROUNDS {
            if !refined.halve(surface, fence, finest) {
                break;
            }
        }
        refined
    }

    /// The worst clearance.
    pub fn least(&self) -> f64 {
        self.clear.iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// Halves the edges that are too long where they lie; tells whether there were any.
    fn halve(&mut self, surface: &dyn Surface, fence: &Fence<'_>, finest: f64) -> bool {
        let mut middles: BTreeMap<[u32; 2], u32> = BTreeMap::new();
        let mut triangles = Vec::with_capacity(self.triangles.len());
        for triangle in std::mem::take(&mut self.triangles) {
            let middle = [0, 1, 2].map(|k| {
                let (a, b) = (triangle[k], triangle[(k + 1) % 3]);
                let edge = [a.min(b), a.max(b)];
                self.too_long(edge, finest)
                    .then(|| *middles.entry(edge).or_insert_with(|| self.middle(surface, fence, edge)))
            });
            split(triangle, middle, &mut triangles);
        }
        self.triangles = triangles;
        !middles.is_empty()
    }

    fn too_long(&self, [a, b]: [u32; 2], finest: f64) -> bool {
        let (a, b) = (a as usize, b as usize);
        let length = (self.flat[a] - self.flat[b]).length();
        length > finest && self.clear[a].abs().min(self.clear[b].abs()) < length
    }

    fn middle(&mut self, surface: &dyn Surface, fence: &Fence<'_>, [a, b]: [u32; 2]) -> u32 {
        let (a, b) = (a as usize, b as usize);
        let foot = surface.project(self.laid[a].lerp(self.laid[b], 0.5));
        self.flat.push(self.flat[a].lerp(self.flat[b], 0.5));
        self.laid.push(foot.point);
        self.clear.push(fence.clearance(foot));
        (self.flat.len() - 1) as u32
    }
}

/// Cuts a triangle at the middles of its edges, the k-th one from corner k to the next.
fn split(triangle: [u32; 3], middle: [Option<u32>; 3], into: &mut Vec<[u32; 3]>) {
    // Turned so that an edge that is cut comes first, and one that is not comes last.
    let first = (0..3).find(|&k| middle[k].is_some() && middle[(k + 2) % 3].is_none()).unwrap_or(0);
    let [a, b, c] = [0, 1, 2].map(|k| triangle[(first + k) % 3]);
    match [0, 1, 2].map(|k| middle[(first + k) % 3]) {
        [Some(ab), Some(bc), Some(ca)] => {
            into.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
        }
        [Some(ab), Some(bc), None] => into.extend([[a, ab, c], [ab, bc, c], [ab, b, bc]]),
        [Some(ab), None, None] => into.extend([[a, ab, c], [ab, b, c]]),
        _ => into.push(triangle),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{LimitKind, View};
    use crate::outline::point;
    use crate::surface::Plate;

    /// A hatch of 10 mm whole inside one of two triangles of 1 m.
    #[test]
    fn a_small_hatch_is_found_in_a_large_triangle() {
        let plate = Plate::new(2000.0, 2000.0, View::Top);
        let flat = vec![point(0.0, 0.0), point(1000.0, 0.0), point(1000.0, 1000.0), point(0.0, 1000.0)];
        let laid: Vec<DVec3> = flat.iter().map(|q| DVec3::new(q.x, q.y, 0.0)).collect();
        let film = Film3 {
            normals: vec![DVec3::Z; 4],
            triangles: vec![[0, 1, 2], [0, 2, 3]],
            stretches: vec![[1.0; 2]; 2],
            laid,
            flat,
        };
        let hatch = [(700.0, 200.0), (710.0, 200.0), (710.0, 210.0), (700.0, 210.0)];
        let kind = LimitKind::Region {
            view: View::Top,
            outline: hatch.map(|(x, y)| point(x, y)).to_vec(),
            keep_inside: false,
        };
        let refined = Refined::new(&plate, &film, &Fence::Limit("hatch", &kind), 2.0);
        assert!((refined.least() + 5.0).abs() < 1.5, "{}", refined.least());
        let area = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|k| refined.flat[k as usize]);
            (b - a).cross(c - a) / 2.0
        };
        assert!(refined.triangles.iter().all(|t| area(t) > 0.0), "none is turned over");
        assert!((refined.triangles.iter().map(area).sum::<f64>() - 1e6).abs() < 1e-6, "none is lost");
    }
}
