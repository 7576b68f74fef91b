//! An area that goes all the way round a part which does not unroll: a belt, cut open and bent flat as a band is.
//!
//! Its middle line is the part's cut square to the axis that it goes round, through the middle of the area. From
//! there it reaches straight out to either side as far as the nearest bound, and is laid like any band whose ends
//! meet. Left out: belts with holes in them, or that reach back past their own middle line; what the belt covers,
//! counted against the area as it was looked for, shows that there are none.

use super::area::{Ground, crossing};
use super::bend::Bend;
use super::course::Course;
use super::follow::Lie;
use super::place::Refusal;
use super::wrap::Wrap;
use super::{FLATTEN, route};
use crate::film::Settings;
use crate::flow::{Artwork, Film3, Strain};
use crate::outline::{Outline, Point, Polyline, Region, point};
use crate::surface::section::Plane;
use crate::surface::{Foot, Start, Surface};
use crate::units::Full;
use glam::DVec3;
use std::f64::consts::TAU;

/// Places along the middle line at which the sides are looked for, and sectors that must all be met to go round.
const PLACES: usize = 256;
const SECTORS: usize = 36;

/// Steps in which a side is walked, as a share of the mean width, and the most of them.
const STEP: f64 = 0.125;
const MOST_STEPS: usize = 64;

/// A belt before film is laid.
pub struct Belt<'a> {
    surface: &'a dyn Surface,
    course: Course,
    /// Its outline in lengths along the middle line and distances to its left.
    pub straight: Region<Full>,
    /// How far it reaches to the right and to the left at each place, from one end to the other.
    sides: Vec<[f64; 2]>,
    bend: Bend,
    tolerance: f64,
}

/// A belt as it is laid.
pub struct Laid {
    pub outline: Outline<Full>,
    pub spine: Polyline,
    pub film: Film3,
    pub strain: Strain,
    pub doubled: f64,
    /// How far its sides land from where they are wanted, or its ends on the flat piece may be off, mm.
    pub miss: f64,
}

impl<'a> Belt<'a> {
    /// The belt that these places of the area make up, each with the bit of it that it stands for; `None` where
    /// they make up none. `area` is theirs together, `seam` the angle round a long part at which it is cut open.
    pub fn new(ground: &Ground<'a>, found: &[(Foot, f64)], area: f64, seam: f64) -> Option<Self> {
        let mean = found.iter().map(|(foot, weight)| foot.point * (*weight / area)).sum::<DVec3>();
        [DVec3::Z, DVec3::X, DVec3::Y].into_iter().find_map(|axis| {
            if goes_round(found, mean, axis) { Self::about(ground, area, mean, axis, seam) } else { None }
        })
    }

    fn about(ground: &Ground<'a>, area: f64, mean: DVec3, axis: DVec3, seam: f64) -> Option<Self> {
        let surface = ground.surface;
        // Held opposite the seam; about another axis it is cut open at the rear, about the level one below.
        let held = match axis {
            DVec3::X => -crate::surface::radial(seam),
            DVec3::Z => DVec3::NEG_X,
            _ => DVec3::Z,
        };
        let near = surface.met_from(mean, held)?;
        let plane = Plane { origin: mean, normal: axis };
        let course = route::section(surface, &plane, near.point).ok().filter(|course| course.closed)?;
        let length = course.length();
        let step = STEP * area / length;
        let mut sides = Vec::with_capacity(PLACES + 1);
        for k in 0..=PLACES {
            let s = length * (k as f64 / PLACES as f64 - 0.5);
            let centre = course.centre(surface, s);
            let across = Start { foot: centre.foot, heading: centre.left() };
            let clear = |q: Point| ground.clearest(super::straight_on(surface, &across, point(q.y, 0.0)));
            sides.push([reach(&clear, s, -step)?, reach(&clear, s, step)?]);
        }
        // The last place is the first one again.
        sides[PLACES] = sides[0];
        let straight = outline(length, &sides);
        let bounds = straight.bounds();
        let tolerance = FLATTEN * length.max(bounds.height());
        let span = [-length / 2.0, length / 2.0];
        let bend = Bend::of(&|s| course.bend(s), &course.joints(), span, tolerance);
        let belt = Self { surface, course, straight, sides, bend, tolerance };
        (belt.bend.room(&|s| belt.sides_at(s)).0 > 1.0).then_some(belt)
    }

