//! Pieces gathered at the top of a sheet, or on a strip as short as can be.
//!
//! A first layout comes from putting down one piece after another; then the
//! strip is made a little shorter, what sticks out is pushed in, and the overlaps
//! are moved apart; where that fails, two large pieces change places and it is tried
//! again. (Imamichi, Yagiura and Nagamochi, Discrete Optimization 6:345, 2009; Umetani
//! et al., Int. Trans. Oper. Res. 16:661, 2009.)

use super::super::layout::ROUNDING;
use super::separate::{Patience, separate};
use super::table::{Spot, Table, Tries};
use crate::outline::chance::Chance;
use crate::outline::{Bounds, point};

/// Places tried when a piece is first put down.
const FIRST: Tries = Tries { anywhere: 80, near: 0, improved: 4 };

/// Puts a piece down as high as a place without overlap is found, then as far left; says whether there was one.
pub fn put_down(table: &mut Table<'_>, kind: usize, chance: &mut Chance) -> bool {
    let nobody = usize::MAX;
    let top = table.room.max.y;
    let cost = |spot: Spot, bound: f64| {
        let frame = table.kinds[kind].turns[spot.turn].frame.translate(spot.at);
        let value =
            (top - frame.min.y) + 0.2 * (top - frame.center().y) + 0.02 * (frame.min.x - table.room.min.x);
        if value < bound && table.is_free(kind, nobody, spot) { value } else { f64::INFINITY }
    };
    let found = table.cheapest(kind, None, FIRST, chance, &cost);
    if let Some((spot, _)) = found {
        table.push(kind, spot);
    }
    found.is_some()
}

/// Gathers what lies without overlap on the table at its top, as far as `work` lets it; leaves the room as it was.
pub fn gather(table: &mut Table<'_>, work: u64, chance: &mut Chance) {
    if table.pieces.len() == table.fixed {
        return;
    }
    let room = table.room;
    let mut best = (table.floor(), table.spots.clone());
    let mut spent = u64::MAX;
    // A pass without work is one in which no piece was let go any higher: there is nothing left to gain.
    while table.work.get() < work && table.work.get() != spent {
        spent = table.work.get();
        // Boldly, from layouts that overlap to others; then what was reached is pressed together.
        for press in [Press::BOLD, Press::CLOSE] {
            pressed(table, room, &mut best, press, work, chance);
            table.put_all(&best.1);
        }
    }
    table.room = room;
}

/// How a strip is shortened.
#[derive(Clone, Copy)]
struct Press {
    /// By this share each time.
    shorter: f64,
    /// What is left of that after a failure.
    eased: f64,
    /// Failures before it is given up.
    failures: usize,
    /// Whether a failure goes on from where it ended, two pieces in each other's place, or back to what was sound.
    bold: bool,
    rounds: usize,
}

impl Press {
    const BOLD: Self = Self { shorter: 0.01, eased: 1.0, failures: 3, bold: true, rounds: 50 };
    const CLOSE: Self = Self { shorter: 0.005, eased: 0.7, failures: 7, bold: false, rounds: 40 };
}

fn pressed(
    table: &mut Table<'_>,
    room: Bounds,
    best: &mut (f64, Vec<Spot>),
    press: Press,
    work: u64,
    chance: &mut Chance,
) {
    let (mut shorter, mut failures) = (press.shorter, 0);
    while failures < press.failures && table.work.get() < work {
        let floor = room.max.y - (room.max.y - best.0) * (1.0 - shorter);
        table.room = Bounds::new(point(room.min.x, floor), room.max);
        let fits = all_go_in(table);
        if fits {
            push_in(table);
        }
        if fits && separate(table, Patience { rounds: press.rounds, strikes: 2, work }, chance) {
            *best = (table.floor(), table.spots.clone());
            failures = 0;
            continue;
        }
        failures += 1;
        shorter *= press.eased;
        if press.bold && fits {
            change_places(table, chance);
        } else {
            table.put_all(&best.1);
            shorter *= 0.9;
        }
    }
}

/// Whether every piece has a turn that goes into the room.
fn all_go_in(table: &Table<'_>) -> bool {
    let room = table.room.size();
    table.pieces[table.fixed..].iter().all(|&kind| {
        table.kinds[kind].turns.iter().any(|turn| {
            turn.frame.width() <= room.width + ROUNDING && turn.frame.height() <= room.height + ROUNDING
        })
    })
}

/// What sticks out of the room comes in; what cannot in the turn it has takes one that can.
fn push_in(table: &mut Table<'_>) {
    for piece in table.fixed..table.pieces.len() {
        let kind = table.pieces[piece];
        let mut spot = table.spots[piece];
        let height = table.room.height() + ROUNDING;
        if table.frame(piece).height() > height {
            let turns = &table.kinds[kind].turns;
            let middle = table.frame(piece).center();
            if let Some(turn) = turns.iter().position(|turn| turn.frame.height() <= height) {
                spot = Spot { turn, at: middle - turns[turn].frame.center() };
            }
        }
        let spot = table.inside(kind, spot);
        table.put(piece, spot);
    }
}

/// Two pieces, one of the larger half and any other, change places.
fn change_places(table: &mut Table<'_>, chance: &mut Chance) {
    let mut movable: Vec<usize> = (table.fixed..table.pieces.len()).collect();
    if movable.len() < 2 {
        return;
    }
    movable.sort_by(|&a, &b| table.shape(b).area.total_cmp(&table.shape(a).area));
    let first = movable[chance.index(movable.len().div_ceil(2))];
    let second = movable[chance.index(movable.len())];
    let (from, to) = (table.frame(first).center(), table.frame(second).center());
    for (piece, step) in [(first, to - from), (second, from - to)] {
        let spot = table.spots[piece];
        let moved = table.inside(table.pieces[piece], Spot { at: spot.at + step, ..spot });
        table.put(piece, moved);
    }
}
