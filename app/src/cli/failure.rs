//! Why a verb could not be done, in one plain sentence.

use std::fmt;
use std::path::Path;
use yardring_core::error::Hint;

/// What was wrong, where, and what to do about it.
#[derive(Debug)]
pub struct Failure {
    what: String,
    hint: String,
}

impl Failure {
    /// A failure in words: what and where, then what to do (may be empty).
    pub fn new(what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { what: what.into(), hint: hint.into() }
    }

    /// A file that cannot be written.
    pub fn unwritten(path: &Path, error: &dyn fmt::Display) -> Self {
        Self::new(format!("{} cannot be written: {error}", path.display()), "Choose a folder that you may write to")
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, ". {}", self.hint) }
    }
}

impl<E: Hint> From<E> for Failure {
    fn from(error: E) -> Self {
        Self::new(error.to_string(), error.hint())
    }
}
