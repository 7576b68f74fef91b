//! Flat positions of least energy for a curved net whose shape on the part is given.
//!
//! Newton's method, first with the positive part of the second derivatives, near
//! the end with all of them. No step is longer than nine tenths of the way to
//! the first triangle that would flip. Nothing holds the flat piece in its
//! plane: one point and one direction are tied by springs that bear no force.
//!
//! Left out: pieces that overlap themselves in the flat; only triangles are kept from flipping.

use super::Trouble;
use super::net::joined;
use super::planar::Measure;
use super::sparse::Blocks;
pub use super::sparse::Sums;
use crate::outline::{Point, point};
use faer::prelude::Mat;
use glam::DVec2;

/// Flat positions and what they cost.
#[derive(Clone, Debug)]
pub struct Unfolded {
    pub flat: Vec<Point>,
    /// The measure, summed over the area on the part.
    pub energy: f64,
    /// Newton steps taken.
    pub steps: usize,
}

/// Far more than the 5 to 15 steps that flattening takes.
const MOST_STEPS: usize = 300;

/// Below this change (root mean square strain of a step) the second derivatives are used as they are.
const NEAR: f64 = 0.05;

/// Strain (root mean square) by which the last step may still change the piece; what remains is about its square.
const LAST_CHANGE: f64 = 1e-5;

/// A search that stalls with less than this left has met the rounding.
const STALL_CHANGE: f64 = 1e-4;

/// A triangle as it lies on the part.
struct Facet {
    nodes: [usize; 3],
    edges: [usize; 3],
    area: f64,
    /// Gradients of the three corner functions, as complex numbers.
    gradients: [DVec2; 3],
}

/// z ↦ αz + βz̄.
struct Linear {
    alpha: DVec2,
    beta: DVec2,
}

struct Problem {
    measure: Measure,
    facets: Vec<Facet>,
    area: f64,
    matrix: Blocks,
    /// Two far points: the first is tied, the second kept in its direction from it.
    ties: [usize; 2],
}

/// Flattens triangles whose edges have these squared lengths on the part, numbered by the corner
/// across; `start` is any flat position without flipped triangles.
///
/// # Errors
/// [`Trouble::Folded`] where `start` has a flipped triangle, [`Trouble::Stuck`] where no least energy is found.
pub fn unfold(
    triangles: &[[u32; 3]],
    squares: &[[f64; 3]],
    start: &[Point],
    measure: Measure,
    sums: Sums,
) -> Result<Unfolded, Trouble> {
    let mut problem = Problem::new(triangles, squares, start, measure, sums)?;
    let mut flat: Vec<DVec2> = start.iter().map(|p| DVec2::new(p.x, p.y)).collect();
    let mut energy = problem.energy(&flat).ok_or(Trouble::Folded)?;
    let mut near = false;
    for steps in 1..=MOST_STEPS {
        let exact = if near { problem.step(&flat, false) } else { None };
        let (moves, gain) = match exact {
            Some(found) => found,
            None => problem.step(&flat, true).ok_or(Trouble::Stuck)?,
        };
        let change = (gain / problem.area).sqrt();
        let found = problem.search(&flat, &moves, energy, gain);
        let done = change < LAST_CHANGE || (found.is_none() && change < STALL_CHANGE);
        let moved = found.is_some();
        if let Some((next, lower)) = found {
            flat = next;
            energy = lower;
        } else if !done && !near {
            return Err(Trouble::Stuck);
        }
        if done {
            return Ok(Unfolded { flat: flat.iter().map(|p| point(p.x, p.y)).collect(), energy, steps });
        }
        // Where the exact step leads nowhere, the next one is by the positive part.
        near = moved && change < NEAR;
    }
    Err(Trouble::Stuck)
}

