//! Whether an area is somewhere narrower than a width, corners and tips let pass.
//!
//! A detail is too narrow when it vanishes from an area that is shrunk by half the width and grown again (a
//! morphological opening). Left out: gaps, which the closing tells of.

use super::Region;
use crate::units::World;

/// A loss under this many squares of the width is a corner or tip: a tip of 36° loses 0.5, the notch of an N 1.1.
pub const TIP: f64 = 2.0;

/// Whether a connected bit loses more than tips when it is shrunk and grown by half of `width`, mm.
pub fn is_finer<W: World>(bit: &Region<W>, width: f64) -> bool {
    let opened = bit.opened(width);
    // What goes altogether is no tip, however small it is.
    let all = opened.area() < 0.001 * bit.area();
    let tip = TIP * width * width;
    // All that is lost is no more than one tip: it need not be looked at bit by bit.
    let may = all || bit.area() - opened.area() > tip;
    may && (all || bit.minus(&opened).parts().iter().any(|lost| lost.area() > tip))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::{Outline, point};
    use crate::units::Model;

    #[test]
    fn a_bar_is_as_wide_as_it_is() {
        let bar = Outline::<Model>::rectangle(point(0.0, 0.0), 20.0, 0.5).flattened(0.01);
        assert!(is_finer(&bar, 0.51) && !is_finer(&bar, 0.49));
    }
}
