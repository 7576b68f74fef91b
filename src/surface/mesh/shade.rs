//! What lies between a mesh's corners: normals, curvature, and a curved sheet.
//!
//! Triangles that meet at less than [`CREASE`] belong to one smooth sheet. Round
//! each of its corners a quadric is fitted to the corners one and two sides away
//! (F. Cazals and M. Pouget, *Estimating differential quantities using polynomial
//! fitting of osculating jets*, CAGD 22:121, 2005), which gives its normal, right
//! to second order in the size of the triangles, and its second form, to first
//! order, on uneven meshes too. Where there are too few corners, at the edge of a
//! box, the normals of the neighbours make up for them (J. Goldfeather and
//! V. Interrante, ACM TOG 23:45, 2004). Inside a triangle the normal is
//! interpolated, so it is continuous. On rough scans both are as rough as the
//! scan, smoothed over some twenty corners.

use super::mend::{NONE, Sheet};
use glam::{DMat2, DMat3, DVec3};

/// The cosine of the angle between two triangles from which their edge is sharp: 40°. Common
/// practice, no source, lies between 30° and 60°; less would break up coarse round shapes, more
/// would round off the edges of boxes with bevels.
pub const CREASE: f64 = 0.766_044_443_118_978;

/// Normals, curvature and sides of a sheet. A corner on a crease is one on each side of it.
#[derive(Clone, Debug)]
pub struct Shade {
    /// For each triangle the names of its three corners in the two lists below.
    pub corners: Vec<[u32; 3]>,
    pub normals: Vec<DVec3>,
    /// The second form as a matrix on the tangent plane, 1/mm.
    pub forms: Vec<DMat3>,
    /// How far the middle of each triangle's sides, from corner k to the next, stands out.
    bulges: Vec<[DVec3; 3]>,
}

impl Shade {
    pub fn new(sheet: &Sheet) -> Self {
        let faces: Vec<DVec3> = sheet.triangles.iter().map(|t| cross(sheet, t).normalize()).collect();
        let (corners, count) = name_corners(sheet, &faces);
        let mut points = vec![DVec3::ZERO; count];
        for (t, names) in sheet.triangles.iter().zip(&corners) {
            for k in 0..3 {
                points[names[k] as usize] = sheet.points[t[k] as usize];
            }
        }
        let rough = corner_normals(sheet, &corners, count);
        let rings = Rings::new(&corners, count);
        let fit = |name| fitted(name, &points, &rough, &rings);
        let (normals, forms): (Vec<_>, _) = (0..count).map(fit).unzip();
        let of_triangle = |f| std::array::from_fn(|side| bulge(sheet, &corners, &normals, f, side));
        let bulges = (0..corners.len()).map(of_triangle).collect();
        Self { corners, normals, forms, bulges }
    }

    /// The curved sheet over a triangle.
    pub fn patch(&self, sheet: &Sheet, triangle: usize) -> Patch {
        Patch {
            corners: sheet.triangles[triangle].map(|i| sheet.points[i as usize]),
            normals: self.corners[triangle].map(|i| self.normals[i as usize]),
            bulges: self.bulges[triangle],
        }
    }
}

/// A side whose bulge is more than this share of it has normals that do not belong to it.
pub const MOST_BULGE: f64 = 0.1;

/// How far the middle of a side stands out: the cubic that leaves its ends along the tangents,
/// each as long as the side's shadow on it. On a sharp edge the tangent lies across the normals
/// of both triangles, so that their patches meet.
fn bulge(sheet: &Sheet, corners: &[[u32; 3]], normals: &[DVec3], triangle: usize, side: usize) -> DVec3 {
    let (across, open) = (sheet.across[triangle][side], sheet.open[triangle][side]);
    if across == NONE && !open {
        // A crowded edge belongs to none of its triangles: it stays straight.
        return DVec3::ZERO;
    }
    let ends = [side, (side + 1) % 3];
    let corner = ends.map(|k| sheet.triangles[triangle][k]);
    let chord = sheet.points[corner[1] as usize] - sheet.points[corner[0] as usize];
    let tangent = |k: usize| {
        let n = normals[corners[triangle][ends[k]] as usize];
        let other = match across {
            NONE => None,
            f => sheet.triangles[f as usize]
                .iter()
                .position(|&i| i == corner[k])
                .map(|j| corners[f as usize][j]),
        };
        let edge = other.and_then(|name| n.cross(normals[name as usize]).try_normalize());
        match edge {
            // Of nearly equal normals the cross product tells nothing.
            Some(way) if other.is_some_and(|name| n.dot(normals[name as usize]) < CREASE) => {
                way * way.dot(chord)
            }
            _ => chord.reject_from_normalized(n),
        }
    };
    ((tangent(0) - tangent(1)) / 8.0).clamp_length_max(MOST_BULGE * chord.length())
}

