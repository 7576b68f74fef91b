//! Where the hold point goes on the part, and which way the piece heads.

use super::fence;
use super::moulded::Moulded;
use crate::flow::{Datum, End, Spot, View};
use crate::outline::{Point, point};
use crate::surface::geodesic::walk;
use crate::surface::{Foot, Start, Surface};
use glam::DVec3;

/// Why a piece could not be put down, and what would help.
#[derive(Debug, Clone, PartialEq)]
pub struct Refusal {
    pub text: String,
    pub help: String,
}

impl Refusal {
    pub fn new(text: impl Into<String>, help: impl Into<String>) -> Self {
        Self { text: text.into(), help: help.into() }
    }
}

/// Puts the hold point down where the spec says.
pub fn start(moulded: &Moulded, spot: &Spot) -> Result<Start, Refusal> {
    match *spot {
        Spot::Seen { view, across, up, turn } => {
            let [across, up] = moulded.on_paper(view, across, up);
            let foot = look(moulded.surface.as_ref(), view, across, up).ok_or_else(|| {
                let [least, most] = moulded.surface.bounds().map(|corner| paper(view, corner));
                let range = |a: f64, b: f64| format!("{:.0} to {:.0} mm", a.min(b), a.max(b));
                Refusal::new(
                    format!("nothing of the part is seen from the {} at this place", view.word()),
                    format!(
                        "the part reaches {} across and {} up in this view; move `at` onto it",
                        range(least[0], most[0]),
                        range(least[1], most[1])
                    ),
                )
            })?;
            heading_in_view(foot, view, turn.to_radians())
        }
        Spot::Station { station, around, turn } => {
            let surface = moulded.surface.as_ref();
            let station = moulded.station(station);
            let foot = surface.at_station(station, around.to_radians()).ok_or_else(|| {
                let [least, most] = surface.stations();
                Refusal::new(
                    format!("the part has no surface at station {station:.0} mm"),
                    format!("stations of this part run from {least:.0} to {most:.0} mm"),
                )
            })?;
            Ok(tangent(foot, surface.spine(station).along)?.turned(turn.to_radians()))
        }
        Spot::From { datum, view, offset, turn } => {
            let edge = datum_start(moulded, datum, view, turn.to_radians())?;
            Ok(walk(moulded.surface.as_ref(), &edge, offset.to_mm() * moulded.ratio))
        }
    }
}

/// The way over the part from one line to another along the middle of the top view, mm; `None` where it never gets there.
pub fn tape_between(moulded: &Moulded, from: Datum, to: Datum) -> Option<f64> {
    let size = moulded.surface.size();
    [0.0, std::f64::consts::PI].into_iter().find_map(|turn| {
        let start = datum_start(moulded, from, View::Top, turn).ok()?;
        let beyond =
            |length: f64| fence::kept(moulded, to, walk(moulded.surface.as_ref(), &start, length).foot);
        if beyond(0.0) <= 0.0 {
            return None;
        }
        // Step on until the far limit is passed, then halve.
        let step = size / 64.0;
        let past = (1..256).map(|k| step * f64::from(k)).find(|&length| beyond(length) <= 0.0)?;
        let (mut low, mut high) = (past - step, past);
        for _ in 0..48 {
            let middle = (low + high) / 2.0;
            if beyond(middle) > 0.0 { low = middle } else { high = middle }
        }
        Some((low + high) / 2.0)
    })
}

/// Where the point of a conical part lies on a flat piece put down at `start`; `None` on parts without one.
///
/// A ring on a cone is bent, once flat, about the cone's point.
pub fn point_under(surface: &dyn Surface, start: &Start) -> Option<Point> {
    surface.development()?;
    let bend = surface.ring(start.foot.point.x)?.geodesic_curvature;
    let aft = tangent(start.foot, DVec3::X).ok().filter(|_| bend != 0.0)?;
    let away = aft.heading * (-1.0 / bend);
    Some(point(away.dot(start.heading), away.dot(start.left())))
}

/// Paper coordinates of `p` in a view, mm.
pub fn paper(view: View, p: DVec3) -> [f64; 2] {
    let [right, up, _] = view.axes();
    [p.dot(right), p.dot(up)]
}

/// What is seen at these paper coordinates.
pub fn look(surface: &dyn Surface, view: View, across: f64, up: f64) -> Option<Foot> {
    let [right, top, towards] = view.axes();
    surface.met_from(right * across + top * up, towards)
}

fn heading_in_view(foot: Foot, view: View, turn: f64) -> Result<Start, Refusal> {
    let [right, up, _] = view.axes();
    let (sin, cos) = libm::sincos(turn);
    tangent(foot, right * cos + up * sin)
}

