//! A picture drawn by all cores: bands in any order, into the file in theirs.
//!
//! While one lot of bands is packed into the file the next is drawn. A lot is a
//! few bands, so that memory stays what those take whatever the page and however
//! many threads there are. Bytes do not depend on the lot.

use crate::write::{Canvas, Picture, PngError};
use rayon::prelude::*;
use std::io::Write;

/// What bands in flight may take, bytes, two lots and the layers of a drawing in mind: a page of A4 at
/// 1200 dpi gets a lot of two, one at 2400 dpi of one.
const MOST_BYTES: u64 = 12 << 20;

/// Draws and writes the whole file.
pub fn paint(picture: &Picture, out: impl Write + Send) -> Result<(), PngError> {
    let affordable = (MOST_BYTES / picture.band_bytes()).clamp(1, 16) as u32;
    let lot = affordable.min(rayon::current_num_threads() as u32);
    let bands = picture.bands();
    let canvases = || -> Vec<Canvas> { (0..lot).map(|_| picture.canvas()).collect() };
    let draw = |from: u32, on: &mut [Canvas]| {
        let each = (from..bands.min(from + lot)).into_par_iter().zip(on);
        each.for_each(|(band, canvas)| {
            picture.band(band, canvas);
        });
    };
    picture.write(out, |file| {
        // While one lot is packed, the next is drawn.
        let (mut drawn, mut coming) = (canvases(), canvases());
        draw(0, &mut drawn);
        for from in (0..bands).step_by(lot as usize) {
            let whole = (bands - from).min(lot) as usize;
            let add = || drawn[..whole].iter().try_for_each(|canvas| file.add(canvas.packed()));
            let (added, ()) = rayon::join(add, || draw(from + lot, &mut coming));
            added?;
            std::mem::swap(&mut drawn, &mut coming);
        }
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::Limits;
    use crate::units::{Dpi, Length, Size};
    use crate::write::{Look, png};

    #[test]
    fn any_number_of_threads_writes_the_same_bytes() {
        let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='90mm' height='150mm' viewBox='0 0 90 150'>\
                   <circle cx='45' cy='75' r='40' fill='#c8321e'/><path d='M0 0L90 150' stroke='#222'/></svg>";
        let page = Size { width: Length::mm(90.0), height: Length::mm(150.0) };
        let mut alone = Vec::new();
        png(svg, page, Dpi::DEFAULT, &mut alone).unwrap();
        let picture = Picture::new(svg, page, Dpi::DEFAULT, Look::PLAIN, Limits::default()).unwrap();
        for threads in [1, 2, 5] {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            let mut bytes = Vec::new();
            pool.install(|| paint(&picture, &mut bytes)).unwrap();
            assert!(bytes == alone, "{threads} threads");
        }
    }
}
