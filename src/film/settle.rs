//! The film finds its rest: least energy with every node on the part.
//!
//! Newton's method on the part itself. Each node moves by u in its tangent plane
//! and is projected back; seen from the plane it then drops by ½ II(u, u), so the
//! curvature of the part enters the second derivatives with the force that
//! presses the film against it. The second derivatives of [`Span`] beyond the
//! chord are left out: they are (angle)² times the stress, and cost no accuracy,
//! only a step now and then. The exact matrix is tried first; where it is not
//! positive definite, or leads uphill, its positive part takes its place.
//!
//! A film may be held *in the mean*: the mean place and turn of a patch stay what
//! they were given. That is three linear conditions, met by a bordered system; the
//! matrix alone does not resist sliding and gets three weak springs, which the
//! bordered system takes out again, so that they leave no trace in the answer.

use super::Trouble;
use super::energy::Law;
use super::held::{bordered, pulls, spring_blocks, springs};
use super::mesh::Mesh;
use super::net::{Net, Triangle};
use super::span::Span;
use super::sparse::{Blocks, MOST_COLUMNS, Sums};
use crate::surface::{Foot, Surface};
use faer::prelude::Mat;
use glam::DVec3;

/// What keeps the film from sliding.
#[derive(Debug)]
pub enum Hold {
    /// The sums of `pull · (x − target)` over the grips stay zero.
    Mean(Vec<Grip>),
    /// These nodes stay where they are.
    Nodes(Vec<bool>),
}

/// One node's share in a hold.
#[derive(Clone, Copy, Debug)]
pub struct Grip {
    pub node: u32,
    pub pull: [DVec3; 3],
    pub target: DVec3,
}

/// How the search ended.
#[derive(Clone, Copy, Debug)]
pub struct Settled {
    /// Membrane energy for Young's modulus × thickness 1, mm².
    pub energy: f64,
    /// Newton steps taken.
    pub steps: usize,
}

/// Far more than the 5 to 20 steps that films take.
const MOST_STEPS: usize = 200;

/// Strain (root mean square) by which the last step may change the film, however little the one before
/// tells of what follows: a twentieth of what is asked of the figures.
const LAST_CHANGE: f64 = 1e-6;

/// What may be left to change after a last step that is not as small, by [`left_after`].
const LEFT: f64 = 1e-8;

/// How much a step of this change leaves, after one of `before`: Newton's steps square what is left,
/// by a factor that the two show.
fn left_after(change: f64, before: f64) -> f64 {
    change * (change / before) * (change / before)
}

/// A search that stalls with less than this left to gain has met the rounding, or the
/// unevenness of a meshed part; with more it has failed. Strain, root mean square.
const STALL_CHANGE: f64 = 2e-5;

/// A step of which no more than this is good leads nowhere: on a meshed part, whose curvature is not quite
/// that of its faces, it would go on so by ever smaller steps.
const LEAST_SHARE: f64 = 1e-4;

/// A film on its way to rest.
pub struct Film<'a> {
    surface: &'a dyn Surface,
    net: Net,
    law: Law,
    hold: Hold,
    area: f64,
    matrix: Blocks,
    /// Where each node's unknowns are; `NONE` for held nodes.
    unknown: Vec<u32>,
    /// Which block couples the ends of an edge.
    block: Vec<u32>,
}

const NONE: u32 = u32::MAX;

/// Tangents, curvature and edges at the present place.
struct Local {
    tangents: Vec<[DVec3; 2]>,
    curvature: Vec<[f64; 3]>,
    spans: Vec<Span>,
    /// Derivative of each edge's square by the unknowns of its two ends.
    slopes: Vec<[[f64; 2]; 2]>,
}

/// A proposed step.
struct Step {
    moves: Vec<[f64; 2]>,
    /// Forces that the hold must give.
    reaction: [f64; 3],
    /// Twice the energy that a quadratic film would gain.
    gain: f64,
    /// Derivative of the energy along the step.
    descent: f64,
}

