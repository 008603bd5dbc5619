//! Shapefiles: outlines in `.shp`, attributes in `.dbf`, the coordinate system in `.prj`, the encoding in `.cpg`.
//!
//! # Source
//! Esri Shapefile Technical Description, July 1998: main file header (p. 4), record headers (p. 5), shapes (pp. 6–24).

use super::bytes::Bytes;
use super::dbase::{self, Dbase};
use super::sketch::{Batch, Pen, Unusable};
use super::window::Window;
use super::{Cells, FileError, ShapeKind, Table, rings, wkt};
use crate::job::Watch;
use std::fs::File;
use std::io::Read;

const HEADER: usize = 100;
const FILE_CODE: u32 = 9994;
/// Records read between two looks at the watch.
const CHUNK: usize = 8192;

/// A table of attributes, not yet read: most of its bytes are blanks, which need not be kept.
#[derive(Debug)]
pub(super) enum Attributes {
    Memory(Vec<u8>),
    File(File),
}

/// The files that lie beside a `.shp`.
#[derive(Debug, Default)]
pub(super) struct Beside {
    pub dbf: Option<Attributes>,
    pub prj: Option<Vec<u8>>,
    pub cpg: Option<Vec<u8>>,
}

/// Whether some bytes begin as a shapefile does.
pub(super) fn sniff(start: &[u8]) -> bool {
    Bytes::new(start).u32_big_endian() == Some(FILE_CODE)
}

/// Reads a shapefile, its shapes straight from `shp`, of `size` bytes as far as is known.
///
/// # Errors
/// [`FileError`] when it cannot be read, when the header is none of a shapefile or of a dBASE table, or when somebody stopped it.
pub(super) fn read(file: &str, name: String, (shp, size): (impl Read, u64), beside: Beside, watch: &dyn Watch) -> Result<Table, FileError> {
    let mut shp = Records::new(file, shp)?;
    let encoding = beside.cpg.map(|b| String::from_utf8_lossy(&b).into_owned());
    let has_table = beside.dbf.is_some();
    let parse = |attributes| match attributes {
        Attributes::Memory(bytes) => dbase::parse(file, (&bytes[..], bytes.len() as u64), encoding.as_deref()),
        Attributes::File(table) => {
            let size = table.metadata().map_or(0, |m| m.len());
            dbase::parse(file, (table, size), encoding.as_deref())
        }
    };
    let dbase = beside.dbf.map(parse).transpose()?;
    let mut batch = shp.draw(dbase.as_ref().map_or(&[], Dbase::deleted), size, watch)?;
    let mut notes = shp.notes;
    let rows = fill_up(&mut batch, dbase.as_ref(), &mut notes);
    notes.extend(batch.remarks.notes());
    let crs = beside.prj.and_then(|text| wkt::named(&String::from_utf8_lossy(&text), ".prj file", &mut notes));
    if !has_table {
        notes.push("there is no .dbf file beside it: the shapes have no attributes".to_owned());
    }
    let (columns, cells) = columns(dbase, &mut notes);
    Ok(Table { name, crs, columns, rows, cells, kinds: batch.kinds, shapes: batch.shapes, unusable: batch.unusable, notes })
}

/// A dBASE table on its own.
///
/// # Errors
/// As [`dbase::parse`].
pub(super) fn read_attributes(file: &str, name: String, dbf: Vec<u8>, cpg: Option<Vec<u8>>) -> Result<Table, FileError> {
    let encoding = cpg.map(|b| String::from_utf8_lossy(&b).into_owned());
    let dbase = dbase::parse(file, (&dbf[..], dbf.len() as u64), encoding.as_deref())?;
    let rows = dbase.rows();
    let mut notes = Vec::new();
    let (columns, cells) = columns(Some(dbase), &mut notes);
    Ok(Table { rows, columns, cells, notes, ..Table::empty(name) })
}

