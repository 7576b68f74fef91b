//! A part being drawn from one side, from the plastic up.
//!
//! The part in lit grey bands with its outline, sharp edges and limits, films
//! where the solver laid them, lit the same way, their overhang and trim lines.
//! Bands of light are painted one over the other, so no seam shows. What is turned
//! away is left out, and what another part of the shape hides. Left out: which
//! films a picture shows, and how much of the part.

use super::camera::Camera;
use super::clip;
use super::flat::{self, in_picture};
use super::frame::{self, Frame, INK, PIN, stroke};
use super::laid::{Laid, Landing, Seen, seen_stretches};
use super::limits;
use super::part::{Face, Solid};
use super::sampled::Cover;
use super::svg::{self, Svg};
use crate::flow::{Fit, Part, Plan, hex};
use crate::outline::number::said_mm;
use crate::outline::{Bounds, Outline, Point, Polyline, Region, Vector, point};
use crate::units::Model;
use glam::DVec3;

/// Less than this is edge on: neither seen nor hidden for sure.
const FRONT: f64 = 1e-6;
/// The grey of primed plastic in full light.
pub const PLASTIC: [u8; 3] = [214, 216, 214];
/// What is no larger than this, pixels, is drawn in one light.
const SPECK: f64 = 16.0;
/// Room for the scale bar under the part, pixels.
const BAR: f64 = 14.0;

/// A picture's size and the room left at its edge, pixels; and the steps of light: few enough to stay
/// small, so many that no edge between them is seen at this size.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    pub width: f64,
    pub height: f64,
    pub edge: f64,
    pub lights: usize,
    /// Whether limits and overhangs are named: in a small picture the words hide what they name.
    pub names: bool,
}

impl Look {
    /// Shows this much of the paper as large as it goes, with room for the scale bar.
    pub fn frame(self, shown: Bounds) -> Frame {
        let edge = self.edge;
        let room = Bounds::new(point(edge, edge), point(self.width - edge, self.height - edge - BAR));
        Frame::fitting(shown, room)
    }
}

/// A film on the part: where it lies and what is seen of it.
pub struct Film<'a> {
    laid: Laid<'a>,
    seen: Seen,
    fit: &'a Fit<Model>,
}

impl<'a> Film<'a> {
    pub fn new(laid: Laid<'a>, fit: &'a Fit<Model>, scene: &Scene) -> Self {
        let seen = laid.seen(scene.camera, &|p| scene.cover.hides(p));
        Self { laid, seen, fit }
    }

    /// Whether any of it faces the viewer.
    pub const fn is_seen(&self) -> bool {
        !matches!(self.seen, Seen::Nothing)
    }
}

/// A picture being drawn.
pub struct Scene<'a> {
    pub svg: Svg,
    frame: Frame,
    camera: &'a Camera,
    look: Look,
    /// See [`bands`].
    bands: Vec<Region<Model>>,
    cover: Cover,
}

impl<'a> Scene<'a> {
    pub fn new(solid: &Solid, camera: &'a Camera, shown: Bounds, look: Look) -> Self {
        let cover = Cover::new(solid, camera.axes);
        Self {
            svg: Svg::new(look.width, look.height),
            frame: look.frame(shown),
            bands: bands(solid, camera, &cover, look.lights),
            cover,
            camera,
            look,
        }
    }

    pub fn plastic(&mut self) {
        let seen: Vec<Region<Model>> = self.bands.iter().map(|band| self.in_view(band)).collect();
        for (level, band) in seen.iter().enumerate() {
            // Each lies in the one before it: one as large covers it whole. Pixels count downwards, areas too.
            if seen.get(level + 1).is_some_and(|lighter| lighter.area() < band.area() + 0.01) {
                continue;
            }
            let colour = lit(PLASTIC, level, self.look.lights);
            self.svg.path(&svg::rings(band, |p| p), &[("fill", &colour)]);
        }
    }

    /// Every colour in the light of the part under it; film past an open end, in the film's mean light.
    pub fn artwork(&mut self, plan: &Plan, film: &Film) {
        let lights = self.look.lights;
        let normals = film.fit.film.normals.iter().filter(|&&normal| self.camera.facing(normal) > 0.0);
        let levels: Vec<usize> = normals.map(|&normal| level(self.camera, normal, lights)).collect();
        let mean = levels.iter().sum::<usize>() / levels.len().max(1);
        // The part's faces are lit a little otherwise than the film on them, never by a whole step.
        let darkest = levels.iter().min().map_or(0, |level| level.saturating_sub(1));
        let lightest = levels.iter().max().map_or(0, |level| level + 1).min(lights - 1);
        for area in &film.fit.artwork.areas {
            let rgb = plan.colours[area.colour.0].rgb;
            let shown = self.shown(film, &area.outline);
            if shown.is_empty() {
                continue;
            }
            let whole = svg::rings(&shown, |p| self.frame.at(p));
            self.svg.path(&whole, &[("class", "colour"), ("fill", &lit(rgb, mean, lights))]);
            let size = shown.bounds().size() * self.frame.scale;
            if size.width.max(size.height) < SPECK {
                continue;
            }
            let clean = shown.cleaned();
            for level in (darkest..=lightest).filter(|&level| level != mean) {
                let mut band = clean.intersection(&self.bands[level]);
                if let Some(lighter) = self.bands.get(level + 1) {
                    band = band.minus(lighter);
                }
                let colour = lit(rgb, level, lights);
                // A hair of its own colour round it closes the seams between bands.
                let look = [("fill", &*colour), ("stroke", &*colour), ("stroke-width", "0.4")];
                self.svg.path(&svg::rings(&band, |p| self.frame.at(p)), &look);
            }
        }
    }

