//! Last touches on the clock: walks that do not cross each other, and less time on the way.
//!
//! The search knows neither where a car stands nor how walks lie on the map. Here small changes between two walks, and within one, are
//! weighed by both: fewer crossings first, then less time. No door is lost, no shift and no promise broken.

use super::Wish;
use super::chosen::Chosen;
use super::search_day::{BLOCK_CHANGE, Found};
use super::timeline::times_of;
use crate::job::{Cancelled, Watch};
use crate::place::Local;
use crate::walks::neatness::{crossings, own_crossings};

/// The share by which all ways together may take longer for the sake of fewer crossings. Our own choice.
const FOR_CROSSINGS: f64 = 0.002;
/// What a walk that crosses itself counts, in seconds for each crossing. Our own choice.
const OWN_CROSSING: f64 = 10.0;
/// What coming at an hour at which nobody opened on the same weekday counts, in seconds. Our own choice.
const SAME_HOUR: f64 = 60.0;
/// The longest stretch that is moved or exchanged, in doors.
const STRETCH: usize = 3;
/// Changes that are looked at, at most: some tenths of a second.
const LOOKS: u32 = 300_000;
/// Less than this is no change, in seconds.
const ROUNDING: f64 = 1e-6;

/// Changes the walks until none of the small changes makes them neater or shorter. `latest` is how many minutes after the beginning each
/// crew is back.
///
/// # Errors
/// [`Cancelled`] when the watch asks to stop.
///
/// # Source
/// Exchanged ends: J.-Y. Potvin, J.-M. Rousseau (1995); exchanged stretches: É. Taillard et al. (1997); 2-opt: G. Croes (1958); or-opt:
/// I. Or (1976). From memory. That crossings come first is our own choice.
pub(super) fn untangle(chosen: &Chosen<'_>, wish: &Wish, latest: &[f64], found: &mut Found, watch: &dyn Watch) -> Result<(), Cancelled> {
    let mut walks = Walks::new(chosen, wish, latest, std::mem::take(&mut found.walks));
    let count = walks.walks.len();
    let mut changed = true;
    while changed && walks.looks > 0 {
        changed = false;
        for walk in 0..count {
            changed |= walks.settle(walk);
        }
        let mut pairs: Vec<(usize, usize)> = (0..count).flat_map(|a| (0..a).map(move |b| (a, b))).collect();
        pairs.sort_by_key(|&(a, b)| std::cmp::Reverse(walks.met[a][b]));
        for (a, b) in pairs {
            watch.step("laying walks apart", 0, 0)?;
            while walks.between(a, b) {
                changed = true;
                walks.settle(a);
                walks.settle(b);
            }
        }
    }
    found.walks = walks.walks;
    Ok(())
}

/// A part of a walk: of the second of two or the first, from a door to before another, forth or turned round.
#[derive(Clone, Copy)]
struct Piece {
    second: bool,
    from: usize,
    to: usize,
    turned: bool,
}

fn first(from: usize, to: usize) -> Piece {
    Piece { second: false, from, to, turned: false }
}

fn second(from: usize, to: usize) -> Piece {
    Piece { second: true, ..first(from, to) }
}

impl Piece {
    fn turned(self, turned: bool) -> Self {
        Self { turned, ..self }
    }
}

/// A walk as it would be: its doors, their places, what it costs in seconds, and how often it crosses each of the others.
#[derive(Clone, Default)]
struct Tried {
    doors: Vec<usize>,
    places: Vec<Local>,
    cost: f64,
    met: Vec<usize>,
}

/// The walks under change.
struct Walks<'a> {
    chosen: &'a Chosen<'a>,
    wish: &'a Wish,
    latest: &'a [f64],
    walks: Vec<Vec<usize>>,
    places: Vec<Vec<Local>>,
    costs: Vec<f64>,
    /// How often two walks cross.
    met: Vec<Vec<usize>>,
    /// What all walks may cost while crossings grow fewer.
    most: f64,
    looks: u32,
    tried: [Tried; 2],
}

