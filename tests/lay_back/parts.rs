//! Parts of three specs by formulas of the tests' own: how far a point lies off a part, and how a part that
//! unrolls lies flat.
//!
//! Millimetres of the real thing in the part's frame: x aft, y to the right, z up. Nothing here comes from
//! the program; where the language leaves a shape open (how a loft goes from station to station), the formula
//! is the one that `surface::monotone` states, written anew.

use glam::{DVec2, DVec3};
use std::f64::consts::TAU;

type Height = Box<dyn Fn(DVec3) -> f64 + Send + Sync>;
type Flat = Box<dyn Fn(DVec3, f64) -> Option<DVec2> + Send + Sync>;

/// A part.
pub struct Solid {
    /// 0 on the surface, greater outside; near the surface a distance up to a factor.
    height: Height,
    /// Where the part unrolls: aft (or up, where it stands) and to the left of that seen from outside, with
    /// so many turns more round it.
    flat: Option<Flat>,
}

impl Solid {
    fn new(height: impl Fn(DVec3) -> f64 + Send + Sync + 'static) -> Self {
        Self { height: Box::new(height), flat: None }
    }

    fn unrolled(self, flat: impl Fn(DVec3, f64) -> Option<DVec2> + Send + Sync + 'static) -> Self {
        Self { flat: Some(Box::new(flat)), ..self }
    }

    fn gradient(&self, p: DVec3) -> DVec3 {
        const STEP: f64 = 1e-3;
        let by = |axis: DVec3| (self.height)(p + axis * STEP) - (self.height)(p - axis * STEP);
        DVec3::new(by(DVec3::X), by(DVec3::Y), by(DVec3::Z)) / (2.0 * STEP)
    }

    pub fn normal(&self, p: DVec3) -> DVec3 {
        self.gradient(p).normalize()
    }

    /// How far a point near the surface lies off it, to first order.
    pub fn off(&self, p: DVec3) -> f64 {
        (self.height)(p) / self.gradient(p).length()
    }

    /// The point of the surface beside one near it.
    pub fn onto(&self, mut p: DVec3) -> DVec3 {
        for _ in 0..20 {
            let gradient = self.gradient(p);
            let step = gradient * ((self.height)(p) / gradient.length_squared());
            p -= step;
            if step.length() < 1e-9 {
                break;
            }
        }
        p
    }

    /// What is met on the way from a point outside to one inside.
    pub fn met(&self, from: DVec3, to: DVec3) -> DVec3 {
        assert!((self.height)(from) > 0.0 && (self.height)(to) < 0.0, "{from} is outside, {to} inside");
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if (self.height)(from.lerp(to, middle)) > 0.0 { low = middle } else { high = middle }
        }
        from.lerp(to, low)
    }

    pub fn unrolls(&self) -> bool {
        self.flat.is_some()
    }

    /// Where a point lies unrolled; `None` off the stretch that unrolls.
    pub fn flat(&self, p: DVec3, turns: f64) -> Option<DVec2> {
        self.flat.as_ref().and_then(|flat| flat(p, turns))
    }
}

/// A plate in the plane through the origin; `along` and `left` span it.
pub fn plate(along: DVec3, left: DVec3) -> Solid {
    let out = along.cross(left);
    Solid::new(move |p| p.dot(out)).unrolled(move |p, _| Some(DVec2::new(p.dot(along), p.dot(left))))
}

/// A frustum about x.
pub fn cone(front: f64, rear: f64, length: f64) -> Solid {
    let slope = (rear - front) / length;
    let (apex, cos) = (-front / slope, 1.0 / libm::hypot(slope, 1.0));
    let sin = slope.abs() * cos;
    assert!(slope < 0.0, "narrower aft: the point lies aft");
    // A sheet-metal development: distances from the point stay, angles about it shrink by the sine.
    Solid::new(move |p| (libm::hypot(p.y, p.z) - front - slope * p.x) * cos).unrolled(move |p, turns| {
        let (from_point, turned) = ((apex - p.x) / cos, (libm::atan2(p.y, p.z) + TAU * turns) * sin);
        Some(DVec2::new(-libm::cos(turned), libm::sin(turned)) * from_point)
    })
}

