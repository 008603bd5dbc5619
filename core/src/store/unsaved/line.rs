//! The lines that unsaved changes are kept as: a mark of what follows, then the change as JSON. A line that was cut or spoiled does not fit
//! its mark, and it and all after it count for nothing.

use crate::store::{Edit, Stamp};
use crate::survey::{Find, HandChange, KindId, LogStep, PremiseId, Round, RoundId, Said, Visit, When, mark};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// The number of the way in which lines are written.
pub(super) const LAYOUT: u32 = 1;

/// Changes in words, each with how often it was made.
pub(super) type Words = Vec<(String, usize)>;

/// One line.
#[derive(Debug, Serialize, Deserialize)]
pub(super) enum Line {
    /// The first: what the changes are changes of.
    Begins {
        layout: u32,
        /// What the survey's file looked like.
        stamp: Stamp,
        /// The name of a whole survey that lies beside and that the changes are made on, in place of the survey's file.
        whole: Option<String>,
        words: Words,
    },
    /// One change, and all of them in words.
    Did { edit: Small, words: Words },
}

/// A small change.
#[derive(Debug, Serialize, Deserialize)]
pub(super) enum Small {
    Setting { name: Box<str>, value: Option<Box<str>> },
    Visit { what: Box<str>, change: Box<Change> },
}

/// A [`HandChange`], with days and words as texts.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Change {
    premise: u32,
    was: Option<Box<str>>,
    becomes: Option<VisitLine>,
    rounds: Vec<(Box<str>, String, String)>,
    kinds: Vec<Box<str>>,
    log: Option<Box<str>>,
    taken_away: Option<Box<str>>,
}

#[derive(Debug, Serialize, Deserialize)]
struct VisitLine {
    id: Box<str>,
    premise: u32,
    day: String,
    time: Option<String>,
    outcome: String,
    round: u32,
    crew: Box<str>,
    promise: Box<str>,
    cautions: Box<str>,
    minutes: Option<u16>,
    by_hand: bool,
    finds: Vec<FindLine>,
}

#[derive(Debug, Serialize, Deserialize)]
struct FindLine {
    kind: u32,
    counts: [u32; 5],
    stage: Option<String>,
    /// The bits of the number, so that it comes back as it was.
    litres: Option<u32>,
    action: Option<String>,
    remains: bool,
}

impl Line {
    /// The line with its mark and its end.
    pub(super) fn written(&self) -> Vec<u8> {
        let text = serde_json::json!(self).to_string();
        format!("{:016x} {text}\n", mark::after(mark::FIRST, text.bytes())).into_bytes()
    }

    /// A line without its end; `None` where it does not fit its mark or says nothing that is known here.
    pub(super) fn read(bytes: &[u8]) -> Option<Self> {
        let (mark, text) = std::str::from_utf8(bytes).ok()?.split_once(' ')?;
        if mark == format!("{:016x}", mark::after(mark::FIRST, text.bytes())) { serde_json::from_str(text).ok() } else { None }
    }
}

impl Small {
    /// A small change; `None` for one of everything.
    pub(super) fn of(edit: &Edit) -> Option<Self> {
        match edit {
            Edit::Columns { .. } => None,
            Edit::Setting { name, value } => Some(Self::Setting { name: name.clone(), value: value.clone() }),
            Edit::Visit { what, change } => Some(Self::Visit { what: what.clone(), change: Box::new(Change::of(change)) }),
        }
    }

    /// The change; `None` where a day or a word in it is none.
    pub(super) fn edit(self) -> Option<Edit> {
        match self {
            Self::Setting { name, value } => Some(Edit::Setting { name, value }),
            Self::Visit { what, change } => Some(Edit::Visit { what, change: Box::new(change.change()?) }),
        }
    }
}

impl Change {
    fn of(change: &HandChange) -> Self {
        Self {
            premise: change.premise.0,
            was: change.was.clone(),
            becomes: change.becomes.as_ref().map(|(visit, finds)| VisitLine::of(visit, finds)),
            rounds: change.rounds.iter().map(|r| (r.name.clone(), r.first.to_string(), r.last.to_string())).collect(),
            kinds: change.kinds.to_vec(),
            log: match &change.log {
                LogStep::Add(sentence) => Some(sentence.clone()),
                LogStep::TakeOff => None,
            },
            taken_away: change.taken_away.clone(),
        }
    }

    fn change(self) -> Option<HandChange> {
        let round =
            |(name, first, last): (Box<str>, String, String)| Some(Round { name, first: first.parse().ok()?, last: last.parse().ok()? });
        Some(HandChange {
            premise: PremiseId(self.premise),
            was: self.was,
            becomes: match self.becomes {
                Some(line) => Some(line.visit()?),
                None => None,
            },
            rounds: Arc::new(self.rounds.into_iter().map(round).collect::<Option<_>>()?),
            kinds: Arc::new(self.kinds),
            log: self.log.map_or(LogStep::TakeOff, LogStep::Add),
            taken_away: self.taken_away,
        })
    }
}

impl VisitLine {
    fn of(visit: &Visit, finds: &[Find]) -> Self {
        Self {
            id: visit.id.clone(),
            premise: visit.premise.0,
            day: visit.when.day.to_string(),
            time: visit.when.time.map(|t| t.to_string()),
            outcome: visit.outcome.to_string(),
            round: visit.round.0,
            crew: visit.crew.clone(),
            promise: visit.promise().into(),
            cautions: visit.cautions().into(),
            minutes: visit.minutes(),
            by_hand: visit.by_hand(),
            finds: finds.iter().map(FindLine::of).collect(),
        }
    }

    fn visit(self) -> Option<(Visit, Vec<Find>)> {
        let said = Said::with_minutes(&self.promise, &self.cautions, self.minutes);
        let visit = Visit {
            id: self.id,
            premise: PremiseId(self.premise),
            when: When { day: self.day.parse().ok()?, time: read(self.time)? },
            outcome: self.outcome.parse().ok()?,
            round: RoundId(self.round),
            crew: self.crew,
            said: Said::marked(said, self.by_hand),
            finds: 0..0,
        };
        Some((visit, self.finds.into_iter().map(FindLine::find).collect::<Option<_>>()?))
    }
}

impl FindLine {
    fn of(find: &Find) -> Self {
        Self {
            kind: find.kind.0,
            counts: [find.count, find.wet, find.with_larvae, find.with_pupae, find.pupae],
            stage: find.stage.map(|s| s.to_string()),
            litres: find.litres.map(f32::to_bits),
            action: find.action.map(|a| a.to_string()),
            remains: find.remains,
        }
    }

    fn find(self) -> Option<Find> {
        let [count, wet, with_larvae, with_pupae, pupae] = self.counts;
        let (stage, action) = (read(self.stage)?, read(self.action)?);
        let litres = self.litres.map(f32::from_bits);
        Some(Find { kind: KindId(self.kind), count, wet, with_larvae, with_pupae, pupae, stage, litres, action, remains: self.remains })
    }
}

/// A word that may be missing; `None` for one that cannot be read.
fn read<T: std::str::FromStr>(text: Option<String>) -> Option<Option<T>> {
    text.map(|t| t.parse().ok()).map_or(Some(None), |read: Option<T>| read.map(Some))
}
