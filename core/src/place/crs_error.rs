//! Why a coordinate system cannot be used.

use crate::error::Hint;

/// Why places of a coordinate system cannot be put on the earth.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CrsError {
    /// The EPSG register holds no flat or geographic system with this number.
    #[error("EPSG:{number} is no coordinate system for maps in the EPSG register")]
    UnknownNumber {
        /// The number as it was given.
        number: u32,
    },
    /// A description that is no well-known text, or that leaves out what is needed.
    #[error("the coordinate system's description cannot be read; it begins with '{beginning}'")]
    Unreadable {
        /// The first characters of the description.
        beginning: String,
    },
    /// A drawing's own system, not tied to the earth.
    #[error("the coordinate system '{name}' is a local one: nothing says where on the earth it lies")]
    Local {
        /// The system's name.
        name: String,
    },
    /// A system of heights or of three-dimensional places.
    #[error("the coordinate system '{name}' has no east and north")]
    NotFlat {
        /// The system's name.
        name: String,
    },
}

impl CrsError {
    /// What to do, with the way to give the right number.
    fn with(&self, give: &str) -> String {
        match self {
            Self::UnknownNumber { .. } => format!("Check the number with whoever made the file, and {give}."),
            Self::Unreadable { .. } => format!("Ask whoever made the file for the number of its coordinate system, and {give}."),
            Self::Local { .. } => {
                format!("Ask for the file in a mapped coordinate system; or find out the number of the right one, and {give}.")
            }
            Self::NotFlat { .. } => format!("Find out the number of the system of the file's east and north, and {give}."),
        }
    }
}

impl Hint for CrsError {
    fn hint(&self) -> String {
        self.with("give it as --crs EPSG:n")
    }

    fn in_window(&self) -> String {
        self.with("type it below the files, as EPSG: and the number")
    }
}
