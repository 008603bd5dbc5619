//! Settling: visits and signals that found no premise, what they may belong to, and what was decided about them.
//!
//! A decision is kept with the survey under the file's name and what stands in the row, so that it counts again when the
//! same file comes again.

mod decisions;
mod offers;
mod parts;
mod sheets;

pub use offers::Candidate;
pub(super) use parts::DecidedIds;
pub use parts::{Repeat, SameId, repeats, settle_ids};

pub(super) use decisions::{Decisions, key_in_table, key_of_refused};

use super::join::{Finder, folded_addresses};
use super::on_surface::on_surface;
use super::remembered::FilesSeen;
use super::report::{Account, Report};
use super::signals::{self, SignalFile};
use super::visits::{Draft, VisitFile};
use super::{IntakeError, Role, visit_merge};
use crate::job::Watch;
use crate::place::Local;
use crate::survey::{Outcome, PremiseId, RefusedRow, SignalKind, Survey};
use decisions::Decided;
use jiff::civil::Date;
use offers::{offers, offers_by_address};
use rayon::prelude::*;
use sheets::Sheet;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::sync::Arc;

/// A visit or a signal that waits for somebody to say where it belongs.
#[derive(Clone, Debug, PartialEq)]
pub struct Waiting {
    /// Its rows: places in the survey's list of refused rows.
    pub refused: Vec<usize>,
    /// Its day.
    pub day: Date,
    /// What waits.
    pub what: Waits,
    /// Where it was taken, when its rows name a place.
    pub place: Option<Local>,
    /// Whether somebody has set it aside.
    pub set_aside: bool,
    /// Premises that it may belong to, the best fit first; at most five.
    pub candidates: Vec<Candidate>,
}

/// What waits for a premise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Waits {
    /// A visit, and how it ended.
    Visit(Outcome),
    /// A signal of some kind.
    Signal(SignalKind),
}

impl fmt::Display for Waits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Visit(outcome) => outcome.fmt(f),
            Self::Signal(kind) => kind.fmt(f),
        }
    }
}

/// What is to become of a refused row, and so of its visit or its signal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// What the row should have become: visits or signals.
    pub table: Role,
    /// The file's name.
    pub file: Box<str>,
    /// The row's number in the file.
    pub row: u64,
    /// The verdict.
    pub verdict: Verdict,
}

/// A verdict about a visit or a signal that found no premise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It belongs here.
    Premise(PremiseId),
    /// It stays refused and is no longer asked about.
    SetAside,
    /// It is asked about again.
    AskAgain,
}

/// A survey after some visits were settled.
#[derive(Clone, Debug)]
pub struct Settled {
    /// The survey.
    pub survey: Survey,
    /// Visits that came in.
    pub joined: usize,
    /// Signals that came in.
    pub signals: usize,
    /// Choices that set a row aside.
    pub set_aside: usize,
}

/// How well the best candidate fits where no person need look, from 0 to 1, and how much better than the next.
///
/// # Source
/// Common practice, no source. On 19,920 addresses of a synthetic county, damaged as typists do, five of 9,656 first candidates were
/// wrong, each as like as the second.
pub const CLEAR: f64 = 0.85;
const CLEARLY: f64 = 0.05;

impl Waiting {
    /// The candidate that fits at least so well, from 0 to 1, and clearly better than the next; `None` where a person must look, and
    /// for what is set aside.
    pub fn clear(&self, at_least: f64) -> Option<PremiseId> {
        let first = self.candidates.first().filter(|c| c.score >= at_least && !self.set_aside)?;
        self.candidates.get(1).is_none_or(|second| first.score - second.score >= CLEARLY).then_some(first.premise)
    }

    /// The choice of a premise for it.
    pub fn choice(&self, survey: &Survey, premise: PremiseId) -> Choice {
        let first = self.first(survey);
        let table = if matches!(self.what, Waits::Signal(_)) { Role::Signals } else { Role::Visits };
        Choice { table, file: first.file.clone(), row: first.row, verdict: Verdict::Premise(premise) }
    }

    /// The first of its rows.
    pub fn first<'a>(&self, survey: &'a Survey) -> &'a RefusedRow {
        &survey.refused[self.refused[0]]
    }
}

