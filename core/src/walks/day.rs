//! A planned day: every crew's walk door by door, and the doors that are left out, each with its reason.

use super::{Marks, Pause, Shift};
use crate::place::Local;
use crate::survey::{PremiseId, Promised};
use jiff::civil::{Date, Time};

/// One planned day.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Day {
    /// The day.
    pub on: Date,
    /// When crews leave the meeting point that have no hours of their own; all minutes of the day are counted from it.
    pub begins: Time,
    /// How long a crew without hours of its own is out at most, in minutes.
    pub shift_minutes: f64,
    /// Breaks and pauses for the heat, in order.
    pub pauses: Vec<Pause>,
    /// Whether the crews have no car: legs too far to walk are walked all the same.
    pub on_foot: bool,
    /// Where every walk begins and ends.
    pub meeting_point: Local,
    /// One walk for each crew, in the crews' order; a crew without doors has an empty walk.
    pub walks: Vec<CrewWalk>,
    /// Doors that were candidates and are not walked to today, worth most first.
    pub left_out: Vec<LeftOut>,
    /// What one more crew would add, when it was worked out.
    pub one_more_crew: Option<OneMore>,
    /// What the planner promised, beside what visits wrote down; later days are planned with it too.
    pub promises: Vec<(PremiseId, Promised)>,
    /// Streets that a crew is kept off, on later days too: which crew, counted from 0, and the street's name.
    pub kept_off: Vec<(usize, String)>,
    /// The mark of the lines that no crew crosses, as they were when the day was planned; see [`super::lines_mark`].
    pub lines: u64,
    /// Marks of what else the day was planned with.
    pub marks: Marks,
}

impl Day {
    /// The time of day at some minutes after the beginning, to the full minute.
    ///
    /// ```
    /// use yardring_core::walks::clock;
    /// assert_eq!(clock(jiff::civil::time(8, 0, 0, 0), 75.4).to_string(), "09:15:00");
    /// ```
    pub fn clock(&self, minutes: f64) -> Time {
        clock(self.begins, minutes)
    }

    /// Doors of the walks to which somebody was promised another hour than the one at which the crew comes.
    pub fn promises_broken(&self) -> impl Iterator<Item = &Door> {
        self.walks.iter().flat_map(|w| &w.doors).filter(|d| d.breaks_promise())
    }

    /// Doors on all walks.
    pub fn doors(&self) -> usize {
        self.walks.iter().map(|w| w.doors.len()).sum()
    }

    /// The doors in the order of the walks: of one crew, by its place among the walks, or of all crews one after the other.
    pub fn in_order(&self, crew: Option<usize>) -> Vec<PremiseId> {
        let wanted = self.walks.iter().enumerate().filter(|(i, _)| crew.is_none_or(|c| c == *i));
        wanted.flat_map(|(_, w)| w.doors.iter().map(|d| d.premise)).collect()
    }
}

/// The time of day at some minutes after another, to the full minute; past midnight it begins anew.
pub fn clock(begins: Time, minutes: f64) -> Time {
    let whole = jiff::SignedDuration::from_mins(minutes.round() as i64);
    begins.wrapping_add(whole)
}

impl CrewWalk {
    /// Minutes after the day's beginning at which the crew leaves.
    pub fn leaves_after(&self) -> f64 {
        self.own_shift.map_or(0.0, |own| own.from)
    }

    /// Minutes for which the crew is out.
    pub fn minutes_out(&self) -> f64 {
        self.back_after - self.leaves_after()
    }
}

/// One crew's walk.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CrewWalk {
    /// What the crew is called.
    pub crew: String,
    /// When the crew is out, where it has hours of its own; without, as all are.
    pub own_shift: Option<Shift>,
    /// The doors in the order they are walked.
    pub doors: Vec<Door>,
    /// The line that is walked, from the meeting point by all doors and back, in the district frame.
    pub path: Vec<Local>,
    /// Minutes after the beginning at which the crew is back.
    pub back_after: f64,
    /// What is walked, in metres; what is driven does not count.
    pub walk_m: f64,
    /// Legs that are driven.
    pub drives: usize,
    /// What to carry.
    pub supplies: Vec<Supply>,
    /// Whether a later plan must leave this walk as it is.
    pub locked: bool,
}

