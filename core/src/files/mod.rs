//! Outside formats, one file each, all alike: whatever is in a file becomes a [`Table`].
//!
//! [`read`] answers one layer of a file, [`look`] says what a file holds. Neither trusts a byte: counts and lengths that a
//! file claims are checked against its size before anything is set aside for them, a broken row is kept with its reason, and
//! what cannot be read at all is a [`FileError`] with a place and a hint.

mod archive;
mod bytes;
mod columns;
mod curves;
mod dbase;
mod delimited;
mod error;
mod flatgeobuf;
mod folder;
mod format;
mod geojson;
pub(crate) mod geopackage;
mod headings;
mod json;
mod look;
mod osm;
mod rings;
mod room;
mod shapefile;
mod sheet_extent;
mod sketch;
mod source;
mod table;
mod text;
mod tiles;
mod window;
mod wkb;
mod wkt;
mod workbook;
mod write;

pub use error::FileError;
pub use folder::{folders_in, readable_in};
pub use format::Format;
pub(crate) use look::look_with;
pub use look::{ColumnLook, LayerLook, Look, column_looks, look};
pub use table::{Cells, ShapeKind, Table};
pub use tiles::{TileFacts, TileFile, TilePicture, TilePixels};
pub use write::{Column, Drawn, Features, Values, WriteError, write_bytes, write_features};
pub(crate) use write::{Unfinished, degrees, escaped};

use crate::job::Watch;
use source::Source;
use std::path::Path;

/// Reads one layer of a file of any format, chosen by its content and its ending.
///
/// `layer` names the layer; it may be left out where there is only one, or written behind the path as `FILE#LAYER`.
/// Coordinates stay those of the file. Rows come in the order of the file.
///
/// # Errors
/// [`FileError`] when the file cannot be opened, is of no known format, is broken where nothing behind can be read, holds
/// several layers of which none was named, or when somebody stopped it.
///
/// ```no_run
/// use yardring_core::{files, job::Unwatched};
/// let parcels = files::read("parcels.zip".as_ref(), None, &Unwatched)?;
/// println!("{} rows, columns {}", parcels.rows, parcels.columns.join(", "));
/// # Ok::<(), files::FileError>(())
/// ```
pub fn read(path: &Path, layer: Option<&str>, watch: &dyn Watch) -> Result<Table, FileError> {
    let (path, behind) = source::split_layer(path);
    format::Opened::new(Source::open(&path)?)?.read(layer.or(behind.as_deref()), watch)
}

#[cfg(test)]
mod reads;
