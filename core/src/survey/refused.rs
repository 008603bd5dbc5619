//! What did not come in, and what did.

/// A row of a file that could not be brought in. Nothing of it is lost.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct RefusedRow {
    /// The file's name, without its folders.
    pub file: Box<str>,
    /// What the row should have become: "parcels", "visits" and so on.
    pub table: Box<str>,
    /// The row's number in the file, the first one being 1 (a header line is not counted).
    pub row: u64,
    /// Why, in a sentence.
    pub reason: Box<str>,
    /// The row's cells as they were: name of the column and text.
    pub cells: Vec<(Box<str>, Box<str>)>,
}

/// One file brought in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IntakeEntry {
    /// The file's name, without its folders.
    pub file: Box<str>,
    /// What its rows became: "parcels", "visits" and so on.
    pub table: Box<str>,
    /// Rows read, those of a day's sheet left aside that nobody wrote anything into.
    pub rows: u64,
    /// Rows brought in; the rest were refused.
    pub kept: u64,
    /// What was noticed, in sentences.
    pub findings: Vec<Box<str>>,
}
