//! The piece on its part, from one side.
//!
//! The part in lit grey bands with its outline, sharp edges and limits, the film
//! where the solver laid it, lit the same way, its overhang and trim line. Bands
//! of light are painted one over the other, so no seam shows. What is turned away
//! is left out; shapes bulge outwards, so nothing else is hidden.

use super::camera::Camera;
use super::flat::{self, in_picture};
use super::frame::{self, Frame, INK, stroke};
use super::laid::{Laid, Landing, Seen, middle, seen_stretches};
use super::limits;
use super::part::Solid;
use super::svg::{self, Svg};
use crate::flow::{Fit, Part, Piece, Plan, ScaleOutcome};
use crate::outline::{Bounds, Point, Polyline, Region, point};
use crate::report::sentence::length;
use crate::units::Model;

/// The picture's size and the room left at its edge, pixels.
const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 270.0;
const EDGE: f64 = 14.0;
/// Steps of light from half to full: bands about as wide as the faces.
const LIGHTS: usize = 12;
/// The grey of primed plastic in full light.
const PLASTIC: [u8; 3] = [214, 216, 214];

/// How much of the part a picture shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    Whole,
    /// The piece with what is round it.
    Close,
}

/// The piece on its part; the picture is titled `title`.
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
    let frame = framed(&solid, piece, camera, extent);
    let bands = bands(&solid, camera);
    let mut svg = Svg::new(WIDTH, HEIGHT);
    for (level, band) in bands.iter().enumerate() {
        svg.path(&svg::rings(band, |p| frame.at(p)), &[("fill", &lit(PLASTIC, level))]);
    }
    let seen = laid.seen(camera);
    artwork(&mut svg, plan, &piece.fit, &laid, &seen, camera, frame, &bands);
    outline(&mut svg, &solid, &bands, camera, frame);
    limit_lines(&mut svg, part, &solid, ratio, camera, frame);
    marks(&mut svg, &piece.fit, &laid, &seen, camera, frame);
    frame::scale_bar(&mut svg, frame, point(EDGE, HEIGHT - 10.0), WIDTH);
    Some(svg.finish("img", title))
}

