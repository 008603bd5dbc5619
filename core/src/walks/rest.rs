//! Planning the rest of a day again: what a planner has locked or taken off stays so.

use super::by_hand::{self, ByHandError, Spot, Ways, spot_of};
use super::day_plan::{plan_everywhere, worth_most_first};
use super::kept_off::keep_off;
use super::{Because, Candidate, CrewWalk, Day, Door, Effort, LeftOut, Marks, Planned, StreetNetwork, WalkError, WhyKind, Wish};
use crate::job::Watch;
use crate::survey::{PremiseId, Survey};
use std::collections::BTreeSet;

/// Plans a day anew round what stays of the one before: locked walks as they are, locked doors and doors that
/// were added in their crew's walk, doors that were taken off left out. Where locked doors make a shift too long, the doors worth least of that walk give way.
///
/// What is planned are the walks worth most within the shifts: musts first, then the greatest sum of worth over the shortest walks; when
/// all doors fit, the walks are about equally long. Promised hours are kept, and doors worth less give way. The same input, seed and
/// number of iterations give the same day.
///
/// Where the wish goes on from the plan before, the search begins with its walks, and that plan stays where nothing better is found.
///
/// Doors in streets that a crew is kept off go to the others. The crews are those of the wish; a locked walk of a crew that is no longer
/// there is planned anew, and of the plan of another day nothing stays.
///
/// # Errors
/// [`WalkError::NoStreetNear`] for a meeting point far from every street, [`WalkError::Cancelled`] when the watch asks to stop; a day with
/// nothing left to plan is no error.
#[allow(clippy::too_many_arguments, reason = "the same as for a day from nothing, and what stays of the one before")]
pub fn plan_rest(
    survey: &Survey,
    network: &StreetNetwork,
    candidates: &[Candidate],
    wish: &Wish,
    before: &Day,
    ways: &dyn Ways,
    seed: u64,
    effort: &mut dyn Effort,
    watch: &dyn Watch,
) -> Result<Planned, WalkError> {
    let nothing_stays = Day::default();
    let before = if before.on == wish.on { before } else { &nothing_stays };
    let locked = |i: usize| before.walks.get(i).is_some_and(|w| w.locked);
    let free: Vec<usize> = (0..wish.crews.len()).filter(|&i| !locked(i)).collect();
    let held = held(before, wish.crews.len());
    let off: Vec<LeftOut> = before.left_out.iter().filter(|l| l.because == Because::TakenOff).cloned().collect();
    let stays: BTreeSet<PremiseId> = held.iter().map(|h| h.1.premise).chain(off.iter().map(|l| l.premise)).collect();
    let kept = |i: usize| before.walks.get(i).map_or(&[][..], |w| if w.locked { &w.doors[..] } else { &[] });
    let walked: BTreeSet<PremiseId> = (0..wish.crews.len()).flat_map(kept).map(|d| d.premise).collect();
    let rest: Vec<Candidate> = candidates.iter().filter(|c| !stays.contains(&c.premise) && !walked.contains(&c.premise)).cloned().collect();
    let crews: Vec<String> = free.iter().map(|&i| wish.crews[i].clone()).collect();
    let own_shifts = free.iter().map(|&i| wish.own_shifts.get(i).copied().flatten()).collect();
    let asked = Wish { crews, own_shifts, ..wish.clone() };
    let known = if wish.goes_on { free.iter().map(|&i| premises_of(before, i)).collect() } else { Vec::new() };
    let mut planned = if rest.is_empty() || free.is_empty() {
        nothing(&asked, &rest, network.walking().driving.is_none())
    } else {
        plan_everywhere(survey, network, &rest, &asked, (seed, &known), effort, watch)?
    };
    merge(&mut planned.day, before, wish, &free, ways);
    planned.day.left_out.extend(off);
    for (walk, door) in held {
        put_held(&mut planned.day, walk, door, ways);
    }
    keep_off(survey, &mut planned.day, wish, candidates, ways);
    worth_most_first(&mut planned.day.left_out);
    if wish.goes_on && still_holds(before, wish, candidates) && !is_better(&planned.day, before) {
        planned.day = before.clone();
    }
    Ok(planned)
}

/// The premises of a walk; none where there is no such walk.
fn premises_of(day: &Day, walk: usize) -> Vec<PremiseId> {
    day.walks.get(walk).map_or_else(Vec::new, |w| w.doors.iter().map(|d| d.premise).collect())
}

