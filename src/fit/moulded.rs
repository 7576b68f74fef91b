//! The part as the kit's mould made it.
//!
//! Calipers on a kit part say that it is not quite to scale. Here the part is
//! given, still in full-size millimetres, the sizes that the plastic stands
//! for: each measured axis its own ratio, an unmeasured one the geometric mean
//! of the others; limits and stations move with it. Without calipers this is
//! the part itself, so one fit serves every scale.

use super::place::{self, Refusal};
use crate::flow::{Axis, Direction, Limit, LimitKind, Measured, Part, Shape, View};
use crate::outline::point;
use crate::surface::{self, Surface};
use crate::units::{Full, Length, Scale};
use glam::DVec3;

/// A part with the sizes its plastic stands for.
#[derive(Debug)]
pub struct Moulded {
    pub surface: Box<dyn Surface>,
    /// The part with these sizes, its limits moved along.
    pub part: Part,
    /// How much larger than the handbook says, along x, y and z of the part.
    pub stretch: DVec3,
    /// The geometric mean of the ratios: over 1 where the plastic is too large.
    pub ratio: f64,
    /// Why the tape of `over` tells nothing: nothing can be laid on a part of unknown size.
    pub untold: Option<Refusal>,
}

/// A tape tells ratios in this range: ten times off is refused when read, and four times is no kit.
const TAPED: [f64; 2] = [0.25, 4.0];

impl Moulded {
    /// The part at this scale.
    pub fn new(part: &Part, scale: Scale) -> Self {
        match part.measured.iter().find(|measured| measured.scale == scale) {
            None => Self::stretched(part, &[]),
            Some(measured) => Self::measured(part, measured, scale),
        }
    }

    fn measured(part: &Part, measured: &Measured, scale: Scale) -> Self {
        let sizes = sizes(&part.shape);
        let mut ratios: Vec<(Axis, f64)> = Vec::new();
        for &(axis, length) in &measured.axes {
            if let Some(&(_, full)) = sizes.iter().find(|(name, _)| *name == axis) {
                ratios.push((axis, length.stands_for(scale) / full));
            }
        }
        let Some(over) = &measured.over else { return Self::stretched(part, &ratios) };
        // The tape tells the one ratio that all unmeasured axes share: the root of a
        // growing function, by bisection.
        let taped = over.length.stands_for(scale).to_mm();
        let with = |share: f64| {
            let mut all = ratios.clone();
            for &(axis, _) in &sizes {
                if !all.iter().any(|(name, _)| *name == axis) {
                    all.push((axis, share));
                }
            }
            Self::stretched(part, &all)
        };
        let length = |share: f64| place::tape_between(&with(share), over.from, over.to);
        let untold = |text: String, help: &str| Self {
            untold: Some(Refusal::new(text, help)),
            ..Self::stretched(part, &ratios)
        };
        let [from, to] = [over.from, over.to].map(|limit| &part.limits[limit].name);
        let Some(whole) = length(1.0) else {
            return untold(
                format!("a tape over the top of `{}` never gets from `{from}` to `{to}`", part.name),
                "name two limits that the middle of the top view crosses, each keeping the side of the other",
            );
        };
        let (mut low, mut high) = (TAPED[0], TAPED[1]);
        for _ in 0..40 {
            let middle = (low + high) / 2.0;
            if length(middle).is_some_and(|found| found < taped) {
                low = middle;
            } else {
                high = middle;
            }
        }
        if low == TAPED[0] || high == TAPED[1] {
            return untold(
                format!(
                    "a tape of {} from `{from}` to `{to}` goes with no size of `{}`: {} would be to scale",
                    at_model(taped, scale),
                    part.name,
                    at_model(whole, scale)
                ),
                "the length is of the tape on the model: check its unit and the scale",
            );
        }
        with((low + high) / 2.0)
    }

    /// The part with these ratios; axes that are not named get the geometric mean of those that are.
    fn stretched(part: &Part, ratios: &[(Axis, f64)]) -> Self {
        let mean = geometric_mean(ratios.iter().map(|&(_, ratio)| ratio));
        let ratio =
            |axis: Axis| ratios.iter().find(|(name, _)| *name == axis).map_or(mean, |&(_, ratio)| ratio);
        let stretch = match part.shape {
            Shape::Flat { face, .. } => {
                let [across, up, out] = face.axes().map(DVec3::abs);
                across * ratio(Axis::Width) + up * ratio(Axis::Height) + out * mean
            }
            Shape::Cylinder { .. } => {
                DVec3::new(ratio(Axis::Length), ratio(Axis::Diameter), ratio(Axis::Diameter))
            }
            Shape::Cone { .. } => {
                let round = geometric_mean([ratio(Axis::Front), ratio(Axis::Rear)].into_iter());
                DVec3::new(ratio(Axis::Length), round, round)
            }
            Shape::Sphere { .. } => DVec3::splat(ratio(Axis::Diameter)),
            Shape::Ellipsoid { .. } => {
                DVec3::new(ratio(Axis::Length), ratio(Axis::Width), ratio(Axis::Height))
            }
        };
        let all = sizes(&part.shape).into_iter().map(|(axis, _)| ratio(axis));
        let shape = resized(&part.shape, ratio);
        let limits = part.limits.iter().map(|limit| moved(limit, stretch)).collect();
        Self {
            surface: surface::build(&shape),
            part: Part { shape, limits, ..part.clone() },
            stretch,
            ratio: geometric_mean(all),
            untold: None,
        }
    }

