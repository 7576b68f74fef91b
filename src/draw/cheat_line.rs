//! A cheat line: a long stripe through points, its corners rounded or mitred, evenly tapered.
//!
//! Of even width its edges are lines and arcs, exactly. Tapered, the edges of its
//! bends are spirals; they are drawn through points 2° apart.

use crate::flow::{Area, Artwork, CheatLine};
use crate::outline::{Contour, Outline, Point, Segment, Vector, turned};
use crate::units::Full;

/// Between two points of a tapered bend, radians.
const STEP: f64 = std::f64::consts::PI / 90.0;

pub fn cheat_line(line: &CheatLine) -> Artwork<Full> {
    let points: Vec<Point> = line.points.iter().map(|[x, y]| Point::new(x.to_mm(), y.to_mm())).collect();
    let course = Course::new(&points, line.radius.to_mm());
    let widths = [line.width, line.end_width].map(|width| width.to_mm());
    let count = line.colours.len() as f64;
    let between = |from: f64, to: f64| Outline::new(vec![course.strip(widths, [from - 0.5, to - 0.5])]);
    let area = |(k, &colour)| Area { colour, outline: between(k as f64 / count, (k + 1) as f64 / count) };
    Artwork {
        areas: line.colours.iter().enumerate().map(area).collect(),
        silhouette: between(0.0, 1.0),
        repeat: None,
    }
}

/// Where an edge may have a corner or begin to bend.
enum Stop {
    /// An end, or the middle of a mitred corner: `out` leads to the edge on the left, at a distance of 1 across.
    Corner {
        at: Point,
        out: Vector,
    },
    Bend {
        from: Point,
        centre: Point,
        sweep: f64,
    },
}

/// The middle line as stops with the way run up to each.
struct Course {
    stops: Vec<(f64, Stop)>,
    length: f64,
}

impl Course {
    fn new(points: &[Point], radius: f64) -> Self {
        let ways: Vec<Vector> = points.windows(2).map(|pair| (pair[1] - pair[0]).normalize()).collect();
        let (mut stops, mut run, mut here) = (Vec::new(), 0.0, points[0]);
        for (k, &at) in points.iter().enumerate() {
            let (before, after) = (ways[k.saturating_sub(1)], ways[k.min(ways.len() - 1)]);
            let turn = libm::atan2(before.cross(after), before.dot(after));
            let is_end = k == 0 || k + 1 == points.len();
            if is_end || radius == 0.0 || turn == 0.0 {
                run += (at - here).length();
                // The sum of the normals leads along the mitre.
                let sum = left_of(before) + left_of(after);
                stops.push((run, Stop::Corner { at, out: sum * (2.0 / sum.square_length()) }));
                here = at;
            } else {
                let back = radius * libm::tan(turn.abs() / 2.0);
                let from = at - before * back;
                let centre = from + left_of(before) * radius.copysign(turn);
                run += (from - here).length();
                stops.push((run, Stop::Bend { from, centre, sweep: turn }));
                run += radius * turn.abs();
                here = at + after * back;
            }
        }
        Self { stops, length: run }
    }

    /// What lies between two shares of the width, counted from the middle to the left.
    fn strip(&self, widths: [f64; 2], [right, left]: [f64; 2]) -> Contour {
        let edge = |share: f64| self.edge(widths, share);
        let (forth, back) = (edge(right), edge(left));
        // The left edge walked back: where each stretch begins is where the one before ended.
        let ends: Vec<Point> =
            std::iter::once(back.start).chain(back.segments.iter().map(Segment::to)).collect();
        let turned_back = back.segments.iter().zip(&ends).rev().map(|(segment, &to)| match *segment {
            Segment::Arc { centre, sweep, .. } => Segment::Arc { centre, sweep: -sweep, to },
            _ => Segment::Line { to },
        });
        let across = ends.last().map(|&to| Segment::Line { to });
        let segments = forth.segments.iter().copied().chain(across).chain(turned_back).collect();
        Contour { start: forth.start, segments }
    }

