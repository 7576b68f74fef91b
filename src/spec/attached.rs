//! The files that shapes are read from: tables and meshes, each opened once.

use super::lenient::{May, Need};
use super::log::At;
use super::mirror::{Named, Part};
use super::shapes::{Listed, Shape, Table};
use super::words::Text;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What the values that name files stand for; what could not be opened is told and not here.
#[derive(Debug, Default)]
pub struct Attached {
    /// Sources by the place of their file's name.
    pub tables: BTreeMap<At, usize>,
    /// Bytes by the place of their file's name.
    pub meshes: BTreeMap<At, Arc<[u8]>>,
}

/// How a file is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Table,
    Mesh,
}

/// The files that the parts of one file of the language name.
pub fn named(parts: &May<Named<Part>>) -> Vec<(&Need<Text>, Kind)> {
    let all = parts.get().map_or(&[][..], |parts| &parts.0);
    all.iter().filter_map(|(_, part)| part.get()?.shape.get()).flat_map(of_shape).collect()
}

fn of_shape(shape: &Shape) -> Vec<(&Need<Text>, Kind)> {
    match shape {
        Shape::Revolve(revolve) => table(revolve.profile.get()),
        Shape::Loft(loft) => {
            let mut all = table(loft.stations.get());
            if let Some(Listed::List(stations)) = loft.stations.get() {
                all.extend(
                    stations.iter().filter_map(Need::get).flat_map(|station| table(station.points.get())),
                );
            }
            all
        }
        Shape::Tube(tube) => table(tube.path.get()),
        Shape::Extrude(extrude) => table(extrude.profile.get().and_then(|profile| profile.points.get())),
        Shape::Mesh(mesh) => vec![(&mesh.file, Kind::Mesh)],
        _ => Vec::new(),
    }
}

fn table<T>(listed: Option<&Listed<T>>) -> Vec<(&Need<Text>, Kind)> {
    match listed {
        Some(Listed::Map(Table { file, .. })) => vec![(file, Kind::Table)],
        _ => Vec::new(),
    }
}
