//! Pictures as SVG text: the flat piece, its strain, the piece on its part, the sheet.
//!
//! Drawn at model size. Paper and part are millimetres with y up; a
//! [`frame::Frame`] takes them to the picture's pixels. Ink, dimmed lines and
//! warnings carry classes, whose colours are the page's style sheet's: dark paper
//! has others. Colour is never alone: overhang is hatched and named, trim is
//! dashed, strain has a scale and a number. Each picture opens with a title that
//! says its verdict.
//!
//! The [`laid`] film is the solver's own: outlines are carried over by its
//! triangles, nothing is projected anew. Where a part may hide another part of
//! itself, that is told face by face, `sampled::Cover`.

pub mod camera;
pub mod clip;
pub mod flat;
pub mod frame;
pub mod laid;
pub mod limits;
pub mod onpart;
pub mod part;
mod sampled;
pub mod scene;
pub mod sheet;
pub mod strain;
pub mod svg;
pub mod whole;
