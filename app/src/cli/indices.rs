//! `yardring indices SURVEY`: the measures of the trade, with their intervals.

use super::opened::Opened;
use super::sheet::{Head, SHOWN, aligned, left_out, objects};
use super::{Done, Failure, Output};
use crate::tables::{Group, blocks, indices};
use clap::{Args, ValueEnum};
use serde_json::json;
use std::path::PathBuf;
use yardring_core::files::{Features, write_features};
use yardring_core::measure::{
    BLOCKS_APART, FALSE_SHARE, Heat, Interval, Intervals, KindCounts, KindShare, Spot, by_block, by_kind, by_round, district,
    key_containers, kind_columns, needs_premises,
};
use yardring_core::store::Parts;
use yardring_core::survey::{RoundId, standings};

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
        let opened = self.open(output)?;
        let round = opened.round_name()?.to_owned();
        let (answer, table, method) = match self.by {
            By::District => of_groups("round", "Round", &[whole_district(&round, &opened)]),
            By::Block => of_groups("block_id", "Block", &blocks(&opened.survey, &opened.standings)),
            By::Round => of_groups("round", "Round", &rounds(&opened)),
            By::Kind => of_kinds(&opened, output)?,
        };
        let rows = answer.rows();
        let mut words = format!("{round}\n");
        if let Some(path) = &self.out {
            write_features(&answer, path, output)?;
            words.push_str(&format!("{rows} {} written to {}\n", if rows == 1 { "row" } else { "rows" }, path.display()));
        } else {
            words.extend([table, left_out(rows), method.clone(), CAUTION.to_owned()]);
        }
        output
            .answer(&words, || json!({ "by": self.by.word(), "round": round, "method": method, "rows": objects(answer.columns(), rows) }));
        Ok(Done::Clean)
    }

    /// Opens the survey; with the outlines of premises only where a block cannot be placed without them.
    fn open(&self, output: &Output) -> Result<Opened, Failure> {
        let open = |parts| Opened::new(&self.survey, self.round.as_deref(), parts, output);
        let opened = open(Parts::WITHOUT_OUTLINES)?;
        let in_full = self.by == By::Block && needs_premises(&opened.survey, &by_block(&opened.survey, &opened.standings));
        if in_full { open(Parts::EVERYTHING) } else { Ok(opened) }
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

fn whole_district(name: &str, opened: &Opened) -> Group {
    (name.to_owned(), district(&opened.standings), Intervals::of_district(&opened.standings), Spot::default())
}

fn rounds(opened: &Opened) -> Vec<Group> {
    let sure = |round| Intervals::of_district(&standings(&opened.survey, round));
    let name = |round: RoundId| opened.survey.rounds[round.row()].name.to_string();
    by_round(&opened.survey).into_iter().map(|(round, counts)| (name(round), counts, sure(round), Spot::default())).collect()
}

/// A title over texts, then titles over numbers.
fn heads<'a>(first: &'a str, numbers: &[&'a str]) -> Vec<Head<'a>> {
    std::iter::once(Head::Left(first)).chain(numbers.iter().map(|n| Head::Right(n))).collect()
}

/// How the intervals of groups were found.
const HOW_SURE: &str = "Intervals hold the truth 95 times in 100, for the premises of the group: house index by Wilson's score, exact where none or \
                        all were positive; container index with yards as clusters; Breteau index by a negative binomial.\n";

/// The rows, the first of them in words, and how they were found.
fn of_groups(column: &'static str, title: &str, groups: &[Group]) -> (Features, String, String) {
    let mut numbers = vec!["Premises", "Inspected", "Coverage", "House index", "Container index", "Breteau index", "Pupae a premise"];
    let heat = groups.iter().any(|g| g.3.heat.is_some());
    let mut method = HOW_SURE.to_owned();
    if heat {
        numbers.push("Beside the rest");
        method.push_str(&format!(
            "Hot or cold: house index of a block and the blocks within {BLOCKS_APART:.0} m against all (Gi*); of those named, at most {:.0} % by \
             chance. Clusters move: a round old is too old.\n",
            100.0 * FALSE_SHARE
        ));
    }
    let shown: Vec<Vec<String>> = groups.iter().take(SHOWN).map(|g| in_words(g, heat)).collect();
    (indices(column, groups), aligned(&heads(title, &numbers), &shown), method)
}

fn in_words((name, c, sure, spot): &Group, heat: bool) -> Vec<String> {
    let mut words = vec![
        if name.is_empty() { "without a block".to_owned() } else { name.clone() },
        c.premises.to_string(),
        c.inspected.to_string(),
        c.coverage().map_or_else(|| "none".to_owned(), |share| format!("{:.0} %", share * 100.0)),
        percent(c.house_index(), sure.house),
        c.container_index().map_or_else(|| NO_WATER.to_owned(), |v| percent(Some(v), sure.container)),
        breteau(c.breteau_index(), sure.breteau),
        c.pupae_per_premise().map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.2}")),
    ];
    words.extend(heat.then(|| spot.heat.map_or("", Heat::word).to_owned()));
    words
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

fn breteau(index: Option<f64>, interval: Option<Interval>) -> String {
    match (index, interval) {
        (Some(v), Some(i)) => format!("{v:.0} ({:.0}–{:.0})", i.low, i.high),
        (Some(v), None) => format!("{v:.0}"),
        (None, _) => NOT_SEEN.to_owned(),
    }
}

/// Kinds that together make this share of all are named key containers: a convention of many-country studies.
const KEY_SHARE: f64 = 0.8;

/// The same yards are drawn again whenever the same survey is asked.
const SEED: u64 = 1;

fn of_kinds(opened: &Opened, output: &Output) -> Result<(Features, String, String), Failure> {
    let counted = by_kind(&opened.survey, &opened.standings);
    let key = key_containers(&opened.survey, &opened.standings, KEY_SHARE, SEED, output)
        .map_err(|stopped| Failure::new(stopped.to_string(), ""))?;
    let numbers = ["Premises", "With water", "With larvae or pupae", "Container index", "Pupae", "Makes", "For its number", "Key"];
    let kinds: Vec<(KindCounts, KindShare)> = counted.iter().map(|k| k.1).zip(key.kinds.iter().map(|k| k.1)).collect();
    let names: Vec<&str> = counted.iter().map(|(kind, _)| opened.survey.kind_name(*kind)).collect();
    let shown: Vec<Vec<String>> = names.iter().zip(&kinds).take(SHOWN).map(|(name, (c, share))| kind_in_words(name, c, share)).collect();
    let (counts, shares): (Vec<KindCounts>, Vec<KindShare>) = kinds.into_iter().unzip();
    let columns = kind_columns(names.into_iter().collect(), &counts, &shares);
    let method = format!(
        "Makes: {}, with 95 % intervals from drawing yards again. Key: the fewest kinds that make {:.0} %.\n",
        key.made_of.word(),
        100.0 * KEY_SHARE
    );
    Ok((Features::new("kinds", "Kinds of container found", columns), aligned(&heads("Kind", &numbers), &shown), method))
}

fn kind_in_words(name: &str, c: &KindCounts, share: &KindShare) -> Vec<String> {
    let mut row = vec![name.to_owned()];
    row.extend([c.premises, c.wet_containers, c.positive_containers].map(|n| n.to_string()));
    row.push(if c.wet_containers == 0 { NO_WATER.to_owned() } else { percent(c.container_index(), c.container_index_interval()) });
    row.push(c.pupae.to_string());
    row.push(match share.contribution {
        Some(v) => percent(Some(100.0 * v), share.contribution_interval.map(Interval::per_hundred)),
        None => "none found".to_owned(),
    });
    row.push(share.electivity.map_or_else(String::new, |e| format!("{e:.1} times")));
    row.push(if share.key { "key" } else { "" }.to_owned());
    row
}
