//! Promised days and hours at the doors of a day: who was promised today is walked to, who was promised another day is not.

use super::{Because, Candidate, Learnt, LeftOut, Why, WhyKind, Wish};
use crate::survey::{PremiseId, Promised, Survey, promise_at};
use std::collections::{BTreeMap, BTreeSet};

/// What a promised visit is worth at least: a sure find. Our own choice.
const WORTH: f64 = 1.0;

/// Notes promises at the doors of a day: those that visits wrote down, and those that the planner makes now, which count instead. Gives the
/// doors that are left out because they were promised another day.
///
/// A door that was promised the day becomes a candidate if it was none, and cannot wait where no later day was promised. Hours alone make
/// no candidate. Who was promised a later day is told among those left out, whether or not anything else asks for a visit. A promise whose
/// days are past is told beside the reason and binds nobody.
pub(super) fn keep_promises(
    (survey, learnt, wish): (&Survey, &Learnt, &Wish),
    made_now: &[(PremiseId, Promised)],
    doors: &mut Vec<Candidate>,
) -> Vec<LeftOut> {
    let mut at: BTreeMap<PremiseId, usize> = doors.iter().enumerate().map(|(i, door)| (door.premise, i)).collect();
    let mut kept_out: Vec<LeftOut> = Vec::new();
    for (premise, promised, by_planner) in standing(survey, made_now) {
        let known = at.get(&premise).copied();
        if promised.holds_on(wish.on) {
            let may = known.is_some() || by_planner || (promised.names_days() && can_be_visited(survey, wish, premise));
            if may {
                let row = known.unwrap_or_else(|| {
                    doors.push(Candidate { why: nothing(by_planner), worth: 0.0, ..fresh(survey, learnt, premise) });
                    doors.len() - 1
                });
                at.insert(premise, row);
                hold(&mut doors[row], &promised, wish);
            }
        } else if let Some(row) = known {
            let door = &mut doors[row];
            let past = promised.next(wish.on).is_none();
            let words = if past { format!("{}, nobody came", promised.words()) } else { promised.words() };
            door.why.words = joined(&words, &door.why.words);
            if !past {
                kept_out.push(door.left_out(Because::PromisedAnotherDay));
            }
        } else if promised.names_days() && promised.next(wish.on).is_some() && can_be_visited(survey, wish, premise) {
            let why = Why { words: promised.words(), ..nothing(by_planner) };
            kept_out.push(LeftOut { premise, why, worth: WORTH, because: Because::PromisedAnotherDay });
        }
    }
    let out: BTreeSet<PremiseId> = kept_out.iter().map(|l| l.premise).collect();
    doors.retain(|door| !out.contains(&door.premise));
    kept_out
}

/// The promises that stand, in the order of the premises, and whether the planner makes them now.
fn standing(survey: &Survey, made_now: &[(PremiseId, Promised)]) -> Vec<(PremiseId, Promised, bool)> {
    let written: BTreeSet<PremiseId> = survey.visits.rows().iter().filter(|v| !v.promise().is_empty()).map(|v| v.premise).collect();
    let of_visits = written.into_iter().filter_map(|premise| Some((premise, (promise_at(&survey.visits, premise)?.0, false))));
    let mut all: BTreeMap<PremiseId, (Promised, bool)> = of_visits.collect();
    all.extend(made_now.iter().map(|&(premise, promised)| (premise, (promised, true))));
    all.into_iter().map(|(premise, (promised, now))| (premise, promised, now)).collect()
}

/// Whether nobody was there on the day yet, and there is a place to go to.
fn can_be_visited(survey: &Survey, wish: &Wish, premise: PremiseId) -> bool {
    let today = survey.visits.at(premise).iter().any(|v| v.when.day == wish.on);
    !today && !survey.premises.outline.get(premise.row()).is_empty()
}

fn fresh(survey: &Survey, learnt: &Learnt, premise: PremiseId) -> Candidate {
    Candidate::by_hand(premise, learnt.expected(survey, premise), "")
}

fn nothing(by_planner: bool) -> Why {
    Why { kind: if by_planner { WhyKind::ByHand } else { WhyKind::CallBack }, words: String::new() }
}

/// Notes a promise that holds on the day at a door.
fn hold(door: &mut Candidate, promised: &Promised, wish: &Wish) {
    door.why.words = joined(&promised.words(), &door.why.words);
    door.worth = door.worth.max(WORTH);
    if promised.names_days() && promised.ends_on(wish.on) {
        (door.must, door.overdue_days) = (true, 0);
    }
    let minutes = |time: jiff::civil::Time| time.duration_since(wish.begins).as_secs_f64() / 60.0;
    door.promised = promised.hours().map(|(from, until)| (minutes(from), minutes(until)));
}

