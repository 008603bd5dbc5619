//! Yardring's window and command line, as a library so that tests can build both.

#[cfg(test)]
extern crate self as yardring;

pub mod cli;
pub mod ui;
pub mod map;
