//! Changes by hand, as the window and the command line both ask for them.

use super::by_hand::{self, ByHandError, Spot, Ways, cost, spot_of};
use super::{Candidate, Day, Why, in_street};
use crate::survey::{PremiseId, Survey};

/// Minutes at a door of a day that has no other.
///
/// # Source
/// Common practice, no source: between a door that is opened and one that stays closed.
const USUAL: f64 = 12.0;

/// A change by hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// A door to a place, in its own walk or another.
    Move(PremiseId, Spot),
    /// A door to another crew, where it costs least.
    HandOver(PremiseId, usize),
    /// A door more, for a crew, or for the one where it costs least.
    Add(PremiseId, Option<usize>),
    /// A door off the day.
    TakeOff(PremiseId),
    /// A door locked in its walk, or let go.
    LockDoor(PremiseId, bool),
    /// A walk locked as it is, or let go.
    LockWalk(usize, bool),
    /// A crew kept off a street: its doors there go to the others.
    KeepOff(usize, String),
}

impl Change {
    /// The day as it is after the change; what crews carry is left as it was.
    ///
    /// # Errors
    /// [`ByHandError`] when the change cannot be made.
    pub fn make(&self, survey: &Survey, day: &Day, ways: &dyn Ways) -> Result<Day, ByHandError> {
        let spot = |premise: PremiseId| spot_of(day, premise).ok_or(ByHandError::NoSuchDoor(Spot { walk: 0, door: 0 }));
        match self {
            Self::Move(premise, to) => by_hand::move_door(day, spot(*premise)?, *to, ways),
            Self::HandOver(premise, walk) => by_hand::hand_over(day, spot(*premise)?, *walk, ways),
            Self::Add(premise, walk) => add(day, *premise, *walk, ways),
            Self::TakeOff(premise) => by_hand::remove(day, spot(*premise)?, ways),
            Self::LockDoor(premise, locked) => by_hand::lock_door(day, spot(*premise)?, *locked),
            Self::LockWalk(walk, locked) => by_hand::lock_walk(day, *walk, *locked),
            Self::KeepOff(walk, street) => by_hand::hand_over_all(day, *walk, &|d| in_street(survey, d.premise, street, ways), ways),
        }
    }
}

/// A door more for a crew, or for the one where it costs least.
fn add(day: &Day, premise: PremiseId, walk: Option<usize>, ways: &dyn Ways) -> Result<Day, ByHandError> {
    let known = day.left_out.iter().find(|l| l.premise == premise);
    let asked = Candidate::by_hand(premise, usual_minutes(day), "put there by the planner");
    let candidate = known.map_or(asked.clone(), |l| Candidate {
        why: Why { words: l.why.words.clone(), ..asked.why.clone() },
        worth: l.worth,
        ..asked
    });
    let door = candidate.door(day.meeting_point);
    let to = |walk: usize| by_hand::add(day, walk, door.clone(), ways);
    if let Some(walk) = walk {
        return to(walk);
    }
    let free = (0..day.walks.len()).filter(|&w| !day.walks[w].locked);
    let all: Vec<Result<Day, ByHandError>> = free.map(to).collect();
    let minutes = |day: &Day| cost(day, day).too_long.len() as f64 * 1e6 + day.walks.iter().map(|w| w.back_after).sum::<f64>();
    let best = all.into_iter().min_by(|a, b| {
        let of = |r: &Result<Day, ByHandError>| r.as_ref().map_or(f64::INFINITY, &minutes);
        of(a).total_cmp(&of(b))
    });
    best.unwrap_or(Err(ByHandError::Locked))
}

/// Minutes at a middling door of the day.
fn usual_minutes(day: &Day) -> f64 {
    let mut all: Vec<f64> = day.walks.iter().flat_map(|w| &w.doors).map(|d| d.minutes).collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(USUAL)
}
