//! Why a file could not be read, for people.

use crate::error::Hint;
use crate::job::Cancelled;

/// Why a file, or one layer of it, could not be read. `file` is the path as it was given, with the entry's name behind it
/// for a file inside an archive.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// The system would not hand the file over.
    #[error("{file}: cannot be opened: {source}")]
    Closed {
        /// Which file.
        file: String,
        /// What the system said.
        source: std::io::Error,
    },
    /// A folder, a device or another thing that is no file.
    #[error("{file}: this is {found}, not a file")]
    NotAFile {
        /// Which path.
        file: String,
        /// What it is.
        found: &'static str,
    },
    /// There is no byte in it.
    #[error("{file}: the file is empty (0 bytes)")]
    Empty {
        /// Which file.
        file: String,
    },
    /// No format that can be read.
    #[error("{file}: {found}")]
    Unknown {
        /// Which file.
        file: String,
        /// What was seen instead.
        found: String,
    },
    /// A known format, broken where nothing behind it can be read.
    #[error("{file}: {place}: expected {expected}, found {found}")]
    Broken {
        /// Which file.
        file: String,
        /// Where: a row, a line or a byte.
        place: String,
        /// What should be there.
        expected: String,
        /// What is there.
        found: String,
    },
    /// A format, or a part of one, that is not read.
    #[error("{file}: {what}")]
    NotRead {
        /// Which file.
        file: String,
        /// What it is.
        what: String,
        /// What to do instead.
        instead: &'static str,
    },
    /// Several layers, and none was chosen.
    #[error("{file}: holds {} layers: {}", layers.len(), layers.join(", "))]
    ManyLayers {
        /// Which file.
        file: String,
        /// Names of the layers.
        layers: Vec<String>,
    },
    /// The chosen layer is not there.
    #[error("{file}: has no layer '{asked}'; it holds: {}", layers.join(", "))]
    NoSuchLayer {
        /// Which file.
        file: String,
        /// The layer that was asked for.
        asked: String,
        /// Names of the layers there are.
        layers: Vec<String>,
    },
    /// More than is read at once.
    #[error("{file}: {what}")]
    TooBig {
        /// Which file.
        file: String,
        /// What is too big, and the most that is read.
        what: String,
    },
    /// Somebody stopped the reading.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl Hint for FileError {
    fn hint(&self) -> String {
        match self {
            Self::Closed { .. } => "Check the name and the folder, and whether you may read it",
            Self::NotAFile { .. } => "Give the file itself: a .shp, .zip, .geojson, .gpkg, .fgb, .csv, .xlsx or .ods",
            Self::Empty { .. } => "Ask for the file again: it was not written to its end",
            Self::Unknown { .. } => "Give a shapefile (.shp or .zip), .geojson, .gpkg, .fgb, .osm, .pbf, .csv, .xlsx or .ods",
            Self::Broken { .. } => "Ask for the file again, or open it in the program that made it and save it anew",
            Self::NotRead { instead, .. } => instead,
            Self::ManyLayers { .. } | Self::NoSuchLayer { .. } => "Name one layer behind the file: FILE#LAYER",
            Self::TooBig { .. } => "Save a smaller part of it, or unpack it first",
            Self::Cancelled(_) => "",
        }
        .to_owned()
    }
}

impl FileError {
    /// A file broken at some place.
    pub(super) fn broken(file: &str, place: impl Into<String>, expected: impl Into<String>, found: impl Into<String>) -> Self {
        Self::Broken { file: file.to_owned(), place: place.into(), expected: expected.into(), found: found.into() }
    }
}