impl<'a> Walks<'a> {
    fn new(chosen: &'a Chosen<'a>, wish: &'a Wish, latest: &'a [f64], walks: Vec<Vec<usize>>) -> Self {
        let places: Vec<Vec<Local>> = walks.iter().map(|w| w.iter().map(|&door| chosen.place(door)).collect()).collect();
        let met = places.iter().enumerate().map(|(i, a)| {
            let with = |(k, b): (usize, &Vec<Local>)| if i == k { 0 } else { crossings(a, b) };
            places.iter().enumerate().map(with).collect()
        });
        let met = met.collect();
        let (most, tried) = (f64::INFINITY, Default::default());
        let mut out = Self { chosen, wish, latest, costs: Vec::new(), walks, places, met, most, looks: LOOKS, tried };
        // A walk that is too long as it is stays as it is: no change of it can be weighed.
        out.costs = (0..out.walks.len()).map(|i| out.on_clock(i, &out.walks[i]).unwrap_or(0.0) + out.drawn(&out.places[i])).collect();
        out.most = out.costs.iter().sum::<f64>() * (1.0 + FOR_CROSSINGS);
        out
    }

    /// Seconds on the way and for changes of block; `None` where the crew is back too late or breaks a promise.
    fn on_clock(&self, crew: usize, walk: &[usize]) -> Option<f64> {
        let (seconds, times) = times_of(self.chosen, self.wish, crew, walk);
        let blocks = walk.windows(2).filter(|pair| self.chosen.changes_block(pair[0], pair[1])).count();
        let holds = times.promises_kept && times.back_after <= self.latest[crew] + 1e-9;
        let again = walk.iter().zip(&times.arrive).filter(|&(&door, &at)| self.chosen.candidate(door).is_avoided(at)).count();
        holds.then_some(seconds + BLOCK_CHANGE * blocks as f64 + SAME_HOUR * again as f64)
    }

    /// What a walk that crosses itself counts.
    fn drawn(&self, places: &[Local]) -> f64 {
        OWN_CROSSING * own_crossings(places) as f64
    }

    /// Makes small changes within a walk until none helps; says whether there was one.
    fn settle(&mut self, walk: usize) -> bool {
        let mut changed = false;
        while self.within(walk) {
            changed = true;
        }
        changed
    }

    /// Makes the first small change within a walk that helps; says whether there was one.
    fn within(&mut self, a: usize) -> bool {
        let n = self.walks[a].len();
        for (p, q) in (0..n).flat_map(|p| (p + 1..=n).map(move |q| (p, q))) {
            if q > p + 1 && self.helps((a, a), &[first(0, p), first(p, q).turned(true), first(q, n)], &[]) {
                return true;
            }
            if q - p > STRETCH {
                continue;
            }
            for (to, turned) in (0..=n).filter(|to| *to < p || *to > q).flat_map(|to| [(to, false), (to, true)]) {
                let piece = first(p, q).turned(turned);
                let laid = match to < p {
                    true => [first(0, to), piece, first(to, p), first(q, n)],
                    false => [first(0, p), first(q, to), piece, first(to, n)],
                };
                if (!turned || q > p + 1) && self.helps((a, a), &laid, &[]) {
                    return true;
                }
            }
        }
        false
    }

    /// Makes the first small change between two walks that helps; says whether there was one.
    fn between(&mut self, a: usize, b: usize) -> bool {
        let (n, m) = (self.walks[a].len(), self.walks[b].len());
        for (p, q) in (0..=n).flat_map(|p| (0..=m).map(move |q| (p, q))) {
            let ends = self.helps((a, b), &[first(0, p), second(q, m)], &[second(0, q), first(p, n)])
                || self.helps((a, b), &[first(0, p), second(0, q).turned(true)], &[first(p, n).turned(true), second(q, m)]);
            if ends || self.exchanged((a, b), (p, q)) {
                return true;
            }
        }
        false
    }

    /// Exchanges stretches that begin at a door of each walk, one of which may be empty, when that helps.
    fn exchanged(&mut self, (a, b): (usize, usize), (p, q): (usize, usize)) -> bool {
        let (n, m) = (self.walks[a].len(), self.walks[b].len());
        let longs = |rest: usize| 0..=STRETCH.min(rest);
        for (i, k) in longs(n - p).flat_map(|i| longs(m - q).map(move |k| (i, k))).filter(|&(i, k)| i + k > 0) {
            for (turn_a, turn_b) in [(false, false), (true, false), (false, true), (true, true)] {
                if (turn_a && i < 2) || (turn_b && k < 2) {
                    continue;
                }
                let (given, taken) = (first(p, p + i).turned(turn_a), second(q, q + k).turned(turn_b));
                if self.helps((a, b), &[first(0, p), taken, first(p + i, n)], &[second(0, q), given, second(q + k, m)]) {
                    return true;
                }
            }
        }
        false
    }

