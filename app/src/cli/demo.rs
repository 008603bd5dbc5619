//! The window on the sample survey.

use super::{Done, Failure, Output, window};

/// Opens the window on the sample survey, made on first use.
pub(super) fn run(output: &Output) -> Result<Done, Failure> {
    let survey = crate::sample_district::survey(output).map_err(|t| Failure::new(t.what, t.hint))?;
    output.clear_progress();
    window::open(Some(survey))
}
