//! `yardring settle SURVEY`: visits and signals that found no premise, parcels that repeat an id, and what is decided about them.

use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use yardring_core::files::write_bytes;
use yardring_core::intake::Role;
use yardring_core::intake::settle::{
    CLEAR, Choice, Repeat, SameId, Settled, Verdict, Waiting, Waits, repeats, settle, settle_ids, waiting,
};
use yardring_core::store::{self, Parts, Stamp};
use yardring_core::survey::{PremiseId, Survey};

/// Lists visits and signals that found no premise with their best candidates, and parcels that repeat an id, or settles them.
#[derive(Debug, Args)]
pub struct Settle {
    /// The survey.
    survey: PathBuf,
    /// List those that wait, each with its candidates.
    #[arg(long, conflicts_with_all = ["decisions", "accept", "one_premise", "separate"], required_unless_present_any = ["decisions", "accept", "one_premise", "separate"])]
    list: bool,
    /// With --list: write them as decisions to be looked through and given back with --decisions; the clear ones have their parcel id.
    #[arg(long, value_name = "F.csv", requires = "list")]
    out: Option<PathBuf>,
    /// Decisions as CSV with the columns table, row, file, parcel_id; "set aside" for the parcel id leaves the row where it is, none
    /// lets it wait.
    #[arg(long, value_name = "F.csv")]
    decisions: Option<PathBuf>,
    /// Settle all whose best candidate fits at least so well in per cent, as --list says it, and clearly better than the next.
    #[arg(long, value_name = "PERCENT", num_args = 0..=1, default_missing_value = "85", value_parser = percent, conflicts_with = "decisions")]
    accept: Option<f64>,
    /// Parcels with this id are one premise in parts; may be given several times.
    #[arg(long, value_name = "ID", conflicts_with_all = ["decisions", "accept"])]
    one_premise: Vec<String>,
    /// Parcels with this id are separate premises, and nobody asks again; may be given several times.
    #[arg(long, value_name = "ID", conflicts_with_all = ["decisions", "accept"])]
    separate: Vec<String>,
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
        let stamp = Stamp::of(&self.survey);
        let survey = store::load(&self.survey, Parts::EVERYTHING, output)?;
        if self.list {
            return self.list(&survey, output);
        }
        let choices = match (&self.decisions, self.accept) {
            (Some(path), _) => choices(&survey, path)?,
            (None, Some(at_least)) => {
                let clear = |w: &Waiting| Some(w.choice(&survey, w.clear(at_least)?));
                waiting(&survey, output)?.iter().filter_map(clear).collect()
            }
            (None, None) => return self.settle_ids(&survey, stamp, output),
        };
        let Settled { survey: after, joined, signals, set_aside } = settle(&survey, &choices, output)?;
        let left = waiting(&after, output)?.iter().filter(|w| !w.set_aside).count();
        store::save_over(&after, &self.survey, stamp, output)?;
        output.clear_progress();
        let told = format!(
            "{joined} visits and {signals} signals came in, {set_aside} rows are set aside, {left} wait\n{} is saved",
            self.survey.display()
        );
        output.answer(&told, || json!({"joined": joined, "signals": signals, "set_aside": set_aside, "waiting": left}));
        Ok(if left == 0 { Done::Clean } else { Done::Warned })
    }
}

impl Settle {
    fn list(&self, survey: &Survey, output: &Output) -> Result<Done, Failure> {
        let (list, same) = (waiting(survey, output)?, repeats(survey));
        output.clear_progress();
        if let Some(out) = &self.out {
            let written = write_bytes(&as_decisions(survey, &list)?, out);
            written.map_err(|e| Failure::new(format!("{}: {e}", out.display()), "Write it to another place"))?;
        }
        output.answer(&(words(survey, &list) + &same_ids(&same)), || machine(survey, &list, &same));
        let open = list.iter().any(|w| !w.set_aside) || same.iter().any(|r| !r.separate);
        Ok(if open { Done::Warned } else { Done::Clean })
    }

