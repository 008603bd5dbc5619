//! What changed from one round to another, where something was done and in a control area.

use super::change::{
    Change, Paired, control_adjusted_interval, difference_of_shares, paired, reduction_interval, reduction_without_control,
};
use super::special::normal_reach;
use super::{Beside, Counts, Interval, Intervals, Yard, by_block, control_adjusted, district};
use crate::job::{Cancelled, Watch};
use crate::survey::{BlockId, RoundId, Standing, Survey, standings};

/// What is compared between rounds; all per inspected premise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Compared {
    /// House index: positive premises.
    House,
    /// Breteau index: positive containers.
    Breteau,
    /// Pupae.
    Pupae,
}

impl Compared {
    /// Every value.
    pub const ALL: [Self; 3] = [Self::House, Self::Breteau, Self::Pupae];

    /// The measure as files write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::House => "house_index",
            Self::Breteau => "breteau_index",
            Self::Pupae => "pupae_per_premise",
        }
    }

    /// What it counts in one yard.
    fn count(self, s: &Standing) -> u64 {
        match self {
            Self::House => u64::from(s.positive()),
            Self::Breteau => u64::from(s.positive_containers),
            Self::Pupae => u64::from(s.pupae),
        }
    }

    /// Its value for a group; `None` when none was inspected.
    pub fn value(self, counts: &Counts) -> Option<f64> {
        match self {
            Self::House => counts.house_index(),
            Self::Breteau => counts.breteau_index(),
            Self::Pupae => counts.pupae_per_premise(),
        }
    }

    /// Its interval for a group; pupae have none.
    pub fn interval(self, sure: &Intervals) -> Option<Interval> {
        match self {
            Self::House => sure.house,
            Self::Breteau => sure.breteau,
            Self::Pupae => None,
        }
    }
}

/// One area in one round.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AreaRound {
    /// What was counted.
    pub counts: Counts,
    /// How sure the indices are.
    pub sure: Intervals,
}

/// What changed in one area from one round to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AreaChange {
    /// The earlier round.
    pub before: AreaRound,
    /// The later round.
    pub after: AreaRound,
    /// Premises inspected both times.
    pub paired: Paired,
    /// The change of the house index among those.
    pub same_yards: Option<Change>,
    /// The two-sided chance of so uneven a change among those if nothing had changed.
    pub same_yards_p: Option<f64>,
    /// The change of the house index of all that were inspected, as if the two rounds had seen other yards.
    pub all_yards: Option<Change>,
    /// The two-sided chance of so large a difference if there were none.
    pub all_yards_p: Option<f64>,
}

/// How much less of something there was, in per cent; below 0 when there was more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reduction {
    /// Of what.
    pub of: Compared,
    /// From before to after with nothing to compare: rain and season work too.
    pub alone: Option<f64>,
    /// Its 95 % interval.
    pub alone_interval: Option<Interval>,
    /// Beside the control area.
    pub beside_control: Option<f64>,
    /// Its 95 % interval.
    pub beside_control_interval: Option<Interval>,
}

/// What changed from one round to another.
#[derive(Clone, Debug, PartialEq)]
pub struct RoundChange {
    /// The earlier round.
    pub from: RoundId,
    /// The later round.
    pub to: RoundId,
    /// The area where something was done: all premises outside the control area.
    pub worked: AreaChange,
    /// The control area; `None` where no premise lies in one.
    pub control: Option<AreaChange>,
    /// How much less there was, by [`Compared::ALL`].
    pub reductions: [Reduction; 3],
    /// Every round from the earliest to the latest, in the worked area and in the control area.
    pub course: Vec<(RoundId, AreaRound, Option<AreaRound>)>,
}

