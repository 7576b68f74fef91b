//! Pieces laid out as they are, not as their boxes: small ones in the bays and holes of large ones.
//!
//! Piece after piece is put down on the first sheet with room, large ones first
//! (`strip::put_down`); then pieces of later sheets are pressed into earlier ones and the
//! overlaps moved apart (`separate`); then what lies on the last sheet is gathered at its
//! top (`strip::gather`), so that the film left over is one piece. If plain [`Rows`] need
//! fewer sheets, or less of the last one, rows it is.
//!
//! **Effort is a number of steps**, never a time: with a clock in it, a slow machine or a
//! busy one would lay out other sheets than a fast one, and a marking would be looked for
//! on a sheet where it is not. Chance has a fixed seed. Nothing is done side by side here;
//! scales are, in `batch`.
//!
//! **Collision is our own, in f64.** The library tried for it (jagua-rs 1.1) turns its
//! outlines by the system's sine in f32, which differs from one machine to the next, and
//! knows no holes in pieces; with both put right little of it was left.
//!
//! Outlines are grown by half the spacing and simplified outward for the search; what comes
//! of it is checked again on the true outlines (`check`), and what fails is laid on further
//! sheets, in rows.
//!
//! Left out: turns between the listed ones, and where labels go.

mod check;
mod separate;
mod shape;
mod strip;
mod table;

use super::layout::{Footprint, Layout, Placement, Room, Rows, turns};
use crate::outline::chance::Chance;
use crate::outline::region::simplified;
use crate::outline::{Bounds, Point, Region, Vector, point};
use crate::units::{Angle, Model};
use separate::{Patience, separate};
use shape::Shape;
use table::{Kind, Spot, Table, Tries};

/// Steps for each piece at an effort of 1, the usual one: 60 pieces take some tenths of a second.
const STEPS: u64 = 12_000;

/// Past this many pieces on all sheets only rows are laid; past so many on one sheet none is pressed in.
const MOST: usize = 3_000;
const MOST_ON_SHEET: usize = 400;
/// Edges of all pieces in all their turns: past some 200 MB only rows are laid.
const MOST_EDGES: u64 = 4_000_000;

/// Sheets that a piece is tried on, counted from the last.
const OPEN_SHEETS: usize = 4;

/// The seed of every search: the answer is the same each time.
const SEED: u64 = 1;

/// Nesting with so much effort; 0 is rows.
#[derive(Clone, Copy, Debug)]
pub struct Nest {
    pub effort: u32,
}

impl Default for Nest {
    fn default() -> Self {
        Self { effort: 1 }
    }
}

/// One sheet with the items that lie on it, in the order of the table.
struct Leaf<'a> {
    table: Table<'a>,
    items: Vec<usize>,
}

impl Layout for Nest {
    fn place(&self, items: &[Footprint], room: &Room) -> Vec<Option<Placement>> {
        self.lay(items, room).0
    }
}

impl Nest {
    /// Where each item lies, and whether they are too many to be fitted into each other, so that they lie in rows.
    pub fn lay(&self, items: &[Footprint], room: &Room) -> (Vec<Option<Placement>>, bool) {
        let rows = Rows.place(items, room);
        let wanted = rows.iter().flatten().count();
        if self.effort == 0 || wanted == 0 {
            return (rows, false);
        }
        let stock = if items.len() > MOST { None } else { Stock::of(items, room) };
        let Some(stock) = stock else { return (rows, true) };
        let nested = checked(items, room, self.nested(&stock, items));
        // Rows know nothing of film used before.
        let plain = room.used.is_empty() && worth(items, &rows) < worth(items, &nested);
        (if plain { rows } else { nested }, false)
    }

