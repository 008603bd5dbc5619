//! Random numbers from a seed: the same seed, the same numbers, on every computer.

/// A source of random numbers.
///
/// # Source
/// G. L. Steele, D. Lea and C. H. Flood, Fast splittable pseudorandom number generators, OOPSLA 2014 (SplitMix64; constants
/// from memory).
#[derive(Clone, Debug)]
pub(crate) struct Chance(u64);

impl Chance {
    /// Numbers of their own for one of many parts of a work, so that parts may run side by side.
    pub fn for_part(seed: u64, part: u64) -> Self {
        let mut mixed = Self(seed ^ part.wrapping_mul(0xD134_2543_DE82_EF95));
        Self(mixed.next())
    }

    /// The next 64 bits.
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let a = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let b = (a ^ (a >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        b ^ (b >> 31)
    }

    /// A whole number from 0 to below `n`, each as likely as the other to 1 part in 2³².
    pub fn below(&mut self, n: usize) -> usize {
        ((u128::from(self.next()) * n as u128) >> 64) as usize
    }

    /// Puts things in an order of chance.
    pub fn shuffle<T>(&mut self, things: &mut [T]) {
        for i in (1..things.len()).rev() {
            things.swap(i, self.below(i + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers of seed 1234567, as in the generator's published reference output (from memory).
    #[test]
    fn a_seed_gives_its_numbers() {
        let mut c = Chance(1_234_567);
        assert_eq!([c.next(), c.next()], [6_457_827_717_110_365_317, 3_203_168_211_198_807_973]);
        let mut seen = [0; 6];
        (0..6000).for_each(|_| seen[c.below(6)] += 1);
        assert!(seen.iter().all(|n| (850..1150).contains(n)), "{seen:?}");
    }
}