    /// A film's edge.
    pub fn edge(&mut self, film: &Film) {
        let edge = self.shown(film, &film.fit.artwork.silhouette);
        self.svg.path(&svg::rings(&edge, |p| self.frame.at(p)), &stroke(PIN, "0.6"));
    }

    /// A film's edge as what a link is reached by, with a number on it where it is `least` pixels long; nothing
    /// where it is not seen.
    pub fn reach(&mut self, film: &Film, number: &str, least: f64) {
        let edge = self.shown(film, &film.fit.artwork.silhouette);
        if edge.is_empty() {
            return;
        }
        let whole = svg::rings(&edge, |p| self.frame.at(p));
        self.svg.path(&whole, &[("class", "reach")]);
        let size = edge.bounds().size() * self.frame.scale;
        if size.width.max(size.height) < least {
            return;
        }
        let at = self.frame.at(deepest(&edge));
        flat::label(&mut self.svg, at + Vector::new(0.0, 4.0), number, "word");
    }

    /// The part's outline and sharp edges.
    pub fn edges(&mut self, solid: &Solid) {
        let all = svg::rings(&self.in_view(&self.bands[0]), |p| p);
        self.svg.path(&all, &stroke(INK, "1.2"));
        let view = self.view();
        for edge in &solid.edges {
            let seen = |sides: &[Landing; 2]| {
                sides.iter().any(|side| self.faces(*side)) && !self.cover.hides(sides[0].point)
            };
            let walk = edge.iter().map(|sides| (self.drawn(sides[0]), seen(sides)));
            for stretch in seen_stretches(walk).iter().flat_map(|s| clip::stretches_within(s, &view)) {
                self.svg.path(&svg::line(&stretch), &stroke(PIN, "0.8"));
            }
        }
    }

    /// Every limit of the part.
    pub fn limits(&mut self, part: &Part, solid: &Solid, ratio: f64) {
        for limit in &part.limits {
            self.limit(&limit.name, limits::lines(limit, solid, ratio));
        }
    }

    /// A limit as chain lines with its name where they end on the right.
    fn limit(&mut self, name: &str, lines: Vec<Vec<Landing>>) {
        let walk = |line: Vec<Landing>| {
            line.into_iter()
                .map(|l| (self.drawn(l), self.faces(l) && !self.cover.hides(l.point)))
                .collect::<Vec<_>>()
        };
        let walks: Vec<_> = lines.into_iter().map(walk).collect();
        let stretches = walks.into_iter().flat_map(|w| seen_stretches(w.into_iter()));
        let stretches: Vec<Polyline> =
            stretches.flat_map(|s| clip::stretches_within(&s, &self.view())).collect();
        for stretch in &stretches {
            let [class, width] = stroke(PIN, "1");
            let dash = ("stroke-dasharray", "9 2.5 2 2.5");
            self.svg.path(&svg::line(stretch), &[class, width, dash]);
        }
        let Look { width, height, names, .. } = self.look;
        let within = |p: &&Point| p.x > 0.0 && p.x < width && p.y > 12.0 && p.y < height - 20.0;
        let rightmost =
            stretches.iter().flatten().filter(within).copied().reduce(|a, b| if b.x > a.x { b } else { a });
        if let Some(at) = rightmost.filter(|_| names) {
            flat::label(&mut self.svg, at + Vector::new(4.0, -5.0), name, "word small");
        }
    }

    /// What lies past a limit, and the trim line.
    pub fn overhang(&mut self, film: &Film) {
        let over = self.over(film);
        flat::overhang(&mut self.svg, &over);
        for line in &film.fit.trim {
            for stretch in film.laid.shown_line(line, self.camera) {
                let drawn: Vec<Point> = stretch.iter().map(|&p| self.frame.at(p)).collect();
                flat::trim_line(&mut self.svg, &drawn);
            }
        }
    }

    /// How far it runs past, in words over the place.
    pub fn past(&mut self, film: &Film) {
        let over = self.over(film);
        if !over.is_empty() {
            let said = format!("{} past", said_mm(film.fit.overhang.to_mm()));
            let top = point(over.bounds().center().x, over.bounds().min.y - 6.0);
            flat::label(&mut self.svg, top, &said, "word warn-word");
        }
    }

    fn over(&self, film: &Film) -> Region<Model> {
        let over = film.laid.shown(&film.fit.overhanging, &film.seen, self.camera);
        in_picture(&over, |p| self.frame.at(p)).cleaned()
    }

