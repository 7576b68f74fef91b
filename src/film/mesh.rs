//! A flat outline cut into well-shaped triangles of one size.
//!
//! Boundary points are spread along the outline at the asked spacing, corners
//! kept; an equilateral lattice fills the inside; a constrained Delaunay
//! triangulation (spade) joins them and is refined after Ruppert (*A Delaunay
//! refinement algorithm*, J. Algorithms 18:548, 1995) where a feature is
//! narrower than the spacing. The lattice is anchored at the origin, so that the
//! same outline always gives the same mesh.
//!
//! Left out: curved triangle edges. A round outline loses the slivers between
//! arc and chord, a share of its area that falls with the square of the spacing.

use super::Trouble;
use super::sides::{Side, ends, in_order};
use super::slit::{self, there_and_back};
use crate::outline::region::distance_to_segment;
use crate::outline::{Point, Polyline, Region, Vector, point};
use crate::units::World;
use spade::{
    AngleLimit, ConstrainedDelaunayTriangulation, HasPosition, Point2, RefinementParameters, Triangulation,
};
use std::collections::{BTreeMap, BTreeSet};

/// Triangles in the plane, counter-clockwise.
#[derive(Clone, Debug, Default)]
pub struct Mesh {
    pub points: Vec<Point>,
    pub triangles: Vec<[u32; 3]>,
    /// Whether a point lies on the outline.
    pub boundary: Vec<bool>,
}

/// Corners sharper than this stay where they are; flatter ones may be sampled away. 20°: a
/// curve flattened so coarsely that it turns more at every point is taken as it is.
const CORNER: f64 = 0.35;

/// How far a boundary chord may pass from the outline, in spacings. A circle of radius r keeps
/// chords of one spacing down to r = 1.6 spacings; smaller features get shorter chords.
const CHORD: f64 = 0.08;

/// Lattice points nearer to the outline than this many spacings are left out: nearer ones would make flat triangles
/// or push the refinement to split the outline.
const CLEARANCE: f64 = 0.62;

/// Least angle, degrees. Above about 30 the refinement need not end; 25 leaves a lattice near a smooth outline alone.
const LEAST_ANGLE: f64 = 25.0;

/// Points that narrow features may add, at most; what is left then stays as it is. A hairline of 1:1000 needs 4000.
const MOST_ADDED: usize = 50_000;

impl Mesh {
    /// From points and triangles; finds the boundary.
    pub fn new(points: Vec<Point>, triangles: Vec<[u32; 3]>) -> Self {
        let mut boundary = vec![false; points.len()];
        for [a, b] in boundary_edges(&triangles, points.len()) {
            boundary[a as usize] = true;
            boundary[b as usize] = true;
        }
        Self { points, triangles, boundary }
    }

    /// Area of a triangle, mm².
    pub fn area_of(&self, triangle: [u32; 3]) -> f64 {
        let [a, b, c] = triangle.map(|v| self.points[v as usize]);
        (b - a).cross(c - a) / 2.0
    }

    /// Area of all triangles, mm².
    pub fn area(&self) -> f64 {
        self.triangles.iter().map(|&t| self.area_of(t)).sum()
    }

    /// The pieces that hang together by edges, each with its own points; `.1` gives each one's
    /// points as indices into this mesh. Points at which two pieces only touch are doubled.
    pub fn split(&self) -> Vec<(Self, Vec<u32>)> {
        let label = components(&self.triangles, self.points.len());
        let count = label.iter().max().map_or(0, |&most| most + 1);
        let mut parts = vec![Vec::new(); count];
        for (&triangle, &l) in self.triangles.iter().zip(&label) {
            parts[l].push(triangle);
        }
        // The place of each point in the part at hand.
        let mut place = vec![u32::MAX; self.points.len()];
        let part = |mut triangles: Vec<[u32; 3]>| {
            let mut old: Vec<u32> = Vec::new();
            for v in triangles.iter_mut().flatten() {
                let p = &mut place[*v as usize];
                if *p == u32::MAX {
                    *p = old.len() as u32;
                    old.push(*v);
                }
                *v = *p;
            }
            for &v in &old {
                place[v as usize] = u32::MAX;
            }
            (Self::new(old.iter().map(|&v| self.points[v as usize]).collect(), triangles), old)
        };
        parts.into_iter().map(part).collect()
    }
}

