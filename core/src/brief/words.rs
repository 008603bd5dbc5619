//! Numbers, days and shares in words, as pages and pictures write them.

use crate::measure::{AreaRound, Interval, Reduction, RoundChange};
use crate::survey::calendar::day_words;
pub use crate::units::grouped;
use jiff::civil::Date;

/// What stands where there is no answer.
pub const NOT_SEEN: &str = "not seen";
/// An interval narrower than this has a decimal; one of no width at all has none, for nothing is in doubt.
const NARROW: f64 = 3.0;
const WHOLE: f64 = 1e-9;

/// A number of things: "1 block", "2 blocks". `one` is the word for one thing; an s makes it many.
pub fn many(n: u64, one: &str) -> String {
    format!("{} {one}{}", grouped(n), if n == 1 { "" } else { "s" })
}

/// A day: "23 July 2025".
pub fn day(d: Date) -> String {
    format!("{} {}", day_words(d), d.year())
}

/// The days from the first to the last, saying month and year once where they are the same: "21–23 July 2025".
pub fn days(a: Date, b: Date) -> String {
    if a == b {
        day(b)
    } else if (a.year(), a.month()) == (b.year(), b.month()) {
        format!("{}–{}", a.day(), day(b))
    } else if a.year() == b.year() {
        format!("{} – {}", day_words(a), day(b))
    } else {
        format!("{} – {}", day(a), day(b))
    }
}

/// A number with one decimal below 10, none above.
pub fn short(v: f64) -> String {
    rounded(v, decimals(v))
}

/// A value with its unit and its interval: "18 % (11–28)"; "not seen" where there is none. A narrow interval has a decimal, so that
/// its ends differ from the value and from each other: "9.9 % (9.6–10.2)".
pub fn with_interval(value: Option<f64>, interval: Option<Interval>, unit: &str) -> String {
    match (value, interval) {
        (Some(v), Some(i)) => {
            let n = usize::from((WHOLE..NARROW).contains(&(i.high - i.low)));
            format!("{}{unit} ({}–{})", rounded(v, n), rounded(i.low, n), rounded(i.high, n))
        }
        (Some(v), None) => format!("{v:.0}{unit}"),
        (None, _) => NOT_SEEN.to_owned(),
    }
}

/// How much less there was, in words; more where it went the other way. An interval with both ways in it tells no change.
pub fn less_words(value: Option<f64>, interval: Option<Interval>) -> String {
    let side = |v: f64| format!("{:.0} % {}", v.abs(), if v < -0.5 { "more" } else { "less" });
    match (value, interval) {
        (None, _) => "no change can be told".to_owned(),
        (Some(v), None) => side(v),
        (Some(v), Some(i)) if i.low > -0.5 => format!("{} ({:.0}–{:.0})", side(v), i.low.max(0.0), i.high),
        (Some(v), Some(i)) if i.high < 0.5 => format!("{} ({:.0}–{:.0})", side(v), -i.high, -i.low),
        (Some(v), Some(i)) => format!("no change can be told: {} (from {} to {})", side(v), side(i.low), side(i.high)),
    }
}

/// How much less there was beside the control area, in words; where the control was not looked at in one of the rounds, that.
pub fn beside_words(found: &RoundChange, r: &Reduction) -> String {
    let unseen = |at: &AreaRound| at.counts.inspected == 0;
    match found.control.as_ref().filter(|_| r.beside_control.is_none()) {
        Some(c) if unseen(&c.after) => "no change can be told: the control area was not inspected in the later round".to_owned(),
        Some(c) if unseen(&c.before) => "no change can be told: the control area was not inspected in the earlier round".to_owned(),
        _ => less_words(r.beside_control, r.beside_control_interval),
    }
}

fn decimals(v: f64) -> usize {
    usize::from(v.abs() < 9.95)
}

fn rounded(v: f64, decimals: usize) -> String {
    format!("{v:.decimals$}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn says_numbers_and_days_shortly() {
        assert_eq!((grouped(0), grouped(999), grouped(1_234_567)), ("0".into(), "999".into(), "1,234,567".into()));
        assert_eq!((many(1, "yard"), many(1853, "yard")), ("1 yard".into(), "1,853 yards".into()));
        assert_eq!(days(date(2025, 7, 21), date(2025, 7, 23)), "21–23 July 2025");
        assert_eq!(days(date(2025, 7, 28), date(2025, 8, 2)), "28 July – 2 August 2025");
        assert_eq!(days(date(2025, 12, 30), date(2026, 1, 3)), "30 December 2025 – 3 January 2026");
        assert_eq!(with_interval(None, None, " %"), "not seen");
        let interval = |low, high| Some(Interval { low, high });
        assert_eq!(with_interval(Some(9.92), interval(9.61, 10.24), " %"), "9.9 % (9.6–10.2)");
        assert_eq!(with_interval(Some(17.6), interval(9.9, 28.4), ""), "18 (10–28)");
        assert_eq!(with_interval(Some(100.0 / 6.0), interval(100.0 / 6.0, 100.0 / 6.0), " %"), "17 % (17–17)");
        assert_eq!(with_interval(Some(18.2), None, " %"), "18 %");
    }

    #[test]
    fn an_interval_with_both_ways_in_it_tells_no_change() {
        let said = |value, low, high| less_words(Some(value), Some(Interval { low, high }));
        assert_eq!(said(-12.0, -57.0, 20.0), "no change can be told: 12 % more (from 57 % more to 20 % less)");
        assert_eq!((said(40.0, 20.0, 55.0), said(-40.0, -55.0, -20.0)), ("40 % less (20–55)".into(), "40 % more (20–55)".into()));
        assert_eq!(less_words(None, None), "no change can be told");
    }
}
