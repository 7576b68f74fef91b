//! Straightest lines on a surface: the way a strip of tape runs by itself.
//!
//! Shooting integrates p″ = -II(p′, p′) n with the point put back on the surface
//! after each step, which keeps the order (E. Hairer, *Geometric Integration of
//! Differential Equations on Manifolds*, 2001), together with Jacobi's equation
//! j″ = -K j, which tells how far the end moves aside when the heading turns.
//! From point to point is then Newton's method on heading and length, begun on
//! a chain pulled tight. The line found is locally shortest and near the chain;
//! that no other is shorter is not proved. A line may also be steered: then it
//! has the geodesic curvature that is asked for.
//!
//! Errors are steered by the tangential part of the local error: on a mesh the
//! curvature is an estimate, and what it gets wrong lies along the normal and is
//! taken out by the projection.

use super::path::{MOST_STEPS, Path, PathError, Waypoint, least_step};
use super::{Foot, Start, Surface, ode};
use glam::DVec3;

/// Point, tangent, Jacobi field and its slope, arc length.
type State = [f64; 9];

/// No step between two places of a path is longer than this share of the part's size, so that a
/// cubic between them is good to 1e-7 of it.
const LONGEST_STEP: f64 = 0.02;

/// Nor of a line of which only the end is wanted: a longer one might pass over a bump.
const LONGEST_STRIDE: f64 = 0.1;

/// What a walk of some length may be wrong, as a share of it: under any strain that counts.
const WALKED: f64 = 1e-7;

/// The same where it will be moved anyway.
const ABOUT: f64 = 1e-3;

/// How a line is drawn.
struct Course<'a> {
    /// The geodesic curvature at an arc length; none for a straight line.
    steer: Option<&'a dyn Fn(f64) -> f64>,
    /// The Jacobi field and its slope to begin with.
    jacobi: [f64; 2],
    /// Longest step as a share of the part's size.
    longest: f64,
    tolerance: f64,
}

/// A line and the Jacobi field at its end.
struct Shot {
    path: Path,
    jacobi: [f64; 2],
}

/// The straight line from `start` over `length` mm, its end right to about `tolerance` mm.
///
/// # Errors
/// A heading that is none, a surface too rough to follow.
pub fn shoot(surface: &dyn Surface, start: &Start, length: f64, tolerance: f64) -> Result<Path, PathError> {
    let course = Course { steer: None, jacobi: [0.0, 1.0], longest: LONGEST_STEP, tolerance };
    shot(surface, start, length, &course).map(|shot| shot.path)
}

/// The line from `start` that has the geodesic curvature `bend` at each arc length.
///
/// # Errors
/// As [`shoot`].
pub fn steer(
    surface: &dyn Surface,
    start: &Start,
    bend: &dyn Fn(f64) -> f64,
    length: f64,
    tolerance: f64,
) -> Result<Path, PathError> {
    let course = Course { steer: Some(bend), jacobi: [0.0, 1.0], longest: LONGEST_STEP, tolerance };
    shot(surface, start, length, &course).map(|shot| shot.path)
}

/// The end of the straight line of this length, mm, backwards where negative; its heading still points
/// forwards. Where the surface is too rough to follow, the line is put down by one straight step.
#[must_use]
pub fn walk(surface: &dyn Surface, start: &Start, length: f64) -> Start {
    walk_within(surface, start, length, WALKED)
}

/// The same to a thousandth: where film is put down before it settles.
#[must_use]
pub fn walk_about(surface: &dyn Surface, start: &Start, length: f64) -> Start {
    walk_within(surface, start, length, ABOUT)
}

/// The same, right to a share of the length.
#[must_use]
pub fn walk_within(surface: &dyn Surface, start: &Start, length: f64, share: f64) -> Start {
    if let Some(end) = surface.straight(start, length) {
        return end;
    }
    let sign = 1f64.copysign(length);
    let backed = Start { heading: start.heading * sign, ..*start };
    let end = strode_within(surface, &backed, length.abs(), [0.0, 1.0], share).map_or_else(
        |_| {
            let foot = surface.project(start.foot.point + start.heading * length);
            settled(foot, backed.heading).unwrap_or(backed)
        },
        |(end, _)| end,
    );
    Start { heading: end.heading * sign, ..end }
}

/// The end of a straight line and, there, the Jacobi field that has this value and slope at its start.
///
/// # Errors
/// As [`shoot`].
pub fn strode(
    surface: &dyn Surface,
    start: &Start,
    length: f64,
    jacobi: [f64; 2],
) -> Result<(Start, [f64; 2]), PathError> {
    strode_within(surface, start, length, jacobi, WALKED)
}