    /// The line at a share of the width to the left of the middle, not closed.
    fn edge(&self, [start, end]: [f64; 2], share: f64) -> Contour {
        let tapers = (start - end).abs() > 0.0;
        let out = |run: f64| share * (start + (end - start) * run / self.length);
        let mut segments = Vec::new();
        for (run, stop) in &self.stops {
            match *stop {
                Stop::Corner { at, out: mitre } => {
                    segments.push(Segment::Line { to: at + mitre * out(*run) })
                }
                Stop::Bend { from, centre, sweep } => {
                    let spoke = from - centre;
                    let radius = spoke.length();
                    // The left edge of a bend to the left is the inner one.
                    let at = |angle: f64| {
                        let inward = out(run + radius * angle.abs()) * sweep.signum();
                        centre + turned(spoke, angle) * ((radius - inward) / radius)
                    };
                    segments.push(Segment::Line { to: at(0.0) });
                    if tapers {
                        let count = (sweep.abs() / STEP).ceil().max(1.0) as usize;
                        let step = |k: usize| Segment::Line { to: at(sweep * k as f64 / count as f64) };
                        segments.extend((1..=count).map(step));
                    } else {
                        segments.push(Segment::Arc { centre, sweep, to: at(sweep) });
                    }
                }
            }
        }
        // The first stop is a corner: where the edge starts.
        let start = segments.remove(0).to();
        Contour { start, segments }
    }
}

fn left_of(way: Vector) -> Vector {
    Vector::new(-way.y, way.x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::ColourId;
    use crate::units::Length;
    use std::f64::consts::PI;

    fn drawn(points: &[[f64; 2]], widths: [f64; 2], radius: f64, colours: usize) -> Artwork<Full> {
        let [width, end_width] = widths.map(Length::mm);
        let points = points.iter().map(|corner| corner.map(Length::mm)).collect();
        let colours = (0..colours).map(ColourId).collect();
        cheat_line(&CheatLine { points, width, end_width, radius: Length::mm(radius), colours })
    }

    /// Pappus: the area of an even stripe is its width times the length of its middle line.
    #[test]
    fn an_even_line_has_the_area_of_its_run() {
        let corner = [[0.0, 0.0], [100.0, 0.0], [100.0, 80.0]];
        let round = drawn(&corner, [10.0, 10.0], 20.0, 2);
        let run = 80.0 + 60.0 + 10.0 * PI;
        assert!((round.silhouette.area() - 10.0 * run).abs() < 1e-9);
        // In the bend the left half, the inner one, is the shorter.
        let [right, left] = [0, 1].map(|k: usize| round.areas[k].outline.area());
        assert!((right + left - 10.0 * run).abs() < 1e-9 && (right - left - 12.5 * PI).abs() < 1e-9);
        let mitred = drawn(&corner, [10.0, 10.0], 0.0, 1);
        assert!((mitred.silhouette.area() - 1800.0).abs() < 1e-9);
        assert_eq!(mitred.silhouette.bounds().max, Point::new(105.0, 80.0));
    }

    #[test]
    fn a_taper_is_even_over_the_run() {
        let straight = drawn(&[[0.0, 0.0], [100.0, 0.0]], [10.0, 4.0], 0.0, 1);
        assert!((straight.silhouette.area() - 700.0).abs() < 1e-9);
        let bent = drawn(&[[0.0, 0.0], [100.0, 0.0], [180.0, 60.0], [300.0, 60.0]], [12.0, 2.0], 60.0, 3);
        let legs = 2.0 * 60.0 * libm::tan(libm::atan(0.75) / 2.0);
        let run = 100.0 + 100.0 + 120.0 - 2.0 * legs + 2.0 * 60.0 * libm::atan(0.75);
        // Bends to either side cancel but for the taper between them.
        assert!((bent.silhouette.area() / (7.0 * run) - 1.0).abs() < 2e-3);
        let sum: f64 = bent.areas.iter().map(|area| area.outline.area()).sum();
        assert!((sum / bent.silhouette.area() - 1.0).abs() < 1e-9);
    }
}
