//! Walks as territories: what their shape costs, kept up to date while doors change crews.

use super::chosen::Chosen;
use super::search_day::Found;
use super::tidy::Change;
use super::{Wish, timeline};
use crate::survey::Survey;
use crate::walks::search::random::Chance;
use std::collections::BTreeMap;

/// Marks a door that is in no walk.
pub(super) const OUT: u32 = u32::MAX;

/// Near doors that each door is tied to.
const TIES: usize = 8;
/// What it counts, in seconds, when two near doors are with different crews; a block with a crew more; and each second by which the
/// longest walk is longer than the shortest. Our own choice, beside the seconds that are walked.
const APART: f64 = 12.0;
const SHARED_BLOCK: f64 = 90.0;
const UNEVEN: f64 = 0.1;

/// The walks of a day with the price of their shape: seconds walked, near doors with different crews, blocks shared between crews,
/// unequal shifts, less what the doors are worth at the day's own rate.
pub(super) struct Territory {
    seconds: Vec<f64>,
    side: usize,
    service: Vec<f64>,
    worth: Vec<f64>,
    must: Vec<bool>,
    block: Vec<Option<usize>>,
    near: Vec<Vec<usize>>,
    /// Doors that take part: walked to, or left out and of a kind that may come in.
    playing: Vec<usize>,
    room: f64,
    /// Seconds that a door's worth stands for.
    rate: f64,
    least_worth: f64,
    walks: Vec<Vec<usize>>,
    walk_of: Vec<u32>,
    next_of: Vec<u32>,
    time: Vec<f64>,
    crews: usize,
    /// Doors of each block with each crew, row by row.
    in_block: Vec<u32>,
    worth_now: f64,
    cost: f64,
}

impl Territory {
    /// The walks that were found. No move makes the day worth less than a share of what it is worth now, or a walk longer than the
    /// shift; when all doors fit, no walk becomes longer than the longest is now.
    pub(super) fn new(survey: &Survey, chosen: &Chosen<'_>, wish: &Wish, found: &Found, keeps: f64) -> Self {
        let doors = chosen.len();
        let side = doors + 1;
        let seconds: Vec<f64> = (0..side * side).map(|k| chosen.reckoned(k / side, k % side)).collect();
        let mut playing: Vec<usize> = found.walks.iter().flatten().chain(&found.left_out).copied().collect();
        playing.sort_unstable();
        let of = |number: &dyn Fn(usize) -> f64| (0..doors).map(number).collect::<Vec<f64>>();
        let crews = found.walks.len();
        let (block, blocks) = blocks(survey, chosen);
        let mut out = Self {
            near: near(&seconds, side, &playing),
            seconds,
            side,
            service: of(&|k| chosen.candidate(k).minutes * 60.0),
            worth: of(&|k| chosen.candidate(k).worth),
            must: (0..doors).map(|k| chosen.candidate(k).must).collect(),
            block,
            playing,
            room: 0.0,
            rate: 0.0,
            least_worth: 0.0,
            walks: vec![Vec::new(); crews],
            walk_of: vec![OUT; doors],
            next_of: vec![OUT; doors],
            time: vec![0.0; crews],
            crews,
            in_block: vec![0; blocks * crews],
            worth_now: 0.0,
            cost: 0.0,
        };
        out.begin(found, timeline::walking_minutes(wish) * 60.0, keeps);
        out
    }

    fn begin(&mut self, found: &Found, shift: f64, keeps: f64) {
        for (crew, walk) in found.walks.iter().enumerate() {
            for &door in walk {
                (self.walk_of[door], self.next_of[door]) = (crew as u32, crew as u32);
                self.worth_now += self.worth[door];
                if let Some(block) = self.block[door] {
                    self.in_block[block * self.crews + crew] += 1;
                }
            }
            self.time[crew] = self.walk_time(walk);
            self.walks[crew].clone_from(walk);
        }
        let longest = self.time.iter().copied().fold(0.0, f64::max);
        self.room = if found.left_out.is_empty() { longest } else { shift.max(longest) };
        self.rate = self.time.iter().sum::<f64>() / self.worth_now.max(1e-9);
        self.least_worth = keeps * self.worth_now;
        self.cost = self.whole_cost();
    }

