//! One shape written two ways is one shape; and a shape is its own mesh.
//!
//! The second formula is the check (habit of libigl's tests): the closed forms
//! of cone, cylinder and ellipsoid stand against the general shapes, and every
//! shape against 40 000 triangles sampled from it.

use glam::DVec3;
use markloft::outline::Point;
use markloft::surface::mesh::{Mesh, Placing, Soup};
use markloft::surface::{
    Cone, Cylinder, Ellipsoid, Extrude, Foot, Loft, Profile, Revolve, Section, Start, Station, Surface, Tube,
    geodesic,
};
use std::f64::consts::TAU;

/// Cosine of 1°.
const ONE_DEGREE: f64 = 0.999_847_695_156_391_2;

/// The same points every time, spread evenly (R. L. Roberts's sequence of the plastic ratio).
fn spread(count: usize) -> impl Iterator<Item = [f64; 3]> {
    let g: f64 = 1.220_744_084_605_759_5;
    (1..=count).map(move |k| [1.0, 2.0, 3.0].map(|power| (0.5 + k as f64 / libm::pow(g, power)).fract()))
}

fn form(surface: &dyn Surface, foot: Foot) -> [f64; 3] {
    let t0 = foot.normal.any_orthonormal_vector();
    surface.curvature(foot, [t0, foot.normal.cross(t0)])
}

/// Two surfaces agree at points round a box: foot, normal, curvature, ends.
fn agree(a: &dyn Surface, b: &dyn Surface, tolerance: f64) {
    let [low, high] = a.bounds();
    let size = (high - low).length();
    assert!((b.bounds()[0] - low).length() + (b.bounds()[1] - high).length() < 1e-9 * size);
    for share in spread(300) {
        let p = low - size * 0.1 + (high - low + size * 0.2) * DVec3::from(share);
        let (one, two) = (a.project(p), b.project(p));
        let off = (p - one.point).dot(one.normal);
        // Deep inside the nearest point is not unique.
        if off < -0.05 * size {
            continue;
        }
        assert!((one.point - two.point).length() < tolerance * size, "{p}: {one:?} {two:?}");
        assert!((one.normal - two.normal).length() < 1e3 * tolerance, "{p}: {one:?} {two:?}");
        for (k, l) in form(a, one).iter().zip(form(b, two)) {
            assert!((k - l).abs() < 1e5 * tolerance / size, "{p}: {k} {l}");
        }
        let (one, two) = (a.past_ends(one.point), b.past_ends(one.point));
        assert!(one == two || (one - two).abs() < 1e4 * tolerance * size, "{p}: {one} {two}");
    }
}

/// Rays from round about meet both at one point, which lies on the surface and on the ray.
fn hits_agree(a: &dyn Surface, b: &dyn Surface) {
    let [low, high] = a.bounds();
    let (middle, size) = ((low + high) * 0.5, (high - low).length());
    let mut both = 0;
    for share in spread(200) {
        let way = (DVec3::from(share) - 0.5).normalize();
        let aim = low + (high - low) * DVec3::new(share[2], share[0], share[1]);
        let origin = middle + way * size * 2.0;
        let direction = (aim - origin).normalize();
        let (one, two) = (a.hit(origin, direction), b.hit(origin, direction));
        // A ray that grazes an end or the outline may go either way.
        let (Some(one), Some(two)) = (one, two) else { continue };
        if one.normal.dot(direction) > -0.1 || a.past_ends(one.point) > -1e-6 * size {
            continue;
        }
        both += 1;
        assert!((one.point - two.point).length() < 1e-7 * size, "{one:?} {two:?}");
        assert!((two.point - origin).cross(direction).length() < 1e-8 * size);
    }
    assert!(both > 50, "only {both} rays met");
}

