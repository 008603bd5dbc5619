//! OpenStreetMap's binary form.
//!
//! # Source
//! The OpenStreetMap wiki, "PBF Format", and the protocol buffers' encoding guide: fileformat.proto and osmformat.proto.

use super::Map;
use crate::files::FileError;
use crate::job::Watch;
use std::io::Read as _;

/// The longest head of a block and the longest block, packed or not, that the format allows.
const MOST_HEAD: usize = 64 << 10;
const MOST_BLOCK: usize = 32 << 20;

/// Reads all blocks.
pub(super) fn read(bytes: &[u8], map: &mut Map<'_>, watch: &dyn Watch) -> Result<(), FileError> {
    let mut at = 0;
    while at < bytes.len() {
        watch.step("reading the map", at as u64, bytes.len() as u64)?;
        let (kind, block, next) =
            block(bytes, at).ok_or_else(|| map.broken(format!("byte {at}"), "a block of a .pbf", "the end of the file, or a length that is not allowed"))?;
        at = next;
        if kind == b"OSMData" {
            let unpacked = unpacked(block).ok_or_else(|| map.broken(format!("the block before byte {at}"), "a block packed by zlib", "another packing, or a broken one"))?;
            primitives(&unpacked, map)?;
        }
    }
    Ok(())
}

/// The kind of the block at a byte, its blob, and where the next begins.
fn block(bytes: &[u8], at: usize) -> Option<(&[u8], &[u8], usize)> {
    let length = u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?) as usize;
    let head = bytes.get(at + 4..(at + 4).checked_add(length)?).filter(|h| h.len() <= MOST_HEAD)?;
    let (mut kind, mut size) = (&[][..], 0u64);
    for field in Fields(head) {
        match field? {
            (1, Value::Bytes(name)) => kind = name,
            (3, Value::Number(n)) => size = n,
            _ => {}
        }
    }
    let from = at + 4 + length;
    let to = from.checked_add(usize::try_from(size).ok().filter(|s| *s <= MOST_BLOCK)?)?;
    Some((kind, bytes.get(from..to)?, to))
}

/// The bytes of a blob, unpacked.
fn unpacked(blob: &[u8]) -> Option<Vec<u8>> {
    for field in Fields(blob) {
        match field? {
            (1, Value::Bytes(raw)) => return Some(raw.to_vec()),
            (3, Value::Bytes(packed)) => {
                let mut out = Vec::new();
                flate2::read::ZlibDecoder::new(packed).take(MOST_BLOCK as u64 + 1).read_to_end(&mut out).ok()?;
                return Some(out).filter(|o| o.len() <= MOST_BLOCK);
            }
            _ => {}
        }
    }
    None
}

/// A block's table of texts and the scale of its coordinates.
struct Block<'a> {
    texts: Vec<&'a [u8]>,
    granularity: i64,
    origin: [i64; 2],
}

impl Block<'_> {
    fn text(&self, i: u64) -> &str {
        self.texts.get(i as usize).and_then(|t| std::str::from_utf8(t).ok()).unwrap_or("")
    }

    /// Degrees of a coordinate along an axis (0: latitude, 1: longitude).
    fn degrees(&self, axis: usize, units: i64) -> f64 {
        1e-9 * (self.origin[axis] as f64 + self.granularity as f64 * units as f64)
    }
}

fn primitives(bytes: &[u8], map: &mut Map<'_>) -> Result<(), FileError> {
    let whole = |map: &Map<'_>| map.broken("a block", "fields of a .pbf", "a field that goes on behind the end");
    let mut block = Block { texts: Vec::new(), granularity: 100, origin: [0, 0] };
    let mut groups = Vec::new();
    for field in Fields(bytes) {
        match field.ok_or_else(|| whole(map))? {
            (1, Value::Bytes(table)) => block.texts.extend(Fields(table).flatten().filter_map(|(_, v)| v.bytes())),
            (2, Value::Bytes(group)) => groups.push(group),
            (17, Value::Number(n)) => block.granularity = n as i64,
            (19, Value::Number(n)) => block.origin[0] = n as i64,
            (20, Value::Number(n)) => block.origin[1] = n as i64,
            _ => {}
        }
    }
    for field in groups.into_iter().flat_map(Fields) {
        match field.ok_or_else(|| whole(map))? {
            (1, Value::Bytes(node)) => single(node, &block, map)?,
            (2, Value::Bytes(nodes)) => dense(nodes, &block, map)?,
            (3, Value::Bytes(way)) => road(way, &block, map),
            _ => {}
        }
    }
    Ok(())
}

