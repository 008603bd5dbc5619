//! Call-backs: visits that are due, why, and the last day on which they are not too late.

use super::emergence::{Species, Weather};
use crate::files::{Column, Features};
use crate::survey::{Action, Find, Outcome, PremiseId, Stage, Standing, Survey, Visit};
use jiff::ToSpan as _;
use jiff::civil::Date;

/// While tipping out is the only measure, a yard is seen again after this many days at most. Common practice, no source.
pub const DAYS_BETWEEN: i64 = 7;

/// Why a visit is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// Larvae or pupae were left standing.
    LeftStanding,
    /// Something is left for the householder.
    Promised,
    /// Treated, stocked with fish or aerated: see whether it worked.
    SeeWhetherItWorked,
    /// Larvae were seen from outside.
    SeenFromOutside,
    /// Nobody came to the door: another hour, another day of the week.
    NoAnswer,
    /// The gate was locked.
    LockedGate,
    /// Going in was unsafe.
    Unsafe,
    /// Only a part was seen.
    PartOnly,
}

impl Reason {
    /// The reason as files and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::LeftStanding => "larvae or pupae left standing",
            Self::Promised => "left for the householder",
            Self::SeeWhetherItWorked => "treated, see whether it worked",
            Self::SeenFromOutside => "larvae seen from outside",
            Self::NoAnswer => "no answer, another hour or weekday",
            Self::LockedGate => "locked gate, ask for access",
            Self::Unsafe => "unsafe, go in pairs",
            Self::PartOnly => "only a part was seen",
        }
    }
}

/// One visit that is due.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CallBack {
    /// Where.
    pub premise: PremiseId,
    /// Why.
    pub reason: Reason,
    /// The day on which it falls due by the reason alone.
    pub due: Date,
    /// The last day before what was seen can fly; `None` when nothing alive was seen.
    pub last_safe_day: Option<Date>,
    /// The oldest stage seen that was left.
    pub stage: Option<Stage>,
    /// Days from today to the last safe day, or else to the day it is due; below 0 when overdue.
    pub days_left: i64,
    /// Visits in the round so far.
    pub attempts: u32,
}

/// The visits due after a round, seen from `today`: overdue first, then by days left, then in the order of the premises.
///
/// A yard is due when its last visit of the round left something: larvae or pupae standing, a promise, a treatment to look
/// after, or a door that did not open. Refusals are for the office, not for a crew, and are left out. What can fly sets the
/// last safe day: the day before the earliest first adult, from the oldest stage seen (larvae without a
/// written stage count as fourth instars), the species and the temperatures.
///
/// # Source
/// Days by [`Weather::first_adult`]; at least every [`DAYS_BETWEEN`] days, common practice.
pub fn callbacks(survey: &Survey, standings: &[Standing], today: Date, species: Species) -> Vec<CallBack> {
    let weather = Weather::of(&survey.temperatures);
    let due = |(i, s): (usize, &Standing)| of_premise(survey, PremiseId(i as u32), s, today, species, &weather);
    let mut out: Vec<CallBack> = standings.iter().enumerate().filter_map(due).collect();
    out.sort_by_key(|c| (c.days_left, c.reason, c.premise));
    out
}

fn of_premise(survey: &Survey, premise: PremiseId, s: &Standing, today: Date, species: Species, weather: &Weather<'_>) -> Option<CallBack> {
    let last = survey.visits.get(s.last?);
    let finds = survey.visits.finds_of(last);
    let reason = reason(last, finds)?;
    let stage = finds.iter().filter(|f| still_alive(f)).filter_map(oldest).max();
    let emerges = stage.and_then(|stage| weather.first_adult(species, stage, last.when.day));
    // An adult that comes within the day makes the visit's own day the last safe one.
    let last_safe_day = emerges.and_then(|e| last.when.day.checked_add(((e.earliest.ceil() as i64) - 1).max(0).days()).ok());
    let wait = match reason {
        Reason::NoAnswer | Reason::LockedGate | Reason::Unsafe | Reason::PartOnly => 2,
        _ => DAYS_BETWEEN,
    };
    let by_rule = last.when.day.checked_add(wait.days()).ok()?;
    let due = last_safe_day.map_or(by_rule, |safe| safe.min(by_rule));
    let until = |day: Date| today.until(day).map_or(0, |span| i64::from(span.get_days()));
    let days_left = until(last_safe_day.map_or(due, |safe| safe.min(due)));
    Some(CallBack { premise, reason, due, last_safe_day, stage, days_left, attempts: s.attempts })
}

fn reason(last: &Visit, finds: &[Find]) -> Option<Reason> {
    match last.outcome {
        Outcome::Inspected => inspected(finds),
        Outcome::Refused => None,
        _ if finds.iter().any(|f| f.positive() > 0) => Some(Reason::SeenFromOutside),
        Outcome::NoAnswer => Some(Reason::NoAnswer),
        Outcome::LockedGate => Some(Reason::LockedGate),
        Outcome::Unsafe => Some(Reason::Unsafe),
        Outcome::FrontOnly | Outcome::SeenOverFence => Some(Reason::PartOnly),
        Outcome::Vacant => None,
    }
}

