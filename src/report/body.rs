//! A part with its films in space, for a GLB file and for the page's own viewer.
//!
//! The part's faces are those of the pictures; films are the solver's: coloured
//! areas are cut along its triangles (or, where few bytes count, along a coarse
//! grid) and carried over by [`Laid`]. lyon cuts what is left of an area in a
//! cell into triangles. Left out: bytes, which `write` and the page make.

use super::picture::clip::half;
use super::picture::laid::Laid;
use super::picture::part::Solid;
use super::picture::scene::PLASTIC;
use super::picture::strain::{at_corners, field, steps};
use super::picture::whole::{Occupied, Spot};
use crate::flow::{self, Body, Film3, Plan, PointStrain, Skin};
use crate::outline::region::signed_area;
use crate::outline::{Bounds, Point, Polyline, Region, Vector, longer_side, point};
use crate::units::Model;
use lyon::path::Path;
use lyon::tessellation::{BuffersBuilder, FillOptions, FillRule, FillTessellator, FillVertex, VertexBuffers};
use std::collections::BTreeMap;

/// Outlines miss their curves by no more than this share of the piece.
const UNSEEN: f64 = 1.0 / 600.0;
/// Or, seen with its part, by this share of that: two pixels where it is brought as near as it goes.
const SPECK: f64 = 1.0 / 3000.0;
/// A coarse cell turns by no more than this, radians: its chord is 0.3 % of the radius off.
const TURN: f64 = 0.16;
/// And there are no more of them along a side.
const MOST_CELLS: usize = 24;

/// How finely films are cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fineness {
    /// Along the solver's own triangles.
    AsSolved,
    /// Along few cells, to be looked at.
    Coarse,
}

/// A part with all that lies on it.
pub fn body(of: &Occupied, fineness: Fineness) -> Body {
    let part = of.part.0;
    let plastic = plastic(&Solid::of(&of.at.parts[part].shape).enlarged(of.at.scale.ratio()));
    // Films are looked at with the part that they lie on: small ones need no more of their outline.
    let size = plastic.points.iter().map(|p| p.abs().max_element()).fold(0.0, f64::max);
    let least = if fineness == Fineness::Coarse { size * SPECK } else { 0.0 };
    let films = of.spots.iter().filter_map(|spot| laid(of.plan, spot, fineness, least)).collect();
    Body { name: of.plan.parts[part].name.clone(), plastic, films }
}

fn plastic(solid: &Solid) -> Skin {
    let mut skin = Skin { rgb: PLASTIC, ..Skin::default() };
    let mut known: BTreeMap<[i64; 6], u32> = BTreeMap::new();
    let size = solid.faces.iter().flat_map(|face| &face.corners).map(|c| c.point.abs().max_element());
    // Corners nearer than a millionth of the part are one.
    let fine = 1e6 / size.fold(1e-9, f64::max);
    for face in &solid.faces {
        let corner = |k: usize| {
            let at = face.corners[k];
            let normal = at.normal.try_normalize().unwrap_or(face.normal);
            let [p, n] = [at.point * fine, normal * 1e4].map(|v| v.round().to_array().map(|v| v as i64));
            let key = [p[0], p[1], p[2], n[0], n[1], n[2]];
            (key, at.point, normal)
        };
        let corners: Vec<u32> = (0..face.corners.len())
            .map(|k| {
                let (key, point, normal) = corner(k);
                *known.entry(key).or_insert_with(|| {
                    skin.points.push(point);
                    skin.normals.push(normal);
                    skin.points.len() as u32 - 1
                })
            })
            .collect();
        skin.triangles.extend((2..corners.len()).map(|k| [corners[0], corners[k - 1], corners[k]]));
    }
    skin
}

/// One spot's film, its outline off by `least` or more; `None` where it has no area.
fn laid(plan: &Plan, spot: &Spot, fineness: Fineness, least: f64) -> Option<flow::LaidFilm> {
    let piece = spot.first();
    let film = &piece.fit.film;
    let laid = Laid::new(film)?;
    let steps = steps(plan.films.of(piece.make));
    let known = [
        at_corners(film, |[most, _]| most - 1.0),
        at_corners(film, |[_, least]| least - 1.0),
        field(film, steps),
    ];
    let cells = match fineness {
        Fineness::AsSolved => film.triangles.iter().map(|t| t.map(|k| film.flat[k as usize])).collect(),
        Fineness::Coarse => coarse(film),
    };
    let box_ = piece.fit.artwork.silhouette.bounds();
    let unseen = longer_side(&box_).max(1e-6) * UNSEEN;
    let unseen = unseen.max(least);
    let skin = |area: &flow::Area<Model>| {
        let (points, triangles) = cut(&area.outline.flattened(unseen).cleaned(), &cells, unseen);
        let landed: Vec<_> = points.iter().map(|&p| laid.land(p)).collect();
        let strain = |&p: &Point| {
            let [stretch, squeeze, step] = known.each_ref().map(|of| laid.mix(p, of));
            PointStrain { stretch, squeeze, step }
        };
        Skin {
            rgb: plan.colours[area.colour.0].rgb,
            points: landed.iter().map(|at| at.point).collect(),
            normals: landed.iter().map(|at| at.normal.normalize_or(glam::DVec3::Z)).collect(),
            triangles,
            strains: points.iter().map(strain).collect(),
        }
    };
    let name = &plan.markings[piece.marking.0].name;
    let skins = piece.fit.artwork.areas.iter().map(skin).filter(|skin| !skin.triangles.is_empty());
    Some(flow::LaidFilm { name: format!("{} {name}", spot.numbers()), skins: skins.collect() })
}

