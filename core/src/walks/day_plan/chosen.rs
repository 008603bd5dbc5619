//! The candidates that the search looks at, at their streets, and the times between them.

use super::Wish;
use crate::job::Watch;
use crate::place::Local;
use crate::survey::{BlockId, PremiseId, Survey};
use crate::walks::legs::{Car, Leg, legs};
use crate::walks::ring::Rank;
use crate::walks::{Because, Candidate, LeftOut, Spot, StreetNetwork, WalkError};

/// Doors to choose from. Place 0 is the meeting point, place `k + 1` the door `k`.
#[derive(Debug)]
pub(super) struct Chosen<'a> {
    candidates: Vec<&'a Candidate>,
    /// The meeting point, then the doors.
    pub spots: Vec<Spot>,
    /// Seconds from place to place on foot.
    seconds: Vec<Vec<f64>>,
    car: Option<Car>,
    /// The block of each door.
    blocks: Vec<Option<BlockId>>,
}

/// What going back to the car counts in the search, in seconds: about half of what is walked from a parked car. The clock counts
/// what it takes.
const BACK_TO_CAR: f64 = 120.0;

impl<'a> Chosen<'a> {
    /// Puts the candidates at their streets and keeps those that come first, then those worth most, then those nearest, until there are
    /// `most`. What cannot be walked to is left out with its reason.
    pub(super) fn new(
        survey: &Survey,
        network: &StreetNetwork,
        all: &'a [Candidate],
        wish: &Wish,
        most: usize,
        left_out: &mut Vec<LeftOut>,
        watch: &dyn Watch,
    ) -> Result<Self, WalkError> {
        let meeting = network.spot_of_place(wish.meeting_point).ok_or(WalkError::NoStreetNear)?;
        let mut at_street: Vec<(&Candidate, Spot)> = Vec::with_capacity(all.len());
        for candidate in all {
            match network.spot_of_premise(survey, candidate.premise) {
                Some(spot) => at_street.push((candidate, spot)),
                None => left_out.push(candidate.left_out(Because::NoWayThere)),
            }
        }
        let kept = kept(at_street, meeting, most, left_out);
        let (candidates, doors): (Vec<_>, Vec<_>) = kept.into_iter().unzip();
        let spots: Vec<Spot> = std::iter::once(meeting).chain(doors).collect();
        let seconds = network.travel(&spots, watch)?;
        let mut chosen = Self { candidates, spots, seconds, car: Car::of(network.walking()), blocks: Vec::new() };
        chosen.drop_far(wish, left_out);
        chosen.blocks = chosen.candidates.iter().map(|c| survey.premises.block[c.premise.row()]).collect();
        Ok(chosen)
    }

    /// How many doors there are.
    pub(super) fn len(&self) -> usize {
        self.candidates.len()
    }

    /// Walks over premises as walks over doors; premises that are no door are left away.
    pub(super) fn doors_of(&self, walks: &[Vec<PremiseId>]) -> Vec<Vec<usize>> {
        let door = |premise: &PremiseId| self.candidates.binary_search_by_key(premise, |c| c.premise).ok();
        walks.iter().map(|walk| walk.iter().filter_map(door).collect()).collect()
    }

    /// A door's candidate.
    pub(super) fn candidate(&self, door: usize) -> &'a Candidate {
        self.candidates[door]
    }

    /// Where somebody stands for a door.
    pub(super) fn place(&self, door: usize) -> Local {
        self.spots[door + 1].place
    }

    /// Whether a door lies in another block than the one before it.
    pub(super) fn changes_block(&self, from: usize, to: usize) -> bool {
        self.blocks[from].is_some() && self.blocks[from] != self.blocks[to]
    }

    /// The legs of a walk to some doors, between places.
    pub(super) fn legs(&self, walk: &[usize]) -> Vec<Leg<usize>> {
        let places: Vec<usize> = walk.iter().map(|door| door + 1).collect();
        legs(0, &places, &|from, to| self.seconds[from][to], self.car)
    }

    /// Seconds from a place to another as the search reckons them, which does not know where the car stands: at the meeting
    /// point at first, and mostly near the last doors at the end.
    pub(super) fn reckoned(&self, from: usize, to: usize) -> f64 {
        let on_foot = self.seconds[from][to];
        let back = if from == 0 || to == 0 { 0.0 } else { BACK_TO_CAR };
        let driven = self.car.filter(|car| car.is_far(on_foot)).map(|car| car.seconds(on_foot) + back);
        driven.map_or(on_foot, |driven| driven.min(on_foot))
    }

    /// Leaves out the doors that barriers leave no way to, and those that take longer than a shift.
    fn drop_far(&mut self, wish: &Wish, left_out: &mut Vec<LeftOut>) {
        let shifts = (0..wish.crews.len()).map(|crew| wish.shift(crew).walking_minutes(&wish.pauses));
        let room = shifts.fold(0.0, f64::max) * 60.0;
        let mut stays = vec![true; self.spots.len()];
        for (k, candidate) in self.candidates.iter().enumerate() {
            let clocked: f64 = self.legs(&[k]).iter().map(|leg| leg.seconds).sum();
            // The search must be able to serve it too.
            let travel = clocked.max(self.reckoned(0, k + 1) + self.reckoned(k + 1, 0));
            let because = match travel.is_finite() {
                false => Some(Because::NoWayThere),
                true if travel + candidate.minutes * 60.0 > room => Some(Because::TooFar),
                true => None,
            };
            if let Some(because) = because {
                stays[k + 1] = false;
                left_out.push(candidate.left_out(because));
            }
        }
        keep(&mut self.spots, &stays);
        keep(&mut self.candidates, &stays[1..]);
        keep(&mut self.seconds, &stays);
        self.seconds.iter_mut().for_each(|row| keep(row, &stays));
    }
}

fn keep<T>(list: &mut Vec<T>, stays: &[bool]) {
    let mut at = stays.iter();
    list.retain(|_| *at.next().unwrap_or(&true));
}

/// The doors to look at when there are more than `most`: those due on the day, promised or in a ring that comes first; up to two thirds by
/// worth, what is overdue first; the rest by nearness to the meeting point. The others are left out.
fn kept<'a>(mut all: Vec<(&'a Candidate, Spot)>, meeting: Spot, most: usize, left_out: &mut Vec<LeftOut>) -> Vec<(&'a Candidate, Spot)> {
    let rank = |c: &Candidate| if c.promised.is_some() { Rank::DueToday } else { c.rank() };
    all.sort_by(|(a, _), (b, _)| rank(a).cmp(&rank(b)).then(b.worth.total_cmp(&a.worth)).then(a.premise.cmp(&b.premise)));
    if all.len() > most {
        let by_worth = (most * 2 / 3).max(all.iter().filter(|(c, _)| rank(c) <= Rank::Ring).count()).min(most);
        all[by_worth..].sort_by(|(a, p), (b, q)| {
            let metres = |s: &Spot| s.place.distance(meeting.place);
            metres(p).total_cmp(&metres(q)).then(a.premise.cmp(&b.premise))
        });
        left_out.extend(all.drain(most..).map(|(c, _)| c.left_out(Because::ShiftsFull)));
    }
    // The order of the premises is that of the ground: what comes out does not hang on how candidates were sorted.
    all.sort_by_key(|(c, _)| c.premise);
    all
}