/// Compares two rounds of a survey; `beside` names the blocks where nothing was done, or those where something was.
///
/// Intervals of reductions are those of the logarithm of a ratio whose variance counts every premise as one cluster with what
/// it was in both rounds, so that containers of one yard and the same yard in both rounds stay together; where nothing was left
/// after, they come from the Poisson formula with half a count added.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
///
/// # Source
/// [`Paired::change`], [`difference_of_shares`], [`control_adjusted`]; variance by linearisation over clusters: W. G. Cochran,
/// Sampling Techniques (1977), 6.3, and K. M. Wolter, Introduction to Variance Estimation (1985), chapter 6, from memory.
pub fn change_between(
    survey: &Survey,
    (from, to): (RoundId, RoundId),
    beside: &Beside,
    watch: &dyn Watch,
) -> Result<RoundChange, Cancelled> {
    watch.step("Comparing the rounds", 0, 0)?;
    let in_control = beside.controls(&survey.premises.block, survey.blocks.len());
    let part = |all: &[Standing], inside: bool| -> Vec<Standing> {
        all.iter().zip(&in_control).filter(|(_, c)| **c == inside).map(|(s, _)| *s).collect()
    };
    let any = in_control.contains(&true);
    let (before, after) = (standings(survey, from), standings(survey, to));
    let worked = (part(&before, false), part(&after, false));
    let aside = any.then(|| (part(&before, true), part(&after, true)));
    let areas = Areas { worked: &worked, control: aside.as_ref() };
    let round = |r: RoundId| {
        let all = standings(survey, r);
        (r, AreaRound::of(&part(&all, false)), any.then(|| AreaRound::of(&part(&all, true))))
    };
    Ok(RoundChange {
        from,
        to,
        worked: AreaChange::of(&worked.0, &worked.1),
        control: aside.as_ref().map(|(b, a)| AreaChange::of(b, a)),
        reductions: Compared::ALL.map(|of| areas.reduction(of)),
        course: in_order(survey).into_iter().map(round).collect(),
    })
}

/// The rounds of a survey by their last day, oldest first.
pub fn in_order(survey: &Survey) -> Vec<RoundId> {
    let mut rounds: Vec<RoundId> = (0..survey.rounds.len() as u32).map(RoundId).collect();
    rounds.sort_by_key(|r| (survey.rounds[r.row()].last, survey.rounds[r.row()].first, *r));
    rounds
}

/// The round before another one; `None` for the first.
pub fn round_before(survey: &Survey, round: RoundId) -> Option<RoundId> {
    let order = in_order(survey);
    let at = order.iter().position(|r| *r == round)?;
    at.checked_sub(1).map(|before| order[before])
}

/// What changed in one block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BlockChange {
    /// The block.
    pub block: BlockId,
    /// What was counted before.
    pub before: Counts,
    /// What was counted after.
    pub after: Counts,
    /// The change of its house index, per 100, as if the two rounds had seen other yards; `None` when one of them saw none.
    pub points: Option<Change>,
}

/// What changed in every block that has premises, in the order of the blocks; standings in the order of the premises. A block's
/// interval is that of [`difference_of_shares`]: where the same yards were seen twice it is wider than it must be.
pub fn change_by_block(survey: &Survey, before: &[Standing], after: &[Standing]) -> Vec<BlockChange> {
    let pairs = by_block(survey, before).into_iter().zip(by_block(survey, after));
    let share = |c: &Counts| (c.positive_premises, c.inspected);
    let of = |((block, before), (_, after)): ((Option<BlockId>, Counts), (Option<BlockId>, Counts))| {
        Some(BlockChange { block: block?, before, after, points: difference_of_shares(share(&before), share(&after)) })
    };
    pairs.filter_map(of).collect()
}

impl AreaRound {
    fn of(standings: &[Standing]) -> Self {
        let counts = district(standings);
        let yards: Vec<Yard> = standings.iter().filter_map(Yard::of).collect();
        Self { counts, sure: Intervals::of(&counts, &yards) }
    }
}

impl AreaChange {
    fn of(before: &[Standing], after: &[Standing]) -> Self {
        let pairs = paired(before, after);
        let (before, after) = (AreaRound::of(before), AreaRound::of(after));
        let share = |r: &AreaRound| (r.counts.positive_premises, r.counts.inspected);
        Self {
            before,
            after,
            paired: pairs,
            same_yards: pairs.change(),
            same_yards_p: pairs.exact_p(),
            all_yards: difference_of_shares(share(&before), share(&after)),
            all_yards_p: Change::pooled_score(share(&before), share(&after)).map(|s| s.p),
        }
    }
}

/// Yards before and after, in the order of the premises.
type BeforeAfter = (Vec<Standing>, Vec<Standing>);

/// The two areas compared.
#[derive(Clone, Copy)]
struct Areas<'a> {
    worked: &'a BeforeAfter,
    control: Option<&'a BeforeAfter>,
}

/// Sums of one area: yards inspected and what was counted, before and after.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    yards: [u64; 2],
    counts: [u64; 2],
}

