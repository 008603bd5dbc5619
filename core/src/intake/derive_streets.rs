//! Streets between premises and round blocks.

use crate::place::{Bounds, BoxIndex, Local, Shapes};
use crate::survey::{Streets, Strings};
use std::collections::{BTreeMap, HashMap};

/// A block lies along a street when its ground is this near to the centreline, in metres.
const ALONG: f64 = 25.0;
/// Streets are looked at in steps of this length, in metres.
const STEP: f64 = 15.0;
/// How many streets a block is named by.
const NAMES: usize = 3;

/// All centrelines, ready to be asked what they cross.
pub(super) struct Crossings {
    pieces: Vec<(Local, Local)>,
    index: BoxIndex,
}

impl Crossings {
    pub(super) fn new(streets: &Streets) -> Self {
        let runs = streets.line.iter().flat_map(|line| line.rings().collect::<Vec<_>>());
        let pieces: Vec<(Local, Local)> = runs.flat_map(|run| run.windows(2).map(|w| (w[0], w[1]))).collect();
        let boxes: Vec<Bounds> = pieces.iter().map(|(a, b)| Bounds::of(&[*a, *b])).collect();
        Self { index: BoxIndex::new(&boxes), pieces }
    }

    /// Whether a centreline crosses the straight line between two places.
    pub(super) fn any_between(&self, p: Local, q: Local) -> bool {
        let mut found = false;
        if !self.pieces.is_empty() {
            self.index.each_touching(&Bounds::of(&[p, q]), |i| found = found || meet(p, q, self.pieces[i].0, self.pieces[i].1));
        }
        found
    }
}

fn meet(p: Local, q: Local, r: Local, s: Local) -> bool {
    let side = |a: Local, b: Local, c: Local| (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
    side(p, q, r) * side(p, q, s) <= 0.0 && side(r, s, p) * side(r, s, q) <= 0.0
}

/// A name for each group of premises, each only once: the streets that most of it lies along, or a number where no named
/// street is near.
pub(super) fn names(outlines: &Shapes, of_premise: &[Option<u32>], groups: usize, streets: &Streets) -> Vec<String> {
    let along = along(outlines, of_premise, groups, streets);
    let plain: Vec<String> = along.iter().enumerate().map(|(i, streets)| plain_name(i, streets)).collect();
    let mut times: HashMap<&str, u32> = HashMap::new();
    plain.iter().for_each(|name| *times.entry(name).or_default() += 1);
    let mut so_far: HashMap<&str, u32> = HashMap::new();
    let mut out = Vec::with_capacity(plain.len());
    for name in &plain {
        let n = so_far.entry(name).or_default();
        *n += 1;
        out.push(if times[&**name] > 1 { format!("{name} ({n})") } else { name.clone() });
    }
    out
}

fn plain_name(i: usize, streets: &BTreeMap<&str, u32>) -> String {
    let mut most: Vec<(&str, u32)> = streets.iter().map(|(name, steps)| (*name, *steps)).collect();
    most.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
    most.truncate(NAMES);
    match most.as_slice() {
        [] => format!("Block {}", i + 1),
        some => some.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(" / "),
    }
}

/// For each group, how many steps of each named street lie along it.
fn along<'s>(outlines: &Shapes, of_premise: &[Option<u32>], groups: usize, streets: &'s Streets) -> Vec<BTreeMap<&'s str, u32>> {
    let index = BoxIndex::new(outlines.bounds());
    let mut out = vec![BTreeMap::new(); groups];
    let mut beside: Vec<u32> = Vec::new();
    for (line, name) in streets.line.iter().zip(Strings::iter(&streets.name)).filter(|s| !s.1.trim().is_empty()) {
        for place in line.rings().flat_map(steps) {
            let here = Bounds::of(&[place]);
            beside.clear();
            index.each_touching(&here.grown(ALONG), |i| beside.extend(of_premise[i]));
            beside.sort_unstable();
            beside.dedup();
            for &group in &beside {
                *out[group as usize].entry(name.trim()).or_insert(0) += 1;
            }
        }
    }
    out
}

/// Places along a line, each in the middle of a step.
fn steps(run: &[Local]) -> impl Iterator<Item = Local> {
    run.windows(2).flat_map(|w| {
        let (a, b) = (w[0], w[1]);
        let n = (a.distance(b) / STEP).ceil().max(1.0) as u32;
        (0..n).map(move |k| {
            let share = (f64::from(k) + 0.5) / f64::from(n);
            Local { x: a.x + (b.x - a.x) * share, y: a.y + (b.y - a.y) * share }
        })
    })
}
