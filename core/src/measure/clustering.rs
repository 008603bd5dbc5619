//! Where blocks like each other lie together, and the one circle in which positive premises crowd: every answer with a chance
//! found by reshuffling.

use super::chance::Chance;
use super::spots::{Placed, placed};
use super::{Counts, Moran, Nearby, ScanCluster, Spot, believed, bernoulli_scan, local_moran, moran, spots_within, standardised_rates};
use crate::job::{Cancelled, Watch};
use crate::survey::{BlockId, PremiseId, Standing, Survey};
use rayon::prelude::*;

/// How often values are reshuffled behind every chance.
pub const RESHUFFLES: u32 = 999;

/// Where so few of the reshuffles were as extreme that the chance is not told well, up to so many are made: what is small by
/// [`believed`] among thousands of blocks is far smaller than one in [`RESHUFFLES`].
pub const MOST_RESHUFFLES: u32 = 99_999;

/// So many extreme reshuffles tell a chance well enough.
const ENOUGH: u32 = 10;

/// Circles of the scan are no wider than this to either side, in metres: some blocks, not a quarter of the town.
pub const LARGEST_CIRCLE: f64 = 200.0;

/// What a block is among its neighbours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Among {
    /// A high rate among high ones.
    HighHigh,
    /// A low rate among low ones.
    LowLow,
    /// A high rate among low ones.
    HighLow,
    /// A low rate among high ones.
    LowHigh,
    /// No more like or unlike its neighbours than chance would have it.
    Neither,
}

impl Among {
    /// The word that files and screens write.
    pub fn word(self) -> &'static str {
        match self {
            Self::HighHigh => "high among high",
            Self::LowLow => "low among low",
            Self::HighLow => "high among low",
            Self::LowHigh => "low among high",
            Self::Neither => "neither",
        }
    }
}

/// A block's rate beside those of its neighbours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Likeness {
    /// Local Moran's I of the standardised rate: above 0 where the block is like its neighbours.
    pub i: f64,
    /// The two-sided chance of so large an I when the other rates are reshuffled.
    pub p: f64,
    /// What it is, so that at most [`super::FALSE_SHARE`] of those named are so by chance.
    pub among: Among,
}

/// Whether rates of blocks lie together, as a whole and block by block.
#[derive(Clone, Debug, PartialEq)]
pub struct Clustering {
    /// Blocks this far apart at most are neighbours, in metres.
    pub apart: f64,
    /// Blocks that entered: with an inspected premise and a place.
    pub blocks: usize,
    /// Those of them without a neighbour.
    pub alone: usize,
    /// Moran's I of the standardised rates; `None` when there are too few blocks or all rates are alike.
    pub moran: Option<Moran>,
    /// The two-sided chance of so large an I when all rates are reshuffled.
    pub moran_p: Option<f64>,
    /// Smoothed rate and hot or cold, for each group.
    pub spots: Vec<Spot>,
    /// Likeness to the neighbours, for each group; `None` for those that did not enter or have no neighbour.
    pub likeness: Vec<Option<Likeness>>,
}

/// Looks for clusters among the groups that [`super::by_block`] gives, in their order. Rates are positives per inspected
/// premise, standardised so that few doors do not look like clusters.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
///
/// # Source
/// [`standardised_rates`], [`moran`], [`local_moran`]; chances by (conditional) permutation: L. Anselin, Geogr. Anal. 27 (1995),
/// 93–115, doubled to be two-sided; false discovery as for [`believed`].
pub fn clustering(
    survey: &Survey,
    groups: &[(Option<BlockId>, Counts)],
    apart: f64,
    seed: u64,
    watch: &dyn Watch,
) -> Result<Clustering, Cancelled> {
    watch.step("Looking for clusters of blocks", 0, u64::from(RESHUFFLES))?;
    let entered = placed(survey, groups);
    let nearby = entered.nearby(survey, apart);
    let spots = spots_within(survey, groups, apart);
    let mut out = Clustering {
        apart,
        blocks: entered.groups.len(),
        alone: nearby.alone(),
        moran: None,
        moran_p: None,
        spots,
        likeness: vec![None; groups.len()],
    };
    let Some(rates) = rates(&entered).filter(|_| entered.enough()) else { return Ok(out) };
    out.moran = moran(&rates, &nearby);
    if out.moran.is_some() {
        out.moran_p = Some(chance_of_all(&rates, &nearby, seed, watch)?);
        for (at, found) in entered.groups.iter().map(|g| g.0).zip(likeness(&rates, &nearby, seed, watch)?) {
            out.likeness[at] = found;
        }
    }
    Ok(out)
}