/// A grid over the flat film, finer where the film turns more.
fn coarse(film: &Film3) -> Vec<[Point; 3]> {
    let bounds = Bounds::from_points(film.flat.iter().copied());
    // Turns and ways along x and y, summed over the triangles' sides.
    let mut sums = [(0.0, 0.0); 2];
    for triangle in &film.triangles {
        for k in 0..3 {
            let [a, b] = [triangle[k] as usize, triangle[(k + 1) % 3] as usize];
            let way = film.flat[b] - film.flat[a];
            let turn = libm::acos(film.normals[a].dot(film.normals[b]).clamp(-1.0, 1.0));
            let sum = &mut sums[usize::from(way.y.abs() > way.x.abs())];
            *sum = (sum.0 + turn, sum.1 + way.length());
        }
    }
    let count = |(turn, way): (f64, f64), size: f64| {
        ((turn / f64::max(way, 1e-12) * size / TURN).ceil() as usize).clamp(1, MOST_CELLS)
    };
    let (columns, rows) = (count(sums[0], bounds.width()), count(sums[1], bounds.height()));
    let at = |i: usize, j: usize| {
        point(
            bounds.min.x + bounds.width() * i as f64 / columns as f64,
            bounds.min.y + bounds.height() * j as f64 / rows as f64,
        )
    };
    let cell = |i: usize, j: usize| {
        let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
        [[a, b, c], [a, c, d]]
    };
    (0..rows).flat_map(|j| (0..columns).flat_map(move |i| cell(i, j))).collect()
}

/// A region cut along triangles, as points and triangles of its own; points nearer than `near` are one.
fn cut(region: &Region<Model>, cells: &[[Point; 3]], near: f64) -> (Vec<Point>, Vec<[u32; 3]>) {
    let (mut points, mut triangles) = (Vec::new(), Vec::new());
    let mut known: BTreeMap<[i64; 2], u32> = BTreeMap::new();
    let rings: Vec<(Bounds, &Polyline)> = region.rings.iter().map(|ring| (around(ring), ring)).collect();
    let mut tessellator = FillTessellator::new();
    for &cell in cells {
        let cell = if signed_area(&cell) < 0.0 { [cell[0], cell[2], cell[1]] } else { cell };
        let bounds = around(&cell);
        let within: Vec<Polyline> = rings
            .iter()
            .filter(|(box_, _)| box_.intersects(&bounds))
            .map(|(_, ring)| clipped(ring, cell))
            .filter(|ring| ring.len() > 2)
            .collect();
        let area: f64 = within.iter().map(|ring| signed_area(ring)).sum();
        if area <= signed_area(&cell) * 1e-6 {
            continue;
        }
        for [a, b, c] in filled(&mut tessellator, &within, bounds) {
            let mut index = |p: Point| {
                let key = [p.x, p.y].map(|v| (v / (near * 0.05)).round() as i64);
                *known.entry(key).or_insert_with(|| {
                    points.push(p);
                    points.len() as u32 - 1
                })
            };
            let corners = [index(a), index(b), index(c)];
            if corners[0] != corners[1] && corners[1] != corners[2] && corners[2] != corners[0] {
                triangles.push(corners);
            }
        }
    }
    (points, triangles)
}

fn around(points: &[Point]) -> Bounds {
    Bounds::from_points(points.iter().copied())
}

/// What of a ring lies in a triangle, edge after edge. Where the ring comes in several times its bits hang together
/// along the triangle's edge, which encloses nothing.
fn clipped(ring: &[Point], cell: [Point; 3]) -> Polyline {
    (0..3).fold(ring.to_vec(), |ring, k| {
        let (from, to) = (cell[k], cell[(k + 1) % 3]);
        half(&ring, |p| (to - from).cross(p - from))
    })
}

