//! Long work tells how far it is and can be stopped: progress out, cancellation in.

/// Long work was stopped by the person who asked for it. Nothing was changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("stopped before it was done; nothing was changed")]
pub struct Cancelled;

/// What a caller hands to long work to follow it and to stop it.
pub trait Watch: Sync {
    /// Called now and then: the stage in words, how much is done, out of how much (0: not known).
    fn progress(&self, stage: &str, done: u64, total: u64);

    /// Whether somebody asked to stop.
    fn cancelled(&self) -> bool;

    /// Reports progress and stops the work when asked to.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    fn step(&self, stage: &str, done: u64, total: u64) -> Result<(), Cancelled> {
        self.progress(stage, done, total);
        if self.cancelled() { Err(Cancelled) } else { Ok(()) }
    }
}

/// Work that nobody watches: never stopped, progress dropped.
///
/// ```
/// use yardring_core::job::{Unwatched, Watch};
/// assert!(Unwatched.step("reading", 1, 2).is_ok());
/// ```
#[derive(Clone, Copy, Debug, Default)]
pub struct Unwatched;

impl Watch for Unwatched {
    fn progress(&self, _stage: &str, _done: u64, _total: u64) {}

    fn cancelled(&self) -> bool {
        false
    }
}
