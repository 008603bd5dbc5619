//! Call-backs: visits that are due, why, and the last day on which they are not too late.

use super::emergence::{Species, Weather};
use crate::files::{Column, Features};
use crate::place::BoxIndex;
use crate::reach::neighbours;
use crate::survey::{
    Action, ContainerKnowledge, Find, KnownContainer, Outcome, PremiseId, Promised, RoundId, Stage, Standing, StaysOpen, Survey, Visit,
    promise_at, standings as all_standings,
};
use jiff::ToSpan as _;
use jiff::civil::Date;
use rayon::prelude::*;

/// While tipping out is the only measure, a yard is seen again after this many days at most. Common practice, no source.
pub const DAYS_BETWEEN: i64 = 7;

/// What was left open in an earlier round counts for so many days: what has not flown by then does not, as in
/// [`Weather::first_adult`].
pub const LOOKED_BACK: i64 = 120;

/// Why a visit is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// Larvae or pupae were left standing.
    LeftStanding,
    /// Left for the householder on an earlier visit too, and still not done.
    PromiseUnkept,
    /// Turned over, but of a kind that holds water upside down too.
    HoldsUpsideDown,
    /// Something is left for the householder.
    Promised,
    /// Treated, stocked with fish or aerated: see whether it worked.
    SeeWhetherItWorked,
    /// Larvae were seen from outside.
    SeenFromOutside,
    /// Larvae or pupae were left standing, and entry was refused since.
    RefusedSince,
    /// Nobody came to the door: another hour, another day of the week.
    NoAnswer,
    /// The gate was locked.
    LockedGate,
    /// Going in was unsafe.
    Unsafe,
    /// Only a part was seen.
    PartOnly,
    /// Over the fence from a positive yard, and nobody has asked there yet.
    NeighbourToBeAsked,
    /// Nothing but that a visit was promised.
    VisitPromised,
}

impl Reason {
    /// The reason as files and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::LeftStanding => "larvae or pupae left standing",
            Self::PromiseUnkept => "promise unkept",
            Self::HoldsUpsideDown => "turned over, still holds water",
            Self::Promised => "left for the householder",
            Self::SeeWhetherItWorked => "treated, see whether it worked",
            Self::SeenFromOutside => "larvae seen from outside",
            Self::RefusedSince => "larvae or pupae left standing, refused since",
            Self::NoAnswer => "no answer, another hour or weekday",
            Self::LockedGate => "locked gate, ask for access",
            Self::Unsafe => "unsafe, go in pairs",
            Self::PartOnly => "only a part was seen",
            Self::NeighbourToBeAsked => "neighbour to be asked",
            Self::VisitPromised => "visit promised",
        }
    }
}

