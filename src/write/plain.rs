//! A drawing as polygons in pixels, so that any band of it can be drawn on its own.
//!
//! Fills and strokes of one colour are flattened once, their corners on a grid of 1/256 of a
//! pixel. Moved by whole pixels they stay the same numbers, so a band shows just what the whole
//! page would, and only what lies in it is touched. A clip path thins out each shape that it clips, instead of
//! all of them as one: where several meet on its very edge, less than a pixel wide, what lies below shows
//! through a little. What needs a layer of its own (masks, opacity of a group, filters, gradients, patterns,
//! images) resvg draws for each band, and may differ by a step of anti-aliasing where a curve crosses from
//! band to band.
//!
//! Left out: bands, bytes, and whatever resvg itself does.

use crate::outline::picture::{affine, bez};
use kurbo::{Affine, PathEl};
use resvg::tiny_skia::{FillRule, Mask, Paint, Path, PathBuilder, Pixmap, Transform};
use usvg::tiny_skia_path::PathStroker;

/// Steps to a pixel: 16 bits before the point and 8 behind are exact in single precision, and no picture
/// is wider than 65 000.
const GRID: f64 = 256.0;

/// Curves are flattened to this, pixels: a sixth of a step of anti-aliasing. Finer is no better, for the
/// rasteriser rounds the slopes of short lines that are nearly level.
const FLAT: f64 = 1.0 / 24.0;

/// Rows beside what is drawn that anti-aliasing may touch.
const MARGIN: f64 = 2.0;

/// A drawing in the order of painting.
pub struct Plain {
    tree: usvg::Tree,
    items: Vec<Item>,
    clips: Vec<Vec<Shape>>,
}

struct Item {
    /// First and last row.
    rows: [f64; 2],
    kind: Kind,
}

/// An area in pixels.
struct Shape {
    path: Path,
    rule: FillRule,
    smooth: bool,
}

enum Kind {
    Fill {
        shape: Shape,
        rgba: [u8; 4],
        /// Index of what it shows through.
        clip: Option<usize>,
    },
    /// A node that resvg draws, by the children that lead to it from the root, and what it is moved by before.
    Layer { way: Vec<usize>, above: Affine },
}

impl Plain {
    /// `scale` is pixels to a unit of the drawing, `band` how many rows are drawn at a time.
    pub fn new(tree: usvg::Tree, scale: f64, band: u32) -> Self {
        let mut reader = Reader { scale, band, way: Vec::new(), items: Vec::new(), clips: Vec::new() };
        reader.group(tree.root(), Affine::scale(scale), None);
        let Reader { items, clips, .. } = reader;
        Self { tree, items, clips }
    }
    /// Draws what shows in rows from `top` on, over what is there.
    pub fn draw(&self, top: u32, pixmap: &mut Pixmap) {
        let (first, last) = (f64::from(top), f64::from(top + pixmap.height()));
        let place = Transform::from_translate(0.0, -(top as f32));
        // Shapes that one clip clips come one after another.
        let mut mask: Option<(usize, Mask)> = None;
        for Item { rows, kind } in &self.items {
            if rows[1] < first || rows[0] > last {
                continue;
            }
            match kind {
                Kind::Fill { shape: Shape { path, rule, smooth }, rgba: [r, g, b, a], clip } => {
                    if let Some(clip) = *clip
                        && mask.as_ref().is_none_or(|(drawn, _)| *drawn != clip)
                    {
                        mask = Some((clip, self.mask(clip, place, [pixmap.width(), pixmap.height()])));
                    }
                    let through = clip.and(mask.as_ref()).map(|(_, mask)| mask);
                    let mut paint = Paint { anti_alias: *smooth, ..Paint::default() };
                    paint.set_color_rgba8(*r, *g, *b, *a);
                    pixmap.fill_path(path, &paint, *rule, place, through);
                }
                Kind::Layer { way, above } => self.layer(way, *above, first, pixmap),
            }
        }
    }

    fn mask(&self, clip: usize, place: Transform, [width, height]: [u32; 2]) -> Mask {
        let mut mask = Mask::new(width, height).expect("a mask of a picture's own size");
        for Shape { path, rule, smooth } in &self.clips[clip] {
            mask.fill_path(path, *rule, *smooth, place);
        }
        mask
    }

