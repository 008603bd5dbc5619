//! Streets that a crew is kept off: a quarrel, a dog, a language.

use super::by_hand::{self, Ways};
use super::day_plan::worth_most_first;
use super::rest::make_room;
use super::{Because, Candidate, Day, Door, Wish};
use crate::survey::{Address, PremiseId, Survey};
use std::collections::HashSet;

/// Doors that were left out and are tried for a crew that has time again. Each takes a look at all places of its walk.
const TRIED: usize = 25;

/// The street of a premise's address: what follows the house number; empty where there is none.
///
/// ```
/// # use yardring_core::place::{Frame, LonLat};
/// # use yardring_core::survey::{PremiseId, Survey};
/// # use yardring_core::walks::{on_street, street_of};
/// # use std::sync::Arc;
/// let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
/// survey.premises.address = Arc::new(["12 Kettle Lane"].into_iter().collect());
/// assert_eq!(street_of(&survey, PremiseId(0)), "Kettle Lane");
/// assert!(on_street(&survey, PremiseId(0), "kettle ln"));
/// ```
pub fn street_of(survey: &Survey, premise: PremiseId) -> &str {
    let address = survey.premises.address.get(premise.row());
    address.trim_start_matches(|c: char| !c.is_alphabetic() || c.is_ascii_digit()).trim()
}

/// Whether a premise has its address in a street, however that is written.
pub fn on_street(survey: &Survey, premise: PremiseId, street: &str) -> bool {
    let own = street_of(survey, premise);
    !own.is_empty() && Address::parse(own).street() == Address::parse(street).street()
}

/// Whether a premise has its address in a street, or, where its address names none, the crew stands at that street for it.
pub fn in_street(survey: &Survey, premise: PremiseId, street: &str, ways: &dyn Ways) -> bool {
    if !street_of(survey, premise).is_empty() {
        return on_street(survey, premise, street);
    }
    let same = |own: &str| Address::of_street(own).street() == Address::of_street(street).street();
    ways.street(premise).is_some_and(same)
}

/// The streets of a survey by name, each once, in the order of the alphabet; those of the addresses where the survey has no streets.
pub fn street_names(survey: &Survey) -> Vec<String> {
    let mut names: HashSet<&str> = survey.streets.name.iter().collect();
    if survey.streets.is_empty() {
        names.extend((0..survey.premises.len() as u32).map(|p| street_of(survey, PremiseId(p))));
    }
    let mut names: Vec<String> = names.into_iter().filter(|name| !name.is_empty()).map(str::to_owned).collect();
    names.sort();
    names
}

/// Gives the doors in streets that crews are kept off to the other crews; where those have no time, the doors worth least are left
/// out. The time that a crew has again is filled with what was left out elsewhere. Locked walks stay.
pub(super) fn keep_off(survey: &Survey, day: &mut Day, wish: &Wish, candidates: &[Candidate], ways: &dyn Ways) {
    let barred = |walk: usize, premise: PremiseId| wish.kept_off.iter().any(|(w, s)| *w == walk && in_street(survey, premise, s, ways));
    let mut crews: Vec<usize> = wish.kept_off.iter().map(|k| k.0).filter(|&w| day.walks.get(w).is_some_and(|w| !w.locked)).collect();
    crews.sort_unstable();
    crews.dedup();
    for &walk in &crews {
        let there = |door: &Door| barred(walk, door.premise);
        while let Some(door) = day.walks[walk].doors.iter().position(|d| there(d) && !d.locked) {
            let from = by_hand::Spot { walk, door };
            let premise = day.walks[walk].doors[door].premise;
            let open = (0..day.walks.len()).filter(|&w| w != walk && !barred(w, premise));
            let given = open.filter_map(|to| by_hand::hand_over(day, from, to, ways).ok());
            let best = given.min_by(|a, b| by_hand::cost(day, a).minutes.total_cmp(&by_hand::cost(day, b).minutes));
            let Some(next) = best.or_else(|| by_hand::remove(day, from, ways).ok()) else { break };
            *day = next;
            day.left_out.iter_mut().filter(|l| l.premise == premise).for_each(|l| l.because = Because::KeptOff);
        }
    }
    if !crews.is_empty() {
        (0..day.walks.len()).filter(|w| !day.walks[*w].locked).collect::<Vec<_>>().into_iter().for_each(|w| make_room(day, w, ways));
    }
    for walk in crews {
        fill(day, walk, candidates, &|premise| barred(walk, premise), ways);
    }
}

