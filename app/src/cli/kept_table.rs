//! A table that the district keeps in its survey and edits in a spreadsheet: what the verbs about such tables share.

use super::{Failure, Output};
use clap::Args;
use std::path::PathBuf;
use yardring_core::error::Hint;
use yardring_core::files::{self, Table};
use yardring_core::store::{self, Edit, Parts, Stamp};
use yardring_core::survey::Survey;

/// Which survey, and what to do with its table.
#[derive(Debug, Args)]
pub struct KeptTable {
    /// The survey.
    survey: PathBuf,
    /// Write the table to this file, to be edited in a spreadsheet.
    #[arg(long, value_name = "F.csv")]
    pub out: Option<PathBuf>,
    /// Take the table from this file in place of the one there is.
    #[arg(long, value_name = "F.csv", conflicts_with_all = ["out", "usual"])]
    set: Option<PathBuf>,
    /// Go back to the usual table.
    #[arg(long, conflicts_with = "out")]
    usual: bool,
}

impl KeptTable {
    /// The survey, with another table where one was asked for: it is saved then, and a line says so. `saved_with` says what was saved.
    ///
    /// # Errors
    /// [`Failure`] when the survey or the table cannot be read, a row cannot be, or the survey cannot be saved; then nothing is changed.
    pub fn changed<T, E: Hint + std::fmt::Display>(
        &self,
        output: &Output,
        usual: fn() -> T,
        read: impl Fn(&Table) -> Result<T, E>,
        (edit, saved_with): (fn(&T) -> Edit, impl Fn(&T) -> String),
    ) -> Result<(Survey, String), Failure> {
        let stamp = Stamp::of(&self.survey);
        let mut survey = store::load(&self.survey, Parts::EVERYTHING, output)?;
        let wanted = match &self.set {
            Some(path) => {
                let table = files::read(path, None, output)?;
                Some(read(&table).map_err(|e| Failure::new(format!("{}: {e}", path.display()), e.hint()))?)
            }
            None => self.usual.then(usual),
        };
        let Some(wanted) = wanted else { return Ok((survey, String::new())) };
        store::apply(&mut survey, edit(&wanted))?;
        store::save_over(&survey, &self.survey, stamp, output)?;
        Ok((survey, format!("{} is saved with {}.\n", self.survey.display(), saved_with(&wanted))))
    }
}
