//! Days that are not written as ISO 8601 has it: which order a file's numbers are in.

use super::cells::{self, Reason};
use super::report::Account;
use super::{IntakeError, Match, Role};
use crate::files::Table;
use crate::survey::When;
use crate::survey::calendar::{MONTHS, SPANISH_MONTHS};
use jiff::civil::{Date, Time};
use std::fmt;
use std::str::FromStr;

/// The order of day, month and year in a date such as 03/04/2025.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DateOrder {
    /// 31/7/2025
    DayFirst,
    /// 7/31/2025
    MonthFirst,
    /// 2025/7/31
    YearFirst,
}

impl DateOrder {
    /// Every order.
    pub const ALL: [Self; 3] = [Self::DayFirst, Self::MonthFirst, Self::YearFirst];

    /// As column maps write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::DayFirst => "day first",
            Self::MonthFirst => "month first",
            Self::YearFirst => "year first",
        }
    }

    /// The day that three numbers mean in this order.
    fn day(self, [a, b, c]: [i16; 3]) -> Option<Date> {
        let (year, month, day) = match self {
            Self::DayFirst => (c, b, a),
            Self::MonthFirst => (c, a, b),
            Self::YearFirst => (a, b, c),
        };
        // POSIX: years of two digits from 69 on are of the last century (strptime, %y).
        let year = match year {
            0..69 if self != Self::YearFirst => year + 2000,
            69..100 if self != Self::YearFirst => year + 1900,
            1000.. => year,
            _ => return None,
        };
        Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
    }
}

impl fmt::Display for DateOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl FromStr for DateOrder {
    type Err = crate::survey::UnknownWord;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let found = Self::ALL.into_iter().find(|o| o.word().eq_ignore_ascii_case(text.trim()));
        found.ok_or_else(|| Self::Err { given: text.to_owned(), what: "an order of dates", known: Self::ALL.map(Self::word).join(", ") })
    }
}

/// How a file writes its days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Days {
    /// As ISO 8601 has it, or in this order.
    In(Option<DateOrder>),
    /// In an order that is not known: dates that are not ISO 8601 could be meant in two, or contradict each other.
    Unclear,
    /// As the numbers of a spreadsheet's days.
    Numbered,
}

/// The day that a spreadsheet calls 0: its numbers of days since 1 March 1900 count from here.
///
/// # Source
/// ECMA-376, part 1, section 18.17.4.1, the 1900 date system (from memory).
const DAY_ZERO: Date = Date::constant(1899, 12, 30);
/// The numbers of the days from 2000 to 2099.
const NUMBERED: std::ops::Range<f64> = 36_526.0..73_051.0;

/// What all dates of a file say together about their order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Orders {
    fits: Vec<DateOrder>,
    /// The row, counted from 0, and the date that tells most.
    telling: Option<(usize, String)>,
    /// A date that means two different days in the orders that fit.
    unclear: Option<String>,
    /// Dates that mean two days, and dates as ISO 8601 has them.
    pub open: usize,
    pub iso: usize,
    /// A number that a spreadsheet may mean a day by, and whether all that is said is such a number.
    number: Option<String>,
    others: bool,
}

/// Which order the dates of a file that are not ISO 8601 are in: the one that was said, or the only one in which all of them
/// are days. Says what it found, and gives an example when nobody can know.
pub(super) fn order_of<'a>(
    texts: impl Iterator<Item = (usize, std::borrow::Cow<'a, str>)>,
    said: Option<DateOrder>,
    account: &mut Account,
) -> Days {
    if said.is_some() {
        return Days::In(said);
    }
    let orders = Orders::of(texts);
    if let Some(example) = orders.numbered() {
        let day = numbered(example).map(|w| w.day.to_string()).unwrap_or_default();
        account.notice(format!("Dates such as '{example}' were read as the day numbers of a spreadsheet: that is {day}"));
        return Days::Numbered;
    }
    match (orders.fits.as_slice(), &orders.telling) {
        (_, None) => Days::In(None),
        ([one], Some((row, text))) => {
            account.notice(format!("Dates are read {one}: '{text}' in row {} can be read in no other order", row + 1));
            Days::In(Some(*one))
        }
        (_, Some((_, text))) => {
            account.notice(format!(
                "Whether dates such as '{text}' begin with the day or the month is not known; say date_order = \"day first\" or \
                 \"month first\" under [{}] in a column map",
                account.report.table
            ));
            Days::Unclear
        }
    }
}

