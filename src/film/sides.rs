//! Sides of triangles in the order of their ends, so that those two triangles share come one after the other.
//!
//! The same as sorting, in time that grows with the number of sides only: they are dealt to their
//! lower ends, and the few at each are sorted. Leaves out what is asked of them.

/// A side between two points, the lower number first, and what is to be known of it.
pub type Side<T> = ([u32; 2], T);

/// Sides between points of a mesh of so many.
pub fn in_order<T: Copy + Ord>(sides: &[Side<T>], points: usize) -> Vec<Side<T>> {
    let mut next = vec![0u32; points + 1];
    for ([low, _], _) in sides {
        next[*low as usize + 1] += 1;
    }
    for k in 1..next.len() {
        next[k] += next[k - 1];
    }
    let Some(&first) = sides.first() else { return Vec::new() };
    let mut dealt = vec![first; sides.len()];
    for side in sides {
        let place = &mut next[side.0[0] as usize];
        dealt[*place as usize] = *side;
        *place += 1;
    }
    // Each entry now tells where the next one's sides begin.
    let mut from = 0;
    for &to in &next[..points] {
        dealt[from..to as usize].sort_unstable();
        from = to as usize;
    }
    dealt
}

/// A side's ends, the lower first.
pub fn ends(a: u32, b: u32) -> [u32; 2] {
    [a.min(b), a.max(b)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_the_order_of_the_standard_sort() {
        let sides: Vec<Side<u32>> =
            (0..500u32).map(|k| (ends(k * 7919 % 61, k * 104_729 % 61), k * 31 % 17)).collect();
        let mut sorted = sides.clone();
        sorted.sort_unstable();
        assert_eq!(in_order(&sides, 61), sorted);
        assert_eq!(in_order::<u32>(&[], 3), []);
    }
}
