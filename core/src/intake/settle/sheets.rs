//! Refused rows of visits and signals read once more, as if they were a file of their own.

use super::Decisions;
use crate::files::Table;
use crate::intake::dates::Days;
use crate::intake::ground::Ground;
use crate::intake::join::Finder;
use crate::intake::points::Points;
use crate::intake::remembered::FilesSeen;
use crate::intake::signals::SignalFile;
use crate::intake::visits::VisitFile;
use crate::intake::{IntakeError, Match, Role};
use crate::survey::{Strings, Survey};
use std::collections::BTreeMap;

/// What can be settled.
const SETTLED: [Role; 2] = [Role::Visits, Role::Signals];

/// The refused rows of one file and role.
pub(super) struct Sheet {
    /// What its rows should have become.
    pub role: Role,
    /// Their places among the survey's refused rows, rising; row `i` of the table is the `i`-th of them.
    pub refused: Vec<usize>,
    /// The rows; the table has the file's name.
    pub table: Table,
}

/// The refused rows of visits and signals of a survey, file by file.
pub(super) fn sheets(survey: &Survey) -> Vec<Sheet> {
    let mut by_file: BTreeMap<(Role, &str, Vec<&str>), Vec<usize>> = BTreeMap::new();
    for (i, row) in survey.refused.iter().enumerate() {
        if let Some(role) = SETTLED.into_iter().find(|r| r.name() == &*row.table) {
            by_file.entry((role, &*row.file, row.cells.iter().map(|c| &*c.0).collect())).or_default().push(i);
        }
    }
    by_file.into_iter().map(|((role, file, columns), refused)| sheet(survey, (role, file), &columns, refused)).collect()
}

fn sheet(survey: &Survey, (role, file): (Role, &str), columns: &[&str], refused: Vec<usize>) -> Sheet {
    let cells: Vec<Strings> = (0..columns.len()).map(|c| refused.iter().map(|&i| &*survey.refused[i].cells[c].1).collect()).collect();
    let mut table = Table::empty(file.to_owned());
    table.columns = columns.iter().map(|c| (*c).to_owned()).collect();
    table.rows = refused.len();
    table.cells = Box::new(cells);
    Sheet { role, refused, table }
}

impl Sheet {
    /// Reads the rows of visits with the columns that the file was read with.
    pub(super) fn read_visits<T>(&self, survey: &Survey, then: impl FnOnce(&VisitFile<'_>) -> T) -> Result<T, IntakeError> {
        let seen = FilesSeen::of(survey);
        let map = seen.map_as_read(&self.table.name, self.role, &self.table.columns);
        let matched = Match::of(&self.table, self.role, &map)?;
        let ground = Ground::nothing(self.table.rows);
        let points = Points::new(&self.table, &matched, &ground, &survey.frame);
        let order = map.date_order(self.role).or_else(|| seen.order_of(&self.table.name));
        Ok(then(&VisitFile::of(&self.table, &matched, &points, (order, map.words()))))
    }

    /// Reads the rows of signals in the same way.
    pub(super) fn read_signals<T>(
        &self,
        survey: &Survey,
        (finder, decisions): (&Finder<'_>, &Decisions),
        then: impl FnOnce(&SignalFile<'_>) -> T,
    ) -> Result<T, IntakeError> {
        let seen = FilesSeen::of(survey);
        let map = seen.map_as_read(&self.table.name, self.role, &self.table.columns);
        let matched = Match::of(&self.table, self.role, &map)?;
        let ground = Ground::nothing(self.table.rows);
        let points = Points::new(&self.table, &matched, &ground, &survey.frame);
        let order = map.date_order(self.role).or_else(|| seen.order_of(&self.table.name));
        Ok(then(&SignalFile {
            table: &self.table,
            matched: &matched,
            points: &points,
            finder,
            premises: &survey.premises,
            days: Days::In(order),
            words: map.words(),
            decisions,
        }))
    }
}
