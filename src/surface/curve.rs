//! A plane curve of smooth pieces: nearest point, normal, curvature, arc length.
//!
//! The outside lies to the left of the way the curve runs. An open curve goes
//! on straight past its ends as far as it is told to; arc length counts from
//! its first true point, negative before it. Pieces are cut into spans that
//! turn little, so that inside one a safeguarded Newton finds the only nearest
//! point; it is exact to rounding. Corners between pieces are kept: seen from
//! outside a corner, the normal turns with the point, on it the normal halves it.

use super::bvh::{Bvh, around_points};
use super::piece::Piece;
use glam::{DVec2, DVec3};

/// A span turns by at most this, radians: small enough that the distance to it has one minimum
/// from anywhere but near the centre of curvature, large enough that a circle has only 32 spans.
const TURN: f64 = 0.2;

/// Lengths of spans are right to this share: a little over rounding.
const LENGTH_ERROR: f64 = 1e-14;

/// Halvings before a span is taken as it is: 2⁻⁴⁰ of a piece is below rounding in length.
const DEEPEST: u32 = 40;

/// Below this share of the curve's size a distance is rounding.
const ROUNDING: f64 = 1e-12;

/// A place on a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct At {
    pub point: DVec2,
    /// Unit, the way the curve runs.
    pub tangent: DVec2,
    /// Unit, to the left of the tangent but for corners.
    pub normal: DVec2,
    /// 1/mm, positive where the curve bends away from its outside.
    pub curvature: f64,
    /// Arc length from the curve's start, mm.
    pub along: f64,
}

/// Part of a piece.
#[derive(Clone, Copy, Debug)]
struct Span {
    piece: usize,
    from: f64,
    to: f64,
    /// Arc length at `from`.
    start: f64,
}

/// A chain of pieces, each beginning where the last one ended.
#[derive(Clone, Debug)]
pub struct Curve {
    pieces: Vec<Piece>,
    spans: Vec<Span>,
    tree: Bvh,
    closed: bool,
    length: f64,
    size: f64,
}

/// How an end of a curve goes on: straight on for this many mm (0: not at all).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach(pub f64);

impl Curve {
    /// A ring of pieces, the last one ending where the first begins.
    pub fn closed(pieces: Vec<Piece>) -> Self {
        Self::build(pieces, true)
    }

    /// A line of pieces that goes on past its ends.
    pub fn open(mut pieces: Vec<Piece>, front: Reach, rear: Reach) -> Self {
        let (first, last) = (frame(&pieces[0], 0.0), frame(&pieces[pieces.len() - 1], 1.0));
        if front.0 > 0.0 {
            pieces.insert(0, Piece::Line { from: first.point - first.tangent * front.0, to: first.point });
        }
        if rear.0 > 0.0 {
            pieces.push(Piece::Line { from: last.point, to: last.point + last.tangent * rear.0 });
        }
        let mut curve = Self::build(pieces, false);
        for span in &mut curve.spans {
            span.start -= front.0;
        }
        curve.length -= front.0 + rear.0;
        curve
    }

    fn build(pieces: Vec<Piece>, closed: bool) -> Self {
        let mut spans = Vec::new();
        let mut start = 0.0;
        for (index, piece) in pieces.iter().enumerate() {
            let mut ends = Vec::new();
            cut(piece, 0.0, 1.0, DEEPEST, &mut ends);
            let mut from = 0.0;
            for (to, length) in ends {
                spans.push(Span { piece: index, from, to, start });
                start += length;
                from = to;
            }
        }
        let boxes: Vec<_> = spans.iter().map(|span| span_box(&pieces[span.piece], span)).collect();
        let all = boxes.iter().copied().fold(super::bvh::EMPTY, super::bvh::united);
        let tree = Bvh::new(&boxes);
        Self { pieces, spans, tree, closed, length: start, size: (all[1] - all[0]).length() }
    }

    /// Arc length from end to end, or once round.
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Arc lengths from 0 to the end, a few to each span, so that the curve turns little between them.
    pub fn stops(&self) -> Vec<f64> {
        const TO_A_SPAN: usize = 3;
        let starts: Vec<f64> = self.spans.iter().map(|span| span.start).chain([self.length]).collect();
        // Starts and the whole are sums in different orders.
        let hair = ROUNDING * self.size;
        let within = |pair: &&[f64]| pair[0] > -hair && pair[0] < self.length - hair;
        let spans = starts.windows(2).filter(within);
        let stops = spans.flat_map(|pair| {
            let end = pair[1].min(self.length);
            (0..TO_A_SPAN).map(move |k| pair[0] + (end - pair[0]) * k as f64 / TO_A_SPAN as f64)
        });
        stops.chain([self.length]).collect()
    }