fn tangent(foot: Foot, direction: DVec3) -> Result<Start, Refusal> {
    let along = direction - foot.normal * direction.dot(foot.normal);
    match along.try_normalize() {
        Some(heading) if along.length() > 1e-6 => Ok(Start { foot, heading }),
        _ => Err(Refusal::new(
            "the heading points straight out of the part here",
            "choose a view that sees this place, or a `turn`",
        )),
    }
}

/// Where the middle line of a view starts from a limit or an open end.
fn datum_start(moulded: &Moulded, datum: Datum, view: View, turn: f64) -> Result<Start, Refusal> {
    match datum {
        Datum::Limit(limit) => line_start(moulded, limit, view, turn),
        Datum::End(end) => {
            let surface = moulded.surface.as_ref();
            let [front, rear] = surface.stations();
            // A hair inside, where rounding cannot put it past the end.
            let (station, inward) = match end {
                End::Front => (front, rear - front),
                End::Rear => (rear, front - rear),
            };
            let spine = surface.spine(station);
            let [right, up, towards] = view.axes();
            let seen = [towards, up, right].map(|way| way.reject_from_normalized(spine.along));
            let out = seen.into_iter().find(|way| way.length() > 0.1).unwrap_or(towards);
            let around = surface.around(station, out);
            let foot = surface.at_station(station + HAIR * inward, around).ok_or_else(|| {
                Refusal::new(
                    format!("the part has no surface at its {} end", end.word()),
                    "measure from a limit, or say where by `seen`",
                )
            })?;
            heading_in_view(foot, view, turn)
        }
    }
}

/// This share of a part's length is nothing.
const HAIR: f64 = 1e-9;

/// Where the middle line of a view, walked along the heading, enters the side of a limit that film may lie on.
fn line_start(moulded: &Moulded, limit: usize, view: View, turn: f64) -> Result<Start, Refusal> {
    let surface = moulded.surface.as_ref();
    let limit = &moulded.part.limits[limit];
    let corners = surface.bounds().map(|corner| paper(view, corner));
    let middle = [0, 1].map(|k| (corners[0][k] + corners[1][k]) / 2.0);
    let reach = libm::hypot(corners[1][0] - corners[0][0], corners[1][1] - corners[0][1]) / 2.0;
    let (sin, cos) = libm::sincos(turn);
    let at = |way: f64| look(surface, view, middle[0] + way * cos, middle[1] + way * sin);
    let inside = |way: f64| at(way).map(|foot| fence::clearance(&limit.kind, foot));
    // Fine enough to find any limit that leaves 1/256 of the part free.
    let ways: Vec<f64> = (-256..=256).map(|k| reach * f64::from(k) / 256.0).collect();
    let mut before = inside(ways[0]);
    let crossing = ways.windows(2).find(|pair| {
        let after = inside(pair[1]);
        let enters = before.is_some_and(|clear| clear < 0.0) && after.is_some_and(|clear| clear >= 0.0);
        before = after;
        enters
    });
    let Some(&[mut out, mut kept]) = crossing.and_then(|pair| <&[f64; 2]>::try_from(pair).ok()) else {
        return Err(Refusal::new(
            format!(
                "the middle line of the {} view, along the heading, never enters `{}`",
                view.word(),
                limit.name
            ),
            "turn the heading so that it runs from the limit onto the kept side, or choose a view that sees the limit",
        ));
    };
    for _ in 0..60 {
        let halfway = (out + kept) / 2.0;
        if inside(halfway).is_some_and(|clear| clear >= 0.0) { kept = halfway } else { out = halfway }
    }
    let foot = at(kept)
        .ok_or_else(|| Refusal::new("the limit lies at the part's edge", "move the limit inwards"))?;
    heading_in_view(foot, view, turn)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::Cone;

    /// Cone 5 across, slant 12 (Longfield, *Sheet Metal Drafting*): from its rim, the point is 12 away.
    #[test]
    fn the_point_of_a_cone_lies_a_slant_away() {
        let long = (12.0f64 * 12.0 - 2.5 * 2.5).sqrt();
        let narrowing = Cone::new(2.5, 1e-9, long);
        let aft = tangent(narrowing.at_station(0.0, 0.7).unwrap(), DVec3::X).unwrap();
        assert!((point_under(&narrowing, &aft).unwrap() - point(12.0, 0.0)).length() < 1e-6);
        let left = aft.turned(std::f64::consts::FRAC_PI_2);
        assert!((point_under(&narrowing, &left).unwrap() - point(0.0, -12.0)).length() < 1e-6);
        let widening = Cone::new(1e-9, 2.5, long);
        let aft = tangent(widening.at_station(long, 0.7).unwrap(), DVec3::X).unwrap();
        assert!((point_under(&widening, &aft).unwrap() - point(-12.0, 0.0)).length() < 1e-6);
    }
}
