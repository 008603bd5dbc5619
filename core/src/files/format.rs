//! Which format a file is in, by its content and its ending.

use super::geopackage::GeoPackage;
use super::source::Source;
use super::{FileError, Table, delimited, geojson, geopackage, shapefile};
use crate::job::Watch;
use std::fmt;

/// A format that can be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Outlines, lines or points with attributes beside them.
    Shapefile,
    /// Attributes alone.
    Dbase,
    /// Cells parted by commas, semicolons, tabs or bars.
    Delimited,
    /// Layers and tables in an SQLite file.
    GeoPackage,
    /// Features as JSON.
    GeoJson,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Shapefile => "shapefile",
            Self::Dbase => "table of dBASE",
            Self::GeoJson => "GeoJSON",
            Self::GeoPackage => "GeoPackage",
            Self::Delimited => "table of text (CSV)",
        })
    }
}

/// The format of a file.
///
/// # Errors
/// [`FileError`] when it is none that can be read.
pub(super) fn of(source: &Source) -> Result<Format, FileError> {
    let start = source.start.as_slice();
    if shapefile::sniff(start) && source.ending != "shx" || source.ending == "shp" {
        return Ok(Format::Shapefile);
    }
    if geopackage::sniff(start) || source.ending == "gpkg" {
        return Ok(Format::GeoPackage);
    }
    match source.ending.as_str() {
        "dbf" => Ok(Format::Dbase),
        "geojson" | "json" => Ok(Format::GeoJson),
        "csv" | "tsv" | "tab" | "txt" | "psv" => Ok(Format::Delimited),
        "shx" | "prj" | "cpg" | "sbn" | "sbx" | "qix" => Err(FileError::NotRead {
            file: source.file.clone(),
            what: format!("a .{} file is only one part of a shapefile", source.ending),
            instead: "Give the .shp file; the parts beside it are found by their name",
        }),
        _ if geojson::sniff(start) => Ok(Format::GeoJson),
        _ => Err(FileError::Unknown { file: source.file.clone(), found: "this is in no format that can be read".to_owned() }),
    }
}

/// Reads one layer.
///
/// # Errors
/// As [`super::read`].
pub(super) fn read(source: Source, layer: Option<&str>, watch: &dyn Watch) -> Result<Table, FileError> {
    watch.step("opening", 0, 0)?;
    let format = of(&source)?;
    let only = |table: Table| match layer {
        Some(asked) if !asked.eq_ignore_ascii_case(&table.name) => {
            Err(FileError::NoSuchLayer { file: source.file.clone(), asked: asked.to_owned(), layers: vec![table.name] })
        }
        _ => Ok(table),
    };
    let (file, name) = (source.file.as_str(), source.name.clone());
    match format {
        Format::Shapefile => only(shapefile::read(file, name, source.bytes()?, source.beside_shapefile(), watch)?),
        Format::Dbase => only(shapefile::read_attributes(file, name, source.bytes()?, source.beside("cpg"))?),
        Format::GeoPackage => GeoPackage::open(file, &source.path, source.size)?.read(layer, watch),
        Format::GeoJson => only(geojson::read(file, name, source.bytes()?, watch)?),
        Format::Delimited => only(delimited::read(file, name, source.bytes()?, watch)?),
    }
}

/// The names of the layers that a file holds.
///
/// # Errors
/// As [`super::read`].
pub(super) fn layers(source: &Source) -> Result<Vec<String>, FileError> {
    match of(source)? {
        Format::GeoPackage => GeoPackage::open(&source.file, &source.path, source.size)?.layers(),
        Format::Shapefile | Format::Dbase | Format::Delimited | Format::GeoJson => Ok(vec![source.name.clone()]),
    }
}
