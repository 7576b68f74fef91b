//! A line on the part that film is laid along, told by the length from the hold point.
//!
//! Between the places of a [`Path`] points are cubics put back on the surface,
//! the bend a cubic too; places lie close enough for both. Past its ends an open
//! line goes straight on. Where a strap hangs free there is no part under it,
//! and points are taken from the cubic as they are.

use crate::surface::geodesic::walk;
use crate::surface::path::{bend_between, between, slopes};
use crate::surface::{Foot, Path, Start, Surface, Waypoint};
use glam::DVec3;

/// A line and where on it the piece is held.
#[derive(Clone, Debug)]
pub struct Course {
    /// Lengths counted from the hold point; two places at one length where the bend jumps.
    places: Vec<Waypoint>,
    /// Change of the bend along the line at each place.
    slopes: Vec<f64>,
    pub closed: bool,
    /// Where the line hangs free.
    pub air: Vec<[f64; 2]>,
}

impl Course {
    /// The piece's hold point at the length `hold` of the path.
    pub fn new(path: Path, hold: f64) -> Self {
        let mut places = path.places;
        for place in &mut places {
            place.along -= hold;
        }
        let slopes = slopes(&places);
        Self { places, slopes, closed: path.closed, air: Vec::new() }
    }

    /// Held elsewhere: `by` mm further along.
    #[must_use]
    pub fn moved(mut self, by: f64) -> Self {
        for place in &mut self.places {
            place.along -= by;
        }
        for end in self.air.iter_mut().flatten() {
            *end -= by;
        }
        self
    }

    /// The line without its hold point.
    pub fn path(self) -> Path {
        let from = self.places[0].along;
        let counted = |place: Waypoint| Waypoint { along: place.along - from, ..place };
        Path { places: self.places.into_iter().map(counted).collect(), closed: self.closed }
    }

    /// Where the line begins and ends.
    pub fn ends(&self) -> [f64; 2] {
        [self.places[0].along, self.places[self.places.len() - 1].along]
    }

    pub fn length(&self) -> f64 {
        let [from, to] = self.ends();
        to - from
    }

    /// The lengths at which the bend jumps, or the line lifts off or comes down.
    pub fn joints(&self) -> Vec<f64> {
        let jumps = self.places.windows(2).filter(|pair| pair[0].along == pair[1].along);
        let [from, to] = self.ends();
        jumps.map(|pair| pair[0].along).chain(self.air.iter().flatten().copied()).chain([from, to]).collect()
    }

    fn on_path(&self, s: f64) -> f64 {
        let [from, to] = self.ends();
        if self.closed { from + (s - from).rem_euclid(to - from) } else { s }
    }

    /// The places before and after `s`, and the share of the way from one to the other.
    fn between(&self, s: f64) -> (usize, f64) {
        let after = self.places.partition_point(|place| place.along <= s).clamp(1, self.places.len() - 1);
        let (a, b) = (&self.places[after - 1], &self.places[after]);
        (after - 1, ((s - a.along) / (b.along - a.along).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0))
    }

    /// The geodesic curvature at `s`, 1/mm; positive bends to the left.
    pub fn bend(&self, s: f64) -> f64 {
        let s = self.on_path(s);
        let [from, to] = self.ends();
        if s < from || s > to || self.hangs(s) {
            return 0.0;
        }
        let (k, u) = self.between(s);
        bend_between(&self.places[k], &self.places[k + 1], [self.slopes[k], self.slopes[k + 1]], u)
    }

    pub fn hangs(&self, s: f64) -> bool {
        self.air.iter().any(|[from, to]| (*from..*to).contains(&s))
    }

    /// The point of the part under the line at `s`, heading along it.
    pub fn centre(&self, surface: &dyn Surface, s: f64) -> Start {
        let s = self.on_path(s);
        let [from, to] = self.ends();
        let (first, last) = (&self.places[0], &self.places[self.places.len() - 1]);
        if s < from {
            return walk(surface, &first.start(), s - from);
        }
        if s > to {
            return walk(surface, &last.start(), s - to);
        }
        let (k, u) = self.between(s);
        let (a, b) = (&self.places[k], &self.places[k + 1]);
        let (point, way) = between(a, b, u);
        let foot = if self.hangs(s) {
            let normal = a.foot.normal.lerp(b.foot.normal, u).reject_from(way);
            Foot { point, normal: normal.try_normalize().unwrap_or_else(|| way.any_orthonormal_vector()) }
        } else {
            surface.project(point)
        };
        let heading = way.reject_from_normalized(foot.normal).try_normalize();
        Start { foot, heading: heading.unwrap_or(a.heading) }
    }

    /// The length at which the line comes nearest to a point.
    pub fn nearest(path: &Path, p: DVec3) -> f64 {
        let away = |place: &&Waypoint| (place.foot.point - p).length_squared();
        let near = path.places.iter().min_by(|a, b| away(a).total_cmp(&away(b)));
        near.map_or(0.0, |place| place.along + (p - place.foot.point).dot(place.heading))
    }
}
