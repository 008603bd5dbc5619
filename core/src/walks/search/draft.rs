//! A plan while it is being searched: all walks, who is in which, and a way back.

use super::ground::{Ground, Node};
use super::walk::{Slot, Walk};
use crate::walks::Standing;

/// Marks a stop that is in no walk.
pub(super) const OUT: u32 = u32::MAX;

/// All walks, with what is needed to take a round of changes back.
#[derive(Clone, Debug)]
pub(super) struct Draft {
    pub(super) walks: Vec<Walk>,
    /// The walk of each stop, or [`OUT`].
    pub(super) walk_of: Vec<u32>,
    /// Must stops that are in no walk.
    pub(super) missing: Vec<Node>,
    kept: Vec<(usize, Walk)>,
    kept_missing: Vec<Node>,
    spare: Vec<Walk>,
}

impl Draft {
    /// No stop in any walk.
    pub(super) fn empty(ground: &Ground) -> Self {
        let missing: Vec<Node> = (0..ground.count() as Node).filter(|n| ground.stop(*n).must).collect();
        Self {
            walks: ground.rooms.iter().map(|&room| Walk::empty(ground, room)).collect(),
            walk_of: vec![OUT; ground.count()],
            kept: Vec::new(),
            kept_missing: missing.clone(),
            spare: Vec::new(),
            missing,
        }
    }

    /// Known walks, each a list of places, the longest laid for the crew that is out longest; stops that are none of the task's, or that do not
    /// fit, are left away.
    pub(super) fn of_walks(ground: &Ground, known: &[Vec<usize>]) -> Self {
        let node = |place: &usize| ground.stops.binary_search_by_key(place, |s| s.at).ok().map(|n| n as Node);
        let mut laid: Vec<Walk> = Vec::with_capacity(known.len());
        for places in known {
            let mut walk = Walk::empty(ground, f64::INFINITY);
            let end = walk.nodes.len() - 1;
            walk.nodes.splice(end..end, places.iter().filter_map(node));
            walk.recount(ground);
            laid.push(walk);
        }
        laid.sort_by(|a, b| b.time.total_cmp(&a.time));
        let mut draft = Self::empty(ground);
        for (i, mut walk) in laid.into_iter().enumerate().take(ground.rooms.len()) {
            while !walk.is_empty() && (walk.time > ground.rooms[i] || walk.load > ground.carry) {
                walk.nodes.remove(walk.nodes.len() - 2);
                walk.recount(ground);
            }
            draft.lay(ground, i, walk.nodes);
        }
        draft.missing.retain(|n| draft.walk_of[*n as usize] == OUT);
        draft
    }

    /// The walk that a stop is in.
    pub(super) fn walk_index(&self, node: Node) -> Option<usize> {
        let walk = self.walk_of[node as usize];
        (walk != OUT).then_some(walk as usize)
    }

    /// What it is worth.
    pub(super) fn standing(&self) -> Standing {
        let mut standing = Standing { missing: self.missing.len(), ..Standing::default() };
        for walk in &self.walks {
            standing.prize += walk.prize;
            standing.travel += walk.travel;
        }
        standing
    }

    /// Remembers a walk as it is, once in a round of changes.
    pub(super) fn keep(&mut self, walk: usize) {
        if self.kept.iter().all(|(kept, _)| *kept != walk) {
            let mut copy = self.spare.pop().unwrap_or_default();
            copy.clone_from(&self.walks[walk]);
            self.kept.push((walk, copy));
        }
    }

    /// Takes the stops at some indices of a walk's nodes out.
    pub(super) fn take_out(&mut self, ground: &Ground, walk: usize, indices: std::ops::Range<usize>, taken: &mut Vec<Node>) {
        self.keep(walk);
        for node in self.walks[walk].nodes.drain(indices) {
            self.walk_of[node as usize] = OUT;
            if ground.stop(node).must {
                self.missing.push(node);
            }
            taken.push(node);
        }
    }

    /// Puts a stop into a walk.
    pub(super) fn put_in(&mut self, ground: &Ground, walk: usize, node: Node, slot: Slot) {
        self.keep(walk);
        self.walks[walk].insert(ground, node, slot);
        self.walk_of[node as usize] = walk as u32;
        if ground.stop(node).must {
            self.missing.retain(|n| *n != node);
        }
    }

    /// Gives a walk other nodes; together with the other walks laid in the same move it has the same stops as before.
    pub(super) fn lay(&mut self, ground: &Ground, walk: usize, nodes: Vec<Node>) {
        self.keep(walk);
        self.walks[walk].nodes = nodes;
        self.walks[walk].recount(ground);
        for node in self.walks[walk].stops() {
            self.walk_of[*node as usize] = walk as u32;
        }
    }

    /// Counts the changed walks afresh.
    pub(super) fn recount(&mut self, ground: &Ground) {
        for (walk, _) in &self.kept {
            self.walks[*walk].recount(ground);
        }
    }

    /// Ends the round: its changes stay.
    pub(super) fn accept(&mut self) {
        self.kept_missing.clone_from(&self.missing);
        self.spare.extend(self.kept.drain(..).map(|(_, walk)| walk));
    }

    /// Ends the round: everything is as it was before it.
    pub(super) fn take_back(&mut self) {
        for (walk, _) in &self.kept {
            for node in self.walks[*walk].stops() {
                self.walk_of[*node as usize] = OUT;
            }
        }
        for (walk, mut before) in self.kept.drain(..) {
            for node in before.stops() {
                self.walk_of[*node as usize] = walk as u32;
            }
            std::mem::swap(&mut self.walks[walk], &mut before);
            self.spare.push(before);
        }
        self.missing.clone_from(&self.kept_missing);
    }
}
