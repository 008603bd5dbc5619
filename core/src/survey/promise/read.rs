//! Reading a promise word by word.

use super::{DAWN, MIDNIGHT, Promised, bit};
use crate::survey::calendar::{MONTHS, SPANISH_MONTHS};
use jiff::ToSpan as _;
use jiff::civil::{Date, Time, Weekday};

/// Whoever says "at five" may be there half an hour later. Our own choice.
const ABOUT: i64 = 30;

/// Reads a promise that was written on a day.
pub(super) fn promised(text: &str, written: Date) -> Option<Promised> {
    let words = turned(words(text));
    const NEVER: [&str; 8] = ["not", "no", "never", "except", "don't", "nunca", "excepto", "salvo"];
    if words.iter().any(|w| NEVER.contains(&w.as_str())) {
        return None;
    }
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let first = written.tomorrow().ok()?;
    let hours = hours(&words);
    if let Some(day) = date(&words, written) {
        return Some(Promised { first: day, last: Some(day), weekdays: 0, hours });
    }
    let (weekdays, every) = weekdays(&words);
    let last = if every || weekdays == 0 { None } else { Some(written.checked_add(7.days()).ok()?) };
    (weekdays != 0 || hours.is_some()).then_some(Promised { first, last, weekdays, hours })
}

/// "Not before ten" is after ten, "no antes de las diez" too.
fn turned(words: Vec<String>) -> Vec<String> {
    let mut out: Vec<String> = Vec::with_capacity(words.len());
    for word in words {
        let not = out.last().is_some_and(|before| before == "not" || before == "no");
        let other = match word.as_str() {
            "before" | "until" | "till" => "after",
            "after" | "past" => "before",
            "antes" | "hasta" => "despues",
            "despues" => "antes",
            _ => "",
        };
        if not && !other.is_empty() {
            out.pop();
            out.push(other.to_owned());
        } else {
            out.push(word);
        }
    }
    out
}

/// The words in small letters without accents, figures and marks between times apart from each other.
fn words(text: &str) -> Vec<String> {
    let mut out = String::with_capacity(text.len() + 8);
    let plain = text.to_lowercase().replace("p.m.", "pm").replace("a.m.", "am").replace("p. m.", "pm").replace("a. m.", "am");
    for c in plain.chars() {
        match c {
            'á' => out.push('a'),
            'é' => out.push('e'),
            'í' => out.push('i'),
            'ó' => out.push('o'),
            'ú' | 'ü' => out.push('u'),
            'ñ' => out.push('n'),
            '–' | '—' => out.push_str(" - "),
            c if c.is_alphanumeric() || c == ':' || c == '-' || c == '\'' => out.push(c),
            _ => out.push(' '),
        }
    }
    let mut words = Vec::new();
    for word in out.split_whitespace() {
        match word.split_once('-').filter(|_| word.parse::<Date>().is_err()) {
            Some((from, until)) => words.extend([from, "-", until].map(str::to_owned)),
            None => words.push(word.to_owned()),
        }
    }
    words.retain(|w| !w.is_empty());
    words.into_iter().flat_map(|word| clock_and_half(&word)).collect()
}

/// "5pm" as "5", "pm"; other words as they are.
fn clock_and_half(word: &str) -> Vec<String> {
    let half = ["am", "pm"].into_iter().find(|half| word.len() > 2 && word.ends_with(half));
    let parts = half.map(|half| (&word[..word.len() - 2], half)).filter(|(clock, _)| clock.starts_with(|c: char| c.is_ascii_digit()));
    parts.map_or_else(|| vec![word.to_owned()], |(clock, half)| vec![clock.to_owned(), half.to_owned()])
}

/// The weekdays that are named, and whether every such day is meant.
fn weekdays(words: &[&str]) -> (u8, bool) {
    const EVERY: [&str; 5] = ["every", "each", "los", "cada", "todos"];
    let (mut set, mut every) = (0, false);
    for (i, word) in words.iter().enumerate() {
        if let Some((day, plural)) = weekday(word) {
            set |= bit(day);
            every |= plural || i.checked_sub(1).is_some_and(|before| EVERY.contains(&words[before]));
        }
    }
    (set, every)
}

