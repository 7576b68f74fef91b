//! Mechanics of a thin film laid on a part.
//!
//! ```text
//! flat Region ─mesh→ Mesh ─net→ Net ┐
//!    Surface, Start ─geodesic→ Feet ├─settle→ Feet at rest ─strain→ figures
//!              hold or held nodes ──┘        ↑ halve the spacing until they stay (drape, ribbon)
//! ```
//!
//! The film is a membrane of one thickness without bending stiffness, stuck to
//! the part everywhere, free to slide while it is laid: friction, creep and
//! wrinkles are left out. Squeeze is a number here; whether a film bears it is
//! for the film's limits to say.

pub mod drape;
pub mod energy;
pub mod flatten;
pub mod geodesic;
mod held;
mod hold;
pub mod locate;
pub mod mesh;
mod net;
pub mod planar;
pub mod ribbon;
mod settle;
mod sides;
pub mod slit;
mod span;
mod sparse;
pub mod strain;
pub mod trial;
pub mod unfold;

pub use drape::{Draped, cut_to, drape, drape_like};
pub use flatten::{Flattened, Wanted, flatten};
pub use ribbon::{Cuts, Ribbon, drape_ribbon};

/// How a film is solved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Poisson's ratio of the film, at least 0 and under 0.5.
    pub poisson: f64,
    /// How much the reported strains may still change with a finer net. Where that is infinite, one
    /// net of about `max_triangles` is settled and no estimate made.
    pub tolerance: f64,
    /// The same as a share of the greatest of them; the looser of the two counts.
    pub relative: f64,
    /// Nets finer than this are not tried, settled or not.
    pub max_triangles: usize,
}

impl Default for Settings {
    /// ν = 0.4 for vinyl and decal film (common practice, no source). What is expected to change is more
    /// than what is wrong: at 1.75 % of the greatest strain a disc on a ball is right to a half per cent
    /// (`tests/fit.rs`), far finer than any film's limits are known; 2e-5 is too little to matter to any film.
    /// 40 000 triangles take about a second.
    fn default() -> Self {
        Self { poisson: 0.4, tolerance: 2e-5, relative: 0.0175, max_triangles: 40_000 }
    }
}

/// Why a film could not be laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Trouble {
    #[error("the outline cannot be cut into triangles: {0}")]
    Outline(&'static str),
    #[error(
        "the film would fold over itself wherever it is started: it is too large for this part, or the part too uneven here"
    )]
    Folded,
    #[error("the film finds no rest on this part: it may be too large for it, or the part too uneven here")]
    Stuck,
    #[error("the net of the film does not fit in memory")]
    Memory,
}
