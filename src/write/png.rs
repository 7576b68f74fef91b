//! A sheet as PNG: exact pixels, true size, in bounded memory.
//!
//! The sheet's SVG, read by usvg, is drawn by resvg and its rasteriser in bands of a
//! fixed height that are streamed into the file, so memory grows with the page's width
//! only. A [`Picture`] draws any of its bands on its own, so that several threads can, each on
//! a [`Canvas`] that it uses again; its [`File`] takes them in order. One millimetre is exactly dpi/25.4 pixels: where the page is not a
//! whole number of pixels its last row and column are cut, rather than everything
//! stretched. In 8-bit colour, 8-bit grey or black and white, on white or on
//! nothing; tagged sRGB, with `pHYs`.
//!
//! Left out: everything an SVG can refer to: no file, picture or font is ever
//! loaded. Threads are batch's business.

use super::plain::Plain;
use crate::flow::{Ground, Limits, Shades};
use crate::outline::lettering;
use crate::units::{Dpi, Model, PIXELS_PER_INCH, Size};
use resvg::tiny_skia::{Color, Pixmap, PremultipliedColorU8};
use std::io::{self, Write};

/// Rows drawn at a time. What needs a layer of its own may differ by a step of anti-aliasing between band
/// heights, so this is a constant, not a setting. Lower ones would cost time where a drawing has many paths,
/// higher ones memory: at 1200 dpi a band of an A4 page takes 2.2 MB with what is packed of it.
pub const BAND: u32 = 32;

/// The widest page, in pixels: a band of it takes 15 MB.
pub const WIDEST: u32 = 65_000;

/// Bytes of compressed picture gathered before they are handed on.
const CHUNK: usize = 64 * 1024;

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum PngError {
    #[error(
        "a page of {width} × {height} pixels is more than a picture may have \
         ({WIDEST} across, {most} in all); use fewer dpi or a smaller page"
    )]
    TooLarge { width: u32, height: u32, most: u64 },
    #[error("a page of {width} × {height} pixels shows nothing; use more dpi or a larger page")]
    Empty { width: u32, height: u32 },
    #[error("the drawing cannot be read: {0}")]
    Drawing(#[from] usvg::Error),
    #[error("{0}")]
    Write(#[from] io::Error),
}

/// Pixels across and down that show a page; an error, before any memory is taken, where no picture can hold them.
pub fn pixels(page: Size<Model>, dpi: Dpi, limits: Limits) -> Result<[u32; 2], PngError> {
    let (width, height) = (dpi.pixels(page.width), dpi.pixels(page.height));
    let most = limits.pixels();
    if width > WIDEST || u64::from(width) * u64::from(height) > most {
        return Err(PngError::TooLarge { width, height, most });
    }
    if width == 0 || height == 0 {
        return Err(PngError::Empty { width, height });
    }
    Ok([width, height])
}

/// How a picture is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    pub shades: Shades,
    pub ground: Ground,
}

impl Look {
    /// Colour on white.
    pub const PLAIN: Self = Self { shades: Shades::Colour, ground: Ground::White };
}

/// Draws `svg`, whose page is `page`, in colour on white, and writes it to `out`: one band after the other.
pub fn png(svg: &str, page: Size<Model>, dpi: Dpi, out: impl Write) -> Result<(), PngError> {
    let picture = Picture::new(svg, page, dpi, Look::PLAIN, Limits::default())?;
    let mut canvas = picture.canvas();
    picture.write(out, |file| {
        (0..picture.bands()).try_for_each(|band| file.add(picture.band(band, &mut canvas)))
    })
}

/// A drawing, read, with the pixels that it will have.
pub struct Picture {
    drawing: Plain,
    width: u32,
    height: u32,
    dpi: Dpi,
    look: Look,
    rows: u32,
}

impl Picture {
    pub fn new(svg: &str, page: Size<Model>, dpi: Dpi, look: Look, limits: Limits) -> Result<Self, PngError> {
        // Size first: it costs nothing to refuse.
        pixels(page, dpi, limits)?;
        Self::of(usvg::Tree::from_str(svg, &lettering::options())?, page, dpi, look, limits)
    }

