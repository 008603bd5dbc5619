//! How sure the Breteau index is: a mean of counts that cluster in few yards.

use super::interval::left_unseen;
use super::special::{crossing, poisson_limits, student_reach};
use super::{Interval, Yard};

/// How the interval of a Breteau index was worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BreteauMethod {
    /// Every premise was inspected: no doubt is left from sampling.
    AllSeen,
    /// No container was positive: from 0 to the largest mean that is still believable, one-sided.
    NonePositive,
    /// The counts vary no more than chance alone would have it: Poisson.
    Poisson,
    /// The counts cluster: negative binomial, its dispersion by maximum likelihood.
    NegativeBinomial,
    /// The same, its dispersion by moments, where the likelihood has no peak.
    Moments,
}

impl BreteauMethod {
    /// The method as a line that people can read.
    pub fn word(self) -> &'static str {
        match self {
            Self::AllSeen => "every premise was seen",
            Self::NonePositive => "none found: one-sided Poisson limit",
            Self::Poisson => "Poisson, the counts do not cluster",
            Self::NegativeBinomial => "negative binomial, the counts cluster",
            Self::Moments => "negative binomial by moments",
        }
    }
}

/// Mean and variance of the positive containers of yards; `None` below two yards.
fn moments(yards: &[Yard]) -> Option<(f64, f64)> {
    let n = yards.len() as f64;
    let mean = yards.iter().map(|y| f64::from(y.positive)).sum::<f64>() / n;
    let squares = yards.iter().map(|y| (f64::from(y.positive) - mean).powi(2)).sum::<f64>();
    (yards.len() > 1).then(|| (mean, squares / (n - 1.0)))
}

/// The dispersion of counts by moments, m²/(s² − m): the smaller, the more they cluster. `None` when they vary no more than
/// chance alone would have it.
///
/// # Source
/// F. J. Anscombe, Biometrika 37 (1950), 358–382, method 1, from memory.
pub fn dispersion_by_moments(yards: &[Yard]) -> Option<f64> {
    moments(yards).filter(|(mean, variance)| *mean > 0.0 && variance > mean).map(|(mean, variance)| mean * mean / (variance - mean))
}

/// The dispersion of counts at which they are most likely, their mean being the mean. `None` when the likelihood rises
/// for ever (the counts vary no more than chance alone would have it).
///
/// # Source
/// R. A. Fisher, Biometrics 9 (1953), 197–200, from memory: the slope of the likelihood is
/// Σ over counts x, over j below x, of 1/(k + j), and n ln(k/(k + m)).
pub fn dispersion_by_likelihood(yards: &[Yard]) -> Option<f64> {
    let n = yards.len() as f64;
    let (mean, variance) = moments(yards)?;
    if mean <= 0.0 || variance * (n - 1.0) / n <= mean {
        return None;
    }
    let reached = counts_reaching(yards);
    let slope = |k: f64| reached.iter().zip(0u32..).map(|(c, j)| c / (k + f64::from(j))).sum::<f64>() + n * (k / (k + mean)).ln();
    let k = crossing(-20.0, 20.0, |ln_k| -slope(ln_k.exp())).exp();
    (k > 1e-6 && k < 1e6).then_some(k)
}

/// How many yards have more than 0, more than 1, … positive containers. Beyond a thousand the steps no longer matter.
fn counts_reaching(yards: &[Yard]) -> Vec<f64> {
    let most = yards.iter().map(|y| y.positive.min(1000)).max().unwrap_or(0) as usize;
    let mut reached = vec![0.0; most + 1];
    yards.iter().for_each(|y| reached[y.positive.min(1000) as usize] += 1.0);
    for j in (0..most).rev() {
        reached[j] += reached[j + 1];
    }
    reached[1..].to_vec()
}

/// Of fewer yards whose counts cluster no interval is told: Student's factor for two is 12.7, and the interval would run from nearly
/// nothing to millions.
const FEWEST: usize = 4;

/// The 95 % interval of the Breteau index, per 100 premises, from the inspected yards of a group of `premises`, and how it
/// was found; `None` when none was inspected, for a single yard with something in it, and where counts cluster in fewer than
/// four yards.
///
/// The rule: every premise seen, no doubt from sampling; nothing found, from 0 to 300/n (one-sided Poisson); counts that
/// vary no more than chance, Poisson; otherwise a negative binomial whose mean is taken on the logarithm, with Student's
/// factor for few yards and the correction for a finite number of premises.
///
/// # Source
/// J. F. Lawless, Can. J. Stat. 15 (1987), 209–225 (variance of a negative binomial mean, m/n + m²/(kn)), from memory;
/// the correction for a finite number is W. G. Cochran, Sampling Techniques (1977), 2.6.
///
/// ```
/// use yardring_core::measure::{Yard, breteau_interval};
/// let yards: Vec<Yard> = [0, 0, 3, 0, 1, 0, 0, 5].map(|positive| Yard { wet: 6, positive }).to_vec();
/// let (i, _) = breteau_interval(&yards, 400).unwrap();
/// assert!(i.low > 20.0 && i.low < 112.5 && i.high > 112.5);
/// ```
pub fn breteau_interval(yards: &[Yard], premises: u64) -> Option<(Interval, BreteauMethod)> {
    let n = yards.len() as f64;
    let sum: u64 = yards.iter().map(|y| u64::from(y.positive)).sum();
    // What was found is there, whatever the unseen yards hold.
    let sure = sum as f64 / (premises as f64).max(n);
    let share = |low: f64, high: f64| Interval { low: 100.0 * low.max(sure), high: 100.0 * high };
    if yards.is_empty() {
        return None;
    }
    if yards.len() as u64 >= premises {
        return Some((share(sum as f64 / n, sum as f64 / n), BreteauMethod::AllSeen));
    }
    if sum == 0 {
        return Some((share(0.0, -(0.05f64.ln()) / n), BreteauMethod::NonePositive));
    }
    let (mean, _) = moments(yards)?;
    let Some(by_moments) = dispersion_by_moments(yards) else {
        let (low, high) = poisson_limits(sum, 0.95);
        return Some((share(low / n, high / n), BreteauMethod::Poisson));
    };
    if yards.len() < FEWEST {
        return None;
    }
    let likely = dispersion_by_likelihood(yards);
    let deviation = left_unseen(yards.len(), premises).sqrt();
    let factor = log_factor(mean, likely.unwrap_or(by_moments), n, student_reach(0.95, n - 1.0) * deviation);
    let method = if likely.is_some() { BreteauMethod::NegativeBinomial } else { BreteauMethod::Moments };
    Some((share(mean / factor, mean * factor), method))
}

