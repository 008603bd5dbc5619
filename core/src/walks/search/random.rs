//! Chance from a seed, the same on every computer.

/// A stream of numbers that a seed fixes.
///
/// # Source
/// D. Blackman, S. Vigna, Scrambled linear pseudorandom number generators (2021): xoshiro256++, its state filled
/// by S. Vigna's splitmix64; from memory.
#[derive(Clone, Debug)]
pub(in crate::walks) struct Chance([u64; 4]);

impl Chance {
    /// The stream of a seed.
    pub(in crate::walks) fn from_seed(seed: u64) -> Self {
        let mut at = seed;
        Self(std::array::from_fn(|_| {
            at = at.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let a = (at ^ (at >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            let b = (a ^ (a >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            b ^ (b >> 31)
        }))
    }

    /// The next 64 bits.
    fn bits(&mut self) -> u64 {
        let s = &mut self.0;
        let out = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = s[3].rotate_left(45);
        out
    }

    /// A number from 0 up, below 1.
    pub(in crate::walks) fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A whole number from 0 up, below `end`; 0 when `end` is 0.
    pub(in crate::walks) fn below(&mut self, end: usize) -> usize {
        ((u128::from(self.bits()) * end as u128) >> 64) as usize
    }

    /// Puts a list in random order.
    pub(in crate::walks) fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            list.swap(i, self.below(i + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_fill_the_unit_evenly() {
        let mut chance = Chance::from_seed(7);
        let mut bins = [0u32; 10];
        (0..100_000).for_each(|_| bins[(chance.share() * 10.0) as usize] += 1);
        // 10,000 each; five standard deviations of a binomial count are 474.
        assert!(bins.iter().all(|b| b.abs_diff(10_000) < 474), "{bins:?}");
    }

    #[test]
    fn whole_numbers_stay_below_their_end() {
        let mut chance = Chance::from_seed(1);
        assert!((0..1000).all(|_| chance.below(3) < 3));
        assert_eq!(chance.below(0), 0);
    }
}
