//! All addresses of a survey, to be found exactly and almost.

use super::Address;
use super::edits::{Slip, slip};
use crate::intake::text_index::Sorted;
use crate::survey::Strings;
use rayon::prelude::*;
use std::collections::BTreeSet;

const TAKEN_AT_ONCE: usize = 8_192;

/// What each difference from the address as written takes off a score of 1.
///
/// # Source
/// Common practice, no source: set so that any two differences weigh more than either, and none as much as half.
mod cost {
    pub(super) const SWAPPED: f64 = 0.10;
    pub(super) const LETTER: f64 = 0.15;
    pub(super) const SUFFIX: f64 = 0.08;
    pub(super) const OTHER_SUFFIX: f64 = 0.25;
    pub(super) const DIRECTION: f64 = 0.12;
    pub(super) const UNIT: f64 = 0.12;
}

/// Addresses like the one looked for.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::intake) struct Like {
    /// Rows of the column of addresses that have it, rising.
    pub rows: Vec<u32>,
    /// How like it is: 1 is the same after normalising.
    pub score: f64,
}

/// A column of addresses in the standard's form: number and street in one column, the unit in another.
#[derive(Debug)]
pub(in crate::intake) struct AddressBook {
    doors: Strings,
    sorted: Sorted,
    units: Strings,
    streets: Vec<Address>,
}

impl AddressBook {
    /// Takes all addresses of a column apart; blank ones are found by nobody.
    pub(in crate::intake) fn new(addresses: &Strings) -> Self {
        let starts = (0..addresses.len()).into_par_iter().step_by(TAKEN_AT_ONCE);
        let parts: Vec<_> = starts.map(|from| some(addresses, from)).collect();
        let (mut doors, mut units, mut streets) = (Strings::default(), Strings::default(), BTreeSet::new());
        for (some_doors, some_units, own) in parts {
            doors.append(&some_doors);
            units.append(&some_units);
            streets.extend(own);
        }
        Self { sorted: Sorted::of(&doors), doors, units, streets: streets.into_iter().collect() }
    }
}

fn some(addresses: &Strings, from: usize) -> (Strings, Strings, BTreeSet<Address>) {
    let (mut doors, mut units, mut streets) = (Strings::default(), Strings::default(), BTreeSet::new());
    for i in from..(from + TAKEN_AT_ONCE).min(addresses.len()) {
        let mut address = Address::parse(addresses.get(i));
        doors.push(&door(&address.number, &address));
        units.push(&address.unit);
        address.number.clear();
        address.unit.clear();
        if !address.name.is_empty() && !streets.contains(&address) {
            streets.insert(address);
        }
    }
    (doors, units, streets)
}

/// Number and street in one text; empty for an address that names no street.
fn door(number: &str, street: &Address) -> String {
    if street.name.is_empty() { String::new() } else { format!("{number}|{}", street.street()) }
}

impl AddressBook {
    /// Rows whose address is the same after normalising.
    pub(in crate::intake) fn same(&self, wanted: &Address) -> Vec<u32> {
        let door = door(&wanted.number, wanted);
        if door.is_empty() { Vec::new() } else { self.rows(&door).filter(|&i| self.units.get(i as usize) == wanted.unit).collect() }
    }

    /// Rows at the door of an address that names a unit, where none of them has one: the flats of a house that is one parcel.
    pub(in crate::intake) fn whole_house(&self, wanted: &Address) -> Vec<u32> {
        let door = door(&wanted.number, wanted);
        if door.is_empty() || wanted.number.is_empty() || wanted.unit.is_empty() {
            return Vec::new();
        }
        let rows: Vec<u32> = self.rows(&door).collect();
        if rows.iter().all(|&row| self.units.get(row as usize).is_empty()) { rows } else { Vec::new() }
    }

    fn rows<'s>(&'s self, door: &'s str) -> impl Iterator<Item = u32> + 's {
        self.sorted.rows(&self.doors, door).map(|i| i as u32)
    }

    /// Addresses like the one wanted, the likest first: the same house number on a street whose name differs by at most one slip,
    /// with a suffix or directions that the one says and the other does not, with another unit. Where there is none of these, the
    /// same door on streets that have another suffix. Addresses with a house number only.
    pub(in crate::intake) fn like(&self, wanted: &Address) -> Vec<Like> {
        if wanted.number.is_empty() || wanted.name.is_empty() {
            return Vec::new();
        }
        let mut found = Vec::new();
        for street in &self.streets {
            if let Some(off) = difference(wanted, street) {
                self.at(&door(&wanted.number, street), wanted, off, &mut found);
            }
        }
        if found.is_empty() {
            let otherwise =
                |street: &&Address| (&street.name, &street.before, &street.after) == (&wanted.name, &wanted.before, &wanted.after);
            for street in self.streets.iter().filter(otherwise) {
                self.at(&door(&wanted.number, street), wanted, cost::OTHER_SUFFIX, &mut found);
            }
        }
        found.sort_by(|a, b| b.score.total_cmp(&a.score).then_with(|| a.rows.cmp(&b.rows)));
        found
    }

