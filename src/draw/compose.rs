//! Drawings made of drawings: grouped, cut, edged, repeated, mirrored, turned, moved.
//!
//! A mirror is carried down to the single kinds, so that lettering can stay
//! readable: of lettering only the place is mirrored.

use super::stack::{Grain, each, stacked};
use crate::flow::{Area, Artwork, Change, Draw, Edge, EdgeWidth};
use crate::outline::{Outline, Region, Segment, Vector};
use crate::units::{Full, Length};
use std::f64::consts::TAU;

/// Draws anything; `mirrored` is left and right changed over.
pub fn drawn(draw: &Draw, mirrored: bool) -> Artwork<Full> {
    match draw {
        Draw::Group(items) => {
            let items: Vec<_> = items.iter().map(|item| drawn(item, mirrored)).collect();
            stacked(&items)
        }
        Draw::Changed { draw, changes } => changed(draw, changes, mirrored),
        kind => {
            let artwork = super::kind(kind);
            match (mirrored, kind.is_lettering()) {
                (false, _) => artwork,
                (true, false) => artwork.mapped(Outline::mirrored),
                (true, true) => {
                    let across = Vector::new(-2.0 * artwork.silhouette.bounds().center().x, 0.0);
                    artwork.mapped(|outline| outline.moved(across))
                }
            }
        }
    }
}

/// The last change is the outermost: a mirror after it is a mirror of what it changed.
fn changed(draw: &Draw, changes: &[Change], mirrored: bool) -> Artwork<Full> {
    let Some((last, before)) = changes.split_last() else { return drawn(draw, mirrored) };
    let below = || changed(draw, before, mirrored);
    let sign = if mirrored { -1.0 } else { 1.0 };
    let step = |along: Length<Full>, across: Length<Full>| Vector::new(sign * along.to_mm(), across.to_mm());
    match last {
        Change::Mirror => changed(draw, before, !mirrored),
        Change::CutOut(cutter) => {
            let (artwork, cutter) = (below(), form(drawn(cutter, mirrored)));
            let grain = Grain::of([&artwork.silhouette, &cutter]);
            let cutter = grain.shape(&cutter);
            each(&artwork, grain, |shape| grain.without(shape, &[&cutter]))
        }
        Change::Clip(window) => {
            let (artwork, window) = (below(), form(drawn(window, mirrored)));
            let grain = Grain::of([&artwork.silhouette, &window]);
            let window = grain.shape(&window);
            each(&artwork, grain, |shape| grain.within(shape, &window))
        }
        Change::Outline(edge) => outline(&below(), edge),
        Change::Border(edge) => border(below(), edge),
        Change::Line { count, along, across } => {
            let (artwork, step) = (below(), step(*along, *across));
            let place = |k: u32| f64::from(k) - f64::from(count - 1) / 2.0;
            let copy = |k: u32| artwork.mapped(|outline| outline.moved(step * place(k)));
            stacked(&(0..*count).map(copy).collect::<Vec<_>>())
        }
        Change::Ring { count, diameter, upright } => {
            let (artwork, up) = (below(), Vector::new(0.0, diameter.to_mm() / 2.0));
            let angle = |k: u32| sign * TAU * f64::from(k) / f64::from(*count);
            let copy = |k: u32| {
                artwork.mapped(|outline| match upright {
                    true => outline.moved(crate::outline::turned(up, angle(k))),
                    false => outline.moved(up).turned(angle(k)),
                })
            };
            stacked(&(0..*count).map(copy).collect::<Vec<_>>())
        }
        Change::Turn(angle) => below().mapped(|outline| outline.turned(sign * angle.to_radians())),
        Change::Move { along, across } => {
            let step = step(*along, *across);
            below().mapped(|outline| outline.moved(step))
        }
    }
}

