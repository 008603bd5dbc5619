//! What is asked for, and the answer: the day's task and the day's plan.

use super::{Standing, WalkError};

/// What a plan is good at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aim {
    /// Greatest total prize of the stops visited; ties: less travel.
    MostPrize,
    /// Least total travel with every must stop visited; other stops are left out.
    LeastTravel,
}

/// Seconds of travel from every place to every other, not always the same both ways.
#[derive(Clone, Debug, PartialEq)]
pub struct Travel {
    places: usize,
    seconds: Vec<f64>,
}

impl Travel {
    /// The matrix from its rows: row `i` holds the seconds from place `i` to every place.
    ///
    /// # Errors
    /// [`WalkError::NotSquare`] and [`WalkError::BadTravel`], with the row or the pair of places.
    pub fn from_rows(rows: &[Vec<f64>]) -> Result<Self, WalkError> {
        let places = rows.len();
        let mut seconds = Vec::with_capacity(places * places);
        for (row, values) in rows.iter().enumerate() {
            if values.len() != places {
                return Err(WalkError::NotSquare { rows: places, row, found: values.len() });
            }
            if let Some(to) = values.iter().position(|v| !is_quantity(*v)) {
                return Err(WalkError::BadTravel { from: row, to, found: values[to] });
            }
            seconds.extend_from_slice(values);
        }
        Ok(Self { places, seconds })
    }

    /// How many places there are.
    pub fn places(&self) -> usize {
        self.places
    }

    /// Seconds from one place to another.
    ///
    /// # Panics
    /// When a place is not in the matrix.
    pub fn seconds(&self, from: usize, to: usize) -> f64 {
        self.seconds[from * self.places + to]
    }

    /// Least seconds from one place to another, other places on the way allowed: less than [`Travel::seconds`] only where the
    /// matrix holds a leg that is longer than the way round.
    ///
    /// # Source
    /// E. W. Dijkstra, A note on two problems in connexion with graphs, Numer. Math. 1 (1959), on the full matrix.
    fn least_seconds(&self, from: usize, to: usize) -> f64 {
        let mut least: Vec<f64> = (0..self.places).map(|p| self.seconds(from, p)).collect();
        let mut waiting: Vec<usize> = (0..self.places).filter(|&p| p != from).collect();
        while let Some(next) = (0..waiting.len()).min_by(|&a, &b| least[waiting[a]].total_cmp(&least[waiting[b]])) {
            let by = waiting.swap_remove(next);
            if by == to {
                break;
            }
            for &p in &waiting {
                least[p] = least[p].min(least[by] + self.seconds(by, p));
            }
        }
        if from == to { 0.0 } else { least[to] }
    }
}

/// A door that may be visited.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// Its place in the travel matrix.
    pub at: usize,
    /// Seconds at the door.
    pub service: f64,
    /// What a visit is worth.
    pub prize: f64,
    /// Whether it must be visited.
    pub must: bool,
    /// Supplies that it takes, in units of [`DayTask::carry`].
    pub demand: f64,
}

/// One day's question: doors, crews and how far they can walk.
#[derive(Clone, Debug, PartialEq)]
pub struct DayTask {
    /// What a good plan is.
    pub aim: Aim,
    /// Travel between all places.
    pub travel: Travel,
    /// Place where every walk begins.
    pub start: usize,
    /// Place where every walk ends.
    pub end: usize,
    /// How many walks there may be.
    pub crews: usize,
    /// The longest walk, travel and doors together, in seconds; none: no limit.
    pub shift: Option<f64>,
    /// The longest walk of each crew, in seconds, where crews are out for unlike times; empty where all have [`DayTask::shift`].
    pub own_shifts: Vec<f64>,
    /// The greatest demand of one walk, in units; none: no limit.
    pub carry: Option<f64>,
    /// The doors, in any order.
    pub stops: Vec<Stop>,
}

