//! What a householder was promised: which day, which hours, read from what was written down.

mod read;

use super::calendar::{day_words, hours_words, weekday_name};
use super::{Outcome, PremiseId, Visits};
use jiff::ToSpan as _;
use jiff::civil::{Date, Time, Weekday};

/// A promise to come on some days, at some hours.
///
/// ```
/// use jiff::civil::{date, time};
/// use yardring_core::survey::Promised;
/// // Written down on a Monday.
/// let promised = Promised::read("Saturday after five", date(2025, 7, 21)).ok_or("it can be read")?;
/// assert!(promised.holds_on(date(2025, 7, 26)) && !promised.holds_on(date(2025, 7, 25)));
/// assert_eq!(promised.words(), "promised Saturday 26 July after 17:00");
/// # Ok::<(), &str>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Promised {
    /// The first day that counts.
    first: Date,
    /// The last one; `None` where it is for good.
    last: Option<Date>,
    /// Weekdays, one bit each from Monday; none for every day.
    weekdays: u8,
    /// Between which hours.
    hours: Option<(Time, Time)>,
}

/// The beginning and the end of a day, for hours that are open on one side.
const DAWN: Time = Time::constant(0, 0, 0, 0);
const MIDNIGHT: Time = Time::constant(23, 59, 0, 0);

impl Promised {
    /// What was written on a day: a weekday, a date or tomorrow, hours, or both; in English or Spanish. A weekday is the next one after the
    /// day it was written on, one in the plural every such day. Hours below eight are in the afternoon unless something else is said.
    /// `None` for a text that names neither day nor hour, or says when not to come.
    pub fn read(text: &str, written: Date) -> Option<Self> {
        read::promised(text, written)
    }

    /// Some hours of one day.
    pub fn on(day: Date, hours: (Time, Time)) -> Self {
        Self { first: day, last: Some(day), weekdays: 0, hours: Some(hours) }
    }

    /// The hours, where some were promised; they begin or end with the day where one side is open.
    pub fn hours(&self) -> Option<(Time, Time)> {
        self.hours
    }

    /// Whether it names days, not hours alone.
    pub fn names_days(&self) -> bool {
        self.weekdays != 0 || self.last.is_some()
    }

    /// Whether it is for certain days and not for good.
    pub fn ends(&self) -> bool {
        self.last.is_some()
    }

    /// Whether a day is one of those promised.
    pub fn holds_on(&self, day: Date) -> bool {
        let within = day >= self.first && self.last.is_none_or(|last| day <= last);
        within && (self.weekdays == 0 || self.weekdays & bit(day.weekday()) != 0)
    }

    /// The first promised day from some day on; `None` when all are past.
    pub fn next(&self, from: Date) -> Option<Date> {
        let from = from.max(self.first);
        // Of seven days in a row one is any weekday.
        (0..7i64).filter_map(|ahead| from.checked_add(ahead.days()).ok()).find(|day| self.holds_on(*day))
    }

    /// Whether a day is the last one of those promised.
    pub fn ends_on(&self, day: Date) -> bool {
        self.holds_on(day) && day.tomorrow().is_ok_and(|next| self.next(next).is_none())
    }

    /// The same in a few words: "promised Saturday 26 July after 17:00", "promised Saturdays", "promised before 12:00".
    pub fn words(&self) -> String {
        let days = match (self.weekdays, self.last) {
            (0, None) => String::new(),
            (_, Some(_)) => format!(" {}", self.dates().iter().map(|day| named_day(*day)).collect::<Vec<_>>().join(" or ")),
            (set, None) => {
                let named = WEEK.into_iter().filter(|day| set & bit(*day) != 0).map(|day| format!("{}s", weekday_name(day)));
                format!(" {}", named.collect::<Vec<_>>().join(" or "))
            }
        };
        let hours = self.hours.map_or_else(String::new, |hours| format!(" {}", hours_words(hours)));
        format!("promised{days}{hours}")
    }

    /// The same as a survey keeps it; [`Self::kept`] reads it.
    pub fn write(&self) -> String {
        let last = self.last.map_or_else(|| "-".to_owned(), |day| day.to_string());
        let hours = self.hours.map_or_else(|| "-".to_owned(), |(from, until)| format!("{from} {until}"));
        format!("{} {last} {} {hours}", self.first, self.weekdays)
    }

    /// What [`Self::write`] wrote; `None` for any other text.
    pub fn kept(text: &str) -> Option<Self> {
        let mut parts = text.split(' ');
        let (first, last, weekdays, from) = (parts.next()?.parse().ok()?, parts.next()?, parts.next()?.parse().ok()?, parts.next()?);
        let last = if last == "-" { None } else { Some(last.parse().ok()?) };
        let hours = if from == "-" { None } else { Some((from.parse().ok()?, parts.next()?.parse().ok()?)) };
        Some(Self { first, last, weekdays, hours })
    }

