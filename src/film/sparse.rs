//! Symmetric matrices of 2 × 2 blocks on a net of nodes, factored by faer.
//!
//! The pattern and the symbolic factor are made once; values are set anew for
//! every step. Only the lower triangle is kept. One thread: pieces run side by
//! side, a piece does not.

use dyn_stack::{MemBuffer, MemStack, StackReq};
use faer::linalg::cholesky::llt::factor::LltRegularization;
use faer::perm::PermRef;
use faer::prelude::Mat;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::amd;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LltRef, SymbolicCholesky, SymmetricOrdering, factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMat};
use faer::{Conj, Par, Side, Spec};

/// In which order a factor adds up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sums {
    /// Column by column: the same bits on every processor, as what is written must have.
    Portable,
    /// Columns gathered for faer's dense kernels, which add up by the width of the machine: the last
    /// digits differ, and large nets take a third of the time.
    Fastest,
}

/// Two unknowns per node; a block per node and per edge.
pub struct Blocks {
    pattern: SymbolicSparseColMat<u32>,
    symbolic: SymbolicCholesky<u32>,
    values: Vec<f64>,
    /// The factor's own values, and room to work in: kept from step to step.
    factor: Vec<f64>,
    room: MemBuffer,
    /// Where each node's two columns begin in `values`.
    columns: Vec<[usize; 2]>,
    /// Where each edge's block begins in the two columns of its lower node.
    places: Vec<[usize; 2]>,
}

/// Columns that are solved for at a time.
pub const MOST_COLUMNS: usize = 7;

/// A factored matrix.
pub struct Factor<'a> {
    values: LltRef<'a, u32, f64>,
    room: &'a mut MemBuffer,
}

impl Blocks {
    /// `edges` run from the lower to the higher node, sorted, each once.
    ///
    /// `None` where the factor would not fit in memory.
    pub fn new(nodes: usize, edges: &[[u32; 2]], sums: Sums) -> Option<Self> {
        debug_assert!(edges.windows(2).all(|pair| pair[0] < pair[1]));
        let mut pointers = Vec::with_capacity(2 * nodes + 1);
        let mut rows = Vec::new();
        let mut columns = Vec::with_capacity(nodes);
        let mut places = vec![[0; 2]; edges.len()];
        let mut next = 0;
        for node in 0..nodes {
            let own = next..next + edges[next..].iter().take_while(|edge| edge[0] as usize == node).count();
            next = own.end;
            let mut starts = [0; 2];
            for half in 0..2 {
                starts[half] = rows.len();
                pointers.push(rows.len());
                rows.extend(2 * node + half..2 * node + 2);
                for e in own.clone() {
                    places[e][half] = rows.len();
                    let other = 2 * edges[e][1] as usize;
                    rows.extend([other, other + 1]);
                }
            }
            columns.push(starts);
        }
        pointers.push(rows.len());
        let values = vec![0.0; rows.len()];
        let narrow = |list: Vec<usize>| list.into_iter().map(u32::try_from).collect::<Result<Vec<_>, _>>();
        let (pointers, rows) = (narrow(pointers).ok()?, narrow(rows).ok()?);
        let pattern = SymbolicSparseColMat::new_checked(2 * nodes, 2 * nodes, pointers, None, rows);
        let [forward, inverse] = order(nodes, edges)?;
        let order = SymmetricOrdering::Custom(PermRef::new_checked(&forward, &inverse, 2 * nodes));
        let supernodal_flop_ratio_threshold = match sums {
            Sums::Portable => SupernodalThreshold::FORCE_SIMPLICIAL,
            Sums::Fastest => SupernodalThreshold::AUTO,
        };
        let params = CholeskySymbolicParams { supernodal_flop_ratio_threshold, ..Default::default() };
        let symbolic = factorize_symbolic_cholesky(pattern.as_ref(), Side::Lower, order, params).ok()?;
        let mut factor = Vec::new();
        factor.try_reserve_exact(symbolic.len_val()).ok()?;
        factor.resize(symbolic.len_val(), 0.0);
        let needed = StackReq::any_of(&[
            symbolic.factorize_numeric_llt_scratch::<f64>(Par::Seq, Spec::default()),
            symbolic.solve_in_place_scratch::<f64>(MOST_COLUMNS, Par::Seq),
        ]);
        let room = MemBuffer::try_new(needed).ok()?;
        Some(Self { pattern, symbolic, values, factor, room, columns, places })
    }

    pub fn nodes(&self) -> usize {
        self.columns.len()
    }

    pub fn clear(&mut self) {
        self.values.fill(0.0);
    }

