//! Parcel rows into premises.

use super::cells::{self, Reason};
use super::ground::{Fate, Ground};
use super::parts::Together;
use super::report::{Account, Report};
use super::settle::DecidedIds;
use super::text_index::TextIndex;
use super::{IntakeError, Match, Role};
use crate::files::Table;
use crate::job::Watch;
use crate::place::{ShapeView, Shapes};
use crate::survey::Strings;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Rows sorted between two looks at the watch.
const LOOKED_AT_ONCE: usize = 65_536;

/// Rows whose columns one thread reads at a time.
const READ_AT_ONCE: usize = 4096;

/// The kept rows of a parcel file, in file order.
pub(super) struct NewPremises {
    /// The rows of the file, the first one being 0.
    rows: Vec<u32>,
    ground: Ground,
    pub parcel_id: Strings,
    pub address: Strings,
    pub block_name: Strings,
    /// No row where the file has no such column.
    pub land_use: Strings,
    /// No row where the file has no such column.
    pub year_built: Vec<u16>,
    /// The ids are numbers given by the file's order.
    pub numbered: bool,
    /// The outlines of rows that stand for several with the same id, by their place among the kept rows.
    in_parts: BTreeMap<usize, Shapes>,
}

impl NewPremises {
    /// Keeps what can be kept and refuses the rest.
    pub(super) fn from_rows(
        table: &Table,
        matched: &Match,
        ground: Ground,
        first: usize,
        account: &mut Account,
        watch: &dyn Watch,
    ) -> Result<Self, IntakeError> {
        let id_column = matched.column("parcel_id");
        let rows = keep(table, id_column, &ground, account, watch)?;
        if !rows.iter().any(|&r| ground.shape(r as usize).is_some()) {
            return Err(nothing_usable(table, account));
        }
        ground.tell(account);
        let column = |meaning: &str| matched.column(meaning);
        let wanted = [id_column, column("address"), column("block_id"), column("land_use"), column("year_built")];
        watch.step("reading columns", 0, 0)?;
        let [parcel_id, address, block_name, land_use, years] = texts(table, wanted, &rows);
        let numbers = || (first..first + rows.len()).map(|n| n.to_string()).collect();
        let parcel_id = if id_column.is_some() { parcel_id } else { numbers() };
        watch.step("reading columns", 1, 1)?;
        if id_column.is_none() {
            let to = first + rows.len().saturating_sub(1);
            account.notice(format!("The file has no column with a parcel id; its premises are numbered in file order, {first} to {to}"));
        }
        let block_name = if block_name.is_empty() { blank(rows.len()) } else { block_name };
        let address = if address.is_empty() { blank(rows.len()) } else { address };
        let year_built = year_column(&years, &rows, account);
        Ok(Self {
            rows,
            ground,
            parcel_id,
            address,
            block_name,
            land_use,
            year_built,
            numbered: id_column.is_none(),
            in_parts: BTreeMap::new(),
        })
    }

    /// No row at all.
    pub(super) fn none() -> Self {
        Self {
            rows: Vec::new(),
            ground: Ground::nothing(0),
            parcel_id: Strings::default(),
            address: Strings::default(),
            block_name: Strings::default(),
            land_use: Strings::default(),
            year_built: Vec::new(),
            numbered: false,
            in_parts: BTreeMap::new(),
        }
    }

    /// Makes one of rows with the same id where somebody has decided that they are one premise in parts.
    pub(super) fn unite(&mut self, decided: &DecidedIds, account: &mut Account) {
        if decided.unite_nothing() || self.numbered {
            return;
        }
        let area = |i: usize| self.outline(i).map_or(0.0, ShapeView::area);
        let together = Together::of(&self.parcel_id, |id| decided.one(id), area);
        let kept = together.kept();
        if kept.len() == self.len() {
            return;
        }
        let rows = self.len() - kept.len() + together.groups().count();
        account.notice(format!(
            "{rows} rows with a repeated parcel id came in as {} premises in parts, as was decided",
            together.groups().count()
        ));
        let drawn = |(at, row): (usize, &u32)| Some((at, together.outline(*row, |i| self.outline(i))?));
        self.in_parts = kept.iter().enumerate().filter_map(drawn).collect();
        self.rows = kept.iter().map(|&row| self.rows[row as usize]).collect();
        self.year_built = together.years(&self.year_built, &kept);
        for column in [&mut self.parcel_id, &mut self.address, &mut self.block_name, &mut self.land_use] {
            *column = together.texts(column, &kept);
        }
    }

    pub(super) fn len(&self) -> usize {
        self.rows.len()
    }

