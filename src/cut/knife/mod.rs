//! A sheet's cut lines as runs for a machine.
//!
//! Lines come from the sheet's layers, arcs are found again in them, each goes
//! where this machine must be told to cut it (`truth`), they are put in
//! [`order`], and the [`holder`]'s path is worked out with overcut and swivels.
//! Kiss cuts, relief slits among them, come before weeding lines, cuts through everything last. Slow
//! corners are left to the machine.

pub mod holder;
pub mod order;
mod truth;
mod weed;

use super::TOLERANCE;
use crate::flow::{
    Code, Cutter, Finding, Item, Job, Make, Numbered, Piece, Plan, Purpose, Run, Severity, Sheet, Stroke,
    Tool,
};
use crate::outline::number::short;
use crate::outline::region::signed_area;
use crate::outline::{Bounds, Contour, Point, Polyline, Vector, arcs, point};
use crate::units::Length;
use truth::Truth;

/// Corners this near a circle are an arc's, mm.
const ON_ARC: f64 = 5e-4;
/// Film kept free round a lead-in, mm.
const CLEAR: f64 = 0.5;
/// Steps in which waste film is looked through for a lead-in, mm.
const LOOK: f64 = 1.0;
/// The share of a cutter's speed at which it cuts through everything: film and paper together drag more than film.
/// Common practice, no source.
const THROUGH: f64 = 0.5;
/// To lift and lower a blade once, seconds. Common practice, no source.
const LIFT: f64 = 0.15;

/// The runs of one sheet, and what this machine cannot do on it. `pieces` are those of the sheet's scales.
pub fn job(plan: &Plan, pieces: &[&Piece], cutter: &Cutter, sheet: &Sheet) -> (Job, Vec<Numbered>) {
    let bench = Bench { plan, pieces, cutter, sheet, truth: Truth::of(plan, cutter, sheet) };
    let films = bench.films();
    let mut findings = bench.out_of_reach(&films);
    findings.extend(bench.tight_holes());
    let boxes: Vec<Bounds> = films.iter().map(|(_, bounds)| *bounds).collect();
    let mut at = Point::zero();
    let mut facing = holder::faces_after_lead_in();
    let mut runs = Vec::new();
    let mut has_waste = true;
    for tool in Tool::ALL {
        let (closed, open) = bench.lines(tool, &boxes);
        if closed.is_empty() && open.is_empty() {
            continue;
        }
        // A pen has no blade to turn, and every change of tool brings a blade nobody knows the heading of.
        let offset = if tool == Tool::Register { 0.0 } else { cutter.offset.to_mm() };
        let lead_in = bench.lead_in(&boxes, at, offset);
        has_waste &= lead_in.is_some();
        let lead_in = lead_in.unwrap_or_default();
        at = lead_in.last().copied().unwrap_or(at);
        facing = if lead_in.is_empty() { facing } else { holder::faces_after_lead_in() };
        // Slits lie within the film's edge, and are cut before it; weeding lines after the border that they lead to.
        let (slits, open) = if tool == Tool::Kiss { (open, Vec::new()) } else { (Vec::new(), open) };
        let mut strokes = bench.strokes(Vec::new(), slits, offset, &mut at, &mut facing);
        strokes.extend(bench.strokes(closed, open, offset, &mut at, &mut facing));
        let speed = if tool == Tool::Through { cutter.speed * THROUGH } else { cutter.speed };
        runs.push(Run { tool, lead_in, strokes, speed });
    }
    if !has_waste {
        findings.push(bench.finding(
            0,
            Code::Knife,
            format!("sheet {} has no waste film to turn the blade in before the first cut", sheet.stem),
            "leave more `spacing` or a wider `margin` under `sheets`, or a larger page".to_owned(),
        ));
    }
    (estimated(sheet, cutter, runs), findings)
}

struct Bench<'a> {
    plan: &'a Plan,
    pieces: &'a [&'a Piece],
    cutter: &'a Cutter,
    sheet: &'a Sheet,
    truth: Truth,
}

/// Closed and open lines.
type Lines = (Vec<Contour>, Vec<Polyline>);

