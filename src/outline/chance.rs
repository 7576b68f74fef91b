//! Chance that is the same everywhere: SplitMix64.
//!
//! Source: Steele, Lea, Flood, "Fast splittable pseudorandom number generators",
//! OOPSLA 2014. For patterns and searches only; nothing secret may hang on it.

pub struct Chance(u64);

impl Chance {
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly from `from` up to `to`, which is not reached.
    pub fn between(&mut self, from: f64, to: f64) -> f64 {
        let share = (self.next() >> 11) as f64 / (1u64 << 53) as f64;
        from + (to - from) * share
    }

    /// One of `0..count`; 0 where there are none.
    pub fn index(&mut self, count: usize) -> usize {
        (self.between(0.0, count as f64) as usize).min(count.saturating_sub(1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers of the reference program for the seed 1234567.
    #[test]
    fn the_published_sequence() {
        let mut chance = Chance::new(1_234_567);
        let wanted = [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423];
        assert_eq!([(); 3].map(|()| chance.next()), wanted);
    }

    #[test]
    fn evenly_spread() {
        let mut chance = Chance::new(7);
        let all: Vec<f64> = (0..10_000).map(|_| chance.between(2.0, 4.0)).collect();
        assert!(all.iter().all(|value| (2.0..4.0).contains(value)));
        assert!((all.iter().sum::<f64>() / 10_000.0 - 3.0).abs() < 0.02);
    }
}
