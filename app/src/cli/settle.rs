//! `yardring settle SURVEY`: visits and signals that found no premise, and what is decided about them.

use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use yardring_core::intake::Role;
use yardring_core::intake::settle::{Choice, Settled, Verdict, Waiting, Waits, settle, waiting};
use yardring_core::store::{self, Parts};
use yardring_core::survey::{PremiseId, Survey};

/// Lists visits and signals that found no premise with their best candidates, or settles them as a table says.
#[derive(Debug, Args)]
pub struct Settle {
    /// The survey.
    survey: PathBuf,
    /// List those that wait, each with its candidates.
    #[arg(long, conflicts_with = "decisions", required_unless_present = "decisions")]
    list: bool,
    /// Decisions as CSV with the columns table, row, file, parcel_id; "set aside" for the parcel id leaves the row where it is.
    #[arg(long, value_name = "F.csv")]
    decisions: Option<PathBuf>,
}

/// What stands for the parcel id of a row that is set aside.
const SET_ASIDE: &str = "set aside";

impl Settle {
    /// Lists or settles.
    ///
    /// # Errors
    /// [`Failure`] when the survey or the decisions cannot be read, a decision names no waiting row or no parcel, or the survey
    /// cannot be saved; then nothing is changed.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let survey = store::load(&self.survey, Parts::EVERYTHING, output)?;
        let Some(path) = &self.decisions else {
            let list = waiting(&survey, output)?;
            output.clear_progress();
            output.answer(&words(&survey, &list), || machine(&survey, &list));
            return Ok(if list.iter().all(|w| w.set_aside) { Done::Clean } else { Done::Warned });
        };
        let Settled { survey: after, joined, signals, set_aside } = settle(&survey, &choices(&survey, path)?, output)?;
        let left = waiting(&after, output)?.iter().filter(|w| !w.set_aside).count();
        store::save(&after, &self.survey, output)?;
        output.clear_progress();
        let told = format!(
            "{joined} visits and {signals} signals came in, {set_aside} rows are set aside, {left} wait\n{} is saved",
            self.survey.display()
        );
        output.answer(&told, || json!({"joined": joined, "signals": signals, "set_aside": set_aside, "waiting": left}));
        Ok(if left == 0 { Done::Clean } else { Done::Warned })
    }
}

fn words(survey: &Survey, list: &[Waiting]) -> String {
    if list.is_empty() {
        return "No visit and no signal waits for a premise.".to_owned();
    }
    let mut out = String::new();
    for w in list {
        let first = w.first(survey);
        let aside = if w.set_aside { " (set aside)" } else { "" };
        out += &format!("{} row {}, {} {}{aside}: {}\n", first.file, first.row, w.day, w.what, first.reason);
        for c in &w.candidates {
            let (id, address) = (survey.premises.parcel_id.get(c.premise.row()), survey.premises.address.get(c.premise.row()));
            out += &format!("  {:3.0} %  {id}  {address}: {}\n", c.score * 100.0, c.why);
        }
    }
    let open = list.iter().filter(|w| !w.set_aside).count();
    out + &format!("{open} of {} wait; settle them with --decisions F.csv", list.len())
}

fn machine(survey: &Survey, list: &[Waiting]) -> Value {
    let candidate = |p: PremiseId, score: f64, why: &str| {
        let premises = &survey.premises;
        json!({"parcel_id": premises.parcel_id.get(p.row()), "address": premises.address.get(p.row()), "score": score, "why": why})
    };
    let one = |w: &Waiting| {
        let first = w.first(survey);
        json!({
            "table": &*first.table, "file": &*first.file, "row": first.row, "date": w.day.to_string(),
            "outcome": if let Waits::Visit(outcome) = w.what { Some(outcome.word()) } else { None },
            "kind": if let Waits::Signal(kind) = w.what { Some(kind.word()) } else { None },
            "rows": w.refused.iter().map(|&i| survey.refused[i].row).collect::<Vec<_>>(),
            "reason": &*first.reason, "set_aside": w.set_aside,
            "candidates": w.candidates.iter().map(|c| candidate(c.premise, c.score, &c.why)).collect::<Vec<_>>(),
        })
    };
    json!({"waiting": list.iter().map(one).collect::<Vec<_>>()})
}

fn choices(survey: &Survey, path: &Path) -> Result<Vec<Choice>, Failure> {
    let broken = |what: String| Failure::new(format!("{}: {what}", path.display()), "Give columns table, row, file, parcel_id");
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_path(path).map_err(|e| broken(e.to_string()))?;
    let header = reader.headers().map_err(|e| broken(e.to_string()))?.clone();
    let column = |name: &str| header.iter().position(|h| h.eq_ignore_ascii_case(name)).ok_or_else(|| broken(format!("no column {name}")));
    let (table, row, file, parcel) = (column("table")?, column("row")?, column("file")?, column("parcel_id")?);
    let mut out = Vec::new();
    for (i, record) in reader.records().enumerate() {
        let record = record.map_err(|e| broken(e.to_string()))?;
        let text = |c: usize| record.get(c).unwrap_or_default();
        let at = i + 1;
        let role = [Role::Visits, Role::Signals].into_iter().find(|r| r.name() == text(table));
        let role = role.ok_or_else(|| broken(format!("row {at} is about '{}'; only visits and signals are settled", text(table))))?;
        let number = text(row).parse().map_err(|_| broken(format!("row {at} has '{}' for a row's number", text(row))))?;
        let verdict = verdict(survey, text(parcel)).map_err(|what| broken(format!("row {at}: {what}")))?;
        out.push(Choice { table: role, file: text(file).into(), row: number, verdict });
    }
    Ok(out)
}

/// What a decision's parcel id means: of several premises with one id the largest, then the first.
fn verdict(survey: &Survey, parcel: &str) -> Result<Verdict, NoParcel> {
    if parcel.eq_ignore_ascii_case(SET_ASIDE) {
        return Ok(Verdict::SetAside);
    }
    let premises = &survey.premises;
    let area = |i: &usize| (premises.outline.get(*i).area() * 1000.0).round() as i64;
    let with_id = (0..premises.len()).filter(|&i| !parcel.is_empty() && premises.parcel_id.get(i) == parcel);
    let largest = with_id.min_by_key(|i| (std::cmp::Reverse(area(i)), *i));
    largest.map(|i| Verdict::Premise(PremiseId(i as u32))).ok_or_else(|| NoParcel(parcel.to_owned()))
}

#[derive(Debug, thiserror::Error)]
#[error("no premise has the parcel id '{0}'")]
struct NoParcel(String);
