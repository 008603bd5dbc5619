//! Whether an outline keeps the simple-features rules, as GEOS judges them.

use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

use super::segment::{Meeting, Side, Xy, meeting, passes_through, side, turn};
use super::{Bounds, BoxIndex, Local, RawShapes, ShapeView};
use crate::job::{Unwatched, Watch};

/// Up to so many lines every pair is looked at; above, a tree of boxes finds the pairs.
const FEW_LINES: usize = 48;

/// Whether an outline keeps the simple-features rules: finite places; rings of at least three different places that neither
/// cross nor touch themselves; no two rings crossing or sharing a line; holes inside their part, none in another; parts not
/// inside each other; an interior in one piece. Places repeated in a row are fine. An outline without parts is valid.
///
/// # Source
/// OGC 06-103r4 section 6.1.11 (polygons) and 6.1.14 (several polygons).
///
/// ```
/// use yardring_core::place::{Local, Shapes, is_valid};
/// let at = |x, y| Local { x, y };
/// let mut shapes = Shapes::default();
/// shapes.push_ring(&[at(0.0, 0.0), at(2.0, 2.0), at(2.0, 0.0), at(0.0, 2.0)]); // a bow-tie
/// shapes.end_part();
/// shapes.end_shape();
/// assert!(!is_valid(shapes.get(0)));
/// ```
pub fn is_valid(shape: ShapeView<'_>) -> bool {
    let mut judge = Judge::default();
    for (part, rings) in shape.parts().enumerate() {
        for ring in rings.rings() {
            judge.add_ring(part, ring.iter().map(|p| [p.x, p.y]));
        }
    }
    judge.verdict()
}

/// The numbers of the shapes that break the simple-features rules, in rising order, judged in the file's own coordinates:
/// a transformation may bend two lines that touch by a millionth of a millimetre, and then they cross.
pub fn invalid_shapes(raw: &RawShapes) -> Vec<u32> {
    invalid_among(raw, &Unwatched)
}

/// [`invalid_shapes`] under a watch; once somebody asked to stop, the list is not whole.
pub(super) fn invalid_among(raw: &RawShapes, watch: &dyn Watch) -> Vec<u32> {
    let done = AtomicU64::new(0);
    let judged = (0..raw.len() as u32).into_par_iter().with_min_len(512).map_init(Judge::default, |judge, i| {
        let seen = done.fetch_add(1, Ordering::Relaxed);
        if seen.is_multiple_of(TOLD_EVERY) {
            watch.progress("looking at outlines", seen, raw.len() as u64);
        }
        if watch.cancelled() {
            return None;
        }
        judge.clear();
        for (part, rings) in raw.parts(i as usize).enumerate() {
            for ring in rings {
                judge.add_ring(part, ring.iter().copied());
            }
        }
        (!judge.verdict()).then_some(i)
    });
    judged.flatten_iter().collect()
}

/// Progress is told once for so many outlines.
const TOLD_EVERY: u64 = 8192;

/// One ring of the outline being judged: a range of places, without repeats.
#[derive(Clone, Copy, Debug)]
struct Ring {
    from: usize,
    to: usize,
    /// The number of its part's outer ring, which may be itself.
    outer: usize,
    bounds: Bounds,
}

/// The outline being judged, its memory kept from one to the next.
#[derive(Debug, Default)]
pub(super) struct Judge {
    places: Vec<Xy>,
    rings: Vec<Ring>,
    /// The part of the last ring added and the number of that part's outer ring.
    part: Option<(usize, usize)>,
    broken: bool,
}

impl Judge {
    /// Forgets the last outline.
    pub(super) fn clear(&mut self) {
        self.places.clear();
        self.rings.clear();
        self.part = None;
        self.broken = false;
    }

    /// Adds a ring, given without its first place repeated; the first ring of a part is its outer one.
    pub(super) fn add_ring(&mut self, part: usize, ring: impl Iterator<Item = Xy>) {
        let from = self.places.len();
        let mut bounds = Bounds::EMPTY;
        for p in ring {
            self.broken |= !(p[0].is_finite() && p[1].is_finite());
            if self.places.len() == from || self.places[self.places.len() - 1] != p {
                self.places.push(p);
                bounds = bounds.with(Local { x: p[0], y: p[1] });
            }
        }
        while self.places.len() > from + 1 && self.places[self.places.len() - 1] == self.places[from] {
            self.places.pop();
        }
        let to = self.places.len();
        self.broken |= (1..3).contains(&(to - from));
        if to > from {
            let outer = self.part.filter(|p| p.0 == part).map_or(self.rings.len(), |p| p.1);
            self.part = Some((part, outer));
            self.rings.push(Ring { from, to, outer, bounds });
        }
    }

    /// Whether the outline added since the last [`Judge::clear`] is valid.
    pub(super) fn verdict(&self) -> bool {
        if self.broken {
            return false;
        }
        match self.rings.as_slice() {
            [] => true,
            [only] if only.to - only.from <= FEW_LINES => is_simple(self.ring(only)),
            _ => self.judge_all(),
        }
    }

