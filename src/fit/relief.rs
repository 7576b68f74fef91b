//! The fewest cuts with which a piece lies down that otherwise would not, found by laying it again with them.
//!
//! Cut sets come in grades (more cuts) and depths (longer cuts). A set that passes
//! is looked for by doubling the grade, then between the last that failed and the
//! first that passed, on one coarse net each; then stretches of edge are left out that
//! need none, and the shortest cuts taken that still do, again by halving.
//! What is found is laid once more, as finely as the piece itself was, and must
//! pass there. Mask film gets darts: the film that laps is taken out, and the
//! piece laid without it; of bands, and of pieces that laps are a hundredth of, the
//! figures are those before it is taken out, which changes them little.
//!
//! What it gets wrong: it looks at evenly spaced straight cuts only, so fewer that
//! are cleverly placed may do; that strain falls with every grade and depth is likely, not sure.

use super::follow::Cuttable;
use super::moulded::Moulded;
use super::mouths::Squeezed;
use super::{Asked, FLATTEN, place, settle};
use crate::film::locate::Locator;
use crate::film::mesh::Mesh;
use crate::film::{self, Cuts, Settings, slit};
use crate::flow::{
    Artwork, CutKind, Draw, Film3, Fit, Give, Lay, Make, Marking, Relief, ReliefCut, SizeBy, Strain,
};
use crate::outline::{Point, Polyline, Region, Vector, longer_side};
use crate::surface::{Start, Surface};
use crate::units::{Full, Length};

/// Cuts along the longest squeezed stretch, or on each side of a band. With more a modeller would sooner paint it.
const GRADES: [usize; 12] = [1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24];

/// Triangles of the net on which cut sets are tried.
const TRIED_ON: usize = 1000;

/// Stretches of edge of which it is asked whether they need cuts.
const MOST_GROUPS: usize = 8;

/// Room for what a finer net changes.
const SAFE: f64 = 0.95;

/// Finer sets tried where the one found does not pass on a fine net.
const SECOND_LOOKS: usize = 3;

/// Places along a side of a band at which it is asked whether that side is squeezed.
const LOOKED_AT: usize = 32;

/// Film that laps over less than this share of a piece may as well stay: what 1 % of the piece bears
/// more than, 0.99 % of the rest does, and film that laps is as good as free.
const LITTLE: f64 = 0.01;

/// A dart that leads over this share of the way to the hold point leaves petals.
const PETALS: f64 = 0.75;

/// Film laid with a cut set.
type Laid = (Film3, Strain);

/// Cut sets of one piece.
trait Family {
    /// How deep cuts may be, as a share of the deepest, shallow first.
    fn depths(&self) -> &[f64];
    fn lines(&self, grade: usize, depth: f64) -> Vec<Polyline>;
    fn lay(&self, grade: usize, depth: f64, settings: &Settings) -> Option<Laid>;
    /// Stretches of edge that cuts could do without, by number.
    fn groups(&self) -> usize;
    fn leave_out(&mut self, group: usize, yes: bool);
    /// With these corners of film taken out; the film as it was where that cannot be told.
    fn without(&self, laid: Laid, darts: &[Polyline], settings: &Settings) -> Laid;
}

/// Cuts for a fitted piece whose squeeze is past what `asked.film` bears softened; `None` where it
/// bears it, or no cuts help.
pub fn relief(
    marking: &Marking,
    artwork: &Artwork<Full>,
    moulded: &Moulded,
    asked: &Asked<'_>,
    make: Make,
    fit: &Fit<Full>,
) -> Option<Relief<Full>> {
    let give = asked.film.softened;
    // Tape is not cut open.
    if make == Make::Tape {
        return None;
    }
    if -fit.strain.squeeze_p99 <= give.squeeze {
        return None;
    }
    let settings = Settings { poisson: asked.film.poisson, ..Settings::default() };
    match &marking.lay {
        Lay::Drape | Lay::Sight(_) => {
            let mut piece = Piece::new(marking, moulded, fit, give.squeeze / 2.0)?;
            fewest(&mut piece, give, make, &settings)
        }
        Lay::Follow(line) => {
            let factor = match marking.size_by {
                SizeBy::Scale => 1.0,
                SizeBy::Part => moulded.ratio,
            };
            let sized = artwork.mapped(|outline| outline.enlarged(factor));
            let band = Cuttable::new(line, marking, &sized, moulded, asked)?;
            let squeezed = squeezed_sides(&band, fit, give.squeeze / 2.0);
            fewest(&mut Band { band, squeezed, sides: squeezed }, give, make, &settings)
        }
    }
}

