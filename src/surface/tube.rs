//! A circle swept along a bent path: handle loops, pipes, skids.
//!
//! The path's corners are rounded at the centreline, so the surface is made of
//! straight pipes and pieces of torus and everything about it is exact. `station`
//! is the length along the centreline from the path's start. `around` is carried
//! along by a frame that never spins about the path (rotation-minimising; for
//! lines and arcs the frame turns with the tangent and nothing else); it starts
//! with the top at +z, or at -x where the path starts straight up or down. On a
//! closed path that is not flat the frame comes home turned: `around` then jumps
//! at the start. Open ends go on straight.
//!
//! Left out: a path that comes so near to itself that the tube touches itself is
//! not noticed; each point then belongs to the nearer stretch.

use super::bvh::{EMPTY, Extent, united};
use super::error::{ShapeError, counted, positive};
use super::{Foot, Ring, Spine, Surface, ray};
use glam::{DQuat, DVec3};

/// Paths of more points than this are not drawn by hand, and every query looks at each stretch.
const MOST_POINTS: usize = 1000;

/// Two directions this near to each other, as a sine, are one.
const ALIGNED: f64 = 1e-9;

#[derive(Clone, Debug)]
pub struct Tube {
    radius: f64,
    stretches: Vec<Stretch>,
    closed: bool,
    length: f64,
    bounds: [DVec3; 2],
}

/// A straight or an arc of the centreline.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    from: DVec3,
    /// Unit tangent and top of the frame at `from`.
    tangent: DVec3,
    up: DVec3,
    /// Station of `from`, and the stretch's own length.
    start: f64,
    length: f64,
    /// For an arc the way to its centre and its radius.
    bend: Option<(DVec3, f64)>,
}

/// A place on the centreline.
#[derive(Clone, Copy, Debug)]
struct Place {
    stretch: usize,
    station: f64,
    point: DVec3,
    tangent: DVec3,
}

impl Stretch {
    /// Length along the stretch to the point nearest to `p`, without regard to its ends.
    fn nearest(&self, p: DVec3) -> f64 {
        let off = p - self.from;
        match self.bend {
            None => off.dot(self.tangent),
            Some((inward, radius)) => {
                let spoke = off - inward * radius;
                // Opposite to the middle of the arc the angle jumps from one end to the other.
                let half = 0.5 * self.length / radius;
                let angle = libm::atan2(spoke.dot(self.tangent), -spoke.dot(inward));
                let turned = (angle - half + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU);
                (turned - std::f64::consts::PI + half) * radius
            }
        }
    }

    fn at(&self, along: f64) -> (DVec3, DVec3) {
        match self.bend {
            None => (self.from + self.tangent * along, self.tangent),
            Some((inward, radius)) => {
                let (sin, cos) = libm::sincos(along / radius);
                let point = self.from + self.tangent * (radius * sin) + inward * (radius * (1.0 - cos));
                (point, self.tangent * cos + inward * sin)
            }
        }
    }

    /// The top of the frame at a length along: turned with the tangent, about the arc's axis.
    fn up(&self, along: f64) -> DVec3 {
        match self.bend {
            None => self.up,
            Some((inward, radius)) => {
                let (sin, cos) = libm::sincos(0.5 * along / radius);
                let axis = self.tangent.cross(inward) * sin;
                DQuat::from_xyzw(axis.x, axis.y, axis.z, cos) * self.up
            }
        }
    }

    /// Box of the tube round this stretch, cut square at its ends.
    fn bounds(&self, radius: f64) -> Extent {
        let mut stops = vec![0.0, self.length];
        if let Some((inward, bend)) = self.bend {
            // Where the centreline runs across an axis the tube stands out furthest along it.
            for axis in 0..3 {
                let level = libm::atan2(-self.tangent[axis], inward[axis]);
                let turns = (-2..=2).map(|k| (level + std::f64::consts::PI * f64::from(k)) * bend);
                stops.extend(turns.filter(|along| (0.0..=self.length).contains(along)));
            }
        }
        let ring = |along: f64| {
            let (centre, tangent) = self.at(along);
            let reach = (DVec3::ONE - tangent * tangent).max(DVec3::ZERO).map(f64::sqrt) * radius;
            [centre - reach, centre + reach]
        };
        stops.into_iter().map(ring).fold(EMPTY, united)
    }
}

