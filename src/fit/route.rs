//! The lines that a marking may follow, found on the part: one function for each kind.
//!
//! Offsets, stations, corners and points scale with the part as it was moulded;
//! angles stay. Every line is found to a ten-millionth of the part's size where
//! the part is smooth enough, to coarser steps where it is not.

use super::course::Course;
use super::fence;
use super::moulded::Moulded;
use super::place::{self, Refusal};
use super::strap;
use crate::flow::{Base, Climb, Helix, LimitKind, Line, Side, Spot, View};
use crate::outline::{Point, point};
use crate::surface::field::{self, End};
use crate::surface::parallel::parallel;
use crate::surface::section::{Plane, cut};
use crate::surface::{Foot, Path, PathError, Start, Surface, Waypoint, geodesic, radial};
use glam::DVec3;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Lines are found to the first of these shares of the part's size that the part is smooth enough for.
const TOLERANCES: [f64; 3] = [1e-7, 1e-5, 1e-3];

/// Places on a ring that is a circle: a cubic over a degree of it is right to 3e-10 of the radius.
const ROUND: u32 = 360;

/// A helix longer than this many times its part is a winding of thread, not a marking.
const MOST_WOUND: f64 = 200.0;

/// What a line is asked for besides its own words.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// Least reach before and behind the hold point, for lines without ends of their own, mm.
    pub reach: [f64; 2],
    /// Whether the drawing goes all the way, from end to end or round to itself.
    pub whole: bool,
    /// Width of the drawing, mm.
    pub width: f64,
}

/// The line on the part, its lengths counted from the hold point.
pub fn course(line: &Line, spot: &Spot, moulded: &Moulded, wanted: Wanted) -> Result<Course, Refusal> {
    let surface = moulded.surface.as_ref();
    match line {
        Line::Ring { station } => ring(moulded, moulded.station(*station), spot, wanted.whole),
        Line::Section { plane } => {
            let start = place::start(moulded, spot)?;
            let plane = match plane {
                Some((axis, offset)) => {
                    across(&start, axis.vector(), axis.vector() * moulded.along(*axis, *offset))
                }
                None => along_sight(&start, spot),
            };
            section(surface, &plane, start.foot.point)
        }
        Line::Helix(helix) => winding(moulded, helix, &place::start(moulded, spot)?),
        Line::Run => run(surface, &place::start(moulded, spot)?, wanted.reach),
        Line::Drawn { view, corners, radius } => {
            let [right, up] = moulded.paper_stretch(*view);
            let paper: Vec<Point> = corners.iter().map(|p| point(p.x * right, p.y * up)).collect();
            let radius = radius.map_or(wanted.width, |radius| radius.to_mm() * moulded.ratio);
            Ok(Course::new(drawn(surface, *view, &paper, radius, false)?, 0.0))
        }
        Line::Along { base, offset, side } => beside(moulded, base, offset.to_mm(), *side, spot, wanted),
        Line::Through { points } => strap::course(moulded, points, wanted.width),
    }
}

/// Runs `find` with a coarser tolerance each time that the part is too rough for a line.
pub fn as_fine_as_may_be<T>(
    surface: &dyn Surface,
    find: impl Fn(f64) -> Result<T, PathError>,
) -> Result<T, Refusal> {
    let size = surface.size();
    let mut found = find(TOLERANCES[0] * size);
    for tolerance in &TOLERANCES[1..] {
        if !matches!(found, Err(PathError::Lost { .. })) {
            break;
        }
        found = find(tolerance * size);
    }
    found.map_err(no_line)
}

fn no_line(error: PathError) -> Refusal {
    let help = match error {
        PathError::NoHeading => "choose points that lie apart, or another heading",
        PathError::Lost { .. } | PathError::Touches { .. } => "move the line off the edge or tip of the part",
        PathError::Misses { .. } => "move the plane into the part, or `at` nearer to where it cuts the part",
        PathError::Cusp { .. } => "choose a smaller offset, or the other side",
        PathError::NotReached { .. } => "give a point in between, to tell which way to go",
    };
    Refusal::new(error.to_string(), help)
}

