//! Whole blocks set aside in turn, so that a model is judged on ground it has not seen.

use super::looks::Look;
use super::near::Near;
use super::yards::Yards;
use crate::place::Local;
use crate::survey::BlockId;
use std::collections::BTreeMap;

/// How many parts the blocks are split into.
pub(super) const FOLDS: usize = 5;

/// Yards nearer than this to a yard set aside are not learnt from either, in metres: about two lots.
///
/// # Source
/// Common practice, no source: far enough that a neighbour over the fence or the street gives nothing away.
pub(super) const BUFFER: f64 = 60.0;

/// Which part each inspected yard is set aside in, and in which parts it may not be learnt from.
#[derive(Clone, Debug)]
pub(super) struct Folds {
    of: Vec<u8>,
    hidden: Vec<u8>,
    /// The same for the looks from outside.
    hidden_looks: Vec<u8>,
    groups: Vec<u32>,
}

impl Folds {
    /// Splits the inspected yards by whole blocks; yards without a block are taken together by squares of 200 m. The blocks
    /// are dealt out in rising order of where they lie, so each part is spread over the district and as large as the others.
    pub(super) fn of(yards: &Yards, near: &Near) -> Self {
        let grouping = Grouping::of(yards);
        let groups = &grouping.groups;
        let fold: Vec<u8> = groups.iter().map(|g| (*g as usize % FOLDS) as u8).collect();
        let mut hidden: Vec<u8> = fold.iter().map(|f| 1 << f).collect();
        for (i, h) in hidden.iter_mut().enumerate() {
            near.each(yards.at[i], BUFFER, |j, _| *h |= 1 << fold[j]);
        }
        let look = |l: &Look| {
            let own = grouping.numbers.get(&group(l.block, l.at)).map_or(0, |g| 1 << (*g as usize % FOLDS));
            let mut hidden = own;
            near.each(l.at, BUFFER, |j, _| hidden |= 1 << fold[j]);
            hidden
        };
        let hidden_looks = yards.looks.all.iter().map(look).collect();
        Self { of: fold, hidden, hidden_looks, groups: grouping.groups }
    }

    /// Every part.
    pub(super) fn each(&self) -> impl Iterator<Item = u8> + use<> {
        0..FOLDS as u8
    }

    /// What is set aside together with each yard, numbered in the order in which the first yard of each comes along the curve:
    /// its block, or what stands for it.
    pub(super) fn groups(&self) -> &[u32] {
        &self.groups
    }

    /// The part in which a yard is set aside.
    pub(super) fn fold(&self, i: usize) -> u8 {
        self.of[i]
    }

    /// Whether a yard may be learnt from while a part is set aside.
    pub(super) fn learnt(&self, i: usize, fold: u8) -> bool {
        self.hidden[i] & (1 << fold) == 0
    }

    /// Whether a look from outside may be learnt from while a part is set aside.
    pub(super) fn look_learnt(&self, k: usize, fold: u8) -> bool {
        self.hidden_looks[k] & (1 << fold) == 0
    }
}

/// What is set aside together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Group {
    Block(BlockId),
    Square(i64, i64),
}

/// Yards taken together.
#[derive(Clone, Debug)]
pub(super) struct Grouping {
    numbers: BTreeMap<Group, u32>,
    /// The number of each yard's group.
    pub groups: Vec<u32>,
}

impl Grouping {
    /// Groups yards by block, or by squares of 200 m where they have none.
    pub(super) fn of(yards: &Yards) -> Self {
        let mut numbers = BTreeMap::new();
        let groups = (0..yards.seen.len())
            .map(|i| {
                let next = numbers.len() as u32;
                *numbers.entry(group(yards.block[i], yards.at[i])).or_insert(next)
            })
            .collect();
        Self { numbers, groups }
    }

    /// The groups of other yards; `None` where none of these yards lies in it.
    pub(super) fn matching(&self, yards: &Yards) -> Vec<Option<u32>> {
        (0..yards.seen.len()).map(|i| self.numbers.get(&group(yards.block[i], yards.at[i])).copied()).collect()
    }
}

fn group(block: Option<BlockId>, p: Local) -> Group {
    block.map_or_else(|| Group::Square((p.x / 200.0).floor() as i64, (p.y / 200.0).floor() as i64), Group::Block)
}

#[cfg(test)]
mod tests {
    use super::super::made_up::district;
    use super::*;

    /// Against every pair of yards: a block is never split, and nothing within the buffer is learnt from.
    #[test]
    fn blocks_stay_whole_and_neighbours_are_hidden() {
        let (survey, standings) = district(30, 0.3, 0.1, 1);
        let yards = Yards::of(&survey, &standings);
        let folds = Folds::of(&yards, &Near::new(&yards.at));
        let mut parts = [0; FOLDS];
        for i in 0..yards.seen.len() {
            parts[usize::from(folds.fold(i))] += 1;
            for j in 0..yards.seen.len() {
                let close = yards.at[i].distance(yards.at[j]) <= BUFFER;
                assert!(!close || !folds.learnt(j, folds.fold(i)));
                assert!(yards.block[i] != yards.block[j] || folds.fold(i) == folds.fold(j));
            }
        }
        assert!(parts.iter().all(|&n| n > yards.seen.len() / 10), "{parts:?}");
    }
}