/// The visits and signals of a survey that wait for a premise, in the order of files and rows. Rows refused for other reasons, an
/// unreadable date for one, must be mended in their file and are not among them.
///
/// # Errors
/// [`IntakeError::Cancelled`] when somebody stopped it; [`IntakeError::MapColumn`] when the survey's memory of a file was spoiled.
pub fn waiting(survey: &Survey, watch: &dyn Watch) -> Result<Vec<Waiting>, IntakeError> {
    let sheets = sheets::sheets(survey);
    if sheets.is_empty() {
        return Ok(Vec::new());
    }
    watch.step("looking for candidates", 0, survey.refused.len() as u64)?;
    let folded = folded_addresses(&survey.premises);
    let finder = Finder::new(&survey.premises, &folded).along(&survey.streets);
    let list = List { survey, finder: &finder, decisions: Decisions::of(survey), watch };
    let mut out = Vec::new();
    for sheet in sheets {
        match sheet.role {
            Role::Signals => list.add_signals(&sheet, &mut out)?,
            _ => sheet.read_visits(survey, |file| list.add_visits(&sheet, file, &mut out))??,
        }
    }
    out.sort_by(|a, b| a.refused.cmp(&b.refused));
    Ok(out)
}

/// Visits whose candidates are looked for between two looks at the watch.
const ASKED_AT_ONCE: usize = 256;

/// What the list of those that wait is made with.
struct List<'a> {
    survey: &'a Survey,
    finder: &'a Finder<'a>,
    decisions: Decisions,
    watch: &'a dyn Watch,
}

impl List<'_> {
    fn add_visits(&self, sheet: &Sheet, file: &VisitFile<'_>, out: &mut Vec<Waiting>) -> Result<(), IntakeError> {
        for some in file.readable().chunks(ASKED_AT_ONCE) {
            self.go_on(out)?;
            out.par_extend(some.par_iter().map(|draft| self.visit(sheet, file, draft)));
        }
        Ok(())
    }

    fn visit(&self, sheet: &Sheet, file: &VisitFile<'_>, draft: &Draft) -> Waiting {
        let refused: Vec<usize> = draft.rows.iter().map(|&r| sheet.refused[r as usize]).collect();
        Waiting {
            day: draft.when.day,
            what: Waits::Visit(draft.outcome),
            place: draft.point,
            set_aside: self.is_set_aside(&refused),
            candidates: offers(file, draft, self.finder),
            refused,
        }
    }

    fn add_signals(&self, sheet: &Sheet, out: &mut Vec<Waiting>) -> Result<(), IntakeError> {
        sheet.read_signals(self.survey, (self.finder, &Decisions::default()), |file: &SignalFile<'_>| {
            for row in 0..sheet.table.rows {
                self.go_on(out)?;
                let Ok(Err(unplaced)) = file.read_or_unplaced(row) else { continue };
                let refused = vec![sheet.refused[row]];
                let candidates = offers_by_address(&file.address(row), self.finder);
                let set_aside = self.is_set_aside(&refused);
                let (day, what) = (unplaced.signal.day, Waits::Signal(unplaced.signal.kind));
                // A signal that named a place would have come in with it.
                out.push(Waiting { refused, day, what, place: None, set_aside, candidates });
            }
            Ok(())
        })?
    }

    fn go_on(&self, out: &[Waiting]) -> Result<(), IntakeError> {
        Ok(self.watch.step("looking for candidates", out.len() as u64, self.survey.refused.len() as u64)?)
    }

    fn is_set_aside(&self, refused: &[usize]) -> bool {
        refused.iter().any(|&i| self.decisions.about(&self.survey.refused[i]) == Some(&Decided::SetAside))
    }
}

