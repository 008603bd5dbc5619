//! Walks laid together from pieces of walks, and what they cost, without walking through them.

use super::ground::{Ground, Node};
use super::walk::Walk;

/// Some nodes of a walk in a row, perhaps turned round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Piece {
    pub(super) walk: usize,
    /// Index of its first node in the walk.
    pub(super) from: usize,
    /// Index after its last node.
    pub(super) to: usize,
    turned: bool,
}

impl Piece {
    /// The nodes from one index up to another, in the walk's order.
    pub(super) fn along(walk: usize, from: usize, to: usize) -> Self {
        Self { walk, from, to, turned: false }
    }

    /// The same nodes the other way round.
    pub(super) fn turned(self) -> Self {
        Self { turned: !self.turned, ..self }
    }
}

/// A walk's sums up to each of its nodes.
#[derive(Clone, Debug, Default)]
pub(super) struct Sums {
    /// Seconds from the first node to each.
    forth: Vec<f64>,
    /// Seconds from each node back to the first, along the same nodes.
    back: Vec<f64>,
    /// Seconds at the doors before each node.
    service: Vec<f64>,
    /// Demand before each node.
    load: Vec<f64>,
}

impl Sums {
    /// Counts the sums of a walk's nodes.
    pub(super) fn fill(&mut self, ground: &Ground, nodes: &[Node]) {
        for list in [&mut self.forth, &mut self.back, &mut self.service, &mut self.load] {
            list.clear();
            list.push(0.0);
        }
        let (mut forth, mut back, mut service, mut load) = (0.0, 0.0, 0.0, 0.0);
        for pair in nodes.windows(2) {
            forth += ground.travel(pair[0], pair[1]);
            back += ground.travel(pair[1], pair[0]);
            self.forth.push(forth);
            self.back.push(back);
        }
        for node in nodes {
            if *node < ground.start() {
                service += ground.stop(*node).service;
                load += ground.stop(*node).demand;
            }
            self.service.push(service);
            self.load.push(load);
        }
    }
}

/// Travel of the walk that pieces make in a row, in seconds; none when it breaks carry or takes longer than there is room.
pub(super) fn price(ground: &Ground, walks: &[Walk], sums: &[Sums], pieces: &[Piece], room: f64) -> Option<f64> {
    let (mut travel, mut service, mut load, mut count) = (0.0, 0.0, 0.0, 0);
    let mut last: Option<Node> = None;
    for piece in pieces.iter().filter(|p| p.from < p.to) {
        let (nodes, sums) = (&walks[piece.walk].nodes, &sums[piece.walk]);
        let (mut first, mut final_node) = (nodes[piece.from], nodes[piece.to - 1]);
        let inner = if piece.turned { &sums.back } else { &sums.forth };
        if piece.turned {
            std::mem::swap(&mut first, &mut final_node);
        }
        travel += inner[piece.to - 1] - inner[piece.from] + last.map_or(0.0, |last| ground.travel(last, first));
        service += sums.service[piece.to] - sums.service[piece.from];
        load += sums.load[piece.to] - sums.load[piece.from];
        count += piece.to - piece.from;
        last = Some(final_node);
    }
    if count <= 2 {
        return Some(0.0);
    }
    (load <= ground.carry && travel + service <= room).then_some(travel)
}

/// The nodes that pieces make in a row.
pub(super) fn joined(walks: &[Walk], pieces: &[Piece]) -> Vec<Node> {
    let mut nodes = Vec::new();
    for piece in pieces.iter().filter(|p| p.from < p.to) {
        let part = walks[piece.walk].nodes[piece.from..piece.to].iter();
        if piece.turned {
            nodes.extend(part.rev());
        } else {
            nodes.extend(part);
        }
    }
    nodes
}