fn columns(dbase: Option<Dbase>, notes: &mut Vec<String>) -> (Vec<String>, Box<dyn Cells>) {
    match dbase {
        Some(mut table) => {
            notes.append(&mut table.notes);
            (table.columns(), Box::new(table))
        }
        None => (Vec::new(), Box::new(Vec::new())),
    }
}

fn check_header(file: &str, header: &[u8]) -> Result<(), FileError> {
    let expected = "the file code 9994 of a shapefile";
    match Bytes::new(header).u32_big_endian() {
        Some(FILE_CODE) if header.len() >= HEADER => Ok(()),
        Some(FILE_CODE) | None => {
            Err(FileError::broken(file, "byte 0", "a header of 100 bytes", format!("a file of {} bytes", header.len())))
        }
        Some(other) => Err(FileError::broken(file, "byte 0", expected, other.to_string())),
    }
}

/// The records of a file of shapes, as far as their headers can be followed.
struct Records<'f, R> {
    file: &'f str,
    bytes: Window<R>,
    /// Where the next record begins.
    at: u64,
    /// How many records there were so far.
    count: usize,
    notes: Vec<String>,
}

impl<'f, R: Read> Records<'f, R> {
    fn new(file: &'f str, source: R) -> Result<Self, FileError> {
        let mut bytes = Window::new(source);
        check_header(file, bytes.next(HEADER).map_err(|error| closed(file, error))?)?;
        Ok(Self { file, bytes, at: HEADER as u64, count: 0, notes: Vec::new() })
    }

    /// The content of the next record; nothing behind the last. A cut record still is a record; its shape will be found unusable.
    fn next(&mut self) -> Result<Option<&[u8]>, FileError> {
        let closed = |error| closed(self.file, error);
        let mut header = Bytes::new(self.bytes.next(8).map_err(closed)?);
        let Some(words) = header.u32_big_endian().and(header.u32_big_endian()) else { return Ok(None) };
        let length = words as usize * 2;
        let held = self.bytes.hold(length).map_err(closed)?;
        self.count += 1;
        if length == 0 || held < length {
            let (row, at) = (self.count, self.at);
            self.notes.push(format!("the file of shapes breaks off at row {row} (byte {at}): rows from there on have no shape"));
        }
        self.at += 8 + length as u64;
        Ok((length > 0).then(|| self.bytes.give(held)))
    }

    /// The shapes of all records but those with some numbers, which rise.
    fn draw(&mut self, without: &[usize], size: u64, watch: &dyn Watch) -> Result<Batch, FileError> {
        let mut batch = Batch::default();
        let mut without = without.iter().copied().peekable();
        loop {
            let number = self.count;
            if number.is_multiple_of(CHUNK) {
                watch.step("reading shapes", self.at, size)?;
            }
            if number == CHUNK {
                batch.make_room(size as f64 / self.at as f64);
            }
            let Some(content) = self.next()? else { return Ok(batch) };
            if without.next_if_eq(&number).is_none() {
                batch.row(|pen| shape(content, pen));
            }
        }
    }
}

fn closed(file: &str, source: std::io::Error) -> FileError {
    FileError::Closed { file: file.to_owned(), source }
}

/// Gives rows without a shape an empty one; rows without attributes are told. Answers how many rows there are.
fn fill_up(batch: &mut Batch, dbase: Option<&Dbase>, notes: &mut Vec<String>) -> usize {
    let (shapes, attributes) = (batch.kinds.len(), dbase.map_or(batch.kinds.len(), Dbase::rows));
    if shapes < attributes {
        notes.push(format!("there are {shapes} shapes for {attributes} rows of attributes: the rest have no shape"));
    } else if attributes < shapes {
        notes.push(format!("there are {attributes} rows of attributes for {shapes} shapes: the rest have no attributes"));
    }
    for _ in shapes..attributes {
        batch.row(|_| Ok(()));
    }
    shapes.max(attributes)
}

