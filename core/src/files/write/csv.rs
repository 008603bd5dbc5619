//! Rows as comma-separated text: UTF-8, a header, a point in decimals, an empty cell where there is no answer.

use super::features::Values;
use super::{Column, Failure, Features};
use crate::job::Watch;
use rayon::prelude::*;
use std::fs::File;
use std::io::Write as _;
use std::path::Path;

/// Rows that one thread writes at a stretch.
const STRETCH: usize = 2_048;

/// Stretches that are held in memory at a time.
const AT_A_TIME: usize = 64;

/// # Source
/// RFC 4180, with the line ends of its section 2 taken as a bare line feed, which every reader of it accepts.
pub(super) fn write(features: &Features, path: &Path, watch: &dyn Watch) -> Result<(), Failure> {
    let mut out = File::create(path)?;
    let places: &[&str] = if features.shapes.is_some() { &["lon", "lat"] } else { &[] };
    let header: Vec<&str> = features.columns.iter().map(|c| c.name).chain(places.iter().copied()).collect();
    out.write_all((header.join(",") + "\n").as_bytes())?;
    let rows = features.rows();
    for from in (0..rows).step_by(STRETCH * AT_A_TIME) {
        watch.step("Writing the rows", from as u64, rows as u64)?;
        let stretches: Vec<usize> = (from..rows.min(from + STRETCH * AT_A_TIME)).step_by(STRETCH).collect();
        let written: Vec<Vec<u8>> = stretches.into_par_iter().map(|from| stretch(features, from, rows.min(from + STRETCH))).collect();
        for bytes in written {
            out.write_all(&bytes)?;
        }
    }
    Ok(())
}

fn stretch(features: &Features, from: usize, to: usize) -> Vec<u8> {
    let mut out = Vec::with_capacity((to - from) * 12 * features.columns.len());
    for row in from..to {
        for (k, column) in features.columns.iter().enumerate() {
            if k > 0 {
                out.push(b',');
            }
            cell(column, row, &mut out);
        }
        if features.shapes.is_some() {
            let place = features.place(row);
            for degrees in [place.map(|p| p.lon), place.map(|p| p.lat)] {
                out.push(b',');
                degrees.into_iter().for_each(|d| number(d, 8, &mut out));
            }
        }
        out.push(b'\n');
    }
    out
}

fn cell(column: &Column, row: usize, out: &mut Vec<u8>) {
    match &column.values {
        Values::Text(texts) => text(texts.get(row), out),
        Values::Whole(v) => v[row].into_iter().for_each(|n| put(out, format_args!("{n}"))),
        Values::Number(v, decimals) => v[row].into_iter().for_each(|n| number(n, *decimals, out)),
        Values::Day(v) => v[row].into_iter().for_each(|day| put(out, format_args!("{day}"))),
    }
}

/// Writing to memory cannot fail.
fn put(out: &mut Vec<u8>, text: std::fmt::Arguments<'_>) {
    let _ = out.write_fmt(text);
}

/// A text, in quotes where it holds a comma, a quote or a line break.
fn text(text: &str, out: &mut Vec<u8>) {
    if text.bytes().any(|b| matches!(b, b',' | b'"' | b'\n' | b'\r')) {
        put(out, format_args!("\"{}\"", text.replace('"', "\"\"")));
    } else {
        out.extend_from_slice(text.as_bytes());
    }
}

/// A number with fixed decimals, by way of whole numbers, several times faster than the general way. Never "-0.00".
fn number(n: f64, decimals: usize, out: &mut Vec<u8>) {
    let scale = 10f64.powi(decimals as i32);
    let scaled = (n.abs() * scale).round();
    if decimals == 0 || !scaled.is_finite() || scaled >= 1e15 {
        return put(out, format_args!("{n:.decimals$}"));
    }
    let (scale, scaled) = (scale as u64, scaled as u64);
    let sign = if n < 0.0 && scaled > 0 { "-" } else { "" };
    put(out, format_args!("{sign}{}.{:0decimals$}", scaled / scale, scaled % scale));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;

    fn written(features: &Features) -> String {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("rows.csv");
        write(features, &path, &Unwatched).unwrap();
        std::fs::read_to_string(path).unwrap()
    }

    #[test]
    fn cells_are_quoted_where_they_must_be_and_empty_without_an_answer() {
        let columns = vec![
            Column::text("a", ["12, Kettle \"Old\" Lane", "plain"]),
            Column::whole("b", [None, Some(-7)]),
            Column::number("c", 4, [Some(-0.000_04), Some(2.000_05)]),
            Column::number("d", 1, [Some(99.96), None]),
        ];
        let expected = "a,b,c,d\n\"12, Kettle \"\"Old\"\" Lane\",,0.0000,100.0\nplain,-7,2.0001,\n";
        assert_eq!(written(&Features::new("rows", "Rows", columns)), expected);
    }

    /// Read back by the csv crate.
    #[test]
    fn many_rows_keep_their_order() {
        let columns = vec![Column::whole("n", (0..300_000).map(Some)), Column::text("t", (0..300_000).map(|n| format!("{n},\n")))];
        let text = written(&Features::new("rows", "Rows", columns));
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let rows: Vec<(i64, String)> = reader.deserialize().map(Result::unwrap).collect();
        assert_eq!(rows.len(), 300_000);
        assert!((0..).zip(&rows).all(|(i, r)| r.0 == i && r.1 == format!("{i},\n")));
    }
}
