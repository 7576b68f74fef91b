//! Paper millimetres, y up, to a picture's pixels, y down; dimension arrows, scale bars, hatching.

use super::svg::{self, Path, Svg};
use crate::outline::number::short;
use crate::outline::{Bounds, Point, Region, Vector, point};
use crate::units::World;

/// Lines a person reads.
pub const INK: (&str, &str) = ("class", "ink");
/// Lines that stand back.
pub const DIM: (&str, &str) = ("class", "dim");
/// Lines on plastic and paint, which look the same on dark paper.
pub const PIN: (&str, &str) = ("class", "pin");
/// Where something runs past a limit, on plastic and paint too.
pub const WARN: (&str, &str) = ("class", "warn");

/// Light under lines that lie on any colour.
pub const HALO: (&str, &str) = ("class", "halo");

/// Words about the place they are put at; `start` and `end` are classes for those that begin or end there.
pub const WORD: [(&str, &str); 1] = [("class", "word")];

/// Looks for lines of these classes, whose colours a style sheet has.
pub fn stroke<'a>(class: (&'a str, &'a str), width: &'a str) -> [(&'a str, &'a str); 2] {
    [class, ("stroke-width", width)]
}

/// A similarity from paper to picture.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    /// Pixels a millimetre.
    pub scale: f64,
    /// The picture's pixel at the paper's origin.
    origin: Vector,
}

impl Frame {
    /// Shows `bounds` as large as it goes within `room` (pixels), centred there.
    pub fn fitting(bounds: Bounds, room: Bounds) -> Self {
        // A box without width or height must not divide by nothing; a micrometre is no size.
        let scale = (room.width() / bounds.width().max(1e-3)).min(room.height() / bounds.height().max(1e-3));
        let middle = bounds.center();
        let origin = room.center().to_vector() - Vector::new(middle.x, -middle.y) * scale;
        Self { scale, origin }
    }

    /// Where a paper point is drawn.
    pub fn at(self, p: Point) -> Point {
        point(p.x * self.scale, -p.y * self.scale) + self.origin
    }

    /// The picture's box of a paper box.
    pub fn around(self, bounds: Bounds) -> Bounds {
        Bounds::from_points([self.at(bounds.min), self.at(bounds.max)])
    }
}

/// A dimension line between two pixels with the length written at its middle.
pub fn dimension(svg: &mut Svg, from: Point, to: Point, label: &str) {
    let along = (to - from) / (to - from).length().max(1e-9);
    let across = Vector::new(-along.y, along.x);
    let mut lines = Path::default();
    lines.line(&[from, to]);
    for (tip, inward) in [(from, along), (to, -along)] {
        lines.line(&[tip + inward * 6.0 + across * 2.5, tip, tip + inward * 6.0 - across * 2.5]);
        lines.line(&[tip - across * 4.0, tip + across * 4.0]);
    }
    svg.path(&lines, &stroke(INK, "0.8"));
    let middle = from.lerp(to, 0.5);
    if along.x.abs() > along.y.abs() {
        svg.text(middle + Vector::new(0.0, 14.0), label, &WORD);
    } else {
        let turn = format!("rotate(-90 {} {})", svg::number(middle.x - 5.0), svg::number(middle.y));
        svg.text(middle - Vector::new(5.0, 0.0), label, &[WORD[0], ("transform", &turn)]);
    }
}

/// A bar of a round length, about a quarter of `room` pixels, its left end at `at`.
pub fn scale_bar(svg: &mut Svg, frame: Frame, at: Point, room: f64) {
    let length = round_length(room / 4.0 / frame.scale);
    let end = at + Vector::new(length * frame.scale, 0.0);
    let tick = Vector::new(0.0, 3.0);
    let mut bar = svg::line(&[at - tick, at + tick]);
    bar.line(&[at, end]);
    bar.line(&[end - tick, end + tick]);
    svg.path(&bar, &stroke(INK, "1.2"));
    svg.text(end + Vector::new(6.0, 4.0), &format!("{} mm", short(length, 3)), &[("class", "word start")]);
}

/// The greatest of 1, 2, 5, 10, 20, … (and their fractions) that is not greater.
fn round_length(most: f64) -> f64 {
    let decade = libm::exp10(libm::floor(libm::log10(most.max(1e-6))));
    [5.0, 2.0].into_iter().map(|step| step * decade).find(|&length| length <= most).unwrap_or(decade)
}

/// Lines at 45 degrees across a region given in pixels, `gap` apart, within its edges.
pub fn hatching<W: World>(region: &Region<W>, gap: f64) -> Path {
    let mut lines = Path::default();
    // Along u = x + y a hatch line is where u is constant; v = y − x runs along it.
    let (u, v) = (|p: Point| p.x + p.y, |p: Point| p.y - p.x);
    let all = || region.rings.iter().flatten().map(|&p| u(p));
    let (least, most) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    let first = (least / gap).ceil();
    let count = ((most / gap).floor() - first + 1.0).clamp(0.0, 2000.0) as usize;
    for k in 0..count {
        let level = (first + k as f64) * gap;
        let mut crossings: Vec<f64> = region
            .edges()
            .filter(|&(a, b)| (u(a) <= level) != (u(b) <= level))
            .map(|(a, b)| v(a.lerp(b, (level - u(a)) / (u(b) - u(a)))))
            .collect();
        crossings.sort_by(f64::total_cmp);
        // Clean regions do not overlap, so crossings alternate between in and out.
        for span in crossings.chunks_exact(2) {
            lines.line(&[
                point(level - span[0], level + span[0]) / 2.0,
                point(level - span[1], level + span[1]) / 2.0,
            ]);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;
    use crate::outline::Outline;
    use crate::units::Model;

    #[test]
    fn bars_have_round_lengths() {
        assert_eq!(
            [round_length(7.3), round_length(0.24), round_length(1.0), round_length(26.0)],
            [5.0, 0.2, 1.0, 20.0]
        );
    }

    #[test]
    fn frames_turn_the_paper_over_and_fill_the_room() {
        let bounds = Bounds::new(point(-10.0, -5.0), point(30.0, 5.0));
        let frame = Frame::fitting(bounds, Bounds::new(point(0.0, 0.0), point(400.0, 300.0)));
        assert_eq!(frame.at(point(-10.0, 0.0)), point(0.0, 150.0));
        assert_eq!(frame.at(point(30.0, 5.0)), point(400.0, 100.0));
    }

    #[test]
    fn hatching_stays_out_of_holes() {
        let ring: Region<Model> = Outline::ring(point(50.0, 50.0), 20.0, 40.0).flattened(0.01);
        let mut svg = Svg::new(1.0, 1.0);
        svg.path(&hatching(&ring, 5.0), &[]);
        let text = svg.finish("img", "");
        let lines = fixture::read_path(text.split("d=\"").nth(1).unwrap().split('"').next().unwrap());
        assert!(lines.len() > 10);
        for line in lines {
            let r = (line[0].lerp(line[1], 0.5) - point(50.0, 50.0)).length();
            assert!((19.9..=40.1).contains(&r), "{r}");
        }
    }
}
