//! The ground inside flight range of known breeding, and the yards in it that nobody has seen.

mod dispersal;
mod gaps;
mod ground;
#[cfg(test)]
mod made_up;
mod mask;
mod neighbours;
mod round_buffer;
mod rows;
mod sources;

pub use dispersal::{inner_radius, share_beyond, web_map_stretch};
pub use gaps::{Gap, Reason, gaps};
pub use ground::{Ground, ground};
pub use mask::{Mask, mask_gaps, masked_cases};
pub use neighbours::{Neighbour, neighbours};
pub(crate) use rows::fence;
pub use rows::{gap_rows, ground_rows};
pub use sources::{MeasureFrom, Source, SourceKind, Sources, Wanted, sources};
