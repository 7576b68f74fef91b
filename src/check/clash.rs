//! `clash`: two markings of a part meet, and neither says that it lies `over` the other.
//!
//! The film of each is compared where it lies on the part: boxes first, then triangles,
//! each pair clipped in the plane of one of them. What that gets wrong is the turn of the
//! part within a triangle, second order in its size.

use super::VISIBLE_MM;
use crate::flow::{Code, Film3, Finding, Piece, Plan, Severity};
use crate::outline::number::{said_share, short};
use glam::{DVec2, DVec3};
use std::collections::BTreeMap;

/// Film that shares less than this with the smaller of the two only touches.
const TOUCH: f64 = 1e-3;

/// Every pair of markings that meet unasked, in the order of the plan.
pub fn clashes(plan: &Plan, pieces: &[Piece]) -> Vec<Finding> {
    // Copies and makes of a marking lie in the same place: one stands for all.
    let mut firsts: BTreeMap<usize, &Piece> = BTreeMap::new();
    for piece in pieces {
        firsts.entry(piece.marking.0).or_insert(piece);
    }
    let mut laid: Vec<(&Piece, Box3)> =
        firsts.into_values().filter_map(|piece| Some((piece, Box3::of(&piece.fit.film.laid)?))).collect();
    laid.sort_by(|a, b| a.1.least.x.total_cmp(&b.1.least.x));
    let mut found: Vec<([usize; 2], Finding)> = Vec::new();
    for (k, (one, box_of_one)) in laid.iter().enumerate() {
        let near = laid[k + 1..].iter().take_while(|(_, other)| other.least.x <= box_of_one.most.x);
        for (other, box_of_other) in near {
            let unasked = one.part == other.part && !asked(plan, one, other);
            if unasked && box_of_one.meets(box_of_other) {
                found.extend(clash(plan, one, other));
            }
        }
    }
    found.sort_by_key(|(pair, _)| *pair);
    found.into_iter().map(|(_, finding)| finding).collect()
}

fn asked(plan: &Plan, one: &Piece, other: &Piece) -> bool {
    let over = |a: &Piece, b: &Piece| plan.markings[a.marking.0].over.contains(&b.marking);
    over(one, other) || over(other, one)
}

fn clash(plan: &Plan, one: &Piece, other: &Piece) -> Option<([usize; 2], Finding)> {
    let (first, second) = if one.marking < other.marking { (one, other) } else { (other, one) };
    let shared = shared_area(&first.fit.film, &second.fit.film);
    let [area, smaller] = {
        let areas = [first, second].map(|piece| area(&piece.fit.film));
        [areas[1], areas[0].min(areas[1])]
    };
    // A strip too narrow to be seen, as long as the smaller piece.
    if shared <= (TOUCH * smaller).max(VISIBLE_MM * smaller.sqrt()) {
        return None;
    }
    let [under, name] = [first, second].map(|piece| &plan.markings[piece.marking.0].name);
    let finding = Finding {
        code: Code::Clash,
        severity: Severity::Warning,
        text: format!(
            "`{name}` meets `{under}` on `{}`: {} mm² of film lies double, {} of `{name}`",
            plan.parts[second.part.0].name,
            short(shared, if shared < 10.0 { 2 } else { 0 }),
            said_share((shared / area).min(1.0)),
        ),
        help: format!("move one of the two; or, if it is wanted, write `over: {under}` with `{name}`"),
        at: plan.markings[second.marking.0].at.clone(),
    };
    Some(([first.marking.0, second.marking.0], finding))
}

/// An axis-parallel box in space.
#[derive(Clone, Copy, Debug)]
struct Box3 {
    least: DVec3,
    most: DVec3,
}

impl Box3 {
    fn of(points: &[DVec3]) -> Option<Self> {
        let first = *points.first()?;
        let (least, most) =
            points.iter().fold((first, first), |(least, most), p| (least.min(*p), most.max(*p)));
        Some(Self { least, most })
    }

    fn meets(&self, other: &Self) -> bool {
        self.least.cmple(other.most).all() && other.least.cmple(self.most).all()
    }

    fn grown(self, by: f64) -> Self {
        Self { least: self.least - by, most: self.most + by }
    }
}

fn corners(film: &Film3, triangle: &[u32; 3]) -> [DVec3; 3] {
    triangle.map(|k| film.laid[k as usize])
}

/// Twice the area, times the unit normal.
fn across([a, b, c]: [DVec3; 3]) -> DVec3 {
    (b - a).cross(c - a)
}

fn area(film: &Film3) -> f64 {
    film.triangles.iter().map(|triangle| across(corners(film, triangle)).length() / 2.0).sum()
}

fn longest([a, b, c]: [DVec3; 3]) -> f64 {
    (b - a).length().max((c - b).length()).max((a - c).length())
}

