//! Tables as text: cells parted by commas, semicolons, tabs or bars.
//!
//! # Source
//! RFC 4180, read leniently: any of four delimiters, or one of four rarer ones where it parts every line alike, rows of any length, quotation marks anywhere but at a cell's start are
//! letters like others.

use super::columns::MOST_COLUMNS;
use super::sketch::rows_in_words;
use super::{Cells, FileError, Table, headings, text};
use crate::job::Watch;
use rayon::prelude::*;
use std::borrow::Cow;

const DELIMITERS: [u8; 4] = *b",;\t|";
/// Signs that may stand within cells too, so that they count only where the usual ones part nothing and they part every line alike.
const RARER: [u8; 4] = *b"^~:\x1f";
/// Lines looked at to guess the delimiter.
const LINES_LOOKED_AT: usize = 20;
/// Bytes that one worker reads at a time.
const CHUNK: usize = 1 << 20;

/// Reads the table.
///
/// # Errors
/// [`FileError`] when it is no text, has no header, is over 4 GB, or when somebody stopped it.
pub(super) fn read(file: &str, name: String, bytes: Vec<u8>, watch: &dyn Watch) -> Result<Table, FileError> {
    if bytes.len() > u32::MAX as usize / 2 {
        return Err(FileError::TooBig { file: file.to_owned(), what: "the table is over 2 GB, the most that is read".to_owned() });
    }
    let (mut text, note) = text::whole(bytes);
    if text.contains('\r') && !text.contains('\n') {
        text = text.replace('\r', "\n");
    }
    if text.as_bytes().iter().take(8192).any(|&b| b == 0) {
        return Err(FileError::Unknown { file: file.to_owned(), found: "this is not text but other data".to_owned() });
    }
    let mut notes: Vec<String> = note.into_iter().collect();
    let (delimiter, from) = delimiter(&text);
    let body = Body { bytes: text.as_bytes(), delimiter };
    let (from, title) = body.below_title(&text, from);
    notes.extend(title);
    let (header, begin) = body.row(from);
    let columns = column_names(&text, &header);
    if columns.is_empty() {
        return Err(FileError::broken(file, "row 1", "the names of the columns", "nothing"));
    }
    if columns.len() > MOST_COLUMNS {
        let what = format!("its first row names {} columns; at most {MOST_COLUMNS} are read", columns.len());
        return Err(FileError::TooBig { file: file.to_owned(), what });
    }
    let found = body.rows(begin, columns.len(), watch)?;
    notes.extend(found.notes(columns.len()));
    let rows = found.ends.len();
    let cells = Delimited { quoted: text.contains('"'), text, offsets: found.offsets, ends: found.ends };
    Ok(Table { columns, rows, cells: Box::new(cells), notes, ..Table::empty(name) })
}

/// The text of a whole file and where its cells begin: for each row one number a cell, and one behind the last.
#[derive(Debug)]
struct Delimited {
    text: String,
    offsets: Vec<u32>,
    /// Where each row's numbers end in `offsets`.
    ends: Vec<u32>,
    quoted: bool,
}

impl Cells for Delimited {
    fn cell(&self, row: usize, column: usize) -> Cow<'_, str> {
        let Some(&end) = self.ends.get(row) else { return Cow::Borrowed("") };
        let begin = if row == 0 { 0 } else { self.ends[row - 1] as usize };
        match self.offsets[begin..end as usize].get(column..column + 2) {
            Some(&[from, next]) => unquoted(slice(&self.text, from, next), self.quoted),
            _ => Cow::Borrowed(""),
        }
    }
}

/// The cell that begins at `from` when the next one begins at `next`.
fn slice(text: &str, from: u32, next: u32) -> &str {
    text.get(from as usize..(next as usize).saturating_sub(1)).unwrap_or("").trim()
}

fn unquoted(cell: &str, quoted: bool) -> Cow<'_, str> {
    if !quoted || !cell.starts_with('"') {
        return Cow::Borrowed(cell);
    }
    let inner = cell[1..].strip_suffix('"').unwrap_or(&cell[1..]);
    if inner.contains('"') { Cow::Owned(inner.replace("\"\"", "\"").trim().to_owned()) } else { Cow::Borrowed(inner.trim()) }
}