impl Orders {
    /// Looks at all dates of a file.
    pub(super) fn of<'a>(texts: impl Iterator<Item = (usize, std::borrow::Cow<'a, str>)>) -> Self {
        let mut out = Self { fits: DateOrder::ALL.to_vec(), ..Self::default() };
        for (row, text) in texts {
            if !out.others && !text.is_empty() {
                out.others = numbered(&text).is_none();
                out.number.get_or_insert_with(|| text.to_string());
            }
            if !may_be_a_day(&text) {
                continue;
            }
            if cells::moment(&text).is_ok() {
                out.iso += 1;
                continue;
            }
            let Some(numbers) = three_numbers(&text) else { continue };
            let own: Vec<DateOrder> = DateOrder::ALL.into_iter().filter(|o| o.day(numbers).is_some()).collect();
            if own.is_empty() {
                continue;
            }
            let two_days = own.iter().any(|o| o.day(numbers) != own[0].day(numbers));
            out.open += usize::from(two_days);
            if two_days && out.unclear.is_none() {
                out.unclear = Some(text.to_string());
            }
            let before = out.fits.len();
            out.fits.retain(|o| own.contains(o));
            if out.telling.is_none() || out.fits.len() < before {
                out.telling = Some((row, text.into_owned()));
            }
        }
        out
    }

    /// A number by which a spreadsheet means a day, when all dates are such numbers.
    fn numbered(&self) -> Option<&str> {
        self.number.as_deref().filter(|_| !self.others)
    }

    /// A date that means two days, when no other date tells which.
    pub(super) fn to_ask(&self) -> Option<&str> {
        self.unclear.as_deref().filter(|_| self.fits.len() > 1)
    }
}

/// A quick look that leaves out nearly everything that is no day: days begin with a digit and have marks between few of them.
fn may_be_a_day(text: &str) -> bool {
    let bytes = text.as_bytes();
    bytes.first().is_some_and(u8::is_ascii_digit) && bytes.iter().take(5).any(|b| matches!(b, b'-' | b'/' | b'.' | b'T'))
}

/// Whether a text can be read as a day in some order. Its year has four digits: "12-7-25" may be a parcel's map, lot and unit.
pub(super) fn looks_like_a_day(text: &str) -> bool {
    let in_some_order =
        |numbers: [i16; 3]| numbers.iter().any(|n| *n >= 1000) && DateOrder::ALL.into_iter().any(|o| o.day(numbers).is_some());
    cells::moment(text).is_ok() || three_numbers(text).is_some_and(in_some_order)
}

/// Days of a file, asked for when most of its dates could mean two days each and nothing says which.
///
/// # Errors
/// [`IntakeError::DateOrder`] then.
pub(super) fn days_of(
    table: &Table,
    role: Role,
    matched: &Match,
    said: Option<DateOrder>,
    account: &mut Account,
) -> Result<Days, IntakeError> {
    let date = matched.column("date");
    let texts = || (0..table.rows).filter_map(|row| Some((row, table.cell(row, date?))));
    let orders = if said.is_none() { Orders::of(texts()) } else { Orders::default() };
    match orders.to_ask().filter(|_| orders.open > orders.iso) {
        Some(example) => Err(IntakeError::DateOrder { file: table.name.clone(), role, example: example.to_owned() }),
        None => Ok(order_of(texts(), said, account)),
    }
}

impl Days {
    /// Reads a day, or a day and a time.
    pub(super) fn moment(&self, text: &str) -> Result<When, Reason> {
        let iso = if *self == Self::Numbered { numbered(text).ok_or_else(|| no_number(text)) } else { cells::moment(text) };
        match (self, iso) {
            (_, Ok(when)) => Ok(when),
            (Self::In(Some(order)), Err(_)) => in_order(text, *order),
            (Self::In(None) | Self::Numbered, Err(reason)) => Err(reason),
            (Self::Unclear, Err(reason)) => match both_ways(text) {
                Some((one, other)) if one != other => {
                    Err(Reason::new(format!("the date '{text}' is not written as year-month-day (ISO 8601); it may be {one} or {other}")))
                }
                Some((one, _)) => Ok(When { day: one, time: None }),
                None => Err(reason),
            },
        }
    }
}

