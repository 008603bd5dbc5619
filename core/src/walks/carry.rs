//! What a crew carries: what is known to be open at its doors, and what yards like the unseen ones usually need.

use super::Supply;
use crate::survey::{Action, Find, KindId, Outcome, PremiseId, RoundId, Survey};

/// Containers to be thrown out that one rubbish bag holds. Common practice, no source.
const CONTAINERS_A_BAG: f64 = 3.0;

/// How often each action was taken, in the order of [`Action::ALL`].
type Tally = [f64; 10];

/// What to carry on a walk to some doors.
///
/// A door where something was left open needs what is usually done with that kind of container in this survey. A door that
/// nobody inspected in the round needs what an inspected yard of the round needed on average. Notices: one for each door in each
/// language.
///
/// Larvicide is never an amount of product here: the answer is water to be treated, in litres where all of it was measured and
/// otherwise in containers; the product's label says how much goes into it.
///
/// ```
/// use yardring_core::place::{Frame, LonLat};
/// use yardring_core::survey::{PremiseId, Survey};
/// use yardring_core::walks::carry;
/// let survey = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
/// let notices = carry(&survey, None, &[PremiseId(0), PremiseId(1)], &["English"]);
/// assert_eq!((notices[0].what.as_str(), notices[0].amount), ("notices, English", 2.0));
/// ```
pub fn carry(survey: &Survey, round: Option<RoundId>, doors: &[PremiseId], languages: &[&str]) -> Vec<Supply> {
    let habits = habits(survey);
    let usual = usual_yard(survey, round);
    let (mut needs, mut litres, mut unmeasured) = (Tally::default(), 0.0, 0.0);
    for &door in doors {
        let open = left_open(survey, door);
        if open.is_empty() && !inspected(survey, round, door) {
            needs.iter_mut().zip(usual).for_each(|(sum, one)| *sum += one);
        }
        for find in open {
            let action = find.action.filter(|a| *a != Action::Left).or(habits[find.kind.row()]).unwrap_or(Action::Emptied);
            let wet = f64::from(find.wet.max(1));
            needs[place(action)] += wet;
            match find.litres.filter(|_| action == Action::Treated) {
                Some(water) => litres += f64::from(water),
                None if action == Action::Treated => unmeasured += wet,
                None => {}
            }
        }
    }
    let seen_to_be_treated = if unmeasured == 0.0 && litres > 0.0 { Some(litres) } else { None };
    listed(&needs, seen_to_be_treated, doors.len(), languages)
}

/// The lines of the list; what rounds to nothing is left off.
fn listed(needs: &Tally, litres: Option<f64>, doors: usize, languages: &[&str]) -> Vec<Supply> {
    let need = |action: Action| needs[place(action)];
    let whole = |amount: f64| if amount < 0.5 { 0.0 } else { amount.ceil() };
    let line = |what: &str, amount: f64, unit: &str| Supply { what: what.to_owned(), amount, unit: unit.to_owned() };
    let mut out: Vec<Supply> = languages.iter().map(|l| line(&format!("notices, {l}"), doors as f64, "")).collect();
    out.extend([
        line("rubbish bags", whole(need(Action::Removed) / CONTAINERS_A_BAG), ""),
        line("containers to drill: drill, bits, spare battery", whole(need(Action::Drilled)), ""),
        line("screens with ties", whole(need(Action::Screened)), ""),
        line("sites to stock with fish", whole(need(Action::Fish)), ""),
    ]);
    out.push(match litres {
        Some(litres) => line("water to treat, by the label's rate", litres.ceil(), "L"),
        None => line("containers to treat, by the label's rate", whole(need(Action::Treated)), ""),
    });
    out.retain(|s| s.amount > 0.0);
    out
}

fn place(action: Action) -> usize {
    Action::ALL.iter().position(|a| *a == action).unwrap_or(0)
}

/// What is open at a premise: on its latest visit with finds, what remains for the householder and what held water and was left.
pub fn left_open(survey: &Survey, premise: PremiseId) -> Vec<&Find> {
    let latest = survey.visits.at(premise).iter().rev().find(|v| !v.finds.is_empty());
    let finds = latest.map_or(&[][..], |v| survey.visits.finds_of(v));
    finds.iter().filter(|f| f.remains || (f.wet > 0 && matches!(f.action, None | Some(Action::Left)))).collect()
}

fn inspected(survey: &Survey, round: Option<RoundId>, premise: PremiseId) -> bool {
    survey.visits.at(premise).iter().any(|v| Some(v.round) == round && v.outcome == Outcome::Inspected)
}