impl<'a> Film<'a> {
    /// # Errors
    /// [`Trouble::Memory`] where the factor would not fit.
    pub fn new(surface: &'a dyn Surface, net: Net, law: Law, hold: Hold) -> Result<Self, Trouble> {
        let mut count = 0;
        let mut number = |held: bool| {
            if held {
                return NONE;
            }
            count += 1;
            count - 1
        };
        let unknown: Vec<u32> = match &hold {
            Hold::Mean(_) => (0..net.nodes).map(|_| number(false)).collect(),
            Hold::Nodes(held) => held.iter().map(|&held| number(held)).collect(),
        };
        let mut edges = Vec::new();
        let block = net.edges.iter().map(|&[low, high]| {
            let ends = [unknown[low as usize], unknown[high as usize]];
            if ends.contains(&NONE) {
                return NONE;
            }
            edges.push(ends);
            edges.len() as u32 - 1
        });
        let block = block.collect();
        let matrix = Blocks::new(count as usize, &edges, Sums::Portable).ok_or(Trouble::Memory)?;
        Ok(Self { surface, area: net.area(), net, law, hold, matrix, unknown, block })
    }

    /// Moves the feet to where the film rests.
    ///
    /// # Errors
    /// [`Trouble::Folded`] where the film is flipped to begin with, [`Trouble::Stuck`] where no rest is found.
    pub fn settle(&mut self, feet: &mut Vec<Foot>) -> Result<Settled, Trouble> {
        let mut energy = self.energy(feet).ok_or(Trouble::Folded)?;
        let mut reaction = [0.0; 3];
        let mut exact = true;
        let mut steps = 0;
        let mut before = None;
        while steps < MOST_STEPS {
            steps += 1;
            let local = self.local(feet);
            let miss = self.miss(feet);
            let tried = if exact { self.step(&local, feet, miss, reaction, false) } else { None };
            exact = tried.is_some();
            let step = match tried {
                Some(step) => step,
                None => self.step(&local, feet, miss, reaction, true).ok_or(Trouble::Stuck)?,
            };
            let change = (step.gain.max(0.0) / self.area).sqrt();
            reaction = step.reaction;
            let Some((share, next, lower)) = self.search(feet, &local, energy, miss, &step) else {
                if exact {
                    exact = false;
                    continue;
                }
                return if change < STALL_CHANGE {
                    Ok(Settled { energy, steps })
                } else {
                    Err(Trouble::Stuck)
                };
            };
            *feet = next;
            energy = lower;
            let off = miss.iter().map(|m| m.abs()).fold(0.0, f64::max) / self.area.sqrt();
            let whole = exact && share == 1.0;
            let little = whole && before.is_some_and(|before| left_after(change, before) < LEFT);
            if (change < LAST_CHANGE || little) && off < LAST_CHANGE {
                return Ok(Settled { energy, steps });
            }
            before = whole.then_some(change);
            // A matrix whose steps must be cut short is not to be trusted for the next one.
            exact = !exact || share > 0.2;
        }
        Err(Trouble::Stuck)
    }

    /// Gives the film another flat shape, without new joints, and another hold.
    ///
    /// # Errors
    /// [`Trouble::Outline`] for a triangle that is flipped or has no area.
    pub fn reshape(&mut self, mesh: &Mesh, hold: Hold) -> Result<(), Trouble> {
        self.net.reshape(mesh)?;
        self.area = self.net.area();
        self.hold = hold;
        Ok(())
    }

    /// Where each node would go from these feet in one step.
    ///
    /// # Errors
    /// [`Trouble::Stuck`] where the film resists in no direction.
    pub fn urge(&mut self, feet: &[Foot]) -> Result<Vec<DVec3>, Trouble> {
        let local = self.local(feet);
        let miss = self.miss(feet);
        let step = match self.step(&local, feet, miss, [0.0; 3], false) {
            Some(step) => step,
            None => self.step(&local, feet, miss, [0.0; 3], true).ok_or(Trouble::Stuck)?,
        };
        let way = |([t0, t1], [u, v]): (&[DVec3; 2], [f64; 2])| *t0 * u + *t1 * v;
        Ok(local.tangents.iter().zip(step.moves).map(way).collect())
    }

    /// Energy of the film; `None` where a triangle is flipped.
    pub fn energy(&self, feet: &[Foot]) -> Option<f64> {
        let square = |&[a, b]: &[u32; 2]| Span::square(&feet[a as usize], &feet[b as usize]);
        let squares: Vec<f64> = self.net.edges.iter().map(square).collect();
        let mut sum = 0.0;
        for triangle in &self.net.triangles {
            let [a, b, c] = triangle.nodes.map(|v| feet[v as usize]);
            let facing = a.normal + b.normal + c.normal;
            if (b.point - a.point).cross(c.point - a.point).dot(facing) <= 0.0 {
                return None;
            }
            let laid = triangle.edges.map(|e| squares[e as usize]);
            sum += triangle.rest.area * self.law.energy(&triangle.rest, laid)?;
        }
        Some(sum)
    }

