//! Answers as rows: comma-separated text for files, aligned columns for people, JSON for programs.

use super::Failure;
use jiff::civil::Date;
use rayon::prelude::*;
use serde_json::{Map, Value};
use std::io::Write as _;
use std::path::Path;

/// One value of a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cell<'a> {
    /// No answer: an empty cell, null in JSON.
    Nothing,
    /// A text.
    Text(&'a str),
    /// A count.
    Whole(u64),
    /// A number and its decimals in comma-separated text.
    Fixed(f64, u32),
    /// A day.
    Day(Date),
}

impl Cell<'_> {
    /// A number that may be missing, with its decimals.
    pub fn fixed(number: Option<f64>, decimals: u32) -> Self {
        number.map_or(Self::Nothing, |n| Self::Fixed(n, decimals))
    }

    fn write(self, out: &mut Vec<u8>) {
        match self {
            Self::Nothing => {}
            Self::Text(text) => write_text(text, out),
            Self::Whole(n) => put(out, format_args!("{n}")),
            Self::Fixed(n, decimals) => write_fixed(n, decimals, out),
            Self::Day(day) => put(out, format_args!("{day}")),
        }
    }

    fn json(self) -> Value {
        match self {
            Self::Nothing => Value::Null,
            Self::Text(text) => text.into(),
            Self::Whole(n) => n.into(),
            Self::Fixed(n, _) => n.into(),
            Self::Day(day) => day.to_string().into(),
        }
    }
}

fn put(out: &mut Vec<u8>, text: std::fmt::Arguments<'_>) {
    // Writing to memory cannot fail.
    let _ = out.write_fmt(text);
}

/// A text, in quotes where it holds a comma, a quote or a line break.
fn write_text(text: &str, out: &mut Vec<u8>) {
    if text.bytes().any(|b| matches!(b, b',' | b'"' | b'\n' | b'\r')) {
        put(out, format_args!("\"{}\"", text.replace('"', "\"\"")));
    } else {
        out.extend_from_slice(text.as_bytes());
    }
}

/// A number with fixed decimals, rounded half away from zero; through whole numbers, which is several times faster than the
/// general way.
fn write_fixed(n: f64, decimals: u32, out: &mut Vec<u8>) {
    let scale = 10u64.pow(decimals);
    let scaled = (n.abs() * scale as f64).round();
    if decimals == 0 || scaled >= 1e15 {
        return put(out, format_args!("{n:.0$}", decimals as usize));
    }
    let scaled = scaled as u64;
    let sign = if n < 0.0 && scaled > 0 { "-" } else { "" };
    put(out, format_args!("{sign}{}.{:0width$}", scaled / scale, scaled % scale, width = decimals as usize));
}

/// Rows as comma-separated text under a header, made in parallel from whatever they come from.
pub fn comma_separated<'a, T: Sync, const N: usize>(
    columns: &[&str; N],
    items: &'a [T],
    row: impl Fn(usize, &'a T) -> [Cell<'a>; N] + Sync,
) -> Vec<u8> {
    const STRIDE: usize = 2048;
    let mut out = columns.join(",").into_bytes();
    out.push(b'\n');
    let pieces: Vec<Vec<u8>> = items
        .par_chunks(STRIDE)
        .enumerate()
        .map(|(chunk, items)| {
            let mut piece = Vec::with_capacity(items.len() * 96);
            for (i, item) in items.iter().enumerate() {
                for (k, cell) in row(chunk * STRIDE + i, item).into_iter().enumerate() {
                    if k > 0 {
                        piece.push(b',');
                    }
                    cell.write(&mut piece);
                }
                piece.push(b'\n');
            }
            piece
        })
        .collect();
    pieces.iter().for_each(|p| out.extend_from_slice(p));
    out
}

/// One row as a JSON object.
pub fn object<const N: usize>(columns: &[&str; N], row: [Cell<'_>; N]) -> Value {
    Value::Object(columns.iter().zip(row).map(|(name, cell)| ((*name).to_owned(), cell.json())).collect::<Map<_, _>>())
}

/// Writes an answer to a file.
///
/// # Errors
/// [`Failure`] when the file cannot be written.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    std::fs::write(path, bytes).map_err(|e| {
        Failure::new(format!("{} cannot be written: {e}", path.display()), "Choose a folder that exists and that you may write to")
    })
}

/// Rows in aligned columns for people: the first column to the left, those whose every cell begins with a digit to the right.
pub fn aligned(header: &[&str], rows: &[Vec<String>]) -> String {
    let width = |s: &str| s.chars().count();
    let columns = 0..header.len();
    let widths: Vec<usize> =
        columns.clone().map(|k| rows.iter().map(|r| width(&r[k])).chain([width(header[k])]).max().unwrap_or(0)).collect();
    let numeric: Vec<bool> = columns.map(|k| k > 0 && rows.iter().all(|r| r[k].starts_with(|c: char| c.is_ascii_digit()))).collect();
    let mut out = String::new();
    let first: Vec<String> = header.iter().map(|h| (*h).to_owned()).collect();
    for row in std::iter::once(&first).chain(rows) {
        let mut line = String::new();
        for (k, cell) in row.iter().enumerate() {
            let fill = " ".repeat(widths[k] - width(cell));
            let (before, behind) = if numeric[k] { (fill.as_str(), "") } else { ("", fill.as_str()) };
            line.push_str(&format!("{before}{cell}{behind}  "));
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
    fn cells_are_written_as_the_contract_says() {
        let rows = [
            [Cell::Text("12, Kettle \"Old\" Lane"), Cell::Nothing, Cell::Fixed(-0.000_04, 4), Cell::Fixed(2.000_05, 4)],
            [Cell::Text("plain"), Cell::Whole(7), Cell::Fixed(-71.123_456_78, 7), Cell::Fixed(99.999_96, 4)],
        ];
        let text = comma_separated(&["a", "b", "c", "d"], &rows, |_, r| *r);
        let expected = "a,b,c,d\n\"12, Kettle \"\"Old\"\" Lane\",,0.0000,2.0001\nplain,7,-71.1234568,100.0000\n";
        assert_eq!(String::from_utf8(text).unwrap(), expected);
    }

    #[test]
    fn many_rows_keep_their_order() {
        let items: Vec<u64> = (0..10_000).collect();
        let text = comma_separated(&["n", "twice"], &items, |i, n| [Cell::Whole(i as u64), Cell::Whole(2 * n)]);
        let text = String::from_utf8(text).unwrap();
        assert_eq!(text.lines().count(), 10_001);
        assert!(text.lines().skip(1).enumerate().all(|(i, l)| l == format!("{i},{}", 2 * i)));
    }

    #[test]
    fn numbers_stand_to_the_right() {
        let rows = [vec!["Quillmere".to_owned(), "9 m".to_owned()], vec!["B".to_owned(), "120 m".to_owned()]];
        assert_eq!(aligned(&["Block", "Far"], &rows), "Block        Far\nQuillmere    9 m\nB          120 m\n");
    }
}