fn strode_within(
    surface: &dyn Surface,
    start: &Start,
    length: f64,
    jacobi: [f64; 2],
    share: f64,
) -> Result<(Start, [f64; 2]), PathError> {
    let tolerance = share * length;
    let course = Course { steer: None, jacobi, longest: LONGEST_STRIDE, tolerance };
    let shot = shot(surface, start, length, &course)?;
    Ok((shot.path.places[shot.path.places.len() - 1].start(), shot.jacobi))
}

fn shot(surface: &dyn Surface, start: &Start, length: f64, course: &Course<'_>) -> Result<Shot, PathError> {
    let (size, tolerance) = (surface.size(), course.tolerance);
    let least = least_step(tolerance, size).min(0.1 * length);
    let bend = |along: f64| course.steer.map_or(0.0, |steer| steer(along));
    let waypoint =
        |along: f64, at: Start| Waypoint { along, foot: at.foot, heading: at.heading, bend: bend(along) };
    let first = settled(start.foot, start.heading).ok_or(PathError::NoHeading)?;
    let mut places = vec![waypoint(0.0, first)];
    let mut state = pack(first, course.jacobi, 0.0);
    let (mut along, mut h) = (0.0, length);
    for _ in 0..MOST_STEPS {
        if along >= length {
            return Ok(Shot { path: Path { places, closed: false }, jacobi: [state[6], state[7]] });
        }
        h = h.min(length - along).min(course.longest * size);
        let (next, error) = ode::step(|y| slope(surface, y, course.steer), &state, h);
        let foot = surface.project(DVec3::from_slice(&next[0..3]));
        let reached = settled(foot, DVec3::from_slice(&next[3..6])).ok_or(PathError::Lost { along })?;
        let missed = |v: &[f64]| DVec3::from_slice(v).reject_from_normalized(foot.normal).length();
        // A heading that is wrong by an angle is worth that angle over the rest of the way.
        let error = missed(&error[0..3]) + missed(&error[3..6]) * (length - along);
        let allowed = tolerance * h / length;
        // The nearest point may jump, from sheet to sheet or over a hollow edge; a line does not, but
        // by what it may be wrong anyway.
        let leap = (foot.point - DVec3::from_slice(&state[0..3])).length() > 2.0 * h + tolerance;
        if leap && h <= least {
            return Err(PathError::Lost { along });
        }
        let error = if leap { f64::INFINITY } else { error };
        if error <= allowed || h <= least {
            let last = length - along <= h;
            along = if last { length } else { along + h };
            places.push(waypoint(along, reached));
            state = pack(reached, [next[6], next[7]], along);
        }
        h = ode::next_step(h, error, allowed).max(least);
    }
    Err(PathError::Lost { along })
}

/// The straight line from one point of the surface to another, its end within `tolerance` mm.
///
/// # Errors
/// Points that coincide, or that no straight line near the tight chain joins.
pub fn between(surface: &dyn Surface, from: DVec3, to: DVec3, tolerance: f64) -> Result<Path, PathError> {
    let (foot, target) = (surface.project(from), surface.project(to).point);
    let chain = tight_chain(surface, foot.point, target);
    let mut length: f64 = chain.windows(2).map(|pair| (pair[1] - pair[0]).length()).sum();
    let mut heading = settled(foot, chain[1] - chain[0]).ok_or(PathError::NoHeading)?.heading;
    let mut miss = f64::INFINITY;
    for _ in 0..30 {
        let course =
            Course { steer: None, jacobi: [0.0, 1.0], longest: LONGEST_STEP, tolerance: 0.1 * tolerance };
        let Shot { path, jacobi: [swing, _] } = shot(surface, &Start { foot, heading }, length, &course)?;
        let end = path.places[path.places.len() - 1];
        let off = target - end.foot.point;
        miss = off.length();
        if miss <= tolerance {
            return Ok(path);
        }
        length += off.dot(end.heading).max(-0.5 * length);
        // A swing of 0 is a conjugate point, past which no line is shortest: a small turn off it will do.
        let aside = off.dot(end.foot.normal.cross(end.heading));
        let turn = if swing == 0.0 { 0.01 } else { (aside / swing).clamp(-0.3, 0.3) };
        let (sin, cos) = libm::sincos(turn);
        heading = heading * cos + foot.normal.cross(heading) * sin;
    }
    Err(PathError::NotReached { miss })
}

/// Points of a chain on the surface, and the rounds in which each moves to the middle of its
/// neighbours: 32 links pulled tight to a per cent or two, from where Newton converges.
const LINKS: usize = 32;
const ROUNDS: usize = 300;

fn tight_chain(surface: &dyn Surface, from: DVec3, to: DVec3) -> Vec<DVec3> {
    let straight = |k: usize| surface.project(from.lerp(to, k as f64 / LINKS as f64)).point;
    let mut chain: Vec<DVec3> = (0..=LINKS).map(straight).collect();
    (chain[0], chain[LINKS]) = (from, to);
    for _ in 0..ROUNDS {
        for k in 1..LINKS {
            chain[k] = surface.project((chain[k - 1] + chain[k + 1]) * 0.5).point;
        }
    }
    chain
}

