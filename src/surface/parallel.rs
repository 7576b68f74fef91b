//! Lines that keep a distance from another one, measured over the surface.
//!
//! Straight lines set out square to the base line and all stop at one length.
//! The ends are square to them (Gauss's lemma), as far apart as the Jacobi field
//! j with j(0) = 1, j′(0) = -κ says, and bend with -j′/j (geodesic parallel
//! coordinates: do Carmo, *Differential Geometry*, section 4-6). Where j falls
//! to 0 the line has a cusp; there is none beyond.

use super::geodesic::strode;
use super::path::{Path, PathError, Waypoint};
use super::{Start, Surface};
use glam::DVec3;

/// The line `offset` mm to the left of `base`, to the right where negative.
///
/// # Errors
/// A line with a cusp; a surface too rough to follow.
pub fn parallel(surface: &dyn Surface, base: &Path, offset: f64) -> Result<Path, PathError> {
    if offset == 0.0 {
        return Ok(base.clone());
    }
    let side = 1f64.copysign(offset);
    let mut places: Vec<Waypoint> = Vec::with_capacity(base.places.len());
    for place in &base.places {
        let across = Start { foot: place.foot, heading: place.start().left() * side };
        let (end, [spread, slope]) = strode(surface, &across, offset.abs(), [1.0, -place.bend * side])?;
        if spread <= 0.0 {
            return Err(PathError::Cusp { along: place.along });
        }
        let heading = end.heading.cross(end.foot.normal) * side;
        let along = places.last().map_or(0.0, |last| last.along + arc(last, end.foot.point, heading));
        places.push(Waypoint { along, foot: end.foot, heading, bend: -slope / spread * side });
    }
    Ok(Path { places, closed: base.closed })
}

/// Length from a place to the next, as of the circle with this chord and these headings: right to the
/// fifth power of the length.
fn arc(from: &Waypoint, to: DVec3, heading: DVec3) -> f64 {
    let chord = (to - from.foot.point).length();
    let half = ((heading - from.heading).length() / 2.0).min(1.0);
    if half < 1e-9 { chord } else { chord * libm::asin(half) / half }
}

#[cfg(test)]
mod tests {
    use super::super::section::{Plane, cut};
    use super::super::{Cone, Sphere};
    use super::*;

    #[test]
    fn beside_a_small_circle_lies_another() {
        let ball = Sphere { radius: 10.0 };
        let base = cut(&ball, &Plane { origin: DVec3::Z * 2.0, normal: DVec3::Z }, DVec3::X * 9.0, 1e-8);
        let base = base.unwrap();
        let from = libm::asin(0.2);
        for up in [-3.0, 1.0, 6.0] {
            // The cut has the pole on its right.
            let line = parallel(&ball, &base, -up).unwrap();
            let latitude = from + up / 10.0;
            let round = 20.0 * std::f64::consts::PI * libm::cos(latitude);
            assert!((line.length() - round).abs() < 1e-5, "{} {round}", line.length());
            for place in &line.places {
                assert!((place.foot.point.z - 10.0 * libm::sin(latitude)).abs() < 1e-5);
                assert!((place.bend + libm::tan(latitude) / 10.0).abs() < 1e-5, "{}", place.bend);
            }
        }
        let pole = (std::f64::consts::FRAC_PI_2 - from) * 10.0;
        assert!(matches!(parallel(&ball, &base, -pole - 0.1), Err(PathError::Cusp { .. })));
    }

    #[test]
    fn beside_a_ring_of_a_cone_lies_the_next() {
        let cone = Cone::new(2.5, 4.0, 4.0);
        let plane = Plane { origin: DVec3::X * 2.0, normal: DVec3::NEG_X };
        let base = cut(&cone, &plane, DVec3::new(2.0, 0.0, 3.0), 1e-9).unwrap();
        // Left of it is aft: half the slant further is the rear edge, R 11.392005 flat (ceemrr.com's frustum).
        let line = parallel(&cone, &base, 18.25f64.sqrt() / 2.0).unwrap();
        assert!((line.length() - 8.0 * std::f64::consts::PI).abs() < 1e-6, "{}", line.length());
        assert!(line.places.iter().all(|place| (place.bend.abs() - 1.0 / 11.392_005).abs() < 1e-8));
    }
}
