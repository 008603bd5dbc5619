//! One visit entered, corrected or taken away by hand: a change of a survey that gives back the one that undoes it.

use super::visit::Renumbered;
use super::{Find, IntakeEntry, KindId, PremiseId, Round, RoundId, Survey, Visit, settings};
use std::sync::Arc;

/// What stands for a file in the intake log where somebody wrote by hand.
pub const BY_HAND: &str = "entered by hand";

/// One visit that becomes another, comes, or goes. Rounds and kinds of container are those of the lists that the survey has afterwards.
#[derive(Clone, Debug, PartialEq)]
pub struct HandChange {
    /// Where.
    pub premise: PremiseId,
    /// The id of the visit that is there now, if any.
    pub was: Option<Box<str>>,
    /// The visit as it is to be, with its finds; `None` where it goes.
    pub becomes: Option<(Visit, Vec<Find>)>,
    /// The rounds as they are to be; all that visits belong to stay among them.
    pub rounds: Arc<Vec<Round>>,
    /// The kinds of container as they are to be; all that were found stay among them.
    pub kinds: Arc<Vec<Box<str>>>,
    /// What the intake log learns.
    pub log: LogStep,
    /// The setting [`settings::TAKEN_AWAY`] as it is to be.
    pub taken_away: Option<Box<str>>,
}

/// A sentence more or less in the intake log, under [`BY_HAND`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LogStep {
    /// One more, at the end.
    Add(Box<str>),
    /// The last one goes.
    TakeOff,
}

/// A change that does not fit the survey.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct HandError(pub &'static str);

impl HandChange {
    /// Makes the change and gives the one that undoes it; a change that does not fit changes nothing. It walks over all visits once.
    ///
    /// # Errors
    /// [`HandError`] when a visit, a round, a kind or a line of the log is not there.
    pub fn apply(self, survey: &mut Survey) -> Result<Self, HandError> {
        let out = self.was.as_ref().map(|id| row_of(survey, self.premise, id)).transpose()?;
        let numbers = self.numbers(survey, out)?;
        let undone = {
            let visits = &survey.visits;
            out.map(|row| (Visit { finds: 0..0, ..visits.rows()[row].clone() }, visits.finds_of(&visits.rows()[row]).to_vec()))
        };
        let (entries, log) = logged(&survey.intake_log, self.log)?;
        let was = self.becomes.as_ref().map(|(visit, _)| visit.id.clone());
        let visits = survey.visits.with_change(survey.premises.len(), out, self.becomes, &numbers);
        let back = Self {
            premise: self.premise,
            was,
            becomes: undone,
            rounds: std::mem::replace(&mut survey.rounds, self.rounds),
            kinds: std::mem::replace(&mut survey.kinds, self.kinds),
            log,
            taken_away: survey.settings.get(settings::TAKEN_AWAY).cloned(),
        };
        (survey.visits, survey.intake_log) = (visits, Arc::new(entries));
        if self.taken_away != back.taken_away {
            let all = Arc::make_mut(&mut survey.settings);
            match self.taken_away {
                Some(list) => all.insert(settings::TAKEN_AWAY.into(), list),
                None => all.remove(settings::TAKEN_AWAY),
            };
        }
        Ok(back)
    }

    /// What the survey's rounds and kinds are called by afterwards, once all that visits need is there.
    fn numbers(&self, survey: &Survey, out: Option<usize>) -> Result<Renumbered, HandError> {
        let number = |name: &str, all: &[Round]| all.iter().position(|r| *r.name == *name).map(|i| RoundId(i as u32));
        let rounds: Vec<Option<RoundId>> = survey.rounds.iter().map(|r| number(&r.name, &self.rounds)).collect();
        let kind = |name: &str| self.kinds.iter().position(|k| **k == *name).map(|i| KindId(i as u32));
        let kinds: Vec<Option<KindId>> = survey.kinds.iter().map(|k| kind(k)).collect();
        let rows = survey.visits.rows();
        let kept = |(i, _): &(usize, &Visit)| out != Some(*i);
        let needed = rows.iter().enumerate().filter(kept).all(|(_, v)| {
            rounds.get(v.round.row()).is_some_and(Option::is_some)
                && survey.visits.finds_of(v).iter().all(|f| kinds.get(f.kind.row()).is_some_and(Option::is_some))
        });
        let own = self.becomes.as_ref().is_none_or(|(visit, finds)| {
            visit.premise == self.premise
                && visit.premise.row() < survey.premises.len()
                && visit.round.row() < self.rounds.len()
                && finds.iter().all(|f| f.kind.row() < self.kinds.len())
        });
        if !needed || !own {
            return Err(HandError("a visit names a premise, a round or a kind of container that is not there"));
        }
        // What no visit needs any more may have gone; its number is never asked for.
        let rounds = rounds.into_iter().map(|r| r.unwrap_or(RoundId(0))).collect();
        Ok(Renumbered { rounds, kinds: kinds.into_iter().map(|k| k.unwrap_or(KindId(0))).collect() })
    }
}

