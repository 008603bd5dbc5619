//! Geometry blobs: a short header, then well-known binary, written from and read into flat columns.

use super::frame_tables::DISTRICT_SRS;
use crate::place::{Local, ShapeView, Shapes};

const POINT: u32 = 1;
const LINE: u32 = 2;
const POLYGON: u32 = 3;
const MANY_POINTS: u32 = 4;
const MANY_LINES: u32 = 5;
const MANY_POLYGONS: u32 = 6;
const MIXED: u32 = 7;

/// Bytes of the envelope by its kind: none, xy, xyz, xym, xyzm.
const ENVELOPES: [usize; 5] = [0, 32, 48, 48, 64];

/// Writes an outline as a blob of many polygons at the end of `out`.
///
/// # Source
/// OGC 12-128r18, 2.1.3.1.1, table 4 (header without envelope); OGC 06-103r4, 8.2 (well-known binary, little-endian).
pub(crate) fn polygon_blob(shape: ShapeView<'_>, out: &mut Vec<u8>) {
    header(out);
    geometry(MANY_POLYGONS, shape.parts().len(), out);
    for part in shape.parts() {
        geometry(POLYGON, part.rings().len(), out);
        for ring in part.rings() {
            number(ring.len() + usize::from(!ring.is_empty()), out);
            places(ring, out);
            places(&ring[..ring.len().min(1)], out);
        }
    }
}

/// Writes the runs of a street as a blob of many lines at the end of `out`.
pub(crate) fn line_blob(shape: ShapeView<'_>, out: &mut Vec<u8>) {
    header(out);
    geometry(MANY_LINES, shape.rings().len(), out);
    for run in shape.rings() {
        geometry(LINE, run.len(), out);
        places(run, out);
    }
}

/// Writes one place as a blob at the end of `out`.
pub(crate) fn point_blob(place: Local, out: &mut Vec<u8>) {
    header(out);
    out.push(1);
    out.extend_from_slice(&POINT.to_le_bytes());
    places(&[place], out);
}

fn header(out: &mut Vec<u8>) {
    out.extend_from_slice(&[b'G', b'P', 0, 1]);
    out.extend_from_slice(&DISTRICT_SRS.to_le_bytes());
}

fn geometry(kind: u32, members: usize, out: &mut Vec<u8>) {
    out.push(1);
    out.extend_from_slice(&kind.to_le_bytes());
    number(members, out);
}

fn number(n: usize, out: &mut Vec<u8>) {
    out.extend_from_slice(&(n as u32).to_le_bytes());
}

fn places(ring: &[Local], out: &mut Vec<u8>) {
    for p in ring {
        let mut pair = [0; 16];
        pair[..8].copy_from_slice(&p.x.to_le_bytes());
        pair[8..].copy_from_slice(&p.y.to_le_bytes());
        out.extend_from_slice(&pair);
    }
}

/// A geometry blob that breaks its format: what was expected, and at which byte of the blob.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected {expected} at byte {byte} of the geometry")]
pub(crate) struct Broken {
    expected: &'static str,
    byte: usize,
}

/// Whether a blob says of itself that it is empty.
pub(crate) fn is_nothing(blob: &[u8]) -> bool {
    blob.get(3).is_some_and(|flags| flags & 0b1_0000 != 0)
}

