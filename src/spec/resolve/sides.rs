//! `both_sides`: a marking and its other hand across the part's middle plane.
//!
//! Shapes are mirrored, lettering only changes its place. What faces the paper on
//! one side faces it on the other with aft and forward changed over, so the other
//! piece is the same drawing with left and right changed over, turned the other
//! way. Seen from above or below, and by station, both hands head alike: there
//! left and right of the heading change over, which is the same and half a turn.

use super::super::lenient::Need;
use super::super::log::Log;
use super::super::mirror::{self, Named};
use super::form::Form;
use super::part::Known;
use crate::flow::{Hold, Lay, Line, Marking, Spot, View};
use crate::outline::point;
use crate::units::Angle;

/// The marking alone, or the piece for each side, the left one first.
pub fn sides(
    log: &Log,
    given: &Need<mirror::Marking>,
    marking: Marking,
    all: &Named<mirror::Marking>,
    parts: &[Known],
) -> Option<Vec<Marking>> {
    let got = &given.get()?.both_sides;
    if got.get().is_none_or(|both| !both.0) {
        return Some(vec![marking]);
    }
    let refuse = |message: &str, help: &str| {
        log.key(got.at, message, help);
        None
    };
    if parts[marking.part.0].shape.as_ref().is_some_and(Form::is_flat) {
        let help = "make the plate on the other side a part of its own, and draw with `mirror: true` there";
        return refuse("a flat part has one side", help);
    }
    let Some(lay) = other_lay(&marking.lay) else {
        let help = "drape it, or write the marking for the other side on its own";
        return refuse("what goes round the part, or through points of it, has no other side", help);
    };
    let Some((spot, is_left)) = other_spot(&marking.spot) else {
        let help = "hold it on the left or on the right, clear of the middle";
        return refuse("it lies in the middle of the part: its other side is itself", help);
    };
    let names = [true, false].map(|left| format!("{}-{}", marking.name, if left { "left" } else { "right" }));
    if let Some(taken) = names.iter().find(|name| all.0.iter().any(|(other, _)| other == *name)) {
        return refuse(
            &format!("the piece for that side would be called `{taken}`, as another marking is"),
            "rename one",
        );
    }
    let hold = match marking.hold {
        Hold::Point(along, left) => Hold::Point(-along, left),
        hold => hold,
    };
    let other = Marking { spot, lay, hold, draw: marking.draw.clone().mirrored(), ..marking.clone() };
    let mut pair = if is_left { [marking, other] } else { [other, marking] };
    for (piece, name) in pair.iter_mut().zip(names) {
        piece.name = name;
    }
    Some(pair.into())
}

/// The mirrored place, and whether the given one is on the left; `None` on the middle plane.
fn other_spot(spot: &Spot) -> Option<(Spot, bool)> {
    let half_turn = |turn: Angle| Angle::degrees(180.0) - turn;
    match *spot {
        Spot::Seen { view, across, up, turn } => {
            let other = other_view(view);
            match view {
                View::Left | View::Right => {
                    Some((Spot::Seen { view: other, across: -across, up, turn: -turn }, view == View::Left))
                }
                // From above the paper's up is the right; from below, the left.
                View::Top | View::Bottom => {
                    let is_left = (up.to_mm() < 0.0) == (view == View::Top);
                    let spot = Spot::Seen { view, across, up: -up, turn: half_turn(turn) };
                    (up.to_mm() != 0.0).then_some((spot, is_left))
                }
                // From ahead the paper's right is the part's left.
                View::Front | View::Rear => {
                    let is_left = (across.to_mm() > 0.0) == (view == View::Front);
                    let spot = Spot::Seen { view, across: -across, up, turn: -turn };
                    (across.to_mm() != 0.0).then_some((spot, is_left))
                }
            }
        }
        Spot::Station { station, around, turn } => {
            let degrees = around.to_degrees().rem_euclid(360.0);
            let in_middle = [0.0, 180.0, 360.0].iter().any(|middle| (degrees - middle).abs() < 1e-9);
            let spot = Spot::Station { station, around: -around, turn: half_turn(turn) };
            (!in_middle).then_some((spot, degrees < 180.0))
        }
        Spot::From { datum, view, offset, turn } => {
            let spot = Spot::From { datum, view: other_view(view), offset: -offset, turn: -turn };
            matches!(view, View::Left | View::Right).then_some((spot, view == View::Left))
        }
    }
}

/// The view from the other side; from ahead, astern, above and below both sides are seen.
const fn other_view(view: View) -> View {
    match view {
        View::Left => View::Right,
        View::Right => View::Left,
        view => view,
    }
}

fn other_lay(lay: &Lay) -> Option<Lay> {
    match lay {
        Lay::Drape => Some(Lay::Drape),
        Lay::Sight(view) => Some(Lay::Sight(other_view(*view))),
        Lay::Follow(Line::Run) => Some(Lay::Follow(Line::Run)),
        // Walked from its other end, as the drawing is.
        Lay::Follow(Line::Drawn { view: view @ (View::Left | View::Right), corners, radius }) => {
            let corners = corners.iter().rev().map(|corner| point(-corner.x, corner.y)).collect();
            Some(Lay::Follow(Line::Drawn { view: other_view(*view), corners, radius: *radius }))
        }
        Lay::Follow(_) => None,
    }
}
