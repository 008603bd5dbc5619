//! GeoPackages: layers and plain tables of an SQLite file.
//!
//! # Source
//! OGC 12-128r18: contents (section 1.1.3), reference systems (1.1.2), geometry columns (2.1.5).

use crate::files::columns::{Columns, ROOM};
use crate::files::sketch::Batch;
use crate::files::{FileError, Table, wkb, wkt};
use crate::job::Watch;
use crate::place::Crs;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, OpenFlags, OptionalExtension as _, Row};
use std::fmt::Write as _;
use std::path::Path;

/// Rows between two reports.
const REPORT: usize = 2048;

/// Whether some bytes begin as an SQLite file does.
pub(in crate::files) fn sniff(start: &[u8]) -> bool {
    start.starts_with(b"SQLite format 3\0")
}

/// An open GeoPackage.
#[derive(Debug)]
pub(in crate::files) struct GeoPackage {
    file: String,
    size: u64,
    database: Connection,
    layers: Vec<Layer>,
}

#[derive(Clone, Debug)]
struct Layer {
    name: String,
    geometry: Option<String>,
    srs: Option<i64>,
}

impl GeoPackage {
    /// Opens it for reading; nothing is written beside it.
    ///
    /// # Errors
    /// [`FileError::Broken`] when it is no SQLite file, or the list of its tables cannot be read.
    pub fn open(file: &str, path: &Path, size: u64) -> Result<Self, FileError> {
        let broken = |error: rusqlite::Error| FileError::broken(file, "byte 0", "an SQLite file", error.to_string());
        let journal = path.with_file_name(format!("{}-wal", path.file_name().unwrap_or_default().to_string_lossy()));
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX | OpenFlags::SQLITE_OPEN_URI;
        let still = if journal.exists() { "" } else { "&immutable=1" };
        let escaped = path.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23");
        let database = Connection::open_with_flags(format!("file:{escaped}?mode=ro{still}"), flags).map_err(broken)?;
        // A file is data: functions and tables that its schema calls must not run.
        database.execute_batch("PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON").map_err(broken)?;
        let mut package = Self { file: file.to_owned(), size, database, layers: Vec::new() };
        package.layers = package.listed()?;
        Ok(package)
    }

    fn broken(&self, place: &str, error: &rusqlite::Error) -> FileError {
        FileError::broken(&self.file, place, "a GeoPackage that can be read", error.to_string())
    }

    /// The names of the layers and plain tables, layers with shapes first.
    pub fn layers(&self) -> Vec<String> {
        self.layers.iter().map(|l| l.name.clone()).collect()
    }

    fn listed(&self) -> Result<Vec<Layer>, FileError> {
        let broken = |error| self.broken("the list of tables", &error);
        let names = self.table_names().map_err(broken)?;
        let mut layers: Vec<Layer> = names.into_iter().map(|name| self.layer(name)).collect();
        layers.sort_by_key(|l| l.geometry.is_none());
        Ok(layers)
    }

    /// Tables that the file calls its contents; without such a list all that are not its own bookkeeping.
    fn table_names(&self) -> Result<Vec<String>, rusqlite::Error> {
        let there = self.texts("SELECT name FROM sqlite_master WHERE type IN ('table', 'view') ORDER BY rowid")?;
        let listed =
            self.texts("SELECT table_name FROM gpkg_contents WHERE data_type IN ('features', 'attributes', 'aspatial') ORDER BY rowid");
        let own = ["gpkg_", "rtree_", "sqlite_", "idx_", "spatial_ref_sys", "geometry_columns"];
        let mut names: Vec<String> = match listed {
            Ok(listed) if !listed.is_empty() => listed.into_iter().filter(|n| there.iter().any(|t| t.eq_ignore_ascii_case(n))).collect(),
            _ => there.into_iter().filter(|t| !own.iter().any(|o| t.to_lowercase().starts_with(o))).collect(),
        };
        names.dedup();
        Ok(names)
    }

    fn texts(&self, query: &str) -> Result<Vec<String>, rusqlite::Error> {
        self.database.prepare(query)?.query_map([], |row| row.get(0))?.collect()
    }

