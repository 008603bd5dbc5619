//! What leaves the office: maps painted off screen, the crews' sheets, and tables.

pub mod breaks;
mod briefing;
mod changed;
pub mod classes;
pub mod doors;
pub mod ink;
mod paint;
mod sheets;
mod stand_out;
mod together;
pub mod words;

pub use briefing::{Bar, BlockRow, BriefingError, BriefingRequest, Facts, Figure, Point, briefing};
pub use paint::{ChartWords, Format, Ground, MapError, MapRequest, MapSize, Painted, paint_change, paint_map};
pub use sheets::{HandOut, Handed, PageSize, SheetError, hand_out, sheet_visit_id};
pub use together::{Together, together};
