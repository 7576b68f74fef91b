//! A part as flat faces and drawn edges, for pictures.
//!
//! Curved sides are sampled round and along; ends and plates are flat areas that
//! lyon's tessellator cuts into triangles. lyon's paths are `f32`: seven digits
//! are plenty for a picture, and only this file and `body` see them.
//! Millimetres of the shape's own world.

use super::camera::Camera;
use super::laid::Landing;
use super::sampled;
use crate::flow::Shape;
use crate::outline::Bounds;
use crate::surface::grid::grid;
use crate::units::Length;
use glam::DVec3;
use lyon::path::Path;
use lyon::tessellation::{BuffersBuilder, FillOptions, FillTessellator, FillVertex, VertexBuffers};
use std::f64::consts::{PI, TAU};

/// Faces round a part: each is seen 9 degrees wide, so an outline misses its circle by 0.3 % of the radius.
const AROUND: usize = 40;
/// Faces from pole to pole of a closed shape.
const ALONG: usize = 20;

/// A bit of surface: three or four corners, counter-clockwise seen from outside.
#[derive(Clone, Debug)]
pub struct Face {
    /// With the true surface's normals, for light that runs smoothly over the edges.
    pub corners: Vec<Landing>,
    /// The flat face's own.
    pub normal: DVec3,
}

/// A part ready to be drawn.
#[derive(Clone, Debug)]
pub struct Solid {
    pub faces: Vec<Face>,
    /// Sharp edges, each point with the normals of the two sides that meet there.
    pub edges: Vec<Vec<[Landing; 2]>>,
    /// Whether it bulges outwards everywhere, so that no part of it hides another.
    pub bulges: bool,
}

impl Default for Solid {
    fn default() -> Self {
        Self { faces: Vec::new(), edges: Vec::new(), bulges: true }
    }
}

impl Solid {
    /// Samples a shape.
    pub fn of(shape: &Shape) -> Self {
        match shape {
            Shape::Sphere { diameter } => ellipsoid([*diameter; 3].map(Length::to_mm)),
            Shape::Ellipsoid { length, width, height } => {
                ellipsoid([*length, *width, *height].map(Length::to_mm))
            }
            Shape::Cylinder { diameter, length } => {
                let radius = diameter.to_mm() / 2.0;
                frustum(radius, radius, length.to_mm())
            }
            Shape::Cone { front, rear, length } => {
                frustum(front.to_mm() / 2.0, rear.to_mm() / 2.0, length.to_mm())
            }
            Shape::Flat { width, height, face } => {
                let [right, up, towards] = face.axes();
                plate(right * (width.to_mm() / 2.0), up * (height.to_mm() / 2.0), towards)
            }
            Shape::Mesh { soup, stretch } => sampled::scanned(soup, *stretch),
            Shape::Revolve { .. } | Shape::Loft { .. } | Shape::Tube { .. } | Shape::Extrude { .. } => {
                grid(shape).map_or_else(Self::default, |grid| sampled::drawn(&grid))
            }
        }
    }

    /// The box of all corners on the camera's paper.
    pub fn bounds(&self, camera: &Camera) -> Bounds {
        let corners = self.faces.iter().flat_map(|face| &face.corners);
        Bounds::from_points(corners.map(|corner| camera.paper(corner.point)))
    }

    /// Every length times `factor`.
    #[must_use]
    pub fn enlarged(mut self, factor: f64) -> Self {
        self.faces.iter_mut().flat_map(|face| &mut face.corners).for_each(|corner| corner.point *= factor);
        self.edges.iter_mut().flatten().flatten().for_each(|landing| landing.point *= factor);
        self
    }
}