/// The spacing at which an area falls into about this many triangles, mm.
pub fn spacing_for(area: f64, triangles: f64) -> f64 {
    // An equilateral triangle of side h has the area √3/4 h².
    (area / triangles * 4.0 / 3f64.sqrt()).sqrt()
}

/// Triangles of about `spacing` mm that cover `region`, whose rings must not cross; smaller ones round notches.
/// Along its slits (see [`slit`]) the mesh is open: each of their points but the tip is there once for each lip.
///
/// # Errors
/// [`Trouble::Outline`] where the region has no area, or its rings cross.
pub fn triangulate<W: World>(region: &Region<W>, spacing: f64) -> Result<Mesh, Trouble> {
    if !(spacing > 0.0 && region.area() > 0.0) {
        return Err(Trouble::Outline("it has no area"));
    }
    let (rings, slits) = slit::told_apart(region);
    let rings: Vec<Polyline> = rings.into_iter().map(|ring| without_repeats(ring, spacing)).collect();
    let sizes = Sizes::new(&rings, &slits, spacing);
    let slits: Vec<Polyline> = slits.iter().map(|line| Spread::new(line, &sizes, 1.0).whole()).collect();
    // Coarse chords may cross where a feature is far narrower than the spacing: follow it more closely then.
    for closer in [1.0, 0.1, 0.0] {
        let rings: Vec<Polyline> = rings.iter().map(|ring| sampled(ring, &slits, &sizes, closer)).collect();
        if let Some(mesh) = delaunay(&rings, &slits, &sizes) {
            return Ok(mesh);
        }
    }
    Err(Trouble::Outline("its edges cross"))
}

/// How large triangles should be where. Strain has no limit at a notch (a corner that the film lies
/// round); small triangles there keep its error from spreading.
struct Sizes {
    spacing: f64,
    notches: Vec<Point>,
    /// Halvings of the spacing at a notch.
    levels: i32,
}

/// Size per distance from a notch.
const GRADE: f64 = 0.5;

/// Halvings of the spacing at a notch: each lowers the error there by a half to a third and adds some 30 triangles.
const NOTCH_LEVELS: usize = 4;

/// Halvings over all notches, at most: an outline with many (lettering) is not to drown in small triangles.
const MOST_HALVINGS: usize = 100;

impl Sizes {
    fn new(rings: &[Polyline], slits: &[Polyline], spacing: f64) -> Self {
        let notches: Vec<Point> = rings
            .iter()
            .flat_map(|ring| (0..ring.len()).filter(|&k| turn(ring, k) < -CORNER).map(|k| ring[k]))
            .chain(slits.iter().filter_map(|line| line.last().copied()))
            .collect();
        let levels = NOTCH_LEVELS.min(MOST_HALVINGS / notches.len().max(1)) as i32;
        Self { spacing, notches, levels }
    }

    fn at(&self, p: Point) -> f64 {
        if self.levels == 0 {
            return self.spacing;
        }
        let near = self.notches.iter().map(|&c| (p - c).square_length()).fold(f64::INFINITY, f64::min);
        (GRADE * near.sqrt()).clamp(self.of(self.levels), self.spacing)
    }

    /// Spacing of a lattice.
    fn of(&self, level: i32) -> f64 {
        self.spacing / f64::from(1 << level)
    }

    /// The lattice whose spacing comes nearest to the size here.
    fn level(&self, p: Point) -> i32 {
        if self.levels == 0 { 0 } else { libm::round(libm::log2(self.spacing / self.at(p))) as i32 }
    }

