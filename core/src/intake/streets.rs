//! Street rows into centrelines.

use super::cells::{self, Reason};
use super::ground::{Fate, Ground};
use super::premises::{SAME, compare_outlines, same_outline};
use super::report::Account;
use super::{IntakeError, Match, Role};
use crate::files::Table;
use crate::place::{Bounds, BoxIndex, ShapeView, Shapes, hilbert};
use crate::survey::{Numbers, Ranges, StreetClass, Streets, Strings};
use std::collections::HashSet;
use std::sync::Arc;

/// One centreline on its way into the survey.
#[derive(Clone, Copy)]
enum From {
    Old(usize),
    New(usize),
}

/// Adds the rows that have a line. A line that is there already takes the file's name and is not doubled.
pub(super) fn bring(old: &Streets, table: &Table, matched: &Match, ground: &Ground, account: &mut Account) -> Result<Streets, IntakeError> {
    let name = matched.column("name");
    let mut kept = Vec::with_capacity(table.rows);
    for row in 0..table.rows {
        match ground.fate(row) {
            Fate::Usable | Fate::Mended => kept.push(row),
            Fate::Nothing | Fate::Vanished => account.refuse(table, row, &Reason::new("it has no line")),
            Fate::Unusable => account.refuse(table, row, &ground.reason(row)),
        }
    }
    if kept.is_empty() {
        let reason = account.commonest_reason().unwrap_or("the file has no row").to_owned();
        return Err(IntakeError::NothingUsable { file: account.report.file.clone(), role: Role::Streets, rows: table.rows, reason });
    }
    if name.is_none() {
        account.notice("The file has no column with a street's name");
    }
    let names: Strings = kept.iter().map(|&row| name.map_or_else(Default::default, |c| table.cell(row, c))).collect();
    let classes = matched.column("class").map(|c| kept.iter().map(|&row| StreetClass::of(&table.cell(row, c))).collect());
    let levels = matched.column("level").map(|c| kept.iter().map(|&row| level(&table.cell(row, c))).collect());
    let ranges = ranges(table, matched, &kept, account);
    Ok(Both { old, kept: &kept, names: &names, classes, levels, ranges: &ranges, ground }.in_order(account))
}

/// A level as files write it; what is no number is on the ground.
fn level(cell: &str) -> i8 {
    // A level beyond what a byte holds is no level of a street; the conversion keeps it at the edge.
    cell.trim().parse::<f64>().map_or(0, |n| n.round() as i8)
}

/// House numbers along the kept rows. A side is numbered when both of its ends are; 0 and less are no numbers.
fn ranges(table: &Table, matched: &Match, kept: &[usize], account: &mut Account) -> Vec<Ranges> {
    let mut told = None;
    let mut number = |row: usize, meaning: &str| {
        let cell = matched.column(meaning).map(|c| table.cell(row, c))?;
        if cell.parse::<f64>().is_ok_and(|n| n <= 0.0) {
            return None;
        }
        let read = cells::whole(&cell, meaning);
        if read.is_err() && told.replace(row) != Some(row) {
            account.notice_row("A house number of the street cannot be read; that side was left without numbers", row);
        }
        read.ok().flatten()
    };
    let mut side = |row, from: &str, to: &str| number(row, from).zip(number(row, to)).map(|(from, to)| Numbers { from, to });
    kept.iter().map(|&row| Ranges { left: side(row, "left_from", "left_to"), right: side(row, "right_from", "right_to") }).collect()
}

struct Both<'a> {
    old: &'a Streets,
    kept: &'a [usize],
    names: &'a Strings,
    classes: Option<Vec<StreetClass>>,
    levels: Option<Vec<i8>>,
    ranges: &'a [Ranges],
    ground: &'a Ground,
}

