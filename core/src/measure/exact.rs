//! Intervals of a share that keep their promise exactly, for many premises and for few.

use super::Interval;
use super::special::{beta_point, ln_choose};

/// The exact interval of a share, both ends 0 to 1, with tails of equal chance; `None` when nothing was looked at.
///
/// # Source
/// C. J. Clopper and E. S. Pearson, Biometrika 26 (1934), 404–413, by the beta distribution.
///
/// ```
/// use yardring_core::measure::clopper_pearson;
/// let i = clopper_pearson(15, 148, 0.95).unwrap();
/// assert!((i.low - 0.0578).abs() < 5e-5 && (i.high - 0.1617).abs() < 5e-5);
/// ```
pub fn clopper_pearson(positive: u64, of: u64, confidence: f64) -> Option<Interval> {
    if of == 0 {
        return None;
    }
    let (x, n, tail) = (positive.min(of) as f64, of as f64, (1.0 - confidence) / 2.0);
    Some(Interval {
        low: if x == 0.0 { 0.0 } else { beta_point(tail, x, n - x + 1.0) },
        high: if x >= n { 1.0 } else { beta_point(1.0 - tail, x + 1.0, n - x) },
    })
}

/// The largest share that is still believable at a confidence when none of `of` was positive; `None` when nothing was
/// looked at.
///
/// # Source
/// The one-sided limit of Clopper and Pearson for no positive: 1 − (1 − confidence)^(1/n).
pub fn upper_when_none(of: u64, confidence: f64) -> Option<f64> {
    (of > 0).then(|| 1.0 - (1.0 - confidence).powf(1.0 / of as f64))
}

/// Premises of which some are positive and some are looked at, without putting any back.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Urn {
    /// All premises.
    pub premises: u64,
    /// How many of them are positive.
    pub positive: u64,
    /// How many are looked at.
    pub seen: u64,
}

impl Urn {
    fn mean(self) -> f64 {
        self.seen as f64 * self.positive as f64 / self.premises as f64
    }

    fn chance(self, x: u64) -> f64 {
        let Self { premises, positive, seen } = self;
        if x > seen.min(positive) || seen - x > premises - positive {
            return 0.0;
        }
        (ln_choose(positive, x) + ln_choose(premises - positive, seen - x) - ln_choose(premises, seen)).exp()
    }

    /// The chance to find at least `x` positive.
    pub fn at_least(self, x: u64) -> f64 {
        if x == 0 {
            return 1.0;
        }
        if (x as f64) <= self.mean() { 1.0 - self.downwards(x - 1) } else { self.upwards(x) }
    }

    /// The chance to find at most `x` positive.
    pub fn at_most(self, x: u64) -> f64 {
        1.0 - self.at_least(x + 1)
    }

    /// The chances of `x` and more, added from `x` outwards, which lies above the mean.
    fn upwards(self, x: u64) -> f64 {
        let (mut chance, mut sum) = (self.chance(x), 0.0);
        for k in x..=self.seen.min(self.positive) {
            sum += chance;
            let rest = (self.premises + k + 1) as f64 - (self.positive + self.seen) as f64;
            chance *= (self.positive - k) as f64 * (self.seen - k) as f64 / ((k + 1) as f64 * rest.max(1.0));
            if chance < sum * 1e-17 {
                break;
            }
        }
        sum.min(1.0)
    }

    /// The chances of `x` and less, added from `x` outwards, which lies below the mean.
    fn downwards(self, x: u64) -> f64 {
        let (mut chance, mut sum) = (self.chance(x), 0.0);
        for k in (0..=x).rev() {
            sum += chance;
            let rest = (self.premises + k) as f64 - (self.positive + self.seen) as f64;
            if k == 0 || rest <= 0.0 {
                break;
            }
            chance *= k as f64 * rest / ((self.positive - k + 1) as f64 * (self.seen - k + 1) as f64);
            if chance < sum * 1e-17 {
                break;
            }
        }
        sum.min(1.0)
    }
}

/// How many premises of a block may be positive, fewest and most, when `positive` of `seen` were: every number that leaves
/// the finding more likely than half of what the confidence spares, on either side. `None` when nothing was looked at.
///
/// # Source
/// Inversion of the hypergeometric distribution with tails of equal chance, common practice in survey sampling.
///
/// ```
/// use yardring_core::measure::positives_in_block;
/// assert_eq!(positives_in_block(7, 20, 60, 0.95), Some((12, 33)));
/// assert_eq!(positives_in_block(7, 60, 60, 0.95), Some((7, 7)));
/// ```
pub fn positives_in_block(positive: u64, seen: u64, premises: u64, confidence: f64) -> Option<(u64, u64)> {
    if seen == 0 || seen > premises || positive > seen {
        return None;
    }
    let tail = (1.0 - confidence) / 2.0;
    let urn = |d| Urn { premises, positive: d, seen };
    let (least, most) = (positive, premises - (seen - positive));
    let low = first(least, most, |d| urn(d).at_least(positive) > tail);
    let past = first(least, most + 1, |d| d > most || urn(d).at_most(positive) <= tail);
    Some((low, past.saturating_sub(1).max(low)))
}