    fn nested(self, stock: &Stock, items: &[Footprint]) -> Vec<Option<Placement>> {
        let mut chance = Chance::new(SEED);
        let steps = u64::from(self.effort) * STEPS;
        let mut order: Vec<usize> = (0..items.len()).filter(|&k| stock.kind[k].is_some()).collect();
        let kind = |item: usize| stock.kind[item].unwrap_or(0);
        order.sort_by(|&a, &b| {
            let size = |item: usize| bulk(&stock.kinds[kind(item)]);
            items[b].rank.cmp(&items[a].rank).then(size(b).total_cmp(&size(a)))
        });
        let mut leaves: Vec<Leaf> = stock.used.map(|_| stock.leaf(true)).into_iter().collect();
        for &item in &order {
            let first = leaves.len().saturating_sub(OPEN_SHEETS);
            let open = leaves.iter_mut().skip(first).find_map(|leaf| {
                let fits = leaf.table.filled() + stock.kinds[kind(item)].area() < leaf.table.room.area();
                (fits && strip::put_down(&mut leaf.table, kind(item), &mut chance)).then_some(leaf)
            });
            if let Some(leaf) = open {
                leaf.items.push(item);
                continue;
            }
            let mut leaf = stock.leaf(false);
            // A piece that has a turn that goes in is put down on an empty sheet: its top left corner is free.
            if !strip::put_down(&mut leaf.table, kind(item), &mut chance) {
                leaf.table
                    .push(kind(item), leaf.table.inside(kind(item), Spot { turn: 0, at: Vector::zero() }));
            }
            leaf.items.push(item);
            leaves.push(leaf);
        }
        press_in(&mut leaves, &order, steps, &mut chance);
        // A partly used sheet stays the first, even if nothing more goes on it.
        leaves.retain(|leaf| !leaf.items.is_empty() || leaf.table.fixed > 0);
        if let Some(leaf) = leaves.last_mut().filter(|leaf| leaf.items.len() <= MOST_ON_SHEET) {
            let work = leaf.table.work.get() + steps * leaf.items.len() as u64;
            strip::gather(&mut leaf.table, work, &mut chance);
        }
        let mut places = vec![None; items.len()];
        for (sheet, leaf) in leaves.iter().enumerate() {
            for (k, &item) in leaf.items.iter().enumerate() {
                let piece = leaf.table.fixed + k;
                let spot = leaf.table.spots[piece];
                let turn = stock.kinds[leaf.table.pieces[piece]].turns[spot.turn].angle;
                places[item] = Some(Placement { sheet, turn, step: spot.at });
            }
        }
        places
    }
}

/// Pieces of later sheets into earlier ones, as far as `steps` for each piece on a sheet let it.
fn press_in(leaves: &mut [Leaf<'_>], order: &[usize], steps: u64, chance: &mut Chance) {
    /// A sheet filled up to here takes no more; fitting outlines seldom come closer.
    const FULL: f64 = 0.96;
    /// Pieces that do not go in before the sheet is left as it is.
    const MISSES: usize = 4;
    for sheet in 0..leaves.len().saturating_sub(1) {
        let (before, after) = leaves.split_at_mut(sheet + 1);
        let leaf = &mut before[sheet];
        let mut misses = 0;
        let limit = leaf.table.work.get() + steps * leaf.items.len() as u64;
        for &item in order {
            let Some((from, at)) = after
                .iter()
                .enumerate()
                .find_map(|(k, leaf)| leaf.items.iter().position(|&other| other == item).map(|at| (k, at)))
            else {
                continue;
            };
            if leaf.items.len() >= MOST_ON_SHEET || misses >= MISSES || leaf.table.work.get() >= limit {
                break;
            }
            let piece = after[from].table.fixed + at;
            let kind = after[from].table.pieces[piece];
            if leaf.table.filled() + leaf.table.kinds[kind].area() > FULL * leaf.table.room.area() {
                continue;
            }
            if pressed_in(&mut leaf.table, kind, limit, chance) {
                leaf.items.push(item);
                after[from].items.remove(at);
                after[from].table.remove(piece);
            } else {
                misses += 1;
            }
        }
    }
}

/// Whether one more piece went in; if not, the table is as it was.
fn pressed_in(table: &mut Table<'_>, kind: usize, work: u64, chance: &mut Chance) -> bool {
    let before = table.spots.clone();
    let tries = Tries { anywhere: 60, near: 0, improved: 3 };
    let cost = |spot: Spot, bound: f64| {
        let mut sum = 0.0;
        table.meets(kind, usize::MAX, spot, |_, step, shape, others| {
            sum += shape.depth(step, others);
            sum < bound
        });
        sum
    };
    let Some((spot, _)) = table.cheapest(kind, None, tries, chance, &cost) else { return false };
    table.push(kind, spot);
    let work = work.min(table.work.get() + (work.saturating_sub(table.work.get())).div_ceil(3));
    if separate(table, Patience { rounds: 30, strikes: 2, work }, chance) {
        return true;
    }
    table.pop();
    table.put_all(&before);
    false
}

/// The kinds of pieces, and which item is of which; `None` for one that no sheet holds.
struct Stock {
    kinds: Vec<Kind>,
    kind: Vec<Option<usize>>,
    used: Option<usize>,
    room: Bounds,
}

impl Stock {
    /// `None` where outlines in all their turns would take too much memory.
    fn of(items: &[Footprint], room: &Room) -> Option<Self> {
        let mut edges = 0;
        let simpler = (0.05 * room.spacing).clamp(0.02, 0.2);
        let mut kinds: Vec<Kind> = Vec::new();
        let mut kind: Vec<Option<usize>> = Vec::with_capacity(items.len());
        for (k, item) in items.iter().enumerate() {
            // Copies come one after another.
            if k > 0 && items[k - 1].area == item.area && items[k - 1].turns == item.turns {
                kind.push(kind[k - 1]);
                continue;
            }
            let grown = grown(&item.area, room.spacing / 2.0, simpler);
            let shape = Shape::with_discs(&grown);
            let turns = turns(item, room);
            edges += shape.work() * turns.len() as u64;
            if edges > MOST_EDGES {
                return None;
            }
            kind.push((!turns.is_empty()).then_some(kinds.len()));
            if !turns.is_empty() {
                kinds.push(Kind::new(&shape, turns));
            }
        }
        let used = (!room.used.is_empty()).then(|| {
            let shape = Shape::with_discs(&grown(&room.used, room.spacing / 2.0, simpler));
            kinds.push(Kind::new(&shape, vec![(Angle::ZERO, shape.bounds)]));
            kinds.len() - 1
        });
        let room = Bounds::new(Point::origin(), point(room.width, room.height));
        Some(Self { kinds, kind, used, room })
    }

    /// An empty sheet; the first is partly used where one is.
    fn leaf(&self, first: bool) -> Leaf<'_> {
        let mut table = Table::new(&self.kinds, self.room);
        if let Some(used) = self.used.filter(|_| first) {
            table.push(used, Spot { turn: 0, at: Vector::zero() });
            table.fixed = 1;
        }
        Leaf { table, items: Vec::new() }
    }
}

