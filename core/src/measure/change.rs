//! Did it work: change between rounds, beside an area where nothing was done.

use super::interval::score_interval;
use super::special::{normal_above, normal_reach};
use super::{Interval, Score};
use crate::survey::Standing;

/// Per cent less after than before, with nothing to compare: rain and season work too. `None` when there was nothing before.
///
/// # Source
/// 100 (1 − after/before), common practice.
pub fn reduction_without_control(before: f64, after: f64) -> Option<f64> {
    (before > 0.0).then(|| 100.0 * (1.0 - after / before))
}

/// The 95 % interval of [`reduction_without_control`] when both are counts of as many yards, in per cent; where nothing was
/// left, half a count is added to both. `None` as there. Counts that cluster make it too narrow.
///
/// # Source
/// The logarithm of a ratio of Poisson counts: variance 1/before + 1/after; common practice.
pub fn reduction_interval(before: f64, after: f64) -> Option<Interval> {
    reduction_without_control(before, after)?;
    let add = if after > 0.0 { 0.0 } else { 0.5 };
    let (a, b) = (before + add, after + add);
    let factor = (normal_reach(0.95) * (1.0 / a + 1.0 / b).sqrt()).exp();
    Some(Interval { low: 100.0 * (1.0 - b / a * factor), high: 100.0 * (1.0 - b / a / factor) })
}

/// Per cent less where something was done than would have been without it, going by a control area; below 0 when it went
/// worse than there. `None` when the controls vanished or there was nothing to reduce.
///
/// # Source
/// M. S. Mulla et al., Mosq. News 31 (1971), 92–97; the same number as C. F. Henderson and E. W. Tilton, J. Econ. Entomol. 48
/// (1955), 157–161; both from memory.
///
/// ```
/// use yardring_core::measure::control_adjusted;
/// assert_eq!(control_adjusted(30.0, 40.0, 60.0, 10.0), Some(87.5));
/// assert_eq!(control_adjusted(30.0, 0.0, 60.0, 10.0), None);
/// ```
pub fn control_adjusted(control_before: f64, treated_before: f64, control_after: f64, treated_after: f64) -> Option<f64> {
    let sound = control_before > 0.0 && treated_before > 0.0 && control_after > 0.0;
    sound.then(|| 100.0 - control_before / treated_before * (treated_after / control_after) * 100.0)
}

/// The 95 % interval of [`control_adjusted`] when the four are counts, in per cent. Where the treated count after is 0, half
/// a container is added to all four. `None` as there. Counts that cluster make it too narrow.
///
/// # Source
/// The logarithm of a ratio of ratios of Poisson counts: variance 1/C1 + 1/C2 + 1/T1 + 1/T2; common practice.
pub fn control_adjusted_interval(control_before: f64, treated_before: f64, control_after: f64, treated_after: f64) -> Option<Interval> {
    control_adjusted(control_before, treated_before, control_after, treated_after)?;
    let add = if treated_after > 0.0 { 0.0 } else { 0.5 };
    let [c1, t1, c2, t2] = [control_before, treated_before, control_after, treated_after].map(|n| n + add);
    let left = c1 / t1 * (t2 / c2);
    let factor = (normal_reach(0.95) * (1.0 / c1 + 1.0 / c2 + 1.0 / t1 + 1.0 / t2).sqrt()).exp();
    Some(Interval { low: 100.0 * (1.0 - left * factor), high: 100.0 * (1.0 - left / factor) })
}

/// Per cent of those alive in the check that the treatment killed. `None` when nothing lived in the check.
///
/// # Source
/// W. S. Abbott, J. Econ. Entomol. 18 (1925), 265–267.
pub fn abbott(living_in_check: f64, living_in_treated: f64) -> Option<f64> {
    (living_in_check > 0.0).then(|| 100.0 * (living_in_check - living_in_treated) / living_in_check)
}

/// The same premises inspected before and after.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Paired {
    /// Positive both times.
    pub stayed_positive: u64,
    /// Positive before, not after.
    pub became_negative: u64,
    /// Positive after, not before.
    pub became_positive: u64,
    /// Positive neither time.
    pub stayed_negative: u64,
}

/// How premises inspected in both rounds changed; both in the order of the premises.
pub fn paired(before: &[Standing], after: &[Standing]) -> Paired {
    let mut out = Paired::default();
    for (a, b) in before.iter().zip(after).filter(|(a, b)| a.inspected() && b.inspected()) {
        *match (a.positive(), b.positive()) {
            (true, true) => &mut out.stayed_positive,
            (true, false) => &mut out.became_negative,
            (false, true) => &mut out.became_positive,
            (false, false) => &mut out.stayed_negative,
        } += 1;
    }
    out
}

impl Paired {
    /// Premises inspected both times.
    pub fn premises(&self) -> u64 {
        self.stayed_positive + self.became_negative + self.became_positive + self.stayed_negative
    }

    /// The two-sided chance of so uneven a change if nothing had changed; `None` when no premise changed.
    ///
    /// # Source
    /// Q. McNemar, Psychometrika 12 (1947), 153–157, by the binomial distribution.
    pub fn exact_p(&self) -> Option<f64> {
        let n = self.became_negative + self.became_positive;
        let fewer = self.became_negative.min(self.became_positive);
        let tail = super::special::beta_below(0.5, (n - fewer) as f64, fewer as f64 + 1.0);
        (n > 0).then(|| (2.0 * tail).min(1.0))
    }

