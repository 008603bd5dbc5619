//! Days whose temperatures are hardly believable: told with their dates, and brought in all the same.

use super::report::Account;
use crate::survey::DayTemperature;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// So many days in a row with the very same temperatures are a sensor that has stuck.
///
/// # Source
/// Common practice, no source. In four years of Seattle's weather no two values stay the same for more than two days, and in
/// thirteen of Key West's three runs reach five days, one of them seven. (Durre et al. 2010, Comprehensive automated quality assurance
/// of daily surface observations, J. Appl. Meteor. Climatol. 49, ask for twenty days of one value; from memory.)
const STUCK_DAYS: usize = 5;
/// Days on either side that a day is held against.
const AROUND: i32 = 7;
/// The fewest of them that say anything.
const LEAST_AROUND: usize = 6;
/// A day whose lowest, highest or mean is this far, in degrees, from the median of the days around it has jumped.
///
/// # Source
/// Common practice, no source. No day of Seattle's four years is so far off, see the test.
const JUMP: f64 = 15.0;

/// Jumps that are told one by one, the widest first; the days of the others are listed.
const TOLD_SINGLY: usize = 8;

/// The fewest days that say something about the unit of a file.
const FEWEST_DAYS: usize = 10;
/// No place has days whose mean is in the middle of some weeks above this, in degrees Celsius: the hottest months of the hottest
/// deserts have 39 (Death Valley, July; from memory).
const WARMEST: f64 = 41.0;
/// So far from the equator, in degrees, no weeks of winter have a mean in the middle above so many degrees Celsius: of thirteen
/// winters in Key West, at 24.6°, the warmest thirty days had 27 (the file in the test below).
const WINTER: (f64, f64) = (24.0, 29.0);

/// Why days are too warm for degrees Celsius, in words; `None` where they may be in them.
pub(super) fn too_warm(days: &[DayTemperature], latitude: f64) -> Option<String> {
    let middle = |days: Vec<f64>| {
        let mut means = days;
        means.sort_unstable_by(f64::total_cmp);
        (means.len() >= FEWEST_DAYS).then(|| means[means.len() / 2])
    };
    let of = |days: Vec<f64>, most: f64| middle(days).filter(|&mean| mean > most);
    let winter = if latitude > 0.0 { [12, 1, 2] } else { [6, 7, 8] };
    if let Some(mean) = of(days.iter().map(|d| d.mean).collect(), WARMEST) {
        return Some(format!("the days' means are in the middle {mean:.0} degrees"));
    }
    let in_winter = days.iter().filter(|d| winter.contains(&d.day.month())).map(|d| d.mean).collect();
    let mean = of(in_winter, WINTER.1).filter(|_| latitude.abs() > WINTER.0)?;
    Some(format!("the winter days' means are in the middle {mean:.0} degrees"))
}