impl Sums {
    /// Counts per inspected yard, before and after; `None` when none was inspected in one of the rounds.
    fn rates(&self) -> Option<(f64, f64)> {
        let rate = |round: usize| (self.yards[round] > 0).then(|| self.counts[round] as f64 / self.yards[round] as f64);
        rate(0).zip(rate(1))
    }
}

/// One premise: whether it was inspected and what was counted, before and after.
type Premise = [Option<u64>; 2];

fn premises(of: Compared, area: &BeforeAfter) -> Vec<Premise> {
    let one = |s: &Standing| s.inspected().then(|| of.count(s));
    let all = area.0.iter().zip(&area.1).map(|(a, b)| [one(a), one(b)]);
    all.filter(|p| p.iter().any(Option::is_some)).collect()
}

fn sums<'a>(premises: impl Iterator<Item = &'a Premise>) -> Sums {
    let mut out = Sums::default();
    for premise in premises {
        for (round, seen) in premise.iter().enumerate() {
            out.yards[round] += u64::from(seen.is_some());
            out.counts[round] += seen.unwrap_or(0);
        }
    }
    out
}

/// Per cent less in the worked area, alone and beside the control.
fn less(worked: &Sums, control: Option<&Sums>) -> (Option<f64>, Option<f64>) {
    let rates = worked.rates();
    let alone = rates.and_then(|(before, after)| reduction_without_control(before, after));
    let beside = rates.zip(control.and_then(Sums::rates)).and_then(|((t1, t2), (c1, c2))| control_adjusted(c1, t1, c2, t2));
    (alone, beside)
}

impl Areas<'_> {
    fn reduction(&self, of: Compared) -> Reduction {
        let worked = premises(of, self.worked);
        let control = self.control.map(|c| premises(of, c));
        let (w, c) = (sums(worked.iter()), control.as_ref().map(|c| sums(c.iter())));
        let (alone, beside_control) = less(&w, c.as_ref());
        let spread = log_variance(&worked, &w);
        let both = control.as_ref().zip(c.as_ref()).and_then(|(all, sums)| Some(spread? + log_variance(all, sums)?));
        let (alone_interval, beside_interval) = match w.counts[1] {
            0 => (nothing_left(&w, None), c.as_ref().and_then(|c| nothing_left(&w, Some(c)))),
            _ => (around(alone, spread), around(beside_control, both)),
        };
        Reduction {
            of,
            alone,
            alone_interval: alone.and(alone_interval),
            beside_control,
            beside_control_interval: beside_control.and(beside_interval),
        }
    }
}

/// The variance of the logarithm of an area's ratio of rates, after to before, each premise a cluster; `None` when a rate is 0 or
/// undefined, and for a single premise.
fn log_variance(premises: &[Premise], sums: &Sums) -> Option<f64> {
    let n = premises.len() as f64;
    let (before, after) = sums.rates().filter(|(b, a)| *b > 0.0 && *a > 0.0)?;
    let part = |seen: Option<u64>, rate: f64, count: u64| seen.map_or(0.0, |y| (y as f64 - rate) / count as f64);
    let one = |p: &Premise| part(p[1], after, sums.counts[1]) - part(p[0], before, sums.counts[0]);
    (premises.len() > 1).then(|| n / (n - 1.0) * premises.iter().map(|p| one(p).powi(2)).sum::<f64>())
}

/// The 95 % interval of a reduction from the variance of the logarithm of what is left.
fn around(reduction: Option<f64>, variance: Option<f64>) -> Option<Interval> {
    let (left, factor) = (1.0 - reduction? / 100.0, (normal_reach(0.95) * variance?.sqrt()).exp());
    Some(Interval { low: 100.0 * (1.0 - left * factor), high: 100.0 * (1.0 - left / factor) })
}