/// One door of a walk.
#[derive(Clone, Debug, PartialEq)]
pub struct Door {
    /// Which premise.
    pub premise: PremiseId,
    /// Why somebody goes there.
    pub why: Why,
    /// Where on the street the crew stands, in the district frame.
    pub at: Local,
    /// Minutes after the beginning at which the crew arrives.
    pub arrive: f64,
    /// Minutes spent at the door.
    pub minutes: f64,
    /// Metres walked to it from the door before, or from the meeting point.
    pub walk_m: f64,
    /// Whether the crew comes by car: it walks back to where the car stands and drives from there.
    pub by_car: bool,
    /// The chance that it is positive, when it could be foreseen.
    pub probability: Option<f64>,
    /// What the visit is worth; only the order of such numbers means anything.
    pub worth: f64,
    /// Whether it cannot wait for another day.
    pub must: bool,
    /// Days since its last safe day; 0 where that is not past.
    pub overdue_days: u32,
    /// The minutes after the beginning between which somebody must arrive, when that was promised.
    pub promised: Option<(f64, f64)>,
    /// Whether a later plan must leave the door in this walk.
    pub locked: bool,
}

impl Door {
    /// Minutes after the beginning at which the crew goes on.
    pub fn leave(&self) -> f64 {
        self.arrive + self.minutes
    }

    /// What cannot wait in two or three words: "today at the latest", "3 days overdue"; nothing where the door can wait.
    pub fn urgency(&self) -> Option<String> {
        let words = match self.overdue_days {
            0 => "today at the latest".to_owned(),
            1 => "1 day overdue".to_owned(),
            days => format!("{days} days overdue"),
        };
        self.must.then_some(words)
    }

    /// Whether the crew comes before or after the promised hour, to the full minute.
    pub fn breaks_promise(&self) -> bool {
        self.promised.is_some_and(|(from, until)| self.arrive.round() < from.round() || self.arrive.round() > until.round())
    }
}

/// Why a door is on the list, as sheets and files say it. The place or the existence of a case is never named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Why {
    /// The kind of reason.
    pub kind: WhyKind,
    /// The reason in a few words, such as "no answer on 14 July; two positive yards within 35 m".
    pub words: String,
}

/// The kinds of reason for which a door is visited.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WhyKind {
    /// What was left there flies soon, or the visit is overdue.
    LastSafeDay,
    /// A visit that is due.
    CallBack,
    /// A premise in the reach that nobody inspected.
    Gap,
    /// It was on a walk of an earlier day, and nobody reached it.
    LeftOver,
    /// The planner put it there.
    ByHand,
}

/// A door that is not walked to today.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// Which premise.
    pub premise: PremiseId,
    /// Why it was a candidate.
    pub why: Why,
    /// What the visit would be worth.
    pub worth: f64,
    /// Why nobody goes there today.
    pub because: Because,
}

/// Why a candidate is left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Because {
    /// The shifts are full with doors worth more.
    ShiftsFull,
    /// Going there and back takes longer than a shift.
    TooFar,
    /// No street leads there.
    NoWayThere,
    /// Nobody can be there when it was promised and be back in time.
    PromiseCannotBeKept,
    /// Doors that come first leave no time at the hour that was promised.
    HourFull,
    /// The hour that was promised lies outside every crew's shift.
    OutOfHours,
    /// It was promised another day.
    PromisedAnotherDay,
    /// Every crew is kept off its street.
    KeptOff,
    /// The planner took it off.
    TakenOff,
}

impl Because {
    /// The reason as files and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::ShiftsFull => "shifts are full",
            Self::TooFar => "too far for one shift",
            Self::NoWayThere => "no street leads there",
            Self::PromiseCannotBeKept => "promised hour cannot be kept",
            Self::HourFull => "promised hour is full",
            Self::OutOfHours => "promised hour lies outside the shifts",
            Self::PromisedAnotherDay => "promised another day",
            Self::KeptOff => "no crew may go to this street",
            Self::TakenOff => "taken off by hand",
        }
    }
}

/// What one more crew would add to a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneMore {
    /// Doors more.
    pub doors: u32,
    /// Worth more.
    pub worth: f64,
}

/// Something to carry.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// What it is, such as "notices, English".
    pub what: String,
    /// How much.
    pub amount: f64,
    /// In which unit; empty for pieces.
    pub unit: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_promise_is_broken_by_coming_too_early_as_by_coming_too_late() {
        let premise = PremiseId(0);
        let mut door = super::super::Candidate::by_hand(premise, 10.0, "").door(Local { x: 0.0, y: 0.0 });
        assert!(!door.breaks_promise(), "nothing was promised");
        door.promised = Some((60.0, 90.0));
        for (arrive, broken) in [(16.0, true), (59.4, true), (59.6, false), (90.4, false), (91.0, true)] {
            door.arrive = arrive;
            assert_eq!(door.breaks_promise(), broken, "{arrive}");
        }
        let walk = CrewWalk { doors: vec![door], ..CrewWalk::default() };
        assert_eq!(Day { walks: vec![walk], ..Day::default() }.promises_broken().count(), 1);
    }
}