fn row_of(survey: &Survey, premise: PremiseId, id: &str) -> Result<usize, HandError> {
    let mut rows = survey.visits.rows_at(premise);
    rows.find(|&row| *survey.visits.rows()[row].id == *id).ok_or(HandError("the visit is not there any more"))
}

/// The log after a step, and the step that takes that back. Sentences that follow each other stand in one entry.
fn logged(log: &[IntakeEntry], step: LogStep) -> Result<(Vec<IntakeEntry>, LogStep), HandError> {
    let mut out = log.to_vec();
    let last = out.last_mut().filter(|e| *e.file == *BY_HAND);
    let back = match (step, last) {
        (LogStep::Add(sentence), Some(entry)) => {
            (entry.rows, entry.kept) = (entry.rows + 1, entry.kept + 1);
            entry.findings.push(sentence);
            LogStep::TakeOff
        }
        (LogStep::Add(sentence), None) => {
            out.push(IntakeEntry { file: BY_HAND.into(), table: "visits".into(), rows: 1, kept: 1, findings: vec![sentence] });
            LogStep::TakeOff
        }
        (LogStep::TakeOff, Some(entry)) if !entry.findings.is_empty() => {
            (entry.rows, entry.kept) = (entry.rows.saturating_sub(1), entry.kept.saturating_sub(1));
            let sentence = entry.findings.pop().unwrap_or_default();
            if entry.findings.is_empty() {
                out.pop();
            }
            LogStep::Add(sentence)
        }
        (LogStep::TakeOff, _) => return Err(HandError("the intake log has no line about this visit")),
    };
    Ok((out, back))
}

/// The visits that were taken away by hand.
///
/// ```
/// use yardring_core::place::{Frame, LonLat};
/// use yardring_core::survey::{Survey, TakenAway};
/// let survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 }));
/// let mut gone = TakenAway::of(&survey);
/// gone.put("V17", "QM-1");
/// assert!(gone.has("V17", "QM-1") && !gone.has("V17", "QM-2"));
/// gone.take_out("V17", "QM-1");
/// assert_eq!(gone.setting(), None);
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TakenAway(Vec<(String, String)>);

impl TakenAway {
    /// Those that a survey keeps; a setting that cannot be read keeps none.
    pub fn of(survey: &Survey) -> Self {
        let kept = survey.settings.get(settings::TAKEN_AWAY);
        Self(kept.and_then(|text| serde_json::from_str(text).ok()).unwrap_or_default())
    }

    /// Whether the visit with an id, at the premise with a parcel id, is among them.
    pub fn has(&self, id: &str, parcel: &str) -> bool {
        self.0.iter().any(|(i, p)| i == id && p == parcel)
    }

    /// Puts one among them.
    pub fn put(&mut self, id: &str, parcel: &str) {
        if !self.has(id, parcel) {
            self.0.push((id.to_owned(), parcel.to_owned()));
        }
    }