/// What a drawing covers, where that is less than its ground: letters and not their field.
fn form(artwork: Artwork<Full>) -> Outline<Full> {
    let outlines = || artwork.areas.iter().map(|area| &area.outline);
    let grain = Grain::of(outlines());
    let shapes: Vec<_> = outlines().map(|outline| grain.shape(outline)).collect();
    let painted: f64 = shapes.iter().map(|shape| shape.region().area()).sum();
    // Flattening takes far less than a thousandth from either.
    if painted > 0.999 * grain.shape(&artwork.silhouette).region().area() {
        return artwork.silhouette;
    }
    grain.joined(shapes.iter().collect()).0
}

fn width_of(edge: &Edge, silhouette: &Outline<Full>) -> f64 {
    match edge.width {
        EdgeWidth::Wide(width) => width.to_mm(),
        EdgeWidth::Share(share) => {
            let bounds = silhouette.bounds();
            share * bounds.width().min(bounds.height())
        }
    }
}

fn outline(artwork: &Artwork<Full>, edge: &Edge) -> Artwork<Full> {
    let silhouette = &artwork.silhouette;
    let inner = grown(silhouette, -width_of(edge, silhouette), edge.round);
    let mut line = silhouette.clone();
    line.extend(&inner.reversed());
    super::plain(line, edge.colour)
}

fn border(artwork: Artwork<Full>, edge: &Edge) -> Artwork<Full> {
    let outer = grown(&artwork.silhouette, width_of(edge, &artwork.silhouette), edge.round);
    let mut line = outer.clone();
    line.extend(&artwork.silhouette.reversed());
    let below = Area { colour: edge.colour, outline: line };
    // A border in a colour of the drawing is one area with it.
    if artwork.areas.iter().any(|area| area.colour == edge.colour) {
        let ground = super::plain(outer, edge.colour);
        return stacked(&[ground, artwork]);
    }
    Artwork { areas: std::iter::once(below).chain(artwork.areas).collect(), silhouette: outer, repeat: None }
}

/// Grown all round (shrunk where negative); circles stay circles.
fn grown(outline: &Outline<Full>, distance: f64, round: bool) -> Outline<Full> {
    if let [contour] = &outline.contours[..]
        && let Some(Segment::Arc { centre, .. }) = contour.segments.first()
        && contour.segments.iter().all(|s| matches!(s, Segment::Arc { centre: c, .. } if c == centre))
        && contour.signed_area() > 0.0
        && contour.segments.last().map(Segment::to) == Some(contour.start)
    {
        let radius = (contour.start - *centre).length() + distance;
        return if radius > 0.0 { Outline::circle(*centre, radius) } else { Outline::new(Vec::new()) };
    }
    let region: Region<Full> = Grain::of([outline]).shape(outline).into_region();
    let offset = if round { region.offset(distance) } else { region.offset_sharp(distance) };
    offset.to_outline()
}

#[cfg(test)]
mod tests {
    use super::super::draw;
    use super::super::tests::area_of;
    use super::*;
    use crate::flow::ColourId;
    use crate::outline::{Point, point};
    use crate::units::Angle;
    use std::f64::consts::PI;

    fn disc(diameter: f64, colour: usize) -> Draw {
        Draw::Disc { diameter: Length::mm(diameter), colour: ColourId(colour) }
    }

    fn square(side: f64, colour: usize) -> Draw {
        Draw::Rectangle { width: Length::mm(side), height: Length::mm(side), colour: ColourId(colour) }
    }

    fn with(draw: Draw, changes: impl Into<Vec<Change>>) -> Draw {
        Draw::Changed { draw: Box::new(draw), changes: changes.into() }
    }

    fn moved(draw: Draw, along: f64, across: f64) -> Draw {
        with(draw, [Change::Move { along: Length::mm(along), across: Length::mm(across) }])
    }

    fn edge(width: f64, colour: usize) -> Edge {
        Edge { width: EdgeWidth::Wide(Length::mm(width)), round: false, colour: ColourId(colour) }
    }

    fn sum(artwork: &Artwork<Full>) -> f64 {
        artwork.areas.iter().map(|area| area.outline.area()).sum()
    }

