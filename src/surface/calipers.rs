//! The sizes that calipers take on a part, and the part with other sizes.
//!
//! What it gets wrong: a rounded corner becomes a quarter of an ellipse when a
//! box is stretched, here it stays round, of the mean radius; a wing section
//! keeps its own proportions.

use super::Surface;
use crate::flow::{Axis, Profile, Section, Shape, Station};
use crate::units::{Full, Length};
use glam::DVec3;

/// Less than this share of the part is no size but rounding.
const NO_SIZE: f64 = 1e-9;

/// The sizes of a shape by their words, and `surface` made of it.
pub fn sizes(shape: &Shape, surface: &dyn Surface) -> Vec<(Axis, Length<Full>)> {
    let [length, width, height] = surface.extent().to_array().map(Length::mm);
    let all = match *shape {
        Shape::Flat { width, height, .. } => vec![(Axis::Width, width), (Axis::Height, height)],
        Shape::Cylinder { diameter, length } => vec![(Axis::Diameter, diameter), (Axis::Length, length)],
        Shape::Cone { front, rear, length } => {
            vec![(Axis::Front, front), (Axis::Rear, rear), (Axis::Length, length)]
        }
        Shape::Sphere { diameter } => vec![(Axis::Diameter, diameter)],
        Shape::Ellipsoid { length, width, height } => {
            vec![(Axis::Length, length), (Axis::Width, width), (Axis::Height, height)]
        }
        Shape::Revolve { .. } => vec![(Axis::Diameter, width), (Axis::Length, length)],
        Shape::Loft { .. } | Shape::Mesh { .. } => {
            vec![(Axis::Length, length), (Axis::Width, width), (Axis::Height, height)]
        }
        Shape::Tube { diameter, ref path, .. } => {
            let axes = [(Axis::Length, length), (Axis::Width, width), (Axis::Height, height)];
            let outside =
                axes.into_iter().enumerate().filter(|(k, _)| spread(path, *k) > 0.0).map(|(_, axis)| axis);
            std::iter::once((Axis::Diameter, diameter)).chain(outside).collect()
        }
        Shape::Extrude { ref profile, length: drawn } => match profile {
            Profile::Naca { chord, .. } => vec![(Axis::Chord, *chord), (Axis::Length, drawn)],
            Profile::Section(Section::Circle { diameter }) => {
                vec![(Axis::Diameter, *diameter), (Axis::Length, drawn)]
            }
            // Across x is the profile's width, along y it is drawn out.
            _ => vec![(Axis::Width, length), (Axis::Height, height), (Axis::Length, drawn)],
        },
    };
    // The point of a cone is not to be measured.
    let least = NO_SIZE * surface.extent().max_element();
    all.into_iter().filter(|(_, size)| size.to_mm() > least).collect()
}

/// How far a path reaches along one axis, mm.
fn spread(path: &[[Length<Full>; 3]], axis: usize) -> f64 {
    let along = path.iter().map(|p| p[axis].to_mm());
    let [low, high] = along.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], x| [a.min(x), b.max(x)]);
    high - low
}

/// How much larger a part is along x, y and z whose sizes have these ratios to the drawing's.
pub fn stretch(shape: &Shape, ratio: impl Fn(Axis) -> f64) -> DVec3 {
    let [length, width, height] = [Axis::Length, Axis::Width, Axis::Height].map(&ratio);
    let round = |axis| DVec3::new(length, ratio(axis), ratio(axis));
    match shape {
        Shape::Flat { face, .. } => {
            let [across, up, out] = face.axes().map(DVec3::abs);
            across * width + up * height + out * mean([width, height])
        }
        Shape::Cylinder { .. } | Shape::Revolve { .. } => round(Axis::Diameter),
        Shape::Cone { front, rear, .. } => {
            let ends = match (front.to_mm() > 0.0, rear.to_mm() > 0.0) {
                (true, true) => mean([ratio(Axis::Front), ratio(Axis::Rear)]),
                (true, false) => ratio(Axis::Front),
                _ => ratio(Axis::Rear),
            };
            DVec3::new(length, ends, ends)
        }
        Shape::Sphere { .. } => DVec3::splat(ratio(Axis::Diameter)),
        Shape::Ellipsoid { .. } | Shape::Loft { .. } | Shape::Tube { .. } | Shape::Mesh { .. } => {
            DVec3::new(length, width, height)
        }
        Shape::Extrude { profile, .. } => match profile {
            Profile::Naca { .. } => DVec3::new(ratio(Axis::Chord), length, ratio(Axis::Chord)),
            Profile::Section(Section::Circle { .. }) => {
                DVec3::new(ratio(Axis::Diameter), length, ratio(Axis::Diameter))
            }
            _ => DVec3::new(width, length, height),
        },
    }
}

