//! Which doors may be walked to on a day, why, and what each visit is worth.

use super::left_over::{WORTH_MORE, left_over};
use super::ring::{IN_A_RING, ring};
use super::{Because, Day, Door, Learnt, LeftOut, LeftOver, Why, WhyKind};
use crate::foresee::{CallBack, Reason as Due, Species, callbacks};
use crate::job::{Cancelled, Watch};
use crate::place::Local;
use crate::reach::{Gap, Reason, SourceKind, Wanted, gaps, sources};
use crate::survey::calendar::{day_words, moment_words};
use crate::survey::{Outcome, PremiseId, Standing, Survey, Visit};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// A door that may be walked to.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// Which premise.
    pub premise: PremiseId,
    /// Why somebody should go.
    pub why: Why,
    /// What the visit is worth; only the order of such numbers means anything. In a ring that comes first it is more than all others can
    /// be together; see [`super::own_worth`].
    pub worth: f64,
    /// Whether it cannot wait for another day.
    pub must: bool,
    /// Days since its last safe day; 0 where that is not past.
    pub overdue_days: u32,
    /// Minutes to reckon with at the door.
    pub minutes: f64,
    /// The chance that it is positive, when it could be foreseen.
    pub probability: Option<f64>,
    /// The minutes after the beginning between which somebody must arrive, when that was promised.
    pub promised: Option<(f64, f64)>,
    /// Minutes after the beginning between which nobody opened on this weekday before: somebody comes at another hour where that costs little.
    pub avoided: Vec<(f64, f64)>,
}

impl Candidate {
    /// A door that the planner puts on the list: worth a sure find, with a reason in words.
    pub fn by_hand(premise: PremiseId, minutes: f64, words: &str) -> Self {
        let why = Why { kind: WhyKind::ByHand, words: words.to_owned() };
        Self { premise, why, worth: 1.0, must: false, overdue_days: 0, minutes, probability: None, promised: None, avoided: Vec::new() }
    }

    /// The door of a walk that it becomes, its place on the street given and its time still unknown.
    pub fn door(&self, at: Local) -> Door {
        Door {
            premise: self.premise,
            why: self.why.clone(),
            at,
            arrive: 0.0,
            minutes: self.minutes,
            walk_m: 0.0,
            by_car: false,
            probability: self.probability,
            worth: self.worth,
            must: self.must,
            overdue_days: self.overdue_days,
            promised: self.promised,
            locked: false,
        }
    }

    /// What it is when no crew goes there.
    pub(super) fn left_out(&self, because: Because) -> LeftOut {
        LeftOut { premise: self.premise, why: self.why.clone(), worth: self.worth, because }
    }
}

/// What the candidates are looked for by.
#[derive(Clone, Copy)]
pub struct Looking<'a> {
    /// The day.
    pub on: Date,
    /// The reach whose gaps are candidates.
    pub wanted: Wanted,
    /// The species whose growth sets the last safe day.
    pub species: Species,
    /// The chance of every premise, in their order, where it could be foreseen.
    pub chances: Option<&'a [Option<f64>]>,
    /// Minutes at a door.
    pub minutes: &'a Learnt,
    /// The plan that the survey keeps: what was not finished of an earlier day comes over.
    pub before: Option<&'a Day>,
}

/// What a chance counts for where none is foreseen: from the first gap in the order of urgency to the last. Our own choice.
const FIRST_GAP: f64 = 0.30;
const LAST_GAP: f64 = 0.05;