    /// Every address at one door.
    fn at(&self, door: &str, wanted: &Address, off: f64, found: &mut Vec<Like>) {
        let mut by_unit: std::collections::BTreeMap<&str, Vec<u32>> = std::collections::BTreeMap::new();
        for row in self.rows(door) {
            by_unit.entry(self.units.get(row as usize)).or_default().push(row);
        }
        for (unit, rows) in by_unit {
            // Another unit than the one named is another door.
            if unit == wanted.unit || unit.is_empty() || wanted.unit.is_empty() {
                let off = off + if unit == wanted.unit { 0.0 } else { cost::UNIT };
                found.push(Like { rows, score: 1.0 - off });
            }
        }
    }
}

/// The one that is liker than all others, of things with falling scores; `None` when there is none or two are equally like.
pub(in crate::intake) fn clearly_best<T>(like: &[T], score: impl Fn(&T) -> f64) -> Option<&T> {
    match like {
        [only] => Some(only),
        [first, second, ..] if score(first) - score(second) > 1e-9 => Some(first),
        _ => None,
    }
}

/// How much two streets differ; `None` when too much for a slip.
pub(in crate::intake) fn difference(wanted: &Address, street: &Address) -> Option<f64> {
    let name = match slip(&wanted.name, &street.name)? {
        Slip::None => 0.0,
        // One letter of a very short name, or of a numbered street, makes another street of it.
        _ if wanted.name.len() < 4 || wanted.name.contains(|c: char| c.is_ascii_digit()) => return None,
        Slip::Swapped => cost::SWAPPED,
        Slip::Letter => cost::LETTER,
    };
    let said_by_one = |a: &str, b: &str, cost: f64| match (a == b, a.is_empty() || b.is_empty()) {
        (true, _) => Some(0.0),
        (false, true) => Some(cost),
        (false, false) => None,
    };
    let suffix = said_by_one(&wanted.suffix, &street.suffix, cost::SUFFIX)?;
    let directions = match (&*wanted.before, &*wanted.after, &*street.before, &*street.after) {
        // "N ELM ST" and "ELM ST N".
        (a, "", "", b) | ("", a, b, "") if a == b && !a.is_empty() => cost::DIRECTION / 2.0,
        (a, b, c, d) => said_by_one(a, c, cost::DIRECTION)? + said_by_one(b, d, cost::DIRECTION)?,
    };
    Some(name + suffix + directions)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(column: &[&str], text: &str) -> Vec<(u32, u32)> {
        let book = AddressBook::new(&column.iter().collect());
        let like = book.like(&Address::parse(text));
        like.iter().map(|l| (l.rows[0], (l.score * 100.0).round() as u32)).collect()
    }

    #[test]
    fn slips_and_missing_words_are_found_and_ranked() {
        let column = ["104 Fenbury St", "104 Fenbury Ln", "104 N Garton Ct", "106 Fenbury St", "104 Hamdale Dr Unit 2", "104 Hamdale Dr"];
        assert_eq!(found(&column, "104 FENBURY STREET"), [(0, 100)]);
        assert_eq!(found(&column, "104 Fenbruy St"), [(0, 90)]);
        assert_eq!(found(&column, "104 Garton Court"), [(2, 88)]);
        assert_eq!(found(&column, "104 Fenbury"), [(0, 92), (1, 92)]);
        assert_eq!(found(&column, "104 Hamdale Dr Apt 2"), [(4, 100), (5, 88)]);
        assert_eq!(found(&column, "104 Garton Rd"), [], "another direction and another suffix");
        assert_eq!(found(&column, "106 Fenbury Rd"), [(3, 75)]);
        assert_eq!(found(&column, "108 Fenbury St"), []);
        assert_eq!(found(&column, "Fenbury St"), []);
    }

    #[test]
    fn a_flat_is_in_its_house_where_the_house_is_one_parcel() {
        let column = ["104 Fenbury St", "106 Fenbury St Unit 1", "106 Fenbury St", "Fenbury St"];
        let book = AddressBook::new(&column.iter().collect());
        let house = |text: &str| book.whole_house(&Address::parse(text));
        assert_eq!(house("104 Fenbury Street Apt 3"), [0]);
        assert_eq!(house("106 Fenbury St Apt 3"), [0; 0], "some flats there are parcels of their own");
        assert_eq!((house("104 Fenbury St"), house("Fenbury St Apt 3")), (vec![], vec![]));
    }

    #[test]
    fn two_that_are_equally_like_are_no_answer() {
        let like = |score| Like { rows: vec![0], score };
        assert_eq!(clearly_best(&[like(0.9), like(0.9)], |l| l.score), None);
        assert_eq!(clearly_best(&[like(0.9), like(0.8)], |l| l.score), Some(&like(0.9)));
        assert_eq!(clearly_best(&[], |l: &Like| l.score), None);
    }

    #[test]
    fn a_letter_of_a_numbered_or_short_street_makes_another_street() {
        assert_eq!(found(&["7 15th St", "7 Elm St"], "7 16th St"), []);
        assert_eq!(found(&["7 15th St", "7 Elm St"], "7 Alm St"), []);
    }
}