/// The place with its heading brought into the tangent plane, if there is one.
fn settled(foot: Foot, heading: DVec3) -> Option<Start> {
    let heading = heading.reject_from_normalized(foot.normal).try_normalize()?;
    foot.point.is_finite().then_some(Start { foot, heading })
}

fn pack(place: Start, [swing, slope]: [f64; 2], along: f64) -> State {
    let (p, u) = (place.foot.point, place.heading);
    [p.x, p.y, p.z, u.x, u.y, u.z, swing, slope, along]
}

fn slope(surface: &dyn Surface, state: &State, steer: Option<&dyn Fn(f64) -> f64>) -> State {
    let (p, u) = (DVec3::from_slice(&state[0..3]), DVec3::from_slice(&state[3..6]));
    let foot = surface.project(p);
    let Some(here) = settled(foot, u) else { return [0.0; 9] };
    let [along, twist, aside] = surface.curvature(foot, [here.heading, here.left()]);
    let mut pull = -foot.normal * (along * u.length_squared());
    if let Some(steer) = steer {
        pull += here.left() * steer(state[8]);
    }
    let gauss = along * aside - twist * twist;
    [u.x, u.y, u.z, pull.x, pull.y, pull.z, state[7], -gauss * state[6], 1.0]
}

#[cfg(test)]
mod tests {
    use super::super::{Cylinder, Ellipsoid, Section, Sphere, Station};
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_great_circle_comes_home() {
        let ball = Sphere { radius: 125.0 };
        let foot = ball.project(DVec3::new(30.0, -40.0, 110.0));
        let start = Start { foot, heading: foot.normal.any_orthonormal_vector() };
        for tolerance in [1e-3, 1e-6, 1e-9] {
            let path = shoot(&ball, &start, 250.0 * PI, tolerance).unwrap();
            let end = path.places[path.places.len() - 1];
            assert!((end.foot.point - foot.point).length() < tolerance, "{tolerance}");
            assert!((end.heading - start.heading).length() < tolerance);
        }
    }

    /// From latitude 0, longitude 0 to 45°, 90° on the spheroid of half axes 1 and 0.8:
    /// 1.5093208090781571 (GeographicLib, exact geodesics).
    #[test]
    fn a_spheroid_geodesic() {
        let spheroid = Ellipsoid { axes: DVec3::new(1.0, 1.0, 0.8) };
        let (sin, cos) = libm::sincos(PI / 4.0);
        // The foot of a geodetic latitude lies where the normal rises by it.
        let stretch = (cos * cos + 0.64 * sin * sin).sqrt();
        let to = DVec3::new(0.0, cos / stretch, 0.64 * sin / stretch);
        let path = between(&spheroid, DVec3::X, to, 1e-9).unwrap();
        assert!((path.length() - 1.509_320_809_078_157_1).abs() < 1e-8, "{:.12}", path.length());
    }

    #[test]
    fn on_a_cylinder_it_is_a_helix() {
        // Diameter 10, pitch 20: one turn is 37.241917782372 long (√((10π)² + 20²)).
        let pipe = Cylinder { radius: 5.0, length: 100.0 };
        let foot = pipe.project(DVec3::new(10.0, 0.0, 9.0));
        let heading = DVec3::new(20.0, 10.0 * PI, 0.0).normalize();
        let path = shoot(&pipe, &Start { foot, heading }, 37.241_917_782_372, 1e-10).unwrap();
        let end = path.places[path.places.len() - 1].foot.point;
        assert!((end - foot.point - DVec3::X * 20.0).length() < 1e-9, "{end}");
    }

    #[test]
    fn from_point_to_point_on_a_loft() {
        let section =
            |at, diameter| Station { at, section: Section::Circle { diameter }, centre: [0.0, 0.0] };
        // Circles that grow evenly make a cone: straight in its development.
        let loft =
            super::super::Loft::new(&[section(0.0, 500.0), section(1000.0, 800.0), section(2000.0, 1100.0)]);
        let loft = loft.unwrap();
        let (a, b) = (loft.at(300.0, 0.2).unwrap().point, loft.at(1500.0, 1.3).unwrap().point);
        let path = between(&loft, a, b, 1e-7).unwrap();
        let slant = (1.0_f64 + 0.15 * 0.15).sqrt();
        let from_apex = |p: DVec3| (p.x + 250.0 / 0.15) * slant;
        let sector = 1.1 * 0.15 / slant;
        let (r, s) = (from_apex(a), from_apex(b));
        let chord = (r * r + s * s - 2.0 * r * s * libm::cos(sector)).sqrt();
        assert!((path.length() - chord).abs() < 1e-6, "{} {chord}", path.length());
    }
}