/// The doors that may be walked to on a day: gaps in the reach, gaps round cases of the last weeks, call-backs that are due, and what
/// an earlier day left over.
///
/// Left out: premises visited on the day already, those that refused, which are for the office, and those without an outline,
/// which nobody could walk to.
///
/// Worth: the chance of larvae or pupae, or where none is foreseen a number that falls with the order of urgency; half as
/// much again with pupae near; a fifth more where an earlier day's crew did not get to it; less where a visit
/// only comes due later. A call-back where something
/// was left alive is worth a sure find. Past its last safe day, or on it, it is a must. These weights are our own. Doors round a case of the
/// last weeks, gaps and call-backs alike, come before all but those whose last safe day is the day.
///
/// # Errors
/// [`Cancelled`] when the watch asks to stop.
pub fn candidates(survey: &Survey, standings: &[Standing], looking: &Looking<'_>, watch: &dyn Watch) -> Result<Vec<Candidate>, Cancelled> {
    let found = gaps(survey, standings, &sources(survey, standings, &looking.wanted), &looking.wanted, watch)?;
    let mut all: BTreeMap<PremiseId, Candidate> = BTreeMap::new();
    let count = found.len();
    for (rank, gap) in found.iter().enumerate() {
        // Round a case the order is that of nearness to it: a plan leaves the office and must not tell.
        let fall = if looking.wanted.from == SourceKind::Cases { 0.0 } else { FIRST_GAP - LAST_GAP };
        let by_rank = FIRST_GAP - fall * rank as f64 / count.max(1) as f64;
        let words = gap_words(survey, gap, looking.wanted.from);
        all.insert(gap.premise, of_gap(survey, looking, gap, by_rank, words));
    }
    let first = ring(survey, standings, looking.on, &looking.wanted, watch)?;
    for gap in first.iter().filter(|gap| !standings[gap.premise.row()].inspected()) {
        all.entry(gap.premise).or_insert_with(|| of_gap(survey, looking, gap, FIRST_GAP, attempt_words(survey, gap)));
    }
    for due in callbacks(survey, standings, looking.on, looking.species) {
        take_call_back(survey, looking, &due, &mut all);
    }
    for left in looking.before.map(|day| left_over(survey, day, looking.on)).unwrap_or_default() {
        take_left_over(survey, looking, left, &mut all);
    }
    for gap in &first {
        all.entry(gap.premise).and_modify(Candidate::put_in_ring);
    }
    all.retain(|premise, _| may_be_visited(survey, standings, looking.on, *premise));
    let mut out: Vec<Candidate> = all.into_values().collect();
    out.sort_by(|a, b| b.must.cmp(&a.must).then(b.worth.total_cmp(&a.worth)).then(a.premise.cmp(&b.premise)));
    Ok(out)
}

fn may_be_visited(survey: &Survey, standings: &[Standing], on: Date, premise: PremiseId) -> bool {
    let last = standings[premise.row()].last.map(|v| survey.visits.get(v));
    let open = last.is_none_or(|v| v.when.day != on && v.outcome != Outcome::Refused);
    open && !survey.premises.outline.get(premise.row()).is_empty()
}

fn of_gap(survey: &Survey, looking: &Looking<'_>, gap: &Gap, by_rank: f64, words: String) -> Candidate {
    let probability = chance(looking, gap.premise);
    let seen = if gap.seen_positive { 0.9 } else { 0.0 };
    let pupae = if gap.pupae_near || gap.seen_pupae { 1.5 } else { 1.0 };
    Candidate {
        premise: gap.premise,
        why: Why { kind: WhyKind::Gap, words },
        worth: probability.unwrap_or(by_rank).max(seen) * pupae,
        must: false,
        overdue_days: 0,
        minutes: looking.minutes.expected(survey, gap.premise),
        probability,
        promised: None,
        avoided: Vec::new(),
    }
}

fn chance(looking: &Looking<'_>, premise: PremiseId) -> Option<f64> {
    looking.chances.and_then(|all| all.get(premise.row()).copied().flatten())
}

