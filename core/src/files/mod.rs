//! Outside formats, one file each, all alike: sniff, read, write.

pub(crate) mod geopackage;
mod table;

pub use table::{Cells, ShapeKind, Table};
