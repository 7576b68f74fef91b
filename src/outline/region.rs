//! Flattened areas: join, cut, intersect, offset, measure.
//!
//! Booleans and offsets are i_overlay's, on its 64-bit integer grid; this file
//! is the only one that knows that crate. Rings are polygons, outer ones
//! counter-clockwise, holes clockwise; every result is clean (no crossings).

use super::{Bounds, Contour, Outline, Point, Vector, longer_side};
use crate::units::{Full, Model, Scale, World};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::simplify::SimplifyShape;
use i_overlay::float::single::SingleFloatOverlay;
use i_overlay::mesh::float::outline::offset::OutlineOffset;
use i_overlay::mesh::float::style::{LineJoin, OutlineStyle};
use std::marker::PhantomData;

/// Points joined by straight lines.
pub type Polyline = Vec<Point>;

type Rings = Vec<Vec<[f64; 2]>>;

/// A flat area of one world with straight edges, millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Region<W> {
    pub rings: Vec<Polyline>,
    world: PhantomData<W>,
}

impl<W: World> Region<W> {
    /// Takes the rings as they are.
    pub fn new(rings: Vec<Polyline>) -> Self {
        Self { rings, world: PhantomData }
    }

    pub fn empty() -> Self {
        Self::new(Vec::new())
    }

    pub fn is_empty(&self) -> bool {
        self.rings.is_empty()
    }

    /// Net area, mm².
    pub fn area(&self) -> f64 {
        self.rings.iter().map(|ring| signed_area(ring)).sum()
    }

    /// Length of all edges, mm.
    pub fn perimeter(&self) -> f64 {
        self.edges().map(|(a, b)| (b - a).length()).sum()
    }

