//! Shortens walks by small moves until none helps: stretches moved or exchanged, ends exchanged, parts turned round.

use super::draft::Draft;
use super::ground::{Ground, Node};
use super::pieces::{Piece, Sums, joined, price};

/// Near stops tried as the next stop after each stop.
const TRIED: usize = 12;
/// The longest stretch that is moved or exchanged.
const STRETCH: usize = 3;

/// One or two walks laid together anew from pieces.
type Move = (usize, [Piece; 5], Option<(usize, [Piece; 3])>);

/// A local search over the walks of a draft.
#[derive(Debug, Default)]
pub(super) struct Polish {
    /// Index of each stop among its walk's nodes.
    index: Vec<usize>,
    sums: Vec<Sums>,
}

impl Polish {
    /// Shortens the walks round the given stops, and on from where that changed them, until no small move helps.
    ///
    /// # Source
    /// Or-opt: I. Or (1976); 2-opt: G. Croes (1958); exchanged ends: J.-Y. Potvin, J.-M. Rousseau (1995); exchanged
    /// stretches: É. Taillard et al. (1997); near stops only: P. Toth, D. Vigo (2003); walks priced from sums of
    /// their pieces: G. Kindervater, M. Savelsbergh (1997). From memory.
    pub(super) fn shorten(&mut self, ground: &Ground, draft: &mut Draft, mut waiting: Vec<Node>) {
        self.index.resize(ground.count(), 0);
        self.sums.resize_with(draft.walks.len(), Sums::default);
        (0..draft.walks.len()).for_each(|walk| self.sum(ground, draft, walk));
        while let Some(node) = waiting.pop() {
            if let Some(found) = self.better_after(ground, draft, node) {
                waiting.push(node);
                self.make(ground, draft, &found, &mut waiting);
            }
        }
    }

    fn sum(&mut self, ground: &Ground, draft: &Draft, walk: usize) {
        let nodes = &draft.walks[walk].nodes;
        self.sums[walk].fill(ground, nodes);
        for (i, node) in draft.walks[walk].stops().iter().enumerate() {
            self.index[*node as usize] = i + 1;
        }
    }

    /// A move that makes a near stop follow this one, and shortens the walks.
    fn better_after(&self, ground: &Ground, draft: &Draft, u: Node) -> Option<Move> {
        let a = draft.walk_index(u)?;
        let i = self.index[u as usize];
        let after_u = ground.travel(u, draft.walks[a].nodes[i + 1]);
        for &v in ground.near(u).iter().take(TRIED) {
            let Some(b) = draft.walk_index(v) else { continue };
            let j = self.index[v as usize];
            let before_v = ground.travel(draft.walks[b].nodes[j - 1], v);
            if ground.travel(u, v) >= after_u.max(before_v) {
                continue;
            }
            let found = if a == b { self.within(ground, draft, a, (i, j)) } else { self.between(ground, draft, (a, i), (b, j)) };
            if found.is_some() {
                return found;
            }
        }
        None
    }

    /// A helpful move of one walk that makes its node `j` follow its node `i`.
    fn within(&self, ground: &Ground, draft: &Draft, a: usize, (i, j): (usize, usize)) -> Option<Move> {
        let end = draft.walks[a].nodes.len();
        let p = |from, to| Piece::along(a, from, to);
        let try_one = |pieces: [Piece; 5]| Some((a, pieces, None)).filter(|m| self.helps(ground, draft, m));
        if i + 1 == j {
            return None;
        }
        if i < j {
            let turned = try_one([p(0, i + 1), p(i + 1, j + 1).turned(), p(j + 1, end), p(end, end), p(end, end)]);
            turned.or_else(|| {
                (1..=STRETCH).find_map(|long| {
                    let forth = (j + long < end).then(|| [p(0, i + 1), p(j, j + long), p(i + 1, j), p(j + long, end), p(end, end)]);
                    let back = (j + 1 >= i + 1 + long)
                        .then(|| [p(0, i + 1), p(j + 1 - long, j + 1).turned(), p(i + 1, j + 1 - long), p(j + 1, end), p(end, end)]);
                    forth.and_then(try_one).or_else(|| back.and_then(try_one))
                })
            })
        } else {
            (1..=STRETCH).find_map(|long| {
                let forth = (j + long <= i).then(|| [p(0, j), p(j + long, i + 1), p(j, j + long), p(i + 1, end), p(end, end)]);
                let back =
                    (j >= long).then(|| [p(0, j + 1 - long), p(j + 1, i + 1), p(j + 1 - long, j + 1).turned(), p(i + 1, end), p(end, end)]);
                forth.and_then(try_one).or_else(|| back.and_then(try_one))
            })
        }
    }

