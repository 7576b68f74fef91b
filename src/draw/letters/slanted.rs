//! Letters with slanted strokes. Each slanted stroke lies between two parallel lines a stroke
//! apart, found from the corners that they must pass through; nothing is thinned to fit.
//!
//! Q and & cross themselves and are joined from strokes as areas.

use super::alphabet::{Pen, corner, turn};
use super::ring::{Line, Node, Style, inner, passing};
use crate::outline::{Contour, Point, Vector, point};

/// A letter that has a slanted stroke.
pub fn letter(letter: char, pen: &Pen) -> Option<Vec<Contour>> {
    let &Pen { w, h, s, .. } = pen;
    let plain = |corners: &[(f64, f64)]| {
        let nodes: Vec<Node> = corners.iter().map(|&(x, y)| corner(x, y)).collect();
        vec![pen.ring(&nodes)]
    };
    Some(match letter {
        'A' => a(pen),
        'K' => {
            // The arm's lower edge comes from the upper right corner down to the stem, the leg from beside it.
            let lower = Line::between(point(w, h), point(s, 0.27 * h));
            let upper = lower.beside(-s);
            let start = lower.at_station(s + 0.35 * s);
            let leg = passing(start, point(w, 0.0), s);
            let joint = leg.beside(s).meets(lower);
            plain(&[
                (0.0, 0.0),
                (s, 0.0),
                (s, lower.at_station(s).y),
                (start.x, start.y),
                (leg.at_height(0.0).x, 0.0),
                (w, 0.0),
                (joint.x, joint.y),
                (w, h),
                (upper.at_height(h).x, h),
                (s, upper.at_station(s).y),
                (s, h),
                (0.0, h),
            ])
        }
        'M' => {
            let flat = 0.7 * s;
            let upper = passing(point(s, h), point((w - flat) / 2.0, 0.0), -s);
            let (notch, crotch) = (upper.at_station(w / 2.0).y, upper.beside(-s).at_station(s).y);
            plain(&[
                (0.0, 0.0),
                (s, 0.0),
                (s, crotch),
                ((w - flat) / 2.0, 0.0),
                ((w + flat) / 2.0, 0.0),
                (w - s, crotch),
                (w - s, 0.0),
                (w, 0.0),
                (w, h),
                (w - s, h),
                (w / 2.0, notch),
                (s, h),
                (0.0, h),
            ])
        }
        'N' => {
            let upper = passing(point(s, h), point(w - s, 0.0), -s);
            let (high, low) = (upper.at_station(w - s).y, upper.beside(-s).at_station(s).y);
            plain(&[
                (0.0, 0.0),
                (s, 0.0),
                (s, low),
                (w - s, 0.0),
                (w, 0.0),
                (w, h),
                (w - s, h),
                (w - s, high),
                (s, h),
                (0.0, h),
            ])
        }
        'Q' => q(pen),
        'R' => {
            let foot = pen.middle() - 0.55 * s;
            let bowl = pen.fits(w, h - foot);
            let hole = pen.inner(bowl);
            let leg = passing(point(s, foot), point(w, 0.0), s);
            let counter = pen.ring(&[
                corner(s, foot + s),
                turn(w - s, foot + s, hole),
                turn(w - s, h - s, hole),
                corner(s, h - s),
            ]);
            vec![
                pen.ring(&[
                    corner(0.0, 0.0),
                    corner(s, 0.0),
                    corner(s, foot),
                    corner(leg.at_height(0.0).x, 0.0),
                    corner(w, 0.0),
                    corner(leg.beside(s).at_height(foot).x, foot),
                    turn(w, foot, bowl),
                    turn(w, h, bowl),
                    corner(0.0, h),
                ]),
                counter.reversed(),
            ]
        }
        'V' => {
            let flat = s;
            let t = across(s, (w - flat) / 2.0, h);
            let vertex = (w / 2.0 - t) * h / ((w - flat) / 2.0);
            plain(&[
                (0.0, h),
                ((w - flat) / 2.0, 0.0),
                ((w + flat) / 2.0, 0.0),
                (w, h),
                (w - t, h),
                (w / 2.0, h - vertex),
                (t, h),
            ])
        }
        'W' => w_(pen),
        'X' => {
            let t = fitted(s, w, h);
            let run = (w - t) / h;
            let notch = (w / 2.0 - t) / run;
            plain(&[
                (0.0, 0.0),
                (t, 0.0),
                (w / 2.0, notch),
                (w - t, 0.0),
                (w, 0.0),
                ((w + t) / 2.0, h / 2.0),
                (w, h),
                (w - t, h),
                (w / 2.0, h - notch),
                (t, h),
                (0.0, h),
                ((w - t) / 2.0, h / 2.0),
            ])
        }
        'Y' => {
            let (left, fork) = ((w - s) / 2.0, 0.4 * h);
            let t = across(s, left, h - fork);
            let vertex = h - (w / 2.0 - t) * (h - fork) / left;
            plain(&[
                (left, 0.0),
                (left + s, 0.0),
                (left + s, fork),
                (w, h),
                (w - t, h),
                (w / 2.0, vertex),
                (t, h),
                (0.0, h),
                (left, fork),
            ])
        }
        'Z' => {
            let edge = passing(point(0.0, s), point(w, h - s), -s);
            let x = edge.at_height(h - s).x;
            plain(&[
                (0.0, 0.0),
                (w, 0.0),
                (w, s),
                (w - x, s),
                (w, h - s),
                (w, h),
                (0.0, h),
                (0.0, h - s),
                (x, h - s),
                (0.0, s),
            ])
        }
        '1' if w < 1.6 * s => vec![pen.bar([0.0, w], [0.0, h])],
        '1' => {
            let t = across(s, 0.8, 1.0);
            // The flag of a wide one ends at the foot.
            let drop = (0.8 * (w - s)).min(h - t);
            plain(&[
                (w - s, 0.0),
                (w, 0.0),
                (w, h),
                (w - s, h),
                (0.0, h - drop),
                (0.0, h - drop - t),
                (w - s, h - t),
            ])
        }
        '2' => two(pen),
        '4' => {
            let (stem, under) = (w - s - 0.12 * w, 0.2 * h);
            let over = under + s;
            let t = across(s, stem, h - over);
            let head = over + (stem - t) / stem * (h - over);
            let counter = pen.ring(&[corner(t, over), corner(stem, over), corner(stem, head)]);
            let mut four = plain(&[
                (stem, 0.0),
                (stem + s, 0.0),
                (stem + s, under),
                (w, under),
                (w, over),
                (stem + s, over),
                (stem + s, h),
                (stem, h),
                (0.0, over),
                (0.0, under),
                (stem, under),
            ]);
            four.push(counter.reversed());
            four
        }
        '7' => {
            let right = Line::between(point(w, h - s), point(0.52 * w, 0.0));
            let left = right.beside(-s);
            plain(&[
                (left.at_height(0.0).x, 0.0),
                (0.52 * w, 0.0),
                (w, h - s),
                (w, h),
                (0.0, h),
                (0.0, h - s),
                (left.at_height(h - s).x, h - s),
            ])
        }
        '/' => {
            let t = fitted(s, w, h);
            plain(&[(0.0, 0.0), (t, 0.0), (w, h), (w - t, h)])
        }
        '&' => ampersand(pen),
        _ => return None,
    })
}