    /// The point nearest to `p`.
    pub fn nearest(&self, p: DVec2) -> At {
        let mut found = (0, self.spans[0].from);
        self.tree.nearest(p.extend(0.0), f64::INFINITY, |index, best| {
            let span = &self.spans[index];
            let (u, distance) = nearest_in(&self.pieces[span.piece], span, p);
            if distance < best {
                found = (index, u);
            }
            distance.min(best)
        });
        self.seen_from(found.0, found.1, p)
    }

    /// The place at an arc length; round and round on a closed curve, onto the extensions of an open one.
    pub fn at_length(&self, along: f64) -> At {
        let along = if self.closed { along.rem_euclid(self.length) } else { along };
        let index = self.spans.partition_point(|span| span.start <= along).saturating_sub(1);
        let span = self.spans[index];
        let piece = &self.pieces[span.piece];
        let end = self.spans.get(index + 1).map_or(self.total(), |next| next.start);
        let mut u = span.from + (span.to - span.from) * (along - span.start) / (end - span.start);
        for _ in 0..20 {
            let miss = along - span.start - arc(piece, span.from, u);
            if miss.abs() <= f64::EPSILON * self.size {
                break;
            }
            u = (u + miss / speed(piece, u)).clamp(span.from, span.to);
        }
        At { along, ..self.seen_from(index, u, frame_point(piece, u)) }
    }

    /// The place whose first coordinate is `x`, on a curve along which it never falls.
    /// Two where `x` is a corner, that before and that after it; none off the ends or on an upright line.
    pub fn at_x(&self, x: f64) -> Vec<At> {
        let crossing = |index: usize| {
            let (span, piece) = (self.spans[index], &self.pieces[self.spans[index].piece]);
            let [low, high] = [span.from, span.to].map(|u| frame(piece, u).point.x);
            let root = || bisected(span.from, span.to, |u| piece.at(u)[0].value - x);
            (low <= x && x <= high && low < high).then(|| self.plain(index, root()))
        };
        (0..self.spans.len()).filter_map(crossing).collect()
    }

    /// Least and greatest corner of the box round the curve, extensions left out.
    pub fn bounds(&self) -> [DVec2; 2] {
        let (mut low, mut high) = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let mut take = |p: DVec2| (low, high) = (low.min(p), high.max(p));
        for span in self.spans.iter().filter(|span| span.start > -ROUNDING * self.size) {
            if span.start >= self.length - ROUNDING * self.size {
                break;
            }
            let piece = &self.pieces[span.piece];
            take(frame(piece, span.from).point);
            take(frame(piece, span.to).point);
            for axis in 0..2 {
                let slope = |u: f64| piece.at(u)[axis].first;
                if slope(span.from) * slope(span.to) < 0.0 {
                    let sign = slope(span.to).signum();
                    take(frame(piece, bisected(span.from, span.to, |u| sign * slope(u))).point);
                }
            }
        }
        [low, high]
    }

    fn total(&self) -> f64 {
        let last = self.spans[self.spans.len() - 1];
        last.start + arc(&self.pieces[last.piece], last.from, last.to)
    }

    fn plain(&self, index: usize, u: f64) -> At {
        let span = self.spans[index];
        let piece = &self.pieces[span.piece];
        At { along: span.start + arc(piece, span.from, u), ..frame(piece, u) }
    }

    /// The place as seen from `p`: at a corner the normal points to `p`, or halves the corner from on it.
    fn seen_from(&self, index: usize, u: f64, p: DVec2) -> At {
        let mut at = self.plain(index, u);
        let Some(other) = self.across_corner(index, u) else { return at };
        let half = at.normal + other;
        // A cusp that turns right back has no half; its own normal will do.
        let half = if half.length() > ROUNDING { half.normalize() } else { at.normal };
        let off = p - at.point;
        if off.length() <= ROUNDING * self.size {
            at.normal = half;
        } else if off.dot(at.tangent).abs() > ROUNDING.sqrt() * off.length() {
            at.normal = off.normalize() * off.dot(half).signum();
        }
        at
    }

