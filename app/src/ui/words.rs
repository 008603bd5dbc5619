//! Numbers as people read them: with their unit, and "not seen" where there is none.

use jiff::civil::Time;
use std::time::SystemTime;
use yardring_core::foresee::Chance;
use yardring_core::measure::Interval;
use yardring_core::units::Metres;

pub use yardring_core::brief::words::{NOT_SEEN, day as full_day, days, grouped as number, many as count, with_interval};
use yardring_core::survey::calendar::clock_words;
pub use yardring_core::survey::calendar::day_words as day;

/// A length in metres and in yards: `150 m · 164 yd`.
pub fn both_units(length: Metres) -> String {
    format!("{:.0} m · {:.0} yd", length.0, length.yards())
}

/// A distance in metres and feet, far ones in kilometres and miles: `123 m · 404 ft`, `2.41 km · 1.50 mi`.
pub fn distance(metres: f64) -> String {
    let feet = metres / 0.3048;
    if metres < 1_000.0 {
        format!("{metres:.0} m · {} ft", number(feet.round() as u64))
    } else {
        format!("{:.2} km · {:.2} mi", metres / 1_000.0, feet / 5_280.0)
    }
}

/// A rate per 100 with its interval: `18 % (11–28)`; "not seen" where there is none.
pub fn per_hundred(value: Option<f64>, interval: Option<Interval>) -> String {
    with_interval(value, interval, " %")
}

/// A chance with its interval: `42 % (25–60)`.
pub fn chance(c: &Chance) -> String {
    per_hundred(Some(100.0 * c.probability), Some(Interval { low: c.low, high: c.high }.per_hundred()))
}

/// A share of 0 to 1 as a percentage.
pub fn share(value: Option<f64>) -> String {
    value.map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{:.0} %", v * 100.0))
}

/// A mean with one decimal.
pub fn mean(value: Option<f64>) -> String {
    value.map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.1}"))
}

/// A time of day some minutes after another: `08:25`.
pub fn time_after(begins: Time, minutes: f64) -> String {
    clock_words(yardring_core::walks::clock(begins, minutes))
}

/// How long ago something was: "just now", "12 minutes ago", "3 days ago".
pub fn ago(then: SystemTime, now: SystemTime) -> String {
    let minutes = now.duration_since(then).map_or(0, |d| d.as_secs() / 60);
    match minutes {
        0 => "just now".to_owned(),
        1..60 => format!("{} ago", count(minutes, "minute")),
        60..1440 => format!("{} ago", count(minutes / 60, "hour")),
        _ => format!("{} ago", count(minutes / 1440, "day")),
    }
}

/// A change in words, with what it is about and how often it was made: "enter a visit, 2 times".
pub fn change(words: &str, about: &str, times: usize) -> String {
    let mut letters = words.chars();
    let small = letters.next().map_or_else(String::new, |first| first.to_lowercase().collect::<String>() + letters.as_str());
    let often = if times > 1 { format!(", {}", count(times as u64, "time")) } else { String::new() };
    format!("{small}{about}{often}")
}

/// Several changes: "enter a visit, 2 times; rename the survey".
pub fn changes(all: &[(String, usize)]) -> String {
    all.iter().map(|(words, times)| change(words, "", *times)).collect::<Vec<_>>().join("; ")
}

/// Units that stay on the line of their number.
const UNITS: [&str; 14] = ["%", "m", "km", "ft", "yd", "mi", "h", "min", "s", "°C", "L", "ha", "km²", "points"];

/// The same words with spaces that do not break between a number and its unit, hours and minutes, a number and its interval: `5 h 59`,
/// `27 % (14–46)`.
pub fn unbroken(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut last = "";
    for (i, word) in text.split(' ').enumerate() {
        if i > 0 {
            out.push(if holds_together(last, word) { '\u{a0}' } else { ' ' });
        }
        out.push_str(word);
        last = word;
    }
    out
}

/// Whether a line must not end between two words.
fn holds_together(a: &str, b: &str) -> bool {
    let number = |w: &str| w.trim_start_matches(['(', '≤', '+', '−', '-']).starts_with(|c: char| c.is_ascii_digit());
    let bare = b.trim_end_matches([',', '.', ';', ':', ')']);
    let unit = UNITS.contains(&bare);
    (number(a) && a.ends_with(|c: char| c.is_ascii_digit()) && unit)
        || (a == "h" && number(b))
        || (a == "%" && b.starts_with('(') && number(b))
}

/// What a column can mean, in words.
pub fn meaning(name: &str) -> String {
    match name {
        "lon" => "longitude".to_owned(),
        "lat" => "latitude".to_owned(),
        "mean_c" => "mean in °C".to_owned(),
        "min_c" => "lowest in °C".to_owned(),
        "max_c" => "highest in °C".to_owned(),
        "mean_f" => "mean in °F".to_owned(),
        "min_f" => "lowest in °F".to_owned(),
        "max_f" => "highest in °F".to_owned(),
        "count" => "number of containers".to_owned(),
        "pupae_count" => "pupae counted".to_owned(),
        "litres" => "litres of water".to_owned(),
        "stages" => "oldest stage".to_owned(),
        other => other.replace('_', " "),
    }
}

/// A sentence begun with a capital letter.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn numbers_are_said_as_people_say_them() {
        assert_eq!((number(7), number(4321), number(1_234_567)), ("7".into(), "4,321".into(), "1,234,567".into()));
        assert_eq!((count(1, "yard"), count(86, "yard")), ("1 yard".into(), "86 yards".into()));
        assert_eq!(both_units(Metres(150.0)), "150 m · 164 yd");
        assert_eq!(per_hundred(Some(18.2), Some(Interval { low: 11.0, high: 28.4 })), "18 % (11–28)");
        assert_eq!(per_hundred(None, None), "not seen");
    }

    #[test]
    fn how_long_ago_is_told_in_the_largest_unit() {
        let then = SystemTime::UNIX_EPOCH;
        let after = |seconds| ago(then, then + std::time::Duration::from_secs(seconds));
        assert_eq!(
            [59, 60, 3_599, 3_600, 86_399, 200_000].map(after),
            ["just now", "1 minute ago", "59 minutes ago", "1 hour ago", "23 hours ago", "2 days ago"]
        );
        assert_eq!(ago(then + std::time::Duration::from_secs(9), then), "just now", "a clock that was set back");
    }

    #[test]
    fn a_line_does_not_end_between_a_number_and_its_unit() {
        for (text, held) in [
            ("longest 5 h 59", "longest 5\u{a0}h\u{a0}59"),
            ("house index 27 % (14–46) in 40 yards", "house index 27\u{a0}%\u{a0}(14–46) in 40 yards"),
            ("within about 40 m, or 1.50 mi.", "within about 40\u{a0}m, or 1.50\u{a0}mi."),
            ("Round 2 m", "Round 2\u{a0}m"),
            (" two  spaces ", " two  spaces "),
            ("", ""),
        ] {
            assert_eq!(unbroken(text), held, "{text}");
            assert_eq!(unbroken(text).replace('\u{a0}', " "), text);
        }
    }

    #[test]
    fn days_name_their_month_once() {
        assert_eq!(days(date(2025, 7, 1), date(2025, 7, 7)), "1–7 July 2025");
        assert_eq!(days(date(2025, 6, 30), date(2025, 7, 6)), "30 June – 6 July 2025");
        assert_eq!(days(date(2025, 7, 7), date(2025, 7, 7)), "7 July 2025");
    }
}
