//! What the surfaces do not say of a yard: how far whole blocks lie off what is foretold of them, which the blocks set aside
//! tell, and how far single yards do, which one visit to each cannot tell.

use super::learn::strength_rate;
use super::scores::Line;
use crate::job::{Cancelled, Watch};
use crate::measure::{crossing, normal_above};
use rayon::prelude::*;
use std::sync::OnceLock;

/// The share of chances that an interval is to hold.
const SURE: f64 = 0.95;

/// Standard deviations of blocks that are weighed, in log odds: from none to more than is believed, in so many steps.
const STEPS: u32 = 24;
const MOST: f64 = 2.4;

/// Halves of the normal distribution's range that are added up over, and in how many steps.
const RANGE: f64 = 4.0;
const NODES: u32 = 25;

/// What was foretold of a yard while its block was set aside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Aside {
    /// The log odds.
    pub middle: f64,
    /// Their variance.
    pub variance: f64,
    /// Whether it was positive.
    pub positive: bool,
}

/// Yards of one block set aside, and the variance of their log odds that they have in common.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct BlockAside {
    /// The variance in common.
    pub common: f64,
    /// The yards.
    pub yards: Vec<Aside>,
}

/// How far blocks and yards lie off the surfaces.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Apart {
    /// The variance of whole blocks, in squared log odds.
    pub blocks: f64,
}

/// Steps between the standard deviations for which half widths are kept, and how many there are.
const STEP: f64 = 0.1;
const KEPT: u32 = 40;

impl Apart {
    /// Learns the variance of blocks from those set aside: the mean of what is believed of it after they were seen, with the
    /// belief about every strength before. A block tells by how much more its yards agree than the surfaces say.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    ///
    /// # Source
    /// A random intercept of each block with the log odds' own doubt in it, added up over the normal distribution; C. E.
    /// `McCulloch` and S. R. Searle, Generalized, Linear, and Mixed Models (2001), chapter 8; from memory.
    pub(super) fn learnt(blocks: &[BlockAside], watch: &dyn Watch) -> Result<Self, Cancelled> {
        let tried: Vec<f64> = (0..=STEPS).map(|k| MOST * f64::from(k) / f64::from(STEPS)).collect();
        let ln: Vec<f64> = tried.par_iter().map(|&d| along(blocks, d, watch)).collect::<Result<_, _>>()?;
        let most = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = ln.iter().map(|l| (l - most).exp()).collect();
        let sum: f64 = weights.iter().sum();
        let blocks = tried.iter().zip(&weights).map(|(d, w)| d * d * w).sum::<f64>() / sum;
        Ok(Self { blocks })
    }

    /// How far the 95 % interval of a yard's log odds goes up and down when the surfaces know them to some variance.
    ///
    /// A block lies off by what was learnt. How far single yards that are alike in everything known differ cannot be learnt
    /// from one visit to each, so that what is held of any strength before anything is seen stays.
    pub(super) fn reach(&self, variance: f64) -> f64 {
        static REACHES: OnceLock<Vec<f64>> = OnceLock::new();
        let reaches = REACHES.get_or_init(|| (0..=KEPT).map(|k| reach_at(STEP * f64::from(k))).collect());
        let at = (variance + self.blocks).sqrt() / STEP;
        let k = (at as usize).min(reaches.len() - 2);
        let (low, high) = (reaches[k], reaches[k + 1]);
        low + (at - k as f64) * (high - low)
    }
}

impl BlockAside {
    /// The same after a line has straightened the log odds; one that draws them in leaves the doubt as it is.
    pub(super) fn straightened(mut self, line: Line) -> Self {
        let wider = line.slope.max(1.0).powi(2);
        self.common *= wider;
        for yard in &mut self.yards {
            (yard.middle, yard.variance) = (line.at(yard.middle), yard.variance * wider);
        }
        self
    }