/// The area of film that lies on the other's, mm².
pub fn shared_area(one: &Film3, other: &Film3) -> f64 {
    let (Some(box_of_one), Some(box_of_other)) = (Box3::of(&one.laid), Box3::of(&other.laid)) else {
        return 0.0;
    };
    let within = |film: &Film3, room: Box3| -> Vec<[DVec3; 3]> {
        let all = film.triangles.iter().map(|triangle| corners(film, triangle));
        all.filter(|t| Box3::of(t).is_some_and(|own| own.meets(&room))).collect()
    };
    let reach = |film: &Film3| film.triangles.iter().map(|t| longest(corners(film, t))).fold(0.0, f64::max);
    // Two nets on one bent part lie apart by less than a part of a triangle.
    let apart = reach(one).max(reach(other)) / 2.0;
    let (ones, others) = (within(one, box_of_other.grown(apart)), within(other, box_of_one.grown(apart)));
    let cell = (2.0 * apart).max(f64::MIN_POSITIVE);
    let cells_of = |t: &[DVec3; 3]| {
        let room = Box3::of(t).unwrap_or(Box3 { least: t[0], most: t[0] }).grown(apart / 2.0);
        let [low, high] =
            [room.least, room.most].map(|p| (p / cell).floor().to_array().map(|step| step as i64));
        (low[0]..=high[0]).flat_map(move |x| {
            (low[1]..=high[1]).flat_map(move |y| (low[2]..=high[2]).map(move |z| [x, y, z]))
        })
    };
    let mut cells: BTreeMap<[i64; 3], Vec<usize>> = BTreeMap::new();
    for (k, triangle) in others.iter().enumerate() {
        for cell in cells_of(triangle) {
            cells.entry(cell).or_default().push(k);
        }
    }
    let mut asked = vec![usize::MAX; others.len()];
    let mut sum = 0.0;
    for (k, triangle) in ones.iter().enumerate() {
        for &other in cells_of(triangle).filter_map(|cell| cells.get(&cell)).flatten() {
            if std::mem::replace(&mut asked[other], k) != k {
                sum += lapped(triangle, &others[other]);
            }
        }
    }
    sum
}

/// The area that two triangles share, seen square to the first.
fn lapped(one: &[DVec3; 3], other: &[DVec3; 3]) -> f64 {
    let (normal, other_normal) = (across(*one).normalize_or_zero(), across(*other).normalize_or_zero());
    let lift = (other[0] + other[1] + other[2] - one[0] - one[1] - one[2]).dot(normal) / 3.0;
    // The far side of a thin part turns the other way.
    if normal.dot(other_normal) < 0.5 || lift.abs() > longest(*one).max(longest(*other)) / 2.0 {
        return 0.0;
    }
    let x = (one[1] - one[0]).normalize_or_zero();
    let y = normal.cross(x);
    let flat = |p: &DVec3| DVec2::new((*p - one[0]).dot(x), (*p - one[0]).dot(y));
    let (edges, mut polygon) = (one.each_ref().map(flat), other.iter().map(flat).collect::<Vec<_>>());
    // Sutherland and Hodgman, Comm. ACM 17 (1974) 32.
    for k in 0..3 {
        let (a, b) = (edges[k], edges[(k + 1) % 3]);
        let inside = |p: DVec2| (b - a).perp_dot(p - a);
        let mut kept = Vec::with_capacity(6);
        for (i, &p) in polygon.iter().enumerate() {
            let q = polygon[(i + 1) % polygon.len()];
            let (at_p, at_q) = (inside(p), inside(q));
            if at_p >= 0.0 {
                kept.push(p);
            }
            if (at_p >= 0.0) != (at_q >= 0.0) {
                kept.push(p.lerp(q, at_p / (at_p - at_q)));
            }
        }
        polygon = kept;
    }
    let next = polygon.iter().cycle().skip(1);
    (polygon.iter().zip(next).map(|(p, q)| p.perp_dot(*q)).sum::<f64>() / 2.0).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A net of right triangles over a rectangle, rolled round a tube of this radius about x.
    fn sheet([x, y]: [f64; 2], [width, height]: [f64; 2], count: u32, radius: f64) -> Film3 {
        let mut film = Film3::default();
        for i in 0..=count {
            for j in 0..=count {
                let share = |k: u32| f64::from(k) / f64::from(count);
                let (along, round) = (x + width * share(i), y + height * share(j));
                let (sin, cos) = libm::sincos(round / radius);
                film.laid.push(DVec3::new(along, -radius * sin, radius * cos));
                if i > 0 && j > 0 {
                    let here = i * (count + 1) + j;
                    let before = here - count - 1;
                    film.triangles.extend([[before - 1, here - 1, here], [before - 1, here, before]]);
                }
            }
        }
        // Counter-clockwise seen from outside: x aft, y to the left, on top of the tube.
        film.triangles.iter_mut().for_each(|t| t.swap(1, 2));
        if across(corners(&film, &film.triangles[0])).z < 0.0 {
            film.triangles.iter_mut().for_each(|t| t.swap(1, 2));
        }
        film
    }

    #[test]
    fn the_area_shared_is_that_of_plane_geometry() {
        for radius in [1e6, 30.0] {
            let one = sheet([0.0, 0.0], [20.0, 10.0], 13, radius);
            let area = |at, size, count| shared_area(&one, &sheet(at, size, count, radius));
            let near =
                |found: f64, wanted: f64| assert!((found - wanted).abs() < 2e-3 * wanted, "{found} {wanted}");
            near(area([15.0, 4.0], [20.0, 10.0], 17), 5.0 * 6.0);
            near(area([5.0, 2.0], [3.0, 3.0], 5), 9.0);
            assert!(area([20.0, 0.0], [5.0, 10.0], 7) < 1e-6, "side by side");
            assert_eq!(area([40.0, 0.0], [5.0, 10.0], 7), 0.0);
        }
    }

    #[test]
    fn the_far_side_of_a_tube_is_another_place() {
        let radius = 3.0;
        let top = sheet([0.0, -1.0], [10.0, 2.0], 6, radius);
        let below = sheet([0.0, -1.0 + std::f64::consts::PI * radius], [10.0, 2.0], 6, radius);
        assert_eq!(shared_area(&top, &below), 0.0);
    }
}
