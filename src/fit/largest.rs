//! The largest fit: how far a piece may grow about its hold point before it meets a limit.
//!
//! First by rays: every point of the outline walks straight out from the hold
//! point, and the first to meet a fence gives the factor below which all
//! smaller pieces fit. That is exact where the part unrolls. Where film has to
//! give, the piece is laid again at factors round the guess until the greatest
//! that fits is known to [`PRECISION`].

use super::fence::Fence;
use super::overhang::{FINEST, SLACK};
use crate::outline::Point;
use crate::surface::{Foot, Surface};

/// No piece is reported to fit at more than this many times its size.
pub const MOST: f64 = 4.0;

/// A piece that must shrink below this share of its size fits nowhere.
pub const LEAST: f64 = 1e-3;

/// Relative precision of the factor; half of the 0.1 % that is promised.
const PRECISION: f64 = 5e-4;

/// How closely rays are walked.
#[derive(Clone, Copy, Debug)]
pub struct Rays {
    /// Steps along a ray up to [`MOST`]. A limit that a ray crosses twice within one step would be missed.
    pub steps: u32,
    /// Relative precision of the factor.
    pub precision: f64,
}

impl Rays {
    /// Where a ray is a formula: steps of 1/64 of the piece.
    pub const EXACT: Self = Self { steps: 256, precision: PRECISION * 0.01 };

    /// The ones for a part.
    pub fn over(surface: &dyn Surface) -> Self {
        if surface.development().is_some() { Self::EXACT } else { Self::WALKED }
    }

    /// No longer than half of the smallest limit, as far as a film is looked at that finely.
    pub fn not_over(self, smallest: f64, size: f64) -> Self {
        let step = (smallest / 2.0).max(FINEST * size);
        let steps = (MOST * size / step).ceil();
        Self { steps: self.steps.max(steps as u32), ..self }
    }
    /// Where a ray is walked over the part: steps of 1/16 of the piece, for each costs a hundred times more.
    pub const WALKED: Self = Self { steps: 64, ..Self::EXACT };

    /// Where a ray is walked over the part, and only a guess is wanted.
    pub const GUESS: Self = Self { steps: 16, precision: 0.01 };
}

/// How much of the [`SLACK`] a growing piece may use, so that it still fits when measured along the film.
const SHARE_OF_SLACK: f64 = 0.25;

/// Every so many points of an outline are looked at before the rest.
const FEW: usize = 16;

/// A point of the film goes no further over the part than this many times its way on the flat: bent
/// film is longer on its outer side.
const STRETCHED: f64 = 2.0;

/// How a piece grows with the factor.
pub type Grow<'a> = &'a dyn Fn(Point, f64) -> Point;

