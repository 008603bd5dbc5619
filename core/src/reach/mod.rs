//! The ground inside flight range of known breeding, and the yards in it that nobody has seen.

mod barriers;
mod convex_pieces;
mod coverage;
mod dispersal;
mod gaps;
mod ground;
mod kept;
mod lot;
#[cfg(test)]
mod made_up;
mod mask;
mod neighbours;
mod radii;
mod round_buffer;
mod rows;
mod shade;
mod sources;
mod thinned;
mod ways;

pub use barriers::Barriers;
pub use coverage::{Covered, DOORS_A_DAY, coverage, inspected_inside};
pub use dispersal::{inner_radius, share_beyond, web_map_stretch};
pub use gaps::{Gap, Reason, gaps};
pub use ground::{Ground, ground};
pub use kept::Kept;
pub use mask::{Mask, mask_gaps, masked_cases, masked_ground};
pub use neighbours::{Neighbour, neighbours};
pub use radii::{ONLY_CONVENTIONS, Radius, radii, read_radii};
pub(crate) use rows::fence;
pub use rows::{gap_rows, ground_rows};
pub use sources::{MeasureFrom, Source, SourceKind, Sources, Wanted, sources};
