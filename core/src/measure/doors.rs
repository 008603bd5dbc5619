//! How many doors are enough: to say how bad, to find at least one, and to stop early.

use super::exact::{Urn, first};
use super::special::normal_reach;

/// What is wrong with a question about doors.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum DoorsError {
    /// A share must lie strictly between 0 and 1.
    #[error("{what} must lie between 0 and 1; found {found}")]
    NotAShare {
        /// Which number.
        what: &'static str,
        /// What was given.
        found: f64,
    },
    /// There is nothing to inspect.
    #[error("the number of premises must be at least 1")]
    NoPremises,
    /// A design effect that cannot be.
    #[error("the design effect must be 1 or more; found {found}")]
    NoDesignEffect {
        /// What was given.
        found: f64,
    },
    /// The share that counts as low is not below the one that counts as high.
    #[error("what counts as low ({low}) must be below what counts as high ({high})")]
    LowNotBelowHigh {
        /// What counts as low.
        low: f64,
        /// What counts as high.
        high: f64,
    },
    /// More of a part than of the whole.
    #[error("{part} ({found}) cannot be more than {whole} ({most})")]
    TooMany {
        /// The part.
        part: &'static str,
        /// How many of it.
        found: u64,
        /// The whole.
        whole: &'static str,
        /// How many of it.
        most: u64,
    },
}

impl crate::error::Hint for DoorsError {
    fn hint(&self) -> String {
        match self {
            Self::NotAShare { .. } => "Write shares as 0.05 for 5 %",
            Self::NoDesignEffect { .. } => "Give 1 for yards that do not cluster, about 1.5 for yards that do",
            Self::LowNotBelowHigh { .. } => "Give two shares apart, such as 0.01 and 0.05",
            Self::NoPremises => "Give the number of premises of the block or the area",
            Self::TooMany { .. } => "Check which number is which",
        }
        .to_owned()
    }
}

/// Checks that a number is a share strictly between 0 and 1.
///
/// # Errors
/// [`DoorsError::NotAShare`] when it is not.
pub fn proper_share(what: &'static str, found: f64) -> Result<f64, DoorsError> {
    if found > 0.0 && found < 1.0 { Ok(found) } else { Err(DoorsError::NotAShare { what, found }) }
}

/// How many doors estimate a share of about `expected` within ± `within` at a confidence, were there no end of premises;
/// not rounded.
///
/// # Source
/// W. G. Cochran, Sampling Techniques (1977), 4.4: n = z² p q / d².
///
/// ```
/// use yardring_core::measure::doors_to_estimate;
/// assert!((doors_to_estimate(0.5, 0.05, 0.95) - 384.146).abs() < 1e-3);
/// ```
pub fn doors_to_estimate(expected: f64, within: f64, confidence: f64) -> f64 {
    (normal_reach(confidence) / within).powi(2) * expected * (1.0 - expected)
}

/// The same number of doors once there are only so many premises; not rounded. Round up.
///
/// # Source
/// Cochran (1977), 4.4: n / (1 + (n − 1) / N).
pub fn among(doors: f64, premises: u64) -> f64 {
    doors / (1.0 + (doors - 1.0) / premises as f64)
}

/// The number of R. V. Krejcie and D. W. Morgan's table for a population (95 %, ± 5 %, share a half). Their table rounds to
/// the nearest, so it may stop one short of what was promised: plan with [`among`], rounded up.
///
/// # Source
/// Educ. Psychol. Meas. 30 (1970), 607–610, χ² = 3.841; from memory.
pub fn krejcie_morgan(premises: u64) -> u64 {
    let spread = 3.841 * 0.25;
    (spread * premises as f64 / (0.0025 * (premises as f64 - 1.0) + spread)).round() as u64
}

/// How many premises a share of them is: at least 1, to the nearest.
pub fn positives_at(premises: u64, share: f64) -> u64 {
    ((premises as f64 * share).round() as u64).clamp(1, premises.max(1))
}

/// The chance to find at least one positive premise when `seen` of `premises` are inspected and `positive` of them are, and
/// an inspector sees what is there with chance `sight`.
///
/// # Source
/// With full sight the hypergeometric distribution; otherwise R. M. MacDiarmid, N. Z. Vet. J. 36 (1988), 39–42:
/// 1 − (1 − n·Se/N)^D, from memory.
pub fn chance_to_find(seen: u64, premises: u64, positive: u64, sight: f64) -> f64 {
    if sight >= 1.0 {
        return Urn { premises, positive, seen: seen.min(premises) }.at_least(1);
    }
    1.0 - (1.0 - seen.min(premises) as f64 * sight / premises as f64).powf(positive as f64)
}

