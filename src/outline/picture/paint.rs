//! usvg's tree → one region for each fill and stroke, in the order of painting.

use super::survey::{Survey, short};
use super::visible::Pile;
use super::{FINE, MOST_CORNERS, Picture, Refused};
use crate::outline::{Outline, Point, Region, point};
use crate::units::Full;
use kurbo::{Affine, BezPath, PathEl, Shape as _};
use std::ops::Range;
use usvg::tiny_skia_path::{PathSegment, StrokeDash, Transform};

/// Dashes of one line: more than a sheet shows.
const MOST_DASHES: f64 = 20_000.0;
/// A coordinate further out than this is no drawing.
const FURTHEST: f64 = 1e7;

pub fn painted(tree: &usvg::Tree, survey: &Survey<'_>, times: u32) -> Result<Picture, Vec<Refused>> {
    let page = [tree.size().width(), tree.size().height()].map(f64::from);
    let middle = point(page[0] / 2.0, page[1] / 2.0);
    let box_of_all = tree.root().abs_layer_bounding_box();
    let greater = f64::from(box_of_all.width().max(box_of_all.height())).min(page[0].max(page[1]));
    let mut painter = Painter {
        survey,
        tolerance: FINE * greater,
        page: Outline::<Full>::rectangle(middle, page[0], page[1]).flattened(1.0),
        pile: Pile::default(),
        corners: 0,
        most: MOST_CORNERS * times as usize,
        refused: Vec::new(),
    };
    // y up: the page's lower left corner is the origin.
    let flip = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, page[1]]);
    painter.group(tree.root(), flip, None);
    let Painter { pile, mut refused, .. } = painter;
    if refused.is_empty() {
        let (areas, silhouette) = pile.flattened(greater);
        if !areas.is_empty() {
            return Ok(Picture { areas, silhouette, page });
        }
        let help = "check that something in it has a fill or a stroke and lies on its page";
        refused.push(Refused::new(survey.root.clone(), "nothing shows", help));
    }
    refused.sort_by_key(|refused| refused.at.start);
    refused.dedup();
    Err(refused)
}

struct Painter<'a> {
    survey: &'a Survey<'a>,
    /// In units of the file.
    tolerance: f64,
    page: Region<Full>,
    pile: Pile,
    corners: usize,
    most: usize,
    refused: Vec<Refused>,
}