    fn ring(&self, ring: &Ring) -> &[Xy] {
        &self.places[ring.from..ring.to]
    }

    fn judge_all(&self) -> bool {
        let mut touches = Vec::new();
        self.lines_are_fine(&mut touches) && interior_is_whole(self.rings.len(), &mut touches) && self.rings_lie_well()
    }

    /// Whether no two lines meet where they must not; collects where rings of one part touch.
    fn lines_are_fine(&self, touches: &mut Vec<(usize, usize, Xy)>) -> bool {
        let lines = self.lines();
        let mut fine = lines.iter().all(|l| !turns_back(self.before(l), l.a, l.b));
        if lines.len() <= FEW_LINES {
            for (i, l) in lines.iter().enumerate() {
                fine = fine && lines[i + 1..].iter().all(|m| !l.bounds.touches(&m.bounds) || self.pair_is_fine(l, m, touches));
            }
            return fine;
        }
        let boxes: Vec<Bounds> = lines.iter().map(|l| l.bounds).collect();
        let index = BoxIndex::new(&boxes);
        for (i, l) in lines.iter().enumerate() {
            if !fine {
                return false;
            }
            index.each_touching(&l.bounds, |j| fine = fine && (j <= i || self.pair_is_fine(l, &lines[j], touches)));
        }
        fine
    }

    fn lines(&self) -> Vec<Line> {
        let of_ring = |(number, ring): (usize, &Ring)| {
            let (from, to) = (ring.from, ring.to);
            (from..to).map(move |i| {
                let (a, b) = (self.places[i], self.places[if i + 1 == to { from } else { i + 1 }]);
                let bounds = Bounds::of(&[Local { x: a[0], y: a[1] }, Local { x: b[0], y: b[1] }]);
                Line { a, b, ring: number, at: i, bounds }
            })
        };
        self.rings.iter().enumerate().flat_map(of_ring).collect()
    }

    /// The place before a line's first one, round its ring.
    fn before(&self, line: &Line) -> Xy {
        let ring = &self.rings[line.ring];
        self.places[if line.at == ring.from { ring.to - 1 } else { line.at - 1 }]
    }

    fn are_neighbours(&self, l: &Line, m: &Line) -> bool {
        let ring = &self.rings[l.ring];
        l.at.abs_diff(m.at) == 1 || (l.at.min(m.at) == ring.from && l.at.max(m.at) + 1 == ring.to)
    }

    fn pair_is_fine(&self, l: &Line, m: &Line, touches: &mut Vec<(usize, usize, Xy)>) -> bool {
        if l.ring == m.ring {
            return self.are_neighbours(l, m) || meeting(l.a, l.b, m.a, m.b) == Meeting::Apart;
        }
        match meeting(l.a, l.b, m.a, m.b) {
            Meeting::Apart => true,
            Meeting::Cross => false,
            // The lines that begin there are a pair of their own.
            Meeting::Touch(p) if p == l.b || p == m.b => true,
            Meeting::Touch(p) => {
                if self.rings[l.ring].outer == self.rings[m.ring].outer {
                    touches.push((l.ring, m.ring, p));
                }
                let from = |line: &Line| if p == line.a { self.before(line) } else { line.a };
                !passes_through(p, from(l), l.b, from(m), m.b)
            }
        }
    }

    /// Whether each hole lies in its part's outer ring and in no other hole of it, each outer ring in no other part.
    fn rings_lie_well(&self) -> bool {
        if self.rings.len() == 1 {
            return true;
        }
        let boxes: Vec<Bounds> = self.rings.iter().map(|r| r.bounds).collect();
        let index = BoxIndex::new(&boxes);
        self.rings.iter().enumerate().all(|(number, ring)| {
            let mut around = Vec::new();
            index.each_touching(&ring.bounds, |other| {
                if other != number && self.is_within(ring, &self.rings[other]) {
                    around.push(other);
                }
            });
            let hole_of = |outer: usize| around.iter().any(|&r| r != outer && self.rings[r].outer == outer);
            if ring.outer == number {
                around.iter().filter(|&&r| self.rings[r].outer == r).all(|&r| hole_of(r))
            } else {
                around.contains(&ring.outer) && !hole_of(ring.outer)
            }
        })
    }

    /// Whether a ring lies inside another that it may touch but does not cross.
    fn is_within(&self, ring: &Ring, other: &Ring) -> bool {
        if !(other.bounds.holds(ring.bounds.min) && other.bounds.holds(ring.bounds.max)) {
            return false;
        }
        let (places, around) = (self.ring(ring), self.ring(other));
        let corners = places.iter().copied();
        let middles = places.iter().zip(places.iter().cycle().skip(1)).map(|(a, b)| [0, 1].map(|k| f64::midpoint(a[k], b[k])));
        corners.chain(middles).map(|p| side(around, p)).find(|s| *s != Side::On) == Some(Side::Inside)
    }
}

