//! The walks that were found, written up as a day: times, lines, metres.

use super::Wish;
use super::chosen::Chosen;
use super::legs::{Leg, legs};
use super::promises::walk_times;
use super::search_day::Found;
use crate::place::Local;
use crate::survey::{PremiseId, Survey};
use crate::walks::{CrewWalk, Day, Door, LeftOut, StreetNetwork, carry};

/// The day with every walk door by door.
pub(super) fn day(
    survey: &Survey,
    network: &StreetNetwork,
    chosen: &Chosen<'_>,
    wish: &Wish,
    found: &Found,
    left_out: Vec<LeftOut>,
) -> Day {
    let walks = wish.crews.iter().zip(&found.walks).map(|(crew, walk)| {
        let mut walk = crew_walk(network, chosen, wish, crew, walk);
        let doors: Vec<PremiseId> = walk.doors.iter().map(|d| d.premise).collect();
        walk.supplies = carry(survey, survey.round(None), &doors, &["English"]);
        walk
    });
    Day {
        on: wish.on,
        begins: wish.begins,
        shift_minutes: wish.shift_minutes,
        meeting_point: wish.meeting_point,
        walks: walks.collect(),
        left_out,
        one_more_crew: found.one_more,
    }
}

fn crew_walk(network: &StreetNetwork, chosen: &Chosen<'_>, wish: &Wish, crew: &str, walk: &[usize]) -> CrewWalk {
    let mut out = CrewWalk { crew: crew.to_owned(), ..CrewWalk::default() };
    if walk.is_empty() {
        return out;
    }
    let times = walk_times(chosen, wish, walk);
    let legs = legs(chosen, walk);
    let mut at = 0;
    let mut go = |to: usize, leg: &Leg, out: &mut CrewWalk| {
        let foot_to = leg.from_car.unwrap_or(to);
        let on_foot = network.route(&chosen.spots[at], &chosen.spots[foot_to]);
        join(&mut out.path, &on_foot.line);
        if let Some(car) = leg.from_car {
            join(&mut out.path, &network.route(&chosen.spots[car], &chosen.spots[to]).line);
        }
        at = to;
        out.walk_m += on_foot.metres;
        on_foot.metres
    };
    for ((&door, &arrive), leg) in walk.iter().zip(&times.arrive).zip(&legs) {
        let c = chosen.candidate(door);
        let walk_m = go(door + 1, leg, &mut out);
        out.doors.push(Door {
            premise: c.premise,
            why: c.why.clone(),
            at: chosen.spots[door + 1].place,
            arrive,
            minutes: c.minutes,
            walk_m,
            probability: c.probability,
            worth: c.worth,
            must: c.must,
            promised: c.promised,
            locked: false,
        });
    }
    if let Some(leg) = legs.last() {
        go(0, leg, &mut out);
    }
    out.back_after = times.back_after;
    out
}

/// Adds a line to a path that ends where the line begins.
fn join(path: &mut Vec<Local>, line: &[Local]) {
    let skip = usize::from(path.last().is_some_and(|last| Some(last) == line.first()));
    path.extend_from_slice(&line[skip..]);
}
