//! What crews bring: to a door for what is open there, and on a walk for all its doors.

use super::{Day, Supply};
use crate::survey::{ContainerKnowledge, Find, KnownContainer, Outcome, PremiseId, Remedy, RoundId, Survey};
use std::collections::BTreeMap;

/// Containers to be thrown out that one sack holds. Common practice, no source.
const CONTAINERS_A_SACK: f64 = 3.0;

/// What is open at a premise, by what the district knows of its kinds: of its latest visit with finds, those that may breed
/// again although somebody was there.
pub fn left_open<'a>(survey: &'a Survey, known: &ContainerKnowledge, premise: PremiseId) -> Vec<&'a Find> {
    let latest = survey.visits.at(premise).iter().rev().find(|v| !v.finds.is_empty());
    let finds = latest.map_or(&[][..], |v| survey.visits.finds_of(v));
    finds.iter().filter(|f| ContainerKnowledge::stays_open(known.what_to_do(survey.kind_name(f.kind)), f).is_some()).collect()
}

/// What to do with a kind of container: what the table names first; a kind that it does not have is tipped out.
fn remedy(known: Option<&KnownContainer>) -> Remedy {
    known.and_then(|k| k.to_do.first()).copied().unwrap_or(Remedy::Tip)
}

/// What to bring to a door: a notice, and what the open finds there need, in containers.
pub fn door_supplies(survey: &Survey, known: &ContainerKnowledge, premise: PremiseId) -> Vec<Supply> {
    let mut needs: BTreeMap<Remedy, f64> = BTreeMap::new();
    for find in left_open(survey, known, premise) {
        *needs.entry(remedy(known.what_to_do(survey.kind_name(find.kind)))).or_default() += f64::from(find.count.max(1));
    }
    let carried = needs.into_iter().filter_map(|(remedy, n)| Some(line(remedy.supply()?, n, "for")));
    std::iter::once(line("notice", 1.0, "")).chain(carried).collect()
}

fn line(what: &str, amount: f64, unit: &str) -> Supply {
    Supply { what: what.to_owned(), amount, unit: unit.to_owned() }
}

/// Supplies in words: "1 notice, 3 for sacks".
pub fn supply_words(list: &[Supply]) -> String {
    let one = |s: &Supply| match s.unit.as_str() {
        "" => format!("{} {}", s.amount, s.what),
        "for" => format!("{} ({})", s.what, s.amount),
        unit => format!("{} {unit} {}", s.amount, s.what),
    };
    list.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// What to carry on a walk to some doors.
///
/// A door where something was left open needs what the district's table of containers says for its kind. A door that
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
    let known = ContainerKnowledge::of(survey);
    let by_kind = known.by_kind(survey);
    let usual = usual_yard(survey, &by_kind, round);
    let (mut needs, mut water) = (BTreeMap::<Remedy, f64>::new(), Some(0.0));
    for &door in doors {
        let open = left_open(survey, &known, door);
        if open.is_empty() && !inspected(survey, round, door) {
            usual.iter().for_each(|(remedy, n)| *needs.entry(*remedy).or_default() += n);
        }
        for find in open {
            let remedy = remedy(by_kind[find.kind.row()]);
            *needs.entry(remedy).or_default() += f64::from(find.wet.max(1));
            if remedy == Remedy::Treat {
                water = water.zip(find.litres).map(|(sum, litres)| sum + f64::from(litres));
            }
        }
    }
    // What unseen yards may need treated nobody has measured.
    let water = water.filter(|w| *w > 0.0 && !usual.contains_key(&Remedy::Treat));
    listed(&needs, water, doors.len(), languages)
}

/// The lines of the list; what rounds to nothing is left off.
fn listed(needs: &BTreeMap<Remedy, f64>, litres: Option<f64>, doors: usize, languages: &[&str]) -> Vec<Supply> {
    let need = |remedy: Remedy| needs.get(&remedy).copied().unwrap_or(0.0);
    let whole = |amount: f64| if amount < 0.5 { 0.0 } else { amount.ceil() };
    let mut out: Vec<Supply> = languages.iter().map(|l| line(&format!("notices, {l}"), doors as f64, "")).collect();
    out.extend([
        line("sacks", whole(need(Remedy::ThrowOut) / CONTAINERS_A_SACK), ""),
        line("containers to drill: drill, bits, spare battery", whole(need(Remedy::Drill)), ""),
        line("containers to screen: mesh and ties", whole(need(Remedy::Screen)), ""),
        line("containers to fill: sand", whole(need(Remedy::Fill)), ""),
        line("sites to stock with fish", whole(need(Remedy::Fish)), ""),
    ]);
    out.push(match litres {
        Some(litres) => line("water to treat, by the label's rate", litres.ceil(), "L"),
        None => line("containers to treat, by the label's rate", whole(need(Remedy::Treat)), ""),
    });
    out.retain(|s| s.amount > 0.0);
    out
}

fn inspected(survey: &Survey, round: Option<RoundId>, premise: PremiseId) -> bool {
    survey.visits.at(premise).iter().any(|v| Some(v.round) == round && v.outcome == Outcome::Inspected)
}

