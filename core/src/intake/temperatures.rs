//! Rows of a temperatures file: one day each, in degrees Celsius.

use super::cells::{self, Reason};
use super::dates::{Days, days_of};
use super::report::Account;
use super::{DateOrder, IntakeError, Match, Role, weather};
use crate::files::Table;
use crate::survey::DayTemperature;
use jiff::civil::Date;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// No air on earth was colder or hotter: 89.2 °C below zero and 56.7 °C are the records of the World Meteorological
/// Organization's archive of extremes (from memory).
const POSSIBLE: std::ops::RangeInclusive<f64> = -90.0..=57.0;

/// The temperatures of a survey with those of a file, oldest first; a day of the file takes the place of one that is there.
/// Gives the temperatures and how many rows were kept.
///
/// # Errors
/// [`IntakeError::NoColumn`] when there is no column for the date, or none for the mean nor for lowest and highest.
pub(super) fn bring(
    old: &[DayTemperature],
    table: &Table,
    matched: &Match,
    said: Option<DateOrder>,
    account: &mut Account,
) -> Result<(Vec<DayTemperature>, usize), IntakeError> {
    matched.require(table, Role::Temperatures, &["date"])?;
    if matched.column("min_c").is_none() || matched.column("max_c").is_none() {
        matched.require(table, Role::Temperatures, &["mean_c"])?;
    }
    let days = days_of(table, Role::Temperatures, matched, said, account)?;
    let mut of_file: BTreeMap<Date, Vec<(usize, DayTemperature)>> = BTreeMap::new();
    for row in 0..table.rows {
        match read(table, matched, &days, row) {
            Ok(day) => of_file.entry(day.day).or_default().push((row, day)),
            Err(Refusal { day, reason }) => {
                if let Some(day) = day {
                    account.notice_row(&format!("Not brought in, {day}: {reason}"), row);
                }
                account.refuse(table, row, &reason);
            }
        }
    }
    weather::tell_odd(&of_file, account);
    let mut all: BTreeMap<Date, DayTemperature> = old.iter().map(|t| (t.day, *t)).collect();
    let mut kept = 0;
    for (day, rows) in of_file {
        if rows.iter().any(|r| r.1 != rows[0].1) {
            let reason =
                Reason::new("several rows give this day different temperatures; the mean of several stations is to be taken first");
            rows.iter().for_each(|r| account.refuse(table, r.0, &reason));
            continue;
        }
        kept += rows.len();
        if all.insert(day, rows[0].1).is_some_and(|before| before != rows[0].1) {
            account.notice_row("The day was there with another temperature and was replaced", rows[0].0);
        }
    }
    Ok((all.into_values().collect(), kept))
}

/// Why a row is refused, and the day that it is about.
struct Refusal {
    day: Option<Date>,
    reason: Reason,
}

fn read(table: &Table, matched: &Match, days: &Days, row: usize) -> Result<DayTemperature, Refusal> {
    let text = |meaning: &str| matched.column(meaning).map_or(Cow::Borrowed(""), |c| table.cell(row, c));
    let day = days.moment(&text("date")).map_err(|reason| Refusal { day: None, reason })?.day;
    let (mean, range) = degrees(text).map_err(|reason| Refusal { day: Some(day), reason })?;
    Ok(DayTemperature { day, mean, range })
}

/// The mean, and the lowest and highest where they are given.
fn degrees<'a>(text: impl Fn(&str) -> Cow<'a, str>) -> Result<(f64, Option<(f64, f64)>), Reason> {
    let degrees = |meaning: &'static str| -> Result<Option<f64>, Reason> {
        let value = cells::number(&text(meaning), meaning)?;
        match value {
            Some(v) if !POSSIBLE.contains(&v) => {
                Err(Reason::new(format!("{meaning} is {v}, which no air on earth reaches in degrees Celsius; is it Fahrenheit?")))
            }
            _ => Ok(value),
        }
    };
    let range = degrees("min_c")?.zip(degrees("max_c")?);
    if let Some((low, high)) = range
        && low > high
    {
        return Err(Reason::new(format!("its lowest, {low:.1} °C, is above its highest, {high:.1} °C")));
    }
    match (degrees("mean_c")?, range) {
        (Some(mean), Some((low, high))) if mean < low || mean > high => {
            Err(Reason::new(format!("its mean, {mean:.1} °C, is not between its lowest and highest, {low:.1} and {high:.1} °C")))
        }
        (Some(mean), _) => Ok((mean, range)),
        (None, Some((low, high))) => Ok((f64::midpoint(low, high), range)),
        (None, None) => Err(Reason::new("it has no temperature")),
    }
}

#[cfg(test)]
mod tests {
    use super::super::ColumnMap;
    use super::super::samples::table;
    use super::*;
    use jiff::civil::date;

    fn brought(columns: &[&str], rows: &[&[&str]]) -> (Vec<DayTemperature>, Vec<u64>) {
        let t = table("weather", columns, rows);
        let matched = Match::of(&t, Role::Temperatures, &ColumnMap::default()).unwrap();
        let mut account = Account::new("weather.csv", &t, Role::Temperatures, matched.uses());
        let (days, kept) = bring(&[], &t, &matched, None, &mut account).unwrap();
        account.close();
        assert_eq!(kept, account.report.brought_in);
        (days, account.refused.iter().map(|r| r.row).collect())
    }

    #[test]
    fn the_mean_is_taken_from_lowest_and_highest_where_it_is_not_given() {
        let (days, refused) = brought(&["date", "temp_max", "temp_min"], &[&["2012-01-02", "10.6", "2.8"], &["2012-01-01", "12.8", "5.0"]]);
        assert_eq!(days[0], DayTemperature { day: date(2012, 1, 1), mean: 8.9, range: Some((5.0, 12.8)) });
        assert!(refused.is_empty());
    }

    #[test]
    fn fahrenheit_and_contradictions_are_refused() {
        let rows: &[&[&str]] = &[
            &["2020-07-01", "79", "", ""],
            &["2020-07-02", "26", "30", "20"],
            &["2020-07-03", "40", "20", "30"],
            &["2020-07-04", "25", "", ""],
            &["2020-07-04", "26", "", ""],
            &["2020-07-05", "26", "20", "30"],
        ];
        let (days, refused) = brought(&["date", "mean_c", "min_c", "max_c"], rows);
        assert_eq!((days.len(), refused), (1, vec![1, 2, 3, 4, 5]));
    }
}
