//! Which kinds of container make most of the mosquitoes.

use super::Interval;
use super::chance::Chance;
use crate::job::{Cancelled, Watch};
use crate::survey::{Find, KindId, Standing, Survey};
use rayon::prelude::*;

/// Kinds that together make this share of all are named key containers: a convention of many-country studies.
pub const KEY_SHARE: f64 = 0.8;

/// The same yards are drawn and the same reshuffles made whenever the same survey is asked.
pub const SEED: u64 = 1;

/// Reshuffles of the premises behind the interval of a contribution.
const RESAMPLES: u64 = 1000;

/// What a kind's contribution is a share of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MadeOf {
    /// Of all pupae counted.
    Pupae,
    /// Of all containers with larvae or pupae, because no pupae were counted.
    PositiveContainers,
}

impl MadeOf {
    /// The measure as a line that people can read.
    pub fn word(self) -> &'static str {
        match self {
            Self::Pupae => "share of all pupae counted",
            Self::PositiveContainers => "share of all positive containers, for no pupae were counted",
        }
    }
}

/// How much a kind of container gives beside how common it is; shares 0 to 1.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct KindShare {
    /// Its share of the containers that held water.
    pub abundance: Option<f64>,
    /// Its share of what all made.
    pub contribution: Option<f64>,
    /// The 95 % interval of the contribution, where premises were reshuffled.
    pub contribution_interval: Option<Interval>,
    /// Contribution over abundance: above 1 it makes more than its share.
    pub electivity: Option<f64>,
    /// Whether it belongs to the smallest set of kinds that make a stated share of all.
    pub key: bool,
}

/// What each kind gives.
#[derive(Clone, Debug, PartialEq)]
pub struct KeyContainers {
    /// What contributions are shares of.
    pub made_of: MadeOf,
    /// The kinds, in the order of [`super::by_kind`].
    pub kinds: Vec<(KindId, KindShare)>,
}

/// Shares and electivity of kinds from the number that held water and what each made (pupae or positive containers), and
/// which of them belong to the smallest set that makes `key_share` of all.
///
/// # Source
/// D. A. Focks and D. D. Chadee, Am. J. Trop. Med. Hyg. 56 (1997), 159–167 (contribution by kind); electivity is the forage
/// ratio, common practice.
///
/// ```
/// use yardring_core::measure::productivity;
/// // saucer, bucket, tire, tarp
/// let shares = productivity(&[40, 20, 10, 10], &[12, 38, 44, 6], 0.8);
/// assert_eq!(shares[2].electivity, Some(3.52));
/// assert_eq!(shares.iter().map(|s| s.key).collect::<Vec<_>>(), [false, true, true, false]);
/// ```
pub fn productivity(wet: &[u64], made: &[u64], key_share: f64) -> Vec<KindShare> {
    let (all_wet, all_made): (u64, u64) = (wet.iter().sum(), made.iter().sum());
    let share = |of: u64, all: u64| (all > 0).then(|| of as f64 / all as f64);
    let key = smallest_set(made, key_share);
    let of = |(i, (w, m)): (usize, (&u64, &u64))| {
        let (abundance, contribution) = (share(*w, all_wet), share(*m, all_made));
        let electivity = abundance.zip(contribution).and_then(|(a, c)| (a > 0.0).then(|| c / a));
        KindShare { abundance, contribution, contribution_interval: None, electivity, key: key.contains(&i) }
    };
    wet.iter().zip(made).enumerate().map(of).collect()
}

/// The fewest kinds that together make `share` of all, largest first; of two alike the first given.
pub fn smallest_set(made: &[u64], share: f64) -> Vec<usize> {
    let all: u64 = made.iter().sum();
    let mut order: Vec<usize> = (0..made.len()).filter(|&i| made[i] > 0).collect();
    order.sort_by_key(|&i| (std::cmp::Reverse(made[i]), i));
    let mut sum = 0;
    let enough = order.iter().position(|&i| {
        sum += made[i];
        sum as f64 >= share * all as f64 - 1e-9
    });
    order.truncate(enough.map_or(0, |k| k + 1));
    order
}

/// What the kinds found on the visits that count give, with intervals from reshuffling the inspected premises (a bootstrap:
/// premises are drawn, not containers, since containers of one yard are alike).
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
///
/// # Source
/// See [`productivity`]; percentile bootstrap of clusters: A. C. Davison and D. V. Hinkley, Bootstrap Methods (1997), 3.8.
pub fn key_containers(
    survey: &Survey,
    standings: &[Standing],
    key_share: f64,
    seed: u64,
    watch: &dyn Watch,
) -> Result<KeyContainers, Cancelled> {
    let kinds = survey.kinds.len();
    let (mut found, mut wet, mut pupae, mut positive) = (vec![false; kinds], vec![0; kinds], vec![0; kinds], vec![0; kinds]);
    let finds = |s: &Standing| s.counted.map(|id| survey.visits.finds_of(survey.visits.get(id)));
    for find in standings.iter().filter_map(finds).flatten() {
        let k = find.kind.row();
        found[k] = true;
        wet[k] += u64::from(find.wet);
        pupae[k] += u64::from(find.pupae);
        positive[k] += u64::from(find.positive());
    }
    let made_of = if pupae.iter().sum::<u64>() > 0 { MadeOf::Pupae } else { MadeOf::PositiveContainers };
    let made = if made_of == MadeOf::Pupae { &pupae } else { &positive };
    let mut shares = productivity(&wet, made, key_share);
    let yards = Yards::of(standings.iter().filter_map(finds), made_of);
    let intervals = yards.intervals(kinds, seed, watch)?;
    shares.iter_mut().zip(intervals).for_each(|(share, interval)| share.contribution_interval = share.contribution.and(interval));
    let named = shares.into_iter().enumerate().filter(|(k, _)| found[*k]);
    Ok(KeyContainers { made_of, kinds: named.map(|(k, share)| (KindId(k as u32), share)).collect() })
}

