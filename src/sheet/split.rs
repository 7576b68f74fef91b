//! A piece too large for a sheet, or to be laid at once, made in sections that lap over each other.
//!
//! Cut lines run square to the heading, or to the line that the piece follows;
//! a piece too wide as well, and not bent, is cut along its heading too. They lie
//! evenly, moved to the edge of a colour bar or to a limit where one is near.
//! Each section reaches over its far line by the overlap, so that the next one laps
//! onto it. A section's own middle is its origin, its heading the piece's there.
//!
//! Left out: cut lines that dodge letters or emblems. The strain told for a section
//! is that of the whole piece, which is never less.

use super::layout::{Layout, Rows};
use super::{blank, footprint, frame, marks, series::Cut};
use crate::flow::{
    Artwork, Code, Film3, Finding, Fit, Make, Piece, Plan, Portion, Relief, ReliefCut, Severity, Verdict,
};
use crate::outline::number::{said_size, short};
use crate::outline::{Outline, Point, Polyline, Region, Segment, Vector, point, turned};
use crate::units::{Length, Model, Scale, Size};
use std::rc::Rc;
use std::sync::Arc;

/// How far sections lap where a marking does not say. Common practice, no source.
const OVERLAP: f64 = 0.5;

/// More sections than this are no way to make a marking.
const MOST_PARTS: usize = 48;

/// A cut line moves to a bar or a limit that is this near, as a share of a section's length.
const NEAR: f64 = 0.2;

/// The piece itself where a sheet can hold it as it is, else its sections.
pub fn sections(plan: &Plan, scale: Scale, piece: &Piece) -> Vec<Piece> {
    let whole = || vec![piece.clone()];
    if fits(plan, scale, piece) {
        return whole();
    }
    let lap = plan.markings[piece.marking.0].piece.split_overlap.map_or(OVERLAP, Length::to_mm);
    let course = Course::new(&piece.fit);
    let tries = (2..=MOST_PARTS).flat_map(|count| {
        let across = (1..=count).filter(move |rows| count % rows == 0);
        across.map(move |rows| [count / rows, rows])
    });
    for [columns, rows] in tries.filter(|[_, rows]| *rows == 1 || !course.bent) {
        let windows = course.windows(columns, rows, lap);
        // A corner of the grid may hold nothing of a round piece.
        let sections = windows.iter().map(|window| section(piece, window));
        let sections = sections.filter(|part| !part.fit.artwork.silhouette.is_empty());
        let fitting: Option<Vec<Piece>> =
            sections.map(|part| fits(plan, scale, &part).then_some(part)).collect();
        if let Some(sections) = fitting.filter(|sections| !sections.is_empty()) {
            return told(plan, scale, piece, sections, lap);
        }
    }
    whole()
}

/// Letters the sections, and says on the first what was done.
fn told(plan: &Plan, scale: Scale, piece: &Piece, mut sections: Vec<Piece>, lap: f64) -> Vec<Piece> {
    let of = sections.len() as u32;
    for (part, number) in sections.iter_mut().zip(1..) {
        part.section = Some(Portion { number, of });
    }
    let marking = &plan.markings[piece.marking.0];
    let last = Portion { number: of, of }.letter();
    let to = if of == 2 { "and" } else { "to" };
    let whole = piece.fit.size;
    let [width, height] =
        frame::page_for(&plan.sheets_of(piece.make), whole.width.to_mm(), whole.height.to_mm())
            .map(f64::ceil);
    let (too, otherwise) = match marking.piece.longest.filter(|_| fits_sheet(plan, scale, piece)) {
        Some(longest) => (
            format!("more than the {} mm that are laid at once", short(longest.to_mm(), 1)),
            "or raise `longest`".to_owned(),
        ),
        None => (
            "too large for a sheet".to_owned(),
            format!("or give the sheets a page of {width} × {height} mm and some room for film and label"),
        ),
    };
    sections[0].findings.insert(
        0,
        Finding {
            code: Code::Split,
            severity: Severity::Warning,
            text: format!(
                "{} is {too}: made in {of} sections, a {to} {last}, that lap by {} mm",
                said_size(whole.width.to_mm(), whole.height.to_mm()),
                short(lap, 2)
            ),
            help: format!(
                "lay them in the order of their letters, each lapping onto the one before; {otherwise}"
            ),
            at: marking.at.clone(),
        },
    );
    sections
}