    /// Whether it still stands at a premise, seen from the visits: none was made on its first day or after it, none ended inspected since
    /// it was made, and none brought back another promise.
    pub fn stands(&self, visits: &Visits, premise: PremiseId) -> bool {
        let day = self.last.and_then(|_| self.next(self.first));
        visits.at(premise).iter().filter(|v| v.when.day >= self.first).all(|v| {
            let used = day.is_some_and(|day| v.when.day >= day);
            !used && v.outcome != Outcome::Inspected && Self::read(v.promise(), v.when.day).is_none()
        })
    }

    /// The promised days of one that ends.
    fn dates(&self) -> Vec<Date> {
        let all = self.first.series(1.day()).take_while(|day| self.last.is_some_and(|last| *day <= last));
        all.filter(|day| self.holds_on(*day)).collect()
    }
}

/// The promise at a premise that stands: the last one written down that can be read, no visit having been made on its day or after it, and
/// none having ended inspected since. With the day it was written on.
pub fn promise_at(visits: &Visits, premise: PremiseId) -> Option<(Promised, Date)> {
    let all = visits.at(premise);
    for (i, visit) in all.iter().enumerate().rev() {
        let written = visit.when.day;
        if let Some(promised) = Some(visit.promise()).filter(|p| !p.is_empty()).and_then(|p| Promised::read(p, written)) {
            let first = promised.next(promised.first).filter(|_| promised.last.is_some());
            let used = first.is_some_and(|first| all[i + 1..].iter().any(|later| later.when.day >= first));
            return (!used).then_some((promised, written));
        }
        if visit.outcome == Outcome::Inspected {
            return None;
        }
    }
    None
}

const WEEK: [Weekday; 7] =
    [Weekday::Monday, Weekday::Tuesday, Weekday::Wednesday, Weekday::Thursday, Weekday::Friday, Weekday::Saturday, Weekday::Sunday];

fn bit(day: Weekday) -> u8 {
    1 << day.to_monday_zero_offset()
}

/// "Saturday 26 July".
fn named_day(day: Date) -> String {
    format!("{} {}", weekday_name(day.weekday()), day_words(day))
}

#[cfg(test)]
mod tests {
    use super::super::{RoundId, Said, Visit, When};
    use super::*;
    use jiff::civil::{date, time};

    /// A Monday (any calendar).
    const MONDAY: Date = date(2025, 7, 21);

    fn words(text: &str) -> String {
        Promised::read(text, MONDAY).map_or_else(String::new, |p| p.words())
    }

    #[test]
    fn days_and_hours_are_read_as_people_write_them() {
        for (text, expected) in [
            ("Saturday", "promised Saturday 26 July"),
            ("sat. after five", "promised Saturday 26 July after 17:00"),
            ("home Monday", "promised Monday 28 July"),
            ("call back Sat or Sun, 10-12", "promised Saturday 26 July or Sunday 27 July 10:00–12:00"),
            ("only Saturdays", "promised Saturdays"),
            ("every Friday before noon", "promised Fridays before 12:00"),
            ("after five", "promised after 17:00"),
            ("after 5:30 p.m.", "promised after 17:30"),
            ("17:00-18:30", "promised 17:00–18:30"),
            ("between 9 and 11 am", "promised 09:00–11:00"),
            ("from 10 to 2", "promised 10:00–14:00"),
            ("tomorrow at 10", "promised Tuesday 22 July 10:00–10:30"),
            ("tomorrow morning", "promised Tuesday 22 July before 12:00"),
            ("Thursday evening", "promised Thursday 24 July 17:00–21:00"),
            ("2025-08-02 after 9", "promised Saturday 2 August after 09:00"),
            ("2 Aug", "promised Saturday 2 August"),
            ("not before ten", "promised after 10:00"),
            ("Saturday, not after 11", "promised Saturday 26 July before 11:00"),
            ("no antes de las cinco", "promised after 17:00"),
            ("on August 2nd, half past four", "promised Saturday 2 August 16:30–17:00"),
            ("el sábado después de las cinco", "promised Saturday 26 July after 17:00"),
            ("los sábados", "promised Saturdays"),
            ("miercoles por la mañana", "promised Wednesday 23 July before 12:00"),
            ("mañana a las 10", "promised Tuesday 22 July 10:00–10:30"),
            ("mañana por la tarde", "promised Tuesday 22 July 12:00–18:00"),
            ("entre las 4 y las 6 de la tarde", "promised 16:00–18:00"),
            ("el 2 de agosto antes de las once y media", "promised Saturday 2 August before 11:30"),
        ] {
            assert_eq!(words(text), expected, "{text}");
        }
    }

