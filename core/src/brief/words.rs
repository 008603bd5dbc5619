//! Numbers, days and shares in words, as pages and pictures write them.

use crate::measure::Interval;
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
}