    /// The logarithm of the chance of what was found, when whole blocks lie off with some variance.
    fn ln_likelihood(&self, blocks: f64) -> f64 {
        let off = (self.common + blocks).sqrt();
        let step = 2.0 * RANGE / f64::from(NODES - 1);
        let own: Vec<(f64, f64)> = self.yards.iter().map(|y| y.own(self.common)).collect();
        let at = |k: u32| {
            let z = -RANGE + step * f64::from(k);
            let found: f64 = own.iter().map(|&(middle, drawn)| -((-(middle + drawn * off * z)).exp()).ln_1p()).sum();
            found - z * z / 2.0
        };
        let all: Vec<f64> = (0..NODES).map(at).collect();
        let most = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most + all.iter().map(|l| (l - most).exp()).sum::<f64>().ln()
    }
}

impl Aside {
    /// The log odds of what was found, the part of the doubt that is the yard's own taken into the mean, and by how much that
    /// draws in what all yards of the block have in common; with the sign of what was found.
    fn own(&self, common: f64) -> (f64, f64) {
        let drawn = (1.0 + std::f64::consts::PI * (self.variance - common).max(0.0) / 8.0).sqrt().recip();
        let sign = if self.positive { 1.0 } else { -1.0 };
        (sign * self.middle * drawn, sign * drawn)
    }
}

/// The logarithm of what is believed of a standard deviation of blocks after they were seen.
fn along(blocks: &[BlockAside], deviation: f64, watch: &dyn Watch) -> Result<f64, Cancelled> {
    let mut sum = 0.0;
    for block in blocks {
        if watch.cancelled() {
            return Err(Cancelled);
        }
        sum += block.ln_likelihood(deviation * deviation);
    }
    Ok(sum - strength_rate() * deviation)
}

/// Half the width that holds 95 in 100 when a normal doubt is known and a second one has a standard deviation of which only
/// the belief about strengths is known.
fn reach_at(deviation: f64) -> f64 {
    let parts = 120;
    let seconds: Vec<f64> = (0..parts).map(|k| -(1.0 - (f64::from(k) + 0.5) / f64::from(parts)).ln() / strength_rate()).collect();
    let outside = |q: f64| seconds.iter().map(|s| 2.0 * normal_above(q / deviation.hypot(*s))).sum::<f64>() / f64::from(parts);
    crossing(0.0, 40.0, |q| (1.0 - SURE) - outside(q))
}

#[cfg(test)]
mod tests {
    use super::super::scores::chance;
    use super::*;
    use crate::job::Unwatched;

    /// By `scipy.integrate.quad` and `brentq` (scipy 1.17.1) over the exponential law with 5 in 100 above 1.5.
    #[test]
    fn half_widths_agree_with_scipy() {
        for (deviation, half) in [(0.0, 1.501_286), (0.4, 1.633_826), (0.8, 2.085_232), (1.6, 3.430_730)] {
            assert!((reach_at(deviation) / half - 1.0).abs() < 0.01, "{deviation}: {}", reach_at(deviation));
        }
        for (variance, blocks) in [(0.0, 0.0), (0.3, 0.2), (30.0, 3.0)] {
            let half = reach_at(f64::sqrt(variance + blocks));
            assert!((Apart { blocks }.reach(variance) / half - 1.0).abs() < 0.01, "{variance} {blocks}");
        }
    }

    /// 400 made-up blocks of 12 yards at log odds of −1.5, lying off by known amounts: what is learnt is near.
    #[test]
    fn what_blocks_lie_off_is_learnt() {
        let mut state = 7u64;
        let mut share = move || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((state >> 33) as f64 + 0.5) / 2f64.powi(31)
        };
        for known in [0.0, 0.5, 1.0] {
            let blocks: Vec<BlockAside> = (0..400)
                .map(|_| {
                    let off = known * (-2.0 * share().ln()).sqrt() * (std::f64::consts::TAU * share()).cos();
                    let yards = (0..12).map(|_| Aside { middle: -1.5, variance: 0.0, positive: share() < chance(-1.5 + off) });
                    BlockAside { common: 0.0, yards: yards.collect() }
                })
                .collect();
            let found = Apart::learnt(&blocks, &Unwatched).unwrap().blocks.sqrt();
            assert!((found - known).abs() < 0.2, "{found} for {known}");
        }
    }
}