/// Draws one record.
fn shape(content: &[u8], pen: &mut Pen<'_>) -> Result<(), Unusable> {
    let mut content = Bytes::new(content);
    let kind = content.u32().ok_or("is cut short")?;
    match kind {
        0 => return Ok(()),
        11 | 13 | 15 | 18 => pen.without_heights(),
        21 | 23 | 25 | 28 => pen.without_measures(),
        _ => {}
    }
    match kind {
        1 | 11 | 21 => pen.member(ShapeKind::Point, |pen| points(&mut content, 1, pen)),
        8 | 18 | 28 => {
            content.take(32).ok_or("is cut short")?;
            let count = content.u32().ok_or("is cut short")?;
            pen.member(ShapeKind::Point, |pen| points(&mut content, count, pen))
        }
        3 | 13 | 23 => pen.member(ShapeKind::Line, |pen| {
            each_ring(&mut content, |ring| {
                pen.places(ring_places(ring))?;
                pen.end_run();
                Ok(())
            })
        }),
        5 | 15 | 25 => pen.member(ShapeKind::Polygon, |pen| polygon(&mut content, pen)),
        31 => Err("is a multipatch (surfaces of a body), which bounds no ground".into()),
        other => Err(format!("is of the unknown kind {other}").into()),
    }
}

fn points(content: &mut Bytes<'_>, count: u32, pen: &mut Pen<'_>) -> Result<(), Unusable> {
    for _ in 0..count {
        let (x, y) = content.f64().zip(content.f64()).ok_or("is cut short")?;
        pen.place(x, y)?;
        pen.end_run();
    }
    Ok(())
}

fn polygon(content: &mut Bytes<'_>, pen: &mut Pen<'_>) -> Result<(), Unusable> {
    let mut single = true;
    let mut many: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut first: Option<&[u8]> = None;
    each_ring(content, |ring| {
        if let Some(before) = first.replace(ring) {
            single = false;
            many.push(ring_places(before).collect());
        }
        Ok(())
    })?;
    let Some(last) = first else { return Ok(()) };
    if single {
        pen.places(ring_places(last))?;
        pen.end_ring();
        pen.end_part();
        return Ok(());
    }
    many.push(ring_places(last).collect());
    rings::draw(&many, pen)
}

/// Calls `each` with the bytes of every ring or run: box, number of parts, number of places, where parts begin, places.
fn each_ring<'a>(content: &mut Bytes<'a>, mut each: impl FnMut(&'a [u8]) -> Result<(), Unusable>) -> Result<(), Unusable> {
    let cut = "is cut short";
    content.take(32).ok_or(cut)?;
    let (parts, places) = content.u32().zip(content.u32()).ok_or(cut)?;
    let (parts, places) = (parts as usize, places as usize);
    if parts.saturating_mul(4).saturating_add(places.saturating_mul(16)) > content.left() {
        return Err(format!("says it has {parts} parts and {places} places, more than its record holds").into());
    }
    let begins = content.take(parts * 4).ok_or(cut)?;
    let all = content.take(places * 16).ok_or(cut)?;
    let begin = |i: usize| begins[i * 4..i * 4 + 4].try_into().map(u32::from_le_bytes).map_or(places, |n| n as usize);
    for i in 0..parts {
        let (from, to) = (begin(i), if i + 1 < parts { begin(i + 1) } else { places });
        let ring = all.get(from.saturating_mul(16)..to.saturating_mul(16)).ok_or("has parts that begin outside it")?;
        each(ring)?;
    }
    Ok(())
}