    /// The normal on the far side of the corner that this place is, if it is one.
    fn across_corner(&self, index: usize, u: f64) -> Option<DVec2> {
        let (span, count) = (self.spans[index], self.spans.len());
        let wrapped = |k: usize| (self.closed || (1..=count).contains(&k)).then(|| (k + count - 1) % count);
        let (other, end) = if u == span.from {
            let other = wrapped(index)?;
            (other, self.spans[other].to)
        } else if u == span.to {
            let other = wrapped(index + 2)?;
            (other, self.spans[other].from)
        } else {
            return None;
        };
        let normal = frame(&self.pieces[self.spans[other].piece], end).normal;
        let here = frame(&self.pieces[span.piece], u).normal;
        (normal.dot(here) < 1.0 - ROUNDING).then_some(normal)
    }
}

/// Cuts a piece until spans turn little and their length is sure; collects their ends and lengths.
fn cut(piece: &Piece, from: f64, to: f64, depth: u32, ends: &mut Vec<(f64, f64)>) {
    let middle = 0.5 * (from + to);
    let tangents = [from, middle, to].map(|u| frame(piece, u).tangent);
    let turn = tangents[0].angle_to(tangents[1]).abs() + tangents[1].angle_to(tangents[2]).abs();
    let (whole, halves) = (arc(piece, from, to), arc(piece, from, middle) + arc(piece, middle, to));
    if depth == 0 || turn <= TURN && (whole - halves).abs() <= LENGTH_ERROR * arc(piece, 0.0, 1.0) {
        return ends.push((to, whole));
    }
    cut(piece, from, middle, depth - 1, ends);
    cut(piece, middle, to, depth - 1, ends);
}

/// A box that holds a span: its ends and middle, and as much again as the arc may stand out.
fn span_box(piece: &Piece, span: &Span) -> super::bvh::Extent {
    let points = [span.from, 0.5 * (span.from + span.to), span.to].map(|u| frame(piece, u).point);
    let chord = (points[2] - points[0]).length();
    // The greatest sagitta of a span that turns by TURN is chord · TURN / 4.
    let margin = if matches!(piece, Piece::Line { .. }) { 0.0 } else { chord * TURN * 0.5 };
    let [low, high] = around_points(points.map(|p| p.extend(0.0)));
    [low - DVec3::splat(margin), high + DVec3::splat(margin)]
}

/// Parameter and square distance of the point of a span nearest to `p`.
fn nearest_in(piece: &Piece, span: &Span, p: DVec2) -> (f64, f64) {
    let apart = |u: f64| (frame_point(piece, u) - p).length_squared();
    let slope = |u: f64| {
        let [x, y] = piece.at(u);
        let off = DVec2::new(x.value, y.value) - p;
        let first = DVec2::new(x.first, y.first);
        (off.dot(first), first.length_squared() + off.dot(DVec2::new(x.second, y.second)))
    };
    let (mut low, mut high) = (span.from, span.to);
    let (at_low, at_high) = (slope(low).0, slope(high).0);
    if at_low >= 0.0 || at_high <= 0.0 {
        let u = if apart(low) <= apart(high) { low } else { high };
        return (u, apart(u));
    }
    // Regula falsi's first guess, then Newton, kept between the bounds that close in on the root.
    let mut u = low + (high - low) * at_low / (at_low - at_high);
    for _ in 0..60 {
        let (value, bend) = slope(u);
        if value < 0.0 {
            low = u
        } else {
            high = u
        }
        let newton = u - value / bend;
        let next = if bend > 0.0 && (low..=high).contains(&newton) { newton } else { 0.5 * (low + high) };
        // Rounding in u, a number below 1.
        let still = (next - u).abs() <= f64::EPSILON;
        u = next;
        if still || value == 0.0 {
            break;
        }
    }
    (u, apart(u))
}

