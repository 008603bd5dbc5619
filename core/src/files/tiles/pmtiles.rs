//! PMTiles, version 3: one file, a header, directories of tile numbers, and the tiles.
//!
//! # Source
//! The PMTiles specification, version 3.4 (docs of the format's own repository), from memory; the tile numbers below are those
//! of its table.

use super::super::FileError;
use super::super::bytes::Bytes;
use super::{MOST_BYTES, TileFacts, TilePicture, not_read, plain_words, vector};
use crate::place::{LonLat, WebTile};
use flate2::read::GzDecoder;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{Read as _, Seek as _, SeekFrom};
use std::sync::{Arc, Mutex, PoisonError};

const HEADER: usize = 127;
/// Directories may point to directories, but a file that goes on doing so is broken.
const DEEPEST: usize = 4;
/// Leaf directories kept in memory.
const MOST_LEAVES: usize = 64;

/// An open file.
#[derive(Debug)]
pub(super) struct Pmtiles {
    name: String,
    file: Mutex<File>,
    head: Head,
    root: Arc<Vec<Entry>>,
    leaves: Mutex<BTreeMap<u64, Arc<Vec<Entry>>>>,
}

/// A run of numbers with one tile, or a leaf directory (`run` 0).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Entry {
    number: u64,
    run: u32,
    offset: u64,
    length: u32,
}

#[derive(Debug)]
struct Head {
    root: (u64, u64),
    about: (u64, u64),
    leaves: u64,
    tiles: u64,
    packed: u8,
    tiles_packed: u8,
    kind: u8,
    zooms: (u8, u8),
    corners: [i32; 4],
}

impl Head {
    /// Reads the header; `None` where the bytes end too early.
    fn read(bytes: &[u8]) -> Option<Self> {
        let mut b = Bytes::new(bytes.get(8..HEADER)?);
        let mut long = || b.take(8).and_then(|v| v.try_into().ok()).map(u64::from_le_bytes);
        let (root, about) = ((long()?, long()?), (long()?, long()?));
        let leaves = long()?;
        long()?;
        let tiles = long()?;
        for _ in 0..4 {
            long()?;
        }
        b.byte()?;
        let (packed, tiles_packed, kind) = (b.byte()?, b.byte()?, b.byte()?);
        let zooms = (b.byte()?, b.byte()?);
        let mut corners = [0; 4];
        for c in &mut corners {
            *c = b.u32()? as i32;
        }
        Some(Self { root, about, leaves, tiles, packed, tiles_packed, kind, zooms, corners })
    }

    fn corners(&self) -> Option<[LonLat; 2]> {
        let [west, south, east, north] = self.corners.map(|v| f64::from(v) / 1e7);
        Some([LonLat::new(west, south)?, LonLat::new(east, north)?]).filter(|_| west < east && south < north)
    }
}

impl Pmtiles {
    /// Reads the header, the description and the first directory.
    pub(super) fn open(mut file: File, name: &str) -> Result<(TileFacts, Self), FileError> {
        let mut first = Vec::new();
        let closed = |source| FileError::Closed { file: name.to_owned(), source };
        file.rewind().map_err(closed)?;
        file.by_ref().take(HEADER as u64).read_to_end(&mut first).map_err(closed)?;
        let version = first.get(7).copied().filter(|_| first.starts_with(b"PMTiles"));
        if version != Some(3) {
            let which = version.map_or_else(|| "an early version".to_owned(), |v| format!("version {v}"));
            return Err(not_read(name, format!("these are PMTiles of {which}; only version 3 is read")));
        }
        let head = Head::read(&first).ok_or_else(|| FileError::broken(name, "the header", "127 bytes", format!("{}", first.len())))?;
        let picture = match head.kind {
            1 => return Err(vector(name)),
            2 => TilePicture::Png,
            3 => TilePicture::Jpeg,
            4 => TilePicture::Webp,
            other => return Err(not_read(name, format!("its tiles are of a kind that is not drawn (number {other})"))),
        };
        let mut inside = Self { name: name.to_owned(), file: Mutex::new(file), head, root: Arc::default(), leaves: Mutex::default() };
        inside.root = Arc::new(inside.directory(inside.head.root)?);
        let about = inside.about();
        let text = |key: &str| about.get(key).and_then(|v| v.as_str()).unwrap_or_default();
        let facts = TileFacts {
            name: plain_words(text("name")),
            attribution: plain_words(text("attribution")),
            picture,
            least_zoom: inside.head.zooms.0.min(WebTile::MOST_ZOOM),
            most_zoom: inside.head.zooms.1.min(WebTile::MOST_ZOOM),
            corners: inside.head.corners(),
            side: text("tileSize").parse().ok().filter(|s| (64..=4096).contains(s)),
        };
        Ok((facts, inside))
    }

    /// The description; nothing where it cannot be read, as the tiles can be drawn without it.
    fn about(&self) -> serde_json::Value {
        let bytes = self.part(self.head.about).and_then(|b| self.unpacked(b, self.head.packed));
        bytes.ok().and_then(|b| serde_json::from_slice(&b).ok()).unwrap_or_default()
    }