    fn layer(&self, name: String) -> Layer {
        let query = "SELECT column_name, srs_id FROM gpkg_geometry_columns WHERE lower(table_name) = lower(?1)";
        let listed: Option<(String, Option<i64>)> =
            self.database.query_row(query, [&name], |row| Ok((row.get(0)?, row.get(1)?))).optional().unwrap_or(None);
        let of_contents = "SELECT srs_id FROM gpkg_contents WHERE lower(table_name) = lower(?1)";
        let (geometry, srs) = match listed {
            Some((column, srs)) => (Some(column), srs),
            None => (self.geometry_column(&name), self.database.query_row(of_contents, [&name], |row| row.get(0)).unwrap_or(None)),
        };
        Layer { name, geometry, srs }
    }

    /// The first column that holds blobs beginning as geometry does, for files without a list of such columns.
    fn geometry_column(&self, table: &str) -> Option<String> {
        let mut statement = self.database.prepare(&format!("SELECT * FROM {} LIMIT 50", quoted(table))).ok()?;
        let names: Vec<String> = statement.column_names().into_iter().map(str::to_owned).collect();
        let mut rows = statement.query([]).ok()?;
        while let Ok(Some(row)) = rows.next() {
            let begins = |i: usize| matches!(row.get_ref(i), Ok(ValueRef::Blob(blob)) if blob.starts_with(b"GP"));
            if let Some(found) = (0..names.len()).find(|&i| begins(i)) {
                return Some(names[found].clone());
            }
        }
        None
    }

    fn choose(&self, asked: Option<&str>) -> Result<Layer, FileError> {
        let layers = &self.layers;
        let names: Vec<String> = layers.iter().map(|l| l.name.clone()).collect();
        if let Some(asked) = asked {
            let found =
                layers.iter().position(|l| l.name == asked).or_else(|| layers.iter().position(|l| l.name.eq_ignore_ascii_case(asked)));
            let unknown = FileError::NoSuchLayer { file: self.file.clone(), asked: asked.to_owned(), layers: names };
            return found.map(|i| layers[i].clone()).ok_or(unknown);
        }
        let shaped = layers.iter().filter(|l| l.geometry.is_some()).count();
        match (shaped, layers.len()) {
            (1, _) | (0, 1) => Ok(layers[0].clone()),
            (_, 0) => Err(FileError::broken(&self.file, "the list of contents", "a layer or a table", "none")),
            (0, _) => Err(FileError::ManyLayers { file: self.file.clone(), layers: names }),
            _ => Err(FileError::ManyLayers { file: self.file.clone(), layers: names.into_iter().take(shaped).collect() }),
        }
    }

    fn crs(&self, srs: Option<i64>, notes: &mut Vec<String>) -> Option<Crs> {
        // 0 and −1 stand for "not known" (OGC 12-128r18, table 4).
        let number = srs.filter(|&n| n > 0)?;
        let query = "SELECT organization, organization_coordsys_id, definition FROM gpkg_spatial_ref_sys WHERE srs_id = ?1";
        let found: Option<(String, i64, String)> =
            self.database.query_row(query, [number], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?))).optional().unwrap_or(None);
        let Some((register, code, definition)) = found else {
            notes.push(format!("it names the coordinate system {number} and does not describe it"));
            return None;
        };
        if register.eq_ignore_ascii_case("epsg") && code > 0 {
            return Crs::from_code(&code.to_string()).ok();
        }
        wkt::named(&definition, "list of coordinate systems", notes)
    }

    /// Reads one layer or table.
    ///
    /// # Errors
    /// [`FileError`] when there is no such layer, several and none was named, when a row cannot be read, or when somebody
    /// stopped it.
    pub fn read(&self, asked: Option<&str>, watch: &dyn Watch) -> Result<Table, FileError> {
        let layer = self.choose(asked)?;
        let place = format!("layer {}", layer.name);
        let broken = |error: rusqlite::Error| self.broken(&place, &error);
        let mut statement = self.database.prepare(&format!("SELECT * FROM {}", quoted(&layer.name))).map_err(broken)?;
        let names: Vec<String> = statement.column_names().into_iter().map(str::to_owned).collect();
        let shape = layer.geometry.as_ref().and_then(|g| names.iter().position(|n| n.eq_ignore_ascii_case(g)));
        let kept: Vec<usize> = (0..names.len()).filter(|i| Some(*i) != shape).collect();
        let mut gathered = Gathered::new(shape, &kept, &names);
        let mut rows = statement.query([]).map_err(broken)?;
        while let Some(row) = rows.next().map_err(|error| self.broken(&format!("{place}, row {}", gathered.rows + 1), &error))? {
            if gathered.rows.is_multiple_of(REPORT) {
                watch.step("reading rows", gathered.rows as u64, 0)?;
            }
            // Every row that is stored takes more than a byte; a view could go on for ever.
            if gathered.rows as u64 > self.size {
                return Err(FileError::broken(&self.file, place, "fewer rows than bytes", format!("{} rows and more", gathered.rows)));
            }
            gathered.take(row);
        }
        let mut notes = Vec::new();
        let crs = if shape.is_some() { self.crs(layer.srs, &mut notes) } else { None };
        Ok(gathered.into_table(layer.name, crs, notes))
    }
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// Rows on their way into a table.
struct Gathered<'a> {
    shape: Option<usize>,
    kept: &'a [usize],
    columns: Columns,
    batch: Batch,
    rows: usize,
    text: String,
}