fn bears(give: Give, strain: &Strain, share: f64) -> bool {
    -strain.squeeze_p99 <= share * give.squeeze && strain.stretch_p99 <= share.max(1.0) * give.stretch
}

fn fewest(family: &mut dyn Family, give: Give, make: Make, settings: &Settings) -> Option<Relief<Full>> {
    let coarse = Settings { tolerance: f64::INFINITY, max_triangles: TRIED_ON, ..*settings };
    // Different questions may come to the same cuts.
    let mut tried: Vec<(Vec<Polyline>, bool)> = Vec::new();
    let mut passes = |family: &dyn Family, grade: usize, depth: f64| {
        let lines = family.lines(GRADES[grade], depth);
        if let Some((_, passed)) = tried.iter().find(|(before, _)| *before == lines) {
            return *passed;
        }
        let passed = !lines.is_empty()
            && family
                .lay(GRADES[grade], depth, &coarse)
                .is_some_and(|(_, strain)| bears(give, &strain, SAFE));
        tried.push((lines, passed));
        passed
    };
    let deepest = *family.depths().last()?;
    let doubling = [0, 1, 3, 6, 9, GRADES.len() - 1];
    let first = (0..doubling.len()).find(|&k| passes(family, doubling[k], deepest))?;
    let (mut fails, mut found) = (if first == 0 { None } else { Some(doubling[first - 1]) }, doubling[first]);
    while let Some(low) = fails.filter(|low| found - low > 1) {
        let middle = (low + found) / 2;
        if passes(family, middle, deepest) { found = middle } else { fails = Some(middle) }
    }
    for group in 0..family.groups().min(MOST_GROUPS) {
        family.leave_out(group, true);
        if !passes(family, found, deepest) {
            family.leave_out(group, false);
        }
    }
    let depths = family.depths().to_vec();
    let (mut fails, mut depth) = (0, depths.len() - 1);
    while fails < depth {
        let middle = (fails + depth) / 2;
        if passes(family, found, depths[middle]) { depth = middle } else { fails = middle + 1 }
    }
    // What passed on a coarse net by a hair may not on a fine one: then deeper cuts, then more.
    let deeper = depths[depth..].iter().map(|&depth| (found, depth));
    let more = (found + 1..GRADES.len()).take(SECOND_LOOKS).map(|grade| (grade, deepest));
    for (grade, depth) in deeper.chain(more) {
        let Some(laid) = family.lay(GRADES[grade], depth, settings) else { continue };
        let lines = family.lines(GRADES[grade], depth);
        let relief = told(family, laid, lines, make, settings);
        if bears(give, &relief.strain, 1.0) {
            return Some(relief);
        }
    }
    None
}

