//! Inspected yards one by one, and how sure the indices of a group of them are.

use super::interval::{left_unseen, score_interval};
use super::special::student_reach;
use super::{BreteauMethod, Counts, Interval, breteau_interval, breteau_redrawn};
use crate::survey::{BlockId, Standing, Survey};
use rayon::prelude::*;

/// What was found in one inspected yard.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Yard {
    /// Containers that held water.
    pub wet: u32,
    /// Containers that held larvae or pupae.
    pub positive: u32,
}

impl Yard {
    /// The yard of a premise; `None` when it was not inspected.
    pub fn of(standing: &Standing) -> Option<Self> {
        standing.inspected().then_some(Self { wet: standing.wet, positive: standing.positive_containers })
    }
}

/// How sure the three indices of a group are: 95 % intervals, per 100.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Intervals {
    /// Of the house index.
    pub house: Option<Interval>,
    /// Of the container index.
    pub container: Option<Interval>,
    /// Of the Breteau index.
    pub breteau: Option<Interval>,
    /// How the interval of the Breteau index was found.
    pub breteau_method: Option<BreteauMethod>,
    /// The interval of the Breteau index by drawing yards again.
    pub breteau_redrawn: Option<Interval>,
}

impl Intervals {
    /// The intervals of a group from its counts and its inspected yards.
    pub fn of(counts: &Counts, yards: &[Yard]) -> Self {
        let breteau = breteau_interval(yards, counts.premises);
        Self {
            house: counts.house_index_interval(),
            container: container_interval(yards, counts.premises),
            breteau: breteau.map(|b| b.0),
            breteau_method: breteau.map(|b| b.1),
            breteau_redrawn: breteau_redrawn(yards, counts.premises),
        }
    }

    /// The intervals of the whole district; `standings` in the order of the premises.
    pub fn of_district(standings: &[Standing]) -> Self {
        let yards: Vec<Yard> = standings.iter().filter_map(Yard::of).collect();
        Self::of(&super::district(standings), &yards)
    }

    /// The intervals of the groups that [`super::by_block`] gives, in their order.
    pub fn by_block(survey: &Survey, standings: &[Standing], groups: &[(Option<BlockId>, Counts)]) -> Vec<Self> {
        let none = survey.blocks.len();
        let place = |block: Option<BlockId>| block.map_or(none, BlockId::row);
        let mut first = vec![0u32; none + 2];
        groups.iter().for_each(|(block, counts)| first[place(*block) + 1] = counts.inspected as u32);
        (1..first.len()).for_each(|i| first[i] += first[i - 1]);
        let mut next = first.clone();
        let mut yards = vec![Yard::default(); first[none + 1] as usize];
        for (standing, block) in standings.iter().zip(survey.premises.block.iter()) {
            if let Some(yard) = Yard::of(standing) {
                let at = &mut next[place(*block)];
                yards[*at as usize] = yard;
                *at += 1;
            }
        }
        let of = |(block, counts): &(Option<BlockId>, Counts)| {
            let at = place(*block);
            Self::of(counts, &yards[first[at] as usize..first[at + 1] as usize])
        };
        groups.par_iter().map(of).collect()
    }
}

/// The standard error of a container index, as a share, with its yards as clusters, and the design effect: how many times
/// larger its variance is than if containers were drawn one by one. `None` below two yards or when nothing held water; the
/// design effect is `None` when none or all were positive.
///
/// # Source
/// W. G. Cochran, Sampling Techniques (1977), 6.3 (variance of a ratio); design effect: L. Kish, Survey Sampling (1965), 8.2.
pub fn clustered_ratio(yards: &[Yard]) -> Option<(f64, Option<f64>)> {
    ratio_among(yards, yards.len())
}