/// Whether the piece can be laid at once, and a sheet has room for it.
fn fits(plan: &Plan, scale: Scale, piece: &Piece) -> bool {
    let (size, longest) = (piece.fit.size, plan.markings[piece.marking.0].piece.longest);
    let long = size.width.to_mm().max(size.height.to_mm());
    // Strips come off a roll, and are laid along it.
    let at_once =
        piece.make == Make::Tape || longest.is_none_or(|longest| long <= longest.to_mm() * (1.0 + 1e-9));
    at_once && fits_sheet(plan, scale, piece)
}

/// Whether a sheet has room for the piece with its film, marks and label.
fn fits_sheet(plan: &Plan, scale: Scale, piece: &Piece) -> bool {
    let drawn = match piece.make {
        Make::Decal => blank::decal(plan, piece),
        Make::Mask => blank::frame(plan, piece),
        Make::Tape => return true,
    };
    let cut = Cut { piece, scale, blank: Rc::new(drawn) };
    let room = frame::room(&plan.sheets_of(piece.make));
    let item = footprint(plan, &cut, &marks(plan, &cut, room.width));
    Rows.place(&[item], &room)[0].is_some()
}

/// The line that a piece is cut square to, and how far it reaches to either side.
struct Course {
    spine: Polyline,
    /// Length up to each point.
    lengths: Vec<f64>,
    sides: [f64; 2],
    bent: bool,
    /// Places along it where a cut would be seen least.
    wanted: Vec<f64>,
}

/// Where a section lies: its area, its middle and its heading there.
struct Window {
    area: Region<Model>,
    middle: Point,
    heading: f64,
}

impl Course {
    fn new(fit: &Fit<Model>) -> Self {
        let bounds = fit.artwork.silhouette.bounds();
        let straight =
            || vec![point(bounds.min.x, bounds.center().y), point(bounds.max.x, bounds.center().y)];
        let near = 1e-6 * bounds.width();
        let bent = fit.spine.iter().any(|p| (p.y - fit.spine[0].y).abs() > near);
        let spine = if bent { fit.spine.clone() } else { straight() };
        let mut lengths = vec![0.0];
        for pair in spine.windows(2) {
            lengths.push(lengths[lengths.len() - 1] + (pair[1] - pair[0]).length());
        }
        // On a bent piece the run tells the width; a hair more, so that edges are surely inside.
        let half = match fit.run.filter(|_| bent) {
            Some(run) => 0.51 * run.height.to_mm(),
            None => 0.51 * bounds.height(),
        };
        let wanted =
            if bent { Vec::new() } else { bars(fit).into_iter().map(|x| x - bounds.min.x).collect() };
        Self { spine, lengths, sides: [half; 2], bent, wanted }
    }

    fn length(&self) -> f64 {
        self.lengths[self.lengths.len() - 1]
    }

    /// The point so far along, and the direction there.
    fn at(&self, s: f64) -> (Point, Vector) {
        let k = self.lengths.partition_point(|&l| l < s).clamp(1, self.spine.len() - 1);
        let (from, to) = (self.spine[k - 1], self.spine[k]);
        let share = ((s - self.lengths[k - 1]) / (self.lengths[k] - self.lengths[k - 1])).clamp(0.0, 1.0);
        (from.lerp(to, share), (to - from).normalize())
    }