    /// Every edge of every ring.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.rings.iter().flat_map(|ring| ring.iter().copied().zip(ring.iter().copied().cycle().skip(1)))
    }

    pub fn bounds(&self) -> Bounds {
        Bounds::from_points(self.rings.iter().flatten().copied())
    }

    /// Whether `p` is inside by the non-zero rule.
    pub fn contains(&self, p: Point) -> bool {
        let mut winding = 0;
        for (a, b) in self.edges() {
            let side = (b - a).cross(p - a);
            if a.y <= p.y && b.y > p.y && side > 0.0 {
                winding += 1;
            } else if a.y > p.y && b.y <= p.y && side < 0.0 {
                winding -= 1;
            }
        }
        winding != 0
    }

    /// Shortest way from `p` to an edge, mm; infinite where there is none.
    pub fn distance_to_edge(&self, p: Point) -> f64 {
        self.edges().map(|(a, b)| distance_to_segment(p, a, b)).fold(f64::INFINITY, f64::min)
    }

    /// The rings with points on straight edges, no further apart than `step` mm.
    pub fn stepped(&self, step: f64) -> Vec<Polyline> {
        let ring = |ring: &Polyline| {
            let next = ring.iter().cycle().skip(1);
            let edge = |(&a, &b): (&Point, &Point)| {
                let count = ((b - a).length() / step).ceil().max(1.0);
                (0..count as usize).map(move |k| a.lerp(b, k as f64 / count))
            };
            ring.iter().zip(next).flat_map(edge).collect()
        };
        self.rings.iter().map(ring).collect()
    }

    /// With fewer corners, each left out no further than `tolerance` mm from the side that takes its place, nor than
    /// a fiftieth of its ring.
    #[must_use]
    pub fn simplified(&self, tolerance: f64) -> Self {
        let ring = |ring: &Polyline| {
            let bounds = Bounds::from_points(ring.iter().copied());
            simplified(ring, tolerance.min(longer_side(&bounds) / 50.0))
        };
        Self::new(self.rings.iter().map(ring).collect())
    }

    /// Crossings resolved by the non-zero rule, rings oriented.
    #[must_use]
    pub fn cleaned(&self) -> Self {
        Self::from_shapes(self.raw().simplify_shape_as::<i64>(FillRule::NonZero))
    }

    /// Crossings resolved by the even-odd rule, rings oriented.
    #[must_use]
    pub fn cleaned_even_odd(&self) -> Self {
        Self::from_shapes(self.raw().simplify_shape_as::<i64>(FillRule::EvenOdd))
    }

    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        self.overlay(other, OverlayRule::Union)
    }

    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        self.overlay(other, OverlayRule::Intersect)
    }

    /// This area without the other.
    #[must_use]
    pub fn minus(&self, other: &Self) -> Self {
        self.overlay(other, OverlayRule::Difference)
    }

    /// Grown by `distance` mm (shrunk where negative), corners rounded.
    ///
    /// Points land on a grid of about a billionth of the whole; on a finer one, many nearly equal
    /// bits took minutes.
    #[must_use]
    pub fn offset(&self, distance: f64) -> Self {
        self.cleaned().grown(distance)
    }

    /// The same of what has no crossings.
    fn grown(&self, distance: f64) -> Self {
        // A join every 6 degrees misses the true round corner by 0.14 % of the distance.
        let style = OutlineStyle::new(distance).line_join(LineJoin::Round(std::f64::consts::PI / 30.0));
        Self::from_shapes(self.raw().outline_as::<i32>(&style))
    }

    /// Without what is narrower than `width` mm: shrunk by half of it and grown again.
    #[must_use]
    pub fn opened(&self, width: f64) -> Self {
        self.offset(-width / 2.0).grown(width / 2.0)
    }

    /// Gaps narrower than `width` mm filled: grown by half of it and shrunk again.
    #[must_use]
    pub fn closed(&self, width: f64) -> Self {
        self.offset(width / 2.0).grown(-width / 2.0)
    }

    /// Without rings narrower than `width` mm in the mean: what rounding leaves between areas that share an edge.
    #[must_use]
    pub fn without_slivers(&self, width: f64) -> Self {
        let length = |ring: &Polyline| -> f64 {
            ring.iter().zip(ring.iter().cycle().skip(1)).map(|(a, b)| (*b - *a).length()).sum()
        };
        let kept = |ring: &&Polyline| 2.0 * signed_area(ring).abs() >= width * length(ring);
        Self::new(self.rings.iter().filter(kept).cloned().collect())
    }

    /// Without the holes in it.
    #[must_use]
    pub fn filled(&self) -> Self {
        let outer = |ring: &&Polyline| signed_area(ring) > 0.0;
        Self::new(self.rings.iter().filter(outer).cloned().collect()).cleaned()
    }

    /// Grown by `distance` mm, corners kept sharp down to the 29° at which SVG's usual mitre limit of 4 cuts them off.
    #[must_use]
    pub fn offset_sharp(&self, distance: f64) -> Self {
        let least = 2.0 * libm::asin(0.25);
        let style = OutlineStyle::new(distance).line_join(LineJoin::Miter(least));
        Self::from_shapes(self.cleaned().raw().outline_as::<i32>(&style))
    }

    /// The separate bits, each with its holes.
    pub fn parts(&self) -> Vec<Self> {
        let shapes = self.raw().simplify_shape_as::<i64>(FillRule::NonZero);
        shapes.into_iter().map(|shape| Self::from_shapes(vec![shape])).collect()
    }

    /// Straight-edged outline of the same area.
    pub fn to_outline(&self) -> Outline<W> {
        Outline::new(self.rings.iter().map(|ring| Contour::polygon(ring)).collect())
    }

    #[must_use]
    pub fn moved(&self, step: Vector) -> Self {
        Self::new(self.rings.iter().map(|ring| ring.iter().map(|&p| p + step).collect()).collect())
    }

    /// Enlarged about the origin, in the same world.
    #[must_use]
    pub fn enlarged(&self, factor: f64) -> Self {
        Self::new(self.rings.iter().map(|ring| ring.iter().map(|&p| p * factor).collect()).collect())
    }

    fn overlay(&self, other: &Self, rule: OverlayRule) -> Self {
        Self::from_shapes(self.raw().overlay_as::<i64>(&other.raw(), rule, FillRule::NonZero))
    }

    fn raw(&self) -> Rings {
        self.rings.iter().map(|ring| ring.iter().map(|p| [p.x, p.y]).collect()).collect()
    }

    fn from_shapes(shapes: Vec<Rings>) -> Self {
        let ring = |ring: Vec<[f64; 2]>| ring.into_iter().map(Point::from).collect();
        Self::new(shapes.into_iter().flatten().map(ring).collect())
    }
}

impl Region<Full> {
    /// The same area on a model of this scale.
    #[must_use]
    pub fn at(&self, scale: Scale) -> Region<Model> {
        Region::new(self.enlarged(scale.ratio()).rings)
    }
}

