//! The piece on its part, from one side.
//!
//! The part in lit grey bands with its outline, sharp edges and limits, the film
//! where the solver laid it, lit the same way, its overhang and trim line. Bands
//! of light are painted one over the other, so no seam shows. What is turned away
//! is left out, and what another part of the shape hides.

use super::camera::Camera;
use super::clip;
use super::flat::{self, in_picture};
use super::frame::{self, Frame, INK, PIN, stroke};
use super::laid::{Laid, Landing, Seen, seen_stretches};
use super::limits;
use super::part::{Face, Solid};
use super::sampled::Cover;
use super::svg::{self, Svg};
use crate::flow::{Fit, Piece, Plan, ScaleOutcome};
use crate::outline::{Bounds, Outline, Point, Polyline, Region, Vector, point};
use crate::report::sentence::length;
use crate::units::Model;
use glam::DVec3;

/// The picture's size and the room left at its edge, pixels.
const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 270.0;
const EDGE: f64 = 14.0;
/// Steps of light: few enough to stay small, so many that no edge between them is seen.
const LIGHTS: usize = 12;
/// Less than this is edge on: neither seen nor hidden for sure.
const FRONT: f64 = 1e-6;
/// The grey of primed plastic in full light.
const PLASTIC: [u8; 3] = [214, 216, 214];

/// How much of the part a picture shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    Whole,
    /// The piece with what is round it.
    Close,
}

/// The piece on its part; the picture is titled `title`. `None` where there is no film to show.
pub fn on_part(
    plan: &Plan,
    at: &ScaleOutcome,
    piece: &Piece,
    camera: &Camera,
    extent: Extent,
    title: &str,
) -> Option<String> {
    let laid = Laid::new(&piece.fit.film)?;
    let part = &at.parts[piece.part.0];
    let ratio = at.scale.ratio();
    let solid = Solid::of(&part.shape).enlarged(ratio);
    let cover = Cover::new(&solid, camera.axes);
    let mut scene = Scene {
        svg: Svg::new(WIDTH, HEIGHT),
        frame: framed(&solid, piece, camera, extent),
        bands: bands(&solid, camera, &cover),
        seen: laid.seen(camera, &|p| cover.hides(p)),
        cover,
        camera,
        laid,
        fit: &piece.fit,
    };
    scene.plastic();
    scene.artwork(plan);
    scene.edges(&solid);
    for limit in &part.limits {
        scene.limit(&limit.name, limits::lines(limit, &solid, ratio));
    }
    scene.marks();
    frame::scale_bar(&mut scene.svg, scene.frame, point(EDGE, HEIGHT - 10.0), WIDTH);
    Some(scene.svg.finish("img", title))
}

/// A picture being drawn, from the plastic up.
struct Scene<'a> {
    svg: Svg,
    frame: Frame,
    camera: &'a Camera,
    /// See [`bands`].
    bands: Vec<Region<Model>>,
    laid: Laid<'a>,
    seen: Seen,
    cover: Cover,
    fit: &'a Fit<Model>,
}

