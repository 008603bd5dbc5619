//! The measures of the trade, each with its interval.

mod access;
mod beside;
mod between;
mod breteau;
mod by_kind;
mod chance;
mod change;
mod clustering;
mod clusters;
mod counts;
mod doors;
mod effort;
mod exact;
mod group;
mod interval;
mod key_containers;
mod label;
mod nearby;
mod programme;
mod redrawn;
mod rows;
mod scan;
mod smoothing;
mod special;
mod spots;
mod volumes;
mod yards;

pub use access::{Access, access};
pub use beside::Beside;
pub use between::{
    AreaChange, AreaRound, BlockChange, Compared, Reduction, RoundChange, change_between, change_by_block, in_order, round_before,
};
pub use breteau::{BreteauMethod, breteau_by_student, breteau_interval, dispersion_by_likelihood, dispersion_by_moments};
pub use by_kind::{KindCounts, by_kind};
pub use change::{
    Change, Paired, abbott, control_adjusted, control_adjusted_interval, difference_of_shares, paired, reduction_interval,
    reduction_without_control,
};
pub use clustering::{Among, Clustering, Crowd, LARGEST_CIRCLE, Likeness, MOST_RESHUFFLES, RESHUFFLES, clustering, crowd};
pub use clusters::{Moran, Score, adjusted, believed, gi, gi_star, local_moran, moran};
pub use counts::Counts;
pub use doors::{
    DoorsError, Stopping, Verdict, among, cannon_roe, chance_to_find, doors_to_estimate, doors_to_find, doors_to_find_without_end,
    doors_to_tell_apart, doors_to_try, found_in_visits, krejcie_morgan, most_left, positives_at, proper_share,
};
pub use effort::{for_each_of, premises_in_ring, ring_hectares};
pub use exact::{clopper_pearson, positives_in_block, positives_in_block_by, upper_when_none};
pub use group::{by_block, by_land_use, by_round, district};
pub use interval::{Interval, share_of_block, share_of_block_at, wilson};
pub use key_containers::{KEY_SHARE, KeyContainers, KindShare, MadeOf, SEED, key_containers, productivity, smallest_set};
pub use label::{Amount, CAUTIONS, LabelError, LabelRate, RateUnit};
pub use nearby::Nearby;
pub use programme::{BAND_COLUMNS, BandOf, BandsError, CONVENTION, DensityOf, Programmes, Scheme, density_figure};
pub use redrawn::{FEWEST_REDRAWN, MOST_REDRAWN, breteau_redrawn};
pub use rows::{access_columns, group_columns, kind_columns};
pub use scan::{ScanCluster, bernoulli_scan, scan_ratio};
pub use smoothing::{ByChance, smoothed_rates, standardised_rates};
pub(crate) use special::{crossing, normal_above, student_reach};
pub use spots::{BLOCKS_APART, FALSE_SHARE, Heat, Neighbours, Spot, needs_premises, spots, spots_within};
pub use volumes::{LITRES_PER_GALLON, ShapeError, Water, WaterShape};
pub use yards::{Intervals, Yard, clustered_ratio, container_interval};
