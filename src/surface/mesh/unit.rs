//! How a mesh file's numbers become millimetres of the part in its own frame,
//! and whether the result can be right. The file's origin stays the part's.

use super::error::MeshError;
use crate::units::{INCHES_PER_FOOT, MM_PER_INCH};
use glam::DVec3;

/// An axis of the file, with its sense.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    PlusX,
    MinusX,
    PlusY,
    MinusY,
    PlusZ,
    MinusZ,
}

impl Way {
    /// Reads `+x`, `x`, `-x` and so on.
    pub fn from_word(word: &str) -> Option<Self> {
        Some(match word {
            "+x" | "x" => Self::PlusX,
            "-x" => Self::MinusX,
            "+y" | "y" => Self::PlusY,
            "-y" => Self::MinusY,
            "+z" | "z" => Self::PlusZ,
            "-z" => Self::MinusZ,
            _ => return None,
        })
    }

    const fn vector(self) -> DVec3 {
        match self {
            Self::PlusX => DVec3::X,
            Self::MinusX => DVec3::NEG_X,
            Self::PlusY => DVec3::Y,
            Self::MinusY => DVec3::NEG_Y,
            Self::PlusZ => DVec3::Z,
            Self::MinusZ => DVec3::NEG_Z,
        }
    }
}

/// Where the file's axes and unit lead.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placing {
    /// Millimetres of the full-size part to one of the file: the unit, times the scale's
    /// denominator where the file is of the model.
    pub mm: f64,
    /// The file's way aft and up; right is then up × aft, so nothing is mirrored.
    pub aft: Way,
    pub up: Way,
}

impl Placing {
    /// A full-size file in millimetres whose axes are the part's.
    pub const PLAIN: Self = Self { mm: 1.0, aft: Way::PlusX, up: Way::PlusZ };

    /// Brings points of the file into the part's frame, mm.
    ///
    /// # Errors
    /// Wrong axes or unit.
    pub fn apply(&self, points: &mut [DVec3]) -> Result<(), MeshError> {
        if !(self.mm > 0.0 && self.mm.is_finite()) {
            return Err(MeshError::Unit);
        }
        let (aft, up) = (self.aft.vector(), self.up.vector());
        let right = up.cross(aft);
        if right == DVec3::ZERO {
            return Err(MeshError::Axes);
        }
        for p in points {
            *p = DVec3::new(p.dot(aft), p.dot(right), p.dot(up)) * self.mm;
        }
        Ok(())
    }
}

/// A part that is decalled is hardly smaller than a switch or larger than a hangar; common
/// practice, no source. Ships are larger: this is a doubt, not a refusal.
const LEAST_MM: f64 = 10.0;
const MOST_MM: f64 = 100_000.0;

/// The units that files come in, the likelier ones first.
const UNITS: [(&str, f64); 5] =
    [("mm", 1.0), ("m", 1000.0), ("in", MM_PER_INCH), ("cm", 10.0), ("ft", MM_PER_INCH * INCHES_PER_FOOT)];

/// A size that hints at a wrong unit, and what the unit might be.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("the part comes out {} long at full size; in {unit} it would be {}", shown(*.found_mm), shown(*.would_be_mm))]
pub struct UnitDoubt {
    pub found_mm: f64,
    /// The unit that gives the least surprising size.
    pub unit: &'static str,
    pub would_be_mm: f64,
}

/// Doubts a largest side outside 10 mm to 100 m when another unit would bring it inside.
/// `unit_mm` is the unit that was assumed.
pub fn unit_doubt(bounds: [DVec3; 2], unit_mm: f64) -> Option<UnitDoubt> {
    let found = (bounds[1] - bounds[0]).max_element();
    if (LEAST_MM..=MOST_MM).contains(&found) {
        return None;
    }
    let would_be = |(unit, mm): (&'static str, f64)| UnitDoubt {
        found_mm: found,
        unit,
        would_be_mm: found / unit_mm * mm,
    };
    UNITS.into_iter().map(would_be).find(|doubt| (LEAST_MM..=MOST_MM).contains(&doubt.would_be_mm))
}

fn shown(mm: f64) -> String {
    if mm >= 1000.0 { format!("{:.3} m", mm / 1000.0) } else { format!("{mm:.3} mm") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_helmet_240_m_wide_is_in_millimetres() {
        let doubt = unit_doubt([DVec3::ZERO, DVec3::new(200.0, 240.0, 230.0) * 1000.0], 1000.0).unwrap();
        assert_eq!((doubt.unit, doubt.would_be_mm), ("mm", 240.0));
        assert_eq!(
            doubt.to_string(),
            "the part comes out 240.000 m long at full size; in mm it would be 240.000 mm"
        );
        let wing = unit_doubt([DVec3::ZERO, DVec3::new(1.8, 4.0, 0.2)], 1.0).unwrap();
        assert_eq!((wing.unit, wing.would_be_mm), ("m", 4000.0));
        assert_eq!(unit_doubt([DVec3::ZERO, DVec3::splat(285.0)], 1.0), None);
    }

    #[test]
    fn axes_are_turned_and_never_mirrored() {
        let placing = Placing { mm: 48.0, aft: Way::PlusY, up: Way::PlusZ };
        let mut p = [DVec3::new(1.0, 2.0, 3.0)];
        placing.apply(&mut p).unwrap();
        // Facing +y with z up, the file's +x is on the right of one who looks aft, the part's left.
        assert_eq!(p[0], DVec3::new(96.0, -48.0, 144.0));
        let wrong = Placing { up: Way::MinusY, ..placing };
        assert_eq!(wrong.apply(&mut p), Err(MeshError::Axes));
        assert_eq!(Way::from_word("-z"), Some(Way::MinusZ));
        assert_eq!(Way::from_word("w"), None);
    }
}
