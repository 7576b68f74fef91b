//! Closed outlines in the plane, in double precision on lyon's geometry.
//!
//! An [`Outline`] keeps its arcs and curves; a [`Region`] is
//! the same thing flattened to straight edges, on which areas are joined, cut
//! and offset. Paper coordinates: x to the right along the heading, y up,
//! millimetres of the world in the type. Filled by the non-zero rule: outer
//! contours run counter-clockwise, holes clockwise.
//!
//! Left out: strokes (a stroke is drawn as the outline it covers) and open paths.

pub mod arcs;
pub mod bridge;
pub mod chance;
pub mod font;
pub mod lettering;
pub mod number;
pub mod path_data;
pub mod picture;
pub mod region;
pub mod separate;
pub mod tab;
pub mod width;

pub use region::{Polyline, Region};

use crate::units::{Full, Model, Scale, World};
use lyon::geom;
use std::f64::consts::{PI, TAU};
use std::marker::PhantomData;

/// A point of the paper plane, millimetres.
pub type Point = geom::Point<f64>;
/// A step in the paper plane, millimetres.
pub type Vector = geom::Vector<f64>;
/// An axis-parallel box.
pub type Bounds = geom::Box2D<f64>;

/// The longer side of a box: the size of what is in it, which errors are measured by.
pub fn longer_side(bounds: &Bounds) -> f64 {
    bounds.width().max(bounds.height())
}

/// Shorthand for a point.
pub const fn point(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

/// One stretch of a contour, from where the last one ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Segment {
    Line {
        to: Point,
    },
    /// Circular arc; `sweep` in radians, counter-clockwise positive.
    Arc {
        centre: Point,
        sweep: f64,
        to: Point,
    },
    Cubic {
        ctrl1: Point,
        ctrl2: Point,
        to: Point,
    },
}

impl Segment {
    /// A quadratic raised to a cubic, which is exact.
    pub fn quadratic(from: Point, ctrl: Point, to: Point) -> Self {
        Self::Cubic { ctrl1: from.lerp(ctrl, 2.0 / 3.0), ctrl2: to.lerp(ctrl, 2.0 / 3.0), to }
    }

    /// Where the stretch ends.
    pub fn to(&self) -> Point {
        match *self {
            Self::Line { to } | Self::Arc { to, .. } | Self::Cubic { to, .. } => to,
        }
    }
}

/// A closed contour. The last segment ends where the first began, or a straight line closes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    pub start: Point,
    pub segments: Vec<Segment>,
}

impl Contour {
    /// Straight edges through these corners.
    pub fn polygon(corners: &[Point]) -> Self {
        let segments = corners.iter().skip(1).map(|&to| Segment::Line { to }).collect();
        Self { start: corners.first().copied().unwrap_or_default(), segments }
    }

    /// Whether it has nothing but straight edges.
    pub fn is_straight(&self) -> bool {
        self.segments.iter().all(|segment| matches!(segment, Segment::Line { .. }))
    }

    /// A full circle, counter-clockwise, in four arcs.
    pub fn circle(centre: Point, radius: f64) -> Self {
        let east = Vector::new(radius, 0.0);
        let north = Vector::new(0.0, radius);
        let stops = [centre + north, centre - east, centre - north, centre + east];
        let quarter = |&to: &Point| Segment::Arc { centre, sweep: PI / 2.0, to };
        Self { start: centre + east, segments: stops.iter().map(quarter).collect() }
    }

