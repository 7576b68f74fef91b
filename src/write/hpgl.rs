//! A cutter's runs as HPGL: pen up, pen down, absolute, 40 units to the millimetre.
//!
//! Unit 0.025 mm (HP PCL 5 reference). Origin at the page's lower left corner, y
//! up. Each tool is a pen of its own and sets its speed, which HPGL counts in
//! whole centimetres a second. This is what the machine runs as it stands:
//! order, overcut, swivels and lead-ins are in it. Slow corners, pressure and
//! blade depth are the machine's.
//!
//! Rounding a holder's path to whole units point by point would leave the blade
//! turned a little wrong after every swing, and set it down beside the line. So
//! each point goes to the one of the four units round it that brings the *tip*
//! nearest to where the true path has it, with the blade followed along and kept
//! from turning out of its way.
//!
//! Left out: curves (HPGL has none that a blade needs), labels, comments.

use crate::flow::{Job, Tool};
use crate::outline::{Point, Vector, turned};
use std::fmt::Write;

/// Plotter units in a millimetre.
const PER_MM: f64 = 40.0;
/// Points on one line of the file: some readers take only so many.
const A_LINE: usize = 40;

/// The whole file.
pub fn hpgl(job: &Job) -> String {
    let mut text = String::from("IN;PA;\n");
    let offset = job.offset.to_mm();
    for run in &job.runs {
        let mut grid = Grid::new(if run.tool == Tool::Register { 0.0 } else { offset });
        // Whole numbers from 1: a machine takes nought for its own default.
        let speed = (run.speed.to_mm() / 10.0).round().clamp(1.0, 200.0);
        line(&mut text, format_args!("SP{};VS{speed};", run.tool.pen()));
        stroke(&mut text, grid.units(&run.lead_in));
        for each in &run.strokes {
            stroke(&mut text, grid.units(&each.path));
        }
    }
    text + "PU;SP0;PU0,0;IN;\n"
}

fn line(text: &mut String, words: std::fmt::Arguments<'_>) {
    writeln!(text, "{words}").expect("writing to a string cannot fail");
}

fn stroke(text: &mut String, mut units: Vec<[i64; 2]>) {
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

/// What a blade's turn out of its true way counts beside its tip's miss: a turned blade misses later. Of a
/// seventh, a quarter and a half all kept a simulated knife within 0.025 mm; nothing at all did not.
const ASKEW: f64 = 0.25;

/// The blade as the true path drags it, and as the rounded one does.
struct Grid {
    offset: f64,
    /// Which way each faces, from the tip to the holder's axis; what they start as is the lead-in's business.
    facing: Vector,
    rounded_facing: Vector,
}

impl Grid {
    fn new(offset: f64) -> Self {
        let facing = Vector::new(1.0, 0.0);
        Self { offset, facing, rounded_facing: facing }
    }

    /// One path from blade down to blade up, in units.
    fn units(&mut self, path: &[Point]) -> Vec<[i64; 2]> {
        let mut units: Vec<[i64; 2]> = Vec::with_capacity(path.len());
        for (k, &to) in path.iter().enumerate() {
            if k > 0 {
                self.facing = dragged(self.facing, to - path[k - 1], self.offset);
            }
            let tip = to - self.facing * self.offset;
            let lands = |unit: &[i64; 2]| {
                let from = units.last().map_or(mm(unit), mm);
                let facing = dragged(self.rounded_facing, mm(unit) - from, self.offset);
                let askew = (facing - self.facing).length() * self.offset;
                (facing, (mm(unit) - facing * self.offset - tip).length() + ASKEW * askew)
            };
            let near = around(to).map(|unit| (unit, lands(&unit)));
            let best = near.into_iter().min_by(|(_, (_, a)), (_, (_, b))| a.total_cmp(b));
            let (unit, (facing, _)) = best.expect("there are four of them");
            self.rounded_facing = facing;
            units.push(unit);
        }
        units
    }
}

/// The four points of the grid round `p`.
fn around(p: Point) -> [[i64; 2]; 4] {
    let [x, y] = [p.x, p.y].map(|v| (v * PER_MM).floor() as i64);
    [[x, y], [x + 1, y], [x, y + 1], [x + 1, y + 1]]
}

fn mm(unit: &[i64; 2]) -> Point {
    Point::new(unit[0] as f64 / PER_MM, unit[1] as f64 / PER_MM)
}

/// Which way a blade faces once its holder has gone straight by `way`: tan(ψ/2) falls as e^(−s/e).
fn dragged(facing: Vector, way: Vector, offset: f64) -> Vector {
    let length = way.length();
    if length <= 0.0 || offset <= 0.0 {
        return facing;
    }
    let along = way / length;
    let half = libm::atan2(along.cross(facing), along.dot(facing)) / 2.0;
    turned(along, 2.0 * libm::atan(libm::tan(half) * libm::exp(-length / offset)))
}