impl Bench<'_> {
    /// Where the machine can cut.
    fn reach(&self) -> Bounds {
        let mat = self.cutter.mat.unwrap_or(self.sheet.page);
        let (width, height) = (mat.width.to_mm(), mat.height.to_mm());
        // As far as the sheet reaches, for that is held by the rollers.
        let (width, height) =
            (width.min(self.sheet.page.width.to_mm()), height.min(self.sheet.page.height.to_mm()));
        let feed = self.cutter.feed.to_mm();
        Bounds::new(point(0.0, feed), point(width, height - feed))
    }

    /// The pieces of the sheet with the boxes of their films.
    fn films(&self) -> Vec<(u32, Bounds)> {
        let bounds = |outline: &crate::outline::Outline<_>| {
            let points = outline.contours.iter().flat_map(|contour| contour.flattened(TOLERANCE));
            Bounds::from_points(points.map(|p| self.truth.of_point(p)))
        };
        self.sheet.pieces.iter().copied().zip(self.sheet.outlines.iter().map(bounds)).collect()
    }

    fn lines(&self, tool: Tool, films: &[Bounds]) -> Lines {
        let of = |purpose| {
            self.sheet
                .layers
                .iter()
                .filter(move |layer| layer.purpose == purpose)
                .flat_map(|layer| &layer.items)
        };
        let open = |purpose| of(purpose).filter_map(|item| self.open(item)).collect();
        let edges = || of(Purpose::Cut).flat_map(|item| self.closed(item)).collect();
        let through = self.sheet.make == Make::Decal && self.cutter.through;
        match tool {
            Tool::Register => (Vec::new(), open(Purpose::Register)),
            Tool::Kiss => (if through { Vec::new() } else { edges() }, open(Purpose::Relief)),
            Tool::Through if through => (edges(), Vec::new()),
            Tool::Weed if self.cutter.weed && !through => match weed::lines(films, &self.reach()) {
                Some((border, lines)) => (vec![self.turned(corners(&border))], lines),
                None => (Vec::new(), Vec::new()),
            },
            _ => (Vec::new(), Vec::new()),
        }
    }

    fn open(&self, item: &Item) -> Option<Polyline> {
        match item {
            Item::Path { points, .. } => Some(self.truth.of_line(points)),
            _ => None,
        }
    }

    fn closed(&self, item: &Item) -> Vec<Contour> {
        match item {
            Item::Line { outline, .. } => outline
                .contours
                .iter()
                .map(|contour| self.truth.of_line(&contour.flattened(TOLERANCE)))
                .filter(|line| line.len() > 2)
                .map(|line| self.turned(line))
                .collect(),
            _ => Vec::new(),
        }
    }

    /// The line round the way that is wanted, its arcs found again.
    fn turned(&self, mut corners: Polyline) -> Contour {
        if (signed_area(&corners) < 0.0) != self.cutter.clockwise {
            corners.reverse();
        }
        arcs::recovered(&corners, ON_ARC)
    }

    fn strokes(
        &self,
        closed: Vec<Contour>,
        open: Vec<Polyline>,
        offset: f64,
        at: &mut Point,
        facing: &mut Vector,
    ) -> Vec<Stroke> {
        let mut strokes = Vec::with_capacity(closed.len() + open.len());
        let mut add = |line: Contour, closed: bool, design: &[Point], at: &mut Point| {
            let path = holder::path(design, offset, facing);
            *at = path.last().copied().unwrap_or(*at);
            strokes.push(Stroke { line, closed, path });
        };
        let polygons: Vec<Polyline> = closed.iter().map(|line| line.flattened(TOLERANCE)).collect();
        for stop in order::closed(&polygons, *at) {
            let design = overcut(&polygons[stop.line], stop.corner, self.cutter.overcut.to_mm());
            add(closed[stop.line].clone(), true, &design, at);
        }
        for (line, backwards) in order::open(&open, *at) {
            let mut design = open[line].clone();
            if backwards {
                design.reverse();
            }
            add(Contour::polygon(&design), false, &design, at);
        }
        strokes
    }

    /// A lead-in where there is no film to spoil, as near as may be; empty where none is needed.
    fn lead_in(&self, films: &[Bounds], at: Point, offset: f64) -> Option<Polyline> {
        if offset <= 0.0 {
            return Some(Polyline::new());
        }
        let (side, reach) = (holder::lead_in_side(offset), self.reach());
        let room = Bounds::new(reach.min, reach.max - Vector::new(side, side));
        let films: Vec<Bounds> = films.iter().map(|film| film.inflate(CLEAR, CLEAR)).collect();
        let steps = |span: f64| (0..=(span / LOOK).max(-1.0) as i64).map(|k| k as f64 * LOOK);
        if room.width() < 0.0 || room.height() < 0.0 {
            return None;
        }
        let corners =
            steps(room.height()).flat_map(|y| steps(room.width()).map(move |x| room.min + Vector::new(x, y)));
        let free = |corner: &Point| {
            let square = Bounds::new(*corner, *corner + Vector::new(side, side));
            films.iter().all(|film| !film.intersects(&square))
        };
        let way = |corner: &Point| (*corner - at).square_length();
        // Inside its square by an offset: the blade may start on any side of the holder.
        let best = corners.filter(free).min_by(|a, b| way(a).total_cmp(&way(b)))?;
        Some(holder::lead_in(best + Vector::new(offset, offset), offset))
    }

    fn out_of_reach(&self, films: &[(u32, Bounds)]) -> Vec<Numbered> {
        let reach = self.reach();
        let room = reach.inflate(1e-6, 1e-6);
        let outside = films.iter().filter(|(_, film)| !room.contains_box(film));
        let said = |(number, film): &(u32, Bounds)| {
            let size =
                |bounds: &Bounds| format!("{} × {} mm", short(bounds.width(), 1), short(bounds.height(), 1));
            let larger = film.width() > reach.width() || film.height() > reach.height();
            let (text, help) = if larger {
                let text =
                    format!("it is {} with its film, and the cutter reaches {}", size(film), size(&reach));
                (text, "make the marking in shorter sections, or cut it by hand")
            } else {
                (
                    format!("it lies past the {} that the cutter reaches", size(&reach)),
                    "give `sheets` a `page` no larger than the mat, and a `margin` of at least `feed`",
                )
            };
            self.finding(*number, Code::Mat, text, help.to_owned())
        };
        outside.map(said).collect()
    }

    /// Edges and openings that the blade cannot turn in, each piece once.
    fn tight_holes(&self) -> Vec<Numbered> {
        let least = 2.0 * self.cutter.offset.to_mm();
        let layers = self.sheet.layers.iter().filter(|layer| layer.purpose == Purpose::Cut);
        let lines = layers.flat_map(|layer| &layer.items).flat_map(|item| self.closed(item));
        let boxes = lines.map(|line| Bounds::from_points(line.flattened(TOLERANCE)));
        let side = |bounds: &Bounds| bounds.width().min(bounds.height());
        let mut said: Vec<(u32, f64)> = Vec::new();
        let films = self.films();
        for line in boxes.filter(|line| side(line) < least) {
            // Small pieces lie in the holes of large ones: a line is of the smallest film round it.
            let room = line.inflate(-TOLERANCE, -TOLERANCE);
            let round = films.iter().filter(|(_, film)| film.contains_box(&room));
            let on = round.min_by(|a, b| a.1.area().total_cmp(&b.1.area())).map_or(0, |(number, _)| *number);
            let side = side(&line);
            match said.iter_mut().find(|(number, _)| *number == on) {
                Some((_, least)) => *least = least.min(side),
                None => said.push((on, side)),
            }
        }
        let offset = short(self.cutter.offset.to_mm(), 2);
        let text = |(number, side): (u32, f64)| {
            let text = format!(
                "a closed line {} mm wide is too small for a blade {offset} mm off its axis to turn in",
                short(side, 2)
            );
            let instead = match self.sheet.make {
                Make::Decal => "leave more border round it",
                Make::Mask | Make::Tape => "make the piece as a decal",
            };
            let help = format!("use a blade of smaller offset, cut this line by hand, or {instead}");
            self.finding(number, Code::Knife, text, help)
        };
        said.into_iter().map(text).collect()
    }

    /// About a piece by its number, or about all markings of the spec.
    fn finding(&self, number: u32, code: Code, text: String, help: String) -> Numbered {
        let piece = self.pieces.iter().find(|piece| piece.number == number);
        let first = piece.or(self.pieces.first()).map_or(0, |piece| piece.marking.0);
        let at = self.plan.markings[first].at.clone();
        (piece.map(|piece| piece.number), Finding { code, severity: Severity::Error, text, help, at })
    }
}