fn single(bytes: &[u8], block: &Block<'_>, map: &mut Map<'_>) -> Result<(), FileError> {
    let (mut id, mut lat, mut lon) = (0, 0, 0);
    for (number, value) in Fields(bytes).flatten() {
        match (number, value) {
            (1, Value::Number(n)) => id = signed(n),
            (8, Value::Number(n)) => lat = signed(n),
            (9, Value::Number(n)) => lon = signed(n),
            _ => {}
        }
    }
    map.node(id, block.degrees(1, lon), block.degrees(0, lat))
}

/// Nodes whose ids and coordinates are written as differences from the node before.
fn dense(bytes: &[u8], block: &Block<'_>, map: &mut Map<'_>) -> Result<(), FileError> {
    let mut lists: [&[u8]; 3] = [&[]; 3];
    for (number, value) in Fields(bytes).flatten() {
        if let (1 | 8 | 9, Value::Bytes(list)) = (number, value) {
            lists[match number {
                1 => 0,
                8 => 1,
                _ => 2,
            }] = list;
        }
    }
    let [ids, lats, lons] = lists.map(|list| Numbers(list).map(signed));
    let (mut id, mut lat, mut lon) = (0i64, 0i64, 0i64);
    for ((a, b), c) in ids.zip(lats).zip(lons) {
        (id, lat, lon) = (id.wrapping_add(a), lat.wrapping_add(b), lon.wrapping_add(c));
        map.node(id, block.degrees(1, lon), block.degrees(0, lat))?;
    }
    Ok(())
}

fn road(bytes: &[u8], block: &Block<'_>, map: &mut Map<'_>) {
    let (mut id, mut keys, mut values, mut refs): (i64, &[u8], &[u8], &[u8]) = (0, &[], &[], &[]);
    for (number, value) in Fields(bytes).flatten() {
        match (number, value) {
            (1, Value::Number(n)) => id = n as i64,
            (2, Value::Bytes(list)) => keys = list,
            (3, Value::Bytes(list)) => values = list,
            (8, Value::Bytes(list)) => refs = list,
            _ => {}
        }
    }
    let tags: Vec<(&str, &str)> = Numbers(keys).zip(Numbers(values)).map(|(k, v)| (block.text(k), block.text(v))).collect();
    let nodes = Numbers(refs).map(signed).scan(0i64, |at, step| {
        *at = at.wrapping_add(step);
        Some(*at)
    });
    map.way(id, nodes.collect(), &tags);
}

/// A number written zigzag: 0, -1, 1, -2 as 0, 1, 2, 3.
fn signed(n: u64) -> i64 {
    (n >> 1) as i64 ^ -((n & 1) as i64)
}

/// What stands in a field.
#[derive(Clone, Copy, Debug)]
enum Value<'a> {
    Number(u64),
    Bytes(&'a [u8]),
    /// Eight or four bytes, which nothing here needs.
    Fixed,
}

impl<'a> Value<'a> {
    fn bytes(self) -> Option<&'a [u8]> {
        match self {
            Self::Bytes(b) => Some(b),
            _ => None,
        }
    }
}

/// The fields of a message: each its number and value; `None`, and then the end, where one cannot be read.
struct Fields<'a>(&'a [u8]);

impl<'a> Iterator for Fields<'a> {
    type Item = Option<(u64, Value<'a>)>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.0.is_empty() {
            return None;
        }
        let field = self.field();
        if field.is_none() {
            self.0 = &[];
        }
        Some(field)
    }
}

impl<'a> Fields<'a> {
    fn field(&mut self) -> Option<(u64, Value<'a>)> {
        let key = varint(&mut self.0)?;
        let value = match key & 7 {
            0 => Value::Number(varint(&mut self.0)?),
            1 => self.take(8).map(|_| Value::Fixed)?,
            2 => {
                let length = usize::try_from(varint(&mut self.0)?).ok()?;
                Value::Bytes(self.take(length)?)
            }
            5 => self.take(4).map(|_| Value::Fixed)?,
            _ => return None,
        };
        Some((key >> 3, value))
    }

    fn take(&mut self, length: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(length)?;
        self.0 = rest;
        Some(taken)
    }
}

/// Numbers packed one after the other.
struct Numbers<'a>(&'a [u8]);

impl Iterator for Numbers<'_> {
    type Item = u64;

    fn next(&mut self) -> Option<u64> {
        varint(&mut self.0)
    }
}

/// A number of up to ten bytes, seven bits each, the lowest first.
fn varint(bytes: &mut &[u8]) -> Option<u64> {
    let mut out = 0u64;
    for (i, byte) in bytes.iter().enumerate().take(10) {
        out |= u64::from(byte & 0x7f).checked_shl(7 * i as u32).unwrap_or(0);
        if byte & 0x80 == 0 {
            *bytes = &bytes[i + 1..];
            return Some(out);
        }
    }
    None
}