/// The interval where nothing was left: by the Poisson formula, brought to the same number of yards before and after.
fn nothing_left(worked: &Sums, control: Option<&Sums>) -> Option<Interval> {
    let per_yard = |s: &Sums, round: usize| s.counts[round] as f64 * s.yards[0] as f64 / s.yards[round].max(1) as f64;
    let before = per_yard(worked, 0);
    match control {
        Some(c) => control_adjusted_interval(per_yard(c, 0), before, per_yard(c, 1), 0.0),
        None => reduction_interval(before, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::place::{Frame, LonLat};
    use crate::survey::{Find, KindId, Outcome, PremiseId, Round, Visit, Visits, When};
    use jiff::civil::date;
    use std::sync::Arc;

    /// Two blocks of 120 premises, two rounds; the first block is worked. `positive` says whether a premise of a block is
    /// positive in a round.
    fn survey(positive: impl Fn(u32, usize, usize) -> bool) -> Survey {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        s.premises.parcel_id = Arc::new((0..240).map(|i| i.to_string()).collect());
        s.premises.block = Arc::new((0..240u32).map(|i| Some(BlockId(i / 120))).collect());
        s.blocks.block_id = Arc::new(["control", "worked"].into_iter().collect());
        s.kinds = Arc::new(vec!["bucket".into()]);
        let day = |r: usize| date(2025, 7, 1 + 20 * r as i8);
        s.rounds = Arc::new((0..2).map(|r| Round { name: r.to_string().into(), first: day(r), last: day(r) }).collect());
        let visit = |i: u32, r: usize| {
            let found = u32::from(positive(i / 120, r, (i % 120) as usize));
            let find = Find {
                kind: KindId(0),
                count: 2,
                wet: 2,
                with_larvae: found,
                with_pupae: 0,
                pupae: 0,
                stage: None,
                litres: None,
                action: None,
                remains: false,
            };
            let v = Visit {
                id: format!("{r}-{i}").into(),
                premise: PremiseId(i),
                when: When { day: day(r), time: None },
                outcome: Outcome::Inspected,
                round: RoundId(r as u32),
                crew: "".into(),
                said: None,
                finds: 0..0,
            };
            (v, vec![find])
        };
        s.visits = Visits::from_rows(240, (0..240).flat_map(|i| [visit(i, 0), visit(i, 1)]).collect());
        s
    }

    /// Positives 50 and 55 in the control, 60 and 6 in the worked block: 90.909 % by Mulla's formula (CV129 of the project's
    /// check values). Worked by hand for yards that are positive or not, 120 of each, the later positives among the earlier:
    /// variance .5/60 + .95/6 − 2·.025/3 in the worked block, (7/12)/50 + (13/24)/55 − 2·(65/288)/22.9167 in the control.
    #[test]
    fn agrees_with_the_worked_reduction() {
        let counts = [[50, 55], [60, 6]];
        let s = survey(|block, round, i| i < counts[block as usize][round]);
        let found = change_between(&s, (RoundId(0), RoundId(1)), &Beside::Control(vec![BlockId(0)]), &Unwatched).unwrap();
        let house = found.reductions[0];
        assert!((house.beside_control.unwrap() - 90.909).abs() < 1e-3 && (house.alone.unwrap() - 90.0).abs() < 1e-9);
        let i = house.beside_control_interval.unwrap();
        let variance: f64 = 0.5 / 60.0 + 0.95 / 6.0 - 0.05 / 3.0 + 7.0 / 600.0 + 13.0 / 1320.0 - 2.0 * (65.0 / 288.0) / (55.0 * 5.0 / 12.0);
        let factor = (1.959_964 * (variance * 120.0 / 119.0).sqrt()).exp();
        assert!((i.low - (100.0 - 100.0 / 11.0 * factor)).abs() < 0.1 && (i.high - (100.0 - 100.0 / 11.0 / factor)).abs() < 0.1, "{i:?}");
        assert_eq!(found.worked.paired, Paired { stayed_positive: 6, became_negative: 54, became_positive: 0, stayed_negative: 60 });
        assert_eq!((found.course.len(), found.control.map(|c| c.after.counts.positive_premises)), (2, Some(55)));
        let by_treated = change_between(&s, (RoundId(0), RoundId(1)), &Beside::Treated(vec![BlockId(1)]), &Unwatched).unwrap();
        assert_eq!(found, by_treated, "naming the worked block says the same as naming the other one");
    }

    #[test]
    fn nothing_left_and_nothing_there() {
        let s = survey(|block, round, i| block == 1 && round == 0 && i < 60);
        let found = change_between(&s, (RoundId(0), RoundId(1)), &Beside::Nothing, &Unwatched).unwrap();
        let house = found.reductions[0];
        assert_eq!((house.alone, house.beside_control, found.control.is_none()), (Some(100.0), None, true));
        assert!(house.alone_interval.unwrap().low > 80.0, "{house:?}");
        assert_eq!((found.reductions[2].alone, found.reductions[2].alone_interval), (None, None));
    }
}
