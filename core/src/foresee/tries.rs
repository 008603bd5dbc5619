//! When a door was tried and stayed shut, and when it has not been tried yet.

use crate::survey::calendar::{clock_words, day_words, weekday_name};
use crate::survey::{Outcome, PremiseId, Survey, When};
use jiff::ToSpan as _;
use jiff::civil::{Date, Weekday};

/// The parts of a day that people are told apart by: the hour each begins at, and what it is called. Those when most people are at
/// home first.
const PARTS: [(i8, &str); 3] = [(17, "after 17:00"), (12, "12:00–17:00"), (0, "before 12:00")];
/// Tries told of at most, the latest ones.
const MOST_TOLD: usize = 4;

/// When a door was tried since somebody last saw the yard, and nobody opened.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tries(Vec<When>);

impl Tries {
    /// The tries at a premise until the end of a day, oldest first: no answer or a locked gate, since the yard was last inspected.
    pub fn of(survey: &Survey, premise: PremiseId, today: Date) -> Self {
        let known: Vec<_> = survey.visits.at(premise).iter().filter(|v| v.when.day <= today).collect();
        let from = known.iter().rposition(|v| v.outcome == Outcome::Inspected).map_or(0, |i| i + 1);
        let shut = known[from..].iter().filter(|v| matches!(v.outcome, Outcome::NoAnswer | Outcome::LockedGate));
        Self(shut.map(|v| v.when).collect())
    }

    /// "Thursday 09:00, Saturday 09:10", the latest ones; weekdays alone where no hour was written. Empty without a try.
    pub fn words(&self) -> String {
        let one = |w: &When| {
            let hour = w.time.map_or_else(String::new, |t| format!(" {}", clock_words(t)));
            format!("{}{hour}", weekday_name(w.day.weekday()))
        };
        let told: Vec<String> = self.0.iter().skip(self.0.len().saturating_sub(MOST_TOLD)).map(one).collect();
        let earlier = self.0.len() - told.len();
        let before = if earlier > 0 { format!("{earlier} times before, ") } else { String::new() };
        format!("{before}{}", told.join(", "))
    }

    /// The first day from today on whose weekday was tried least (no Sunday), and the part of the day that was tried least: "Tuesday 8 July
    /// after 17:00". No hours where none was written down. Empty without a try.
    pub fn next_words(&self, today: Date) -> String {
        if self.0.is_empty() {
            return String::new();
        }
        let of_weekday = |day: &Date| self.0.iter().filter(|w| w.day.weekday() == day.weekday()).count();
        let week = (0..7i64).filter_map(|ahead| today.checked_add(ahead.days()).ok()).filter(|d| d.weekday() != Weekday::Sunday);
        let Some(day) = week.min_by_key(of_weekday) else { return String::new() };
        let hours: Vec<i8> = self.0.iter().filter_map(|w| Some(w.time?.hour())).collect();
        let part_of = |hour: i8| PARTS.iter().position(|p| hour >= p.0);
        let part = (0..PARTS.len()).min_by_key(|part| hours.iter().filter(|h| part_of(**h) == Some(*part)).count());
        let part = part.filter(|_| !hours.is_empty()).map_or_else(String::new, |part| format!(" {}", PARTS[part].1));
        format!("{} {}{part}", weekday_name(day.weekday()), day_words(day))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::{date, time};

    /// 3, 5 and 7 July 2025 are a Thursday, a Saturday and a Monday (any calendar).
    #[test]
    fn another_hour_and_another_weekday_are_named() {
        let at = |day, minute| When { day: date(2025, 7, day), time: Some(time(9, minute, 0, 0)) };
        let tries = Tries(vec![at(3, 0), at(5, 10), at(7, 5)]);
        assert_eq!(tries.words(), "Thursday 09:00, Saturday 09:10, Monday 09:05");
        assert_eq!(tries.next_words(date(2025, 7, 7)), "Tuesday 8 July after 17:00");
        assert_eq!(tries.next_words(date(2025, 7, 10)), "Friday 11 July after 17:00");
        let untimed = Tries(vec![When { day: date(2025, 7, 7), time: None }]);
        assert_eq!((untimed.words().as_str(), untimed.next_words(date(2025, 7, 7)).as_str()), ("Monday", "Tuesday 8 July"));
        assert_eq!((Tries::default().words(), Tries::default().next_words(date(2025, 7, 7))), (String::new(), String::new()));
        // All six days were tried, in the evening too: the one tried least, in the part of the day left.
        let late = |day| When { day: date(2025, 7, day), time: Some(time(18, 0, 0, 0)) };
        let all = Tries((7..=12).map(late).chain((7..=10).map(|d| at(d, 0))).collect());
        assert_eq!(all.next_words(date(2025, 7, 14)), "Friday 18 July 12:00–17:00");
        assert!(all.words().starts_with("6 times before, "));
    }
}
