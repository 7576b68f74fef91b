//! The flat piece: colours, film edge, trim line, overhang, hold point, dimensions.
//!
//! As it lies on the bench, heading to the right, with its relief cuts. Left out:
//! the marks of the sheet.

use super::frame::{self, Frame, HALO, INK, PIN, WARN, stroke};
use super::svg::{self, Svg};
use crate::flow::{Make, Piece, Plan, ReliefCut};
use crate::outline::number::{said_mm, short};
use crate::outline::tab::tabbed;
use crate::outline::{Bounds, Point, Region, Vector, longer_side, point};
use crate::report::text::plain;
use crate::units::{Length, Model};

/// The picture's width and the most that a piece may take of its height, pixels.
const WIDTH: f64 = 360.0;
const TALLEST: f64 = 230.0;
/// Room for the height's dimension, and for the width's with the scale of things under it.
const LEFT: f64 = 34.0;
const RIGHT: f64 = 16.0;
const ABOVE: f64 = 30.0;
const BELOW: f64 = 30.0;

/// The flat piece. `title` is read aloud in its place.
pub fn flat(plan: &Plan, piece: &Piece, title: &str) -> String {
    let fit = &*piece.fit;
    let film = film(plan, piece);
    let (mut svg, frame) = sheet(film.bounds(), BELOW);
    let place = |p: Point| frame.at(p);
    svg.path(&svg::rings(&film, place), &[("class", "film")]);
    for area in &fit.artwork.areas {
        let region = area.outline.flattened(unseen(frame));
        svg.path(&svg::rings(&region, place), &[("fill", &plan.colours[area.colour.0].hex())]);
    }
    let silhouette = fit.artwork.silhouette.flattened(unseen(frame));
    svg.path(&svg::rings(&silhouette, place), &stroke(INK, "0.6"));
    for cut in fit.relief.iter().flat_map(|relief| &relief.cuts) {
        relief_cut(&mut svg, cut, place);
    }
    overhang(&mut svg, &in_picture(&fit.overhanging, place));
    for line in &fit.trim {
        trim_line(&mut svg, &line.iter().map(|&p| frame.at(p)).collect::<Vec<_>>());
    }
    if !fit.overhanging.is_empty() {
        let top = frame.around(fit.overhanging.bounds());
        let said = format!("{} past {}", said_mm(fit.overhang.to_mm()), plain(&fit.past.join(", ")));
        label(&mut svg, point(top.center().x, ABOVE - 10.0), &said, "word warn-word");
    }
    hold(&mut svg, frame.at(point(0.0, 0.0)), Vector::new(1.0, 0.0));
    let drawn = frame.around(silhouette.bounds());
    let outer = frame.around(film.bounds());
    let below = outer.max.y + 12.0;
    let mm = |mm: f64| format!("{} mm", short(mm, 2));
    frame::dimension(
        &mut svg,
        point(drawn.min.x, below),
        point(drawn.max.x, below),
        &mm(fit.size.width.to_mm()),
    );
    let beside = outer.min.x - 10.0;
    frame::dimension(
        &mut svg,
        point(beside, drawn.max.y),
        point(beside, drawn.min.y),
        &mm(fit.size.height.to_mm()),
    );
    svg.finish("img", title)
}

/// The picture's width where the piece in it is true to size, mm.
pub fn true_width(plan: &Plan, piece: &Piece) -> f64 {
    let (svg, frame) = sheet(film(plan, piece).bounds(), BELOW);
    svg.width() / frame.scale
}

/// An empty picture that shows `bounds` with room for `below` pixels under it.
pub fn sheet(bounds: Bounds, below: f64) -> (Svg, Frame) {
    let width = WIDTH - LEFT - RIGHT;
    let aspect = bounds.height() / bounds.width().max(1e-6);
    let tall = (width * aspect).clamp(8.0, TALLEST);
    let room = Bounds::new(point(LEFT, ABOVE), point(LEFT + width, ABOVE + tall));
    (Svg::new(WIDTH, ABOVE + tall + below), Frame::fitting(bounds, room))
}

/// Everything that is cut out: the artwork and the border of film round it.
fn film(plan: &Plan, piece: &Piece) -> Region<Model> {
    let wishes = &plan.markings[piece.marking.0].piece;
    let border = plan.border(piece).to_mm();
    let outline = &piece.fit.artwork.silhouette;
    let bounds = outline.bounds();
    // A tenth of a pixel where the piece fills the picture: nobody sees the chords.
    let silhouette = outline.flattened(longer_side(&bounds).max(1e-3) / 4000.0);
    match piece.make {
        Make::Mask => tabbed(silhouette.offset(border).filled(), wishes.tab),
        // What has a bleed is cut along its colour.
        Make::Decal if wishes.bleed.is_some_and(|bleed| bleed > Length::ZERO) => silhouette,
        _ if border > 0.0 => silhouette.offset(border),
        _ => silhouette,
    }
}

/// The chord error that nobody sees in this picture, mm.
pub fn unseen(frame: Frame) -> f64 {
    0.1 / frame.scale
}

