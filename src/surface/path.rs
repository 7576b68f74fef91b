//! Lines on a surface as a list of places: what a stripe follows.
//!
//! A path knows at each place its arc length, heading and geodesic curvature,
//! which is all that a flat ribbon needs. Between places points and the bend are
//! cubics; `told_closely` sees to it that they lie close enough for the bend too,
//! which changes faster than the line: where the part's own curvature jumps, it does.

use super::hermite::hermite;
use super::{Foot, Start};
use glam::DVec3;

/// A place on a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Waypoint {
    /// Arc length from the path's first place, mm.
    pub along: f64,
    pub foot: Foot,
    /// Unit tangent of the path.
    pub heading: DVec3,
    /// Geodesic curvature, 1/mm; positive bends to the left, seen from outside.
    pub bend: f64,
}

/// A line on a surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    /// At least two, arc length rising. A closed path ends on its first place, a turn later.
    pub places: Vec<Waypoint>,
    pub closed: bool,
}

impl Path {
    pub fn length(&self) -> f64 {
        self.places.last().map_or(0.0, |place| place.along)
    }

    /// The same line run the other way: its left is our right.
    #[must_use]
    pub fn reversed(self) -> Self {
        let length = self.length();
        let turned = |place: &Waypoint| Waypoint {
            along: length - place.along,
            heading: -place.heading,
            bend: -place.bend,
            ..*place
        };
        Self { places: self.places.iter().rev().map(turned).collect(), closed: self.closed }
    }

    /// This line and another that goes on from its end; the place where they meet is kept once where they bend alike.
    #[must_use]
    pub fn joined(mut self, onward: Self) -> Self {
        let length = self.length();
        let alike = match (self.places.last(), onward.places.first()) {
            (Some(a), Some(b)) => (a.bend - b.bend).abs() <= 1e-9 * (a.bend.abs() + b.bend.abs()),
            _ => false,
        };
        let onward = onward.places.into_iter().skip(usize::from(alike));
        self.places.extend(onward.map(|place| Waypoint { along: length + place.along, ..place }));
        self
    }
}

impl Waypoint {
    pub fn start(&self) -> Start {
        Start { foot: self.foot, heading: self.heading }
    }
}

/// The point of the cubic from one place to the next at a share of the way, and its direction there, of any
/// length; both beside the surface by a little.
pub fn between(a: &Waypoint, b: &Waypoint, u: f64) -> (DVec3, DVec3) {
    let h = b.along - a.along;
    let (m, n) = (a.heading * h, b.heading * h);
    let [point, way, _] = hermite([a.foot.point, b.foot.point], [m, n], u);
    (point, way)
}

/// The bend of the cubic from one place to the next, whose slopes are given, at a share of the way.
pub fn bend_between(a: &Waypoint, b: &Waypoint, slopes: [f64; 2], u: f64) -> f64 {
    let h = b.along - a.along;
    hermite([a.bend, b.bend], slopes.map(|slope| slope * h), u)[0]
}

/// How fast the bend changes at each place.
pub fn slopes(places: &[Waypoint]) -> Vec<f64> {
    (0..places.len()).map(|k| slope(places, k)).collect()
}

/// The slope of the bend at a place: of the parabola through it and its neighbours, or through it and
/// the two on that side where it is the last before a jump.
fn slope(places: &[Waypoint], k: usize) -> f64 {
    let joined = |i: usize, j: usize| places[i].along != places[j].along;
    let before = (k > 0 && joined(k, k - 1)).then(|| k - 1);
    let after = (k + 1 < places.len() && joined(k, k + 1)).then_some(k + 1);
    let secant = |i: usize, j: usize| (places[j].bend - places[i].bend) / (places[j].along - places[i].along);
    let h = |i: usize, j: usize| (places[j].along - places[i].along).abs();
    match (before, after) {
        (Some(i), Some(j)) => (secant(i, k) * h(k, j) + secant(k, j) * h(i, k)) / (h(i, k) + h(k, j)),
        (Some(i), None) if i > 0 && joined(i, i - 1) => {
            secant(i, k) + (secant(i, k) - secant(i - 1, i)) * h(i, k) / (h(i - 1, i) + h(i, k))
        }
        (None, Some(j)) if j + 1 < places.len() && joined(j, j + 1) => {
            secant(k, j) - (secant(j, j + 1) - secant(k, j)) * h(k, j) / (h(k, j) + h(j, j + 1))
        }
        (Some(i), None) => secant(i, k),
        (None, Some(j)) => secant(k, j),
        (None, None) => 0.0,
    }
}

/// A stretch may turn by so much more or less than the cubic of its bend says, rad: some hundred of them, over
/// a piece as long as its part, are worth less than what its curves are flattened by.
const TURN: f64 = 2e-7;

/// A line on a part too rough for that is halved no further once it has so many places, and no stretch of it
/// is halved more often.
const MOST_PLACES: usize = 600;
const MOST_HALVINGS: usize = 12;

/// Halves stretches until the bend's cubic tells how they turn. `halfway` finds the place of the line in the
/// middle between two: on the line itself, for the cubic through its points may miss it by more than tells.
pub(super) fn told_closely(
    mut places: Vec<Waypoint>,
    halfway: impl Fn(&Waypoint, &Waypoint) -> Option<Waypoint>,
) -> Vec<Waypoint> {
    let mut in_doubt = vec![true; places.len().saturating_sub(1)];
    for _ in 0..MOST_HALVINGS {
        if !in_doubt.contains(&true) || places.len() > MOST_PLACES {
            break;
        }
        let slopes = slopes(&places);
        let (mut finer, mut still) = (Vec::with_capacity(2 * places.len()), Vec::new());
        for (k, pair) in places.windows(2).enumerate() {
            finer.push(pair[0]);
            let length = pair[1].along - pair[0].along;
            let told = bend_between(&pair[0], &pair[1], [slopes[k], slopes[k + 1]], 0.5);
            let middle = in_doubt[k].then(|| halfway(&pair[0], &pair[1])).flatten();
            match middle.filter(|middle| (middle.bend - told).abs() * length > TURN) {
                Some(middle) => {
                    finer.push(middle);
                    still.extend([true; 2]);
                }
                None => still.push(false),
            }
        }
        finer.extend(places.last());
        (places, in_doubt) = (finer, still);
    }
    places
}

/// Why there is no such line.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PathError {
    #[error("the line has no direction to start in")]
    NoHeading,
    #[error(
        "the line is lost on the surface after {along:.1} mm: the surface is too rough or too sharp there"
    )]
    Lost { along: f64 },
    #[error("the plane touches the part after {along:.1} mm instead of cutting it: move it a little")]
    Touches { along: f64 },
    #[error("the plane passes the part by {miss:.1} mm")]
    Misses { miss: f64 },
    #[error(
        "the line would fold back on itself after {along:.1} mm: it lies further from the other than that bends"
    )]
    Cusp { along: f64 },
    #[error("no straight run leads from one point to the other: it misses by {miss:.2} mm")]
    NotReached { miss: f64 },
}

/// A line that takes more steps than this is taken for lost; a smooth one needs some hundreds.
pub(super) const MOST_STEPS: usize = 20_000;

/// The smallest step: an edge of the part is crossed with one, which may cost that much in
/// length, a tenth of the tolerance; and no less than rounding allows.
pub(super) fn least_step(tolerance: f64, size: f64) -> f64 {
    (0.1 * tolerance).clamp(1e-9 * size, 1e-2 * size)
}