fn joined(first: &str, rest: &str) -> String {
    if rest.is_empty() { first.to_owned() } else { format!("{first}; {rest}") }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::town;
    use super::super::{Walking, learn_minutes};
    use super::*;
    use crate::place::Local;
    use crate::survey::{Outcome, Round, RoundId, Said, Visit, Visits, When};
    use jiff::civil::{Date, date, time};
    use std::sync::Arc;

    /// A Monday (any calendar), as are all days here counted from it.
    const MONDAY: Date = date(2025, 7, 14);

    /// Lot 5 was promised Saturday, lot 6 Fridays, lot 8 hours alone.
    fn survey() -> Survey {
        let mut s = town(2);
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: MONDAY, last: MONDAY }]);
        let visit = |premise: u32, outcome: Outcome, promise: &str| {
            let (id, when) = (premise.to_string().into(), When { day: MONDAY, time: None });
            let (premise, said) = (PremiseId(premise), Said::of(promise, ""));
            (Visit { id, premise, when, outcome, round: RoundId(0), crew: "A".into(), said, finds: 0..0 }, vec![])
        };
        let rows = vec![
            visit(5, Outcome::NoAnswer, "Saturday after nine"),
            visit(6, Outcome::LockedGate, "Fridays"),
            visit(8, Outcome::NoAnswer, "before noon"),
        ];
        s.visits = Visits::from_rows(s.premises.len(), rows);
        s
    }

    fn kept(on: Date, listed: &[u32], now: &[(PremiseId, Promised)]) -> (Vec<Candidate>, Vec<LeftOut>) {
        let survey = survey();
        let wish = Wish {
            on,
            begins: time(8, 0, 0, 0),
            shift_minutes: 360.0,
            own_shifts: Vec::new(),
            crews: vec!["Crew 1".to_owned()],
            meeting_point: Local { x: 0.0, y: 0.0 },
            pauses: Vec::new(),
            kept_off: Vec::new(),
            one_more: false,
            goes_on: false,
        };
        let mut doors: Vec<Candidate> =
            listed.iter().map(|&p| Candidate { worth: 0.2, ..Candidate::by_hand(PremiseId(p), 9.0, "not visited") }).collect();
        let learnt = learn_minutes(&survey, &Walking::default());
        let out = keep_promises((&survey, &learnt, &wish), now, &mut doors);
        (doors, out)
    }

    fn of(doors: &[Candidate], premise: u32) -> Option<&Candidate> {
        doors.iter().find(|d| d.premise.0 == premise)
    }

    #[test]
    fn a_promised_day_keeps_the_door_out_of_other_days() {
        let (friday, out) = kept(date(2025, 7, 18), &[5, 6, 7, 8], &[]);
        let told = |out: &[LeftOut]| -> Vec<(u32, Because, String)> {
            out.iter().map(|l| (l.premise.0, l.because, l.why.words.clone())).collect()
        };
        let five = |rest: &str| (5, Because::PromisedAnotherDay, format!("promised Saturday 19 July after 09:00{rest}"));
        assert_eq!(told(&out), [five("; not visited")]);
        assert_eq!(told(&kept(date(2025, 7, 18), &[7], &[]).1), [five("")], "told though nothing else asks for a visit");
        let six = of(&friday, 6).expect("it is a Friday");
        assert_eq!((six.worth, six.must, six.promised, six.why.words.as_str()), (1.0, false, None, "promised Fridays; not visited"));
        assert_eq!(of(&friday, 8).map(|d| d.promised), Some(Some((-480.0, 240.0))), "from midnight to noon");
        assert_eq!(of(&friday, 7), Some(&Candidate { worth: 0.2, ..Candidate::by_hand(PremiseId(7), 9.0, "not visited") }));
    }

    #[test]
    fn on_its_day_the_door_is_wanted_though_nothing_else_asks_for_it() {
        let (saturday, out) = kept(date(2025, 7, 19), &[6], &[]);
        let five = of(&saturday, 5).expect("it was promised");
        assert_eq!((five.why.kind, five.must, five.promised.map(|h| h.0)), (WhyKind::CallBack, true, Some(60.0)));
        assert_eq!(out.len(), 1);
        assert!(of(&saturday, 8).is_none(), "hours alone make no candidate");
        let (sunday, out) = kept(date(2025, 7, 20), &[5, 8], &[]);
        assert_eq!(of(&sunday, 5).map(|d| d.why.words.as_str()), Some("promised Saturday 19 July after 09:00, nobody came; not visited"));
        assert_eq!(out.iter().map(|l| l.premise.0).collect::<Vec<_>>(), [6], "the next Friday is to come");
        assert!(of(&sunday, 5).is_some_and(|d| !d.must && d.promised.is_none()));
    }

    #[test]
    fn what_the_planner_promises_now_counts_instead() {
        let now = |text: &str| Promised::read(text, date(2025, 7, 17)).expect("it can be read");
        let (friday, out) = kept(date(2025, 7, 18), &[5], &[(PremiseId(5), now("10:00-11:00")), (PremiseId(11), now("Friday"))]);
        assert_eq!(of(&friday, 5).map(|d| d.promised), Some(Some((120.0, 180.0))));
        assert_eq!(of(&friday, 11).map(|d| (d.why.kind, d.must)), Some((WhyKind::ByHand, true)));
        assert!(out.is_empty());
    }
}
