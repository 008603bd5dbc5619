//! `yardring indices SURVEY`: the measures of the trade, with their intervals.

use super::opened::Opened;
use super::sheet::{Head, SHOWN, aligned, left_out, objects};
use super::{Done, Failure, Output};
use crate::tables::{blocks, indices};
use clap::{Args, ValueEnum};
use serde_json::json;
use std::path::PathBuf;
use yardring_core::files::{Features, write_features};
use yardring_core::measure::{Counts, Interval, KindCounts, by_kind, by_round, district, kind_columns};
use yardring_core::store::Parts;

/// House, container and Breteau index and pupae per premise, by block, container kind or round, with intervals.
#[derive(Debug, Args)]
pub struct Indices {
    /// The survey.
    survey: PathBuf,
    /// What to count together.
    #[arg(long, value_enum, default_value_t = By::District)]
    by: By,
    /// The round, by its name; otherwise the latest.
    #[arg(long)]
    round: Option<String>,
    /// Write the rows to this file as comma-separated text.
    #[arg(long)]
    out: Option<PathBuf>,
}

/// What premises or containers are counted together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum By {
    District,
    Block,
    Kind,
    Round,
}

impl Indices {
    /// Counts and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no visits or no round with that name, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let opened = Opened::new(&self.survey, self.round.as_deref(), Parts::WITHOUT_OUTLINES, output)?;
        let round = opened.round_name()?.to_owned();
        let (answer, table) = match self.by {
            By::District => of_groups("round", "Round", vec![(round.clone(), district(&opened.standings))]),
            By::Block => of_groups("block_id", "Block", blocks(&opened.survey, &opened.standings)),
            By::Round => of_groups("round", "Round", rounds(&opened)),
            By::Kind => of_kinds(&opened),
        };
        let rows = answer.rows();
        let machine = json!({ "by": self.by.word(), "round": round, "rows": objects(answer.columns(), rows) });
        let mut words = format!("Round {round}\n");
        if let Some(path) = &self.out {
            write_features(&answer, path, output)?;
            words.push_str(&format!("{rows} {} written to {}\n", if rows == 1 { "row" } else { "rows" }, path.display()));
        } else {
            words.extend([table, left_out(rows), CAUTION.to_owned()]);
        }
        output.answer(&words, &machine);
        Ok(Done::Clean)
    }
}

impl By {
    fn word(self) -> &'static str {
        match self {
            Self::District => "district",
            Self::Block => "block",
            Self::Kind => "kind",
            Self::Round => "round",
        }
    }
}

const CAUTION: &str = "Only inspected premises count. Few doors give wide intervals: read them before the index.\n";

fn rounds(opened: &Opened) -> Vec<(String, Counts)> {
    by_round(&opened.survey).into_iter().map(|(r, counts)| (opened.survey.rounds[r.row()].name.to_string(), counts)).collect()
}

/// A title over texts, then titles over numbers.
fn heads<'a>(first: &'a str, numbers: &[&'a str]) -> Vec<Head<'a>> {
    std::iter::once(Head::Left(first)).chain(numbers.iter().map(|n| Head::Right(n))).collect()
}

/// The rows, and the first of them in words.
fn of_groups(column: &'static str, title: &str, groups: Vec<(String, Counts)>) -> (Features, String) {
    let numbers = ["Premises", "Inspected", "Coverage", "House index", "Container index", "Breteau index", "Pupae a premise"];
    let shown: Vec<Vec<String>> = groups.iter().take(SHOWN).map(|(name, c)| in_words(name, c)).collect();
    (indices(column, groups), aligned(&heads(title, &numbers), &shown))
}

fn in_words(name: &str, c: &Counts) -> Vec<String> {
    vec![
        if name.is_empty() { "without a block".to_owned() } else { name.to_owned() },
        c.premises.to_string(),
        c.inspected.to_string(),
        c.coverage().map_or_else(|| "none".to_owned(), |share| format!("{:.0} %", share * 100.0)),
        percent(c.house_index(), c.house_index_interval()),
        c.container_index().map_or_else(|| NO_WATER.to_owned(), |v| percent(Some(v), c.container_index_interval())),
        c.breteau_index().map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.1}")),
        c.pupae_per_premise().map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.2}")),
    ]
}

const NOT_SEEN: &str = "not seen";

const NO_WATER: &str = "no water seen";

fn percent(index: Option<f64>, interval: Option<Interval>) -> String {
    match (index, interval) {
        (Some(v), Some(i)) => format!("{v:.0} % ({:.0}–{:.0})", i.low, i.high),
        (Some(v), None) => format!("{v:.0} %"),
        (None, _) => NOT_SEEN.to_owned(),
    }
}

fn of_kinds(opened: &Opened) -> (Features, String) {
    let kinds = by_kind(&opened.survey, &opened.standings);
    let numbers = ["Premises", "Containers", "With water", "With larvae or pupae", "Container index", "Pupae"];
    let shown: Vec<Vec<String>> = kinds.iter().take(SHOWN).map(|(kind, c)| kind_in_words(opened.survey.kind_name(*kind), c)).collect();
    let names = kinds.iter().map(|(kind, _)| opened.survey.kind_name(*kind)).collect();
    let counts: Vec<KindCounts> = kinds.iter().map(|k| k.1).collect();
    let columns = kind_columns(names, &counts);
    (Features::new("kinds", "Kinds of container found", columns), aligned(&heads("Kind", &numbers), &shown))
}

fn kind_in_words(name: &str, c: &KindCounts) -> Vec<String> {
    let mut row = vec![name.to_owned()];
    row.extend([c.premises, c.containers, c.wet_containers, c.positive_containers].map(|n| n.to_string()));
    row.push(if c.wet_containers == 0 { NO_WATER.to_owned() } else { percent(c.container_index(), c.container_index_interval()) });
    row.push(c.pupae.to_string());
    row
}