    /// A tile's bytes.
    pub(super) fn tile(&self, tile: WebTile) -> Result<Option<Vec<u8>>, FileError> {
        let number = number(tile);
        let mut directory = Arc::clone(&self.root);
        for _ in 0..DEEPEST {
            let Some(entry) = entry_of(&directory, number) else { return Ok(None) };
            if entry.run > 0 {
                let at = (self.head.tiles.saturating_add(entry.offset), u64::from(entry.length));
                return self.part(at).and_then(|b| self.unpacked(b, self.head.tiles_packed)).map(Some);
            }
            directory = self.leaf((self.head.leaves.saturating_add(entry.offset), u64::from(entry.length)))?;
        }
        Err(FileError::broken(&self.name, "the directories", "a tile", "directories that point on and on"))
    }

    fn leaf(&self, part: (u64, u64)) -> Result<Arc<Vec<Entry>>, FileError> {
        let mut leaves = self.leaves.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = leaves.get(&part.0) {
            return Ok(Arc::clone(known));
        }
        let read = Arc::new(self.directory(part)?);
        if leaves.len() >= MOST_LEAVES {
            leaves.pop_first();
        }
        leaves.insert(part.0, Arc::clone(&read));
        Ok(read)
    }

    fn directory(&self, part: (u64, u64)) -> Result<Vec<Entry>, FileError> {
        let bytes = self.part(part).and_then(|b| self.unpacked(b, self.head.packed))?;
        entries(&bytes).ok_or_else(|| FileError::broken(&self.name, "a directory of tiles", "tile numbers", "bytes that end too early"))
    }

    /// Bytes of the file from a place.
    fn part(&self, (offset, length): (u64, u64)) -> Result<Vec<u8>, FileError> {
        if length > MOST_BYTES {
            return Err(FileError::TooBig { file: self.name.clone(), what: format!("a part of {length} bytes; at most {MOST_BYTES}") });
        }
        let closed = |source| FileError::Closed { file: self.name.clone(), source };
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        file.seek(SeekFrom::Start(offset)).map_err(closed)?;
        let mut bytes = Vec::new();
        file.by_ref().take(length).read_to_end(&mut bytes).map_err(closed)?;
        if (bytes.len() as u64) < length {
            let place = format!("byte {offset}");
            return Err(FileError::broken(&self.name, place, format!("{length} bytes"), format!("{} before the file ends", bytes.len())));
        }
        Ok(bytes)
    }

    fn unpacked(&self, bytes: Vec<u8>, packed: u8) -> Result<Vec<u8>, FileError> {
        match packed {
            0 | 1 => Ok(bytes),
            2 => {
                let mut out = Vec::new();
                let read = GzDecoder::new(&bytes[..]).take(MOST_BYTES + 1).read_to_end(&mut out);
                match read {
                    Ok(n) if n as u64 <= MOST_BYTES => Ok(out),
                    Ok(_) => Err(FileError::TooBig { file: self.name.clone(), what: format!("a part of over {MOST_BYTES} bytes") }),
                    Err(e) => Err(FileError::broken(&self.name, "a packed part", "gzip", e.to_string())),
                }
            }
            other => Err(not_read(&self.name, format!("it is packed in a way that is not read (number {other}); gzip is"))),
        }
    }
}

/// The entry that a tile's number falls under.
fn entry_of(directory: &[Entry], number: u64) -> Option<Entry> {
    let entry = *directory.get(directory.partition_point(|e| e.number <= number).checked_sub(1)?)?;
    (entry.run == 0 || number - entry.number < u64::from(entry.run)).then_some(entry)
}

/// The entries of an unpacked directory; `None` where it is cut short or its numbers overflow.
fn entries(bytes: &[u8]) -> Option<Vec<Entry>> {
    let mut b = Bytes::new(bytes);
    let count = usize::try_from(varint(&mut b)?).ok().filter(|n| *n <= b.left())?;
    let mut out = vec![Entry { number: 0, run: 0, offset: 0, length: 0 }; count];
    let mut last = 0u64;
    for entry in &mut out {
        last = last.checked_add(varint(&mut b)?)?;
        entry.number = last;
    }
    for entry in &mut out {
        entry.run = varint(&mut b)?.try_into().ok()?;
    }
    for entry in &mut out {
        entry.length = varint(&mut b)?.try_into().ok()?;
    }
    let mut next = 0u64;
    for (i, entry) in out.iter_mut().enumerate() {
        let told = varint(&mut b)?;
        // 0: right behind the one before
        entry.offset = if told == 0 && i > 0 { next } else { told.checked_sub(1)? };
        next = entry.offset.checked_add(u64::from(entry.length))?;
    }
    Some(out)
}

fn varint(b: &mut Bytes<'_>) -> Option<u64> {
    let mut out = 0u64;
    for shift in (0..64).step_by(7) {
        let byte = b.byte()?;
        out |= u64::from(byte & 0x7F) << shift;
        if byte & 0x80 == 0 {
            return Some(out);
        }
    }
    None
}

