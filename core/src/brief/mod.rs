//! What leaves the office: maps painted off screen, and tables.

pub mod breaks;
pub mod classes;
pub mod ink;
mod paint;
mod words;

pub use paint::{Format, MapError, MapRequest, Painted, paint_map};