/// One line of a ring.
#[derive(Clone, Copy, Debug)]
struct Line {
    a: Xy,
    b: Xy,
    ring: usize,
    at: usize,
    bounds: Bounds,
}

/// Whether the path a → b → c runs back over itself.
fn turns_back(a: Xy, b: Xy, c: Xy) -> bool {
    (a[0] - b[0]) * (c[0] - b[0]) + (a[1] - b[1]) * (c[1] - b[1]) > 0.0 && turn(a, b, c) == 0
}

/// Whether a short ring neither crosses nor touches itself, by looking at every pair of lines unless it goes round its middle.
fn is_simple(ring: &[Xy]) -> bool {
    let n = ring.len();
    let end = |i: usize| ring[if i + 1 == n { 0 } else { i + 1 }];
    if goes_round_once(ring) {
        return true;
    }
    for i in 0..n {
        let (a, b) = (ring[i], end(i));
        if turns_back(a, b, end((i + 1) % n)) {
            return false;
        }
        let (low, high) = ([a[0].min(b[0]), a[1].min(b[1])], [a[0].max(b[0]), a[1].max(b[1])]);
        let others = i + 2..if i == 0 { n - 1 } else { n };
        for (c, d) in others.map(|j| (ring[j], end(j))) {
            let apart = (c[0] < low[0] && d[0] < low[0])
                || (c[0] > high[0] && d[0] > high[0])
                || (c[1] < low[1] && d[1] < low[1])
                || (c[1] > high[1] && d[1] > high[1]);
            if !apart && meeting(a, b, c, d) != Meeting::Apart {
                return false;
            }
        }
    }
    true
}

/// Whether every line of a ring goes the same way round the middle of its places, and all together once: it cannot meet itself then. Most
/// lots are so; that others are not says nothing.
fn goes_round_once(ring: &[Xy]) -> bool {
    let share = 1.0 / ring.len() as f64;
    let middle = [0, 1].map(|k| ring.iter().map(|p| p[k]).sum::<f64>() * share);
    let Some(&last) = ring.last() else { return false };
    let (way, mut times, mut a) = (turn(middle, last, ring[0]), 0, last);
    for &b in ring {
        if way == 0 || turn(middle, a, b) != way {
            return false;
        }
        // Going one way round it passes the height of the middle upwards once each time.
        times += u32::from(a[1] <= middle[1] && middle[1] < b[1]);
        a = b;
    }
    times == 1
}

/// Whether rings that touch leave the interior in one piece: rings and the places where they touch, joined up, make no
/// loop.
fn interior_is_whole(rings: usize, touches: &mut [(usize, usize, Xy)]) -> bool {
    touches.sort_by(|a, b| a.2[0].total_cmp(&b.2[0]).then(a.2[1].total_cmp(&b.2[1])));
    let mut edges: Vec<(usize, usize)> = Vec::new();
    let mut node = rings;
    for (i, touch) in touches.iter().enumerate() {
        if i > 0 && touches[i - 1].2 != touch.2 {
            node += 1;
        }
        edges.extend([(touch.0, node), (touch.1, node)]);
    }
    edges.sort_unstable();
    edges.dedup();
    let mut leader: Vec<usize> = (0..=node).collect();
    edges.into_iter().all(|(ring, place)| {
        let (a, b) = (led_by(&mut leader, ring), led_by(&mut leader, place));
        leader[a] = b;
        a != b
    })
}

/// The leader of a node's group, shortening the way to it.
fn led_by(leader: &mut [usize], mut node: usize) -> usize {
    while leader[node] != node {
        leader[node] = leader[leader[node]];
        node = leader[node];
    }
    node
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// An outline written as `make_validity.py` writes it.
    pub(in crate::place) fn raw(text: &str) -> RawShapes {
        let mut raw = RawShapes::default();
        for part in text.split('/') {
            for ring in part.split('|') {
                let numbers: Vec<f64> = ring.split(' ').map(|n| n.parse().unwrap()).collect();
                raw.xy.extend(numbers.chunks(2).map(|p| [p[0], p[1]]));
                raw.end_ring();
            }
            raw.end_part();
        }
        raw.end_shape();
        raw
    }

    /// 823 outlines with the verdict of GEOS 3.14.1 (shapely 2.2.0): `tests-data/make_validity.py`.
    #[test]
    fn judges_as_geos_does() {
        let (mut valid, mut all) = (0, 0);
        for line in include_str!("../../tests-data/validity.tsv").lines() {
            let mut fields = line.split('\t');
            let wanted = fields.next() == Some("1");
            let text = fields.nth(2).unwrap();
            assert_eq!(invalid_shapes(&raw(text)).is_empty(), wanted, "{text}");
            valid += usize::from(wanted);
            all += 1;
        }
        assert!(all > 800 && valid > 100, "{valid} of {all}");
    }
}
