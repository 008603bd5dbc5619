//! Days and times of day in words.

use jiff::civil::{Date, Time, Weekday};

/// The months in English.
pub const MONTHS: [&str; 12] =
    ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
/// The months in Spanish, in small letters.
pub const SPANISH_MONTHS: [&str; 12] =
    ["enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre", "noviembre", "diciembre"];

/// A day without its year: "14 July".
pub fn day_words(day: Date) -> String {
    format!("{} {}", day.day(), MONTHS[day.month() as usize - 1])
}

/// A moment with its weekday, and its time of day where that is known: "Mon 14 July 08:50", "Mon 14 July".
pub fn moment_words(day: Date, time: Option<Time>) -> String {
    let weekday = &weekday_name(day.weekday())[..3];
    let at = time.map_or_else(String::new, |time| format!(" {}", clock_words(time)));
    format!("{weekday} {}{at}", day_words(day))
}

/// A weekday's name.
pub fn weekday_name(day: Weekday) -> &'static str {
    match day {
        Weekday::Monday => "Monday",
        Weekday::Tuesday => "Tuesday",
        Weekday::Wednesday => "Wednesday",
        Weekday::Thursday => "Thursday",
        Weekday::Friday => "Friday",
        Weekday::Saturday => "Saturday",
        Weekday::Sunday => "Sunday",
    }
}

/// A weekday's name in Spanish, in small letters.
pub fn spanish_weekday(day: Weekday) -> &'static str {
    match day {
        Weekday::Monday => "lunes",
        Weekday::Tuesday => "martes",
        Weekday::Wednesday => "miércoles",
        Weekday::Thursday => "jueves",
        Weekday::Friday => "viernes",
        Weekday::Saturday => "sábado",
        Weekday::Sunday => "domingo",
    }
}

/// A day in Spanish with its weekday: "viernes 4 de julio de 2025".
pub fn spanish_day(day: Date) -> String {
    let month = SPANISH_MONTHS[day.month() as usize - 1];
    format!("{} {} de {month} de {}", spanish_weekday(day.weekday()), day.day(), day.year())
}

/// A time of day to the minute: "08:25".
pub fn clock_words(at: Time) -> String {
    format!("{:02}:{:02}", at.hour(), at.minute())
}

/// Hours from one time to another: "17:00–18:30"; "after 17:00" and "before 12:00" where they end with the day, or begin with it.
pub fn hours_words((from, until): (Time, Time)) -> String {
    let (from, until) = (clock_words(from), clock_words(until));
    match (from.as_str(), until.as_str()) {
        (_, "23:59") => format!("after {from}"),
        ("00:00", _) => format!("before {until}"),
        _ => format!("{from}–{until}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::{date, time};

    #[test]
    fn days_and_times_are_said_shortly() {
        let day = date(2025, 7, 4);
        assert_eq!((day_words(day).as_str(), weekday_name(day.weekday())), ("4 July", "Friday"));
        assert_eq!((spanish_day(day).as_str(), spanish_weekday(Weekday::Saturday)), ("viernes 4 de julio de 2025", "sábado"));
        assert_eq!(clock_words(time(8, 5, 59, 0)), "08:05");
        assert_eq!((moment_words(day, Some(time(8, 50, 0, 0))), moment_words(day, None)), ("Fri 4 July 08:50".into(), "Fri 4 July".into()));
    }
}
