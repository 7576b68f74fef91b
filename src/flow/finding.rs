//! One thing the report says.

use std::fmt;
use std::sync::Arc;

/// Where something stands in a spec: `file:line:column`, both from 1.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// As the user named the file.
    pub file: Arc<str>,
    pub line: u32,
    pub column: u32,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// How bad it is. Ordered: a note is less than a warning is less than an error.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    Note,
    Warning,
    Error,
}

impl Severity {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// What a finding is about. The word is what `explain` takes and the report prints.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Code {
    Oversize,
    Trim,
    Wrinkle,
    Stretch,
    FineLine,
    FineGap,
    SmallLetter,
    Island,
    Seam,
    Overlap,
    ShortLine,
    Clash,
    Count,
    OffScale,
    Mended,
    Hidden,
    SheetFull,
    Split,
    Sliver,
    NoWhite,
    Rows,
    UsedFilm,
    Unlaid,
    Unsettled,
    NoTape,
    Knife,
    Mat,
    Make,
}

impl Code {
    pub const ALL: [Self; 28] = [
        Self::Oversize,
        Self::Trim,
        Self::Wrinkle,
        Self::Stretch,
        Self::FineLine,
        Self::FineGap,
        Self::SmallLetter,
        Self::Island,
        Self::Seam,
        Self::Overlap,
        Self::ShortLine,
        Self::Clash,
        Self::Count,
        Self::OffScale,
        Self::Mended,
        Self::Hidden,
        Self::SheetFull,
        Self::Split,
        Self::Sliver,
        Self::NoWhite,
        Self::Rows,
        Self::UsedFilm,
        Self::Unlaid,
        Self::Unsettled,
        Self::NoTape,
        Self::Knife,
        Self::Mat,
        Self::Make,
    ];

    pub const fn word(self) -> &'static str {
        match self {
            Self::Oversize => "oversize",
            Self::Trim => "trim",
            Self::Wrinkle => "wrinkle",
            Self::Stretch => "stretch",
            Self::FineLine => "fine-line",
            Self::FineGap => "fine-gap",
            Self::SmallLetter => "small-letter",
            Self::Island => "island",
            Self::Seam => "seam",
            Self::Overlap => "overlap",
            Self::ShortLine => "short-line",
            Self::Clash => "clash",
            Self::Count => "count",
            Self::OffScale => "off-scale",
            Self::Mended => "mended",
            Self::Hidden => "hidden",
            Self::SheetFull => "sheet-full",
            Self::Split => "split",
            Self::Sliver => "sliver",
            Self::NoWhite => "no-white",
            Self::Rows => "rows",
            Self::UsedFilm => "used-film",
            Self::Unlaid => "unlaid",
            Self::Unsettled => "unsettled",
            Self::NoTape => "no-tape",
            Self::Knife => "knife",
            Self::Mat => "mat",
            Self::Make => "make",
        }
    }
}

/// A finding with the number of the piece that it is about, where it is about one.
pub type Numbered = (Option<u32>, Finding);

/// One thing the report says: what, how bad, with numbers, what to do, and where in the spec it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    pub code: Code,
    pub severity: Severity,
    /// With numbers and units.
    pub text: String,
    /// A way out.
    pub help: String,
    pub at: Place,
}