/// A weekday's name, and whether it is in the plural.
fn weekday(word: &str) -> Option<(Weekday, bool)> {
    use Weekday::{Friday, Monday, Saturday, Sunday, Thursday, Tuesday, Wednesday};
    let known = |word: &str| match word {
        "monday" | "mon" | "lunes" => Some(Monday),
        "tuesday" | "tue" | "tues" | "martes" => Some(Tuesday),
        "wednesday" | "wed" | "weds" | "miercoles" => Some(Wednesday),
        "thursday" | "thu" | "thur" | "thurs" | "jueves" => Some(Thursday),
        "friday" | "fri" | "viernes" => Some(Friday),
        "saturday" | "sat" | "sabado" => Some(Saturday),
        "sunday" | "sun" | "domingo" => Some(Sunday),
        _ => None,
    };
    known(word).map(|day| (day, false)).or_else(|| known(word.strip_suffix('s')?).map(|day| (day, true)))
}

/// The date that is named: as 2025-07-26, as 26 July or July 26, or tomorrow.
fn date(words: &[&str], written: Date) -> Option<Date> {
    let iso = words.iter().find_map(|word| word.parse::<Date>().ok());
    let tomorrow = |i: usize| match words[i] {
        "tomorrow" => true,
        // "La mañana" is the morning.
        "manana" => i.checked_sub(1).is_none_or(|before| words[before] != "la"),
        _ => false,
    };
    let day_of = |i: usize| {
        let month = month(words[i])?;
        let before = i.checked_sub(1).map(|k| if words[k] == "de" { k.saturating_sub(1) } else { k });
        let day = before.and_then(|k| day_number(words[k])).or_else(|| day_number(words.get(i + 1)?))?;
        let this_year = Date::new(written.year(), month, day).ok()?;
        if this_year >= written { Some(this_year) } else { Date::new(written.year() + 1, month, day).ok() }
    };
    let named = (0..words.len()).find_map(day_of);
    iso.or(named).or_else(|| (0..words.len()).any(tomorrow).then(|| written.tomorrow().ok()).flatten())
}

fn day_number(word: &str) -> Option<i8> {
    let bare = ["st", "nd", "rd", "th"].into_iter().find_map(|end| word.strip_suffix(end)).unwrap_or(word);
    bare.parse().ok().filter(|day| (1..=31).contains(day))
}

fn month(word: &str) -> Option<i8> {
    let english = || MONTHS.into_iter().position(|name| name.eq_ignore_ascii_case(word));
    let short = || MONTHS.into_iter().position(|name| word.len() == 3 && name[..3].eq_ignore_ascii_case(word));
    english().or_else(|| SPANISH_MONTHS.into_iter().position(|name| name == word)).or_else(short).and_then(|at| i8::try_from(at + 1).ok())
}

/// A time at a place among the words: the words it takes, hours and minutes, whether it is known which half of the day it is in, and whether
/// a word says so.
struct Clock {
    words: usize,
    hour: i8,
    minute: i8,
    sure: bool,
    said: bool,
}

/// The hours that are named: a stretch, an open end, a time, or a part of the day.
fn hours(words: &[&str]) -> Option<(Time, Time)> {
    let found = (0..words.len()).find_map(|i| stretch(words, i)).or_else(|| (0..words.len()).find_map(|i| open_end(words, i)));
    found.or_else(|| (0..words.len()).find_map(|i| at(words, i))).or_else(|| part_of_day(words))
}

/// "9 - 11", "between 9 and 11", "from 10 to 2", "entre las 4 y las 6".
fn stretch(words: &[&str], i: usize) -> Option<(Time, Time)> {
    const BEGINS: [&str; 4] = ["between", "from", "entre", "de"];
    const GOES_ON: [&str; 7] = ["-", "and", "to", "until", "y", "a", "hasta"];
    let first = clock(words, i, false)?;
    let mut next = i + first.words;
    let dash = *words.get(next)? == "-";
    let begun = first_before(words, i).is_some_and(|before| BEGINS.contains(&before));
    if !GOES_ON.contains(&words[next]) || !(dash || begun) {
        return None;
    }
    next += 1;
    next += usize::from(matches!(words.get(next), Some(&("las" | "la"))));
    let last = clock(words, next, false)?;
    let until = time(&last)?;
    // "9 and 11 am" are both in the morning, "4 and 6 in the afternoon" both after noon.
    let same_half = Clock { hour: first.hour + if last.sure && last.hour >= 13 && first.hour < 12 { 12 } else { 0 }, sure: true, ..first };
    let from = if first.sure || !last.sure { time(&first)? } else { time(&same_half).filter(|t| *t < until).or_else(|| time(&first))? };
    (from < until).then_some((from, until))
}

