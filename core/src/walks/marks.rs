//! Marks of what a day was planned with, by which a plan knows that something else holds now.

use super::{DoorMinutes, Wish};
use crate::reach::Wanted;
use crate::survey::Survey;
use crate::survey::mark::{FIRST, after, step};
use jiff::civil::Date;

/// What a day was planned with, each as a number that is the same for the same; 0 where nobody knows, as in plans of older surveys.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Marks {
    /// Minutes at a door that somebody gave, or that they are learnt.
    pub minutes: u64,
    /// The reach whose gaps are candidates.
    pub reach: u64,
    /// Streets that crews are kept off.
    pub kept_off: u64,
    /// The visits before the day.
    pub visits: u64,
}

impl Marks {
    /// The marks of what is asked for.
    pub fn of(reach: &Wanted, minutes: Option<DoorMinutes>, kept_off: &[(usize, String)], visits: u64) -> Self {
        let minutes = minutes.map_or_else(|| "learnt".to_owned(), |m| format!("{} {} {}", m.complete, m.closed, m.many));
        let from = format!("{:?} {:?}", reach.from, reach.measure_from);
        Self {
            minutes: mark(&[minutes.as_str()]),
            reach: mark(&[from.as_str(), &reach.radius.0.to_string(), &reach.trap_over.to_string()]),
            kept_off: Self::of_streets(kept_off),
            visits,
        }
    }

    /// The mark of streets that crews are kept off, in any order.
    pub fn of_streets(kept_off: &[(usize, String)]) -> u64 {
        let mut streets: Vec<(usize, String)> = kept_off.iter().map(|(crew, street)| (*crew, street.to_lowercase())).collect();
        streets.sort();
        mark(&streets.into_iter().flat_map(|(crew, street)| [crew.to_string(), street]).collect::<Vec<_>>())
    }

    /// The mark of the visits before a day: visits of the day itself are what became of the plan.
    pub fn of_visits(survey: &Survey, on: Date) -> u64 {
        let before = survey.visits.rows().iter().filter(|v| v.when.day < on);
        before.fold(FIRST, |all, v| {
            let [year, month, day] = [i64::from(v.when.day.year()), i64::from(v.when.day.month()), i64::from(v.when.day.day())];
            let (finds, hour) = (v.finds.len() as u64, v.when.time.map_or(0, |t| 1 + t.hour() as u64 * 60 + t.minute() as u64));
            let numbers = [u64::from(v.premise.0), year as u64, month as u64, day as u64, v.outcome as u64, finds, hour];
            numbers.iter().fold(all, |mark, n| step(mark, *n))
        })
    }

    /// What is others now than when the day was planned, in a few words; nothing where all is the same, or unknown.
    pub fn others(&self, now: &Self) -> Option<&'static str> {
        let told = [
            (self.minutes, now.minutes, "minutes at a door are others now"),
            (self.reach, now.reach, "another reach is asked for"),
            (self.kept_off, now.kept_off, "streets are let in or kept off since"),
            (self.visits, now.visits, "visits were brought in since"),
        ];
        told.into_iter().find(|(before, now, _)| *before != 0 && *now != 0 && before != now).map(|(_, _, words)| words)
    }

    /// The marks as the survey keeps them.
    pub(super) fn numbers(&self) -> [u64; 4] {
        [self.minutes, self.reach, self.kept_off, self.visits]
    }

    /// The marks that the survey kept.
    pub(super) fn of_numbers([minutes, reach, kept_off, visits]: [u64; 4]) -> Self {
        Self { minutes, reach, kept_off, visits }
    }
}

impl Wish {
    /// The marks of a wish for a day.
    pub(super) fn marks(&self, survey: &Survey, reach: &Wanted, minutes: Option<DoorMinutes>) -> Marks {
        Marks::of(reach, minutes, &self.kept_off, Marks::of_visits(survey, self.on))
    }
}

fn mark(texts: &[impl AsRef<str>]) -> u64 {
    texts.iter().fold(FIRST, |all, text| step(after(all, text.as_ref().bytes()), 0x100))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::{Outcome, Round, Visits};
    use crate::units::Metres;
    use crate::walks::made_up::{town, visit};
    use jiff::civil::date;
    use std::sync::Arc;

    #[test]
    fn whatever_is_others_is_named() {
        let reach = Wanted::default();
        let given = |closed| Some(DoorMinutes { complete: 15.0, closed, many: 30.0 });
        let off = [(1, "Kettle Lane".to_owned()), (0, "Anvil Street".to_owned())];
        let planned = Marks::of(&reach, given(3.0), &off, 7);
        let same = Marks::of(&reach, given(3.0), &[off[1].clone(), (1, "kettle lane".to_owned())], 7);
        assert_eq!(planned.others(&same), None, "neither order nor case of the streets means anything");
        for (now, words) in [
            (Marks::of(&reach, given(4.0), &off, 7), "minutes at a door are others now"),
            (Marks::of(&reach, None, &off, 7), "minutes at a door are others now"),
            (Marks::of(&Wanted { radius: Metres(200.0), ..reach }, given(3.0), &off, 7), "another reach is asked for"),
            (Marks::of(&reach, given(3.0), &off[..1], 7), "streets are let in or kept off since"),
            (Marks::of(&reach, given(3.0), &off, 8), "visits were brought in since"),
        ] {
            assert_eq!(planned.others(&now), Some(words));
        }
        assert_eq!(Marks::default().others(&planned), None, "nobody knows what an old plan was planned with");
    }

    #[test]
    fn visits_of_the_day_itself_make_no_plan_stale() {
        let (monday, tuesday) = (date(2025, 7, 21), date(2025, 7, 22));
        let with = |days: &[(u32, Date, Outcome)]| {
            let mut s = town(2);
            s.rounds = Arc::new(vec![Round { name: "1".into(), first: monday, last: tuesday }]);
            s.visits = Visits::from_rows(
                s.premises.len(),
                days.iter().map(|&(premise, day, outcome)| (visit(premise, day, outcome), vec![])).collect(),
            );
            Marks::of_visits(&s, tuesday)
        };
        let before = with(&[(3, monday, Outcome::NoAnswer)]);
        assert_eq!(before, with(&[(3, monday, Outcome::NoAnswer), (4, tuesday, Outcome::Inspected)]));
        assert_ne!(before, with(&[(3, monday, Outcome::NoAnswer), (4, monday, Outcome::Inspected)]));
        assert_ne!(before, with(&[(3, monday, Outcome::Inspected)]), "a visit that was put right");
    }
}
