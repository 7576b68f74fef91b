//! One marking on one part: where each bit of the flat piece lands, what runs
//! past the limits, and how large the piece could be.
//!
//! Everything here is in full-size millimetres on the part as it was moulded
//! (see [`moulded`]); the result goes to the model by one scaling.

mod area;
mod belt;
mod bend;
mod course;
mod fence;
mod follow;
mod grow;
mod largest;
pub mod moulded;
mod mouths;
mod overhang;
mod place;
mod refined;
mod relief;
mod route;
mod sight;
mod strap;
mod wrap;

pub use moulded::Moulded;
pub use place::Refusal;
pub use relief::relief;

use crate::film::{self, Settings};
use crate::flow::{Artwork, Draw, End, Film, Film3, Fit, Hold, Lay, Marking, SizeBy, Spot, Strain};
use crate::outline::{Point, Region, Vector, longer_side, point};
use crate::surface::geodesic::{walk, walk_within};
use crate::surface::{Foot, Start, Surface};
use crate::units::{Full, Length, Size};
use fence::Fence;
use grow::Growing;
use largest::Rays;
use overhang::Overhang;

/// Curves are flattened to this share of a piece's size before film is meshed: a tenth of
/// what the overhang lets pass.
const FLATTEN: f64 = 2e-5;

/// Triangles along the longer side of a piece on a part that unrolls exactly; they only
/// carry limits and pictures.
const EXACT_CELLS: f64 = 32.0;

/// A part whose end is nearer to its point than this share of a piece is pointed: the bit that
/// would be past the end is too small to be found past it.
const SHARP: f64 = 0.02;

/// What a fit is asked for besides marking, artwork and part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked<'a> {
    pub film: &'a Film,
    /// How far a closed wrap laps over itself, carried to full size.
    pub overlap: Length<Full>,
}

/// Fits a marking's artwork to its part.
pub fn fit(
    marking: &Marking,
    artwork: &Artwork<Full>,
    moulded: &Moulded,
    asked: &Asked<'_>,
) -> Result<Fit<Full>, Refusal> {
    if let Some(untold) = &moulded.untold {
        return Err(untold.clone());
    }
    if let Draw::Area { sides, colour } = &marking.draw {
        return area::area(sides, *colour, marking, moulded, asked);
    }
    if artwork.silhouette.is_empty() {
        return Err(Refusal::new(
            "nothing is left of the drawing",
            "cut out less of it, or clip it to a place where it is",
        ));
    }
    let factor = match marking.size_by {
        SizeBy::Scale => 1.0,
        SizeBy::Part => moulded.ratio,
    };
    let sized = artwork.mapped(|outline| outline.enlarged(factor));
    match &marking.lay {
        Lay::Drape => drape(marking, &sized, moulded, asked),
        Lay::Follow(line) => follow::follow(line, marking, &sized, moulded, asked),
        Lay::Sight(view) => sight::sight(*view, marking, &sized, moulded, asked),
    }
}

/// A piece this many times as long as a part that does not unroll is a slip, and would take minutes to be found
/// too long: parts go on past their ends for four times their size.
const MOST_TIMES: f64 = 10.0;