fn rates(entered: &Placed) -> Option<Vec<f64>> {
    let column = |of: fn(&Counts) -> u64| entered.groups.iter().map(|g| of(&g.2) as f64).collect::<Vec<_>>();
    standardised_rates(&column(|c| c.positive_premises), &column(|c| c.inspected))
}

/// Sum over all units of a value times the mean of its neighbours' values: all of Moran's I that changes with reshuffling.
fn cross(values: &[f64], nearby: &Nearby) -> f64 {
    let lag = |i: usize| nearby.of(i).iter().map(|&j| values[j as usize]).sum::<f64>() / nearby.of(i).len().max(1) as f64;
    (0..values.len()).map(|i| values[i] * lag(i)).sum()
}

/// The two-sided chance of Moran's I when all values are reshuffled.
fn chance_of_all(values: &[f64], nearby: &Nearby, seed: u64, watch: &dyn Watch) -> Result<f64, Cancelled> {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let off: Vec<f64> = values.iter().map(|v| v - mean).collect();
    let found = cross(&off, nearby);
    let drawn = (0..u64::from(RESHUFFLES)).into_par_iter().map(|part| {
        watch.step("Reshuffling the blocks", part, u64::from(RESHUFFLES))?;
        let mut shuffled = off.clone();
        Chance::for_part(seed, part).shuffle(&mut shuffled);
        Ok(cross(&shuffled, nearby) >= found - 1e-9 * found.abs())
    });
    let as_high = drawn.collect::<Result<Vec<bool>, Cancelled>>()?.into_iter().filter(|h| *h).count();
    Ok(two_sided(as_high as u32, RESHUFFLES))
}

/// The chance on the rarer side, the true arrangement counted, doubled.
fn two_sided(as_high: u32, drawn: u32) -> f64 {
    let rarer = as_high.min(drawn - as_high);
    (2.0 * f64::from(rarer + 1) / f64::from(drawn + 1)).min(1.0)
}

fn likeness(values: &[f64], nearby: &Nearby, seed: u64, watch: &dyn Watch) -> Result<Vec<Option<Likeness>>, Cancelled> {
    let Some(local) = local_moran(values, nearby) else { return Ok(vec![None; values.len()]) };
    let n = values.len() as u64;
    let chances = (0..values.len()).into_par_iter().map(|i| {
        watch.step("Reshuffling the neighbours", i as u64, n)?;
        Ok((!nearby.of(i).is_empty()).then(|| chance_of_one(values, nearby.of(i).len(), i, lag(values, nearby, i), seed)))
    });
    let chances = chances.collect::<Result<Vec<Option<f64>>, Cancelled>>()?;
    let tested: Vec<(usize, f64)> = chances.iter().enumerate().filter_map(|(i, p)| p.map(|p| (i, p))).collect();
    let sure = believed(&tested.iter().map(|t| t.1).collect::<Vec<_>>(), super::FALSE_SHARE);
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let mut out = vec![None; values.len()];
    for ((i, p), sure) in tested.into_iter().zip(sure) {
        let among = match (sure, values[i] > mean, lag(values, nearby, i) > mean) {
            (false, ..) => Among::Neither,
            (true, true, true) => Among::HighHigh,
            (true, false, false) => Among::LowLow,
            (true, true, false) => Among::HighLow,
            (true, false, true) => Among::LowHigh,
        };
        out[i] = Some(Likeness { i: local[i], p, among });
    }
    Ok(out)
}

/// The mean of the neighbours' values.
fn lag(values: &[f64], nearby: &Nearby, i: usize) -> f64 {
    nearby.of(i).iter().map(|&j| values[j as usize]).sum::<f64>() / nearby.of(i).len().max(1) as f64
}

/// The two-sided chance of a unit's mean of neighbours when `neighbours` others are drawn for it, the unit itself staying: from [`RESHUFFLES`]
/// draws, from ten times as many while hardly any is as extreme, and at most [`MOST_RESHUFFLES`].
///
/// # Source
/// Drawing on while few are extreme: J. Besag and P. Clifford, Biometrika 78 (1991), 301–304, from memory.
fn chance_of_one(values: &[f64], neighbours: usize, unit: usize, lag: f64, seed: u64) -> f64 {
    let mut chance = Chance::for_part(seed ^ 0x10CA_1000, unit as u64);
    let others = values.len() - 1;
    let mut drawn: Vec<usize> = Vec::with_capacity(neighbours);
    let (mut as_high, mut made, mut wanted) = (0, 0, RESHUFFLES);
    while made < wanted {
        made += 1;
        drawn.clear();
        // R. W. Floyd's sampling without putting back (CACM 30 (1987), 754–757, from memory).
        for j in others - neighbours..others {
            let one = chance.below(j + 1);
            drawn.push(if drawn.contains(&one) { j } else { one });
        }
        let value = |k: &usize| values[if *k >= unit { k + 1 } else { *k }];
        let mean = drawn.iter().map(value).sum::<f64>() / neighbours as f64;
        as_high += u32::from(mean >= lag - 1e-12);
        if made == wanted && as_high.min(made - as_high) < ENOUGH {
            wanted = (10 * wanted + 9).min(MOST_RESHUFFLES);
        }
    }
    two_sided(as_high, made)
}