/// What the mean is multiplied and divided by: the exponential of `reach` standard errors of its logarithm.
fn log_factor(mean: f64, dispersion: f64, n: f64, reach: f64) -> f64 {
    (reach * (mean / n + mean * mean / (dispersion * n)).sqrt() / mean).exp()
}

/// The interval of the Breteau index by Student's distribution, per 100 premises, cut off at 0: for more than some fifty
/// yards, and to compare with. `None` below two yards.
///
/// # Source
/// W. G. Cochran, Sampling Techniques (1977), 2.8.
pub fn breteau_by_student(yards: &[Yard]) -> Option<Interval> {
    let (mean, variance) = moments(yards)?;
    let n = yards.len() as f64;
    let half = student_reach(0.95, n - 1.0) * (variance / n).sqrt();
    Some(Interval { low: (100.0 * (mean - half)).max(0.0), high: 100.0 * (mean + half) })
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Seven positive containers were counted in twelve of eighteen yards: 38.9 per 100 are there, however the rest turn out.
    #[test]
    fn no_interval_begins_below_what_was_found() {
        let alike: Vec<Yard> = (0..12).map(|i| Yard { wet: 3, positive: u32::from(i < 7) }).collect();
        let (poisson, how) = breteau_interval(&alike, 18).unwrap();
        assert!(how == BreteauMethod::Poisson && (poisson.low - 100.0 * 7.0 / 18.0).abs() < 1e-9, "{how:?} {poisson:?}");
        let (clustered, how) = breteau_interval(&twenty(), 22).unwrap();
        assert!(
            how == BreteauMethod::NegativeBinomial && clustered.low >= 100.0 * 17.0 / 22.0 - 1e-9 && clustered.high > 85.0,
            "{clustered:?}"
        );
    }

    /// The twenty yards of the science notes.
    pub(in crate::measure) fn twenty() -> Vec<Yard> {
        [1, 0, 2, 0, 0, 1, 0, 5, 0, 0, 3, 0, 0, 1, 0, 0, 0, 0, 4, 0].map(|positive| Yard { wet: 9, positive }).to_vec()
    }

    /// The twenty yards of the project's check values: 35.97 to 200.86 by statsmodels' likelihood and 1.96 standard errors.
    #[test]
    fn agrees_with_a_reference_library() {
        let k = dispersion_by_likelihood(&twenty()).unwrap();
        let factor = log_factor(0.85, k, 20.0, 1.959_964);
        assert!((85.0 / factor - 35.97).abs() < 0.01 && (85.0 * factor - 200.86).abs() < 0.01, "{factor}");
    }

    #[test]
    fn each_rule_at_its_place() {
        let of = |counts: &[u32], premises| {
            let yards: Vec<Yard> = counts.iter().map(|&positive| Yard { wet: 9, positive }).collect();
            breteau_interval(&yards, premises)
        };
        assert_eq!(of(&[], 10), None);
        assert_eq!(of(&[3], 10), None);
        assert_eq!(of(&[3, 0], 2), Some((Interval { low: 150.0, high: 150.0 }, BreteauMethod::AllSeen)));
        let (none, method) = of(&[0; 30], 100).unwrap();
        assert!((none.high - 9.986).abs() < 1e-3 && method == BreteauMethod::NonePositive);
        assert_eq!(of(&[1, 0, 1, 0, 1, 0], 100).unwrap().1, BreteauMethod::Poisson);
        assert_eq!(breteau_interval(&twenty(), 60).unwrap().1, BreteauMethod::NegativeBinomial);
    }

    proptest! {
        #[test]
        fn holds_its_estimate(counts in proptest::collection::vec(0u32..40, FEWEST..60), more in 0u64..200) {
            let yards: Vec<Yard> = counts.iter().map(|&positive| Yard { wet: positive, positive }).collect();
            let (i, _) = breteau_interval(&yards, yards.len() as u64 + more).unwrap();
            let index = 100.0 * counts.iter().sum::<u32>() as f64 / counts.len() as f64;
            prop_assert!(i.low >= 0.0 && i.low <= index * (1.0 + 1e-12) && index <= i.high * (1.0 + 1e-12), "{i:?} {index}");
        }
    }

    #[test]
    fn clustered_counts_of_two_or_three_yards_have_no_interval() {
        let of = |counts: &[u32]| {
            let yards: Vec<Yard> = counts.iter().map(|&positive| Yard { wet: positive + 1, positive }).collect();
            breteau_interval(&yards, 60)
        };
        assert_eq!((of(&[0, 2]), of(&[0, 0, 9])), (None, None));
        let (four, _) = of(&[0, 0, 3, 1]).unwrap();
        assert!(four.low > 1.0 && four.high < 5000.0, "{four:?}");
        assert!(of(&[1, 1]).is_some(), "counts that vary no more than chance have one");
    }
}