/// Adds a call-back to the candidates, or lowers a gap whose next visit only comes due later.
fn take_call_back(survey: &Survey, looking: &Looking<'_>, due: &CallBack, all: &mut BTreeMap<PremiseId, Candidate>) {
    let past = due.last_safe_day.and_then(|day| Some(day.until(looking.on).ok()?.get_days())).filter(|days| *days >= 0);
    let (must, overdue_days) = (past.is_some(), past.unwrap_or(0).unsigned_abs());
    let held = all.get_mut(&due.premise);
    if due.due > looking.on && !must {
        if let Some(held) = held {
            held.worth *= 0.5;
        }
        return;
    }
    let words = call_back_words(survey, due, overdue_days);
    let overdue = if due.days_left < 0 { 1.5 } else { 1.0 };
    let worth = overdue * call_back_worth(due, chance(looking, due.premise));
    let kind = if must { WhyKind::LastSafeDay } else { WhyKind::CallBack };
    match held {
        Some(held) => {
            let near = held.why.words.split_once("; ").map(|(_, near)| format!("{words}; {near}"));
            *held = Candidate {
                why: Why { kind, words: near.unwrap_or(words) },
                worth: held.worth.max(worth),
                must,
                overdue_days,
                ..held.clone()
            };
        }
        None => {
            let minutes = looking.minutes.expected(survey, due.premise);
            let probability = chance(looking, due.premise);
            let why = Why { kind, words };
            let fresh = Candidate { why, worth, must, overdue_days, probability, ..Candidate::by_hand(due.premise, minutes, "") };
            all.insert(due.premise, fresh);
        }
    }
}

/// Tells of a candidate that an earlier day left it over, or makes one of what was on a walk for another reason.
fn take_left_over(survey: &Survey, looking: &Looking<'_>, left: LeftOver, all: &mut BTreeMap<PremiseId, Candidate>) {
    let kind = WhyKind::LeftOver;
    match all.get_mut(&left.premise) {
        // Somebody was there: the visit itself is its reason by now.
        Some(_) if left.tried => {}
        Some(held) => {
            held.why = Why { kind, words: format!("{}; {}", left.words, held.why.words) };
            held.worth *= WORTH_MORE;
        }
        None => {
            let words = format!("{}; {}", left.words, left.reason);
            let minutes = if left.minutes > 0.0 { left.minutes } else { looking.minutes.expected(survey, left.premise) };
            let probability = chance(looking, left.premise);
            let worth = left.worth.max(LAST_GAP) * if left.tried { 1.0 } else { WORTH_MORE };
            let fresh = Candidate { why: Why { kind, words }, worth, probability, ..Candidate::by_hand(left.premise, minutes, "") };
            all.insert(left.premise, fresh);
        }
    }
}

fn call_back_worth(due: &CallBack, chance: Option<f64>) -> f64 {
    match due.reason {
        Due::LeftStanding | Due::SeenFromOutside | Due::RefusedSince => 1.0,
        Due::SeeWhetherItWorked | Due::Promised | Due::PromiseUnkept | Due::HoldsUpsideDown => 0.5,
        // Nothing that breeds was seen there: no more than any yard is worth, so that they do not crowd out yards that nobody has seen.
        Due::WaterLeft => 2.0 * LAST_GAP,
        Due::LookAgain => LAST_GAP,
        Due::NoAnswer | Due::LockedGate | Due::Unsafe | Due::PartOnly | Due::NeighbourToBeAsked | Due::VisitPromised => {
            chance.unwrap_or(FIRST_GAP / 2.0)
        }
    }
}

fn call_back_words(survey: &Survey, due: &CallBack, overdue_days: u32) -> String {
    let visits = survey.visits.at(due.premise);
    let tried = visits.last().filter(|v| v.when.day > due.since && v.outcome != Outcome::Inspected);
    let tried = tried.map(|v| format!(", {}", tried_words(v))).unwrap_or_default();
    let until = match (due.last_safe_day, overdue_days) {
        (Some(day), 0) => format!(", last safe day {}", day_words(day)),
        (Some(day), days) => format!(", last safe day {}, {days} {} overdue", day_words(day), if days == 1 { "day" } else { "days" }),
        (None, _) => String::new(),
    };
    let door = matches!(due.reason, Due::NoAnswer | Due::LockedGate | Due::Unsafe);
    let since = visits.iter().rev().find(|v| door && v.when.day == due.since).map(tried_words);
    let what = match due.reason {
        Due::NeighbourToBeAsked => "neighbour to be asked, larvae or pupae next door",
        other => other.word(),
    };
    format!("{}{tried}{until}", since.unwrap_or_else(|| format!("{what} on {}", day_words(due.since))))
}