impl Problem {
    fn new(
        triangles: &[[u32; 3]],
        squares: &[[f64; 3]],
        start: &[Point],
        measure: Measure,
        sums: Sums,
    ) -> Result<Self, Trouble> {
        let (edges, sides) = joined(triangles, start.len());
        let facet = |((nodes, edges), squares): ((&[u32; 3], &[u32; 3]), &[f64; 3])| {
            Facet::new(nodes.map(|v| v as usize), edges.map(|e| e as usize), *squares)
        };
        let facets: Vec<Facet> = triangles
            .iter()
            .zip(&sides)
            .zip(squares)
            .map(facet)
            .collect::<Option<_>>()
            .ok_or(Trouble::Outline("a triangle has no area"))?;
        let area = facets.iter().map(|facet| facet.area).sum();
        let first = facets.first().map_or(0, |facet| facet.nodes[0]);
        let way = |k: usize| (start[k] - start[first]).square_length();
        let far = (0..start.len()).max_by(|&a, &b| way(a).total_cmp(&way(b))).unwrap_or(first);
        let matrix = Blocks::new(start.len(), &edges, sums).ok_or(Trouble::Memory)?;
        Ok(Self { measure, facets, area, matrix, ties: [first, far] })
    }

    /// `None` where a triangle is flipped.
    fn energy(&self, flat: &[DVec2]) -> Option<f64> {
        let mut sum = 0.0;
        for facet in &self.facets {
            let Linear { alpha, beta } = facet.linear(flat);
            let (u, v) = (alpha.length_squared(), beta.length_squared());
            if u <= v {
                return None;
            }
            sum += facet.area * self.measure.at(u + v, u - v).energy;
        }
        Some(sum)
    }

    /// The step and uᵀHu; `None` where the matrix is not positive definite.
    fn step(&mut self, flat: &[DVec2], convex: bool) -> Option<(Vec<DVec2>, f64)> {
        let mut gradient = vec![DVec2::ZERO; flat.len()];
        self.matrix.clear();
        for facet in &self.facets {
            facet.add(self.measure, flat, convex, &mut self.matrix, &mut gradient);
        }
        let [first, far] = self.ties;
        self.matrix.add_node(first, [1.0, 0.0, 1.0]);
        let across = (flat[far] - flat[first]).perp().normalize_or_zero();
        self.matrix.add_node(far, [across.x * across.x, across.x * across.y, across.y * across.y]);
        let mut right = Mat::zeros(2 * flat.len(), 1);
        for (k, slope) in gradient.iter().enumerate() {
            right[(2 * k, 0)] = -slope.x;
            right[(2 * k + 1, 0)] = -slope.y;
        }
        self.matrix.factor()?.solve(&mut right);
        let moves: Vec<DVec2> =
            (0..flat.len()).map(|k| DVec2::new(right[(2 * k, 0)], right[(2 * k + 1, 0)])).collect();
        let gain = -moves.iter().zip(&gradient).map(|(u, g)| u.dot(*g)).sum::<f64>();
        (gain >= 0.0).then_some((moves, gain))
    }

    /// The first of the step's halves that lowers the energy enough.
    fn search(&self, flat: &[DVec2], moves: &[DVec2], energy: f64, gain: f64) -> Option<(Vec<DVec2>, f64)> {
        let free =
            self.facets.iter().map(|facet| facet.first_flip(flat, moves)).fold(f64::INFINITY, f64::min);
        let rounding = 1e-14 * energy.abs();
        let mut share = (0.9 * free).min(1.0);
        while share > 1e-9 {
            let next: Vec<DVec2> = flat.iter().zip(moves).map(|(p, u)| *p + *u * share).collect();
            if let Some(lower) = self.energy(&next)
                && lower <= energy - 1e-4 * share * gain + rounding
            {
                return Some((next, lower));
            }
            share /= 2.0;
        }
        None
    }
}

impl Facet {
    fn new(nodes: [usize; 3], edges: [usize; 3], [e0, e1, e2]: [f64; 3]) -> Option<Self> {
        let base = e2.sqrt();
        let x = (e2 + e1 - e0) / (2.0 * base);
        let y = (e1 - x * x).sqrt();
        let corners = [DVec2::ZERO, DVec2::new(base, 0.0), DVec2::new(x, y)];
        let double = base * y;
        let gradients = [0, 1, 2].map(|k| (corners[(k + 2) % 3] - corners[(k + 1) % 3]).perp() / double);
        (double > 0.0).then_some(Self { nodes, edges, area: double / 2.0, gradients })
    }

    fn linear(&self, flat: &[DVec2]) -> Linear {
        let mut linear = Linear { alpha: DVec2::ZERO, beta: DVec2::ZERO };
        for (&node, &gradient) in self.nodes.iter().zip(&self.gradients) {
            let z = flat[node] / 2.0;
            linear.alpha += conjugate(gradient).rotate(z);
            linear.beta += gradient.rotate(z);
        }
        linear
    }

