//! A flat piece laid back on its part: where its points and lines lie there, in full-size millimetres.

use crate::parts::Solid;
use crate::specs::part;
use glam::{DVec2, DVec3};
use markloft::flow::{Code, Film3, Outcome, Piece};
use markloft::outline::{Point, point};
use std::sync::Arc;

/// The length of an arc from chords over it and over its halves: those are short by four times as much.
fn extrapolated(chords: f64, halves: f64) -> f64 {
    (4.0 * halves - chords) / 3.0
}

/// A piece of each marking and make, once: copies lie alike.
pub struct Laid<'a> {
    pub name: &'a str,
    pub piece: &'a Piece,
    pub film: &'a Film3,
    pub solid: Solid,
    /// Full size over model size.
    pub times: f64,
}

pub fn laid(outcome: &Outcome) -> Vec<Laid<'_>> {
    chosen(outcome, |_| true)
}

pub fn named<'a>(outcome: &'a Outcome, name: &str) -> Laid<'a> {
    let mut all = chosen(outcome, |marking| marking == name);
    assert!(!all.is_empty(), "no piece of {name}");
    all.swap_remove(0)
}

fn chosen(outcome: &Outcome, wanted: impl Fn(&str) -> bool) -> Vec<Laid<'_>> {
    let scale = &outcome.scales[0];
    assert!(scale.findings.iter().all(|finding| finding.code != Code::Unlaid), "{:?}", scale.findings);
    let mut all: Vec<Laid> = Vec::new();
    for piece in &scale.pieces {
        let marking = &outcome.plan.markings[piece.marking.0];
        if !wanted(&marking.name) {
            continue;
        }
        let known = all.iter().any(|one| one.name == marking.name && Arc::ptr_eq(&one.piece.fit, &piece.fit));
        assert_eq!(known, piece.copy > 1, "copies share a fit: {} {}", marking.name, piece.copy);
        if !known {
            all.push(Laid {
                name: &marking.name,
                piece,
                film: &piece.fit.film,
                solid: part(&outcome.plan.parts[piece.part.0].name, &marking.name),
                times: scale.scale.denominator(),
            });
        }
    }
    all
}

