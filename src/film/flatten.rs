//! The flat piece whose draped outline lands on a wanted one.
//!
//! Where every bit of film is to lie is known; sought is its flat shape, such
//! that film of that shape is at rest there. That is inverse elasticity
//! (Govindjee and Mihalic, *Computational methods for inverse finite
//! elastostatics*, Comput. Meth. Appl. Mech. Eng. 136:47, 1996). The start is the
//! flat shape of least energy ([`unfold`]); it is not yet the answer, for film of
//! that shape would move on. So: ask where each point would go, and give that
//! place on the flat piece to the point instead, until none would move. Each
//! round leaves a part of the miss about as large as the strain.
//!
//! The proof is separate: the outline found is meshed anew, draped as any piece
//! would be, and its greatest distance from the wanted outline reported.

use super::drape::{Draped, drape};
use super::energy::Law;
use super::hold::{PATCH, in_the_mean};
use super::locate::Locator;
use super::mesh::{Mesh, spacing_for, triangulate};
use super::net::Net;
use super::planar::Measure;
use super::settle::Film;
use super::span::Span;
use super::unfold::{Sums, unfold};
use super::{Settings, Trouble};
use crate::outline::{Point, Polyline, Region, Vector, longer_side, point};
use crate::surface::{Foot, Start, Surface};
use crate::units::Full;
use glam::{DVec2, DVec3};

/// What is wanted on the part: an outline drawn on any sheet, and where each point of the sheet
/// goes. The sheet must not fold or mirror on its way.
pub struct Wanted<'a> {
    pub outline: &'a Region<Full>,
    pub onto: &'a dyn Fn(Point) -> Foot,
}

/// The flat piece found.
#[derive(Clone, Debug)]
pub struct Flattened {
    pub flat: Region<Full>,
    /// The piece put down again.
    pub draped: Draped,
    /// Greatest distance of its draped outline from the wanted one, mm.
    pub miss: f64,
    /// From the sheet to a first flat shape, and from that to the piece.
    charts: [Chart; 2],
}

impl Flattened {
    /// Where points of the sheet come to lie on the flat piece.
    pub fn carried(&self, points: &[Point]) -> Polyline {
        let [survey, chart] = &self.charts;
        chart.carried(&survey.carried(points))
    }
}

/// A miss under this share of the piece's size is good enough.
pub const GOOD: f64 = 1e-3;

/// Triangles of the first net. Twice as many as for a drape, for nothing is gained by coarser ones.
const FIRST: f64 = 500.0;

/// The outline is carried over in pieces of this share of its size: what straight pieces leave out of a
/// curve is then some 1e-5 of it.
const STEP: f64 = 1.0 / 200.0;

/// Rounds of correction; twice as many as it takes at a strain of a half.
const MOST_ROUNDS: usize = 40;

/// Rounds end when no point would go further than this share of √area.
const STILL: f64 = 1e-6;

/// Finds the piece. The flat origin is put on `start`, which the piece is held at when it is draped.
///
/// # Errors
/// As [`Trouble`] says; [`Trouble::Folded`] also where the sheet is laid on mirrored or folded.
pub fn flatten(
    surface: &dyn Surface,
    wanted: &Wanted<'_>,
    start: &Start,
    settings: &Settings,
) -> Result<Flattened, Trouble> {
    let rings = wanted.outline.stepped(STEP * size(wanted.outline));
    let goal: Vec<Vec<DVec3>> =
        rings.iter().map(|ring| ring.iter().map(|&p| (wanted.onto)(p).point).collect()).collect();
    let sheet = Region::new(rings);
    let survey = Chart::new(surface, &sheet, wanted.onto, start, FIRST, settings)?;
    // From here on the first flat shape is the sheet: nearly true to size, so that its triangles are good on the part.
    let outline = survey.region(&sheet);
    let back = Chart { mesh: survey.flat_mesh(), flat: survey.mesh.points.clone() };
    let locator = Locator::new(&back.mesh);
    let onto = |p: Point| (wanted.onto)(back.carry(&locator, p));
    let size = size(&outline);
    let mut triangles = FIRST;
    loop {
        let chart = Chart::new(surface, &outline, &onto, start, triangles, settings)?;
        let flat = chart.region(&outline);
        let draped = drape(surface, &flat, *start, settings)?;
        let miss = miss(&draped, &goal);
        triangles *= 4.0;
        if miss <= GOOD * size / 2.0 || triangles > settings.max_triangles as f64 {
            return Ok(Flattened { flat, draped, miss, charts: [survey, chart] });
        }
    }
}

fn size(region: &Region<Full>) -> f64 {
    let bounds = region.bounds();
    longer_side(&bounds)
}

