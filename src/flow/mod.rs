//! What travels from stage to stage: plain data, no work.
//!
//! ```text
//! spec.yaml ─spec→ Plan ─draw→ Artwork<Full> ─fit→ Fit<Full> ─scale→ Fit<Model> ─check→ Finding
//!                                                  └→ Piece ─cut→ masks, tape ─sheet→ Sheet ─cut→ Job ─write→ files
//!                                                  everything → Outcome ─report→ json, html, table
//! ```

pub mod artwork;
pub mod body;
pub mod cutting;
pub mod drawing;
pub mod explained;
pub mod film;
pub mod finding;
pub mod fit;
pub mod lay;
pub mod lettering;
pub mod light;
pub mod limits;
pub mod outcome;
pub mod plan;
pub mod printing;
pub mod shape;
pub mod sheet;
pub mod tools;

pub use artwork::{Area, Artwork, Repeat};
pub use body::{Body, LaidFilm, PointStrain, Skin};
pub use cutting::{Job, MaskSet, MaskStep, Run, Strip, Stroke, Tool, Turns};
pub use drawing::{Camouflage, Change, CheatLine, Edge, EdgeWidth, Figure, PENTAGRAM};
pub use explained::Explained;
pub use film::{Film, Films, Give, Price};
pub use finding::{Code, Finding, Numbered, Place, Severity};
pub use fit::{CutKind, Film3, Fit, Lies, Relief, ReliefCut, Seam, Strain, Verdict};
pub use lay::*;
pub use lettering::{Align, Block, Bow, Corner, Face, Lettering, Setting};
pub use light::{linear_light, luminance};
pub use limits::Limits;
pub use outcome::{Home, Kept, Outcome, Piece, Portion, ScaleOutcome, Together};
pub use plan::*;
pub use printing::*;
pub use shape::{Profile, Section, Shape, Soup, Station};
pub use sheet::{Item, Layer, Purpose, Sheet};
pub use tools::{Cutter, MEASURED_SQUARE, MaskFilm, Spray, Tape};