fn column_names(text: &str, header: &[u32]) -> Vec<String> {
    let mut names: Vec<String> = header.windows(2).map(|w| unquoted(slice(text, w[0], w[1]), true).into_owned()).collect();
    if names.iter().all(String::is_empty) {
        return Vec::new();
    }
    while names.last().is_some_and(String::is_empty) {
        names.pop();
    }
    for (i, name) in names.iter_mut().enumerate().filter(|(_, n)| n.is_empty()) {
        *name = format!("column {}", i + 1);
    }
    names
}

/// The delimiter, and where the header begins: the one that parts the first lines most evenly, the comma when none does.
fn delimiter(text: &str) -> (u8, usize) {
    let start: String = text.chars().take(5).collect();
    if let Some(said) = start.to_ascii_lowercase().strip_prefix("sep=").and_then(|d| d.bytes().next())
        && (DELIMITERS.contains(&said) || RARER.contains(&said))
    {
        return (said, text.find('\n').map_or(text.len(), |n| n + 1));
    }
    let score = |d: u8| {
        let body = Body { bytes: text.as_bytes(), delimiter: d };
        let (mut at, mut counts) = (0, Vec::new());
        while counts.len() < LINES_LOOKED_AT && at < body.bytes.len() {
            let (row, next) = body.row(at);
            counts.push(row.len().saturating_sub(2));
            at = next;
        }
        // The first line may be a title: how most lines are parted counts.
        let like = |n: usize| counts.iter().filter(|&&c| c == n).count();
        let usual = counts.iter().copied().filter(|&c| c > 0).max_by_key(|&n| (like(n), n)).unwrap_or(0);
        (if usual == 0 { 0 } else { like(usual) * 1000 / counts.len() }, usual)
    };
    let best = DELIMITERS.into_iter().rev().max_by_key(|&d| score(d)).unwrap_or(b',');
    let rarer = || RARER.into_iter().filter(|&d| score(d).0 == 1000).max_by_key(|&d| score(d).1).unwrap_or(b',');
    (if score(best).1 == 0 { rarer() } else { best }, 0)
}

struct Body<'a> {
    bytes: &'a [u8],
    delimiter: u8,
}

/// Where the cells of some rows begin, and what was odd about them.
#[derive(Default)]
struct Found {
    offsets: Vec<u32>,
    ends: Vec<u32>,
    short: usize,
    long: usize,
    open_quotation: bool,
}

impl Found {
    fn notes(&self, columns: usize) -> Vec<String> {
        let say =
            |rows: usize, what: &str| (rows > 0).then(|| format!("{} with {what} cells than the {columns} columns", rows_in_words(rows)));
        let open = "a quotation mark is opened and never closed: from there on quotation marks were read as letters";
        say(self.short, "fewer").into_iter().chain(say(self.long, "more")).chain(self.open_quotation.then(|| open.to_owned())).collect()
    }
}

