//! Each desk's day, in the window and on the command line, with equal numbers.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot go on must stop with a word")]

mod by_hand;
mod columns;
mod ground;
mod hours;
mod keyboard;
mod map;
mod measures;
mod odd_surveys;
#[path = "../office.rs"]
mod office;
mod papers;
mod planner;
mod promises;
mod recording;
mod settling;
mod stopping;
mod vintage;
mod window;
