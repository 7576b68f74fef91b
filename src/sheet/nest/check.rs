//! A layout held against the true outlines, in f64: nothing overlaps, nothing comes closer than the spacing.

use super::super::layout::{Footprint, Placement, Room, turned_bounds};
use super::shape::Shape;
use crate::outline::{Bounds, Point, point};

/// What rounding may take from a gap, mm.
const HAIR: f64 = 1e-6;

/// Items that stick out of the room, or come closer to the film used before or to another, earlier item than
/// the spacing; of two that meet, the later one.
pub fn wrong(items: &[Footprint], places: &[Option<Placement>], room: &Room) -> Vec<usize> {
    let inside = Bounds::new(Point::origin(), point(room.width, room.height)).inflate(HAIR, HAIR);
    let gap = (room.spacing - HAIR).max(0.0);
    let used = Shape::outline(&room.used.cleaned());
    let mut wrong = Vec::new();
    let mut sheets: Vec<Vec<(Shape, Placement)>> = Vec::new();
    for (k, (item, place)) in items.iter().zip(places).enumerate() {
        let Some(place) = place else { continue };
        let shape = Shape::outline(&item.area.cleaned()).turned(place.turn.to_radians());
        let bounds = turned_bounds(&item.area, place.turn).translate(place.step);
        while sheets.len() <= place.sheet {
            sheets.push(Vec::new());
        }
        let sheet = &mut sheets[place.sheet];
        let meets = |(other, there): &(Shape, Placement)| shape.meets(place.step - there.step, other, gap);
        let on_used = place.sheet == 0 && !room.used.is_empty() && shape.meets(place.step, &used, gap);
        if !inside.contains_box(&bounds) || on_used || sheet.iter().any(meets) {
            wrong.push(k);
        } else {
            sheet.push((shape, *place));
        }
    }
    wrong
}
