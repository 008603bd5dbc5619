//! What a planner changes by hand: a door moved, added or taken off, locks; and what the change costs.
//!
//! Every change gives a new day and leaves the old one as it was, so that taking back is going back to it. Times, lengths and
//! lines of the walks that changed are worked out anew; the others stay as they are, to the last bit.

use super::legs::{Car, legs};
use super::{Because, CrewWalk, Day, Door, FoundBy, LeftOut, NetworkReport, Route, Torn, times};
use crate::place::Local;
use crate::survey::PremiseId;

/// Where a walk begins, ends and stops.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stop {
    /// Where all crews meet.
    MeetingPoint,
    /// At a premise's door.
    Door(PremiseId),
}

/// The way from one stop to another.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Way {
    /// How long it takes, in seconds.
    pub seconds: f64,
    /// How long it is, in metres.
    pub metres: f64,
    /// The line that is walked, both ends among its places.
    pub line: Vec<Local>,
}

impl Way {
    /// Where no way leads.
    pub(super) fn none() -> Self {
        Self { seconds: f64::INFINITY, ..Self::default() }
    }

    /// A way along the streets.
    pub(super) fn of(route: Route) -> Self {
        Self { seconds: route.seconds, metres: route.metres, line: route.line }
    }
}

/// What is known about going from door to door.
pub trait Ways {
    /// Where on the street a crew stands for a premise; `None` when no street leads there.
    fn stand(&self, premise: PremiseId) -> Option<Local>;

    /// The way from one stop to another, on foot.
    fn way(&self, from: Stop, to: Stop) -> Way;

    /// How long it takes, in seconds on foot.
    fn seconds(&self, from: Stop, to: Stop) -> f64 {
        self.way(from, to).seconds
    }

    /// How a premise was put at its street; `None` where there are no streets.
    fn found_by(&self, _premise: PremiseId) -> Option<FoundBy> {
        None
    }

    /// The name of the street at which a crew stands for a premise; `None` where no street leads there or it has no name.
    fn street(&self, _premise: PremiseId) -> Option<&str> {
        None
    }

    /// What was found while streets were joined; nothing where there are none.
    fn network(&self) -> NetworkReport {
        NetworkReport::default()
    }

    /// Where the streets are torn; nothing where there are none.
    fn torn(&self) -> Torn {
        Torn::default()
    }

    /// The crews' car, where they have one.
    fn car(&self) -> Option<Car> {
        None
    }
}

/// Where a door is in a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Spot {
    /// Which walk, counted from 0.
    pub walk: usize,
    /// Which door of it, counted from 0; one past the last is its end.
    pub door: usize,
}

/// Why a change by hand cannot be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ByHandError {
    /// The day has no such walk or door.
    #[error("the plan has no door {door} in walk {walk}", door = .0.door + 1, walk = .0.walk + 1)]
    NoSuchDoor(Spot),
    /// The door is locked where it is.
    #[error("the door, or its walk, is locked")]
    Locked,
    /// No street leads to the premise.
    #[error("no street leads to this yard")]
    NoWayThere,
    /// The premise is in a walk already.
    #[error("this yard is in the walk of {crew} already")]
    InAWalk {
        /// Whose walk.
        crew: String,
    },
}

impl crate::error::Hint for ByHandError {
    fn hint(&self) -> String {
        match self {
            Self::NoSuchDoor(_) => "Plan again, then choose the door in the list",
            Self::Locked => "Unlock it first",
            Self::NoWayThere => "Bring in the street that leads there, or give the yard an outline",
            Self::InAWalk { .. } => "Move it instead",
        }
        .to_owned()
    }
}

/// What a change costs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cost {
    /// Minutes more over all crews; below 0 when time is saved.
    pub minutes: f64,
    /// Metres more on foot over all crews.
    pub metres: f64,
    /// Walks that would come back after the end of the shift, with how many minutes after it.
    pub too_long: Vec<(usize, f64)>,
    /// Doors that would be reached after the hour that was promised.
    pub promises_broken: Vec<PremiseId>,
}