    /// How far each condition of the hold is from being met.
    fn miss(&self, feet: &[Foot]) -> [f64; 3] {
        let mut miss = [0.0; 3];
        if let Hold::Mean(grips) = &self.hold {
            for grip in grips {
                let off = feet[grip.node as usize].point - grip.target;
                for (miss, pull) in miss.iter_mut().zip(grip.pull) {
                    *miss += pull.dot(off);
                }
            }
        }
        miss
    }

    fn local(&self, feet: &[Foot]) -> Local {
        let tangents: Vec<[DVec3; 2]> = feet.iter().map(|foot| frame(foot.normal)).collect();
        let curvature: Vec<[f64; 3]> =
            feet.iter().zip(&tangents).map(|(&foot, &t)| self.surface.curvature(foot, t)).collect();
        let span = |&[a, b]: &[u32; 2]| Span::new(&feet[a as usize], &feet[b as usize]);
        let spans: Vec<Span> = self.net.edges.iter().map(span).collect();
        let slope = |span: &Span, node: u32| {
            let ([t0, t1], [a, b, c]) = (tangents[node as usize], curvature[node as usize]);
            // A step u moves the point by u and the normal by II(u).
            let along = [span.by_points.dot(t0), span.by_points.dot(t1)];
            let turn = [span.by_normals.dot(t0), span.by_normals.dot(t1)];
            [along[0] + a * turn[0] + b * turn[1], along[1] + b * turn[0] + c * turn[1]]
        };
        let slopes = spans
            .iter()
            .zip(&self.net.edges)
            .map(|(span, &[from, to])| [slope(span, from).map(|s| -s), slope(span, to)])
            .collect();
        Local { tangents, curvature, spans, slopes }
    }

    /// Fills the matrix; returns the gradient per node. `None` where a triangle is flipped.
    fn assemble(
        &mut self,
        local: &Local,
        feet: &[Foot],
        reaction: [f64; 3],
        convex: bool,
    ) -> Option<Vec<[f64; 2]>> {
        self.matrix.clear();
        let mut tension = vec![0.0; self.net.edges.len()];
        for k in 0..self.net.triangles.len() {
            let triangle = &self.net.triangles[k].clone();
            let laid = triangle.edges.map(|e| local.spans[e as usize].square);
            let response = self.law.response(&triangle.rest, laid, convex)?;
            for (&e, slope) in triangle.edges.iter().zip(response.slope) {
                tension[e as usize] += triangle.rest.area * slope;
            }
            self.add_triangle(local, triangle, response.bend);
        }
        let mut gradient = vec![[0.0; 2]; self.net.nodes];
        for (e, &tension) in tension.iter().enumerate() {
            for (node, slope) in self.net.edges[e].into_iter().zip(local.slopes[e]) {
                let sum = &mut gradient[node as usize];
                *sum = [sum[0] + tension * slope[0], sum[1] + tension * slope[1]];
            }
            self.add_edge(local, feet, e, tension, convex);
        }
        if let (Hold::Mean(grips), false) = (&self.hold, convex) {
            for grip in grips {
                let node = grip.node as usize;
                let force: DVec3 = grip.pull.iter().zip(reaction).map(|(&pull, r)| pull * r).sum();
                let press = -force.dot(feet[node].normal);
                self.matrix.add_node(self.unknown[node] as usize, local.curvature[node].map(|c| c * press));
            }
        }
        Some(gradient)
    }