    /// What the shape costs now, counted from nothing.
    fn whole_cost(&self) -> f64 {
        let walked = self.playing.iter().filter(|d| self.walk_of[**d] != OUT);
        let apart = |d: &usize| self.near[*d].iter().filter(|n| self.apart(&self.walk_of, *d, **n)).count();
        // Each pair is seen from both ends.
        let pairs: usize = walked.map(apart).sum();
        let shared: usize = self.in_block.chunks(self.crews.max(1)).map(|b| b.iter().filter(|n| **n > 0).count().saturating_sub(1)).sum();
        let time: f64 = self.time.iter().sum();
        time + APART * pairs as f64 / 2.0 + SHARED_BLOCK * shared as f64 + UNEVEN * spread(&self.time) - self.rate * self.worth_now
    }

    fn apart(&self, of: &[u32], a: usize, b: usize) -> bool {
        of[a] != OUT && of[b] != OUT && of[a] != of[b]
    }

    fn walk_time(&self, walk: &[usize]) -> f64 {
        let (mut at, mut sum) = (0, 0.0);
        for &door in walk {
            sum += self.seconds[at * self.side + door + 1] + self.service[door];
            at = door + 1;
        }
        sum + self.seconds[at * self.side]
    }

    /// Makes a change when it keeps the limits and costs at most so much more; says whether it was made.
    pub(super) fn attempt(&mut self, change: &Change, most: f64) -> bool {
        let mut time = self.time.clone();
        for (walk, doors) in change {
            time[*walk] = self.walk_time(doors);
            if time[*walk] > self.room + 1e-6 && time[*walk] > self.time[*walk] {
                return false;
            }
        }
        let changed = self.mark(change);
        let worth = self.worth_now + changed.iter().map(|&d| self.worth[d] * (self.is_next(d) - self.is_now(d))).sum::<f64>();
        let kept = worth >= self.least_worth.min(self.worth_now) - 1e-9 && changed.iter().all(|&d| !self.must[d] || self.next_of[d] != OUT);
        let more = if kept { self.price(&changed, &time, worth) } else { f64::INFINITY };
        if !kept || more > most {
            self.count_blocks(&changed, true);
            changed.iter().for_each(|&d| self.next_of[d] = self.walk_of[d]);
            return false;
        }
        for (walk, doors) in change {
            self.walks[*walk].clone_from(doors);
        }
        changed.iter().for_each(|&d| self.walk_of[d] = self.next_of[d]);
        (self.time, self.worth_now, self.cost) = (time, worth, self.cost + more);
        true
    }

    /// Notes where every door of the changed walks would be; gives those that change, the blocks counted anew with them.
    fn mark(&mut self, change: &Change) -> Vec<usize> {
        let before: Vec<usize> = change.iter().flat_map(|(walk, _)| self.walks[*walk].iter().copied()).collect();
        before.iter().for_each(|&d| self.next_of[d] = OUT);
        let mut all = before;
        for (walk, doors) in change {
            for &door in doors {
                self.next_of[door] = *walk as u32;
                if self.walk_of[door] == OUT {
                    all.push(door);
                }
            }
        }
        all.retain(|&d| self.next_of[d] != self.walk_of[d]);
        self.count_blocks(&all, false);
        all
    }

    fn is_now(&self, door: usize) -> f64 {
        f64::from(u8::from(self.walk_of[door] != OUT))
    }

    fn is_next(&self, door: usize) -> f64 {
        f64::from(u8::from(self.next_of[door] != OUT))
    }

    /// Moves doors from block to block in the counts, or back.
    fn count_blocks(&mut self, changed: &[usize], back: bool) {
        for &door in changed {
            let Some(block) = self.block[door] else { continue };
            let (from, to) = if back { (self.next_of[door], self.walk_of[door]) } else { (self.walk_of[door], self.next_of[door]) };
            if from != OUT {
                self.in_block[block * self.crews + from as usize] -= 1;
            }
            if to != OUT {
                self.in_block[block * self.crews + to as usize] += 1;
            }
        }
    }

