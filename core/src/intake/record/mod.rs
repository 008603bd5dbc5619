//! One visit written down in the office: entered, corrected or taken away by hand, by the rules that files come in by.
//!
//! An [`Entry`] holds what somebody typed, cell by cell, as a row of the visits table has it. [`enter`], [`correct`] and [`take_away`] give
//! the [`HandChange`] that does it; what was there before stays to be read in the intake log.

mod entry;
mod error;

pub use entry::{Entry, Fault, FindEntry};
pub use error::RecordError;

use super::cells::folded;
use super::visit_merge::{made_id, rounds_with, sort};
use super::visits::named;
use crate::survey::calendar::clock_words;
use crate::survey::{Find, HandChange, KindId, LogStep, PremiseId, Round, RoundId, Said, Survey, TakenAway, Visit};
use entry::Read;
use jiff::civil::Date;
use std::sync::Arc;

/// Who writes, and when, in words: they stand in the log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Signed {
    /// Who sits at the computer.
    pub by: String,
    /// The day and the time.
    pub at: String,
}

/// The change that enters a visit at a premise. Without a round it belongs to the latest one, or to one of its own where there is none.
///
/// # Errors
/// [`RecordError`] when the entry cannot be, or the same visit is there already.
///
/// ```
/// use std::sync::Arc;
/// use yardring_core::intake::record::{Entry, FindEntry, Signed, enter};
/// use yardring_core::place::{Frame, LonLat};
/// use yardring_core::survey::{PremiseId, Survey};
/// let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
/// survey.premises.parcel_id = Arc::new(["QM-1"].into_iter().collect());
/// survey.premises.address = Arc::new(["12 Kettle Lane"].into_iter().collect());
/// let bucket = FindEntry { container_type: "bucket".into(), count: "2".into(), holds_water: "1".into(), ..FindEntry::default() };
/// let entry = Entry { date: "2025-07-14".into(), outcome: "inspected".into(), finds: vec![bucket], ..Entry::default() };
/// enter(&survey, PremiseId(0), &entry, &Signed::default())?.apply(&mut survey)?;
/// assert_eq!((survey.visits.len(), survey.visits.finds()[0].wet), (1, 1));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn enter(survey: &Survey, premise: PremiseId, entry: &Entry, signed: &Signed) -> Result<HandChange, RecordError> {
    if premise.row() >= survey.premises.len() {
        return Err(RecordError::NoPremise);
    }
    let read = entry.read().map_err(RecordError::Faults)?;
    let id = free_id(survey, premise, entry, read.when.day);
    let new = Written::of(survey, (premise, id), entry, read, None);
    if survey.visits.at(premise).iter().any(|v| new.says_the_same(survey, v)) {
        return Err(RecordError::Already { day: new.visit.when.day, premise: named(&survey.premises, premise) });
    }
    let mut gone = TakenAway::of(survey);
    gone.take_out(&new.visit.id, survey.premises.parcel_id.get(premise.row()));
    let line = format!("{}: entered{}: {}", head(survey, &new.visit), signature(signed), new.words());
    Ok(new.change(premise, None, line, &gone))
}

/// The change that corrects a visit, named by its id at its premise.
///
/// # Errors
/// [`RecordError`] when there is no such visit, the entry cannot be, or nothing would change.
pub fn correct(survey: &Survey, premise: PremiseId, id: &str, entry: &Entry, signed: &Signed) -> Result<HandChange, RecordError> {
    let old = visit_at(survey, premise, id)?;
    let read = entry.read().map_err(RecordError::Faults)?;
    let new = Written::of(survey, (premise, old.id.clone()), entry, read, Some(old));
    if new.says_the_same(survey, old) {
        return Err(RecordError::NothingChanged);
    }
    let before = words(survey, old);
    let line = format!("{}: corrected{}: {}; before: {before}", head(survey, old), signature(signed), new.words());
    Ok(new.change(premise, Some(old.id.clone()), line, &TakenAway::of(survey)))
}

