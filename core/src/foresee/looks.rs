//! What was seen from outside of yards that nobody inspected, as over the fence, and how much it counts.

use super::near::Near;
use crate::place::Local;
use crate::survey::{BlockId, Outcome, PremiseId, RoundId, Standing, Survey, Visit};
use jiff::civil::Date;

/// Larvae seen from outside count so much beside those of an inspected yard: nobody counted there, and it is seldom the usual yard
/// that shows them over its fence.
///
/// # Source
/// Common practice, no source.
const SEEN: f64 = 0.5;

/// A yard that somebody looked into from outside.
#[derive(Clone, Debug)]
pub(super) struct Look {
    /// The row of the premise.
    pub row: usize,
    /// Where it lies.
    pub at: Local,
    /// Whether larvae or pupae were seen.
    pub larvae: bool,
    /// The block it belongs to.
    pub block: Option<BlockId>,
    /// The first day on which they were seen; without any, the last on which somebody looked.
    pub day: Option<Date>,
}

/// The yards that somebody looked into from outside and nobody inspected.
#[derive(Clone, Debug)]
pub(super) struct Looks {
    /// Each of them, in the order of the premises.
    pub all: Vec<Look>,
    /// Where they lie.
    pub near: Near,
    /// What a look that saw no larvae counts beside an inspection that found none; at most [`SEEN`].
    nothing: f64,
}

impl Default for Looks {
    fn default() -> Self {
        Self::kept(Vec::new(), 0.0)
    }
}

impl Looks {
    /// The looks of a round. `place` is that of every premise; `rate` the share of inspected yards that were positive.
    ///
    /// A look sees less than a walk through. How much less is learnt: a look that saw nothing counts by the odds of larvae on looks
    /// over those on inspections, so that looks move the level of the whole district as little as they can.
    pub(super) fn of(survey: &Survey, standings: &[Standing], place: &[Option<Local>], rate: f64) -> Self {
        let round = survey.round_of(standings);
        let look = |(row, standing): (usize, &Standing)| {
            let at = place[row]?;
            let larvae = standing.seen_from_outside();
            let day = || round.and_then(|round| day_of(survey, round, row, larvae));
            let day = if larvae { day() } else { Some(standing.unknown().then(day).flatten()?) };
            Some(Look { row, at, larvae, block: survey.premises.block.get(row).copied().flatten(), day })
        };
        let all: Vec<Look> = standings.iter().enumerate().filter_map(look).collect();
        let larvae = all.iter().filter(|l| l.larvae).count() as f64;
        let odds = larvae / (all.len() as f64 - larvae).max(1.0);
        Self::kept(all, SEEN * (odds * (1.0 - rate) / rate).min(1.0))
    }

    fn kept(mut all: Vec<Look>, nothing: f64) -> Self {
        all.retain(|l| l.larvae || nothing > 0.0);
        let at: Vec<Local> = all.iter().map(|l| l.at).collect();
        Self { near: Near::new(&at), all, nothing }
    }

    /// Those made before a day; what each counts stays.
    pub(super) fn before(&self, day: Date) -> Self {
        Self::kept(self.all.iter().filter(|l| l.day.is_some_and(|d| d < day)).cloned().collect(), self.nothing)
    }

    /// What a look counts beside an inspection.
    pub(super) fn weight(&self, k: usize) -> f64 {
        if self.all[k].larvae { SEEN } else { self.nothing }
    }
}

/// The day on which larvae were first seen at a premise in a round, or else on which somebody last looked over its fence.
pub(super) fn day_of(survey: &Survey, round: RoundId, row: usize, larvae: bool) -> Option<Date> {
    let visits = &survey.visits;
    let mut own = visits.at(PremiseId(row as u32)).iter().filter(|v| v.round == round);
    let day = |v: &Visit| v.when.day;
    if larvae {
        own.find(|v| visits.positive_containers(v) > 0).map(day)
    } else {
        own.rfind(|v| v.outcome == Outcome::SeenOverFence).map(day)
    }
}
