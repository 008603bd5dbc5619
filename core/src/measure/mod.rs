//! The measures of the trade, each with its interval.

mod by_kind;
mod counts;
mod group;
mod interval;
mod rows;

pub use by_kind::{KindCounts, by_kind};
pub use counts::Counts;
pub use group::{by_block, by_round, district};
pub use interval::{Interval, wilson};
pub use rows::{group_columns, kind_columns};
