//! Names of places in the page: scales, pieces, sheets, and where a piece lies on its sheet.

use crate::flow::{Home, PartId};
use crate::units::Scale;

/// `s-1-48`.
pub fn scale(scale: Scale) -> String {
    format!("s-{}", scale.folder())
}

/// `p-1-48-3`: the card of piece 3.
pub fn piece(scale: Scale, number: u32) -> String {
    format!("p-{}-{number}", scale.folder())
}

/// `a-1-48`: all pieces.
pub fn pieces(scale: Scale) -> String {
    format!("a-{}", scale.folder())
}

/// `f-1-48`: all sheets.
pub fn sheets(home: Home) -> String {
    format!("f-{}", home.folder())
}

/// `f-1-48-2`, `f-all-scales-2`: the second sheet. By its place in the list, for its name is not ours to trust.
pub fn sheet(home: Home, index: usize) -> String {
    format!("f-{}-{}", home.folder(), index + 1)
}

/// `o-1-48-2-3`: piece 3 on the second sheet.
pub fn spot(home: Home, sheet: usize, number: u32) -> String {
    format!("o-{}-{}-{number}", home.folder(), sheet + 1)
}

/// `w-1-48-2`: the second part with all that lies on it.
pub fn part(scale: Scale, part: PartId) -> String {
    format!("w-{}-{}", scale.folder(), part.0 + 1)
}

/// `v-1-48-2-left`: the drawing of the second part from the left.
pub fn drawn(scale: Scale, part: PartId, view: &str) -> String {
    format!("v-{}-{}-{view}", scale.folder(), part.0 + 1)
}

/// `l-1-48-3`: piece 3 where it lies on its part.
pub fn laid(scale: Scale, number: u32) -> String {
    format!("l-{}-{number}", scale.folder())
}

/// `g-1-48`: the order of work.
pub fn guide(scale: Scale) -> String {
    format!("g-{}", scale.folder())
}
