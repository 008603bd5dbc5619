//! The measures of the trade, each with its interval.

mod breteau;
mod by_kind;
mod counts;
mod doors;
mod exact;
mod group;
mod interval;
mod rows;
mod special;
mod yards;

pub use breteau::{BreteauMethod, breteau_by_student, breteau_interval, dispersion_by_likelihood, dispersion_by_moments};
pub use by_kind::{KindCounts, by_kind};
pub use counts::Counts;
pub use doors::{
    DoorsError, Stopping, Verdict, among, cannon_roe, chance_to_find, doors_to_estimate, doors_to_find, doors_to_find_without_end,
    found_in_visits, krejcie_morgan, most_left, positives_at, proper_share,
};
pub use exact::{clopper_pearson, positives_in_block, upper_when_none};
pub use group::{by_block, by_round, district};
pub use interval::{Interval, share_of_block, wilson};
pub use rows::{group_columns, kind_columns};
pub use yards::{Intervals, Yard, clustered_ratio, container_interval};