/// The plane at this station, cut as a circle where it is one.
fn ring(moulded: &Moulded, station: f64, spot: &Spot, whole: bool) -> Result<Course, Refusal> {
    let surface = moulded.surface.as_ref();
    // A closed wrap is held opposite its seam, so that both ends are free to meet.
    let middle = match spot {
        Spot::Station { around, .. } if !whole => around.to_radians(),
        _ => moulded.part.seam.to_radians() + PI,
    };
    let spine = surface.spine(station);
    let no_ring = || {
        let [from, to] = surface.stations();
        Refusal::new(
            format!("no ring goes round this part at station {station:.0} mm"),
            format!("stations of a round part run from {from:.0} to {to:.0} mm; a plate has none"),
        )
    };
    if let Some(circle) = surface.ring(station) {
        let place = |k: u32| {
            let turn = TAU * f64::from(k) / f64::from(ROUND);
            let out = radial(middle + turn);
            Waypoint {
                along: circle.radius * turn,
                foot: surface.project(spine.point + out * circle.radius),
                heading: radial(middle + turn + FRAC_PI_2),
                // The report's sign says "towards the front", which lies to the right of the heading.
                bend: -circle.geodesic_curvature,
            }
        };
        let path = Path { places: (0..=ROUND).map(place).collect(), closed: true };
        return Ok(Course::new(path, 0.0));
    }
    let near = match spine.along {
        DVec3::X => surface.at_station(station, middle).ok_or_else(no_ring)?.point,
        along => {
            let out = radial(middle).reject_from(along).normalize_or(along.any_orthonormal_vector());
            surface.project(spine.point + out * 1e-3).point
        }
    };
    // The cut has the plane's normal on its right: aft is to be on its left.
    let plane = Plane { origin: spine.point, normal: -spine.along };
    let path = as_fine_as_may_be(surface, |tolerance| cut(surface, &plane, near, tolerance))?;
    if path.closed { Ok(Course::new(path, 0.0)) } else { Err(no_ring()) }
}

/// The plane square to an axis. What is seen on the left of the line's heading has the greater values,
/// unless the hold point heads the other way.
fn across(start: &Start, axis: DVec3, origin: DVec3) -> Plane {
    /// Less than this, as a cosine, tells no direction.
    const TELLING: f64 = 0.05;
    let heading = start.foot.normal.cross(-axis).normalize_or_zero();
    let backwards = heading.dot(start.heading) < -TELLING;
    Plane { origin, normal: if backwards { axis } else { -axis } }
}

/// The plane that holds the start's heading and the line of sight to it: the cut looks straight.
fn along_sight(start: &Start, spot: &Spot) -> Plane {
    let sight = match spot {
        Spot::Seen { view, .. } | Spot::From { view, .. } => view.axes()[2],
        Spot::Station { .. } => start.foot.normal,
    };
    // Right of the heading as seen.
    let normal = start.heading.cross(sight).normalize_or(-start.left());
    Plane { origin: start.foot.point, normal }
}

pub fn section(surface: &dyn Surface, plane: &Plane, near: DVec3) -> Result<Course, Refusal> {
    let path = as_fine_as_may_be(surface, |tolerance| cut(surface, plane, near, tolerance))?;
    let hold = if path.closed { 0.0 } else { Course::nearest(&path, near) };
    Ok(Course::new(path, hold))
}

/// Straight on from the start and straight back.
fn run(surface: &dyn Surface, start: &Start, [back, ahead]: [f64; 2]) -> Result<Course, Refusal> {
    let shoot = |start: Start, length: f64| {
        as_fine_as_may_be(surface, |tolerance| geodesic::shoot(surface, &start, length, tolerance))
    };
    let ahead = shoot(*start, ahead)?;
    let back = shoot(Start { heading: -start.heading, ..*start }, back)?;
    let (hold, path) = (back.length(), back.reversed().joined(ahead));
    Ok(Course::new(path, hold))
}