/// What it costs to go from one plan of a day to another.
pub fn cost(before: &Day, after: &Day) -> Cost {
    let sum = |day: &Day, of: fn(&CrewWalk) -> f64| day.walks.iter().map(of).sum::<f64>();
    let more = |of: fn(&CrewWalk) -> f64| sum(after, of) - sum(before, of);
    let over = |(walk, w): (usize, &CrewWalk)| (walk, w.back_after - after.shift(walk).until);
    // A second more than the shift is rounding, not overtime.
    let too_long = after.walks.iter().enumerate().map(over).filter(|(_, over)| *over > 1.0 / 60.0).collect();
    let late = |d: &&Door| d.promised.is_some_and(|(_, last)| d.arrive > last);
    let promises_broken = after.walks.iter().flat_map(|w| &w.doors).filter(late).map(|d| d.premise).collect();
    Cost { minutes: more(|w| w.back_after), metres: more(|w| w.walk_m), too_long, promises_broken }
}

/// Where a premise is in a day's walks.
pub fn spot_of(day: &Day, premise: PremiseId) -> Option<Spot> {
    let door = |w: &CrewWalk| w.doors.iter().position(|d| d.premise == premise);
    day.walks.iter().enumerate().find_map(|(walk, w)| door(w).map(|door| Spot { walk, door }))
}

/// The day with a door moved: `to` is where it stands afterwards.
///
/// # Errors
/// [`ByHandError`] when there is no such door or place, or when the door or one of the walks is locked.
pub fn move_door(day: &Day, from: Spot, to: Spot, ways: &dyn Ways) -> Result<Day, ByHandError> {
    let mut out = day.clone();
    free(&out, from)?;
    let door = out.walks[from.walk].doors.remove(from.door);
    put(&mut out, to, door)?;
    retime(&mut out, from.walk, ways);
    if to.walk != from.walk {
        retime(&mut out, to.walk, ways);
    }
    Ok(out)
}

/// The day with a door given to another crew, at the place in its walk where it costs least.
///
/// # Errors
/// As [`move_door`].
pub fn hand_over(day: &Day, from: Spot, walk: usize, ways: &dyn Ways) -> Result<Day, ByHandError> {
    free(day, from)?;
    let mut without = day.clone();
    let door = without.walks[from.walk].doors.remove(from.door);
    let to = cheapest(&without, walk, door.premise, ways).ok_or(ByHandError::NoSuchDoor(Spot { walk, door: 0 }))?;
    move_door(day, from, to, ways)
}

/// The day with all doors that somebody chose given to other crews, each to the one where it costs least; doors that are
/// locked stay. For a street that a crew must not walk.
///
/// # Errors
/// [`ByHandError::NoSuchDoor`] when there is no such walk.
pub fn hand_over_all(day: &Day, walk: usize, chosen: &dyn Fn(&Door) -> bool, ways: &dyn Ways) -> Result<Day, ByHandError> {
    let of = day.walks.get(walk).ok_or(ByHandError::NoSuchDoor(Spot { walk, door: 0 }))?;
    let picked: Vec<PremiseId> = of.doors.iter().filter(|d| chosen(d) && !d.locked).map(|d| d.premise).collect();
    let mut out = day.clone();
    for premise in picked {
        let Some(from) = spot_of(&out, premise) else { continue };
        let others = (0..out.walks.len()).filter(|w| *w != walk).filter_map(|w| hand_over(&out, from, w, ways).ok());
        let best = others.min_by(|a, b| cost(&out, a).minutes.total_cmp(&cost(&out, b).minutes));
        out = match best {
            Some(better) => better,
            None => remove(&out, from, ways)?,
        };
    }
    Ok(out)
}