/// How many doors find at least one positive premise with a confidence, should `positive` of `premises` be positive and an
/// inspector see what is there with chance `sight`; `None` when even all of them do not.
///
/// # Source
/// See [`chance_to_find`]; the smallest number that reaches the confidence.
///
/// ```
/// use yardring_core::measure::doors_to_find;
/// assert_eq!(doors_to_find(1000, 20, 1.0, 0.95), Some(138));
/// assert_eq!(doors_to_find(200, 10, 0.8, 0.95), Some(65));
/// ```
pub fn doors_to_find(premises: u64, positive: u64, sight: f64, confidence: f64) -> Option<u64> {
    // A confidence reached but for rounding is reached: 19 of 20 seen is 0.95, not 0.949999.
    let enough = |n: u64| chance_to_find(n, premises, positive, sight) >= confidence - 1e-12;
    enough(premises).then(|| first(0, premises, enough))
}

/// How many doors find at least one when there is no end of premises of which a share is positive.
///
/// # Source
/// ln(1 − confidence) / ln(1 − share), rounded up; common practice.
pub fn doors_to_find_without_end(share: f64, confidence: f64) -> u64 {
    ((1.0 - confidence).ln() / (1.0 - share).ln() - 1e-9).ceil() as u64
}

/// The approximate number of doors to find one, in closed form; rounded up.
///
/// # Source
/// R. M. Cannon and R. T. Roe, Livestock Disease Surveys (1982): [1 − (1 − C)^(1/D)] · [N − (D − 1)/2]; from memory.
pub fn cannon_roe(premises: u64, positive: u64, confidence: f64) -> u64 {
    let d = positive as f64;
    ((1.0 - (1.0 - confidence).powf(1.0 / d)) * (premises as f64 - (d - 1.0) / 2.0)).ceil() as u64
}

/// The other way round: nothing found at `seen` of `premises`, how many of all may still be positive at a confidence. An inspector sees
/// what is there with chance `sight`; below 1, premises that were seen may be positive too.
///
/// # Source
/// The largest number whose chance to stay unseen is above 1 − confidence, by [`chance_to_find`].
///
/// ```
/// use yardring_core::measure::most_left;
/// assert_eq!(most_left(200, 60, 1.0, 0.95), 8);
/// assert_eq!((most_left(40, 40, 1.0, 0.95), most_left(40, 40, 0.8, 0.95)), (0, 1));
/// ```
pub fn most_left(premises: u64, seen: u64, sight: f64, confidence: f64) -> u64 {
    let most = if sight < 1.0 { premises } else { premises.saturating_sub(seen) };
    let found = |d: u64| d > most || chance_to_find(seen, premises, d, sight) >= confidence - 1e-12;
    first(0, most + 1, found).saturating_sub(1)
}

/// How many doors must be tried so that so many open, when `access` of those tried do, 0 to 1; rounded up.
///
/// # Source
/// Science of sampling with refusals: the number wanted divided by the expected access rate, common practice.
///
/// ```
/// use yardring_core::measure::doors_to_try;
/// assert_eq!(doors_to_try(105, 0.74), 142);
/// ```
pub fn doors_to_try(doors: u64, access: f64) -> u64 {
    (doors as f64 / access - 1e-9).ceil() as u64
}

/// The share found in some visits when each finds a share of what is there, each by its own chance.
///
/// # Source
/// 1 − (1 − s)^v.
pub fn found_in_visits(sight: f64, visits: u32) -> f64 {
    1.0 - (1.0 - sight).powi(visits as i32)
}

/// How many doors, drawn at once, tell a share of `low` from one of `high` with such chances of error: a plan that may stop early is given
/// up after three times as many. Not rounded.
///
/// # Source
/// J. L. Fleiss, Statistical Methods for Rates and Proportions (1981), 1.5, one-sided, without a correction for continuity; from memory.
pub fn doors_to_tell_apart(low: f64, high: f64, false_alarm: f64, miss: f64) -> f64 {
    let reach = |error: f64| normal_reach(1.0 - 2.0 * error);
    let spread = |share: f64| (share * (1.0 - share)).sqrt();
    ((reach(false_alarm) * spread(low) + reach(miss) * spread(high)) / (high - low)).powi(2)
}

/// A plan that looks after every door whether enough is known: the share is `low`, or it is `high`, or go on.
///
/// # Source
/// A. Wald, Sequential Analysis (1947), chapter 5; from memory. Doors must come in random order, not along the street.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stopping {
    /// Positive premises by which both lines rise a door.
    pub slope: f64,
    /// The upper line at no door: at or above it the share is high.
    pub upper: f64,
    /// The lower line at no door: at or below it the share is low.
    pub lower: f64,
}

/// What the doors so far say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The share is the low one, or less.
    Low,
    /// The share is the high one, or more.
    High,
    /// Not enough is known yet.
    GoOn,
}

impl Stopping {
    /// The plan that calls a `low` share high with chance `false_alarm` at most, and a `high` share low with chance `miss`.
    pub fn between(low: f64, high: f64, false_alarm: f64, miss: f64) -> Self {
        let scale = (high * (1.0 - low) / (low * (1.0 - high))).ln();
        Self {
            slope: ((1.0 - low) / (1.0 - high)).ln() / scale,
            upper: ((1.0 - miss) / false_alarm).ln() / scale,
            lower: -((1.0 - false_alarm) / miss).ln() / scale,
        }
    }

