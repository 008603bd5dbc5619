//! Street addresses found again exactly or almost.

mod book;
#[cfg(test)]
mod damage;
mod edits;
mod houses;
#[cfg(test)]
mod trials;

pub use crate::survey::Address;
pub(super) use book::{AddressBook, Like, clearly_best};
pub(super) use houses::{Houses, Spot};

#[cfg(test)]
pub(super) use edits::{Slip, slip};
