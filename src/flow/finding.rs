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
    Island,
    Seam,
    Count,
    OffScale,
    Hidden,
    SheetFull,
    Unsettled,
}

impl Code {
    pub const ALL: [Self; 13] = [
        Self::Oversize,
        Self::Trim,
        Self::Wrinkle,
        Self::Stretch,
        Self::FineLine,
        Self::FineGap,
        Self::Island,
        Self::Seam,
        Self::Count,
        Self::OffScale,
        Self::Hidden,
        Self::SheetFull,
        Self::Unsettled,
    ];

    pub const fn word(self) -> &'static str {
        match self {
            Self::Oversize => "oversize",
            Self::Trim => "trim",
            Self::Wrinkle => "wrinkle",
            Self::Stretch => "stretch",
            Self::FineLine => "fine-line",
            Self::FineGap => "fine-gap",
            Self::Island => "island",
            Self::Seam => "seam",
            Self::Count => "count",
            Self::OffScale => "off-scale",
            Self::Hidden => "hidden",
            Self::SheetFull => "sheet-full",
            Self::Unsettled => "unsettled",
        }
    }
}

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
