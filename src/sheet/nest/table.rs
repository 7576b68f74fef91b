//! Pieces lying on one sheet, and the search for a better place for one of them.
//!
//! A place is looked for by chance all over the sheet, in the holes of what lies
//! there and near where the piece is; the best of these are then improved step by
//! step along x, y, the diagonals and through the turns that the piece may have.
//! What is better is the caller's affair: a cost.

use super::super::layout::ROUNDING;
use super::shape::{Shape, touching};
use crate::outline::chance::Chance;
use crate::outline::{Bounds, Point, Vector};
use crate::units::Angle;
use std::cell::Cell;

/// A piece in one of the turns that it may have.
#[derive(Clone, Debug)]
pub struct Turn {
    pub angle: Angle,
    /// With half the spacing round it.
    pub shape: Shape,
    /// The box of the piece as it is: this must be in the room.
    pub frame: Bounds,
}

/// All turns of pieces that are alike; never empty.
#[derive(Clone, Debug)]
pub struct Kind {
    pub turns: Vec<Turn>,
}

impl Kind {
    /// A shape in each of these turns.
    pub fn new(shape: &Shape, turns: Vec<(Angle, Bounds)>) -> Self {
        let turn =
            |(angle, frame): (Angle, Bounds)| Turn { angle, shape: shape.turned(angle.to_radians()), frame };
        Self { turns: turns.into_iter().map(turn).collect() }
    }

    pub fn area(&self) -> f64 {
        self.turns[0].shape.area
    }
}

/// Where a piece lies: which of its turns, and where its origin is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    pub turn: usize,
    pub at: Vector,
}

/// One sheet.
#[derive(Clone, Debug)]
pub struct Table<'a> {
    pub kinds: &'a [Kind],
    pub room: Bounds,
    /// The kind of each piece; the first `fixed` are film used before and stay where they are.
    pub pieces: Vec<usize>,
    pub fixed: usize,
    pub spots: Vec<Spot>,
    boxes: Vec<Bounds>,
    /// Work done so far: places tried and outlines compared. Not time, so that a slow machine gives the same sheets.
    pub work: Cell<u64>,
}

/// How many places are tried for one piece.
#[derive(Clone, Copy, Debug)]
pub struct Tries {
    pub anywhere: usize,
    pub near: usize,
    /// How many of the best are improved.
    pub improved: usize,
}

impl<'a> Table<'a> {
    pub fn new(kinds: &'a [Kind], room: Bounds) -> Self {
        Self {
            kinds,
            room,
            pieces: Vec::new(),
            fixed: 0,
            spots: Vec::new(),
            boxes: Vec::new(),
            work: Cell::new(0),
        }
    }

    pub fn push(&mut self, kind: usize, spot: Spot) {
        self.pieces.push(kind);
        self.spots.push(spot);
        self.boxes.push(self.turn(kind, spot).shape.bounds.translate(spot.at));
    }

    pub fn pop(&mut self) {
        self.pieces.pop();
        self.spots.pop();
        self.boxes.pop();
    }

    pub fn remove(&mut self, piece: usize) {
        self.pieces.remove(piece);
        self.spots.remove(piece);
        self.boxes.remove(piece);
    }

    pub fn put(&mut self, piece: usize, spot: Spot) {
        self.spots[piece] = spot;
        self.boxes[piece] = self.turn(self.pieces[piece], spot).shape.bounds.translate(spot.at);
    }

    pub fn put_all(&mut self, spots: &[Spot]) {
        for (piece, &spot) in spots.iter().enumerate() {
            self.put(piece, spot);
        }
    }

    pub fn shape(&self, piece: usize) -> &Shape {
        &self.turn(self.pieces[piece], self.spots[piece]).shape
    }

    /// The piece's own box on the sheet.
    pub fn frame(&self, piece: usize) -> Bounds {
        let spot = self.spots[piece];
        self.turn(self.pieces[piece], spot).frame.translate(spot.at)
    }