/// Round and along the part at once, from end to end of it; held where it starts from.
fn winding(moulded: &Moulded, helix: &Helix, start: &Start) -> Result<Course, Refusal> {
    let surface = moulded.surface.as_ref();
    let hand = if helix.left_handed { -1.0 } else { 1.0 };
    let [from, to] = surface.stations();
    let pitch = match helix.climb {
        Climb::Pitch(pitch) => Some(moulded.station(pitch)),
        Climb::Turns(turns) => Some((to - from) / turns),
        Climb::Rise(_) => None,
    };
    let way = move |foot: Foot| {
        let spine = surface.beside(foot.point);
        // Round the part within the plane of its station, and along it at one angle round.
        let round = spine.along.cross(foot.normal).try_normalize()?;
        let out = (foot.point - spine.point).reject_from_normalized(spine.along);
        let hoop = spine.along.cross(out).try_normalize()?;
        let along = hoop.cross(foot.normal).try_normalize()?;
        let along = along * 1f64.copysign(along.dot(spine.along));
        match (pitch, helix.climb) {
            (_, Climb::Rise(rise)) => {
                let (sin, cos) = rise.sin_cos();
                // Square to the ring, as the angle to it is measured.
                let square = round.cross(foot.normal);
                Some(round * (cos * hand) + square * sin * 1f64.copysign(square.dot(spine.along)))
            }
            (Some(pitch), _) => {
                let turn = round.dot(hoop) / out.length();
                let climb = spine.gain(foot.point, along);
                Some(round * (hand / turn) + along * (pitch / TAU / climb))
            }
            (None, _) => None,
        }
    };
    let past = |p: DVec3| {
        let station = surface.beside(p).station;
        surface.past_ends(p).max(from - station).max(station - to)
    };
    let half = |sense: f64| {
        let way = |foot: Foot| way(foot).map(|way| way * sense);
        let length = MOST_WOUND * surface.size();
        let end = End { past: &past, length };
        let path = as_fine_as_may_be(surface, |t| field::follow(surface, &way, start.foot.point, &end, t))?;
        if path.length() < length * (1.0 - 1e-9) {
            return Ok(path);
        }
        Err(Refusal::new(
            format!(
                "from where it is held to one end the helix would be more than {MOST_WOUND} times as long as its part"
            ),
            "give a greater `pitch` or `rise`, or fewer `turns`",
        ))
    };
    let (back, ahead) = (half(-1.0)?, half(1.0)?);
    let hold = back.length();
    Ok(Course::new(back.reversed().joined(ahead), hold))
}

/// A line seen straight from corner to corner of the paper, the corners rounded to a radius, mm as
/// moulded. All the way round where `closed`.
fn drawn(
    surface: &dyn Surface,
    view: View,
    paper: &[Point],
    radius: f64,
    closed: bool,
) -> Result<Path, Refusal> {
    let [right, up, sight] = view.axes();
    let pieces = rounded(paper, radius, closed)?;
    let mut whole: Option<Path> = None;
    for piece in &pieces {
        let from = match &whole {
            Some(path) => path.places[path.places.len() - 1].foot.point,
            None => {
                let at = piece.from;
                let foot = place::look(surface, view, at.x, at.y);
                foot.ok_or_else(|| off_the_part(view, at))?.point
            }
        };
        let on_paper = |p: DVec3| point(p.dot(right), p.dot(up));
        let side = |p: Point| piece.left(p);
        let way = |foot: Foot| {
            let left = side(on_paper(foot.point));
            // Along the part, square to the paper's left: the way whose shadow runs along the piece.
            let way = (right * left.x + up * left.y).cross(foot.normal);
            let facing = foot.normal.dot(sight);
            (facing > GRAZING).then_some(way)
        };
        let past = |p: DVec3| piece.past(on_paper(p));
        let end = End { past: &past, length: 20.0 * surface.size() };
        let found = as_fine_as_may_be(surface, |t| field::follow(surface, &way, from, &end, t))
            .map_err(|_| off_the_part(view, piece.to))?;
        let last = found.places[found.places.len() - 1].foot.point;
        if surface.past_ends(last) > 1e-6 * surface.size() {
            return Err(off_the_part(view, piece.to));
        }
        whole = Some(match whole {
            Some(path) => path.joined(found),
            None => found,
        });
    }
    let mut path = whole.ok_or_else(|| Refusal::new("the line has no length", "give two corners or more"))?;
    path.closed = closed;
    Ok(path)
}

