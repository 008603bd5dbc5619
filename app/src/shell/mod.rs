//! What stays while desks change: the bar at the top, the map with its cards, the time strip at the bottom.

pub mod card;
pub mod chart;
pub mod closing;
pub mod errands;
pub mod find;
pub mod left_behind;
pub mod legend;
pub mod map_bar;
pub mod time_strip;
pub mod top_bar;
pub mod welcome;
mod yard_words;

pub use yard_words::{state, state_in_a_word};