/// What decides who is put down first: area, or for long thin ones their length.
fn bulk(kind: &Kind) -> f64 {
    let shape = &kind.turns[0].shape;
    shape.area.max(0.1 * shape.diameter() * shape.diameter())
}

/// Fewest sheets, then the least height of the last: less is better.
fn worth(items: &[Footprint], places: &[Option<Placement>]) -> (usize, f64) {
    let sheets = places.iter().flatten().map(|place| place.sheet + 1).max().unwrap_or(0);
    let last = items.iter().zip(places).filter_map(|(item, place)| Some((item, (*place)?)));
    let boxes = last
        .filter(|(_, place)| place.sheet + 1 == sheets)
        .map(|(item, place)| super::layout::turned_bounds(&item.area, place.turn).translate(place.step));
    let all = boxes.reduce(|a, b| a.union(&b));
    (sheets, all.map_or(0.0, |all| all.height()))
}

/// The layout with every piece that overlaps, comes too close or sticks out put on sheets of its own, in rows,
/// which come before all whose pieces rank lower.
fn checked(items: &[Footprint], room: &Room, mut places: Vec<Option<Placement>>) -> Vec<Option<Placement>> {
    let wrong = check::wrong(items, &places, room);
    if wrong.is_empty() {
        return places;
    }
    for &item in &wrong {
        places[item] = None;
    }
    // The first sheet may be partly gone, which rows do not know.
    let first = usize::from(!room.used.is_empty());
    let next = places.iter().flatten().map(|place| place.sheet + 1).max().unwrap_or(first);
    let again: Vec<Footprint> = wrong.iter().map(|&item| items[item].clone()).collect();
    let fresh = Room { used: Region::empty(), ..room.clone() };
    for (&item, place) in wrong.iter().zip(Rows.place(&again, &fresh)) {
        places[item] = place.map(|place| Placement { sheet: place.sheet + next, ..place });
    }
    let mut ranks: Vec<Option<i32>> = Vec::new();
    for (item, place) in items.iter().zip(&places) {
        let Some(place) = place else { continue };
        ranks.resize(ranks.len().max(place.sheet + 1), None);
        ranks[place.sheet] = ranks[place.sheet].max(Some(item.rank));
    }
    // Whatever is on it, what is left of a sheet is used up first.
    if let Some(first) = ranks.first_mut().filter(|_| !room.used.is_empty()) {
        *first = Some(i32::MAX);
    }
    let mut order: Vec<usize> = (0..ranks.len()).filter(|&sheet| ranks[sheet].is_some()).collect();
    order.sort_by_key(|&sheet| std::cmp::Reverse(ranks[sheet]));
    for place in places.iter_mut().flatten() {
        // Every sheet with a piece is in the order.
        place.sheet = order.iter().position(|&sheet| sheet == place.sheet).unwrap_or(place.sheet);
    }
    places
}

/// Grown by `distance`, then simplified by at most `simpler`, never to less than was asked for.
fn grown(area: &Region<Model>, distance: f64, simpler: f64) -> Region<Model> {
    if distance + simpler <= 0.0 {
        return area.cleaned();
    }
    let large = area.offset(distance + simpler);
    let rings = large.rings.iter().map(|ring| simplified(ring, simpler)).filter(|ring| ring.len() > 2);
    Region::new(rings.collect()).cleaned()
}