impl Body<'_> {
    /// Where the line that names the columns begins, and what is said of a title above it.
    fn below_title(&self, text: &str, from: usize) -> (usize, Option<String>) {
        let (mut starts, mut lines) = (Vec::new(), Vec::new());
        let mut at = from;
        while lines.len() < headings::LOOKED_AT && at < self.bytes.len() {
            let (row, next) = self.row(at);
            lines.push(row.windows(2).map(|w| unquoted(slice(text, w[0], w[1]), true)).collect::<Vec<_>>());
            starts.push(at);
            at = next;
        }
        let heading = headings::heading(&lines);
        (starts.get(heading).copied().unwrap_or(from), headings::note(&lines[..heading.min(lines.len())]))
    }

    /// Where the cells of the row at `from` begin, one number behind the last, and where the next row begins.
    fn row(&self, from: usize) -> (Vec<u32>, usize) {
        let mut offsets = vec![from as u32];
        let mut at = from;
        loop {
            let (end, _) = self.cell_end(at, true);
            offsets.push(end as u32 + 1);
            at = end + 1;
            if self.bytes.get(end) != Some(&self.delimiter) {
                return (offsets, at);
            }
        }
    }

    /// Where the cell at `from` ends: at a delimiter, at a line's end, or behind the text. And whether a quotation stayed open.
    fn cell_end(&self, from: usize, quotations: bool) -> (usize, bool) {
        let ends = |b: &u8| *b == self.delimiter || *b == b'\n';
        let mut at = from;
        let mut open = false;
        if quotations {
            let blanks = self.bytes[from.min(self.bytes.len())..].iter().take_while(|b| **b == b' ').count();
            if self.bytes.get(from + blanks) == Some(&b'"') {
                match self.quotation_end(from + blanks + 1) {
                    Some(end) => at = end,
                    None => open = true,
                }
            }
        }
        let rest = self.bytes.get(at..).unwrap_or(&[]);
        (at + rest.iter().position(ends).unwrap_or(rest.len()), open)
    }

    /// Behind the quotation mark that closes the quotation whose first letter is at `at`.
    fn quotation_end(&self, mut at: usize) -> Option<usize> {
        loop {
            at += self.bytes.get(at..)?.iter().position(|&b| b == b'"')? + 1;
            if self.bytes.get(at) != Some(&b'"') {
                return Some(at);
            }
            at += 1;
        }
    }

    /// All rows from `begin` on. Without quotation marks the lines are read by several workers.
    fn rows(&self, begin: usize, columns: usize, watch: &dyn Watch) -> Result<Found, FileError> {
        let body = self.bytes.get(begin..).unwrap_or(&[]);
        if body.contains(&b'"') {
            return self.span(begin, self.bytes.len(), columns, true, watch);
        }
        let mut starts = vec![begin.min(self.bytes.len())];
        while let Some(&last) = starts.last()
            && last < self.bytes.len()
        {
            let from = (last + CHUNK).min(self.bytes.len());
            let line = self.bytes[from..].iter().position(|&b| b == b'\n');
            starts.push(line.map_or(self.bytes.len(), |n| from + n + 1));
        }
        let parts: Result<Vec<Found>, FileError> = starts.par_windows(2).map(|w| self.span(w[0], w[1], columns, false, watch)).collect();
        let parts = parts?;
        let sum = |count: fn(&Found) -> usize| parts.iter().map(count).sum();
        let (offsets, ends) = (Vec::with_capacity(sum(|p| p.offsets.len())), Vec::with_capacity(sum(|p| p.ends.len())));
        let mut all = Found { offsets, ends, ..Found::default() };
        for part in parts {
            let before = all.offsets.len() as u32;
            all.offsets.extend_from_slice(&part.offsets);
            all.ends.extend(part.ends.iter().map(|end| before + end));
            all.short += part.short;
            all.long += part.long;
        }
        Ok(all)
    }

    /// The rows that begin from `from` to before `to`; empty lines are passed over.
    fn span(&self, from: usize, to: usize, columns: usize, mut quotations: bool, watch: &dyn Watch) -> Result<Found, FileError> {
        let mut found = Found::default();
        found.offsets.reserve((to - from.min(to)) / 8);
        let mut at = from;
        let mut next_report = from;
        while at < to {
            if at >= next_report {
                watch.step("reading rows", at as u64, self.bytes.len() as u64)?;
                next_report = at + CHUNK;
            }
            at = self.take_row(at, columns, &mut quotations, &mut found);
        }
        found.offsets.shrink_to_fit();
        Ok(found)
    }

    /// Adds the row at `at` and answers where the next one begins.
    fn take_row(&self, mut at: usize, columns: usize, quotations: &mut bool, found: &mut Found) -> usize {
        let first = found.offsets.len();
        found.offsets.push(at as u32);
        let mut cells = 0;
        loop {
            let (end, open) = self.cell_end(at, *quotations);
            if open {
                (*quotations, found.open_quotation) = (false, true);
            }
            cells += 1;
            if cells <= columns {
                found.offsets.push(end as u32 + 1);
            }
            let last = self.bytes.get(end) != Some(&self.delimiter);
            if cells == 1 && last && self.bytes[at..end].trim_ascii().is_empty() {
                found.offsets.truncate(first);
                return end + 1;
            }
            at = end + 1;
            if last {
                break;
            }
        }
        found.short += usize::from(cells < columns);
        found.long += usize::from(cells > columns);
        found.ends.push(found.offsets.len() as u32);
        at
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;

    fn table(text: &[u8]) -> Table {
        read("a.csv", "a".to_owned(), text.to_vec(), &Unwatched).unwrap()
    }

    fn rows(t: &Table) -> Vec<Vec<String>> {
        (0..t.rows).map(|r| (0..t.columns.len()).map(|c| t.cell(r, c).into_owned()).collect()).collect()
    }

    #[test]
    fn all_four_delimiters_and_both_line_ends_give_the_same_table() {
        for d in [",", ";", "\t", "|"] {
            for end in ["\n", "\r\n"] {
                let text = ["id;kind;note", "7;tire;\"one; two\"", "", "8;\"say \"\"so\"\"\";"].join(end).replace(';', d);
                let t = table(text.as_bytes());
                assert_eq!(t.columns, ["id", "kind", "note"], "{text}");
                assert_eq!(rows(&t), [["7", "tire", &format!("one{d} two")], ["8", "say \"so\"", ""]], "{text}");
                assert!(t.notes.is_empty());
            }
        }
    }

    #[test]
    fn a_rarer_sign_parts_a_table_where_it_parts_every_line_alike() {
        for d in ["^", "~", ":", "\u{1f}"] {
            let t = table("id;kind;note\n7;tire;one\n8;pot;".replace(';', d).as_bytes());
            assert_eq!(rows(&t), [["7", "tire", "one"], ["8", "pot", ""]], "{d}");
        }
        assert_eq!(rows(&table(b"arrived\n08:30\n09:10\n")), [["08:30"], ["09:10"]]);
        assert_eq!(table(b"id,at\n1,08:30\n").columns, ["id", "at"]);
    }

    #[test]
    fn ragged_rows_are_kept_and_told() {
        let t = table(b"a,b,c\n1\n1,2,3,4\n 1 , 2 , 3 ");
        assert_eq!(rows(&t), [["1", "", ""], ["1", "2", "3"], ["1", "2", "3"]]);
        assert_eq!(t.notes, ["1 row with fewer cells than the 3 columns", "1 row with more cells than the 3 columns"]);
    }

    #[test]
    fn quotation_marks_that_open_nothing_are_letters() {
        let t = table(b"size,name\n5\" pot,\"two\nlines\"\n6,\"open\n7,b\n");
        assert_eq!(rows(&t), [["5\" pot", "two\nlines"], ["6", "open"], ["7", "b"]]);
        assert_eq!(t.notes.len(), 1);
    }

    #[test]
    fn a_title_above_the_names_is_passed_over_and_told() {
        let rows = "date,parcel_id,outcome,larvae\n2025-07-01,7,inspected,yes\n2025-07-01,8,refused,\n";
        let t = table(format!("Sheet of the week; typed by crew A\n\n{rows}").as_bytes());
        assert_eq!((t.columns.join("|"), t.rows, t.cell(1, 1)), ("date|parcel_id|outcome|larvae".to_owned(), 2, "8".into()));
        assert_eq!(t.notes, ["1 line above the names of the columns was passed over: 'Sheet of the week; typed by crew A'"]);
    }

    #[test]
    fn marks_encodings_and_lone_headers() {
        assert_eq!(table(b"\xef\xbb\xbfid,caf\xc3\xa9\n").columns, ["id", "café"]);
        let old = table(b"id,n\n1,caf\xe9\n");
        assert_eq!((rows(&old)[0][1].as_str(), old.notes.len()), ("café", 1));
        assert_eq!(table(b"sep=;\nid;a\n1;2").rows, 1);
        assert_eq!(table(b"id\n1\n2\n").rows, 2);
        assert_eq!(table(b"id,a\r1,2\r3,4").rows, 2);
        assert_eq!(table(b",x,,\n1,2,3,4").columns, ["column 1", "x"]);
    }

    #[test]
    fn many_workers_read_what_one_would() {
        let lines: String = (0..200_000).map(|i| format!("{i},{},x\n", i * 7)).collect();
        let t = table(format!("a,b,c\n{lines}").as_bytes());
        assert_eq!(t.rows, 200_000);
        assert!((0..t.rows).all(|r| t.cell(r, 0) == r.to_string() && t.cell(r, 1) == (r * 7).to_string() && t.cell(r, 2) == "x"));
    }

    #[test]
    fn every_cut_and_every_flipped_bit_gives_an_answer() {
        let whole = b"id,name,note\r\n1,\"a \"\"b\"\"\",x\r\n2,\"c\nd\",\r\n".to_vec();
        for n in 0..whole.len() * 8 {
            let mut bytes = whole.clone();
            bytes[n / 8] ^= 1 << (n % 8);
            for bytes in [bytes, whole[..n / 8].to_vec()] {
                if let Ok(t) = read("a.csv", String::new(), bytes, &Unwatched) {
                    assert!(t.rows <= 8);
                    rows(&t);
                }
            }
        }
    }
}