/// Greatest distance of the draped outline's points from the wanted outline, mm.
fn miss(draped: &Draped, goal: &[Vec<DVec3>]) -> f64 {
    let film = &draped.film;
    let boundary = Mesh::new(film.flat.clone(), film.triangles.clone()).boundary;
    let distance = |p: DVec3| {
        let edges = goal.iter().flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)));
        edges.map(|(&a, &b)| to_segment(p, a, b)).fold(f64::INFINITY, f64::min)
    };
    let edge = film.laid.iter().zip(boundary).filter(|(_, on)| *on);
    edge.map(|(&p, _)| distance(p)).fold(0.0, f64::max)
}

fn to_segment(p: DVec3, a: DVec3, b: DVec3) -> f64 {
    let along = b - a;
    let share = ((p - a).dot(along) / along.length_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
    (p - a - along * share).length()
}

/// A mesh on a sheet and its points on the flat.
#[derive(Clone, Debug)]
struct Chart {
    mesh: Mesh,
    flat: Polyline,
}

impl Chart {
    /// The flat shape of film that is at rest where the sheet puts it.
    fn new(
        surface: &dyn Surface,
        outline: &Region<Full>,
        onto: &dyn Fn(Point) -> Foot,
        start: &Start,
        triangles: f64,
        settings: &Settings,
    ) -> Result<Self, Trouble> {
        let mesh = triangulate(outline, spacing_for(outline.area(), triangles))?;
        let mut flat = mesh.points.clone();
        for (part, old) in mesh.split() {
            let feet: Vec<Foot> = part.points.iter().map(|&p| onto(p)).collect();
            let own = at_rest(surface, &part, &feet, start, settings)?;
            for (&p, q) in old.iter().zip(own) {
                flat[p as usize] = q;
            }
        }
        Ok(Self { mesh, flat })
    }

    fn flat_mesh(&self) -> Mesh {
        Mesh { points: self.flat.clone(), ..self.mesh.clone() }
    }

    fn carried(&self, points: &[Point]) -> Polyline {
        let locator = Locator::new(&self.mesh);
        points.iter().map(|&p| self.carry(&locator, p)).collect()
    }

    /// Outside the mesh, as its nearest triangle goes on.
    fn carry(&self, locator: &Locator<'_>, p: Point) -> Point {
        let Some(place) = locator.find(p) else { return p };
        place.mix(self.mesh.triangles[place.triangle].map(|v| self.flat[v as usize].to_vector())).to_point()
    }

    fn region(&self, outline: &Region<Full>) -> Region<Full> {
        Region::new(outline.rings.iter().map(|ring| self.carried(ring)).collect())
    }
}

/// The flat positions of a connected piece that is at rest on these feet.
fn at_rest(
    surface: &dyn Surface,
    sheet: &Mesh,
    feet: &[Foot],
    start: &Start,
    settings: &Settings,
) -> Result<Polyline, Trouble> {
    let square = |t: &[u32; 3]| {
        let feet = t.map(|v| &feet[v as usize]);
        [0, 1, 2].map(|e| Span::square(feet[(e + 1) % 3], feet[(e + 2) % 3]))
    };
    let squares: Vec<[f64; 3]> = sheet.triangles.iter().map(square).collect();
    let rigid = unfold(&sheet.triangles, &squares, &sheet.points, Measure::Rigid, Sums::Portable)?;
    let film = Measure::Film { poisson: settings.poisson };
    let least = unfold(&sheet.triangles, &squares, &rigid.flat, film, Sums::Portable)?;
    let mut mesh = Mesh { points: least.flat, ..sheet.clone() };
    put_down(&mut mesh, feet, start);
    let node: Vec<u32> = (0..feet.len() as u32).collect();
    let net = Net::new(&mesh, &node)?;
    let hold = in_the_mean(surface, &mesh, start);
    let mut film = Film::new(surface, net, Law::new(settings.poisson), hold)?;
    film.energy(feet).ok_or(Trouble::Folded)?;
    let still = STILL * mesh.area().sqrt();
    for _ in 0..MOST_ROUNDS {
        let urge = film.urge(feet)?;
        let back = pulled_back(&mesh, feet, &urge);
        let points: Polyline = mesh.points.iter().zip(&back).map(|(p, by)| *p - *by).collect();
        mesh.points = points;
        film.reshape(&mesh, in_the_mean(surface, &mesh, start))?;
        if back.iter().all(|by| by.length() < still) {
            return Ok(mesh.points);
        }
    }
    Err(Trouble::Stuck)
}

/// Turns and moves a flat piece so that it lies, near the hold, as it does in the part's tangent plane there.
fn put_down(mesh: &mut Mesh, feet: &[Foot], start: &Start) {
    let away = |foot: &Foot| (foot.point - start.foot.point).length();
    let nearest = feet.iter().map(away).fold(f64::INFINITY, f64::min);
    let mut reach = nearest + PATCH * mesh.area().sqrt();
    let mut patch: Vec<usize> = Vec::new();
    while patch.len() < 3.min(feet.len()) {
        patch = (0..feet.len()).filter(|&k| away(&feet[k]) <= reach).collect();
        reach *= 1.5;
    }
    let count = patch.len() as f64;
    let flat = |k: usize| DVec2::new(mesh.points[k].x, mesh.points[k].y);
    let plane = |k: usize| {
        let off = feet[k].point - start.foot.point;
        DVec2::new(off.dot(start.heading), off.dot(start.left()))
    };
    let from = patch.iter().map(|&k| flat(k)).sum::<DVec2>() / count;
    let to = patch.iter().map(|&k| plane(k)).sum::<DVec2>() / count;
    let turn = |k: &usize| {
        let (a, b) = (flat(*k) - from, plane(*k) - to);
        DVec2::new(a.dot(b), a.perp_dot(b))
    };
    let turn = patch.iter().map(turn).sum::<DVec2>().try_normalize().unwrap_or(DVec2::X);
    for p in &mut mesh.points {
        let q = turn.rotate(DVec2::new(p.x, p.y) - from) + to;
        *p = point(q.x, q.y);
    }
}

/// Moves along the part as moves of the flat points under them: each triangle's own answer, averaged by area.
fn pulled_back(mesh: &Mesh, feet: &[Foot], moves: &[DVec3]) -> Vec<Vector> {
    let mut sums = vec![(Vector::zero(), 0.0); feet.len()];
    for t in &mesh.triangles {
        let [p, q, r] = t.map(|v| mesh.points[v as usize]);
        let [a, b, c] = t.map(|v| feet[v as usize].point);
        let (u, v) = (b - a, c - a);
        let (uu, uv, vv) = (u.dot(u), u.dot(v), v.dot(v));
        let det = uu * vv - uv * uv;
        let area = (q - p).cross(r - p) / 2.0;
        for &k in t {
            let (along_u, along_v) = (moves[k as usize].dot(u), moves[k as usize].dot(v));
            let (x, y) = ((vv * along_u - uv * along_v) / det, (uu * along_v - uv * along_u) / det);
            let (sum, weight) = &mut sums[k as usize];
            *sum += ((q - p) * x + (r - p) * y) * area;
            *weight += area;
        }
    }
    sums.into_iter().map(|(sum, weight)| sum / weight).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::Outline;
    use crate::surface::{Cylinder, Development, Ellipsoid, Sphere};
    use std::f64::consts::PI;

    /// z = 0.3 (x² − y²), projected by Newton's method on the normal's foot.
    #[derive(Debug)]
    struct Saddle;

    impl Saddle {
        fn foot(x: f64, y: f64) -> Foot {
            let point = DVec3::new(x, y, 0.3 * (x * x - y * y));
            Foot { point, normal: DVec3::new(-0.6 * x, 0.6 * y, 1.0).normalize() }
        }
    }

    impl Surface for Saddle {
        fn project(&self, p: DVec3) -> Foot {
            let (mut x, mut y) = (p.x, p.y);
            for _ in 0..50 {
                let z = 0.3 * (x * x - y * y) - p.z;
                let gradient = DVec2::new(x - p.x + 0.6 * x * z, y - p.y - 0.6 * y * z);
                let (a, b, c) = (1.0 + 0.6 * z + 0.36 * x * x, -0.36 * x * y, 1.0 - 0.6 * z + 0.36 * y * y);
                let det = a * c - b * b;
                x -= (c * gradient.x - b * gradient.y) / det;
                y -= (a * gradient.y - b * gradient.x) / det;
            }
            Self::foot(x, y)
        }

        fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
            // −(z_uv)/√(1 + |∇z|²): positive where the surface is convex seen from above.
            let second = |u: DVec3, v: DVec3| -0.6 * (u.x * v.x - u.y * v.y) * foot.normal.z;
            [second(t[0], t[0]), second(t[0], t[1]), second(t[1], t[1])]
        }

        fn hit(&self, _: DVec3, _: DVec3) -> Option<Foot> {
            None
        }

        fn past_ends(&self, _: DVec3) -> f64 {
            f64::NEG_INFINITY
        }

        fn bounds(&self) -> [DVec3; 2] {
            [DVec3::splat(-2.0), DVec3::splat(2.0)]
        }
    }

    type Case<'a> = (&'a dyn Surface, Region<Full>, &'a dyn Fn(Point) -> Foot, Start);

    fn start(surface: &dyn Surface, above: DVec3) -> Start {
        let foot = surface.project(above);
        Start { foot, heading: DVec3::X.reject_from(foot.normal).normalize() }
    }

    fn star(radius: f64) -> Region<Full> {
        let corner = |k: usize| {
            let (sin, cos) = libm::sincos(PI / 5.0 * k as f64);
            point(cos, sin) * radius * if k.is_multiple_of(2) { 1.0 } else { 0.381_966 }
        };
        Region::new(vec![(0..10).map(corner).collect()])
    }

    #[test]
    fn what_is_flattened_drapes_back_onto_what_was_wanted() {
        let helmet = Ellipsoid { axes: DVec3::new(142.5, 120.0, 127.5) };
        // Seen from above; the piece is a true star of 70 mm in that view, on the slope of the helmet.
        let from_above = |p: Point| helmet.project_down(p + Vector::new(40.0, 30.0));
        let at = start(&helmet, from_above(point(0.0, 0.0)).point);
        let on_helmet: Case<'_> = (&helmet, star(70.0), &from_above, at);
        let disc = Outline::circle(point(0.0, 0.0), 1.0).flattened(1e-4);
        let on_saddle: Case<'_> = (&Saddle, disc, &|p| Saddle::foot(p.x, p.y), start(&Saddle, DVec3::ZERO));
        for (part, outline, onto, start) in [on_helmet, on_saddle] {
            let found =
                flatten(part, &Wanted { outline: &outline, onto }, &start, &Settings::default()).unwrap();
            assert!(found.miss < 1e-3 * size(&found.flat), "{} of {}", found.miss, size(&found.flat));
        }
    }

    trait Down {
        fn project_down(&self, p: Point) -> Foot;
    }

    impl Down for Ellipsoid {
        fn project_down(&self, p: Point) -> Foot {
            let a = self.axes;
            let z = a.z * (1.0 - libm::pow(p.x / a.x, 2.0) - libm::pow(p.y / a.y, 2.0)).sqrt();
            self.project(DVec3::new(p.x, p.y, z))
        }
    }

    #[test]
    fn flattening_undoes_draping() {
        // Draped, a star lands on some outline; the piece for that outline is the star.
        let ball = Sphere { radius: 100.0 };
        let start = start(&ball, DVec3::Z);
        let settings =
            Settings { tolerance: 1e-6, relative: 1e-3, max_triangles: 8000, ..Settings::default() };
        let star = star(60.0);
        let laid = drape(&ball, &star, start, &settings).unwrap();
        let mesh = Mesh::new(laid.film.flat.clone(), laid.film.triangles.clone());
        let locator = Locator::new(&mesh);
        let onto = |p: Point| {
            let place = locator.find(p).unwrap();
            ball.project(place.mix(mesh.triangles[place.triangle].map(|v| laid.film.laid[v as usize])))
        };
        let found = flatten(&ball, &Wanted { outline: &star, onto: &onto }, &start, &settings).unwrap();
        let corners = found.carried(&star.rings[0]);
        for (got, wanted) in corners.iter().zip(&star.rings[0]) {
            assert!((*got - *wanted).length() < 0.06, "{got:?} {wanted:?}");
        }
        assert!(found.miss < 0.06, "{}", found.miss);
    }

    #[test]
    fn parts_that_unroll_are_unrolled() {
        let pipe = Cylinder { radius: 30.0, length: 200.0 };
        let start = start(&pipe, DVec3::new(100.0, 0.0, 30.0));
        let disc: Region<Full> = Outline::circle(point(5.0, -3.0), 25.0).flattened(1e-3);
        // A sheet that is not true to size: squared up in one direction.
        let onto = |p: Point| pipe.lay(&start, point(p.x, 1.5 * p.y + 0.01 * p.y * p.y));
        let found =
            flatten(&pipe, &Wanted { outline: &disc, onto: &onto }, &start, &Settings::default()).unwrap();
        for (got, p) in found.carried(&disc.rings[0]).iter().zip(&disc.rings[0]) {
            let wanted = point(p.x, 1.5 * p.y + 0.01 * p.y * p.y);
            assert!((*got - wanted).length() < 2e-3 * 50.0, "{got:?} {wanted:?}");
        }
        assert!(found.draped.strain.stretch_max.abs() < 1e-6);
    }

    #[test]
    fn a_mirrored_sheet_is_refused() {
        let ball = Sphere { radius: 100.0 };
        let start = start(&ball, DVec3::Z);
        let onto = |p: Point| ball.project(DVec3::new(p.y, p.x, 100.0));
        let wanted = Wanted { outline: &star(20.0), onto: &onto };
        assert_eq!(flatten(&ball, &wanted, &start, &Settings::default()).unwrap_err(), Trouble::Folded);
    }
}
