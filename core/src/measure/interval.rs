//! How sure a share is, given how many were looked at.

use super::positives_in_block;
use super::special::normal_reach;

/// The two-sided 95 % point of the normal distribution.
///
/// # Source
/// The 0.975 quantile of the standard normal, from memory.
const Z: f64 = 1.959_963_984_540_054;

/// The two ends of an interval, in the unit of the estimate that it belongs to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl Interval {
    /// An interval of shares (0 to 1) as an interval of rates per hundred.
    ///
    /// ```
    /// use yardring_core::measure::Interval;
    /// assert_eq!(Interval { low: 0.25, high: 0.5 }.per_hundred(), Interval { low: 25.0, high: 50.0 });
    /// ```
    #[must_use]
    pub fn per_hundred(self) -> Self {
        Self { low: self.low * 100.0, high: self.high * 100.0 }
    }
}

/// The 95 % score interval of a share, both ends 0 to 1; `None` when nothing was looked at.
///
/// It assumes that those looked at were drawn from many; where nearly all of a small block was inspected it is too wide.
///
/// # Source
/// E. B. Wilson, Probable inference, the law of succession, and statistical inference, J. Am. Stat. Assoc. 22 (1927),
/// 209–212; recommended by R. G. Newcombe, Stat. Med. 17 (1998), 857–872, method 3.
///
/// ```
/// use yardring_core::measure::wilson;
/// let i = wilson(81, 263).unwrap();
/// assert!((i.low - 0.2553).abs() < 5e-5 && (i.high - 0.3662).abs() < 5e-5);
/// assert_eq!(wilson(0, 0), None);
/// ```
pub fn wilson(positive: u64, of: u64) -> Option<Interval> {
    if of == 0 {
        return None;
    }
    Some(score_interval(positive.min(of) as f64 / of as f64, of as f64, Z))
}

/// The part of a variance that is left where so many of all premises were inspected: 1 of very many, 0 of all.
///
/// # Source
/// W. G. Cochran, Sampling Techniques, 3rd ed. (1977), 2.6, from memory.
pub(super) fn left_unseen(inspected: usize, premises: u64) -> f64 {
    (premises as f64 - inspected as f64).max(0.0) / (premises as f64 - 1.0).max(1.0)
}

/// Wilson's interval of a share seen among `n`, which need not be whole, with `z` standard errors to either side.
pub(super) fn score_interval(share: f64, n: f64, z: f64) -> Interval {
    let shrink = 1.0 + z * z / n;
    let centre = (share + z * z / (2.0 * n)) / shrink;
    let half = z / shrink * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
    Interval {
        low: if share <= 0.0 { 0.0 } else { (centre - half).max(0.0) },
        high: if share >= 1.0 { 1.0 } else { (centre + half).min(1.0) },
    }
}

/// The 95 % interval of the share of a block's premises that are positive, 0 to 1, when `positive` of `seen` out of
/// `premises` were; `None` when nothing was looked at.
///
/// The rule: every premise seen, no doubt from sampling is left; none or all positive, every number of positive premises
/// that is still believable (exact, since that is where somebody says "clear"); otherwise Wilson's interval at
/// seen × (premises − 1) / (premises − seen), the number that would tell as much if there were no end of premises. The exact
/// inversion is not used throughout because its 95 % holds the truth in 98–99 of 100 blocks. Neither end passes what is certain: the
/// premises found positive are, and those found clear are not.
///
/// # Source
/// Wilson as above; the correction for a finite number is W. G. Cochran, Sampling Techniques (1977), 2.6; see also
/// [`super::positives_in_block`].
///
/// ```
/// use yardring_core::measure::{share_of_block, wilson};
/// let (block, town) = (share_of_block(7, 20, 60).unwrap(), wilson(7, 20).unwrap());
/// assert!(block.low > town.low && block.high < town.high);
/// ```
pub fn share_of_block(positive: u64, seen: u64, premises: u64) -> Option<Interval> {
    share_of_block_at(positive, seen, premises, 0.95)
}

