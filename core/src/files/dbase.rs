//! dBASE tables: the attributes beside a shapefile, or a table of their own.
//!
//! # Source
//! dBASE III+ and FoxPro header and field descriptors as published by their makers (from memory): 32 bytes of header, 32 for
//! each field up to a byte 13, then records of fixed width that begin with a blank, or with `*` when deleted.

use super::bytes::Bytes;
use super::room::make_room;
use super::text::{Coding, UTF_8, WINDOWS_1252, without_padding};
use super::{Cells, FileError};
use std::borrow::Cow;
use std::io::Read;

const HEADER: usize = 32;
const FIELD: usize = 32;
const END_OF_FIELDS: u8 = 13;
const DELETED: u8 = b'*';

/// Bytes of records read at once.
const AT_ONCE: usize = 1 << 18;

#[derive(Debug)]
struct Field {
    name: String,
    kind: u8,
    from: usize,
    to: usize,
    /// Its number among the fields that have room in a record; the others have no cells.
    place: Option<usize>,
}

impl Field {
    /// What is kept of a cell: numbers in their own bytes whole, anything else without the blanks that fill it up.
    fn kept<'a>(&self, cell: &'a [u8]) -> &'a [u8] {
        if matches!(self.kind, b'I' | b'O' | b'B' | b'Y' | b'T' | b'@' | b'+') { cell } else { without_blanks(cell) }
    }
}

/// A dBASE table in memory, without the blanks that most of a file is; its cells are decoded when they are asked for.
#[derive(Debug)]
pub(super) struct Dbase {
    fields: Vec<Field>,
    /// The cells of all records that are not deleted, one after the other.
    bytes: Vec<u8>,
    /// How long each cell is.
    lengths: Vec<u16>,
    /// Where each record begins.
    begins: Vec<usize>,
    coding: Coding,
    /// How many records there are, and the numbers of those that are deleted, rising.
    records: usize,
    deleted: Vec<usize>,
    /// What was noticed, in sentences.
    pub notes: Vec<String>,
}

/// Reads the table from a source of `size` bytes as far as is known. `encoding` is the text of the `.cpg` file, if there is one.
///
/// # Errors
/// [`FileError::Broken`] when the header does not describe a table.
pub(super) fn parse(file: &str, (mut source, size): (impl Read, u64), encoding: Option<&str>) -> Result<Dbase, FileError> {
    let (mut start, mut descriptors) = (Vec::new(), Vec::new());
    take(&mut source, HEADER, &mut start);
    let mut header = Bytes::new(&start);
    let (Some(_), Some(said), Some(first), Some(width), Some(rest)) =
        (header.take(4), header.u32(), header.u16(), header.u16(), header.take(20))
    else {
        return Err(FileError::broken(file, "byte 0", "a dBASE header of 32 bytes", format!("{} bytes", start.len())));
    };
    let (first, width) = (usize::from(first), usize::from(width));
    if first < HEADER || width == 0 {
        let found = format!("a header of {first} bytes and records of {width}");
        return Err(FileError::broken(file, "byte 8", "the lengths of a dBASE header and its records", found));
    }
    take(&mut source, first - HEADER, &mut descriptors);
    let fields = placed(fields(&descriptors), width);
    let mut table = Dbase {
        fields,
        bytes: Vec::new(),
        lengths: Vec::new(),
        begins: Vec::new(),
        coding: WINDOWS_1252,
        records: 0,
        deleted: Vec::new(),
        notes: Vec::new(),
    };
    table.fill(&mut source, width, said as usize, size as usize / width);
    if table.records < said as usize {
        table.notes.push(format!("the table of attributes is cut short: {} of {said} rows are there", table.records));
    }
    table.coding = table.choose_coding(rest[17], encoding);
    for field in &mut table.fields {
        field.name = table.coding.text(field.name.as_bytes()).into_owned();
    }
    if !table.deleted.is_empty() {
        table.notes.push(format!("{} marked as deleted: left out", super::sketch::rows_in_words(table.deleted.len())));
    }
    Ok(table)
}

/// Takes the next so many bytes in the place of those before, or fewer where the source ends or cannot be read on.
fn take(source: &mut impl Read, count: usize, into: &mut Vec<u8>) {
    into.clear();
    // What was read before an error counts as all there is; the rows that are missing are told.
    let _ = source.take(count as u64).read_to_end(into);
}

/// The fields, those numbered that have room in a record of some width. They do not overlap, so that there are fewer of them than bytes.
fn placed(mut fields: Vec<Field>, width: usize) -> Vec<Field> {
    let mut places = 0..;
    for field in fields.iter_mut().filter(|f| f.from < f.to.min(width)) {
        field.to = field.to.min(width);
        field.place = places.next();
    }
    fields
}