/// The day with a door more, at the place in a walk where it costs least; a premise that was left out is so no longer. Where on
/// the street it stands is taken from the ways.
///
/// # Errors
/// [`ByHandError`] when the premise is in a walk already, no street leads there, or the walk is locked or not there.
pub fn add(day: &Day, walk: usize, mut door: Door, ways: &dyn Ways) -> Result<Day, ByHandError> {
    if let Some(there) = spot_of(day, door.premise) {
        return Err(ByHandError::InAWalk { crew: day.walks[there.walk].crew.clone() });
    }
    door.at = ways.stand(door.premise).ok_or(ByHandError::NoWayThere)?;
    let mut out = day.clone();
    out.left_out.retain(|l| l.premise != door.premise);
    let to = cheapest(&out, walk, door.premise, ways).ok_or(ByHandError::NoSuchDoor(Spot { walk, door: 0 }))?;
    put(&mut out, to, door)?;
    retime(&mut out, walk, ways);
    Ok(out)
}

/// The day without a door, which is then left out as taken off by hand.
///
/// # Errors
/// [`ByHandError`] when there is no such door, or it is locked.
pub fn remove(day: &Day, from: Spot, ways: &dyn Ways) -> Result<Day, ByHandError> {
    free(day, from)?;
    let mut out = day.clone();
    let Door { premise, why, worth, .. } = out.walks[from.walk].doors.remove(from.door);
    let at = out.left_out.partition_point(|l| l.worth >= worth);
    out.left_out.insert(at, LeftOut { premise, why, worth, because: Because::TakenOff });
    retime(&mut out, from.walk, ways);
    Ok(out)
}

/// The day with a door locked in its walk, or let go.
///
/// # Errors
/// [`ByHandError::NoSuchDoor`] when there is no such door.
pub fn lock_door(day: &Day, at: Spot, locked: bool) -> Result<Day, ByHandError> {
    let mut out = day.clone();
    let walk = out.walks.get_mut(at.walk).ok_or(ByHandError::NoSuchDoor(at))?;
    walk.doors.get_mut(at.door).ok_or(ByHandError::NoSuchDoor(at))?.locked = locked;
    Ok(out)
}

/// The day with a walk locked as it is, or let go.
///
/// # Errors
/// [`ByHandError::NoSuchDoor`] when there is no such walk.
pub fn lock_walk(day: &Day, walk: usize, locked: bool) -> Result<Day, ByHandError> {
    let mut out = day.clone();
    out.walks.get_mut(walk).ok_or(ByHandError::NoSuchDoor(Spot { walk, door: 0 }))?.locked = locked;
    Ok(out)
}

/// Works the times, lengths and line of one walk out anew. A crew that comes before a promised hour waits for it.
pub fn retime(day: &mut Day, walk: usize, ways: &dyn Ways) {
    let leaves = day.shift(walk).from;
    let Some(walk) = day.walks.get_mut(walk) else { return };
    walk.path.clear();
    (walk.walk_m, walk.back_after, walk.drives) = (0.0, 0.0, 0);
    let stops: Vec<Stop> = walk.doors.iter().map(|d| Stop::Door(d.premise)).collect();
    let legs = legs(Stop::MeetingPoint, &stops, &|a, b| ways.seconds(a, b), ways.car());
    let mut at = Stop::MeetingPoint;
    for (k, leg) in legs.iter().enumerate() {
        let on_foot = ways.way(at, leg.from_car.unwrap_or(leg.to));
        append(&mut walk.path, &on_foot.line);
        if let Some(car) = leg.from_car {
            append(&mut walk.path, &ways.way(car, leg.to).line);
            walk.drives += 1;
        }
        walk.walk_m += on_foot.metres;
        walk.doors.iter_mut().skip(k).take(1).for_each(|door| (door.walk_m, door.by_car) = (on_foot.metres, leg.from_car.is_some()));
        at = leg.to;
    }
    let on_clock = walk.doors.iter().zip(&legs).map(|(door, leg)| (leg.seconds / 60.0, door.minutes, door.promised));
    let home = legs.last().map_or(0.0, |leg| leg.seconds / 60.0);
    let clock = times(leaves, &on_clock.collect::<Vec<_>>(), home, &day.pauses);
    walk.doors.iter_mut().zip(&clock.arrive).for_each(|(door, &arrive)| door.arrive = arrive);
    walk.back_after = clock.back_after;
}