/// What was made in the inspected yards where anything was, by kind; and how many yards there were in all.
struct Yards {
    first: Vec<usize>,
    made: Vec<(u32, u64)>,
    all: usize,
}

impl Yards {
    fn of<'a>(yards: impl Iterator<Item = &'a [Find]>, made_of: MadeOf) -> Self {
        let mut out = Self { first: vec![0], made: Vec::new(), all: 0 };
        for finds in yards {
            out.all += 1;
            let made = |f: &Find| if made_of == MadeOf::Pupae { f.pupae } else { f.positive() };
            out.made.extend(finds.iter().filter(|f| made(f) > 0).map(|f| (f.kind.0, u64::from(made(f)))));
            if out.made.len() > out.first[out.first.len() - 1] {
                out.first.push(out.made.len());
            }
        }
        out
    }

    /// The middle 95 % of each kind's contribution when as many yards are drawn again and again.
    fn intervals(&self, kinds: usize, seed: u64, watch: &dyn Watch) -> Result<Vec<Option<Interval>>, Cancelled> {
        let drawn = (0..RESAMPLES).into_par_iter().map(|part| {
            watch.step("Drawing yards again", part, RESAMPLES)?;
            Ok(self.draw(kinds, &mut Chance::for_part(seed, part)))
        });
        let drawn = drawn.collect::<Result<Vec<_>, Cancelled>>()?;
        let ends = |k: usize| {
            let mut shares: Vec<f64> = drawn.iter().flatten().map(|d| d[k]).collect();
            shares.sort_by(f64::total_cmp);
            let at = |share: f64| shares.get(((shares.len() as f64 - 1.0) * share).round() as usize).copied();
            at(0.025).zip(at(0.975)).map(|(low, high)| Interval { low, high })
        };
        Ok((0..kinds).map(ends).collect())
    }

    /// The contributions in one draw; `None` when nothing was made in it.
    fn draw(&self, kinds: usize, chance: &mut Chance) -> Option<Vec<f64>> {
        let mut sums = vec![0u64; kinds];
        for _ in 0..self.all {
            // Yards where nothing was made carry the highest numbers.
            let yard = chance.below(self.all);
            if yard + 1 < self.first.len() {
                self.made[self.first[yard]..self.first[yard + 1]].iter().for_each(|(k, n)| sums[*k as usize] += n);
            }
        }
        let all = sums.iter().sum::<u64>() as f64;
        (all > 0.0).then(|| sums.iter().map(|s| *s as f64 / all).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;

    fn find(kind: u32, pupae: u32) -> Find {
        let kind = KindId(kind);
        Find { kind, count: 1, wet: 1, with_larvae: 1, with_pupae: 0, pupae, stage: None, litres: None, action: None, remains: false }
    }

    /// Against numpy's percentile bootstrap of the same yards (2.5 and 97.5 % of 20,000 draws: 0 and 0.714).
    #[test]
    fn a_contribution_that_rests_on_few_yards_is_unsure() {
        let yards: Vec<Vec<Find>> =
            (0..20).map(|i| vec![find(0, if i < 10 { 4 } else { 0 }), find(1, if i < 2 { 20 } else { 0 })]).collect();
        let of = Yards::of(yards.iter().map(Vec::as_slice), MadeOf::Pupae);
        let found = of.intervals(2, 1, &Unwatched).unwrap();
        assert_eq!(found, of.intervals(2, 1, &Unwatched).unwrap());
        let i = found[1].unwrap();
        assert!(i.low == 0.0 && (i.high - 0.714).abs() < 0.03, "{i:?}");
    }

    /// Trinidad: drums, buckets and tubs make 83.7 %; without the tubs 75.7 % (Chadee, 2002 data).
    #[test]
    fn the_smallest_set() {
        assert_eq!(smallest_set(&[535, 222, 80, 54, 42, 20, 47], 0.8), [0, 1, 2]);
        assert_eq!(smallest_set(&[0, 0], 0.8), [0usize; 0]);
        assert_eq!(productivity(&[3, 0], &[0, 0], 0.8)[1], KindShare { abundance: Some(0.0), ..KindShare::default() });
    }
}
