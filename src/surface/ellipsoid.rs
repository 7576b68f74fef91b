//! An ellipsoid, centred on the origin, its axes along x, y and z.

use super::{Foot, Ring, Surface, quadratic};
use glam::DVec3;

#[derive(Clone, Copy, Debug)]
pub struct Ellipsoid {
    /// Half diameters along x, y and z, mm.
    pub axes: DVec3,
}

impl Ellipsoid {
    fn gradient(&self, p: DVec3) -> DVec3 {
        p / (self.axes * self.axes)
    }
}

impl Surface for Ellipsoid {
    /// The nearest point is a² p / (a² + t) for the greatest root t of
    /// Σ (a p / (a² + t))² = 1 (D. Eberly, *Distance from a Point to an Ellipsoid*).
    /// The left side falls and is convex there, so Newton from the left never oversteps.
    fn project(&self, p: DVec3) -> Foot {
        let (a, a2) = (self.axes, self.axes * self.axes);
        let least = (a * p.abs() - a2).max_element();
        if least <= -a2.min_element() {
            // The centre, or as good as: any way out along the shortest axis will do.
            let normal = if a.z <= a.x.min(a.y) {
                DVec3::Z
            } else if a.y <= a.x {
                DVec3::Y
            } else {
                DVec3::X
            };
            return Foot { point: normal * a, normal };
        }
        // From the surface itself, t = 0, which is next to the root for most points asked about. A
        // point inside steps over the root once, to the left, but never past where the root must be.
        let mut t = least.max(0.0);
        let ap = a * p;
        for _ in 0..100 {
            let over = (a2 + t).recip();
            let terms = ap * over;
            let value = terms.dot(terms) - 1.0;
            let slope = -2.0 * (terms * terms).dot(over);
            t = (t - value / slope).max(least);
            // Within rounding of the root; what is left is put right along the normal below.
            if value.abs() <= 1e-14 {
                break;
            }
        }
        let near = a2 * p / (a2 + t);
        // Newton leaves a rounding error along the normal; put the point on the surface.
        let point = near / (near / a).length();
        Foot { point, normal: self.gradient(point).normalize() }
    }

    /// II(u,v) = uᵀ H v / |∇F| of the level set F = Σ x²/a² (do Carmo, *Differential Geometry*, section 3-3).
    fn curvature(&self, foot: Foot, t: [DVec3; 2]) -> [f64; 3] {
        let a2 = self.axes * self.axes;
        let steep = self.gradient(foot.point).length();
        [(t[0] * t[0] / a2), (t[0] * t[1] / a2), (t[1] * t[1] / a2)].map(|v| v.element_sum() / steep)
    }

    fn hit(&self, origin: DVec3, direction: DVec3) -> Option<Foot> {
        let (o, d) = (origin / self.axes, direction / self.axes);
        let entry = quadratic(d.dot(d), o.dot(d), o.dot(o) - 1.0)[0]?;
        (entry >= 0.0).then(|| self.project(origin + direction * entry))
    }

    fn past_ends(&self, _p: DVec3) -> f64 {
        f64::NEG_INFINITY
    }

    fn bounds(&self) -> [DVec3; 2] {
        [-self.axes, self.axes]
    }

    /// Only where width and height are equal is a ring a circle.
    fn ring(&self, station: f64) -> Option<Ring> {
        let (a, b) = (self.axes.x, self.axes.y);
        let share = 1.0 - station * station / (a * a);
        (self.axes.y == self.axes.z && share > 0.0).then(|| {
            let radius = b * share.sqrt();
            // Slope of the meridian: dr/dx = -b² x / (a² r); the band bends by its sine over r.
            let slope = -b * b * station / (a * a * radius);
            Ring { station, radius, geodesic_curvature: slope / (1.0 + slope * slope).sqrt() / radius }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_point_is_along_the_normal_from_anywhere() {
        let helmet = Ellipsoid { axes: DVec3::new(142.5, 120.0, 127.5) };
        for p in [
            DVec3::new(300.0, -20.0, 55.0),
            DVec3::new(10.0, 4.0, -3.0),
            DVec3::new(0.0, 0.0, 127.5),
            DVec3::new(1.0, 0.0, 500.0),
        ] {
            let foot = helmet.project(p);
            assert!(((foot.point / helmet.axes).length() - 1.0).abs() < 1e-14);
            let off = p - foot.point;
            assert!(
                off.cross(foot.normal).length() < 1e-9,
                "{p} misses by {}",
                off.cross(foot.normal).length()
            );
        }
    }

    #[test]
    fn curvature_matches_the_drop_under_the_tangent_plane() {
        let helmet = Ellipsoid { axes: DVec3::new(142.5, 120.0, 127.5) };
        let foot = helmet.project(DVec3::new(60.0, -70.0, 90.0));
        let t0 = foot.normal.any_orthonormal_vector();
        let t = [t0, foot.normal.cross(t0)];
        let [a, b, c] = helmet.curvature(foot, t);
        for (u, v) in [(1.0, 0.0), (0.0, 1.0), (0.6, -0.8)] {
            let step = (t[0] * u + t[1] * v) * 0.5;
            let drop = |s: DVec3| helmet.project(foot.point + s).point - foot.point;
            // Odd terms cancel between the two directions.
            let mean = (drop(step).dot(foot.normal) + drop(-step).dot(foot.normal)) / -2.0;
            let expected = 0.5 * 0.25 * (a * u * u + 2.0 * b * u * v + c * v * v);
            assert!((mean / expected - 1.0).abs() < 1e-4, "{mean} {expected}");
        }
    }
}
