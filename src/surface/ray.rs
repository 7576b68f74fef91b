//! Where a ray first meets a surface that can only tell its nearest point.
//!
//! The nearest point says how far the ray may go without meeting anything
//! (J. C. Hart, *Sphere Tracing*, The Visual Computer 12:527, 1996); close to
//! the surface Newton finishes, to rounding. A ray that grazes within 1e-9 of
//! the size may be called a hit or a miss.

use super::{Foot, Surface};
use glam::DVec3;

/// Newton takes over below this share of the size, where the surface is close to its tangent plane.
const CLOSE: f64 = 1e-3;
/// A ray within this share of the size has met the surface.
const MET: f64 = 1e-12;
/// A ray that has met a back face, or what goes on past an end, sets out again this share of the size further on.
const STEP: f64 = 1e-6;
/// Enough to cross any part, grazing it once or twice; a ray that needs more slides along the surface.
const MOST_STEPS: usize = 2000;

/// The first point of the part that a ray meets from outside; what lies past open ends is not the part.
pub fn first_hit(surface: &dyn Surface, origin: DVec3, direction: DVec3) -> Option<Foot> {
    let direction = direction.try_normalize()?;
    let [low, high] = surface.bounds();
    let (centre, size) = ((low + high) * 0.5, (high - low).length());
    // The part lies within a sphere of half its size.
    let closest = (centre - origin).dot(direction);
    let (mut t, end) = ((closest - size).max(0.0), closest + size);
    for _ in 0..MOST_STEPS {
        if t > end {
            return None;
        }
        let p = origin + direction * t;
        let foot = surface.project(p);
        let away = (p - foot.point).length();
        if away > CLOSE * size {
            t += away;
            continue;
        }
        let ahead = newton(surface, origin, direction, t, size).filter(|met| *met >= t - MET * size);
        if let Some(met) = ahead {
            let foot = surface.project(origin + direction * met);
            let outside_in = foot.normal.dot(direction) < 0.0;
            if met >= 0.0 && outside_in && surface.past_ends(foot.point) <= STEP * size {
                return Some(foot);
            }
            t = t.max(met);
        }
        t += away.max(STEP * size);
    }
    None
}

/// The ray's parameter on the surface near `start`, if Newton finds one near by.
pub fn newton(surface: &dyn Surface, origin: DVec3, direction: DVec3, start: f64, size: f64) -> Option<f64> {
    let mut t = start;
    for _ in 0..20 {
        let p = origin + direction * t;
        let foot = surface.project(p);
        let height = (p - foot.point).dot(foot.normal);
        if (p - foot.point).length() <= MET * size {
            return Some(t);
        }
        t -= height / foot.normal.dot(direction);
        // Also when the step was no number.
        let near = (t - start).abs() <= 100.0 * CLOSE * size;
        if !near {
            return None;
        }
    }
    None
}
