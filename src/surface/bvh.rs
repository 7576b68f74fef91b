//! Boxes in a tree, in flat arrays: what lies nearest, what a ray meets first.
//!
//! Knows only boxes; distances to what is in them are the caller's. Children
//! are visited nearest first and left out when their box is farther than the
//! best found so far. Split at the median along the longest side: simple, the
//! same on every machine, and a million boxes take under a second to sort.

use glam::DVec3;
use std::cell::Cell;

/// Boxes to a leaf: four triangles are tested in about the time of one more split.
const LEAF: usize = 4;

/// A box: least and greatest corner.
pub type Extent = [DVec3; 2];

#[derive(Clone, Debug)]
struct Node {
    extent: Extent,
    /// For a leaf the first of its items, else the index of the second child; the first child is the next node.
    start: u32,
    /// Items in a leaf, 0 for a fork.
    count: u32,
}

/// A tree over boxes, which go by their index.
#[derive(Clone, Debug, Default)]
pub struct Bvh {
    nodes: Vec<Node>,
    items: Vec<u32>,
}

impl Bvh {
    /// A tree over at most `u32::MAX` boxes.
    pub fn new(boxes: &[Extent]) -> Self {
        let mut tree = Self { nodes: Vec::new(), items: (0..boxes.len() as u32).collect() };
        let centres: Vec<DVec3> = boxes.iter().map(|[low, high]| (*low + *high) * 0.5).collect();
        let mut items = std::mem::take(&mut tree.items);
        if !items.is_empty() {
            tree.split(boxes, &centres, &mut items, 0);
        }
        tree.items = items;
        tree
    }

    fn split(&mut self, boxes: &[Extent], centres: &[DVec3], items: &mut [u32], start: usize) {
        let extent = items.iter().map(|&i| boxes[i as usize]).fold(EMPTY, united);
        let node = self.nodes.len();
        self.nodes.push(Node { extent, start: start as u32, count: items.len() as u32 });
        if items.len() <= LEAF {
            return;
        }
        let spread = items.iter().map(|&i| [centres[i as usize]; 2]).fold(EMPTY, united);
        let size = spread[1] - spread[0];
        let axis = if size.x >= size.y.max(size.z) {
            0
        } else if size.y >= size.z {
            1
        } else {
            2
        };
        let middle = items.len() / 2;
        items.select_nth_unstable_by(middle, |&a, &b| {
            centres[a as usize][axis].total_cmp(&centres[b as usize][axis]).then(a.cmp(&b))
        });
        let (left, right) = items.split_at_mut(middle);
        self.split(boxes, centres, left, start);
        self.nodes[node].start = self.nodes.len() as u32;
        self.nodes[node].count = 0;
        self.split(boxes, centres, right, start + middle);
    }

    /// Calls `visit` with items whose box lies nearer to `p` than the root of `best`, a square;
    /// `visit` returns the best square distance after it. About nearest first.
    pub fn nearest(&self, p: DVec3, best: f64, mut visit: impl FnMut(usize, f64) -> f64) {
        let away = |node: usize| square_distance(p, &self.nodes[node].extent);
        let best = Cell::new(best);
        self.walk(away, |bound| bound < best.get(), |item| best.set(visit(item, best.get())));
    }

    /// Calls `visit` with items whose box the ray meets at a parameter below `limit`;
    /// `visit` returns the limit after it. About nearest first.
    pub fn along(
        &self,
        origin: DVec3,
        direction: DVec3,
        limit: f64,
        mut visit: impl FnMut(usize, f64) -> f64,
    ) {
        let inverse = direction.recip();
        let entry = |node: usize| ray_entry(origin, inverse, &self.nodes[node].extent);
        let limit = Cell::new(limit);
        self.walk(entry, |bound| bound < limit.get(), |item| limit.set(visit(item, limit.get())));
    }

    /// Depth first with the lower `cost` first, into nodes whose cost is still `worth` it.
    fn walk(&self, cost: impl Fn(usize) -> f64, worth: impl Fn(f64) -> bool, mut visit: impl FnMut(usize)) {
        if self.nodes.is_empty() {
            return;
        }
        // Medians halve the count: the depth is at most 32, each level leaves one node behind.
        let mut stack = [(0, 0.0); 64];
        stack[0] = (0, cost(0));
        let mut height = 1;
        while height > 0 {
            height -= 1;
            let (index, bound) = stack[height];
            if !worth(bound) {
                continue;
            }
            let node = &self.nodes[index];
            if node.count > 0 {
                for &item in &self.items[node.start as usize..(node.start + node.count) as usize] {
                    visit(item as usize);
                }
                continue;
            }
            let (one, two) = (index + 1, node.start as usize);
            let (near, far) = ((one, cost(one)), (two, cost(two)));
            let (near, far) = if near.1 <= far.1 { (near, far) } else { (far, near) };
            stack[height] = far;
            stack[height + 1] = near;
            height += 2;
        }
    }
}

/// The box of nothing.
pub const EMPTY: Extent = [DVec3::INFINITY, DVec3::NEG_INFINITY];

/// The box round two boxes.
pub fn united(a: Extent, b: Extent) -> Extent {
    [a[0].min(b[0]), a[1].max(b[1])]
}

/// The box round points.
pub fn around_points(points: impl IntoIterator<Item = DVec3>) -> Extent {
    points.into_iter().map(|p| [p, p]).fold(EMPTY, united)
}

fn square_distance(p: DVec3, extent: &Extent) -> f64 {
    (p - p.clamp(extent[0], extent[1])).length_squared()
}

/// Where a ray enters a box (0 when it starts inside); infinity when it misses.
/// The slab test of Kay and Kajiya, 1986; a lane that is 0/0 is no obstacle.
fn ray_entry(origin: DVec3, inverse: DVec3, extent: &Extent) -> f64 {
    let (mut enter, mut leave) = (0.0_f64, f64::INFINITY);
    for axis in 0..3 {
        let a = (extent[0][axis] - origin[axis]) * inverse[axis];
        let b = (extent[1][axis] - origin[axis]) * inverse[axis];
        // A ray that runs in the plane of a face is not shut out by it.
        if a.is_nan() || b.is_nan() {
            continue;
        }
        enter = enter.max(a.min(b));
        leave = leave.min(a.max(b));
    }
    if enter <= leave { enter } else { f64::INFINITY }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn vector() -> impl Strategy<Value = DVec3> {
        prop::array::uniform3(-9.0..9.0).prop_map(DVec3::from_array)
    }

    proptest! {
        #[test]
        fn finds_what_a_plain_search_finds(centres in prop::collection::vec(vector(), 1..80), p in vector(), d in vector()) {
            let boxes: Vec<Extent> = centres.iter().map(|&c| [c - DVec3::splat(0.3), c + DVec3::splat(0.3)]).collect();
            let tree = Bvh::new(&boxes);
            let plain = boxes.iter().map(|b| square_distance(p, b)).fold(f64::INFINITY, f64::min);
            let mut found = f64::INFINITY;
            tree.nearest(p, f64::INFINITY, |i, best| { found = best.min(square_distance(p, &boxes[i])); found });
            prop_assert_eq!(found, plain);

            let plain = boxes.iter().map(|b| ray_entry(p, d.recip(), b)).fold(f64::INFINITY, f64::min);
            let mut found = f64::INFINITY;
            tree.along(p, d, f64::INFINITY, |i, best| { found = best.min(ray_entry(p, d.recip(), &boxes[i])); found });
            prop_assert_eq!(found, plain);
        }
    }
}
