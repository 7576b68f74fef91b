//! A laid film as a map: from a point of the flat piece to where it lands.
//!
//! Within a triangle by its barycentric coordinates, so a vertex lands exactly
//! where the solver put it and a point between them on the chord. Outlines go
//! over as outlines and keep sharp edges however coarse the mesh is. What faces
//! the viewer is cut out on the flat piece, along the horizon, before it goes over.

use super::camera::Camera;
use super::clip;
use crate::flow::Film3;
use crate::outline::{Bounds, Point, Polyline, Region, Vector, longer_side};
use crate::units::Model;
use glam::DVec3;

/// A film with a grid over its flat triangles.
#[derive(Debug)]
pub struct Laid<'a> {
    film: &'a Film3,
    bounds: Bounds,
    /// Side of a grid square, mm; also how finely edges are walked.
    step: f64,
    columns: usize,
    /// Indices of the triangles that touch each square, by row.
    squares: Vec<Vec<usize>>,
}

/// How much of a film faces a viewer.
#[derive(Debug)]
pub enum Seen {
    All,
    Nothing,
    /// This part of the flat piece.
    Part(Region<Model>),
}

/// A point on the part and the normal there (not of length 1 between vertices).
#[derive(Clone, Copy, Debug)]
pub struct Landing {
    pub point: DVec3,
    pub normal: DVec3,
}

impl<'a> Laid<'a> {
    /// `None` where the film has no area.
    pub fn new(film: &'a Film3) -> Option<Self> {
        let bounds = Bounds::from_points(film.flat.iter().copied());
        let step = (bounds.width() * bounds.height() / film.triangles.len() as f64).sqrt();
        if film.triangles.is_empty() || !step.is_finite() || step <= 0.0 {
            return None;
        }
        // A long thin film must not make a grid of millions of squares.
        let step = step.max(longer_side(&bounds) / 500.0);
        let columns = (bounds.width() / step) as usize + 1;
        let rows = (bounds.height() / step) as usize + 1;
        let mut laid = Self { film, bounds, step, columns, squares: vec![Vec::new(); columns * rows] };
        for k in 0..film.triangles.len() {
            let around = Bounds::from_points(laid.corners(k));
            let (from, to) = (laid.square(around.min), laid.square(around.max));
            for row in from.1..=to.1 {
                for column in from.0..=to.0 {
                    laid.squares[row * columns + column].push(k);
                }
            }
        }
        Some(laid)
    }

    /// Where a point of the flat piece lands; a point just off the film goes with the nearest triangle.
    pub fn land(&self, p: Point) -> Landing {
        let (triangle, shares) = self.share(p);
        let mix = |of: &[DVec3]| self.mixed(triangle, shares, of, DVec3::ZERO);
        Landing { point: mix(&self.film.laid), normal: mix(&self.film.normals) }
    }

    /// Numbers known at the film's vertices, at a point of the flat piece.
    pub fn mix(&self, p: Point, of: &[f64]) -> f64 {
        let (triangle, shares) = self.share(p);
        self.mixed(triangle, shares, of, 0.0)
    }

    fn mixed<T: Copy + std::ops::Mul<f64, Output = T> + std::ops::Add<Output = T>>(
        &self,
        triangle: usize,
        shares: [f64; 3],
        of: &[T],
        none: T,
    ) -> T {
        let corners = self.film.triangles[triangle];
        (0..3).map(|n| of[corners[n] as usize] * shares[n]).fold(none, |sum, part| sum + part)
    }

    /// The triangle that holds a point, and the shares of its corners.
    fn share(&self, p: Point) -> (usize, [f64; 3]) {
        let (column, row) = self.square(p);
        let near = &self.squares[row * self.columns + column];
        let found = self.holding(p, near.iter().copied());
        // An outline's curve may bulge past the mesh's chord by a part of a triangle, no more.
        match found {
            Some((triangle, shares, least)) if least > -0.5 => (triangle, shares),
            _ => self.nearest(p),
        }
    }

