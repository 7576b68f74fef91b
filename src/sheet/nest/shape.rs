//! A piece in one of its turns, made ready to be held against others.
//!
//! Edges lie in short runs with a box round each, so that of two large outlines
//! only what is near is compared. *Discs* inside the area stand for it where one
//! asks how deep two pieces overlap: the largest disc that it holds, then the
//! largest beside that, and so on. (Poles of inaccessibility, after Garcia-Castellanos
//! and Lombardo, Scottish Geographical Journal 123:227, 2007; discs for the depth of
//! an overlap after Gardeyn, Vanden Berghe and Wauters, arXiv 2509.13329.)
//!
//! Touching counts as overlapping: two pieces whose edges lie on one line would
//! otherwise never be seen to cross. What is lost by it is a rounding error.

use crate::outline::region::{signed_area, square_distance_to_segment};
use crate::outline::{Bounds, Point, Region, Vector, point, turned};
use crate::units::Model;

/// Edges in one box: fewer boxes against fewer edges, and it hardly matters.
const RUN: usize = 8;

/// Most discs of a shape, and the share of its area at which there are enough.
const MOST_DISCS: usize = 12;
const COVERED: f64 = 0.9;

/// A disc inside a shape.
#[derive(Clone, Copy, Debug)]
pub struct Disc {
    pub centre: Point,
    pub radius: f64,
}

/// An area about its own origin, mm.
#[derive(Clone, Debug)]
pub struct Shape {
    pub bounds: Bounds,
    pub area: f64,
    pub discs: Vec<Disc>,
    /// Boxes of holes that something could lie in.
    pub holes: Vec<Bounds>,
    edges: Vec<[Point; 2]>,
    runs: Vec<(Bounds, usize, usize)>,
    /// A corner of every ring.
    corners: Vec<Point>,
}

impl Shape {
    /// Of clean rings (outer ones counter-clockwise, holes clockwise); without discs.
    pub fn outline(area: &Region<Model>) -> Self {
        let (mut edges, mut runs) = (Vec::new(), Vec::new());
        for ring in area.rings.iter().filter(|ring| ring.len() > 2) {
            let first = edges.len();
            edges.extend((0..ring.len()).map(|k| [ring[k], ring[(k + 1) % ring.len()]]));
            for from in (first..edges.len()).step_by(RUN) {
                let to = (from + RUN).min(edges.len());
                runs.push((Bounds::from_points(edges[from..to].iter().flatten().copied()), from, to));
            }
        }
        let holes = area.rings.iter().filter(|ring| signed_area(ring) < 0.0);
        Self {
            bounds: area.bounds(),
            area: area.area(),
            discs: Vec::new(),
            holes: holes.map(|ring| Bounds::from_points(ring.iter().copied())).collect(),
            edges,
            runs,
            corners: area.rings.iter().filter_map(|ring| ring.first().copied()).collect(),
        }
    }

    /// The same with discs in it.
    pub fn with_discs(area: &Region<Model>) -> Self {
        let mut shape = Self::outline(area);
        shape.discs = shape.filled_by_discs();
        shape
    }

    /// Turned counter-clockwise about the origin.
    pub fn turned(&self, radians: f64) -> Self {
        let place = |p: Point| turned(p.to_vector(), radians).to_point();
        let edges: Vec<_> = self.edges.iter().map(|edge| edge.map(place)).collect();
        let round = |from: usize, to: usize| Bounds::from_points(edges[from..to].iter().flatten().copied());
        let corner_box = |b: &Bounds| {
            // Of a hole only about how large it is matters.
            let corners = [b.min, b.max, point(b.min.x, b.max.y), point(b.max.x, b.min.y)];
            Bounds::from_points(corners.map(place))
        };
        Self {
            bounds: round(0, edges.len()),
            area: self.area,
            discs: self.discs.iter().map(|d| Disc { centre: place(d.centre), ..*d }).collect(),
            holes: self.holes.iter().map(corner_box).collect(),
            runs: self.runs.iter().map(|&(_, from, to)| (round(from, to), from, to)).collect(),
            corners: self.corners.iter().copied().map(place).collect(),
            edges,
        }
    }

