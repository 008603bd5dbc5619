//! The search for one day: most worth first, then equal walks or what one more crew would add, then promised hours.

use super::chosen::Chosen;
use super::ranked::Tries;
use super::timeline::times_of;
use super::untangle::untangle;
use super::{Wish, promises, windows};
use crate::job::Watch;
use crate::place::Local;
use crate::walks::neatness::crossings;
use crate::walks::{Aim, DayPlan, DayTask, Effort, OneMore, Stop, Travel, WalkError, own_worth};

/// What a change of block counts in the search, in seconds: a crew takes the rest of a block along when that costs less.
/// Our own choice.
pub(super) const BLOCK_CHANGE: f64 = 8.0;
/// The least that a visit is worth, so that a door on the way is never passed by.
const LEAST_WORTH: f64 = 1e-4;
/// How much more time all crews together may take for the sake of equal walks. Our own choice.
const FOR_BALANCE: f64 = 1.10;
/// How often walks that were laid apart are filled at most.
const FILLED: usize = 4;
/// The share of the effort at which the search for most worth ends; the rest is for equal walks or one more crew.
const WORTH_UNTIL: f64 = 0.625;

/// Walks as doors of the [`Chosen`], and the doors left out.
#[derive(Clone, Debug, Default)]
pub(super) struct Found {
    /// One walk for each crew.
    pub walks: Vec<Vec<usize>>,
    pub left_out: Vec<usize>,
    pub promise_broken: Vec<usize>,
    /// Doors whose promised hour lies outside every shift.
    pub out_of_hours: Vec<usize>,
    pub hour_full: Vec<usize>,
    pub one_more: Option<OneMore>,
    pub travel_seconds: f64,
}

/// Walks to the doors, found anew or, where walks are known, by going on from them.
pub(super) fn search(
    chosen: &Chosen<'_>,
    wish: &Wish,
    (seed, known): (u64, &[Vec<usize>]),
    effort: &mut dyn Effort,
    watch: &dyn Watch,
) -> Result<Found, WalkError> {
    let promised: Vec<usize> = (0..chosen.len()).filter(|&k| chosen.candidate(k).promised.is_some()).collect();
    let task = task(chosen, wish, &promised)?;
    let mut found = Found { walks: vec![Vec::new(); wish.crews.len()], ..Found::default() };
    if !task.stops.is_empty() {
        let known: Vec<Vec<usize>> = known.iter().map(|walk| walk.iter().map(|door| door + 1).collect()).collect();
        let mut tries = Tries { seed, effort, known: &known, done: 0, watch };
        let mut plan = tries.most_worth(chosen, &task, (0.0, WORTH_UNTIL), true)?;
        if plan.left_out.is_empty() {
            plan = balanced(&task, plan, &mut tries)?;
            found.one_more = Some(OneMore { doors: 0, worth: 0.0 }).filter(|_| wish.one_more);
        } else if wish.one_more {
            found.one_more = Some(one_more((chosen, wish), &task, &plan, &mut tries)?);
        }
        found.left_out = plan.left_out.iter().map(|at| at - 1).collect();
        for (to, from) in found.walks.iter_mut().zip(in_order(&task, &plan)) {
            *to = from;
        }
    }
    trim(chosen, wish, &mut found);
    settle(chosen, wish, &mut found, watch)?;
    if !promised.is_empty() {
        let waiting = found.left_out.len();
        promises::keep(chosen, wish, &promised, &mut found);
        if !found.hour_full.is_empty() || found.left_out.len() > waiting {
            windows::mend(chosen, wish, seed, &mut found, watch)?;
        }
        settle(chosen, wish, &mut found, watch)?;
    }
    found.travel_seconds = found.walks.iter().flat_map(|walk| chosen.legs(walk)).map(|leg| leg.seconds).sum();
    Ok(found)
}

/// Lays the walks apart and fills the time that this gains with doors that are left out, until no more fits.
fn settle(chosen: &Chosen<'_>, wish: &Wish, found: &mut Found, watch: &dyn Watch) -> Result<(), WalkError> {
    for _ in 0..FILLED {
        lay_apart(chosen, wish, found, watch)?;
        let waiting = found.left_out.len();
        refill(chosen, wish, found);
        if found.left_out.len() == waiting {
            return Ok(());
        }
    }
    lay_apart(chosen, wish, found, watch)
}

/// Lays the walks apart. When no door is left out they are about equally long, and none may grow longer than the longest.
fn lay_apart(chosen: &Chosen<'_>, wish: &Wish, found: &mut Found, watch: &dyn Watch) -> Result<(), WalkError> {
    let out = |(crew, walk): (usize, &Vec<usize>)| times_of(chosen, wish, crew, walk).1.back_after - wish.shift(crew).from;
    let longest = found.walks.iter().enumerate().map(out).fold(0.0, f64::max);
    let latest = (0..found.walks.len()).map(|crew| {
        let shift = wish.shift(crew);
        if found.left_out.is_empty() { (shift.from + longest).min(shift.until) } else { shift.until }
    });
    Ok(untangle(chosen, wish, &latest.collect::<Vec<_>>(), found, watch)?)
}