fn corners(bounds: &Bounds) -> Polyline {
    vec![bounds.min, point(bounds.max.x, bounds.min.y), bounds.max, point(bounds.min.x, bounds.max.y)]
}

/// The closed line from one of its corners round to it and on by `more` mm.
fn overcut(polygon: &[Point], first: usize, more: f64) -> Polyline {
    let count = polygon.len();
    let mut line: Polyline = (0..=count).map(|k| polygon[(first + k) % count]).collect();
    let mut left = more;
    for k in 1..=count {
        if left <= 0.0 {
            break;
        }
        let (from, to) = (polygon[(first + k - 1) % count], polygon[(first + k) % count]);
        let length = (to - from).length();
        line.push(if length > left { from + (to - from) * (left / length) } else { to });
        left -= length;
    }
    line
}

fn estimated(sheet: &Sheet, cutter: &Cutter, runs: Vec<Run>) -> Job {
    let length = |line: &[Point]| line.windows(2).map(|pair| (pair[1] - pair[0]).length()).sum::<f64>();
    let (mut cut, mut travel, mut lifts, mut seconds) = (0.0, 0.0, 0, 0.0);
    let mut at = Point::zero();
    for run in &runs {
        let paths = std::iter::once(&run.lead_in).chain(run.strokes.iter().map(|stroke| &stroke.path));
        for path in paths.filter(|path| !path.is_empty()) {
            let ways = [(path[0] - at).length(), length(path)];
            travel += ways[0];
            cut += ways[1];
            seconds += (ways[0] + ways[1]) / run.speed.to_mm();
            lifts += 1;
            at = path[path.len() - 1];
        }
    }
    seconds += LIFT * f64::from(lifts);
    Job {
        stem: sheet.stem.clone(),
        page: sheet.page,
        runs,
        cut: Length::mm(cut),
        travel: Length::mm(travel),
        offset: cutter.offset,
        speed: cutter.speed,
        seconds,
    }
}
