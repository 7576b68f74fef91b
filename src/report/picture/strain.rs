//! How far the film gives, as a field on the flat piece.
//!
//! In five steps by what its film bears: up to half of what it gives as it is, up
//! to all of it, two steps of softened film, and past that, which is hatched as
//! well. The scale names the steps for stretch and squeeze; the worst place is
//! ringed and says its number. Triangles are averaged at their corners, which
//! draws smooth edges and rounds off the last peak: the ring is on the true one.

use super::clip;
use super::flat::{hold, in_picture, label, overhang, sheet, unseen};
use super::frame::{Frame, HALO, INK, PIN, stroke};
use super::svg::{self, Svg};
use crate::flow::{Film, Film3, Make, Piece, Plan, hex};
use crate::outline::number::{said_share, short};
use crate::outline::{Region, Vector, point};
use crate::report::sentence;
use crate::units::Model;

/// From paper to a deep blue-green: one hue, each step darker, so that it reads in grey too.
pub const SHADES: [[u8; 3]; 5] =
    [[230, 238, 238], [185, 211, 212], [127, 176, 181], [63, 128, 137], [22, 78, 88]];
/// Room for the scale under the field.
const BELOW: f64 = 62.0;

/// Where a film's steps end, as shares: for stretch and for squeeze.
pub fn steps(film: &Film) -> [[f64; 4]; 2] {
    let of = |plain: f64, softened: f64| [plain / 2.0, plain, (plain + softened) / 2.0, softened];
    [of(film.plain.stretch, film.softened.stretch), of(film.plain.squeeze, film.softened.squeeze)]
}

/// The field; `None` where all of it would be written as 0 %.
pub fn strain(plan: &Plan, piece: &Piece, title: &str) -> Option<String> {
    let film = &piece.fit.film;
    if film.triangles.is_empty() || sentence::unstrained(piece) {
        return None;
    }
    let steps = steps(plan.films.of(piece.make));
    let field = field(film, steps);
    let (mut svg, frame) = sheet(piece.fit.artwork.silhouette.bounds(), BELOW);
    let silhouette = piece.fit.artwork.silhouette.flattened(unseen(frame));
    for (k, shade) in SHADES.into_iter().enumerate() {
        // Each step over the ones before it, so that no seam shows between them.
        let region =
            if k == 0 { silhouette.clone() } else { from_step(film, &field, k).intersection(&silhouette) };
        svg.path(&svg::rings(&region, |p| frame.at(p)), &[("fill", &hex(shade))]);
        if k == SHADES.len() - 1 {
            overhang(&mut svg, &in_picture(&region, |p| frame.at(p)));
        }
    }
    svg.path(&svg::rings(&silhouette, |p| frame.at(p)), &stroke(INK, "0.6"));
    hold(&mut svg, frame.at(point(0.0, 0.0)), Vector::new(1.0, 0.0));
    worst_place(&mut svg, piece, steps, frame);
    let below = point(0.0, svg.height() - BELOW);
    svg.again_at(&scale_name(piece.make), below, Vector::new(1.0, 0.0));
    Some(svg.finish("img", title))
}

/// Where an amount stands among the steps: 1 at the end of the first, 1.5 halfway through the second.
fn position(amount: f64, ends: [f64; 4]) -> f64 {
    let starts = [0.0, ends[0], ends[1], ends[2]];
    // A step without length (softened film that gives no more) is passed at once.
    let through = |(start, end): (f64, f64)| ((amount - start) / (end - start).max(1e-9)).clamp(0.0, 1.0);
    let past = (amount - ends[3]).max(0.0) / ends[3].max(1e-9);
    starts.into_iter().zip(ends).map(through).sum::<f64>() + past
}

/// The position at every vertex: the mean of its triangles, by area.
pub fn field(film: &Film3, steps: [[f64; 4]; 2]) -> Vec<f64> {
    at_corners(film, |[most, least]| position(most - 1.0, steps[0]).max(position(1.0 - least, steps[1])))
}

/// A value of the triangles' stretches at every vertex: the mean of its triangles, by area.
pub fn at_corners(film: &Film3, value: impl Fn([f64; 2]) -> f64) -> Vec<f64> {
    let mut sums = vec![(0.0, 0.0); film.flat.len()];
    for (triangle, &stretches) in film.triangles.iter().zip(&film.stretches) {
        let [a, b, c] = triangle.map(|k| film.flat[k as usize]);
        let area = (b - a).cross(c - a).abs();
        let at = value(stretches);
        for &k in triangle {
            let sum = &mut sums[k as usize];
            *sum = (sum.0 + area * at, sum.1 + area);
        }
    }
    sums.into_iter().map(|(sum, area)| if area > 0.0 { sum / area } else { 0.0 }).collect()
}

/// Where the film is past the end of step `k`, counting from 1.
fn from_step(film: &Film3, field: &[f64], k: usize) -> Region<Model> {
    let over = |vertex: u32| (film.flat[vertex as usize], field[vertex as usize] - k as f64);
    let rings = film.triangles.iter().filter_map(|triangle| clip::positive(&triangle.map(over)));
    clip::joined(&rings.collect::<Vec<_>>())
}

