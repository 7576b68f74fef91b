//! A small writer of SVG 1.1: paths, text, groups, links, escaped and in short numbers.
//!
//! Own, because path data goes through the crate's one number formatter and
//! control characters must not pass. Left out: everything else of SVG.

use super::super::text::plain;
use crate::outline::number::{rounded, short};
use crate::outline::region::distance_to_segment;
use crate::outline::{Point, Region};
use crate::units::World;

/// Places after the point in pixels: no drawn point is further than 0.05 px from where it belongs.
const DECIMALS: i32 = 1;

/// A picture being written: `width` × `height` pixels, y down.
#[derive(Debug)]
pub struct Svg {
    body: String,
    width: f64,
    height: f64,
}

impl Svg {
    pub fn new(width: f64, height: f64) -> Self {
        Self { body: String::new(), width, height }
    }

    pub fn width(&self) -> f64 {
        self.width
    }

    pub fn height(&self) -> f64 {
        self.height
    }

    /// A shape of path data `d`; nothing where there is no data.
    pub fn path(&mut self, d: &Path, look: &[(&str, &str)]) {
        if !d.text.is_empty() {
            self.open("path", look, &[("d", &d.text)]);
            self.body += "/>";
        }
    }

    /// Text whose baseline starts (or by `look` is centred, or ends) at `at`.
    pub fn text(&mut self, at: Point, words: &str, look: &[(&str, &str)]) {
        self.open("text", look, &[("x", &number(at.x)), ("y", &number(at.y))]);
        self.body += ">";
        self.body += &escaped(&plain(words));
        self.body += "</text>";
    }

    pub fn circle(&mut self, centre: Point, radius: f64, look: &[(&str, &str)]) {
        let place = [("cx", number(centre.x)), ("cy", number(centre.y)), ("r", number(radius))];
        self.open("circle", look, &place.each_ref().map(|(k, v)| (*k, v.as_str())));
        self.body += "/>";
    }

    /// What was drawn in a group of this name elsewhere in the page.
    pub fn again(&mut self, name: &str) {
        self.open("use", &[], &[("href", &format!("#{name}"))]);
        self.body += "/>";
    }

    /// A finished picture, its upper left corner at `at`.
    pub fn inset(&mut self, at: Point, picture: &str) {
        self.body += &format!("<g transform=\"translate({} {})\">{picture}</g>", number(at.x), number(at.y));
    }

    /// Opens a group (`g`) or a link (`a`); every one is closed by [`Svg::end`] with the same name.
    pub fn begin(&mut self, element: &str, look: &[(&str, &str)]) {
        self.open(element, look, &[]);
        self.body += ">";
    }

    pub fn end(&mut self, element: &str) {
        self.body += &format!("</{element}>");
    }

    fn open(&mut self, element: &str, look: &[(&str, &str)], place: &[(&str, &str)]) {
        self.body.push('<');
        self.body += element;
        for (key, value) in look.iter().chain(place) {
            self.body += &format!(" {key}=\"{}\"", escaped(value));
        }
    }

    /// The whole picture. `role` is `img`, or `group` where it holds links; `title` says what it shows.
    pub fn finish(self, role: &str, title: &str) -> String {
        let (w, h) = (number(self.width), number(self.height));
        let title = escaped(&plain(title));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" role=\"{role}\" \
             aria-label=\"{title}\" font-size=\"11\" font-family=\"sans-serif\"><title>{title}</title>{}</svg>",
            self.body
        )
    }
}

/// Path data: an absolute move, then relative lines, which are half as long to write; closes.
#[derive(Debug, Default)]
pub struct Path {
    text: String,
}

impl Path {
    /// An open line through these points.
    pub fn line(&mut self, points: &[Point]) {
        let points = simplified(points);
        if points.len() > 1 {
            self.walk(&points);
        }
    }

    /// A closed ring.
    pub fn ring(&mut self, points: &[Point]) {
        let Some(&first) = points.first() else { return };
        // Simplified as two open lines, for a closed one has no chord to measure from.
        let half = points.len() / 2;
        let mut back = points[half..].to_vec();
        back.push(first);
        let mut kept = simplified(&points[..=half.min(points.len() - 1)]);
        kept.pop();
        kept.extend(simplified(&back));
        kept.pop();
        if kept.len() > 2 {
            self.walk(&kept);
            self.text.push('z');
        }
    }