impl Scene<'_> {
    fn plastic(&mut self) {
        for (level, band) in self.bands.iter().enumerate() {
            self.svg.path(&svg::rings(band, |p| self.frame.at(p)), &[("fill", &lit(PLASTIC, level))]);
        }
    }

    /// Every colour in the light of the part under it; film past an open end, in the film's mean light.
    fn artwork(&mut self, plan: &Plan) {
        let normals = self.fit.film.normals.iter().filter(|&&normal| self.camera.facing(normal) > 0.0);
        let levels: Vec<usize> = normals.map(|&normal| level(self.camera, normal)).collect();
        let mean = levels.iter().sum::<usize>() / levels.len().max(1);
        let fit = self.fit;
        for area in &fit.artwork.areas {
            let rgb = plan.colours[area.colour.0].rgb;
            let shown = self.shown(&area.outline);
            if shown.is_empty() {
                continue;
            }
            let whole = svg::rings(&shown, |p| self.frame.at(p));
            self.svg.path(&whole, &[("class", "colour"), ("fill", &lit(rgb, mean))]);
            let clean = shown.cleaned();
            for level in (0..LIGHTS).filter(|&level| level != mean) {
                let mut band = clean.intersection(&self.bands[level]);
                if let Some(lighter) = self.bands.get(level + 1) {
                    band = band.minus(lighter);
                }
                let colour = lit(rgb, level);
                // A hair of its own colour round it closes the seams between bands.
                let look = [("fill", &*colour), ("stroke", &*colour), ("stroke-width", "0.4")];
                self.svg.path(&svg::rings(&band, |p| self.frame.at(p)), &look);
            }
        }
        let edge = self.shown(&fit.artwork.silhouette);
        self.svg.path(&svg::rings(&edge, |p| self.frame.at(p)), &stroke(PIN, "0.6"));
    }

    /// The part's outline and sharp edges.
    fn edges(&mut self, solid: &Solid) {
        let all = svg::rings(&self.bands[0], |p| self.frame.at(p));
        self.svg.path(&all, &stroke(INK, "1.2"));
        for edge in &solid.edges {
            let seen = |sides: &[Landing; 2]| {
                sides.iter().any(|side| self.faces(*side)) && !self.cover.hides(sides[0].point)
            };
            let walk = edge.iter().map(|sides| (self.drawn(sides[0]), seen(sides)));
            for stretch in seen_stretches(walk) {
                self.svg.path(&svg::line(&stretch), &stroke(PIN, "0.8"));
            }
        }
    }

    /// A limit as chain lines with its name where they end on the right.
    fn limit(&mut self, name: &str, lines: Vec<Vec<Landing>>) {
        let walk = |line: Vec<Landing>| {
            line.into_iter()
                .map(|l| (self.drawn(l), self.faces(l) && !self.cover.hides(l.point)))
                .collect::<Vec<_>>()
        };
        let walks: Vec<_> = lines.into_iter().map(walk).collect();
        let stretches: Vec<Polyline> =
            walks.into_iter().flat_map(|w| seen_stretches(w.into_iter())).collect();
        for stretch in &stretches {
            let [class, fill, colour, width] = stroke(PIN, "1");
            let dash = ("stroke-dasharray", "9 2.5 2 2.5");
            self.svg.path(&svg::line(stretch), &[class, fill, colour, width, dash]);
        }
        let within = |p: &&Point| p.x > 0.0 && p.x < WIDTH && p.y > 12.0 && p.y < HEIGHT - 20.0;
        let rightmost =
            stretches.iter().flatten().filter(within).copied().reduce(|a, b| if b.x > a.x { b } else { a });
        if let Some(at) = rightmost {
            flat::label(&mut self.svg, at + Vector::new(4.0, -5.0), name, "word small");
        }
    }

    /// Overhang, trim line, hold point.
    fn marks(&mut self) {
        let over = self.laid.shown(&self.fit.overhanging, &self.seen, self.camera);
        let over = in_picture(&over, |p| self.frame.at(p)).cleaned();
        flat::overhang(&mut self.svg, &over);
        for line in &self.fit.trim {
            for stretch in self.laid.shown_line(line, self.camera) {
                let drawn: Vec<Point> = stretch.iter().map(|&p| self.frame.at(p)).collect();
                flat::trim_line(&mut self.svg, &drawn);
            }
        }
        if !over.is_empty() {
            let said = format!("{} past", length(self.fit.overhang.to_mm()));
            let top = point(over.bounds().center().x, over.bounds().min.y - 6.0);
            flat::label(&mut self.svg, top, &said, "word warn-word");
        }
        let origin = self.laid.land(point(0.0, 0.0));
        // A small step along the heading tells which way it runs.
        let ahead = self.laid.land(point(self.fit.size.width.to_mm() / 50.0, 0.0));
        let heading = self.drawn(ahead) - self.drawn(origin);
        let plain = self.camera.facing(origin.normal) > 0.1 && !self.cover.hides(origin.point);
        if plain && heading.length() > 0.0 {
            let at = self.drawn(origin);
            flat::hold(&mut self.svg, at, heading.normalize());
        }
    }

    fn faces(&self, landing: Landing) -> bool {
        self.camera.facing(landing.normal) > FRONT
    }

    fn drawn(&self, landing: Landing) -> Point {
        self.frame.at(self.camera.paper(landing.point))
    }

    fn shown(&self, outline: &Outline<Model>) -> Region<Model> {
        self.laid.shown(&outline.flattened(flat::unseen(self.frame)), &self.seen, self.camera)
    }
}

/// The view of the part or of the piece, with room for the scale bar.
fn framed(solid: &Solid, piece: &Piece, camera: &Camera, extent: Extent) -> Frame {
    let film = Bounds::from_points(piece.fit.film.laid.iter().map(|&p| camera.paper(p)));
    let corners = solid.faces.iter().flat_map(|face| &face.corners).map(|corner| camera.paper(corner.point));
    let whole = Bounds::from_points(corners).union(&film);
    let shown = match extent {
        Extent::Whole => whole,
        Extent::Close => {
            // A third of the piece on every side tells where it is.
            let round = film.width().max(film.height()) * 0.35;
            film.inflate(round, round).intersection_unchecked(&whole)
        }
    };
    let room = Bounds::new(point(EDGE, EDGE), point(WIDTH - EDGE, HEIGHT - EDGE - 14.0));
    Frame::fitting(shown, room)
}

