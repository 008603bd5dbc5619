//! Call-backs: visits that are due, why, and the last day on which they are not too late.

use super::deadline::{Deadlines, last_safe_day, oldest_alive, still_alive};
use super::emergence::{FirstAdult, Species};
use super::reason::Reason;
use super::tries::Tries;
use crate::files::{Column, Features};
use crate::place::BoxIndex;
use crate::reach::neighbours;
use crate::survey::calendar::day_words;
use crate::survey::{
    Action, ContainerKnowledge, Find, KnownContainer, Outcome, PremiseId, Promised, RoundId, Stage, Standing, StaysOpen, Survey, Visit,
    When, promise_at, standings as all_standings,
};
use jiff::ToSpan as _;
use jiff::civil::{Date, Time};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// What was left open in an earlier round counts for so many days: what has not flown by then does not, as in
/// [`super::Weather::first_adult`].
pub const LOOKED_BACK: i64 = 120;

/// The days on which the first adult of what was seen can fly, counted from the hour of the visit, or from 08:00 where none is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AdultDays {
    /// When the oldest animal was just about to leave the stage that was seen.
    pub earliest: Date,
    /// When it was half-way through it.
    pub likely: Date,
    /// When it had only entered it.
    pub latest: Date,
}

/// The hour of a visit of which only the day is written.
const HOUR: Time = Time::constant(8, 0, 0, 0);

impl AdultDays {
    fn from(seen: When, days: FirstAdult) -> Option<Self> {
        let hour = seen.time.unwrap_or(HOUR);
        let gone = (f64::from(hour.hour()) + f64::from(hour.minute()) / 60.0) / 24.0;
        let day = |after: f64| seen.day.checked_add(((after + gone).floor() as i64).days()).ok();
        Some(Self { earliest: day(days.earliest)?, likely: day(days.likely)?, latest: day(days.latest)? })
    }

    /// "flies from 9 July, likely 11 July, at the latest 12 July".
    pub fn words(&self) -> String {
        format!("flies from {}, likely {}, by {} at the latest", day_words(self.earliest), day_words(self.likely), day_words(self.latest))
    }
}

/// One visit that is due.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CallBack {
    /// Where.
    pub premise: PremiseId,
    /// Why.
    pub reason: Reason,
    /// The day of the visit that it comes from; of a neighbour to be asked, the day of the find next door.
    pub since: Date,
    /// The day on which it falls due by the reason alone.
    pub due: Date,
    /// The last day before what was seen can fly; `None` when nothing alive was seen.
    pub last_safe_day: Option<Date>,
    /// The days on which the first adult can fly of what was left; `None` when nothing alive was.
    pub adult: Option<AdultDays>,
    /// The oldest stage seen that was left.
    pub stage: Option<Stage>,
    /// Days from today to the last safe day, or else to the day it is due; below 0 when overdue.
    pub days_left: i64,
    /// Visits in the round so far.
    pub attempts: u32,
    /// Which days or hours the householder was promised, while any of them is to come.
    pub promised: Option<Promised>,
}

impl CallBack {
    /// A visit due for a reason alone.
    fn due(premise: PremiseId, reason: Reason, since: Date, due: Date) -> Self {
        Self { premise, reason, since, due, last_safe_day: None, adult: None, stage: None, days_left: 0, attempts: 0, promised: None }
    }

    /// Where it stands in the list: what is merely to be looked at again last; before it what is overdue, by reason, the most pressing
    /// first; then what is to come, by days.
    fn order(&self) -> (bool, bool, Reason, i64, Reason, PremiseId) {
        let (overdue, last) = (self.days_left < 0, self.reason == Reason::LookAgain);
        (last, !overdue, if overdue { self.reason } else { Reason::LeftStanding }, self.days_left, self.reason, self.premise)
    }

