//! Street addresses: taken apart by the postal standard, found again exactly or almost.

mod book;
#[cfg(test)]
mod damage;
mod edits;
mod houses;
mod parse;
#[cfg(test)]
mod trials;
mod words;

pub(super) use book::{AddressBook, Like, clearly_best};
pub(super) use houses::{Houses, Spot};

#[cfg(test)]
pub(super) use edits::{Slip, slip};
pub use parse::Address;