    /// Stretches of the line at height y on which lattice points of a level can lie, from left to right.
    fn stretches(&self, level: i32, y: f64) -> Vec<[f64; 2]> {
        if level == 0 {
            return vec![[f64::NEG_INFINITY, f64::INFINITY]];
        }
        let reach = 2f64.sqrt() * self.of(level) / GRADE;
        let chord = |c: &Point| {
            let half = (reach * reach - (y - c.y) * (y - c.y)).max(0.0).sqrt();
            (half > 0.0).then_some([c.x - half, c.x + half])
        };
        let mut chords: Vec<[f64; 2]> = self.notches.iter().filter_map(chord).collect();
        chords.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let mut out: Vec<[f64; 2]> = Vec::new();
        for [from, to] in chords {
            match out.last_mut() {
                Some(last) if from <= last[1] => last[1] = last[1].max(to),
                _ => out.push([from, to]),
            }
        }
        out
    }
}

/// How far the walk turns at a point of a ring, counter-clockwise positive.
fn turn(ring: &[Point], k: usize) -> f64 {
    let n = ring.len();
    let (before, here, after) = (ring[(k + n - 1) % n], ring[k], ring[(k + 1) % n]);
    (here - before).angle_to(after - here).radians
}

/// Points along a ring, as far apart as the sizes ask, chords within `closer` times the usual distance of it;
/// the mouths of slits are among them.
fn sampled(ring: &[Point], slits: &[Polyline], sizes: &Sizes, closer: f64) -> Polyline {
    let n = ring.len();
    if n < 3 {
        return Vec::new();
    }
    let mouth = |p: Point| slits.iter().any(|line| line[0] == p);
    let mut stops: Vec<usize> = (0..n).filter(|&k| turn(ring, k).abs() > CORNER || mouth(ring[k])).collect();
    if stops.is_empty() {
        // A smooth ring: four stops keep any ring from collapsing.
        stops = (0..4).map(|k| k * n / 4).collect();
        stops.dedup();
    }
    let mut out = Vec::new();
    for (k, &from) in stops.iter().enumerate() {
        let to = stops[(k + 1) % stops.len()];
        let count = if to > from { to - from } else { to + n - from };
        let stretch: Polyline = (0..=count).map(|i| ring[(from + i) % n]).collect();
        Spread::new(&stretch, sizes, closer).put(&mut out);
    }
    out
}

/// The ring without points that repeat their neighbour.
fn without_repeats(ring: &[Point], spacing: f64) -> Polyline {
    let least = 1e-7 * spacing;
    let mut out: Polyline = Vec::with_capacity(ring.len());
    for &p in ring {
        if out.last().is_none_or(|&last| (p - last).length() > least) {
            out.push(p);
        }
    }
    while out.len() > 1 && (out[0] - out[out.len() - 1]).length() <= least {
        out.pop();
    }
    out
}

/// A stretch of outline on which points are spread.
struct Spread<'a> {
    stretch: &'a [Point],
    /// Length up to each point.
    lengths: Vec<f64>,
    sizes: &'a Sizes,
    chord: f64,
}

impl<'a> Spread<'a> {
    fn new(stretch: &'a [Point], sizes: &'a Sizes, closer: f64) -> Self {
        let mut lengths = vec![0.0];
        for pair in stretch.windows(2) {
            lengths.push(lengths[lengths.len() - 1] + (pair[1] - pair[0]).length());
        }
        Self { stretch, lengths, sizes, chord: CHORD * sizes.spacing * closer }
    }

    /// Points from one end of the stretch to the other.
    fn whole(&self) -> Polyline {
        let mut out = Vec::new();
        self.put(&mut out);
        out.extend(self.stretch.last());
        out
    }

    /// Puts points on `out`, the end of the stretch left out.
    fn put(&self, out: &mut Polyline) {
        let total = self.lengths[self.lengths.len() - 1];
        let pieces = (total / self.sizes.spacing).round().max(1.0);
        for k in 0..pieces as usize {
            self.halve([k, k + 1].map(|k| total * k as f64 / pieces), out);
        }
    }

