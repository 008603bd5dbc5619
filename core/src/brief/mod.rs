//! What leaves the office: maps painted off screen, the crews' sheets, and tables.

pub mod breaks;
mod changed;
pub mod classes;
pub mod ink;
mod paint;
mod sheets;
mod stand_out;
pub mod words;

pub use paint::{Format, Ground, MapError, MapRequest, Painted, paint_map};
pub use sheets::{HandOut, Handed, PageSize, SheetError, hand_out};
