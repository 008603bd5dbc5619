//! Why a visit could not be written down.

use super::Fault;
use crate::error::Hint;
use jiff::civil::Date;

/// Why a visit was not entered, corrected or taken away; the survey is as it was.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RecordError {
    /// The entry cannot be.
    #[error("the visit was not kept: {}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Faults(Vec<Fault>),
    /// The premise is none of the survey.
    #[error("the survey has no such yard")]
    NoPremise,
    /// The visit is not there.
    #[error("no visit '{id}' was made at {premise}")]
    NoVisit {
        /// The id that was asked for.
        id: String,
        /// The premise in words.
        premise: String,
    },
    /// A visit that says the same is there.
    #[error("the same visit of {day} at {premise} is there already")]
    Already {
        /// Its day.
        day: Date,
        /// The premise in words.
        premise: String,
    },
    /// A correction says what was there before.
    #[error("nothing would change: the visit says the same already")]
    NothingChanged,
}

impl Hint for RecordError {
    fn hint(&self) -> String {
        match self {
            Self::Faults(_) => "Mend what is named, then keep it",
            Self::NoPremise => "Give the parcel id of a yard in the survey",
            Self::NoVisit { .. } => "Look its id up with: yardring export SURVEY.gpkg --layer visits --out visits.csv",
            Self::Already { .. } => "Correct the one that is there, or give this one another time",
            Self::NothingChanged => "Change something, or leave it",
        }
        .to_owned()
    }

    fn in_window(&self) -> String {
        match self {
            Self::NoPremise | Self::NoVisit { .. } => "Choose the yard again: it may have been taken away meanwhile".to_owned(),
            _ => self.hint(),
        }
    }
}