/// The change that takes a visit away, named by its id at its premise. It stays away when its sheet comes again.
///
/// # Errors
/// [`RecordError`] when there is no such visit.
pub fn take_away(survey: &Survey, premise: PremiseId, id: &str, signed: &Signed) -> Result<HandChange, RecordError> {
    let old = visit_at(survey, premise, id)?;
    let mut gone = TakenAway::of(survey);
    gone.put(id, survey.premises.parcel_id.get(premise.row()));
    let line = format!("{}: taken away{}; before: {}", head(survey, old), signature(signed), words(survey, old));
    Ok(HandChange {
        premise,
        was: Some(old.id.clone()),
        becomes: None,
        rounds: Arc::new(needed(survey, &survey.rounds, old)),
        kinds: Arc::clone(&survey.kinds),
        log: LogStep::Add(line.into()),
        taken_away: gone.setting(),
    })
}

/// The premise with a parcel id: of several the first that was visited, or else the first; `None` where no premise has it.
pub fn premise_called(survey: &Survey, parcel: &str) -> Option<PremiseId> {
    let mut all =
        (0..survey.premises.len()).filter(|&i| survey.premises.parcel_id.get(i) == parcel).map(|i| PremiseId(i as u32)).peekable();
    let first = all.peek().copied();
    all.find(|p| !survey.visits.at(*p).is_empty()).or(first)
}

fn visit_at<'a>(survey: &'a Survey, premise: PremiseId, id: &str) -> Result<&'a Visit, RecordError> {
    let found = survey.visits.at(premise).iter().find(|v| *v.id == *id);
    let told = || match premise.row() < survey.premises.len() {
        true => RecordError::NoVisit { id: id.to_owned(), premise: named(&survey.premises, premise) },
        false => RecordError::NoPremise,
    };
    found.ok_or_else(told)
}

/// The id that the entry asks for or its day and premise make; with a number behind it where that is another visit's.
fn free_id(survey: &Survey, premise: PremiseId, entry: &Entry, day: Date) -> Box<str> {
    let wanted = entry.visit_id.trim();
    let wanted: Box<str> = if wanted.is_empty() { made_id(survey, premise, day) } else { wanted.into() };
    let taken = |id: &str| survey.visits.at(premise).iter().any(|v| *v.id == *id);
    let numbered = (2..).map(|n| format!("{wanted} {n}").into_boxed_str());
    std::iter::once(wanted.clone()).chain(numbered).find(|id| !taken(id)).unwrap_or(wanted)
}

/// The rounds without that of a visit that goes, where it had no other.
fn needed(survey: &Survey, rounds: &[Round], old: &Visit) -> Vec<Round> {
    let name = survey.rounds.get(old.round.row()).map_or("", |r| &*r.name);
    let another = survey.visits.rows().iter().any(|v| v.round == old.round && !std::ptr::eq(v, old));
    rounds.iter().filter(|r| another || *r.name != *name).cloned().collect()
}

/// A visit as it is to be, with the rounds and kinds that its numbers mean.
struct Written {
    visit: Visit,
    finds: Vec<Find>,
    rounds: Vec<Round>,
    kinds: Vec<Box<str>>,
}

impl Written {
    fn of(survey: &Survey, (premise, id): (PremiseId, Box<str>), entry: &Entry, read: Read, old: Option<&Visit>) -> Self {
        let day = read.when.day;
        let round = round_name(survey, entry, day);
        let extended = rounds_with(&survey.rounds, std::iter::once((round.clone(), day)));
        let other = old.filter(|old| survey.rounds.get(old.round.row()).is_some_and(|r| r.name != round));
        let rounds = other.map_or_else(|| extended.clone(), |old| needed(survey, &extended, old));
        let number = rounds.iter().position(|r| r.name == round).unwrap_or_default();
        let kinds = kinds_with(&survey.kinds, read.finds.iter().map(|(kind, _)| kind.as_str()));
        let of_kind = |kind: &str| kinds.iter().position(|k| folded(k) == folded(kind)).unwrap_or_default();
        let mut finds: Vec<Find> = read.finds.iter().map(|(kind, row)| row.of_kind(KindId(of_kind(kind) as u32))).collect();
        sort(&mut finds);
        let said = Said::with_minutes(entry.promise.trim(), entry.cautions.trim(), read.minutes);
        let visit = Visit {
            id,
            premise,
            when: read.when,
            outcome: read.outcome,
            round: RoundId(number as u32),
            crew: entry.crew.trim().into(),
            said: Said::marked(said, true),
            finds: 0..0,
        };
        Self { visit, finds, rounds, kinds }
    }