    /// A helpful move of two walks that makes node `j` of the second follow node `i` of the first.
    fn between(&self, ground: &Ground, draft: &Draft, (a, i): (usize, usize), (b, j): (usize, usize)) -> Option<Move> {
        let (end_a, end_b) = (draft.walks[a].nodes.len(), draft.walks[b].nodes.len());
        let in_a = |from, to| Piece::along(a, from, to);
        let in_b = |from, to| Piece::along(b, from, to);
        let (none_a, none_b) = (in_a(end_a, end_a), in_b(end_b, end_b));
        let try_one = |m: Move| Some(m).filter(|m| self.helps(ground, draft, m));
        let ends = (a, [in_a(0, i + 1), in_b(j, end_b), none_a, none_a, none_a], Some((b, [in_b(0, j), in_a(i + 1, end_a), none_b])));
        if let Some(found) = try_one(ends) {
            return Some(found);
        }
        // A stretch of the second walk, forth or turned round, takes the place of none or some stops after `i`.
        let stretch = |first: usize, last: usize, turned: bool| {
            (0..STRETCH).find_map(|given| {
                let rest = i + 1 + given;
                let piece = if turned { in_b(first, last).turned() } else { in_b(first, last) };
                let second = [in_b(0, first), in_a(i + 1, rest), in_b(last, end_b)];
                (rest < end_a).then(|| (a, [in_a(0, i + 1), piece, in_a(rest, end_a), none_a, none_a], Some((b, second)))).and_then(try_one)
            })
        };
        (1..=STRETCH).find_map(|long| {
            let forth = (j + long < end_b).then(|| stretch(j, j + long, false)).flatten();
            forth.or_else(|| (j >= long).then(|| stretch(j + 1 - long, j + 1, true)).flatten())
        })
    }

    /// Whether a move keeps shift and carry, and shortens.
    fn helps(&self, ground: &Ground, draft: &Draft, (a, first, other): &Move) -> bool {
        let mut before = draft.walks[*a].travel;
        let Some(mut after) = price(ground, &draft.walks, &self.sums, first, draft.walks[*a].room) else { return false };
        if let Some((b, second)) = other {
            before += draft.walks[*b].travel;
            if after >= before {
                return false;
            }
            let Some(travel) = price(ground, &draft.walks, &self.sums, second, draft.walks[*b].room) else { return false };
            after += travel;
        }
        after < before - 1e-9 * (1.0 + before)
    }

