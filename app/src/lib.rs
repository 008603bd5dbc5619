//! Yardring's window and command line, as a library so that tests can build both.

pub mod cli;
pub mod ui;