impl Reason {
    /// Days after which a visit for it is due, when nothing that can fly sets an earlier day. Common practice, no source.
    fn wait(self) -> i64 {
        match self {
            Self::NoAnswer | Self::LockedGate | Self::Unsafe | Self::PartOnly | Self::NeighbourToBeAsked | Self::PromiseUnkept => 2,
            Self::LeftStanding
            | Self::HoldsUpsideDown
            | Self::Promised
            | Self::SeeWhetherItWorked
            | Self::SeenFromOutside
            | Self::RefusedSince => DAYS_BETWEEN,
            Self::VisitPromised => 0,
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
    /// The day of the visit that it comes from; of a neighbour to be asked, the day of the find next door.
    pub since: Date,
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
    /// Which days or hours the householder was promised, while any of them is to come.
    pub promised: Option<Promised>,
}

impl CallBack {
    /// A visit due for a reason alone.
    fn due(premise: PremiseId, reason: Reason, since: Date, due: Date) -> Self {
        Self { premise, reason, since, due, last_safe_day: None, stage: None, days_left: 0, attempts: 0, promised: None }
    }

    /// The promise in words, such as "promised Saturday 26 July after 17:00"; empty where there is none.
    pub fn promise_words(&self) -> String {
        self.promised.map(|p| p.words()).unwrap_or_default()
    }
}

/// The visits due after a round, seen from `today`: overdue first, then by days left, then in the order of the premises.
///
/// A yard is due when its last full look left something: larvae or pupae standing, a promise (one made before and not kept is
/// due sooner), something turned over that holds water upside down too ([`ContainerKnowledge`]), or a treatment to look after.
/// That stands until somebody looks again: a door that did not open since, or a round that began since, changes nothing but
/// that the next try is due sooner. What was seen in earlier rounds counts for [`LOOKED_BACK`] days. Without any of that a
/// yard is due when the door did not open in the round, and so is a yard that nobody tried over the fence from a positive
/// one; without outlines none is found. Refusals are for the office, not for a crew, and are left out, but where larvae were
/// left standing. What can fly sets the last safe day: the day before the earliest first adult, from the oldest stage seen
/// (larvae without a written stage count as fourth instars), the species and the temperatures. Visits after `today` are not
/// known yet and count for nothing. A promised day is the day on which a visit is due, whatever was left.
///
/// # Source
/// Days by [`Weather::first_adult`]; at least every [`DAYS_BETWEEN`] days, common practice.
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
    let weather = Weather::of(&survey.temperatures);
    let asked = Asked { survey, round, begins, today, species, weather, known: known.by_kind(survey) };
    let mut out: Vec<CallBack> = (0..survey.premises.len()).filter_map(|i| asked.of_premise(PremiseId(i as u32))).collect();
    // In the order of the premises still.
    let held = |n: &CallBack| out.binary_search_by_key(&n.premise, |c| c.premise).is_ok();
    let beside: Vec<CallBack> = asked.neighbours_to_be_asked(standings).into_iter().filter(|n| !held(n)).collect();
    out.extend(beside);
    out.sort_by_key(|c| (c.days_left, c.reason, c.premise));
    out
}

/// What was asked, with what answers need.
struct Asked<'a> {
    survey: &'a Survey,
    round: RoundId,
    /// The first day of the round.
    begins: Date,
    today: Date,
    species: Species,
    weather: Weather<'a>,
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
        let open = self.left_open(&visits).or_else(|| self.of_door(&visits));
        let mut call = open.or_else(|| agreed.map(|_| CallBack::due(premise, Reason::VisitPromised, last.when.day, last.when.day)))?;
        (call.attempts, call.promised) = (visits.iter().filter(|v| v.round == self.round).count() as u32, promised);
        if last.when.day > call.since && last.round == self.round {
            // Somebody tried since and did not see the yard.
            match door(last.outcome) {
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
            CallBack { due: first.due.min(second.due), last_safe_day: flies.last_safe_day, stage: flies.stage, ..first }
        })
    }

    /// What one visit left open.
    fn of_looked(&self, visit: &Visit) -> Option<CallBack> {
        let finds = self.survey.visits.finds_of(visit);
        let reason = match visit.outcome {
            Outcome::Inspected => finds.iter().filter_map(|f| self.of_find(visit, f)).min()?,
            _ if finds.iter().any(|f| f.positive() > 0) => Reason::SeenFromOutside,
            _ => return None,
        };
        let stage = finds.iter().filter(|f| still_alive(f)).filter_map(oldest).max();
        let emerges = stage.and_then(|stage| self.weather.first_adult(self.species, stage, visit.when.day));
        // An adult that comes within the day makes the visit's own day the last safe one.
        let last_safe_day = emerges.and_then(|e| visit.when.day.checked_add(((e.earliest.ceil() as i64) - 1).max(0).days()).ok());
        let by_rule = visit.when.day.checked_add(reason.wait().days()).ok()?;
        let due = last_safe_day.map_or(by_rule, |safe| safe.min(by_rule));
        Some(CallBack { last_safe_day, stage, ..CallBack::due(visit.premise, reason, visit.when.day, due) })
    }

    /// The door that did not open in the round, where nobody has seen the whole yard in it.
    fn of_door(&self, visits: &[&Visit]) -> Option<CallBack> {
        let last = visits.last().filter(|v| v.round == self.round)?;
        if visits.iter().any(|v| v.round == self.round && v.outcome == Outcome::Inspected) {
            return None;
        }
        let (reason, since) = (door(last.outcome)?, last.when.day);
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
            _ => (ContainerKnowledge::stays_open(known, f) == Some(StaysOpen::HoldsUpsideDown)).then_some(Reason::HoldsUpsideDown),
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

/// Why a door that did not open, or did not open far enough, is due again; `None` where no crew has to come back for it.
fn door(outcome: Outcome) -> Option<Reason> {
    match outcome {
        Outcome::NoAnswer => Some(Reason::NoAnswer),
        Outcome::LockedGate => Some(Reason::LockedGate),
        Outcome::Unsafe => Some(Reason::Unsafe),
        Outcome::FrontOnly | Outcome::SeenOverFence => Some(Reason::PartOnly),
        Outcome::Inspected | Outcome::Refused | Outcome::Vacant => None,
    }
}

fn days_until(today: Date, day: Date) -> i64 {
    today.until(day).map_or(0, |span| i64::from(span.get_days()))
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
        Column::text("promised", found.iter().map(CallBack::promise_words)),
    ];
    Features::new("callbacks", "Visits that are due", columns)
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
        ];
        let mut expected = expected.to_vec();
        expected.sort_by_key(|e| (e.4, e.1, e.0));
        assert_eq!(brief, expected);
        assert_eq!(callback_rows(&s, &found).rows(), 5);
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
        assert_eq!(brief, [(2, Reason::NeighbourToBeAsked, date(2025, 7, 9), 1)]);
    }
}
