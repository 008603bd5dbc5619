//! The map in the window: what is drawn comes as a [`Scene`], what the pointer does goes out as [`MapEvents`].
//!
//! The map knows no desk and no session. Geometry is laid on the graphics card once, by a job that holds a [`Brush`]; a
//! [`Scene`] names the layers and says how each class is drawn; [`MapPane`] shows it. Nothing here takes time that grows with
//! the number of premises while a frame is drawn.

mod camera;
mod gpu;
mod ground;
mod labels;
mod measured;
mod numbers;
mod overlay;
mod pane;
mod pick;
mod pointed;
mod quilt;
mod scale_bar;
mod scene;
mod tessellate;
#[cfg(test)]
mod trials;
mod written;

pub use camera::{CLOSEST, Camera, Look, points_per_metre};
pub use gpu::{Brush, Card, Drawing, Layer, by_the_processor};
pub use ground::{Ground, GroundTile, Tiles};
pub use overlay::{flag, spot, stop, unplaced};
pub use pane::{MapEvents, MapMemory, MapPane};
pub use pick::premise_at;
pub use pointed::{CountyGrid, degrees};
pub use scene::{
    ClassInk, Inks, MOST_CLASSES, Mark, Scene, Sheet, SignalSpot, SourceSpot, SpotKind, StopMark, StopShape, StreetNames, WalkLine,
    YardNames,
};