    /// What the marked change costs more.
    fn price(&self, changed: &[usize], time: &[f64], worth: f64) -> f64 {
        let mut pairs = 0.0;
        for &door in changed {
            for &near in &self.near[door] {
                let both = self.next_of[near] != self.walk_of[near];
                let more = f64::from(i8::from(self.apart(&self.next_of, door, near)) - i8::from(self.apart(&self.walk_of, door, near)));
                pairs += if both { more / 2.0 } else { more };
            }
        }
        let more_time = time.iter().sum::<f64>() - self.time.iter().sum::<f64>();
        let uneven = spread(time) - spread(&self.time);
        more_time + APART * pairs + SHARED_BLOCK * self.more_shared(changed) + UNEVEN * uneven - self.rate * (worth - self.worth_now)
    }

    /// Crews more in blocks that have one already; the counts are those after the change.
    fn more_shared(&self, changed: &[usize]) -> f64 {
        let mut blocks: Vec<usize> = changed.iter().filter_map(|&d| self.block[d]).collect();
        blocks.sort_unstable();
        blocks.dedup();
        let more = blocks.into_iter().map(|block| {
            let after = &self.in_block[block * self.crews..][..self.crews];
            let mut before: Vec<u32> = after.to_vec();
            for &door in changed.iter().filter(|d| self.block[**d] == Some(block)) {
                if self.next_of[door] != OUT {
                    before[self.next_of[door] as usize] -= 1;
                }
                if self.walk_of[door] != OUT {
                    before[self.walk_of[door] as usize] += 1;
                }
            }
            let crews = |counts: &[u32]| counts.iter().filter(|n| **n > 0).count().saturating_sub(1) as f64;
            crews(after) - crews(&before)
        });
        more.sum()
    }

    /// The walks as they are.
    pub(super) fn walks(&self) -> &[Vec<usize>] {
        &self.walks
    }

    /// What the shape costs.
    pub(super) fn cost(&self) -> f64 {
        self.cost
    }

    /// How many doors take part.
    pub(super) fn doors(&self) -> usize {
        self.playing.len()
    }

    /// The doors that take part.
    pub(super) fn in_play(&self) -> impl Iterator<Item = usize> {
        self.playing.iter().copied()
    }

    /// A door drawn by chance.
    pub(super) fn any_door(&self, chance: &mut Chance) -> usize {
        self.playing[chance.below(self.playing.len())]
    }

    /// The doors that a door is tied to, nearest first.
    pub(super) fn near(&self, door: usize) -> &[usize] {
        &self.near[door]
    }

    /// The walk that a door is in, or [`OUT`].
    pub(super) fn walk_of(&self, door: usize) -> u32 {
        self.walk_of[door]
    }
}

/// By how much the longest of the walks that have doors is longer than the shortest.
fn spread(time: &[f64]) -> f64 {
    let used = || time.iter().copied().filter(|t| *t > 0.0);
    let (least, most) = (used().fold(f64::INFINITY, f64::min), used().fold(0.0, f64::max));
    (most - least).max(0.0)
}

/// The block of each door, counted from 0 among those of the doors, and how many there are.
fn blocks(survey: &Survey, chosen: &Chosen<'_>) -> (Vec<Option<usize>>, usize) {
    let mut known = BTreeMap::new();
    let of = (0..chosen.len()).map(|k| {
        let block = survey.premises.block[chosen.candidate(k).premise.row()]?;
        let next = known.len();
        Some(*known.entry(block).or_insert(next))
    });
    let of: Vec<Option<usize>> = of.collect();
    (of, known.len())
}

/// The doors that each door is tied to: its nearest few, and those that it is one of the nearest few of; nearest first.
fn near(seconds: &[f64], side: usize, playing: &[usize]) -> Vec<Vec<usize>> {
    let way = |a: usize, b: usize| seconds[(a + 1) * side + b + 1].min(seconds[(b + 1) * side + a + 1]);
    let mut out = vec![Vec::new(); side - 1];
    for &a in playing {
        let mut others: Vec<usize> = playing.iter().copied().filter(|b| *b != a).collect();
        others.sort_by(|x, y| way(a, *x).total_cmp(&way(a, *y)).then(x.cmp(y)));
        for &b in others.iter().take(TIES) {
            out[a].push(b);
            out[b].push(a);
        }
    }
    for (a, list) in out.iter_mut().enumerate() {
        list.sort_by(|x, y| way(a, *x).total_cmp(&way(a, *y)).then(x.cmp(y)));
        list.dedup();
    }
    out
}