/// Adds a line to a path that may end where the line begins.
fn append(path: &mut Vec<Local>, line: &[Local]) {
    let met = path.last().is_some_and(|last| line.first() == Some(last));
    path.extend(line.iter().skip(usize::from(met)));
}

/// Whether a door can be taken from where it is.
fn free(day: &Day, at: Spot) -> Result<(), ByHandError> {
    let walk = day.walks.get(at.walk).ok_or(ByHandError::NoSuchDoor(at))?;
    let door = walk.doors.get(at.door).ok_or(ByHandError::NoSuchDoor(at))?;
    if walk.locked || door.locked { Err(ByHandError::Locked) } else { Ok(()) }
}

fn put(day: &mut Day, to: Spot, door: Door) -> Result<(), ByHandError> {
    let walk = day.walks.get_mut(to.walk).ok_or(ByHandError::NoSuchDoor(to))?;
    if walk.locked {
        return Err(ByHandError::Locked);
    }
    if to.door > walk.doors.len() {
        return Err(ByHandError::NoSuchDoor(to));
    }
    walk.doors.insert(to.door, door);
    Ok(())
}

/// Where in a walk one more premise costs the fewest seconds; the first of equals.
fn cheapest(day: &Day, walk: usize, premise: PremiseId, ways: &dyn Ways) -> Option<Spot> {
    let stops: Vec<Stop> = day.walks.get(walk)?.doors.iter().map(|d| Stop::Door(d.premise)).collect();
    let travel = |door: usize| {
        let mut with = stops.clone();
        with.insert(door, Stop::Door(premise));
        legs(Stop::MeetingPoint, &with, &|a, b| ways.seconds(a, b), ways.car()).iter().map(|leg| leg.seconds).sum::<f64>()
    };
    let costs = (0..=stops.len()).map(|door| (travel(door), door));
    costs.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, door)| Spot { walk, door })
}

/// Straight lines, a stated number of times as long as they look: for a survey without streets.
#[derive(Clone, Debug, PartialEq)]
pub struct StraightWays {
    /// Where all crews meet.
    pub meeting_point: Local,
    /// Where a crew stands for each premise, in the order of the premises.
    pub stands: Vec<Option<Local>>,
    /// How much longer the way is than the straight line.
    pub detour: f64,
    /// Metres walked in a second.
    pub speed: f64,
}

impl Ways for StraightWays {
    fn stand(&self, premise: PremiseId) -> Option<Local> {
        self.stands.get(premise.row()).copied().flatten()
    }

    fn way(&self, from: Stop, to: Stop) -> Way {
        let place = |stop: Stop| match stop {
            Stop::MeetingPoint => Some(self.meeting_point),
            Stop::Door(premise) => self.stand(premise),
        };
        let Some((a, b)) = place(from).zip(place(to)) else { return Way::none() };
        let metres = a.distance(b) * self.detour;
        Way { seconds: metres / self.speed, metres, line: vec![a, b] }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Why, WhyKind};
    use super::*;
    use jiff::civil::{date, time};
    use proptest::prelude::*;

    fn ways() -> StraightWays {
        let stands = (0..40).map(|i| Some(Local { x: f64::from(i * 37 % 40) * 20.0, y: f64::from(i % 7) * 45.0 })).collect();
        StraightWays { meeting_point: Local { x: 5.0, y: 5.0 }, stands, detour: 1.3, speed: 1.2 }
    }

    fn door(premise: u32, ways: &StraightWays) -> Door {
        let premise = PremiseId(premise);
        let at = ways.stand(premise).unwrap();
        let why = Why { kind: WhyKind::Gap, words: "not visited".to_owned() };
        let worth = f64::from(premise.0);
        Door {
            premise,
            why,
            at,
            arrive: 0.0,
            minutes: 12.0,
            walk_m: 0.0,
            by_car: false,
            probability: None,
            worth,
            must: false,
            overdue_days: 0,
            promised: None,
            locked: false,
        }
    }

