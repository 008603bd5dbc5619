//! `yardring foresee SURVEY`: the chance that a yard nobody has seen is positive.

use super::opened::Opened;
use super::sheet::{Head, SHOWN, aligned, left_out, share_with_ends};
use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Value, json};
use std::path::PathBuf;
use yardring_core::brief::words::many;
use yardring_core::files::write_features;
use yardring_core::foresee::{
    Chance, CurvePart, Earlier, Foreseen, Forward, INTERVALS, Judgement, MUST_NOT, Model, Scores, chance_rows, explain, foresee,
};
use yardring_core::place::BoxIndex;
use yardring_core::store::Parts;
use yardring_core::units::Metres;

/// The chance of larvae or pupae at every premise that was not inspected in the round and where none were seen from outside, with its
/// interval, and how well the same way of foreseeing did on whole blocks set aside.
#[derive(Debug, Args)]
#[command(after_help = MUST_NOT)]
pub struct Foresee {
    /// The survey.
    survey: PathBuf,
    /// The round, by its name; otherwise the latest.
    #[arg(long)]
    round: Option<String>,
    /// Write the chances to this file; its ending picks the format: .csv, .gpkg, .geojson, .shp, .kml, .gpx or .fgb.
    #[arg(long)]
    out: Option<PathBuf>,
}

impl Foresee {
    /// Learns, judges itself and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no visits or no round with that name, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let opened = Opened::new(&self.survey, self.round.as_deref(), Parts::EVERYTHING, output)?;
        let round = opened.round_name()?.to_owned();
        let found = foresee(&opened.survey, &opened.standings, output).map_err(|stopped| Failure::new(stopped.to_string(), ""))?;
        let mut words = format!("{round}\n{}", in_words(&opened, &found));
        match &self.out {
            Some(path) => {
                write_features(&chance_rows(&opened.survey, &found), path, output)?;
                words.push_str(&format!("All written to {}\n", path.display()));
            }
            None => words.push_str(&table(&opened, &found)),
        }
        if found.refusal.is_none() {
            words.push_str(&format!("{INTERVALS}\n"));
        }
        words.push_str(&format!("{MUST_NOT}\n"));
        output.answer(&words, || machine(&opened, &found, &round));
        Ok(if found.refusal.is_some() { Done::Warned } else { Done::Clean })
    }
}

fn machine(opened: &Opened, found: &Foreseen, round: &str) -> Value {
    let judged = found.judged.as_ref();
    let scores = judged.map(|j| j.scores);
    let mut out = json!({
        "round": round,
        "premises": found.chances.len(),
        "seen_from_outside": found.seen_from_outside,
        "inspected": found.inspected,
        "positive": found.positive,
        "model": way(&found.model),
        "refused": found.refusal.map(|r| r.to_string()),
        "must_not": MUST_NOT,
        "intervals": INTERVALS,
        "brier": scores.map(|s| s.brier),
        "log_score": scores.map(|s| s.log_score),
        "auc": scores.and_then(|s| s.auc),
        "calibration_slope": scores.and_then(|s| s.calibration_slope),
        "calibration_intercept": scores.and_then(|s| s.calibration_intercept),
        "folds": found.folds,
        "baseline_brier": judged.map(|j| j.overall.brier),
        "kernel_brier": found.kernel.map(|s| s.brier),
    });
    out["blocks_set_aside"] = judged.map_or(Value::Null, judgement);
    out["forward"] = found.forward.as_ref().map_or(Value::Null, |f| {
        let mut part = judgement(&f.judged);
        part["learnt_from"] = json!(earlier(opened, f));
        part["learnt"] = json!(f.learnt);
        part
    });
    out
}

fn judgement(j: &Judgement) -> Value {
    let scores = |s: &Scores| json!({ "brier": s.brier, "log_score": s.log_score, "auc": s.auc });
    let part = |p: &CurvePart| json!({ "foretold": p.foretold, "found": p.found, "found_low": p.interval.low, "found_high": p.interval.high, "yards": p.yards });
    json!({
        "yards": j.yards,
        "positive": j.positive,
        "chances": scores(&j.scores),
        "one_rate_for_all": scores(&j.overall),
        "rate_of_the_block": scores(&j.by_block),
        "gain": j.gain.map(|g| json!({ "mean": g.mean, "low": g.low, "blocks": g.blocks })),
        "calibration": j.curve.iter().map(part).collect::<Vec<_>>(),
    })
}