    /// Areas of one artwork have no ground in common.
    fn overlap(artwork: &Artwork<Full>) -> f64 {
        let regions: Vec<Region<Full>> =
            artwork.areas.iter().map(|area| area.outline.flattened(1e-3).cleaned()).collect();
        let pairs = (0..regions.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
        pairs.map(|(a, b)| regions[a].intersection(&regions[b]).area()).sum()
    }

    #[test]
    fn what_lies_inside_is_taken_out_exactly() {
        let drawn = draw(&Draw::Group(vec![disc(50.0, 0), square(20.0, 1), disc(10.0, 2)]));
        let areas = [625.0 * PI - 400.0, 400.0 - 25.0 * PI, 25.0 * PI];
        for (colour, wanted) in areas.into_iter().enumerate() {
            assert!((area_of(&drawn, colour) - wanted).abs() < 1e-9, "{colour}");
        }
        assert!((drawn.silhouette.area() - 625.0 * PI).abs() < 1e-9);
        // Hidden colours are none.
        let hidden = draw(&Draw::Group(vec![disc(10.0, 0), square(20.0, 1)]));
        assert_eq!(hidden.areas.len(), 1);
    }

    #[test]
    fn what_crosses_is_separated_and_adds_up() {
        let items =
            vec![disc(50.0, 0), moved(square(40.0, 1), 15.0, 10.0), moved(disc(30.0, 2), -10.0, -18.0)];
        let items = [
            items.clone(),
            items.into_iter().map(|d| with(d, [Change::Turn(Angle::degrees(100.0))])).collect(),
        ];
        let drawn = draw(&Draw::Group(items.concat()));
        assert!((sum(&drawn) / drawn.silhouette.area() - 1.0).abs() < 1e-6);
        assert!(overlap(&drawn) < 1e-6 * drawn.silhouette.area());
        assert_eq!(drawn.areas.iter().map(|area| area.colour.0).collect::<Vec<_>>(), [0, 1, 2]);
    }

    #[test]
    fn one_colour_has_no_seam() {
        let drawn =
            draw(&Draw::Group(vec![square(20.0, 0), moved(square(20.0, 0), 20.0, 0.0), disc(4.0, 1)]));
        assert_eq!(drawn.areas.len(), 2);
        // Joined along an edge with a curve in one of them, all is flattened, and still adds up.
        assert!((area_of(&drawn, 0) - 800.0 + 4.0 * PI).abs() < 1e-2);
        assert!((sum(&drawn) - 800.0).abs() < 1e-9);
        assert_eq!(drawn.areas[0].outline.flattened(0.01).cleaned().rings.len(), 2, "one edge and one hole");
    }

    #[test]
    fn cut_clip_outline_and_border() {
        let ring = draw(&with(disc(50.0, 0), [Change::CutOut(disc(30.0, 9))]));
        assert!((sum(&ring) - 400.0 * PI).abs() < 1e-9);
        let corner = draw(&with(square(20.0, 0), [Change::Clip(moved(square(20.0, 9), 10.0, 10.0))]));
        assert!((sum(&corner) - 100.0).abs() < 1e-9);
        assert_eq!(corner.silhouette.bounds().min, point(0.0, 0.0));
        let line = draw(&with(square(20.0, 0), [Change::Outline(edge(2.0, 1))]));
        assert!((area_of(&line, 1) - (400.0 - 256.0)).abs() < 1e-9 && line.areas.len() == 1);
        let edged = draw(&with(square(20.0, 0), [Change::Border(edge(2.0, 1))]));
        assert!(
            (area_of(&edged, 1) - (576.0 - 400.0)).abs() < 1e-9 && (area_of(&edged, 0) - 400.0).abs() < 1e-9
        );
        let round = draw(&with(disc(50.0, 0), [Change::Border(edge(5.0, 1))]));
        assert!((area_of(&round, 1) - (900.0 - 625.0) * PI).abs() < 1e-9);
        let same = draw(&with(square(20.0, 1), [Change::Border(edge(2.0, 1))]));
        assert_eq!(same.areas.len(), 1);
        let share = Edge { width: EdgeWidth::Share(0.1), ..edge(0.0, 1) };
        let tenth = draw(&with(square(20.0, 0), [Change::Border(share)]));
        assert!((tenth.silhouette.bounds().width() - 24.0).abs() < 1e-9);
        // Nothing left is an empty artwork, for the fit to refuse.
        assert!(draw(&with(disc(5.0, 0), [Change::CutOut(square(20.0, 9))])).silhouette.is_empty());
    }

    #[test]
    fn repeats_stand_where_they_should() {
        let line = Change::Line { count: 5, along: Length::mm(30.0), across: Length::mm(10.0) };
        let row = draw(&with(disc(10.0, 0), [line]));
        let bounds = row.silhouette.bounds();
        assert_eq!((bounds.min, bounds.max), (point(-65.0, -25.0), point(65.0, 25.0)));
        assert!((sum(&row) - 5.0 * 25.0 * PI).abs() < 1e-9);
        let ring = |upright| Change::Ring { count: 4, diameter: Length::mm(100.0), upright };
        let bar = Draw::Rectangle { width: Length::mm(4.0), height: Length::mm(20.0), colour: ColourId(0) };
        let size = |draw: &Draw| super::super::draw(draw).silhouette.bounds().size().to_tuple();
        let (turned, upright) = (size(&with(bar.clone(), [ring(false)])), size(&with(bar, [ring(true)])));
        let near = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9;
        assert!(near(turned, (120.0, 120.0)) && near(upright, (104.0, 120.0)));
    }

    /// A mirror of the whole and a mirror of every part, placed anew, are the same.
    #[test]
    fn a_mirror_goes_down_to_the_parts() {
        let flag = Draw::Polygon {
            points: [[0.0, 0.0], [30.0, 5.0], [0.0, 12.0]].map(|corner| corner.map(Length::mm)).to_vec(),
            colour: ColourId(0),
        };
        let changes = [
            Change::CutOut(moved(disc(4.0, 9), 6.0, 5.0)),
            Change::Turn(Angle::degrees(25.0)),
            Change::Line { count: 3, along: Length::mm(50.0), across: Length::mm(7.0) },
            Change::Mirror,
            Change::Move { along: Length::mm(13.0), across: Length::mm(-4.0) },
        ];
        let whole = Draw::Group(vec![with(flag, changes), moved(square(9.0, 1), 120.0, 0.0)]);
        let plain = draw(&whole).mapped(Outline::mirrored);
        let other = draw(&whole.mirrored());
        let corners = |artwork: &Artwork<Full>| {
            let mut all: Vec<(i64, i64)> = artwork
                .areas
                .iter()
                .flat_map(|area| area.outline.flattened(1e-3).cleaned().rings.concat())
                .map(|p: Point| ((p.x * 1e6).round() as i64, (p.y * 1e6).round() as i64))
                .collect();
            all.sort_unstable();
            all
        };
        let (plain, other) = (corners(&plain), corners(&other));
        assert!(plain.len() > 20 && plain.len() == other.len());
        let close = |a: &(i64, i64), b: &(i64, i64)| (a.0 - b.0).abs() < 20 && (a.1 - b.1).abs() < 20_000;
        assert!(plain.iter().all(|a| other.iter().any(|b| close(a, b))));
    }

    #[test]
    fn a_mirrored_stripe_is_a_stripe() {
        let stripe = Draw::Stripe {
            width: Length::mm(10.0),
            end_width: Length::mm(4.0),
            length: Length::mm(100.0),
            colours: vec![ColourId(0), ColourId(1)],
        };
        let (plain, other) = (draw(&stripe).mapped(Outline::mirrored), draw(&stripe.mirrored()));
        assert_eq!(plain.silhouette.bounds(), other.silhouette.bounds());
        let first = |artwork: &Artwork<Full>| artwork.areas[0].outline.bounds();
        assert_eq!(first(&plain), first(&other));
    }
}
