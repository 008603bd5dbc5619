//! Columns that turn up while rows are read.

use crate::survey::Strings;
use std::collections::HashMap;

/// Columns of text, in the order in which their names turn up.
#[derive(Debug, Default)]
pub(super) struct Columns {
    names: Vec<String>,
    numbers: HashMap<String, usize>,
    cells: Vec<Strings>,
    rows: usize,
    guess: usize,
}

impl Columns {
    /// Columns whose names are known beforehand.
    pub fn named(names: Vec<String>) -> Self {
        let cells = names.iter().map(|_| Strings::default()).collect();
        Self { numbers: names.iter().cloned().zip(0..).collect(), names, cells, rows: 0, guess: 0 }
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
        let cells = &mut self.cells[column];
        pad(cells, self.rows - 1);
        if cells.len() < self.rows {
            cells.push(text.trim());
        }
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
            pad(&mut self.cells[column], self.rows);
            cells.iter().for_each(|text| self.cells[column].push(text));
        }
        self.rows += other.rows;
    }

    /// The names and the cells, each column as long as the table.
    pub fn into_cells(mut self, rows: usize) -> (Vec<String>, Vec<Strings>) {
        self.cells.iter_mut().for_each(|cells| pad(cells, rows));
        (self.names, self.cells)
    }
}

fn pad(cells: &mut Strings, rows: usize) {
    while cells.len() < rows {
        cells.push("");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_with_other_columns_join_row_by_row() {
        let mut first = Columns::default();
        first.next_row();
        first.set("a", "1");
        first.set("a", "again");
        first.next_row();
        let mut second = Columns::default();
        second.next_row();
        second.set("b", "2");
        second.set("a", "3");
        first.append(second);
        let (names, cells) = first.into_cells(3);
        assert_eq!(names, ["a", "b"]);
        assert_eq!(cells[0].iter().collect::<Vec<_>>(), ["1", "", "3"]);
        assert_eq!(cells[1].iter().collect::<Vec<_>>(), ["", "", "2"]);
    }
}