    /// The point put down first, with an arrow along the heading.
    pub fn hold(&mut self, film: &Film) {
        let origin = film.laid.land(point(0.0, 0.0));
        // A small step along the heading tells which way it runs.
        let ahead = film.laid.land(point(film.fit.size.width.to_mm() / 50.0, 0.0));
        let heading = self.drawn(ahead) - self.drawn(origin);
        let plain = self.camera.facing(origin.normal) > 0.1 && !self.cover.hides(origin.point);
        if plain && heading.length() > 0.0 {
            let at = self.drawn(origin);
            flat::hold(&mut self.svg, at, heading.normalize());
        }
    }

    /// The whole picture, with its scale bar.
    pub fn finish(mut self, role: &str, title: &str) -> String {
        let Look { width, height, edge, .. } = self.look;
        frame::scale_bar(&mut self.svg, self.frame, point(edge, height - 10.0), width);
        self.svg.finish(role, title)
    }

    /// What may be seen of the picture's plane, with room for the lines along what is cut off.
    fn view(&self) -> Bounds {
        Bounds::new(Point::origin(), point(self.look.width, self.look.height)).inflate(4.0, 4.0)
    }

    /// An area of the paper as the picture shows it, in pixels.
    fn in_view(&self, region: &Region<Model>) -> Region<Model> {
        clip::within(&in_picture(region, |p| self.frame.at(p)), &self.view())
    }

    fn faces(&self, landing: Landing) -> bool {
        self.camera.facing(landing.normal) > FRONT
    }

    fn drawn(&self, landing: Landing) -> Point {
        self.frame.at(self.camera.paper(landing.point))
    }

    fn shown(&self, film: &Film, outline: &Outline<Model>) -> Region<Model> {
        film.laid.shown(&outline.flattened(flat::unseen(self.frame)), &film.seen, self.camera)
    }
}

/// A place well inside a region, for a number: the middle, or of a few lines across it the middle of the
/// longest stretch within.
fn deepest(region: &Region<Model>) -> Point {
    let bounds = region.bounds();
    let middle = bounds.center();
    let mut best = (0.0, middle);
    for k in [3.0, 2.0, 4.0, 1.0, 5.0] {
        let y = bounds.min.y + bounds.height() * k / 6.0;
        let mut crossings: Vec<f64> = region
            .edges()
            .filter(|&(a, b)| (a.y <= y) != (b.y <= y))
            .map(|(a, b)| a.lerp(b, (y - a.y) / (b.y - a.y)).x)
            .collect();
        crossings.sort_by(f64::total_cmp);
        for span in crossings.chunks_exact(2) {
            // A tenth more, so that the line through the middle is kept among equals.
            if span[1] - span[0] > best.0 * 1.1 {
                best = (span[1] - span[0], point((span[0] + span[1]) / 2.0, y));
            }
        }
    }
    best.1
}

/// The part on the camera's paper, where it is at least so light: the first is all of it, the last the lightest.
fn bands(solid: &Solid, camera: &Camera, cover: &Cover, lights: usize) -> Vec<Region<Model>> {
    let middle = |face: &Face| {
        face.corners.iter().map(|corner| corner.point).sum::<DVec3>() / face.corners.len() as f64
    };
    let hidden: Vec<bool> = solid.faces.iter().map(|face| cover.hides(middle(face))).collect();
    let from = |least: usize| {
        let above = |corner: &Landing| match least {
            0 => camera.facing(corner.normal) - FRONT,
            // Light reaches past the horizon; what is seen does not.
            _ => (camera.light(corner.normal) - least as f64 / lights as f64)
                .min(camera.facing(corner.normal) - FRONT),
        };
        let paper = |corner: &Landing| (camera.paper(corner.point), above(corner));
        let ring = |face: &Face| clip::positive(&face.corners.iter().map(paper).collect::<Vec<_>>());
        // The outline is that of all of it, whatever lies behind.
        let shown = solid.faces.iter().zip(&hidden).filter(|(_, hidden)| least == 0 || !**hidden);
        let joined = clip::joined(&shown.filter_map(|(face, _)| ring(face)).collect::<Vec<_>>());
        if solid.bulges { joined } else { joined.cleaned() }
    };
    (0..lights).map(from).collect()
}

/// A normal's step of light.
fn level(camera: &Camera, normal: DVec3, lights: usize) -> usize {
    // A negative float becomes 0.
    ((camera.light(normal) * lights as f64) as usize).min(lights - 1)
}

/// A colour in a step of light.
fn lit(rgb: [u8; 3], level: usize, lights: usize) -> String {
    let light = 0.68 + 0.32 * level as f64 / (lights - 1) as f64;
    hex(rgb.map(|c| (f64::from(c) * light).round() as u8))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_lies_within_what_it_names() {
        let ring: Region<Model> = Outline::ring(point(0.0, 0.0), 8.0, 10.0).flattened(0.01);
        assert!(ring.contains(deepest(&ring)), "{:?}", deepest(&ring));
        let disc: Region<Model> = Outline::circle(point(3.0, 1.0), 5.0).flattened(0.01);
        assert!((deepest(&disc) - point(3.0, 1.0)).length() < 0.01);
    }
}
