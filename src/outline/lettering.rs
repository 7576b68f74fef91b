//! A line of text as outlines, in the one face that the crate carries.
//!
//! usvg shapes the line (right-to-left runs, joins, kerning), and only our face
//! is there to be found: the machine's fonts are never looked at, so a label has
//! the same bytes everywhere. A character that the face lacks is drawn as the face's
//! own box for a lacking letter, never in another font and never left out. Control characters are
//! taken out first; a line break becomes a space.
//!
//! Left out: paragraphs, and faces of the user's own. Shaping is in single
//! precision on a thousand units to the em, 1e-4 of a letter's height at worst.

use super::{Contour, Outline, Point, Segment, point};
use crate::units::World;
use std::sync::{Arc, LazyLock};
use usvg::fontdb;
use usvg::tiny_skia_path::{PathSegment, Transform};

/// Barlow Condensed Medium: narrow, open counters, legible at 1.5 mm. SIL OFL, see `face/`.
const FACE: &[u8] = include_bytes!("face/BarlowCondensed_500Medium.ttf");

/// Letters are shaped at this em and brought to size afterwards, in double precision.
const EM: f64 = 1000.0;

/// One line on the baseline y = 0 from x = 0, capitals `height` millimetres high; empty for a blank text.
pub fn line_of_text<W: World>(text: &str, height: f64) -> Outline<W> {
    shaped(&clean(text)).enlarged(height / *CAPITAL)
}

/// The text without what XML and paper cannot carry.
pub fn clean(text: &str) -> String {
    let keep = |c: char| match c {
        '\t' | '\n' | '\r' => Some(' '),
        // XML 1.0, production 2: noncharacters FFFE and FFFF are not allowed, nor are the controls.
        '\u{fffe}' | '\u{ffff}' => None,
        c if c.is_control() => None,
        c => Some(c),
    };
    text.chars().filter_map(keep).collect()
}

/// Height of a capital H at [`EM`], measured on the face itself.
static CAPITAL: LazyLock<f64> =
    LazyLock::new(|| shaped::<crate::units::Model>("H").bounds().height().max(f64::MIN_POSITIVE));

static FONTS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(FACE.to_vec());
    Arc::new(fonts)
});

fn shaped<W: World>(text: &str) -> Outline<W> {
    let escaped = text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg'><text xml:space='preserve' font-size='{EM}'>{escaped}</text></svg>"
    );
    let tree = usvg::Tree::from_str(&svg, &options()).expect("escaped text without controls is well-formed");
    let mut contours = Vec::new();
    gather(tree.root(), &mut contours);
    let outline = Outline::new(contours);
    // TrueType runs its outer contours clockwise; ours run the other way.
    if outline.area() < 0.0 {
        Outline::new(outline.contours.iter().map(Contour::reversed).collect())
    } else {
        outline
    }
}

/// How to read an SVG whose words are to be drawn: only our face, no fallback, no files.
pub fn options() -> usvg::Options<'static> {
    options_with(FONTS.clone())
}

/// The same with the one face of another database.
pub fn options_with(fonts: Arc<fontdb::Database>) -> usvg::Options<'static> {
    usvg::Options {
        fontdb: fonts,
        font_resolver: usvg::FontResolver {
            select_font: Box::new(|_, fonts| fonts.faces().next().map(|face| face.id)),
            select_fallback: Box::new(|_, _, _| None),
        },
        image_href_resolver: usvg::ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..usvg::Options::default()
    }
}

fn gather(group: &usvg::Group, contours: &mut Vec<Contour>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => gather(group, contours),
            usvg::Node::Text(text) => gather(text.flattened(), contours),
            usvg::Node::Path(path) => contours.extend(contours_of(path)),
            usvg::Node::Image(_) => {}
        }
    }
}

/// The path's contours with y turned up; quadratics raised to cubics, which is exact.
fn contours_of(path: &usvg::Path) -> Vec<Contour> {
    let Transform { sx, kx, ky, sy, tx, ty } = path.abs_transform();
    let [sx, kx, ky, sy, tx, ty] = [sx, kx, ky, sy, tx, ty].map(f64::from);
    let at = |p: usvg::tiny_skia_path::Point| {
        let (x, y) = (f64::from(p.x), f64::from(p.y));
        point(sx * x + kx * y + tx, -(ky * x + sy * y + ty))
    };
    let mut contours: Vec<Contour> = Vec::new();
    let mut here = Point::default();
    for segment in path.data().segments() {
        let segment = match segment {
            PathSegment::MoveTo(to) => {
                here = at(to);
                contours.push(Contour { start: here, segments: Vec::new() });
                continue;
            }
            PathSegment::Close => continue,
            PathSegment::LineTo(to) => Segment::Line { to: at(to) },
            PathSegment::QuadTo(ctrl, to) => Segment::quadratic(here, at(ctrl), at(to)),
            PathSegment::CubicTo(ctrl1, ctrl2, to) => {
                Segment::Cubic { ctrl1: at(ctrl1), ctrl2: at(ctrl2), to: at(to) }
            }
        };
        here = segment.to();
        if let Some(contour) = contours.last_mut() {
            contour.segments.push(segment);
        }
    }
    contours
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Model;

    fn line(text: &str) -> Outline<Model> {
        line_of_text(text, 2.0)
    }

    #[test]
    fn capitals_have_the_height_asked_for() {
        let letter = line("H").bounds();
        assert!((letter.height() - 2.0).abs() < 1e-6 && letter.min.y.abs() < 1e-6);
        assert!(line("H").area() > 0.0, "outer contours run counter-clockwise");
        // An O is an outer contour and a hole.
        assert_eq!(line("O").contours.len(), 2);
        assert!(line("O").area() < line("O").bounds().area());
    }

    #[test]
    fn a_lacking_letter_is_one_box_and_never_dropped() {
        // Hebrew alef, a Linear B syllable, a plane-15 private character: none is in the face.
        let boxes = ["\u{5d0}", "\u{10000}", "\u{f0000}"].map(line);
        assert_eq!(boxes[0], boxes[1]);
        assert_eq!(boxes[0], boxes[2]);
        assert!(boxes[0].area() > 0.0);
        assert!(line("\u{5d0}\u{5d1} right to left").bounds().min.x >= 0.0);
        assert!(line("a\u{5d0}b").bounds().width() > line("ab").bounds().width() + 0.5);
        assert_eq!(line("\u{5d0}\u{5d1}\u{5d2}").contours.len(), 3 * boxes[0].contours.len());
    }

    #[test]
    fn markup_and_controls_are_only_text() {
        assert_eq!(line("\u{0}a\u{7}\u{1b}b\u{ffff}"), line("ab"));
        assert_eq!(line("a\nb"), line("a b"));
        assert!(line("<script>&amp;").contours.len() >= "<script>&amp;".len());
        assert!(line("").is_empty() && line("   ").is_empty());
    }
}