/// The day, and the time where there are parts of a day, that a spreadsheet means by a number.
fn numbered(text: &str) -> Option<When> {
    let number: f64 = text.parse().ok().filter(|n| NUMBERED.contains(n))?;
    let day = DAY_ZERO.checked_add(jiff::Span::new().days(number.trunc() as i64)).ok()?;
    let seconds = (number.fract() * 86_400.0).round() as i64;
    let time = Time::midnight().checked_add(jiff::Span::new().seconds(seconds)).ok();
    Some(When { day, time: time.filter(|_| seconds > 0) })
}

fn no_number(text: &str) -> Reason {
    Reason::new(format!("the date '{text}' is no day number of a spreadsheet"))
}

fn both_ways(text: &str) -> Option<(Date, Date)> {
    let numbers = three_numbers(text)?;
    let (day_first, month_first) = (DateOrder::DayFirst.day(numbers), DateOrder::MonthFirst.day(numbers));
    Some((day_first.or(month_first)?, month_first.or(day_first)?))
}

fn in_order(text: &str, order: DateOrder) -> Result<When, Reason> {
    let unreadable = || Reason::new(format!("the date '{text}' is no day, read {order}"));
    let day = order.day(three_numbers(text).ok_or_else(unreadable)?).ok_or_else(unreadable)?;
    let after = text.split_once([' ', 'T']).map_or("", |(_, clock)| clock);
    at(day, after).ok_or_else(unreadable)
}

/// A day with the time that stands behind it, if any does.
fn at(day: Date, clock: &str) -> Option<When> {
    let clock = clock.trim();
    Some(When { day, time: if clock.is_empty() { None } else { Some(time(clock)?) } })
}

/// A time of day that stands in a cell of its own: as behind a date, or as four digits ("0805").
pub(super) fn clock(text: &str) -> Option<Time> {
    match (text.len(), text.bytes().all(|b| b.is_ascii_digit())) {
        (3 | 4, true) => time(&format!("{}:{}", &text[..text.len() - 2], &text[text.len() - 2..])),
        _ => time(text),
    }
}

/// A time of day: "8:05", "08:05:30", "8:05 PM". Parts of seconds and an offset from UTC are left off.
fn time(clock: &str) -> Option<Time> {
    let end = clock.find(|c: char| !c.is_ascii_digit() && c != ':').unwrap_or(clock.len());
    let (numbers, rest) = clock.split_at(end);
    let mut parts = numbers.split(':').map(|n| if n.len() <= 2 { n.parse::<i8>().ok() } else { None });
    let (hour, minute, second) = (parts.next()??, parts.next()??, parts.next().map_or(Some(0), |s| s)?);
    let half = rest.trim_start_matches(|c: char| c == '.' || c.is_ascii_digit()).trim().to_ascii_lowercase().replace('.', "");
    let hour = match half.as_str() {
        "am" | "pm" if !(1..=12).contains(&hour) => return None,
        "am" => hour % 12,
        "pm" => hour % 12 + 12,
        "" => hour,
        offset if offset.starts_with(['+', '-', 'z']) => hour,
        _ => return None,
    };
    Time::new(hour, minute, second, 0).ok().filter(|_| parts.next().is_none())
}

