//! Film as a net: nodes on the part, flat triangles between them.
//!
//! Two points of the flat piece may share one node: so the ends of a closed band
//! meet. Everything that does not change while the film settles is worked out
//! here once.

use super::Trouble;
use super::energy::Rest;
use super::mesh::Mesh;
use super::sides::{Side, ends, in_order};

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
    let of = |(t, &[a, b, c]): (usize, &[u32; 3])| {
        [ends(b, c), ends(c, a), ends(a, b)].into_iter().zip([0, 1, 2]).map(move |(ends, k)| (ends, (t, k)))
    };
    let sides: Vec<Side<(usize, usize)>> = triangles.iter().enumerate().flat_map(of).collect();
    let (mut edges, mut numbered) = (Vec::new(), vec![[0; 3]; triangles.len()]);
    for same in in_order(&sides, nodes).chunk_by(|one, two| one.0 == two.0) {
        for &(_, (t, k)) in same {
            numbered[t][k] = edges.len() as u32;
        }
        edges.push(same[0].0);
    }
    (edges, numbered)
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
