//! Finding outlines by where they are: a packed tree of boxes.

use super::{Bounds, Local};
use std::ops::Range;

const FAN: usize = 16;

/// A tree over boxes that already lie along a space-filling curve: sixteen neighbours to a node, built in one pass.
///
/// Boxes need not be in curve order for right answers, only for fast ones. Empty boxes are never found.
///
/// ```
/// use yardring_core::place::{Bounds, BoxIndex, Local};
/// let boxes: Vec<Bounds> = (0..100).map(|i| Bounds::of(&[Local { x: f64::from(i), y: 0.0 }])).collect();
/// let mut found = Vec::new();
/// BoxIndex::new(&boxes).each_touching(&Bounds::of(&[Local { x: 4.5, y: -1.0 }, Local { x: 6.0, y: 1.0 }]), |i| found.push(i));
/// assert_eq!(found, [5, 6]);
/// ```
#[derive(Clone, Debug, Default)]
pub struct BoxIndex {
    levels: Vec<Vec<Bounds>>,
}

impl BoxIndex {
    /// The tree over some boxes; a box keeps its number.
    pub fn new(boxes: &[Bounds]) -> Self {
        let mut levels = vec![boxes.to_vec()];
        while levels[levels.len() - 1].len() > 1 {
            let below = &levels[levels.len() - 1];
            levels.push(below.chunks(FAN).map(|c| c.iter().fold(Bounds::EMPTY, |b, o| b.union(*o))).collect());
        }
        Self { levels }
    }

    /// How many boxes there are.
    pub fn len(&self) -> usize {
        self.levels.first().map_or(0, Vec::len)
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Calls `found` with the number of every box that touches `wanted`, in rising order.
    pub fn each_touching(&self, wanted: &Bounds, mut found: impl FnMut(usize)) {
        self.any_touching(wanted, |i| {
            found(i);
            false
        });
    }

    /// Whether `is_it` says so of some box that touches `wanted`; asked in rising order, and no more once it has.
    pub fn any_touching(&self, wanted: &Bounds, mut is_it: impl FnMut(usize) -> bool) -> bool {
        self.levels.last().is_some_and(|top| self.descend(self.levels.len() - 1, 0..top.len(), wanted, &mut is_it))
    }

    fn descend(&self, level: usize, nodes: Range<usize>, wanted: &Bounds, is_it: &mut impl FnMut(usize) -> bool) -> bool {
        let boxes = &self.levels[level][nodes.clone()];
        boxes.iter().zip(nodes).filter(|(node, _)| node.touches(wanted)).any(|(_, i)| {
            if level == 0 {
                return is_it(i);
            }
            let first = i * FAN;
            self.descend(level - 1, first..(first + FAN).min(self.levels[level - 1].len()), wanted, is_it)
        })
    }

    /// The box nearest to a place by `distance`, which gives the true distance of a numbered thing from the place and must
    /// not be less than its box's; `None` when there is nothing nearer than `within` metres.
    pub fn nearest(&self, p: Local, within: f64, mut distance: impl FnMut(usize) -> f64) -> Option<(usize, f64)> {
        let here = Bounds::of(&[p]);
        let mut best: Option<(usize, f64)> = None;
        let mut waiting = std::collections::BinaryHeap::new();
        if let Some(top) = self.levels.len().checked_sub(1) {
            waiting.extend((0..self.levels[top].len()).map(|i| Waiting { at_least: self.levels[top][i].distance(&here), level: top, i }));
        }
        while let Some(w) = waiting.pop() {
            if w.at_least > best.map_or(within, |b| b.1) {
                break;
            }
            if w.level == 0 {
                let d = distance(w.i);
                if d <= within && best.is_none_or(|b| (d, w.i) < (b.1, b.0)) {
                    best = Some((w.i, d));
                }
                continue;
            }
            let below = &self.levels[w.level - 1];
            let children = w.i * FAN..((w.i + 1) * FAN).min(below.len());
            waiting.extend(children.filter(|&i| !below[i].is_empty()).map(|i| Waiting {
                at_least: below[i].distance(&here),
                level: w.level - 1,
                i,
            }));
        }
        best
    }
}

/// A node still to be looked into; the nearest comes out of the heap first.
struct Waiting {
    at_least: f64,
    level: usize,
    i: usize,
}

impl PartialEq for Waiting {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Waiting {}

impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Waiting {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        other.at_least.total_cmp(&self.at_least).then_with(|| (other.level, other.i).cmp(&(self.level, self.i)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn boxes() -> Vec<Bounds> {
        let mut state = 7u64;
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as f64 / 2f64.powi(31) * 1000.0
        };
        (0..3000).map(|_| Local { x: next(), y: next() }).map(|p| Bounds::of(&[p]).grown(4.0)).chain([Bounds::EMPTY]).collect()
    }

    #[test]
    fn finds_what_a_look_at_every_box_finds() {
        let boxes = boxes();
        let index = BoxIndex::new(&boxes);
        for k in 0..50 {
            let p = Local { x: f64::from(k) * 20.0, y: f64::from(k * 7 % 50) * 20.0 };
            let wanted = Bounds::of(&[p]).grown(30.0);
            let mut found = Vec::new();
            index.each_touching(&wanted, |i| found.push(i));
            let slow: Vec<usize> = (0..boxes.len()).filter(|&i| boxes[i].touches(&wanted)).collect();
            assert_eq!(found, slow);
            let mut asked = Vec::new();
            let second = |i| {
                asked.push(i);
                asked.len() == 2
            };
            assert_eq!(index.any_touching(&wanted, second), slow.len() > 1);
            assert_eq!(asked, slow[..slow.len().min(2)]);
            let d = |i: usize| boxes[i].distance(&Bounds::of(&[p]));
            let nearest = (0..3000).map(|i| (d(i), i)).min_by(|a, b| a.partial_cmp(b).unwrap()).unwrap();
            assert_eq!(index.nearest(p, 1e9, d), Some((nearest.1, nearest.0)));
        }
        assert_eq!(index.nearest(Local { x: -500.0, y: 0.0 }, 10.0, |_| 490.0), None);
    }
}
