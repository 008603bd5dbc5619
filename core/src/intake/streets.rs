//! Street rows into centrelines.

use super::cells::Reason;
use super::ground::{Fate, Ground};
use super::premises::{SAME, compare_outlines, same_outline};
use super::report::Account;
use super::{IntakeError, Match, Role};
use crate::files::Table;
use crate::place::{Bounds, BoxIndex, ShapeView, Shapes, hilbert};
use crate::survey::{StreetClass, Streets, Strings};
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
    Ok(Both { old, kept: &kept, names: &names, classes, levels, ground }.in_order(account))
}

/// A level as files write it; what is no number is on the ground.
fn level(cell: &str) -> i8 {
    // A level beyond what a byte holds is no level of a street; the conversion keeps it at the edge.
    cell.trim().parse::<f64>().map_or(0, |n| n.round() as i8)
}

struct Both<'a> {
    old: &'a Streets,
    kept: &'a [usize],
    names: &'a Strings,
    classes: Option<Vec<StreetClass>>,
    levels: Option<Vec<i8>>,
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

    fn in_order(&self, account: &mut Account) -> Streets {
        let mut all: Vec<From> = (0..self.kept.len()).map(From::New).collect();
        all.extend(self.old_ones(account).into_iter().map(From::Old));
        let centre = |f: From| self.line(f).map(|l| l.bounds().centre());
        let extent = all.iter().filter_map(|&f| centre(f)).fold(Bounds::EMPTY, Bounds::with);
        let mut keyed: Vec<(u32, From)> = all.into_iter().map(|f| (centre(f).map_or(u32::MAX, |p| hilbert(p, &extent)), f)).collect();
        keyed.sort_by(|a, b| {
            let same_place = || compare_outlines(self.line(a.1), self.line(b.1)).then_with(|| self.name(a.1).cmp(self.name(b.1)));
            a.0.cmp(&b.0).then_with(same_place)
        });
        let mut line = Shapes::with_capacity(keyed.len(), keyed.len() * 4);
        for &(_, from) in &keyed {
            match self.line(from) {
                Some(view) => line.push_view(view),
                None => line.end_shape(),
            }
        }
        Streets {
            name: Arc::new(keyed.iter().map(|k| self.name(k.1)).collect()),
            line: Arc::new(line),
            class: self.column(&keyed, &self.old.class, self.classes.as_deref()),
            level: self.column(&keyed, &self.old.level, self.levels.as_deref()),
        }
    }

    /// Centrelines of the survey that the file does not hold.
    fn old_ones(&self, account: &mut Account) -> Vec<usize> {
        if self.old.is_empty() {
            return Vec::new();
        }
        let index = BoxIndex::new(self.old.line.bounds());
        let mut in_file = vec![false; self.old.len()];
        for line in (0..self.kept.len()).filter_map(|j| self.line(From::New(j))) {
            let mut found = None;
            index.each_touching(&line.bounds().grown(SAME), |i| {
                if found.is_none() && !in_file[i] && same_outline(self.old.line.get(i), line) {
                    found = Some(i);
                }
            });
            if let Some(i) = found {
                in_file[i] = true;
            }
        }
        let out: Vec<usize> = (0..self.old.len()).filter(|&i| !in_file[i]).collect();
        account.notice(format!("{} centrelines of the survey are in the file too; {} others stay", self.old.len() - out.len(), out.len()));
        out
    }
}
