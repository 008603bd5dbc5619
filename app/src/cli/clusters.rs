//! `yardring clusters SURVEY`: where blocks like each other lie together, and where positive yards crowd.

use super::opened::Opened;
use super::sheet::{Head, SHOWN, aligned, left_out, objects};
use super::{Done, Failure, Output};
use crate::tables::{self, SEED};
use clap::Args;
use serde_json::{Value, json};
use std::path::PathBuf;
use yardring_core::files::write_features;
use yardring_core::measure::{Among, Clustering, Counts, Crowd, Heat, Neighbours, by_block, clustering, crowd};
use yardring_core::store::{self, Edit, Parts, Stamp};
use yardring_core::survey::{BlockId, Survey};

/// Hot and cold blocks, blocks like or unlike their neighbours, and the circle in which positive yards crowd most, each with
/// its chance.
#[derive(Debug, Args)]
pub struct Clusters {
    /// The survey.
    survey: PathBuf,
    /// The round, by its name; otherwise the latest.
    #[arg(long)]
    round: Option<String>,
    /// Which blocks are neighbours: touching, or no farther apart than 60m or 200ft; otherwise the survey's rule.
    #[arg(long)]
    neighbours: Option<Neighbours>,
    /// Keep this rule for neighbours in the survey: maps, indices and the window then go by it.
    #[arg(long, requires = "neighbours")]
    keep: bool,
    /// Write the rows to this file as comma-separated text.
    #[arg(long)]
    out: Option<PathBuf>,
}

impl Clusters {
    /// Looks for clusters and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no visits or no round with that name, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let opened = Opened::new(&self.survey, self.round.as_deref(), Parts::EVERYTHING, output)?;
        let round = opened.round_name()?.to_owned();
        let survey = &opened.survey;
        let neighbours = self.neighbours.unwrap_or_else(|| Neighbours::of(survey));
        if self.keep {
            self.settle(neighbours, output)?;
        }
        let stopped = |c: yardring_core::job::Cancelled| Failure::new(c.to_string(), "");
        let groups = by_block(survey, &opened.standings);
        let found = clustering(survey, &groups, neighbours.metres(), SEED, output).map_err(stopped)?;
        let crowd = crowd(survey, &opened.standings, SEED, output).map_err(stopped)?;
        let rows = tables::clusters(survey, &groups, &found);
        let mut words = format!("{round}\n{}\n", tables::clustering_words(&found));
        match &self.out {
            Some(path) => {
                write_features(&rows, path, output)?;
                words.push_str(&format!("{} blocks written to {}\n", rows.rows(), path.display()));
            }
            None => words.push_str(&table(survey, &groups, &found)),
        }
        let method = tables::clusters_method(neighbours);
        words.extend([tables::crowd_words(survey, crowd.as_ref()), "\n".to_owned(), method.clone()]);
        output.clear_progress();
        output.answer(&words, || {
            json!({ "round": round, "neighbours_m": neighbours.metres(), "neighbours": neighbours.words(), "blocks": found.blocks, "without_neighbours": found.alone,
                "moran_i": found.moran.map(|m| m.i), "moran_expected": found.moran.map(|m| m.expected), "moran_p": found.moran_p,
                "crowd": crowd.as_ref().map(|c| machine(survey, c)), "method": method, "rows": objects(rows.columns(), rows.rows()) })
        });
        Ok(Done::Clean)
    }

    /// Keeps the rule for neighbours in the survey.
    fn settle(&self, neighbours: Neighbours, output: &Output) -> Result<(), Failure> {
        let stamp = Stamp::of(&self.survey);
        let mut survey = store::load(&self.survey, Parts::EVERYTHING, output)?;
        store::apply(&mut survey, Edit::neighbours(neighbours))?;
        Ok(store::save_over(&survey, &self.survey, stamp, output)?)
    }
}

fn machine(survey: &Survey, c: &Crowd) -> Value {
    json!({
        "parcel_id": survey.premises.parcel_id.get(c.centre.row()), "radius_m": c.circle.radius, "inspected": c.circle.seen,
        "positive": c.circle.positive, "of_inspected": c.of, "of_positive": c.positive_of, "log_ratio": c.circle.ratio, "p": c.circle.p,
    })
}

/// Blocks that stand out, hottest first.
fn table(survey: &Survey, groups: &[(Option<BlockId>, Counts)], found: &Clustering) -> String {
    let stands_out = |i: &usize| {
        let hot = matches!(found.spots[*i].heat, Some(Heat::Hot | Heat::Cold));
        hot || found.likeness[*i].is_some_and(|l| l.among != Among::Neither)
    };
    let mut out: Vec<usize> = (0..groups.len()).filter(stands_out).collect();
    let z = |i: usize| found.spots[i].score.map_or(0.0, |s| s.z);
    out.sort_by(|&a, &b| z(b).total_cmp(&z(a)));
    if out.is_empty() {
        return "No block stands out from chance.\n".to_owned();
    }
    let heads = [
        Head::Left("Block"),
        Head::Right("Inspected"),
        Head::Right("House index"),
        Head::Right("Smoothed"),
        Head::Right("Gi*"),
        Head::Left("Beside the rest"),
        Head::Left("Among its neighbours"),
    ];
    let row = |&i: &usize| {
        let (c, spot) = (&groups[i].1, &found.spots[i]);
        let percent = |v: Option<f64>| v.map_or_else(|| "not seen".to_owned(), |v| format!("{v:.0} %"));
        vec![
            groups[i].0.map_or("", |b| survey.blocks.block_id.get(b.row())).to_owned(),
            c.inspected.to_string(),
            percent(c.house_index()),
            percent(spot.smoothed),
            spot.score.map_or_else(String::new, |s| format!("{:.2}", s.z)),
            spot.heat.map_or("", Heat::word).to_owned(),
            found.likeness[i].map_or("", |l| l.among.word()).to_owned(),
        ]
    };
    aligned(&heads, &out.iter().take(SHOWN).map(row).collect::<Vec<_>>()) + &left_out(out.len())
}