    /// The start of the stretch between two lengths, and more where the chord is too long or passes too far from the outline.
    fn halve(&self, [from, to]: [f64; 2], out: &mut Polyline) {
        let (a, b) = (self.at(from), self.at(to));
        let first = self.lengths.partition_point(|&l| l <= from);
        let between = first..self.lengths.partition_point(|&l| l < to).max(first);
        let miss = |k: usize| distance_to_segment(self.stretch[k], a, b);
        let middle = (from + to) / 2.0;
        let long = to - from > 1.5 * self.sizes.at(self.at(middle));
        if !long && between.clone().all(|k| miss(k) <= self.chord) {
            out.push(a);
            return;
        }
        // Halving ends: a stretch of one edge misses nothing. A lone point between is taken as it is.
        let middle = if between.len() == 1 && !long { self.lengths[first] } else { middle };
        self.halve([from, middle], out);
        self.halve([middle, to], out);
    }

    fn at(&self, length: f64) -> Point {
        let k = self.lengths.partition_point(|&l| l < length).clamp(1, self.stretch.len() - 1);
        let share = (length - self.lengths[k - 1]) / (self.lengths[k] - self.lengths[k - 1]);
        self.stretch[k - 1].lerp(self.stretch[k], share.clamp(0.0, 1.0))
    }
}

#[derive(Clone, Copy)]
struct Site(Point);

impl HasPosition for Site {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        // spade refuses numbers that are not 0 and smaller than this.
        let flush = |v: f64| if v.abs() < spade::MIN_ALLOWED_VALUE { 0.0 } else { v };
        Point2::new(flush(self.0.x), flush(self.0.y))
    }
}

impl From<Point2<f64>> for Site {
    fn from(p: Point2<f64>) -> Self {
        Self(point(p.x, p.y))
    }
}

/// `None` where two edges cross.
fn delaunay(rings: &[Polyline], slits: &[Polyline], sizes: &Sizes) -> Option<Mesh> {
    let spacing = sizes.spacing;
    let mut sites: Vec<Site> = Vec::new();
    let mut edges = Vec::new();
    for ring in rings.iter().filter(|ring| ring.len() >= 3) {
        let first = sites.len();
        sites.extend(ring.iter().map(|&p| Site(p)));
        edges.extend((0..ring.len()).map(|k| [first + k, first + (k + 1) % ring.len()]));
    }
    if edges.is_empty() {
        return None;
    }
    // A slit's mouth is a point of the outline already.
    let outlined = sites.len();
    let mut runs: Vec<Vec<usize>> = Vec::new();
    for line in slits {
        let mouth = (0..outlined).find(|&k| sites[k].0 == line[0])?;
        runs.push(std::iter::once(mouth).chain(sites.len()..sites.len() + line.len() - 1).collect());
        sites.extend(line[1..].iter().map(|&p| Site(p)));
    }
    let barriers: Vec<Polyline> =
        rings.iter().cloned().chain(slits.iter().map(|line| there_and_back(line))).collect();
    for level in 0..=sizes.levels {
        sites.extend(lattice(&barriers, sizes, level).into_iter().map(Site));
    }
    let mut crossed = false;
    let mut cdt: ConstrainedDelaunayTriangulation<Site> =
        ConstrainedDelaunayTriangulation::try_bulk_load_cdt(sites, edges, |_| crossed = true).ok()?;
    if crossed {
        return None;
    }
    let result = cdt.refine(
        RefinementParameters::new()
            .exclude_outer_faces(true)
            .with_angle_limit(AngleLimit::from_deg(LEAST_ANGLE))
            // In the tip of a sharp corner the refinement would never end.
            .with_min_required_area(1e-5 * spacing * spacing)
            .with_max_additional_vertices(MOST_ADDED),
    );
    let outside: BTreeSet<usize> = result.excluded_faces.iter().map(|face| face.index()).collect();
    // Not before the refinement, which takes what lies behind a constraint for outside. The lattice keeps so clear
    // of slits that most of their edges are there already.
    let mut cut: BTreeSet<[usize; 2]> = BTreeSet::new();
    for run in &runs {
        for pair in run.windows(2) {
            let [from, to] = [pair[0], pair[1]].map(spade::handles::FixedVertexHandle::from_index);
            let joined = cdt.try_add_constraint(from, to);
            if joined.is_empty() {
                return None;
            }
            let ends = |edge| cdt.directed_edge(edge).vertices().map(|v| v.fix().index());
            cut.extend(joined.into_iter().map(ends).map(|[a, b]| [a.min(b), a.max(b)]));
        }
    }
    let inner = cdt.inner_faces().filter(|face| !outside.contains(&face.fix().index()));
    let faces: Vec<[u32; 3]> = inner.map(|face| face.vertices().map(|v| v.fix().index() as u32)).collect();
    let mut used = vec![u32::MAX; cdt.num_vertices()];
    let mut points = Vec::new();
    let triangles = faces.iter().map(|face| {
        face.map(|v| {
            if used[v as usize] == u32::MAX {
                used[v as usize] = points.len() as u32;
                let p = cdt.vertex(spade::handles::FixedVertexHandle::from_index(v as usize)).position();
                points.push(point(p.x, p.y));
            }
            used[v as usize]
        })
    });
    let triangles: Vec<[u32; 3]> = triangles.collect();
    if slits.is_empty() {
        return Some(Mesh::new(points, triangles));
    }
    let sorted = |[a, b]: [u32; 2]| [a.min(b), a.max(b)];
    let cut = cut.into_iter().map(|edge| sorted(edge.map(|v| used[v]))).collect();
    let (points, triangles, _) = slit::unzipped(points, triangles, &cut);
    Some(Mesh::new(points, triangles))
}