    /// Whether a visit of the survey says the same; by whom it was written down and its id do not count.
    fn says_the_same(&self, survey: &Survey, other: &Visit) -> bool {
        let round = survey.rounds.get(other.round.row()).map(|r| &r.name);
        let alike = Visit { id: other.id.clone(), round: other.round, finds: other.finds.clone(), ..self.visit.clone() };
        let other_finds = survey.visits.finds_of(other);
        let same = |(mine, theirs): (&Find, &Find)| {
            *self.kinds[mine.kind.row()] == *survey.kind_name(theirs.kind) && *mine == Find { kind: mine.kind, ..theirs.clone() }
        };
        round == Some(&self.rounds[self.visit.round.row()].name)
            && alike == Visit { said: Said::marked(other.said.clone(), true), ..other.clone() }
            && self.finds.len() == other_finds.len()
            && self.finds.iter().zip(other_finds).all(same)
    }

    fn words(&self) -> String {
        told(&self.visit, &self.finds, (&self.rounds, &self.kinds))
    }

    fn change(self, premise: PremiseId, was: Option<Box<str>>, line: String, gone: &TakenAway) -> HandChange {
        HandChange {
            premise,
            was,
            becomes: Some((self.visit, self.finds)),
            rounds: Arc::new(self.rounds),
            kinds: Arc::new(self.kinds),
            log: LogStep::Add(line.into()),
            taken_away: gone.setting(),
        }
    }
}

/// The round that an entry names, as the survey writes it; without a name the latest, or one of its own.
fn round_name(survey: &Survey, entry: &Entry, day: Date) -> Box<str> {
    let wanted = entry.round.trim();
    let known = if wanted.is_empty() { survey.round(None) } else { survey.round_called(wanted) };
    match known.and_then(|r| survey.rounds.get(r.row())) {
        Some(round) => round.name.clone(),
        None if wanted.is_empty() => format!("{day} to {day}").into(),
        None => wanted.into(),
    }
}

/// The kinds of a survey and new ones among them, in alphabetical order.
fn kinds_with<'a>(known: &[Box<str>], more: impl Iterator<Item = &'a str>) -> Vec<Box<str>> {
    let mut out = known.to_vec();
    for kind in more {
        if !out.iter().any(|k| folded(k) == folded(kind)) {
            out.insert(out.partition_point(|k| **k < *kind), kind.into());
        }
    }
    out
}

fn head(survey: &Survey, visit: &Visit) -> String {
    format!("{} at {}, visit {}", visit.when.day, named(&survey.premises, visit.premise), visit.id)
}

fn signature(signed: &Signed) -> String {
    let by = if signed.by.is_empty() { String::new() } else { format!(" by {}", signed.by) };
    let at = if signed.at.is_empty() { String::new() } else { format!(" on {}", signed.at) };
    format!("{by}{at}")
}

fn words(survey: &Survey, visit: &Visit) -> String {
    told(visit, survey.visits.finds_of(visit), (&survey.rounds, &survey.kinds))
}

/// All that a visit says, so that nothing of it is lost when it is written over.
fn told(visit: &Visit, finds: &[Find], (rounds, kinds): (&[Round], &[Box<str>])) -> String {
    let mut out = vec![format!("{} {}", visit.when.day, visit.outcome), format!("round {}", rounds[visit.round.row()].name)];
    out.extend((!visit.crew.is_empty()).then(|| format!("crew {}", visit.crew)));
    out.extend(visit.when.time.map(|t| format!("came {}", clock_words(t))));
    out.extend(visit.minutes().map(|m| format!("{m} min")));
    out.extend((!visit.promise().is_empty()).then(|| format!("promised {}", visit.promise())));
    out.extend((!visit.cautions().is_empty()).then(|| format!("to mind {}", visit.cautions())));
    for f in finds {
        let mut find = format!("{} {}", f.count, kinds[f.kind.row()]);
        find += &format!(" ({} wet, {} with larvae, {} with pupae, {} pupae", f.wet, f.with_larvae, f.with_pupae, f.pupae);
        f.stage.iter().for_each(|s| find += &format!(", {s}"));
        f.litres.iter().for_each(|l| find += &format!(", {l} L"));
        f.action.iter().for_each(|a| find += &format!(", {a}"));
        find += if f.remains { ", something remains)" } else { ")" };
        out.push(find);
    }
    out.join(", ")
}

#[cfg(test)]
mod tests;
