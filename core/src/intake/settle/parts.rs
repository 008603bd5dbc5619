//! Premises that repeat a parcel id: one premise in parts, or several that the county numbers alike.

use crate::intake::parts::{Together, united};
use crate::place::nearest_under;
use crate::survey::{PremiseId, Survey, settings};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Farther apart than this, in metres, nobody is told how far.
const FAR: f64 = 1_000.0;

/// Premises that have the same parcel id.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeat {
    /// The id.
    pub parcel_id: Box<str>,
    /// The premises, in their order.
    pub premises: Vec<PremiseId>,
    /// How far the farthest of them lies from the nearest other, in metres; `None` over a kilometre, or when one has no outline.
    pub apart: Option<f64>,
    /// Somebody has said that they are separate premises.
    pub separate: bool,
}

/// What is to become of premises with the same id.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SameId {
    /// They are one premise in parts.
    OnePremise,
    /// They are separate premises, and nobody asks again.
    Separate,
}

/// What was decided about ids, kept with the survey.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub(in crate::intake) struct DecidedIds(BTreeMap<String, SameId>);

impl DecidedIds {
    /// The decisions that a survey keeps; none when another program has spoiled them.
    pub(in crate::intake) fn of(survey: &Survey) -> Self {
        survey.settings.get(settings::SAME_ID).and_then(|text| serde_json::from_str(text).ok()).unwrap_or_default()
    }

    fn keep_in(&self, survey: &mut Survey) {
        if let Ok(text) = serde_json::to_string(self) {
            Arc::make_mut(&mut survey.settings).insert(settings::SAME_ID.into(), text.into());
        }
    }

    /// Whether premises with an id are one.
    pub(in crate::intake) fn one(&self, id: &str) -> bool {
        self.0.get(id) == Some(&SameId::OnePremise)
    }

    /// Whether no id is that of one premise in parts.
    pub(in crate::intake) fn unite_nothing(&self) -> bool {
        !self.0.values().any(|d| *d == SameId::OnePremise)
    }
}

/// Premises that share a parcel id with others, in the order of the ids.
pub fn repeats(survey: &Survey) -> Vec<Repeat> {
    let decided = DecidedIds::of(survey);
    let together = Together::of(&survey.premises.parcel_id, |_| true, |i| survey.premises.outline.get(i).area());
    let repeat = |members: &Vec<u32>| {
        let premises: Vec<PremiseId> = members.iter().map(|&i| PremiseId(i)).collect();
        let parcel_id: Box<str> = survey.premises.parcel_id.get(premises[0].row()).into();
        let separate = decided.0.get(&*parcel_id) == Some(&SameId::Separate);
        Repeat { apart: apart(survey, &premises), parcel_id, premises, separate }
    };
    let mut out: Vec<Repeat> = together.groups().map(repeat).collect();
    out.sort_by(|a, b| a.parcel_id.cmp(&b.parcel_id));
    out
}

fn apart(survey: &Survey, premises: &[PremiseId]) -> Option<f64> {
    let outline = |p: &PremiseId| survey.premises.outline.get(p.row());
    let nearest = |a: &PremiseId| {
        let others = premises.iter().filter(|b| *b != a);
        others.filter_map(|b| nearest_under(outline(a), outline(b), FAR)).min_by(f64::total_cmp)
    };
    let all = premises.iter().map(nearest).collect::<Option<Vec<f64>>>()?;
    all.into_iter().max_by(f64::total_cmp)
}

/// A survey after premises with the same id were made one, or left separate. Visits go with their premise; the decision is kept
/// and counts again when the same parcels come again. Ids that no two premises share change nothing.
pub fn settle_ids(survey: &Survey, ids: &BTreeSet<&str>, verdict: SameId) -> Survey {
    let mut after = survey.clone();
    let mut decided = DecidedIds::of(survey);
    let known = repeats(survey);
    for repeat in known.iter().filter(|r| ids.contains(&*r.parcel_id)) {
        decided.0.insert(repeat.parcel_id.to_string(), verdict);
    }
    if decided.0.is_empty() {
        return after;
    }
    decided.keep_in(&mut after);
    if verdict == SameId::OnePremise { united(&after, |id| ids.contains(id)) } else { after }
}

#[cfg(test)]
mod tests {
    use super::super::super::samples::{lot, table, with_rings};
    use super::super::super::{ColumnMap, Incoming, Report, Role, bring_in_tables};
    use super::*;
    use crate::files::Table;
    use crate::job::Unwatched;
    use crate::store::{Parts, load, save};
    use crate::survey::Premises;