    /// The promise in words, such as "promised Saturday 26 July after 17:00"; empty where there is none.
    pub fn promise_words(&self) -> String {
        self.promised.map(|p| p.words()).unwrap_or_default()
    }
}

/// The visits due after a round, seen from `today`: overdue ones first, by reason; then by days left; yards that are merely to be
/// looked at again last.
///
/// A yard is due when its last full look left something: larvae or pupae standing, water standing, a promise (one made before and not
/// kept is due sooner), something turned over that holds water upside down too ([`ContainerKnowledge`]), or a treatment to look
/// after. Where water was tipped out and nothing else done it is due as well: rain fills it again. That stands until somebody looks
/// again: a door that did not open since, or a round that began since, changes nothing but that the next try is due sooner. What was
/// seen in earlier rounds counts for [`LOOKED_BACK`] days. Without any of that a yard is due when the door did not open in the round,
/// and so is a yard that nobody tried over the fence from a positive one; without outlines none is found. Refusals are for the office,
/// not for a crew, and are left out, but where larvae were left standing. What can fly sets the last safe day, by the earliest first
/// adult from the oldest stage seen (larvae without a written stage count as fourth instars), the species and the temperatures: the last
/// day on which a visit at the same hour comes before it. Where nothing alive was left, the day is set by what may hatch on the day of
/// the visit, and by [`super::DAYS_BETWEEN`]. Visits after `today` are not known yet and count for nothing. A promised day is the day on which
/// a visit is due, whatever was left.
///
/// # Source
/// Days by [`super::Weather::first_adult`]; at least every [`super::DAYS_BETWEEN`] days, common practice.
pub fn callbacks(survey: &Survey, standings: &[Standing], today: Date, species: Species) -> Vec<CallBack> {
    let Some(round) = survey.round_of(standings) else { return Vec::new() };
    if survey.visits.rows().iter().any(|v| v.when.day > today) {
        let known = Survey { visits: survey.visits.until(today), ..survey.clone() };
        return callbacks_of(&known, &all_standings(&known, round), round, today, species);
    }
    callbacks_of(survey, standings, round, today, species)
}

fn callbacks_of(survey: &Survey, standings: &[Standing], round: RoundId, today: Date, species: Species) -> Vec<CallBack> {
    let known = ContainerKnowledge::of(survey);
    let begins = survey.rounds.get(round.row()).map_or(today, |r| r.first);
    let deadlines = Deadlines::of(survey, species, today);
    let asked = Asked { survey, round, begins, today, deadlines, known: known.by_kind(survey) };
    let mut out: Vec<CallBack> = (0..survey.premises.len()).filter_map(|i| asked.of_premise(PremiseId(i as u32))).collect();
    // In the order of the premises still.
    let held = |n: &CallBack| out.binary_search_by_key(&n.premise, |c| c.premise).is_ok();
    let beside: Vec<CallBack> = asked.neighbours_to_be_asked(standings).into_iter().filter(|n| !held(n)).collect();
    out.extend(beside);
    out.sort_by_key(CallBack::order);
    out
}

/// What was asked, with what answers need.
struct Asked<'a> {
    survey: &'a Survey,
    round: RoundId,
    /// The first day of the round.
    begins: Date,
    today: Date,
    deadlines: Deadlines<'a>,
    /// What is known about each kind of container, in the order of the survey's kinds.
    known: Vec<Option<&'a KnownContainer>>,
}