fn in_words(opened: &Opened, found: &Foreseen) -> String {
    let mut out = format!("Learnt from {} inspected yards, {} of them positive: {}.\n", found.inspected, found.positive, way(&found.model));
    if found.seen_from_outside > 0 {
        let yards = many(found.seen_from_outside as u64, "yard");
        out.push_str(&format!("No chance, because larvae or pupae were seen there from outside: {yards}.\n"));
    }
    if let Some(judged) = &found.judged {
        let slope = judged.scores.calibration_slope.map_or_else(|| "none".to_owned(), |s| format!("{s:.2}"));
        out.push_str(&format!("\nOn whole blocks set aside in {} parts (calibration slope {slope}; 1 is right)\n", found.folds));
        out.push_str(&judgement_in_words(judged));
    }
    if let Some(forward) = &found.forward {
        out.push_str(&format!("\nForward in time: learnt from {} yards {}\n", forward.learnt, earlier(opened, forward)));
        out.push_str(&judgement_in_words(&forward.judged));
    }
    if let Some(refusal) = found.refusal {
        out.push_str(&format!("\nNo chances are shown: {refusal}.\n"));
    }
    out + "\n"
}

/// The scores as a small table, then what was foretold and found.
fn judgement_in_words(j: &Judgement) -> String {
    let ways = [("these chances", &j.scores), ("rate of the block", &j.by_block), ("one rate for all", &j.overall)];
    let heads = [Head::Left("Judged on"), Head::Right("Brier"), Head::Right("Log score"), Head::Right("AUC")];
    let rows = ways.map(|(name, s)| {
        let auc = s.auc.map_or_else(String::new, |a| format!("{a:.3}"));
        vec![name.to_owned(), format!("{:.4}", s.brier), format!("{:.4}", s.log_score), auc]
    });
    let mut out = aligned(&heads, &rows) + &j.words() + "\n";
    let heads = [Head::Right("Foretold"), Head::Right("Found"), Head::Right("Yards")];
    let part = |p: &CurvePart| {
        let found = share_with_ends(p.found, (p.interval.low, p.interval.high));
        vec![format!("{:.0} %", p.foretold * 100.0), found, p.yards.to_string()]
    };
    out.push_str(&aligned(&heads, &j.curve.iter().map(part).collect::<Vec<_>>()));
    out
}

/// What chances were learnt from, in words that go on after "yards".
fn earlier(opened: &Opened, forward: &Forward) -> String {
    match forward.learnt_from {
        Earlier::Round(round) => format!("of {}", opened.survey.rounds[round.row()].name),
        Earlier::Before(day) => format!("inspected before {day}"),
    }
}

fn table(opened: &Opened, found: &Foreseen) -> String {
    if found.refusal.is_some() || found.chances.is_empty() {
        return String::new();
    }
    let premises = &opened.survey.premises;
    let index = BoxIndex::new(premises.outline.bounds());
    let mut order: Vec<&Chance> = found.chances.iter().collect();
    let id = |c: &Chance| premises.parcel_id.get(c.premise.row());
    order.sort_by(|a, b| b.probability.total_cmp(&a.probability).then_with(|| id(a).cmp(id(b))).then(a.premise.cmp(&b.premise)));
    let heads = [Head::Left("Parcel"), Head::Left("Address"), Head::Right("Chance"), Head::Left("Why")];
    let rows = order.iter().take(SHOWN).map(|c| {
        vec![
            id(c).to_owned(),
            premises.address.get(c.premise.row()).to_owned(),
            share_with_ends(c.probability, (c.low, c.high)),
            explain(&opened.survey, &opened.standings, &index, c.premise, Some(c)),
        ]
    });
    aligned(&heads, &rows.collect::<Vec<_>>()) + &left_out(order.len())
}

/// How the chances were worked out, in words.
fn way(model: &Model) -> String {
    match model {
        Model::Nearby { length, weight } => {
            format!("what was found within about {:.0}, and the district's rate worth {weight:.0} yards", Metres(2.0 * length.0))
        }
        Model::Spatial { lengths: [fine, coarse], .. } => {
            format!("yards within about {fine} and districts within about {coarse} are alike, and what the county's file says of a parcel")
        }
    }
}