pub fn ellipsoid(length: f64, width: f64, height: f64) -> Solid {
    let half = DVec3::new(length, width, height) / 2.0;
    let shortest = half.min_element();
    Solid::new(move |p| ((p / half).length() - 1.0) * shortest)
}

/// An ellipse across x and z drawn out along y. Unrolls over its top, from its foremost line.
pub fn elliptic_cylinder(width: f64, height: f64) -> Solid {
    let half = DVec2::new(width, height) / 2.0;
    let on = move |angle: f64| DVec2::new(-half.x * libm::cos(angle), half.y * libm::sin(angle));
    let over = arc_lengths(on, 0.0, TAU / 2.0);
    Solid::new(move |p| ((DVec2::new(p.x, p.z) / half).length() - 1.0) * half.min_element()).unrolled(
        move |p, _| {
            let angle = libm::atan2(p.z / half.y, -p.x / half.x);
            (angle >= 0.0).then(|| DVec2::new(over(angle), p.y))
        },
    )
}

/// A symmetrical four-digit wing section, its trailing edge open, drawn out along y (Abbott and von Doenhoff,
/// *Theory of Wing Sections*, section 6.4). Unrolls over its upper side.
pub fn wing(thickness: f64, chord: f64) -> Solid {
    let half = move |x: f64| {
        let x = x / chord;
        let terms = 0.2969 * x.sqrt() - 0.1260 * x - 0.3516 * x * x + 0.2843 * libm::pow(x, 3.0)
            - 0.1015 * libm::pow(x, 4.0);
        5.0 * thickness * chord * terms
    };
    // By the root of x, in which the nose is smooth.
    let over = arc_lengths(move |w| DVec2::new(w * w, half(w * w)), 0.0, chord.sqrt());
    Solid::new(move |p| p.z.abs() - half(p.x))
        .unrolled(move |p, _| (p.z > 0.0).then(|| DVec2::new(over(p.x.sqrt()), p.y)))
}

/// The length of a plane curve from where its parameter is `from`, by Simpson's rule over its speed.
fn arc_lengths(on: impl Fn(f64) -> DVec2, from: f64, to: f64) -> impl Fn(f64) -> f64 {
    const STEPS: usize = 20_000;
    let h = (to - from) / STEPS as f64;
    let speed = |t: f64| {
        // At the ends, from within.
        let (a, b) = ((t - 1e-3 * h).max(from), (t + 1e-3 * h).min(to));
        (on(b) - on(a)).length() / (b - a)
    };
    let mut sums = vec![0.0];
    for k in 0..STEPS {
        let [a, b, c] = [0.0, 0.5, 1.0].map(|share| speed(from + h * (k as f64 + share)));
        sums.push(sums[k] + h / 6.0 * (a + 4.0 * b + c));
    }
    move |t: f64| {
        let at = ((t - from) / h).clamp(0.0, STEPS as f64 - 1e-9);
        let k = at as usize;
        sums[k] + (sums[k + 1] - sums[k]) * (at - k as f64)
    }
}

/// A section of a loft about its centre.
#[derive(Clone, Copy)]
pub enum Section {
    /// |y/a|ⁿ + |z/b|ⁿ = 1: width, height, n.
    Oval(f64, f64, f64),
    /// Width, height, radius of the corners.
    Box(f64, f64, f64),
}

impl Section {
    /// From the centre to the edge along a unit vector.
    fn reach(self, way: DVec2) -> f64 {
        let way = way.abs();
        match self {
            Self::Oval(width, height, n) => {
                let [x, y] = [way.x / width, way.y / height].map(|share| libm::pow(2.0 * share, n));
                libm::pow(x + y, -1.0 / n)
            }
            Self::Box(width, height, radius) => {
                let inner = DVec2::new(width, height) / 2.0 - radius;
                let [side, top] = [width / 2.0 / way.x, height / 2.0 / way.y];
                if side * way.y <= inner.y {
                    side
                } else if top * way.x <= inner.x {
                    top
                } else {
                    // Through the circle of the corner: its far side.
                    let middle = way.dot(inner);
                    middle + (middle * middle - inner.length_squared() + radius * radius).sqrt()
                }
            }
        }
    }
}