    /// Each stretch with the point it starts from, the closing line included where one is needed.
    pub fn stretches(&self) -> impl Iterator<Item = (Point, Segment)> + '_ {
        let end = self.segments.last().map_or(self.start, Segment::to);
        let closing = (end != self.start).then_some(Segment::Line { to: self.start });
        let mut from = self.start;
        self.segments.iter().copied().chain(closing).map(move |segment| {
            let pair = (from, segment);
            from = segment.to();
            pair
        })
    }

    /// The same contour walked the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let stretches: Vec<_> = self.stretches().collect();
        let turn = |&(from, segment): &(Point, Segment)| match segment {
            Segment::Line { .. } => Segment::Line { to: from },
            Segment::Arc { centre, sweep, .. } => Segment::Arc { centre, sweep: -sweep, to: from },
            Segment::Cubic { ctrl1, ctrl2, .. } => Segment::Cubic { ctrl1: ctrl2, ctrl2: ctrl1, to: from },
        };
        Self { start: self.start, segments: stretches.iter().rev().map(turn).collect() }
    }

    /// Area to the left of the walk (counter-clockwise positive), exact for lines, arcs and cubics (Green's theorem).
    pub fn signed_area(&self) -> f64 {
        let cross = |a: Point, b: Point| a.to_vector().cross(b.to_vector());
        let twice: f64 = self
            .stretches()
            .map(|(from, segment)| match segment {
                Segment::Line { to } => cross(from, to),
                Segment::Arc { centre, sweep, to } => {
                    let r2 = (from - centre).square_length();
                    r2 * sweep + centre.to_vector().cross(to - from)
                }
                Segment::Cubic { ctrl1: b, ctrl2: c, to: d } => {
                    // ∮ x dy − y dx of a cubic Bézier, integrated term by term.
                    let a = from;
                    (6.0 * cross(a, b)
                        + 3.0 * cross(a, c)
                        + cross(a, d)
                        + 3.0 * cross(b, c)
                        + 3.0 * cross(b, d)
                        + 6.0 * cross(c, d))
                        / 10.0
                }
            })
            .sum();
        twice / 2.0
    }

    /// Points along the contour, no chord further than `tolerance` millimetres from the curve; not closed by repetition.
    pub fn flattened(&self, tolerance: f64) -> Polyline {
        let mut points = vec![self.start];
        for (from, segment) in self.stretches() {
            match segment {
                Segment::Line { to } => points.push(to),
                Segment::Arc { centre, sweep, to } => {
                    let spoke = from - centre;
                    let radius = spoke.length();
                    // A chord over the angle a misses its arc by r(1 − cos a/2).
                    let step = 2.0 * libm::acos((1.0 - tolerance / radius).clamp(-1.0, 1.0));
                    let count = (sweep.abs() / step.clamp(1e-4, PI / 4.0)).ceil().max(1.0);
                    for k in 1..count as usize {
                        points.push(centre + turned(spoke, sweep * k as f64 / count));
                    }
                    points.push(to);
                }
                Segment::Cubic { ctrl1, ctrl2, to } => {
                    let curve = geom::CubicBezierSegment { from, ctrl1, ctrl2, to };
                    curve.for_each_flattened(tolerance, &mut |line| points.push(line.to));
                }
            }
        }
        if points.len() > 1 && points.last() == points.first() {
            points.pop();
        }
        points
    }

    /// The same contour in lines and cubics alone.
    ///
    /// An arc is parted into stretches of at most an eighth of a turn, each of which a cubic misses by no
    /// more than 4.3e-6 of the radius (the usual handles of 4/3 tan of a quarter of the sweep).
    #[must_use]
    pub fn in_cubics(&self) -> Self {
        let mut segments = Vec::with_capacity(self.segments.len());
        let mut from = self.start;
        for segment in &self.segments {
            let Segment::Arc { centre, sweep, to } = *segment else {
                segments.push(*segment);
                from = segment.to();
                continue;
            };
            let spoke = from - centre;
            let count = (sweep.abs() / (PI / 4.0) - 1e-9).ceil().max(1.0);
            let step = sweep / count;
            let handle = 4.0 / 3.0 * libm::tan(step / 4.0);
            for k in 0..count as usize {
                let (here, there) = (turned(spoke, step * k as f64), turned(spoke, step * (k + 1) as f64));
                let aside = |spoke: Vector| Vector::new(-spoke.y, spoke.x) * handle;
                segments.push(Segment::Cubic {
                    ctrl1: centre + here + aside(here),
                    ctrl2: centre + there - aside(there),
                    to: if k + 1 == count as usize { to } else { centre + there },
                });
            }
            from = to;
        }
        Self { start: self.start, segments }
    }

    /// Applies `f` to every point; arcs stay arcs, so `f` must be a similarity; whether it
    /// changes left and right over is for `mirrored` to say.
    fn mapped(&self, f: impl Fn(Point) -> Point, mirrored: bool) -> Self {
        let sign = if mirrored { -1.0 } else { 1.0 };
        let map = |segment: &Segment| match *segment {
            Segment::Line { to } => Segment::Line { to: f(to) },
            Segment::Arc { centre, sweep, to } => {
                Segment::Arc { centre: f(centre), sweep: sweep * sign, to: f(to) }
            }
            Segment::Cubic { ctrl1, ctrl2, to } => {
                Segment::Cubic { ctrl1: f(ctrl1), ctrl2: f(ctrl2), to: f(to) }
            }
        };
        Self { start: f(self.start), segments: self.segments.iter().map(map).collect() }
    }
}

