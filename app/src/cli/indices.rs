//! `yardring indices SURVEY`: the measures of the trade, with their intervals.

use super::opened::Opened;
use super::sheet::{Cell, aligned, comma_separated, object, write};
use super::{Done, Failure, Output};
use clap::{Args, ValueEnum};
use serde_json::{Value, json};
use std::path::PathBuf;
use yardring_core::measure::{Counts, Interval, KindCounts, by_block, by_kind, by_round, district};
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

/// The counts and rates that blocks, rounds and the district share.
const RATES: [&str; 17] = [
    "premises",
    "attempted",
    "inspected",
    "positive_premises",
    "wet_containers",
    "positive_containers",
    "pupae",
    "coverage",
    "house_index",
    "house_index_low",
    "house_index_high",
    "container_index",
    "container_index_low",
    "container_index_high",
    "breteau_index",
    "breteau_index_low",
    "breteau_index_high",
];

impl Indices {
    /// Counts and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no visits or no round with that name, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let opened = Opened::new(&self.survey, self.round.as_deref(), Parts::WITHOUT_OUTLINES, output)?;
        let round = opened.round_name()?.to_owned();
        let answer = match self.by {
            By::District => of_groups("round", "District", &[(round.clone(), district(&opened.standings))]),
            By::Block => of_groups("block_id", "Block", &blocks(&opened)),
            By::Round => of_groups("round", "Round", &rounds(&opened)),
            By::Kind => of_kinds(&opened),
        };
        if let Some(path) = &self.out {
            write(path, &answer.file)?;
        }
        let words = match &self.out {
            Some(path) => format!("{}{} written to {}", heading(&round), rows_in_words(answer.rows.len()), path.display()),
            None => format!("{}{}{}", heading(&round), answer.table, CAUTION),
        };
        let by = self.by.to_possible_value().map_or_else(String::new, |v| v.get_name().to_owned());
        output.answer(&words, &json!({ "by": by, "round": round, "rows": answer.rows }));
        Ok(Done::Clean)
    }
}

const CAUTION: &str = "Indices count inspected premises alone. Few doors give wide intervals: read them before the index.\n";

fn heading(round: &str) -> String {
    format!("Round {round}\n")
}

fn rows_in_words(rows: usize) -> String {
    if rows == 1 { "1 row".to_owned() } else { format!("{rows} rows") }
}

/// One answer in its three forms.
struct Answer {
    file: Vec<u8>,
    table: String,
    rows: Vec<Value>,
}

fn blocks(opened: &Opened) -> Vec<(String, Counts)> {
    let ids = &opened.survey.blocks.block_id;
    let named = by_block(&opened.survey, &opened.standings).into_iter();
    named.map(|(block, counts)| (block.map_or_else(String::new, |b| ids.get(b.row()).to_owned()), counts)).collect()
}

fn rounds(opened: &Opened) -> Vec<(String, Counts)> {
    by_round(&opened.survey).into_iter().map(|(r, counts)| (opened.survey.rounds[r.row()].name.to_string(), counts)).collect()
}

fn of_groups(column: &'static str, title: &str, groups: &[(String, Counts)]) -> Answer {
    let mut columns = [""; 23];
    columns[0] = column;
    columns[1..18].copy_from_slice(&RATES);
    columns[18..].copy_from_slice(&["pupae_per_premise", "smoothed_house_index", "gi_star", "gi_p", "hot_or_cold"]);
    let header = [title, "Premises", "Inspected", "Coverage", "House index", "Container index", "Breteau index", "Pupae a premise"];
    let shown: Vec<Vec<String>> = groups.iter().take(SHOWN).map(|(name, c)| in_words(name, c)).collect();
    Answer {
        file: comma_separated(&columns, groups, |_, (name, counts)| group_cells(name, counts)),
        table: aligned(&header, &shown) + &left_out(groups.len()),
        rows: groups.iter().map(|(name, counts)| object(&columns, group_cells(name, counts))).collect(),
    }
}

/// How many rows are printed; a file gets all.
const SHOWN: usize = 20;

fn left_out(rows: usize) -> String {
    match rows.saturating_sub(SHOWN) {
        0 => String::new(),
        more => format!("and {more} more; --out FILE writes all\n"),
    }
}

