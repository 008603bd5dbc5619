//! Finding the premise that a visit was made at: by id, by place, by address.

use super::address::{Address, AddressBook, Like};
use super::cells::fold_into;
use super::text_index::TextIndex;
use crate::place::{Bounds, BoxIndex, Local, ShapeView, Shapes};
use crate::survey::{Houses, PremiseId, Premises, Streets, Strings};
use std::cmp::Reverse;
use std::sync::OnceLock;

/// The nearest premise is offered up to this distance, in metres.
const OFFERED_WITHIN: f64 = 500.0;

/// How a visit found its premise.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum How {
    Id,
    Point,
    Address,
    /// By an address that no premise has, through the house numbers of its street.
    Numbers,
    /// By what somebody decided about a visit that found none by itself.
    Decision,
}

/// Every address folded: small letters, single blanks.
pub(super) fn folded_addresses(premises: &Premises) -> Strings {
    Strings::side_by_side(premises.len(), |i, buffer, column| {
        buffer.clear();
        fold_into(buffer, premises.address.get(i));
        column.push(buffer);
    })
}

/// Of more candidates at once the areas are kept: as many visits may name the one id that all premises have.
const FEW_CANDIDATES: usize = 8;

/// The premises of a survey, ready to be found.
pub(super) struct Finder<'a> {
    premises: &'a Premises,
    /// The areas of all premises; made when more than a few are first candidates at once.
    areas: OnceLock<Vec<i64>>,
    ids: TextIndex<'a>,
    addresses: TextIndex<'a>,
    /// Addresses taken apart; made when an address is first asked for that no premise has word for word.
    book: OnceLock<AddressBook>,
    alphabet: OnceLock<Vec<char>>,
    index: BoxIndex,
    streets: Option<&'a Streets>,
    /// The numbered streets by name; made when a house number is first asked for.
    houses: OnceLock<Houses>,
}

impl<'a> Finder<'a> {
    /// `folded` are the premises' addresses, folded.
    pub(super) fn new(premises: &'a Premises, folded: &'a Strings) -> Self {
        let (ids, (addresses, index)) = rayon::join(
            || TextIndex::new(&premises.parcel_id),
            || rayon::join(|| TextIndex::new(folded), || BoxIndex::new(premises.outline.bounds())),
        );
        Self {
            premises,
            areas: OnceLock::new(),
            ids,
            addresses,
            book: OnceLock::new(),
            alphabet: OnceLock::new(),
            index,
            streets: None,
            houses: OnceLock::new(),
        }
    }

    /// The same, with the streets whose house numbers say where an address stands that no premise has.
    pub(super) fn along(self, streets: &'a Streets) -> Self {
        Self { streets: Some(streets).filter(|s| !s.ranges.is_empty()), ..self }
    }

