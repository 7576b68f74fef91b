//! A marking as flat coloured outlines.

use super::plan::ColourId;
use crate::outline::{Outline, Region};
use crate::units::{Full, Length, Model, Scale, World};

/// What is painted, drawn about the origin with its heading along x.
///
/// `areas` are painted in order, later ones over earlier ones. `silhouette` is
/// everything that is covered; the piece is cut along it.
#[derive(Clone, Debug, PartialEq)]
pub struct Artwork<W> {
    pub areas: Vec<Area<W>>,
    pub silhouette: Outline<W>,
    /// For a pattern that goes all the way round a part: what is drawn is one repeat of it.
    pub repeat: Option<Repeat<W>>,
}

/// A pattern without ends, cut to length by the ring it goes round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeat<W> {
    /// Along the heading, from -period/2 to +period/2.
    pub period: Length<W>,
    /// Whether a broken repeat would show: true of checks, false of a plain band.
    pub shows: bool,
}

/// One colour of an artwork.
#[derive(Clone, Debug, PartialEq)]
pub struct Area<W> {
    pub colour: ColourId,
    pub outline: Outline<W>,
}

impl<W: World> Artwork<W> {
    /// What is seen of one colour once everything is painted; curves flattened within `tolerance` mm.
    #[must_use]
    pub fn shown(&self, colour: ColourId, tolerance: f64) -> Region<W> {
        self.areas.iter().fold(Region::empty(), |seen, area| {
            let painted = area.outline.flattened(tolerance);
            if area.colour == colour { seen.union(&painted) } else { seen.minus(&painted) }
        })
    }

    /// Where there is any colour: the silhouette without what stays bare in it, as film does between letters.
    ///
    /// Gaps under 2 µm, where colours meet, are rounding and are closed.
    #[must_use]
    pub fn painted(&self, tolerance: f64) -> Region<W> {
        const GAP: f64 = 0.002;
        let cleaned = self.areas.iter().map(|area| area.outline.flattened(tolerance).cleaned());
        let all = Region::new(cleaned.flat_map(|area| area.rings).collect());
        if self.areas.len() > 1 { all.closed(GAP) } else { all.cleaned() }
    }

    /// Its colours, bottom first, each once.
    #[must_use]
    pub fn colours(&self) -> Vec<ColourId> {
        let mut seen = Vec::new();
        for area in &self.areas {
            if !seen.contains(&area.colour) {
                seen.push(area.colour);
            }
        }
        seen
    }

    /// Every outline through the same step of geometry.
    #[must_use]
    pub fn mapped(&self, f: impl Fn(&Outline<W>) -> Outline<W>) -> Self {
        let area = |area: &Area<W>| Area { colour: area.colour, outline: f(&area.outline) };
        Self {
            areas: self.areas.iter().map(area).collect(),
            silhouette: f(&self.silhouette),
            repeat: self.repeat,
        }
    }
}

impl Artwork<Full> {
    /// The same artwork on a model of this scale.
    #[must_use]
    pub fn at(&self, scale: Scale) -> Artwork<Model> {
        let area = |area: &Area<Full>| Area { colour: area.colour, outline: area.outline.at(scale) };
        Artwork {
            areas: self.areas.iter().map(area).collect(),
            silhouette: self.silhouette.at(scale),
            repeat: self.repeat.map(|repeat| Repeat { period: repeat.period.at(scale), shows: repeat.shows }),
        }
    }
}