/// What an inspected yard of the round needed on average, in wet containers by what is to be done with them.
fn usual_yard(survey: &Survey, by_kind: &[Option<&KnownContainer>], round: Option<RoundId>) -> BTreeMap<Remedy, f64> {
    let (mut sum, mut yards) = (BTreeMap::<Remedy, f64>::new(), 0.0);
    for visit in survey.visits.rows().iter().filter(|v| Some(v.round) == round && v.outcome == Outcome::Inspected) {
        yards += 1.0;
        for find in survey.visits.finds_of(visit).iter().filter(|f| f.wet > 0) {
            *sum.entry(remedy(by_kind[find.kind.row()])).or_default() += f64::from(find.wet);
        }
    }
    sum.values_mut().for_each(|n| *n /= yards);
    sum
}

/// Puts on every walk what its doors need now, notices in some languages: after a change by hand.
pub fn restock(survey: &Survey, round: Option<RoundId>, day: &mut Day, languages: &[String]) {
    let languages: Vec<&str> = languages.iter().map(String::as_str).collect();
    for walk in day.walks.iter_mut().filter(|w| !w.doors.is_empty()) {
        let doors: Vec<PremiseId> = walk.doors.iter().map(|d| d.premise).collect();
        walk.supplies = carry(survey, round, &doors, &languages);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::{Action, KindId, Round, Visit, Visits, When};
    use crate::walks::made_up::town;
    use jiff::civil::date;
    use std::sync::Arc;

    const BARREL: u32 = 0;
    const CATCH_BASIN: u32 = 1;
    const SAUCER: u32 = 2;
    const TIRE: u32 = 3;

    fn find(kind: u32, wet: u32, action: Option<Action>, remains: bool, litres: Option<f32>) -> Find {
        let kind = KindId(kind);
        Find { kind, count: wet.max(1), wet, with_larvae: 0, with_pupae: 0, pupae: 0, stage: None, litres, action, remains }
    }

    fn survey(visits: Vec<(u32, Outcome, Vec<Find>)>) -> Survey {
        let mut s = town(1);
        s.kinds = Arc::new(vec!["rain barrel".into(), "catch basin".into(), "plant saucer".into(), "tire".into()]);
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: date(2025, 7, 7), last: date(2025, 7, 7) }]);
        let when = When { day: date(2025, 7, 7), time: None };
        let visit = |(premise, outcome, finds): (u32, Outcome, Vec<Find>)| {
            let id = format!("v{premise}").into();
            let v = Visit { id, premise: PremiseId(premise), when, outcome, round: RoundId(0), crew: "".into(), said: None, finds: 0..0 };
            (v, finds)
        };
        s.visits = Visits::from_rows(s.premises.len(), visits.into_iter().map(visit).collect());
        s
    }

    fn carried(survey: &Survey, doors: &[u32]) -> String {
        let doors: Vec<PremiseId> = doors.iter().map(|&d| PremiseId(d)).collect();
        supply_words(&carry(survey, Some(RoundId(0)), &doors, &["English"]))
    }

    #[test]
    fn what_was_left_open_is_carried_for_by_the_table_of_containers() {
        let s = survey(vec![
            (1, Outcome::Inspected, vec![find(BARREL, 3, Some(Action::Left), false, None), find(TIRE, 7, None, true, None)]),
            (2, Outcome::Inspected, vec![find(CATCH_BASIN, 1, Some(Action::Left), true, Some(120.5))]),
            (3, Outcome::Inspected, vec![find(SAUCER, 2, Some(Action::Emptied), false, None)]),
        ]);
        assert_eq!(carried(&s, &[1]), "1 notices, English, 3 sacks, 3 containers to screen: mesh and ties");
        assert_eq!(carried(&s, &[2]), "1 notices, English, 1 containers to treat, by the label's rate");
        assert_eq!(carried(&s, &[3]), "1 notices, English", "nothing is open where all was done");
        let known = ContainerKnowledge::usual();
        assert_eq!(supply_words(&door_supplies(&s, &known, PremiseId(1))), "1 notice, mesh and ties (3), sacks (7)");
        assert_eq!(supply_words(&door_supplies(&s, &known, PremiseId(0))), "1 notice");
    }

    /// Every yard of the round was dry of what must be treated, so that the water at the doors is all there is.
    #[test]
    fn water_to_treat_is_litres_when_all_of_it_was_measured() {
        let mut s = survey(vec![(2, Outcome::SeenOverFence, vec![find(CATCH_BASIN, 1, Some(Action::Left), true, Some(120.5))])]);
        assert_eq!(carried(&s, &[2]), "1 notices, English, 121 L water to treat, by the label's rate");
        s = survey(vec![(2, Outcome::SeenOverFence, vec![find(CATCH_BASIN, 2, Some(Action::Left), true, None)])]);
        assert_eq!(carried(&s, &[2]), "1 notices, English, 2 containers to treat, by the label's rate");
    }

    #[test]
    fn unseen_yards_need_what_a_yard_of_the_round_needed() {
        let emptied = |n| vec![find(BARREL, n, Some(Action::Screened), false, None)];
        let s = survey(vec![(0, Outcome::Inspected, emptied(1)), (1, Outcome::Inspected, vec![]), (2, Outcome::NoAnswer, vec![])]);
        // Half a barrel a yard: four unseen yards need mesh for two.
        assert_eq!(carried(&s, &[2, 3, 4, 5]), "4 notices, English, 2 containers to screen: mesh and ties");
        assert_eq!(carried(&s, &[0, 1]), "2 notices, English", "inspected yards have nothing open");
    }
}