impl Asked<'_> {
    fn of_premise(&self, premise: PremiseId) -> Option<CallBack> {
        let today = self.today;
        let visits = self.visits_until_round(premise);
        let last = *visits.last()?;
        let promised = promise_at(&self.survey.visits, premise).map(|p| p.0).filter(|p| p.next(today).is_some());
        let agreed = promised.filter(Promised::names_days);
        let mut call = self.open(&visits, agreed, last)?;
        (call.attempts, call.promised) = (visits.iter().filter(|v| v.round == self.round).count() as u32, promised);
        if last.when.day > call.since && last.round == self.round {
            // Somebody tried since and did not see the yard.
            match Reason::of_door(last.outcome) {
                Some(reason) => call.due = call.due.min(last.when.day.checked_add(reason.wait().days()).ok()?),
                None if last.outcome == Outcome::Refused && call.stage.is_some() => call.reason = Reason::RefusedSince,
                None if last.outcome == Outcome::Refused && agreed.is_none() => return None,
                None => {}
            }
        }
        let by_reason = call.due;
        call.due = agreed.and_then(|p| p.next(if p.ends() { today } else { by_reason.max(today) })).unwrap_or(by_reason);
        call.days_left = days_until(today, call.last_safe_day.map_or(call.due, |safe| safe.min(call.due)));
        Some(call)
    }

    /// What is open at a premise: what was left there, a door that stayed shut, a day that somebody agreed on. Where only water was left, or
    /// tipped out, the door and the day say more.
    fn open(&self, visits: &[&Visit], agreed: Option<Promised>, last: &Visit) -> Option<CallBack> {
        let left = self.left_open(visits);
        let (again, left) = left.map_or((None, None), |c| if c.reason.is_mild() { (Some(c), None) } else { (None, Some(c)) });
        let promised = || agreed.map(|_| CallBack::due(last.premise, Reason::VisitPromised, last.when.day, last.when.day));
        let door = || self.of_door(visits).map(|d| CallBack { due: again.map_or(d.due, |a| a.due.min(d.due)), ..d });
        left.or_else(door).or_else(promised).or(again)
    }

    /// The visits to a premise in the round, and those of rounds before that still count, oldest first.
    fn visits_until_round(&self, premise: PremiseId) -> Vec<&Visit> {
        let counts = |v: &&Visit| v.round == self.round || (v.when.day < self.begins && days_until(v.when.day, self.today) <= LOOKED_BACK);
        self.survey.visits.at(premise).iter().filter(counts).collect()
    }

    /// What the last full look at a yard left open, and what was seen from outside since: the most pressing reason, and the
    /// day on which the first of it can fly.
    fn left_open(&self, visits: &[&Visit]) -> Option<CallBack> {
        let from = visits.iter().rposition(|v| v.outcome == Outcome::Inspected).unwrap_or(0);
        let calls = visits[from..].iter().filter_map(|v| self.of_looked(v));
        calls.reduce(|a, b| {
            let (first, second) = if (b.reason, b.since) < (a.reason, a.since) { (b, a) } else { (a, b) };
            let sooner = |c: &CallBack| (c.last_safe_day.is_none(), c.last_safe_day);
            let flies = if sooner(&second) < sooner(&first) { &second } else { &first };
            let due = first.due.min(second.due);
            CallBack { due, last_safe_day: flies.last_safe_day, adult: flies.adult, stage: flies.stage, ..first }
        })
    }

    /// What one visit left open.
    fn of_looked(&self, visit: &Visit) -> Option<CallBack> {
        let finds = self.survey.visits.finds_of(visit);
        let reasons: Vec<(bool, Reason)> = match visit.outcome {
            Outcome::Inspected => finds.iter().filter_map(|f| Some((!still_alive(f), self.of_find(visit, f)?))).collect(),
            _ if finds.iter().any(|f| f.positive() > 0) => vec![(false, Reason::SeenFromOutside)],
            _ => return None,
        };
        // What is alive sets the last safe day, and so it is the reason named.
        let reason = reasons.iter().min()?.1;
        let wait = reasons.iter().map(|r| r.1.wait()).min()?;
        let stage = oldest_alive(finds.iter());
        let emerges = stage.and_then(|stage| self.deadlines.first_adult(stage, visit.when.day));
        let last_safe_day = emerges.and_then(|e| last_safe_day(visit.when.day, e));
        let adult = emerges.and_then(|e| AdultDays::from(visit.when, e));
        let by_rule = visit.when.day.checked_add(wait.min(self.deadlines.cycle(visit.when.day)).days()).ok()?;
        let due = last_safe_day.map_or(by_rule, |safe| safe.min(by_rule));
        Some(CallBack { last_safe_day, adult, stage, ..CallBack::due(visit.premise, reason, visit.when.day, due) })
    }

    /// The door that did not open in the round, where nobody has seen the whole yard in it.
    fn of_door(&self, visits: &[&Visit]) -> Option<CallBack> {
        let last = visits.last().filter(|v| v.round == self.round)?;
        if visits.iter().any(|v| v.round == self.round && v.outcome == Outcome::Inspected) {
            return None;
        }
        let (reason, since) = (Reason::of_door(last.outcome)?, last.when.day);
        let due = since.checked_add(reason.wait().days()).ok()?;
        Some(CallBack::due(last.premise, reason, since, due))
    }

    fn of_find(&self, last: &Visit, f: &Find) -> Option<Reason> {
        let known = self.known.get(f.kind.row()).copied().flatten();
        match f.action {
            Some(Action::Treated | Action::Fish | Action::Aerated) if f.positive() > 0 => Some(Reason::SeeWhetherItWorked),
            None | Some(Action::Left) if f.positive() > 0 => Some(Reason::LeftStanding),
            _ if f.remains && self.remained_before(last, f) => Some(Reason::PromiseUnkept),
            _ if f.remains => Some(Reason::Promised),
            Some(Action::Emptied) => Some(Reason::LookAgain),
            _ => match ContainerKnowledge::stays_open(known, f)? {
                StaysOpen::HoldsUpsideDown => Some(Reason::HoldsUpsideDown),
                StaysOpen::LeftStanding => Some(Reason::WaterLeft),
                StaysOpen::Promised => Some(Reason::Promised),
            },
        }
    }

    /// Whether the same kind was left for the householder on an earlier visit to the premise.
    fn remained_before(&self, last: &Visit, f: &Find) -> bool {
        let visits = &self.survey.visits;
        let earlier = visits.at(last.premise).iter().take_while(|v| v.finds.end <= last.finds.start && v.id != last.id);
        earlier.flat_map(|v| visits.finds_of(v)).any(|b| b.kind == f.kind && b.remains)
    }

    /// Yards nobody tried in the round, over the fence from one that was found positive, due soon after that was found.
    fn neighbours_to_be_asked(&self, standings: &[Standing]) -> Vec<CallBack> {
        let survey = self.survey;
        if survey.premises.outline.len() != survey.premises.len() {
            return Vec::new();
        }
        let index = BoxIndex::new(survey.premises.outline.bounds());
        let sources: Vec<(PremiseId, &Standing)> =
            standings.iter().enumerate().filter(|(_, s)| s.source).map(|(i, s)| (PremiseId(i as u32), s)).collect();
        let beside = sources.par_iter().flat_map_iter(|(premise, s)| {
            let found = s.counted.or(s.last).map(|id| survey.visits.get(id).when.day);
            let untried = neighbours(survey, &index, *premise).into_iter().filter(|n| standings[n.premise.row()].attempts == 0);
            untried.filter_map(move |n| Some((n.premise, found?)))
        });
        let mut beside: Vec<(PremiseId, Date)> = beside.collect();
        // Of several positive neighbours the one found first sets the day.
        beside.sort_unstable();
        beside.dedup_by_key(|b| b.0);
        let call = |(premise, found): (PremiseId, Date)| {
            let due = found.checked_add(Reason::NeighbourToBeAsked.wait().days()).ok()?;
            let days_left = days_until(self.today, due);
            let reason = Reason::NeighbourToBeAsked;
            Some(CallBack { days_left, ..CallBack::due(premise, reason, found, due) })
        };
        beside.into_iter().filter_map(call).collect()
    }
}

