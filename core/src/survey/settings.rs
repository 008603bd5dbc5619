//! Names of what an office settles for its survey once and for all.

/// What the office calls the survey.
pub const NAME: &str = "name";

/// There when the blocks were made from the premises because no file gave any: how, in words.
pub const DERIVED_BLOCKS: &str = "derived_blocks";
