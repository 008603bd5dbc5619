//! Refused visit rows read once more, as if they were a file of their own.

use crate::files::Table;
use crate::intake::ground::Ground;
use crate::intake::points::Points;
use crate::intake::remembered::FilesSeen;
use crate::intake::report::Account;
use crate::intake::visits::VisitFile;
use crate::intake::{IntakeError, Match, Role};
use crate::survey::{Strings, Survey};
use std::collections::BTreeMap;

/// The refused visit rows of one file.
pub(super) struct Sheet {
    /// Their places among the survey's refused rows, rising; row `i` of the table is the `i`-th of them.
    pub refused: Vec<usize>,
    /// The rows; the table has the file's name.
    pub table: Table,
}

/// The refused visit rows of a survey, file by file.
pub(super) fn sheets(survey: &Survey) -> Vec<Sheet> {
    let mut by_file: BTreeMap<(&str, Vec<&str>), Vec<usize>> = BTreeMap::new();
    for (i, row) in survey.refused.iter().enumerate().filter(|(_, r)| &*r.table == Role::Visits.name()) {
        by_file.entry((&*row.file, row.cells.iter().map(|c| &*c.0).collect())).or_default().push(i);
    }
    by_file.into_iter().map(|((file, columns), refused)| sheet(survey, file, &columns, refused)).collect()
}

fn sheet(survey: &Survey, file: &str, columns: &[&str], refused: Vec<usize>) -> Sheet {
    let cells: Vec<Strings> = (0..columns.len()).map(|c| refused.iter().map(|&i| &*survey.refused[i].cells[c].1).collect()).collect();
    let mut table = Table::empty(file.to_owned());
    table.columns = columns.iter().map(|c| (*c).to_owned()).collect();
    table.rows = refused.len();
    table.cells = Box::new(cells);
    Sheet { refused, table }
}

impl Sheet {
    /// Reads the rows with the columns that the file was read with.
    pub(super) fn read<T>(&self, survey: &Survey, then: impl FnOnce(&VisitFile<'_>) -> T) -> Result<T, IntakeError> {
        let seen = FilesSeen::of(survey);
        let map = seen.map_for(&self.table.name, Role::Visits, &self.table.columns).unwrap_or_default();
        let matched = Match::of(&self.table, Role::Visits, &map)?;
        let ground = Ground::nothing(self.table.rows);
        let points = Points::new(&self.table, &matched, &ground, &survey.frame);
        let mut account = Account::new(&self.table.name, &self.table, Role::Visits, &[]);
        let order = map.date_order(Role::Visits).or_else(|| seen.order_of(&self.table.name));
        Ok(then(&VisitFile::of(&self.table, &matched, &points, order, &mut account)))
    }
}
