//! One walk while it is being searched: its nodes, its legs and its sums.

use super::ground::{Ground, Node};

/// A walk from start to end with all that is needed to price a change.
#[derive(Clone, Debug, Default)]
pub(super) struct Walk {
    /// Start, stops, end.
    pub(super) nodes: Vec<Node>,
    /// Seconds into each node from the one before it; the first is 0. A walk without stops has no travel.
    legs: Vec<f64>,
    /// Travel in seconds.
    pub(super) travel: f64,
    /// Travel and doors in seconds.
    pub(super) time: f64,
    /// Units carried.
    pub(super) load: f64,
    /// Prize of the stops.
    pub(super) prize: f64,
    /// How long it may take, in seconds.
    pub(super) room: f64,
}

/// A place for a stop in a walk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Slot {
    /// Index of the node that the stop would stand before.
    pub(super) before: usize,
    /// Seconds of travel more.
    pub(super) detour: f64,
}

impl Walk {
    /// A walk without stops that may take so many seconds.
    pub(super) fn empty(ground: &Ground, room: f64) -> Self {
        let mut walk = Self { nodes: vec![ground.start(), ground.end()], room, ..Self::default() };
        walk.recount(ground);
        walk
    }

    /// The stops in order.
    pub(super) fn stops(&self) -> &[Node] {
        &self.nodes[1..self.nodes.len() - 1]
    }

    /// Whether no stop is in it.
    pub(super) fn is_empty(&self) -> bool {
        self.nodes.len() == 2
    }

    /// Sums everything afresh, so that rounding never piles up.
    pub(super) fn recount(&mut self, ground: &Ground) {
        self.legs.clear();
        self.legs.push(0.0);
        if self.is_empty() {
            self.legs.push(0.0);
        } else {
            self.legs.extend(self.nodes.windows(2).map(|pair| ground.travel(pair[0], pair[1])));
        }
        self.travel = self.legs.iter().sum();
        let stops = || self.nodes[1..self.nodes.len() - 1].iter().map(|n| ground.stop(*n));
        self.load = stops().map(|s| s.demand).sum();
        self.prize = stops().map(|s| s.prize).sum();
        self.time = self.travel + stops().map(|s| s.service).sum::<f64>();
    }

    /// Puts a stop in.
    pub(super) fn insert(&mut self, ground: &Ground, node: Node, slot: Slot) {
        let stop = ground.stop(node);
        let (before, after) = (self.nodes[slot.before - 1], self.nodes[slot.before]);
        self.nodes.insert(slot.before, node);
        self.legs[slot.before] = ground.travel(node, after);
        self.legs.insert(slot.before, ground.travel(before, node));
        self.travel += slot.detour;
        self.time += slot.detour + stop.service;
        self.load += stop.demand;
        self.prize += stop.prize;
    }

    /// The cheapest slot for a stop, `blink` passing over some; none when carry or shift would be passed.
    pub(super) fn cheapest_slot(&self, ground: &Ground, node: Node, most: f64, blink: &mut impl FnMut() -> bool) -> Option<Slot> {
        let stop = ground.stop(node);
        if self.load + stop.demand > ground.carry {
            return None;
        }
        let limit = most.min(self.room - self.time - stop.service);
        let (out, into) = (ground.out_of(node), ground.into(node));
        let mut best = Slot { before: 0, detour: limit };
        let mut previous = into[self.nodes[0] as usize];
        for (i, (next, leg)) in self.nodes.iter().zip(&self.legs).enumerate().skip(1) {
            let detour = previous + out[*next as usize] - leg;
            previous = into[*next as usize];
            if detour < best.detour && !blink() {
                best = Slot { before: i, detour };
            }
        }
        (best.before > 0).then_some(best)
    }
}
