//! A marking at full size as flat coloured outlines: one file per family of kinds.
//!
//! Everything is drawn about the origin with its heading along x, millimetres.
//! A pattern that goes round a ring is drawn as one repeat; how often it goes
//! round is for the fit to say. Sizes were checked by the spec; drawing cannot fail.

mod bars;
mod camouflage;
mod cheat_line;
mod compose;
mod figures;
mod insignia;
pub mod letters;
mod patterns;
mod rounds;
mod stack;

use crate::flow::{Area, Artwork, ColourId, Draw};
use crate::outline::{Outline, point};
use crate::units::{Full, Length};

/// Draws a marking at full size. What lies beside its own origin is drawn about its middle, where it is held.
pub fn draw(draw: &Draw) -> Artwork<Full> {
    let artwork = compose::drawn(draw, false);
    let bounds = artwork.silhouette.bounds();
    if artwork.silhouette.is_empty() || bounds.contains_inclusive(point(0.0, 0.0)) {
        return artwork;
    }
    artwork.mapped(|outline| outline.moved(-bounds.center().to_vector()))
}

/// Draws one kind about its origin.
fn kind(draw: &Draw) -> Artwork<Full> {
    match draw {
        Draw::Stripe { width, end_width, length, colours } => {
            bars::stripe(length.to_mm(), [*width, *end_width].map(Length::to_mm), colours)
        }
        Draw::Band { widths, colours } => {
            let widths: Vec<f64> = widths.iter().map(|width| width.to_mm()).collect();
            bars::band(&widths, colours)
        }
        Draw::Rectangle { width, height, colour } => {
            plain(Outline::rectangle(point(0.0, 0.0), width.to_mm(), height.to_mm()), *colour)
        }
        Draw::Disc { diameter, colour } => {
            plain(Outline::circle(point(0.0, 0.0), diameter.to_mm() / 2.0), *colour)
        }
        Draw::Roundel { diameter, rings, colours } => rounds::roundel(diameter.to_mm(), rings, colours),
        Draw::Quarters { diameter, colours } => rounds::quarters(diameter.to_mm(), *colours),
        Draw::Star { points, diameter, inner, colour } => {
            plain(rounds::star(*points, diameter.to_mm() / 2.0, *inner), *colour)
        }
        Draw::Chevron { width, stroke, angle, colour } => {
            plain(bars::chevron(width.to_mm(), stroke.to_mm(), *angle), *colour)
        }
        Draw::Polygon { points, colour } => {
            let corners: Vec<_> =
                points.iter().map(|[along, left]| point(along.to_mm(), left.to_mm())).collect();
            // Corners may be given either way round; an outline runs counter-clockwise.
            plain(Outline::<Full>::polygon(&corners).flattened(0.0).cleaned().to_outline(), *colour)
        }
        Draw::Checks { square, rows, columns, colours } => {
            patterns::checks(square.to_mm(), *rows, *columns, *colours)
        }
        Draw::Hazard { width, length, stripe, angle, colours } => patterns::hazard(
            width.to_mm(),
            length.map(|length| length.to_mm()),
            stripe.to_mm(),
            *angle,
            *colours,
        ),
        // Known once it is unrolled from its part.
        Draw::Area { colour, .. } => plain(Outline::new(Vec::new()), *colour),
        Draw::Artwork(artwork) => artwork.as_ref().clone(),
        Draw::Figure { figure, colour } => plain(figures::figure(figure), *colour),
        Draw::StarAndBars { radius, colours } => insignia::star_and_bars(radius.to_mm(), colours),
        Draw::CheatLine(line) => cheat_line::cheat_line(line),
        Draw::Camouflage(wanted) => camouflage::camouflage(wanted),
        Draw::Group(_) | Draw::Changed { .. } => compose::drawn(draw, false),
        Draw::Letters(lettering) => letters::letters(lettering),
    }
}

/// One outline in one colour.
fn plain(outline: Outline<Full>, colour: ColourId) -> Artwork<Full> {
    Artwork { areas: vec![Area { colour, outline: outline.clone() }], silhouette: outline, repeat: None }
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn area_of(artwork: &Artwork<Full>, colour: usize) -> f64 {
        artwork
            .areas
            .iter()
            .filter(|area| area.colour == ColourId(colour))
            .map(|area| area.outline.area())
            .sum()
    }

    #[test]
    fn a_polygon_given_clockwise_is_turned_round() {
        let mm = Length::mm;
        let points = vec![[mm(0.0), mm(0.0)], [mm(0.0), mm(4.0)], [mm(3.0), mm(0.0)]];
        let drawn = draw(&Draw::Polygon { points, colour: ColourId(0) });
        assert!((drawn.silhouette.area() - 6.0).abs() < 1e-9);
    }
}
