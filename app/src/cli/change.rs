//! `yardring change SURVEY --from ROUND --to ROUND`: did it work?

use super::beside::BesideBlocks;
use super::opened::survey_name;
use super::sheet::{Head, aligned, objects};
use super::{Done, Failure, Output};
use crate::tables;
use clap::Args;
use serde_json::json;
use std::path::{Path, PathBuf};
use yardring_core::brief::words::{beside_words, less_words, with_interval};
use yardring_core::brief::{Format, MapSize, paint_change};
use yardring_core::files::{write_bytes, write_features};
use yardring_core::measure::{AreaChange, Beside, Change, Compared, Interval, RoundChange, change_between, in_order};
use yardring_core::store::{self, Parts};
use yardring_core::survey::{RoundId, Survey};

/// What changed from one round to another, in the same yards and in all, beside blocks where nothing was done.
#[derive(Debug, Args)]
pub struct ChangeBetween {
    /// The survey.
    survey: PathBuf,
    /// The earlier round, by its name.
    #[arg(long)]
    from: String,
    /// The later round, by its name.
    #[arg(long)]
    to: String,
    #[command(flatten)]
    beside: BesideBlocks,
    /// Write the rows to this file as comma-separated text (.csv), or the chart of all rounds as a sheet of A4 (.png, .svg or .pdf).
    #[arg(long)]
    out: Option<PathBuf>,
}

impl ChangeBetween {
    /// Compares and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no such round or block, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let survey = store::load(&self.survey, Parts::FOR_COUNTING, output)?;
        let rounds = (round(&survey, &self.from)?, round(&survey, &self.to)?);
        if rounds.0 == rounds.1 {
            return Err(Failure::new("--from and --to are the same round", "Name two rounds"));
        }
        let order = in_order(&survey);
        let place = |round| order.iter().position(|r| *r == round);
        if place(rounds.0) > place(rounds.1) {
            let what = format!("'{}' came after '{}', so this would tell the change backwards in time", self.from, self.to);
            return Err(Failure::new(what, "Name the earlier round with --from"));
        }
        let beside = self.beside.of(&survey, output)?;
        let found = change_between(&survey, rounds, &beside, output).map_err(|stopped| Failure::new(stopped.to_string(), ""))?;
        let rows = tables::change(&found);
        let mut words = format!("{} to {}\n", self.from, self.to) + &in_words(&found);
        if let Some(path) = &self.out {
            let said = match Format::of(path) {
                Some(format) => self.chart(&survey, &found, path, format).map(|()| "The chart is written to")?,
                None => write_features(&rows, path, output).map(|()| "All written to")?,
            };
            words.push_str(&format!("{said} {}\n", path.display()));
        }
        words.push_str(tables::CHANGE_METHOD);
        output.clear_progress();
        output.answer(&words, || {
            json!({ "from": self.from, "to": self.to, "control_blocks": named(&beside, false), "treated_blocks": named(&beside, true),
                "worked": area(&found.worked),
                "control": found.control.as_ref().map(area), "method": tables::CHANGE_METHOD, "rows": objects(rows.columns(), rows.rows()) })
        });
        Ok(Done::Clean)
    }

    /// Writes the chart of the change.
    fn chart(&self, survey: &Survey, found: &RoundChange, path: &Path, format: Format) -> Result<(), Failure> {
        let words = tables::change_chart(found, survey_name(&self.survey));
        let bytes = paint_change(survey, found, &words, (MapSize::A4, format))?;
        write_bytes(&bytes, path).map_err(|error| Failure::unwritten(path, &error))
    }
}

/// How many blocks are named as treated, or as control.
fn named(beside: &Beside, treated: bool) -> usize {
    if matches!(beside, Beside::Treated(_)) == treated { beside.blocks().len() } else { 0 }
}

fn round(survey: &Survey, name: &str) -> Result<RoundId, Failure> {
    survey.round(Some(name)).ok_or_else(|| {
        let known = survey.rounds.iter().map(|r| format!("'{}'", r.name)).collect::<Vec<_>>().join(", ");
        let hint = if known.is_empty() { "The survey has no visits yet".to_owned() } else { format!("The rounds are {known}") };
        Failure::new(format!("The survey has no round named '{name}'"), hint)
    })
}

fn in_words(found: &RoundChange) -> String {
    let heads = [Head::Left("Area"), Head::Left("Measure"), Head::Right("Before"), Head::Right("After"), Head::Right("Change")];
    let mut rows = Vec::new();
    let areas = [Some(("worked", &found.worked)), found.control.as_ref().map(|c| ("control", c))];
    for (name, area) in areas.into_iter().flatten() {
        for of in Compared::ALL {
            let value = |r: &yardring_core::measure::AreaRound| rate(of, of.value(&r.counts), of.interval(&r.sure));
            let less = found.reductions.iter().find(|r| r.of == of && name == "worked");
            let less = less.map_or_else(String::new, |r| less_words(r.alone, r.alone_interval));
            rows.push(vec![name.to_owned(), tables::compared_words(of).to_owned(), value(&area.before), value(&area.after), less]);
        }
    }
    let mut words = aligned(&heads, &rows);
    words += &same_yards(&found.worked);
    if found.control.is_some() {
        for r in &found.reductions {
            words += &format!("Beside the control area, {}: {}.\n", tables::compared_words(r.of), beside_words(found, r));
        }
    }
    words
}

/// What changed in the yards that were inspected both times.
fn same_yards(area: &AreaChange) -> String {
    let p = &area.paired;
    let changed = area.same_yards.map_or_else(|| "no change can be told".to_owned(), |c| points(&c));
    let chance = area.same_yards_p.map_or_else(String::new, |p| format!(", p {p:.4}"));
    let all = area.all_yards.map_or_else(|| "cannot be told".to_owned(), |c| points(&c));
    format!(
        "{} yards were inspected both times: {} became negative, {} became positive; house index {changed}{chance}.\n\
         Of all yards inspected, as if each round had seen others: house index {all}.\n",
        p.premises(),
        p.became_negative,
        p.became_positive
    )
}

fn points(c: &Change) -> String {
    format!("{:+.1} points ({:+.1} to {:+.1})", c.difference, c.interval.low, c.interval.high)
}

fn rate(of: Compared, value: Option<f64>, interval: Option<Interval>) -> String {
    let unit = if of == Compared::House { " %" } else { "" };
    let decimals = usize::from(of == Compared::Pupae) * 2;
    match (value, interval) {
        (Some(v), None) => format!("{v:.decimals$}{unit}"),
        _ => with_interval(value, interval, unit),
    }
}

fn area(a: &AreaChange) -> serde_json::Value {
    let change = |c: Option<Change>| c.map(|c| json!({ "difference": c.difference, "low": c.interval.low, "high": c.interval.high }));
    json!({
        "both_times": a.paired.premises(), "stayed_positive": a.paired.stayed_positive, "became_negative": a.paired.became_negative,
        "became_positive": a.paired.became_positive, "stayed_negative": a.paired.stayed_negative,
        "same_yards": change(a.same_yards), "same_yards_p": a.same_yards_p, "all_yards": change(a.all_yards), "all_yards_p": a.all_yards_p,
    })
}