#[test]
fn revolve_of_a_straight_profile_is_a_cone() {
    let cone = Cone::new(550.0, 260.0, 3400.0);
    let revolve = Revolve::new(&[[0.0, 550.0], [3400.0, 260.0]], false).unwrap();
    agree(&cone, &revolve, 1e-12);
    hits_agree(&cone, &revolve);
    // Three points on one line, and a smooth line through them, are no other shape.
    let points = [[0.0, 550.0], [1700.0, 405.0], [3400.0, 260.0]];
    agree(&cone, &Revolve::new(&points, false).unwrap(), 1e-12);
    agree(&cone, &Revolve::new(&points, true).unwrap(), 1e-10);
    let (one, two) = (cone.ring(1800.0).unwrap(), revolve.ring(1800.0).unwrap());
    assert!((one.radius - two.radius).abs() < 1e-9);
    assert!((one.geodesic_curvature - two.geodesic_curvature).abs() < 1e-12);
    let foot = cone.project(DVec3::new(900.0, 100.0, 700.0));
    let start = Start { foot, heading: foot.normal.any_orthonormal_vector() };
    let lay = |s: &dyn Surface| s.development().unwrap().lay(&start, Point::new(300.0, -120.0)).point;
    assert!((lay(&cone) - lay(&revolve)).length() < 1e-9);
}

#[test]
fn four_ways_to_a_cylinder() {
    let cylinder = Cylinder { radius: 19.0, length: 2000.0 };
    let revolve = Revolve::new(&[[0.0, 19.0], [2000.0, 19.0]], true).unwrap();
    agree(&cylinder, &revolve, 1e-12);
    let circle = |at| Station { at, section: Section::Circle { diameter: 38.0 }, centre: [0.0, 0.0] };
    let loft = Loft::new(&[circle(0.0), circle(300.0), circle(2000.0)]).unwrap();
    agree(&cylinder, &loft, 1e-12);
    hits_agree(&cylinder, &loft);
    let tube = Tube::new(38.0, &[[0.0; 3], [700.0, 0.0, 0.0], [2000.0, 0.0, 0.0]], 60.0, false).unwrap();
    agree(&cylinder, &tube, 1e-12);
    hits_agree(&cylinder, &tube);
    // Of power 2 a superellipse is an ellipse, of equal axes a circle; a box all corners too.
    let round = Section::Superellipse { width: 38.0, height: 38.0, power: 2.0 };
    let corners = Section::Box { width: 38.0, height: 38.0, radius: 19.0 };
    for section in [round, corners] {
        let station = |at| Station { at, section: section.clone(), centre: [0.0, 0.0] };
        agree(&cylinder, &Loft::new(&[station(0.0), station(2000.0)]).unwrap(), 1e-12);
    }
}

/// A surface seen with x and y changed over and z turned about: what an extrusion calls across, aft.
#[derive(Debug)]
struct Turned(Extrude, f64);

impl Turned {
    /// From the cylinder's frame to the extrusion's: x to y, y to -x, origin to the middle.
    fn to(&self, v: DVec3) -> DVec3 {
        DVec3::new(-v.y, v.x, v.z)
    }
    fn from(&self, v: DVec3) -> DVec3 {
        DVec3::new(v.y, -v.x, v.z)
    }
    fn middle(&self) -> DVec3 {
        DVec3::X * self.1
    }
}

impl Surface for Turned {
    fn project(&self, p: DVec3) -> Foot {
        let foot = self.0.project(self.to(p - self.middle()));
        Foot { point: self.from(foot.point) + self.middle(), normal: self.from(foot.normal) }
    }
    fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
        let foot = Foot { point: self.to(foot.point - self.middle()), normal: self.to(foot.normal) };
        self.0.curvature(foot, t.map(|t| self.to(t)))
    }
    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        let foot = self.0.hit(self.to(origin - self.middle()), self.to(direction))?;
        Some(Foot { point: self.from(foot.point) + self.middle(), normal: self.from(foot.normal) })
    }
    fn past_ends(&self, p: DVec3) -> f64 {
        self.0.past_ends(self.to(p - self.middle()))
    }
    fn bounds(&self) -> [DVec3; 2] {
        let corners = self.0.bounds().map(|p| self.from(p) + self.middle());
        [corners[0].min(corners[1]), corners[0].max(corners[1])]
    }
}

