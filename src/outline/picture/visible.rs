//! Shapes painted one over another → areas side by side, one for each colour.
//!
//! A colour shows where a shape of it is covered by no later shape of another
//! colour. Shapes of one colour may go on overlapping until the end, when they are
//! joined, so that no hairline is left where one was cut along another. What covers
//! is kept joined in blocks that double in size: each shape takes part in a few
//! joins only, and is cut by what its box meets.

use crate::outline::{Bounds, Polyline, Region};
use crate::units::Full;
use std::collections::BTreeMap;

type Rgb = [u8; 3];

/// Bits smaller than this share of the picture's side squared are left over from rounding.
const CRUMB: f64 = 1e-9;

/// Shapes in the order of painting.
#[derive(Default)]
pub struct Pile {
    /// Neighbours of one colour are one shape.
    shapes: Vec<(Rgb, Vec<Polyline>)>,
}

impl Pile {
    /// Paints a clean region over what is there.
    pub fn put(&mut self, rgb: Rgb, region: Region<Full>) {
        match self.shapes.last_mut() {
            _ if region.is_empty() => {}
            Some((last, rings)) if *last == rgb => rings.extend(region.rings),
            _ => self.shapes.push((rgb, region.rings)),
        }
    }

    /// What shows of each colour, and all that is covered. `side` is the picture's greater one.
    pub fn flattened(self, side: f64) -> (Vec<(Rgb, Region<Full>)>, Region<Full>) {
        let mut order: Vec<Rgb> = Vec::new();
        for (rgb, _) in &self.shapes {
            if !order.contains(rgb) {
                order.push(*rgb);
            }
        }
        let mut covers: BTreeMap<Rgb, Cover> = BTreeMap::new();
        let mut shown: BTreeMap<Rgb, Vec<Polyline>> = BTreeMap::new();
        for (rgb, rings) in self.shapes.into_iter().rev() {
            let bits: Vec<Bit> = Region::new(rings).parts().into_iter().map(Bit::new).collect();
            for bit in &bits {
                let others = covers.iter().filter(|(other, _)| **other != rgb);
                let over: Vec<Polyline> = others.flat_map(|(_, cover)| cover.over(&bit.bounds)).collect();
                let visible =
                    if over.is_empty() { bit.region.clone() } else { bit.region.minus(&Region::new(over)) };
                shown.entry(rgb).or_default().extend(visible.rings);
            }
            covers.entry(rgb).or_default().add(bits);
        }
        let all = covers.into_values().flat_map(Cover::into_rings).collect();
        let area =
            |rgb: Rgb| (rgb, swept(Region::new(shown.remove(&rgb).unwrap_or_default()).cleaned(), side));
        let areas = order.into_iter().map(area).filter(|(_, region)| !region.is_empty()).collect();
        (areas, swept(Region::new(all).cleaned(), side))
    }
}

/// Without rings that only rounding made.
fn swept(mut region: Region<Full>, side: f64) -> Region<Full> {
    region.rings.retain(|ring| crate::outline::region::signed_area(ring).abs() > CRUMB * side * side);
    region
}

/// One connected shape and its box.
struct Bit {
    bounds: Bounds,
    region: Region<Full>,
}

impl Bit {
    fn new(region: Region<Full>) -> Self {
        Self { bounds: region.bounds(), region }
    }
}

/// Shapes that cover, joined in blocks of doubling size.
#[derive(Default)]
struct Cover {
    blocks: Vec<(usize, Vec<Bit>)>,
}