fn inspected(finds: &[Find]) -> Option<Reason> {
    let of = |f: &Find| match f.action {
        Some(Action::Treated | Action::Fish | Action::Aerated) if f.positive() > 0 => Some(Reason::SeeWhetherItWorked),
        None | Some(Action::Left) if f.positive() > 0 => Some(Reason::LeftStanding),
        _ if f.remains => Some(Reason::Promised),
        _ => None,
    };
    finds.iter().filter_map(of).min()
}

/// Whether what was seen may still grow: it was not tipped out, taken away or shut off.
fn still_alive(f: &Find) -> bool {
    let gone = matches!(
        f.action,
        Some(Action::Emptied | Action::TurnedOver | Action::Drilled | Action::StoredInside | Action::Removed | Action::Screened)
    );
    f.positive() > 0 && !gone
}

/// The oldest stage of a find; larvae whose stage was not written down count as fourth instars.
fn oldest(f: &Find) -> Option<Stage> {
    let pupa = f.has_pupae().then_some(Stage::Pupa);
    pupa.or(f.stage).or((f.positive() > 0).then_some(Stage::L4))
}

/// Call-backs as rows, their columns named as the command line's contract names them.
pub fn callback_rows(survey: &Survey, found: &[CallBack]) -> Features {
    let columns = vec![
        Column::text("parcel_id", found.iter().map(|c| survey.premises.parcel_id.get(c.premise.row()))),
        Column::text("reason", found.iter().map(|c| c.reason.word())),
        Column::day("due", found.iter().map(|c| Some(c.due))),
        Column::day("last_safe_day", found.iter().map(|c| c.last_safe_day)),
        Column::text("stage", found.iter().map(|c| c.stage.map_or("", Stage::word))),
        Column::whole("days_left", found.iter().map(|c| Some(c.days_left))),
        Column::whole("attempts", found.iter().map(|c| Some(i64::from(c.attempts)))),
    ];
    Features::new("callbacks", "Visits that are due", columns)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, LonLat};
    use crate::survey::{DayTemperature, KindId, Round, RoundId, Visits, When, standings};
    use jiff::civil::date;
    use std::sync::Arc;

    fn find(stage: Option<Stage>, action: Option<Action>, remains: bool) -> Find {
        let with_larvae = u32::from(stage.is_some());
        Find { kind: KindId(0), count: 1, wet: 1, with_larvae, with_pupae: 0, pupae: 0, stage, litres: None, action, remains }
    }

    fn survey(rows: Vec<(Outcome, Vec<Find>)>) -> Survey {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        let n = rows.len();
        s.premises.parcel_id = Arc::new((0..n).map(|i| i.to_string()).collect());
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: date(2025, 7, 7), last: date(2025, 7, 7) }]);
        s.temperatures = Arc::new(vec![DayTemperature { day: date(2025, 7, 1), mean: 25.0, range: None }]);
        let visit = |i: usize, outcome| Visit {
            id: i.to_string().into(),
            premise: PremiseId(i as u32),
            when: When { day: date(2025, 7, 7), time: None },
            outcome,
            round: RoundId(0),
            crew: "".into(),
            finds: 0..0,
        };
        s.visits = Visits::from_rows(n, rows.into_iter().enumerate().map(|(i, (o, f))| (visit(i, o), f)).collect());
        s
    }

    /// A bucket with fourth instars at 25 °C on Monday: the first adult flies 2.47 days later, on Wednesday evening (the
    /// project's science notes, 5.3, example A), so the visit must come back by Wednesday.
    #[test]
    fn the_fast_end_sets_the_last_safe_day() {
        let s = survey(vec![
            (Outcome::Inspected, vec![find(Some(Stage::L4), Some(Action::Left), true)]),
            (Outcome::Inspected, vec![find(Some(Stage::L4), Some(Action::Emptied), false)]),
            (Outcome::NoAnswer, vec![]),
            (Outcome::Inspected, vec![find(None, None, true)]),
            (Outcome::Refused, vec![]),
            (Outcome::SeenOverFence, vec![find(Some(Stage::Pupa), None, false)]),
            (Outcome::Inspected, vec![find(Some(Stage::L1), Some(Action::Treated), false)]),
        ]);
        let found = callbacks(&s, &standings(&s, RoundId(0)), date(2025, 7, 8), Species::Albopictus);
        let brief: Vec<_> =
            found.iter().map(|c| (c.premise.0, c.reason, c.due.day(), c.last_safe_day.map(Date::day), c.days_left)).collect();
        let expected = [
            (5, Reason::SeenFromOutside, 7, Some(7), -1),
            (0, Reason::LeftStanding, 9, Some(9), 1),
            (2, Reason::NoAnswer, 9, None, 1),
            (6, Reason::SeeWhetherItWorked, 14, Some(15), 6),
            (3, Reason::Promised, 14, None, 6),
        ];
        let mut expected = expected.to_vec();
        expected.sort_by_key(|e| (e.4, e.1, e.0));
        assert_eq!(brief, expected);
        assert_eq!(callback_rows(&s, &found).rows(), 5);
    }
}