#[test]
fn a_circle_drawn_out_is_a_cylinder() {
    let cylinder = Cylinder { radius: 19.0, length: 2000.0 };
    let drawn = Extrude::new(&Profile::Section(Section::Circle { diameter: 38.0 }), 2000.0).unwrap();
    let turned = Turned(drawn, 1000.0);
    agree(&cylinder, &turned, 1e-12);
    hits_agree(&cylinder, &turned);
}

#[test]
fn revolve_of_an_ellipse_is_an_ellipsoid() {
    let ellipsoid = Ellipsoid { axes: DVec3::new(142.5, 120.0, 120.0) };
    let share = [-1.0_f64, -0.9, -0.7, -0.45, -0.2, 0.0, 0.2, 0.45, 0.7, 0.9, 1.0];
    let points = share.map(|x| [142.5 * x, 120.0 * (1.0 - x * x).sqrt()]);
    let revolve = Revolve::new(&points, true).unwrap();
    agree(&ellipsoid, &revolve, 1e-11);
    hits_agree(&ellipsoid, &revolve);
    for station in [-100.0, 3.0, 120.0] {
        let (one, two) = (ellipsoid.ring(station).unwrap(), revolve.ring(station).unwrap());
        assert!((one.radius - two.radius).abs() < 1e-9);
        assert!((one.geodesic_curvature - two.geodesic_curvature).abs() < 1e-12);
    }
}

/// A grid of rows × columns quads over f(u, v), u and v in [0, 1], split along alternating diagonals.
fn sampled(rows: u32, columns: u32, f: impl Fn(f64, f64) -> DVec3) -> Mesh {
    let mut soup = Soup::default();
    for i in 0..=rows {
        for j in 0..=columns {
            soup.points.push(f(f64::from(i) / f64::from(rows), f64::from(j) / f64::from(columns)));
        }
    }
    for i in 0..rows {
        for j in 0..columns {
            let k = i * (columns + 1) + j;
            let [a, b, c, d] = [k, k + 1, k + columns + 2, k + columns + 1];
            let split = if (i + j) % 2 == 0 { [[a, b, c], [a, c, d]] } else { [[a, b, d], [b, c, d]] };
            soup.triangles.extend(split);
        }
    }
    Mesh::new(soup, &Placing::PLAIN).unwrap()
}

/// Feet within 1e-3 of the size, normals within 1°, curvatures within 5 % of the shape's
/// greatest at that place, or of a ball's of its size where it is flatter; away from ends by
/// `margin`. Points lie near the surface, as film does.
fn own_mesh(shape: &dyn Surface, mesh: &Mesh, margin: f64) {
    let facts = mesh.facts();
    assert!((36_000..44_000).contains(&facts.triangles), "{facts:?}");
    assert_eq!((facts.crowded_edges, facts.shells), (0, 1), "{facts:?}");
    let [low, high] = shape.bounds();
    let size = (high - low).length();
    let mut tried = 0;
    for share in spread(4000) {
        let on = shape.project(low + (high - low) * DVec3::from(share));
        if shape.past_ends(on.point) > -margin {
            continue;
        }
        tried += 1;
        let p = on.point + on.normal * (share[0] - 0.3) * 0.01 * size;
        let (one, two) = (shape.project(p), mesh.project(p));
        assert!((one.point - two.point).length() < 1e-3 * size, "{one:?} {two:?}");
        assert!(one.normal.dot(two.normal) > ONE_DEGREE, "{one:?} {two:?}");
        let t0 = one.normal.any_orthonormal_vector();
        let t = [t0, one.normal.cross(t0)];
        let (a, b) = (shape.curvature(one, t), mesh.curvature(two, t));
        let most = a.iter().fold(2.0 / size, |m, k| m.max(k.abs()));
        for (k, l) in a.iter().zip(b) {
            assert!((k - l).abs() < 0.05 * most, "{one:?}: {a:?} {b:?}");
        }
    }
    assert!(tried > 1000, "only {tried} places tried");
}

fn radial(around: f64) -> DVec3 {
    DVec3::new(0.0, -libm::sin(around), libm::cos(around))
}

