//! The last step of the search: doors change crews so that walks are compact, blocks stay whole and shifts are alike, at next to no loss.

use super::Wish;
use super::chosen::Chosen;
use super::effort_part::Part;
use super::search_day::Found;
use super::territory::{OUT, Territory};
use crate::job::Watch;
use crate::survey::Survey;
use crate::walks::search::random::Chance;
use crate::walks::{Effort, WalkError};

/// The share of the day's worth that the step keeps at least.
const KEEPS: f64 = 0.995;
/// Moves that take about as long as one iteration of the search.
const MOVES: u64 = 20;
/// Iterations between two looks at the effort, as in the search.
const LOOK: u64 = 32;
/// Moves that are made for each door however little effort is left.
const AT_LEAST: u64 = 60;
/// The temperatures of the start and of the end, in seconds.
const HOT: f64 = 40.0;
const COLD: f64 = 0.5;
/// The longest stretch of doors that changes hands at once.
const STRETCH: usize = 5;

/// Makes the walks of a day compact by exchanges between crews and with the doors left out.
///
/// # Source
/// Simulated annealing with a geometric fall of temperature (Kirkpatrick, Gelatt, Vecchi, Science 220, 1983) over exchanged
/// stretches and ends; the temperatures and what counts (see [`Territory`]) are our own.
pub(super) fn tidy(
    survey: &Survey,
    chosen: &Chosen<'_>,
    wish: &Wish,
    found: &mut Found,
    seed: u64,
    part: &mut Part<'_>,
    watch: &dyn Watch,
) -> Result<(), WalkError> {
    if found.walks.iter().filter(|w| !w.is_empty()).count() < 2 {
        return Ok(());
    }
    let mut chance = Chance::from_seed(seed ^ 0x7469_6479);
    let mut now = Territory::new(survey, chosen, wish, found, KEEPS);
    let (mut best, mut best_cost) = (now.walks().to_vec(), now.cost());
    let least = AT_LEAST * now.doors() as u64;
    let mut temperature = HOT;
    for step in 0.. {
        if step % (LOOK * MOVES) == 0 {
            let share = part.share_spent(step / MOVES).max(0.0);
            watch.step("making the walks compact", (share.min(1.0) * 1000.0) as u64, 1000)?;
            if share >= 1.0 && step >= least {
                break;
            }
            let share = if share >= 1.0 { step as f64 / least as f64 } else { share };
            temperature = HOT * (COLD / HOT).powf(share.min(1.0));
        }
        let Some(change) = proposed(&now, &mut chance) else { continue };
        if now.attempt(&change, -temperature * (1.0 - chance.share()).ln()) && now.cost() < best_cost - 1e-6 {
            best.clone_from_slice(now.walks());
            best_cost = now.cost();
        }
    }
    found.walks = best;
    let walked: std::collections::BTreeSet<usize> = found.walks.iter().flatten().copied().collect();
    found.left_out = now.in_play().filter(|door| !walked.contains(door)).collect();
    Ok(())
}

/// One or two walks as they would be.
pub(super) type Change = Vec<(usize, Vec<usize>)>;

/// A change near a door drawn by chance.
fn proposed(now: &Territory, chance: &mut Chance) -> Option<Change> {
    let door = now.any_door(chance);
    let near = now.near(door);
    let other = *near.get(chance.below(near.len()))?;
    match (now.walk_of(door), now.walk_of(other)) {
        (OUT, OUT) => None,
        (OUT, b) => Some(put_in(now, door, other, b as usize, chance)),
        (a, OUT) => Some(put_in(now, other, door, a as usize, chance)),
        (a, b) if a == b => Some(within(now, door, other, a as usize, chance)),
        (a, b) => match chance.below(8) {
            0..3 => Some(handed_over(now, (door, a as usize), (other, b as usize), chance)),
            3..7 => Some(exchanged(now, (door, a as usize), (other, b as usize), chance)),
            _ => Some(ends_exchanged(now, (door, a as usize), (other, b as usize))),
        },
    }
}

fn index(walk: &[usize], door: usize) -> usize {
    walk.iter().position(|d| *d == door).unwrap_or(0)
}

