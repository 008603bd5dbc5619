//! Why no walks could be planned.

use crate::error::Hint;
use crate::job::Cancelled;

/// Why no walks could be planned.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WalkError {
    /// The rows of the travel matrix do not make a square.
    #[error("the travel matrix has {rows} rows, but its row {row} has {found} values, not {rows}")]
    NotSquare {
        /// Rows of the matrix.
        rows: usize,
        /// The first row of another length, counted from 0.
        row: usize,
        /// Values in that row.
        found: usize,
    },
    /// A travel time is negative or no number.
    #[error("the travel time from place {from} to place {to} is {found}, not a number of seconds from 0 up")]
    BadTravel {
        /// Place left.
        from: usize,
        /// Place reached.
        to: usize,
        /// The value found.
        found: f64,
    },
    /// A number of the task is negative or no number.
    #[error("{what} is {found}, not a number from 0 up")]
    BadNumber {
        /// Which number, in words.
        what: String,
        /// The value found.
        found: f64,
    },
    /// A place is named that the matrix does not have.
    #[error("{what} is at place {at}, but the travel matrix has {places} places, counted from 0")]
    NoSuchPlace {
        /// What lies there, in words.
        what: &'static str,
        /// The place named.
        at: usize,
        /// Places in the matrix.
        places: usize,
    },
    /// Two stops lie at the same place of the matrix.
    #[error("two stops are at place {at}")]
    SamePlace {
        /// The place.
        at: usize,
    },
    /// There is nothing to visit.
    #[error("there is no stop to visit")]
    NoStops,
    /// There is nobody to walk.
    #[error("there is no crew to walk")]
    NoCrew,
    /// A must stop does not fit a walk of its own.
    #[error("the stop at place {at} must be visited, but a walk to it alone takes {needs} of the {room} {unit} there are")]
    CannotServe {
        /// Where the stop lies.
        at: usize,
        /// What the walk to this stop alone needs.
        needs: f64,
        /// What there is.
        room: f64,
        /// `seconds` or `units`.
        unit: &'static str,
    },
    /// No plan was found that visits every must stop.
    #[error("no plan was found that visits every must stop: {missing} left out, the first at place {first}")]
    MustLeftOut {
        /// How many were left out by the best plan.
        missing: usize,
        /// The place of the first of them.
        first: usize,
    },
    /// The meeting point is far from every street.
    #[error("no street is near the meeting point")]
    NoStreetNear,
    /// Somebody stopped the work.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl Hint for WalkError {
    fn hint(&self) -> String {
        match self {
            Self::NotSquare { .. } => "Give one row and one column for every place.",
            Self::BadTravel { .. } => "Every place must be reachable from every other; give a long time where there is no way.",
            Self::BadNumber { .. } | Self::NoSuchPlace { .. } => "Correct the value and try again.",
            Self::SamePlace { .. } => "Give each stop a place of its own, with no travel between them.",
            Self::NoStops => "Choose at least one door.",
            Self::NoCrew => "Give at least one crew.",
            Self::CannotServe { .. } => "Lengthen the shift, start nearer, or do not mark this stop as a must.",
            Self::MustLeftOut { .. } => "Add a crew, lengthen the shift, allow more effort, or mark fewer stops as musts.",
            Self::NoStreetNear => "Choose a meeting point on a street of the survey, or bring in the streets round it.",
            Self::Cancelled(_) => "",
        }
        .to_owned()
    }
}
