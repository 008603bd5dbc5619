//! Judging chances on yards that were not learnt from: scores, a calibration curve, and whether luck alone does as well.

use super::scores::{Scores, log_gain};
use crate::measure::{Interval, student_reach, wilson};

/// How many parts of equal size the calibration curve has.
const PARTS: usize = 10;

/// How sure it must be that chances beat one rate for all: the lower end of this two-sided interval must be above 0. Chance
/// alone gets past it in one of forty districts.
///
/// # Source
/// Common practice, no source: the usual 95 %.
const SURE: f64 = 0.95;

/// How chances did on yards that they were not learnt from.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// How many yards they were judged on.
    pub yards: usize,
    /// How many of those were positive.
    pub positive: usize,
    /// Scores of the chances.
    pub scores: Scores,
    /// Scores when every yard gets one rate: on blocks set aside that of the yards judged, the best one; forward in time that of
    /// the yards learnt from.
    pub overall: Scores,
    /// Scores when every yard gets the rate of its own block, drawn towards the district's where few were inspected.
    pub by_block: Scores,
    /// How much was foretold in each tenth of the yards, and how much was found there.
    pub curve: Vec<CurvePart>,
    /// What the chances gain over one rate for all; `None` with fewer than two blocks.
    pub gain: Option<Gain>,
}

impl Judgement {
    /// What the scores mean for whoever orders doors by these chances, in plain words.
    ///
    /// # Source
    /// The area under the curve is the share of pairs, one positive and one not, in which the positive one has the higher chance
    /// (J. A. Hanley and B. J. McNeil, Radiology 143 (1982), from memory). What counts as fair or good: the usual reading after Hosmer and
    /// Lemeshow's textbook, 0.7 and 0.8, from memory.
    pub fn words(&self) -> String {
        let Some(auc) = self.scores.auc else {
            return "All the yards were positive, or none: nothing can be said of how good they are.".to_owned();
        };
        let worth = match auc {
            a if a < 0.6 => "Weak: hardly better than drawing lots",
            a if a < 0.7 => "Modest: they order doors better than drawing lots, and tell nothing sure of one yard",
            a if a < 0.8 => "Fair: they order doors well, and tell nothing sure of one yard",
            _ => "Good: they order doors very well, and are no finding at any yard",
        };
        let pairs =
            format!("Of a positive yard and another, the positive one had the higher chance {:.0} times in 100; by lot 50", 100.0 * auc);
        let rate = self.overall.brier;
        let less = if rate > 0.0 { 100.0 * (1.0 - self.scores.brier / rate) } else { 0.0 };
        let error = match less {
            l if l <= -0.5 => format!("{:.0} % larger than", -l),
            l if l < 0.5 => "no smaller than".to_owned(),
            l => format!("{l:.0} % smaller than"),
        };
        let log = match self.overall.log_score - self.scores.log_score {
            gain if gain > 0.0 && less < 0.5 => " By log score they are better than it.",
            _ => "",
        };
        format!("{worth}. {pairs}. Their error is {error} that of one rate for all.{log}")
    }
}

/// One part of the calibration curve: yards with chances that are next to each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePart {
    /// The mean chance foretold.
    pub foretold: f64,
    /// The share that was positive.
    pub found: f64,
    /// Its 95 % interval.
    pub interval: Interval,
    /// How many yards.
    pub yards: u64,
}

/// By how much the log score of chances is better than that of one rate for all, for each yard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gain {
    /// The mean gain.
    pub mean: f64,
    /// The lower end of its 95 % interval; above 0 it is more than luck.
    pub low: f64,
    /// How many blocks it rests on: yards of one block are alike and count as one.
    pub blocks: usize,
}

/// Outcomes of some yards, and what three ways of foretelling say of each.
#[derive(Clone, Copy, Debug)]
pub(super) struct Told<'a> {
    /// Whether each was positive.
    pub positive: &'a [bool],
    /// The block of each, or what stands for it.
    pub group: &'a [u32],
    /// The chances.
    pub chances: &'a [f64],
    /// One rate for all.
    pub overall: &'a [f64],
    /// The rate of the block.
    pub by_block: &'a [f64],
}