fn days_until(today: Date, day: Date) -> i64 {
    today.until(day).map_or(0, |span| i64::from(span.get_days()))
}

/// Call-backs seen from a day as rows, their columns named as the command line's contract names them, and behind them: what was promised,
/// when the first adult can fly, when a door that stayed shut was tried, and a day and hour not tried yet (none where one is promised).
pub fn callback_rows(survey: &Survey, found: &[CallBack], today: Date) -> Features {
    let tries: Vec<Tries> = found.iter().map(|c| Tries::of(survey, c.premise, today)).collect();
    let untried = |(c, t): (&CallBack, &Tries)| if c.promised.is_some() { String::new() } else { t.next_words(today) };
    let columns = vec![
        Column::text("parcel_id", found.iter().map(|c| survey.premises.parcel_id.get(c.premise.row()))),
        Column::text("reason", found.iter().map(|c| c.reason.word())),
        Column::day("due", found.iter().map(|c| Some(c.due))),
        Column::day("last_safe_day", found.iter().map(|c| c.last_safe_day)),
        Column::text("stage", found.iter().map(|c| c.stage.map_or("", Stage::word))),
        Column::whole("days_left", found.iter().map(|c| Some(c.days_left))),
        Column::whole("attempts", found.iter().map(|c| Some(i64::from(c.attempts)))),
        Column::text("promised", found.iter().map(CallBack::promise_words)),
        Column::day("first_adult_earliest", found.iter().map(|c| c.adult.map(|a| a.earliest))),
        Column::day("first_adult_likely", found.iter().map(|c| c.adult.map(|a| a.likely))),
        Column::day("first_adult_latest", found.iter().map(|c| c.adult.map(|a| a.latest))),
        Column::text("tried", tries.iter().map(Tries::words)),
        Column::text("try_next", found.iter().zip(&tries).map(untried)),
    ];
    Features::new("callbacks", "Visits that are due", columns)
}

