//! Why a mesh file cannot be used, with the line or byte where it goes wrong.

/// A mesh that cannot be read or mended.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MeshError {
    #[error("the file is empty")]
    Empty,
    #[error("line {line}, {what}")]
    Line { line: usize, what: String },
    #[error("line {line}, `{word}` makes curved patches, which are not read: export triangles")]
    Unsupported { line: usize, word: String },
    #[error(
        "a binary STL of {triangles} triangles is {expected} bytes long, this one has {found}, so it is cut short or damaged: export it again"
    )]
    BinaryLength { triangles: u64, expected: u64, found: u64 },
    #[error("the file is neither a binary nor a text STL: export it again, and keep the ending that it has")]
    NotStl,
    #[error("triangle {} has a corner that is not a number (byte {offset})", triangle + 1)]
    NotFinite { triangle: usize, offset: usize },
    #[error("{found} triangles are more than the {most} that can be handled: decimate the mesh")]
    TooMany { found: u64, most: u64 },
    #[error("the mesh has no triangle with an area")]
    NothingLeft,
    #[error("the mesh is one-sided, like a Möbius strip, near triangle {}, so it has no outside: part it where it twists", triangle + 1)]
    OneSided { triangle: usize },
    #[error("`aft` and `up` must be two different axes")]
    Axes,
    #[error("the unit must make a length above 0")]
    Unit,
}

impl MeshError {
    /// The line of a text file, from 1.
    pub const fn line(&self) -> Option<usize> {
        match self {
            Self::Line { line, .. } | Self::Unsupported { line, .. } => Some(*line),
            _ => None,
        }
    }
}
