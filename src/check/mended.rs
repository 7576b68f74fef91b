//! `mended`: the mesh of a part was put right before it was used. Told once for the part, not for each scale.

use crate::flow::{Code, Finding, Part, Severity};

/// Tells what was done, as the part's surface words it.
pub fn mended(part: &Part, what: &str) -> Finding {
    Finding {
        code: Code::Mended,
        severity: Severity::Note,
        text: format!("the mesh of the part `{}` was mended: {what}", part.name),
        help: "look at the part's picture; where something is amiss, mend the mesh where it was made"
            .to_owned(),
        at: part.at.clone(),
    }
}
