//! The straight drawing, as long as the line it is laid along asks for.

use crate::flow::{Area, Artwork};
use crate::outline::{Outline, Region, Vector, point};
use crate::units::Full;

/// Repeats are put side by side on a grid of this many mm: nothing at full size.
const GRID: f64 = 1e-7;

/// The line as far as a drawing depends on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Round {
    /// From end to end, or all the way round, mm.
    pub length: f64,
    pub closed: bool,
}

/// A straight drawing with its length settled.
pub struct Wrap {
    pub artwork: Artwork<Full>,
    /// Along the line, mm.
    pub length: f64,
    pub width: f64,
    /// How often the pattern goes round, for patterns without ends on a line without any.
    pub repeats: Option<f64>,
    /// On a closed line, the gap at the centreline where the ends meet, mm; negative where they overlap.
    pub gap: Option<f64>,
}

/// Cuts artwork to its line: patterns without ends go all the way, and `overlap` mm beyond where the
/// line is closed.
pub fn wrap(artwork: &Artwork<Full>, round: Round, overlap: f64) -> Wrap {
    let Some(repeat) = artwork.repeat else {
        let bounds = artwork.silhouette.bounds();
        let (length, width) = (bounds.width(), bounds.height());
        let gap = round.closed.then_some(round.length - length);
        return Wrap { artwork: artwork.clone(), length, width, repeats: None, gap };
    };
    let (period, width) = (repeat.period.to_mm(), artwork.silhouette.bounds().height());
    let overlap = if round.closed { overlap } else { 0.0 };
    let length = round.length + overlap;
    let whole = Outline::<Full>::rectangle(point(0.0, 0.0), length, width);
    let window: Region<Full> = whole.flattened(1.0);
    let count = (length / period).ceil() as usize;
    let tiled = |area: &Area<Full>| {
        // Patterns have straight edges only, so flattening them loses nothing.
        let one: Region<Full> = area.outline.flattened(1e-3 * period);
        let step = |k: usize| Vector::new((k as f64 + 0.5) * period - length / 2.0, 0.0);
        let rings = (0..count).flat_map(|k| one.moved(step(k)).rings);
        // Neighbours only melt into one where their borders agree to the last bit.
        let snapped = rings.map(|ring| ring.into_iter().map(|p| (p / GRID).round() * GRID).collect());
        let outline = Region::new(snapped.collect()).intersection(&window).to_outline();
        Area { colour: area.colour, outline }
    };
    Wrap {
        artwork: Artwork {
            areas: artwork.areas.iter().map(tiled).collect(),
            silhouette: whole,
            repeat: artwork.repeat,
        },
        length,
        width,
        repeats: (repeat.shows && round.closed).then_some(round.length / period),
        gap: round.closed.then_some(-overlap),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw;
    use crate::flow::{ColourId, Draw};
    use crate::units::Length;

    #[test]
    fn a_pattern_starts_whole_at_the_seam_and_breaks_where_it_ends() {
        let checks = draw::draw(&Draw::Checks {
            square: Length::mm(1.0),
            rows: 1,
            columns: None,
            colours: [ColourId(0), ColourId(1)],
        });
        let wrapped = wrap(&checks, Round { length: 10.5, closed: true }, 0.0);
        assert_eq!(wrapped.repeats, Some(5.25));
        let area = |k: usize| wrapped.artwork.areas[k].outline.area();
        assert!((area(0) - 5.5).abs() < 1e-6 && (area(1) - 5.0).abs() < 1e-6, "{} {}", area(0), area(1));
        let open = wrap(&checks, Round { length: 10.5, closed: false }, 3.0);
        assert_eq!((open.length, open.gap, open.repeats), (10.5, None, None));
    }

    #[test]
    fn neighbours_of_a_band_melt_into_one() {
        let band = draw::draw(&Draw::Band { widths: vec![Length::mm(4.0)], colours: vec![ColourId(0)] });
        let wrapped = wrap(&band, Round { length: 20.420_352_248, closed: true }, 0.5);
        assert_eq!(wrapped.artwork.areas[0].outline.contours.len(), 1);
        assert_eq!(wrapped.gap, Some(-0.5));
    }
}