/// The view of the part or of the piece, with room for the scale bar.
fn framed(solid: &Solid, piece: &Piece, camera: &Camera, extent: Extent) -> Frame {
    let film = Bounds::from_points(piece.fit.film.laid.iter().map(|&p| camera.paper(p)));
    let corners = solid.faces.iter().flat_map(|face| &face.corners).map(|&p| camera.paper(p));
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
fn bands(solid: &Solid, camera: &Camera) -> Vec<Region<Model>> {
    let faces: Vec<(usize, Polyline)> = solid
        .faces
        .iter()
        .filter(|face| camera.facing(face.normal) > 1e-6)
        .map(|face| (level(camera, face.normal), face.corners.iter().map(|&p| camera.paper(p)).collect()))
        .collect();
    (0..LIGHTS)
        .map(|least| {
            let rings: Vec<Polyline> =
                faces.iter().filter(|(level, _)| *level >= least).map(|(_, ring)| ring.clone()).collect();
            if rings.is_empty() { Region::empty() } else { Region::new(rings).cleaned() }
        })
        .collect()
}

fn level(camera: &Camera, normal: glam::DVec3) -> usize {
    (((camera.light(normal) - 0.5) * 2.0 * LIGHTS as f64) as usize).min(LIGHTS - 1)
}

/// A colour in a step of light.
fn lit(rgb: [u8; 3], level: usize) -> String {
    let light = 0.62 + 0.38 * level as f64 / (LIGHTS - 1) as f64;
    let [r, g, b] = rgb.map(|c| (f64::from(c) * light).round() as u8);
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Every colour in the light of the part under it; film past an open end, in the film's mean light.
#[allow(clippy::too_many_arguments, reason = "a picture's state, all of it read")]
fn artwork(
    svg: &mut Svg,
    plan: &Plan,
    fit: &Fit<Model>,
    laid: &Laid,
    seen: &Seen,
    camera: &Camera,
    frame: Frame,
    bands: &[Region<Model>],
) {
    let film = &fit.film;
    let facing: Vec<usize> =
        film.normals.iter().filter(|&&n| camera.facing(n) > 0.0).map(|&n| level(camera, n)).collect();
    let mean = facing.iter().sum::<usize>() / facing.len().max(1);
    for area in &fit.artwork.areas {
        let rgb = plan.colours[area.colour.0].rgb;
        let shown = laid.shown(&area.outline.flattened(flat::unseen(frame)), seen, camera);
        if shown.is_empty() {
            continue;
        }
        let base = lit(rgb, mean);
        svg.path(&svg::rings(&shown, |p| frame.at(p)), &[("class", "colour"), ("fill", &base)]);
        let clean = shown.cleaned();
        for (level, pair) in bands.windows(2).enumerate() {
            let band = clean.intersection(&pair[0]).minus(&pair[1]);
            if level != mean && !band.is_empty() {
                let colour = lit(rgb, level);
                svg.path(
                    &svg::rings(&band, |p| frame.at(p)),
                    &[("fill", &colour), ("stroke", &colour), ("stroke-width", "0.4")],
                );
            }
        }
        if let Some(last) = bands.last().filter(|_| mean != LIGHTS - 1) {
            let colour = lit(rgb, LIGHTS - 1);
            svg.path(&svg::rings(&clean.intersection(last), |p| frame.at(p)), &[("fill", &colour)]);
        }
    }
    let edge = laid.shown(&fit.artwork.silhouette.flattened(flat::unseen(frame)), seen, camera);
    svg.path(&svg::rings(&edge, |p| frame.at(p)), &stroke(INK, "0.6"));
}

/// The part's outline and sharp edges.
fn outline(svg: &mut Svg, solid: &Solid, bands: &[Region<Model>], camera: &Camera, frame: Frame) {
    if let Some(all) = bands.first() {
        svg.path(&svg::rings(all, |p| frame.at(p)), &stroke(INK, "1.2"));
    }
    for edge in &solid.edges {
        let seen = |sides: &[Landing; 2]| sides.iter().any(|side| camera.facing(side.normal) > 1e-6);
        let walk = edge.iter().map(|sides| (frame.at(camera.paper(sides[0].point)), seen(sides)));
        for stretch in seen_stretches(walk) {
            svg.path(&svg::line(&stretch), &stroke(INK, "0.8"));
        }
    }
}

/// Limits as chain lines with their names.
fn limit_lines(svg: &mut Svg, part: &Part, solid: &Solid, ratio: f64, camera: &Camera, frame: Frame) {
    for limit in &part.limits {
        let mut rightmost: Option<Point> = None;
        for line in limits::lines(limit, solid, ratio) {
            let walk = line.iter().map(|l| (frame.at(camera.paper(l.point)), camera.facing(l.normal) > 0.0));
            for stretch in seen_stretches(walk) {
                let [class, fill, colour, width] = stroke(INK, "1");
                let dash = ("stroke-dasharray", "9 2.5 2 2.5");
                svg.path(&svg::line(&stretch), &[class, fill, colour, width, dash]);
                let within = |p: &&Point| p.x > 0.0 && p.x < WIDTH && p.y > 12.0 && p.y < HEIGHT - 20.0;
                for &p in stretch.iter().filter(within) {
                    if rightmost.is_none_or(|best| p.x > best.x) {
                        rightmost = Some(p);
                    }
                }
            }
        }
        if let Some(at) = rightmost {
            flat::label(svg, at + crate::outline::Vector::new(4.0, -5.0), &limit.name, "word small");
        }
    }
}

/// Overhang, trim line, hold point.
fn marks(svg: &mut Svg, fit: &Fit<Model>, laid: &Laid, seen: &Seen, camera: &Camera, frame: Frame) {
    let over = in_picture(&laid.shown(&fit.overhanging, seen, camera), |p| frame.at(p)).cleaned();
    flat::overhang(svg, &over);
    for line in &fit.trim {
        for stretch in laid.shown_line(line, camera) {
            flat::trim_line(svg, &stretch.iter().map(|&p| frame.at(p)).collect::<Vec<_>>());
        }
    }
    if !over.is_empty() {
        let said = format!("{} past", length(fit.overhang.to_mm()));
        flat::label(svg, middle(&over), &said, "word warn-word");
    }
    let origin = laid.land(point(0.0, 0.0));
    if camera.facing(origin.normal) > 0.1 {
        let ahead = laid.land(point(fit.size.width.to_mm() / 50.0, 0.0));
        let (from, to) = (frame.at(camera.paper(origin.point)), frame.at(camera.paper(ahead.point)));
        if (to - from).length() > 0.0 {
            flat::hold(svg, from, (to - from).normalize());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;
    use crate::flow::View;
    use crate::outline::region::distance_to_segment;
    use glam::DVec3;

    /// Every ring of path data made of absolute moves, lines and closes.
    fn read_rings(d: &str) -> Vec<Vec<Point>> {
        d.split('M')
            .skip(1)
            .map(|ring| {
                ring.trim_end_matches('z')
                    .split('L')
                    .map(|pair| {
                        let (x, y) = pair.split_once(' ').unwrap();
                        point(x.parse().unwrap(), y.parse().unwrap())
                    })
                    .collect()
            })
            .collect()
    }

    #[test]
    fn laid_points_are_found_in_the_drawing_within_half_a_pixel() {
        let outcome = fixture::outcome();
        let at = &outcome.scales[0];
        let piece = &at.pieces[0];
        let text =
            on_part(&outcome.plan, at, piece, &Camera::straight(View::Top), Extent::Whole, "disc").unwrap();
        let read = roxmltree::Document::parse(&text).unwrap();
        let colour = read.descendants().find(|n| n.attribute("class") == Some("colour")).unwrap();
        let rings = read_rings(colour.attribute("d").unwrap());
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
    fn turned_away_there_is_no_film() {
        let outcome = fixture::outcome();
        let at = &outcome.scales[0];
        let below = Camera::straight(View::Bottom);
        let text = on_part(&outcome.plan, at, &at.pieces[0], &below, Extent::Whole, "disc").unwrap();
        assert!(!text.contains("class=\"colour\""));
    }
}