    fn day(sizes: &[usize]) -> Day {
        let ways = ways();
        let mut next = 0;
        let mut walk = |n: usize| {
            next += n as u32;
            let doors = (next - n as u32..next).map(|p| door(p, &ways)).collect();
            CrewWalk { crew: format!("Crew {next}"), doors, ..CrewWalk::default() }
        };
        let walks: Vec<CrewWalk> = sizes.iter().map(|&n| walk(n)).collect();
        let (on, begins) = (date(2025, 7, 24), time(8, 0, 0, 0));
        let mut day = Day {
            on,
            begins,
            shift_minutes: 360.0,
            pauses: vec![],
            on_foot: true,
            meeting_point: ways.meeting_point,
            walks,
            left_out: vec![],
            ..Day::default()
        };
        (0..sizes.len()).for_each(|w| retime(&mut day, w, &ways));
        day
    }

    fn premises(day: &Day) -> Vec<u32> {
        let walked = day.walks.iter().flat_map(|w| &w.doors).map(|d| d.premise.0);
        let mut all: Vec<u32> = walked.chain(day.left_out.iter().map(|l| l.premise.0)).collect();
        all.sort_unstable();
        all
    }

    /// Times from nothing but the order of the doors.
    fn consistent(day: &Day, ways: &StraightWays) {
        for w in &day.walks {
            let (mut at, mut clock, mut metres) = (day.meeting_point, 0.0, 0.0);
            for d in &w.doors {
                clock += at.distance(d.at) * 1.3 / 1.2 / 60.0;
                metres += at.distance(d.at) * 1.3;
                assert!((d.arrive - clock).abs() < 1e-9 && d.at == ways.stand(d.premise).unwrap());
                clock += d.minutes;
                at = d.at;
            }
            let home = if w.doors.is_empty() { 0.0 } else { at.distance(day.meeting_point) };
            assert!((w.back_after - clock - home * 1.3 / 1.2 / 60.0).abs() < 1e-9 && (w.walk_m - metres - home * 1.3).abs() < 1e-9);
        }
    }

    proptest! {
        #[test]
        fn moving_loses_no_door_and_moving_back_is_no_change(
            sizes in prop::collection::vec(0usize..9, 1..5), picks in prop::collection::vec(any::<[prop::sample::Index; 4]>(), 1..6)
        ) {
            let (ways, before) = (ways(), day(&sizes));
            let mut now = before.clone();
            let mut moves = Vec::new();
            for [a, b, c, d] in picks {
                let full: Vec<usize> = (0..now.walks.len()).filter(|&w| !now.walks[w].doors.is_empty()).collect();
                prop_assume!(!full.is_empty());
                let walk = full[a.index(full.len())];
                let from = Spot { walk, door: b.index(now.walks[walk].doors.len()) };
                let to_walk = c.index(now.walks.len());
                let room = now.walks[to_walk].doors.len() + usize::from(to_walk != walk);
                let to = Spot { walk: to_walk, door: d.index(room) };
                let after = move_door(&now, from, to, &ways).unwrap();
                prop_assert_eq!(premises(&after), premises(&before));
                consistent(&after, &ways);
                let there = cost(&now, &after);
                let back = cost(&after, &now);
                prop_assert!((there.minutes + back.minutes).abs() < 1e-9 && (there.metres + back.metres).abs() < 1e-9);
                moves.push((from, to));
                now = after;
            }
            for (from, to) in moves.into_iter().rev() {
                now = move_door(&now, to, from, &ways).unwrap();
            }
            prop_assert_eq!(now, before);
        }

        #[test]
        fn handing_over_is_never_dearer_than_any_other_place(sizes in prop::collection::vec(1usize..8, 2..4), pick in any::<prop::sample::Index>()) {
            let (ways, before) = (ways(), day(&sizes));
            let from = Spot { walk: 0, door: pick.index(sizes[0]) };
            let best = cost(&before, &hand_over(&before, from, 1, &ways).unwrap()).minutes;
            for door in 0..=before.walks[1].doors.len() {
                let other = move_door(&before, from, Spot { walk: 1, door }, &ways).unwrap();
                prop_assert!(best <= cost(&before, &other).minutes + 1e-9);
            }
        }

        #[test]
        fn taken_off_and_added_again_is_there_once(sizes in prop::collection::vec(1usize..8, 1..4), pick in any::<prop::sample::Index>()) {
            let (ways, before) = (ways(), day(&sizes));
            let from = Spot { walk: 0, door: pick.index(sizes[0]) };
            let off = remove(&before, from, &ways).unwrap();
            prop_assert_eq!(premises(&off), premises(&before));
            prop_assert_eq!(off.left_out[0].because, Because::TakenOff);
            consistent(&off, &ways);
            let again = add(&off, 0, before.walks[0].doors[from.door].clone(), &ways).unwrap();
            prop_assert!(again.left_out.is_empty() && premises(&again) == premises(&before));
            consistent(&again, &ways);
            prop_assert!(cost(&before, &again).minutes < 1e-9, "the cheapest place is no dearer than where it was");
            let twice = add(&again, 0, before.walks[0].doors[from.door].clone(), &ways);
            let told = matches!(twice, Err(ByHandError::InAWalk { .. }));
            prop_assert!(told);
        }
    }