    fn layer(&self, way: &[usize], above: Affine, top: f64, pixmap: &mut Pixmap) {
        let mut group = self.tree.root();
        let (last, before) = way.split_last().expect("a layer is below the root");
        for &child in before {
            let usvg::Node::Group(inner) = &group.children()[child] else { return };
            group = inner;
        }
        let node = &group.children()[*last];
        let Some(bounds) = node.abs_layer_bounding_box() else { return };
        // resvg moves a node's corner to the origin first.
        let back = Affine::translate((f64::from(bounds.x()), f64::from(bounds.y())));
        let [a, b, c, d, e, f] =
            (Affine::translate((0.0, -top)) * above * back).as_coeffs().map(|n| n as f32);
        resvg::render_node(node, Transform::from_row(a, b, c, d, e, f), &mut pixmap.as_mut());
    }
}

/// A tree on its way to items.
struct Reader {
    scale: f64,
    band: u32,
    way: Vec<usize>,
    items: Vec<Item>,
    clips: Vec<Vec<Shape>>,
}

impl Reader {
    /// Everything in a group in the order of painting; `place` takes the group's units to pixels.
    fn group(&mut self, group: &usvg::Group, place: Affine, clip: Option<usize>) {
        for (k, node) in group.children().iter().enumerate() {
            self.way.push(k);
            match node {
                usvg::Node::Group(inner) if !inner.should_isolate() => {
                    self.group(inner, place * affine(inner.transform()), clip);
                }
                usvg::Node::Group(inner) if clip.is_none() && only_clipped(inner) => {
                    let place = place * affine(inner.transform());
                    let mut shapes = Vec::new();
                    if let Some(clip) = inner.clip_path() {
                        self.clip(clip.root(), place * affine(clip.transform()), &mut shapes);
                    }
                    self.clips.push(shapes);
                    self.group(inner, place, Some(self.clips.len() - 1));
                }
                usvg::Node::Text(text) if plain(text.flattened()) => {
                    self.group(text.flattened(), place * affine(text.flattened().transform()), clip);
                }
                usvg::Node::Path(path) if of_plain_colours(path) => self.path(path, place, clip),
                node => {
                    let bounds = match node {
                        usvg::Node::Group(inner) => inner.abs_layer_bounding_box().to_rect(),
                        other => other.abs_stroke_bounding_box(),
                    };
                    let [top, bottom] = [bounds.top(), bounds.bottom()].map(|y| f64::from(y) * self.scale);
                    let kind = Kind::Layer { way: self.way.clone(), above: place };
                    self.items.push(Item { rows: [top - MARGIN, bottom + MARGIN], kind });
                }
            }
            self.way.pop();
        }
    }

    /// The shapes of a clip path.
    fn clip(&mut self, group: &usvg::Group, place: Affine, shapes: &mut Vec<Shape>) {
        let place = place * affine(group.transform());
        for node in group.children() {
            match node {
                usvg::Node::Group(inner) => self.clip(inner, place, shapes),
                usvg::Node::Text(text) => self.clip(text.flattened(), place, shapes),
                usvg::Node::Path(path) if path.is_visible() => {
                    let area = in_pixels(path.data(), place, self.band);
                    let rule = path.fill().map_or(FillRule::Winding, |fill| rule(fill.rule()));
                    let smooth = path.rendering_mode().use_shape_antialiasing();
                    shapes.extend(area.map(|path| Shape { path, rule, smooth }));
                }
                usvg::Node::Path(_) | usvg::Node::Image(_) => {}
            }
        }
    }

