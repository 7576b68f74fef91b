//! The block alphabet: which letter is drawn how.
//!
//! A letter stands in a box, `w` wide and `h` high, its foot on y = 0; every stroke is
//! `s` wide, measured square to it. The middle bar sits a little above the middle, as
//! signwriters set it, so that letters do not look top-heavy. Letters of uprights, bars
//! and bowls are here, those with slanted strokes in `slanted`.

use super::ring::{Bend, Line, Node, Style, inner, ring};
use super::slanted;
use crate::outline::{Contour, Outline, Vector, point};
use crate::units::Full;

/// How high the middle bar's middle lies, of the height: a little over the half, for a bar just there looks as if it
/// sagged. Common practice of lettering, no source.
const MIDDLE: f64 = 0.515;
/// How far an open stroke reaches back down or up from its turn, of the height: about a quarter, so that C and G stay
/// apart from O at a distance. Common practice, no source.
const HOOK: f64 = 0.27;
/// Curves of strokes that cross are joined as areas of straight edges, this close to the curve, of the height.
const CLOSE: f64 = 1e-4;

/// One letter's sizes, mm.
#[derive(Clone, Copy, Debug)]
pub struct Pen {
    pub w: f64,
    pub h: f64,
    pub s: f64,
    pub style: Style,
    /// The size of a turn where there is room for it.
    pub turn: f64,
}

/// The letter's outline; nothing for one that there is none of.
pub fn letter(letter: char, pen: &Pen) -> Outline<Full> {
    let drawn = pen.upright(letter).or_else(|| slanted::letter(letter, pen));
    Outline::new(drawn.unwrap_or_default())
}

pub(super) const fn corner(x: f64, y: f64) -> Node {
    Node::Corner(point(x, y))
}

pub(super) const fn turn(x: f64, y: f64, size: f64) -> Node {
    Node::Turn(point(x, y), size)
}

impl Pen {
    pub(super) fn middle(&self) -> f64 {
        self.h * MIDDLE
    }

    /// The turn that a bowl of this size has room for.
    pub(super) fn fits(&self, wide: f64, high: f64) -> f64 {
        self.turn.min(wide / 2.0).min(high / 2.0)
    }

    pub(super) fn inner(&self, size: f64) -> f64 {
        inner(self.style, size, self.s)
    }

    /// How far an open stroke reaches back.
    pub(super) fn hook(&self) -> f64 {
        (self.h * HOOK).max(1.2 * self.s)
    }

    pub(super) fn ring(&self, nodes: &[Node]) -> Contour {
        ring(nodes, self.style)
    }

    /// A box with turns at the lower left, lower right, upper right and upper left.
    fn boxed(&self, [x0, x1]: [f64; 2], [y0, y1]: [f64; 2], turns: [f64; 4]) -> Contour {
        let [a, b, c, d] = turns;
        self.ring(&[turn(x0, y0, a), turn(x1, y0, b), turn(x1, y1, c), turn(x0, y1, d)])
    }

    fn counter(&self, x: [f64; 2], y: [f64; 2], turns: [f64; 4]) -> Contour {
        self.boxed(x, y, turns).reversed()
    }

    pub(super) fn bar(&self, x: [f64; 2], y: [f64; 2]) -> Contour {
        self.boxed(x, y, [0.0; 4])
    }

    /// Crossing strokes as one area, within the letter's box.
    pub(super) fn joined(&self, strokes: Vec<Contour>) -> Vec<Contour> {
        let field = Outline::<Full>::new(vec![self.bar([0.0, self.w], [0.0, self.h])]).flattened(1.0);
        let strokes = Outline::<Full>::new(strokes).flattened(CLOSE * self.h).cleaned();
        strokes.intersection(&field).to_outline().contours
    }

    /// Two bowls over one another meet in a notch on the right, walked upwards.
    fn right_waist(&self, size: f64) -> Vec<Node> {
        let notch = |lower: bool| self.notch(self.w, lower, size);
        if size > self.s / 2.0 { vec![notch(true), notch(false)] } else { Vec::new() }
    }

