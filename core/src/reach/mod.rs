//! The ground inside flight range of known breeding, and the yards in it that nobody has seen.

mod dispersal;
mod gaps;
mod ground;
#[cfg(test)]
mod made_up;
mod neighbours;
mod round_buffer;
mod rows;
mod sources;

pub use dispersal::{inner_radius, share_beyond, web_map_stretch};
pub use gaps::{Gap, Reason, gaps};
pub use ground::{Ground, ground};
pub use neighbours::{Neighbour, neighbours};
pub use rows::{gap_rows, ground_rows};
pub use sources::{MeasureFrom, Source, SourceKind, Sources, Wanted, sources};