fn cross(sheet: &Sheet, t: &[u32; 3]) -> DVec3 {
    let [a, b, c] = t.map(|i| sheet.points[i as usize]);
    (b - a).cross(c - a)
}

/// Joins the corners of triangles across smooth edges: union and find, the lower name leads.
fn name_corners(sheet: &Sheet, faces: &[DVec3]) -> (Vec<[u32; 3]>, usize) {
    let mut leader: Vec<u32> = (0..3 * faces.len() as u32).collect();
    let find = |leader: &mut Vec<u32>, mut i: u32| {
        while leader[i as usize] != i {
            leader[i as usize] = leader[leader[i as usize] as usize];
            i = leader[i as usize];
        }
        i
    };
    for (f, t) in sheet.triangles.iter().enumerate() {
        for side in 0..3 {
            let g = sheet.across[f][side] as usize;
            if sheet.across[f][side] == NONE || g < f || faces[f].dot(faces[g]) < CREASE {
                continue;
            }
            for k in [side, (side + 1) % 3] {
                let Some(j) = sheet.triangles[g].iter().position(|&i| i == t[k]) else { continue };
                let a = find(&mut leader, (3 * f + k) as u32);
                let b = find(&mut leader, (3 * g + j) as u32);
                leader[a.max(b) as usize] = a.min(b);
            }
        }
    }
    let mut names = vec![NONE; leader.len()];
    let mut count = 0;
    let mut name = |corner: usize| {
        let first = find(&mut leader, corner as u32) as usize;
        if names[first] == NONE {
            names[first] = count;
            count += 1;
        }
        names[first]
    };
    let corners = (0..faces.len()).map(|f| std::array::from_fn(|k| name(3 * f + k))).collect();
    (corners, count as usize)
}

fn corner_normals(sheet: &Sheet, corners: &[[u32; 3]], count: usize) -> Vec<DVec3> {
    let mut normals = vec![DVec3::ZERO; count];
    for (t, names) in sheet.triangles.iter().zip(corners) {
        let p = t.map(|i| sheet.points[i as usize]);
        for k in 0..3 {
            let (out, back) = (p[(k + 1) % 3] - p[k], p[(k + 2) % 3] - p[k]);
            normals[names[k] as usize] += out.cross(back) / (out.length_squared() * back.length_squared());
        }
    }
    // No two triangles of a fan are more than a crease apart, but a fan may close on itself.
    normals.into_iter().map(|n| n.normalize_or(DVec3::Z)).collect()
}

/// Names joined by a side, in one list, and where each name's own begin.
struct Rings {
    starts: Vec<u32>,
    others: Vec<u32>,
}

impl Rings {
    fn new(corners: &[[u32; 3]], count: usize) -> Self {
        let mut pairs: Vec<(u32, u32)> = Vec::with_capacity(6 * corners.len());
        for names in corners {
            for k in 0..3 {
                let (a, b) = (names[k], names[(k + 1) % 3]);
                pairs.extend([(a, b), (b, a)]);
            }
        }
        pairs.sort_unstable();
        pairs.dedup();
        let mut starts = vec![0; count + 1];
        for (a, _) in &pairs {
            starts[*a as usize + 1] += 1;
        }
        for k in 0..count {
            starts[k + 1] += starts[k];
        }
        Self { starts, others: pairs.into_iter().map(|(_, b)| b).collect() }
    }

    fn of(&self, name: usize) -> &[u32] {
        &self.others[self.starts[name] as usize..self.starts[name + 1] as usize]
    }

    /// The neighbours and theirs; of hubs with very many only some, so that a fan of a million
    /// triangles takes no longer than a million triangles.
    fn two(&self, name: usize, found: &mut Vec<u32>) {
        found.clear();
        let near = self.of(name);
        found.extend(near.iter().step_by(near.len().div_ceil(MOST_NEAR)));
        for i in 0..found.len() {
            let next = self.of(found[i] as usize);
            if next.len() <= MOST_NEAR {
                found.extend(next);
            }
        }
        found.sort_unstable();
        found.dedup();
        found.retain(|&other| other != name as u32);
    }
}

/// How much a neighbour's normal counts beside its place: little, for it errs to first order.
const NORMAL_WEIGHT: f64 = 0.03;