/// A date that means one day although it is not as ISO 8601 has it: the year first ("2025/7/31"), or the month in letters, English or
/// Spanish ("31 Jul 2025", "July 31, 2025", "31-jul-2025").
pub(super) fn unmistakable(text: &str) -> Option<When> {
    if let Some(numbers) = three_numbers(text).filter(|n| n[0] >= 1000) {
        return at(DateOrder::YearFirst.day(numbers)?, text.split_once([' ', 'T']).map_or("", |(_, clock)| clock));
    }
    let mut words = text.splitn(4, [' ', '-', '/', '.', ',']).filter(|w| !w.is_empty());
    // "Jul 31, 2025" has a comma and a blank: one of the four pieces is empty, and the year stands before the rest.
    let (a, b, rest) = (words.next()?, words.next()?, words.next()?.trim_start());
    let (year, clock) = match words.next() {
        Some(clock) => (rest, clock),
        None => rest.split_once(' ').unwrap_or((rest, "")),
    };
    let (month, day) = month(a).map(|m| (m, b)).or_else(|| Some((month(b)?, a)))?;
    let day = Date::new(year.parse().ok().filter(|y| *y >= 1000)?, month, day.parse().ok()?).ok()?;
    at(day, clock)
}

/// A month by its name or the first letters of it.
fn month(word: &str) -> Option<i8> {
    let word = word.to_lowercase();
    let of = |names: [&str; 12]| names.into_iter().position(|name| word.len() >= 3 && name.to_lowercase().starts_with(&word));
    of(MONTHS).or_else(|| of(SPANISH_MONTHS)).map(|k| k as i8 + 1)
}

/// The numbers of "3/4/2025", "3-4-2025" or "3.4.2025", a time behind them left off.
fn three_numbers(text: &str) -> Option<[i16; 3]> {
    let day = text.split([' ', 'T']).next()?;
    let mut parts = day.split(['/', '-', '.']).map(|n| if n.len() <= 4 { n.parse::<i16>().ok().filter(|v| *v >= 0) } else { None });
    let numbers = [parts.next()??, parts.next()??, parts.next()??];
    parts.next().is_none().then_some(numbers)
}

#[cfg(test)]
mod tests {
    use super::super::samples::table;
    use super::*;
    use jiff::civil::date;

    fn found(texts: &[&str], said: Option<DateOrder>) -> (Days, usize) {
        let mut account = Account::new("v.csv", &table("v", &[], &[]), Role::Visits, &[]);
        let days = order_of(texts.iter().map(|t| (*t).into()).enumerate(), said, &mut account);
        account.close();
        (days, account.report.findings.len())
    }

    #[test]
    fn dates_that_mean_one_day_are_read_as_people_write_them() {
        use jiff::civil::date;
        let of = |text: &str| cells::moment(text).ok().map(|w| (w.day, w.time.map(|t| (t.hour(), t.minute()))));
        let last = date(2025, 7, 31);
        for text in ["2025/7/31", "31 Jul 2025", "Jul 31 2025", "July 31, 2025", "31-jul-2025", "31. julio 2025", "2025.07.31"] {
            assert_eq!(of(text), Some((last, None)), "{text}");
        }
        for text in
            ["2025/07/31 8:05 PM", "Jul 31, 2025 20:05", "31 Jul 2025 8:05 p.m.", "2025-07-31T20:05:00Z", "July 31, 2025 08:05:10 PM"]
        {
            assert_eq!(of(text), Some((last, Some((20, 5)))), "{text}");
        }
        for text in
            ["31 Ju 2025", "31 Jul 25", "Jul 32 2025", "2025/13/01", "31 Jul 2025 25:00", "31 Jul 2025 noon", "Elm 31 2025", "7 8 2025"]
        {
            assert_eq!(of(text), None, "{text}");
        }
        let american = Days::In(Some(DateOrder::MonthFirst));
        let read = american.moment("7/20/2025 8:05 AM").unwrap();
        assert_eq!((read.day, read.time.map(|t| (t.hour(), t.minute()))), (date(2025, 7, 20), Some((8, 5))));
        assert_eq!(american.moment("7/20/2025 12:30 AM").unwrap().time.map(|t| t.hour()), Some(0));
    }