/// The root of `f`, which is negative before and positive after it.
fn bisected(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    // 60 halvings of an interval within [0, 1] come down to rounding.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f(middle) < 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

fn frame_point(piece: &Piece, u: f64) -> DVec2 {
    let [x, y] = piece.at(u);
    DVec2::new(x.value, y.value)
}

/// The place at u, its arc length left at 0.
fn frame(piece: &Piece, u: f64) -> At {
    let [x, y] = piece.at(u);
    let (first, second) = (DVec2::new(x.first, y.first), DVec2::new(x.second, y.second));
    let speed = first.length();
    let (tangent, curvature) = if speed > 0.0 {
        (first / speed, -first.perp_dot(second) / (speed * speed * speed))
    } else {
        // Only a cubic through a double reversal stands still, at an end of it: it leaves along its second derivative.
        (second.normalize_or(DVec2::X) * if u < 0.5 { 1.0 } else { -1.0 }, 0.0)
    };
    At { point: DVec2::new(x.value, y.value), tangent, normal: tangent.perp(), curvature, along: 0.0 }
}

fn speed(piece: &Piece, u: f64) -> f64 {
    let [x, y] = piece.at(u);
    libm::hypot(x.first, y.first)
}

/// Nodes above 0 and weights of Gauss and Legendre's rule of 8 points
/// (M. Abramowitz and I. A. Stegun, *Handbook of Mathematical Functions*, table 25.4).
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

/// Arc length of a piece from u = `from` to `to`.
fn arc(piece: &Piece, from: f64, to: f64) -> f64 {
    if let Piece::Line { from: a, to: b } = piece {
        return (*b - *a).length() * (to - from);
    }
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    GAUSS
        .iter()
        .map(|(x, w)| w * (speed(piece, middle - half * x) + speed(piece, middle + half * x)))
        .sum::<f64>()
        * half
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, TAU};

    fn quarters(f: impl Fn(f64) -> Piece) -> Curve {
        Curve::closed((0..4).map(|k| f(-FRAC_PI_2 * f64::from(k))).collect())
    }

    /// Perimeters of ellipses by complete elliptic integrals (SciPy `ellipe`).
    #[test]
    fn ellipse_perimeters() {
        for (b, known) in [(0.8, 5.672_333_577_795), (0.5, 4.844_224_110_274), (1.0, TAU)] {
            let semi = DVec2::new(1.0, b);
            let curve =
                quarters(|start| Piece::Ellipse { centre: DVec2::ZERO, semi, start, sweep: -FRAC_PI_2 });
            assert!((curve.length() - known).abs() < 1e-11, "{}", curve.length());
        }
    }

    /// Superellipse perimeters, by two quadratures independent of this one.
    #[test]
    fn superellipse_perimeters() {
        for (power, known) in [(2.5, 6.546_704_722_965), (4.0, 7.017_697_943_564)] {
            let semi = DVec2::ONE;
            let curve = quarters(|start| Piece::Superellipse { semi, power, start, sweep: -FRAC_PI_2 });
            assert!((curve.length() - known).abs() < 1e-11, "{}", curve.length() - known);
        }
    }

    #[test]
    fn a_length_along_leads_to_the_place_and_back() {
        let semi = DVec2::new(3.0, 2.0);
        let curve = quarters(|start| Piece::Superellipse { semi, power: 3.0, start, sweep: -FRAC_PI_2 });
        for k in 0..200 {
            let along = curve.length() * (f64::from(k) + 0.3) / 200.0;
            let at = curve.at_length(along);
            let back = curve.nearest(at.point + at.normal * 0.2);
            assert!((back.along - along).abs() < 1e-10 && (back.point - at.point).length() < 1e-12);
            assert!((back.curvature - at.curvature).abs() < 1e-8);
        }
        let once = curve.at_length(0.7);
        assert!((curve.at_length(0.7 + curve.length()).point - once.point).length() < 1e-12);
    }

    #[test]
    fn a_corner_is_met_from_all_sides() {
        let corners = [(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0)].map(DVec2::from);
        let lines = (0..4).map(|k| Piece::Line { from: corners[k], to: corners[(k + 1) % 4] });
        let square = Curve::closed(lines.collect());
        assert_eq!(square.length(), 4.0);
        let out = square.nearest(DVec2::new(1.3, 1.4));
        assert!(
            (out.point - DVec2::ONE).length() < 1e-15 && (out.normal - DVec2::new(0.6, 0.8)).length() < 1e-12
        );
        let on = square.nearest(DVec2::ONE);
        assert!((on.normal - DVec2::ONE.normalize()).length() < 1e-12);
        let first = square.nearest(DVec2::ZERO);
        assert!((first.normal + DVec2::ONE.normalize()).length() < 1e-12);
        let side = square.nearest(DVec2::new(0.4, 1.7));
        assert_eq!((side.normal, side.curvature), (DVec2::Y, 0.0));
    }

    #[test]
    fn an_open_curve_goes_on_straight() {
        let line = Piece::Line { from: DVec2::new(1.0, 1.0), to: DVec2::new(4.0, 5.0) };
        let curve = Curve::open(vec![line], Reach(0.0), Reach(10.0));
        let past = curve.nearest(DVec2::new(4.6, 5.8));
        assert!((past.along - 6.0).abs() < 1e-14 && curve.length() == 5.0);
        let before = curve.nearest(DVec2::new(0.0, 0.0));
        assert_eq!((before.along, before.point), (0.0, DVec2::ONE));
        assert_eq!(curve.bounds(), [DVec2::ONE, DVec2::new(4.0, 5.0)]);
    }
}
