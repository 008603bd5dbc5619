//! Rounds: one pass over an area.

use jiff::civil::Date;

/// One pass over an area, with its first and last day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Round {
    /// Its name.
    pub name: Box<str>,
    /// The day of its first visit.
    pub first: Date,
    /// The day of its last visit.
    pub last: Date,
}