/// About its centre, poles on the x axis; diameters along x, y and z.
fn ellipsoid(diameters: [f64; 3]) -> Solid {
    let half = DVec3::from_array(diameters) / 2.0;
    let at = |along: usize, around: usize| {
        let (sin_a, cos_a) = libm::sincos(PI * along as f64 / ALONG as f64);
        let (sin_r, cos_r) = libm::sincos(TAU * (around % AROUND) as f64 / AROUND as f64);
        // Exactly nought at the rear pole, so that its corners are one point.
        let across = if along.is_multiple_of(ALONG) { 0.0 } else { sin_a };
        let unit = DVec3::new(-cos_a, across * sin_r, across * cos_r);
        Landing { point: unit * half, normal: (unit / half).normalize() }
    };
    let mut solid = Solid::default();
    for along in 0..ALONG {
        for around in 0..AROUND {
            let mut corners = vec![
                at(along, around),
                at(along, around + 1),
                at(along + 1, around + 1),
                at(along + 1, around),
            ];
            // At a pole two corners are one.
            corners.dedup_by(|a, b| a.point == b.point);
            let normal = corners.iter().map(|corner| corner.normal).sum::<DVec3>().normalize();
            solid.faces.push(outward(corners, normal));
        }
    }
    solid
}

/// From x = 0 with the front radius to x = `length` with the rear one, ends closed.
fn frustum(front: f64, rear: f64, length: f64) -> Solid {
    let spoke = |around: f64| {
        let (sin, cos) = libm::sincos(TAU * (around % AROUND as f64) / AROUND as f64);
        DVec3::new(0.0, sin, cos)
    };
    // Across a side that widens by d over the length l, the normal leans forward by d/l.
    let lean = DVec3::X * ((front - rear) / length);
    let side = |around: f64| (spoke(around) + lean).normalize();
    let rim = |station: f64, radius: f64, around: f64| DVec3::X * station + spoke(around) * radius;
    let mut solid = Solid::default();
    for k in 0..AROUND {
        let (a, b) = (k as f64, (k + 1) as f64);
        let corner =
            |station, radius, around| Landing { point: rim(station, radius, around), normal: side(around) };
        let mut corners = vec![
            corner(0.0, front, a),
            corner(0.0, front, b),
            corner(length, rear, b),
            corner(length, rear, a),
        ];
        // At a point two corners are one.
        corners.dedup_by(|a, b| a.point == b.point);
        solid.faces.push(outward(corners, side(a + 0.5)));
    }
    for (station, radius, normal) in [(0.0, front, DVec3::NEG_X), (length, rear, DVec3::X)] {
        if radius == 0.0 {
            continue;
        }
        let rim: Vec<DVec3> = (0..=AROUND).map(|k| rim(station, radius, k as f64)).collect();
        solid.faces.extend(tessellated(&rim[..AROUND], [DVec3::Y, DVec3::Z], normal));
        let edge = |(k, &point): (usize, &DVec3)| {
            [Landing { point, normal: side(k as f64) }, Landing { point, normal }]
        };
        solid.edges.push(rim.iter().enumerate().map(edge).collect());
    }
    solid
}

/// A plate about the origin, seen from both sides.
fn plate(right: DVec3, up: DVec3, towards: DVec3) -> Solid {
    let corners = [-right - up, right - up, right + up, -right + up];
    let plane = [right.normalize(), up.normalize()];
    let mut faces = tessellated(&corners, plane, towards);
    faces.extend(tessellated(&corners, plane, -towards));
    let edge = |&point: &DVec3| [Landing { point, normal: towards }, Landing { point, normal: -towards }];
    let rim = corners.iter().chain(&corners[..1]).map(edge).collect();
    Solid { faces, edges: vec![rim], ..Solid::default() }
}