    /// The change of the house index, per 100: after less before, so below 0 is better. `None` when none was inspected twice.
    ///
    /// # Source
    /// R. G. Newcombe, Stat. Med. 17 (1998), 2635–2650, method 10 (score intervals of two shares of the same premises), from
    /// memory.
    pub fn change(&self) -> Option<Change> {
        let n = self.premises() as f64;
        if n == 0.0 {
            return None;
        }
        let (a, b) = (self.stayed_positive as f64, self.became_negative as f64);
        let (c, d) = (self.became_positive as f64, self.stayed_negative as f64);
        let sides = (a + b) * (c + d) * (a + c) * (b + d);
        let over = a * d - b * c;
        let over = if over > n / 2.0 { over - n / 2.0 } else { over.min(0.0) };
        let like = if sides > 0.0 { over / sides.sqrt() } else { 0.0 };
        Some(by_scores((a + c) / n, n, (a + b) / n, n, like))
    }
}

/// A difference of two rates per 100, with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// After less before, per 100.
    pub difference: f64,
    /// The interval of the difference.
    pub interval: Interval,
}

/// The change of a share between two samples of other premises, per 100: `positive` of `of`, after less before. `None` when
/// nothing was looked at in one of them.
///
/// # Source
/// R. G. Newcombe, Stat. Med. 17 (1998), 873–890, method 10, from memory.
///
/// ```
/// use yardring_core::measure::difference_of_shares;
/// let change = difference_of_shares((22, 190), (40, 200)).unwrap();
/// assert!((change.difference - 8.42).abs() < 0.01 && (change.interval.low - 1.14).abs() < 0.01);
/// ```
pub fn difference_of_shares(before: (u64, u64), after: (u64, u64)) -> Option<Change> {
    let share = |(x, n): (u64, u64)| (n > 0).then(|| (x.min(n) as f64 / n as f64, n as f64));
    let ((p2, n2), (p1, n1)) = (share(before)?, share(after)?);
    Some(by_scores(p1, n1, p2, n2, 0.0))
}

/// The interval of p1 − p2 from the score intervals of both; `like` is how much the two go together.
fn by_scores(p1: f64, n1: f64, p2: f64, n2: f64, like: f64) -> Change {
    let z = normal_reach(0.95);
    let (i1, i2) = (score_interval(p1, n1, z), score_interval(p2, n2, z));
    let far = |a: f64, b: f64| (a * a - 2.0 * like * a * b + b * b).max(0.0).sqrt();
    let difference = p1 - p2;
    let low = difference - far(p1 - i1.low, i2.high - p2);
    let high = difference + far(i1.high - p1, p2 - i2.low);
    Change { difference: 100.0 * difference, interval: Interval { low, high }.per_hundred() }
}

impl Change {
    /// The score of a difference of two shares as if there were one: z of the pooled test, two-sided.
    ///
    /// # Source
    /// The usual test of two shares, without correction; common practice.
    pub fn pooled_score(before: (u64, u64), after: (u64, u64)) -> Option<Score> {
        let ((x2, n2), (x1, n1)) = (before, after);
        let pooled = (x1 + x2) as f64 / (n1 + n2).max(1) as f64;
        let error = (pooled * (1.0 - pooled) * (1.0 / n1 as f64 + 1.0 / n2 as f64)).sqrt();
        let z = (x1 as f64 / n1 as f64 - x2 as f64 / n2 as f64) / error;
        (error > 0.0 && z.is_finite()).then(|| Score { z, p: (2.0 * normal_above(z.abs())).min(1.0) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::VisitId;

    /// 40 of 200 against 22 of 190 (statsmodels 0.15.0: 1.14 to 15.60, z 2.273, p 0.0230).
    #[test]
    fn two_samples() {
        let change = difference_of_shares((22, 190), (40, 200)).unwrap();
        assert!((change.interval.high - 15.60).abs() < 0.01);
        let score = Change::pooled_score((22, 190), (40, 200)).unwrap();
        assert!((score.z - 2.273).abs() < 1e-3 && (score.p - 0.0230).abs() < 1e-4);
        assert_eq!(difference_of_shares((0, 0), (1, 2)), None);
    }

    #[test]
    fn the_same_premises_twice() {
        let seen = |positive| Standing { counted: Some(VisitId(0)), positive_containers: positive, ..Standing::default() };
        let before = [seen(1), seen(2), seen(0), seen(0), Standing::default(), seen(4)];
        let after = [seen(0), seen(1), seen(3), seen(0), seen(1), Standing::default()];
        let found = paired(&before, &after);
        assert_eq!(found, Paired { stayed_positive: 1, became_negative: 1, became_positive: 1, stayed_negative: 1 });
        assert_eq!(Paired::default().exact_p(), None);
        let fewer = Paired { stayed_positive: 12, became_negative: 18, became_positive: 5, stayed_negative: 90 };
        let (pair, apart) = (fewer.change().unwrap(), difference_of_shares((30, 125), (17, 125)).unwrap());
        assert!((pair.difference + 10.4).abs() < 1e-9 && pair.interval.high < 0.0);
        assert!(pair.interval.low > apart.interval.low && pair.interval.high < apart.interval.high);
    }

    #[test]
    fn nothing_left_still_has_an_interval() {
        let i = control_adjusted_interval(50.0, 60.0, 55.0, 0.0).unwrap();
        assert!(i.low > 80.0 && i.high < 100.0, "{i:?}");
        assert_eq!(control_adjusted_interval(0.0, 60.0, 55.0, 6.0), None);
    }
}
