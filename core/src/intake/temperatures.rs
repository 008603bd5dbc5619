//! Rows of a temperatures file: one day each, in degrees Celsius or Fahrenheit.

use super::cells::{self, Reason};
use super::dates::{Days, days_of};
use super::report::Account;
use super::{DateOrder, IntakeError, Match, Role, Sureness, weather};
use crate::files::Table;
use crate::survey::DayTemperature;
use jiff::civil::Date;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// No air on earth was colder or hotter: 89.2 °C below zero and 56.7 °C are the records of the World Meteorological
/// Organization's archive of extremes (from memory).
const POSSIBLE: std::ops::RangeInclusive<f64> = -90.0..=57.0;

/// The temperatures of a survey with those of a file, oldest first; a day of the file takes the place of one that is there.
/// Gives the temperatures and how many rows were kept. `latitude` says when it is winter.
///
/// # Errors
/// [`IntakeError::NoColumn`] when there is no column for the date, or none for the mean nor for lowest and highest;
/// [`IntakeError::Fahrenheit`] when nobody said the unit and the days are too warm for degrees Celsius.
pub(super) fn bring(
    (old, latitude): (&[DayTemperature], f64),
    table: &Table,
    matched: &Match,
    said: Option<DateOrder>,
    account: &mut Account,
) -> Result<(Vec<DayTemperature>, usize), IntakeError> {
    matched.require(table, Role::Temperatures, &["date"])?;
    let has = |celsius: &str, fahrenheit: &str| matched.column(celsius).or(matched.column(fahrenheit)).is_some();
    if !has("min_c", "min_f") || !has("max_c", "max_f") {
        matched.require(table, Role::Temperatures, &["mean_c", "mean_f"])?;
    }
    let days = days_of(table, Role::Temperatures, matched, said, account)?;
    let read: Vec<Result<DayTemperature, Refusal>> = (0..table.rows).map(|row| read(table, matched, &days, row)).collect();
    let of_unit = matched.uses().iter().filter(|used| used.meaning.ends_with("_c"));
    if of_unit.clone().next().is_some() && of_unit.clone().all(|used| used.sure < Sureness::Remembered) {
        check_unit(&table.name, &read, latitude)?;
    }
    let mut of_file: BTreeMap<Date, Vec<(usize, DayTemperature)>> = BTreeMap::new();
    for (row, read) in read.into_iter().enumerate() {
        match read {
            Ok(day) => of_file.entry(day.day).or_default().push((row, day)),
            Err(Refusal { day, reason, .. }) => {
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

/// Whether the days of a file are too warm for degrees Celsius.
fn check_unit(file: &str, read: &[Result<DayTemperature, Refusal>], latitude: f64) -> Result<(), IntakeError> {
    let days: Vec<DayTemperature> = read.iter().filter_map(|r| r.as_ref().ok().copied()).collect();
    let hot = read.iter().filter(|r| r.as_ref().is_err_and(|refusal| refusal.too_hot)).count();
    let why = if hot > 1 && hot > days.len() {
        Some(format!("{hot} of its {} days reach more than {} degrees", read.len(), POSSIBLE.end()))
    } else {
        weather::too_warm(&days, latitude)
    };
    why.map_or(Ok(()), |why| Err(IntakeError::Fahrenheit { file: file.to_owned(), why }))
}

/// Why a row is refused, the day that it is about, and whether it is because no air on earth is so hot.
struct Refusal {
    day: Option<Date>,
    reason: Reason,
    too_hot: bool,
}

fn read(table: &Table, matched: &Match, days: &Days, row: usize) -> Result<DayTemperature, Refusal> {
    let text = |meaning: &str| matched.column(meaning).map_or(Cow::Borrowed(""), |c| table.cell(row, c));
    let day = days.moment(&text("date")).map_err(|reason| Refusal { day: None, reason, too_hot: false })?.day;
    let (mean, range) = degrees(text).map_err(|(reason, too_hot)| Refusal { day: Some(day), reason, too_hot })?;
    Ok(DayTemperature { day, mean, range })
}

/// The mean of a day, and its lowest and highest where they are given, in degrees Celsius.
type MeanAndRange = (f64, Option<(f64, f64)>);

/// The mean, and the lowest and highest where they are given, in degrees Celsius; or why not, and whether it is for being too hot.
fn degrees<'a>(text: impl Fn(&str) -> Cow<'a, str>) -> Result<MeanAndRange, (Reason, bool)> {
    let number = |meaning: &'static str| cells::number(&text(meaning), meaning).map_err(|reason| (reason, false));
    let degrees = |celsius: &'static str, fahrenheit: &'static str| -> Result<Option<f64>, (Reason, bool)> {
        let told = number(celsius)?;
        match told.or(number(fahrenheit)?.map(|f| (f - 32.0) / 1.8)) {
            Some(v) if !POSSIBLE.contains(&v) => {
                let said = match told {
                    Some(v) => format!("{celsius} is {v}, which no air on earth reaches in degrees Celsius; is it Fahrenheit?"),
                    None => format!("{fahrenheit} is {:.1}, which no air on earth reaches in degrees Fahrenheit", v * 1.8 + 32.0),
                };
                Err((Reason::new(said), v > *POSSIBLE.end()))
            }
            value => Ok(value),
        }
    };
    let range = degrees("min_c", "min_f")?.zip(degrees("max_c", "max_f")?);
    between(degrees("mean_c", "mean_f")?, range).map_err(|reason| (reason, false))
}

/// The mean and the range of a day that do not contradict each other.
fn between(mean: Option<f64>, range: Option<(f64, f64)>) -> Result<MeanAndRange, Reason> {
    if let Some((low, high)) = range
        && low > high
    {
        return Err(Reason::new(format!("its lowest, {low:.1} °C, is above its highest, {high:.1} °C")));
    }
    match (mean, range) {
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
        let (days, kept) = bring((&[], 29.4), &t, &matched, None, &mut account).unwrap();
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

    #[test]
    fn degrees_fahrenheit_are_turned_into_celsius_where_the_columns_say_so() {
        // 77 °F is 25 °C and 86 °F is 30 °C by definition.
        let (days, refused) = brought(&["Date", "TMIN (F)", "TMAX (F)"], &[&["2025-07-01", "77", "86"], &["2025-07-02", "77", "260"]]);
        assert_eq!(days[0], DayTemperature { day: date(2025, 7, 1), mean: 27.5, range: Some((25.0, 30.0)) });
        assert_eq!(refused, [2]);
    }

    #[test]
    fn a_file_that_is_too_warm_for_celsius_is_asked_about_whole() {
        let asked = |rows: &[[&str; 3]], map: &str| {
            let rows: Vec<&[&str]> = rows.iter().map(|r| &r[..]).collect();
            let t = table("weather", &["date", "tmin", "tmax"], &rows);
            let matched = Match::of(&t, Role::Temperatures, &ColumnMap::from_toml(map).unwrap()).unwrap();
            let mut account = Account::new("weather.csv", &t, Role::Temperatures, matched.uses());
            let brought = bring((&[], 29.4), &t, &matched, None, &mut account);
            account.close();
            brought.map(|b| b.1).map_err(|e| e.to_string())
        };
        let summer = [["2025-07-01", "74", "91"], ["2025-07-02", "75", "92"], ["2025-07-03", "73", "90"]];
        assert!(asked(&summer, "").unwrap_err().contains("3 of its 3 days reach more than 57 degrees"));
        let map = "[temperatures]\nmin_f = \"tmin\"\nmax_f = \"tmax\"\n";
        assert_eq!(asked(&summer, map), Ok(3));
        let winter: Vec<String> = (1..=30).map(|day| format!("2025-01-{day:02}")).collect();
        let winter: Vec<[&str; 3]> = winter.iter().map(|day| [day.as_str(), "38", "55"]).collect();
        assert!(asked(&winter, "").unwrap_err().contains("in the middle 46 degrees"), "{:?}", asked(&winter, ""));
        assert_eq!(asked(&winter, "[temperatures]\nmin_c = \"tmin\"\nmax_c = \"tmax\"\n"), Ok(30));
    }
}
