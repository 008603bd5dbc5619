//! Street addresses: taken apart by the postal standard, found again exactly or almost.

mod book;
mod edits;
mod parse;
#[cfg(test)]
mod trials;
mod words;

pub(super) use book::{AddressBook, Like, clearly_best};
#[cfg(test)]
pub(super) use edits::{Slip, slip};
pub use parse::Address;
