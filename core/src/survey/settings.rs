//! Names of what an office settles for its survey once and for all.

/// What the office calls the survey.
pub const NAME: &str = "name";