/// A line that meets the part at less than this, as a sine, runs off over its horizon.
const GRAZING: f64 = 1e-3;

fn off_the_part(view: View, at: Point) -> Refusal {
    Refusal::new(
        format!(
            "on its way to {:.0} mm across and {:.0} mm up, seen from the {}, the line leaves the part",
            at.x,
            at.y,
            view.word()
        ),
        "move the corners so that the line between them stays on the side that is seen",
    )
}

/// A straight or an arc of a line on paper.
struct Stroke {
    from: Point,
    to: Point,
    /// Centre, and 1 where it turns left.
    arc: Option<(Point, f64)>,
}

impl Stroke {
    /// The unit vector to the left of the stroke beside `p`.
    fn left(&self, p: Point) -> crate::outline::Vector {
        match self.arc {
            None => crate::outline::turned((self.to - self.from).normalize(), FRAC_PI_2),
            Some((centre, turn)) => (centre - p).normalize() * turn,
        }
    }

    /// How far `p` is past its end, mm.
    fn past(&self, p: Point) -> f64 {
        let along = crate::outline::turned(self.left(self.to), -FRAC_PI_2);
        (p - self.to).dot(along)
    }
}

/// Straights and arcs through the corners.
fn rounded(corners: &[Point], radius: f64, closed: bool) -> Result<Vec<Stroke>, Refusal> {
    let count = corners.len();
    let inner: Vec<usize> = if closed { (0..count).collect() } else { (1..count - 1).collect() };
    // How much of both legs an arc takes, by corner.
    let mut taken = vec![0.0; count];
    for &k in &inner {
        let (before, after) = (corners[(k + count - 1) % count], corners[(k + 1) % count]);
        let (into, out) = ((corners[k] - before).normalize(), (after - corners[k]).normalize());
        let turn = libm::atan2(into.cross(out), into.dot(out)).abs();
        if turn > 0.95 * PI {
            return Err(Refusal::new(
                format!(
                    "at {:.0} mm across and {:.0} mm up the line turns straight back",
                    corners[k].x, corners[k].y
                ),
                "a marking cannot follow a line back onto itself: make two markings",
            ));
        }
        taken[k] = radius * libm::tan(turn / 2.0);
    }
    let mut strokes: Vec<Stroke> = Vec::new();
    let legs = if closed { count } else { count - 1 };
    for k in 0..legs {
        let (a, b) = (corners[k], corners[(k + 1) % count]);
        let length = (b - a).length();
        let (start, end) = (taken[k], taken[(k + 1) % count]);
        if start + end > length * (1.0 + 1e-9) || length == 0.0 {
            return Err(Refusal::new(
                format!(
                    "{length:.0} mm from corner to corner leave no room for the roundings, {:.0} mm",
                    start + end
                ),
                "give the corners a smaller `radius`, or put them further apart; without one it is the marking's width",
            ));
        }
        let along = (b - a) / length;
        let (from, to) = (a + along * start, b - along * end);
        if let Some(last) = strokes.last().filter(|_| start > 0.0) {
            strokes.push(arc(last.to, from, along, radius));
        }
        if (to - from).dot(along) > 1e-9 * length {
            strokes.push(Stroke { from, to, arc: None });
        }
    }
    if closed && taken[0] > 0.0 {
        let (first, last) = (&strokes[0], &strokes[strokes.len() - 1]);
        let along = (first.to - first.from).normalize();
        strokes.push(arc(last.to, first.from, along, radius));
    }
    Ok(strokes)
}

