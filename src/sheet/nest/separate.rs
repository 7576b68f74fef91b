//! Pieces that overlap are moved apart, one at a time, each to where it overlaps least.
//!
//! Guided local search: every pair has a weight, and a pair that goes on
//! overlapping grows heavier, so that what was a good compromise a while ago
//! becomes a bad one and the search leaves it. Method: Voudouris and Tsang, Eur. J.
//! Oper. Res. 113:469, 1999; for nesting Egeblad, Nielsen and Odgaard, Eur. J. Oper.
//! Res. 183:1249, 2007, and Umetani et al., Int. Trans. Oper. Res. 16:661, 2009; the
//! weights' growth after Gardeyn, Vanden Berghe and Wauters, arXiv 2509.13329.

use super::table::{Table, Tries};
use crate::outline::chance::Chance;

/// A pair's weight grows by these factors each round that it overlaps: the least where
/// it overlaps a little beside the others, the most where it overlaps most; at rest it falls.
const GROWS: [f64; 2] = [1.2, 2.0];
const FALLS: f64 = 0.95;

/// Places tried when a piece is moved.
const TRIES: Tries = Tries { anywhere: 24, near: 12, improved: 3 };

/// When to give up.
#[derive(Clone, Copy, Debug)]
pub struct Patience {
    /// Rounds without a new least.
    pub rounds: usize,
    /// How often the search goes back to the least so far, weights kept, before it is given up.
    pub strikes: usize,
    /// What the table's `work` may come to.
    pub work: u64,
}

/// How deep each pair overlaps, and how much that counts.
struct Pairs {
    count: usize,
    depth: Vec<f64>,
    weight: Vec<f64>,
}

impl Pairs {
    fn of(table: &Table<'_>) -> Self {
        let count = table.pieces.len();
        let mut pairs = Self { count, depth: vec![0.0; count * count], weight: vec![1.0; count * count] };
        for piece in table.fixed..count {
            pairs.renew(table, piece);
        }
        pairs
    }

    /// After a piece was moved.
    fn renew(&mut self, table: &Table<'_>, piece: usize) {
        for other in 0..self.count {
            self.depth[piece * self.count + other] = 0.0;
            self.depth[other * self.count + piece] = 0.0;
        }
        table.meets(table.pieces[piece], piece, table.spots[piece], |other, step, shape, others| {
            let depth = shape.depth(step, others);
            self.depth[piece * self.count + other] = depth;
            self.depth[other * self.count + piece] = depth;
            true
        });
    }

    fn of_piece<'s>(&'s self, list: &'s [f64], piece: usize) -> &'s [f64] {
        &list[piece * self.count..(piece + 1) * self.count]
    }

    fn total(&self) -> f64 {
        self.depth.iter().sum::<f64>() / 2.0
    }

    fn weigh(&mut self) {
        let most = self.depth.iter().copied().fold(0.0, f64::max);
        for (weight, depth) in self.weight.iter_mut().zip(&self.depth) {
            *weight = if *depth > 0.0 {
                *weight * (GROWS[0] + (GROWS[1] - GROWS[0]) * depth / most)
            } else {
                (*weight * FALLS).max(1.0)
            };
        }
    }
}

/// Whether the pieces of the table could be moved apart. If not, they lie as they overlapped least.
pub fn separate(table: &mut Table<'_>, patience: Patience, chance: &mut Chance) -> bool {
    let mut pairs = Pairs::of(table);
    let mut least = pairs.total();
    let mut best = table.spots.clone();
    let mut strikes = 0;
    while least > 0.0 && strikes < patience.strikes && table.work.get() < patience.work {
        let before = least;
        let mut idle = 0;
        while idle < patience.rounds && table.work.get() < patience.work {
            round(table, &mut pairs, chance);
            let total = pairs.total();
            if total <= 0.0 {
                return true;
            }
            // A round counts as progress once it gains a fiftieth; less is taken all the same.
            idle = if total < 0.98 * least { 0 } else { idle + 1 };
            if total < least {
                least = total;
                best.clone_from(&table.spots);
            }
            pairs.weigh();
        }
        table.put_all(&best);
        for piece in table.fixed..table.pieces.len() {
            pairs.renew(table, piece);
        }
        strikes = if least < 0.98 * before { 0 } else { strikes + 1 };
    }
    least <= 0.0
}

/// Every piece that overlaps is moved once, in an order by chance.
fn round(table: &mut Table<'_>, pairs: &mut Pairs, chance: &mut Chance) {
    let overlaps = |pairs: &Pairs, piece: usize| pairs.of_piece(&pairs.depth, piece).iter().any(|&d| d > 0.0);
    let mut order: Vec<usize> =
        (table.fixed..table.pieces.len()).filter(|&piece| overlaps(pairs, piece)).collect();
    for k in (1..order.len()).rev() {
        order.swap(k, chance.index(k + 1));
    }
    for piece in order {
        if !overlaps(pairs, piece) {
            continue;
        }
        let (weights, depths) = (pairs.of_piece(&pairs.weight, piece), pairs.of_piece(&pairs.depth, piece));
        let now: f64 = weights.iter().zip(depths).map(|(weight, depth)| weight * depth).sum();
        let kind = table.pieces[piece];
        let cost = |spot, bound: f64| {
            let mut sum = 0.0;
            table.meets(kind, piece, spot, |other, step, shape, others| {
                sum += weights[other] * shape.depth(step, others);
                sum < bound
            });
            sum
        };
        let found = table.cheapest(kind, Some(table.spots[piece]), TRIES, chance, &cost);
        if let Some((spot, _)) = found.filter(|(_, value)| *value < now) {
            table.put(piece, spot);
            pairs.renew(table, piece);
        }
    }
}