    #[test]
    fn a_promise_is_kept_as_text_and_stands_until_somebody_came() {
        for text in ["Saturday after five", "only Fridays", "before noon", "2 Aug", "sat or sun"] {
            let promised = Promised::read(text, MONDAY).expect("it can be read");
            assert_eq!(Promised::kept(&promised.write()), Some(promised), "{}", promised.write());
        }
        assert_eq!([Promised::kept(""), Promised::kept("Saturday"), Promised::kept("2025-07-26 - 0 17:00")], [None; 3]);
        let visits = |days_later: i64, outcome: Outcome, promise: &str| {
            let when = When { day: MONDAY.checked_add(days_later.days()).expect("a day"), time: None };
            let (id, crew, said) = ("1".into(), "".into(), Said::of(promise, ""));
            let visit = Visit { id, premise: PremiseId(0), when, outcome, round: RoundId(0), crew, said, finds: 0..0 };
            Visits::from_rows(1, vec![(visit, vec![])])
        };
        let (saturday, fridays) = (Promised::read("Saturday", MONDAY).expect("a day"), Promised::read("Fridays", MONDAY).expect("a day"));
        let stands = |days: i64, outcome, promise: &str| {
            let visits = visits(days, outcome, promise);
            [saturday.stands(&visits, PremiseId(0)), fridays.stands(&visits, PremiseId(0))]
        };
        assert_eq!(stands(-3, Outcome::Inspected, ""), [true, true], "before it was made");
        assert_eq!(stands(2, Outcome::NoAnswer, ""), [true, true], "another day before it");
        assert_eq!(stands(5, Outcome::NoAnswer, ""), [false, true], "on its day; the next Friday is to come");
        assert_eq!(stands(2, Outcome::Inspected, ""), [false, false]);
        assert_eq!(stands(2, Outcome::NoAnswer, "Sunday"), [false, false], "something else was promised since");
    }

    #[test]
    fn what_names_no_time_or_says_when_not_to_come_is_not_read() {
        for text in ["", "call first", "555-1234", "not on Saturday", "nunca los domingos", "gate code 17", "3 dogs", "99:00", "August 45"]
        {
            assert_eq!(words(text), "", "{text}");
        }
    }

    #[test]
    fn promised_days_come_and_end() {
        let saturday = Promised::read("Saturday", MONDAY).expect("a day");
        let on = date(2025, 7, 26);
        assert_eq!((saturday.next(MONDAY), saturday.next(date(2025, 7, 27)), saturday.ends_on(on)), (Some(on), None, true));
        let either = Promised::read("Thursday or Saturday", MONDAY).expect("two days");
        assert!(!either.ends_on(date(2025, 7, 24)) && either.ends_on(on) && !either.holds_on(date(2025, 7, 31)));
        let every = Promised::read("Saturdays", MONDAY).expect("many days");
        assert!(every.holds_on(date(2025, 12, 27)) && !every.ends_on(on) && every.names_days());
        let hours = Promised::read("after 17:00", MONDAY).expect("hours");
        assert!(hours.holds_on(date(2025, 7, 22)) && !hours.names_days());
        assert_eq!(hours.hours(), Some((time(17, 0, 0, 0), MIDNIGHT)));
        let next_year = Promised::read("5 January", date(2025, 12, 30)).expect("a date");
        assert!(next_year.holds_on(date(2026, 1, 5)));
    }

    #[test]
    fn a_promise_stands_until_its_day_has_seen_a_visit_or_the_yard_was_inspected() {
        let visit = |day: Date, outcome: Outcome, promise: &str| {
            let said = Said::of(promise, "");
            let (id, when, premise) = (day.to_string().into(), When { day, time: None }, PremiseId(0));
            (Visit { id, premise, when, outcome, round: RoundId(0), crew: "".into(), said, finds: 0..0 }, vec![])
        };
        let stands = |rows: Vec<(Visit, Vec<super::super::Find>)>| {
            promise_at(&Visits::from_rows(1, rows), PremiseId(0)).map(|(promised, written)| (promised.words(), written))
        };
        let (monday, none) = (visit(MONDAY, Outcome::NoAnswer, "Saturday"), Outcome::NoAnswer);
        let saturday = Some(("promised Saturday 26 July".to_owned(), MONDAY));
        assert_eq!(stands(vec![monday.clone()]), saturday);
        assert_eq!(stands(vec![monday.clone(), visit(date(2025, 7, 23), none, "")]), saturday);
        assert_eq!(stands(vec![monday.clone(), visit(date(2025, 7, 26), none, "")]), None, "somebody came on the day");
        assert_eq!(stands(vec![monday.clone(), visit(date(2025, 7, 23), Outcome::Inspected, "")]), None);
        let later = stands(vec![monday, visit(date(2025, 7, 26), none, "sundays")]);
        assert_eq!(later, Some(("promised Sundays".to_owned(), date(2025, 7, 26))));
    }
}