/// Pieces on a strip of this width, as short as `steps` for each piece let it be: its length, and where each lies.
///
/// What benches and tests measure the search by: no spacing, nothing simplified. The strip runs down from 0.
pub fn strip(items: &[Footprint], width: f64, steps: u64) -> (f64, Vec<Placement>) {
    let kinds: Vec<Kind> = items
        .iter()
        .map(|item| {
            let shape = Shape::with_discs(&item.area.cleaned());
            let tall = Room { width, height: f64::INFINITY, spacing: 0.0, used: Region::empty() };
            Kind::new(&shape, turns(item, &tall))
        })
        .collect();
    let mut chance = Chance::new(SEED);
    let tall: f64 = kinds.iter().map(|kind| kind.turns[0].shape.diameter()).sum();
    let mut table = Table::new(&kinds, Bounds::new(point(0.0, -tall), point(width, 0.0)));
    let mut order: Vec<usize> = (0..items.len()).collect();
    order.sort_by(|&a, &b| bulk(&kinds[b]).total_cmp(&bulk(&kinds[a])));
    for &item in &order {
        // Each is put down on a strip that reaches just below what lies there.
        let depth = kinds[item].turns.iter().map(|turn| turn.frame.height()).fold(0.0, f64::max);
        let floor = table.floor() - depth * 1.01;
        table.room = Bounds::new(point(0.0, floor), point(width, 0.0));
        if !strip::put_down(&mut table, item, &mut chance) {
            let turn = &kinds[item].turns[0];
            let at = point(0.0, floor) - turn.frame.min;
            table.push(item, Spot { turn: 0, at });
        }
    }
    let floor = table.floor();
    table.room = Bounds::new(point(0.0, floor), point(width, 0.0));
    let work = table.work.get() + steps * items.len() as u64;
    strip::gather(&mut table, work, &mut chance);
    let mut places = vec![Placement { sheet: 0, turn: Angle::ZERO, step: Vector::zero() }; items.len()];
    for (&item, spot) in order.iter().zip(&table.spots) {
        places[item] = Placement { sheet: 0, turn: kinds[item].turns[spot.turn].angle, step: spot.at };
    }
    (-table.floor(), places)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::Turning;
    use crate::outline::Outline;

    fn square(rank: i32) -> Footprint {
        let area = Outline::rectangle(point(0.0, 0.0), 30.0, 30.0).flattened(0.1);
        Footprint { area, turns: Turning::Fixed, rank }
    }

    #[test]
    fn what_does_not_lie_right_keeps_its_rank() {
        let room = Room { width: 50.0, height: 50.0, spacing: 2.0, used: Region::empty() };
        let items = [square(2), square(2), square(1), square(0)];
        let at = |sheet, x| Some(Placement { sheet, turn: Angle::ZERO, step: Vector::new(x, 20.0) });
        // The second lies on the first.
        let places = checked(&items, &room, vec![at(0, 20.0), at(0, 25.0), at(1, 20.0), at(2, 20.0)]);
        let sheets: Vec<usize> = places.iter().map(|place| place.unwrap().sheet).collect();
        assert_eq!(sheets, [0, 1, 2, 3]);
        // A sheet whose only piece sticks out is not left empty.
        let places = checked(&items[..2], &room, vec![at(0, 45.0), at(1, 20.0)]);
        let sheets: Vec<usize> = places.iter().map(|place| place.unwrap().sheet).collect();
        assert_eq!(sheets, [1, 0]);
    }

    #[test]
    fn a_piece_as_large_as_the_room_is_on_the_first_sheet() {
        let room = Room { width: 50.0, height: 50.0, spacing: 4.0, used: Region::empty() };
        let full = Outline::rectangle(point(0.0, 0.0), 50.0, 50.0).flattened(0.1);
        let items = [Footprint { area: full, rank: 1, ..square(0) }, square(0), square(0)];
        let (places, rows) = Nest::default().lay(&items, &room);
        let sheets: Vec<usize> = places.iter().map(|place| place.unwrap().sheet).collect();
        assert_eq!((sheets, rows), (vec![0, 1, 2], false));
    }

    #[test]
    fn too_many_pieces_lie_in_rows_and_that_is_told() {
        let room = Room { width: 500.0, height: 500.0, spacing: 2.0, used: Region::empty() };
        let many = vec![square(0); MOST + 1];
        let (places, rows) = Nest::default().lay(&many, &room);
        assert!(rows && places.iter().all(Option::is_some));
        assert!(!Nest { effort: 0 }.lay(&many, &room).1, "rows are what was asked for");
    }
}
