//! Drawings over one another, separated into areas that do not overlap: each colour once, what shows of it.
//!
//! Where areas lie apart or wholly inside one another, outlines are kept as they
//! are, arcs and all. Where curved ones cross, everything is flattened to
//! [`FLATTEN`] of the size, silhouette and all: so the areas always add up to the
//! silhouette, whichever way was taken.

use crate::flow::{Area, Artwork, ColourId};
use crate::outline::{Bounds, Outline, Region, longer_side, separate};
use crate::units::Full;

/// How far a flattened curve may miss the true one, of the greatest size: 0.02 mm on a marking of 2 m,
/// which no model shows.
const FLATTEN: f64 = 1e-5;

/// Areas under this share of the greatest size squared, times √FLATTEN, are noise of the flattening: what two curves
/// that lie along each other differ by. Curves that touch in a point stray by [`FLATTEN`] along √FLATTEN, some 3e-8
/// of the square, a hundred times as much: where they do, everything is flattened.
const NOTHING: f64 = 1e-7;

/// An outline with what is asked of it again and again.
#[derive(Clone)]
pub struct Shape {
    outline: Outline<Full>,
    region: Region<Full>,
    bounds: Bounds,
}

impl Shape {
    pub const fn region(&self) -> &Region<Full> {
        &self.region
    }

    pub fn into_region(self) -> Region<Full> {
        self.region
    }
}

/// What geometry of one size needs.
#[derive(Clone, Copy)]
pub struct Grain {
    tolerance: f64,
    nothing: f64,
}

impl Grain {
    pub fn of<'a>(outlines: impl IntoIterator<Item = &'a Outline<Full>>) -> Self {
        let side = |outline: &Outline<Full>| {
            let bounds = outline.bounds();
            longer_side(&bounds)
        };
        let size = outlines.into_iter().map(side).fold(0.0, f64::max);
        Self {
            tolerance: (FLATTEN * size).max(f64::MIN_POSITIVE),
            nothing: NOTHING * FLATTEN.sqrt() * size * size,
        }
    }

    pub fn shape(self, outline: &Outline<Full>) -> Shape {
        let region = outline.flattened(self.tolerance).cleaned();
        Shape { bounds: outline.bounds(), region, outline: outline.clone() }
    }

    fn is_nothing(self, region: &Region<Full>) -> bool {
        region.area() <= self.nothing
    }

    /// What is left of a shape without others; the flag says whether all curves were kept.
    pub fn without(self, shape: &Shape, others: &[&Shape]) -> (Outline<Full>, bool) {
        let near: Vec<&Shape> =
            others.iter().copied().filter(|other| other.bounds.intersects(&shape.bounds)).collect();
        let cover = together(near.iter().map(|other| &other.region));
        if near.is_empty() || self.is_nothing(&cover.intersection(&shape.region)) {
            return (shape.outline.clone(), true);
        }
        let left = shape.region.minus(&cover);
        let straight = shape.outline.is_straight() && near.iter().all(|other| other.outline.is_straight());
        if straight || self.is_nothing(&left) {
            return (if self.is_nothing(&left) { Outline::new(Vec::new()) } else { left.to_outline() }, true);
        }
        // Others that lie inside are holes with curves of their own.
        if self.is_nothing(&cover.minus(&shape.region))
            && let (cover, true) = self.joined(near)
        {
            let mut pierced = shape.outline.clone();
            pierced.extend(&cover.reversed());
            return (pierced, true);
        }
        (left.to_outline(), false)
    }

    /// What any of the shapes covers; the flag says whether all curves were kept.
    pub fn joined(self, shapes: Vec<&Shape>) -> (Outline<Full>, bool) {
        let whole = together(shapes.iter().map(|shape| &shape.region));
        if shapes.iter().all(|shape| shape.outline.is_straight()) {
            return (whole.to_outline(), true);
        }
        // Largest first: what lies inside is dropped, what lies apart is put beside.
        let mut order = shapes;
        order.sort_by(|a, b| b.region.area().total_cmp(&a.region.area()));
        let mut kept: Vec<&Shape> = Vec::new();
        for shape in order {
            let near = kept.iter().filter(|other| other.bounds.intersects(&shape.bounds));
            let ground = together(near.map(|other| &other.region));
            if self.is_nothing(&shape.region.intersection(&ground)) {
                kept.push(shape);
            } else if !self.is_nothing(&shape.region.minus(&ground)) {
                return (whole.to_outline(), false);
            }
        }
        // Shapes that touch along an edge are one, without a seam between them.
        let edges: f64 = kept.iter().map(|shape| shape.region.perimeter()).sum();
        if whole.perimeter() < edges * (1.0 - 1e-6) {
            return (whole.to_outline(), false);
        }
        let mut outline = Outline::new(Vec::new());
        kept.iter().for_each(|shape| outline.extend(&shape.outline));
        (outline, true)
    }

    /// What a shape and another have in common; the flag says whether all curves were kept.
    pub fn within(self, shape: &Shape, window: &Shape) -> (Outline<Full>, bool) {
        let common = shape.region.intersection(&window.region);
        if self.is_nothing(&common) {
            (Outline::new(Vec::new()), true)
        } else if self.is_nothing(&shape.region.minus(&window.region)) {
            (shape.outline.clone(), true)
        } else if self.is_nothing(&window.region.minus(&shape.region)) {
            (window.outline.clone(), true)
        } else {
            (common.to_outline(), shape.outline.is_straight() && window.outline.is_straight())
        }
    }
}

