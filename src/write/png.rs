//! A sheet as PNG: exact pixels, true size, in bounded memory.
//!
//! The sheet's SVG is drawn by resvg in bands of [`BAND`] rows that are streamed
//! into the file, so memory grows with the page's width only. One millimetre is
//! exactly dpi/25.4 pixels: where the page is not a whole number of pixels its
//! last row and column are cut, rather than everything stretched. White ground,
//! 8-bit RGB, tagged sRGB, with `pHYs`.
//!
//! Left out: one-bit and grey output, transparency, and everything an SVG can
//! refer to: no file, picture or font is ever loaded.

use crate::outline::lettering;
use crate::units::{Dpi, Model, PIXELS_PER_INCH, Size};
use resvg::tiny_skia::{Color, Pixmap, Transform};
use std::io::{self, Write};

/// Rows drawn at a time. Anti-aliasing differs by a step between band heights
/// (0.01 to 0.14 % of pixels were seen to, by less than 50 of 255), so this is a constant, not a setting.
pub const BAND: u32 = 256;

/// The most pixels a page may have: an A3 sheet at 2400 dpi has 1.1e9. More is a slip of the pen.
pub const MOST_PIXELS: u64 = 2_000_000_000;

/// The widest page, in pixels: a band of it takes 66 MB.
pub const WIDEST: u32 = 65_000;

/// Bytes of compressed picture gathered before they are handed on.
const CHUNK: usize = 64 * 1024;

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum PngError {
    #[error(
        "a page of {width} × {height} pixels is more than a picture may have \
         ({WIDEST} across, {MOST_PIXELS} in all); use fewer dpi or a smaller page"
    )]
    TooLarge { width: u32, height: u32 },
    #[error("a page of {width} × {height} pixels shows nothing; use more dpi or a larger page")]
    Empty { width: u32, height: u32 },
    #[error("the drawing cannot be read: {0}")]
    Drawing(#[from] usvg::Error),
    #[error("{0}")]
    Write(#[from] io::Error),
}

/// Pixels across and down that show a page; an error, before any memory is taken, where no picture can hold them.
pub fn pixels(page: Size<Model>, dpi: Dpi) -> Result<[u32; 2], PngError> {
    let (width, height) = (dpi.pixels(page.width), dpi.pixels(page.height));
    if width > WIDEST || u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(PngError::TooLarge { width, height });
    }
    if width == 0 || height == 0 {
        return Err(PngError::Empty { width, height });
    }
    Ok([width, height])
}

/// Draws `svg`, whose page is `page`, and writes it to `out`.
pub fn png(svg: &str, page: Size<Model>, dpi: Dpi, out: impl Write) -> Result<(), PngError> {
    banded(svg, page, dpi, BAND, out)
}

fn banded(svg: &str, page: Size<Model>, dpi: Dpi, band: u32, out: impl Write) -> Result<(), PngError> {
    let [width, height] = pixels(page, dpi)?;
    let tree = usvg::Tree::from_str(svg, &lettering::options())?;
    let mut writer = encoder(width, height, dpi, out).write_header().map_err(encoding)?;
    let mut stream = writer.stream_writer_with_size(CHUNK).map_err(encoding)?;
    let rows = band.min(height);
    let mut pixmap = Pixmap::new(width, rows).ok_or(PngError::TooLarge { width, height })?;
    let mut row = vec![0; width as usize * 3];
    let scale = (dpi.per_inch() / PIXELS_PER_INCH) as f32;
    for top in (0..height).step_by(rows as usize) {
        pixmap.fill(Color::WHITE);
        let place = Transform::from_scale(scale, scale).post_translate(0.0, -(top as f32));
        resvg::render(&tree, place, &mut pixmap.as_mut());
        let shown = rows.min(height - top) as usize;
        for drawn in pixmap.data().chunks_exact(width as usize * 4).take(shown) {
            // On a white ground every pixel is opaque: premultiplied colour is colour.
            for (to, from) in row.chunks_exact_mut(3).zip(drawn.chunks_exact(4)) {
                to.copy_from_slice(&from[..3]);
            }
            stream.write_all(&row)?;
        }
    }
    stream.finish().map_err(encoding)?;
    writer.finish().map_err(encoding)?;
    Ok(())
}

/// The disk's own error where there is one: what it says decides what the user is told.
fn encoding(error: png::EncodingError) -> io::Error {
    match error {
        png::EncodingError::IoError(error) => error,
        other => io::Error::other(other),
    }
}

