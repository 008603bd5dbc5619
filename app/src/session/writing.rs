//! A visit being written down at a yard.

use std::sync::Arc;
use yardring_core::intake::record::Entry;
use yardring_core::survey::{PremiseId, Survey};

/// What is being written down.
#[derive(Clone, Debug, PartialEq)]
pub struct Writing {
    /// At which yard.
    pub premise: PremiseId,
    /// The visit that is corrected, by its id; `None` for a new one.
    pub correcting: Option<Box<str>>,
    /// What the form begins with.
    pub begins: Entry,
    /// Where the walk of the day goes on, when the yard is on one.
    pub next: Option<PremiseId>,
}

/// Writing down, and what the next visit takes over from the one before.
#[derive(Clone, Debug, Default)]
pub struct Hand {
    /// What is being written down now.
    pub writing: Option<Writing>,
    /// How many visits were kept: what was typed for one is none of the next.
    pub kept: u64,
    /// Day, crew and round of the visit kept last.
    pub last: Option<(String, String, String)>,
    /// After keeping, the form goes on to this yard.
    pub go_on: Option<PremiseId>,
    /// The survey before the last change. To let go of a million visits takes a while, so the next change does it beside the window.
    pub before: Option<Arc<Survey>>,
}

/// What somebody asks of a visit.
#[derive(Clone, Debug, PartialEq)]
pub enum RecordAction {
    /// Write a new one down at a yard.
    Begin(PremiseId),
    /// Correct one, by its id.
    Correct(PremiseId, Box<str>),
    /// Take one away, by its id.
    TakeAway(PremiseId, Box<str>),
    /// Keep what was typed; then go on to the next door of the walk, or not.
    Keep(Box<Entry>, bool),
    /// Leave the form.
    Leave,
}
