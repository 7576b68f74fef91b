//! Newton's equations of a film that is held in the mean: three conditions bordering a matrix that,
//! by itself, lets the film slide and turn.
//!
//! Left out: what the conditions are (`hold`), and the matrix (`sparse`).

use super::settle::Grip;
use super::sparse::Factor;
use crate::surface::Foot;
use faer::prelude::Mat;
use glam::DVec3;

/// A sparse row over the unknowns.
pub type Row = Vec<(usize, [f64; 2])>;

/// Unit springs on one node, and across on the grip furthest from it: enough against sliding and turning.
pub fn springs(tangents: &[[DVec3; 2]], feet: &[Foot], grips: &[Grip]) -> [Row; 3] {
    let first = grips[0].node as usize;
    let from = feet[first].point;
    let far = grips.iter().map(|g| g.node as usize).max_by(|&a, &b| {
        let way = |k: usize| (feet[k].point - from).length_squared();
        way(a).total_cmp(&way(b))
    });
    let far = far.unwrap_or(first);
    let turn = feet[far].normal.cross(feet[far].point - from).normalize_or_zero();
    let across = tangents[far].map(|t| t.dot(turn));
    [vec![(first, [1.0, 0.0])], vec![(first, [0.0, 1.0])], vec![(far, across)]]
}

pub fn spring_blocks(springs: &[Row; 3]) -> impl Iterator<Item = (usize, [f64; 3])> + '_ {
    springs.iter().flatten().map(|&(node, [a, b])| (node, [a * a, a * b, b * b]))
}

pub fn pulls(tangents: &[[DVec3; 2]], grips: &[Grip]) -> [Row; 3] {
    [0, 1, 2].map(|k| {
        let entry = |grip: &Grip| {
            let node = grip.node as usize;
            (node, tangents[node].map(|t| t.dot(grip.pull[k])))
        };
        grips.iter().map(entry).collect()
    })
}

/// Solves H u + Aᵀ r = f, A u = −miss, where `factor` is that of H + B Bᵀ and the rows of B are the
/// springs, those of A the pulls. With w = Bᵀu the springs go to the right-hand side, and u is a
/// sum of seven solutions whose six coefficients w, r meet six linear conditions. `right` brings f in column 0.
pub fn bordered(
    factor: &mut Factor<'_>,
    mut right: Mat<f64>,
    springs: &[Row; 3],
    pulls: &[Row; 3],
    miss: [f64; 3],
) -> Option<(Mat<f64>, [f64; 3])> {
    let rows: Vec<&Row> = springs.iter().chain(pulls).collect();
    for (k, row) in rows.iter().enumerate() {
        let sign = if k < 3 { 1.0 } else { -1.0 };
        for &(node, [a, b]) in *row {
            right[(2 * node, k + 1)] += sign * a;
            right[(2 * node + 1, k + 1)] += sign * b;
        }
    }
    factor.solve(&mut right);
    let along = |row: &Row, column: usize| -> f64 {
        row.iter()
            .map(|&(node, [a, b])| a * right[(2 * node, column)] + b * right[(2 * node + 1, column)])
            .sum()
    };
    // Six equations, each with its right-hand side last.
    let mut small = [[0.0; 7]; 6];
    for (k, row) in rows.iter().enumerate() {
        small[k] = std::array::from_fn(|j| if j < 6 { along(row, j + 1) } else { -along(row, 0) });
        if k < 3 {
            small[k][k] -= 1.0;
        } else {
            small[k][6] -= miss[k - 3];
        }
    }
    let known = solved(small);
    for i in 0..right.nrows() {
        let sum: f64 = (0..6).map(|j| known[j] * right[(i, j + 1)]).sum();
        right[(i, 0)] += sum;
    }
    let reaction = [0, 1, 2].map(|k| known[k + 3]);
    reaction.iter().all(|r| r.is_finite()).then_some((right, reaction))
}

/// Gauss's elimination with row exchange; not finite where the equations depend on each other. Here and not
/// from faer, whose kernels add up in an order that depends on the processor.
fn solved(mut rows: [[f64; 7]; 6]) -> [f64; 6] {
    for k in 0..6 {
        let largest = (k..6).max_by(|&a, &b| rows[a][k].abs().total_cmp(&rows[b][k].abs())).unwrap_or(k);
        rows.swap(k, largest);
        let pivot = rows[k];
        for row in &mut rows[k + 1..] {
            let share = row[k] / pivot[k];
            for j in k..7 {
                row[j] -= share * pivot[j];
            }
        }
    }
    let mut known = [0.0; 6];
    for k in (0..6).rev() {
        let others: f64 = (k + 1..6).map(|j| rows[k][j] * known[j]).sum();
        known[k] = (rows[k][6] - others) / rows[k][k];
    }
    known
}