/// The part on the camera's paper, where it is at least so light: the first is all of it, the last the lightest.
fn bands(solid: &Solid, camera: &Camera, cover: &Cover) -> Vec<Region<Model>> {
    let middle = |face: &Face| {
        face.corners.iter().map(|corner| corner.point).sum::<DVec3>() / face.corners.len() as f64
    };
    let hidden: Vec<bool> = solid.faces.iter().map(|face| cover.hides(middle(face))).collect();
    let from = |least: usize| {
        let above = |corner: &Landing| match least {
            0 => camera.facing(corner.normal) - FRONT,
            // Light reaches past the horizon; what is seen does not.
            _ => (camera.light(corner.normal) - least as f64 / LIGHTS as f64)
                .min(camera.facing(corner.normal) - FRONT),
        };
        let paper = |corner: &Landing| (camera.paper(corner.point), above(corner));
        let ring = |face: &Face| clip::positive(&face.corners.iter().map(paper).collect::<Vec<_>>());
        // The outline is that of all of it, whatever lies behind.
        let shown = solid.faces.iter().zip(&hidden).filter(|(_, hidden)| least == 0 || !**hidden);
        let joined = clip::joined(&shown.filter_map(|(face, _)| ring(face)).collect::<Vec<_>>());
        if solid.bulges { joined } else { joined.cleaned() }
    };
    (0..LIGHTS).map(from).collect()
}

/// A normal's step of light.
fn level(camera: &Camera, normal: DVec3) -> usize {
    // A negative float becomes 0.
    ((camera.light(normal) * LIGHTS as f64) as usize).min(LIGHTS - 1)
}

/// A colour in a step of light.
fn lit(rgb: [u8; 3], level: usize) -> String {
    let light = 0.68 + 0.32 * level as f64 / (LIGHTS - 1) as f64;
    let [r, g, b] = rgb.map(|c| (f64::from(c) * light).round() as u8);
    format!("#{r:02x}{g:02x}{b:02x}")
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;
    use crate::flow::View;
    use crate::outline::region::distance_to_segment;

    #[test]
    fn laid_points_are_found_in_the_drawing_within_half_a_pixel() {
        let outcome = fixture::outcome();
        let at = &outcome.scales[0];
        let piece = &at.pieces[0];
        let text =
            on_part(&outcome.plan, at, piece, &Camera::straight(View::Top), Extent::Whole, "disc").unwrap();
        let read = roxmltree::Document::parse(&text).unwrap();
        let colour = read.descendants().find(|n| n.attribute("class") == Some("colour")).unwrap();
        let rings = fixture::read_path(colour.attribute("d").unwrap());
        // From the top paper right is +x and up is +y. The sphere, 250/48 mm, fills the room's height of
        // 270 − 2·14 − 14 = 228 px about its middle, x 180, y 14 + 114.
        let px = 228.0 / (2.0 * fixture::RADIUS / 48.0);
        let drawn = |p: DVec3| point(180.0 + p.x * px, 128.0 - p.y * px);
        let film = &piece.fit.film;
        let edge: Vec<usize> = (0..film.flat.len())
            .filter(|&k| film.flat[k].to_vector().length() > fixture::DISC / 48.0 - 1e-6)
            .collect();
        assert!(edge.len() > 90);
        for k in edge {
            let p = drawn(film.laid[k]);
            let ring = &rings[0];
            let off = (0..ring.len())
                .map(|n| distance_to_segment(p, ring[n], ring[(n + 1) % ring.len()]))
                .fold(f64::INFINITY, f64::min);
            assert!(off < 0.5, "vertex {k} is {off} px from the drawn edge");
        }
    }

    #[test]
    fn limits_are_drawn_and_named_and_the_overhang_says_how_much() {
        let outcome = fixture::outcome();
        let at = &outcome.scales[0];
        let text =
            on_part(&outcome.plan, at, &at.pieces[0], &Camera::corners()[0], Extent::Whole, "disc").unwrap();
        for words in [">visor-edge<", ">rim<", "0.87 mm past", "stroke-dasharray"] {
            assert!(text.contains(words), "{words}");
        }
    }

    #[test]
    fn a_band_round_a_cylinder_is_drawn_from_side_to_side() {
        let outcome = fixture::with_band();
        let at = &outcome.scales[0];
        let left = Camera::straight(View::Left);
        let text = on_part(&outcome.plan, at, &at.pieces[2], &left, Extent::Whole, "band").unwrap();
        let read = roxmltree::Document::parse(&text).unwrap();
        let colour = read.descendants().find(|n| n.attribute("class") == Some("colour")).unwrap();
        // Only the half on the left is seen: 50 mm of 205 along, the full diameter of 100 high. The part with the
        // band past its end, 205 mm, fills the room of 332 px.
        let px = 332.0 / 205.0;
        let bounds = Bounds::from_points(fixture::read_path(colour.attribute("d").unwrap()).concat());
        assert!((bounds.width() - 50.0 * px).abs() < 0.2, "{}", bounds.width() / px);
        assert!((bounds.height() - 100.0 * px).abs() < 1.0, "{}", bounds.height() / px);
    }

    #[test]
    fn turned_away_there_is_no_film() {
        let outcome = fixture::outcome();
        let at = &outcome.scales[0];
        let below = Camera::straight(View::Bottom);
        let text = on_part(&outcome.plan, at, &at.pieces[0], &below, Extent::Whole, "disc").unwrap();
        assert!(!text.contains("class=\"colour\""));
    }
}
