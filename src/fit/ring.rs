//! Artwork bent to go round a part: a ring keeps its geodesic curvature when it is laid flat.
//!
//! The straight drawing runs along s (round the part, towards greater angles:
//! from the top to the left) and t (across, towards the rear). Flat, the ring
//! becomes an arc of the same geodesic curvature, the tangent cone's
//! development known to sheet-metal shops: lines along become arcs, lines
//! across stay lines.

use crate::flow::{Area, Artwork};
use crate::outline::{Contour, Outline, Point, Region, Segment, Vector, point};
use crate::surface::Ring;
use crate::units::Full;
use std::f64::consts::TAU;

/// Repeats are put side by side on a grid of this many mm: nothing at full size.
const GRID: f64 = 1e-7;

/// The flat form of a ring.
#[derive(Clone, Copy, Debug)]
pub struct Bend {
    /// Curvature of the flat centreline, 1/mm; positive bends to the left, towards greater t.
    pub curvature: f64,
}

impl Bend {
    pub fn of(ring: &Ring) -> Self {
        // The report's sign says "towards the front", which lies to the right of the heading.
        Self { curvature: -ring.geodesic_curvature }
    }

    /// Where a point of the straight drawing lies on the flat piece.
    pub fn flat(&self, p: Point) -> Point {
        if self.curvature == 0.0 {
            return p;
        }
        // (1 − cos) by the half angle, so that a hardly bent ring stays exact.
        let (sin, cos) = libm::sincos(p.x * self.curvature);
        let half = libm::sin(p.x * self.curvature / 2.0);
        point((1.0 / self.curvature - p.y) * sin, 2.0 * half * half / self.curvature + p.y * cos)
    }

    /// The greatest half width that does not fold over the bend's centre.
    pub fn room(&self) -> f64 {
        1.0 / self.curvature.abs()
    }

    /// The outline bent; slanting lines and curves become short lines within `tolerance` mm.
    pub fn outline(&self, straight: &Outline<Full>, tolerance: f64) -> Outline<Full> {
        if self.curvature == 0.0 {
            return straight.clone();
        }
        Outline::new(straight.contours.iter().map(|contour| self.contour(contour, tolerance)).collect())
    }

    fn contour(&self, straight: &Contour, tolerance: f64) -> Contour {
        let centre = point(0.0, 1.0 / self.curvature);
        let corners = straight.flattened(tolerance);
        let mut bent = Contour { start: self.flat(corners[0]), segments: Vec::new() };
        for k in 0..corners.len() {
            let (a, b) = (corners[k], corners[(k + 1) % corners.len()]);
            let level = (a.y - b.y).abs() <= 1e-9 * (a.x - b.x).abs();
            let upright = (a.x - b.x).abs() <= 1e-9 * (a.y - b.y).abs();
            if level {
                bent.segments.push(Segment::Arc {
                    centre,
                    sweep: (b.x - a.x) * self.curvature,
                    to: self.flat(b),
                });
            } else if upright {
                bent.segments.push(Segment::Line { to: self.flat(b) });
            } else {
                // A line over the angle φ sags by about r φ²/8 once it is bent.
                let angle = ((b.x - a.x) * self.curvature).abs();
                let reach = (1.0 / self.curvature - a.y).abs().max((1.0 / self.curvature - b.y).abs());
                let count = (angle * (reach / (8.0 * tolerance)).sqrt()).ceil().clamp(1.0, 4000.0);
                let steps = (1..=count as usize).map(|n| self.flat(a.lerp(b, n as f64 / count)));
                bent.segments.extend(steps.map(|to| Segment::Line { to }));
            }
        }
        bent
    }
}

/// A straight drawing, as long as the ring asks for.
pub struct Wrap {
    pub artwork: Artwork<Full>,
    /// Along the ring, mm.
    pub length: f64,
    pub width: f64,
    /// How often the pattern goes into the ring, for patterns without ends.
    pub repeats: Option<f64>,
    /// Gap at the centreline where the ends meet, mm; negative where they overlap.
    pub gap: f64,
}

