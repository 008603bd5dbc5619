//! The walks that were found, written up as a day: times, lines, metres.

use super::Wish;
use super::chosen::Chosen;
use super::search_day::Found;
use crate::place::Local;
use crate::survey::{PremiseId, Survey};
use crate::walks::by_hand::{Stop, Way, Ways, retime};
use crate::walks::legs::Car;
use crate::walks::{CrewWalk, Day, Door, LeftOut, Marks, Spot, StreetNetwork, carry};
use std::collections::BTreeMap;

/// The day with every walk door by door. It is timed as changes by hand are, so that both say the same.
pub(super) fn day(
    survey: &Survey,
    network: &StreetNetwork,
    chosen: &Chosen<'_>,
    wish: &Wish,
    found: &Found,
    left_out: Vec<LeftOut>,
) -> Day {
    let walks = wish.crews.iter().zip(&found.walks).enumerate().map(|(i, (crew, walk))| {
        let doors: Vec<Door> = walk.iter().map(|&k| chosen.candidate(k).door(chosen.spots[k + 1].place)).collect();
        let premises: Vec<PremiseId> = doors.iter().map(|d| d.premise).collect();
        let supplies = if doors.is_empty() { Vec::new() } else { carry(survey, survey.round(None), &premises, &["English"]) };
        let own_shift = wish.own_shifts.get(i).copied().flatten();
        CrewWalk { crew: crew.clone(), own_shift, doors, supplies, ..CrewWalk::default() }
    });
    let mut day = Day {
        on: wish.on,
        begins: wish.begins,
        shift_minutes: wish.shift_minutes,
        pauses: wish.pauses.clone(),
        on_foot: network.walking().driving.is_none(),
        meeting_point: wish.meeting_point,
        walks: walks.collect(),
        left_out,
        one_more_crew: found.one_more,
        promises: Vec::new(),
        kept_off: wish.kept_off.clone(),
        lines: 0,
        marks: Marks::default(),
    };
    let ways = ChosenWays::new(network, chosen);
    (0..day.walks.len()).for_each(|walk| retime(&mut day, walk, &ways));
    day
}

/// The ways between the doors that the search looked at.
struct ChosenWays<'a> {
    network: &'a StreetNetwork,
    meeting: Spot,
    spots: BTreeMap<PremiseId, Spot>,
}

impl<'a> ChosenWays<'a> {
    fn new(network: &'a StreetNetwork, chosen: &Chosen<'_>) -> Self {
        let spots = (0..chosen.len()).map(|k| (chosen.candidate(k).premise, chosen.spots[k + 1])).collect();
        Self { network, meeting: chosen.spots[0], spots }
    }

    fn spot(&self, stop: Stop) -> Option<&Spot> {
        match stop {
            Stop::MeetingPoint => Some(&self.meeting),
            Stop::Door(premise) => self.spots.get(&premise),
        }
    }
}

impl Ways for ChosenWays<'_> {
    fn stand(&self, premise: PremiseId) -> Option<Local> {
        self.spots.get(&premise).map(|s| s.place)
    }

    fn way(&self, from: Stop, to: Stop) -> Way {
        self.spot(from).zip(self.spot(to)).map_or_else(Way::none, |(a, b)| Way::of(self.network.route(a, b)))
    }

    fn car(&self) -> Option<Car> {
        Car::of(self.network.walking())
    }
}
