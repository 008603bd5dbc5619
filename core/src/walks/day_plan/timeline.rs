//! When a crew is where: walking, waiting for a promised hour, pausing, and the doors.

use super::Wish;
use super::chosen::Chosen;
use crate::walks::Shift;
use jiff::civil::Time;

/// A pause that every crew makes that is out by then: at the first door it would come to after its beginning.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pause {
    /// Minutes after the beginning of the day's walks.
    pub from: f64,
    /// How long it lasts, in minutes.
    pub minutes: f64,
    /// Whether it is for the heat of the day rather than a break.
    pub heat: bool,
}

impl Pause {
    /// The usual break and the usual pause for the heat: half an hour at noon, a quarter of an hour in the shade at one.
    ///
    /// # Source
    /// That crews pause in the afternoon's heat: the project's science notes, 11. Hours and lengths: common practice, no source; they
    /// are there to be changed.
    pub const USUAL: [(Time, f64, bool); 2] = [(Time::constant(12, 0, 0, 0), 30.0, false), (Time::constant(13, 0, 0, 0), 15.0, true)];

    /// The pauses of a shift, in order: of some times of the day, each with its minutes and whether it is for the heat, those that
    /// begin within the shift. With crews of unlike shifts, [`Shift::whole`] holds them all.
    ///
    /// ```
    /// use jiff::civil::time;
    /// use yardring_core::walks::{Pause, Shift};
    /// let pauses = Pause::within(time(8, 0, 0, 0), Shift { from: 0.0, until: 300.0 }, &Pause::USUAL);
    /// assert_eq!(pauses, [Pause { from: 240.0, minutes: 30.0, heat: false }]);
    /// ```
    pub fn within(begins: Time, shift: Shift, of_day: &[(Time, f64, bool)]) -> Vec<Self> {
        let from = |at: Time| at.duration_since(begins).as_secs_f64() / 60.0;
        let all = of_day.iter().map(|&(at, minutes, heat)| Self { from: from(at), minutes, heat });
        let mut out: Vec<Self> = all.filter(|p| p.from >= shift.from && p.from < shift.until && p.minutes > 0.0).collect();
        out.sort_by(|a, b| a.from.total_cmp(&b.from));
        out
    }
}

/// What the time of one walk is made of: minutes to each stop from the one before, and minutes there.
#[derive(Clone, Debug, PartialEq)]
pub struct Times {
    /// Minutes after the beginning at which somebody arrives at each door, after waiting and pausing.
    pub arrive: Vec<f64>,
    /// Minutes after the beginning at which the crew is back.
    pub back_after: f64,
    /// Whether every promise is kept.
    pub promises_kept: bool,
}

/// One door for the clock: minutes to it, minutes at it, and the promised minutes.
pub type DoorOnClock = (f64, f64, Option<(f64, f64)>);

/// The times of a walk that begins some minutes after the day's beginning: each door with the minutes to it, the minutes at it and the
/// promise; and the minutes back at the end.
///
/// A crew that comes before the promised hour waits. A pause is made at the first door after its beginning, before going in; one that began
/// before the crew left is none.
///
/// ```
/// use yardring_core::walks::{Pause, times};
/// let lunch = [Pause { from: 20.0, minutes: 30.0, heat: false }];
/// let t = times(0.0, &[(5.0, 15.0, None), (5.0, 10.0, None), (5.0, 10.0, Some((90.0, 120.0)))], 10.0, &lunch);
/// assert_eq!(t.arrive, [5.0, 55.0, 90.0]);
/// assert_eq!((t.back_after, t.promises_kept), (110.0, true));
/// ```
pub fn times(leaves: f64, doors: &[DoorOnClock], back: f64, pauses: &[Pause]) -> Times {
    let (mut now, mut promises_kept) = (leaves, true);
    let mut waiting = pauses.iter().filter(|p| p.from >= leaves).peekable();
    let mut arrive = Vec::with_capacity(doors.len());
    for &(to, at, promised) in doors {
        now += to;
        while let Some(pause) = waiting.next_if(|p| p.from <= now) {
            now += pause.minutes;
        }
        if let Some((from, until)) = promised {
            now = now.max(from);
            promises_kept &= now <= until;
        }
        arrive.push(now);
        now += at;
    }
    Times { arrive, back_after: now + back, promises_kept }
}

/// Seconds on the way over the doors of a crew's walk, and its times.
pub(super) fn times_of(chosen: &Chosen<'_>, wish: &Wish, crew: usize, walk: &[usize]) -> (f64, Times) {
    let legs = chosen.legs(walk);
    let to_door = walk.iter().zip(&legs).map(|(&door, leg)| {
        let c = chosen.candidate(door);
        (leg.seconds / 60.0, c.minutes, c.promised)
    });
    let back = legs.last().map_or(0.0, |leg| leg.seconds / 60.0);
    let times = times(wish.shift(crew).from, &to_door.collect::<Vec<DoorOnClock>>(), back, &wish.pauses);
    (legs.iter().map(|leg| leg.seconds).sum(), times)
}
