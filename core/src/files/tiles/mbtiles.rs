//! MBTiles: tiles in an SQLite database.
//!
//! # Source
//! The MBTiles specification 1.3. Rows are counted from the south there.

use super::super::FileError;
use super::{TileFacts, TilePicture, not_read, plain_words, vector};
use crate::place::{LonLat, WebTile};
use rusqlite::{Connection, OpenFlags, OptionalExtension as _};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

/// An open file.
#[derive(Debug)]
pub(super) struct Mbtiles {
    name: String,
    file: Mutex<Connection>,
}

/// The file is broken, in the database's own words.
fn told(name: &str) -> impl Fn(rusqlite::Error) -> FileError + '_ {
    move |e| FileError::broken(name, "its tables", "metadata and tiles", e.to_string())
}

impl Mbtiles {
    /// Reads the description.
    pub(super) fn open(path: &Path, name: &str) -> Result<(TileFacts, Self), FileError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let file = Connection::open_with_flags(path, flags).map_err(told(name))?;
        let tables = "SELECT count(*) FROM sqlite_schema WHERE name IN ('tiles', 'metadata')";
        if file.query_row(tables, [], |r| r.get::<_, i64>(0)).map_err(told(name))? < 2 {
            return Err(not_read(name, "this database holds no map tiles"));
        }
        let about = about(&file).map_err(told(name))?;
        let text = |key: &str| about.get(key).map_or("", |v| v.trim());
        let picture = picture(&file, text("format"), name)?;
        let zoom = |key: &str, of: &str| -> Result<u8, FileError> {
            if let Ok(zoom) = text(key).parse::<u8>() {
                return Ok(zoom.min(WebTile::MOST_ZOOM));
            }
            let asked = format!("SELECT {of}(zoom_level) FROM tiles");
            let found: Option<i64> = file.query_row(&asked, [], |r| r.get(0)).map_err(told(name))?;
            Ok(found.unwrap_or(0).clamp(0, i64::from(WebTile::MOST_ZOOM)) as u8)
        };
        let facts = TileFacts {
            name: plain_words(text("name")),
            attribution: plain_words(text("attribution")),
            picture,
            least_zoom: zoom("minzoom", "min")?,
            most_zoom: zoom("maxzoom", "max")?,
            corners: corners(text("bounds")),
            side: None,
        };
        Ok((facts, Self { name: name.to_owned(), file: Mutex::new(file) }))
    }

    /// A tile's bytes.
    pub(super) fn tile(&self, tile: WebTile) -> Result<Option<Vec<u8>>, FileError> {
        let from_south = WebTile::across(tile.zoom) - 1 - tile.row;
        let file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        let asked = "SELECT tile_data FROM tiles WHERE zoom_level = ?1 AND tile_column = ?2 AND tile_row = ?3";
        let mut statement = file.prepare_cached(asked).map_err(told(&self.name))?;
        let found = statement.query_row((tile.zoom, tile.column, from_south), |r| r.get::<_, Option<Vec<u8>>>(0)).optional();
        found.map(Option::flatten).map_err(told(&self.name))
    }
}

fn about(file: &Connection) -> rusqlite::Result<BTreeMap<String, String>> {
    let mut statement = file.prepare("SELECT name, value FROM metadata")?;
    let rows = statement.query_map([], |r| Ok((r.get::<_, String>(0)?, r.get::<_, Option<String>>(1)?.unwrap_or_default())))?;
    rows.collect()
}

/// How the tiles are packed: as one of them begins, or as the file says where it holds none.
fn picture(file: &Connection, format: &str, name: &str) -> Result<TilePicture, FileError> {
    if format.eq_ignore_ascii_case("pbf") || format.eq_ignore_ascii_case("mvt") {
        return Err(vector(name));
    }
    let first = "SELECT tile_data FROM tiles WHERE tile_data IS NOT NULL LIMIT 1";
    let first: Option<Vec<u8>> = file.query_row(first, [], |r| r.get(0)).optional().map_err(told(name))?;
    let Some(first) = first else { return Err(not_read(name, "it holds no tile")) };
    TilePicture::of(&first).ok_or_else(|| match first[..] {
        [0x1F, 0x8B, ..] => vector(name),
        _ => not_read(name, "its tiles are no pictures that can be drawn"),
    })
}

/// West, south, east, north, with commas between.
fn corners(text: &str) -> Option<[LonLat; 2]> {
    let numbers: Vec<f64> = text.split(',').map(|t| t.trim().parse()).collect::<Result<_, _>>().ok()?;
    let [west, south, east, north] = numbers[..] else { return None };
    Some([LonLat::new(west, south)?, LonLat::new(east, north)?]).filter(|_| west < east && south < north)
}

#[cfg(test)]
mod tests {
    use super::super::TileFile;
    use super::super::tests::real;
    use super::*;

    #[test]
    fn a_real_file_gives_its_tiles_with_rows_from_the_north() {
        let Some(path) = real("geography-class-png.mbtiles") else { return };
        let file = TileFile::open(&path).unwrap();
        let facts = file.facts();
        assert_eq!((&*facts.name, facts.picture, facts.least_zoom, facts.most_zoom), ("Geography Class", TilePicture::Png, 0, 2));
        assert!(facts.corners.is_some() && facts.attribution.is_empty());
        let has = |zoom, column, row| file.tile(WebTile { zoom, column, row }).unwrap().is_some();
        // Of zoom 2 it holds one tile, column 0 and row 0 from the south (asked of the file with Python's sqlite3).
        assert!(has(0, 0, 0) && has(1, 1, 1) && has(2, 0, 3) && !has(2, 0, 0) && !has(3, 0, 0) && !has(0, 1, 0));
    }

    #[test]
    fn a_file_without_a_description_is_read_by_its_tiles() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.mbtiles");
        let made = Connection::open(&path).unwrap();
        made.execute_batch(
            "CREATE TABLE metadata (name TEXT, value TEXT);
             CREATE TABLE tiles (zoom_level INTEGER, tile_column INTEGER, tile_row INTEGER, tile_data BLOB);
             INSERT INTO tiles VALUES (3, 1, 2, x'FFD8FFE000'), (5, 1, 2, NULL);",
        )
        .unwrap();
        let file = TileFile::open(&path).unwrap();
        assert_eq!((file.facts().picture, file.facts().least_zoom, file.facts().most_zoom), (TilePicture::Jpeg, 3, 5));
        assert_eq!(file.tile(WebTile { zoom: 3, column: 1, row: 5 }).unwrap(), Some(vec![0xFF, 0xD8, 0xFF, 0xE0, 0]));
        assert_eq!(file.tile(WebTile { zoom: 5, column: 1, row: 29 }).unwrap(), None);
        made.execute_batch("DELETE FROM tiles").unwrap();
        assert!(TileFile::open(&path).unwrap_err().to_string().contains("holds no tile"));
        made.execute_batch("DROP TABLE tiles").unwrap();
        assert!(TileFile::open(&path).unwrap_err().to_string().contains("no map tiles"));
    }
}
