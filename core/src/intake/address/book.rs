//! All addresses of a survey, to be found exactly and almost.

use super::Address;
use super::edits::{Slip, slip};
use crate::intake::text_index::Sorted;
use crate::survey::Strings;
use rayon::prelude::*;
use std::collections::{BTreeSet, HashMap};
use std::sync::OnceLock;

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
    /// The streets by what is left of their names with one letter or none taken out; made when a street is first not found.
    less: OnceLock<HashMap<String, Vec<u32>>>,
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
        Self { sorted: Sorted::of(&doors), doors, units, streets: streets.into_iter().collect(), less: OnceLock::new() }
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
        // Where a suffix is written with a slip, it was taken for the last word of the name.
        let before_last = wanted.name.rsplit_once(' ').filter(|_| wanted.suffix.is_empty()).map(|(name, _)| name);
        let names = std::iter::once(&*wanted.name).chain(before_last);
        let near: BTreeSet<&Address> = names.flat_map(|name| self.streets_near(name)).collect();
        for street in near {
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

    /// The streets whose names may be one slip from a name, in their order. Two names one slip apart are the same with at most one letter
    /// taken out of each.
    ///
    /// # Source
    /// The deletion neighbourhood of M. M. Mor and A. S. Fraenkel, A hash code method for detecting and correcting spelling errors,
    /// Communications of the ACM 25(12), 1982 (from memory).
    fn streets_near(&self, name: &str) -> impl Iterator<Item = &Address> {
        let less = self.less.get_or_init(|| {
            let mut out: HashMap<String, Vec<u32>> = HashMap::new();
            for (i, street) in self.streets.iter().enumerate() {
                shorter(&street.name).for_each(|text| out.entry(text).or_default().push(i as u32));
            }
            out
        });
        let near: BTreeSet<u32> = shorter(name).filter_map(|text| less.get(&text)).flatten().copied().collect();
        near.into_iter().map(|i| &self.streets[i as usize])
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

/// A name, and it with each of its letters taken out.
fn shorter(name: &str) -> impl Iterator<Item = String> {
    let without = |(at, letter): (usize, char)| format!("{}{}", &name[..at], &name[at + letter.len_utf8()..]);
    std::iter::once(name.to_owned()).chain(name.char_indices().map(without))
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
    let said_by_one = |a: &str, b: &str, cost: f64| match (a == b, a.is_empty() || b.is_empty()) {
        (true, _) => Some(0.0),
        (false, true) => Some(cost),
        (false, false) => None,
    };
    let name_and_suffix = match slip_of_suffix(wanted, street) {
        Some(slip) => cost_of(slip),
        None => difference_of_names(wanted, street)? + said_by_one(&wanted.suffix, &street.suffix, cost::SUFFIX)?,
    };
    let directions = match (&*wanted.before, &*wanted.after, &*street.before, &*street.after) {
        // "N ELM ST" and "ELM ST N".
        (a, "", "", b) | ("", a, b, "") if a == b && !a.is_empty() => cost::DIRECTION / 2.0,
        (a, b, c, d) => said_by_one(a, c, cost::DIRECTION)? + said_by_one(b, d, cost::DIRECTION)?,
    };
    Some(name_and_suffix + directions)
}

fn difference_of_names(wanted: &Address, street: &Address) -> Option<f64> {
    let slip = slip(&wanted.name, &street.name)?;
    // One letter of a very short name, or of a numbered street, makes another street of it.
    let another = slip != Slip::None && (wanted.name.len() < 4 || wanted.name.contains(|c: char| c.is_ascii_digit()));
    (!another).then(|| cost_of(slip))
}

fn cost_of(slip: Slip) -> f64 {
    match slip {
        Slip::None => 0.0,
        Slip::Swapped => cost::SWAPPED,
        Slip::Letter => cost::LETTER,
    }
}

/// The slip in a suffix that was taken for the last word of a name: "FENBURY STRET" for "FENBURY ST".
fn slip_of_suffix(wanted: &Address, street: &Address) -> Option<Slip> {
    let word = wanted.name.strip_prefix(&*street.name)?.strip_prefix(' ').filter(|_| wanted.suffix.is_empty())?;
    street.suffix_writings().filter(|_| word.len() > 2).filter_map(|writing| slip(word, writing)).min()
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
        assert_eq!(found(&column, "104 Fenbury Stret"), [(0, 85)]);
        assert_eq!(found(&column, "104 Fenbury Lnea"), [], "two slips");
        assert_eq!(found(&column, "104 Fenbury Laen"), [(1, 90)]);
        assert_eq!(found(&column, "104 N Garton Cuort"), [(2, 90)]);
        assert_eq!(found(&column, "104 Fenbury Rood"), [], "no suffix of a street of that name");
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

    proptest::proptest! {
        /// Every street that the comparison finds, found without comparing with all.
        #[test]
        fn no_street_one_slip_away_is_passed_over(names in proptest::collection::vec("[ABC]{1,6}", 1..12), wanted in "[ABC]{1,6}") {
            let column: Vec<String> = names.iter().map(|n| format!("7 {n} St")).collect();
            let book = AddressBook::new(&column.iter().map(String::as_str).collect());
            let near: Vec<&Address> = book.streets_near(&wanted).collect();
            for street in &book.streets {
                proptest::prop_assert!(slip(&wanted, &street.name).is_none() || near.contains(&street), "{}", street.name);
            }
        }
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