/// How a visit ended and when: "no answer on Mon 14 July 08:50", so that the next one can come at another hour of another weekday.
pub(super) fn tried_words(visit: &Visit) -> String {
    format!("{} on {}", visit.outcome.word(), moment_words(visit.when.day, visit.when.time))
}

fn gap_words(survey: &Survey, gap: &Gap, from: SourceKind) -> String {
    let tried = attempt_words(survey, gap);
    if gap.seen_positive {
        return format!("{tried}; {} seen from outside", if gap.seen_pupae { "pupae" } else { "larvae" });
    }
    let near = match (from, gap.sources_in_reach) {
        (SourceKind::Cases, _) => return format!("{tried}; {IN_A_RING}"),
        (SourceKind::Positives, 1) => "1 positive yard".to_owned(),
        (SourceKind::Positives, n) => format!("{n} positive yards"),
        (SourceKind::Pupae, 1) => "1 yard with pupae".to_owned(),
        (SourceKind::Pupae, n) => format!("{n} yards with pupae"),
        (SourceKind::Traps, _) => "a trap that caught something".to_owned(),
        (SourceKind::Complaints, _) => "a complaint".to_owned(),
    };
    let nearest = match gap.nearest_source.0 {
        _ if gap.shares_fence => "one over the fence".to_owned(),
        metres if metres < 0.5 => "one at its corner".to_owned(),
        metres => format!("the nearest {metres:.0} m"),
    };
    format!("{tried}; {near} in reach, {nearest}")
}