impl Cover {
    fn add(&mut self, bits: Vec<Bit>) {
        self.blocks.push((1, bits));
        while let [.., (before, _), (last, _)] = self.blocks[..] {
            if before > last {
                break;
            }
            let (Some((one, bits)), Some((other, more))) = (self.blocks.pop(), self.blocks.pop()) else {
                break;
            };
            // Only what meets something of the other block has to be joined.
            let meets = |bit: &Bit, others: &[Bit]| others.iter().any(|o| o.bounds.intersects(&bit.bounds));
            let touched: Vec<bool> = bits.iter().map(|bit| meets(bit, &more)).collect();
            let also: Vec<bool> = more.iter().map(|bit| meets(bit, &bits)).collect();
            let all = bits.into_iter().chain(more).zip(touched.into_iter().chain(also));
            let (meeting, apart): (Vec<_>, Vec<_>) = all.partition(|(_, touched)| *touched);
            let rings = meeting.into_iter().flat_map(|(bit, _)| bit.region.rings).collect();
            let mut joined: Vec<Bit> = Region::new(rings).parts().into_iter().map(Bit::new).collect();
            joined.extend(apart.into_iter().map(|(bit, _)| bit));
            self.blocks.push((one + other, joined));
        }
    }

    /// The shapes whose boxes meet this one.
    fn over<'a>(&'a self, bounds: &'a Bounds) -> impl Iterator<Item = Polyline> + 'a {
        let bits = self.blocks.iter().flat_map(|(_, bits)| bits);
        bits.filter(|bit| bit.bounds.intersects(bounds)).flat_map(|bit| bit.region.rings.iter().cloned())
    }

    fn into_rings(self) -> impl Iterator<Item = Polyline> {
        self.blocks.into_iter().flat_map(|(_, bits)| bits).flat_map(|bit| bit.region.rings)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::{Outline, point};

    fn square(x: f64, y: f64, side: f64) -> Region<Full> {
        Outline::rectangle(point(x, y), side, side).flattened(1.0)
    }

    #[test]
    fn what_is_painted_over_does_not_show_and_areas_add_up() {
        let (red, blue, bone) = ([200, 0, 0], [0, 0, 200], [240, 230, 210]);
        let mut pile = Pile::default();
        // A red square, a blue one over its corner, a bone one over both, and red again in the middle of all.
        for (rgb, region) in [
            (red, square(0.0, 0.0, 4.0)),
            (blue, square(2.0, 2.0, 4.0)),
            (bone, square(1.0, 1.0, 1.0)),
            (red, square(1.0, 1.0, 0.5)),
        ] {
            pile.put(rgb, region);
        }
        let (areas, silhouette) = pile.flattened(6.0);
        let found: Vec<(Rgb, f64)> = areas.iter().map(|(rgb, region)| (*rgb, region.area())).collect();
        // 16 − 4 for the red, 0.25 of it back; 16 − 1 for the blue; 1 − 0.25 for the bone.
        for ((rgb, area), (wanted_rgb, wanted)) in
            found.iter().zip([(red, 12.0 + 0.25), (blue, 15.0), (bone, 0.75)])
        {
            assert_eq!(*rgb, wanted_rgb);
            assert!((area - wanted).abs() < 1e-6, "{area} {wanted}");
        }
        assert!((silhouette.area() - 28.0).abs() < 1e-6);
        let sum: f64 = found.iter().map(|(_, area)| area).sum();
        assert!((sum / silhouette.area() - 1.0).abs() < 1e-6, "the sum of the colours is the whole");
        for (k, (_, one)) in areas.iter().enumerate() {
            for (_, other) in &areas[k + 1..] {
                assert!(one.intersection(other).area() < 1e-6 * silhouette.area(), "no two colours overlap");
            }
        }
    }

    #[test]
    fn many_rings_in_turn_are_quick_and_exact() {
        let colours = [[1, 1, 1], [2, 2, 2], [3, 3, 3]];
        let mut pile = Pile::default();
        for k in 0..400 {
            pile.put(colours[k % 3], square(0.0, 0.0, 400.0 - k as f64));
        }
        let (areas, silhouette) = pile.flattened(400.0);
        assert_eq!(silhouette.rings.len(), 1);
        let sum: f64 = areas.iter().map(|(_, region)| region.area()).sum();
        assert!((sum - 160_000.0).abs() < 1e-3, "{sum}");
        assert!(areas.iter().all(|(_, region)| region.rings.len() >= 133 * 2));
    }
}
