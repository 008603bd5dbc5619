//! Cutting centrelines where they meet, and joining what meets.

use super::kerbs::{SHARP, apart};
use super::{NetworkReport, Stretch, Walking};
use crate::place::{Bounds, BoxIndex, Local};
use crate::survey::{StreetClass, Streets};
use std::collections::{BTreeMap, HashMap};

/// Streets cut into stretches between junctions.
#[derive(Debug, Default)]
pub(super) struct Drawn {
    pub stretches: Vec<Stretch>,
    pub places: Vec<Local>,
    /// Where the junctions are.
    pub nodes: Vec<Local>,
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
}

/// Places of two lines nearer than this are the same, in metres; less than any survey's accuracy.
const SAME: f64 = 0.01;
/// Streets are cut where they come this near to a barrier, in metres, so that the rest is walked and crossed as ever.
const NEAR: f64 = SHARP + 1.0;
/// How far apart the places are at which the distance to a barrier is looked at, in metres.
const LOOK: f64 = 2.0;
/// No cut for a barrier lies nearer to another one than this, in metres: the corners of a junction reach so far.
const ROOM: f64 = 15.0;

/// Cuts and joins all streets that people walk.
pub(super) fn drawn(streets: &Streets, walking: &Walking) -> Drawn {
    let runs = runs(streets);
    let mut cutting = Cutting::new(&runs, walking);
    cutting.cut();
    let (node_of, nodes) = joined(&cutting.cuts, walking.join);
    let mut drawn = Drawn { nodes, report: cutting.report, ..Drawn::default() };
    let mut order: Vec<usize> = (0..cutting.cuts.len()).collect();
    let cuts = &cutting.cuts;
    order.sort_by(|&a, &b| (cuts[a].run.cmp(&cuts[b].run)).then(cuts[a].along.total_cmp(&cuts[b].along)).then(a.cmp(&b)));
    for pair in order.windows(2).filter(|w| cuts[w[0]].run == cuts[w[1]].run) {
        let (a, b) = (pair[0], pair[1]);
        let run = &runs[cuts[a].run as usize];
        stretch(&mut drawn, run, (&cuts[a], node_of[a]), (&cuts[b], node_of[b]), walking);
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
    drawn.stretches.push(Stretch { street: run.street, class: run.class, nodes: [a, b], places, length });
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

/// The shares of two straight pieces at which they cross, where both are shares that are meant.
pub(super) fn crossing((a, b): (Local, Local), (c, d): (Local, Local), meant: impl Fn(f64) -> bool) -> Option<(f64, f64)> {
    let (r, s) = ((b.x - a.x, b.y - a.y), (d.x - c.x, d.y - c.y));
    let det = r.0 * s.1 - r.1 * s.0;
    if det == 0.0 {
        return None;
    }
    let (t, u) = (((c.x - a.x) * s.1 - (c.y - a.y) * s.0) / det, ((c.x - a.x) * r.1 - (c.y - a.y) * r.0) / det);
    (meant(t) && meant(u)).then_some((t, u))
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
                self.cuts.push(Cut { run: i as u32, along: run.along[k], place: run.places[k] });
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
        self.cut_near_barriers(&index);
    }

    /// Cuts every street where it comes near a barrier and where it leaves it again.
    fn cut_near_barriers(&mut self, index: &BoxIndex) {
        let walking = self.walking;
        let mut near: BTreeMap<u32, Vec<f64>> = BTreeMap::new();
        for wall in walking.barriers.iter().flat_map(|b| b.windows(2)) {
            index.each_touching(&Bounds::of(wall).grown(NEAR), |i| {
                let piece = self.pieces[i];
                let (a, b) = self.ends(piece);
                if apart((a, b), (wall[0], wall[1])) <= NEAR {
                    let steps = (a.distance(b) / LOOK).ceil().max(1.0) as u32;
                    let shares = (0..=steps).map(|k| f64::from(k) / f64::from(steps));
                    let beside = shares.filter(|&t| foot(wall[0], wall[1], between(a, b, t)).1 <= NEAR);
                    let before = self.run(piece).along[piece.at as usize];
                    near.entry(piece.run).or_default().extend(beside.map(|t| before + t * a.distance(b)));
                }
            });
        }
        for (run, mut metres) in near {
            metres.sort_by(f64::total_cmp);
            let gaps = metres.windows(2).filter(|w| w[1] - w[0] > ROOM).flat_map(|w| [w[0], w[1]]);
            let ends = metres.first().into_iter().chain(metres.last()).copied();
            let wanted: Vec<f64> = gaps.chain(ends).collect();
            wanted.into_iter().for_each(|along| self.cut_with_room(run, along));
        }
    }

    /// Cuts a run so many metres along it, unless that is too near to another cut.
    fn cut_with_room(&mut self, run: u32, along: f64) {
        if self.cuts.iter().all(|c| c.run != run || (c.along - along).abs() >= ROOM) {
            let of = &self.runs[run as usize];
            let at = of.along.partition_point(|&a| a <= along).clamp(1, of.places.len() - 1) - 1;
            let length = of.along[at + 1] - of.along[at];
            let share = if length > 0.0 { (along - of.along[at]) / length } else { 0.0 };
            self.cuts.push(Cut { run, along, place: between(of.places[at], of.places[at + 1], share) });
        }
    }

    fn add(&mut self, piece: Piece, share: f64) {
        let (a, b) = self.ends(piece);
        let along = self.run(piece).along[piece.at as usize] + share * a.distance(b);
        self.cuts.push(Cut { run: piece.run, along, place: between(a, b, share) });
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
        if let Some((t, u)) = crossing(self.ends(p), self.ends(q), |share| share > 0.0 && share < 1.0) {
            self.report.crossings_joined += 1;
            self.add(p, t);
            self.add(q, u);
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
                self.add(p, share);
            }
            // Ends that meet ends are joined as they are.
            let own_end = (t == 0.0 && q.at == 0) || (t == 1.0 && q.at as usize + 2 == self.run(q).places.len());
            if !own_end {
                self.add(q, t);
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

/// The junction at each cut, and where the junctions are. Cuts within the tolerance of each other are one junction.
fn joined(cuts: &[Cut], join: f64) -> (Vec<u32>, Vec<Local>) {
    let mut groups = Groups::new(cuts.len());
    let cell = |p: Local| ((p.x / join).floor() as i64, (p.y / join).floor() as i64);
    let mut cells: HashMap<(i64, i64), Vec<u32>> = HashMap::new();
    for (i, cut) in cuts.iter().enumerate() {
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
    for i in 0..cuts.len() {
        let root = groups.of(i as u32) as usize;
        if number[root] == u32::MAX {
            number[root] = nodes.len() as u32;
            nodes.push(cuts[root].place);
        }
        out.push(number[root]);
    }
    (out, nodes)
}
