//! Words about what a printer, an airbrush and a knife do.

use super::Word;
use crate::flow::{Ground, Labels, MaskFilm, PdfFiles, Shades};

/// Which way a blade goes round a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Round {
    Clockwise,
    Counter,
}

/// How deep a blade goes: the film alone, or through what carries it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    Kiss,
    Through,
}

/// A kind of line that is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lined {
    Cut,
    Relief,
    Trim,
    None,
}

impl Word for MaskFilm {
    const WANTED: &'static str = "`window` or `cover`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("window", Self::Window), ("cover", Self::Cover)]
    }
}

impl Word for Ground {
    const WANTED: &'static str = "`white` or `clear`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("white", Self::White), ("clear", Self::Clear)]
    }
}

impl Word for Shades {
    const WANTED: &'static str = "`colour`, `grey` or `one-bit`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("colour", Self::Colour), ("grey", Self::Grey), ("one-bit", Self::OneBit)]
    }
}

impl Word for Labels {
    const WANTED: &'static str = "`names`, `numbers` or `none`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("names", Self::Names), ("numbers", Self::Numbers), ("none", Self::None)]
    }
}

impl Word for PdfFiles {
    const WANTED: &'static str = "`each`, `together` or `none`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("each", Self::Each), ("together", Self::Together), ("none", Self::None)]
    }
}

impl Word for Lined {
    const WANTED: &'static str = "`cut`, `relief`, `trim` or `none`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("cut", Self::Cut), ("relief", Self::Relief), ("trim", Self::Trim), ("none", Self::None)]
    }
}

impl Word for Round {
    const WANTED: &'static str = "`clockwise` or `counter-clockwise`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("clockwise", Self::Clockwise), ("counter-clockwise", Self::Counter)]
    }
}

impl Word for Depth {
    const WANTED: &'static str = "`kiss` or `through`";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("kiss", Self::Kiss), ("through", Self::Through)]
    }
}
