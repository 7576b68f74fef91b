//! Our half of `beside_resvg.py`: draws an SVG as a PNG as sheets are drawn, or compares two PNGs.
//!
//! `draw IN.svg OUT.png DPI FONT.ttf [whole]` draws in bands on all cores, or the whole page at once; text is
//! set in the font, which sheets never need. `compare A.png B.png` prints how many of all pixels differ, and by
//! how much at most. Without words, as under a plain `cargo bench`, nothing is done.

use markloft::batch::paint::paint;
use markloft::flow::Limits;
use markloft::units::{Dpi, Length, Size};
use markloft::write::{Look, Picture};
use std::fs::File;
use std::io::{BufReader, BufWriter, Write};
use std::sync::Arc;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words[..] {
        ["draw", from, to, dpi, font] => draw(from, to, dpi, font, false),
        ["draw", from, to, dpi, font, "whole"] => draw(from, to, dpi, font, true),
        ["compare", a, b] => compare(a, b),
        _ => {}
    }
}

fn draw(from: &str, to: &str, dpi: &str, font: &str, whole: bool) {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(std::fs::read(font).expect("the font can be read"));
    let options = usvg::Options { fontdb: Arc::new(fonts), ..usvg::Options::default() };
    let text = std::fs::read_to_string(from).expect("the drawing can be read");
    let tree = usvg::Tree::from_str(&text, &options).expect("the drawing is one");
    let a4 = Size { width: Length::mm(210.0), height: Length::mm(297.0) };
    let dpi = Dpi::new(dpi.parse().expect("a number")).expect("from 30 to 2400");
    let mut picture = Picture::of(tree, a4, dpi, Look::PLAIN, Limits::default())
        .expect("the page is of a size that can be drawn");
    if whole {
        picture = picture.in_one_band();
    }
    let mut out = BufWriter::new(File::create(to).expect("the picture can be written"));
    paint(&picture, &mut out).and_then(|()| Ok(out.flush()?)).expect("the picture can be written");
}

/// Row by row: both pictures in memory would be two gigabytes.
fn compare(a: &str, b: &str) {
    let open = |path| {
        let file = BufReader::new(File::open(path).expect("the picture is there"));
        png::Decoder::new(file).read_info().expect("it is one")
    };
    let (mut a, mut b) = (open(a), open(b));
    let size = [a.info().width, a.info().height];
    assert_eq!(size, [b.info().width, b.info().height]);
    let (mut differ, mut most) = (0u64, 0u8);
    while let (Some(a), Some(b)) = (a.next_row().expect("a row"), b.next_row().expect("a row")) {
        for (a, b) in a.data().chunks_exact(3).zip(b.data().chunks_exact(3)) {
            let off = a.iter().zip(b).map(|(a, b)| a.abs_diff(*b)).max().unwrap_or(0);
            differ += u64::from(off > 0);
            most = most.max(off);
        }
    }
    println!("{differ} of {} differ, by {most} at most", u64::from(size[0]) * u64::from(size[1]));
}
