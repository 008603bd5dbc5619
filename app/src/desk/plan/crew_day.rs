//! How many yards a crew inspects in a day, by what the step of the crews knows.

use super::crews::hours;
use crate::session::walking::Crews;
use yardring_core::walks::Learnt;

/// Minutes from a door to the next one. Common practice, no source: some 100 m along the street at a walk.
const BETWEEN: f64 = 1.5;

/// A day of one crew.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct CrewDay {
    /// Yards that it inspects.
    pub yards: f64,
    /// How that is reckoned, in words.
    pub words: String,
}

/// Reckons a day of one crew: the shift without its pauses, divided by what a door takes with the way to it, and of the doors those that
/// open. `pauses` in minutes.
pub(super) fn crew_day(crews: &Crews, pauses: f64, learnt: &Learnt) -> CrewDay {
    let minutes = crews.minutes.unwrap_or(learnt.minutes);
    let closed = learnt.closed_share;
    let door = (1.0 - closed) * minutes.complete + closed * minutes.closed + BETWEEN;
    let yards = (crews.shift_minutes - pauses).max(0.0) / door * (1.0 - closed);
    let out = if pauses > 0.0 { format!(" less {pauses:.0} min of pauses") } else { String::new() };
    let words = format!(
        "By the crews of step {}: a shift of {}{out}; {:.1} min a door with the way to it, {:.0} % stay closed.",
        super::at::CREWS,
        hours(crews.shift_minutes),
        door,
        100.0 * closed
    );
    CrewDay { yards, words }
}

#[cfg(test)]
mod tests {
    use super::*;
    use yardring_core::walks::DoorMinutes;

    /// By hand: 360 less 60 minutes, 0.6 × 15 + 0.4 × 3 + 1.5 = 11.7 minutes a door, 25.6 doors, 15.4 of them open.
    #[test]
    fn a_day_is_shift_by_doors_that_open() {
        let learnt = Learnt { minutes: DoorMinutes { complete: 15.0, closed: 3.0, many: 37.5 }, visits: [0; 3], closed_share: 0.4 };
        let crews = Crews::default();
        let day = crew_day(&crews, 60.0, &learnt);
        assert!((day.yards - 300.0 / 11.7 * 0.6).abs() < 1e-9 && day.words.contains("6 h less 60 min"), "{day:?}");
        let given = Crews { minutes: Some(DoorMinutes { complete: 7.5, ..learnt.minutes }), ..crews };
        assert!(crew_day(&given, 60.0, &learnt).yards > day.yards);
        assert_eq!(crew_day(&given, 600.0, &learnt).yards, 0.0);
    }
}
