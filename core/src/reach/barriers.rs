//! Barriers: lines that flight rarely crosses, such as a wide road or open water. A flight goes straight where nothing is in
//! the way, and otherwise round the ends and corners of the lines.

use crate::place::{Bounds, BoxIndex, Local};
use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};

/// Places of lines are taken to the millimetre, so that lines that meet in a file meet here.
const GRID: f64 = 1000.0;

/// How far from a corner a flight round it passes, in metres: near enough to count as touching it.
const CLEAR: f64 = 1e-3;

/// Corners that turn less than this (radians) let every flight by and need no turning point.
const STRAIGHT: f64 = 1e-7;

/// Lines that flight rarely crosses, and the turning points round them.
#[derive(Clone, Debug, Default)]
pub struct Barriers {
    walls: Vec<(Local, Local)>,
    index: BoxIndex,
    corners: Vec<Local>,
    corner_index: BoxIndex,
}

impl Barriers {
    /// Barriers from lines in the district frame. Lines without length are left out.
    ///
    /// ```
    /// use yardring_core::place::Local;
    /// use yardring_core::reach::Barriers;
    /// let wall = Barriers::new(&[vec![Local { x: 0.0, y: -10.0 }, Local { x: 0.0, y: 10.0 }]]);
    /// let at = |x: f64, y: f64| Local { x, y };
    /// assert!(!wall.visible(at(-5.0, 0.0), at(5.0, 0.0)) && wall.visible(at(-5.0, 0.0), at(-5.0, 30.0)));
    /// ```
    pub fn new(lines: &[Vec<Local>]) -> Self {
        let snapped = |p: &Local| ((p.x * GRID).round() as i64, (p.y * GRID).round() as i64);
        let place = |(x, y): (i64, i64)| Local { x: x as f64 / GRID, y: y as f64 / GRID };
        let mut walls: Vec<[(i64, i64); 2]> = Vec::new();
        for line in lines {
            let ends = line.windows(2).map(|w| [snapped(&w[0]), snapped(&w[1])]).filter(|w| w[0] != w[1]);
            walls.extend(ends.map(|[a, b]| [a.min(b), a.max(b)]));
        }
        walls.sort_unstable();
        walls.dedup();
        let mut meeting: BTreeMap<(i64, i64), Vec<f64>> = BTreeMap::new();
        for &[a, b] in &walls {
            for (from, to) in [(a, b), (b, a)] {
                let (p, q) = (place(from), place(to));
                meeting.entry(from).or_default().push((q.y - p.y).atan2(q.x - p.x));
            }
        }
        let corners: Vec<Local> = meeting.into_iter().flat_map(|(at, ways)| turning_points(place(at), ways)).collect();
        let walls: Vec<(Local, Local)> = walls.into_iter().map(|[a, b]| (place(a), place(b))).collect();
        let boxes: Vec<Bounds> = walls.iter().map(|w| Bounds::of(&[w.0, w.1])).collect();
        let corner_boxes: Vec<Bounds> = corners.iter().map(|&c| Bounds::of(&[c])).collect();
        Self { index: BoxIndex::new(&boxes), walls, corner_index: BoxIndex::new(&corner_boxes), corners }
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.walls.is_empty()
    }

    /// How long all of them are together, in metres.
    pub fn length(&self) -> f64 {
        self.walls.iter().map(|w| w.0.distance(w.1)).sum()
    }

    /// Whether nothing lies on the straight line between two places. A line that is only touched is in the way too.
    pub fn visible(&self, p: Local, q: Local) -> bool {
        !self.index.any_touching(&Bounds::of(&[p, q]), |i| touch((p, q), self.walls[i]))
    }

    /// The lines whose box touches a box.
    pub(super) fn walls_in(&self, wanted: &Bounds) -> Vec<(Local, Local)> {
        let mut found = Vec::new();
        self.index.each_touching(wanted, |i| found.push(i));
        found.sort_unstable();
        found.into_iter().map(|i| self.walls[i]).collect()
    }

    /// Whether some line's box touches a box.
    pub(super) fn any_in(&self, wanted: &Bounds) -> bool {
        self.index.any_touching(wanted, |_| true)
    }

    /// The turning points, where flights go round.
    pub(super) fn corners(&self) -> &[Local] {
        &self.corners
    }

    /// The numbers of the turning points in a box, rising.
    pub(super) fn corners_in(&self, wanted: &Bounds) -> Vec<usize> {
        let mut found = Vec::new();
        self.corner_index.each_touching(wanted, |i| found.push(i));
        found.sort_unstable();
        found
    }
}

/// Where a flight may turn round a place at which lines meet: in every gap between them that is wider than half a turn.
fn turning_points(at: Local, mut ways: Vec<f64>) -> Vec<Local> {
    ways.sort_by(f64::total_cmp);
    let gap = |i: usize| {
        let next = if i + 1 < ways.len() { ways[i + 1] } else { ways[0] + TAU };
        (ways[i], next - ways[i])
    };
    let wide = (0..ways.len()).map(gap).filter(|g| g.1 > PI + STRAIGHT);
    wide.map(|(from, width)| {
        let middle = from + width / 2.0;
        Local { x: at.x + CLEAR * middle.cos(), y: at.y + CLEAR * middle.sin() }
    })
    .collect()
}

/// Which side of the line from `a` to `b` a place lies on: above 0 left, below right.
pub(super) fn side(a: Local, b: Local, p: Local) -> f64 {
    (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)
}

/// Whether two pieces of line have a place in common.
fn touch((p, q): (Local, Local), (a, b): (Local, Local)) -> bool {
    if !Bounds::of(&[p, q]).touches(&Bounds::of(&[a, b])) {
        return false;
    }
    let across = |u: f64, v: f64| (u <= 0.0 && v >= 0.0) || (u >= 0.0 && v <= 0.0);
    across(side(p, q, a), side(p, q, b)) && across(side(a, b, p), side(a, b, q))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x: f64, y: f64) -> Local {
        Local { x, y }
    }

    #[test]
    fn a_line_has_a_turning_point_at_each_end_and_outside_each_bend() {
        let bent = Barriers::new(&[vec![at(0.0, 0.0), at(10.0, 0.0), at(10.0, 10.0)]]);
        let near = |p: Local| bent.corners().iter().any(|c| c.distance(p) < 2.0 * CLEAR);
        assert_eq!(bent.corners().len(), 3);
        assert!(near(at(0.0, 0.0)) && near(at(10.0, 0.0)) && near(at(10.0, 10.0)));
        assert!(bent.visible(at(9.0, 1.0), bent.corners()[0]) && !bent.visible(at(9.0, 1.0), at(11.0, 1.0)));
        let straight = Barriers::new(&[vec![at(0.0, 0.0), at(10.0, 0.0), at(20.0, 0.0)]]);
        assert_eq!((straight.corners().len(), straight.length()), (2, 20.0));
    }

    #[test]
    fn lines_that_meet_leave_no_hole_and_order_means_nothing() {
        let a = vec![at(0.0, 0.0), at(10.0, 0.0)];
        let b = vec![at(10.000_2, 0.0), at(20.0, 5.0)];
        let one = Barriers::new(&[a.clone(), b.clone()]);
        let other = Barriers::new(&[b.into_iter().rev().collect(), a]);
        assert_eq!((&one.walls, &one.corners), (&other.walls, &other.corners));
        assert!(!one.visible(at(10.0, 3.0), at(10.0, -3.0)));
        assert!(Barriers::new(&[vec![at(1.0, 1.0)], vec![at(2.0, 2.0), at(2.0, 2.0)]]).is_empty());
    }
}
