//! The files of a planned day, written into a folder by the window and by the command line alike.

use std::path::{Path, PathBuf};
use yardring_core::brief::{HandOut, SheetError, hand_out};
use yardring_core::error::Hint;
use yardring_core::files::{WriteError, write_bytes, write_features};
use yardring_core::job::Watch;
use yardring_core::survey::Survey;
use yardring_core::walks::{Day, left_out_rows, walk_rows};

/// Why the files of a day could not be written.
#[derive(Debug, thiserror::Error)]
pub enum DayFilesError {
    /// A sheet could not be made.
    #[error(transparent)]
    Sheet(#[from] SheetError),
    /// A table could not be written.
    #[error(transparent)]
    Table(#[from] WriteError),
    /// The folder or a file in it cannot be written to.
    #[error("{} cannot be written: {source}", path.display())]
    Refused {
        /// The folder or file.
        path: PathBuf,
        /// What the computer said.
        source: std::io::Error,
    },
}

impl Hint for DayFilesError {
    fn hint(&self) -> String {
        match self {
            Self::Sheet(e) => e.hint(),
            Self::Table(e) => e.hint(),
            Self::Refused { .. } => "Choose a folder that you may write to".to_owned(),
        }
    }
}

/// Writes all files of a day into a folder, which is made when it is not there: `walks.csv` and `left_out.csv` for the day, then
/// what [`hand_out`] gives. For one crew only its own sheet and track. Gives the paths in the order of writing.
///
/// # Errors
/// [`DayFilesError`] when a sheet cannot be made or a file cannot be written.
pub fn write(folder: &Path, day: &Day, survey: &Survey, what: &HandOut, watch: &dyn Watch) -> Result<Vec<PathBuf>, DayFilesError> {
    let refused = |path: &Path| {
        let path = path.to_owned();
        move |source| DayFilesError::Refused { path, source }
    };
    // Printed first: a day that cannot be handed out leaves no half of it behind. Without any door there are only the tables.
    let none = what.crew.is_none() && day.doors() == 0;
    let files = if none { Vec::new() } else { hand_out(day, survey, what, watch)? };
    std::fs::create_dir_all(folder).map_err(refused(folder))?;
    let mut written = Vec::new();
    if what.crew.is_none() {
        for (name, rows) in [("walks.csv", walk_rows(survey, Some(day))), ("left_out.csv", left_out_rows(survey, day))] {
            let path = folder.join(name);
            write_features(&rows, &path, watch)?;
            written.push(path);
        }
    }
    for (name, bytes) in files {
        let path = folder.join(name);
        write_bytes(&bytes, &path).map_err(refused(&path))?;
        written.push(path);
    }
    Ok(written)
}