/// Equilateral lattice points inside the rings and clear of them, where this lattice is the one to use.
fn lattice(rings: &[Polyline], sizes: &Sizes, level: i32) -> Vec<Point> {
    let spacing = sizes.of(level);
    let edges: Vec<(Point, Point)> = rings
        .iter()
        .flat_map(|ring| ring.iter().copied().zip(ring.iter().copied().cycle().skip(1)))
        .collect();
    let rise = spacing * 3f64.sqrt() / 2.0;
    let row_of = |y: f64| (y / rise).floor() as i64;
    // Edges by the rows they come near, so that each row looks at its own only.
    let mut rows: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
    let reach = CLEARANCE * spacing;
    for (k, (a, b)) in edges.iter().enumerate() {
        for row in row_of(a.y.min(b.y) - reach)..=row_of(a.y.max(b.y) + reach) + 1 {
            rows.entry(row).or_default().push(k);
        }
    }
    let mut out = Vec::new();
    for (&row, near) in &rows {
        let y = row as f64 * rise;
        let shift = if row.rem_euclid(2) == 1 { 0.5 } else { 0.0 };
        let mut barred: Vec<[f64; 2]> = near.iter().filter_map(|&k| shadow(edges[k], y, reach)).collect();
        barred.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let mut open = barred.iter().peekable();
        let mut covered = f64::NEG_INFINITY;
        for [from, to] in overlaps(&crossings(&edges, near, y), &sizes.stretches(level, y)) {
            let first = (from / spacing - shift).ceil() as i64;
            let last = (to / spacing - shift).floor() as i64;
            for column in first..=last {
                let p = point((column as f64 + shift) * spacing, y);
                while let Some(bar) = open.next_if(|bar| bar[0] <= p.x) {
                    covered = covered.max(bar[1]);
                }
                if p.x > covered && sizes.level(p) == level {
                    out.push(p);
                }
            }
        }
    }
    out
}

/// What lies both between the first and second, third and fourth … crossing and in one of the stretches.
fn overlaps(crossings: &[f64], stretches: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut out = Vec::new();
    for pair in crossings.chunks_exact(2) {
        for stretch in stretches {
            let both = [pair[0].max(stretch[0]), pair[1].min(stretch[1])];
            if both[0] <= both[1] {
                out.push(both);
            }
        }
    }
    out
}

/// Where the level y meets the edges, from left to right: in, out, in, out.
fn crossings(edges: &[(Point, Point)], near: &[usize], y: f64) -> Vec<f64> {
    let meets = near.iter().map(|&k| edges[k]).filter(|(a, b)| (a.y <= y) != (b.y <= y));
    let mut out: Vec<f64> = meets.map(|(a, b)| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x)).collect();
    out.sort_by(f64::total_cmp);
    out
}