/// How many visits each reason has, in the order of the reasons; reasons without any are left out.
pub fn by_reason<'c>(found: impl Iterator<Item = &'c CallBack>) -> Vec<(Reason, usize)> {
    let mut counts: BTreeMap<Reason, usize> = BTreeMap::new();
    found.for_each(|c| *counts.entry(c.reason).or_default() += 1);
    counts.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, Local, LonLat, Shapes};
    use crate::survey::{DayTemperature, KindId, Round, RoundId, Said, Visits, When, standings};
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
            said: None,
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
            (1, Reason::LookAgain, 14, None, 6),
        ];
        let mut expected = expected.to_vec();
        expected.sort_by_key(|e| (e.4, e.1, e.0));
        assert_eq!(brief, expected);
        assert_eq!(callback_rows(&s, &found, date(2025, 7, 8)).rows(), 6);
        // Example A: Wednesday 9, Friday 11, Saturday 12 July, found at 8 on Monday 7.
        let adult = found[1].adult.unwrap();
        assert_eq!([adult.earliest, adult.likely, adult.latest].map(|d| d.day()), [9, 11, 12]);
    }

    /// Newly hatched at 30 °C fly after 7.32 days, of the other species after 5.43 (the same notes, 5.3, C): what was only tipped out is due
    /// within 7 days, or 5; so is water that was left, without any larvae.
    #[test]
    fn what_was_only_emptied_or_left_is_due_within_the_week_or_sooner_where_it_is_hot() {
        let wet = |action| Find { with_larvae: 0, stage: None, ..find(None, action, false) };
        let done = [Action::Drilled, Action::Removed, Action::Screened, Action::StoredInside];
        let mut rows = vec![
            (Outcome::Inspected, vec![find(Some(Stage::L3), Some(Action::Emptied), false)]),
            (Outcome::Inspected, vec![wet(Some(Action::Left))]),
            (Outcome::Inspected, vec![wet(None), wet(Some(Action::Emptied))]),
            (Outcome::Inspected, vec![Find { wet: 0, ..wet(None) }]),
        ];
        rows.extend(done.map(|action| (Outcome::Inspected, vec![find(Some(Stage::L3), Some(action), false)])));
        let mut s = survey(rows);
        let told = |s: &Survey, on: Date, species| -> Vec<_> {
            let found = callbacks(s, &standings(s, RoundId(0)), on, species);
            found.iter().map(|c| (c.premise.0, c.reason, c.due.day(), c.last_safe_day, c.days_left)).collect()
        };
        let monday = date(2025, 7, 7);
        let expected = |due: i8, left: i64| {
            [(1, Reason::WaterLeft), (2, Reason::WaterLeft), (0, Reason::LookAgain)].map(|(i, reason)| (i, reason, due, None, left))
        };
        s.temperatures = Arc::new(vec![DayTemperature { day: monday, mean: 30.0, range: None }]);
        assert_eq!(told(&s, monday, Species::Albopictus), expected(14, 7));
        assert_eq!(told(&s, monday, Species::Aegypti), expected(12, 5));
        assert_eq!(told(&s, date(2025, 7, 15), Species::Aegypti), expected(12, -3));
        // A door that stayed shut since makes the next try due sooner.
        let mut rows: Vec<(Visit, Vec<Find>)> = s.visits.rows().iter().map(|v| (v.clone(), s.visits.finds_of(v).to_vec())).collect();
        let shut =
            Visit { id: "shut".into(), when: When { day: date(2025, 7, 9), time: None }, outcome: Outcome::NoAnswer, ..rows[0].0.clone() };
        rows.push((shut, Vec::new()));
        s.visits = Visits::from_rows(8, rows);
        assert!(told(&s, date(2025, 7, 9), Species::Aegypti).contains(&(0, Reason::LookAgain, 11, None, 2)));
    }

    /// The day that was promised is the day it is due, sooner or later than the reason alone; hours alone change no day.
    #[test]
    fn what_was_promised_for_a_day_is_due_on_it() {
        let mut s = survey(vec![
            (Outcome::NoAnswer, vec![]),
            (Outcome::Inspected, vec![find(Some(Stage::L4), Some(Action::Left), true)]),
            (Outcome::Inspected, vec![]),
            (Outcome::NoAnswer, vec![]),
            (Outcome::NoAnswer, vec![]),
        ]);
        let promises = ["Saturday", "Saturday", "12 July, after five", "after five", "Fridays"];
        let said = |v: &Visit| Visit { said: Said::of(promises[v.premise.row()], ""), ..v.clone() };
        let rows = s.visits.rows().iter().map(|v| (said(v), s.visits.finds_of(v).to_vec())).collect();
        s.visits = Visits::from_rows(5, rows);
        let told = |today: Date| {
            let found = callbacks(&s, &standings(&s, RoundId(0)), today, Species::Albopictus);
            let mut told: Vec<_> = found.iter().map(|c| (c.premise.0, c.reason, c.due.day(), c.days_left, c.promise_words())).collect();
            told.sort_by_key(|t| t.0);
            told
        };
        let (saturday, hours) = ("promised Saturday 12 July".to_owned(), "promised after 17:00".to_owned());
        // Monday 7 July 2025 and the days after it (any calendar). What flies on Wednesday counts its days to then.
        let tuesday = [
            (0, Reason::NoAnswer, 12, 4, saturday.clone()),
            (1, Reason::LeftStanding, 12, 1, saturday),
            (2, Reason::VisitPromised, 12, 4, "promised Saturday 12 July after 17:00".to_owned()),
            (3, Reason::NoAnswer, 9, 1, hours),
            (4, Reason::NoAnswer, 11, 3, "promised Fridays".to_owned()),
        ];
        assert_eq!(told(date(2025, 7, 8)), tuesday);
        let sunday: Vec<(u32, i8, String)> = told(date(2025, 7, 13)).into_iter().map(|t| (t.0, t.2, t.4)).collect();
        let none = String::new();
        assert_eq!(
            sunday,
            [(0, 9, none.clone()), (1, 9, none), (3, 9, "promised after 17:00".to_owned()), (4, 18, "promised Fridays".to_owned())],
            "a promise whose day has passed binds nobody"
        );
    }

    /// A pond was treated and a tire left for the householder: the larvae in the pond set the day, so it is the pond that is named.
    #[test]
    fn the_reason_named_is_the_one_that_sets_the_day() {
        let pond = find(Some(Stage::L4), Some(Action::Treated), false);
        let s = survey(vec![(Outcome::Inspected, vec![find(None, Some(Action::Left), true), pond])]);
        let found = callbacks(&s, &standings(&s, RoundId(0)), date(2025, 7, 8), Species::Albopictus);
        assert_eq!((found[0].reason, found[0].stage, found[0].due.day()), (Reason::SeeWhetherItWorked, Some(Stage::L4), 9));
    }

    /// An upturned pot that was turned over stays open, a saucer does not; what was left twice was not done.
    #[test]
    fn rims_and_broken_promises_are_seen() {
        let turned = |kind| Find { kind: KindId(kind), ..find(Some(Stage::L2), Some(Action::TurnedOver), false) };
        let left = Find { kind: KindId(0), ..find(None, Some(Action::Emptied), true) };
        let mut s = survey(vec![
            (Outcome::Inspected, vec![turned(0)]),
            (Outcome::Inspected, vec![turned(1)]),
            (Outcome::Inspected, vec![left.clone()]),
        ]);
        s.kinds = Arc::new(vec!["plant saucer".into(), "upturned pot".into()]);
        let mut rows: Vec<(Visit, Vec<Find>)> = s.visits.rows().iter().map(|v| (v.clone(), s.visits.finds_of(v).to_vec())).collect();
        let told = |s: &Survey| -> Vec<(u32, Reason, Option<Date>)> {
            let found = callbacks(s, &standings(s, RoundId(0)), date(2025, 7, 8), Species::Albopictus);
            found.iter().map(|c| (c.premise.0, c.reason, c.last_safe_day)).collect()
        };
        assert_eq!(told(&s), [(1, Reason::HoldsUpsideDown, None), (2, Reason::Promised, None)]);
        let again = Visit { id: "again".into(), when: When { day: date(2025, 7, 8), time: None }, ..rows[2].0.clone() };
        rows.push((again, vec![left]));
        s.visits = Visits::from_rows(3, rows);
        assert_eq!(told(&s), [(2, Reason::PromiseUnkept, None), (1, Reason::HoldsUpsideDown, None)]);
    }

    /// Fourth instars were left on Monday; what happened on Tuesday does not take Wednesday away, and Tuesday is not known on Monday.
    #[test]
    fn a_door_that_stays_shut_does_not_take_the_deadline_away() {
        let left = || vec![find(Some(Stage::L4), Some(Action::Left), true)];
        let since = [
            (Outcome::NoAnswer, vec![]),
            (Outcome::Refused, vec![]),
            (Outcome::Vacant, vec![]),
            (Outcome::SeenOverFence, vec![find(Some(Stage::Pupa), None, false)]),
            (Outcome::Inspected, vec![find(Some(Stage::L4), Some(Action::Emptied), false)]),
        ];
        let mut s = survey((0..5).map(|_| (Outcome::Inspected, left())).collect());
        let mut rows: Vec<(Visit, Vec<Find>)> = s.visits.rows().iter().map(|v| (v.clone(), s.visits.finds_of(v).to_vec())).collect();
        for (i, (outcome, finds)) in since.into_iter().enumerate() {
            let when = When { day: date(2025, 7, 8), time: None };
            rows.push((Visit { id: format!("{i} again").into(), when, outcome, ..rows[i].0.clone() }, finds));
        }
        s.visits = Visits::from_rows(5, rows.clone());
        let told = |s: &Survey, round: u32, on: Date| -> Vec<_> {
            let found = callbacks(s, &standings(s, RoundId(round)), on, Species::Albopictus);
            found.iter().map(|c| (c.premise.0, c.reason, c.since.day(), c.last_safe_day.map(Date::day), c.stage, c.attempts)).collect()
        };
        let (l4, pupa) = (Some(Stage::L4), Some(Stage::Pupa));
        let expected = [
            (3, Reason::LeftStanding, 7, Some(8), pupa, 2),
            (0, Reason::LeftStanding, 7, Some(9), l4, 2),
            (2, Reason::LeftStanding, 7, Some(9), l4, 2),
            (1, Reason::RefusedSince, 7, Some(9), l4, 2),
            (4, Reason::LookAgain, 8, None, None, 2),
        ];
        assert_eq!(told(&s, 0, date(2025, 7, 9)), expected);
        assert_eq!(told(&s, 0, date(2025, 7, 7)), [0, 1, 2, 3, 4].map(|i| (i, Reason::LeftStanding, 7, Some(9), l4, 1)));
        // The next round has begun, elsewhere: Tuesday was its first day.
        s.rounds = Arc::new(vec![
            Round { name: "1".into(), first: date(2025, 7, 7), last: date(2025, 7, 7) },
            Round { name: "2".into(), first: date(2025, 7, 8), last: date(2025, 7, 9) },
        ]);
        rows.truncate(5);
        rows[4].0 = Visit { round: RoundId(1), when: When { day: date(2025, 7, 8), time: None }, ..rows[4].0.clone() };
        s.visits = Visits::from_rows(5, rows);
        let found = told(&s, 1, date(2025, 7, 9));
        assert_eq!(
            found.iter().map(|c| (c.0, c.3, c.5)).collect::<Vec<_>>(),
            [0, 1, 2, 3, 4].map(|i| (i, Some(if i < 4 { 9 } else { 10 }), u32::from(i == 4)))
        );
        assert!(told(&s, 1, date(2025, 12, 30)).len() == 1, "what was left in July has flown by December");
    }

    /// Four yards in a row; larvae in the first, the second was tried, the third lies behind it, the fourth apart.
    #[test]
    fn the_untried_yard_over_the_fence_is_to_be_asked() {
        let mut s =
            survey(vec![(Outcome::Inspected, vec![find(Some(Stage::L1), Some(Action::Emptied), false)]), (Outcome::Refused, vec![])]);
        let mut lots = Shapes::default();
        for (x, y) in [(0.0, 0.0), (20.0, 0.0), (0.0, 30.0), (400.0, 0.0)] {
            let corner = |dx: f64, dy: f64| Local { x: x + dx, y: y + dy };
            lots.push_ring(&[corner(0.0, 0.0), corner(20.0, 0.0), corner(20.0, 30.0), corner(0.0, 30.0)]);
            lots.end_part();
            lots.end_shape();
        }
        s.premises.parcel_id = Arc::new((0..4).map(|i| i.to_string()).collect());
        s.premises.outline = Arc::new(lots);
        let rows = s.visits.rows().iter().map(|v| (v.clone(), s.visits.finds_of(v).to_vec())).collect();
        s.visits = Visits::from_rows(4, rows);
        let found = callbacks(&s, &standings(&s, RoundId(0)), date(2025, 7, 8), Species::Albopictus);
        let brief: Vec<_> = found.iter().map(|c| (c.premise.0, c.reason, c.due, c.days_left)).collect();
        let expected = [(2, Reason::NeighbourToBeAsked, date(2025, 7, 9), 1), (0, Reason::LookAgain, date(2025, 7, 14), 6)];
        assert_eq!(brief, expected);
    }
}