/// A ring with fewer corners, each left out no further than `tolerance` mm from the side that takes its place
/// (Ramer, Douglas and Peucker).
pub fn simplified(ring: &[Point], tolerance: f64) -> Polyline {
    let far = |from: usize| {
        (0..ring.len()).max_by(|&a, &b| {
            (ring[a] - ring[from]).square_length().total_cmp(&(ring[b] - ring[from]).square_length())
        })
    };
    let Some(start) = far(0) else { return Vec::new() };
    let turned: Vec<Point> = ring[start..].iter().chain(&ring[..=start]).copied().collect();
    let Some(middle) = far(start).map(|k| (k + ring.len() - start) % ring.len()) else { return turned };
    let mut kept = vec![false; turned.len()];
    (kept[0], kept[middle]) = (true, true);
    let mut open = vec![(0, middle), (middle, turned.len() - 1)];
    while let Some((from, to)) = open.pop() {
        let off = |k: usize| distance_to_segment(turned[k], turned[from], turned[to]);
        let furthest = (from + 1..to).max_by(|&a, &b| off(a).total_cmp(&off(b)));
        if let Some(k) = furthest.filter(|&k| off(k) > tolerance) {
            kept[k] = true;
            open.extend([(from, k), (k, to)]);
        }
    }
    turned.iter().zip(&kept).filter_map(|(p, kept)| kept.then_some(*p)).collect()
}

/// Area to the left of a closed walk, mm².
pub fn signed_area(ring: &[Point]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).map(|(a, b)| a.to_vector().cross(b.to_vector())).sum::<f64>() / 2.0
}

/// Shortest way from `p` to the stretch from `a` to `b`, mm.
pub fn distance_to_segment(p: Point, a: Point, b: Point) -> f64 {
    square_distance_to_segment(p, a, b).sqrt()
}

/// Its square, for those who compare many.
pub fn square_distance_to_segment(p: Point, a: Point, b: Point) -> f64 {
    let along = b - a;
    let length2 = along.square_length();
    let t = if length2 > 0.0 { ((p - a).dot(along) / length2).clamp(0.0, 1.0) } else { 0.0 };
    (p - (a + along * t)).square_length()
}

#[cfg(test)]
mod tests {
    use super::super::point;
    use super::*;

    fn square(side: f64) -> Region<Full> {
        Outline::rectangle(point(0.0, 0.0), side, side).flattened(0.1)
    }

    #[test]
    fn booleans_keep_the_area() {
        let (a, b) = (square(2.0), square(2.0).moved(Vector::new(1.0, 1.0)));
        assert!((a.union(&b).area() - 7.0).abs() < 1e-9);
        assert!((a.intersection(&b).area() - 1.0).abs() < 1e-9);
        assert!((a.minus(&b).area() - 3.0).abs() < 1e-9);
        assert_eq!(square(1.0).union(&square(1.0).moved(Vector::new(5.0, 0.0))).parts().len(), 2);
    }

    #[test]
    fn offset_is_a_steiner_area() {
        // Steiner's formula for a convex body: A + P d + π d².
        let grown = square(10.0).offset(1.0);
        let steiner = 100.0 + 40.0 + std::f64::consts::PI;
        assert!((grown.area() - steiner).abs() < 0.01, "{}", grown.area());
        assert!((square(10.0).offset(-1.0).area() - 64.0).abs() < 1e-6);
        assert!(square(1.0).offset(-1.0).is_empty());
        // A hole grows smaller, and the winding it came with does not matter.
        let ring: Region<Full> = Outline::ring(point(0.0, 0.0), 3.0, 5.0).flattened(1e-4);
        let wider = ring.offset(0.5).area();
        assert!(
            (wider - std::f64::consts::PI * (libm::pow(5.5f64, 2.0) - libm::pow(2.5f64, 2.0))).abs() < 0.05,
            "{wider}"
        );
    }

    #[test]
    fn inside_and_outside() {
        let ring: Region<Full> = Outline::ring(point(0.0, 0.0), 3.0, 5.0).flattened(1e-3);
        assert!(
            ring.contains(point(4.0, 0.0))
                && !ring.contains(point(0.0, 0.0))
                && !ring.contains(point(6.0, 0.0))
        );
        assert!((ring.distance_to_edge(point(4.5, 0.0)) - 0.5).abs() < 1e-3);
    }
}
