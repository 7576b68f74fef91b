//! A part's limits as lines on its faces.
//!
//! A plane cuts each face in a stretch, and stretches are joined end to end; a
//! region's outline is carried along its view onto the faces that look there.
//! Lines lie on the faces, not on the true surface: off by what the faces are.

use super::laid::Landing;
use super::part::{Face, Solid};
use crate::flow::{Limit, LimitKind, View};
use crate::outline::Polyline;
use glam::DVec3;

/// How finely a region's outline is walked: this many points round the part's size.
const WALK: f64 = 60.0;

/// A limit's lines over a part of the same world; `ratio` takes the limit's lengths to that world.
pub fn lines(limit: &Limit, solid: &Solid, ratio: f64) -> Vec<Vec<Landing>> {
    match &limit.kind {
        LimitKind::Plane { axis, offset, .. } => {
            let axis = axis.vector();
            let level = offset.to_mm() * ratio;
            joined(solid.faces.iter().filter_map(|face| cut(face, axis, level)).collect())
        }
        LimitKind::Region { view, outline, .. } => {
            let corners: Polyline = outline.iter().chain(outline.first()).map(|&p| p * ratio).collect();
            cast(&corners, *view, solid)
        }
    }
}

/// Where a plane crosses a face.
fn cut(face: &Face, axis: DVec3, level: f64) -> Option<[Landing; 2]> {
    let height = |p: DVec3| p.dot(axis) - level;
    let ends: Vec<Landing> = (0..face.corners.len())
        .filter_map(|k| {
            let (a, b) = (face.corners[k].point, face.corners[(k + 1) % face.corners.len()].point);
            let (from, to) = (height(a), height(b));
            ((from < 0.0) != (to < 0.0))
                .then(|| Landing { point: a.lerp(b, from / (from - to)), normal: face.normal })
        })
        .collect();
    <[Landing; 2]>::try_from(ends).ok()
}

/// Stretches that share an end, as lines.
fn joined(mut stretches: Vec<[Landing; 2]>) -> Vec<Vec<Landing>> {
    let size = stretches.iter().map(|[a, b]| (a.point - b.point).length()).fold(0.0, f64::max);
    let same = |a: DVec3, b: DVec3| (a - b).length() <= size * 1e-6;
    let mut lines = Vec::new();
    while let Some([from, to]) = stretches.pop() {
        let mut line = vec![from, to];
        for _ in 0..2 {
            while let Some((k, turned)) = line.last().and_then(|end| next(&stretches, end.point, same)) {
                let [a, b] = stretches.swap_remove(k);
                line.push(if turned { a } else { b });
            }
            line.reverse();
        }
        lines.push(line);
    }
    lines
}

/// The stretch that goes on from `end`, and whether it must be turned round.
fn next(
    stretches: &[[Landing; 2]],
    end: DVec3,
    same: impl Fn(DVec3, DVec3) -> bool,
) -> Option<(usize, bool)> {
    stretches.iter().enumerate().find_map(|(k, [a, b])| {
        if same(a.point, end) { Some((k, false)) } else { same(b.point, end).then_some((k, true)) }
    })
}

/// A line drawn in a view, carried along the view onto the nearest face that looks there.
fn cast(line: &[crate::outline::Point], view: View, solid: &Solid) -> Vec<Vec<Landing>> {
    let [right, up, towards] = view.axes();
    let extent = solid
        .faces
        .iter()
        .flat_map(|face| &face.corners)
        .map(|corner| corner.point.length())
        .fold(0.0, f64::max);
    let step = (2.0 * extent / WALK).max(1e-6);
    let mut lines = vec![Vec::new()];
    for pair in line.windows(2) {
        let count = ((pair[1] - pair[0]).length() / step).ceil().clamp(1.0, 1000.0) as usize;
        for k in 0..=count {
            let p = pair[0].lerp(pair[1], k as f64 / count as f64);
            let landing = hit(solid, right * p.x + up * p.y, towards);
            match (lines.last_mut(), landing) {
                (Some(last), Some(landing)) => last.push(landing),
                (Some(last), None) if !last.is_empty() => lines.push(Vec::new()),
                _ => {}
            }
        }
    }
    lines.retain(|line| line.len() > 1);
    lines
}

/// The face point nearest the viewer on the sight line through `through`.
fn hit(solid: &Solid, through: DVec3, towards: DVec3) -> Option<Landing> {
    let meet = |face: &Face| {
        let slant = face.normal.dot(towards);
        if slant <= 1e-6 {
            return None;
        }
        let way = (face.corners[0].point - through).dot(face.normal) / slant;
        let point = through + towards * way;
        let corners = &face.corners;
        let inside = (0..corners.len()).all(|k| {
            let (a, b) = (corners[k].point, corners[(k + 1) % corners.len()].point);
            // A hair of slack, lest a line slip between two faces.
            (b - a).cross(point - a).dot(face.normal) >= -1e-9 * (b - a).length_squared()
        });
        inside.then_some((way, Landing { point, normal: face.normal }))
    };
    let nearest = |best: Option<(f64, Landing)>, found: (f64, Landing)| match best {
        Some(best) if best.0 >= found.0 => Some(best),
        _ => Some(found),
    };
    solid.faces.iter().filter_map(meet).fold(None, nearest).map(|(_, landing)| landing)
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;
    use crate::flow::Direction;
    use crate::flow::Shape;
    use crate::outline::point;
    use crate::units::Length;

    fn limit(kind: LimitKind) -> Limit {
        Limit { name: "rim".into(), kind, at: fixture::place(1) }
    }

    #[test]
    fn a_plane_cuts_a_sphere_in_one_closed_circle() {
        let solid = Solid::of(&Shape::Sphere { diameter: Length::mm(10.0) });
        let plane =
            limit(LimitKind::Plane { axis: Direction::Up, offset: Length::mm(-3.0), keep_greater: true });
        let lines = lines(&plane, &solid, 1.0);
        assert_eq!(lines.len(), 1);
        assert!((lines[0][0].point - lines[0].last().unwrap().point).length() < 1e-6, "closed");
        // Radius √(5² − 3²) = 4; the faces lie inside the sphere by up to 2 %.
        for landing in &lines[0] {
            assert!((landing.point.z + 3.0).abs() < 1e-9);
            assert!((3.9..=4.0001).contains(&landing.point.truncate().length()), "{landing:?}");
        }
    }

    #[test]
    fn a_window_drawn_from_the_left_lies_on_the_left() {
        let solid = Solid::of(&Shape::Cylinder { diameter: Length::mm(10.0), length: Length::mm(50.0) });
        let window = limit(LimitKind::Region {
            view: View::Left,
            outline: vec![point(10.0, -1.0), point(20.0, -1.0), point(20.0, 2.0), point(10.0, 2.0)],
            keep_inside: false,
        });
        let lines = lines(&window, &solid, 1.0);
        assert_eq!(lines.len(), 1);
        for landing in &lines[0] {
            let r = libm::hypot(landing.point.y, landing.point.z);
            assert!(landing.point.y < 0.0 && (4.9..=5.001).contains(&r), "{landing:?}");
        }
    }
}
