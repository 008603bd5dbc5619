//! Cutting centrelines where they meet, and joining what meets.

use super::{NetworkReport, Stretch, Walking};
use crate::place::{Bounds, BoxIndex, Local};
use crate::survey::{StreetClass, Streets};
use std::collections::HashMap;

/// Streets cut into stretches between junctions.
#[derive(Debug, Default)]
pub(super) struct Drawn {
    pub stretches: Vec<Stretch>,
    pub places: Vec<Local>,
    /// Where the junctions are.
    pub nodes: Vec<Local>,
    /// The two ends at each place where a barrier cuts a street.
    pub severed: Vec<[u32; 2]>,
    pub report: NetworkReport,
}

/// One run of a centreline, with the metres up to each place.
struct Run<'a> {
    street: u32,
    level: i8,
    class: StreetClass,
    places: &'a [Local],
    along: Vec<f64>,
}

/// One straight piece of a run.
#[derive(Clone, Copy)]
struct Piece {
    run: u32,
    at: u32,
}

/// A place where a run is cut.
#[derive(Clone, Copy)]
struct Cut {
    run: u32,
    along: f64,
    place: Local,
    /// Cut by a barrier: nothing is joined here.
    barrier: bool,
}

/// Places of two lines nearer than this are the same, in metres; less than any survey's accuracy.
const SAME: f64 = 0.01;
/// A stretch runs along a barrier where it is nearer than this, in metres: half a wide street.
const BESIDE: f64 = 12.0;

/// Cuts and joins all streets that people walk.
pub(super) fn drawn(streets: &Streets, walking: &Walking) -> Drawn {
    let runs = runs(streets);
    let mut cutting = Cutting::new(&runs, walking);
    cutting.cut();
    let (node_of, nodes) = joined(&cutting.cuts, walking.join);
    let severed = cutting.cuts.iter().zip(&node_of).filter(|(c, _)| c.barrier).map(|(_, ends)| *ends).collect();
    let mut drawn = Drawn { nodes, severed, report: cutting.report, ..Drawn::default() };
    let mut order: Vec<usize> = (0..cutting.cuts.len()).collect();
    let cuts = &cutting.cuts;
    order.sort_by(|&a, &b| (cuts[a].run.cmp(&cuts[b].run)).then(cuts[a].along.total_cmp(&cuts[b].along)).then(a.cmp(&b)));
    for pair in order.windows(2).filter(|w| cuts[w[0]].run == cuts[w[1]].run) {
        let (a, b) = (pair[0], pair[1]);
        let run = &runs[cuts[a].run as usize];
        stretch(&mut drawn, run, (&cuts[a], node_of[a][1]), (&cuts[b], node_of[b][0]), walking);
    }
    drawn.report.stretches = drawn.stretches.len();
    drawn.report.junctions = drawn.nodes.len();
    drawn
}

fn runs(streets: &Streets) -> Vec<Run<'_>> {
    let mut out = Vec::new();
    for i in 0..streets.len() {
        let class = streets.class_of(i);
        if class == StreetClass::NotOnFoot {
            continue;
        }
        for places in streets.line.get(i).rings().filter(|r| r.len() > 1) {
            let mut sum = 0.0;
            let rest = places.windows(2).map(|w| {
                sum += w[0].distance(w[1]);
                sum
            });
            let along: Vec<f64> = std::iter::once(0.0).chain(rest).collect();
            out.push(Run { street: i as u32, level: streets.level_of(i), class, places, along });
        }
    }
    out
}

/// Adds the stretch between two cuts of a run, unless it is too short to be one.
fn stretch(drawn: &mut Drawn, run: &Run<'_>, (from, a): (&Cut, u32), (to, b): (&Cut, u32), walking: &Walking) {
    let length = to.along - from.along;
    if length <= SAME || (a == b && length <= 2.0 * walking.join) {
        return;
    }
    let first = drawn.places.len() as u32;
    drawn.places.push(from.place);
    let inner = (0..run.places.len()).filter(|&k| run.along[k] > from.along + SAME && run.along[k] < to.along - SAME);
    drawn.places.extend(inner.map(|k| run.places[k]));
    drawn.places.push(to.place);
    let places = first..drawn.places.len() as u32;
    let barred = beside_barrier(&drawn.places[first as usize..], &walking.barriers);
    drawn.stretches.push(Stretch { street: run.street, class: run.class, nodes: [a, b], places, length, barred });
}