    /// What of the film faces the camera and is not hidden.
    pub fn seen(&self, camera: &Camera, hides: &dyn Fn(DVec3) -> bool) -> Seen {
        let facing = |(&normal, &at): (&DVec3, &DVec3)| if hides(at) { -1.0 } else { camera.facing(normal) };
        let facing: Vec<f64> = self.film.normals.iter().zip(&self.film.laid).map(facing).collect();
        // A hundredth: a plate seen edge on has no front to show.
        let level = |k: u32| facing[k as usize] - 0.01;
        if self.film.triangles.iter().flatten().all(|&k| level(k) > 0.0) {
            return Seen::All;
        }
        let front =
            |triangle: &[u32; 3]| clip::positive(&triangle.map(|k| (self.film.flat[k as usize], level(k))));
        let rings: Vec<Polyline> = self.film.triangles.iter().filter_map(front).collect();
        if rings.is_empty() { Seen::Nothing } else { Seen::Part(clip::joined(&rings)) }
    }

    /// Takes a seen region of the flat piece to the camera's paper.
    pub fn shown(&self, region: &Region<Model>, seen: &Seen, camera: &Camera) -> Region<Model> {
        let region = match seen {
            Seen::All => region.clone(),
            Seen::Nothing => Region::empty(),
            Seen::Part(part) => region.intersection(part),
        };
        let over = |ring: &Polyline| {
            let mut closed = ring.clone();
            closed.extend(ring.first());
            let mut walked = self.walked(&closed);
            walked.pop();
            walked.into_iter().map(|p| camera.paper(self.land(p).point)).collect()
        };
        Region::new(region.rings.iter().map(over).collect())
    }

    /// The seen stretches of a line on the flat piece, on the camera's paper.
    pub fn shown_line(&self, line: &[Point], camera: &Camera) -> Vec<Polyline> {
        let landings = self.walked(line).into_iter().map(|p| self.land(p));
        seen_stretches(landings.map(|l| (camera.paper(l.point), camera.facing(l.normal) > 0.0)))
    }

    /// The line with points added so that it bends with the film.
    fn walked(&self, line: &[Point]) -> Polyline {
        let mut walked: Polyline = line.first().copied().into_iter().collect();
        for pair in line.windows(2) {
            let count = ((pair[1] - pair[0]).length() / (self.step / 2.0)).ceil().clamp(1.0, 2000.0) as usize;
            walked.extend((1..=count).map(|k| pair[0].lerp(pair[1], k as f64 / count as f64)));
        }
        walked
    }

    fn square(&self, p: Point) -> (usize, usize) {
        let cell = (p - self.bounds.min) / self.step;
        let rows = self.squares.len() / self.columns;
        // A negative float becomes 0.
        ((cell.x as usize).min(self.columns - 1), (cell.y as usize).min(rows - 1))
    }

    fn corners(&self, triangle: usize) -> [Point; 3] {
        self.film.triangles[triangle].map(|k| self.film.flat[k as usize])
    }

    /// The triangle in which `p` lies deepest, its barycentric coordinates and the least of them.
    fn holding(&self, p: Point, among: impl Iterator<Item = usize>) -> Option<(usize, [f64; 3], f64)> {
        let mut best: Option<(usize, [f64; 3], f64)> = None;
        for triangle in among {
            let shares = barycentric(p, self.corners(triangle));
            let least = shares.into_iter().fold(f64::INFINITY, f64::min);
            if least.is_finite() && best.is_none_or(|(_, _, deepest)| least > deepest) {
                best = Some((triangle, shares, least));
            }
        }
        best
    }