/// Settles visits and signals: those with a premise come in with all their rows, those set aside stay as they are. Gives the survey as it is
/// then; the one given stays as it was.
///
/// # Errors
/// [`IntakeError::NoSuchRow`] when a choice names no refused row, [`IntakeError::NotSettled`] when a row cannot come in for
/// another reason than its place; when somebody stopped it.
pub fn settle(survey: &Survey, choices: &[Choice], watch: &dyn Watch) -> Result<Settled, IntakeError> {
    let mut after = survey.clone();
    let mut decisions = Decisions::of(survey);
    let mut chosen = BTreeSet::new();
    let rows: BTreeMap<_, _> = survey.refused.iter().enumerate().rev().map(|(i, r)| ((&*r.table, &*r.file, r.row), i)).collect();
    for choice in choices {
        let found = rows.get(&(choice.table.name(), &*choice.file, choice.row)).copied();
        let i = found.ok_or_else(|| IntakeError::NoSuchRow { file: choice.file.to_string(), row: choice.row })?;
        decisions.put(&survey.refused[i], decided(survey, choice.verdict));
        if matches!(choice.verdict, Verdict::Premise(_)) {
            chosen.insert(i);
        }
    }
    decisions.keep_in(&mut after);
    let came_in = bring_chosen(&mut after, &decisions, &chosen, watch)?;
    if let Some(&i) = chosen.iter().find(|i| !came_in.rows.contains(i)) {
        let row = &survey.refused[i];
        return Err(IntakeError::NotSettled { file: row.file.to_string(), row: row.row, reason: row.reason.to_string() });
    }
    let kept = survey.refused.iter().enumerate().filter(|(i, _)| !came_in.rows.contains(i)).map(|(_, r)| r.clone());
    after.refused = Arc::new(kept.collect());
    let set_aside = choices.iter().filter(|c| c.verdict == Verdict::SetAside).count();
    Ok(Settled { survey: after, joined: came_in.visits, signals: came_in.signals, set_aside })
}

fn decided(survey: &Survey, verdict: Verdict) -> Option<Decided> {
    match verdict {
        Verdict::AskAgain => None,
        Verdict::SetAside => Some(Decided::SetAside),
        Verdict::Premise(premise) => Some(Decided::Premise {
            parcel_id: survey.premises.parcel_id.get(premise.row()).to_owned(),
            at: on_surface(survey.premises.outline.get(premise.row())).map(|p| (p.x, p.y)),
        }),
    }
}

#[derive(Default)]
struct CameIn {
    /// Places in the list of refused rows.
    rows: BTreeSet<usize>,
    visits: usize,
    signals: usize,
}

/// Brings in the visits and signals of the chosen rows.
fn bring_chosen(after: &mut Survey, decisions: &Decisions, chosen: &BTreeSet<usize>, watch: &dyn Watch) -> Result<CameIn, IntakeError> {
    let premises = after.premises.clone();
    let folded = folded_addresses(&premises);
    let streets = after.streets.clone();
    let finder = Finder::new(&premises, &folded).along(&streets);
    let seen = FilesSeen::of(after);
    let mut came_in = CameIn::default();
    for sheet in sheets::sheets(after).into_iter().filter(|s| s.refused.iter().any(|i| chosen.contains(i))) {
        watch.step("bringing in what was settled", 0, 0)?;
        let before = after.clone();
        if sheet.role == Role::Signals {
            sheet.read_signals(&before, (&finder, decisions), |file| bring_signals(after, &sheet, file, chosen, &mut came_in))?;
            continue;
        }
        let is_chosen = |draft: &Draft| draft.rows.iter().any(|&r| chosen.contains(&sheet.refused[r as usize]));
        sheet.read_visits(&before, |file: &VisitFile<'_>| -> Result<(), IntakeError> {
            let mut account = Account::new(&sheet.table.name, &sheet.table, Role::Visits, &[]);
            let joined = file.join((&finder, &premises, decisions), is_chosen, (&mut account, watch))?;
            came_in.visits += joined.visits.len();
            came_in.rows.extend(joined.visits.iter().flat_map(|v| &v.0.rows).map(|&r| sheet.refused[r as usize]));
            let round = seen.round_of(&sheet.table.name).or_else(|| visit_merge::default_round(&joined));
            visit_merge::add(after, file, joined, round, &mut Report::default(), &mut account);
            Ok(())
        })??;
    }
    Ok(came_in)
}

/// Signals of the chosen rows, at the premises decided on.
fn bring_signals(after: &mut Survey, sheet: &Sheet, file: &SignalFile<'_>, chosen: &BTreeSet<usize>, came_in: &mut CameIn) {
    let rows = (0..sheet.table.rows).filter(|&row| chosen.contains(&sheet.refused[row]));
    let (numbers, settled): (Vec<usize>, Vec<_>) =
        rows.filter_map(|row| Some((sheet.refused[row], file.read_or_unplaced(row).ok()?.ok()?))).unzip();
    came_in.signals += settled.len();
    came_in.rows.extend(numbers);
    after.signals = Arc::new(signals::with(&after.signals, settled));
}

