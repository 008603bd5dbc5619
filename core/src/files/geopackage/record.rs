//! Rows as SQLite writes them, so that a long table can be written and read without asking for it row by row.
//!
//! # Source
//! SQLite, Database File Format, section 1.6 (variable-length integers) and 2.1 (record format).

/// Adds a number in SQLite's variable-length form, for numbers below 2^56.
pub(super) fn put_varint(v: u64, out: &mut Vec<u8>) {
    let groups = (64 - (v | 1).leading_zeros()).div_ceil(7);
    for k in (0..groups).rev() {
        out.push((v >> (7 * k)) as u8 & 0x7F | if k > 0 { 0x80 } else { 0 });
    }
}

/// Reads a variable-length number and says how many bytes it took; `None` when the bytes end first.
#[inline]
pub(super) fn varint(bytes: &[u8]) -> Option<(u64, usize)> {
    match bytes.first() {
        // Nearly all are that short.
        Some(&b) if b < 0x80 => Some((b.into(), 1)),
        _ => long_varint(bytes),
    }
}

fn long_varint(bytes: &[u8]) -> Option<(u64, usize)> {
    let mut v = 0u64;
    for (i, &b) in bytes.iter().enumerate().take(9) {
        if i == 8 {
            return Some((v << 8 | u64::from(b), 9));
        }
        v = v << 7 | u64::from(b & 0x7F);
        if b & 0x80 == 0 {
            return Some((v, i + 1));
        }
    }
    None
}

/// One row being written.
#[derive(Debug, Default)]
pub(crate) struct RecordWriter {
    types: Vec<u8>,
    body: Vec<u8>,
}

impl RecordWriter {
    /// Starts the next row.
    pub(crate) fn clear(&mut self) {
        self.types.clear();
        self.body.clear();
    }

    /// Adds an empty cell; also the row's own key, which is kept elsewhere.
    pub(crate) fn nothing(&mut self) {
        self.types.push(0);
    }

    /// Adds a whole number, or an empty cell.
    pub(crate) fn whole(&mut self, number: Option<i64>) {
        let Some(n) = number else { return self.nothing() };
        let (kind, bytes) = match n {
            0 => (8, 0),
            1 => (9, 0),
            _ if i8::try_from(n).is_ok() => (1, 1),
            _ if i16::try_from(n).is_ok() => (2, 2),
            -0x80_0000..=0x7F_FFFF => (3, 3),
            _ if i32::try_from(n).is_ok() => (4, 4),
            -0x8000_0000_0000..=0x7FFF_FFFF_FFFF => (5, 6),
            _ => (6, 8),
        };
        self.types.push(kind);
        self.body.extend_from_slice(&n.to_be_bytes()[8 - bytes..]);
    }

    /// Adds a number with a fraction, or an empty cell; what is no number becomes an empty cell.
    pub(crate) fn number(&mut self, number: Option<f64>) {
        let Some(n) = number.filter(|n| !n.is_nan()) else { return self.nothing() };
        self.types.push(7);
        self.body.extend_from_slice(&n.to_be_bytes());
    }

    /// Adds a text; an empty one becomes an empty cell where `or_nothing` says so.
    pub(crate) fn text(&mut self, text: &str, or_nothing: bool) {
        if text.is_empty() && or_nothing {
            return self.nothing();
        }
        put_varint(2 * text.len() as u64 + 13, &mut self.types);
        self.body.extend_from_slice(text.as_bytes());
    }

    /// Adds bytes that `write` appends.
    pub(crate) fn blob(&mut self, write: impl FnOnce(&mut Vec<u8>)) {
        let before = self.body.len();
        write(&mut self.body);
        put_varint(2 * (self.body.len() - before) as u64 + 12, &mut self.types);
    }

    /// The finished row: its head, then its cells. Up to 120 bytes of types.
    pub(super) fn parts(&self) -> (u8, &[u8], &[u8]) {
        debug_assert!(self.types.len() < 126);
        (self.types.len() as u8 + 1, &self.types, &self.body)
    }
}

/// One cell of a row read from a page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Cell<'a> {
    /// Nothing.
    Nothing,
    /// A whole number.
    Whole(i64),
    /// A number with a fraction.
    Number(f64),
    /// A text, not yet known to be UTF-8.
    Text(&'a [u8]),
    /// Bytes.
    Blob(&'a [u8]),
}

/// Splits a row into its cells, as many as `cells` has room for; cells that the row does not have are left as they are.
/// `None` when the row is broken.
pub(super) fn split<'a>(payload: &'a [u8], cells: &mut [Cell<'a>]) -> Option<()> {
    let (head, mut at) = varint(payload)?;
    let head = usize::try_from(head).ok().filter(|&h| h <= payload.len())?;
    let mut body = head;
    for cell in cells {
        if at >= head {
            break;
        }
        let (kind, bytes) = varint(&payload[at..head])?;
        at += bytes;
        let size = match kind {
            0 | 8 | 9 => 0,
            1..=4 => kind as usize,
            5 => 6,
            6 | 7 => 8,
            10 | 11 => return None,
            _ => usize::try_from((kind - 12) / 2).ok()?,
        };
        let value = payload.get(body..body.checked_add(size)?)?;
        body += size;
        *cell = match kind {
            0 => Cell::Nothing,
            7 => Cell::Number(f64::from_bits(whole(value) as u64)),
            8 => Cell::Whole(0),
            9 => Cell::Whole(1),
            1..=6 => Cell::Whole(whole(value)),
            _ if kind % 2 == 0 => Cell::Blob(value),
            _ => Cell::Text(value),
        };
    }
    Some(())
}

/// A number of up to eight bytes, the highest first, with its sign.
fn whole(bytes: &[u8]) -> i64 {
    if let Ok(eight) = bytes.try_into() {
        return i64::from_be_bytes(eight);
    }
    let fill = if bytes.first().is_some_and(|b| b & 0x80 != 0) { -1 } else { 0 };
    bytes.iter().fold(fill, |n: i64, &b| n << 8 | i64::from(b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_row_is_split_into_what_was_written(n in any::<i64>(), shift in 0u32..64, text in "\\PC{0,40}", blob in proptest::collection::vec(any::<u8>(), 0..300)) {
            let mut row = RecordWriter::default();
            row.nothing();
            row.whole(Some(n >> shift));
            row.text(&text, true);
            row.blob(|out| out.extend_from_slice(&blob));
            row.whole(None);
            row.number(Some(f64::from_bits(n as u64)).filter(|f| !f.is_nan()));
            let (head, types, body) = row.parts();
            let bytes = [&[head], types, body].concat();
            let mut cells = [Cell::Number(0.5); 6];
            prop_assert!(split(&bytes, &mut cells).is_some());
            let words = if text.is_empty() { Cell::Nothing } else { Cell::Text(text.as_bytes()) };
            let number = f64::from_bits(n as u64);
            let number = if number.is_nan() { Cell::Nothing } else { Cell::Number(number) };
            prop_assert_eq!(cells, [Cell::Nothing, Cell::Whole(n >> shift), words, Cell::Blob(&blob), Cell::Nothing, number]);
        }

        #[test]
        fn numbers_of_variable_length_are_read_back(v in 0u64..1 << 56, shift in 0u32..56) {
            let mut out = Vec::new();
            put_varint(v >> shift, &mut out);
            prop_assert_eq!(varint(&out), Some((v >> shift, out.len())));
        }
    }
}
