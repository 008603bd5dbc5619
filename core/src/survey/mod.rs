//! What is known about one district: premises, blocks, streets, visits, finds, rounds and signals, in columns.

mod address;
mod blocks;
mod by_hand;
pub mod calendar;
mod containers;
mod find;
mod houses;
mod ids;
mod language;
pub(crate) mod mark;
mod outcome;
mod premises;
mod promise;
mod refused;
mod round;
pub mod settings;
mod signal;
mod standing;
mod streets;
mod strings;
mod view;
mod visit;

use crate::place::Frame;
use std::collections::BTreeMap;
use std::sync::Arc;

pub use address::Address;
pub use blocks::Blocks;
pub use by_hand::{BY_HAND, HandChange, HandError, LogStep, TakenAway};
pub use containers::{COLUMNS as CONTAINER_COLUMNS, ContainerKnowledge, KnowledgeError, KnownContainer, Remedy, StaysOpen, Who};
pub use find::{Action, Find, Stage};
pub use houses::{HouseSpot, Houses};
pub use ids::{BlockId, KindId, PremiseId, RoundId, VisitId};
pub use language::Language;
pub use outcome::{Outcome, UnknownWord};
pub use premises::Premises;
pub use promise::{Promised, promise_at};
pub use refused::{IntakeEntry, RefusedRow};
pub use round::Round;
pub use signal::{DayTemperature, Signal, SignalKind};
pub use standing::{Marking, Standing, standings};
pub use streets::{Numbers, Ranges, StreetClass, Streets};
pub use strings::Strings;
pub use view::SavedView;
pub use visit::{Said, Visit, Visits, When};

/// Everything about one district's work. Cheap to clone: every column is shared until it is replaced.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    /// The metric frame that all outlines and places of the survey are in.
    pub frame: Frame,
    /// The places to inspect.
    pub premises: Premises,
    /// Premises bounded by streets.
    pub blocks: Blocks,
    /// Street centrelines.
    pub streets: Streets,
    /// Attempts at premises, with what was found.
    pub visits: Visits,
    /// Rounds, oldest first.
    pub rounds: Arc<Vec<Round>>,
    /// Kinds of container found, in alphabetical order.
    pub kinds: Arc<Vec<Box<str>>>,
    /// Why we are there: cases, trap counts, complaints.
    pub signals: Arc<Vec<Signal>>,
    /// Daily temperatures, oldest first.
    pub temperatures: Arc<Vec<DayTemperature>>,
    /// Rows of files that could not be brought in, whole and with the reason.
    pub refused: Arc<Vec<RefusedRow>>,
    /// What was brought in from which file.
    pub intake_log: Arc<Vec<IntakeEntry>>,
    /// What the office calls the survey and has settled for it, by name: see [`settings`].
    pub settings: Arc<BTreeMap<Box<str>, Box<str>>>,
}

impl Survey {
    /// A survey of nothing in a frame.
    pub fn empty(frame: Frame) -> Self {
        Self {
            frame,
            premises: Premises::default(),
            blocks: Blocks::default(),
            streets: Streets::default(),
            visits: Visits::default(),
            rounds: Arc::default(),
            kinds: Arc::default(),
            signals: Arc::default(),
            temperatures: Arc::default(),
            refused: Arc::default(),
            intake_log: Arc::default(),
            settings: Arc::default(),
        }
    }

    /// The round with a name, or the latest one (by its last day) when no name is given; `None` when there is none.
    pub fn round(&self, name: Option<&str>) -> Option<RoundId> {
        let found = match name {
            Some(name) => self.rounds.iter().position(|r| &*r.name == name),
            None => self.rounds.iter().enumerate().max_by_key(|(i, r)| (r.last, *i)).map(|(i, _)| i),
        };
        found.map(|i| RoundId(i as u32))
    }

    /// Which round a name means, whatever its case; `None` where none has it.
    pub fn round_called(&self, name: &str) -> Option<RoundId> {
        let alike = || self.rounds.iter().position(|r| r.name.trim().eq_ignore_ascii_case(name.trim())).map(|i| RoundId(i as u32));
        self.round(Some(name)).or_else(alike)
    }

    /// The name of a kind of container.
    pub fn kind_name(&self, kind: KindId) -> &str {
        &self.kinds[kind.0 as usize]
    }
}