/// Normal and second form of the quadric z = a x + b y + ½ (c x² + 2 d x y + e y²) over the rough
/// tangent plane that passes through a corner and best fits those round it. A place counts
/// inversely to its distance squared: the near ring decides, the far one steadies it.
fn fitted(name: usize, points: &[DVec3], rough: &[DVec3], rings: &Rings) -> (DVec3, DMat3) {
    let n = rough[name];
    let u = n.any_orthonormal_vector();
    let v = n.cross(u);
    let mut near = Vec::with_capacity(64);
    rings.two(name, &mut near);
    let mut system = Normal::default();
    // In units of the ring's own size, so that all unknowns are of a kind.
    let reach =
        near.iter().map(|&i| (points[i as usize] - points[name]).length()).sum::<f64>() / near.len() as f64;
    for &other in &near {
        let off = (points[other as usize] - points[name]) / reach;
        // Where a crease ends its corner has a name for either side: they lie in one place.
        if off == DVec3::ZERO {
            continue;
        }
        let (x, y) = (off.dot(u), off.dot(v));
        let weight = 1.0 / off.length_squared();
        system.add([x, y, 0.5 * x * x, x * y, 0.5 * y * y], off.dot(n), weight);
        let m = rough[other as usize];
        let up = m.dot(n);
        if up > CREASE {
            let weight = NORMAL_WEIGHT * weight * off.length();
            system.add([1.0, 0.0, x, y, 0.0], -m.dot(u) / up, weight);
            system.add([0.0, 1.0, 0.0, x, y], -m.dot(v) / up, weight);
        }
    }
    let Some([a, b, c, d, e]) = system.solved() else { return (n, DMat3::ZERO) };
    let normal = (n - u * a - v * b).normalize();
    // Tangents of the quadric and their duals; II = -∂²z (n · normal).
    let (tu, tv) = (u + n * a, v + n * b);
    let metric = DMat2::from_cols_array(&[1.0 + a * a, a * b, a * b, 1.0 + b * b]).inverse();
    let (du, dv) = (tu * metric.x_axis.x + tv * metric.x_axis.y, tu * metric.y_axis.x + tv * metric.y_axis.y);
    let outer = |x: DVec3, y: DVec3| DMat3::from_cols(x * y.x, x * y.y, x * y.z);
    let bend = outer(du, du) * c + (outer(du, dv) + outer(dv, du)) * d + outer(dv, dv) * e;
    (normal, bend * (-n.dot(normal) / reach))
}

/// Normal equations of five unknowns.
#[derive(Clone, Copy, Debug, Default)]
struct Normal {
    matrix: [[f64; 5]; 5],
    right: [f64; 5],
}

impl Normal {
    fn add(&mut self, row: [f64; 5], value: f64, weight: f64) {
        let square = weight * weight;
        for i in 0..5 {
            for j in 0..=i {
                self.matrix[i][j] += square * row[i] * row[j];
            }
            self.right[i] += square * row[i] * value;
        }
    }

    /// By Cholesky's factor; none where the rows do not fix all unknowns.
    fn solved(mut self) -> Option<[f64; 5]> {
        let a = &mut self.matrix;
        for j in 0..5 {
            let whole = a[j][j];
            let pivot = whole - (0..j).map(|k| a[j][k] * a[j][k]).sum::<f64>();
            if pivot <= 1e-12 * whole || pivot.is_nan() {
                return None;
            }
            a[j][j] = pivot.sqrt();
            for i in j + 1..5 {
                let sum: f64 = (0..j).map(|k| a[i][k] * a[j][k]).sum();
                a[i][j] = (a[i][j] - sum) / a[j][j];
            }
        }
        let mut x = self.right;
        for i in 0..5 {
            x[i] = (x[i] - (0..i).map(|k| a[i][k] * x[k]).sum::<f64>()) / a[i][i];
        }
        for i in (0..5).rev() {
            x[i] = (x[i] - (i + 1..5).map(|k| a[k][i] * x[k]).sum::<f64>()) / a[i][i];
        }
        Some(x)
    }
}

/// Neighbours of a corner that are looked at; meshes of even triangles have six.
const MOST_NEAR: usize = 24;
/// A triangle's curved sheet: the quadratic patch whose sides pass through the corners at right
/// angles to their normals, to second order (after A. Vlachos et al., *Curved PN Triangles*, 2001).
#[derive(Clone, Copy, Debug)]
pub struct Patch {
    pub corners: [DVec3; 3],
    pub normals: [DVec3; 3],
    bulges: [DVec3; 3],
}

impl Patch {
    /// The point at barycentric coordinates, and its derivatives by the second and the third
    /// where the first makes up for them.
    pub fn at(&self, b: [f64; 3]) -> (DVec3, [DVec3; 2]) {
        let ([p, q, r], [pq, qr, rp]) = (self.corners, self.bulges.map(|bulge| bulge * 4.0));
        let point =
            p * b[0] + q * b[1] + r * b[2] + pq * (b[0] * b[1]) + qr * (b[1] * b[2]) + rp * (b[2] * b[0]);
        let by_first = p + pq * b[1] + rp * b[2];
        let by_second = q + pq * b[0] + qr * b[2];
        let by_third = r + qr * b[1] + rp * b[0];
        (point, [by_second - by_first, by_third - by_first])
    }

    /// The interpolated normal, not of length 1.
    pub fn normal(&self, b: [f64; 3]) -> DVec3 {
        self.normals[0] * b[0] + self.normals[1] * b[1] + self.normals[2] * b[2]
    }
}
