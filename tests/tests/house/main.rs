//! House rules: where code may live, what it may know, and how long it may be.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot go on must stop with a word")]

mod budgets;
mod dependencies;
mod rooms;
mod source;
mod words;
