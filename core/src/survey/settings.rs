//! Names of what an office settles for its survey once and for all.

/// What the office calls the survey.
pub const NAME: &str = "name";
/// Whom householders call, as it stands on their notices: the office's telephone, and what else they should know.
pub const OFFICE: &str = "office";
/// What was decided about rows that found no premise by themselves, as JSON: by file, then by what stands in the row.
pub const SETTLED: &str = "settled";
/// What was decided about premises with the same parcel id, as JSON: by id, one premise in parts or separate ones.
pub const SAME_ID: &str = "same_id";
/// What was said about files that were brought in, as JSON: by file, the columns and what they mean.
pub const FILES_SEEN: &str = "files_seen";

/// Lines that flight rarely crosses, as JSON: see [`crate::reach`].
pub const BARRIERS: &str = "barriers";
/// Lines that no crew crosses, as JSON in the form of the barriers: see `walks::Walking::of`.
pub const NEVER_CROSSED: &str = "never_crossed";
/// The office's own list of radii, with commas between them: see [`crate::reach`].
pub const RADII: &str = "radii";
/// There when the blocks were made from the premises because no file gave any: how, in words.
pub const DERIVED_BLOCKS: &str = "derived_blocks";
/// The day that was planned last, as JSON: see `walks::read_day`.
pub const WALKS: &str = "walks";

/// The coordinate system that the county's parcels came in: `EPSG:` and its number, or its definition as well-known text.
/// Missing where they came in degrees.
pub const COUNTY_CRS: &str = "county_crs";

/// What the name of a saved view of the map begins with; the view's own name follows. See [`super::SavedView`].
pub const VIEW: &str = "view: ";

/// What the district knows about kinds of container, as comma-separated text: see [`super::ContainerKnowledge`]. Missing while
/// the usual table holds.
pub const CONTAINERS: &str = "container_knowledge";

/// The schemes of bands that the office reads its indices by, as comma-separated text: see `measure::Programmes`. Missing while the usual
/// ones hold.
pub const BANDS: &str = "programme_bands";
/// Which blocks count as neighbours: `touching`, or metres. See `measure::Neighbours`; missing while the usual rule holds.
pub const NEIGHBOURS: &str = "block_neighbours";

/// Visits that somebody took away by hand, as JSON: the id of each and the parcel id of its premise. They stay away when their sheet comes again.
pub const TAKEN_AWAY: &str = "taken_away";

/// How far each case is moved before it is drawn or written, as JSON.
pub const CASE_MASK: &str = "case_mask";