#[test]
fn an_ellipsoid_is_its_own_mesh() {
    let shape = Ellipsoid { axes: DVec3::new(142.5, 120.0, 127.5) };
    let mesh = sampled(100, 200, |u, v| {
        let (s, c) = libm::sincos(u * TAU / 2.0);
        (DVec3::X * -c + radial(v * TAU) * s) * shape.axes
    });
    own_mesh(&shape, &mesh, 0.0);
    assert_eq!(mesh.past_ends(DVec3::X * 500.0), f64::NEG_INFINITY);
    hits_agree_roughly(&shape, &mesh);
}

/// The geodesic from latitude 0 to 45°, 90° of longitude on, on the spheroid of half axes 1 and
/// 0.8: 1.5093208090781571 (GeographicLib, exact); on its mesh within 2e-3.
#[test]
fn a_geodesic_on_a_mesh() {
    let axes = DVec3::new(1.0, 1.0, 0.8);
    let mesh = sampled(100, 200, |u, v| {
        let (s, c) = libm::sincos(u * TAU / 2.0);
        (DVec3::X * -c + radial(v * TAU) * s) * axes
    });
    let (sin, cos) = libm::sincos(TAU / 8.0);
    let stretch = (cos * cos + 0.64 * sin * sin).sqrt();
    let to = DVec3::new(0.0, cos / stretch, 0.64 * sin / stretch);
    let path = geodesic::between(&mesh, DVec3::X, to, 1e-5).unwrap();
    assert!((path.length() / 1.509_320_809_078_157_1 - 1.0).abs() < 2e-3, "{}", path.length());
}

/// On a mesh the ray's point is as good as the mesh.
fn hits_agree_roughly(shape: &dyn Surface, mesh: &Mesh) {
    let [low, high] = shape.bounds();
    let (middle, size) = ((low + high) * 0.5, (high - low).length());
    for share in spread(300) {
        let origin = middle + (DVec3::from(share) - 0.5).normalize() * size * 2.0;
        let direction = (middle - origin).normalize();
        let (one, two) = (shape.hit(origin, direction).unwrap(), mesh.hit(origin, direction).unwrap());
        assert!((one.point - two.point).length() < 1e-3 * size);
        assert!((two.point - origin).cross(direction).length() < 1e-9 * size);
        let back = mesh.project(two.point);
        assert!((back.point - two.point).length() < 1e-9 * size);
    }
}

#[test]
fn a_cone_is_its_own_mesh() {
    let shape = Cone::new(550.0, 260.0, 3400.0);
    let mesh = sampled(100, 200, |u, v| DVec3::X * (3400.0 * u) + radial(v * TAU) * (550.0 - 290.0 * u));
    own_mesh(&shape, &mesh, 100.0);
    // Straight on past the end, as the cone itself goes on.
    let p = DVec3::new(3600.0, 0.0, 250.0);
    assert!((shape.project(p).point - mesh.project(p).point).length() < 1.0);
    assert!((shape.past_ends(p) - mesh.past_ends(p)).abs() < 1.0);
}

/// Corners moved about by up to a third of a cell, as a decimated scan has them.
#[test]
fn an_uneven_mesh_of_a_frustum() {
    let shape = Cone::new(550.0, 260.0, 3400.0);
    let shaken = |u: f64, v: f64, seed: f64| {
        (libm::sin(u * 12.9898 + v.fract() * 78.233 + seed) * 43_758.545).fract() / 3.0
    };
    let mesh = sampled(100, 200, |u, v| {
        let inner = if u > 0.0 && u < 1.0 { 1.0 } else { 0.0 };
        let (s, t) = (u + inner * shaken(u, v, 0.0) / 100.0, v + inner * shaken(u, v, 1.0) / 200.0);
        DVec3::X * (3400.0 * s) + radial(t * TAU) * (550.0 - 290.0 * s)
    });
    own_mesh(&shape, &mesh, 150.0);
}