    /// Areas of `columns` sections along the line and `rows` across it, in the order they are laid.
    fn windows(&self, columns: usize, rows: usize, lap: f64) -> Vec<Window> {
        let own = self.length() / columns as f64;
        let cut = |k: usize| {
            let even = own * k as f64;
            let away = |s: &f64| (s - even).abs();
            let near = self.wanted.iter().copied().filter(|s| away(s) < NEAR * own);
            near.min_by(|a, b| away(a).total_cmp(&away(b))).unwrap_or(even)
        };
        let [right, left] = self.sides;
        let rise = (right + left) / rows as f64;
        let mut all = Vec::new();
        for column in 0..columns {
            let last = column + 1 == columns;
            let from = if column == 0 { 0.0 } else { cut(column) };
            let to = if last { self.length() } else { cut(column + 1) + lap };
            for row in 0..rows {
                let low = -right + rise * row as f64;
                let high = low + rise + if row + 1 == rows { 0.0 } else { lap };
                all.push(self.window([from, to], [low, high]));
            }
        }
        all
    }

    fn window(&self, [from, to]: [f64; 2], [low, high]: [f64; 2]) -> Window {
        // The ends of the piece are cut by its own outline.
        let over = |s: f64| if s <= 0.0 { -1e-3 } else if s >= self.length() { 1e-3 } else { 0.0 } * self.length();
        let inner = self.lengths.iter().copied().filter(|&l| l > from && l < to);
        let stops: Vec<f64> = std::iter::once(from).chain(inner).chain([to]).collect();
        let aside = |t: f64| {
            move |&s: &f64| {
                let (at, along) = self.at(s);
                at + Vector::new(-along.y, along.x) * t + along * over(s)
            }
        };
        let ring = stops.iter().map(aside(low)).chain(stops.iter().rev().map(aside(high))).collect();
        let (at, along) = self.at((from + to) / 2.0);
        Window {
            area: Region::new(vec![ring]),
            middle: at + Vector::new(-along.y, along.x) * ((low + high) / 2.0),
            heading: libm::atan2(along.y, along.x),
        }
    }
}

/// Where edges of colour, or limits, run square across a straight piece: x.
fn bars(fit: &Fit<Model>) -> Vec<f64> {
    let height = fit.artwork.silhouette.bounds().height();
    let mut all = Vec::new();
    for (from, stretch) in fit
        .artwork
        .areas
        .iter()
        .flat_map(|area| area.outline.contours.iter().flat_map(crate::outline::Contour::stretches))
    {
        if let Segment::Line { to } = stretch
            && (to.y - from.y).abs() > 0.5 * height
            && (to.x - from.x).abs() < 1e-6 * height
        {
            all.push(from.x);
        }
    }
    for line in &fit.trim {
        let bounds = crate::outline::Bounds::from_points(line.iter().copied());
        if bounds.height() > 0.9 * height && bounds.width() < 0.1 * height {
            all.push(bounds.center().x);
        }
    }
    all
}

/// The part of a piece in a window, about its own middle.
fn section(piece: &Piece, window: &Window) -> Piece {
    let fit = &*piece.fit;
    let inside = |outline: &Outline<Model>| {
        outline
            .flattened(blank::TOLERANCE)
            .intersection(&window.area)
            .to_outline()
            .moved(-window.middle.to_vector())
            .turned(-window.heading)
    };
    let place = |p: Point| turned(p - window.middle, -window.heading).to_point();
    let kept = |line: &Polyline| {
        let at: Polyline = line.iter().copied().filter(|&p| window.area.contains(p)).map(place).collect();
        (at.len() > 1).then_some(at)
    };
    let areas = fit.artwork.mapped(inside);
    let artwork =
        Artwork { areas: areas.areas.into_iter().filter(|area| !area.outline.is_empty()).collect(), ..areas };
    let bounds = artwork.silhouette.bounds();
    let size = Size { width: Length::mm(bounds.width()), height: Length::mm(bounds.height()) };
    let over = fit.overhanging.intersection(&window.area);
    // A section that lies wholly inside runs past nothing, whatever the others do.
    let is_inside = over.is_empty();
    let own = Fit {
        size,
        // The ends that meet are those of the whole.
        seam: None,
        overhang: if is_inside { Length::ZERO } else { fit.overhang },
        overhang_share: over.area()
            / artwork.silhouette.flattened(blank::TOLERANCE).area().max(f64::MIN_POSITIVE),
        past: if is_inside { Vec::new() } else { fit.past.clone() },
        run: fit.run.map(|run| Size { width: size.width, ..run }),
        spine: fit.spine.iter().copied().filter(|&p| window.area.contains(p)).map(place).collect(),
        film: film_in(&fit.film, window, place),
        overhanging: Region::new(
            over.rings.iter().map(|ring| ring.iter().copied().map(place).collect()).collect(),
        ),
        trim: fit.trim.iter().filter_map(kept).collect(),
        relief: fit.relief.as_ref().and_then(|relief| relief_in(relief, window, place)),
        artwork,
        ..fit.clone()
    };
    let holds = |finding: &&Finding| !is_inside || !matches!(finding.code, Code::Oversize | Code::Trim);
    let findings = piece.findings.iter().filter(holds).cloned().collect();
    let verdict = if is_inside { Verdict::Fits } else { piece.verdict };
    Piece { fit: Arc::new(own), verdict, findings, ..piece.clone() }
}