impl<'a> Both<'a> {
    fn line(&self, from: From) -> Option<ShapeView<'a>> {
        match from {
            From::Old(i) => Some(self.old.line.get(i)),
            From::New(j) => self.ground.shape(self.kept[j]),
        }
    }

    fn name(&self, from: From) -> &'a str {
        match from {
            From::Old(i) => self.old.name.get(i),
            From::New(j) => self.names.get(j),
        }
    }

    /// The column of a cell for every centreline in order; empty when neither the survey nor the file has it.
    fn column<T: Copy + Default>(&self, keyed: &[(u32, From)], old: &[T], new: Option<&[T]>) -> Arc<Vec<T>> {
        if old.is_empty() && new.is_none() {
            return Arc::default();
        }
        let cell = |(_, from): &(u32, From)| match *from {
            From::Old(i) => old.get(i),
            From::New(j) => new.and_then(|new| new.get(j)),
        };
        Arc::new(keyed.iter().map(|k| cell(k).copied().unwrap_or_default()).collect())
    }

    /// The file's numbers where it has any, or else those of the same line in the survey.
    fn ranges(&self, from: From, was: &[Option<usize>]) -> Ranges {
        let old = |i: usize| self.old.ranges.get(i).copied().unwrap_or_default();
        match from {
            From::Old(i) => old(i),
            From::New(j) if self.ranges[j] == Ranges::default() => was[j].map(old).unwrap_or_default(),
            From::New(j) => self.ranges[j],
        }
    }

    fn in_order(&self, account: &mut Account) -> Streets {
        let was = self.there_already(account);
        let mut all: Vec<From> = (0..self.kept.len()).map(From::New).collect();
        let taken: HashSet<usize> = was.iter().flatten().copied().collect();
        all.extend((0..self.old.len()).filter(|i| !taken.contains(i)).map(From::Old));
        let centre = |f: From| self.line(f).map(|l| l.bounds().centre());
        let extent = all.iter().filter_map(|&f| centre(f)).fold(Bounds::EMPTY, Bounds::with);
        let mut keyed: Vec<(u32, From)> = all.into_iter().map(|f| (centre(f).map_or(u32::MAX, |p| hilbert(p, &extent)), f)).collect();
        keyed.sort_by(|a, b| {
            let same_place = || {
                compare_outlines(self.line(a.1), self.line(b.1)).then_with(|| {
                    let other = |f: From| (self.name(f), self.ranges(f, &was));
                    other(a.1).cmp(&other(b.1))
                })
            };
            a.0.cmp(&b.0).then_with(same_place)
        });
        let mut line = Shapes::with_capacity(keyed.len(), keyed.len() * 4);
        for &(_, from) in &keyed {
            match self.line(from) {
                Some(view) => line.push_view(view),
                None => line.end_shape(),
            }
        }
        let ranges: Vec<Ranges> = keyed.iter().map(|k| self.ranges(k.1, &was)).collect();
        let numbered = ranges.iter().any(|r| *r != Ranges::default());
        Streets {
            name: Arc::new(keyed.iter().map(|k| self.name(k.1)).collect()),
            line: Arc::new(line),
            class: self.column(&keyed, &self.old.class, self.classes.as_deref()),
            level: self.column(&keyed, &self.old.level, self.levels.as_deref()),
            ranges: Arc::new(if numbered { ranges } else { Vec::new() }),
        }
    }

    /// For each row of the file the centreline of the survey that it is.
    fn there_already(&self, account: &mut Account) -> Vec<Option<usize>> {
        let mut was = vec![None; self.kept.len()];
        if self.old.is_empty() {
            return was;
        }
        let index = BoxIndex::new(self.old.line.bounds());
        let mut in_file = vec![false; self.old.len()];
        for (j, was) in was.iter_mut().enumerate() {
            let Some(line) = self.line(From::New(j)) else { continue };
            index.each_touching(&line.bounds().grown(SAME), |i| {
                if was.is_none() && !in_file[i] && same_outline(self.old.line.get(i), line) {
                    *was = Some(i);
                }
            });
            was.iter().for_each(|&i| in_file[i] = true);
        }
        let there = was.iter().flatten().count();
        account.notice(format!("{there} centrelines of the survey are in the file too; {} others stay", self.old.len() - there));
        was
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples::{lot, table, with_rings};
    use super::super::{ColumnMap, Incoming, Report, bring_in_tables};
    use super::*;
    use crate::job::Unwatched;
    use crate::survey::Survey;

    fn bring(current: Option<&Survey>, files: Vec<(Role, Table)>) -> (Survey, Report) {
        let incoming = files.into_iter().map(|(role, table)| Incoming { role, file: format!("{}.csv", table.name), table }).collect();
        bring_in_tables(current, incoming, &ColumnMap::default(), None, &Unwatched).unwrap()
    }

    fn line(columns: &[&str], rows: &[&[&str]]) -> Table {
        let run = vec![[-90.0, 29.999_9], [-89.999_5, 29.999_9]];
        with_rings(table("streets", columns, rows), &vec![run; rows.len()])
    }

    /// Two lots north of Kettle Lane without addresses; house numbers 2 to 4 along them, odd ones on the other side.
    #[test]
    fn house_numbers_come_in_place_visits_and_outlast_a_file_without_them() {
        let lots = with_rings(table("lots", &["parcel_id"], &[&["A"], &["B"]]), &[lot(0, 0), lot(1, 0)]);
        let numbered = line(&["Label", "L_From", "L_To", "R_From", "R_To"], &[&["Kettle Ln", "2", "4", "0", "x"]]);
        let columns = ["visit_id", "date", "address", "outcome"];
        let rows: &[&[&str]] = &[&["V1", "2025-07-02", "4 Kettle Lane", "refused"], &["V2", "2025-07-02", "3 Kettle Lane", "refused"]];
        let (survey, report) =
            bring(None, vec![(Role::Parcels, lots), (Role::Streets, numbered), (Role::Visits, table("v", &columns, rows))]);
        assert_eq!(*survey.streets.ranges, [Ranges { left: Some(Numbers { from: 2, to: 4 }), right: None }]);
        assert_eq!((report.joined_by_address, report.joined_by_numbers, report.unjoined), (1, 1, 1));
        assert_eq!(survey.premises.parcel_id.get(survey.visits.rows()[0].premise.row()), "B");
        let told = report.in_words();
        assert!(told.contains("house number of the street cannot be read") && told.contains("house numbers of their street"), "{told}");
        let (again, _) = bring(Some(&survey), vec![(Role::Streets, line(&["name"], &[&["Kettle Lane"]]))]);
        assert_eq!((again.streets.name.get(0), &again.streets.ranges), ("Kettle Lane", &survey.streets.ranges));
    }
}
