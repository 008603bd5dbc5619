//! Names of what an office settles for its survey once and for all.

/// What the office calls the survey.
pub const NAME: &str = "name";
/// What was decided about rows that found no premise by themselves, as JSON: by file, then by what stands in the row.
pub const SETTLED: &str = "settled";
/// What was said about files that were brought in, as JSON: by file, the columns and what they mean.
pub const FILES_SEEN: &str = "files_seen";

/// There when the blocks were made from the premises because no file gave any: how, in words.
pub const DERIVED_BLOCKS: &str = "derived_blocks";

/// How far each case is moved before it is drawn or written, as JSON.
pub const CASE_MASK: &str = "case_mask";
