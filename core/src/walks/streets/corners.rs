//! The corners of junctions as a graph: along a side of a stretch, and across a stretch at its junction.

use super::cuts::Drawn;
use super::kerbs::Kerbs;
use super::{Walking, of};
use crate::place::Local;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// A way from one corner to another.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    pub to: u32,
    pub seconds: f64,
    /// The stretch that is walked, counted from 1, negative when walked from its last place to its first; 0: across.
    pub walked: i32,
}

/// A graph of corners in compact rows.
///
/// A stretch has an end at each of its two junctions: end `2 i` is the first place of stretch `i`, end `2 i + 1` its last. Round
/// a junction the ends stand in order of their direction, and between every two of them lies a corner; the corner to the left of
/// an end, seen from the junction, has the end's number.
#[derive(Clone, Debug, Default)]
pub(super) struct Corners {
    first: Vec<u32>,
    ways: Vec<Way>,
    /// The corner to the right of each end.
    right_of: Vec<u32>,
    /// Where people walk, and what barriers close.
    pub kerbs: Kerbs,
}

impl Corners {
    /// The corners of all junctions, and the ways between them.
    pub(super) fn new(drawn: &Drawn, walking: &Walking) -> Self {
        let right_of = right_corners(drawn);
        let kerbs = Kerbs::new(drawn, &right_of, &|stretch, left| side(&right_of, stretch, left), &walking.barriers);
        let mut list: Vec<(u32, Way)> = Vec::with_capacity(drawn.stretches.len() * 8);
        let mut both = |a: u32, b: u32, seconds: f64, walked: i32| {
            list.push((a, Way { to: b, seconds, walked }));
            list.push((b, Way { to: a, seconds, walked: -walked }));
        };
        for (i, stretch) in drawn.stretches.iter().enumerate() {
            let seconds = stretch.length / walking.speed;
            let ends = [2 * i as u32, 2 * i as u32 + 1];
            for left in [true, false].into_iter().filter(|&left| kerbs.open(i, left, f64::NEG_INFINITY, f64::INFINITY)) {
                let [first, last] = side(&right_of, i, left);
                both(first, last, seconds, i as i32 + 1);
            }
            for end in ends {
                let other = right_of[end as usize];
                if let Some(seconds) = walking.cross(stretch.class).filter(|_| other != end && kerbs.crossed_at(end)) {
                    both(end, other, seconds, 0);
                }
            }
        }
        Self::in_rows(2 * drawn.stretches.len(), list, right_of, kerbs)
    }

    fn in_rows(corners: usize, mut list: Vec<(u32, Way)>, right_of: Vec<u32>, kerbs: Kerbs) -> Self {
        list.sort_by_key(|(from, _)| *from);
        let mut first = vec![0u32; corners + 1];
        list.iter().for_each(|(from, _)| first[*from as usize + 1] += 1);
        (0..corners).for_each(|i| first[i + 1] += first[i]);
        Self { first, ways: list.into_iter().map(|(_, way)| way).collect(), right_of, kerbs }
    }

    /// How many corners there are.
    pub(super) fn len(&self) -> usize {
        self.right_of.len()
    }

    /// The corners at the first and the last place of a stretch, on its left or its right side.
    pub(super) fn of_side(&self, stretch: usize, left: bool) -> [u32; 2] {
        side(&self.right_of, stretch, left)
    }

    /// The ways out of a corner.
    pub(super) fn out_of(&self, corner: u32) -> &[Way] {
        &self.ways[self.first[corner as usize] as usize..self.first[corner as usize + 1] as usize]
    }

    /// Seconds from some corners, each with a start in seconds, to all corners, until every wanted corner is settled.
    /// `wanted` says how many of the wanted are the corner; `through` hears by which way a corner is reached.
    ///
    /// # Source
    /// E. W. Dijkstra, A note on two problems in connexion with graphs, Numer. Math. 1 (1959).
    pub(super) fn spread(&self, from: &[(u32, f64)], wanted: &Wanted, seconds: &mut Vec<f64>, mut through: impl FnMut(u32, u32)) {
        seconds.clear();
        seconds.resize(self.len(), f64::INFINITY);
        let mut heap = BinaryHeap::new();
        for &(corner, start) in from {
            if start < seconds[corner as usize] {
                seconds[corner as usize] = start;
                heap.push(Reached { seconds: start, corner });
            }
        }
        let mut left = wanted.count;
        while let Some(Reached { seconds: at, corner }) = heap.pop() {
            if at > seconds[corner as usize] {
                continue;
            }
            left -= usize::from(wanted.is[corner as usize]);
            if left == 0 {
                break;
            }
            for (k, way) in self.out_of(corner).iter().enumerate() {
                let next = at + way.seconds;
                if next < seconds[way.to as usize] {
                    seconds[way.to as usize] = next;
                    through(way.to, self.first[corner as usize] + k as u32);
                    heap.push(Reached { seconds: next, corner: way.to });
                }
            }
        }
    }

    /// A way by its number, and the corner that it leads out of.
    pub(super) fn way(&self, number: u32) -> (u32, &Way) {
        let from = self.first.partition_point(|&first| first <= number) - 1;
        (from as u32, &self.ways[number as usize])
    }
}

/// Corners whose seconds are wanted.
pub(super) struct Wanted {
    is: Vec<bool>,
    count: usize,
}

impl Wanted {
    pub(super) fn new(corners: usize, wanted: impl Iterator<Item = u32>) -> Self {
        let mut is = vec![false; corners];
        wanted.for_each(|c| is[c as usize] = true);
        Self { count: is.iter().filter(|w| **w).count(), is }
    }
}

/// The corner to the right of each end.
fn right_corners(drawn: &Drawn) -> Vec<u32> {
    let mut round: Vec<Vec<u32>> = vec![Vec::new(); drawn.nodes.len()];
    for (i, stretch) in drawn.stretches.iter().enumerate() {
        round[stretch.nodes[0] as usize].push(2 * i as u32);
        round[stretch.nodes[1] as usize].push(2 * i as u32 + 1);
    }
    let mut right_of = vec![0; 2 * drawn.stretches.len()];
    for ends in &mut round {
        let angle = |end: u32| direction(of(&drawn.places, &drawn.stretches[end as usize / 2]), end % 2 == 1);
        ends.sort_by(|&a, &b| angle(a).total_cmp(&angle(b)).then(a.cmp(&b)));
        for (k, &end) in ends.iter().enumerate() {
            right_of[end as usize] = ends[(k + ends.len() - 1) % ends.len()];
        }
    }
    right_of
}

/// The direction in which a stretch leaves its junction.
fn direction(places: &[Local], from_last: bool) -> f64 {
    let n = places.len();
    let (a, b) = if from_last { (places[n - 1], places[n - 2]) } else { (places[0], places[1]) };
    (b.y - a.y).atan2(b.x - a.x)
}

/// The corners of a side of a stretch, at its first place and its last.
fn side(right_of: &[u32], stretch: usize, left: bool) -> [u32; 2] {
    let (first, last) = (2 * stretch as u32, 2 * stretch as u32 + 1);
    // Seen from its last place the stretch's left side is to the right.
    if left { [first, right_of[last as usize]] } else { [right_of[first as usize], last] }
}

/// A corner still to be looked at; the one reached first comes out of the heap first.
struct Reached {
    seconds: f64,
    corner: u32,
}

impl PartialEq for Reached {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Reached {}

impl PartialOrd for Reached {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Reached {
    fn cmp(&self, other: &Self) -> Ordering {
        other.seconds.total_cmp(&self.seconds).then_with(|| other.corner.cmp(&self.corner))
    }
}