#[test]
fn a_dome_is_its_own_mesh() {
    // Half an ellipsoid: of a freer profile the curvature jumps at its points.
    let points = [0.0_f64, 60.0, 180.0, 350.0, 480.0, 600.0].map(|x| [x, 0.5 * (x * (1200.0 - x)).sqrt()]);
    let shape = Revolve::new(&points, true).unwrap();
    let mesh = sampled(200, 100, |u, v| {
        // Closer together at the round tip.
        let foot = shape.at(600.0 * u * u, v * TAU).unwrap();
        foot.point
    });
    own_mesh(&shape, &mesh, 20.0);
}

#[test]
fn a_loft_is_its_own_mesh() {
    let section = |at, width, height, power, up| Station {
        at,
        section: Section::Superellipse { width, height, power },
        centre: [0.0, up],
    };
    let shape = Loft::new(&[
        section(0.0, 900.0, 1000.0, 2.0, 0.0),
        section(2000.0, 1200.0, 1400.0, 4.0, 20.0),
        section(4000.0, 800.0, 1000.0, 2.0, 120.0),
    ])
    .unwrap();
    let mesh = sampled(100, 200, |u, v| shape.at(4000.0 * u, v * TAU).unwrap().point);
    own_mesh(&shape, &mesh, 150.0);
}

#[test]
fn a_handle_is_its_own_mesh() {
    let path = [[0.0, 0.0, 0.0], [0.0, 0.0, 200.0], [300.0, 0.0, 200.0], [300.0, 0.0, 0.0]];
    let shape = Tube::new(28.0, &path, 60.0, false).unwrap();
    let mesh = sampled(400, 50, |u, v| shape.at(shape.length() * u, v * TAU).point);
    // The curvature jumps where a bend begins: that is not the mesh's to resolve, so only the feet there.
    let [low, high] = shape.bounds();
    for share in spread(3000) {
        let on = shape.project(low + (high - low) * DVec3::from(share));
        if shape.past_ends(on.point) > -5.0 {
            continue;
        }
        let (one, two) = (shape.project(on.point + on.normal), mesh.project(on.point + on.normal));
        assert!((one.point - two.point).length() < 0.05, "{one:?} {two:?}");
        assert!(one.normal.dot(two.normal) > ONE_DEGREE, "{one:?} {two:?}");
        let station = shape.place(on.point)[0];
        let joints = [140.0, 140.0 + 94.25, 140.0 + 94.25 + 180.0, 140.0 + 188.5 + 180.0];
        if joints.iter().all(|joint| (station - joint).abs() > 8.0) {
            let t0 = one.normal.any_orthonormal_vector();
            let t = [t0, one.normal.cross(t0)];
            for (k, l) in shape.curvature(one, t).iter().zip(mesh.curvature(two, t)) {
                assert!((k - l).abs() < 0.05 / 14.0, "{on:?} {k} {l}");
            }
        }
    }
}

#[test]
fn a_wing_is_its_own_mesh() {
    let profile = Profile::Naca { digits: "2412".into(), chord: 1800.0 };
    let shape = Extrude::new(&profile, 4000.0).unwrap();
    let tail = shape.project(DVec3::new(1800.0, 0.0, 10.0));
    let start = Start { foot: tail, heading: -(DVec3::X.reject_from(tail.normal)).normalize() };
    let round = shape.development().unwrap();
    let whole = -shape.past_ends(shape.project(DVec3::new(0.0, 0.0, 0.0)).point) * 2.0;
    let mesh = sampled(500, 40, |u, v| {
        // Closer together round the nose.
        let s = whole * (0.5 + 0.5 * libm::pow(2.0 * u - 1.0, 3.0).mul_add(0.7, 0.3 * (2.0 * u - 1.0)));
        round.lay(&start, Point::new(s.min(whole), 2000.0 - 4000.0 * v)).point
    });
    let [low, high] = shape.bounds();
    let size = (high - low).length();
    for share in spread(2000) {
        let on = shape.project(low + (high - low) * DVec3::from(share));
        if shape.past_ends(on.point) > -100.0 {
            continue;
        }
        let p = on.point + on.normal * 3.0;
        let (one, two) = (shape.project(p), mesh.project(p));
        assert!((one.point - two.point).length() < 1e-3 * size, "{one:?} {two:?}");
        assert!(one.normal.dot(two.normal) > ONE_DEGREE, "{one:?} {two:?}");
    }
}