    /// Makes a move; the stops where something changed wait to be looked at again.
    fn make(&mut self, ground: &Ground, draft: &mut Draft, (a, first, other): &Move, waiting: &mut Vec<Node>) {
        let mut walks = vec![(*a, joined(&draft.walks, first))];
        walks.extend(other.iter().map(|(b, second)| (*b, joined(&draft.walks, second))));
        let pieces = first.iter().chain(other.iter().flat_map(|(_, second)| second));
        let ends = pieces.filter(|p| p.from < p.to).flat_map(|p| [draft.walks[p.walk].nodes[p.from], draft.walks[p.walk].nodes[p.to - 1]]);
        waiting.extend(ends.filter(|n| *n < ground.start()));
        for (walk, nodes) in walks {
            draft.lay(ground, walk, nodes);
            self.sum(ground, draft, walk);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::walks::search::walk::Slot;
    use crate::walks::{Aim, DayTask, Stop, Travel};
    use proptest::prelude::*;

    /// Scattered stops in two walks, in no good order, with times that differ by direction.
    fn scattered(slope: &[f64], shift: f64) -> (DayTask, Ground, Draft) {
        let at = |i: usize| ((i * 37 % 61) as f64, (i * 23 % 59) as f64);
        let leg = |a: usize, b: usize| (at(a).0 - at(b).0).hypot(at(a).1 - at(b).1) * slope[(a * 7 + b) % slope.len()];
        let rows: Vec<Vec<f64>> = (0..18).map(|a| (0..18).map(|b| leg(a, b)).collect()).collect();
        let stops = (1..17).map(|at| Stop { at, service: 1.0, prize: 1.0, must: true, demand: 1.0 }).collect();
        let travel = Travel::from_rows(&rows).expect("square");
        let task = DayTask {
            aim: Aim::LeastTravel,
            travel,
            start: 0,
            end: 17,
            crews: 2,
            shift: Some(shift),
            own_shifts: vec![],
            carry: Some(10.0),
            stops,
        };
        let ground = Ground::new(&task);
        let mut draft = Draft::empty(&ground);
        for node in 0..16 {
            let walk = node as usize % 2;
            let before = draft.walks[walk].nodes.len() - 1;
            draft.put_in(&ground, walk, node, Slot { before, detour: 0.0 });
        }
        draft.recount(&ground);
        draft.accept();
        (task, ground, draft)
    }

    proptest! {
        #[test]
        fn moves_shorten_by_what_they_say_and_break_nothing(slope in prop::collection::vec(0.7..1.3, 11), shift in 300.0..900.0) {
            let (task, ground, mut draft) = scattered(&slope, shift);
            let within = |d: &Draft| d.walks.iter().all(|w| w.time <= w.room && w.load <= ground.carry);
            let (was_within, before) = (within(&draft), draft.standing().travel);
            Polish::default().shorten(&ground, &mut draft, (0..16).collect());
            let walks: Vec<Vec<usize>> =
                draft.walks.iter().map(|w| w.stops().iter().map(|n| ground.stop(*n).at).collect()).collect();
            let mut seen: Vec<usize> = walks.concat();
            seen.sort_unstable();
            prop_assert_eq!(seen, (1..17).collect::<Vec<_>>());
            let recount: f64 = walks.iter().map(|w| task.walk_travel(w)).sum();
            prop_assert!((recount - draft.standing().travel).abs() < 1e-6 && recount <= before);
            prop_assert!(!was_within || (within(&draft) && recount < before), "sixteen stops in a bad order can be shortened");
        }
    }

    #[test]
    fn a_move_can_be_taken_back() {
        let (_, ground, mut draft) = scattered(&[1.0], 900.0);
        let before = draft.clone();
        Polish::default().shorten(&ground, &mut draft, (0..16).collect());
        assert!(draft.standing().travel < before.standing().travel);
        draft.take_back();
        assert_eq!(draft.standing(), before.standing());
        assert_eq!(draft.walk_of, before.walk_of);
    }

    #[test]
    fn a_piece_costs_what_its_nodes_cost() {
        let (_, ground, draft) = scattered(&[0.9, 1.0, 1.2], 9e9);
        let sums: Vec<Sums> = draft
            .walks
            .iter()
            .map(|w| {
                let mut sums = Sums::default();
                sums.fill(&ground, &w.nodes);
                sums
            })
            .collect();
        let end = draft.walks[0].nodes.len();
        let pieces = [Piece::along(0, 0, 3), Piece::along(1, 2, 4).turned(), Piece::along(0, 4, end)];
        let nodes = joined(&draft.walks, &pieces);
        let counted: f64 = nodes.windows(2).map(|pair| ground.travel(pair[0], pair[1])).sum();
        assert!((price(&ground, &draft.walks, &sums, &pieces, f64::INFINITY).expect("no limit is near") - counted).abs() < 1e-9);
    }
}
