//! A shape as the plan has it → the surface, or what is wrong with it and where.

use super::mesh::{Mesh, MeshError, Placing};
use super::{
    Cone, Cylinder, Ellipsoid, Extrude, Loft, Plate, Profile, Revolve, Section, ShapeError, Sphere, Station,
    Surface, Tube,
};
use crate::flow::{self, Shape, Soup};
use crate::units::{Full, Length};
use glam::DVec3;
use std::sync::Arc;

/// Why no part can be made of a shape.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Flaw {
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// At a loft's station, by index.
    #[error("{1}")]
    Station(usize, ShapeError),
    #[error(transparent)]
    Mesh(#[from] MeshError),
}

/// The surface of a shape at full size.
///
/// # Errors
/// Drawings that contradict themselves, meshes without an outside; simple shapes are always made.
pub fn build(shape: &Shape) -> Result<Arc<dyn Surface>, Flaw> {
    Ok(match shape {
        Shape::Flat { width, height, face } => Arc::new(Plate::new(width.to_mm(), height.to_mm(), *face)),
        Shape::Cylinder { diameter, length } => {
            Arc::new(Cylinder { radius: diameter.to_mm() / 2.0, length: length.to_mm() })
        }
        Shape::Cone { front, rear, length } => {
            let (front, rear) = (front.to_mm() / 2.0, rear.to_mm() / 2.0);
            if front == rear {
                Arc::new(Cylinder { radius: front, length: length.to_mm() })
            } else {
                Arc::new(Cone::new(front, rear, length.to_mm()))
            }
        }
        Shape::Sphere { diameter } => Arc::new(Sphere { radius: diameter.to_mm() / 2.0 }),
        Shape::Ellipsoid { length, width, height } => {
            Arc::new(Ellipsoid { axes: DVec3::new(length.to_mm(), width.to_mm(), height.to_mm()) / 2.0 })
        }
        Shape::Revolve { profile, smooth } => Arc::new(Revolve::new(&mm(profile), *smooth)?),
        Shape::Loft { stations } => Arc::new(loft(stations)?),
        Shape::Tube { diameter, path, bend, closed } => {
            Arc::new(Tube::new(diameter.to_mm(), &mm(path), bend.to_mm(), *closed)?)
        }
        Shape::Extrude { profile, length } => Arc::new(Extrude::new(&drawn_out(profile), length.to_mm())?),
        Shape::Mesh { soup, stretch } => Arc::new(mesh(soup, *stretch)?),
    })
}

/// The loft itself, of which a picture asks more than of a surface.
pub(super) fn loft(stations: &[flow::Station]) -> Result<Loft, Flaw> {
    let station = |s: &flow::Station| Station {
        at: s.at.to_mm(),
        section: section(&s.section),
        centre: s.centre.map(Length::to_mm),
    };
    Loft::new(&stations.iter().map(station).collect::<Vec<_>>())
        .map_err(|(at, error)| Flaw::Station(at, error))
}

pub(super) fn mesh(soup: &Soup, stretch: DVec3) -> Result<Mesh, MeshError> {
    let points = soup.points.iter().map(|&p| p * stretch).collect();
    Mesh::new(Soup { points, triangles: soup.triangles.clone() }, &Placing::PLAIN)
}

pub(super) fn mm<const N: usize>(points: &[[Length<Full>; N]]) -> Vec<[f64; N]> {
    points.iter().map(|p| p.map(Length::to_mm)).collect()
}

pub(super) fn section(section: &flow::Section) -> Section {
    match section {
        flow::Section::Circle { diameter } => Section::Circle { diameter: diameter.to_mm() },
        flow::Section::Ellipse { width, height } => {
            Section::Ellipse { width: width.to_mm(), height: height.to_mm() }
        }
        flow::Section::Superellipse { width, height, power } => {
            Section::Superellipse { width: width.to_mm(), height: height.to_mm(), power: *power }
        }
        flow::Section::Box { width, height, radius } => {
            Section::Box { width: width.to_mm(), height: height.to_mm(), radius: radius.to_mm() }
        }
        flow::Section::Points { points, smooth } => Section::Points { points: mm(points), smooth: *smooth },
    }
}

pub(super) fn drawn_out(profile: &flow::Profile) -> Profile {
    match profile {
        flow::Profile::Section(one) => Profile::Section(section(one)),
        flow::Profile::Naca { digits, chord } => {
            Profile::Naca { digits: digits.clone(), chord: chord.to_mm() }
        }
        flow::Profile::Line { points, smooth } => Profile::Line { points: mm(points), smooth: *smooth },
    }
}
