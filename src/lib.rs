//! markloft sizes decals, masks and stripes for curved model parts.
//!
//! ```text
//! spec.yaml ─spec→ Plan ─draw→ Artwork<Full> ─fit→ Fit<Full> ─scale→ Fit<Model> ─check→ Finding
//!                                                  └→ Piece ─cut→ masks, tape ─sheet→ Sheet ─cut→ Job ─write→ files
//!                                                  everything → Outcome ─report→ json, html, table
//! ```
//!
//! One direction. A stage is a pure function of the data in [`flow`]; only
//! [`batch`] touches files and threads, only [`cli`] knows a terminal.
//!
//! **Two worlds.** [`units::Full`] is the real thing, [`units::Model`] is
//! plastic and film. A fit is solved once in full-size millimetres, on the part
//! as the kit's mould really made it, and goes to the model by one scaling: a
//! fit without caliper sizes serves every scale.

pub mod batch;
pub mod check;
pub mod cli;
pub mod cut;
pub mod draw;
pub mod film;
pub mod fit;
pub mod flow;
pub mod outline;
pub mod report;
pub mod sheet;
pub mod spec;
pub mod surface;
pub mod units;
pub mod write;