impl Painter<'_> {
    fn refuse(&mut self, at: Range<usize>, message: impl Into<String>, help: &str) {
        self.refused.push(Refused::new(at, message, help));
    }

    fn group(&mut self, group: &usvg::Group, above: Affine, clip: Option<&Region<Full>>) {
        self.effects(group);
        let place = above * affine(group.transform());
        let clip = match (group.clip_path(), clip) {
            (None, clip) => clip.cloned(),
            (Some(own), None) => Some(self.clip(own, place)),
            (Some(own), Some(clip)) => Some(self.clip(own, place).intersection(clip)),
        };
        for node in group.children() {
            if self.corners > self.most {
                return;
            }
            match node {
                usvg::Node::Group(inner) => self.group(inner, place, clip.as_ref()),
                usvg::Node::Text(text) => self.group(text.flattened(), place, clip.as_ref()),
                usvg::Node::Path(path) if path.is_visible() => self.path(path, place, clip.as_ref()),
                // Images never get this far.
                usvg::Node::Path(_) | usvg::Node::Image(_) => {}
            }
        }
    }

    /// What film cannot carry, said of a whole group.
    fn effects(&mut self, group: &usvg::Group) {
        if group.opacity().get() < 1.0 {
            self.refuse(self.survey.saying("opacity"), "something one can see through (`opacity`)", SOLID);
        }
        if group.blend_mode() != usvg::BlendMode::Normal {
            self.refuse(self.survey.saying("mix-blend-mode"), "colours that blend (`mix-blend-mode`)", SOLID);
        }
        if let Some(mask) = group.mask() {
            let at = self.survey.place(mask.id(), "mask");
            self.refuse(
                at,
                format!("a mask{}", called(mask.id())),
                "cut the shapes to size, or use a `clipPath`",
            );
        }
        for filter in group.filters() {
            let at = self.survey.place(filter.id(), "filter");
            self.refuse(
                at,
                format!("a filter{}", called(filter.id())),
                "draw what it makes as shapes, or leave it out",
            );
        }
    }

    fn clip(&mut self, clip: &usvg::ClipPath, place: Affine) -> Region<Full> {
        let inside = self.clipping(clip.root(), place * affine(clip.transform()));
        match clip.clip_path() {
            Some(outer) => inside.intersection(&self.clip(outer, place)),
            None => inside,
        }
    }

    /// The area of everything in a clip path.
    fn clipping(&mut self, group: &usvg::Group, above: Affine) -> Region<Full> {
        let place = above * affine(group.transform());
        let mut rings = Vec::new();
        for node in group.children() {
            let region = match node {
                usvg::Node::Group(inner) => self.clipping(inner, place),
                usvg::Node::Text(text) => self.clipping(text.flattened(), place),
                // What is hidden clips nothing.
                usvg::Node::Path(path) if !path.is_visible() => Region::empty(),
                usvg::Node::Path(path) => {
                    let rule = path.fill().map_or(usvg::FillRule::NonZero, usvg::Fill::rule);
                    self.filled(bez(path.data()), place, rule)
                }
                usvg::Node::Image(_) => Region::empty(),
            };
            rings.extend(region.rings);
        }
        let all = Region::new(rings).cleaned();
        match group.clip_path() {
            Some(clip) => all.intersection(&self.clip(clip, place)),
            None => all,
        }
    }

    fn path(&mut self, path: &usvg::Path, place: Affine, clip: Option<&Region<Full>>) {
        let fill = |painter: &mut Self| {
            let Some(fill) = path.fill() else { return };
            let Some(rgb) = painter.colour(fill.paint(), fill.opacity(), "fill-opacity") else { return };
            let region = painter.filled(bez(path.data()), place, fill.rule());
            painter.put(rgb, region, clip);
        };
        let stroke = |painter: &mut Self| {
            let Some(stroke) = path.stroke() else { return };
            let Some(rgb) = painter.colour(stroke.paint(), stroke.opacity(), "stroke-opacity") else {
                return;
            };
            let Some(covered) = painter.stroked(path, stroke, place) else { return };
            let region = painter.filled(covered, place, usvg::FillRule::NonZero);
            painter.put(rgb, region, clip);
        };
        match path.paint_order() {
            usvg::PaintOrder::FillAndStroke => {
                fill(self);
                stroke(self);
            }
            usvg::PaintOrder::StrokeAndFill => {
                stroke(self);
                fill(self);
            }
        }
    }

    fn put(&mut self, rgb: [u8; 3], region: Region<Full>, clip: Option<&Region<Full>>) {
        let region = match clip {
            Some(clip) => region.intersection(clip),
            None => region,
        };
        let (bounds, page) = (region.bounds(), self.page.bounds());
        let on_page = page.contains_box(&bounds);
        self.pile.put(rgb, if on_page { region } else { region.intersection(&self.page) });
    }

    /// A plain colour; `None` where there is nothing to paint, or where it is refused.
    fn colour(&mut self, paint: &usvg::Paint, opacity: usvg::Opacity, property: &str) -> Option<[u8; 3]> {
        let (kind, id) = match paint {
            usvg::Paint::Color(colour) => {
                if opacity.get() > 0.0 && opacity.get() < 1.0 {
                    let message = format!("something one can see through (`{property}`)");
                    self.refuse(self.survey.saying("opacity"), message, SOLID);
                }
                return (opacity.get() >= 1.0).then_some([colour.red, colour.green, colour.blue]);
            }
            usvg::Paint::LinearGradient(gradient) => ("linearGradient", gradient.id()),
            usvg::Paint::RadialGradient(gradient) => ("radialGradient", gradient.id()),
            usvg::Paint::Pattern(pattern) => ("pattern", pattern.id()),
        };
        let what = if kind == "pattern" { "a pattern" } else { "a gradient" };
        let at = self.survey.place(id, kind);
        self.refuse(at, format!("{what} (`{kind}`){}", called(id)), SOLID);
        None
    }

    /// The outline that a stroke covers, before its transform. Skia's stroker, single precision as the path
    /// itself: it alone is right where a line bends more sharply than it is wide.
    fn stroked(&mut self, path: &usvg::Path, stroke: &usvg::Stroke, place: Affine) -> Option<BezPath> {
        let mut style = stroke.to_tiny_skia();
        // Both edges of a stroke bend as its line does.
        if !self.carries(&(place * bez(path.data()))) {
            return None;
        }
        if f64::from(style.width) * greatest_scale(place) > FURTHEST {
            self.refuse_reach();
            return None;
        }
        // Finer than single precision has steps at the line's far end, the stroker would halve it for ever.
        let bounds = path.data().bounds();
        let reach = [bounds.left(), bounds.top(), bounds.right(), bounds.bottom()].map(f32::abs);
        let reach = reach.into_iter().fold(style.width, f32::max);
        let finest = (self.tolerance / greatest_scale(place)).max(f64::from(4.0 * f32::EPSILON * reach));
        // What the stroker leaves out is a quarter of the resolution's inverse.
        let resolution = (0.25 / finest) as f32;
        if let Some(dashes) = stroke.dasharray() {
            let period: f64 = dashes.iter().copied().map(f64::from).sum();
            let length = bez(path.data()).perimeter(f64::from(style.width));
            if length / period * dashes.len() as f64 > MOST_DASHES {
                let at = self.survey.saying("stroke-dasharray");
                self.refuse(
                    at,
                    format!("a line of more than {MOST_DASHES} dashes"),
                    "make the dashes longer",
                );
                return None;
            }
            style.dash = StrokeDash::new(dashes.to_vec(), stroke.dashoffset());
        }
        let dashed = match &style.dash {
            Some(dash) => path.data().dash(dash, resolution),
            None => Some(path.data().clone()),
        };
        let covered = dashed.and_then(|line| line.stroke(&style, resolution));
        if covered.is_none() {
            let help = "bring the drawing to a usual size";
            self.refuse(self.survey.saying("stroke"), "a line whose stroke cannot be worked out", help);
        }
        covered.map(|covered| bez(&covered))
    }

    /// Whether a path can be worked out within bounds: before it is, since one curve of a wild file can ask
    /// for more memory than there is.
    fn carries(&mut self, placed: &BezPath) -> bool {
        let (mut furthest, mut corners) = (0.0f64, self.corners as f64);
        let mut here = kurbo::Point::ZERO;
        // By Wang's formula a curve cut at even steps needs no more corners to lie within the tolerance
        // (R. Goldman, Pyramid Algorithms, 2003, chapter 5).
        let bend = |a: kurbo::Point, b: kurbo::Point, c: kurbo::Point| {
            (a.to_vec2() - 2.0 * b.to_vec2() + c.to_vec2()).length()
        };
        for step in placed.elements() {
            let (ends, bent) = match *step {
                PathEl::MoveTo(to) | PathEl::LineTo(to) => ([to; 3], 0.0),
                PathEl::QuadTo(one, to) => ([one, one, to], 0.25 * bend(here, one, to)),
                PathEl::CurveTo(one, other, to) => {
                    ([one, other, to], 0.75 * bend(here, one, other).max(bend(one, other, to)))
                }
                PathEl::ClosePath => continue,
            };
            for p in ends {
                let out = if p.is_finite() { p.x.abs().max(p.y.abs()) } else { f64::INFINITY };
                furthest = furthest.max(out);
            }
            corners += 1.0 + (bent / self.tolerance).sqrt();
            here = ends[2];
        }
        if furthest > FURTHEST {
            self.refuse_reach();
            return false;
        }
        // Uneven steps, as they are taken, need fewer; so the last word is had when they are counted.
        if corners > 4.0 * self.most as f64 {
            self.corners = self.most + 1;
            self.refuse_corners();
            return false;
        }
        true
    }

    fn refuse_reach(&mut self) {
        let message = format!("a shape that reaches more than {FURTHEST} units out");
        self.refuse(self.survey.root.clone(), message, "bring the drawing onto its page");
    }

    fn refuse_corners(&mut self) {
        let message = format!("more than {} corners once curves are flattened", self.most);
        self.refused.push(Refused::too_much(self.survey.root.clone(), message, "simplify the paths"));
    }

    /// The area that a path fills, flattened and free of crossings.
    fn filled(&mut self, path: BezPath, place: Affine, rule: usvg::FillRule) -> Region<Full> {
        let path = place * path;
        if !self.carries(&path) {
            return Region::empty();
        }
        let mut rings: Vec<Vec<Point>> = Vec::new();
        kurbo::flatten(path, self.tolerance, |step| match step {
            PathEl::MoveTo(p) => rings.push(vec![point(p.x, p.y)]),
            PathEl::LineTo(p) => {
                if let Some(ring) = rings.last_mut() {
                    ring.push(point(p.x, p.y));
                }
            }
            PathEl::QuadTo(..) | PathEl::CurveTo(..) | PathEl::ClosePath => {}
        });
        self.corners += rings.iter().map(Vec::len).sum::<usize>();
        if self.corners > self.most {
            self.refuse_corners();
            return Region::empty();
        }
        rings.retain(|ring| ring.len() > 2);
        let region = Region::new(rings);
        match rule {
            usvg::FillRule::NonZero => region.cleaned(),
            usvg::FillRule::EvenOdd => region.cleaned_even_odd(),
        }
    }
}

