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
        Values::Whole(v) => v[row].into_iter().for_each(|n| whole(n, out)),
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
    if n < 0.0 && scaled > 0 {
        out.push(b'-');
    }
    digits(scaled / scale, 1, out);
    out.push(b'.');
    digits(scaled % scale, decimals, out);
}

fn whole(n: i64, out: &mut Vec<u8>) {
    if n < 0 {
        out.push(b'-');
    }
    digits(n.unsigned_abs(), 1, out);
}

/// A number with at least so many digits, up to 20. The general way of writing one takes ten times as long.
fn digits(mut n: u64, least: usize, out: &mut Vec<u8>) {
    let mut backwards = [b'0'; 20];
    let mut count = 0;
    while n > 0 || count < least {
        backwards[count] = b'0' + (n % 10) as u8;
        n /= 10;
        count += 1;
    }
    out.extend(backwards[..count].iter().rev());
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

    #[test]
    fn numbers_are_written_as_the_standard_library_writes_them() {
        for n in [0, 7, -7, 10, 99, -100, i64::MAX, i64::MIN] {
            let mut out = Vec::new();
            whole(n, &mut out);
            assert_eq!(String::from_utf8(out).unwrap(), n.to_string());
        }
        for n in [0.0, 0.05, -0.25, 1.0, 12.345_678_9, -99.75, 123_456_789.125] {
            for decimals in [1, 3, 6] {
                let mut out = Vec::new();
                number(n, decimals, &mut out);
                // The library rounds halves to even.
                let near = String::from_utf8(out).unwrap();
                let apart = near.parse::<f64>().unwrap() - n;
                let library = format!("{n:.decimals$}");
                assert!(near.len() == library.len() && apart.abs() <= 0.500_001 / 10f64.powi(decimals as i32), "{near} for {library}");
            }
        }
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
