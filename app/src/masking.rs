//! The mask of cases: drawn by chance once, then kept in the survey.

use std::hash::{BuildHasher as _, Hasher as _, RandomState};
use std::path::Path;
use yardring_core::reach::Mask;
use yardring_core::store::{StoreError, keep_setting};
use yardring_core::survey::{Survey, settings};

/// Gives every case of a survey that has none its place under the mask; whether any was missing.
pub fn complete(survey: &mut Survey) -> bool {
    // The system's own chance, which nobody can guess.
    Mask::complete(survey, RandomState::new().build_hasher().finish())
}

/// The same for a survey read from a file, in which what is new is kept, so that no case is ever moved in two ways.
///
/// # Errors
/// [`StoreError`] when the file cannot be written; the survey has its mask nevertheless.
pub fn keep(survey: &mut Survey, path: &Path) -> Result<(), StoreError> {
    if !complete(survey) {
        return Ok(());
    }
    match survey.settings.get(settings::CASE_MASK) {
        Some(mask) => keep_setting(path, settings::CASE_MASK, Some(mask)),
        None => Ok(()),
    }
}