/// A tile's number: zoom after zoom, within each along a Hilbert curve.
fn number(tile: WebTile) -> u64 {
    let before = ((1u64 << (2 * u64::from(tile.zoom))) - 1) / 3;
    let (mut x, mut y, mut d) = (tile.column, tile.row, 0u64);
    let mut s = WebTile::across(tile.zoom) / 2;
    while s > 0 {
        let (right, down) = (u32::from(x & s > 0), u32::from(y & s > 0));
        d += u64::from(s) * u64::from(s) * u64::from((3 * right) ^ down);
        let (inner_x, inner_y) = (x & (s - 1), y & (s - 1));
        (x, y) = match (right, down) {
            (1, 0) => (s - 1 - inner_y, s - 1 - inner_x),
            (0, 0) => (inner_y, inner_x),
            _ => (inner_x, inner_y),
        };
        s /= 2;
    }
    before + d
}

#[cfg(test)]
mod tests {
    use super::super::tests::real;
    use super::super::{TileFile, TilePicture};
    use super::*;

    /// The table of the specification, "Tile IDs".
    #[test]
    fn tile_numbers_are_those_of_the_specification() {
        let known = [(0, 0, 0, 0), (1, 0, 0, 1), (1, 0, 1, 2), (1, 1, 1, 3), (1, 1, 0, 4), (2, 0, 0, 5), (12, 3423, 1763, 19_078_479)];
        for (zoom, column, row, wanted) in known {
            assert_eq!(number(WebTile { zoom, column, row }), wanted, "{zoom}/{column}/{row}");
        }
    }

    #[test]
    fn every_tile_of_a_zoom_has_its_own_number() {
        for zoom in 0..6 {
            let n = WebTile::across(zoom);
            let all = (0..n).flat_map(|column| (0..n).map(move |row| number(WebTile { zoom, column, row })));
            let mut all: Vec<u64> = all.collect();
            all.sort_unstable();
            let first = ((1u64 << (2 * u64::from(zoom))) - 1) / 3;
            assert_eq!(all, (first..first + u64::from(n) * u64::from(n)).collect::<Vec<_>>());
        }
    }

    #[test]
    fn a_directory_reads_runs_and_neighbouring_offsets() {
        // two entries: number 5, a run of 2, 300 bytes from 0; number 9, a leaf, 16 bytes right behind
        let bytes = [2, 5, 4, 2, 0, 0xAC, 0x02, 16, 1, 0];
        let read = entries(&bytes).unwrap();
        assert_eq!(read[0], Entry { number: 5, run: 2, offset: 0, length: 300 });
        assert_eq!(read[1], Entry { number: 9, run: 0, offset: 300, length: 16 });
        assert_eq!([4, 5, 6, 7, 9, 100].map(|n| entry_of(&read, n).map(|e| e.number)), [None, Some(5), Some(5), None, Some(9), Some(9)]);
        for cut in 0..bytes.len() {
            assert_eq!(entries(&bytes[..cut]), None);
        }
        assert_eq!(entries(&[0xFF; 32]), None);
    }

    #[test]
    fn a_real_file_of_pictures_gives_all_its_tiles() {
        let Some(path) = real("usgs-mt-whitney-8-15-webp-512.pmtiles") else { return };
        let file = TileFile::open(&path).unwrap();
        let facts = file.facts().clone();
        assert_eq!((facts.picture, facts.least_zoom, facts.most_zoom, facts.side), (TilePicture::Webp, 8, 15, Some(512)));
        let [low, high] = facts.corners.unwrap();
        let mut found = 0;
        for zoom in facts.least_zoom..=facts.most_zoom {
            let (a, b) = (
                WebTile::at(LonLat { lon: low.lon, lat: high.lat }, zoom).unwrap(),
                WebTile::at(LonLat { lon: high.lon, lat: low.lat }, zoom).unwrap(),
            );
            for column in a.column..=b.column {
                for row in a.row..=b.row {
                    if let Some(bytes) = file.tile(WebTile { zoom, column, row }).unwrap() {
                        assert_eq!(TilePicture::of(&bytes), Some(TilePicture::Webp));
                        found += 1;
                    }
                }
            }
        }
        // The header counts 50 addressed tiles.
        assert_eq!(found, 50);
        assert_eq!(file.tile(WebTile { zoom: 15, column: 0, row: 0 }).unwrap(), None);
    }

    #[test]
    fn another_version_is_told_plainly_and_cut_files_never_break_the_program() {
        let Some(path) = real("invalid_v4.pmtiles") else { return };
        let told = TileFile::open(&path).unwrap_err().to_string();
        assert!(told.contains("version 4") && told.contains("only version 3"), "{told}");
        let Some(path) = real("usgs-mt-whitney-8-15-webp-512.pmtiles") else { return };
        let bytes = std::fs::read(path).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let cut = folder.path().join("cut.pmtiles");
        for length in [8, 126, 127, 200, 359, 600] {
            std::fs::write(&cut, &bytes[..length]).unwrap();
            if let Ok(file) = TileFile::open(&cut) {
                let tile = WebTile::at(LonLat { lon: -118.29, lat: 36.58 }, 12).unwrap();
                assert!(file.tile(tile).is_err(), "cut to {length} bytes");
            }
        }
    }
}