/// [`share_of_block`] at another confidence.
pub fn share_of_block_at(positive: u64, seen: u64, premises: u64, confidence: f64) -> Option<Interval> {
    if seen == 0 {
        return None;
    }
    let positive = positive.min(seen);
    let share = positive as f64 / seen as f64;
    if seen >= premises {
        return Some(Interval { low: share, high: share });
    }
    if positive == 0 || positive == seen {
        let of_all = |(low, high): (u64, u64)| Interval { low: low as f64 / premises as f64, high: high as f64 / premises as f64 };
        return positives_in_block(positive, seen, premises, confidence).map(of_all);
    }
    let all = premises as f64;
    let found = score_interval(share, seen as f64 * (all - 1.0) / (premises - seen) as f64, normal_reach(confidence));
    let (sure, possible) = (positive as f64 / all, (premises - (seen - positive)) as f64 / all);
    Some(Interval { low: found.low.max(sure), high: found.high.min(possible) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Pairs of Newcombe (1998) as listed in the project's check values: CV037, CV041, CV070; CV045 worked out by
    /// statsmodels; 15/148 and 1/29 are the two further pairs of the same paper's table.
    #[test]
    fn agrees_with_published_pairs() {
        let pairs = [
            ("CV037", 81, 263, 0.255_289, 0.366_21, 5e-5),
            ("15/148", 15, 148, 0.0624, 0.1605, 5e-5),
            ("CV041", 0, 20, 0.0, 0.161_125, 5e-5),
            ("1/29", 1, 29, 0.0061, 0.1718, 5e-5),
            ("CV045", 223, 1503, 0.131_296_117_6, 0.167_236_588_8, 1e-9),
            ("CV070", 23, 60, 0.270_882_723_7, 0.509_824_041_8, 1e-9),
        ];
        for (id, positive, of, low, high, within) in pairs {
            let i = wilson(positive, of).unwrap();
            assert!((i.low - low).abs() < within && (i.high - high).abs() < within, "{id}: {i:?}");
        }
    }

    #[test]
    fn a_block_seen_whole_leaves_no_doubt() {
        assert_eq!(share_of_block(3, 12, 12), Some(Interval { low: 0.25, high: 0.25 }));
        assert_eq!(share_of_block(0, 0, 12), None);
        // 30 of 40 seen and nothing found: 0, 1 or 2 of the rest may be positive (tried with scipy's hypergeometric).
        assert_eq!(share_of_block(0, 30, 40), Some(Interval { low: 0.0, high: 0.05 }));
        let (far, near) = (share_of_block(23, 60, 1_000_000_000).unwrap(), wilson(23, 60).unwrap());
        assert!((far.low - near.low).abs() < 1e-6 && (far.high - near.high).abs() < 1e-6);
        // 2 of 16 positive among 21: 2 are for certain, and 14 are not. Exact inversion (scipy's hypergeometric distribution): 2 to 5.
        let most_seen = share_of_block(2, 16, 21).unwrap();
        assert!((most_seen.low - 2.0 / 21.0).abs() < 1e-12 && most_seen.high > 4.0 / 21.0 && most_seen.high < 6.0 / 21.0, "{most_seen:?}");
        // scipy 1.17: binomtest(23, 60).proportion_ci(0.8, 'wilson').
        let loose = share_of_block_at(23, 60, 1_000_000_000, 0.8).unwrap();
        assert!((loose.low - 0.307_019_389).abs() < 1e-6 && (loose.high - 0.465_864_117).abs() < 1e-6, "{loose:?}");
    }

    proptest! {
        #[test]
        fn a_block_holds_its_estimate(seen in 1u64..300, more in 0u64..300, part in 0.0f64..=1.0) {
            let positive = (part * seen as f64).round() as u64;
            let i = share_of_block(positive, seen, seen + more).unwrap();
            let share = positive as f64 / seen as f64;
            prop_assert!(0.0 <= i.low && i.low <= share + 1e-12 && share <= i.high + 1e-12 && i.high <= 1.0, "{i:?} {share}");
            let all = (seen + more) as f64;
            prop_assert!(i.low * all >= positive as f64 - 1e-9 && i.high * all <= all - (seen - positive) as f64 + 1e-9, "{i:?} of {all}");
        }

        #[test]
        fn holds_its_estimate_and_stays_a_share(of in 1u64..5000, part in 0.0f64..=1.0) {
            let positive = (part * of as f64).round() as u64;
            let i = wilson(positive, of).unwrap();
            let share = positive as f64 / of as f64;
            prop_assert!(0.0 <= i.low && i.low <= share && share <= i.high && i.high <= 1.0);
            prop_assert!(i.low < i.high);
        }
    }
}
