//! `yardring containers SURVEY`: what the district knows about kinds of container.

use super::kept_table::KeptTable;
use super::sheet::{Head, aligned, objects};
use super::{Done, Failure, Output};
use crate::tables;
use clap::Args;
use serde_json::json;
use yardring_core::files::{Table, write_features};
use yardring_core::store::Edit;
use yardring_core::survey::{ContainerKnowledge, Survey};

/// What the district knows about kinds of container: whether they can be tipped, what to do, who must act, what to say. It
/// decides which finds stay open. Common practice to begin with, no source; the office edits it.
#[derive(Debug, Args)]
pub struct Containers {
    #[command(flatten)]
    table: KeptTable,
}

impl Containers {
    /// Lists the table, writes it, or takes another.
    ///
    /// # Errors
    /// [`Failure`] when the survey or the table cannot be read, a cell cannot be, or a file cannot be written; then nothing is
    /// changed.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let read = |table: &Table| ContainerKnowledge::from_rows(&table.columns, table.rows, |row, column| table.cell(row, column));
        let saved_with = |wanted: &ContainerKnowledge| format!("this table of {} kinds", wanted.kinds().len());
        let (survey, mut words) = self.table.changed(output, ContainerKnowledge::usual, read, (Edit::containers, saved_with))?;
        let known = ContainerKnowledge::of(&survey);
        let rows = tables::containers(&known);
        let missing = missing(&survey, &known);
        match &self.table.out {
            Some(path) => {
                write_features(&rows, path, output)?;
                words.push_str(&format!("{} kinds written to {}\n", rows.rows(), path.display()));
            }
            None => words.push_str(&listed(&known)),
        }
        if !missing.is_empty() {
            words.push_str(&format!("Found in visits, but not in the table: {}\n", missing.join(", ")));
        }
        output.clear_progress();
        output.answer(&words, || json!({ "kinds": objects(rows.columns(), rows.rows()), "not_in_the_table": missing }));
        Ok(if missing.is_empty() { Done::Clean } else { Done::Warned })
    }
}

/// Kinds found in visits of which the table says nothing.
fn missing<'a>(survey: &'a Survey, known: &ContainerKnowledge) -> Vec<&'a str> {
    survey.kinds.iter().map(|k| &**k).filter(|k| known.what_to_do(k).is_none()).collect()
}

fn listed(known: &ContainerKnowledge) -> String {
    let heads = [Head::Left("Kind"), Head::Left("Can be tipped"), Head::Left("Upside down"), Head::Left("What to do"), Head::Left("Who")];
    let row = |k: &yardring_core::survey::KnownContainer| {
        vec![
            k.kind.to_string(),
            if k.can_be_tipped { "yes" } else { "no" }.to_owned(),
            if k.holds_upside_down { "still holds water" } else { "" }.to_owned(),
            k.to_do_words(),
            k.who.word().to_owned(),
        ]
    };
    aligned(&heads, &known.kinds().iter().map(row).collect::<Vec<_>>())
        + "Common practice, no source, unless the table's last column says more. --out kinds.csv writes all columns.\n"
}
