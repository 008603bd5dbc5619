//! Streets: centrelines with a name.

use super::Strings;
use crate::place::Shapes;
use std::sync::Arc;

/// House numbers along one side of a centreline, from where its line begins to where it ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Numbers {
    /// The number where the line begins.
    pub from: u32,
    /// The number where the line ends; smaller than `from` where numbers fall along the line.
    pub to: u32,
}

/// House numbers along both sides of a centreline, as seen by somebody who walks from its beginning to its end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Ranges {
    /// On the left hand.
    pub left: Option<Numbers>,
    /// On the right hand.
    pub right: Option<Numbers>,
}

impl Ranges {
    /// Both sides: whether it is the left one, and its numbers.
    pub fn sides(self) -> impl Iterator<Item = (bool, Numbers)> {
        [(true, self.left), (false, self.right)].into_iter().filter_map(|(left, numbers)| Some((left, numbers?)))
    }
}

/// The streets of a survey: one row for each centreline of the file, in an order that depends on the ground alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Streets {
    /// The name; empty where none was given.
    pub name: Arc<Strings>,
    /// The runs of the centreline in the district frame, each an open ring of its own part.
    pub line: Arc<Shapes>,
    /// House numbers along each centreline; no row where no file gave any.
    pub ranges: Arc<Vec<Ranges>>,
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