    /// Where the piece is held.
    pub fn start(&self) -> Start {
        self.course.centre(self.surface, 0.0)
    }

    /// From end to end along the middle line, mm.
    pub fn length(&self) -> f64 {
        self.course.length()
    }

    /// Where a point of the straight belt lies on the part.
    pub fn foot(&self, p: Point) -> Foot {
        self.lie().foot(p)
    }

    fn lie(&self) -> Lie<'_> {
        Lie { surface: self.surface, course: &self.course, bend: &self.bend }
    }

    fn sides_at(&self, s: f64) -> [f64; 2] {
        let place = ((s / self.length() + 0.5) * PLACES as f64).clamp(0.0, PLACES as f64);
        let k = (place as usize).min(PLACES - 1);
        let share = place - k as f64;
        [0, 1].map(|side| self.sides[k][side] + (self.sides[k + 1][side] - self.sides[k][side]) * share)
    }

    pub fn lay(&self, settings: &Settings) -> Result<Laid, Refusal> {
        let drawing = self.straight.to_outline();
        let (length, width) = (self.length(), self.straight.bounds().height());
        let outline = self.bend.outline(&drawing, self.tolerance);
        let artwork = Artwork { areas: Vec::new(), silhouette: drawing, repeat: None };
        let wrapped = Wrap { artwork, length, width, repeats: None, gap: Some(0.0) };
        let sides = |s: f64| self.sides_at(s);
        let (film, strain, doubled) = self.lie().lay(&wrapped, &outline, &sides, self.tolerance, settings)?;
        let off = film.flat.iter().zip(&film.laid).filter_map(|(q, laid)| {
            let p = self.bend.straight(*q);
            let [right, left] = self.sides_at(p.x);
            let on_side = p.y > 0.999 * left || p.y < -0.999 * right;
            on_side.then(|| (self.foot(p).point - *laid).length())
        });
        let miss = off.fold(self.bend.error, f64::max);
        let at = |k: usize| length * (k as f64 / PLACES as f64 - 0.5);
        let spine = (0..=PLACES).map(|k| self.bend.flat(point(at(k), 0.0))).collect();
        Ok(Laid { outline, spine, film, strain, doubled, miss })
    }
}

/// Whether something of the area lies in every direction from this axis.
fn goes_round(found: &[(Foot, f64)], mean: DVec3, axis: DVec3) -> bool {
    let (a, b) = axis.any_orthonormal_pair();
    let mut met = [false; SECTORS];
    for (foot, _) in found {
        let out = foot.point - mean;
        let turn = libm::atan2(out.dot(b), out.dot(a)).rem_euclid(TAU) / TAU;
        met[((turn * SECTORS as f64) as usize).min(SECTORS - 1)] = true;
    }
    met.iter().all(|met| *met)
}

/// How far it is at s from the middle line to the bound on one side, mm; `None` where none is met, or the line
/// itself lies outside.
fn reach(clear: &dyn Fn(Point) -> f64, s: f64, step: f64) -> Option<f64> {
    let (mut inside, mut at_inside) = (point(s, 0.0), clear(point(s, 0.0)));
    if at_inside <= 0.0 {
        return None;
    }
    for k in 1..=MOST_STEPS {
        let next = point(s, k as f64 * step);
        let at_next = clear(next);
        if at_next < 0.0 {
            return Some(crossing(clear, [inside, next], [at_inside, at_next]).y.abs());
        }
        (inside, at_inside) = (next, at_next);
    }
    None
}

/// Along the right side, and back along the left one.
fn outline(length: f64, sides: &[[f64; 2]]) -> Region<Full> {
    let last = sides.len() - 1;
    let at = |k: usize| length * (k as f64 / last as f64 - 0.5);
    let right = (0..=last).map(|k| point(at(k), -sides[k][0]));
    let left = (0..=last).rev().map(|k| point(at(k), sides[k][1]));
    Region::new(vec![right.chain(left).collect()])
}