impl<'a> Gathered<'a> {
    fn new(shape: Option<usize>, kept: &'a [usize], names: &[String]) -> Self {
        let columns = Columns::named(kept.iter().map(|&i| names[i].clone()).collect(), ROOM);
        Self { shape, kept, columns, batch: Batch::default(), rows: 0, text: String::new() }
    }

    fn take(&mut self, row: &Row<'_>) {
        self.rows += 1;
        self.columns.next_row();
        for (column, &i) in self.kept.iter().enumerate() {
            match row.get_ref(i) {
                Ok(ValueRef::Text(text)) => self.columns.put(column, &String::from_utf8_lossy(text)),
                Ok(ValueRef::Integer(number)) => self.put(column, format_args!("{number}")),
                Ok(ValueRef::Real(number)) if number.is_finite() => self.put(column, format_args!("{number}")),
                _ => {}
            }
        }
        if let Some(shape) = self.shape {
            self.batch.row(|pen| match row.get_ref(shape) {
                Ok(ValueRef::Blob(blob)) => wkb::draw_wrapped(blob, pen),
                Ok(ValueRef::Null) => Ok(()),
                _ => Err("is no geometry but other data".into()),
            });
        }
    }

    fn put(&mut self, column: usize, value: std::fmt::Arguments<'_>) {
        self.text.clear();
        let _ = self.text.write_fmt(value);
        self.columns.put(column, &self.text);
    }

