//! The plain model: what was found nearby, weighed by distance, and the district's own rate.

use super::folds::Folds;
use super::near::Near;
use super::scores::log_loss;
use super::yards::Yards;
use crate::job::{Cancelled, Watch};
use crate::place::Local;
use rayon::prelude::*;

/// What is done meanwhile, in words.
const LEARNING: &str = "learning how far breeding spreads";

/// Weights are followed out to this many lengths; the next would be below 1.2 %.
pub(super) const FOLLOWED: f64 = 3.0;

/// The kernel beta-binomial model: positives and inspected yards nearby, each weighed by exp(−d²/2h²), added to a prior worth
/// so many yards at the district's rate.
///
/// # Source
/// Kernel weighting with a beta prior: the project's scientific reference, section 7.2 (its worked figures are a test here).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Kernel {
    /// The length h, in metres.
    pub length: f64,
    /// How many yards the prior is worth.
    pub weight: f64,
    /// The district's rate.
    pub rate: f64,
}

/// Weighed inspected yards near a place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Nearby {
    /// Weighed number of positive yards.
    pub positive: f64,
    /// Weighed number of inspected yards.
    pub inspected: f64,
    /// How many yards had a weight.
    pub yards: u32,
}

impl Kernel {
    /// The chance, given what is near.
    pub(super) fn chance(&self, n: &Nearby) -> f64 {
        (self.rate * self.weight + n.positive) / (self.weight + n.inspected)
    }

    /// The standard deviation of the log odds of the chance.
    ///
    /// # Source
    /// The delta method for a beta distribution: 1/a + 1/b; from memory.
    pub(super) fn log_odds_deviation(&self, n: &Nearby) -> f64 {
        let a = self.rate * self.weight + n.positive;
        let b = (1.0 - self.rate) * self.weight + n.inspected - n.positive;
        (1.0 / a + 1.0 / b).sqrt()
    }
}

/// What lies near a place, among the inspected yards that `counts` lets through and the looks from outside that `look_counts` does.
pub(super) fn nearby(
    yards: &Yards,
    near: &Near,
    p: Local,
    length: f64,
    counts: impl Fn(usize) -> bool,
    look_counts: impl Fn(usize) -> bool,
) -> Nearby {
    let weight = |squared: f64| (-squared / (2.0 * length * length)).exp();
    let mut out = Nearby::default();
    near.each(p, FOLLOWED * length, |j, squared| {
        if counts(j) {
            let weight = weight(squared);
            out.positive += weight * yards.outcome(j);
            out.inspected += weight;
            out.yards += 1;
        }
    });
    let looks = &yards.looks;
    looks.near.each(p, FOLLOWED * length, |k, squared| {
        if look_counts(k) {
            let weight = weight(squared) * looks.weight(k);
            out.positive += if looks.all[k].larvae { weight } else { 0.0 };
            out.inspected += weight;
        }
    });
    out
}

/// The length and the weight of the prior that foretell the yards of the parts set aside best, and what they foretell.
///
/// Lengths are tried from twice the usual distance between inspected yards, prior weights from one yard, each by factors of
/// √2, until two lengths in a row were no better.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub(super) fn learnt(yards: &Yards, near: &Near, folds: &Folds, watch: &dyn Watch) -> Result<(Kernel, Vec<f64>), Cancelled> {
    let shortest = 2.0 * near.usual_spacing().max(1.0);
    let mut best: Option<(f64, Kernel, Vec<f64>)> = None;
    for rung in 0..LENGTHS {
        watch.step(LEARNING, rung, LENGTHS)?;
        let length = shortest * 2f64.powf(rung as f64 / 2.0);
        let found = held_out(yards, near, folds, length, watch);
        watch.step(LEARNING, rung, LENGTHS)?;
        for weight in (0..WEIGHTS).map(|k| 2f64.powf(f64::from(k) / 2.0)) {
            let kernel = Kernel { length, weight, rate: yards.rate() };
            let chances: Vec<f64> = found.iter().map(|n| kernel.chance(n)).collect();
            let loss = log_loss(&yards.positive, &chances);
            if best.as_ref().is_none_or(|b| loss < b.0) {
                best = Some((loss, kernel, chances));
            }
        }
        let chosen = best.as_ref().map_or(length, |b| b.1.length);
        if length > 1.9 * chosen {
            break;
        }
    }
    let whole = Kernel { length: shortest, weight: 1.0, rate: yards.rate() };
    Ok(best.map_or((whole, Vec::new()), |b| (b.1, b.2)))
}

/// How many lengths are tried at most: up to 32 times the shortest.
const LENGTHS: u64 = 11;

/// How many prior weights are tried: up to 181 yards.
const WEIGHTS: u32 = 16;

/// What lies near each inspected yard, among those that may be learnt from while it is set aside; nothing once somebody asked to stop.
fn held_out(yards: &Yards, near: &Near, folds: &Folds, length: f64, watch: &dyn Watch) -> Vec<Nearby> {
    let one = |i: usize| {
        if watch.cancelled() {
            return Nearby::default();
        }
        let fold = folds.fold(i);
        nearby(yards, near, yards.at[i], length, |j| folds.learnt(j, fold), |k| folds.look_learnt(k, fold))
    };
    (0..yards.seen.len()).into_par_iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::super::looks::Looks;
    use super::*;

    /// The worked figures of the project's scientific reference, section 7.2: five yards 20, 35, 60, 90 and 150 m away, the
    /// first and the third positive, h = 50 m, a rate of 0.15, a prior of four yards. The yard at 150 m is three lengths away.
    #[test]
    fn agrees_with_the_worked_figures() {
        let at: Vec<Local> = [20.0, 35.0, 60.0, 90.0, 150.0].iter().map(|&x| Local { x, y: 0.0 }).collect();
        let yards = Yards {
            place: at.iter().copied().map(Some).collect(),
            seen: (0..5).collect(),
            positive: vec![true, false, true, false, false],
            block: vec![None; 5],
            day: vec![None; 5],
            at: at.clone(),
            looks: Looks::default(),
        };
        let n = nearby(&yards, &Near::new(&at), Local { x: 0.0, y: 0.0 }, 50.0, |_| true, |_| true);
        assert!((n.positive - 1.409_869).abs() < 1e-6 && (n.inspected - 2.401_581).abs() < 1e-6, "{n:?}");
        let kernel = Kernel { length: 50.0, weight: 4.0, rate: 0.15 };
        assert!((kernel.chance(&n) - 0.313_964).abs() < 1e-6);
    }
}