/// The geometric mean.
fn mean(ratios: [f64; 2]) -> f64 {
    (ratios[0] * ratios[1]).sqrt()
}

/// The shape with its sizes times these ratios; `surface` is made of the shape as it is.
pub fn resized(shape: &Shape, surface: &dyn Surface, ratio: impl Fn(Axis) -> f64) -> Shape {
    let by = |length: Length<Full>, axis: Axis| length * ratio(axis);
    let along = stretch(shape, &ratio);
    match shape {
        &Shape::Flat { width, height, face } => {
            Shape::Flat { width: by(width, Axis::Width), height: by(height, Axis::Height), face }
        }
        &Shape::Cylinder { diameter, length } => {
            Shape::Cylinder { diameter: by(diameter, Axis::Diameter), length: by(length, Axis::Length) }
        }
        &Shape::Cone { front, rear, length } => Shape::Cone {
            front: by(front, Axis::Front),
            rear: by(rear, Axis::Rear),
            length: by(length, Axis::Length),
        },
        &Shape::Sphere { diameter } => Shape::Sphere { diameter: by(diameter, Axis::Diameter) },
        &Shape::Ellipsoid { length, width, height } => Shape::Ellipsoid {
            length: by(length, Axis::Length),
            width: by(width, Axis::Width),
            height: by(height, Axis::Height),
        },
        Shape::Revolve { profile, smooth } => {
            Shape::Revolve { profile: scaled(profile, [along.x, along.y]), smooth: *smooth }
        }
        Shape::Loft { stations } => {
            let station = |s: &Station| Station {
                at: s.at * along.x,
                section: stretched(&s.section, [along.y, along.z]),
                centre: [s.centre[0] * along.y, s.centre[1] * along.z],
            };
            Shape::Loft { stations: stations.iter().map(station).collect() }
        }
        Shape::Tube { diameter, path, bend, closed } => {
            let thick = ratio(Axis::Diameter);
            // Calipers go over the outside: the path is what is left of it inside the tube's own thickness.
            let outside = surface.extent().to_array();
            let by: [f64; 3] = std::array::from_fn(|k| {
                let within = spread(path, k);
                let own = (outside[k] - within).max(0.0);
                if within > 0.0 {
                    ((along[k] * outside[k] - thick * own) / within).max(0.0)
                } else {
                    along[k]
                }
            });
            let bend = *bend * libm::cbrt(by.iter().product());
            Shape::Tube { diameter: *diameter * thick, path: scaled(path, by), bend, closed: *closed }
        }
        Shape::Extrude { profile, length } => {
            let both = [along.x, along.z];
            let profile = match profile {
                Profile::Section(section) => Profile::Section(stretched(section, both)),
                Profile::Naca { digits, chord } => {
                    Profile::Naca { digits: digits.clone(), chord: *chord * along.x }
                }
                Profile::Line { points, smooth } => {
                    Profile::Line { points: scaled(points, both), smooth: *smooth }
                }
            };
            Shape::Extrude { profile, length: *length * along.y }
        }
        Shape::Mesh { soup, stretch } => Shape::Mesh { soup: soup.clone(), stretch: *stretch * along },
    }
}