/// Sections at x, their centres so far up.
pub fn loft(stations: &'static [(f64, Section, f64)]) -> Solid {
    Solid::new(move |p| {
        let at: Vec<f64> = stations.iter().map(|s| s.0).collect();
        let centre = through(&at, &stations.iter().map(|s| s.2).collect::<Vec<_>>(), p.x);
        let out = DVec2::new(p.y, p.z - centre);
        let reach: Vec<f64> = stations.iter().map(|s| s.1.reach(out.normalize())).collect();
        out.length() - through(&at, &reach, p.x)
    })
}

/// A smooth curve through points that never overshoots them, straight on past its ends: cubics whose slope at
/// a point is that of the parabola through it and its neighbours, none where the curve turns back, and less
/// where it would be over twice the lesser secant.
fn through(x: &[f64], y: &[f64], at: f64) -> f64 {
    let last = x.len() - 1;
    let secant = |k: usize| (y[k + 1] - y[k]) / (x[k + 1] - x[k]);
    let inner = |k: usize| {
        let (a, b, before, after) = (secant(k - 1), secant(k), x[k] - x[k - 1], x[k + 1] - x[k]);
        if a * b <= 0.0 {
            return 0.0;
        }
        let slope = (a * after + b * before) / (before + after);
        let v = (2.0 * if a.abs() < b.abs() { a } else { b } / slope).min(1.0);
        slope * libm::pow(v, 3.0) * (10.0 - 15.0 * v + 6.0 * v * v)
    };
    let end = |secant: f64, inner: f64| {
        let slope = 2.0 * secant - inner;
        if slope * secant <= 0.0 { 0.0 } else { slope }
    };
    let slope = |k: usize| match k {
        _ if last == 1 => secant(0),
        0 => end(secant(0), inner(1)),
        k if k == last => end(secant(last - 1), inner(last - 1)),
        k => inner(k),
    };
    if at <= x[0] || at >= x[last] {
        let k = if at <= x[0] { 0 } else { last };
        return y[k] + slope(k) * (at - x[k]);
    }
    let k = (0..last).find(|&k| at < x[k + 1]).unwrap_or(last - 1);
    let h = x[k + 1] - x[k];
    let t = (at - x[k]) / h;
    // Hermite's four cubics.
    y[k] * (1.0 + 2.0 * t) * (1.0 - t) * (1.0 - t)
        + slope(k) * h * t * (1.0 - t) * (1.0 - t)
        + y[k + 1] * t * t * (3.0 - 2.0 * t)
        - slope(k + 1) * h * t * t * (1.0 - t)
}

/// A straight or an arc of a line in a plane.
#[derive(Clone, Copy, Debug)]
enum Stroke {
    Line { from: DVec2, to: DVec2 },
    Arc { centre: DVec2, from: DVec2, to: DVec2 },
}

/// A line through corners in a plane, each rounded to a radius.
#[derive(Clone, Debug)]
pub struct Rounded(Vec<Stroke>);

impl Rounded {
    pub fn new(corners: &[[f64; 2]], radius: f64) -> Self {
        let corners: Vec<DVec2> = corners.iter().map(|&p| p.into()).collect();
        let mut strokes = Vec::new();
        let mut from = corners[0];
        for trio in corners.windows(3) {
            let (before, after) = ((trio[1] - trio[0]).normalize(), (trio[2] - trio[1]).normalize());
            let turn = libm::atan2(before.perp_dot(after), before.dot(after));
            let back = radius * libm::tan(turn / 2.0).abs();
            let (to, on) = (trio[1] - before * back, trio[1] + after * back);
            strokes.push(Stroke::Line { from, to });
            strokes.push(Stroke::Arc {
                centre: to + before.perp() * radius.copysign(turn),
                from: to,
                to: on,
            });
            from = on;
        }
        strokes.push(Stroke::Line { from, to: corners[corners.len() - 1] });
        Self(strokes)
    }

