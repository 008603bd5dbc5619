//! What leaves the office: maps painted off screen, and tables.

pub mod classes;
pub mod ink;
mod paint;
mod stand_out;
mod words;

pub use paint::{MapError, MapRequest, Painted, paint_map};
