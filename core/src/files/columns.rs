//! Columns that turn up while rows are read.

use super::Cells;
use crate::survey::Strings;
use std::borrow::Cow;
use std::collections::HashMap;

/// Empty cells that are set aside for columns that turn up late: 256 MB of them.
pub(super) const ROOM: usize = 64 << 20;

/// Columns of text, in the order in which their names turn up. A column is as long as its last filled row.
#[derive(Debug)]
pub(super) struct Columns {
    names: Vec<String>,
    numbers: HashMap<String, usize>,
    cells: Vec<Strings>,
    rows: usize,
    guess: usize,
    room: usize,
    left_out: usize,
}

impl Columns {
    /// No column yet, and room for some empty cells.
    pub fn with_room(room: usize) -> Self {
        Self { names: Vec::new(), numbers: HashMap::new(), cells: Vec::new(), rows: 0, guess: 0, room, left_out: 0 }
    }

    /// Columns whose names are known beforehand.
    pub fn named(names: Vec<String>, room: usize) -> Self {
        let cells = names.iter().map(|_| Strings::default()).collect();
        Self { numbers: names.iter().cloned().zip(0..).collect(), names, cells, ..Self::with_room(room) }
    }

    /// Begins the next row.
    pub fn next_row(&mut self) {
        self.rows += 1;
        self.guess = 0;
    }

    /// Sets a cell of the row that was begun last; the first text of a name counts.
    pub fn set(&mut self, name: &str, text: &str) {
        let column = self.column(name);
        self.guess = column + 1;
        self.put(column, text);
    }

    /// Sets a cell by the number of its column.
    pub fn put(&mut self, column: usize, text: &str) {
        let text = text.trim();
        if !text.is_empty() && self.pad(column, self.rows - 1) && self.cells[column].len() < self.rows {
            self.cells[column].push(text);
        }
    }

    /// Fills a column up with empty cells; false when there is no room for so many.
    fn pad(&mut self, column: usize, rows: usize) -> bool {
        let missing = rows.saturating_sub(self.cells[column].len());
        if missing > self.room {
            self.left_out += 1;
            return false;
        }
        self.room -= missing;
        (0..missing).for_each(|_| self.cells[column].push(""));
        true
    }

    /// The number of a column; most rows name them in the same order.
    fn column(&mut self, name: &str) -> usize {
        if self.names.get(self.guess).is_some_and(|n| n == name) {
            return self.guess;
        }
        if let Some(&known) = self.numbers.get(name) {
            return known;
        }
        self.numbers.insert(name.to_owned(), self.names.len());
        self.names.push(name.to_owned());
        self.cells.push(Strings::default());
        self.names.len() - 1
    }

    /// Adds the rows of another piece of the same table.
    pub fn append(&mut self, other: Self) {
        for (i, (name, cells)) in other.names.iter().zip(&other.cells).enumerate() {
            self.guess = i;
            let column = self.column(name);
            if self.pad(column, if cells.is_empty() { 0 } else { self.rows }) {
                cells.iter().for_each(|text| self.cells[column].push(text));
            }
        }
        self.rows += other.rows;
        self.left_out += other.left_out;
    }

    /// The names and the cells; a note tells when some had to be left out.
    pub fn into_cells(self, notes: &mut Vec<String>) -> (Vec<String>, Gathered) {
        if self.left_out > 0 {
            let (columns, rows) = (self.names.len(), self.rows);
            notes.push(format!("{} cells were left out: {columns} columns in {rows} rows are too many", self.left_out));
        }
        (self.names, Gathered(self.cells))
    }
}

/// Cells in columns, each as long as its last filled row.
#[derive(Debug)]
pub(super) struct Gathered(Vec<Strings>);

impl Cells for Gathered {
    fn cell(&self, row: usize, column: usize) -> Cow<'_, str> {
        let cells = &self.0[column];
        Cow::Borrowed(if row < cells.len() { cells.get(row) } else { "" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_with_other_columns_join_row_by_row() {
        let mut first = Columns::with_room(9);
        first.next_row();
        first.set("a", "1");
        first.set("a", "again");
        first.next_row();
        let mut second = Columns::with_room(9);
        second.next_row();
        second.set("b", "2");
        second.set("a", "3");
        first.append(second);
        let mut notes = Vec::new();
        let (names, cells) = first.into_cells(&mut notes);
        assert_eq!((names.join(" "), notes.len()), ("a b".to_owned(), 0));
        let column = |c| (0..3).map(|r| cells.cell(r, c).into_owned()).collect::<Vec<_>>();
        assert_eq!((column(0), column(1)), (vec!["1".to_owned(), "".into(), "3".into()], vec!["".to_owned(), "".into(), "2".into()]));
    }

    #[test]
    fn a_new_column_in_every_row_fills_the_room_and_no_more() {
        let mut columns = Columns::with_room(100);
        for row in 0..1000 {
            columns.next_row();
            columns.set(&row.to_string(), "x");
        }
        let mut notes = Vec::new();
        let (names, cells) = columns.into_cells(&mut notes);
        assert_eq!((names.len(), notes.len(), cells.0.iter().map(Strings::len).sum::<usize>()), (1000, 1, 91 + 14));
    }
}