    /// Its distance from a point; its ends go straight on.
    pub fn distance(&self, p: DVec2) -> f64 {
        let last = self.0.len() - 1;
        let to = |(k, stroke): (usize, &Stroke)| match *stroke {
            Stroke::Line { from, to } => {
                let way = (to - from).normalize();
                let low = if k == 0 { f64::NEG_INFINITY } else { 0.0 };
                let high = if k == last { f64::INFINITY } else { (to - from).length() };
                (p - from - way * (p - from).dot(way).clamp(low, high)).length()
            }
            Stroke::Arc { centre, from, to } => {
                let (a, b, p) = (from - centre, to - centre, p - centre);
                let within = a.perp_dot(p) * a.perp_dot(b) >= 0.0 && p.perp_dot(b) * a.perp_dot(b) >= 0.0;
                if within { (p.length() - a.length()).abs() } else { f64::INFINITY }
            }
        };
        self.0.iter().enumerate().map(to).fold(f64::INFINITY, f64::min)
    }

    pub fn length(&self) -> f64 {
        self.0.iter().map(Self::long).sum()
    }

    fn long(stroke: &Stroke) -> f64 {
        match *stroke {
            Stroke::Line { from, to } => (to - from).length(),
            Stroke::Arc { centre, from, to } => {
                let (a, b) = (from - centre, to - centre);
                libm::atan2(a.perp_dot(b), a.dot(b)).abs() * a.length()
            }
        }
    }

    /// The point so far along, and the unit vector onward.
    pub fn at(&self, along: f64) -> (DVec2, DVec2) {
        let (mut rest, last) = (along, self.0.len() - 1);
        for (k, stroke) in self.0.iter().enumerate() {
            let long = Self::long(stroke);
            if rest > long && k < last {
                rest -= long;
                continue;
            }
            return match *stroke {
                Stroke::Line { from, to } => {
                    let way = (to - from).normalize();
                    (from + way * rest, way)
                }
                Stroke::Arc { centre, from, to } => {
                    let spoke = from - centre;
                    let turn = 1f64.copysign(spoke.perp_dot(to - centre));
                    let spoke = DVec2::from_angle(turn * rest / spoke.length()).rotate(spoke);
                    (centre + spoke, spoke.perp().normalize() * turn)
                }
            };
        }
        unreachable!("a line has strokes")
    }
}

/// A circle swept along a line in the plane y = 0.
pub fn tube(line: Rounded, diameter: f64) -> Solid {
    Solid::new(move |p| libm::hypot(line.distance(DVec2::new(p.x, p.z)), p.y) - diameter / 2.0)
}

impl Solid {
    /// Unrolls as a pipe about the straight from one point to another; what is off its ends does not.
    pub fn unrolled_as_pipe(self, from: DVec3, to: DVec3, top: DVec3, radius: f64) -> Self {
        let (way, long) = ((to - from).normalize(), (to - from).length());
        let top = top.reject_from_normalized(way).normalize();
        let left = top.cross(way);
        self.unrolled(move |p, turns| {
            let (along, out) = ((p - from).dot(way), p - from);
            let turn = libm::atan2(out.dot(left), out.dot(top)) + TAU * turns;
            (-1e-6..=long + 1e-6).contains(&along).then(|| DVec2::new(along, radius * turn))
        })
    }

    /// Unrolls where one of its sides is flat, as far as a point may lie off that side.
    pub fn unrolled_side(self, along: DVec3, left: DVec3, at: f64) -> Self {
        let out = along.cross(left);
        self.unrolled(move |p, _| {
            ((p.dot(out) - at).abs() < 1e-6).then(|| DVec2::new(p.dot(along), p.dot(left)))
        })
    }
}