/// One value of a day, by its name.
type Value = (&'static str, fn(&DayTemperature) -> f64);

/// Tells stuck sensors and jumps of the days of a file, each day with its rows.
pub(super) fn tell_odd(days: &BTreeMap<Date, Vec<(usize, DayTemperature)>>, account: &mut Account) {
    let days: Vec<(usize, DayTemperature)> = days.values().map(|rows| rows[0]).collect();
    for (from, to) in stuck(&days) {
        let (first, last) = (days[from].1, days[to - 1].1);
        let degrees = first.range.map_or_else(|| format!("{:.1} °C", first.mean), |(low, high)| format!("{low:.1} to {high:.1} °C"));
        let sentence = format!("The same temperatures from {} to {}, {degrees}: the sensor may have stuck", first.day, last.day);
        days[from..to].iter().for_each(|d| account.notice_row(&sentence, d.0));
    }
    let mut far = jumps(&days);
    far.sort_by(|a, b| (b.2 - b.3).abs().total_cmp(&(a.2 - a.3).abs()).then(a.0.cmp(&b.0)));
    for (i, what, value, usual) in far.iter().take(TOLD_SINGLY) {
        let (row, day) = days[*i];
        let sentence = format!("On {} the {what} is {value:.1} °C, in the days around it {usual:.1} °C: it may be wrong", day.day);
        account.notice_row(&sentence, row);
    }
    let rest: BTreeSet<(Date, usize)> = far.iter().skip(TOLD_SINGLY).map(|j| (days[j.0].1.day, days[j.0].0)).collect();
    let listed = rest.iter().map(|d| d.0.to_string()).collect::<Vec<_>>().join(", ");
    let sentence = format!("More days lie over {JUMP:.0} °C from the days around them: {listed}");
    rest.iter().for_each(|d| account.notice_row(&sentence, d.1));
}

/// Runs of days, one after the other, with the very same temperatures.
fn stuck(days: &[(usize, DayTemperature)]) -> Vec<(usize, usize)> {
    let same = |a: &DayTemperature, b: &DayTemperature| {
        a.mean.to_bits() == b.mean.to_bits() && a.range == b.range && a.day.tomorrow().is_ok_and(|next| next == b.day)
    };
    let mut out = Vec::new();
    let mut from = 0;
    for i in 1..=days.len() {
        if i == days.len() || !same(&days[i - 1].1, &days[i].1) {
            if i - from >= STUCK_DAYS {
                out.push((from, i));
            }
            from = i;
        }
    }
    out
}

/// Days that are far from the days around them: which value, what it is, and the median around it.
fn jumps(days: &[(usize, DayTemperature)]) -> Vec<(usize, &'static str, f64, f64)> {
    let mean: Value = ("mean", |d| d.mean);
    let both: [Value; 2] = [("lowest", |d| d.range.map_or(d.mean, |r| r.0)), ("highest", |d| d.range.map_or(d.mean, |r| r.1))];
    let mut out = Vec::new();
    for (i, (_, day)) in days.iter().enumerate() {
        let near = |d: &DayTemperature| (d.day - day.day).get_days().abs() <= AROUND;
        let from = i.saturating_sub(AROUND as usize);
        let to = (i + AROUND as usize + 1).min(days.len());
        let around = || (from..to).filter(|&k| k != i).map(|k| &days[k].1).filter(|d| near(d) && d.range.is_some() == day.range.is_some());
        let values = if day.range.is_some() { &both[..] } else { std::slice::from_ref(&mean) };
        for (what, of) in values {
            let mut others: Vec<f64> = around().map(of).collect();
            if others.len() < LEAST_AROUND {
                continue;
            }
            others.sort_unstable_by(f64::total_cmp);
            let usual = f64::midpoint(others[(others.len() - 1) / 2], others[others.len() / 2]);
            if (of(day) - usual).abs() > JUMP {
                out.push((i, *what, of(day), usual));
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn days(lows: &[f64]) -> Vec<(usize, DayTemperature)> {
        let mut day = date(2025, 7, 1);
        let one = |(i, low): (usize, &f64)| {
            let out = (i, DayTemperature { day, mean: low + 5.0, range: Some((*low, low + 10.0)) });
            day = day.tomorrow().unwrap();
            out
        };
        lows.iter().enumerate().map(one).collect()
    }

    #[test]
    fn five_same_days_are_a_stuck_sensor_and_four_are_weather() {
        assert_eq!(stuck(&days(&[20.0, 21.0, 21.0, 21.0, 21.0, 22.0])), []);
        assert_eq!(stuck(&days(&[20.0, 21.0, 21.0, 21.0, 21.0, 21.0])), [(1, 6)]);
        let mut gap = days(&[21.0; 6]);
        gap.remove(3);
        assert_eq!(stuck(&gap), [], "a day without an entry ends the run");
    }

    #[test]
    fn a_day_far_from_its_neighbours_has_jumped_and_a_slow_change_has_not() {
        let mut lows: Vec<f64> = (0..30).map(|i| f64::from(i) * 1.5).collect();
        assert_eq!(jumps(&days(&lows)), []);
        lows[12] -= 16.0;
        let found = jumps(&days(&lows));
        assert_eq!(found.iter().map(|j| (j.0, j.1)).collect::<Vec<_>>(), [(12, "lowest"), (12, "highest")]);
        assert_eq!(jumps(&days(&[20.0, 0.0, 20.0])), [], "too few days around");
    }

    /// Days of real weather: four years of Seattle (47.6° north), thirteen of Key West (24.6° north).
    #[test]
    fn real_weather_in_celsius_is_not_doubted_and_in_fahrenheit_it_is() {
        let data = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data/temperature");
        for (name, columns, latitude) in [("seattle-weather.csv", [2, 3], 47.6), ("key-west_daily_temp.csv", [2, 3], 24.6)] {
            let Ok(text) = std::fs::read_to_string(data.join(name)) else {
                println!("left out: {name} is not here");
                continue;
            };
            let day = |line: &str| {
                let cells: Vec<&str> = line.split(',').collect();
                let ends = columns.map(|c| cells[c].parse::<f64>().ok());
                let (a, b) = (ends[0]?, ends[1]?);
                Some(DayTemperature { day: cells[0].parse().ok()?, mean: f64::midpoint(a, b), range: Some((a.min(b), a.max(b))) })
            };
            let days: Vec<DayTemperature> = text.lines().skip(1).filter_map(day).collect();
            assert!(days.len() > 1000, "{name}");
            let fahrenheit = |d: &DayTemperature| DayTemperature { mean: d.mean * 1.8 + 32.0, ..*d };
            for weeks in days.chunks(30).filter(|w| w.len() >= FEWEST_DAYS) {
                assert_eq!(too_warm(weeks, latitude), None, "{name}, {}", weeks[0].day);
            }
            assert!(too_warm(&days.iter().map(fahrenheit).collect::<Vec<_>>(), latitude).is_some(), "{name}");
        }
    }
}