    /// And on the left, walked downwards.
    fn left_waist(&self, size: f64) -> Vec<Node> {
        let notch = |lower: bool| self.notch(0.0, lower, size);
        if size > self.s / 2.0 { vec![notch(false), notch(true)] } else { Vec::new() }
    }

    /// The turn of one bowl as far as the middle.
    fn notch(&self, x: f64, lower: bool, size: f64) -> Node {
        let middle = Line { through: point(0.0, self.middle()), along: Vector::new(1.0, 0.0) };
        let rise = if lower { self.s / 2.0 } else { -self.s / 2.0 };
        let (right, up) = (Vector::new(1.0, 0.0), Vector::new(0.0, 1.0));
        let first = (x > 0.0) == lower;
        let (into, out) = match (x > 0.0, lower) {
            (true, true) => (up, -right),
            (true, false) => (right, up),
            (false, false) => (-up, right),
            (false, true) => (-right, -up),
        };
        Node::Bend(Bend {
            at: point(x, self.middle() + rise),
            size,
            into,
            out,
            from: (!first).then_some(middle),
            to: first.then_some(middle),
        })
    }

    fn upright(&self, letter: char) -> Option<Vec<Contour>> {
        let Self { w, h, s, .. } = *self;
        let m = self.middle();
        let (low, high) = (m - s / 2.0, m + s / 2.0);
        let a = self.hook();
        // Turns of the whole letter, of the bowl under the middle bar and of the one over it.
        let whole = self.fits(w, h);
        let (lower, upper) = (self.fits(w, high), self.fits(w, h - low));
        let (whole_in, lower_in, upper_in) = (self.inner(whole), self.inner(lower), self.inner(upper));
        // What would be an O or an 8 with square corners has its right ones cut all the same.
        let told = |size: f64| if self.style == Style::Cut { size.max(s) } else { size };
        // A stroke round the letter from its upper hook to what stands at the lower right, and back inside.
        let hooked = |end: f64, foot: &[Node]| {
            let outer = [turn(w, h, whole), turn(0.0, h, whole), turn(0.0, 0.0, whole), turn(w, 0.0, whole)];
            let inner = [
                turn(w - s, s, whole_in),
                turn(s, s, whole_in),
                turn(s, h - s, whole_in),
                turn(w - s, h - s, whole_in),
            ];
            let ends = [corner(w, h - end), corner(w - s, h - end)];
            self.ring(&[&ends[..1], &outer, foot, &inner, &ends[1..]].concat())
        };
        Some(match letter {
            'B' => {
                let (lower, upper) = (told(lower), told(upper));
                let waist = lower.min(upper);
                let mut outer = vec![corner(0.0, 0.0), turn(w, 0.0, lower)];
                outer.extend(self.right_waist(waist));
                outer.extend([turn(w, h, upper), corner(0.0, h)]);
                let (lower, upper, waist) = (self.inner(lower), self.inner(upper), self.inner(waist));
                vec![
                    self.ring(&outer),
                    self.counter([s, w - s], [s, low], [0.0, lower, waist, 0.0]),
                    self.counter([s, w - s], [high, h - s], [0.0, waist, upper, 0.0]),
                ]
            }
            // Its ends reach the sides of the box, or it would be narrower than the rule.
            'C' => {
                // The turn is cut off where it would close the letter.
                let end = a.max(whole).min((h - s) / 2.0);
                vec![hooked(end, &[corner(w, end), corner(w - s, end)])]
            }
            'D' => {
                let (outer, hole) = (told(whole), self.inner(told(whole)));
                vec![
                    self.boxed([0.0, w], [0.0, h], [0.0, outer, outer, 0.0]),
                    self.counter([s, w - s], [s, h - s], [0.0, hole, hole, 0.0]),
                ]
            }
            'E' | 'F' => {
                let arm = w * 0.86;
                let mut nodes = match letter {
                    'E' => vec![corner(0.0, 0.0), corner(w, 0.0), corner(w, s), corner(s, s)],
                    _ => vec![corner(0.0, 0.0), corner(s, 0.0)],
                };
                nodes.extend([corner(s, low), corner(arm, low), corner(arm, high), corner(s, high)]);
                nodes.extend([corner(s, h - s), corner(w, h - s), corner(w, h), corner(0.0, h)]);
                vec![self.ring(&nodes)]
            }
            'G' => {
                let (shelf, bar) = (m, w / 2.0);
                let foot =
                    [corner(w, shelf), corner(bar, shelf), corner(bar, shelf - s), corner(w - s, shelf - s)];
                vec![hooked(a, &foot)]
            }
            'H' => vec![self.ring(&[
                corner(0.0, 0.0),
                corner(s, 0.0),
                corner(s, low),
                corner(w - s, low),
                corner(w - s, 0.0),
                corner(w, 0.0),
                corner(w, h),
                corner(w - s, h),
                corner(w - s, high),
                corner(s, high),
                corner(s, h),
                corner(0.0, h),
            ])],
            // With feet, unless it is too narrow for them.
            'I' if w < 2.2 * s => vec![self.bar([0.0, w], [0.0, h])],
            'I' => {
                let (left, right) = ((w - s) / 2.0, (w + s) / 2.0);
                vec![self.ring(&[
                    corner(0.0, 0.0),
                    corner(w, 0.0),
                    corner(w, s),
                    corner(right, s),
                    corner(right, h - s),
                    corner(w, h - s),
                    corner(w, h),
                    corner(0.0, h),
                    corner(0.0, h - s),
                    corner(left, h - s),
                    corner(left, s),
                    corner(0.0, s),
                ])]
            }
            'J' => vec![self.ring(&[
                corner(0.0, a.max(whole)),
                turn(0.0, 0.0, whole),
                turn(w, 0.0, whole),
                corner(w, h),
                corner(w - s, h),
                turn(w - s, s, whole_in),
                turn(s, s, whole_in),
                corner(s, a.max(whole)),
            ])],
            'L' => {
                let nodes = [(0.0, 0.0), (w, 0.0), (w, s), (s, s), (s, h), (0.0, h)];
                vec![self.ring(&nodes.map(|(x, y)| corner(x, y)))]
            }
            'O' | '0' => vec![
                self.boxed([0.0, w], [0.0, h], [whole; 4]),
                self.counter([s, w - s], [s, h - s], [whole_in; 4]),
            ],
            'P' => {
                let foot = low - 0.03 * h;
                let bowl = self.fits(w, h - foot);
                let hole = self.inner(bowl);
                vec![
                    self.ring(&[
                        corner(0.0, 0.0),
                        corner(s, 0.0),
                        corner(s, foot),
                        turn(w, foot, bowl),
                        turn(w, h, bowl),
                        corner(0.0, h),
                    ]),
                    self.counter([s, w - s], [foot + s, h - s], [0.0, hole, hole, 0.0]),
                ]
            }
            'S' => vec![self.ring(&[
                corner(0.0, a),
                turn(0.0, 0.0, lower),
                turn(w, 0.0, lower),
                turn(w, high, lower),
                turn(s, high, upper_in),
                turn(s, h - s, upper_in),
                turn(w - s, h - s, upper_in),
                corner(w - s, h - a),
                corner(w, h - a),
                turn(w, h, upper),
                turn(0.0, h, upper),
                turn(0.0, low, upper),
                turn(w - s, low, lower_in),
                turn(w - s, s, lower_in),
                turn(s, s, lower_in),
                corner(s, a),
            ])],
            'T' => {
                let (left, right) = ((w - s) / 2.0, (w + s) / 2.0);
                let nodes = [
                    (left, 0.0),
                    (right, 0.0),
                    (right, h - s),
                    (w, h - s),
                    (w, h),
                    (0.0, h),
                    (0.0, h - s),
                    (left, h - s),
                ];
                vec![self.ring(&nodes.map(|(x, y)| corner(x, y)))]
            }
            'U' => vec![self.ring(&[
                corner(0.0, h),
                turn(0.0, 0.0, whole),
                turn(w, 0.0, whole),
                corner(w, h),
                corner(w - s, h),
                turn(w - s, s, whole_in),
                turn(s, s, whole_in),
                corner(s, h),
            ])],
            '3' => {
                let (waist, a) = (lower.min(upper), a.max(lower));
                let (waist_in, start) = (self.inner(waist), w * 0.36);
                let mut nodes = vec![corner(0.0, a), turn(0.0, 0.0, lower), turn(w, 0.0, lower)];
                nodes.extend(self.right_waist(waist));
                nodes.extend([
                    turn(w, h, upper),
                    turn(0.0, h, upper),
                    corner(0.0, h - a),
                    corner(s, h - a),
                    turn(s, h - s, upper_in),
                    turn(w - s, h - s, upper_in),
                    turn(w - s, high, waist_in),
                    corner(start, high),
                    corner(start, low),
                    turn(w - s, low, waist_in),
                    turn(w - s, s, lower_in),
                    turn(s, s, lower_in),
                    corner(s, a),
                ]);
                vec![self.ring(&nodes)]
            }
            '5' => {
                let head = 0.61 * h;
                let bowl = self.fits(w, head);
                let bowl_in = self.inner(bowl);
                vec![self.ring(&[
                    corner(0.0, a),
                    turn(0.0, 0.0, bowl),
                    turn(w, 0.0, bowl),
                    turn(w, head, bowl),
                    corner(s, head),
                    corner(s, h - s),
                    corner(w, h - s),
                    corner(w, h),
                    corner(0.0, h),
                    corner(0.0, head - s),
                    turn(w - s, head - s, bowl_in),
                    turn(w - s, s, bowl_in),
                    turn(s, s, bowl_in),
                    corner(s, a),
                ])]
            }
            '6' | '9' => {
                let six = self.six(whole, a);
                match letter {
                    '6' => six,
                    // Turned upside down about the middle of its box.
                    _ => {
                        Outline::<Full>::new(six)
                            .turned(std::f64::consts::PI)
                            .moved(Vector::new(w, h))
                            .contours
                    }
                }
            }
            '8' => {
                let waist = lower.min(upper);
                let waist_in = self.inner(waist);
                let mut outer = vec![turn(0.0, 0.0, lower), turn(w, 0.0, lower)];
                outer.extend(self.right_waist(waist));
                outer.extend([turn(w, h, upper), turn(0.0, h, upper)]);
                outer.extend(self.left_waist(waist));
                vec![
                    self.ring(&outer),
                    self.counter([s, w - s], [s, low], [lower_in, lower_in, waist_in, waist_in]),
                    self.counter([s, w - s], [high, h - s], [waist_in, waist_in, upper_in, upper_in]),
                ]
            }
            '-' => vec![self.bar([0.0, w], [(h - s) / 2.0, (h + s) / 2.0])],
            '.' => vec![self.bar([0.0, w], [0.0, s])],
            '+' => {
                let ([left, right], [under, over]) =
                    ([(w - s) / 2.0, (w + s) / 2.0], [(h - s) / 2.0, (h + s) / 2.0]);
                let (foot, head) = ((h - w) / 2.0, (h + w) / 2.0);
                let nodes = [
                    (left, foot),
                    (right, foot),
                    (right, under),
                    (w, under),
                    (w, over),
                    (right, over),
                    (right, head),
                    (left, head),
                    (left, over),
                    (0.0, over),
                    (0.0, under),
                    (left, under),
                ];
                vec![self.ring(&nodes.map(|(x, y)| corner(x, y)))]
            }
            _ => return None,
        })
    }

    fn six(&self, whole: f64, a: f64) -> Vec<Contour> {
        let Self { w, h, s, .. } = *self;
        let head = 0.61 * h;
        let bowl = self.fits(w, head);
        let (whole_in, bowl_in) = (self.inner(whole), self.inner(bowl));
        vec![
            self.ring(&[
                corner(w, h - a),
                turn(w, h, whole),
                turn(0.0, h, whole),
                turn(0.0, 0.0, bowl),
                turn(w, 0.0, bowl),
                turn(w, head, bowl),
                corner(s, head),
                turn(s, h - s, whole_in),
                turn(w - s, h - s, whole_in),
                corner(w - s, h - a),
            ]),
            self.counter([s, w - s], [s, head - s], [bowl_in; 4]),
        ]
    }
}
