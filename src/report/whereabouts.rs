//! Where a piece goes, in words and millimetres from what one can find on the part.
//!
//! From the laid film itself: its hold point, its edges, its heading. Measured
//! straight, as a caliper or a rule held along the part does, never over the
//! curve. Left and right are the part's own, told from behind it, looking
//! forward. Left out: the order of work, which [`super::guide`] has.

use super::picture::laid::Laid;
use super::text::plain;
use crate::flow::{Direction, Lay, LimitKind, Line, Part, Piece, Plan, ScaleOutcome, Shape, View};
use crate::outline::number::{said_mm, short};
use crate::outline::point;
use crate::surface::{self, Surface};
use glam::DVec3;
use std::sync::Arc;

/// Nearer than a rule can tell, mm.
const SAME: f64 = 0.05;
/// Less than this is no turn that a hand would see, degrees.
const TURNED: f64 = 3.0;

/// A part to find places on.
pub struct Whereabouts<'a> {
    part: &'a Part,
    /// `None` where no surface can be made; then there is nothing to say.
    surface: Option<Arc<dyn Surface>>,
    /// Model millimetres in a millimetre of the part.
    ratio: f64,
}

impl<'a> Whereabouts<'a> {
    pub fn new(at: &'a ScaleOutcome, part: usize) -> Self {
        let part = &at.parts[part];
        Self { part, surface: surface::build(&part.shape).ok(), ratio: at.scale.ratio() }
    }

    /// `On the left side: 9.4 mm behind the front end, 3 mm below its top; its triangle points aft.` Empty
    /// where the piece is not laid.
    pub fn words(&self, plan: &Plan, piece: &Piece) -> String {
        let Some((surface, laid)) = self.surface.as_deref().zip(Laid::new(&piece.fit.film)) else {
            return String::new();
        };
        let lay = &plan.markings[piece.marking.0].lay;
        if let (Lay::Follow(Line::Ring { .. }), Some(_)) = (lay, &piece.fit.seam) {
            return self.ring(surface, piece);
        }
        let hold = laid.land(point(0.0, 0.0));
        let Some(normal) = hold.normal.try_normalize() else { return String::new() };
        let side = side(normal);
        let mut places = vec![self.along(surface, hold.point, side), self.across(surface, hold.point, side)];
        places.extend(self.limits(hold.point));
        let step = (piece.fit.size.width.to_mm() / 100.0).max(1e-3);
        let ahead = laid.land(point(step, 0.0)).point - hold.point;
        let points =
            heading(ahead, normal).map_or_else(String::new, |way| format!("; its triangle points {way}"));
        format!("{}, its hold point {}{points}.", on(side), places.join(", "))
    }

    /// Round the part: its two edges, and where its ends meet.
    fn ring(&self, surface: &dyn Surface, piece: &Piece) -> String {
        let stations = piece.fit.film.laid.iter().map(|&p| surface.beside(p / self.ratio).station);
        let (least, most) =
            stations.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), s| (l.min(s), m.max(s)));
        let front = surface.stations()[0];
        let away = |station: f64| said_mm(((station - front) * self.ratio).abs());
        let past = if least < front - SAME / self.ratio { " past it" } else { "" };
        format!(
            "All the way round: front edge {}{past}, rear edge {} behind {}; the ends meet {}.",
            away(least),
            away(most),
            self.front(),
            angle(self.part.seam.to_radians().to_degrees())
        )
    }

    /// Along the part, from its front.
    fn along(&self, surface: &dyn Surface, p: DVec3, side: View) -> String {
        if matches!(side, View::Front | View::Rear) {
            let top = surface.bounds()[1].z * self.ratio;
            return format!("{} below its top", said_mm((top - p.z).max(0.0)));
        }
        let way = (surface.beside(p / self.ratio).station - surface.stations()[0]) * self.ratio;
        match way {
            way if way.abs() < SAME => format!("at {}", self.front()),
            way if way < 0.0 => format!("{} ahead of {}", said_mm(-way), self.front()),
            way => format!("{} behind {}", said_mm(way), self.front()),
        }
    }

    /// Across it: from the centre line seen from above, from the top seen from a side.
    fn across(&self, surface: &dyn Surface, p: DVec3, side: View) -> String {
        if matches!(side, View::Left | View::Right) {
            let top = surface.bounds()[1].z * self.ratio;
            let edge = if matches!(self.part.shape, Shape::Flat { .. }) { "upper edge" } else { "top" };
            return format!("{} below its {edge}", said_mm((top - p.z).max(0.0)));
        }
        match p.y {
            y if y.abs() < SAME => "on the centre line".to_owned(),
            y if y < 0.0 => format!("{} left of the centre line", said_mm(-y)),
            y => format!("{} right of the centre line", said_mm(y)),
        }
    }

    /// From the planes among the limits, the nearest two.
    fn limits(&self, p: DVec3) -> Vec<String> {
        let mut ways: Vec<(f64, String)> = Vec::new();
        for limit in &self.part.limits {
            let LimitKind::Plane { axis, offset, .. } = &limit.kind else { continue };
            let (at, less, more) = match axis {
                Direction::Aft => (p.x, "ahead of", "behind"),
                Direction::Right => (p.y, "left of", "right of"),
                Direction::Up => (p.z, "below", "above"),
            };
            let way = at - offset.to_mm() * self.ratio;
            let name = plain(&limit.name);
            let said = match way {
                way if way.abs() < SAME => format!("at {name}"),
                way if way < 0.0 => format!("{} {less} {name}", said_mm(-way)),
                way => format!("{} {more} {name}", said_mm(way)),
            };
            ways.push((way.abs(), said));
        }
        ways.sort_by(|a, b| a.0.total_cmp(&b.0));
        ways.into_iter().take(2).map(|(_, said)| said).collect()
    }

    /// What stands for the front of such a part.
    const fn front(&self) -> &'static str {
        match self.part.shape {
            Shape::Flat { .. } => "its front edge",
            Shape::Cylinder { .. }
            | Shape::Cone { .. }
            | Shape::Revolve { .. }
            | Shape::Loft { .. }
            | Shape::Tube { .. } => "its front end",
            _ => "its foremost point",
        }
    }
}

