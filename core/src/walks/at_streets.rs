//! How a day's doors were put at their streets.

use super::by_hand::Ways;
use super::{Day, FoundBy};

/// Doors of a day by how each was put at its street.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct AtStreets([usize; FoundBy::ALL.len()]);

impl AtStreets {
    /// Counts the doors on all walks; without streets there are none to count.
    pub fn of(day: &Day, ways: &dyn Ways) -> Self {
        let mut out = Self::default();
        let found = day.walks.iter().flat_map(|w| &w.doors).filter_map(|d| ways.found_by(d.premise));
        found.for_each(|by| out.0[by as usize] += 1);
        out
    }

    /// How many doors were put at their street in a way.
    pub fn count(self, by: FoundBy) -> usize {
        self.0[by as usize]
    }

    /// The same in a sentence without its full stop; empty where nothing was counted.
    pub fn words(self) -> String {
        let told = FoundBy::ALL.into_iter().filter(|&by| self.count(by) > 0);
        let told: Vec<String> = told.map(|by| format!("{} by {}", self.count(by), by.word())).collect();
        if told.is_empty() { String::new() } else { format!("Doors at their streets: {}", told.join(", ")) }
    }
}
