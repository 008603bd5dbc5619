//! Which premises a visit or a signal that found none may belong to.

use crate::intake::join::Finder;
use crate::intake::visits::{Draft, VisitFile};
use crate::survey::PremiseId;
use std::collections::BTreeMap;

/// Outlines up to this distance from a place are offered, in metres.
const BESIDE: f64 = 60.0;
/// What a house number says for the premise that stands where it should be.
///
/// # Source
/// Common practice, no source: a house is often one lot off the place that its number has on the line.
const BY_NUMBERS: f64 = 0.7;
/// How many are offered at most.
const MOST: usize = 5;

/// A premise that a visit or a signal may belong to.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The premise.
    pub premise: PremiseId,
    /// How well it fits, 0 to 1.
    ///
    /// # Source
    /// Common practice, no source: what speaks for a premise independently is taken together as chances are.
    pub score: f64,
    /// What speaks for it, in a few words: "12 m away", "address 90 % alike".
    pub why: String,
}

/// What speaks for premises.
#[derive(Default)]
struct Offers(BTreeMap<PremiseId, (f64, Vec<String>)>);

impl Offers {
    fn add(&mut self, premise: PremiseId, score: f64, why: String) {
        let entry = self.0.entry(premise).or_insert((0.0, Vec::new()));
        entry.0 = 1.0 - (1.0 - entry.0) * (1.0 - score.clamp(0.0, 0.99));
        entry.1.push(why);
    }

    fn by_address(&mut self, address: &str, finder: &Finder<'_>) {
        let like = finder.like_address(address);
        like.into_iter().take(MOST).for_each(|(p, score)| self.add(p, score, format!("address {:.0} % alike", score * 100.0)));
        for (p, spot) in finder.near_numbers(address).into_iter().take(MOST) {
            let (low, high) = spot.between;
            let alike = if spot.score < 1.0 { format!(" (name {:.0} % alike)", spot.score * 100.0) } else { String::new() };
            let street = finder.streets().map_or("", |s| s.name.get(spot.street));
            self.add(p, BY_NUMBERS * spot.score, format!("where its number stands between {low} and {high} on {street}{alike}"));
        }
    }

    /// The best fits, the best first.
    fn best(self) -> Vec<Candidate> {
        let one = |(premise, (score, why)): (PremiseId, (f64, Vec<String>))| Candidate { premise, score, why: why.join(", ") };
        let mut out: Vec<Candidate> = self.0.into_iter().map(one).collect();
        out.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.premise.cmp(&b.premise)));
        out.truncate(MOST);
        out
    }
}

/// The premises that a signal with an address may belong to, the best fit first.
pub(in crate::intake) fn offers_by_address(address: &str, finder: &Finder<'_>) -> Vec<Candidate> {
    let mut all = Offers::default();
    if !address.is_empty() {
        all.by_address(address, finder);
    }
    all.best()
}

/// The premises that a visit may belong to, the best fit first.
pub(in crate::intake) fn offers(file: &VisitFile<'_>, draft: &Draft, finder: &Finder<'_>) -> Vec<Candidate> {
    let mut all = Offers::default();
    if let Some(row) = draft.parcel_row {
        let id = file.columns.text(row as usize, file.columns.parcel_id);
        match finder.by_id(&id) {
            Some(premise) => all.add(premise, 0.99, "has its parcel id".to_owned()),
            None => finder.like_id(&id).into_iter().take(MOST).for_each(|p| all.add(p, 0.85, "parcel id one letter off".to_owned())),
        }
    }
    if let Some(row) = draft.address_row {
        all.by_address(&file.columns.text(row as usize, file.columns.address), finder);
    }
    if let Some(place) = draft.point {
        let near = finder.near(place, BESIDE);
        near.iter().take(MOST).for_each(|&(p, m)| all.add(p, 0.9 * (1.0 - m / BESIDE), away(m)));
        if let (true, Some((p, m))) = (near.is_empty(), finder.nearest(place)) {
            all.add(p, 0.05, away(m));
        }
    }
    all.best()
}

fn away(metres: f64) -> String {
    if metres > 0.0 { format!("{metres:.0} m away") } else { "the place lies in it".to_owned() }
}
