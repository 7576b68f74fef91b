//! From loose triangles to one orientable sheet, and what had to be mended.
//!
//! Corners that meet are made one; triangles without area and doubles are left
//! out; windings are made to agree, then turned so that normals point outward.
//! Holes stay open and edges where more than two triangles meet stay loose:
//! both are counted, none is hidden. Left out: closing holes, cutting triangles
//! that run through each other, telling the inner wall of a hollow print from
//! its outer one.

use super::error::MeshError;
use super::soup::Soup;
use glam::DVec3;

/// No triangle on the other side of an edge.
pub const NONE: u32 = u32::MAX;

/// Corners nearer than this share of the size are one: ten times what single precision loses,
/// a hundredth of the finest print layer on any part.
const WELD: f64 = 1e-6;

/// Corners tried at most when one is welded: only meshes made to be slow have more within the distance.
const WINDOW: usize = 64;

/// A triangle whose double area is below this share of its longest side squared is a line.
const NO_AREA: f64 = 1e-9;

/// What a mesh is like and what was done to it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Facts {
    pub triangles: usize,
    pub corners: usize,
    /// Corners made one with others.
    pub welded: usize,
    /// Triangles left out because they have no area.
    pub without_area: usize,
    /// Triangles left out because they are there twice.
    pub doubles: usize,
    /// Triangles turned over.
    pub flipped: usize,
    /// Pieces that do not hang together.
    pub shells: usize,
    /// Edges with one triangle: the rims of holes and of an open shape.
    pub open_edges: usize,
    /// Edges with more than two triangles; each is treated as a sharp edge.
    pub crowded_edges: usize,
}

impl Facts {
    /// What was left out, turned or is not as on a skin, in words; `None` of a mesh that is sound. Welding is
    /// nothing to tell: a text or binary STL names each corner once a triangle. Nor is a rim.
    pub fn words(&self) -> Option<String> {
        let some = |count: usize, one: &str, many: &str| match count {
            0 => None,
            1 => Some(one.to_owned()),
            _ => Some(format!("{count} {many}")),
        };
        let told = [
            some(
                self.without_area,
                "1 triangle without area is left out",
                "triangles without area are left out",
            ),
            some(
                self.doubles,
                "1 triangle that is there twice is left out",
                "triangles that are there twice are left out",
            ),
            some(self.flipped, "1 triangle is turned over", "triangles are turned over"),
            some(
                self.crowded_edges,
                "1 edge with more than two triangles is taken for a sharp one",
                "edges with more than two triangles are taken for sharp ones",
            ),
        ];
        let told: Vec<String> = told.into_iter().flatten().collect();
        (!told.is_empty()).then(|| told.join("; "))
    }
}

/// Triangles that agree on their outside.
#[derive(Clone, Debug)]
pub struct Sheet {
    pub points: Vec<DVec3>,
    pub triangles: Vec<[u32; 3]>,
    /// For each side, from corner k to the next, the triangle across it, or [`NONE`].
    pub across: Vec<[u32; 3]>,
    /// Sides with one triangle, as against crowded ones, which have no one neighbour either.
    pub open: Vec<[bool; 3]>,
    pub facts: Facts,
}

/// Mends a soup whose corners are finite.
pub fn mend(soup: Soup) -> Result<Sheet, MeshError> {
    let given = soup.points.len();
    let (points, renamed) = weld(&soup.points);
    let mut facts = Facts { corners: points.len(), welded: given - points.len(), ..Facts::default() };
    let mut triangles: Vec<[u32; 3]> =
        soup.triangles.iter().map(|t| t.map(|i| renamed[i as usize])).collect();
    drop(soup);
    let before = triangles.len();
    triangles.retain(|t| has_area(t.map(|i| points[i as usize])));
    facts.without_area = before - triangles.len();
    facts.doubles = drop_doubles(&mut triangles);
    if triangles.is_empty() {
        return Err(MeshError::NothingLeft);
    }
    facts.triangles = triangles.len();
    let (across, open) = neighbours(&triangles, &mut facts);
    let mut sheet = Sheet { points, triangles, across, open, facts };
    orient(&mut sheet)?;
    Ok(sheet)
}