/// Rings of a cell as counter-clockwise triangles. lyon works in single precision, so the cell is taken to
/// the unit square and back.
fn filled(tessellator: &mut FillTessellator, rings: &[Polyline], bounds: Bounds) -> Vec<[Point; 3]> {
    let size = longer_side(&bounds).max(1e-12);
    let mut path = Path::builder();
    for ring in rings {
        let at = |p: Point| {
            let at = (p - bounds.min) / size;
            lyon::math::point(at.x as f32, at.y as f32)
        };
        path.begin(at(ring[0]));
        ring[1..].iter().for_each(|&p| {
            path.line_to(at(p));
        });
        path.end(true);
    }
    let mut mesh: VertexBuffers<Point, u32> = VertexBuffers::new();
    let back = |vertex: FillVertex| {
        let at = vertex.position();
        bounds.min + Vector::new(f64::from(at.x), f64::from(at.y)) * size
    };
    let options = FillOptions::default().with_fill_rule(FillRule::NonZero).with_tolerance(1e-4);
    // Refused are only positions that are not numbers; such a cell has nothing to show.
    let mut built = BuffersBuilder::new(&mut mesh, back);
    if tessellator.tessellate_path(&path.build(), &options, &mut built).is_err() {
        return Vec::new();
    }
    let corner = |k: u32| mesh.vertices[k as usize];
    let turned = |t: &[u32]| {
        let [a, b, c] = [corner(t[0]), corner(t[1]), corner(t[2])];
        if (b - a).cross(c - a) < 0.0 { [a, c, b] } else { [a, b, c] }
    };
    mesh.indices.chunks_exact(3).map(turned).collect()
}

#[cfg(test)]
mod tests {
    use super::super::fixture;
    use super::*;

    fn area(skin: &Skin) -> f64 {
        let corner = |k: u32| skin.points[k as usize];
        let one =
            |t: &[u32; 3]| (corner(t[1]) - corner(t[0])).cross(corner(t[2]) - corner(t[0])).length() / 2.0;
        skin.triangles.iter().map(one).sum()
    }

    #[test]
    fn a_film_has_the_area_of_the_cap_it_covers() {
        // A cap of polar angle c on a sphere of radius R: 2π R² (1 − cos c).
        let outcome = fixture::outcome();
        let radius = fixture::RADIUS / 48.0;
        let angle = fixture::DISC / fixture::RADIUS;
        let cap = std::f64::consts::TAU * radius * radius * (1.0 - libm::cos(angle));
        for (fineness, within) in [(Fineness::AsSolved, 0.005), (Fineness::Coarse, 0.02)] {
            let body = body(&Occupied::all(&outcome.plan, &outcome.scales[0])[0], fineness);
            let disc = &body.films[0].skins[0];
            assert!((area(disc) / cap - 1.0).abs() < within, "{fineness:?}: {}", area(disc) / cap);
            for (p, n) in disc.points.iter().zip(&disc.normals) {
                assert!((p.length() / radius - 1.0).abs() < 0.01 && n.dot(*p) > 0.99 * p.length());
            }
        }
    }

    #[test]
    fn holes_stay_holes_and_strain_comes_along() {
        // The fixture's roundel has its rings over one another: areas of 200², 120² and 40² π.
        let outcome = fixture::outcome();
        let all = Occupied::all(&outcome.plan, &outcome.scales[0]);
        let door = body(&all[1], Fineness::Coarse);
        assert_eq!(door.films.len(), 1);
        let ring: Region<Model> = crate::outline::Outline::ring(point(0.0, 0.0), 1.0, 2.0).flattened(0.001);
        let cells = [
            [point(-3.0, -3.0), point(3.0, -3.0), point(3.0, 3.0)],
            [point(-3.0, -3.0), point(3.0, 3.0), point(-3.0, 3.0)],
        ];
        let (points, triangles) = cut(&ring, &cells, 0.001);
        let corner = |k: u32| points[k as usize];
        let sum: f64 = triangles
            .iter()
            .map(|t| (corner(t[1]) - corner(t[0])).cross(corner(t[2]) - corner(t[0])) / 2.0)
            .sum();
        assert!((sum / (3.0 * std::f64::consts::PI) - 1.0).abs() < 2e-3, "{sum}");
        let helmet = body(&all[0], Fineness::AsSolved);
        let worst = helmet.films[0].skins[0].strains.iter().map(|at| at.squeeze).fold(0.0, f64::min);
        // sin(0.88)/0.88 − 1 = −12.4 % at the rim, less towards the middle of the outermost triangles.
        assert!((-0.125..-0.115).contains(&worst), "{worst}");
    }

    #[test]
    fn the_part_has_every_corner_once() {
        let outcome = fixture::outcome();
        let body = body(&Occupied::all(&outcome.plan, &outcome.scales[0])[0], Fineness::Coarse);
        // 40 spokes by 19 rings and two poles.
        assert_eq!(body.plastic.points.len(), 40 * 19 + 2);
    }
}