/// Whether at least half of a stretch runs along a barrier.
fn beside_barrier(places: &[Local], barriers: &[Vec<Local>]) -> bool {
    if barriers.is_empty() {
        return false;
    }
    let looked = places.windows(2).flat_map(|w| [0.125, 0.375, 0.625, 0.875].map(|t| (between(w[0], w[1], t), w[0].distance(w[1]))));
    let (mut all, mut along) = (0.0, 0.0);
    for (p, length) in looked {
        all += length;
        along += if beside(p, barriers) { length } else { 0.0 };
    }
    along * 2.0 >= all
}

fn beside(p: Local, barriers: &[Vec<Local>]) -> bool {
    barriers.iter().flat_map(|b| b.windows(2)).any(|w| foot(w[0], w[1], p).1 <= BESIDE)
}

/// The place so many metres along a line, or its end.
fn from_first(line: &[Local], metres: f64) -> Local {
    let mut left = metres;
    for w in line.windows(2) {
        let length = w[0].distance(w[1]);
        if length >= left && length > 0.0 {
            return between(w[0], w[1], left / length);
        }
        left -= length;
    }
    line[line.len() - 1]
}

/// Whether two straight pieces differ by less than 30 degrees, whichever way they are drawn.
fn same_way((a, b): (Local, Local), (c, d): (Local, Local)) -> bool {
    let turned = (b.x - a.x) * (d.y - c.y) - (b.y - a.y) * (d.x - c.x);
    turned.abs() <= 0.5 * a.distance(b) * c.distance(d)
}

/// The share of a straight piece that lies before the place nearest to `p`, and how far that is, in metres.
pub(super) fn foot(a: Local, b: Local, p: Local) -> (f64, f64) {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let square = dx * dx + dy * dy;
    let t = if square > 0.0 { (((p.x - a.x) * dx + (p.y - a.y) * dy) / square).clamp(0.0, 1.0) } else { 0.0 };
    (t, between(a, b, t).distance(p))
}

/// The place at a share of the way from one place to another.
pub(super) fn between(a: Local, b: Local, t: f64) -> Local {
    Local { x: a.x + (b.x - a.x) * t, y: a.y + (b.y - a.y) * t }
}

/// The shares of two straight pieces at which they cross inside both.
pub(super) fn crossing((a, b): (Local, Local), (c, d): (Local, Local)) -> Option<(f64, f64)> {
    let (r, s) = ((b.x - a.x, b.y - a.y), (d.x - c.x, d.y - c.y));
    let det = r.0 * s.1 - r.1 * s.0;
    if det == 0.0 {
        return None;
    }
    let (t, u) = (((c.x - a.x) * s.1 - (c.y - a.y) * s.0) / det, ((c.x - a.x) * r.1 - (c.y - a.y) * r.0) / det);
    let inside = |v: f64| v > 0.0 && v < 1.0;
    (inside(t) && inside(u)).then_some((t, u))
}

struct Cutting<'a> {
    runs: &'a [Run<'a>],
    pieces: Vec<Piece>,
    walking: &'a Walking,
    cuts: Vec<Cut>,
    report: NetworkReport,
}

