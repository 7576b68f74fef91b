//! Where one stands to look at a part: orthographic, as on a drawing.

use crate::flow::{Film3, Fit, View};
use crate::outline::{Point, point};
use crate::units::Model;
use glam::DVec3;

/// A view of a part: paper right, paper up and towards the viewer, right-handed.
#[derive(Clone, Debug, PartialEq)]
pub struct Camera {
    pub axes: [DVec3; 3],
    /// `left`, or `three-quarter from front left, above`.
    pub name: String,
}

impl Camera {
    /// A straight view.
    pub fn straight(view: View) -> Self {
        Self { axes: view.axes(), name: view.word().to_owned() }
    }

    /// From a corner: 35 degrees round from the side towards an end, 30 degrees up or down.
    ///
    /// Flatter than the isometric corner, so that sides keep their length and tops still show.
    pub fn corner(front: bool, left: bool, above: bool) -> Self {
        let (sin_round, cos_round) = libm::sincos(35f64.to_radians());
        let (sin_up, cos_up) = libm::sincos(30f64.to_radians());
        let sign = |yes| if yes { -1.0 } else { 1.0 };
        let towards = DVec3::new(
            sign(front) * sin_round * cos_up,
            sign(left) * cos_round * cos_up,
            -sign(above) * sin_up,
        );
        let right = DVec3::Z.cross(towards).normalize();
        let word = |yes, a, b| if yes { a } else { b };
        let name = format!(
            "three-quarter from {} {}, {}",
            word(front, "front", "rear"),
            word(left, "left", "right"),
            word(above, "above", "below")
        );
        Self { axes: [right, towards.cross(right), towards], name }
    }

    /// All eight corners, the one from front left above first.
    pub fn corners() -> Vec<Self> {
        let each = |k: u8| Self::corner(k & 1 == 0, k & 2 == 0, k & 4 == 0);
        (0..8).map(each).collect()
    }

    /// On the paper of this view, mm.
    pub fn paper(&self, p: DVec3) -> Point {
        point(p.dot(self.axes[0]), p.dot(self.axes[1]))
    }

    /// How squarely something with this normal faces the viewer: 1 squarely, 0 edge on, negative turned away.
    pub fn facing(&self, normal: DVec3) -> f64 {
        normal.dot(self.axes[2])
    }

    /// How much daylight falls on it over the viewer's left shoulder: 1 squarely, 0 or less none.
    pub fn light(&self, normal: DVec3) -> f64 {
        let lamp = (self.axes[2] * 0.85 + self.axes[1] * 0.45 - self.axes[0] * 0.25).normalize();
        normal.dot(lamp)
    }

    /// Area of these triangles of a film as seen from here, mm².
    pub fn sees(&self, film: &Film3, triangles: &[[u32; 3]]) -> f64 {
        let area = |&[a, b, c]: &[u32; 3]| {
            let corner = |k: u32| film.laid[k as usize];
            let normal = film.normals[a as usize] + film.normals[b as usize] + film.normals[c as usize];
            let size = (corner(b) - corner(a)).cross(corner(c) - corner(a)).length() / 2.0;
            size * (self.facing(normal) / 3.0).max(0.0)
        };
        triangles.iter().map(area).sum()
    }
}

/// The straight view that sees most of a film; `left` before the others where they are equal.
pub fn best_straight(film: &Film3) -> Camera {
    let all = View::ALL.map(Camera::straight);
    most(&all, |camera| camera.sees(film, &film.triangles), 1.0)
}

/// The triangles of a film that lie past a limit.
pub fn overhanging(fit: &Fit<Model>) -> Vec<[u32; 3]> {
    let film = &fit.film;
    if fit.overhanging.is_empty() {
        return Vec::new();
    }
    let over = |triangle: &[u32; 3]| {
        let corner = |k: usize| film.flat[triangle[k] as usize].to_vector();
        fit.overhanging.contains(((corner(0) + corner(1) + corner(2)) / 3.0).to_point())
    };
    film.triangles.iter().copied().filter(over).collect()
}

/// The first camera, or the later one that sees more than `margin` times as much.
pub fn most(cameras: &[Camera], sees: impl Fn(&Camera) -> f64, margin: f64) -> Camera {
    let mut best = (0, sees(&cameras[0]) * margin);
    for (k, camera) in cameras.iter().enumerate().skip(1) {
        let seen = sees(camera);
        // A hair of slack, lest rounding choose between equals.
        if seen > best.1 * (1.0 + 1e-9) + 1e-12 {
            best = (k, seen);
        }
    }
    cameras[best.0].clone()
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;

    #[test]
    fn corners_are_right_handed_and_look_from_where_they_say() {
        for camera in Camera::corners() {
            let [right, up, towards] = camera.axes;
            assert!((right.cross(up) - towards).length() < 1e-12);
            assert!((right.length() - 1.0).abs() < 1e-12 && up.z > 0.0);
        }
        let first = &Camera::corners()[0];
        assert_eq!(first.name, "three-quarter from front left, above");
        // Front is −x, left is −y, above is +z.
        assert!(first.axes[2].x < 0.0 && first.axes[2].y < 0.0 && first.axes[2].z > 0.0);
    }

    #[test]
    fn a_crown_is_best_seen_from_the_top_and_a_door_from_its_side() {
        let outcome = fixture::outcome();
        let film = |k: usize| &outcome.scales[0].pieces[k].fit.film;
        assert_eq!(best_straight(film(0)).name, "top");
        assert_eq!(best_straight(film(2)).name, "left");
        // The stripe runs past the rim behind.
        let stripe = &outcome.scales[0].pieces[1].fit;
        let over = overhanging(stripe);
        assert!(!over.is_empty() && over.len() < stripe.film.triangles.len() / 4);
        assert!(Camera::corner(false, true, false).sees(&stripe.film, &over) > 0.0);
        // A disc of 110 mm on a sphere of 125 mm, from above: a circle of 125 sin(110/125), at 1/48.
        let shadow = 125.0 * libm::sin(110.0 / 125.0) / 48.0;
        let seen = Camera::straight(View::Top).sees(film(0), &film(0).triangles);
        assert!((seen / (std::f64::consts::PI * shadow * shadow) - 1.0).abs() < 0.01, "{seen}");
    }
}