    /// Makes a change of one walk, or of two, when it helps: fewer crossings for next to no time, or as many and less time.
    fn helps(&mut self, (a, b): (usize, usize), laid_a: &[Piece], laid_b: &[Piece]) -> bool {
        if self.looks == 0 {
            return false;
        }
        self.looks -= 1;
        let mut tried = std::mem::take(&mut self.tried);
        let two = if a == b { 1 } else { 2 };
        self.lay((a, b), laid_a, &mut tried[0].doors);
        self.lay((a, b), laid_b, &mut tried[1].doors);
        let helps = self.weigh(&[a, b][..two], &mut tried[..two]);
        if helps {
            for (walk, new) in [a, b].into_iter().zip(&mut tried[..two]) {
                self.put(walk, new);
            }
        }
        self.tried = tried;
        helps
    }

    fn lay(&self, (a, b): (usize, usize), pieces: &[Piece], doors: &mut Vec<usize>) {
        doors.clear();
        for piece in pieces {
            let part = &self.walks[if piece.second { b } else { a }][piece.from..piece.to];
            if piece.turned {
                doors.extend(part.iter().rev());
            } else {
                doors.extend(part);
            }
        }
    }

    /// Whether walks as they would be are better than as they are; works out what they cost and cross. What is soon known is asked first.
    fn weigh(&self, of: &[usize], tried: &mut [Tried]) -> bool {
        let before: f64 = of.iter().map(|&walk| self.costs[walk]).sum();
        let met = self.met_by(of);
        let room = if met > 0 { self.most - self.costs.iter().sum::<f64>() } else { -ROUNDING };
        let mut more = -before;
        for (&crew, new) in of.iter().zip(&mut *tried) {
            let Some(cost) = self.on_clock(crew, &new.doors) else { return false };
            new.cost = cost;
            more += cost;
        }
        if more > room {
            return false;
        }
        for new in &mut *tried {
            new.places.clear();
            new.places.extend(new.doors.iter().map(|&door| self.chosen.place(door)));
            let drawn = self.drawn(&new.places);
            new.cost += drawn;
            more += drawn;
        }
        if more > room {
            return false;
        }
        let meets = self.count(of, tried, met);
        meets < met || (meets == met && more < -ROUNDING)
    }

    /// How often some walks cross others and each other.
    fn met_by(&self, of: &[usize]) -> usize {
        let all: usize = of.iter().map(|&walk| self.met[walk].iter().sum::<usize>()).sum();
        all - if let &[a, b] = of { self.met[a][b] } else { 0 }
    }

    /// How often walks as they would be cross others and each other; more than `most` is not counted to the end.
    fn count(&self, of: &[usize], tried: &mut [Tried], most: usize) -> usize {
        let mut sum = 0;
        for new in &mut *tried {
            new.met.clear();
            new.met.resize(self.walks.len(), 0);
            for other in (0..self.walks.len()).filter(|other| !of.contains(other)) {
                new.met[other] = crossings(&new.places, &self.places[other]);
                sum += new.met[other];
                if sum > most {
                    return sum;
                }
            }
        }
        if let ([x, y], &[a, b]) = (tried, of) {
            let met = crossings(&x.places, &y.places);
            (x.met[b], y.met[a]) = (met, met);
            sum += met;
        }
        sum
    }