    fn into_table(self, name: String, crs: Option<Crs>, mut notes: Vec<String>) -> Table {
        notes.extend(self.batch.remarks.notes());
        let (columns, cells) = self.columns.into_cells(&mut notes);
        let Batch { shapes, kinds, unusable, .. } = self.batch;
        Table { name, crs, columns, rows: self.rows, cells: Box::new(cells), kinds, shapes, unusable, notes }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::ShapeKind;
    use crate::job::Unwatched;
    use std::path::PathBuf;

    fn made(folder: &Path, statements: &str) -> PathBuf {
        let path = folder.join("50% ?#.gpkg");
        let _ = std::fs::remove_file(&path);
        Connection::open(&path).unwrap().execute_batch(statements).unwrap();
        path
    }

    fn open(path: &Path) -> Result<GeoPackage, FileError> {
        GeoPackage::open("a.gpkg", path, std::fs::metadata(path).unwrap().len())
    }

    const SMALL: &str = "
        CREATE TABLE gpkg_contents (table_name, data_type, srs_id);
        CREATE TABLE gpkg_geometry_columns (table_name, column_name, srs_id);
        CREATE TABLE gpkg_spatial_ref_sys (srs_id, organization, organization_coordsys_id, definition);
        INSERT INTO gpkg_spatial_ref_sys VALUES (7, 'EPSG', 2249, ''), (8, 'none', 8, 'PROJCS[\"x\"]');
        INSERT INTO gpkg_contents VALUES ('notes', 'attributes', NULL), ('lots', 'features', 7);
        INSERT INTO gpkg_geometry_columns VALUES ('lots', 'geom', 7);
        CREATE TABLE notes (n REAL, t TEXT);
        INSERT INTO notes VALUES (3.0, ' x '), (2.5, NULL);
        CREATE TABLE lots (fid INTEGER PRIMARY KEY, geom BLOB, name TEXT);
        INSERT INTO lots VALUES (1, x'47500001000000000101000000000000000000f03f0000000000000040', 'a'), (2, NULL, 'b'), (3, x'4750ff', 'c');";

    #[test]
    fn layers_tables_and_systems() {
        let folder = tempfile::tempdir().unwrap();
        let g = open(&made(folder.path(), SMALL)).unwrap();
        assert_eq!(g.layers(), ["lots", "notes"]);
        let lots = g.read(None, &Unwatched).unwrap();
        assert_eq!(lots.kinds, [ShapeKind::Point, ShapeKind::Nothing, ShapeKind::Unusable]);
        assert_eq!(
            (lots.crs, lots.shapes.xy, lots.columns),
            (Some(Crs::Epsg(2249)), vec![[1.0, 2.0]], vec!["fid".to_owned(), "name".to_owned()])
        );
        let notes = g.read(Some("NOTES"), &Unwatched).unwrap();
        assert_eq!(
            (notes.cell(0, 0), notes.cell(1, 0), notes.cell(0, 1), notes.cell(1, 1)),
            ("3".into(), "2.5".into(), "x".into(), "".into())
        );
        assert_eq!(g.read(Some("none"), &Unwatched).unwrap_err().to_string(), "a.gpkg: has no layer 'none'; it holds: lots, notes");
        assert_eq!(g.crs(Some(8), &mut Vec::new()), Some(Crs::Text("PROJCS[\"x\"]".to_owned())));
        assert_eq!(g.crs(Some(-1), &mut Vec::new()), None);
    }

    #[test]
    fn files_without_their_bookkeeping_are_read() {
        let folder = tempfile::tempdir().unwrap();
        let bare = format!("{SMALL} DROP TABLE gpkg_contents; DROP TABLE gpkg_geometry_columns;");
        let g = open(&made(folder.path(), &bare)).unwrap();
        assert_eq!((g.layers().join(" "), g.read(None, &Unwatched).unwrap().rows), ("lots notes".to_owned(), 3));
        let two = format!("{SMALL} CREATE TABLE more AS SELECT * FROM lots; INSERT INTO gpkg_contents VALUES ('more', 'features', 7);");
        let g = open(&made(folder.path(), &two)).unwrap();
        assert_eq!(g.read(None, &Unwatched).unwrap_err().to_string(), "a.gpkg: holds 2 layers: lots, more");
    }

    #[test]
    fn a_view_without_end_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let endless = "CREATE VIEW lots AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i FROM n;";
        let g = open(&made(folder.path(), endless)).unwrap();
        assert!(matches!(g.read(None, &Unwatched), Err(FileError::Broken { .. })));
    }

    #[test]
    fn cut_files_and_flipped_bits_give_an_answer() {
        let folder = tempfile::tempdir().unwrap();
        let whole = std::fs::read(made(folder.path(), SMALL)).unwrap();
        let path = folder.path().join("b.gpkg");
        let attempt = |bytes: &[u8]| {
            std::fs::write(&path, bytes).unwrap();
            let Ok(g) = open(&path) else { return };
            for name in g.layers() {
                if let Ok(t) = g.read(Some(&name), &Unwatched) {
                    assert!(t.rows <= whole.len() && (t.kinds.is_empty() || t.kinds.len() == t.rows));
                }
            }
        };
        (1..whole.len()).step_by(1009).for_each(|cut| attempt(&whole[..cut]));
        for at in (0..whole.len()).step_by(199) {
            let mut bytes = whole.clone();
            bytes[at] ^= 1 << (at % 8);
            attempt(&bytes);
        }
    }
}