    /// Adds gradient and second derivatives.
    fn add(
        &self,
        measure: Measure,
        flat: &[DVec2],
        convex: bool,
        matrix: &mut Blocks,
        gradient: &mut [DVec2],
    ) {
        let Linear { alpha, beta } = self.linear(flat);
        let (q, r) = (alpha.length(), beta.length());
        let curvature = measure.at(q * q + r * r, q * q - r * r).curvature(q, r);
        let curvature = if convex { curvature.convex() } else { curvature };
        // Directions along α and β; any will do for β = 0.
        let (a, b) = (alpha / q, if r > 0.0 { beta / r } else { DVec2::X });
        // Derivatives of |α|, arg α, |β| and arg β (per radius) by each corner: Re(c dz) = (Re c, −Im c) · dz.
        let rows = self.gradients.map(|g| {
            let (c, d) = (conjugate(a.rotate(g)) / 2.0, conjugate(b).rotate(g) / 2.0);
            [conjugate(c), DVec2::new(c.y, c.x), conjugate(d), DVec2::new(d.y, d.x)]
        });
        let [aa, ab, bb] = curvature.along;
        for (k, row) in rows.iter().enumerate() {
            gradient[self.nodes[k]] +=
                self.area * (curvature.slope[0] * row[0] + curvature.slope[1] * row[2]);
        }
        let product = |p: &[DVec2; 4], q: &[DVec2; 4], i: usize, j: usize| {
            let radial = (aa * p[0][i] + ab * p[2][i]) * q[0][j] + (ab * p[0][i] + bb * p[2][i]) * q[2][j];
            let round = curvature.across[0] * p[1][i] * q[1][j] + curvature.across[1] * p[3][i] * q[3][j];
            self.area * (radial + round)
        };
        for k in 0..3 {
            let own = &rows[k];
            matrix.add_node(
                self.nodes[k],
                [product(own, own, 0, 0), product(own, own, 1, 0), product(own, own, 1, 1)],
            );
            let (p, q) = ((k + 1) % 3, (k + 2) % 3);
            let (low, high) = if self.nodes[p] < self.nodes[q] { (p, q) } else { (q, p) };
            matrix.add_edge(
                self.edges[k],
                [0, 1].map(|i| [0, 1].map(|j| product(&rows[low], &rows[high], i, j))),
            );
        }
    }

    /// The share of the step at which the triangle loses its area; infinite where it never does.
    /// (Smith and Schaefer, *Bijective parameterization with free boundaries*, 2015.)
    fn first_flip(&self, flat: &[DVec2], moves: &[DVec2]) -> f64 {
        let [a, b, c] = self.nodes;
        let (p, q) = (flat[b] - flat[a], flat[c] - flat[a]);
        let (u, v) = (moves[b] - moves[a], moves[c] - moves[a]);
        let (constant, linear, square) = (p.perp_dot(q), p.perp_dot(v) + u.perp_dot(q), u.perp_dot(v));
        let discriminant = linear * linear - 4.0 * square * constant;
        if discriminant < 0.0 {
            return f64::INFINITY;
        }
        // Roots without cancellation; the least positive one.
        let half = -(linear + discriminant.sqrt().copysign(linear)) / 2.0;
        let roots = [half / square, constant / half];
        roots.into_iter().filter(|&root| root > 0.0).fold(f64::INFINITY, f64::min)
    }
}

fn conjugate(z: DVec2) -> DVec2 {
    DVec2::new(z.x, -z.y)
}

#[cfg(test)]
mod tests {
    use super::super::mesh::{Mesh, spacing_for, triangulate};
    use super::*;
    use crate::outline::Outline;
    use crate::units::Full;
    use glam::DVec3;
    use std::f64::consts::PI;

    fn disc(radius: f64, triangles: f64) -> Mesh {
        let disc = Outline::<Full>::circle(point(0.0, 0.0), radius).flattened(1e-6 * radius);
        triangulate(&disc, spacing_for(PI * radius * radius, triangles)).unwrap()
    }