/// A flat area with this rim, cut into triangles by lyon. `plane` are two directions at right angles in it.
pub fn tessellated(rim: &[DVec3], plane: [DVec3; 2], normal: DVec3) -> Vec<Face> {
    let flat = |p: &DVec3| lyon::math::point(p.dot(plane[0]) as f32, p.dot(plane[1]) as f32);
    let Some((first, rest)) = rim.split_first() else { return Vec::new() };
    let origin = *first - plane.iter().map(|&axis| axis * first.dot(axis)).sum::<DVec3>();
    let mut path = Path::builder();
    path.begin(flat(first));
    rest.iter().for_each(|p| {
        path.line_to(flat(p));
    });
    path.end(true);
    let mut mesh: VertexBuffers<DVec3, u32> = VertexBuffers::new();
    let lift = |vertex: FillVertex| {
        let at = vertex.position();
        origin + plane[0] * f64::from(at.x) + plane[1] * f64::from(at.y)
    };
    // The tessellator refuses only positions that are not numbers; such a rim has no area to show.
    if FillTessellator::new()
        .tessellate_path(&path.build(), &FillOptions::default(), &mut BuffersBuilder::new(&mut mesh, lift))
        .is_err()
    {
        return Vec::new();
    }
    let corner = |k: u32| Landing { point: mesh.vertices[k as usize], normal };
    mesh.indices
        .chunks_exact(3)
        .map(|t| outward(vec![corner(t[0]), corner(t[1]), corner(t[2])], normal))
        .collect()
}

/// A face whose corners turn counter-clockwise seen along its normal.
pub fn outward(mut corners: Vec<Landing>, normal: DVec3) -> Face {
    let way = |k: usize| corners[k].point - corners[0].point;
    let turn = (2..corners.len()).map(|k| way(k - 1).cross(way(k))).sum::<DVec3>();
    if turn.dot(normal) < 0.0 {
        corners.reverse();
    }
    Face { corners, normal }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::View;

    fn area(face: &Face) -> f64 {
        let way = |k: usize| face.corners[k].point - face.corners[0].point;
        let turn = |k: usize| way(k - 1).cross(way(k));
        (2..face.corners.len()).map(turn).sum::<DVec3>().dot(face.normal) / 2.0
    }

    /// Divergence theorem: volume = Σ area × (corner · normal)/3.
    fn volume(solid: &Solid) -> f64 {
        solid.faces.iter().map(|face| area(face) * face.corners[0].point.dot(face.normal) / 3.0).sum()
    }

    #[test]
    fn solids_are_closed_and_face_outwards() {
        // Textbook volumes; inscribed faces give a little less.
        let mm = Length::mm;
        let sphere = volume(&Solid::of(&Shape::Sphere { diameter: mm(2.0) })) / (4.0 / 3.0 * PI);
        assert!((0.97..1.0).contains(&sphere), "{sphere}");
        let cone = Shape::Cone { front: mm(4.0), rear: mm(2.0), length: mm(3.0) };
        let frustum = volume(&Solid::of(&cone)) / (PI * 3.0 / 3.0 * (4.0 + 2.0 + 1.0));
        assert!((0.99..1.0).contains(&frustum), "{frustum}");
        for shape in [cone, Shape::Sphere { diameter: mm(2.0) }] {
            assert!(Solid::of(&shape).faces.iter().all(|face| area(face) > 0.0));
        }
    }

    #[test]
    fn lyon_covers_a_plate_and_a_disc_exactly() {
        let plate =
            Solid::of(&Shape::Flat { width: Length::mm(30.0), height: Length::mm(20.0), face: View::Left });
        let front = plate.faces.iter().filter(|face| face.normal.y < 0.0);
        assert!((front.map(area).sum::<f64>() - 600.0).abs() < 1e-3);
        let cylinder = Solid::of(&Shape::Cylinder { diameter: Length::mm(10.0), length: Length::mm(50.0) });
        let end: f64 = cylinder.faces.iter().filter(|face| face.normal.x > 0.9).map(area).sum();
        // A polygon of n corners in a circle: n/2 r² sin(2π/n).
        let polygon = AROUND as f64 / 2.0 * 25.0 * libm::sin(TAU / AROUND as f64);
        assert!((end - polygon).abs() < 1e-3, "{end}");
    }
}
