//! Camouflage: stripes or blotches strewn over a rectangle by chance, smooth at every edge.
//!
//! Colours are laid from the top one down. Each gets marks one after the other,
//! each as far as can be from those before it (best of a dozen places by chance:
//! Mitchell, "Spectrally optimal sampling for distribution ray tracing", SIGGRAPH
//! 1991), until it shows its share; the last mark is shrunk to hit the share. What
//! marks of one colour form together is smoothed by growing and shrinking. What is
//! left over is the ground, so the areas never overlap and always add up.
//!
//! Left out: any published pattern; this is chance within the sizes asked for.

use crate::flow::{Area, Artwork, Camouflage};
use crate::outline::chance::Chance;
use crate::outline::region::distance_to_segment;
use crate::outline::{Outline, Point, Polyline, Region, Vector, point, turned};
use crate::units::Full;
use std::f64::consts::{PI, TAU};

/// Places tried for each mark, of which the emptiest is taken. Chosen by eye.
const TRIES: usize = 12;
/// Corners of one mark: 5° apart, so that the flat pieces between stay under a thousandth of its width.
const CORNERS: usize = 72;
/// Round corners, of the mark's width: as a brush leaves them. Chosen by eye.
const SMOOTH: f64 = 0.12;
/// Share of the wanted area, before smoothing, from which marks are smoothed and measured.
const ROUGH: f64 = 0.95;
/// How near a share is met: a hundredth of a per cent, a tenth of the last place that is told.
const NEAR: f64 = 1e-4;
/// More marks than any share needs that the spec lets pass.
const MOST_MARKS: usize = 4000;

pub fn camouflage(wanted: &Camouflage) -> Artwork<Full> {
    let (width, height) = (wanted.width.to_mm(), wanted.height.to_mm());
    let frame = Outline::<Full>::rectangle(point(0.0, 0.0), width, height);
    let mut chance = Chance::new(wanted.seed);
    let mut free: Region<Full> = frame.flattened(1.0);
    let mut areas = Vec::new();
    for (&share, &colour) in wanted.shares.iter().zip(&wanted.colours).skip(1).rev() {
        let region = strewn(wanted, share * width * height, &free, &mut chance);
        free = free.minus(&region);
        areas.push(Area { colour, outline: region.to_outline() });
    }
    areas.push(Area { colour: wanted.colours[0], outline: free.to_outline() });
    areas.reverse();
    areas.retain(|area| !area.outline.is_empty());
    Artwork { areas, silhouette: frame, repeat: None }
}

/// Marks on free ground that show `target` mm² of their colour.
fn strewn(wanted: &Camouflage, target: f64, free: &Region<Full>, chance: &mut Chance) -> Region<Full> {
    let shown = |marks: &Region<Full>| smooth(marks, wanted).intersection(free);
    let (mut marks, mut places) = (Region::empty(), Vec::new());
    for _ in 0..MOST_MARKS {
        let (place, mark) = (place(wanted, &places, chance), Mark::by_chance(wanted, chance));
        places.push(place);
        let with = |size: f64| marks.union(&mark.region(size).moved(place.to_vector()));
        let grown = with(1.0);
        // Smoothing is slow and changes little: the rough area tells when it is worth while.
        let is_far = grown.intersection(free).area() < ROUGH * target;
        let most = if is_far { 0.0 } else { shown(&grown).area() };
        if most < target * (1.0 - NEAR) {
            marks = grown;
            continue;
        }
        // The last mark as large as it takes: regula falsi on its area, which goes with the square of its size.
        let (mut small, mut large) = ((0.0, shown(&marks).area()), (1.0, most));
        let mut best = grown;
        for step in 0..30 {
            let share = ((target - small.1) / (large.1 - small.1)).clamp(0.05, 0.95);
            let share = if step % 3 == 2 { 0.5 } else { share };
            let square = small.0 + (large.0 - small.0) * share;
            let region = shown(&with(f64::sqrt(square)));
            let found = region.area();
            best = region;
            if (found - target).abs() < NEAR * target {
                return best;
            }
            *(if found > target { &mut large } else { &mut small }) = (square, found);
        }
        return best;
    }
    shown(&marks)
}

/// Corners rounded outward and inward, hairs and pinholes gone.
fn smooth(marks: &Region<Full>, wanted: &Camouflage) -> Region<Full> {
    let r = SMOOTH * wanted.mark[1].to_mm();
    // Every offset strews points along round corners: without thinning they would grow tenfold.
    let grown = |region: &Region<Full>, by: f64| thinned(&region.offset(by), r / 400.0);
    grown(&grown(&grown(marks, r), -2.0 * r), r).cleaned()
}

/// Without the points that lie within `tolerance` of the line past them.
fn thinned(region: &Region<Full>, tolerance: f64) -> Region<Full> {
    /// Points left out in a row: enough for any straight stretch, few enough to try them all.
    const MOST: usize = 24;
    let thin = |ring: &Polyline| {
        let mut kept: Polyline = ring.first().copied().into_iter().collect();
        let (mut from, mut to) = (0, 1);
        while to + 1 < ring.len() {
            let (a, b) = (ring[from], ring[to + 1]);
            let near = |p: &Point| distance_to_segment(*p, a, b) < tolerance;
            if to - from > MOST || !ring[from + 1..=to].iter().all(near) {
                kept.push(ring[to]);
                from = to;
            }
            to += 1;
        }
        kept.extend(ring.last().filter(|_| ring.len() > 1));
        kept
    };
    Region::new(region.rings.iter().map(thin).collect())
}