    /// The numbered streets; `None` when no street has numbers.
    pub(super) fn streets(&self) -> Option<&'a Streets> {
        self.streets
    }

    /// The numbered streets by name.
    pub(super) fn houses(&self) -> Option<&Houses> {
        Some(self.houses.get_or_init(|| self.streets.map(Houses::new).unwrap_or_default())).filter(|_| self.streets.is_some())
    }

    pub(super) fn outlines(&self) -> &Shapes {
        &self.premises.outline
    }

    pub(super) fn index(&self) -> &BoxIndex {
        &self.index
    }

    /// The address of a premise, taken apart.
    pub(super) fn address_of(&self, premise: PremiseId) -> Address {
        Address::parse(self.premises.address.get(premise.row()))
    }

    /// The premise with an id.
    pub(super) fn by_id(&self, id: &str) -> Option<PremiseId> {
        self.best(self.ids.rows(id))
    }

    /// The premise with an id; of several the one that holds a place. Without an id the one that holds the place.
    pub(super) fn by_id_at(&self, id: &str, at: Option<Local>) -> Option<PremiseId> {
        let there = |i: &usize| at.is_some_and(|p| self.premises.outline.get(*i).holds(p));
        if id.is_empty() {
            return at.and_then(|p| self.by_point(p));
        }
        self.best(self.ids.rows(id).filter(there)).or_else(|| self.by_id(id))
    }

    /// The premise whose outline holds a place.
    pub(super) fn by_point(&self, p: Local) -> Option<PremiseId> {
        let mut holding = Vec::new();
        self.index.each_touching(&Bounds::of(&[p]), |i| {
            if self.premises.outline.get(i).holds(p) {
                holding.push(i);
            }
        });
        self.best(holding.into_iter())
    }

    /// The premise with an address, whatever its case and blanks, or else one whose address is the same when both are written
    /// in the postal standard's way. A flat of a house that is one parcel is in that house.
    pub(super) fn by_address(&self, address: &str, buffer: &mut String) -> Option<PremiseId> {
        buffer.clear();
        fold_into(buffer, address);
        if let Some(word_for_word) = self.best(self.addresses.rows(buffer)) {
            return Some(word_for_word);
        }
        let (book, address) = (self.book(), Address::parse(address));
        let of = |rows: Vec<u32>| self.best(rows.into_iter().map(|i| i as usize));
        of(book.same(&address)).or_else(|| of(book.whole_house(&address)))
    }

    fn book(&self) -> &AddressBook {
        self.book.get_or_init(|| AddressBook::new(&self.premises.address))
    }

    /// Premises with addresses like one that no premise has, the likest first; of several with the same address the one that
    /// [`Finder::by_address`] would take.
    pub(super) fn like_address(&self, address: &str) -> Vec<(PremiseId, f64)> {
        let one = |like: Like| Some((self.best(like.rows.iter().map(|&i| i as usize))?, like.score));
        self.book().like(&Address::parse(address)).into_iter().filter_map(one).collect()
    }

    /// Premises whose id differs by one slip from one that no premise has, in the order of their ids.
    pub(super) fn like_id(&self, id: &str) -> Vec<PremiseId> {
        if !id.is_ascii() || !(4..=40).contains(&id.len()) {
            return Vec::new();
        }
        let mut found: Vec<PremiseId> = one_slip_away(id, self.alphabet()).iter().filter_map(|other| self.by_id(other)).collect();
        found.sort_by_key(|p| (self.premises.parcel_id.get(p.row()), p.0));
        found.dedup();
        found
    }

    /// Every plain letter that some parcel id has.
    fn alphabet(&self) -> &[char] {
        self.alphabet.get_or_init(|| {
            let mut there = [false; 128];
            self.premises.parcel_id.iter().flat_map(str::bytes).filter(u8::is_ascii).for_each(|b| there[usize::from(b)] = true);
            (0..128u8).filter(|&b| there[usize::from(b)]).map(char::from).collect()
        })
    }

    /// Premises within some metres of a place, the nearest first, each with its distance.
    pub(super) fn near(&self, p: Local, metres: f64) -> Vec<(PremiseId, f64)> {
        let outlines = &self.premises.outline;
        let mut found = Vec::new();
        self.index.each_touching(&Bounds::of(&[p]).grown(metres), |i| {
            let away = if outlines.get(i).holds(p) { 0.0 } else { edge_distance(outlines.get(i), p) };
            if away <= metres {
                found.push((PremiseId(i as u32), away));
            }
        });
        found.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        found
    }

    /// The nearest premise to a place that lies in none, and how far it is in metres.
    pub(super) fn nearest(&self, p: Local) -> Option<(PremiseId, f64)> {
        let outlines = &self.premises.outline;
        self.index.nearest(p, OFFERED_WITHIN, |i| edge_distance(outlines.get(i), p)).map(|(i, d)| (PremiseId(i as u32), d))
    }

    /// Of several candidates the largest outline, then the smallest id.
    pub(super) fn best(&self, mut candidates: impl Iterator<Item = usize>) -> Option<PremiseId> {
        let first = candidates.next()?;
        let Some(second) = candidates.next() else { return Some(PremiseId(first as u32)) };
        let several: Vec<usize> = [first, second].into_iter().chain(candidates).collect();
        let all = || (0..self.premises.len()).map(|i| self.area(i)).collect();
        let areas = (several.len() > FEW_CANDIDATES).then(|| self.areas.get_or_init(all));
        let area = |i: usize| areas.map_or_else(|| self.area(i), |areas| areas[i]);
        let best = several.into_iter().min_by_key(|&i| (Reverse(area(i)), self.premises.parcel_id.get(i), i));
        best.map(|i| PremiseId(i as u32))
    }

    /// The area of a premise in thousandths of a square metre, so that equal outlines have equal areas.
    fn area(&self, i: usize) -> i64 {
        (self.premises.outline.get(i).area() * 1000.0).round() as i64
    }
}