/// The factor at which the first outline point, growing from nothing, meets a fence.
pub fn by_rays(
    rays: Rays,
    outline: &[Point],
    grow: Grow<'_>,
    lay: &dyn Fn(Point) -> Foot,
    fences: &[Fence<'_>],
    size: f64,
) -> f64 {
    let mut best = MOST;
    let least = |foot: Foot, of: fn(&Fence<'_>, Foot) -> f64| {
        fences.iter().map(|fence| of(fence, foot)).fold(f64::INFINITY, f64::min)
    };
    // A few all round first: the smaller the factor known, the less of each ray is walked.
    let rest = (0..outline.len()).filter(|k| k % FEW != 0);
    for q in (0..outline.len()).step_by(FEW).chain(rest).map(|k| outline[k]) {
        let clear = |f: f64, foot| least(foot, |fence, foot| fence.clearance(foot)) + allowance(size, f);
        let step = MOST / f64::from(rays.steps);
        let way = (grow(q, 1.0) - grow(q, 0.0)).length() * step;
        let mut k = 1;
        let exit = loop {
            let f = step * f64::from(k);
            if k > rays.steps || f >= best + step {
                break None;
            }
            let foot = lay(grow(q, f));
            if clear(f, foot) < 0.0 {
                break Some(f);
            }
            // What lies before the nearest fence need not be looked at.
            let room = least(foot, |fence, foot| fence.no_nearer(foot));
            let ahead = if way > 0.0 { room / (STRETCHED * way) } else { 0.0 };
            k += 1 + ahead.min(f64::from(rays.steps)) as u32;
        };
        let Some(exit) = exit else { continue };
        let (mut inside, mut outside) = (exit - step, exit);
        while outside > LEAST && outside - inside > rays.precision * outside {
            let middle = (inside + outside) / 2.0;
            if clear(middle, lay(grow(q, middle))) >= 0.0 { inside = middle } else { outside = middle }
        }
        best = best.min(inside);
    }
    best
}

/// How far inside each fence a piece lies at its worst, mm; `None` where it cannot be laid.
pub type Clearances = Option<Vec<f64>>;

/// A factor tried, with the room left at each fence.
struct Try {
    factor: f64,
    room: Clearances,
}

impl Try {
    fn at(factor: f64, size: f64, clearances: &mut dyn FnMut(f64) -> Clearances) -> Self {
        let spare = allowance(size, factor);
        let room = clearances(factor).map(|all| all.into_iter().map(|clear| clear + spare).collect());
        Self { factor, room }
    }

    fn fits(&self) -> bool {
        self.room.as_ref().is_some_and(|room| room.iter().all(|&left| left >= 0.0))
    }
}

/// Where a growing piece runs out of room.
#[derive(Clone, Debug)]
pub struct Edge {
    pub factor: f64,
    /// How fast the room at each fence changes there with the factor, mm; empty where it is not known.
    slopes: Vec<f64>,
    /// Whether it is not a fence that stops it: larger ones cannot be laid on this net.
    pub folds: bool,
}

impl Edge {
    fn bare(factor: f64) -> Self {
        Self { factor, slopes: Vec::new(), folds: false }
    }

    /// Where straight lines through two tries first meet a fence. Fences apart: their worst has a bend
    /// where one takes over from another.
    fn between(a: &Try, b: &Try) -> Option<Self> {
        let (one, two) = (a.room.as_ref()?, b.room.as_ref()?);
        let wide = b.factor - a.factor;
        let slopes: Vec<f64> = one.iter().zip(two).map(|(a, b)| (b - a) / wide).collect();
        let factor = first_met(b, &slopes);
        factor.is_finite().then_some(Self { factor, slopes, folds: false })
    }
}

/// The least factor at which the room at a fence is gone, going on from a try with these slopes.
fn first_met(from: &Try, slopes: &[f64]) -> f64 {
    let room = from.room.iter().flatten().zip(slopes).filter(|(_, slope)| **slope < 0.0);
    room.map(|(left, slope)| from.factor - left / slope).fold(f64::INFINITY, f64::min)
}

/// Where film begins to fold is not known better than this, as a share: it depends on the net.
const FOLDS_AT: f64 = 1e-2;

/// A straight line between two sizes is trusted for a root that is this near to one of them, as a share of it.
const NEAR: f64 = 1e-3;

/// Refines a guess by laying the piece at factors round it. `step` is how far off the guess may
/// well be, as a factor.
pub fn by_laying(
    guess: f64,
    mut step: f64,
    size: f64,
    clearances: &mut dyn FnMut(f64) -> Clearances,
) -> Edge {
    let mut tried = |f: f64| Try::at(f, size, clearances);
    let first = tried(guess.clamp(LEAST, MOST));
    let (mut fits, mut fails);
    if first.fits() {
        fits = first;
        loop {
            if fits.factor >= MOST {
                return Edge::bare(MOST);
            }
            let next = tried((fits.factor * step).min(MOST));
            step *= step;
            if !next.fits() {
                fails = next;
                break;
            }
            fits = next;
        }
    } else {
        fails = first;
        loop {
            if fails.factor <= LEAST {
                return Edge::bare(0.0);
            }
            let next = tried(fails.factor / step);
            step *= step;
            if next.fits() {
                fits = next;
                break;
            }
            fails = next;
        }
    }
    loop {
        let wide = fails.factor - fits.factor;
        let folds = fails.room.is_none();
        if wide <= if folds { FOLDS_AT } else { PRECISION } * fails.factor {
            return Edge::between(&fits, &fails).unwrap_or(Edge { folds, ..Edge::bare(fits.factor) });
        }
        let middle = fits.factor + wide / 2.0;
        let next = match Edge::between(&fits, &fails) {
            Some(edge) => {
                let root = edge.factor;
                if (root - fits.factor).abs().min((fails.factor - root).abs()) <= NEAR * root {
                    return edge;
                }
                tried(root.clamp(fits.factor + 0.05 * wide, fails.factor - 0.05 * wide))
            }
            None => tried(middle),
        };
        if next.fits() { fits = next } else { fails = next }
    }
}

/// The same on a finer net, which moves the edge only a little.
pub fn by_slopes(coarse: Edge, size: f64, clearances: &mut dyn FnMut(f64) -> Clearances) -> f64 {
    let Edge { factor, mut slopes, .. } = coarse;
    let mut last = Try::at(factor, size, clearances);
    for _ in 0..4 {
        let next = first_met(&last, &slopes);
        let change = (next - last.factor).abs();
        // Some per cent of error in the slope is then worth less than the precision.
        if change <= 3.0 * NEAR * last.factor {
            return next.min(MOST);
        }
        if change > 0.1 * last.factor || next >= MOST {
            break;
        }
        let there = Try::at(next, size, clearances);
        let Some(edge) = Edge::between(&last, &there) else { break };
        (slopes, last) = (edge.slopes, there);
    }
    by_laying(factor, 1.002, size, clearances).factor
}

fn allowance(size: f64, factor: f64) -> f64 {
    SHARE_OF_SLACK * SLACK * size * factor
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::point;
    use crate::surface::Cylinder;

    /// A ring at the very end of a tube: half of any band is past it, and halving comes to no end.
    #[test]
    fn a_piece_held_on_the_end_of_its_part_fits_at_no_size() {
        let tube = Cylinder { radius: 50.0, length: 2000.0 };
        let out = glam::DVec3::Z * 50.0;
        let lay = |q: Point| tube.project(out + glam::DVec3::X * q.y);
        let edge = [point(0.0, 25.0), point(0.0, -25.0)];
        let fits = by_rays(Rays::EXACT, &edge, &|q, f| q * f, &lay, &[Fence::Ends(&tube)], 50.0);
        assert!(fits < LEAST, "{fits}");
    }
}
