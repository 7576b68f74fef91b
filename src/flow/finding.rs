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
    Count,
    OffScale,
    Hidden,
    SheetFull,
    Sliver,
    Unlaid,
    Unsettled,
}

impl Code {
    pub const ALL: [Self; 18] = [
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
        Self::Count,
        Self::OffScale,
        Self::Hidden,
        Self::SheetFull,
        Self::Sliver,
        Self::Unlaid,
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
            Self::SmallLetter => "small-letter",
            Self::Island => "island",
            Self::Seam => "seam",
            Self::Overlap => "overlap",
            Self::ShortLine => "short-line",
            Self::Count => "count",
            Self::OffScale => "off-scale",
            Self::Hidden => "hidden",
            Self::SheetFull => "sheet-full",
            Self::Sliver => "sliver",
            Self::Unlaid => "unlaid",
            Self::Unsettled => "unsettled",
        }
    }
}

impl Code {
    /// Cause and cure, in a few sentences.
    pub const fn explained(self) -> &'static str {
        match self {
            Self::Oversize => {
                "oversize (error): the piece runs past a limit of its part where it must not be trimmed. Print it at the factor the report names, shorten it, hold it elsewhere, or allow trimming with `may_trim`."
            }
            Self::Trim => {
                "trim (warning): the piece runs past a limit at an end that may be trimmed. Trim along the line marked on the piece before it is wet, or make it as long as the report names."
            }
            Self::Wrinkle => {
                "wrinkle: the film must be squeezed to lie on the part. A warning where setting fluid or warmth will do, an error where it will not: make the piece smaller, split it, or paint it."
            }
            Self::Stretch => {
                "stretch: the film must be stretched to lie on the part. A warning where setting fluid or warmth will do, an error where it will not: make the piece smaller, split it, or paint it."
            }
            Self::FineLine => {
                "fine-line (warning): a line is thinner than can be printed or cut. Widen it, leave it out at this scale, or state what your printer or knife can do under `films`."
            }
            Self::FineGap => {
                "fine-gap (warning): a gap is narrower than can be printed or cut. Widen it, leave it out at this scale, or state what your printer or knife can do under `films`."
            }
            Self::SmallLetter => {
                "small-letter (warning): letters are lower than can be read, or cut. Make them higher, leave them out at this scale, or state what your printer or knife can do with `smallest_letter` under `films`."
            }
            Self::Island => {
                "island (error): a bit of the mask comes loose when its openings are cut. Tie it with `piece: {bridge: 0.6 mm}`, make it as a decal, or lift the loose bits over with tape."
            }
            Self::Seam => {
                "seam (warning): a run that goes round the part laps over itself or leaves a gap. Change its length, draw it as a band, which is cut to the part, or ask for the lap with `piece: {overlap: ...}`."
            }
            Self::Overlap => {
                "overlap (warning): the flat piece lies over itself, for its line turns too far or crosses itself, so it cannot be cut from one sheet in one piece. Make two markings of it, or lead the line otherwise."
            }
            Self::ShortLine => {
                "short-line (warning): the piece is longer than the line it was led along, and runs straight on past the line's end. Make it as long as the report names, or lead the line on."
            }
            Self::Count => {
                "count (warning): checks or stripes do not come out whole round the part, or the stripes of a helix do not fill the way from turn to turn. The report names the nearest width that does."
            }
            Self::OffScale => {
                "off-scale (warning): calipers found the kit part more than 3 % off its scale. `size_by: part` sizes a marking with the part; `size_by: scale`, the default, keeps it to the scale."
            }
            Self::Hidden => {
                "hidden (warning): a share of the marking falls beside the part in the view it is drawn in, or on what turns away from that view, and is lost. Move it, make it smaller, or draw it in the view that sees its place; `lay: drape` loses nothing."
            }
            Self::SheetFull => {
                "sheet-full (error): a piece is larger than the page. Use the page the report names under `sheets`, or split the marking."
            }
            Self::Sliver => {
                "sliver (note): where colours were separated, bits too thin to see were left over; each was given to the colour beside it. Nothing needs to be done."
            }
            Self::Unlaid => {
                "unlaid (error): the marking cannot be put down where the spec says. The report says why and where the part is."
            }
            Self::Unsettled => {
                "unsettled (warning): a finer mesh would still change the strains by more than was asked. Treat them as an estimate."
            }
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