const SOLID: &str = "film is printed and sprayed in plain colours: paint it solid";

/// ` called `sky``, where it has a name.
fn called(id: &str) -> String {
    if id.is_empty() { String::new() } else { format!(" called `{}`", short(id)) }
}

/// A transform in double precision.
pub fn affine(transform: Transform) -> Affine {
    let Transform { sx, kx, ky, sy, tx, ty } = transform;
    Affine::new([sx, ky, kx, sy, tx, ty].map(f64::from))
}

/// How much longer the transform can make a line.
fn greatest_scale(place: Affine) -> f64 {
    let [a, b, c, d, ..] = place.as_coeffs();
    ((a * a + b * b).max(c * c + d * d)).sqrt()
}

/// A path in double precision.
pub fn bez(path: &usvg::tiny_skia_path::Path) -> BezPath {
    let p = |p: usvg::tiny_skia_path::Point| kurbo::Point::new(f64::from(p.x), f64::from(p.y));
    let step = |segment| match segment {
        PathSegment::MoveTo(to) => PathEl::MoveTo(p(to)),
        PathSegment::LineTo(to) => PathEl::LineTo(p(to)),
        PathSegment::QuadTo(ctrl, to) => PathEl::QuadTo(p(ctrl), p(to)),
        PathSegment::CubicTo(one, other, to) => PathEl::CurveTo(p(one), p(other), p(to)),
        PathSegment::Close => PathEl::ClosePath,
    };
    path.segments().map(step).collect()
}
