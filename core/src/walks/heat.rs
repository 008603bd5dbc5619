//! Whether a day is hot enough for a pause in the shade.

use crate::survey::Survey;
use crate::survey::calendar::day_words;
use jiff::ToSpan as _;
use jiff::civil::Date;

/// The heat of a day, as far as the survey's temperatures tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// The highest temperature, in degrees Celsius.
    pub highest: f64,
    /// The day on which it was measured: the day asked for, or one shortly before it.
    pub measured_on: Date,
}

/// How many days before a day a temperature still says something about it. Our own choice.
const DAYS_BEFORE: i64 = 3;

impl Heat {
    /// Degrees Celsius from which a pause for the heat is usual.
    ///
    /// # Source
    /// That crews pause in the afternoon's heat: the project's science notes, 11. From which temperature on: common practice, no source; it
    /// is there to be changed.
    pub const USUAL_FROM: f64 = 30.0;

    /// The highest temperature of a day; of one not measured yet, that of the last day measured, three days before at most. `None` where the
    /// survey has none.
    pub fn of(survey: &Survey, on: Date) -> Option<Self> {
        let since = on.checked_sub(DAYS_BEFORE.days()).unwrap_or(on);
        let measured = survey.temperatures.iter().filter(|t| t.day >= since && t.day <= on);
        let known = measured.filter_map(|t| Some(Self { highest: t.range?.1, measured_on: t.day }));
        known.max_by_key(|heat| heat.measured_on)
    }

    /// Whether a pause for the heat is made from some degrees on: when they are reached, or nobody knows.
    pub fn calls_for_a_pause(heat: Option<Self>, from: f64) -> bool {
        heat.is_none_or(|heat| heat.highest >= from)
    }

    /// Why a pause for the heat is made, or not: "33 °C on 23 July, the last day measured: 30 °C or more, so a pause in the shade".
    pub fn words(heat: Option<Self>, on: Date, from: f64) -> String {
        let Some(Self { highest, measured_on }) = heat else {
            return "No temperature near the day is known, so a pause in the shade".to_owned();
        };
        let last = if measured_on == on { "" } else { ", the last day measured" };
        let so = if highest >= from {
            format!("{from:.0} °C or more, so a pause in the shade")
        } else {
            format!("below {from:.0} °C, so no pause in the shade")
        };
        format!("{highest:.0} °C on {}{last}: {so}", day_words(measured_on))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, LonLat};
    use crate::survey::DayTemperature;
    use jiff::civil::date;
    use std::sync::Arc;

    #[test]
    fn a_day_is_as_hot_as_it_was_measured_or_the_days_before_it() {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        let july = |day: i8| date(2025, 7, day);
        let measured = |day: i8, high: Option<f64>| DayTemperature { day: july(day), mean: 20.0, range: high.map(|high| (15.0, high)) };
        s.temperatures = Arc::new(vec![measured(20, Some(33.4)), measured(21, Some(26.0)), measured(22, None)]);
        assert_eq!(Heat::of(&s, july(20)), Some(Heat { highest: 33.4, measured_on: july(20) }));
        let later = Heat::of(&s, july(24));
        assert_eq!(later, Some(Heat { highest: 26.0, measured_on: july(21) }), "a mean alone does not tell the highest");
        assert_eq!((Heat::of(&s, july(19)), Heat::of(&s, july(25))), (None, None));
        assert!(!Heat::calls_for_a_pause(later, 30.0) && Heat::calls_for_a_pause(later, 25.0) && Heat::calls_for_a_pause(None, 30.0));
        assert_eq!(Heat::words(later, july(24), 30.0), "26 °C on 21 July, the last day measured: below 30 °C, so no pause in the shade");
        assert_eq!(Heat::words(Heat::of(&s, july(20)), july(20), 30.0), "33 °C on 20 July: 30 °C or more, so a pause in the shade");
    }
}
