//! Why a curved shape cannot be made. Points, stations and profiles go by their
//! index in what was given, so that a spec can point at the culprit.

/// A shape that cannot be made, with what to do about it.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ShapeError {
    #[error("{what} needs at least {wanted} points, this one has {found}: give more")]
    TooFew { what: &'static str, wanted: usize, found: usize },
    #[error("{what} may have at most {most} points, this one has {found}: thin them out")]
    TooMany { what: &'static str, most: usize, found: usize },
    #[error("point {} is not a number", at + 1)]
    NotFinite { at: usize },
    #[error("station {} does not lie behind the one above it: list stations from the front aft", at + 1)]
    OutOfOrder { at: usize },
    #[error("point {} is the same as the one before it: leave one out", at + 1)]
    Repeated { at: usize },
    #[error("point {} goes back over the line before it: list the points in the order in which one walks along it", at + 1)]
    DoublesBack { at: usize },
    #[error("the radius at point {} is below 0: radii count from the axis", at + 1)]
    NegativeRadius { at: usize },
    #[error("the profile touches the axis at point {}: only its first and last point may", at + 1)]
    OnAxis { at: usize },
    #[error(
        "all points lie in one plane across the axis, so the part has no length: give stations that lie apart"
    )]
    NoLength,
    #[error("{what} must be above 0: check the sizes")]
    NotPositive { what: &'static str },
    #[error(
        "power {power} is outside 2 to {most}: below 2 the section has edges (give its points), above it a box with a corner radius is meant"
    )]
    Power { power: f64, most: f64 },
    #[error(
        "a corner radius of {radius} mm does not go into a box of {width} by {height} mm: at most half of the smaller side does"
    )]
    CornerRadius { radius: f64, width: f64, height: f64 },
    #[error("the line from point {} crosses the one from point {}: list the points in the order in which one walks round", first + 1, second + 1)]
    SelfCrossing { first: usize, second: usize },
    #[error("seen from its centre the section turns back at point {}: move the centre, or leave the hollow out", at + 1)]
    NotStarShaped { at: usize },
    #[error("the section does not go round its centre: give points relative to a centre inside it")]
    CentreOutside,
    #[error(
        "`{digits}` names no four-digit section: the digits are camber, its place, and two of thickness, as in 2412"
    )]
    Naca { digits: String },
    #[error("the bends at points {} and {} need {needed} mm between them, and there are {found}: bend tighter", at + 1, at + 2)]
    BendTooWide { at: usize, needed: f64, found: f64 },
    #[error(
        "a bend of {bend} mm is tighter than the tube's own radius of {radius} mm: bend it wider, the radius is that of the centreline"
    )]
    BendTooTight { bend: f64, radius: f64 },
    #[error("the path turns straight back at point {}: leave a point out, or put one between", at + 1)]
    Reversal { at: usize },
}

impl ShapeError {
    /// The point or station at fault, from 0.
    pub const fn at(&self) -> Option<usize> {
        match self {
            Self::NotFinite { at }
            | Self::OutOfOrder { at }
            | Self::Repeated { at }
            | Self::DoublesBack { at }
            | Self::NegativeRadius { at }
            | Self::OnAxis { at }
            | Self::SelfCrossing { second: at, .. }
            | Self::NotStarShaped { at }
            | Self::BendTooWide { at, .. }
            | Self::Reversal { at } => Some(*at),
            _ => None,
        }
    }
}

/// Refuses anything that is not a number above 0.
pub(super) fn positive(what: &'static str, value: f64) -> Result<f64, ShapeError> {
    if value > 0.0 && value.is_finite() { Ok(value) } else { Err(ShapeError::NotPositive { what }) }
}

/// Refuses a list of points that is too short, too long or holds what is not a number.
pub(super) fn counted<const N: usize>(
    what: &'static str,
    points: &[[f64; N]],
    wanted: usize,
) -> Result<(), ShapeError> {
    let found = points.len();
    if found < wanted {
        return Err(ShapeError::TooFew { what, wanted, found });
    }
    if found > MOST_POINTS {
        return Err(ShapeError::TooMany { what, most: MOST_POINTS, found });
    }
    match points.iter().position(|p| p.iter().any(|c| !c.is_finite())) {
        Some(at) => Err(ShapeError::NotFinite { at }),
        None => Ok(()),
    }
}

/// More points than any drawing of a profile needs; keeps the check for crossings, which
/// compares all with all, within a tenth of a second.
const MOST_POINTS: usize = 5000;
