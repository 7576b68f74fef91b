//! One closed line of a block letter, corner by corner, with the turns of its strokes rounded or cut.
//!
//! A stroke that turns has an outer and an inner corner. Round, both get an arc about
//! one centre; cut, both get a straight edge, a stroke apart: so it is as wide in the
//! turn as on its way. Where a stroke ends before its turn does, the turn is cut off
//! along the end of the stroke. Left out: strokes that cross, which are joined as areas.

use crate::outline::{Contour, Point, Segment, Vector};
use std::f64::consts::SQRT_2;

/// What turns look like.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Style {
    Cut,
    Round,
}

/// A straight line without ends.
#[derive(Clone, Copy, Debug)]
pub struct Line {
    pub through: Point,
    pub along: Vector,
}

impl Line {
    pub fn between(a: Point, b: Point) -> Self {
        Self { through: a, along: b - a }
    }

    /// The same line moved to the left of its direction.
    #[must_use]
    pub fn beside(self, left: f64) -> Self {
        let along = self.along.normalize();
        Self { through: self.through + Vector::new(-along.y, along.x) * left, along }
    }

    /// Where two lines cross; they must not be parallel.
    pub fn meets(self, other: Self) -> Point {
        let t = (other.through - self.through).cross(other.along) / self.along.cross(other.along);
        self.through + self.along * t
    }

    /// Where it is level with `y`.
    pub fn at_height(self, y: f64) -> Point {
        Point::new(self.through.x + self.along.x * (y - self.through.y) / self.along.y, y)
    }

    /// Where it is upright over `x`.
    pub fn at_station(self, x: f64) -> Point {
        Point::new(x, self.through.y + self.along.y * (x - self.through.x) / self.along.x)
    }
}

/// The line through `p` that leaves `q` by `left` to its left (right where negative), heading that way.
pub fn passing(p: Point, q: Point, left: f64) -> Line {
    let way = q - p;
    let angle = libm::atan2(way.y, way.x) - libm::asin(left / way.length());
    let (sin, cos) = libm::sincos(angle);
    Line { through: p, along: Vector::new(cos, sin) }
}

/// One stop on the way round.
#[derive(Clone, Copy, Debug)]
pub enum Node {
    Corner(Point),
    /// The corner where a stroke turns, and the size of the turn: radius, or what is cut off a right angle.
    Turn(Point, f64),
    /// A turn between two directions, cut off along lines.
    Bend(Bend),
}

/// A turn with all it needs.
#[derive(Clone, Copy, Debug)]
pub struct Bend {
    pub at: Point,
    pub size: f64,
    pub into: Vector,
    pub out: Vector,
    pub from: Option<Line>,
    pub to: Option<Line>,
}

impl Node {
    fn at(&self) -> Point {
        match self {
            Self::Corner(at) | Self::Turn(at, _) => *at,
            Self::Bend(bend) => bend.at,
        }
    }
}

/// The size of the inner corner of a turn, so that a stroke of width `s` keeps it.
pub fn inner(style: Style, size: f64, s: f64) -> f64 {
    match style {
        Style::Round => (size - s).max(0.0),
        Style::Cut => (size - (2.0 - SQRT_2) * s).max(0.0),
    }
}

/// Walks the nodes, counter-clockwise for an outer line.
pub fn ring(nodes: &[Node], style: Style) -> Contour {
    let count = nodes.len();
    let near = |k: usize, step: isize| nodes[(k as isize + step).rem_euclid(count as isize) as usize];
    // A leg that ends before the turn does: the turn is cut off along the edge beyond.
    let ended = |k: usize, step: isize, reach: f64| {
        let (at, next) = (nodes[k].at(), near(k, step));
        let short = matches!(next, Node::Corner(_)) && (next.at() - at).length() < reach * (1.0 - 1e-9);
        short.then(|| Line::between(next.at(), near(k, 2 * step).at()))
    };
    let mut bends = Vec::with_capacity(count);
    let mut lost = vec![false; count];
    for (k, node) in nodes.iter().enumerate() {
        bends.push(match *node {
            Node::Corner(_) => None,
            Node::Bend(bend) => Some(bend),
            Node::Turn(at, size) => {
                let (into, out) = ((at - near(k, -1).at()).normalize(), (near(k, 1).at() - at).normalize());
                let reach = reach(size, into, out);
                let (from, to) = (ended(k, -1, reach), ended(k, 1, reach));
                lost[(k + count - 1) % count] |= from.is_some();
                lost[(k + 1) % count] |= to.is_some();
                Some(Bend { at, size, into, out, from, to })
            }
        });
    }
    let mut walk = Walk::default();
    for ((node, bend), lost) in nodes.iter().zip(bends).zip(lost) {
        match bend {
            Some(bend) => walk.bend(&bend, style),
            None if !lost => walk.line(node.at()),
            None => {}
        }
    }
    walk.closed()
}

/// How far from its corner a turn begins.
fn reach(size: f64, into: Vector, out: Vector) -> f64 {
    let turn = libm::atan2(into.cross(out), into.dot(out)).abs();
    size * libm::tan(turn / 2.0)
}

#[derive(Default)]
struct Walk {
    start: Option<Point>,
    here: Point,
    segments: Vec<Segment>,
}

impl Walk {
    fn line(&mut self, to: Point) {
        if self.start.is_none() {
            self.start = Some(to);
        } else if (to - self.here).length() > 1e-9 * (1.0 + to.to_vector().length()) {
            self.segments.push(Segment::Line { to });
        } else {
            return;
        }
        self.here = to;
    }

    fn bend(&mut self, bend: &Bend, style: Style) {
        let reach = reach(bend.size, bend.into, bend.out);
        if reach == 0.0 {
            return self.line(bend.at);
        }
        let (mut start, mut end) = (bend.at - bend.into * reach, bend.at + bend.out * reach);
        if style == Style::Cut {
            let edge = Line::between(start, end);
            start = bend.from.map_or(start, |line| edge.meets(line));
            end = bend.to.map_or(end, |line| edge.meets(line));
            self.line(start);
            return self.line(end);
        }
        let left = bend.into.cross(bend.out).signum();
        let centre = start + Vector::new(-bend.into.y, bend.into.x) * (bend.size * left);
        start = bend.from.map_or(start, |line| on_circle(centre, bend.size, line, bend.at));
        end = bend.to.map_or(end, |line| on_circle(centre, bend.size, line, bend.at));
        self.line(start);
        // From where the line ended, to the last bit: an arc must not leave a crack.
        let (a, b) = (self.here - centre, end - centre);
        self.segments.push(Segment::Arc { centre, sweep: libm::atan2(a.cross(b), a.dot(b)), to: end });
        self.here = end;
    }

    fn closed(mut self) -> Contour {
        let start = self.start.unwrap_or_default();
        if (self.here - start).length() < 1e-9 * (1.0 + start.to_vector().length()) {
            match self.segments.last_mut() {
                Some(Segment::Line { to } | Segment::Arc { to, .. } | Segment::Cubic { to, .. }) => {
                    *to = start;
                }
                None => {}
            }
        }
        Contour { start, segments: self.segments }
    }
}

/// Where a line crosses a circle, on the side of `near`; the circle's nearest point where it passes by.
fn on_circle(centre: Point, radius: f64, line: Line, near: Point) -> Point {
    let along = line.along.normalize();
    let middle = line.through + along * (centre - line.through).dot(along);
    let half = (radius * radius - (middle - centre).square_length()).max(0.0).sqrt();
    let ends = [middle - along * half, middle + along * half];
    if (ends[0] - near).length() < (ends[1] - near).length() { ends[0] } else { ends[1] }
}