impl Told<'_> {
    /// Judges the chances; `None` when there are no yards.
    pub(super) fn judged(&self) -> Option<Judgement> {
        Some(Judgement {
            yards: self.positive.len(),
            positive: self.positive.iter().filter(|&&p| p).count(),
            scores: Scores::of(self.positive, self.chances)?,
            overall: Scores::of(self.positive, self.overall)?,
            by_block: Scores::of(self.positive, self.by_block)?,
            curve: curve(self.positive, self.chances),
            gain: self.gain(),
        })
    }

    /// The gain in log score, its error from the scatter of whole blocks.
    ///
    /// # Source
    /// The ratio estimator of a cluster sample: W. G. Cochran, Sampling Techniques (3rd edition, 1977), section 9A.1 with the
    /// sizes of the clusters as auxiliary; from memory.
    fn gain(&self) -> Option<Gain> {
        let groups = self.group.iter().max().map_or(0, |&g| g as usize + 1);
        let mut sums = vec![(0.0, 0.0); groups];
        for (i, &g) in self.group.iter().enumerate() {
            let sum = &mut sums[g as usize];
            *sum = (sum.0 + log_gain(self.positive[i], self.chances[i], self.overall[i]), sum.1 + 1.0);
        }
        sums.retain(|s| s.1 > 0.0);
        let blocks = sums.len();
        let yards = self.positive.len() as f64;
        let mean = sums.iter().map(|s| s.0).sum::<f64>() / yards;
        let scatter: f64 = sums.iter().map(|s| (s.0 - s.1 * mean).powi(2)).sum();
        let freedom = blocks as f64 - 1.0;
        let error = (scatter * blocks as f64 / freedom).sqrt() / yards;
        (blocks > 1).then(|| Gain { mean, low: mean - student_reach(SURE, freedom) * error, blocks })
    }
}

/// Tenths of the yards from the lowest to the highest chance. Fewer parts when there are fewer than ten yards in each.
fn curve(positive: &[bool], chances: &[f64]) -> Vec<CurvePart> {
    let mut order: Vec<usize> = (0..chances.len()).collect();
    order.sort_by(|&a, &b| chances[a].total_cmp(&chances[b]));
    let parts = PARTS.min(order.len() / PARTS).max(1);
    let part = |k: usize| {
        let own = &order[k * order.len() / parts..(k + 1) * order.len() / parts];
        let n = own.len() as u64;
        let found = own.iter().filter(|&&i| positive[i]).count() as u64;
        let foretold = own.iter().map(|&i| chances[i]).sum::<f64>() / n as f64;
        wilson(found, n).map(|interval| CurvePart { foretold, found: found as f64 / n as f64, interval, yards: n })
    };
    (0..parts).filter_map(part).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten clusters worked by hand with a spreadsheet's own functions would be long; here each block has one yard, so that the
    /// interval is the one of a plain mean: mean ± t(9) s/√10, with t(9; 0.975) = 2.262157 from printed tables.
    #[test]
    fn with_one_yard_a_block_the_gain_is_a_plain_mean() {
        let positive = [true, false, false, true, false, false, false, true, false, false];
        let chances = [0.7, 0.2, 0.1, 0.4, 0.3, 0.05, 0.5, 0.8, 0.1, 0.2];
        let group: Vec<u32> = (0..10).collect();
        let told = Told { positive: &positive, group: &group, chances: &chances, overall: &[0.3; 10], by_block: &[0.3; 10] };
        let judged = told.judged().unwrap();
        let gains: Vec<f64> =
            (0..10).map(|i| if positive[i] { (chances[i] / 0.3_f64).ln() } else { ((1.0 - chances[i]) / 0.7_f64).ln() }).collect();
        let mean = gains.iter().sum::<f64>() / 10.0;
        let deviation = (gains.iter().map(|g| (g - mean).powi(2)).sum::<f64>() / 9.0).sqrt();
        let gain = judged.gain.unwrap();
        assert!((gain.mean - mean).abs() < 1e-12 && gain.blocks == 10);
        assert!((gain.low - (mean - 2.262_157 * deviation / 10f64.sqrt())).abs() < 1e-6);
        // Three positive yards and seven others: 20 of the 21 pairs are in order, 0.4 against 0.5 is not.
        assert!(judged.words().starts_with("Good") && judged.words().contains("95 times in 100; by lot 50"), "{}", judged.words());
        assert!((judged.overall.log_score - judged.scores.log_score - gain.mean).abs() < 1e-12);
    }

    #[test]
    fn the_curve_cuts_the_yards_into_equal_parts_by_chance() {
        let chances: Vec<f64> = (0..205).map(|i| f64::from((i * 37) % 205) / 410.0).collect();
        let positive: Vec<bool> = chances.iter().map(|&c| c > 0.25).collect();
        let parts = curve(&positive, &chances);
        assert_eq!((parts.len(), parts.iter().map(|p| p.yards).sum::<u64>()), (10, 205));
        assert!(parts.iter().all(|p| (20..=21).contains(&p.yards) && p.interval.low <= p.found && p.found <= p.interval.high));
        assert!(parts.windows(2).all(|w| w[0].foretold < w[1].foretold && w[0].found <= w[1].found));
        assert_eq!(curve(&positive[..9], &chances[..9]).len(), 1);
        assert!(curve(&[], &[]).is_empty());
    }
}
