//! `yardring gaps SURVEY`: the premises inside the reach that nobody has seen, most urgent first.

use super::reach_wanted::{Asked, ReachWanted};
use super::sheet::{Head, SHOWN, aligned, left_out};
use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::path::PathBuf;
use yardring_core::files::write_features;
use yardring_core::reach::{Gap, gap_rows, gaps, mask_gaps};

/// Premises inside the reach not inspected in the round, in the order in which a crew should see them.
#[derive(Debug, Args)]
pub struct Gaps {
    #[command(flatten)]
    reach: ReachWanted,
    /// Write the premises to this file; its ending picks the format: .csv, .gpkg or .geojson.
    #[arg(long)]
    out: Option<PathBuf>,
}

impl Gaps {
    /// Looks for gaps and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no round with that name, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let asked = self.reach.open(output)?;
        let opened = &asked.opened;
        let found = gaps(&opened.survey, &opened.standings, &asked.sources, &asked.wanted, output)
            .map_err(|stopped| Failure::new(stopped.to_string(), ""))?;
        let found = if asked.masked.is_some() { mask_gaps(&opened.survey, &asked.wanted, found) } else { found };
        if let Some(path) = &self.out {
            write_features(&gap_rows(&opened.survey, &found), path, output)?;
        }
        let mut words = asked.heading() + &if asked.sources.is_empty() { String::new() } else { summary(&asked, &found) };
        match &self.out {
            Some(path) => words.push_str(&format!("All written to {}\n", path.display())),
            None => words.push_str(&table(&asked, &found)),
        }
        output.answer(&words, || asked.machine(machine(&asked, &found)));
        Ok(if asked.cautions().is_empty() { Done::Clean } else { Done::Warned })
    }
}

fn by_reason(found: &[Gap]) -> BTreeMap<&'static str, usize> {
    let mut reasons = BTreeMap::new();
    for gap in found {
        *reasons.entry(gap.reason.word()).or_insert(0) += 1;
    }
    reasons
}

/// How many gaps share a fence with a source; `None` where the mask of cases hides it.
fn sharing(asked: &Asked, found: &[Gap]) -> Option<usize> {
    asked.masked.is_none().then(|| found.iter().filter(|g| g.shares_fence).count())
}

fn machine(asked: &Asked, found: &[Gap]) -> Value {
    let reasons: Map<String, Value> = by_reason(found).into_iter().map(|(word, n)| (word.to_owned(), n.into())).collect();
    json!({
        "gaps": found.len(),
        "share_a_fence": sharing(asked, found),
        "reasons": reasons,
    })
}

fn summary(asked: &Asked, found: &[Gap]) -> String {
    if found.is_empty() {
        return "No yard inside the reach is left to see.\n".to_owned();
    }
    let fences = match sharing(asked, found) {
        Some(n) => format!("{n} share a fence with a source."),
        None => "in what order they lie round a case is not told.".to_owned(),
    };
    let (yards, have) = if found.len() == 1 { ("1 yard".to_owned(), "has") } else { (format!("{} yards", found.len()), "have") };
    let mut out = format!("{yards} inside the reach {have} not been seen; {fences}\n");
    let reasons: Vec<String> = by_reason(found).into_iter().map(|(word, n)| format!("{n} {word}")).collect();
    out.push_str(&format!("Why: {}\n", reasons.join(", ")));
    out
}

/// How near the nearest source is; larvae seen over the fence are told even where the mask hides the rest.
fn nearest(gap: &Gap) -> String {
    match gap.seen_positive {
        true if gap.masked() => "larvae seen here".to_owned(),
        true => "0 m, larvae seen here".to_owned(),
        false if gap.masked() => String::new(),
        false => format!("{:.0} m", gap.nearest_source.0),
    }
}

fn table(asked: &Asked, found: &[Gap]) -> String {
    if found.is_empty() {
        return String::new();
    }
    let premises = &asked.opened.survey.premises;
    let heads = [
        Head::Right("Rank"),
        Head::Left("Parcel"),
        Head::Left("Address"),
        Head::Left("Why"),
        Head::Right("Tried"),
        Head::Right("Sources in reach"),
        Head::Right("Nearest"),
        Head::Left("Fence"),
    ];
    let rows = found.iter().take(SHOWN).enumerate().map(|(i, gap)| {
        vec![
            (i + 1).to_string(),
            premises.parcel_id.get(gap.premise.row()).to_owned(),
            premises.address.get(gap.premise.row()).to_owned(),
            gap.reason.word().to_owned(),
            gap.attempts.to_string(),
            if gap.masked() { String::new() } else { gap.sources_in_reach.to_string() },
            nearest(gap),
            if gap.shares_fence { "shared" } else { "" }.to_owned(),
        ]
    });
    aligned(&heads, &rows.collect::<Vec<_>>()) + &left_out(found.len())
}