/// Reads a blob and adds it as the next shape: points, lines or polygons, one or many, in either byte order; heights and
/// measures are dropped.
///
/// # Errors
/// [`Broken`] when the blob breaks the format; the arena may then hold an unfinished shape and must be thrown away.
pub(crate) fn read_shape(blob: &[u8], into: &mut Shapes) -> Result<(), Broken> {
    let wrong = |expected, byte| Err(Broken { expected, byte });
    if blob.get(..2) != Some(b"GP") {
        return wrong("the letters GP", 0);
    }
    let flags = blob.get(3).copied().unwrap_or(0);
    let Some(envelope) = ENVELOPES.get(usize::from(flags >> 1 & 7)) else { return wrong("a known kind of envelope", 3) };
    let mut reader = Reader { bytes: blob, at: 8 + envelope };
    if flags & 0b1_0000 == 0 {
        reader.geometry(into, 0)?;
    }
    into.end_shape();
    Ok(())
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

/// Byte order and numbers to a place, as the header of one geometry gives them.
#[derive(Clone, Copy)]
struct Form {
    little: bool,
    kind: u32,
    /// Bytes to a place: 16, 24 or 32.
    place: usize,
}

impl<'a> Reader<'a> {
    fn geometry(&mut self, into: &mut Shapes, depth: u32) -> Result<(), Broken> {
        let form = self.form()?;
        match form.kind {
            POINT => self.run(1, form, into)?,
            LINE => {
                let n = self.count(form, form.place)?;
                self.run(n, form, into)?;
            }
            POLYGON => {
                for _ in 0..self.count(form, 4)? {
                    let n = self.count(form, form.place)?;
                    self.ring(n, form, into)?;
                }
                into.end_part();
            }
            MANY_POINTS | MANY_LINES | MANY_POLYGONS | MIXED if depth < 4 => {
                for _ in 0..self.count(form, 5)? {
                    self.geometry(into, depth + 1)?;
                }
            }
            _ => return self.wrong("a point, a line or a polygon"),
        }
        Ok(())
    }

    fn form(&mut self) -> Result<Form, Broken> {
        let little = match self.take(1, "a byte order")? {
            [0] => false,
            [1] => true,
            _ => return self.wrong("0 or 1 for the byte order"),
        };
        let kind = self.number(little)?;
        // Heights and measures are marked by thousands (ISO) or by the two highest bits (an older custom).
        let (thousands, base) = ((kind & 0x0FFF_FFFF) / 1000, (kind & 0x0FFF_FFFF) % 1000);
        let extra = match thousands {
            0 => (kind >> 31 & 1) + (kind >> 30 & 1),
            1 | 2 => 1,
            3 => 2,
            _ => return self.wrong("a known kind of geometry"),
        };
        Ok(Form { little, kind: base, place: 16 + 8 * extra as usize })
    }

    /// An open run of places that makes a part of its own.
    fn run(&mut self, n: usize, form: Form, into: &mut Shapes) -> Result<(), Broken> {
        self.places(n, form, into)?;
        into.end_ring();
        into.end_part();
        Ok(())
    }

    /// A ring; the last place is left out when it repeats the first.
    fn ring(&mut self, n: usize, form: Form, into: &mut Shapes) -> Result<(), Broken> {
        let bytes = self.bytes.get(self.at..self.at + n * form.place).unwrap_or(&[]);
        let closed = n > 1 && bytes.get(..16) == bytes.get((n - 1) * form.place..).and_then(|b| b.get(..16));
        self.places(n - usize::from(closed), form, into)?;
        self.at += usize::from(closed) * form.place;
        into.end_ring();
        Ok(())
    }

    fn places(&mut self, n: usize, form: Form, into: &mut Shapes) -> Result<(), Broken> {
        let bytes = self.take(n * form.place, "as many places as the geometry says")?;
        for place in bytes.chunks_exact(form.place) {
            let mut x = [0; 8];
            let mut y = [0; 8];
            x.copy_from_slice(&place[..8]);
            y.copy_from_slice(&place[8..16]);
            let read = |b| if form.little { f64::from_le_bytes(b) } else { f64::from_be_bytes(b) };
            into.push_place(Local { x: read(x), y: read(y) });
        }
        Ok(())
    }

    /// A number of things that take at least `size` bytes each, so that a false number cannot ask for all memory.
    fn count(&mut self, form: Form, size: usize) -> Result<usize, Broken> {
        let n = self.number(form.little)? as usize;
        let left = self.bytes.len() - self.at;
        if n.checked_mul(size).is_some_and(|needed| needed <= left) { Ok(n) } else { self.wrong("a number that the geometry has room for") }
    }

    fn number(&mut self, little: bool) -> Result<u32, Broken> {
        let mut four = [0; 4];
        four.copy_from_slice(self.take(4, "a whole number")?);
        Ok(if little { u32::from_le_bytes(four) } else { u32::from_be_bytes(four) })
    }

    fn take(&mut self, n: usize, expected: &'static str) -> Result<&'a [u8], Broken> {
        let Some(bytes) = self.at.checked_add(n).and_then(|to| self.bytes.get(self.at..to)) else { return self.wrong(expected) };
        self.at += n;
        Ok(bytes)
    }

    fn wrong<T>(&self, expected: &'static str) -> Result<T, Broken> {
        Err(Broken { expected, byte: self.at })
    }
}