    /// Of a drawing that was read elsewhere.
    pub fn of(
        tree: usvg::Tree,
        page: Size<Model>,
        dpi: Dpi,
        look: Look,
        limits: Limits,
    ) -> Result<Self, PngError> {
        let [width, height] = pixels(page, dpi, limits)?;
        let drawing = Plain::new(tree, dpi.per_inch() / PIXELS_PER_INCH, BAND);
        Ok(Self { drawing, width, height, dpi, look, rows: BAND.min(height) })
    }

    /// All of it as one band: what bands are measured beside.
    #[must_use]
    pub fn in_one_band(self) -> Self {
        Self { rows: self.height, ..self }
    }

    pub fn bands(&self) -> u32 {
        self.height.div_ceil(self.rows)
    }

    /// What drawing one band takes, bytes: its pixels, and what is packed of them.
    pub fn band_bytes(&self) -> u64 {
        u64::from(self.width) * u64::from(self.rows) * (4 + self.samples() as u64)
    }

    /// Room for one band, to be used for one after the other.
    pub fn canvas(&self) -> Canvas {
        let pixels = Pixmap::new(self.width, self.rows).expect("the sides are within limits");
        Canvas { pixels, packed: Vec::new() }
    }

    /// The rows of one band, packed as the file has them.
    pub fn band<'a>(&self, band: u32, canvas: &'a mut Canvas) -> &'a [u8] {
        let top = band * self.rows;
        let shown = self.rows.min(self.height - top);
        let Canvas { pixels, packed } = canvas;
        // The last band is drawn as high as the others, so that nothing hangs on where the page ends.
        pixels.fill(match self.look.ground {
            Ground::White => Color::WHITE,
            Ground::Clear => Color::TRANSPARENT,
        });
        self.drawing.draw(top, pixels);
        packed.resize(self.row_bytes() * shown as usize, 0);
        let drawn = pixels.pixels().chunks_exact(self.width as usize);
        packed.chunks_exact_mut(self.row_bytes()).zip(drawn).for_each(|(to, row)| self.pack(row, to));
        packed
    }

    fn samples(&self) -> usize {
        match (self.look.shades, self.look.ground) {
            (Shades::Colour, Ground::White) => 3,
            (Shades::Colour, Ground::Clear) => 4,
            (Shades::Grey, Ground::White) | (Shades::OneBit, _) => 1,
            (Shades::Grey, Ground::Clear) => 2,
        }
    }

    fn row_bytes(&self) -> usize {
        let width = self.width as usize;
        if self.look.shades == Shades::OneBit { width.div_ceil(8) } else { width * self.samples() }
    }

    fn pack(&self, row: &[PremultipliedColorU8], packed: &mut [u8]) {
        match (self.look.shades, self.look.ground) {
            // On a white ground every pixel is opaque: premultiplied colour is colour.
            (Shades::Colour, Ground::White) => {
                for (to, p) in packed.chunks_exact_mut(3).zip(row) {
                    to.copy_from_slice(&[p.red(), p.green(), p.blue()]);
                }
            }
            (Shades::Colour, Ground::Clear) => {
                for (to, p) in packed.chunks_exact_mut(4).zip(row) {
                    let p = p.demultiply();
                    to.copy_from_slice(&[p.red(), p.green(), p.blue(), p.alpha()]);
                }
            }
            (Shades::Grey, Ground::White) => {
                for (to, &p) in packed.iter_mut().zip(row) {
                    *to = grey(p);
                }
            }
            (Shades::Grey, Ground::Clear) => {
                for (to, &p) in packed.chunks_exact_mut(2).zip(row) {
                    // Premultiplied grey is at most alpha.
                    let light = u32::from(grey(p)) * 255 / u32::from(p.alpha().max(1));
                    to.copy_from_slice(&[light.min(255) as u8, p.alpha()]);
                }
            }
            (Shades::OneBit, ground) => {
                for (to, eight) in packed.iter_mut().zip(row.chunks(8)) {
                    *to = eight.iter().enumerate().fold(0, |byte, (k, &p)| {
                        let bare = if ground == Ground::White { 0 } else { 255 - p.alpha() };
                        let light = grey(p).saturating_add(bare) >= 128;
                        byte | (u8::from(light) << (7 - k))
                    });
                }
            }
        }
    }

    /// Writes the file; `add` is to hand in all bands in order.
    pub fn write<W: Write>(
        &self,
        out: W,
        add: impl FnOnce(&mut File<'_, W>) -> Result<(), PngError>,
    ) -> Result<(), PngError> {
        let mut encoder = png::Encoder::new(out, self.width, self.height);
        let (colour, depth) = match (self.look.shades, self.look.ground) {
            (Shades::Colour, Ground::White) => (png::ColorType::Rgb, png::BitDepth::Eight),
            (Shades::Colour, Ground::Clear) => (png::ColorType::Rgba, png::BitDepth::Eight),
            (Shades::Grey, Ground::White) => (png::ColorType::Grayscale, png::BitDepth::Eight),
            (Shades::Grey, Ground::Clear) => (png::ColorType::GrayscaleAlpha, png::BitDepth::Eight),
            (Shades::OneBit, _) => (png::ColorType::Grayscale, png::BitDepth::One),
        };
        encoder.set_color(colour);
        encoder.set_depth(depth);
        if (self.look.shades, self.look.ground) == (Shades::OneBit, Ground::Clear) {
            // White is the grey that is not there.
            encoder.set_trns(vec![0, 1]);
        }
        encoder.set_source_srgb(png::SrgbRenderingIntent::RelativeColorimetric);
        let per_metre = self.dpi.per_metre();
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
        let mut writer = encoder.write_header().map_err(encoding)?;
        {
            let mut file = File { stream: writer.stream_writer_with_size(CHUNK).map_err(encoding)? };
            add(&mut file)?;
            file.stream.finish().map_err(encoding)?;
        }
        Ok(writer.finish().map_err(encoding)?)
    }
}

