//! Attributes as a dBASE table, the part of a shapefile that holds them.

use super::features::Values;
use super::{Column, Failure, Features};
use crate::job::Watch;
use std::borrow::Cow;
use std::fs::File;
use std::io::{BufWriter, Error, Write as _};
use std::path::Path;

/// The longest text that a cell holds.
const WIDEST: usize = 254;
/// The longest name that a column can have.
const NAME: usize = 10;
/// The day that stands in the file, as years after 1900, month, day: files must not depend on a clock.
const NO_DATE: [u8; 3] = [100, 1, 1];
/// Rows between two looks at whether somebody asked to stop.
const STEP: usize = 16_384;

struct Field<'a> {
    column: &'a Column,
    name: String,
    width: usize,
}

/// Texts longer than 254 bytes are cut there: the format has no room for more.
///
/// # Source
/// dBASE III header and field descriptors as published by their makers (from memory): 32 bytes of header, 32 for each field,
/// a byte 13, records of fixed width after a blank, a byte 26. The attributes of a shapefile: Esri, July 1998, p. 25.
pub(super) fn write(features: &Features, path: &Path, watch: &dyn Watch) -> Result<(), Failure> {
    let rows = features.rows();
    let fields = fields(features);
    let mut out = BufWriter::new(File::create(path)?);
    out.write_all(&header(&fields, rows)?)?;
    let mut record = Vec::new();
    for row in 0..rows {
        if row % STEP == 0 {
            watch.step("Writing the attributes", row as u64, rows as u64)?;
        }
        record.clear();
        record.push(b' ');
        for field in &fields {
            put(field, row, &mut record);
        }
        out.write_all(&record)?;
    }
    out.write_all(&[26])?;
    Ok(out.flush()?)
}

fn fields(features: &Features) -> Vec<Field<'_>> {
    let mut out: Vec<Field<'_>> = Vec::new();
    for column in &features.columns {
        let name = short_name(column.name, &out);
        let width = match column.values {
            Values::Day(_) => 8,
            _ => (0..features.rows()).map(|row| column.cell(row).len()).max().unwrap_or(0).clamp(1, WIDEST),
        };
        out.push(Field { column, name, width });
    }
    out
}

/// A name of at most ten letters: vowels inside words go first, from the end. A name that is taken gets a number.
fn short_name(name: &str, taken: &[Field<'_>]) -> String {
    let mut letters: Vec<char> = name.chars().collect();
    let inner_vowel = |l: &[char]| (1..l.len()).rev().find(|&i| "aeiou".contains(l[i]) && l[i - 1] != '_');
    while letters.len() > NAME
        && let Some(i) = inner_vowel(&letters)
    {
        letters.remove(i);
    }
    letters.truncate(NAME);
    let short: String = letters.iter().collect();
    let numbered = |n: usize| if n == 0 { short.clone() } else { format!("{}_{n}", short.chars().take(NAME - 2).collect::<String>()) };
    (0..10).map(numbered).find(|n| !taken.iter().any(|f| f.name == *n)).unwrap_or(short)
}

fn header(fields: &[Field<'_>], rows: usize) -> Result<Vec<u8>, Error> {
    let too_large = || Error::other("a shapefile's table holds no more; write a GeoPackage");
    let mut out = vec![3];
    out.extend(NO_DATE);
    out.extend(u32::try_from(rows).map_err(|_| too_large())?.to_le_bytes());
    let length = |bytes: usize| u16::try_from(bytes).map(u16::to_le_bytes).map_err(|_| too_large());
    out.extend(length(32 + 32 * fields.len() + 1)?);
    out.extend(length(1 + fields.iter().map(|f| f.width).sum::<usize>())?);
    out.resize(32, 0);
    for field in fields {
        let start = out.len();
        out.extend(field.name.as_bytes());
        out.resize(start + 11, 0);
        let (kind, decimals) = match field.column.values {
            Values::Text(_) => (b'C', 0),
            Values::Whole(_) => (b'N', 0),
            Values::Number(_, decimals) => (b'N', decimals as u8),
            Values::Day(_) => (b'D', 0),
        };
        out.extend([kind, 0, 0, 0, 0, field.width as u8, decimals]);
        out.resize(start + 32, 0);
    }
    out.push(13);
    Ok(out)
}

/// One cell, filled up with blanks: numbers stand at the right, texts at the left.
fn put(field: &Field<'_>, row: usize, out: &mut Vec<u8>) {
    let cell: Cow<'_, str> = match &field.column.values {
        Values::Day(days) => days[row].filter(|d| d.year() >= 0).map_or("".into(), |d| d.to_string().replace('-', "").into()),
        _ => field.column.cell(row),
    };
    let end = (0..=cell.len().min(field.width)).rev().find(|&at| cell.is_char_boundary(at)).unwrap_or(0);
    let blanks = std::iter::repeat_n(b' ', field.width - end);
    let text = cell[..end].bytes();
    match field.column.values {
        Values::Whole(_) | Values::Number(..) => out.extend(blanks.chain(text)),
        Values::Text(_) | Values::Day(_) => out.extend(text.chain(blanks)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_names_stay_readable_and_none_stands_twice() {
        assert_eq!(short_name("parcel_id", &[]), "parcel_id");
        assert_eq!(short_name("positive_premises", &[]), "pstv_prmss");
        assert_eq!(short_name("house_index", &[]), "house_indx");
        assert_eq!(short_name("sources_in_reach", &[]), "srcs_in_rc");
        let columns = ["interval_lower_one", "interval_lower_one_more", "interval_lower_one_again"].map(|n| Column::whole(n, [Some(1)]));
        let rows = Features::new("rows", "Rows", columns.to_vec());
        let names: Vec<String> = fields(&rows).into_iter().map(|f| f.name).collect();
        assert!(names.iter().all(|n| n.len() <= NAME) && names[0] != names[1] && names[1] != names[2] && names[0] != names[2], "{names:?}");
    }
}