/// How wide a stroke is along a level line where it runs `run` over for each `rise` up.
fn across(s: f64, run: f64, rise: f64) -> f64 {
    s * (1.0 + (run / rise) * (run / rise)).sqrt()
}

/// The same for a stroke from corner to corner of a box `w` wide and `h` high:
/// t² = s² (1 + (w − t)²/h²), solved for t.
fn fitted(s: f64, w: f64, h: f64) -> f64 {
    let k = s * s / (h * h);
    let half = k * w / (1.0 - k);
    (half * half + (s * s + k * w * w) / (1.0 - k)).sqrt() - half
}

fn a(pen: &Pen) -> Vec<Contour> {
    let &Pen { w, h, s, .. } = pen;
    let (flat, under) = (s, 0.19 * h);
    let lean = (w - flat) / 2.0 / h;
    let t = across(s, lean, 1.0);
    let over = under + s;
    let inner = |y: f64| t + lean * y;
    let apex = (w / 2.0 - t) / lean;
    let counter = [corner(inner(over), over), corner(w - inner(over), over), corner(w / 2.0, apex)];
    vec![
        pen.ring(&[
            corner(0.0, 0.0),
            corner(t, 0.0),
            corner(inner(under), under),
            corner(w - inner(under), under),
            corner(w - t, 0.0),
            corner(w, 0.0),
            corner((w + flat) / 2.0, h),
            corner((w - flat) / 2.0, h),
        ]),
        pen.ring(&counter).reversed(),
    ]
}

/// Four strokes of one slant: feet and the middle point are flat, each as wide as half a stroke.
fn w_(pen: &Pen) -> Vec<Contour> {
    let &Pen { w, h, s, .. } = pen;
    let flat = 0.55 * s;
    // Strokes lean k to one: 2kh − s√(1 + k²) = w/2 − 3/2 flat, a quadratic in k.
    let room = w / 2.0 - 1.5 * flat;
    let (a, c) = (4.0 * h * h - s * s, room * room - s * s);
    let k = (2.0 * h * room + (4.0 * h * h * room * room - a * c).max(0.0).sqrt()) / a;
    let t = across(s, k, 1.0);
    let (foot, middle) = (k * h, w / 2.0);
    let crotch = (foot + flat / 2.0 - t) / k;
    let nodes = [
        (0.0, h),
        (foot, 0.0),
        (foot + flat, 0.0),
        (middle, (middle - foot - flat) / k),
        (w - foot - flat, 0.0),
        (w - foot, 0.0),
        (w, h),
        (w - t, h),
        (w - foot - flat / 2.0, h - crotch),
        (middle + flat / 2.0, h),
        (middle - flat / 2.0, h),
        (foot + flat / 2.0, h - crotch),
        (t, h),
    ];
    vec![pen.ring(&nodes.map(|(x, y)| corner(x, y)))]
}

