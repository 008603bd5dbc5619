//! The plain rates that chances have to beat: the district's and the block's.

use super::scores::log_loss;
use super::yards::Yards;

/// How many yards the district's rate is worth in a block's, at most: factors of √2 from one yard to 181.
const WEIGHTS: i32 = 16;

/// One rate for all: that of the yards judged themselves, the best that one rate can do. The rate of the yards learnt from would
/// be low wherever many positives are set aside and high wherever few are, so that anything beats it.
pub(super) fn overall(yards: &Yards) -> Vec<f64> {
    vec![yards.positives() as f64 / yards.seen.len().max(1) as f64; yards.seen.len()]
}

/// How many yards of each block were inspected and how many were positive.
#[derive(Clone, Debug)]
pub(super) struct BlockRates {
    counts: Vec<(f64, f64)>,
    rate: f64,
    weight: f64,
}

impl BlockRates {
    /// Learns them; `group` is the block of each yard. The district's rate is worth as many yards as foretells yards left out of
    /// their own block's rate best.
    ///
    /// # Source
    /// The beta-binomial rate (Sm + y)/(S + n) with S by leaving one out; the project's scientific reference, section 6.3.
    pub(super) fn learnt(yards: &Yards, group: &[u32]) -> Self {
        let groups = group.iter().max().map_or(0, |&g| g as usize + 1);
        let mut counts = vec![(0.0, 0.0); groups];
        for (i, &g) in group.iter().enumerate() {
            let c = &mut counts[g as usize];
            *c = (c.0 + yards.outcome(i), c.1 + 1.0);
        }
        let mut best = Self { counts, rate: yards.rate(), weight: 1.0 };
        let mut least = f64::INFINITY;
        for weight in (0..WEIGHTS).map(|k| 2f64.powf(f64::from(k) / 2.0)) {
            let tried = Self { weight, ..best.clone() };
            let loss = log_loss(&yards.positive, &tried.left_out(yards, group));
            if loss < least {
                (best, least) = (tried, loss);
            }
        }
        best
    }

    /// The rate of each yard's block without the yard itself.
    pub(super) fn left_out(&self, yards: &Yards, group: &[u32]) -> Vec<f64> {
        let one = |(i, &g): (usize, &u32)| {
            let (positive, all) = self.counts[g as usize];
            self.drawn(positive - yards.outcome(i), all - 1.0)
        };
        group.iter().enumerate().map(one).collect()
    }

    /// The rate of a block; the district's where nobody was inspected.
    pub(super) fn of(&self, group: Option<u32>) -> f64 {
        let (positive, all) = group.and_then(|g| self.counts.get(g as usize).copied()).unwrap_or_default();
        self.drawn(positive, all)
    }

    fn drawn(&self, positive: f64, all: f64) -> f64 {
        (positive + self.weight * self.rate) / (all + self.weight)
    }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::district;
    use super::*;

    #[test]
    fn a_yard_does_not_tell_of_itself_and_an_unseen_block_has_the_rate_of_all() {
        let (survey, standings) = district(30, 0.6, 0.05, 4);
        let yards = Yards::of(&survey, &standings);
        let folds = super::super::folds::Folds::of(&yards, &super::super::near::Near::new(&yards.at));
        let rates = BlockRates::learnt(&yards, folds.groups());
        let out = rates.left_out(&yards, folds.groups());
        let own = |i: usize| rates.of(Some(folds.groups()[i]));
        for (i, (&positive, &left)) in yards.positive.iter().zip(&out).enumerate() {
            assert_eq!(positive, left < own(i), "leaving a positive yard out lowers its block's rate");
        }
        assert!((rates.of(None) - yards.rate()).abs() < 1e-12);
        let mean = |west: bool| {
            let part: Vec<f64> = (0..out.len()).filter(|&i| (yards.at[i].x < 250.0) == west).map(|i| out[i]).collect();
            part.iter().sum::<f64>() / part.len() as f64
        };
        assert!(mean(true) > mean(false) + 0.2);
    }
}
