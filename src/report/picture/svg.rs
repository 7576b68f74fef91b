//! A small writer of SVG 1.1: paths, text, groups, links, escaped and in short numbers.
//!
//! Own, because path data goes through the crate's one number formatter and
//! control characters must not pass. Left out: everything else of SVG.

use super::super::text::plain;
use crate::outline::number::{packed, rounded, short};
use crate::outline::region::distance_to_segment;
use crate::outline::{Bounds, Point, Region, Vector};
use crate::units::World;

/// Places after the point in pixels: no drawn point is further than 0.05 px from where it belongs.
const DECIMALS: u32 = 1;

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

    /// The same with its origin at `at`, its x axis along `heading`.
    pub fn again_at(&mut self, name: &str, at: Point, heading: Vector) {
        let turn = libm::atan2(heading.y, heading.x).to_degrees();
        let turn = if turn == 0.0 { String::new() } else { format!("rotate({})", number(turn)) };
        let place = format!("translate({} {}){turn}", number(at.x), number(at.y));
        self.open("use", &[("transform", &place)], &[("href", &format!("#{name}"))]);
        self.body += "/>";
    }

    /// What was drawn, as a group of this name to be used elsewhere.
    pub fn group(self, name: &str) -> String {
        format!("<g id=\"{name}\">{}</g>", self.body)
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

    /// The whole picture, to stand in a page. `role` is `img`, or `group` where it holds links; `title` says
    /// what it shows, and is its name to those who hear it.
    pub fn finish(self, role: &str, title: &str) -> String {
        let (w, h) = (number(self.width), number(self.height));
        let title = escaped(&plain(title));
        // Some do not take the title for a group's name.
        let name = if role == "img" { String::new() } else { format!(" aria-label=\"{title}\"") };
        format!(
            "<svg width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" role=\"{role}\"{name}><title>{title}</title>{}</svg>",
            self.body
        )
    }

    /// The whole picture as a file of its own, with the style sheet that a page would have.
    pub fn file(mut self, title: &str, style: &str) -> String {
        self.body.insert_str(0, &format!("<style>{style}</style>"));
        self.finish("img", title).replacen("<svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"", 1)
    }
}

/// Path data: where it starts, then steps, which are half as long to write.
///
/// All is rounded as seen from the start, so that equal shapes have equal steps wherever they lie.
#[derive(Debug, Default)]
pub struct Path {
    text: String,
    /// The first point, as given.
    start: Option<Point>,
    /// Where the pen is, from there.
    here: Vector,
    /// Whether the number that comes next has one before it, and whether that has a stop.
    after: Option<bool>,
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
            let from = self.walk(&kept);
            self.text.push('z');
            self.here = from;
        }
    }

    /// Gives the place of the first point.
    fn walk(&mut self, points: &[Point]) -> Vector {
        let mut from = Vector::zero();
        for (k, &p) in points.iter().enumerate() {
            let start = *self.start.get_or_insert(p);
            let to = p - start;
            let to = Vector::new(rounded(to.x, DECIMALS), rounded(to.y, DECIMALS));
            // A command holds until another comes.
            match (k, self.text.is_empty()) {
                (0, true) => {
                    self.command('M');
                    self.number(start.x);
                    self.number(start.y);
                }
                (0, false) => self.step('m', to),
                (1, _) => self.step('l', to),
                _ => self.pair(to - self.here),
            }
            self.here = to;
            if k == 0 {
                from = to;
            }
        }
        from
    }

    fn step(&mut self, command: char, to: Vector) {
        self.command(command);
        self.pair(to - self.here);
    }

    fn command(&mut self, command: char) {
        self.text.push(command);
        self.after = None;
    }

    fn pair(&mut self, step: Vector) {
        self.number(step.x);
        self.number(step.y);
    }

    /// Set off from the number before only where neither a minus nor a second stop does that.
    fn number(&mut self, value: f64) {
        let text = packed(value, DECIMALS as usize);
        let parted = text.starts_with('-') || self.after == Some(true) && text.starts_with('.');
        if self.after.is_some() && !parted {
            self.text.push(' ');
        }
        self.after = Some(text.contains('.'));
        self.text += &text;
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

/// The line without points that lie within 0.15 pixels of the chord past them (Douglas and Peucker, The
/// Canadian Cartographer 10, 1973): not to be seen, and less than half the bytes. Of what is itself a few
/// pixels wide, within a quarter of one: what it looks like is seen in a picture of its own.
fn simplified(points: &[Point]) -> Vec<Point> {
    const SMALL: f64 = 16.0;
    let size = Bounds::from_points(points.iter().copied()).size();
    let unseen = if size.width.max(size.height) < SMALL { 0.25 } else { 0.15 };
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
            (from + 1..to).map(|k| (away(k), k)).fold((unseen, 0), |a, b| if b.0 > a.0 { b } else { a });
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
        let title = read.descendants().find(|n| n.has_tag_name("title")).unwrap();
        assert_eq!(title.text(), Some("a < b"));
    }

    #[test]
    fn packed_numbers_are_read_back_by_another_reader() {
        let line = [point(3.0, 0.5), point(3.3, 0.0), point(-0.5, 12.0), point(0.0, 12.0), point(0.0, -0.5)];
        let mut path = Path::default();
        path.line(&line);
        path.ring(&[point(0.0, 0.0), point(0.5, 0.5), point(0.0, 7.0)]);
        assert!(path.text.starts_with("M3 .5l.3-.5-3.8 12"), "{}", path.text);
        let moved = line.map(|p| p + Vector::new(11.13, -7.08));
        assert_eq!(super::line(&moved).text, super::line(&line).text.replacen("M3 .5", "M14.1-6.6", 1));
        let read = super::super::super::fixture::read_path(&path.text);
        for (a, b) in read[0].iter().zip(&line) {
            assert!((*a - *b).length() < 0.08, "{a:?} {b:?}");
        }
        assert_eq!((read.len(), read[1].len()), (2, 3));
    }

    #[test]
    fn simplifying_moves_nothing_that_is_seen() {
        let circle: Vec<Point> = (0..1000)
            .map(|k| libm::sincos(f64::from(k) / 1000.0 * std::f64::consts::TAU))
            .map(|(y, x)| point(x, y) * 50.0)
            .collect();
        let kept = simplified(&circle);
        assert!(kept.len() < 100, "{}", kept.len());
        let off = |p: &Point| {
            kept.windows(2).map(|w| distance_to_segment(*p, w[0], w[1])).fold(f64::INFINITY, f64::min)
        };
        assert!(circle.iter().all(|p| off(p) <= 0.15));
    }
}