/// The same where an inspector sees what is there with chance `sight`: any of the premises seen may be positive after all. With full
/// sight it is [`positives_in_block`].
///
/// # Source
/// As above; each look tells with chance `sight`, so that a binomial number of the premises seen counts.
///
/// ```
/// use yardring_core::measure::positives_in_block_by;
/// assert_eq!(positives_in_block_by(7, 20, 60, 1.0, 0.95), Some((12, 33)));
/// assert_eq!(positives_in_block_by(7, 20, 60, 0.8, 0.95), Some((14, 42)));
/// ```
pub fn positives_in_block_by(positive: u64, seen: u64, premises: u64, sight: f64, confidence: f64) -> Option<(u64, u64)> {
    if sight >= 1.0 || seen == 0 || seen > premises || positive > seen {
        return positives_in_block(positive, seen, premises, confidence);
    }
    let tail = (1.0 - confidence) / 2.0;
    let looks = telling_looks(seen, sight);
    let chance = |of: &dyn Fn(Urn) -> f64, d: u64| looks.iter().map(|(m, p)| p * of(Urn { premises, positive: d, seen: *m })).sum::<f64>();
    let low = first(positive, premises, |d| chance(&|urn| urn.at_least(positive), d) > tail);
    let past = first(positive, premises + 1, |d| d > premises || chance(&|urn| urn.at_most(positive), d) <= tail);
    Some((low, past.saturating_sub(1).max(low)))
}

/// How many of the looks at some premises tell what is there, each number with its chance; those that never happen are left out.
fn telling_looks(seen: u64, sight: f64) -> Vec<(u64, f64)> {
    let (n, half) = (seen as f64, 8.0 * (seen as f64 * sight * (1.0 - sight)).sqrt() + 8.0);
    let (from, to) = ((n * sight - half).max(0.0) as u64, ((n * sight + half) as u64).min(seen));
    let chance = |m: u64| (ln_choose(seen, m) + m as f64 * sight.ln() + (seen - m) as f64 * (1.0 - sight).ln()).exp();
    (from..=to).map(|m| (m, chance(m))).collect()
}

/// The first whole number from `low` to `high` for which something holds that goes on holding; `high` when none before.
pub(crate) fn first(mut low: u64, mut high: u64, holds: impl Fn(u64) -> bool) -> u64 {
    while low < high {
        let middle = low + (high - low) / 2;
        if holds(middle) { high = middle } else { low = middle + 1 }
    }
    low
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Chances of scipy 1.17.1, `stats.hypergeom`.
    #[test]
    fn chances_agree_with_scipy() {
        let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9 * expected.max(1e-3), "{found} for {expected}");
        near(Urn { premises: 60, positive: 12, seen: 20 }.at_least(7), 0.04597218043178145);
        near(Urn { premises: 60, positive: 12, seen: 20 }.at_most(7), 0.9904793561724062);
        near(Urn { premises: 1000, positive: 20, seen: 138 }.at_least(1), 0.9502553198035257);
        near(Urn { premises: 1000, positive: 20, seen: 138 }.at_most(1), 0.21260982532372075);
        near(Urn { premises: 200000, positive: 9000, seen: 30000 }.at_least(1400), 0.06792564784341217);
        near(Urn { premises: 200000, positive: 9000, seen: 30000 }.at_most(1400), 0.9359129586864773);
        near(Urn { premises: 50, positive: 5, seen: 22 }.at_least(0), 1.0);
        near(Urn { premises: 50, positive: 5, seen: 22 }.at_most(0), 0.04638562177877626);
    }

    /// Whole intervals found by trying every number of positives with scipy 1.17.1: 7 of 20 in 60, 8 of 100 in 300.
    #[test]
    fn few_premises_narrow_the_interval() {
        assert_eq!(positives_in_block(7, 20, 60, 0.95), Some((12, 33)));
        assert_eq!(positives_in_block(8, 100, 300, 0.95), Some((13, 41)));
        assert_eq!(positives_in_block(0, 0, 300, 0.95), None);
    }

    /// By the other way round (first how many of the positive premises are seen, then how many of those are noticed), in scipy 1.17:
    /// hypergeom.pmf(k) times binom.cdf(x, k, sight), summed, and every number of positive premises tried.
    #[test]
    fn imperfect_sight_agrees_with_scipy() {
        let told = |x, n, all, sight, sure| positives_in_block_by(x, n, all, sight, sure);
        assert_eq!(told(2, 16, 21, 0.8, 0.95), Some((2, 8)));
        assert_eq!(told(3, 40, 40, 0.8, 0.95), Some((3, 7)));
        assert_eq!(told(10, 30, 200, 0.9, 0.8), Some((50, 101)));
        assert!(told(900, 30_000, 200_000, 0.9, 0.95).is_some_and(|(low, high)| low < 6667 && 6667 < high && high - low < 1000));
    }

    proptest! {
        #[test]
        fn tails_add_to_one(premises in 1u64..400, a in 0.0f64..=1.0, b in 0.0f64..=1.0, c in 0.0f64..=1.0) {
            let part = |share: f64, of: u64| (share * of as f64) as u64;
            let urn = Urn { premises, positive: part(a, premises), seen: part(b, premises) };
            let slow = |from: u64, to: u64| (from..=to).map(|k| urn.chance(k)).sum::<f64>();
            let x = part(c, urn.seen);
            prop_assert!((urn.at_least(x) - slow(x, urn.seen)).abs() < 1e-9);
            prop_assert!((urn.at_most(x) - slow(0, x)).abs() < 1e-9);
        }
    }
}
