//! A cutter's lines as DXF: closed polylines with arcs, one layer a tool, millimetres.
//!
//! Release 12 (`AC1009`), which everything reads, written by hand: the
//! format is pairs of lines, a group code and its value. `$INSUNITS` 4 says
//! millimetres. An arc is the bulge of the corner it starts at, tan(sweep/4).
//! These are the lines as they should be cut, in cutting order, for a program
//! that knows its own machine: no overcut, no swivels, no lead-in.
//!
//! Left out: curves (flattened within 0.002 mm), blocks, text, hatches.

use crate::flow::{Job, Tool};
use crate::outline::number::short;
use crate::outline::{Contour, Point, Segment};

/// How far a flattened curve may miss the true one, mm: a tenth of a step of a cutter.
const TOLERANCE: f64 = 0.002;
/// Places of a coordinate, and of a bulge, which counts 100 times on a 100 mm arc.
const PLACES: [usize; 2] = [6, 9];

/// The whole file. `head` goes before everything as comments.
pub fn dxf(job: &Job, head: &[&str]) -> String {
    let mut out = Pairs(String::new());
    for line in head {
        out.put(999, crate::outline::lettering::clean(line));
    }
    out.section("HEADER", |out| {
        out.put(9, "$ACADVER").put(1, "AC1009");
        out.put(9, "$INSUNITS").put(70, 4);
        out.put(9, "$EXTMIN").point(Point::zero());
        out.put(9, "$EXTMAX").point(Point::new(job.page.width.to_mm(), job.page.height.to_mm()));
    });
    out.section("TABLES", |out| {
        out.put(0, "TABLE").put(2, "LAYER").put(70, Tool::ALL.len());
        for tool in Tool::ALL {
            out.put(0, "LAYER").put(2, tool.word()).put(70, 0).put(62, tool.pen()).put(6, "CONTINUOUS");
        }
        out.put(0, "ENDTAB");
    });
    out.section("ENTITIES", |out| {
        for run in &job.runs {
            for stroke in &run.strokes {
                out.polyline(run.tool, &stroke.line, stroke.closed);
            }
        }
    });
    out.put(0, "EOF");
    out.0
}

/// Group codes with their values.
struct Pairs(String);

impl Pairs {
    fn put(&mut self, code: u32, value: impl std::fmt::Display) -> &mut Self {
        self.0 += &format!("{code:>3}\n{value}\n");
        self
    }

    fn point(&mut self, p: Point) -> &mut Self {
        self.put(10, short(p.x, PLACES[0])).put(20, short(p.y, PLACES[0])).put(30, 0)
    }

    fn section(&mut self, name: &str, inside: impl FnOnce(&mut Self)) {
        self.put(0, "SECTION").put(2, name);
        inside(self);
        self.put(0, "ENDSEC");
    }

    fn polyline(&mut self, tool: Tool, line: &Contour, closed: bool) {
        let layer = tool.word();
        self.put(0, "POLYLINE").put(8, layer).put(66, 1).point(Point::zero()).put(70, u8::from(closed));
        for (at, bulge) in vertices(line, closed) {
            self.put(0, "VERTEX").put(8, layer).point(at);
            if bulge != 0.0 {
                self.put(42, short(bulge, PLACES[1]));
            }
        }
        self.put(0, "SEQEND").put(8, layer);
    }
}

/// Corners, each with the bulge of the stretch that starts there.
fn vertices(line: &Contour, closed: bool) -> Vec<(Point, f64)> {
    let mut all = Vec::new();
    let mut end = line.start;
    let stretches: Vec<(Point, Segment)> = if closed {
        line.stretches().collect()
    } else {
        line.stretches().take(line.segments.len()).collect()
    };
    for (from, segment) in stretches {
        match segment {
            Segment::Line { .. } => all.push((from, 0.0)),
            Segment::Arc { sweep, .. } => all.push((from, libm::tan(sweep / 4.0))),
            Segment::Cubic { .. } => {
                let curve = Contour { start: from, segments: vec![segment] }.flattened(TOLERANCE);
                all.extend(curve[..curve.len().saturating_sub(1)].iter().map(|&p| (p, 0.0)));
            }
        }
        end = segment.to();
    }
    if !closed {
        all.push((end, 0.0));
    }
    all
}