impl Tube {
    /// A tube of a diameter along a path, its corners rounded to the radius `bend` at the
    /// centreline; mm. A path of two points needs no bend. A closed path runs on from its last
    /// point to its first.
    ///
    /// # Errors
    /// Points too close for their bends, bends tighter than the tube, a path that turns straight back.
    pub fn new(diameter: f64, path: &[[f64; 3]], bend: f64, closed: bool) -> Result<Self, ShapeError> {
        let radius = positive("a diameter", diameter)? / 2.0;
        counted("a path", path, if closed { 3 } else { 2 })?;
        if path.len() > MOST_POINTS {
            return Err(ShapeError::TooMany { what: "a path", most: MOST_POINTS, found: path.len() });
        }
        let path: Vec<DVec3> = path.iter().map(|&p| p.into()).collect();
        let mut stretches = centreline(&path, radius, bend, closed)?;
        carry_frame(&mut stretches);
        let length = stretches.iter().map(|stretch| stretch.length).sum();
        let bounds = stretches.iter().map(|stretch| stretch.bounds(radius)).fold(EMPTY, united);
        Ok(Self { radius, stretches, closed, length, bounds })
    }

    /// Stations from end to end: where straights meet bends, and between on a bend so that it turns
    /// by no more than `turn` rad.
    pub fn stops(&self, turn: f64) -> Vec<f64> {
        let inner = |s: &Stretch| {
            let count = s.bend.map_or(1.0, |(_, radius)| (s.length / radius / turn).ceil().max(1.0));
            let (start, step) = (s.start, s.length / count);
            (0..count as usize).map(move |k| start + step * k as f64)
        };
        let stretches = self.stretches.iter().filter(|s| s.length > 0.0);
        stretches.flat_map(inner).chain([self.length]).collect()
    }

    /// Length of the centreline.
    pub fn length(&self) -> f64 {
        self.length
    }

    /// The point at a station along the centreline and an angle round it. Round and round on a
    /// closed path, straight on past the ends of an open one.
    pub fn at(&self, station: f64, around: f64) -> Foot {
        let station = if self.closed { station.rem_euclid(self.length) } else { station };
        let index = self.stretches.partition_point(|s| s.start <= station).saturating_sub(1);
        let stretch = &self.stretches[index];
        let along = station - stretch.start;
        let ((centre, tangent), up) = (stretch.at(along), stretch.up(along));
        let (sin, cos) = libm::sincos(around);
        let normal = up * cos + tangent.cross(up) * sin;
        Foot { point: centre + normal * self.radius, normal }
    }

    /// Station and angle round the tube of the point nearest to `p`.
    pub fn place(&self, p: DVec3) -> [f64; 2] {
        let place = self.nearest(p);
        let stretch = &self.stretches[place.stretch];
        let up = stretch.up(place.station - stretch.start);
        let out = p - place.point;
        [place.station, libm::atan2(out.dot(place.tangent.cross(up)), out.dot(up))]
    }

    fn nearest(&self, p: DVec3) -> Place {
        let last = self.stretches.len() - 1;
        let mut found = (f64::INFINITY, None);
        for (index, stretch) in self.stretches.iter().enumerate() {
            let low = if index == 0 && !self.closed { f64::NEG_INFINITY } else { 0.0 };
            let high = if index == last && !self.closed { f64::INFINITY } else { stretch.length };
            let along = stretch.nearest(p).clamp(low, high);
            let (point, tangent) = stretch.at(along);
            let distance = (p - point).length_squared();
            if distance < found.0 {
                found = (
                    distance,
                    Some(Place { stretch: index, station: stretch.start + along, point, tangent }),
                );
            }
        }
        let start = Place {
            stretch: 0,
            station: 0.0,
            point: self.stretches[0].from,
            tangent: self.stretches[0].tangent,
        };
        found.1.unwrap_or(start)
    }

    fn spine_at(&self, place: &Place) -> Spine {
        let stretch = &self.stretches[place.stretch];
        let bend = stretch.bend.map_or(DVec3::ZERO, |(inward, radius)| {
            let centre = stretch.from + inward * radius;
            (centre - place.point) / (radius * radius)
        });
        Spine { station: place.station, point: place.point, along: place.tangent, bend }
    }

