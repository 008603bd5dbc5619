//! Call-backs: visits that are due, why, and the last day on which they are not too late.

use super::emergence::{Species, Weather};
use crate::files::{Column, Features};
use crate::place::BoxIndex;
use crate::reach::neighbours;
use crate::survey::{
    Action, ContainerKnowledge, Find, KnownContainer, Outcome, PremiseId, Promised, Stage, Standing, StaysOpen, Survey, Visit, promise_at,
};
use jiff::ToSpan as _;
use jiff::civil::Date;
use rayon::prelude::*;

/// While tipping out is the only measure, a yard is seen again after this many days at most. Common practice, no source.
pub const DAYS_BETWEEN: i64 = 7;

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
            Self::LeftStanding | Self::HoldsUpsideDown | Self::Promised | Self::SeeWhetherItWorked | Self::SeenFromOutside => DAYS_BETWEEN,
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
    /// The promise in words, such as "promised Saturday 26 July after 17:00"; empty where there is none.
    pub fn promise_words(&self) -> String {
        self.promised.map(|p| p.words()).unwrap_or_default()
    }
}

/// The visits due after a round, seen from `today`: overdue first, then by days left, then in the order of the premises.
///
/// A yard is due when its last visit of the round left something: larvae or pupae standing, a promise (one made before and
/// not kept is due sooner), something turned over that holds water upside down too ([`ContainerKnowledge`]), a treatment to
/// look after, or a door that did not open. So is a yard that nobody tried over the fence from a positive one; without
/// outlines none is found. A promised day is the day on which a visit is due, whatever was left. Refusals are for the office, not for a
/// crew, and are left out. What can fly sets the last safe day: the day before the earliest first adult, from the oldest stage seen (larvae
/// without a written stage count as fourth instars), the species and the temperatures.
///
/// # Source
/// Days by [`Weather::first_adult`]; at least every [`DAYS_BETWEEN`] days, common practice.
pub fn callbacks(survey: &Survey, standings: &[Standing], today: Date, species: Species) -> Vec<CallBack> {
    let known = ContainerKnowledge::of(survey);
    let asked = Asked { survey, today, species, weather: Weather::of(&survey.temperatures), known: known.by_kind(survey) };
    let due = |(i, s): (usize, &Standing)| asked.of_premise(PremiseId(i as u32), s);
    let mut out: Vec<CallBack> = standings.iter().enumerate().filter_map(due).collect();
    out.extend(asked.neighbours_to_be_asked(standings));
    out.sort_by_key(|c| (c.days_left, c.reason, c.premise));
    out
}

/// What was asked, with what answers need.
struct Asked<'a> {
    survey: &'a Survey,
    today: Date,
    species: Species,
    weather: Weather<'a>,
    /// What is known about each kind of container, in the order of the survey's kinds.
    known: Vec<Option<&'a KnownContainer>>,
}

impl Asked<'_> {
    fn of_premise(&self, premise: PremiseId, s: &Standing) -> Option<CallBack> {
        let (survey, today, species, weather) = (self.survey, self.today, self.species, &self.weather);
        let last = survey.visits.get(s.last?);
        let finds = survey.visits.finds_of(last);
        let promised = promise_at(&survey.visits, premise).map(|p| p.0).filter(|p| p.next(today).is_some());
        let agreed = promised.filter(Promised::names_days);
        let reason = self.reason(last, finds).or(agreed.map(|_| Reason::VisitPromised))?;
        let stage = finds.iter().filter(|f| still_alive(f)).filter_map(oldest).max();
        let emerges = stage.and_then(|stage| weather.first_adult(species, stage, last.when.day));
        // An adult that comes within the day makes the visit's own day the last safe one.
        let last_safe_day = emerges.and_then(|e| last.when.day.checked_add(((e.earliest.ceil() as i64) - 1).max(0).days()).ok());
        let by_rule = last.when.day.checked_add(reason.wait().days()).ok()?;
        let by_reason = last_safe_day.map_or(by_rule, |safe| safe.min(by_rule));
        let due = agreed.and_then(|p| p.next(if p.ends() { today } else { by_reason.max(today) })).unwrap_or(by_reason);
        let days_left = days_until(today, last_safe_day.map_or(due, |safe| safe.min(due)));
        Some(CallBack { premise, reason, due, last_safe_day, stage, days_left, attempts: s.attempts, promised })
    }

    fn reason(&self, last: &Visit, finds: &[Find]) -> Option<Reason> {
        match last.outcome {
            Outcome::Inspected => finds.iter().filter_map(|f| self.of_find(last, f)).min(),
            Outcome::Refused => None,
            _ if finds.iter().any(|f| f.positive() > 0) => Some(Reason::SeenFromOutside),
            Outcome::NoAnswer => Some(Reason::NoAnswer),
            Outcome::LockedGate => Some(Reason::LockedGate),
            Outcome::Unsafe => Some(Reason::Unsafe),
            Outcome::FrontOnly | Outcome::SeenOverFence => Some(Reason::PartOnly),
            Outcome::Vacant => None,
        }
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
            Some(CallBack { premise, reason, due, last_safe_day: None, stage: None, days_left, attempts: 0, promised: None })
        };
        beside.into_iter().filter_map(call).collect()
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
