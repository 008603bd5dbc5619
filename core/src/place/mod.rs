//! Where things are: coordinates and their frames, outlines and lines, and the index over them.

mod bounds;
mod crs;
mod curve;
mod frame;
mod index;
mod inside;
mod point;
mod raw;
mod shapes;

pub use bounds::Bounds;
pub use crs::{Crs, NotACrs};
pub use curve::hilbert;
pub use frame::Frame;
pub use index::BoxIndex;
pub use inside::place_inside;
pub use point::{Local, LonLat};
pub use raw::RawShapes;
pub use shapes::{PartView, ShapeView, Shapes, signed_area};