    /// The part of the second derivatives that comes from the law: Gᵀ (∂²W) G with G the edges' slopes.
    fn add_triangle(&mut self, local: &Local, triangle: &Triangle, bend: [[f64; 3]; 3]) {
        // by[corner][edge]: slope of the edge's square by the corner's unknowns; the edge across has none.
        let mut by = [[[0.0; 2]; 3]; 3];
        for (k, &e) in triangle.edges.iter().enumerate() {
            let [low, high] = local.slopes[e as usize];
            let (p, q) = ((k + 1) % 3, (k + 2) % 3);
            let ordered = triangle.nodes[p] < triangle.nodes[q];
            (by[p][k], by[q][k]) = if ordered { (low, high) } else { (high, low) };
        }
        let area = triangle.rest.area;
        let product = |p: usize, q: usize, i: usize, j: usize| {
            let mut sum = 0.0;
            for e in [(p + 1) % 3, (p + 2) % 3] {
                for f in [(q + 1) % 3, (q + 2) % 3] {
                    sum += by[p][e][i] * bend[e][f] * by[q][f][j];
                }
            }
            area * sum
        };
        for p in 0..3 {
            let unknown = self.unknown[triangle.nodes[p] as usize];
            if unknown != NONE {
                let own = [product(p, p, 0, 0), product(p, p, 1, 0), product(p, p, 1, 1)];
                self.matrix.add_node(unknown as usize, own);
            }
            let (a, b) = ((p + 1) % 3, (p + 2) % 3);
            let block = self.block[triangle.edges[p] as usize];
            if block != NONE {
                let (low, high) = if triangle.nodes[a] < triangle.nodes[b] { (a, b) } else { (b, a) };
                let couple = [0, 1].map(|i| [0, 1].map(|j| product(low, high, i, j)));
                self.matrix.add_edge(block as usize, couple);
            }
        }
    }

    /// The part that comes from the tension of an edge: 2 |Δu|², and the drop of its ends.
    fn add_edge(&mut self, local: &Local, feet: &[Foot], e: usize, tension: f64, convex: bool) {
        let tension = if convex { tension.max(0.0) } else { tension };
        let ends = self.net.edges[e].map(|v| v as usize);
        for (node, sign) in ends.into_iter().zip([1.0, -1.0]) {
            let unknown = self.unknown[node];
            if unknown == NONE {
                continue;
            }
            let press = if convex { 0.0 } else { sign * local.spans[e].by_points.dot(feet[node].normal) };
            let [a, b, c] = local.curvature[node].map(|c| c * press * tension);
            self.matrix.add_node(unknown as usize, [2.0 * tension + a, b, 2.0 * tension + c]);
        }
        if self.block[e] != NONE {
            let [low, high] = ends.map(|node| local.tangents[node]);
            let couple = low.map(|s| high.map(|t| -2.0 * tension * s.dot(t)));
            self.matrix.add_edge(self.block[e] as usize, couple);
        }
    }

    /// Newton's step, or that of the positive part; `None` where the matrix is not positive definite or leads uphill.
    fn step(
        &mut self,
        local: &Local,
        feet: &[Foot],
        miss: [f64; 3],
        reaction: [f64; 3],
        convex: bool,
    ) -> Option<Step> {
        let gradient = self.assemble(local, feet, reaction, convex)?;
        let unknowns = 2 * self.matrix.nodes();
        let right = |columns: usize| {
            let mut right = Mat::zeros(unknowns, columns);
            for (slope, &place) in gradient.iter().zip(&self.unknown) {
                if place != NONE {
                    right[(2 * place as usize, 0)] = -slope[0];
                    right[(2 * place as usize + 1, 0)] = -slope[1];
                }
            }
            right
        };
        let (solution, reaction) = match &self.hold {
            Hold::Nodes(_) => {
                let mut right = right(1);
                self.matrix.factor()?.solve(&mut right);
                (right, [0.0; 3])
            }
            Hold::Mean(grips) => {
                let (springs, pulls) = (springs(&local.tangents, feet, grips), pulls(&local.tangents, grips));
                for (node, block) in spring_blocks(&springs) {
                    self.matrix.add_node(node, block);
                }
                bordered(&mut self.matrix.factor()?, right(MOST_COLUMNS), &springs, &pulls, miss)?
            }
        };
        let place = |&p: &u32| {
            let at = |k: usize| solution[(2 * p as usize + k, 0)];
            if p == NONE { [0.0; 2] } else { [at(0), at(1)] }
        };
        let moves: Vec<[f64; 2]> = self.unknown.iter().map(place).collect();
        let descent: f64 = moves.iter().zip(&gradient).map(|(u, g)| u[0] * g[0] + u[1] * g[1]).sum();
        let gain = -descent + reaction.iter().zip(miss).map(|(r, m)| r * m).sum::<f64>();
        // A film without strain gains nothing but rounding.
        (gain > -1e-24 * self.area).then_some(Step { moves, reaction, gain, descent })
    }