fn without_blanks(cell: &[u8]) -> &[u8] {
    let cell = without_padding(cell);
    &cell[..cell.iter().rposition(|&b| b != 0 && b != b' ').map_or(0, |i| i + 1)]
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
        out.push(Field { name: String::from_utf8_lossy(name).into_owned(), kind: field[11], from, to, place: None });
        from = to;
        descriptors = rest;
    }
    out
}

impl Dbase {
    /// Takes in whole records until there are as many as the header says or the source, which has room for so many, ends.
    fn fill(&mut self, source: &mut impl Read, width: usize, said: usize, room: usize) {
        let mut some = Vec::new();
        loop {
            let first = self.records == 0;
            let wanted = (AT_ONCE / width).max(1).min(said - self.records);
            take(source, wanted * width, &mut some);
            some.chunks_exact(width).for_each(|record| self.push(record));
            if wanted == 0 || some.len() < wanted * width {
                return;
            }
            if first {
                let times = said.min(room) as f64 / self.records as f64;
                make_room(&mut self.bytes, times);
                make_room(&mut self.lengths, times);
                make_room(&mut self.begins, times);
            }
        }
    }

    fn push(&mut self, record: &[u8]) {
        self.records += 1;
        if record[0] == DELETED {
            self.deleted.push(self.records - 1);
            return;
        }
        self.begins.push(self.bytes.len());
        for field in self.fields.iter().filter(|f| f.place.is_some()) {
            let cell = field.kept(&record[field.from..field.to]);
            self.lengths.push(cell.len() as u16);
            self.bytes.extend_from_slice(cell);
        }
    }

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
        if self.bytes.is_ascii() {
            return WINDOWS_1252;
        }
        let utf_8 = std::str::from_utf8(&self.bytes).is_ok();
        let coding = if utf_8 { UTF_8 } else { WINDOWS_1252 };
        if told.is_none() || utf_8 {
            self.notes.push(format!("no file says how the letters are written (.cpg): read as {}", coding.name()));
        }
        coding
    }

    /// Rows, deleted ones not counted.
    pub fn rows(&self) -> usize {
        self.begins.len()
    }

    /// The numbers of the records that are deleted, rising.
    pub fn deleted(&self) -> &[usize] {
        &self.deleted
    }

    /// The names of the columns.
    pub fn columns(&self) -> Vec<String> {
        self.fields.iter().map(|f| f.name.clone()).collect()
    }

    fn raw(&self, row: usize, column: usize) -> Option<&[u8]> {
        let (place, begin) = (self.fields[column].place?, *self.begins.get(row)?);
        let cells = self.lengths.len() / self.begins.len();
        let lengths = &self.lengths[row * cells..][..=place];
        let to = begin + lengths.iter().map(|&n| usize::from(n)).sum::<usize>();
        Some(&self.bytes[to - usize::from(lengths[place])..to])
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

    fn of(bytes: &[u8]) -> (&[u8], u64) {
        (bytes, bytes.len() as u64)
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
        let t = parse("a.dbf", of(&small()), None).unwrap();
        assert_eq!((t.rows(), t.deleted(), t.columns().join(" ")), (2, &[1][..], "ID SEEN OPEN NAME".to_owned()));
        let row = |r| (0..4).map(|c| t.cell(r, c).into_owned()).collect::<Vec<_>>();
        assert_eq!(row(0), ["7", "2025-07-14", "true", "first"]);
        assert_eq!(row(1), ["", "", "false", "second"]);
        assert_eq!(row(2), ["", "", "", ""]);
    }

    #[test]
    fn every_cut_and_every_flipped_bit_gives_an_answer() {
        let whole = small();
        for cut in 0..whole.len() {
            if let Ok(t) = parse("a.dbf", of(&whole[..cut]), None) {
                assert!(t.rows() <= 2);
            }
        }
        for bit in 0..whole.len() * 8 {
            let mut bytes = whole.clone();
            bytes[bit / 8] ^= 1 << (bit % 8);
            let Ok(t) = parse("a.dbf", of(&bytes), None) else { continue };
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
            parse("a.dbf", of(&bytes), cpg).unwrap().cell(0, 0).into_owned()
        };
        assert_eq!(with(0x57, Some("850"), b"caf\x82"), "café");
        assert_eq!(with(0x02, None, b"caf\x82"), "café");
        assert_eq!(with(0x57, None, b"caf\xe9"), "café");
        assert_eq!(with(0, None, "café".as_bytes()), "café");
        assert_eq!(with(0, None, b"caf\xe9"), "café");
    }
}