    fn path(&mut self, path: &usvg::Path, place: Affine, clip: Option<usize>) {
        if !path.is_visible() {
            return;
        }
        let fill = path.fill().map(|fill| {
            let area = in_pixels(path.data(), place, self.band);
            (area, rule(fill.rule()), fill.paint(), fill.opacity())
        });
        let stroke = path.stroke().map(|stroke| {
            let area = covered(path, stroke, place).and_then(|line| in_pixels(&line, place, self.band));
            (area, FillRule::Winding, stroke.paint(), stroke.opacity())
        });
        let both = match path.paint_order() {
            usvg::PaintOrder::FillAndStroke => [fill, stroke],
            usvg::PaintOrder::StrokeAndFill => [stroke, fill],
        };
        for (area, rule, paint, opacity) in both.into_iter().flatten() {
            let (Some(path_in_pixels), usvg::Paint::Color(colour)) = (area, paint) else { continue };
            let bounds = path_in_pixels.bounds();
            let rows = [f64::from(bounds.top()) - MARGIN, f64::from(bounds.bottom()) + MARGIN];
            let smooth = path.rendering_mode().use_shape_antialiasing();
            let shape = Shape { path: path_in_pixels, rule, smooth };
            let rgba = [colour.red, colour.green, colour.blue, opacity.to_u8()];
            self.items.push(Item { rows, kind: Kind::Fill { shape, rgba, clip } });
        }
    }
}

fn rule(rule: usvg::FillRule) -> FillRule {
    match rule {
        usvg::FillRule::NonZero => FillRule::Winding,
        usvg::FillRule::EvenOdd => FillRule::EvenOdd,
    }
}

/// Whether all that sets a group apart is a clip path of shapes alone, round paths of plain colours.
fn only_clipped(group: &usvg::Group) -> bool {
    fn shapes_only(group: &usvg::Group) -> bool {
        let alone = |node: &usvg::Node| match node {
            usvg::Node::Group(inner) => shapes_only(inner),
            _ => true,
        };
        group.clip_path().is_none() && group.children().iter().all(alone)
    }
    let clip = group.clip_path().is_some_and(|clip| clip.clip_path().is_none() && shapes_only(clip.root()));
    clip && !group.isolate()
        && group.opacity() == usvg::Opacity::ONE
        && group.mask().is_none()
        && group.filters().is_empty()
        && group.blend_mode() == usvg::BlendMode::Normal
        && group.children().iter().all(plain_node)
}

/// Whether all of it is paths of plain colours.
fn plain(group: &usvg::Group) -> bool {
    !group.should_isolate() && group.children().iter().all(plain_node)
}

fn plain_node(node: &usvg::Node) -> bool {
    match node {
        usvg::Node::Group(inner) => plain(inner),
        usvg::Node::Text(text) => plain(text.flattened()),
        usvg::Node::Path(path) => of_plain_colours(path),
        usvg::Node::Image(_) => false,
    }
}

fn of_plain_colours(path: &usvg::Path) -> bool {
    let paints = [path.fill().map(usvg::Fill::paint), path.stroke().map(usvg::Stroke::paint)];
    paints.into_iter().flatten().all(|paint| matches!(paint, usvg::Paint::Color(_)))
}

/// The outline that a stroke covers, in the path's own units; `None` where it covers nothing.
fn covered(path: &usvg::Path, stroke: &usvg::Stroke, place: Affine) -> Option<Path> {
    let style = stroke.to_tiny_skia();
    let [a, b, c, d, ..] = place.as_coeffs().map(|n| n as f32);
    let resolution = PathStroker::compute_resolution_scale(&Transform::from_row(a, b, c, d, 0.0, 0.0));
    match &style.dash {
        Some(dash) => path.data().dash(dash, resolution)?.stroke(&style, resolution),
        None => path.data().stroke(&style, resolution),
    }
}

