//! Parts that every desk is made of: theme, steps, lists, sentences.

pub mod focus;
pub mod list;
pub mod method;
pub mod notice;
pub mod step;
pub mod swatch;
pub mod theme;
pub mod waiting;
pub mod words;