/// Of some places by chance the one furthest from all others, measured in lengths and widths of a mark.
fn place(wanted: &Camouflage, others: &[Point], chance: &mut Chance) -> Point {
    let [width, height] = [wanted.width, wanted.height].map(|side| side.to_mm() / 2.0);
    let [long, wide] = wanted.mark.map(|side| side.to_mm());
    let lean = wanted.lean.map_or(0.0, |lean| lean.to_radians());
    let apart = |a: Point, b: Point| {
        let step = turned(a - b, -lean);
        Vector::new(step.x / long, step.y / wide).square_length()
    };
    let mut best = (f64::NEG_INFINITY, point(0.0, 0.0));
    for _ in 0..TRIES {
        let candidate = point(chance.between(-width, width), chance.between(-height, height));
        let nearest = others.iter().map(|&other| apart(candidate, other)).fold(f64::INFINITY, f64::min);
        if nearest > best.0 {
            best = (nearest, candidate);
        }
    }
    best.1
}

/// One stripe or blotch about the origin.
struct Mark {
    length: f64,
    width: f64,
    turn: f64,
    waviness: f64,
    /// Amplitude and phase of each wave of its edges.
    waves: Vec<[f64; 2]>,
    stripe: bool,
}

impl Mark {
    fn by_chance(wanted: &Camouflage, chance: &mut Chance) -> Self {
        let [length, width] = wanted.mark.map(|side| side.to_mm());
        let size = chance.between(0.75, 1.25);
        let stripe = wanted.lean.is_some();
        // A stripe keeps its width; a blotch is large or small as a whole.
        let (length, width) = (length * size, if stripe { width } else { width * size });
        let turn = match wanted.lean {
            Some(lean) => lean.to_radians() + chance.between(-0.12, 0.12),
            None => chance.between(0.0, TAU),
        };
        let waves = (0..4).map(|_| [chance.between(0.5, 1.0), chance.between(0.0, TAU)]).collect();
        Self { length, width, turn, waviness: wanted.waviness, waves, stripe }
    }

    fn region(&self, size: f64) -> Region<Full> {
        let corner = |k: usize| {
            let angle = TAU * k as f64 / CORNERS as f64;
            let (sin, cos) = libm::sincos(angle);
            let (long, wide) = (self.length / 2.0 * size, self.width / 2.0 * size);
            let spot = if self.stripe {
                // Full for most of its length, tapered to both ends; its middle line waves.
                let square = cos * cos;
                let full = 1.0 - square * square * square;
                Vector::new(
                    long * cos,
                    wide * full * sin.signum() + 2.0 * wide * self.waviness * self.wave(PI * cos),
                )
            } else {
                let reach = 1.0 + self.waviness * self.wave(angle);
                Vector::new(long * cos, wide * sin) * reach
            };
            turned(spot, self.turn).to_point()
        };
        Region::new(vec![(0..CORNERS).map(corner).collect()]).cleaned()
    }

    /// From −1 to 1: waves of one to several periods round, the longer the higher.
    fn wave(&self, angle: f64) -> f64 {
        let first = if self.stripe { 1.0 } else { 2.0 };
        let wave = |(k, [height, phase]): (usize, &[f64; 2])| {
            let turns = k as f64 + first;
            (height / turns, libm::sin(turns * angle + phase))
        };
        let (whole, sum) = self
            .waves
            .iter()
            .enumerate()
            .map(wave)
            .fold((0.0, 0.0), |(whole, sum), (h, s)| (whole + h, sum + h * s));
        sum / whole
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::area_of;
    use super::*;
    use crate::flow::ColourId;
    use crate::units::{Angle, Length};

    fn wanted(lean: Option<f64>) -> Camouflage {
        Camouflage {
            width: Length::mm(3000.0),
            height: Length::mm(1200.0),
            seed: 7,
            mark: if lean.is_some() { [700.0, 110.0] } else { [420.0, 420.0] }.map(Length::mm),
            waviness: 0.3,
            lean: lean.map(Angle::degrees),
            shares: vec![0.5, 0.3, 0.2],
            colours: vec![ColourId(0), ColourId(1), ColourId(2)],
        }
    }

    #[test]
    fn each_colour_shows_its_share() {
        for wanted in [wanted(Some(30.0)), wanted(None)] {
            let drawn = camouflage(&wanted);
            let whole = drawn.silhouette.area();
            for (colour, share) in [0.5, 0.3, 0.2].into_iter().enumerate() {
                assert!((area_of(&drawn, colour) / whole - share).abs() < 1e-3, "{colour}");
            }
            let sum: f64 = (0..3).map(|colour| area_of(&drawn, colour)).sum();
            assert!((sum / whole - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn the_seed_alone_decides() {
        let first = camouflage(&wanted(None));
        assert!(first == camouflage(&wanted(None)));
        assert!(first != camouflage(&Camouflage { seed: 8, ..wanted(None) }));
    }

    /// Corners are only where a colour meets the frame or runs under another: the top colour has none inside.
    #[test]
    fn edges_are_smooth() {
        for wanted in [wanted(Some(30.0)), wanted(None)] {
            let drawn = camouflage(&wanted);
            let top = drawn.areas.last().unwrap().outline.flattened(0.1);
            let inside = |p: &Point| p.x.abs() < 1499.0 && p.y.abs() < 599.0;
            let mut worst: f64 = 0.0;
            for ring in &top.rings {
                // Steps of a quarter of the rounding: a corner would turn at once.
                let n = ring.len();
                for k in 0..n {
                    let (a, b, c) = (ring[k], ring[(k + 1) % n], ring[(k + 2) % n]);
                    if [a, b, c].iter().all(inside) && (b - a).length() > 1e-3 && (c - b).length() > 1e-3 {
                        worst = worst.max((b - a).angle_to(c - b).radians.abs());
                    }
                }
            }
            assert!(worst.to_degrees() < 25.0, "{} degrees", worst.to_degrees());
        }
    }
}