    /// The way out from the centreline to `p`; from on it, the top.
    fn out(&self, place: &Place, p: DVec3) -> DVec3 {
        let stretch = &self.stretches[place.stretch];
        let out = (p - place.point).reject_from_normalized(place.tangent);
        out.try_normalize().unwrap_or_else(|| stretch.up(place.station - stretch.start))
    }
}

impl Surface for Tube {
    fn project(&self, p: DVec3) -> Foot {
        let place = self.nearest(p);
        let normal = self.out(&place, p);
        Foot { point: place.point + normal * self.radius, normal }
    }

    /// Round the tube 1/r; along it, on a bend of radius R, cos φ / (R + r cos φ), φ from the
    /// outside of the bend (do Carmo, *Differential Geometry*, section 3-3, the torus).
    fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
        let place = self.nearest(foot.point);
        let out = self.out(&place, foot.point);
        let along = match self.stretches[place.stretch].bend {
            None => 0.0,
            Some((inward, bend)) => {
                let stretch = &self.stretches[place.stretch];
                let outward = (place.point - stretch.from - inward * bend) / bend;
                let cos = out.dot(outward);
                cos / (bend + self.radius * cos)
            }
        };
        let hoop = place.tangent.cross(out);
        let form = |a: DVec3, b: DVec3| {
            along * a.dot(place.tangent) * b.dot(place.tangent) + a.dot(hoop) * b.dot(hoop) / self.radius
        };
        [form(t[0], t[0]), form(t[0], t[1]), form(t[1], t[1])]
    }

    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        ray::first_hit(self, origin, direction)
    }

    /// Measured along the centreline.
    fn past_ends(&self, p: DVec3) -> f64 {
        if self.closed {
            return f64::NEG_INFINITY;
        }
        let station = self.nearest(p).station;
        (-station).max(station - self.length)
    }

    fn bounds(&self) -> [DVec3; 2] {
        self.bounds
    }

    fn stations(&self) -> [f64; 2] {
        [0.0, self.length]
    }

    fn at_station(&self, station: f64, around: f64) -> Option<Foot> {
        let within = self.closed || (0.0..=self.length).contains(&station);
        within.then(|| self.at(station, around))
    }

    fn around(&self, station: f64, out: DVec3) -> f64 {
        let spine = self.spine(station);
        self.place(spine.point + out.reject_from(spine.along).normalize_or_zero() * self.radius)[1]
    }

    fn beside(&self, p: DVec3) -> Spine {
        self.spine_at(&self.nearest(p))
    }

    fn spine(&self, station: f64) -> Spine {
        let on_path = if self.closed { station.rem_euclid(self.length) } else { station };
        let stretch = self.stretches.partition_point(|s| s.start <= on_path).saturating_sub(1);
        let (point, tangent) = self.stretches[stretch].at(on_path - self.stretches[stretch].start);
        self.spine_at(&Place { stretch, station, point, tangent })
    }

    /// Only a straight tube along the x axis has rings about it.
    fn ring(&self, station: f64) -> Option<Ring> {
        let axial =
            |s: &Stretch| s.bend.is_none() && s.tangent == DVec3::X && s.from.y == 0.0 && s.from.z == 0.0;
        self.stretches.iter().all(axial).then_some(Ring {
            station,
            radius: self.radius,
            geodesic_curvature: 0.0,
        })
    }
}

