//! dBASE tables: the attributes beside a shapefile, or a table of their own.
//!
//! # Source
//! dBASE III+ and FoxPro header and field descriptors as published by their makers (from memory): 32 bytes of header, 32 for
//! each field up to a byte 13, then records of fixed width that begin with a blank, or with `*` when deleted.

use super::bytes::Bytes;
use super::text::{Coding, UTF_8, WINDOWS_1252};
use super::{Cells, FileError};
use std::borrow::Cow;

const HEADER: usize = 32;
const FIELD: usize = 32;
const END_OF_FIELDS: u8 = 13;
const DELETED: u8 = b'*';

#[derive(Debug)]
struct Field {
    name: String,
    kind: u8,
    from: usize,
    to: usize,
}

/// A dBASE table in memory; its cells are decoded when they are asked for.
#[derive(Debug)]
pub(super) struct Dbase {
    bytes: Vec<u8>,
    fields: Vec<Field>,
    first: usize,
    width: usize,
    coding: Coding,
    /// Numbers of the records that are not deleted; `None` when none is.
    kept: Option<Vec<u32>>,
    records: usize,
    /// What was noticed, in sentences.
    pub notes: Vec<String>,
}

/// Reads the table. `encoding` is the text of the `.cpg` file, if there is one.
///
/// # Errors
/// [`FileError::Broken`] when the header does not describe a table.
pub(super) fn parse(file: &str, bytes: Vec<u8>, encoding: Option<&str>) -> Result<Dbase, FileError> {
    let mut header = Bytes::new(&bytes);
    let (Some(_), Some(said), Some(first), Some(width), Some(rest)) =
        (header.take(4), header.u32(), header.u16(), header.u16(), header.take(20))
    else {
        return Err(FileError::broken(file, "byte 0", "a dBASE header of 32 bytes", format!("{} bytes", bytes.len())));
    };
    let (first, width) = (usize::from(first), usize::from(width));
    if first < HEADER || width == 0 {
        let found = format!("a header of {first} bytes and records of {width}");
        return Err(FileError::broken(file, "byte 8", "the lengths of a dBASE header and its records", found));
    }
    let there = bytes.len().saturating_sub(first) / width;
    let records = there.min(said as usize);
    let mut notes = Vec::new();
    if records < said as usize {
        notes.push(format!("the table of attributes is cut short: {records} of {said} rows are there"));
    }
    let driver = rest[17];
    let fields = fields(bytes.get(HEADER..first.min(bytes.len())).unwrap_or(&[]));
    let mut table = Dbase { bytes, fields, first, width, coding: WINDOWS_1252, kept: None, records, notes };
    table.coding = table.choose_coding(driver, encoding);
    for field in &mut table.fields {
        field.name = table.coding.text(field.name.as_bytes()).into_owned();
    }
    table.leave_out_deleted();
    Ok(table)
}

fn fields(mut descriptors: &[u8]) -> Vec<Field> {
    let mut out = Vec::new();
    let mut from = 1;
    while let Some((field, rest)) = descriptors.split_at_checked(FIELD)
        && field[0] != END_OF_FIELDS
    {
        let name = &field[..field[..11].iter().position(|&b| b == 0).unwrap_or(11)];
        // A character field may be longer than 255 bytes: its decimals are then the high byte of its length.
        let wide = if field[11] == b'C' { usize::from(field[17]) << 8 } else { 0 };
        let to = from + usize::from(field[16]) + wide;
        out.push(Field { name: String::from_utf8_lossy(name).into_owned(), kind: field[11], from, to });
        from = to;
        descriptors = rest;
    }
    out
}

impl Dbase {
    fn choose_coding(&mut self, driver: u8, named: Option<&str>) -> Coding {
        if let Some(name) = named.filter(|n| !n.trim().is_empty()) {
            if let Some(coding) = Coding::named(name) {
                return coding;
            }
            self.notes.push(format!("the .cpg file names an unknown encoding '{}'", name.trim().chars().take(40).collect::<String>()));
        }
        let told = Coding::of_language_driver(driver);
        if told.is_some_and(|c| c != WINDOWS_1252) {
            return told.unwrap_or(WINDOWS_1252);
        }
        let body = self.bytes.get(self.first..).unwrap_or(&[]);
        if body.is_ascii() {
            return WINDOWS_1252;
        }
        let utf_8 = std::str::from_utf8(body).is_ok();
        let coding = if utf_8 { UTF_8 } else { WINDOWS_1252 };
        if told.is_none() || utf_8 {
            self.notes.push(format!("no file says how the letters are written (.cpg): read as {}", coding.name()));
        }
        coding
    }

    fn leave_out_deleted(&mut self) {
        let alive = |r: u32| self.bytes.get(self.first + r as usize * self.width) != Some(&DELETED);
        let kept: Vec<u32> = (0..self.records as u32).filter(|&r| alive(r)).collect();
        let deleted = self.records - kept.len();
        if deleted > 0 {
            self.notes.push(format!("{} marked as deleted: left out", super::sketch::rows_in_words(deleted)));
            self.kept = Some(kept);
        }
    }

    /// Rows, deleted ones not counted.
    pub fn rows(&self) -> usize {
        self.kept.as_ref().map_or(self.records, Vec::len)
    }

    /// Records that are deleted, as numbers in ascending order, out of the first `of`.
    pub fn deleted(&self, of: usize) -> Vec<usize> {
        let Some(kept) = &self.kept else { return Vec::new() };
        let mut alive = vec![false; self.records];
        kept.iter().for_each(|&r| alive[r as usize] = true);
        (0..self.records.min(of)).filter(|&r| !alive[r]).collect()
    }

