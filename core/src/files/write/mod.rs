//! Handing rows out: one writer for each format, the file's ending picks it.

mod csv;
mod dbase;
mod features;
mod flatgeobuf;
mod geojson;
mod geopackage;
mod gpx;
#[cfg(test)]
mod identity;
mod kml;
mod markup;
mod replace;
mod shapefile;
#[cfg(test)]
mod tests;

pub use features::{Column, Drawn, Features, Values};
pub(crate) use markup::{degrees, escaped};
pub(crate) use replace::Unfinished;

use crate::error::Hint;
use crate::job::{Cancelled, Watch};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// Writes rows to a file in the format that its ending names, in place of a file that is there. The new file takes the old
/// one's place only when it is whole.
///
/// GeoPackages and shapefiles keep the district frame, GeoJSON, KML, GPX and FlatGeobuf are in degrees on WGS 84, CSV has `lon`
/// and `lat` of a place inside the shape. A shapefile is five files beside one another, named after `path`.
///
/// # Errors
/// [`WriteError::Ending`] when the ending names no format known here; [`WriteError::Shapeless`] when the rows have no shapes and
/// the format holds nothing else; [`WriteError::Refused`], [`WriteError::InUse`] or [`WriteError::Database`] when the file cannot
/// be written; [`WriteError::Cancelled`] when somebody asked to stop.
pub fn write_features(features: &Features, path: &Path, watch: &dyn Watch) -> Result<(), WriteError> {
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_ascii_lowercase();
    if features.shapes.is_none() && ["shp", "kml", "gpx", "fgb"].contains(&ending.as_str()) {
        return Err(WriteError::Shapeless { path: path.to_owned() });
    }
    let write = match ending.as_str() {
        "csv" => csv::write,
        "geojson" | "json" => geojson::write,
        "gpkg" => geopackage::write,
        "kml" => kml::write,
        "gpx" => gpx::write,
        "fgb" => flatgeobuf::write,
        "shp" => return shapefile::write(features, path, watch).map_err(|failure| failure.of(path)),
        _ => return Err(WriteError::Ending { path: path.to_owned() }),
    };
    let unfinished = Unfinished::beside(path);
    write(features, unfinished.path(), watch).and_then(|()| Ok(unfinished.finish()?)).map_err(|failure| failure.of(path))
}

/// Writes a whole file, or leaves what stood there before.
///
/// # Errors
/// What the computer says.
pub fn write_bytes(bytes: &[u8], path: &Path) -> std::io::Result<()> {
    let unfinished = Unfinished::beside(path);
    std::fs::write(unfinished.path(), bytes)?;
    unfinished.finish()
}

/// Why a file could not be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The file's ending names no format known here.
    #[error("the ending of {} names no format that can be written", path.display())]
    Ending {
        /// The file that was asked for.
        path: PathBuf,
    },
    /// The rows have no shapes, and the format holds nothing else.
    #[error("{} cannot hold these rows: they have no place on the map", path.display())]
    Shapeless {
        /// The file that was asked for.
        path: PathBuf,
    },
    /// Another program holds the file.
    #[error("{} is open in another program, which has changes of its own in it", path.display())]
    InUse {
        /// The file.
        path: PathBuf,
    },
    /// The computer refused to write.
    #[error("{} could not be written: {source}", path.display())]
    Refused {
        /// The file.
        path: PathBuf,
        /// What the computer said.
        source: std::io::Error,
    },
    /// The file could not be written as a database.
    #[error("{} could not be written: {source}", path.display())]
    Database {
        /// The file.
        path: PathBuf,
        /// What the database library said.
        source: rusqlite::Error,
    },
    /// Somebody asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl Hint for WriteError {
    fn hint(&self) -> String {
        match self {
            Self::Ending { .. } => "Let the name end in .gpkg, .geojson, .csv, .shp, .kml, .gpx or .fgb",
            Self::Shapeless { .. } => "Let the name end in .csv or .gpkg",
            Self::InUse { .. } => "Close the file there, then write again",
            Self::Refused { .. } | Self::Database { .. } => {
                "Check that the folder exists, that there is room, and that you may write in it"
            }
            Self::Cancelled(_) => "",
        }
        .to_owned()
    }
}

/// Why writing stopped, before the file's name is added.
#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    #[error(transparent)]
    Io(#[from] std::io::Error),
    #[error(transparent)]
    Database(#[from] rusqlite::Error),
}

impl Failure {
    fn of(self, path: &Path) -> WriteError {
        let path = path.to_owned();
        match self {
            Self::Cancelled(c) => WriteError::Cancelled(c),
            Self::Io(source) if source.kind() == ErrorKind::ResourceBusy => WriteError::InUse { path },
            Self::Io(source) => WriteError::Refused { path, source },
            Self::Database(source) => WriteError::Database { path, source },
        }
    }
}
