//! How sure a share is, given how many were looked at.

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
    let n = of as f64;
    let positive = positive.min(of);
    let share = positive as f64 / n;
    let shrink = 1.0 + Z * Z / n;
    let centre = (share + Z * Z / (2.0 * n)) / shrink;
    let half = Z / shrink * (share * (1.0 - share) / n + Z * Z / (4.0 * n * n)).sqrt();
    Some(Interval {
        low: if positive == 0 { 0.0 } else { (centre - half).max(0.0) },
        high: if positive == of { 1.0 } else { (centre + half).min(1.0) },
    })
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

    proptest! {
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
