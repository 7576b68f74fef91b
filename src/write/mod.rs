//! A sheet as bytes, one file per format.
//!
//! The writers mirror each other: each takes a [`Sheet`](crate::flow::Sheet) or
//! what another writer made of it, and gives bytes; none opens a file. The PNG
//! is drawn from an SVG: the sheet's own, so that the two cannot disagree, or for a picture
//! without shades that of the sheet in black. What a sheet's hidden layers
//! hold is in the SVG and the PDF, not shown; white never knocks out what is under it.

use crate::flow::Job;
use crate::outline::number::short;
use crate::units::Scale;

pub mod dxf;
pub mod glb;
pub mod hpgl;
pub mod pdf;
mod plain;
pub mod png;
pub mod svg;
pub mod tape_csv;

pub use dxf::dxf;
pub use glb::glb;
pub use hpgl::hpgl;
pub use pdf::pdf;
pub use png::{Canvas, Look, Picture, PngError, png};
pub use svg::{cut as cut_svg, svg};
pub use tape_csv::tape_csv;

/// What stands at the head of a file for a cutter: title, estimate, cautions.
pub fn cut_head(title: &str, scales: &[Scale], job: &Job) -> [String; 4] {
    let minutes = short(job.seconds / 60.0, 1);
    let length = short(job.cut.to_mm() / 1000.0, 2);
    let pens = "Layers: register is drawn, kiss cuts the film alone, weed parts waste film, through cuts everything.";
    let scales: Vec<String> = scales.iter().map(ToString::to_string).collect();
    [
        format!("{title}, {}, {}", scales.join(", "), job.stem),
        format!("About {length} m of cuts and {minutes} min. {pens}"),
        "Cut a square of 100 mm first and measure it. Blades cut: a fresh one, a cutting mat, hands clear of the machine."
            .to_owned(),
        "Paint, solvents and spray: makers' instructions, ventilation, a mask where the maker says so."
            .to_owned(),
    ]
}