    /// The longest of the step's halves that lowers the energy, hold included, and flips nothing: its share, feet and energy.
    fn search(
        &self,
        feet: &[Foot],
        local: &Local,
        energy: f64,
        miss: [f64; 3],
        step: &Step,
    ) -> Option<(f64, Vec<Foot>, f64)> {
        // An exact penalty for the hold (Nocedal and Wright, Numerical Optimization, 18.3): more than the reaction.
        let most = step.reaction.iter().map(|r| r.abs()).fold(0.0, f64::max);
        let penalty = |miss: [f64; 3]| 2.0 * most * miss.iter().map(|m| m.abs()).sum::<f64>();
        let merit = energy + penalty(miss);
        let slope = step.descent - penalty(miss);
        // Squared lengths are known to their last bit, stress times that is the least difference of energies.
        let rounding = 1e-14 * (energy * self.area).sqrt() + 1e-26 * self.area;
        let mut share = 1.0;
        while share > LEAST_SHARE {
            let moved = |(k, foot): (usize, &Foot)| {
                let ([t0, t1], [u, v]) = (local.tangents[k], step.moves[k]);
                if u == 0.0 && v == 0.0 {
                    return *foot;
                }
                self.surface.project(foot.point + (t0 * u + t1 * v) * share)
            };
            let next: Vec<Foot> = feet.iter().enumerate().map(moved).collect();
            if let Some(lower) = self.energy(&next)
                && lower + penalty(self.miss(&next)) <= merit + 1e-4 * share * slope + rounding
            {
                return Some((share, next, lower));
            }
            share /= 2.0;
        }
        None
    }
}

/// Two tangents square to each other and to the normal.
fn frame(normal: DVec3) -> [DVec3; 2] {
    let t = normal.any_orthonormal_vector();
    [t, normal.cross(t)]
}

#[cfg(test)]
mod tests {
    use super::super::mesh::triangulate;
    use super::*;
    use crate::flow::View;
    use crate::outline::{Outline, point};
    use crate::surface::{Ellipsoid, Plate};
    use crate::units::Full;

    fn disc(spacing: f64) -> Mesh {
        triangulate(&Outline::<Full>::circle(point(0.0, 0.0), 10.0).flattened(1e-3), spacing).unwrap()
    }

    fn net(mesh: &Mesh) -> Net {
        Net::new(mesh, &(0..mesh.points.len() as u32).collect::<Vec<_>>()).unwrap()
    }

    /// A number between −1 and 1 that jumps about with k.
    fn jitter(k: usize) -> f64 {
        libm::sin(k as f64 * 12.9898) * libm::cos(k as f64 * 4.1414)
    }

    /// A film on `part`, roughly laid from above and stretched, with a step for each node.
    fn rough(part: &dyn Surface, mesh: &Mesh) -> (Vec<Foot>, Vec<[f64; 2]>) {
        let lay = |(k, p): (usize, &crate::outline::Point)| {
            part.project(DVec3::new(1.1 * p.x + 0.1 * jitter(k), 0.9 * p.y + 0.1 * p.x, 50.0))
        };
        let feet = mesh.points.iter().enumerate().map(lay).collect();
        let steps = (0..mesh.points.len()).map(|k| [jitter(k + 7), jitter(3 * k + 1)]).collect();
        (feet, steps)
    }

    fn moved(part: &dyn Surface, feet: &[Foot], steps: &[[f64; 2]], by: f64) -> Vec<Foot> {
        let step = |(foot, [u, v]): (&Foot, &[f64; 2])| {
            let [t0, t1] = frame(foot.normal);
            part.project(foot.point + (t0 * *u + t1 * *v) * by)
        };
        feet.iter().zip(steps).map(step).collect()
    }