    /// The names of the columns.
    pub fn columns(&self) -> Vec<String> {
        self.fields.iter().map(|f| f.name.clone()).collect()
    }

    fn raw(&self, row: usize, column: usize) -> Option<&[u8]> {
        let record = match &self.kept {
            Some(kept) => *kept.get(row)? as usize,
            None => row,
        };
        let field = &self.fields[column];
        if record >= self.records || field.from >= self.width {
            return None;
        }
        let at = self.first + record * self.width;
        self.bytes.get(at + field.from..at + field.to.min(self.width))
    }
}

impl Cells for Dbase {
    fn cell(&self, row: usize, column: usize) -> Cow<'_, str> {
        let Some(raw) = self.raw(row, column) else { return Cow::Borrowed("") };
        match (self.fields[column].kind, raw.len()) {
            (b'I', 4) => Bytes::new(raw).u32().map_or(Cow::Borrowed(""), |n| Cow::Owned((n as i32).to_string())),
            (b'O' | b'B', 8) => Bytes::new(raw).f64().map_or(Cow::Borrowed(""), |n| Cow::Owned(n.to_string())),
            (b'N' | b'F', _) if raw.trim_ascii().first() == Some(&b'*') => Cow::Borrowed(""),
            (b'D', 8) => day(self.coding.text(raw)),
            (b'L', 1) => Cow::Borrowed(match raw[0] {
                b'T' | b't' | b'Y' | b'y' => "true",
                b'F' | b'f' | b'N' | b'n' => "false",
                _ => "",
            }),
            (b'M' | b'G' | b'P', _) => Cow::Borrowed(""),
            _ => self.coding.text(raw),
        }
    }
}

/// `20250714` as `2025-07-14`; empty when it is all zeros.
fn day(text: Cow<'_, str>) -> Cow<'_, str> {
    if text.len() != 8 || !text.bytes().all(|b| b.is_ascii_digit()) {
        return text;
    }
    if text.bytes().all(|b| b == b'0') { Cow::Borrowed("") } else { Cow::Owned(format!("{}-{}-{}", &text[..4], &text[4..6], &text[6..])) }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A dBASE III table of text and date fields, written by the description above.
    pub(in crate::files) fn table(fields: &[(&str, u8, u8)], records: &[&str], driver: u8) -> Vec<u8> {
        let width = 1 + fields.iter().map(|f| usize::from(f.2)).sum::<usize>();
        let mut out = vec![3, 125, 7, 14];
        out.extend((records.len() as u32).to_le_bytes());
        out.extend(((HEADER + FIELD * fields.len() + 1) as u16).to_le_bytes());
        out.extend((width as u16).to_le_bytes());
        out.extend([0; 17]);
        out.extend([driver, 0, 0]);
        for (name, kind, length) in fields {
            let mut field = [0u8; FIELD];
            field[..name.len()].copy_from_slice(name.as_bytes());
            field[11] = *kind;
            field[16] = *length;
            out.extend(field);
        }
        out.push(END_OF_FIELDS);
        records.iter().for_each(|r| out.extend(r.as_bytes()));
        out
    }

    fn small() -> Vec<u8> {
        table(
            &[("ID", b'N', 4), ("SEEN", b'D', 8), ("OPEN", b'L', 1), ("NAME", b'C', 6)],
            &["    720250714Tfirst ", "*   8        ?gone  ", " ****00000000Nsecond"],
            0,
        )
    }

    #[test]
    fn cells_are_decoded_and_deleted_rows_left_out() {
        let t = parse("a.dbf", small(), None).unwrap();
        assert_eq!((t.rows(), t.deleted(9), t.columns().join(" ")), (2, vec![1], "ID SEEN OPEN NAME".to_owned()));
        let row = |r| (0..4).map(|c| t.cell(r, c).into_owned()).collect::<Vec<_>>();
        assert_eq!(row(0), ["7", "2025-07-14", "true", "first"]);
        assert_eq!(row(1), ["", "", "false", "second"]);
        assert_eq!(row(2), ["", "", "", ""]);
    }

    #[test]
    fn every_cut_and_every_flipped_bit_gives_an_answer() {
        let whole = small();
        for cut in 0..whole.len() {
            if let Ok(t) = parse("a.dbf", whole[..cut].to_vec(), None) {
                assert!(t.rows() <= 2);
            }
        }
        for bit in 0..whole.len() * 8 {
            let mut bytes = whole.clone();
            bytes[bit / 8] ^= 1 << (bit % 8);
            let Ok(t) = parse("a.dbf", bytes, None) else { continue };
            for row in 0..t.rows() {
                (0..t.fields.len()).for_each(|c| assert!(t.cell(row, c).len() <= whole.len() * 3));
            }
        }
    }

    #[test]
    fn the_letters_follow_the_cpg_file_then_the_driver_byte_then_the_letters_themselves() {
        let with = |driver, cpg: Option<&str>, name: &[u8]| {
            let mut bytes = table(&[("NAME", b'C', 6)], &["       "], driver);
            let at = bytes.len() - 6;
            bytes[at..at + name.len()].copy_from_slice(name);
            parse("a.dbf", bytes, cpg).unwrap().cell(0, 0).into_owned()
        };
        assert_eq!(with(0x57, Some("850"), b"caf\x82"), "café");
        assert_eq!(with(0x02, None, b"caf\x82"), "café");
        assert_eq!(with(0x57, None, b"caf\xe9"), "café");
        assert_eq!(with(0, None, "café".as_bytes()), "café");
        assert_eq!(with(0, None, b"caf\xe9"), "café");
    }
}