impl<'a> Cutting<'a> {
    fn new(runs: &'a [Run<'a>], walking: &'a Walking) -> Self {
        let of_run = |r: usize| (0..runs[r].places.len() as u32 - 1).map(move |at| Piece { run: r as u32, at });
        let pieces: Vec<Piece> = (0..runs.len()).flat_map(of_run).collect();
        Self { runs, pieces, walking, cuts: Vec::new(), report: NetworkReport::default() }
    }

    fn run(&self, piece: Piece) -> &'a Run<'a> {
        &self.runs[piece.run as usize]
    }

    fn ends(&self, piece: Piece) -> (Local, Local) {
        let at = piece.at as usize;
        (self.run(piece).places[at], self.run(piece).places[at + 1])
    }

    /// Finds all cuts: the ends of every run, the places where runs meet, the barriers.
    fn cut(&mut self) {
        for (i, run) in self.runs.iter().enumerate() {
            let last = run.places.len() - 1;
            for k in [0, last] {
                self.cuts.push(Cut { run: i as u32, along: run.along[k], place: run.places[k], barrier: false });
            }
        }
        let boxes: Vec<Bounds> = self.pieces.iter().map(|&p| self.ends(p)).map(|(a, b)| Bounds::of(&[a, b])).collect();
        let index = BoxIndex::new(&boxes);
        let mut near = Vec::new();
        for (i, bounds) in boxes.iter().enumerate() {
            near.clear();
            index.each_touching(&bounds.grown(self.walking.join), |j| near.extend((j > i).then_some(j)));
            for &j in &near {
                self.meet(self.pieces[i], self.pieces[j]);
            }
        }
        self.cut_by_barriers(&index);
    }

    /// Cuts every street where a barrier crosses it. A barrier that lies along streets from end to end is those streets: nobody crosses
    /// them, and the streets that join them still lead there. Any other barrier cuts what it meets, be it a metre beside a junction.
    fn cut_by_barriers(&mut self, index: &BoxIndex) {
        let walking = self.walking;
        for barrier in &walking.barriers {
            let is_street = self.lies_along_streets(index, barrier);
            for wall in barrier.windows(2) {
                let mut near = Vec::new();
                index.each_touching(&Bounds::of(wall), |i| near.push(self.pieces[i]));
                for piece in near {
                    if let Some((t, _)) = crossing(self.ends(piece), (wall[0], wall[1]))
                        && !(is_street && self.at_junction_of_barred(piece, t, barrier))
                    {
                        self.add(piece, t, true);
                    }
                }
            }
        }
    }

    /// Whether a barrier is nowhere far from a street that goes the same way.
    fn lies_along_streets(&self, index: &BoxIndex, barrier: &[Local]) -> bool {
        let along = |wall: &[Local], p: Local| {
            let mut found = false;
            index.each_touching(&Bounds::of(&[p]).grown(BESIDE), |i| {
                let (a, b) = self.ends(self.pieces[i]);
                found |= foot(a, b, p).1 <= BESIDE && same_way((a, b), (wall[0], wall[1]));
            });
            found
        };
        barrier.windows(2).all(|wall| {
            let steps = (wall[0].distance(wall[1]) / BESIDE).ceil().max(1.0) as u32;
            (0..=steps).all(|k| along(wall, between(wall[0], wall[1], f64::from(k) / f64::from(steps))))
        })
    }

    /// Whether a barrier meets a street at its junction with others that run along the barrier, and all of those are barred: then it is
    /// those that nobody crosses, and this one still leads to them.
    fn at_junction_of_barred(&self, piece: Piece, share: f64, barrier: &[Local]) -> bool {
        let (a, b) = self.ends(piece);
        let place = between(a, b, share);
        let near = |c: &&Cut| !c.barrier && c.place.distance(place) <= BESIDE;
        if !self.cuts.iter().filter(near).any(|c| c.run == piece.run) {
            return false;
        }
        let arms = self.cuts.iter().filter(near).filter(|c| c.run != piece.run).flat_map(|c| self.arms(c));
        let barriers = [barrier.to_vec()];
        let mut along = arms.filter(|arm| beside(from_first(arm, 1.5 * BESIDE), &barriers)).peekable();
        along.peek().is_some() && along.all(|arm| beside_barrier(&arm, &barriers))
    }

    /// The stretches of a run on both sides of a cut, each from the cut to the next one.
    fn arms(&self, cut: &Cut) -> Vec<Vec<Local>> {
        let run = &self.runs[cut.run as usize];
        let others = || self.cuts.iter().filter(|c| c.run == cut.run && !c.barrier);
        let next = others().filter(|c| c.along > cut.along + SAME).min_by(|a, b| a.along.total_cmp(&b.along));
        let before = others().filter(|c| c.along < cut.along - SAME).max_by(|a, b| a.along.total_cmp(&b.along));
        let stretch = |to: &Cut| {
            let (low, high) = (to.along.min(cut.along) + SAME, to.along.max(cut.along) - SAME);
            let mut inner: Vec<Local> =
                (0..run.places.len()).filter(|&k| run.along[k] > low && run.along[k] < high).map(|k| run.places[k]).collect();
            if to.along < cut.along {
                inner.reverse();
            }
            [&[cut.place][..], &inner, &[to.place]].concat()
        };
        [next, before].into_iter().flatten().map(stretch).collect()
    }

    fn add(&mut self, piece: Piece, share: f64, barrier: bool) {
        let (a, b) = self.ends(piece);
        let along = self.run(piece).along[piece.at as usize] + share * a.distance(b);
        self.cuts.push(Cut { run: piece.run, along, place: between(a, b, share), barrier });
    }

    /// Cuts two pieces where they meet.
    fn meet(&mut self, p: Piece, q: Piece) {
        let neighbours = p.run == q.run && p.at.abs_diff(q.at) <= 1;
        if neighbours {
            return;
        }
        let same_level = self.run(p).level == self.run(q).level;
        let touched = self.touch(p, q, same_level) | self.touch(q, p, same_level);
        if touched || !same_level {
            return;
        }
        if let Some((t, u)) = crossing(self.ends(p), self.ends(q)) {
            self.report.crossings_joined += 1;
            self.add(p, t, false);
            self.add(q, u, false);
        }
    }

    /// Cuts `q` where a place of `p` lies on it; an end of a run is joined from within the tolerance.
    fn touch(&mut self, p: Piece, q: Piece, same_level: bool) -> bool {
        let (c, d) = self.ends(q);
        let last = self.run(p).places.len() as u32 - 1;
        let mut touched = false;
        for (share, k) in [(0.0, p.at), (1.0, p.at + 1)] {
            let place = self.run(p).places[k as usize];
            let (t, metres) = foot(c, d, place);
            let is_end = k == 0 || k == last;
            if metres > if is_end { self.walking.join } else { SAME } || !(is_end || same_level) {
                continue;
            }
            touched = true;
            self.report.ends_joined += usize::from(is_end && metres > SAME);
            if !is_end {
                self.add(p, share, false);
            }
            // Ends that meet ends are joined as they are.
            let own_end = (t == 0.0 && q.at == 0) || (t == 1.0 && q.at as usize + 2 == self.run(q).places.len());
            if !own_end {
                self.add(q, t, false);
            }
        }
        touched
    }
}