    /// Makes premises with the same id one, or leaves them separate, and saves.
    fn settle_ids(&self, survey: &Survey, stamp: Stamp, output: &Output) -> Result<Done, Failure> {
        let known = repeats(survey);
        let unknown = self.one_premise.iter().chain(&self.separate).find(|id| !known.iter().any(|r| *r.parcel_id == ***id));
        if let Some(id) = unknown {
            let hint = "List the ids that several parcels have: yardring settle SURVEY.gpkg --list";
            return Err(Failure::new(format!("no two premises have the parcel id '{id}'"), hint));
        }
        let apart = settle_ids(survey, &ids(&self.separate), SameId::Separate);
        let after = settle_ids(&apart, &ids(&self.one_premise), SameId::OnePremise);
        store::save_over(&after, &self.survey, stamp, output)?;
        let (one, separate, left) = (self.one_premise.len(), self.separate.len(), repeats(&after).iter().filter(|r| !r.separate).count());
        output.clear_progress();
        let told = format!(
            "{one} ids are one premise in parts now, {separate} stay separate premises, {left} ids wait\n{} is saved",
            self.survey.display()
        );
        output.answer(&told, || json!({"one_premise": one, "separate": separate, "repeated_ids": left}));
        Ok(if left == 0 { Done::Clean } else { Done::Warned })
    }
}

fn ids(given: &[String]) -> BTreeSet<&str> {
    given.iter().map(String::as_str).collect()
}

/// The ids that several parcels have, in words.
fn same_ids(list: &[Repeat]) -> String {
    let mut out = String::new();
    for r in list {
        let apart = r.apart.map_or_else(|| "far apart".to_owned(), |m| format!("{m:.0} m apart"));
        let aside = if r.separate { " (separate premises)" } else { "" };
        out += &format!("\nparcel id {}: {} parcels, {apart}{aside}", r.parcel_id, r.premises.len());
    }
    let open = list.iter().filter(|r| !r.separate).count();
    if open > 0 {
        out += &format!("\n{open} ids are those of several parcels; settle them with --one-premise ID or --separate ID");
    }
    out
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

fn machine(survey: &Survey, list: &[Waiting], same: &[Repeat]) -> Value {
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
    let repeated =
        |r: &Repeat| json!({"parcel_id": &*r.parcel_id, "parcels": r.premises.len(), "apart_m": r.apart, "separate": r.separate});
    json!({"waiting": list.iter().map(one).collect::<Vec<_>>(), "repeated_ids": same.iter().map(repeated).collect::<Vec<_>>()})
}

/// Those that wait as decisions: the first offer's parcel id where it is clear, and what the first offer is.
fn as_decisions(survey: &Survey, list: &[Waiting]) -> Result<Vec<u8>, Failure> {
    let broken = |e: csv::Error| Failure::new(format!("the decisions cannot be written: {e}"), "Tell whoever keeps the program");
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(["table", "row", "file", "parcel_id", "reason", "offered", "offered_address", "fits_percent", "why"])
        .map_err(broken)?;
    let premises = &survey.premises;
    for w in list.iter().filter(|w| !w.set_aside) {
        let first = w.first(survey);
        let id = |p: PremiseId| premises.parcel_id.get(p.row());
        let clear = w.clear(CLEAR).map_or("", id);
        let offer = w.candidates.first();
        let (offered, address) = offer.map_or(("", ""), |c| (id(c.premise), premises.address.get(c.premise.row())));
        let (fits, why) = offer.map_or((String::new(), ""), |c| (format!("{:.0}", c.score * 100.0), &*c.why));
        let row = first.row.to_string();
        out.write_record([&*first.table, &row, &*first.file, clear, &*first.reason, offered, address, &fits, why]).map_err(broken)?;
    }
    out.into_inner().map_err(|e| Failure::new(e.to_string(), "Write it to another place"))
}

fn percent(text: &str) -> Result<f64, String> {
    let share = text.trim_end_matches(['%', ' ']).parse::<f64>().map(|p| p / 100.0);
    share.ok().filter(|s| (0.5..=1.0).contains(s)).ok_or_else(|| format!("'{text}' is no per cent from 50 to 100"))
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
        if text(parcel).is_empty() {
            continue;
        }
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
