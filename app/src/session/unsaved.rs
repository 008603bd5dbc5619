//! Changes that are not saved: who keeps them, and what an earlier window left behind.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use yardring_core::store::{Found, Keeper};
use yardring_core::survey::Survey;

/// Keeps the unsaved changes of the open survey; the job at work holds it too.
#[derive(Clone, Debug)]
pub struct Keeping(Arc<Mutex<Keeper>>);

impl Keeping {
    /// A keeper to share.
    pub fn new(keeper: Keeper) -> Self {
        Self(Arc::new(Mutex::new(keeper)))
    }

    /// The keeper, once no job uses it.
    pub fn held(&self) -> MutexGuard<'_, Keeper> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Unsaved changes that an earlier window left behind, offered until somebody takes them in or the survey is saved without them.
#[derive(Clone, Debug)]
pub struct Offer {
    /// The changes.
    pub found: Arc<Found>,
    /// Somebody said to leave them out; until the next save that can be taken back.
    pub left_out: bool,
}

/// What the window knows about changes that are not saved.
#[derive(Debug, Default)]
pub struct Unsaved {
    /// Who keeps those of the open survey.
    pub keeper: Option<Keeping>,
    /// The whole survey is to be kept now: its file changed underneath.
    pub whole: bool,
    /// The last keeping failed: that was said, and the next one writes the whole survey.
    pub failed: bool,
    /// What earlier windows left behind.
    pub offers: Vec<Offer>,
    /// What was taken back in: removed once it is kept anew, or saved.
    pub taken: Vec<Arc<Found>>,
    /// What there is to remove.
    pub done_with: Vec<Gone>,
    /// How many other windows have unsaved changes of this survey.
    pub elsewhere: usize,
    /// The survey as its file had it when it was opened.
    pub as_read: Option<Arc<Survey>>,
}

/// Kept changes that nobody needs any more.
#[derive(Clone, Debug)]
pub enum Gone {
    /// Those of a keeper.
    Kept(Keeping),
    /// Those of an earlier window.
    Found(Arc<Found>),
}

impl Gone {
    /// Removes them.
    pub fn remove(&self) {
        match self {
            Self::Kept(keeping) => keeping.held().end(),
            Self::Found(found) => found.remove(),
        }
    }
}

/// What somebody says about changes that an earlier window left behind, by their place among the offers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnsavedAction {
    /// Look for those of a survey that never had a file.
    LookForNew,
    /// Take them back in.
    TakeIn(usize),
    /// Leave them out.
    LeaveOut(usize),
    /// Offer them again after all.
    OfferAgain(usize),
}
