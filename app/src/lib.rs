//! Yardring's window and command line, as a library so that tests can build both.

// the trials of the map share their invented town with the benchmark, which sees this library by its name
#[cfg(test)]
extern crate self as yardring;

pub mod cli;
pub mod map;
