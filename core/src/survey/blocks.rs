//! Blocks: premises bounded by streets.

use super::Strings;
use crate::place::Shapes;
use std::sync::Arc;

/// The blocks of a survey, in alphabetical order of their ids.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Blocks {
    /// The block's id as text.
    pub block_id: Arc<Strings>,
    /// Its outline in the district frame; empty for a block known only by name.
    pub outline: Arc<Shapes>,
}

impl Blocks {
    /// How many blocks there are.
    pub fn len(&self) -> usize {
        self.block_id.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.block_id.is_empty()
    }
}