    /// A length along one axis of the part, moved with the part, mm.
    pub fn along(&self, axis: Direction, length: Length<Full>) -> f64 {
        length.to_mm() * component(self.stretch, axis)
    }

    /// Lengths across and up the paper of a view, moved with the part, mm.
    pub fn on_paper(&self, view: View, across: Length<Full>, up: Length<Full>) -> [f64; 2] {
        let [right, top] = self.paper_stretch(view);
        [across.to_mm() * right, up.to_mm() * top]
    }

    /// How much larger the part is than the handbook says, across and up the paper of a view.
    pub fn paper_stretch(&self, view: View) -> [f64; 2] {
        let [right, top, _] = view.axes().map(|axis| axis.abs().dot(self.stretch));
        [right, top]
    }
}

/// A full-size length, mm, as it is on the model.
fn at_model(mm: f64, scale: Scale) -> String {
    format!("{:.1} mm", Length::<Full>::mm(mm).at(scale).to_mm())
}

/// The coordinate of `p` on one axis.
pub fn component(p: DVec3, axis: Direction) -> f64 {
    match axis {
        Direction::Aft => p.x,
        Direction::Right => p.y,
        Direction::Up => p.z,
    }
}

fn geometric_mean(ratios: impl Iterator<Item = f64>) -> f64 {
    let logs: Vec<f64> = ratios.map(libm::log).collect();
    if logs.is_empty() { 1.0 } else { libm::exp(logs.iter().sum::<f64>() / logs.len() as f64) }
}

/// The sizes that calipers can take on a shape.
fn sizes(shape: &Shape) -> Vec<(Axis, Length<Full>)> {
    match *shape {
        Shape::Flat { width, height, .. } => vec![(Axis::Width, width), (Axis::Height, height)],
        Shape::Cylinder { diameter, length } => vec![(Axis::Diameter, diameter), (Axis::Length, length)],
        Shape::Cone { front, rear, length } => {
            vec![(Axis::Front, front), (Axis::Rear, rear), (Axis::Length, length)]
        }
        Shape::Sphere { diameter } => vec![(Axis::Diameter, diameter)],
        Shape::Ellipsoid { length, width, height } => {
            vec![(Axis::Length, length), (Axis::Width, width), (Axis::Height, height)]
        }
    }
}

fn resized(shape: &Shape, ratio: impl Fn(Axis) -> f64) -> Shape {
    let by = |length: Length<Full>, axis: Axis| length * ratio(axis);
    match *shape {
        Shape::Flat { width, height, face } => {
            Shape::Flat { width: by(width, Axis::Width), height: by(height, Axis::Height), face }
        }
        Shape::Cylinder { diameter, length } => {
            Shape::Cylinder { diameter: by(diameter, Axis::Diameter), length: by(length, Axis::Length) }
        }
        Shape::Cone { front, rear, length } => Shape::Cone {
            front: by(front, Axis::Front),
            rear: by(rear, Axis::Rear),
            length: by(length, Axis::Length),
        },
        Shape::Sphere { diameter } => Shape::Sphere { diameter: by(diameter, Axis::Diameter) },
        Shape::Ellipsoid { length, width, height } => Shape::Ellipsoid {
            length: by(length, Axis::Length),
            width: by(width, Axis::Width),
            height: by(height, Axis::Height),
        },
    }
}