/// A region in the picture's pixels.
pub fn in_picture(region: &Region<Model>, place: impl Fn(Point) -> Point) -> Region<Model> {
    Region::new(region.rings.iter().map(|ring| ring.iter().map(|&p| place(p)).collect()).collect())
}

/// Film past a limit, in pixels: hatched over light lines, so that it shows on any colour.
pub fn overhang(svg: &mut Svg, region: &Region<Model>) {
    let lines = frame::hatching(region, 7.0);
    svg.path(&lines, &stroke(HALO, "2.6"));
    svg.path(&lines, &stroke(WARN, "1.1"));
    svg.path(&svg::rings(region, |p| p), &stroke(WARN, "1"));
}

/// Where to cut, in pixels.
pub fn trim_line(svg: &mut Svg, points: &[Point]) {
    let line = svg::line(points);
    svg.path(&line, &stroke(HALO, "4"));
    let [class, width] = stroke(WARN, "2");
    svg.path(&line, &[class, width, ("stroke-dasharray", "6 3")]);
}

/// A slit as a line, a dart as the film that is taken out, its number outside.
fn relief_cut(svg: &mut Svg, cut: &ReliefCut<Model>, place: impl Fn(Point) -> Point) {
    let line: Vec<Point> = cut.line.iter().map(|&p| place(p)).collect();
    let [Some(&mouth), Some(&inner)] = [line.first(), line.get(1)] else { return };
    if cut.out.is_empty() {
        svg.path(&svg::line(&line), &stroke(HALO, "3.4"));
        svg.path(&svg::line(&line), &stroke(WARN, "1.6"));
    } else {
        let wedge = Region::<Model>::new(vec![cut.out.clone()]);
        svg.path(&svg::rings(&wedge, place), &[("class", "warn out"), ("stroke-width", "1.2")]);
    }
    let out = (mouth - inner).normalize() * 11.0;
    label(svg, mouth + out + Vector::new(0.0, 4.0), &cut.number.to_string(), "word");
}

/// The point that goes down first, in pixels, with an arrow along the heading: [`hold_mark`] put there.
pub fn hold(svg: &mut Svg, at: Point, heading: Vector) {
    svg.again_at(HOLD, at, heading);
}

const HOLD: &str = "hold";

/// The mark itself, which a page with such pictures must have.
pub fn hold_mark() -> String {
    let mut svg = Svg::new(0.0, 0.0);
    let mut mark = svg::line(&[point(-9.0, 0.0), point(16.0, 0.0)]);
    mark.line(&[point(0.0, -9.0), point(0.0, 9.0)]);
    mark.line(&[point(12.0, 3.0), point(16.0, 0.0), point(12.0, -3.0)]);
    for look in [stroke(HALO, "3"), stroke(PIN, "1")] {
        svg.path(&mark, &look);
        svg.circle(Point::origin(), 4.5, &look);
    }
    svg.group(HOLD)
}

/// Words near a pixel, kept within the picture.
pub fn label(svg: &mut Svg, at: Point, said: &str, class: &str) {
    // A letter of the picture's 11 px type is about 6 px wide.
    let half = said.chars().count() as f64 * 3.0;
    let x = at.x.min(svg.width() - half - 4.0).max(half + 4.0);
    let y = at.y.clamp(11.0, svg.height() - 4.0);
    svg.text(point(x, y), said, &[("class", class)]);
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;

    #[test]
    fn true_to_size_a_piece_is_as_wide_as_its_dimension_says() {
        let outcome = fixture::outcome();
        let piece = &outcome.scales[0].pieces[0];
        let text = flat(&outcome.plan, piece, "disc");
        let read = roxmltree::Document::parse(&text).unwrap();
        let bone = read.descendants().find(|n| n.attribute("fill") == Some("#efe9dc")).unwrap();
        let ring = fixture::read_path(bone.attribute("d").unwrap()).concat();
        let drawn = Bounds::from_points(ring).width();
        let mm = drawn * true_width(&outcome.plan, piece) / WIDTH;
        // 220 mm at 1/48; a tenth of a pixel is 2 µm here.
        assert!((mm - 220.0 / 48.0).abs() < 0.005, "{mm}");
    }

    #[test]
    fn the_flat_picture_carries_its_numbers_and_its_colours() {
        let outcome = fixture::outcome();
        let text = flat(&outcome.plan, &outcome.scales[0].pieces[0], "oversize");
        let read = roxmltree::Document::parse(&text).unwrap();
        let texts = read.descendants().filter(|n| n.has_tag_name("text"));
        let words: Vec<String> = texts.filter_map(|n| n.text()).map(str::to_owned).collect();
        // 220 mm at 1/48 is 4.58 mm, both ways; the overhang is 110 − 125 asin(65/125) = 41.6 mm, at 1/48 0.87.
        assert_eq!(words.iter().filter(|w| *w == "4.58 mm").count(), 2, "{words:?}");
        assert!(words.contains(&"0.87 mm past visor-edge".to_owned()), "{words:?}");
        assert!(read.descendants().any(|n| n.attribute("fill") == Some("#efe9dc")));
        assert!(read.descendants().any(|n| n.attribute("stroke-dasharray").is_some()), "trim is dashed");
    }
}
