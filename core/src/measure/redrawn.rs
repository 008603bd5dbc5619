//! How sure the Breteau index is by drawing the premises again: no shape of the counts is taken for granted.

use super::interval::left_unseen;
use super::{Interval, Yard};

/// Fewer yards are not drawn again: a handful holds too few of the counts there are.
pub const FEWEST_REDRAWN: usize = 10;
/// More are not either: there the interval of [`super::breteau_interval`] says the same, and it takes long.
pub const MOST_REDRAWN: usize = 20_000;

/// So many sums are told apart at most: where counts spread wider, one yard outweighs all others or takes long.
const WIDEST: usize = 16_384;
/// A sum less likely than this changes no limit that is told.
const NEGLIGIBLE: f64 = 1e-16;

/// A 95 % interval of the Breteau index, per 100 premises, from the inspected yards of a group of `premises`, by drawing as many yards
/// again (a percentile bootstrap of premises), drawn together for the part of the group that was seen. Every way to draw them is taken
/// with its chance, so it is what ever more draws by lot would come to. `None` where nothing was found, for fewer yards than
/// [`FEWEST_REDRAWN`], for more than [`MOST_REDRAWN`], and where counts spread too widely.
///
/// # Source
/// A. C. Davison and D. V. Hinkley, Bootstrap Methods (1997), 5.3 and, for a finite number, 3.7 (deviations scaled), from memory.
///
/// ```
/// use yardring_core::measure::{Yard, breteau_redrawn};
/// let yards = vec![Yard { wet: 3, positive: 1 }; 12];
/// let all_alike = breteau_redrawn(&yards, 100).ok_or("twelve yards")?;
/// assert_eq!((all_alike.low, all_alike.high), (100.0, 100.0));
/// # Ok::<(), &str>(())
/// ```
pub fn breteau_redrawn(yards: &[Yard], premises: u64) -> Option<Interval> {
    let found: u64 = yards.iter().map(|y| u64::from(y.positive)).sum();
    if found == 0 || !(FEWEST_REDRAWN..=MOST_REDRAWN).contains(&yards.len()) {
        return None;
    }
    let sums = Sums::of_one_draw(yards)?.times(yards.len())?;
    let (n, found) = (yards.len() as f64, found as f64);
    let deviation = left_unseen(yards.len(), premises).sqrt();
    let end = |share: f64| 100.0 * (found + (sums.percentile(share) as f64 - found) * deviation) / n;
    // What was found is there.
    let sure = 100.0 * found / (premises as f64).max(n);
    Some(Interval { low: end(0.025).max(sure), high: end(0.975) })
}

/// How likely sums of counts are, from the least sum on.
#[derive(Debug)]
struct Sums {
    least: usize,
    chances: Vec<f64>,
}

impl Sums {
    /// What one yard drawn by lot holds.
    fn of_one_draw(yards: &[Yard]) -> Option<Self> {
        let most = yards.iter().map(|y| y.positive as usize).max().filter(|&most| most < WIDEST)?;
        let mut chances = vec![0.0; most + 1];
        yards.iter().for_each(|y| chances[y.positive as usize] += 1.0 / yards.len() as f64);
        Some(Self { least: 0, chances })
    }

    /// What so many draws hold together, by doubling.
    fn times(self, draws: usize) -> Option<Self> {
        let mut whole = Self { least: 0, chances: vec![1.0] };
        for bit in (0..=draws.ilog2()).rev() {
            whole = whole.and(&whole)?;
            if draws >> bit & 1 == 1 {
                whole = whole.and(&self)?;
            }
        }
        Some(whole)
    }

    /// What both hold together. What is too unlikely to matter is cut off at both ends.
    fn and(&self, other: &Self) -> Option<Self> {
        let wide = self.chances.len() + other.chances.len() - 1;
        if wide > WIDEST {
            return None;
        }
        let mut chances = vec![0.0; wide];
        for (i, one) in self.chances.iter().enumerate().filter(|(_, one)| **one > 0.0) {
            chances[i..].iter_mut().zip(&other.chances).for_each(|(to, two)| *to += one * two);
        }
        let first = chances.iter().position(|&c| c > NEGLIGIBLE)?;
        let last = chances.iter().rposition(|&c| c > NEGLIGIBLE)?;
        Some(Self { least: self.least + other.least + first, chances: chances[first..=last].to_vec() })
    }

    /// The least sum that holds a share of all chances at or below it.
    fn percentile(&self, share: f64) -> usize {
        let mut below = 0.0;
        let at = self.chances.iter().position(|c| {
            below += c;
            below >= share
        });
        self.least + at.unwrap_or(self.chances.len() - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::breteau::tests::twenty;

    fn yards(counts: &[u32]) -> Vec<Yard> {
        counts.iter().map(|&positive| Yard { wet: 9, positive }).collect()
    }

    /// The twenty yards of the project's check values: NumPy's percentiles of 10,000 draws are 25 to 155 with one seed and 30 to 155 with two
    /// others (its science notes, 3.3).
    #[test]
    fn agrees_with_another_library() {
        let yards = twenty();
        let all = breteau_redrawn(&yards, u64::MAX).unwrap();
        assert!((25.0..=30.0).contains(&all.low) && (145.0..=160.0).contains(&all.high), "{all:?}");
        assert_eq!(breteau_redrawn(&yards, u64::MAX), Some(all), "the same numbers every time");
        // Of 60 premises two thirds are unseen; of 20 none.
        let (some, whole) = (breteau_redrawn(&yards, 60).unwrap(), breteau_redrawn(&yards, 20).unwrap());
        assert!(some.low > all.low && some.high < all.high && some.low >= 100.0 * 17.0 / 60.0, "{some:?}");
        assert_eq!((whole.low, whole.high), (85.0, 85.0));
        assert_eq!((breteau_redrawn(&yards[..9], 60), breteau_redrawn(&[Yard::default(); 20], 60)), (None, None));
    }

    /// Yards with one container or none draw a binomial number: its percentiles by `scipy.stats.binom.ppf` of SciPy.
    #[test]
    fn yards_of_one_container_draw_a_binomial_number() {
        for (n, ones, low, high) in [(20, 6, 2, 10), (400, 20, 12, 29), (5000, 100, 81, 120)] {
            let counts: Vec<u32> = (0..n).map(|i| u32::from(i < ones)).collect();
            let sums = Sums::of_one_draw(&yards(&counts)).unwrap().times(n).unwrap();
            assert_eq!((sums.percentile(0.025), sums.percentile(0.975)), (low, high), "{ones} of {n}");
        }
    }

    /// No outside source: a typing error among the counts, or the largest group, must cost neither memory nor the others' answer.
    #[test]
    fn counts_that_spread_too_widely_have_no_answer() {
        let mut counts = vec![1; 12];
        counts[3] = u32::MAX;
        assert_eq!(breteau_redrawn(&yards(&counts), 60), None);
        counts[3] = 9_000;
        assert_eq!(breteau_redrawn(&yards(&counts), 60), None);
        let many: Vec<u32> = (0..MOST_REDRAWN as u32).map(|i| if i % 11 == 0 { i % 30 } else { 0 }).collect();
        assert!(breteau_redrawn(&yards(&many), 60_000).is_some());
    }
}
