//! Colours told apart: what shows of each, slivers given away, traps.
//!
//! Works on areas that are painted in order, later ones over earlier ones, with a
//! key for the colour of each. Areas are conserved: what one loses another gets.

use super::Region;
use crate::units::World;

/// Bits thinner than this are slivers, mm on the model: half a dot at 1200 dpi, a fifth of the finest printed
/// line. Common practice, no source.
pub const SLIVER: f64 = 0.02;

/// What is seen of each colour once everything is painted, in the order in which they first come.
pub fn shown<K: Copy + PartialEq, W: World>(painted: &[(K, Region<W>)]) -> Vec<(K, Region<W>)> {
    let mut seen: Vec<(K, Region<W>)> = Vec::new();
    for (colour, area) in painted {
        for (_, other) in seen.iter_mut().filter(|(other, _)| other != colour) {
            *other = other.minus(area);
        }
        match seen.iter_mut().find(|(other, _)| other == colour) {
            Some((_, own)) => *own = own.union(area),
            None => seen.push((*colour, area.clone())),
        }
    }
    seen.retain(|(_, area)| !area.is_empty());
    seen
}

/// Gives every bit thinner than `width` mm to the colour that it lies along furthest, and says how many there were.
///
/// A colour that is nothing but thin bits was drawn so, and stays; so does a bit that touches no other colour.
pub fn tidy<K, W: World>(areas: &mut [(K, Region<W>)], width: f64) -> usize {
    let mut count = 0;
    for k in 0..areas.len() {
        // The mean width of a thin bit is twice its area over its edge.
        let is_thin = |part: &Region<W>| 2.0 * part.area() < width * part.perimeter();
        let (thin, whole): (Vec<_>, Vec<_>) = areas[k].1.parts().into_iter().partition(is_thin);
        if thin.is_empty() || whole.is_empty() {
            continue;
        }
        let mut kept = whole;
        for part in thin {
            let reach = part.offset(width);
            let beside = |j: usize| if j == k { 0.0 } else { reach.intersection(&areas[j].1).area() };
            let best = (0..areas.len()).map(|j| (beside(j), j)).max_by(|a, b| a.0.total_cmp(&b.0));
            match best.filter(|(area, _)| *area > 0.0) {
                Some((_, j)) => {
                    areas[j].1 = areas[j].1.union(&part);
                    count += 1;
                }
                None => kept.push(part),
            }
        }
        areas[k].1 = Region::new(kept.into_iter().flat_map(|part| part.rings).collect());
    }
    count
}

/// Lets each colour go on for `distance` mm beneath the ones painted after it.
pub fn trap<K, W: World>(areas: &mut [(K, Region<W>)], distance: f64) {
    for k in 0..areas.len() {
        let later = areas[k + 1..].iter().fold(Region::empty(), |all, (_, area)| all.union(area));
        let own = &areas[k].1;
        areas[k].1 = own.union(&own.offset(distance).intersection(&later));
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Outline, Vector, point};
    use super::*;
    use crate::units::Model;

    fn bar(x: [f64; 2], y: [f64; 2]) -> Region<Model> {
        let middle = point((x[0] + x[1]) / 2.0, (y[0] + y[1]) / 2.0);
        Outline::rectangle(middle, x[1] - x[0], y[1] - y[0]).flattened(1.0)
    }

    fn sum(areas: &[(u8, Region<Model>)]) -> f64 {
        areas.iter().map(|(_, area)| area.area()).sum()
    }

    fn overlap(areas: &[(u8, Region<Model>)]) -> f64 {
        let pairs = (0..areas.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
        pairs.map(|(a, b)| areas[a].1.intersection(&areas[b].1).area()).sum()
    }

    /// Boolean work conserves area: the colours add up to the union, and none lies on another.
    #[test]
    fn separated_colours_add_up_to_the_union() {
        let disc: Region<Model> = Outline::circle(point(0.0, 0.0), 3.0).flattened(1e-3);
        let painted: Vec<(u8, Region<Model>)> = (0..12)
            .map(|k| (k % 4, disc.moved(Vector::new(f64::from(k) * 1.7, f64::from(k * k % 7)))))
            .collect();
        let union = painted.iter().fold(Region::empty(), |all, (_, area)| all.union(area));
        let mut areas = shown(&painted);
        assert_eq!(areas.len(), 4);
        assert!((sum(&areas) / union.area() - 1.0).abs() < 1e-6);
        assert!(overlap(&areas) < 1e-6 * union.area());
        tidy(&mut areas, SLIVER);
        assert!((sum(&areas) / union.area() - 1.0).abs() < 1e-6);
        assert!(overlap(&areas) < 1e-6 * union.area());
    }

    #[test]
    fn slivers_go_to_their_neighbour_and_are_counted() {
        // A white bar that all but covers its red ground leaves 0.01 mm of it along one edge.
        let painted = vec![
            (0, bar([0.0, 10.0], [0.0, 2.0])),
            (0, bar([20.0, 22.0], [0.0, 2.0])),
            (1, bar([0.0, 10.0], [0.01, 2.0])),
        ];
        let mut areas = shown(&painted);
        assert_eq!(tidy(&mut areas, SLIVER), 1);
        assert!((areas[0].1.area() - 4.0).abs() < 1e-9 && (areas[1].1.area() - 20.0).abs() < 1e-9);
        // A hairline that was drawn as one stays, and so does one that stands alone.
        let mut drawn = vec![(0, bar([0.0, 10.0], [0.0, 0.01])), (1, bar([0.0, 10.0], [0.01, 2.0]))];
        assert_eq!(tidy(&mut drawn, SLIVER), 0);
        let mut alone = shown(&[
            (0, bar([0.0, 1.0], [0.0, 1.0])),
            (0, bar([5.0, 5.01], [0.0, 1.0])),
            (1, bar([0.0, 1.0], [8.0, 9.0])),
        ]);
        assert_eq!(tidy(&mut alone, SLIVER), 0);
        assert!((sum(&alone) - 2.01).abs() < 1e-9);
    }

    #[test]
    fn a_trap_overlaps_as_far_as_asked_and_no_further() {
        let mut areas = vec![(0, bar([0.0, 10.0], [0.0, 2.0])), (1, bar([0.0, 10.0], [2.0, 4.0]))];
        trap(&mut areas, 0.1);
        assert!((overlap(&areas) - 1.0).abs() < 1e-3, "{}", overlap(&areas));
        // The offset lies on a grid of a billionth of what is drawn.
        assert!((areas[0].1.bounds().max.y - 2.1).abs() < 1e-7 && (areas[0].1.bounds().min.y).abs() < 1e-7);
        assert!((areas[1].1.area() - 20.0).abs() < 1e-9);
    }
}
