//! GeoPackage, the parts that every writer of one shares: its own tables, geometry blobs, spatial index.
//!
//! # Source
//! OGC 12-128r18, GeoPackage Encoding Standard 1.3.1: clause 1.1 (file), 2.1.3 (geometry blob), annex F.3 (R-tree).

mod blob;
mod frame_tables;
mod long_table;
mod packed_tree;
mod read;
mod read_pages;
mod record;

pub(crate) use blob::{Broken, is_nothing, line_blob, point_blob, polygon_blob, read_shape};
pub(crate) use frame_tables::{APPLICATION_ID, Layer, create_frame_tables, describe_layer, describe_table};
pub(crate) use long_table::{PAGE, fill_table};
pub(crate) use packed_tree::{Order, write_nodes, write_tree};
pub(super) use read::{GeoPackage, sniff};
pub(crate) use read_pages::Pages;
pub(crate) use record::{Cell, RecordWriter};