/// The circle in which positive premises crowd most, around a premise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crowd {
    /// The premise in the middle.
    pub centre: PremiseId,
    /// The circle, what is in it, and its chance.
    pub circle: ScanCluster,
    /// Inspected premises with a place, of which the circle is a part.
    pub of: u64,
    /// Positive ones among them.
    pub positive_of: u64,
}

/// Looks for the circle of at most [`LARGEST_CIRCLE`] metres in which positive premises crowd most among those inspected;
/// `None` when none or all are positive.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
///
/// # Source
/// [`bernoulli_scan`] with [`RESHUFFLES`] reshuffles. The largest circle is a convention of this program.
pub fn crowd(survey: &Survey, standings: &[Standing], seed: u64, watch: &dyn Watch) -> Result<Option<Crowd>, Cancelled> {
    let boxes = survey.premises.outline.bounds();
    let seen: Vec<usize> =
        (0..standings.len()).filter(|&i| standings[i].inspected() && boxes.get(i).is_some_and(|b| !b.is_empty())).collect();
    let places: Vec<_> = seen.iter().map(|&i| boxes[i].centre()).collect();
    let positive: Vec<bool> = seen.iter().map(|&i| standings[i].positive()).collect();
    let positive_of = positive.iter().filter(|p| **p).count() as u64;
    let found = bernoulli_scan(&places, &positive, LARGEST_CIRCLE, RESHUFFLES, seed, watch)?;
    Ok(found.map(|circle| Crowd { centre: PremiseId(seen[circle.centre] as u32), circle, of: seen.len() as u64, positive_of }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;

    /// A chain of units, each the neighbour of the next.
    fn chain(n: u32) -> Nearby {
        let lists: Vec<Vec<u32>> =
            (0..n).map(|i| [i.checked_sub(1), (i + 1 < n).then_some(i + 1)].into_iter().flatten().collect()).collect();
        Nearby::from_lists(&lists)
    }

    /// By every pair of others that two neighbours could be.
    #[test]
    fn the_chance_of_one_agrees_with_every_pair() {
        let values: Vec<f64> = [0.0, 7.0, 1.0, 3.5, 9.0, 2.0, 8.5, 0.5, 6.0, 4.0, 5.5, 1.5].to_vec();
        let (unit, near) = (4usize, lag(&values, &chain(12), 4));
        let others: Vec<f64> = (0..12).filter(|&k| k != unit).map(|k| values[k]).collect();
        let (mut high, mut all) = (0.0f64, 0.0f64);
        for a in 0..others.len() {
            for b in a + 1..others.len() {
                all += 1.0;
                high += f64::from(u8::from((others[a] + others[b]) / 2.0 >= near));
            }
        }
        let exact = 2.0 * (high / all).min(1.0 - high / all);
        let found = chance_of_one(&values, 2, unit, near, 1);
        assert!((found - exact).abs() < 0.08, "{found} for {exact}");
    }

    #[test]
    fn values_in_order_lie_together_and_mixed_ones_do_not() {
        let nearby = chain(200);
        let rising: Vec<f64> = (0..200).map(f64::from).collect();
        assert!(chance_of_all(&rising, &nearby, 1, &Unwatched).unwrap() < 0.003);
        let mut mixed = rising.clone();
        Chance::for_part(5, 5).shuffle(&mut mixed);
        assert!(chance_of_all(&mixed, &nearby, 1, &Unwatched).unwrap() > 0.01);
        let found = likeness(&rising, &nearby, 1, &Unwatched).unwrap();
        let of = |i: usize| found[i].unwrap().among;
        assert_eq!((of(5), of(194), of(100)), (Among::LowLow, Among::HighHigh, Among::Neither));
        assert_eq!(found, likeness(&rising, &nearby, 1, &Unwatched).unwrap());
    }
}