/// The stretch of the level y that lies within `reach` of an edge: that of its ends and of the band along it.
fn shadow((a, b): (Point, Point), y: f64, reach: f64) -> Option<[f64; 2]> {
    let disc = |c: Point| {
        let half = reach * reach - (y - c.y) * (y - c.y);
        (half > 0.0).then(|| [c.x - half.sqrt(), c.x + half.sqrt()])
    };
    let along = b - a;
    let normal = Vector::new(-along.y, along.x) * (reach / along.length());
    let corners = [a + normal, b + normal, b - normal, a - normal];
    let band = (0..4).filter_map(|k| {
        let (p, q) = (corners[k], corners[(k + 1) % 4]);
        ((p.y <= y) != (q.y <= y)).then(|| p.x + (y - p.y) / (q.y - p.y) * (q.x - p.x))
    });
    let ends = [disc(a), disc(b)].into_iter().flatten().flatten();
    let all: Vec<f64> = band.chain(ends).collect();
    let least = all.iter().copied().fold(f64::INFINITY, f64::min);
    (!all.is_empty()).then(|| [least, all.iter().copied().fold(f64::NEG_INFINITY, f64::max)])
}

/// Edges that belong to one triangle only, as that triangle walks them; between points of so many.
pub fn boundary_edges(triangles: &[[u32; 3]], points: usize) -> Vec<[u32; 2]> {
    let walked = triangles.iter().flat_map(|&[a, b, c]| [[a, b], [b, c], [c, a]]);
    let edges: Vec<Side<[u32; 2]>> = walked.map(|[a, b]| (ends(a, b), [a, b])).collect();
    let edges = in_order(&edges, points);
    edges.chunk_by(|one, two| one.0 == two.0).filter(|same| same.len() == 1).map(|same| same[0].1).collect()
}