/// A door that is left out beside one that is walked to, or in its place.
fn put_in(now: &Territory, door: usize, beside: usize, walk: usize, chance: &mut Chance) -> Change {
    let mut new = now.walks()[walk].clone();
    let at = index(&new, beside);
    match chance.below(3) {
        0 => new.insert(at, door),
        1 => new.insert(at + 1, door),
        _ => new[at] = door,
    }
    vec![(walk, new)]
}

/// A stretch of a walk beside another door of it, or the way between two doors turned round.
fn within(now: &Territory, door: usize, other: usize, walk: usize, chance: &mut Chance) -> Change {
    let mut new = now.walks()[walk].clone();
    let (i, j) = (index(&new, door), index(&new, other));
    if chance.below(2) == 0 {
        new[i.min(j)..=i.max(j)].reverse();
        return vec![(walk, new)];
    }
    let long = 1 + chance.below(STRETCH);
    let mut stretch: Vec<usize> = new.drain(i..(i + long).min(new.len())).collect();
    if chance.below(2) == 0 {
        stretch.reverse();
    }
    let to = new.iter().position(|d| *d == other).map_or(i.min(new.len()), |at| at + chance.below(2));
    new.splice(to..to, stretch);
    vec![(walk, new)]
}

/// A stretch of one walk beside a door of another.
fn handed_over(now: &Territory, (door, a): (usize, usize), (other, b): (usize, usize), chance: &mut Chance) -> Change {
    let (mut from, mut to) = (now.walks()[a].clone(), now.walks()[b].clone());
    let stretch = taken(&mut from, door, chance);
    let at = index(&to, other) + chance.below(2);
    laid(&mut to, at, stretch, chance);
    vec![(a, from), (b, to)]
}

/// Two stretches exchanged, each put down beside the door that is nearest to it in the other walk.
fn exchanged(now: &Territory, (door, a): (usize, usize), (other, b): (usize, usize), chance: &mut Chance) -> Change {
    let (mut from, mut to) = (now.walks()[a].clone(), now.walks()[b].clone());
    let there = taken(&mut from, door, chance);
    // What comes back: from anywhere in the other walk, where it lies near the first one.
    let back_at = match chance.below(3) {
        0 => other,
        _ => to[chance.below(to.len())],
    };
    let back = taken(&mut to, back_at, chance);
    let at = now.near(door).iter().find_map(|d| to.iter().position(|t| t == d)).unwrap_or(to.len() / 2);
    laid(&mut to, at + chance.below(2), there, chance);
    let at = now.near(back_at).iter().find_map(|d| from.iter().position(|t| t == d)).unwrap_or(from.len() / 2);
    laid(&mut from, at + chance.below(2), back, chance);
    vec![(a, from), (b, to)]
}

/// The rest of both walks after two doors exchanged.
fn ends_exchanged(now: &Territory, (door, a): (usize, usize), (other, b): (usize, usize)) -> Change {
    let (mut first, mut second) = (now.walks()[a].clone(), now.walks()[b].clone());
    let (i, j) = (index(&first, door), index(&second, other));
    let (rest_a, rest_b) = (first.split_off(i + 1), second.split_off(j));
    first.extend(rest_b);
    second.extend(rest_a);
    vec![(a, first), (b, second)]
}

/// Takes a stretch that begins or ends at a door out of its walk.
fn taken(walk: &mut Vec<usize>, door: usize, chance: &mut Chance) -> Vec<usize> {
    let at = index(walk, door);
    let long = 1 + chance.below(STRETCH);
    let range = if chance.below(2) == 0 { at..(at + long).min(walk.len()) } else { (at + 1).saturating_sub(long)..at + 1 };
    walk.drain(range).collect()
}

/// Puts a stretch down, forth or turned round.
fn laid(walk: &mut Vec<usize>, at: usize, mut stretch: Vec<usize>, chance: &mut Chance) {
    if chance.below(2) == 0 {
        stretch.reverse();
    }
    let at = at.min(walk.len());
    walk.splice(at..at, stretch);
}
