//! Yardring's window and command line, as a library so that tests can build both.

// the trials of the map share their invented town with the benchmark, which sees this library by its name
#[cfg(test)]
extern crate self as yardring;

pub mod action;
pub mod app;
pub mod cli;
pub mod command;
pub mod day_files;
pub mod desk;
pub mod jobs;
pub mod lifeline;
pub mod map;
pub mod masking;
pub mod online;
pub mod perform;
pub mod remaining;
#[cfg(test)]
mod sample;
pub mod sample_district;
pub mod session;
pub mod sets;
pub mod settings;
pub mod shell;
mod signing;
pub mod tables;
pub mod ui;
pub mod view;
