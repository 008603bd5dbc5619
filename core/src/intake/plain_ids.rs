//! Parcel ids that a file writes in another way than the parcels do: without their hyphens, or without the leading zeros that a
//! spreadsheet takes off numbers.

use super::join::Finder;
use super::text_index::TextIndex;
use crate::survey::{PremiseId, Premises, Strings};

/// Fewer ids than this say nothing about how a file writes them.
const FEWEST: usize = 5;
/// At most one id in so many may be as the parcels have it, and at least all but one in so many must fit when written plainly.
const ONE_IN: [usize; 2] = [20, 10];

/// A parcel id without anything but its letters and digits, in capitals, and without leading zeros.
fn plain(id: &str, out: &mut String) {
    out.clear();
    out.extend(id.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_uppercase).skip_while(|c| *c == '0'));
}

/// Every parcel id of the premises written plainly.
pub(super) fn plain_ids(premises: &Premises) -> Strings {
    Strings::side_by_side(premises.len(), |i, buffer, column| {
        plain(premises.parcel_id.get(i), buffer);
        column.push(buffer);
    })
}

/// Premises by the plain writing of their ids.
pub(super) struct PlainIds<'a> {
    premises: &'a Premises,
    index: TextIndex<'a>,
}

impl<'a> PlainIds<'a> {
    /// The premises by their plain ids, when that is how a file's ids are written: nearly none of them is as the parcels have it,
    /// and nearly all fit one parcel when both are written plainly. `plain` holds every premise's id written plainly.
    pub(super) fn where_a_file_writes_so(
        ids: &[impl AsRef<str>],
        finder: &Finder<'_>,
        (premises, plain): (&'a Premises, &'a Strings),
    ) -> Option<Self> {
        let written = Self { premises, index: TextIndex::new(plain) };
        let fitting = ids.iter().filter(|id| written.find(id.as_ref(), finder).is_some()).count();
        (fitting >= ids.len() - ids.len() / ONE_IN[1]).then_some(written)
    }

    /// The premise whose id is the same when both are written plainly; `None` where two different ids are.
    pub(super) fn find(&self, id: &str, finder: &Finder<'_>) -> Option<PremiseId> {
        let mut wanted = String::new();
        plain(id, &mut wanted);
        let mut ids = self.index.rows(&wanted).map(|row| self.premises.parcel_id.get(row));
        let first = ids.next().filter(|_| !wanted.is_empty())?;
        if ids.all(|other| other == first) { finder.by_id(first) } else { None }
    }
}

/// Whether the ids of a file are so seldom as the parcels have them that they may be written in another way.
pub(super) fn may_be_written_otherwise(ids: &[impl AsRef<str>], finder: &Finder<'_>) -> bool {
    // Of a file that writes as the parcels do, not all ids are looked up.
    let mut known = ids.iter().filter(|id| finder.by_id(id.as_ref()).is_some());
    ids.len() >= FEWEST && known.nth(ids.len() / ONE_IN[0]).is_none()
}

#[cfg(test)]
mod tests {
    use super::super::join::folded_addresses;
    use super::*;
    use crate::place::Shapes;
    use std::sync::Arc;

    fn premises(ids: &[&str]) -> Premises {
        let mut outlines = Shapes::default();
        ids.iter().for_each(|_| outlines.end_shape());
        Premises {
            parcel_id: Arc::new(ids.iter().copied().collect()),
            address: Arc::new(ids.iter().map(|_| "").collect()),
            block: Arc::new(vec![None; ids.len()]),
            outline: Arc::new(outlines),
            land_use: Arc::default(),
            year_built: Arc::default(),
        }
    }

    fn fitting(parcels: &[&str], ids: &[&str]) -> Option<Vec<Option<u32>>> {
        let premises = premises(parcels);
        let (folded, plain) = (folded_addresses(&premises), plain_ids(&premises));
        let finder = Finder::new(&premises, &folded);
        if !may_be_written_otherwise(ids, &finder) {
            return None;
        }
        let written = PlainIds::where_a_file_writes_so(ids, &finder, (&premises, &plain))?;
        Some(ids.iter().map(|id| written.find(id, &finder).map(|p| p.0)).collect())
    }

    const PARCELS: [&str; 6] = ["012-034-001", "012-034-002", "012-034-003", "012-034-004", "012-034-005", "1-234-006"];

    #[test]
    fn ids_without_hyphens_and_leading_zeros_find_their_premises() {
        let found = fitting(&PARCELS, &["12034001", "12034002", "12034003", "12034004", "012034005"]);
        assert_eq!(found, Some(vec![Some(0), Some(1), Some(2), Some(3), Some(4)]));
    }

    #[test]
    fn a_file_that_writes_as_the_parcels_do_is_left_alone() {
        assert_eq!(fitting(&PARCELS, &["012-034-001", "012-034-002", "12034003", "12034004", "12034005"]), None);
        assert_eq!(fitting(&PARCELS, &["A1", "A2", "A3", "A4", "12034005"]), None, "ids of some other county");
        assert_eq!(fitting(&PARCELS, &["12034001"]), None, "one id says nothing");
    }

    #[test]
    fn an_id_that_means_two_parcels_finds_none() {
        let parcels = ["1-23", "12-3", "4-5", "6-7", "8-9", "10-1", "11-2", "12-4", "13-1", "14-1"];
        let found = fitting(&parcels, &["123", "45", "67", "89", "101", "112", "124", "131", "141", "101"]).unwrap();
        assert_eq!(found[..2], [None, Some(2)]);
    }
}