/// A path in pixels, of straight lines between places of the grid; `None` where nothing is left of it.
/// Lines have a corner at the edge of every band: the rasteriser, which cuts them there, then has nothing to cut.
fn in_pixels(path: &Path, place: Affine, rows: u32) -> Option<Path> {
    let snapped = |p: kurbo::Point| [p.x, p.y].map(|v| (v * GRID).round() / GRID);
    let rows = f64::from(rows);
    let mut lines = PathBuilder::new();
    let (mut first, mut at) = ([0.0; 2], [0.0; 2]);
    let to = |lines: &mut PathBuilder, from: [f64; 2], to: [f64; 2]| {
        let ([x, y], rise) = (from, to[1] - from[1]);
        let [low, high] = [(y.min(to[1]) / rows).floor() + 1.0, (y.max(to[1]) / rows).ceil() - 1.0];
        let count = (high - low + 1.0).max(0.0) as u64;
        for k in 0..count {
            let edge = if rise > 0.0 { low + k as f64 } else { high - k as f64 } * rows;
            let across = x + (to[0] - x) * ((edge - y) / rise);
            lines.line_to(((across * GRID).round() / GRID) as f32, edge as f32);
        }
        lines.line_to(to[0] as f32, to[1] as f32);
    };
    kurbo::flatten(place * bez(path), FLAT, |step| match step {
        PathEl::MoveTo(p) => {
            at = snapped(p);
            first = at;
            lines.move_to(at[0] as f32, at[1] as f32);
        }
        PathEl::LineTo(p) => {
            let next = snapped(p);
            to(&mut lines, at, next);
            at = next;
        }
        PathEl::ClosePath => {
            to(&mut lines, at, first);
            lines.close();
            at = first;
        }
        PathEl::QuadTo(..) | PathEl::CurveTo(..) => {}
    });
    lines.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::lettering;
    use resvg::tiny_skia::Color;

    const DRAWING: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='60' height='70' viewBox='0 0 60 70'>\
        <clipPath id='c'><ellipse cx='12' cy='58' rx='9' ry='6'/></clipPath>\
        <g clip-path='url(#c)'><path d='M0 50L30 55L5 70z' fill='#936'/></g>\
        <g transform='translate(3.3 1.7) rotate(7)'><circle cx='20' cy='30' r='17.3' fill='#c8321e'/>\
        <path d='M2 3Q30 80 50 9z' fill='#205080' fill-opacity='.5' fill-rule='evenodd'/></g>\
        <path d='M5 60C20 20 40 90 55 12' fill='none' stroke='#222' stroke-width='1.3' stroke-dasharray='5 2'/>\
        <g opacity='.6'><rect x='10' y='10' width='30' height='45.5' fill='#187'/><circle cx='40' cy='50' r='9'/></g></svg>";

    fn drawn(draw: impl Fn(u32, &mut Pixmap), rows: u32) -> Vec<u8> {
        let bands = 280_u32.div_ceil(rows);
        let band = |k: u32| {
            let mut pixmap = Pixmap::new(240, rows).unwrap();
            pixmap.fill(Color::WHITE);
            draw(k * rows, &mut pixmap);
            pixmap.data()[..(240 * 4 * (280 - k * rows).min(rows)) as usize].to_vec()
        };
        (0..bands).flat_map(band).collect()
    }

    #[test]
    fn it_looks_as_resvg_draws_it_and_every_band_as_the_whole() {
        let tree = usvg::Tree::from_str(DRAWING, &lettering::options()).unwrap();
        let theirs = |top: u32, pixmap: &mut Pixmap| {
            let place = Transform::from_scale(4.0, 4.0).post_translate(0.0, -(top as f32));
            resvg::render(&tree, place, &mut pixmap.as_mut());
        };
        let theirs = drawn(theirs, 280);
        let read =
            |rows| Plain::new(usvg::Tree::from_str(DRAWING, &lettering::options()).unwrap(), 4.0, rows);
        let off = |a: &[u8], b: &[u8]| a.iter().zip(b).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
        for rows in [7, 64] {
            let plain = read(rows);
            assert_eq!((plain.items.len(), plain.clips.len()), (5, 1));
            let whole = drawn(|top, pixmap| plain.draw(top, pixmap), 280);
            // Edges may fall into another of the 4 × 16 samples of a pixel.
            let differ = whole.chunks(4).zip(theirs.chunks(4)).filter(|(a, b)| off(a, b) > 8).count();
            assert!(differ < 240 * 280 / 200, "{differ}");
            assert!(off(&whole, &theirs) <= 80, "{}", off(&whole, &theirs));
            let bands = drawn(|top, pixmap| plain.draw(top, pixmap), rows);
            let differ = bands.chunks(4).zip(whole.chunks(4)).enumerate().filter(|(_, (a, b))| a != b);
            let differ: Vec<_> = differ.map(|(k, _)| [k % 240, k / 240]).collect();
            // Only in the layer, about its round disc, which resvg draws.
            assert!(
                differ.iter().all(|[x, y]| (120..200).contains(x) && (160..240).contains(y)),
                "{differ:?}"
            );
            assert!(differ.len() < 150, "{rows}: {}", differ.len());
        }
    }
}
