//! Street addresses: taken apart by the postal standard, found again exactly or almost.

mod book;
mod edits;
mod parse;
mod words;

pub(super) use book::{AddressBook, Like, alike, clearly_best};
pub(super) use edits::{Slip, slip};
pub use parse::Address;
