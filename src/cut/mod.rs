//! The cutting room: what is sprayed through, what a machine cuts, what comes off the roll.
//!
//! [`masks`] shares a marking's colours out over spraying steps, [`knife`] makes
//! a sheet's cut lines into runs for a machine, [`tape`] lists strips of stock
//! tape, and [`choice`] says which of the three a marking is best made as.
//!
//! Left out: where pieces lie (a sheet's business) and bytes (a writer's).

pub mod choice;
pub mod helix;
pub mod knife;
pub mod masks;
pub mod tape;

/// How far a flattened curve may miss the true one, mm: a tenth of a step of a cutter.
pub const TOLERANCE: f64 = 0.002;
