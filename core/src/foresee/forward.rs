//! Judging forward in time: learnt from what was known earlier, judged on what was found later.

use super::folds::Grouping;
use super::judge::{Judgement, Told};
use super::lore::Lore;
use super::rates::BlockRates;
use super::refusal::Refusal;
use super::yards::Yards;
use crate::job::{Cancelled, Watch};
use crate::survey::{RoundId, Standing, Survey, standings};
use jiff::civil::Date;

/// How chances learnt earlier did on yards inspected later. How far and how strongly yards are alike is learnt from the whole
/// round; what was found is not.
#[derive(Clone, Debug, PartialEq)]
pub struct Forward {
    /// What they were learnt from.
    pub learnt_from: Earlier,
    /// How many inspected yards that was.
    pub learnt: usize,
    /// How they did.
    pub judged: Judgement,
}

/// What came earlier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Earlier {
    /// An earlier round.
    Round(RoundId),
    /// The days of the same round before this one.
    Before(Date),
}

/// Learns from the round before, or from the first half of the round's yards by day where there is none with enough, and judges
/// on the rest; `None` when there is too little on either side. Model, lengths and strengths are those of `lore`, which is what
/// was learnt from all of the round.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub(super) fn judged(survey: &Survey, now: &[Standing], lore: &Lore, watch: &dyn Watch) -> Result<Option<Forward>, Cancelled> {
    let yards = &lore.yards;
    if let Some((round, before)) = round_before(survey, now) {
        let earlier = Yards::of(survey, &before);
        return told((survey, &before), lore, (Earlier::Round(round), earlier), yards, watch);
    }
    let mut days: Vec<Date> = yards.day.iter().copied().flatten().collect();
    days.sort_unstable();
    let Some(&cut) = days.get(days.len() / 2) else { return Ok(None) };
    let (early, late): (Vec<usize>, Vec<usize>) = (0..yards.seen.len()).partition(|&i| yards.day[i].is_some_and(|d| d < cut));
    let early = Yards { looks: yards.looks.before(cut), ..yards.kept(&early) };
    told((survey, now), lore, (Earlier::Before(cut), early), &yards.kept(&late), watch)
}

/// The latest round before that has enough to learn from, and where premises stood in it.
fn round_before(survey: &Survey, now: &[Standing]) -> Option<(RoundId, Vec<Standing>)> {
    let key = |r: RoundId| (survey.rounds[r.row()].last, r);
    let this = now.iter().find_map(|s| survey.visits.rows().get(s.last?.row())).map(|v| v.round)?;
    let mut before: Vec<RoundId> = (0..survey.rounds.len() as u32).map(RoundId).filter(|&r| key(r) < key(this)).collect();
    before.sort_by_key(|&r| std::cmp::Reverse(key(r)));
    before.into_iter().find_map(|round| {
        let then = standings(survey, round);
        let inspected = then.iter().filter(|s| s.inspected()).count();
        let positive = then.iter().filter(|s| s.inspected() && s.positive()).count();
        Refusal::for_numbers(inspected, positive).is_none().then_some((round, then))
    })
}

fn told(
    (survey, then): (&Survey, &[Standing]),
    whole: &Lore,
    (learnt_from, early): (Earlier, Yards),
    late: &Yards,
    watch: &dyn Watch,
) -> Result<Option<Forward>, Cancelled> {
    let few = |y: &Yards| Refusal::for_numbers(y.seen.len(), y.positives()).is_some();
    if few(&early) || few(late) {
        return Ok(None);
    }
    let lore = whole.learnt_again(survey, then, early, watch)?;
    let chances: Vec<f64> = lore.chances(&late.seen, watch)?.iter().map(|c| c.probability).collect();
    let blocks = Grouping::of(&lore.yards);
    let rates = BlockRates::learnt(&lore.yards, &blocks.groups);
    let by_block: Vec<f64> = blocks.matching(late).into_iter().map(|g| rates.of(g)).collect();
    let overall = vec![lore.yards.rate(); chances.len()];
    let group = Grouping::of(late).groups;
    let told = Told { positive: &late.positive, group: &group, chances: &chances, overall: &overall, by_block: &by_block };
    Ok(told.judged().map(|judged| Forward { learnt_from, learnt: lore.yards.seen.len(), judged }))
}