    fn chords(mesh: &Mesh, lift: impl Fn(&Point) -> DVec3) -> Vec<[f64; 3]> {
        let laid: Vec<DVec3> = mesh.points.iter().map(lift).collect();
        let square = |t: &[u32; 3], e: usize| {
            (laid[t[(e + 1) % 3] as usize] - laid[t[(e + 2) % 3] as usize]).length_squared()
        };
        mesh.triangles.iter().map(|t| [0, 1, 2].map(|e| square(t, e))).collect()
    }

    /// A cap of the unit sphere laid out by true distance and direction from its middle.
    fn cap(mesh: &Mesh) -> Vec<[f64; 3]> {
        chords(mesh, |p| {
            let r = p.to_vector().length();
            let (sin, cos) = libm::sincos(r);
            if r == 0.0 { DVec3::Z } else { DVec3::new(p.x / r * sin, p.y / r * sin, cos) }
        })
    }

    /// Area on the part and principal stretches, part to flat.
    fn stretches(mesh: &Mesh, squares: &[[f64; 3]], flat: &[Point]) -> Vec<(f64, [f64; 2])> {
        let flat: Vec<DVec2> = flat.iter().map(|p| DVec2::new(p.x, p.y)).collect();
        let one = |(t, squares): (&[u32; 3], &[f64; 3])| {
            let facet = Facet::new(t.map(|v| v as usize), [0; 3], *squares).unwrap();
            let Linear { alpha, beta } = facet.linear(&flat);
            (facet.area, [alpha.length() + beta.length(), alpha.length() - beta.length()])
        };
        mesh.triangles.iter().zip(squares).map(one).collect()
    }

    fn quantile(list: &[(f64, [f64; 2])], which: usize, share: f64) -> f64 {
        let mut sorted: Vec<(f64, f64)> = list.iter().map(|(area, s)| (s[which], *area)).collect();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let whole: f64 = sorted.iter().map(|(_, area)| area).sum();
        let mut below = 0.0;
        sorted
            .iter()
            .find(|(_, area)| {
                below += area;
                below >= share * whole
            })
            .unwrap()
            .0
    }

    #[test]
    fn cap_of_sixty_degrees_meets_the_closed_form() {
        // The continuous minimum of the rigid energy on a cap of the unit sphere, part to flat:
        // ρ(c) = t ln(1 + t₀²)/t₀² + ln(1 + t²)/t with t = tan(c/2), t₀ = tan 30°: scale at the centre 0.931523,
        // around the edge 1.150728. libigl 2.6.3 on 5046 triangles: 0.931591 and 1.150858.
        let mesh = disc(PI / 3.0, 5000.0);
        let squares = cap(&mesh);
        let found = unfold(&mesh.triangles, &squares, &mesh.points, Measure::Rigid, Sums::Portable).unwrap();
        let middle = found.flat[mesh.points.iter().position(|p| p.to_vector().length() < 1e-9).unwrap()];
        let edge: Vec<f64> = (0..mesh.points.len())
            .filter(|&k| mesh.boundary[k])
            .map(|k| (found.flat[k] - middle).length())
            .collect();
        let hoop = edge.iter().sum::<f64>() / edge.len() as f64 / libm::sin(PI / 3.0);
        assert!((hoop - 1.150_728).abs() < 2e-3, "{hoop}");
        let all = stretches(&mesh, &squares, &found.flat);
        let near = mesh
            .triangles
            .iter()
            .zip(&all)
            .filter(|(t, _)| t.iter().all(|&v| mesh.points[v as usize].to_vector().length() < 0.06));
        let scales: Vec<f64> = near.flat_map(|(_, (_, s))| *s).collect();
        let centre = scales.iter().sum::<f64>() / scales.len() as f64;
        assert!((centre - 0.931_523).abs() < 2e-3, "{centre}");
    }