    #[test]
    fn gradient_and_second_derivatives_are_those_of_the_energy_on_the_part() {
        let part = Ellipsoid { axes: DVec3::new(60.0, 40.0, 50.0) };
        let mesh = disc(2.5);
        let net = net(&mesh);
        let mut film = Film::new(&part, net, Law::new(0.4), Hold::Mean(Vec::new())).unwrap();
        let (feet, steps) = rough(&part, &mesh);
        let local = film.local(&feet);
        let gradient = film.assemble(&local, &feet, [0.0; 3], false).unwrap();
        let energy = |by: f64| film.energy(&moved(&part, &feet, &steps, by)).unwrap();
        let slope: f64 = gradient.iter().zip(&steps).map(|(g, u)| g[0] * u[0] + g[1] * u[1]).sum();
        let step = 1e-4;
        let expected =
            (8.0 * (energy(step) - energy(-step)) - energy(2.0 * step) + energy(-2.0 * step)) / (12.0 * step);
        assert!((slope / expected - 1.0).abs() < 1e-7, "{slope} {expected}");
        let flat: Vec<f64> = steps.iter().flatten().copied().collect();
        let form = film.matrix.form(&flat);
        let second = (energy(1e-3) - 2.0 * energy(0.0) + energy(-1e-3)) / 1e-6;
        // Left out of the matrix: (angle per edge)² times stress, here 0.06² of a tenth.
        assert!((form / second - 1.0).abs() < 1e-3, "{form} {second}");
    }

    #[test]
    fn on_a_plate_the_second_derivatives_are_exact() {
        let part = Plate::new(100.0, 100.0, View::Top);
        let mesh = disc(2.5);
        let net = net(&mesh);
        let mut film = Film::new(&part, net, Law::new(0.4), Hold::Mean(Vec::new())).unwrap();
        let (feet, steps) = rough(&part, &mesh);
        let local = film.local(&feet);
        film.assemble(&local, &feet, [0.0; 3], false).unwrap();
        let energy = |by: f64| film.energy(&moved(&part, &feet, &steps, by)).unwrap();
        let flat: Vec<f64> = steps.iter().flatten().copied().collect();
        let h = 2e-3;
        let second =
            (16.0 * (energy(h) + energy(-h)) - 30.0 * energy(0.0) - energy(2.0 * h) - energy(-2.0 * h))
                / (12.0 * h * h);
        assert!(
            (film.matrix.form(&flat) / second - 1.0).abs() < 1e-6,
            "{} {second}",
            film.matrix.form(&flat)
        );
    }

    #[test]
    fn convex_part_is_positive_where_the_whole_is_not() {
        // Squeezed to four fifths, film in the plane buckles sideways: the exact matrix has negative directions.
        let part = Plate::new(100.0, 100.0, View::Top);
        let mesh = disc(2.0);
        let net = net(&mesh);
        let mut film = Film::new(&part, net, Law::new(0.4), Hold::Mean(Vec::new())).unwrap();
        let feet: Vec<Foot> =
            mesh.points.iter().map(|p| part.project(DVec3::new(0.8 * p.x, 0.8 * p.y, 1.0))).collect();
        let local = film.local(&feet);
        film.assemble(&local, &feet, [0.0; 3], true).unwrap();
        for k in 0..50 {
            let u: Vec<f64> = (0..2 * feet.len()).map(|i| jitter(i * (k + 1) + k)).collect();
            assert!(film.matrix.form(&u) >= 0.0);
        }
        // A turn about the middle: no strain to first order, and squeezed film gains by it to second order.
        film.assemble(&local, &feet, [0.0; 3], false).unwrap();
        let turn = feet.iter().flat_map(|foot| {
            let way = DVec3::Z.cross(foot.point);
            frame(foot.normal).map(|t| t.dot(way))
        });
        assert!(film.matrix.form(&turn.collect::<Vec<_>>()) < 0.0);
    }

    #[test]
    fn patch_test() {
        // Edges held where an even stretch puts them: the inside must follow (Irons' patch test).
        let part = Plate::new(100.0, 100.0, View::Top);
        let mesh = disc(2.0);
        let net = net(&mesh);
        let even = |p: &crate::outline::Point| {
            part.project(DVec3::new(1.1 * p.x + 0.2 * p.y, 0.1 * p.x + 0.9 * p.y, 1.0))
        };
        let mut film = Film::new(&part, net, Law::new(0.4), Hold::Nodes(mesh.boundary.clone())).unwrap();
        let start = |(k, p): (usize, &crate::outline::Point)| {
            let at = even(p);
            if mesh.boundary[k] {
                at
            } else {
                part.project(at.point + DVec3::new(jitter(k), jitter(k + 1), 0.0) * 0.3)
            }
        };
        let mut feet: Vec<Foot> = mesh.points.iter().enumerate().map(start).collect();
        let settled = film.settle(&mut feet).unwrap();
        for (foot, p) in feet.iter().zip(&mesh.points) {
            assert!((foot.point - even(p).point).length() < 1e-9);
        }
        assert!(settled.steps <= 6, "{}", settled.steps);
    }
}