/// The slanted stroke goes on from the bowl's curve, both its edges touching it.
fn two(pen: &Pen) -> Vec<Contour> {
    let &Pen { w, h, s, style, .. } = pen;
    let bowl = pen.fits(w, 0.58 * h);
    let bowl_in = pen.inner(bowl);
    let (centre, radius) = match style {
        Style::Round if bowl > s => (point(w - bowl, h - bowl), bowl - s),
        _ => (point(w - s, (0.56 * h).min(h - bowl - 0.1 * h)), 0.0),
    };
    let edge = passing(point(0.0, s), centre, radius);
    let outer = edge.beside(-s);
    let (out, within) = (outer.at_station(w), edge.at_station(w - s));
    let bend = |at: Point, size: f64| if radius > 0.0 { turn(at.x, at.y, size) } else { corner(at.x, at.y) };
    let a = pen.hook();
    vec![pen.ring(&[
        corner(0.0, 0.0),
        corner(w, 0.0),
        corner(w, s),
        corner(outer.at_height(s).x, s),
        bend(out, bowl),
        turn(w, h, bowl),
        turn(0.0, h, bowl),
        corner(0.0, h - a),
        corner(s, h - a),
        turn(s, h - s, bowl_in),
        turn(w - s, h - s, bowl_in),
        bend(within, bowl_in),
        corner(0.0, s),
    ])]
}

/// An O whose tail crosses its lower right turn and ends in the corner of the box.
fn q(pen: &Pen) -> Vec<Contour> {
    let &Pen { w, h, s, .. } = pen;
    let whole = pen.fits(w, h);
    let square = |inset: f64, size: f64| {
        let (x, y) = ([inset, w - inset], [inset, h - inset]);
        pen.ring(&[
            turn(x[0], y[0], size),
            turn(x[1], y[0], size),
            turn(x[1], y[1], size),
            turn(x[0], y[1], size),
        ])
    };
    let half = s / 2.0 * std::f64::consts::FRAC_1_SQRT_2;
    let end = point(w - half, half);
    let start = end + Vector::new(-1.0, 1.0) * (1.55 * s + 0.3 * whole.min(2.0 * s));
    let n = Vector::new(half, half);
    let tail = Contour::polygon(&[start - n, end - n, end + n, start + n]);
    let round = vec![square(0.0, whole), square(s, pen.inner(whole)).reversed()];
    // As areas: first the ring, then the tail over it, or the tail would be lost in the hole.
    let mut ring = pen.joined(round);
    ring.push(tail);
    pen.joined(ring)
}

/// One stroke that crosses itself: from the foot up round the small bowl, down round the large one, up to the arm.
fn ampersand(pen: &Pen) -> Vec<Contour> {
    let &Pen { w, h, s, .. } = pen;
    let half = s / 2.0;
    let (left, right) = (0.1 * w + half, 0.76 * w - half);
    let arm = w - 0.62 * s - half;
    let shoulder = point(left, 0.745 * h);
    let foot = passing(shoulder, point(w, 0.0), half);
    let small = pen.fits(right - left + s, 0.5 * h);
    let large = pen.fits(arm + half, 0.5 * h);
    let path = [
        (foot.at_height(-2.0 * s), 0.0),
        (shoulder, small),
        (point(left, h - half), small),
        (point(right, h - half), small),
        (point(right, 0.68 * h), small),
        (point(half, 0.4 * h), small),
        (point(half, half), large),
        (point(arm, half), large),
        (point(arm, 0.44 * h), 0.0),
    ];
    pen.joined(vec![stroked(&path, s, pen.style)])
}

/// The outline of a stroke along corners, each with the size of the outer side of its turn.
fn stroked(path: &[(Point, f64)], s: f64, style: Style) -> Contour {
    let side = |left: f64| -> Vec<Node> {
        let node = |k: usize| {
            let (at, size) = path[k];
            let before = (k > 0).then(|| Line::between(path[k - 1].0, at).beside(left));
            let after = (k + 1 < path.len()).then(|| Line::between(at, path[k + 1].0).beside(left));
            match (before, after) {
                (Some(before), Some(after)) => {
                    let corner = before.meets(after);
                    let turns_left = before.along.cross(after.along) > 0.0;
                    let outside = turns_left == (left < 0.0);
                    let size = if outside { size } else { inner(style, size, s) };
                    let right_angle = before.along.dot(after.along).abs() < 1e-9;
                    let soft = style == Style::Round || right_angle;
                    if soft { Node::Turn(corner, size) } else { Node::Corner(corner) }
                }
                (Some(before), None) => Node::Corner(before.through + (at - path[k - 1].0)),
                (None, after) => Node::Corner(after.map_or(at, |after| after.through)),
            }
        };
        (0..path.len()).map(node).collect()
    };
    let mut nodes = side(-s / 2.0);
    nodes.extend(side(s / 2.0).into_iter().rev());
    super::ring::ring(&nodes, style)
}