/// Flat artwork put down at the hold point.
fn drape(
    marking: &Marking,
    sized: &Artwork<Full>,
    moulded: &Moulded,
    asked: &Asked<'_>,
) -> Result<Fit<Full>, Refusal> {
    let surface = moulded.surface.as_ref();
    let origin = place::start(moulded, &marking.spot)?;
    let ends = Ends::seen_from(surface, &origin);
    let artwork = sized.mapped(|outline| outline.moved(-hold_point(marking.hold, sized, ends)));
    let bounds = artwork.silhouette.bounds();
    let size = longer_side(&bounds);
    let flat: Region<Full> = artwork.silhouette.flattened(FLATTEN * size);
    let in_box = bounds.inflate(1e-6 * size, 1e-6 * size).contains_inclusive(Point::zero());
    if !in_box {
        return Err(Refusal::new(
            "its hold point lies beside the piece",
            format!(
                "`hold` counts from the piece's centre: at most {:.0} mm along and {:.0} mm across",
                bounds.width() / 2.0,
                bounds.height() / 2.0
            ),
        ));
    }
    let times = size / surface.size();
    if surface.development().is_none() && times > MOST_TIMES {
        return Err(Refusal::new(
            format!("it is {times:.0} times as long as the part"),
            "look at its unit; or make it smaller, or say of what it is a size with `made`",
        ));
    }
    let all = fence::fences(moulded);
    let settings = Settings { poisson: asked.film.poisson, ..Settings::default() };
    let start = settle(moulded, &marking.spot, &origin, &flat);
    // Where the part ends well before its point, the piece is simply too large.
    let sharp = |point: &Point| {
        flat.contains(*point) && surface.past_ends(straight_on(surface, &start, *point).point) < SHARP * size
    };
    if place::point_under(surface, &start).as_ref().is_some_and(sharp) {
        return Err(Refusal::new(
            "it would cover the part's point, and film lies flat on all of a cone but that",
            "hold it further from the point, make it smaller, or let it follow a ring",
        ));
    }
    let (laid, strain) = lay(surface, &flat, start, &settings)?;
    let over = overhang::overhang(surface, &laid, &all);

    let unrolls = surface.development().is_some();
    let (rays, edge) = if unrolls {
        let smallest = fence::smallest(&all);
        let step = (smallest / 2.0).max(overhang::FINEST * size).min(size / 48.0);
        (Rays::EXACT.not_over(smallest, size), sampled(&flat, step))
    } else {
        (Rays::GUESS, sampled(&artwork.silhouette.flattened(5e-3 * size), size / 8.0))
    };
    // A piece that starts from a limit is moved back to it as it grows; the rays leave that limit out.
    let free: Vec<Fence<'_>> = match marking.spot {
        Spot::From { datum, .. } => fence::others(moulded, datum),
        _ => fence::fences(moulded),
    };
    let growing = Growing {
        moulded,
        spot: &marking.spot,
        origin: &origin,
        start: &start,
        flat: &flat,
        fences: &all,
        size,
        poisson: asked.film.poisson,
    };
    let grown = |grow: largest::Grow<'_>| growing.largest(rays, &edge, &free, grow);
    let largest_fit = grown(&|q, f| q * f);
    let length = sized.silhouette.bounds().width();
    let largest_length = matches!(marking.draw, Draw::Stripe { .. })
        .then(|| Length::mm(length * grown(&|q, f| point(q.x * f, q.y))));

    let may_trim = ends.allowed(&marking.may_trim);
    let trimmable = overhang::only_at_ends(over.past.iter().map(|(_, area)| area), bounds, may_trim);
    Ok(Fit { largest_length, ..fitted(artwork, laid, strain, over, trimmable, largest_fit) })
}

/// What every way of laying finds out; the rest is as it is for a piece that follows no line and misses nothing.
fn fitted(
    artwork: Artwork<Full>,
    film: Film3,
    strain: Strain,
    over: Overhang,
    trimmable: bool,
    largest_fit: f64,
) -> Fit<Full> {
    Fit {
        size: size_of(&artwork),
        run: None,
        spine: Vec::new(),
        overhang: Length::mm(over.distance),
        overhang_share: over.share,
        trimmable,
        overhanging: over.area,
        trim: over.trim,
        past: over.past.into_iter().map(|(name, _)| name).collect(),
        largest_fit,
        largest_length: None,
        seam: None,
        repeats: None,
        hidden_share: 0.0,
        doubled_share: 0.0,
        relief: None,
        past_line: Length::ZERO,
        miss: Length::ZERO,
        film,
        strain,
        artwork,
    }
}

/// Film on the part: in closed form where the part unrolls, by the solver where it does not.
fn lay(
    surface: &dyn Surface,
    flat: &Region<Full>,
    start: Start,
    settings: &Settings,
) -> Result<(Film3, Strain), Refusal> {
    if surface.development().is_some() {
        return unrolled(surface, flat, start);
    }
    let draped = film::drape(surface, flat, start, settings).map_err(refused)?;
    Ok((draped.film, draped.strain))
}

/// Film on a part that unrolls: every point where the development says, no strain at all.
fn unrolled(surface: &dyn Surface, flat: &Region<Full>, start: Start) -> Result<(Film3, Strain), Refusal> {
    let bounds = flat.bounds();
    let spacing = (longer_side(&bounds) / EXACT_CELLS).min(2.0 * bounds.width().min(bounds.height()));
    let mesh = film::mesh::triangulate(flat, spacing).map_err(refused)?;
    let feet: Vec<Foot> = mesh.points.iter().map(|&q| straight_on(surface, &start, q)).collect();
    let film = Film3 {
        laid: feet.iter().map(|foot| foot.point).collect(),
        normals: feet.iter().map(|foot| foot.normal).collect(),
        stretches: vec![[1.0, 1.0]; mesh.triangles.len()],
        triangles: mesh.triangles,
        flat: mesh.points,
    };
    Ok((film, Strain { settled: true, ..Strain::default() }))
}