/// "after five", "before noon", "a partir de las cinco", "antes de las diez".
fn open_end(words: &[&str], i: usize) -> Option<(Time, Time)> {
    let after = match words[i] {
        "past" if i > 0 && words[i - 1] == "half" => return None,
        "after" | "past" | "from" | "despues" | "desde" | "partir" => true,
        "before" | "until" | "till" | "antes" | "hasta" => false,
        _ => return None,
    };
    let mut next = i + 1;
    while matches!(words.get(next), Some(&("de" | "las" | "la" | "about"))) {
        next += 1;
    }
    let time = time(&clock(words, next, true)?)?;
    Some(if after { (time, MIDNIGHT) } else { (DAWN, time) })
}

/// "at 10", "a las 10", "5 pm", "17:00", "half past four".
fn at(words: &[&str], i: usize) -> Option<(Time, Time)> {
    let clock = clock(words, i, true)?;
    let told = first_before(words, i).is_some_and(|before| ["at", "about", "around", "a", "half"].contains(&before));
    let plain = clock.said || words[i].contains(':');
    let from = time(&clock).filter(|_| told || plain)?;
    let until = from.checked_add(ABOUT.minutes()).unwrap_or(MIDNIGHT);
    Some((from, until))
}

/// "morning", "por la tarde".
fn part_of_day(words: &[&str]) -> Option<(Time, Time)> {
    let hour = |h: i8| Time::new(h, 0, 0, 0).ok();
    words.iter().enumerate().find_map(|(i, word)| match *word {
        "morning" | "mornings" => Some((DAWN, hour(12)?)),
        "manana" if i > 0 && words[i - 1] == "la" => Some((DAWN, hour(12)?)),
        "afternoon" | "afternoons" | "tarde" => Some((hour(12)?, hour(18)?)),
        "evening" | "evenings" | "noche" => Some((hour(17)?, hour(21)?)),
        "noon" | "midday" | "mediodia" => Some((hour(12)?, hour(13)?)),
        _ => None,
    })
}

/// The word before a time that is not an article.
fn first_before<'a>(words: &[&'a str], i: usize) -> Option<&'a str> {
    words[..i].iter().rev().find(|w| !matches!(**w, "las" | "la" | "past")).copied()
}

/// The time that begins at a word; noon counts as one where that makes sense.
fn clock(words: &[&str], i: usize, noon: bool) -> Option<Clock> {
    let word = *words.get(i)?;
    if noon && matches!(word, "noon" | "midday" | "mediodia") {
        return Some(Clock { words: 1, hour: 12, minute: 0, sure: true, said: true });
    }
    let (hour, mut minute) = match word.split_once(':') {
        Some((hour, minute)) => (hour.parse().ok()?, minute.parse().ok()?),
        None => (named_hour(word).or_else(|| word.parse().ok())?, 0),
    };
    let mut length = 1;
    if words.get(i + 1) == Some(&"y") && matches!(words.get(i + 2), Some(&("media" | "30"))) {
        (minute, length) = (30, 3);
    }
    if i >= 2 && words[i - 1] == "past" && words[i - 2] == "half" {
        minute = 30;
    }
    let half = &words[(i + length).min(words.len())..];
    let afternoon = match half {
        ["pm", ..] | ["in", "the", "afternoon" | "evening", ..] | ["de", "la", "tarde" | "noche", ..] => Some(true),
        ["am", ..] | ["in", "the", "morning", ..] | ["de", "la", "manana", ..] => Some(false),
        _ => None,
    };
    let taken = length + afternoon.map_or(0, |_| if matches!(half[0], "pm" | "am") { 1 } else { 3 });
    let hour = match afternoon {
        Some(true) if hour < 12 => hour + 12,
        Some(false) if hour == 12 => 0,
        _ => hour,
    };
    let written_out = word.starts_with('0') || hour >= 13;
    Some(Clock { words: taken, hour, minute, sure: afternoon.is_some() || written_out, said: afternoon.is_some() })
}

/// Nobody promises to come at five in the morning: hours below eight are in the afternoon unless it is said.
fn time(clock: &Clock) -> Option<Time> {
    let hour = if !clock.sure && (1..8).contains(&clock.hour) { clock.hour + 12 } else { clock.hour };
    Time::new(hour, clock.minute, 0, 0).ok()
}

fn named_hour(word: &str) -> Option<i8> {
    const ENGLISH: [&str; 12] = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    const SPANISH: [&str; 12] = ["una", "dos", "tres", "cuatro", "cinco", "seis", "siete", "ocho", "nueve", "diez", "once", "doce"];
    let at = |list: [&str; 12]| list.into_iter().position(|name| name == word);
    at(ENGLISH).or_else(|| at(SPANISH)).and_then(|at| i8::try_from(at + 1).ok())
}
