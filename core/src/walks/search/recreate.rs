//! Puts stops back, one after the other, each where it costs least.

use super::draft::Draft;
use super::ground::{Ground, Node};
use super::random::Chance;
use super::walk::Slot;
use crate::walks::Aim;

/// How often a slot is passed over.
const BLINK: f64 = 0.01;

/// Passes over about one in a hundred, drawing chance once a hundred rather than every time.
pub(super) struct Blinks<'a> {
    chance: &'a mut Chance,
    left: u32,
}

impl<'a> Blinks<'a> {
    /// Starts a stretch of open eyes.
    pub(super) fn new(chance: &'a mut Chance) -> Self {
        let left = Self::stretch(chance);
        Self { chance, left }
    }

    fn stretch(chance: &mut Chance) -> u32 {
        ((1.0 - chance.share()).ln() / (1.0 - BLINK).ln()) as u32
    }

    fn blink(&mut self) -> bool {
        if self.left > 0 {
            self.left -= 1;
            return false;
        }
        self.left = Self::stretch(self.chance);
        true
    }
}

/// Puts stops in where they cost least, in a random kind of order; those that fit nowhere stay out.
///
/// # Source
/// Greedy insertion with blinks, the orders and the one in a hundred: Christiaens and Vanden Berghe (2020), as in
/// [`super::ruin`]; the orders by prize are our own.
pub(super) fn put_back(ground: &Ground, draft: &mut Draft, chance: &mut Chance, stops: &mut [Node]) {
    put_in_order(ground, draft, chance, stops);
    let mut blinks = Blinks::new(chance);
    for node in stops.iter() {
        if let Some((walk, slot)) = cheapest(ground, draft, *node, &mut blinks) {
            draft.put_in(ground, walk, *node, slot);
        }
    }
}

/// The walk and the slot where a stop costs least.
pub(super) fn cheapest(ground: &Ground, draft: &Draft, node: Node, blinks: &mut Blinks) -> Option<(usize, Slot)> {
    let mut best: Option<(usize, Slot)> = None;
    let mut empty_seen: Option<f64> = None;
    for (index, walk) in draft.walks.iter().enumerate() {
        // Empty walks of the same length are all alike.
        if walk.is_empty() && empty_seen.replace(walk.room) == Some(walk.room) {
            continue;
        }
        let most = best.map_or(f64::INFINITY, |b| b.1.detour);
        if let Some(slot) = walk.cheapest_slot(ground, node, most, &mut || blinks.blink()) {
            best = Some((index, slot));
        }
    }
    best
}

fn put_in_order(ground: &Ground, draft: &Draft, chance: &mut Chance, stops: &mut [Node]) {
    chance.shuffle(stops);
    let depot = |n: Node| ground.travel(ground.start(), n) + ground.travel(n, ground.end());
    let by = |stops: &mut [Node], key: &dyn Fn(Node) -> f64| stops.sort_by(|a, b| key(*a).total_cmp(&key(*b)));
    if ground.aim == Aim::MostPrize {
        match chance.below(10) {
            0..3 => {}
            3..5 => by(stops, &|n| -ground.stop(n).prize),
            _ => by_worth(ground, draft, chance, stops),
        }
    } else {
        match chance.below(11) {
            0..4 => {}
            4..8 => by(stops, &|n| -ground.stop(n).demand),
            8..10 => by(stops, &|n| -depot(n)),
            _ => by(stops, &depot),
        }
    }
    // Must stops first: what is only worth something fills what they leave.
    if ground.aim == Aim::MostPrize && !draft.missing.is_empty() {
        stops.sort_by_key(|n| !ground.stop(*n).must);
    }
}

/// Orders by prize for each second that a stop costs where it costs least, shaken a little.
fn by_worth(ground: &Ground, draft: &Draft, chance: &mut Chance, stops: &mut [Node]) {
    let mut blinks = Blinks::new(chance);
    let mut worth: Vec<(f64, Node)> = Vec::with_capacity(stops.len());
    for node in stops.iter() {
        let stop = ground.stop(*node);
        let detour = cheapest(ground, draft, *node, &mut blinks).map_or(f64::INFINITY, |(_, slot)| slot.detour.max(0.0));
        worth.push((stop.prize / (detour + stop.service + 1e-3 * (1.0 + ground.step)), *node));
    }
    for (worth, _) in &mut worth {
        *worth *= 0.8 + 0.4 * chance.share();
    }
    worth.sort_by(|a, b| b.0.total_cmp(&a.0));
    stops.iter_mut().zip(worth).for_each(|(to, (_, from))| *to = from);
}
