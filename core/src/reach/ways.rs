//! How far it is to fly from sources round barriers.

use super::Sources;
use super::barriers::Barriers;
use super::lot::Lot;
use crate::job::{Cancelled, Watch};
use crate::place::{Bounds, Local, ShapeView};
use crate::units::Metres;
use rayon::prelude::*;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// The flights from all sources that have a barrier in reach.
#[derive(Clone, Debug)]
pub(super) struct Ways {
    barriers: std::sync::Arc<Barriers>,
    radius: f64,
    from: Vec<Option<From>>,
}

/// The flights from one source.
#[derive(Clone, Debug)]
pub(super) struct From {
    /// The source.
    pub lot: Lot,
    /// The turning points in reach and how far it is to each, by their numbers.
    pub turns: Vec<(usize, f64)>,
}

impl Ways {
    /// Works the flights out; `None` without barriers, where every flight is straight.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    ///
    /// # Source
    /// The shortest way among obstacles goes from corner to corner that see each other: T. Lozano-Pérez and M. A. Wesley,
    /// Communications of the ACM 22 (1979), 560–570; E. W. Dijkstra, Numerische Mathematik 1 (1959), 269–271; from memory.
    pub(super) fn laid(sources: &Sources, radius: Metres, watch: &dyn Watch) -> Result<Option<Self>, Cancelled> {
        let Some(barriers) = sources.barriers() else { return Ok(None) };
        watch.step("looking for ways round the barriers", 0, 0)?;
        let boxes: Vec<Bounds> = sources.shapes().bounds().iter().map(|b| b.grown(radius.0)).collect();
        let graph = graph(barriers, &boxes, radius.0, watch)?;
        let one = |(i, around): (usize, &Bounds)| {
            if watch.cancelled() {
                return Err(Cancelled);
            }
            let near = barriers.any_in(around);
            Ok(near.then(|| {
                let lot = Lot::of(sources.shapes().get(i), barriers);
                let turns = turns(&lot, around, barriers, &graph, radius.0);
                From { lot, turns }
            }))
        };
        let from: Result<Vec<_>, Cancelled> = boxes.par_iter().enumerate().map(one).collect();
        Ok(Some(Self { barriers: std::sync::Arc::clone(barriers), radius: radius.0, from: from? }))
    }

    /// The barriers.
    pub(super) fn barriers(&self) -> &Barriers {
        &self.barriers
    }

    /// The flights from a source; `None` when no barrier is in its reach, so that all are straight.
    pub(super) fn from(&self, source: usize) -> Option<&From> {
        self.from[source].as_ref()
    }

    /// The length of the shortest flight from a source to an outline, when it is in reach.
    pub(super) fn flight(&self, from: &From, to: &Lot, outline: ShapeView<'_>, source: ShapeView<'_>) -> Option<f64> {
        let inside = |lot: &Lot, other: ShapeView<'_>| lot.edges.iter().any(|e| other.holds(e.inside.0));
        if outline.bounds().touches(source.bounds()) && (inside(&from.lot, outline) || inside(to, source)) {
            return Some(0.0);
        }
        // A little more than the radius, so that what lies exactly on it is in.
        let mut least = self.radius.next_up();
        if let Some(straight) = from.lot.straight(to, &self.barriers, least) {
            least = straight;
        }
        for &(corner, so_far) in &from.turns {
            let place = self.barriers.corners()[corner];
            if so_far + to.bounds.distance(&Bounds::of(&[place])) < least
                && let Some(last) = Lot::place(place).straight(to, &self.barriers, least - so_far)
            {
                least = so_far + last;
            }
        }
        (least <= self.radius).then_some(least)
    }

    /// How much of the radius is left at each turning point, for the source that leaves most; 0 where no flight comes.
    pub(super) fn left_over(&self) -> Vec<f64> {
        let mut left = vec![0.0_f64; self.barriers.corners().len()];
        for &(corner, so_far) in self.from.iter().flatten().flat_map(|f| &f.turns) {
            left[corner] = left[corner].max(self.radius - so_far);
        }
        left
    }
}

/// Which turning points see each other, as lists of neighbours with their distance; only near the boxes.
fn graph(barriers: &Barriers, boxes: &[Bounds], radius: f64, watch: &dyn Watch) -> Result<Vec<Vec<(usize, f64)>>, Cancelled> {
    let corners = barriers.corners();
    let mut used = vec![false; corners.len()];
    boxes.iter().flat_map(|b| barriers.corners_in(b)).for_each(|c| used[c] = true);
    let neighbours = |c: usize| -> Vec<(usize, f64)> {
        let near = barriers.corners_in(&Bounds::of(&[corners[c]]).grown(radius)).into_iter().filter(|&o| o != c && used[o]);
        let apart = near.map(|o| (o, corners[c].distance(corners[o]))).filter(|n| n.1 <= radius);
        apart.filter(|n| barriers.visible(corners[c], corners[n.0])).collect()
    };
    let all = 0..corners.len();
    all.into_par_iter()
        .map(|c| match (watch.cancelled(), used[c]) {
            (true, _) => Err(Cancelled),
            (_, true) => Ok(neighbours(c)),
            (_, false) => Ok(Vec::new()),
        })
        .collect()
}

/// A turning point to be left next: the nearest first, ties by number.
#[derive(PartialEq)]
struct Next(f64, usize);

impl Eq for Next {}

impl PartialOrd for Next {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Next {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0).then(self.1.cmp(&other.1))
    }
}