    /// How much work it is to hold something against this shape, in edges.
    pub fn work(&self) -> u64 {
        self.edges.len() as u64
    }

    /// Whether this shape, moved by `step`, and the other come closer than `gap`; at 0, whether they overlap or touch.
    pub fn meets(&self, step: Vector, other: &Self, gap: f64) -> bool {
        let own = self.bounds.translate(step).inflate(gap, gap);
        if !touching(&own, &other.bounds) {
            return false;
        }
        for &(bounds, from, to) in &self.runs {
            let bounds = bounds.translate(step).inflate(gap, gap);
            if !touching(&bounds, &other.bounds) {
                continue;
            }
            for &(others, other_from, other_to) in &other.runs {
                if !touching(&bounds, &others) {
                    continue;
                }
                for edge in &self.edges[from..to] {
                    let edge = edge.map(|p| p + step);
                    let near = |other: &[Point; 2]| edges_meet(edge, *other, gap);
                    if other.edges[other_from..other_to].iter().any(near) {
                        return true;
                    }
                }
            }
        }
        // No edge crosses: each ring is inside or outside as a whole.
        self.corners.iter().any(|&p| other.contains(p + step))
            || other.corners.iter().any(|&p| self.contains(p - step))
    }

    /// Whether a point is inside, by the non-zero rule.
    pub fn contains(&self, p: Point) -> bool {
        let b = &self.bounds;
        if p.x < b.min.x || p.x > b.max.x || p.y < b.min.y || p.y > b.max.y {
            return false;
        }
        let mut winding = 0;
        for (run, from, to) in &self.runs {
            if run.max.x < p.x || run.min.y > p.y || run.max.y < p.y {
                continue;
            }
            for [a, b] in &self.edges[*from..*to] {
                let side = (*b - *a).cross(p - *a);
                if a.y <= p.y && b.y > p.y && side > 0.0 {
                    winding += 1;
                } else if a.y > p.y && b.y <= p.y && side < 0.0 {
                    winding -= 1;
                }
            }
        }
        winding != 0
    }

    /// How deep this shape, moved by `step`, overlaps the other: more the deeper, never nothing.
    ///
    /// Discs that overlap count by their depth, discs apart by an amount that falls with the way
    /// between them, so that there is always a direction out. `sqrt` of an area, times a length
    /// that makes large pieces count for more than small ones: mm².
    pub fn depth(&self, step: Vector, other: &Self) -> f64 {
        let least = 0.01 * self.diameter().max(other.diameter());
        let mut sum = 0.0;
        for a in &self.discs {
            let centre = a.centre + step;
            for b in &other.discs {
                let way = (centre - b.centre).length();
                let deep = a.radius + b.radius - way;
                let counted = if deep >= least { deep } else { least * least / (2.0 * least - deep) };
                sum += counted * a.radius.min(b.radius);
            }
        }
        (sum + least * least).sqrt() * (self.area.sqrt() * other.area.sqrt()).sqrt()
    }

    pub fn diameter(&self) -> f64 {
        self.bounds.size().to_vector().length()
    }

    fn filled_by_discs(&self) -> Vec<Disc> {
        let mut discs = Vec::new();
        let mut covered = 0.0;
        while discs.len() < MOST_DISCS && covered < COVERED * self.area {
            let Some(disc) = self.next_disc(&discs) else { break };
            covered += std::f64::consts::PI * disc.radius * disc.radius;
            discs.push(disc);
        }
        if discs.is_empty() {
            // A shape too thin to hold any: a point of it, so that it counts at all.
            let centre = self.corners.first().copied().unwrap_or_default();
            discs.push(Disc { centre, radius: 1e-6 * self.diameter() });
        }
        discs
    }

