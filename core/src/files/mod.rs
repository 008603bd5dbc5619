//! Outside formats, one file each, all alike: sniff, read, write.

mod table;

pub use table::{Cells, ShapeKind, Table};
