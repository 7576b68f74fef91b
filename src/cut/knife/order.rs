//! In which order lines are cut, and where each starts.
//!
//! What lies inside a line is cut before it, for a freed piece may shift. Every
//! outermost line with all that lies in it is a block; blocks go nearest next,
//! then the tour is untangled: a stretch of it is turned round wherever that
//! saves way (2-opt, Croes, Operations Research 6:791, 1958), looking from each
//! block at its nearest neighbours only. Inside a block the same is done with the
//! blocks inside it. Last, each line starts at the corner nearest to where the
//! blade comes from.
//!
//! Left out: a shorter tour that leaves a block half done.

use crate::outline::{Bounds, Point, Polyline};
use std::collections::BTreeMap;

/// A line in the tour: which one, and the index of the corner it starts at. Closed lines end where they start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stop {
    pub line: usize,
    pub corner: usize,
}

/// Neighbours that untangling looks at. Eight and sixteen find tours of the same length within one per cent.
const NEIGHBOURS: usize = 8;
/// Rounds of untangling: the third seldom finds anything.
const ROUNDS: usize = 6;

/// The order for these closed lines from `start`; each line once.
pub fn closed(lines: &[Polyline], start: Point) -> Vec<Stop> {
    let inside = Inside::new(lines);
    let mut order = Vec::with_capacity(lines.len());
    let corners = vec![0; lines.len()];
    tour(&inside, lines, &corners, None, start, &mut order);
    // With starts near the way, another order may be shorter.
    let mut corners = nearest_corners(lines, &order, start);
    order.clear();
    tour(&inside, lines, &corners, None, start, &mut order);
    corners = nearest_corners(lines, &order, start);
    order.into_iter().map(|line| Stop { line, corner: corners[line] }).collect()
}

/// The order for open lines from `start`, nearest end next; whether each runs backwards.
pub fn open(lines: &[Polyline], start: Point) -> Vec<(usize, bool)> {
    let mut left: Vec<usize> = (0..lines.len()).filter(|&k| lines[k].len() > 1).collect();
    let mut at = start;
    let mut order = Vec::new();
    while let Some((place, backwards)) = nearest_end(lines, &left, at) {
        let line = left.swap_remove(place);
        let ends = [lines[line][0], lines[line][lines[line].len() - 1]];
        at = ends[usize::from(!backwards)];
        order.push((line, backwards));
    }
    order
}

fn nearest_end(lines: &[Polyline], left: &[usize], at: Point) -> Option<(usize, bool)> {
    let way = |&(place, backwards): &(usize, bool)| {
        let line = &lines[left[place]];
        let end = if backwards { line[line.len() - 1] } else { line[0] };
        (end - at).square_length()
    };
    let ends = (0..left.len()).flat_map(|place| [(place, false), (place, true)]);
    ends.min_by(|a, b| way(a).total_cmp(&way(b)))
}

/// Which line lies straight inside which.
struct Inside {
    /// Lines by the line round them; outermost ones under `None`.
    within: BTreeMap<Option<usize>, Vec<usize>>,
}

impl Inside {
    fn new(lines: &[Polyline]) -> Self {
        let boxes: Vec<Bounds> = lines.iter().map(|line| Bounds::from_points(line.iter().copied())).collect();
        let mut within: BTreeMap<Option<usize>, Vec<usize>> = BTreeMap::new();
        for (k, line) in lines.iter().enumerate() {
            let round = |&other: &usize| {
                other != k
                    && boxes[other].contains_box(&boxes[k])
                    && boxes[other].area() > boxes[k].area()
                    && line.first().is_some_and(|&p| holds(&lines[other], p))
            };
            let parent =
                (0..lines.len()).filter(round).min_by(|&a, &b| boxes[a].area().total_cmp(&boxes[b].area()));
            within.entry(parent).or_default().push(k);
        }
        Self { within }
    }

    fn of(&self, line: Option<usize>) -> &[usize] {
        self.within.get(&line).map_or(&[], Vec::as_slice)
    }
}

/// Whether a point lies inside a closed line (even-odd).
pub fn holds(line: &[Point], p: Point) -> bool {
    let next = line.iter().cycle().skip(1);
    let crosses = |(a, b): &(&Point, &Point)| {
        (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y)
    };
    line.iter().zip(next).filter(crosses).count() % 2 == 1
}

