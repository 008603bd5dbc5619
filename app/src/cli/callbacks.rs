//! `yardring callbacks SURVEY --on DATE`: visits that are due.

use super::opened::Opened;
use super::sheet::{Head, SHOWN, aligned, left_out, objects};
use super::{Done, Failure, Output};
use clap::Args;
use jiff::civil::Date;
use serde_json::json;
use std::collections::BTreeMap;
use std::path::PathBuf;
use yardring_core::files::write_features;
use yardring_core::foresee::{CallBack, DAYS_BETWEEN, Species, Tries, WITHOUT_TEMPERATURES, by_reason, callback_rows, callbacks};
use yardring_core::store::Parts;
use yardring_core::survey::{Stage, Survey};

/// Visits that are due after the round, with the reason and the last safe day; overdue first.
#[derive(Debug, Args)]
pub struct CallBacks {
    /// The survey.
    survey: PathBuf,
    /// The day to look from, as 2025-07-21.
    #[arg(long)]
    on: Date,
    /// The species whose growth sets the last safe day: albopictus or aegypti.
    #[arg(long, default_value = "albopictus")]
    species: Species,
    /// The round, by its name; otherwise the latest.
    #[arg(long)]
    round: Option<String>,
    /// Write the rows to this file as comma-separated text.
    #[arg(long)]
    out: Option<PathBuf>,
}

impl CallBacks {
    /// Finds the visits that are due and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no visits or no round with that name, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let opened = Opened::new(&self.survey, self.round.as_deref(), Parts::EVERYTHING, output)?;
        let round = opened.round_name()?.to_owned();
        let found = callbacks(&opened.survey, &opened.standings, self.on, self.species);
        let rows = callback_rows(&opened.survey, &found, self.on);
        let overdue = found.iter().filter(|c| c.days_left < 0).count();
        let mut words = format!("{round}: {} due, {overdue} overdue on {}\n", many(found.len()), self.on);
        let reasons = by_reason(found.iter());
        reasons.iter().for_each(|(reason, n)| words.push_str(&format!("{n:>7}  {}\n", reason.word())));
        match &self.out {
            Some(path) => {
                write_features(&rows, path, output)?;
                words.push_str(&format!("All written to {}\n", path.display()));
            }
            None => words.extend([table(&opened.survey, &found, self.on), left_out(found.len())]),
        }
        let method = self.method(&opened.survey);
        words.push_str(&method);
        let machine = json!({
            "round": round, "on": self.on.to_string(), "species": self.species.word(), "due": found.len(), "overdue": overdue,
            "by_reason": reasons.iter().map(|(reason, n)| (reason.word(), *n)).collect::<BTreeMap<_, _>>(), "method": method, "rows": objects(rows.columns(), rows.rows()),
        });
        output.answer(&words, || machine);
        Ok(Done::Clean)
    }

    fn method(&self, survey: &Survey) -> String {
        let weather = if survey.temperatures.is_empty() {
            format!("the survey has no temperatures, so {WITHOUT_TEMPERATURES:.0} °C every day")
        } else {
            format!("measured temperatures, the month's mean for days not measured, and {WITHOUT_TEMPERATURES:.0} °C in months without any")
        };
        format!(
            "Flies from: when the first {} can, by the fast end of the oldest stage seen; likely and latest stand in the file. Last safe day: the \
             last one on which a visit at the same hour comes before; {weather}. Water in the sun is faster. Water that was left, or only \
             emptied, is due after {DAYS_BETWEEN} days (common practice), sooner where what hatches on the day of the visit flies sooner.\n",
            self.species.word()
        )
    }
}

fn many(n: usize) -> String {
    if n == 1 { "1 visit".to_owned() } else { format!("{n} visits") }
}

fn table(survey: &Survey, found: &[CallBack], on: Date) -> String {
    let heads = [
        Head::Left("Parcel"),
        Head::Left("Address"),
        Head::Left("Why"),
        Head::Left("Due"),
        Head::Left("Last safe day"),
        Head::Left("Stage"),
        Head::Left("Flies from"),
        Head::Right("Days left"),
        Head::Right("Tried"),
        Head::Left("Promised, or tried and to try"),
    ];
    let row = |c: &CallBack| {
        vec![
            survey.premises.parcel_id.get(c.premise.row()).to_owned(),
            survey.premises.address.get(c.premise.row()).to_owned(),
            c.reason.word().to_owned(),
            c.due.to_string(),
            c.last_safe_day.map_or_else(String::new, |d| d.to_string()),
            c.stage.map_or("", Stage::word).to_owned(),
            c.adult.map_or_else(String::new, |a| a.earliest.to_string()),
            c.days_left.to_string(),
            c.attempts.to_string(),
            door_words(survey, c, on),
        ]
    };
    aligned(&heads, &found.iter().take(SHOWN).map(row).collect::<Vec<_>>())
}

/// What was promised at a door, or else when it was tried and when it was not.
fn door_words(survey: &Survey, c: &CallBack, on: Date) -> String {
    let tries = Tries::of(survey, c.premise, on);
    match (c.promised, tries.words()) {
        (Some(_), _) => c.promise_words().trim_start_matches("promised ").to_owned(),
        (None, tried) if tried.is_empty() => tried,
        (None, tried) => format!("{tried}; try {}", tries.next_words(on)),
    }
}
