//! The walks worth most when some doors come first: deadlines of the day, then a ring, then what is overdue, then the rest.

use super::chosen::Chosen;
use super::effort_part::Part;
use crate::job::Watch;
use crate::walks::ring::Rank;
use crate::walks::search::plan_what_fits;
use crate::walks::{DayPlan, DayTask, Effort, Stop, WalkError};
use std::collections::BTreeSet;

/// The share of an effort that goes into walks of the doors that come first alone.
const FIRST_SHARE: f64 = 0.4;
/// What an overdue door counts more, beside doors that are worth 2.7 at most, and what a door of the ring counts more for being one.
const OVERDUE: f64 = 10.0;
const EACH: f64 = 1.0;

/// An effort that several searches share.
pub(super) struct Tries<'a> {
    pub seed: u64,
    pub effort: &'a mut dyn Effort,
    /// Walks to go on from, as places; none to begin anew.
    pub known: &'a [Vec<usize>],
    /// Iterations so far.
    pub done: u64,
    pub watch: &'a dyn Watch,
}

impl Tries<'_> {
    /// Plans with the part of the effort from one share to another; better plans are told on where that is asked for.
    pub(super) fn plan(&mut self, task: &DayTask, span: (f64, f64), tells: bool) -> Result<DayPlan, WalkError> {
        let mut part = Part::new(&mut *self.effort, span, self.done, tells);
        let found = plan_what_fits(task, self.known, self.seed, &mut part, self.watch)?;
        self.done += part.done;
        Ok(found)
    }

    /// The walks worth most. Where doors of a ring are among the stops, walks of those and of the day's deadlines alone are looked for
    /// first; then these doors are held and the time that is left is filled with the others.
    pub(super) fn most_worth(
        &mut self,
        chosen: &Chosen<'_>,
        task: &DayTask,
        (from, to): (f64, f64),
        tells: bool,
    ) -> Result<DayPlan, WalkError> {
        let rank = |stop: &Stop| chosen.candidate(stop.at - 1).rank();
        if !task.stops.iter().any(|s| rank(s) == Rank::Ring) {
            return self.plan(task, (from, to), tells);
        }
        let first = task.stops.iter().filter(|s| rank(s) <= Rank::Ring);
        let first = first.map(|s| Stop { must: rank(s) == Rank::DueToday, prize: s.prize + EACH, ..*s }).collect();
        let until = from + FIRST_SHARE * (to - from);
        let alone = self.plan(&DayTask { stops: first, ..task.clone() }, (from, until), false)?;
        let held: BTreeSet<usize> = alone.walks.iter().flatten().copied().collect();
        let with_rest = task.stops.iter().map(|s| match rank(s) {
            Rank::DueToday => Stop { must: true, ..*s },
            Rank::Ring => Stop { must: held.contains(&s.at), prize: s.prize + OVERDUE, ..*s },
            Rank::Overdue => Stop { must: false, prize: s.prize + OVERDUE, ..*s },
            Rank::Other => *s,
        });
        let filled = self.plan(&DayTask { stops: with_rest.collect(), ..task.clone() }, (until, to), tells)?;
        let of = |plan: &DayPlan, wanted: Rank| {
            let walked: BTreeSet<usize> = plan.walks.iter().flatten().copied().collect();
            task.stops.iter().filter(|s| rank(s) == wanted && walked.contains(&s.at)).count()
        };
        let counts = |plan: &DayPlan| (of(plan, Rank::DueToday), of(plan, Rank::Ring));
        // The search gives no proof: walks that lost what they should have held are not taken.
        let walks = if counts(&filled) >= counts(&alone) { filled.walks } else { alone.walks };
        let walked: BTreeSet<usize> = walks.iter().flatten().copied().collect();
        let left_out = task.stops.iter().map(|s| s.at).filter(|at| !walked.contains(at)).collect();
        Ok(DayPlan { standing: task.standing(&walks), walks, left_out })
    }
}
