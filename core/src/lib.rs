//! The computing of Yardring: places, surveys, measures, reach and what is drawn off screen.
//!
//! Nothing here opens a window, starts a thread of its own, reads a clock or prints. The rooms, from the
//! ground up: [`units`], [`job`], [`place`], [`survey`], [`files`], [`measure`], [`reach`], [`foresee`],
//! [`walks`], [`intake`], [`store`], [`brief`]. A room may use those named before it, never one named after it.

pub mod brief;
pub mod error;
pub mod files;
pub mod foresee;
pub mod intake;
pub mod job;
pub mod measure;
pub mod place;
pub mod reach;
pub mod store;
pub mod survey;
pub mod units;
pub mod walks;