/// Straights and arcs through the corners, without frames.
fn centreline(path: &[DVec3], radius: f64, bend: f64, closed: bool) -> Result<Vec<Stretch>, ShapeError> {
    let count = path.len();
    let legs = if closed { count } else { count - 1 };
    let leg = |k: usize| path[(k + 1) % count] - path[k % count];
    if let Some(k) = (0..legs).find(|&k| leg(k) == DVec3::ZERO) {
        return Err(ShapeError::Repeated { at: (k + 1) % count });
    }
    let way = |k: usize| leg(k % legs).normalize();
    // Corner k lies between legs k - 1 and k; the tangent's turn there, and how far the arc starts before it.
    let is_corner = |k: usize| closed || (k > 0 && k < count - 1);
    let mut setback = vec![0.0; count];
    for (k, setback) in setback.iter_mut().enumerate().filter(|(k, _)| is_corner(*k)) {
        let (before, after) = (way(k + legs - 1), way(k));
        let (sin, cos) = (before.cross(after).length(), before.dot(after));
        if sin <= ALIGNED && cos > 0.0 {
            continue;
        }
        if sin <= ALIGNED {
            return Err(ShapeError::Reversal { at: k });
        }
        if !(bend > radius && bend.is_finite()) {
            return Err(ShapeError::BendTooTight { bend, radius });
        }
        // tan of half the turn.
        *setback = bend * sin / (1.0 + cos);
    }
    let mut stretches = Vec::new();
    for k in 0..legs {
        let next = (k + 1) % count;
        let (found, needed) = (leg(k).length(), setback[k] + setback[next]);
        if needed > found * (1.0 + ALIGNED) {
            return Err(ShapeError::BendTooWide { at: k, needed, found });
        }
        let tangent = way(k);
        let straight = Stretch {
            from: path[k] + tangent * setback[k],
            tangent,
            up: DVec3::ZERO,
            start: 0.0,
            length: (found - needed).max(0.0),
            bend: None,
        };
        stretches.push(straight);
        if setback[next] > 0.0 {
            let inward = (way(k + 1) - tangent * tangent.dot(way(k + 1))).normalize();
            let turn = libm::atan2(tangent.cross(way(k + 1)).length(), tangent.dot(way(k + 1)));
            let from = path[next] - tangent * setback[next];
            stretches.push(Stretch { from, length: turn * bend, bend: Some((inward, bend)), ..straight });
        }
    }
    Ok(stretches)
}

