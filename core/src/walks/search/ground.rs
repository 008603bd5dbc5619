//! The task in the form that the search runs on: few flat arrays, stops counted from 0.

use crate::walks::task::with_rounding;
use crate::walks::{Aim, DayTask, Stop};

/// Stops kept in each stop's list of near ones.
const NEAR: usize = 400;

/// A node of the search: a stop, or the start or end of all walks.
pub(super) type Node = u32;

/// The task, ready for searching. Nodes 0.. are stops in order of their places, then come start and end.
#[derive(Debug)]
pub(super) struct Ground {
    pub(super) aim: Aim,
    /// The longest walk of each crew in seconds, the longest first.
    pub(super) rooms: Vec<f64>,
    pub(super) carry: f64,
    pub(super) stops: Vec<Stop>,
    side: usize,
    out: Vec<f64>,
    into: Vec<f64>,
    near_count: usize,
    near: Vec<Node>,
    /// Mean seconds from a stop to its nearest few: the scale of one step.
    pub(super) step: f64,
}

impl Ground {
    /// Lays the task out. Left away are the stops that cannot better a plan: for least travel all but the must
    /// stops, for most prize those of no prize that need not be visited.
    pub(super) fn new(task: &DayTask) -> Self {
        let worth_it = |s: &&Stop| s.must || (task.aim == Aim::MostPrize && s.prize > 0.0);
        let mut stops: Vec<Stop> = task.stops.iter().filter(worth_it).copied().collect();
        stops.sort_by_key(|s| s.at);
        let places: Vec<usize> = stops.iter().map(|s| s.at).chain([task.start, task.end]).collect();
        let table = |way: &dyn Fn(usize, usize) -> f64| -> Vec<f64> {
            places.iter().flat_map(|&a| places.iter().map(move |&b| (a, b))).map(|(a, b)| way(a, b)).collect()
        };
        let limit = |value: Option<f64>| value.map_or(f64::INFINITY, with_rounding);
        let mut rooms: Vec<f64> = (0..task.crews).map(|crew| limit(task.room(crew))).collect();
        rooms.sort_by(|a, b| b.total_cmp(a));
        rooms.truncate(stops.len());
        let mut ground = Self {
            aim: task.aim,
            rooms,
            carry: task.carry.unwrap_or(f64::INFINITY),
            side: places.len(),
            out: table(&|a, b| task.travel.seconds(a, b)),
            into: table(&|a, b| task.travel.seconds(b, a)),
            near_count: NEAR.min(stops.len().saturating_sub(1)),
            near: Vec::new(),
            step: 0.0,
            stops,
        };
        ground.find_near();
        ground
    }

    fn find_near(&mut self) {
        let count = self.count();
        let (mut sum, mut steps) = (0.0, 0usize);
        for a in 0..count {
            let cost = |b: Node| self.travel(a as Node, b).min(self.travel(b, a as Node));
            let mut others: Vec<Node> = (0..count as Node).filter(|b| *b != a as Node).collect();
            others.sort_by(|x, y| cost(*x).total_cmp(&cost(*y)).then(x.cmp(y)));
            others.truncate(self.near_count);
            sum += others.iter().take(5).map(|b| cost(*b)).sum::<f64>();
            steps += others.len().min(5);
            self.near.extend(others);
        }
        self.step = if steps > 0 { sum / steps as f64 } else { 0.0 };
    }

    /// How many stops there are.
    pub(super) fn count(&self) -> usize {
        self.stops.len()
    }

    /// The node where walks begin.
    pub(super) fn start(&self) -> Node {
        self.count() as Node
    }

    /// The node where walks end.
    pub(super) fn end(&self) -> Node {
        self.count() as Node + 1
    }

    /// Seconds from one node to another.
    pub(super) fn travel(&self, from: Node, to: Node) -> f64 {
        self.out[from as usize * self.side + to as usize]
    }

    /// Seconds from a node to every node.
    pub(super) fn out_of(&self, node: Node) -> &[f64] {
        &self.out[node as usize * self.side..][..self.side]
    }

    /// Seconds to a node from every node.
    pub(super) fn into(&self, node: Node) -> &[f64] {
        &self.into[node as usize * self.side..][..self.side]
    }

    /// A stop's numbers.
    pub(super) fn stop(&self, node: Node) -> &Stop {
        &self.stops[node as usize]
    }

    /// Other stops, nearest first.
    pub(super) fn near(&self, node: Node) -> &[Node] {
        &self.near[node as usize * self.near_count..][..self.near_count]
    }
}