    /// Takes one out again.
    pub fn take_out(&mut self, id: &str, parcel: &str) {
        self.0.retain(|(i, p)| i != id || p != parcel);
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The setting that keeps them; none where there is none.
    pub fn setting(&self) -> Option<Box<str>> {
        (!self.0.is_empty()).then(|| serde_json::json!(self.0).to_string().into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, LonLat};
    use crate::survey::{Outcome, Said, Visits, When};
    use jiff::civil::{Date, date};

    fn visit(id: &str, premise: u32, day: Date, round: u32) -> Visit {
        let (when, said) = (When { day, time: None }, Said::marked(None, true));
        let (premise, round) = (PremiseId(premise), RoundId(round));
        Visit { id: id.into(), premise, when, outcome: Outcome::Inspected, round, crew: "A".into(), said, finds: 0..0 }
    }

    fn find(kind: u32) -> Find {
        let (count, wet, with_larvae, with_pupae, pupae) = (2, 1, 1, 0, 0);
        Find { kind: KindId(kind), count, wet, with_larvae, with_pupae, pupae, stage: None, litres: None, action: None, remains: false }
    }

    fn round(name: &str, first: Date, last: Date) -> Round {
        Round { name: name.into(), first, last }
    }

    /// Three yards: two visits at the first, one at the last.
    fn survey() -> Survey {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
        s.premises.parcel_id = Arc::new(["P0", "P1", "P2"].into_iter().collect());
        s.rounds = Arc::new(vec![round("June", date(2025, 6, 2), date(2025, 6, 9)), round("July", date(2025, 7, 2), date(2025, 7, 9))]);
        s.kinds = Arc::new(vec!["bucket".into(), "tire".into()]);
        let rows = vec![
            (visit("a", 0, date(2025, 6, 2), 0), vec![find(1)]),
            (visit("b", 0, date(2025, 7, 2), 1), vec![find(0), find(1)]),
            (visit("c", 2, date(2025, 7, 9), 1), vec![]),
        ];
        s.visits = Visits::from_rows(3, rows);
        s
    }

    fn entered(premise: u32, was: Option<&str>, becomes: Option<(Visit, Vec<Find>)>) -> HandChange {
        let s = survey();
        let mut kinds = s.kinds.to_vec();
        kinds.insert(1, "saucer".into());
        let mut rounds = s.rounds.to_vec();
        rounds.insert(0, round("May", date(2025, 5, 1), date(2025, 5, 1)));
        let (rounds, kinds) = (Arc::new(rounds), Arc::new(kinds));
        let log = LogStep::Add("entered".into());
        HandChange { premise: PremiseId(premise), was: was.map(Into::into), becomes, rounds, kinds, log, taken_away: Some("[]".into()) }
    }

    /// Against a twin that sorts all visits anew.
    #[test]
    fn a_visit_comes_goes_and_changes_and_undo_restores_every_row() {
        let new = |premise| (visit("n", premise, date(2025, 5, 1), 0), vec![find(1), find(2)]);
        let (before, numbers) = (survey(), |k: u32| KindId(if k == 0 { 0 } else { 2 }));
        for (premise, was, becomes) in [
            (0, None, Some(new(0))),
            (1, None, Some(new(1))),
            (2, None, Some(new(2))),
            (0, Some("b"), Some(new(0))),
            (0, Some("a"), None),
            (2, Some("c"), None),
        ] {
            let mut after = before.clone();
            let back = entered(premise, was, becomes.clone()).apply(&mut after).unwrap();
            let stays = |v: &&Visit| v.premise.0 != premise || was.is_none_or(|id| *v.id != *id);
            let renumbered = |v: &Visit| {
                let finds = before.visits.finds_of(v).iter().map(|f| Find { kind: numbers(f.kind.0), ..f.clone() }).collect();
                (Visit { round: RoundId(v.round.0 + 1), ..v.clone() }, finds)
            };
            let rows = before.visits.rows().iter().filter(stays).map(renumbered).chain(becomes).collect();
            let slow = Visits::from_rows(3, rows);
            assert_eq!(after.visits, slow);
            (0..3).for_each(|p| assert_eq!(after.visits.at(PremiseId(p)), slow.at(PremiseId(p))));
            assert_eq!((after.rounds.len(), after.kinds.len(), after.intake_log[0].rows), (3, 3, 1));
            back.apply(&mut after).unwrap();
            assert_eq!(after, before);
        }
    }

    #[test]
    fn what_does_not_fit_changes_nothing() {
        let odd = |change: HandChange| {
            let mut now = survey();
            assert!(change.apply(&mut now).is_err());
            assert_eq!(now, survey());
        };
        let new = || Some((visit("n", 1, date(2025, 5, 1), 0), vec![find(0)]));
        odd(entered(1, Some("nobody"), None));
        odd(entered(9, None, Some((visit("n", 9, date(2025, 5, 1), 0), vec![]))));
        odd(entered(0, None, new()));
        odd(HandChange { kinds: Arc::default(), ..entered(1, None, None) });
        odd(HandChange { rounds: Arc::default(), ..entered(1, None, None) });
        odd(HandChange { log: LogStep::TakeOff, ..entered(1, None, new()) });
    }
}
