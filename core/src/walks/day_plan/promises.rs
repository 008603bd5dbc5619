//! Promised hours: each promised door where it costs least time, and doors worth less give way.

use super::Wish;
use super::chosen::Chosen;
use super::search_day::Found;
use super::timeline::times_of;
use crate::walks::Candidate;

/// Puts the promised doors into the walks, those that come first and are worth most before others; one whose hour has no place among what
/// comes before it, or that nobody can keep, is left out.
pub(super) fn keep(chosen: &Chosen<'_>, wish: &Wish, promised: &[usize], found: &mut Found) {
    let mut order = promised.to_vec();
    order.sort_by(|&a, &b| {
        let (a, b) = (chosen.candidate(a), chosen.candidate(b));
        a.rank().cmp(&b.rank()).then(b.worth.total_cmp(&a.worth)).then(a.premise.cmp(&b.premise))
    });
    for door in order {
        let tries = (0..found.walks.len()).filter_map(|crew| fitted(chosen, wish, crew, &found.walks[crew], door).map(|f| (f, crew)));
        let best = tries.min_by(|(a, i), (b, j)| a.cost().total_cmp(&b.cost()).then(i.cmp(j)));
        match best {
            Some((fit, crew)) => {
                found.left_out.extend(&fit.gave_way);
                found.walks[crew] = fit.walk;
            }
            None if (0..found.walks.len()).any(|crew| fitted(chosen, wish, crew, &[], door).is_some()) => found.hour_full.push(door),
            None if out_of_hours(chosen, wish, door) => found.out_of_hours.push(door),
            None => found.promise_broken.push(door),
        }
    }
}

/// Whether the promised hour of a door lies before or after every shift.
fn out_of_hours(chosen: &Chosen<'_>, wish: &Wish, door: usize) -> bool {
    let overlaps =
        |(from, until): (f64, f64)| (0..wish.crews.len()).map(|crew| wish.shift(crew)).any(|s| from < s.until && until >= s.from);
    chosen.candidate(door).promised.is_some_and(|hours| !overlaps(hours))
}

/// A walk with a promised door in it.
struct Fit {
    walk: Vec<usize>,
    back_after: f64,
    gave_way: Vec<usize>,
    lost: f64,
}

impl Fit {
    /// Worth lost first, then time.
    fn cost(&self) -> f64 {
        self.lost * 1e6 + self.back_after
    }
}

/// The walk with the door where the crew is back first, promises and shift kept. While there is no such place, the door
/// worth least for its minutes gives way; none when only promises and what comes before it are left.
fn fitted(chosen: &Chosen<'_>, wish: &Wish, crew: usize, walk: &[usize], door: usize) -> Option<Fit> {
    let (mut kept, mut gave_way, mut lost) = (walk.to_vec(), Vec::new(), 0.0);
    let own = chosen.candidate(door);
    let may_give_way =
        |other: &Candidate| other.promised.is_none() && (other.rank() > own.rank() || (other.rank() == own.rank() && !other.must));
    loop {
        let turned: Vec<usize> = kept.iter().rev().copied().collect();
        let with = [&kept, &turned].into_iter().flat_map(|w| (0..=w.len()).map(move |slot| inserted(w, slot, door)));
        let timed = with.map(|w| (times_of(chosen, wish, crew, &w).1, w));
        let best = timed
            .filter(|(t, _)| t.promises_kept && t.back_after <= wish.shift(crew).until + 1e-9)
            .min_by(|(a, _), (b, _)| a.back_after.total_cmp(&b.back_after));
        if let Some((t, walk)) = best {
            return Some(Fit { walk, back_after: t.back_after, gave_way, lost });
        }
        let least = (0..kept.len()).filter(|&i| may_give_way(chosen.candidate(kept[i]))).min_by(|&i, &j| {
            let rank = |k: usize| chosen.candidate(kept[k]).rank();
            rank(j).cmp(&rank(i)).then(rate(chosen, kept[i]).total_cmp(&rate(chosen, kept[j]))).then(kept[i].cmp(&kept[j]))
        })?;
        let gone = kept.remove(least);
        lost += chosen.candidate(gone).worth;
        gave_way.push(gone);
    }
}

fn inserted(walk: &[usize], slot: usize, door: usize) -> Vec<usize> {
    let mut with = walk.to_vec();
    with.insert(slot, door);
    with
}

fn rate(chosen: &Chosen<'_>, door: usize) -> f64 {
    chosen.candidate(door).worth / chosen.candidate(door).minutes.max(1e-9)
}
