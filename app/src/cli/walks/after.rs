//! `yardring walks SURVEY --compare`: what was planned beside what was done.

use super::super::reach_wanted::Asked;
use super::super::sheet::{Head, SHOWN, aligned};
use super::super::{Done, Failure, Output};
use jiff::civil::Date;
use serde_json::json;
use std::path::Path;
use yardring_core::files;
use yardring_core::store::planned_day;
use yardring_core::survey::Outcome;
use yardring_core::walks::{Compared, PlannedDoor, Walking, compare, learn_minutes, planned_doors, read_planned};

/// Compares and answers.
///
/// # Errors
/// [`Failure`] when no plan of the day is kept in the survey, or the file cannot be read.
pub fn run(asked: &Asked, on: Date, file: Option<&Path>, output: &Output) -> Result<Done, Failure> {
    let survey = &asked.opened.survey;
    let (planned, unknown) = match file {
        Some(path) => from_file(asked, path, output)?,
        None => (planned_doors(&kept(asked, on)?), Vec::new()),
    };
    let found = compare(survey, &planned, on);
    let learnt = learn_minutes(survey, &Walking::default());
    let mut words = summary(&found, on);
    if !unknown.is_empty() {
        words.push_str(&format!("{} of the file are not in the survey: {}\n", unknown.len(), unknown.join(", ")));
    }
    words.push_str(&format!("{}\n", learnt.words()));
    words.push_str(&table(asked, &found));
    output.clear_progress();
    output.answer(&words, || {
        let id = |d: &PlannedDoor| survey.premises.parcel_id.get(d.premise.row());
        let remaining = found.remaining().map(|(d, reason)| json!({ "parcel_id": id(d), "crew": d.crew, "reason": reason }));
        json!({
            "on": on.to_string(), "planned": found.doors.len(), "inspected": found.count(Some(Outcome::Inspected)),
            "not_reached": found.count(None), "unplanned": found.unplanned.len(), "remaining": remaining.collect::<Vec<_>>(),
            "unknown": unknown, "minutes": { "inspected": learnt.minutes.complete, "closed": learnt.minutes.closed, "visits": learnt.visits },
        })
    });
    Ok(if unknown.is_empty() { Done::Clean } else { Done::Warned })
}

/// The day that is kept in the survey.
pub(super) fn kept(asked: &Asked, on: Date) -> Result<yardring_core::walks::Day, Failure> {
    let hint = "Plan it with yardring walks SURVEY.gpkg --on DATE --start LON,LAT, or name its file: --compare DIR/walks.csv";
    match planned_day(&asked.opened.survey) {
        Some(day) if day.on == on => Ok(day),
        Some(day) => Err(Failure::new(format!("The survey keeps the plan of {}, not of {on}", day.on), hint)),
        None => Err(Failure::new("No planned day is kept in the survey", hint)),
    }
}

fn from_file(asked: &Asked, path: &Path, output: &Output) -> Result<(Vec<PlannedDoor>, Vec<String>), Failure> {
    let table = files::read(path, None, output)?;
    read_planned(&asked.opened.survey, &table).map_err(|column| {
        let what = format!("{} has no column '{column}'", path.display());
        Failure::new(what, "Give the walks.csv that yardring walks --out wrote")
    })
}

fn summary(found: &Compared, on: Date) -> String {
    let ended: Vec<String> = Outcome::ALL
        .iter()
        .map(|o| (found.count(Some(*o)), o.word()))
        .filter(|(n, _)| *n > 0)
        .map(|(n, word)| format!("{n} {word}"))
        .chain(Some(found.count(None)).filter(|n| *n > 0).map(|n| format!("{n} not reached")))
        .collect();
    let other = found.doors.iter().filter(|d| d.other_crew.is_some()).count();
    let mut out = format!("{on}: {} doors planned ({})\n", found.doors.len(), ended.join(", "));
    if other > 0 {
        out.push_str(&format!("{other} done by another crew than planned\n"));
    }
    if !found.unplanned.is_empty() {
        out.push_str(&format!("{} doors visited that were on no walk\n", found.unplanned.len()));
    }
    out + &format!("{} doors go to the next day\n", found.remaining().count())
}

fn table(asked: &Asked, found: &Compared) -> String {
    let premises = &asked.opened.survey.premises;
    let rows: Vec<Vec<String>> = found
        .remaining()
        .take(SHOWN)
        .map(|(door, reason)| {
            let row = door.premise.row();
            vec![premises.parcel_id.get(row).to_owned(), premises.address.get(row).to_owned(), door.crew.clone(), reason]
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    let more = found.remaining().count().saturating_sub(SHOWN);
    let rest = if more > 0 { format!("and {more} more; --json lists all\n") } else { String::new() };
    aligned(&[Head::Left("Parcel"), Head::Left("Address"), Head::Left("Crew"), Head::Left("Why")], &rows) + &rest
}