/// How light a pixel is: luminance weights of Rec. ITU-R BT.709 on sRGB's own steps, in 1/65536.
fn grey(p: PremultipliedColorU8) -> u8 {
    let [r, g, b] = [p.red(), p.green(), p.blue()].map(u32::from);
    ((13_933 * r + 46_871 * g + 4_732 * b + 32_768) >> 16) as u8
}

/// What a band is drawn on, and what of it goes into the file.
pub struct Canvas {
    pixels: Pixmap,
    packed: Vec<u8>,
}

impl Canvas {
    /// The band that was drawn last, as the file has it.
    pub fn packed(&self) -> &[u8] {
        &self.packed
    }
}

/// A picture's file while its bands come in.
pub struct File<'a, W: Write> {
    stream: png::StreamWriter<'a, W>,
}

impl<W: Write> File<'_, W> {
    /// The next band.
    pub fn add(&mut self, band: &[u8]) -> Result<(), PngError> {
        Ok(self.stream.write_all(band)?)
    }
}

/// The disk's own error where there is one: what it says decides what the user is told.
fn encoding(error: png::EncodingError) -> io::Error {
    match error {
        png::EncodingError::IoError(error) => error,
        other => io::Error::other(other),
    }
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
    fn bands_are_just_the_whole_page() {
        let (page, dpi) = (page(60.0, 70.0), Dpi::new(600.0).unwrap());
        let drawn = |whole: bool| {
            let picture = Picture::new(&busy(), page, dpi, Look::PLAIN, Limits::default()).unwrap();
            let picture = if whole { picture.in_one_band() } else { picture };
            let mut canvas = picture.canvas();
            (0..picture.bands()).flat_map(|k| picture.band(k, &mut canvas).to_vec()).collect::<Vec<u8>>()
        };
        let (bands, whole) = (drawn(false), drawn(true));
        assert_eq!(bands.len(), 1417 * 1654 * 3);
        assert!(bands == whole, "thin slanted lines all over, the worst there is");
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
    fn every_look_shows_the_same_drawing() {
        let (page, dpi) = (page(60.0, 70.0), Dpi::new(300.0).unwrap());
        let drawn = |shades, ground| {
            let picture =
                Picture::new(&busy(), page, dpi, Look { shades, ground }, Limits::default()).unwrap();
            let mut bytes = Vec::new();
            let mut canvas = picture.canvas();
            let all = |file: &mut File<'_, _>| {
                (0..picture.bands()).try_for_each(|k| file.add(picture.band(k, &mut canvas)))
            };
            picture.write(&mut bytes, all).unwrap();
            let mut decoder = png::Decoder::new(io::Cursor::new(bytes));
            decoder.set_transformations(png::Transformations::EXPAND);
            let mut reader = decoder.read_info().unwrap();
            let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
            let info = reader.next_frame(&mut pixels).unwrap();
            assert_eq!((info.width, info.height), (709, 827));
            (info.color_type, pixels)
        };
        let (_, plain) = drawn(Shades::Colour, Ground::White);
        let (kind, clear) = drawn(Shades::Colour, Ground::Clear);
        assert_eq!(kind, png::ColorType::Rgba);
        assert!(clear.chunks(4).any(|p| p[3] == 0) && clear.chunks(4).any(|p| p[3] == 255));
        // Over white by the rule of Porter and Duff it is the plain picture, to the rounding of both.
        let over =
            |p: &[u8], k: usize| (u32::from(p[k]) * u32::from(p[3]) + 255 * u32::from(255 - p[3])) / 255;
        let worst = plain.chunks(3).zip(clear.chunks(4)).flat_map(|(a, b)| (0..3).map(move |k| (a, b, k)));
        let worst = worst.map(|(a, b, k)| u32::from(a[k]).abs_diff(over(b, k))).max().unwrap();
        assert!(worst <= 3, "{worst}");
        // Grey by Rec. BT.709, in floating point.
        let (kind, shades) = drawn(Shades::Grey, Ground::White);
        assert_eq!(kind, png::ColorType::Grayscale);
        for (colour, &grey) in plain.chunks(3).zip(&shades) {
            let [r, g, b] = [0, 1, 2].map(|k| f64::from(colour[k]));
            assert!((0.2126 * r + 0.7152 * g + 0.0722 * b - f64::from(grey)).abs() <= 0.6);
        }
        let (kind, clear) = drawn(Shades::Grey, Ground::Clear);
        assert_eq!(kind, png::ColorType::GrayscaleAlpha);
        let worst = shades.iter().zip(clear.chunks(2)).map(|(&a, b)| {
            let over = (u32::from(b[0]) * u32::from(b[1]) + 255 * u32::from(255 - b[1])) / 255;
            u32::from(a).abs_diff(over)
        });
        assert!(worst.max().unwrap() <= 3);
        // Black where the grey picture is darker than the middle.
        let (kind, bits) = drawn(Shades::OneBit, Ground::White);
        assert_eq!(kind, png::ColorType::Grayscale);
        assert!(bits.iter().zip(&shades).all(|(&bit, &grey)| (bit == 255) == (grey >= 128)));
        let (kind, bits) = drawn(Shades::OneBit, Ground::Clear);
        assert_eq!(kind, png::ColorType::GrayscaleAlpha);
        assert!(bits.chunks(2).all(|p| (p[0], p[1]) == (0, 255) || (p[0], p[1]) == (255, 0)));
        let black = bits.chunks(2).filter(|p| p[1] == 255).count();
        assert!(black.abs_diff(shades.iter().filter(|&&grey| grey < 128).count()) < 50, "{black}");
    }

    #[test]
    fn impossible_pages_are_refused_at_once() {
        let (fine, usual) = (Dpi::new(2400.0).unwrap(), Limits::default());
        assert!(matches!(pixels(page(10_000.0, 10_000.0), fine, usual), Err(PngError::TooLarge { .. })));
        assert!(matches!(pixels(page(600.0, 50_000.0), fine, usual), Err(PngError::TooLarge { .. })));
        assert!(matches!(pixels(page(0.001, 10.0), Dpi::DEFAULT, usual), Err(PngError::Empty { .. })));
        assert!(matches!(pixels(page(f64::NAN, 10.0), Dpi::DEFAULT, usual), Err(PngError::Empty { .. })));
        // A3, 297 × 420 mm, at 2400 dpi.
        assert_eq!(pixels(page(297.0, 420.0), fine, usual).unwrap(), [28063, 39685]);
        // 500 × 1000 mm at 2400 dpi: 4.5e9 pixels, with the limits raised.
        let more = Limits::times(4).unwrap();
        assert!(pixels(page(500.0, 1000.0), fine, usual).is_err());
        assert_eq!(pixels(page(500.0, 1000.0), fine, more).unwrap(), [47244, 94488]);
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
