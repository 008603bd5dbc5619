//! Hours at which nobody opened: another try comes at another hour, where that costs little.

use super::{Candidate, Wish};
use crate::survey::{Outcome, PremiseId, Survey};

/// Minutes before and after a try at which another one counts as at the same hour. Our own choice.
const NEAR: f64 = 45.0;
/// Tries of so many days count; people's weeks change. Our own choice.
const LOOKED_BACK: i32 = 56;
/// How a reason tells it.
const ANOTHER_HOUR: &str = "; rather at another hour";

/// Notes at doors that stayed shut on the weekday of the planned day at which hours that was, and tells so in the reason.
pub(super) fn avoid_tried_hours(survey: &Survey, wish: &Wish, doors: &mut [Candidate]) {
    for door in doors {
        door.avoided = tried(survey, wish, door.premise);
        if !door.avoided.is_empty() && !door.why.words.ends_with(ANOTHER_HOUR) {
            door.why.words.push_str(ANOTHER_HOUR);
        }
    }
}

/// A reason without the hours of an earlier day, which the day that is planned says anew.
pub(super) fn without_hours(words: &str) -> String {
    words.replace(ANOTHER_HOUR, "")
}

/// The minutes after the day's beginning round each try on its weekday, since somebody last saw the yard.
fn tried(survey: &Survey, wish: &Wish, premise: PremiseId) -> Vec<(f64, f64)> {
    let visits = survey.visits.at(premise);
    let since = visits.iter().rev().take_while(|v| v.outcome != Outcome::Inspected);
    let shut = since.filter(|v| matches!(v.outcome, Outcome::NoAnswer | Outcome::LockedGate));
    let recent = shut.filter(|v| v.when.day.weekday() == wish.on.weekday() && v.when.day < wish.on);
    let recent = recent.filter(|v| v.when.day.until(wish.on).is_ok_and(|span| span.get_days() <= LOOKED_BACK));
    let hours = recent.filter_map(|v| v.when.time);
    hours
        .map(|time| {
            let at = time.duration_since(wish.begins).as_secs_f64() / 60.0;
            (at - NEAR, at + NEAR)
        })
        .collect()
}

impl Candidate {
    /// Whether nobody opened at this hour of the weekday before, in minutes after the day's beginning.
    pub(super) fn is_avoided(&self, arrive: f64) -> bool {
        self.avoided.iter().any(|&(from, until)| arrive >= from && arrive <= until)
    }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::{self, planned, town};
    use super::super::{StreetNetwork, Walking};
    use super::*;
    use crate::survey::{Round, Visit, Visits, When};
    use jiff::civil::{Date, Time, date, time};
    use std::sync::Arc;

    /// A Tuesday (any calendar).
    const ON: Date = date(2025, 7, 22);

    fn survey(tries: &[(u32, Date, Option<Time>, Outcome)]) -> Survey {
        let mut s = town(3);
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: date(2025, 7, 1), last: ON }]);
        let visit = |&(premise, day, time, outcome): &(u32, Date, Option<Time>, Outcome)| Visit {
            when: When { day, time },
            ..made_up::visit(premise, day, outcome)
        };
        s.visits = Visits::from_rows(s.premises.len(), tries.iter().map(|t| (visit(t), vec![])).collect());
        s
    }

    fn wish() -> Wish {
        Wish { on: ON, ..made_up::wish(1, 360.0) }
    }

    #[test]
    fn only_the_same_weekday_counts_and_only_since_the_yard_was_seen() {
        let at = |hour, minute| Some(time(hour, minute, 0, 0));
        let last_week = date(2025, 7, 15);
        let s = survey(&[
            (1, last_week, at(10, 20), Outcome::NoAnswer),
            (2, date(2025, 7, 16), at(10, 20), Outcome::NoAnswer),
            (3, date(2025, 7, 8), at(9, 0), Outcome::LockedGate),
            (3, last_week, at(9, 0), Outcome::Inspected),
            (4, last_week, None, Outcome::NoAnswer),
            (5, last_week, at(10, 20), Outcome::Refused),
        ]);
        let mut doors: Vec<Candidate> = (1..6).map(|p| Candidate::by_hand(PremiseId(p), 10.0, "due")).collect();
        avoid_tried_hours(&s, &wish(), &mut doors);
        let told: Vec<usize> = doors.iter().map(|d| d.avoided.len()).collect();
        assert_eq!(told, [1, 0, 0, 0, 0]);
        assert_eq!(doors[0].why.words, "due; rather at another hour");
        assert_eq!(without_hours(&doors[0].why.words), "due");
        assert!(doors[0].is_avoided(140.0) && doors[0].is_avoided(100.0) && !doors[0].is_avoided(60.0) && !doors[0].is_avoided(200.0));
    }

    /// A street's worth of doors; the first hour at which the plan comes to one of them is the one at which nobody opened last week.
    #[test]
    fn nobody_is_looked_for_twice_at_the_same_hour_of_the_same_weekday_where_it_costs_little() {
        let none = survey(&[]);
        let network = StreetNetwork::new(&none.streets, &Walking { driving: None, ..Walking::default() });
        let mut doors: Vec<Candidate> = (0..60).step_by(3).map(|p| Candidate::by_hand(PremiseId(p), 10.0, "due")).collect();
        let before = planned(&none, &network, &doors, &wish(), 400).expect("it can be planned").day;
        let walk = &before.walks[0];
        let asked = walk.doors.first().expect("all fit").clone();
        let hour = before.clock(asked.arrive);
        let s = survey(&[(asked.premise.0, date(2025, 7, 15), Some(hour), Outcome::NoAnswer)]);
        avoid_tried_hours(&s, &wish(), &mut doors);
        let after = planned(&s, &network, &doors, &wish(), 400).expect("it can be planned").day;
        let again = after.walks[0].doors.iter().find(|d| d.premise == asked.premise).expect("all fit");
        assert!((again.arrive - asked.arrive).abs() > NEAR, "{} is {} again", again.arrive, asked.arrive);
        assert_eq!(after.doors(), before.doors());
        assert!(after.walks[0].back_after <= walk.back_after + 2.0, "{} beside {}", after.walks[0].back_after, walk.back_after);
    }
}
