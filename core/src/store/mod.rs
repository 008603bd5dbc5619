//! The open survey: its file, and changes that can be undone.

mod error;
mod load;
#[cfg(test)]
mod made_up;
mod read_layers;
mod read_tables;
mod save;
mod schema;
mod write_layers;
mod write_tables;

pub use error::StoreError;
pub use load::{Parts, load};
pub use save::save;
