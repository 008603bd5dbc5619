//! `yardring gaps SURVEY`: the premises inside the reach that nobody has seen, most urgent first.

use super::reach_wanted::{Asked, ReachWanted};
use super::sheet::{Cell, aligned, comma_separated, write};
use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::path::PathBuf;
use yardring_core::place::place_inside;
use yardring_core::reach::{Gap, gaps};

/// Premises inside the reach not inspected in the round, in the order in which a crew should see them.
#[derive(Debug, Args)]
pub struct Gaps {
    #[command(flatten)]
    reach: ReachWanted,
    /// Write the premises to this file as comma-separated text.
    #[arg(long)]
    out: Option<PathBuf>,
}

const COLUMNS: [&str; 13] = [
    "rank",
    "parcel_id",
    "block_id",
    "address",
    "reason",
    "attempts",
    "last_attempt",
    "sources_in_reach",
    "nearest_source_m",
    "shares_fence",
    "probability",
    "lon",
    "lat",
];

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
        if let Some(path) = &self.out {
            write(path, &comma_separated(&COLUMNS, &found, |i, gap| cells(&asked, i, gap)))?;
        }
        let mut words = asked.heading() + &summary(&found);
        match &self.out {
            Some(path) => words.push_str(&format!("All written to {}\n", path.display())),
            None => words.push_str(&table(&asked, &found)),
        }
        output.answer(&words, &asked.machine(machine(&found)));
        Ok(if asked.cautions().is_empty() { Done::Clean } else { Done::Warned })
    }
}

fn cells<'a>(asked: &'a Asked, i: usize, gap: &Gap) -> [Cell<'a>; 13] {
    let survey = &asked.opened.survey;
    let row = gap.premise.row();
    let place = place_inside(survey.premises.outline.get(row)).map(|p| survey.frame.lon_lat_from_local(p));
    [
        Cell::Whole(i as u64 + 1),
        Cell::Text(survey.premises.parcel_id.get(row)),
        survey.premises.block[row].map_or(Cell::Nothing, |b| Cell::Text(survey.blocks.block_id.get(b.row()))),
        Cell::Text(survey.premises.address.get(row)),
        Cell::Text(gap.reason.word()),
        Cell::Whole(gap.attempts.into()),
        gap.last_attempt.map_or(Cell::Nothing, Cell::Day),
        Cell::Whole(gap.sources_in_reach.into()),
        Cell::Fixed(gap.nearest_source.0, 3),
        Cell::Text(if gap.shares_fence { "yes" } else { "no" }),
        Cell::Nothing,
        Cell::fixed(place.map(|p| p.lon), 7),
        Cell::fixed(place.map(|p| p.lat), 7),
    ]
}

fn by_reason(found: &[Gap]) -> BTreeMap<&'static str, usize> {
    let mut reasons = BTreeMap::new();
    for gap in found {
        *reasons.entry(gap.reason.word()).or_insert(0) += 1;
    }
    reasons
}

fn machine(found: &[Gap]) -> Value {
    let reasons: Map<String, Value> = by_reason(found).into_iter().map(|(word, n)| (word.to_owned(), n.into())).collect();
    json!({
        "gaps": found.len(),
        "share_a_fence": found.iter().filter(|g| g.shares_fence).count(),
        "reasons": reasons,
    })
}

fn summary(found: &[Gap]) -> String {
    if found.is_empty() {
        return "No yard inside the reach is left to see.\n".to_owned();
    }
    let fences = found.iter().filter(|g| g.shares_fence).count();
    let (yards, have) = if found.len() == 1 { ("1 yard".to_owned(), "has") } else { (format!("{} yards", found.len()), "have") };
    let mut out = format!("{yards} inside the reach {have} not been seen; {fences} share a fence with a source.\n");
    let reasons: Vec<String> = by_reason(found).into_iter().map(|(word, n)| format!("{n} {word}")).collect();
    out.push_str(&format!("Why: {}\n", reasons.join(", ")));
    out
}

/// How many premises are printed; a file gets all.
const SHOWN: usize = 20;

fn table(asked: &Asked, found: &[Gap]) -> String {
    if found.is_empty() {
        return String::new();
    }
    let premises = &asked.opened.survey.premises;
    let header = ["Rank", "Parcel", "Address", "Why", "Tried", "Sources in reach", "Nearest", "Fence"];
    let rows = found.iter().take(SHOWN).enumerate().map(|(i, gap)| {
        vec![
            (i + 1).to_string(),
            premises.parcel_id.get(gap.premise.row()).to_owned(),
            premises.address.get(gap.premise.row()).to_owned(),
            gap.reason.word().to_owned(),
            gap.attempts.to_string(),
            gap.sources_in_reach.to_string(),
            if gap.seen_positive { "0 m, larvae seen here".to_owned() } else { format!("{:.0} m", gap.nearest_source.0) },
            if gap.shares_fence { "shared" } else { "" }.to_owned(),
        ]
    });
    let mut out = aligned(&header, &rows.collect::<Vec<_>>());
    if found.len() > SHOWN {
        out.push_str(&format!("and {} more; --out FILE.csv writes all\n", found.len() - SHOWN));
    }
    out
}