/// Numbers united into groups, each called by its smallest number.
pub(super) struct Groups(Vec<u32>);

impl Groups {
    pub(super) fn new(count: usize) -> Self {
        Self((0..count as u32).collect())
    }

    pub(super) fn of(&mut self, mut i: u32) -> u32 {
        while self.0[i as usize] != i {
            self.0[i as usize] = self.0[self.0[i as usize] as usize];
            i = self.0[i as usize];
        }
        i
    }

    pub(super) fn unite(&mut self, a: u32, b: u32) {
        let (a, b) = (self.of(a), self.of(b));
        self.0[a.max(b) as usize] = a.min(b);
    }
}

/// The junction before and after each cut, and where the junctions are. Cuts within the tolerance of each other are one
/// junction; at a barrier the two sides are apart.
fn joined(cuts: &[Cut], join: f64) -> (Vec<[u32; 2]>, Vec<Local>) {
    let mut groups = Groups::new(cuts.len());
    let cell = |p: Local| ((p.x / join).floor() as i64, (p.y / join).floor() as i64);
    let mut cells: HashMap<(i64, i64), Vec<u32>> = HashMap::new();
    for (i, cut) in cuts.iter().enumerate().filter(|(_, c)| !c.barrier) {
        let (x, y) = cell(cut.place);
        for key in (x - 1..=x + 1).flat_map(|x| (y - 1..=y + 1).map(move |y| (x, y))) {
            for &j in cells.get(&key).into_iter().flatten() {
                if cuts[j as usize].place.distance(cut.place) <= join {
                    groups.unite(i as u32, j);
                }
            }
        }
        cells.entry((x, y)).or_default().push(i as u32);
    }
    let (mut nodes, mut number) = (Vec::new(), vec![u32::MAX; cuts.len()]);
    let mut out = Vec::with_capacity(cuts.len());
    for (i, cut) in cuts.iter().enumerate() {
        if cut.barrier {
            nodes.extend([cut.place, cut.place]);
            out.push([nodes.len() as u32 - 2, nodes.len() as u32 - 1]);
            continue;
        }
        let root = groups.of(i as u32) as usize;
        if number[root] == u32::MAX {
            number[root] = nodes.len() as u32;
            nodes.push(cuts[root].place);
        }
        out.push([number[root]; 2]);
    }
    (out, nodes)
}
