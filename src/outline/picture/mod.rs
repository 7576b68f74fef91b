//! An SVG file as plain coloured areas.
//!
//! usvg resolves styles, units, `use` and transforms; here strokes become the
//! outlines they cover, clips are cut, and the painter's order is flattened: the
//! areas of a [`Picture`] are what shows, and none lies over another. What film
//! cannot carry (gradients, filters, raster images, masks, see-through paint) is
//! refused by its name and place, so that nothing is left out unseen. Nothing
//! outside the file is ever opened and no script is run; text is set in the one
//! font given, every letter of which must be there.
//!
//! Curves are flattened to [`FINE`] of the picture's greater side. usvg keeps
//! coordinates in single precision, about 1e-7 of it.

mod measure;
mod paint;
mod rehearsal;
mod survey;
mod text;
mod visible;

pub use paint::{affine, bez};
pub use text::Face;

use super::{Bounds, Outline, Region, Vector};
use crate::units::Full;
use std::ops::Range;
use usvg::roxmltree;

/// Longest file, bytes; as long as a spec may be.
pub const MOST_BYTES: usize = 4 << 20;
/// Corners of all outlines after flattening: ten times the large drawing of `benches/artwork.rs`.
pub const MOST_CORNERS: usize = 1_000_000;
/// Elements and corners with every `use` written out: twice as many as corners may come of them.
const MOST_WEIGHT: usize = 2_000_000;
/// Elements as they stand in the file: in the longest one twenty bytes each.
const MOST_NODES: u32 = 200_000;
/// Elements within elements, `use` counted in: readers recurse, and no drawing is as deep (from memory).
const MOST_DEPTH: usize = 200;

/// How far a flattened curve may be off, as a share of the picture's greater side: 8 µm on a crest of 762 mm.
pub const FINE: f64 = 1e-5;

/// What shows of an SVG file, in units of the file, y up.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// One for each colour, in the order in which the colours first appear; they do not overlap.
    pub areas: Vec<([u8; 3], Region<Full>)>,
    /// All that is painted.
    pub silhouette: Region<Full>,
    /// The page that the file describes, whose lower left corner is the origin.
    pub page: [f64; 2],
}

/// Something in the file that cannot be carried.
#[derive(Clone, Debug, PartialEq)]
pub struct Refused {
    pub message: String,
    pub help: String,
    /// Bytes of the file.
    pub at: Range<usize>,
    /// Whether it is only too much, so that it would pass with more allowed.
    pub too_much: bool,
}

impl Refused {
    fn new(at: Range<usize>, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { message: message.into(), help: help.into(), at, too_much: false }
    }

    fn too_much(at: Range<usize>, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { too_much: true, ..Self::new(at, message, help) }
    }
}

/// Reads an SVG file.
///
/// # Errors
/// Everything in it that cannot be carried, in the order of the file. Never empty.
pub fn read(text: &str, face: Option<&Face>) -> Result<Picture, Vec<Refused>> {
    read_within(1, text, face)
}

/// The same, so many times the usual bytes, elements and corners allowed.
///
/// # Errors
/// As [`read`].
pub fn read_within(times: u32, text: &str, face: Option<&Face>) -> Result<Picture, Vec<Refused>> {
    let start = 0..text.len().min(1);
    if text.len() > MOST_BYTES * times as usize {
        let message = format!("the file is {} MiB long", text.len().div_ceil(1 << 20));
        let help =
            format!("an artwork may be {} MiB; simplify its paths", (MOST_BYTES >> 20) * times as usize);
        return Err(vec![Refused::too_much(start, message, help)]);
    }
    let most_nodes = MOST_NODES.saturating_mul(times);
    let options =
        roxmltree::ParsingOptions { allow_dtd: true, nodes_limit: most_nodes, entity_resolver: None };
    let xml = roxmltree::Document::parse_with_options(text, options)
        .map_err(|error| vec![no_xml(text, &error, most_nodes)])?;
    let survey = survey::Survey::of(&xml, face, times)?;
    rehearsal::strokes(&xml, face, &survey).map_err(|refused| vec![refused])?;
    let tree = usvg::Tree::from_xmltree(&xml, &text::options(face)).map_err(|error| {
        let help = "give the `svg` element a `viewBox`, or a `width` and a `height` of more than nothing";
        vec![Refused::new(survey.root.clone(), format!("it cannot be read: {error}"), help)]
    })?;
    paint::painted(&tree, &survey, times)
}

fn no_xml(text: &str, error: &roxmltree::Error, most_nodes: u32) -> Refused {
    let help = "save it as plain SVG and try again";
    let place = error.pos();
    let line = text.split('\n').nth(place.row.saturating_sub(1) as usize).unwrap_or_default();
    let start = line.as_ptr() as usize - text.as_ptr() as usize;
    let column = line.char_indices().nth(place.col.saturating_sub(1) as usize).map_or(0, |(byte, _)| byte);
    let start = (start + column).min(text.len());
    match error {
        roxmltree::Error::NodesLimitReached => {
            Refused::too_much(0..1, format!("more than {most_nodes} elements"), "simplify the drawing")
        }
        _ => Refused::new(start..(start + 1).min(text.len()), format!("not SVG: {error}"), help),
    }
}

/// Outlines with their colours.
pub type Coloured = Vec<([u8; 3], Outline<Full>)>;

/// The size that a picture is set at, one side of what is painted, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Side {
    Width(f64),
    Height(f64),
}

impl Picture {
    /// The box round all that is painted.
    pub fn bounds(&self) -> Bounds {
        self.silhouette.bounds()
    }

    /// Areas and silhouette, about the middle of what is painted, with this side of it so long.
    pub fn set(&self, side: Side) -> (Coloured, Outline<Full>) {
        let bounds = self.bounds();
        let factor = match side {
            Side::Width(mm) => mm / bounds.width(),
            Side::Height(mm) => mm / bounds.height(),
        };
        let middle = bounds.center().to_vector();
        let place =
            |region: &Region<Full>| region.moved(Vector::zero() - middle).enlarged(factor).to_outline();
        (self.areas.iter().map(|(rgb, region)| (*rgb, place(region))).collect(), place(&self.silhouette))
    }
}