impl DayTask {
    /// Looks for what makes a plan impossible or the task senseless.
    ///
    /// # Errors
    /// The first such thing, with the place or the value.
    pub fn check(&self) -> Result<(), WalkError> {
        if self.stops.is_empty() {
            return Err(WalkError::NoStops);
        }
        if self.crews == 0 {
            return Err(WalkError::NoCrew);
        }
        self.check_places()?;
        check_quantity(self.shift.unwrap_or(0.0), || "the shift".to_owned())?;
        self.own_shifts.iter().try_for_each(|own| check_quantity(*own, || "the shift of a crew".to_owned()))?;
        check_quantity(self.carry.unwrap_or(0.0), || "the carry".to_owned())?;
        self.stops.iter().try_for_each(|stop| self.check_stop(stop))
    }

    /// The longest walk of a crew, in seconds; none: no limit.
    pub fn room(&self, crew: usize) -> Option<f64> {
        self.own_shifts.get(crew).copied().or(self.shift)
    }

    /// The longest walk of the crew that is out longest.
    fn most_room(&self) -> Option<f64> {
        let own = self.own_shifts.iter().copied().reduce(f64::max);
        if self.own_shifts.len() < self.crews { own.map_or(self.shift, |own| self.shift.map(|s| s.max(own))) } else { own }
    }

    fn check_places(&self) -> Result<(), WalkError> {
        let places = self.travel.places();
        let ends = [("the start", self.start), ("the end", self.end)];
        let all = ends.into_iter().chain(self.stops.iter().map(|s| ("a stop", s.at)));
        let mut seen = vec![false; places];
        for (what, at) in all {
            if at >= places {
                return Err(WalkError::NoSuchPlace { what, at, places });
            }
            if what == "a stop" && std::mem::replace(&mut seen[at], true) {
                return Err(WalkError::SamePlace { at });
            }
        }
        Ok(())
    }

    fn check_stop(&self, stop: &Stop) -> Result<(), WalkError> {
        let at = stop.at;
        for (name, value) in [("service", stop.service), ("prize", stop.prize), ("demand", stop.demand)] {
            check_quantity(value, || format!("the {name} of the stop at place {at}"))?;
        }
        let directly = self.travel.seconds(self.start, at) + stop.service + self.travel.seconds(at, self.end);
        let most = self.most_room();
        let too_far = stop.must && most.is_some_and(|shift| directly > with_rounding(shift));
        let least = || self.travel.least_seconds(self.start, at) + stop.service + self.travel.least_seconds(at, self.end);
        let alone = if too_far { least() } else { directly };
        for (needs, room, unit) in [(alone, most, "seconds"), (stop.demand, self.carry, "units")] {
            if let Some(room) = room.filter(|room| stop.must && needs > with_rounding(*room)) {
                return Err(WalkError::CannotServe { at, needs, room, unit });
            }
        }
        Ok(())
    }

    /// What some walks are worth, counted afresh; each walk lists the places of its stops.
    ///
    /// # Panics
    /// When a walk lists a place that is not in the matrix.
    pub fn standing(&self, walks: &[Vec<usize>]) -> Standing {
        let visited: Vec<usize> = walks.iter().flatten().copied().collect();
        let (inside, left): (Vec<&Stop>, Vec<&Stop>) = self.stops.iter().partition(|s| visited.contains(&s.at));
        Standing {
            missing: left.iter().filter(|s| s.must).count(),
            prize: inside.iter().map(|s| s.prize).sum(),
            travel: walks.iter().map(|w| self.walk_travel(w)).sum(),
        }
    }

    /// Travel of one walk from start to end, in seconds; 0 for a walk without stops.
    ///
    /// # Panics
    /// When the walk lists a place that is not in the matrix.
    pub fn walk_travel(&self, walk: &[usize]) -> f64 {
        let (Some(first), Some(last)) = (walk.first(), walk.last()) else { return 0.0 };
        let between: f64 = walk.windows(2).map(|pair| self.travel.seconds(pair[0], pair[1])).sum();
        self.travel.seconds(self.start, *first) + between + self.travel.seconds(*last, self.end)
    }
}