    #[test]
    fn what_is_locked_stays() {
        let (ways, before) = (ways(), day(&[3, 3]));
        let spot = |walk, door| Spot { walk, door };
        let locked = lock_door(&before, spot(0, 1), true).unwrap();
        assert_eq!(move_door(&locked, spot(0, 1), spot(1, 0), &ways), Err(ByHandError::Locked));
        assert_eq!(remove(&locked, spot(0, 1), &ways), Err(ByHandError::Locked));
        let shut = lock_walk(&before, 1, true).unwrap();
        assert_eq!(move_door(&shut, spot(0, 1), spot(1, 0), &ways), Err(ByHandError::Locked));
        assert_eq!(lock_walk(&shut, 1, false).unwrap(), before);
        assert_eq!(move_door(&before, spot(0, 3), spot(1, 0), &ways), Err(ByHandError::NoSuchDoor(spot(0, 3))));
        assert_eq!(move_door(&before, spot(0, 0), spot(0, 3), &ways), Err(ByHandError::NoSuchDoor(spot(0, 3))));
    }

    #[test]
    fn a_street_taken_from_a_crew_goes_to_the_others_and_locked_doors_stay() {
        let (ways, before) = (ways(), day(&[5, 4, 2]));
        let before = lock_door(&before, Spot { walk: 0, door: 0 }, true).unwrap();
        let after = hand_over_all(&before, 0, &|d| d.premise.0 % 2 == 0, &ways).unwrap();
        let kept: Vec<u32> = after.walks[0].doors.iter().map(|d| d.premise.0).collect();
        assert_eq!(kept, [0, 1, 3], "0 is locked, 2 and 4 are handed over");
        assert_eq!(premises(&after), premises(&before));
        consistent(&after, &ways);
        let alone = hand_over_all(&day(&[3]), 0, &|_| true, &ways).unwrap();
        assert_eq!((alone.walks[0].doors.len(), alone.left_out.len()), (0, 3), "nobody else walks: the doors are left out");
    }

    #[test]
    fn a_crew_waits_for_a_promised_hour_and_a_missed_one_is_told() {
        let (ways, mut before) = (ways(), day(&[2]));
        before.walks[0].doors[1].promised = Some((200.0, 230.0));
        retime(&mut before, 0, &ways);
        assert_eq!(before.walks[0].doors[1].arrive, 200.0);
        let mut late = before.clone();
        late.walks[0].doors[0].minutes = 400.0;
        retime(&mut late, 0, &ways);
        let told = cost(&before, &late);
        assert_eq!(told.promises_broken, [before.walks[0].doors[1].premise]);
        assert!(told.too_long.len() == 1 && told.too_long[0].1 > 40.0 && told.minutes > 190.0);
    }
}