    /// The outline of a kept row.
    pub(super) fn outline(&self, i: usize) -> Option<ShapeView<'_>> {
        match self.in_parts.get(&i) {
            Some(parts) => Some(parts.get(0)).filter(|o| !o.is_empty()),
            None => self.ground.shape(self.rows[i] as usize),
        }
    }

    /// The row of the file, the first one being 0.
    pub(super) fn row(&self, i: usize) -> usize {
        self.rows[i] as usize
    }

    /// Enters the counts into the report and tells about repeats.
    pub(super) fn count(&self, rows: usize, report: &mut Report, account: &mut Account) {
        report.rows = rows;
        report.premises = self.len();
        report.refused = rows - self.len();
        report.without_outline = (0..self.len()).filter(|&i| self.outline(i).is_none()).count();
        report.mended = self.ground.mended_count();
        report.area_m2 =
            (0..self.len()).into_par_iter().map(|i| self.outline(i).map_or(0.0, ShapeView::area)).collect::<Vec<_>>().iter().sum();
        let index = TextIndex::new(&self.parcel_id);
        report.duplicates = index.repeats();
        for group in index.groups().filter(|g| g.len() > 1) {
            for &(_, i) in &group[1..] {
                account.notice_row("The parcel id repeats an earlier row's; it stays a premise of its own", self.row(i as usize));
            }
        }
        for i in (0..self.len()).filter(|&i| self.outline(i).is_none()) {
            account.notice_row("Rows with an id and no outline were kept as premises without an outline", self.row(i));
        }
    }
}

/// The rows to keep: with a usable outline, or without any but with an id.
fn keep(
    table: &Table,
    id_column: Option<usize>,
    ground: &Ground,
    account: &mut Account,
    watch: &dyn Watch,
) -> Result<Vec<u32>, IntakeError> {
    let mut rows = Vec::with_capacity(table.rows);
    for row in 0..table.rows {
        if row.is_multiple_of(LOOKED_AT_ONCE) {
            watch.step("sorting rows", row as u64, table.rows as u64)?;
        }
        let refusal = match ground.fate(row) {
            Fate::Usable | Fate::Mended => None,
            Fate::Unusable => Some(ground.reason(row)),
            Fate::Nothing | Fate::Vanished if id_column.is_some_and(|c| !table.cell(row, c).is_empty()) => None,
            Fate::Nothing => Some(Reason::new("it has neither an outline nor a parcel id")),
            Fate::Vanished => Some(Reason::new("its outline has no area, and it has no parcel id")),
        };
        match refusal {
            Some(reason) => account.refuse(table, row, &reason),
            None => rows.push(row as u32),
        }
    }
    Ok(rows)
}

fn nothing_usable(table: &Table, account: &Account) -> IntakeError {
    let reason = account.commonest_reason().unwrap_or("no row has an outline").to_owned();
    let reason = if table.rows == 0 { "the file has no row".to_owned() } else { reason };
    IntakeError::NothingUsable { file: account.report.file.clone(), role: Role::Parcels, rows: table.rows, reason }
}

/// Some columns of a table, no row of those that it has not; all cells of a row are read while it is at hand.
fn texts<const N: usize>(table: &Table, columns: [Option<usize>; N], rows: &[u32]) -> [Strings; N] {
    let stretch = |rows: &[u32]| {
        let mut own = columns.map(|c| c.map_or_else(Strings::default, |_| Strings::with_capacity(rows.len(), rows.len() * 16)));
        for &row in rows {
            for (out, column) in own.iter_mut().zip(columns) {
                column.into_iter().for_each(|c| out.push(&table.cell(row as usize, c)));
            }
        }
        own
    };
    let parts: Vec<[Strings; N]> = rows.par_chunks(READ_AT_ONCE).map(stretch).collect();
    std::array::from_fn(|k| Strings::joined(parts.iter().map(|part| &part[k])))
}

fn blank(rows: usize) -> Strings {
    (0..rows).map(|_| "").collect()
}

/// Years as numbers; 0 where there is none.
fn year_column(texts: &Strings, rows: &[u32], account: &mut Account) -> Vec<u16> {
    let mut out = Vec::with_capacity(texts.len());
    for (text, &row) in texts.iter().zip(rows) {
        let year = year(text);
        if year.is_none() {
            account.notice_row("The year built cannot be read and was left off", row as usize);
        }
        out.push(year.unwrap_or(0));
    }
    out
}

/// A year from 1500 to 2200; 0 for a blank cell or a zero.
fn year(text: &str) -> Option<u16> {
    let first = text.get(..4).filter(|_| text.as_bytes().get(4) == Some(&b'-')).unwrap_or(text);
    match cells::whole(first, "") {
        Ok(None | Some(0)) => Some(0),
        Ok(Some(year)) if (1500..=2200).contains(&year) => u16::try_from(year).ok(),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn years_come_as_numbers_and_as_dates() {
        assert_eq!(
            [year("1937"), year("1937.0"), year("1937-01-01"), year(""), year("0")],
            [Some(1937), Some(1937), Some(1937), Some(0), Some(0)]
        );
        assert_eq!([year("unknown"), year("37"), year("99999")], [None; 3]);
    }
}