    #[test]
    fn the_order_is_what_all_dates_allow_and_is_asked_when_they_allow_two() {
        use DateOrder::{DayFirst, MonthFirst};
        assert_eq!(found(&["2025-07-04", "nonsense", ""], None), (Days::In(None), 0));
        assert_eq!(found(&["07/04/2025", "07/25/2025", "2025-07-01"], None), (Days::In(Some(MonthFirst)), 1));
        assert_eq!(found(&["4.7.2025", "25.7.2025"], None), (Days::In(Some(DayFirst)), 1));
        assert_eq!(found(&["2025/7/4"], None), (Days::In(None), 0), "the year first can be meant in one way only");
        assert_eq!(found(&["7/4/25", "7/25/25"], None), (Days::In(Some(MonthFirst)), 1));
        assert_eq!(found(&["03/04/2025", "05/04/2025"], None), (Days::Unclear, 1));
        assert_eq!(found(&["25/04/2025", "04/25/2025"], None), (Days::Unclear, 1));
        assert_eq!(found(&["03/04/2025"], Some(MonthFirst)), (Days::In(Some(MonthFirst)), 0));
    }

    #[test]
    fn the_day_numbers_of_a_spreadsheet_are_days_where_nothing_else_is_said() {
        // 45852 is 14 July 2025: LibreOffice 24 shows it so (from memory); 25569 is the first day of Unix time.
        assert_eq!(found(&["45852", "", "45853.340278"], None), (Days::Numbered, 1));
        let read = |text: &str| Days::Numbered.moment(text).map(|w| (w.day, w.time)).ok();
        assert_eq!(read("45852"), Some((date(2025, 7, 14), None)));
        assert_eq!(read("45853.340278"), Some((date(2025, 7, 15), Time::new(8, 10, 0, 0).ok())));
        assert_eq!(read("99"), None);
        assert_eq!(found(&["45852", "2025-07-15"], None), (Days::In(None), 0));
        assert_eq!(found(&["45852"], Some(DateOrder::DayFirst)), (Days::In(Some(DateOrder::DayFirst)), 0));
        assert_eq!(found(&["2025", "2024"], None), (Days::In(None), 0));
        let unix = DAY_ZERO.checked_add(jiff::Span::new().days(25_569)).unwrap();
        assert_eq!(unix, date(1970, 1, 1));
    }

    #[test]
    fn days_are_read_in_their_order_and_never_guessed() {
        let read = |days: &Days, text: &str| days.moment(text).map(|w| (w.day, w.time.is_some())).ok();
        let month = Days::In(Some(DateOrder::MonthFirst));
        assert_eq!(read(&month, "3/4/2025"), Some((date(2025, 3, 4), false)));
        assert_eq!(read(&month, "3/4/2025 9:30"), Some((date(2025, 3, 4), true)));
        assert_eq!(read(&month, "3/4/2025 9h30"), None);
        assert_eq!(read(&month, "3/4/2025 09:30"), Some((date(2025, 3, 4), true)));
        assert_eq!(read(&month, "25/4/2025"), None);
        assert_eq!(read(&month, "2025-04-03"), Some((date(2025, 4, 3), false)));
        assert_eq!(read(&month, "3/4/25"), Some((date(2025, 3, 4), false)));
        assert_eq!(read(&month, "3/4/68"), Some((date(2068, 3, 4), false)));
        assert_eq!(read(&month, "3/4/69"), Some((date(1969, 3, 4), false)));
        assert_eq!(read(&month, "3/4/125"), None);
        let told = Days::Unclear.moment("03/04/2025").unwrap_err().to_string();
        assert!(told.contains("2025-04-03") && told.contains("2025-03-04"), "{told}");
        assert_eq!(read(&Days::Unclear, "04/04/2025"), Some((date(2025, 4, 4), false)));
    }

    #[test]
    fn people_are_asked_only_when_two_days_could_be_meant_and_nothing_tells() {
        let asked = |texts: &[&str]| Orders::of(texts.iter().map(|t| (*t).into()).enumerate()).to_ask().map(str::to_owned);
        assert_eq!(asked(&["2025-07-01", "05/05/2025", "03/04/2025"]).as_deref(), Some("03/04/2025"));
        assert_eq!(asked(&["05/05/2025", "2025-07-01"]), None);
        assert_eq!(asked(&["03/04/2025", "25/04/2025"]), None);
        assert!(
            looks_like_a_day("3.4.2025 09:30")
                && looks_like_a_day("2025-04-03")
                && !looks_like_a_day("30.0.1")
                && !looks_like_a_day("12-7-25")
        );
    }
}