fn attempt_words(survey: &Survey, gap: &Gap) -> String {
    let of_round = |v: &&Visit| gap.reason != Reason::NotVisited && Some(v.when.day) == gap.last_attempt;
    let tried = survey.visits.at(gap.premise).iter().rev().find(of_round);
    tried.map_or_else(|| gap.reason.word().to_owned(), tried_words)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::place::inside;
    use crate::reach::MeasureFrom;
    use crate::survey::{Action, Find, KindId, Round, RoundId, Signal, SignalKind, Stage, Visits, When, standings};
    use crate::units::Metres;
    use crate::walks::made_up::town;
    use crate::walks::own_worth;
    use crate::walks::ring::Rank;
    use crate::walks::{Walking, learn_minutes};
    use jiff::civil::{date, time};
    use std::sync::Arc;

    const ON: Date = date(2025, 7, 18);

    /// Premise 0 was positive and something was left; 1 did not answer, 2 refused, 3 was visited this morning.
    fn survey() -> Survey {
        let mut s = town(2);
        s.kinds = Arc::new(vec!["bucket".into()]);
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: date(2025, 7, 14), last: ON }]);
        let visit = |premise: u32, day: Date, outcome: Outcome| Visit {
            id: premise.to_string().into(),
            premise: PremiseId(premise),
            when: When { day, time: (outcome == Outcome::NoAnswer).then(|| time(8, 50, 0, 0)) },
            outcome,
            round: RoundId(0),
            crew: "A".into(),
            said: None,
            finds: 0..0,
        };
        let left = Find {
            kind: KindId(0),
            count: 1,
            wet: 1,
            with_larvae: 1,
            with_pupae: 0,
            pupae: 0,
            stage: Some(Stage::L4),
            litres: None,
            action: Some(Action::Left),
            remains: true,
        };
        let monday = date(2025, 7, 14);
        let rows = vec![
            (visit(0, monday, Outcome::Inspected), vec![left]),
            (visit(1, monday, Outcome::NoAnswer), vec![]),
            (visit(2, monday, Outcome::Refused), vec![]),
            (visit(3, ON, Outcome::NoAnswer), vec![]),
        ];
        s.visits = Visits::from_rows(s.premises.len(), rows);
        s
    }

    fn found(s: &Survey, chances: Option<&[Option<f64>]>) -> Vec<Candidate> {
        let wanted = Wanted { radius: Metres(60.0), measure_from: MeasureFrom::Outline, ..Wanted::default() };
        let minutes = learn_minutes(s, &Walking::default());
        let looking = Looking { on: ON, wanted, species: Species::Albopictus, chances, minutes: &minutes, before: None };
        candidates(s, &standings(s, RoundId(0)), &looking, &Unwatched).expect("nobody stops it")
    }

    fn of(all: &[Candidate], premise: u32) -> Option<&Candidate> {
        all.iter().find(|c| c.premise.0 == premise)
    }

    #[test]
    fn each_door_has_its_reason_and_what_cannot_wait_comes_first() {
        let s = survey();
        let all = found(&s, None);
        let first = &all[0];
        assert!(first.premise.0 == 0 && first.must && first.why.kind == WhyKind::LastSafeDay, "{first:?}");
        assert_eq!(first.why.words, "larvae or pupae left standing on 14 July, last safe day 16 July, 2 days overdue");
        let one = of(&all, 1).expect("a call-back");
        assert_eq!((one.why.kind, one.must), (WhyKind::CallBack, false));
        assert_eq!(one.why.words, "no answer on Mon 14 July 08:50; 1 positive yard in reach, one over the fence");
        let four = of(&all, 4).expect("a gap");
        assert_eq!((four.why.kind, four.why.words.as_str()), (WhyKind::Gap, "not visited; 1 positive yard in reach, the nearest 60 m"));
        assert!(of(&all, 2).is_none() && of(&all, 3).is_none(), "refused, and visited this morning");
        assert!(one.worth > four.worth, "a call-back that is overdue is worth more than a far gap");
    }

    #[test]
    fn a_foreseen_chance_is_what_a_door_is_worth() {
        let s = survey();
        let mut chances = vec![None; s.premises.len()];
        chances[4] = Some(0.77);
        let all = found(&s, Some(&chances));
        let four = of(&all, 4).expect("a gap");
        assert_eq!((four.worth, four.probability), (0.77, Some(0.77)));
    }

    #[test]
    fn yards_round_a_recent_case_come_first_and_no_word_tells_why() {
        let mut s = survey();
        let before = found(&s, None);
        let place = inside(s.premises.outline.get(4)).expect("it has an outline");
        let signal = |day| Signal { id: "1".into(), day, place, kind: SignalKind::Case, value: None, species: "".into() };
        s.signals = Arc::new(vec![signal(date(2025, 7, 10))]);
        let after = found(&s, None);
        assert!(after.len() > before.len());
        let own = |all: &[Candidate], premise| of(all, premise).map(|c| own_worth(c.worth)).expect("a door");
        assert!([1, 4].iter().all(|&p| (own(&after, p) - own(&before, p)).abs() < 1e-9), "by itself it is worth what it was");
        let ring: Vec<&Candidate> = after.iter().filter(|c| c.why.words.ends_with("; in a ring that comes first")).collect();
        let least = ring.iter().map(|c| c.worth).fold(f64::INFINITY, f64::min);
        assert!(ring.len() > 3 && ring.iter().any(|c| c.why.words == "not visited; in a ring that comes first"), "{ring:?}");
        let others: f64 = after.iter().filter(|c| !ring.iter().any(|r| r.premise == c.premise)).map(|c| c.worth).sum();
        assert!(least > others + before.iter().map(|c| c.worth).sum::<f64>(), "{least} does not outweigh {others}");
        let four = of(&after, 4).expect("a gap");
        assert_eq!(four.why.words, "not visited; 1 positive yard in reach, the nearest 60 m; in a ring that comes first");
        // Only what is due on the very day comes before it: premise 0 has been overdue for two days and lies outside.
        assert_eq!(
            (four.rank(), of(&before, 0).map(Candidate::rank), of(&before, 1).map(Candidate::rank)),
            (Rank::Ring, Some(Rank::Overdue), Some(Rank::Other))
        );
        assert_eq!(Candidate { overdue_days: 0, ..of(&after, 0).expect("a must").clone() }.rank(), Rank::DueToday);
        assert!(after.iter().all(|c| !c.why.words.contains("case")), "{after:?}");
        s.signals = Arc::new(vec![signal(date(2025, 5, 1))]);
        assert_eq!(found(&s, None), before, "an old case has no ring");
    }
}
