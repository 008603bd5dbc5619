//! `yardring foresee SURVEY`: the chance that a yard nobody has seen is positive.

use super::opened::Opened;
use super::sheet::{Head, SHOWN, aligned, left_out};
use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Value, json};
use std::path::PathBuf;
use yardring_core::files::write_features;
use yardring_core::foresee::{Chance, Foreseen, MUST_NOT, Model, Scores, chance_rows, explain, foresee};
use yardring_core::store::Parts;
use yardring_core::units::Metres;

/// The chance of larvae or pupae at every premise not inspected in the round, with its interval, and how well the same way of
/// foreseeing did on whole blocks set aside.
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
        let mut words = format!("{round}\n{}", in_words(&found));
        match &self.out {
            Some(path) => {
                write_features(&chance_rows(&opened.survey, &found), path, output)?;
                words.push_str(&format!("All written to {}\n", path.display()));
            }
            None => words.push_str(&table(&opened, &found)),
        }
        words.push_str(&format!("{MUST_NOT}\n"));
        output.answer(&words, || machine(&found, &round));
        Ok(if found.refusal.is_some() { Done::Warned } else { Done::Clean })
    }
}

fn machine(found: &Foreseen, round: &str) -> Value {
    let of = |s: Option<Scores>, pick: fn(&Scores) -> Option<f64>| s.and_then(|s| pick(&s));
    json!({
        "round": round,
        "premises": found.chances.len(),
        "inspected": found.inspected,
        "positive": found.positive,
        "model": way(&found.model),
        "refused": found.refusal.map(|r| r.to_string()),
        "brier": of(found.scores, |s| Some(s.brier)),
        "log_score": of(found.scores, |s| Some(s.log_score)),
        "auc": of(found.scores, |s| s.auc),
        "calibration_slope": of(found.scores, |s| s.calibration_slope),
        "calibration_intercept": of(found.scores, |s| s.calibration_intercept),
        "folds": found.folds,
        "baseline_brier": of(found.overall, |s| Some(s.brier)),
        "kernel_brier": of(found.kernel, |s| Some(s.brier)),
    })
}

fn in_words(found: &Foreseen) -> String {
    let mut out = format!("Learnt from {} inspected yards, {} of them positive: {}.\n", found.inspected, found.positive, way(&found.model));
    if let (Some(scores), Some(overall)) = (found.scores, found.overall) {
        let skill = 100.0 * (1.0 - scores.brier / overall.brier);
        let slope = scores.calibration_slope.map_or_else(|| "none".to_owned(), |s| format!("{s:.2}"));
        out.push_str(&format!(
            "On whole blocks set aside in {} parts: Brier score {:.4}, one rate for all {:.4} (skill {skill:.1} %), calibration \
             slope {slope}.\n",
            found.folds, scores.brier, overall.brier
        ));
    }
    if let Some(refusal) = found.refusal {
        out.push_str(&format!("No chances are shown: {refusal}.\n"));
    }
    out
}

fn table(opened: &Opened, found: &Foreseen) -> String {
    if found.refusal.is_some() || found.chances.is_empty() {
        return String::new();
    }
    let premises = &opened.survey.premises;
    let mut order: Vec<&Chance> = found.chances.iter().collect();
    let id = |c: &Chance| premises.parcel_id.get(c.premise.row());
    order.sort_by(|a, b| b.probability.total_cmp(&a.probability).then_with(|| id(a).cmp(id(b))).then(a.premise.cmp(&b.premise)));
    let heads = [Head::Left("Parcel"), Head::Left("Address"), Head::Right("Chance"), Head::Left("Why")];
    let rows = order.iter().take(SHOWN).map(|c| {
        vec![
            id(c).to_owned(),
            premises.address.get(c.premise.row()).to_owned(),
            format!("{:.0} % ({:.0}–{:.0})", c.probability * 100.0, c.low * 100.0, c.high * 100.0),
            explain(&opened.survey, &opened.standings, c.premise),
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
