//! Street addresses found again exactly or almost.

mod book;
mod edits;
#[cfg(test)]
mod trials;

pub use crate::survey::Address;
pub(super) use book::{AddressBook, Like, clearly_best};
#[cfg(test)]
pub(super) use edits::{Slip, slip};