/// A line with all that lies in it: where the blade comes down first and where it is lifted last.
struct Block {
    lines: Vec<usize>,
    entry: Point,
    exit: Point,
}

/// Appends everything inside `line`, then leaves `line` itself to the caller; gives where the blade ends.
fn tour(
    inside: &Inside,
    lines: &[Polyline],
    corners: &[usize],
    line: Option<usize>,
    start: Point,
    order: &mut Vec<usize>,
) -> Point {
    let corner = |k: usize| lines[k].get(corners[k]).copied().unwrap_or_default();
    let block = |&k: &usize| {
        let mut own = Vec::new();
        tour(inside, lines, corners, Some(k), corner(k), &mut own);
        let entry = own.first().map_or(corner(k), |&first| corner(first));
        own.push(k);
        Block { lines: own, entry, exit: corner(k) }
    };
    let blocks: Vec<Block> = inside.of(line).iter().map(block).collect();
    let mut sequence = nearest_next(&blocks, start);
    untangle(&blocks, start, &mut sequence);
    order.extend(sequence.iter().flat_map(|&k| &blocks[k].lines));
    sequence.last().map_or(start, |&k| blocks[k].exit)
}

fn nearest_next(blocks: &[Block], start: Point) -> Vec<usize> {
    let mut left: Vec<usize> = (0..blocks.len()).collect();
    let mut at = start;
    let mut sequence = Vec::with_capacity(blocks.len());
    let way = |k: usize, at: Point| (blocks[k].entry - at).square_length();
    while let Some(place) = (0..left.len()).min_by(|&a, &b| way(left[a], at).total_cmp(&way(left[b], at))) {
        let next = left.swap_remove(place);
        at = blocks[next].exit;
        sequence.push(next);
    }
    sequence
}

/// Turns stretches of the sequence round while that saves way.
fn untangle(blocks: &[Block], start: Point, sequence: &mut [usize]) {
    let count = sequence.len();
    if count < 3 {
        return;
    }
    let near = neighbours(blocks);
    let mut place = vec![0; count];
    for _ in 0..ROUNDS {
        let mut better = false;
        for k in 0..count {
            for (at, &block) in sequence.iter().enumerate() {
                place[block] = at;
            }
            let block = sequence[k];
            for &other in &near[block] {
                let [low, high] = [(k + 1).min(place[other]), k.max(place[other])];
                if low <= high && saves(blocks, start, sequence, low, high) > 1e-9 {
                    sequence[low..=high].reverse();
                    better = true;
                    break;
                }
            }
        }
        if !better {
            break;
        }
    }
}

/// How much shorter the tour is with the stretch `low..=high` turned round. Blocks themselves run on forwards.
fn saves(blocks: &[Block], start: Point, sequence: &[usize], low: usize, high: usize) -> f64 {
    let way = |from: Point, to: usize| (blocks[to].entry - from).length();
    let before = if low == 0 { start } else { blocks[sequence[low - 1]].exit };
    let after = |from: usize| sequence.get(high + 1).map_or(0.0, |&next| way(blocks[from].exit, next));
    let links = || sequence[low..=high].windows(2);
    let forwards: f64 = links().map(|pair| way(blocks[pair[0]].exit, pair[1])).sum();
    let backwards: f64 = links().map(|pair| way(blocks[pair[1]].exit, pair[0])).sum();
    let as_is = way(before, sequence[low]) + forwards + after(sequence[high]);
    let turned = way(before, sequence[high]) + backwards + after(sequence[low]);
    as_is - turned
}

fn neighbours(blocks: &[Block]) -> Vec<Vec<usize>> {
    let of = |k: usize| {
        let way = |&other: &usize| (blocks[other].entry - blocks[k].exit).square_length();
        let mut others: Vec<usize> = (0..blocks.len()).filter(|&other| other != k).collect();
        let count = NEIGHBOURS.min(others.len());
        if count < others.len() {
            others.select_nth_unstable_by(count, |a, b| way(a).total_cmp(&way(b)).then(a.cmp(b)));
            others.truncate(count);
        }
        others.sort_by(|a, b| way(a).total_cmp(&way(b)).then(a.cmp(b)));
        others
    };
    (0..blocks.len()).map(of).collect()
}