/// Whether a plan answers a wish as it is now: nothing but its walks could be others.
fn still_holds(before: &Day, wish: &Wish, candidates: &[Candidate]) -> bool {
    let same_shifts = (0..wish.crews.len().max(before.walks.len())).all(|i| wish.shift(i) == before.shift(i));
    let known: BTreeSet<PremiseId> = candidates.iter().map(|c| c.premise).collect();
    let mut doors = before.walks.iter().flat_map(|w| &w.doors);
    (before.on, before.begins, before.meeting_point) == (wish.on, wish.begins, wish.meeting_point)
        && before.walks.iter().map(|w| &w.crew).eq(&wish.crews)
        && (same_shifts, &before.pauses, &before.kept_off) == (true, &wish.pauses, &wish.kept_off)
        && doors.all(|d| d.locked || d.why.kind == WhyKind::ByHand || known.contains(&d.premise))
}

/// Whether a plan is better than another: more doors that cannot wait, more promises kept, more worth, less time.
fn is_better(day: &Day, than: &Day) -> bool {
    let doors = |day: &Day, counts: &dyn Fn(&Door) -> bool| day.walks.iter().flat_map(|w| &w.doors).filter(|d| counts(d)).count();
    let due = |day: &Day| doors(day, &|d| d.must && d.overdue_days == 0);
    let kept = |day: &Day| doors(day, &|d| d.promised.is_some() && !d.breaks_promise());
    let late = |day: &Day| (0..day.walks.len()).filter(|&w| day.walks[w].back_after > day.shift(w).until + 1e-6).count();
    let worth = |day: &Day| day.walks.iter().flat_map(|w| &w.doors).map(|d| d.worth).sum::<f64>();
    let out = |day: &Day| day.walks.iter().map(CrewWalk::minutes_out).collect::<Vec<f64>>();
    // When everything fits, walks are to be equal: the longest one counts.
    let minutes = |day: &Day| if day.left_out.is_empty() { out(day).into_iter().fold(0.0, f64::max) } else { out(day).iter().sum::<f64>() };
    let first = |day: &Day| (std::cmp::Reverse(late(day)), due(day), kept(day));
    match first(day).cmp(&first(than)) {
        std::cmp::Ordering::Equal if (worth(day) - worth(than)).abs() > 1e-9 => worth(day) > worth(than),
        std::cmp::Ordering::Equal => minutes(day) < minutes(than) - 1e-6,
        other => other.is_gt(),
    }
}

/// Locked doors of walks that are not locked themselves, and doors that the planner added, with their crew; of a crew that is no longer there,
/// those that were added, for any other crew.
fn held(before: &Day, crews: usize) -> Vec<(Option<usize>, Door)> {
    let promised: BTreeSet<PremiseId> = before.promises.iter().map(|p| p.0).collect();
    // A promise finds its own place in the plan.
    let added = |d: &Door| d.why.kind == WhyKind::ByHand && !promised.contains(&d.premise);
    let walks = before.walks.iter().enumerate().filter(|(i, w)| *i >= crews || !w.locked);
    let of_walk = |(i, w): (usize, &CrewWalk)| {
        let stays = i < crews;
        let doors = w.doors.iter().filter(|d| (stays && d.locked) || added(d));
        doors.map(|d| (stays.then_some(i), d.clone())).collect::<Vec<_>>()
    };
    walks.flat_map(of_walk).collect()
}

/// Puts a door that stays into its crew's walk, or into the one where it costs least; a door that finds no walk is left out.
fn put_held(day: &mut Day, walk: Option<usize>, door: Door, ways: &dyn Ways) {
    let open = (0..day.walks.len()).filter(|&w| walk.is_none_or(|own| own == w) && !day.walks[w].locked);
    let with = open.filter_map(|w| by_hand::add(day, w, door.clone(), ways).ok().map(|day| (w, day)));
    let minutes = |day: &Day| day.walks.iter().map(|w| w.back_after).sum::<f64>();
    match with.min_by(|a, b| minutes(&a.1).total_cmp(&minutes(&b.1))) {
        Some((walk, with)) => {
            *day = with;
            make_room(day, walk, ways);
        }
        None if spot_of(day, door.premise).is_none() => {
            let Door { premise, why, worth, .. } = door;
            day.left_out.push(LeftOut { premise, why, worth, because: Because::ShiftsFull });
        }
        None => {}
    }
}

/// A day of empty walks, everything left out.
fn nothing(wish: &Wish, rest: &[Candidate], on_foot: bool) -> Planned {
    let walks = wish.crews.iter().map(|crew| CrewWalk { crew: crew.clone(), ..CrewWalk::default() }).collect();
    let day = Day {
        on: wish.on,
        begins: wish.begins,
        shift_minutes: wish.shift_minutes,
        pauses: wish.pauses.clone(),
        on_foot,
        meeting_point: wish.meeting_point,
        walks,
        left_out: rest.iter().map(|c| c.left_out(Because::ShiftsFull)).collect(),
        one_more_crew: None,
        promises: Vec::new(),
        kept_off: wish.kept_off.clone(),
        lines: 0,
        marks: Marks::default(),
    };
    Planned { day, candidates: rest.len(), looked_at: 0, travel_seconds: 0.0 }
}