/// All of the regions as one.
fn together<'a>(regions: impl Iterator<Item = &'a Region<Full>>) -> Region<Full> {
    // Clean rings wind once: put together, what any of them covers winds at least once.
    Region::new(regions.flat_map(|region| region.rings.iter().cloned()).collect()).cleaned()
}

/// Applies a step to the silhouette and every area; all outlines are flattened first where one of them must be.
pub fn each(
    artwork: &Artwork<Full>,
    grain: Grain,
    step: impl Fn(&Shape) -> (Outline<Full>, bool),
) -> Artwork<Full> {
    let outlines = artwork.areas.iter().map(|area| &area.outline).chain([&artwork.silhouette]);
    let shapes: Vec<Shape> = outlines.map(|outline| grain.shape(outline)).collect();
    let mut done: Vec<(Outline<Full>, bool)> = shapes.iter().map(&step).collect();
    if done.iter().any(|(_, exact)| !exact) {
        done = shapes.iter().map(|shape| step(&flat(shape))).collect();
    }
    let mut outlines = done.into_iter().map(|(outline, _)| outline);
    let areas = artwork.areas.iter().zip(outlines.by_ref());
    let areas = areas.map(|(area, outline)| Area { colour: area.colour, outline });
    let areas = areas.filter(|area| !area.outline.is_empty()).collect();
    Artwork { areas, silhouette: outlines.next().unwrap_or_else(|| Outline::new(Vec::new())), repeat: None }
}

fn flat(shape: &Shape) -> Shape {
    Shape { outline: shape.region.to_outline(), ..shape.clone() }
}

/// One artwork of several, later ones over earlier ones.
pub fn stacked(items: &[Artwork<Full>]) -> Artwork<Full> {
    if let [one] = items {
        return one.clone();
    }
    let grain = Grain::of(items.iter().map(|item| &item.silhouette));
    let layers: Vec<(ColourId, Shape)> = items
        .iter()
        .flat_map(|item| &item.areas)
        .map(|area| (area.colour, grain.shape(&area.outline)))
        .collect();
    let silhouettes: Vec<Shape> = items.iter().map(|item| grain.shape(&item.silhouette)).collect();
    let (artwork, exact) = seen(grain, &layers, &silhouettes);
    if exact {
        return artwork;
    }
    let layers: Vec<_> = layers.iter().map(|(colour, shape)| (*colour, flat(shape))).collect();
    let silhouettes: Vec<_> = silhouettes.iter().map(flat).collect();
    let mut artwork = seen(grain, &layers, &silhouettes).0;
    tidied(&mut artwork.areas, 4.0 * grain.tolerance);
    artwork
}

/// Bits thinner than `width` given to the colours beside them: two edges that should have been one leave such.
fn tidied(areas: &mut [Area<Full>], width: f64) {
    let region = |area: &Area<Full>| (area.colour, area.outline.flattened(width / 8.0).cleaned());
    let mut regions: Vec<_> = areas.iter().map(region).collect();
    if separate::tidy(&mut regions, width) > 0 {
        for (area, (_, region)) in areas.iter_mut().zip(regions) {
            area.outline = region.to_outline();
        }
    }
}

fn seen(grain: Grain, layers: &[(ColourId, Shape)], silhouettes: &[Shape]) -> (Artwork<Full>, bool) {
    let (silhouette, mut exact) = grain.joined(silhouettes.iter().collect());
    let mut colours: Vec<(ColourId, Vec<Shape>)> = Vec::new();
    for (k, (colour, shape)) in layers.iter().enumerate() {
        let above: Vec<&Shape> = layers[k + 1..].iter().map(|(_, shape)| shape).collect();
        let (outline, kept) = grain.without(shape, &above);
        exact &= kept;
        if outline.is_empty() {
            continue;
        }
        let shape = grain.shape(&outline);
        match colours.iter_mut().find(|(other, _)| other == colour) {
            Some((_, shapes)) => shapes.push(shape),
            None => colours.push((*colour, vec![shape])),
        }
    }
    let mut area = |(colour, shapes): &(ColourId, Vec<Shape>)| {
        let (outline, kept) = grain.joined(shapes.iter().collect());
        exact &= kept;
        Area { colour: *colour, outline }
    };
    let areas = colours.iter().map(&mut area).collect();
    (Artwork { areas, silhouette, repeat: None }, exact)
}