/// `vector` turned counter-clockwise by `angle` radians.
pub fn turned(vector: Vector, angle: f64) -> Vector {
    let (sin, cos) = libm::sincos(angle);
    Vector::new(vector.x * cos - vector.y * sin, vector.x * sin + vector.y * cos)
}

/// Closed contours that bound an area of one world.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline<W> {
    pub contours: Vec<Contour>,
    world: PhantomData<W>,
}

impl<W: World> Outline<W> {
    pub fn new(contours: Vec<Contour>) -> Self {
        Self { contours, world: PhantomData }
    }

    pub fn polygon(corners: &[Point]) -> Self {
        Self::new(vec![Contour::polygon(corners)])
    }

    /// Centred on `centre`, counter-clockwise.
    pub fn rectangle(centre: Point, width: f64, height: f64) -> Self {
        let (x, y) = (width / 2.0, height / 2.0);
        let corner = |sx: f64, sy: f64| centre + Vector::new(sx * x, sy * y);
        Self::polygon(&[corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)])
    }

    pub fn circle(centre: Point, radius: f64) -> Self {
        Self::new(vec![Contour::circle(centre, radius)])
    }

    /// The area between two circles about one centre.
    pub fn ring(centre: Point, inner: f64, outer: f64) -> Self {
        Self::new(vec![Contour::circle(centre, outer), Contour::circle(centre, inner).reversed()])
    }

    pub fn is_empty(&self) -> bool {
        self.contours.is_empty()
    }

    /// Net area, mm², exact.
    pub fn area(&self) -> f64 {
        self.contours.iter().map(Contour::signed_area).sum()
    }

    /// Straight edges within `tolerance` millimetres of the curves.
    pub fn flattened(&self, tolerance: f64) -> Region<W> {
        Region::new(self.contours.iter().map(|contour| contour.flattened(tolerance)).collect())
    }

    /// The box round the outline, arcs and curves included; an empty box at the origin for no contours.
    pub fn bounds(&self) -> Bounds {
        let mut points = Vec::new();
        for (from, segment) in self.contours.iter().flat_map(Contour::stretches) {
            points.push(from);
            match segment {
                Segment::Line { .. } => {}
                Segment::Arc { centre, sweep, .. } => points.extend(arc_extremes(from, centre, sweep)),
                Segment::Cubic { ctrl1, ctrl2, to } => {
                    let bounds = geom::CubicBezierSegment { from, ctrl1, ctrl2, to }.bounding_box();
                    points.extend([bounds.min, bounds.max]);
                }
            }
        }
        Bounds::from_points(points)
    }

    /// Moved by `step`.
    #[must_use]
    pub fn moved(&self, step: Vector) -> Self {
        self.similar(|p| p + step, false)
    }

    /// Turned counter-clockwise about the origin.
    #[must_use]
    pub fn turned(&self, radians: f64) -> Self {
        self.similar(|p| turned(p.to_vector(), radians).to_point(), false)
    }

    /// Enlarged about the origin, in the same world.
    #[must_use]
    pub fn enlarged(&self, factor: f64) -> Self {
        self.similar(|p| p * factor, false)
    }

    /// Every point moved by `f`, which must keep straight lines straight; arcs become cubics.
    #[must_use]
    pub fn distorted(&self, f: impl Fn(Point) -> Point) -> Self {
        Self::new(self.contours.iter().map(|contour| contour.in_cubics().mapped(&f, false)).collect())
    }

    /// Left and right changed over.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let flipped = self.similar(|p| point(-p.x, p.y), true);
        Self::new(flipped.contours.iter().map(Contour::reversed).collect())
    }

    /// Up and down changed over.
    #[must_use]
    pub fn upside_down(&self) -> Self {
        let flipped = self.similar(|p| point(p.x, -p.y), true);
        Self::new(flipped.contours.iter().map(Contour::reversed).collect())
    }

    fn similar(&self, f: impl Fn(Point) -> Point, mirrored: bool) -> Self {
        Self::new(self.contours.iter().map(|contour| contour.mapped(&f, mirrored)).collect())
    }

    /// The same contours walked the other way: as holes, what they enclosed.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self::new(self.contours.iter().map(Contour::reversed).collect())
    }

    /// Whether it has nothing but straight edges.
    pub fn is_straight(&self) -> bool {
        self.contours.iter().all(Contour::is_straight)
    }

    /// Both outlines as one list of contours; no boolean work is done.
    pub fn extend(&mut self, other: &Self) {
        self.contours.extend(other.contours.iter().cloned());
    }
}