/// Leaves out doors of walks that are longer on the clock than the search reckoned, because of going back to the car: those
/// worth least for their minutes first, those that come first last.
fn trim(chosen: &Chosen<'_>, wish: &Wish, found: &mut Found) {
    for (crew, walk) in found.walks.iter_mut().enumerate() {
        while times_of(chosen, wish, crew, walk).1.back_after > wish.shift(crew).until + 1e-9 {
            let rate = |door: usize| chosen.candidate(door).worth / chosen.candidate(door).minutes.max(1e-9);
            let order = |a: usize, b: usize| {
                let rank = |door: usize| chosen.candidate(door).rank();
                rank(b).cmp(&rank(a)).then(rate(a).total_cmp(&rate(b))).then(a.cmp(&b))
            };
            let Some(least) = (0..walk.len()).min_by(|&i, &j| order(walk[i], walk[j])) else { break };
            found.left_out.push(walk.remove(least));
        }
    }
}

/// Puts doors that are left out where a walk has room for them on the clock, those worth most for their minutes first, each where the
/// walk crosses others least and it costs least time: what the search reckoned too long, or was trimmed, may fit after all.
fn refill(chosen: &Chosen<'_>, wish: &Wish, found: &mut Found) {
    let rate = |door: usize| chosen.candidate(door).worth / chosen.candidate(door).minutes.max(1e-9);
    let of = |(crew, walk): (usize, &Vec<usize>)| times_of(chosen, wish, crew, walk).1.back_after;
    let mut back: Vec<f64> = found.walks.iter().enumerate().map(of).collect();
    found.left_out.sort_by(|&a, &b| {
        let rank = |door: usize| chosen.candidate(door).rank();
        rank(a).cmp(&rank(b)).then(rate(b).total_cmp(&rate(a))).then(a.cmp(&b))
    });
    for door in std::mem::take(&mut found.left_out) {
        match with_door(chosen, wish, &found.walks, &back, door) {
            Some((after, k, with)) => (back[k], found.walks[k]) = (after, with),
            None => found.left_out.push(door),
        }
    }
}

/// The walk that a door fits into best, with the door in it and the minutes after which it is back.
fn with_door(chosen: &Chosen<'_>, wish: &Wish, walks: &[Vec<usize>], back: &[f64], door: usize) -> Option<(f64, usize, Vec<usize>)> {
    let places = |walk: &[usize]| walk.iter().map(|&door| chosen.place(door)).collect::<Vec<_>>();
    let roomy = (0..walks.len()).filter(|&k| back[k] + chosen.candidate(door).minutes <= wish.shift(k).until + 1e-9);
    let fits = roomy.flat_map(|k| {
        (0..=walks[k].len()).filter_map(move |slot| {
            let with = [&walks[k][..slot], &[door], &walks[k][slot..]].concat();
            let times = times_of(chosen, wish, k, &with).1;
            (times.promises_kept && times.back_after <= wish.shift(k).until + 1e-9).then_some((times.back_after, k, with))
        })
    });
    let fits: Vec<(f64, usize, Vec<usize>)> = fits.collect();
    let others: Vec<Vec<Local>> = if fits.is_empty() { Vec::new() } else { walks.iter().map(|walk| places(walk)).collect() };
    let crossed = |(_, k, with): &(f64, usize, Vec<usize>)| {
        let own = places(with);
        others.iter().enumerate().filter(|(other, _)| other != k).map(|(_, other)| crossings(&own, other)).sum::<usize>()
    };
    let priced = fits.into_iter().map(|fit| (crossed(&fit), fit.0 - back[fit.1], fit));
    priced.min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))).map(|best| best.2)
}

/// The walks as doors, in the order in which their first doors lie on the ground: so the crews' names mean something. Where crews are out for
/// unlike times, the longest walk is that of the crew that is out longest.
fn in_order(task: &DayTask, plan: &DayPlan) -> Vec<Vec<usize>> {
    let mut walks: Vec<Vec<usize>> = plan.walks.iter().map(|w| w.iter().map(|at| at - 1).collect()).collect();
    for walk in &mut walks {
        // A walk costs the same both ways but for pauses: it begins where the ground begins.
        if walk.first() > walk.last() {
            walk.reverse();
        }
    }
    walks.sort_by_key(|w| w.iter().min().copied());
    if task.own_shifts.is_empty() { walks } else { by_length(task, walks) }
}

