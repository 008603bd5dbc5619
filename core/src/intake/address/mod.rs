//! Street addresses found again exactly or almost.

mod book;
#[cfg(test)]
mod damage;
mod edits;
#[cfg(test)]
mod trials;

pub use crate::survey::Address;
pub(super) use book::{AddressBook, Like, clearly_best, difference};

#[cfg(test)]
pub(super) use edits::{Slip, slip};
