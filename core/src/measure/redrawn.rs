//! How sure the Breteau index is by drawing the premises again and again: no shape of the counts is taken for granted.

use super::chance::Chance;
use super::{Interval, Yard};
use rayon::prelude::*;

/// How often as many yards are drawn again.
pub const REDRAWN: u64 = 2000;
/// Fewer yards are not drawn again: a handful holds too few of the counts there are.
pub const FEWEST_REDRAWN: usize = 10;
/// More are not either: there the interval of [`super::breteau_interval`] says the same, and it takes long.
pub const MOST_REDRAWN: usize = 20_000;

/// The same numbers on every computer and every day.
const SEED: u64 = 1;

/// A 95 % interval of the Breteau index, per 100 premises, from the inspected yards of a group of `premises`, by drawing yards again (a
/// percentile bootstrap of premises, its seed fixed), drawn together for the part of the group that was seen. `None` where nothing was
/// found, for fewer yards than [`FEWEST_REDRAWN`] and for more than [`MOST_REDRAWN`].
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
    // Yards with something in them first: the others add nothing.
    let made: Vec<u64> = yards.iter().map(|y| u64::from(y.positive)).filter(|p| *p > 0).collect();
    if made.is_empty() || !(FEWEST_REDRAWN..=MOST_REDRAWN).contains(&yards.len()) {
        return None;
    }
    // How many of the draws are yards with something in them is a binomial number; which of these they are is drawn one by one.
    let below = below_counts(yards.len(), made.len());
    let draw = |part: u64| {
        let mut chance = Chance::for_part(SEED, part);
        let u = (chance.next() >> 11) as f64 / (1u64 << 53) as f64;
        let draws = below.partition_point(|&share| share <= u);
        (0..draws).map(|_| made[chance.below(made.len())]).sum::<u64>()
    };
    let mut sums: Vec<u64> = (0..REDRAWN).into_par_iter().map(draw).collect();
    sums.sort_unstable();
    let (n, found) = (yards.len() as f64, made.iter().sum::<u64>() as f64);
    let unseen = (premises as f64 - n).max(0.0) / (premises as f64 - 1.0).max(1.0);
    let end = |share: f64| {
        let sum = sums[((sums.len() as f64 - 1.0) * share).round() as usize] as f64;
        100.0 * (found + (sum - found) * unseen.sqrt()) / n
    };
    // What was found is there.
    let sure = 100.0 * found / (premises as f64).max(n);
    Some(Interval { low: end(0.025).max(sure), high: end(0.975) })
}

/// The chance of at most 0, 1, 2 and more draws out of `n` that are one of `some` among `n` yards.
fn below_counts(n: usize, some: usize) -> Vec<f64> {
    if some == n {
        return vec![0.0; n];
    }
    let share = some as f64 / n as f64;
    let (mut log, mut all) = (n as f64 * (1.0 - share).ln(), 0.0);
    let step = (share / (1.0 - share)).ln();
    let one = |drawn: usize| {
        all += log.exp();
        log += ((n - drawn) as f64 / (drawn + 1) as f64).ln() + step;
        all
    };
    (0..n).map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The twenty yards of the project's check values: NumPy's percentiles of 10,000 draws are 25 to 155 with one seed and 30 to 155 with two
    /// others (its science notes, 3.3).
    #[test]
    fn agrees_with_another_library() {
        let counts = [1, 0, 2, 0, 0, 1, 0, 5, 0, 0, 3, 0, 0, 1, 0, 0, 0, 0, 4, 0];
        let yards: Vec<Yard> = counts.iter().map(|&positive| Yard { wet: 9, positive }).collect();
        let all = breteau_redrawn(&yards, u64::MAX).unwrap();
        assert!((25.0..=30.0).contains(&all.low) && (145.0..=160.0).contains(&all.high), "{all:?}");
        assert_eq!(breteau_redrawn(&yards, u64::MAX), Some(all), "the same numbers every time");
        // Of 60 premises two thirds are unseen; of 20 none.
        let (some, whole) = (breteau_redrawn(&yards, 60).unwrap(), breteau_redrawn(&yards, 20).unwrap());
        assert!(some.low > all.low && some.high < all.high && some.low >= 100.0 * 17.0 / 60.0, "{some:?}");
        assert_eq!((whole.low, whole.high), (85.0, 85.0));
        assert_eq!((breteau_redrawn(&yards[..9], 60), breteau_redrawn(&[Yard::default(); 20], 60)), (None, None));
    }
}
