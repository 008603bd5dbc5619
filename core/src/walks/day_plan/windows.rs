//! Promised hours that the walks have no place for: what stands round them is taken out and put back, until more promises are kept.
//!
//! The search knows no hours. Doors without a promise that fill a wanted hour are walked to before or after it here, by this crew or another,
//! and only where no time is left does one wait for another day.

use super::Wish;
use super::chosen::Chosen;
use super::search_day::Found;
use super::timeline::{Times, times_of};
use crate::job::{Cancelled, Watch};
use crate::place::Local;
use crate::walks::neatness::crossings;
use crate::walks::own_worth;
use crate::walks::ring::Rank;
use crate::walks::search::random::Chance;

/// Rounds of taking out and putting back: so many, and more for each promise, up to the most. Our own choice: some tenths of a second.
const ROUNDS: usize = 150;
const EACH_PROMISE: usize = 25;
const MOST_ROUNDS: usize = 900;
/// Minutes round a promised hour from which doors are taken out.
const ROUND_ABOUT: f64 = 25.0;
/// How often a door near the hour is taken out, a door that has a promise itself, and any other.
const TAKEN: (f64, f64, f64) = (0.5, 0.25, 0.05);
/// Doors without a promise that are in no walk and are tried in each round, and places that are tried for each door.
const TRIED: usize = 12;
const PLACES: usize = 24;
/// By how much the last number of a score may be less than the best one's for the time being, when nothing else is.
const SLACK: f64 = 6.0;
/// What a place where walks cross counts, in minutes, and how many times the minutes that it takes the worth of a door counts. Our own choice.
const CROSSING: f64 = 1.5;
const WORTH: f64 = 3.0;
/// Minutes by which the reckoned times of a place may be wrong, because of the car.
const CAR: f64 = 8.0;

/// What walks are worth, the first number first: doors that are due on the day and promises among them, doors of a ring, overdue doors, each with
/// their promises; then other promises; then worth, less the time that is taken and places where walks cross.
type Score = [f64; 8];

/// Changes the walks until more promised hours are kept, or the same ones at less cost; never fewer. Same walks, same seed, same answer.
///
/// # Errors
/// [`Cancelled`] when the watch asks to stop.
///
/// # Source
/// Ruin and recreate: G. Schrimpf et al. (2000), J. Christiaens, G. Vanden Berghe (2020); that doors are taken out round a wanted hour is our
/// own.
pub(super) fn mend(chosen: &Chosen<'_>, wish: &Wish, seed: u64, found: &mut Found, watch: &dyn Watch) -> Result<(), Cancelled> {
    let out: Vec<usize> = found.left_out.iter().chain(&found.hour_full).copied().collect();
    let promised: Vec<usize> =
        found.walks.iter().flatten().chain(&out).copied().filter(|&k| chosen.candidate(k).promised.is_some()).collect();
    if promised.is_empty() {
        return Ok(());
    }
    let mut now = State { times: Vec::new(), walks: std::mem::take(&mut found.walks), out };
    now.times = now.walks.iter().enumerate().map(|(crew, walk)| times_of(chosen, wish, crew, walk).1).collect();
    let worth: f64 = now.walks.iter().flatten().map(|&k| own_worth(chosen.candidate(k).worth)).sum();
    let minutes: f64 = now.times.iter().map(|t| t.back_after).sum();
    let rate = WORTH * minutes.max(1.0) / worth.max(1e-3);
    let mut mender = Mender { chosen, wish, rate, chance: Chance::from_seed(seed) };
    let (mut best, mut most) = (now.clone(), mender.score(&now));
    let rounds = (ROUNDS + EACH_PROMISE * promised.len()).min(MOST_ROUNDS);
    for round in 0..rounds {
        watch.step("keeping promised hours", round as u64, rounds as u64)?;
        let tried = mender.round(&now, &promised);
        let score = mender.score(&tried);
        if !beats(&most, &score, SLACK) {
            if beats(&score, &most, 0.0) {
                (best, most) = (tried.clone(), score);
            }
            now = tried;
        }
    }
    found.walks = best.walks;
    let is_promised = |door: &usize| chosen.candidate(*door).promised.is_some();
    (found.hour_full, found.left_out) = best.out.into_iter().partition(is_promised);
    Ok(())
}