/// Walks dealt out to crews that are out for unlike times; among crews that are out equally long their order stays.
fn by_length(task: &DayTask, mut walks: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
    let service = |door: &usize| task.stops.iter().find(|s| s.at == door + 1).map_or(0.0, |s| s.service);
    let long = |walk: &Vec<usize>| {
        let places: Vec<usize> = walk.iter().map(|door| door + 1).collect();
        task.walk_travel(&places) + walk.iter().map(service).sum::<f64>()
    };
    let room = |crew: usize| task.room(crew).unwrap_or(f64::INFINITY);
    let mut crews: Vec<usize> = (0..task.crews).collect();
    crews.sort_by(|&a, &b| room(b).total_cmp(&room(a)));
    walks.resize(task.crews, Vec::new());
    walks.sort_by(|a, b| long(b).total_cmp(&long(a)));
    let mut out = vec![Vec::new(); task.crews];
    for same in crews.chunk_by(|&a, &b| room(a) == room(b)) {
        let mut of: Vec<Vec<usize>> = walks.drain(..same.len()).collect();
        of.sort_by_key(|w| w.iter().min().copied().unwrap_or(usize::MAX));
        same.iter().zip(of).for_each(|(&crew, walk)| out[crew] = walk);
    }
    out
}

/// The task of the search, without the promised doors.
fn task(chosen: &Chosen<'_>, wish: &Wish, promised: &[usize]) -> Result<DayTask, WalkError> {
    let n = chosen.len() + 1;
    let extra = |a: usize, b: usize| {
        let apart = a > 0 && b > 0 && chosen.changes_block(a - 1, b - 1);
        if apart { BLOCK_CHANGE } else { 0.0 }
    };
    let rows: Vec<Vec<f64>> = (0..n).map(|a| (0..n).map(|b| chosen.reckoned(a, b) + extra(a, b)).collect()).collect();
    let stop = |k: usize| {
        let c = chosen.candidate(k);
        Stop { at: k + 1, service: c.minutes * 60.0, prize: own_worth(c.worth).max(LEAST_WORTH), must: c.must, demand: 0.0 }
    };
    Ok(DayTask {
        aim: Aim::MostPrize,
        travel: Travel::from_rows(&rows)?,
        start: 0,
        end: 0,
        crews: wish.crews.len(),
        shift: Some(wish.common_shift().walking_minutes(&wish.pauses) * 60.0),
        own_shifts: own_shifts(wish),
        carry: None,
        stops: (0..chosen.len()).filter(|k| !promised.contains(k)).map(stop).collect(),
    })
}

/// The seconds that each crew has for walking and doors, where they differ.
fn own_shifts(wish: &Wish) -> Vec<f64> {
    let of = |crew: usize| wish.shift(crew).walking_minutes(&wish.pauses) * 60.0;
    if wish.shifts_differ() { (0..wish.crews.len()).map(of).collect() } else { Vec::new() }
}

/// When everything fits: walks of about the same length, by shorter shifts that still hold all doors and cost little more
/// walking. Crews that are out for unlike times are about equally busy.
fn balanced(task: &DayTask, plan: DayPlan, tries: &mut Tries<'_>) -> Result<DayPlan, WalkError> {
    let service: f64 = task.stops.iter().map(|s| s.service).sum();
    let even = (service + plan.standing.travel) / task.crews as f64;
    // The shift that each crew would have if all had the same.
    let shift = match task.own_shifts.len() {
        0 => task.shift.unwrap_or(f64::INFINITY),
        crews => task.own_shifts.iter().sum::<f64>() / crews as f64,
    };
    let caps = [1.05, 1.15, 1.3, 1.6].map(|more| even * more);
    let step = (1.0 - WORTH_UNTIL) / caps.len() as f64;
    for (k, cap) in caps.into_iter().enumerate().filter(|(_, cap)| *cap < shift) {
        let from = WORTH_UNTIL + step * k as f64;
        let own_shifts = task.own_shifts.iter().map(|own| own * cap / shift).collect();
        let shorter = DayTask { shift: Some(cap), own_shifts, stops: without_musts(task), ..task.clone() };
        let found = tries.plan(&shorter, (from, from + step), false)?;
        if found.left_out.is_empty() && service + found.standing.travel <= (service + plan.standing.travel) * FOR_BALANCE {
            return Ok(found);
        }
    }
    Ok(plan)
}

/// The stops, none of them a must: a must that does not fit a shorter shift must not stop the search.
fn without_musts(task: &DayTask) -> Vec<Stop> {
    task.stops.iter().map(|s| Stop { must: false, ..*s }).collect()
}

/// What one crew more, out as long as all are that have no hours of their own, would add, with the same search.
fn one_more((chosen, wish): (&Chosen<'_>, &Wish), task: &DayTask, plan: &DayPlan, tries: &mut Tries<'_>) -> Result<OneMore, WalkError> {
    let mut larger = DayTask { crews: task.crews + 1, ..task.clone() };
    if !larger.own_shifts.is_empty() {
        larger.own_shifts.push(wish.common_shift().walking_minutes(&wish.pauses) * 60.0);
    }
    let found = tries.most_worth(chosen, &larger, (WORTH_UNTIL, 1.0), false)?;
    let doors = |p: &DayPlan| p.walks.iter().map(Vec::len).sum::<usize>();
    Ok(OneMore { doors: doors(&found).saturating_sub(doors(plan)) as u32, worth: (found.standing.prize - plan.standing.prize).max(0.0) })
}
