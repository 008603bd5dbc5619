//! When each crew is out.

use super::{Day, Pause, Wish};
use jiff::civil::Time;

/// When a crew is out, in minutes after the beginning of the day's walks; below 0 for a crew that leaves before the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shift {
    /// When it leaves the meeting point.
    pub from: f64,
    /// When it is back at the latest.
    pub until: f64,
}

impl Shift {
    /// The shift of a crew that leaves at some time of the day and is out for so many minutes at most, on a day that begins at another time.
    ///
    /// ```
    /// use jiff::civil::time;
    /// use yardring_core::walks::Shift;
    /// let early = Shift::of_day(time(8, 0, 0, 0), time(7, 0, 0, 0), 240.0);
    /// assert_eq!(early, Shift { from: -60.0, until: 180.0 });
    /// ```
    pub fn of_day(begins: Time, leaves: Time, minutes: f64) -> Self {
        let from = leaves.duration_since(begins).as_secs_f64() / 60.0;
        Self { from, until: from + minutes }
    }

    /// How long it is, in minutes.
    pub fn minutes(self) -> f64 {
        self.until - self.from
    }

    /// From the first crew's leaving to the last one's coming back; `common` where there is no crew.
    pub fn whole(common: Self, crews: usize, own: &[Option<Self>]) -> Self {
        let of = |crew: usize| own.get(crew).copied().flatten().unwrap_or(common);
        let all = (0..crews).map(of).reduce(|a, b| Self { from: a.from.min(b.from), until: a.until.max(b.until) });
        all.unwrap_or(common)
    }

    /// The minutes that are left for walking and doors when all pauses are made.
    pub(super) fn walking_minutes(self, pauses: &[Pause]) -> f64 {
        let made: f64 = pauses.iter().filter(|p| p.from >= self.from && p.from < self.until).map(|p| p.minutes).sum();
        (self.minutes() - made).max(0.0)
    }
}

impl Wish {
    /// When a crew, counted from 0, is out: by its own hours, or else as all are.
    pub fn shift(&self, crew: usize) -> Shift {
        self.own_shifts.get(crew).copied().flatten().unwrap_or(self.common_shift())
    }

    /// When crews without hours of their own are out.
    pub fn common_shift(&self) -> Shift {
        Shift { from: 0.0, until: self.shift_minutes }
    }

    /// Whether a crew is out for longer or shorter than the others.
    pub(super) fn shifts_differ(&self) -> bool {
        (0..self.crews.len()).any(|crew| self.shift(crew) != self.common_shift())
    }
}

impl Day {
    /// When the crew of a walk, counted from 0, is out.
    pub fn shift(&self, walk: usize) -> Shift {
        let own = self.walks.get(walk).and_then(|w| w.own_shift);
        own.unwrap_or(Shift { from: 0.0, until: self.shift_minutes })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_whole_day_reaches_from_the_first_crew_to_the_last() {
        let (common, half) = (Shift { from: 0.0, until: 360.0 }, Shift { from: -60.0, until: 180.0 });
        assert_eq!(Shift::whole(common, 2, &[Some(half)]), Shift { from: -60.0, until: 360.0 });
        assert_eq!(Shift::whole(common, 1, &[Some(half)]), half, "nobody is out at the common hours");
        assert_eq!(Shift::whole(common, 0, &[]), common);
    }

    #[test]
    fn a_pause_before_a_crew_leaves_costs_it_nothing() {
        let pauses = [Pause { from: 240.0, minutes: 30.0, heat: false }];
        assert_eq!(Shift { from: 0.0, until: 360.0 }.walking_minutes(&pauses), 330.0);
        assert_eq!(Shift { from: 300.0, until: 540.0 }.walking_minutes(&pauses), 240.0);
        assert_eq!(Shift { from: 0.0, until: 20.0 }.walking_minutes(&[Pause { from: 0.0, minutes: 30.0, heat: true }]), 0.0);
    }
}