/// How far it is from a source to every turning point in reach.
fn turns(lot: &Lot, around: &Bounds, barriers: &Barriers, graph: &[Vec<(usize, f64)>], radius: f64) -> Vec<(usize, f64)> {
    let place = |c: usize| -> Local { barriers.corners()[c] };
    let limit = radius.next_up();
    let seen = barriers.corners_in(around).into_iter().filter_map(|c| Some((c, lot.straight(&Lot::place(place(c)), barriers, limit)?)));
    let mut best: std::collections::BTreeMap<usize, f64> = seen.collect();
    let mut queue: BinaryHeap<Reverse<Next>> = best.iter().map(|(&c, &d)| Reverse(Next(d, c))).collect();
    while let Some(Reverse(Next(so_far, c))) = queue.pop() {
        if best.get(&c).is_some_and(|&b| b < so_far) {
            continue;
        }
        for &(next, further) in &graph[c] {
            let there = so_far + further;
            if there <= radius && best.get(&next).is_none_or(|&b| there < b) {
                best.insert(next, there);
                queue.push(Reverse(Next(there, next)));
            }
        }
    }
    best.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reach::made_up::Numbers;

    fn at(x: f64, y: f64) -> Local {
        Local { x, y }
    }

    /// Steps from a knot of the grid to those near by: all with numbers up to four without a common divisor, so that a way over
    /// the grid is at most 1.4 % longer than the straight one.
    fn steps() -> Vec<(i64, i64)> {
        let divisor = |mut a: i64, mut b: i64| {
            while b != 0 {
                (a, b) = (b, a % b);
            }
            a.abs()
        };
        let all = (-4..=4).flat_map(|dx| (-4..=4).map(move |dy| (dx, dy)));
        all.filter(|&(dx, dy)| divisor(dx, dy) == 1).collect()
    }

    /// The shortest ways over a grid of 80 by 80 knots two metres apart, from one knot, stepping over no wall.
    fn slow(barriers: &Barriers, from: (i64, i64)) -> Vec<f64> {
        const SIDE: i64 = 80;
        let steps = steps();
        let knot = |(i, j): (i64, i64)| at(2.0 * i as f64, 2.0 * j as f64);
        let mut best = vec![f64::INFINITY; (SIDE * SIDE) as usize];
        let mut queue = BinaryHeap::from([Reverse(Next(0.0, (from.0 * SIDE + from.1) as usize))]);
        best[(from.0 * SIDE + from.1) as usize] = 0.0;
        while let Some(Reverse(Next(so_far, here))) = queue.pop() {
            if best[here] < so_far {
                continue;
            }
            let (i, j) = (here as i64 / SIDE, here as i64 % SIDE);
            for (dx, dy) in &steps {
                let (k, l) = (i + dx, j + dy);
                if !(0..SIDE).contains(&k) || !(0..SIDE).contains(&l) {
                    continue;
                }
                let there = so_far + knot((i, j)).distance(knot((k, l)));
                let next = (k * SIDE + l) as usize;
                if there < best[next] && barriers.visible(knot((i, j)), knot((k, l))) {
                    best[next] = there;
                    queue.push(Reverse(Next(there, next)));
                }
            }
        }
        best
    }

    /// Against the shortest ways over a fine grid, the slow obvious way, among random bent walls: never longer than the grid's,
    /// and shorter only by what a grid costs (1.4 %, and some knots at each of a few corners).
    #[test]
    fn agree_with_shortest_ways_over_a_fine_grid() {
        let mut numbers = Numbers(11);
        let (mut round_corners, mut narrow) = (0, 0);
        for _ in 0..6 {
            let lines: Vec<Vec<Local>> =
                (0..5).map(|_| (0..4).map(|_| at(20.3 + 120.0 * numbers.next(), 20.7 + 120.0 * numbers.next())).collect()).collect();
            let barriers = std::sync::Arc::new(Barriers::new(&lines));
            let start = (39, 41);
            let grid = slow(&barriers, start);
            let lot = Lot::place(at(2.0 * start.0 as f64, 2.0 * start.1 as f64));
            let around = lot.bounds.grown(400.0);
            let graph = graph(&barriers, &[around], 400.0, &crate::job::Unwatched).unwrap();
            let turns = turns(&lot, &around, &barriers, &graph, 400.0);
            let ways = Ways { barriers: std::sync::Arc::clone(&barriers), radius: 400.0, from: Vec::new() };
            let from = From { lot, turns };
            let home = from.lot.edges[0].from;
            for k in (0..6400).step_by(7) {
                let p = at(2.0 * (k / 80) as f64, 2.0 * (k % 80) as f64);
                let mut shapes = crate::place::Shapes::default();
                for place in [home, p] {
                    shapes.push_ring(&[place]);
                    shapes.end_part();
                    shapes.end_shape();
                }
                let found = ways.flight(&from, &Lot::place(p), shapes.get(1), shapes.get(0));
                assert!(found.is_some() || !grid[k].is_finite(), "{k}: no flight, over the grid {}", grid[k]);
                narrow += usize::from(found.is_some() && !grid[k].is_finite());
                let straight = p.distance(home);
                if let (Some(found), true) = (found, grid[k].is_finite()) {
                    assert!(found >= straight - 1e-9 && found <= grid[k] + 0.02, "{k}: {found} over the grid {}", grid[k]);
                    assert!(found >= grid[k] / 1.014 - 12.0, "{k}: {found} over the grid {}", grid[k]);
                    round_corners += usize::from(found > straight + 1.0);
                }
            }
        }
        // Only flights fit through gaps narrower than the grid.
        assert!(narrow < 60, "{narrow} places are reached where the grid is shut");
        assert!(round_corners > 500, "{round_corners} flights went round a corner");
    }
}
