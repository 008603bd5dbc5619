//! Where people walk beside the centrelines, and what of it barriers close.
//!
//! Without barriers it is enough to know that a stretch has two sides. With them every step counts: along a side, over a street at its
//! corner, from the kerb to a door. Each is a line on the ground, and none may meet a barrier; so no walk crosses one, however it lies.

use super::cuts::{Drawn, between, crossing, foot};
use super::{Stretch, of};
use crate::place::{Bounds, Local};
use std::collections::{BTreeMap, BTreeSet};

/// How far beside the centreline people walk, in metres: half of an ordinary street with its pavements. A barrier nearer than this lies in
/// the street: it parts the two sides from each other, and none of them from its doors.
pub(super) const PAVEMENT: f64 = 6.0;
/// The farthest from its junction that a corner lies where streets meet at a sharp angle, in metres.
pub(super) const SHARP: f64 = 2.0 * PAVEMENT;

/// The corners on the ground, and where barriers close the ways between them.
#[derive(Clone, Debug, Default)]
pub(super) struct Kerbs {
    /// Where each corner is; empty without barriers.
    corners: Vec<Local>,
    /// Metres along a stretch at which its left or right side is closed.
    walls: BTreeMap<(u32, bool), Vec<f64>>,
    /// Ends of stretches where nobody crosses.
    not_crossed: BTreeSet<u32>,
    /// Stretches that a barrier comes as near to as their corners lie.
    touched: BTreeSet<u32>,
}

impl Kerbs {
    /// What barriers leave of the streets. `sides` gives the corners of a stretch's side, at its first place and its last.
    pub(super) fn new(drawn: &Drawn, right_of: &[u32], sides: &dyn Fn(usize, bool) -> [u32; 2], barriers: &[Vec<Local>]) -> Self {
        if barriers.iter().all(|b| b.len() < 2) {
            return Self::default();
        }
        let mut out = Self { corners: corners(drawn, right_of), ..Self::default() };
        let walls: Vec<(Local, Local)> = barriers.iter().flat_map(|b| b.windows(2)).map(|w| (w[0], w[1])).collect();
        for (i, stretch) in drawn.stretches.iter().enumerate() {
            let places = of(&drawn.places, stretch);
            let ground = Bounds::of(places).grown(SHARP + PAVEMENT);
            let near: Vec<(Local, Local)> = walls.iter().copied().filter(|w| Bounds::of(&[w.0, w.1]).touches(&ground)).collect();
            if !near.is_empty() {
                out.close(i, stretch, places, sides, &near);
                let ends = [2 * i as u32, 2 * i as u32 + 1];
                let over = |end: &u32| (out.corners[*end as usize], out.corners[right_of[*end as usize] as usize]);
                let closed: Vec<u32> = ends.into_iter().filter(|end| near.iter().any(|&w| meets(over(end), w).is_some())).collect();
                out.not_crossed.extend(closed);
            }
        }
        out
    }

    /// Closes the sides of a stretch where they meet a barrier.
    fn close(&mut self, i: usize, stretch: &Stretch, places: &[Local], sides: &dyn Fn(usize, bool) -> [u32; 2], near: &[(Local, Local)]) {
        let pieces = || places.windows(2).map(|w| (w[0], w[1]));
        if pieces().any(|piece| near.iter().any(|&w| apart(piece, w) <= SHARP)) {
            self.touched.insert(i as u32);
        }
        for left in [true, false] {
            let path = self.path(places, stretch.length, sides(i, left), left);
            let mut closed: Vec<f64> = Vec::new();
            for pair in path.windows(2) {
                let met = near.iter().filter_map(|&w| meets((pair[0].1, pair[1].1), w));
                closed.extend(met.map(|t| pair[0].0 + (pair[1].0 - pair[0].0) * t));
            }
            if !closed.is_empty() {
                self.walls.insert((i as u32, left), closed);
            }
        }
    }

    /// Whether there is nothing to look at.
    pub(super) fn is_empty(&self) -> bool {
        self.corners.is_empty()
    }

    /// Whether people cross a stretch at its junction, at one of its ends.
    pub(super) fn crossed_at(&self, end: u32) -> bool {
        !self.not_crossed.contains(&end)
    }

    /// Whether a barrier lies in a stretch, cuts it, or runs close beside it: then nobody crosses it between its corners.
    pub(super) fn touches(&self, stretch: usize) -> bool {
        self.touched.contains(&(stretch as u32))
    }

    /// Whether a side of a stretch is open between two of its metres.
    pub(super) fn open(&self, stretch: usize, left: bool, a: f64, b: f64) -> bool {
        let (low, high) = (a.min(b), a.max(b));
        self.walls.get(&(stretch as u32, left)).is_none_or(|walls| !walls.iter().any(|&wall| wall >= low && wall <= high))
    }

