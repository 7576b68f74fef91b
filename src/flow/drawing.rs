//! What markings are drawn of beside the plain kinds: figures, and drawings made of drawings.
//!
//! Left out: how any of it is drawn (`draw`), and what sizes make sense (`spec`).

use super::plan::{ColourId, Draw};
use crate::outline::Outline;
use crate::units::{Angle, Full, Length};

/// A figure of one colour about the origin, its heading along x.
#[derive(Clone, Debug, PartialEq)]
pub enum Figure {
    /// Two bars across each other; `flare` is the width at the ends of the arms.
    Cross {
        width: Length<Full>,
        height: Length<Full>,
        stroke: Length<Full>,
        flare: Length<Full>,
    },
    /// A sunburst: `count` rays, each `angle` wide, from the diameter `inner` out to `diameter`; one points straight up the paper.
    Rays {
        diameter: Length<Full>,
        inner: Length<Full>,
        count: u32,
        angle: Angle,
    },
    /// Points along the heading: `width` and `head` are the head's, `stroke` is the shaft's width.
    Arrow {
        length: Length<Full>,
        width: Length<Full>,
        stroke: Length<Full>,
        head: Length<Full>,
    },
    /// What lies between two circles within an angle about the heading.
    Sector {
        diameter: Length<Full>,
        inner: Length<Full>,
        angle: Angle,
    },
    /// A rectangle with round corners.
    Rounded {
        width: Length<Full>,
        height: Length<Full>,
        radius: Length<Full>,
    },
    Ellipse {
        width: Length<Full>,
        height: Length<Full>,
    },
    /// An outline of any kind, crossings resolved.
    Path(Outline<Full>),
}

/// A long stripe through points: straight stretches, corners rounded by `radius` or mitred where that is nothing,
/// colours side by side as in a stripe.
#[derive(Clone, Debug, PartialEq)]
pub struct CheatLine {
    pub points: Vec<[Length<Full>; 2]>,
    pub width: Length<Full>,
    pub end_width: Length<Full>,
    pub radius: Length<Full>,
    pub colours: Vec<ColourId>,
}

/// A rectangle painted over with stripes or blotches by chance, the same for the same seed.
#[derive(Clone, Debug, PartialEq)]
pub struct Camouflage {
    pub width: Length<Full>,
    pub height: Length<Full>,
    pub seed: u64,
    /// Of one mark along it, and across it.
    pub mark: [Length<Full>; 2],
    /// How far edges stray, as a share of the mark's width.
    pub waviness: f64,
    /// Way of the marks, counter-clockwise from the heading; `None` for blotches, which lie any way.
    pub lean: Option<Angle>,
    /// Share of the area that each colour shows, adding up to 1; the first is the ground.
    pub shares: Vec<f64>,
    pub colours: Vec<ColourId>,
}

/// Inner over outer radius of the pentagram, 1/φ²: the arms' edges lie in line.
pub const PENTAGRAM: f64 = 0.381_966_011_250_105;

/// A step from one drawing to another.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Without what another drawing covers.
    CutOut(Draw),
    /// Only what another drawing covers.
    Clip(Draw),
    /// A line of this width inside the edge, in place of the drawing.
    Outline(Edge),
    /// A line of this width outside the edge, beneath the drawing.
    Border(Edge),
    /// Copies along a straight line, centred.
    Line {
        count: u32,
        along: Length<Full>,
        across: Length<Full>,
    },
    /// Copies round a ring, the first at its top; `upright` ones are not turned.
    Ring {
        count: u32,
        diameter: Length<Full>,
        upright: bool,
    },
    /// Left and right changed over; lettering stays readable and only changes its place.
    Mirror,
    /// Counter-clockwise about the origin.
    Turn(Angle),
    Move {
        along: Length<Full>,
        across: Length<Full>,
    },
}

/// A line along the edge of a drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    pub width: EdgeWidth,
    /// Corners rounded instead of mitred.
    pub round: bool,
    pub colour: ColourId,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EdgeWidth {
    Wide(Length<Full>),
    /// Of the drawing's width or height, whichever is less.
    Share(f64),
}

impl Draw {
    /// Every colour that it is painted in, as far as the drawing itself tells; one that others cover may not show.
    pub fn colours(&self) -> Vec<ColourId> {
        match self {
            Self::Stripe { colours, .. }
            | Self::Band { colours, .. }
            | Self::Roundel { colours, .. }
            | Self::StarAndBars { colours, .. } => colours.clone(),
            Self::Checks { colours, .. } | Self::Hazard { colours, .. } | Self::Quarters { colours, .. } => {
                colours.to_vec()
            }
            Self::Rectangle { colour, .. }
            | Self::Disc { colour, .. }
            | Self::Star { colour, .. }
            | Self::Chevron { colour, .. }
            | Self::Polygon { colour, .. }
            | Self::Area { colour, .. }
            | Self::Figure { colour, .. } => vec![*colour],
            Self::Artwork(artwork) => artwork.colours(),
            Self::CheatLine(line) => line.colours.clone(),
            Self::Camouflage(camouflage) => camouflage.colours.clone(),
            Self::Group(items) => items.iter().flat_map(Self::colours).collect(),
            Self::Changed { draw, changes } => changes.iter().fold(draw.colours(), |mut all, change| {
                match change {
                    Change::Outline(edge) => all = vec![edge.colour],
                    Change::Border(edge) => all.push(edge.colour),
                    _ => {}
                }
                all
            }),
            Self::Letters(lettering) => vec![lettering.colour],
        }
    }

    /// Whether it is to be read, so that no mirror may turn it over.
    pub const fn is_lettering(&self) -> bool {
        matches!(self, Self::Letters(_))
    }

    /// As the other side of the real thing has it: kinds keep their kind where they can.
    #[must_use]
    pub fn mirrored(self) -> Self {
        match self {
            Self::Stripe { width, end_width, length, colours } => {
                Self::Stripe { width: end_width, end_width: width, length, colours }
            }
            Self::Quarters { diameter, colours: [a, b] } => Self::Quarters { diameter, colours: [b, a] },
            // They are their own mirror images, or must stay readable.
            draw @ (Self::Letters(_)
            | Self::Roundel { .. }
            | Self::Rectangle { .. }
            | Self::Disc { .. }
            | Self::Star { .. }
            | Self::StarAndBars { .. }) => draw,
            draw => Self::Changed { draw: Box::new(draw), changes: vec![Change::Mirror] },
        }
    }
}
