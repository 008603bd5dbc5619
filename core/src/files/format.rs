//! Which format a file is in, by its content and its ending.

use super::archive::{self, Archive};
use super::geopackage::{self, GeoPackage};
use super::shapefile::{self, Beside};
use super::source::Source;
use super::workbook::{self, Workbook};
use super::{FileError, Table, delimited, flatgeobuf, geojson, osm};
use crate::job::Watch;
use std::fmt;

/// A format that can be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Outlines, lines or points with attributes beside them.
    Shapefile,
    /// Attributes alone.
    Dbase,
    /// Layers and tables in an SQLite file.
    GeoPackage,
    /// Features as JSON.
    GeoJson,
    /// Features in flat buffers.
    FlatGeobuf,
    /// Roads and paths of OpenStreetMap, as its binary form or as XML, packed or not.
    OpenStreetMap,
    /// Any of the others inside a zip archive.
    Archive,
    /// Sheets of cells.
    Workbook,
    /// Cells parted by commas, semicolons, tabs or bars.
    Delimited,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Shapefile => "shapefile",
            Self::Dbase => "table of dBASE",
            Self::GeoPackage => "GeoPackage",
            Self::GeoJson => "GeoJSON",
            Self::FlatGeobuf => "FlatGeobuf",
            Self::OpenStreetMap => "OpenStreetMap file",
            Self::Archive => "zip archive",
            Self::Workbook => "spreadsheet",
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
    let by_content = [
        (shapefile::sniff(start) && source.ending != "shx", Format::Shapefile),
        (geopackage::sniff(start), Format::GeoPackage),
        (flatgeobuf::sniff(start), Format::FlatGeobuf),
        (osm::sniff(start, &source.file).is_some(), Format::OpenStreetMap),
        (archive::sniff(start) && workbook::is_ending(&source.ending), Format::Workbook),
        (archive::sniff(start), Format::Archive),
    ];
    if let Some((_, format)) = by_content.into_iter().find(|(is, _)| *is) {
        return Ok(format);
    }
    let not_read = |what: String, instead| Err(FileError::NotRead { file: source.file.clone(), what, instead });
    match source.ending.as_str() {
        "shp" => Ok(Format::Shapefile),
        "gpkg" => Ok(Format::GeoPackage),
        "dbf" => Ok(Format::Dbase),
        "geojson" | "json" => Ok(Format::GeoJson),
        "csv" | "tsv" | "tab" | "txt" | "psv" => Ok(Format::Delimited),
        "xls" => not_read("this is an old spreadsheet (.xls), which is not read".to_owned(), "Save it as .xlsx or .csv"),
        "shx" | "prj" | "cpg" | "sbn" | "sbx" | "qix" => {
            let what = format!("a .{} file is only one part of a shapefile", source.ending);
            not_read(what, "Give the .shp file; the parts beside it are found by their name")
        }
        _ if geojson::sniff(start) => Ok(Format::GeoJson),
        _ => Err(FileError::Unknown { file: source.file.clone(), found: "this is in no format that can be read".to_owned() }),
    }
}

/// A file opened by its format, so that several layers can be read one after the other.
pub(super) enum Opened {
    Alone(Source, Format),
    GeoPackage(GeoPackage),
    Archive(Box<Archive>),
    Workbook(Workbook),
}

impl Opened {
    /// Opens a file.
    ///
    /// # Errors
    /// [`FileError`] when it is of no known format, or its list of layers cannot be read.
    pub fn new(source: Source) -> Result<Self, FileError> {
        Ok(match of(&source)? {
            Format::GeoPackage => Self::GeoPackage(GeoPackage::open(&source.file, &source.path, source.size)?),
            Format::Archive => Self::Archive(Box::new(Archive::open(&source.file, &source.path, source.size)?)),
            Format::Workbook => Self::Workbook(Workbook::open(&source)?),
            format => Self::Alone(source, format),
        })
    }

    /// Its format.
    pub fn format(&self) -> Format {
        match self {
            Self::Alone(_, format) => *format,
            Self::GeoPackage(_) => Format::GeoPackage,
            Self::Archive(_) => Format::Archive,
            Self::Workbook(_) => Format::Workbook,
        }
    }

    /// The names of its layers.
    ///
    /// # Errors
    /// [`FileError`] when there is none.
    pub fn layers(&self) -> Result<Vec<String>, FileError> {
        match self {
            Self::Alone(source, _) => Ok(vec![source.name.clone()]),
            Self::GeoPackage(package) => Ok(package.layers()),
            Self::Archive(archive) => archive.layers(),
            Self::Workbook(book) => Ok(book.sheets()),
        }
    }

    /// Reads one layer.
    ///
    /// # Errors
    /// As [`super::read`].
    pub fn read(&mut self, layer: Option<&str>, watch: &dyn Watch) -> Result<Table, FileError> {
        watch.step("opening", 0, 0)?;
        match self {
            Self::Alone(source, format) => alone(source, *format, layer, watch),
            Self::GeoPackage(package) => package.read(layer, watch),
            Self::Archive(archive) => archive.read(layer, watch),
            Self::Workbook(book) => book.read(layer, watch),
        }
    }
}

fn alone(source: &Source, format: Format, layer: Option<&str>, watch: &dyn Watch) -> Result<Table, FileError> {
    if let Some(asked) = layer.filter(|asked| !asked.eq_ignore_ascii_case(&source.name)) {
        let layers = vec![source.name.clone()];
        return Err(FileError::NoSuchLayer { file: source.file.clone(), asked: asked.to_owned(), layers });
    }
    let (file, name) = (&source.file, source.name.clone());
    if format == Format::Shapefile {
        return shapefile::read(file, name, (source.unread()?, source.size), source.beside_shapefile(), watch);
    }
    let cpg = if format == Format::Dbase { source.beside("cpg") } else { None };
    let beside = Beside { cpg, ..Beside::default() };
    read_bytes(format, file, name, source.bytes()?, beside, watch)
}

/// Reads a file of one layer that is in memory, with what lies beside it.
///
/// # Errors
/// As [`super::read`].
pub(super) fn read_bytes(
    format: Format,
    file: &str,
    name: String,
    bytes: Vec<u8>,
    beside: Beside,
    watch: &dyn Watch,
) -> Result<Table, FileError> {
    match format {
        Format::Shapefile => shapefile::read(file, name, (&bytes[..], bytes.len() as u64), beside, watch),
        Format::Dbase => shapefile::read_attributes(file, name, bytes, beside.cpg),
        Format::GeoJson => geojson::read(file, name, bytes, watch),
        Format::FlatGeobuf => flatgeobuf::read(file, name, &bytes, watch),
        Format::Delimited => delimited::read(file, name, bytes, watch),
        Format::OpenStreetMap => {
            let packing = osm::sniff(&bytes[..bytes.len().min(512)], file).unwrap_or(osm::Packing::Plain);
            osm::read(file, name, &bytes, packing, watch)
        }
        Format::GeoPackage | Format::Archive | Format::Workbook => {
            Err(FileError::Unknown { file: file.to_owned(), found: "this is only read as a file of its own".to_owned() })
        }
    }
}