/// Corners that are one, and for each given corner its new name. Sorted along a slanting line, on
/// which corners of ordinary meshes seldom lie side by side, equal ones next to each other.
fn weld(points: &[DVec3]) -> (Vec<DVec3>, Vec<u32>) {
    let [low, high] = super::super::bvh::around_points(points.iter().copied());
    let reach = WELD * (high - low).length();
    let slant = DVec3::new(0.533_1, 0.611_7, 0.584_3);
    let mut order: Vec<(f64, u32)> =
        points.iter().enumerate().map(|(k, p)| (p.dot(slant), k as u32)).collect();
    order.sort_unstable_by(|a, b| {
        let (p, q) = (points[a.1 as usize], points[b.1 as usize]);
        a.0.total_cmp(&b.0)
            .then_with(|| p.x.total_cmp(&q.x))
            .then_with(|| p.y.total_cmp(&q.y))
            .then_with(|| p.z.total_cmp(&q.z))
            .then(a.1.cmp(&b.1))
    });
    let mut kept: Vec<(f64, DVec3)> = Vec::new();
    let mut renamed = vec![0; points.len()];
    for (key, index) in order {
        let p = points[index as usize];
        let near = kept.iter().enumerate().rev().take(WINDOW).take_while(|(_, (k, _))| key - k <= reach);
        let found = near.filter(|(_, (_, q))| (p - *q).length() <= reach).map(|(name, _)| name).next();
        renamed[index as usize] = found.unwrap_or(kept.len()) as u32;
        if found.is_none() {
            kept.push((key, p));
        }
    }
    (kept.into_iter().map(|(_, p)| p).collect(), renamed)
}

fn has_area([a, b, c]: [DVec3; 3]) -> bool {
    let longest = (b - a).length_squared().max((c - b).length_squared()).max((a - c).length_squared());
    (b - a).cross(c - a).length() > NO_AREA * longest
}

/// Leaves one of each set of triangles with the same corners.
fn drop_doubles(triangles: &mut Vec<[u32; 3]>) -> usize {
    let sorted = |mut t: [u32; 3]| {
        t.sort_unstable();
        t
    };
    let mut order: Vec<([u32; 3], u32)> =
        triangles.iter().enumerate().map(|(k, &t)| (sorted(t), k as u32)).collect();
    order.sort_unstable();
    let mut double = vec![false; triangles.len()];
    for pair in order.windows(2).filter(|pair| pair[0].0 == pair[1].0) {
        double[pair[1].1 as usize] = true;
    }
    let mut doubles = double.iter();
    triangles.retain(|_| !doubles.next().copied().unwrap_or(false));
    double.iter().filter(|&&d| d).count()
}

type Sides<T> = Vec<[T; 3]>;

/// The triangle across each side; which sides are open.
fn neighbours(triangles: &[[u32; 3]], facts: &mut Facts) -> (Sides<u32>, Sides<bool>) {
    let mut sides: Vec<(u64, u32)> = Vec::with_capacity(3 * triangles.len());
    for (k, t) in triangles.iter().enumerate() {
        for side in 0..3 {
            let (a, b) = (t[side], t[(side + 1) % 3]);
            let key = u64::from(a.min(b)) << 32 | u64::from(a.max(b));
            sides.push((key, (3 * k + side) as u32));
        }
    }
    sides.sort_unstable();
    let mut across = vec![[NONE; 3]; triangles.len()];
    let mut open = vec![[false; 3]; triangles.len()];
    for edge in sides.chunk_by(|a, b| a.0 == b.0) {
        let place = |k: usize| ((edge[k].1 / 3) as usize, (edge[k].1 % 3) as usize);
        match edge.len() {
            1 => {
                open[place(0).0][place(0).1] = true;
                facts.open_edges += 1;
            }
            2 => {
                let ((f, i), (g, j)) = (place(0), place(1));
                across[f][i] = g as u32;
                across[g][j] = f as u32;
            }
            _ => facts.crowded_edges += 1,
        }
    }
    (across, open)
}