fn ring_places(bytes: &[u8]) -> impl Iterator<Item = [f64; 2]> {
    bytes.chunks_exact(16).map(|b| {
        let number = |at: usize| b[at..at + 8].try_into().map_or(f64::NAN, f64::from_le_bytes);
        [number(0), number(8)]
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;

    fn record(out: &mut Vec<u8>, content: &[u8]) {
        out.extend(1u32.to_be_bytes());
        out.extend((content.len() as u32 / 2).to_be_bytes());
        out.extend(content);
    }

    fn polygon_record(rings: &[&[[f64; 2]]]) -> Vec<u8> {
        let mut out = 5u32.to_le_bytes().to_vec();
        out.extend([0; 32]);
        out.extend((rings.len() as u32).to_le_bytes());
        out.extend((rings.iter().map(|r| r.len() as u32).sum::<u32>()).to_le_bytes());
        let mut begin = 0u32;
        for ring in rings {
            out.extend(begin.to_le_bytes());
            begin += ring.len() as u32;
        }
        rings.iter().copied().flatten().flatten().for_each(|v| out.extend(v.to_le_bytes()));
        out
    }

    /// Two squares, the second with a hole, and a null shape between them.
    fn small() -> Vec<u8> {
        let mut out = FILE_CODE.to_be_bytes().to_vec();
        out.resize(HEADER, 0);
        let outer = [[0.0, 0.0], [0.0, 9.0], [9.0, 9.0], [9.0, 0.0], [0.0, 0.0]];
        let hole = [[2.0, 2.0], [4.0, 2.0], [4.0, 4.0], [2.0, 2.0]];
        record(&mut out, &polygon_record(&[&outer]));
        record(&mut out, &0u32.to_le_bytes());
        record(&mut out, &polygon_record(&[&hole, &outer]));
        out
    }

    fn with_dbf(records: &[&str]) -> Beside {
        Beside { dbf: Some(Attributes::Memory(dbase::tests::table(&[("ID", b'C', 1)], records, 0))), ..Beside::default() }
    }

    fn read_small(shp: Vec<u8>, beside: Beside) -> Result<Table, FileError> {
        read("a.shp", "a".to_owned(), (&shp[..], shp.len() as u64), beside, &Unwatched)
    }

    #[test]
    fn rings_come_without_their_first_place_repeated_and_holes_behind_their_outer_ring() {
        let t = read_small(small(), with_dbf(&[" a", " b", " c"])).unwrap();
        assert_eq!(t.kinds, [ShapeKind::Polygon, ShapeKind::Nothing, ShapeKind::Polygon]);
        assert_eq!((t.shapes.ring_ends.as_slice(), t.shapes.part_ends.as_slice()), (&[4, 8, 11][..], &[1, 3][..]));
        assert_eq!((t.shapes.shape_ends.as_slice(), t.cell(2, 0).as_ref()), (&[1, 1, 2][..], "c"));
        assert_eq!(t.shapes.xy[8], [2.0, 2.0]);
    }

    #[test]
    fn a_deleted_row_takes_its_shape_with_it() {
        let t = read_small(small(), with_dbf(&["*a", " b", " c"])).unwrap();
        assert_eq!((t.rows, t.kinds.as_slice()), (2, &[ShapeKind::Nothing, ShapeKind::Polygon][..]));
        assert_eq!(t.cell(1, 0), "c");
    }

    #[test]
    fn tables_of_another_length_are_told_and_filled_up() {
        let short = read_small(small(), with_dbf(&[" a"])).unwrap();
        assert_eq!((short.rows, short.cell(2, 0).as_ref(), short.notes.len()), (3, "", 1));
        let long = read_small(small(), with_dbf(&[" a", " b", " c", " d"])).unwrap();
        assert_eq!((long.rows, long.kinds[3], long.shapes.len()), (4, ShapeKind::Nothing, 4));
    }

    #[test]
    fn every_cut_and_every_flipped_bit_gives_an_answer() {
        let whole = small();
        for cut in 0..whole.len() {
            if let Ok(t) = read_small(whole[..cut].to_vec(), Beside::default()) {
                assert!(cut >= HEADER && t.rows <= 3);
            }
        }
        for bit in 0..whole.len() * 8 {
            let mut bytes = whole.clone();
            bytes[bit / 8] ^= 1 << (bit % 8);
            let Ok(t) = read_small(bytes, Beside::default()) else { continue };
            assert!(t.shapes.xy.len() <= whole.len() / 16 && t.kinds.len() == t.shapes.len());
            assert!(t.shapes.xy.iter().flatten().all(|v| v.is_finite()));
        }
    }
}