/// The side that looks this way.
fn side(normal: DVec3) -> View {
    let seen = |view: &View| normal.dot(view.axes()[2]);
    // Top before the others where they are equal, then left: a hair decides nothing.
    let order = [View::Top, View::Left, View::Right, View::Bottom, View::Front, View::Rear];
    order.into_iter().fold(View::Top, |best, view| if seen(&view) > seen(&best) + 1e-6 { view } else { best })
}

const fn on(side: View) -> &'static str {
    match side {
        View::Left => "On the left side",
        View::Right => "On the right side",
        View::Top => "On the top",
        View::Bottom => "Underneath",
        View::Front => "On the front",
        View::Rear => "On the rear",
    }
}

/// `at the bottom`; an angle round the part from the top, to the left.
fn angle(degrees: f64) -> String {
    match short(degrees.rem_euclid(360.0), 1).as_str() {
        "0" | "360" => "at the top".to_owned(),
        "90" => "on the left".to_owned(),
        "180" => "at the bottom".to_owned(),
        "270" => "on the right".to_owned(),
        other => format!("{other}° round from the top to the left"),
    }
}

/// `aft`, or `aft, turned 20° up`: along the surface, which may slope.
fn heading(ahead: DVec3, normal: DVec3) -> Option<String> {
    let along = ahead.reject_from_normalized(normal).try_normalize()?;
    let ways = [
        (DVec3::X, "aft"),
        (DVec3::NEG_X, "forward"),
        (DVec3::NEG_Y, "left"),
        (DVec3::Y, "right"),
        (DVec3::Z, "up"),
        (DVec3::NEG_Z, "down"),
    ];
    let lying = |axis: DVec3| axis.reject_from_normalized(normal).try_normalize();
    // A way that points nearly out of the part is no way along it.
    let flat = ways.into_iter().filter(|(axis, _)| axis.dot(normal).abs() < 0.8);
    let near: Vec<(f64, DVec3, &str)> =
        flat.filter_map(|(axis, word)| lying(axis).map(|way| (along.dot(way), way, word))).collect();
    let best = near.iter().fold(None, |best: Option<&(f64, DVec3, &str)>, each| match best {
        Some(best) if best.0 >= each.0 - 1e-6 => Some(best),
        _ => Some(each),
    })?;
    let turn = libm::acos(best.0.clamp(-1.0, 1.0)).to_degrees();
    if turn < TURNED {
        return Some(best.2.to_owned());
    }
    let rest = along - best.1 * best.0;
    let towards = near.iter().filter(|each| each.1.dot(best.1).abs() < 0.9);
    let to = towards.fold(None, |to: Option<&(f64, DVec3, &str)>, each| match to {
        Some(to) if rest.dot(to.1) >= rest.dot(each.1) - 1e-6 => Some(to),
        _ => Some(each),
    })?;
    Some(format!("{}, turned {}° {}", best.2, short(turn, 0), to.2))
}

#[cfg(test)]
mod tests {
    use super::super::fixture;
    use super::*;

    fn words(piece: usize) -> String {
        let outcome = fixture::outcome();
        let at = &outcome.scales[0];
        let piece = &at.pieces[piece];
        Whereabouts::new(at, piece.part.0).words(&outcome.plan, piece)
    }

    #[test]
    fn a_crown_is_found_from_the_front_the_middle_and_the_limits() {
        // The sphere's radius is 125/48 = 2.6 mm; the visor edge lies 65/48 = 1.4 mm ahead of the crown, the
        // rim 60/48 = 1.3 mm below the middle.
        assert_eq!(
            words(0),
            "On the top, its hold point 2.6 mm behind its foremost point, on the centre line, 1.4 mm behind \
             visor-edge, 3.9 mm above rim; its triangle points aft."
        );
    }

    #[test]
    fn left_and_right_are_told_apart() {
        // The door is 1000 × 600 mm: its middle 10.4 mm behind the front edge and 6.25 mm below the upper one.
        let said = words(2);
        assert!(
            said.starts_with("On the left side, its hold point 10.4 mm behind its front edge, 6.2 mm below"),
            "{said}"
        );
        assert_eq!(side(DVec3::Y), View::Right);
        assert_eq!(side(DVec3::NEG_Y), View::Left);
        assert_eq!(heading(DVec3::NEG_X, DVec3::Y).unwrap(), "forward");
        let up = DVec3::new(0.94, 0.0, 0.342);
        assert_eq!(heading(up, DVec3::NEG_Y).unwrap(), "aft, turned 20° up");
    }

    #[test]
    fn a_band_is_found_by_its_edges() {
        let outcome = fixture::with_band();
        let at = &outcome.scales[0];
        let mut plan = (*outcome.plan).clone();
        plan.markings[2].lay = Lay::Follow(Line::Ring { station: crate::units::Length::mm(180.0) });
        let said = Whereabouts::new(at, 1).words(&plan, &at.pieces[2]);
        // From station 155 to 205 at 1/48.
        assert_eq!(
            said,
            "All the way round: front edge 3.2 mm, rear edge 4.3 mm behind its front end; the ends meet at the bottom."
        );
    }
}
