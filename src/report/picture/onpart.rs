//! One piece on its part, close up.
//!
//! The scene of the part with this one film, its overhang, trim line and hold
//! point. Left out: the other pieces of the part, which [`super::whole`] shows.

use super::camera::Camera;
use super::laid::Laid;
use super::part::Solid;
use super::scene::{Film, Look, Scene};
use crate::flow::{Piece, Plan, ScaleOutcome};
use crate::outline::{Bounds, longer_side};

/// How the picture is drawn: size and room at its edge in pixels, steps of light.
const LOOK: Look = Look { width: 360.0, height: 270.0, edge: 14.0, lights: 9, names: true };

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
    let mut scene = Scene::new(&solid, camera, shown(&solid, piece, camera, extent), LOOK);
    scene.plastic();
    let film = Film::new(laid, &piece.fit, &scene);
    scene.artwork(plan, &film);
    scene.edge(&film);
    scene.edges(&solid);
    scene.limits(part, &solid, ratio);
    scene.overhang(&film);
    scene.past(&film);
    scene.hold(&film);
    Some(scene.finish("img", title))
}

/// How much larger the close view is drawn than the whole part.
pub fn gain(at: &ScaleOutcome, piece: &Piece, camera: &Camera) -> f64 {
    let solid = Solid::of(&at.parts[piece.part.0].shape).enlarged(at.scale.ratio());
    let scale = |extent| LOOK.frame(shown(&solid, piece, camera, extent)).scale;
    scale(Extent::Close) / scale(Extent::Whole)
}

/// The view of the part or of the piece, on the camera's paper.
fn shown(solid: &Solid, piece: &Piece, camera: &Camera, extent: Extent) -> Bounds {
    let film = Bounds::from_points(piece.fit.film.laid.iter().map(|&p| camera.paper(p)));
    let whole = solid.bounds(camera).union(&film);
    match extent {
        Extent::Whole => whole,
        Extent::Close => {
            // A third of the piece on every side tells where it is.
            let round = longer_side(&film) * 0.35;
            film.inflate(round, round).intersection_unchecked(&whole)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;
    use crate::flow::View;
    use crate::outline::point;
    use crate::outline::region::distance_to_segment;
    use glam::DVec3;

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
    fn close_up_the_plastic_runs_to_the_picture_s_edge_and_no_further() {
        let outcome = fixture::outcome();
        let at = &outcome.scales[0];
        let left = Camera::straight(View::Left);
        let text = on_part(&outcome.plan, at, &at.pieces[2], &left, Extent::Close, "door").unwrap();
        let read = roxmltree::Document::parse(&text).unwrap();
        let plastic: Vec<_> = read.descendants().filter(|n| n.has_tag_name("path")).take(1).collect();
        let bounds = Bounds::from_points(fixture::read_path(plastic[0].attribute("d").unwrap()).concat());
        // A plate has one light: one area, as far as the picture's edge and 4 px more. The door is all of it in
        // height, 270 − 2·14 − 14 px.
        assert_eq!(bounds, Bounds::new(point(-4.0, 14.0), point(364.0, 242.0)));
        assert!(plastic[0].attribute("fill").is_some());
        assert_eq!(text.matches("<path fill=").count(), 1);
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