/// The arc from one leg to where the next one, along `along`, begins.
fn arc(from: Point, to: Point, along: crate::outline::Vector, radius: f64) -> Stroke {
    let turn = 1f64.copysign((to - from).cross(along));
    let centre = to + crate::outline::turned(along, FRAC_PI_2) * radius * turn;
    Stroke { from, to, arc: Some((centre, turn)) }
}

/// Beside a limit or the line of another marking.
fn beside(
    moulded: &Moulded,
    base: &Base,
    offset: f64,
    side: Side,
    spot: &Spot,
    wanted: Wanted,
) -> Result<Course, Refusal> {
    let surface = moulded.surface.as_ref();
    let near = place::start(moulded, spot)?;
    let base_path = match base {
        Base::Marking { line, spot } => {
            // The other line from end to end, or far enough for what lies beside it.
            let reach = wanted.reach.map(|reach| 2.0 * reach + offset.abs());
            course(line, spot, moulded, Wanted { reach, ..wanted })?.path()
        }
        Base::Limit(index) => limit_line(moulded, &moulded.part.limits[*index].kind, &near)?,
    };
    let offset = offset * moulded.ratio * to_side(moulded, base, side, &base_path);
    let path = parallel(surface, &base_path, offset).map_err(no_line)?;
    let hold = Course::nearest(&path, near.foot.point);
    Ok(Course::new(path, hold))
}

/// 1 where the wanted side lies to the left of the line, -1 where it lies to the right.
fn to_side(moulded: &Moulded, base: &Base, side: Side, path: &Path) -> f64 {
    let middle = path.places[path.places.len() / 2].start();
    let surface = moulded.surface.as_ref();
    let gain = match (side, base) {
        (Side::Kept, Base::Limit(index)) => {
            let kind = &moulded.part.limits[*index].kind;
            let across = Start { foot: middle.foot, heading: middle.left() };
            let step = 1e-3 * path.length();
            let clear = |s: f64| fence::clearance(kind, geodesic::walk(surface, &across, s).foot);
            clear(step) - clear(-step)
        }
        (Side::Towards { axis, greater }, _) => axis.of(middle.left()) * if greater { 1.0 } else { -1.0 },
        // Without a side, to the left of the heading.
        (Side::Kept, Base::Marking { .. }) => 1.0,
    };
    1f64.copysign(gain)
}

/// A limit as a line on the part.
fn limit_line(moulded: &Moulded, kind: &LimitKind, near: &Start) -> Result<Path, Refusal> {
    let surface = moulded.surface.as_ref();
    match kind {
        LimitKind::Plane { axis, offset, .. } => {
            let plane = across(near, axis.vector(), axis.vector() * offset.to_mm());
            as_fine_as_may_be(surface, |t| cut(surface, &plane, near.foot.point, t))
        }
        LimitKind::Region { view, outline, .. } => {
            // Corners are taken as sharp as a hair.
            let sides = outline.iter().zip(outline.iter().cycle().skip(1)).map(|(a, b)| (*b - *a).length());
            let hair = 0.02 * sides.fold(f64::INFINITY, f64::min);
            drawn(surface, *view, outline, hair, true)
        }
    }
}

/// Way between neighbouring turns of a helix, square to them, at the hold point, mm.
pub fn turn_spacing(moulded: &Moulded, helix: &Helix, at: &Start) -> f64 {
    let surface = moulded.surface.as_ref();
    let spine = surface.beside(at.foot.point);
    let girth = TAU * (at.foot.point - spine.point).reject_from_normalized(spine.along).length();
    let [from, to] = surface.stations();
    // Pitch and stations run along the part's axis, against which the skin slants; the rise is measured on the skin.
    let slant = at.foot.normal.cross(spine.along).length().max(1e-6);
    let skin = match helix.climb {
        Climb::Pitch(pitch) => moulded.station(pitch) / slant,
        Climb::Turns(turns) => (to - from) / turns / slant,
        Climb::Rise(rise) => girth * libm::tan(rise.to_radians()),
    };
    skin * girth / libm::hypot(skin, girth)
}