/// One of every shape, with a kink, a flat face, an edge or an open end where it can have one.
fn every() -> Vec<Box<dyn Surface>> {
    let station = |at, section, up| Station { at, section, centre: [0.0, up] };
    let loft = Loft::new(&[
        station(0.0, Section::Circle { diameter: 600.0 }, -40.0),
        station(1500.0, Section::Ellipse { width: 1200.0, height: 1600.0 }, 0.0),
        station(3800.0, Section::Superellipse { width: 1000.0, height: 1400.0, power: 2.5 }, 60.0),
        station(5000.0, Section::Box { width: 700.0, height: 900.0, radius: 120.0 }, 150.0),
    ]);
    let tank = [[0.0, 0.0], [100.0, 180.0], [300.0, 260.0], [600.0, 300.0], [1500.0, 250.0], [1500.0, 0.0]];
    let wing = Profile::Naca { digits: "2412".into(), chord: 1800.0 };
    let bar = Profile::Section(Section::Box { width: 60.0, height: 40.0, radius: 0.0 });
    let path = [[0.0, 0.0, 0.0], [0.0, 0.0, 200.0], [300.0, 0.0, 200.0], [300.0, 50.0, 0.0]];
    vec![
        Box::new(loft.unwrap()),
        Box::new(Revolve::new(&tank, true).unwrap()),
        Box::new(Revolve::new(&tank, false).unwrap()),
        Box::new(Extrude::new(&wing, 4000.0).unwrap()),
        Box::new(Extrude::new(&bar, 300.0).unwrap()),
        Box::new(Tube::new(28.0, &path, 60.0, false).unwrap()),
    ]
}

/// A foot is its own foot, and what it is the foot of lies along its normal, from outside.
#[test]
fn projections_stay_and_run_along_the_normal() {
    for shape in every() {
        let [low, high] = shape.bounds();
        let size = (high - low).length();
        let mut tried = 0;
        for share in spread(2000) {
            let p = low - size * 0.2 + (high - low + size * 0.4) * DVec3::from(share);
            let foot = shape.project(p);
            let off = p - foot.point;
            // Inside, and where what goes on past an end stops, the nearest point is another matter.
            if off.dot(foot.normal) <= 0.0 || shape.past_ends(foot.point) > 0.0 {
                continue;
            }
            tried += 1;
            assert!(off.reject_from_normalized(foot.normal).length() < 1e-9 * size, "{p} {foot:?}");
            let again = shape.project(foot.point);
            assert!((again.point - foot.point).length() < 1e-11 * size, "{p} {foot:?} {again:?}");
        }
        assert!(tried > 300, "{tried}");
    }
}

/// What a ray meets lies on the ray and on the part, looks at the ray, and nothing lies before it.
#[test]
fn hits_lie_on_the_part() {
    for shape in every() {
        let [low, high] = shape.bounds();
        let (middle, size) = ((low + high) * 0.5, (high - low).length());
        let mut hits = 0;
        for share in spread(300) {
            let origin = middle + (DVec3::from(share) - 0.5).normalize() * size;
            let aim = low + (high - low) * DVec3::new(share[1], share[2], share[0]);
            let direction = (aim - origin).normalize();
            let Some(foot) = shape.hit(origin, direction) else { continue };
            hits += 1;
            let way = foot.point - origin;
            assert!(way.cross(direction).length() < 1e-9 * size && foot.normal.dot(direction) < 0.0);
            assert!((shape.project(foot.point).point - foot.point).length() < 1e-11 * size);
            assert!(shape.past_ends(foot.point) < 1e-5 * size);
            // Of a shape without open ends, nothing lies before the hit.
            let closed = shape.past_ends(foot.point) == f64::NEG_INFINITY;
            for k in (1..50).filter(|_| closed) {
                let p = origin + way * (f64::from(k) / 50.0);
                let seen = shape.project(p);
                assert!((p - seen.point).dot(seen.normal) >= -1e-9 * size, "{p} before {foot:?}");
            }
        }
        assert!(hits > 50, "{hits}");
    }
}