/// The same where `n` yards were inspected and those not given held nothing.
fn ratio_among(yards: &[Yard], n: usize) -> Option<(f64, Option<f64>)> {
    let n = n as f64;
    let wet: f64 = yards.iter().map(|y| f64::from(y.wet)).sum();
    let positive: f64 = yards.iter().map(|y| f64::from(y.positive)).sum();
    if n < 2.0 || wet <= 0.0 {
        return None;
    }
    let ratio = positive / wet;
    let squares: f64 = yards.iter().map(|y| (f64::from(y.positive) - ratio * f64::from(y.wet)).powi(2)).sum();
    let error = (n / (n - 1.0) * squares).sqrt() / wet;
    let alone = ratio * (1.0 - ratio) / wet;
    Some((error, (alone > 0.0).then(|| error * error / alone)))
}

/// The least design effect that is believed: few yards that happen to be alike do not make containers tell twice as much.
const LEAST_EFFECT: f64 = 0.5;

/// The 95 % interval of the container index, per 100, from the inspected yards of a group of `premises`. Containers of one
/// yard are alike, so it is a score interval at the number of containers that would tell as much if they were drawn one by
/// one (containers over design effect, corrected for a finite number of premises), with Student's factor for few yards with
/// water. A design effect below a half is not believed. Where none or all were positive the design effect is unknown and the
/// yards with water stand for their containers, which holds the truth more often than promised when four doors opened.
///
/// `None` when nothing held water, when more were positive than wet, and for a single yard unless it is the whole group.
///
/// # Source
/// E. L. Korn and B. I. Graubard, Survey Methodology 24 (1998), 193–201 (effective size in an interval of a share), here with
/// Wilson's interval and without their cap at the number of containers, which held the truth in 97 to 99 of 100 blocks; from
/// memory. How often it holds the truth: `core/tests/coverage.rs`.
pub fn container_interval(yards: &[Yard], premises: u64) -> Option<Interval> {
    container_interval_among(yards, yards.len(), premises)
}

/// The same where so many yards were inspected and those not given held nothing, as most hold none of a kind of container.
pub(super) fn container_interval_among(yards: &[Yard], inspected: usize, premises: u64) -> Option<Interval> {
    let wet: u64 = yards.iter().map(|y| u64::from(y.wet)).sum();
    let positive: u64 = yards.iter().map(|y| u64::from(y.positive)).sum();
    if wet == 0 || positive > wet {
        return None;
    }
    let ratio = positive as f64 / wet as f64;
    if inspected as u64 >= premises {
        return Some(Interval { low: 100.0 * ratio, high: 100.0 * ratio });
    }
    let with_water = yards.iter().filter(|y| y.wet > 0).count() as f64;
    let (_, effect) = ratio_among(yards, inspected)?;
    let telling = effect.map_or(with_water, |e| wet as f64 / (e.max(LEAST_EFFECT) * left_unseen(inspected, premises)));
    Some(score_interval(ratio, telling, student_reach(0.95, (with_water - 1.0).max(1.0))).per_hundred())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn all_seen_leaves_no_doubt_and_dry_yards_no_answer() {
        let yards = [Yard { wet: 4, positive: 1 }, Yard { wet: 6, positive: 1 }];
        assert_eq!(container_interval(&yards, 2), Some(Interval { low: 20.0, high: 20.0 }));
        assert!(container_interval(&yards, 20).unwrap().high > 60.0);
        assert_eq!(container_interval(&[Yard::default(); 5], 20), None);
    }

    proptest! {
        #[test]
        fn holds_its_estimate(yards in proptest::collection::vec((0u32..20, 0u32..20), 2..50), more in 0u64..99) {
            let yards: Vec<Yard> = yards.iter().map(|&(a, b)| Yard { wet: a.max(b), positive: a.min(b) }).collect();
            let wet: u32 = yards.iter().map(|y| y.wet).sum();
            let positive: u32 = yards.iter().map(|y| y.positive).sum();
            let found = container_interval(&yards, yards.len() as u64 + more);
            prop_assert_eq!(found.is_some(), wet > 0);
            if let Some(i) = found {
                let index = 100.0 * f64::from(positive) / f64::from(wet);
                prop_assert!(i.low >= 0.0 && i.low <= index + 1e-9 && index <= i.high + 1e-9 && i.high <= 100.0, "{:?} {}", i, index);
            }
        }
    }
}
