//! Answers as rows: aligned columns for people, JSON for programs.

use serde_json::{Map, Value};
use yardring_core::brief::words::with_interval;
use yardring_core::files::{Column, Values};
use yardring_core::measure::Interval;

/// How many rows are printed for people; a file gets all.
pub const SHOWN: usize = 20;

/// Rows as JSON objects, null where there is no answer.
pub fn objects(columns: &[Column], rows: usize) -> Vec<Value> {
    let object = |row| Value::Object(columns.iter().map(|c| (c.name.to_owned(), value(c, row))).collect::<Map<_, _>>());
    (0..rows).map(object).collect()
}

fn value(column: &Column, row: usize) -> Value {
    match &column.values {
        Values::Text(texts) if texts.get(row).is_empty() => Value::Null,
        Values::Text(texts) => texts.get(row).into(),
        Values::Whole(v) => v[row].into(),
        Values::Number(v, _) => v[row].into(),
        Values::Day(v) => v[row].map(|day| day.to_string()).into(),
    }
}

/// A share and the ends of its interval, in hundredths: 18 % (11–28).
pub fn share_with_ends(share: f64, (low, high): (f64, f64)) -> String {
    with_interval(Some(100.0 * share), Some(Interval { low, high }.per_hundred()), " %")
}

/// The line that says how many rows were not printed; empty when all were.
pub fn left_out(rows: usize) -> String {
    match rows.saturating_sub(SHOWN) {
        0 => String::new(),
        more => format!("and {more} more; --out FILE.csv writes all\n"),
    }
}

/// The head of a column for people: its title, and the side that its cells lean on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Head<'a> {
    /// Texts.
    Left(&'a str),
    /// Numbers.
    Right(&'a str),
}

impl<'a> Head<'a> {
    fn title(self) -> &'a str {
        match self {
            Self::Left(title) | Self::Right(title) => title,
        }
    }
}

/// Rows in aligned columns.
pub fn aligned(heads: &[Head<'_>], rows: &[Vec<String>]) -> String {
    let width = |s: &str| s.chars().count();
    let widest = |k: usize| rows.iter().map(|r| width(&r[k])).fold(width(heads[k].title()), usize::max);
    let widths: Vec<usize> = (0..heads.len()).map(widest).collect();
    let first: Vec<String> = heads.iter().map(|h| h.title().to_owned()).collect();
    let mut out = String::new();
    for row in std::iter::once(&first).chain(rows) {
        let mut line = String::new();
        for (k, cell) in row.iter().enumerate() {
            let fill = " ".repeat(widths[k] - width(cell));
            match heads[k] {
                Head::Left(_) => line.extend([cell, fill.as_str(), "  "]),
                Head::Right(_) => line.extend([fill.as_str(), cell, "  "]),
            }
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_to_the_right() {
        let rows = [vec!["Quillmere".to_owned(), "9 m".to_owned()], vec!["B".to_owned(), "120 m".to_owned()]];
        assert_eq!(aligned(&[Head::Left("Block"), Head::Right("Far")], &rows), "Block        Far\nQuillmere    9 m\nB          120 m\n");
    }

    #[test]
    fn no_answer_is_null() {
        let columns = [Column::text("a", ["x", ""]), Column::number("b", 2, [None, Some(0.5)])];
        assert_eq!(Value::from(objects(&columns, 2)).to_string(), r#"[{"a":"x","b":null},{"a":null,"b":0.5}]"#);
    }
}