#[cfg(test)]
mod tests {
    use super::super::samples::{lot, table, with_rings};
    use super::super::{ColumnMap, Incoming, bring_in_tables};
    use super::*;
    use crate::files::Table;
    use crate::job::Unwatched;

    fn lots() -> Table {
        let rows: &[&[&str]] = &[&["QM-1001", "1 Elm St"], &["QM-1002", "3 Elm St"], &["QM-1003", "5 Oak Ave"]];
        with_rings(table("lots", &["parcel_id", "address"], rows), &[lot(0, 0), lot(1, 0), lot(2, 0)])
    }

    fn visits(last_id: &str) -> Table {
        let columns = ["date", "visit_id", "parcel_id", "address", "outcome", "container_type", "larvae"];
        let rows: &[&[&str]] = &[
            &["07/25/2025", "V1", "QM-1001", "", "inspected", "tire", "Y"],
            &["07/02/2025", "V2", "", "3 Elm", "inspected", "tire", "N"],
            &["07/02/2025", "V2", "", "3 Elm", "inspected", "drum", "Y"],
            &["07/03/2025", "V3", last_id, "", "refused", "", ""],
            &["07/04/2025", "V4", "QM-1001", "", "gone fishing", "", ""],
        ];
        table("visits", &columns, rows)
    }

    fn bring(current: Option<&Survey>, files: Vec<(Role, Table)>) -> (Survey, Report) {
        let incoming = files.into_iter().map(|(role, table)| Incoming { role, file: format!("{}.csv", table.name), table }).collect();
        bring_in_tables(current, incoming, &ColumnMap::default(), None, &Unwatched).unwrap()
    }

    fn choice(row: u64, verdict: Verdict) -> Choice {
        Choice { table: Role::Visits, file: "visits.csv".into(), row, verdict }
    }

    fn of(survey: &Survey, parcel: &str) -> PremiseId {
        PremiseId(survey.premises.parcel_id.iter().position(|id| id == parcel).unwrap() as u32)
    }

    #[test]
    fn what_found_no_premise_waits_with_its_candidates() {
        let (survey, report) = bring(None, vec![(Role::Parcels, lots()), (Role::Visits, visits("QM-103"))]);
        assert_eq!((report.visits, report.joined_by_id, report.unjoined, report.settled), (3, 1, 2, 0));
        let list = waiting(&survey, &Unwatched).unwrap();
        let told: Vec<_> =
            list.iter().map(|w| (w.first(&survey).row, w.refused.len(), w.candidates[0].premise, w.candidates.len())).collect();
        assert_eq!(told, [(2, 2, of(&survey, "QM-1002"), 1), (4, 1, of(&survey, "QM-1003"), 1)]);
        assert!(
            list[0].first(&survey).reason.contains("the likest is '3 Elm St' of QM-1002 (92 % alike)"),
            "{}",
            list[0].first(&survey).reason
        );
        assert_eq!(list[1].candidates[0].why, "parcel id one letter off");
        let findings = report.in_words();
        assert!(findings.contains("'gone fishing' is not an outcome") && findings.contains("read month first"), "{findings}");
    }

    #[test]
    fn settled_visits_are_as_if_the_file_had_been_right_and_stay_settled() {
        let (survey, _) = bring(None, vec![(Role::Parcels, lots()), (Role::Visits, visits("QM-103"))]);
        let choices = [choice(3, Verdict::Premise(of(&survey, "QM-1002"))), choice(4, Verdict::Premise(of(&survey, "QM-1003")))];
        let settled = settle(&survey, &choices, &Unwatched).unwrap();
        assert_eq!((settled.joined, settled.set_aside), (2, 0));
        let (right, _) = bring(None, vec![(Role::Parcels, lots()), (Role::Visits, visits("QM-1003"))]);
        let right = settle(&right, &[choice(2, Verdict::Premise(of(&right, "QM-1002")))], &Unwatched).unwrap().survey;
        assert_eq!((&settled.survey.visits, &settled.survey.rounds, &settled.survey.kinds), (&right.visits, &right.rounds, &right.kinds));
        assert_eq!(settled.survey.refused.iter().map(|r| r.row).collect::<Vec<_>>(), [5]);
        let (again, report) = bring(Some(&settled.survey), vec![(Role::Visits, visits("QM-103"))]);
        assert_eq!((report.visits, report.unjoined, report.settled), (3, 2, 2));
        assert_eq!((&again.visits, &again.refused), (&settled.survey.visits, &settled.survey.refused));
        assert!(waiting(&again, &Unwatched).unwrap().is_empty());
    }