/// The cuts as they are drawn and told.
fn told(
    family: &dyn Family,
    laid: Laid,
    lines: Vec<Polyline>,
    make: Make,
    settings: &Settings,
) -> Relief<Full> {
    let laps: Vec<Vec<[f64; 2]>> = lines.iter().map(|line| slit::laps(&laid.0, line)).collect();
    let widest = |laps: &[[f64; 2]]| {
        let lap = laps.iter().map(|lap| lap[1]).max_by(|a, b| a.abs().total_cmp(&b.abs()));
        Length::mm(lap.unwrap_or(0.0))
    };
    // Only mask film has its laps taken out.
    let taken = |line: &Polyline, laps: &[[f64; 2]]| match make {
        Make::Mask => dart(line, laps),
        _ => Vec::new(),
    };
    let darts: Vec<Polyline> = lines.iter().zip(&laps).map(|(line, laps)| taken(line, laps)).collect();
    let any = darts.iter().any(|dart| !dart.is_empty());
    let (_, strain) = if any { family.without(laid, &darts, settings) } else { laid };
    // The hold point is the origin.
    let petals = |line: &Polyline| (line[1] - line[0]).length() > PETALS * line[0].to_vector().length();
    let kind = match any {
        false => CutKind::Slit,
        true if lines.len() > 2 && lines.iter().all(petals) => CutKind::Gore,
        true => CutKind::Dart,
    };
    let cut = |(k, (line, out)): (usize, (Polyline, Polyline))| ReliefCut {
        number: k as u32 + 1,
        lap: widest(&laps[k]),
        line,
        out,
    };
    Relief { kind, cuts: lines.into_iter().zip(darts).enumerate().map(cut).collect(), strain }
}

/// The film that laps, half of it from either side: down one side of the wedge to the tip and up the other.
/// Empty where nothing laps.
fn dart(line: &[Point], laps: &[[f64; 2]]) -> Polyline {
    let along = (line[1] - line[0]).normalize();
    let left = Vector::new(-along.y, along.x);
    let side = |sign: f64| {
        let at = move |lap: &[f64; 2]| line[0] + along * lap[0] + left * (sign * lap[1] / 2.0);
        laps.iter().filter(|lap| lap[1] > 0.0).map(at)
    };
    if side(1.0).count() < 2 {
        return Vec::new();
    }
    let down: Polyline = side(1.0).collect();
    let up: Polyline = side(-1.0).collect();
    down.into_iter().chain([line[1]]).chain(up.into_iter().rev()).collect()
}

/// A flat piece put down at its hold point.
struct Piece<'a> {
    surface: &'a dyn Surface,
    flat: Region<Full>,
    start: Start,
    /// The piece as it lies without cuts: where each laying with them begins.
    uncut: &'a Film3,
    squeezed: Squeezed,
}

impl<'a> Piece<'a> {
    fn new(marking: &Marking, moulded: &'a Moulded, fit: &'a Fit<Full>, least: f64) -> Option<Self> {
        let surface = moulded.surface.as_ref();
        let bounds = fit.artwork.silhouette.bounds();
        let flat = fit.artwork.silhouette.flattened(FLATTEN * longer_side(&bounds));
        // As the fit put it down: see `drape`, and `area`, which looks for a middle of its own.
        let start = match (&marking.draw, &marking.lay) {
            (Draw::Area { .. }, _) => put_down(surface, &fit.film)?,
            (_, lay) => {
                let origin = place::start(moulded, &marking.spot).ok()?;
                if *lay == Lay::Drape { settle(moulded, &marking.spot, &origin, &flat) } else { origin }
            }
        };
        Some(Self { surface, flat, start, uncut: &fit.film, squeezed: Squeezed::new(&fit.film, least) })
    }
}

/// Where a laid film has its flat origin, and the way its x axis takes there.
fn put_down(surface: &dyn Surface, film: &Film3) -> Option<Start> {
    let mesh = Mesh::new(film.flat.clone(), film.triangles.clone());
    let place = Locator::new(&mesh).find(Point::origin())?;
    let corners = film.triangles[place.triangle].map(|v| v as usize);
    let [a, b, c] = corners.map(|v| film.flat[v]);
    let laid = corners.map(|v| film.laid[v]);
    let foot = surface.project(place.mix(laid));
    // Each corner's share changes along x by the height of the side across from it, over twice the area.
    let shares = [b.y - c.y, c.y - a.y, a.y - b.y];
    let heading: glam::DVec3 = laid.iter().zip(shares).map(|(&p, share)| p * share).sum();
    Some(Start { foot, heading: heading.reject_from_normalized(foot.normal).try_normalize()? })
}