    #[test]
    fn saddle_meets_another_program() {
        // z = 0.3 (x² − y²) over the unit disc, 5046 triangles, as rigid as possible by libigl 2.6.3: percentiles
        // of the principal stretches, part to flat, weighted by area.
        let mesh = disc(1.0, 5000.0);
        let squares = chords(&mesh, |p| DVec3::new(p.x, p.y, 0.3 * (p.x * p.x - p.y * p.y)));
        let found = unfold(&mesh.triangles, &squares, &mesh.points, Measure::Rigid, Sums::Portable).unwrap();
        let all = stretches(&mesh, &squares, &found.flat);
        let table = [
            (0, 0.01, 0.9997),
            (0, 0.5, 1.0095),
            (0, 0.99, 1.0209),
            (1, 0.01, 0.9591),
            (1, 0.5, 0.9881),
            (1, 0.99, 1.0204),
        ];
        for (which, share, expected) in table {
            let got = quantile(&all, which, share);
            assert!((got - expected).abs() < 3e-3, "{which} {share}: {got}, not {expected}");
        }
        let flat: f64 = all.iter().map(|(area, s)| area * s[0] * s[1]).sum();
        let part: f64 = all.iter().map(|(area, _)| area).sum();
        assert!((flat / part - 0.999_476).abs() < 3e-4, "{}", flat / part);
    }

    #[test]
    fn gradient_is_that_of_the_energy() {
        let mesh = disc(1.0, 100.0);
        let squares = cap(&mesh);
        let jitter = |k: usize| libm::sin(k as f64 * 12.9898) * 0.01;
        for measure in [Measure::Film { poisson: 0.3 }, Measure::Rigid, Measure::Dirichlet] {
            let mut problem =
                Problem::new(&mesh.triangles, &squares, &mesh.points, measure, Sums::Portable).unwrap();
            let flat: Vec<DVec2> = mesh
                .points
                .iter()
                .enumerate()
                .map(|(k, p)| DVec2::new(p.x * 1.1 + jitter(k), p.y * 0.9 + jitter(k + 99)))
                .collect();
            let steps: Vec<DVec2> =
                (0..flat.len()).map(|k| DVec2::new(jitter(2 * k), jitter(5 * k + 1))).collect();
            let at = |by: f64| {
                problem
                    .energy(&flat.iter().zip(&steps).map(|(p, u)| *p + *u * by).collect::<Vec<_>>())
                    .unwrap()
            };
            let slope = (at(1e-3) - at(-1e-3)) / 2e-3;
            let second = (at(1e-2) - 2.0 * at(0.0) + at(-1e-2)) / 1e-4;
            problem.matrix.clear();
            let mut gradient = vec![DVec2::ZERO; flat.len()];
            for facet in &problem.facets {
                facet.add(measure, &flat, false, &mut problem.matrix, &mut gradient);
            }
            let got: f64 = gradient.iter().zip(&steps).map(|(g, u)| g.dot(*u)).sum();
            assert!((got / slope - 1.0).abs() < 1e-5, "{measure:?} {got} {slope}");
            let form = problem.matrix.form(&steps.iter().flat_map(|u| [u.x, u.y]).collect::<Vec<_>>());
            assert!((form / second - 1.0).abs() < 1e-3, "{measure:?} {form} {second}");
        }
    }

    #[test]
    fn film_law_and_dirichlet_reach_a_least_energy_without_flips_and_a_folded_start_is_refused() {
        let mesh = disc(PI / 3.0, 1000.0);
        let squares = cap(&mesh);
        for measure in [Measure::Film { poisson: 0.4 }, Measure::Dirichlet] {
            let found = unfold(&mesh.triangles, &squares, &mesh.points, measure, Sums::Portable).unwrap();
            println!("{measure:?} {} {}", found.energy, found.steps);
            let problem =
                Problem::new(&mesh.triangles, &squares, &mesh.points, measure, Sums::Portable).unwrap();
            // Any small change of the piece costs energy.
            let flat: Vec<DVec2> = found.flat.iter().map(|p| DVec2::new(p.x, p.y)).collect();
            for k in 1..20 {
                let nudged: Vec<DVec2> =
                    flat.iter().map(|p| *p * (1.0 + 1e-3 * libm::sin(f64::from(k) * p.x + p.y))).collect();
                assert!(problem.energy(&nudged).unwrap() > found.energy);
            }
            assert!(found.steps < 20, "{}", found.steps);
        }
        let mirrored: Vec<Point> = mesh.points.iter().map(|p| point(-p.x, p.y)).collect();
        assert_eq!(
            unfold(&mesh.triangles, &squares, &mirrored, Measure::Rigid, Sums::Portable).unwrap_err(),
            Trouble::Folded
        );
    }
}
