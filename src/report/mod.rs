//! Outcome → report.json, the table on the terminal, report.html with its pictures.
//!
//! Three readers, one set of words: a machine ([`mod@json`]), a terminal
//! ([`mod@table`]) and a modeller at the bench ([`mod@html`]). All three take a
//! finished [`Outcome`](crate::flow::Outcome) and add nothing to it: no limit is
//! tested and no size worked out here. Left out: files, and whether a terminal
//! is there at all.

pub mod body;
pub mod contact;
pub mod guide;
pub mod html;
pub mod json;
pub mod picture;
pub mod sentence;
pub mod table;
pub mod text;
pub mod whereabouts;

mod film_use;
mod tally;

#[cfg(test)]
mod fixture;

pub use body::{Fineness, body};
pub use contact::contact;
pub use html::html;
pub use json::{json, line as json_line};
pub use picture::strain::SHADES;
pub use table::table;
pub use tally::whole as told;