    fn put(&mut self, walk: usize, new: &mut Tried) {
        std::mem::swap(&mut self.walks[walk], &mut new.doors);
        std::mem::swap(&mut self.places[walk], &mut new.places);
        self.costs[walk] = new.cost;
        for (other, &met) in new.met.iter().enumerate() {
            (self.met[walk][other], self.met[other][walk]) = (met, met);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::survey::PremiseId;
    use crate::walks::made_up::town;
    use crate::walks::{Candidate, StreetNetwork, Walking};
    use jiff::civil::{date, time};
    use proptest::prelude::*;

    fn wish() -> Wish {
        Wish {
            on: date(2025, 7, 21),
            begins: time(8, 0, 0, 0),
            shift_minutes: 400.0,
            own_shifts: Vec::new(),
            crews: vec!["Crew 1".to_owned(), "Crew 2".to_owned(), "Crew 3".to_owned()],
            meeting_point: Local { x: 0.0, y: 0.0 },
            pauses: vec![super::super::Pause { from: 60.0, minutes: 15.0, heat: false }],
            kept_off: Vec::new(),
            one_more: false,
            goes_on: false,
        }
    }

    /// What is counted of walks: crossings of all pairs, and seconds on the way.
    fn counted(chosen: &Chosen<'_>, wish: &Wish, walks: &[Vec<usize>]) -> (usize, f64) {
        let places: Vec<Vec<Local>> = walks.iter().map(|w| w.iter().map(|&door| chosen.place(door)).collect()).collect();
        let meet = (0..walks.len()).flat_map(|a| (0..a).map(move |b| (a, b))).map(|(a, b)| crossings(&places[a], &places[b])).sum();
        (meet, walks.iter().enumerate().map(|(crew, w)| times_of(chosen, wish, crew, w).0).sum())
    }

    /// Lays doors apart that were dealt out one after the other, as cards are; gives what is counted before and after.
    fn dealt(doors: &[Candidate], beyond: Option<f64>, hold: &dyn Fn(&Chosen<'_>, &Found, &Found)) -> [(usize, f64); 2] {
        let (survey, wish) = (town(3), wish());
        let mut walking = Walking::default();
        walking.driving = walking.driving.zip(beyond).map(|(driving, beyond)| crate::walks::Driving { beyond, ..driving });
        let network = StreetNetwork::new(&survey.streets, &walking);
        let chosen = Chosen::new(&survey, &network, doors, &wish, 500, &mut Vec::new(), &Unwatched).expect("streets are near");
        let mut before = Found { walks: vec![Vec::new(); 3], ..Found::default() };
        (0..chosen.len()).for_each(|door| before.walks[door % 3].push(door));
        let mut after = before.clone();
        untangle(&chosen, &wish, &[wish.shift_minutes; 3], &mut after, &Unwatched).expect("nobody stops it");
        hold(&chosen, &before, &after);
        [&before, &after].map(|found| counted(&chosen, &wish, &found.walks))
    }

    #[test]
    fn walks_dealt_out_like_cards_are_laid_apart() {
        let doors: Vec<Candidate> = (0..90).step_by(3).map(|p| Candidate::by_hand(PremiseId(p), 5.0, "not visited")).collect();
        for beyond in [None, Some(250.0)] {
            let [before, after] = dealt(&doors, beyond, &|_, _, _| {});
            assert!(before.0 > 5 && after.0 == 0, "{before:?} {after:?}");
            assert!(after.1 < 0.8 * before.1, "{before:?} {after:?}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        /// Whatever the walks: no door is lost, shifts and promises hold that held, and nothing counted is worse.
        #[test]
        fn nothing_is_lost_or_broken(lots in prop::collection::btree_set(0u32..90, 1..16), hours in prop::collection::vec(prop::option::of(0.0f64..300.0), 16)) {
            let promised = |k: usize| hours[k].map(|from| (from, from + 90.0));
            let door = |(k, &p): (usize, &u32)| Candidate { promised: promised(k), ..Candidate::by_hand(PremiseId(p), 12.0, "not visited") };
            let doors: Vec<Candidate> = lots.iter().enumerate().map(door).collect();
            let hold = |chosen: &Chosen<'_>, before: &Found, after: &Found| {
                let all = |found: &Found| {
                    let mut all = found.walks.concat();
                    all.sort_unstable();
                    all
                };
                assert_eq!(all(before), all(after));
                for (crew, (old, new)) in before.walks.iter().zip(&after.walks).enumerate() {
                    let of = |walk: &[usize]| times_of(chosen, &wish(), crew, walk).1;
                    let holds = of(new).promises_kept && of(new).back_after <= 400.0 + 1e-9;
                    assert!(holds || old == new, "a walk that held breaks");
                }
            };
            let [before, after] = dealt(&doors, None, &hold);
            prop_assert!(after.0 <= before.0);
            // Changes of block count beside the time on the way, so that may grow by as much: eight seconds for each door.
            let room = BLOCK_CHANGE * doors.len() as f64 + OWN_CROSSING * 100.0;
            prop_assert!(after.1 <= before.1 * (1.0 + FOR_CROSSINGS) + room, "{before:?} {after:?}");
        }
    }
}
