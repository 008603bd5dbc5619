//! The open survey: its file, and changes that can be undone.

mod as_written;
mod edit;
mod error;
mod export;
mod history;
mod keep;
mod load;
#[cfg(test)]
mod made_up;
mod quick_premises;
mod quick_visits;
mod read_layers;
mod read_tables;
mod save;
mod schema;
mod stamp;
mod unsaved;
mod write_layers;
mod write_tables;

pub use edit::{Edit, EditError, apply};
pub use error::StoreError;
pub use export::{Export, Layer, export, gap_features, planned_day, reach_features};
pub use history::{History, Made, Step, Way};
pub use keep::keep_setting;
pub use load::{Parts, is_survey, load};
pub use save::{save, save_over};
pub use stamp::Stamp;
pub use unsaved::{Found, Keeper, LeftBehind, ToKeep, UnsavedPlace, look_for_unsaved};
