//! Doors of an earlier day that nobody finished: they come to the next day with their reason.

use super::candidates::tried_words;
use super::ring::without_ring;
use super::tried::without_hours;
use super::{Day, Door, Why, WhyKind, compare, own_worth, planned_doors};
use crate::survey::calendar::day_words;
use crate::survey::{Outcome, PremiseId, Survey};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// A door that comes over from an earlier day.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOver {
    /// Which premise.
    pub premise: PremiseId,
    /// What became of it: "not reached on 24 July", "no answer on Thu 24 July 16:10".
    pub words: String,
    /// Why somebody was to go there.
    pub reason: String,
    /// What the visit was worth.
    pub worth: f64,
    /// Minutes that were reckoned with at the door.
    pub minutes: f64,
    /// Whether somebody was there.
    pub tried: bool,
}

/// The doors that come over to a day: of the plan of an earlier day, those that were not reached or did not open and were not inspected
/// since; of a plan of the same day, those that had come over to it already. A later plan leaves nothing over.
pub fn left_over(survey: &Survey, before: &Day, on: Date) -> Vec<LeftOver> {
    if before.on == on {
        return come_over(before);
    }
    if before.on > on {
        return Vec::new();
    }
    let doors: BTreeMap<PremiseId, &Door> = before.walks.iter().flat_map(|w| &w.doors).map(|d| (d.premise, d)).collect();
    let compared = compare(survey, &planned_doors(before), before.on);
    let since = |premise: PremiseId| {
        let done = [Outcome::Inspected, Outcome::Refused];
        survey.visits.at(premise).iter().any(|v| v.when.day > before.on && v.when.day <= on && done.contains(&v.outcome))
    };
    let open = compared.doors.iter().filter(|d| d.remains().is_some() && !since(d.door.premise));
    open.filter_map(|d| {
        let door = doors.get(&d.door.premise)?;
        let visit = survey.visits.at(door.premise).iter().rev().find(|v| v.when.day == before.on && Some(v.outcome) == d.outcome);
        let what = visit.map_or_else(|| format!("not reached on {}", day_words(before.on)), tried_words);
        Some(of_door(door.premise, &door.why, door.worth, door.minutes, &what, d.outcome.is_some()))
    })
    .collect()
}

/// The doors of a day that had come over to it, walked to or left out.
fn come_over(day: &Day) -> Vec<LeftOver> {
    let walked = day.walks.iter().flat_map(|w| &w.doors).map(|d| (d.premise, &d.why, d.worth, d.minutes));
    let left = day.left_out.iter().map(|l| (l.premise, &l.why, l.worth, 0.0));
    let all = walked.chain(left).filter(|(_, why, ..)| why.kind == WhyKind::LeftOver);
    all.map(|(premise, why, worth, minutes)| {
        let (words, reason) = why.words.split_once("; ").unwrap_or((why.words.as_str(), ""));
        let why = Why { kind: WhyKind::Gap, words: reason.to_owned() };
        of_door(premise, &why, own_worth(worth) / WORTH_MORE, minutes, words, false)
    })
    .collect()
}

fn of_door(premise: PremiseId, why: &Why, worth: f64, minutes: f64, words: &str, tried: bool) -> LeftOver {
    // A door that is left over a second time is told of once.
    let again = if why.kind == WhyKind::LeftOver && words != why.words { why.words.split_once("; ").map(|(_, rest)| rest) } else { None };
    let reason = without_hours(&without_ring(again.unwrap_or(&why.words)));
    LeftOver { premise, words: words.to_owned(), reason, worth: own_worth(worth), minutes, tried }
}

/// How much more a door that nobody reached is worth on the next day. Our own choice.
pub(super) const WORTH_MORE: f64 = 1.2;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Local;
    use crate::survey::{Round, Visits};
    use crate::walks::made_up::{town, visit};
    use crate::walks::{CrewWalk, LeftOut};
    use jiff::civil::date;
    use std::sync::Arc;

    fn day(on: Date, doors: &[(u32, WhyKind, &str)]) -> Day {
        let door = |&(premise, kind, words): &(u32, WhyKind, &str)| Door {
            premise: PremiseId(premise),
            why: Why { kind, words: words.to_owned() },
            at: Local { x: 0.0, y: 0.0 },
            arrive: 0.0,
            minutes: 9.0,
            walk_m: 0.0,
            by_car: false,
            probability: None,
            worth: 0.6,
            must: false,
            overdue_days: 0,
            promised: None,
            locked: false,
        };
        let walk = CrewWalk { crew: "A".to_owned(), doors: doors.iter().map(door).collect(), ..CrewWalk::default() };
        Day { on, walks: vec![walk], ..Day::default() }
    }

    fn survey(visits: &[(u32, Date, Outcome)]) -> Survey {
        let mut s = town(2);
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: date(2025, 7, 1), last: date(2025, 7, 30) }]);
        s.visits = Visits::from_rows(
            s.premises.len(),
            visits.iter().map(|&(premise, day, outcome)| (visit(premise, day, outcome), vec![])).collect(),
        );
        s
    }

    #[test]
    fn what_was_not_finished_comes_over_with_its_reason() {
        let (monday, tuesday, wednesday) = (date(2025, 7, 21), date(2025, 7, 22), date(2025, 7, 23));
        let gap = WhyKind::Gap;
        let plan = day(monday, &[(0, gap, "not visited"), (1, gap, "not visited"), (2, gap, "not visited"), (3, gap, "not visited")]);
        let s = survey(&[(0, monday, Outcome::Inspected), (1, monday, Outcome::NoAnswer), (3, tuesday, Outcome::Inspected)]);
        let told = |s: &Survey, plan: &Day, on| -> Vec<(u32, String, String)> {
            left_over(s, plan, on).into_iter().map(|l| (l.premise.0, l.words, l.reason)).collect()
        };
        let open = |p, words: &str, reason: &str| (p, words.to_owned(), reason.to_owned());
        assert_eq!(
            told(&s, &plan, wednesday),
            [open(1, "no answer on Mon 21 July", "not visited"), open(2, "not reached on 21 July", "not visited")]
        );
        assert_eq!(told(&s, &plan, tuesday).len(), 2, "3 was done on Tuesday");
        assert!(told(&s, &plan, date(2025, 7, 20)).is_empty() && told(&s, &plan, monday).is_empty());
        // Tuesday's plan has it again and does not reach it either: said once, with the later day.
        let again = day(tuesday, &[(2, WhyKind::LeftOver, "not reached on 21 July; not visited")]);
        assert_eq!(told(&s, &again, wednesday), [open(2, "not reached on 22 July", "not visited")]);
        assert_eq!(told(&s, &again, tuesday), [open(2, "not reached on 21 July", "not visited")], "planned anew on its own day");
        let why = again.walks[0].doors[0].why.clone();
        let out = LeftOut { premise: PremiseId(2), why, worth: 0.5, because: crate::walks::Because::ShiftsFull };
        let left = Day { left_out: vec![out], ..day(tuesday, &[]) };
        assert_eq!(told(&s, &left, tuesday), [open(2, "not reached on 21 July", "not visited")]);
    }
}
