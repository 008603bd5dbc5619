//! Streets: centrelines with a name.

use super::Strings;
use crate::place::Shapes;
use std::sync::Arc;

/// The streets of a survey: one row for each centreline of the file, in an order that depends on the ground alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Streets {
    /// The name; empty where none was given.
    pub name: Arc<Strings>,
    /// The runs of the centreline in the district frame, each an open ring of its own part.
    pub line: Arc<Shapes>,
}

impl Streets {
    /// How many centrelines there are.
    pub fn len(&self) -> usize {
        self.name.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.name.is_empty()
    }
}