/// The answer: who walks where.
#[derive(Clone, Debug, PartialEq)]
pub struct DayPlan {
    /// The places of each walk's stops in order; walks without stops are not listed.
    pub walks: Vec<Vec<usize>>,
    /// The places of the stops that no walk visits, ascending.
    pub left_out: Vec<usize>,
    /// What the plan is worth.
    pub standing: Standing,
}

impl DayPlan {
    /// The number that the aim asks for: total prize, or total travel in seconds.
    pub fn objective(&self, aim: Aim) -> f64 {
        match aim {
            Aim::MostPrize => self.standing.prize,
            Aim::LeastTravel => self.standing.travel,
        }
    }
}

/// A limit with room for the rounding of a long sum.
pub(super) fn with_rounding(limit: f64) -> f64 {
    limit + 1e-9 * (1.0 + limit)
}

fn is_quantity(value: f64) -> bool {
    value.is_finite() && value >= 0.0
}

fn check_quantity(found: f64, what: impl Fn() -> String) -> Result<(), WalkError> {
    if is_quantity(found) { Ok(()) } else { Err(WalkError::BadNumber { what: what(), found }) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Hint as _;

    fn task() -> DayTask {
        let travel = Travel::from_rows(&vec![vec![10.0; 4]; 4]).expect("square");
        let stop = |at| Stop { at, service: 5.0, prize: 1.0, must: true, demand: 2.0 };
        let stops = vec![stop(1), stop(2)];
        DayTask { aim: Aim::MostPrize, travel, start: 0, end: 3, crews: 1, shift: Some(25.0), own_shifts: vec![], carry: Some(2.0), stops }
    }

    #[test]
    fn a_sound_task_passes() {
        assert_eq!(task().check(), Ok(()));
    }

    #[test]
    fn a_matrix_must_be_square_and_hold_times() {
        let uneven = Travel::from_rows(&[vec![0.0, 1.0], vec![1.0]]);
        assert_eq!(uneven, Err(WalkError::NotSquare { rows: 2, row: 1, found: 1 }));
        for bad in [-1.0, f64::NAN, f64::INFINITY] {
            let found = Travel::from_rows(&[vec![0.0, bad], vec![1.0, 0.0]]);
            assert!(matches!(found, Err(WalkError::BadTravel { from: 0, to: 1, .. })), "{found:?}");
        }
    }

    #[test]
    fn a_must_stop_beyond_reach_is_named() {
        let needs_more = |change: &dyn Fn(&mut DayTask)| {
            let mut task = task();
            change(&mut task);
            task.check()
        };
        let short = needs_more(&|t| t.shift = Some(24.0));
        assert_eq!(short, Err(WalkError::CannotServe { at: 1, needs: 25.0, room: 24.0, unit: "seconds" }));
        let heavy = needs_more(&|t| t.stops[1].demand = 3.0);
        assert_eq!(heavy, Err(WalkError::CannotServe { at: 2, needs: 3.0, room: 2.0, unit: "units" }));
        assert!(!heavy.expect_err("too heavy").hint().is_empty());
    }

    #[test]
    fn senseless_tasks_are_refused() {
        type Change<'a> = &'a dyn Fn(&mut DayTask);
        let refused: [(WalkError, Change); 6] = [
            (WalkError::NoStops, &|t| t.stops.clear()),
            (WalkError::NoCrew, &|t| t.crews = 0),
            (WalkError::NoSuchPlace { what: "the end", at: 4, places: 4 }, &|t| t.end = 4),
            (WalkError::SamePlace { at: 1 }, &|t| t.stops[1].at = 1),
            (WalkError::BadNumber { what: "the shift".to_owned(), found: -1.0 }, &|t| t.shift = Some(-1.0)),
            (WalkError::BadNumber { what: "the prize of the stop at place 2".to_owned(), found: -1.0 }, &|t| t.stops[1].prize = -1.0),
        ];
        for (expected, change) in refused {
            let mut task = task();
            change(&mut task);
            assert_eq!(task.check(), Err(expected));
        }
    }
}
