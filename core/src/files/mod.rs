//! Outside formats, one file each, all alike: sniff, read, write.

pub(crate) mod geopackage;
mod table;
mod write;

pub use table::{Cells, ShapeKind, Table};
pub(crate) use write::Unfinished;
pub use write::{Column, Drawn, Features, Values, WriteError, write_features};