impl Outline<Full> {
    /// The same outline on a model of this scale.
    #[must_use]
    pub fn at(&self, scale: Scale) -> Outline<Model> {
        let small = self.similar(|p| p * scale.ratio(), false);
        Outline::new(small.contours)
    }
}

/// The points of an arc that lie furthest left, right, up and down.
fn arc_extremes(from: Point, centre: Point, sweep: f64) -> Vec<Point> {
    let spoke = from - centre;
    let start = libm::atan2(spoke.y, spoke.x);
    let radius = spoke.length();
    let axes = [
        Vector::new(radius, 0.0),
        Vector::new(0.0, radius),
        Vector::new(-radius, 0.0),
        Vector::new(0.0, -radius),
    ];
    let within = |k: usize| {
        let ahead = (k as f64 * PI / 2.0 - start).rem_euclid(TAU);
        if sweep >= 0.0 { ahead <= sweep } else { TAU - ahead <= -sweep }
    };
    (0..4).filter(|&k| within(k)).map(|k| centre + axes[k]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_are_exact() {
        let disc: Outline<Full> = Outline::circle(point(3.0, -2.0), 5.0);
        assert!((disc.area() - 25.0 * PI).abs() < 1e-12);
        let ring: Outline<Full> = Outline::ring(point(1.0, 1.0), 3.0, 5.0);
        assert!((ring.area() - 16.0 * PI).abs() < 1e-12);
        // A quarter disc whose arc is replaced by a cubic that equals a quadratic: area 2/3 under y = 1 − x².
        let parabola = Contour {
            start: point(0.0, 0.0),
            segments: vec![
                Segment::Line { to: point(1.0, 0.0) },
                Segment::Cubic {
                    ctrl1: point(2.0 / 3.0, 2.0 / 3.0),
                    ctrl2: point(1.0 / 3.0, 1.0),
                    to: point(0.0, 1.0),
                },
            ],
        };
        assert!((parabola.signed_area() - 2.0 / 3.0).abs() < 1e-12);
    }

    #[test]
    fn flattening_keeps_its_tolerance_down_to_nothing() {
        // A polygon inscribed in a circle of radius 10: its edges must pass within the tolerance of the circle.
        for tolerance in [1.0, 1e-2, 1e-4, 1e-6] {
            let disc: Outline<Full> = Outline::circle(point(0.0, 0.0), 10.0);
            let ring = &disc.flattened(tolerance).rings[0];
            let worst = (0..ring.len())
                .map(|k| 10.0 - ring[k].lerp(ring[(k + 1) % ring.len()], 0.5).to_vector().length())
                .fold(0.0, f64::max);
            assert!(worst <= tolerance * 1.0001, "{worst} > {tolerance}");
        }
    }

    #[test]
    fn cubics_follow_an_arc_to_a_few_millionths() {
        // The bound in the literature for eight cubics to a circle, 4.2e-6 R, checked on points of them.
        let circle: Outline<Full> = Outline::circle(point(7.0, -3.0), 50.0);
        let contour = circle.contours[0].in_cubics();
        assert_eq!(contour.segments.len(), 8);
        let off = contour
            .flattened(1e-7)
            .iter()
            .map(|p| ((*p - point(7.0, -3.0)).length() - 50.0).abs())
            .fold(0.0, f64::max);
        assert!(off < 50.0 * 4.3e-6, "{off}");
        // Stretched unevenly it is an ellipse: π a b.
        let ellipse = circle.distorted(|p| point(p.x * 1.2, p.y * 0.5));
        assert!((ellipse.area() / (PI * 60.0 * 25.0) - 1.0).abs() < 1e-5);
    }

    #[test]
    fn bounds_take_in_the_bulge_of_an_arc() {
        let half = Outline::<Full>::new(vec![Contour {
            start: point(0.0, -2.0),
            segments: vec![Segment::Arc { centre: point(0.0, 0.0), sweep: PI, to: point(0.0, 2.0) }],
        }]);
        let bounds = half.bounds();
        assert!((bounds.max.x - 2.0).abs() < 1e-12 && bounds.min.x.abs() < 1e-12);
        let mirrored = half.mirrored();
        assert!((mirrored.bounds().min.x + 2.0).abs() < 1e-12);
        assert!((mirrored.area() - half.area()).abs() < 1e-12);
    }
}
