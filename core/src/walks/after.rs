//! After the day: what was planned beside what was done, and what remains.

use super::Day;
use crate::files::Table;
use crate::survey::{Outcome, PremiseId, Survey, Visit};
use jiff::civil::Date;
use std::collections::HashMap;

/// A door as it was planned.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedDoor {
    /// Which premise.
    pub premise: PremiseId,
    /// Whose walk it was on.
    pub crew: String,
    /// Why somebody was to go there.
    pub reason: String,
    /// Minutes that were reckoned with at the door.
    pub minutes: f64,
}

/// What became of a planned door.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// The door.
    pub door: PlannedDoor,
    /// How the visit of the day ended; `None` when nobody went.
    pub outcome: Option<Outcome>,
    /// Who went, when that was another crew.
    pub other_crew: Option<String>,
}

impl Done {
    /// Whether somebody must go there again, and why; `None` when the yard was inspected or does not want a visit.
    pub fn remains(&self) -> Option<String> {
        match self.outcome {
            Some(Outcome::Inspected | Outcome::Refused) => None,
            None => Some(format!("not reached; {}", self.door.reason)),
            Some(outcome) => Some(format!("{}; {}", outcome.word(), self.door.reason)),
        }
    }
}

/// A planned day beside what the sheets brought back.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Compared {
    /// The planned doors in the plan's order.
    pub doors: Vec<Done>,
    /// Premises visited on the day that were on no walk.
    pub unplanned: Vec<PremiseId>,
}

impl Compared {
    /// How many planned doors ended so, or were not reached (`None`).
    pub fn count(&self, outcome: Option<Outcome>) -> usize {
        self.doors.iter().filter(|d| d.outcome == outcome).count()
    }

    /// The doors that go to the next day, with the reason.
    pub fn remaining(&self) -> impl Iterator<Item = (&PlannedDoor, String)> {
        self.doors.iter().filter_map(|d| d.remains().map(|reason| (&d.door, reason)))
    }
}

/// The doors of a planned day.
pub fn planned_doors(day: &Day) -> Vec<PlannedDoor> {
    let of_walk = |w: &super::CrewWalk| {
        let crew = w.crew.clone();
        let door = |d: &super::Door| (d.premise, d.why.words.clone(), d.minutes);
        w.doors
            .iter()
            .map(door)
            .map(move |(premise, reason, minutes)| PlannedDoor { premise, crew: crew.clone(), reason, minutes })
            .collect()
    };
    day.walks.iter().flat_map(|w| -> Vec<PlannedDoor> { of_walk(w) }).collect()
}

/// The doors of a table with the columns of `walks.csv`, and the parcel ids in it that the survey does not have.
///
/// # Errors
/// The name of the column that is missing.
pub fn read_planned(survey: &Survey, table: &Table) -> Result<(Vec<PlannedDoor>, Vec<String>), &'static str> {
    let column = |name: &'static str| table.column(name).ok_or(name);
    let (crew, parcel, reason, minutes) = (column("crew")?, column("parcel_id")?, column("reason")?, column("minutes")?);
    let mut by_id: HashMap<&str, u32> = HashMap::new();
    survey.premises.parcel_id.iter().zip(0..).for_each(|(id, row)| {
        by_id.entry(id).or_insert(row);
    });
    let (mut doors, mut unknown) = (Vec::new(), Vec::new());
    for row in 0..table.rows {
        let id = table.cell(row, parcel);
        match by_id.get(&*id) {
            Some(&premise) => doors.push(PlannedDoor {
                premise: PremiseId(premise),
                crew: table.cell(row, crew).into_owned(),
                reason: table.cell(row, reason).into_owned(),
                minutes: table.cell(row, minutes).trim().parse().unwrap_or_default(),
            }),
            None => unknown.push(id.into_owned()),
        }
    }
    Ok((doors, unknown))
}

/// Lays the planned doors beside the visits of the day. Of several visits at one premise on the day the last counts, and an inspected one
/// before all others.
pub fn compare(survey: &Survey, planned: &[PlannedDoor], on: Date) -> Compared {
    let of_day = |premise: PremiseId| {
        let visits = survey.visits.at(premise).iter().filter(|v| v.when.day == on);
        visits.max_by_key(|v| (v.outcome == Outcome::Inspected, v.when.time, v.id.clone()))
    };
    let done = |door: &PlannedDoor| {
        let visit: Option<&Visit> = of_day(door.premise);
        let other = visit.map(|v| v.crew.to_string()).filter(|crew| !crew.is_empty() && *crew != door.crew);
        Done { door: door.clone(), outcome: visit.map(|v| v.outcome), other_crew: other }
    };
    let on_a_walk: std::collections::HashSet<PremiseId> = planned.iter().map(|d| d.premise).collect();
    let visited = survey.visits.rows().iter().filter(|v| v.when.day == on && !on_a_walk.contains(&v.premise));
    let mut unplanned: Vec<PremiseId> = visited.map(|v| v.premise).collect();
    unplanned.dedup();
    Compared { doors: planned.iter().map(done).collect(), unplanned }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::{Round, RoundId, Visits, When};
    use crate::walks::made_up::town;
    use jiff::civil::date;
    use std::sync::Arc;

    #[test]
    fn what_was_done_stands_beside_what_was_planned() {
        let mut survey = town(2);
        let day = date(2025, 7, 21);
        survey.rounds = Arc::new(vec![Round { name: "1".into(), first: day, last: day }]);
        let visit = |id: &str, premise: u32, outcome, crew: &str| Visit {
            id: id.into(),
            premise: PremiseId(premise),
            when: When { day, time: None },
            outcome,
            round: RoundId(0),
            crew: crew.into(),
            said: None,
            finds: 0..0,
        };
        let rows = vec![
            (visit("1", 0, Outcome::NoAnswer, "A"), vec![]),
            (visit("2", 0, Outcome::Inspected, "B"), vec![]),
            (visit("3", 1, Outcome::LockedGate, "A"), vec![]),
            (visit("4", 9, Outcome::Inspected, "A"), vec![]),
        ];
        survey.visits = Visits::from_rows(survey.premises.len(), rows);
        let door = |p: u32| PlannedDoor { premise: PremiseId(p), crew: "A".to_owned(), reason: "not visited".to_owned(), minutes: 10.0 };
        let found = compare(&survey, &[door(0), door(1), door(2)], day);
        let outcomes: Vec<_> = found.doors.iter().map(|d| d.outcome).collect();
        assert_eq!(outcomes, [Some(Outcome::Inspected), Some(Outcome::LockedGate), None]);
        assert_eq!(found.doors[0].other_crew.as_deref(), Some("B"));
        let remaining: Vec<(u32, String)> = found.remaining().map(|(d, r)| (d.premise.0, r)).collect();
        assert_eq!(remaining, [(1, "locked gate; not visited".to_owned()), (2, "not reached; not visited".to_owned())]);
        assert_eq!((found.unplanned.len(), found.count(None)), (1, 1));
    }
}
