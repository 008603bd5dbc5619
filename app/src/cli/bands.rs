//! `yardring bands SURVEY`: the bands that the district reads its indices by.

use super::kept_table::KeptTable;
use super::sheet::{Head, aligned, objects};
use super::{Done, Failure, Output};
use crate::tables;
use clap::Args;
use serde_json::json;
use yardring_core::files::{Table, write_features};
use yardring_core::measure::{CONVENTION, Programmes};
use yardring_core::store::Edit;

/// The bands that programmes read indices by, such as "risk" from a house index of 4. Conventions, not biology; the office edits them. Maps
/// of the house index are coloured by the first scheme that reads it.
#[derive(Debug, Args)]
pub struct Bands {
    #[command(flatten)]
    table: KeptTable,
}

impl Bands {
    /// Lists the table, writes it, or takes another.
    ///
    /// # Errors
    /// [`Failure`] when the survey or the table cannot be read, a row cannot be, or a file cannot be written; then nothing is changed.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let read = |table: &Table| Programmes::from_rows(&table.columns, table.rows, |row, column| table.cell(row, column));
        let saved_with = |wanted: &Programmes| format!("these {} schemes", wanted.schemes().len());
        let (survey, mut words) = self.table.changed(output, Programmes::usual, read, (Edit::bands, saved_with))?;
        let programmes = Programmes::of(&survey);
        let rows = tables::bands(&programmes);
        match &self.table.out {
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

fn listed(programmes: &Programmes) -> String {
    let heads = [Head::Left("Scheme"), Head::Left("Index, per 100"), Head::Left("From"), Head::Left("Read as")];
    let rows = programmes.schemes().iter().flat_map(|s| {
        let band = |i: usize| vec![s.name.to_string(), s.index.word().to_owned(), s.limits(i), s.bands[i].1.to_string()];
        (0..s.bands.len()).map(band).collect::<Vec<_>>()
    });
    aligned(&heads, &rows.collect::<Vec<_>>()) + CONVENTION + "\n"
}