    /// A lot on either side of a street with one id, two that are drawn on the same ground, and one alone.
    fn lots() -> Table {
        let rows: &[&[&str]] = &[&["A", ""], &["B", "1 Elm St"], &["A", "3 Elm St"], &["C", "7 Oak Ave"], &["C", "7 Oak Ave"]];
        with_rings(table("lots", &["parcel_id", "address"], rows), &[lot(0, 0), lot(1, 0), lot(0, 2), lot(5, 0), lot(5, 0)])
    }

    fn visits() -> Table {
        let rows: &[&[&str]] = &[
            &["07/25/2025", "V1", "-89.9999", "30.0001", "inspected"],
            &["07/26/2025", "V2", "-89.9999", "30.0006", "refused"],
            &["07/26/2025", "V3", "-89.9996", "30.0001", "no answer"],
        ];
        table("visits", &["date", "visit_id", "lon", "lat", "outcome"], rows)
    }

    fn bring(current: Option<&Survey>, files: Vec<(Role, Table)>) -> (Survey, Report) {
        let incoming = files.into_iter().map(|(role, table)| Incoming { role, file: format!("{}.csv", table.name), table }).collect();
        bring_in_tables(current, incoming, &ColumnMap::default(), None, &Unwatched).unwrap()
    }

    fn settled(survey: &Survey, id: &str, verdict: SameId) -> Survey {
        settle_ids(survey, &[id].into_iter().collect(), verdict)
    }

    #[test]
    fn repeats_are_told_with_how_far_they_lie_apart() {
        let (survey, _) = bring(None, vec![(Role::Parcels, lots())]);
        let told: Vec<_> = repeats(&survey).iter().map(|r| (r.parcel_id.to_string(), r.premises.len(), r.apart.map(f64::round))).collect();
        assert_eq!(told, [("A".to_owned(), 2, Some(28.0)), ("C".to_owned(), 2, Some(0.0))]);
    }

    #[test]
    fn one_premise_in_parts_keeps_all_visits_and_all_its_ground() {
        let (survey, _) = bring(None, vec![(Role::Parcels, lots()), (Role::Visits, visits())]);
        let after = settled(&settled(&survey, "A", SameId::OnePremise), "C", SameId::OnePremise);
        let at = |id: &str| after.premises.parcel_id.iter().position(|p| p == id).unwrap();
        assert_eq!((after.premises.len(), repeats(&after)), (3, Vec::new()));
        assert_eq!(after.premises.outline.get(at("A")).parts().len(), 2);
        assert_eq!((after.premises.address.get(at("A")), after.premises.address.get(at("C"))), ("3 Elm St", "7 Oak Ave"));
        let area = |s: &Survey, i: usize| s.premises.outline.get(i).area();
        assert!((area(&after, at("C")) - area(&after, at("B"))).abs() < 1.0, "the same ground counts once");
        let of = |id: &str| after.visits.rows().iter().find(|v| &*v.id == id).unwrap().premise.row();
        assert_eq!((of("V1"), of("V2"), of("V3")), (at("A"), at("A"), at("B")));
    }

    #[test]
    fn the_decision_survives_saving_and_counts_when_the_file_comes_again() {
        let (survey, _) = bring(None, vec![(Role::Parcels, lots()), (Role::Visits, visits())]);
        let after = settled(&settled(&survey, "A", SameId::OnePremise), "C", SameId::Separate);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.gpkg");
        save(&after, &path, &Unwatched).unwrap();
        let read = load(&path, Parts::EVERYTHING, &Unwatched).unwrap();
        assert_eq!(read, after);
        let (again, report) = bring(Some(&read), vec![(Role::Parcels, lots())]);
        // Blocks that were made from the ground are made anew from the ground as it is now.
        let bare = |s: &Survey| Premises { block: Arc::default(), ..s.premises.clone() };
        assert_eq!((bare(&again), &again.visits), (bare(&after), &after.visits));
        assert_eq!((report.rows, report.premises, report.refused), (5, 5, 0));
        assert!(report.in_words().contains("as was decided"), "{}", report.in_words());
        assert_eq!(repeats(&again).iter().map(|r| (&*r.parcel_id, r.separate)).collect::<Vec<_>>(), [("C", true)]);
    }

    #[test]
    fn an_id_that_nobody_shares_changes_nothing() {
        let (survey, _) = bring(None, vec![(Role::Parcels, lots())]);
        assert_eq!(settled(&survey, "B", SameId::OnePremise), survey);
    }
}