/// Puts the walks that were planned at their crews' places, between those that stay; these are timed anew where their crew is out at other hours.
fn merge(day: &mut Day, before: &Day, wish: &Wish, free: &[usize], ways: &dyn Ways) {
    let mut planned = std::mem::take(&mut day.walks).into_iter();
    for (i, crew) in wish.crews.iter().enumerate() {
        let walk = if free.contains(&i) { planned.next() } else { before.walks.get(i).cloned() };
        let walk = walk.unwrap_or_default();
        let own_shift = wish.own_shifts.get(i).copied().flatten();
        let moved = walk.own_shift != own_shift && !walk.doors.is_empty();
        day.walks.push(CrewWalk { crew: crew.clone(), own_shift, ..walk });
        if moved {
            by_hand::retime(day, i, ways);
        }
    }
}

/// Leaves the doors worth least out until the walk fits its shift; what is locked, was added by hand or cannot wait stays.
pub(super) fn make_room(day: &mut Day, walk: usize, ways: &dyn Ways) {
    while day.walks[walk].back_after > day.shift(walk).until + 1e-9 {
        let doors = day.walks[walk].doors.iter().enumerate().filter(|(_, d)| !d.locked && !d.must && d.why.kind != WhyKind::ByHand);
        let Some((door, _)) = doors.min_by(|a, b| a.1.worth.total_cmp(&b.1.worth)) else { return };
        let gone: Result<Day, ByHandError> = by_hand::remove(day, Spot { walk, door }, ways);
        let Ok(mut shorter) = gone else { return };
        let premise = day.walks[walk].doors[door].premise;
        shorter.left_out.iter_mut().filter(|l| l.premise == premise).for_each(|l| l.because = Because::ShiftsFull);
        *day = shorter;
    }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::{planned, town};
    use super::super::{Iterations, Pause, StreetWays, Walking, Why, street_of};
    use super::*;
    use crate::job::Unwatched;
    use crate::place::Local;
    use jiff::civil::{date, time};
    use std::sync::Arc;

    struct Town {
        survey: Arc<Survey>,
        network: Arc<StreetNetwork>,
        doors: Vec<Candidate>,
        wish: Wish,
        ways: StreetWays,
    }

    /// Every third lot of nine blocks is a candidate, worth more the higher its number; three crews, two hours, a break.
    fn a_town() -> Town {
        let survey = Arc::new(town(3));
        let network = Arc::new(StreetNetwork::new(&survey.streets, &Walking::default()));
        let why = || Why { kind: WhyKind::Gap, words: "not visited".to_owned() };
        let door = |i: u32| Candidate { worth: f64::from(i), why: why(), ..Candidate::by_hand(PremiseId(i), 10.0, "") };
        let doors = (0..90).step_by(3).map(door).collect();
        let meeting_point = Local { x: 120.0, y: 120.0 };
        let pauses = vec![Pause { from: 60.0, minutes: 10.0, heat: true }];
        let wish = Wish {
            on: date(2025, 7, 24),
            begins: time(8, 0, 0, 0),
            shift_minutes: 120.0,
            own_shifts: Vec::new(),
            crews: (1..4).map(|n| format!("Crew {n}")).collect(),
            meeting_point,
            pauses,
            kept_off: vec![],
            one_more: false,
            goes_on: false,
        };
        let ways = StreetWays::new(Arc::clone(&survey), Arc::clone(&network), meeting_point).unwrap();
        Town { survey, network, doors, wish, ways }
    }

    impl Town {
        fn plan(&self) -> Day {
            planned(&self.survey, &self.network, &self.doors, &self.wish, 400).unwrap().day
        }

        fn again(&self, before: &Day, wish: &Wish) -> Day {
            let tries = &mut Iterations(400);
            plan_rest(&self.survey, &self.network, &self.doors, wish, before, &self.ways, 1, tries, &Unwatched).unwrap().day
        }
    }

    fn all(day: &Day) -> Vec<PremiseId> {
        let walked = day.walks.iter().flat_map(|w| &w.doors).map(|d| d.premise);
        let mut out: Vec<PremiseId> = walked.chain(day.left_out.iter().map(|l| l.premise)).collect();
        out.sort_unstable();
        out
    }

    /// Changes by hand and the search reckon alike: times, metres and lines of a plan come out the same.
    #[test]
    fn a_plan_timed_again_by_hand_is_the_same_plan() {
        let town = a_town();
        let planned = town.plan();
        let mut again = planned.clone();
        (0..3).for_each(|w| by_hand::retime(&mut again, w, &town.ways));
        for (a, b) in planned.walks.iter().zip(&again.walks) {
            assert!(a.doors.len() > 5 && (a.back_after - b.back_after).abs() < 1e-9 && (a.walk_m - b.walk_m).abs() < 1e-9);
            assert_eq!(a.path, b.path);
            assert!(a.doors.iter().zip(&b.doors).all(|(d, e)| (d.arrive - e.arrive).abs() < 1e-9 && d.at == e.at));
        }
    }

    #[test]
    fn what_is_locked_or_taken_off_stays_and_no_door_is_lost() {
        let town = a_town();
        let first = town.plan();
        let mut before = by_hand::lock_walk(&first, 1, true).unwrap();
        before = by_hand::lock_door(&before, Spot { walk: 0, door: 2 }, true).unwrap();
        let held = before.walks[0].doors[2].premise;
        let off = before.walks[2].doors[0].premise;
        before = by_hand::remove(&before, Spot { walk: 2, door: 0 }, &town.ways).unwrap();
        let after = town.again(&before, &town.wish);
        assert_eq!(after.walks[1], before.walks[1]);
        assert!(after.walks[0].doors.iter().any(|d| d.premise == held && d.locked));
        assert!(after.left_out.iter().any(|l| l.premise == off && l.because == Because::TakenOff));
        assert_eq!(all(&after), all(&first));
        assert!(after.walks.iter().all(|w| w.back_after <= 120.0 + 1e-9));
        let mut unlocked = by_hand::lock_walk(&after, 1, false).unwrap();
        unlocked.left_out.clear();
        assert_eq!(all(&town.again(&unlocked, &town.wish)), all(&first), "nothing of the old plan stays twice");
    }

    #[test]
    fn a_first_plan_keeps_a_crew_off_a_street_as_a_later_one_does() {
        let mut town = a_town();
        let street = street_of(&town.survey, town.plan().walks[1].doors[0].premise).to_owned();
        let there = |town: &Town, day: &Day| {
            day.walks[1].doors.iter().filter(|d| super::super::on_street(&town.survey, d.premise, &street)).count()
        };
        assert!(there(&town, &town.plan()) > 0);
        town.wish.kept_off = vec![(1, street.clone())];
        let first = town.plan();
        assert!(there(&town, &first) == 0 && !first.walks[1].doors.is_empty());
    }

    #[test]
    fn a_locked_walk_of_a_crew_that_is_gone_is_planned_anew() {
        let town = a_town();
        let before = by_hand::lock_walk(&town.plan(), 2, true).unwrap();
        let fewer = Wish { crews: town.wish.crews[..2].to_vec(), ..town.wish.clone() };
        let after = town.again(&before, &fewer);
        assert_eq!((after.walks.len(), all(&after)), (2, all(&before)));
    }

    /// Two doors more, one of them no candidate at all; then everything is planned again, with all crews and with one crew less.
    #[test]
    fn doors_that_were_added_by_hand_stay_though_a_crew_is_gone() {
        let town = a_town();
        let first = town.plan();
        let known = first.left_out[0].premise;
        let mut before = first;
        for premise in [known, PremiseId(1)] {
            before = crate::walks::Change::Add(premise, Some(2)).make(&town.survey, &before, &town.ways).unwrap();
        }
        let stay = |day: &Day| [known, PremiseId(1)].map(|p| spot_of(day, p).map(|at| at.walk));
        assert_eq!(stay(&town.again(&before, &town.wish)), [Some(2), Some(2)]);
        let fewer = Wish { crews: town.wish.crews[..2].to_vec(), ..town.wish.clone() };
        let after = town.again(&before, &fewer);
        assert!(stay(&after).iter().all(|walk| walk.is_some_and(|w| w < 2)), "{:?}", stay(&after));
        let mut told = all(&after);
        told.dedup();
        assert_eq!(told.len(), all(&after).len(), "every door once");
        // With their walks locked there is no place for them, and they are told among those left out.
        let locked = (0..2).fold(before, |day, w| by_hand::lock_walk(&day, w, true).unwrap());
        let after = town.again(&locked, &fewer);
        assert!(after.left_out.iter().any(|l| l.premise == PremiseId(1)));
    }

    #[test]
    fn when_all_walks_are_locked_the_day_stays() {
        let town = a_town();
        let mut before = town.plan();
        before.walks.iter_mut().for_each(|w| w.locked = true);
        let after = town.again(&before, &town.wish);
        assert_eq!((after.walks, after.left_out.len()), (before.walks, before.left_out.len()));
    }
}