/// Every text that one slip of the hand makes of a plain text.
fn one_slip_away(text: &str, alphabet: &[char]) -> Vec<String> {
    let mut out = Vec::new();
    for at in 0..=text.len() {
        let (before, after) = text.split_at(at);
        out.extend(alphabet.iter().map(|c| format!("{before}{c}{after}")));
        if let Some(first) = after.chars().next() {
            out.push(format!("{before}{}", &after[1..]));
            out.extend(alphabet.iter().map(|c| format!("{before}{c}{}", &after[1..])));
            if let Some(second) = after[1..].chars().next() {
                out.push(format!("{before}{second}{first}{}", &after[2..]));
            }
        }
    }
    out.retain(|other| other != text);
    out
}

/// Least distance from a place to the edges of an outline, in metres.
fn edge_distance(outline: ShapeView<'_>, p: Local) -> f64 {
    let mut least = f64::INFINITY;
    for ring in outline.rings() {
        let Some(&last) = ring.last() else { continue };
        let mut a = last;
        for &b in ring {
            let (dx, dy) = (b.x - a.x, b.y - a.y);
            let length = dx * dx + dy * dy;
            let along = if length > 0.0 { (((p.x - a.x) * dx + (p.y - a.y) * dy) / length).clamp(0.0, 1.0) } else { 0.0 };
            least = least.min(p.distance(Local { x: a.x + along * dx, y: a.y + along * dy }));
            a = b;
        }
    }
    least
}

#[cfg(test)]
mod tests {
    use super::super::address::{Slip, slip};
    use super::*;
    use crate::place::Shapes;
    use std::sync::Arc;

    /// Two equal outlines stacked, a smaller one inside them, and a repeated id.
    fn premises() -> Premises {
        let mut s = Shapes::default();
        for (x, side) in [(0.0, 10.0), (0.0, 10.0), (2.0, 3.0), (50.0, 5.0), (70.0, 9.0)] {
            s.push_ring(&[(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)].map(|(dx, y)| Local { x: x + dx, y }));
            s.end_part();
            s.end_shape();
        }
        Premises {
            parcel_id: Arc::new(["B", "A", "C", "D", "D"].into_iter().collect()),
            address: Arc::new(["1 Elm ST", "", " 1  elm st", "2 Elm St", ""].into_iter().collect()),
            block: Arc::new(vec![None; 5]),
            outline: Arc::new(s),
            land_use: Arc::default(),
            year_built: Arc::default(),
        }
    }

    #[test]
    fn of_several_the_largest_outline_then_the_smallest_id() {
        let premises = premises();
        let folded = folded_addresses(&premises);
        let finder = Finder::new(&premises, &folded);
        assert_eq!(finder.by_id("D"), Some(PremiseId(4)));
        assert_eq!(finder.by_id("d"), None);
        assert_eq!(finder.by_point(Local { x: 3.0, y: 1.0 }), Some(PremiseId(1)));
        assert_eq!(finder.by_point(Local { x: 30.0, y: 1.0 }), None);
        assert_eq!(finder.by_address("1 ELM st ", &mut String::new()), Some(PremiseId(0)));
        assert_eq!(finder.by_address("1 Elm Street", &mut String::new()), Some(PremiseId(0)));
        assert_eq!(finder.like_address("1 Elm"), [(PremiseId(0), 0.92)]);
        assert_eq!(finder.near(Local { x: 13.0, y: 5.0 }, 10.0).iter().map(|n| n.1).collect::<Vec<_>>(), [3.0, 3.0, 8.246_211_251_235_321]);
        assert_eq!(finder.nearest(Local { x: 13.0, y: 14.0 }).map(|n| n.1), Some(5.0));
    }

    #[test]
    fn the_texts_one_slip_away_are_those_that_the_comparison_finds() {
        let letters = ['A', 'B', '-'];
        let mut all = vec![String::new()];
        for _ in 0..5 {
            let longer: Vec<String> = all.iter().flat_map(|t| letters.map(|c| format!("{t}{c}"))).collect();
            all.extend(longer);
            all.sort();
            all.dedup();
        }
        let near = one_slip_away("AB-A", &letters);
        for text in &all {
            let one = matches!(slip(text, "AB-A"), Some(Slip::Swapped | Slip::Letter));
            assert_eq!(near.contains(text), one, "{text}");
        }
    }
}