    fn turn(&self, kind: usize, spot: Spot) -> &'a Turn {
        &self.kinds[kind].turns[spot.turn]
    }

    /// Area of all that lies here.
    pub fn filled(&self) -> f64 {
        self.pieces.iter().map(|&kind| self.kinds[kind].area()).sum()
    }

    /// Lowest edge of what was laid; the top of the room where nothing was.
    pub fn floor(&self) -> f64 {
        (self.fixed..self.pieces.len()).map(|k| self.frame(k).min.y).fold(self.room.max.y, f64::min)
    }

    /// Whether the turn has room at all.
    fn goes_in(&self, turn: &Turn) -> bool {
        let (own, room) = (turn.frame.size(), self.room.size());
        own.width <= room.width + ROUNDING && own.height <= room.height + ROUNDING
    }

    /// The spot moved as little as brings it into the room.
    pub fn inside(&self, kind: usize, spot: Spot) -> Spot {
        let frame = &self.turn(kind, spot).frame;
        let clamp = |at: f64, least: f64, most: f64| at.min(most).max(least);
        let x = clamp(spot.at.x, self.room.min.x - frame.min.x, self.room.max.x - frame.max.x);
        let y = clamp(spot.at.y, self.room.min.y - frame.min.y, self.room.max.y - frame.max.y);
        Spot { at: Vector::new(x, y), ..spot }
    }

    fn worked(&self, amount: u64) {
        self.work.set(self.work.get() + amount);
    }

    /// Calls `met` with each piece but `skip` that a piece of this kind would overlap, until it says stop.
    pub fn meets(
        &self,
        kind: usize,
        skip: usize,
        spot: Spot,
        mut met: impl FnMut(usize, Vector, &Shape, &Shape) -> bool,
    ) {
        let shape = &self.turn(kind, spot).shape;
        let own = shape.bounds.translate(spot.at);
        self.worked(1 + self.boxes.len() as u64 / 16);
        for (other, bounds) in self.boxes.iter().enumerate() {
            if other == skip || !touching(&own, bounds) {
                continue;
            }
            let others = self.shape(other);
            self.worked(1 + (shape.work() + others.work()) / 64);
            let step = spot.at - self.spots[other].at;
            if shape.meets(step, others, 0.0) && !met(other, step, shape, others) {
                return;
            }
        }
    }

    /// Whether a piece of this kind overlaps nothing there.
    pub fn is_free(&self, kind: usize, skip: usize, spot: Spot) -> bool {
        let mut free = true;
        self.meets(kind, skip, spot, |_, _, _, _| {
            free = false;
            false
        });
        free
    }

    /// The cheapest place found for a piece of this kind. `cost` may stop adding up once past the bound that it is
    /// given. `None` where all found cost infinitely much.
    pub fn cheapest(
        &self,
        kind: usize,
        here: Option<Spot>,
        tries: Tries,
        chance: &mut Chance,
        cost: &impl Fn(Spot, f64) -> f64,
    ) -> Option<(Spot, f64)> {
        let turns: Vec<usize> =
            (0..self.kinds[kind].turns.len()).filter(|&k| self.goes_in(&self.kinds[kind].turns[k])).collect();
        if turns.is_empty() {
            return None;
        }
        let mut best: Vec<(Spot, f64)> = Vec::with_capacity(tries.improved + 1);
        let mut offer = |spot: Spot| {
            let bound = if best.len() < tries.improved { f64::INFINITY } else { best[best.len() - 1].1 };
            let value = cost(spot, bound);
            if value < bound {
                let at = best.partition_point(|(_, other)| *other <= value);
                best.insert(at, (spot, value));
                best.truncate(tries.improved);
            }
        };
        if let Some(here) = here {
            offer(self.inside(kind, here));
        }
        let holes = self.holes(kind);
        for k in 0..tries.anywhere {
            let turn = turns[chance.index(turns.len())];
            // Holes are small: a place in one is seldom met by chance alone.
            let within =
                if k % 4 == 0 && !holes.is_empty() { holes[chance.index(holes.len())] } else { self.room };
            offer(self.by_chance(kind, turn, &within, chance));
        }
        if let Some(here) = here {
            let reach = self.turn(kind, here).frame.size() * 0.5;
            for _ in 0..tries.near {
                let turn = if chance.index(2) == 0 { here.turn } else { turns[chance.index(turns.len())] };
                let middle = self.turn(kind, here).frame.translate(here.at).center();
                let step = Vector::new(
                    chance.between(-reach.width, reach.width),
                    chance.between(-reach.height, reach.height),
                );
                offer(self.centred(kind, turn, middle + step));
            }
        }
        let mut found: Option<(Spot, f64)> = None;
        for (spot, value) in best {
            let better = self.improved(kind, &turns, spot, value, Fine::Coarse, chance, cost);
            if found.is_none_or(|(_, least)| better.1 < least) {
                found = Some(better);
            }
        }
        let (spot, value) = found.filter(|(_, value)| value.is_finite())?;
        Some(self.improved(kind, &turns, spot, value, Fine::Fine, chance, cost))
    }

    /// Boxes of holes on the sheet that could hold the kind.
    fn holes(&self, kind: usize) -> Vec<Bounds> {
        let own = self.kinds[kind].turns[0].shape.area;
        let of =
            |piece: usize| self.shape(piece).holes.iter().map(move |b| b.translate(self.spots[piece].at));
        (0..self.pieces.len()).flat_map(of).filter(|hole| hole.area() > own).collect()
    }

    fn by_chance(&self, kind: usize, turn: usize, within: &Bounds, chance: &mut Chance) -> Spot {
        let frame = &self.kinds[kind].turns[turn].frame;
        let (slack_x, slack_y) = (within.width() - frame.width(), within.height() - frame.height());
        let corner = within.min
            + Vector::new(chance.between(0.0, slack_x.max(0.0)), chance.between(0.0, slack_y.max(0.0)));
        self.inside(kind, Spot { turn, at: corner - frame.min })
    }

    fn centred(&self, kind: usize, turn: usize, middle: Point) -> Spot {
        let frame = &self.kinds[kind].turns[turn].frame;
        self.inside(kind, Spot { turn, at: middle - frame.center() })
    }

    #[expect(clippy::too_many_arguments, reason = "one step of the search above, with all its state")]
    fn improved(
        &self,
        kind: usize,
        turns: &[usize],
        from: Spot,
        value: f64,
        fine: Fine,
        chance: &mut Chance,
        cost: &impl Fn(Spot, f64) -> f64,
    ) -> (Spot, f64) {
        let (mut spot, mut value) = (from, value);
        let frame = &self.kinds[kind].turns[from.turn].frame;
        let size = frame.width().min(frame.height()).max(frame.width().max(frame.height()) / 16.0);
        let (first, least) = match fine {
            Fine::Coarse => (0.25, 0.02),
            Fine::Fine => (0.02, 0.0005),
        };
        let mut steps = [first * size; 2];
        while steps[0].max(steps[1]) > least * size && value > 0.0 {
            let axis = chance.index(if turns.len() > 2 { 5 } else { 4 });
            if axis == 4 {
                // The turns before and after this one, where they lie in order all the way round.
                let at = turns.iter().position(|&turn| turn == spot.turn).unwrap_or(0);
                let middle = self.turn(kind, spot).frame.translate(spot.at).center();
                for next in [at + 1, at + turns.len() - 1] {
                    let other = self.centred(kind, turns[next % turns.len()], middle);
                    let cheaper = cost(other, value);
                    if cheaper < value {
                        (spot, value) = (other, cheaper);
                        break;
                    }
                }
                steps = steps.map(|step| step * 0.9);
                continue;
            }
            let step = match axis {
                0 => Vector::new(steps[0], 0.0),
                1 => Vector::new(0.0, steps[1]),
                2 => Vector::new(steps[0], steps[1]),
                _ => Vector::new(steps[0], -steps[1]),
            };
            let mut moved = false;
            for step in [step, -step] {
                let other = self.inside(kind, Spot { at: spot.at + step, ..spot });
                if other == spot {
                    continue;
                }
                let cheaper = cost(other, value);
                if cheaper < value {
                    (spot, value, moved) = (other, cheaper, true);
                    break;
                }
            }
            let factor = if moved { 1.1 } else { 0.5 };
            match axis {
                0 => steps[0] *= factor,
                1 => steps[1] *= factor,
                _ => steps = steps.map(|step| step * if moved { 1.1 } else { 0.7 }),
            }
        }
        (spot, value)
    }
}

/// How far a place is improved.
#[derive(Clone, Copy, Debug)]
enum Fine {
    /// To tell which of several is best.
    Coarse,
    Fine,
}
