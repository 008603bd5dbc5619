//! Takes strings of neighbouring stops out of neighbouring walks.

use super::draft::Draft;
use super::ground::{Ground, Node};
use super::random::Chance;

/// Stops taken out in one ruin, on average.
const MEAN_TAKEN: f64 = 10.0;
/// The longest string taken from one walk.
const LONGEST_STRING: f64 = 10.0;
/// How often a string keeps some stops in its middle.
const SPLIT: f64 = 0.5;
/// How often the kept middle ends before it grows by another stop.
const SPLIT_ENDS: f64 = 0.01;

/// Takes strings of stops out of the walks round a stop; lists what it took.
///
/// # Source
/// J. Christiaens, G. Vanden Berghe, Slack induction by string removals for vehicle routing problems,
/// Transportation Science 54 (2020): adjacent string removal with its published parameters; from memory.
pub(super) fn take_strings(ground: &Ground, draft: &mut Draft, chance: &mut Chance, seed: Node, taken: &mut Vec<Node>) {
    let walks = draft.walks.iter().filter(|w| !w.is_empty()).count();
    if walks == 0 {
        return;
    }
    let visited: usize = draft.walks.iter().map(|w| w.stops().len()).sum();
    let longest = LONGEST_STRING.min(visited as f64 / walks as f64).max(1.0);
    let most_strings = 4.0 * MEAN_TAKEN / (1.0 + longest) - 1.0;
    let strings = (chance.share() * most_strings + 1.0).floor() as usize;
    let mut ruined: Vec<usize> = Vec::with_capacity(strings);
    for &node in std::iter::once(&seed).chain(ground.near(seed)) {
        if ruined.len() >= strings {
            break;
        }
        let Some(walk) = draft.walk_index(node).filter(|w| !ruined.contains(w)) else { continue };
        let longest_here = longest.min(draft.walks[walk].stops().len() as f64);
        let length = (chance.share() * longest_here + 1.0).floor().min(longest_here).max(1.0) as usize;
        take_string(ground, draft, chance, (walk, node), length, taken);
        ruined.push(walk);
    }
    draft.recount(ground);
}

/// Takes one string of so many stops round a node; sometimes its middle stays.
fn take_string(ground: &Ground, draft: &mut Draft, chance: &mut Chance, at: (usize, Node), length: usize, taken: &mut Vec<Node>) {
    let (walk, node) = at;
    let stops = draft.walks[walk].stops();
    let count = stops.len();
    let index = stops.iter().position(|n| *n == node).unwrap_or(0);
    let mut middle = 0;
    if length > 1 && chance.share() < SPLIT {
        middle = 1;
        while length + middle < count && chance.share() > SPLIT_ENDS {
            middle += 1;
        }
        middle = middle.min(count - length);
    }
    let whole = length + middle;
    let lowest = (index + 1).saturating_sub(whole);
    let highest = index.min(count - whole);
    // Nodes begin with the start, so the stop at `i` is node `i + 1`.
    let first = 1 + lowest + chance.below(highest - lowest + 1);
    let kept_from = first + if middle > 0 { 1 + chance.below(length - 1) } else { length };
    draft.take_out(ground, walk, kept_from + middle..first + whole, taken);
    draft.take_out(ground, walk, first..kept_from, taken);
}