/// What is usually done with each kind of container, by containers; ties go to the action named first.
fn habits(survey: &Survey) -> Vec<Option<Action>> {
    let mut tallies = vec![Tally::default(); survey.kinds.len()];
    for find in survey.visits.finds() {
        if let (Some(action), KindId(kind)) = (find.action.filter(|a| *a != Action::Left), find.kind) {
            tallies[kind as usize][place(action)] += f64::from(find.count);
        }
    }
    let most = |t: &Tally| (0..t.len()).filter(|&i| t[i] > 0.0).max_by(|&a, &b| t[a].total_cmp(&t[b]).then(b.cmp(&a)));
    tallies.iter().map(|t| most(t).map(|i| Action::ALL[i])).collect()
}

/// What an inspected yard of the round needed on average, by action, in containers.
fn usual_yard(survey: &Survey, round: Option<RoundId>) -> Tally {
    let (mut sum, mut yards) = (Tally::default(), 0.0f64);
    let of_round = survey.visits.rows().iter().filter(|v| Some(v.round) == round && v.outcome == Outcome::Inspected);
    for visit in of_round {
        yards += 1.0;
        for find in survey.visits.finds_of(visit) {
            if let Some(action) = find.action {
                sum[place(action)] += f64::from(find.wet);
            }
        }
    }
    sum.map(|n| if yards > 0.0 { n / yards } else { 0.0 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, LonLat};
    use crate::survey::{Round, Visit, Visits, When};
    use jiff::civil::date;
    use std::sync::Arc;

    fn find(kind: u32, wet: u32, action: Option<Action>, remains: bool, litres: Option<f32>) -> Find {
        let kind = KindId(kind);
        Find { kind, count: wet.max(1), wet, with_larvae: 0, with_pupae: 0, pupae: 0, stage: None, litres, action, remains }
    }

    fn survey(visits: Vec<(u32, Outcome, Vec<Find>)>) -> Survey {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
        s.premises.parcel_id = Arc::new((0..8).map(|i| i.to_string()).collect());
        s.kinds = Arc::new(vec!["barrel".into(), "pond".into(), "tire".into()]);
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: date(2025, 7, 7), last: date(2025, 7, 7) }]);
        let when = When { day: date(2025, 7, 7), time: None };
        let visit = |(premise, outcome, finds): (u32, Outcome, Vec<Find>)| {
            let id = format!("v{premise}").into();
            let v = Visit { id, premise: PremiseId(premise), when, outcome, round: RoundId(0), crew: "".into(), finds: 0..0 };
            (v, finds)
        };
        s.visits = Visits::from_rows(8, visits.into_iter().map(visit).collect());
        s
    }

    fn amounts(survey: &Survey, doors: &[u32]) -> Vec<(String, f64, String)> {
        let doors: Vec<PremiseId> = doors.iter().map(|&d| PremiseId(d)).collect();
        carry(survey, Some(RoundId(0)), &doors, &["English"]).into_iter().map(|s| (s.what, s.amount, s.unit)).collect()
    }

    #[test]
    fn what_was_left_open_is_carried_by_the_habit_of_the_kind() {
        let s = survey(vec![
            (0, Outcome::Inspected, vec![find(0, 2, Some(Action::Screened), false, None), find(2, 4, Some(Action::Removed), false, None)]),
            (1, Outcome::Inspected, vec![find(0, 3, Some(Action::Left), false, None), find(2, 7, None, true, None)]),
            (2, Outcome::Inspected, vec![find(1, 1, Some(Action::Treated), true, Some(120.5))]),
        ]);
        let line = |what: &str, amount, unit: &str| (what.to_owned(), amount, unit.to_owned());
        let bags = line("rubbish bags", 3.0, "");
        let screens = line("screens with ties", 3.0, "");
        assert_eq!(amounts(&s, &[1]), [line("notices, English", 1.0, ""), bags, screens]);
        assert_eq!(amounts(&s, &[2]), [line("notices, English", 1.0, ""), line("water to treat, by the label's rate", 121.0, "L")]);
        assert_eq!(amounts(&s, &[0]), [line("notices, English", 1.0, "")], "nothing is open where all was done");
    }

    #[test]
    fn unseen_yards_need_what_a_yard_of_the_round_needed() {
        let drilled = |n| vec![find(2, n, Some(Action::Drilled), false, None)];
        let s = survey(vec![(0, Outcome::Inspected, drilled(1)), (1, Outcome::Inspected, vec![]), (2, Outcome::NoAnswer, vec![])]);
        // Half a container a yard: four unseen yards need two.
        let found = amounts(&s, &[2, 3, 4, 5]);
        assert_eq!(found[1].1, 2.0, "{found:?}");
        assert_eq!(amounts(&s, &[0, 1]).len(), 1, "inspected yards have nothing open");
    }
}