fn moved(limit: &Limit, stretch: DVec3) -> Limit {
    let kind = match &limit.kind {
        LimitKind::Plane { axis, offset, keep_greater } => LimitKind::Plane {
            axis: *axis,
            offset: *offset * component(stretch, *axis),
            keep_greater: *keep_greater,
        },
        LimitKind::Region { view, outline, keep_inside } => {
            let [right, up, _] = view.axes().map(|axis| axis.abs().dot(stretch));
            let outline = outline.iter().map(|p| point(p.x * right, p.y * up)).collect();
            LimitKind::Region { view: *view, outline, keep_inside: *keep_inside }
        }
    };
    Limit { kind, ..limit.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{Over, Place};
    use crate::units::Angle;

    fn helmet(measured: Measured) -> Part {
        let at = Place { file: "test".into(), line: 1, column: 1 };
        let plane = |name: &str, axis, offset, keep_greater| Limit {
            name: name.to_owned(),
            kind: LimitKind::Plane { axis, offset: Length::mm(offset), keep_greater },
            at: at.clone(),
        };
        Part {
            name: "helmet".to_owned(),
            shape: Shape::Ellipsoid {
                length: Length::mm(280.0),
                width: Length::mm(240.0),
                height: Length::mm(240.0),
            },
            measured: vec![measured],
            limits: vec![
                plane("brow", Direction::Aft, -70.0, true),
                plane("nape", Direction::Aft, 70.0, false),
            ],
            seam: Angle::ZERO,
            at,
        }
    }

    fn calipers(axes: Vec<(Axis, Length<crate::units::Model>)>, over: Option<Over>) -> Measured {
        let at = Place { file: "test".into(), line: 1, column: 1 };
        Measured { scale: Scale::one_to(40.0).unwrap(), axes, over, at }
    }

    #[test]
    fn an_unmeasured_axis_gets_the_geometric_mean() {
        // 280/40 = 7 and 240/40 = 6 would be right; the calipers say 6.3 and 6.6: ratios 0.9 and 1.1.
        let axes = vec![(Axis::Length, Length::mm(6.3)), (Axis::Width, Length::mm(6.6))];
        let moulded = Moulded::new(&helmet(calipers(axes, None)), Scale::one_to(40.0).unwrap());
        let mean = (0.9f64 * 1.1).sqrt();
        assert!((moulded.stretch - DVec3::new(0.9, 1.1, mean)).length() < 1e-12);
        assert!((moulded.ratio - mean).abs() < 1e-12);
        let LimitKind::Plane { offset, .. } = moulded.part.limits[0].kind else { panic!("a plane") };
        assert!((offset.to_mm() + 63.0).abs() < 1e-9, "limits scale with the part");
    }

    #[test]
    fn other_scales_are_left_alone() {
        let axes = vec![(Axis::Length, Length::mm(6.3))];
        let moulded = Moulded::new(&helmet(calipers(axes, None)), Scale::one_to(72.0).unwrap());
        assert_eq!((moulded.stretch, moulded.ratio), (DVec3::ONE, 1.0));
    }

    #[test]
    fn a_tape_over_the_part_tells_the_rest() {
        // The way over the top of an ellipse 280 × 240 between x = ±70, by a fine polygon of its own.
        let arc: f64 = (0..100_000)
            .map(|k| {
                let at = |k: i32| {
                    let x = -70.0 + 140.0 * f64::from(k) / 100_000.0;
                    (x, 120.0 * (1.0 - (x / 140.0f64).powi(2)).sqrt())
                };
                let (a, b) = (at(k), at(k + 1));
                ((a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)).sqrt()
            })
            .sum();
        let over = Over { from: 0, to: 1, length: Length::mm(arc * 0.9 / 40.0) };
        let moulded = Moulded::new(&helmet(calipers(Vec::new(), Some(over))), Scale::one_to(40.0).unwrap());
        assert!((moulded.ratio - 0.9).abs() < 1e-5, "{}", moulded.ratio);
        assert_eq!(moulded.untold, None);
    }

    #[test]
    fn a_tape_that_tells_nothing_is_said() {
        let untold = |from, to, mm| {
            let over = Over { from, to, length: Length::mm(mm) };
            let part = helmet(calipers(vec![(Axis::Length, Length::mm(6.3))], Some(over)));
            Moulded::new(&part, Scale::one_to(40.0).unwrap()).untold.map(|refusal| refusal.text)
        };
        assert_eq!(untold(0, 1, 3.6), None);
        let long = untold(0, 1, 360.0).unwrap();
        assert!(long.starts_with("a tape of 360.0 mm from `brow` to `nape` goes with no size"), "{long}");
        assert!(untold(0, 1, 0.1).is_some());
        let mut aside = helmet(calipers(Vec::new(), Some(Over { from: 0, to: 1, length: Length::mm(3.6) })));
        let LimitKind::Plane { offset, .. } = &mut aside.limits[1].kind else { panic!("a plane") };
        *offset = Length::mm(-90.0);
        let untold = Moulded::new(&aside, Scale::one_to(40.0).unwrap()).untold.unwrap();
        assert_eq!(untold.text, "a tape over the top of `helmet` never gets from `brow` to `nape`");
    }
}
