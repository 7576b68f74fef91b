//! A part with all its markings, from one side; every marking a link.
//!
//! Copies and the several things a marking is made as lie in one place and are
//! drawn once. What is put down first lies lowest. A film that is not seen from
//! this side is left out.

use super::camera::{self, Camera};
use super::laid::Laid;
use super::part::Solid;
use super::scene::{Film, Look, Scene};
use super::sheet::Link;
use crate::flow::{PartId, Piece, Plan, ScaleOutcome};
use crate::outline::Bounds;
use crate::report::tally;

/// The larger picture, and the small ones beside it.
pub const LARGE: Look = Look { width: 360.0, height: 270.0, edge: 16.0, lights: 12 };
pub const SMALL: Look = Look { width: 230.0, height: 172.0, edge: 14.0, lights: 8 };

/// The pieces of one marking (or of one section of it) on a part: they lie in the same place.
pub struct Spot<'a> {
    pub pieces: Vec<&'a Piece>,
}

impl Spot<'_> {
    /// The piece that stands for all.
    pub fn first(&self) -> &Piece {
        self.pieces[0]
    }

    /// `1–4`.
    pub fn numbers(&self) -> String {
        tally::numbers_of(self.pieces.iter().map(|piece| piece.number))
    }
}

/// What lies on a part, lowest first.
pub fn spots<'a>(plan: &Plan, at: &'a ScaleOutcome, part: PartId) -> Vec<Spot<'a>> {
    let mut spots: Vec<Spot<'a>> = Vec::new();
    for piece in at.pieces.iter().filter(|piece| piece.part == part) {
        // Two sides of one marking lie apart though they share its name.
        let same = |spot: &&mut Spot| {
            let first = spot.first();
            let alike = std::sync::Arc::ptr_eq(&first.fit, &piece.fit) || first.make != piece.make;
            first.marking == piece.marking && first.section == piece.section && alike
        };
        match spots.iter_mut().find(same) {
            Some(spot) => spot.pieces.push(piece),
            None => spots.push(Spot { pieces: vec![piece] }),
        }
    }
    spots.sort_by_key(|spot| (plan.markings[spot.first().marking.0].layer, spot.first().number));
    spots
}

/// A corner to see all of them from.
pub fn corner(spots: &[Spot]) -> Camera {
    camera::most(
        &Camera::corners(),
        |camera| {
            spots
                .iter()
                .map(|spot| camera.sees(&spot.first().fit.film, &spot.first().fit.film.triangles))
                .sum()
        },
        1.5,
    )
}

/// The part with what lies on it; `link` tells about a spot by its index. `None` where none of it is seen from here.
pub fn whole(
    plan: &Plan,
    at: &ScaleOutcome,
    part: PartId,
    spots: &[Spot],
    camera: &Camera,
    look: Look,
    title: &str,
    mut link: impl FnMut(usize) -> Link,
) -> Option<String> {
    let ratio = at.scale.ratio();
    let part = &at.parts[part.0];
    let solid = Solid::of(&part.shape).enlarged(ratio);
    let films = spots.iter().flat_map(|spot| &spot.first().fit.film.laid);
    let shown = solid.bounds(camera).union(&Bounds::from_points(films.map(|&p| camera.paper(p))));
    let mut scene = Scene::new(&solid, camera, shown, look);
    let mut films: Vec<(usize, Film)> = Vec::new();
    for (k, spot) in spots.iter().enumerate() {
        let fit = &*spot.first().fit;
        if let Some(laid) = Laid::new(&fit.film) {
            films.push((k, Film::new(laid, fit, &scene)));
        }
    }
    films.retain(|(_, film)| film.is_seen());
    if films.is_empty() {
        return None;
    }
    scene.plastic();
    for (_, film) in &films {
        scene.artwork(plan, film);
    }
    scene.edges(&solid);
    scene.limits(part, &solid, ratio);
    for (k, film) in &films {
        scene.overhang(film);
        let Link { to, id, label } = link(*k);
        let named = if id.is_empty() { None } else { Some(("id", &*id)) };
        let look = [("href", &*to), ("class", "spot"), ("aria-label", &*label)];
        scene.svg.begin("a", &look.into_iter().chain(named).collect::<Vec<_>>());
        scene.reach(film, &spots[*k].numbers());
        scene.svg.end("a");
    }
    if look.width >= LARGE.width {
        for (_, film) in &films {
            scene.past(film);
        }
    }
    Some(scene.finish("group", title))
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;
    use crate::flow::View;

    fn link(k: usize) -> Link {
        Link { to: format!("#to{k}"), id: format!("id{k}"), label: format!("spot {k}") }
    }

    #[test]
    fn every_marking_is_drawn_once_as_a_link_with_its_numbers() {
        let outcome = fixture::outcome();
        let at = &outcome.scales[0];
        let door = spots(&outcome.plan, at, PartId(1));
        assert_eq!(door.len(), 1, "two copies lie in one place");
        let left = Camera::straight(View::Left);
        let text = whole(&outcome.plan, at, PartId(1), &door, &left, SMALL, "door", link).unwrap();
        let read = roxmltree::Document::parse(&text).unwrap();
        let links: Vec<_> = read.descendants().filter(|n| n.has_tag_name("a")).collect();
        assert_eq!(links.len(), 1);
        assert_eq!(links[0].attribute("href"), Some("#to0"));
        assert_eq!(links[0].last_child().and_then(|t| t.text()), Some("3–4"));
        let helmet = spots(&outcome.plan, at, PartId(0));
        assert_eq!(helmet.len(), 2);
    }

    #[test]
    fn a_side_without_film_has_no_picture() {
        let outcome = fixture::outcome();
        let at = &outcome.scales[0];
        let door = spots(&outcome.plan, at, PartId(1));
        let from = |view| {
            let camera = Camera::straight(view);
            whole(&outcome.plan, at, PartId(1), &door, &camera, SMALL, "door", link)
        };
        assert!(from(View::Right).is_none() && from(View::Front).is_none());
        assert!(from(View::Left).is_some());
    }

    #[test]
    fn the_corner_sees_the_door_on_the_left() {
        let outcome = fixture::outcome();
        let door = spots(&outcome.plan, &outcome.scales[0], PartId(1));
        assert_eq!(corner(&door).name, "three-quarter from front left, above");
    }
}
