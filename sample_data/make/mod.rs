//! The parts of the program that makes Quillmere.

pub mod county;
pub mod curves;
pub mod earth;
pub mod plan;
pub mod random;
pub mod readme;
pub mod rounds;
pub mod shapefile_bytes;
pub mod squares;
pub mod weather;
pub mod yards;
