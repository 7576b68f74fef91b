//! Where each piece lies on which sheet.
//!
//! [`Layout`] is the whole question: footprints in, placements out. [`Rows`] is
//! the plain answer: rows from the top, tallest pieces first, each into the
//! first row with room. It wastes film (boxes, not shapes) and never surprises.
//! [`Nest`](super::nest::Nest) fits shapes into each other.

use crate::flow::Turning;
use crate::outline::{Bounds, Region, Vector};
use crate::units::{Angle, Model};

/// What a piece takes up, in its own coordinates: film, marks and label.
#[derive(Clone, Debug)]
pub struct Footprint {
    pub area: Region<Model>,
    pub turns: Turning,
    /// Pieces of a higher rank go on earlier sheets.
    pub rank: i32,
}

/// The room for pieces on every sheet, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    pub width: f64,
    pub height: f64,
    /// Least way between two footprints.
    pub spacing: f64,
    /// What is gone of the first sheet.
    pub used: Region<Model>,
}

/// A piece turned about its own origin, then moved; the room's lower left corner is the origin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Which sheet, from 0; where the first is partly used, 0 is that one. No other is left empty.
    pub sheet: usize,
    pub turn: Angle,
    pub step: Vector,
}

/// Lays pieces out on as many sheets as it takes.
pub trait Layout {
    /// One answer for each item, in order: where it lies, or `None` where no sheet of this room can hold it.
    /// The same question has the same answer on every machine.
    fn place(&self, items: &[Footprint], room: &Room) -> Vec<Option<Placement>>;
}

/// Rows from the top of the sheet down, tallest pieces first.
#[derive(Clone, Copy, Debug, Default)]
pub struct Rows;

/// Sheets that are looked through for room, counted from the last: keeps 100 000 pieces from taking n² steps.
const OPEN_SHEETS: usize = 8;

/// Pieces that may be turned freely are tried every so many degrees: finer steps hardly save film.
const FREE: usize = 5;

/// A room is not too small by the rounding of one sum, mm.
pub(super) const ROUNDING: f64 = 1e-9;

struct Row {
    /// Height of the row's lower edge over the room's.
    floor: f64,
    height: f64,
    filled: f64,
}

impl Layout for Rows {
    fn place(&self, items: &[Footprint], room: &Room) -> Vec<Option<Placement>> {
        let stands: Vec<_> = items.iter().map(|item| stand(item, room)).collect();
        let mut order: Vec<_> =
            stands.iter().enumerate().filter_map(|(k, stand)| stand.map(|(_, bounds)| (k, bounds))).collect();
        order.sort_by(|(i, a), (k, b)| {
            items[*k].rank.cmp(&items[*i].rank).then(b.height().total_cmp(&a.height()))
        });
        let mut places = vec![None; items.len()];
        let mut sheets: Vec<Vec<Row>> = Vec::new();
        // Rows leave a partly used sheet alone.
        let first = usize::from(!room.used.is_empty());
        for (k, bounds) in order {
            let (sheet, corner) = find_room(&mut sheets, &bounds, room);
            let turn = stands[k].map_or(Angle::ZERO, |(turn, _)| turn);
            places[k] = Some(Placement { sheet: first + sheet, turn, step: corner - bounds.min.to_vector() });
        }
        places
    }
}

/// The first row with room, else a new row, else a new sheet; gives the sheet and the lower left corner.
///
/// Pieces of one rank come tallest first: a row is as high as its first piece, and what is no taller fits under it.
fn find_room(sheets: &mut Vec<Vec<Row>>, bounds: &Bounds, room: &Room) -> (usize, Vector) {
    let first = sheets.len().saturating_sub(OPEN_SHEETS);
    for (sheet, rows) in sheets.iter_mut().enumerate().skip(first) {
        for row in rows.iter_mut() {
            let left = row.filled + room.spacing;
            let fits = bounds.height() <= row.height + ROUNDING;
            if fits && left + bounds.width() <= room.width + ROUNDING {
                row.filled = left + bounds.width();
                return (sheet, Vector::new(left, row.floor));
            }
        }
        let ceiling = rows.last().map_or(room.height, |row| row.floor - room.spacing);
        let floor = ceiling - bounds.height();
        if floor >= -ROUNDING {
            rows.push(Row { floor, height: bounds.height(), filled: bounds.width() });
            return (sheet, Vector::new(0.0, floor));
        }
    }
    let floor = room.height - bounds.height();
    sheets.push(vec![Row { floor, height: bounds.height(), filled: bounds.width() }]);
    (sheets.len() - 1, Vector::new(0.0, floor))
}

/// How a piece stands in a row, and its box then: as drawn if it can, else upright, else in the first turn that
/// lets it in.
fn stand(item: &Footprint, room: &Room) -> Option<(Angle, Bounds)> {
    let all = turns(item, room);
    let at = |degrees: f64| all.iter().position(|(turn, _)| *turn == Angle::degrees(degrees));
    at(0.0).or_else(|| at(90.0)).or((!all.is_empty()).then_some(0)).map(|k| all[k])
}

