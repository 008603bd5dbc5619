//! Each desk's day, in the window and on the command line, with equal numbers.

#[path = "../office.rs"]
mod office;
mod window;