    /// The line that people walk on a side, from the corner at the stretch's first place to that at its last: metres along the stretch,
    /// and the place. The corner of a dead end lies beyond the stretch.
    pub(super) fn path(&self, places: &[Local], length: f64, [first, last]: [u32; 2], left: bool) -> Vec<(f64, Local)> {
        let n = places.len();
        let (begin, end) = (self.corners[first as usize], self.corners[last as usize]);
        let (from, to) =
            (ahead(places[0], places[1], begin), length + ahead(places[n - 2], places[n - 1], end) - places[n - 2].distance(places[n - 1]));
        let mut path = vec![(from, begin)];
        let mut along = 0.0;
        for k in 0..n {
            if along > path[path.len() - 1].0 && along < to {
                path.push((along, beside(places, k, left)));
            }
            if k + 1 < n {
                along += places[k].distance(places[k + 1]);
            }
        }
        path.push((to.max(path[path.len() - 1].0), end));
        path
    }
}

/// The place on a side's line at some metres along the stretch; its ends beyond them.
pub(super) fn at(path: &[(f64, Local)], along: f64) -> Local {
    let next = path.iter().position(|p| p.0 >= along).unwrap_or(path.len() - 1);
    match next.checked_sub(1).map(|before| (path[before], path[next])) {
        Some(((a, from), (b, to))) if b > a => between(from, to, ((along - a) / (b - a)).clamp(0.0, 1.0)),
        _ => path[next].1,
    }
}

/// Whether the straight line between two places meets no barrier.
pub(super) fn in_sight(from: Local, to: Local, barriers: &[Vec<Local>]) -> bool {
    !barriers.iter().flat_map(|b| b.windows(2)).any(|w| meets((from, to), (w[0], w[1])).is_some())
}

/// How far a place lies ahead of another in the direction to a third, in metres.
pub(super) fn ahead(from: Local, to: Local, p: Local) -> f64 {
    let length = from.distance(to);
    if length > 0.0 { ((p.x - from.x) * (to.x - from.x) + (p.y - from.y) * (to.y - from.y)) / length } else { 0.0 }
}

/// The place beside one of a line's places where the lines beside its pieces meet.
fn beside(places: &[Local], k: usize, left: bool) -> Local {
    let side = if left { 1.0 } else { -1.0 };
    let normal = |a: Local, b: Local| {
        let length = a.distance(b).max(f64::MIN_POSITIVE);
        (-(b.y - a.y) / length * side, (b.x - a.x) / length * side)
    };
    let before = k.checked_sub(1).map(|j| normal(places[j], places[k]));
    let after = places.get(k + 1).map(|&next| normal(places[k], next));
    let (p, q) = (before.or(after).unwrap_or((0.0, 0.0)), after.or(before).unwrap_or((0.0, 0.0)));
    let (x, y) = (p.0 + q.0, p.1 + q.1);
    let long = x.hypot(y);
    if long < 1e-9 {
        return Local { x: places[k].x + p.0 * PAVEMENT, y: places[k].y + p.1 * PAVEMENT };
    }
    // Two unit normals and their sum: half of its length is the cosine of half the turn.
    let metres = (PAVEMENT * 2.0 / long).min(SHARP);
    Local { x: places[k].x + x / long * metres, y: places[k].y + y / long * metres }
}

/// Where each corner is: between its end and the next one to the left, as far from both centrelines as people walk.
fn corners(drawn: &Drawn, right_of: &[u32]) -> Vec<Local> {
    let mut left_end = vec![0u32; right_of.len()];
    right_of.iter().enumerate().for_each(|(end, &corner)| left_end[corner as usize] = end as u32);
    let leaves = |end: u32| {
        let places = of(&drawn.places, &drawn.stretches[end as usize / 2]);
        let n = places.len();
        let (a, b) = if end % 2 == 1 { (places[n - 1], places[n - 2]) } else { (places[0], places[1]) };
        (a, (b.y - a.y).atan2(b.x - a.x))
    };
    let corner = |end: u32| {
        let ((place, from), (_, to)) = (leaves(end), leaves(left_end[end as usize]));
        let turn = (to - from).rem_euclid(std::f64::consts::TAU);
        let dead_end = left_end[end as usize] == end;
        let half = if dead_end { std::f64::consts::PI } else { turn / 2.0 };
        let metres = if dead_end { PAVEMENT } else { (PAVEMENT / half.sin().max(1e-9)).min(SHARP) };
        Local { x: place.x + metres * (from + half).cos(), y: place.y + metres * (from + half).sin() }
    };
    (0..right_of.len() as u32).map(corner).collect()
}

/// The share of the first line at which it meets the second; a touch counts.
fn meets((a, b): (Local, Local), (c, d): (Local, Local)) -> Option<f64> {
    crossing((a, b), (c, d), |share| (0.0..=1.0).contains(&share)).map(|(t, _)| t)
}

/// How far two straight lines are apart, in metres.
pub(super) fn apart((a, b): (Local, Local), (c, d): (Local, Local)) -> f64 {
    if meets((a, b), (c, d)).is_some() {
        return 0.0;
    }
    [foot(a, b, c).1, foot(a, b, d).1, foot(c, d, a).1, foot(c, d, b).1].into_iter().fold(f64::INFINITY, f64::min)
}
