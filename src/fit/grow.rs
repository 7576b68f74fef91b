//! How large a draped piece could be: rays first, then film laid at sizes round the guess.
//!
//! Two nets tell the limit (L. F. Richardson, *The deferred approach to the limit*, Phil.
//! Trans. R. Soc. A 226:299, 1927): the error of the factor falls with the square of the spacing.

use super::fence::{self, Fence};
use super::largest::{self, Clearances, Grow, MOST, Rays, by_laying, by_rays, by_slopes};
use super::moulded::Moulded;
use super::overhang;
use super::refined::Refined;
use super::{settle, straight_on, unrolled};
use crate::film::trial::Trial;
use crate::flow::{Film3, Spot};
use crate::outline::{Point, Region};
use crate::surface::{Foot, Start};
use crate::units::Full;

/// Triangles of the nets. Two are enough where a fence stops the piece; where the first one folds, at a
/// sharp nose or over most of a dome, a finer one may still go round.
const NETS: [usize; 3] = [250, 1000, 4000];

/// What is settled against a limit may lie past it by this share of its size and counts as up to it: a tenth of what
/// the largest fit is known to.
const SETTLED: f64 = 1e-4;

/// A piece that grows where it lies.
pub struct Growing<'a> {
    pub moulded: &'a Moulded,
    pub spot: &'a Spot,
    /// Where the hold point goes, before a piece that starts from a limit is pushed off it.
    pub origin: &'a Start,
    /// Where it lies at its own size.
    pub start: &'a Start,
    pub flat: &'a Region<Full>,
    pub fences: &'a [Fence<'a>],
    /// Its longer side, mm.
    pub size: f64,
    pub poisson: f64,
}

impl Growing<'_> {
    /// The greatest factor at which the piece fits, with all smaller ones. `free` are the fences that rays
    /// are to mind: a piece that starts from a limit is moved back to it as it grows. `grow` is linear, and
    /// growing by one factor and then by another is growing by both.
    pub fn largest(&self, rays: Rays, edge: &[Point], free: &[Fence<'_>], grow: Grow<'_>) -> f64 {
        let surface = self.moulded.surface.as_ref();
        let straight = |q: Point| straight_on(surface, self.start, q);
        let guess = by_rays(rays, edge, grow, &straight, free, self.size);
        if surface.development().is_none() {
            return self.by_nets(guess, grow);
        }
        // What starts from a limit is curved there once flat, and must be pushed further off it as it grows.
        let Spot::From { datum, .. } = *self.spot else { return guess };
        let mut room = |f: f64| {
            let flat = self.shaped(grow, f);
            let (laid, _) = unrolled(surface, &flat, self.start_of(&flat)).ok()?;
            let mut clear = self.clearances(free, &laid, f);
            // Against its own limit it is settled as near as that goes.
            let feet = laid.laid.iter().zip(&laid.normals).map(|(&point, &normal)| Foot { point, normal });
            let own = feet.map(|foot| fence::kept(self.moulded, datum, foot)).fold(f64::INFINITY, f64::min);
            clear.push(own + SETTLED * self.size * f);
            Some(clear)
        };
        by_laying(guess, 1.01, self.size, &mut room).factor
    }

    fn by_nets(&self, mut guess: f64, grow: Grow<'_>) -> f64 {
        let mut reached = largest::LEAST;
        for pair in NETS.windows(2) {
            let Some(mut net) = self.net(pair[0], guess, grow) else { continue };
            let mut room = |f: f64| self.laid(&mut net, f / guess, f, grow);
            let coarse = by_laying(guess, 1.01, self.size, &mut room);
            let first = coarse.factor;
            if first >= MOST {
                return first;
            }
            if coarse.folds {
                (reached, guess) = (reached.max(first), first.max(reached));
                continue;
            }
            let Some(fine) = self.net(pair[1], first, grow).filter(|_| first > largest::LEAST) else {
                return first;
            };
            let mut fine = fine.after(&net);
            let mut room = |f: f64| self.laid(&mut fine, f / first, f, grow);
            let factor = by_slopes(coarse, self.size, &mut room);
            let ratio = (pair[1] / pair[0]) as f64;
            return (factor + (factor - first) / (ratio - 1.0)).min(MOST);
        }
        reached
    }

    fn net(&self, triangles: usize, factor: f64, grow: Grow<'_>) -> Option<Trial<'_>> {
        let flat = self.shaped(grow, factor);
        let start = self.start_of(&flat);
        Trial::new(self.moulded.surface.as_ref(), &flat, &start, triangles, self.poisson).ok()
    }

    /// The clearances of the piece on a net at a factor; `by` is what the net must grow by for it.
    fn laid(&self, net: &mut Trial<'_>, by: f64, factor: f64, grow: Grow<'_>) -> Clearances {
        let start = self.start_of(&self.shaped(grow, factor));
        Some(self.clearances(self.fences, &net.lay(&|q| grow(q, by), &start).ok()?, factor))
    }

    fn shaped(&self, grow: Grow<'_>, factor: f64) -> Region<Full> {
        let ring = |ring: &Vec<Point>| ring.iter().map(|&q| grow(q, factor)).collect();
        Region::new(self.flat.rings.iter().map(ring).collect())
    }

    fn start_of(&self, flat: &Region<Full>) -> Start {
        settle(self.moulded, self.spot, self.origin, flat)
    }

    /// The worst clearance of a laid film from each fence: at its corners, and between them where a limit is
    /// small enough to slip through.
    fn clearances(&self, fences: &[Fence<'_>], film: &Film3, factor: f64) -> Vec<f64> {
        let finest = (fence::smallest(self.fences) / 3.0).max(overhang::FINEST * self.size * factor);
        let least = |fence| Refined::new(self.moulded.surface.as_ref(), film, fence, finest).least();
        fences.iter().map(least).collect()
    }
}