/// Gives every stretch its station and its frame, from the start on.
fn carry_frame(stretches: &mut [Stretch]) {
    let tangent = stretches[0].tangent;
    let top = if tangent.cross(DVec3::Z).length() > ALIGNED { DVec3::Z } else { DVec3::NEG_X };
    let (mut up, mut start) = (top.reject_from_normalized(tangent).normalize(), 0.0);
    for stretch in stretches {
        stretch.up = up;
        stretch.start = start;
        start += stretch.length;
        // Rounding must not tilt the frame along a path of many bends.
        let (_, tangent) = stretch.at(stretch.length);
        up = stretch.up(stretch.length).reject_from_normalized(tangent).normalize();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI};

    /// A handle: up, over, and down again, of Ø28 bent to 60.
    fn handle() -> Tube {
        let path = [[0.0, 0.0, 0.0], [0.0, 0.0, 200.0], [300.0, 0.0, 200.0], [300.0, 0.0, 0.0]];
        Tube::new(28.0, &path, 60.0, false).unwrap()
    }

    #[test]
    fn the_handle_is_as_long_as_its_straights_and_quarter_turns() {
        assert!((handle().length() - (140.0 + 180.0 + 140.0 + 60.0 * PI)).abs() < 1e-10);
        let [low, high] = handle().bounds();
        assert!((low - DVec3::new(-14.0, -14.0, 0.0)).length() < 1e-9);
        assert!((high - DVec3::new(314.0, 14.0, 214.0)).length() < 1e-9);
    }

    #[test]
    fn a_bend_is_a_torus() {
        let tube = handle();
        // The first bend's centre is (60, 0, 140); 45° up and forward from there is its outside.
        let out = DVec3::new(-1.0, 0.0, 1.0).normalize();
        let foot = tube.project(DVec3::new(60.0, 0.0, 140.0) + out * 90.0);
        assert!((foot.point - DVec3::new(60.0, 0.0, 140.0) - out * 74.0).length() < 1e-12);
        let along = DVec3::new(1.0, 0.0, 1.0).normalize();
        let [a, b, c] = tube.curvature(foot, [along, DVec3::Y]);
        assert!((a - 1.0 / 74.0).abs() < 1e-12 && b.abs() < 1e-12 && (c - 1.0 / 14.0).abs() < 1e-12);
        let inside = tube.project(DVec3::new(60.0, 0.0, 140.0) + out * 20.0);
        let [a, ..] = tube.curvature(inside, [along, DVec3::Y]);
        assert!((a + 1.0 / 46.0).abs() < 1e-12);
    }

    #[test]
    fn stations_and_angles_lead_there_and_back() {
        let path = [[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 100.0, 0.0], [100.0, 100.0, 100.0]];
        let tube = Tube::new(10.0, &path, 20.0, false).unwrap();
        for k in 0..60 {
            let (station, around) = (f64::from(k) * 5.0 - 20.0, libm::sin(f64::from(k)) * 3.0);
            let foot = tube.at(station, around);
            let found = tube.place(foot.point + foot.normal);
            assert!(
                (found[0] - station).abs() < 1e-10 && (found[1] - around).abs() < 1e-10,
                "{station} {around} {found:?}"
            );
        }
        // Lying flat, the first bend leaves the top on top; the second lifts it back to -y.
        assert!((tube.at(150.0, 0.0).normal - DVec3::Z).length() < 1e-12);
        assert!((tube.at(tube.length(), 0.0).normal + DVec3::Y).length() < 1e-12);
        assert!((tube.at(0.0, FRAC_PI_2).normal + DVec3::Y).length() < 1e-12);
    }

    #[test]
    fn a_closed_loop_has_no_ends() {
        let square = [[0.0, 0.0, 0.0], [90.0, 0.0, 0.0], [90.0, 90.0, 0.0], [0.0, 90.0, 0.0]];
        let tube = Tube::new(10.0, &square, 20.0, true).unwrap();
        assert!((tube.length() - (4.0 * 50.0 + 40.0 * PI)).abs() < 1e-10);
        assert_eq!(tube.past_ends(DVec3::new(-50.0, 0.0, 0.0)), f64::NEG_INFINITY);
        let home = tube.at(tube.length() + 7.0, 1.0).point - tube.at(7.0, 1.0).point;
        assert!(home.length() < 1e-10);
        // All corners touching: a ring of bends alone.
        assert!(Tube::new(10.0, &square, 45.0, true).is_ok());
    }

    #[test]
    fn rays_and_ends() {
        let tube = handle();
        let top = tube.hit(DVec3::new(150.0, 0.0, 900.0), DVec3::NEG_Z).unwrap();
        assert!((top.point - DVec3::new(150.0, 0.0, 214.0)).length() < 1e-9);
        assert!(tube.hit(DVec3::new(150.0, 900.0, 100.0), DVec3::NEG_Y).is_none());
        // What goes straight on below the handle's feet is not the handle.
        assert!(tube.hit(DVec3::new(0.0, 900.0, -5.0), DVec3::NEG_Y).is_none());
        assert!((tube.past_ends(DVec3::new(14.0, 0.0, -5.0)) - 5.0).abs() < 1e-12);
    }

    #[test]
    fn bad_paths_say_where() {
        let refuse = |path: &[[f64; 3]], bend| Tube::new(10.0, path, bend, false).unwrap_err();
        let bent = [[0.0, 0.0, 0.0], [50.0, 0.0, 0.0], [50.0, 50.0, 0.0]];
        assert_eq!(refuse(&bent, 4.0), ShapeError::BendTooTight { bend: 4.0, radius: 5.0 });
        assert!(matches!(refuse(&bent, 60.0), ShapeError::BendTooWide { at: 0, .. }));
        assert_eq!(refuse(&[[0.0; 3], [1.0, 0.0, 0.0], [0.0; 3]], 6.0), ShapeError::Reversal { at: 1 });
        assert_eq!(refuse(&[[0.0; 3], [0.0; 3]], 6.0), ShapeError::Repeated { at: 1 });
        assert_eq!(refuse(&[[0.0; 3], [f64::INFINITY, 0.0, 0.0]], 6.0), ShapeError::NotFinite { at: 1 });
    }

    #[test]
    fn stations_are_counted_along_the_bent_centreline() {
        let tube = Tube::new(28.0, &[[0.0; 3], [200.0, 0.0, 0.0], [200.0, 0.0, 150.0]], 60.0, false).unwrap();
        for station in [-20.0, 50.0, 160.0, 190.0, 250.0] {
            let spine = tube.spine(station);
            for around in [0.0, 1.0, 2.5, 4.0] {
                let p = tube.at(station, around).point;
                let beside = tube.beside(p);
                assert!(
                    (beside.station - station).abs() < 1e-9 && (beside.point - spine.point).length() < 1e-9
                );
                // A small step at one angle round gains as much as the station grows.
                let step = tube.at(station + 1e-4, around).point - p;
                assert!((beside.gain(p, step) / 1e-4 - 1.0).abs() < 1e-5, "{station} {around}");
            }
        }
    }
}
