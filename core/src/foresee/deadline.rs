//! By which day something that a visit left must be seen to.

use super::emergence::{FirstAdult, Species, Weather};
use super::reason::DAYS_BETWEEN;
use crate::survey::{Action, Find, Stage, Survey};
use jiff::ToSpan as _;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// The days that follow from what a visit left.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Deadline {
    /// The last day before what is alive there can fly; `None` where nothing alive was left.
    pub last_safe_day: Option<Date>,
    /// The day by which water must be gone whatever lives in it: [`Self::days`] after the visit.
    pub within: Date,
    /// [`DAYS_BETWEEN`], or fewer where what hatches on the day of the visit flies sooner.
    pub days: i64,
}

impl Deadline {
    /// The day that counts: the last safe one, or else the one by which water must be gone.
    pub fn day(&self) -> Date {
        self.last_safe_day.map_or(self.within, |safe| safe.min(self.within))
    }
}

/// What deadlines are worked out from: a species and the temperatures of a survey.
#[derive(Clone, Debug)]
pub struct Deadlines<'a> {
    species: Species,
    weather: Weather<'a>,
    /// Days within which nothing flies that hatches on a day, for every day of a visit.
    cycles: BTreeMap<Date, i64>,
}

impl<'a> Deadlines<'a> {
    /// For the visits of a survey that were made by the end of a day.
    pub fn of(survey: &'a Survey, species: Species, until: Date) -> Self {
        let weather = Weather::of(&survey.temperatures);
        let days: BTreeSet<Date> = survey.visits.rows().iter().map(|v| v.when.day).filter(|d| *d <= until).collect();
        let cycle = |day: Date| {
            let hatched = weather.first_adult(species, Stage::L1, day).map(|a| whole_days_before(a.latest));
            (day, hatched.map_or(DAYS_BETWEEN, |days| days.clamp(1, DAYS_BETWEEN)))
        };
        Self { species, cycles: days.into_iter().map(cycle).collect(), weather }
    }

    /// The days by which finds that were seen on a day must be seen to.
    ///
    /// # Source
    /// Days by [`Weather::first_adult`]; at least every [`DAYS_BETWEEN`] days, common practice.
    pub fn after<'f>(&self, seen: Date, finds: impl Iterator<Item = &'f Find>) -> Deadline {
        let emerges = oldest_alive(finds).and_then(|stage| self.first_adult(stage, seen));
        let days = self.cycle(seen);
        let within = seen.checked_add(days.days()).unwrap_or(seen);
        Deadline { last_safe_day: emerges.and_then(|e| last_safe_day(seen, e)), within, days }
    }

    /// Days until what was seen on a day flies.
    pub(super) fn first_adult(&self, stage: Stage, seen: Date) -> Option<FirstAdult> {
        self.weather.first_adult(self.species, stage, seen)
    }

    /// Days from the day of a visit after which its yard is due whatever was done.
    pub(super) fn cycle(&self, seen: Date) -> i64 {
        self.cycles.get(&seen).copied().unwrap_or(DAYS_BETWEEN)
    }
}

/// The last day on which a visit at the hour of the first comes before the first adult: an adult that comes within the day makes the day
/// on which it was seen the last safe one.
pub(super) fn last_safe_day(seen: Date, emerges: FirstAdult) -> Option<Date> {
    seen.checked_add(whole_days_before(emerges.earliest).days()).ok()
}

/// Whole days after which somebody still comes before what happens after some days.
fn whole_days_before(days: f64) -> i64 {
    (days.ceil() as i64 - 1).max(0)
}

/// The oldest stage of what may still grow.
pub(super) fn oldest_alive<'f>(finds: impl Iterator<Item = &'f Find>) -> Option<Stage> {
    finds.filter(|f| still_alive(f)).filter_map(oldest).max()
}

/// Whether what was seen may still grow: it was not tipped out, taken away or shut off.
pub(super) fn still_alive(f: &Find) -> bool {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, LonLat};
    use crate::survey::{DayTemperature, KindId};
    use jiff::civil::date;
    use std::sync::Arc;

    /// At 25 °C a fourth instar of *albopictus* flies 2.47 days after it was seen (the project's science notes, 5.3, example A): a Monday's
    /// must be gone by Wednesday. Without larvae the week counts; what was tipped out is not alive.
    #[test]
    fn what_is_alive_sets_a_day_before_the_week_is_over() {
        let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        survey.temperatures = Arc::new(vec![DayTemperature { day: date(2025, 7, 1), mean: 25.0, range: None }]);
        let monday = date(2025, 7, 7);
        let find = |action| Find {
            kind: KindId(0),
            count: 1,
            wet: 1,
            with_larvae: 1,
            with_pupae: 0,
            pupae: 0,
            stage: Some(Stage::L4),
            litres: None,
            action,
            remains: true,
        };
        let deadlines = Deadlines::of(&survey, Species::Albopictus, monday);
        let after = |action| deadlines.after(monday, [find(action)].iter());
        let left = after(Some(Action::Left));
        assert_eq!((left.last_safe_day, left.day()), (Some(date(2025, 7, 9)), date(2025, 7, 9)));
        let tipped = after(Some(Action::Emptied));
        assert_eq!((tipped.last_safe_day, tipped.day(), tipped.days), (None, date(2025, 7, 14), 7));
    }
}