    fn walk(&mut self, points: &[Point]) {
        // Steps between rounded points, so that rounding does not add up along the line.
        let mut last: Option<Point> = None;
        for p in points {
            let p = Point::new(rounded(p.x, DECIMALS), rounded(p.y, DECIMALS));
            match last {
                None => self.pair('M', p.x, p.y),
                Some(last) => self.pair('l', p.x - last.x, p.y - last.y),
            }
            last = Some(p);
        }
    }

    /// A command with two numbers; a minus separates by itself.
    fn pair(&mut self, command: char, x: f64, y: f64) {
        let (x, y) = (number(x), number(y));
        let gap = if y.starts_with('-') { "" } else { " " };
        self.text += &format!("{command}{x}{gap}{y}");
    }

    pub fn is_empty(&self) -> bool {
        self.text.is_empty()
    }
}

/// An open line through these points, as path data.
pub fn line(points: &[Point]) -> Path {
    let mut path = Path::default();
    path.line(points);
    path
}

/// Every ring of a region, each point taken to the picture by `place`.
pub fn rings<W: World>(region: &Region<W>, place: impl Fn(Point) -> Point) -> Path {
    let mut path = Path::default();
    for ring in &region.rings {
        path.ring(&ring.iter().map(|&p| place(p)).collect::<Vec<_>>());
    }
    path
}

/// The line without points that lie within a tenth of a pixel of the chord past them (Douglas and
/// Peucker, The Canadian Cartographer 10, 1973): not to be seen, and half the bytes.
fn simplified(points: &[Point]) -> Vec<Point> {
    const UNSEEN: f64 = 0.1;
    let mut kept = vec![false; points.len()];
    let mut spans = vec![(0, points.len().saturating_sub(1))];
    while let Some((from, to)) = spans.pop() {
        if let Some(mark) = kept.get_mut(from) {
            *mark = true;
        }
        if let Some(mark) = kept.get_mut(to) {
            *mark = true;
        }
        let away = |k: usize| distance_to_segment(points[k], points[from], points[to]);
        let far =
            (from + 1..to).map(|k| (away(k), k)).fold((UNSEEN, 0), |a, b| if b.0 > a.0 { b } else { a });
        if far.1 > 0 {
            spans.extend([(from, far.1), (far.1, to)]);
        }
    }
    points.iter().zip(kept).filter(|(_, keep)| *keep).map(|(&p, _)| p).collect()
}

/// Pixels as they are written.
pub fn number(value: f64) -> String {
    short(value, DECIMALS as usize)
}

/// Text as it stands in XML, in an attribute or between tags.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::point;

    #[test]
    fn a_reader_that_is_not_ours_gets_the_words_back() {
        let mut svg = Svg::new(10.0, 20.0);
        svg.text(point(1.0, 2.0), "<script>\"&\u{1b}🚁", &[("class", "a\"b")]);
        let text = svg.finish("img", "a < b");
        let read = roxmltree::Document::parse(&text).unwrap();
        let words = read.descendants().find(|n| n.has_tag_name("text")).unwrap();
        assert_eq!(words.text(), Some("<script>\"&\\u{1b}🚁"));
        assert_eq!(words.attribute("class"), Some("a\"b"));
        assert_eq!(read.root_element().attribute("aria-label"), Some("a < b"));
    }

    #[test]
    fn simplifying_moves_nothing_by_more_than_a_tenth() {
        let circle: Vec<Point> = (0..1000)
            .map(|k| libm::sincos(f64::from(k) / 1000.0 * std::f64::consts::TAU))
            .map(|(y, x)| point(x, y) * 50.0)
            .collect();
        let kept = simplified(&circle);
        assert!(kept.len() < 100, "{}", kept.len());
        let off = |p: &Point| {
            kept.windows(2).map(|w| distance_to_segment(*p, w[0], w[1])).fold(f64::INFINITY, f64::min)
        };
        assert!(circle.iter().all(|p| off(p) <= 0.1));
    }
}
