//! A sheet as bytes, one file per format.
//!
//! The writers mirror each other: each takes a [`Sheet`](crate::flow::Sheet) or
//! what another writer made of it, and gives bytes; none opens a file. The PNG
//! is drawn from the SVG, so the two cannot disagree.

pub mod png;
pub mod svg;

pub use png::{PngError, png};
pub use svg::svg;
