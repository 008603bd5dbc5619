//! Where things are: coordinates and their frames, outlines and lines, and the index over them.

mod bounds;
mod crs;
mod crs_error;
mod crs_facts;
mod curve;
mod distance;
mod fit;
mod frame;
mod index;
mod inside;
mod mend;
mod point;
mod raw;
mod segment;
mod shapes;
mod touch;
mod transform;
mod validity;
mod wkt;

pub use bounds::Bounds;
pub use crs::{Crs, NotACrs};
pub use crs_error::CrsError;
pub use crs_facts::{AreaOfUse, CrsFacts, CrsUnit};
pub use curve::hilbert;
pub use distance::{distance, nearest_under, within};
pub use frame::Frame;
pub use index::BoxIndex;
pub use inside::inside;
pub use mend::{Mending, mend, mended};
pub use point::{Local, LonLat};
pub use raw::RawShapes;
pub use shapes::{PartView, ShapeView, Shapes, signed_area};
pub use touch::{FENCE_GAP, FENCE_LENGTH, shared_line, shares_fence};
pub use transform::{IntoFrame, OutOfFrame, lon_lats};
pub use validity::{invalid_shapes, is_valid};