/// For each triangle the number of the piece that it hangs together with by edges, from 0 up.
fn components(triangles: &[[u32; 3]], points: usize) -> Vec<usize> {
    let mut sides: Vec<Side<usize>> = Vec::with_capacity(triangles.len() * 3);
    for (t, &[a, b, c]) in triangles.iter().enumerate() {
        sides.extend([[a, b], [b, c], [c, a]].map(|[a, b]| (ends(a, b), t)));
    }
    let mut neighbours = vec![Vec::new(); triangles.len()];
    for same in in_order(&sides, points).chunk_by(|one, two| one.0 == two.0) {
        for pair in same.windows(2) {
            neighbours[pair[0].1].push(pair[1].1);
            neighbours[pair[1].1].push(pair[0].1);
        }
    }
    let mut label = vec![usize::MAX; triangles.len()];
    let mut count = 0;
    for seed in 0..triangles.len() {
        if label[seed] != usize::MAX {
            continue;
        }
        let mut open = vec![seed];
        label[seed] = count;
        while let Some(t) = open.pop() {
            for &n in &neighbours[t] {
                if label[n] == usize::MAX {
                    label[n] = count;
                    open.push(n);
                }
            }
        }
        count += 1;
    }
    label
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::Outline;
    use crate::units::Full;
    use std::f64::consts::PI;

    fn least_angle(mesh: &Mesh) -> f64 {
        let angle = |t: &[u32; 3], k: usize| {
            let [a, b, c] = [0, 1, 2].map(|i| mesh.points[t[(k + i) % 3] as usize]);
            (b - a).angle_to(c - a).to_degrees()
        };
        mesh.triangles.iter().flat_map(|t| (0..3).map(move |k| angle(t, k))).fold(180.0, f64::min)
    }

    #[test]
    fn a_disc_gets_near_equilateral_triangles_of_the_asked_number() {
        let disc: Region<Full> = Outline::circle(point(0.0, 0.0), 10.0).flattened(1e-4);
        for wanted in [100.0, 1000.0, 10_000.0] {
            let mesh = triangulate(&disc, spacing_for(disc.area(), wanted)).unwrap();
            let got = mesh.triangles.len() as f64;
            assert!((0.8..1.2).contains(&(got / wanted)), "{got} for {wanted}");
            assert!(least_angle(&mesh) > 24.9, "{}", least_angle(&mesh));
            assert!(mesh.triangles.iter().all(|&t| mesh.area_of(t) > 0.0));
            // A polygon of n chords inscribed in a circle has (n/2π) sin(2π/n) of its area.
            let n = mesh.boundary.iter().filter(|&&b| b).count() as f64;
            let inscribed = n / (2.0 * PI) * libm::sin(2.0 * PI / n) * disc.area();
            assert!((mesh.area() / inscribed - 1.0).abs() < 2e-4);
        }
    }

    #[test]
    fn straight_outlines_keep_their_area_holes_and_pieces() {
        let mut rings = Outline::<Full>::rectangle(point(1.0, 2.0), 30.0, 12.0);
        rings.extend(&Outline::rectangle(point(1.0, 2.0), 20.0, 0.3).mirrored().moved(Vector::new(2.0, 0.0)));
        let mut region = rings.flattened(0.1);
        region.rings[1].reverse();
        let area = region.area();
        region.rings.extend(Outline::<Full>::rectangle(point(50.0, 0.0), 0.2, 12.0).flattened(0.1).rings);
        let mesh = triangulate(&region, 1.5).unwrap();
        assert!((mesh.area() - (area + 2.4)).abs() < 1e-9, "{} {}", mesh.area(), area);
        assert!(least_angle(&mesh) > 20.0, "{}", least_angle(&mesh));
        let parts = mesh.split();
        assert_eq!(parts.len(), 2);
        assert!((parts.iter().map(|(part, _)| part.area()).sum::<f64>() - mesh.area()).abs() < 1e-9);
    }

    #[test]
    fn notches_get_smaller_triangles_and_tips_do_not() {
        let corner = |k: usize| {
            let (sin, cos) = libm::sincos(PI / 5.0 * k as f64);
            point(cos, sin) * if k.is_multiple_of(2) { 10.0 } else { 3.819_66 }
        };
        let star: Region<Full> = Region::new(vec![(0..10).map(corner).collect()]);
        let mesh = triangulate(&star, 1.0).unwrap();
        let shortest = |at: Point| {
            let k = mesh.points.iter().position(|p| (*p - at).length() < 1e-9).unwrap() as u32;
            let edges = mesh.triangles.iter().filter(|t| t.contains(&k)).flat_map(|t| t.iter());
            edges.filter(|&&v| v != k).map(|&v| (mesh.points[v as usize] - at).length()).fold(9.0, f64::min)
        };
        assert!(
            shortest(corner(1)) < 0.2 && shortest(corner(0)) > 0.5,
            "{} {}",
            shortest(corner(1)),
            shortest(corner(0))
        );
        assert!(mesh.triangles.len() < 1500, "{}", mesh.triangles.len());
        assert!((mesh.area() - star.area()).abs() < 1e-9 && least_angle(&mesh) > 20.0);
    }

    #[test]
    fn thin_curved_strokes_are_followed() {
        // A ring a hundredth of the spacing wide: its two sides must not be sampled across each other.
        let ring: Region<Full> = Outline::ring(point(0.0, 0.0), 9.9, 10.0).flattened(1e-4);
        let mesh = triangulate(&ring, 4.0).unwrap();
        assert!((mesh.area() / ring.area() - 1.0).abs() < 0.03, "{} {}", mesh.area(), ring.area());
        assert!(least_angle(&mesh) > 20.0, "{}", least_angle(&mesh));
    }

    #[test]
    fn nothing_and_crossed_rings_are_refused() {
        assert!(triangulate(&Region::<Full>::empty(), 1.0).is_err());
        let bow = [point(0.0, 0.0), point(4.0, 4.0), point(4.0, 0.0), point(0.0, 5.0)];
        assert!(triangulate(&Region::<Full>::new(vec![bow.to_vec()]), 1.0).is_err());
    }
}
