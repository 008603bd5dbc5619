//! Reading one cell: amounts, numbers, days. What cannot be read is a reason to refuse the row.

use super::dates;
use crate::survey::{Action, Outcome, Stage, UnknownWord, When};
use jiff::civil::{Date, DateTime};
use std::borrow::Cow;
use std::fmt;

/// Why a row is refused, in a sentence without its full stop.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Reason(pub Box<str>);

impl Reason {
    pub(super) fn new(text: impl Into<Box<str>>) -> Self {
        Self(text.into())
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// What stands in a column that takes yes, no, or a count of containers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Amount {
    Blank,
    Yes,
    No,
    Count(u32),
}

impl Amount {
    /// Containers meant, when yes means all of the row's `count`; `None` for a blank cell.
    pub(super) fn containers(self, count: u32) -> Option<u32> {
        match self {
            Self::Blank => None,
            Self::Yes => Some(count),
            Self::No => Some(0),
            Self::Count(n) => Some(n),
        }
    }
}

pub(super) fn amount(text: &str, meaning: &str) -> Result<Amount, Reason> {
    let is = |words: &[&str]| words.iter().any(|w| text.eq_ignore_ascii_case(w));
    match text {
        "" => Ok(Amount::Blank),
        _ if is(&["y", "yes", "true", "t"]) => Ok(Amount::Yes),
        _ if is(&["n", "no", "false", "f"]) => Ok(Amount::No),
        _ => match whole(text, meaning) {
            Ok(Some(n)) => Ok(Amount::Count(n)),
            _ => Err(Reason::new(format!("{meaning} is '{text}', which is neither yes or no nor a whole number"))),
        },
    }
}

/// How a visit ended, in the words of the list; `None` for a blank cell. Marks may stand for blanks: "No_Answer".
pub(super) fn outcome(text: &str) -> Result<Option<Outcome>, Reason> {
    if text.is_empty() {
        return Ok(None);
    }
    let plain = if text.contains(['_', '-']) { Cow::Owned(text.replace(['_', '-'], " ")) } else { Cow::Borrowed(text) };
    plain.parse().map(Some).map_err(|e: UnknownWord| Reason::new(e.to_string()))
}

/// The oldest of the stages that a text names: "L3", "4", "L2-L4", "3rd instar", "pupae". `None` where it names none.
pub(super) fn stage(text: &str) -> Option<Stage> {
    let parts = text.split([' ', '/', '-', ',', '+', '&', ';']).map(str::trim).filter(|p| !p.is_empty());
    let mut oldest = None;
    for part in parts {
        let part = part.to_ascii_lowercase();
        let one = match part.trim_start_matches('l') {
            "1" | "1st" => Some(Stage::L1),
            "2" | "2nd" => Some(Stage::L2),
            "3" | "3rd" => Some(Stage::L3),
            "4" | "4th" => Some(Stage::L4),
            "p" | "pupa" | "pupae" => Some(Stage::Pupa),
            _ if ["instar", "instars", "to", "and", "y", "arva", "arvae"].contains(&part.trim_start_matches('l')) => None,
            _ => return None,
        };
        oldest = oldest.max(one);
    }
    oldest
}

/// What was done, in the words of the list. Marks may stand for blanks: "turned_over".
pub(super) fn action(text: &str) -> Option<Action> {
    text.replace(['_', '-'], " ").parse().ok()
}

/// Yes or no; blank is no.
pub(super) fn yes(text: &str, meaning: &str) -> Result<bool, Reason> {
    Ok(amount(text, meaning)?.containers(1).is_some_and(|n| n > 0))
}

/// A whole number that is not negative, also written as "3.0"; `None` for a blank cell.
pub(super) fn whole(text: &str, meaning: &str) -> Result<Option<u32>, Reason> {
    if text.is_empty() {
        return Ok(None);
    }
    if let Ok(n) = text.parse::<u32>() {
        return Ok(Some(n));
    }
    match parsed(text) {
        Some(v) if v >= 0.0 && v.fract() == 0.0 && v <= f64::from(u32::MAX) => Ok(Some(v as u32)),
        _ => Err(Reason::new(format!("{meaning} is '{text}', which is no whole number from 0 up"))),
    }
}

/// A finite number; `None` for a blank cell.
pub(super) fn number(text: &str, meaning: &str) -> Result<Option<f64>, Reason> {
    if text.is_empty() {
        return Ok(None);
    }
    match parsed(text) {
        Some(v) => Ok(Some(v)),
        None if with_point(text).is_some() => {
            let [whole, part] = [text.replace(',', ""), text.replace(',', ".")];
            Err(Reason::new(format!("{meaning} is '{text}', which may be {whole} or {part}: write it with a point or without a comma")))
        }
        None => Err(Reason::new(format!("{meaning} is '{text}', which is no number"))),
    }
}

/// A finite number with a point or a comma before its decimals. Not one whose comma may part thousands, as in "1,234".
pub(super) fn parsed(text: &str) -> Option<f64> {
    let plain = text.parse::<f64>().ok();
    plain.or_else(|| degrees(text).filter(|_| !may_part_thousands(text))).filter(|v| v.is_finite())
}

/// A longitude or a latitude, with a point or a comma before its decimals: none is so large that its comma could part thousands.
pub(super) fn degrees(text: &str) -> Option<f64> {
    let plain = text.parse::<f64>().ok();
    plain.or_else(|| with_point(text)?.parse().ok()).filter(|v| v.is_finite())
}

/// A number whose one comma stands where a point may: digits on both sides, and no point.
fn with_point(text: &str) -> Option<String> {
    let (whole, part) = text.split_once(',')?;
    let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
    (digits(whole.trim_start_matches(['+', '-'])) && digits(part)).then(|| format!("{whole}.{part}"))
}

/// Whether three digits follow the comma and up to three, none of them a leading nought, stand before it.
fn may_part_thousands(text: &str) -> bool {
    let Some((whole, part)) = text.trim_start_matches(['+', '-']).split_once(',') else { return false };
    part.len() == 3 && whole.len() <= 3 && !whole.starts_with('0')
}

/// A day, or a day and a time, as ISO 8601 writes them, or in another way that means one day only: the year first, or the month in
/// letters. The time is taken as it stands: an offset from UTC is left off.
pub(super) fn moment(text: &str) -> Result<When, Reason> {
    iso(text).or_else(|reason| dates::unmistakable(text).ok_or(reason))
}

fn iso(text: &str) -> Result<When, Reason> {
    let unreadable = || {
        if text.is_empty() {
            return Reason::new("the date is missing");
        }
        Reason::new(format!("the date '{text}' is not written as year-month-day (ISO 8601), as 2025-07-31"))
    };
    if let Ok(day) = text.parse::<Date>()
        && text.len() <= 10
    {
        return Ok(When { day, time: None });
    }
    let bare = without_offset(text);
    let at: DateTime = bare.parse().map_err(|_| unreadable())?;
    Ok(When { day: at.date(), time: Some(at.time()) })
}

fn without_offset(text: &str) -> &str {
    let Some(clock) = text.find(['T', 't', ' ']) else { return text };
    let rest = &text[clock..];
    match rest.find(['Z', 'z', '+', '-', '[']) {
        Some(end) => text[..clock + end].trim_end(),
        None => text,
    }
}

/// Adds a text to a buffer without the blanks round it, in small letters, any run of blanks as one.
pub(super) fn fold_into(buffer: &mut String, text: &str) {
    for (i, word) in text.split_whitespace().enumerate() {
        if i > 0 {
            buffer.push(' ');
        }
        if word.is_ascii() {
            buffer.extend(word.chars().map(|c| c.to_ascii_lowercase()));
        } else {
            buffer.extend(word.chars().flat_map(char::to_lowercase));
        }
    }
}

/// A text without the blanks round it, in small letters, any run of blanks as one.
pub(super) fn folded(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    fold_into(&mut out, text);
    out
}

/// A block's name: a whole number written with decimals, as number columns are, loses them ("12.0" is "12").
pub(super) fn without_decimals(text: &str) -> &str {
    match text.split_once('.') {
        Some((whole, zeros))
            if !whole.is_empty() && !zeros.is_empty() && whole.bytes().all(|b| b.is_ascii_digit()) && zeros.bytes().all(|b| b == b'0') =>
        {
            whole
        }
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::{date, time};

    #[test]
    fn yes_means_all_of_the_row_and_a_number_means_itself() {
        let containers = |t: &str| amount(t, "larvae").unwrap().containers(4);
        assert_eq!([containers("Y"), containers("true"), containers("YES")], [Some(4); 3]);
        assert_eq!([containers("n"), containers("0"), containers("No")], [Some(0); 3]);
        assert_eq!((containers("1"), containers("3.0"), containers("")), (Some(1), Some(3), None));
        for bad in ["maybe", "-1", "1.5", "NaN"] {
            assert!(amount(bad, "larvae").is_err(), "{bad}");
        }
    }

    /// ISO 8601:2004 writings of a day and a time, from memory.
    #[test]
    fn days_and_times_of_the_standard_are_read() {
        let day = date(2025, 8, 10);
        assert_eq!(moment("2025-08-10"), Ok(When { day, time: None }));
        for text in
            ["2025-08-10T09:30", "2025-08-10 09:30:00", "2025-08-10T09:30:00Z", "2025-08-10T09:30:00-04:00", "2025-08-10T09:30+05:30"]
        {
            assert_eq!(moment(text), Ok(When { day, time: Some(time(9, 30, 0, 0)) }), "{text}");
        }
        for bad in ["", "08/10/2025", "10.8.2025", "2025-13-01", "2025-02-29", "yesterday", "45879"] {
            assert!(moment(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn the_oldest_stage_of_a_cell_counts() {
        let of = |t: &str| stage(t).map(Stage::word);
        let known = ["L3", "4", "L2-L4", "3rd instar", "l1 / l2", "pupa", "L4, P", "Pupae"].map(of);
        assert_eq!(known, ["L3", "L4", "L4", "L3", "L2", "P", "P", "P"].map(Some));
        assert_eq!(["", "larvae", "5", "adult", "L3 or so", "instar"].map(of), [None; 6]);
        assert_eq!(
            (action("turned_over"), action("Stored-inside"), action("kicked")),
            (Some(Action::TurnedOver), Some(Action::StoredInside), None)
        );
    }

    #[test]
    fn decimals_stand_behind_a_point_or_a_comma() {
        let of = |t: &str| number(t, "litres").ok().flatten();
        assert_eq!(["5,4", "-0,125", "12,3456", "1234,5", "5.4"].map(of), [5.4, -0.125, 12.3456, 1234.5, 5.4].map(Some));
        assert_eq!(["1,234", "1,234,567", "1,2.3", ",5", "5,", "a,5", "inf"].map(of), [None; 7]);
        let told = number("1,234", "litres").unwrap_err().to_string();
        assert_eq!(told, "litres is '1,234', which may be 1234 or 1.234: write it with a point or without a comma");
        assert_eq!((degrees("-76,691"), degrees("-76.691"), degrees("76,69,1")), (Some(-76.691), Some(-76.691), None));
        assert_eq!((whole("3,0", "count"), whole("1,234", "count").is_err()), (Ok(Some(3)), true));
    }

    #[test]
    fn folding_leaves_words() {
        assert_eq!(folded("  107  JORÑON\tAve "), "107 jorñon ave");
        assert_eq!(
            [without_decimals("12.0"), without_decimals("12.50"), without_decimals("A.0"), without_decimals("12.")],
            ["12", "12.50", "A.0", "12."]
        );
    }

    #[test]
    fn outcomes_may_be_written_with_marks() {
        assert_eq!(outcome("No_Answer"), Ok(Some(Outcome::NoAnswer)));
        assert_eq!(outcome(""), Ok(None));
        assert!(outcome("gone").is_err());
    }
}