    /// The triangle whose middle is nearest, and the nearest of its points, for what lies off the film.
    fn nearest(&self, p: Point) -> (usize, [f64; 3]) {
        let away = |k: usize| {
            let [a, b, c] = self.corners(k).map(Point::to_vector);
            ((a + b + c) / 3.0 - p.to_vector()).square_length()
        };
        let nearest = (0..self.film.triangles.len())
            .map(|k| (away(k), k))
            .fold((f64::INFINITY, 0), |a, b| if b.0 < a.0 { b } else { a });
        let inside = barycentric(p, self.corners(nearest.1)).map(|share| share.max(0.0));
        let sum: f64 = inside.iter().sum();
        let shares =
            if sum.is_finite() && sum > 0.0 { inside.map(|share| share / sum) } else { [1.0 / 3.0; 3] };
        (nearest.1, shares)
    }
}

/// Splits a walk into its stretches of seen points.
pub fn seen_stretches(walk: impl Iterator<Item = (Point, bool)>) -> Vec<Polyline> {
    let mut stretches = vec![Polyline::new()];
    for (p, seen) in walk {
        match stretches.last_mut() {
            Some(last) if seen => last.push(p),
            Some(last) if !last.is_empty() => stretches.push(Polyline::new()),
            _ => {}
        }
    }
    stretches.retain(|stretch| stretch.len() > 1);
    stretches
}

/// Barycentric coordinates of `p`; not finite for a triangle without area.
fn barycentric(p: Point, [a, b, c]: [Point; 3]) -> [f64; 3] {
    let cross = |u: Vector, v: Vector| u.cross(v);
    let area = cross(b - a, c - a);
    let (first, second) = (cross(c - b, p - b) / area, cross(a - c, p - c) / area);
    [first, second, 1.0 - first - second]
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;
    use crate::flow::View;
    use crate::outline::{Outline, point};

    #[test]
    fn vertices_land_where_the_solver_put_them() {
        let fit = fixture::disc();
        let laid = Laid::new(&fit.film).unwrap();
        for (flat, at) in fit.film.flat.iter().zip(&fit.film.laid) {
            assert!((laid.land(*flat).point - *at).length() < 1e-9, "{flat:?}");
        }
    }

    #[test]
    fn a_circle_in_the_polar_layout_lands_on_a_parallel() {
        // Radii are true in this layout: the circle ρ goes to the parallel of radius R sin(ρ/R).
        let fit = fixture::disc();
        let laid = Laid::new(&fit.film).unwrap();
        let circle = Outline::circle(point(0.0, 0.0), 80.0).flattened(0.05);
        let shown = laid.shown(&circle, &Seen::All, &Camera::straight(View::Top));
        let parallel = fixture::RADIUS * libm::sin(80.0 / fixture::RADIUS);
        for p in &shown.rings[0] {
            // Chords of the fixture's mesh (24 rings, 96 spokes) dip by up to R(1 − cos 1.05°) + the same across.
            assert!((p.to_vector().length() - parallel).abs() < 0.15, "{p:?}");
        }
    }

    #[test]
    fn the_horizon_cuts_what_is_seen() {
        // From the left, half of a disc on the crown faces the viewer: the half with y < 0.
        let fit = fixture::disc();
        let laid = Laid::new(&fit.film).unwrap();
        let Seen::Part(seen) = laid.seen(&Camera::straight(View::Left), &|_| false) else {
            panic!("half is seen")
        };
        let half = std::f64::consts::PI * fixture::DISC * fixture::DISC / 2.0;
        assert!((seen.area() / half - 1.0).abs() < 0.02, "{}", seen.area() / half);
        assert!(seen.contains(point(0.0, -50.0)) && !seen.contains(point(0.0, 50.0)));
        assert!(matches!(laid.seen(&Camera::straight(View::Top), &|_| false), Seen::All));
        assert!(matches!(laid.seen(&Camera::straight(View::Bottom), &|_| false), Seen::Nothing));
    }

    #[test]
    fn points_off_the_film_stay_on_it() {
        let fit = fixture::disc();
        let laid = Laid::new(&fit.film).unwrap();
        let far = laid.land(point(1000.0, 0.0)).point;
        assert!((far.length() - fixture::RADIUS).abs() < 1.0, "{far:?}");
        assert!(Laid::new(&Film3::default()).is_none());
    }
}