/// Turns triangles over until all of a shell agree and look outward.
fn orient(sheet: &mut Sheet) -> Result<(), MeshError> {
    let count = sheet.triangles.len();
    let mut turned: Vec<Option<bool>> = vec![None; count];
    for seed in 0..count {
        if turned[seed].is_some() {
            continue;
        }
        turned[seed] = Some(false);
        let mut shell = vec![seed];
        let mut next = 0;
        while next < shell.len() {
            let f = shell[next];
            next += 1;
            for side in 0..3 {
                let g = sheet.across[f][side];
                if g == NONE {
                    continue;
                }
                let g = g as usize;
                let wanted = Some((turned[f] == Some(true)) != same_sense(sheet, f, side, g));
                if turned[g].is_none() {
                    turned[g] = wanted;
                    shell.push(g);
                } else if turned[g] != wanted {
                    return Err(MeshError::OneSided { triangle: g });
                }
            }
        }
        sheet.facts.shells += 1;
        if looks_inward(sheet, &shell, &turned) {
            for &f in &shell {
                turned[f] = turned[f].map(|turn| !turn);
            }
        }
    }
    for f in (0..count).filter(|&f| turned[f] == Some(true)) {
        sheet.facts.flipped += 1;
        let ([a, b, c], [ab, bc, ca]) = (sheet.triangles[f], sheet.across[f]);
        let [open_ab, open_bc, open_ca] = sheet.open[f];
        sheet.triangles[f] = [a, c, b];
        sheet.across[f] = [ca, bc, ab];
        sheet.open[f] = [open_ca, open_bc, open_ab];
    }
    Ok(())
}

/// Whether two triangles run along their common side in the same sense, as they must not.
fn same_sense(sheet: &Sheet, f: usize, side: usize, g: usize) -> bool {
    let (a, b) = (sheet.triangles[f][side], sheet.triangles[f][(side + 1) % 3]);
    (0..3).any(|k| sheet.triangles[g][k] == a && sheet.triangles[g][(k + 1) % 3] == b)
}

/// An open shell whose faces look away from its middle by less than this share of what a ball's
/// would is too flat for the question; most of its triangles are then taken to be right.
const FLAT: f64 = 0.05;