fn scaled<const N: usize>(points: &[[Length<Full>; N]], by: [f64; N]) -> Vec<[Length<Full>; N]> {
    points.iter().map(|p| std::array::from_fn(|k| p[k] * by[k])).collect()
}

fn stretched(section: &Section, by: [f64; 2]) -> Section {
    match *section {
        Section::Circle { diameter } if by[0] == by[1] => Section::Circle { diameter: diameter * by[0] },
        Section::Circle { diameter } => {
            Section::Ellipse { width: diameter * by[0], height: diameter * by[1] }
        }
        Section::Ellipse { width, height } => {
            Section::Ellipse { width: width * by[0], height: height * by[1] }
        }
        Section::Superellipse { width, height, power } => {
            Section::Superellipse { width: width * by[0], height: height * by[1], power }
        }
        Section::Box { width, height, radius } => {
            let (width, height, radius) = (width * by[0], height * by[1], radius * mean(by));
            let most = if width < height { width } else { height } * 0.5;
            Section::Box { width, height, radius: if radius > most { most } else { radius } }
        }
        Section::Points { ref points, smooth } => Section::Points { points: scaled(points, by), smooth },
    }
}

#[cfg(test)]
mod tests {
    use super::super::build;
    use super::*;
    use crate::flow::Soup;
    use std::sync::Arc;

    fn mm(length: f64) -> Length<Full> {
        Length::mm(length)
    }

    /// Every size that calipers can take comes out as measured.
    #[test]
    fn a_part_has_the_sizes_that_were_measured() {
        let section = |at: f64, section| Station { at: mm(at), section, centre: [mm(0.0), mm(0.0)] };
        let square = vec![[mm(-3.0), mm(-2.0)], [mm(3.0), mm(-2.0)], [mm(3.0), mm(2.0)], [mm(-3.0), mm(2.0)]];
        let tetrahedron = Soup {
            points: vec![DVec3::ZERO, DVec3::X * 9.0, DVec3::Y * 7.0, DVec3::Z * 5.0],
            triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
        };
        let shapes = [
            Shape::Cone { front: mm(0.0), rear: mm(4.0), length: mm(9.0) },
            Shape::Revolve { profile: vec![[mm(0.0), mm(0.0)], [mm(9.0), mm(4.0)]], smooth: true },
            Shape::Loft {
                stations: vec![
                    section(0.0, Section::Circle { diameter: mm(5.0) }),
                    section(9.0, Section::Box { width: mm(6.0), height: mm(8.0), radius: mm(1.0) }),
                ],
            },
            Shape::Tube {
                diameter: mm(2.0),
                path: [[0.0, 0.0, 0.0], [0.0, 0.0, 20.0], [30.0, 0.0, 20.0], [30.0, 0.0, 0.0]]
                    .map(|p| p.map(mm))
                    .to_vec(),
                bend: mm(6.0),
                closed: false,
            },
            Shape::Extrude {
                profile: Profile::Naca { digits: "2412".into(), chord: mm(100.0) },
                length: mm(300.0),
            },
            Shape::Extrude {
                profile: Profile::Section(Section::Points { points: square, smooth: false }),
                length: mm(30.0),
            },
            Shape::Mesh { soup: Arc::new(tetrahedron), stretch: DVec3::splat(2.0) },
        ];
        for shape in shapes {
            let surface = build(&shape).unwrap();
            let before = sizes(&shape, surface.as_ref());
            assert!(before.len() >= 2, "{shape:?}");
            for (k, (measured, _)) in before.iter().enumerate() {
                let ratio = |axis: Axis| if axis == *measured { 1.1 } else { 0.95 };
                let other = resized(&shape, surface.as_ref(), ratio);
                let after = sizes(&other, build(&other).unwrap().as_ref());
                for ((axis, one), (_, two)) in before.iter().zip(&after) {
                    let right = ratio(*axis);
                    assert!(
                        (*two / *one / right - 1.0).abs() < 1e-9,
                        "{shape:?} {k} {axis:?}: {}",
                        *two / *one
                    );
                }
            }
        }
    }
}
