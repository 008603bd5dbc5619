//! Streets between premises and round blocks.

use crate::place::{Bounds, BoxIndex, Local, Shapes};
use crate::survey::Streets;
use rayon::prelude::*;
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
        self.index.any_touching(&Bounds::of(&[p, q]), |i| meet(p, q, self.pieces[i].0, self.pieces[i].1))
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
    let of_street = |i: usize| {
        let mut steps_beside: BTreeMap<u32, u32> = BTreeMap::new();
        let mut beside: Vec<u32> = Vec::new();
        for place in streets.line.get(i).rings().flat_map(steps) {
            beside.clear();
            index.each_touching(&Bounds::of(&[place]).grown(ALONG), |i| beside.extend(of_premise[i]));
            beside.sort_unstable();
            beside.dedup();
            beside.iter().for_each(|&group| *steps_beside.entry(group).or_default() += 1);
        }
        steps_beside
    };
    let named: Vec<usize> = (0..streets.len()).filter(|&i| !streets.name.get(i).trim().is_empty()).collect();
    let counted: Vec<BTreeMap<u32, u32>> = named.par_iter().map(|&i| of_street(i)).collect();
    let mut out = vec![BTreeMap::new(); groups];
    for (&i, steps_beside) in named.iter().zip(counted) {
        let name = streets.name.get(i).trim();
        steps_beside.into_iter().for_each(|(group, steps)| *out[group as usize].entry(name).or_insert(0) += steps);
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

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn at(x: f64, y: f64) -> Local {
        Local { x, y }
    }

    /// Two lots of 20 m by 30 m on either side of a street of 16 m, and one far from all streets.
    fn lots() -> Shapes {
        let mut s = Shapes::default();
        for (x, y) in [(0.0, 8.0), (0.0, -38.0), (20.0, 8.0), (0.0, 900.0)] {
            s.push_ring(&[(0.0, 0.0), (20.0, 0.0), (20.0, 30.0), (0.0, 30.0)].map(|(dx, dy)| at(x + dx, y + dy)));
            s.end_part();
            s.end_shape();
        }
        s
    }

    fn streets(runs: &[(&str, [Local; 2])]) -> Streets {
        let mut line = Shapes::default();
        for (_, run) in runs {
            line.push_ring(run);
            line.end_part();
            line.end_shape();
        }
        Streets { name: Arc::new(runs.iter().map(|r| r.0).collect()), line: Arc::new(line), ..Streets::default() }
    }

    #[test]
    fn a_street_between_is_crossed_and_one_beside_is_not() {
        let crossings = Crossings::new(&streets(&[("Anvil Street", [at(-50.0, 0.0), at(90.0, 0.0)])]));
        assert!(crossings.any_between(at(10.0, 23.0), at(10.0, -23.0)));
        assert!(!crossings.any_between(at(10.0, 23.0), at(30.0, 23.0)));
        assert!(!Crossings::new(&Streets::default()).any_between(at(10.0, 23.0), at(10.0, -23.0)));
    }

    #[test]
    fn blocks_are_named_by_the_street_they_lie_along_most_and_each_only_once() {
        let runs = [
            ("Bellows Street", [at(-12.0, -60.0), at(-12.0, 20.0)]),
            ("Anvil Street", [at(-50.0, 0.0), at(90.0, 0.0)]),
            (" ", [at(0.0, 45.0), at(40.0, 45.0)]),
        ];
        let of_premise = [Some(0), Some(1), Some(2), Some(3)];
        let found = names(&lots(), &of_premise, 4, &streets(&runs));
        assert_eq!(found, ["Anvil Street / Bellows Street", "Bellows Street / Anvil Street", "Anvil Street", "Block 4"]);
        let twice = names(&lots(), &of_premise, 4, &streets(&runs[1..]));
        assert_eq!(twice, ["Anvil Street (1)", "Anvil Street (2)", "Anvil Street (3)", "Block 4"]);
    }
}