    /// What some positive premises among some doors say.
    pub fn verdict(&self, doors: u64, positive: u64) -> Verdict {
        let over = positive as f64 - self.slope * doors as f64;
        match () {
            () if over >= self.upper => Verdict::High,
            () if over <= self.lower => Verdict::Low,
            () => Verdict::GoOn,
        }
    }

    /// Doors without a positive after which the share is called low.
    pub fn clear_after(&self) -> u64 {
        (-self.lower / self.slope).ceil() as u64
    }

    /// The door from which the share is low with so many positive so far.
    pub fn low_from(&self, positive: u64) -> u64 {
        ((positive as f64 - self.lower) / self.slope - 1e-9).ceil() as u64
    }

    /// The positive premises from which the share is high after so many doors.
    pub fn high_from(&self, doors: u64) -> u64 {
        (self.upper + self.slope * doors as f64 - 1e-9).ceil().max(1.0) as u64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The table of Cannon and Roe (1982), also WHO/PAHO guidelines (from memory), for 1, 2, 5 and 10 % and a confidence of 95 %.
    #[test]
    fn agrees_with_the_published_table() {
        let rows = [
            (100, [95, 78, 45, 25]),
            (200, [155, 105, 51, 27]),
            (300, [189, 117, 54, 28]),
            (400, [211, 124, 55, 28]),
            (500, [225, 129, 56, 28]),
            (1000, [258, 138, 57, 29]),
            (2000, [277, 143, 58, 29]),
            (5000, [290, 147, 59, 29]),
            (10_000, [294, 148, 59, 29]),
        ];
        for (premises, doors) in rows {
            for (share, expected) in [0.01, 0.02, 0.05, 0.1].into_iter().zip(doors) {
                let positive = positives_at(premises, share);
                assert_eq!(doors_to_find(premises, positive, 1.0, 0.95), Some(expected), "{premises} at {share}");
                assert_eq!(cannon_roe(premises, positive, 0.95), expected, "{premises} at {share}");
            }
        }
        assert_eq!((doors_to_find(1600, 16, 1.0, 0.99), cannon_roe(1600, 16, 0.99)), (Some(399), 399));
    }

    /// Small blocks and the question turned round, worked out with scipy's hypergeometric distribution.
    #[test]
    fn small_blocks() {
        let small = [(20, 1, 19), (30, 1, 29), (30, 2, 23), (30, 3, 19), (50, 1, 48), (50, 2, 39), (50, 5, 22)];
        small.iter().for_each(|&(n, d, doors)| assert_eq!(doors_to_find(n, d, 1.0, 0.95), Some(doors), "{d} of {n}"));
        let left = |all, seen, sight| most_left(all, seen, sight, 0.95);
        assert_eq!([left(200, 60, 1.0), left(100, 45, 1.0), left(40, 36, 1.0)], [8, 4, 1]);
        // 1 − (1 − n·Se/N)^D in Python for every D.
        assert_eq!([left(200, 60, 0.8), left(40, 40, 0.8), left(40, 36, 0.9)], [10, 1, 1]);
        assert_eq!(doors_to_find(500, 10, 0.9, 0.95), Some(144));
        assert_eq!(doors_to_find(50, 1, 0.8, 0.95), None);
    }

    /// Wald's plan for other shares, worked out by hand from the formula: 41 and 74 clear doors.
    #[test]
    fn stops_early() {
        assert_eq!(Stopping::between(0.05, 0.10, 0.1, 0.1).clear_after(), 41);
        assert_eq!(Stopping::between(0.01, 0.04, 0.05, 0.10).clear_after(), 74);
        let plan = Stopping::between(0.01, 0.05, 0.1, 0.1);
        // ±1.331102 and .0249854 a door: 1 + 1.331102 is reached at door 94, 2 positive are too many up to door 26.
        assert_eq!([plan.low_from(0), plan.low_from(1), plan.high_from(26), plan.high_from(27)], [54, 94, 2, 3]);
        // (1.281552·√.0099 + 1.281552·√.0475)² / .0016, scipy's norm.ppf(.9).
        assert!((doors_to_tell_apart(0.01, 0.05, 0.1, 0.1) - 103.4).abs() < 0.1);
        assert_eq!([plan.verdict(54, 0), plan.verdict(53, 0), plan.verdict(5, 2)], [Verdict::Low, Verdict::GoOn, Verdict::High]);
    }

    proptest! {
        #[test]
        fn enough_doors_are_enough_and_one_less_is_not(premises in 1u64..800, share in 0.0f64..1.0, confidence in 0.5f64..0.999) {
            let positive = positives_at(premises, share);
            let doors = doors_to_find(premises, positive, 1.0, confidence).unwrap();
            prop_assert!(chance_to_find(doors, premises, positive, 1.0) >= confidence - 1e-9);
            prop_assert!(doors == 0 || chance_to_find(doors - 1, premises, positive, 1.0) < confidence + 1e-9);
            let left = most_left(premises, doors, 1.0, confidence);
            prop_assert!(left < positive, "{left} may be left of {positive}");
        }
    }
}
