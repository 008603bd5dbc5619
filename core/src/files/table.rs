//! What every format is read into: named columns of text and one shape a row.

use crate::place::{Crs, RawShapes};
use crate::survey::Strings;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

/// What kind of shape a row has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ShapeKind {
    /// None at all, or an empty one.
    Nothing,
    /// One place, or several.
    Point,
    /// A run of places, or several.
    Line,
    /// Rings that bound ground.
    Polygon,
    /// One that could not be read; [`Table::unusable`] says why.
    Unusable,
}

/// Cells of a table that decode themselves when they are asked for, so that a wide file costs no more than what is used.
pub trait Cells: Send + Sync + fmt::Debug {
    /// One cell as text, without the blanks round it; empty where there is none.
    fn cell(&self, row: usize, column: usize) -> Cow<'_, str>;
}

impl Cells for Vec<Strings> {
    fn cell(&self, row: usize, column: usize) -> Cow<'_, str> {
        Cow::Borrowed(self[column].get(row))
    }
}

/// One layer of a file.
#[derive(Debug)]
pub struct Table {
    /// The layer's name; for a file of one layer the file's name without its ending.
    pub name: String,
    /// The coordinate system that the file names, if it names one.
    pub crs: Option<Crs>,
    /// Names of the columns, in file order.
    pub columns: Vec<String>,
    /// How many rows there are.
    pub rows: usize,
    /// The cells.
    pub cells: Box<dyn Cells>,
    /// What kind of shape each row has; empty for a table without shapes.
    pub kinds: Vec<ShapeKind>,
    /// The shapes in the file's own coordinates, one a row; empty for a table without shapes.
    pub shapes: RawShapes,
    /// Why a row's shape could not be read, by row.
    pub unusable: BTreeMap<usize, String>,
    /// What was noticed about the file as a whole, in sentences.
    pub notes: Vec<String>,
}

impl Table {
    /// A table without columns, rows or shapes.
    pub fn empty(name: String) -> Self {
        Self {
            name,
            crs: None,
            columns: Vec::new(),
            rows: 0,
            cells: Box::new(Vec::new()),
            kinds: Vec::new(),
            shapes: RawShapes::default(),
            unusable: BTreeMap::new(),
            notes: Vec::new(),
        }
    }

    /// Whether rows have shapes at all.
    pub fn has_shapes(&self) -> bool {
        !self.kinds.is_empty()
    }

    /// The number of a column, whatever the case of its name.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|c| c == name).or_else(|| self.columns.iter().position(|c| c.eq_ignore_ascii_case(name)))
    }

    /// One cell as text, without the blanks round it.
    pub fn cell(&self, row: usize, column: usize) -> Cow<'_, str> {
        self.cells.cell(row, column)
    }

    /// All cells of a row with the names of their columns, as refused rows keep them.
    pub fn whole_row(&self, row: usize) -> Vec<(Box<str>, Box<str>)> {
        (0..self.columns.len()).map(|c| (self.columns[c].as_str().into(), self.cell(row, c).into())).collect()
    }
}
