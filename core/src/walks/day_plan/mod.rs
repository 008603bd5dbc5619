//! The plan of one day: which doors, which crew, which order.

mod chosen;
mod effort_part;
mod promises;
mod ranked;
mod search_day;
mod timeline;
#[cfg(test)]
mod trials;
mod untangle;
mod windows;
mod write_up;

use super::{Because, Candidate, Day, Effort, LeftOut, Shift, StreetNetwork, WalkError};
use crate::job::Watch;
use crate::place::Local;
use crate::survey::{PremiseId, Survey};
use chosen::Chosen;
use jiff::civil::{Date, Time};

pub use timeline::{DoorOnClock, Pause, Times, times};

/// What the planner wants of a day.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    /// The day.
    pub on: Date,
    /// When every crew leaves the meeting point.
    pub begins: Time,
    /// How long a crew is out at most, in minutes, pauses counted.
    pub shift_minutes: f64,
    /// The hours of crews that have their own, in the crews' order; a crew that is not listed, or listed with none, is out as all are.
    pub own_shifts: Vec<Option<Shift>>,
    /// The names of the crews; each stays together.
    pub crews: Vec<String>,
    /// Where every walk begins and ends.
    pub meeting_point: Local,
    /// Breaks and pauses for the heat of the day, in order.
    pub pauses: Vec<Pause>,
    /// Streets that a crew is kept off: which crew, counted from 0, and the street's name.
    pub kept_off: Vec<(usize, String)>,
    /// Whether to work out what one more crew would add.
    pub one_more: bool,
    /// Whether to go on from the walks of the plan that is there, rather than to begin anew: what comes out is never worse.
    pub goes_on: bool,
}

/// A planned day, and what was left away to plan it.
#[derive(Clone, Debug, PartialEq)]
pub struct Planned {
    /// The day.
    pub day: Day,
    /// Doors that were candidates.
    pub candidates: usize,
    /// Doors that the search looked at: of very many candidates those worth most and those nearest.
    pub looked_at: usize,
    /// Seconds from door to door over all walks, there and back counted.
    pub travel_seconds: f64,
}

/// Candidates that the search looks at for each crew, and beyond those of all crews. A crew walks to some forty doors in a
/// shift, so there are plenty to choose from.
const EACH: usize = 150;
const BEYOND: usize = 100;

/// Puts doors that are left out in their order: worth most first.
pub(super) fn worth_most_first(left_out: &mut [LeftOut]) {
    left_out.sort_by(|a, b| b.worth.total_cmp(&a.worth).then(a.premise.cmp(&b.premise)));
}

/// Plans one day from nothing, every crew in every street: the walks worth most within the shifts, a first plan at once and better
/// ones until the effort is spent.
///
/// Doors whose last day it is come first, then those of a ring that comes first, then what is overdue; of the rest, the doors with the greatest sum of worth are walked to, over the shortest walks. When all
/// doors fit, the walks are made about equally long. A change of block counts a few seconds in the search and nothing on the clock.
/// Legs too far to walk are driven, the car is parked and returned to. Promised hours are kept: the door is put where it costs least
/// time, and doors that can be walked to at another hour, or are worth less, give way. The search goes on from walks that are known, if any.
pub(super) fn plan_everywhere(
    survey: &Survey,
    network: &StreetNetwork,
    candidates: &[Candidate],
    wish: &Wish,
    (seed, known): (u64, &[Vec<PremiseId>]),
    effort: &mut dyn Effort,
    watch: &dyn Watch,
) -> Result<Planned, WalkError> {
    let mut left_out: Vec<LeftOut> = Vec::new();
    let most = EACH * wish.crews.len() + BEYOND;
    let chosen = Chosen::new(survey, network, candidates, wish, most, &mut left_out, watch)?;
    let found = search_day::search(&chosen, wish, (seed, &chosen.doors_of(known)), effort, watch)?;
    let all = [
        (&found.left_out, Because::ShiftsFull),
        (&found.promise_broken, Because::PromiseCannotBeKept),
        (&found.out_of_hours, Because::OutOfHours),
        (&found.hour_full, Because::HourFull),
    ];
    for (doors, because) in all {
        left_out.extend(doors.iter().map(|&k| chosen.candidate(k).left_out(because)));
    }
    worth_most_first(&mut left_out);
    let day = write_up::day(survey, network, &chosen, wish, &found, left_out);
    Ok(Planned { day, candidates: candidates.len(), looked_at: chosen.len(), travel_seconds: found.travel_seconds })
}

/// The tries that a search of so many seconds makes on an ordinary office computer: a fixed rule, so that the same request gives
/// the same walks everywhere. A try looks at every door of every walk.
pub fn iterations_for(seconds: f64, wish: &Wish, candidates: &[Candidate]) -> u64 {
    let minutes = candidates.iter().map(|c| c.minutes).sum::<f64>() / candidates.len().max(1) as f64;
    let out: f64 = (0..wish.crews.len()).map(|crew| wish.shift(crew).minutes()).sum();
    let in_shifts = out / minutes.max(1.0);
    let doors = in_shifts.min(candidates.len() as f64).max(10.0);
    (seconds * DOORS_A_SECOND / doors).ceil() as u64
}

/// Doors of walks that the search looks at in a second of one processor: 1.5 to 3 million were measured, for 100 to 1,000 doors.
const DOORS_A_SECOND: f64 = 2.0e6;