    /// Adds `[m₀₀, m₁₀, m₁₁]` to a node's own block.
    pub fn add_node(&mut self, node: usize, block: [f64; 3]) {
        let [first, second] = self.columns[node];
        self.values[first] += block[0];
        self.values[first + 1] += block[1];
        self.values[second] += block[2];
    }

    /// Adds to an edge's block; `block[i][j]` couples unknown i of the lower node with j of the higher.
    pub fn add_edge(&mut self, edge: usize, block: [[f64; 2]; 2]) {
        for (place, column) in self.places[edge].into_iter().zip(block) {
            self.values[place] += column[0];
            self.values[place + 1] += column[1];
        }
    }

    /// uᵀ M u.
    #[cfg(test)]
    pub fn form(&self, u: &[f64]) -> f64 {
        let mut sum = 0.0;
        for (column, &value) in u.iter().enumerate() {
            for k in self.pattern.col_range(column) {
                let row = self.pattern.row_idx()[k] as usize;
                let both = if row == column { 1.0 } else { 2.0 };
                sum += both * self.values[k] * u[row] * value;
            }
        }
        sum
    }

    /// `None` where the matrix is not positive definite.
    pub fn factor(&mut self) -> Option<Factor<'_>> {
        let matrix = SparseColMatRef::new(self.pattern.as_ref(), self.values.as_slice());
        let factored = self.symbolic.factorize_numeric_llt(
            &mut self.factor,
            matrix,
            Side::Lower,
            LltRegularization::default(),
            Par::Seq,
            MemStack::new(&mut self.room),
            Spec::default(),
        );
        factored.ok().map(|values| Factor { values, room: &mut self.room })
    }
}

/// An order of the unknowns that fills in little, and its inverse: by minimum degree over the nodes,
/// so that the two unknowns of each stay side by side.
fn order(nodes: usize, edges: &[[u32; 2]]) -> Option<[Vec<u32>; 2]> {
    let mut pointers = vec![0u32; nodes + 1];
    for edge in edges {
        pointers[edge[0] as usize + 1] += 1;
    }
    for node in 0..nodes {
        pointers[node + 1] += pointers[node];
    }
    let rows = edges.iter().map(|edge| edge[1]).collect();
    let net = SymbolicSparseColMat::new_checked(nodes, nodes, pointers, None, rows);
    let (mut forward, mut inverse) = (vec![0; nodes], vec![0; nodes]);
    let needed = amd::order_maybe_unsorted_scratch::<u32>(nodes, edges.len());
    let mut room = MemBuffer::try_new(needed).ok()?;
    let control = amd::Control::default();
    amd::order_maybe_unsorted(&mut forward, &mut inverse, net.as_ref(), control, MemStack::new(&mut room))
        .ok()?;
    Some([forward, inverse].map(|order| order.iter().flat_map(|&node| [2 * node, 2 * node + 1]).collect()))
}

impl Factor<'_> {
    /// Solves for each column in place; at most [`MOST_COLUMNS`].
    pub fn solve(&mut self, columns: &mut Mat<f64>) {
        self.values.solve_in_place_with_conj(Conj::No, columns.as_mut(), Par::Seq, MemStack::new(self.room));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chain_of_blocks_solves() {
        // Three nodes in a row, 4 on the diagonal, a coupling that is not symmetric in itself.
        let edges = [[0, 1], [1, 2]];
        let mut blocks = Blocks::new(3, &edges, Sums::Portable).unwrap();
        let coupling = [[-1.0, 0.5], [0.25, -0.75]];
        for node in 0..3 {
            blocks.add_node(node, [4.0, 0.3, 5.0]);
        }
        blocks.add_edge(0, coupling);
        blocks.add_edge(1, coupling);
        let x = [1.0, -2.0, 3.0, 0.5, -1.5, 2.5];
        let mut b = Mat::zeros(6, 1);
        for node in 0..3 {
            let (i, j) = (2 * node, 2 * node + 1);
            b[(i, 0)] += 4.0 * x[i] + 0.3 * x[j];
            b[(j, 0)] += 0.3 * x[i] + 5.0 * x[j];
        }
        for [low, high] in edges.map(|e| e.map(|v| v as usize)) {
            for i in 0..2 {
                for j in 0..2 {
                    b[(2 * low + i, 0)] += coupling[i][j] * x[2 * high + j];
                    b[(2 * high + j, 0)] += coupling[i][j] * x[2 * low + i];
                }
            }
        }
        blocks.factor().unwrap().solve(&mut b);
        for (k, x) in x.into_iter().enumerate() {
            assert!((b[(k, 0)] - x).abs() < 1e-13);
        }
        blocks.add_node(1, [-9.0, 0.0, 0.0]);
        assert!(blocks.factor().is_none());
    }
}