    #[test]
    fn rows_set_aside_stay_refused_and_can_be_asked_about_again() {
        let (survey, _) = bring(None, vec![(Role::Parcels, lots()), (Role::Visits, visits("QM-103"))]);
        let aside = settle(&survey, &[choice(4, Verdict::SetAside)], &Unwatched).unwrap();
        assert_eq!((aside.joined, aside.set_aside, &aside.survey.refused), (0, 1, &survey.refused));
        let marks = |s: &Survey| waiting(s, &Unwatched).unwrap().iter().map(|w| w.set_aside).collect::<Vec<_>>();
        assert_eq!(marks(&aside.survey), [false, true]);
        assert_eq!(settle(&aside.survey, &[choice(4, Verdict::AskAgain)], &Unwatched).unwrap().survey, survey);
    }

    #[test]
    fn what_cannot_be_settled_is_said_and_changes_nothing() {
        let (survey, _) = bring(None, vec![(Role::Parcels, lots()), (Role::Visits, visits("QM-103"))]);
        let told = |row| settle(&survey, &[choice(row, Verdict::Premise(PremiseId(0)))], &Unwatched).unwrap_err().to_string();
        assert!(told(1).contains("row 1 of visits.csv is not among"));
        assert!(told(5).contains("gone fishing"));
    }

    #[test]
    fn an_earlier_file_refused_is_forgotten_when_its_rows_come_in() {
        let (survey, _) = bring(None, vec![(Role::Parcels, lots()), (Role::Visits, visits("QM-103"))]);
        let newer = with_rings(table("newer", &["parcel_id", "address"], &[&["QM-103", "7 Oak Ave"]]), &[lot(4, 0)]);
        let (after, _) = bring(Some(&survey), vec![(Role::Parcels, newer), (Role::Visits, visits("QM-103"))]);
        assert_eq!(after.refused.iter().map(|r| r.row).collect::<Vec<_>>(), [2, 3, 5]);
    }

    fn signals() -> Table {
        let columns = ["signal_id", "date", "address", "kind"];
        let rows: &[&[&str]] =
            &[&["S1", "2025-07-03", "1 Elm St", "complaint"], &["S2", "2025-07-03", "3 Elm", "case"], &["S3", "soon", "", "trap"]];
        table("signals", &columns, rows)
    }

    #[test]
    fn a_signal_whose_address_nobody_has_waits_is_settled_and_stays_settled() {
        let (survey, report) = bring(None, vec![(Role::Parcels, lots()), (Role::Signals, signals())]);
        assert_eq!((report.signals, report.refused_rows), (1, 2));
        let list = waiting(&survey, &Unwatched).unwrap();
        let told: Vec<_> = list.iter().map(|w| (w.first(&survey).row, w.what, w.candidates[0].premise)).collect();
        assert_eq!(told, [(2, Waits::Signal(SignalKind::Case), of(&survey, "QM-1002"))]);
        let choice = |row, premise| Choice { table: Role::Signals, file: "signals.csv".into(), row, verdict: Verdict::Premise(premise) };
        let there = of(&survey, "QM-1002");
        let settled = settle(&survey, &[choice(2, there)], &Unwatched).unwrap();
        assert_eq!((settled.joined, settled.signals), (0, 1));
        let placed = settled.survey.signals.iter().find(|s| &*s.id == "S2").unwrap().place;
        assert!(settled.survey.premises.outline.get(there.row()).holds(placed));
        let (again, report) = bring(Some(&settled.survey), vec![(Role::Signals, signals())]);
        assert_eq!((report.signals, &again.signals), (2, &settled.survey.signals));
        assert!(settle(&survey, &[choice(3, there)], &Unwatched).unwrap_err().to_string().contains("row 3 of signals.csv cannot come in"));
    }
}
