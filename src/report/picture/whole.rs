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
use crate::flow::{Fit, PartId, Piece, Plan, ScaleOutcome};
use crate::outline::Bounds;
use crate::report::tally;
use crate::units::Model;
use std::sync::Arc;

/// The larger picture, and the small ones beside it.
pub const LARGE: Look = Look { width: 360.0, height: 270.0, edge: 16.0, lights: 8, names: true };
pub const SMALL: Look = Look { width: 230.0, height: 174.0, edge: 14.0, lights: 5, names: false };

/// More numbers than this would hide the part; then only pieces this long, pixels, have theirs.
const MANY: usize = 60;
const READABLE: f64 = 20.0;

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

/// A part at a scale, with what lies on it, lowest first.
pub struct Occupied<'a> {
    pub plan: &'a Plan,
    pub at: &'a ScaleOutcome,
    pub part: PartId,
    pub spots: Vec<Spot<'a>>,
}

/// Whether what does not change from scale to scale is drawn, and under which name of its page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Share<'a> {
    Alone,
    /// Drawn, to be used again.
    First(&'a str),
    /// Used from where it was drawn.
    Again(&'a str),
}

impl<'a> Occupied<'a> {
    /// Every part that something lies on.
    pub fn all(plan: &'a Plan, at: &'a ScaleOutcome) -> Vec<Self> {
        let mut all: Vec<Self> =
            (0..at.parts.len()).map(|k| Self { plan, at, part: PartId(k), spots: Vec::new() }).collect();
        for piece in &at.pieces {
            all[piece.part.0].add(piece);
        }
        all.retain(|each| !each.spots.is_empty());
        for each in &mut all {
            each.spots.sort_by_key(|spot| (plan.markings[spot.first().marking.0].layer, spot.first().number));
        }
        all
    }

    fn add(&mut self, piece: &'a Piece) {
        // Two sides of one marking lie apart though they share its name. Pieces of a marking follow on one
        // another, so the last few spots are enough to look at.
        let same = |spot: &&mut Spot| {
            let first = spot.first();
            let alike = Arc::ptr_eq(&first.fit, &piece.fit) || first.make != piece.make;
            first.marking == piece.marking && first.section == piece.section && alike
        };
        match self.spots.iter_mut().rev().take(64).find(same) {
            Some(spot) => spot.pieces.push(piece),
            None => self.spots.push(Spot { pieces: vec![piece] }),
        }
    }

    /// A corner to see what lies on it from: what runs past a limit, where something does.
    pub fn corner(&self) -> Camera {
        let fits = || self.spots.iter().map(|spot| &*spot.first().fit);
        let mut seen: Vec<(&Fit<Model>, Vec<[u32; 3]>)> =
            fits().map(|fit| (fit, camera::overhanging(fit))).filter(|(_, over)| !over.is_empty()).collect();
        if seen.is_empty() {
            seen = fits().map(|fit| (fit, fit.film.triangles.clone())).collect();
        }
        let sees = |camera: &Camera| seen.iter().map(|(fit, of)| camera.sees(&fit.film, of)).sum();
        camera::most(&Camera::corners(), sees, 1.5)
    }

    /// Whether it looks just as this part does at another scale, but for numbers and lengths.
    pub fn alike(&self, other: &Self) -> bool {
        let (a, b) = (&self.at.parts[self.part.0], &other.at.parts[other.part.0]);
        let ratio = self.at.scale.ratio() / other.at.scale.ratio();
        let near = |a: glam::DVec3, b: glam::DVec3| (a - b * ratio).length() <= 1e-6 * a.length().max(1e-9);
        let same = |(a, b): (&Spot, &Spot)| {
            let (a, b) = (a.first(), b.first());
            let (first, second) = (&a.fit.film, &b.fit.film);
            let laid = || first.laid.iter().zip(&second.laid);
            a.marking == b.marking
                && a.section == b.section
                && a.make == b.make
                && first.laid.len() == second.laid.len()
                && a.fit.past == b.fit.past
                && laid().all(|(&a, &b)| near(a, b))
        };
        a.shape == b.shape
            && a.limits == b.limits
            && self.spots.len() == other.spots.len()
            && self.spots.iter().zip(&other.spots).all(same)
    }

    /// The part from one side; `link` tells about a spot by its index. `None` where none of it is seen from here.
    pub fn picture(
        &self,
        camera: &Camera,
        look: Look,
        title: &str,
        share: Share,
        mut link: impl FnMut(usize) -> Link,
    ) -> Option<String> {
        let ratio = self.at.scale.ratio();
        let part = &self.at.parts[self.part.0];
        let solid = Solid::of(&part.shape).enlarged(ratio);
        let films = self.spots.iter().flat_map(|spot| &spot.first().fit.film.laid);
        let shown = solid.bounds(camera).union(&Bounds::from_points(films.map(|&p| camera.paper(p))));
        let mut scene = Scene::new(&solid, camera, shown, look);
        let mut films: Vec<(usize, Film)> = Vec::new();
        for (k, spot) in self.spots.iter().enumerate() {
            let fit = &*spot.first().fit;
            if let Some(laid) = Laid::new(&fit.film) {
                films.push((k, Film::new(laid, fit, &scene)));
            }
        }
        films.retain(|(_, film)| film.is_seen());
        if films.is_empty() {
            return None;
        }
        if let Share::Again(name) = share {
            scene.svg.again(name);
        } else {
            if let Share::First(name) = share {
                scene.svg.begin("g", &[("id", name)]);
            }
            scene.plastic();
            films.iter().for_each(|(_, film)| scene.artwork(self.plan, film));
            scene.edges(&solid);
            scene.limits(part, &solid, ratio);
            films.iter().for_each(|(_, film)| scene.overhang(film));
            if let Share::First(_) = share {
                scene.svg.end("g");
            }
        }
        for (k, film) in &films {
            let Link { to, id, label } = link(*k);
            let named = if id.is_empty() { None } else { Some(("id", &*id)) };
            let look = [("href", &*to), ("class", "spot"), ("aria-label", &*label)];
            scene.svg.begin("a", &look.into_iter().chain(named).collect::<Vec<_>>());
            let least = if self.spots.len() > MANY { READABLE } else { 0.0 };
            scene.reach(film, &self.spots[*k].numbers(), least);
            scene.svg.end("a");
        }
        if look.names {
            films.iter().for_each(|(_, film)| scene.past(film));
        }
        Some(scene.finish("group", title))
    }
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
        let all = Occupied::all(&outcome.plan, &outcome.scales[0]);
        let [helmet, door] = &all[..] else { panic!("two parts") };
        assert_eq!((helmet.spots.len(), door.spots.len()), (2, 1), "two copies lie in one place");
        let left = Camera::straight(View::Left);
        let text = door.picture(&left, SMALL, "door", Share::Alone, link).unwrap();
        let read = roxmltree::Document::parse(&text).unwrap();
        let links: Vec<_> = read.descendants().filter(|n| n.has_tag_name("a")).collect();
        assert_eq!(links.len(), 1);
        assert_eq!(links[0].attribute("href"), Some("#to0"));
        assert_eq!(links[0].last_child().and_then(|t| t.text()), Some("3–4"));
    }

    #[test]
    fn a_side_without_film_has_no_picture() {
        let outcome = fixture::outcome();
        let door = &Occupied::all(&outcome.plan, &outcome.scales[0])[1];
        let from = |view| door.picture(&Camera::straight(view), SMALL, "door", Share::Alone, link);
        assert!(from(View::Right).is_none() && from(View::Front).is_none());
        assert!(from(View::Left).is_some());
    }

    #[test]
    fn the_corner_sees_the_door_on_the_left_and_what_runs_past() {
        let outcome = fixture::outcome();
        let all = Occupied::all(&outcome.plan, &outcome.scales[0]);
        assert_eq!(all[1].corner().name, "three-quarter from front left, above");
        // The disc runs past the visor edge in front, and its overhang is larger than the stripe's behind.
        assert!(all[0].corner().name.contains("front"), "{}", all[0].corner().name);
    }

    #[test]
    fn one_part_at_two_scales_is_drawn_once() {
        let mut outcome = fixture::three_scales();
        let turned = |outcome: &crate::flow::Outcome| {
            let [a, b] = [0, 1].map(|k| Occupied::all(&outcome.plan, &outcome.scales[k]));
            a[0].alike(&b[0])
        };
        assert!(turned(&outcome));
        outcome.scales[1].parts[0].limits.clear();
        assert!(!turned(&outcome));
        let door = &Occupied::all(&outcome.plan, &outcome.scales[0])[1];
        let left = Camera::straight(View::Left);
        let drawn = |share| door.picture(&left, SMALL, "door", share, link).unwrap();
        assert!(drawn(Share::First("here")).contains("<g id=\"here\">"));
        let again = drawn(Share::Again("here"));
        assert!(again.contains("<use href=\"#here\"/>") && !again.contains("class=\"colour\""));
    }
}