/// Whether the first is worth more than the second: the last number counts where it differs by more than some slack.
fn beats(first: &Score, second: &Score, slack: f64) -> bool {
    for (i, (a, b)) in first.iter().zip(second).enumerate() {
        let least = if i + 1 == first.len() { slack } else { 0.0 } + 1e-9 * (1.0 + b.abs());
        if (a - b).abs() > least {
            return a > b;
        }
    }
    false
}

/// Walks with their times, and the doors that are in none.
#[derive(Clone)]
struct State {
    walks: Vec<Vec<usize>>,
    times: Vec<Times>,
    out: Vec<usize>,
}

struct Mender<'a> {
    chosen: &'a Chosen<'a>,
    wish: &'a Wish,
    /// Minutes that one worth counts as much as.
    rate: f64,
    chance: Chance,
}

impl Mender<'_> {
    fn is_promised(&self, door: usize) -> bool {
        self.chosen.candidate(door).promised.is_some()
    }

    fn score(&self, state: &State) -> Score {
        let mut score = [0.0; 8];
        for &door in state.walks.iter().flatten() {
            let candidate = self.chosen.candidate(door);
            let promised = f64::from(u8::from(candidate.promised.is_some()));
            match candidate.rank() {
                Rank::DueToday => (score[0], score[1]) = (score[0] + 1.0, score[1] + promised),
                Rank::Ring => (score[2], score[3]) = (score[2] + 1.0, score[3] + promised),
                Rank::Overdue => (score[4], score[5]) = (score[4] + 1.0, score[5] + promised),
                Rank::Other => score[6] += promised,
            }
            score[7] += self.rate * own_worth(candidate.worth);
        }
        score[7] -= state.times.iter().map(|t| t.back_after).sum::<f64>() + CROSSING * self.crossed(state) as f64;
        score
    }

    /// The walks as lines from door to door.
    fn drawn(&self, state: &State) -> Vec<Vec<Local>> {
        state.walks.iter().map(|w| w.iter().map(|&k| self.chosen.place(k)).collect()).collect()
    }

    /// How often the walks cross each other.
    fn crossed(&self, state: &State) -> usize {
        let places = self.drawn(state);
        let pairs = (0..places.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
        pairs.map(|(a, b)| crossings(&places[a], &places[b])).sum()
    }

    /// How many more times a walk crosses the others with a door at a place in it; fewer times are below 0.
    fn crosses(&self, drawn: &[Vec<Local>], crew: usize, (slot, door): (usize, usize)) -> f64 {
        let walk = &drawn[crew];
        let (before, after) = (slot.checked_sub(1).and_then(|k| walk.get(k)), walk.get(slot));
        let with: Vec<Local> = before.copied().into_iter().chain([self.chosen.place(door)]).chain(after.copied()).collect();
        let without: Vec<Local> = before.into_iter().chain(after).copied().collect();
        let others = drawn.iter().enumerate().filter(|(other, _)| *other != crew);
        others.map(|(_, other)| crossings(&with, other) as f64 - crossings(&without, other) as f64).sum()
    }

    /// The walks after one ruin round a promised hour, and one recreation.
    fn round(&mut self, now: &State, promised: &[usize]) -> State {
        let waiting: Vec<usize> = now.out.iter().copied().filter(|&k| self.is_promised(k)).collect();
        let of: &[usize] = if waiting.is_empty() || self.chance.share() < 0.2 { promised } else { &waiting };
        let target = of[self.chance.below(of.len())];
        let mut state = now.clone();
        let mut taken = self.ruin(&mut state, target);
        let mut others: Vec<usize> = state.out.iter().copied().filter(|&k| !self.is_promised(k)).collect();
        self.chance.shuffle(&mut others);
        others.truncate(TRIED);
        taken.extend(waiting);
        taken.extend(others);
        taken.sort_unstable();
        taken.dedup();
        self.put_back(&mut state, taken, target);
        state
    }

    /// Takes doors out of the walks, those round the hour that a door was promised above all.
    fn ruin(&mut self, state: &mut State, target: usize) -> Vec<usize> {
        let (from, until) = self.chosen.candidate(target).promised.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
        let mut taken = Vec::new();
        let every = self.chance.share() < 0.3;
        let one = self.chance.below(state.walks.len());
        for crew in (0..state.walks.len()).filter(|&crew| every || crew == one) {
            let mut stays = Vec::with_capacity(state.walks[crew].len());
            for (&door, &at) in state.walks[crew].iter().zip(&state.times[crew].arrive) {
                let near = at >= from - ROUND_ABOUT && at <= until + ROUND_ABOUT;
                let often = if near && self.is_promised(door) {
                    TAKEN.1
                } else if near {
                    TAKEN.0
                } else {
                    TAKEN.2
                };
                if door == target || self.chance.share() < often { taken.push(door) } else { stays.push(door) }
            }
            self.lay(state, crew, stays);
        }
        state.out.extend(&taken);
        taken
    }

    fn lay(&self, state: &mut State, crew: usize, walk: Vec<usize>) {
        state.times[crew] = times_of(self.chosen, self.wish, crew, &walk).1;
        state.walks[crew] = walk;
    }

    /// Puts doors back one after the other, each where it costs least time, in one of some orders that chance mixes; what fits nowhere stays out.
    fn put_back(&mut self, state: &mut State, mut doors: Vec<usize>, target: usize) {
        self.chance.shuffle(&mut doors);
        match self.chance.below(3) {
            0 => doors.sort_by_key(|&k| (k != target, !self.is_promised(k))),
            1 => doors.sort_by_key(|&k| (self.chosen.candidate(k).rank(), !self.is_promised(k))),
            _ => doors.sort_by(|&a, &b| {
                let rate = |k: usize| own_worth(self.chosen.candidate(k).worth) / self.chosen.candidate(k).minutes.max(1.0);
                (a != target).cmp(&(b != target)).then(rate(b).total_cmp(&rate(a)))
            }),
        }
        for door in doors {
            if let Some((crew, slot)) = self.place(state, door) {
                let mut walk = state.walks[crew].clone();
                walk.insert(slot, door);
                self.lay(state, crew, walk);
                state.out.retain(|&k| k != door);
            }
        }
    }

    /// Where a door costs least time on the clock and crosses other walks least, of the places where it costs least by the way alone.
    fn place(&self, state: &State, door: usize) -> Option<(usize, usize)> {
        let mut places: Vec<(f64, usize, usize)> = Vec::new();
        for crew in 0..state.walks.len() {
            places.extend(self.places(state, crew, door));
        }
        places.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        let drawn = self.drawn(state);
        let timed = places.into_iter().take(PLACES).filter_map(|(_, crew, slot)| {
            let mut walk = state.walks[crew].clone();
            walk.insert(slot, door);
            let times = times_of(self.chosen, self.wish, crew, &walk).1;
            let holds = times.promises_kept && times.back_after <= self.wish.shift(crew).until + 1e-9;
            let cost = || times.back_after - state.times[crew].back_after + CROSSING * self.crosses(&drawn, crew, (slot, door));
            holds.then(|| (cost(), crew, slot))
        });
        timed.min_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2)))).map(|(_, crew, slot)| (crew, slot))
    }

    /// The places of one walk that a door may have, with the seconds that each costs by the way alone.
    fn places(&self, state: &State, crew: usize, door: usize) -> Vec<(f64, usize, usize)> {
        let (walk, times, shift) = (&state.walks[crew], &state.times[crew], self.wish.shift(crew));
        let own = self.chosen.candidate(door);
        let until = own.promised.map_or(f64::INFINITY, |hours| hours.1);
        let last_promise = walk.iter().rposition(|&k| self.is_promised(k));
        let stand = |slot: usize| walk.get(slot).map_or(0, |&k| k + 1);
        let mut out = Vec::with_capacity(walk.len() + 1);
        for slot in 0..=walk.len() {
            let before = if slot == 0 { 0 } else { stand(slot - 1) };
            let leaves = if slot == 0 { shift.from } else { times.arrive[slot - 1] + self.chosen.candidate(walk[slot - 1]).minutes };
            let there = self.chosen.reckoned(before, door + 1);
            let detour = there + self.chosen.reckoned(door + 1, stand(slot))
                - if walk.is_empty() { 0.0 } else { self.chosen.reckoned(before, stand(slot)) };
            // Where nobody waits later on, the crew is back later by the door and the way to it.
            let waits = own.promised.is_some() || last_promise.is_some_and(|last| last >= slot);
            let late = !waits && times.back_after + own.minutes + detour / 60.0 > shift.until + CAR;
            if !late && leaves + there / 60.0 <= until + CAR {
                out.push((detour, crew, slot));
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use crate::job::Unwatched;
    use crate::survey::PremiseId;
    use crate::walks::made_up::{planned, town, wish};
    use crate::walks::{Because, Candidate, StreetNetwork, Walking};
    use std::collections::BTreeSet;
    use std::sync::Arc;

    /// What is kept at best, by looking at every set of doors for every crew: the earliest end of a walk through each set with waiting for
    /// promised hours, by dynamic programming over its subsets, then every way to share the doors out. Gives the musts walked to, the
    /// promises kept, and the worth.
    fn best(seconds: &[Vec<f64>], doors: &[Candidate], crews: usize, shift: f64) -> (usize, usize, f64) {
        let (n, all) = (doors.len(), 1usize << doors.len());
        let at = |door: usize, come: f64| {
            let (from, until) = doors[door].promised.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
            let come = come.max(from);
            if come <= until { come + doors[door].minutes } else { f64::INFINITY }
        };
        let mut done = vec![vec![f64::INFINITY; n]; all];
        (0..n).for_each(|k| done[1 << k][k] = at(k, seconds[0][k + 1] / 60.0));
        for set in 1..all {
            for last in (0..n).filter(|k| set >> k & 1 == 1) {
                for next in (0..n).filter(|k| set >> k & 1 == 0) {
                    let there = at(next, done[set][last] + seconds[last + 1][next + 1] / 60.0);
                    let entry = &mut done[set | 1 << next][next];
                    *entry = entry.min(there);
                }
            }
        }
        let fits = |set: usize| set == 0 || (0..n).any(|k| done[set][k] + seconds[k + 1][0] / 60.0 <= shift + 1e-9);
        let mut reached: BTreeSet<usize> = BTreeSet::from([0]);
        for _ in 0..crews {
            let more: Vec<usize> = (0..all).filter(|&set| fits(set)).collect();
            reached =
                reached.iter().flat_map(|&held| more.iter().filter(move |&&set| set & held == 0).map(move |set| set | held)).collect();
        }
        let value = |set: &usize| {
            let walked: Vec<&Candidate> = (0..n).filter(|k| set >> k & 1 == 1).map(|k| &doors[k]).collect();
            worth_of(&walked)
        };
        reached.iter().map(value).max_by(order).expect("nobody goes anywhere")
    }

    fn worth_of(walked: &[&Candidate]) -> (usize, usize, f64) {
        let musts = walked.iter().filter(|c| c.must).count();
        let kept = walked.iter().filter(|c| c.promised.is_some()).count();
        (musts, kept, walked.iter().map(|c| c.worth).sum())
    }

    fn order(a: &(usize, usize, f64), b: &(usize, usize, f64)) -> std::cmp::Ordering {
        (a.0, a.1).cmp(&(b.0, b.1)).then(a.2.total_cmp(&b.2))
    }

    /// Eight doors, three to five of them promised about the same hour, some of all doors musts: as many musts and promises as the twin, and
    /// as much worth. The search gives no proof, so it may miss the best once in twenty.
    #[test]
    fn as_many_promises_are_kept_as_the_exhaustive_twin_keeps() {
        let mut survey = town(3);
        survey.premises.block = Arc::new(vec![None; survey.premises.len()]);
        let network = StreetNetwork::new(&survey.streets, &Walking { driving: None, ..Walking::default() });
        let (mut missed, mut crowded) = (Vec::new(), 0);
        for case in 0..60u32 {
            let lots: BTreeSet<u32> = (0..8).map(|k| (case * 29 + k * 37) % 90).collect();
            let promised =
                |k: usize| (k < 3 + case as usize % 3).then(|| (30.0 + f64::from(case % 5) * 4.0, 50.0 + f64::from(case % 7) * 6.0));
            let list: Vec<Candidate> = lots
                .iter()
                .enumerate()
                .map(|(k, &p)| Candidate {
                    worth: f64::from(p * 13 % 9 + 1) / 10.0,
                    promised: promised(k),
                    must: (p + case) % 4 == 0,
                    ..Candidate::by_hand(PremiseId(p), 8.0 + f64::from(p * 7 % 9), "not visited")
                })
                .collect();
            let wish = wish(1 + case as usize % 2, 60.0 + f64::from(case % 20));
            let spots = std::iter::once(network.spot_of_place(wish.meeting_point))
                .chain(list.iter().map(|c| network.spot_of_premise(&survey, c.premise)))
                .map(|s| s.expect("a street is near"));
            let seconds = network.travel(&spots.collect::<Vec<_>>(), &Unwatched).expect("nobody stops it");
            let best = best(&seconds, &list, wish.crews.len(), wish.shift_minutes);
            let day = planned(&survey, &network, &list, &wish, 2000).expect("it can be planned").day;
            assert!(day.promises_broken().next().is_none() && day.walks.iter().all(|w| w.back_after <= wish.shift_minutes + 1e-6));
            let doors: BTreeSet<PremiseId> = day.walks.iter().flat_map(|w| &w.doors).map(|d| d.premise).collect();
            let walked: Vec<&Candidate> = list.iter().filter(|c| doors.contains(&c.premise)).collect();
            let found = worth_of(&walked);
            assert!(order(&found, &best).is_le() || (found.2 - best.2).abs() < 1e-9, "case {case}: {found:?} beats {best:?}");
            crowded += usize::from(best.1 < list.iter().filter(|c| c.promised.is_some()).count());
            if (found.0, found.1) != (best.0, best.1) || (found.2 - best.2).abs() > 1e-9 {
                missed.push((case, found, best));
            }
        }
        assert!(crowded > 10, "{crowded} of the hours are full");
        assert!(missed.len() <= 3, "{missed:?}");
    }

    /// One crew whose hour is full of musts that nobody was promised: they are walked to before and after it.
    #[test]
    fn musts_without_a_promise_make_room_at_the_wanted_hour() {
        let survey = town(3);
        let network = StreetNetwork::new(&survey.streets, &Walking::default());
        let must = |p: u32| Candidate { must: true, ..Candidate::by_hand(PremiseId(p), 10.0, "not visited") };
        let mut doors: Vec<Candidate> = (20..32).map(must).collect();
        doors.extend((0..4).map(|p| Candidate { promised: Some((60.0, 105.0)), ..must(p) }));
        let day = planned(&survey, &network, &doors, &wish(1, 240.0), 600).expect("it can be planned").day;
        let kept: Vec<f64> = day.walks[0].doors.iter().filter(|d| d.promised.is_some()).map(|d| d.arrive).collect();
        assert_eq!((kept.len(), day.left_out.len()), (4, 0), "{kept:?} {:?}", day.left_out);
        // An hour before the crew leaves is nobody's fault.
        doors[15].promised = Some((-90.0, -30.0));
        let day = planned(&survey, &network, &doors, &wish(1, 240.0), 600).expect("it can be planned").day;
        assert_eq!(day.left_out.iter().map(|l| l.because).collect::<Vec<_>>(), [Because::OutOfHours]);
    }
}
