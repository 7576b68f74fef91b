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
    Hidden,
    SheetFull,
    Split,
    Sliver,
    Unlaid,
    Unsettled,
    NoTape,
    Knife,
    Mat,
    Make,
}

impl Code {
    pub const ALL: [Self; 24] = [
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
        Self::Hidden,
        Self::SheetFull,
        Self::Split,
        Self::Sliver,
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
            Self::Hidden => "hidden",
            Self::SheetFull => "sheet-full",
            Self::Split => "split",
            Self::Sliver => "sliver",
            Self::Unlaid => "unlaid",
            Self::Unsettled => "unsettled",
            Self::NoTape => "no-tape",
            Self::Knife => "knife",
            Self::Mat => "mat",
            Self::Make => "make",
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
                "wrinkle: the film must be squeezed to lie on the part. A warning where setting fluid or warmth will do, or relief cuts were found with which it does: they are drawn and numbered on the sheet (slits whose lips lap for decals, darts to be cut out for masks). An error where nothing helps: make the piece smaller, split it, or paint it."
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
            Self::Clash => {
                "clash (warning): two markings of a part meet, and none was asked to lie over the other. Move one of them, or write `over: OTHER` with the one that is put down later."
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
                "sheet-full (error): a piece is larger than the page, and in parts it would be too. Use the page the report names under `sheets`, or split the marking."
            }
            Self::Split => {
                "split (warning): a piece is larger than the page, so it is made in parts a, b, c, which lap over each other by `piece: {split_overlap: ...}`, 0.5 mm unless told otherwise. Lay them in that order, or use a larger page under `sheets`."
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
            Self::NoTape => {
                "no-tape (warning): no tape in stock has the width of the stripe. The report names the nearest widths and how far each is off. Lay the nearest, change the stripe, stock another width under `films: {tape: {widths: [...]}}`, or make it as a decal or mask."
            }
            Self::Knife => {
                "knife (error): a line has no room for the blade to turn in, or a sheet has no waste film to turn it in before the first cut. Use a blade of smaller offset, cut that piece by hand, or leave more spacing between pieces."
            }
            Self::Mat => {
                "mat (error): a piece is larger than the cutter can reach, or lies past that. Use a page no larger than the mat, a larger mat, or make the marking in shorter parts."
            }
            Self::Make => {
                "make (note): the spec leaves open what the marking is made as, and this is what was chosen and why: tape for plain stripes of a stocked width, a mask where no decal film lies down or one colour goes over a large area, else a decal. `make: decal`, `mask` or `tape` decides otherwise."
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
