//! Film as a net: nodes on the part, flat triangles between them.
//!
//! Two points of the flat piece may share one node: so the ends of a closed band
//! meet. Everything that does not change while the film settles is worked out
//! here once.

use super::Trouble;
use super::energy::Rest;
use super::mesh::Mesh;

/// Who is joined to whom, and the flat shape of every triangle.
#[derive(Debug)]
pub struct Net {
    pub nodes: usize,
    /// Each pair of joined nodes once, the lower first, sorted.
    pub edges: Vec<[u32; 2]>,
    pub triangles: Vec<Triangle>,
}

/// A triangle of film.
#[derive(Clone, Copy, Debug)]
pub struct Triangle {
    pub nodes: [u32; 3],
    /// Its edges, numbered by the corner across.
    pub edges: [u32; 3],
    pub rest: Rest,
}

impl Net {
    /// `node[p]` is the node under flat point p.
    ///
    /// # Errors
    /// [`Trouble::Outline`] for a triangle that is flipped or has no area.
    pub fn new(mesh: &Mesh, node: &[u32]) -> Result<Self, Trouble> {
        let nodes = node.iter().max().map_or(0, |&most| most as usize + 1);
        let corners: Vec<[u32; 3]> = mesh.triangles.iter().map(|t| t.map(|p| node[p as usize])).collect();
        let (edges, sides) = joined(&corners, nodes);
        let triangle = |((&nodes, &edges), &flat): ((&[u32; 3], &[u32; 3]), &[u32; 3])| {
            Ok(Triangle { nodes, edges, rest: rest(mesh, flat)? })
        };
        let triangles =
            corners.iter().zip(&sides).zip(&mesh.triangles).map(triangle).collect::<Result<_, Trouble>>()?;
        Ok(Self { nodes, edges, triangles })
    }

    /// Takes the flat shape of another mesh with the same triangles.
    ///
    /// # Errors
    /// [`Trouble::Outline`] for a triangle that is flipped or has no area.
    pub fn reshape(&mut self, mesh: &Mesh) -> Result<(), Trouble> {
        for (triangle, &flat) in self.triangles.iter_mut().zip(&mesh.triangles) {
            triangle.rest = rest(mesh, flat)?;
        }
        Ok(())
    }

    /// Flat area, mm².
    pub fn area(&self) -> f64 {
        self.triangles.iter().map(|t| t.rest.area).sum()
    }
}

/// All pairs of joined nodes, each once, the lower first, sorted; and each triangle's three, numbered by the corner across.
pub fn joined(triangles: &[[u32; 3]], nodes: usize) -> (Vec<[u32; 2]>, Vec<[u32; 3]>) {
    let sides = |&[a, b, c]: &[u32; 3]| [[b, c], [c, a], [a, b]].map(|[p, q]| [p.min(q), p.max(q)]);
    let mut edges: Vec<[u32; 2]> = triangles.iter().flat_map(sides).collect();
    edges.sort_unstable();
    edges.dedup();
    let starts = starts(&edges, nodes);
    let find = |[low, high]: [u32; 2]| {
        let own = starts[low as usize]..starts[low as usize + 1];
        let place = edges[own.clone()].binary_search_by_key(&high, |edge| edge[1]);
        (own.start + place.expect("every side was put on the list")) as u32
    };
    let numbered = triangles.iter().map(|t| sides(t).map(find)).collect();
    (edges, numbered)
}

/// Where the edges of each lower node begin, with the end at the back.
fn starts(edges: &[[u32; 2]], nodes: usize) -> Vec<usize> {
    let mut starts = vec![0; nodes + 1];
    for edge in edges {
        starts[edge[0] as usize + 1] += 1;
    }
    for node in 0..nodes {
        starts[node + 1] += starts[node];
    }
    starts
}

fn rest(mesh: &Mesh, triangle: [u32; 3]) -> Result<Rest, Trouble> {
    let area = mesh.area_of(triangle);
    let p = triangle.map(|v| mesh.points[v as usize]);
    let squares = [p[2] - p[1], p[0] - p[2], p[1] - p[0]].map(|side| side.square_length());
    // A triangle flatter than this has lost half its digits.
    let longest = squares.iter().copied().fold(0.0, f64::max);
    if area > 1e-8 * longest {
        Ok(Rest { squares, area })
    } else {
        Err(Trouble::Outline("a triangle has no area"))
    }
}
