//! What leaves the office: maps painted off screen, the crews' sheets, householders' notices, and tables.

pub mod breaks;
mod briefing;
mod changed;
pub mod classes;
pub mod doors;
pub mod ink;
mod notices;
mod paint;
mod sheets;
mod stand_out;
mod together;
pub mod words;

pub use briefing::{Bar, BlockRow, BriefingError, BriefingRequest, Facts, Figure, Point, TreatedWater, briefing};
pub use notices::{NoticesError, NoticesRequest, Printed, notices};
pub use paint::{ChartWords, Format, Ground, MapError, MapRequest, MapSize, Painted, paint_change, paint_map};
pub use sheets::{HandOut, Handed, PageSize, SheetError, hand_out, sheet_visit_id};
pub use together::{Together, together};