/// Fills a walk with doors that were left out, worth most first, as long as the shift lasts.
fn fill(day: &mut Day, walk: usize, candidates: &[Candidate], barred: &dyn Fn(PremiseId) -> bool, ways: &dyn Ways) {
    worth_most_first(&mut day.left_out);
    let waits = day.left_out.iter().filter(|l| l.because == Because::ShiftsFull && !barred(l.premise));
    let left: Vec<PremiseId> = waits.map(|l| l.premise).take(TRIED).collect();
    for premise in left {
        let Some(c) = candidates.iter().find(|c| c.premise == premise && c.promised.is_none()) else { continue };
        let door = c.door(day.meeting_point);
        match by_hand::add(day, walk, door, ways) {
            Ok(fuller)
                if fuller.walks[walk].back_after <= day.shift(walk).until && by_hand::cost(day, &fuller).promises_broken.is_empty() =>
            {
                *day = fuller;
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::{planned, town, wish};
    use super::super::{StreetNetwork, StreetWays, Walking};
    use super::*;
    use crate::place::Local;
    use crate::survey::Streets;
    use std::sync::Arc;

    /// Lots whose addresses are gone: the crew stands at a street all the same, and is kept off it.
    #[test]
    fn without_addresses_the_street_is_the_one_where_the_crew_stands() {
        let mut survey = town(3);
        survey.premises.address = Arc::new(vec![""; survey.premises.len()].into_iter().collect());
        let survey = Arc::new(survey);
        let network = Arc::new(StreetNetwork::new(&survey.streets, &Walking::default()));
        let meeting_point = Local { x: 120.0, y: 120.0 };
        let ways = StreetWays::new(Arc::clone(&survey), Arc::clone(&network), meeting_point).unwrap();
        // Lot 1 begins 8 m north of "East 0 Street" and 30 m east of "North 0 Avenue".
        assert_eq!(ways.street(PremiseId(1)), Some("East 0 Street"));
        assert!(in_street(&survey, PremiseId(1), "east 0 st", &ways) && !in_street(&survey, PremiseId(1), "North 0 Avenue", &ways));
        let doors: Vec<Candidate> = (0..90).step_by(2).map(|p| Candidate::by_hand(PremiseId(p), 10.0, "due")).collect();
        let free = Wish { meeting_point, ..wish(2, 150.0) };
        let plan = |wish: &Wish| planned(&survey, &network, &doors, wish, 300).unwrap().day;
        let at = |premise: PremiseId| ways.street(premise).unwrap().to_owned();
        let street = at(plan(&free).walks[0].doors[0].premise);
        let bound = plan(&Wish { kept_off: vec![(0, street.to_lowercase())], ..free });
        assert!(!bound.walks[0].doors.is_empty() && bound.walks[0].doors.iter().all(|d| at(d.premise) != street));
    }

    #[test]
    fn streets_are_named_once_and_addresses_name_them_where_none_are_drawn() {
        let mut survey = town(1);
        let drawn = ["East 0 Street", "East 1 Street", "North 0 Avenue", "North 1 Avenue"];
        assert_eq!(street_names(&survey), drawn);
        survey.streets = Streets::default();
        assert_eq!(street_names(&survey), drawn[..2], "lots have their addresses on streets that go east");
    }
}