    /// The largest disc beside those there are: cells that may still hold a larger one are quartered.
    fn next_disc(&self, discs: &[Disc]) -> Option<Disc> {
        /// Where a cell's gain is this small a share, it is not looked into.
        const ENOUGH: f64 = 0.03;
        const MOST_CELLS: usize = 600;
        let side = self.bounds.width().min(self.bounds.height()).max(self.diameter() / 16.0);
        if side <= 0.0 {
            return None;
        }
        let (columns, rows) =
            ((self.bounds.width() / side).ceil() as usize, (self.bounds.height() / side).ceil() as usize);
        let half = side / 2.0;
        let middle = |column: usize, row: usize| {
            self.bounds.min + Vector::new((column as f64 + 0.5) * side, (row as f64 + 0.5) * side)
        };
        let cells = (0..columns.max(1)).flat_map(|c| (0..rows.max(1)).map(move |r| (c, r)));
        let mut open: Vec<(Point, f64)> = cells.map(|(c, r)| (middle(c, r), half)).collect();
        let mut best = Disc { centre: Point::origin(), radius: 0.0 };
        let mut at = 0;
        while at < open.len() && at < MOST_CELLS {
            let (centre, half) = open[at];
            at += 1;
            let reach = half * std::f64::consts::SQRT_2;
            let least = best.radius.min(best.radius * (1.0 + ENOUGH) - reach);
            let Some(room) = self.room(centre, discs, least) else { continue };
            if room > best.radius {
                best = Disc { centre, radius: room };
            }
            if room + reach > best.radius * (1.0 + ENOUGH) && half > side / 64.0 {
                let quarter = half / 2.0;
                for (x, y) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
                    open.push((centre + Vector::new(x * quarter, y * quarter), quarter));
                }
            }
        }
        (best.radius > 1e-4 * self.diameter()).then_some(best)
    }

    /// Way from a point to the nearest edge or disc, negative outside and within discs; `None` where it
    /// is less than `least`, and how much less does not matter.
    fn room(&self, p: Point, discs: &[Disc], least: f64) -> Option<f64> {
        let beside = discs.iter().map(|d| (p - d.centre).length() - d.radius).fold(f64::INFINITY, f64::min);
        if beside < least {
            return None;
        }
        let (mut edge, near) = (f64::INFINITY, least.max(0.0) * least.max(0.0));
        for &(bounds, from, to) in &self.runs {
            let off = (p.clamp(bounds.min, bounds.max) - p).square_length();
            if off < edge {
                edge = self.edges[from..to]
                    .iter()
                    .map(|&[a, b]| square_distance_to_segment(p, a, b))
                    .fold(edge, f64::min);
            }
            if edge < near {
                return None;
            }
        }
        let edge = if self.contains(p) { edge.sqrt() } else { -edge.sqrt() };
        Some(edge.min(beside))
    }
}

/// Whether two boxes share a point.
pub fn touching(a: &Bounds, b: &Bounds) -> bool {
    a.min.x <= b.max.x && b.min.x <= a.max.x && a.min.y <= b.max.y && b.min.y <= a.max.y
}

fn edges_meet([a, b]: [Point; 2], [c, d]: [Point; 2], gap: f64) -> bool {
    if a.x.max(b.x) + gap < c.x.min(d.x)
        || c.x.max(d.x) + gap < a.x.min(b.x)
        || a.y.max(b.y) + gap < c.y.min(d.y)
        || c.y.max(d.y) + gap < a.y.min(b.y)
    {
        return false;
    }
    let (ab, cd) = (b - a, d - c);
    let crosses = ab.cross(c - a) * ab.cross(d - a) <= 0.0 && cd.cross(a - c) * cd.cross(b - c) <= 0.0;
    if gap <= 0.0 {
        return crosses;
    }
    let near = [(a, c, d), (b, c, d), (c, a, b), (d, a, b)];
    // On one line but apart, the first test is not enough: the ends tell.
    let apart =
        near.iter().map(|&(p, a, b)| square_distance_to_segment(p, a, b)).fold(f64::INFINITY, f64::min);
    apart < gap * gap || crosses && ab.cross(cd) != 0.0
}
