//! The tables in which a GeoPackage says what it holds.

use super::packed_tree::triggers;
use crate::place::{Bounds, Frame};
use rusqlite::{Connection, Result, params};

/// "GPKG" in the file's header.
pub(crate) const APPLICATION_ID: i64 = 0x4750_4B47;
/// Version 1.3.0 of the standard, as its table 1 writes it.
const USER_VERSION: i64 = 10_300;
/// The number of the district frame in the file's list of coordinate systems; the standard leaves it to the file.
pub(super) const DISTRICT_SRS: i32 = 100_001;

const WGS84: &str = "GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563,AUTHORITY[\"EPSG\",\"7030\"]],\
    AUTHORITY[\"EPSG\",\"6326\"]],PRIMEM[\"Greenwich\",0,AUTHORITY[\"EPSG\",\"8901\"]],\
    UNIT[\"degree\",0.0174532925199433,AUTHORITY[\"EPSG\",\"9122\"]],AUTHORITY[\"EPSG\",\"4326\"]]";

/// # Source
/// OGC 12-128r18, annex C, tables 20 (spatial_ref_sys), 21 (contents), 22 (geometry_columns), 30 (extensions).
const TABLES: &str = "
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_extensions (
  table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, definition TEXT NOT NULL, scope TEXT NOT NULL,
  CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name));";

/// Marks an empty database as a GeoPackage and creates the tables in which it describes itself, with the district frame
/// among its coordinate systems.
pub(crate) fn create_frame_tables(file: &Connection, frame: &Frame) -> Result<()> {
    file.pragma_update(None, "application_id", APPLICATION_ID)?;
    file.pragma_update(None, "user_version", USER_VERSION)?;
    file.execute_batch(TABLES)?;
    let district = frame.well_known_text();
    let systems: [(&str, i32, &str, &str); 4] = [
        ("Undefined Cartesian", -1, "NONE", "undefined"),
        ("Undefined geographic", 0, "NONE", "undefined"),
        ("WGS 84", 4326, "EPSG", WGS84),
        ("Yardring district frame", DISTRICT_SRS, "NONE", &district),
    ];
    for (name, id, organization, definition) in systems {
        file.execute("INSERT INTO gpkg_spatial_ref_sys VALUES (?1, ?2, ?3, ?2, ?4, NULL)", params![name, id, organization, definition])?;
    }
    Ok(())
}

/// A table with geometry, as the GeoPackage describes it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Layer<'a> {
    /// The table's name; its geometry column is `geom`, its key `fid`.
    pub(crate) name: &'a str,
    /// What it holds, in words.
    pub(crate) about: &'a str,
    /// `MULTIPOLYGON`, `MULTILINESTRING` or `POINT`.
    pub(crate) geometry: &'a str,
    /// The box round everything in it.
    pub(crate) extent: Bounds,
    /// Whether it has a spatial index.
    pub(crate) indexed: bool,
}

/// Enters a layer of the district frame in the GeoPackage's list of contents. Its rows must be there already: the triggers
/// that keep its index up to date are created here.
pub(crate) fn describe_layer(file: &Connection, layer: Layer<'_>, changed: &str) -> Result<()> {
    let Layer { name, about, geometry, extent: b, indexed } = layer;
    let side = |v: f64| v.is_finite().then_some(v);
    file.execute(
        "INSERT INTO gpkg_contents VALUES (?1, 'features', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        params![name, about, changed, side(b.min.x), side(b.min.y), side(b.max.x), side(b.max.y), DISTRICT_SRS],
    )?;
    file.execute("INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, ?3, 0, 0)", params![name, geometry, DISTRICT_SRS])?;
    if indexed {
        file.execute(
            "INSERT INTO gpkg_extensions VALUES (?1, 'geom', 'gpkg_rtree_index', 'http://www.geopackage.org/spec120/#extension_rtree', \
             'write-only')",
            [name],
        )?;
        file.execute_batch(&triggers(name))?;
    }
    Ok(())
}

/// Enters a table without geometry in the GeoPackage's list of contents.
pub(crate) fn describe_table(file: &Connection, name: &str, about: &str, changed: &str) -> Result<()> {
    file.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change) VALUES (?1, 'attributes', ?1, ?2, ?3)",
        params![name, about, changed],
    )?;
    Ok(())
}