/// A ring round the triangle that comes nearest to its film's limit, with the strain reported there.
fn worst_place(svg: &mut Svg, piece: &Piece, steps: [[f64; 4]; 2], frame: Frame) {
    let film = &piece.fit.film;
    let [stretch, squeeze] = [steps[0][3], steps[1][3]];
    let share = |&[most, least]: &[f64; 2]| ((most - 1.0) / stretch).max((1.0 - least) / squeeze);
    let worst = film.stretches.iter().enumerate().map(|(k, s)| (share(s), k));
    let (_, k) = worst.fold((f64::NEG_INFINITY, 0), |a, b| if b.0 > a.0 { b } else { a });
    let corner = |n: usize| film.flat[film.triangles[k][n] as usize].to_vector();
    let at = frame.at(((corner(0) + corner(1) + corner(2)) / 3.0).to_point());
    svg.circle(at, 6.0, &stroke(HALO, "3.5"));
    svg.circle(at, 6.0, &stroke(PIN, "1.4"));
    let strain = &piece.fit.strain;
    let said = if strain.stretch_max / stretch > -strain.squeeze_max / squeeze {
        format!("worst: stretched {}", said_share(strain.stretch_max))
    } else {
        format!("worst: squeezed {}", said_share(-strain.squeeze_max))
    };
    // Over the ring, or over the whole piece where that is near.
    let top = frame.around(piece.fit.artwork.silhouette.bounds()).min.y;
    let y = if at.y - top < 24.0 { top - 8.0 } else { at.y - 11.0 };
    label(svg, point(at.x, y), &said, "word");
}

fn scale_name(make: Make) -> String {
    format!("scale-{}", make.word())
}

/// Swatches with the ends of their steps, stretch over squeeze: one for each film, which a page with such
/// pictures must have.
pub fn scale(plan: &Plan, make: Make) -> String {
    let steps = steps(plan.films.of(make));
    let mut svg = Svg::new(0.0, 0.0);
    let (left, wide, high, top) = (70.0, 54.0, 10.0, 20.0);
    for (k, shade) in SHADES.into_iter().enumerate() {
        let x = left + wide * k as f64;
        let corners =
            [point(x, top), point(x + wide, top), point(x + wide, top + high), point(x, top + high)];
        let swatch = Region::<Model>::new(vec![corners.to_vec()]);
        svg.path(&svg::rings(&swatch, |p| p), &[("class", "swatch"), ("fill", &hex(shade))]);
        if k == SHADES.len() - 1 {
            overhang(&mut svg, &swatch);
        }
    }
    for (words_at, said) in [(1.0, "as it is"), (3.0, "softened"), (4.5, "too far")] {
        svg.text(point(left + wide * words_at, top - 4.0), said, &[("class", "word small")]);
    }
    for (row, name) in ["stretch, %", "squeeze, %"].into_iter().enumerate() {
        let y = top + high + 12.0 * (row + 1) as f64;
        svg.text(point(left - 10.0, y), name, &[("class", "word small end")]);
        for (k, end) in steps[row].iter().enumerate() {
            let at = point(left + wide * (k + 1) as f64, y);
            svg.text(at, &short(end * 100.0, 2), &[("class", "word small")]);
        }
    }
    svg.group(&scale_name(make))
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;

    #[test]
    fn a_disc_in_the_polar_layout_is_worst_at_its_rim_and_a_plate_has_no_field() {
        let outcome = fixture::outcome();
        let pieces = &outcome.scales[0].pieces;
        let text = strain(&outcome.plan, &pieces[0], "no").unwrap();
        // sin(0.88)/0.88 − 1 = −12.4 % (Snyder, USGS PP 1395: hoop scale c/sin c of the polar layout).
        let squeezed = pieces[0].fit.strain.squeeze_max;
        assert!((squeezed - libm::sin(0.88) / 0.88 + 1.0).abs() < 5e-4, "{squeezed}");
        assert!(text.contains("worst: squeezed 12 %"), "no such words");
        let scale = scale(&outcome.plan, pieces[0].make);
        for colour in SHADES.map(hex) {
            assert!(scale.contains(&colour), "{colour}");
        }
        assert!(text.contains(" href=\"#scale-decal\"") && scale.starts_with("<g id=\"scale-decal\">"));
        assert_eq!(strain(&outcome.plan, &pieces[2], "flat"), None);
    }

    #[test]
    fn steps_end_where_the_film_gives_out() {
        let film = crate::flow::Films::default().decal;
        assert_eq!(steps(&film)[0].map(|v| crate::outline::number::rounded(v, 6)), [0.005, 0.01, 0.03, 0.05]);
    }

    #[test]
    fn positions_run_through_the_steps() {
        let ends = [0.005, 0.01, 0.03, 0.05];
        for (amount, wanted) in [(0.0, 0.0), (0.0025, 0.5), (0.01, 2.0), (0.02, 2.5), (0.05, 4.0), (0.1, 5.0)]
        {
            assert!((position(amount, ends) - wanted).abs() < 1e-9, "{amount}");
        }
        assert_eq!(position(-0.01, ends), 0.0);
    }
}
