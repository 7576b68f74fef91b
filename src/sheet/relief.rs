//! Relief cuts on the sheet: from the film's edge inwards, numbered outside it.
//!
//! The fit finds cuts on the artwork; the film reaches further by its border, so
//! a cut is led straight on to the film's own edge.

use super::ink;
use crate::flow::{Item, Piece, ReliefCut};
use crate::outline::{Point, Polyline, Region, Vector};
use crate::units::Model;

/// Capital height of a cut's number and its middle's distance from the film, mm.
const LETTER: f64 = 1.2;
const BESIDE: f64 = 1.3;

/// The film with its darts taken out.
pub fn without_darts(piece: &Piece, film: Region<Model>) -> Region<Model> {
    let wedges: Vec<Polyline> = cuts(piece)
        .filter(|cut| cut.out.len() > 2)
        .map(|cut| {
            let (out, last) = (&cut.out, cut.out.len() - 1);
            // Led on as the sides run: the last bit alone is as uneven as the net it was found on.
            let some = (out.len() / 8).max(1);
            let first = beyond(&film, out[0], (out[0] - out[some]).normalize());
            let back = beyond(&film, out[last], (out[last] - out[last - some]).normalize());
            // The film's edge may bulge between the two.
            let (edge, away) = mouth(&film, cut);
            let outside = edge + away * (back - first).length();
            std::iter::once(first).chain(out.iter().copied()).chain([back, outside]).collect()
        })
        .collect();
    if wedges.is_empty() { film } else { film.minus(&Region::new(wedges).cleaned()) }
}

/// Where nothing is taken out: lines for the knife.
pub fn slits(piece: &Piece, film: &Region<Model>) -> Vec<Polyline> {
    let slit = |cut: &ReliefCut<Model>| {
        let (edge, _) = mouth(film, cut);
        std::iter::once(edge).chain(cut.line.iter().copied()).collect()
    };
    cuts(piece).filter(|cut| cut.out.is_empty()).map(slit).collect()
}

/// Each cut's number, outside the film. `film` still has its darts.
pub fn numbers(piece: &Piece, film: &Region<Model>) -> Vec<Item> {
    let number = |cut: &ReliefCut<Model>| {
        let (edge, out) = mouth(film, cut);
        let digits = ink::text(&cut.number.to_string(), LETTER, 2.0 * BESIDE);
        // Clear of the ticks and the triangle on the axes.
        let on_axis = edge.x.abs().min(edge.y.abs()) < BESIDE;
        let aside = if on_axis { Vector::new(-out.y, out.x) * (1.2 * BESIDE) } else { Vector::zero() };
        let middle = edge + out * BESIDE + aside;
        ink::solid(digits.moved(middle - digits.bounds().center()))
    };
    cuts(piece).map(number).collect()
}

fn cuts(piece: &Piece) -> impl Iterator<Item = &ReliefCut<Model>> {
    piece.fit.relief.iter().flat_map(|relief| &relief.cuts).filter(|cut| cut.line.len() > 1)
}

/// Where a cut led straight on leaves the film, and the direction out.
fn mouth(film: &Region<Model>, cut: &ReliefCut<Model>) -> (Point, Vector) {
    let out = (cut.line[0] - cut.line[1]).normalize();
    (cut.line[0] + out * way_out(film, cut.line[0], out), out)
}

/// A point safely past the film's edge on the way out.
fn beyond(film: &Region<Model>, from: Point, out: Vector) -> Point {
    from + out * (1.01 * way_out(film, from, out) + 0.01)
}

fn way_out(film: &Region<Model>, from: Point, out: Vector) -> f64 {
    let meets = |(a, b): (Point, Point)| {
        let edge = b - a;
        let slant = out.cross(edge);
        let (way, share) = ((a - from).cross(edge) / slant, (a - from).cross(out) / slant);
        (way >= 0.0 && (0.0..=1.0).contains(&share)).then_some(way)
    };
    let way = film.edges().filter_map(meets).fold(f64::INFINITY, f64::min);
    if way.is_finite() { way } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::{Outline, point};

    #[test]
    fn a_cut_is_led_on_to_the_film_s_edge() {
        let film: Region<Model> = Outline::rectangle(point(0.0, 0.0), 20.0, 10.0).flattened(1.0);
        let cut = ReliefCut {
            number: 1,
            line: vec![point(3.0, 4.0), point(3.0, 1.0)],
            lap: crate::units::Length::mm(0.2),
            out: Vec::new(),
        };
        let (edge, out) = mouth(&film, &cut);
        assert!((edge - point(3.0, 5.0)).length() < 1e-12 && (out - Vector::new(0.0, 1.0)).length() < 1e-12);
    }
}