/// For each line the corner nearest to where the blade was lifted before it.
fn nearest_corners(lines: &[Polyline], order: &[usize], start: Point) -> Vec<usize> {
    let mut corners = vec![0; lines.len()];
    let mut at = start;
    for &line in order {
        let way = |corner: &usize| (lines[line][*corner] - at).square_length();
        if let Some(corner) = (0..lines[line].len()).min_by(|a, b| way(a).total_cmp(&way(b))) {
            corners[line] = corner;
            at = lines[line][corner];
        }
    }
    corners
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::{Outline, point};
    use crate::units::Model;

    fn square(x: f64, y: f64, side: f64) -> Polyline {
        Outline::<Model>::rectangle(point(x, y), side, side).flattened(0.1).rings.remove(0)
    }

    /// The same numbers on any machine, 0 to 1.
    fn noise(k: u64) -> f64 {
        (k.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407) >> 33) as f64
            / f64::from(1u32 << 31)
    }

    fn travel(lines: &[Polyline], order: &[Stop]) -> f64 {
        let at = |stop: &Stop| lines[stop.line][stop.corner];
        order.windows(2).map(|pair| (at(&pair[1]) - at(&pair[0])).length()).sum()
    }

    /// Plain 2-opt to the end on the same points, every pair looked at, from the order of the list.
    fn two_opt(points: &[Point]) -> f64 {
        let mut tour = points.to_vec();
        let way = |a: Point, b: Point| (b - a).length();
        loop {
            let mut better = false;
            for i in 1..tour.len() {
                for j in i + 1..tour.len() {
                    let (a, b, c) = (tour[i - 1], tour[i], tour[j]);
                    let after = |from| tour.get(j + 1).map_or(0.0, |&d| way(from, d));
                    if way(a, c) + after(b) < way(a, b) + after(c) - 1e-9 {
                        tour[i..=j].reverse();
                        better = true;
                    }
                }
            }
            if !better {
                return tour.windows(2).map(|pair| way(pair[0], pair[1])).sum();
            }
        }
    }

    #[test]
    fn inside_before_outside_and_each_once() {
        // Rings in rings, and neighbours, listed outside in.
        let mut lines = Vec::new();
        for x in 0..4 {
            for side in [20.0, 12.0, 5.0] {
                lines.push(square(f64::from(x) * 25.0, 0.0, side));
            }
            lines.push(square(f64::from(x) * 25.0 + 8.0, 8.0, 2.0));
        }
        let order = closed(&lines, point(0.0, -30.0));
        let place = |line: usize| order.iter().position(|stop| stop.line == line).unwrap();
        assert_eq!(order.len(), lines.len());
        for k in 0..4 {
            let [out, middle, inner, corner] = [0, 1, 2, 3].map(|n| place(4 * k + n));
            assert!(inner < middle && middle < out && corner < out);
        }
    }

    #[test]
    fn travel_is_within_three_tenths_of_a_two_opt_tour() {
        for count in [30, 150, 400] {
            for nested in [false, true] {
                let mut lines = Vec::new();
                for k in 0..count {
                    let (x, y) = (noise(2 * k) * 180.0, noise(2 * k + 1) * 270.0);
                    lines.push(square(x, y, 1.0));
                    if nested {
                        lines.push(square(x, y, 0.5));
                    }
                }
                let order = closed(&lines, point(0.0, 0.0));
                let points: Vec<Point> = order.iter().map(|stop| lines[stop.line][stop.corner]).collect();
                let mut listed = points.clone();
                // From a bad start, so that it owes nothing to ours.
                listed.sort_by(|a, b| (a.x + 7.0 * (a.y % 1.0)).total_cmp(&(b.x + 7.0 * (b.y % 1.0))));
                listed.insert(0, points[0]);
                let (ours, theirs) = (travel(&lines, &order), two_opt(&listed));
                assert!(ours <= 1.3 * theirs, "{count} {nested}: {ours:.0} against {theirs:.0}");
            }
        }
    }
}
