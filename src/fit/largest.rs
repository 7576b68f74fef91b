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
use crate::surface::Foot;

/// No piece is reported to fit at more than this many times its size.
pub const MOST: f64 = 4.0;

/// A piece that must shrink below this share of its size fits nowhere.
const LEAST: f64 = 1e-3;

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

    /// No longer than half of the smallest limit, as far as a film is looked at that finely.
    pub fn not_over(self, smallest: f64, size: f64) -> Self {
        let step = (smallest / 2.0).max(FINEST * size);
        let steps = (MOST * size / step).ceil();
        Self { steps: self.steps.max(steps as u32), ..self }
    }
    /// Where a ray is walked over the part, and only a guess is wanted.
    pub const GUESS: Self = Self { steps: 16, precision: 0.01 };
}

/// How much of the [`SLACK`] a growing piece may use, so that it still fits when measured along the film.
const SHARE_OF_SLACK: f64 = 0.25;

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
    for &q in outline {
        let clear = |f: f64| {
            let foot = lay(grow(q, f));
            fences.iter().map(|fence| fence.clearance(foot)).fold(f64::INFINITY, f64::min)
                + allowance(size, f)
        };
        let step = MOST / f64::from(rays.steps);
        let exit = (1..=rays.steps)
            .map(|k| step * f64::from(k))
            .take_while(|f| *f < best + step)
            .find(|&f| clear(f) < 0.0);
        let Some(exit) = exit else { continue };
        let (mut inside, mut outside) = (exit - step, exit);
        while outside > LEAST && outside - inside > rays.precision * outside {
            let middle = (inside + outside) / 2.0;
            if clear(middle) >= 0.0 { inside = middle } else { outside = middle }
        }
        best = best.min(inside);
    }
    best
}

/// Refines a guess by laying the piece at factors round it. `least_clearance` is the worst
/// clearance of the piece at a factor; negative infinity where it cannot be laid.
/// `step` is how far off the guess may well be, as a factor.
pub fn by_laying(guess: f64, mut step: f64, size: f64, least_clearance: &dyn Fn(f64) -> f64) -> f64 {
    let clear = |f: f64| least_clearance(f) + allowance(size, f);
    let guess = guess.clamp(LEAST, MOST);
    let (mut fits, mut fails);
    let first = clear(guess);
    if first >= 0.0 {
        (fits, fails) = ((guess, first), None);
        while fails.is_none() && fits.0 < MOST {
            let f = (fits.0 * step).min(MOST);
            let value = clear(f);
            if value >= 0.0 {
                fits = (f, value)
            } else {
                fails = Some((f, value))
            }
            step *= step;
        }
    } else {
        (fits, fails) = ((0.0, 0.0), Some((guess, first)));
        let mut f = guess;
        while fits.0 == 0.0 && f > LEAST {
            f /= step;
            let value = clear(f);
            if value >= 0.0 {
                fits = (f, value)
            } else {
                fails = Some((f, value))
            }
            step *= step;
        }
    }
    let Some(mut fails) = fails else { return fits.0 };
    // False position, aimed a little short of the root and then a little beyond it, so that
    // both ends close in on it.
    while fails.0 - fits.0 > PRECISION * fails.0 {
        let (wide, aim) = (fails.0 - fits.0, 0.4 * PRECISION * fails.0);
        let share = fits.1 / (fits.1 - fails.1);
        let root = fits.0 + wide * if share.is_finite() { share } else { 0.5 };
        let f = if root - fits.0 > 1.5 * aim { root - aim } else { root + aim };
        let f = f.clamp(fits.0 + 0.05 * wide, fails.0 - 0.05 * wide);
        let value = clear(f);
        if value >= 0.0 { fits = (f, value) } else { fails = (f, value) }
    }
    fits.0
}

fn allowance(size: f64, factor: f64) -> f64 {
    SHARE_OF_SLACK * SLACK * size * factor
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::point;
    use crate::surface::{Cylinder, Surface};

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