fn encoder<W: Write>(width: u32, height: u32, dpi: Dpi, out: W) -> png::Encoder<'static, W> {
    let mut encoder = png::Encoder::new(out, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_source_srgb(png::SrgbRenderingIntent::RelativeColorimetric);
    let per_metre = dpi.per_metre();
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit: png::Unit::Meter,
    }));
    // Flat colour on white: most rows repeat the one above, which `Up` turns into zeros.
    // Level 1 takes a third of the time of level 4 for twice the bytes: drawing an A4
    // sheet at 600 dpi and packing it take 60 ms and 1 MB against 190 ms and 0.5 MB.
    encoder.set_filter(png::Filter::Up);
    encoder.set_deflate_compression(png::DeflateCompression::Level(1));
    encoder
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Length;

    fn page(width: f64, height: f64) -> Size<Model> {
        Size { width: Length::mm(width), height: Length::mm(height) }
    }

    fn decoded(bytes: &[u8]) -> (png::Info<'static>, Vec<u8>) {
        let mut reader = png::Decoder::new(io::Cursor::new(bytes)).read_info().unwrap();
        let info = reader.info().clone();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut pixels).unwrap();
        (info, pixels)
    }

    /// 60 × 70 mm of discs, slanted hairlines and slivers over every band's edge.
    fn busy() -> String {
        let mut svg = String::from(
            "<svg xmlns='http://www.w3.org/2000/svg' width='60mm' height='70mm' viewBox='0 0 60 70'>",
        );
        for k in 0..40 {
            let (x, y) = (k as f64 * 1.37 + 2.0, (k * k % 67) as f64 + 0.31);
            svg += &format!(
                "<circle cx='{x}' cy='{y}' r='{}' fill='#{:02x}5080'/>",
                0.3 + k as f64 / 9.0,
                k * 6
            );
            svg += &format!("<path d='M{x} {y}L{y} {x}' stroke='#222' stroke-width='0.1'/>");
            if k % 4 > 0 {
                continue;
            }
            svg += &format!("<path d='M0 {y}L60 {x}L60 {}z' fill='#a03020'/>", x + 0.05);
        }
        svg + "</svg>"
    }

    #[test]
    fn bands_differ_from_the_whole_page_by_a_step_at_most() {
        let (page, dpi) = (page(60.0, 70.0), Dpi::new(600.0).unwrap());
        let drawn = |band| {
            let mut bytes = Vec::new();
            banded(&busy(), page, dpi, band, &mut bytes).unwrap();
            decoded(&bytes).1
        };
        let (bands, whole) = (drawn(BAND), drawn(u32::MAX));
        assert_eq!(bands.len(), 1417 * 1654 * 3);
        let differ = bands.chunks(3).zip(whole.chunks(3)).filter(|(a, b)| a != b).count();
        assert!((differ as f64) < 0.001 * (bands.len() / 3) as f64, "{differ} pixels differ");
        // One step of tiny-skia's anti-aliasing, 4 samples down a pixel: a quarter of black to white.
        let worst = bands.iter().zip(&whole).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
        assert!(worst <= 64, "{worst}");
        assert!(bands.chunks(3).filter(|p| p[0] < 128).count() > 10_000, "nothing was drawn");
    }

    #[test]
    fn the_file_says_its_size_and_colours() {
        let mut bytes = Vec::new();
        png(&busy(), page(60.0, 70.0), Dpi::DEFAULT, &mut bytes).unwrap();
        let (info, _) = decoded(&bytes);
        // 600 dpi as Pillow writes pHYs.
        let dims = info.pixel_dims.unwrap();
        assert_eq!((dims.xppu, dims.yppu, dims.unit), (23622, 23622, png::Unit::Meter));
        assert_eq!((info.width, info.height), (1417, 1654));
        assert!(info.srgb.is_some());
    }

    #[test]
    fn impossible_pages_are_refused_at_once() {
        let fine = Dpi::new(2400.0).unwrap();
        assert!(matches!(pixels(page(10_000.0, 10_000.0), fine), Err(PngError::TooLarge { .. })));
        assert!(matches!(pixels(page(600.0, 50_000.0), fine), Err(PngError::TooLarge { .. })));
        assert!(matches!(pixels(page(0.001, 10.0), Dpi::DEFAULT), Err(PngError::Empty { .. })));
        assert!(matches!(pixels(page(f64::NAN, 10.0), Dpi::DEFAULT), Err(PngError::Empty { .. })));
        // A3, 297 × 420 mm, at 2400 dpi.
        assert_eq!(pixels(page(297.0, 420.0), fine).unwrap(), [28063, 39685]);
    }

    #[test]
    fn a_full_disk_and_a_broken_drawing_are_errors() {
        struct Full;
        impl Write for Full {
            fn write(&mut self, _: &[u8]) -> io::Result<usize> {
                Err(io::ErrorKind::StorageFull.into())
            }
            fn flush(&mut self) -> io::Result<()> {
                Ok(())
            }
        }
        match png(&busy(), page(60.0, 70.0), Dpi::DEFAULT, Full) {
            Err(PngError::Write(error)) => assert_eq!(error.kind(), io::ErrorKind::StorageFull),
            other => panic!("{other:?}"),
        }
        let broken = png("<svg", page(60.0, 70.0), Dpi::DEFAULT, Vec::new());
        assert!(matches!(broken, Err(PngError::Drawing(_))));
    }
}