/// Cuts artwork to go round a ring; patterns without ends go all the way and `overlap` mm beyond.
pub fn wrap(artwork: &Artwork<Full>, ring: &Ring, overlap: f64) -> Wrap {
    let round = TAU * ring.radius;
    let Some(repeat) = artwork.repeat else {
        let bounds = artwork.silhouette.bounds();
        let (length, width) = (bounds.width(), bounds.height());
        return Wrap { artwork: artwork.clone(), length, width, repeats: None, gap: round - length };
    };
    let (period, width) = (repeat.period.to_mm(), artwork.silhouette.bounds().height());
    let length = round + overlap;
    let whole = Outline::<Full>::rectangle(point(0.0, 0.0), length, width);
    let window: Region<Full> = whole.flattened(1.0);
    let count = (length / period).ceil() as usize;
    let tiled = |area: &Area<Full>| {
        // Patterns have straight edges only, so flattening them loses nothing.
        let one: Region<Full> = area.outline.flattened(1e-3 * period);
        let step = |k: usize| Vector::new((k as f64 + 0.5) * period - length / 2.0, 0.0);
        let rings = (0..count).flat_map(|k| one.moved(step(k)).rings);
        // Neighbours only melt into one where their borders agree to the last bit.
        let snapped = rings.map(|ring| ring.into_iter().map(|p| (p / GRID).round() * GRID).collect());
        let outline = Region::new(snapped.collect()).intersection(&window).to_outline();
        Area { colour: area.colour, outline }
    };
    Wrap {
        artwork: Artwork {
            areas: artwork.areas.iter().map(tiled).collect(),
            silhouette: whole,
            repeat: artwork.repeat,
        },
        length,
        width,
        repeats: repeat.shows.then_some(round / period),
        gap: -overlap,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw;
    use crate::flow::{ColourId, Draw};
    use crate::units::Length;

    /// Frustum ducts Ø5 and Ø8, 4 apart (ceemrr.com worked example): the wall between
    /// them, as a band at mid height, unrolls to R 7.12 and 11.39 over 126.4°.
    #[test]
    fn a_band_over_a_whole_frustum_is_its_sheet_metal_development() {
        let cone = crate::surface::Cone::new(2.5, 4.0, 4.0);
        let ring = crate::surface::Surface::ring(&cone, 2.0).unwrap();
        let slant = (4.0f64 * 4.0 + 1.5 * 1.5).sqrt();
        let band = draw::draw(&Draw::Band { widths: vec![Length::mm(slant)], colours: vec![ColourId(0)] });
        let wrapped = wrap(&band, &ring, 0.0);
        let bent = Bend::of(&ring).outline(&wrapped.artwork.areas[0].outline, 1e-4);
        assert_eq!(bent.contours.len(), 1, "repeats melt into one");
        let mut arcs: Vec<(f64, f64)> = bent.contours[0]
            .stretches()
            .filter_map(|(from, segment)| match segment {
                Segment::Arc { centre, sweep, .. } => {
                    Some(((from - centre).length(), sweep.abs().to_degrees()))
                }
                _ => None,
            })
            .collect();
        arcs.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert_eq!(arcs.len(), 2, "one contour of two arcs and two edges");
        assert!((arcs[0].0 - 7.120003).abs() < 1e-6 && (arcs[1].0 - 11.392005).abs() < 1e-6, "{arcs:?}");
        assert!(arcs.iter().all(|arc| (arc.1 - 126.404439).abs() < 1e-6), "{arcs:?}");
    }

    /// Cone 5 across, slant 12: circumference 15.7080 (Longfield, *Sheet Metal Drafting*).
    #[test]
    fn the_edge_of_a_flat_band_is_as_long_as_its_ring() {
        let cone = crate::surface::Cone::new(2.5, 1e-3, 12.0);
        let ring = crate::surface::Surface::ring(&cone, 0.0).unwrap();
        let band = draw::draw(&Draw::Band { widths: vec![Length::mm(0.1)], colours: vec![ColourId(0)] });
        let wrapped = wrap(&band, &ring, 0.0);
        assert!((wrapped.length - 15.7080).abs() < 5e-5);
        let centreline: f64 = (0..10_000)
            .map(|k| {
                let at = |k: f64| Bend::of(&ring).flat(point(wrapped.length * (k / 10_000.0 - 0.5), 0.0));
                (at(f64::from(k) + 1.0) - at(f64::from(k))).length()
            })
            .sum();
        assert!((centreline - wrapped.length).abs() < 1e-6);
    }

    #[test]
    fn a_pattern_starts_whole_at_the_seam_and_breaks_where_it_ends() {
        let ring = Ring { station: 0.0, radius: 10.5 / TAU, geodesic_curvature: 0.0 };
        let checks = draw::draw(&Draw::Checks {
            square: Length::mm(1.0),
            rows: 1,
            columns: None,
            colours: [ColourId(0), ColourId(1)],
        });
        let wrapped = wrap(&checks, &ring, 0.0);
        assert_eq!(wrapped.repeats, Some(5.25));
        let area = |k: usize| wrapped.artwork.areas[k].outline.area();
        assert!((area(0) - 5.5).abs() < 1e-6 && (area(1) - 5.0).abs() < 1e-6, "{} {}", area(0), area(1));
    }
}
