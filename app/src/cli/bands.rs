//! `yardring bands SURVEY`: the bands that the district reads its indices by.

use super::sheet::{Head, aligned, objects};
use super::{Done, Failure, Output};
use crate::tables;
use clap::Args;
use serde_json::json;
use std::path::{Path, PathBuf};
use yardring_core::error::Hint;
use yardring_core::files::{self, write_features};
use yardring_core::measure::{CONVENTION, Programmes};
use yardring_core::store::{self, Edit, Parts, Stamp};

/// The bands that programmes read indices by, such as "risk" from a house index of 4. Conventions, not biology; the office edits them. Maps
/// of the house index are coloured by the first scheme that reads it.
#[derive(Debug, Args)]
pub struct Bands {
    /// The survey.
    survey: PathBuf,
    /// Write the table to this file, to be edited in a spreadsheet.
    #[arg(long, value_name = "F.csv")]
    out: Option<PathBuf>,
    /// Take the table from this file in place of the one there is.
    #[arg(long, value_name = "F.csv", conflicts_with_all = ["out", "usual"])]
    set: Option<PathBuf>,
    /// Go back to the usual schemes.
    #[arg(long, conflicts_with = "out")]
    usual: bool,
}

impl Bands {
    /// Lists the table, writes it, or takes another.
    ///
    /// # Errors
    /// [`Failure`] when the survey or the table cannot be read, a row cannot be, or a file cannot be written; then nothing is changed.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let stamp = Stamp::of(&self.survey);
        let mut survey = store::load(&self.survey, Parts::EVERYTHING, output)?;
        let wanted = match (&self.set, self.usual) {
            (Some(path), _) => Some(read(path, output)?),
            (None, true) => Some(Programmes::usual()),
            (None, false) => None,
        };
        let mut words = String::new();
        if let Some(wanted) = &wanted {
            store::apply(&mut survey, Edit::bands(wanted))?;
            store::save_over(&survey, &self.survey, stamp, output)?;
            words = format!("{} is saved with these {} schemes.\n", self.survey.display(), wanted.schemes().len());
        }
        let programmes = Programmes::of(&survey);
        let rows = tables::bands(&programmes);
        match &self.out {
            Some(path) => {
                write_features(&rows, path, output)?;
                words.push_str(&format!("{} bands written to {}\n", rows.rows(), path.display()));
            }
            None => words.push_str(&listed(&programmes)),
        }
        output.clear_progress();
        output.answer(&words, || json!({ "bands": objects(rows.columns(), rows.rows()), "method": CONVENTION }));
        Ok(Done::Clean)
    }
}

fn read(path: &Path, output: &Output) -> Result<Programmes, Failure> {
    let table = files::read(path, None, output)?;
    let found = Programmes::from_rows(&table.columns, table.rows, |row, column| table.cell(row, column));
    found.map_err(|e| Failure::new(format!("{}: {e}", path.display()), e.hint()))
}

fn listed(programmes: &Programmes) -> String {
    let heads = [Head::Left("Scheme"), Head::Left("Index, per 100"), Head::Left("From"), Head::Left("Read as")];
    let rows = programmes.schemes().iter().flat_map(|s| {
        let band = |i: usize| vec![s.name.to_string(), s.index.word().to_owned(), s.limits(i), s.bands[i].1.to_string()];
        (0..s.bands.len()).map(band).collect::<Vec<_>>()
    });
    aligned(&heads, &rows.collect::<Vec<_>>()) + CONVENTION + "\n"
}