/// The turns that a piece may have in which the room holds it, and its box in each, by angle.
pub(super) fn turns(item: &Footprint, room: &Room) -> Vec<(Angle, Bounds)> {
    let fits = |turn: Angle| {
        let bounds = turned_bounds(&item.area, turn);
        let fits = bounds.width() <= room.width + ROUNDING && bounds.height() <= room.height + ROUNDING;
        fits.then_some((turn, bounds))
    };
    let every = |degrees: usize| (0..360).step_by(degrees).map(|k| Angle::degrees(k as f64));
    let asked: Vec<_> = match item.turns {
        Turning::Fixed => return fits(Angle::ZERO).into_iter().collect(),
        Turning::Steps(step) => {
            let count = (360.0 / step.to_degrees()).round() as u32;
            return (0..count)
                .filter_map(|k| fits(Angle::degrees(step.to_degrees() * f64::from(k))))
                .collect();
        }
        Turning::Readable => [0.0, 90.0].map(Angle::degrees).into_iter().filter_map(fits).collect(),
        Turning::Free => every(FREE).filter_map(fits).collect(),
    };
    // What goes in no other way is laid across the corner.
    if asked.is_empty() { every(1).find_map(fits).into_iter().collect() } else { asked }
}

/// The box round an area turned about its origin.
pub(super) fn turned_bounds(area: &Region<Model>, turn: Angle) -> Bounds {
    let (sin, cos) = turn.sin_cos();
    let points = area.rings.iter().flatten();
    Bounds::from_points(points.map(|p| crate::outline::point(p.x * cos - p.y * sin, p.x * sin + p.y * cos)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::{Outline, point};
    use proptest::prelude::*;

    fn a_room() -> Room {
        Room { width: 180.0, height: 270.0, spacing: 2.0, used: Region::empty() }
    }

    fn bar(width: f64, height: f64) -> Footprint {
        let area = Outline::rectangle(point(3.0, -4.0), width, height).flattened(0.1);
        Footprint { area, turns: Turning::Readable, rank: 0 }
    }

    /// The box a placement puts a footprint into.
    fn landed(item: &Footprint, place: &Placement) -> Bounds {
        turned_bounds(&item.area, place.turn).translate(place.step)
    }

    #[test]
    fn long_pieces_are_stood_up_then_laid_across_the_corner_then_refused() {
        let items = [bar(180.0, 20.0), bar(200.0, 20.0), bar(300.0, 5.0), bar(340.0, 5.0), bar(200.0, 300.0)];
        let places = Rows.place(&items, &a_room());
        let turns: Vec<_> = places.iter().map(|p| p.map(|p| p.turn.to_degrees().round())).collect();
        assert_eq!(turns[..2], [Some(0.0), Some(90.0)]);
        // The diagonal of 180 × 270 is 324.5 mm: 300 goes in on the slant, 340 does not.
        let slant = turns[2].unwrap();
        assert!(slant > 40.0 && slant < 90.0, "{slant}");
        assert_eq!(turns[3..], [None, None]);
    }

    #[test]
    fn no_room_holds_nothing() {
        let none = Room { width: -1.0, height: 0.0, ..a_room() };
        assert_eq!(Rows.place(&[bar(1.0, 1.0)], &none), [None]);
        assert_eq!(Rows.place(&[], &a_room()), []);
    }

    proptest! {
        #[test]
        fn every_piece_once_inside_and_apart(sizes in prop::collection::vec((0.5f64..170.0, 0.5f64..120.0), 1..60)) {
            let items: Vec<_> = sizes.iter().map(|&(w, h)| bar(w, h)).collect();
            let places = Rows.place(&items, &a_room());
            prop_assert_eq!(places.len(), items.len());
            let boxes: Vec<_> = items.iter().zip(&places)
                .map(|(item, place)| { let place = place.unwrap(); (place.sheet, landed(item, &place)) })
                .collect();
            let room = Bounds::new(point(-1e-6, -1e-6), point(180.0 + 1e-6, 270.0 + 1e-6));
            for (k, (sheet, a)) in boxes.iter().enumerate() {
                prop_assert!(room.contains_box(a));
                for (other, b) in &boxes[..k] {
                    let gap = (a.min.x - b.max.x).max(b.min.x - a.max.x).max((a.min.y - b.max.y).max(b.min.y - a.max.y));
                    prop_assert!(sheet != other || gap >= 2.0 - 1e-6, "{} {:?} {:?}", gap, a, b);
                }
            }
            let last = boxes.iter().map(|b| b.0).max().unwrap();
            prop_assert!((0..=last).all(|sheet| boxes.iter().any(|b| b.0 == sheet)), "an empty sheet");
        }
    }
}
