//! Why a survey could not be opened or saved.

use crate::error::Hint;
use crate::job::Cancelled;
use rusqlite::ErrorCode;
use std::path::PathBuf;

/// Why a survey could not be opened or saved.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// There is no such file.
    #[error("there is no file {}", path.display())]
    Missing {
        /// The file that was asked for.
        path: PathBuf,
    },
    /// The file is something else.
    #[error("{} is not a survey: {found}", path.display())]
    NotASurvey {
        /// The file.
        path: PathBuf,
        /// What it is instead.
        found: &'static str,
    },
    /// A later version of the program wrote the file.
    #[error("{} was written by a newer version of the program: its layout is number {found}, this program knows up to {known}", path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// The layout's number in the file.
        found: i64,
        /// The newest layout this program knows.
        known: i64,
    },
    /// The file is a survey, but something in it is broken.
    #[error("{} is damaged: table {table}{}: {what}", path.display(), row.map(|r| format!(", row {r}")).unwrap_or_default())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The table.
        table: &'static str,
        /// The row's key, where one row is to blame.
        row: Option<i64>,
        /// What was expected and what was found.
        what: String,
    },
    /// Another program holds the file.
    #[error("{} is open in another program, which has changes of its own in it", path.display())]
    InUse {
        /// The file.
        path: PathBuf,
    },
    /// Another program wrote the file since it was read.
    #[error("{} was changed by another program since it was read", path.display())]
    Changed {
        /// The file.
        path: PathBuf,
    },
    /// The computer refused to read or write.
    #[error("{}: {source}", path.display())]
    Refused {
        /// The file.
        path: PathBuf,
        /// What the computer said.
        source: std::io::Error,
    },
    /// The file could not be written or read as a database.
    #[error("{}: {source}", path.display())]
    Database {
        /// The file.
        path: PathBuf,
        /// What the database library said.
        source: rusqlite::Error,
    },
    /// Unsaved changes were made on another state of the survey's file.
    #[error("the unsaved changes in {} were made on the survey as it was before it was saved last", path.display())]
    OtherUnsaved {
        /// Where they are kept.
        path: PathBuf,
    },
    /// Unsaved changes cannot be read, or do not fit the survey.
    #[error("the unsaved changes in {} cannot be read", path.display())]
    UnreadableUnsaved {
        /// Where they are kept.
        path: PathBuf,
    },
    /// Somebody asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl Hint for StoreError {
    fn hint(&self) -> String {
        match self {
            Self::Missing { .. } => "Check the name, or make the survey with: yardring intake SURVEY.gpkg --parcels FILE",
            Self::NotASurvey { .. } => "Bring the file in with: yardring intake SURVEY.gpkg --parcels FILE",
            Self::Newer { .. } => "Open it with the newer version of the program",
            Self::Damaged { .. } => "Take the last good copy of the file, or bring the office's files in again",
            Self::InUse { .. } => "Close the file there, then try again",
            Self::Changed { .. } => "Nothing was written; do the same again on the file as it is now",
            Self::Refused { .. } => "Check that the folder exists, that there is room, and that you may write in it",
            Self::Database { source, .. } => match source.sqlite_error_code() {
                Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                    "Check that you may write there: the file and its folder, or copy the survey to a folder of your own"
                }
                Some(ErrorCode::DiskFull) => "Make room on the disk, then try again",
                _ => "Check that the disk has room and that no other program holds the file",
            },
            Self::OtherUnsaved { .. } => "They cannot be laid over a newer file; leave them out with: yardring recover SURVEY.gpkg --leave",
            Self::UnreadableUnsaved { .. } => "The survey itself is sound; leave them out with: yardring recover SURVEY.gpkg --leave",
            Self::Cancelled(_) => "",
        }
        .to_owned()
    }

    fn in_window(&self) -> String {
        match self {
            Self::Missing { .. } => "Check the name: it may have been moved or called otherwise".to_owned(),
            Self::Changed { .. } => {
                "Nothing was written. Save under another name, or open the file again and repeat your changes".to_owned()
            }
            Self::NotASurvey { .. } => "Choose it as a file to bring in, at the Intake desk, or open another survey".to_owned(),
            Self::OtherUnsaved { .. } => "They cannot be laid over a newer file; leave them out".to_owned(),
            Self::UnreadableUnsaved { .. } => "The survey itself is sound; leave them out".to_owned(),
            _ => self.hint(),
        }
    }
}