impl Family for Piece<'_> {
    fn depths(&self) -> &[f64] {
        &[0.4, 0.6, 0.8, 1.0]
    }

    fn lines(&self, grade: usize, depth: f64) -> Vec<Polyline> {
        self.squeezed.cuts(&self.flat, grade, depth)
    }

    fn lay(&self, grade: usize, depth: f64, settings: &Settings) -> Option<Laid> {
        let open = slit::slit(&self.flat, &self.lines(grade, depth));
        let draped = film::drape_like(self.surface, &open, self.start, settings, self.uncut).ok()?;
        Some((draped.film, draped.strain))
    }

    fn groups(&self) -> usize {
        self.squeezed.count()
    }

    fn leave_out(&mut self, group: usize, yes: bool) {
        self.squeezed.leave_out(group, yes);
    }

    fn without(&self, laid: Laid, darts: &[Polyline], settings: &Settings) -> Laid {
        let taken = darts.iter().filter(|dart| !dart.is_empty()).map(|dart| past_the_edge(dart)).collect();
        let left = self.flat.minus(&Region::new(taken));
        if left.area() > (1.0 - LITTLE) * self.flat.area() {
            return laid;
        }
        let draped = film::drape_like(self.surface, &left, self.start, settings, &laid.0);
        draped.map_or(laid, |draped| (draped.film, draped.strain))
    }
}

/// A dart whose mouth lies a little outside the edge, so that no sliver of film is left there.
fn past_the_edge(dart: &[Point]) -> Polyline {
    let last = dart.len() - 1;
    let (first, back) =
        (dart[0] + (dart[0] - dart[1]) * 0.2, dart[last] + (dart[last] - dart[last - 1]) * 0.2);
    let mut ring: Polyline = std::iter::once(first).chain(dart.iter().copied()).chain([back]).collect();
    // Down the left side and up the right one runs counter-clockwise seen from above, or is turned to.
    if crate::outline::region::signed_area(&ring) < 0.0 {
        ring.reverse();
    }
    ring
}

/// A band cut across from its sides.
struct Band<'a> {
    band: Cuttable<'a>,
    /// The right and the left side: whether it is squeezed, and whether it is cut.
    squeezed: [bool; 2],
    sides: [bool; 2],
}

impl Band<'_> {
    fn cuts(&self, grade: usize, depth: f64) -> Cuts {
        Cuts { count: grade, quarters: (depth * 4.0).round() as usize, sides: self.sides }
    }
}

impl Family for Band<'_> {
    fn depths(&self) -> &[f64] {
        &[0.25, 0.5, 0.75]
    }

    fn lines(&self, grade: usize, depth: f64) -> Vec<Polyline> {
        self.band.lines(self.cuts(grade, depth)).into_iter().map(|line| line.to_vec()).collect()
    }

    fn lay(&self, grade: usize, depth: f64, settings: &Settings) -> Option<Laid> {
        self.band.lay(self.cuts(grade, depth), settings)
    }

    fn groups(&self) -> usize {
        self.sides.len()
    }

    fn leave_out(&mut self, group: usize, yes: bool) {
        self.sides[group] = self.squeezed[group] && !yes;
    }

    fn without(&self, laid: Laid, _: &[Polyline], _: &Settings) -> Laid {
        laid
    }
}

/// Which sides of a band, right and left, are squeezed by more than `least` anywhere.
fn squeezed_sides(band: &Cuttable<'_>, fit: &Fit<Full>, least: f64) -> [bool; 2] {
    let middle =
        |t: &[u32; 3]| t.iter().map(|&v| fit.film.flat[v as usize].to_vector()).sum::<Vector>() / 3.0;
    let middles: Vec<Vector> = fit.film.triangles.iter().map(middle).collect();
    let tight = |mouth: Point| {
        let away = |k: &usize| (middles[*k] - mouth.to_vector()).square_length();
        let nearest = (0..middles.len()).min_by(|a, b| away(a).total_cmp(&away(b)));
        nearest.is_some_and(|k| fit.film.stretches[k][1] < 1.0 - least)
    };
    let places = |sides| band.lines(Cuts { count: LOOKED_AT, quarters: 1, sides });
    [[true, false], [false, true]].map(|sides| places(sides).iter().any(|line| tight(line[0])))
}