fn refused(trouble: film::Trouble) -> Refusal {
    Refusal::new(trouble.to_string(), "make the piece smaller, split it, or hold it elsewhere")
}

/// What a straight line from a piece's hold point may be wrong, as a share of its length: a hundredth of the
/// slack that fits are judged with.
const STRAIGHT: f64 = 2e-6;

/// The point reached by going straight on from `start` in the direction of `q`, as far as `q` is away.
fn straight_on(surface: &dyn Surface, start: &Start, q: Point) -> Foot {
    if let Some(development) = surface.development() {
        return development.lay(start, q);
    }
    let away = q.to_vector();
    let Some(direction) = away.try_normalize() else { return start.foot };
    let heading = start.heading * direction.x + start.left() * direction.y;
    walk_within(surface, &Start { foot: start.foot, heading }, away.length(), STRAIGHT).foot
}

/// A piece that starts from a curved line is pushed on until none of its straight end lies past it.
fn settle(moulded: &Moulded, spot: &Spot, origin: &Start, flat: &Region<Full>) -> Start {
    let Spot::From { datum, .. } = *spot else { return *origin };
    let surface = moulded.surface.as_ref();
    let bounds = flat.bounds();
    let near = 1e-6 * bounds.width();
    // Only an end that is held on the line is settled against it.
    let held = if bounds.min.x.abs() <= near { bounds.min.x } else { bounds.max.x };
    if held.abs() > near {
        return *origin;
    }
    let end = sampled(flat, bounds.height() / 16.0)
        .into_iter()
        .filter(|q| (q.x - held).abs() <= near)
        .collect::<Vec<_>>();
    let inward = bounds.width() * if held == bounds.min.x { 1e-3 } else { -1e-3 };
    let kept = |foot| fence::kept(moulded, datum, foot);
    let mut start = *origin;
    for _ in 0..4 {
        let worst = end.iter().map(|&q| kept(straight_on(surface, &start, q))).fold(0.0, f64::min);
        let gain = (kept(walk(surface, &start, inward).foot) - kept(start.foot)) / inward;
        if worst >= 0.0 || gain * inward <= 0.0 {
            break;
        }
        start = walk(surface, &start, -worst / gain);
    }
    start
}

/// Corners of a region and points between them, no two further apart than `step` mm.
fn sampled(region: &Region<Full>, step: f64) -> Vec<Point> {
    let between = |(a, b): (Point, Point)| {
        let count = ((b - a).length() / step).ceil().clamp(1.0, 1024.0);
        (0..count as usize).map(move |k| a.lerp(b, k as f64 / count))
    };
    region.edges().flat_map(between).collect()
}

fn size_of(artwork: &Artwork<Full>) -> Size<Full> {
    let bounds = artwork.silhouette.bounds();
    Size { width: Length::mm(bounds.width()), height: Length::mm(bounds.height()) }
}

/// Which end of a piece is the front one: the end nearer the part's front, else the one the heading starts from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Ends {
    front_is_start: bool,
}

impl Ends {
    fn seen_from(surface: &dyn Surface, start: &Start) -> Self {
        let aft = surface.beside(start.foot.point).along;
        Self { front_is_start: start.heading.dot(aft) > -1e-9 }
    }

    /// Whether the start and the far end may be trimmed.
    fn allowed(self, may_trim: &[End]) -> [bool; 2] {
        let [front, rear] = [End::Front, End::Rear].map(|end| may_trim.contains(&end));
        if self.front_is_start { [front, rear] } else { [rear, front] }
    }
}

/// The hold point in the artwork's own coordinates.
fn hold_point(hold: Hold, artwork: &Artwork<Full>, ends: Ends) -> Vector {
    let bounds = artwork.silhouette.bounds();
    let centre = bounds.center();
    let x = |start: bool| if start { bounds.min.x } else { bounds.max.x };
    match hold {
        Hold::Centre => Vector::zero(),
        Hold::Front => Vector::new(x(ends.front_is_start), centre.y),
        Hold::Rear => Vector::new(x(!ends.front_is_start), centre.y),
        Hold::Point(along, left) => Vector::new(along.to_mm(), left.to_mm()),
    }
}

/// The size of a marking's artwork on the real thing.
pub fn full_size(artwork: &Artwork<Full>) -> Size<Full> {
    size_of(artwork)
}