/// Cuts whose mouth lies in the window.
fn relief_in(
    relief: &Relief<Model>,
    window: &Window,
    place: impl Fn(Point) -> Point,
) -> Option<Relief<Model>> {
    let moved = |line: &Polyline| line.iter().copied().map(&place).collect();
    let inside = |cut: &&ReliefCut<Model>| cut.line.get(1).is_some_and(|&tip| window.area.contains(tip));
    let cut =
        |cut: &ReliefCut<Model>| ReliefCut { line: moved(&cut.line), out: moved(&cut.out), ..cut.clone() };
    let cuts: Vec<_> = relief.cuts.iter().filter(inside).map(cut).collect();
    (!cuts.is_empty()).then(|| Relief { cuts, ..relief.clone() })
}

/// The film's triangles whose middle lies in the window.
fn film_in(film: &Film3, window: &Window, place: impl Fn(Point) -> Point) -> Film3 {
    let inside = |t: &[u32; 3]| {
        let middle = t.iter().map(|&v| film.flat[v as usize].to_vector()).sum::<Vector>() / 3.0;
        window.area.contains(middle.to_point())
    };
    let kept: Vec<usize> = (0..film.triangles.len()).filter(|&k| inside(&film.triangles[k])).collect();
    Film3 {
        flat: film.flat.iter().copied().map(place).collect(),
        laid: film.laid.clone(),
        normals: film.normals.clone(),
        triangles: kept.iter().map(|&k| film.triangles[k]).collect(),
        stretches: kept.iter().map(|&k| film.stretches[k]).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sections_go_by_letters() {
        let letters = [1, 2, 26, 27, 53].map(|number| Portion { number, of: 60 }.letter());
        assert_eq!(letters, ["a", "b", "z", "aa", "ba"]);
    }

    #[test]
    fn windows_cover_a_bend_once_and_their_laps_twice() {
        // A quarter ring of radius 40, 10 wide.
        let arc: Polyline = (0..=90)
            .map(|k| {
                let (sin, cos) = libm::sincos(f64::from(k).to_radians());
                point(40.0 * sin, 40.0 - 40.0 * cos)
            })
            .collect();
        let mut lengths = vec![0.0];
        for pair in arc.windows(2) {
            lengths.push(lengths[lengths.len() - 1] + (pair[1] - pair[0]).length());
        }
        let course = Course { spine: arc, lengths, sides: [5.0; 2], bent: true, wanted: Vec::new() };
        let windows = course.windows(3, 1, 2.0);
        let sum: f64 = windows.iter().map(|window| window.area.area()).sum();
        // Length × width (Pappus), two laps, and a thousandth of the length past each end.
        let expected = 10.0 * (course.length() * 1.002 + 4.0);
        assert!((sum / expected - 1.0).abs() < 2e-3, "{sum} {expected}");
        let both = windows[0].area.union(&windows[1].area).union(&windows[2].area).area();
        assert!((sum - both - 40.0).abs() < 0.5, "{sum} {both}");
    }
}
