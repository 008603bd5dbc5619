//! House rules: where code may live, what it may know, and how long it may be.

mod budgets;
mod dependencies;
mod rooms;
mod source;
mod words;