impl Laid<'_> {
    /// Where the film's points lie, in full size.
    pub fn points(&self) -> impl Iterator<Item = DVec3> + '_ {
        self.film.laid.iter().map(|&p| p * self.times)
    }

    /// Where a point of the flat piece lies, in full size; `None` where there is no film.
    pub fn at(&self, q: Point) -> Option<DVec3> {
        let shares = |triangle: &[u32; 3]| {
            let [a, b, c] = triangle.map(|corner| self.film.flat[corner as usize]);
            let whole = (b - a).cross(c - a);
            let (one, two) = ((b - q).cross(c - q) / whole, (c - q).cross(a - q) / whole);
            [one, two, 1.0 - one - two]
        };
        // Most triangles lie wholly to the left or to the right: told at once.
        let beside = |triangle: &[u32; 3]| {
            let off = triangle.map(|corner| self.film.flat[corner as usize].x - q.x);
            off.iter().all(|x| *x > 1e-3) || off.iter().all(|x| *x < -1e-3)
        };
        let near = |t: &&[u32; 3]| !beside(t);
        let holding =
            self.film.triangles.iter().filter(near).find(|t| shares(t).iter().all(|share| *share > -1e-6))?;
        let parts = shares(holding).into_iter().zip(holding);
        let chord: DVec3 = parts.map(|(share, &k)| self.film.laid[k as usize] * share).sum();
        // A triangle is a chord of the part.
        Some(self.solid.onto(chord * self.times))
    }

    /// The way over the part between two points of it that lie close together.
    pub fn between(&self, a: DVec3, b: DVec3) -> f64 {
        let halved = |points: Vec<DVec3>| {
            let halves =
                points.windows(2).flat_map(|pair| [pair[0], self.solid.onto(pair[0].lerp(pair[1], 0.5))]);
            halves.chain([b]).collect::<Vec<_>>()
        };
        let long = |points: &[DVec3]| points.windows(2).map(|pair| (pair[1] - pair[0]).length()).sum::<f64>();
        let halves = halved(vec![a, b]);
        extrapolated(long(&halves), long(&halved(halves.clone())))
    }

    /// Lengths of a line on the flat piece and on the part, in full size.
    pub fn lengths(&self, line: &[Point]) -> [f64; 2] {
        let mut sums = [0.0; 2];
        for pair in line.windows(2) {
            let all = [pair[0], pair[0].lerp(pair[1], 0.5), pair[1]].map(|q| self.at(q));
            let [Some(a), Some(b), Some(c)] = all else { panic!("{}: no film at {pair:?}", self.name) };
            sums[0] += (pair[1] - pair[0]).length() * self.times;
            sums[1] += extrapolated((c - a).length(), (b - a).length() + (c - b).length());
        }
        sums
    }

    /// Where the flat origin lies, and which way the flat x axis runs there.
    pub fn held(&self) -> (DVec3, DVec3) {
        let step = 0.01 * self.film.flat.iter().map(|q| q.x.abs()).fold(0.0, f64::max);
        let centre = self.at(point(0.0, 0.0)).expect("film under the hold point");
        let [behind, ahead] = [-step, step].map(|x| self.at(point(x, 0.0)).unwrap_or(centre));
        (centre, (ahead - behind).normalize())
    }

    /// The line that is laid along the heading, from end to end of the piece, and the one straight across it.
    pub fn lines(&self) -> [Vec<Point>; 2] {
        let straight =
            |ends: [Point; 2]| (0..=100).map(|k| ends[0].lerp(ends[1], f64::from(k) / 100.0)).collect();
        let along = match self.piece.fit.spine.is_empty() {
            true => straight(self.reach(|x| point(x, 0.0))),
            false => self.piece.fit.spine.clone(),
        };
        [along, straight(self.reach(|y| point(0.0, y)))]
    }

    /// The two ends of the film on a line through the hold point.
    fn reach(&self, on: impl Fn(f64) -> Point) -> [Point; 2] {
        let far = 2.0 * self.film.flat.iter().map(|q| q.x.abs().max(q.y.abs())).fold(0.0, f64::max);
        [-far, far].map(|far| {
            let (mut film, mut none) = (0.0, far);
            for _ in 0..40 {
                let middle = (film + none) / 2.0;
                if self.at(on(middle)).is_some() { film = middle } else { none = middle }
            }
            on(film)
        })
    }

    /// The points of the film on its edge: those of sides that only one triangle has.
    pub fn edge(&self) -> Vec<usize> {
        let mut sides = std::collections::BTreeMap::new();
        for t in &self.film.triangles {
            for [a, b] in [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]] {
                *sides.entry([a.min(b), a.max(b)]).or_insert(0) += 1;
            }
        }
        let edge = sides.into_iter().filter(|(_, count)| *count == 1).flat_map(|(ends, _)| ends);
        let unique: std::collections::BTreeSet<u32> = edge.collect();
        unique.into_iter().map(|k| k as usize).collect()
    }

    /// How far the film's points lie, unrolled, from where the drawing has them that is put down at `at`
    /// heading `way`, in millimetres of the model; and how many of them lie on what unrolls.
    pub fn miss_of_unrolled(&self, at: DVec3, way: DVec3) -> (f64, usize) {
        const STEP: f64 = 1e-3;
        let origin = self.solid.flat(at, 0.0).expect("it unrolls there");
        // Round a pipe once more or less is the same place.
        let near = |p: DVec3, q: DVec2| {
            let all = [0.0, 1.0, -1.0, 2.0, -2.0].map(|turns| self.solid.flat(p, turns));
            let away = |one: &DVec2| (*one - q).length();
            all.into_iter().flatten().min_by(|a, b| away(a).total_cmp(&away(b)))
        };
        let way = way.reject_from_normalized(self.solid.normal(at)).normalize();
        let beside = |step: f64| near(self.solid.onto(at + way * step), origin).expect("it unrolls there");
        let heading = (beside(STEP) - beside(-STEP)).normalize();
        let (mut worst, mut count) = (0.0, 0);
        for (p, drawn) in self.points().zip(&self.film.flat) {
            let wanted = origin + heading.rotate(DVec2::new(drawn.x, drawn.y) * self.times);
            if let Some(found) = near(p, wanted) {
                (worst, count) = (f64::max(worst, (found - wanted).length() / self.times), count + 1);
            }
        }
        (worst, count)
    }
}