fn group_cells<'a>(name: &'a str, c: &Counts) -> [Cell<'a>; 23] {
    let rate = |v: Option<f64>| Cell::fixed(v, 6);
    let (house, container) = (c.house_index_interval(), c.container_index_interval());
    [
        if name.is_empty() { Cell::Nothing } else { Cell::Text(name) },
        Cell::Whole(c.premises),
        Cell::Whole(c.attempted),
        Cell::Whole(c.inspected),
        Cell::Whole(c.positive_premises),
        Cell::Whole(c.wet_containers),
        Cell::Whole(c.positive_containers),
        Cell::Whole(c.pupae),
        rate(c.coverage()),
        rate(c.house_index()),
        rate(house.map(|i| i.low)),
        rate(house.map(|i| i.high)),
        rate(c.container_index()),
        rate(container.map(|i| i.low)),
        rate(container.map(|i| i.high)),
        rate(c.breteau_index()),
        Cell::Nothing,
        Cell::Nothing,
        rate(c.pupae_per_premise()),
        Cell::Nothing,
        Cell::Nothing,
        Cell::Nothing,
        Cell::Nothing,
    ]
}

fn in_words(name: &str, c: &Counts) -> Vec<String> {
    vec![
        if name.is_empty() { "without a block".to_owned() } else { name.to_owned() },
        c.premises.to_string(),
        c.inspected.to_string(),
        c.coverage().map_or_else(|| "none".to_owned(), |share| format!("{:.0} %", share * 100.0)),
        percent(c.house_index(), c.house_index_interval()),
        c.container_index().map_or_else(|| "no water seen".to_owned(), |v| percent(Some(v), c.container_index_interval())),
        c.breteau_index().map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.1}")),
        c.pupae_per_premise().map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.2}")),
    ]
}

const NOT_SEEN: &str = "not seen";

fn percent(index: Option<f64>, interval: Option<Interval>) -> String {
    match (index, interval) {
        (Some(v), Some(i)) => format!("{v:.0} % ({:.0}–{:.0})", i.low, i.high),
        (Some(v), None) => format!("{v:.0} %"),
        (None, _) => NOT_SEEN.to_owned(),
    }
}

const KIND_COLUMNS: [&str; 11] = [
    "kind",
    "premises",
    "positive_premises",
    "containers",
    "wet_containers",
    "positive_containers",
    "pupae",
    "container_index",
    "container_index_low",
    "container_index_high",
    "pupae_per_positive_container",
];

fn of_kinds(opened: &Opened) -> Answer {
    let kinds = by_kind(&opened.survey, &opened.standings);
    let name = |kind| opened.survey.kind_name(kind);
    let header = ["Kind", "Premises", "Containers", "With water", "With larvae or pupae", "Container index", "Pupae"];
    let in_words = |c: &KindCounts| percent(c.container_index(), c.container_index_interval());
    let shown = kinds.iter().take(SHOWN).map(|(kind, c)| {
        let counts = [c.premises, c.containers, c.wet_containers, c.positive_containers].map(|n| n.to_string());
        let index = if c.wet_containers == 0 { "no water seen".to_owned() } else { in_words(c) };
        std::iter::once(name(*kind).to_owned()).chain(counts).chain([index, c.pupae.to_string()]).collect()
    });
    let table = aligned(&header, &shown.collect::<Vec<_>>()) + &left_out(kinds.len());
    Answer {
        file: comma_separated(&KIND_COLUMNS, &kinds, |_, (kind, c)| kind_cells(name(*kind), c)),
        table,
        rows: kinds.iter().map(|(kind, c)| object(&KIND_COLUMNS, kind_cells(name(*kind), c))).collect(),
    }
}

fn kind_cells<'a>(name: &'a str, c: &KindCounts) -> [Cell<'a>; 11] {
    let interval = c.container_index_interval();
    [
        Cell::Text(name),
        Cell::Whole(c.premises),
        Cell::Whole(c.positive_premises),
        Cell::Whole(c.containers),
        Cell::Whole(c.wet_containers),
        Cell::Whole(c.positive_containers),
        Cell::Whole(c.pupae),
        Cell::fixed(c.container_index(), 6),
        Cell::fixed(interval.map(|i| i.low), 6),
        Cell::fixed(interval.map(|i| i.high), 6),
        Cell::fixed(c.pupae_per_positive_container(), 6),
    ]
}
