//! A cutter's runs as HPGL: pen up, pen down, absolute, 40 units to the millimetre.
//!
//! Unit 0.025 mm (HP PCL 5 reference). Origin at the page's lower left corner, y
//! up. Each tool is a pen of its own and sets its speed, which HPGL counts in
//! whole centimetres a second. This is what the machine runs as it stands:
//! order, overcut, swivels and lead-ins are in it. Slow corners, pressure and
//! blade depth are the machine's.
//!
//! Left out: curves (HPGL has none that a blade needs), labels, comments.

use crate::flow::{Job, Tool};
use crate::outline::Point;
use std::fmt::Write;

/// Plotter units in a millimetre.
const PER_MM: f64 = 40.0;
/// Points on one line of the file: some readers take only so many.
const A_LINE: usize = 40;

/// The whole file.
pub fn hpgl(job: &Job) -> String {
    let mut text = String::from("IN;PA;\n");
    // Whole numbers from 1: a machine takes nought for its own default.
    let speed = (job.speed.to_mm() / 10.0).round().clamp(1.0, 200.0);
    for run in &job.runs {
        let speed = if run.tool == Tool::Through { (speed / 2.0).ceil() } else { speed };
        line(&mut text, format_args!("SP{};VS{speed};", run.tool.pen()));
        stroke(&mut text, &run.lead_in);
        for each in &run.strokes {
            stroke(&mut text, &each.path);
        }
    }
    text + "PU;SP0;PU0,0;IN;\n"
}

fn line(text: &mut String, words: std::fmt::Arguments<'_>) {
    writeln!(text, "{words}").expect("writing to a string cannot fail");
}

fn stroke(text: &mut String, path: &[Point]) {
    let mut units: Vec<[i64; 2]> =
        path.iter().map(|p| [p.x, p.y].map(|v| (v * PER_MM).round() as i64)).collect();
    // Points that fall on one another say nothing to a machine; a lone one is a prick of the blade.
    units.dedup();
    let Some(([x, y], rest)) = units.split_first() else { return };
    line(text, format_args!("PU{x},{y};"));
    for some in rest.chunks(A_LINE) {
        let points: Vec<String> = some.iter().map(|[x, y]| format!("{x},{y}")).collect();
        line(text, format_args!("PD{};", points.join(",")));
    }
    text.push_str("PU;\n");
}
