//! Where the modeller's thumb is: a piece held in the mean over a small patch.
//!
//! One pinned vertex would draw a point force, whose strain has no limit; so the
//! mean place and the mean turn of the film over a patch round the hold are kept
//! instead. Film that does not reach the hold is held where it comes nearest, at
//! the place that straight lines from the hold give it.

use super::geodesic::polar;
use super::mesh::{Mesh, boundary_edges};
use super::settle::{Grip, Hold};
use crate::outline::region::distance_to_segment;
use crate::outline::{Point, Vector, point};
use crate::surface::geodesic::walk;
use crate::surface::{Start, Surface};
use glam::DVec3;

/// Radius of the patch as a share of √area: about what a fingertip covers of a piece that needs one, and
/// never less than a triangle of the coarsest net.
pub const PATCH: f64 = 1.0 / 8.0;

/// The hold on a connected piece whose origin is put on `start`.
pub fn in_the_mean(surface: &dyn Surface, mesh: &Mesh, start: &Start) -> Hold {
    let near = nearest(mesh);
    let mut radius = PATCH * mesh.area().sqrt();
    let weights = loop {
        let weights = weights(mesh, near, radius);
        if weights.iter().filter(|&&w| w > 0.0).count() >= 3 {
            break weights;
        }
        radius *= 2.0;
    };
    let nodes: Vec<usize> = (0..weights.len()).filter(|&k| weights[k] > 0.0).collect();
    let total: f64 = nodes.iter().map(|&k| weights[k]).sum();
    let centre: Vector = nodes.iter().map(|&k| mesh.points[k].to_vector() * (weights[k] / total)).sum();
    let spread: f64 = nodes
        .iter()
        .map(|&k| (mesh.points[k].to_vector() - centre).square_length() * weights[k] / total)
        .sum();
    let (x, y) = axes(surface, start, centre);
    let patch: Vec<Point> = nodes.iter().map(|&k| mesh.points[k]).collect();
    let targets = polar(surface, start, &patch);
    let grip = |(&k, target): (&usize, crate::surface::Foot)| {
        let weight = weights[k] / total;
        let arm = (mesh.points[k].to_vector() - centre) / spread.sqrt();
        let pull = [x, y, y * arm.x - x * arm.y].map(|pull| pull * weight);
        Grip { node: k as u32, pull, target: target.point }
    };
    Hold::Mean(nodes.iter().zip(targets).map(grip).collect())
}

/// The directions that the flat axes take at a flat point, along the straight line there.
fn axes(surface: &dyn Surface, start: &Start, p: Vector) -> (DVec3, DVec3) {
    let angle = libm::atan2(p.y, p.x);
    let there = walk(surface, &start.turned(angle), p.length()).turned(-angle);
    (there.heading, there.left())
}

/// How far the film's nearest point is from the origin, mm.
fn nearest(mesh: &Mesh) -> f64 {
    let origin = point(0.0, 0.0);
    let inside = |t: &[u32; 3]| {
        let [a, b, c] = t.map(|v| mesh.points[v as usize].to_vector());
        a.cross(b) >= 0.0 && b.cross(c) >= 0.0 && c.cross(a) >= 0.0
    };
    if mesh.triangles.iter().any(inside) {
        return 0.0;
    }
    let distance =
        |[a, b]: [u32; 2]| distance_to_segment(origin, mesh.points[a as usize], mesh.points[b as usize]);
    boundary_edges(&mesh.triangles, mesh.points.len()).into_iter().map(distance).fold(f64::INFINITY, f64::min)
}

/// Each point's share of a parabolic pressure over the patch, by the midpoint rule, so that it
/// changes little from one net to the next.
fn weights(mesh: &Mesh, near: f64, radius: f64) -> Vec<f64> {
    let mut weights = vec![0.0; mesh.points.len()];
    for &triangle in &mesh.triangles {
        let area = mesh.area_of(triangle);
        for k in 0..3 {
            let ends = [triangle[k] as usize, triangle[(k + 1) % 3] as usize];
            let middle = mesh.points[ends[0]].lerp(mesh.points[ends[1]], 0.5);
            let out = (middle.to_vector().length() - near) / radius;
            let pressure = (1.0 - out * out).max(0.0);
            for end in ends {
                weights[end] += area / 6.0 * pressure;
            }
        }
    }
    weights
}