/// Whether the shell's normals, once turned as told, point to its middle rather than away.
/// For a closed shell the sum is three times its volume, wherever the middle is taken.
fn looks_inward(sheet: &Sheet, shell: &[usize], turned: &[Option<bool>]) -> bool {
    let corners = |f: usize| sheet.triangles[f].map(|i| sheet.points[i as usize]);
    let (mut area, mut moment) = (0.0, DVec3::ZERO);
    for &f in shell {
        let [a, b, c] = corners(f);
        let size = (b - a).cross(c - a).length();
        area += size;
        moment += (a + b + c) * (size / 3.0);
    }
    let middle = moment / area;
    let (mut flux, mut most, mut over) = (0.0, 0.0, 0);
    for &f in shell {
        let [a, b, c] = corners(f);
        let (cross, arm) = ((b - a).cross(c - a), (a + b + c) / 3.0 - middle);
        let sign = if turned[f] == Some(true) { -1.0 } else { 1.0 };
        flux += sign * cross.dot(arm);
        most += cross.length() * arm.length();
        over += usize::from(turned[f] == Some(true));
    }
    if flux.abs() > FLAT * most { flux < 0.0 } else { 2 * over > shell.len() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cube of side 2 as 12 loose triangles.
    fn cube() -> Soup {
        let corner = |k: u32| DVec3::new(f64::from(k & 1), f64::from(k >> 1 & 1), f64::from(k >> 2)) * 2.0;
        let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        let mut soup = Soup::default();
        for q in quads {
            for t in [[q[0], q[1], q[2]], [q[0], q[2], q[3]]] {
                let n = soup.points.len() as u32;
                soup.points.extend(t.map(corner));
                soup.triangles.push([n, n + 1, n + 2]);
            }
        }
        soup
    }

    fn volume(sheet: &Sheet) -> f64 {
        let six = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|i| sheet.points[i as usize]);
            a.dot(b.cross(c))
        };
        sheet.triangles.iter().map(six).sum::<f64>() / 6.0
    }

    #[test]
    fn a_sound_cube_is_left_alone() {
        let sheet = mend(cube()).unwrap();
        let facts = Facts { triangles: 12, corners: 8, welded: 28, shells: 1, ..Facts::default() };
        assert_eq!(sheet.facts, facts);
        assert_eq!(volume(&sheet), 8.0);
    }

    #[test]
    fn flipped_and_empty_triangles_and_doubles_are_mended_and_counted() {
        let mut soup = cube();
        for k in [1, 4, 9] {
            soup.triangles[k].swap(0, 2);
        }
        // A corner off by a rounding error, a line, a point, a double the wrong way round.
        soup.points[7] += DVec3::splat(1e-7);
        soup.triangles.push([0, 1, 0]);
        soup.triangles.push([3, 3, 3]);
        let [a, b, c] = soup.triangles[5];
        soup.triangles.push([b, a, c]);
        let sheet = mend(soup).unwrap();
        assert_eq!(
            (sheet.facts.flipped, sheet.facts.without_area, sheet.facts.doubles, sheet.facts.corners),
            (3, 2, 1, 8)
        );
        assert!((volume(&sheet) - 8.0).abs() < 1e-5);
        for (f, t) in sheet.triangles.iter().enumerate() {
            for side in 0..3 {
                let other = sheet.triangles[sheet.across[f][side] as usize];
                assert!(other.contains(&t[side]) && other.contains(&t[(side + 1) % 3]));
            }
        }
    }

    #[test]
    fn inside_out_is_turned_and_holes_and_shells_are_counted() {
        let mut soup = cube();
        for t in &mut soup.triangles {
            t.swap(1, 2);
        }
        soup.triangles.pop();
        let far = cube();
        let n = soup.points.len() as u32;
        soup.points.extend(far.points.iter().map(|&p| p + DVec3::X * 9.0));
        soup.triangles.extend(far.triangles.iter().map(|t| t.map(|i| i + n)));
        let facts = mend(soup).unwrap().facts;
        assert_eq!((facts.flipped, facts.shells, facts.open_edges, facts.crowded_edges), (11, 2, 3, 0));
    }

    #[test]
    fn a_fin_on_an_edge_is_crowded() {
        let mut soup = cube();
        let n = soup.points.len() as u32;
        soup.points.extend([DVec3::ZERO, DVec3::X * 2.0, DVec3::new(1.0, -3.0, -3.0)]);
        soup.triangles.push([n, n + 1, n + 2]);
        let facts = mend(soup).unwrap().facts;
        assert_eq!((facts.crowded_edges, facts.open_edges, facts.shells), (1, 2, 2));
    }

    #[test]
    fn a_moebius_strip_has_no_outside() {
        let mut soup = Soup::default();
        for k in 0..=12 {
            let (sin, cos) = libm::sincos(f64::from(k) * std::f64::consts::TAU / 12.0);
            let (s, c) = libm::sincos(f64::from(k) * std::f64::consts::PI / 12.0);
            let across = DVec3::new(cos * c, sin * c, s);
            let middle = DVec3::new(cos, sin, 0.0) * 4.0;
            soup.points.extend([middle - across, middle + across]);
        }
        for k in 0..12 {
            let i = 2 * k;
            soup.triangles.extend([[i, i + 1, i + 3], [i, i + 3, i + 2]]);
        }
        assert!(matches!(mend(soup), Err(MeshError::OneSided { .. })));
        assert_eq!(mend(Soup::default()).unwrap_err(), MeshError::NothingLeft);
    }
}
